"""Kinds of live food: their parameters, read from data, and the models made of them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from attrs import evolve, field, frozen

from cultures.errors import UnknownNameError
from cultures.foods.food import Food
from cultures.foods.hatching import HatchModel, log_logistic_shape
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
from cultures.foods.temperature import Briere
from cultures.foods.variants import Variant, multiplied, read_variants
from cultures.foods.worms import WormModel
from cultures.words.units import DRAW_ML, TEASPOON_ML

WORM_SPECS, HATCH_SPECS = specs_of("worm_culture"), specs_of("hatch")
#: Parameters that must ascend.
_THERMAL_ORDERS = (("t_min_c", "t_ref_c", "t_max_c"), ("lethal_low_c", "t_ref_c", "lethal_high_c"))
_SALT_ORDER = ("salinity_low_g_per_l", "salinity_high_g_per_l", "salinity_stop_g_per_l")
#: A hatch that gives less than this share of its best a day [h] after it was set is slow, where its
#: vessel develops it by a tenth more slowly than warm water does (assumption).
_HALF, _DAY_H, _SLOWER = 0.5, 24.0, 0.9
#: Some always hatch, so that a count can be held against what was to be expected.
_LEAST_HATCHING = 0.05

#: Worms do best so far inside the limits of their growth (assumption) [°C].
_OVER_MIN_C, _BELOW_MAX_C = 8.0, 5.0
#: How deep a recipe lays its medium, as it says it.
_DEPTH = re.compile(r"\b[\d.]+ cm deep\b")
#: What worms are kept on; liquid media are stated by volume, and their harvest is measured in mL.
_MEDIA = ("solid", "liquid")


@frozen(kw_only=True)
class _Living:
    """What all kinds have; ``values``: plain numbers by name (data/specs).

    ``plural``: of the label, "" for one with an s; ``taken_off``: what the worms of a solid
    medium are wiped off, "" for the wall; ``like``: the label of the shipped kind that a keeper's
    own one starts from, "" for none.
    """

    name: str
    label: str
    scientific: str
    parameters: Mapping[str, Parameter] = field(repr=False)
    values: Mapping[str, float] = field(repr=False)
    cautions: tuple[str, ...] = ()
    recipe: str = ""
    plural: str = ""
    taken_off: str = ""
    like: str = ""

    @values.default
    def _values(self) -> Mapping[str, float]:
        return values_of(self.parameters)

    @property
    def labels(self) -> str:
        """What many of them are called."""
        return self.plural or f"{self.label}s"

    @property
    def about(self) -> str:
        """What it is to whoever knows it under another name; "" where nothing is given."""
        return self.scientific or (f"like {self.like}" if self.like else "")

    @property
    def named(self) -> str:
        """Its label, and in brackets what it is."""
        return f"{self.label} ({self.about})" if self.about else self.label

    @property
    def rate(self) -> Briere:
        """Relative development rate by temperature."""
        return Briere(self.values["t_min_c"], self.values["t_max_c"], self.values["t_ref_c"])

    @property
    def food(self) -> Food:
        """What a mouth sees of it."""
        v = self.values
        return Food(self.name, v["width_um"], v["individual_mass_ug"] / 1000.0, v["preference"])


@frozen
class Size:
    """How large a culture is.

    Attributes:
        medium_g, surface_cm2, starter_g: medium [g], surface of a solid one [cm²], starter [g].
    """

    medium_g: float
    surface_cm2: float | None
    starter_g: float


#: What a new culture is taken for where the room has none of its kind (common practice, no source).
_BOX, _BOTTLE = Size(150.0, 180.0, 15.0), Size(1500.0, None, 150.0)


@frozen(kw_only=True)
class WormKind(_Living):
    """A worm (or other stock that grows on a medium) as the planner sees it.

    Attributes:
        medium: ``solid`` or ``liquid``. prefix: of the names of its cultures. signs: by what a
            keeper tells that one sours or has crashed, in sentences.
        media, harvests: what it can be kept on, and how it can be harvested, by name.
        on, by: those of them that its parameters are stated for here; None for the usual ones.
    """

    medium: str
    prefix: str = ""
    signs: str = ""
    media: Mapping[str, Variant] = field(factory=dict, repr=False)
    harvests: Mapping[str, Variant] = field(factory=dict, repr=False)
    on: Variant | None = None
    by: Variant | None = None

    @property
    def usual_size(self) -> Size:
        """Of a box or bottle of it."""
        return _BOX if self.medium == "solid" else _BOTTLE

    @property
    def fed_j_per_mg(self) -> float:
        """What a milligram of it is worth to fry, as so much energy of nauplii [J/mg wet]."""
        return self.values["energy_j_per_mg"] * self.values["food_value"]

    @property
    def harvest_cautions(self) -> tuple[str, ...]:
        """What is shown with a harvest: its first caution, and that of the way it is harvested."""
        way = (self.by.caution,) if self.by is not None and self.by.caution else ()
        return (*self.cautions[:1], *way)

    @property
    def as_kept(self) -> tuple[str, str]:
        """The names of its medium and of its way to harvest, "" for the usual ones."""
        return (self.on.name if self.on else "", self.by.name if self.by else "")

    def kept(self, medium: str | None = None, harvest: str | None = None) -> WormKind:
        """The kind on another medium, harvested in another way; itself for the usual ones.

        Raises:
            UnknownNameError: none of this name is known of the kind.
        """
        on = _one_of(self.media, medium, f"medium for the {self.label}")
        by = _one_of(self.harvests, harvest, f"way to harvest the {self.label}")
        if on is None and by is None:
            return self
        parameters = multiplied(multiplied(self.parameters, on), by)
        return evolve(
            self,
            on=on or self.on,
            by=by or self.by,
            parameters=parameters,
            values=values_of(parameters),
            recipe=(on.recipe if on else "") or self.recipe,
            taken_off=(by.taken_off if by else "") or self.taken_off,
            cautions=(*self.cautions, *([on.caution] if on and on.caution else [])),
        )

    def recipe_of(self, medium_g: float, surface_cm2: float | None) -> str:
        """The recipe, with the depth at which so much of a solid medium lies on so much surface.

        Args:
            medium_g: at 1 g/mL [g]. surface_cm2: None where nobody said [cm²].
        """
        if not surface_cm2 or self.medium == "liquid":
            return self.recipe
        depth_cm = max(0.1, round(medium_g / surface_cm2, 1))  # nobody lays it to the millimetre
        return _DEPTH.sub(f"{depth_cm:g} cm deep", self.recipe, count=1)

    @property
    def capacity_key(self) -> str:
        """The parameter that says how much of it a culture carries: by its surface, or its mass."""
        by_surface = self.values["capacity_mg_per_cm2"] > 0
        return "capacity_mg_per_cm2" if by_surface else "capacity_mg_per_g"

    def model(self, *, medium_g: float, surface_cm2: float | None = None) -> WormModel:
        """The model of one culture.

        Capacity is the smaller of what its surface and its mass of medium carry: a thin
        layer is short of food, a deep one of air.

        Args:
            medium_g: mass of medium (1 mL counts as 1 g for liquids) [g].
            surface_cm2: surface of the medium [cm²]; without it only the mass counts.
        """
        v = self.values
        capacity = medium_g * v["capacity_mg_per_g"]
        if surface_cm2 is not None and v["capacity_mg_per_cm2"] > 0:
            capacity = min(capacity, surface_cm2 * v["capacity_mg_per_cm2"])
        return WormModel(
            growth_rate=v["growth_rate_per_day"],
            lag=v["lag_days"],
            capacity_mg=capacity,
            half_spent_age=v["half_spent_days"],
            souring_width=v["souring_width_days"],
            climbing_fraction=v["climbing_fraction"],
            climbing_density=v["climbing_density"],
            daily_fraction=v["daily_fraction"],
            drawn_mg=medium_g / DRAW_ML * v["portion_mg"] if self.medium == "liquid" else math.inf,
        )

    @property
    def best_c(self) -> tuple[float, float]:
        """Between which temperatures it does best [°C]."""
        return self.values["t_min_c"] + _OVER_MIN_C, self.values["t_max_c"] - _BELOW_MAX_C

    def check_temperature(self, temperature_c: float) -> str | None:
        """What is wrong with keeping this kind at a temperature, or None."""
        v = self.values
        if temperature_c <= v["lethal_low_c"]:
            return f"{self.label} dies at {v['lethal_low_c']:g} °C and below"
        if temperature_c >= v["lethal_high_c"]:
            return f"{self.label} dies at {v['lethal_high_c']:g} °C and above"
        return None


def _one_of(known: Mapping[str, Variant], name: str | None, what: str) -> Variant | None:
    """A variant by name; None for the usual one, which has no factors."""
    if name is None:
        return None
    if name not in known:
        raise UnknownNameError(what, name, known)
    found = known[name]
    return found if found.factors else None


@frozen(kw_only=True)
class HatchKind(_Living):
    """Cysts that are hatched in batches."""

    strain: str = ""

    def model(
        self,
        *,
        temperature_c: float,
        salinity_g_per_l: float = 25.0,
        nauplii_per_gram: float | None = None,
        wettings: int = 0,
    ) -> HatchModel:
        """The model of a hatch in one vessel.

        Args:
            temperature_c: water temperature [°C].
            salinity_g_per_l: salt [g/L].
            nauplii_per_gram: the keeper's own count, which wins over the data.
            wettings: times the dry cysts have been damp and dried again.
        """
        v = self.values
        count = v["nauplii_per_gram"] if nauplii_per_gram is None else nauplii_per_gram
        kept = v["wetting_keeps_share"] ** wettings
        t50_h, shape = log_logistic_shape(t10_h=v["t10_h"], t90_h=v["t90_h"])
        return HatchModel(
            t50_h=t50_h,
            shape=shape,
            rate=self.rate(temperature_c),
            nauplii_per_gram=count * self.hatching_share(temperature_c, salinity_g_per_l) * kept,
            energy_j=v["energy_j"],
            loss_per_h=self.loss_per_h(temperature_c),
        )

    def loss_per_h(self, temperature_c: float) -> float:
        """k(T): relative energy a nauplius spends an hour [1/h].

        References:
            Level from Vanhaecke, Lavens & Sorgeloos 1983, Annales de la Société royale
            zoologique de Belgique 113:155-164; the temperature law is an assumption (data).
        """
        v = self.values
        warmer = (temperature_c - v["loss_ref_c"]) / 10.0
        return float(v["loss_per_h"] * v["loss_q10"] ** warmer)

    def hatching_share(self, temperature_c: float, salinity_g_per_l: float) -> float:
        """Share of the hatchable cysts that hatch as warm and in as much salt as that."""
        return self.warmth_share(temperature_c) * self.salinity_share(salinity_g_per_l)

    def warmth_share(self, temperature_c: float) -> float:
        """Share of the hatchable cysts that hatch in the cold: all from ``full_hatch_from_c`` on,
        none where nothing develops, linear between.

        Where no time is promised any more it is what it is at the coldest that one is: a hatch that
        stood colder for a while is none that was set there.
        """
        v = self.values
        full_c, none_c = v["full_hatch_from_c"], v["t_min_c"]
        if full_c <= none_c:
            return 1.0
        share = (max(temperature_c, v["no_promise_below_c"]) - none_c) / (full_c - none_c)
        return min(1.0, max(_LEAST_HATCHING, share))

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

    @property
    def keeps_at_most_h(self) -> float:
        """Longest that nauplii can be food in a vessel past its best, by the sources [h]."""
        return self.parameters["warm_hold_h"].high

    def most_grams(self, litres: float) -> float:
        """Most cysts that a vessel takes without crowding [g]."""
        v = self.values
        large = litres >= v["large_from_l"]
        return litres * v["crowding_large_g_per_l" if large else "crowding_small_g_per_l"]

    @property
    def warm_c(self) -> float:
        """The water in which the data have a hatch ready in a day [°C]."""
        return self.values["t_ref_c"]

    def is_slow(self, temperature_c: float) -> bool:
        """Whether a hatch brings less than half of its best a day after it was set, and warmer
        water would mend that.
        """
        warm = self.rate(self.warm_c)
        if temperature_c >= self.warm_c or self.rate(temperature_c) >= _SLOWER * warm:
            return False
        model = self.model(temperature_c=temperature_c)
        return model.rate <= 0.0 or model.window(_HALF)[0] > _DAY_H

    def spoons(self, grams: float) -> float:
        """Level US teaspoons of dry cysts."""
        return grams / (self.values["bulk_density_g_per_ml"] * TEASPOON_ML)

    def with_spoon(self, g_per_ml: float) -> HatchKind:
        """The same, with cysts of which the keeper weighed a level spoon [g/mL]."""
        key = "bulk_density_g_per_ml"
        was = self.parameters[key]
        own = Parameter(g_per_ml, g_per_ml, g_per_ml, was.unit, (), "keeper", "")
        return evolve(self, parameters={**self.parameters, key: own},
                      values={**self.values, key: g_per_ml})  # fmt: skip

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

_KIND_KEYS = ("name", "label", "scientific", "model", "medium", "prefix", "recipe", "plural",
              "taken_off", "signs", "cautions", "parameters", "strains", "like", "media",
              "harvests")  # fmt: skip

#: What says which kind it is; one that is like it has its own.
_NAMING_KEYS = ("label", "plural", "scientific", "prefix")


def read_kind(table: Mapping[str, Any], *, strain: str | None = None) -> Kind:
    """A kind from its table (shipped data and room file alike).

    ``like = "microworm"`` starts from a shipped kind and changes what is given.

    Raises:
        ParameterError: an unknown key, or a parameter that is missing or wrong.
        UnknownNameError: an unknown strain, or an unknown kind in ``like``.
    """
    check_keys(table, _KIND_KEYS)
    like = ""
    for key in ("parameters", "strains"):
        if not isinstance(table.get(key, {}), Mapping):
            raise ParameterError(key, "must be a table of parameters")
    if "like" in table:
        base = _shipped_table(str(table["like"]))
        table = _merged(base, table)
        like = str(base["label"]) if table["name"] != base["name"] else ""
    name = str(table.get("name", ""))
    if not name:
        raise ParameterError("name", "a kind needs a name")
    model = table.get("model")
    common: dict[str, Any] = {
        "name": name,
        "label": str(table.get("label", name.replace("_", " "))),
        "cautions": _texts(table.get("cautions", ())),
        "like": like,
        **{key: str(table.get(key, "")) for key in ("scientific", "recipe", "plural", "taken_off")},
    }
    raw = dict(table.get("parameters", {}))
    if strain:
        strains = table.get("strains", {})
        if strain not in strains:
            raise UnknownNameError(f"strain of {name}", strain, strains)
        raw.update({k: v for k, v in strains[strain].items() if k != "label"})
    if model == "hatch":
        parameters = read_parameters(raw, HATCH_SPECS)
        check_ascending(parameters, *_THERMAL_ORDERS, ("t10_h", "t90_h"), _SALT_ORDER)
        return HatchKind(**common, parameters=parameters, strain=strain or "")
    if model != "worm_culture":
        raise ParameterError("model", "must be 'worm_culture' or 'hatch'")
    medium = str(table.get("medium", "solid"))
    if medium not in _MEDIA:
        raise ParameterError("medium", f"must be one of {', '.join(_MEDIA)}")
    parameters = read_parameters(raw, WORM_SPECS)
    check_ascending(parameters, *_THERMAL_ORDERS)
    prefix = str(table.get("prefix") or _initials(name))
    return WormKind(
        **common, medium=medium, parameters=parameters, prefix=prefix,
        signs=str(table.get("signs", "")),
        media=read_variants("media", table.get("media", {})),
        harvests=read_variants("harvests", table.get("harvests", {})),
    )  # fmt: skip


def _texts(raw: object) -> tuple[str, ...]:
    if isinstance(raw, str):
        return (raw,)
    if isinstance(raw, list | tuple) and all(isinstance(text, str) for text in raw):
        return tuple(raw)
    raise ParameterError("cautions", "must be a list of sentences")


def _initials(name: str) -> str:
    """What the names of a kind's cultures begin with, where it does not say; none of a shipped one.

    As much more of the first word as it takes: ``green_worm`` is GRW beside the grindal worm's GW.
    """
    words = re.findall(r"[^\W_]+", name) or [name]
    taken = {_shipped_table(shipped).get("prefix") for shipped in kind_names()}
    ends = "".join(word[0] for word in words[1:])
    tried = (f"{words[0][:length]}{ends}".upper() for length in range(1, len(words[0]) + 1))
    return next((prefix for prefix in tried if prefix not in taken), words[0].upper())


def _merged(base: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """A shipped kind's table with a keeper's own words and values; what names it is never lent."""
    if own.get("name", base["name"]) != base["name"]:
        base = {key: value for key, value in base.items() if key not in _NAMING_KEYS}
    merged = {**base, **{k: v for k, v in own.items() if k not in ("like", "parameters")}}
    merged["parameters"] = {**base.get("parameters", {}), **own.get("parameters", {})}
    return merged


def _shipped_table(name: str) -> dict[str, Any]:
    return shipped_table("kinds", name, "kind of live food")


def kind_names() -> tuple[str, ...]:
    """Names of the shipped kinds."""
    return data_names("kinds")


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


def kinds_with(own: Iterable[Kind]) -> dict[str, Kind]:
    """The shipped kinds by name, and a keeper's own, which win over shipped ones of their name."""
    named = {name: shipped_kind(name) for name in kind_names()} | {kind.name: kind for kind in own}
    return dict(sorted(named.items()))
