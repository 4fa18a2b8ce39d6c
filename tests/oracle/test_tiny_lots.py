"""Tiny lot problems against the optimum proven by HiGHS, so small that a joule or less counts.

Something comes anyway at one or two rounds, what is held loses much, and no vessel is ever full:
there a plan is the best that there is (docs/planning.md).
"""

from __future__ import annotations

import random

import pytest

from cultures.planning.lot_chains import sketched
from cultures.planning.lot_search import Search
from cultures.planning.lot_sizing import solve
from cultures.planning.lots import LotProblem, Option
from tests.oracle.hatch_milp import solve_milp


def _tiny(seed: int) -> LotProblem:
    rng = random.Random(seed)
    rounds, vessels = rng.choice([4, 6]), rng.choice([1, 2])
    options = [
        Option(vessel, i, 12.0 * i - stay, 12.0 * i + 0.5, 1.0, 20.0, rng.choice([1.0, 1.25]))
        for vessel in range(vessels)
        for i in range(rounds)
        for stay in rng.sample([11.0, 23.0], rng.choice([1, 2]))
    ]
    supply = [0.0] * rounds
    for _ in range(2):
        supply[rng.randrange(rounds)] = rng.choice([0.4, 0.9, 2.0])
    return LotProblem(
        demand=tuple(rng.choice([0.0, 0.5, 1.5, 3.0]) for _ in range(rounds)),
        decay=tuple(rng.choice([0.6, 0.8, 0.95]) for _ in range(rounds - 1)),
        oldest=tuple(max(0, t - 1 - seed % 3) for t in range(rounds)),
        options=tuple(options),
        setup_cost=rng.choice([0.3, 1.0]),
        gram_cost=1.0,
        short_cost=tuple(20.0 * 0.98**t for t in range(rounds)),
        supply=tuple(supply),
    )


@pytest.mark.parametrize("block", range(3))
def test_a_tiny_problem_costs_no_more_than_it_must(block: int) -> None:
    for seed in range(10 * block, 10 * block + 10):
        problem = _tiny(seed)
        best, ours = solve_milp(problem), solve(problem)
        assert ours.cost == pytest.approx(best.cost, rel=1e-6, abs=1e-6), seed
        assert ours.bound <= best.cost + 1e-6, seed
        assert sketched(problem, ours.bound).cost >= best.cost - 1e-6, seed
        part = problem.until(len(problem.demand) - 1)
        assert Search(problem).lower[-2] <= solve_milp(part).cost + 1e-6, seed
