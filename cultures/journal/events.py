"""What a line of the journal may say: the events, and the one check of what is noted and read."""

from __future__ import annotations

from datetime import date, datetime
from typing import NamedTuple

from attrs import frozen

from cultures.errors import RangeError, UnitError, nearest
from cultures.words.numbers import read_share, whole_number
from cultures.words.text import check_line, plain

#: Years that a journal knows.
FIRST_YEAR, LAST_YEAR = 1990, 2199
#: What is planned lies so many years ahead at most.
_YEARS_AHEAD = 3
#: A column is at most so long.
_LONGEST = 300
#: No amount is above these, by unit; those of a vessel or a culture are looked at with what is
#: known of them (cultures/data/limits.toml).
MOST = {
    "swipes": 1e5, "draws": 1e5, "mL": 1e6, "mg": 1e8, "g": 1e6, "nauplii": 1e12, "worms": 1e12,
    "fry": 1e7, "mm": 1000.0, "C": 60.0,
}  # fmt: skip


@frozen
class EventSpec:
    """What a line of one event must look like.

    Attributes:
        means: one plain sentence. units: units that its amount may have; empty when it takes
            no amount. needs_amount, needs_other: the column must be filled.
        other: what the column ``other`` holds. low: least amount. words: the note is what it
            says.
    """

    means: str
    units: tuple[str, ...] = ()
    needs_amount: bool = False
    needs_other: bool = False
    other: str = ""
    low: float = 0.0
    words: bool = False


EVENTS: dict[str, EventSpec] = {
    "split": EventSpec(
        "a starter of one culture went into new medium", ("g",), needs_other=True,
        other="name of the new culture",
    ),
    "start": EventSpec(
        "a culture was started from a bought starter", ("g",), needs_other=True, other="its kind"
    ),
    "discard": EventSpec("a culture was thrown out", other="'crashed' if it failed"),
    "harvest": EventSpec(
        "worms were taken from a culture, or a vessel was drawn off",
        ("swipes", "draws", "mL", "mg", "nauplii"),
        other="'all' if nothing more climbed, or 'instead of' and what was told",
    ),
    "fed": EventSpec(
        "a round was fed as it was told, with so much dry food; or one tank of it was, or got so"
        " much of one food",
        ("g", "mL"), other="the food, of one tank",
    ),
    "skip": EventSpec(
        "a task that was told was not done", needs_other=True, other="the id of the task"
    ),
    "failed": EventSpec("a hatch gave nothing, or a culture crashed"),
    "note": EventSpec("a few words on anything", words=True),
    "leftover": EventSpec(
        "what a brood left of its food", needs_other=True, other="none, some or much"
    ),
    "set": EventSpec("cysts were set in a vessel", ("g",), needs_amount=True),
    "hatched": EventSpec(
        "a vessel was drawn off and its nauplii counted", ("nauplii",), needs_amount=True,
        other="the drops behind the count",
    ),
    "spawn": EventSpec("fish spawned: a brood begins", ("fry",), other="tank and fry class"),
    "free_swimming": EventSpec("the fry of a brood swim", ("fry",)),
    "collected": EventSpec(
        "eggs were put aside in damp peat", ("fry",), other="tank and fry class of a new brood"
    ),
    "wetted": EventSpec(
        "eggs out of the peat were put in water, or will be", ("fry",),
        other="the day, if not that of the entry",
    ),
    "planned": EventSpec(
        "a spawning is planned", ("fry",), needs_other=True,
        other="tank, fry class, day and chance",
    ),
    "drop": EventSpec("a spawning that was planned is not to come"),
    "count": EventSpec(
        "fry of a brood, nauplii in a vessel that goes on, worms in a swipe or on a tray were"
        " counted, or a stock was weighed",
        ("fry", "nauplii", "worms", "mg", "g"), needs_amount=True,
        other="the drops behind the count, 'swipe' or 'tray'",
    ),
    "length": EventSpec(
        "fry were measured", ("mm",), needs_amount=True, other="how many fish", low=0.5
    ),
    "move": EventSpec(
        "a brood, or so many of it, moved", ("fry",), needs_other=True, other="the tank"
    ),
    "sorted": EventSpec("a brood was sorted by size"),
    "lid": EventSpec("a tight lid lies over a brood"),
    "sold": EventSpec(
        "fish were sold or given away", ("fry",), other="'all' if none of the brood are left"
    ),
    "died": EventSpec("fish were found dead", ("fry",), other="'all' for the whole brood"),
    "lost": EventSpec("fish are missing", ("fry",), other="'all' for the whole brood"),
    "temperature": EventSpec(
        "a culture, vessel, tank or the room stands at a temperature from now on", ("C",),
        needs_amount=True, low=-20.0,
    ),
    "bought": EventSpec(
        "cysts, salt, dry food, medium or a starter were bought", ("g",), needs_amount=True
    ),
    "used": EventSpec("some of a stock was used up besides", ("g",), needs_amount=True),
    "learn": EventSpec("learning was turned off or on", needs_other=True, other="'off' or 'on'"),
    "undo": EventSpec("a line was a mistake", needs_other=True, other="what that line says"),
}  # fmt: skip


#: Fish that are there no more: sales, and two kinds of losses.
LEAVING = ("sold", "died", "lost")
#: How much of its food a brood may leave.
LEFTOVERS = ("none", "some", "much")
#: Other spellings of units that people write into a spreadsheet.
UNIT_ALIASES = {
    "swipe": "swipes", "draw": "draws", "ml": "mL", "gram": "g", "grams": "g", "c": "C",
    "°c": "C", "nauplius": "nauplii", "worm": "worms", "fish": "fry",
}  # fmt: skip
#: Events whose subject or ``other`` has a form of its own.
_STRICT = frozenset({"fed", "leftover", "undo", "learn", "planned", "wetted"})


class Entry(NamedTuple):
    """One line; a plain tuple because a journal may hold a hundred thousand.

    ``when`` is aware. ``line`` is its number in the file, 0 before it is recorded.
    """

    when: datetime
    event: str
    subject: str
    other: str = ""
    amount: float | None = None
    unit: str = ""
    note: str = ""
    line: int = 0


def named(entry: Entry) -> Entry:
    """An entry with its names as they are read."""
    return entry._replace(subject=plain(entry.subject), other=plain(entry.other))


def begins(entry: Entry) -> str:
    """The culture that an entry begins, or ""."""
    return {"split": entry.other, "start": entry.subject}.get(entry.event, "")


def usual_unit(spec: EventSpec, amount: float, unit: str) -> tuple[float, str]:
    """An amount in a unit of its event: another spelling, none at all, or °F."""
    if not unit and len(spec.units) == 1:
        return amount, spec.units[0]
    if spec.units == ("C",) and unit.lower().lstrip("°") == "f":
        return (amount - 32.0) * 5.0 / 9.0, "C"
    return amount, UNIT_ALIASES.get(unit.lower(), unit)


def check_entry(entry: Entry) -> None:
    """Checks one entry by itself: what is refused here is neither written nor read.

    Raises:
        RangeError: what is wrong with it, in plain words (a ValueError too).
    """
    spec = EVENTS.get(entry.event)
    if spec is None:
        raise RangeError(f"there is no event '{entry.event}'; {nearest(entry.event, EVENTS)}")
    if not FIRST_YEAR <= entry.when.year <= LAST_YEAR:
        raise RangeError(f"'{entry.when:%Y-%m-%d}': is the year right?")
    words = entry.subject + entry.other + entry.note
    if len(words) > _LONGEST or not (words.isascii() and words.isprintable()):
        _check_words(entry)
    if not entry.subject:
        raise RangeError(f"{entry.event} needs a subject")
    if spec.needs_other and not entry.other:
        raise RangeError(f"{entry.event} needs {spec.other} in the column 'other'")
    if entry.amount is not None:
        _check_amount(entry.event, spec, entry.amount, entry.unit)
    elif spec.needs_amount:
        raise RangeError(f"{entry.event} needs an amount (in {' or '.join(spec.units)})")
    if spec.words and not entry.note.strip():
        raise RangeError(f"{entry.event} needs its words in the column 'note'")
    if entry.event in _STRICT:
        _check_strict(entry)


def _check_words(entry: Entry) -> None:
    try:
        for cell in (entry.subject, entry.other, entry.note):
            check_line(cell, _LONGEST)
    except UnitError as error:
        raise RangeError(f"{entry.event}: {error}") from None


def _check_strict(entry: Entry) -> None:
    """Of events whose subject or ``other`` has a form."""
    if entry.event == "leftover" and entry.other not in LEFTOVERS:
        raise RangeError(f"leftover is {', '.join(LEFTOVERS[:-1])} or {LEFTOVERS[-1]}")
    if entry.event == "fed" and entry.other and (entry.amount is None or not entry.unit):
        raise RangeError(f"fed needs an amount of {entry.other}, in g or mL")
    if entry.event == "undo" and not (whole_number(entry.subject) or 0) > 0:
        raise RangeError(f"undo needs the number of a line, not '{entry.subject}'")
    if entry.event == "learn" and entry.other not in ("off", "on"):
        raise RangeError("learn needs 'off' or 'on' in the column 'other'")
    if entry.event == "planned" or (entry.event == "wetted" and entry.other):
        _check_day(entry)


def _check_amount(event: str, spec: EventSpec, amount: float, unit: str) -> None:
    if unit not in spec.units and (unit or len(spec.units) < 2):
        allowed = f"use {' or '.join(spec.units)}" if spec.units else "it takes no amount"
        raise RangeError(f"{event}: the unit '{unit}' does not fit; {allowed}")
    most = MOST[unit or spec.units[0]]
    if not spec.low <= amount <= most:
        raise RangeError(
            f"{event}: {amount:g} {unit} is not possible; use {spec.low:g} to {most:g}"
        )


def day_ahead(entry: Entry) -> date | None:
    """The day that a planned spawning or a wetting names, or None."""
    try:
        return date.fromisoformat(_ahead(entry)[0])
    except ValueError:
        return None


def chance_of(entry: Entry) -> float | None:
    """The chance that a planned spawning is given, or None.

    Raises:
        UnitError: what stands there is none.
    """
    text = _ahead(entry)[1]
    return read_share(text) if text else None


def _ahead(entry: Entry) -> tuple[str, str]:
    """The day and the chance at the end of ``A4 egg_scatterer on 2027-02-01 chance 0.7``."""
    day, _, chance = entry.other.rpartition(" on ")[2].partition(" chance ")
    return day, chance


def _check_day(entry: Entry) -> None:
    day = day_ahead(entry)
    if day is None:
        raise RangeError(f"{entry.event} needs a day like 2027-01-31 in the column 'other'")
    if not FIRST_YEAR <= day.year <= entry.when.year + _YEARS_AHEAD:
        raise RangeError(f"{entry.event}: '{day}': is the year right?")
    try:
        chance_of(entry)
    except UnitError as error:
        raise RangeError(f"{entry.event}: {error}") from None
