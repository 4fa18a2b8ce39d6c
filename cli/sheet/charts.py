"""Supply against need of each food, a bar a day, as inline SVG."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from attrs import frozen

from cli.sheet.markup import data, day, esc, table
from cultures.tasks.plan import Plan, Shortfall
from cultures.tasks.task import tidy
from cultures.words.quantities import food_name, number

_WIDTH, _HEIGHT = 352, 102
_LEFT, _TOP, _BOTTOM = 54, 16, 20


@frozen
class Balance:
    """Need and supply of one food by day [J], with the days that fall short."""

    food: str
    days: tuple[str, ...]
    need_j: tuple[float, ...]
    given_j: tuple[float, ...]
    short: tuple[bool, ...]


def balances(plan: Plan) -> list[Balance]:
    """For each food that is asked for or given, in the order of the alphabet."""
    supplies = plan.supply
    days = tuple(sorted({s.day for s in supplies}))
    by = {(s.food, s.day): s for s in supplies}
    found = []
    for food in sorted({s.food for s in supplies if s.need_j > 0 or s.given_j > 0}):
        pairs = [by.get((food, one)) for one in days]
        found.append(
            Balance(
                food, days,
                tuple(s.need_j if s else 0.0 for s in pairs),
                tuple(s.given_j if s else 0.0 for s in pairs),
                tuple(_falls_short(plan.shortfalls, food, one) for one in days),
            )
        )  # fmt: skip
    return found


def _falls_short(shortfalls: Sequence[Shortfall], food: str, one: str) -> bool:
    return any(
        s.food in (food, "any") and s.at.date().isoformat() <= one <= s.until.date().isoformat()
        for s in shortfalls
    )


def charts(plan: Plan) -> str:
    """All charts."""
    drawn = "".join(_figure(b) for b in balances(plan))
    if not drawn:
        return ""
    return (
        '<p class="soft">Joules a day. Filled bar: given. Line: what the ideal diet asks of this'
        " food. Striped: left to other foods, or missing. Triangle: a shortfall.</p>"
        f'<div class="charts">{drawn}</div>'
    )


def _figure(balance: Balance) -> str:
    name = esc(food_name(balance.food))
    return (
        f"<figure><figcaption>{name}</figcaption>{_drawing(balance)}"
        f"<details><summary>{name} in numbers</summary>{_numbers(balance)}</details></figure>"
    )


def _numbers(balance: Balance) -> str:
    rows = []
    for one, need, given, short in zip(
        balance.days, balance.need_j, balance.given_j, balance.short, strict=True
    ):
        of = f"supply/{balance.food}/{one}"
        rows.append(
            [day(date.fromisoformat(one), of), data(number(need), need, f"{of}#need_j"),
             data(number(given), given, f"{of}#given_j"), "short" if short else ""]
        )  # fmt: skip
    return table("Joules a day", ["day", "asked", "given", ""], rows, right=(1, 2))


def _drawing(balance: Balance) -> str:
    top = max(*balance.need_j, *balance.given_j, 1e-9)
    count = len(balance.days)
    step = (_WIDTH - _LEFT - 6) / count
    base = _HEIGHT - _BOTTOM
    scale = (base - _TOP) / top
    days_short = sum(balance.short)
    told = (
        f"{food_name(balance.food)}: given against asked for, {count} days, at most"
        f" {number(top)} joules a day, short on {days_short} days"
    )
    pattern = f"stripe-{balance.food}"
    parts = [
        (
            f'<svg viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{esc(told)}">'
            f'<defs><pattern id="{esc(pattern)}" width="5" height="5" patternUnits="userSpaceOnUse"'
            ' patternTransform="rotate(45)"><rect width="5" height="5" fill="#fff"/>'
            '<path d="M0 0V5" stroke="#4a5653" stroke-width="2"/></pattern></defs>'
        ),
        (
            f'<text class="axis" x="{_LEFT - 4}" y="{_TOP + 4}" text-anchor="end" data-of='
            f'"supply/{balance.food}#top" data-value="{tidy(top)}">{number(top, 2)}</text>'
        ),
        f'<text class="axis" x="{_LEFT - 4}" y="{base}" text-anchor="end">0</text>',
    ]
    outline = []
    for i, one in enumerate(balance.days):
        x, need, given = _LEFT + i * step, balance.need_j[i], balance.given_j[i]
        y_need, y_given = base - need * scale, base - given * scale
        parts.append(
            f'<g class="day" data-of="supply/{balance.food}/{one}" data-need="{tidy(need)}"'
            f' data-given="{tidy(given)}">'
        )
        if need > given:
            parts.append(
                f'<rect x="{x:.1f}" y="{y_need:.1f}" width="{step:.1f}"'
                f' height="{y_given - y_need:.1f}" fill="url(#{esc(pattern)})"/>'
            )
        if given > 0:
            parts.append(
                f'<rect class="given" x="{x + 0.7:.2f}" y="{y_given:.1f}" width="{step - 1.4:.2f}"'
                f' height="{given * scale:.1f}" fill="#20403b"/>'
            )
        if balance.short[i]:
            parts.append(
                f'<path d="M{x + step / 2 - 4:.1f} 2h8l-4 8z" fill="#7a3d00" class="shortmark"/>'
            )
        parts.append("</g>")
        outline.append(f"{'M' if i == 0 else 'L'}{x:.1f} {y_need:.1f}H{x + step:.1f}")
        if i % 7 == 0 and x < _WIDTH - 40:
            on = date.fromisoformat(one)
            parts.append(
                f'<text class="axis" x="{x:.1f}" y="{_HEIGHT - 6}">{on.day} {on:%b}</text>'
            )
    parts.append(
        f'<path d="{"".join(outline)}" fill="none" stroke="#16211f" stroke-width="1.6"/>'
        f'<path d="M{_LEFT} {base}H{_WIDTH - 6}" stroke="#16211f"/></svg>'
    )
    return "".join(parts)
