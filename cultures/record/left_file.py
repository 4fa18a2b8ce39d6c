"""What the room file said once and says no more: the parents of splits, another fridge, and days
with a helper.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path

from attrs import evolve

from cultures.errors import FileProblemError, LivefoodError
from cultures.journal.entries import Entry
from cultures.journal.events import begins
from cultures.record.history import read_history
from cultures.room.file import read_room
from cultures.room.room import Culture, Room

_FRIDGE = "fridge_c"


def with_earlier(room: Room, room_path: Path, entries: Iterable[Entry], now: datetime) -> Room:
    """A room with the parents of splits that its file does not have any more, as it last had them,
    and with what its fridge was before.

    Earlier versions of the file are read only where they are wanted for that.
    """
    room = evolve(room, fridge_before=_fridges_before(room, room_path, now))
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


def _fridges_before(
    room: Room, room_path: Path, now: datetime
) -> tuple[tuple[datetime, float | None], ...]:
    """What fridge the file had, each with the moment at which another version was first told or
    noted from; of an edit of which neither was done yet that is now.
    """
    try:
        versions = read_history(room_path)
    except FileProblemError:
        return ()
    if room.fridge_c is None and not any(_FRIDGE in each.text for each in versions):
        return ()
    said: list[tuple[datetime, float | None]] = []
    read: dict[tuple[str, ...], float | None] = {}
    for each in versions:
        at = _moment(each.at)
        lines = tuple(line for line in each.text.splitlines() if _FRIDGE in line)
        if at is None or at > now:
            continue
        try:
            if lines not in read:
                read[lines] = read_room(each.text, name=str(room_path), today=now.date()).fridge_c
        except LivefoodError:
            continue
        said.append((at, read[lines]))
    said.append((now, room.fridge_c))
    return tuple((at, was) for (_, was), (at, new) in pairwise(said) if was != new)


def helper_left(
    room_path: Path, days: tuple[date, date], since: datetime, now: datetime
) -> datetime | None:  # fmt: skip
    """When the file, which has no helper on some days any more, was first told or noted from
    without: ``now``, where neither was done yet. None where it had none at a moment nor since.
    """
    try:
        versions = read_history(room_path)
    except FileProblemError:
        return None
    left = now
    for each in reversed(versions):
        at = _moment(each.at)
        try:
            then = read_room(each.text, name=str(room_path), today=now.date())
        except LivefoodError:
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
