"""Kinds of live food: their parameters, read from data, and the models made of them."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from itertools import pairwise
from typing import Any

from attrs import field, frozen

from cultures.errors import RangeError, UnknownNameError, nearest
from cultures.fry import Food
from cultures.hatching import HatchModel, energy_loss_rate, log_logistic_shape
from cultures.parameters import (
    Parameter,
    ParameterError,
    Spec,
    data_table,
    data_tables,
    read_parameters,
    values_of,
)
from cultures.thermal import Briere
from cultures.units import TEASPOON_ML
from cultures.worms import WormModel

_THERMAL = {
    "t_min_c": Spec("°C", -5, 25, "no development at or below"),
    "t_max_c": Spec("°C", 15, 50, "no development at or above"),
    "t_ref_c": Spec("°C", 5, 40, "temperature at which the rates below are stated"),
    "lethal_low_c": Spec("°C", -40, 20, "dies at or below"),
    "lethal_high_c": Spec("°C", 20, 60, "dies at or above"),
}

_BODY = {
    "width_um": Spec("um", 1, 5000, "width that a mouth must pass"),
    "individual_mass_ug": Spec("ug wet", 1e-4, 1e5, "mean wet mass of one"),
    "preference": Spec("", 0, 100, "how much a mixed diet leans to it (microworm: 1)", 1.0),
}

WORM_SPECS: dict[str, Spec] = {
    **_THERMAL,
    "growth_rate_per_day": Spec("1/d", 0.001, 5, "r, growth of a thin stock at the reference"),
    "lag_days": Spec("d", 0, 60, "days at the reference before the stock grows"),
    "capacity_mg_per_cm2": Spec("mg/cm2", 0, 1e4, "stock that a surface carries; 0: no limit", 0.0),
    "capacity_mg_per_g": Spec("mg/g", 1e-3, 1e3, "stock that the medium carries by its mass"),
    "half_spent_days": Spec("d", 1, 2000, "age at which the medium is half spent"),
    "souring_width_days": Spec("d", 0.1, 500, "how suddenly it sours"),
    "climbing_fraction": Spec("share", 0.001, 1, "largest share of the stock in one harvest"),
    "climbing_density": Spec("share", 0.001, 1, "share of capacity from which worms can be taken"),
    "starter_mg_per_g": Spec("mg/g", 1e-4, 1e3, "worms in a starter of unknown origin"),
    "energy_j_per_mg": Spec("J/mg wet", 0.1, 30, "energy of the wet worms"),
    **_BODY,
    "water_life_h": Spec("h", 0.05, 1000, "stays alive in the fry's water"),
    "portion_mg": Spec("mg wet", 0.1, 1e4, "worms in one swipe (roughly)"),
    "retire_share": Spec("share", 0.01, 0.9, "retire below this share of the best daily harvest"),
    "renew_days": Spec("d", 1, 1000, "usual interval between splits"),
    "yield_spread": Spec("share", 0, 5, "relative s.d. of a culture's yield", 0.3),
    "crash_per_day": Spec("1/d", 0, 1, "chance a day that a culture crashes", 0.01),
}

HATCH_SPECS: dict[str, Spec] = {
    **_THERMAL,
    "slow_below_c": Spec("°C", 0, 30, "slow and unreliable below"),
    "no_promise_below_c": Spec("°C", 0, 30, "no hatching time is promised below"),
    "warn_above_c": Spec("°C", 15, 45, "warn at or above"),
    "t10_h": Spec("h", 1, 200, "10 % of the hatchable cysts hatched, at the reference"),
    "t90_h": Spec("h", 1, 300, "90 % of the hatchable cysts hatched, at the reference"),
    "nauplii_per_gram": Spec("1/g", 1e3, 4e5, "nauplii that a gram of cysts gives"),
    "energy_j": Spec("J", 1e-3, 1, "energy of a nauplius just hatched"),
    "loss_per_h": Spec("1/h", 0, 0.5, "energy spent an hour at the loss reference"),
    "loss_ref_c": Spec("°C", 5, 40, "temperature of the loss"),
    "loss_q10": Spec("", 1, 5, "Q10 of the loss"),
    "cold_death_per_h": Spec("1/h", 0, 0.5, "deaths an hour while held cold"),
    "cold_below_c": Spec("°C", 0, 20, "cold holding means at or below"),
    "cold_hold_h": Spec("h", 0, 200, "longest cold holding"),
    "warm_hold_h": Spec("h", 0, 100, "longest holding at room temperature"),
    "salinity_low_g_per_l": Spec("g/L", 0, 60, "hatching suffers below"),
    "salinity_high_g_per_l": Spec("g/L", 10, 100, "hatching suffers above"),
    "salinity_stop_g_per_l": Spec("g/L", 30, 150, "nothing hatches at or above"),
    "fresh_water_share": Spec("share", 0, 1, "share that hatches with no salt"),
    "crowding_small_g_per_l": Spec("g/L", 0.1, 20, "most cysts a litre, small vessel"),
    "crowding_large_g_per_l": Spec("g/L", 0.1, 20, "most cysts a litre, large vessel"),
    "large_from_l": Spec("L", 1, 1000, "a vessel is large from"),
    "wetting_keeps_share": Spec("share", 0.1, 1, "hatch kept by cysts wetted and dried once", 1.0),
    "handling_h": Spec("h", 0, 6, "from the harvest to the first tank: settle, sieve, rinse", 0.5),
    "bulk_density_g_per_ml": Spec("g/mL", 0.1, 1.5, "dry cysts in a level spoon"),
    **_BODY,
    "water_life_h": Spec("h", 0.05, 1000, "stays alive in the fry's fresh water"),
    "yield_spread": Spec("share", 0, 5, "relative s.d. of a hatch's yield", 0.2),
}

#: Worm kinds whose medium is stated by volume; their harvest is measured in mL.
_MEDIA = ("solid", "liquid")


@frozen
class WormKind:
    """A worm (or other stock that grows on a medium) as the planner sees it.

    ``values`` holds the plain numbers by parameter name (units in :data:`WORM_SPECS`).
    """

    name: str
    label: str
    scientific: str
    medium: str
    parameters: Mapping[str, Parameter] = field(repr=False)
    values: Mapping[str, float] = field(repr=False)
    cautions: tuple[str, ...] = ()
    recipe: str = ""
    prefix: str = ""

    @property
    def rate(self) -> Briere:
        """Relative development rate by temperature."""
        return _briere(self.values)

    @property
    def food(self) -> Food:
        """What a mouth sees of it."""
        return _food(self.name, self.values)

    def model(
        self, *, medium_g: float, surface_cm2: float | None = None, yield_factor: float = 1.0
    ) -> WormModel:
        """The model of one culture.

        Capacity is the smaller of what its surface and its mass of medium carry: a thin
        layer is short of food, a deep one of air.

        Args:
            medium_g: mass of medium (1 mL counts as 1 g for liquids) [g].
            surface_cm2: surface of the medium [cm²]; without it only the mass counts.
            yield_factor: this keeper's yields against the data's.

        Raises:
            RangeError: a mass or surface that is not above 0.
        """
        v = self.values
        if not medium_g > 0:
            raise RangeError(f"medium_g must be above 0, got {medium_g:g}")
        capacity = medium_g * v["capacity_mg_per_g"]
        if surface_cm2 is not None and v["capacity_mg_per_cm2"] > 0:
            if not surface_cm2 > 0:
                raise RangeError(f"surface_cm2 must be above 0, got {surface_cm2:g}")
            capacity = min(capacity, surface_cm2 * v["capacity_mg_per_cm2"])
        return WormModel(
            growth_rate=v["growth_rate_per_day"],
            lag=v["lag_days"],
            capacity_mg=capacity * yield_factor,
            half_spent_age=v["half_spent_days"],
            souring_width=v["souring_width_days"],
            climbing_fraction=v["climbing_fraction"],
            climbing_density=v["climbing_density"],
        )

    def check_temperature(self, temperature_c: float) -> str | None:
        """What is wrong with keeping this kind at a temperature, or None."""
        return _lethal(self.label, self.values, temperature_c)


@frozen
class HatchKind:
    """Cysts that are hatched in batches; ``values`` as in :data:`HATCH_SPECS`."""

    name: str
    label: str
    scientific: str
    parameters: Mapping[str, Parameter] = field(repr=False)
    values: Mapping[str, float] = field(repr=False)
    strain: str = ""
    cautions: tuple[str, ...] = ()
    recipe: str = ""

    @property
    def rate(self) -> Briere:
        """Relative development rate by temperature."""
        return _briere(self.values)

    @property
    def food(self) -> Food:
        """What a mouth sees of it."""
        return _food(self.name, self.values)

    def model(
        self,
        *,
        temperature_c: float,
        salinity_g_per_l: float = 25.0,
        nauplii_per_gram: float | None = None,
    ) -> HatchModel:
        """The model of a hatch in one vessel.

        Args:
            temperature_c: water temperature [°C].
            salinity_g_per_l: salt [g/L].
            nauplii_per_gram: the keeper's own count, which wins over the data.
        """
        v = self.values
        t50_h, shape = log_logistic_shape(t10_h=v["t10_h"], t90_h=v["t90_h"])
        return HatchModel(
            t50_h=t50_h,
            shape=shape,
            rate=self.rate(temperature_c),
            nauplii_per_gram=(nauplii_per_gram or v["nauplii_per_gram"])
            * self.salinity_share(salinity_g_per_l),
            energy_j=v["energy_j"],
            loss_per_h=self.loss_per_h(temperature_c),
        )

    def loss_per_h(self, temperature_c: float) -> float:
        """Relative energy a nauplius spends an hour [1/h]."""
        v = self.values
        return energy_loss_rate(
            temperature_c, rate_per_h=v["loss_per_h"], t_ref_c=v["loss_ref_c"], q10=v["loss_q10"]
        )

    def salinity_share(self, salinity_g_per_l: float) -> float:
        """Share of the hatchable cysts that hatch at a salinity, linear outside the best range."""
        v = self.values
        low, high = v["salinity_low_g_per_l"], v["salinity_high_g_per_l"]
        if salinity_g_per_l < low:
            fresh = v["fresh_water_share"]
            return fresh + (1.0 - fresh) * max(0.0, salinity_g_per_l) / low
        if salinity_g_per_l <= high:
            return 1.0
        return max(0.0, 1.0 - (salinity_g_per_l - high) / (v["salinity_stop_g_per_l"] - high))

    def most_grams(self, litres: float) -> float:
        """Most cysts that a vessel takes without crowding [g]."""
        v = self.values
        large = litres >= v["large_from_l"]
        return litres * v["crowding_large_g_per_l" if large else "crowding_small_g_per_l"]

    def spoons(self, grams: float) -> float:
        """Level US teaspoons of dry cysts."""
        return grams / (self.values["bulk_density_g_per_ml"] * TEASPOON_ML)

    def check_temperature(self, temperature_c: float) -> str | None:
        """What is wrong with hatching at a temperature, or None."""
        v = self.values
        if temperature_c >= v["lethal_high_c"]:
            return f"{self.label} cysts stop or die at {v['lethal_high_c']:g} °C and above"
        if temperature_c < v["no_promise_below_c"]:
            return (
                f"no hatching time can be promised below {v['no_promise_below_c']:g} °C;"
                f" warm the vessel to {v['t_ref_c']:g} °C"
            )
        return None

    def warn_temperature(self, temperature_c: float) -> str | None:
        """A warning for a temperature that works, but badly; or None."""
        v = self.values
        if temperature_c < v["slow_below_c"]:
            return f"hatching is slow and unreliable below {v['slow_below_c']:g} °C"
        if temperature_c >= v["warn_above_c"]:
            return f"at {v['warn_above_c']:g} °C and above a heater fault soon kills the cysts"
        return None


Kind = WormKind | HatchKind

_KIND_KEYS = ("name", "label", "scientific", "model", "medium", "prefix", "recipe", "cautions",
              "parameters", "strains", "like")  # fmt: skip


def read_kind(table: Mapping[str, Any], *, strain: str | None = None) -> Kind:
    """A kind from its table (shipped data and room file alike).

    ``like = "microworm"`` starts from a shipped kind and changes what is given.

    Raises:
        ParameterError: an unknown key, or a parameter that is missing or wrong.
        UnknownNameError: an unknown strain, or an unknown kind in ``like``.
    """
    for key in table:
        if key not in _KIND_KEYS:
            raise ParameterError(key, f"unknown key; {nearest(key, _KIND_KEYS)}")
    if "like" in table:
        table = _merged(_shipped_table(str(table["like"])), table)
    name = str(table.get("name", ""))
    if not name:
        raise ParameterError("name", "a kind needs a name")
    model = table.get("model")
    common: dict[str, Any] = {
        "name": name,
        "label": str(table.get("label", name.replace("_", " "))),
        "scientific": str(table.get("scientific", "")),
        "cautions": tuple(table.get("cautions", ())),
        "recipe": str(table.get("recipe", "")),
    }
    raw = dict(table.get("parameters", {}))
    if strain:
        strains = table.get("strains", {})
        if strain not in strains:
            raise UnknownNameError(f"strain of {name}", strain, strains)
        raw.update({k: v for k, v in strains[strain].items() if k != "label"})
    if model == "worm_culture":
        medium = str(table.get("medium", "solid"))
        if medium not in _MEDIA:
            raise ParameterError("medium", f"must be one of {', '.join(_MEDIA)}")
        parameters = read_parameters(raw, WORM_SPECS)
        _check(parameters, ("t_min_c", "t_ref_c", "t_max_c"))
        prefix = str(table.get("prefix") or "".join(w[0] for w in name.split("_")).upper())
        return WormKind(
            **common,
            medium=medium,
            parameters=parameters,
            values=values_of(parameters),
            prefix=prefix,
        )
    if model == "hatch":
        parameters = read_parameters(raw, HATCH_SPECS)
        _check(parameters, ("t_min_c", "t_ref_c", "t_max_c"), ("t10_h", "t90_h"))
        return HatchKind(
            **common, parameters=parameters, values=values_of(parameters), strain=strain or ""
        )
    raise ParameterError("model", "must be 'worm_culture' or 'hatch'")


def _merged(base: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    merged = {**base, **{k: v for k, v in own.items() if k not in ("like", "parameters")}}
    merged["parameters"] = {**base.get("parameters", {}), **own.get("parameters", {})}
    return merged


def _check(parameters: Mapping[str, Parameter], *orders: tuple[str, ...]) -> None:
    for order in orders:
        for low, high in pairwise(order):
            if parameters[low].value >= parameters[high].value:
                raise ParameterError(high, f"must be above {low} ({parameters[low].value:g})")


def _briere(values: Mapping[str, float]) -> Briere:
    return Briere(t_min_c=values["t_min_c"], t_max_c=values["t_max_c"], t_ref_c=values["t_ref_c"])


def _food(name: str, values: Mapping[str, float]) -> Food:
    return Food(
        name=name,
        width_um=values["width_um"],
        mass_mg=values["individual_mass_ug"] / 1000.0,
        preference=values["preference"],
    )


def _lethal(label: str, values: Mapping[str, float], temperature_c: float) -> str | None:
    if temperature_c <= values["lethal_low_c"]:
        return f"{label} dies at {values['lethal_low_c']:g} °C and below"
    if temperature_c >= values["lethal_high_c"]:
        return f"{label} dies at {values['lethal_high_c']:g} °C and above"
    return None


@lru_cache(maxsize=32)
def _shipped_table(name: str) -> dict[str, Any]:
    try:
        return data_table("kinds", f"{name}.toml")
    except FileNotFoundError:
        raise UnknownNameError("kind of live food", name, kind_names()) from None


@lru_cache(maxsize=1)
def kind_names() -> tuple[str, ...]:
    """Names of the shipped kinds."""
    return tuple(name for name, _ in data_tables("kinds"))


@lru_cache(maxsize=32)
def shipped_kind(name: str, strain: str | None = None) -> Kind:
    """One shipped kind.

    Raises:
        UnknownNameError: no such kind or strain.
    """
    return read_kind(_shipped_table(name), strain=strain)


def strains(name: str) -> dict[str, str]:
    """Shipped strains of a kind: name and label."""
    table = _shipped_table(name).get("strains", {})
    return {key: str(entry.get("label", key)) for key, entry in table.items()}
