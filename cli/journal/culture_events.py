"""``livefood journal EVENT``: one short command for each thing that a keeper does.

Those for broods stand in :mod:`cli.journal.brood_events`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import click

from cli.completion import any_of, brood_names, culture_names, tank_names, vessel_names
from cli.journal.amounts import (
    celsius,
    cysts_g,
    grams,
    portion,
    typed,
)
from cli.journal.book import (
    Book,
    brood_names_of,
    culture_names_of,
    entry_options,
    event_command,
    instead,
    instead_option,
    next_name,
    stands_for,
    sure_option,
)
from cli.journal.brood_events import (
    collected,
    count_,
    free_swimming,
    leftover,
    length_,
    lost,
    move,
    planned,
    spawn,
    wetted,
)
from cli.journal.counts import counted_total, drops_options
from cli.options import Spoken, UsageProblemError
from cultures.errors import UnitError
from cultures.journal.entries import Entry
from cultures.replay.stocks import stock_names
from cultures.room.room import Room
from cultures.tasks.task import SetHatch, Split
from cultures.words.quantities import in_units


@event_command("split")
@click.argument("parent", shell_complete=culture_names)
@click.argument("new", required=False)
@click.option("--starter", metavar="AMOUNT", help="Taken from the parent ('10 g').")
@sure_option
@entry_options
def split(
    parent: str, new: str | None, starter: str | None, at: datetime | Spoken | None, note: str,
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
    name = new or (due.task.other if due is not None else next_name(book, parent, room))
    if name in culture_names_of(room):
        raise UsageProblemError(f"there is a culture {name} already; name the new one otherwise")
    told = due.task if due is not None else None
    usual = told.starter_g if isinstance(told, Split) else room.culture(parent).starter_g
    amount = grams(starter) if starter else usual
    book.record([Entry(when, "split", parent, name, amount, "g", note)])


@event_command("start")
@click.argument("new")
@click.argument("kind")
@click.option("--starter", metavar="AMOUNT", help="Weight of the starter ('10 g').")
@entry_options
def start(
    new: str, kind: str, starter: str | None, at: datetime | Spoken | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """A culture NEW of a KIND was started from a bought starter.

    Example: livefood journal start MW-9 microworm --starter "15 g"
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    from cultures.foods.kinds import WormKind

    kinds = [name for name, k in book.room.kinds.items() if isinstance(k, WormKind)]
    book.must_know("kind of worm", kind, kinds)
    known = book.state(when)
    if new in culture_names_of(known):
        raise UsageProblemError(f"there is a culture {new} already; name the new one otherwise")
    amount = grams(starter) if starter else None
    unit = "g" if starter else ""
    book.record([Entry(when, "start", new, kind, amount, unit, note)])


@event_command("discard")
@click.argument("culture", shell_complete=culture_names)
@click.option("--crashed", is_flag=True, help="It failed; the plan learns how often they do.")
@entry_options
def discard(
    culture: str, crashed: bool, at: datetime | Spoken | None, note: str, room_path: Path,
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
@instead_option
@sure_option
@entry_options
def harvest(
    subject: str, amount: tuple[str, ...], every: bool, instead_of: str | None,
    at: datetime | Spoken | None, note: str, room_path: Path, now: datetime | None,
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
        book.record([Entry(when, "harvest", subject, stands_for(instead_of), None, "", note),
                     *instead(book, "harvest", instead_of, when)])  # fmt: skip
        return
    if amount:
        value, unit = portion(typed(amount), room.culture(subject).kind)
    else:
        due = book.due("harvest", subject, when)
        if due is None:
            raise UsageProblemError(
                f"no harvest of {subject} is due; say how much, like '3 swipes'"
            )
        ticked = book.ticked(due, room)
        value, unit = ticked.amount or 0.0, ticked.unit
    book.record([
        Entry(when, "harvest", subject, "all" if every else stands_for(instead_of), value, unit,
              note),
        *instead(book, "harvest", instead_of, when),
    ])  # fmt: skip


@event_command("set")
@click.argument("vessel", shell_complete=vessel_names)
@click.argument("amount", nargs=-1)
@instead_option
@sure_option
@entry_options
def set_hatch(
    vessel: str, amount: tuple[str, ...], instead_of: str | None, at: datetime | Spoken | None,
    note: str, room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """A hatch was set in VESSEL; without an amount it is what the plan asked for.

    Take care: drip loops, a residual-current breaker, and do not breathe cyst dust.

    Example: livefood journal set "bottle 1" 1/2 tsp
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    book.must_know("vessel", vessel, [v.name for v in room.vessels])
    due = None if amount else book.due("set", instead_of or vessel, when)
    if amount:
        value = cysts_g(typed(amount), room.hatch_kind)
    elif due is not None and isinstance(due.task, SetHatch):
        value = due.task.cysts_g
    else:
        raise UsageProblemError(f"no hatch is due in {vessel}; say how much, like '2 g'")
    book.record([Entry(when, "set", vessel, stands_for(instead_of), value, "g", note),
                 *instead(book, "set", instead_of, when)])  # fmt: skip


@event_command("hatched")
@click.argument("vessel", shell_complete=vessel_names)
@click.argument("nauplii", required=False)
@drops_options
@sure_option
@entry_options
def hatched(
    vessel: str, nauplii: str | None, counts: str | None, drop_ml: float | None,
    of_ml: float | None, diluted: float, at: datetime | Spoken | None, note: str, room_path: Path,
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
    subject: str, degrees: tuple[str, ...], at: datetime | Spoken | None, note: str,
    room_path: Path, now: datetime | None,
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
@click.argument("what", metavar="STOCK|KIND")
@click.argument("amount", nargs=-1, required=True)
@entry_options
def bought(
    what: str, amount: tuple[str, ...], at: datetime | Spoken | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """Cysts, salt, dry food, medium (or one kind's: microworm_medium) or a starter of a KIND.

    Example: livefood journal bought cysts 50 g
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    name, value = _stock_amount(room, (*stock_names(room), *room.kinds), (what, *amount))
    book.record([Entry(when, "bought", name, "", value, "g", note)])


@event_command("used")
@click.argument("what", metavar="STOCK")
@click.argument("amount", nargs=-1, required=True)
@entry_options
def used(
    what: str, amount: tuple[str, ...], at: datetime | Spoken | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """Some of a STOCK was used up besides what was told: spilt, given away, gone off.

    Example: livefood journal used salt 200 g
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    name, value = _stock_amount(room, stock_names(room), (what, *amount))
    book.record([Entry(when, "used", name, "", value, "g", note)])


def _stock_amount(room: Room, known: Sequence[str], words: Sequence[str]) -> tuple[str, float]:
    """(stock, grams) of words in any order."""
    words = [word.lower() if word.lower() in known else word for word in words]
    name = next((word for word in words if word in known), None)
    if name is None:
        raise UsageProblemError(
            f"'{words[0]}' is no stock: write what and how much, like 'cysts 50 g'"
            f" (or {', '.join(known[1:])})"
        )
    text = typed([word for word in words if word != name])
    if not text:
        raise UsageProblemError(f"say how much: '{name} 50 g'")
    return name, cysts_g(text, room.hatch_kind) if name == "cysts" else grams(text)


@event_command("failed")
@click.argument(
    "subject", metavar="VESSEL|CULTURE", shell_complete=any_of(vessel_names, culture_names)
)
@sure_option
@entry_options
def failed(
    subject: str, at: datetime | Spoken | None, note: str, room_path: Path, now: datetime | None
) -> None:
    """The hatch in VESSEL gave nothing and was poured out, or CULTURE crashed and is gone.

    Take care: pour old hatches down the drain, never outdoors; bin a crashed culture closed.

    Example: livefood journal failed "bottle 1"
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    vessels = [v.name for v in room.vessels]
    book.must_know("vessel or culture", subject, [*vessels, *culture_names_of(room)])
    stands = {h.vessel for h in room.hatches} | {h.vessel for h in room.held}
    if subject in vessels and subject not in stands:
        raise UsageProblemError(
            f"no hatch stands in {subject} by all that is known; note first that it was set"
        )
    book.record([Entry(when, "failed", subject, "", None, "", note)])


@event_command("note")
@click.argument("subject", metavar="NAME", shell_complete=any_of(
    "room", culture_names, vessel_names, brood_names, tank_names))  # fmt: skip
@click.argument("words", nargs=-1, required=True)
@entry_options
def note_(
    subject: str, words: tuple[str, ...], at: datetime | Spoken | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """A few WORDS on anything: a smell, a colour. They are shown with it for two weeks.

    Example: livefood journal note MW-1 smells of vinegar
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    known = ["room", *(t.name for t in room.tanks), *brood_names_of(room),
             *culture_names_of(room), *(v.name for v in room.vessels),
             *stock_names(room)]  # fmt: skip
    book.must_know("tank, brood, culture, vessel or stock", subject, known)
    text = " ".join([*words, note]).strip()
    book.record([Entry(when, "note", subject, note=text)])


EVENT_COMMANDS: tuple[click.Command, ...] = (
    split, start, discard, harvest, set_hatch, hatched, spawn, free_swimming, count_, length_,
    move, lost, collected, wetted, planned, leftover, temperature, bought, used, failed, note_,
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
