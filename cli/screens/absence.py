"""An absence that begins soon: what is still to be prepared for it, and for whom."""

from __future__ import annotations

from datetime import datetime, timedelta

from attrs import frozen

from cultures.planning.shortfalls import OUT
from cultures.room.room import Away, Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import (
    Buy,
    HarvestHatch,
    Lid,
    MoveOn,
    SetHatch,
    Soak,
    Sort,
    Split,
    Start,
    Task,
)

#: It is spoken of so long before it begins.
_SOON = timedelta(days=2)
#: What is prepared before leaving.
_PREPARES = (SetHatch, HarvestHatch, Split, Start, Buy, MoveOn, Sort, Lid)


@frozen
class Absence:
    """Days away that begin soon.

    Attributes:
        tasks: still to be done before. envelopes: of dry food that are to be filled for the
            helper. dry_out: the first round for which there is too little of it.
    """

    away: Away
    tasks: tuple[Task, ...]
    envelopes: int = 0
    dry_out: datetime | None = None


def is_last_harvest(room: Room, task: Task) -> bool:
    """Whether a hatch is drawn off on the morning on which the keeper leaves."""
    return isinstance(task, HarvestHatch) and room.leaves(task.at)


def next_absence(room: Room, plan: Plan, now: datetime) -> Absence | None:
    """The absence that begins within two days, or None."""
    coming = (a for a in room.away if now.date() < a.start <= (now + _SOON).date())
    away = min(coming, key=lambda a: a.start, default=None)
    if away is None:
        return None
    leaving = room.local(away.start, room.awake[0])
    tasks = tuple(
        t for t in plan.tasks
        if isinstance(t, _PREPARES) and t.id not in room.answered
        and (t.at < leaving or is_last_harvest(room, t))
    )  # fmt: skip
    if not away.helper:
        return Absence(away, tasks)
    soaks = (t.at.date() for t in plan.tasks if isinstance(t, Soak))
    outs = [
        max(s.at, leaving) for s in plan.shortfalls
        if s.limit == OUT and s.at.date() <= away.end and s.until >= leaving
    ]  # fmt: skip
    envelopes = sum(away.start <= day <= away.end for day in soaks)
    return Absence(away, tasks, envelopes, min(outs, default=None))
