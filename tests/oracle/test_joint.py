"""Plans of all foods together against the joint optimum, proven by HiGHS.

`python -m tests.studies.joint` looks at a hundred rooms and prints them, worst first.
"""

from __future__ import annotations

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.planning.feeding_plan import plan_feeding
from tests.examples import examples, thorough
from tests.oracle.hatch_rooms import joint_room
from tests.oracle.joint_case import Compared, compared
from tests.oracle.joint_milp import beyond_help, solve_joint

#: The middle one of our ratios; half of the drawn rooms are no dearer than this.
MIDDLE = 1.03
#: Drawn rooms in which foods were once shared badly, with what they may cost at most; in 1, 4, 13,
#: 22, 31, 32, 37, 48, 75 and 78 a tin does not last, and was set in fewer hatches, or more, than
#: are worth their work, and in 29 one bottle gives once in a week, and not at the best round.
COLLECTION = {1: 1.02, 4: 1.02, 6: 1.03, 13: 1.05, 17: 1.03, 18: 1.04, 22: 1.02, 29: 1.02,
              31: 1.03, 32: 1.02, 36: 1.03, 37: 1.02, 47: 1.05, 48: 1.02, 51: 1.03, 55: 1.03,
              58: 1.03, 66: 1.03, 70: 1.1, 75: 1.1, 78: 1.02, 86: 1.03, 89: 1.02,
              93: 1.03}  # fmt: skip
#: Of these, rooms that HiGHS does not prove in 20 s, so that what it finds depends on the machine,
#: and one that takes it long.
LONG = (13, 18, 47, 66, 70, 75, 93)


#: The first of the rooms that are drawn, and some whose plan the programme once forbade, like 6.
_DRAWN = 2000
_FORBADE = (0, 16, 33)


def ask_all() -> None:
    """Asks for all that the suite asks for; see `tests.oracle.solved`."""
    for seed in (*_FORBADE, *(s for s in COLLECTION if s not in LONG), *range(_DRAWN, _DRAWN + 7)):
        compared(seed, seconds=600)
    test_more_food_never_costs_more()


def test_half_of_the_drawn_rooms_cost_what_the_best_plan_does() -> None:
    """Once more than half do, the middle one does, whatever the others cost."""
    seeds = range(_DRAWN, _DRAWN + examples(suite=7, thorough_run=100))
    ratios: list[float] = []
    for seed in seeds:
        ratios.append(compared(seed, seconds=20).ratio)
        if sum(ratio <= MIDDLE for ratio in ratios) > len(seeds) // 2:
            return
    pytest.fail(f"{sorted(ratios)}")


def _bounded(found: Compared) -> bool:
    """Whether the plan costs no less than the bound of the programme, which holds for every one."""
    return found.chorded >= found.bound - 1e-3 * abs(found.bound) - 1e-6


@pytest.mark.parametrize("seed", _FORBADE)
def test_no_plan_costs_less_than_the_bound(seed: int) -> None:
    assert _bounded(compared(seed, seconds=2))  # a bound holds however early it is


@pytest.mark.parametrize("seed", [s for s in COLLECTION if thorough() or s not in LONG])
def test_rooms_that_were_planned_badly_stay_mended(seed: int) -> None:
    found = compared(seed, seconds=20)
    assert found.ratio <= COLLECTION[seed]
    assert _bounded(found)


def test_hatches_are_set_for_what_scarce_worms_leave_open() -> None:
    """Of a room in which somebody who takes nauplii wholly would else eat worms that are kept."""
    drawn = joint_room(18)
    plan = plan_feeding(drawn.room, drawn.feedings, start=drawn.start, needs=drawn.needs)
    rows = plan.servings[3:6]
    wanted_j = sum(s.need.foods.get(BRINE_SHRIMP, 0.0) for row in rows for s in row)
    assert sum(plan.hatches.given_j[3:6]) > 1.1 * wanted_j


def test_nobody_is_starved_to_save_the_work_of_a_setting() -> None:
    """Beside a tin of 0.7 g a setting counts more than what a small brood misses in a day that eats
    nothing but nauplii. One hatch feeds it for a day, of three rounds; three hatches of the same
    tin do so for the nine rounds that follow each other from the first harvest on.
    """
    drawn = joint_room(13)
    plan = plan_feeding(drawn.room, drawn.feedings, start=drawn.start, needs=drawn.needs)
    rows = plan.servings[plan.hatches.batches[0].at_index : drawn.rounds]
    (lone,) = (b.name for b in drawn.room.broods if b.foods == (BRINE_SHRIMP,))
    shares = [sum(s.given_j.values()) / s.need.energy_j
              for row in rows for s in row if s.need.brood.name == lone]  # fmt: skip
    assert sum(share > 0.1 for share in shares) >= 9


def test_more_food_never_costs_more() -> None:
    """Of the programme itself: a larger tin cannot make the best plan dearer, and nothing can make
    it cheaper than what no plan can help.
    """
    drawn = joint_room(4)
    assert drawn.room.cysts is not None
    scarce = solve_joint(drawn)
    room = evolve(drawn.room, cysts=evolve(drawn.room.cysts, grams=1e5))
    plenty = solve_joint(evolve(drawn, room=room))
    assert beyond_help(drawn) <= plenty.bound <= scarce.cost + 1e-6
