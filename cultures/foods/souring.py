"""The clocks of a worm culture: its worms and the souring of their medium run alike, but for heat.

Up to where worms do best the medium sours at the pace at which they live in it. Above that they
slow down, and what spoils it does not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from attrs import frozen

from cultures.foods.kinds import WormKind
from cultures.foods.parameters import shipped_parameters
from cultures.foods.temperature import Q10, Clock, RateFunction, TemperatureSeries


def souring_rate(kind: WormKind) -> RateFunction:
    """How fast the medium of a kind sours by temperature, relative to its reference.

    That is the pace of its worms up to the end of their best temperatures, and a Q10 law from
    there on, so that no medium lasts longer for more heat.

    References:
        Own choice of form (docs/models.md, "Temperature and time"); the Q10 is data/souring.toml.
    """
    warm_c = max(kind.best_c[1], kind.values["t_ref_c"])
    rate, q10 = kind.rate, shipped_parameters("souring")["souring_q10"].value
    spoils, most = Q10(q10, warm_c, -math.inf, math.inf), rate(warm_c)

    def souring(temperature_c: float) -> float:
        if temperature_c <= warm_c:
            return rate(temperature_c)
        return max(rate(temperature_c), most * spoils(temperature_c))

    return souring


@frozen
class CultureClock:
    """Physiological time of a culture where it stands: of its worms, and of its medium.

    Attributes:
        growing: by which worms grow and ripen. souring: by which their medium ages; the same one
            where it is never too warm for them.
    """

    growing: Clock
    souring: Clock

    @classmethod
    def of(cls, series: TemperatureSeries, kind: WormKind) -> CultureClock:
        """The clocks that a temperature series makes of a kind."""
        growing, souring = kind.rate, souring_rate(kind)
        clock = Clock.of(series, growing)
        if all(growing(value) == souring(value) for value in series.values_c):
            return cls(clock, clock)
        return cls(clock, Clock.of(series, souring))

    def days(self, from_h: float, to_h: float) -> float:
        """By how much the medium ages between two times [physiological d]."""
        return self.souring.days(from_h, to_h)

    def days_to(self, from_h: float, times_h: Iterable[float]) -> list[float]:
        """The same from one time to each of others."""
        return self.souring.days_to(from_h, times_h)

    def when(self, from_h: float, days: float) -> float:
        """When the medium has aged by so much [h since the epoch]; infinity for never."""
        return self.souring.when(from_h, days)

    def pace(self, from_h: float, to_h: float) -> float:
        """Days of growth for each day by which the medium ages between two times; 1 but in heat."""
        if self.growing is self.souring:
            return 1.0
        aged = self.souring.days(from_h, to_h)
        return self.growing.days(from_h, to_h) / aged if aged > 0 else 1.0

    def paces(self, times_h: Iterable[float]) -> list[float]:
        """The same from each time to the next."""
        return [self.pace(before, after) for before, after in pairwise(times_h)]
