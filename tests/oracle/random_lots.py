"""Random hatch problems of the size and shape that rooms have."""

from __future__ import annotations

import math
import random
from itertools import pairwise

from attrs import evolve

from cultures.planning.lots import LotProblem, Option


def random_lots(seed: int, *, rounds: int, vessels: int, uncapacitated: bool = False) -> LotProblem:
    """A problem with uneven demand, rounds 10 to 14 h apart, and batches of 22 to 40 h."""
    rng = random.Random(seed)
    at = [12.0 * i + (0.0 if i % 2 == 0 else rng.choice([-1.0, 0.0, 1.0])) for i in range(rounds)]
    level, demand = rng.uniform(200, 3000), []
    for _ in range(rounds):
        level *= rng.uniform(0.95, 1.1)
        demand.append(0.0 if rng.random() < 0.15 else level * rng.uniform(0.7, 1.3))
    cold = rng.random() < 0.6
    loss, longest = (0.005, 48.0) if cold else (0.015, rng.choice([12.5, 24.5]))
    decay = tuple(math.exp(-loss * (b - a)) for a, b in pairwise(at))
    oldest = tuple(next(j for j in range(i + 1) if at[i] - at[j] <= longest) for i in range(rounds))
    peak = max(demand) or 1.0
    options = []
    for vessel in range(vessels):
        most = (
            3 * sum(demand) / 5000.0
            if uncapacitated
            else peak / 6000.0 * rng.choice([0.8, 1.5, 3.0, 5.0])
        )
        hours = rng.choice([11.0, 22.0, 25.0, 35.0]) if not uncapacitated else 1.0
        for i in range(rounds):
            if at[i] - hours < 0 or rng.random() < 0.05:
                continue
            energy = 6500.0 * rng.choice([1.0, 1.0, 0.97, 0.9])
            effort = rng.choice([1.0, 1.0, 1.25])
            options.append(Option(vessel, i, at[i] - hours, at[i] + 0.5, energy, most, effort))
    supply = [0.0] * rounds
    if rng.random() < 0.4:
        supply[min(1, rounds - 1)] = rng.uniform(0.5, 3.0) * demand[0]
    mean = sum(demand) / max(1, sum(1 for d in demand if d > 0)) or 1.0
    setup_cost = rng.choice([1.0, 3.0, 10.0])
    return LotProblem(
        demand=tuple(demand),
        decay=decay,
        oldest=oldest,
        options=tuple(options),
        setup_cost=setup_cost,
        gram_cost=1.0,
        short_cost=(1000.0 * setup_cost / mean,) * rounds,
        supply=tuple(supply) if any(supply) else (),
    )


def part_of(problem: LotProblem, share: float) -> LotProblem:
    """The problem with only a share of what is wanted at each round."""
    return evolve(problem, demand=tuple(share * wanted for wanted in problem.demand))
