"""Hatches in the vessels of a room, and what is drawn off held until it is fed."""

from __future__ import annotations

import math

from cultures.foods.hatching import HatchModel
from cultures.foods.vessels import Vessel
from cultures.room.room import Room
from cultures.words.units import TEASPOON_ML

#: A harvest for several rounds is kept in a jar of this [mL]; held nauplii at most so dense (Ghent
#: course: 8 million a litre).
_JAR_ML = 500.0
_PINT_ML = 96 * TEASPOON_ML
_DENSEST_PER_ML = 8000.0
#: A jar with no more than this share of its volume left is empty: it clings to glass and sieve.
CRUMB = 0.02


def whole_jar_ml(told_ml: float | None, nauplii: float, share: float, units: str) -> float:
    """What the whole of a harvest is made up to for keeping [mL]: as it was told, or a multiple of
    half a litre (a pint where the room measures so) that holds no more than keep in it.

    Args:
        nauplii: in the share of it that is left.
    """
    jar_ml = _PINT_ML if units == "us" else _JAR_ML
    return told_ml or jar_ml * max(1, math.ceil(nauplii / share / (_DENSEST_PER_ML * jar_ml)))


def vessel_model(room: Room, vessel: Vessel) -> HatchModel:
    """The hatch model of a vessel, with the keeper's own count if there is one."""
    return room.hatch_kind.model(
        temperature_c=vessel.temperature_c,
        salinity_g_per_l=vessel.salinity_g_per_l,
        nauplii_per_gram=room.cysts.nauplii_per_gram if room.cysts else None,
    )
