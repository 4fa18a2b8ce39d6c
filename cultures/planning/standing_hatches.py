"""Hatches that stand already and harvests that are held, and the rounds they are drawn off for."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from attrs import evolve

from cultures.foods.hatching import BEGUN_SHARE
from cultures.foods.vessels import Vessel
from cultures.needs.need import Round
from cultures.planning.harvests import Batch, batch_of
from cultures.planning.hatch_options import HARVEST_LEAD_H, HatchOptions, harvest_time, keeps_h
from cultures.planning.lot_chains import sketched
from cultures.planning.lot_sizing import first
from cultures.planning.lots import LotProblem, hungry
from cultures.planning.servings import SHORT_SHARE
from cultures.room.jars import vessel_model
from cultures.room.orders import RisingStock
from cultures.room.room import Room, RunningHatch
from cultures.words.moments import hours

#: Of a hatch that stands so many harvests are weighed, each worth this share of the best or more;
#: drawing it off at another round than that is worth so much of a setting, by what comes of it
#: until so long after the next incubation; and what goes short, where that is not as was told.
_HARVESTS, _WORTH_DRAWING, _MOVING = 3, 0.4, 0.25
_SEEN_H = 4 * 24.0
#: A tin that never ends.
_FULL = RisingStock(math.inf)
#: A hatch that is later by less needs no word.
_FELT_H = 1.0


def longest_incubation(room: Room) -> timedelta:
    """The longest that a hatch stands in a vessel of a room, in whole days, a day off the best."""
    models = [vessel_model(room, vessel) for vessel in room.vessels]
    longest_h = max((m.best_hours() for m in models if m.rate > 0), default=0.0)
    return timedelta(days=math.ceil(longest_h / 24.0) + 1 if longest_h > 0 else 0)


def first_nauplii(room: Room, feedings: Sequence[Round], start: datetime) -> int:
    """The first round for which nauplii are held, stand already or can be hatched."""
    here = held_batches(room, feedings)
    here += [batch for h in room.hatches for batch in _harvests(room, h, feedings)]
    offers = HatchOptions(room, feedings, room.holding)
    set_now = (next(offers.of(v, hours(start), 0), None) for v in range(len(room.vessels)))
    return min(
        (batch.at_index for batch in (*here, *set_now) if batch is not None), default=len(feedings)
    )


def with_standing(
    room: Room, feedings: Sequence[Round], problem_of: Callable[[Sequence[Batch]], LotProblem],
    tin: RisingStock = _FULL, until_h: float = math.inf,
) -> tuple[Sequence[Batch], LotProblem]:  # fmt: skip
    """Hatches that stand already, each with the round at which it is drawn off, and the problem.

    That is as it was told, unless something goes short; else when it is worth most, unless another
    round costs less. Past its best it is kept for want alone, and not to save a setting. One that
    stood too long by the time somebody is there is thrown out then.

    Args:
        tin: what is in it, and comes. until_h: from when on more can be had [h since the epoch].
            What goes short for want of cysts is not had by drawing off what was told at another
            time.
    """
    choices = [(h, found) for h in room.hatches if (found := _harvests(room, h, feedings))]
    chosen = [found[0] for _, found in choices]
    problem = problem_of(chosen)
    if all(len(found) == 1 for _, found in choices):
        return chosen, problem
    harvests = [batch for _, found in choices for batch in found]
    last_h = max(batch.harvest_h for batch in harvests)
    last_h += longest_incubation(room) / timedelta(hours=1) + _SEEN_H
    seen = bisect_left(feedings, last_h, key=lambda r: r.at_h)
    near = problem.until(seen)
    short = _goes_short(near, harvests)
    told_moves = short and _lasts(problem, tin, until_h)
    if not told_moves and all(hatch.harvest_at for hatch, _ in choices):
        return chosen, problem
    least = sketched(near, 0.0).cost
    for k, (hatch, found) in enumerate(choices):
        saving = _MOVING * problem.setup_cost + (SHORT_SHARE * least if hatch.harvest_at else 0.0)
        for other in found[1:] if told_moves or not hatch.harvest_at else ():
            late = late_h(room, other) is not None
            if late and not short:
                continue
            tried = [*chosen[:k], other, *chosen[k + 1 :]]
            otherwise = problem_of(tried)
            cost = sketched(otherwise.until(seen), 0.0).cost
            if cost < least - saving - late * problem.setup_cost:
                least, chosen, problem = cost, tried, otherwise
    return chosen, problem


def _lasts(problem: LotProblem, tin: RisingStock, until_h: float) -> bool:
    """Whether a tin holds what is to be set until a time."""
    lots = first(problem)[0].lots
    sets = sorted((t.option.start_h, t.grams) for t in lots if t.option.start_h < until_h)
    return not tin.lacking(sets)


def _goes_short(problem: LotProblem, harvests: Sequence[Batch]) -> bool:
    """Whether a round stays short that another hatch, or any of these harvests, could reach."""
    reach = list(problem.supply or (0.0,) * len(problem.demand))
    for batch in harvests:
        if batch.at_index < len(reach):
            reach[batch.at_index] += batch.energy_j
    found = first(problem)[0].short
    return bool(hungry(evolve(problem, supply=tuple(reach)), found, supplied=True))


def _harvests(room: Room, hatch: RunningHatch, feedings: Sequence[Round]) -> list[Batch]:
    """The harvest of a hatch that stands, as told or the best one, and others worth having.

    As told only where that is worth it: it may have stood colder or warmer since, or be another.
    On the morning on which a helper takes over it can be drawn off too, and is if told for then.
    Where somebody is there only when it has hardly begun, or when it is food no more, it is left
    standing and thrown out.
    """
    vessel = room.vessel(hatch.vessel)
    model = vessel_model(room, vessel)
    if model.rate <= 0.0:  # it stands still, for who knows how long
        return []
    set_h, told_h = hatch.begun_h(model.rate), hours(hatch.harvest_at) if hatch.harvest_at else None
    again_h = hours(room.not_before[hatch.vessel]) if hatch.vessel in room.not_before else 0.0
    there = [
        (r, at_h) for r in feedings
        if (r.keeper or room.leaves(r.at)) and r.at_h >= again_h
        and (at_h := harvest_time(room, r)) > set_h
    ]  # fmt: skip
    if hatch.told_today:
        there = [of for of in there if of[1] == told_h and not of[0].keeper] or there
    most_h = room.hatch_kind.keeps_at_most_h
    found = [
        batch_of(vessel, model, r.index, set_h, harvest_h, hatch.cysts_g, standing=True,
               share=hatch.share, key=hatch.key)
        for r, harvest_h in there if not model.is_stale(harvest_h - set_h, most_h)
    ]  # fmt: skip
    begun = any(model.is_out(batch.harvest_h - set_h, BEGUN_SHARE) for batch in found)
    if len(found) < len(there) and not begun:
        r, harvest_h = there[len(found)]
        return [
            Batch(vessel, r.index, set_h, harvest_h, hatch.cysts_g, 0.0, 0.0, True, key=hatch.key)
        ]
    if not found:
        return []
    best = max(found, key=lambda b: (b.energy_j, -b.harvest_h))
    worth = [b for b in found if b.energy_j >= _WORTH_DRAWING * best.energy_j]
    told = next((b for b in worth if b.harvest_h == told_h), best)
    return [told, *(b for b in (*worth[:_HARVESTS], best) if b is not told)]


def stood_cold(room: Room, hatch: RunningHatch) -> bool:
    """Whether a hatch is later than its vessel would have had it, since that stood colder."""
    model = vessel_model(room, room.vessel(hatch.vessel))
    behind_h = hatch.begun_h(model.rate) - hours(hatch.set_at) if model.rate > 0.0 else 0.0
    return behind_h > _FELT_H


def late_h(room: Room, batch: Batch) -> float | None:
    """How long after its best a hatch is drawn off, where nauplii do not keep so long [h]."""
    model = vessel_model(room, batch.vessel)
    if batch.nauplii <= 0 or model.rate <= 0:
        return None
    late_h = batch.harvest_h - batch.set_h - model.best_hours()
    return round(late_h, 1) if late_h > keeps_h(room) else None


def held_batches(room: Room, feedings: Sequence[Round]) -> list[Batch]:
    """Harvests of which some is still to be fed."""
    if not feedings:
        return []
    batches = []
    for held in room.held:
        vessel = next((v for v in room.vessels if v.name == held.vessel), None)
        at_h = hours(held.harvested_at)
        index = next((r.index for r in feedings if r.at_h >= at_h - HARVEST_LEAD_H), None)
        if index is not None:
            batches.append(
                Batch(
                    vessel or Vessel(held.vessel, 1.0, 27.0, 25.0), index, at_h, at_h, 0.0,
                    held.nauplii, held.energy_j, standing=True, held=True, share=held.share,
                    jar_ml=held.jar_ml,
                )
            )  # fmt: skip
    return batches
