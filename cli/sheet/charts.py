"""Supply against need of each food, a bar a day, as inline SVG."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from attrs import frozen

from cli.screens.balance import by_food
from cli.sheet.markup import data, day, esc, table
from cultures.tasks.plan import Plan
from cultures.tasks.task import tidy
from cultures.words.quantities import food_name, number

_WIDTH, _HEIGHT = 352, 102
_LEFT, _TOP, _BOTTOM = 54, 16, 20


@frozen
class _Day:
    """Need and supply of one food on one day [J], and its place in the plan."""

    day: date
    need_j: float
    given_j: float
    short: bool
    of: str


def charts(plan: Plan) -> str:
    """A chart for each food that is asked for or given, in the order of the alphabet."""
    days, foods = by_food(plan.supply)
    drawn = "".join(
        _figure(food, [
            _Day(date.fromisoformat(day), *pair, _falls_short(plan, food, day),
                 f"supply/{food}/{day}")
            for day, pair in zip(days, pairs, strict=True)
        ])
        for food, pairs in foods.items()
    )  # fmt: skip
    if not drawn:
        return ""
    return (
        '<p class="soft">Joules a day. Filled bar: given. Line: what the ideal diet asks of this'
        " food. Striped: left to other foods, or missing. Triangle: a shortfall.</p>"
        f'<div class="charts">{drawn}</div>'
    )


def _falls_short(plan: Plan, food: str, day: str) -> bool:
    return any(
        s.food in (food, "any") and f"{s.at.date()}" <= day <= f"{s.until.date()}"
        for s in plan.shortfalls
    )


def _figure(food: str, days: Sequence[_Day]) -> str:
    name = esc(food_name(food))
    return (
        f"<figure><figcaption>{name}</figcaption>{_drawing(food, days)}"
        f"<details><summary>{name} in numbers</summary>{_numbers(days)}</details></figure>"
    )


def _numbers(days: Sequence[_Day]) -> str:
    rows = [
        [day(one.day, one.of), data(number(one.need_j), one.need_j, f"{one.of}#need_j"),
         data(number(one.given_j), one.given_j, f"{one.of}#given_j"), "short" if one.short else ""]
        for one in days
    ]  # fmt: skip
    return table("Joules a day", ["day", "asked", "given", ""], rows, right=(1, 2))


def _drawing(food: str, days: Sequence[_Day]) -> str:
    top = max(1e-9, *(max(one.need_j, one.given_j) for one in days))
    step, base = (_WIDTH - _LEFT - 6) / len(days), _HEIGHT - _BOTTOM
    scale = (base - _TOP) / top
    told = (
        f"{food_name(food)}: given against asked for, {len(days)} days, at most"
        f" {number(top)} joules a day, short on {sum(one.short for one in days)} days"
    )
    pattern = esc(f"stripe-{food}")
    bars = outline = ""
    for i, one in enumerate(days):
        x, y_need = _LEFT + i * step, base - one.need_j * scale
        bars += _bar(one, x, step, scale, pattern)
        outline += f"{'L' if i else 'M'}{x:.1f} {y_need:.1f}H{x + step:.1f}"
        if i % 7 == 0 and x < _WIDTH - 40:
            on = f"{one.day.day} {one.day:%b}"
            bars += f'<text class="axis" x="{x:.1f}" y="{_HEIGHT - 6}">{on}</text>'
    return (
        f'<svg viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{esc(told)}">'
        f'<defs><pattern id="{pattern}" width="5" height="5" patternUnits="userSpaceOnUse"'
        ' patternTransform="rotate(45)"><rect width="5" height="5" fill="#fff"/>'
        '<path d="M0 0V5" stroke="#4a5653" stroke-width="2"/></pattern></defs>'
        f'<text class="axis" x="{_LEFT - 4}" y="{_TOP + 4}" text-anchor="end" data-of='
        f'"supply/{food}#top" data-value="{tidy(top)}">{number(top, 2)}</text>'
        f'<text class="axis" x="{_LEFT - 4}" y="{base}" text-anchor="end">0</text>{bars}'
        f'<path d="{outline}" fill="none" stroke="#16211f" stroke-width="1.6"/>'
        f'<path d="M{_LEFT} {base}H{_WIDTH - 6}" stroke="#16211f"/></svg>'
    )


def _bar(one: _Day, x: float, step: float, scale: float, pattern: str) -> str:
    """One day: what is given filled, what is not given of the need striped."""
    base = _HEIGHT - _BOTTOM
    y_need, y_given = base - one.need_j * scale, base - one.given_j * scale
    striped = given = mark = ""
    if one.need_j > one.given_j:
        striped = (
            f'<rect x="{x:.1f}" y="{y_need:.1f}" width="{step:.1f}"'
            f' height="{y_given - y_need:.1f}" fill="url(#{pattern})"/>'
        )
    if one.given_j > 0:
        given = (
            f'<rect class="given" x="{x + 0.7:.2f}" y="{y_given:.1f}" width="{step - 1.4:.2f}"'
            f' height="{one.given_j * scale:.1f}" fill="#20403b"/>'
        )
    if one.short:
        mark = f'<path d="M{x + step / 2 - 4:.1f} 2h8l-4 8z" fill="#7a3d00" class="shortmark"/>'
    return (
        f'<g class="day" data-of="{one.of}" data-need="{tidy(one.need_j)}"'
        f' data-given="{tidy(one.given_j)}">{striped}{given}{mark}</g>'
    )
