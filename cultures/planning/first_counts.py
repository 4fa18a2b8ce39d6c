"""Which measurement would make a plan most certain for the minutes that it takes.

What a plan comes to is the share of its need that a brood gets at a round, over all rounds and
broods, in each draw of :mod:`cultures.planning.trials`. A measurement that is not made yet could
read many things. For each, the draws are weighed by how likely they would have made it, which is
the posterior after such a count; what is left of the variance, on average over what could be read,
says what the measurement is worth. No plan is carried out a second time for it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

from attrs import frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.hatching import hatched_fraction
from cultures.foods.parameters import eight_in_ten
from cultures.journal.counting import DropCount
from cultures.learning.estimates import HARVEST_SD, SWIPE_SD
from cultures.learning.learn import LEAST_READINGS
from cultures.learning.posterior import Normal, Reading, fit_level
from cultures.needs.need import BroodCourse
from cultures.planning.outlook import Outlook
from cultures.planning.split_plan import WormPlan
from cultures.planning.trials import Trials, World, certainty_of, sigma
from cultures.planning.unknowns import Guess, Key, efforts, law_of
from cultures.replay.broods import FIRST_FOOD_SD_DAYS, LEAST_DAYS, growth_sd
from cultures.room.jars import vessel_model
from cultures.room.room import Brood
from cultures.tasks.plan import Certainty
from cultures.tasks.task import Listed, tidy
from cultures.words.moments import hours

#: Draws, and for how many of them what would then be read is tried.
DRAWS, _READ = 1000, 200
_SEED = 20270619
#: What moves nothing in so many draws, so many standard deviations off, moves nothing.
_PROBES, _PROBE_SDS = 8, 2.5
#: Weights that are less than this of the largest are none.
_NO_WEIGHT = 18.0
#: A number that is known to this share of what it could be is known.
_EXACT = 0.2


@frozen(eq=False)
class Seen:
    """One reading: the logarithm that it is of, and its s.d. with all luck and error."""

    of: Callable[[Guess], float]
    sd: float


@frozen(eq=False)
class Measurement:
    """Something that a keeper could measure.

    Attributes:
        what: swipe, draw, harvest, hatch, hatch_time, length, fish, tin or spoon. subject: of which
            culture or brood, or "". times: how often, so that the plan moves. minutes: in all.
        keys: what it tells of. readings: what is read.
    """

    what: str
    subject: str
    times: int
    minutes: float
    keys: tuple[Key, ...]
    readings: tuple[Seen, ...]


@frozen
class Gain(Listed):
    """What a measurement is worth.

    Attributes:
        what, subject, times, minutes: as :class:`Measurement`.
        share: of the variance of what is fed that it takes away. error: its standard error as if
            readings were tried at random, which is more than it is.
        width: of what eight in ten draws stay within, on average after it.
    """

    what: str
    subject: str
    times: int
    minutes: float
    share: float
    error: float
    width: float

    @property
    def per_minute(self) -> float:
        """Share of the variance for a minute."""
        return self.share / self.minutes


@frozen
class FirstCounts:
    """What to measure first.

    Attributes:
        gains: the most for a minute first. certainty: of the plan as it is.
        by_ration: share of the variance that is of how much fry eat, which no count tells.
    """

    gains: tuple[Gain, ...]
    certainty: Certainty
    by_ration: float

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            **self.certainty.to_json(), "by_ration": tidy(self.by_ration),
            "measure": [gain.to_json() for gain in self.gains],
        }  # fmt: skip


def first_counts(outlook: Outlook, *, draws: int = DRAWS) -> FirstCounts:
    """What each measurement that a keeper could make now would be worth to a plan.

    Notes:
        It says how much surer the keeper would be of what this plan brings, not how much more the
        plan made after it would bring.

    References:
        Expected value of sample information from one set of draws, by the likelihood of each:
        Menzies 2016, Medical Decision Making 36(3):308-320 (from memory).
    """
    trials = Trials.of(outlook)
    found = list(trials.run(draws))
    worth, moves = _Worth([t.guess for t in found], [t.fed() for t in found]), _Moves(trials)

    def gain(m: Measurement) -> Gain:
        return worth.of(m) if any(map(moves, m.keys)) else _nothing(m, worth.width)

    gains = [gain(m) for m in measurements(outlook, trials)]
    gains.sort(key=lambda g: (-g.per_minute, g.minutes, g.what, g.subject))
    eaten: Key = ("ration", "")
    exactly = Seen(lambda guess: guess.logs[eaten], _EXACT * trials.theatre.laws[eaten].sd)
    ration = gain(Measurement("ration", "", 1, 1.0, (eaten,), (exactly,)))
    return FirstCounts(tuple(gains), certainty_of(found), ration.share)


def _nothing(m: Measurement, width: float) -> Gain:
    return Gain(m.what, m.subject, m.times, m.minutes, 0.0, 0.0, width)


class _Moves:
    """Whether a number changes what anybody is fed."""

    def __init__(self, trials: Trials) -> None:
        self.trials = trials
        luck_rng = random.Random(_SEED)
        self.probes = [
            (trials.theatre.draw(luck_rng), trial.guess) for trial in trials.run(_PROBES)
        ]
        self.known: dict[Key, bool] = {}

    def __call__(self, key: Key) -> bool:
        if key not in self.known:
            self.known[key] = any(self._differs(*probe, key) for probe in self.probes)
        return self.known[key]

    def _differs(self, luck: World, guess: Guess, key: Key) -> bool:
        laws = self.trials.theatre.laws
        fed = [
            [p.fed for p in self.trials.play(luck, guess.moved(laws, key, sds))]
            for sds in (-_PROBE_SDS, _PROBE_SDS)
        ]
        return fed[0] != fed[1]


class _Worth:
    """Draws with what they come to, and what is left of the doubt after a measurement."""

    def __init__(self, guesses: Sequence[Guess], fed: Sequence[float]) -> None:
        order = sorted(range(len(fed)), key=lambda i: fed[i])
        self.guesses, self.fed = [guesses[i] for i in order], [fed[i] for i in order]
        #: Two halves of the draws; what both show is no accident of either.
        self.half = [i % 2 for i in order]
        self.mean = math.fsum(fed) / len(fed)
        self.variance = math.fsum((x - self.mean) ** 2 for x in fed) / len(fed)
        low, high = eight_in_ten(fed)
        self.width = high - low

    def of(self, m: Measurement) -> Gain:
        """The share of the variance that a measurement takes away, and what width is left."""
        if self.variance <= 0.0:
            return _nothing(m, self.width)
        rng = random.Random(_SEED)
        columns = [[reading.of(guess) for guess in self.guesses] for reading in m.readings]
        sds = [reading.sd for reading in m.readings]
        # Evenly over what it could be, so that no accident decides how often it is odd.
        spread_out = sorted(range(len(self.fed)), key=columns[0].__getitem__)
        step = max(1, len(self.fed) // _READ)
        products, widths = [], []
        for k in spread_out[step // 2 :: step]:
            read = [c[k] + sd * rng.gauss(0.0, 1.0) for c, sd in zip(columns, sds, strict=True)]
            after = self._after(columns, sds, read, k)
            if after is not None:
                products.append(after[0])
                widths.append(after[1])
        if not products:
            return _nothing(m, self.width)
        share = math.fsum(products) / len(products)
        spread = math.fsum((p - share) ** 2 for p in products) / len(products)
        return Gain(
            m.what, m.subject, m.times, m.minutes,
            min(1.0, max(0.0, share / self.variance)),
            math.sqrt(spread / len(products)) / self.variance,
            min(self.width, math.fsum(widths) / len(widths)),
        )  # fmt: skip

    def _after(
        self, columns: Sequence[Sequence[float]], sds: Sequence[float], read: Sequence[float],
        itself: int,
    ) -> tuple[float, float] | None:  # fmt: skip
        """(product of how far both halves of the draws are off the mean, width) once this is read.

        The draw that it was read in has no say in it.
        """
        logs = [0.0] * len(self.fed)
        for column, sd, value in zip(columns, sds, read, strict=True):
            scale = 0.5 / sd**2
            logs = [x + scale * (value - c) ** 2 for x, c in zip(logs, column, strict=True)]
        least = min(logs)
        weights = [math.exp(least - x) if x - least < _NO_WEIGHT else 0.0 for x in logs]
        weights[itself] = 0.0
        totals, sums = [0.0, 0.0], [0.0, 0.0]
        for weight, fed, half in zip(weights, self.fed, self.half, strict=True):
            if weight:
                totals[half] += weight
                sums[half] += weight * fed
        if min(totals) <= 1e-6:
            return None
        first, second = (s / t - self.mean for s, t in zip(sums, totals, strict=True))
        return first * second, self._width(weights, sum(totals))

    def _width(self, weights: Sequence[float], total: float) -> float:
        """Of what eight in ten of the weighed draws stay within; they are sorted."""
        ends, passed = [], 0.0
        marks = [0.1 * total, 0.9 * total]
        for weight, fed in zip(weights, self.fed, strict=True):
            passed += weight
            while marks and passed >= marks[0]:
                ends.append(fed)
                marks.pop(0)
        return ends[-1] - ends[0]


def measurements(outlook: Outlook, trials: Trials) -> Iterator[Measurement]:
    """All that a keeper of a room could measure now."""
    listed = _Listed(outlook, trials)
    for name, plan in sorted(outlook.feeding.worms.items()):
        yield from listed.worms(name, plan)
    yield from listed.hatches()
    for brood in outlook.room.broods:
        yield from listed.fish(brood)
    yield from listed.tin()


class _Listed:
    """Measurements by what they are of."""

    def __init__(self, outlook: Outlook, trials: Trials) -> None:
        self.outlook, self.room = outlook, outlook.room
        self.laws = trials.theatre.laws
        self.hatched = trials.theatre.hatch_guess
        self.minutes = {name: p.value for name, p in efforts().items()}
        # As one drop, so that they clump as is usual.
        animals = round(self.minutes["counted_animals"])
        self.count_sd = DropCount((animals,), 0.15, 100.0).relative_sd

    def times(self, quantity: str, subject: str) -> int:
        """How many readings it takes until the plan moves; one more where it has moved."""
        return 1 if (quantity, subject) in self.room.sure.ranges else LEAST_READINGS[quantity]

    @staticmethod
    def _sd(groups: Sequence[Sequence[float]], spread: float) -> float:
        """S.d. of all readings together, as learning weighs them; by groups of one luck [ln]."""
        before = Normal(0.0, 1.0)  # which is taken off again
        rows = {str(i): [Reading(0.0, sd) for sd in group] for i, group in enumerate(groups)}
        after = fit_level(rows, dict.fromkeys(rows, 1.0), before, spread=spread)
        return 1.0 / math.sqrt(1.0 / after.sd**2 - 1.0 / before.sd**2)

    def worms(self, name: str, plan: WormPlan) -> Iterator[Measurement]:
        """A swipe or draw, and all that climbs of some cultures."""
        standing = [c.name for c in self.room.cultures if c.kind.name == name]
        if not standing:
            return
        key: Key = ("swipe", name)
        if self.laws[key].sd > 0.0:
            times, error = self.times(*key), math.hypot(self.count_sd, SWIPE_SD)
            sd = self._sd([[error]] * times, 0.0)
            what = "swipe" if plan.kind.medium == "solid" else "draw"
            yield self._one(what, standing[-1], times, "swipe_min", key, sd)
        key = "yield", name
        if self.laws[key].sd > 0.0:
            times, spread = self.times(*key), sigma(plan.kind.values["yield_spread"])
            groups = [[HARVEST_SD] * len(range(i, times, len(standing))) for i in range(times)]
            sd = self._sd([g for g in groups[: len(standing)] if g], spread)
            yield self._one("harvest", standing[-1], times, "harvest_min", key, sd)

    def _one(
        self, what: str, subject: str, times: int, effort: str, key: Key, sd: float
    ) -> Measurement:
        seen = Seen(lambda guess: guess.logs[key], sd)
        return Measurement(what, subject, times, times * self.minutes[effort], (key,), (seen,))

    def hatches(self) -> Iterator[Measurement]:
        """A harvest, and hatches that are looked at before they are done as well."""
        batches = [b for b in self.outlook.feeding.hatches.batches if not b.held]
        if not batches:
            return
        middle = sorted(batches, key=lambda b: b.harvest_h - b.set_h)[len(batches) // 2]
        model = vessel_model(self.room, middle.vessel)
        late_h = (middle.harvest_h - middle.set_h) * model.rate
        level: Key = ("nauplii_per_gram", BRINE_SHRIMP)
        time: Key = ("hatch_time", BRINE_SHRIMP)

        def counted(tau_h: float, guess: Guess) -> float:
            """What a gram gives at an age over what is thought, but for the luck of the hatch."""
            late = math.exp(guess.logs[time])
            shares = [
                max(1e-6, hatched_fraction(tau_h, t50_h=model.t50_h * f, shape=model.shape))
                for f in (late, 1.0)
            ]
            spoon = guess.logs.get(("spoon", ""), 0.0)
            return self.hatched.level(guess) + spoon + math.log(shares[0] / shares[1])

        def lag(guess: Guess) -> float:
            return counted(model.t50_h, guess) - counted(late_h, guess)

        spread = self.room.hatch_kind.values["yield_spread"]
        keys = tuple(key for key in (level, time, ("spoon", "")) if key in self.laws)
        times = self.times(*level)
        sd = self._sd([[self.count_sd]] * times, spread)
        done = Seen(partial(counted, late_h), sd)
        minutes = times * self.minutes["hatch_min"]
        yield Measurement("hatch", "", times, minutes, keys, (done,))
        early = Seen(lag, self.count_sd * math.sqrt(2.0 / times))
        yield Measurement("hatch_time", "", times, 2.0 * minutes, keys, (done, early))

    def fish(self, brood: Brood) -> Iterator[Measurement]:
        """The number and the length of a brood."""
        name, now = brood.name, self.outlook.now
        since = max(0, (now.date() - brood.counted_on).days)

        def alive(guess: Guess) -> float:
            return guess.logs["count", name] + since * guess.logs["survival", name]

        keys: tuple[Key, ...] = (("count", name), ("survival", name))
        error = law_of(efforts()["counted_share"]).sd
        yield Measurement("fish", name, 1, self.minutes["fish_min"], keys, (Seen(alive, error),))
        course, at_h = BroodCourse.of(self.room, brood), hours(now)
        days = course.clock.days(course.from_h, at_h) if at_h > course.from_h else 0.0
        if days < LEAST_DAYS:
            return
        key: Key = ("growth", name)
        fish, length_mm = round(self.minutes["measured_fish"]), course.length_mm(at_h)
        sd = growth_sd(brood.fry_class, length_mm, course.grown_from, fish)
        if sd is not None:
            times = self.times(*key)
            sd = math.hypot(sd / math.sqrt(times), FIRST_FOOD_SD_DAYS / days)
            yield self._one("length", name, times, "length_min", key, sd)

    def tin(self) -> Iterator[Measurement]:
        """The tin, and what a spoon of cysts weighs."""
        sd = law_of(efforts()["weighed_share"]).sd
        if self.room.cysts is not None:
            yield self._one("tin", "", 1, "tin_min", ("tin", ""), sd)
        if ("spoon", "") in self.laws:
            yield self._one("spoon", "", 1, "spoon_min", ("spoon", ""), sd)
