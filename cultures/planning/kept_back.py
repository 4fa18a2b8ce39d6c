"""Which nauplii are kept back for a round that goes short, while they can be held.

Where bottles are too few, a harvest is shared over the rounds at which it may be fed as worms are
over weeks (:mod:`cultures.planning.rations`): at a price, paid in what else a mouth could take. So
who can eat nothing else is fed before a round that has plenty for all is, and what is missing is
missed a little by each round rather than wholly by the last.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from cultures.foods.holding import Holding
from cultures.needs.need import Round
from cultures.planning.hatch_plan import Batch, HatchPlan, feed, may_be_fed
from cultures.planning.prices import (
    Want,
    asked_at,
    harm_of,
    least_harm,
    price_for,
)

#: Less of a harvest than this is nothing.
_NOTHING = 1e-6


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

    def at(prices: list[float]) -> tuple[float, HatchPlan]:
        limits_j = [*plan.given_j[:since], *map(asked_at, wants[since:], prices)]
        tried = _within(plan, feedings, asked_j, holding, limits_j)
        both = zip(wants[since:], tried.given_j[since:], strict=True)
        return sum(harm_of(row, given) for row, given in both), tried

    def worth(of: HatchPlan) -> list[float]:
        return _worth(of, feedings, wants, holding)[since:]

    return least_harm([0.0] * (len(wants) - since), at, worth)[1]


def _worth(
    plan: HatchPlan,
    feedings: Sequence[Round],
    wants: Sequence[Sequence[Want]],
    holding: Holding,
) -> list[float]:
    """What nauplii that are left after each round are worth later: what they are to the first round
    that uses all up, and nothing if they are too old before.
    """
    found, worth = [0.0] * len(feedings), 0.0
    kept = _kept(plan, feedings, holding)
    for t in range(len(feedings) - 1, -1, -1):
        batch, left_over = kept[t]
        if batch is not None and t + 1 < len(feedings):
            now, later = feedings[t], feedings[t + 1]
            if may_be_fed(batch, later, holding):
                held = holding.share(batch.harvest_h, later.at_h)
                found[t] = worth * held / holding.share(batch.harvest_h, now.at_h)
        worth = found[t] if left_over else price_for(wants[t], plan.given_j[t])
    return found


def _kept(
    plan: HatchPlan, feedings: Sequence[Round], holding: Holding
) -> list[tuple[Batch | None, bool]]:
    """For each round the oldest harvest of which any is left after it, and that some is; where all
    is used up, the youngest that is there.
    """
    shares, found = [1.0] * len(plan.batches), []
    for feeding, portions in zip(feedings, plan.portions, strict=True):
        for portion in portions:
            batch = plan.batches[portion.batch]
            whole_j = batch.energy_j * holding.share(batch.harvest_h, feeding.at_h)
            shares[portion.batch] -= portion.energy_j / whole_j
        there = [
            (batch, share)
            for batch, share in zip(plan.batches, shares, strict=True)
            if batch.energy_j > 0.0 and may_be_fed(batch, feeding, holding)
        ]
        left = next((batch for batch, share in there if share > _NOTHING), None)
        found.append((left or (there[-1][0] if there else None), left is not None))
    return found


def _within(
    plan: HatchPlan,
    feedings: Sequence[Round],
    asked_j: Sequence[float],
    holding: Holding,
    limits_j: Sequence[float],
) -> HatchPlan:
    """The plan fed within limits, which are its demand from now on."""
    demand = tuple(
        max(0.0, limit - held) if limit < asked else planned
        for planned, limit, held, asked in zip(
            plan.problem.demand, limits_j, plan.held_j, asked_j, strict=True
        )
    )
    new = evolve(plan, problem=evolve(plan.problem, demand=demand))
    feed(new, feedings, asked_j, holding, limits_j)
    return new
