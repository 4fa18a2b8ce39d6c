"""How likely each round is to be short: yields with spread, cultures that crash.

The plan is carried out many times with drawn yields. A culture gives a factor of its own that
stays with it; a hatch gives a factor of its own. A crashed culture gives nothing until one
started from a split at once could be ripe. What a food does not bring is taken from where the
plan may take it: more from the same kind's other cultures, another worm with something to
spare, dry food as far as the brood takes it. Nothing else is changed in answer, so what lies
far ahead is a warning, not a forecast.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.worms import first_harvest_age
from cultures.planning.feeding_plan import SHORT_SHARE, STAND_IN_FROM, Serving, Suits, dry_cap_j
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
    """A brood at a round: wanted by food, how much dry food could stand in [J], and the worms
    that its mouth takes. ``missing_j`` is missing in the plan already."""

    need_j: float
    missing_j: float
    want_j: dict[str, float]
    dry_extra_j: float
    worms: tuple[str, ...]


@frozen(eq=False)
class _Scene:
    """A round laid out for drawing; ``held`` are (hatch, share of its energy left by then), and
    ``lacks`` is the food that is missing in the plan already, or ""."""

    at: datetime
    at_h: float
    sources: dict[str, list[_Source]]
    held: list[tuple[int, float]]
    lacks: str
    mouths: list[_Mouth]


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
        self.cultures: list[tuple[str, int, float, float, float]] = []
        for name, plan in sorted(outlook.feeding.worms.items()):
            values = plan.kind.values
            sigma = _sigma(values["yield_spread"])
            for number, stage in enumerate(plan.stages):
                culture = stage.culture
                starter = culture.starter_g * values["starter_mg_per_g"]
                age = first_harvest_age(stage.model, starter)
                degrees = culture.temperature_c
                if degrees is None:
                    degrees = outlook.room.room_temperature_c(outlook.now.date())
                rate = max(1e-3, plan.kind.rate(degrees))
                self.cultures.append(
                    (name, number, sigma, values["crash_per_day"], age / rate * 24.0)
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
        factor: dict[tuple[str, int], float] = {}
        gone: dict[tuple[str, int], list[tuple[float, float]]] = {}
        hatches = [e * _lognormal(rng, self.hatch_sigma) for e in self.hatch_energy_j]
        for name, number, sigma, per_day, ripening_h in self.cultures:
            factor[name, number] = _lognormal(rng, sigma)
            at_h = self.now_h
            while per_day > 0:
                at_h += rng.expovariate(per_day) * 24.0
                if at_h >= self.end_h:
                    break
                gone.setdefault((name, number), []).append((at_h, at_h + ripening_h))
                at_h += ripening_h
        return _World(factor, gone, hatches)

    def scenes(self) -> list[_Scene]:
        """The rounds within the shown time at which somebody feeds."""
        found = []
        outlook = self.outlook
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
                per_mg = plan.kind.values["energy_j_per_mg"]
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
                    _lacking(row),
                    [self._mouth(s, lines) for s in ordered],
                )
            )
        return found

    def _mouth(self, serving: Serving, lines: Sequence[FeedLine]) -> _Mouth:
        # Rounding to the marks of the syringe may give more than was planned.
        given_j = sum(x.given_j for x in lines if x.brood == serving.need.brood.name)
        missing_j = max(0.0, min(serving.missing_j(), serving.need.energy_j - given_j))
        given = serving.given_j.get(DRY, 0.0)
        cap = dry_cap_j(self.suits, serving)
        want = {f: j for f, j in serving.given_j.items() if f != DRY and j > 0}
        worms = tuple(
            kind
            for kind in self.outlook.feeding.worms
            if self.suits(serving, kind) >= STAND_IN_FROM
        )
        return _Mouth(serving.need.energy_j, missing_j, want, max(0.0, cap - given), worms)


def _lacking(row: Sequence[Serving]) -> str:
    """The food that is missing most in the plan of a round."""
    behind: dict[str, float] = {}
    for serving in row:
        if serving.missing_j() > SHORT_SHARE * serving.need.energy_j:
            for food, wanted in serving.need.foods.items():
                gap = wanted - serving.given_j.get(food, 0.0)
                behind[food] = behind.get(food, 0.0) + gap
    return max(behind, key=lambda food: (behind[food], food)) if behind else ""


def _play(scene: _Scene, world: _World) -> tuple[float, str]:
    """(energy missing beyond what is tolerated, food that is missing most) at a round."""
    short: dict[str, float] = {}
    surplus: dict[str, float] = {}
    for food, sources in scene.sources.items():
        wanted = sum(m.want_j.get(food, 0.0) for m in scene.mouths)
        could = 0.0
        for source in sources:
            key = food, source.number
            if _is_gone(world.gone.get(key), scene.at_h):
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
    if not short and not scene.lacks:
        return 0.0, ""
    worst = max(short, key=lambda food: (short[food], food)) if short else scene.lacks
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
        gap += mouth.missing_j
        if gap > SHORT_SHARE * mouth.need_j:
            missing += gap
    return missing, worst


def _is_gone(spells: list[tuple[float, float]] | None, at_h: float) -> bool:
    if not spells:
        return False
    index = bisect_right(spells, (at_h, math.inf)) - 1
    return index >= 0 and spells[index][0] <= at_h < spells[index][1]


def _sigma(spread: float) -> float:
    """s.d. of ln(yield) for a relative s.d. of the yield."""
    return math.sqrt(math.log1p(spread * spread))


def _lognormal(rng: random.Random, sigma: float) -> float:
    """A factor with mean 1."""
    return math.exp(rng.gauss(-sigma * sigma / 2.0, sigma)) if sigma > 0 else 1.0


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
