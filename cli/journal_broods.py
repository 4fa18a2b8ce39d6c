"""``livefood journal EVENT`` for broods: spawned, counted, measured, moved, lost."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cli.completion import any_of, brood_names, culture_names, tank_names, vessel_names
from cli.journal_amounts import millimetres, typed, whole
from cli.journal_book import (
    Book,
    brood_names_of,
    culture_names_of,
    entry_options,
    event_command,
    sure_option,
)
from cli.journal_counts import counted_total, drops_options
from cli.options import UsageProblemError, Whole
from cli.quantities import Number
from cli.text import in_units
from cultures.errors import UnitError
from cultures.journal import Entry


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
    book.must_know("brood", brood, brood_names_of(book.state(when)))
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
    vessels, cultures = [v.name for v in room.vessels], culture_names_of(room)
    book.must_know(
        "brood, vessel or culture", subject, [*brood_names_of(room), *vessels, *cultures]
    )
    unit = "nauplii" if subject in vessels else "worms" if subject in cultures else "fry"
    total, other = counted_total(number, counts, drop_ml, of_ml, diluted, unit)
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
    book.must_know("brood", brood, brood_names_of(book.state(when)))
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
    book.must_know("brood", brood, brood_names_of(room))
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
    book.must_know("brood", brood, brood_names_of(book.state(when)))
    if bool(fry) == every:
        raise UsageProblemError("say how many were lost, or --all")
    count = whole(fry, "fry") if fry else None
    other = "all" if every else ""
    book.record([Entry(when, "lost", brood, other, count, "fry" if fry else "", note)])
