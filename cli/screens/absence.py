"""An absence that begins soon: what is still to be prepared for it, and for whom."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from attrs import frozen

from cultures.room.room import Room
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
        first, last: both count as away. helper: somebody feeds. tasks: still to be done before.
        envelopes: of dry food that are to be filled for the helper.
    """

    first: date
    last: date
    helper: bool
    tasks: tuple[Task, ...]
    envelopes: int = 0


def next_absence(room: Room, plan: Plan, now: datetime) -> Absence | None:
    """The absence that begins within two days, or None."""
    coming = [a for a in room.away if now.date() < a.start <= (now + _SOON).date()]
    if not coming:
        return None
    away = min(coming, key=lambda a: a.start)
    leaving = room.local(away.start, room.awake[0])
    tasks = tuple(t for t in plan.tasks if isinstance(t, _PREPARES) and t.at < leaving)
    days = away.start, away.end
    soaked = [t for t in plan.tasks if isinstance(t, Soak) and days[0] <= t.at.date() <= days[1]]
    return Absence(
        away.start, away.end, away.helper, tasks, envelopes=len(soaked) if away.helper else 0
    )
