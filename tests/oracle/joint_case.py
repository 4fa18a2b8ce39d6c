"""What our plan of a drawn room costs beside the least that any plan does."""

from __future__ import annotations

from attrs import frozen

from cultures.planning.feeding_plan import plan_feeding
from cultures.planning.hatch_plan import HatchPlan
from cultures.room.room import Room
from tests.oracle.hatch_rooms import joint_room
from tests.oracle.joint_milp import beyond_help, eaten_j, missed, solve_joint


@frozen
class Compared:
    """Costs of a room [g of cysts], less what no plan can help.

    Attributes:
        ours, least: of our plan and of the best that HiGHS found, or ours where it ran out of
            time and found none as cheap. bound: no plan costs less.
        room: what stands in it, in a few words.
    """

    seed: int
    ours: float
    least: float
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
    help_less = beyond_help(drawn)
    ours = missed(drawn, eaten) + _hatched_g(room, plan.hatches) - help_less
    best = solve_joint(drawn, less=help_less, gap=2e-3, seconds=seconds)
    least = best.cost if best.proven else min(best.cost, ours)
    tin = "" if room.cysts is None or room.cysts.grams > 1000 else f", {room.cysts.grams:g} g"
    kinds = ", ".join(c.kind.name for c in room.cultures)
    words = f"{len(room.broods)} broods; {kinds}; {len(room.vessels)} bottles{tin}"
    return Compared(seed, ours, least, best.bound, words)


def _hatched_g(room: Room, plan: HatchPlan) -> float:
    """What the settings of a plan cost, with the cysts that are weighed out [g]."""
    effort = {(lot.option.vessel, lot.option.start_h): lot.option.effort for lot in plan.lots}
    names = [vessel.name for vessel in room.vessels]
    return sum(
        batch.cysts_g
        + max(room.effort_g, 1e-6) * effort[names.index(batch.vessel.name), batch.set_h]
        for batch in plan.batches
    )
