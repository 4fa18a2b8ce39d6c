"""Plan -> a calendar on a server: create, update and delete what livefood put there, no more.

Notes beside the room file hold which UIDs stand on the server, under which ETag and with which
SEQUENCE. A UID is noted as expected before it is sent, so a publish that breaks off anywhere
is carried on by the next: what arrived is found again, what was withdrawn meanwhile is deleted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from hashlib import sha256
from itertools import product
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from attrs import asdict, define, evolve, field, frozen
from icalendar import Calendar, Component

from calendars.entries import CalendarError, Entry
from calendars.export import Notes, read_notes
from calendars.ics import resource_bytes
from calendars.ledger import Ledger, Record, revise
from calendars.lint import check
from calendars.publish.caldav import Collection, ConnectionLostError
from cultures import files

#: What a person's own app writes into a to-do or an alarm, and is kept when the entry changes.
_KEPT_IN_TODO = ("STATUS", "COMPLETED", "PERCENT-COMPLETE")
_KEPT_IN_ALARM = ("ACKNOWLEDGED",)
_TRIES = 3


@frozen
class Held:
    """A resource on the server: ETag and SEQUENCE as last stored; "" and -1 if only expected."""

    etag: str = ""
    sequence: int = -1


@define
class Published:
    """What a publish did on the server."""

    created: int = 0
    updated: int = 0
    deleted: int = 0
    unchanged: int = 0
    merged: int = 0

    def to_json(self) -> dict[str, int]:
        """For other programs."""
        return asdict(self)


def publish_notes_path(room_path: Path, url: str) -> Path:
    """Where it is noted what stands on a server's calendar."""
    name = sha256(url.encode()).hexdigest()[:12]
    return room_path.resolve().parent / f".{room_path.name}.{name}.livefood"


def publish(
    collection: Collection, entries: Iterable[Entry], *, room_path: Path, now: datetime,
    identity: Callable[[], UUID], zone: ZoneInfo | None = None,
) -> Published:  # fmt: skip
    """Bring a server's calendar up to date with a plan.

    Args:
        entries: all that the calendar should show. now: time of the plan, aware.
        identity: gives the namespace of new UIDs, `calendars.identity.namespace`; asked for only
            once the server has shown a calendar. zone: for wall times; None for UTC.

    Raises:
        ConnectionLostError: the server went away; run again to go on.
        CalendarError: it refused.
    """
    chosen = list(entries)
    for component in {"VTODO" if e.todo else "VEVENT" for e in chosen}:
        collection.check(component)
    path = publish_notes_path(room_path, collection.address.url)
    with files.locked(path.parent):
        notes = read_notes(path)
        ledger, _ = revise(notes.ledger, chosen, now=now, namespace=identity())
        return _Run(collection, path, ledger, _held(notes, path), zone).go()


def withdraw(collection: Collection, *, room_path: Path, now: datetime) -> Published:
    """Delete everything that livefood put on a server's calendar.

    Raises:
        CalendarError: as for `publish`.
    """
    path = publish_notes_path(room_path, collection.address.url)
    moment = now.astimezone(UTC).replace(microsecond=0)
    with files.locked(path.parent):
        notes = read_notes(path)
        gone = {
            key: evolve(r, state="gone", entry=None, modified=max(moment, r.modified))
            for key, r in notes.ledger.records.items()
        }
        return _Run(collection, path, Ledger(gone), _held(notes, path), None).go()


def _held(notes: Notes, path: Path) -> dict[str, Held]:
    raw: Mapping[str, Any] = notes.extra.get("held", {})
    try:
        return {str(UUID(uid)): Held(str(etag), int(number)) for uid, (etag, number) in raw.items()}
    except (ValueError, TypeError, AttributeError) as error:
        raise CalendarError(f"{path}: these notes are damaged; restore them from a copy") from error


@define
class _Run:
    """One publish, with what is known to stand on the server at each moment."""

    collection: Collection
    path: Path
    ledger: Ledger
    held: dict[str, Held]
    zone: ZoneInfo | None
    done: Published = field(factory=Published)

    def go(self) -> Published:
        live = {record.uid: record for record in self.ledger.live()}
        stale = [uid for uid in self.held if uid not in live]
        due = [r for uid, r in live.items() if self.held.get(uid, Held()).sequence != r.sequence]
        self.done.unchanged = len(live) - len(due)
        for record in due:
            self.held.setdefault(record.uid, Held())
        self._save()
        try:
            for uid in stale:
                self._delete(uid)
            for record in due:
                self._store(record)
        except ConnectionLostError as error:
            step = self.done.deleted + self.done.created + self.done.updated
            raise ConnectionLostError(
                f"{error}; {step} of {len(stale) + len(due)} changes are on the server, "
                "run the same command again to go on"
            ) from error
        finally:
            self._save()
        return self.done

    def _save(self) -> None:
        held = {uid: [h.etag, h.sequence] for uid, h in self.held.items()}
        notes = Notes(self.ledger, (), {"url": self.collection.address.url, "held": held})
        files.replace(self.path, notes.to_bytes())

    def _delete(self, uid: str) -> None:
        self._bring(uid, None)
        del self.held[uid]
        self.done.deleted += 1

    def _store(self, record: Record) -> None:
        data = resource_bytes(record, self.ledger, self.zone)
        check(data)
        etag = self._bring(record.uid, data)
        if self.held[record.uid].sequence < 0:
            self.done.created += 1
        else:
            self.done.updated += 1
        self.held[record.uid] = Held(etag, record.sequence)

    def _bring(self, uid: str, data: bytes | None) -> str:
        """Store a resource, or delete it if there are no data; its new ETag.

        Where another version stands than was seen last, it is looked at and tried again.
        """
        name, etag = f"{uid}.ics", self.held[uid].etag
        for _ in range(_TRIES):
            if data is not None:
                stored = self.collection.put(name, data, etag or None)
            else:
                stored = "" if etag and self.collection.delete(name, etag) else None
            if stored is not None:
                return stored
            found = self.collection.get(name)
            etag = found.etag if found is not None else ""
            theirs = _own(found.data, uid) if found is not None else None
            if data is None and not etag:
                return ""
            if data is not None and theirs is not None:
                data = _merged(data, theirs)
                self.done.merged += 1
        raise CalendarError(f"{name} is being changed on the server all the time; try again later")


def _items(calendar: Component) -> list[Component]:
    return [c for c in calendar.subcomponents if c.name in ("VEVENT", "VTODO")]


def _own(data: bytes, uid: str) -> Component:
    """The component of a resource that has our UID.

    Raises:
        CalendarError: what stands there is not ours.
    """
    try:
        items = _items(Calendar.from_ical(data))
    except ValueError:
        items = []
    if [str(item.get("UID")) for item in items] != [uid]:
        raise CalendarError(
            f"{uid}.ics on the server is not what livefood put there; it was left alone"
        )
    return items[0]


def _merged(data: bytes, theirs: Component) -> bytes:
    """Our version with what the person ticked off or dismissed in theirs."""
    calendar = Calendar.from_ical(data)
    ours = _items(calendar)[0]
    if ours.name == theirs.name == "VTODO" and str(theirs.get("STATUS")) != "CANCELLED":
        _carry(_KEPT_IN_TODO, theirs, ours)
    if _start(ours) == _start(theirs):
        for alarm, other in product(ours.walk("VALARM"), theirs.walk("VALARM")):
            if _ring(alarm) == _ring(other):
                _carry(_KEPT_IN_ALARM, other, alarm)
    return bytes(calendar.to_ical())


def _carry(names: Iterable[str], source: Component, target: Component) -> None:
    for name in names:
        if name in source:
            target[name] = source[name]


def _start(item: Component) -> object:
    start = item.decoded("DTSTART", None)
    return start.astimezone(UTC) if isinstance(start, datetime) and start.tzinfo else start


def _ring(alarm: Component) -> tuple[str, object]:
    """Which alarm it is, and when it rings."""
    return str(alarm.get("UID")), alarm.decoded("TRIGGER", None)
