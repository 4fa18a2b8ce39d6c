"""Cautions and ways of doing: in full for what is done for the first time, else a mark."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from attrs import field, frozen

from cli.screens.text import TIED
from cultures.planning.outlook import Outlook
from cultures.record.fates import Fate
from cultures.record.present import Present
from cultures.room.room import Room
from cultures.tasks.task import HarvestHatch, HarvestWorms, Reminder, Start, Task
from cultures.tasks.told import ToldTask

#: What was not done for so long is told in full again.
_FORGOTTEN = timedelta(days=31)
#: What a keeper wrote down is shown for so long: where the reasons are, and else.
REMARKED, _FRESH = timedelta(days=14), timedelta(days=2)
#: Stands behind a step that has cautions.
MARK = f"{TIED}!"


def is_fresh(room: Room, at: datetime, now: datetime) -> bool:
    """Whether what was noted at a time stands where it is of use: for two days in which the keeper
    was there to read it, so that a helper's note waits for who comes back.
    """
    local, back = at.astimezone(room.timezone), at
    if room.away_at(local) is not None:
        back = room.local(room.day_there(local.date() + timedelta(days=1)), room.awake[0])
    return now - max(at, back) < _FRESH


@frozen(eq=False)
class Practice:
    """Which steps were done in a room lately.

    Attributes:
        kinds: of each culture, by its name. done: an event or a kind of task, and the kind of
            culture that it was about. everything: tell all in full even so. remarked: what was
            noted last of a thing, lately, by its name; fresh: of it what stands with its step.
    """

    kinds: Mapping[str, str]
    done: frozenset[tuple[str, str]]
    everything: bool = False
    remarked: Mapping[str, str] = field(factory=dict)
    fresh: Mapping[str, str] = field(factory=dict)

    def of(self, task: Task) -> str:
        """The kind of culture that a task is about, or ""."""
        return self.kinds.get(task.other if isinstance(task, Start) else task.subject, "")

    def in_full(self, task: Task) -> bool:
        """Whether a step is told with its cautions and how it is done."""
        steps = {(name, self.of(task)) for name in (*_events(task), task.what)}
        return self.everything or not steps & self.done

    def warned(self, task: Task) -> bool:
        """Whether its cautions are told in full: of what is new, and of what was noted of it."""
        return self.in_full(task) or task.subject in self.remarked


def practice(outlook: Outlook, present: Present, *, everything: bool = False) -> Practice:
    """What was noted, or told and not contradicted, in the last month."""
    now = present.now
    kinds = {
        stage.culture.name: kind
        for kind, plan in outlook.feeding.worms.items()
        for stage in plan.stages
    }
    room = outlook.room
    noted = {name: rows[-1] for name, rows in room.remarks.items() if rows and name in kinds}
    remarked = {name: text for name, (at, text) in noted.items() if now - at < REMARKED}
    fresh = {name: text for name, (at, text) in noted.items() if is_fresh(room, at, now)}
    since = now - _FORGOTTEN
    done = {(e.event, kinds.get(e.subject, "")) for e in present.entries if e.when >= since}
    done |= {
        (told.task.what, told.kind)
        for key, told in present.record.tasks.items()
        if told.task.at >= since and _is_known(told, present.fates.of[key], now)
    }
    return Practice(kinds, frozenset(done), everything, remarked, fresh)


def _is_known(told: ToldTask, fate: Fate, now: datetime) -> bool:
    """Whether a told task was done. What is asked for until it is noted is not by being over: how
    it is done stands in full on the day on which it is asked for first.
    """
    if isinstance(told.task, Reminder) and told.task.answered_by and fate is not Fate.DONE:
        first = told.came_at or told.task.at
        return first.astimezone(now.tzinfo).date() < now.date()
    return fate in (Fate.DONE, Fate.PRESUMED)


def _events(task: Task) -> tuple[str, ...]:
    """The events that show that a step was done; worms and hatches are both harvested."""
    if isinstance(task, HarvestHatch):
        return ("hatched",)
    return ("harvest",) if isinstance(task, HarvestWorms) else task.answered_by


def cautions_of(tasks: Iterable[Task]) -> list[str]:
    """The cautions of tasks, each once, none that a longer one contains, and what several end in
    with the last of them.
    """
    every = list(dict.fromkeys(t.caution for t in tasks if t.caution))
    whole = [text for text in every if not any(text in other for other in every if other != text)]
    return [_unless_said(text, whole[i:]) for i, text in enumerate(whole, start=1)]


def _unless_said(caution: str, later: Sequence[str]) -> str:
    """A caution without its last clause, where a later one ends in that too."""
    head, _, clause = caution.rpartition("; ")
    return f"{head}." if head and any(each.endswith(f"; {clause}") for each in later) else caution
