"""What is drawn: shares of need, vessels in use, a culture's worms, a brood's length, over dates.

Shape, place and words say all; colour only helps.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta

from attrs import frozen
from markupsafe import Markup

from cli.drawing.canvas import (
    LETTER,
    Axis,
    band,
    diamond,
    dot,
    frame,
    label,
    line,
    path,
    rect,
    svg,
    text,
    today,
)
from cli.screens.balance import by_food
from cultures.needs.dates import BroodDate
from cultures.needs.need import BroodCourse
from cultures.planning.outlook import Outlook
from cultures.replay.culture_course import CultureCourse
from cultures.tasks.plan import Plan
from cultures.words.moments import day_text, hours, when
from cultures.words.quantities import food_name, millimetres, number
from cultures.words.tasks import Figure
from cultures.words.text import cut

_DAYS = 14
#: Covered so far counts as whole.
_WHOLE = 0.97
#: How high the row of a vessel is, and how many letters of its name it holds.
_VESSEL, _LETTERS = 42.0, 32

#: What the signs mean.
CULTURE_SAYS = "Milligrams of worms. Dots: harvests. Diamonds: counts. Dashed: by the plan."


def brood_says(units: str) -> str:
    """What the signs of a brood's picture mean."""
    unit = "inches" if units == "us" else "mm"
    return f"Length in {unit}. Shaded: the slow and fast end of its class. Dots: measured."


@frozen
class Share:
    """What one food brings of its need.

    Attributes:
        days: name, date and share of the need, of each day that asks for it.
    """

    food: str
    drawn: Markup
    days: Sequence[tuple[str, date, Figure]]


def shares(plan: Plan, now: datetime, units: str) -> list[Share]:
    """What each food brings of its need on each of two weeks, all on one scale of 0 to 100 %."""
    days, foods = by_food(plan.supply)
    found = []
    for food, pairs in foods.items():
        shown = [
            (date.fromisoformat(day), f"supply/{food}/{day}", need, given)
            for day, (need, given) in list(zip(days, pairs, strict=True))[:_DAYS]
        ]
        asked = [
            (day, _percent(given / need, f"{of}#share"))
            for day, of, need, given in shown if need > 0
        ]  # fmt: skip
        if asked:
            part = dict(asked)
            name = food_name(food)
            drawn = _shares(name, [(day, part.get(day)) for day, *_ in shown], now.date(), units)
            dated = [(day_text(day, units), day, share) for day, share in asked]
            found.append(Share(name.capitalize(), drawn, dated))
    return found


def _percent(share: float, of: str) -> Figure:
    kept = min(1.0, max(0.0, share))
    return Figure(f"{kept:.0%}", kept, of)


def _shares(name: str, days: Sequence[tuple[date, Figure | None]], now: date, units: str) -> Markup:
    first = days[0][0]
    axis = Axis(first, first + timedelta(days=_DAYS), 1.0, 90.0, 46.0, units=units)
    step, bars = axis.day_width, Markup("")
    for day, share in days:
        if share is None:
            continue
        x, y = axis.x(day), axis.y(share.value)
        bars += rect("given", x + 1, y, step - 2, axis.y(0) - y, share.of)
        if share.value < _WHOLE:
            bars += rect("gap", x + 1.75, axis.y(1), step - 3.5, y - axis.y(1))
    least = min(share.value for _, share in days if share is not None)
    told = f"{name}: share of its need from {day_text(first, units)} on; least {least:.0%}"
    body = frame(axis, (0.0, 0.5, 1.0), lambda v: f"{v:.0%}") + bars
    return svg(told, axis, body + _gap_labels(days, axis) + today(axis, now))


def _gap_labels(days: Sequence[tuple[date, Figure | None]], axis: Axis) -> Markup:
    """At the worst day of each stretch that falls short, what is missing of its need.

    Where two would stand on each other, the worse one stands.
    """
    worst, run = list[tuple[float, date]](), list[tuple[float, date]]()
    for day, share in [*days, (days[-1][0], None)]:
        if share is not None and share.value < _WHOLE:
            run.append((share.value, day))
        elif run:
            worst.append(min(run))
            run = []
    found, taken = Markup(""), list[float]()
    for share_left, day in sorted(worst):
        words = f"{1 - share_left:.0%} short"
        x = axis.kept(axis.x(day) + axis.day_width / 2, words)
        if all(abs(x - other) > len("100% short") * LETTER for other in taken):
            found += label(axis, x, axis.y(1) - 6, words)
            taken.append(x)
    return found


def vessels(outlook: Outlook) -> Markup:
    """When each vessel is in use in two weeks: a bar for each hatch, from set to harvest."""
    room, now = outlook.room, outlook.now
    units = room.units
    axis = Axis(now.date(), now.date() + timedelta(days=_DAYS), 1.0,
                _VESSEL * len(room.vessels), 22.0, 4.0, room.units)  # fmt: skip
    body, hatches = frame(axis, (), str), 0
    for row, vessel in enumerate(room.vessels):
        y = axis.above + _VESSEL * row
        body += text(axis.left + 6, y + 16, cut(vessel.name, _LETTERS), "start")
        body += path("grid", f"M{axis.left} {y + _VESSEL - 3}H{axis.x(axis.last)}")
        for batch in outlook.feeding.hatches.batches:
            begins, ends = room.at_hour(batch.set_h), room.at_hour(batch.harvest_h)
            if batch.vessel.name != vessel.name or ends < now or begins.date() >= axis.last:
                continue
            hatches += 1
            x = axis.x(begins)
            told = f"{vessel.name}: set {when(begins, units)}, harvested {when(ends, units)}"
            of = f"hatch/{begins.isoformat()}/{ends.isoformat()}"
            body += Markup("<g><title>{}</title>{}</g>").format(
                told, rect("given", x, y + 22, max(3.0, axis.x(ends) - x), 14, of)
            )
    told = f"Vessels: {hatches} hatches from {day_text(axis.first, units)}"
    told += f" to {day_text(axis.last, units)}"
    return svg(told, axis, body + today(axis, now.date()))


def culture(course: CultureCourse, counts: Iterable[datetime], now: datetime, units: str) -> Markup:
    """A culture's worms over its dates: what stands, what was taken, ripe from, good until."""
    first = max(course.days[0].day, now.date() - timedelta(days=28))
    last = max(
        now.date() + timedelta(days=7), min(course.days[-1].day, now.date() + timedelta(days=42))
    )
    days = [d for d in course.days if first <= d.day <= last]
    spread = course.culture.kind.values["yield_spread"]
    top = max((d.stock_mg for d in days), default=0.0) * (1 + spread) or 1.0
    axis = Axis(first, last, top, 120.0, 46.0, units=units)
    places = {d.day: (axis.x(d.day), axis.y(d.stock_mg)) for d in days}
    points = list(places.values())
    high = [(axis.x(d.day), axis.y(d.stock_mg * (1 + spread))) for d in days]
    low = [(axis.x(d.day), axis.y(d.stock_mg * max(0.0, 1 - spread))) for d in days]
    done = sum(not d.planned for d in days)
    taken = [places[d.day] for d in days if d.taken_mg > 0]
    body = frame(axis, (0.0, top), lambda mg: number(mg, 2)) + band(low, high) + line(points[:done])
    body += line(points[max(0, done - 1) :], "line ahead")
    body += Markup("").join(dot(*point) for point in taken)
    body += Markup("").join(diamond(*places[day]) for at in counts if (day := at.date()) in places)
    body += today(axis, now.date())
    told = f"{course.culture.name}: worms in mg over its dates, {len(taken)} days harvested"
    for word, on in (("ripe", course.ripe_from), ("spent", course.spent_on)):
        if on is not None and first <= on <= last:
            body += _named_day(axis, on, word, now)
            told += f", {word} {day_text(on, units)}"
    return svg(told, axis, body)


def _named_day(axis: Axis, day: date, word: str, now: datetime) -> Markup:
    """A mark at the foot of the picture and, if any, its word above, clear of today's line."""
    x = axis.x(day)
    mark = path("cross", f"M{x} {axis.y(0) - 8}V{axis.y(0) + 6}")
    return mark + label(axis, x, 40, word, beside=axis.x(now.date())) if word else mark


def brood(
    course: BroodCourse, dates: Sequence[BroodDate], measured: Sequence[tuple[datetime, float]],
    now: datetime, units: str,
) -> Markup:  # fmt: skip
    """A brood's length over its dates, with its band, what was measured, and the next dates."""
    start = max(course.first_food_day(), now.date() - timedelta(days=14))
    end = max(now.date(), start) + timedelta(days=28)
    every = [start + timedelta(days=i) for i in range((end - start).days + 1)]
    at = [hours(course.room.local(day, time(12))) for day in every]
    bands = [course.length_band_mm(h) for h in at]
    lengths = [course.length_mm(h) for h in at]
    top = max([*(b[1] for b in bands), *(mm for _, mm in measured)]) * 1.05
    # A measured brood is carried on from its last measurement; those before are shown too.
    since = now.date() - timedelta(days=28)
    before = [at.date() for at, _ in measured if at.date() >= since]
    axis = Axis(min([start, now.date(), *before]), end, top, 120.0, 46.0, units=units)
    xs = [axis.x(day) for day in every]
    low = [(x, axis.y(b[0])) for x, b in zip(xs, bands, strict=True)]
    high = [(x, axis.y(b[1])) for x, b in zip(xs, bands, strict=True)]
    body = frame(
        axis, (0.0, top / 2, top), lambda v: millimetres(v, units).split()[0] if v else "0"
    )
    body += band(low, high) + line([(x, axis.y(mm)) for x, mm in zip(xs, lengths, strict=True)])
    body += Markup("").join(
        dot(axis.x(moment.date()), axis.y(mm))
        for moment, mm in measured
        if axis.first <= moment.date() <= end
    )
    body += today(axis, now.date())
    free: date | None = None
    for each in (d for d in dates if d.day <= end and d.what in SHOWN):
        near = free is not None and axis.x(each.day) < axis.x(free) + 10 * LETTER
        body += _named_day(axis, each.day, "" if near else SHOWN[each.what], now)
        free = free if near else each.day
    told = (
        f"{course.brood.name}: total length, {millimetres(lengths[0], units)} on"
        f" {day_text(start, units)} to {millimetres(lengths[-1], units)} on {day_text(end, units)}"
    )
    return svg(told, axis, body)


#: Dates of a brood that stand in its picture.
SHOWN = {"first_food": "first food", "sort": "sort", "lid": "lid", "move_on": "larger tank",
         "can_go": "can go"}  # fmt: skip
