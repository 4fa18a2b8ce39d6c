"""Days of the sheet: rounds with boxes to tick, and what else is to be done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime

from attrs import frozen

from cli.screens.feeding import feed_rows, food_heads, in_all
from cli.screens.salt_and_jars import all_steps
from cli.screens.today import after_round, cautions_of
from cli.sheet.markup import box, care, clock, day, esc, phrase, plan_words, table
from cultures.planning.outlook import Outlook
from cultures.planning.preparation import Step, dose_phrase, live_foods
from cultures.tasks.plan import Plan
from cultures.tasks.task import Feed, FirstFood, HarvestHatch, Task
from cultures.tasks.told import FeedLine
from cultures.words.tasks import Phrase, plain, task_phrase, why_text

#: So many columns of food fit a phone.
_NARROW_FOODS = 4
#: Tasks whose reason stands in the step already.
_SELF_TOLD = (HarvestHatch, FirstFood)


@frozen
class Day:
    """One day of the sheet: its rounds with their steps, and the tasks besides."""

    day: date
    rounds: tuple[tuple[datetime, Feed, tuple[Step, ...]], ...]
    besides: tuple[Task, ...]

    def tasks(self) -> list[Task]:
        """All tasks of the day, each once."""
        of_rounds = [
            task for _, feed, steps in self.rounds
            for task in (feed, *(s.task for s in steps if s.task is not None))
        ]  # fmt: skip
        return [*of_rounds, *self.besides]


def days_of(outlook: Outlook, plan: Plan, days: Sequence[date]) -> list[Day]:
    """The plan's tasks by day; a step before a round belongs to the day of the round."""
    found = []
    taken: set[str] = set()
    for one in days:
        rounds = []
        for at in outlook.round_times():
            feed = next((t for t in plan.tasks if isinstance(t, Feed) and t.at == at), None)
            if at.date() != one or feed is None:
                continue
            steps = tuple(all_steps(outlook, plan.tasks, at))
            taken.update({feed.id, *(s.task.id for s in steps if s.task is not None)})
            if not outlook.is_noted(at):
                rounds.append((at, feed, steps))
        found.append((one, tuple(rounds)))
    return [
        Day(one, rounds, tuple(t for t in plan.tasks if t.at.date() == one and t.id not in taken))
        for one, rounds in found
    ]


def day_section(outlook: Outlook, plan: Plan, one: Day, *, first: bool) -> str:
    """One day, on a page of its own when printed; ``first`` has its date in the page's head."""
    units = outlook.room.units
    parts = [] if first else [f"<h2>{day(one.day, f'day/{one.day.isoformat()}')}</h2>"]
    over = [at for at in outlook.round_times() if at.date() == one.day and outlook.is_noted(at)]
    parts += [
        f"<p>Round {clock(at, f'round/{at.isoformat()}#-0')}: over, and noted.</p>" for at in over
    ]
    parts += [_round(plan, feed, steps, units) for _, feed, steps in one.rounds]
    if not one.rounds and not over:
        parts.append("<p>No feeding.</p>")
    if one.besides:
        at_rounds = {r.at for r in outlook.feedings if r.fed}
        items = (_besides(t, units, at_rounds) for t in one.besides)
        parts.append(f"<h3>To set going, and besides</h3>{rail(items)}")
    if cautions := cautions_of(one.tasks()):
        parts.append(care("Take care", map(plan_words, cautions)))
    return f'<section class="sheetpage" id="day-{one.day.isoformat()}">{"".join(parts)}</section>'


def _round(plan: Plan, feed: Feed, steps: Sequence[Step], units: str) -> str:
    """One round: steps, then the tanks."""
    lines = [line for line in plan.lines if line.at == feed.at and line.amount > 0]
    foods = live_foods(lines)
    tanks = feeding_table(
        lines,
        ["tank and brood", *food_heads(foods, lines)],
        lambda line: phrase(dose_phrase(line, lines, units)),
        foot=["in all", *(phrase(in_all(lines, food, units, feed)) for food in foods)],
    )
    caption = "What each tank gets, in the order of the walk"
    aside = f"<small>{plan_words(why_text(feed, units))}</small>"
    return round_article(feed, (_step(x, feed.at) for x in steps), caption, tanks, aside=aside)


def round_article(
    feed: Feed, steps: Iterable[str], caption: str, table: str, *, aside: str = ""
) -> str:
    """The frame of a round."""
    return (
        f'<article class="round"><h3><span>Round {clock(feed.at, f"{feed.id}#at")}</span>{aside}'
        f'</h3><div class="in">{rail(steps)}'
        f'<label class="feedbox">{box(feed.id)} {caption}</label>{table}</div></article>'
    )


def rail(items: Iterable[str]) -> str:
    """Steps under each other, each with its time."""
    return f'<ol class="rail">{"".join(items)}</ol>'


def _step(step: Step, at: datetime) -> str:
    if step.before_min is not None:
        of = f"round/{at.isoformat()}#-{step.before_min}"
    elif step.task is not None:
        of = f"{step.task.id}#{'at' if step.at == step.task.at else 'at+settle'}"
    else:
        of = f"round/{at.isoformat()}#settle"
    return step_item(clock(step.at, of), step.task, step.text)


def step_item(
    time_html: str, task: Task | None, text: Phrase, *, why: str = "", named: str = ""
) -> str:
    """A step with its time and, if it completes a task, its box; ``named``: what the box says."""
    words = phrase(text, capital=True)
    reason = f'<span class="why">{plan_words(why)}</span>' if why else ""
    mark = '<span aria-hidden="true">·</span>'
    if task is not None:
        # A label inside the grid would merge two of its cells, so the box is named instead.
        mark = f'{box(task.id)[:-1]} aria-label="{esc(named or plain(text)[:80])}">'
    return f"<li>{time_html}{mark}<span>{words}</span>{reason}</li>"


def _besides(task: Task, units: str, at_rounds: set[datetime]) -> str:
    why = "" if isinstance(task, _SELF_TOLD) else why_text(task, units)
    after = after_round(task, at_rounds)
    text = (after, *task_phrase(task, units)) if after else task_phrase(task, units)
    return step_item(clock(task.at, f"{task.id}#at"), task, text, why=why)


def feeding_table(
    lines: Sequence[FeedLine], head: Sequence[str], cell: Callable[[FeedLine], str],
    foot: Sequence[str] = (),
) -> str:  # fmt: skip
    """Tank by tank, with a last row where there are several.

    Args:
        cell: how a line is written.
    """
    foods = live_foods(lines)
    rows = [
        [f'{plan_words(tank)} <span class="brood">{plan_words(brood)}</span>',
         *(cell(line) if line is not None else "–" for line in given)]
        for tank, brood, given in feed_rows(lines, foods)
    ]  # fmt: skip
    # With many foods a phone shows it as a list.
    name = "feeding many" if len(foods) > _NARROW_FOODS else "feeding"
    return table(
        "Amounts of each food", head, rows, name=name, right=range(1, 1 + len(foods)),
        foot=foot if len(rows) > 1 else (),
    )  # fmt: skip


def count_boxes(days: Sequence[Day]) -> int:
    """Boxes to tick on these days: one for each task of the plan."""
    return sum(len(one.tasks()) for one in days)
