"""The week on one page for the wall: tanks down, rounds across, a cell to initial for each."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from attrs import frozen

from calendars.wording import MANNERS
from cli.drawing.pictures import SHOWN
from cli.screens.feeding import feed_rows
from cli.sheet.parts import Said, clock, day
from cli.sheet.rounds import Day
from cultures.planning.outlook import Outlook
from cultures.planning.preparation import Step, dose_phrase, live_foods
from cultures.tasks.plan import Plan
from cultures.tasks.task import Feed, FirstFood, HarvestHatch, HarvestWorms, Soak, SwitchFood, Task
from cultures.tasks.told import FeedLine
from cultures.words.grouped import runs
from cultures.words.quantities import food_words
from cultures.words.tasks import Words, by_tank
from cultures.words.tools import Tools

#: So many tanks leave room for amounts in their cells; of more only the foods are named.
_MOST_WITH_AMOUNTS = 8
#: So many rounds fit a page that stands upright.
_UPRIGHT = 14
#: Why a tank was not fed, in a letter that is no one's initials once the cell is struck through.
CODES = (
    ("L", "food of the last round is left"), ("N", "no food was ready"),
    ("W", "something is wrong with fish or water"), ("O", "out of time"),
)  # fmt: skip


#: A cell to initial: what it is for, a line each; without any, nothing is due.
Signed = list[Said]


@frozen
class Column:
    """A round of the week: its lines, its steps, and what is to be set going after it."""

    feed: Feed
    steps: tuple[Step, ...]
    lines: tuple[FeedLine, ...]
    besides: tuple[Task, ...]


def wall_view(outlook: Outlook, plan: Plan, days: Sequence[Day]) -> dict[str, Any] | None:
    """What the template needs for the page; None where no round lies in these days."""
    columns = _columns(plan, days)
    if not columns:
        return None
    places = _places(outlook, columns)
    foods = live_foods([line for column in columns for line in column.lines])
    letters = short_names(foods)
    amounts = len(places) <= _MOST_WITH_AMOUNTS and len(columns) <= _UPRIGHT
    tools = outlook.room.tools if amounts else None
    return {
        "days": [
            (day(one, f"day/{one.isoformat()}"), len(list(every)))
            for one, every in groupby(columns, lambda c: c.feed.at.date())
        ],
        "times": [clock(column.feed.at, f"{column.feed.id}#at") for column in columns],
        "steps": [_step_names(column.steps) for column in columns],
        "rows": [
            (Words(tank), Words(brood), [_cell(c, tank, brood, letters, tools) for c in columns])
            for tank, brood in places
        ],
        "besides": [list(dict.fromkeys(map(_short_title, c.besides))) for c in columns],
        "foods": [(letters[food], food_words(food)) for food in foods],
        "codes": CODES, "amounts": amounts,
        "wide": amounts or len(columns) > _UPRIGHT,
    }  # fmt: skip


def short_names(foods: Sequence[str]) -> dict[str, str]:
    """The fewest first letters that tell foods apart.

    Examples:
        >>> short_names(["vinegar_eel", "microworm", "moina"])
        {'vinegar_eel': 'V', 'microworm': 'Mi', 'moina': 'Mo'}
    """
    names = {food: food_words(food).capitalize() for food in foods}
    return {
        food: next(
            name[:n] for n in range(1, len(name) + 1)
            if n == len(name) or sum(x.startswith(name[:n]) for x in names.values()) == 1
        )
        for food, name in names.items()
    }  # fmt: skip


def _columns(plan: Plan, days: Sequence[Day]) -> list[Column]:
    given = by_tank(x for x in plan.lines if x.amount > 0)
    return [
        Column(feed, steps, tuple(x for x in given if x.at == feed.at), _after(one, number))
        for one in days for number, (feed, steps) in enumerate(one.rounds)
    ]  # fmt: skip


def _after(one: Day, number: int) -> tuple[Task, ...]:
    """What is to be done from a round on until the next; before the first, with the first."""
    times = [feed.at for feed, _ in one.rounds]
    return tuple(
        task for task in one.besides if max(0, sum(at <= task.at for at in times) - 1) == number
    )


def _places(outlook: Outlook, columns: Sequence[Column]) -> list[tuple[str, str]]:
    """Tank and brood of everybody that is fed, in the order of the walk."""
    order = {tank.name: i for i, tank in enumerate(outlook.room.tanks)}
    found = dict.fromkeys((x.tank, x.brood) for column in columns for x in column.lines)
    return sorted(found, key=lambda place: order[place[0]])


def _cell(
    column: Column, tank: str, brood: str, letters: dict[str, str], tools: Tools | None
) -> Signed:
    """What a brood gets at a round; ``tools`` for the amounts, None where there is no room."""
    for place, of, given in feed_rows(column.lines):
        if (place, of) == (tank, brood):
            mine = [line for line in given if line is not None]
            if tools is None:
                return [" ".join(letters[line.food] for line in mine)]
            return [(f"{letters[x.food]} ", dose_phrase(x, column.lines, tools)[0]) for x in mine]
    return []


def _step_names(steps: Iterable[Step]) -> Signed:
    """The boxes, bottles and cups of a round, each in a word."""
    told: Signed = []
    tasks = [step.task for step in steps if step.task is not None]
    if any(isinstance(task, Soak) for task in tasks):
        told.append("soak")
    for run in runs([t.subject for t in tasks if isinstance(t, HarvestHatch | HarvestWorms)]):
        last = re.sub(r".*?(?=\d+$)", "", run[-1])
        told += [Words(f"{run[0]}–{last}")] if len(run) > 2 else [Words(name) for name in run]
    if any(isinstance(task, FirstFood) for task in tasks):
        told.append("first food")
    return told


def _short_title(task: Task) -> str:
    """What kind of task it is; of which one, its day's page says."""
    if isinstance(task, SwitchFood):
        return "new diet"
    title = MANNERS[task.what].title.partition("{")[0].rstrip(": ")
    return SHOWN.get(task.what) or title.lower()
