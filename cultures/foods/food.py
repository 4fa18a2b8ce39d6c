"""A food as a mouth sees it."""

from __future__ import annotations

from attrs import frozen

from cultures.words import tools


@frozen
class Food:
    """What a mouth sees of a food.

    Attributes:
        name: ``microworm``, ``dry``...
        width_um: width to be passed [um]; 0 for dry food, whose grain is chosen to fit.
        mass_mg: wet mass of one [mg]; 0 for dry food.
        preference: how much a diet leans to it.
    """

    name: str
    width_um: float
    mass_mg: float
    preference: float


#: The food that needs no culture, as what is measured is called.
DRY = tools.DRY


BRINE_SHRIMP = "brine_shrimp"
