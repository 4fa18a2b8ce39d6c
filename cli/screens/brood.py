"""``livefood need --brood``: one brood's growth, diet and dates."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from tabulate import tabulate

from cli.screens.as_json import picked
from cli.screens.text import screen_width, wrapped
from cli.screens.us_units import length_text
from cultures.fry.bioenergetics import WELL_FED
from cultures.needs.dates import BroodDate, brood_dates
from cultures.needs.meals import hunger_words
from cultures.needs.need import BroodCourse, BroodNeed, Round
from cultures.tasks.task import as_json, tidy
from cultures.words.moments import day_text, hours, month_day
from cultures.words.quantities import celsius, food_name, in_units, number
from cultures.words.text import capital

_ROWS = 15
_BAR = 24
_CHART_ROWS = 9


def brood_days(course: BroodCourse, start: date, days: int) -> list[BroodNeed]:
    """What it needs on each day from the first feed on, as it is at noon."""
    noons = (course.room.local(start + timedelta(days=i), time(12)) for i in range(days))
    needs = (course.need(Round(0, noon, hours(noon), 1, fed=True, keeper=True)) for noon in noons)
    return [need for need in needs if need is not None]


def brood_json(course: BroodCourse, now: datetime, days: int) -> dict[str, Any]:
    """The same for other programs, with the dates that follow."""
    start = now.date()
    dates = brood_dates(course, start, start + timedelta(days=days))
    return {
        "brood": course.brood.name,
        "tank": course.brood.tank,
        **course.fry_class.named,
        "first_food": course.first_food_day().isoformat(),
        "promised": course.promised(),
        **_fed_json(course, hours(now)),
        "days": [
            {"day": d.at.date().isoformat(), **picked(d, "length_mm"),
             "weight_mg": tidy(course.fry_class.weight_mg(d.length_mm)),
             **picked(d, "count", "energy_j", "foods")}
            for d in brood_days(course, start, days)
        ],
        "dates": [picked(d, "day", "early", "late", "what", "food", "why", "sure") for d in dates],
    }  # fmt: skip


def _fed_json(course: BroodCourse, now_h: float) -> dict[str, Any]:
    """What want of food has made of it, where it went short."""
    state = course.brood.fed
    if state == WELL_FED:
        return {}
    return {"fed": as_json({
        "share": state.share, "days": state.days, "behind_mm": course.behind_mm(now_h),
        "behind_growth_days": state.lag_days, "reserve": state.reserve,
    })}  # fmt: skip


def screen(course: BroodCourse, now: datetime, days: int, *, energy: bool = False) -> str:
    """Growth as a chart and a table with diet shares, and the dates that follow."""
    start = now.date()
    rows = brood_days(course, start, days)
    where = f"tank {course.brood.tank}, {degrees_text(course)}"
    parts = [f"{course.brood.name}, {where}: {course.fry_class.label}"]
    if hunger := hunger_words(course, hours(now)):
        parts.append(wrapped(in_units(f"It was {hunger}.", course.room.units)))
    if not course.promised():
        parts.append(wrapped(_unsure(course)))
    if rows:
        parts += [_chart(rows, course.room.units), _table(course, rows, energy=energy)]
    else:
        first = course.first_food_day()
        parts.append(f"They do not eat before {day_text(first, course.room.units)}.")
    dates = brood_dates(course, start, start + timedelta(days=days))
    if dates:
        parts.append("\n".join(_date_line(d, course.room.units) for d in dates))
    if rows and rows[0].length_mm >= course.fry_class.values["fry_until_mm"]:
        parts.append(wrapped("This brood is past fry age and is planned on dry food."))
    return "\n\n".join(parts)


def _unsure(course: BroodCourse) -> str:
    law = course.fry_class.development
    known = in_units(f"{law.t0_c + 4:g} to {law.t_max_c:g} °C", course.room.units)
    return (
        f"No date of hatching or first food is promised at {degrees_text(course)}: the class"
        f" is known from {known}."
    )


def degrees_text(course: BroodCourse) -> str:
    """The temperature that the brood is reckoned at, in the keeper's units."""
    return celsius(course.temperature_c, course.room.units)


def _chart(rows: Sequence[BroodNeed], units: str) -> str:
    """Length against time."""
    width = min(screen_width() - 10, max(20, len(rows)))
    top = rows[-1].length_mm
    low = min(rows[0].length_mm, top * 0.999)
    grid = [[" "] * width for _ in range(_CHART_ROWS)]
    for x in range(width):
        row = rows[round(x * (len(rows) - 1) / (width - 1))]
        y = round((row.length_mm - low) / (top - low) * (_CHART_ROWS - 1))
        grid[_CHART_ROWS - 1 - y][x] = "*"
    lines = []
    for i, cells in enumerate(grid):
        value = top - (top - low) * i / (_CHART_ROWS - 1)
        label = length_text(value, units, "5.1f") if i % 4 == 0 else ""
        lines.append(f"{label:>8} |{''.join(cells)}".rstrip())
    ends = day_text(rows[0].at, units).ljust(width - 10) + f"{day_text(rows[-1].at, units):>10}"
    return "\n".join([*lines, " " * 9 + "+" + "-" * width, " " * 10 + ends])


def _table(course: BroodCourse, rows: Sequence[BroodNeed], *, energy: bool) -> str:
    units = course.room.units
    step = max(1, math.ceil(len(rows) / _ROWS))
    marks = _marks({food for row in rows for food in row.foods})
    table = [
        [
            day_text(row.at, units), length_text(row.length_mm, units, ".1f").split()[0],
            number(course.fry_class.weight_mg(row.length_mm)), f"{row.count:.0f}",
            *([number(row.energy_j)] if energy else []), _bar(row, marks),
        ]
        for row in rows[::step]
    ]  # fmt: skip
    length = "in" if units == "us" else "mm"
    head = ["", length, "mg", "fry", *(["J a day"] if energy else []), "diet"]
    align = ["left", *(["right"] * (len(head) - 2)), "left"]
    text = tabulate(table, headers=head, tablefmt="simple", colalign=align, disable_numparse=True)
    legend = ", ".join(f"{mark} {food_name(food)}" for food, mark in marks.items())
    return f"{text}\n{legend or 'no food kept here fits the mouth'}"


def _marks(foods: set[str]) -> dict[str, str]:
    """A letter for each food: its first that is not taken."""
    marks: dict[str, str] = {}
    for food in sorted(foods):
        letters = [c for c in food_name(food) if c.isalpha() and c not in marks.values()]
        marks[food] = letters[0] if letters else "?"
    return marks


def _bar(row: BroodNeed, marks: dict[str, str]) -> str:
    """The diet as a bar of letters, its parts rounded so that they fill it."""
    bar, done, share = "", 0, 0.0
    for food, mark in marks.items():
        share += row.foods.get(food, 0.0) / row.energy_j
        upto = round(share * _BAR)
        bar += mark * (upto - done)
        done = upto
    return bar or "-"


def in_brackets(on: BroodDate, units: str) -> str:
    """The days between which a date lies, behind it; nothing where they are one."""
    if on.early == on.late:
        return ""
    return f" ({month_day(on.early, units)} to {month_day(on.late, units)})"


#: Dates that have another name than in JSON, or whose reason says it all.
_SAID = {
    "move_on": "larger tank", "lid": "tight lid", "sort": "sort by size",
    "main_food": "", "food_begins": "", "food_ends": "",
}  # fmt: skip


def _date_line(each: BroodDate, units: str) -> str:
    what = _SAID.get(each.what, each.what.replace("_", " "))
    doubt = "" if each.sure else " Not to be relied on."
    why = in_units(each.why, units)
    text = f"{what}: {why}" if what else capital(why)
    return wrapped(f"{text}{in_brackets(each, units)}{doubt}", 13, day_text(each.day, units))
