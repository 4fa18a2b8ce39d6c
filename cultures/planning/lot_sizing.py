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
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from attrs import evolve

from cultures.planning.lot_search import EPS, Search
from cultures.planning.lots import Lot, LotPlan, LotProblem, Option, Pantry, stock_at, unmet

__all__ = ["Lot", "LotPlan", "LotProblem", "Option", "Pantry", "solve", "stock_at", "unmet"]

#: Where a round must stay short: how far from it batches are moved, and how much is tried.
_SHIFT_ROUNDS = 8
_SHIFT_WORK = 8000
#: Labels kept at a round in a first pass, which seldom needs more, where something stays
#: unmet, and at most.
_QUICK_WIDTH = 48
_SHORT_WIDTH = 120
_MOST_LABELS = 1500


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
    bound = search.lower[count]
    best = search.run(_QUICK_WIDTH, math.inf)
    if search.cut and best.cost > bound * (1 + EPS) + EPS:
        best = min(best, search.run(_MOST_LABELS, best.cost), key=lambda label: label.cost)
    plan = search.plan_of(best, bound)
    if not _hungry(problem, plan.short):
        return plan
    # What is short may still move to a later round that loses less, so labels that short
    # different rounds are kept side by side; then single batches are moved.
    other = search.plan_of(search.run(_SHORT_WIDTH, math.inf, by_short=True), bound)
    return _shifted(problem, min(plan, other, key=lambda found: found.cost))


def _hungry(problem: LotProblem, short: Sequence[float]) -> list[int]:
    """Rounds that stay short although some batch could reach them."""
    return [
        t
        for t, amount in enumerate(short)
        if amount > 0 and any(problem.oldest[t] <= o.at_index <= t for o in problem.options)
    ]


def _shifted(problem: LotProblem, plan: LotPlan) -> LotPlan:
    """Moves batches by a few rounds where a round stays short, as long as that helps.

    Where something must stay unmet, labels with equal wants are not equal: what is short may
    still move to a later round that loses less. So near a shortage one to three batches of a
    vessel in a row are tried at other rounds.
    """
    options = {(o.vessel, o.at_index): o for o in problem.options}
    best, tries = plan, max(40, _SHIFT_WORK // len(problem.demand))
    while tries > 0:
        for chosen in _moves(problem, best, options):
            tries -= 1
            search = Search(evolve(problem, options=chosen))
            trial = search.plan_of(search.run(_QUICK_WIDTH, math.inf), plan.bound)
            if trial.cost < best.cost * (1 - 1e-9):
                best = trial
                break
            if tries <= 0:
                return best
        else:
            return best
    return best


def _moves(
    problem: LotProblem, plan: LotPlan, options: Mapping[tuple[int, int], Option]
) -> Iterator[tuple[Option, ...]]:
    """The batches of a plan with one, two or three of them moved, nearest moves first."""
    hungry = _hungry(problem, plan.short)
    every = [lot.option for lot in plan.lots]
    rows: dict[int, list[Option]] = {}
    for option in every:
        rows.setdefault(option.vessel, []).append(option)
    for length in (1, 2, 3):
        for row in rows.values():
            for i in range(len(row) - length + 1):
                run = row[i : i + length]
                if not any(abs(run[0].at_index - t) <= _SHIFT_ROUNDS for t in hungry):
                    continue
                for step in (-1, 1, -2, 2):
                    moved = [options.get((o.vessel, o.at_index + step)) for o in run]
                    kept = [o for o in every if o not in run]
                    if all(o is not None and o not in kept for o in moved):
                        yield (*kept, *(o for o in moved if o is not None))
