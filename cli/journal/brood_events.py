"""``livefood journal EVENT`` for broods: spawned, counted, measured, moved, lost."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

import click

from cli.completion import any_of, brood_names, culture_names, tank_names, vessel_names
from cli.journal.amounts import grams, millimetres, typed, whole
from cli.journal.book import (
    Book,
    brood_names_of,
    brood_of,
    culture_names_of,
    entry_options,
    event_command,
    sure_option,
)
from cli.journal.counts import counted_total, drops_options
from cli.options import DAY, Spoken, UsageProblemError, Whole
from cli.quantities import Number
from cultures.errors import UnitError
from cultures.journal.entries import LEFTOVERS, Entry
from cultures.replay.stocks import stock_names
from cultures.room.room import Room
from cultures.words.quantities import in_units

_F = TypeVar("_F", bound=Callable[..., Any])


def new_brood_options(function: _F) -> _F:
    """What must be known of a brood that is new."""
    function = click.option(
        "--count", type=Number(1, 1e6), help="Eggs or fry, as far as known."
    )(function)  # fmt: skip
    function = click.option(
        "--class", "fry_class", metavar="CLASS", help="Its fry class (see 'livefood kinds')."
    )(function)  # fmt: skip
    return click.option(
        "--tank", metavar="NAME", shell_complete=tank_names, help="Where a new brood is."
    )(function)  # fmt: skip


@event_command("spawn")
@click.argument("words", nargs=-1, required=True, metavar="BROOD", shell_complete=brood_names)
@new_brood_options
@entry_options
def spawn(
    words: tuple[str, ...], tank: str | None, fry_class: str | None, count: float | None,
    at: datetime | Spoken | None, note: str, room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """BROOD was spawned: a new one with its tank and class, or a known one's date put right.

    \b
    Example: livefood journal spawn "danio 4" --tank A4
        --class egg_scatterer --count 80
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    brood, other = _new_or_known(room, book, typed(words), tank, fry_class, count)
    unit = "fry" if count else ""
    book.record([Entry(when, "spawn", brood, other, count, unit, note)])


def _known_brood(room: Room, book: Book, name: str) -> str:
    """The name of a brood that is there, given it or its tank.

    Raises:
        LivefoodError: there is none, or the tank holds several.
    """
    brood = brood_of(name, room)
    book.must_know("brood", brood, brood_names_of(room))
    return brood


def _new_or_known(
    room: Room, book: Book, brood: str, tank: str | None, fry_class: str | None,
    count: float | None,
) -> tuple[str, str]:  # fmt: skip
    """(name, tank and class) of a new brood; "" for the latter of one that is known.

    Raises:
        LivefoodError: something of a new one is missing or unknown.
    """
    from cultures.fry.classes import class_names

    if brood in brood_names_of(room):
        return brood, ""
    if not (tank and fry_class and count):
        raise UsageProblemError(
            f"{brood} is a new brood: give --tank, --class and --count (or name one that is there)"
        )
    book.must_know("tank", tank, [t.name for t in room.tanks])
    book.must_know("fry class", fry_class, sorted({*class_names(), *room.fry_classes}))
    return brood, f"{tank} {fry_class}"


@event_command("planned")
@click.argument("words", nargs=-1, required=True, metavar="BROOD", shell_complete=brood_names)
@click.option("--on", "day", type=DAY, required=True, metavar="DAY", help="When it is to spawn.")
@new_brood_options
@entry_options
def planned(
    words: tuple[str, ...], day: date, tank: str | None, fry_class: str | None,
    count: float | None, at: datetime | Spoken | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """BROOD is planned to spawn on a day ahead; 'journal spawn' says when it did.

    \b
    Example: livefood journal planned "danio 5" --on 2027-02-01 --tank A4
        --class egg_scatterer --count 80
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    brood, place = _new_or_known(room, book, typed(words), tank, fry_class, count)
    if day < when.date():
        raise UsageProblemError(f"{day} is over; 'journal spawn' notes what has spawned")
    if not place:
        known = next(b for b in (*room.broods, *room.waiting) if b.name == brood)
        place = f"{known.tank} {known.fry_class.name}"
    unit = "fry" if count else ""
    book.record([Entry(when, "planned", brood, f"{place} on {day}", count, unit, note)])


@event_command("collected")
@click.argument("words", nargs=-1, required=True, metavar="BROOD", shell_complete=brood_names)
@new_brood_options
@entry_options
def collected(
    words: tuple[str, ...], tank: str | None, fry_class: str | None, count: float | None,
    at: datetime | Spoken | None, note: str, room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """Eggs of BROOD were put aside in damp peat: no fry until they are wetted.

    \b
    Example: livefood journal collected "annuals 3" --tank B4
        --class annual_killifish --count 60
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    brood, other = _new_or_known(room, book, typed(words), tank, fry_class, count)
    unit = "fry" if count else ""
    book.record([Entry(when, "collected", brood, other, count, unit, note)])


@event_command("wetted")
@click.argument("brood", shell_complete=brood_names)
@click.argument("fry", required=False)
@click.option("--on", "day", type=DAY, metavar="DAY", help="The day, if it is still to come.")
@entry_options
def wetted(
    brood: str, fry: str | None, day: date | None, at: datetime | Spoken | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """Eggs of BROOD were put in water, or will be on a day ahead; FRY is how many, if known.

    Example: livefood journal wetted "annuals 3" --on 2027-02-01
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    brood = _known_brood(book.state(when), book, brood)
    count = whole(fry, "fry") if fry else None
    other = "" if day is None or day == when.date() else day.isoformat()
    book.record([Entry(when, "wetted", brood, other, count, "fry" if fry else "", note)])


@event_command("leftover")
@click.argument("brood", metavar="TANK|BROOD", shell_complete=any_of(tank_names, brood_names))
@click.argument("much", type=click.Choice(LEFTOVERS))
@entry_options
def leftover(
    brood: str, much: str, at: datetime | Spoken | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """What a tank left of its food: none, some or much. It is shown with the tank.

    Example: livefood journal leftover A3 some
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    brood = _known_brood(book.state(when), book, brood)
    book.record([Entry(when, "leftover", brood, much, None, "", note)])


@event_command("free_swimming")
@click.argument("brood", shell_complete=brood_names)
@click.argument("fry", required=False)
@sure_option
@entry_options
def free_swimming(
    brood: str, fry: str | None, at: datetime | Spoken | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """BROOD swims: its first food is due; FRY is how many, if you can say.

    Example: livefood journal free_swimming "danio 4" 60
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    brood = _known_brood(book.state(when), book, brood)
    count = whole(fry, "fry") if fry else None
    unit = "fry" if fry else ""
    book.record([Entry(when, "free_swimming", brood, "", count, unit, note)])


@event_command("count")
@click.argument(
    "subject", metavar="BROOD|VESSEL|CULTURE|STOCK",
    shell_complete=any_of(brood_names, vessel_names, culture_names),
)  # fmt: skip
@click.argument("amount", nargs=-1, metavar="[NUMBER]")
@click.option("--tray", is_flag=True, help="All worms of the culture, not those of a swipe.")
@drops_options
@sure_option
@entry_options
def count_(
    subject: str, amount: tuple[str, ...], tray: bool, counts: str | None, drop_ml: float | None,
    of_ml: float | None, diluted: float, at: datetime | Spoken | None, note: str, room_path: Path,
    now: datetime | None,
) -> None:  # fmt: skip
    """Fry of a brood, nauplii in a vessel, worms in one swipe, or what is left of a stock.

    A count sets what is there. Eggs that rest in peat are counted like fry.

    \b
    Examples:
      livefood journal count "danio 4" 55
      livefood journal count cysts 38 g
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    subject = brood_of(subject, room)
    vessels, cultures = [v.name for v in room.vessels], culture_names_of(room)
    stocks = stock_names(room)
    book.must_know(
        "brood, vessel, culture or stock", subject,
        [*brood_names_of(room), *vessels, *cultures, *stocks],
    )  # fmt: skip
    if subject in stocks:
        if not amount:
            raise UsageProblemError(f"say how much of {subject} is left, like '38 g'")
        book.record([Entry(when, "count", subject, "", grams(typed(amount)), "g", note)])
        return
    number = typed(amount) or None
    unit = "nauplii" if subject in vessels else "worms" if subject in cultures else "fry"
    total, other = counted_total(number, counts, drop_ml, of_ml, diluted, unit)
    if unit == "worms" and not other:
        other = "tray" if tray else "swipe"
    book.record([Entry(when, "count", subject, other, total, unit, note)])


@event_command("length")
@click.argument("brood", shell_complete=brood_names)
@click.argument("length", nargs=-1, required=True)
@click.option("--fish", type=Whole(1, 10000), help="How many were measured.")
@entry_options
def length_(
    brood: str, length: tuple[str, ...], fish: int | None, at: datetime | Spoken | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """Fry of BROOD were measured, total length, the mean of some.

    Example: livefood journal length "danio 4" 6.5 mm --fish 5
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    brood = _known_brood(book.state(when), book, brood)
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
    brood: str, tank: str, fry: str | None, at: datetime | Spoken | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """BROOD moved to TANK, or FRY of it (which then are a brood of their own).

    Example: livefood journal move "danio 4" B2
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    room = book.state(when)
    brood = _known_brood(room, book, brood)
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
    brood: str, fry: str | None, every: bool, at: datetime | Spoken | None, note: str,
    room_path: Path, now: datetime | None,
) -> None:  # fmt: skip
    """FRY of BROOD died, were sold or given away.

    Take care: never release fish outdoors.

    Example: livefood journal lost "danio 4" 5
    """
    book = Book.open(room_path, now)
    when = book.when(at)
    brood = _known_brood(book.state(when), book, brood)
    if bool(fry) == every:
        raise UsageProblemError("say how many were lost, or --all")
    count = whole(fry, "fry") if fry else None
    other = "all" if every else ""
    book.record([Entry(when, "lost", brood, other, count, "fry" if fry else "", note)])
