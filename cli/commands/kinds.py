"""``livefood kinds``: live foods, fry classes and species, with every parameter's source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

import click

from cli.options import UsageProblemError, Where, answer, json_option, where_options
from cli.screens.as_json import picked
from cli.screens.kinds import Entry
from cli.screens.paint import echo
from cultures.errors import BadFileError, UnknownNameError
from cultures.foods.kinds import (
    HATCH_SPECS,
    WORM_SPECS,
    HatchKind,
    Kind,
    WormKind,
    kind_names,
    shipped_kind,
    strains,
)
from cultures.foods.parameters import Parameter, Spec, sources
from cultures.foods.variants import HARVEST_SPECS, MEDIUM_SPECS, Variant
from cultures.fry.classes import CLASS_SPECS, FryClass, class_names, shipped_class
from cultures.fry.species import (
    Species,
    SpeciesNameError,
    read_species,
    species_keys,
    species_like,
    species_named,
)
from cultures.room.room import Room
from cultures.words.text import key_named

_STRAIN_OF_WHAT = "--strain needs the NAME of a kind, like brine_shrimp"


@click.command()
@click.argument("words", nargs=-1, metavar="[NAME]")
@where_options
@click.option("--strain", help="A strain of the kind.")
@click.option("--sources", "with_sources", is_flag=True, help="Write the sources out in full.")
@json_option
def command(
    words: tuple[str, ...], where: Where, strain: str | None, with_sources: bool, as_json: bool
) -> None:
    """Live foods, fry classes and species; with NAME every parameter, range, source and status.

    NAME may be any name of a species, or part of one: several that have it are listed. Kinds and
    classes of the room file are shown too, where there is one.

    \b
    Examples:
      livefood kinds
      livefood kinds microworm
      livefood kinds betta
      livefood kinds brine_shrimp --strain great_salt_lake --sources
    """
    from cli.screens.kinds import details, overview, several

    name = " ".join(words) or None
    if name is None and strain is not None:
        raise UsageProblemError(_STRAIN_OF_WHAT)
    try:
        room = where.load_if_there()
    except BadFileError:
        # Who mends the file needs the names that it may hold.
        echo(
            f"{where.path} has mistakes (see 'livefood check'): its own kinds are left out.",
            err=True,
        )
        room = None
    entries = _entries(room)
    if name is None:
        species = [read_species(key) for key in species_keys()]
        answer(as_json, lambda: [*map(_json, entries), *map(_json_of_species, species)],
               lambda: overview(entries, species))  # fmt: skip
        return
    found = _named(entries, name, strain)
    if isinstance(found, Entry):
        units = room.units if room is not None else "metric"
        answer(as_json, partial(_json, found),
               partial(details, found, with_sources=with_sources, units=units))  # fmt: skip
    else:
        species = [read_species(key) for key in found]
        answer(as_json, lambda: [*map(_json_of_species, species)], lambda: several(species))


def _entries(room: Room | None) -> list[Entry]:
    kinds: dict[str, Kind] = {name: shipped_kind(name) for name in kind_names()}
    classes: dict[str, FryClass] = {name: shipped_class(name) for name in class_names()}
    if room is not None:
        kinds.update(room.kinds)
        classes.update((n, one) for n, one in room.fry_classes.items() if not one.of)
    return [*map(_of_kind, kinds.values()), *map(_of_class, classes.values())]


def _named(entries: Sequence[Entry], name: str, strain: str | None) -> Entry | tuple[str, ...]:
    """What has this name, or every species that has it within its own."""
    written = key_named(name, [entry.name for entry in entries])
    found = next((entry for entry in entries if entry.name == written), None)
    if found is None:
        species = _species(name)
        if len(species) > 1 and strain is None:
            return species
        found = _of_class(shipped_class(species[0])) if species else None
    if found is None:
        known = [entry.name for entry in entries]
        raise UnknownNameError("kind, fry class or species", name, known)
    if strain is None:
        return found
    if found.name not in kind_names():
        raise UsageProblemError(_STRAIN_OF_WHAT)
    return _of_kind(shipped_kind(found.name, strain))


def _species(name: str) -> tuple[str, ...]:
    """The species of this name, else all that have it as a part of theirs."""
    try:
        exact = species_named(name)
    except SpeciesNameError:
        exact = None
    return (exact,) if exact is not None else species_like(name)


def _of_kind(kind: Kind) -> Entry:
    what = "hatched" if isinstance(kind, HatchKind) else f"cultured, {kind.medium} medium"
    shipped = strains(kind.name) if kind.name in kind_names() else {}
    label = kind.label
    if isinstance(kind, HatchKind) and kind.strain:
        label += f", {shipped[kind.strain]}"
    more: dict[str, Any] = {"specs": HATCH_SPECS}
    if isinstance(kind, WormKind):
        more = {"specs": WORM_SPECS, "media": kind.media, "harvests": kind.harvests}
    return Entry(kind.name, label, what, kind.about, kind.parameters, strains=shipped,
                 cautions=kind.cautions, **more)  # fmt: skip


def _of_class(fry_class: FryClass) -> Entry:
    of = fry_class.of
    what = f"species of the class {of}" if of else "fry class"
    return Entry(fry_class.name, fry_class.label, what, fry_class.examples, fry_class.parameters,
                 CLASS_SPECS, {}, of=of, own=fry_class.own)  # fmt: skip


def _json_of_species(species: Species) -> dict[str, Any]:
    """A species in a list: its own values, as they were published."""
    return {
        "name": species.key, "label": species.names[0], "what": "species",
        "about": species.scientific, "names": list(species.names), "class": species.of,
        "parameters": {key: dict(raw) for key, raw in species.parameters.items()},
    }  # fmt: skip


def _json(entry: Entry) -> dict[str, Any]:
    known = sources()
    return {
        **picked(entry, "name", "label", "what", "about", "strains"),
        **_variants("media", entry.media, MEDIUM_SPECS, known),
        **_variants("harvests", entry.harvests, HARVEST_SPECS, known),
        **({"class": entry.of} if entry.of else {}),
        "parameters": {
            key: {
                **_parameter(p, entry.specs[key], known),
                **({"from_class": key not in entry.own} if entry.of else {}),
            }
            for key, p in entry.parameters.items()
        },
    }


def _parameter(p: Parameter, spec: Spec, known: Mapping[str, str]) -> dict[str, Any]:
    return {
        "value": p.value, "range": [p.low, p.high], "unit": p.unit, "meaning": spec.meaning,
        "status": p.status, "sources": {source: known.get(source, "") for source in p.sources},
        "note": p.note,
    }  # fmt: skip


def _variants(
    key: str, found: Mapping[str, Variant], specs: Mapping[str, Spec], known: Mapping[str, str]
) -> dict[str, Any]:
    """Media, or ways to harvest; nothing where none is known."""
    listed = [
        {
            **picked(v, "name", "label", "recipe", "caution"),
            "factors": {f: _parameter(p, specs[f], known) for f, p in v.factors.items()},
        }
        for v in found.values()
    ]  # fmt: skip
    return {key: listed} if listed else {}
