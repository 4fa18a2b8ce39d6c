"""What happens to a brood besides growing: counted, measured, moved, lost, merged, split.

Each function gives a new brood (or two) and leaves the old one as it was.
"""

from __future__ import annotations

import math
from datetime import date, datetime, time
from statistics import NormalDist

from attrs import evolve

from cultures.errors import RangeError
from cultures.fry.feeding import feeding_values
from cultures.needs.need import BroodCourse
from cultures.room.room import Brood
from cultures.words.moments import hours


def alive(brood: Brood, on: date) -> float:
    """Fry alive on a day, by the survival since they were counted."""
    return float(brood.count * brood.survival_per_day ** max(0, (on - brood.counted_on).days))


def alive_between(first: float, first_on: date, last: float, last_on: date, on: date) -> float:
    """Fry alive between two counts: a constant share is lost each day.

    Raises:
        RangeError: a count that is not above 0, or days that are not in order.
    """
    if not first > 0 or not last > 0:
        raise RangeError("between two counts: both must be above 0")
    if not first_on <= on <= last_on or first_on == last_on:
        raise RangeError(f"{on} does not lie between the counts of {first_on} and {last_on}")
    passed = (on - first_on).days / (last_on - first_on).days
    return float(first * (last / first) ** passed)


def counted(brood: Brood, count: float, on: date) -> Brood:
    """The brood after a count, with its survival drawn towards what the counts say.

    The survival of the class (or the room file) weighs like ``survival_prior_days`` of
    counting, so that two counts a day apart do not decide how many will be alive in a
    month. Survival is never above 1: more fry than before mean a miscount.

    Raises:
        RangeError: a count that is not above 0, or before the last one.
    """
    if not count > 0:
        raise RangeError(f"brood {brood.name}: a count must be above 0; note the rest as lost")
    days = (on - brood.counted_on).days
    if days < 0:
        raise RangeError(f"brood {brood.name}: already counted on {brood.counted_on}, after {on}")
    prior = feeding_values()["survival_prior_days"]
    seen = math.log(min(1.0, count / brood.count))
    daily = (prior * math.log(brood.survival_per_day) + seen) / (prior + days)
    # On the day of the last count the difference is its correction, not a day's deaths.
    survival = math.exp(daily) if days > 0 else brood.survival_per_day
    return evolve(brood, count=count, counted_on=on, survival_per_day=survival)


def measured(brood: Brood, length_mm: float, on: date) -> Brood:
    """The brood after a measurement: from then on its length sets its place on the curve.

    Raises:
        RangeError: a length that no fry has.
    """
    if not 1 <= length_mm <= 500:
        raise RangeError(
            f"brood {brood.name}: {length_mm:g} mm is no length of a fry; use 1 to 500"
        )
    return evolve(brood, anchor="length", anchor_date=on, length_mm=length_mm)


def moved(course: BroodCourse, tank: str, at: datetime) -> Brood:
    """The brood in another tank; it remembers how warm it had it before.

    Raises:
        UnknownNameError: no such tank.
    """
    brood, room = course.brood, course.room
    there = room.tank(tank).temperature_c
    log = brood.temperature_log
    if not log:
        log = ((hours(room.local(brood.anchor_date, time(0))), course.temperature_c),)
    return evolve(brood, tank=tank, temperature_log=(*log, (hours(at), there)))


def lost(brood: Brood, number: float, on: date) -> Brood | None:
    """The brood after so many were found dead, sold or given away; None when none is left.

    Raises:
        RangeError: a number that is not above 0, or more than there can be.
    """
    if not number > 0:
        raise RangeError(f"brood {brood.name}: the number lost must be above 0")
    before = alive(brood, on)
    if number > brood.count:
        raise RangeError(f"brood {brood.name}: {number:g} lost of {before:.0f}; count them first")
    if number >= before - 0.5:
        return None
    return evolve(brood, count=before - number, counted_on=on)


def merged(one: BroodCourse, other: BroodCourse, name: str, on: date) -> Brood:
    """Two broods of one class and about one size in the first one's tank.

    Raises:
        RangeError: different classes, or lengths apart by the ratio at which they are sorted.
    """
    if one.fry_class != other.fry_class:
        raise RangeError(
            f"{one.brood.name} and {other.brood.name} are of different classes; keep them apart"
        )
    noon = hours(one.room.local(on, time(12)))
    lengths = one.length_mm(noon), other.length_mm(noon)
    if max(lengths) >= min(lengths) * one.fry_class.values["sort_ratio"]:
        raise RangeError(
            f"{one.brood.name} is {lengths[0]:.0f} mm and {other.brood.name} {lengths[1]:.0f} mm:"
            " the larger would eat the smaller; keep them apart"
        )
    counts = alive(one.brood, on), alive(other.brood, on)
    total = sum(counts)
    mean = sum(c * math.log(x) for c, x in zip(counts, lengths, strict=True)) / total
    both = measured(one.brood, math.exp(mean), on)
    survival = sum(
        c * b.survival_per_day for c, b in zip(counts, (one.brood, other.brood), strict=True)
    )
    return evolve(both, name=name, count=total, counted_on=on, survival_per_day=survival / total)


def split_by_size(
    course: BroodCourse, on: date, *, small: int, large: int, tank_of_large: str
) -> tuple[Brood, Brood]:
    """The smaller and the larger fry of a sorting, each with its mean length.

    Lengths within a brood are taken as log-normal with the spread of
    :meth:`~cultures.fry.classes.FryClass.length_spread`; measure both groups if you can.

    Raises:
        RangeError: an empty group.
        UnknownNameError: no such tank.
    """
    if small < 1 or large < 1:
        raise RangeError(f"brood {course.brood.name}: both groups of a sorting need fry")
    noon = hours(course.room.local(on, time(12)))
    mean = course.length_mm(noon)
    share = small / (small + large)
    law = NormalDist()
    # Means of a normal law cut at a quantile: -pdf/p below it and +pdf/(1 - p) above.
    bend = law.pdf(law.inv_cdf(share)) * course.fry_class.length_spread(mean)
    below = measured(course.brood, mean * math.exp(-bend / share), on)
    above = measured(course.brood, mean * math.exp(bend / (1.0 - share)), on)
    there = moved(course, tank_of_large, course.room.local(on, time(12)))
    name = course.brood.name
    return (
        evolve(below, name=f"{name} small", count=float(small), counted_on=on),
        evolve(
            above,
            name=f"{name} large",
            count=float(large),
            counted_on=on,
            tank=tank_of_large,
            temperature_log=there.temperature_log,
        ),
    )
