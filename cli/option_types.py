"""Types of options: times, days, quantities (a number in the option's unit, or with its own)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, time, tzinfo
from pathlib import Path
from typing import Any, TypeVar

import click

from cultures.errors import UnitError
from cultures.words.moments import (
    day_ahead,
    in_zone,
    is_spoken,
    is_weekday,
    parse_day,
    parse_moment,
    read_clock,
    spoken_moment,
)
from cultures.words.numbers import read_number, read_share, whole_number
from cultures.words.text import short
from cultures.words.units import Dimension, parse_quantity

_Day = TypeVar("_Day", date, datetime)
#: The rounds of a day, the first of which is its morning.
RoundsOn = Callable[[date], Sequence[time]]
#: A time that was typed, by the moment at which that was, the zone of the room and its rounds.
Typed = Callable[[datetime, tzinfo, RoundsOn], datetime]
#: A day that was typed, by the day on which that was.
Ahead = Callable[[date], date]
#: Years that times may lie in.
_FIRST_YEAR, _LAST_YEAR = 1970, 2200


#: A file, and a folder.
FILE = click.Path(path_type=Path, dir_okay=False)
FOLDER = click.Path(path_type=Path, file_okay=False)


class Read(click.ParamType):  # type: ignore[type-arg]  # generic from click 8.4 on
    """A type of options made of what reads its text and says what is wrong with it."""

    def __init__(self, name: str, read: Callable[[str], Any]) -> None:
        self.name = name
        self.read = read

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        try:
            return self.read(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)


class Whole(click.IntRange):
    """A whole number within limits, with words for what is wrong."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        number = whole_number(str(value))
        if number is None:
            self.fail(f"'{short(str(value))}' is not a whole number", param, ctx)
        if (self.min is not None and number < self.min) or (
            self.max is not None and number > self.max
        ):
            self.fail(f"{number} is not possible; {self._describe_range()} is", param, ctx)
        return number

    def _describe_range(self) -> str:
        """The limits as click shows them in the help."""
        return f"{self.min} or more" if self.max is None else f"{self.min} to {self.max}"


def read_moment(text: str) -> datetime:
    """A date and time, with or without an offset.

    Raises:
        UnitError: unreadable, or in a year that is not known.
    """
    return _near(text, parse_moment(text))


def _near(text: str, day: _Day) -> _Day:
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        limits = f"{_FIRST_YEAR} to {_LAST_YEAR}"
        raise UnitError(f"'{text}' lies too far off; years from {limits} are known")
    return day


def _spoken(text: str) -> Typed:
    """What is meant may be no day or time at all, which is known only by when it is said."""
    if not is_spoken(text):
        moment = read_moment(text)
        return lambda _, zone, __: in_zone(moment, zone)

    def meant(now: datetime, zone: tzinfo, rounds_on: RoundsOn) -> datetime:
        found = spoken_moment(text, now, rounds_on)
        if found is None:
            raise UnitError(f"'{text}': there is no such day near {now.date()}")
        return found if found == now else in_zone(found.replace(tzinfo=None), zone)

    return meant


def _nearest(text: str, today: date) -> date:
    found = spoken_moment(text, datetime.combine(today, time()))
    if found is None:
        raise UnitError(f"'{text}': there is no such day near {today}")
    return found.date()


def _ahead(text: str) -> Ahead:
    if day_ahead(text, date.min) is not None:
        return lambda today: day_ahead(text, today) or today
    if is_spoken(text) and not is_weekday(text):  # a day without its year
        return lambda today: _nearest(text, today)
    day = _near(text, parse_day(text))
    return lambda _: day


def _clock(text: str) -> time:
    found = read_clock(text)
    if found is None:
        raise UnitError(f"'{short(text)}' is not a time of day like 07:30")
    return found


def _quantity(dimension: Dimension, unit: str, low: float, high: float) -> Read:
    """A quantity such as ``150``, ``"5 oz"`` or ``"78 F"``, turned into one unit."""

    def read(text: str) -> float:
        found = parse_quantity(text, dimension, unit)
        if not low <= found <= high:
            raise UnitError(f"{text} is not possible; {low:g} to {high:g} is")
        return found

    return Read("quantity", read)


def number(low: float, high: float, *, whole: bool = False) -> Read:
    """A finite number within limits; ``whole``: without a fraction."""

    def read(text: str) -> float:
        found = read_number(text, grouped=True)
        if not low <= found <= high:
            raise UnitError(f"{text} is not possible; {low:,.15g} to {high:,.15g} is")
        if whole and found != int(found):
            raise UnitError(f"{text} is not a whole number")
        return found

    return Read("number", read)


def _lines(text: str) -> tuple[int, int]:
    first, dash, last = (part.strip() for part in text.partition("-"))
    found = [whole_number(part) for part in ([first, last] if dash else [first])]
    if None in found:
        raise UnitError(f"'{short(text)}' is not a whole number, nor two like 40-43")
    low, high = min(n for n in found if n is not None), max(n for n in found if n is not None)
    if low < 2 or found[0] != low:
        raise UnitError(f"{short(text)} is not possible; 2 or more is, or two like 40-43")
    return low, high


#: A line of a file below its first, or several: ``12``, ``40-43``; the first and the last of them.
LINES = Read("lines", _lines)
#: A date and time such as ``2027-01-05T07:00``.
MOMENT = Read("moment", read_moment)
#: The same, or a time of a day near by: ``07:50``, ``yesterday 18:30``, ``Sun 8:30``, ``Nov 28``.
SPOKEN = Read("moment", _spoken)
#: A day such as ``2027-01-05``.
DAY = Read("day", lambda text: _near(text, parse_day(text)))
#: The same, or one of the days to come by its name: ``thu``, ``tomorrow``, ``in 3 days``.
AHEAD = Read("day", _ahead)

#: A time of day: ``18:30``, ``6:30 pm``.
CLOCK = Read("clock", _clock)

#: How likely something is: ``0.7`` or ``70 %``.
CHANCE = Read("share", read_share)

#: Limits as in a room file.
GRAMS = _quantity("mass", "g", 0.01, 100000)
SQUARE_CM = _quantity("area", "cm2", 0.5, 100000)
CELSIUS = _quantity("temperature", "c", -20, 60)
LITRES = _quantity("volume", "l", 0.05, 2000)
MILLILITRES = _quantity("volume", "ml", 5, 20000)
SALINITY = _quantity("salinity", "g/l", 0, 150)
NAUPLII = number(1, 1e9)
NAUPLII_PER_GRAM = number(1000, 400000)
