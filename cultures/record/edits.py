"""What an edit of the room file makes of what is, and what contradicts it.

An edit says what stands in the room since the file is true; what was noted and told since then
still counts. So nothing is added whose name means something else by then, and nothing leaves the
file of which there is more to say than that it is not there: that goes into the journal.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import evolve

from cultures.errors import RangeError, UnknownNameError
from cultures.journal.entries import Entry
from cultures.journal.events import GOES
from cultures.record.book import names_of, refuse_known
from cultures.record.fates import subjects_of
from cultures.record.present import Present
from cultures.room.room import Brood, Room
from cultures.words.moments import spoken_day
from cultures.words.quantities import many
from cultures.words.text import listed


def refuse_taken(what: str, name: str, stated: Sequence[str], found: Present) -> None:
    """Refuses the name of a new thing that the journal or what was told has given to another.

    Args:
        stated: names of the file, of which its own reader says that they are taken.

    Raises:
        RangeError: what has it.
    """
    if what != "tank" and name not in stated:
        refuse_known(found.room, name)


def refuse_unstated(what: str, name: str, stated: Sequence[str], found: Present) -> None:
    """Refuses a thing that is not in the room file.

    Raises:
        RangeError: only the journal knows it. UnknownNameError: nobody does.
    """
    if name in stated:
        return
    if name in names_of(found.room, what):
        goes = f": livefood journal {GOES[what].format(name)}" if what in GOES else ""
        raise RangeError(
            f"{name} is not in the room file, it came with the journal or with what was told;"
            f" what becomes of it is noted there too{goes}"
        )
    raise UnknownNameError(what, name, stated)


def check_added(what: str, name: str, before: Present, after: Present) -> None:
    """Refuses a thing that would not be there, or that would change what else is.

    Raises:
        RangeError: what contradicts it.
    """
    label = f"{what} {name}"
    if label not in facts(after.room):
        raise RangeError(
            f"{name} would not be there: by the journal it is gone{_lines(_about(name, before))};"
            " give the new one another name"
        )
    if (other := _other_change(label, before, after)) is not None:
        raise RangeError(
            f"{other} would change too, since what was noted or told of {name} before"
            f"{_lines(_about(name, before))} would count again; give the new one another name"
        )


def check_stock(name: str, before: Present, after: Present) -> None:
    """Refuses a stock of which some was used or bought since the file is true.

    Raises:
        RangeError: what contradicts it.
    """
    label = f"stock {name}"
    said, left = facts(after.stated).get(label), facts(after.room).get(label)
    if isinstance(said, float) and isinstance(left, float) and abs(said - left) > 0.01:
        raise RangeError(
            f"the file is true as of {_as_of(before)}, and of {said:g} g {name} {left:,.6g} g would"
            f" be left now. To say what is: livefood journal count {name} {said:g} g"
        )
    _other_change(label, before, after)


def check_changed(what: str, name: str, before: Present, after: Present) -> None:
    """Refuses a change by which something else comes or goes.

    Raises:
        RangeError: what does.
    """
    was, now = facts(before.room), facts(after.room)
    moved = [each for each in was.keys() ^ now.keys() if each != f"{what} {name}"]
    for label in sorted(moved):
        _refuse_date(before, after, label)
        goes = "would not be there any more" if label in was else "would be there"
        raise RangeError(
            f"{label} {goes}, since what was noted or told of {name} would count otherwise"
            f"{_lines(_about(name, before))}; note what has changed instead (livefood journal)"
        )


def check_may_go(what: str, name: str, before: Present) -> None:
    """Refuses to let something go of which more is known than that it stands in the file.

    Raises:
        RangeError: why, and what to do instead.
    """
    room = before.room
    if what == "tank":
        there = [b.name for b in room.every_brood if b.tank == name]
        if there:
            raise RangeError(
                f"{many(len(there), 'brood')} in tank {name}: {', '.join(there)}. First move them"
                f" (livefood journal move {there[0]} TANK), or note that they are gone"
                f" (livefood journal lost {there[0]} --all)"
            )
        left = [b.name for b in before.stated.every_brood if b.tank == name]
        if left:
            raise RangeError(
                f"{name} is empty now, and {listed(left)} stood in it on {_as_of(before)}, the date"
                f" of the file, which therefore names it. It can leave the file once as_of is later"
                " and the file says where its broods are"
            )
    elif what == "vessel":
        if _told(name, before):
            raise RangeError(
                f"what was told of {name} is taken as done and would no longer count: tick it off"
                f" first (livefood journal done {name}), or say that it was not done (livefood"
                f" journal skip {name})"
            )
        if any(hatch.vessel == name for hatch in room.hatches):
            raise RangeError(
                f"a hatch stands in {name}: draw it off first (livefood journal harvest {name}),"
                f" or note that it gave nothing (livefood journal failed {name})"
            )
    else:
        noted = [e for e in _about(name, before) if e.when >= room.true_at]
        if name not in names_of(room, what):
            raise RangeError(
                f"{name} is gone already{_lines(noted[-1:])}, and the plan no longer counts on it."
                f" Its lines can leave the file once as_of ({_as_of(before)}) is later"
            )
        if noted or _told(name, before):
            how = f"noted of{_lines(noted)}" if noted else "told of"
            goes = GOES[what].format(name)
            raise RangeError(
                f"{name} was {how} since {_as_of(before)}, the date of the file, so the file has to"
                f" go on naming it. Note that it goes: livefood journal {goes}"
            )


def check_retired(what: str, name: str, before: Present, after: Present) -> None:
    """Refuses a retiring that would change what else is.

    Raises:
        RangeError: what would change.
    """
    if (other := _other_change(f"{what} {name}", before, after)) is not None:
        raise RangeError(
            f"{name} was noted or told of since {_as_of(before)}, the date of the file, so the file"
            f" has to go on naming it: {other} would change too. It can leave the file once as_of"
            " is later and the file says what stands then"
        )


def differences(before: Present, after: Present) -> Iterator[str]:
    """What comes, goes or stands otherwise by an edit, in words, stocks in grams.

    What changes within a thing is not told but for the count of a brood.
    """
    was, now = facts(before.room), facts(after.room)
    for label in _changed(before, after):
        old, new = was.get(label), now.get(label)
        if isinstance(old, float) and isinstance(new, float):
            yield f"{label}: {new:,.6g} g, was {old:,.6g} g"
        elif old is None or new is None:
            yield f"{label}: {'new' if old is None else 'not there any more'}"
        elif isinstance(old, Brood) and isinstance(new, Brood) and old.count != new.count:
            yield f"{label}: {new.count:,.0f} fry counted, was {old.count:,.0f}"


def facts(room: Room) -> Mapping[str, object]:
    """What stands in a room, by how it is called: things as they are, stocks in grams.

    What was learned of a kind is no fact of its cultures: one box more that has not crashed says
    that all crash more seldom.
    """
    found: dict[str, object] = {f"tank {tank.name}": tank for tank in room.tanks}
    found |= {f"brood {brood.name}": brood for brood in room.every_brood}
    found |= {
        f"culture {each.name}": evolve(each, kind=evolve(each.kind, values={}))
        for each in (*room.cultures, *room.coming)
    }
    found |= {f"vessel {vessel.name}": vessel for vessel in room.vessels}
    found |= {f"the hatch in {hatch.vessel}": hatch for hatch in room.hatches}
    found |= {f"the nauplii of {held.vessel}": held.harvested_at for held in room.held}
    found |= {f"stock {name}": round(grams, 6) for name, grams in room.stock_g.items()}
    if room.cysts is not None:
        found["stock cysts"] = round(room.cysts.grams, 6)
    return found


def _changed(before: Present, after: Present) -> list[str]:
    was, now = facts(before.room), facts(after.room)
    return [label for label in {**was, **now} if was.get(label) != now.get(label)]


def _other_change(label: str, before: Present, after: Present) -> str | None:
    """The first thing besides one that an edit changes; not if only the date of the file does.

    Raises:
        RangeError: it changes since the file has no date of its own.
    """
    other = next((each for each in _changed(before, after) if each != label), None)
    if other is not None:
        _refuse_date(before, after, other)
    return other


def _refuse_date(before: Present, after: Present, label: str) -> None:
    """Without ``as_of`` the file is true as of its latest date, which an edit may move."""
    if before.room.as_of_stated or before.room.as_of == after.room.as_of:
        return
    raise RangeError(
        f"the file has no as_of, so its latest date counts; with this that would be"
        f" {after.room.as_of} in place of {before.room.as_of}, and {label} would change. First set"
        f" it: livefood change room as_of={before.room.as_of}"
    )


def _told(name: str, found: Present) -> bool:
    """Whether something told of a thing is taken as done, or in hand."""
    return any(name in subjects_of(told) for told in (*found.presumed, *found.in_hand))


def _about(name: str, found: Present) -> list[Entry]:
    """The entries that name a thing, of a tank also the broods that began in it."""
    return [
        e for e in found.entries
        if name in (e.subject, e.other) or e.other.startswith(f"{name} ")
    ]  # fmt: skip


def _as_of(found: Present) -> str:
    return spoken_day(found.room.as_of, found.now.date())


def _lines(entries: Sequence[Entry]) -> str:
    if not entries:
        return ""
    numbers = sorted(entry.line for entry in entries)
    if len(numbers) == 1:
        return f" (line {numbers[0]} of the journal)"
    return f" ({many(len(numbers), 'line')} of the journal, the last {numbers[-1]})"
