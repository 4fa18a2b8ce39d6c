"""Dates and times: as people type them, and as they are said.

Within sentences of a plan they stand as ``Tue 5 Jan 07:30``; a room with US units is told
``Tue Jan 5, 7:30 am`` everywhere, and :func:`moments_in` says such a sentence so.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from cultures.errors import UnitError

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_CLOCK = (
    r"\d{1,2}[:.]\d{2}(?:\s*[ap]\.?m\.?)?|\d{1,2}h(?:\d{2})?|\d{1,2}\s*[ap]\.?m\.?|noon|midnight"
)
#: Parts of a day, which are its first and its last round.
_PARTS = ("morning", "evening")
#: A day without its year: ``Sun Nov 29``, ``29 Nov``.
_DAY = (
    rf"(?:(?P<weekday>{'|'.join(WEEKDAYS)})[a-z]*,?\s+)?"
    rf"(?:(?P<month>{'|'.join(_MONTHS)})[a-z]*\.?\s+(?P<day>\d{{1,2}})"
    rf"|(?P<before>\d{{1,2}})\s+(?P<after>{'|'.join(_MONTHS)})[a-z]*\.?)"
)
_SPOKEN = re.compile(
    rf"(?:(?P<word>today|yesterday|now)|{_DAY}|(?P<alone>{'|'.join((*_DAYS, *WEEKDAYS))}))?"
    rf",?\s*(?:(?:at\s+)?(?P<clock>{_CLOCK})|(?:this\s+|in the\s+)?(?P<part>{'|'.join(_PARTS)}))?",
    re.IGNORECASE | re.ASCII,
)
#: The same with the day behind the time.
_CLOCK_FIRST = re.compile(
    rf"({_CLOCK})\s*,?\s+(?:on\s+)?(\D.*|\d{{1,2}}\s.*)", re.IGNORECASE | re.ASCII
)
#: A time with the part of the day that it is in: "7:45 this morning", "yesterday evening at 6".
_IN_PART = re.compile(
    rf"(?:(?P<clock>{_CLOCK}|\d{{1,2}})\s+)?(?P<day>this|yesterday)\s+(?P<part>{'|'.join(_PARTS)})"
    rf"(?:,?\s+(?:at\s+)?(?P<after>{_CLOCK}|\d{{1,2}}))?",
    re.IGNORECASE | re.ASCII,
)
_MINUTE, _SECOND = timedelta(minutes=1), timedelta(seconds=1)
#: A clock on the wall may be so much ahead of the one that is asked.
_SLOW_CLOCK = timedelta(minutes=5)
_CLOCK_PARTS = re.compile(r"(\d{1,2})(?:([:.])(\d{2}))?\s*(?:([ap])\.?m\.?)?", re.ASCII)
_HOURS = re.compile(r"(?<=\d)h(\d{2})?$", re.ASCII)
_MARKED = re.compile(r"\d{1,2}[:.]\d{2}\b|\d{1,2}h(?:\d{2})?\b|\b(?:morning|evening)\b", re.ASCII)
_WORD = re.compile(r"[A-Za-z]{3,}")
_TWELVE = re.compile(r"\d\s*[ap]\.?m\b\.?", re.IGNORECASE)
#: A day or a time as sentences of a plan have it.
_SAID = re.compile(
    rf"(?<![\w-])(?:(?P<weekday>(?:{'|'.join(WEEKDAYS)}) )?(?P<day>\d{{1,2}})"
    rf" (?P<month>{'|'.join(_MONTHS)})\b(?P<year> \d{{4}}\b)?(?P<gap>,? (?=\d\d:\d\d\b))?)?"
    r"(?:(?<![\w:.-])(?P<hour>[01]\d|2[0-3]):(?P<minute>[0-5]\d)(?![:-]?\d|\w| [ap]m\b))?"
)


def parse_moment(text: str) -> datetime:
    """A time such as ``2027-01-05T07:00`` or ``5 Jan 2027 7:00``, naive unless it has an offset.

    ``Jan 5, 2027, 7 am`` is read too. All-number dates are read in the ISO order only: 5/1 means
    different days to different people.

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


def in_zone(moment: datetime, zone: tzinfo) -> datetime:
    """A moment as it was typed or stands in a file, in a zone.

    A time that a clock change repeats is the first of the two; with an offset it is either.

    Raises:
        UnitError: a time that a clock change skips.
    """
    if moment.tzinfo is not None:
        return moment.astimezone(zone)
    local = moment.replace(tzinfo=zone, fold=0)
    there_is = local.astimezone(UTC).astimezone(zone)
    if there_is.replace(tzinfo=None) != moment:
        raise UnitError(
            f"there is no {moment:%H:%M} on {year_text(moment)} in {zone}: the clocks are put"
            f" forward over it; write {there_is:%H:%M}"
        )
    return local


def once(moment: datetime) -> datetime:
    """A moment of now in a zone, of an hour that a clock change repeats the end of its first time.

    Times of one zone are compared as the clock on the wall shows them. While it shows them for the
    second time, what was done the first time would lie ahead.
    """
    if not moment.fold:
        return moment
    end = moment.astimezone(UTC).replace(second=0, microsecond=0)
    while end.astimezone(moment.tzinfo).fold:
        end -= _MINUTE
    return (end + _MINUTE - _SECOND).astimezone(moment.tzinfo)


def spoken_moment(
    text: str, now: datetime, rounds_on: Callable[[date], Sequence[time]] | None = None
) -> datetime | None:
    """A time as people say it near a moment, or None where it is no such thing.

    Understood are ``07:50``, ``7:50``, ``7:50 am``, ``18h45`` and ``18.45`` (today), ``today
    7:50``, ``7:50 today``, ``yesterday`` (at this time of day), ``yesterday 6:30 pm``, ``noon``,
    ``now``, a weekday, ``Sun 08:30``, which is the last such moment, and a day without its year,
    ``Sun Nov 29`` or ``29 Nov 7:00``, which is the nearest of that name. ``this morning`` and
    ``yesterday evening`` are the first and the last round of a day, where its rounds are given.
    """
    match = _spoken(text)
    day = None if match is None else _day_meant(match, now)
    if match is None or day is None:
        return None
    at = _time_meant(match, now, rounds_on(day) if rounds_on is not None else ())
    if at is None:
        return None
    found = datetime.combine(day, at, now.tzinfo)
    return found - timedelta(days=7) if match["alone"] and found > now + _SLOW_CLOCK else found


def _spoken(text: str) -> re.Match[str] | None:
    """The parts of a time as people say it, the day first; None for any other text."""
    words = _without_part(re.sub(r"^at\s+", "", text.strip(), flags=re.IGNORECASE))
    if not words:
        return None
    if match := _SPOKEN.fullmatch(words):
        return match
    turned = _CLOCK_FIRST.fullmatch(words)
    match = _SPOKEN.fullmatch(f"{turned[2]} {turned[1]}") if turned else None
    return match if match and match["clock"] and _has_day(match) else None


def _without_part(words: str) -> str:
    """A time that is said with its part of the day as it is said without: 6 in the evening is 6 pm.

    Examples:
        >>> _without_part("7:45 this morning"), _without_part("yesterday evening at 6")
        ('today 7:45 am', 'yesterday 6 pm')
        >>> _without_part("yesterday evening"), _without_part("18:30 this evening")
        ('yesterday evening', 'today 18:30')
    """
    match = _IN_PART.fullmatch(words)
    clock = match and (match["clock"] or match["after"])
    if match is None or not clock or (match["clock"] and match["after"]):
        return words
    day = "today" if match["day"].lower() == "this" else "yesterday"
    half = " am" if match["part"].lower() == _PARTS[0] else " pm"
    return f"{day} {clock}{half if read_clock(f'{clock}{half}') else ''}"


def _has_day(match: re.Match[str]) -> bool:
    return any(match[part] for part in ("word", "month", "after", "alone"))


def _time_meant(match: re.Match[str], now: datetime, rounds: Sequence[time]) -> time | None:
    """The time of day; None where it is none, or a part of a day without rounds."""
    if match["part"]:
        first = match["part"].lower() == _PARTS[0]
        return (rounds[0] if first else rounds[-1]) if rounds else None
    if match["clock"] is None:
        return now.time()
    return read_clock(match["clock"], with_day=_has_day(match))


def _day_meant(match: re.Match[str], now: datetime) -> date | None:
    word = (match["word"] or "").lower()
    if word == "yesterday":
        return now.date() - timedelta(days=1)
    if match["alone"]:
        weekday_of = WEEKDAYS.index(match["alone"][:3].capitalize())
        return now.date() - timedelta(days=(now.weekday() - weekday_of) % 7)
    month = match["month"] or match["after"]
    if not month:
        return now.date()
    number, days = _MONTHS.index(month[:3].capitalize()) + 1, []
    for year in range(now.year - 1, now.year + 2):
        try:
            days.append(date(year, number, int(match["day"] or match["before"])))
        except ValueError:
            continue  # no 29 February in that year
    weekday = (match["weekday"] or "")[:3].capitalize()
    nearest = min(days, key=lambda day: abs(day - now.date()), default=None)
    if nearest is None or (weekday and WEEKDAYS[nearest.weekday()] != weekday):
        return None
    return nearest


def read_clock(text: str, *, with_day: bool = False) -> time | None:
    """A time of day: ``07:30``, ``7:30 am``, ``6 pm``, ``18h45``, ``noon``; None where it is none.

    Args:
        with_day: the day is said too; alone ``18.05`` may be one of May.

    Examples:
        >>> read_clock("6:30 pm"), read_clock("12 am"), read_clock("13 pm"), read_clock("7")
        (datetime.time(18, 30), datetime.time(0, 0), None, None)
        >>> read_clock("18h45"), read_clock("6.45pm"), read_clock("18.45"), read_clock("18.05")
        (datetime.time(18, 45), datetime.time(18, 45), datetime.time(18, 45), None)
    """
    words = text.strip().lower()
    if words in ("noon", "midnight"):
        return time(12 if words == "noon" else 0)
    words = _HOURS.sub(lambda match: f":{match[1] or '00'}", words)
    match = _CLOCK_PARTS.fullmatch(words)
    if match is None or not (match[3] or match[4]):
        return None
    hour, minute = int(match[1]), int(match[3] or 0)
    if match[2] == "." and not (match[4] or with_day) and hour > 0 and 1 <= minute <= 12:
        return None  # a day and its month
    if match[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match[4] == "p" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None


def is_spoken(text: str) -> bool:
    """Whether a text is a time that :func:`spoken_moment` reads, of some year and some rounds."""
    match = _spoken(text)
    return match is not None and (
        match["clock"] is None or read_clock(match["clock"], with_day=_has_day(match)) is not None
    )


def is_weekday(text: str) -> bool:
    """Whether a text that :func:`spoken_moment` reads names a weekday and no day of a month."""
    match = _spoken(text)
    return match is not None and bool(match["alone"])


def has_clock(text: str) -> bool:
    """Whether a time of day is typed with a day."""
    words = text.lower()
    said = words in ("now", "noon", "midnight") or ":" in words
    return said or bool(_TWELVE.search(words) or _MARKED.search(words))


def parse_day(text: str) -> date:
    """A day such as ``2027-01-05`` or ``5 Jan 2027``.

    Raises:
        UnitError: not a day.
    """
    try:
        return parse_moment(text).date()
    except UnitError:
        raise UnitError(f"'{text}' is not a day; write it like 2027-01-05 or 5 Jan 2027") from None


def day_ahead(text: str, today: date) -> date | None:
    """A day as people say it who look ahead, or None where it is no such thing.

    Examples:
        >>> [day_ahead(text, date(2027, 1, 5)) for text in ("thu", "Tuesday", "tomorrow", "29 Nov")]
        [datetime.date(2027, 1, 7), datetime.date(2027, 1, 12), datetime.date(2027, 1, 6), None]
        >>> day_ahead("in 10 days", date(2027, 1, 5))
        datetime.date(2027, 1, 15)
    """
    words = text.strip().lower()
    near = {"today": 0, "tomorrow": 1}
    if words in near:
        return today + timedelta(days=near[words])
    if match := re.fullmatch(r"in (\d{1,3}) days?", words):
        return today + timedelta(days=int(match[1]))
    named = [n for n, day in enumerate(_DAYS) if words in (day, day[:3])]
    return today + timedelta(days=(named[0] - today.weekday() - 1) % 7 + 1) if named else None


def clock_text(at: datetime | time, units: str = "metric") -> str:
    """A time of day: ``07:30``, with US units ``7:30 am``.

    Twelve o'clock is noon or midnight, since 12 am and 12 pm are read either way.

    References:
        NIST, Times of Day FAQs (on noon and midnight).

    Examples:
        >>> clock_text(time(18, 30)), clock_text(time(18, 30), "us"), clock_text(time(12), "us")
        ('18:30', '6:30 pm', 'noon')
    """
    if units != "us":
        return f"{at:%H:%M}"
    if at.minute == 0 and at.hour in (0, 12):
        return "noon" if at.hour else "midnight"
    minutes = f":{at:%M}" if at.minute else ""
    return f"{at.hour % 12 or 12}{minutes} {'am' if at.hour < 12 else 'pm'}"


def month_day(day: date, units: str = "metric") -> str:
    """A day of the year: ``5 Jan``, with US units ``Jan 5``."""
    return f"{day:%b} {day.day}" if units == "us" else f"{day.day} {day:%b}"


def day_text(day: date, units: str = "metric") -> str:
    """A day with its weekday: ``Tue 5 Jan``, with US units ``Tue Jan 5``; of datetimes too."""
    return f"{day:%a} {month_day(day, units)}"


def year_text(day: date, units: str = "metric") -> str:
    """The same with its year."""
    return f"{day_text(day, units)}{',' if units == 'us' else ''} {day.year}"


def when(moment: datetime, units: str = "metric") -> str:
    """A time with its day: ``Tue 5 Jan 07:30``, with US units ``Tue Jan 5, 7:30 am``."""
    return _with_clock(day_text(moment, units), moment, units)


def _with_clock(day: str, moment: datetime, units: str) -> str:
    return f"{day}{',' if units == 'us' else ''} {clock_text(moment, units)}"


def year_when(moment: datetime, units: str = "metric") -> str:
    """The same with its year."""
    return _with_clock(year_text(moment, units), moment, units)


def spoken_day(day: date, today: date, units: str = "metric") -> str:
    """A day as people say it, ``Tue 5 Jan``; with the year where it is not this one.

    Datetimes are days too.
    """
    far = day.year != today.year and abs(day.toordinal() - today.toordinal()) > 60
    return year_text(day, units) if far else day_text(day, units)


def spoken_when(moment: datetime, today: date, units: str = "metric") -> str:
    """The same with its time of day."""
    return _with_clock(spoken_day(moment, today, units), moment, units)


def moments_in(text: str, units: str) -> str:
    """A sentence of a plan with its days and times as a room is told them.

    Examples:
        >>> moments_in("ripe for the round of Tue 07:30, sour from 12 Jan 2027 on", "us")
        'ripe for the round of Tue 7:30 am, sour from Jan 12, 2027 on'
    """
    return _SAID.sub(_in_us_style, text) if units == "us" else text


def _in_us_style(found: re.Match[str]) -> str:
    said = ""
    if found["day"]:
        said = f"{found['weekday'] or ''}{found['month']} {found['day']}"
        said += f",{found['year']}" if found["year"] else ""
        said += ", " if found["gap"] else ""
    if found["hour"]:
        said += clock_text(time(int(found["hour"]), int(found["minute"])), "us")
    return said


def hours(moment: datetime) -> float:
    """An aware datetime in hours since the epoch, the time axis of all models."""
    return moment.timestamp() / 3600.0
