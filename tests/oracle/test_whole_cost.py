"""What a plan costs in all, as it is bettered by, is what the programme of whole rooms counts."""

from __future__ import annotations

import pytest

from cultures.planning.feeding_plan import (
    coming_starts,
    leave_out_unripe,
    plan_feeding,
)
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import Suits
from cultures.planning.whole_cost import WholeCost
from cultures.planning.worm_course import Layouts
from tests.oracle.hatch_rooms import JointRoom, joint_room
from tests.oracle.joint_milp import a_setting_g, missed, square, tin_lacks

#: With a tin that does not last, with one that does, and with no bottle at all.
_ROOMS = (4, 13, 22, 29, 34, 37, 50, 78)


def _costs(drawn: JointRoom, lacks: float) -> tuple[WholeCost, FeedingPlan]:
    room = drawn.room
    plan = plan_feeding(room, drawn.feedings, start=drawn.start, needs=drawn.needs)
    suits, layouts = Suits(room), Layouts(room, drawn.feedings)
    starts = coming_starts(room, drawn.feedings)
    leave_out_unripe(room, drawn.feedings, starts, suits, drawn.start, layouts)
    rows = plan.servings[: drawn.rounds]
    return WholeCost.at(room, drawn.feedings[: drawn.rounds], rows, suits, lacks), plan


@pytest.mark.parametrize("seed", _ROOMS)
def test_what_is_missed_costs_what_the_programme_has_for_it(seed: int) -> None:
    drawn = joint_room(seed)
    whole, plan = _costs(drawn, 0.0)
    rows = plan.servings[: drawn.rounds]
    given = [{s.need.brood.name: s.given_j for s in row} for row in rows]
    grams = sum(batch.cysts_g for batch in plan.hatches.batches)
    effort = {
        (lot.option.at_index, lot.option.start_h): lot.option.effort for lot in plan.hatches.lots
    }
    work = sum(effort[batch.at_index, batch.set_h] for batch in plan.hatches.batches)
    expected = missed(drawn, given, square) + grams + drawn.room.effort_g * work
    assert whole.of(rows, plan.hatches) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("seed", [4, 13, 37, 78])
def test_a_setting_counts_what_the_programme_has_for_it_beside_a_small_tin(seed: int) -> None:
    drawn = joint_room(seed)
    lacks = tin_lacks(drawn)
    assert lacks > 0.1
    assert _costs(drawn, lacks)[0].setting_g == pytest.approx(a_setting_g(drawn), rel=1e-9)
