"""Temperature and physiological time.

Every living thing here runs on one clock: the integral of its development rate,
counted in days (or hours) at its own reference temperature.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable
from itertools import accumulate, pairwise

from attrs import frozen

from cultures.errors import RangeError

#: Turns a temperature [°C] into a rate relative to a reference temperature.
RateFunction = Callable[[float], float]


@frozen
class TemperatureSeries:
    """A temperature that is constant between change points.

    Attributes:
        starts: times at which a value begins, ascending [h since the epoch]; the first
            value also holds before the first start.
        values_c: one temperature for each start [°C].
    """

    starts: tuple[float, ...]
    values_c: tuple[float, ...]

    def __attrs_post_init__(self) -> None:
        if not self.starts or len(self.starts) != len(self.values_c):
            raise RangeError("a temperature series needs one value for each start")
        if any(a >= b for a, b in pairwise(self.starts)):
            raise RangeError("the starts of a temperature series must ascend")

    @classmethod
    def constant(cls, temperature_c: float) -> TemperatureSeries:
        """The same temperature at all times."""
        return cls(starts=(0.0,), values_c=(temperature_c,))

    def at(self, time_h: float) -> float:
        """The temperature at a time [°C]."""
        return self.values_c[max(0, bisect_right(self.starts, time_h) - 1)]

    def with_spell(self, from_h: float, to_h: float, temperature_c: float) -> TemperatureSeries:
        """The series with another temperature between two times."""
        after = self.at(to_h)
        kept = [
            (start, value)
            for start, value in zip(self.starts, self.values_c, strict=True)
            if not from_h <= start <= to_h
        ]
        if not kept or min(start for start, _ in kept) > from_h:
            kept.append((min(self.starts[0], from_h) - 1.0, self.values_c[0]))
        points = sorted([*kept, (from_h, temperature_c), (to_h, after)])
        return TemperatureSeries(
            starts=tuple(start for start, _ in points), values_c=tuple(v for _, v in points)
        )


@frozen
class Clock:
    """Physiological time of one kind under one temperature series, counted in days.

    The rate of each piece is worked out once, so a look-up costs a bisection.

    Attributes:
        starts: piece starts [h since the epoch].
        rates: rate of each piece [physiological day per day].
        sums: physiological days elapsed at each start, relative to the first.
    """

    starts: tuple[float, ...]
    rates: tuple[float, ...]
    sums: tuple[float, ...]

    @classmethod
    def of(cls, series: TemperatureSeries, rate: RateFunction) -> Clock:
        """The clock that a rate function makes of a temperature series."""
        rates = tuple(rate(value) for value in series.values_c)
        lasting_h = (later - start for start, later in pairwise(series.starts))
        days = (rate * lasts_h / 24.0 for rate, lasts_h in zip(rates, lasting_h, strict=False))
        return cls(starts=series.starts, rates=rates, sums=tuple(accumulate(days, initial=0.0)))

    def days(self, from_h: float, to_h: float) -> float:
        """Physiological days between two times [h since the epoch]; negative if reversed."""
        return self._reading(to_h) - self._reading(from_h)

    def days_to(self, from_h: float, times_h: Iterable[float]) -> list[float]:
        """Physiological days from one time to each of others [h since the epoch]."""
        begun = self._reading(from_h)
        return [self._reading(time_h) - begun for time_h in times_h]

    def when(self, from_h: float, days: float) -> float:
        """The time at which ``days`` physiological days have passed [h since the epoch].

        Returns infinity when the clock stands still for ever.
        """
        target = self._reading(from_h) + days
        index = max(0, bisect_left(self.sums, target) - 1)
        while index < len(self.rates):
            rate = self.rates[index]
            if rate > 0:
                at_h = self.starts[index] + (target - self.sums[index]) * 24.0 / rate
                if index + 1 >= len(self.starts) or at_h <= self.starts[index + 1]:
                    return max(at_h, from_h)
            index += 1
        return math.inf

    def _reading(self, time_h: float) -> float:
        index = max(0, bisect_right(self.starts, time_h) - 1)
        return self.sums[index] + self.rates[index] * (time_h - self.starts[index]) / 24.0


@frozen
class Briere:
    """Development rate relative to the rate at ``t_ref_c``, between two thresholds [°C].

    Briere-1: proportional to T (T - T_min) sqrt(T_max - T) between the two thresholds
    and 0 outside, so development never runs backwards and stops, rather than
    extrapolates, in the cold and in the heat.

    Notes:
        Below 0 °C the factor T would change sign; the rate is 0 there.

    References:
        Briere, Pracros, Le Roux, Pierre 1999, A novel rate model of
        temperature-dependent development for arthropods, Environmental
        Entomology 28(1):22-29, equation 1.
    """

    t_min_c: float
    t_max_c: float
    t_ref_c: float

    def __attrs_post_init__(self) -> None:
        if not (self.t_min_c < self.t_ref_c < self.t_max_c and self.t_ref_c > 0):
            raise RangeError(
                "a thermal curve needs t_min_c below t_ref_c below t_max_c and t_ref_c above 0,"
                f" got {self.t_min_c:g}, {self.t_ref_c:g}, {self.t_max_c:g} °C"
            )

    def __call__(self, temperature_c: float) -> float:
        if not self.t_min_c < temperature_c < self.t_max_c or temperature_c <= 0:
            return 0.0
        return self._level(temperature_c) / self._level(self.t_ref_c)

    def _level(self, t_c: float) -> float:
        return t_c * (t_c - self.t_min_c) * math.sqrt(self.t_max_c - t_c)


@frozen
class Q10:
    """Rate relative to ``t_ref_c`` by a Q10 law, flat above ``t_max_c``, 0 below ``t_min_c``.

    From ``t_min_c`` to ``full_from_c`` it rises by a straight share of the law, so that a degree
    in the cold is a step and no cliff; without ``full_from_c`` the whole law begins at once.

    References:
        The Q10 law is van 't Hoff's rule; the flat top is this project's choice, since
        published fry rates level off or fall near the upper limit of the class. So is the
        straight share: the mean of fish whose own limits lie evenly between the two.
    """

    q10: float
    t_ref_c: float
    t_min_c: float
    t_max_c: float
    full_from_c: float = -math.inf

    def __call__(self, temperature_c: float) -> float:
        if temperature_c < self.t_min_c:
            return 0.0
        share = 1.0
        if temperature_c < self.full_from_c:
            share = (temperature_c - self.t_min_c) / (self.full_from_c - self.t_min_c)
        warmth = (min(temperature_c, self.t_max_c) - self.t_ref_c) / 10.0
        return float(share * self.q10**warmth)
