"""Text charts of what the plan gives against what the ideal diet asks for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cli.screens.text import screen_width
from cultures.tasks.plan import Supply
from cultures.words.quantities import food_name, number

_ROWS = 4
_LABEL = 9


#: What the ideal diet asks of a food, and what is given of it [J].
_Pair = tuple[float, float]


def balance(supplies: Sequence[Supply]) -> str:
    """A chart for each food: a column a day (or a span of days), as high as the energy [J a day].

    ``#`` is given, ``.`` is asked for by the ideal diet and not given with this food. Other
    foods may stand in: what really falls short is listed as a shortfall.
    """
    days, foods = by_food(supplies)
    if not foods:
        return ""
    step = -(-len(days) // (screen_width() - _LABEL - 2))
    unit = "one column a day" if step == 1 else f"one column every {step} days"
    out = [f"GIVEN AGAINST THE IDEAL DIET, joules a day, {unit}"]
    for food, pairs in foods.items():
        spans = [pairs[i : i + step] for i in range(0, len(days), step)]
        out += _chart(food_name(food), [_mean(span) for span in spans])
    out.append(_axis(days[::step]))
    out.append("  # given   . asked for, and left to other foods or missing")
    return "\n".join(out)


def by_food(supplies: Sequence[Supply]) -> tuple[list[str], dict[str, list[_Pair]]]:
    """The days, and for each food that is asked for or given what is on each of them."""
    days = sorted({s.day for s in supplies})
    by = {(s.food, s.day): (s.need_j, s.given_j) for s in supplies}
    foods = sorted({s.food for s in supplies if s.need_j > 0 or s.given_j > 0})
    return days, {food: [by.get((food, day), (0.0, 0.0)) for day in days] for food in foods}


def _mean(span: Sequence[_Pair]) -> _Pair:
    return sum(p[0] for p in span) / len(span), sum(p[1] for p in span) / len(span)


def _chart(name: str, pairs: Sequence[_Pair]) -> list[str]:
    top = max(max(pair) for pair in pairs)
    lines = [f"  {name}"]
    for row in range(_ROWS, 0, -1):
        marks = "".join(_mark(need, given, top, row) for need, given in pairs)
        label = number(top, 2) if row == _ROWS else ""
        lines.append(f"{label:>{_LABEL - 1}} |{marks}".rstrip())
    return lines


def _mark(need: float, given: float, top: float, row: int) -> str:
    """The mark of one day in one row; anything above 0 shows at least in the lowest row."""
    reach = (row - 1) / _ROWS * top if row > 1 else 0.0
    floor = reach + (top / _ROWS / 2 if row > 1 else 0.0)
    if given > floor:
        return "#"
    return "." if need > floor else " "


def _axis(days: Sequence[str]) -> str:
    """Day and month under every seventh column."""
    line = " " * (_LABEL + 1)
    for i in range(0, len(days), 7):
        day = date.fromisoformat(days[i])
        line = line.ljust(_LABEL + 1 + i)
        if i + 6 <= screen_width() - _LABEL - 2:
            line += f"{day.day} {day:%b}"
    return line.rstrip()
