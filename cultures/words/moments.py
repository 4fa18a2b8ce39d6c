"""Dates and times as people type them."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from cultures.errors import UnitError

_SPOKEN = re.compile(r"(?P<day>today|yesterday|now)?\s*(?:at\s+)?(?P<clock>\d{1,2}:\d{2})?")
_WORD = re.compile(r"[A-Za-z]{3,}")


def parse_moment(text: str) -> datetime:
    """A time such as ``2027-01-05T07:00`` or ``5 Jan 2027 7:00``, naive unless it has an offset.

    All-number dates are read in the ISO order only: 5/1 means different days to different
    people.

    Raises:
        UnitError: not a time, or one that could be read in two ways.
    """
    words = text.strip()
    try:
        return datetime.fromisoformat(words)
    except ValueError:
        pass
    if _WORD.search(words) and re.search(r"\d{4}", words):
        # Slow to import, and seldom needed.
        from dateutil import parser

        try:
            return parser.parse(words, default=datetime(2000, 1, 1), dayfirst=True)  # noqa: DTZ001
        except (ValueError, OverflowError):
            pass
    raise UnitError(f"'{text}' is not a time; write it like 2027-01-05T07:00 or 5 Jan 2027 7:00")


def spoken_moment(text: str, now: datetime) -> datetime | None:
    """A time as people say it of today or yesterday, or None where it is no such thing.

    Understood are ``07:50`` and ``7:50`` (today), ``today 7:50``, ``yesterday`` (at this time of
    day), ``yesterday 18:30`` and ``now``.
    """
    match = _SPOKEN.fullmatch(text.strip().lower())
    if match is None or not text.strip():
        return None
    word, clock = match["day"], match["clock"]
    day = now.date() - timedelta(days=1) if word == "yesterday" else now.date()
    at = now.time()
    if clock:
        hour, minute = (int(part) for part in clock.split(":"))
        if hour > 23 or minute > 59:
            return None
        at = time(hour, minute)
    elif word is None:
        return None
    return datetime.combine(day, at, now.tzinfo)


def parse_day(text: str) -> date:
    """A day such as ``2027-01-05`` or ``5 Jan 2027``.

    Raises:
        UnitError: not a day.
    """
    try:
        return parse_moment(text).date()
    except UnitError:
        raise UnitError(f"'{text}' is not a day; write it like 2027-01-05 or 5 Jan 2027") from None


def spoken_day(day: date, today: date) -> str:
    """A day as people say it, ``Tue 5 Jan``; with the year where it is not this one.

    Datetimes are days too.
    """
    far = day.year != today.year and abs(day.toordinal() - today.toordinal()) > 60
    year = f" {day.year}" if far else ""
    return f"{day:%a} {day.day} {day:%b}{year}"


def hours(moment: datetime) -> float:
    """An aware datetime in hours since the epoch, the time axis of all models."""
    return moment.timestamp() / 3600.0
