"""The whole sheet as one page of HTML."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from attrs import frozen

from cli.sheet.charts import charts
from cli.sheet.markup import MARK, bullets, day, esc, moment_text, plan_words
from cli.sheet.rounds import Day, day_section, days_of
from cli.sheet.style import css
from cli.sheet.tables import cultures_table, shortfall_blocks, stock_table
from cli.sheet.timeline import timeline
from cultures.planning.outlook import Outlook
from cultures.tasks.plan import Plan
from cultures.words.quantities import in_units


@frozen(eq=False)
class Sheet:
    """A page, how many boxes it has, for how many days, and what puts into the record that it
    was told.
    """

    html: str
    boxes: int
    days: int
    tell: Callable[[], None]


def sheet_days(outlook: Outlook, plan: Plan, count: int) -> list[Day]:
    """The days that the sheet lists: from today on, or from tomorrow when today is over."""
    first = outlook.now.date()
    if not any(task.at.date() == first for task in plan.tasks):
        first += timedelta(days=1)
    last = outlook.until.date()
    wanted = [first + timedelta(days=i) for i in range(count)]
    return days_of(outlook, plan, [one for one in wanted if one <= last])


def sheet_page(outlook: Outlook, plan: Plan, days: list[Day], *, paper: str) -> str:
    """The page: the days, then the weeks ahead.

    Args:
        days: as made by :func:`sheet_days`. paper: a key of :data:`cli.sheet.style.PAPERS`.
    """
    units = outlook.room.units
    alone = len(days) == 1
    sections = [day_section(outlook, plan, one, first=alone) for one in days]
    ahead = (
        '<section class="sheetpage" id="ahead"><h2>The weeks ahead</h2>'
        f"{shortfall_blocks(list(enumerate(plan.shortfalls)), units)}{_notes(plan, units)}"
        f"{timeline(outlook, plan)}{charts(plan)}"
        f'<div class="pair"><div>{cultures_table(outlook, plan)}</div>'
        f"<div>{stock_table(plan, units)}</div></div></section>"
    )
    first, last = days[0].day, days[-1].day
    title = f"{plan.room}: {_span(first, last)}"
    return page(
        title, paper=paper,
        head=f"<h1>{plan_words(plan.room)}</h1><p>{_head_days(first, last)}</p>",
        body="".join([*sections, ahead]),
        foot=(
            f"Planned {moment_text(plan.start, 'plan#from')} for the time until"
            f" {moment_text(plan.end, 'plan#to')}. Quantities are estimates to plan by, not"
            " veterinary advice."
        ),
    )  # fmt: skip


def page(title: str, *, paper: str, head: str, body: str, foot: str) -> str:
    """A complete HTML document; needs no network and no script."""
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"{MARK}<title>{esc(title)}</title>\n<style>\n{css(paper)}</style></head>\n"
        f"<body><main><header>{head}</header>\n{body}\n<footer>{foot}</footer></main></body></html>\n"
    )


def _span(first: date, last: date) -> str:
    return first.isoformat() if first == last else f"{first.isoformat()} to {last.isoformat()}"


def _head_days(first: date, last: date) -> str:
    shown = f"{day(first, 'sheet#first')} {first.year}"
    return shown if first == last else f"{shown} to {day(last, 'sheet#last')} {last.year}"


def _notes(plan: Plan, units: str) -> str:
    if not plan.notes:
        return ""
    notes = (plan_words(in_units(note, units)) for note in plan.notes)
    return f"<h3>Notes</h3>{bullets(notes)}"
