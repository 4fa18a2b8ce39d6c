"""A keeper's own values in the place of the shipped ones."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Mapping, MutableMapping
from typing import cast

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import HatchKind, Kind, WormKind
from cultures.fry.classes import FryClass
from cultures.room.room import Brood, Cysts, Room


@frozen
class Beliefs:
    """What a plan is to use in the place of the data.

    Attributes:
        nauplii_per_gram: of the tin in use, or None for the room file's own.
        hatch_time: T10 and T90 against the data's. hatch_spread: relative s.d. of hatches.
        yields: what cultures of a kind carry against the data's.
        portions_mg: worms in a swipe or draw, by kind [mg]. crashes: by kind [1/d].
        growth: speed of growth of a brood against its class.
    """

    nauplii_per_gram: float | None = None
    hatch_time: float = 1.0
    yields: Mapping[str, float] = field(factory=dict)
    portions_mg: Mapping[str, float] = field(factory=dict)
    crashes: Mapping[str, float] = field(factory=dict)
    growth: Mapping[str, float] = field(factory=dict)


def with_beliefs(room: Room, beliefs: Beliefs) -> Room:
    """The room as the keeper's own values make it."""
    if beliefs == Beliefs():
        return room
    own = {*beliefs.yields, *beliefs.portions_mg, *beliefs.crashes, BRINE_SHRIMP}
    changed = {name: _kind(room.kinds[name], beliefs) for name in own if name in room.kinds}
    cysts = room.cysts
    if beliefs.nauplii_per_gram is not None:
        cysts = evolve(cysts or Cysts(0.0), nauplii_per_gram=beliefs.nauplii_per_gram)
    return evolve(
        room,
        kinds=ChainMap(changed, cast(MutableMapping[str, Kind], room.kinds)),
        cultures=tuple(evolve(c, kind=_worms(c.kind, beliefs)) for c in room.cultures),
        hatch_kind=_hatch(room.hatch_kind, beliefs),
        cysts=cysts,
        broods=tuple(_brood(b, beliefs) for b in room.broods),
    )


def _kind(kind: Kind, beliefs: Beliefs) -> Kind:
    return _worms(kind, beliefs) if isinstance(kind, WormKind) else _hatch(kind, beliefs)


def _worms(kind: WormKind, beliefs: Beliefs) -> WormKind:
    changes: dict[str, float] = {}
    factor = beliefs.yields.get(kind.name, 1.0)
    if factor != 1.0:
        for name in ("capacity_mg_per_cm2", "capacity_mg_per_g"):
            changes[name] = kind.values[name] * factor
    if kind.name in beliefs.portions_mg:
        changes["portion_mg"] = beliefs.portions_mg[kind.name]
    if kind.name in beliefs.crashes:
        changes["crash_per_day"] = beliefs.crashes[kind.name]
    return evolve(kind, values={**kind.values, **changes}) if changes else kind


def _hatch(kind: HatchKind, beliefs: Beliefs) -> HatchKind:
    if beliefs.hatch_time == 1.0 or kind.name != BRINE_SHRIMP:
        return kind
    times = {name: kind.values[name] * beliefs.hatch_time for name in ("t10_h", "t90_h")}
    return evolve(kind, values={**kind.values, **times})


def _brood(brood: Brood, beliefs: Beliefs) -> Brood:
    factor = beliefs.growth.get(brood.name, 1.0)
    if factor == 1.0:
        return brood
    return evolve(brood, fry_class=grown(brood.fry_class, factor))


def grown(fry_class: FryClass, factor: float) -> FryClass:
    """A class whose fry grow so many times as fast."""
    rate = fry_class.values["growth_rate_per_day"] * factor
    return evolve(fry_class, values={**fry_class.values, "growth_rate_per_day": rate})
