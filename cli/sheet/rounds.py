"""Days of the sheet: rounds with boxes to tick, and what else is to be done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from attrs import frozen

from cli.screens.salt_and_jars import all_steps
from cli.screens.today import after_round, cautions_of, food_heads
from cli.sheet.markup import box, clock, data, day, esc, phrase, plan_words, table
from cultures.planning.outlook import Outlook
from cultures.planning.preparation import Step, dose_phrase, live_foods
from cultures.tasks.plan import Plan
from cultures.tasks.task import Feed, FirstFood, HarvestHatch, Task
from cultures.tasks.told import FeedLine
from cultures.words.quantities import dose
from cultures.words.quantities import grams as grams_text
from cultures.words.tasks import Phrase, plain, soaked_ml, task_phrase, why_text

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
            if at.date() != one or feed is None or outlook.is_noted(at):
                continue
            steps = tuple(all_steps(outlook, plan.tasks, at))
            taken.update({feed.id, *(s.task.id for s in steps if s.task is not None)})
            rounds.append((at, feed, steps))
        found.append((one, tuple(rounds)))
    return [
        Day(one, rounds, tuple(t for t in plan.tasks if t.at.date() == one and t.id not in taken))
        for one, rounds in found
    ]


def day_section(outlook: Outlook, plan: Plan, one: Day, *, first: bool) -> str:
    """One day, on a page of its own when printed; ``first`` has its date in the page's head."""
    units = outlook.room.units
    title = day(one.day, f"day/{one.day.isoformat()}")
    parts = [f"<h2>{title}</h2>"] if not first else []
    timed: list[tuple[datetime, int, str]] = [
        (at, 0, round_article(plan, at, feed, steps, units)) for at, feed, steps in one.rounds
    ]
    over = [at for at in outlook.round_times() if at.date() == one.day and outlook.is_noted(at)]
    parts += [
        f"<p>Round {clock(at, f'round/{at.isoformat()}#-0')}: over, and noted.</p>" for at in over
    ]
    if not one.rounds and not over:
        timed.append((outlook.room.local(one.day, outlook.room.rounds[0]), 0, "<p>No feeding.</p>"))
    parts += [html for _, _, html in sorted(timed, key=lambda item: item[:2])]
    if one.besides:
        parts.append("<h3>To set going, and besides</h3>")
        at_rounds = {r.at for r in outlook.feedings if r.fed}
        items = "".join(_besides(t, units, at_rounds) for t in one.besides)
        parts.append(f'<ol class="rail">{items}</ol>')
    parts.append(care([one]))
    return f'<section class="sheetpage" id="day-{one.day.isoformat()}">{"".join(parts)}</section>'


def round_article(plan: Plan, at: datetime, feed: Feed, steps: Sequence[Step], units: str) -> str:
    """One round: steps, then the tanks."""
    lines = [line for line in plan.lines if line.at == at and line.amount > 0]
    title = clock(at, f"{feed.id}#at")
    items = "".join(_step(step, at) for step in steps)
    why = plan_words(why_text(feed, units))
    caption = "What each tank gets, in the order of the walk"
    return (
        f'<article class="round"><h3><span>Round {title}</span><small>{why}</small></h3>'
        '<div class="in">'
        f'<ol class="rail">{items}</ol>'
        f'<label class="feedbox">{box(feed.id)} {caption}</label>'
        f"{feeding_table(lines, feed, units)}</div></article>"
    )


def _step(step: Step, at: datetime) -> str:
    if step.before_min is not None:
        of = f"round/{at.isoformat()}#-{step.before_min}"
    elif step.task is not None:
        of = f"{step.task.id}#{'at' if step.at == step.task.at else 'at+settle'}"
    else:
        of = f"round/{at.isoformat()}#settle"
    return _item(clock(step.at, of), step.task, step.text)


def _item(time_html: str, task: Task | None, text: Phrase, why: str = "") -> str:
    words = phrase(text, capital=True)
    reason = f'<span class="why">{plan_words(why)}</span>' if why else ""
    if task is None:
        return f'<li>{time_html}<span aria-hidden="true">·</span><span>{words}</span>{reason}</li>'
    # A label inside the grid would merge two of its cells, so the box is named instead.
    named = box(task.id)[:-1] + f' aria-label="{esc(plain(text)[:80])}">'
    return f"<li>{time_html}{named}<span>{words}</span>{reason}</li>"


def _besides(task: Task, units: str, at_rounds: set[datetime]) -> str:
    why = "" if isinstance(task, _SELF_TOLD) else why_text(task, units)
    after = after_round(task, at_rounds)
    text = (after, *task_phrase(task, units)) if after else task_phrase(task, units)
    return _item(clock(task.at, f"{task.id}#at"), task, text, why)


def feeding_table(lines: Sequence[FeedLine], feed: Feed, units: str) -> str:
    """Tank by tank, with what all get together in the last row."""
    foods = live_foods(lines)
    rows = []
    for tank, brood in dict.fromkeys((line.tank, line.brood) for line in lines):
        mine = {line.food: line for line in lines if (line.tank, line.brood) == (tank, brood)}
        head = f'{plan_words(tank)} <span class="brood">{plan_words(brood)}</span>'
        cells = [
            phrase(dose_phrase(mine[food], lines, units)) if food in mine else "–" for food in foods
        ]
        rows.append([head, *cells])
    foot = ["in all", *(_total(lines, food, feed, units) for food in foods)]
    return table(
        "Amounts of each food",
        ["tank and brood", *food_heads(foods, lines)], rows,
        name=feeding_class(foods), right=range(1, 1 + len(foods)),
        foot=foot if len(rows) > 1 else (),
    )  # fmt: skip


def feeding_class(foods: Sequence[str]) -> str:
    """The style of a feeding table: with many foods a phone shows it as a list."""
    return "feeding many" if len(foods) > _NARROW_FOODS else "feeding"


def _total(lines: Sequence[FeedLine], food: str, feed: Feed, units: str) -> str:
    if food == "dry":
        dry_g = feed.dry_g or 0.0
        weighed = data(grams_text(dry_g, units), dry_g, f"{feed.id}#dry_g")
        water = soaked_ml(dry_g, dry_g, units)
        if water is None:
            return weighed
        wet = data(dose(water, "mL", units), water, f"{feed.id}#soak_ml")
        return wet if units == "us" else f"{wet} ({weighed})"
    whole = sum(line.amount for line in lines if line.food == food)
    return data(dose(whole, "mL", units), whole, f"{feed.id}#{food}_ml")


def care(days: Sequence[Day]) -> str:
    """The cautions of all that is to be done on these days, each once."""
    cautions = cautions_of(task for one in days for task in one.tasks())
    if not cautions:
        return ""
    items = "".join(f"<li>{plan_words(text)}</li>" for text in cautions)
    return f'<div class="care"><strong>Take care</strong><ul>{items}</ul></div>'


def count_boxes(days: Sequence[Day]) -> int:
    """Boxes to tick on these days: one for each task of the plan."""
    return sum(len(one.tasks()) for one in days)
