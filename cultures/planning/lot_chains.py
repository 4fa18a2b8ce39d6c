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

from bisect import bisect_left
from collections.abc import Sequence
from random import Random

from cultures.planning.lots import (
    Lot,
    LotPlan,
    LotProblem,
    Option,
    amounts,
    hungry,
    open_pieces,
    priced,
)

#: Stretches of rounds that are tried: so many and so many more for each vessel, none longer to
#: either side than these.
_TRIES, _TRIES_A_VESSEL = 40, 20
_REACHES = (3, 5, 8, 12)
#: How often the stretch lies around a round that goes short.
_NEAR_HUNGER = 0.7


def improved(problem: LotProblem, plan: LotPlan) -> LotPlan:
    """A plan with the batches of some rounds chosen anew, again and again, where that saves."""
    chains = _Chains(problem)
    rng, vessels, rounds = Random(1), list(chains.of), len(problem.demand)
    best = _dropped(problem, plan)
    for _ in range(_TRIES + _TRIES_A_VESSEL * len(vessels)):
        short = hungry(problem, best.short)
        near = short if short and rng.random() < _NEAR_HUNGER else range(rounds)
        middle, reach = rng.choice(near), rng.choice(_REACHES)
        rng.shuffle(vessels)
        lots = chains.anew(best.lots, middle - reach, middle + reach, vessels, rng.random() < 0.5)
        found = priced(problem, lots, best.bound)
        if found.cost < best.cost * (1 - 1e-9):
            best = _dropped(problem, found)
    return best


def _dropped(problem: LotProblem, plan: LotPlan) -> LotPlan:
    """The plan less all batches without which it costs less."""
    for lot in sorted(plan.lots, key=lambda lot: lot.grams):
        rest = [other.option for other in plan.lots if other.option is not lot.option]
        if len(rest) < len(plan.lots):
            without = priced(problem, amounts(problem, rest), plan.bound)
            plan = min(plan, without, key=lambda found: found.cost)
    return plan


class _Chains:
    """The batches that each vessel could give, by round."""

    def __init__(self, problem: LotProblem) -> None:
        self.p = problem
        self.of: dict[int, list[Option]] = {}
        for option in sorted(problem.options, key=lambda o: (o.at_index, o.start_h)):
            if option.most_g > 0 and option.energy_per_g > 0:
                self.of.setdefault(option.vessel, []).append(option)

    def anew(
        self, lots: Sequence[Lot], low: int, high: int, vessels: Sequence[int], paid: bool
    ) -> list[Lot]:
        """The batches with those of the rounds ``low`` to ``high`` chosen anew.

        Args:
            vessels: in the order in which they choose. paid: they may also take over what other
                batches serve at a higher price.
        """
        kept = [lot for lot in lots if not low <= lot.option.at_index <= high]
        found = list(kept)
        for vessel in vessels:
            mine = [lot.option for lot in kept if lot.option.vessel == vessel]
            from_h = max((o.end_h for o in mine if o.at_index < low), default=float("-inf"))
            until_h = min((o.start_h for o in mine if o.at_index > high), default=float("inf"))
            every = self.of[vessel]
            first = bisect_left(every, low, key=lambda o: o.at_index)
            last = bisect_left(every, high + 1, key=lambda o: o.at_index)
            options = [
                o
                for o in every[first:last]
                if o.start_h >= from_h - 1e-9 and o.end_h <= until_h + 1e-9
            ]
            chain = self._longest(options, open_pieces(self.p, found, paid=paid))
            found = amounts(self.p, [*(lot.option for lot in found), *chain])
        return found

    def _longest(
        self, options: Sequence[Option], pieces: Sequence[Sequence[tuple[float, float]]]
    ) -> list[Option]:
        """The chain of one vessel that gains most."""
        best: list[tuple[float, int]] = [(0.0, -1)] * len(options)
        for i in range(len(options) - 1, -1, -1):
            option, gains = options[i], self._gains(options[i], pieces)
            found, last = (gains[-1], -1), len(gains)
            for j in range(i + 1, len(options)):
                after = options[j]
                if after.start_h >= option.end_h - 1e-9:
                    gain = gains[min(after.at_index - option.at_index, last) - 1] + best[j][0]
                    if gain > found[0]:
                        found = gain, j
            best[i] = found
        chain: list[Option] = []
        gain, i = max(((b[0], i) for i, b in enumerate(best)), default=(0.0, -1))
        while i >= 0 and gain > 0:
            chain.append(options[i])
            i = best[i][1]
        return chain

    def _gains(
        self, option: Option, pieces: Sequence[Sequence[tuple[float, float]]]
    ) -> list[float]:
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
            energy *= p.decay[t] if t < len(p.decay) else 1.0
        return gains
