"""Lot sizing of a perishable good in a few vessels: which batch to harvest at which round.

Knows nothing of shrimp. With one vessel that is never full this is the problem of
Wagner & Whitin; here batches occupy a vessel for a while, vessels are finite, and what is
held decays and may be kept only so long.

Labels are carried backwards from the last round. A label is what later rounds still want
from earlier batches; of two labels with the same vessels free, one that costs no more and
wants no more makes the other needless. The uncapacitated problem, solved forwards first,
bounds what the remaining rounds must cost, so that most labels are cut early; the number of
labels kept at a round is limited, which bounds the time.

References:
    Wagner & Whitin 1958, Dynamic version of the economic lot size model, Management
    Science 5(1):89-96 (the recursion of :func:`_lower_bounds`, here with decay, deadlines
    and unmet demand).
"""

from __future__ import annotations

import math
from functools import lru_cache

from attrs import evolve

from cultures.planning.lot_chains import improved, sketched
from cultures.planning.lot_search import Search
from cultures.planning.lots import LotPlan, LotProblem, hungry, priced, within

#: Labels kept at a round, and the most vessels that differ for which they are carried.
_LABELS = 48
_MOST_UNLIKE = 3
#: Where the tin does not last, a gram is priced so many times as high, and so on, until the tin
#: lasts; then the price between is sought. So many prices are tried.
_DEARER = 4.0
_MOST_PRICES = 12


@lru_cache(maxsize=32)
def first(problem: LotProblem) -> tuple[LotPlan, bool]:
    """A first set of batches from an endless tin, and whether it may be bettered."""
    count = len(problem.demand)
    if count == 0:
        return LotPlan((), (), 0.0, True, 0.0), False
    search = Search(problem)
    bound = search.lower[count]
    if search.unlike > _MOST_UNLIKE:
        plan = sketched(problem, bound)
        return plan, not plan.proven
    plan = search.plan_of(search.run(_LABELS // max(1, search.vessels - 2)), bound)
    return plan, bool(hungry(problem, plan.short))


def solve(problem: LotProblem) -> LotPlan:
    """The cheapest set of batches that the tin holds.

    A tin that will not last is rationed by its price: the dearer a gram, the fewer are held and
    lose value, until a round is better left short than fed so dearly. Of all prices tried the
    plan that costs least at the true price is taken, cut to what the tin holds.

    Returns:
        The best plan found, and a lower ``bound`` that holds for every plan. ``proven`` is
        True where the two meet; against a solver's proof the others stay within 1 %
        (tests/oracle).
    """
    endless = evolve(problem, tin_g=math.inf)
    best = found = _bettered(endless)
    if _grams(found) <= problem.tin_g:
        return best
    best = priced(problem, within(problem, found.lots), found.bound)
    low, high = problem.gram_cost, math.inf
    for _ in range(_MOST_PRICES):
        price = low * _DEARER if high == math.inf else math.sqrt(low * high)
        found = _bettered(evolve(endless, gram_cost=price))
        cut = priced(problem, within(problem, found.lots), best.bound)
        best = min(best, cut, key=lambda plan: plan.cost)
        low, high = (price, high) if _grams(found) > problem.tin_g else (low, price)
    return best


def _bettered(problem: LotProblem) -> LotPlan:
    plan, rough = first(problem)
    return improved(problem, plan) if rough else plan


def _grams(plan: LotPlan) -> float:
    return sum(lot.grams for lot in plan.lots)
