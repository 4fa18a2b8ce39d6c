"""What is asked of one hatch, and what there is to do it with."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime, time
from typing import NamedTuple

from attrs import frozen

from cultures.errors import LivefoodError, RangeError, check_above_zero
from cultures.foods.hatching import HatchModel
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind
from cultures.foods.vessels import Vessel
from cultures.words.moments import hours
from cultures.words.tools import USUAL, Tools


class HatchNotPossibleError(LivefoodError):
    """No hatch can meet the request; the message says what could be done."""


class Yielded(NamedTuple):
    """Nauplii, and the energy they carry [J]."""

    nauplii: float
    energy_j: float


@frozen
class HatchRequest:
    """What is wanted, and what there is to do it with.

    Attributes:
        at: the round at which it is fed (aware).
        vessels: to choose from. holding: how a harvest is kept, and of what kind it is.
        awake: no step outside these times of day. away: whether nobody is there to set or
            harvest at a moment (aware); None where somebody always is.
        nauplii, energy_j: the need; exactly one of the two.
        now: nothing can be set before; None: no limit.
        nauplii_per_gram: the keeper's own count, which wins over the data.
        wettings: times the dry cysts have been damp and dried again.
        cysts_g: dry cysts in stock, or None [g].
        busy: (vessel, time) until when a hatch stands in it.
        makeup_ml: volume to which the rinsed harvest is made up [mL].
        later: rounds at which the rest could be fed.
        tools: what cysts are measured with.
    """

    at: datetime
    vessels: tuple[Vessel, ...]
    holding: Holding
    awake: tuple[time, time]
    nauplii: float | None = None
    energy_j: float | None = None
    now: datetime | None = None
    nauplii_per_gram: float | None = None
    wettings: int = 0
    cysts_g: float | None = None
    busy: tuple[tuple[str, datetime], ...] = ()
    makeup_ml: float = 200.0
    later: tuple[datetime, ...] = ()
    tools: Tools = USUAL
    away: Callable[[datetime], object] | None = None

    def __attrs_post_init__(self) -> None:
        if (self.nauplii is None) == (self.energy_j is None):
            raise RangeError("give either a number of nauplii or an energy, not both")
        check_above_zero("the need", self.need)
        if self.wettings < 0:
            raise RangeError(f"wettings must be 0 or more, got {self.wettings}")
        check_above_zero("the rinse volume", self.makeup_ml, " mL")
        if not self.vessels:
            raise HatchNotPossibleError("there is no vessel to set a hatch in")

    @property
    def kind(self) -> HatchKind:
        """What is hatched."""
        return self.holding.kind

    @property
    def ready_h(self) -> float:
        """When the harvest must be under way to be fed at the round [h since the epoch]; on getting
        up, where that is later: who feeds so soon after it is quicker.
        """
        ready_h = hours(self.at) - self.kind.values["handling_h"]
        up_h = hours(datetime.combine(self.at.date(), self.awake[0], self.at.tzinfo))
        return up_h if ready_h < up_h <= hours(self.at) else ready_h

    @property
    def need(self) -> float:
        """The need in its own unit: nauplii or J."""
        return self.nauplii if self.nauplii is not None else self.energy_j or 0.0

    def earliest_h(self, vessel: Vessel) -> float:
        """Before this a vessel cannot be set [h since the epoch]."""
        free = [hours(until) for name, until in self.busy if name == vessel.name]
        return max([-math.inf if self.now is None else hours(self.now), *free])

    def served(self, yielded: Yielded) -> float:
        """What a yield gives in the unit of the need."""
        return yielded.nauplii if self.nauplii is not None else yielded.energy_j

    def is_awake(self, time_h: float) -> bool:
        """True when somebody is there and up at a time [h since the epoch]."""
        moment = self.local(time_h)
        if self.away is not None and self.away(moment):
            return False
        return self.awake[0] <= moment.time() <= self.awake[1]

    def local(self, time_h: float) -> datetime:
        """A time given in hours since the epoch, in the zone of the round."""
        return datetime.fromtimestamp(round(time_h * 3600.0), self.at.tzinfo)

    def model(self, vessel: Vessel) -> HatchModel:
        """The model of a hatch in one vessel, with the cysts' history."""
        return self.kind.model(
            temperature_c=vessel.temperature_c,
            salinity_g_per_l=vessel.salinity_g_per_l,
            nauplii_per_gram=self.nauplii_per_gram,
            wettings=self.wettings,
        )

    def given(self, model: HatchModel, set_h: float, harvest_h: float) -> Yielded:
        """What a gram gives at the round, set and harvested at these times [h since the epoch]."""
        from_h, incubated = harvest_h + self.kind.values["handling_h"], harvest_h - set_h
        at_h = hours(self.at)
        return Yielded(
            model.nauplii(incubated) * self.holding.alive(from_h, at_h),
            model.energy(incubated) * self.holding.share(from_h, at_h),
        )


def check_vessel(kind: HatchKind, vessel: Vessel) -> None:
    """Refuses a vessel in which nothing can be promised.

    Raises:
        RangeError: its temperature or salt.
    """
    wrong = kind.check_temperature(vessel.temperature_c)
    if wrong:
        raise RangeError(f"{vessel.name} at {vessel.temperature_c:.3g} °C: {wrong}")
    if not vessel.salinity_g_per_l >= 0 or kind.salinity_share(vessel.salinity_g_per_l) <= 0.05:
        low, high = kind.values["salinity_low_g_per_l"], kind.values["salinity_high_g_per_l"]
        raise RangeError(
            f"{vessel.name}: cysts do not hatch at {vessel.salinity_g_per_l:g} g/L of salt;"
            f" use {low:g} to {high:g}"
        )
