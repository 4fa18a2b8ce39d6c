"""Pictures as SVG: shares of need, a culture over its dates, a brood's length over its dates.

Shape, place and words say all; colour only helps. Looks are classes of the page's style sheet,
so that dark and light follow the reader and no style stands in the markup.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, time, timedelta

from attrs import frozen
from markupsafe import Markup

from cli.screens.balance import by_food
from cultures.needs.dates import BroodDate
from cultures.needs.need import BroodCourse
from cultures.replay.culture_course import CultureCourse
from cultures.tasks.plan import Plan
from cultures.words.moments import hours
from cultures.words.quantities import day_text, food_name, millimetres, number

_WIDTH, _LEFT, _RIGHT = 330, 60, 8
_DAYS = 14
#: Covered so far counts as whole.
_WHOLE = 0.995
#: Characters of a label take about this much room.
_LETTER = 9.2


@frozen
class _Axis:
    """Days and values to picture coordinates."""

    first: date
    last: date
    top: float
    height: float
    above: float = 26.0

    def x(self, day: date) -> float:
        """Where a day begins, kept within the picture."""
        share = (day - self.first).days / max(1, (self.last - self.first).days)
        return round(_LEFT + (_WIDTH - _LEFT - _RIGHT) * min(1.0, max(0.0, share)), 1)

    def y(self, value: float) -> float:
        """How high a value lies, kept below the top."""
        return round(self.above + self.height * (1 - min(1.0, value / self.top)), 1)


def shares(plan: Plan, now: datetime) -> Markup:
    """What each food brings of its need on each of two weeks, all on one scale of 0 to 100 %."""
    days, foods = by_food(plan.supply)
    drawn = Markup("")
    for food, pairs in foods.items():
        shown = [
            (date.fromisoformat(day), given / need if need > 0 else None)
            for day, (need, given) in list(zip(days, pairs, strict=True))[:_DAYS]
        ]
        drawn += _share_figure(food_name(food), shown, now.date())
    return drawn


def _share_figure(name: str, days: Sequence[tuple[date, float | None]], today: date) -> Markup:
    if all(share is None for _, share in days):
        return Markup("")
    first = days[0][0]
    axis = _Axis(first, first + timedelta(days=_DAYS), 1.0, 90.0, 30.0)
    step = axis.x(first + timedelta(days=1)) - axis.x(first)
    bars = Markup("")
    for day, share in days:
        if share is None:
            continue
        x, y = axis.x(day), axis.y(max(0.0, share))
        bars += _rect("given", x + 1, y, step - 2, axis.y(0) - y)
        if share < _WHOLE:
            bars += _rect("gap", x + 1.75, axis.y(1), step - 3.5, y - axis.y(1))
    bars += _gap_labels(days, axis, step)
    low = min((s for _, s in days if s is not None), default=1.0)
    told = f"{name}: share of its need from {day_text(first)} on; least {min(1.0, low):.0%}"
    body = _frame(axis, (0.0, 0.5, 1.0), lambda v: f"{v:.0%}") + _week_marks(axis) + bars
    if first <= today <= axis.last:
        body += _today(axis, axis.x(today))
    rows = Markup("").join(
        Markup("<li>{}: {}</li>").format(f"{day:%a} {day.day} {day:%b}", f"{min(1, share):.0%}")
        for day, share in days if share is not None
    )  # fmt: skip
    return _figure(name.capitalize(), _svg(told, axis, body)) + Markup(
        '<details class="more"><summary>{} in numbers</summary><ul class="plainlist">{}</ul>'
        "</details>"
    ).format(name.capitalize(), rows)


def _gap_labels(days: Sequence[tuple[date, float | None]], axis: _Axis, step: float) -> Markup:
    """At the worst day of each stretch that falls short, what is missing of its need."""
    found, run, free = Markup(""), list[tuple[date, float]](), 0.0
    for day, share in [*days, (days[-1][0], None)]:
        if share is not None and share < _WHOLE:
            run.append((day, share))
            continue
        if run:
            worst, least = min(run, key=lambda pair: pair[1])
            text = f"{1 - max(0.0, least):.0%} short"
            half = len(text) * _LETTER / 2
            x = min(_WIDTH - half, max(_LEFT + half, axis.x(worst) + step / 2))
            if x - half >= free:
                found += _text(x, axis.y(1) - 6, text, "middle")
                free = x + half + 2
        run = []
    return found


def culture(course: CultureCourse, counts: Iterable[datetime], now: datetime) -> Markup:
    """A culture's worms over its dates: what stands, what was taken, ripe from, good until."""
    first = max(course.days[0].day, now.date() - timedelta(days=28))
    last = max(
        now.date() + timedelta(days=7), min(course.days[-1].day, now.date() + timedelta(days=42))
    )
    days = [d for d in course.days if first <= d.day <= last]
    spread = course.culture.kind.values["yield_spread"]
    top = max((d.stock_mg for d in days), default=0.0) * (1 + spread) or 1.0
    axis = _Axis(first, last, top, 120.0, 46.0)
    line = [(axis.x(d.day), axis.y(d.stock_mg)) for d in days]
    high = [(axis.x(d.day), axis.y(d.stock_mg * (1 + spread))) for d in days]
    low = [(axis.x(d.day), axis.y(d.stock_mg * max(0.0, 1 - spread))) for d in days]
    done = sum(not d.planned for d in days)
    taken = [point for d, point in zip(days, line, strict=True) if d.taken_mg > 0]
    places = {d.day: point for d, point in zip(days, line, strict=True)}
    body = _frame(axis, (0.0, top), _plain_number) + _week_marks(axis)
    body += _polygon([*high, *reversed(low)]) + _line(line[:done])
    body += _line(line[max(0, done - 1) :], "line ahead")
    body += _joined(_dot("dot", *point) for point in taken)
    body += _joined(_diamond(*places[day]) for at in counts if (day := at.date()) in places)
    body += _today(axis, axis.x(now.date()))
    told = f"{course.culture.name}: worms in mg over its dates, {len(taken)} days harvested"
    for word, on in (("ripe", course.ripe_from), ("spent", course.spent_on)):
        if on is not None and first <= on <= last:
            body += _named_day(axis, on, word)
            told += f", {word} {day_text(on)}"
    said = "Milligrams of worms. Dots: harvests. Diamonds: counts. Dashed: by the plan."
    return _figure(said, _svg(told, axis, body))


def _named_day(axis: _Axis, day: date, word: str) -> Markup:
    """A mark at the foot of the picture and, if any, its word above, kept within."""
    x, half = axis.x(day), len(word) * _LETTER / 2
    mark = _path("cross", f"M{x} {axis.y(0) - 8}V{axis.y(0) + 6}")
    place = min(_WIDTH - half, max(_LEFT + half, x))
    return mark + _text(place, 40, word, "middle") if word else mark


def brood(
    course: BroodCourse, dates: Sequence[BroodDate], measured: Sequence[tuple[datetime, float]],
    now: datetime, units: str,
) -> Markup:  # fmt: skip
    """A brood's length over its dates, with its band, what was measured, and the next dates."""
    today = now.date()
    start = max(course.first_food_day(), today - timedelta(days=14))
    end = max(today, start) + timedelta(days=28)
    every = [start + timedelta(days=i) for i in range((end - start).days + 1)]
    at = [hours(course.room.local(day, time(12))) for day in every]
    bands = [course.length_band_mm(h) for h in at]
    lengths = [course.length_mm(h) for h in at]
    top = max([*(b[1] for b in bands), *(mm for _, mm in measured)]) * 1.05
    # A measured brood is carried on from its last measurement; those before are shown too.
    before = [at.date() for at, _ in measured if at.date() >= today - timedelta(days=28)]
    axis = _Axis(min([start, today, *before]), end, top, 120.0, 46.0)
    xs = [axis.x(day) for day in every]
    low = [(x, axis.y(b[0])) for x, b in zip(xs, bands, strict=True)]
    high = [(x, axis.y(b[1])) for x, b in zip(xs, bands, strict=True)]
    line = [(x, axis.y(mm)) for x, mm in zip(xs, lengths, strict=True)]
    body = _frame(
        axis, (0.0, top / 2, top), lambda v: millimetres(v, units).split()[0] if v else "0"
    )
    body += _week_marks(axis) + _polygon([*high, *reversed(low)]) + _line(line)
    for moment, mm in measured:
        if axis.first <= moment.date() <= end:
            body += _dot("dot", axis.x(moment.date()), axis.y(mm))
    body += _today(axis, axis.x(today))
    free: date | None = None
    for each in (d for d in dates if d.day <= end and d.what in _SHOWN):
        near = free is not None and axis.x(each.day) < axis.x(free) + 10 * _LETTER
        body += _named_day(axis, each.day, "" if near else _SHOWN[each.what])
        free = free if near else each.day
    told = (
        f"{course.brood.name}: total length, {millimetres(lengths[0], units)} on"
        f" {day_text(start)} to {millimetres(lengths[-1], units)} on {day_text(end)}"
    )
    unit = "inches" if units == "us" else "mm"
    said = f"Length in {unit}. Shaded: the slow and fast end of its class. Dots: measured."
    return _figure(said, _svg(told, axis, body))


#: Dates of a brood that stand in its picture.
_SHOWN = {"first_food": "first food", "sort": "sort", "lid": "lid", "move_on": "move on"}


def _plain_number(value: float) -> str:
    """A number beside an axis."""
    return number(value, 2)


def _figure(caption: str, svg: Markup) -> Markup:
    return Markup("<figure><figcaption>{}</figcaption>{}</figure>").format(caption, svg)


def _svg(told: str, axis: _Axis, body: Markup) -> Markup:
    height = axis.above + axis.height + 26
    return Markup('<svg viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>').format(
        _WIDTH, round(height), told, body
    )


def _frame(axis: _Axis, values: Iterable[float], say: Callable[[float], str]) -> Markup:
    """Lines across, each with its value beside it."""
    drawn = Markup("")
    for value in values:
        y = axis.y(value)
        drawn += _path("grid", f"M{_LEFT} {y}H{_WIDTH - _RIGHT}")
        drawn += _text(_LEFT - 5, y + 6, say(value), "end")
    return drawn


def _week_marks(axis: _Axis) -> Markup:
    """A date under each week, or under every other where they stand close."""
    drawn, day = Markup(""), axis.first
    a_day = (_WIDTH - _LEFT - _RIGHT) / max(1, (axis.last - axis.first).days)
    step = next(days for days in (7, 14, 21, 28, 56) if days * a_day >= 66 or days == 56)
    while day < axis.last:
        x = axis.x(day)
        if x < _WIDTH - 50:
            drawn += _path("grid", f"M{x} {axis.y(0)}v6")
            drawn += _text(x, axis.y(0) + 22, f"{day.day} {day:%b}", "start")
        day += timedelta(days=step)
    return drawn


def _today(axis: _Axis, x: float) -> Markup:
    anchor = "start" if x < _WIDTH - 60 else "end"
    return _path("today", f"M{x} 18V{axis.y(0)}") + _text(
        x + (3 if anchor == "start" else -3), 15, "today", anchor
    )


def _text(x: float, y: float, words: str, anchor: str) -> Markup:
    return Markup('<text x="{}" y="{}" text-anchor="{}">{}</text>').format(
        round(x, 1), round(y, 1), anchor, words
    )


def _rect(look: str, x: float, y: float, width: float, height: float) -> Markup:
    return Markup('<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>').format(
        look, *(round(max(0.0, v), 1) for v in (x, y, width, height))
    )


def _dot(look: str, x: float, y: float) -> Markup:
    return Markup('<circle class="{}" cx="{}" cy="{}" r="5"/>').format(look, x, y)


def _diamond(x: float, y: float) -> Markup:
    return _path("count", f"M{x} {y - 6}l6 6l-6 6l-6 -6z")


def _joined(parts: Iterable[Markup]) -> Markup:
    return Markup("").join(parts)


def _path(look: str, d: str) -> Markup:
    return Markup('<path class="{}" d="{}"/>').format(look, d)


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x},{y}" for x, y in points)


def _line(points: Sequence[tuple[float, float]], look: str = "line") -> Markup:
    return Markup('<polyline class="{}" points="{}"/>').format(look, _points(points))


def _polygon(points: Sequence[tuple[float, float]]) -> Markup:
    return Markup('<polygon class="band" points="{}"/>').format(_points(points))
