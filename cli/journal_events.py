"""``livefood journal EVENT``: one short command for each thing that a keeper does.

Those for broods stand in :mod:`cli.journal_broods`.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.completion import any_of, culture_names, tank_names, vessel_names
from cli.journal_amounts import (
    celsius,
    cysts_g,
    grams,
    portion,
    typed,
)
from cli.journal_book import (
    Book,
    culture_names_of,
    entry_options,
    event_command,
    next_name,
    sure_option,
)
from cli.journal_broods import count_, free_swimming, length_, lost, move, spawn
from cli.journal_counts import counted_total, drops_options
from cli.options import UsageProblemError
from cli.text import in_units
from cultures.errors import UnitError
from cultures.journal import Entry
from cultures.room import Room


@event_command("split")
@click.argument("parent", shell_complete=culture_names)
@click.argument("new", required=False)
@click.option("--starter", metavar="AMOUNT", help="Taken from the parent ('10 g').")
@sure_option
@entry_options
def split(
    parent: str, new: str | None, starter: str | None, at: datetime | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """A starter of PARENT went onto new medium, labelled NEW (else the next free name).

    Example: livefood journal split MW-1
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    book.must_know("culture", parent, culture_names_of(room))
    due = book.due("split", parent, when)
    name = new or (due.other if due is not None else next_name(book, parent, room))
    if name in culture_names_of(room):
        raise UsageProblemError(f"there is a culture {name} already; name the new one otherwise")
    usual = due.amount if due is not None else room.culture(parent).starter_g
    amount = grams(starter) if starter else usual
    book.record([Entry(when, "split", parent, name, amount, "g", note)])


@event_command("start")
@click.argument("new")
@click.argument("kind")
@click.option("--starter", metavar="AMOUNT", help="Weight of the starter ('10 g').")
@entry_options
def start(
    new: str, kind: str, starter: str | None, at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """A culture NEW of a KIND was started from a bought starter.

    Example: livefood journal start MW-9 microworm --starter "15 g"
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    from cultures.kinds import WormKind

    kinds = [name for name, k in book.room.kinds.items() if isinstance(k, WormKind)]
    book.must_know("kind of worm", kind, kinds)
    if new in culture_names_of(book.state(when)):
        raise UsageProblemError(f"there is a culture {new} already; name the new one otherwise")
    amount = grams(starter) if starter else None
    unit = "g" if starter else ""
    book.record([Entry(when, "start", new, kind, amount, unit, note)])


@event_command("discard")
@click.argument("culture", shell_complete=culture_names)
@click.option("--crashed", is_flag=True, help="It failed; the plan learns how often they do.")
@entry_options
def discard(
    culture: str, crashed: bool, at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """CULTURE was thrown out.

    Take care: bin a mouldy culture closed; never tip cultures outdoors or down a stream.

    Example: livefood journal discard MW-1 --crashed
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    book.must_know("culture", culture, culture_names_of(book.state(when)))
    book.record([Entry(when, "discard", culture, "crashed" if crashed else "", None, "", note)])


@event_command("harvest")
@click.argument(
    "subject", metavar="CULTURE|VESSEL", shell_complete=any_of(culture_names, vessel_names)
)
@click.argument("amount", nargs=-1)
@click.option("--all", "every", is_flag=True, help="Nothing more climbed: the plan learns from it.")
@sure_option
@entry_options
def harvest(
    subject: str, amount: tuple[str, ...], every: bool, at: datetime | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """Worms were taken from a culture, or a vessel was drawn off uncounted.

    Without an amount it is what the plan asked for. With --all the amount was all that
    climbed, which shows how much your cultures carry.

    Example: livefood journal harvest MW-1 6 swipes
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    vessels = [v.name for v in room.vessels]
    book.must_know("culture or vessel", subject, [*culture_names_of(room), *vessels])
    if subject in vessels:
        if amount or every:
            raise UsageProblemError(f"{subject} is a vessel; a count goes with 'journal hatched'")
        book.record([Entry(when, "harvest", subject, "", None, "", note)])
        return
    if amount:
        value, unit = portion(typed(amount), room.culture(subject).kind)
    else:
        due = book.due("harvest", subject, when)
        if due is None or due.amount is None:
            raise UsageProblemError(
                f"no harvest of {subject} is due; say how much, like '3 swipes'"
            )
        value, unit = due.amount, due.unit
    book.record([Entry(when, "harvest", subject, "all" if every else "", value, unit, note)])


@event_command("set")
@click.argument("vessel", shell_complete=vessel_names)
@click.argument("amount", nargs=-1)
@sure_option
@entry_options
def set_hatch(
    vessel: str, amount: tuple[str, ...], at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """A hatch was set in VESSEL; without an amount it is what the plan asked for.

    Take care: drip loops, a residual-current breaker, and do not breathe cyst dust.

    Example: livefood journal set "bottle 1" 1/2 tsp
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    book.must_know("vessel", vessel, [v.name for v in room.vessels])
    due = None if amount else book.due("set", vessel, when)
    if not amount and (due is None or due.amount is None):
        raise UsageProblemError(f"no hatch is due in {vessel}; say how much, like '2 g'")
    value = cysts_g(typed(amount), room.hatch_kind) if amount else due.amount if due else None
    book.record([Entry(when, "set", vessel, "", value, "g", note)])


@event_command("hatched")
@click.argument("vessel", shell_complete=vessel_names)
@click.argument("nauplii", required=False)
@drops_options
@sure_option
@entry_options
def hatched(
    vessel: str, nauplii: str | None, counts: str | None, drop_ml: float | None,
    of_ml: float | None, diluted: float, at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """VESSEL was drawn off and its NAUPLII counted, as a total or by drops.

    \b
    Example: livefood journal hatched "bottle 1" --drops "12 9 15"
        --drop-ml 0.05 --of-ml 1000
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    book.must_know("vessel", vessel, [v.name for v in book.room.vessels])
    total, other = counted_total(nauplii, counts, drop_ml, of_ml, diluted, "nauplii")
    book.record([Entry(when, "hatched", vessel, other, total, "nauplii", note)])


@event_command("temperature")
@click.argument(
    "subject", metavar="room|TANK|CULTURE|VESSEL",
    shell_complete=any_of("room", tank_names, culture_names, vessel_names),
)  # fmt: skip
@click.argument("degrees", nargs=-1, required=True)
@entry_options
def temperature(
    subject: str, degrees: tuple[str, ...], at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """The room, a tank, culture or vessel stands at this temperature from now on.

    Example: livefood journal temperature room 21.5
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    tanks, vessels = [t.name for t in room.tanks], [v.name for v in room.vessels]
    known = ["room", *tanks, *culture_names_of(room), *vessels]
    book.must_know("room, tank, culture or vessel", subject, known)
    value = celsius(typed(degrees))
    _check_temperature(room, subject, value)
    book.record([Entry(when, "temperature", subject, "", round(value, 2), "C", note)])


@event_command("bought")
@click.argument("what", metavar="cysts|KIND")
@click.argument("amount", nargs=-1, required=True)
@entry_options
def bought(
    what: str, amount: tuple[str, ...], at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """Cysts (added to the tin) or a starter of a KIND were bought.

    Example: livefood journal bought cysts 50 g
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    known = ["cysts", *book.room.kinds]
    words = [what, *amount]
    if what not in known and words[-1] in known:  # "50 g cysts" is as good as "cysts 50 g"
        words = [words[-1], *words[:-1]]
    what, text = words[0], typed(words[1:])
    if what not in known:
        raise UsageProblemError(
            f"'{what}' is nothing that is bought: write what and how much, like 'cysts 50 g'"
            f" (or {', '.join(known[1:])})"
        )
    value = cysts_g(text, book.room.hatch_kind) if what == "cysts" else grams(text)
    book.record([Entry(when, "bought", what, "", value, "g", note)])


EVENT_COMMANDS: tuple[click.Command, ...] = (
    split, start, discard, harvest, set_hatch, hatched, spawn, free_swimming, count_, length_,
    move, lost, temperature, bought,
)  # fmt: skip


def _check_temperature(room: Room, subject: str, degrees: float) -> None:
    cultures = [c for c in room.cultures if subject in (c.name, "room")]
    wrong = [c.kind.check_temperature(degrees) for c in cultures
             if c.name == subject or c.temperature_c is None]  # fmt: skip
    if subject in [v.name for v in room.vessels]:
        wrong.append(room.hatch_kind.check_temperature(degrees))
    if not -5 <= degrees <= 45:
        wrong.append("no animal of this room lives there; use -5 to 45 °C")
    for message in wrong:
        if message is not None:
            raise UnitError(in_units(f"{subject} at {degrees:.4g} °C: {message}", room.units))
