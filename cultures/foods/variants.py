"""Other media for a kind, and other ways to harvest it: factors on its parameters, as data."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from attrs import evolve, field, frozen

from cultures.errors import UnitError, nearest
from cultures.foods.parameters import (
    Parameter,
    ParameterError,
    check_keys,
    read_parameter,
    specs_of,
)
from cultures.words.text import check_line

#: What can be said of a medium, and of a way to harvest.
MEDIUM_SPECS, HARVEST_SPECS = specs_of("medium"), specs_of("harvest")
#: The parameters of a kind that each factor multiplies.
ACTS_ON: Mapping[str, tuple[str, ...]] = {
    "capacity": ("capacity_mg_per_g", "capacity_mg_per_cm2"),
    "growth": ("growth_rate_per_day",),
    "lag": ("lag_days",),
    "life": ("half_spent_days", "souring_width_days"),
    "bought": ("bought_share",),
    "reach": ("climbing_fraction",),
    "density": ("climbing_density",),
}
_KEYS = ("label", "recipe", "taken_off", "caution", "factors")


@frozen
class Variant:
    """A medium, or a way to harvest, against the one that a kind's parameters are stated for.

    Attributes:
        name: as a room file calls it. label: as screens say it.
        recipe: of a medium, how one is set up. taken_off: of a way, what the worms are taken off.
        caution: shown with the step, or "".
        factors: by name (data/specs); none for what the parameters are stated for.
    """

    name: str
    label: str
    recipe: str = ""
    taken_off: str = ""
    caution: str = ""
    factors: Mapping[str, Parameter] = field(factory=dict, repr=False)


def read_variants(key: str, raw: object) -> dict[str, Variant]:
    """The media (``media``) or the ways to harvest (``harvests``) of a kind, by name.

    Raises:
        ParameterError: an unknown key, or a factor that is wrong.
    """
    if not isinstance(raw, Mapping):
        raise ParameterError(key, f"must be tables, like [{key}.bread]")
    return {str(name): _variant(key, str(name), table) for name, table in raw.items()}


def _variant(key: str, name: str, table: object) -> Variant:
    place = f"{key}.{name}"
    if not isinstance(table, Mapping):
        raise ParameterError(place, "must be a table with a label and factors")
    check_keys(table, _KEYS)
    words = {word: _words(f"{place} {word}", table.get(word, "")) for word in _KEYS[:-1]}
    words["label"] = words["label"] or name.replace("_", " ")
    specs = MEDIUM_SPECS if key == "media" else HARVEST_SPECS
    factors: dict[str, Parameter] = {}
    raw: Any = table.get("factors", {})
    if not isinstance(raw, Mapping):
        raise ParameterError(f"{place} factors", "must be a table of factors")
    for factor, value in raw.items():
        if factor not in specs:
            raise ParameterError(f"{place} {factor}", f"unknown factor; {nearest(factor, specs)}")
        factors[factor] = read_parameter(f"{place} {factor}", value, specs[factor])
    return Variant(name, factors=factors, **words)


def _words(key: str, raw: object) -> str:
    if not isinstance(raw, str):
        raise ParameterError(key, "must be text in quotes")
    try:
        check_line(raw, 300)
    except UnitError as error:
        raise ParameterError(key, str(error)) from None
    return raw


def multiplied(
    parameters: Mapping[str, Parameter], variant: Variant | None
) -> dict[str, Parameter]:
    """The parameters of a kind as a variant makes them."""
    changed = dict(parameters)
    for name, factor in variant.factors.items() if variant is not None else ():
        for key in ACTS_ON[name]:
            changed[key] = _times(changed[key], factor)
    return changed


def _times(parameter: Parameter, factor: Parameter) -> Parameter:
    """A parameter times a factor, each known no better than its range.

    References:
        Of a product of two independent log-normal amounts the variances of the logarithms add, and
        so do the squares of the distances to the ends that a tenth lies beyond (docs/models.md).
    """
    value = parameter.value * factor.value
    if parameter.low <= 0:  # no logarithm: its own range, widened as the value is
        low, high = parameter.low * factor.value, parameter.high * factor.high
    else:
        low = value / _apart(parameter.value / parameter.low, factor.value / factor.low)
        high = value * _apart(parameter.high / parameter.value, factor.high / factor.value)
    least, most = parameter.least, parameter.most
    return evolve(
        parameter,
        value=min(max(value, least), most),
        low=min(max(low, least), most),
        high=min(max(high, least), most),
        sources=tuple(dict.fromkeys((*parameter.sources, *factor.sources))),
    )


def _apart(one: float, other: float) -> float:
    """How many times apart two such amounts stand, from how many times each does."""
    return math.exp(math.hypot(math.log(one), math.log(other)))
