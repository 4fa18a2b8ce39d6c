"""The sheet for the person who minds the room: plain words, and only what a helper may do."""

from __future__ import annotations

from collections.abc import Sequence
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
from cli.sheet.markup import bullets, care, clock, day, esc, moment_text, phrase, plan_words
from cli.sheet.page import Sheet, page
from cli.sheet.rounds import feeding_table, round_article, step_item
from cli.telling import tell
from cultures.foods.food import DRY
from cultures.planning.preparation import Step, live_foods, steps_of
from cultures.tasks.task import HELPERS_WORK, Feed, FirstFood, HarvestWorms, Soak, Task
from cultures.tasks.told import FeedLine
from cultures.words.quantities import dose, food_name, fraction, millilitres
from cultures.words.tasks import Phrase, Words, figure, in_vinegar, line_figure
from cultures.words.units import DRAW_ML


def helper_sheet(setting: Setting, away: tuple[date | None, date | None], *, paper: str) -> Sheet:
    """The page for the days of an absence.

    Raises:
        UsageProblemError: days that make no absence.
    """
    with working("Planning the days away"):
        absence = plan_absence(setting, *away)
    tasks = absence.helper_tasks()
    title = f"{absence.plan.room}: for the helper, {absence.first} to {absence.last}"
    html = page(
        title, paper=paper,
        head=(
            f"<h1>Feeding the fry: {plan_words(absence.plan.room)}</h1>"
            f"<p>{day(absence.first, 'away#from')} to {day(absence.last, 'away#to')}</p>"
        ),
        body=(
            f'<section class="sheetpage" id="helper">{_intro(tasks)}</section>'
            f"{''.join(_day(absence, one) for one in absence.days())}"
            f"{keeper_page(absence)}"
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


def _intro(tasks: Sequence[Task]) -> str:
    blanks = "".join(f'<p>{text}<span class="blank"></span></p>' for text in BLANKS)
    cautions = [*map(plan_words, cautions_of(tasks)), esc(MAINS)]
    return (
        f"{blanks}<h2>How a round goes</h2>{bullets(map(esc, HOW))}"
        f"{care('Leave alone', map(esc, LEAVE_ALONE))}"
        f"<h2>If something is wrong</h2>{bullets(map(esc, IF_WRONG))}"
        f"{care('Take care', cautions)}"
    )


def _day(absence: Absence, one: date) -> str:
    rounds = [
        _round(absence, task) for task in absence.helper_tasks()
        if isinstance(task, Feed) and task.at.date() == one
    ]  # fmt: skip
    fed = "".join(rounds) or "<p>Nothing is to be fed on this day.</p>"
    title = f"<h2>{day(one, f'day/{one.isoformat()}')}</h2>"
    return f'<section class="sheetpage">{title}{fed}</section>'


def _round(absence: Absence, feed: Feed) -> str:
    lines = [x for x in absence.plan.lines if x.at == feed.at and x.amount > 0]
    head = ["tank", *(food_name(food) for food in live_foods(lines))]
    tanks = feeding_table(lines, head, lambda line: _cell(line, absence.outlook.room.units))
    steps = steps_of(absence.outlook, absence.helper_tasks(), feed.at)
    items = (_step(absence, step, feed) for step in steps)
    return round_article(feed, items, "Feed each tank, in this order", tanks)


def _step(absence: Absence, step: Step, feed: Feed) -> str:
    task = step.task
    of = f"{task.id if task else feed.id}#at"
    if step.before_min is not None:
        of = f"round/{feed.at.isoformat()}#-{step.before_min}"
    text = step.text if task is None else plainly(absence, task)
    return step_item(clock(step.at, of), task, text, named="done")


def plainly(absence: Absence, task: Task) -> Phrase:
    """A task for someone who has never done it."""
    name, room = Words(task.subject), absence.outlook.room
    if isinstance(task, Soak):
        return (f"open envelope {absence.envelopes()[task.id]}{SOAK}",)
    if isinstance(task, FirstFood):
        return (name, " in ", Words(task.other), FIRST_FOOD)
    assert isinstance(task, HarvestWorms), task.id
    if task.swipes is not None:
        kind = next(c.kind for c in absence.plan.cultures if c.name == task.subject)
        swipes = figure(task, "swipes", fraction(task.swipes, 4))
        return ("box ", name, OPEN_BOX, " ", swipes, CLOSE_BOX.format(room.kinds[kind].label))
    drawn = figure(task, "draws", millilitres((task.draws or 0.0) * DRAW_ML, room.units))
    if in_vinegar(task):
        return ("bottle ", name, ": take ", drawn, SIEVE_EELS)
    return ("culture ", name, ": take ", drawn, SIEVE)


def _cell(line: FeedLine, units: str) -> str:
    if line.food == DRY:
        return "its twist"
    return phrase((line_figure(line, dose(line.amount, line.unit, units)),))
