"""Cultures that the room file had once and has no more, of which others were split."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from attrs import evolve

from cultures.errors import FileProblemError, LivefoodError
from cultures.journal.entries import Entry
from cultures.journal.events import begins
from cultures.record.history import read_history
from cultures.room.file import read_room
from cultures.room.room import Culture, Room


def with_earlier(room: Room, room_path: Path, entries: Iterable[Entry], now: datetime) -> Room:
    """A room with the parents of splits that its file does not have any more, as it last had them.

    Earlier versions of the file are read only where such a parent is wanted.
    """
    known, wanted = {c.name for c in (*room.cultures, *room.coming)}, set[str]()
    for entry in entries:
        if entry.event == "split":
            wanted.add(entry.subject)
        known.add(begins(entry))
    found = _earlier(room_path, wanted - known, now) if wanted - known else {}
    return evolve(room, earlier=found) if found else room


def _earlier(room_path: Path, names: set[str], now: datetime) -> dict[str, Culture]:
    """Cultures by name, each as the last version of the file had it."""
    found: dict[str, Culture] = {}
    try:
        versions = read_history(room_path)
    except FileProblemError:
        return found
    for version in reversed(versions):
        if not names - found.keys():
            break
        if not any(name in version.text for name in names - found.keys()):
            continue
        try:
            then = read_room(version.text, name=str(room_path), today=now.date())
        except LivefoodError:
            continue
        found = {c.name: c for c in then.cultures if c.name in names} | found
    return found
