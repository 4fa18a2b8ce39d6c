"""A harvest of nauplii that is held until it is fed."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cached_property

from attrs import frozen

from cultures.foods.hatching import held_share
from cultures.foods.kinds import HatchKind


@frozen
class Holding:
    """How harvested nauplii are held, and for how long at most.

    Attributes:
        kind: what is held. fridge_c: temperature of the refrigerator, or None [°C].
        warm_c: temperature outside of it at a time [h since the epoch] -> [°C].
    """

    kind: HatchKind
    fridge_c: float | None
    warm_c: Callable[[float], float]

    @cached_property
    def cold(self) -> bool:
        """Whether there is a refrigerator, and it is cold enough."""
        return self.fridge_c is not None and self.fridge_c <= self.kind.values["cold_below_c"]

    def longest_h(self, from_h: float) -> float:
        """Longest time from a harvest to its feeding [h].

        Outside of the refrigerator that is until they moult, which comes later the colder they
        stand, as the hatch does; but no longer than sources support in the cold.

        Args:
            from_h: time of the harvest [h since the epoch].
        """
        most_h: float = self.kind.values["cold_hold_h"]
        if self.cold:
            return most_h
        usual_h: float = self.kind.values["warm_hold_h"]
        # usual_h is said of up to 28 °C; what slows cysts down above their best hastens no moult.
        rate = self.kind.rate(min(self.warm_c(from_h), self.kind.values["t_ref_c"]))
        most_h = max(usual_h, most_h)
        return most_h if rate * most_h <= usual_h else usual_h / rate

    def may_swim_h(self, from_h: float) -> float:
        """How long after a harvest some may still be food, by the upper end of the range [h].

        Nothing is counted of it: it is looked at where there is nothing else.
        """
        key = "cold_hold_h" if self.cold else "warm_hold_h"
        times = self.kind.parameters[key].high / self.kind.values[key]
        most_h = max(self.longest_h(from_h), self.kind.values["cold_hold_h"])
        return min(most_h, times * self.longest_h(from_h))

    def keeps(self, from_h: float, to_h: float) -> bool:
        """Whether a harvest is planned to be held from one time to another [h since the epoch]."""
        return to_h - from_h <= self.longest_h(from_h) + 1e-9

    def still_feeds(self, from_h: float, to_h: float) -> bool:
        """Whether what is left of a harvest may be fed at a time [h since the epoch].

        A harvest is drawn off half an hour before its round, so at the same round days later it is
        older by that than it keeps; but it loses no more in that hour than in any other.
        """
        return to_h <= self.last_h(from_h) + 1e-9

    def last_h(self, from_h: float) -> float:
        """When the last round may begin that is fed of what was harvested at a time
        [h since the epoch].
        """
        late_h: float = self.kind.values["late_hold_h"]
        return from_h + self.longest_h(from_h) + late_h

    def share(self, from_h: float, to_h: float) -> float:
        """Energy left of what was harvested, after holding from one time to another."""
        kept_c = self.fridge_c if self.cold else None
        loss = self.kind.loss_per_h(self.warm_c(from_h) if kept_c is None else kept_c)
        return held_share(to_h - from_h, loss_per_h=loss, death_per_h=self._death_per_h)

    def alive(self, from_h: float, to_h: float) -> float:
        """Nauplii alive of those harvested."""
        return math.exp(-self._death_per_h * max(0.0, to_h - from_h))

    @property
    def _death_per_h(self) -> float:
        return self.kind.values["cold_death_per_h"] if self.cold else 0.0
