"""Better batches near some round: all vessels are given new chains of batches there, in turn.

A chain is a longest path: each of its batches serves the rounds until the next one of its vessel
is harvested, as far as the other batches leave them open. Which vessel comes first decides who
serves what, so several orders and several stretches of rounds are tried; their number bounds the
work, which grows with the number of vessels, whatever the need.

References:
    Shaw 1998, Using constraint programming and local search methods to solve vehicle routing
    problems, CP98:417-431 (a part of a plan is given up and filled again).
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from random import Random

from cultures.planning.lots import (
    Lot,
    LotPlan,
    LotProblem,
    Option,
    Piece,
    amounts,
    hungry,
    open_pieces,
    priced,
)

#: Stretches of rounds that are tried: so many and so many more for each vessel, none longer to
#: either side than these; and so many in vain for each vessel before it is left at that. More
#: vessels than the last do not add to it, so that the work grows as their number does.
_TRIES, _TRIES_A_VESSEL, _IN_VAIN_A_VESSEL, _MOST_COUNTED = 40, 30, 30, 6
_REACHES = (3, 5, 8, 12)
#: How often the stretch lies around a round that goes short.
_NEAR_HUNGER = 0.7


def sketched(problem: LotProblem, bound: float) -> LotPlan:
    """A plan in which each vessel in turn serves what those before it left open."""
    chains = _Chains(problem)
    lots = chains.anew((), 0, len(problem.demand), list(chains.of), paid=False)
    return _dropped(problem, priced(problem, lots, bound))


def improved(problem: LotProblem, plan: LotPlan) -> LotPlan:
    """A plan with the batches of some rounds chosen anew, again and again, where that saves."""
    chains = _Chains(problem)
    rng, vessels, rounds = Random(1), list(chains.of), len(problem.demand)
    best, short = plan, hungry(problem, plan.short)
    counted = min(len(vessels), _MOST_COUNTED)
    left, most_in_vain = _TRIES + _TRIES_A_VESSEL * counted, _IN_VAIN_A_VESSEL * counted
    in_vain = 0
    while left > 0 and in_vain < most_in_vain:
        left, in_vain = left - 1, in_vain + 1
        near = short if short and rng.random() < _NEAR_HUNGER else range(rounds)
        middle, reach = rng.choice(near), rng.choice(_REACHES)
        rng.shuffle(vessels)
        paid = rng.random() < 0.5
        lots = chains.anew(best.lots, middle - reach, middle + reach, vessels, paid=paid)
        found = priced(problem, lots, best.bound)
        if found.cost < best.cost * (1 - 1e-9):
            best, in_vain = _dropped(problem, found), 0
            short = hungry(problem, best.short)
    return best


def _dropped(problem: LotProblem, plan: LotPlan) -> LotPlan:
    """The plan less all batches without which it costs less."""
    for lot in sorted(plan.lots, key=lambda lot: lot.grams):
        rest = [other.option for other in plan.lots if other.option is not lot.option]
        if lot.grams < lot.option.most_g and len(rest) < len(plan.lots):
            without = priced(problem, amounts(problem, rest), plan.bound)
            plan = min(plan, without, key=lambda found: found.cost)
    return plan


class _Chains:
    """The batches that each vessel could give, by round."""

    def __init__(self, problem: LotProblem) -> None:
        self.p = problem
        self.decay = (*problem.decay, 1.0)
        self.of: dict[int, list[Option]] = {}
        for option in sorted(problem.options, key=lambda o: (o.at_index, o.start_h)):
            if option.most_g > 0 and option.energy_per_g > 0:
                self.of.setdefault(option.vessel, []).append(option)

    def anew(
        self, lots: Sequence[Lot], low: int, high: int, vessels: Sequence[int], *, paid: bool
    ) -> list[Lot]:
        """The batches with those of the rounds ``low`` to ``high`` chosen anew.

        Args:
            vessels: in the order in which they choose. paid: they may also take over what other
                batches serve at a higher price.
        """
        kept = [lot for lot in lots if not low <= lot.option.at_index <= high]
        pieces = open_pieces(self.p, kept, paid=paid)
        chosen = [lot.option for lot in kept]
        for vessel in vessels:
            mine = [lot.option for lot in kept if lot.option.vessel == vessel]
            from_h = max((o.end_h for o in mine if o.at_index < low), default=-math.inf)
            until_h = min((o.start_h for o in mine if o.at_index > high), default=math.inf)
            every = self.of[vessel]
            first = bisect_left(every, low, key=lambda o: o.at_index)
            last = bisect_left(every, high + 1, key=lambda o: o.at_index)
            chain = self._longest(
                [
                    o
                    for o in every[first:last]
                    if o.start_h >= from_h - 1e-9 and o.end_h <= until_h + 1e-9
                ],
                pieces,
            )
            for option in chain:
                self._take(option, pieces)
            chosen += chain
        return amounts(self.p, chosen)

    def _longest(
        self, options: Sequence[Option], pieces: Sequence[Sequence[Piece]]
    ) -> list[Option]:
        """The chain of one vessel that gains most."""
        best: list[tuple[float, int]] = [(0.0, -1)] * (len(options) + 1)
        top = list(best)  # the best from an option on
        stay_h = max((o.end_h - o.start_h for o in options), default=0.0)
        for i in range(len(options) - 1, -1, -1):
            option, gains = options[i], self._gains(options[i], pieces)
            (gain, after), last, j = (gains[-1], -1), len(gains), i + 1
            while j < len(options):
                other = options[j]
                apart = other.at_index - option.at_index
                if apart >= last and other.end_h - stay_h >= option.end_h:
                    break  # from here on all come late enough
                if other.start_h >= option.end_h - 1e-9:
                    both = gains[min(apart, last) - 1] + best[j][0]
                    if both > gain:
                        gain, after = both, j
                j += 1
            if gains[-1] + top[j][0] > gain:
                gain, after = gains[-1] + top[j][0], top[j][1]
            best[i] = gain, after
            top[i] = (gain, i) if gain >= top[i + 1][0] else top[i + 1]
        chain: list[Option] = []
        gain, i = top[0]
        while i >= 0 and gain > 0:
            chain.append(options[i])
            i = best[i][1]
        return chain

    def _gains(self, option: Option, pieces: Sequence[Sequence[Piece]]) -> list[float]:
        """What a batch gains if it serves its own round only, the next one too, and so on."""
        p, gain = self.p, -self.p.setup_cost * option.effort
        left, energy, gains = option.most_g, option.energy_per_g, []
        for t in range(option.at_index, len(p.demand)):
            if p.oldest[t] > option.at_index:
                break
            for amount, price in pieces[t]:
                worth = price * energy - p.gram_cost
                if worth <= 0 or left <= 0:
                    break
                used = min(left, amount / energy)
                gain += used * worth
                left -= used
            gains.append(gain)
            energy *= self.decay[t]
        return gains

    def _take(self, option: Option, pieces: list[list[Piece]]) -> None:
        """Takes what a batch serves out of what is open."""
        left, energy = option.most_g, option.energy_per_g
        for t in range(option.at_index, len(pieces)):
            if self.p.oldest[t] > option.at_index or left <= 0:
                break
            rest = []
            for amount, price in pieces[t]:
                used = min(left, amount / energy) if price * energy > self.p.gram_cost else 0.0
                left -= used
                if amount - used * energy > 1e-9 * amount:
                    rest.append((amount - used * energy, price))
            pieces[t] = rest
            energy *= self.decay[t]
