"""What our plan of a drawn room costs beside the least that any plan does."""

from __future__ import annotations

from attrs import frozen

from cultures.planning.feeding_plan import plan_feeding
from cultures.planning.harvests import HatchPlan
from tests.oracle.hatch_rooms import JointRoom, joint_room
from tests.oracle.joint_milp import (
    JointOptimum,
    a_setting_g,
    beyond_help,
    chorded,
    eaten_j,
    fed_needs,
    missed,
    solve_joint,
    square,
)


@frozen
class Compared:
    """Costs of a room [g of cysts], less what no plan can help.

    Attributes:
        ours, least: of our plan and of the best that HiGHS found, or ours where that is cheaper:
            it ran out of time, or counts by chords. chorded, bound: ours by chords, and what no
            plan costs less than by these.
        room: what stands in it, in a few words.
    """

    seed: int
    ours: float
    least: float
    chorded: float
    bound: float
    room: str

    @property
    def ratio(self) -> float:
        """Our cost to the least; a gram of cysts is no matter in any room."""
        return (self.ours + 1.0) / (self.least + 1.0)


def compared(seed: int, *, seconds: float) -> Compared:
    """Plans a drawn room both ways."""
    drawn = joint_room(seed)
    room = drawn.room
    plan = plan_feeding(room, drawn.feedings, start=drawn.start, needs=drawn.needs)
    eaten = eaten_j(
        drawn,
        [{s.need.brood.name: s.given_j for s in row} for row in plan.servings[: drawn.rounds]],
    )
    hatched_g, help_less = _hatched_g(drawn, plan.hatches), beyond_help(drawn)
    by_chords = missed(drawn, eaten, chorded) + hatched_g - help_less
    best = solve_joint(drawn, less=help_less, gap=2e-3, seconds=seconds)
    beyond = beyond_help(drawn, square)
    ours = missed(drawn, eaten, square) + hatched_g - beyond
    least = min(ours, _exactly(drawn, best, help_less) - beyond)
    tin = "" if room.cysts is None or room.cysts.grams > 1000 else f", {room.cysts.grams:g} g"
    kinds = ", ".join(c.kind.name for c in room.cultures)
    words = f"{len(room.broods)} broods; {kinds}; {len(room.vessels)} bottles{tin}"
    return Compared(seed, ours, least, by_chords, best.bound, words)


def _exactly(drawn: JointRoom, best: JointOptimum, less: float) -> float:
    """What the plan of the programme costs by the square itself [g]."""
    given: list[dict[str, dict[str, float]]] = [
        {need.brood.name: {} for need in row} for row in fed_needs(drawn)
    ]
    for (name, index, food), given_j in best.given_j.items():
        given[index][name][food] = given_j
    hatched_g = best.cost + less - missed(drawn, given, chorded)
    return hatched_g + missed(drawn, given, square)


def _hatched_g(drawn: JointRoom, plan: HatchPlan) -> float:
    """What the settings of a plan cost, with the cysts that are weighed out [g]."""
    effort = {(lot.option.vessel, lot.option.start_h): lot.option.effort for lot in plan.lots}
    names = [vessel.name for vessel in drawn.room.vessels]
    setting_g = a_setting_g(drawn)
    return sum(
        batch.cysts_g + setting_g * effort[names.index(batch.vessel.name), batch.set_h]
        for batch in plan.batches
    )
