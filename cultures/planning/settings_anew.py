"""Settings left out, or made otherwise, where that costs less once all foods are shared anew.

Hatches are chosen for what is asked of them. What broods miss where one is left out is known only
when worms and dry food are shared around it; so each is tried.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import product
from typing import Generic, TypeVar

from attrs import define, frozen

from cultures.planning.lots import Option, clash

_Plan = TypeVar("_Plan")
_Others = Callable[[Option, Sequence[Option]], Iterator[Sequence[Option]]]


@define(eq=False)
class _Least(Generic[_Plan]):
    """The plan that costs least [g] so far, and all settings that were tried."""

    plan: _Plan
    cost: float
    known: set[frozenset[Option]]


@frozen(eq=False)
class SettingsAnew(Generic[_Plan]):
    """Tries the settings of a plan otherwise.

    Attributes:
        every: settings that may be made. of: those that a plan makes. tried: a plan with just
            some of them. cost: of a plan [g]. least_g: less is not worth another plan [g]. most: so
            many are tried.
    """

    every: Sequence[Option]
    of: Callable[[_Plan], Sequence[Option]]
    tried: Callable[[_Plan, Sequence[Option]], _Plan]
    cost: Callable[[_Plan], float]
    least_g: float
    most: int

    def best(self, plan: _Plan) -> _Plan:
        """The plan, or one that costs less: with what was told and no more, and then with each
        setting left out, begun at another time, made for a round sooner or later. The last
        comes first, so that what is soon to be done stays where something else does.
        """
        least = _Least(plan, self.cost(plan), {frozenset(self.of(plan))})
        told, before = self._as_told(plan), None
        if told and self.most:
            self._costs_less(least, told)
        while before is not least.plan:
            before = least.plan
            ways = (_without, self._for_its_round, self._for_the_next)
            for others, option in product(ways, [*self.of(before)][::-1]):
                made = self.of(least.plan)
                rest = [one for one in made if one != option]
                for settings in others(option, rest) if option in made else ():
                    if len(least.known) > self.most:
                        return least.plan
                    if self._costs_less(least, settings, by_g=self.least_g):
                        break
        return least.plan

    def _costs_less(
        self, least: _Least[_Plan], settings: Sequence[Option], *, by_g: float = 0.0
    ) -> bool:
        """Tries settings that were not tried yet, and takes their plan if it costs less by more
        than so much; whether it was taken.
        """
        if frozenset(settings) in least.known:
            return False
        least.known.add(frozenset(settings))
        found = self.tried(least.plan, settings)
        cost = self.cost(found)
        is_less = cost < least.cost - by_g
        if is_less:
            least.plan, least.cost = found, cost
        return is_less

    def _as_told(self, plan: _Plan) -> list[Option]:
        """The settings that were told, and those of a plan after them; none if none was told."""
        told: list[Option] = []
        for one in self.every:
            if one.own and not any(clash(one, other) for other in told):
                told.append(one)
        last_h = max((one.start_h for one in told), default=math.inf)
        later = (one for one in self.of(plan) if one.start_h > last_h)
        return [*told, *(one for one in later if not any(clash(one, other) for other in told))]

    def _for_its_round(self, option: Option, rest: Sequence[Option]) -> Iterator[Sequence[Option]]:
        return self._instead(option, rest, (0,))

    def _for_the_next(self, option: Option, rest: Sequence[Option]) -> Iterator[Sequence[Option]]:
        return self._instead(option, rest, (-1, 1))

    def _instead(
        self, option: Option, rest: Sequence[Option], by: Sequence[int]
    ) -> Iterator[Sequence[Option]]:
        """Another setting of the same vessel in the place of one: that which is least work, and
        that which brings the most of a gram.
        """
        for at_index in (option.at_index + step for step in by):
            near = [
                one for one in self.every
                if one.vessel == option.vessel and one.at_index == at_index and one != option
                and not any(clash(one, other) for other in rest)
            ]  # fmt: skip
            if near:
                yield [*rest, min(near, key=lambda one: (one.effort, -one.energy_per_g))]
                yield [*rest, max(near, key=lambda one: (one.energy_per_g, -one.effort))]


def _without(_: Option, rest: Sequence[Option]) -> Iterator[Sequence[Option]]:
    yield rest
