"""Records -> the bytes of an iCalendar object (RFC 5545, RFC 7986).

Written line by line here, because only a few of the format's forms are used: those that every
reader tried understands alike. The bytes then change when the plan does, and never because a
library was updated.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from hashlib import sha256
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from attrs import frozen

from calendars.content_lines import fold, text_line
from calendars.ended import prefix_of
from calendars.entries import GROUPS, clean_line
from calendars.ledger import Ledger, Record
from calendars.zones import is_plain, vtimezone

PRODID = "-//livefood//livefood calendar//EN"
#: Names the intention of an entry, and the room that it belongs to.
KEY = "X-LIVEFOOD-KEY"
#: How livefood wrote an entry: a person's changes are known by it.
WRITTEN = "X-LIVEFOOD-AS"
#: At which publish to a server livefood wrote it: notes that know of fewer are older than it.
RUN = "X-LIVEFOOD-RUN"
#: How often a subscriber should look for news [min].
REFRESH_MIN = 720


@frozen
class Header:
    """What the calendar says of itself.

    Attributes:
        name: shown as the calendar's title. room: which room it is of.
        zone: write wall times of this zone; None for UTC.
        feed: add the hints for subscribers.
    """

    name: str
    zone: ZoneInfo | None = None
    feed: bool = False
    room: str = ""


def room_tag(name: str) -> str:
    """By what entries of one room are known from another's; it tells nobody its name."""
    return sha256(name.encode()).hexdigest()[:8]


def written_as(start: datetime, end: datetime, title: str, text: str) -> str:
    """How an entry was written: its times, and digests of its title and text."""
    return f"{_utc(start)}/{_utc(end)}/{digest(title)}/{len(text)}/{digest(text)}"


def digest(words: str) -> str:
    """By what a title or a text is known again."""
    return sha256(words.encode()).hexdigest()[:12]


def calendar_bytes(records: list[Record], ledger: Ledger, header: Header) -> bytes:
    """One VCALENDAR with these records, in their order.

    Args:
        records: none of them gone. ledger: where related records are looked up.
    """
    name = clean_line(header.name)
    lines = [text_line("NAME", name), text_line("X-WR-CALNAME", name), "COLOR:seagreen"]
    if records:
        lines.append(f"LAST-MODIFIED:{_utc(max(r.modified for r in records))}")
    if header.feed:
        lines.append(f"REFRESH-INTERVAL;VALUE=DURATION:PT{REFRESH_MIN}M")
        lines.append(f"X-PUBLISHED-TTL:PT{REFRESH_MIN}M")
    return _calendar(lines, records, ledger, header)


def resource_bytes(record: Record, ledger: Ledger, header: Header, run: int = 0) -> bytes:
    """One record as a CalDAV resource: one UID, no METHOD (RFC 4791, section 4.1).

    Args:
        run: the number of the publish that writes it; 0 for a file.
    """
    return _calendar([], [record], ledger, header, *([f"{RUN}:{run}"] if run else []))


def _calendar(
    head: list[str], records: list[Record], ledger: Ledger, header: Header, *marks: str
) -> bytes:
    zone = header.zone
    if zone is not None and zone.key in ("UTC", "Etc/UTC"):
        zone = None
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODID}", *head]
    if zone is not None and records:
        lines += vtimezone(zone, (m for r in records for m in (r.shown.start, r.shown.end)))
    when, tag = _writer(zone), room_tag(header.room)
    for record in records:
        lines += _item(record, ledger, when, tag, *marks)
    lines += ["END:VCALENDAR", ""]
    return "\r\n".join(lines).encode()


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _writer(zone: ZoneInfo | None) -> Callable[[str, datetime], str]:
    """How moments are written: as UTC, or as wall time wherever that leaves no doubt."""

    def write(name: str, moment: datetime) -> str:
        if zone is None or not is_plain(zone, moment):
            return f"{name}:{_utc(moment)}"
        return f"{name};TZID={zone.key}:{moment.astimezone(zone):%Y%m%dT%H%M%S}"

    return write


def _item(
    record: Record, ledger: Ledger, when: Callable[[str, datetime], str], tag: str, *marks: str
) -> list[str]:
    entry = record.shown
    cancelled = record.state == "cancelled"
    kind, end = ("VTODO", "DUE") if entry.todo else ("VEVENT", "DTEND")
    going = "NEEDS-ACTION" if entry.todo else "CONFIRMED"
    changed = _utc(record.modified)
    lines = [
        f"BEGIN:{kind}",
        f"UID:{record.uid}",
        f"SEQUENCE:{record.sequence}",
        f"DTSTAMP:{changed}",
        f"LAST-MODIFIED:{changed}",
        when("DTSTART", entry.start),
        when(end, entry.end),
        text_line("SUMMARY", f"{prefix_of(entry.text)}{entry.title}" if cancelled else entry.title),
    ]
    if entry.text:
        lines.append(text_line("DESCRIPTION", entry.text))
    lines.append(f"CATEGORIES:Live food,{GROUPS[entry.group]}")
    lines.append(f"STATUS:{'CANCELLED' if cancelled else going}")
    if not entry.todo:
        lines.append("TRANSP:TRANSPARENT")
    related = ledger.related_uid(entry)
    if related is not None:
        lines.append(f"RELATED-TO:{related}")
    lines.append(text_line(KEY, f"{tag}/{clean_line(record.key)}"))
    written = written_as(entry.start, entry.end, entry.title, entry.text)
    lines += [fold(f"{WRITTEN}:{written}"), *marks]
    if not cancelled:  # what counts first, for readers that take one
        rings = "; ".join((entry.title, *entry.also))
        lines += _alarm(record.uid, "alarm", entry.alarm_min, rings)
        lines += _alarm(record.uid, "notice", entry.notice_min, rings)
    lines.append(f"END:{kind}")
    return lines


def _alarm(uid: str, which: str, minutes: int | None, title: str) -> list[str]:
    """Relative and in minutes: exact over a clock change, where ``P1D`` means a calendar day."""
    if minutes is None:
        return []
    return [
        "BEGIN:VALARM",
        f"UID:{uuid5(UUID(uid), which)}",
        "ACTION:DISPLAY",
        text_line("DESCRIPTION", title or "livefood"),
        f"TRIGGER:-PT{minutes}M",
        "END:VALARM",
    ]
