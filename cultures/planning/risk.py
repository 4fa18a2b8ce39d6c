"""How likely each round is to be short: yields with spread, cultures that crash.

The plan is carried out many times with drawn yields. A culture gives a factor of its own that
stays with it, like its parent's in part; so does a hatch. A crashed culture gives nothing until
one started from a split at once could be ripe; a split of it that was planned meanwhile is made
then. What a food does not bring is taken from where the plan may take it: more from the same
kind's other cultures, dry food as far as the brood takes it, another worm with something to
spare. No more than planned is ever given, so what the plan itself leaves short is short in every
draw. Nothing else is changed in answer: what lies far ahead is a warning, not a forecast.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.worms import first_harvest_age
from cultures.planning.feeding_plan import SHORT_SHARE, STAND_IN_FROM, Serving, Suits, dry_cap_j
from cultures.planning.gaps import Gap, find_gaps
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.split_plan import swipe_step_mg
from cultures.planning.worm_course import run_course
from cultures.room.jars import holding_of
from cultures.tasks.plan import Shortfall
from cultures.tasks.task import tidy
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours

#: Draws, the seed they are made with, and the probability from which a round is worth a word.
DRAWS = 400
_SEED = 20270105
WORTH_A_WORD = 0.2
#: Rounds further apart than this are not one spell.
_JOIN_H = 24.5


@frozen(eq=False)
class RoundRisk:
    """The chance that a round is short.

    Attributes:
        at: the round. probability: that some brood misses more than the tolerated share.
        error: standard error of that estimate. expected_short_j: on average [J].
        food: the food that is missing most often.
    """

    at: datetime
    probability: float
    error: float
    expected_short_j: float
    food: str

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            "at": self.at.isoformat(), "probability": tidy(self.probability),
            "error": tidy(self.error), "expected_short_j": tidy(self.expected_short_j),
            "food": self.food,
        }  # fmt: skip


@frozen(eq=False)
class _Source:
    """A culture at a round: what is planned from it and what more it could give."""

    number: int
    planned_j: float
    spare_j: float


@frozen(eq=False)
class _Mouth:
    """A brood at a round, all in [J].

    Attributes:
        need_j, missing_j: what it needs, and how much of it the plan leaves missing (below 0
            where syringe marks give more). lacks: the food of a gap of the plan, or "".
        want_j: what the plan gives, by food. dry_extra_j: more dry food that it takes.
        worms: kinds that may stand in, in the order in which the plan takes them.
    """

    need_j: float
    missing_j: float
    lacks: str
    want_j: dict[str, float]
    dry_extra_j: float
    worms: tuple[str, ...]


@frozen(eq=False)
class _Scene:
    """A round laid out for drawing; ``held`` are (hatch, share of its energy left by then)."""

    at: datetime
    at_h: float
    sources: dict[str, list[_Source]]
    held: list[tuple[int, float]]
    mouths: list[_Mouth]


@frozen(eq=False)
class _Line:
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


def round_risks(outlook: Outlook, *, draws: int = DRAWS) -> list[RoundRisk]:
    """The risk of every round within the shown time at which somebody feeds.

    Args:
        draws: how often the plan is carried out; the standard error falls with its root.
    """
    stage = _Theatre(outlook)
    scenes = stage.scenes()
    short_count = [0] * len(scenes)
    short_sum = [0.0] * len(scenes)
    blame: list[dict[str, int]] = [{} for _ in scenes]
    rng = random.Random(_SEED)
    for _ in range(draws):
        world = stage.draw(rng)
        for i, scene in enumerate(scenes):
            missing, food = _play(scene, world)
            if missing > 0.0:
                short_count[i] += 1
                short_sum[i] += missing
                blame[i][food] = blame[i].get(food, 0) + 1
    risks = []
    for i, scene in enumerate(scenes):
        p = short_count[i] / draws
        food = max(blame[i], key=lambda f, b=blame[i]: (b[f], f)) if blame[i] else ""  # type: ignore[misc]
        risks.append(
            RoundRisk(
                at=scene.at,
                probability=p,
                error=math.sqrt(max(p * (1 - p), 0.25 / draws) / draws),
                expected_short_j=short_sum[i] / draws,
                food=food,
            )
        )
    return risks


def with_probability(
    shortfalls: Sequence[Shortfall], risks: Sequence[RoundRisk]
) -> tuple[Shortfall, ...]:
    """Shortfalls with the largest probability of their rounds."""
    result = []
    for shortfall in shortfalls:
        inside = [r.probability for r in risks if shortfall.at <= r.at <= shortfall.until]
        # A round that nobody feeds is no matter of chance.
        result.append(evolve(shortfall, probability=max(inside, default=1.0)))
    return tuple(result)


def thin_spells(
    risks: Sequence[RoundRisk], shortfalls: Sequence[Shortfall]
) -> tuple[list[RoundRisk], ...]:
    """Rounds in a row that the plan feeds, but only by a thin margin, worst kinds of food first."""
    spells: list[list[RoundRisk]] = []
    for risk in risks:
        covered = any(s.at <= risk.at <= s.until for s in shortfalls)
        if risk.probability < WORTH_A_WORD or covered:
            continue
        last = spells[-1] if spells else None
        near = last is not None and hours(risk.at) - hours(last[-1].at) <= _JOIN_H
        if last is not None and near and last[-1].food == risk.food:
            last.append(risk)
        else:
            spells.append([risk])
    return tuple(spells)


@frozen(eq=False)
class _World:
    """One draw: a factor by culture, the times in which a culture gives nothing, and the energy
    still held of each hatch, as at its harvest."""

    factor: dict[tuple[str, int], float]
    gone: dict[tuple[str, int], list[tuple[float, float]]]
    hatches: list[float]


class _Theatre:
    """What is drawn, and for which rounds."""

    def __init__(self, outlook: Outlook) -> None:
        self.outlook = outlook
        self.suits = Suits(outlook.room)
        self.now_h, self.end_h = hours(outlook.now), hours(outlook.until)
        kind = outlook.room.hatch_kind
        self.hatch_sigma = _sigma(kind.values["yield_spread"])
        self.hatch_energy_j = [
            self._left_at_now(n) for n in range(len(outlook.feeding.hatches.batches))
        ]
        lines = [line for name in outlook.feeding.worms for line in self._lines(name)]
        self.cultures = sorted(lines, key=lambda line: line.from_h)  # parents before children

    def _lines(self, name: str) -> Iterator[_Line]:
        plan, feedings = self.outlook.feeding.worms[name], self.outlook.feedings
        numbers = {stage.culture.name: n for n, stage in enumerate(plan.stages)}
        splits = {split.culture.name: split for split in plan.splits}
        v = plan.kind.values
        for stage in plan.stages:
            culture, split = stage.culture, splits.get(stage.culture.name)
            age = first_harvest_age(stage.model, culture.starter_g * v["starter_mg_per_g"])
            degrees = culture.temperature_c
            if degrees is None:
                degrees = self.outlook.room.room_temperature_c(self.outlook.now.date())
            yield _Line(
                key=(name, numbers[culture.name]),
                parent=(name, numbers[split.parent]) if split and split.parent else None,
                from_h=max(self.now_h, feedings[split.at_index].at_h) if split else self.now_h,
                sigma=_sigma(v["yield_spread"]),
                inherited=v["yield_inherited"],
                crash_per_day=v["crash_per_day"],
                ripening_h=age / max(1e-3, plan.kind.rate(degrees)) * 24.0,
            )

    def _left_at_now(self, number: int) -> float:
        """Energy of a hatch, as at its harvest, that is not fed before now [J]."""
        outlook, hatches = self.outlook, self.outlook.feeding.hatches
        holding, batch = holding_of(outlook.room), hatches.batches[number]
        used = sum(
            portion.energy_j / holding.share(batch.harvest_h, feeding.at_h)
            for feeding, portions in zip(outlook.feedings, hatches.portions, strict=True)
            if feeding.at < outlook.now
            for portion in portions
            if portion.batch == number
        )
        return max(0.0, batch.energy_j - used)

    def draw(self, rng: random.Random) -> _World:
        """One possible course of events."""
        luck: dict[tuple[str, int], float] = {}
        gone: dict[tuple[str, int], list[tuple[float, float]]] = {}
        hatches = [e * _factor(rng.gauss(0.0, 1.0), self.hatch_sigma) for e in self.hatch_energy_j]
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
        return _World(factor, gone, hatches)

    def scenes(self) -> list[_Scene]:
        """The rounds within the shown time at which somebody feeds."""
        found = []
        outlook = self.outlook
        gaps = {
            (gap.feeding.index, gap.need.brood.name): gap
            for gap in find_gaps(outlook.feedings, outlook.needs, outlook.feeding, outlook.lines)
        }
        holding = holding_of(outlook.room)
        batches = outlook.feeding.hatches.batches
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
            sources: dict[str, list[_Source]] = {}
            for name, plan in outlook.feeding.worms.items():
                numbers = {s.culture.name: n for n, s in enumerate(plan.stages)}
                per_mg = plan.kind.fed_j_per_mg
                taken = {h.culture: h.taken_mg for h in plan.course.harvests[feeding.index]}
                spare = spares[name][feeding.index]
                sources[name] = [
                    _Source(numbers[c], taken.get(c, 0.0) * per_mg, spare.get(c, 0.0) * per_mg)
                    for c in sorted({*taken, *spare})
                ]
            held = [
                (number, holding.share(batch.harvest_h, feeding.at_h))
                for number, batch in enumerate(batches)
                if batch.at_index <= feeding.index
                and feeding.at_h - batch.harvest_h <= holding.longest_h + 1e-9
            ]
            ordered = sorted(row, key=lambda s: (s.need.length_mm, s.need.brood.name))
            found.append(
                _Scene(
                    feeding.at,
                    feeding.at_h,
                    sources,
                    held,
                    [
                        self._mouth(s, lines, gaps.get((feeding.index, s.need.brood.name)))
                        for s in ordered
                    ],
                )
            )
        return found

    def _mouth(self, serving: Serving, lines: Sequence[FeedLine], gap: Gap | None) -> _Mouth:
        given_j = {x.food: x.given_j for x in lines if x.brood == serving.need.brood.name}
        kinds = self.outlook.feeding.worms.values()
        widest_first = sorted(kinds, key=lambda p: (-p.kind.values["width_um"], p.kind.name))
        worms = (plan.kind.name for plan in widest_first)
        return _Mouth(
            need_j=serving.need.energy_j,
            missing_j=serving.need.energy_j - sum(given_j.values()),
            lacks=gap.food if gap is not None else "",
            want_j={f: j for f, j in given_j.items() if f != DRY and j > 0},
            dry_extra_j=max(0.0, dry_cap_j(self.suits, serving) - given_j.get(DRY, 0.0)),
            worms=tuple(w for w in worms if self.suits(serving, w) >= STAND_IN_FROM),
        )


def _play(scene: _Scene, world: _World) -> tuple[float, str]:
    """(energy missing beyond what is tolerated, food that is missing most) at a round."""
    short: dict[str, float] = {}
    surplus: dict[str, float] = {}
    for food, sources in scene.sources.items():
        wanted = sum(m.want_j.get(food, 0.0) for m in scene.mouths)
        could = 0.0
        for source in sources:
            key = food, source.number
            if _gone_until(world.gone[key], scene.at_h) > scene.at_h:
                continue
            could += world.factor[key] * (source.planned_j + source.spare_j)
        if could < wanted:
            short[food] = wanted - could
        else:
            surplus[food] = could - wanted
    lacking = sum(m.want_j.get(BRINE_SHRIMP, 0.0) for m in scene.mouths)
    for number, share in scene.held:
        if lacking <= 0.0:
            break
        taken = min(lacking, world.hatches[number] * share)
        world.hatches[number] -= taken / share
        lacking -= taken
    if lacking > 1e-9:
        short[BRINE_SHRIMP] = lacking
    lacks = next((mouth.lacks for mouth in scene.mouths if mouth.lacks), "")
    if not short and not lacks:
        return 0.0, ""
    worst = max(short, key=lambda food: (short[food], food)) if short else lacks
    missing = 0.0
    # The largest go without first; dry food, then spare worms, fill in.
    for mouth in reversed(scene.mouths):
        gap = 0.0
        for food, still in short.items():
            part = min(still, mouth.want_j.get(food, 0.0))
            short[food] = still - part
            gap += part
        gap = max(0.0, gap - mouth.dry_extra_j)
        for kind in mouth.worms:
            used = min(gap, surplus.get(kind, 0.0))
            if used > 0.0:
                surplus[kind] -= used
                gap -= used
        # What the plan rounds away in a mouth it calls fed is no mishap.
        mishap = gap + min(0.0, mouth.missing_j)
        if mouth.lacks or mishap > SHORT_SHARE * mouth.need_j:
            missing += gap + mouth.missing_j
    return missing, worst


def _gone_until(spells: Sequence[tuple[float, float]], at_h: float) -> float:
    """When a culture that is gone at a time is back; the time itself if it is not gone."""
    index = bisect_right(spells, (at_h, math.inf)) - 1
    return max(at_h, spells[index][1]) if index >= 0 else at_h


def _sigma(spread: float) -> float:
    """s.d. of ln(yield) for a relative s.d. of the yield."""
    return math.sqrt(math.log1p(spread * spread))


def _factor(luck: float, sigma: float) -> float:
    """A lognormal factor with mean 1 of a standard normal number."""
    return math.exp(sigma * luck - sigma * sigma / 2.0)


def spare_effects(outlook: Outlook) -> dict[str, float]:
    """The chance that a round is short, averaged over the shown rounds: as it is, and with more."""
    room = outlook.room
    days = max(1, (outlook.until - outlook.now).days)
    rooms = {
        "as it is": room,
        "one more spare culture": evolve(room, spare_cultures=room.spare_cultures + 1),
        "a fifth more cysts in every hatch": evolve(room, hatch_margin=room.hatch_margin + 0.2),
    }
    if room.vessels:
        largest = max(room.vessels, key=lambda v: v.litres)
        more = evolve(largest, name="one more vessel", lost_h=None)
        rooms["one more vessel"] = evolve(room, vessels=(*room.vessels, more))
    return {
        name: _mean_risk(make_outlook(changed, now=outlook.now, days=days))
        for name, changed in rooms.items()
    }


def _mean_risk(outlook: Outlook) -> float:
    risks = round_risks(outlook, draws=DRAWS // 2)
    return sum(r.probability for r in risks) / len(risks) if risks else 0.0
