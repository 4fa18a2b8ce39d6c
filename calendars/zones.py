"""VTIMEZONE definitions that every reader tried here gets right.

One STANDARD or DAYLIGHT part per change of the clock, its onset in the wall time *before* the
change (RFC 5545, section 3.6.5), and no RDATE, RRULE or COMMENT: readers differ over those.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard
from icalendar.prop import vDDDTypes, vText, vUTCOffset

_STEP = timedelta(hours=6)
_SECOND = timedelta(seconds=1)
_Rule = tuple[timedelta, bool, str]


def rule_at(zone: ZoneInfo, moment: datetime) -> _Rule:
    """Offset, whether it is summer time, and the abbreviation at a UTC moment."""
    local = moment.astimezone(zone)
    offset = local.utcoffset()
    assert offset is not None
    return offset, bool(local.dst()), local.tzname() or ""


def transitions(
    zone: ZoneInfo, start: datetime, end: datetime
) -> Iterator[tuple[datetime, _Rule, _Rule]]:
    """Each change of the clock between two UTC moments: when, the rule before, the rule after."""
    low, before = start, rule_at(zone, start)
    while low < end:
        high = min(low + _STEP, end)
        after = rule_at(zone, high)
        if after != before:
            left, right = low, high
            while right - left > _SECOND:
                middle = left + (right - left) // 2
                middle = middle.replace(microsecond=0)
                left, right = (middle, right) if rule_at(zone, middle) == before else (left, middle)
            after = rule_at(zone, right)
            yield right, before, after
            low, before = right, after
        else:
            low = high


def is_plain(zone: ZoneInfo, moment: datetime) -> bool:
    """Whether the wall time of a moment names that moment alone.

    It does not in the hour that a clock change repeats, where readers disagree.
    """
    local = moment.astimezone(zone)
    return local.replace(fold=0).utcoffset() == local.replace(fold=1).utcoffset()


def vtimezone(zone: ZoneInfo, moments: Iterable[datetime]) -> Timezone:
    """The definition of a zone, from a year before the first moment to a year after the last.

    Args:
        zone: with an IANA key. moments: at least one, aware.
    """
    years = {moment.astimezone(UTC).year for moment in moments}
    start = datetime(min(years) - 1, 1, 1, tzinfo=UTC)
    end = datetime(max(years) + 2, 1, 1, tzinfo=UTC)
    definition = Timezone()
    definition["TZID"] = vText(zone.key)
    first = rule_at(zone, start)
    definition.add_component(_part(start, first, first))
    for moment, before, after in transitions(zone, start, end):
        definition.add_component(_part(moment, before, after))
    return definition


def _part(moment: datetime, before: _Rule, after: _Rule) -> TimezoneStandard | TimezoneDaylight:
    part = TimezoneDaylight() if after[1] else TimezoneStandard()
    part["DTSTART"] = vDDDTypes((moment + before[0]).replace(tzinfo=None))
    part["TZOFFSETFROM"] = vUTCOffset(before[0])
    part["TZOFFSETTO"] = vUTCOffset(after[0])
    if after[2]:
        part["TZNAME"] = vText(after[2])
    return part
