"""A year drawn: broods as silhouettes of what they ask for, and how heavy each food is on the room.

A bar is as high as its brood leans on live food: a line while they are eggs, tall on nauplii,
lower while they are weaned, hollow in the grow-out tank. So no colour is needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from markupsafe import Markup

from cli.drawing.canvas import LETTER, Axis, diamond, label, path, rect, svg, text
from cultures.planning.year import BroodYear, FoodYear, Span, Stage, Year
from cultures.words.moments import day_text
from cultures.words.quantities import food_name, number
from cultures.words.text import cut

#: The line of what the room can give.
FULL = 1.0
#: How high the bar of each stage is, in the picture's own units.
_HEIGHTS: dict[Stage, float] = {
    "eggs": 3, "first_food": 8, "nauplii": 18, "weaning": 12, "grow_out": 8, "can_go": 8,
}  # fmt: skip
_HOLLOW: tuple[Stage, ...] = ("grow_out", "can_go")
_ROW, _BAR = 27.0, 24.0
#: So many broods stand in one picture.
IN_ONE = 18
#: A load is drawn up to so many times what the room can give.
_MOST = 2.0
#: What the signs mean.
BROODS_SAY = (
    "A line: eggs. Low: first food. Tall: nauplii. Middle: weaning. Hollow: grow-out tank. Diamond:"
    " they can go. Grey: nobody, or only a helper, is there. A question mark: still to spawn."
)
FOODS_SAY = (
    "Foods: the heaviest day of each week. The line is all that the room can give; what stands over"
    " it is more than it can."
)


def broods(year: Year, some: Sequence[BroodYear]) -> Markup:
    """Some broods of a year, one below the other."""
    axis = _axis(year, _ROW * len(some), 4.0)
    body = _absences(year, axis) + _months(axis)
    for row, brood in enumerate(some):
        foot = axis.above + _ROW * row + _BAR
        for span in brood.spans:
            body += _span(axis, foot, brood, span)
        if brood.sale is not None and brood.start <= brood.sale.day <= brood.end:
            body += diamond(axis.x(brood.sale.day), foot - 8)
        body += _name(axis, foot, brood)
    told = f"{len(some)} broods by stage from {day_text(axis.first, axis.units)}"
    told += f" to {day_text(axis.last, axis.units)}"
    return svg(told, axis, body)


def _name(axis: Axis, foot: float, brood: BroodYear) -> Markup:
    """Whose bar it is: behind it, before it, or over its longest part where both are too narrow."""
    words = f"{brood.name}{'?' if brood.planned else ''}, {brood.tank}"
    begins, ends = axis.x(brood.start) - 5, axis.x(brood.end) + 9
    before, behind = begins - axis.left, axis.x(axis.last) - ends
    if max(before, behind) >= len(words) * LETTER:
        return text(ends, foot - 2, words, "start") if behind >= before else (
            text(begins, foot - 2, words, "end"))  # fmt: skip
    longest = max(brood.spans, key=lambda span: span.end - span.start)
    x = axis.x(longest.start) + 2
    room_for = int((axis.x(axis.last) - x) / LETTER)
    return text(x, foot - 10, cut(words, room_for), "start")


def _span(axis: Axis, foot: float, brood: BroodYear, span: Span) -> Markup:
    stage, x, high = span.stage, axis.x(span.start), _HEIGHTS[span.stage]
    wide = max(1.5, axis.x(span.end + timedelta(days=1)) - x)
    look = "hollow" if stage in _HOLLOW else "given"
    drawn = rect(look, x, foot - high, wide, high, f"year/{brood.name}/{stage}")
    told = f"{brood.name}: {stage.replace('_', ' ')} from {day_text(span.start, axis.units)}"
    return Markup("<g><title>{}</title>{}</g>").format(told, drawn)


def food(year: Year, one: FoodYear) -> Markup:
    """How heavy the broods lie on one food, week by week."""
    shares = [min(_MOST, load.share) for load in one.loads]
    over = any(load.too_much for load in one.loads)
    axis = _axis(year, 90.0, max(1.1, *shares), above=30.0 if over else 8.0, left=42.0)
    body = _absences(year, axis)
    for value in (0.0, 0.5, FULL):
        body += path("grid", f"M{axis.left} {axis.y(value)}H{axis.x(axis.last)}")
        body += text(axis.left - 4, axis.y(value) + 6, f"{value:.0%}".rstrip("%"), "end")
    for load, share in zip(one.loads, shares, strict=True):
        x, within = axis.x(load.week), min(share, FULL)
        wide = 7 * axis.day_width - 0.6
        of = f"year/{one.food}/{load.week}"
        if share > 0:
            body += rect("given", x, axis.y(within), wide, axis.y(0) - axis.y(within), of)
        if load.too_much:
            body += rect("gap", x, axis.y(share), wide, axis.y(FULL) - axis.y(share))
    worst = max(one.loads, key=lambda load: load.share)
    told = f"{food_name(one.food)}: load from {day_text(axis.first, axis.units)} on;"
    told += f" most {_times(worst.share)}"
    if over:
        place = axis.x(worst.week) + 3.5 * axis.day_width
        body += label(axis, place, 22, _times(worst.share))
    return svg(told, axis, body + path("limit", f"M{axis.left} {axis.y(FULL)}H{axis.x(axis.last)}")
               + _months(axis))  # fmt: skip


def _times(share: float) -> str:
    return "nothing gives it" if share == float("inf") else f"{number(share, 2)} times"


def _axis(year: Year, height: float, top: float, *, above: float = 4.0, left: float = 4.0) -> Axis:
    return Axis(year.weeks[0], year.end, top, height, above, left, year.room.units)


def _months(axis: Axis) -> Markup:
    """A line where each month begins, and its letter below."""
    drawn, day = Markup(""), axis.first.replace(day=1)
    while day < axis.last:
        after = (day + timedelta(days=31)).replace(day=1)
        x, end = axis.x(day), axis.x(after)
        if day > axis.first:
            drawn += path("grid", f"M{x} {axis.above}V{axis.above + axis.height + 4}")
        if end - x > 14:
            drawn += text((x + end) / 2, axis.above + axis.height + 20, f"{day:%b}"[0], "middle")
        day = after
    return drawn


def _absences(year: Year, axis: Axis) -> Markup:
    drawn = Markup("")
    for away in year.room.away:
        x, end = axis.x(away.start), axis.x(away.end + timedelta(days=1))
        if end > x and not away.in_part:
            drawn += rect("away", x, axis.above, end - x, axis.height)
    return drawn
