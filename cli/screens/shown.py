"""What `today` shows: which rounds, and which tasks of the day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from cultures.planning.food_tasks import first_fed
from cultures.planning.outlook import Outlook
from cultures.planning.plan import tasks_of
from cultures.planning.standing_hatches import stood_cold
from cultures.tasks.task import OF_ROUND, Count, HarvestHatch, Sort, Task
from cultures.words.moments import clock_text
from cultures.words.tasks import task_text

#: What is set going belongs to this round while it begins before the next but one.
_AHEAD = timedelta(hours=14)
#: Of these a few a day are asked for.
A_FEW_A_DAY = (Count, Sort)


def this_round(outlook: Outlook, *, skip: int = 0) -> list[datetime]:
    """The time of the round to do now (or the next after it); nothing past the horizon."""
    times = [
        at for at in outlook.round_times()
        if not (outlook.is_noted(at) or outlook.is_called_off(at))
    ]  # fmt: skip
    return times[skip : skip + 1]


def shown_until(outlook: Outlook, rounds: Sequence[datetime]) -> datetime:
    """Up to when the screen shows what is to be set going."""
    return (rounds[-1] if rounds else outlook.now) + _AHEAD


def shown_tasks(outlook: Outlook, rounds: Sequence[datetime]) -> list[Task]:
    """The tasks that the screen shows."""
    until = shown_until(outlook, rounds)
    return [t for t in tasks_of(outlook) if is_shown(t, rounds, until)]


def is_shown(task: Task, rounds: Sequence[datetime], until: datetime) -> bool:
    """Whether a task belongs on a screen of some rounds and what is set going until a time."""
    if isinstance(task, OF_ROUND):
        ahead = isinstance(task, HarvestHatch) and task.at < until
        return ahead or task.at in rounds or task.until in rounds
    if isinstance(task, A_FEW_A_DAY) and rounds and task.at.date() > rounds[-1].date():
        return False
    return task.at < until


def other_day(task: Task, now: datetime) -> str:
    """The day before a task that is not of today."""
    return "" if task.at.date() == now.date() else f"{task.at:%a} "


def harvests_ahead(
    tasks: Iterable[Task], rounds: Sequence[datetime], outlook: Outlook
) -> list[str]:
    """Hatches to be drawn off before the next round, so that nobody is surprised."""
    units, until = outlook.room.units, shown_until(outlook, rounds)

    def fed_at(harvest: HarvestHatch) -> str:
        first = first_fed(outlook, harvest)
        day = "" if first.date() == harvest.at.date() else f"{first:%a} "
        return f"{day}{clock_text(first, units)}"

    waits = {hatch.vessel for hatch in outlook.room.hatches if stood_cold(outlook.room, hatch)}

    def said(harvest: HarvestHatch) -> str:
        if harvest.nauplii < 1:
            return task_text(harvest, outlook.room.tools)
        waiting = "; it stood colder for a while, so leave it until then"
        ripe = f"{harvest.subject} is ripe for the round of {fed_at(harvest)}"
        return ripe + (waiting if harvest.subject in waits else "")

    return [
        f"{other_day(t, outlook.now)}{clock_text(t.at, units)}: {said(t)}"
        for t in tasks
        if isinstance(t, HarvestHatch) and rounds and rounds[-1] < t.at < until
    ]
