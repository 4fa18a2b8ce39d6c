"""A culture-year with daily harvests: closed form against a general solver at equal accuracy.

Run it: ``python tests/benchmarks/bench_worms.py``. Prints the times and their ratios.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from time import perf_counter

from scipy.integrate import solve_ivp

from cultures.foods.worms import GrowthStep, WormModel, through

#: A bottle that lasts the year, so that every day does real work.
MODEL = WormModel(
    growth_rate=0.3,
    lag=2.0,
    capacity_mg=1200.0,
    half_spent_age=300.0,
    souring_width=20.0,
    climbing_fraction=0.15,
    climbing_density=0.3,
)
DAYS = 365
SHARE = 0.1
START_MG = 30.0


def closed_form() -> float:
    """Stock at the end of the year."""
    stock = START_MG
    for day in range(DAYS):
        stock = MODEL.grow(stock, float(day), float(day + 1)) * (1 - SHARE)
    return stock


def prepared(steps: list[GrowthStep]) -> float:
    """The same once the days are worked out, as when harvests are compared."""
    stock = START_MG
    for step in steps:
        stock = through(step, stock) * (1 - SHARE)
    return stock


def by_solver() -> float:
    """The same by solve_ivp, stopped and started at each harvest, at its best accuracy."""

    def slope(age: float, n: list[float]) -> list[float]:
        spent = math.exp((age - MODEL.half_spent_age) / MODEL.souring_width)
        return [MODEL.growth_rate * n[0] * (1 - n[0] * (1 + spent) / MODEL.capacity_mg)]

    stock = START_MG
    for day in range(DAYS):
        if day >= MODEL.lag:
            solution = solve_ivp(slope, (day, day + 1), [stock], rtol=3e-14, atol=1e-14)
            stock = float(solution.y[0, -1])
        stock *= 1 - SHARE
    return stock


def seconds(run: Callable[[], float], repeats: int) -> float:
    """Best time of three."""

    def once() -> float:
        began = perf_counter()
        for _ in range(repeats):
            run()
        return (perf_counter() - began) / repeats

    return min(once() for _ in range(3))


def report() -> str:
    """Times, ratios and agreement."""
    steps = [MODEL.step(float(day), float(day + 1)) for day in range(DAYS)]
    solver_s = seconds(by_solver, 1)
    closed_s = seconds(closed_form, 50)
    prepared_s = seconds(lambda: prepared(steps), 50)
    return (
        f"a culture-year with daily harvests, solve_ivp (RK45): {solver_s * 1000:.0f} ms\n"
        f"closed form: {closed_s * 1e6:.0f} us, ratio {solver_s / closed_s:.0f}\n"
        f"with the days prepared: {prepared_s * 1e6:.0f} us, ratio {solver_s / prepared_s:.0f}\n"
        f"results differ by {abs(closed_form() / by_solver() - 1):.1e}"
    )


if __name__ == "__main__":
    print(report())
