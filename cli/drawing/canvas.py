"""Days and values to places in a picture, and the shapes that stand there.

Looks are classes of ``templates/pictures.css``, so that dark and light follow the reader and no
style stands in the markup.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, timedelta

from attrs import frozen
from markupsafe import Markup

from cultures.words.moments import month_day

_WIDTH, _RIGHT = 330, 8
#: Characters of a label take about this much room.
LETTER = 9.6
_Point = tuple[float, float]


@frozen
class Axis:
    """Days and values to picture coordinates."""

    first: date
    last: date
    top: float
    height: float
    above: float = 26.0
    left: float = 60.0
    units: str = "metric"

    @property
    def day_width(self) -> float:
        """How wide a day is."""
        return (_WIDTH - self.left - _RIGHT) / max(1, (self.last - self.first).days)

    def x(self, day: date) -> float:
        """Where a day begins, or a moment lies, kept within the picture."""
        days = float((date(day.year, day.month, day.day) - self.first).days)
        if isinstance(day, datetime):
            days += (day.hour + day.minute / 60) / 24
        x = self.left + days * self.day_width
        return round(min(_WIDTH - _RIGHT, max(self.left, x)), 1)

    def y(self, value: float) -> float:
        """How high a value lies, kept below the top."""
        return round(self.above + self.height * (1 - min(1.0, value / self.top)), 1)

    def kept(self, x: float, words: str) -> float:
        """The middle of words that should stand over a place, moved so that they fit."""
        half = len(words) * LETTER / 2
        return min(_WIDTH - half, max(self.left + half, x))


def svg(told: str, axis: Axis, body: Markup) -> Markup:
    """A picture; ``told`` is what a screen reader says of it."""
    height = axis.above + axis.height + 26
    return Markup('<svg viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>').format(
        _WIDTH, round(height), told, body
    )


def frame(axis: Axis, values: Iterable[float], say: Callable[[float], str]) -> Markup:
    """Lines across, each with its value beside it, and dates below."""
    drawn = _dates(axis)
    for value in values:
        y = axis.y(value)
        drawn += path("grid", f"M{axis.left} {y}H{_WIDTH - _RIGHT}")
        drawn += text(axis.left - 5, y + 6, say(value), "end")
    return drawn


def _dates(axis: Axis) -> Markup:
    """A date under each week, or under every other where they stand close."""
    drawn, day = Markup(""), axis.first
    step = next(days for days in (7, 14, 21, 28, 56) if days * axis.day_width >= 66 or days == 56)
    while day < axis.last:
        x = axis.x(day)
        if x < _WIDTH - 50:
            drawn += path("grid", f"M{x} {axis.y(0)}v6")
            drawn += text(x, axis.y(0) + 22, month_day(day, axis.units), "start")
        day += timedelta(days=step)
    return drawn


def today(axis: Axis, day: date) -> Markup:
    """A line across the picture on the day itself; nothing if it lies outside."""
    if not axis.first <= day <= axis.last:
        return Markup("")
    x = axis.x(day)
    anchor = "start" if x < _WIDTH - 60 else "end"
    return path("today", f"M{x} 18V{axis.y(0)}") + text(
        x + (3 if anchor == "start" else -3), 15, "today", anchor
    )


def text(x: float, y: float, words: str, anchor: str) -> Markup:
    """Words at a place; ``anchor`` is ``start``, ``middle`` or ``end``."""
    return Markup('<text x="{}" y="{}" text-anchor="{}">{}</text>').format(
        round(x, 1), round(y, 1), anchor, words
    )


def label(axis: Axis, x: float, y: float, words: str, *, beside: float | None = None) -> Markup:
    """Words centred over a place, kept within the picture and clear of a line ``beside`` them."""
    half, kept = len(words) * LETTER / 2, axis.kept(x, words)
    if beside is not None and abs(kept - beside) < half + 4:
        after = beside + 4 + 2 * half <= _WIDTH
        return text(beside + 4, y, words, "start") if after else text(beside - 4, y, words, "end")
    if kept == x:
        return text(x, y, words, "middle")
    # The edge itself is what must hold, however wide the letters are.
    return text(_WIDTH, y, words, "end") if kept < x else text(axis.left, y, words, "start")


def rect(look: str, x: float, y: float, width: float, height: float, of: str = "") -> Markup:
    """A box; ``of`` is the plan's own name for what it shows."""
    traced = Markup(' data-of="{}"').format(of) if of else ""
    return Markup('<rect class="{}" x="{}" y="{}" width="{}" height="{}"{}/>').format(
        look, *(round(max(0.0, v), 1) for v in (x, y, width, height)), traced
    )


def dot(x: float, y: float) -> Markup:
    """What was taken or measured."""
    return Markup('<circle class="dot" cx="{}" cy="{}" r="5"/>').format(x, y)


def diamond(x: float, y: float) -> Markup:
    """What was counted."""
    return path("count", f"M{x} {y - 6}l6 6l-6 6l-6 -6z")


def path(look: str, d: str) -> Markup:
    """A line by SVG's own path data."""
    return Markup('<path class="{}" d="{}"/>').format(look, d)


def line(points: Sequence[_Point], look: str = "line") -> Markup:
    """A line through points."""
    return Markup('<polyline class="{}" points="{}"/>').format(look, _points(points))


def band(low: Sequence[_Point], high: Sequence[_Point]) -> Markup:
    """All between two lines."""
    return Markup('<polygon class="band" points="{}"/>').format(_points([*high, *reversed(low)]))


def _points(points: Iterable[_Point]) -> str:
    return " ".join(f"{x},{y}" for x, y in points)
