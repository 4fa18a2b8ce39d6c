"""Which nauplii are kept back for a round that goes short, while they can be held.

Where bottles are too few, a harvest is shared over the rounds at which it may be fed as worms are
over weeks (:mod:`cultures.planning.prices`): at a price, paid in what else a mouth could take. So
who can eat nothing else is fed before a round that has plenty for all is, and what is missing is
missed a little by each round rather than wholly by the last.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from cultures.foods.holding import Holding
from cultures.needs.need import Round
from cultures.planning.hatch_plan import Batch, HatchPlan, feed, feed_round, may_be_fed
from cultures.planning.prices import Want, asked_at, harm_of, least_harm, price_for
from cultures.planning.servings import SHORT_SHARE


def kept_back(
    plan: HatchPlan,
    feedings: Sequence[Round],
    wants: Sequence[Sequence[Want]],
    holding: Holding,
    since: int,
) -> HatchPlan:
    """A plan of hatches with its nauplii shared so as to do least harm.

    Args:
        wants: of each brood by round [J]. since: rounds for which all is decided.
    """
    asked_j = [asked_at(row, 0.0) for row in wants]
    limits_j = [*plan.given_j[:since], *asked_j[since:]]
    prices, left, fed = [0.0] * len(wants), [1.0] * len(plan.batches), 0
    for batch in sorted(plan.batches, key=lambda each: each.harvest_h):
        window = _window(batch, feedings, holding, since)
        if not any(plan.short_j[t] > SHORT_SHARE * asked_j[t] for t in window[1:]):
            continue
        for t in range(fed, window.start):
            feed_round(plan.batches, left, feedings[t], limits_j[t], holding)
        fed = max(fed, window.start)
        price = _price(plan, feedings, wants, holding, window, left, prices)
        for t in window:
            prices[t] = max(prices[t], price)
            limits_j[t] = asked_at(wants[t], prices[t])
    return _within(plan, feedings, asked_j, holding, limits_j) if any(prices) else plan


def _window(batch: Batch, feedings: Sequence[Round], holding: Holding, since: int) -> range:
    """The rounds not decided yet at which a harvest may be fed."""
    first = end = max(batch.at_index, since)
    while end < len(feedings) and may_be_fed(batch, feedings[end], holding):
        end += 1
    return range(first, end)


def _price(
    plan: HatchPlan,
    feedings: Sequence[Round],
    wants: Sequence[Sequence[Want]],
    holding: Holding,
    window: range,
    left: Sequence[float],
    prices: Sequence[float],
) -> float:
    """The price that does least harm at some rounds, when it is asked at each at least.

    Args:
        left: shares of the harvests when the first of them begins. prices: asked already.
    """

    def harm(price: float) -> float:
        rest, total = [*left], 0.0
        for t in window:
            asked_j = asked_at(wants[t], max(price, prices[t]))
            portions = feed_round(plan.batches, rest, feedings[t], asked_j, holding)
            total += harm_of(wants[t], sum(portion.energy_j for portion in portions))
        return total

    return least_harm(harm, max(price_for(wants[t], plan.given_j[t]) for t in window))


def _within(
    plan: HatchPlan,
    feedings: Sequence[Round],
    asked_j: Sequence[float],
    holding: Holding,
    limits_j: Sequence[float],
) -> HatchPlan:
    """The plan fed within limits, which are its demand from now on."""
    demand = tuple(
        min(planned, max(0.0, limit - held)) if limit < asked else planned
        for planned, limit, held, asked in zip(
            plan.problem.demand, limits_j, plan.held_j, asked_j, strict=True
        )
    )
    new = evolve(plan, problem=evolve(plan.problem, demand=demand))
    feed(new, feedings, asked_j, holding, limits_j)
    return new
