"""Days of the sheet: rounds with boxes to tick, and what else is to be done."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from attrs import evolve, frozen

from cli.screens.care import cautions_of
from cli.screens.feeding import feed_rows, food_heads, totals
from cli.screens.salt_and_jars import all_steps
from cli.screens.today import after_round
from cli.sheet.parts import Item, Moment, Round, Row, Said, Table, clock, day
from cultures.planning.outlook import Outlook
from cultures.planning.preparation import Step, dose_phrase
from cultures.tasks.plan import Plan
from cultures.tasks.task import Count, Feed, FirstFood, HarvestHatch, Task
from cultures.tasks.told import FeedLine
from cultures.words.grouped import alike, group_phrase, reasons, recipe_of, together, without_recipe
from cultures.words.tasks import Phrase, Words, begun, left_out, plain, why_text
from cultures.words.tools import Tools

#: So many columns of food fit a phone.
_NARROW_FOODS = 4
#: Tasks whose reason stands in the step already.
_SELF_TOLD = (HarvestHatch, FirstFood)


@frozen
class Day:
    """One day of the sheet: its rounds with their steps, and the tasks besides.

    Attributes:
        kinds: of the room's cultures, by name.
    """

    day: date
    rounds: tuple[tuple[Feed, tuple[Step, ...]], ...]
    besides: tuple[Task, ...]
    kinds: Mapping[str, str]

    def tasks(self) -> list[Task]:
        """All tasks of the day, each once."""
        of_rounds = [
            task for feed, steps in self.rounds
            for task in (feed, *(s.task for s in steps if s.task is not None))
        ]  # fmt: skip
        return [*of_rounds, *self.besides]

    def groups(self) -> list[tuple[Task, ...]]:
        """The tasks besides, those that are alike told as one."""
        return together(self.besides, lambda task: alike(task, self.kinds.get(task.subject, "")))


def days_of(outlook: Outlook, plan: Plan, days: Sequence[date]) -> list[Day]:
    """The plan's tasks by day; a step before a round belongs to the day of the round."""
    found = []
    taken: set[str] = set()
    for one in days:
        rounds = []
        for feed in (t for t in plan.tasks if isinstance(t, Feed) and t.at.date() == one):
            steps = tuple(all_steps(outlook, plan.tasks, feed.at))
            taken.update({feed.id, *(s.task.id for s in steps if s.task is not None)})
            if not outlook.is_noted(feed.at):
                rounds.append((feed, steps))
        found.append((one, tuple(rounds)))
    besides = [task for task in plan.tasks if task.id not in taken]
    kinds = {culture.name: culture.kind for culture in plan.cultures}
    return [
        Day(one, rounds, tuple(task for task in besides if task.at.date() == one), kinds)
        for one, rounds in found
    ]


def day_view(outlook: Outlook, plan: Plan, one: Day) -> dict[str, Any]:
    """One day, for the template that gives it a page of its own when printed."""
    tools, said = outlook.room.tools, set[str]()
    return {
        "id": f"day-{one.day.isoformat()}", "title": day(one.day, f"day/{one.day.isoformat()}"),
        "over": [
            clock(at, f"round/{at.isoformat()}#-0") for at in outlook.round_times()
            if at.date() == one.day and outlook.is_noted(at)
        ],
        "rounds": [_round(plan, feed, steps, tools) for feed, steps in one.rounds],
        "besides": [_besides(group, outlook, said) for group in one.groups()],
        "cautions": [Words(text) for text in cautions_of(one.tasks())],
    }  # fmt: skip


def _round(plan: Plan, feed: Feed, steps: Sequence[Step], tools: Tools) -> Round:
    every = plan.lines_at(feed.at)
    lines = [line for line in every if line.amount > 0]
    table = feeding_table(
        lines, ["tank and brood", *food_heads(lines)],
        lambda line: dose_phrase(line, lines, tools), Row("in all", totals(lines, tools, feed)),
    )  # fmt: skip
    return Round(
        feed.id, clock(feed.at, f"{feed.id}#at"),
        [item(step_clock(x, feed.at), x.task, x.text) for x in steps],
        "What each tank gets, in the order of the walk", table, why_text(feed, tools.units),
        Words(left_out(every)),
    )  # fmt: skip


def step_clock(step: Step, at: datetime) -> Moment:
    """When a step of the round at a time is done."""
    if step.before_min is not None:
        of = f"round/{at.isoformat()}#-{step.before_min}"
    elif step.task is not None:
        of = f"{step.task.id}#{'at' if step.at == step.task.at else 'at+settle'}"
    else:
        of = f"round/{at.isoformat()}#settle"
    return clock(step.at, of)


def item(at: Moment, task: Task | None, text: Phrase, *, named: str = "") -> Item:
    """A line with its time and, if it completes a task, its box; ``named``: what the box says."""
    if task is None:
        return Item(at, begun(text))
    return Item(at, begun(text), (task.id,), named or plain(text)[:80])


def _besides(group: Sequence[Task], outlook: Outlook, said: set[str]) -> Item:
    """What is to be done besides rounds; how it is set up is ``said`` once a day, on its page."""
    first, tools = group[0], outlook.room.tools
    why = "" if isinstance(first, _SELF_TOLD) else " ".join(reasons(group, tools.units))
    recipe = recipe_of(why)
    if recipe in said:
        why = without_recipe(why)
    said.add(recipe)
    text, after = group_phrase(group, tools), after_round(first, outlook)
    line = item(clock(first.at, f"{first.id}#at"), first, (after, *text) if after else text)
    blanks = [Words(task.subject) for task in group if isinstance(task, Count)]
    return evolve(line, tasks=tuple(task.id for task in group), why=why, blanks=blanks)


def feeding_table(
    lines: Sequence[FeedLine], head: Sequence[str], cell: Callable[[FeedLine], Said],
    foot: Row | None = None,
) -> Table:  # fmt: skip
    """Tank by tank, with a last row where there are several.

    Args:
        cell: how a line is written.
    """
    rows = [
        Row(Words(tank), [cell(line) if line is not None else "–" for line in given], Words(brood))
        for tank, brood, given in feed_rows(lines)
    ]
    # With many foods a phone shows it as a list.
    name = "feeding many" if len(head) - 1 > _NARROW_FOODS else "feeding"
    return Table(
        "Amounts of each food", head, rows, range(1, len(head)),
        foot if len(rows) > 1 else None, name,
    )  # fmt: skip


def count_boxes(days: Sequence[Day]) -> int:
    """Boxes to tick on these days: one for each task of a round, and for all that are alike."""
    return sum(len(one.tasks()) - len(one.besides) + len(one.groups()) for one in days)
