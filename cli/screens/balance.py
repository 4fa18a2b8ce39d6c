"""Text charts of what the plan gives against what the ideal diet asks for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from cli.screens.text import WIDTH
from cultures.tasks.plan import Supply
from cultures.words.quantities import food_name, number

_ROWS = 4
_LABEL = 9


def balance(supplies: Sequence[Supply]) -> str:
    """A chart for each food: a column a day (or a span of days), as high as the energy [J a day].

    ``#`` is given, ``.`` is asked for by the ideal diet and not given with this food. Other
    foods may stand in: what really falls short is listed as a shortfall.
    """
    foods = sorted({s.food for s in supplies if s.need_j > 0 or s.given_j > 0})
    days = sorted({s.day for s in supplies})
    if not days or not foods:
        return ""
    step = -(-len(days) // (WIDTH - _LABEL - 2))
    spans = [days[i : i + step] for i in range(0, len(days), step)]
    by = {(s.food, s.day): (s.need_j, s.given_j) for s in supplies}
    unit = "one column a day" if step == 1 else f"one column every {step} days"
    out = [f"GIVEN AGAINST THE IDEAL DIET, joules a day, {unit}"]
    for food in foods:
        out += _chart(food_name(food), [_mean(by, food, span) for span in spans])
    out.append(_axis(spans))
    out.append("  # given   . asked for, and left to other foods or missing")
    return "\n".join(out)


def _mean(
    by: Mapping[tuple[str, str], tuple[float, float]], food: str, span: Sequence[str]
) -> tuple[float, float]:
    pairs = [by.get((food, day), (0.0, 0.0)) for day in span]
    return sum(p[0] for p in pairs) / len(span), sum(p[1] for p in pairs) / len(span)


def _chart(name: str, pairs: Sequence[tuple[float, float]]) -> list[str]:
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


def _axis(spans: Sequence[Sequence[str]]) -> str:
    """Day and month under every seventh column."""
    line = " " * (_LABEL + 1)
    for i in range(0, len(spans), 7):
        day = date.fromisoformat(spans[i][0])
        line = line.ljust(_LABEL + 1 + i)
        if i + 6 <= WIDTH - _LABEL - 2:
            line += f"{day.day} {day:%b}"
    return line.rstrip()
