"""What an entry changed in the plan, in a few plain lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from cli.text import (
    TRACE,
    celsius,
    fraction,
    grams,
    in_units,
    millilitres,
    number,
    plain,
    spoons,
    when,
    wrapped,
)
from cli.today_text import short_food, task_text
from cultures.journal import Entry
from cultures.journal_due import DueTask
from cultures.phrases import DRAW_ML
from cultures.planning.plan import make_outlook, make_plan
from cultures.planning.tasks import Plan, Task
from cultures.room import Room
from cultures.units import TEASPOON_ML

_SHOWN = 4
_AHEAD = timedelta(days=7)
_WHATS = ("set_hatch", "split", "start", "retire", "first_food", "buy", "sort")
_OF_A_DAY = ("first_food", "sort")
_DUE = timedelta(hours=5)
_MOVED = timedelta(minutes=10)


def line_of(entry: Entry, room: Room) -> str:
    """An entry as one plain line."""
    at = when(entry.when.astimezone(room.timezone))
    amount = "" if entry.amount is None else f" {_amount(entry, room)}"
    other = f" {in_units(entry.other, room.units)}" if entry.other else ""
    note = f" ({entry.note})" if entry.note else ""
    return f"{at}  {entry.event.replace('_', ' ')} {entry.subject}{other}{amount}{note}"


def _amount(entry: Entry, room: Room) -> str:
    """An amount of the journal as it is measured in this room."""
    value, unit, units = entry.amount or 0.0, entry.unit, room.units
    if unit == "C":
        return celsius(value, units)
    if unit == "draws":
        volume_ml = value * DRAW_ML
        return millilitres(round(volume_ml) if volume_ml >= DRAW_ML else volume_ml, units)
    if unit == "swipes" and value > 0 and abs(value * 4 - round(value * 4)) < 1e-6:
        return f"{fraction(value, 4)} swipe{'s' if value > 1 else ''}"
    if entry.event == "set" or (entry.event == "bought" and entry.subject == "cysts"):
        return _cysts(value, room)
    if unit == "g":
        return grams(value, units)
    if units == "us" and unit in ("mg", "mL", "mm"):
        return in_units(f"{plain(value, 6)} {unit}", units)
    return f"{number(value, 3 if unit in ('swipes', 'mL', 'mg') else 6)} {unit}"


def _cysts(value: float, room: Room) -> str:
    """Cysts by weight and, up to a tablespoon, by the level spoon; the usual one first."""
    weighed = grams(value, room.units)
    density = room.hatch_kind.values["bulk_density_g_per_ml"]
    teaspoons = value / (density * TEASPOON_ML)
    if teaspoons > 3:
        return weighed
    spooned = spoons(teaspoons)
    level = "" if spooned == TRACE else " level"
    if room.units == "us":
        return f"{spooned}{level} ({weighed})"
    return f"{weighed} ({spooned}{level})"


def effect_of(before: Room, after: Room, moment: datetime) -> str:
    """How the plan differs between two states of the room at one moment."""
    outlook = make_outlook(before, now=moment)
    old = outlook.plan(remedies=False)
    due = [t for t in outlook.tasks() if moment - _DUE <= t.at <= moment]
    new = make_plan(after, now=moment, remedies=False)
    units = after.units
    changes = [
        *_tasks(old, new, due, moment, units), *_shortfalls(old, new), *_notes(old, new, units),
    ]  # fmt: skip
    if not changes:
        return "The plan of the coming week stays as it is."
    shown = changes[:_SHOWN]
    if len(changes) > _SHOWN:
        shown.append(f"and {len(changes) - _SHOWN} more changes: see 'livefood plan'")
    return "\n".join(["The plan changes:", *(wrapped(text, 4, "  - ") for text in shown)])


def _tasks(
    old: Plan, new: Plan, due: Sequence[Task], moment: datetime, units: str
) -> Iterable[str]:
    """The tasks of a week that are new, otherwise or gone; ``due`` ones just now are left out."""

    def chosen(plan: Plan) -> dict[str, Task]:
        return {
            t.id: t
            for t in plan.tasks
            if t.what in _WHATS
            and t.at <= moment + _AHEAD
            # A day's own tasks only slide to its next round.
            and not (t.what in _OF_A_DAY and t.at.date() == moment.date())
        }

    was, now = chosen(old), chosen(new)
    for key, task in now.items():
        before = was.get(key)
        if before is None or before.at <= moment:
            # What is due just now and not noted yet only slides to its next round.
            alike = [t for t in due if (t.what, t.subject) == (task.what, task.subject)]
            if task.at > moment and any(t.id == key or t.id not in now for t in alike):
                continue
        text = f"{when(task.at)} {task_text(task, units)}"
        if before is None:
            yield f"new: {text}"
        elif abs(before.at - task.at) > _MOVED or before.subject != task.subject:
            yield f"{text} (was {when(before.at)} {before.subject})"
        elif any(_differs(before.amounts.get(k, 0.0), v) for k, v in task.amounts.items()):
            yield f"{text} (was: {task_text(before, units)})"
    for key, task in was.items():
        if key not in now and task.at > moment:
            yield f"no longer: {when(task.at)} {task_text(task, units)}"


def _differs(a: float, b: float) -> bool:
    return abs(a - b) > 0.05 * max(abs(a), abs(b))


def _shortfalls(old: Plan, new: Plan) -> Iterable[str]:
    was = {s.food: s for s in reversed(old.shortfalls)}
    now = {s.food: s for s in reversed(new.shortfalls)}
    for food, shortfall in now.items():
        before = was.get(food)
        if before is None:
            yield f"{short_food(shortfall)} will be short from {when(shortfall.at)}"
        elif before.at != shortfall.at:
            yield (
                f"{short_food(shortfall)} will be short from {when(shortfall.at)}"
                f" (was {when(before.at)})"
            )
    for food, shortfall in was.items():
        if food not in now:
            yield f"{short_food(shortfall)} is no longer short"


def _notes(old: Plan, new: Plan, units: str) -> Iterable[str]:
    return (in_units(note, units) for note in new.notes if note not in old.notes)


def missed(due: Sequence[DueTask], room: Room) -> str:
    """Planned tasks that were passed over, and how to note them."""
    names = [f"{task_text(each.task, room.units)} ({when(each.task.at)})" for each in due]
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    since = due[0].task.at - timedelta(minutes=1)
    return wrapped(
        f"Planned before this and not noted: {'; '.join(names[:3])}{more}. If done:"
        f" livefood journal done --since {since:%Y-%m-%dT%H:%M}"
    )
