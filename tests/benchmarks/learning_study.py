"""Simulated keepers with known true values: do the intervals hold them, does the plan gain?

``python -m tests.benchmarks.learning_study coverage 1000`` (and ``outside 1000``, ``biased 1000``,
``plans 300``) print the figures of docs/learning.md. The world of a keeper is simulated with the
models but without the journal, the replay or the learning.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from statistics import median
from zoneinfo import ZoneInfo

from attrs import define, evolve, frozen

from cultures.foods.kinds import WormKind
from cultures.foods.parameters import Parameter
from cultures.foods.worms import CultureState, WormModel
from cultures.journal.counting import DropCount, gamma_quantile
from cultures.journal.entries import Entry
from cultures.learning.estimates import Estimate
from cultures.learning.learn import Learned, prior_of
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.moments import hours
from tests.unit.recorded import learn

_ZONE = ZoneInfo("Europe/Lisbon")
START = datetime(2027, 3, 1, tzinfo=_ZONE)
_ROOM_C = 23.5
WEEKS = 4
_HARVEST_SD, _SWIPE_SD, _RULER_SD, _DISPERSION = 0.3, 0.3, 0.05, 1.96
_BLUNDERS = 0.01
#: Standard deviations off the middle beyond which one in ten lies, and one in eighty.
_OUTSIDE_SDS = (1.2816, 2.2414)
#: Of a keeper whose every count, weight and length is wrong the same way: what is noted of it.
_MISSED, _HEAVY, _LONG = 0.85, 1.15, 1.05

ROOM_TEXT = """
[room]
name = "study"
timezone = "Europe/Lisbon"
temperature_c = 23.5
as_of = 2027-03-01
fridge_c = 5

[[tank]]
name = "A1"
litres = 40
temperature_c = 26

[[tank]]
name = "A2"
litres = 40
temperature_c = 26

[[brood]]
name = "danio 1"
tank = "A1"
class = "egg_scatterer"
count = 250
free_swimming = 2027-02-25

[[brood]]
name = "annuals 1"
tank = "A2"
class = "annual_killifish"
count = 60
hatched = 2027-02-20
foods = ["microworm", "brine_shrimp"]

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-20
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[culture]]
name = "MW-2"
kind = "microworm"
started = 2027-02-23
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[culture]]
name = "MW-3"
kind = "microworm"
started = 2027-02-26
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[vessel]]
name = "bottle 1"
litres = 1.5
temperature_c = 27

[[vessel]]
name = "bottle 2"
litres = 1.5
temperature_c = 27

[cysts]
grams = 2000
"""


def study_room() -> Room:
    """The room that all keepers of the study have."""
    return read_room(ROOM_TEXT, today=START.date())


@frozen
class Truth:
    """What is really so with one keeper."""

    nauplii_per_gram: float
    hatch_time: float
    yield_factor: float
    swipe_mg: float
    growth: float
    crash_per_day: float

    @classmethod
    def drawn(cls, room: Room, rng: random.Random, *, outside: bool = False) -> Truth:
        """A keeper drawn from the published ranges, or from what lies outside all of them.

        Outside: beyond what eight in ten lie within on one side or the other, and as far as one in
        eighty does.
        """
        hatch, worm = room.hatch_kind, room.kinds["microworm"]

        def factor(name: str, parameters: Mapping[str, Parameter]) -> float:
            sd = prior_of(parameters[name]).sd
            if outside:
                return sd * rng.uniform(*_OUTSIDE_SDS) * rng.choice((-1.0, 1.0))
            return rng.gauss(0.0, sd)

        crash = worm.parameters["crash_per_day"]
        shape = 1.0 / prior_of(crash).sd ** 2
        growth = room.brood("danio 1").fry_class.parameters
        return cls(
            nauplii_per_gram=hatch.values["nauplii_per_gram"]
            * math.exp(factor("nauplii_per_gram", hatch.parameters)),
            hatch_time=math.exp(factor("t10_h", hatch.parameters)),
            yield_factor=math.exp(factor("capacity_mg_per_cm2", worm.parameters)),
            swipe_mg=worm.values["portion_mg"] * math.exp(factor("portion_mg", worm.parameters)),
            growth=math.exp(factor("growth_rate_per_day", growth)),
            crash_per_day=crash.value
            / shape
            * (gamma_quantile(shape, _tail(rng)) if outside else rng.gammavariate(shape, 1.0)),
        )


def _tail(rng: random.Random) -> float:
    """A probability that lies in the outer tenth at either end, not beyond one in eighty."""
    share = rng.uniform(0.0125, 0.1)
    return share if rng.random() < 0.5 else 1.0 - share


@define
class World:
    """One keeper's cultures and hatches as they really are, and how they are noted."""

    room: Room
    truth: Truth
    rng: random.Random
    stocks: dict[str, tuple[WormModel, CultureState, float]]
    names: int = 3
    biased: bool = False

    @classmethod
    def of(cls, room: Room, truth: Truth, rng: random.Random, *, biased: bool = False) -> World:
        """The world at the start."""
        world = cls(room, truth, rng, {}, biased=biased)
        for culture in room.cultures:
            begun = datetime.combine(culture.started, datetime.min.time(), _ZONE)
            world.begin(culture.name, hours(begun) + 12.0, None)
        return world

    @property
    def kind(self) -> WormKind:
        """Microworms."""
        kind = self.room.kinds["microworm"]
        assert isinstance(kind, WormKind)
        return kind

    def begin(self, name: str, at_h: float, stock_mg: float | None) -> None:
        """A new culture with its own luck."""
        spread = math.sqrt(math.log1p(self.kind.values["yield_spread"] ** 2))
        factor = self.truth.yield_factor * math.exp(self.rng.gauss(0.0, spread))
        model = self.kind.model(medium_g=150, surface_cm2=180)
        model = evolve(model, capacity_mg=model.capacity_mg * factor)
        stock = 10 * self.kind.values["starter_mg_per_g"] if stock_mg is None else stock_mg
        self.stocks[name] = model, CultureState(min(stock, model.capacity_mg)), at_h

    def advance(self, name: str, at_h: float) -> float:
        """Carries a culture on; what climbs then [mg]."""
        model, state, from_h = self.stocks[name]
        days = (at_h - from_h) / 24.0 * self.kind.rate(_ROOM_C)
        state = state.later(model, max(0.0, days))
        self.stocks[name] = model, state, max(at_h, from_h)
        return model.climbing(state.stock_mg, state.age)

    def take(self, name: str, mg: float) -> None:
        """Takes worms from a culture."""
        model, state, at_h = self.stocks[name]
        self.stocks[name] = model, state.without(min(mg, state.stock_mg)), at_h

    def nauplii(self, grams: float, waited_h: float, luck: float) -> float:
        """Nauplii standing in a vessel."""
        model = self.room.hatch_kind.model(
            temperature_c=27, salinity_g_per_l=25, nauplii_per_gram=self.truth.nauplii_per_gram
        )
        return grams * luck * model.nauplii(waited_h / self.truth.hatch_time)

    def counted(self, total: float, drops: int, drop_ml: float, whole_ml: float) -> DropCount:
        """Drops as somebody counts them: clumped, and with volumes a little off."""
        mean = total * drop_ml / whole_ml * math.exp(self.rng.gauss(0.0, 0.05))
        mean *= _MISSED if self.biased else 1.0
        if self.rng.random() < _BLUNDERS:
            mean *= 10.0
        scale = _DISPERSION - 1.0
        counts = tuple(
            _poisson(self.rng, self.rng.gammavariate(mean / scale, scale)) for _ in range(drops)
        )
        return DropCount(counts, drop_ml, whole_ml)


def _poisson(rng: random.Random, mean: float) -> int:
    if mean > 200.0:
        return max(0, round(rng.gauss(mean, math.sqrt(mean))))
    limit, product, count = math.exp(-mean), rng.random(), 0
    while product > limit:
        product *= rng.random()
        count += 1
    return count


def _hatch_entries(world: World, days: int) -> Iterator[Entry]:
    rng = world.rng
    spread = world.room.hatch_kind.values["yield_spread"]
    for day in range(1, days - 2, 2):
        at = START + timedelta(days=day, hours=6)
        yield Entry(at, "set", "bottle 1", "", 2.0, "g")
        luck = math.exp(rng.gauss(0.0, spread))
        # A keeper sees by eye whether most swim, and how soon the first ones do.
        looks = [rng.uniform(25.0, 31.0) * max(1.0, world.truth.hatch_time)]
        if rng.random() < 0.5:
            looks.insert(0, rng.uniform(17.0, 23.0) * world.truth.hatch_time)
        for number, waited in enumerate(looks, start=1):
            drops = world.counted(world.nauplii(2.0, waited, luck), 3, 0.1, 1500.0)
            event = "hatched" if number == len(looks) else "count"
            if drops.counted:
                yield Entry(
                    at + timedelta(hours=waited), event, "bottle 1", str(drops), drops.total,
                    "nauplii",
                )  # fmt: skip


def _worm_entries(world: World, days: int, in_swipes: bool) -> Iterator[Entry]:
    rng, truth = world.rng, world.truth
    for day in range(1, days):
        at = START + timedelta(days=day, hours=12)
        for name in list(world.stocks):
            if rng.random() < -math.expm1(-truth.crash_per_day):
                yield Entry(at, "discard", name, "crashed")
                del world.stocks[name]
                continue
            if (day + int(name[3:])) % 3:
                continue
            mg = world.advance(name, hours(at))
            if mg <= 0:
                continue
            world.take(name, mg)
            told = mg * math.exp(rng.gauss(0.0, _HARVEST_SD)) * (_HEAVY if world.biased else 1.0)
            if in_swipes:
                yield Entry(at, "harvest", name, "all", told / truth.swipe_mg, "swipes")
            else:
                yield Entry(at, "harvest", name, "all", told, "mg")
        while len(world.stocks) < 3:
            world.names += 1
            name = f"MW-{world.names}"
            world.begin(name, hours(at) + 1.0, None)
            yield Entry(at + timedelta(hours=1), "start", name, "microworm", 10.0, "g")


def _other_entries(world: World, days: int) -> Iterator[Entry]:
    rng, truth = world.rng, world.truth
    each_mg = world.kind.values["individual_mass_ug"] / 1000.0
    for day in range(2, days, 7):
        at = START + timedelta(days=day, hours=13)
        worms = truth.swipe_mg * math.exp(rng.gauss(0.0, _SWIPE_SD)) / each_mg
        drops = world.counted(worms, 3, 0.2, 100.0)
        name = next(iter(world.stocks))
        if drops.counted:
            yield Entry(at, "count", name, str(drops), drops.total, "worms")
    brood = world.room.brood("danio 1")
    fry_class = brood.fry_class
    delay = rng.gauss(0.0, 0.7)
    for day in (4, 11, 18, 25):
        at = START + timedelta(days=day, hours=12)
        age = (at.date() - brood.anchor_date).days + 0.5 - delay
        grown = fry_class.growth(26.0) * max(0.5, age) * truth.growth
        length = fry_class.length_mm(grown)
        sd = math.hypot(_RULER_SD, fry_class.length_spread(length) / math.sqrt(5))
        length *= math.exp(rng.gauss(0, sd)) * (_LONG if world.biased else 1.0)
        yield Entry(at, "length", "danio 1", "5 fish", length, "mm")


def journal_of(world: World, *, in_swipes: bool) -> list[Entry]:
    """Four weeks of one keeper's journal."""
    days = 7 * WEEKS
    others = list(_other_entries(world, days))
    worms = list(_worm_entries(world, days, in_swipes))
    alive = {c.name for c in world.room.cultures} - {
        e.subject for e in worms if e.event == "discard"
    }
    others = [e for e in others if e.event != "count" or e.subject in alive]
    entries = [*_hatch_entries(world, days), *worms, *others]
    entries.sort(key=lambda e: e.when)
    return [e._replace(line=i + 2) for i, e in enumerate(entries)]


def keeper(
    seed: int, room: Room, *, outside: bool = False, biased: bool = False
) -> tuple[Truth, Learned]:
    """One simulated keeper and what was learned of it."""
    rng = random.Random(seed)
    truth = Truth.drawn(room, rng, outside=outside)
    world = World.of(room, truth, rng, biased=biased)
    entries = journal_of(world, in_swipes=seed % 2 == 0)
    return truth, learn(room, entries, START + timedelta(days=7 * WEEKS))


def _of_keeper(truth: Truth, learned: Learned) -> Iterator[tuple[Estimate, float]]:
    """Each estimate for which anything was noted, and what is true of it."""
    real = {
        "nauplii_per_gram": truth.nauplii_per_gram, "hatch_time": truth.hatch_time,
        "yield": truth.yield_factor, "swipe": truth.swipe_mg, "growth": truth.growth,
        "crash": truth.crash_per_day,
    }  # fmt: skip
    for estimate in learned.estimates:
        if estimate.quantity == "growth" and estimate.subject != "danio 1":
            continue
        if estimate.readings or estimate.quantity == "crash":
            yield estimate, real[estimate.quantity]


def coverage(count: int, *, first: int = 0) -> dict[str, tuple[int, int]]:
    """(intervals that hold the truth, intervals) by quantity."""
    room = study_room()
    found: dict[str, tuple[int, int]] = {}
    for seed in range(first, first + count):
        for estimate, real in _of_keeper(*keeper(seed, room)):
            _, low, high = estimate.posterior
            hits, trials = found.get(estimate.quantity, (0, 0))
            found[estimate.quantity] = hits + (low <= real <= high), trials + 1
    return found


@frozen
class Gained:
    """Of keepers whose true values lie outside what is usual: how far off, by factors.

    Attributes:
        before, after: middle of how far the data's and the learned value are off, as logarithms.
        held: the share of learned intervals that hold the truth. keepers: of whom it is.
    """

    before: float
    after: float
    held: float
    keepers: int


def outside(count: int, *, first: int = 0, biased: bool = False) -> dict[str, Gained]:
    """What four weeks of notes gain where the truth is not what the sources say."""
    room = study_room()
    rows: dict[str, list[tuple[float, float, bool]]] = {}
    for seed in range(first, first + count):
        for estimate, real in _of_keeper(*keeper(seed, room, outside=True, biased=biased)):
            middle, low, high = estimate.posterior
            off = abs(math.log(estimate.prior[0] / real)), abs(math.log(middle / real))
            rows.setdefault(estimate.quantity, []).append((*off, low <= real <= high))
    return {
        name: Gained(
            median(before for before, _, _ in found), median(after for _, after, _ in found),
            sum(held for _, _, held in found) / len(found), len(found),
        )
        for name, found in rows.items()
    }  # fmt: skip


def main() -> None:
    """Prints the figures."""
    what, count = sys.argv[1], int(sys.argv[2])
    began = time.perf_counter()
    if what == "coverage":
        for name, (hits, trials) in coverage(count).items():
            print(f"{name:18} {hits}/{trials} = {hits / trials:.1%}")
    elif what in ("outside", "biased"):
        for name, gained in outside(count, biased=what == "biased").items():
            print(
                f"{name:18} {gained.keepers:5} off by {math.expm1(gained.before):.0%} on the data,"
                f" {math.expm1(gained.after):.0%} after; {gained.after / gained.before:.2f} of it;"
                f" held {gained.held:.1%}"
            )
    else:
        from tests.benchmarks.plan_study import compare

        compare(count)
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
