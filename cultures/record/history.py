"""The file of earlier room files: one line of JSON for each that was told or noted from.

It is appended to whenever something is told or noted, if the room file is another than last time.
"""

from __future__ import annotations

import json
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from attrs import frozen

from cultures import files
from cultures.errors import FileProblemError, LivefoodError, UnknownNameError
from cultures.limits import most_bytes
from cultures.room.file import read_room
from cultures.room.room import Room


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
