"""Text charts of what the plan gives against what the ideal diet asks for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cli.screens.text import screen_width, wrapped
from cultures.tasks.plan import Supply
from cultures.words.moments import month_day
from cultures.words.quantities import food_name

#: Columns of the names of foods.
_LABEL = 15
#: The mark of a share of the need from so much on, the largest first.
_MARKS = ((0.95, "#"), (0.5, "+"), (0.005, "-"), (0.0, "."))

#: What the ideal diet asks of a food, and what is given of it [J].
_Pair = tuple[float, float]


def balance(supplies: Sequence[Supply], units: str) -> str:
    """A row for each food: a mark a day (or a span of days) for the share that is given.

    The share is that of what the ideal diet asks for. Other foods may stand in: what really
    falls short is listed as a shortfall.
    """
    days, foods = by_food(supplies)
    if not foods:
        return ""
    step = -(-len(days) // (screen_width() - _LABEL - 2))
    unit = "a mark a day" if step == 1 else f"a mark for every {step} days"
    out = [wrapped(f"HOW MUCH OF THE IDEAL DIET IS GIVEN, {unit}")]
    for food, pairs in foods.items():
        spans = [pairs[i : i + step] for i in range(0, len(days), step)]
        row = f"  {food_name(food):<{_LABEL - 2}}{''.join(map(_mark, spans))}"
        out.append(row.rstrip())
    out.append(_axis(days[::step], units))
    legend = "# all, + half or more, - less, . nothing: left to other foods, or missing"
    out.append(wrapped(legend, 2, "  "))
    return "\n".join(out)


def by_food(supplies: Sequence[Supply]) -> tuple[list[str], dict[str, list[_Pair]]]:
    """The days, and for each food that is asked for or given what is on each of them."""
    days = sorted({s.day for s in supplies})
    by = {(s.food, s.day): (s.need_j, s.given_j) for s in supplies}
    foods = sorted({s.food for s in supplies if s.need_j > 0 or s.given_j > 0})
    return days, {food: [by.get((food, day), (0.0, 0.0)) for day in days] for food in foods}


def _mark(span: Sequence[_Pair]) -> str:
    """The mark of some days: nothing where nothing is asked for, all where it is given unasked."""
    need, given = (sum(pair[i] for pair in span) for i in (0, 1))
    if need <= 0:
        return "#" if given > 0 else " "
    return next(mark for least, mark in _MARKS if given >= least * need)


def _axis(days: Sequence[str], units: str) -> str:
    """Day and month under every seventh column."""
    line = " " * _LABEL
    for i in range(0, len(days), 7):
        day = date.fromisoformat(days[i])
        line = line.ljust(_LABEL + i)
        if i + 6 <= screen_width() - _LABEL - 2:
            line += month_day(day, units)
    return line.rstrip()
