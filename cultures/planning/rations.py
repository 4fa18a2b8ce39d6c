"""How scarce worms are shared out over weeks: at a price (:mod:`cultures.planning.prices`).

So they are missed a little by all rounds rather than wholly by the last.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from attrs import evolve, field, frozen

from cultures.foods.kinds import WormKind
from cultures.needs.need import Round
from cultures.planning.prices import Bends, Want, asked_at, harm_at, least_harm
from cultures.planning.split_plan import WormPlan, in_swipes_mg, swipe_step_mg
from cultures.planning.worm_course import Stage, WormCourse, run_course

#: Less than this share missing of what is asked at a round is no shortage.
_TOLERANCE = 0.01
#: A plan, and the price at which each round would ask for just what it is given.
_Priced = tuple[WormPlan, list[float]]


@frozen(eq=False)
class Rations:
    """What is asked of one kind at each round, and the price of what is scarce.

    Attributes:
        wants: of each brood by round from the first that is not settled, in worms [mg wet].
        first: the count of those before. settled_mg: what is asked at each of them [mg wet].
    """

    kind: WormKind
    feedings: Sequence[Round]
    wants: Sequence[Sequence[Want]] = field(repr=False)
    first: int = 0
    settled_mg: Sequence[float] = field(default=(), repr=False)

    def demand(self, prices: Sequence[float]) -> list[float]:
        """What is asked for at each round, at its price [mg wet]."""
        asked = self.asked(prices[self.first :], self.first)
        return [*self.settled_mg[: len(prices)], *asked]

    def asked(self, prices: Sequence[float], since: int) -> list[float]:
        """What is asked for at each round from one on that is not settled [mg wet]."""
        return [
            in_swipes_mg(self.kind, asked_at(wants, price))
            for wants, price in zip(self.wants[since - self.first :], prices, strict=False)
        ]

    def anew(self, plan: WormPlan) -> WormPlan:
        """The cultures and splits of a plan asked for this at no price."""
        prices = [*plan.prices[: self.first], *(0.0 for _ in self.wants)]
        demand = self.demand(prices)
        wanted_mg = [*plan.wanted_mg[: self.first], *demand[self.first :]]
        return evolve(self._at(plan, prices), wanted_mg=wanted_mg)

    def _at(self, plan: WormPlan, prices: Sequence[float]) -> WormPlan:
        demand, step_mg = self.demand(prices), swipe_step_mg(self.kind)
        course = run_course(
            plan.stages, plan.splits, demand, step_mg, plan.course.head(self.first)
        )  # fmt: skip
        return evolve(plan, course=course, demand_mg=demand, prices=prices)

    def priced(self, plan: WormPlan) -> WormPlan:
        """A plan with the prices at which its worms do least harm where they are scarce."""
        if not self._is_short(plan.course):
            return plan
        before = plan.prices[: self.first]

        def at(prices: list[float]) -> tuple[float, _Priced]:
            tried = self._at(plan, [*before, *prices]) if any(prices) else plan
            given_mg = tried.course.given_mg
            paid = [of.price_for(given_mg(i)) for i, of in enumerate(self._bends, self.first)]
            return sum(map(harm_at, self.wants, paid)), (tried, paid)

        return least_harm(list(plan.prices[self.first :]), at, self._worth)[1][0]

    @cached_property
    def _bends(self) -> list[Bends]:
        return [Bends.of(wants) for wants in self.wants]

    def _worth(self, priced: _Priced) -> list[float]:
        """What a worm that is left in the cultures after each round is worth later.

        It is carried back: a worm multiplies as far as its culture has room, and at the next round
        as large a share of it can be taken as limits the harvest.
        """
        plan, paid = priced
        course, found = plan.course, [0.0] * len(self.wants)
        stage_of = {stage.culture.name: stage for stage in plan.stages}
        before: dict[str, float] = {}
        for k in range(len(self.wants) - 1, -1, -1):
            t = k + self.first
            fit, after = course.left[t]
            kept: dict[str, float] = {}
            for name in fit:
                stage = stage_of[name]
                at = t - stage.first
                if name in before and at < len(stage.steps):
                    a, c = stage.steps[at]
                    kept[name] = before[name] * a / (a + c * after[name]) ** 2
            stock = sum(fit.values())
            if stock > 0.0:
                found[k] = sum(each * fit[name] for name, each in kept.items()) / stock
            before = {name: kept.get(name, 0.0) for name in fit}
            if paid[k] > 0.0:
                taken = {h.culture: h.taken_mg for h in course.harvests[t]}
                for name, left in before.items():
                    if paid[k] > left:
                        share = self._taken_of_more(
                            stage_of[name], t, fit[name], taken.get(name, 0.0)
                        )
                        before[name] = left + share * (paid[k] - left)
        return found

    def _taken_of_more(self, stage: Stage, index: int, left_mg: float, taken_mg: float) -> float:
        """The share of one more worm of a culture that a round would take which wants more."""
        crumb = 2.0 * swipe_step_mg(self.kind) + 1e-9
        if left_mg <= stage.climbs_mg[index - stage.first] + crumb:
            return 1.0
        share, full_mg = stage.takes[index - stage.first], left_mg + taken_mg
        return (
            share
            if share * full_mg - crumb <= taken_mg and full_mg <= stage.model.drawn_mg
            else 0.0
        )

    def _is_short(self, course: WormCourse) -> bool:
        """Whether less is given than asked for at a round that is not settled."""
        return any(
            course.short_mg[i] > _TOLERANCE * (course.given_mg(i) + course.short_mg[i])
            for i in range(self.first, len(course.short_mg))
        )
