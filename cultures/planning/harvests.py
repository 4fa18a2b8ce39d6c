"""Harvests of nauplii, planned, standing or held, and what each round is fed of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

from attrs import define, evolve, field, frozen

from cultures.foods.hatching import HatchModel
from cultures.foods.holding import Holding
from cultures.foods.vessels import Vessel
from cultures.needs.need import Round
from cultures.planning.hatch_options import EXACT
from cultures.planning.lots import Lot, LotProblem, Option
from cultures.room.jars import vessel_model, whole_jar_ml
from cultures.room.room import Room
from cultures.tasks.told import Draw

#: From this share on a round takes a whole harvest.
_WHOLE = 0.97
#: Less than this share of what a round wants is not missed.
_CRUMB = 0.01
#: What would be left of harvests is given out in so many goes at most, since who gets more of one
#: takes less of the next.
_GOES = 3
#: Rounds that tell how well hatches meet the need where they are not planned yet.
_RECENT_ROUNDS = 28
#: A hatch is set about a day before its round [h].
DAY_H = 24.0


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


@frozen(eq=False)
class Chosen:
    """Settings that are made, and no others: of what could be set in a plan made before, in which
    other hatches stand as they do now.
    """

    before: HatchPlan
    options: Sequence[Option]


@define(eq=False)
class HatchPlan:
    """The batches and what they bring to each round.

    Attributes:
        portions: for each round. given_j: their energy. short_j: demand not met.
        tin_short_g: cysts that the plan wanted and the tin does not hold, by batch time.
        held_j: of what is wanted at each round, what is held already brings.
        rationed: (set time, grams) of what a tin that is shared out lacks. soon: the count of
            rounds over which it is, since they are fed before more can be had; where it is not,
            of those before the tin ends, and what comes later is to be bought. parcels: from when
            on how much more cysts are there [h since the epoch, g].
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
    parcels: Sequence[tuple[float, float]] = ()
    _turns: Turns | None = field(default=None, repr=False)

    def turns(self, holding: Holding) -> Turns:
        """What each round may be fed of its batches, as they are held."""
        known = self._turns
        if known is None or known.batches is not self.batches or known.holding is not holding:
            known = self._turns = Turns(self.batches, holding)
        return known

    @property
    def _last_parcel_h(self) -> float:
        """From when on the last cysts that are on their way are there [h since the epoch]."""
        return self.parcels[-1][0] if self.parcels else -math.inf

    @property
    def out_h(self) -> float:
        """From when on the tin does not hold what is wanted, and no more is on its way [h since the
        epoch]; infinite where it does.
        """
        ends = (at_h for at_h, _ in self.tin_short if at_h >= self._last_parcel_h)
        return next(ends, math.inf)

    @property
    def is_short(self) -> bool:
        """Whether a tin is shared out, or less than is wanted is given before more can be had."""
        soon = zip(self.given_j[: self.soon], self.short_j, strict=False)
        return bool(self.rationed) or any(short > _CRUMB * (given + short) for given, short in soon)

    def lacks_cysts(self, by_h: float) -> bool:
        """Whether there are too few cysts for what is harvested by a time: what lacked before a
        parcel is no longer lacking a day after it.
        """
        return self.shares_tin(by_h) or any(at_h <= by_h for at_h in self._lacking(by_h))

    def shares_tin(self, by_h: float) -> bool:
        """Whether the tin out of which is set what is harvested by a time is shared out."""
        mine = self._lacking(by_h)
        return any(at_h in mine for at_h, _ in self.rationed)

    def ends_h(self, by_h: float) -> float:
        """From when on that tin does not hold what is wanted, or any [h since the epoch]."""
        return next(iter(self._lacking(by_h)), self.tin_short[0][0])

    def _lacking(self, by_h: float) -> list[float]:
        """When cysts are wanting between the last parcel of which anything is harvested by a time
        and the next.
        """
        since_h = max((at for at, _ in self.parcels if at + DAY_H <= by_h), default=-math.inf)
        next_h = min((at for at, _ in self.parcels if at > since_h), default=math.inf)
        return [at_h for at_h, _ in self.tin_short if since_h <= at_h < next_h]

    def share_met(self) -> float:
        """Share of what was wanted that is brought, as far as that says what comes after.

        Nothing once the tin is empty and no more is on its way; otherwise of the last two weeks at
        which there was a hatch to harvest or hold, since an absence passes.
        """
        if self.out_h < math.inf or not self.problem.options:
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


def batch_of(
    vessel: Vessel, model: HatchModel, at_index: int, set_h: float, harvest_h: float, grams: float,
    *, standing: bool = False, share: float = 1.0, key: str = "",
) -> Batch:  # fmt: skip
    """A hatch set and harvested at these times, by the model of its vessel [h since the epoch]."""
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


def window_times(room: Room, batch: Batch) -> tuple[datetime, datetime]:
    """Between when a harvest brings at least nine tenths of the best energy."""
    low, high = vessel_model(room, batch.vessel).window(0.9)
    return room.at_hour(batch.set_h + low), room.at_hour(batch.set_h + high)


def may_be_fed(batch: Batch, feeding: Round, holding: Holding) -> bool:
    """Whether a harvest is there at a round, and not too old."""
    return batch.at_index <= feeding.index and holding.still_feeds(batch.harvest_h, feeding.at_h)


def counted_on(batch: Batch, feeding: Round, holding: Holding) -> bool:
    """Whether a harvest is there at a round, and keeps until then."""
    return batch.at_index <= feeding.index and holding.keeps(batch.harvest_h, feeding.at_h)


def in_turn(batches: Sequence[Batch], feeding: Round, holding: Holding) -> list[int]:
    """The harvests that a round is fed of, in their turn."""
    since_h = feeding.at_h - holding.at_most_h - 1e-6  # most are long past, or not drawn off yet
    there = {
        n: batch.harvest_h for n, batch in enumerate(batches)
        if batch.harvest_h >= since_h and may_be_fed(batch, feeding, holding)
    }  # fmt: skip
    return holding.in_turn(there, feeding.at_h)


@define(eq=False)
class Turns:
    """What rounds may be fed of some harvests, looked up once for however many ways to share them.

    Attributes:
        batches: none is added later. holding: how they are held.
    """

    batches: Sequence[Batch]
    holding: Holding
    _known: dict[tuple[int, float], Sequence[tuple[int, float, float]]] = field(
        factory=dict, init=False, repr=False
    )

    def at(self, feeding: Round) -> Sequence[tuple[int, float, float]]:
        """The harvests that a round may be fed of, in their turn: the number of each, and what the
        whole of it is then: energy [J] and nauplii alive.
        """
        key = feeding.index, feeding.at_h
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = [
                (number, *self._whole(self.batches[number], feeding.at_h))
                for number in in_turn(self.batches, feeding, self.holding)
            ]
        return found

    def _whole(self, batch: Batch, at_h: float) -> tuple[float, float]:
        share = self.holding.share(batch.harvest_h, at_h)
        return batch.energy_j * share, batch.nauplii * self.holding.alive(batch.harvest_h, at_h)

    def feed(self, left: list[float], feeding: Round, asked_j: float) -> tuple[Portion, ...]:
        """Takes what a round asks for from harvests in their turn, and from the shares ``left``."""
        wanted = asked_j if feeding.fed else 0.0
        if wanted <= 1e-9:
            return ()
        portions = []
        for number, whole, alive in self.at(feeding):
            if wanted <= 1e-9:
                break
            if left[number] <= 0:
                continue
            energy = min(wanted, whole * left[number])
            if energy <= 1e-9:
                continue
            used = energy / whole
            left[number] = max(0.0, left[number] - used)
            wanted -= energy
            portions.append(Portion(number, energy, alive * used))
        return tuple(portions)


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
    left, turns = [1.0] * len(plan.batches), plan.turns(holding)
    for feeding, demand, most in zip(feedings, demand_j, most_j or demand_j, strict=True):
        portions = turns.feed(left, feeding, min(demand, most))
        plan.portions.append(portions)
        plan.given_j.append(sum(p.energy_j for p in portions))
        plan.short_j.append(max(0.0, (demand if feeding.fed else 0.0) - plan.given_j[-1]))
    return left


def used_up(
    plan: HatchPlan, left: Sequence[float], most_j: Sequence[float], feedings: Sequence[Round],
    holding: Holding,
) -> list[float]:  # fmt: skip
    """Limits of the rounds at which what would be left of each harvest is fed with the rest; what
    would be left whole, at all rounds that it may be fed at alike.
    """
    more_j = list(most_j)
    for batch, unused in zip(plan.batches, left, strict=True):
        if unused < 1.0:
            continue
        rounds = [t for t, r in enumerate(feedings) if r.fed and counted_on(batch, r, holding)]
        for t in rounds:
            more_j[t] += batch.energy_j / len(rounds)
    for t, portions in enumerate(plan.portions):
        for portion in portions:
            unused = left[portion.batch]
            if unused < 1.0:
                more_j[t] += portion.energy_j * unused / (1.0 - unused)
    return more_j


def feed_rest(
    plan: HatchPlan, feedings: Sequence[Round], demand_j: Sequence[float],
    most_j: Sequence[float], left: Sequence[float], holding: Holding, since: int = 0,
) -> list[float]:  # fmt: skip
    """Feeds each round once more, with what would be left of each harvest; the limits.

    It goes to the rounds that it feeds as they are, and what is left after that to those that it
    could feed, each the same part of what it lacks: none is poured out while somebody goes short.

    Args:
        left: the share of each harvest that is left with the limits ``most_j``. since: the first
            round that gets more.
    """
    limits_j = [*most_j[:since], *used_up(plan, left, most_j, feedings, holding)[since:]]
    left = feed(plan, feedings, demand_j, holding, limits_j)
    for _ in range(_GOES):
        more_j = _lacked(plan, left, feedings[since:], holding)
        if sum(more_j) <= _CRUMB * sum(plan.given_j[since:]):
            break
        for t, more in enumerate(more_j, since):
            limits_j[t] += more
        left = feed(plan, feedings, demand_j, holding, limits_j)
    return limits_j


def _lacked(
    plan: HatchPlan, left: Sequence[float], feedings: Sequence[Round], holding: Holding
) -> list[float]:
    """What each round lacks that is left of harvests which it could be fed of, or its part of it:
    all of them as large a part of what they lack [J].
    """
    found = dict.fromkeys((r.index for r in feedings), 0.0)
    for batch, unused in zip(plan.batches, left, strict=True):
        if unused <= 0.0:
            continue
        open_j = {
            r.index: plan.short_j[r.index] - found[r.index]
            for r in feedings if r.fed and may_be_fed(batch, r, holding)
        }  # fmt: skip
        lacking_j = sum(open_j.values())
        if lacking_j <= 0.0:
            continue
        part = min(1.0, unused * batch.energy_j / lacking_j)
        for index, short_j in open_j.items():
            found[index] += part * short_j
    return [*found.values()]


def left_open(
    held: Sequence[Batch], feedings: Sequence[Round], demand_j: Sequence[float], holding: Holding
) -> tuple[list[float], list[float]]:
    """What is wanted at each round once all that is held has been fed while it keeps, the oldest
    first, and what is held when the round begins [J].

    What only does for want of anything else is not counted on: where a hatch can be set, it is.
    """
    left, open_j, usable_j = [1.0] * len(held), [], []
    turns = Turns(held, holding)
    for feeding, demand in zip(feedings, demand_j, strict=True):
        left = [
            share if counted_on(batch, feeding, holding) or batch.at_index > feeding.index else 0.0
            for share, batch in zip(left, held, strict=True)
        ]
        usable_j.append(sum(
            share * batch.energy_j * holding.share(batch.harvest_h, feeding.at_h)
            for share, batch in zip(left, held, strict=True) if batch.at_index <= feeding.index
        ))  # fmt: skip
        portions = turns.feed(left, feeding, demand)
        fed_j = sum(portion.energy_j for portion in portions)
        open_j.append(max(0.0, (demand if feeding.fed else 0.0) - fed_j))
    return open_j, usable_j


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
    return whole_jar_ml(batch.jar_ml, batch.nauplii, batch.share, room.units) * batch.share


def from_jars_ml(room: Room, plan: HatchPlan, feeding: Round) -> float:
    """What a round takes out of the jars of held nauplii, all together [mL]."""
    draws = (draw_of(room, plan, feeding, portion) for portion in plan.portions[feeding.index])
    return sum((draw.take_ml for draw in draws), 0.0)


def draw_of(room: Room, plan: HatchPlan, feeding: Round, portion: Portion) -> Draw:
    """What is taken of a harvest for a round."""
    batch, jar = plan.batches[portion.batch], jar_ml(room, plan, portion.batch)
    alive = batch.nauplii * room.holding.alive(batch.harvest_h, feeding.at_h)
    share = min(1.0, portion.nauplii / alive) if alive > 0 else 0.0
    return Draw(
        batch.vessel.name, room.at_hour(batch.harvest_h), jar, share * jar if jar else 0.0,
        share * batch.share,
    )  # fmt: skip
