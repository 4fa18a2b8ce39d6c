"""Remarks of a plan, in a line each or in full, each said once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from cli.screens.care import REMARKED, is_fresh
from cli.screens.shortfalls import SOON, is_trifle, urgent_steps
from cli.screens.text import TIED, at_most, block, bullets
from cultures.planning.notes import (
    dying_cultures,
    late_hatches,
    overdue_first_food,
    starving_broods,
)
from cultures.planning.outlook import Outlook
from cultures.planning.plan import tasks_of
from cultures.planning.task_ids import natural
from cultures.planning.tin import tin_in_doubt
from cultures.room.room import Room
from cultures.tasks.plan import Act, OfStop, OfWater, Plan, Remark, Stop
from cultures.tasks.task import Buy, Task
from cultures.words.grouped import group_text, names, together
from cultures.words.moments import when
from cultures.words.quantities import in_units, many

#: Most remarks of the plan.
_MOST_NOTES = 4
#: Most remarks of the keeper.
_MOST_REMARKS = 6
#: A remark is broken off so soon at the earliest, and at the end of the line.
_LEAST_SAID, _LINE = 24, 76


def remarks_lines(room: Room, now: datetime, *, every: bool = False) -> list[str]:
    """What the keeper wrote down of late, the latest first, by what it is about.

    Args:
        every: that of two weeks; else those of the last two days, and the others are only counted.
    """
    rows = [
        (at, f"you noted of {name}: {text} ({when(at, room.units)})")
        for name, noted in room.remarks.items()
        for at, text in noted[-2:]
        if now - at < REMARKED
    ]
    rows.sort(key=lambda row: row[0], reverse=True)
    lines = [text for at, text in rows if every or is_fresh(room, at, now)]
    shown = lines if every else lines[:_MOST_REMARKS]
    older = len(rows) - len(shown)
    more = [f"and {many(older, 'more note')} of yours: livefood today --why"] if older else []
    return bullets([*shown, *more])


def pressing(outlook: Outlook) -> list[str]:
    """What comes before all shortfalls: fry that starve or wait for their first food, cultures
    that die where they stand, hatches that are late in the cold, a tin of cysts in doubt, what an
    edit of the file made of the past, or puts together, lines of the journal that are to come, and
    rounds without a word.
    """
    room, now = outlook.room, outlook.now
    hungry = *starving_broods(room, now), *overdue_first_food(outlook)
    dying, tin = dying_cultures(room, now), tin_in_doubt(outlook)
    hatches = *late_hatches(room, now), *filter(None, [tin])
    return [*hungry, *dying, *hatches, *room.edits, *room.noted_ahead, *room.unspoken]


def new_remarks(plan: Plan, outlook: Outlook, asked: Iterable[Task] = ()) -> list[Remark]:
    """The remarks of a plan, without those said above: of what starves, or falls short too.

    Args:
        asked: tasks that stand on the screen: no remark asks for a purchase of these once more.
    """
    said = {*pressing(outlook)}
    bought = {task.item for task in asked if isinstance(task, Buy)}
    bought |= _bought_in_haste(plan, outlook)
    return [
        note.stop.without_buying().note
        if isinstance(note, OfStop) and note.stop.item in bought else note
        for note in plan.notes
        if note.text not in said
        and not (isinstance(note, OfStop) and any(map(note.stop.is_told_by, plan.shortfalls)))
    ]  # fmt: skip


def to_buy_now(plan: Plan, outlook: Outlook, *, why: bool = False) -> list[str]:
    """What is to be bought within two days, or is overdue, and is no remedy of a shortfall: first
    against foods that nearly stop, with what stops.

    Args:
        why: say of these all.
    """
    stops = _pressing_stops(plan, outlook)
    said = {stop.item for stop in stops}
    said |= {r.of for s in plan.shortfalls for r in s.remedies if r.act is Act.BUY}
    late = [
        task for task in tasks_of(outlook)
        if isinstance(task, Buy) and task.by < outlook.now.date() and task.item not in said
    ]  # fmt: skip
    buys = [group_text([task], outlook.room.tools) for task in late]
    return [*(stop.note.text if why else _to_buy_text(stop) for stop in stops), *buys]


def bought_now(plan: Plan, outlook: Outlook) -> set[str]:
    """The stocks of which `to_buy_now` says what is to be bought, against what stops without it."""
    return {stop.item for stop in _pressing_stops(plan, outlook)}


def _pressing_stops(plan: Plan, outlook: Outlook) -> list[Stop]:
    return [
        note.stop for note in new_remarks(plan, outlook)
        if isinstance(note, OfStop) and _presses(note.stop, outlook.now)
    ]  # fmt: skip


def _bought_in_haste(plan: Plan, outlook: Outlook) -> set[str]:
    """What a line of haste says that is to be bought."""
    if not plan.shortfalls:
        return set()
    a_round_j = outlook.round_j()
    told = (s for s in plan.shortfalls if not is_trifle(s, a_round_j))
    return {step.of for step in urgent_steps(told, outlook.now) if step.act is Act.BUY}


def _to_buy_text(stop: Stop) -> str:
    """What is to be bought against a food that nearly stops, and what stops."""
    what = stop.text.partition(stop.buy)[0]
    return f"{stop.buy.removeprefix(': ')} ({what[:1].lower()}{what[1:]})"


def _presses(stop: Stop, now: datetime) -> bool:
    """Whether it says that something is to be bought within two days."""
    return bool(stop.buy) and stop.by is not None and stop.by <= (now + SOON).date()


def _waiting(plan: Plan, outlook: Outlook, asked: Iterable[Task]) -> list[Remark]:
    """The remarks that nothing has to be bought for within two days."""
    said = {stop.food for stop in _pressing_stops(plan, outlook)}
    remarks = new_remarks(plan, outlook, asked)
    return [n for n in remarks if not (isinstance(n, OfStop) and n.stop.food in said)]


def new_notes(plan: Plan, outlook: Outlook, asked: Iterable[Task] = ()) -> list[str]:
    """The same in full."""
    return [remark.text for remark in _waiting(plan, outlook, asked)]


def short_notes(plan: Plan, outlook: Outlook, asked: Iterable[Task] = ()) -> list[str]:
    """The same in a line each."""
    units = outlook.room.units
    lines = [brief(in_units(text, units)) for text in _folded(_waiting(plan, outlook, asked))]
    return at_most(lines, _MOST_NOTES, "and {} more to know: livefood today --why")


def _folded(notes: Iterable[Remark]) -> list[str]:
    """The remarks, with what is to be done about the water of several tanks in one."""
    groups = together(notes, lambda note: note.says if isinstance(note, OfWater) else note)
    return [group[0].text if len(group) == 1 else _of_tanks(group) for group in groups]


def _of_tanks(notes: Iterable[Remark]) -> str:
    """Remarks about the water of several tanks as one, with the most of how many times it is."""
    found = [note for note in notes if isinstance(note, OfWater)]
    tanks = sorted({note.tank for note in found}, key=natural)  # one of several days is named once
    times = {note.times for note in found if note.times is not None}
    most = f"{'up to ' if len(times) > 1 else ''}{max(times):.1f} " if times else ""
    return f"Tank{'s' if len(tanks) > 1 else ''} {names(tanks)}: {most}{found[0].says}."


def brief(text: str) -> str:
    """A remark in one line: up to where it can be broken off, else up to the end of the line."""
    if len(text) <= _LINE:
        return text
    for end in ("; ", " (", ". ", ": "):
        first = text.partition(end)[0]
        if _LEAST_SAID <= len(first) < _LINE - 1:
            return f"{first}{TIED}…"
    return f"{text[: _LINE - 1].rpartition(' ')[0]}{TIED}…"


def notes_text(notes: Iterable[Remark], units: str = "metric") -> str:
    """Remarks that are no task: an old file, a slow temperature."""
    return block("NOTES", bullets(in_units(text, units) for text in said_once(notes)))


def said_once(notes: Iterable[Remark]) -> list[str]:
    """Remarks; what is said of one tank in full is said of others like it in a word."""
    groups = together(
        notes, lambda note: (note.says, note.times) if isinstance(note, OfWater) else note
    )
    return [_with_others(group) for group in groups]


def _with_others(notes: Sequence[Remark]) -> str:
    first, *others = notes
    told = [f"{note.tank} from {note.since}" for note in others if isinstance(note, OfWater)]
    if not told:
        return first.text
    return f"{first.text} Likewise tank{'s' if len(told) > 1 else ''} {', '.join(told)}."
