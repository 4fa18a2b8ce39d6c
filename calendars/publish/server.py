"""Plan -> a calendar on a server: create, update and delete what livefood put there, no more.

Notes beside the room file hold which UIDs stand on the server, under which ETag and with which
SEQUENCE. A UID is noted as expected before it is sent, so a publish that breaks off anywhere
is carried on by the next: what arrived is found again, what was withdrawn meanwhile is deleted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from attrs import define, evolve, field, frozen
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
        return {
            "created": self.created, "updated": self.updated, "deleted": self.deleted,
            "unchanged": self.unchanged, "merged": self.merged,
        }  # fmt: skip


def publish_notes_path(room_path: Path, url: str) -> Path:
    """Where it is noted what stands on a server's calendar."""
    name = sha256(url.encode()).hexdigest()[:12]
    return room_path.resolve().parent / f".{room_path.name}.{name}.livefood"


def publish(
    collection: Collection,
    entries: Iterable[Entry],
    *,
    room_path: Path,
    now: datetime,
    identity: Callable[[], UUID],
    zone: ZoneInfo | None = None,
) -> Published:
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
        notes = read_notes(path) or Notes()
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
        notes = read_notes(path) or Notes()
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
        total, step = len(stale) + len(due), 0
        try:
            for uid in stale:
                self._delete(uid)
                step += 1
            for record in due:
                self._store(record)
                step += 1
        except ConnectionLostError as error:
            raise ConnectionLostError(
                f"{error}; {step} of {total} changes are on the server, "
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
        etag = self.held[uid].etag
        for _ in range(_TRIES):
            if not etag:
                etag = self._seen_etag(uid)
            if not etag or self.collection.delete(_name(uid), etag):
                del self.held[uid]
                self.done.deleted += 1
                return
            etag = ""
        raise CalendarError(
            f"{_name(uid)} is being changed on the server all the time; try again later"
        )

    def _seen_etag(self, uid: str) -> str:
        found = self.collection.get(_name(uid))
        if found is None:
            return ""
        _own(found.data, uid)
        return found.etag

    def _store(self, record: Record) -> None:
        data = resource_bytes(record, self.ledger, self.zone)
        check(data)
        before = self.held[record.uid]
        etag: str | None = before.etag or None
        for _ in range(_TRIES):
            stored = self.collection.put(_name(record.uid), data, etag)
            if stored is not None:
                self.held[record.uid] = Held(stored, record.sequence)
                if before.sequence < 0:
                    self.done.created += 1
                else:
                    self.done.updated += 1
                return
            found = self.collection.get(_name(record.uid))
            etag = None
            if found is not None:
                theirs = _own(found.data, record.uid)
                data, etag = _merged(data, theirs), found.etag
                self.done.merged += 1
        raise CalendarError(
            f"{_name(record.uid)} is being changed on the server all the time; try again later"
        )


def _name(uid: str) -> str:
    return f"{uid}.ics"


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
            f"{_name(uid)} on the server is not what livefood put there; it was left alone"
        )
    return items[0]


def _merged(data: bytes, theirs: Component) -> bytes:
    """Our version with what the person ticked off or dismissed in theirs."""
    calendar = Calendar.from_ical(data)
    ours = _items(calendar)[0]
    if ours.name == theirs.name == "VTODO" and str(theirs.get("STATUS")) != "CANCELLED":
        _carry(_KEPT_IN_TODO, theirs, ours)
    alarms = {str(a.get("UID")): a for a in theirs.subcomponents if a.name == "VALARM"}
    for alarm in (a for a in ours.subcomponents if a.name == "VALARM"):
        match = alarms.get(str(alarm.get("UID")))
        same_start = ours.get("DTSTART") is not None and _start(ours) == _start(theirs)
        if match is not None and same_start and _trigger(match) == _trigger(alarm):
            _carry(_KEPT_IN_ALARM, match, alarm)
    return bytes(calendar.to_ical())


def _carry(names: Iterable[str], source: Component, target: Component) -> None:
    for name in names:
        if name in source:
            target[name] = source[name]


def _start(item: Component) -> object:
    start = item.decoded("DTSTART", None)
    return start.astimezone(UTC) if isinstance(start, datetime) and start.tzinfo else start


def _trigger(alarm: Component) -> object:
    return alarm.decoded("TRIGGER", None)
