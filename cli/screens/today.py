"""The screen of ``livefood today``: this round in the order of doing, then what to set going."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from cli.screens.entry import amount_text, besides
from cli.screens.feeding import feed_table
from cli.screens.salt_and_jars import all_steps, jars_left
from cli.screens.shortfalls import first_shortfalls
from cli.screens.text import WIDTH, block, bullets, joined, wrapped
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.outlook import Outlook
from cultures.room.room import Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import OF_ROUND, Buy, HarvestHatch, SetHatch, SwitchFood, Task
from cultures.tasks.told import ToldTask
from cultures.words.quantities import day_text, food_name, in_units, millilitres, when
from cultures.words.tasks import plain, task_phrase, task_text, why_text

if TYPE_CHECKING:
    from cli.screens.absence import Absence

#: Width of the column of clock times.
_TIME = 9
#: What is set going belongs to this round while it begins before the next but one.
_AHEAD = timedelta(hours=14)
#: What a keeper wrote down is shown for so long.
_REMARKED = timedelta(days=14)
#: Most tasks of which is asked on the screen.
_MOST_ASKED = 8
#: Tasks that are done at the time of a round even so.
_AT_ROUND = (*OF_ROUND, SetHatch, Buy, SwitchFood)


def this_round(outlook: Outlook, *, skip: int = 0) -> datetime | None:
    """The time of the round to do now (or the next after it), None past the horizon."""
    times = [at for at in outlook.round_times() if not outlook.is_noted(at)]
    return times[skip] if skip < len(times) else None


def screen(
    outlook: Outlook, plan: Plan, tasks: Sequence[Task], *, rounds: Sequence[datetime],
    tank: str | None = None, asked: Sequence[tuple[int, ToldTask]] = (),
    before: Absence | None = None,
) -> str:  # fmt: skip
    """The whole screen.

    Args:
        tasks: all tasks of the outlook, those in hand among them.
        rounds: the rounds to show. tank: show the lines of one tank only. asked: what is taken
            as done because it was told, with its number in 'journal due'. before: an absence that
            begins soon.
    """
    units = outlook.room.units
    parts = [_title(outlook), _questions(asked, outlook), leaving(before, units) if before else ""]
    parts += [
        f"ROUND {at:%H:%M}: over, and noted"
        for at in outlook.round_times() if outlook.is_noted(at)
    ]  # fmt: skip
    parts += [_round_block(outlook, tasks, at, tank=tank) for at in rounds]
    if not rounds:
        parts.append("No round lies ahead.")
    until = shown_until(outlook, rounds)
    parts.append(_after_block(outlook, rounds) if tank is None else "")
    at_rounds = {r.at for r in outlook.feedings if r.fed} | set(rounds)
    parts.append(_going_block(tasks, outlook.now, until, units, at_rounds))
    parts.append(_harvest_ahead(tasks, rounds, until, outlook.now))
    parts.append(_cautions(tasks, rounds, until))
    parts.append(first_shortfalls(plan.shortfalls, outlook.now, units))
    parts.append(remarks_text(outlook.room, outlook.now))
    parts.append(notes_text(plan.notes, units))
    return joined(parts)


def shown_until(outlook: Outlook, rounds: Sequence[datetime]) -> datetime:
    """Up to when the screen shows what is to be set going."""
    return (rounds[-1] if rounds else outlook.now) + _AHEAD


def shown_tasks(outlook: Outlook, tasks: Iterable[Task], rounds: Sequence[datetime]) -> list[Task]:
    """The tasks that the screen shows."""
    until = shown_until(outlook, rounds)
    return [t for t in tasks if is_shown(t, rounds, until)]


def is_shown(task: Task, rounds: Sequence[datetime], until: datetime) -> bool:
    """Whether a task belongs on a screen of some rounds and what is set going until a time."""
    if isinstance(task, OF_ROUND):
        ahead = isinstance(task, HarvestHatch) and task.at < until
        return ahead or task.at in rounds or task.until in rounds
    return task.at < until


def remarks_text(room: Room, now: datetime) -> str:
    """What the keeper wrote down in the last two weeks, by what it is about."""
    return block("YOUR NOTES", bullets(
        f"{name}: {text} ({when(at)})"
        for name, rows in room.remarks.items()
        for at, text in rows[-2:]
        if now - at < _REMARKED
    ))  # fmt: skip


def leaving(absence: Absence, units: str) -> str:
    """What is still to be done before days away, and for whom."""
    days = " to ".join(day_text(day) for day in dict.fromkeys((absence.first, absence.last)))
    who = "a helper feeds" if absence.helper else "nobody feeds"
    texts = [f"{when(t.at)}: {task_text(t, units)}" for t in absence.tasks]
    if not texts:
        texts = ["nothing more is to be set, split or bought"]
    if absence.short:
        texts.append(f"short then: {', '.join(absence.short)}")
    if absence.helper:
        texts.append("the helper's sheet: livefood sheet --helper --out helper.html")
    return block(f"BEFORE YOU LEAVE ({days}, {who})", bullets(texts))


def _title(outlook: Outlook) -> str:
    moment = f"{day_text(outlook.now)} {outlook.now:%Y}, {outlook.now:%H:%M}"
    name = outlook.room.name[: WIDTH - len(moment) - 2]
    return f"{name}{moment:>{WIDTH - len(name)}}"


def _questions(asked: Sequence[tuple[int, ToldTask]], outlook: Outlook) -> str:
    """What was told, is over and is not noted: taken as done, asked about once."""
    if not asked:
        return ""
    parts, shown = [], 0
    for title, away in (
        ("TAKEN AS DONE, as it was told", False), ("WHILE YOU WERE AWAY, taken as done", True),
    ):  # fmt: skip
        mine = [
            (n, t) for n, t in asked
            if (outlook.room.away_on(t.task.at.date()) is not None) == away
        ][: _MOST_ASKED - shown]  # fmt: skip
        shown += len(mine)
        parts.append(block(title, [_question(n, t, outlook) for n, t in mine]))
    if len(asked) > shown:
        parts.append(f"      and {len(asked) - shown} more: livefood journal due")
    hint = "Right: livefood journal done. Not done: livefood journal skip NUMBER."
    return "\n".join(part for part in (*parts, wrapped(hint, 2, "  ")) if part)


def _question(number_: int, told: ToldTask, outlook: Outlook) -> str:
    """One task that is taken as done, with its number in 'journal due'."""
    task = told.task
    day = "" if task.at.date() == outlook.now.date() else f"{day_text(task.at)} "
    noted = besides(outlook.room, task.id)
    text = f"{day}{task.at:%H:%M}  {task_text(task, outlook.room.units)}{noted}"
    return wrapped(text, 6, f"  {number_:>2}")


def _after_block(outlook: Outlook, rounds: Sequence[datetime]) -> str:
    """What is left in the jars when the last of the rounds is over."""
    lines = []
    for jar in jars_left(outlook, rounds[-1]) if rounds else ():
        left = millilitres(jar.left_ml, outlook.room.units)
        text = f"jar of {jar.label}: {left} left, keeps until {when(jar.until)}"
        lines.append(wrapped(text if jar.later else f"{text}; to spare", 4, "  "))
    return block("AFTER THE ROUND", lines)


def _round_block(outlook: Outlook, tasks: Sequence[Task], at: datetime, *, tank: str | None) -> str:
    title = f"ROUND {at:%H:%M}, {_from_now(at, outlook.now)}"
    feeding = next((r for r in outlook.feedings if r.at == at), None)
    if feeding is not None and not feeding.fed:
        return f"{title}\n  Nobody is there to feed."
    given = [x for time, row in outlook.rows() if time == at for x in row if x.amount > 0]
    gone = [
        f"no {_several(food)} at this round: what was told for it did not come"
        for food in outlook.room.lost_foods.get(at, ())
    ]
    lines = [line for line in given if tank in (None, line.tank)]
    steps = [
        wrapped(
            f"{_answer(outlook.room, step.task)}{plain(step.text)}", _TIME, f"  {step.at:%H:%M}",
        )
        for step in all_steps(outlook, tasks, at)
    ]  # fmt: skip
    steps += [wrapped(text, _TIME, "  !") for text in gone]
    if not lines:
        steps = [] if tank else steps
        empty = all(brood.tank != tank for brood in outlook.room.broods)
        said = "There are no fry" if tank and empty else "Nothing eats yet"
        return "\n".join([title, f"  {said}{f' in {tank}' if tank else ''}.", *steps])
    units = outlook.room.units
    table = feed_table(lines, units, total=tank is None)
    return "\n".join([title, *steps, "", table, *_said_of_tanks(outlook, at)])


def _said_of_tanks(outlook: Outlook, at: datetime) -> list[str]:
    """What was noted of single tanks of a round in hand."""
    told = outlook.told_round(at)
    text = besides(outlook.room, told.task.id) if told is not None else ""
    return [wrapped(text.removeprefix(". "), 2, "  ")] if text else []


def _answer(room: Room, task: Task | None) -> str:
    """What was noted of a task in hand, in brackets."""
    entry = room.answered.get(task.id) if task is not None else None
    if entry is None or task is None:
        return ""
    if entry.event == "skip":
        return "(not done) "
    if entry.event == "failed":
        return "(failed) "
    if entry.amount is None or entry.event == "fed":
        return "(noted) "
    shown = amount_text(entry, room)
    as_told = re.search(rf"(?<![\d,.] ){re.escape(shown)}", plain(task_phrase(task, room.units)))
    return "(noted) " if as_told and entry.event != "hatched" else f"(noted: {shown}) "


def _several(food: str) -> str:
    """A food by the name of many of it."""
    name = food_name(food)
    return name if food in (DRY, BRINE_SHRIMP) else f"{name}s"


def _from_now(at: datetime, now: datetime) -> str:
    minutes = round((at - now).total_seconds() / 60)
    if abs(minutes) < 2:
        return "now"
    if minutes < 0:
        return f"{_span(-minutes)} ago"
    soon = f"in {_span(minutes)}"
    return soon if at.date() == now.date() else f"{day_text(at)}, {soon}"


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def _going_block(
    tasks: Sequence[Task], now: datetime, until: datetime, units: str, at_rounds: set[datetime]
) -> str:
    lines = []
    for task in tasks:
        if isinstance(task, OF_ROUND) or task.at >= until:
            continue
        day = _other_day(task, now)
        after = after_round(task, at_rounds)
        lines.append(wrapped(f"{day}{after}{task_text(task, units)}", _TIME, f"  {task.at:%H:%M}"))
        lines.append(wrapped(why_text(task, units), _TIME))
    return block("TO SET GOING", lines or ["  Nothing until the next round."])


def after_round(task: Task, at_rounds: Iterable[datetime]) -> str:
    """Words before a task that waits until the round at its time is over."""
    waits = not isinstance(task, _AT_ROUND) and task.at in at_rounds
    return "after the round: " if waits else ""


def _other_day(task: Task, now: datetime) -> str:
    """The day before a task that is not of today."""
    return "" if task.at.date() == now.date() else f"{task.at:%a} "


def _cautions(tasks: Sequence[Task], rounds: Sequence[datetime], until: datetime) -> str:
    """The cautions of all that is on the screen, in full and each once."""
    shown = [
        t for t in tasks
        if (t.at in rounds or t.until in rounds if isinstance(t, OF_ROUND) else t.at < until)
    ]  # fmt: skip
    return block("TAKE CARE", bullets(cautions_of(shown), "  ! "))


def cautions_of(tasks: Iterable[Task]) -> list[str]:
    """The cautions of tasks, each once, and none that a longer one contains."""
    every = list(dict.fromkeys(t.caution for t in tasks if t.caution))
    return [text for text in every if not any(text in other for other in every if other != text)]


def _harvest_ahead(
    tasks: Sequence[Task], rounds: Sequence[datetime], until: datetime, now: datetime
) -> str:
    """Hatches to be drawn off before the next round, so that nobody is surprised."""
    return block("BEFORE THE NEXT ROUND", [
        wrapped(f"{_other_day(t, now)}{t.subject} is ripe for the round of {t.until:%H:%M}", _TIME,
                f"  {t.at:%H:%M}")
        for t in tasks
        if isinstance(t, HarvestHatch) and rounds and rounds[-1] < t.at < until
    ])  # fmt: skip


def notes_text(notes: Sequence[str], units: str = "metric") -> str:
    """Remarks that are no task: an old file, a slow temperature."""
    return block("NOTES", bullets(in_units(note, units) for note in notes))
