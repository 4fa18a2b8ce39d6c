"""Which hatch to set when, so that nauplii are at their best at the rounds that need them."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Collection, Sequence
from datetime import datetime, timedelta
from functools import partial
from itertools import accumulate, pairwise

from attrs import define, evolve, field, frozen

from cultures.foods.hatching import HatchModel
from cultures.foods.holding import Holding
from cultures.foods.vessels import Vessel
from cultures.needs.need import Round
from cultures.planning.hatch_options import (
    CLEANING_H,
    EXACT,
    HARVEST_LEAD_H,
    HatchOptions,
    harvest_time,
    keeps_h,
)
from cultures.planning.lot_chains import sketched
from cultures.planning.lot_sizing import first, shared, solve
from cultures.planning.lots import (
    Lot,
    LotPlan,
    LotProblem,
    Option,
    Pantry,
    amounts,
    course_of,
    hungry,
    made_at,
    stock_at,
    unmet,
    within,
    worth_setting,
)
from cultures.planning.prices import Want, asked_at, price_for, want_of
from cultures.planning.servings import SHORT_SHARE
from cultures.room.jars import holding_of, made_up_ml, vessel_model
from cultures.room.room import Room, RunningHatch
from cultures.words.moments import hours
from cultures.words.tools import CYSTS, USUAL, Tools

#: Grams are set in steps that a keeper can weigh or spoon.
GRAM_STEP = 0.1
#: From this share on a round takes a whole harvest.
_WHOLE = 0.97
#: A hatch is set about a day before its round [h].
_DAY_H = 24.0
#: Within a week cysts can be had (common practice, no source).
_HAD_WITHIN_H = 7 * 24.0
#: So many rounds to either side of a shortage hatches are planned without a margin.
_NEAR = 6
#: A hatch that stood so many times the best incubation is no food any more.
_TOO_LONG = 5.0
#: Of a hatch that stands so many harvests are weighed, each worth this share of the best or more;
#: drawing it off at another round than that is worth so much of a setting, by what comes of it
#: until so long after the next incubation; and what goes short, where that is not as was told.
_HARVESTS, _WORTH_DRAWING, _MOVING = 3, 0.4, 0.25
_SEEN_H = 4 * 24.0
#: Rounds that tell how well hatches meet the need where they are not planned yet.
_RECENT_ROUNDS = 28
#: Missing this share of a usual round is worth one more setting; usual is the mean of so many
#: rounds around it, but no less than this share of the mean of all.
_WORTH_A_SETTING = 0.001
_USUAL_ROUNDS = 14
#: Of what may go short, what lies a day later counts so many times as much: there is more time to
#: get food, and the fry are larger.
_LATER_COUNTS = 0.98
_LEAST_USUAL = 0.05
#: What was told is weighed so much of it too heavy at most, all hatches together.
_LITTLE = 0.25
#: A gram of a tin that is shared out costs this share of what it costs to go without it.
_SCARCE = 0.5


@frozen(eq=False)
class Batch:
    """A hatch from set to harvest.

    Attributes:
        at_index: the round it is harvested for. set_h, harvest_h: times [h since the epoch].
        nauplii, energy_j: of the harvest, at harvest time.
        standing: it stood already when the room file was written.
        held: it was harvested already, and what is left of it waits to be fed; share: how
            much of the harvest that is; jar_ml: what the whole of it was made up to, or None.
            key: under which it was told, or "".
    """

    vessel: Vessel
    at_index: int
    set_h: float
    harvest_h: float
    cysts_g: float
    nauplii: float
    energy_j: float
    standing: bool = False
    held: bool = False
    share: float = 1.0
    key: str = ""
    jar_ml: float | None = None


@frozen(eq=False)
class Portion:
    """Nauplii of one batch given at one round; energy_j as it is at that round."""

    batch: int
    energy_j: float
    nauplii: float


@frozen(eq=False)
class Decided:
    """What is decided for the first rounds, and not planned again.

    Attributes:
        rounds: how many. lots: the hatches as they were planned. wanted_j: for what at each round
            [J]. rationed: what the tin did not hold of what was wanted, where it was shared out.
        standing: the hatches that stood already.
    """

    rounds: int = 0
    lots: tuple[Lot, ...] = ()
    standing: tuple[Batch, ...] = ()
    wanted_j: tuple[float, ...] = ()
    rationed: tuple[tuple[float, float], ...] = ()


@define(eq=False)
class HatchPlan:
    """The batches and what they bring to each round.

    Attributes:
        portions: for each round. given_j: their energy. short_j: demand not met.
        tin_short_g: cysts that the plan wanted and the tin does not hold, by batch time.
        held_j: of what is wanted at each round, what is held already brings.
        rationed: (set time, grams) of what a tin that is shared out lacks. soon: the count of
            rounds over which it is, since they are fed before more can be had; where it is not,
            of those before the tin ends, and what comes later is to be bought.
    """

    batches: list[Batch]
    portions: list[tuple[Portion, ...]]
    given_j: list[float]
    short_j: list[float]
    tin_short: list[tuple[float, float]]
    problem: LotProblem = field(repr=False)
    lots: tuple[Lot, ...] = field(repr=False)
    held_j: Sequence[float] = field(default=(), repr=False)
    rationed: tuple[tuple[float, float], ...] = ()
    soon: int = 0

    def share_met(self) -> float:
        """Share of what was wanted that is brought, as far as that says what comes after.

        Nothing once the tin is empty; otherwise of the last two weeks at which there was a hatch
        to harvest or hold, since an absence passes.
        """
        if self.tin_short or not self.problem.options:
            return 0.0
        met = [
            (given, given + short)
            for given, short in zip(self.given_j, self.short_j, strict=True)
            if given > 0.0
        ][-_RECENT_ROUNDS:]
        wanted = sum(want for _, want in met)
        return sum(given for given, _ in met) / wanted if wanted > 0.0 else 1.0

    def decided(self, rounds: int, last_h: float) -> Decided:
        """What it decides for its first rounds, the last of them at ``last_h``."""
        return Decided(
            rounds,
            tuple(lot for lot in self.lots if lot.option.at_index < rounds),
            tuple(b for b in self.batches if b.standing and not b.held),
            self.problem.demand[:rounds],
            tuple((at_h, grams) for at_h, grams in self.rationed if at_h < last_h),
        )

    def padded(self, rounds: int) -> HatchPlan:
        """The same followed by rounds that are not planned, up to a count of rounds."""
        more = rounds - len(self.given_j)
        nothing = [0.0] * more
        return evolve(
            self,
            portions=[*self.portions, *(() for _ in nothing)],
            given_j=[*self.given_j, *nothing],
            short_j=[*self.short_j, *nothing],
        )


def longest_incubation(room: Room) -> timedelta:
    """The longest that a hatch stands in a vessel of a room, in whole days, a day off the best."""
    models = [vessel_model(room, vessel) for vessel in room.vessels]
    longest_h = max((m.best_hours() for m in models if m.rate > 0), default=0.0)
    return timedelta(days=math.ceil(longest_h / 24.0) + 1 if longest_h > 0 else 0)


def first_nauplii(room: Room, feedings: Sequence[Round], start: datetime) -> int:
    """The first round for which nauplii are held, stand already or can be hatched."""
    here = _held_batches(room, feedings)
    here += [batch for h in room.hatches for batch in _harvests(room, h, feedings)]
    offers = HatchOptions(room, feedings, holding_of(room))
    set_now = (next(offers.of(v, hours(start), 0), None) for v in range(len(room.vessels)))
    return min(
        (batch.at_index for batch in (*here, *set_now) if batch is not None), default=len(feedings)
    )


def plan_hatches(
    room: Room,
    feedings: Sequence[Round],
    demand_j: Sequence[float],
    *,
    start: datetime,
    decided: Decided | None = None,
    wants: Sequence[Sequence[Want]] | None = None,
) -> HatchPlan:
    """The hatches that meet a demand at least work and cysts, and what they really bring.

    Args:
        demand_j: nauplii wanted at each round; hatches are sized for a margin more [J].
        start: no hatch is set before.
        decided: what stands for the first rounds already.
        wants: of each brood by round, to share out a tin that does not last [J].
    """
    decided = decided or Decided()
    holding = holding_of(room)
    held = _held_batches(room, feedings)
    asked_j = demand_j
    sized = 1.0 + room.hatch_margin
    sized_j: Sequence[float] = [sized * demand for demand in demand_j]
    spared = [0.0] * len(feedings)
    if held:  # what is held is fed first, and what it leaves open is planned for
        sized_j, as_planned = _left_open(held, feedings, sized_j, holding)
        demand_j, really = _left_open(held, feedings, demand_j, holding)
        spared = [real - plan for real, plan in zip(really, as_planned, strict=True)]
    need_j = [d if r.fed else 0.0 for r, d in zip(feedings, demand_j, strict=True)]
    wanted_j = [d if r.fed else 0.0 for r, d in zip(feedings, sized_j, strict=True)]
    wanted_j[: decided.rounds] = decided.wanted_j
    offers = HatchOptions(room, feedings, holding)
    problem_of = partial(_problem, offers, wanted_j, hours(start), decided.rounds)
    if decided.rounds:
        standing: Sequence[Batch] = decided.standing
        problem = problem_of(standing)
    else:
        standing, problem = _with_standing(room, feedings, problem_of)
    tin_g = room.cysts.grams if room.cysts is not None else 0.0
    had_h = hours(start) + _HAD_WITHIN_H
    soon = sum(1 for r in feedings if r.at_h < had_h + _DAY_H)
    least_g = room.hatch_kind.values["least_hatch_g"]

    wants = [[want_of(demand, 1.0)] for demand in asked_j] if wants is None else wants
    held_j = [asked - left for asked, left in zip(asked_j, demand_j, strict=True)]

    def asked(share: float) -> Sequence[float]:
        # No more than a share of all until more can be had, at the price that asks for so much.
        if share >= 1.0:
            return need_j
        rows = _by_gram(problem, wants)
        scarce = [want for row in rows[decided.rounds : soon] for want in row]
        price = price_for(scarce, share * asked_at(scarce, 0.0))
        asked_j = zip(need_j, rows, held_j, strict=True)
        return [min(need, max(0.0, asked_at(row, price) - held)) for need, row, held in asked_j]

    def weighed(problem: LotProblem, lots: Sequence[Lot]) -> Sequence[tuple[Lot, float]]:
        # Of a tin that is shared out a round takes its share alone.
        shares_j = [min(need, part) for need, part in zip(need_j, problem.demand, strict=True)]
        fresh = _weighed(problem, lots, shares_j, spared, least_g, room.tools)
        if not room.move_g * room.effort_g or not any(lot.option.told_g for lot, _ in fresh):
            return fresh
        half_j = [share * (1.0 + room.hatch_margin / 2.0) for share in shares_j]
        needed = evolve(problem, demand=tuple(map(min, half_j, problem.demand)))

        def tried(kept: Collection[Lot]) -> Sequence[tuple[Lot, float]]:
            return _weighed(problem, lots, shares_j, spared, least_g, room.tools, kept)

        return _as_told(needed, fresh, tried, room.move_g)

    bearable = SHORT_SHARE if room.effort_g > 0 else 0.0
    problem, lots, lacking = _lots(problem, asked, decided, tin_g, had_h, soon, bearable, weighed)
    batches = [*held, *standing]
    for lot, weighed_g in weighed(problem, lots):
        vessel = room.vessels[lot.option.vessel]
        set_h, harvest_h = lot.option.start_h, lot.option.end_h - CLEANING_H
        model = vessel_model(room, vessel)
        batches.append(_batch(vessel, model, lot.option.at_index, set_h, harvest_h, weighed_g))
    batches, cut = _within_tin(room, batches, tin_g, least_g)
    plan = HatchPlan(batches, [], [], [], cut, problem, tuple(lots), held_j)
    most_j = [share + held for share, held in zip(problem.demand, held_j, strict=True)]
    left = feed(plan, feedings, asked_j, holding, most_j)
    if (decided.rationed or lacking) and any(left):
        feed(plan, feedings, asked_j, holding, used_up(plan, left, most_j))
    begun_h = min((b.set_h for b in batches if not b.standing), default=-math.inf) + _DAY_H
    if lacking:  # the first of it is wanting a day before a round goes short
        at_h, first_g = lacking[0]
        short_h = (
            r.at_h - _DAY_H
            for r, missing, asked in zip(feedings, plan.short_j, asked_j, strict=True)
            if missing > SHORT_SHARE * asked and r.at_h > begun_h
        )
        lacking[0] = max(feedings[0].at_h, min(next(short_h, at_h), at_h)), first_g
    plan.rationed = (*decided.rationed, *lacking)
    if not plan.rationed:
        soon = sum(1 for r in feedings if not cut or r.at_h < cut[0][0] + _DAY_H)
    plan.soon = soon
    plan.tin_short = [*plan.rationed, *cut]
    return plan


def _lots(
    problem: LotProblem,
    asked_j: Callable[[float], Sequence[float]],
    decided: Decided,
    tin_g: float,
    had_h: float,
    soon: int,
    bearable: float,
    weighed: Callable[[LotProblem, Sequence[Lot]], Sequence[tuple[Lot, float]]],
) -> tuple[LotProblem, list[Lot], list[tuple[float, float]]]:
    """What is planned for, the hatches, and (set time, grams) of what a tin shared out lacks.

    The margin is the first to go where something falls short. A tin that ends before more can
    be had is shared out over the rounds until then, without it; what a later one lacks is to be
    bought, and nothing is changed for it before.

    Args:
        asked_j: what each round asks for when no more than a share of all is asked until more can
            be had [J]. had_h: from when on that is [h since the epoch]. soon: rounds that are fed
            from what is set before. bearable: share of what a round needs that is not called
            short. weighed: each hatch of a plan with the grams to weigh.
    """
    part, offset = _stretch(problem, decided.lots, decided.rounds)
    need_j = asked_j(1.0)
    needed = evolve(
        part, demand=tuple(min(need_j[t + offset], d) for t, d in enumerate(part.demand))
    )
    left_g = tin_g - sum(lot.grams for lot in decided.lots)
    sketch, _ = first(part)
    ends_soon = any(at_h < had_h for at_h, _ in _lacking(sketch.lots, left_g))
    scarce = hungry(part, sketch.short, supplied=True)
    near = {t + by for t in scarce for by in range(-_NEAR, _NEAR + 1)}
    sized = tuple(
        need if ends_soon or t in near else wanted
        for t, (wanted, need) in enumerate(zip(part.demand, needed.demand, strict=True))
    )
    part = evolve(part, demand=sized)
    # None is set for the margin alone, nor for what is not called short.
    options = [lot.option for lot in solve(part).lots]
    if bearable > 0:
        options = [lot.option for lot in worth_setting(needed, options, bearable)]
        part = within(part, needed.demand, options)
    lots = amounts(part, options)
    before = problem.demand[: decided.rounds]
    problem = evolve(problem, demand=(*before, *part.demand[decided.rounds - offset :]))
    lacking = _lacking(lots, left_g) if ends_soon else []
    if not any(at_h < had_h for at_h, _ in lacking):
        lacking = []  # without the margin it lasts
    if lacking:
        gram_cost = max(part.gram_cost, _SCARCE * _worth(part))
        whole = problem

        def given(share: float) -> LotProblem:
            demand = (*before, *asked_j(share)[decided.rounds : soon])
            return evolve(whole, demand=(*demand, *[0.0] * (len(whole.demand) - len(demand))))

        def until(share: float) -> LotProblem:
            ahead = decided.rounds - offset
            wanted = given(share).demand[decided.rounds :]
            return evolve(part, demand=(*[0.0] * ahead, *wanted), gram_cost=gram_cost)

        def weighed_g(share: float, plan: LotPlan) -> float:
            each = weighed(given(share), _whole(decided.lots, plan.lots, offset))
            return sum(grams for _, grams in each)

        share, wanted = shared(until, tin_g, weighed_g)
        if share == 0.0:  # so little that no hatch of each round's share can be weighed
            share, wanted = shared(until, max(0.0, left_g))
        problem, lots = given(share), list(wanted.lots)
    return problem, _whole(decided.lots, lots, offset), lacking


def _by_gram(problem: LotProblem, wants: Sequence[Sequence[Want]]) -> list[list[Want]]:
    """What is wanted at each round, when a price is that of cysts: a gram brings less to some."""
    best_j = [0.0] * len(problem.demand)
    for option in problem.options:
        best_j[option.at_index] = max(best_j[option.at_index], option.energy_per_g)
    brought_j = [
        max(best_j[k] * math.prod(problem.decay[k:t]) for k in range(problem.oldest[t], t + 1))
        for t in range(len(best_j))
    ]
    top_j = max(brought_j, default=0.0)
    return [
        [
            (most, missed, slope * top_j / each if each > 0.0 else slope)
            for most, missed, slope in row
        ]
        for row, each in zip(wants, brought_j, strict=True)
    ]


def _worth(problem: LotProblem) -> float:
    """What it costs to go without a gram of cysts, by the best hatch and the least dear round."""
    best = max((option.energy_per_g for option in problem.options), default=0.0)
    return best * min(problem.short_cost, default=0.0)


def _whole(decided: Sequence[Lot], lots: Sequence[Lot], offset: int) -> list[Lot]:
    """The hatches that are decided, and those of a part that begins at a round."""
    return [*decided, *(Lot(_moved(lot.option, offset), lot.grams) for lot in lots)]


def _lacking(lots: Sequence[Lot], tin_g: float) -> list[tuple[float, float]]:
    """(set time, grams) of what a tin does not hold of some hatches, set in their order."""
    found = []
    for lot in sorted(lots, key=lambda lot: lot.option.start_h):
        over_g = min(lot.grams, lot.grams - tin_g)
        tin_g -= lot.grams
        if over_g > 1e-6:
            found.append((lot.option.start_h, over_g))
    return found


def _left_open(
    held: list[Batch], feedings: Sequence[Round], demand_j: Sequence[float], holding: Holding
) -> tuple[list[float], list[float]]:
    """What is wanted at each round once all that is held has been fed, the oldest first, and what
    is held when the round begins [J].
    """
    problem = LotProblem((), (), (), (), 1.0, 1.0, ())
    plan = HatchPlan(held, [], [], [], [], problem, ())
    feed(plan, feedings, demand_j, holding)
    left, usable = [1.0] * len(held), []
    for feeding, portions in zip(feedings, plan.portions, strict=True):
        usable.append(sum(
            share * batch.energy_j * holding.share(batch.harvest_h, feeding.at_h)
            for share, batch in zip(left, held, strict=True)
            if feeding.at_h - batch.harvest_h <= holding.longest_h + 1e-9
        ))  # fmt: skip
        for portion in portions:
            batch = held[portion.batch]
            whole = batch.energy_j * holding.share(batch.harvest_h, feeding.at_h)
            left[portion.batch] -= portion.energy_j / whole
    return plan.short_j, usable


def _weighed(
    problem: LotProblem,
    lots: Sequence[Lot],
    demand_j: Sequence[float],
    spared_j: Sequence[float],
    least_g: float = GRAM_STEP,
    tools: Tools = USUAL,
    kept: Collection[Lot] = (),
) -> list[tuple[Lot, float]]:
    """Each hatch with the grams to weigh, less what earlier ones leave over.

    The plan is made for a margin more than the need, and grams are rounded up; what is left of
    both when the next hatch is harvested makes that one smaller, as it would in a plan made
    then. A hatch that is not needed any more, by any round that it was to feed, is dropped.
    ``spared_j``: what is left of harvests that are held already, beyond what the plan was made for.
    ``kept``: the hatches of which as much is weighed as was told.
    """
    made, real = made_at(problem, lots), Pantry(problem)
    course = course_of(problem, made)
    by_round: dict[int, list[Lot]] = {}
    for lot in lots:
        by_round.setdefault(lot.option.at_index, []).append(lot)
    weighed = []
    for t, demand in enumerate(demand_j):
        extra = max(0.0, spared_j[t])
        for lot in by_round.get(t, ()):
            energy = lot.grams * lot.option.energy_per_g
            made[t] -= energy
            lacks = real.lacks(t, made, course)
            if not kept:  # of what was told smaller a later one makes up for
                lacks = min(energy, lacks)
            asked_g = (lacks - extra) / lot.option.energy_per_g
            extra = max(0.0, extra - lacks)
            if asked_g > GRAM_STEP * 1e-6:
                over_g = tools.least_over(max(least_g, asked_g), CYSTS, GRAM_STEP)
                grams = round(min(lot.option.most_g, over_g), 6)
                grams = lot.option.told_g if lot in kept else grams
                made[t] += grams * lot.option.energy_per_g
                weighed.append((lot, grams))
        real.feed(t, demand, made[t])
    return weighed


def _as_told(
    needed: LotProblem, fresh: Sequence[tuple[Lot, float]],
    tried: Callable[[Collection[Lot]], Sequence[tuple[Lot, float]]], move_g: float,
) -> Sequence[tuple[Lot, float]]:  # fmt: skip
    """The grams to weigh of each hatch, as they were told where that costs no more than moving it,
    nor a quarter of them.

    A little more or less of one hatch makes the next one smaller or larger, so what it costs is
    seen by all of them together. Nothing goes short for it.

    Args:
        needed: with what each round is to have at least. fresh: as they would be weighed now.
        tried: the same where some are weighed as told. move_g: what moving a setting costs [g].
    """
    best, short = fresh, unmet(needed, _as_lots(fresh))
    kept: list[Lot] = []
    for lot, grams in fresh:
        told_g = lot.option.told_g
        if not 0.0 < told_g <= lot.option.most_g + GRAM_STEP * 1e-6 or told_g == grams:
            continue
        found = tried([*kept, lot])
        then = unmet(needed, _as_lots(found))
        bears = all(
            now <= max(before, SHORT_SHARE * wanted)
            for now, before, wanted in zip(then, short, needed.demand, strict=True)
        )
        most_g = min(move_g, _LITTLE * told_g) + GRAM_STEP * 1e-6
        if bears and _grams(found) <= _grams(best) + most_g:
            best, kept, short = found, [*kept, lot], then
    return best


def _as_lots(weighed: Sequence[tuple[Lot, float]]) -> list[Lot]:
    return [Lot(lot.option, grams) for lot, grams in weighed]


def _grams(weighed: Sequence[tuple[Lot, float]]) -> float:
    return sum(grams for _, grams in weighed)


def _stretch(problem: LotProblem, fixed: Sequence[Lot], start: int) -> tuple[LotProblem, int]:
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


def _batch(
    vessel: Vessel, model: HatchModel, at_index: int, set_h: float, harvest_h: float, grams: float,
    *, standing: bool = False, share: float = 1.0, key: str = "",
) -> Batch:  # fmt: skip
    incubated = round(harvest_h - set_h, EXACT)
    return Batch(
        vessel=vessel,
        at_index=at_index,
        set_h=set_h,
        harvest_h=harvest_h,
        cysts_g=grams,
        nauplii=share * grams * model.nauplii(incubated),
        energy_j=share * grams * model.energy(incubated),
        standing=standing,
        key=key,
    )


def _with_standing(
    room: Room, feedings: Sequence[Round], problem_of: Callable[[Sequence[Batch]], LotProblem]
) -> tuple[Sequence[Batch], LotProblem]:
    """Hatches that stand already, each with the round at which it is drawn off, and the problem.

    That is as it was told, unless something goes short; else when it is worth most, unless another
    round costs less. Past its best it is kept for want alone, and not to save a setting. One that
    stood too long by the time somebody is there is thrown out then.
    """
    choices = [(h, found) for h in room.hatches if (found := _harvests(room, h, feedings))]
    chosen = [found[0] for _, found in choices]
    problem = problem_of(chosen)
    if all(len(found) == 1 for _, found in choices):
        return chosen, problem
    last_h = max(batch.harvest_h for _, found in choices for batch in found)
    last_h += longest_incubation(room) / timedelta(hours=1) + _SEEN_H
    seen = bisect_left(feedings, last_h, key=lambda r: r.at_h)
    near = problem.until(seen)
    short = _goes_short(near, [batch for _, found in choices for batch in found])
    if not short and all(hatch.harvest_at for hatch, _ in choices):
        return chosen, problem
    least = sketched(near, 0.0).cost
    for k, (hatch, found) in enumerate(choices):
        saving = _MOVING * problem.setup_cost + (SHORT_SHARE * least if hatch.harvest_at else 0.0)
        for other in found[1:] if short or not hatch.harvest_at else ():
            late = late_h(room, other) is not None
            if late and not short:
                continue
            tried = [*chosen[:k], other, *chosen[k + 1 :]]
            otherwise = problem_of(tried)
            cost = sketched(otherwise.until(seen), 0.0).cost
            if cost < least - saving - late * problem.setup_cost:
                least, chosen, problem = cost, tried, otherwise
    return chosen, problem


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
    Told for the morning on which the keeper leaves it is drawn off before.
    """
    vessel = room.vessel(hatch.vessel)
    model = vessel_model(room, vessel)
    set_h = hatch.begun_h(model.rate)
    told_at = hatch.harvest_at if hatch.told_today else None
    leaves = [r for r in feedings[:1] if told_at and told_at <= r.at and room.leaves(r.at)]
    there = [(r, harvest_time(room, r)) for r in leaves or feedings if r.keeper or leaves]
    there = [(r, harvest_h) for r, harvest_h in there if harvest_h > set_h]
    found = [
        _batch(vessel, model, r.index, set_h, harvest_h, hatch.cysts_g, standing=True,
               share=hatch.share, key=hatch.key)
        for r, harvest_h in there if harvest_h - set_h < _TOO_LONG * model.best_hours()
    ]  # fmt: skip
    if not found:
        return [
            Batch(vessel, r.index, set_h, harvest_h, hatch.cysts_g, 0.0, 0.0, True, key=hatch.key)
            for r, harvest_h in there[:1]
        ]
    best = max(found, key=lambda b: (b.energy_j, -b.harvest_h))
    worth = [b for b in found if b.energy_j >= _WORTH_DRAWING * best.energy_j]
    told_h = hours(hatch.harvest_at) if hatch.harvest_at is not None else None
    told = next((b for b in worth if b.harvest_h == told_h), best)
    return [told, *(b for b in (*worth[:_HARVESTS], best) if b is not told)]


def late_h(room: Room, batch: Batch) -> float | None:
    """How long after its best a hatch is drawn off, where nauplii do not keep so long [h]."""
    model = vessel_model(room, batch.vessel)
    if batch.nauplii <= 0 or model.rate <= 0:
        return None
    late_h = batch.harvest_h - batch.set_h - model.best_hours()
    return round(late_h, 1) if late_h > keeps_h(room) else None


def _held_batches(room: Room, feedings: Sequence[Round]) -> list[Batch]:
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


def _problem(
    offers: HatchOptions,
    wanted_j: Sequence[float],
    from_h: float,
    settled: int,
    standing: Sequence[Batch],
) -> LotProblem:
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
        oldest=tuple(_oldest(room, feedings, holding.longest_h)),
        options=tuple(options),
        setup_cost=max(room.effort_g, 1e-6),
        gram_cost=1.0,
        short_cost=tuple(
            max(room.effort_g, 1.0)
            / (_WORTH_A_SETTING * usual_j)
            * _LATER_COUNTS ** ((feeding.at_h - feedings[0].at_h) / 24.0)
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


def _oldest(room: Room, feedings: Sequence[Round], longest_h: float) -> list[int]:
    """For each round the first one whose harvest may still be fed."""
    harvests = [harvest_time(room, feeding) for feeding in feedings]
    result, first = [], 0
    for feeding in feedings:
        while first < feeding.index and feeding.at_h - harvests[first] > longest_h + 1e-9:
            first += 1
        result.append(first)
    return result


def _within_tin(
    room: Room, batches: list[Batch], left: float, least_g: float
) -> tuple[list[Batch], list[tuple[float, float]]]:
    """Cuts what the tin does not hold, in the order of setting; (set time, grams) of each cut."""
    kept: list[Batch] = []
    cut: list[tuple[float, float]] = []
    for batch in sorted(batches, key=lambda b: (b.set_h, b.vessel.name)):
        if batch.standing:
            kept.append(batch)
            continue
        if batch.cysts_g <= left + 1e-9:
            kept.append(batch)
            left = max(0.0, left - batch.cysts_g)
            continue
        cut.append((batch.set_h, batch.cysts_g - left))
        if left >= max(GRAM_STEP, min(least_g, batch.cysts_g)) - 1e-9:
            share = math.floor(left / GRAM_STEP + 1e-6) * GRAM_STEP / batch.cysts_g
            model = vessel_model(room, batch.vessel)
            kept.append(
                _batch(batch.vessel, model, batch.at_index, batch.set_h, batch.harvest_h,
                       round(batch.cysts_g * share, 6))
            )  # fmt: skip
            left = 0.0
    kept.sort(key=lambda b: (b.harvest_h, b.vessel.name))
    return kept, cut


def feed(
    plan: HatchPlan,
    feedings: Sequence[Round],
    demand_j: Sequence[float],
    holding: Holding,
    most_j: Sequence[float] | None = None,
) -> list[float]:
    """Feeds each round from the oldest harvest that may still be given, up to a limit; the share
    of each that is left.
    """
    plan.portions, plan.given_j, plan.short_j = [], [], []
    left = [1.0] * len(plan.batches)
    for feeding, demand, most in zip(feedings, demand_j, most_j or demand_j, strict=True):
        portions = feed_round(plan.batches, left, feeding, min(demand, most), holding)
        plan.portions.append(portions)
        plan.given_j.append(sum(p.energy_j for p in portions))
        plan.short_j.append(max(0.0, (demand if feeding.fed else 0.0) - plan.given_j[-1]))
    return left


def feed_round(
    batches: Sequence[Batch], left: list[float], feeding: Round, asked_j: float, holding: Holding
) -> tuple[Portion, ...]:
    """Takes what a round asks for from the oldest harvests, and from the shares ``left``."""
    wanted = asked_j if feeding.fed else 0.0
    portions = []
    for number, batch in enumerate(batches):
        if wanted <= 1e-9:
            break
        if left[number] <= 0 or not may_be_fed(batch, feeding, holding):
            continue
        whole = batch.energy_j * holding.share(batch.harvest_h, feeding.at_h)
        energy = min(wanted, whole * left[number])
        if energy <= 1e-9:
            continue
        used = energy / whole
        left[number] = max(0.0, left[number] - used)
        wanted -= energy
        alive = batch.nauplii * holding.alive(batch.harvest_h, feeding.at_h)
        portions.append(Portion(number, energy, alive * used))
    return tuple(portions)


def may_be_fed(batch: Batch, feeding: Round, holding: Holding) -> bool:
    """Whether a harvest is there at a round, and not too old."""
    held_h = feeding.at_h - batch.harvest_h
    return batch.at_index <= feeding.index and held_h <= holding.longest_h + 1e-9


def used_up(plan: HatchPlan, left: Sequence[float], most_j: Sequence[float]) -> list[float]:
    """Limits of the rounds at which what would be left of each harvest is fed with the rest."""
    more_j = list(most_j)
    for t, portions in enumerate(plan.portions):
        for portion in portions:
            unused = left[portion.batch]
            if unused < 1.0:
                more_j[t] += portion.energy_j * unused / (1.0 - unused)
    return more_j


def window_times(room: Room, batch: Batch, share: float = 0.9) -> tuple[datetime, datetime]:
    """Between when a harvest brings at least ``share`` of the best energy."""
    low, high = vessel_model(room, batch.vessel).window(share)
    return room.at_hour(batch.set_h + low), room.at_hour(batch.set_h + high)


def jar_ml(room: Room, plan: HatchPlan, number: int) -> float | None:
    """What a harvest is made up to for keeping, or what is left of that [mL]; None when one round
    takes all of a harvest, or none any of it.
    """
    batch = plan.batches[number]
    if batch.nauplii <= 0:
        return None
    used = [p for row in plan.portions for p in row if p.batch == number]
    whole = len(used) == 1 and used[0].nauplii > _WHOLE * batch.nauplii
    if not batch.held and (whole or not used):
        return None
    full_ml = batch.jar_ml or made_up_ml(batch.nauplii / batch.share, room.units)
    return full_ml * batch.share


def from_jars_ml(room: Room, plan: HatchPlan, feeding: Round) -> float:
    """What a round takes out of the jars of held nauplii, all together [mL]."""
    holding, total = holding_of(room), 0.0
    for portion in plan.portions[feeding.index]:
        jar = jar_ml(room, plan, portion.batch)
        batch = plan.batches[portion.batch]
        alive = batch.nauplii * holding.alive(batch.harvest_h, feeding.at_h)
        if jar is not None and alive > 0:
            total += min(1.0, portion.nauplii / alive) * jar
    return total
