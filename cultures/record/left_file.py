"""What the room file said once and says no more: the parents of splits, and another fridge."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from attrs import evolve

from cultures.errors import FileProblemError
from cultures.journal.entries import Entry
from cultures.journal.events import begins
from cultures.record.history import Version, read_history, room_of
from cultures.room.room import Culture, Room

_FRIDGE = "fridge_c"


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


def _moment(at: str) -> datetime | None:
    """The moment of a version, or None where nobody can read it."""
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None
