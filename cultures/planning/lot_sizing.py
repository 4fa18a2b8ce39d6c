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

from collections.abc import Callable
from functools import lru_cache

from cultures.planning.lot_chains import improved, sketched
from cultures.planning.lot_search import Search
from cultures.planning.lots import LotPlan, LotProblem, hungry

#: Labels kept at a round, and the most vessels that differ for which they are carried.
_LABELS = 24
_MOST_UNLIKE = 3
#: So many shares of what is wanted are tried where the tin does not last, and how near they come.
_MOST_SHARES = 8
_NEAR, _EPS_G = 0.995, 1e-9


@lru_cache(maxsize=32)
def first(problem: LotProblem) -> tuple[LotPlan, bool]:
    """A first set of batches, and whether it may be bettered."""
    count = len(problem.demand)
    if count == 0:
        return LotPlan((), (), 0.0, True, 0.0), False
    search = Search(problem)
    sketch = sketched(problem, search.lower[count])
    if search.choices.unlike > _MOST_UNLIKE:
        return sketch, not sketch.proven
    label = search.run(_LABELS // max(1, search.choices.vessels - 2), sketch.cost)
    plan = search.plan_of(label, sketch.bound) if label is not None else sketch
    plan = min(plan, sketch, key=lambda found: found.cost)
    return plan, (search.cut or plan is sketch) and bool(hungry(problem, plan.short))


@lru_cache(maxsize=32)
def solve(problem: LotProblem) -> LotPlan:
    """The cheapest set of batches.

    Returns:
        The best plan found, and a lower ``bound`` that holds for every plan. ``proven`` is
        True where the two meet; against a solver's proof the others stay within 1 %
        (tests/oracle).
    """
    plan, rough = first(problem)
    return improved(problem, plan) if rough else plan


def shared(
    problem: Callable[[float], LotProblem],
    most_g: float,
    weighed_g: Callable[[float, LotPlan], float] = lambda _, plan: grams(plan),
    solving: Callable[[LotProblem], LotPlan] = solve,
) -> tuple[float, LotPlan]:
    """The share of all that is wanted which so many grams bring, and how.

    Args:
        problem: in which no more than a share is wanted. weighed_g: the grams that are weighed out
            for a share as it is planned. solving: plans the batches of a share.
    """
    low, high, share = 0.0, 1.0, 1.0
    found = (0.0, LotPlan((), problem(1.0).demand, 0.0, False, 0.0))
    above, alike = True, 0
    for _ in range(_MOST_SHARES):
        plan = solving(problem(share))
        asked_g = weighed_g(share, plan)
        alike = alike + 1 if (asked_g > most_g + _EPS_G) is above else 1
        above = asked_g > most_g + _EPS_G
        if above:
            high = share
        else:
            low, found = share, (share, plan)
            if share == 1.0 or asked_g >= _NEAR * most_g:
                break
        # Aimed a little below, since what comes near from above alone is never few enough; and
        # where vessels are full, or hatches small, less wanted is no less set for a while.
        near = share * most_g * (1.0 + _NEAR) / 2.0 / max(asked_g, 1e-9)
        share = near if low < near < high and alike < 2 else (low + high) / 2.0
    return found


def grams(plan: LotPlan) -> float:
    """Of all batches together."""
    return sum(lot.grams for lot in plan.lots)
