"""What an edit of the room file by hand makes of the past or puts together, said at first sight."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from cultures import files
from cultures.errors import FileProblemError, LivefoodError
from cultures.needs.company import unequal_company
from cultures.record.history import last_version
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.moments import spoken_day


def of_edits(room: Room, stated: Room, room_path: Path, now: datetime) -> tuple[str, ...]:
    """All that is to be said of an edit before something is told or noted from it.

    Args:
        room: as it is now. stated: of the file alone.
    """
    return (*warmed_past(stated, room_path, now), *put_together(room, stated, room_path, now))


def warmed_past(room: Room, room_path: Path, now: datetime) -> Iterator[str]:
    """Temperatures that an edit changed since the file was last told or noted from.

    A temperature in the file is that of ``as_of``, so it changes how all grew since then; what is
    so only from now on is noted.

    Args:
        room: of the file alone.
    """
    before = _before(room_path, now)
    if before is None or before.as_of != room.as_of or not room.as_of_stated:
        return
    since, then = spoken_day(room.as_of, now), _degrees(before)
    for name, degrees in _degrees(room).items():
        if name in then and then[name] != degrees:
            what, was = "The room" if name == "room" else name, then[name]
            yield (
                f"{what} is reckoned at {degrees:.3g} °C since {since}, no longer at {was:.3g} °C:"
                " the room file was edited, and says what was so then. If it is so only from now"
                f" on, put {was:.3g} °C back and note: livefood journal temperature {name}"
                f" {degrees:.3g} °C"
            )


def put_together(room: Room, stated: Room, room_path: Path, now: datetime) -> Iterator[str]:
    """Broods that an edit put into a tank with much larger fish; of a new file, all of them.

    Args:
        room: as it is now. stated: of the file alone.
    """
    if not _is_new(room_path):
        return
    before = _before(room_path, now)
    was = {b.name: b.tank for b in before.every_brood} if before is not None else {}
    moved = {b.name for b in stated.every_brood if was.get(b.name) != b.tank}
    for each in unequal_company(room, now):
        if moved.intersection((each.brood, *each.larger)):
            yield each.text


def _before(room_path: Path, now: datetime) -> Room | None:
    """The room of the last version that was told or noted from, where the file is another now."""
    try:
        last = last_version(room_path)
        if last is None or not _is_new(room_path):
            return None
        return read_room(last.text, name=str(room_path), today=now.date())
    except LivefoodError:
        return None


def _is_new(room_path: Path) -> bool:
    """Whether nothing was told or noted yet from the file as it is."""
    try:
        last = last_version(room_path)
        raw = (files.read(room_path) or b"").decode("utf-8", "surrogateescape")
    except FileProblemError:
        return False
    return last is None or last.text != raw


def _degrees(room: Room) -> dict[str, float]:
    """The temperatures of the file by what they are of [°C]; of the air by a single one alone."""
    found = {tank.name: tank.temperature_c for tank in room.tanks}
    found |= {vessel.name: vessel.temperature_c for vessel in room.vessels}
    own = {c.name: c.temperature_c for c in room.cultures}
    found |= {name: degrees for name, degrees in own.items() if degrees is not None}
    if len(room.temperatures_c) == 1:
        found["room"] = room.temperatures_c[0]
    return found
