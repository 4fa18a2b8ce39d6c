"""A page whose story begins on a day of its own, told as if it began on another."""

from __future__ import annotations

import re
from calendar import day_name, month_name
from datetime import date, timedelta

#: The first day of the guide.
GUIDE_BEGINS = date(2027, 3, 1)
_WEEKDAYS, _MONTHS = list(day_name), list(month_name)[1:]
_ISO = r"\b(?P<iso>\d{4}-\d\d-\d\d)"
_BEFORE = rf"(?:(?P<before>{'|'.join(day[:3] for day in _WEEKDAYS)})(?P<gap>\s+))?"
_MONTH = rf"(?P<month>{'|'.join(f'{m}|{m[:3]}' for m in _MONTHS)})"
_YEAR = r"(?:(?P<last>\s+)(?P<year>\d{4})\b)?"
_DAY = rf"\b{_BEFORE}(?P<day>\d{{1,2}})(?P<space>\s+){_MONTH}\b{_YEAR}"
_WEEKDAY = rf"\b(?P<weekday>{'|'.join(f'{d}|{d[:3]}' for d in _WEEKDAYS)})\b"
_DATES = re.compile(f"{_ISO}|{_DAY}|{_WEEKDAY}")


def moved(text: str, to: date, begins: date = GUIDE_BEGINS) -> str:
    """Every date and weekday of a text, as many days later as its story begins later.

    A day without a year is taken to lie within half a year of the beginning.

    Examples:
        >>> moved("Mon 1 Mar 2027, 06:10; ripe from Wed on, 2027-03-10", date(2027, 6, 15))
        'Tue 15 Jun 2027, 06:10; ripe from Thu on, 2027-06-24'
    """
    later = to - begins
    return _DATES.sub(lambda found: _moved(found, later, begins), text)


def _moved(found: re.Match[str], later: timedelta, begins: date) -> str:
    if found["iso"]:
        return (date.fromisoformat(found["iso"]) + later).isoformat()
    if weekday := found["weekday"]:
        at = next(i for i, name in enumerate(_WEEKDAYS) if name.startswith(weekday))
        return _WEEKDAYS[(at + later.days) % 7][: len(weekday) if len(weekday) == 3 else None]
    day = _day_of(found, begins) + later
    month = _MONTHS[day.month - 1][: 3 if len(found["month"]) == 3 else None]
    before = f"{day:%a}{found['gap']}" if found["before"] else ""
    after = f"{found['last']}{day.year}" if found["year"] else ""
    return f"{before}{day.day}{found['space']}{month}{after}"


def _day_of(found: re.Match[str], begins: date) -> date:
    month = next(i for i, name in enumerate(_MONTHS, 1) if name.startswith(found["month"]))
    if found["year"]:
        return date(int(found["year"]), month, int(found["day"]))
    years = (begins.year + i for i in (-1, 0, 1))
    days = (date(year, month, int(found["day"])) for year in years)
    return min(days, key=lambda day: abs(day - begins))
