"""What a brood is after it was counted or measured; the old one stays as it was."""

from __future__ import annotations

import math
from datetime import date

from attrs import evolve

from cultures.errors import RangeError
from cultures.fry.feeding import feeding_values
from cultures.room.room import Brood


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
            f"brood {brood.name}: {length_mm:g} mm is not the length of a fry; use 1 to 500"
        )
    return evolve(brood, anchor="length", anchor_date=on, length_mm=length_mm)
