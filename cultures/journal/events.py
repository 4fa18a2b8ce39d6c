"""What a line of the journal may say: the events, and the one check of what is noted and read."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import NamedTuple

from attrs import frozen

from cultures.errors import RangeError, UnitError, nearest
from cultures.journal.absences import read_away
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
        units: that its amount may have; empty when it takes no amount. other: what the column
            ``other`` must hold, "" where it may be empty. needs_amount: it must have one.
        low: least amount. words: the note is what it says.
    """

    units: tuple[str, ...] = ()
    other: str = ""
    needs_amount: bool = False
    low: float = 0.0
    words: bool = False


#: docs/journal.md says what they mean, and what else stands in ``other``.
EVENTS: dict[str, EventSpec] = {
    "split": EventSpec(("g",), "name of the new culture"),
    "start": EventSpec(("g",), "its kind"),
    "discard": EventSpec(),
    "harvest": EventSpec(("swipes", "draws", "mL", "mg", "nauplii")),
    "fed": EventSpec(("g", "mL")),
    "skip": EventSpec(other="the id of the task"),
    "failed": EventSpec(),
    "note": EventSpec(words=True),
    "leftover": EventSpec(other="none, some or much"),
    "set": EventSpec(("g",), needs_amount=True),
    "hatched": EventSpec(("nauplii",), needs_amount=True),
    "spawn": EventSpec(("fry",)),
    "eggs_hatched": EventSpec(("fry",)),
    "not_swimming": EventSpec(),
    "free_swimming": EventSpec(("fry",)),
    "collected": EventSpec(("fry",)),
    "wetted": EventSpec(("fry",)),
    "planned": EventSpec(("fry",), "tank, fry class, day and chance"),
    "drop": EventSpec(),
    "count": EventSpec(("fry", "nauplii", "worms", "mg", "g"), needs_amount=True),
    "length": EventSpec(("mm",), needs_amount=True, low=0.5),
    "move": EventSpec(("fry",), "the tank"),
    "merge": EventSpec(other="the brood that it is one with"),
    "sorted": EventSpec(),
    "lid": EventSpec(),
    "sold": EventSpec(("fry",)),
    "died": EventSpec(("fry",)),
    "lost": EventSpec(("fry",)),
    "temperature": EventSpec(("C",), needs_amount=True, low=-20.0),
    "bought": EventSpec(("g",), needs_amount=True),
    "ordered": EventSpec(("g",), needs_amount=True),
    "used": EventSpec(("g",), needs_amount=True),
    "away": EventSpec(other="the days"),
    "learn": EventSpec(other="'off' or 'on'"),
    "undo": EventSpec(other="what that line says"),
}


#: What ``other`` says of a count of a hatch with which something went wrong: it teaches nothing.
APART = "apart"
#: Fish that are there no more: sales, and two kinds of losses.
LEAVING = ("sold", "died", "lost")
#: How is noted, as one types it, that something of a name leaves the room.
GOES = {"culture": "discard {}", "brood": "lost {} --all"}
#: Entries that say how old eggs are, those that say how far larvae are, and all that date a brood,
#: but for its length.
OF_EGGS = ("spawn", "planned", "collected", "wetted")
OF_LARVAE = ("eggs_hatched", "not_swimming")
DATED = (*OF_EGGS, *OF_LARVAE, "free_swimming")
#: How much of its food a brood may leave.
LEFTOVERS = ("none", "some", "much")
#: Other spellings of units that people write into a spreadsheet.
UNIT_ALIASES = {
    "swipe": "swipes", "draw": "draws", "ml": "mL", "gram": "g", "grams": "g", "c": "C",
    "°c": "C", "nauplius": "nauplii", "worm": "worms", "fish": "fry",
}  # fmt: skip
#: Events whose subject or ``other`` has a form of its own.
_STRICT = frozenset({"fed", "leftover", "undo", "learn", "planned", "wetted", "ordered", "away"})


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


def gave_nothing(entry: Entry) -> bool:
    """Whether a hatch, or its harvest, was no food."""
    return entry.event == "failed" or (entry.event == "hatched" and not entry.amount)


def counts_none(entry: Entry) -> bool:
    """Whether an entry says that no fish of a brood are left."""
    return entry.event == "count" and entry.unit == "fry" and entry.amount == 0


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
        raise RangeError(f"{entry.event} needs what it is about, in the column 'subject'")
    if spec.other and not entry.other:
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
    if entry.event == "away" and read_away(entry.other).end.year > entry.when.year + _YEARS_AHEAD:
        raise RangeError(f"away: '{read_away(entry.other).end}': is the year right?")
    if entry.event == "planned" or (entry.event in ("wetted", "ordered") and entry.other):
        _check_day(entry)
    if entry.event == "ordered" and entry.other:
        _check_arrival(entry)


def _check_amount(event: str, spec: EventSpec, amount: float, unit: str) -> None:
    if unit not in spec.units and (unit or len(spec.units) < 2):
        allowed = f"use {' or '.join(spec.units)}" if spec.units else "it takes no amount"
        raise RangeError(f"{event}: the unit '{unit}' does not fit; {allowed}")
    most = MOST[unit or spec.units[0]]
    if not spec.low <= amount <= most:
        raise RangeError(
            f"{event}: {amount:,.12g} {unit} is not possible; use {spec.low:g} to {most:,.12g}"
        )


def day_ahead(entry: Entry) -> date | None:
    """The day that a planned spawning, a wetting or an order names, or None."""
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


def _check_arrival(entry: Entry) -> None:
    """Of the day on which an order is to come; the same moment has another date elsewhere."""
    day = day_ahead(entry)
    if day is None or entry.other != day.isoformat():
        raise RangeError(f"{entry.event} needs a day like 2027-01-31 in the column 'other'")
    if day < entry.when.date() - timedelta(days=1):
        raise RangeError(f"{entry.event}: '{day}' is over: it cannot come before it is ordered")
    if not entry.amount:
        raise RangeError(f"{entry.event}: nothing cannot come on a day; leave the day out")
