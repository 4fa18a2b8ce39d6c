"""What a brood is after it was counted; the old one stays as it was."""

from __future__ import annotations

import math
from datetime import date

from attrs import evolve

from cultures.fry.feeding import feeding_values
from cultures.room.room import Brood


def counted(brood: Brood, count: float, on: date) -> Brood:
    """The brood after a count, with its survival drawn towards what the counts say.

    The survival of the class (or the room file) weighs like ``survival_prior_days`` of
    counting, so that two counts a day apart do not decide how many will be alive in a
    month. Survival is never above 1: more fry than before mean a miscount.

    Args:
        count: above 0. on: not before the last count.
    """
    days = (on - brood.counted_on).days
    prior = feeding_values()["survival_prior_days"]
    seen = math.log(min(1.0, count / brood.count))
    daily = (prior * math.log(brood.survival_per_day) + seen) / (prior + days)
    # On the day of the last count the difference is its correction, not a day's deaths.
    survival = math.exp(daily) if days > 0 else brood.survival_per_day
    return evolve(brood, count=count, counted_on=on, survival_per_day=survival)
