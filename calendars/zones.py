"""VTIMEZONE definitions that every reader tried here gets right.

One STANDARD or DAYLIGHT part per change of the clock, its onset in the wall time *before* the
change (RFC 5545, section 3.6.5), and no RDATE, RRULE or COMMENT: readers differ over those.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from attrs import frozen

from calendars.content_lines import text_line

_STEP = timedelta(hours=6)


@frozen
class Rule:
    """How a zone's clocks stand: offset from UTC, whether it is summer time, and its letters."""

    offset: timedelta
    summer: bool
    letters: str


#: A change of the clock: its UTC moment, the rule before it and the rule from then on.
Change = tuple[datetime, Rule, Rule]


def rule_at(zone: ZoneInfo, moment: datetime) -> Rule:
    """The rule that holds at a moment."""
    local = moment.astimezone(zone)
    offset = local.utcoffset()
    assert offset is not None
    return Rule(offset, bool(local.dst()), local.tzname() or "")


def changes(zone: ZoneInfo, start: datetime, end: datetime) -> Iterator[Change]:
    """Each change of the clock between two UTC moments, found by bisection to the second."""
    low, before = start, rule_at(zone, start)
    while low < end:
        high = min(low + _STEP, end)
        if rule_at(zone, high) != before:
            high = _first_other(zone, low, high, before)
            after = rule_at(zone, high)
            yield high, before, after
            before = after
        low = high


def _first_other(zone: ZoneInfo, low: datetime, high: datetime, before: Rule) -> datetime:
    seconds = range(round((high - low).total_seconds()))
    other = bisect_left(
        seconds, True, key=lambda s: rule_at(zone, low + timedelta(seconds=s)) != before
    )
    return low + timedelta(seconds=other)


def is_plain(zone: ZoneInfo, moment: datetime) -> bool:
    """Whether the wall time of a moment names that moment alone.

    It does not in the hour that a clock change repeats, where readers disagree.
    """
    local = moment.astimezone(zone)
    return local.replace(fold=0).utcoffset() == local.replace(fold=1).utcoffset()


def vtimezone(zone: ZoneInfo, moments: Iterable[datetime]) -> list[str]:
    """Content lines that define a zone, a year more at either end than the moments need.

    Args:
        zone: with an IANA key. moments: at least one, aware.
    """
    years = {moment.astimezone(UTC).year for moment in moments}
    start = datetime(min(years) - 1, 1, 1, tzinfo=UTC)
    end = datetime(max(years) + 2, 1, 1, tzinfo=UTC)
    first = rule_at(zone, start)
    lines = ["BEGIN:VTIMEZONE", text_line("TZID", zone.key)]
    for change in ((start, first, first), *changes(zone, start, end)):
        lines += _part(*change)
    return [*lines, "END:VTIMEZONE"]


def _part(at: datetime, before: Rule, after: Rule) -> list[str]:
    name = "DAYLIGHT" if after.summer else "STANDARD"
    letters = [text_line("TZNAME", after.letters)] if after.letters else []
    return [
        f"BEGIN:{name}",
        f"DTSTART:{at + before.offset:%Y%m%dT%H%M%S}",
        f"TZOFFSETFROM:{_offset(before.offset)}",
        f"TZOFFSETTO:{_offset(after.offset)}",
        *letters,
        f"END:{name}",
    ]


def _offset(offset: timedelta) -> str:
    seconds = round(offset.total_seconds())
    hours, rest = divmod(abs(seconds), 3600)
    text = f"{'-' if seconds < 0 else '+'}{hours:02}{rest // 60:02}"
    return f"{text}{rest % 60:02}" if rest % 60 else text
