"""A printed sheet, and what of it the plan has changed since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from attrs import frozen

from cultures.foods.food import DRY
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.telling import HELPERS_SHEET, tellings
from cultures.record.present import Present
from cultures.record.store import Printed, read_record, record_path
from cultures.tasks.task import HELPERS_WORK, Feed, HarvestWorms, Soak, Task, Work
from cultures.tasks.told import WEIGHED, ToldTask
from cultures.words.tasks import wet_ml
from cultures.words.tools import Tools

#: Less than a tenth more or less nobody feels, and no clock on paper is read closer. What a helper
#: has on paper stands for less than a quarter, for half a swipe or draw, and for a mark of the
#: syringe: another sheet on the eve does more harm (common practice, no source).
_FELT, _MOVED = 0.1, timedelta(minutes=5)
_HELPER_FELT, _HALF = 0.25, 0.5


@frozen(eq=False)
class Stale:
    """What of a sheet is to be done otherwise than it says, or no longer, or is missing on it.

    Attributes:
        rounds: of which a step or a dose is another. tasks: those that belong to no round.
        shown, ahead: what it shows of what lies ahead, and what is planned now, by id.
    """

    printed: Printed
    rounds: tuple[datetime, ...]
    tasks: tuple[Task, ...]
    shown: Mapping[str, ToldTask]
    ahead: Mapping[str, ToldTask]


def stale_sheets(outlook: Outlook, present: Present, room_path: Path) -> list[Stale]:
    """The sheets whose days are not over and that no longer hold.

    Raises:
        FileProblemError: the record cannot be read.
    """
    found: list[Stale] = []
    lasting = [p for p in present.record.printed if p.last >= outlook.now.date()]
    planned = tellings(outlook, tasks_of(outlook), outlook.now) if lasting else []
    for printed in lasting:
        record = read_record(record_path(room_path), outlook.room.timezone, printed.at)
        shown = _on_sheet(printed, record.tasks.values(), present, outlook.now)
        ahead = _with_its_helper(printed, outlook) or planned
        now = _on_sheet(printed, ahead, present, outlook.now)
        tools = outlook.room.tools if printed.by == HELPERS_SHEET else None
        changed = _changed(shown, now, tools)
        if changed:
            rounds = sorted({t.round_at for t in changed if t.round_at is not None})
            others = (t.task for t in changed if t.round_at is None)
            tasks = tuple(sorted(others, key=lambda t: t.at))
            found.append(Stale(printed, tuple(rounds), tasks, shown, now))
    return found


def _with_its_helper(printed: Printed, outlook: Outlook) -> Sequence[ToldTask]:
    """What a helper is told now, of days on which the room file has none; () where it has."""
    now = outlook.now
    first = max(printed.first, now.date())
    if printed.by != HELPERS_SHEET or outlook.room.helped(first, printed.last):
        return ()
    days = max(outlook.room.horizon_days, (printed.last - now.date()).days + 2)
    other = make_outlook(outlook.room.with_helper(first, printed.last), now=now, days=days)
    return tellings(other, tasks_of(other), now)


def _on_sheet(
    printed: Printed, told: Iterable[ToldTask], present: Present, now: datetime
) -> dict[str, ToldTask]:
    """Work that lies ahead, of the days of a sheet, and that nobody has noted yet."""
    done = present.fates.answer.keys() | {t.task.id for t in present.in_hand}
    kinds = HELPERS_WORK if printed.by == HELPERS_SHEET else (Work, Soak)
    return {
        t.task.id: t for t in told
        if isinstance(t.task, kinds) and t.task.at > now and t.task.id not in done
        and printed.first <= t.due_at.date() <= printed.last
    }  # fmt: skip


def _changed(
    shown: Mapping[str, ToldTask], now: Mapping[str, ToldTask], helpers: Tools | None = None
) -> list[ToldTask]:
    """Tasks that are otherwise than shown, shown no longer asked for, or not shown.

    Args:
        helpers: with which a helper measures; None where the sheet is the keeper's.
    """
    others = [t for key, t in now.items() if key not in shown or _differs(shown[key], t, helpers)]
    return [*others, *(t for key, t in shown.items() if key not in now)]


def _differs(one: ToldTask, other: ToldTask, helpers: Tools | None = None) -> bool:
    if abs(one.task.at - other.task.at) > _MOVED or one.task.subject != other.task.subject:
        return True
    before, after = _amounts(one), _amounts(other)
    if before.keys() != after.keys():
        return True
    if helpers is None:
        return any(
            abs(before[key] - after[key]) > _FELT * max(before[key], after[key]) for key in before
        )
    if isinstance(one.task, HarvestWorms):
        taken = [found.get("swipes", found.get("draws", 0.0)) for found in (before, after)]
        if abs(taken[0] - taken[1]) <= _HALF:
            return False
    return any(_matters(key, before[key], after[key], helpers) for key in before)


def _matters(key: object, one: float, other: float, tools: Tools) -> bool:
    """Whether a helper is to hear of an amount that is another than the sheet says."""
    off, most = abs(one - other), max(one, other)
    by_syringe = isinstance(key, tuple) and WEIGHED not in key
    mark = tools.mark_ml(most) if by_syringe and most > 0.0 else 0.0
    return off > max(mark, _HELPER_FELT * most - 1e-6) + 1e-9


def _amounts(told: ToldTask) -> dict[object, float]:
    """What is measured for a task: of a feeding the doses, and what is taken from each jar."""
    found: dict[object, float] = {}
    if not isinstance(told.task, Feed):
        found.update(told.task.amounts)
    for x in told.lines:
        if x.amount > 0:
            water_ml = wet_ml(x, told.lines) if x.food == DRY else None
            # Another way is another dose, however much it is.
            way = (WEIGHED,) if x.food == DRY and water_ml is None else ()
            found[(x.tank, x.brood, x.food, *way)] = water_ml or x.amount
    for draw in told.draws:
        found[draw.vessel, draw.harvested] = draw.take_ml
    return found
