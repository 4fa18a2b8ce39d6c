"""What is asked of one hatch, and what there is to do it with."""

from __future__ import annotations

import math
from datetime import datetime, time

from attrs import evolve, field, frozen

from cultures.errors import LivefoodError, RangeError
from cultures.foods.hatching import HatchModel, held_share
from cultures.foods.kinds import HatchKind
from cultures.foods.vessels import Vessel
from cultures.words.moments import hours


class HatchNotPossibleError(LivefoodError):
    """No hatch can meet the request; the message says what could be done."""


@frozen
class Holding:
    """How a harvest is kept until it is fed.

    Attributes:
        warm_c: temperature outside the refrigerator [°C].
        fridge_c: of the refrigerator, or None [°C].
    """

    warm_c: float = 24.0
    fridge_c: float | None = None

    def cold(self, kind: HatchKind) -> bool:
        """True when there is a refrigerator that is cold enough."""
        return self.fridge_c is not None and self.fridge_c <= kind.values["cold_below_c"]

    def longest_h(self, kind: HatchKind) -> float:
        """Longest holding that sources support [h]."""
        return kind.values["cold_hold_h" if self.cold(kind) else "warm_hold_h"]

    def shares(self, kind: HatchKind, held_h: float) -> tuple[float, float]:
        """(nauplii alive, energy left) after holding, as shares of the harvest."""
        cold = self.fridge_c if self.cold(kind) else None
        death = kind.values["cold_death_per_h"] if cold is not None else 0.0
        loss = kind.loss_per_h(self.warm_c if cold is None else cold)
        alive = held_share(held_h, loss_per_h=0.0, death_per_h=death)
        return alive, held_share(held_h, loss_per_h=loss, death_per_h=death)


@frozen
class Yielded:
    """Nauplii, and the energy they carry [J]."""

    nauplii: float
    energy_j: float

    def times(self, factor: float) -> Yielded:
        """So many times as much."""
        return Yielded(self.nauplii * factor, self.energy_j * factor)


@frozen
class HatchRequest:
    """What is wanted, and what there is to do it with.

    Attributes:
        at: the round at which it is fed (aware).
        vessels: to choose from.
        awake: no step outside these times of day.
        nauplii, energy_j: the need; exactly one of the two.
        now: nothing can be set before; None: no limit.
        nauplii_per_gram: the keeper's own count, which wins over the data.
        wettings: times the dry cysts have been damp and dried again.
        holding: how a harvest is kept.
        cysts_g: dry cysts in stock, or None [g].
        busy: (vessel, time) until when a hatch stands in it.
        makeup_ml: volume to which the rinsed harvest is made up [mL].
        later: rounds at which the rest could be fed.
    """

    at: datetime
    vessels: tuple[Vessel, ...]
    awake: tuple[time, time]
    nauplii: float | None = None
    energy_j: float | None = None
    now: datetime | None = None
    nauplii_per_gram: float | None = None
    wettings: int = 0
    holding: Holding = field(factory=Holding)
    cysts_g: float | None = None
    busy: tuple[tuple[str, datetime], ...] = ()
    makeup_ml: float = 200.0
    later: tuple[datetime, ...] = ()

    def __attrs_post_init__(self) -> None:
        if (self.nauplii is None) == (self.energy_j is None):
            raise RangeError("give either a number of nauplii or an energy, not both")
        need = self.need
        if not (need > 0 and math.isfinite(need)):
            raise RangeError(f"the need must be above 0, got {need:g}")
        if self.wettings < 0:
            raise RangeError(f"wettings must be 0 or more, got {self.wettings}")
        if not (self.makeup_ml > 0 and math.isfinite(self.makeup_ml)):
            raise RangeError(f"the rinse volume must be above 0 mL, got {self.makeup_ml:g}")
        if not self.vessels:
            raise HatchNotPossibleError("there is no vessel to set a hatch in")

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
        """True when somebody is up at a time [h since the epoch]."""
        return self.awake[0] <= self.local(time_h).time() <= self.awake[1]

    def local(self, time_h: float) -> datetime:
        """A time given in hours since the epoch, in the zone of the round."""
        return datetime.fromtimestamp(round(time_h * 3600.0), self.at.tzinfo)


def check_vessel(kind: HatchKind, vessel: Vessel) -> None:
    """Refuses a vessel in which nothing can be promised.

    Raises:
        RangeError: its litres, temperature or salt.
    """
    if not (vessel.litres > 0 and math.isfinite(vessel.litres)):
        raise RangeError(f"{vessel.name}: litres must be above 0, got {vessel.litres:g}")
    if not math.isfinite(vessel.temperature_c):
        raise RangeError(f"{vessel.name}: {vessel.temperature_c} is not a temperature")
    wrong = kind.check_temperature(vessel.temperature_c)
    if wrong:
        raise RangeError(f"{vessel.name} at {vessel.temperature_c:.3g} °C: {wrong}")
    if not vessel.salinity_g_per_l >= 0 or kind.salinity_share(vessel.salinity_g_per_l) <= 0.05:
        low, high = kind.values["salinity_low_g_per_l"], kind.values["salinity_high_g_per_l"]
        raise RangeError(
            f"{vessel.name}: cysts do not hatch at {vessel.salinity_g_per_l:g} g/L of salt;"
            f" use {low:g} to {high:g}"
        )


def vessel_model(
    kind: HatchKind, vessel: Vessel, *, nauplii_per_gram: float | None = None, wettings: int = 0
) -> HatchModel:
    """The model of a hatch in one vessel, with the cysts' history.

    References:
        :meth:`cultures.foods.kinds.HatchKind.model`; wetting as docs/models.md, "A hatch".
    """
    model = kind.model(
        temperature_c=vessel.temperature_c,
        salinity_g_per_l=vessel.salinity_g_per_l,
        nauplii_per_gram=nauplii_per_gram,
    )
    kept = kind.values["wetting_keeps_share"] ** wettings
    return evolve(model, nauplii_per_gram=model.nauplii_per_gram * kept)


def yield_at(
    kind: HatchKind, request: HatchRequest, model: HatchModel, set_h: float, harvest_h: float
) -> Yielded:
    """What a gram gives at the round when set and harvested at these times [h since the epoch]."""
    held_h = max(0.0, hours(request.at) - harvest_h - kind.values["handling_h"])
    alive, left = request.holding.shares(kind, held_h)
    incubated = harvest_h - set_h
    return Yielded(model.nauplii(incubated) * alive, model.energy(incubated) * left)
