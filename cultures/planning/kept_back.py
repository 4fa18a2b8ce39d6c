"""Which nauplii are kept back for a round that goes short, while they can be held.

Where bottles are too few, a harvest is shared over the rounds at which it may be fed as worms are
over weeks (:mod:`cultures.planning.rations`): at a price, paid in what else a mouth could take. So
who can eat nothing else is fed before a round that has plenty for all is, and what is missing is
missed a little by each round rather than wholly by the last.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from functools import cached_property

from attrs import evolve, frozen

from cultures.foods.holding import Holding
from cultures.needs.need import Round
from cultures.planning.harvests import (
    Batch,
    HatchPlan,
    Turns,
    feed,
    feed_rest,
    may_be_fed,
)
from cultures.planning.prices import Bends, Want, asked_at, harm_at, least_harm

#: Less of a harvest than this is nothing; less than this share of what is asked is not missed.
_NOTHING, _CRUMB = 1e-6, 0.01
#: Harvests are shared anew from so long before the first round that goes short [h].
_BEFORE_H = 7 * 24.0

#: At what price a round would ask for just what it is given, the oldest harvest of which any is
#: left after it (where all is used up, the youngest that is there), and whether any is.
_Fed = tuple[float, Batch | None, bool]


def kept_back(
    plan: HatchPlan,
    feedings: Sequence[Round],
    wants: Sequence[Sequence[Want]],
    holding: Holding,
    since: int,
) -> HatchPlan:
    """A plan of hatches with its nauplii shared so as to do least harm, until it ends with the tin.

    Args:
        wants: of each brood by round [J]. since: rounds for which all is decided.
    """
    asked_j = [asked_at(row, 0.0) for row in wants]
    short = [t for t in range(since, plan.soon) if plan.short_j[t] > _CRUMB * asked_j[t]]
    if not short:
        return plan
    from_h = feedings[short[0]].at_h - _BEFORE_H
    first, end = bisect_left(feedings, from_h, since, key=lambda r: r.at_h), short[-1] + 1
    left, turns = [1.0] * len(plan.batches), plan.turns(holding)
    for feeding, given in zip(feedings[:first], plan.given_j, strict=False):
        turns.feed(left, feeding, given)
    near = [
        k for k, batch in enumerate(plan.batches)
        if batch.at_index < end and left[k] > 0.0
        and holding.still_feeds(batch.harvest_h, feedings[first].at_h)
    ]  # fmt: skip
    there, left = Turns([plan.batches[k] for k in near], holding), [left[k] for k in near]
    shared = _Shared(there, left, feedings[first:end], wants[first:end])
    prices, _ = least_harm([0.0] * (end - first), shared.at, shared.worth)
    if not any(prices):
        return plan
    most_j = [sum(of) for of in zip(plan.problem.demand, plan.held_j, strict=True)]
    limits_j = [*plan.given_j[:first], *map(asked_at, wants[first:end], prices), *most_j[end:]]
    found = evolve(plan)
    left = feed(found, feedings, asked_j, holding, limits_j)
    if any(left):  # what would be left of a harvest after all goes to the rounds that it feeds
        limits_j = feed_rest(found, feedings, asked_j, limits_j, left, holding, first)
    demand = [*plan.problem.demand]  # that before tells what is to be bought
    for t in range(first, len(demand)):
        if limits_j[t] < asked_j[t]:
            demand[t] = max(0.0, limits_j[t] - plan.held_j[t])
    found.problem = evolve(plan.problem, demand=tuple(demand))
    return found


@frozen(eq=False)
class _Shared:
    """Harvests, and the rounds over which they are shared.

    Attributes:
        there: the harvests. left: the share of each that is left when the first of the rounds
            begins. wants: by round.
    """

    there: Turns
    left: Sequence[float]
    feedings: Sequence[Round]
    wants: Sequence[Sequence[Want]]

    def at(self, prices: list[float]) -> tuple[float, list[_Fed]]:
        """The harm that is done at some prices, and what comes of them."""
        left, found, harm = [*self.left], [], 0.0
        rounds = zip(self.feedings, self.wants, self._bends, prices, strict=True)
        for feeding, wants, bends, price in rounds:
            portions = self.there.feed(left, feeding, asked_at(wants, price))
            paid = bends.price_for(sum([portion.energy_j for portion in portions]))
            harm += harm_at(wants, paid)
            found.append((paid, *self._kept(feeding, left)))
        return harm, found

    @cached_property
    def _bends(self) -> list[Bends]:
        return [Bends.of(wants) for wants in self.wants]

    def _kept(self, feeding: Round, left: Sequence[float]) -> tuple[Batch | None, bool]:
        batches = self.there.batches
        there = [n for n, _, _ in self.there.at(feeding) if batches[n].energy_j > 0.0]
        for number in there:
            if left[number] > _NOTHING:
                return batches[number], True
        return batches[max(there)] if there else None, False

    def worth(self, fed: list[_Fed]) -> list[float]:
        """What nauplii that are left after each round are worth later: what they are to the first
        round that uses all up, and nothing if they are too old before.
        """
        found, worth, later, holding = [0.0] * len(fed), 0.0, None, self.there.holding
        for t in range(len(fed) - 1, -1, -1):
            paid, batch, left_over = fed[t]
            now = self.feedings[t]
            if batch is not None and later is not None and may_be_fed(batch, later, holding):
                held = holding.share(batch.harvest_h, later.at_h)
                found[t] = worth * held / holding.share(batch.harvest_h, now.at_h)
            worth = found[t] if left_over else paid
            later = now
        return found
