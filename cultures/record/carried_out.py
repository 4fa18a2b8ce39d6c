"""What of the told is taken as done, and the deeds that a room is carried through with it."""

from __future__ import annotations

from collections.abc import Container, Iterable
from datetime import datetime, timedelta
from operator import itemgetter

from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.journal.entries import Entry
from cultures.needs.need import rounds_between
from cultures.record.fates import Fate, Fates, fates
from cultures.record.known import Known
from cultures.record.store import Record
from cultures.replay.replay import Step, noted_steps
from cultures.room.room import Room
from cultures.tasks.task import (
    HELPERS_WORK,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Retire,
    SetHatch,
    Split,
    Start,
    Work,
    rank_of,
)
from cultures.tasks.told import LATE, FeedLine, ToldTask


def by_their_tanks(record: Record, entries: Iterable[Entry], room: Room) -> Record:
    """What was told of a tank that the file has no more, of the one in which it has its brood.

    But for rounds of which something was noted under the old name: they stay as they were told.
    """
    tanks, homes = {tank.name for tank in room.tanks}, {b.name: b.tank for b in room.every_brood}
    noted = [e for e in entries if e.event in ("fed", "skip") and e.subject not in tanks]

    def home(line: FeedLine, told: ToldTask) -> str:
        if line.tank in tanks or any(
            e.subject == line.tank and told.opens <= e.when < told.closes for e in noted
        ):
            return line.tank
        return homes.get(line.brood, line.tank)

    moved = {
        key: evolve(told, lines=tuple(evolve(x, tank=home(x, told)) for x in told.lines))
        for key, told in record.tasks.items()
        if any(home(x, told) != x.tank for x in told.lines)
    }
    return evolve(record, tasks={**record.tasks, **moved}) if moved else record


def without_called_off(known: Known) -> Known:
    """What is known, without what was in hand and is not to be done by what was noted since: told
    on a mistake that was taken back, or a hatch that nobody is there to draw off.

    It is as a look had told it before, or as the last did where that one rests on the same mistake;
    what was told on nothing else, and is not noted, is not to be done.
    """
    mine = {
        t.task.id: t for t in known.unanswered(object)
        if t.mistaken and not (t.looked and t.looked.mistaken)
    }  # fmt: skip
    mine |= _left_standing(known)
    if not mine:
        return known
    before = {key: t.looked for key, t in mine.items() if t.looked is not None}
    tasks = {key: t for key, t in known.tasks.items() if key not in mine}
    gone = known.record.withdrawn | (mine.keys() - before.keys())
    record = evolve(known.record, tasks={**tasks, **before}, withdrawn=gone)
    return evolve(known, record=record, fates=fates(record, known.entries, known.now))


def _left_standing(known: Known) -> dict[str, ToldTask]:
    """Hatches that were told, and not noted as set, when an absence was noted: nobody would be
    there to draw them off when they are told for, nor within the time that they keep after it.
    """
    noted = [e.when for e in known.entries if e.event == "away"]
    keeps = timedelta(hours=known.room.hatch_kind.values["warm_hold_h"])
    found = {}
    for told in known.unanswered(SetHatch) if noted else ():
        drawn_at = told.harvest_at
        if drawn_at is None or not any(told.told_at < when < told.over_at for when in noted):
            continue
        if not any(r.keeper for r in rounds_between(known.room, drawn_at, drawn_at + keeps)):
            found[told.task.id] = told
    return found


def of_nothing(told: Iterable[ToldTask], unfed: Container[str]) -> frozenset[str]:
    """Ids of feedings told of nauplii alone that were not there: nobody fed them as told."""
    return frozenset(
        t.task.id for t in told
        if t.task.id in unfed and {x.food for x in t.lines if x.amount > 0} == {BRINE_SHRIMP}
    )  # fmt: skip


def taken_as_done(known: Known) -> list[ToldTask]:
    """Told work that is over, that no entry tells of, and that somebody was there to do."""
    return [
        t for t in known.unanswered(Work)
        if known.fates.of[t.task.id] is Fate.PRESUMED and somebody_there(known.room, t)
    ]  # fmt: skip


def steps_of(
    entries: Iterable[Entry], known: Fates, presumed: Iterable[ToldTask], now: datetime
) -> list[Step]:
    """What was done in the order of time: entries, and told tasks that are taken as done."""
    presumed, entries = list(presumed), list(entries)
    # Of two harvests told for one moment the one that was noted was made; and what is drawn off
    # and set anew at one moment was drawn off first.
    doubled = {(t.task.at, t.task.subject) for t in presumed if isinstance(t.task, HarvestHatch)}
    doubled |= {(e.when, e.subject) for e in entries if e.event == "set"}
    drawn: dict[str, list[ToldTask]] = {}
    for entry, harvest in known.told.items():
        if entry.event == "harvest":
            drawn.setdefault(entry.subject, []).append(harvest)
    rows: list[tuple[datetime, int, int, Step]] = []
    for step in noted_steps(entries, now):
        entry, when, first = step.entry, step.entry.when, False
        if entry.line and entry.line in known.amended:
            continue
        if known.told:  # an entry is looked up by all that it says, which takes its time
            told, when = known.told.get(entry), known.moved.get(entry, when)
            if told is not None and _drawn_for_its_round(told, when):
                when = told.task.at
            elif told is None and entry.event == "hatched":  # counted once it was drawn off
                of = (t for t in drawn.get(entry.subject, ()) if _drawn_for_its_round(t, when))
                when = next((t.task.at for t in of), when)
            made = told is not None and entry.event in ("harvest", "hatched")
            first = made and (when, entry.subject) in doubled
            step = Step(entry._replace(when=when) if when != entry.when else entry, told)
        rows.append((when, -2 if first else 0, 0, step))
    for told in presumed:
        # At one moment: what is taken out first, then what was noted, then what is made.
        first = isinstance(told.task, HarvestHatch | HarvestWorms | Feed)
        place = rank_of(told.task)
        rows.append((told.task.at, -1 if first else 1, place, Step(as_entry(told), told, True)))
    rows.sort(key=itemgetter(0, 1, 2))
    return [row[3] for row in rows]


def _drawn_for_its_round(told: ToldTask, when: datetime) -> bool:
    """Whether a hatch noted while its round was in hand was drawn off in time for it.

    Counted in peace after feeding, it is noted later than it was done.
    """
    return (
        isinstance(told.task, HarvestHatch) and told.round_at is not None
        and told.task.at < when < told.round_at + LATE
    )  # fmt: skip


def as_entry(told: ToldTask, when: datetime | None = None) -> Entry:
    """The entry that says that a task was done as told, at its time unless another is given."""
    task, at = told.task, when or told.task.at
    match task:
        case SetHatch():
            return Entry(at, "set", task.subject, "", task.cysts_g, "g")
        case HarvestHatch():
            return Entry(at, "harvest", task.subject)
        case HarvestWorms():
            return Entry(at, "harvest", task.subject, "", task.mg, "mg")
        case Split():
            return Entry(at, "split", task.subject, task.other, task.starter_g, "g")
        case Start():
            return Entry(at, "start", task.other or task.subject, told.kind, task.starter_g, "g")
        case Feed():
            used_g = task.dry_used_g
            return Entry(at, "fed", task.subject, "", used_g or None, "g" if used_g else "")
        case Retire():
            return Entry(at, "discard", task.subject)
        case _:
            raise ValueError(f"{task.id} changes nothing that an entry would say")


def somebody_there(room: Room, told: ToldTask) -> bool:
    """Whether somebody was there to do a task, by the absences that the room file states.

    A hatch is drawn off before leaving, where that was told and not taken back.
    """
    away = room.away_at(told.due_at)
    if away is None or (away.helper and isinstance(told.task, HELPERS_WORK)):
        return True
    return isinstance(told.task, HarvestHatch) and room.leaves(told.task.at)
