"""The sheet for the person who minds the room: plain words, and only what a helper may do."""

from __future__ import annotations

from datetime import date
from typing import Any

from cli.options import Setting
from cli.screens.care import cautions_of
from cli.sheet import helper_words as said
from cli.sheet.absence import Absence, plan_absence
from cli.sheet.keeper import keeper_view
from cli.sheet.page import PAPERS, Sheet
from cli.sheet.parts import Item, Round, Said, clock, day, moment
from cli.sheet.rounds import feeding_table, item, step_clock
from cli.sheet.type_size import type_size
from cli.telling import tell
from cli.templates import render
from cli.working import working
from cultures.foods.food import DRY
from cultures.planning.preparation import Step, live_foods, steps_of
from cultures.planning.supplies import supply_name
from cultures.tasks.task import HELPERS_WORK, Feed, FirstFood, HarvestWorms, Soak, Task
from cultures.tasks.told import FeedLine
from cultures.words.grouped import names
from cultures.words.moments import year_text
from cultures.words.quantities import food_name
from cultures.words.tasks import Phrase, Words, figure, in_vinegar, left_out, line_figure
from cultures.words.tools import Tools
from cultures.words.units import DRAW_ML


def helper_sheet(setting: Setting, away: tuple[date | None, date | None], *, paper: str) -> Sheet:
    """The page for the days of an absence.

    Raises:
        UsageProblemError: days that make no absence.
    """
    with working("Planning the days away"):
        absence = plan_absence(setting, *away)
    tasks, room, days = absence.helper_tasks(), absence.plan.room, absence.days()
    views, rules = [_day(absence, one, paper) for one in days], ("helper", "How a round goes")
    units = absence.outlook.room.units
    first, last = (year_text(each, units) for each in (absence.first, absence.last))
    html = render(
        "cli.sheet", "helper.html", paper=PAPERS[paper], units=units,
        title=f"{room}: for the helper, {first} to {last}", room=Words(room),
        first=day(absence.first, "away#from"), last=day(absence.last, "away#to"),
        blanks=said.BLANKS, how=[*said.HOW, *_of_foods(absence), *_of_parcels(absence)],
        alone=said.LEAVE_ALONE, wrong=said.IF_WRONG,
        care=[*map(Words, cautions_of(tasks)), said.MAINS], days=views,
        parts=[rules, *((d["id"], d["title"]) for d in views), ("keeper", "For the keeper")],
        keeper=keeper_view(absence), unticked=said.UNTICKED,
        planned=moment(absence.plan.start, "plan#from"),
    )  # fmt: skip

    def told() -> None:
        tell(setting, absence.outlook, tasks, "helper",
             lambda t: isinstance(t.task, HELPERS_WORK) and absence.covers(t.task.at),
             printed=(absence.first, absence.last))  # fmt: skip

    return Sheet(html, len(tasks), len(days), told, absence.unknown)


def _day(absence: Absence, one: date, paper: str) -> dict[str, Any]:
    rounds = [
        _round(absence, task) for task in absence.helper_tasks()
        if isinstance(task, Feed) and task.at.date() == one
    ]  # fmt: skip
    of = f"day/{one.isoformat()}"
    view = {"id": of.replace("/", "-"), "title": day(one, of), "rounds": rounds}
    return {**view, "size": type_size({**view, "besides": (), "cautions": ()}, paper)}


def _of_foods(absence: Absence) -> list[str]:
    """What is to be explained of the foods that are fed on these days."""
    fed = {x.food for x in absence.plan.lines if x.amount > 0 and absence.covers(x.at)}
    where = said.JARS[absence.outlook.room.fridge_c is not None]
    return [text.format(where=where) for food, text in said.OF_FOODS.items() if food in fed]


def _of_parcels(absence: Absence) -> list[Said]:
    """What is to be done with what is on order for these days."""
    return [
        (said.PARCEL, day(o.day, f"{o.key}#day"), ": ", Words(supply_name(o.item)), said.TAKE_IN)
        for o in absence.parcels() if o.day is not None
    ]  # fmt: skip


def _round(absence: Absence, feed: Feed) -> Round:
    every = absence.plan.lines_at(feed.at)
    lines = [x for x in every if x.amount > 0]
    head = ["tank", *(food_name(food) for food in live_foods(lines))]
    tools = absence.outlook.room.tools
    table = feeding_table(lines, head, lambda line: _cell(line, tools))
    steps = steps_of(absence.outlook, absence.helper_tasks(), feed.at)
    return Round(
        feed.id, clock(feed.at, f"{feed.id}#at"), [_step(absence, step, feed) for step in steps],
        "Feed each tank, in this order", table,
        skipped=Words("; ".join(filter(None, (left_out(every), _nothing_for(absence, feed))))),
    )  # fmt: skip


def _nothing_for(absence: Absence, feed: Feed) -> str:
    """The tanks whose fry eat and get nothing at a round: who walks past them wonders, and would
    feed them of what others get.
    """
    outlook = absence.outlook
    given = {line.tank for line in absence.plan.lines_at(feed.at) if line.amount > 0}
    needs = (
        need for feeding, row in zip(outlook.feedings, outlook.needs, strict=True)
        if feeding.at == feed.at for need in row if need.energy_j > 0.0
    )  # fmt: skip
    tanks = dict.fromkeys(need.brood.tank for need in needs if need.brood.tank not in given)
    return f"nothing for {names([*tanks])} at this round" if tanks else ""


def _step(absence: Absence, step: Step, feed: Feed) -> Item:
    text = step.text if step.task is None else plainly(absence, step.task)
    return item(step_clock(step, feed.at), step.task, text, named="done")


def plainly(absence: Absence, task: Task) -> Phrase:
    """A task for someone who has never done it."""
    name, room = Words(task.subject), absence.outlook.room
    if isinstance(task, Soak):
        return (f"open envelope {absence.envelopes()[task.id]}{said.SOAK}",)
    if isinstance(task, FirstFood):
        return (name, " in ", Words(task.other), said.FIRST_FOOD)
    assert isinstance(task, HarvestWorms), task.id
    if task.swipes is not None:
        kind = next(c.kind for c in absence.plan.cultures if c.name == task.subject)
        swipes = figure(task, "swipes", said.times(task.swipes))
        opens = said.OPEN_BOX.format(task.other or "the wall")
        return ("box ", name, opens, " ", swipes, said.CLOSE_BOX.format(room.kinds[kind].label))
    poured = room.tools.poured((task.draws or 0.0) * DRAW_ML)
    drawn, with_it = figure(task, "draws", poured.text), said.WITH[poured.by]
    if in_vinegar(task):
        return ("bottle ", name, ": take ", drawn, said.SIEVE_EELS.format(with_it=with_it))
    return ("culture ", name, ": take ", drawn, said.SIEVE.format(with_it=with_it))


def _cell(line: FeedLine, tools: Tools) -> Said:
    if line.food == DRY:
        return "its twist"
    return line_figure(line, tools.poured(line.amount).text)
