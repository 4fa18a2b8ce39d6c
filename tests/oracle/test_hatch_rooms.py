"""The hatch plan of whole rooms against what a keeper could do at best, proven by HiGHS.

The programme may set a hatch at every half hour of the waking day; what the planner offers itself
plays no part in it.
"""

from __future__ import annotations

from datetime import time
from operator import mul

import pytest
from attrs import evolve

from cultures.planning.hatch_options import CLEANING_H
from cultures.planning.hatch_plan import plan_hatches
from cultures.planning.lots import priced
from cultures.words.moments import hours
from tests.examples import examples
from tests.oracle.hatch_milp import solve_milp
from tests.oracle.hatch_rooms import COLLECTION, every_half_hour, hatch_room
from tests.oracle.test_hatch_optimum import hopeless

#: Our cost to the least one: at most so in any room, and in nine of ten rooms.
WORST, USUAL = 1.05, 1.01


def cost_ratio(seed: int, *, seconds: float) -> float:
    """Our cost to the least found by HiGHS, of what a plan can influence."""
    drawn = hatch_room(seed)
    assert drawn.room.cysts is not None
    plan = plan_hatches(drawn.room, drawn.feedings, drawn.demand_j, start=drawn.start)
    tin_g = drawn.room.cysts.grams
    whole = evolve(plan.problem, demand=tuple(
        wanted if r.fed else 0.0 for r, wanted in zip(drawn.feedings, drawn.demand_j, strict=True)
    ))  # fmt: skip
    ours = priced(whole, plan.lots, 0.0)
    assert sum(lot.grams for lot in plan.lots) <= tin_g + 1e-6
    best = every_half_hour(drawn, whole)
    beyond_help: float = sum(map(mul, whole.short_cost, hopeless(best)))
    least = solve_milp(best, tin_g=tin_g, seconds=seconds, gap=1e-4).cost
    return (ours.cost - beyond_help + 1e-6) / (least - beyond_help + 1e-6)


def test_drawn_rooms_cost_what_the_best_keeper_could_do() -> None:
    seeds = [*COLLECTION, *range(1000, 1000 + examples(suite=1, thorough_run=300))]
    ratios = sorted(cost_ratio(seed, seconds=20) for seed in seeds)
    assert ratios[-1] <= WORST, ratios[-5:]
    assert ratios[int(0.9 * (len(ratios) - 1))] <= USUAL


def test_a_bottle_without_a_fridge_feeds_every_day() -> None:
    """25 °C, nothing keeps: best at 30 h or so, a bottle would feed every second day; drawn off
    and set again each morning it feeds every day.
    """
    drawn = hatch_room(0)
    room = evolve(
        drawn.room, fridge_c=None, rounds=(time(7, 30),), vessels=(
            evolve(drawn.room.vessels[0], litres=1.0, temperature_c=25.0),
        ),
    )  # fmt: skip
    feedings = [r for r in drawn.feedings if r.at.time() == drawn.feedings[0].at.time()]
    feedings = [evolve(r, index=i, per_day=1) for i, r in enumerate(feedings)]
    plan = plan_hatches(room, feedings, [2000.0] * len(feedings), start=drawn.start)
    fed = [given > 0 for given in plan.given_j]
    assert all(fed[2:])
    for one, two in zip(plan.lots, plan.lots[1:], strict=False):
        assert one.option.end_h <= two.option.start_h + 1e-9
        assert two.option.end_h - CLEANING_H <= hours(feedings[-1].at)


@pytest.mark.parametrize("bottles", [1, 2, 4, 8, 16])
def test_work_grows_with_the_bottles_not_by_doubling(bottles: int) -> None:
    """Labels and stretches are bounded, so a room of many unlike bottles is planned as well."""
    drawn = hatch_room(7, tin=False)
    one = drawn.room.vessels[0]
    room = evolve(drawn.room, vessels=tuple(
        evolve(one, name=f"V{k}", litres=0.5 + 0.25 * k, temperature_c=24.0 + 0.25 * k)
        for k in range(bottles)
    ))  # fmt: skip
    plan = plan_hatches(room, drawn.feedings, drawn.demand_j, start=drawn.start)
    assert {lot.option.vessel for lot in plan.lots} <= set(range(bottles))
    assert sum(plan.given_j) > 0
