"""Remarks of a plan, in a line each or in full, each said once."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from datetime import datetime

from cli.screens.care import REMARKED, is_fresh
from cli.screens.shortfalls import SOON, urgent_steps
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


def new_remarks(plan: Plan, outlook: Outlook) -> list[Remark]:
    """The remarks of a plan, without those said above: of what starves, or falls short too; and
    without a purchase that a line of haste asks for.
    """
    said = {*pressing(outlook)}
    steps = urgent_steps(plan.shortfalls, outlook.now, outlook.round_j())
    new = [
        note for note in plan.notes
        if note.text not in said
        and not (isinstance(note, OfStop) and any(map(note.stop.is_told_by, plan.shortfalls)))
    ]  # fmt: skip
    return _without_buying(new, {step.of for step in steps if step.act is Act.BUY})


def _without_buying(remarks: Iterable[Remark], items: Container[str]) -> list[Remark]:
    """Remarks that ask for no purchase of some items."""
    return [
        note.stop.without_buying().note
        if isinstance(note, OfStop) and note.stop.item in items else note
        for note in remarks
    ]  # fmt: skip


def pressing_stops(remarks: Iterable[Remark], now: datetime) -> list[Stop]:
    """The foods that nearly stop, against which something is to be bought within two days."""
    stops = (note.stop for note in remarks if isinstance(note, OfStop))
    soon = (now + SOON).date()
    return [s for s in stops if s.buy and s.by is not None and s.by <= soon]


def to_buy_now(
    plan: Plan, outlook: Outlook, remarks: Iterable[Remark], *, why: bool = False
) -> list[str]:
    """What is to be bought within two days, or is overdue, and is no remedy of a shortfall: first
    against foods that nearly stop, with what stops.

    Args:
        remarks: as `new_remarks` has them. why: say of these all.
    """
    stops = pressing_stops(remarks, outlook.now)
    said = {stop.item for stop in stops}
    said |= {r.of for s in plan.shortfalls for r in s.remedies if r.act is Act.BUY}
    late = [
        task for task in tasks_of(outlook)
        if isinstance(task, Buy) and task.by < outlook.now.date() and task.item not in said
    ]  # fmt: skip
    buys = [group_text([task], outlook.room.tools) for task in late]
    return [*(stop.note.text if why else _to_buy_text(stop) for stop in stops), *buys]


def _to_buy_text(stop: Stop) -> str:
    """What is to be bought against a food that nearly stops, and what stops."""
    what = stop.text.partition(stop.buy)[0]
    return f"{stop.buy.removeprefix(': ')} ({what[:1].lower()}{what[1:]})"


def waiting(remarks: Sequence[Remark], now: datetime, asked: Iterable[Task] = ()) -> list[Remark]:
    """The remarks that nothing has to be bought for within two days.

    Args:
        asked: tasks that stand on the screen: no remark asks for a purchase of these once more.
    """
    said = {stop.food for stop in pressing_stops(remarks, now)}
    left = (n for n in remarks if not (isinstance(n, OfStop) and n.stop.food in said))
    return _without_buying(left, {task.item for task in asked if isinstance(task, Buy)})


def short_notes(remarks: Iterable[Remark], units: str) -> list[str]:
    """Remarks in a line each."""
    lines = [brief(in_units(text, units)) for text in _folded(remarks)]
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
