"""What a room can give of each live food, day after day: the most that vessels and cultures yield.

It is the largest *steady* yield of what stands and is to come: each vessel filled to the most and
set anew as soon as it is clean, each culture harvested at its best and followed by another when it
is spent. What the room could give with more boxes is not in it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from attrs import define, field

from cultures.errors import RangeError
from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.vessels import Vessel
from cultures.foods.yields import Setup, daily_yield
from cultures.planning.hatch_options import CLEANING_H
from cultures.planning.ready import first_ripe
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
    setup = Setup(kind, culture.medium_g, culture.surface_cm2,
                  culture.starter_g * kind.values["starter_mg_per_g"])  # fmt: skip
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
    _nauplii_j: float = field(init=False)
    _known: dict[_Alike, float] = field(init=False, factory=dict)
    _ripe_on: dict[str, date | None] = field(init=False, factory=dict)

    @_nauplii_j.default
    def _all_vessels(self) -> float:
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
