"""How much a fry eats, and what its mouth takes. Laws that hold for all classes.

Their numbers are data (data/feeding.toml), each with its range, source and status.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache

from cultures.foods.food import DRY, Food
from cultures.foods.parameters import Parameter, shipped_parameters, values_of


def feeding_parameters() -> Mapping[str, Parameter]:
    """The laws that hold for all classes, with ranges and sources (data/feeding.toml)."""
    return shipped_parameters("feeding")


@lru_cache(maxsize=1)
def feeding_values() -> dict[str, float]:
    """The same as plain values."""
    return values_of(feeding_parameters())


def dry_food() -> Food:
    """Dry food as a mouth sees it."""
    preference = feeding_values()["dry_preference"]
    return Food(name=DRY, width_um=0.0, mass_mg=0.0, preference=preference)


def ration_per_day(weight_mg: float, temperature_c: float) -> float:
    """Live food to offer a day as a share of wet body weight [1/d].

    Notes:
        A ration to *offer*: for larvae under 5 mg it stands up to three times above what
        was measured as eaten (burbot, African catfish, perch), and within a factor of
        about 1.5 of the doses that grew best in trials on nauplii. Capped, because no
        larva was measured above twice its weight a day.

    References:
        Allometric through the published 50-300 % band for larvae and juveniles; Q10 from
        Houde 1989 and Goolish & Adelman 1984 (docs/models-fry.md, "The ration").
    """
    v = feeding_values()
    t = min(max(temperature_c, v["ration_low_c"]), v["ration_high_c"])
    level = min(v["ration_cap"], v["ration_at_1mg"] * weight_mg ** v["ration_exponent"])
    return float(level * v["ration_q10"] ** ((t - v["ration_ref_c"]) / 10.0))


def energy_per_day_j(weight_mg: float, temperature_c: float) -> float:
    """Energy to offer one fry a day [J]: ration x energy of live food x offered share.

    References:
        The energy of live food follows from the nauplius, 0.0387 J (Paffenhoefer 1967) in
        13.8 ug, because the ration was fitted to nauplii.
    """
    v = feeding_values()
    ration_mg = weight_mg * ration_per_day(weight_mg, temperature_c)
    return ration_mg * v["live_food_j_per_mg"] * v["offered_share"]


def takable(width_um: float, gape_um: float) -> float:
    """Share of a brood whose mouths take a food of this width, smooth from 1 to 0.

    References:
        Dabrowski & Bardega 1984: the 45 degree gape, 2 sin(22.5°) / sqrt(2) = 0.541 of the
        90 degree gape, marks the best prey width. Half of the brood is set there.
    """
    v = feeding_values()
    return logistic((v["takable_at"] - width_um / gape_um) / v["takable_width"])


def worth_taking(food_mass_mg: float, fry_mass_mg: float) -> float:
    """How far so small a mouthful is still worth the chase, smooth from 0 to 1.

    References:
        Common practice, no source: fry near 20 mm are nearly too big for microworms.
    """
    v = feeding_values()
    return logistic(math.log(food_mass_mg / fry_mass_mg / v["worth_at"]) / v["worth_width"])


def logistic(x: float) -> float:
    """1 / (1 + e^-x), without overflow."""
    if x >= 0:
        return 1.0 / (1.0 + math.exp(-min(x, 700.0)))
    e = math.exp(max(x, -700.0))
    return e / (1.0 + e)
