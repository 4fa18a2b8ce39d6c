"""What an edit of the room file by hand makes of the past or puts together, said at first sight."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from attrs import evolve

from cultures.errors import FileProblemError
from cultures.journal.entries import Entry
from cultures.journal.events import GOES, OF_EGGS, begins
from cultures.needs.company import unequal_company
from cultures.record.history import last_version, read_history, room_of, text_now
from cultures.record.present import Present
from cultures.room.room import Room, Tank
from cultures.words.moments import spoken_day
from cultures.words.text import listed

_T = TypeVar("_T")


def of_edits(found: Present, room_path: Path, noted: Iterable[Entry] = ()) -> tuple[str, ...]:
    """What is to be said of the room file, where nothing was told or noted from it yet.

    Args:
        noted: what is being noted, besides what is known.
    """
    room, stated, now, entries = found.room, found.stated, found.now, found.entries
    edited, before = _before(room_path, now)
    if not edited:
        return ()
    together = _put_together(room, stated, before, now)
    if before is None:
        return tuple(together)
    renamed = _renamed(stated, before, entries, _fed_by_name(found))
    warmed = _warmed_past(stated, before, now, room_path, (*entries, *noted))
    put = _put_elsewhere(stated, before, now, room_path, (*entries, *noted))
    there = _still_there(room, stated, before, entries)
    return (*renamed, *there, *warmed, *put, *together)


def _fed_by_name(found: Present) -> set[str]:
    """Broods of which it was told by now what they get, or that there is nothing for them."""
    begun = (told for told in found.record.tasks.values() if told.task.at <= found.now)
    return {name for told in begun for name in told.plates} | {*found.room.bare}


def _renamed(
    stated: Room, before: Room, entries: Iterable[Entry], fed: Collection[str]
) -> Iterator[str]:  # fmt: skip
    """Things that an edit gave another name, of which something was noted or told under the old.

    Args:
        fed: broods of which meals were told, by their names then.
    """
    noted = {name for entry in entries for name in (entry.subject, entry.other)}
    for was, are, told in (
        (before.every_brood, stated.every_brood, fed), (before.tanks, stated.tanks, ()),
        (before.cultures, stated.cultures, ()), (before.vessels, stated.vessels, ()),
    ):  # fmt: skip
        names, known = {each.name for each in are}, {each.name for each in was}
        new = [each for each in are if each.name not in known]
        for each in was:
            like = [n.name for n in new if evolve(n, name=each.name) == each]
            past = [word for word, them in (("noted", noted), ("told", told)) if each.name in them]
            if past and each.name not in names and len(like) == 1:
                yield (
                    f"'{each.name}' was renamed to '{like[0]}' in the room file: what was"
                    f" {listed(past)} of it under its old name counts no more. Put the old name"
                    " back (livefood history), or note under the new one how it is now"
                )


def _still_there(room: Room, stated: Room, before: Room, entries: Iterable[Entry]) -> Iterator[str]:
    """Cultures and broods that an edit took out of the file and that stand by the journal."""
    begun = {begins(e) or e.subject: e for e in entries if begins(e) or e.event in OF_EGGS}
    for what, was, are, stand in (
        ("culture", (*before.cultures, *before.coming), (*stated.cultures, *stated.coming),
         room.cultures),
        ("brood", before.every_brood, stated.every_brood, room.every_brood),
    ):  # fmt: skip
        there = {each.name for each in stand} - {each.name for each in are}
        for name in (each.name for each in was if each.name in there and each.name in begun):
            line, gone = begun[name].line, GOES[what].format(shlex.quote(name))
            yield (
                f"'{name}' was taken out of the room file and counts on all the same: line {line}"
                f" of the journal notes that it began. If it is gone: livefood journal {gone};"
                f" if that line is wrong: livefood journal undo --line {line}"
            )


def _warmed_past(
    stated: Room, before: Room, now: datetime, room_path: Path, entries: Iterable[Entry]
) -> Iterator[str]:  # fmt: skip
    """Temperatures that an edit changed since the file was last told or noted from.

    A temperature in the file is that of ``as_of``, so it changes how all grew since then; what is
    so only from now on is noted. Who puts back what the file said before does that.
    """
    if before.as_of != stated.as_of or not stated.as_of_stated:
        return
    since, then = spoken_day(stated.as_of, now), degrees_of(before)
    measured = {(e.subject, e.amount) for e in entries if e.event == "temperature"}
    for name, degrees in degrees_of(stated).items():
        if then.get(name, degrees) == degrees:
            continue
        what, was = "The room" if name == "room" else name, then[name]
        note = f"livefood journal temperature {name}"
        if _other_before(degrees_of, name, before, room_path, now) != degrees:
            yield (
                f"{what} is reckoned at {degrees:.3g} °C since {since}, no longer at {was:.3g} °C:"
                " the room file was edited, and says what was so then. If it is so only from now"
                f" on, put {was:.3g} °C back and note: {note} {degrees:.3g} °C"
            )
        elif (name, was) not in measured:
            yield (
                f"{what} is reckoned at {degrees:.3g} °C since {since} again, as before the room"
                f" file said {was:.3g} °C. If it is {was:.3g} °C from now on, note:"
                f" {note} {was:.3g} °C"
            )


def _put_elsewhere(
    stated: Room, before: Room, now: datetime, room_path: Path, entries: Iterable[Entry]
) -> Iterator[str]:  # fmt: skip
    """Broods that an edit put into a warmer or colder tank since the file was last told from.

    The tank in the file is where a brood began, so it changes how it grew all the time; that it
    lives elsewhere from now on is noted. Who puts back what the file said before does that.
    """
    if stated.as_of_stated and before.as_of != stated.as_of:
        return
    was = {brood.name: before.tank(brood.tank) for brood in before.every_brood}
    noted = {(e.subject, e.other): e.line for e in entries if e.event == "move"}
    for brood in stated.every_brood:
        home = stated.tank(brood.tank)
        old = was.get(brood.name, home)
        same = old.name == home.name or old.temperature_c == home.temperature_c
        if same or brood.anchor_date > now.date() or _same_but_for_name(old, stated.tanks):
            continue
        since, name = spoken_day(brood.anchor_date, now), brood.name
        here, there = (f"in {tank.name} at {tank.temperature_c:.3g} °C" for tank in (home, old))
        if _other_before(_tanks_of, name, before, room_path, now) != home.name:
            yield (
                f"{name} is reckoned {here} since {since}, no longer {there}: the room file was"
                " edited, and says where it was all the time."
                f" {_as_a_move(name, old.name, home.name, noted)}"
            )
        elif (name, old.name) not in noted:
            yield (
                f"{name} is reckoned {here} since {since} again, as before the room file said"
                f" {old.name}. If it is in {old.name} from now on, note: {_move(name, old.name)}"
            )


def _as_a_move(name: str, old: str, tank: str, noted: Mapping[tuple[str, str], int]) -> str:
    """How to say instead that a brood came from one tank into another later."""
    if (line := noted.get((name, tank))) is not None:
        return f"That it came to {tank} later is in line {line} of the journal: put {old} back"
    return f"If it came to {tank} only now, put {old} back and note: {_move(name, tank)}"


def _move(name: str, tank: str) -> str:
    return shlex.join(["livefood", "journal", "move", name, tank])


def _same_but_for_name(tank: Tank, others: Iterable[Tank]) -> bool:
    """Whether a tank has another name now."""
    names = {other.name for other in others}
    return tank.name not in names and any(evolve(o, name=tank.name) == tank for o in others)


def _other_before(
    said: Callable[[Room], Mapping[str, _T]], name: str, last: Room, room_path: Path, now: datetime
) -> _T | None:  # fmt: skip
    """What the file said of something before what its last version says; None where that is not
    known, or ``as_of`` was another then.
    """
    try:
        versions = read_history(room_path)[:-1]
    except FileProblemError:
        return None
    for each in reversed(versions):
        room = room_of(each, room_path, now)
        if room is None or room.as_of != last.as_of:
            return None
        if said(room).get(name) != said(last).get(name):
            return said(room).get(name)
    return None


def _put_together(
    room: Room, stated: Room, before: Room | None, now: datetime
) -> Iterator[str]:  # fmt: skip
    """Broods that an edit put into a tank with much larger fish; of a new file, all of them."""
    was = _tanks_of(before) if before is not None else {}
    moved = {name for name, tank in _tanks_of(stated).items() if was.get(name) != tank}
    for each in unequal_company(room, now):
        if moved.intersection((each.brood, *each.larger)):
            yield each.text


def _before(room_path: Path, now: datetime) -> tuple[bool, Room | None]:
    """Whether nothing was told or noted yet from the file as it is, and the room of its last
    version that was; None for a new file, and where that cannot be understood.
    """
    try:
        last, text = last_version(room_path), text_now(room_path)
    except FileProblemError:
        return False, None
    if last is None or last.text == text:
        return last is None, None
    return True, room_of(last, room_path, now)


def _tanks_of(room: Room) -> dict[str, str]:
    return {brood.name: brood.tank for brood in room.every_brood}


def degrees_of(room: Room) -> dict[str, float]:
    """The temperatures of the file by what they are of [°C]; of the air by a single one alone."""
    found = {tank.name: tank.temperature_c for tank in room.tanks}
    found |= {vessel.name: vessel.temperature_c for vessel in room.vessels}
    own = {c.name: c.temperature_c for c in room.cultures}
    found |= {name: degrees for name, degrees in own.items() if degrees is not None}
    if len(room.temperatures_c) == 1:
        found["room"] = room.temperatures_c[0]
    return found
