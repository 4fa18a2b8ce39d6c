"""A brood as it grows: first food, length, weight, ration, and what its mouth takes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from attrs import field, frozen

from cultures.errors import UnknownNameError, nearest
from cultures.parameters import (
    Parameter,
    ParameterError,
    Spec,
    data_table,
    data_tables,
    read_parameters,
    values_of,
)
from cultures.thermal import Q10

CLASS_SPECS: dict[str, Spec] = {
    "t_ref_c": Spec("°C", 5, 35, "temperature at which days and growth are stated"),
    "t_min_c": Spec("°C", 0, 30, "no development or growth below"),
    "t_max_c": Spec("°C", 15, 40, "no faster above"),
    "development_q10": Spec("", 1, 5, "Q10 of egg and larva up to first food"),
    "growth_q10": Spec("", 1, 5, "Q10 of growth"),
    "hatch_days": Spec("d", 0, 400, "spawning to hatching at the reference"),
    "first_food_days": Spec("d", 0, 400, "spawning to first food at the reference"),
    "length_first_food_mm": Spec("mm", 1, 50, "total length at first food"),
    "length_limit_mm": Spec("mm", 5, 500, "length the fry's growth curve tends to"),
    "growth_rate_per_day": Spec("1/d", 0.001, 1, "Gompertz rate at the reference"),
    "weight_a_mg": Spec("mg/mm^b", 1e-4, 0.2, "a in W = a L^b"),
    "weight_b": Spec("", 2, 4, "b in W = a L^b"),
    "gape_share": Spec("share", 0.01, 0.3, "gape at 90 degrees over total length"),
    "wean_mm": Spec("mm", 3, 100, "length at which half of the diet can be dry food"),
    "fry_until_mm": Spec("mm", 5, 300, "length from which they are fed as young fish, on dry food"),
    "survival_per_day": Spec("share", 0.5, 1, "share alive after a day"),
    "starve_days": Spec("d", 0.2, 60, "days without food after first food is due, at the reference"),
}


@frozen
class FryClass:
    """Species that grow and feed alike; ``values`` as in :data:`CLASS_SPECS`."""

    name: str
    label: str
    examples: str
    parameters: Mapping[str, Parameter] = field(repr=False)
    values: Mapping[str, float] = field(repr=False)

    @property
    def development(self) -> Q10:
        """Relative speed of egg and larva by temperature."""
        v = self.values
        return Q10(v["development_q10"], v["t_ref_c"], v["t_min_c"], v["t_max_c"])

    @property
    def growth(self) -> Q10:
        """Relative speed of growth by temperature."""
        v = self.values
        return Q10(v["growth_q10"], v["t_ref_c"], v["t_min_c"], v["t_max_c"])

    def length_mm(self, growth_days: float) -> float:
        """Total length after so many days of growth at the reference [mm].

        References:
            Gompertz 1825 in its growth form, L0 (Linf / L0)^(1 - exp(-g t)); the numbers
            of each class are data.
        """
        v = self.values
        ratio = math.log(v["length_limit_mm"] / v["length_first_food_mm"])
        grown = -math.expm1(-v["growth_rate_per_day"] * max(0.0, growth_days))
        return v["length_first_food_mm"] * math.exp(ratio * grown)

    def growth_days(self, length_mm: float) -> float:
        """The age on the growth curve at a length [d at the reference].

        0 for fry not longer than at first food; fry close to or over the end of the curve
        are put where 99.5 % of its rise is done.
        """
        v = self.values
        ratio = math.log(v["length_limit_mm"] / v["length_first_food_mm"])
        rise = math.log(length_mm / v["length_first_food_mm"]) / ratio
        return -math.log1p(-min(max(rise, 0.0), 0.995)) / v["growth_rate_per_day"]

    def weight_mg(self, length_mm: float) -> float:
        """Wet weight [mg] from total length [mm], W = a L^b (Froese 2006)."""
        return self.values["weight_a_mg"] * float(length_mm ** self.values["weight_b"])

    def gape_um(self, length_mm: float) -> float:
        """Widest opening of the mouth, at 90 degrees [um].

        References:
            Shirota 1970 measures it as sqrt(2) x upper jaw length; the share of the length
            is a class parameter, an estimate unless its data say otherwise.
        """
        return 1000.0 * self.values["gape_share"] * length_mm


_CLASS_KEYS = ("name", "label", "examples", "like", "parameters")


def read_class(table: Mapping[str, Any]) -> FryClass:
    """A fry class from its table; ``like`` starts from a shipped class.

    Raises:
        ParameterError: an unknown key, or a parameter that is missing or wrong.
        UnknownNameError: an unknown class in ``like``.
    """
    for key in table:
        if key not in _CLASS_KEYS:
            raise ParameterError(key, f"unknown key; {nearest(key, _CLASS_KEYS)}")
    raw = dict(table.get("parameters", {}))
    if "like" in table:
        raw = {**_shipped_table(str(table["like"]))["parameters"], **raw}
    name = str(table.get("name", ""))
    if not name:
        raise ParameterError("name", "a fry class needs a name")
    parameters = read_parameters(raw, CLASS_SPECS)
    values = values_of(parameters)
    for low, high in (
        ("t_min_c", "t_ref_c"),
        ("t_min_c", "t_max_c"),
        ("hatch_days", "first_food_days"),
        ("length_first_food_mm", "length_limit_mm"),
    ):
        if values[low] >= values[high]:
            raise ParameterError(high, f"must be above {low} ({values[low]:g})")
    return FryClass(
        name=name,
        label=str(table.get("label", name.replace("_", " "))),
        examples=str(table.get("examples", "")),
        parameters=parameters,
        values=values,
    )


@lru_cache(maxsize=64)
def _shipped_table(name: str) -> dict[str, Any]:
    try:
        return data_table("classes", f"{name}.toml")
    except FileNotFoundError:
        raise UnknownNameError("fry class", name, class_names()) from None


@lru_cache(maxsize=1)
def class_names() -> tuple[str, ...]:
    """Names of the shipped fry classes."""
    return tuple(name for name, _ in data_tables("classes"))


@lru_cache(maxsize=64)
def shipped_class(name: str) -> FryClass:
    """One shipped class.

    Raises:
        UnknownNameError: no such class.
    """
    return read_class(_shipped_table(name))


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


@lru_cache(maxsize=1)
def feeding_values() -> dict[str, float]:
    """The laws that hold for all classes, plain values (data/feeding.toml)."""
    table = data_table("feeding.toml")
    return {name: float(entry["value"]) for name, entry in table["parameters"].items()}


def dry_food() -> Food:
    """Dry food as a mouth sees it."""
    return Food(name="dry", width_um=0.0, mass_mg=0.0, preference=feeding_values()["dry_preference"])


def ration_per_day(weight_mg: float, temperature_c: float) -> float:
    """Live food eaten a day as a share of wet body weight [1/d].

    References:
        Allometric through the published 50-300 % band for larvae and juveniles; Q10 from
        Houde 1989 and Goolish & Adelman 1984 (docs/models.md, section "The ration").
    """
    v = feeding_values()
    t = min(max(temperature_c, v["ration_low_c"]), v["ration_high_c"])
    level = v["ration_at_1mg"] * weight_mg ** v["ration_exponent"]
    return float(level * v["ration_q10"] ** ((t - v["ration_ref_c"]) / 10.0))


def energy_per_day_j(weight_mg: float, temperature_c: float) -> float:
    """Energy to offer one fry a day [J]: ration x energy of live food x offered share."""
    v = feeding_values()
    eaten = weight_mg * ration_per_day(weight_mg, temperature_c) * v["live_food_j_per_mg"]
    return eaten * v["offered_share"]


def takable(width_um: float, gape_um: float) -> float:
    """Share of a brood whose mouths take a food of this width, smooth from 1 to 0."""
    v = feeding_values()
    return _logistic((v["takable_at"] - width_um / gape_um) / v["takable_width"])


def worth_taking(food_mass_mg: float, fry_mass_mg: float) -> float:
    """How far so small a mouthful is still worth the chase, smooth from 0 to 1."""
    v = feeding_values()
    return _logistic(math.log(food_mass_mg / fry_mass_mg / v["worth_at"]) / v["worth_width"])


def suitability(food: Food, fry_class: FryClass, length_mm: float) -> float:
    """How well a food suits fry of a length, 0 to 1: takable times worth taking.

    Dry food counts by how far the brood has learnt to take it.
    """
    if food.width_um <= 0:
        v = feeding_values()
        return _logistic(math.log(length_mm / fry_class.values["wean_mm"]) / v["wean_width"])
    fits = takable(food.width_um, fry_class.gape_um(length_mm))
    return fits * worth_taking(food.mass_mg, fry_class.weight_mg(length_mm))


def diet_shares(
    foods: Sequence[Food], fry_class: FryClass, length_mm: float
) -> dict[str, float]:
    """Share of each food in the diet at a length; they sum to 1, or are empty.

    Fry past ``fry_until_mm`` eat dry food if it is among the foods. A food that would be
    less than a worthwhile share is left out. Empty means that no food fits the mouth.
    """
    v = feeding_values()
    if length_mm >= fry_class.values["fry_until_mm"] and any(f.name == "dry" for f in foods):
        return {"dry": 1.0}
    weights = {}
    for food in foods:
        fit = suitability(food, fry_class, length_mm)
        if fit >= v["least_share"]:
            weights[food.name] = fit * food.preference
    total = sum(weights.values())
    kept = {name: w for name, w in weights.items() if w >= v["least_share"] * total}
    total = sum(kept.values())
    return {name: weight / total for name, weight in kept.items()}


def _logistic(x: float) -> float:
    if x >= 0:
        return 1.0 / (1.0 + math.exp(-min(x, 700.0)))
    e = math.exp(max(x, -700.0))
    return e / (1.0 + e)
