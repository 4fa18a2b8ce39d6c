"""Which hatch to set when, so that nauplii are at their best at the rounds that need them."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime, time, timedelta
from functools import cache, partial

from attrs import evolve, frozen

from cultures.needs.need import Round
from cultures.planning.harvests import (
    DAY_H,
    Batch,
    Chosen,
    Decided,
    HatchPlan,
    batch_of,
    feed,
    feed_rest,
    left_open,
)
from cultures.planning.hatch_options import CLEANING_H, HatchOptions
from cultures.planning.hatch_problem import from_round, lot_problem, with_decided
from cultures.planning.lot_sizing import first, shared, solve
from cultures.planning.lots import (
    Lot,
    LotPlan,
    LotProblem,
    Pantry,
    amounts,
    as_set,
    borne,
    course_of,
    hungry,
    in_told_vessels,
    made_at,
    unmet,
    within,
    worth_setting,
)
from cultures.planning.prices import Want, asked_at, price_for, want_of
from cultures.planning.servings import SHORT_SHARE
from cultures.planning.shared_tin import gram_counts
from cultures.planning.standing_hatches import held_batches, with_standing
from cultures.room.jars import vessel_model
from cultures.room.orders import Draining, RisingStock
from cultures.room.room import Room
from cultures.words.moments import hours
from cultures.words.tools import CYSTS, USUAL, Tools

#: Grams are set in steps that a keeper can weigh or spoon.
GRAM_STEP = 0.1
#: Within a week cysts can be had (common practice, no source).
_HAD_WITHIN_DAYS = 7
#: So many rounds to either side of a shortage hatches are planned without a margin.
_NEAR = 6
#: What was told is weighed so much of it too heavy at most, all hatches together.
_LITTLE = 0.25


def plan_hatches(
    room: Room,
    feedings: Sequence[Round],
    demand_j: Sequence[float],
    *,
    start: datetime,
    decided: Decided | None = None,
    wants: Sequence[Sequence[Want]] | None = None,
    diet_j: Sequence[float] | None = None,
    chosen: Chosen | None = None,
    offers: HatchOptions | None = None,
) -> HatchPlan:
    """The hatches that meet a demand at least work and cysts, and what they really bring.

    Args:
        demand_j: nauplii wanted at each round; hatches are sized for a margin more [J].
        start: no hatch is set before.
        decided: what stands for the first rounds already.
        wants: of each brood by round, to share out a tin that does not last [J]. diet_j: what
            diets want of nauplii at each round, where that is not the demand [J].
        chosen: the settings that are made, where they are not to be looked for.
        offers: what can be set for these rounds and maybe more, where that is known.
    """
    decided = decided or Decided()
    holding, held = room.holding, held_batches(room, feedings)
    asked = _Asked.of(room, feedings, demand_j, wants, diet_j, held, decided)
    tin, had_h = room.tin, _had_h(room, start)
    standing: Sequence[Batch]
    if chosen is not None:
        standing = [b for b in chosen.before.batches if b.standing and not b.held]
        problem = evolve(
            chosen.before.problem, demand=tuple(asked.sized_j), options=tuple(chosen.options)
        )
    else:
        offers = (offers or HatchOptions(room, feedings, holding)).until(len(feedings))
        problem_of = partial(lot_problem, offers, asked.sized_j, hours(start), decided.rounds)
        if decided.rounds:
            standing = decided.standing
            problem = problem_of(standing)
        else:
            standing, problem = with_standing(room, feedings, problem_of, tin, had_h)
    had_soon = _fed_before(feedings, had_h)
    could = problem.options if chosen is None else chosen.before.problem.options
    problem = _with_cysts(problem, tin, had_h, room.hatch_kind.values["least_hatch_g"])
    problem, asked, lots, lacking, soon = _lots(
        problem, asked, decided, tin, had_h, had_soon, as_chosen=chosen is not None
    )
    shared_out = bool(decided.rationed or lacking or (chosen and chosen.before.rationed))
    batches = [*held, *standing]
    bears = _LITTLE if shared_out else SHORT_SHARE
    for lot, weighed_g in asked.weighed(problem, lots, bears):
        vessel = room.vessels[lot.option.vessel]
        set_h, harvest_h = lot.option.start_h, lot.option.end_h - CLEANING_H
        model = vessel_model(room, vessel)
        batches.append(batch_of(vessel, model, lot.option.at_index, set_h, harvest_h, weighed_g))
    problem = evolve(problem, options=could)  # what could be set if there were cysts
    batches, cut = _within_tin(room, batches, tin, room.hatch_kind.values["least_hatch_g"])
    plan = HatchPlan(batches, [], [], [], cut, problem, tuple(lots), asked.held_j)
    plan.parcels = tin.parcels
    most_j = [share + there for share, there in zip(problem.demand, asked.held_j, strict=True)]
    left = feed(plan, feedings, demand_j, holding, most_j)
    if shared_out and any(left):
        feed_rest(plan, feedings, demand_j, most_j, left, holding)
    if lacking:
        lacking[0] = _wanting_from(plan, feedings, demand_j, lacking[0][0]), lacking[0][1]
    plan.rationed = (*decided.rationed, *lacking)
    if soon is None and decided.rationed and not tin.parcels:
        soon = had_soon
    if soon is None:
        soon = _fed_before(feedings, plan.out_h)
    plan.soon = soon
    if chosen is not None:  # what is to be bought is what was wanted when all could be set
        plan.rationed, plan.soon = chosen.before.rationed, chosen.before.soon
    plan.tin_short = [*plan.rationed, *cut]
    return plan


def _with_cysts(problem: LotProblem, tin: RisingStock, had_h: float, least_g: float) -> LotProblem:
    """Without hatches before the next parcel where the tin is too empty for any, and the parcel is
    there before more could be had.

    Such a tin is not shared out: what was drawn off and is held would be kept back for hatches
    that nobody can set, and only until the last moment at which one might.
    """
    next_h = tin.parcels[0][0] if tin.parcels else math.inf
    if tin.grams >= least_g or next_h > had_h:
        return problem
    return evolve(problem, options=tuple(o for o in problem.options if o.start_h >= next_h))


def _fed_before(feedings: Sequence[Round], at_h: float) -> int:
    """How many rounds are fed from what is set before a time [h since the epoch]."""
    return sum(1 for r in feedings if r.at_h < at_h + DAY_H)


def _had_h(room: Room, start: datetime) -> float:
    """From when on more cysts can be had [h since the epoch]: so long after the day on which they
    were told to be bought, and as long again after that.

    It is the same all day, and on the days after, so that a tin is not shared out anew each time.
    """
    today = start.date()
    since = room.to_buy_since.get(CYSTS, today)
    left = _HAD_WITHIN_DAYS - (today - since).days % _HAD_WITHIN_DAYS
    return hours(room.local(today + timedelta(days=left), time(0)))


def _wanting_from(
    plan: HatchPlan, feedings: Sequence[Round], demand_j: Sequence[float], at_h: float
) -> float:
    """When the first of what a tin lacks is wanting: a day before a round goes short for it, if
    that is before a time [h since the epoch].
    """
    begun_h = min((b.set_h for b in plan.batches if not b.standing), default=-math.inf) + DAY_H
    short_h = (
        r.at_h - DAY_H
        for r, missing, asked in zip(feedings, plan.short_j, demand_j, strict=True)
        if missing > SHORT_SHARE * asked and r.at_h > begun_h
    )
    return max(feedings[0].at_h, min(next(short_h, at_h), at_h))


@frozen(eq=False)
class _Asked:
    """What is asked of hatches at each round, once what is held has been fed [J].

    Attributes:
        need_j: without a margin. sized_j: for which hatches are sized. held_j: what is held brings
            besides. spared_j: what is left of that beyond what hatches are sized for. wants: of
            each brood, of all nauplii. diet_j: see :func:`plan_hatches`. held: harvests.
    """

    room: Room
    feedings: Sequence[Round]
    held: Sequence[Batch]
    need_j: Sequence[float]
    half_j: Sequence[float]
    sized_j: Sequence[float]
    usual_j: Sequence[float]
    held_j: Sequence[float]
    spared_j: Sequence[float]
    wants: Sequence[Sequence[Want]]
    diet_j: Sequence[float]

    @classmethod
    def of(
        cls, room: Room, feedings: Sequence[Round], demand_j: Sequence[float],
        wants: Sequence[Sequence[Want]] | None, diet_j: Sequence[float] | None,
        held: Sequence[Batch], decided: Decided,
    ) -> _Asked:  # fmt: skip
        """What a demand asks of hatches beside harvests that are held, the oldest fed first."""
        open_j, spared_j = demand_j, [0.0] * len(feedings)
        sized_j: Sequence[float] = [(1.0 + room.hatch_margin) * demand for demand in demand_j]
        half_j: Sequence[float] = [(1.0 + room.hatch_margin / 2.0) * demand for demand in demand_j]
        if held:
            sized_j, as_planned = left_open(held, feedings, sized_j, room.holding)
            open_j, really = left_open(held, feedings, demand_j, room.holding)
            half_j, _ = left_open(held, feedings, half_j, room.holding)
            spared_j = [real - plan for real, plan in zip(really, as_planned, strict=True)]
        need_j, wanted_j = (
            [d if r.fed else 0.0 for r, d in zip(feedings, each, strict=True)]
            for each in (open_j, sized_j)
        )
        wanted_j[: decided.rounds] = decided.wanted_j
        held_j = [asked - left for asked, left in zip(demand_j, open_j, strict=True)]
        each_wants = [[want_of(demand, 1.0)] for demand in demand_j] if wants is None else wants
        return cls(
            room, feedings, held, need_j, half_j, wanted_j, demand_j, held_j, spared_j, each_wants,
            diet_j or demand_j,
        )  # fmt: skip

    def rationed(self, problem: LotProblem, share: float, rounds: range) -> _Asked:
        """The same at the price at which some rounds ask for no more than a share.

        What is held is shared out at that price too, as what stands and what is still to be set.
        """
        if share >= 1.0:
            return self
        rows = _by_gram(problem, self.wants)
        scarce = [want for row in rows[rounds.start : rounds.stop] for want in row]
        price = price_for(scarce, share * asked_at(scarce, 0.0))
        asked_j = [asked_at(row, price) if r.fed else 0.0
                   for r, row in zip(self.feedings, rows, strict=True)]  # fmt: skip
        need_j, _ = left_open(self.held, self.feedings, asked_j, self.room.holding)
        held_j = [asked - left for asked, left in zip(asked_j, need_j, strict=True)]
        return evolve(self, need_j=need_j, held_j=held_j, spared_j=[0.0] * len(need_j))

    def followed_by(self, later: _Asked, rounds: int) -> _Asked:
        """The same for so many rounds, and what is asked otherwise from there on."""
        return evolve(
            later,
            need_j=[*self.need_j[:rounds], *later.need_j[rounds:]],
            held_j=[*self.held_j[:rounds], *later.held_j[rounds:]],
            spared_j=[*self.spared_j[:rounds], *later.spared_j[rounds:]],
        )

    def weighed(
        self, problem: LotProblem, lots: Sequence[Lot], bears: float
    ) -> Sequence[tuple[Lot, float]]:
        """Each hatch with the grams to weigh; of a tin that is shared out for its part alone.

        Args:
            bears: so large a share of what a round wants may be missing for what was told.
        """
        room, spared_j, tools = self.room, self.spared_j, self.room.tools
        least_g = room.hatch_kind.values["least_hatch_g"]
        shares_j = [min(need, part) for need, part in zip(self.need_j, problem.demand, strict=True)]
        fresh = _weighed(problem, lots, shares_j, spared_j, least_g, tools)
        if not room.move_g * room.effort_g or not any(lot.option.told_g for lot, _ in fresh):
            return fresh
        half_j = [share * (1.0 + room.hatch_margin / 2.0) for share in shares_j]
        needed = evolve(problem, demand=tuple(map(min, half_j, problem.demand)))
        tried = partial(_weighed, problem, lots, shares_j, spared_j, least_g, tools)
        return _as_told(needed, fresh, tried, room.move_g, bears)


def _lots(
    problem: LotProblem,
    asked: _Asked,
    decided: Decided,
    tin: RisingStock,
    had_h: float,
    soon: int,
    as_chosen: bool = False,
) -> tuple[LotProblem, _Asked, list[Lot], list[tuple[float, float]], int | None]:
    """What is planned for, what is asked, the hatches, (set time, grams) of what a tin shared out
    lacks, and the count of rounds for which the last of it is; None where that is not shared out.

    The margin is the first to go where something falls short. A tin that ends before more can
    be had, or a parcel comes, is shared out over the rounds until then, without it; what a later
    one lacks is to be bought, and nothing is changed for it before. What comes after a parcel is
    planned with that.

    Args:
        had_h: from when on more can be had [h since the epoch]. soon: rounds that are fed from
            what is set before. as_chosen: every option is set.
    """
    part, offset = from_round(problem, decided.lots, decided.rounds)
    needed = evolve(part, demand=tuple(map(min, asked.need_j[offset:], part.demand)))
    left = tin.used((lot.option.start_h, lot.grams) for lot in decided.lots)
    half = evolve(part, demand=tuple(map(min, asked.half_j[offset:], part.demand)))
    leaner = [(half, 0.5)]
    if any(hatch.late for hatch in asked.room.hatches):  # for rounds that it does for even so
        leaner.append((needed, 1.0))
    part = evolve(part, demand=_carried(part, leaner, asked.usual_j[offset:]))
    sketch = as_set(part) if as_chosen else first(part)[0]
    begins = [at_h for at_h, _ in _lacking(sketch.lots, left) if at_h < had_h]
    ends_soon = bool(begins)
    lean = _reached(problem, _parcel_after(tin, begins[0])) - offset if begins else 0
    scarce = hungry(part, sketch.short, supplied=True)
    near = {t + by for t in scarce for by in range(-_NEAR, _NEAR + 1)}
    sized = tuple(
        min(need, wanted) if t < lean or t in near else wanted
        for t, (wanted, need) in enumerate(zip(part.demand, needed.demand, strict=True))
    )
    part = evolve(part, demand=sized)
    options = [lot.option for lot in (as_set if as_chosen else solve)(part).lots]
    if asked.room.effort_g > 0:  # none for the margin alone, nor for what is not called short
        options = [lot.option for lot in worth_setting(needed, options, SHORT_SHARE)]
        part = within(part, needed.demand, options)
    lots = in_told_vessels(part, amounts(part, options))
    before = problem.demand[: decided.rounds]
    whole = evolve(problem, demand=(*before, *part.demand[decided.rounds - offset :]))
    lacking = _lacking(lots, left) if ends_soon else []
    begins = [at_h for at_h, _ in lacking if at_h < had_h]
    if not begins:  # without the margin it lasts
        return whole, asked, with_decided(decided.lots, lots, offset), [], None
    parcel_h = _parcel_after(tin, begins[0])
    until_h, had_soon = min(had_h, parcel_h), soon
    if parcel_h < math.inf:
        soon = max(decided.rounds, _reached(problem, until_h))
    tin_g, left_g = tin.before(until_h), left.before(until_h)

    gram_cost = gram_counts(
        part, asked.diet_j[offset:soon],
        sum(asked.held_j[offset:soon]) + sum(part.supply[: soon - offset]),
        left_g, round(asked.room.usual_rounds()), asked.room.effort_g,
    )  # fmt: skip

    @cache  # of one plan: each share is asked for its problem and for what it weighs
    def at(share: float) -> tuple[_Asked, LotProblem]:
        then = asked.rationed(problem, share, range(decided.rounds, soon))
        demand = (*before, *then.need_j[decided.rounds : soon])
        padded = (*demand, *[0.0] * (len(whole.demand) - len(demand)))
        return then, evolve(whole, demand=padded)

    def until(share: float) -> LotProblem:
        ahead = [0.0] * (decided.rounds - offset)
        return evolve(
            part, demand=(*ahead, *at(share)[1].demand[decided.rounds :]),
            gram_cost=gram_cost,
        )  # fmt: skip

    def weighed_g(share: float, plan: LotPlan) -> float:
        then, given = at(share)
        each = then.weighed(given, with_decided(decided.lots, plan.lots, offset), _LITTLE)
        return _grams(each)

    share_out = partial(shared, solving=as_set) if as_chosen else shared
    share, found = share_out(until, tin_g, weighed_g)
    if share == 0.0:  # so little that no hatch of each round's share can be weighed
        share, found = share_out(until, max(0.0, left_g))
    if share == 1.0:  # it does for all rounds until then
        return whole, asked, with_decided(decided.lots, lots, offset), [], None
    then, given = at(share)
    made = with_decided(decided.lots, in_told_vessels(part, found.lots), offset)
    if parcel_h == math.inf:
        return given, then, made, lacking, soon
    after = evolve(
        problem, demand=(*given.demand[:soon], *problem.demand[soon:]),
        options=tuple(o for o in problem.options if o.at_index < soon or o.start_h >= parcel_h),
    )  # fmt: skip
    later = evolve(decided, rounds=soon, lots=tuple(made))
    given, then, made, more, last = _lots(
        after, then.followed_by(asked, soon), later, tin, had_h, had_soon, as_chosen
    )
    given = evolve(given, options=problem.options)  # what could be set if there were cysts
    return given, then, made, [row for row in lacking if row[0] < parcel_h] + more, last


def _parcel_after(tin: RisingStock, at_h: float) -> float:
    """When the first parcel after a time is there; infinite where none comes."""
    return next((there_h for there_h, _ in tin.parcels if there_h > at_h), math.inf)


def _reached(problem: LotProblem, at_h: float) -> int:
    """The first round that a hatch reaches which is set at a time or later, or their count."""
    reached = (o.at_index for o in problem.options if o.start_h >= at_h)
    return min(reached, default=len(problem.demand))


def _carried(
    sized: LotProblem, leaner: Iterable[tuple[LotProblem, float]], usual_j: Sequence[float]
) -> tuple[float, ...]:
    """What is wanted at each round, with so much of the margin as what stands or is held has.

    Where that feeds a round to the last with half of the margin, or none, and with all of it that
    one would lack some, it is of a hatch that was set for it, in other grams or at another time.

    Args:
        leaner: the same wanting less, the most first, and how much of a round may be missing with
            all of the margin. usual_j: what each round wants, that what is held feeds among it.
    """
    found: dict[int, float] = {}
    lacks_j = unmet(sized, ())
    for problem, some in leaner:
        then_j = unmet(problem, ())
        for t, (lacking, then, usual) in enumerate(zip(lacks_j, then_j, usual_j, strict=True)):
            if t in found or not 0.0 < lacking <= some * usual:
                continue
            begins = next((i + 1 for i in range(t - 1, -1, -1) if then_j[i] > 0.0), 0)
            own = range(begins, t + 1)
            if then <= SHORT_SHARE * sum(usual_j[i] for i in own):
                found.update((i, problem.demand[i] - then_j[i]) for i in own)
    return tuple(found.get(t, wanted) for t, wanted in enumerate(sized.demand))


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


def _lacking(lots: Sequence[Lot], tin: RisingStock) -> list[tuple[float, float]]:
    """(set time, grams) of what a tin does not hold of some hatches, set in their order."""
    by_start = sorted(lots, key=lambda lot: lot.option.start_h)
    return tin.lacking((lot.option.start_h, lot.grams) for lot in by_start)


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
    bears: float = SHORT_SHARE,
) -> Sequence[tuple[Lot, float]]:  # fmt: skip
    """The grams to weigh of each hatch, as they were told where that costs no more than moving it,
    nor a quarter of them.

    A little more or less of one hatch makes the next one smaller or larger, so what it costs is
    seen by all of them together, and each that is not as told counts. Nothing goes short for it.

    Args:
        needed: with what each round is to have at least. fresh: as they would be weighed now.
        tried: the same where some are weighed as told. move_g: what moving a setting costs [g].
    """

    def cost_g(weighed: Sequence[tuple[Lot, float]]) -> float:
        told = ((lot.option.told_g, grams) for lot, grams in weighed)
        return _grams(weighed) + sum(
            min(move_g, _LITTLE * told_g) for told_g, grams in told if grams != told_g
        )

    best, short = fresh, unmet(needed, _as_lots(fresh))
    kept: list[Lot] = []
    for lot, grams in fresh:
        told_g = lot.option.told_g
        if not 0.0 < told_g <= lot.option.most_g + GRAM_STEP * 1e-6 or told_g == grams:
            continue
        found = tried([*kept, lot])
        then = unmet(needed, _as_lots(found))
        little = cost_g(found) <= cost_g(best) + GRAM_STEP * 1e-6
        if little and borne(needed, lot.option.at_index, short, then, bears):
            best, kept, short = found, [*kept, lot], then
    return best


def _as_lots(weighed: Sequence[tuple[Lot, float]]) -> list[Lot]:
    return [Lot(lot.option, grams) for lot, grams in weighed]


def _grams(weighed: Sequence[tuple[Lot, float]]) -> float:
    return sum(grams for _, grams in weighed)


def _within_tin(
    room: Room, batches: list[Batch], tin: RisingStock, least_g: float
) -> tuple[list[Batch], list[tuple[float, float]]]:
    """Cuts what the tin does not hold, in the order of setting; (set time, grams) of each cut."""
    kept: list[Batch] = []
    cut: list[tuple[float, float]] = []
    stock = Draining(tin.grams, tin.parcels)
    for batch in sorted(batches, key=lambda b: (b.set_h, b.vessel.name)):
        left = stock.at(batch.set_h)
        if batch.standing:
            kept.append(batch)
            continue
        if batch.cysts_g <= left + 1e-9:
            kept.append(batch)
            stock.left_g = max(0.0, left - batch.cysts_g)
            continue
        cut.append((batch.set_h, batch.cysts_g - left))
        if left >= max(GRAM_STEP, min(least_g, batch.cysts_g)) - 1e-9:
            share = math.floor(left / GRAM_STEP + 1e-6) * GRAM_STEP / batch.cysts_g
            model = vessel_model(room, batch.vessel)
            kept.append(
                batch_of(batch.vessel, model, batch.at_index, batch.set_h, batch.harvest_h,
                       round(batch.cysts_g * share, 6))
            )  # fmt: skip
            stock.left_g = 0.0
    kept.sort(key=lambda b: (b.harvest_h, b.vessel.name))
    return kept, cut
