"""How scarce worms are shared out: at a price, paid in what else a mouth could take.

The aim is the least harm: of each brood and round the worms that its diet wants, times the square
of the share that is missing, over how much choice the mouth has besides. What is scarce then goes
to those who can eat nothing else, and is missed a little by all rounds rather than wholly by the
last. The least harm at a given amount is had at a price p, the same for all, at which a brood of
choice c asks for the share 1 - p c of what its diet wants (p is the multiplier of Lagrange).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from attrs import field, frozen

from cultures.foods.kinds import WormKind
from cultures.needs.need import Round
from cultures.planning.split_plan import WormPlan, in_swipes_mg, swipe_step_mg
from cultures.planning.worm_course import WormCourse, run_course

#: Who can live on another food wholly pays four times, so that a mouth of a centimetre that has no
#: other food misses less than is called short as long as they get any.
_WITHOUT = 0.75
#: What a millimetre of length adds to the choice of a mouth, against a food that suits it well.
_CHOICE_PER_MM = 0.01
#: Less than this share missing of what is asked at a round is no shortage.
_TOLERANCE = 0.01
#: A shortage is rationed from so long before it, and over so long after its first round [h].
_BEFORE_H, _AFTER_H = 14 * 24.0, 7 * 24.0
#: Prices tried for a shortage, each half of the one before, and closer ones around the best.
_PRICES, _CLOSER = 8, 4

#: What a brood wants of a food, and how much choice it has besides.
Want = tuple[float, float]


def choice_of(others: float, length_mm: float) -> float:
    """How much choice a brood has besides a food.

    Args:
        others: the share of its need for which the best other food may stand in. length_mm: of
            the fry.
    """
    return others / (1.0 - _WITHOUT * others) + _CHOICE_PER_MM * length_mm


def asked_at(wants: Sequence[Want], price: float) -> float:
    """What is asked for at a price, all together."""
    if not price:
        return sum([want for want, _ in wants], 0.0)
    return sum(want * max(0.0, 1.0 - price * choice) for want, choice in wants)


def price_for(wants: Sequence[Want], given: float) -> float:
    """The price at which just so much is asked for; 0 where it is enough."""
    want, paid = sum(w for w, _ in wants), sum(w * c for w, c in wants)
    if want <= given:
        return 0.0
    price = 0.0
    for each, choice in sorted(wants, key=lambda w: -w[1]):
        if paid <= 0.0:
            break
        price = max(0.0, (want - given) / paid)
        if price * choice <= 1.0:
            return price
        want, paid = want - each, paid - each * choice
    return price


def shares_of(wants: Sequence[Want], given: float) -> list[float]:
    """What is given, divided: by want when it is enough, else at its price."""
    price = price_for(wants, given)
    parts = [want * max(0.0, 1.0 - price * choice) for want, choice in wants]
    total = sum(parts)
    return [part * given / total for part in parts] if total > 0.0 else parts


def harm_of(wants: Sequence[Want], given: float) -> float:
    """What it does to the broods of a round that so much is given."""
    price = price_for(wants, given)
    return sum(w * min(price, 1.0 / c) ** 2 * c / 2.0 for w, c in wants if w > 0.0)


def least_harm(harm: Callable[[float], float], highest: float) -> float:
    """The price up to a highest one that does least harm; 0 unless one does less than none."""
    tried: dict[float, float] = {}

    def of(price: float) -> float:
        if price not in tried:
            tried[price] = harm(price)
        return tried[price]

    best = min((highest / 2.0**k for k in range(_PRICES)), key=of)
    for k in range(1, _CLOSER + 1):
        near = (best * 2.0 ** (-(0.5**k)), best, best * 2.0 ** (0.5**k))
        best = min(near, key=of)
    return best if of(best) < of(0.0) * (1.0 - 1e-9) else 0.0


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
