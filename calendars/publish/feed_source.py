"""What the feed serves: the calendar, made anew when the room, the journal or the day changes."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Hashable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from threading import Lock
from uuid import UUID

from attrs import define, evolve, field, frozen

from calendars.entries import Entry
from calendars.export import Notes, read_notes
from calendars.ics import Header, calendar_bytes
from calendars.ledger import Ledger, revise
from calendars.lint import check
from cultures import files
from cultures.errors import LivefoodError

#: A plan is looked at again after this time even if no file changed: the day goes on.
STALE = timedelta(minutes=15)


@frozen
class Produced:
    """What one planning run gives: all entries, the calendar's header, and what was not done."""

    entries: list[Entry]
    header: Header
    undone: frozenset[str] = frozenset()


@frozen
class Page:
    """One state of the feed. ``modified`` is in UTC, to the second."""

    data: bytes
    etag: str
    modified: datetime


def feed_notes_path(room_path: Path) -> Path:
    """Where the feed keeps its address and what it has published; a folder holds one room."""
    folder = room_path.resolve().parent
    path = folder / ".feed.livefood"
    return path if path.exists() else min(folder.glob(".*.feed.livefood"), default=path)


def feed_token(room_path: Path, *, renew: bool = False) -> str:
    """The unguessable part of the feed's address: 192 random bits, kept from run to run.

    Args:
        renew: make a new one, so that the old address is of no more use.

    Raises:
        LivefoodError: the notes cannot be read or written.
    """
    path = feed_notes_path(room_path)
    with files.locked(path.parent):
        notes = read_notes(path)
        token = notes.extra.get("token")
        if renew or not isinstance(token, str) or len(token) < 32:
            token = secrets.token_urlsafe(24)
            files.replace(path, evolve(notes, extra={**notes.extra, "token": token}).to_bytes())
    return token


def watched(room_path: Path) -> Hashable:
    """Changes whenever the room file or the journal beside it does."""
    return tuple(files.signature(p) for p in (room_path, room_path.with_name("journal.csv")))


@define
class FeedSource:
    """Gives the feed's present bytes; safe to ask from several threads.

    Args:
        room_path: the room file, beside which the notes stand.
        produce: plans the room at a moment.
        clock: the present moment, aware.
        report: told once of each room file that cannot be planned.
        namespace: from which UIDs are derived. token: the unguessable part of its path.
    """

    _room_path: Path
    _produce: Callable[[datetime], Produced]
    token: str = field(kw_only=True)
    _namespace: UUID = field(kw_only=True)
    _clock: Callable[[], datetime] = field(kw_only=True)
    _report: Callable[[str], None] = field(kw_only=True)
    _lock: Lock = field(factory=Lock, init=False)
    _seen: Hashable = field(default=None, init=False)
    _planned: datetime | None = field(default=None, init=False)
    _page: Page | None = field(default=None, init=False)

    @property
    def path(self) -> str:
        """The one path that it has."""
        return f"/{self.token}/livefood.ics"

    def first(self) -> Page:
        """The first page.

        Raises:
            LivefoodError: the room cannot be planned.
        """
        with self._lock:
            return self._renew(self._clock(), watched(self._room_path))

    def page(self) -> Page | None:
        """The present page; the last good one while the room file is wrong; None if none was."""
        with self._lock:
            now, seen = self._clock(), watched(self._room_path)
            recent = self._planned is not None and abs(now - self._planned) < STALE
            if recent and seen == self._seen:
                return self._page
            try:
                self._renew(now, seen)
            except LivefoodError as error:
                self._seen, self._planned = seen, now
                self._report(f"the feed stays as it was: {error}")
            return self._page

    def _renew(self, now: datetime, seen: Hashable) -> Page:
        produced = self._produce(now)
        path = feed_notes_path(self._room_path)
        with files.locked(path.parent):
            notes = read_notes(path)
            ledger, _ = revise(
                notes.ledger, produced.entries, now=now, namespace=self._namespace,
                undone=produced.undone,
            )  # fmt: skip
            data = calendar_bytes(ledger.live(), ledger, produced.header)
            check(data)
            digest = sha256(data).hexdigest()
            modified = _modified(notes, ledger, digest, now)
            fresh = Notes(ledger, (digest,), {**notes.extra, "modified": modified.isoformat()})
            if fresh != notes:
                files.replace(path, fresh.to_bytes())
        self._seen, self._planned = seen, now
        self._page = Page(data, f'"{digest[:32]}"', modified)
        return self._page


def _modified(notes: Notes, ledger: Ledger, digest: str, now: datetime) -> datetime:
    """When the bytes last changed; an entry that left makes no stamp of its own."""
    if digest in notes.digests:
        with suppress(KeyError, TypeError, ValueError):  # not there, or damaged
            return datetime.fromisoformat(notes.extra["modified"]).astimezone(UTC)
    stamps = [record.modified for record in ledger.live()]
    return max([now.astimezone(UTC).replace(microsecond=0), *stamps])
