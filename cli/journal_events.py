"""``livefood journal EVENT``: one short command for each thing that a keeper does."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

import click

from cli.completion import any_of, brood_names, culture_names, tank_names, vessel_names
from cli.journal_amounts import (
    celsius,
    cysts_g,
    drops,
    grams,
    millimetres,
    portion,
    typed,
    whole,
)
from cli.journal_book import Book, entry_options, event_command, next_name, sure_option
from cli.options import UsageProblemError, Whole
from cli.quantities import Number
from cli.text import in_units
from cultures.errors import UnitError
from cultures.journal import Entry
from cultures.room import Room

_F = TypeVar("_F", bound=Callable[..., Any])


def drops_options(function: _F) -> _F:
    """The drops behind a count."""
    for name, help_text in (
        ("--diluted", "How many times a part of it was diluted first."),
        ("--of-ml", "Volume that the drops stand for."),
        ("--drop-ml", "Volume of one drop."),
    ):
        default = 1.0 if name == "--diluted" else None
        function = click.option(name, type=float, default=default, help=help_text)(function)
    return click.option(
        "--drops", "counts", metavar='"12 9 15"', help="Animals in each drop counted."
    )(function)


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
    book.must_know("culture", parent, _cultures(room))
    due = book.due("split", parent, when)
    name = new or (due.other if due is not None else next_name(book, parent, room))
    if name in _cultures(room):
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
    if new in _cultures(book.state(when)):
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
    book.must_know("culture", culture, _cultures(book.state(when)))
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
    book.must_know("culture or vessel", subject, [*_cultures(room), *vessels])
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
    total, other = _counted(nauplii, counts, drop_ml, of_ml, diluted, "nauplii")
    book.record([Entry(when, "hatched", vessel, other, total, "nauplii", note)])


@event_command("spawn")
@click.argument("brood", shell_complete=brood_names)
@click.option("--tank", metavar="NAME", shell_complete=tank_names, help="Where a new brood is.")
@click.option("--class", "fry_class", metavar="CLASS", help="Its fry class (see 'livefood kinds').")
@click.option("--count", type=Number(1, 1e6), help="Eggs or fry, as far as known.")
@entry_options
def spawn(
    brood: str, tank: str | None, fry_class: str | None, count: float | None, at: datetime | None,
    note: str, room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """BROOD was spawned: a new one with its tank and class, or a known one's date put right.

    \b
    Example: livefood journal spawn "danio 4" --tank A4
        --class egg_scatterer --count 80
    """
    from cultures.fry import class_names

    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    other = ""
    if brood not in [b.name for b in room.broods]:
        if not (tank and fry_class and count):
            raise UsageProblemError(
                f"{brood} is a new brood: give --tank, --class and --count"
                " (or name one that is there)"
            )
        book.must_know("tank", tank, [t.name for t in room.tanks])
        book.must_know("fry class", fry_class, sorted({*class_names(), *room.fry_classes}))
        other = f"{tank} {fry_class}"
    unit = "fry" if count else ""
    book.record([Entry(when, "spawn", brood, other, count, unit, note)])


@event_command("free_swimming")
@click.argument("brood", shell_complete=brood_names)
@click.argument("fry", required=False)
@sure_option
@entry_options
def free_swimming(
    brood: str, fry: str | None, at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """BROOD swims: its first food is due; FRY is how many, if you can say.

    Example: livefood journal free_swimming "danio 4" 60
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    book.must_know("brood", brood, _broods(book.state(when)))
    count = whole(fry, "fry") if fry else None
    unit = "fry" if fry else ""
    book.record([Entry(when, "free_swimming", brood, "", count, unit, note)])


@event_command("count")
@click.argument(
    "subject", metavar="BROOD|VESSEL|CULTURE",
    shell_complete=any_of(brood_names, vessel_names, culture_names),
)  # fmt: skip
@click.argument("number", required=False)
@drops_options
@sure_option
@entry_options
def count_(
    subject: str, number: str | None, counts: str | None, drop_ml: float | None,
    of_ml: float | None, diluted: float, at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """Fry of a brood, nauplii in a vessel that goes on, or worms in one swipe of a culture.

    Example: livefood journal count "danio 4" 55
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    vessels, cultures = [v.name for v in room.vessels], _cultures(room)
    book.must_know("brood, vessel or culture", subject, [*_broods(room), *vessels, *cultures])
    unit = "nauplii" if subject in vessels else "worms" if subject in cultures else "fry"
    total, other = _counted(number, counts, drop_ml, of_ml, diluted, unit)
    if unit == "worms" and not other:
        other = "swipe"
    book.record([Entry(when, "count", subject, other, total, unit, note)])


@event_command("length")
@click.argument("brood", shell_complete=brood_names)
@click.argument("length", nargs=-1, required=True)
@click.option("--fish", type=Whole(1, 10000), help="How many were measured.")
@entry_options
def length_(
    brood: str, length: tuple[str, ...], fish: int | None, at: datetime | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """Fry of BROOD were measured, total length, the mean of some.

    Example: livefood journal length "danio 4" 6.5 mm --fish 5
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    book.must_know("brood", brood, _broods(book.state(when)))
    value = millimetres(typed(length))
    if not 1 <= value <= 500:
        wrong = f"{value:g} mm is not the length of a fry; use 1 to 500 mm"
        raise UnitError(in_units(wrong, book.room.units))
    other = f"{fish} fish" if fish else ""
    book.record([Entry(when, "length", brood, other, value, "mm", note)])


@event_command("move")
@click.argument("brood", shell_complete=brood_names)
@click.argument("tank", shell_complete=tank_names)
@click.argument("fry", required=False)
@sure_option
@entry_options
def move(
    brood: str, tank: str, fry: str | None, at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """BROOD moved to TANK, or FRY of it (which then are a brood of their own).

    Example: livefood journal move "danio 4" B2
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    book.must_know("brood", brood, _broods(room))
    book.must_know("tank", tank, [t.name for t in room.tanks])
    count = whole(fry, "fry") if fry else None
    book.record([Entry(when, "move", brood, tank, count, "fry" if fry else "", note)])


@event_command("lost")
@click.argument("brood", shell_complete=brood_names)
@click.argument("fry", required=False)
@click.option("--all", "every", is_flag=True, help="The whole brood.")
@sure_option
@entry_options
def lost(
    brood: str, fry: str | None, every: bool, at: datetime | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """FRY of BROOD died, were sold or given away.

    Take care: never release fish outdoors.

    Example: livefood journal lost "danio 4" 5
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    book.must_know("brood", brood, _broods(book.state(when)))
    if bool(fry) == every:
        raise UsageProblemError("say how many were lost, or --all")
    count = whole(fry, "fry") if fry else None
    other = "all" if every else ""
    book.record([Entry(when, "lost", brood, other, count, "fry" if fry else "", note)])


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
    known = ["room", *tanks, *_cultures(room), *vessels]
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


def _cultures(room: Room) -> list[str]:
    return [c.name for c in room.cultures]


def _broods(room: Room) -> list[str]:
    return [b.name for b in room.broods]


def _counted(
    total: str | None, counts: str | None, drop_ml: float | None, of_ml: float | None,
    diluted: float, what: str,
) -> tuple[float, str]:  # fmt: skip
    """(total, the drops as text)."""
    if counts is None:
        if total is None:
            raise UsageProblemError(f"say how many {what}, or count drops with --drops")
        return whole(total, what), ""
    if total is not None:
        raise UsageProblemError("give a total or drops, not both")
    found = drops((counts,), drop_ml, of_ml, diluted)
    return float(round(found.total)), str(found)


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
