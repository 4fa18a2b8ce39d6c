"""An absence that begins soon: what is still to be prepared for it, and for whom."""

from __future__ import annotations

from datetime import date, datetime, timedelta

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
_A_SHEET = timedelta(days=13)
#: What is prepared before leaving.
_PREPARES = (SetHatch, HarvestHatch, Split, Start, Buy, MoveOn, Sort, Lid)


@frozen
class Absence:
    """Days away that begin soon.

    Attributes:
        tasks: still to be done before. helper: the absence, or the part of it, in which a helper
            feeds. envelopes: of dry food that are to be filled for them. dry_out: the first round
            for which there is too little of it.
    """

    away: Away
    tasks: tuple[Task, ...]
    helper: Away | None = None
    envelopes: int = 0
    dry_out: datetime | None = None


def sheet_until(away: Away, first: date) -> date:
    """The last day of a helper's sheet from a day on: of an absence of some rounds or days, which
    may last for years, that of a fortnight.
    """
    return min(away.end, first + _A_SHEET) if away.in_part else away.end


def is_last_harvest(room: Room, task: Task) -> bool:
    """Whether a hatch is drawn off on the morning on which the keeper leaves."""
    return isinstance(task, HarvestHatch) and room.leaves(task.at)


def next_absence(room: Room, plan: Plan, now: datetime) -> Absence | None:
    """The absence that begins within two days, or None; where somebody is there between rounds
    that are missed, one with a helper alone, for whom something is to be prepared.
    """
    coming = (
        a for a in room.away
        if now < room.local(a.start, a.since) and a.start <= (now + _SOON).date()
        and (a.helper or not a.in_part)
    )  # fmt: skip
    away = min(coming, key=lambda a: (a.start, a.in_part), default=None)
    if away is None:
        return None
    leaving = room.local(away.start, max(room.awake[0], away.since))
    tasks = () if away.in_part else tuple(
        t for t in plan.tasks
        if isinstance(t, _PREPARES) and t.id not in room.answered
        and (t.at < leaving or is_last_harvest(room, t))
    )  # fmt: skip
    helped = [a for a in room.away if a.helper and a.spans(away.start, away.end)]
    if not helped:
        return Absence(away, tasks)
    helper = away if away.helper else helped[0]
    soaks = (t.until for t in plan.tasks if isinstance(t, Soak))
    outs = [
        max(s.at, leaving) for s in plan.shortfalls
        if s.limit == OUT and s.at.date() <= away.end and s.until >= leaving
    ]  # fmt: skip
    until = sheet_until(helper, max(helper.start, away.start))
    envelopes = sum(at.date() <= until and helper.covers(at.date(), at.time()) for at in soaks)
    return Absence(away, tasks, helper, envelopes, min(outs, default=None))
