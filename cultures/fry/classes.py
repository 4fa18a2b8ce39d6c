"""A brood as it grows: first food, length, weight, mouth, spread of sizes.

What it eats is in :mod:`cultures.fry.feeding`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from attrs import evolve, field, frozen

from cultures.errors import nearest
from cultures.foods.parameters import (
    Parameter,
    ParameterError,
    check_ascending,
    check_keys,
    data_names,
    read_parameters,
    shipped_table,
    specs_of,
    values_of,
)
from cultures.foods.temperature import Q10
from cultures.fry.development import EffectiveTemperature, growth_law
from cultures.fry.feeding import feeding_values
from cultures.fry.species import filled, read_species, species_named, with_note

CLASS_SPECS = specs_of("fry_class")
#: So much over what its data speak of a class is left without a word (assumption).
_ABOVE_C = 1.0


@frozen
class FryClass:
    """Species that grow and feed alike, or one of them; ``values`` as in :data:`CLASS_SPECS`.

    Attributes:
        of: the class of a species; empty for a class. own: what the species has of its own.
    """

    name: str
    label: str
    examples: str
    parameters: Mapping[str, Parameter] = field(repr=False)
    values: Mapping[str, float] = field(repr=False)
    of: str = ""
    own: frozenset[str] = frozenset()

    @values.default
    def _values(self) -> Mapping[str, float]:
        return values_of(self.parameters)

    @property
    def named(self) -> dict[str, str]:
        """Its class, and its species where it is one, for other programs."""
        return {"class": self.of, "species": self.examples} if self.of else {"class": self.name}

    @property
    def development(self) -> EffectiveTemperature:
        """Relative speed of egg and larva by temperature."""
        v = self.values
        return EffectiveTemperature(v["development_t0_c"], v["t_ref_c"], v["t_max_c"])

    def check_eggs(self, temperature_c: float) -> str | None:
        """What is wrong with eggs of this class at a temperature, or None."""
        if self.development(temperature_c) > 0:
            return None
        low, high = self.values["development_t0_c"], self.values["t_max_c"]
        return (
            f"at {temperature_c:.3g} °C eggs of {self.label} do not develop; between {low:g} and"
            f" {high:g} °C they do"
        )

    def warn_temperature(self, temperature_c: float) -> str | None:
        """What to mind with fry of this class at a temperature, or None."""
        low, high = self.values["t_min_c"], self.values["t_max_c"]
        if temperature_c < low:
            none_c = self.growth.t_min_c
            if temperature_c <= none_c:
                return f"{self.label} fry do not grow at {none_c:g} °C or below"
            return f"{self.label} fry grow little below {low:g} °C, and not at all at {none_c:g} °C"
        if temperature_c > high + _ABOVE_C:
            return f"the figures for {self.label} end at {high:g} °C; check the heater"
        return None

    @property
    def growth(self) -> Q10:
        """Relative speed of growth by temperature."""
        limit = self.parameters["t_min_c"]
        return growth_law(self.values, limit.low, limit.high)

    def length_mm(self, growth_days: float) -> float:
        """Total length after so many days of growth at the reference [mm].

        Negative days lead back to fry smaller than their class at first food.

        References:
            Gompertz 1825 in its growth form, L0 (Linf / L0)^(1 - exp(-g t)); the numbers
            of each class are data.
        """
        v = self.values
        ratio = math.log(v["length_limit_mm"] / v["length_first_food_mm"])
        grown = -math.expm1(-v["growth_rate_per_day"] * growth_days)
        return v["length_first_food_mm"] * math.exp(ratio * grown)

    def growth_days(self, length_mm: float) -> float:
        """The age on the growth curve at a length [d at the reference].

        Negative for fry shorter than the class at first food; fry close to or over the end
        of the curve are put where 99.5 % of its rise is done.
        """
        v = self.values
        ratio = math.log(v["length_limit_mm"] / v["length_first_food_mm"])
        rise = math.log(length_mm / v["length_first_food_mm"]) / ratio
        return -math.log1p(-min(rise, 0.995)) / v["growth_rate_per_day"]

    def reaches(self, length_mm: float) -> bool:
        """Whether the growth curve comes to a length at all."""
        return self.length_mm(self.growth_days(length_mm)) >= length_mm * 0.999

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

    def length_spread(self, length_mm: float, start_mm: float | None = None) -> float:
        """Standard deviation of ln(length) within a brood of this mean length.

        It grows with what the brood has grown since it was of one size, at ``start_mm`` [mm]
        (a sorting, or else first food).

        References:
            Derived from the means and deviations of eight rearings, see
            ``spread_per_growth`` in data/feeding.toml.
        """
        start = self.values["length_first_food_mm"] if start_mm is None else start_mm
        return feeding_values()["spread_per_growth"] * max(0.0, math.log(length_mm / start))

    def sort_length_mm(self, start_mm: float | None = None) -> float:
        """Mean length at which the largest of a brood are ``sort_ratio`` times the smallest [mm].

        ``start_mm`` is the length at which it was last of one size; first food if left out.
        """
        v, laws = self.values, feeding_values()
        start = v["length_first_food_mm"] if start_mm is None else start_mm
        growth = math.log(v["sort_ratio"]) / (laws["spread_range_sd"] * laws["spread_per_growth"])
        return start * math.exp(growth)

    def crowded_count(self, length_mm: float, litres: float) -> float:
        """Fry of a length that a tank bears before the brood should be thinned or moved."""
        return self.values["crowd_mm_per_litre"] * litres / length_mm


_CLASS_KEYS = ("name", "label", "examples", "like", "parameters")
#: Parameters that must ascend.
_ORDERS = (
    ("t_min_c", "t_ref_c"), ("t_min_c", "t_max_c"), ("hatch_days", "first_food_days"),
    ("development_t0_c", "t_ref_c"), ("t_ref_c", "t_max_c"),
    ("length_first_food_mm", "length_limit_mm"),
)  # fmt: skip


def read_class(table: Mapping[str, Any]) -> FryClass:
    """A fry class from its table; ``like`` starts from a shipped class or species.

    Raises:
        ParameterError: an unknown key, or a parameter that is missing or wrong.
        UnknownNameError: an unknown class in ``like``. SpeciesNameError: several species.
    """
    check_keys(table, _CLASS_KEYS)
    raw = dict(table.get("parameters", {}))
    if "like" in table:
        raw = {**_parameters_of(str(table["like"])), **raw}
    name = str(table.get("name", ""))
    if not name:
        raise ParameterError("name", "a fry class needs a name")
    parameters = read_parameters(raw, CLASS_SPECS)
    check_ascending(parameters, *_ORDERS)
    label = str(table.get("label", name.replace("_", " ")))
    return FryClass(name, label, str(table.get("examples", "")), parameters)


def _shipped_table(name: str) -> dict[str, Any]:
    """The table of a shipped class; of one that is ``like`` another, with the other's values."""
    table = shipped_table("classes", name, "fry class")
    if "like" not in table:
        return table
    like = str(table["like"])
    rest = _shipped_table(like)["parameters"]
    own = {key: value for key, value in table.items() if key != "like"}
    as_in = {key: with_note(raw, f"as in {like}") for key, raw in rest.items()}
    return {**own, "parameters": {**as_in, **table["parameters"]}}


def _parameters_of(name: str) -> dict[str, Any]:
    """The parameters of a class, or of a species filled from its class, as files have them."""
    if name not in class_names() and (key := species_named(name)) is not None:
        species = read_species(key)
        return filled(species, _shipped_table(species.of)["parameters"])
    return dict(_shipped_table(name)["parameters"])


def class_names() -> tuple[str, ...]:
    """Names of the shipped fry classes."""
    return data_names("classes")


def class_hint(word: str, known: Iterable[str]) -> str:
    """What to write for a class that is not known by that name: by its fish, else its spelling."""
    names = tuple(known)
    name = next((name for name in classes_of_fish(word) if name in names), None)
    if name is not None:
        table = _shipped_table(name)
        return f"did you mean '{name}' ({table.get('examples', table['label'])})?"
    return nearest(word, names)


def classes_of_fish(word: str) -> list[str]:
    """The shipped classes whose fish are called by a word."""
    fish = word.lower().replace("_", " ").removesuffix("s")
    fish = fish.removesuffix("ie").removesuffix("y")  # a guppy is one of the guppies
    tables = {name: _shipped_table(name) for name in class_names()}
    return [
        name for name, table in tables.items()
        if fish in f"{table['label']}, {table.get('examples', '')}".lower()
    ]  # fmt: skip


def class_named(word: str, own: Iterable[str] = ()) -> str | None:
    """What a class or species is called in files: by a class's name, or any name of a species.

    Args:
        own: classes of the room file.

    Raises:
        SpeciesNameError: several species have this name.
    """
    return word if word in own or word in class_names() else species_named(word)


@lru_cache(maxsize=256)
def shipped_class(name: str) -> FryClass:
    """One shipped class, or a species by its key: its own values, and its class's for the rest.

    Raises:
        UnknownNameError: no such class or species.
    """
    if name in class_names() or (key := species_named(name)) is None:
        return read_class(_shipped_table(name))
    species = read_species(key)
    table = {"name": species.key, "label": species.names[0], "examples": species.scientific}
    whole = read_class({**table, "parameters": _parameters_of(species.key)})
    return evolve(whole, of=species.of, own=frozenset(species.parameters))
