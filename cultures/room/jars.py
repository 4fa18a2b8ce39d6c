"""Hatches in the vessels of a room, and what is drawn off held until it is fed."""

from __future__ import annotations

import math

from attrs import frozen

from cultures.foods.hatching import HatchModel, held_share
from cultures.foods.kinds import HatchKind
from cultures.foods.vessels import Vessel
from cultures.room.room import Room


@frozen
class Holding:
    """How harvested nauplii are held, and for how long at most."""

    room: Room
    kind: HatchKind
    cold: bool

    @classmethod
    def of(cls, room: Room) -> Holding:
        """In the fridge where the room has one that is cold enough, else at room temperature."""
        kind = room.hatch_kind
        cold = room.fridge_c is not None and room.fridge_c <= kind.values["cold_below_c"]
        return cls(room=room, kind=kind, cold=cold)

    @property
    def longest_h(self) -> float:
        """Longest time from harvest to feeding [h]."""
        return self.kind.values["cold_hold_h" if self.cold else "warm_hold_h"]

    def share(self, from_h: float, to_h: float) -> float:
        """Energy left of what was harvested, after holding from one time to another."""
        v = self.kind.values
        if self.cold:
            assert self.room.fridge_c is not None
            loss, death = self.kind.loss_per_h(self.room.fridge_c), v["cold_death_per_h"]
        else:
            day = self.room.at_hour(from_h).date()
            loss, death = self.kind.loss_per_h(self.room.room_temperature_c(day)), 0.0
        return held_share(max(0.0, to_h - from_h), loss_per_h=loss, death_per_h=death)

    def alive(self, from_h: float, to_h: float) -> float:
        """Nauplii alive of those harvested."""
        death = self.kind.values["cold_death_per_h"] if self.cold else 0.0
        return math.exp(-death * max(0.0, to_h - from_h))


def vessel_model(room: Room, vessel: Vessel) -> HatchModel:
    """The hatch model of a vessel, with the keeper's own count if there is one."""
    return room.hatch_kind.model(
        temperature_c=vessel.temperature_c,
        salinity_g_per_l=vessel.salinity_g_per_l,
        nauplii_per_gram=room.cysts.nauplii_per_gram if room.cysts else None,
    )
