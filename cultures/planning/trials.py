"""A plan carried out many times: yields with spread, cultures that crash, and what is not known.

A culture gives a factor of its own that stays with it, like its parent's in part; so does a hatch.
A crashed culture gives nothing until one started from a split at once could be ripe; a split of it
that was planned meanwhile is made then. What a food does not bring is taken from where the plan may
take it: more from the same kind's other cultures, dry food as far as the brood takes it, another
worm with something to spare. No more than planned is ever given, so what the plan itself leaves
short is short in every draw of luck. Nothing else is changed in answer: what lies far ahead is a
warning, not a forecast.

Each draw is played twice with the same luck: in a room that is as the plan takes it to be, and in
one whose yields, hatches, needs and counts differ from that as much as is not known of them
(:mod:`cultures.planning.unknowns`).
"""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import cached_property
from typing import NamedTuple

from attrs import define, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.parameters import eight_in_ten
from cultures.planning.gaps import Gap
from cultures.planning.harvests import in_turn
from cultures.planning.outlook import Outlook
from cultures.planning.servings import STAND_IN_FROM, Serving, Suits, falls_short
from cultures.planning.split_plan import swipe_step_mg
from cultures.planning.unknowns import Drift, Guess, Hatches, Key, Law, Needs, drawn, laws_of
from cultures.planning.worm_course import run_course
from cultures.room.room import TinDoubt
from cultures.tasks.plan import Certainty
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours

#: The seeds that draws of luck, and of what is not known, are made with.
_SEED, _UNKNOWN_SEED = 20270105, 20270917
#: How likely it is after several poor hatches that the tin gives no more, and that they were not
#: each another mishap (assumption).
_BAD_TIN = 0.5


@frozen(eq=False)
class Source:
    """A culture at a round: what is planned from it and what more it could give."""

    number: int
    planned_j: float
    spare_j: float


@frozen(eq=False)
class Mouth:
    """A brood at a round, all in [J].

    Attributes:
        need_j, missing_j: what it needs, and how much of it the plan leaves missing (below 0
            where syringe marks give more). lacks: the food of a gap of the plan, or "".
        want_j: what the plan gives, by food. dry_extra_j: more dry food that it takes.
        worms: kinds that may stand in, in the order in which the plan takes them.
    """

    brood: str
    need_j: float
    missing_j: float
    lacks: str
    want_j: dict[str, float]
    dry_extra_j: float
    worms: tuple[str, ...]

    @cached_property
    def beside_j(self) -> float:
        """What counts of what the plan leaves missing, beside what is lost [J]: what it rounds away
        in a mouth that it calls fed is no mishap.
        """
        return self.missing_j if self.lacks else min(0.0, self.missing_j)

    @cached_property
    def as_planned(self) -> tuple[float, float]:
        """What is missing [J], and the share of its need that it gets, where nothing is lost."""
        missing_j = max(0.0, self.missing_j) if self.lacks else 0.0
        return missing_j, 1.0 - min(1.0, missing_j / self.need_j) if self.need_j > 0.0 else 1.0


@frozen(eq=False)
class Scene:
    """A round laid out for drawing.

    Attributes:
        held: (hatch, share of its energy left by then). drifts: how what each mouth needs follows
            what is not known.
    """

    index: int
    at: datetime
    at_h: float
    sources: dict[str, list[Source]]
    held: list[tuple[int, float]]
    mouths: list[Mouth]
    drifts: Sequence[Drift] = field(default=(), repr=False)

    @cached_property
    def wanted_j(self) -> Mapping[str, float]:
        """Of each food, by all mouths [J]."""
        foods = dict.fromkeys(food for mouth in self.mouths for food in mouth.want_j)
        return {f: math.fsum(m.want_j.get(f, 0.0) for m in self.mouths) for f in foods}

    @cached_property
    def lacks(self) -> str:
        """The food of a gap of the plan, or ""."""
        return next((mouth.lacks for mouth in self.mouths if mouth.lacks), "")


@frozen(eq=False)
class Line:
    """A culture and where it comes from.

    Attributes:
        key: kind and number. parent: of a planned split, or None. from_h: when it is started, or
            now. sigma, inherited: of ln(yield). crash_per_day, ripening_h: how often it crashes
            and how long another one needs.
    """

    key: tuple[str, int]
    parent: tuple[str, int] | None
    from_h: float
    sigma: float
    inherited: float
    crash_per_day: float
    ripening_h: float


@frozen(eq=False)
class World:
    """One draw.

    Attributes:
        factor: by culture. gone: the times in which a culture gives nothing. hatches: energy still
            held of each, as at its harvest. level, portion: by kind, what its cultures carry and
            what a swipe or draw holds, over what is planned.
    """

    factor: dict[tuple[str, int], float]
    gone: dict[tuple[str, int], list[tuple[float, float]]]
    hatches: list[float]
    level: Mapping[str, float] = field(factory=dict)
    portion: Mapping[str, float] = field(factory=dict)

    @cached_property
    def thin(self) -> Sequence[tuple[str, float]]:
        """Kinds of which a swipe holds less than is thought, which is given as if it were whole;
        and which part of it is missing.
        """
        return [(food, 1.0 - share) for food, share in self.portion.items() if share < 1.0]


class Theatre:
    """What is drawn, and for which rounds; ``doubt``: of the tin of cysts."""

    doubt: TinDoubt | None = None

    def __init__(self, outlook: Outlook) -> None:
        self.outlook, self.doubt = outlook, outlook.room.tin_doubt
        self.suits = Suits(outlook.room)
        self.now_h, self.end_h = hours(outlook.now), hours(outlook.until)
        kind = outlook.room.hatch_kind
        self.hatch_sigma = sigma(kind.values["yield_spread"])
        self.hatch_energy_j = [
            self._left_at_now(n) for n in range(len(outlook.feeding.hatches.batches))
        ]
        lines = [line for name in outlook.feeding.worms for line in self._lines(name)]
        self.cultures = sorted(lines, key=lambda line: line.from_h)  # parents before children

    @cached_property
    def laws(self) -> Mapping[Key, Law]:
        """What is not known of the room."""
        return laws_of(self.outlook)

    @cached_property
    def hatch_guess(self) -> Hatches:
        """What that makes of its hatches."""
        return Hatches.of(self.outlook, self.laws["hatch_time", BRINE_SHRIMP])

    @cached_property
    def needs(self) -> Needs:
        """What it makes of the needs."""
        outlook = self.outlook
        return Needs.of(outlook.room, outlook.feedings, outlook.needs, self.laws)

    def as_planned(self) -> World:
        """What comes where everything gives what is planned."""
        keys = [line.key for line in self.cultures]
        return World(dict.fromkeys(keys, 1.0), {key: [] for key in keys}, [*self.hatch_energy_j])

    def _lines(self, name: str) -> Iterator[Line]:
        plan, feedings = self.outlook.feeding.worms[name], self.outlook.feedings
        numbers = {stage.culture.name: n for n, stage in enumerate(plan.stages)}
        splits = {split.culture.name: split for split in plan.splits}
        v = plan.kind.values
        for stage in plan.stages:
            culture, split = stage.culture, splits.get(stage.culture.name)
            degrees = culture.temperature_c
            if degrees is None:
                degrees = self.outlook.room.room_temperature_c(self.outlook.now.date())
            yield Line(
                key=(name, numbers[culture.name]),
                parent=(name, numbers[split.parent]) if split and split.parent else None,
                from_h=max(self.now_h, feedings[split.at_index].at_h) if split else self.now_h,
                sigma=sigma(v["yield_spread"]),
                inherited=v["yield_inherited"],
                crash_per_day=v["crash_per_day"],
                ripening_h=culture.ripe_age() / max(1e-3, plan.kind.rate(degrees)) * 24.0,
            )

    def _left_at_now(self, number: int) -> float:
        """Energy of a hatch, as at its harvest, that is not fed before now [J]."""
        outlook, hatches = self.outlook, self.outlook.feeding.hatches
        holding, batch = outlook.room.holding, hatches.batches[number]
        used = sum(
            portion.energy_j / holding.share(batch.harvest_h, feeding.at_h)
            for feeding, portions in zip(outlook.feedings, hatches.portions, strict=True)
            if feeding.at < outlook.now
            for portion in portions
            if portion.batch == number
        )
        return max(0.0, batch.energy_j - used)

    def draw(self, rng: random.Random) -> World:
        """One possible course of events."""
        luck: dict[tuple[str, int], float] = {}
        gone: dict[tuple[str, int], list[tuple[float, float]]] = {}
        hatches = [e * _factor(rng.gauss(0.0, 1.0), self.hatch_sigma) for e in self.hatch_energy_j]
        if self.doubt is not None and self.doubt.serious and rng.random() < _BAD_TIN:
            hatches = self.of_bad_tin(hatches, self.doubt)
        for line in self.cultures:
            own, at_h, spells = rng.gauss(0.0, 1.0), line.from_h, gone.setdefault(line.key, [])
            if line.parent is not None:
                own *= math.sqrt(1.0 - line.inherited**2)
                own += line.inherited * luck[line.parent]
                back_h = _gone_until(gone[line.parent], line.from_h)
                if back_h > line.from_h:  # it is split once there is something to split
                    at_h = back_h + line.ripening_h
                    spells.append((line.from_h, at_h))
            luck[line.key] = own
            while line.crash_per_day > 0 and at_h < self.end_h:
                at_h += rng.expovariate(line.crash_per_day) * 24.0
                spells.append((at_h, at_h + line.ripening_h))
                at_h += line.ripening_h
        factor = {line.key: _factor(luck[line.key], line.sigma) for line in self.cultures}
        return World(factor, gone, hatches)

    def of_bad_tin(self, hatches: Sequence[float], doubt: TinDoubt) -> list[float]:
        """What hatches hold if those of the tin in doubt give no more than the poor ones did; not
        those that were counted, nor any set once other cysts are there [J].
        """
        parcels = self.outlook.room.tin.parcels
        other_h = min((there_h for there_h, _ in parcels), default=math.inf)
        counted = {hatch.vessel: hatch.set_h for hatch in doubt.hatches}
        return [
            energy_j if batch.held or batch.set_h >= other_h
            or (batch.standing and abs(batch.set_h - counted.get(batch.vessel.name, 0.0)) < 1.0)
            else energy_j * doubt.share
            for energy_j, batch in zip(hatches, self.outlook.feeding.hatches.batches, strict=True)
        ]  # fmt: skip

    def truth(self, luck: World, guess: Guess) -> World:
        """A course of events in a room that is not quite as it is taken to be."""
        kinds = self.outlook.feeding.worms
        found = zip(luck.hatches, self.hatch_guess.factors(guess), strict=True)
        return World(
            luck.factor, luck.gone, [energy_j * factor for energy_j, factor in found],
            level={name: math.exp(guess.logs["yield", name]) for name in kinds},
            portion={name: math.exp(guess.logs["swipe", name]) for name in kinds},
        )  # fmt: skip

    def wants(self, scene: Scene, guess: Guess) -> list[float]:
        """What each mouth of a round really needs over what is planned."""
        return self.needs.factors(scene.drifts, guess)

    def scenes(self) -> list[Scene]:
        """The rounds within the shown time at which somebody feeds."""
        found, outlook = [], self.outlook
        gaps, holding = {gap.key: gap for gap in outlook.gaps}, outlook.room.holding
        numbers = {
            name: {stage.culture.name: n for n, stage in enumerate(plan.stages)}
            for name, plan in outlook.feeding.worms.items()
        }
        spares = {
            name: run_course(
                plan.stages, plan.splits, plan.demand_mg, swipe_step_mg(plan.kind), spare=True
            ).spare_mg
            for name, plan in outlook.feeding.worms.items()
        }
        for feeding, row, lines in zip(
            outlook.feedings, outlook.feeding.servings, outlook.lines, strict=True
        ):
            if not feeding.fed or not outlook.now <= feeding.at < outlook.until or not row:
                continue
            sources: dict[str, list[Source]] = {}
            for name, plan in outlook.feeding.worms.items():
                number, per_mg = numbers[name], plan.kind.fed_j_per_mg
                taken = {h.culture: h.taken_mg for h in plan.course.harvests[feeding.index]}
                spare = spares[name][feeding.index]
                sources[name] = [
                    Source(number[c], taken.get(c, 0.0) * per_mg, spare.get(c, 0.0) * per_mg)
                    for c in sorted({*taken, *spare})
                ]
            batches = outlook.feeding.hatches.batches
            held = [
                (number, holding.share(batches[number].harvest_h, feeding.at_h))
                for number in in_turn(batches, feeding, holding)
            ]
            mouths = [
                self._mouth(serving, lines, gaps.get((feeding.index, serving.need.brood.name)))
                for serving in sorted(row, key=lambda s: (s.need.length_mm, s.need.brood.name))
            ]
            drifts = self.needs.of_round(feeding.index, (mouth.brood for mouth in mouths))
            found.append(
                Scene(feeding.index, feeding.at, feeding.at_h, sources, held, mouths, drifts)
            )
        return found

    def _mouth(self, serving: Serving, lines: Sequence[FeedLine], gap: Gap | None) -> Mouth:
        given_j = {x.food: x.given_j for x in lines if x.brood == serving.need.brood.name}
        kinds = [plan.kind for plan in self.outlook.feeding.worms.values()]
        kinds.sort(key=lambda kind: (-kind.values["width_um"], kind.name))
        more_j = self.suits.dry_cap_j(serving) - given_j.get(DRY, 0.0)
        return Mouth(
            brood=serving.need.brood.name,
            need_j=serving.need.energy_j,
            missing_j=serving.need.energy_j - sum(given_j.values()),
            lacks=gap.food if gap is not None else "",
            want_j={f: j for f, j in given_j.items() if f != DRY and j > 0},
            dry_extra_j=0.0 if serving.dry_out_j > 0.0 else max(0.0, more_j),
            worms=tuple(k.name for k in kinds if self.suits(serving, k.name) >= STAND_IN_FROM),
        )


class Played(NamedTuple):
    """What came of a round.

    ``missing_j``: beyond what is tolerated [J]; ``food``: that is missing most, or "";
    ``fed``: the share of its need that a mouth gets, for each.
    """

    missing_j: float
    food: str
    fed: Sequence[float]


def play(scene: Scene, world: World, wants: Sequence[float] | None = None) -> Played:
    """Feeds a round; lowers what is held of hatches.

    Args:
        wants: what each mouth needs over what is planned; None for just that.
    """
    short, surplus = _brought(scene, world)
    if wants is None and not short and not scene.lacks:
        return Played(0.0, "", (1.0,) * len(scene.mouths))
    worst = max(short, key=lambda food: (short[food], food)) if short else scene.lacks
    missing, fed, thin = 0.0, list[float](), world.thin
    # The largest go without first; dry food, then spare worms, fill in.
    for number in reversed(range(len(scene.mouths))):
        mouth = scene.mouths[number]
        gap, came = 0.0, mouth.want_j
        for food, still in [*short.items()] if short else ():
            part = min(still, came.get(food, 0.0))
            if part > 0.0:
                came = {**came, food: came[food] - part}
                gap += part
                if part < still:
                    short[food] = still - part
                else:
                    del short[food]
        if wants is None and gap == 0.0 and not thin:
            more, share = mouth.as_planned
            missing += more
            fed.append(share)
            continue
        unseen = 0.0
        for food, share in thin:
            unseen += share * came.get(food, 0.0)
        if gap > 0.0:
            gap = gap - mouth.dry_extra_j if gap > mouth.dry_extra_j else 0.0
            for kind in mouth.worms if gap > 0.0 else ():
                used = min(gap, surplus.get(kind, 0.0))
                if used > 0.0:
                    surplus[kind] -= used
                    gap -= used
        need = mouth.need_j if wants is None else mouth.need_j * wants[number]
        lost = gap + unseen + need - mouth.need_j
        beside = lost + mouth.beside_j
        if (mouth.lacks and wants is None) or (beside > 0.0 and falls_short(beside, need)):
            missing += max(0.0, lost + mouth.missing_j)
        fed.append(1.0 - min(1.0, beside / need) if beside > 0.0 and need > 0.0 else 1.0)
    return Played(missing, worst if missing > 0.0 else "", fed)


def _brought(scene: Scene, world: World) -> tuple[dict[str, float], dict[str, float]]:
    """What is short of each food at a round, and what its cultures could still give [J]."""
    short: dict[str, float] = {}
    surplus: dict[str, float] = {}
    at_h = scene.at_h
    for food, sources in scene.sources.items():
        wanted = scene.wanted_j.get(food, 0.0)
        could = 0.0
        for source in sources:
            key = food, source.number
            spells = world.gone[key]  # most begin late, if ever
            if spells and spells[0][0] <= at_h and _gone_until(spells, at_h) > at_h:
                continue
            could += world.factor[key] * (source.planned_j + source.spare_j)
        could *= world.level.get(food, 1.0)
        if could < wanted:
            short[food] = wanted - could
        else:
            surplus[food] = could - wanted
    lacking = scene.wanted_j.get(BRINE_SHRIMP, 0.0)
    for number, share in scene.held:
        if lacking <= 0.0:
            break
        taken = min(lacking, world.hatches[number] * share)
        world.hatches[number] -= taken / share
        lacking -= taken
    if lacking > 1e-9:
        short[BRINE_SHRIMP] = lacking
    return short, surplus


def _gone_until(spells: Sequence[tuple[float, float]], at_h: float) -> float:
    """When a culture that is gone at a time is back; the time itself if it is not gone."""
    index = bisect_right(spells, (at_h, math.inf)) - 1
    return max(at_h, spells[index][1]) if index >= 0 else at_h


def sigma(spread: float) -> float:
    """s.d. of ln(yield) for a relative s.d. of the yield."""
    return math.sqrt(math.log1p(spread * spread))


def _factor(luck: float, sigma: float) -> float:
    """A lognormal factor with mean 1 of a standard normal number."""
    return math.exp(sigma * luck - sigma * sigma / 2.0)


class Trial(NamedTuple):
    """One draw: each round by luck alone, and with all that is not known as in ``guess``.

    ``unfed``: how often a brood gets nothing at a round since nobody is there.
    """

    by_luck: list[Played]
    really: list[Played]
    guess: Guess
    unfed: int = 0

    def fed(self, *, by_luck: bool = False) -> float:
        """The share of its need that a brood gets at a round, over all rounds and broods."""
        shares = [share for p in (self.by_luck if by_luck else self.really) for share in p.fed]
        count = len(shares) + self.unfed
        return sum(shares) / count if count else 1.0


def certainty_of(trials: Sequence[Trial]) -> Certainty:
    """How sure it is what some draws come to."""
    fed, by_luck = ([t.fed(by_luck=luck) for t in trials] for luck in (False, True))
    return Certainty(eight_in_ten(fed), eight_in_ten(by_luck))


@define(eq=False)
class Trials:
    """Draws of one plan; asking for a number of them gives the same ones each time."""

    theatre: Theatre
    scenes: list[Scene]
    unfed: int

    @classmethod
    def of(cls, outlook: Outlook) -> Trials:
        """Those of the rounds within the shown time at which somebody feeds."""
        theatre = Theatre(outlook)
        rounds = zip(outlook.feedings, outlook.needs, strict=True)
        unfed = sum(
            len(needs) for feeding, needs in rounds
            if not feeding.fed and outlook.now <= feeding.at < outlook.until
        )  # fmt: skip
        return cls(theatre, theatre.scenes(), unfed)

    def run(self, draws: int) -> Iterator[Trial]:
        """So many draws, one after the other."""
        luck_rng, rng = random.Random(_SEED), random.Random(_UNKNOWN_SEED)
        for _ in range(draws):
            luck, guess = self.theatre.draw(luck_rng), drawn(self.theatre.laws, rng)
            really = self.play(luck, guess)
            lucky = [play(scene, luck) for scene in self.scenes]
            yield Trial(lucky, really, guess, self.unfed)

    def play(self, luck: World, guess: Guess) -> list[Played]:
        """Every round with some luck, in a room that is as guessed."""
        world = self.theatre.truth(luck, guess)
        return [play(s, world, self.theatre.wants(s, guess)) for s in self.scenes]
