"""Values as JSON has them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cultures.foods.kinds import WormKind
from cultures.tasks.task import as_json


def picked(thing: object, *names: str) -> dict[str, Any]:
    """Some attributes of a thing by their names: numbers tidied, days and times as text."""
    return {name: as_json(getattr(thing, name)) for name in names}


def as_kept_json(kind: WormKind) -> dict[str, str]:
    """The medium and the way to harvest of a culture, where they are not the usual ones."""
    said = zip(("medium", "harvest"), kind.as_kept, strict=True)
    return {key: name for key, name in said if name}


def ranges(interval: Mapping[str, tuple[float, float]], digits: int) -> dict[str, Any]:
    """What eight in ten cases stay within, by name; None where some case never comes to it."""
    return {
        key: [None if value != value else round(value, digits) for value in pair]
        for key, pair in interval.items()
    }
