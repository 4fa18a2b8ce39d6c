"""The hatch plan against the optimum of the same problem, proven by HiGHS."""

from __future__ import annotations

from itertools import pairwise
from operator import mul

import pytest

from cultures.planning.lot_sizing import solve
from cultures.planning.lots import Lot, LotProblem, Option, unmet
from tests.examples import examples
from tests.oracle.hatch_milp import solve_milp
from tests.oracle.random_lots import random_lots

#: (rounds, vessels, without limits): four sizes, 55 rooms of each, 220 in all, of which the suite
#: looks at three in five.
SIZES = [(12, 1, False), (14, 2, False), (10, 3, False), (24, 1, True)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("block", range(11))
def test_cost_is_within_one_percent_of_the_proven_optimum(
    size: tuple[int, int, bool], block: int
) -> None:
    rounds, vessels, uncapacitated = size
    for seed in range(5 * block, 5 * block + examples(suite=3, thorough_run=5)):
        problem = random_lots(
            seed * 7 + vessels, rounds=rounds, vessels=vessels, uncapacitated=uncapacitated
        )
        ours = solve(problem)
        best = solve_milp(problem, seconds=20)
        tolerance = 1e-6 if uncapacitated else 0.01
        # What no batch can reach costs every plan the same; it must not hide a difference.
        beyond_help = sum(map(mul, problem.short_cost, hopeless(problem)))
        assert ours.cost - best.cost <= tolerance * (best.cost - beyond_help) + 1e-6, seed
        assert ours.cost >= best.bound * (1 - 1e-6) - 1e-6, seed
        assert ours.bound <= best.cost * (1 + 1e-6) + 1e-6, seed
        _check_vessels(ours.lots)
        assert list(ours.short) == pytest.approx(unmet(problem, ours.lots))


def hopeless(problem: LotProblem) -> list[float]:
    """Demand of the rounds that neither a batch nor what comes anyway can serve [J]."""
    result = []
    for t, wanted in enumerate(problem.demand):
        window = range(problem.oldest[t], t + 1)
        reached = any(o.at_index in window for o in problem.options) or any(
            problem.supply[i] > 0 for i in window if problem.supply
        )
        result.append(0.0 if reached else wanted)
    return result


def _check_vessels(lots: tuple[Lot, ...]) -> None:
    by_vessel: dict[int, list[Lot]] = {}
    for lot in lots:
        assert 0 < lot.grams <= lot.option.most_g * (1 + 1e-9)
        by_vessel.setdefault(lot.option.vessel, []).append(lot)
    for mine in by_vessel.values():
        mine.sort(key=lambda lot: lot.option.start_h)
        for one, two in pairwise(mine):
            assert one.option.end_h <= two.option.start_h + 1e-9


def test_wagner_whitin_1958_twelve_periods() -> None:
    """Wagner & Whitin 1958, Management Science 5:89-96, the 12-period example: least cost 864.

    Demand, set-up costs, holding 1 a unit and period and the total are from memory; their
    recursion, written out below, gives the same total. Holding is brought to our form by
    prices: with unit cost C - i in period i, serving period t from i costs t - i more than
    serving it at once.
    """
    demand = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    setup = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
    assert _wagner_whitin(demand, setup) == 864
    level = 100.0
    problem = LotProblem(
        demand=tuple(float(d) for d in demand),
        decay=(1.0,) * 11,
        oldest=(0,) * 12,
        options=tuple(
            Option(0, i, i - 0.4, i + 0.1, 1.0 / (level - i), 1e9, effort=float(cost))
            for i, cost in enumerate(setup)
        ),
        setup_cost=1.0,
        gram_cost=1.0,
        short_cost=(1e6,) * 12,
    )
    at_once = sum(d * (level - t) for t, d in enumerate(demand))
    ours = solve(problem)
    assert ours.cost - at_once == pytest.approx(864, abs=1e-6)
    assert sum(ours.short) == 0


def _wagner_whitin(demand: list[int], setup: list[int]) -> float:
    """Their recursion, written out, to check the example itself."""
    best = [0.0]
    for t in range(len(demand)):
        best.append(
            min(
                best[i] + setup[i] + sum((s - i) * demand[s] for s in range(i, t + 1))
                for i in range(t + 1)
            )
        )
    return best[-1]


def test_wagner_whitin_structure_with_equal_setups() -> None:
    """One large vessel, no decay: with a cost per gram that rises backwards in time the problem
    is theirs with equal set-ups, and both recursions agree.

    A gram set at period i for period t costs c (1 + h)^(t - i) grams where decay is
    1 / (1 + h); the same prices are put into their recursion.
    """
    demand = [69.0, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    decay, setup = 0.8, 30.0
    count = len(demand)
    problem = LotProblem(
        demand=tuple(demand),
        decay=(decay,) * (count - 1),
        oldest=(0,) * count,
        options=tuple(Option(0, i, i - 0.4, i + 0.1, 1.0, 1e6) for i in range(count)),
        setup_cost=setup,
        gram_cost=1.0,
        short_cost=(1e6,) * 12,
    )
    best = [0.0]
    for t in range(count):
        best.append(
            min(
                best[i] + setup + sum(demand[s] / decay ** (s - i) for s in range(i, t + 1))
                for i in range(t + 1)
            )
        )
    ours = solve(problem)
    assert ours.proven
    assert ours.cost == pytest.approx(best[-1], rel=1e-9)
