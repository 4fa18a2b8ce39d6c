"""``livefood need --brood``: one brood's growth and diet, and the numbers behind its need."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from attrs import frozen
from tabulate import tabulate

from cli.need_text import amount_text
from cli.text import (
    WIDTH,
    celsius,
    food_name,
    in_units,
    milligrams,
    millimetres,
    number,
    plain,
    wrapped,
)
from cli.us_units import MILLI_OUNCE_MG, OUNCE_MG, in_us_unit
from cultures.dates import BroodDate, brood_dates
from cultures.feeding import feeding_values, takable, worth_taking
from cultures.natural_units import natural_amount
from cultures.need import BroodCourse, BroodNeed, Round
from cultures.parameters import sources
from cultures.planning.tasks import tidy
from cultures.room import hours
from cultures.units import INCH_MM

_ROWS = 15
_BAR = 24
_CHART_ROWS = 9


@frozen
class Day:
    """One day of a brood; energy is for the whole brood and day [J]."""

    day: date
    length_mm: float
    weight_mg: float
    count: float
    energy_j: float
    foods: dict[str, float]


def brood_days(course: BroodCourse, start: date, days: int) -> list[Day]:
    """Each day from the first feed on, at noon."""
    found = []
    for i in range(days):
        day = start + timedelta(days=i)
        noon = course.room.local(day, time(12))
        need = course.need(Round(0, noon, hours(noon), 1, fed=True, keeper=True))
        if need is not None:
            weight = course.fry_class.weight_mg(need.length_mm)
            found.append(Day(day, need.length_mm, weight, need.count, need.energy_j, need.foods))
    return found


def brood_json(
    course: BroodCourse, days: Sequence[Day], dates: Sequence[BroodDate]
) -> dict[str, Any]:
    """The same for other programs."""
    return {
        "brood": course.brood.name,
        "tank": course.brood.tank,
        "class": course.fry_class.name,
        "first_food": course.first_food_day().isoformat(),
        "promised": course.promised(),
        "days": [
            {
                "day": d.day.isoformat(),
                "length_mm": tidy(d.length_mm),
                "weight_mg": tidy(d.weight_mg),
                "count": tidy(d.count),
                "energy_j": tidy(d.energy_j),
                "foods": {food: tidy(energy) for food, energy in d.foods.items()},
            }
            for d in days
        ],
        "dates": [
            {
                "day": d.day.isoformat(), "early": d.early.isoformat(), "late": d.late.isoformat(),
                "what": d.what, "food": d.food, "why": d.why, "sure": d.sure,
            }
            for d in dates
        ],
    }  # fmt: skip


def screen(course: BroodCourse, start: date, days: int) -> str:
    """Growth as a chart and a table with diet shares, and the dates that follow."""
    rows = brood_days(course, start, days)
    head = (
        f"{course.brood.name}, tank {course.brood.tank}, {_degrees(course)}:"
        f" {course.fry_class.label}"
    )
    parts = [head]
    if not course.promised():
        parts.append(wrapped(_unsure(course)))
    if rows:
        parts += [_chart(rows, course.room.units), _table(rows, course.room.units)]
    else:
        first = course.first_food_day()
        parts.append(f"They do not eat before {_day(first)}.")
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
        f"No date of hatching or first food is promised at {_degrees(course)}: the class"
        f" is known from {known}."
    )


def _degrees(course: BroodCourse) -> str:
    return celsius(course.temperature_c, course.room.units)


def _mm(value: float, units: str, style: str = "g") -> str:
    """A length, in metric units written in the given style."""
    return millimetres(value, units) if units == "us" else f"{value:{style}} mm"


def _chart(rows: Sequence[Day], units: str) -> str:
    """Length against time."""
    width = min(WIDTH - 10, max(20, len(rows)))
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
        label = _mm(value, units, "5.1f") if i % 4 == 0 else ""
        lines.append(f"{label:>8} |{''.join(cells)}".rstrip())
    ends = f"{_day(rows[0].day)}".ljust(width - 10) + f"{_day(rows[-1].day):>10}"
    return "\n".join([*lines, " " * 9 + "+" + "-" * width, " " * 10 + ends])


def _table(rows: Sequence[Day], units: str) -> str:
    us = units == "us"
    step = max(1, math.ceil(len(rows) / _ROWS))
    marks = _marks({food for row in rows for food in row.foods})
    table = [
        [
            _day(row.day), _mm(row.length_mm, units, ".1f").split()[0],
            number(row.weight_mg / MILLI_OUNCE_MG if us else row.weight_mg),
            f"{row.count:.0f}", number(row.energy_j), _bar(row, marks),
        ]
        for row in rows[::step]
    ]  # fmt: skip
    head = ["", "in" if us else "mm", "oz/1000" if us else "mg", "fry", "J a day", "diet"]
    align = ["left", "right", "right", "right", "right", "left"]
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


def _bar(row: Day, marks: dict[str, str]) -> str:
    """The diet as a bar of letters, its parts rounded so that they fill it."""
    bar, done, share = "", 0, 0.0
    for food, mark in marks.items():
        share += row.foods.get(food, 0.0) / row.energy_j
        upto = round(share * _BAR)
        bar += mark * (upto - done)
        done = upto
    return bar or "-"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _date_line(each: BroodDate, units: str) -> str:
    span = ""
    if each.early != each.late:
        span = f" ({each.early.day} {each.early:%b} to {each.late.day} {each.late:%b})"
    what = each.what.replace("_", " ")
    if each.food:
        what = f"{what}, {food_name(each.food)}"
    doubt = "" if each.sure else " Not to be relied on."
    why = in_units(each.why, units)
    return wrapped(f"{what}: {why}{span}{doubt}", 13, _day(each.day))


def why(course: BroodCourse, feeding: Round) -> str:
    """The need of a brood at one round, line by line, as the plan reckons it."""
    need = course.need(feeding)
    head = f"{course.brood.name} at {feeding.at:%H:%M} on {_day(feeding.at.date())}"
    if need is None:
        return f"{head}: it does not eat before {_day(course.first_food_day())}."
    steps = [
        ("age", _why_age(course)),
        ("growth", _why_growth(course, feeding)),
        ("length", _why_length(course, feeding, need)),
        ("weight", _why_weight(course, need)),
        ("ration", _why_ration(course, need)),
        ("fry", _why_count(course, feeding.at, need)),
        ("need", _why_need(feeding, need)),
        ("mouth", _why_mouth(course, need)),
        *_why_foods(course, need),
    ]
    lines = [f"{head}, tank {course.brood.tank}, {course.fry_class.label}", ""]
    lines += [wrapped(text, 14, label) for label, text in steps]
    lines += ["", "Where the numbers come from (status, range, sources):"]
    return "\n".join([*lines, *_origins(course)])


def _why_age(course: BroodCourse) -> str:
    brood = course.brood
    if brood.anchor == "length":
        length = _mm(brood.length_mm or 0.0, course.room.units)
        return f"measured on {_day(brood.anchor_date)}: {length}; age does not count"
    known = f"{brood.anchor.replace('_', ' ')} on {_day(brood.anchor_date)}"
    return f"{known}, first food on {_day(course.first_food_day())}"


def _why_growth(course: BroodCourse, feeding: Round) -> str:
    v = course.fry_class.values
    rate = course.fry_class.growth(course.temperature_c)
    since = (feeding.at_h - course.from_h) / 24.0
    days = course.growth_days(feeding.at_h)
    before = f" + {course.grown_from:.1f} before" if course.grown_from else ""
    units = course.room.units
    step = " for 18 °F" if units == "us" else ""
    return (
        f"{max(0.0, since):.1f} days at {_degrees(course)}, which runs at {rate:.2f} of"
        f" {celsius(v['t_ref_c'], units)} (Q10 {v['growth_q10']:g}{step}){before} ="
        f" {days:.1f} growth days"
    )


def _why_length(course: BroodCourse, feeding: Round, need: BroodNeed) -> str:
    v = course.fry_class.values
    start, limit = f"{v['length_first_food_mm']:g}", f"{v['length_limit_mm']:g}"
    length = f"{need.length_mm:.2f} mm"
    if course.room.units == "us":
        start = plain(v["length_first_food_mm"] / INCH_MM)
        limit = plain(v["length_limit_mm"] / INCH_MM)
        length = f"{need.length_mm / INCH_MM:.3f} in"
    return (
        f"{start} x ({limit} / {start})^(1 - exp(-{v['growth_rate_per_day']:g} x"
        f" {course.growth_days(feeding.at_h):.1f})) = {length}"
    )


def _why_weight(course: BroodCourse, need: BroodNeed) -> str:
    v = course.fry_class.values
    weight = course.fry_class.weight_mg(need.length_mm)
    a, b = v["weight_a_mg"], v["weight_b"]
    if course.room.units == "us":
        per_inch = plain(in_us_unit(a, "mg/mm^b", b)[0])
        return f"{per_inch} x {need.length_mm / INCH_MM:.3f}^{b:g} = {milligrams(weight, 'us')}"
    return f"{a:g} x {need.length_mm:.2f}^{b:g} = {number(weight)} mg"


def _why_ration(course: BroodCourse, need: BroodNeed) -> str:
    laws = feeding_values()
    weight = course.fry_class.weight_mg(need.length_mm)
    free = laws["ration_at_1mg"] * weight ** laws["ration_exponent"]
    level = min(laws["ration_cap"], free)
    degrees = min(max(course.temperature_c, laws["ration_low_c"]), laws["ration_high_c"])
    warm = laws["ration_q10"] ** ((degrees - laws["ration_ref_c"]) / 10.0)
    capped = f", held to {level:.0%}" if free > level else ""
    offered = laws["offered_share"]
    more = f" x {offered:g} offered" if offered != 1 else ""
    energy = weight * level * warm * laws["live_food_j_per_mg"] * offered
    at_one, mass, worth = laws["ration_at_1mg"], number(weight), laws["live_food_j_per_mg"]
    share, joules = f"{at_one:.0%}", f"{worth:g} J/mg"
    units = course.room.units
    if units == "us":
        at_one *= OUNCE_MG ** laws["ration_exponent"]
        share, mass = f"{plain(100 * at_one)}%", plain(weight / OUNCE_MG)
        joules = f"{number(worth * OUNCE_MG)} J/oz"
    return (
        f"{share} x {mass}^{laws['ration_exponent']:g} ="
        f" {free:.0%} of its weight a day{capped}, x {warm:.2f} for {celsius(degrees, units)},"
        f" x {joules}{more} = {number(energy)} J a fry a day"
    )


def _why_count(course: BroodCourse, at: datetime, need: BroodNeed) -> str:
    brood = course.brood
    days = max(0, (at.date() - brood.counted_on).days)
    return (
        f"{brood.count:g} on {_day(brood.counted_on)} x {brood.survival_per_day:g}^{days}"
        f" = {need.count:.1f} alive"
    )


def _why_need(feeding: Round, need: BroodNeed) -> str:
    each = need.energy_j * feeding.per_day / need.count
    return (
        f"{need.count:.1f} x {number(each)} J over {feeding.per_day} rounds"
        f" = {number(need.energy_j)} J at this round"
    )


def _why_mouth(course: BroodCourse, need: BroodNeed) -> str:
    share = course.fry_class.values["gape_share"]
    gape = course.fry_class.gape_um(need.length_mm)
    return f"opens {share:.1%} of the length = {gape:.0f} µm (an estimate)"


def _why_foods(course: BroodCourse, need: BroodNeed) -> list[tuple[str, str]]:
    fry, laws = course.fry_class, feeding_values()
    gape, weight = fry.gape_um(need.length_mm), fry.weight_mg(need.length_mm)
    lines = []
    for food in course.foods:
        if food.width_um > 0:
            fits, worth = takable(food.width_um, gape), worth_taking(food.mass_mg, weight)
            text = (
                f"{food.width_um:g} µm is {food.width_um / gape:.0%} of the gape: {fits:.0%} take"
                f" it; large enough to {worth:.0%}; liked x {food.preference:g}"
            )
        else:
            text = (
                f"half have learnt it at {_mm(fry.values['wean_mm'], course.room.units)}"
                f" (spread {laws['wean_width']:g}); liked x {food.preference:g}"
            )
        if food.name in need.foods:
            energy = need.foods[food.name]
            amount = natural_amount(course.room, food.name, energy)
            text += (
                f" -> {energy / need.energy_j:.0%} = {number(energy)} J"
                f" = {amount_text(amount, course.room.units)}"
            )
        else:
            text += " -> not in the diet"
        lines.append((food_name(food.name), text))
    if not need.foods:
        lines.append(("", "no food kept here fits this mouth"))
    return lines


def _origins(course: BroodCourse) -> list[str]:
    names = (
        "first_food_days", "growth_rate_per_day", "length_limit_mm", "weight_a_mg", "gape_share",
    )  # fmt: skip
    parameters = course.fry_class.parameters
    used: list[str] = []
    lines = []
    for name in names:
        p = parameters[name]
        used += [source for source in p.sources if source not in used]
        span = f"{p.low:g} to {p.high:g} {p.unit}"
        if course.room.units == "us":
            b = course.fry_class.values["weight_b"]
            (low, unit), (high, _) = (in_us_unit(x, p.unit, b) for x in (p.low, p.high))
            span = f"{plain(low)} to {plain(high)} {unit}"
        origin = f"{p.status}, {span}; {', '.join(p.sources)}"
        lines.append(wrapped(origin, 25, f"  {name}"))
    listed = sources()
    return [*lines, *(wrapped(listed[s], 25, f"  {s}") for s in used if s in listed)]
