"""Energy of a food in the unit that a keeper counts or weighs."""

from __future__ import annotations

from attrs import frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.fry.feeding import feeding_values
from cultures.room.room import Room


@frozen
class Amount:
    """So much of a food: ``nauplii`` (fresh from the shell), ``mg`` of live wet mass, ``g`` dry."""

    value: float
    unit: str


def natural_amount(room: Room, food: str, energy_j: float) -> Amount:
    """Energy of a food [J] as an amount of it.

    Raises:
        UnknownNameError: neither ``dry`` nor a food of this room.
    """
    if food == DRY:
        v = feeding_values()
        return Amount(energy_j / (v["dry_j_per_g"] * v["dry_digested"]), "g")
    if food == BRINE_SHRIMP:
        return Amount(energy_j / room.hatch_kind.values["energy_j"], "nauplii")
    kind = room.kinds.get(food)
    if isinstance(kind, WormKind):
        return Amount(energy_j / kind.fed_j_per_mg, "mg")
    live = room.food(food)
    return Amount(energy_j / feeding_values()["live_food_j_per_mg"], "mg" if live.mass_mg else "g")
