"""What falls short, and why."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.planning.feeding_plan import FeedingPlan
from cultures.planning.gaps import Gap
from cultures.planning.remedies import RemedyFinder
from cultures.room.room import Room
from cultures.tasks.plan import Shortfall
from cultures.words.moments import spoken_day

#: Rounds with the same food short belong together when no more than this lies between.
_JOIN_H = 24.5
#: A hatch for a round is set at most so long before it, by usual temperatures.
_AWAY_BEFORE_H = 36.0


def collect(
    room: Room, gaps: Sequence[Gap], plan: FeedingPlan, *, now: datetime, until: datetime,
    remedies: RemedyFinder | None,
) -> tuple[Shortfall, ...]:  # fmt: skip
    """Gaps from now on, joined into shortfalls by food and cause."""
    groups: list[list[Gap]] = []
    open_groups: dict[tuple[str, str], list[Gap]] = {}
    for gap in gaps:
        if not now <= gap.feeding.at < until:
            continue
        key = gap.food, _cause_kind(gap)
        group = open_groups.get(key)
        if group is None or gap.feeding.at_h - group[-1].feeding.at_h > _JOIN_H:
            group = open_groups[key] = []
            groups.append(group)
        group.append(gap)
    found = [_shortfall(room, group, plan, remedies) for group in groups]
    return tuple(sorted(found, key=lambda s: (s.at, s.food)))


def _cause_kind(gap: Gap) -> str:
    if not gap.feeding.fed:
        return "away"
    return "mouth" if not gap.need.foods else "yield"


def _shortfall(
    room: Room, group: Sequence[Gap], plan: FeedingPlan, remedies: RemedyFinder | None
) -> Shortfall:
    order = [tank.name for tank in room.tanks]
    tanks = sorted({gap.need.brood.tank for gap in group}, key=order.index)
    indices = sorted({gap.feeding.index for gap in group})
    shortfall = Shortfall(
        at=group[0].feeding.at,
        until=group[-1].feeding.at,
        rounds=len(indices),
        food=group[0].food,
        need_j=sum(gap.need.energy_j for gap in group),
        short_j=sum(gap.short_j for gap in group),
        tanks=tuple(tanks),
        cause=_cause(room, group, plan, indices),
    )
    if remedies is None:
        return shortfall
    return evolve(shortfall, remedies=remedies.find(shortfall, _cause_kind(group[0]), group))


def _cause(room: Room, group: Sequence[Gap], plan: FeedingPlan, indices: Sequence[int]) -> str:
    kind, food = _cause_kind(group[0]), group[0].food
    if kind == "away":
        return "nobody is there to feed"
    if kind == "mouth":
        gape = group[0].need.brood.fry_class.gape_um(group[0].need.length_mm)
        return (
            f"no food of this room fits the mouth of {group[0].need.brood.name}"
            f" ({group[0].need.length_mm:.1f} mm long, gape about {gape:.0f} um)"
        )
    return food_cause(room, plan, food, indices)


def food_cause(room: Room, plan: FeedingPlan, food: str, indices: Sequence[int]) -> str:
    """Why a food does not bring what is asked of it at some rounds, in plain words."""
    if food == BRINE_SHRIMP:
        return _hatch_cause(room, plan, indices)
    if food in plan.worms:
        worms = plan.worms[food]
        asked = sum(worms.wanted_mg[i] for i in indices)
        given = sum(h.taken_mg for i in indices for h in worms.course.harvests[i])
        usable = min(worms.course.usable[i] for i in indices)
        label = worms.kind.label
        if not worms.stages:
            return f"there is no {label} culture"
        if usable == 0:
            return f"no {label} culture is ripe then"
        return f"the {label} cultures can give {given:.0f} of the {asked:.0f} mg asked for"
    return f"{food.replace('_', ' ')} cannot cover the need"


def _hatch_cause(room: Room, plan: FeedingPlan, indices: Sequence[int]) -> str:
    if not room.vessels:
        return "there is no vessel to hatch in"
    if plan.hatches.tin_short:
        at_h, _ = plan.hatches.tin_short[0]
        if at_h <= plan.feedings[indices[-1]].at_h:
            return f"the cyst tin runs out on {spoken_day(room.at_hour(at_h), plan.feedings[0].at)}"
    first = min((b.harvest_h for b in plan.hatches.batches), default=None)
    if first is None or first > plan.feedings[indices[-1]].at_h:
        return "no hatch can be ripe by then"
    if any(not plan.feedings[i].keeper for i in indices):
        return "nobody is there to set and harvest hatches, and nauplii do not keep so long"
    short = plan.feedings[indices[0]]
    before = [r for r in plan.feedings if 0 < short.at_h - r.at_h <= _AWAY_BEFORE_H]
    if any(not r.keeper for r in before):
        return "nobody is there in time to set a hatch that would be ripe"
    return "the vessels are too small, or taken, for what is needed"
