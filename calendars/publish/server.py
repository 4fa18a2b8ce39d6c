"""Plan -> a calendar on a server: create, update and delete what livefood put there, no more.

Notes beside the room file hold which UIDs stand on the server, under which ETag and with which
SEQUENCE. A UID is noted as expected before it is sent, so a publish that breaks off anywhere
is carried on by the next: what arrived is found again, what was withdrawn meanwhile is deleted.
Where the notes are lost, or another computer publishes too, what stands there is taken from the
server itself.

Each publish that changes something has a number, in the notes and in every entry that it writes;
one that deletes writes at least one entry too. Where an entry tells of a later publish than the
notes, these are older than the calendar (a restored backup): what is missing there livefood itself
may have deleted, so it is taken for nobody's no, and written anew where it is still planned.

`OnServer.hear` reads what a person did there; it changes nothing on the server.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from hashlib import sha256
from itertools import product
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

from attrs import asdict, define, evolve, field, frozen
from icalendar import Calendar, Component, vText

from calendars.entries import CalendarError, Entry
from calendars.export import Notes, read_notes
from calendars.ics import Header, resource_bytes
from calendars.ledger import Ledger, Record, revise
from calendars.lint import check
from calendars.publish.caldav import Collection, ConnectionLostError
from calendars.reading import Seen, is_ours, items, seen, the_one
from cultures import files

#: What a person's own app writes into an entry or an alarm, and is kept when the entry changes.
_KEPT = ("STATUS", "COMPLETED", "PERCENT-COMPLETE")
_KEPT_IN_ALARM = ("ACKNOWLEDGED",)
_TRIES = 3
#: Names under which an entry of ours may stand.
_NAME = re.compile(r"([0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12})\.ics")
#: Where so many of ours are gone at once, the calendar was emptied; nobody said no to each.
_EMPTIED = 3


@frozen
class Held:
    """A resource on the server: ETag and SEQUENCE as last stored; "" and -1 if only expected."""

    etag: str = ""
    sequence: int = -1


@frozen
class Left:
    """An entry that could not be written, and why."""

    title: str
    at: datetime | None
    reason: str


@define
class Published:
    """What a publish did on the server."""

    created: int = 0
    updated: int = 0
    deleted: int = 0
    unchanged: int = 0
    merged: int = 0
    left: list[Left] = field(factory=list)

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        left = [
            {"title": x.title, "at": x.at and x.at.isoformat(), "why": x.reason} for x in self.left
        ]
        return {**asdict(self), "left": left}


@frozen
class Touched:
    """What a person did to an entry on the server.

    Attributes:
        key: the intention. title: its title as livefood wrote it, or as it reads now.
        start: where it stands now. at: when the person did it, as far as the server tells.
        what: ``ticked``, ``cancelled``, ``deleted``, ``moved``, ``left`` for a to-do that was
            deleted unticked after its time, or "" if only its words.
        words: what was written into its text besides.
    """

    key: str
    title: str
    start: datetime
    at: datetime
    what: str
    words: str = ""
    parts: tuple[str, ...] = ()


@frozen
class Heard:
    """All that was read. ``etags``: by UID, the version of an entry that was read; ``older``: the
    notes are older than what stands there, and nothing missing was taken for deleted by a person.
    """

    touched: list[Touched] = field(factory=list)
    etags: Mapping[str, str] = field(factory=dict)
    older: bool = False


def publish_notes_path(room_path: Path, url: str) -> Path:
    """Where it is noted what stands on a server's calendar; a room's folder holds one room."""
    name = sha256(url.encode()).hexdigest()[:12]
    folder = room_path.resolve().parent
    path = folder / f".{name}.livefood"
    return path if path.exists() else min(folder.glob(f".*.{name}.livefood"), default=path)


@frozen
class OnServer:
    """A room's calendar on a server, at one moment.

    Attributes:
        header: which room, and its zone for wall times. now: time of the plan, aware.
        identity: gives the namespace of new UIDs, `calendars.identity.namespace`; asked for only
            once the server has shown a calendar.
    """

    collection: Collection
    room_path: Path
    header: Header
    now: datetime
    identity: Callable[[], UUID]

    @property
    def notes(self) -> Path:
        """Where it is noted what stands there."""
        return publish_notes_path(self.room_path, self.collection.address.url)

    def hear(self) -> Heard:
        """What a person did to our entries there: ticked, cancelled, moved, deleted, wrote.

        Raises:
            CalendarError: as for `publish`.
        """
        path, moment = self.notes, self.now.astimezone(UTC)
        with files.locked(path.parent):
            notes = read_notes(path)
            held, there = _held(notes, path), self._there()
            known = {r.uid: r for r in notes.ledger.records.values()}
            touched, etags, older = [], {}, False
            for uid, etag in there.items():
                if held.get(uid, Held()).etag == etag:
                    continue
                found, record = self._fetched(uid), known.get(uid)
                if found is None or (record is None and not self._is_ours(found)):
                    continue
                etags[uid] = etag
                older |= found.run > _last_run(notes)
                touched += _touched(found, record, moment)
            mine = [u for u, h in held.items() if h.sequence >= 0]
            gone = [uid for uid in mine if uid not in there]
            if not older and not (len(gone) == len(mine) >= _EMPTIED):
                touched += [
                    Touched(r.key, r.shown.title, r.shown.start, moment,
                            "deleted" if r.shown.start > moment else "left", "", r.shown.parts)
                    for uid in gone
                    if (r := known.get(uid)) is not None and r.state == "live"
                    and (r.shown.start > moment or r.shown.todo)
                ]  # fmt: skip
        return Heard(sorted(touched, key=lambda t: (t.start, t.key)), etags, older)

    def publish(
        self, entries: Iterable[Entry], heard: Heard | None = None, *,
        undone: Container[str] = frozenset(), open_again: Container[str] = frozenset(),
    ) -> Published:  # fmt: skip
        """Brings it up to date with a plan.

        Args:
            entries: all that it should show. heard: what was read before; what was done since is
                not deleted unread. undone: as `calendars.ledger.revise` has it. open_again: names
                of entries whose tick is taken off again.

        Raises:
            ConnectionLostError: the server went away; run again to go on.
            CalendarError: it refused.
        """
        chosen = list(entries)
        for component in {"VTODO" if e.todo else "VEVENT" for e in chosen}:
            self.collection.check(component)
        with files.locked(self.notes.parent):
            space = self.identity()
            notes, held = self._with_found({str(uuid5(space, e.key)): e.key for e in chosen})
            ledger, _ = revise(notes.ledger, chosen, now=self.now, namespace=space, undone=undone)
            run = _Run(self, ledger, held, notes.ledger, _last_run(notes), heard, open_again)
            return run.go()

    def withdraw(self) -> Published:
        """Deletes everything that livefood put there for the room.

        Raises:
            CalendarError: as for `publish`.
        """
        moment = self.now.astimezone(UTC).replace(microsecond=0)
        with files.locked(self.notes.parent):
            notes, held = self._with_found({})
            gone = {
                key: evolve(r, state="gone", entry=None, modified=max(moment, r.modified))
                for key, r in notes.ledger.records.items()
            }
            return _Run(self, Ledger(gone), held, notes.ledger, _last_run(notes)).go()

    def save(self, ledger: Ledger, held: Mapping[str, Held], run: int) -> None:
        """Notes what stands there after a publish of this number."""
        extra = {uid: [h.etag, h.sequence] for uid, h in held.items()}
        url = self.collection.address.url
        notes = Notes(ledger, (), {"url": url, "held": extra, "run": run})
        files.replace(self.notes, notes.to_bytes())

    def _there(self) -> dict[str, str]:
        """What may be ours there: the ETag of each by its UID."""
        etags = self.collection.etags().items()
        return {found[1]: etag for name, etag in etags if (found := _NAME.fullmatch(name))}

    def _fetched(self, uid: str) -> Seen | None:
        answer = self.collection.get(f"{uid}.ics")
        with suppress(CalendarError):  # it is left alone, and said so, where it would be written
            return seen(the_one(answer.data, uid)) if answer is not None else None
        return None

    def _is_ours(self, found: Seen) -> bool:
        return is_ours(found, self.identity(), self.header.room)

    def _with_found(self, keys: Mapping[str, str]) -> tuple[Notes, dict[str, Held]]:
        """The notes, with what stands there and is ours and not noted.

        Args:
            keys: by UID, what a server may hold that lost the names of its entries.
        """
        notes = read_notes(self.notes)
        held, records = _held(notes, self.notes), dict(notes.ledger.records)
        there, run = self._there(), _last_run(notes)
        for uid, etag in there.items():
            known = next((r for r in records.values() if r.uid == uid), None)
            if uid in held and (held[uid].etag == etag or known is None):
                continue
            found = self._fetched(uid)
            if found is None:
                continue
            if known is None:
                found = found if found.key else evolve(found, key=keys.get(uid, ""))
                if not self._is_ours(found) or found.key in records:
                    continue
                records[found.key] = found.record()
                # Looked at again before it is written: it may hold a person's words.
                held[uid] = Held(etag if found.is_untouched else "", found.sequence)
            elif found.sequence > known.sequence:
                records[known.key] = evolve(known, sequence=found.sequence)
                if uid in held and held[uid].sequence == known.sequence:
                    held[uid] = evolve(held[uid], sequence=found.sequence)
            run = max(run, found.run)
        if run > _last_run(notes):
            held = {uid: h for uid, h in held.items() if uid in there}
        return evolve(notes, ledger=Ledger(records), extra={**notes.extra, "run": run}), held


def _touched(found: Seen, record: Record | None, now: datetime) -> list[Touched]:
    if found.is_untouched:
        return []
    base = record.entry if record is not None else None
    key = record.key if record is not None else found.key
    at = min(found.completed or found.modified or now, now)
    if found.is_ticked:
        what = "ticked"
    elif found.status == "CANCELLED":
        what = "cancelled"
    else:
        what = "moved" if found.is_moved(base) else ""
    words = found.own_words(base)
    if not what and not words:
        return []
    title, parts = (base.title, base.parts) if base is not None else (found.title, ())
    return [Touched(key, title, found.start, at, what, words, parts)]


def _held(notes: Notes, path: Path) -> dict[str, Held]:
    raw: Mapping[str, Any] = notes.extra.get("held", {})
    try:
        return {str(UUID(uid)): Held(str(etag), int(number)) for uid, (etag, number) in raw.items()}
    except (ValueError, TypeError, AttributeError) as error:
        raise CalendarError(f"{path}: these notes are damaged; restore them from a copy") from error


def _last_run(notes: Notes) -> int:
    """The number of the last publish that notes know of."""
    run = notes.extra.get("run", 0)
    return run if isinstance(run, int) else 0


class _ChangedSinceError(CalendarError):
    """What was to be deleted was touched after it was read."""


@define
class _Run:
    """One publish, with what is known to stand on the server at each moment."""

    place: OnServer
    ledger: Ledger
    held: dict[str, Held]
    before: Ledger
    run: int
    heard: Heard | None = None
    open_again: Container[str] = frozenset()
    done: Published = field(factory=Published)

    def go(self) -> Published:
        live = {record.uid: record for record in self.ledger.live()}
        stale = [uid for uid in self.held if uid not in live]
        due = [
            r for uid, r in live.items()
            if self.held.get(uid, Held()).sequence != r.sequence or r.key in self.open_again
        ]  # fmt: skip
        if stale and live and not due:  # by which older notes are known as such
            due = [list(live.values())[-1]]
        self.done.unchanged = len(live) - len(due)
        self.run += bool(stale or due)
        for record in due:
            self.held.setdefault(record.uid, Held())
        self.place.save(self.ledger, self.held, self.run)
        try:
            for record in due:
                self._each(record.uid, self._store, record)
            for uid in stale:
                self._each(uid, self._delete, uid)
        except ConnectionLostError as error:
            step = self.done.deleted + self.done.created + self.done.updated
            raise ConnectionLostError(
                f"{error}; {step} of {len(stale) + len(due)} changes are on the server, "
                "run the same command again to go on"
            ) from error
        finally:
            self.place.save(self.ledger, self.held, self.run)
        return self.done

    def _each(self, uid: str, act: Callable[[Any], None], what: object) -> None:
        """Each stands for itself: what cannot be written is named, and the rest goes on."""
        try:
            act(what)
        except ConnectionLostError:
            raise
        except _ChangedSinceError:
            pass  # read at the next time
        except CalendarError as error:
            base = self._base(uid)
            title, at = (base.title, base.start) if base is not None else (uid, None)
            self.done.left.append(Left(title, at, str(error)))

    def _base(self, uid: str) -> Entry | None:
        """An entry as it was last written here."""
        every = (*self.before.records.values(), *self.ledger.records.values())
        return next((r.entry for r in every if r.uid == uid and r.entry is not None), None)

    def _delete(self, uid: str) -> None:
        name, read = f"{uid}.ics", self.heard.etags.get(uid) if self.heard is not None else None
        etag = read or self.held[uid].etag
        for _ in range(_TRIES):
            if etag and self.place.collection.delete(name, etag):
                break
            found = self.place.collection.get(name)
            if found is None:
                break
            one = seen(the_one(found.data, uid))
            if etag and self.heard is not None and one is not None and not one.is_untouched:
                raise _ChangedSinceError("changed")
            etag = found.etag
        else:
            raise CalendarError("it is being changed on the server all the time; try again later")
        del self.held[uid]
        self.done.deleted += 1

    def _store(self, record: Record) -> None:
        data = ours = resource_bytes(record, self.ledger, self.place.header, self.run)
        check(data)
        uid, name, etag = record.uid, f"{record.uid}.ics", self.held[record.uid].etag
        new, sequence = self.held[uid].sequence < 0, record.sequence
        merged = False
        for _ in range(_TRIES):
            stored = self.place.collection.put(name, data, etag or None)
            if stored is not None:
                break
            found = self.place.collection.get(name)
            etag = found.etag if found is not None else ""
            if found is None:
                continue
            theirs = the_one(found.data, uid)
            one = seen(theirs)
            sequence = max(record.sequence, (one.sequence + 1) if one is not None else 0)
            if one is not None and one.is_untouched:
                if _says(one, record.shown):  # another computer was here
                    stored, sequence = etag, max(one.sequence, record.sequence)
                    break
                data = _with_sequence(ours, sequence)
                continue
            again = record.key in self.open_again or self._is_next_purchase(record)
            kept = () if again else _KEPT
            data, merged = _merged(ours, theirs, one, self._base(uid), sequence, kept), True
        else:
            raise CalendarError("it is being changed on the server all the time; try again later")
        self.done.merged += merged
        if new:
            self.done.created += 1
        else:
            self.done.updated += 1
        self.ledger = Ledger({
            **self.ledger.records, record.key: evolve(record, sequence=sequence)
        })  # fmt: skip
        # What holds a person's words is looked at again before it is written.
        self.held[uid] = Held("" if merged else stored or "", sequence)

    def _is_next_purchase(self, record: Record) -> bool:
        """Whether an entry stands for another purchase than the one of its name whose tick was
        taken in: that one is over, and this is still to be made.
        """
        heard = self.heard.touched if self.heard is not None else ()
        base, ticked = self._base(record.uid), {t.key for t in heard if t.what == "ticked"}
        return (
            record.shown.group == "supplies" and record.key in ticked
            and base is not None and base.start != record.shown.start
        )  # fmt: skip


def _says(one: Seen, entry: Entry) -> bool:
    return (one.start, one.end, one.title, one.text) == (
        entry.start, entry.end, entry.title, entry.text
    )  # fmt: skip


def _with_sequence(data: bytes, sequence: int) -> bytes:
    return re.sub(rb"\r\nSEQUENCE:\d+", b"\r\nSEQUENCE:%d" % sequence, data, count=1)


def _merged(
    data: bytes, theirs: Component, one: Seen | None, base: Entry | None, sequence: int,
    kept: Sequence[str] = _KEPT,
) -> bytes:  # fmt: skip
    """Our version with what the person ticked off, moved, dismissed or wrote in theirs.

    What both changed is ours: the plan has reasons for it.
    """
    calendar = Calendar.from_ical(_with_sequence(data, sequence))
    ours = items(data)[0]
    mine = seen(ours)
    (target,) = [c for c in calendar.subcomponents if c.name == ours.name]
    if one is None or mine is None:
        return bytes(calendar.to_ical())
    _carry(kept, theirs, target)
    was = (base.start, base.end) if base is not None else (mine.start, mine.end)
    if one.is_moved(base) and was == (mine.start, mine.end):
        _carry(("DTSTART", "DTEND", "DUE"), theirs, target)
    if base is not None and one.title != base.title == mine.title:
        _carry(("SUMMARY",), theirs, target)
    words = one.own_words(base)
    if words and words not in mine.text:
        target["DESCRIPTION"] = vText(f"{mine.text}\n\n{words}")
    if _start(target) == _start(theirs):
        for alarm, other in product(target.walk("VALARM"), theirs.walk("VALARM")):
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
