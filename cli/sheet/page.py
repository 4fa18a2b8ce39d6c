"""The whole sheet as one page of HTML."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta

from attrs import frozen

from cli.drawing.courses import DrawnBrood, drawn_broods, drawn_cultures
from cli.drawing.pictures import CULTURE_SAYS, SHOWN, brood_says, shares, vessels
from cli.options import Setting
from cli.screens.entry import besides
from cli.screens.remarks import said_once
from cli.screens.shortfalls import if_the_tin, is_urgent, others_instead
from cli.sheet.parts import Item, Said, day, moment
from cli.sheet.rounds import Day, count_boxes, day_view, days_of
from cli.sheet.tables import cultures_table, shortfall_views, stock_table
from cli.sheet.type_size import type_size
from cli.sheet.wall import wall_view
from cli.templates import render
from cultures.planning.outlook import Outlook
from cultures.room.room import Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import HarvestHatch, Retire, SetHatch, Split, Start
from cultures.tasks.told import ToldTask
from cultures.words.moments import year_text
from cultures.words.quantities import in_units
from cultures.words.tasks import Words, brief_text, plain, task_phrase

#: Paper sizes, as a style sheet says them.
PAPERS = {"a4": "210mm 297mm", "letter": "8.5in 11in"}


_NOON = 12
#: Fewer days have no page for the wall.
_A_WALL_DAYS = 3
#: More questions than so many would take a page of their own.
_MOST_ASKED = 12
_UNTICKED = (
    "A box without a tick counts as done once it is over. If it was not: livefood journal due, then"
    " livefood journal skip NUMBER."
)
_HOW_TO_ANSWER = (
    "Tick what was not done, and note it as the foot of this page says. If all of it is right:"
    " livefood journal done."
)


@frozen(eq=False)
class Sheet:
    """A page, how many boxes it has, for how many days, and what puts into the record that it
    was told; ``more``: what is to be said besides.
    """

    html: str
    boxes: int
    days: int
    tell: Callable[[], None]
    more: str = ""


def sheet_days(outlook: Outlook, plan: Plan, count: int) -> list[Day]:
    """The days that the sheet lists: from today on, or from tomorrow when today has nothing left
    to tick.

    One of a single day whose last round is all that is left of it lists the next day too, so that
    the morning's doses hang on the wall when the morning comes.
    """
    first = outlook.now.date()
    today = days_of(outlook, plan, [first])
    if not count_boxes(today):
        first += timedelta(days=1)
    elif count == 1 and _is_nearly_over(outlook, today[0]):
        count = 2
    last = outlook.until.date()
    wanted = [first + timedelta(days=i) for i in range(count)]
    return days_of(outlook, plan, [one for one in wanted if one <= last])


def _is_nearly_over(outlook: Outlook, today: Day) -> bool:
    """Whether no more than a round is left of a day, in the afternoon or after another one."""
    room, left = outlook.room, [feed.at for feed, _ in today.rounds]
    times = (room.local(today.day, at) for at in room.rounds_on(today.day))
    over = any(at <= outlook.now and at not in left for at in times)
    return len(left) <= 1 and (over or outlook.now.hour >= _NOON)


def sheet_page(
    setting: Setting, outlook: Outlook, plan: Plan, days: list[Day], *, paper: str,
    asked: Sequence[ToldTask] = (),
) -> str:  # fmt: skip
    """The page: what was not noted, the days, then the weeks ahead.

    Args:
        days: as made by :func:`sheet_days`. paper: a key of :data:`PAPERS`. asked: what is taken as
            done because it was told.
    """
    units, first, last = outlook.room.units, days[0].day, days[-1].day
    alone, short = first == last, list(enumerate(plan.shortfalls))
    urgent = [x for x in short if is_urgent(x[1], outlook.now)]
    views = [day_view(outlook, plan, one) for one in days]
    doubts = [_doubt(told, outlook.room) for told in asked[:_MOST_ASKED]]
    questions = [_HOW_TO_ANSWER, *(f"not done: {x.at.shown} {plain(x.text)}" for x in doubts)]
    for number, view in enumerate(views):
        short_above, lines = (0, []) if number else (len(urgent), questions)
        view["size"] = type_size(
            view, paper, shortfalls=short_above, besides=[_UNTICKED, *lines]
        )  # fmt: skip
    cultures = drawn_cultures(setting, outlook)
    broods = drawn_broods(setting, outlook)
    begins, ends = (year_text(each, units) for each in (first, last))
    return render(
        "cli.sheet", "sheet.html", paper=PAPERS[paper], units=units,
        room=Words(plan.room), alone=alone,
        title=f"{plan.room}: {begins if alone else f'{begins} to {ends}'}",
        first=day(first, "sheet#first"), last=day(last, "sheet#last"),
        wall=wall_view(outlook, plan, days) if len(days) >= _A_WALL_DAYS else None,
        days=views, doubts=doubts, more_doubts=len(asked) - len(doubts),
        how_to_answer=_HOW_TO_ANSWER, unticked=_UNTICKED,
        parts=[
            *((view["id"], view["title"]) for view in views),
            ("ahead", "The weeks ahead"),
            *((part, part.capitalize()) for part, drawn in
              (("cultures", cultures), ("fry", broods)) if drawn),
        ],
        urgent=shortfall_views(urgent, units),
        shortfalls=shortfall_views([x for x in short if x not in urgent], units),
        instead=others_instead(plan.stops) + if_the_tin(plan.doubted),
        enough=not any(s.certain for s in plan.shortfalls),
        notes=[Words(in_units(text, units)) for text in said_once(plan.notes)],
        changes=[
            (moment(t.at, f"{t.id}#at"), ": ", *task_phrase(t, outlook.room.tools))
            for t in plan.tasks if isinstance(t, Split | Start | Retire)
        ],
        shares=shares(plan, outlook.now, units),
        hatches=[
            (moment(t.at, f"{t.id}#at"), f": {t.what.replace('_', ' ')} ", Words(t.subject))
            for t in plan.tasks if isinstance(t, SetHatch | HarvestHatch)
        ],
        vessels=vessels(outlook) if outlook.room.vessels else None,
        cultures_table=cultures_table(outlook, plan), stock_table=stock_table(plan, units),
        cultures=[(Words(c.course.culture.name), c.drawn) for c in cultures],
        cultures_say=CULTURE_SAYS,
        broods=[(Words(b.course.brood.name), b.drawn, _dates(b)) for b in broods],
        broods_say=brood_says(units),
        planned=moment(plan.start, "plan#from"), until=moment(plan.end, "plan#to"),
    )  # fmt: skip


def _doubt(told: ToldTask, room: Room) -> Item:
    """What is taken as done, with a box for that it was not: a question of `today`."""
    task = told.task
    text = f"{brief_text(task, room.tools)}{besides(room, task.id)}"
    at, named = moment(task.at, f"{task.id}#at"), f"Not done: {text[:80]}"
    return Item(at, (Words(text),), (task.id,), named)


def _dates(brood: DrawnBrood) -> list[Said]:
    """Its dates of the next six weeks, of the kinds that its picture marks."""
    name = brood.course.brood.name
    return [
        (day(d.day, f"brood/{name}/{d.what}"), f" {SHOWN[d.what]}")
        for d in brood.dates if d.what in SHOWN
    ]  # fmt: skip
