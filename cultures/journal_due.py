"""From planned tasks to journal entries: ticking off what is due."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from attrs import frozen

from cultures.journal import Entry
from cultures.planning.tasks import Task
from cultures.room import Room

#: Tasks that leave a mark in the journal, and the event that each becomes.
TICKED = {
    "set_hatch": "set",
    "harvest_hatch": "harvest",
    "harvest_worms": "harvest",
    "split": "split",
    "retire": "discard",
}
#: A task may be ticked off so long before its time.
EARLY = timedelta(minutes=45)
#: Longest catching up at once.
LONGEST = timedelta(days=14)
#: An entry about the same thing so near to a task is that task.
_SAME = timedelta(hours=5)


@frozen
class DueTask:
    """A task that is due and the entry that ticks it off."""

    task: Task
    entry: Entry


def due_tasks(
    room: Room, tasks: Iterable[Task], entries: Sequence[Entry], *, since: datetime, now: datetime
) -> list[DueTask]:
    """Tasks from ``since`` until a little after ``now`` that no entry tells of yet, by time."""
    found = []
    noted = [e for e in entries if since - _SAME <= e.when <= now + _SAME]
    for task in tasks:
        if task.what not in TICKED or not since <= task.at <= now + EARLY:
            continue
        entry = entry_for(room, task, now)
        same = next((e for e in noted if tells_of(e, entry, task)), None)
        if same is not None:
            noted.remove(same)
            continue
        found.append(DueTask(task, entry))
    return found


def entry_for(room: Room, task: Task, now: datetime) -> Entry:
    """The entry that says a task was done, at its time or now if it was done early."""
    when, a = min(task.at, now), task.amounts
    if task.what == "set_hatch":
        return Entry(when, "set", task.subject, "", a["cysts_g"], "g")
    if task.what == "harvest_hatch":
        return Entry(when, "harvest", task.subject)
    if task.what == "harvest_worms":
        unit = "swipes" if "swipes" in a else "draws"
        kind = room.culture(task.subject).kind if _stands(room, task.subject) else None
        portion = kind.values["portion_mg"] if kind is not None else None
        amount = a[unit] if portion is None else round(a["mg"] / portion, 4)
        return Entry(when, "harvest", task.subject, "", amount, unit)
    if task.what == "split":
        return Entry(when, "split", task.subject, task.other, a["starter_g"], "g")
    return Entry(when, "discard", task.subject)


def _stands(room: Room, name: str) -> bool:
    return any(c.name == name for c in room.cultures)


def tells_of(noted: Entry, wanted: Entry, task: Task) -> bool:
    """Whether an entry is about a task, which ``wanted`` would tick off."""
    alike = noted.event == wanted.event or (
        task.what == "harvest_hatch" and noted.event == "hatched"
    )
    near = abs(noted.when - task.at) <= _SAME
    return alike and near and noted.subject == wanted.subject
