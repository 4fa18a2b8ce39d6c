"""Records made in memory: told tasks by hand, and all that a plan would tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from cultures.journal.entries import Entry
from cultures.learning.learn import Learned
from cultures.learning.learn import learn as learn_from
from cultures.planning.outlook import Outlook
from cultures.planning.plan import tasks_of
from cultures.planning.telling import tellings
from cultures.record.store import Record, as_told
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Replayed, Step, noted_steps
from cultures.replay.replay import replay as replay_steps
from cultures.room.room import Room
from cultures.tasks.task import task_of
from cultures.tasks.told import ToldTask

#: Amounts that a test does not care about.
_LEAST: dict[str, dict[str, float]] = {
    "set_hatch": dict.fromkeys(("cysts_g", "spoons", "water_l", "salt_g", "nauplii"), 0.0),
    "harvest_hatch": dict.fromkeys(("nauplii", "energy_j", "fed_nauplii", "left_over"), 0.0),
    "harvest_worms": {"mg": 0.0},
    "split": {"starter_g": 0.0, "medium_g": 0.0},
    "start": {"starter_g": 0.0, "medium_g": 0.0},
    "feed": {"tanks": 0.0},
    "soak": {"dry_g": 0.0, "spoons": 0.0},
    "first_food": {"fry": 0.0},
    "switch_food": {"length_mm": 0.0},
    "count": {"fry": 0.0},
    **{what: {"fry": 0.0, "length_mm": 0.0} for what in ("sort", "lid", "move_on", "sell")},
}


def told_task(
    what: str, at: datetime, subject: str, amounts: Mapping[str, float] | None = None, *,
    key: str = "", other: str = "", until: datetime | None = None,
    rounds: Sequence[datetime] = (), told_at: datetime | None = None, kind: str = "",
    harvest_at: datetime | None = None,
) -> ToldTask:  # fmt: skip
    """A task as it was told, by default a day before its time."""
    ends = until or at + timedelta(minutes=15)
    name = key or f"{what}/{subject}"
    known = {**_LEAST.get(what, {}), **(amounts or {})} or {f"{subject}_g": 0.0}
    task = task_of(
        what, known, id=name, at=at, until=ends, subject=subject, why="Because.", other=other
    )
    return as_told(
        task, rounds, told_at or at - timedelta(days=1), kind=kind, harvest_at=harvest_at
    )


def record_of(told: Iterable[ToldTask]) -> Record:
    """A record of tellings, the last of each id."""
    tasks = {t.task.id: t for t in told}
    return Record(tasks, last=max((t.told_at for t in tasks.values()), default=None))


def all_told(outlook: Outlook, until: datetime | None = None) -> list[ToldTask]:
    """All tasks of an outlook up to a moment, told now."""
    tasks = [t for t in tasks_of(outlook) if until is None or t.at < until]
    return [*outlook.room.in_hand, *tellings(outlook, tasks, outlook.now)]


def lines(*entries: Entry) -> list[Entry]:
    """Entries as recorded in this order, from line 2 on, and read by time."""
    numbered = [e._replace(line=i + 2) for i, e in enumerate(entries)]
    return sorted(numbered, key=lambda e: e.when)


def as_steps(done: Iterable[Entry | Step], now: datetime) -> list[Step]:
    """Entries up to a moment as steps; steps as they are."""
    return [
        step for each in done
        for step in ([each] if isinstance(each, Step) else noted_steps([each], now))
    ]  # fmt: skip


def replay(
    room: Room, done: Iterable[Entry | Step], now: datetime, own_values: OwnValues
) -> Replayed:
    """A room carried through entries and steps."""
    return replay_steps(room, as_steps(done, now), now, own_values)


def learn(room: Room, done: Iterable[Entry | Step], now: datetime) -> Learned:
    """What is learned of entries and steps."""
    return learn_from(room, as_steps(done, now), now)


def room_at(
    room: Room, entries: Iterable[Entry], now: datetime, *, own_values: OwnValues | None = None
) -> Room:
    """The room as its file and entries make it, learned from them unless values are given."""
    if own_values is None:
        return learn(room, entries, now).replayed.room
    return replay(room, entries, now, own_values).room
