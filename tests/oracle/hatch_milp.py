"""The hatch problem as a mixed-integer programme, solved to proof by HiGHS through SciPy.

Written from the problem's statement, not from the planner's recursion: choose batches and
grams, carry every J from a harvest to a round, and pay for what stays unmet.
"""

from __future__ import annotations

import math

import numpy as np
from attrs import frozen
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from cultures.planning.lots import LotProblem


@frozen
class Optimum:
    """Least cost, and a proven bound below it."""

    cost: float
    bound: float
    setups: int


def left(problem: LotProblem, made: int, fed: int) -> float:
    """Share of a harvest at round ``made`` that is left at round ``fed``."""
    return math.prod(problem.decay[made:fed])


def solve_milp(
    problem: LotProblem, *, tin_g: float = math.inf, gap: float = 1e-7, seconds: float = 60.0
) -> Optimum:
    """The optimum with so many grams for all batches.

    Raises AssertionError when HiGHS does not find one in time.
    """
    count, options = len(problem.demand), problem.options
    carried = [
        (made, fed)
        for fed in range(count)
        if problem.demand[fed] > 0
        for made in range(problem.oldest[fed], fed + 1)
    ]
    n = len(options)
    setup, gram, carry = 0, n, 2 * n
    short = carry + len(carried)
    size = short + count
    cost = np.zeros(size)
    cost[setup:gram] = [problem.setup_cost * option.effort for option in options]
    cost[gram:carry] = problem.gram_cost
    cost[short:] = problem.short_cost
    rows: list[tuple[int, int, float]] = []
    low: list[float] = []
    high: list[float] = []

    def constrain(entries: list[tuple[int, float]], at_least: float, at_most: float) -> None:
        rows.extend((len(low), column, value) for column, value in entries)
        low.append(at_least)
        high.append(at_most)

    for i, option in enumerate(options):
        constrain([(gram + i, 1.0), (setup + i, -option.most_g)], -math.inf, 0.0)
    if tin_g < math.inf:
        constrain([(gram + i, 1.0) for i in range(n)], -math.inf, tin_g)
    supply = problem.supply or (0.0,) * count
    for made in range(count):
        used = [
            (carry + k, 1.0 / left(problem, made, fed))
            for k, (m, fed) in enumerate(carried)
            if m == made
        ]
        given = [(gram + i, -o.energy_per_g) for i, o in enumerate(options) if o.at_index == made]
        if used:
            constrain([*used, *given], -math.inf, supply[made])
    for fed in range(count):
        if problem.demand[fed] > 0:
            got = [(carry + k, 1.0) for k, (_, f) in enumerate(carried) if f == fed]
            constrain([*got, (short + fed, 1.0)], problem.demand[fed], math.inf)
    for vessel in {o.vessel for o in options}:
        mine = [(i, o) for i, o in enumerate(options) if o.vessel == vessel]
        for _, one in mine:  # every clique of overlapping stays begins where one of them begins
            clash = [(setup + i, 1.0) for i, o in mine if o.start_h <= one.start_h < o.end_h - 1e-9]
            if len(clash) > 1:
                constrain(clash, -math.inf, 1.0)
    matrix = coo_matrix(
        ([v for _, _, v in rows], ([r for r, _, _ in rows], [c for _, c, _ in rows])),
        shape=(len(low), size),
    ).tocsr()
    upper = np.full(size, np.inf)
    upper[setup:gram] = 1.0
    integral = np.zeros(size)
    integral[setup:gram] = 1
    result = milp(
        cost,
        constraints=LinearConstraint(matrix, low, high),
        bounds=Bounds(np.zeros(size), upper),
        integrality=integral,
        options={"mip_rel_gap": gap, "time_limit": seconds},
    )
    assert result.x is not None, result.message
    return Optimum(
        cost=float(result.fun),
        bound=float(result.mip_dual_bound),
        setups=round(float(result.x[setup:gram].sum())),
    )
