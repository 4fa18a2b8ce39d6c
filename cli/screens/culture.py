"""``livefood yield NAME``: one culture of the room on its own dates."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from attrs import frozen

from cli.screens.text import columns, wrapped
from cli.screens.yields import of_medium
from cultures.foods.yields import Setup, YieldCurve, daily_yield
from cultures.planning.notes import LEFT_ALONE
from cultures.planning.plan import tasks_of
from cultures.record.present import Present
from cultures.replay.culture_course import CultureCourse, culture_course
from cultures.room.room import Room
from cultures.words.moments import spoken_day, spoken_when
from cultures.words.quantities import fraction, grams, many, milligrams, millilitres
from cultures.words.text import capital
from cultures.words.units import DRAW_ML

#: Rows of the table at most; longer cultures are shown by several days.
_MOST_ROWS = 36
_BAR = 24
#: Marks of a day that are written otherwise than they are called.
_MARKS = {"today": "<- today"}


@frozen(eq=False)
class Look:
    """A culture as it was, is and will be by the plan, and its kind's best daily harvest."""

    room: Room
    now: datetime
    course: CultureCourse
    curve: YieldCurve


def look_at(present: Present, name: str) -> Look:
    """The course of a culture of the room.

    Raises:
        UnknownNameError: no such culture stands.
    """
    from cultures.planning.outlook import make_outlook

    room, now = present.room, present.now
    culture = room.culture(name)
    outlook = make_outlook(room, now=now)
    span = next((s for s in outlook.cultures() if s.name == name), None)
    life = present.learned.replayed.lives[name]
    course = culture_course(room, life, tasks_of(outlook), span, now)
    kind = culture.kind
    setup = Setup(kind=kind, medium_g=culture.medium_g, surface_cm2=culture.surface_cm2,
                  starter_mg=culture.starter_mg)  # fmt: skip
    days = (course.days[-1].day - culture.started).days
    last = course.days[-1].day
    series = room.series(culture.temperature_c, culture.started, last)
    return Look(room, now, course, daily_yield(setup, series=series, start_h=life.begun_h,
                                               fraction=None, days=days or None))  # fmt: skip


def course_json(look: Look) -> dict[str, Any]:
    """For other programs: the keys of every yield, by the culture's own days, and its dates."""
    course, kind = look.course, look.course.culture.kind
    per_mg = kind.values["energy_j_per_mg"]
    first = course.culture.started

    def after(day: object) -> int | None:
        return None if day is None else (day - first).days  # type: ignore[operator]

    return {
        "name": course.culture.name, "kind": kind.name, "unit": "mg wet",
        "started": first.isoformat(), "today": (look.now.date() - first).days,
        "first_harvest_day": after(course.ripe_from),
        "days": [
            {"day": i, "date": d.day.isoformat(), "stock": round(d.stock_mg, 3),
             "harvest": round(d.taken_mg + d.ahead_mg, 3),
             "energy_j": round((d.taken_mg + d.ahead_mg) * per_mg, 3), "planned": d.planned}
            for i, d in enumerate(course.days)
        ],
        "best_fraction": round(look.curve.fraction, 4), "daily": round(look.curve.daily_mg, 3),
        "total": round(sum(d.taken_mg + d.ahead_mg for d in course.days), 3),
        "last_useful_day": after(course.spent_on),
        "done": [
            {"what": t.what, "at": look.room.at_hour(t.at_h).isoformat(),
             "taken": round(t.taken_mg, 3), "noted": t.noted}
            for t in course.touches
        ],
    }  # fmt: skip


def course_screen(look: Look) -> str:
    """For people."""
    room, course = look.room, look.course
    culture, units, today = course.culture, room.units, look.now.date()
    weigh = millilitres if culture.kind.medium == "liquid" else grams
    age = (today - culture.started).days
    head = (
        f"{culture.name}, {culture.kind.named}:"
        f" {weigh(culture.medium_g, units)}{of_medium(culture.kind)}, started"
        f" {spoken_day(culture.started, today, units)}, {many(age, 'day')} old"
    )
    ripe = f"ripe from {spoken_day(course.ripe_from, today, units)}" if course.ripe_from else (
        "not ripe in this plan")  # fmt: skip
    spent = "good for longer than planned"
    if course.spent_on:
        spent = f"good until about {spoken_day(course.spent_on, today, units)}"
    stands = milligrams(course.stands_mg(today), units)
    lines = [
        wrapped(head),
        wrapped(f"{capital(ripe)}, {spent}. About {stands} of worms"
                f" stand in it now; a culture like it can keep up"
                f" {_portion(look, look.curve.daily_mg)} a day.{_left_alone(look)}"),
        "",
        _table(look),
    ]  # fmt: skip
    if course.touches:
        lines += ["", "Taken so far:", *_touches(look)]
    remarks = room.remarks.get(culture.name, ())
    lines += [
        wrapped(f"{spoken_day(at, today, units)}: {text}", 4, "  - ") for at, text in remarks[-3:]
    ]
    lines += ["", wrapped("From today on the plan's harvests are shown; cultures started alike"
              f" differ by about {culture.kind.values['yield_spread']:.0%}.")]  # fmt: skip
    return "\n".join(lines)


def _left_alone(look: Look) -> str:
    """That nothing is taken of a ripe culture for days, since more is had of it later."""
    course, today = look.course, look.now.date()
    takes = next((d.day for d in course.days if d.day >= today and d.ahead_mg > 0.0), None)
    ripe = course.ripe_from is not None and course.ripe_from <= today
    if not ripe or takes is None or takes < today + LEFT_ALONE:
        return ""
    return f" It is left to grow until {spoken_day(takes, today, look.room.units)}."


def _portion(look: Look, mg: float) -> str:
    """Worms as they are taken."""
    kind = look.course.culture.kind
    portions = mg / kind.values["portion_mg"]
    if kind.medium == "liquid":
        return millilitres(round(portions * DRAW_ML))
    quarters = round(portions * 4) / 4
    return f"{fraction(quarters, 4)} swipe{'s' if quarters > 1 else ''}" if quarters else "nothing"


def _table(look: Look) -> str:
    days = look.course.days
    step = -(-len(days) // _MOST_ROWS)
    # A row begins with today, so that the mark stands at its own day.
    offset = (look.now.date() - days[0].day).days % step
    starts = [*([0] if offset else []), *range(offset, len(days), step)]
    groups = [days[a:b] for a, b in zip(starts, [*starts[1:], len(days)], strict=True)]
    top = max((sum(d.taken_mg + d.ahead_mg for d in g) for g in groups), default=0.0) or 1.0
    rows = [["day", "stands", "taken", ""]]
    for group in groups:
        done, ahead = sum(d.taken_mg for d in group), sum(d.ahead_mg for d in group)
        taken = done + ahead
        bar = "#" * round(_BAR * done / top) + "-" * round(_BAR * ahead / top)
        marks = ", ".join(_MARKS.get(mark, mark) for day in group for mark in day.marks)
        rows.append([
            spoken_day(group[0].day, look.now.date(), look.room.units),
            milligrams(group[0].stock_mg, look.room.units),
            _portion(look, taken) if taken > 0 else "", f"{bar} {marks}".strip(),
        ])  # fmt: skip
    return columns(rows, right=(1, 2))


def _touches(look: Look) -> list[str]:
    """What was done to it last, and whether that was noted or only told."""
    lines = []
    for touch in look.course.touches[-6:]:
        at = look.room.at_hour(touch.at_h)
        how = "" if touch.noted else " (told, not noted)"
        what = _portion(look, touch.taken_mg) if touch.what == "harvest" else touch.what
        lines.append(f"  {spoken_when(at, look.now, look.room.units)}  {what}{how}")
    if len(look.course.touches) > len(lines):
        lines.insert(0, f"  {many(len(look.course.touches) - len(lines), 'time')} before")
    return lines
