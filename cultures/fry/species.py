"""One species of fish: what was published of it; its class fills what is lacking.

A file ``data/species/NAME.toml`` is named as the species is in science (``betta_splendens``), so
that one species costs one file; all are read only where a name of the trade must be found.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from attrs import frozen

from cultures.errors import LivefoodError, closest
from cultures.foods.parameters import (
    ParameterError,
    check_keys,
    data_names,
    data_text,
    shipped_table,
)
from cultures.fry.development import EffectiveTemperature, growth_law

_KEYS = ("scientific", "names", "class", "parameters")
#: Parameters that belong to a temperature, which ``at_c`` beside them states.
_DAYS, _RATES = ("hatch_days", "first_food_days"), ("growth_rate_per_day",)


class SpeciesNameError(LivefoodError, LookupError):
    """A name that no species has, or that several have."""


@frozen
class Species:
    """What a species' file says; ``parameters`` as published, each at its own temperature.

    Attributes:
        key: the name of its file, its name in science as one word.
        scientific: its name in science. names: those of the trade, the usual one first.
        of: its class.
    """

    key: str
    scientific: str
    names: tuple[str, ...]
    of: str
    parameters: Mapping[str, Mapping[str, Any]]


@lru_cache(maxsize=256)
def read_species(key: str) -> Species:
    """One shipped species.

    Raises:
        UnknownNameError: there is no such file. ParameterError: a key that is not known.
    """
    raw = shipped_table("species", key, "species")
    check_keys(raw, _KEYS)
    names = tuple(str(name) for name in raw["names"])
    return Species(key, str(raw["scientific"]), names, str(raw["class"]), raw["parameters"])


def species_keys() -> tuple[str, ...]:
    """The keys of all shipped species, in alphabetical order, without reading their files."""
    return data_names("species")


@lru_cache(maxsize=256)
def _names(key: str) -> tuple[str, ...]:
    """The name in science and those of the trade; the numbers below are left unread."""
    head = tomllib.loads(data_text("species", f"{key}.toml").partition("[parameters]")[0])
    return (str(head["scientific"]), *map(str, head["names"]))


@lru_cache(maxsize=1)
def _by_trade_name() -> Mapping[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for key in species_keys():
        for name in _names(key)[1:]:
            found[_folded(name)] = (*found.get(_folded(name), ()), key)
    return found


def species_named(word: str) -> str | None:
    """The key of the species that has this name in science or in the trade; None if none has.

    Raises:
        SpeciesNameError: several have it; lists them.
    """
    key = _folded(word).replace(" ", "_")
    if key in species_keys():
        return key
    keys = _by_trade_name().get(_folded(word), ())
    if len(keys) > 1:
        raise SpeciesNameError(f"'{word}' may be {_choices(keys)}; write one of these names")
    return keys[0] if keys else None


def species_like(word: str) -> tuple[str, ...]:
    """The keys of the species with this word, or part of one, in any of their names."""
    part = _folded(word)
    return tuple(
        key for key in species_keys() if any(part in _folded(name) for name in _names(key))
    )


def must_be_species(word: str) -> str:
    """The key of the species of this name, as :func:`species_named` finds it.

    Raises:
        SpeciesNameError: none has this name; says which are like it.
    """
    key = species_named(word)
    if key is not None:
        return key
    if alike := species_like(word):
        raise SpeciesNameError(f"there is no species '{word}'; did you mean {_choices(alike[:6])}?")
    names = {_folded(name): name for key in species_keys() for name in _names(key)}
    near = closest(_folded(word), names)
    meant = f"did you mean '{names[near]}'?" if near else "give its class in its place;"
    raise SpeciesNameError(f"there is no species '{word}'; {meant} 'livefood kinds' lists them")


def _folded(name: str) -> str:
    """A name as it is compared: case, dashes and underscores do not count."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())


def _choices(keys: tuple[str, ...]) -> str:
    return " or ".join(f"'{_names(key)[0]}'" for key in keys)


def filled(species: Species, of: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    """Every parameter of a species: its own at the class's reference temperature, else the class's.

    The reference temperature is the class's, since all that is filled in is stated at it. Of a
    species whose hatching alone is known, first food follows its hatching as it does in the class.

    Args:
        of: the parameters of its class, as its file has them.

    Raises:
        ParameterError: ``at_c`` where it says nothing, or a temperature without development.
    """
    table = {key: with_note(raw, f"from its class, {species.of}") for key, raw in of.items()}
    own = {key: dict(raw) for key, raw in species.parameters.items()}
    at_c = {key: raw.pop("at_c") for key, raw in own.items() if "at_c" in raw}
    table |= own
    for key, degrees in at_c.items():
        table[key] = _at_reference(key, table[key], float(degrees), table)
    if "hatch_days" in own and "first_food_days" not in own:
        table["first_food_days"] = _after_hatching(table["hatch_days"], of, species.of)
    return table


def with_note(raw: Mapping[str, Any], note: str) -> dict[str, Any]:
    """A parameter as files have it, with a note before its own."""
    own = f"; {raw['note']}" if raw.get("note") else ""
    return {**raw, "note": f"{note}{own}"}


def _at_reference(
    key: str, raw: Mapping[str, Any], at_c: float, table: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    """A published value at the reference temperature, with what was published in its note."""
    v = {name: float(table[name]["value"]) for name in (
        "development_t0_c", "t_ref_c", "t_min_c", "t_max_c", "growth_q10")}  # fmt: skip
    if key in _DAYS:
        factor = EffectiveTemperature(v["development_t0_c"], v["t_ref_c"], v["t_max_c"])(at_c)
    elif key in _RATES:
        limit_c = table["t_min_c"].get("range", (v["t_min_c"],) * 2)
        speed = growth_law(v, *limit_c)(at_c)
        factor = 1.0 / speed if speed > 0 else 0.0
    else:
        raise ParameterError(key, "at_c goes with a time or a rate")
    if factor <= 0:
        raise ParameterError(key, f"at {at_c:g} °C nothing of this class develops")
    if at_c == v["t_ref_c"]:
        return {**raw, "note": f"at {at_c:g} °C: {raw['note']}"}
    low, high = raw.get("range", (raw["value"],) * 2)
    status = "derived" if raw["status"] == "read" else raw["status"]
    return {
        **raw, "value": raw["value"] * factor, "range": [low * factor, high * factor],
        "status": status, "note": f"{raw['value']:g} at {at_c:g} °C: {raw['note']}",
    }  # fmt: skip


def _after_hatching(
    hatch: Mapping[str, Any], of: Mapping[str, Mapping[str, Any]], name: str
) -> dict[str, Any]:
    """First food as many days after hatching as in the class."""
    first, hatched = of["first_food_days"], of["hatch_days"]
    span = first["value"] - hatched["value"]
    low, high = (max(0.001, first["range"][i] - hatched["range"][i]) for i in (0, 1))
    value = hatch["value"] + span
    ends = hatch.get("range", (hatch["value"],) * 2)
    both = [hatch.get("source", []), first.get("source", [])]
    source = [s for each in both for s in ([each] if isinstance(each, str) else each)]
    return {
        "value": value,
        "range": [min(ends[0] + low, value), max(ends[1] + high, value)],
        "source": list(dict.fromkeys(source)), "status": "derived",
        "note": f"its own hatching, and from there on as its class, {name}",
    }  # fmt: skip
