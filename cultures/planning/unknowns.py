"""What is not known of a room beside luck: its laws, and what they make of hatches and needs.

Each is a number over the value that the plan uses, by the law of docs/models.md, "Ranges": as the
data have it, or as the keeper's own counts do (``room.sure``).
"""

from __future__ import annotations

import math
import random
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.hatching import HatchModel, hatched_fraction
from cultures.foods.parameters import (
    TENTH_SDS,
    Parameter,
    eight_in_ten,
    shipped_parameters,
)
from cultures.fry.feeding import feeding_parameters
from cultures.needs.need import BroodCourse, Round, RoundNeeds, room_needs
from cultures.planning.outlook import Outlook
from cultures.replay.own_values import grown
from cultures.room.jars import vessel_model
from cultures.room.orders import Draining
from cultures.room.room import Room

#: A quantity, and the kind of food or the brood that it is of, or "".
Key = tuple[str, str]
#: A brood at a round: its name, the days since it was counted [d], and the logarithm of its need
#: over the planned one at the slow and the fast end of its growth.
Drift = tuple[str, float, float, float]
#: Relative s.d. of a number whose range is not known, or begins at 0.
_PLAIN_SD = 0.1
#: Draws of needs, the same ones every time.
_DRAWS, _SEED = 400, 20270620
#: The time of hatches is looked up at so many s.d., and no farther out.
_NODES = tuple(step / 4.0 for step in range(-14, 15))


def efforts() -> Mapping[str, Parameter]:
    """What a measurement takes, and how sure is what nobody measured (data/efforts.toml)."""
    return shipped_parameters("efforts")


@frozen
class Law:
    """A number over the value in use: half of the cases on either side of 1, a tenth beyond each
    end.

    References:
        docs/models.md, section "Ranges".
    """

    low: float
    high: float

    def log(self, sds: float) -> float:
        """Its logarithm, so many standard deviations off."""
        return abs(sds) / TENTH_SDS * math.log(self.high if sds > 0.0 else self.low)

    @property
    def sd(self) -> float:
        """Standard deviation of the logarithm, of both sides together."""
        return math.log(self.high / self.low) / (2.0 * TENTH_SDS)


def law_of(parameter: Parameter) -> Law:
    """The law of a parameter of the data."""
    if parameter.low == parameter.high or parameter.value <= 0.0:
        return Law(1.0, 1.0)
    if parameter.low <= 0.0:
        end = math.exp(TENTH_SDS * _PLAIN_SD)
        return Law(1.0 / end, end)
    return Law(parameter.low / parameter.value, parameter.high / parameter.value)


def laws_of(outlook: Outlook) -> dict[Key, Law]:
    """Everything that is not known, in an order of its own."""
    room = outlook.room
    found: dict[Key, Law] = {}
    for name, plan in sorted(outlook.feeding.worms.items()):
        parameters = plan.kind.parameters
        found["yield", name] = law_of(parameters[plan.kind.capacity_key])
        found["swipe", name] = law_of(parameters["portion_mg"])
    hatch, effort = room.hatch_kind, efforts()
    found["nauplii_per_gram", BRINE_SHRIMP] = law_of(hatch.parameters["nauplii_per_gram"])
    found["hatch_time", BRINE_SHRIMP] = law_of(hatch.parameters["t10_h"])
    found["tin", ""] = law_of(effort["tin_share"])
    if room.tools.scale_g is None:
        found["spoon", ""] = law_of(hatch.parameters["bulk_density_g_per_ml"])
    return {**{key: _own(room, key, law) for key, law in found.items()}, **need_laws(room)}


def need_laws(room: Room) -> dict[Key, Law]:
    """The part of it that the needs of the broods hang on."""
    effort = efforts()
    found: dict[Key, Law] = {("ration", ""): law_of(feeding_parameters()["ration_at_1mg"])}
    for brood in room.broods:
        parameters = brood.fry_class.parameters
        found["growth", brood.name] = law_of(parameters["growth_rate_per_day"])
        found["survival", brood.name] = law_of(parameters["survival_per_day"])
        guessed = brood.counted_on < BroodCourse.of(room, brood).first_food_day()
        found["count", brood.name] = law_of(effort["guessed_share" if guessed else "counted_share"])
    return {key: _own(room, key, law) for key, law in found.items()}


def _own(room: Room, key: Key, law: Law) -> Law:
    """The keeper's own law of something, where there is one."""
    ends = room.sure.ranges.get(key)
    return law if ends is None else Law(*ends)


@frozen(eq=False)
class Guess:
    """How it may really be: how many standard deviations off, and the logarithm of each number."""

    sds: Mapping[Key, float]
    logs: Mapping[Key, float]

    @cached_property
    def of_broods(self) -> Mapping[str, tuple[float, float, float, bool]]:
        """What the needs of each brood hang on at all rounds: the logarithms of its ration and
        count, and of its survival of a day; how far it is along the way to an end of its growth,
        and whether that is the fast one.
        """
        logs, ration = self.logs, self.logs["ration", ""]
        return {
            name: (ration + logs["count", name], logs["survival", name], abs(sds) / TENTH_SDS,
                   sds > 0.0)
            for (quantity, name), sds in self.sds.items() if quantity == "growth"
        }  # fmt: skip

    def moved(self, laws: Mapping[Key, Law], key: Key, sds: float) -> Guess:
        """The same but for one number."""
        return Guess({**self.sds, key: sds}, {**self.logs, key: laws[key].log(sds)})


def drawn(laws: Mapping[Key, Law], rng: random.Random) -> Guess:
    """One way how it may really be, each number on its own."""
    sds = {key: rng.gauss(0.0, 1.0) for key in laws}
    return Guess(sds, {key: law.log(sds[key]) for key, law in laws.items()})


@frozen(eq=False)
class Hatches:
    """What a batch of cysts gives that hatches sooner or later, or of another tin or spoon.

    Attributes:
        by_time: for each batch, the logarithm of what it gives over what is planned, at each of
            ``_NODES``. seen: the same of the nauplii at the age at which they were counted.
        planned_g: (batch, cysts) that are still to be set, by their time [g]. tin_g: in stock.
            parcels: from which of the batches that are to be set on, by their place in that order,
            how much more is there [g].
        fixed: batches that were harvested already.
    """

    by_time: Sequence[Sequence[float]]
    seen: Sequence[float]
    planned_g: Sequence[tuple[int, float]]
    tin_g: float
    fixed: Sequence[bool]
    parcels: Sequence[tuple[int, float]] = ()

    @classmethod
    def of(cls, outlook: Outlook, law: Law) -> Hatches:
        """Those of a plan; ``law``: of the hatching time."""
        room, batches = outlook.room, outlook.feeding.hatches.batches
        slower = [math.exp(law.log(sds)) for sds in _NODES]

        def gives(model: HatchModel, hours: float) -> list[float]:
            planned = model.energy(hours)
            late = (evolve(model, t50_h=model.t50_h * factor) for factor in slower)
            return [math.log(max(1e-9, m.energy(hours) / planned)) for m in late]

        order = sorted(range(len(batches)), key=lambda n: batches[n].set_h)
        order = [n for n in order if not batches[n].standing]
        sets_h = [batches[n].set_h for n in order]
        return cls(
            [
                [0.0] * len(_NODES) if b.held
                else gives(vessel_model(room, b.vessel), b.harvest_h - b.set_h)
                for b in batches
            ],
            _counted(outlook, slower),
            [(n, batches[n].cysts_g) for n in order],
            room.cysts.grams if room.cysts is not None else math.inf,
            [b.held for b in batches],
            [(bisect_left(sets_h, there_h), grams) for there_h, grams in room.tin.parcels],
        )  # fmt: skip

    def level(self, guess: Guess) -> float:
        """Nauplii of a gram over what is planned, once all have hatched [ln]."""
        seen = _at(self.seen, guess.sds["hatch_time", BRINE_SHRIMP])
        return guess.logs["nauplii_per_gram", BRINE_SHRIMP] - seen

    def factors(self, guess: Guess) -> list[float]:
        """What each batch gives over what is planned."""
        logs = guess.logs
        level, sds = self.level(guess), guess.sds["hatch_time", BRINE_SHRIMP]
        spoon = logs.get(("spoon", ""), 0.0)
        found = [
            1.0 if fixed else math.exp(level + spoon + _at(row, sds))
            for row, fixed in zip(self.by_time, self.fixed, strict=True)
        ]
        # What a packet holds that is to come is known.
        tin = Draining[float](self.tin_g * math.exp(logs["tin", ""]), self.parcels)
        for place, (number, grams) in enumerate(self.planned_g):
            wanted_g = grams * math.exp(spoon)
            there_g = min(wanted_g, tin.at(place))
            tin.left_g -= there_g
            found[number] *= there_g / wanted_g if wanted_g > 0.0 else 1.0
        return found


def _counted(outlook: Outlook, slower: Sequence[float]) -> list[float]:
    """How counts of another time would have read: they stand, whatever the time is."""
    tau_h = outlook.room.sure.counted_h
    if tau_h is None:
        return [0.0] * len(slower)
    model = outlook.room.hatch_kind.model(temperature_c=outlook.room.hatch_kind.values["t_ref_c"])
    shares = [
        hatched_fraction(tau_h, t50_h=model.t50_h * factor, shape=model.shape)
        for factor in (1.0, *slower)
    ]
    return [math.log(max(1e-9, share / shares[0])) for share in shares[1:]]


def _at(row: Sequence[float], sds: float) -> float:
    """A row over ``_NODES`` between them."""
    place = min(max(0.0, (sds - _NODES[0]) / (_NODES[1] - _NODES[0])), len(_NODES) - 1.0)
    index = min(int(place), len(_NODES) - 2)
    return row[index] + (place - index) * (row[index + 1] - row[index])


@frozen(eq=False)
class Needs:
    """How a brood's need follows what is not known of it.

    Attributes:
        growth: by round and brood, the logarithm of its need over the planned one at the slow and
            the fast end of its growth. days: since it was counted [d].
    """

    growth: Mapping[tuple[int, str], tuple[float, float]]
    days: Mapping[tuple[int, str], float]

    @classmethod
    def of(
        cls, room: Room, rounds: Sequence[Round], needs: RoundNeeds, laws: Mapping[Key, Law]
    ) -> Needs:
        """Those of some rounds, as they are planned for."""
        ends = []
        for side in ("low", "high"):
            broods = (
                evolve(b, fry_class=grown(b.fry_class, getattr(laws["growth", b.name], side)))
                for b in room.broods
            )
            rows = room_needs(evolve(room, broods=tuple(broods)), rounds)
            ends.append({
                (r.index, need.brood.name): need.energy_j
                for r, row in zip(rounds, rows, strict=True) for need in row
            })  # fmt: skip
        growth, days = {}, {}
        for r, row in zip(rounds, needs, strict=True):
            for need in row:
                key = r.index, need.brood.name
                slow, fast = (_log_over(end.get(key, 0.0), need.energy_j) for end in ends)
                growth[key] = slow, fast
                days[key] = max(0.0, (r.at.date() - need.brood.counted_on).days)
        return cls(growth, days)

    def factor(self, index: int, brood: str, guess: Guess) -> float:
        """What a brood needs at a round over what is planned."""
        return self.factors(self.of_round(index, [brood]), guess)[0]

    def of_round(self, index: int, broods: Iterable[str]) -> list[Drift]:
        """How the needs of some broods at a round follow what is not known of them."""
        return [(name, self.days[index, name], *self.growth[index, name]) for name in broods]

    @staticmethod
    def factors(drifts: Iterable[Drift], guess: Guess) -> list[float]:
        """What broods need over what is planned."""
        of = guess.of_broods
        return [
            math.exp(least + days * survival + off * (fast if is_fast else slow))
            for brood, days, slow, fast in drifts
            for least, survival, off, is_fast in (of[brood],)
        ]


def need_ranges(
    room: Room, rounds: Sequence[Round], needs: RoundNeeds
) -> dict[tuple[int, str], tuple[float, float]]:
    """What eight in ten stay within of what broods really need, over what is planned.

    Args:
        needs: of each of the rounds.

    Returns:
        By index of the round and name of the brood.
    """
    laws, rng = need_laws(room), random.Random(_SEED)
    known = Needs.of(room, rounds, needs, laws)
    guesses = [drawn(laws, rng) for _ in range(_DRAWS)]
    return {
        (index, name): eight_in_ten(known.factor(index, name, guess) for guess in guesses)
        for index, name in known.growth
    }


def _log_over(changed: float, planned: float) -> float:
    return math.log(changed / planned) if changed > 0.0 and planned > 0.0 else 0.0
