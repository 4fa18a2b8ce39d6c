"""The screen of ``livefood today``: this round in the order of doing, then what to set going."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from cli.screens.salt_and_jars import all_steps, is_soaked, jars_left
from cli.screens.text import WIDTH, columns, wrapped
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.outlook import Outlook
from cultures.planning.preparation import dose_phrase, live_foods
from cultures.room.room import Room
from cultures.tasks.plan import Plan, Shortfall
from cultures.tasks.task import (
    OF_ROUND,
    Buy,
    Count,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Lid,
    MoveOn,
    Retire,
    SetHatch,
    Soak,
    Sort,
    Split,
    Start,
    SwitchFood,
    Task,
)
from cultures.tasks.told import FeedLine, ToldTask
from cultures.words.quantities import (
    day_text,
    dose,
    food_name,
    grams,
    in_units,
    millilitres,
    number,
)
from cultures.words.quantities import when as when_text
from cultures.words.tasks import plain, soaked_ml, task_phrase, why_text

if TYPE_CHECKING:
    from cli.screens.absence import Absence

#: Width of the column of clock times.
_TIME = 9
#: What is set going belongs to this round while it begins before the next but one.
_AHEAD = timedelta(hours=14)
#: Tasks that are no part of a round's feeding.
GOING = (SetHatch, Split, Start, Retire, Buy, Count, Sort, Lid, MoveOn, SwitchFood)
#: What a keeper wrote down is shown for so long.
_REMARKED = timedelta(days=14)
#: Most tasks of which is asked on the screen.
_MOST_ASKED = 8
_OF_ROUND = (HarvestHatch, HarvestWorms, Soak, Feed)
#: Tasks that stand at the time of a round and are done when it is over.
_AFTER_ROUND = (Split, Start, Retire, Count, Sort, Lid, MoveOn)
_MOST_SHORTFALLS = 4
#: How the planner's note of a food that stops is told from other notes.
_STAND_IN = "other foods take their place"


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
    parts.append(_harvest_ahead(tasks, rounds, until))
    parts.append(_cautions(tasks, rounds, until))
    parts.append(_warnings(plan.shortfalls, outlook.now, units))
    parts.append(remarks_text(outlook.room, outlook.now))
    parts.append(notes_text(plan.notes, units))
    return "\n\n".join(part for part in parts if part)


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
    lines = [
        wrapped(f"{name}: {text} ({when_text(at)})", 4, "  - ")
        for name, rows in room.remarks.items()
        for at, text in rows[-2:]
        if now - at < _REMARKED
    ]
    return "\n".join(["YOUR NOTES", *lines]) if lines else ""


def leaving(absence: Absence, units: str) -> str:
    """What is still to be done before days away, and for whom."""
    days = when_span(absence.first, absence.last)
    who = "a helper feeds" if absence.helper else "nobody feeds"
    lines = [wrapped(f"{day_text(t.at)} {t.at:%H:%M}: {task_text(t, units)}", 4, "  - ")
             for t in absence.tasks]  # fmt: skip
    if not lines:
        lines = ["  - nothing more is to be set, split or bought"]
    if absence.short:
        lines.append(wrapped(f"short then: {', '.join(absence.short)}", 4, "  - "))
    if absence.helper:
        lines.append(wrapped("the helper's sheet: livefood sheet --helper --out helper.html",
                             4, "  - "))  # fmt: skip
    return "\n".join([f"BEFORE YOU LEAVE ({days}, {who})", *lines])


def when_span(first: date, last: date) -> str:
    """Days from one to another, ``Fri 8 Jan to Tue 12 Jan``."""
    shown = [f"{d:%a} {d.day} {d:%b}" for d in (first, last)]
    return shown[0] if first == last else " to ".join(shown)


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
        if mine:
            parts.append("\n".join([title, *(_question(n, t, outlook) for n, t in mine)]))
    if len(asked) > shown:
        parts.append(f"      and {len(asked) - shown} more: livefood journal due")
    hint = "Right: livefood journal done. Not done: livefood journal skip NUMBER."
    return "\n".join([*parts, wrapped(hint, 2, "  ")])


def _question(number_: int, told: ToldTask, outlook: Outlook) -> str:
    """One task that is taken as done, with its number in 'journal due'."""
    task = told.task
    day = "" if task.at.date() == outlook.now.date() else f"{day_text(task.at)} "
    text = f"{day}{task.at:%H:%M}  {task_text(task, outlook.room.units)}"
    return wrapped(text, 6, f"  {number_:>2}")


def _after_block(outlook: Outlook, rounds: Sequence[datetime]) -> str:
    """What is left in the jars when the last of the rounds is over."""
    if not rounds:
        return ""
    lines = []
    for jar in jars_left(outlook, rounds[-1]):
        text = (
            f"jar of {jar.harvested:%a %H:%M}: {millilitres(jar.left_ml, outlook.room.units)} left,"
            f" keeps until {when_text(jar.until)}"
        )
        lines.append(wrapped(text if jar.later else f"{text}; to spare", 4, "  "))
    return "\n".join(["AFTER THE ROUND", *lines]) if lines else ""


def _round_block(outlook: Outlook, tasks: Sequence[Task], at: datetime, *, tank: str | None) -> str:
    title = f"ROUND {at:%H:%M}, {_from_now(at, outlook.now)}"
    feeding = next((r for r in outlook.feedings if r.at == at), None)
    if feeding is not None and not feeding.fed:
        return f"{title}\n  Nobody is there to feed."
    given = [x for when, row in outlook.rows() if when == at for x in row if x.amount > 0]
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
    return "\n".join([title, *steps, "", feed_table(lines, units, total=tank is None)])


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
    from cli.screens.entry import amount_text

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


def feed_table(lines: Sequence[FeedLine], units: str = "metric", *, total: bool = False) -> str:
    """Tank by tank, in the order of the room, one column for each food.

    ``total`` adds a last row with what all tanks get together: what the cups hold.
    """
    foods = live_foods(lines)
    rows = [["tank", "brood", *food_heads(foods, lines)]]
    for key in dict.fromkeys((x.tank, x.brood) for x in lines):
        cells = {
            x.food: plain(dose_phrase(x, lines, units))
            for x in lines
            if (x.tank, x.brood) == key and x.amount > 0
        }
        rows.append([*key, *(cells.get(food, "-") for food in foods)])
    if total and len(rows) > 2:
        rows.append(["", "in all", *(_total(lines, food, units) for food in foods)])
    return columns(rows, right=range(2, 2 + len(foods)), head=True)


def food_heads(foods: Sequence[str], lines: Sequence[FeedLine]) -> list[str]:
    """The heads of the columns of foods; dry food is given as it was soaked."""
    soaked = ", soaked" if is_soaked(lines) else ""
    return [food_name(food) + (soaked if food == DRY else "") for food in foods]


def _total(lines: Sequence[FeedLine], food: str, units: str) -> str:
    amounts = [line.amount for line in lines if line.food == food]
    unit = next(line.unit for line in lines if line.food == food)
    whole = round(sum(amounts), 6)
    if unit == "mL":
        return dose(whole, unit, units)
    wet = soaked_ml(whole, whole, units)
    if wet is None:
        return grams(whole, units)
    shown = dose(wet, "mL", units)
    return shown if units == "us" else f"{shown} ({grams(whole, units)})"


def _going_block(
    tasks: Sequence[Task],
    now: datetime,
    until: datetime,
    units: str,
    at_rounds: set[datetime],
) -> str:
    chosen = [t for t in tasks if isinstance(t, GOING) and t.at < until]
    if not chosen:
        return "TO SET GOING\n  Nothing until the next round."
    out = ["TO SET GOING"]
    for task in chosen:
        day = "" if task.at.date() == now.date() else f"{task.at:%a} "
        after = after_round(task, at_rounds)
        out.append(wrapped(f"{day}{after}{task_text(task, units)}", _TIME, f"  {task.at:%H:%M}"))
        out.append(wrapped(why_text(task, units), _TIME))
    return "\n".join(out)


def after_round(task: Task, at_rounds: Iterable[datetime]) -> str:
    """Words before a task that waits until the round at its time is over."""
    return "after the round: " if isinstance(task, _AFTER_ROUND) and task.at in at_rounds else ""


def _cautions(tasks: Sequence[Task], rounds: Sequence[datetime], until: datetime) -> str:
    """The cautions of all that is on the screen, in full and each once."""
    shown = [
        t for t in tasks
        if (isinstance(t, GOING) and t.at < until)
        or (isinstance(t, _OF_ROUND) and (t.at in rounds or t.until in rounds))
    ]  # fmt: skip
    lines = [wrapped(text, 4, "  ! ") for text in cautions_of(shown)]
    return "\n".join(["TAKE CARE", *lines]) if lines else ""


def cautions_of(tasks: Iterable[Task]) -> list[str]:
    """The cautions of tasks, each once, and none that a longer one contains."""
    every = list(dict.fromkeys(t.caution for t in tasks if t.caution))
    return [text for text in every if not any(text in other for other in every if other != text)]


def _harvest_ahead(tasks: Sequence[Task], rounds: Sequence[datetime], until: datetime) -> str:
    """Hatches to be drawn off before the next round, so that nobody is surprised."""
    last = rounds[-1] if rounds else None
    ahead = [
        t for t in tasks if isinstance(t, HarvestHatch) and last and last < t.at < until
    ]  # fmt: skip
    lines = [
        wrapped(f"{t.subject} is ripe for the round of {t.until:%H:%M}", _TIME, f"  {t.at:%H:%M}")
        for t in ahead
    ]
    return "\n".join(["BEFORE THE NEXT ROUND", *lines]) if lines else ""


def task_text(task: Task, units: str = "metric") -> str:
    """One task in one plain line."""
    return plain(task_phrase(task, units))


def shortfall_text(shortfall: Shortfall, units: str = "metric") -> list[str]:
    """A shortfall in lines: what, why, and what still helps."""
    span = when_text(shortfall.at)
    if shortfall.rounds > 1:
        span += f" to {when_text(shortfall.until)}, {shortfall.rounds} rounds"
    what = f"{short_food(shortfall)} {'thin' if shortfall.thin else 'short'}"
    lines = [
        wrapped(f"{what} in {', '.join(shortfall.tanks)}, {span}{_how_much(shortfall)}:"
                f" {in_units(shortfall.cause, units)}.", 4, "  - ")
    ]  # fmt: skip
    for remedy in shortfall.remedies:
        covers = min(1.0, remedy.effect_j / shortfall.short_j)
        text = f"by {when_text(remedy.by)}: {in_units(remedy.what, units)}"
        lines.append(wrapped(f"{text} (covers {covers:.0%} of what is missing)", 8, "      > "))
    if not shortfall.remedies and not shortfall.thin:
        lines.append("      > nothing that was tried still helps in time")
    return lines


def stopped_foods(notes: Sequence[str]) -> list[str]:
    """The notes of foods that stop while others take their place."""
    return [
        note.removesuffix(" See 'livefood shortfalls'.") for note in notes if _STAND_IN in note
    ]  # fmt: skip


def all_shortfalls(
    shortfalls: Sequence[Shortfall], until: datetime, units: str, *, risk: bool = False,
    notes: Sequence[str] = (),
) -> str:  # fmt: skip
    """What falls short, then what is only thin; says so where nothing falls short.

    Args:
        risk: thin margins were looked for, so say it too when there are none.
        notes: of the plan; those of foods that stop are shown.
    """
    short = [line for s in shortfalls if not s.thin for line in shortfall_text(s, units)]
    thin = [line for s in shortfalls if s.thin for line in shortfall_text(s, units)]
    if short:
        parts = ["\n".join(["SHORTFALLS", *short])]
    else:
        parts = [f"Nothing falls short until {day_text(until)} {until:%Y}."]
    if stops := stopped_foods(notes):
        lines = [wrapped(in_units(note, units), 4, "  - ") for note in stops]
        parts.append("\n".join(["FOODS THAT STOP", *lines]))
    if thin:
        parts.append("\n".join(["THIN MARGINS", *thin]))
    elif risk:
        from cultures.planning.risk import DRAWS

        parts.append(f"No thin margins in {DRAWS} trials.")
    return "\n\n".join(parts)


def _how_much(shortfall: Shortfall) -> str:
    """The share of the need that is missing, and how likely; a thin spell tells its own chance."""
    if shortfall.thin:
        return ""
    share = min(1.0, shortfall.short_j / shortfall.need_j) if shortfall.need_j else 1.0
    likely = ""
    if shortfall.probability is not None:
        likely = f", in {shortfall.probability:.0%} of trials"
    return f" ({share:.0%} of the need{likely})"


def short_food(shortfall: Shortfall) -> str:
    """What is short, as people say it."""
    return "food" if shortfall.food == "any" else food_name(shortfall.food)


def _warnings(shortfalls: Sequence[Shortfall], now: datetime, units: str) -> str:
    """Shortfalls, those first that must be acted on first."""
    if not shortfalls:
        return ""

    def first_by(shortfall: Shortfall) -> datetime:
        return min((r.by for r in shortfall.remedies), default=shortfall.at)

    ordered = sorted(shortfalls, key=first_by)
    urgent = first_by(ordered[0]) <= now + timedelta(days=2)
    out = ["ACT NOW" if urgent else "LOOK OUT"]
    for shortfall in ordered[:_MOST_SHORTFALLS]:
        out += shortfall_text(shortfall, units)
    more = len(ordered) - _MOST_SHORTFALLS
    if more > 0:
        out.append(f"  and {number(more)} more: see 'livefood shortfalls'")
    return "\n".join(out)


def notes_text(notes: Sequence[str], units: str = "metric") -> str:
    """Remarks that are no task: an old file, a slow temperature."""
    lines = [wrapped(in_units(note, units), 4, "  - ") for note in notes]
    return "\n".join(["NOTES", *lines]) if lines else ""
