"""An entry as a server or a file gives it back: what livefood wrote, and what a person made of it.

Each entry names its intention (``X-LIVEFOOD-KEY``) and how livefood wrote it last
(``X-LIVEFOOD-AS``), so that a person's changes are known from livefood's own, also those of
another computer, and also without the notes beside the room.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID, uuid5

from attrs import frozen
from icalendar import Calendar, Component

from calendars.ended import prefix_of
from calendars.entries import GROUPS, SHORTEST, CalendarError, Entry, setting_of
from calendars.ics import KEY, RUN, WRITTEN, digest, room_tag, written_as
from calendars.ledger import Ledger, Record, State


@frozen
class Seen:
    """One entry on a server or in a file.

    Attributes:
        key: the intention as it is written there, or "". tag: of the room that wrote it.
        written: as livefood wrote it, or "". run: at which publish, or 0.
        start, end: UTC. status: or "".
        completed: when it was ticked off. modified: the last change that it tells of.
        rings: its alarms, minutes before the start.
    """

    uid: str
    key: str
    tag: str
    written: str
    run: int
    sequence: int
    start: datetime
    end: datetime
    title: str
    text: str
    group: str
    status: str
    completed: datetime | None
    modified: datetime | None
    rings: tuple[int, ...]
    todo: bool

    @property
    def is_ticked(self) -> bool:
        """Whether a person ticked it off."""
        return self.status == "COMPLETED" or self.completed is not None

    @property
    def is_untouched(self) -> bool:
        """Whether it stands as livefood wrote it, on whatever computer."""
        going = "NEEDS-ACTION" if self.todo else "CONFIRMED"
        return (
            self.written == self._as_it_reads and self.status in ("", going) and not self.is_ticked
        )

    @property
    def is_withdrawn(self) -> bool:
        """Whether livefood wrote that it is cancelled."""
        title = self.title.removeprefix(prefix_of(self.text))
        mine = written_as(self.start, self.end, title, self.text)
        return self.status == "CANCELLED" and self.written == mine != self._as_it_reads

    @property
    def _as_it_reads(self) -> str:
        return written_as(self.start, self.end, self.title, self.text)

    def is_moved(self, base: Entry | None) -> bool:
        """Whether it stands at another time than livefood gave it."""
        if self.written:
            stands = written_as(self.start, self.end, "", "")
            return self.written.split("/")[:2] != stands.split("/")[:2]
        return base is not None and (base.start, base.end) != (self.start, self.end)

    def own_words(self, base: Entry | None) -> str:
        """What a person wrote into the text besides."""
        length, known_as = _text_of(self.written)
        for part, rest in (
            (self.text[:length], self.text[length:]),
            (self.text[len(self.text) - length :], self.text[: len(self.text) - length]),
        ):
            if known_as and digest(part) == known_as:
                return rest.strip()
        if base is None:
            return ""
        known = set(base.text.splitlines())
        return "\n".join(line for line in self.text.splitlines() if line not in known).strip()

    def record(self) -> Record:
        """As it stands in a ledger; what it follows from is known from its name."""
        alarm, notice = (*self.rings, None, None)[:2]
        title = self.title
        title = title.removeprefix(prefix_of(self.text)) if self.is_withdrawn else title
        entry = Entry(
            self.key, self.group, self.start, self.end, title, self.text, alarm,
            setting_of(self.key), self.todo, notice,
        )  # fmt: skip
        state: State = "cancelled" if self.status == "CANCELLED" else "live"
        stamp = self.modified or self.start
        return Record(self.key, self.uid, self.sequence, stamp, state, entry)


def items(data: bytes) -> list[Component]:
    """The events and to-dos of a calendar.

    Raises:
        ValueError: it cannot be read.
    """
    return [c for c in Calendar.from_ical(data).subcomponents if c.name in ("VEVENT", "VTODO")]


def the_one(data: bytes, uid: str) -> Component:
    """The component of a resource that has our UID.

    Raises:
        CalendarError: what stands there is not one entry of ours.
    """
    try:
        found = items(data)
    except ValueError:
        found = []
    if {str(item.get("UID")) for item in found} != {uid}:
        raise CalendarError("what stands there is not what livefood wrote; delete it by hand")
    if len(found) > 1 or "RRULE" in found[0]:
        raise CalendarError(
            "it was made to repeat by hand, so it is yours now; delete it to have it renewed"
        )
    return found[0]


def seen(item: Component) -> Seen | None:
    """What a component says; None where it has no times that can be read."""
    try:
        start, end = _moment(item, "DTSTART"), _moment(item, "DUE" if _is_todo(item) else "DTEND")
        start = start if start is not None else end
        if start is None:
            return None
        end = end if end is not None and end > start else start + SHORTEST
        tag, _, key = str(item.get(KEY, "")).partition("/")
        categories = str(item.get("CATEGORIES").to_ical().decode()) if "CATEGORIES" in item else ""
        groups = [group for group, word in GROUPS.items() if word in categories]
        return Seen(
            str(item.get("UID")), key, tag, str(item.get(WRITTEN, "")), int(item.get(RUN, 0)),
            int(item.get("SEQUENCE", 0)), start, end, str(item.get("SUMMARY", "")),
            str(item.get("DESCRIPTION", "")), groups[0] if groups else "supplies",
            str(item.get("STATUS", "")), _moment(item, "COMPLETED"),
            _moment(item, "LAST-MODIFIED") or _moment(item, "DTSTAMP"), rings(item), _is_todo(item),
        )  # fmt: skip
    except (ValueError, TypeError, AttributeError, KeyError):
        return None


def rings(item: Component) -> tuple[int, ...]:
    """Minutes before the start at which it rings, those told as a time before it."""
    triggers = [a.decoded("TRIGGER", None) for a in item.walk("VALARM")]
    return tuple(round(-t.total_seconds() / 60) for t in triggers if hasattr(t, "total_seconds"))


def ledger_of(data: bytes, namespace: UUID, room: str) -> tuple[Ledger, bool]:
    """What a calendar file of ours says of itself, where the notes beside it are lost.

    Returns:
        The entries of this room, and whether the file holds nothing else, all as livefood wrote it.
    """
    try:
        found = [seen(item) for item in items(data)]
    except ValueError:
        return Ledger(), False
    ours = [one for one in found if one is not None and is_ours(one, namespace, room)]
    whole = len(ours) == len(found) and all(x.is_untouched or x.is_withdrawn for x in ours)
    return Ledger({one.key: one.record() for one in ours}), whole and bool(ours)


def is_ours(found: Seen, namespace: UUID, room: str) -> bool:
    """Whether an entry was written for this room, by its identity or else by its name."""
    if not found.key:
        return False
    return str(uuid5(namespace, found.key)) == found.uid or found.tag == room_tag(room)


def _is_todo(item: Component) -> bool:
    return bool(item.name == "VTODO")


def _moment(item: Component, name: str) -> datetime | None:
    value: Any = item.decoded(name, None)
    if isinstance(value, datetime):
        return (value if value.tzinfo else value.replace(tzinfo=UTC)).astimezone(UTC)
    if isinstance(value, date):
        return datetime(value.year, value.month, value.day, tzinfo=UTC)
    return None


def _text_of(written: str) -> tuple[int, str]:
    parts = written.split("/")
    return (int(parts[3]), parts[4]) if len(parts) == 5 and parts[3].isdigit() else (0, "")
