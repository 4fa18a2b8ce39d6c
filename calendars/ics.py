"""Records -> the bytes of an iCalendar object (RFC 5545, RFC 7986)."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from attrs import frozen
from icalendar import Alarm, Calendar, Event, Todo
from icalendar.prop import vCategory, vDDDTypes, vDuration, vInt, vText

from calendars.entries import GROUPS, Entry, clean_line
from calendars.ledger import Ledger, Record
from calendars.zones import is_plain, vtimezone

PRODID = "-//livefood//livefood calendar//EN"
#: How often a subscriber should look for news.
REFRESH = timedelta(hours=12)


class _Minutes(vDuration):
    """A duration in minutes: exact across a clock change, where ``P1D`` means a calendar day."""

    def to_ical(self) -> bytes:
        minutes = round(self.dt.total_seconds() / 60)
        return f"{'-' if minutes < 0 else ''}PT{abs(minutes)}M".encode()


@frozen
class Header:
    """What the calendar says of itself.

    Attributes:
        name: shown as the calendar's title.
        zone: write wall times of this zone; None for UTC.
        feed: add the hints for subscribers.
    """

    name: str
    zone: ZoneInfo | None = None
    feed: bool = False


def calendar_bytes(records: Iterable[Record], ledger: Ledger, header: Header) -> bytes:
    """One VCALENDAR with these records, in their order.

    Args:
        records: none of them gone. ledger: where related records are looked up.
    """
    return bytes(build(records, ledger, header).to_ical())


def build(records: Iterable[Record], ledger: Ledger, header: Header) -> Calendar:
    """The same as a component tree."""
    chosen = list(records)
    calendar = _empty()
    name = clean_line(header.name)
    calendar["NAME"] = vText(name)
    calendar["X-WR-CALNAME"] = vText(name)
    calendar["COLOR"] = vText("seagreen")
    if chosen:
        calendar["LAST-MODIFIED"] = vDDDTypes(max(r.modified for r in chosen))
    if header.feed:
        calendar["REFRESH-INTERVAL"] = _Minutes(REFRESH)
        calendar["REFRESH-INTERVAL"].params["VALUE"] = "DURATION"
        calendar["X-PUBLISHED-TTL"] = _Minutes(REFRESH)
    _add(calendar, chosen, ledger, header.zone)
    return calendar


def resource_bytes(record: Record, ledger: Ledger, zone: ZoneInfo | None = None) -> bytes:
    """One record as a CalDAV resource: one UID, no METHOD (RFC 4791, section 4.1)."""
    calendar = _empty()
    _add(calendar, [record], ledger, zone)
    return bytes(calendar.to_ical())


def _empty() -> Calendar:
    calendar = Calendar()
    calendar["PRODID"] = vText(PRODID)
    calendar["VERSION"] = vText("2.0")
    return calendar


def _add(calendar: Calendar, records: list[Record], ledger: Ledger, zone: ZoneInfo | None) -> None:
    if zone is not None and zone.key in ("UTC", "Etc/UTC"):
        zone = None
    when = _writer(zone)
    if zone is not None and records:
        moments = (m for r in records for m in (r.shown.start, r.shown.end))
        calendar.subcomponents.append(vtimezone(zone, moments))
    for record in records:
        calendar.subcomponents.append(_component(record, ledger, when))


def _writer(zone: ZoneInfo | None) -> Callable[[datetime], vDDDTypes]:
    """How moments are written: as UTC, or as wall time wherever that leaves no doubt."""

    def write(moment: datetime) -> vDDDTypes:
        if zone is None or not is_plain(zone, moment):
            return vDDDTypes(moment.astimezone(UTC))
        return vDDDTypes(moment.astimezone(zone))

    return write


def _component(
    record: Record, ledger: Ledger, when: Callable[[datetime], vDDDTypes]
) -> Event | Todo:
    entry = record.shown
    cancelled = record.state == "cancelled"
    item: Event | Todo = Todo() if entry.todo else Event()
    changed = vDDDTypes(record.modified)
    item["UID"] = vText(record.uid)
    item["DTSTAMP"] = changed
    item["LAST-MODIFIED"] = changed
    item["SEQUENCE"] = vInt(record.sequence)
    item["DTSTART"] = when(entry.start)
    item["DUE" if entry.todo else "DTEND"] = when(entry.end)
    item["SUMMARY"] = vText(f"Cancelled: {entry.title}" if cancelled else entry.title)
    if entry.text:
        item["DESCRIPTION"] = vText(entry.text)
    item["CATEGORIES"] = vCategory(["Live food", GROUPS[entry.group]])
    if entry.todo:
        item["STATUS"] = vText("CANCELLED" if cancelled else "NEEDS-ACTION")
    else:
        item["STATUS"] = vText("CANCELLED" if cancelled else "CONFIRMED")
        item["TRANSP"] = vText("TRANSPARENT")
    related = ledger.related_uid(entry)
    if related is not None:
        item["RELATED-TO"] = vText(related)
    if entry.alarm_min is not None and not cancelled:
        item.subcomponents.append(_alarm(record.uid, entry))
    return item


def _alarm(uid: str, entry: Entry) -> Alarm:
    alarm = Alarm()
    alarm["UID"] = vText(str(uuid5(UUID(uid), "alarm")))
    alarm["ACTION"] = vText("DISPLAY")
    alarm["DESCRIPTION"] = vText(entry.title or "livefood")
    alarm["TRIGGER"] = _Minutes(timedelta(minutes=-(entry.alarm_min or 0)))
    return alarm
