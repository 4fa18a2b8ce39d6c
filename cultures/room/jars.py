"""Hatches in the vessels of a room, and what is drawn off held until it is fed."""

from __future__ import annotations

from cultures.foods.hatching import HatchModel
from cultures.foods.holding import Holding
from cultures.foods.vessels import Vessel
from cultures.room.room import Room

#: A jar with no more than this share of its volume left is empty: it clings to glass and sieve.
CRUMB = 0.02


def holding_of(room: Room) -> Holding:
    """In the fridge where the room has one that is cold enough, else at room temperature."""
    return Holding(
        kind=room.hatch_kind,
        fridge_c=room.fridge_c,
        warm_c=lambda at_h: room.room_temperature_c(room.at_hour(at_h).date()),
    )


def vessel_model(room: Room, vessel: Vessel) -> HatchModel:
    """The hatch model of a vessel, with the keeper's own count if there is one."""
    return room.hatch_kind.model(
        temperature_c=vessel.temperature_c,
        salinity_g_per_l=vessel.salinity_g_per_l,
        nauplii_per_gram=room.cysts.nauplii_per_gram if room.cysts else None,
    )
