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

from functools import lru_cache

from cultures.planning.lot_chains import improved
from cultures.planning.lot_search import Search
from cultures.planning.lots import LotPlan, LotProblem, hungry, priced

#: Labels kept at a round, and the most vessels that are unlike for which they are carried.
_LABELS = 48
_MOST_UNLIKE = 3


@lru_cache(maxsize=32)
def solve(problem: LotProblem) -> LotPlan:
    """The cheapest set of batches.

    Returns:
        The best plan found, and a lower ``bound`` that holds for every plan. ``proven`` is
        True where the two meet; against a solver's proof the others stay within 1 %
        (tests/oracle).
    """
    count = len(problem.demand)
    if count == 0:
        return LotPlan((), (), 0.0, True, 0.0)
    search = Search(problem)
    plan = priced(problem, (), search.lower[count])
    if search.unlike <= _MOST_UNLIKE:
        plan = search.plan_of(search.run(_LABELS), search.lower[count])
        if not (search.cut or hungry(problem, plan.short)):
            return plan
    return plan if plan.proven else improved(problem, plan)
