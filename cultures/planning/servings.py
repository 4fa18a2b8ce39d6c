"""What broods are to get at a round, and how well each food suits them."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from datetime import datetime
from functools import lru_cache

from attrs import define, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY, Food
from cultures.fry.classes import FryClass
from cultures.fry.diet import suitabilities
from cultures.fry.feeding import feeding_values
from cultures.fry.lengths import ByLength, Fry
from cultures.needs.need import BroodNeed, diet_j
from cultures.room.room import Room

#: A food stands in for another where at least this share of the brood can use it.
STAND_IN_FROM = 0.1
#: and it may be all that is given where this share can.
ALL_FROM = 0.5
#: Less missing than this share of a brood's need at a round is not called short.
SHORT_SHARE = 0.03
#: From so long on [mm] fish go without for a day or two as it comes (common practice, no source).
_GROWN_MM = 20.0
#: What food that comes in a day or two counts for, against one that is there.
_COMING = 0.1
#: How well foods suit fry by their length, for each class and the foods that its broods get. The
#: class is held beside them, so that no other one takes its id.
SuitsMemo = dict[Hashable, tuple[FryClass, "dict[float, Fit]"]]


@frozen(eq=False)
class Fit:
    """How well foods suit fry of one length.

    Attributes:
        suits: each of its foods, 0 to 1. stands_in: for which share of a need each may stand in
            that may at all. best, second: the food for which that is the most, and for how much the
            best of the others may.
    """

    suits: Mapping[str, float]
    stands_in: Mapping[str, float]
    best: str
    second: float

    @classmethod
    def of(cls, suits: Mapping[str, float]) -> Fit:
        """With what follows from how well foods suit."""
        able = {name: fit for name, fit in suits.items() if fit > STAND_IN_FROM}
        stands_in = {name: _stand_in_share(fit) for name, fit in able.items()}
        best = max(stands_in, key=stands_in.__getitem__, default="")
        others = (share for name, share in stands_in.items() if name != best)
        return cls(suits, stands_in, best, max(others, default=0.0))

    def besides(self, food: str) -> float:
        """The share of a need for which the best food but one may stand in."""
        return self.second if food == self.best else self.stands_in.get(self.best, 0.0)


@lru_cache(maxsize=64)
def _fits(fry: Fry, foods: Sequence[Food]) -> ByLength[Fit]:
    names = [food.name for food in foods]

    def fit(length_mm: float) -> Fit:
        suits = suitabilities(foods, fry.fry_class, length_mm)
        return Fit.of(dict(zip(names, suits, strict=True)))

    return ByLength(fit)


def falls_short(missing_j: float, need_j: float) -> bool:
    """Whether so much missing of a need is called short: the one rule of all commands."""
    return missing_j > SHORT_SHARE * need_j


def is_grown(need: BroodNeed) -> bool:
    """Whether a brood is past two centimetres, and a day without food is nothing to it."""
    return need.length_mm >= _GROWN_MM


def dry_j_per_g() -> float:
    """Energy that fry get from a gram of dry food [J/g]."""
    v = feeding_values()
    return v["dry_j_per_g"] * v["dry_digested"]


@define(eq=False)
class Serving:
    """What one brood is to get at one round.

    Attributes:
        need: the ideal. want_j: what each food is asked for, replaced and never changed, since
            it may be the need's own. given_j: what it gives. dry_out_j: dry food that it would
            be given and that is not there. dosed_j: what it gives in few doses, once that is
            measured (:mod:`cultures.planning.few_doses`).
    """

    need: BroodNeed
    want_j: Mapping[str, float]
    given_j: dict[str, float] = field(factory=dict)
    dry_out_j: float = 0.0
    dosed_j: Mapping[str, float] = field(factory=dict)

    def missing_j(self) -> float:
        """Energy still missing over all foods [J]."""
        left_j = self.need.energy_j - sum(self.given_j.values())
        return left_j if left_j > 0.0 else 0.0


#: What broods are to get, by round.
Served = Sequence[Sequence[Serving]]


class Suits:
    """How well a food suits a serving, and which there are.

    Attributes:
        ripe_from: the first round at which worms of a kind, or nauplii, can be had; none before.
    """

    def __init__(self, room: Room, known: SuitsMemo | None = None) -> None:
        self.room = room
        self.foods = {
            brood.name: {f.name: f for f in room.foods_of(brood)} for brood in room.broods
        }
        self.widths_um = {
            food.name: food.width_um for of in self.foods.values() for food in of.values()
        }
        self.known: SuitsMemo = {} if known is None else known
        #: Broods of one class that have the same foods share what is known.
        self.by_length = {
            brood.name: self.known.setdefault(
                (id(brood.fry_class), *self.foods[brood.name].values()), (brood.fry_class, {})
            )[1]
            for brood in room.broods
        }
        self._fits = {
            brood.name: _fits(Fry(brood.fry_class), tuple(self.foods[brood.name].values()))
            for brood in room.broods
        }
        #: What a helper gives at rounds at which that is not all, by their time.
        self.given: dict[datetime, tuple[str, ...]] = {}
        self.is_limited = any(away.foods for away in room.away)
        self.ripe_from: dict[str, int] = {BRINE_SHRIMP: 0}
        #: The rounds before there are nauplii, at which they come in a day or two.
        self.soon = range(0)

    def __call__(self, serving: Serving, food: str) -> float:
        return self._of(serving.need, food)

    def _of(self, need: BroodNeed, food: str) -> float:
        return self._fit(need).suits.get(food, 0.0)

    def _fit(self, need: BroodNeed) -> Fit:
        """How well each of its foods suits a brood."""
        by_length = self.by_length[need.brood.name]
        found = by_length.get(need.length_mm)
        if found is None:
            found = by_length[need.length_mm] = self._fits[need.brood.name][need.length_mm]
        return self._as_given(need, found) if self.is_limited else found

    def _as_given(self, need: BroodNeed, fit: Fit) -> Fit:
        """The same of what is given at a round at which a helper gives some foods alone."""
        given = self._given(need.at)
        if not given:
            return fit
        return Fit.of({name: suits for name, suits in fit.suits.items() if name in given})

    def _given(self, at: datetime) -> tuple[str, ...]:
        """All foods that are given at a round; none for whatever is planned."""
        found = self.given.get(at)
        if found is None:
            away = self.room.away_at(at)
            found = self.given[at] = away.foods if away is not None else ()
        return found

    def lacks_j(self, serving: Serving, food: str) -> float:
        """What a brood does not get of a food that it was to get; of all that is missing, where the
        food suits it [J].
        """
        own_j = serving.want_j.get(food, 0.0) - serving.given_j.get(food, 0.0)
        missing_j = serving.missing_j()
        # Whom a food suits is looked up only where that decides: this is asked most often.
        if missing_j <= own_j or self._of(serving.need, food) <= STAND_IN_FROM:
            return own_j
        return missing_j

    def others(self, need: BroodNeed, food: str, index: int) -> float:
        """The share of a need for which the best food but one may stand in, of those that can be
        had at a round.

        Nauplii that come in a day or two count a tenth.
        """
        fit = self._fit(need)
        if index >= max(self.ripe_from.values()):
            best = fit.besides(food)
        else:
            had = (
                share for name, share in fit.stands_in.items()
                if name != food and self.ripe_from.get(name, 0) <= index
            )  # fmt: skip
            best = max(had, default=0.0)
        return best if food == BRINE_SHRIMP else max(best, self.coming(need, index))

    def coming(self, need: BroodNeed, index: int) -> float:
        """The same of nauplii before there are any."""
        if index not in self.soon:
            return 0.0
        return _COMING * self._fit(need).stands_in.get(BRINE_SHRIMP, 0.0)

    def forget_lengths(self) -> None:
        """Lets go of what is known of each length, which fills the memory."""
        for by_length in self.by_length.values():
            by_length.clear()

    def diet(self, need: BroodNeed, index: int) -> Mapping[str, float]:
        """The diet of a brood of what can be had at a round [J].

        What is not ripe yet stays in it where nothing else suits, so that it is missed.
        """
        since = self.ripe_from
        if index >= max(since.values()):
            return need.foods
        if all(since.get(food, 0) <= index for food in need.foods):
            return need.foods
        fry_class = need.brood.fry_class
        given = self._given(need.at)
        had = [f for name, f in self.foods[need.brood.name].items()
               if since.get(name, 0) <= index and (not given or name in given)]  # fmt: skip
        found = diet_j(self.room, had, fry_class, need.length_mm, need.energy_j)
        suited = all(self._of(need, food) >= STAND_IN_FROM for food in found)
        if not (found and suited and found.get(DRY, 0.0) <= self.stand_in_j(need, DRY)):
            return need.foods
        return found

    def stand_in_j(self, need: BroodNeed, food: str) -> float:
        """The most that may be given of a food when it stands in for others [J]: all where half
        of the brood can use it, and less where fewer can.
        """
        return self._fit(need).stands_in.get(food, 0.0) * need.energy_j

    def most_j(self, serving: Serving, food: str) -> float:
        """The most that a mouth takes of a food, of its diet or in the place of others [J]."""
        need, want_j = serving.need, serving.want_j.get(food, 0.0)
        stand_in_j = self._fit(need).stands_in.get(food, 0.0) * need.energy_j
        return want_j if want_j > stand_in_j else stand_in_j

    def dry_cap_j(self, serving: Serving) -> float:
        """The most dry food that may be given [J], 0 where it is not among the foods."""
        return self.most_j(serving, DRY)


def _stand_in_share(suits: float) -> float:
    """The share of a need for which a food may stand in that suits a mouth so well."""
    return min(1.0, max(0.0, (suits - STAND_IN_FROM) / (ALL_FROM - STAND_IN_FROM)))
