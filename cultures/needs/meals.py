"""What a row of meals makes of a brood: how far behind its class it is, and how lean."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from attrs import evolve, frozen

from cultures.fry.bioenergetics import (
    WELL_FED,
    Coming,
    Condition,
    Fed,
    days_to_no_return,
    fed,
    point_of_no_return,
)
from cultures.needs.need import BroodCourse
from cultures.words.moments import spoken_when

#: From here on a meal counts as full: what is less is marks of a syringe and a scale, no hunger.
FULL = 0.9
#: Of meals further apart nobody knows what came between; fry are taken as fed then [h].
_LONGEST_H = 26.0
#: A difference that nobody sees is not told: less than a hundredth of an inch [mm].
_SEEN_MM = 0.2
#: Fry with less than this of their reserves are lean, with less than that they starve.
_LEAN, _STARVING = 0.95, 0.5
#: Who is lean and would be past saving so soon starves too [d].
_SOON_DAYS = 2.5
#: The share of the need is said of whole days, so many at most; an hour more is no other day [h].
_TOLD_H, _SAME_DAY_H = 7 * 24.0, 1.0


class Meal(NamedTuple):
    """One round's food for a brood, as a share of what it needed then."""

    at_h: float
    share: float


@frozen
class Step:
    """A brood at the end of the time that a meal was for.

    Attributes:
        from_h, to_h: that time [h since the epoch].
        lag_days: how far it is behind by then [d at the reference]. reserve: what it has left.
        no_return_h: when in that time it passed the point of no return, or None.
    """

    from_h: float
    to_h: float
    lag_days: float
    reserve: float
    no_return_h: float | None = None


def course_of_meals(
    course: BroodCourse, meals: Sequence[Meal], until_h: float, *, per_day: float,
    reserve: float = 1.0,
) -> Iterator[Step]:  # fmt: skip
    """A brood meal by meal; nothing at all for as long as it is fed in full.

    Args:
        course: as it would grow on full food from the first of the meals on.
        meals: by time. per_day: rounds of a usual day. reserve: what it has at the first.
    """
    lag, at_h = 0.0, course.first_food_h - 12.0
    for from_h, to_h, share in _stretches(meals, until_h, 24.0 / per_day):
        if from_h < at_h or (share >= FULL and reserve >= 1.0):
            continue
        degrees = course.degrees_at(from_h)
        days = (to_h - from_h) / 24.0
        before = Condition(course.growth_days(from_h) - lag, reserve)
        given = 1.0 if FULL <= share < 1.0 else share
        step = fed(course.fry_class, before, degrees, given, days)
        reserve = max(0.0, step.after.reserve)  # of those that are still there
        full = days * course.fry_class.growth(degrees)
        counts = max(0.0, to_h - max(from_h, course.from_h)) / (to_h - from_h)
        lag += counts * max(0.0, full - (step.after.growth_days - before.growth_days))
        passed = point_of_no_return(before, step)
        no_return_h = None if passed is None else from_h + passed * (to_h - from_h)
        yield Step(from_h, to_h, lag, reserve, no_return_h)


def _stretches(
    meals: Sequence[Meal], until_h: float, apart_h: float
) -> Iterator[tuple[float, float, float]]:
    """(from, to, share): the time for which each meal was, and full meals where none is known.

    The last one lasts until the end, if that is near: nobody has eaten since.
    """
    ends = [*meals, Meal(math.inf, 1.0)]
    for meal, later in pairwise(ends):
        until = min(later.at_h, until_h)
        end_h = until if until - meal.at_h <= _LONGEST_H else meal.at_h + apart_h
        for from_h, to_h, share in (
            (meal.at_h, end_h, meal.share), (end_h, later.at_h, 1.0),
        ):  # fmt: skip
            if from_h < min(to_h, until_h):
                yield from_h, min(to_h, until_h), share


def fed_by(
    course: BroodCourse, meals: Sequence[Meal], now_h: float, *, per_day: float,
    next_h: float | None = None,
) -> Fed | None:  # fmt: skip
    """What meals up to now have made of a brood; None where all that it lacked is made good.

    Args:
        next_h: when it is to be fed next. Until then it lives on the last meal, so that it is as
            large by then whenever it is asked for in between.
    """
    steps = [*course_of_meals(course, meals, now_h, per_day=per_day)]
    lag, reserve = (steps[-1].lag_days, steps[-1].reserve) if steps else (0.0, 1.0)
    coming = None
    on_last = bool(steps) and steps[-1].from_h == meals[-1].at_h
    if on_last and next_h is not None and now_h < next_h <= meals[-1].at_h + _LONGEST_H:
        whole, left = _last_meal(course, meals[-1], steps[:-1], next_h, per_day)
        coming, lag = Coming(whole - lag, now_h, next_h, left), whole
    if lag <= 0.0 and reserve >= 1.0:
        return None
    first_h = max(now_h - _TOLD_H, course.from_h)
    short_h = next((m.at_h for m in meals if m.share < FULL and first_h <= m.at_h < now_h), now_h)
    # All meals of the days that are spoken of, those in full too.
    days = max(1, math.ceil((now_h - short_h - _SAME_DAY_H) / 24.0))
    since = max(first_h, min(short_h, now_h - 24.0 * days))
    told = [min(1.0, m.share) for m in meals if since <= m.at_h < now_h]
    share = sum(told) / len(told) if told else 1.0
    never = all(m.share <= 0.0 for m in meals if m.at_h < now_h)
    return Fed(lag, reserve, share, (now_h - since) / 24.0, coming, never)


def _last_meal(
    course: BroodCourse, last: Meal, before: Sequence[Step], next_h: float, per_day: float
) -> tuple[float, float]:
    """How far a brood is behind, and what it has left, once the whole time of its last meal is
    over.
    """
    lag, reserve = (before[-1].lag_days, before[-1].reserve) if before else (0.0, 1.0)
    behind = evolve(course, grown_from=course.grown_from - lag)
    for step in course_of_meals(behind, [last], next_h, per_day=per_day, reserve=reserve):
        lag, reserve = lag + step.lag_days, step.reserve
    return lag, reserve


def hunger_words(course: BroodCourse, now_h: float) -> str:
    """How short of food a brood was and what came of it, in one clause; "" where it was not."""
    state = course.brood.fed
    if state == WELL_FED:
        return ""
    days = round(state.days)
    words = "fed less than its need before"
    if state.share < FULL:
        span = f"{days} days" if days > 1 else "day"
        words = f"fed {state.share:.0%} of its need over the last {span}"
    behind = course.behind_mm(now_h)
    words += f": about {behind:.1f} mm behind its class" if behind >= _SEEN_MM else ""
    return words + _lean_words(course, now_h)


def _lean_words(course: BroodCourse, now_h: float) -> str:
    reserve, _ = _unfed_from(course, now_h)
    if reserve <= 0.0:
        return "; by the model half of them can no longer be saved"
    if reserve >= _LEAN:
        return ""
    return f"; without food half are past saving {past_saving(course, now_h)}"


def past_saving(course: BroodCourse, now_h: float) -> str:
    """By when half of a brood that gets no food are past saving, by the hour before it is so."""
    left = saving_days(course, now_h)
    if left <= 0.0:
        return "by now"
    now, then = (course.room.at_hour(now_h + 24.0 * days) for days in (0.0, left))
    hour = then.replace(minute=0, second=0, microsecond=0)
    return f"by {spoken_when(hour, now)}" if hour > now else "within the hour"


def saving_days(course: BroodCourse, now_h: float) -> float:
    """Days without food after which half of a brood is past saving; 0 where it is so already."""
    reserve, from_h = _unfed_from(course, now_h)
    return (from_h - now_h) / 24.0 + _lasting_days(course, reserve, from_h)


def starving(course: BroodCourse, now_h: float) -> bool:
    """Whether a brood has lost so much, or has so little time, that it comes before all others.

    Between two meals that is the same at every hour.
    """
    reserve, from_h = _unfed_from(course, now_h)
    soon = reserve < _LEAN and _lasting_days(course, reserve, from_h) < _SOON_DAYS
    return reserve < _STARVING or soon


def _unfed_from(course: BroodCourse, now_h: float) -> tuple[float, float]:
    """(reserve, time [h since the epoch]) from when on a brood lives on its reserves: from its next
    meal, until when the last one lasts, unless they are used up before.
    """
    state = course.brood.fed
    coming = state.coming
    if coming is not None and coming.reserve > 0.0 and now_h < coming.to_h:
        return coming.reserve, coming.to_h
    return max(0.0, state.reserve), now_h


def _lasting_days(course: BroodCourse, reserve: float, from_h: float) -> float:
    """How long reserves last without food from a time on [d]."""
    length = course.length_mm(from_h)
    return reserve * days_to_no_return(course.fry_class, length, course.temperature_c)
