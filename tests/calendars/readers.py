"""Reads calendars with software that livefood did not write, into one comparable form."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import icalendar
import ics  # type: ignore[import-untyped]
import vobject
from attrs import frozen
from ical.calendar_stream import IcsCalendarStream


@frozen
class Seen:
    """What a reader makes of an event: instants in UTC, the later of two alarms."""

    uid: str
    start: datetime
    end: datetime
    alarm: datetime | None
    title: str
    text: str


Reader = Callable[[bytes], dict[str, Seen]]


def by_icalendar(data: bytes) -> dict[str, Seen]:
    """icalendar, with its collected errors raised."""
    calendar = icalendar.Calendar.from_ical(data)
    for component in calendar.walk():
        assert not component.errors, component.errors
    seen = {}
    for item in calendar.walk("VEVENT") + calendar.walk("VTODO"):
        start = item.decoded("DTSTART").astimezone(UTC)
        end = item.decoded("DUE" if item.name == "VTODO" else "DTEND").astimezone(UTC)
        alarms = [start + a.decoded("TRIGGER") for a in item.walk("VALARM")]
        assert len(alarms) <= 2
        seen[str(item["UID"])] = Seen(
            str(item["UID"]), start, end, max(alarms) if alarms else None,
            str(item["SUMMARY"]), str(item.get("DESCRIPTION", "")),
        )  # fmt: skip
    return seen


def by_vobject(data: bytes) -> dict[str, Seen]:
    """vobject, an old and lenient reader."""
    calendar = vobject.readOne(data.decode())
    assert calendar.validate()
    seen = {}
    for item in [*calendar.contents.get("vevent", []), *calendar.contents.get("vtodo", [])]:
        start = item.dtstart.value.astimezone(UTC)
        end = (item.due if item.name == "VTODO" else item.dtend).value.astimezone(UTC)
        alarms = [start + a.trigger.value for a in item.contents.get("valarm", [])]
        text = item.description.value if "description" in item.contents else ""
        seen[item.uid.value] = Seen(
            item.uid.value, start, end, max(alarms) if alarms else None, item.summary.value, text
        )
    return seen


def by_ics(data: bytes) -> dict[str, Seen]:
    """ics.py, which refuses a whole file for one malformed alarm."""
    seen = {}
    for event in ics.Calendar(data.decode()).events:
        start, end = event.begin.datetime.astimezone(UTC), event.end.datetime.astimezone(UTC)
        triggers = [a.trigger for a in event.alarms]
        alarms = [start + t if isinstance(t, timedelta) else t.astimezone(UTC) for t in triggers]
        seen[event.uid] = Seen(
            event.uid, start, end, max(alarms) if alarms else None,
            event.name or "", event.description or "",
        )  # fmt: skip
    return seen


def by_ical(data: bytes) -> dict[str, Seen]:
    """ical, built on typed models and strict about unknown zones."""
    calendar = IcsCalendarStream.calendar_from_ics(data.decode())
    seen = {}
    for event in calendar.events:
        start, end = event.dtstart, event.dtend
        assert isinstance(start, datetime)
        assert isinstance(end, datetime)
        triggers = [a.trigger for a in event.alarm]
        alarms = [start.astimezone(UTC) + t for t in triggers if isinstance(t, timedelta)]
        assert len(alarms) == len(triggers)
        seen[event.uid] = Seen(
            event.uid, start.astimezone(UTC), end.astimezone(UTC), max(alarms) if alarms else None,
            event.summary or "", event.description or "",
        )  # fmt: skip
    return seen


READERS: dict[str, Reader] = {
    "icalendar": by_icalendar,
    "vobject": by_vobject,
    "ics": by_ics,
    "ical": by_ical,
}
