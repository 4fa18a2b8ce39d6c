"""``livefood kinds``: live foods and fry classes, with every parameter's source."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import click

from cli.options import (
    UsageProblemError,
    json_option,
    now_option,
    optional_room,
    print_json,
    room_option,
)
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


@click.command()
@click.argument("name", required=False)
@room_option
@now_option
@click.option("--strain", help="A strain of the kind.")
@click.option("--sources", "with_sources", is_flag=True, help="Write the sources out in full.")
@json_option
def command(
    name: str | None,
    room_path: Path,
    now: datetime | None,
    strain: str | None,
    with_sources: bool,
    as_json: bool,
) -> None:
    """Live foods and fry classes; with NAME every parameter, range, source and status.

    Kinds and classes of the room file are shown too, where there is one.

    \b
    Examples:
      livefood kinds
      livefood kinds microworm
      livefood kinds brine_shrimp --strain great_salt_lake --sources
    """
    if name is None and strain is not None:
        raise UsageProblemError("--strain needs the NAME of a kind, like brine_shrimp")
    try:
        room = optional_room(room_path, now)
    except BadFileError:
        # Who mends the file needs the names that it may hold.
        click.echo(
            f"{room_path} has mistakes (see 'livefood check'): its own kinds are left out.",
            err=True,
        )
        room = None
    entries = _entries(room)
    if name is not None:
        entries = [_named(entries, name, strain)]
    if as_json:
        print_json([_json(entry) for entry in entries] if name is None else _json(entries[0]))
    elif name is None:
        from cli.screens.kinds import overview

        click.echo(overview(entries))
    else:
        from cli.screens.kinds import details

        units = room.units if room is not None else "metric"
        click.echo(details(entries[0], with_sources=with_sources, units=units))


def _entries(room: Room | None) -> list[Entry]:
    kinds: dict[str, Kind] = {name: shipped_kind(name) for name in kind_names()}
    classes: dict[str, FryClass] = {name: shipped_class(name) for name in class_names()}
    if room is not None:
        kinds.update(room.kinds)
        classes.update(room.fry_classes)
    return [_of_kind(kind) for kind in kinds.values()] + [_of_class(c) for c in classes.values()]


def _named(entries: list[Entry], name: str, strain: str | None) -> Entry:
    found = next((entry for entry in entries if entry.name == name), None)
    if found is None:
        raise UnknownNameError("kind or fry class", name, [entry.name for entry in entries])
    if strain is not None and name not in kind_names():
        raise UsageProblemError("--strain needs the NAME of a kind, like brine_shrimp")
    return found if strain is None else _of_kind(shipped_kind(name, strain))


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
