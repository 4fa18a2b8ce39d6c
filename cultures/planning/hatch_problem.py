"""The hatches of a room as a problem of lot sizing, whole or from a round on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate, pairwise

from attrs import evolve

from cultures.foods.holding import Holding
from cultures.needs.need import Round
from cultures.planning.harvests import Batch
from cultures.planning.hatch_options import CLEANING_H, HatchOptions
from cultures.planning.lots import Lot, LotProblem, Option, made_at, stock_at

#: Missing this share of a usual round is worth one more setting; usual is the mean of so many
#: rounds around it, but no less than this share of the mean of all.
WORTH_A_SETTING = 0.001
_USUAL_ROUNDS = 14
#: Of what may go short, what lies a day later counts so many times as much: there is more time to
#: get food, and the fry are larger.
LATER_COUNTS = 0.98
_LEAST_USUAL = 0.05


def lot_problem(
    offers: HatchOptions,
    wanted_j: Sequence[float],
    from_h: float,
    settled: int,
    standing: Sequence[Batch],
) -> LotProblem:
    """The choice of hatches as one of lot sizing, beside those that stand.

    Args:
        wanted_j: at each round [J]. from_h: no hatch is set before [h since the epoch]. settled:
            rounds for which none is chosen any more.
    """
    room, feedings, holding = offers.room, offers.feedings, offers.holding
    taken = {b.vessel.name: b.harvest_h + CLEANING_H for b in standing}
    options = [
        option
        for number, vessel in enumerate(room.vessels)
        for option in offers.of(number, max(from_h, taken.get(vessel.name, from_h)), settled)
    ]
    supply = [0.0] * len(feedings)
    for batch in standing:
        supply[batch.at_index] += batch.energy_j * holding.share(
            batch.harvest_h, feedings[batch.at_index].at_h
        )
    return LotProblem(
        demand=tuple(wanted_j),
        decay=tuple(holding.share(a.at_h, b.at_h) for a, b in pairwise(feedings)),
        oldest=tuple(_oldest(feedings, offers.harvest_h, holding)),
        options=tuple(options),
        setup_cost=max(room.effort_g, 1e-6),
        gram_cost=1.0,
        short_cost=tuple(
            max(room.effort_g, 1.0)
            / (WORTH_A_SETTING * usual_j)
            * LATER_COUNTS ** ((feeding.at_h - feedings[0].at_h) / 24.0)
            for feeding, usual_j in zip(feedings, _usual(wanted_j), strict=True)
        ),
        supply=tuple(supply) if any(supply) else (),
    )


def _usual(wanted_j: Sequence[float]) -> list[float]:
    """What a round around each wants on average, of those that want anything [J]."""
    totals = [0.0, *accumulate(wanted_j)]
    counts = [0, *accumulate(1 if wanted > 0 else 0 for wanted in wanted_j)]
    mean = totals[-1] / counts[-1] if counts[-1] else 1.0
    found = []
    for t in range(len(wanted_j)):
        low, high = max(0, t - _USUAL_ROUNDS), min(len(wanted_j), t + _USUAL_ROUNDS + 1)
        count = counts[high] - counts[low]
        usual = (totals[high] - totals[low]) / count if count else mean
        found.append(max(usual, _LEAST_USUAL * mean))
    return found


def _oldest(feedings: Sequence[Round], harvests: Sequence[float], holding: Holding) -> list[int]:
    """For each round the first one whose harvest, and every later one, may still be fed.

    Args:
        harvests: when a hatch is drawn off for each of the rounds [h since the epoch].
    """
    until = [at_h + holding.longest_h(at_h) for at_h in harvests]
    for k in range(len(until) - 1, 0, -1):  # a warmer day ends it for those before, too
        until[k - 1] = min(until[k - 1], until[k])
    result, first = [], 0
    for feeding in feedings:
        while first < feeding.index and feeding.at_h > until[first] + 1e-9:
            first += 1
        result.append(first)
    return result


def from_round(problem: LotProblem, fixed: Sequence[Lot], start: int) -> tuple[LotProblem, int]:
    """The part of the problem from round ``start`` on, after the hatches that are fixed.

    It begins a little earlier, with nothing wanted there, so that what is left of the fixed
    hatches keeps the age it has.
    """
    end = len(problem.demand)
    if start in (0, end):
        return problem, 0
    made = made_at(problem, fixed)
    offset = problem.oldest[start]
    supply = [0.0] * (end - offset)
    for harvested, left in stock_at(problem, made, start):
        if harvested >= offset:
            supply[harvested - offset] = left / math.prod(problem.decay[harvested:start])
    for index in range(start, end):
        supply[index - offset] += problem.supply[index] if problem.supply else 0.0
    busy: dict[int, float] = {}
    for lot in fixed:
        vessel = lot.option.vessel
        busy[vessel] = max(busy.get(vessel, -math.inf), lot.option.end_h)
    options = tuple(
        o
        for o in problem.options
        if o.at_index >= start and o.start_h >= busy.get(o.vessel, -math.inf) - 1e-9
    )
    demand = (0.0,) * (start - offset) + problem.demand[start:end]
    part = evolve(
        problem,
        demand=demand,
        decay=problem.decay[offset : max(offset, end - 1)],
        oldest=tuple(max(0, o - offset) for o in problem.oldest[offset:end]),
        options=tuple(_moved(o, -offset) for o in options),
        short_cost=problem.short_cost[offset:end],
        supply=tuple(supply) if any(supply) else (),
    )
    return part, offset


def _moved(option: Option, by: int) -> Option:
    return evolve(option, at_index=option.at_index + by) if by else option


def with_decided(decided: Sequence[Lot], lots: Sequence[Lot], offset: int) -> list[Lot]:
    """The hatches that are decided, and those of a part that begins at a round."""
    return [*decided, *(Lot(_moved(lot.option, offset), lot.grams) for lot in lots)]
