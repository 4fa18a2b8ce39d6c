"""How scarce worms are shared out over weeks: at a price (:mod:`cultures.planning.prices`).

So they are missed a little by all rounds rather than wholly by the last.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import field, frozen

from cultures.foods.kinds import WormKind
from cultures.needs.need import Round
from cultures.planning.prices import Want, asked_at, harm_of, least_harm, price_for
from cultures.planning.split_plan import WormPlan, in_swipes_mg, swipe_step_mg
from cultures.planning.worm_course import WormCourse, run_course

#: Less than this share missing of what is asked at a round is no shortage.
_TOLERANCE = 0.01
#: A shortage is rationed from so long before it, and over so long after its first round [h].
_BEFORE_H, _AFTER_H = 14 * 24.0, 7 * 24.0


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

    def priced(self, plan: WormPlan) -> WormPlan:
        """A plan with the prices at which its worms do least harm where they are scarce."""
        prices, course, since = list(plan.prices), plan.course, self.first
        while (short := self._short(course, since)) is not None:
            limit_h, end = self.feedings[short].at_h + _AFTER_H, short
            while (later := self._short(course, end + 1)) is not None:
                if self.feedings[later].at_h > limit_h:
                    break
                end = later
            from_h = self.feedings[short].at_h - _BEFORE_H
            begin = next(r.index for r in self.feedings[self.first :] if r.at_h >= from_h)
            price = self._best(plan, prices, course, range(begin, end + 1))
            prices[begin : end + 1] = [max(price, old) for old in prices[begin : end + 1]]
            if price > 0.0:
                course = run_course(
                    plan.stages, plan.splits, self.demand(prices), swipe_step_mg(self.kind),
                    course.head(begin),
                )  # fmt: skip
            since = end + 1
        return plan.at_prices(course, self.demand(prices), prices)

    def _best(
        self, plan: WormPlan, prices: Sequence[float], course: WormCourse, window: range
    ) -> float:
        """The price that does least harm when it is asked in a window at least."""
        before, step_mg = self.demand(prices[: window.start]), swipe_step_mg(self.kind)

        def harm(price: float) -> float:
            after = course
            if price > 0.0:
                asked = self.asked([max(price, prices[i]) for i in window], window.start)
                after = run_course(
                    plan.stages, plan.splits, [*before, *asked], step_mg, course.head(window.start)
                )
            return sum(self._harm(after, i) for i in window)

        highest = max(price_for(self.wants[i - self.first], course.given_mg(i)) for i in window)
        return least_harm(harm, highest)

    def _harm(self, course: WormCourse, index: int) -> float:
        return harm_of(self.wants[index - self.first], course.given_mg(index))

    @staticmethod
    def _short(course: WormCourse, since: int) -> int | None:
        """The first round from one on at which less is given than asked for."""
        for i in range(since, len(course.short_mg)):
            if course.short_mg[i] > _TOLERANCE * (course.given_mg(i) + course.short_mg[i]):
                return i
        return None
