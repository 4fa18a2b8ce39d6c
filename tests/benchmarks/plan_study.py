"""Is a plan on four weeks of journal better than one on the data alone?

Each simulated keeper of the learning study carries out two plans of the same room, task
by task, in a world where the true values hold: one made on the data, one on what was learned
from the keeper's four weeks of journal. Both meet the same luck.
"""

from __future__ import annotations

import math
import random
from statistics import fmean

from attrs import frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.planning.build import build_tasks
from cultures.planning.outlook import Outlook, make_outlook
from cultures.replay.own_values import OwnValues, with_own_values
from cultures.room.jars import vessel_model
from cultures.room.room import Room
from cultures.tasks.task import HarvestWorms, Split
from cultures.words.moments import hours
from tests.benchmarks.learning_study import START, Truth, World, journal_of, study_room
from tests.unit.recorded import learn

DAYS = 21
_FED_FROM = 0.9


@frozen
class Score:
    """What carrying out a plan gave: share of brood-rounds fed, cysts set and wasted [g]."""

    fed: float
    cysts_g: float
    wasted_g: float
    rounds: int


def score(room: Room, own_values: OwnValues, truth: Truth, seed: int) -> Score:
    """Makes a plan on some own_values and carries it out in the true world."""
    believed = with_own_values(room, own_values)
    outlook = make_outlook(believed, now=START.replace(hour=6), days=DAYS)
    world = World.of(room, truth, random.Random(seed))
    ratios = _hatch_ratios(outlook, world, seed)
    worms = _worm_ratios(outlook, world, truth)
    fed = total = 0
    for feeding, lines in zip(outlook.feedings, outlook.lines, strict=True):
        if feeding.at >= outlook.until:
            break
        shrimp = _shrimp_ratio(outlook, feeding.index, ratios)
        given: dict[str, float] = {}
        for line in lines:
            share = {BRINE_SHRIMP: shrimp, "microworm": worms.get(feeding.index, 1.0)}
            real = line.given_j * share.get(line.food, 1.0)
            given[line.brood] = given.get(line.brood, 0.0) + real
        for need in outlook.needs[feeding.index]:
            total += 1
            fed += given.get(need.brood.name, 0.0) >= _FED_FROM * need.energy_j
    cysts, wasted = _cysts(outlook, ratios)
    return Score(fed / max(1, total), cysts, wasted, total)


def _hatch_ratios(outlook: Outlook, world: World, seed: int) -> list[float]:
    """True over believed energy of each batch."""
    rng = random.Random(seed + 1)
    spread = outlook.room.hatch_kind.values["yield_spread"]
    true_room = with_own_values(
        world.room,
        OwnValues(nauplii_per_gram=world.truth.nauplii_per_gram, hatch_time=world.truth.hatch_time),
    )
    ratios = []
    for batch in outlook.feeding.hatches.batches:
        waited = round(batch.harvest_h - batch.set_h, 6)
        energy = vessel_model(true_room, batch.vessel).energy(waited) * batch.cysts_g
        ratios.append(math.exp(rng.gauss(0.0, spread)) * energy / batch.energy_j)
    return ratios


def _shrimp_ratio(outlook: Outlook, index: int, ratios: list[float]) -> float:
    portions = outlook.feeding.hatches.portions[index]
    believed = sum(p.energy_j for p in portions)
    return sum(p.energy_j * ratios[p.batch] for p in portions) / believed if believed else 1.0


def _worm_ratios(outlook: Outlook, world: World, truth: Truth) -> dict[int, float]:
    """True over believed worms in the cup of each round."""
    at_index = {r.at: r.index for r in outlook.feedings}
    planned: dict[int, float] = {}
    real: dict[int, float] = {}
    for task in build_tasks(outlook):
        at_h = hours(task.at)
        if isinstance(task, HarvestWorms):
            index = at_index[task.at]
            planned[index] = planned.get(index, 0.0) + task.amounts["mg"]
            if task.subject in world.stocks:
                climbs = world.advance(task.subject, at_h)
                mg = min(task.amounts["swipes"] * truth.swipe_mg, climbs)
                world.take(task.subject, mg)
                real[index] = real.get(index, 0.0) + mg
        elif isinstance(task, Split) and task.subject in world.stocks:
            world.advance(task.subject, at_h)
            stock = world.stocks[task.subject][1].stock_mg
            given = stock * task.amounts["starter_g"] / 150.0
            world.take(task.subject, given)
            world.begin(task.other, at_h, given)
    return {index: real.get(index, 0.0) / mg for index, mg in planned.items() if mg > 0}


def _cysts(outlook: Outlook, ratios: list[float]) -> tuple[float, float]:
    used = [0.0] * len(ratios)
    for portions in outlook.feeding.hatches.portions:
        for portion in portions:
            batch = outlook.feeding.hatches.batches[portion.batch]
            share = portion.nauplii / batch.nauplii if batch.nauplii else 0.0
            used[portion.batch] += share * min(1.0, 1.0 / ratios[portion.batch])
    batches = outlook.feeding.hatches.batches
    cysts = sum(b.cysts_g for b in batches)
    wasted = sum(b.cysts_g * max(0.0, 1.0 - u) for b, u in zip(batches, used, strict=True))
    return cysts, wasted


def compare(count: int, *, first: int = 0) -> dict[str, float]:
    """Prints and returns the mean scores of both plans."""
    room = study_room()
    pairs = []
    for seed in range(first, first + count):
        rng = random.Random(seed)
        truth = Truth.drawn(room, rng)
        world = World.of(room, truth, rng)
        entries = journal_of(world, in_swipes=seed % 2 == 0)
        learned = learn(room, entries, START.replace(day=29)).own_values
        known = OwnValues(
            nauplii_per_gram=learned.nauplii_per_gram, hatch_time=learned.hatch_time,
            yields=learned.yields, portions_mg=learned.portions_mg,
        )  # fmt: skip
        plans = [score(room, own_values, truth, seed) for own_values in (OwnValues(), known)]
        pairs.append((plans[0], plans[1]))
    found: dict[str, float] = {}
    for number, name in enumerate(("data alone", "four weeks of journal")):
        fed = fmean(pair[number].fed for pair in pairs)
        cysts = fmean(pair[number].cysts_g for pair in pairs)
        wasted = fmean(pair[number].wasted_g for pair in pairs)
        short = sum(pair[number].fed < 0.9 for pair in pairs) / len(pairs)
        fed_rounds = sum(pair[number].fed * pair[number].rounds for pair in pairs)
        per_100 = 100.0 * sum(pair[number].wasted_g for pair in pairs) / fed_rounds
        found |= {f"fed {number}": fed, f"wasted {number}": per_100}
        print(
            f"{name:22} brood-rounds fed {fed:.1%}, keepers under 90 % {short:.0%},"
            f" cysts {cysts:.1f} g, wasted {wasted:.1f} g ({wasted / cysts:.1%}),"
            f" {per_100:.1f} g for 100 brood-rounds fed"
        )
    better = sum(b.fed > a.fed + 0.005 for a, b in pairs)
    worse = sum(b.fed < a.fed - 0.005 for a, b in pairs)
    print(f"fed more: {better} keepers, fed less: {worse}, of {len(pairs)}")
    return found
