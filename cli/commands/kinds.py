"""``livefood kinds``: live foods and fry classes, with every parameter's source."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

from cli.options import UsageProblemError, Where, answer, json_option, where_options
from cli.screens.kinds import Entry
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
from cultures.foods.parameters import sources
from cultures.fry.classes import CLASS_SPECS, FryClass, class_names, shipped_class
from cultures.room.room import Room

_STRAIN_OF_WHAT = "--strain needs the NAME of a kind, like brine_shrimp"


@click.command()
@click.argument("name", required=False)
@where_options
@click.option("--strain", help="A strain of the kind.")
@click.option("--sources", "with_sources", is_flag=True, help="Write the sources out in full.")
@json_option
def command(
    name: str | None, where: Where, strain: str | None, with_sources: bool, as_json: bool
) -> None:
    """Live foods and fry classes; with NAME every parameter, range, source and status.

    Kinds and classes of the room file are shown too, where there is one.

    \b
    Examples:
      livefood kinds
      livefood kinds microworm
      livefood kinds brine_shrimp --strain great_salt_lake --sources
    """
    from cli.screens.kinds import details, overview

    if name is None and strain is not None:
        raise UsageProblemError(_STRAIN_OF_WHAT)
    try:
        room = where.load_if_there()
    except BadFileError:
        # Who mends the file needs the names that it may hold.
        click.echo(
            f"{where.path} has mistakes (see 'livefood check'): its own kinds are left out.",
            err=True,
        )
        room = None
    entries = _entries(room)
    if name is None:
        answer(as_json, lambda: [_json(entry) for entry in entries], lambda: overview(entries))
        return
    entry = _named(entries, name, strain)
    units = room.units if room is not None else "metric"
    answer(as_json, lambda: _json(entry),
           lambda: details(entry, with_sources=with_sources, units=units))  # fmt: skip


def _entries(room: Room | None) -> list[Entry]:
    kinds: dict[str, Kind] = {name: shipped_kind(name) for name in kind_names()}
    classes: dict[str, FryClass] = {name: shipped_class(name) for name in class_names()}
    if room is not None:
        kinds.update(room.kinds)
        classes.update(room.fry_classes)
    return [*map(_of_kind, kinds.values()), *map(_of_class, classes.values())]


def _named(entries: Sequence[Entry], name: str, strain: str | None) -> Entry:
    written = name.casefold().replace(" ", "_")  # as screens write it
    found = next((entry for entry in entries if entry.name.casefold() == written), None)
    if found is None:
        raise UnknownNameError("kind or fry class", name, [entry.name for entry in entries])
    if strain is None:
        return found
    if found.name not in kind_names():
        raise UsageProblemError(_STRAIN_OF_WHAT)
    return _of_kind(shipped_kind(found.name, strain))


def _of_kind(kind: Kind) -> Entry:
    what = "hatched" if isinstance(kind, HatchKind) else f"cultured, {kind.medium} medium"
    shipped = strains(kind.name) if kind.name in kind_names() else {}
    label = kind.label
    if isinstance(kind, HatchKind) and kind.strain:
        label += f", {shipped[kind.strain]}"
    return Entry(
        name=kind.name,
        label=label,
        what=what,
        about=kind.scientific,
        parameters=kind.parameters,
        specs=WORM_SPECS if isinstance(kind, WormKind) else HATCH_SPECS,
        strains=shipped,
        recipe=kind.recipe,
        cautions=kind.cautions,
    )


def _of_class(fry_class: FryClass) -> Entry:
    return Entry(
        name=fry_class.name,
        label=fry_class.label,
        what="fry class",
        about=fry_class.examples,
        parameters=fry_class.parameters,
        specs=CLASS_SPECS,
        strains={},
    )


def _json(entry: Entry) -> dict[str, Any]:
    known = sources()
    return {
        "name": entry.name,
        "label": entry.label,
        "what": entry.what,
        "about": entry.about,
        "strains": dict(entry.strains),
        "parameters": {
            key: {
                "value": p.value,
                "range": [p.low, p.high],
                "unit": p.unit,
                "meaning": entry.specs[key].meaning,
                "status": p.status,
                "sources": {source: known.get(source, "") for source in p.sources},
                "note": p.note,
            }
            for key, p in entry.parameters.items()
        },
    }
