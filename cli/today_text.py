"""The screen of ``livefood today``: this round in the order of doing, then what to set going."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from cli.phrases import plain, task_phrase, why_text
from cli.round_steps import line_dose, live_foods, steps_of
from cli.text import (
    WIDTH,
    columns,
    day_text,
    dose,
    food_name,
    grams,
    in_units,
    number,
    wrapped,
)
from cli.text import when as when_text
from cultures.planning.plan import Outlook
from cultures.planning.tasks import FeedLine, Plan, Shortfall, Task

#: A round is still "this round" for so long after its time.
LATE = timedelta(hours=2)
#: Width of the column of clock times.
_TIME = 9
#: What is set going belongs to this round while it begins before the next but one.
_AHEAD = timedelta(hours=14)
#: Tasks that are no part of a round's feeding.
GOING = (
    "set_hatch", "split", "start", "retire", "buy", "count", "sort", "lid", "move_on",
    "switch_food",
)  # fmt: skip
_OF_ROUND = ("harvest_hatch", "harvest_worms", "soak", "feed")
_MOST_SHORTFALLS = 4


def this_round(outlook: Outlook, *, skip: int = 0) -> datetime | None:
    """The time of the round to do now (or the next after it), None past the horizon."""
    times = [r.at for r in outlook.feedings if r.at >= outlook.now - LATE]
    return times[skip] if skip < len(times) else None


def screen(
    outlook: Outlook, plan: Plan, tasks: Sequence[Task], *, rounds: Sequence[datetime],
    tank: str | None = None,
) -> str:  # fmt: skip
    """The whole screen.

    Args:
        tasks: all tasks of the outlook, past ones of today among them.
        rounds: the rounds to show. tank: show the lines of one tank only.
    """
    units = outlook.room.units
    parts = [_title(outlook), _earlier(tasks, outlook.now, units)]
    parts += [_round_block(outlook, tasks, at, tank=tank) for at in rounds]
    if not rounds:
        parts.append("No round lies ahead.")
    until = (rounds[-1] if rounds else outlook.now) + _AHEAD
    parts.append(_going_block(tasks, outlook.now, until, units))
    parts.append(_harvest_ahead(tasks, rounds, until))
    parts.append(_cautions(tasks, outlook.now, rounds, until))
    parts.append(_warnings(plan.shortfalls, outlook.now, units))
    parts.append(notes_text(plan.notes, units))
    return "\n\n".join(part for part in parts if part)


def _title(outlook: Outlook) -> str:
    moment = f"{day_text(outlook.now)} {outlook.now:%Y}, {outlook.now:%H:%M}"
    name = outlook.room.name[: WIDTH - len(moment) - 2]
    return f"{name}{moment:>{WIDTH - len(name)}}"


def _round_block(outlook: Outlook, tasks: Sequence[Task], at: datetime, *, tank: str | None) -> str:
    feeding = next(r for r in outlook.feedings if r.at == at)
    title = f"ROUND {at:%H:%M}, {_from_now(at, outlook.now)}"
    if not feeding.fed:
        return f"{title}\n  Nobody is there to feed."
    given = [line for line in outlook.lines[feeding.index] if line.amount > 0]
    lines = [line for line in given if tank in (None, line.tank)]
    if not lines:
        return f"{title}\n  Nothing eats yet{f' in {tank}' if tank else ''}."
    steps = [
        wrapped(plain(step.text), _TIME, f"  {step.at:%H:%M}")
        for step in steps_of(outlook, tasks, feeding)
    ]
    units = outlook.room.units
    return "\n".join([title, *steps, "", feed_table(lines, units, total=tank is None)])


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
    rows = [["tank", "brood", *(food_name(food) for food in foods)]]
    for key in dict.fromkeys((x.tank, x.brood) for x in lines):
        cells = {
            x.food: line_dose(x, lines, units)
            for x in lines
            if (x.tank, x.brood) == key and x.amount > 0
        }
        rows.append([*key, *(cells.get(food, "-") for food in foods)])
    if total and len(rows) > 2:
        rows.append(["", "in all", *(_total(lines, food, units) for food in foods)])
    return columns(rows, right=range(2, 2 + len(foods)))


def _total(lines: Sequence[FeedLine], food: str, units: str) -> str:
    amounts = [line.amount for line in lines if line.food == food]
    unit = next(line.unit for line in lines if line.food == food)
    whole = round(sum(amounts), 6)
    return dose(whole, unit, units) if unit == "mL" else grams(whole, units)


def _earlier(tasks: Sequence[Task], now: datetime, units: str) -> str:
    """What was due today before now: the plan goes on as if it had been done."""
    past = [
        t for t in tasks
        if t.at.date() == now.date() and t.until < now and t.what in GOING
    ]  # fmt: skip
    lines = [wrapped(task_text(t, units), _TIME, f"  {t.at:%H:%M}") for t in past]
    return "\n".join(["EARLIER TODAY, taken as done", *lines]) if lines else ""


def _going_block(tasks: Sequence[Task], now: datetime, until: datetime, units: str) -> str:
    chosen = [t for t in tasks if t.what in GOING and t.until >= now and t.at < until]
    if not chosen:
        return "TO SET GOING\n  Nothing until the next round."
    out = ["TO SET GOING"]
    for task in chosen:
        day = "" if task.at.date() == now.date() else f"{task.at:%a} "
        out.append(wrapped(f"{day}{task_text(task, units)}", _TIME, f"  {task.at:%H:%M}"))
        out.append(wrapped(why_text(task, units), _TIME))
    return "\n".join(out)


def _cautions(
    tasks: Sequence[Task], now: datetime, rounds: Sequence[datetime], until: datetime
) -> str:
    """The cautions of all that is on the screen, each once."""
    shown = [
        t for t in tasks
        if (t.what in GOING and t.until >= now and t.at < until)
        or (t.what in _OF_ROUND and (t.at in rounds or t.until in rounds))
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
        t for t in tasks if t.what == "harvest_hatch" and last and last < t.at < until
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


def all_shortfalls(shortfalls: Sequence[Shortfall], until: datetime, units: str) -> str:
    """What falls short, then what is only thin; says so where nothing falls short."""
    short = [line for s in shortfalls if not s.thin for line in shortfall_text(s, units)]
    thin = [line for s in shortfalls if s.thin for line in shortfall_text(s, units)]
    if short:
        parts = ["\n".join(["SHORTFALLS", *short])]
    else:
        parts = [f"Nothing falls short until {day_text(until)} {until:%Y}."]
    if thin:
        parts.append("\n".join(["THIN MARGINS", *thin]))
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
