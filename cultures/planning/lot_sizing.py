"""Lot sizing of a perishable good in a few vessels: which batch to harvest at which round.

Knows nothing of shrimp. With one vessel that is never full this is the problem of
Wagner & Whitin; here batches occupy a vessel for a while, vessels are finite, and what is
held decays and may be kept only so long.

Labels are carried backwards from the last round. A label is what later rounds still want
from earlier batches; of two labels with the same vessels free, one that costs no more and
wants no more makes the other needless. The uncapacitated problem, solved forwards first,
bounds what the remaining rounds must cost, and a plan sketched vessel by vessel what all may
cost, so that most labels are cut early; the number of labels kept at a round is limited, which
bounds the time. Only where labels were dropped for want of room is what goes short chosen anew.

References:
    Wagner & Whitin 1958, Dynamic version of the economic lot size model, Management
    Science 5(1):89-96 (the recursion of :func:`_lower_bounds`, here with decay, deadlines
    and unmet demand).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from attrs import evolve

from cultures.planning.lot_chains import improved, sketched
from cultures.planning.lot_search import Search
from cultures.planning.lots import Lot, LotPlan, LotProblem, amounts, hungry, priced, within

#: Labels kept at a round, and the most vessels that differ for which they are carried.
_LABELS = 48
_MOST_UNLIKE = 3
#: So many prices of a gram are tried at most where the tin does not last.
_MOST_PRICES = 12
#: A plan is another one at a price if it costs so much less there.
_LESS = 1e-6


@lru_cache(maxsize=32)
def first(problem: LotProblem) -> tuple[LotPlan, bool]:
    """A first set of batches from an endless tin, and whether it may be bettered."""
    count = len(problem.demand)
    if count == 0:
        return LotPlan((), (), 0.0, True, 0.0), False
    search = Search(problem)
    sketch = sketched(problem, search.lower[count])
    if search.unlike > _MOST_UNLIKE:
        return sketch, not sketch.proven
    label = search.run(_LABELS // max(1, search.vessels - 2), sketch.cost)
    plan = search.plan_of(label, sketch.bound) if label is not None else sketch
    plan = min(plan, sketch, key=_cost)
    return plan, (search.cut or plan is sketch) and bool(hungry(problem, plan.short))


def solve(problem: LotProblem) -> LotPlan:
    """The cheapest set of batches that the tin holds.

    A tin that will not last is rationed by its price: the dearer a gram, the fewer are held and
    lose value, until a round is better left short than fed so dearly. The price tried is that at
    which the plan that takes too much and the one that makes do cost the same; where neither is
    bettered there, no price tells them apart. Of all plans found the one that costs least, cut to
    what the tin holds, is taken.

    Returns:
        The best plan found, and a lower ``bound`` that holds for every plan. ``proven`` is
        True where the two meet; against a solver's proof the others stay within 1 %
        (tests/oracle).
    """
    endless = evolve(problem, tin_g=math.inf)
    much = _bettered(endless)
    if _grams(much) <= problem.tin_g:
        return much
    bound = much.bound
    best = _cut(problem, much.lots, bound)
    little = priced(endless, (), bound)
    for _ in range(_MOST_PRICES):
        dearer = (little.cost - much.cost) / (_grams(much) - _grams(little))
        found = _bettered(evolve(endless, gram_cost=problem.gram_cost + dearer))
        found = priced(endless, found.lots, bound)
        least = little.cost + dearer * _grams(little)
        if found.cost + dearer * _grams(found) >= least * (1 - _LESS):
            break
        best = min(best, _cut(problem, found.lots, bound), key=_cost)
        much, little = (found, little) if _grams(found) > problem.tin_g else (much, found)
    return min([best, *_joined(problem, much, little), *_joined(problem, little, much)], key=_cost)


def _cut(problem: LotProblem, lots: Sequence[Lot], bound: float) -> LotPlan:
    return priced(problem, within(problem, lots), bound)


def _joined(problem: LotProblem, before: LotPlan, after: LotPlan) -> Iterator[LotPlan]:
    """One plan up to a round and the other from there on, for each round, cut to the tin."""
    for index in range(1, len(problem.demand)):
        chosen = [lot.option for lot in before.lots if lot.option.at_index < index]
        taken = {o.vessel: o.end_h for o in chosen}  # the last of each vessel, as they are in order
        chosen += [
            lot.option
            for lot in after.lots
            if lot.option.at_index >= index
            and lot.option.start_h >= taken.get(lot.option.vessel, -math.inf) - 1e-9
        ]
        yield _cut(problem, amounts(problem, chosen), before.bound)


@lru_cache(maxsize=32)
def _bettered(problem: LotProblem) -> LotPlan:
    plan, rough = first(problem)
    return improved(problem, plan) if rough else plan


def _cost(plan: LotPlan) -> float:
    return plan.cost


def _grams(plan: LotPlan) -> float:
    return sum(lot.grams for lot in plan.lots)
