"""What the plan learns from a journal, and how sure it is of it.

Each quantity has a prior (the data, with their range), readings with an error of their own,
and a posterior. Readings are weighed down when they lie absurdly far from the rest, and as
they grow old. The formulas are in docs/learning.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from statistics import median

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.hatching import hatched_fraction, log_logistic_shape
from cultures.foods.kinds import WormKind
from cultures.foods.parameters import TENTH_SDS, Parameter
from cultures.journal.counting import gamma_quantile
from cultures.learning.estimates import HARVEST_SD, SWIPE_SD, Estimate, poor_cultures
from cultures.learning.posterior import Normal, Reading, fit_hatches, fit_level, loosened
from cultures.learning.tin import doubt_of_tin
from cultures.replay.observations import HatchObserved, Observations, SwipeObserved
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Replayed, Step, replay
from cultures.room.room import HowSure, Room
from cultures.words.grouped import by_key
from cultures.words.moments import hours

#: Intervals shown hold eight in ten.
LEVEL = 0.8
#: A time factor that is taken as known.
_AS_USUAL = Normal(0.0, 1e-3)
#: Age at which a reading counts half [d].
_HALF_LIFE_DAYS = {
    "nauplii_per_gram": 180.0, "hatch_time": 180.0, "yield": 180.0, "swipe": 365.0,
    "growth": math.inf, "crash": 365.0,
}  # fmt: skip
#: Readings needed before the plan moves.
LEAST_READINGS = {
    "nauplii_per_gram": 2, "hatch_time": 3, "yield": 3, "swipe": 2, "growth": 2, "crash": 1,
}  # fmt: skip
#: What can be learned, and turned off one by one.
QUANTITIES = tuple(LEAST_READINGS)
#: Culture-days needed before the plan's crash hazard moves [d].
_LEAST_CULTURE_DAYS = 60.0
#: A hatch looked at before this share of a fast batch has hatched, so many s.d. faster than what
#: is usual, tells nothing.
_LEAST_SHARE, _FAST_SDS = 0.02, 2.0
#: From this share on a count is shown as what a gram gives.
_DONE_SHARE = 0.95
_ALL_EMPTY = (
    "no count but of nothing, which says that something is wrong, and not what a gram gives"
)
_NOT_EARLY = "no hatch was looked at before it was done, and again"
#: Counts tell of the time that narrow it to this share of what it was.
_NARROWED = 0.5
#: Weight of counts made on an earlier tin of cysts.
_OLD_TIN = 0.3
#: So long after another tin came nothing stands or is held of the one before [h].
_OF_THE_TIN_BEFORE_H = 14 * 24.0
_NEVER_BELOW = 0.02
#: Yields and swipes are judged so often at most, and while the logarithm moves by more.
_MOST_PASSES, _STEADY = 5, 0.05


@frozen
class Learned:
    """Everything learned by a moment, and the room that it makes."""

    estimates: tuple[Estimate, ...]
    own_values: OwnValues
    replayed: Replayed


def learn(room: Room, steps: Sequence[Step], now: datetime) -> Learned:
    """Learns from all that was done up to ``now`` and replays the room with it.

    What is only presumed to have been done changes the room and teaches nothing.

    What climbs from a culture depends on what was taken before and on how much it carries,
    so yields and swipes are judged twice: with the data's values, then with the first answer; and
    again as long as that moves an answer by more than a twentieth. Where the truth is far from the
    data, most harvests are beyond belief at first.
    """
    found = OwnValues()
    for _ in range(_MOST_PASSES):
        own_values = found
        replayed = replay(room, steps, now, own_values)
        estimates = _estimates(room, replayed.seen, now, own_values)
        found = _own_values(estimates, replayed.seen, _tins_before(room, replayed.seen, hours(now)))
        if not _moved(own_values, found):
            break
    if found != own_values:
        own_values = found
        replayed = replay(room, steps, now, own_values)
    replayed = replayed.as_fed()
    notes = (*replayed.room.notes, *poor_cultures(replayed, now))
    level = next((e for e in estimates if e.quantity == "nauplii_per_gram"), None)
    doubt = None
    if level is not None:
        doubt = doubt_of_tin(replayed.seen, level, replayed.room.hatch_kind, hours(now))
    replayed = evolve(replayed, room=evolve(replayed.room, notes=notes, tin_doubt=doubt))
    return Learned(tuple(estimates), own_values, replayed)


def _tins_before(room: Room, seen: Observations, now_h: float) -> tuple[tuple[float, float], ...]:
    """When [h since the epoch], and what a gram of the tin before gives, while a hatch is of it."""
    found = []
    for bought_h in sorted(set(seen.bought_h)):
        if now_h - bought_h <= _OF_THE_TIN_BEFORE_H:
            then = evolve(seen, bought_h=[at_h for at_h in seen.bought_h if at_h < bought_h])
            level, *_ = _Judge(room, then, now_h).hatches() or (None,)
            if level is not None:
                found.append((bought_h, level.used))
    return tuple(found)


def _own_values(
    estimates: Sequence[Estimate], seen: Observations, tins_before: tuple[tuple[float, float], ...]
) -> OwnValues:
    def of(quantity: str) -> dict[str, float]:
        return {e.subject: e.used for e in estimates if e.quantity == quantity and e.learned}

    return OwnValues(
        nauplii_per_gram=of("nauplii_per_gram").get(BRINE_SHRIMP),
        hatch_time=of("hatch_time").get(BRINE_SHRIMP, 1.0),
        yields=of("yield"),
        portions_mg=of("swipe"),
        crashes=of("crash"),
        growth=of("growth"),
        sure=_how_sure(estimates, seen),
        tins_before=tins_before,
    )


def _how_sure(estimates: Sequence[Estimate], seen: Observations) -> HowSure:
    """How sure each quantity is that the plan takes from the counts."""
    ranges = {
        (e.quantity, e.subject): (e.posterior[1] / e.used, e.posterior[2] / e.used)
        for e in estimates
        if e.learned
    }
    learned = {quantity for quantity, _ in ranges}
    timeless = "nauplii_per_gram" in learned and "hatch_time" not in learned
    return HowSure(ranges, _middle([s.hours * s.rate for s in seen.hatches]) if timeless else None)


def _moved(before: OwnValues, after: OwnValues) -> bool:
    """Whether what cultures carry, or a swipe, is judged otherwise by more than a twentieth."""
    return any(
        name not in old or abs(math.log(value / old[name])) > _STEADY
        for old, new in ((before.yields, after.yields), (before.portions_mg, after.portions_mg))
        for name, value in new.items()
    )


def _estimates(room: Room, seen: Observations, now: datetime, used: OwnValues) -> list[Estimate]:
    judge = _Judge(room, seen, hours(now))
    return [
        *judge.hatches(),
        *judge.yields(used.yields),
        *judge.swipes(),
        *judge.growth(),
        *judge.crashes(),
    ]


def prior_of(parameter: Parameter, *, middle: float | None = None) -> Normal:
    """A prior for the logarithm of a parameter, from its value and range."""
    value = parameter.value if middle is None else middle
    wide = parameter.low > 0 and parameter.high > parameter.low
    sd = math.log(parameter.high / parameter.low) / (2.0 * TENTH_SDS) if wide else 0.1
    return Normal(math.log(value), sd)


class _Judge:
    """Turns observations into estimates."""

    def __init__(self, room: Room, seen: Observations, now_h: float) -> None:
        self.room, self.seen, self.now_h = room, seen, now_h

    def weight(self, quantity: str, at_h: float) -> float:
        """How much a reading of some age still counts."""
        days = max(0.0, self.now_h - at_h) / 24.0
        return float(0.5 ** (days / _HALF_LIFE_DAYS[quantity]))

    def off(self, quantity: str) -> bool:
        """Whether the keeper turned this off."""
        return bool(self.seen.off & {quantity, "all"})

    def estimate(
        self, quantity: str, subject: str, unit: str, prior: Normal, posterior: Normal,
        readings: int, seen: float | None, *, lacking: str = "",
    ) -> Estimate:  # fmt: skip
        """An estimate of something whose logarithm is normal; ``lacking``: what it still takes."""
        least = LEAST_READINGS[quantity]
        enough = readings >= least and not lacking
        learned = enough and not self.off(quantity)
        middle = math.exp(posterior.mean if learned else prior.mean)
        if self.off(quantity):
            why = "learning of it is turned off"
        elif readings == 0:
            why = "nothing was noted yet"
        elif readings < least:
            why = f"{readings} of the {least} readings it takes"
        elif lacking:
            why = lacking
        else:
            why = f"from {readings} readings and what is usual"
        return Estimate(
            quantity, subject, unit, prior.interval(LEVEL), readings, seen,
            posterior.interval(LEVEL), middle, learned, why,
        )  # fmt: skip

    def hatches(self) -> list[Estimate]:
        """Nauplii a gram and hatching time, from counts at known ages."""
        kind, cysts = self.room.hatch_kind, self.room.cysts
        if not self.room.vessels and not self.seen.hatches:
            return []
        own = cysts.nauplii_per_gram if cysts is not None else None
        level = prior_of(kind.parameters["nauplii_per_gram"], middle=own)
        speed = Normal(0.0, prior_of(kind.parameters["t10_h"]).sd)
        t50_h, shape = log_logistic_shape(t10_h=kind.values["t10_h"], t90_h=kind.values["t90_h"])
        hatched = partial(hatched_fraction, t50_h=t50_h, shape=shape)
        fast = math.exp(_FAST_SDS * speed.sd)
        telling = [
            seen for seen in self.seen.hatches
            if hatched(seen.hours * seen.rate * fast) >= _LEAST_SHARE
            and self.weight("nauplii_per_gram", seen.at_h) >= _NEVER_BELOW
        ]  # fmt: skip
        batches = by_key(telling, lambda seen: seen.batch)

        def log_share(tau_h: float) -> float:
            return math.log(max(hatched(tau_h), 1e-12))

        readings = {
            name: [Reading(math.log(s.per_gram), s.relative_sd, s.hours * s.rate) for s in rows]
            for name, rows in batches.items()
        }
        weights = {name: self._tin_weight(rows[-1]) for name, rows in batches.items()}
        done = [(s, hatched(s.hours * s.rate)) for rows in batches.values() for s in rows]
        middle = _middle([s.per_gram for s, share in done if share >= _DONE_SHARE])
        fit = partial(
            fit_hatches, readings, weights, level, log_share=log_share,
            spread=kind.values["yield_spread"],
        )  # fmt: skip
        found_level, found_speed = fit(speed)
        # A time is only seen where a hatch was looked at before it was done, and again: few nauplii
        # may be late ones or few. Else the plan keeps the data's, and the level is what the counts
        # show at that.
        again = any(len(rows) > 1 for rows in batches.values())
        early = again and found_speed.sd <= _NARROWED * speed.sd
        if not early:
            (found_level, _), found_speed = fit(_AS_USUAL), speed
        level_found = self.estimate(
            "nauplii_per_gram", kind.name, "nauplii/g", level, found_level, len(batches), middle
        )
        if not batches and self.seen.empty and not self.off("nauplii_per_gram"):
            level_found = evolve(level_found, why=_ALL_EMPTY)
        return [
            level_found,
            self.estimate("hatch_time", kind.name, "times the data's", speed, found_speed,
                          len(done), None,
                          lacking="" if early else _NOT_EARLY),
        ]  # fmt: skip

    def _tin_weight(self, seen: HatchObserved) -> float:
        """How much a count tells of the tin in use: it is of the one its hatch was set from."""
        set_h = seen.at_h - seen.hours
        later_tins = sum(1 for bought in self.seen.bought_h if bought > set_h)
        return self.weight("nauplii_per_gram", seen.at_h) * float(_OLD_TIN**later_tins)

    def _kinds(self) -> list[WormKind]:
        names = {c.kind.name for c in self.room.cultures}
        names |= {y.kind for y in self.seen.yields} | {s.kind for s in self.seen.spans}
        names |= {s.kind for s in self.seen.swipes}
        kinds = (self.room.kinds.get(name) for name in sorted(names))
        return [kind for kind in kinds if isinstance(kind, WormKind)]

    def yields(self, used: Mapping[str, float]) -> Iterator[Estimate]:
        """What cultures of a kind carry against the data."""
        for kind in self._kinds():
            prior = Normal(0.0, prior_of(kind.parameters[kind.capacity_key]).sd)
            factor = used.get(kind.name, 1.0)
            rows = [
                y for y in self.seen.yields
                if y.kind == kind.name and y.ripe and y.taken_mg > 0
                and self.weight("yield", y.at_h) >= _NEVER_BELOW
            ]  # fmt: skip
            cultures: dict[str, list[Reading]] = {}
            weights: dict[str, float] = {}
            for y in rows:
                value = math.log(y.taken_mg / y.expected_mg * factor)
                cultures.setdefault(y.culture, []).append(Reading(value, HARVEST_SD))
                weights[y.culture] = self.weight("yield", y.at_h)
            spread = math.sqrt(math.log1p(kind.values["yield_spread"] ** 2))
            found = fit_level(cultures, weights, prior, spread=spread)
            if any(y.in_portions for y in rows):
                found = loosened(found, prior, self._swipe(kind)[1].sd)
            middle = _middle([y.taken_mg / y.expected_mg * factor for y in rows])
            yield self.estimate(
                "yield", kind.name, "times the data's", prior, found, len(rows), middle
            )

    def swipes(self) -> Iterator[Estimate]:
        """Worms in a swipe or a draw of this keeper."""
        for kind in self._kinds():
            prior, found, rows = self._swipe(kind)
            unit = "mg a swipe" if kind.medium == "solid" else "mg a draw of 10 mL"
            estimate = self.estimate(
                "swipe", kind.name, unit, prior, found, len(rows), _middle([s.mg for s in rows])
            )
            if not estimate.learned and not self.off("swipe"):
                estimate = evolve(estimate, why=f"{estimate.why}; the value used is rough")
            yield estimate

    def _swipe(self, kind: WormKind) -> tuple[Normal, Normal, list[SwipeObserved]]:
        """(prior, posterior, readings) of a swipe or draw."""
        prior = prior_of(kind.parameters["portion_mg"])
        rows = [
            s for s in self.seen.swipes
            if s.kind == kind.name and self.weight("swipe", s.at_h) >= _NEVER_BELOW
        ]  # fmt: skip
        readings = {
            str(i): [Reading(math.log(s.mg), math.hypot(s.relative_sd, SWIPE_SD))]
            for i, s in enumerate(rows)
        }
        weights = {str(i): self.weight("swipe", s.at_h) for i, s in enumerate(rows)}
        return prior, fit_level(readings, weights, prior, spread=0.0), rows

    def growth(self) -> Iterator[Estimate]:
        """Speed of growth of each measured brood against its class."""
        for brood, lengths in by_key(self.seen.lengths, lambda seen: seen.brood).items():
            name = lengths[0].fry_class
            fry_class = self.room.fry_class(name)
            readings = [Reading(math.log(x.grown_days / x.expected_days), x.sd) for x in lengths]
            prior = Normal(0.0, prior_of(fry_class.parameters["growth_rate_per_day"]).sd)
            blocks = {str(i): [r] for i, r in enumerate(readings)}
            found = fit_level(blocks, dict.fromkeys(blocks, 1.0), prior, spread=0.0)
            trust = [1.0 / x.sd**2 for x in lengths]
            common = sum(t * x.start_sd for t, x in zip(trust, lengths, strict=True)) / sum(trust)
            found = loosened(found, prior, common)
            middle = _middle([math.exp(r.value) for r in readings])
            yield self.estimate(
                "growth", brood, f"times {fry_class.name}", prior, found, len(readings), middle
            )

    def crashes(self) -> Iterator[Estimate]:
        """Hazard that a culture crashes, a gamma prior with crashes over culture-days."""
        for kind in self._kinds():
            prior = prior_of(kind.parameters["crash_per_day"])
            if kind.values["crash_per_day"] <= 0:
                continue
            shape = 1.0 / prior.sd**2
            rate = shape / kind.values["crash_per_day"]
            spans = [s for s in self.seen.spans if s.kind == kind.name]
            days = sum(self._weighted_days(s.from_h, s.to_h) for s in spans)
            crashes = sum(self.weight("crash", s.to_h) for s in spans if s.crashed)
            count = sum(1 for s in spans if s.crashed)
            learned = (days >= _LEAST_CULTURE_DAYS or count > 0) and not self.off("crash")
            before = _gamma_interval(shape, rate)
            after = _gamma_interval(shape + crashes, rate + days)
            if self.off("crash"):
                why = "learning of it is turned off"
            else:
                why = f"{count} crash{'' if count == 1 else 'es'} in {days:.0f} culture-days"
                if not learned:
                    why += f"; it takes {_LEAST_CULTURE_DAYS:.0f} days or a crash"
            yield Estimate(
                "crash", kind.name, "a culture and day", before, count,
                crashes / days if days > 0 else None, after, after[0] if learned else before[0],
                learned, why,
            )  # fmt: skip

    def _weighted_days(self, from_h: float, to_h: float) -> float:
        half = _HALF_LIFE_DAYS["crash"] / math.log(2.0)
        young, old = (max(0.0, self.now_h - h) / 24.0 for h in (to_h, from_h))
        return half * (math.exp(-young / half) - math.exp(-old / half))


def _gamma_interval(shape: float, rate: float) -> tuple[float, float, float]:
    tails = ((1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0)
    low, high = (gamma_quantile(shape, p) / rate for p in tails)
    return shape / rate, low, high


def _middle(values: Sequence[float]) -> float | None:
    """The median, or None of nothing."""
    return median(values) if values else None
