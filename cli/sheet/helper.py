"""The sheet for the person who minds the room: plain words, and only what a helper may do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from cli.options import Setting
from cli.progress import working
from cli.screens.today import cautions_of
from cli.sheet.absence import Absence, plan_absence
from cli.sheet.helper_words import (
    BLANKS,
    CLOSE_BOX,
    FIRST_FOOD,
    HOW,
    IF_WRONG,
    LEAVE_ALONE,
    MAINS,
    OPEN_BOX,
    SIEVE,
    SIEVE_EELS,
    SOAK,
)
from cli.sheet.keeper import keeper_page
from cli.sheet.markup import box, clock, day, esc, moment_text, phrase, plan_words, table
from cli.sheet.page import Sheet, page
from cli.sheet.rounds import feeding_class
from cli.telling import tell
from cultures.foods.food import DRY
from cultures.needs.need import Round
from cultures.planning.preparation import Step, live_foods, steps_of
from cultures.tasks.task import HELPERS_WORK, Feed, FirstFood, HarvestWorms, Soak, Task
from cultures.tasks.told import FeedLine
from cultures.words.quantities import dose, food_name, fraction, millilitres
from cultures.words.tasks import DRAW_ML, Phrase, Words, figure, in_vinegar, line_figure


def helper_sheet(setting: Setting, away: tuple[date | None, date | None], *, paper: str) -> Sheet:
    """The page for the days of an absence.

    Raises:
        UsageProblemError: days that make no absence.
    """
    with working("Planning the days away"):
        absence = plan_absence(setting, *away)
    tasks = absence.helper_tasks()
    envelopes = envelope_numbers(absence)
    days = "".join(_day(absence, tasks, one, envelopes) for one in absence.days())
    title = f"{absence.plan.room}: for the helper, {absence.first} to {absence.last}"
    html = page(
        title, paper=paper,
        head=(
            f"<h1>Feeding the fry: {plan_words(absence.plan.room)}</h1>"
            f"<p>{day(absence.first, 'away#from')} to {day(absence.last, 'away#to')}</p>"
        ),
        body=(
            f'<section class="sheetpage" id="helper">{_intro(tasks)}</section>'
            f"{days}"
            f"{keeper_page(absence, envelopes)}"
        ),
        foot=(
            f"Planned {moment_text(absence.plan.start, 'plan#from')}. Quantities are estimates to"
            " plan by, not veterinary advice."
        ),
    )  # fmt: skip

    def told() -> None:
        tell(setting, absence.outlook, tasks, "helper",
             lambda t: isinstance(t.task, HELPERS_WORK) and absence.covers(t.task.at))  # fmt: skip

    return Sheet(html, len(tasks), len(absence.days()), told)


def envelope_numbers(absence: Absence) -> dict[str, int]:
    """Number of the envelope of dry food by the id of its soak task."""
    soaks = [t for t in absence.helper_tasks() if isinstance(t, Soak)]
    return {task.id: i + 1 for i, task in enumerate(soaks)}


def _intro(tasks: Sequence[Task]) -> str:
    blanks = "".join(f'<p>{text}<span class="blank"></span></p>' for text in BLANKS)
    care = "".join(f"<li>{plan_words(text)}</li>" for text in cautions_of(tasks))
    return (
        f"{blanks}<h2>How a round goes</h2><ul>{_items(HOW)}</ul>"
        f'<div class="care"><strong>Leave alone</strong><ul>{_items(LEAVE_ALONE)}</ul></div>'
        f"<h2>If something is wrong</h2><ul>{_items(IF_WRONG)}</ul>"
        f'<div class="care"><strong>Take care</strong><ul>{care}<li>{esc(MAINS)}</li></ul></div>'
    )


def _items(texts: Sequence[str]) -> str:
    return "".join(f"<li>{esc(text)}</li>" for text in texts)


def _day(absence: Absence, tasks: Sequence[Task], one: date, envelopes: Mapping[str, int]) -> str:
    parts = []
    for feeding in absence.outlook.feedings:
        feed = next((t for t in tasks if isinstance(t, Feed) and t.at == feeding.at), None)
        if feeding.at.date() == one and feed is not None:
            parts.append(_round(absence, tasks, feeding, feed, envelopes))
    if not parts:
        parts.append("<p>Nothing is to be fed on this day.</p>")
    title = f"<h2>{day(one, f'day/{one.isoformat()}')}</h2>"
    return f'<section class="sheetpage">{title}{"".join(parts)}</section>'


def _round(
    absence: Absence, tasks: Sequence[Task], feeding: Round, feed: Feed,
    envelopes: Mapping[str, int],
) -> str:  # fmt: skip
    units = absence.outlook.room.units
    steps = steps_of(absence.outlook, tasks, feeding.at)
    kinds = absence.outlook.room.kinds
    cups = {span.name: kinds[span.kind].label for span in absence.outlook.cultures()}
    items = "".join(_step(step, feeding, feed, envelopes, cups, units) for step in steps)
    title = clock(feeding.at, f"{feed.id}#at")
    return (
        f'<article class="round"><h3><span>Round {title}</span></h3><div class="in">'
        f'<ol class="rail">{items}</ol>'
        f'<label class="feedbox">{box(feed.id)} Feed each tank, in this order</label>'
        f"{_table(absence, feeding, units)}</div></article>"
    )


def _step(
    step: Step, feeding: Round, feed: Feed, envelopes: Mapping[str, int],
    cups: Mapping[str, str], units: str,
) -> str:  # fmt: skip
    task = step.task
    if step.before_min is not None:
        of = f"round/{feeding.at.isoformat()}#-{step.before_min}"
    else:
        of = f"{task.id if task else feed.id}#at"
    if task is None:
        mark, text = '<span aria-hidden="true">·</span>', step.text
    else:
        mark = box(task.id)[:-1] + ' aria-label="done">'
        text = _plainly(task, envelopes, cups, units)
    return f"<li>{clock(step.at, of)}{mark}<span>{phrase(text, capital=True)}</span></li>"


def _plainly(
    task: Task,
    envelopes: Mapping[str, int],
    cups: Mapping[str, str],
    units: str,
) -> Phrase:
    """A task for someone who has never done it."""
    name = Words(task.subject)
    if isinstance(task, Soak):
        return (f"open envelope {envelopes[task.id]}{SOAK}",)
    if isinstance(task, FirstFood):
        return (name, " in ", Words(task.other), FIRST_FOOD)
    assert isinstance(task, HarvestWorms), task.id
    if task.swipes is not None:
        swipes = figure(task, "swipes", fraction(task.swipes, 4))
        return ("box ", name, OPEN_BOX, " ", swipes, CLOSE_BOX.format(cups[task.subject]))
    drawn = figure(task, "draws", millilitres((task.draws or 0.0) * DRAW_ML, units))
    if in_vinegar(task):
        return ("bottle ", name, ": take ", drawn, SIEVE_EELS)
    return ("culture ", name, ": take ", drawn, SIEVE)


def _table(absence: Absence, feeding: Round, units: str) -> str:
    lines = [x for x in absence.plan.lines if x.at == feeding.at and x.amount > 0]
    foods = live_foods(lines)
    rows = []
    for tank, brood in dict.fromkeys((x.tank, x.brood) for x in lines):
        mine = {x.food: x for x in lines if (x.tank, x.brood) == (tank, brood)}
        rows.append([
            f'{plan_words(tank)} <span class="brood">{plan_words(brood)}</span>',
            *(_cell(mine.get(food), units) for food in foods),
        ])  # fmt: skip
    return table(
        "Amounts of each food", ["tank", *(food_name(f) for f in foods)], rows,
        name=feeding_class(foods),
        right=range(1, 1 + len(foods)),
    )  # fmt: skip


def _cell(line: FeedLine | None, units: str) -> str:
    if line is None:
        return "–"
    if line.food == DRY:
        return "its twist"
    return phrase((line_figure(line, dose(line.amount, line.unit, units)),))
