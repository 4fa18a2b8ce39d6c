"""The file of earlier room files: one line of JSON for each that was told or noted from.

It is appended to whenever something is told or noted, if the room file is another than last time.
What the file said once and says no more still counts: the parents of splits, another
fridge, and days with a helper.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from contextlib import suppress
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path

from attrs import evolve, frozen

from cultures import files
from cultures.errors import FileProblemError, LivefoodError, UnknownNameError
from cultures.journal.entries import Entry
from cultures.journal.events import begins
from cultures.limits import most_bytes
from cultures.room.file import read_room
from cultures.room.room import Culture, Room

_FRIDGE = "fridge_c"


@frozen
class Version:
    """A room file as it was; ``at``: when it was first told or noted from, as text."""

    at: str
    text: str


def history_path(room_path: Path) -> Path:
    """The history that belongs to a room file."""
    return room_path.with_name(f".{room_path.name}.history.livefood")


def read_history(room_path: Path) -> list[Version]:
    """All versions in the order in which they came; lines that cannot be read are left out.

    Raises:
        FileProblemError: the file cannot be read.
    """
    return [each for raw in _lines(room_path) if (each := _version(raw)) is not None]


def last_version(room_path: Path) -> Version | None:
    """The last of them alone, for which the others need not be understood.

    Raises:
        FileProblemError: as `read_history`.
    """
    found = (_version(raw) for raw in reversed(_lines(room_path)))
    return next((each for each in found if each is not None), None)


def text_now(room_path: Path) -> str:
    """The room file as it is, whatever its bytes, to be held against a version; "" for none.

    Raises:
        FileProblemError: it cannot be read.
    """
    return (files.read(room_path) or b"").decode("utf-8", "surrogateescape")


def _lines(room_path: Path) -> list[bytes]:
    return (files.read(history_path(room_path), most_bytes("record")) or b"").split(b"\n")


def _version(raw: bytes) -> Version | None:
    try:
        row = json.loads(raw)
        return Version(str(row["at"]), str(row["text"]))
    except files.NOT_AS_WRITTEN:
        return None


def room_of(version: Version, room_path: Path, now: datetime) -> Room | None:
    """The room that a version describes; None where it cannot be understood."""
    try:
        return read_room(version.text, name=str(room_path), today=now.date())
    except LivefoodError:
        return None


def remember(room_path: Path, now: datetime) -> None:
    """Keeps the room file as it is; what is told or noted goes on where that cannot be."""
    with suppress(FileProblemError):
        data = files.read(room_path)
        if data is None:
            return
        raw = data.decode("utf-8", "surrogateescape")
        last = last_version(room_path)
        if last is not None and last.text == raw:
            return
        line = json.dumps({"at": now.isoformat(timespec="seconds"), "text": raw})
        files.append_line(history_path(room_path), line, most_bytes("record"), 0o600)


def version(room_path: Path, number: int) -> Version:
    """A version by its number, counted from 1.

    Raises:
        UnknownNameError: there is none. FileProblemError: the history cannot be read.
    """
    known = read_history(room_path)
    if not 1 <= number <= len(known):
        numbers = (str(n) for n in range(1, len(known) + 1))
        raise UnknownNameError("version of the room file", str(number), numbers)
    return known[number - 1]


def put_back(room_path: Path, wanted: Version, now: datetime) -> None:
    """Puts a version in the place of the room file, which is kept first.

    Raises:
        FileProblemError: it cannot be written; the room file is as it was.
    """
    with files.locked(room_path.absolute().parent):
        keep_and_replace(room_path, wanted.text, now)


def keep_and_replace(room_path: Path, text: str, now: datetime) -> int:
    """Puts a text in the place of the room file, which is kept first; the folder must be locked.

    Returns:
        The number of the version that was kept; 0 where there was no file.

    Raises:
        FileProblemError: it cannot be written; the room file is as it was.
    """
    remember(room_path, now)
    current = text_now(room_path)
    known = read_history(room_path)
    if current and (not known or known[-1].text != current):
        kept = history_path(room_path)
        raise FileProblemError(f"{kept} cannot be written, so {room_path} was left as it is")
    files.replace(room_path, text.encode("utf-8", "surrogateescape"), 0o644)
    return len(known)


def with_earlier(room: Room, room_path: Path, entries: Iterable[Entry], now: datetime) -> Room:
    """A room with the parents of splits that its file does not have any more, as it last had them,
    and with what its fridge was before.

    Earlier versions of the file are read only where they are wanted for that.
    """
    try:
        versions = read_history(room_path)
    except FileProblemError:
        versions = []
    room = evolve(room, fridge_before=_fridges_before(room, versions, room_path, now))
    known, wanted = {c.name for c in (*room.cultures, *room.coming)}, set[str]()
    for entry in entries:
        if entry.event == "split":
            wanted.add(entry.subject)
        known.add(begins(entry))
    names, earlier = wanted - known, dict[str, Culture]()
    for version in reversed(versions):  # each as the last one had it
        if any(name in version.text for name in names - earlier.keys()):
            then = room_of(version, room_path, now)
            cultures = then.cultures if then is not None else ()
            earlier = {c.name: c for c in cultures if c.name in names} | earlier
    return evolve(room, earlier=earlier) if earlier else room


def _fridges_before(
    room: Room, versions: Sequence[Version], room_path: Path, now: datetime
) -> tuple[tuple[datetime, float | None], ...]:
    """What fridge the file had, each with the moment at which another version was first told or
    noted from; of an edit of which neither was done yet that is now.
    """
    if room.fridge_c is None and not any(_FRIDGE in each.text for each in versions):
        return ()
    said: list[tuple[datetime, float | None]] = []
    read: dict[tuple[str, ...], float | None] = {}
    for each in versions:
        at = _moment(each.at)
        lines = tuple(line for line in each.text.splitlines() if _FRIDGE in line)
        if at is None or at > now:
            continue
        if lines not in read:
            if (then := room_of(each, room_path, now)) is None:
                continue
            read[lines] = then.fridge_c
        said.append((at, read[lines]))
    said.append((now, room.fridge_c))
    return tuple((at, was) for (_, was), (at, new) in pairwise(said) if was != new)


def helper_left(
    room_path: Path, days: tuple[date, date], since: datetime, now: datetime
) -> datetime | None:
    """When the file, which has no helper on some days any more, was first told or noted from
    without: ``now``, where neither was done yet. None where it had none at a moment nor since.
    """
    try:
        versions = read_history(room_path)
    except FileProblemError:
        return None
    left = now
    for each in reversed(versions):
        at, then = _moment(each.at), room_of(each, room_path, now)
        if then is None:
            continue
        if any(away.helper and away.spans(*days) for away in then.away):
            return left
        if at is None or at <= since:
            return None
        left = at
    return None


def _moment(at: str) -> datetime | None:
    """The moment of a version, or None where nobody can read it."""
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None
