"""``livefood journal EVENT`` for cultures and hatches: begun, harvested, set, counted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

from cli.journal.amounts import cysts_g, portion, starter_g, typed, whole
from cli.journal.counts import DROPS, counted_total
from cli.journal.event import Noting, event, instead_option, stands_for, sure_option
from cli.options import UsageProblemError
from cli.screens.entry import line_of
from cultures.errors import RangeError
from cultures.foods.kinds import WormKind
from cultures.journal.entries import Entry
from cultures.journal.events import APART, begins
from cultures.record.book import NAMED, names_of, refuse_known
from cultures.tasks.task import SetHatch, Split
from cultures.tasks.told import ToldTask
from cultures.words.text import key_named

_AMOUNT = click.argument("amount", nargs=-1)


@event(
    "split", ["culture"],
    click.argument("new", required=False),
    click.option("--starter", metavar="AMOUNT", help="Taken from the parent ('10 g')."),
    sure_option, shown="PARENT",
)  # fmt: skip
def split(noting: Noting, new: str | None, starter: str | None) -> Entry:
    """A starter of PARENT went onto new medium, labelled NEW (else the next free name).

    Example: livefood journal split MW-1
    """
    parent, due = noting.room.culture(noting.subject), noting.due(other=new or "")
    name = new or (
        due.task.other if due is not None else noting.book.free_label(parent.kind, noting.room)
    )
    _refuse_standing(noting, name, due)
    told = due.task if due is not None else None
    usual = told.starter_g if isinstance(told, Split) else parent.starter_g
    return noting.entry(name, starter_g(starter) if starter else usual, "g")


def _refuse_standing(noting: Noting, name: str, due: ToldTask | None) -> None:
    """Refuses the name of what stands, but for what is only taken as begun, as it was told.

    Raises:
        RangeError: what has it.
    """
    book = noting.book
    told = due is not None and name in (due.task.other, due.task.subject)
    if told or name not in names_of(book.state(book.now), *NAMED):
        return
    noted = next((e for e in reversed(book.journal.effective()) if begins(e) == name), None)
    if noted is not None:
        raise RangeError(
            f"{name} was begun by line {noted.line} ({line_of(noted, book.room)}); if that is"
            f" wrong, take it back first: livefood journal undo --line {noted.line}; if this is"
            " another one, name it otherwise"
        )
    refuse_known(noting.room, name)


@event(
    "start", [],
    click.argument("new"),
    click.argument("kind", nargs=-1, required=True, metavar="KIND"),
    click.option("--starter", metavar="AMOUNT", help="Weight of the starter ('10 g')."),
)  # fmt: skip
def start(noting: Noting, new: str, kind: tuple[str, ...], starter: str | None) -> Entry:
    """A culture NEW of a KIND was started from a bought starter.

    Example: livefood journal start MW-9 microworm --starter "15 g"
    """
    kinds = [name for name, k in noting.book.room.kinds.items() if isinstance(k, WormKind)]
    name = key_named(typed(kind), kinds)
    noting.book.must_know("kind of worm", name, kinds)
    _refuse_standing(noting, new, noting.due(new))
    amount = starter_g(starter) if starter else None
    return noting.entry(name, amount, "g" if starter else "", subject=new)


@event(
    "discard", ["culture"],
    click.option("--crashed", is_flag=True, help="It failed; the plan learns how often they do."),
)  # fmt: skip
def discard(noting: Noting, crashed: bool = False) -> Entry:
    """CULTURE was discarded.

    Take care: bin a mouldy culture closed; never tip cultures outdoors or down a stream.

    Example: livefood journal discard MW-1 --crashed
    """
    return noting.entry("crashed" if crashed else "")


@event(
    "harvest", ["culture", "vessel"], _AMOUNT,
    click.option(
        "--all", "every", is_flag=True, help="No more worms climbed: the plan learns from it."
    ),
    instead_option, sure_option,
)  # fmt: skip
def harvest(
    noting: Noting, amount: tuple[str, ...], every: bool = False, instead_of: str | None = None
) -> Sequence[Entry]:
    """Worms were taken from a culture, or a vessel was drawn off uncounted.

    Without an amount it is what the plan asked for. With --all the amount was all that
    climbed, which shows how much your cultures carry.

    Example: livefood journal harvest MW-1 6 swipes
    """
    subject, room, other = noting.subject, noting.room, stands_for(instead_of)
    if subject in names_of(room, "vessel"):
        if amount or every:
            raise UsageProblemError(f"{subject} is a vessel; a count goes with 'journal hatched'")
        return [noting.entry(other), *noting.instead_of(instead_of)]
    if amount:
        value, unit = portion(typed(amount), room.culture(subject).kind)
    else:
        due = noting.due()
        if due is None:
            raise UsageProblemError(
                f"no harvest of {subject} is due; say how much, like '3 swipes'"
            )
        ticked = noting.book.ticked(due, room)
        value, unit = ticked.amount or 0.0, ticked.unit
    entry = noting.entry("all" if every else other, value, unit)
    return [entry, *noting.instead_of(instead_of)]


@event("set", ["vessel"], _AMOUNT, instead_option, sure_option)
def set_hatch(
    noting: Noting, amount: tuple[str, ...], instead_of: str | None = None
) -> Sequence[Entry]:
    """A hatch was set in VESSEL; without an amount it is what the plan asked for.

    Take care: drip loops, a residual-current breaker (GFCI), and do not breathe cyst dust.

    Example: livefood journal set "bottle 1" 1/2 tsp
    """
    due = None if amount else noting.due(instead_of or noting.subject)
    if amount:
        value = cysts_g(typed(amount), noting.room.hatch_kind)
    elif due is not None and isinstance(due.task, SetHatch):
        value = due.task.cysts_g
    else:
        raise UsageProblemError(f"no hatch is due in {noting.subject}; say how much, like '2 g'")
    return [noting.entry(stands_for(instead_of), value, "g"), *noting.instead_of(instead_of)]


@event(
    "hatched", ["vessel", "brood"], click.argument("nauplii", required=False), *DROPS,
    click.option(
        "--apart", is_flag=True, help="Something went wrong with it: the plan learns nothing of it."
    ),
    sure_option, completes=["vessel"], shown="VESSEL",
)  # fmt: skip
def hatched(noting: Noting, nauplii: str | None, apart: bool = False, **drops: Any) -> Entry:
    """VESSEL was drawn off and its NAUPLII counted, as a total or by drops.

    \b
    Example: livefood journal hatched "bottle 1" --drops "12 9 15"
        --drop-ml 0.05 --of-ml 1000
    """
    if noting.subject not in names_of(noting.room, "vessel"):
        return _eggs_hatched(noting, nauplii, apart or drops.get("counts") is not None)
    total, other = counted_total(nauplii, "nauplii", **drops)
    return noting.entry(APART if apart else other, total, "nauplii")


def _eggs_hatched(noting: Noting, fry: str | None, of_vessel: bool) -> Entry:
    """What of a brood is noted as hatched: its eggs.

    Raises:
        UsageProblemError: with what is said of vessels alone.
    """
    if of_vessel:
        raise UsageProblemError(f"{noting.subject} is a brood: of its eggs say only how many")
    count = whole(fry, "fry") if fry else None
    return noting.entry("", count, "fry" if fry else "")._replace(event="eggs_hatched")
