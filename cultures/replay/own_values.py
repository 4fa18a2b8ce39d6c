"""A keeper's own values in the place of the shipped ones."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import HatchKind, Kind, WormKind
from cultures.fry.classes import FryClass
from cultures.room.room import Cysts, HowSure, Room


@frozen
class OwnValues:
    """What a plan is to use in the place of the data.

    Attributes:
        nauplii_per_gram: of the tin in use, or None for the room file's own; tins_before: of those
            before, as :class:`Cysts` has them.
        hatch_time: T10 and T90 against the data's. hatch_spread: relative s.d. of hatches.
        yields: what cultures of a kind carry against the data's.
        portions_mg: worms in a swipe or draw, by kind [mg]. crashes: by kind [1/d].
        growth: speed of growth of a brood against its class.
        sure: how sure each of these is.
    """

    nauplii_per_gram: float | None = None
    hatch_time: float = 1.0
    yields: Mapping[str, float] = field(factory=dict)
    portions_mg: Mapping[str, float] = field(factory=dict)
    crashes: Mapping[str, float] = field(factory=dict)
    growth: Mapping[str, float] = field(factory=dict)
    sure: HowSure = field(factory=HowSure)
    tins_before: tuple[tuple[float, float], ...] = ()


def with_own_values(room: Room, own_values: OwnValues) -> Room:
    """The room as the keeper's own values make it."""
    if own_values == OwnValues():
        return room
    cysts = room.cysts
    if own_values.nauplii_per_gram is not None:
        cysts = evolve(cysts or Cysts(0.0), nauplii_per_gram=own_values.nauplii_per_gram)
    if own_values.tins_before:
        cysts = evolve(cysts or Cysts(0.0), before=own_values.tins_before)
    return evolve(
        room,
        kinds={name: _kind(kind, own_values) for name, kind in room.kinds.items()},
        cultures=tuple(evolve(c, kind=_worms(c.kind, own_values)) for c in room.cultures),
        hatch_kind=_hatch(room.hatch_kind, own_values),
        cysts=cysts,
        broods=tuple(
            evolve(b, fry_class=grown(b.fry_class, own_values.growth.get(b.name, 1.0)))
            for b in room.broods
        ),
        sure=own_values.sure,
    )


def _kind(kind: Kind, own_values: OwnValues) -> Kind:
    return _worms(kind, own_values) if isinstance(kind, WormKind) else _hatch(kind, own_values)


def _worms(kind: WormKind, own_values: OwnValues) -> WormKind:
    changes: dict[str, float] = {}
    factor = own_values.yields.get(kind.name, 1.0)
    if factor != 1.0:
        for name in ("capacity_mg_per_cm2", "capacity_mg_per_g"):
            changes[name] = kind.values[name] * factor
    if kind.name in own_values.portions_mg:
        changes["portion_mg"] = own_values.portions_mg[kind.name]
    if kind.name in own_values.crashes:
        changes["crash_per_day"] = own_values.crashes[kind.name]
    return evolve(kind, values={**kind.values, **changes}) if changes else kind


def _hatch(kind: HatchKind, own_values: OwnValues) -> HatchKind:
    if own_values.hatch_time == 1.0 or kind.name != BRINE_SHRIMP:
        return kind
    names, factor = ("t10_h", "t90_h"), own_values.hatch_time
    times = {name: kind.values[name] * factor for name in names}
    low, high = own_values.sure.ranges.get(("hatch_time", kind.name), (1.0, 1.0))
    known = {
        name: evolve(kind.parameters[name], value=time, low=time * low, high=time * high,
                     sources=(), status="keeper", note="")
        for name, time in times.items()
    }  # fmt: skip
    return evolve(kind, values={**kind.values, **times}, parameters={**kind.parameters, **known})


def grown(fry_class: FryClass, factor: float) -> FryClass:
    """A class whose fry grow so many times as fast."""
    if factor == 1.0:
        return fry_class
    rate = fry_class.values["growth_rate_per_day"] * factor
    return evolve(fry_class, values={**fry_class.values, "growth_rate_per_day": rate})
