"""What a room can give of each live food, day after day: the most that vessels and cultures yield.

It is the largest *steady* yield of what stands and is to come: each vessel filled to the most and
set anew as soon as it is clean, each culture harvested at its best and followed by another when it
is spent. What the room could give with more boxes is not in it.

And who would go short of it on one day of the year, by the rule of the shortfalls of a plan: a day
is planned as one round of a stretch is (:mod:`cultures.planning.matching`), with what the room can
give of each food that day. What one does not bring moves to another that the mouth takes, dry food
among them, and less missing than `falls_short` says is not called short.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property

from attrs import define, evolve, field

from cultures.errors import RangeError
from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.vessels import Vessel
from cultures.foods.yields import Setup, daily_yield
from cultures.needs.need import BroodNeed
from cultures.planning.hatch_options import CLEANING_H
from cultures.planning.ready import first_ripe
from cultures.planning.servings import Serving, Suits, falls_short
from cultures.planning.sharing import give_dry, lean_on, pass_on, share, take_back
from cultures.room.jars import vessel_model
from cultures.room.room import Culture, Room

#: A vessel is set anew at the same time of day, every so many days at most.
_LONGEST_CYCLE_DAYS = 3

_Alike = tuple[str, tuple[str, str], float, float | None, float, float]


def vessel_j_per_day(room: Room, vessel: Vessel) -> float:
    """Energy a day of nauplii just harvested, of one vessel [J/d].

    It holds the most cysts that do not crowd and is set at one time of day, daily or every other
    day, whichever gives more; in between it is harvested and washed.
    """
    model = vessel_model(room, vessel)
    if model.rate <= 0:
        return 0.0
    best_h, most_g = model.best_hours(), room.hatch_kind.most_grams(vessel.litres)
    return max(
        most_g * model.energy(min(best_h, 24.0 * days - CLEANING_H)) / days
        for days in range(1, _LONGEST_CYCLE_DAYS + 1)
    )


def culture_j_per_day(culture: Culture, temperature_c: float) -> float:
    """Energy a day of a culture and those that follow it on its place [J/d].

    The mean over its whole life, from the day it is started to the day it is spent, when it is
    harvested once a day by the best share. 0 where its kind does not grow at ``temperature_c``.
    """
    kind = culture.kind
    setup = Setup(kind, culture.medium_g, culture.surface_cm2, culture.starter_mg)
    try:
        curve = daily_yield(setup, series=TemperatureSeries.constant(temperature_c))
    except RangeError:
        return 0.0
    return curve.total_j * kind.values["food_value"] / max(1, len(curve.days))


@define
class Giving:
    """The same of a whole room, by food and day.

    Attributes:
        room: its vessels, and its cultures with those that are coming.
    """

    room: Room
    _known: dict[_Alike, float] = field(init=False, factory=dict)
    _ripe_on: dict[str, date | None] = field(init=False, factory=dict)

    @cached_property
    def _nauplii_j(self) -> float:
        return sum(vessel_j_per_day(self.room, vessel) for vessel in self.room.vessels)

    def j_per_day(self, food: str, day: date) -> float:
        """Energy a day of a live food on a local day [J/d]; 0 of one that the room has not."""
        if food == BRINE_SHRIMP:
            return self._nauplii_j
        return sum(self._of(culture, day) for culture in self.cultures(food, day))

    def cultures(self, food: str, day: date) -> Iterator[Culture]:
        """Those of a kind that give by a day; one that is ripe has followers for ever."""
        for culture in (*self.room.cultures, *self.room.coming):
            if culture.kind.name != food or day < culture.started:
                continue
            if culture.name not in self._ripe_on:
                self._ripe_on[culture.name] = first_ripe(self.room, culture)
            ripe_on = self._ripe_on[culture.name]
            if ripe_on is not None and ripe_on <= day:
                yield culture

    def _of(self, culture: Culture, day: date) -> float:
        own = culture.temperature_c
        temperature_c = round(self.room.room_temperature_c(day) if own is None else own, 1)
        key = (culture.kind.name, culture.kind.as_kept, culture.medium_g, culture.surface_cm2,
               culture.starter_g, temperature_c)  # fmt: skip
        if key not in self._known:
            self._known[key] = culture_j_per_day(culture, temperature_c)
        return self._known[key]


class Substitution:
    """The foods of a room, and how they stand in for each other.

    Args:
        room: all of its broods, those too that are planned.
    """

    def __init__(self, room: Room) -> None:
        everybody = evolve(room, broods=(*room.broods, *room.hoped), hoped=())
        kinds = sorted(room.worm_kinds(), key=lambda k: (k.values["width_um"], k.name))
        self.worms = [kind.name for kind in kinds]
        self.nauplii = [BRINE_SHRIMP] if room.vessels else []
        self.suits = Suits(everybody)
        self.suits.ripe_from.update(dict.fromkeys(self.worms, 0))

    def missing(
        self, needs: Sequence[BroodNeed], gives_j: Callable[[str], float]
    ) -> Mapping[str, float]:
        """The share of its need that each brood misses that goes short, by name.

        Args:
            needs: of a day. gives_j: what the room can give of a food that day [J].
        """
        row = [Serving(need, need.foods) for need in needs]
        for n, food in enumerate(self.worms):
            share(row, food, gives_j(food), 0, self.suits)
            pass_on([row], food, [*self.worms[n + 1 :], *self.nauplii], self.suits)
        share(row, BRINE_SHRIMP, gives_j(BRINE_SHRIMP), 0, self.suits)
        give_dry([row], self.suits)
        for food in reversed(self.worms):
            if lean_on(food, [row], 0, self.suits):
                take_back([row], food)
                share(row, food, gives_j(food), 0, self.suits)
        give_dry([row], self.suits)
        return {
            serving.need.brood.name: serving.missing_j() / serving.need.energy_j
            for serving in row
            if falls_short(serving.missing_j(), serving.need.energy_j)
        }
