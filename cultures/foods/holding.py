"""A harvest of nauplii that is held until it is fed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from functools import cache, cached_property

from attrs import frozen

from cultures.foods.hatching import held_share
from cultures.foods.kinds import HatchKind


@frozen
class Holding:
    """How harvested nauplii are held, and for how long at most.

    Attributes:
        kind: what is held. fridge_c: temperature of the refrigerator, or None [°C].
        warm_c: temperature outside of it at a time [h since the epoch] -> [°C].
        before: what the refrigerator was before, each with until when [h since the epoch], by time.
    """

    kind: HatchKind
    fridge_c: float | None
    warm_c: Callable[[float], float]
    before: tuple[tuple[float, float | None], ...] = ()

    @cached_property
    def cold(self) -> bool:
        """Whether there is a refrigerator, and it is cold enough."""
        return self._is_cold(self.fridge_c)

    @cached_property
    def longest_h(self) -> Callable[[float], float]:
        """Longest time from a harvest [h since the epoch] to its feeding [h]; kept, since a plan
        asks of each harvest at every round.

        Outside of the refrigerator that is until they moult, which comes later the colder they
        stand, as the hatch does; but no longer than sources support in the cold. What stood warm
        before there was a refrigerator has used up its share of that.
        """
        return cache(self._longest_from)

    @cached_property
    def at_most_h(self) -> float:
        """No harvest that is older than this is fed, wherever it stood [h]."""
        v = self.kind.values
        return max(v["cold_hold_h"], v["warm_hold_h"]) + v["late_hold_h"]

    def stood_warm(self, from_h: float) -> bool:
        """Whether what was harvested at a time was put elsewhere than in the refrigerator that
        there is now, since that came later.

        Args:
            from_h: time of the harvest [h since the epoch].
        """
        _, first_c = next(self._fridges(from_h))
        return self.cold and not self._is_cold(first_c)

    def _longest_from(self, from_h: float) -> float:
        lasted_h, used = 0.0, 0.0
        for until_h, fridge_c in self._fridges(from_h):
            most_h = self._longest_in(fridge_c, from_h)
            left_h, there_h = (1.0 - used) * most_h, until_h - from_h - lasted_h
            if left_h <= there_h:
                return lasted_h + left_h
            lasted_h, used = lasted_h + there_h, used + there_h / most_h
        return lasted_h

    def _longest_in(self, fridge_c: float | None, from_h: float) -> float:
        most_h: float = self.kind.values["cold_hold_h"]
        if self._is_cold(fridge_c):
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

    def in_turn(self, harvested_h: Mapping[int, float], at_h: float) -> list[int]:
        """Harvests in the order in which a round is fed of them: the oldest that keeps first; what
        does for want of anything else comes last.

        Args:
            harvested_h: by their number, the oldest first [h since the epoch]. at_h: the round.
        """
        return sorted(harvested_h, key=lambda n: not self.keeps(harvested_h[n], at_h))

    def last_h(self, from_h: float) -> float:
        """When the last round may begin that is fed of what was harvested at a time
        [h since the epoch].
        """
        late_h: float = self.kind.values["late_hold_h"]
        return from_h + self.longest_h(from_h) + late_h

    @cached_property
    def share(self) -> Callable[[float, float], float]:
        """Energy left of what was harvested, after holding from one time to another [h since the
        epoch]; kept, since plans hold harvests of few times until few rounds.
        """
        return cache(self._share_of)

    def _share_of(self, from_h: float, to_h: float) -> float:
        left = 1.0
        for lasts_h, fridge_c in self._spans(from_h, to_h):
            cold = self._is_cold(fridge_c)
            kept_c = fridge_c if cold and fridge_c is not None else self.warm_c(from_h)
            loss = self.kind.loss_per_h(kept_c)
            death = self._death_per_h(cold)
            left *= held_share(lasts_h, loss_per_h=loss, death_per_h=death)
        return left

    def alive(self, from_h: float, to_h: float) -> float:
        """Nauplii alive of those harvested."""
        left = 1.0
        for lasts_h, fridge_c in self._spans(from_h, to_h):
            left *= math.exp(-self._death_per_h(self._is_cold(fridge_c)) * max(0.0, lasts_h))
        return left

    def _spans(self, from_h: float, to_h: float) -> Iterator[tuple[float, float | None]]:
        """For how long of a time there is what refrigerator [h, °C]."""
        at_h = from_h
        for until_h, fridge_c in self._fridges(from_h):
            yield min(until_h, to_h) - at_h, fridge_c
            if until_h >= to_h:
                return
            at_h = until_h

    def _fridges(self, from_h: float) -> Iterator[tuple[float, float | None]]:
        """Until when what refrigerator there is from a time on [h since the epoch, °C]."""
        for until_h, fridge_c in self.before:
            if until_h > from_h:
                yield until_h, fridge_c
        yield math.inf, self.fridge_c

    def _is_cold(self, fridge_c: float | None) -> bool:
        return fridge_c is not None and fridge_c <= self.kind.values["cold_below_c"]

    def _death_per_h(self, cold: bool) -> float:
        return self.kind.values["cold_death_per_h"] if cold else 0.0
