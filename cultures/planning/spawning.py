"""A brood that is only asked about: whom it is like, and where it would be."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from attrs import evolve

from cultures.errors import RangeError
from cultures.fry.classes import (
    FryClass,
    class_hint,
    class_named,
    class_names,
    classes_of_fish,
)
from cultures.room.room import Brood, Room, Tank

#: A tank in a room that has none [L].
_USUAL_TANK_L = 40.0


def whom_like(room: Room, words: str) -> tuple[Brood | None, FryClass]:
    """The brood of the room that is meant, if any, and the class: by the name of either, by a word
    in the names of broods of one class, by a species, or by fish that one class alone has.

    Raises:
        RangeError: there is none of that name, or several classes have such fish.
        SpeciesNameError: several species have this name.
    """
    pattern = next((b for b in room.broods if words in (b.name, b.fry_class.name)), None)
    if pattern is None:
        alike = [b for b in room.broods if words in b.name.split()]
        pattern = alike[0] if len({b.fry_class.name for b in alike}) == 1 else None
    if pattern is not None:
        return pattern, pattern.fry_class
    name, fish = class_named(words, room.fry_classes), classes_of_fish(words)
    if name is None and len(fish) != 1:
        known = [*class_names(), *room.fry_classes, *(b.name for b in room.broods)]
        several = f"several classes have such fish: {', '.join(fish)}"
        raise RangeError(
            f"there is no class or brood '{words}'; {several if fish else class_hint(words, known)}"
        )
    return None, room.fry_class(name or fish[0])


def spawned(room: Room, words: str, count: float, day: date, tank: str) -> Brood:
    """The brood that would be there if fish spawned on a day, next to those of the room.

    Args:
        words: see :func:`whom_like`. tank: of the room.

    Raises:
        RangeError, SpeciesNameError: as :func:`whom_like`.
    """
    pattern, fry_class = whom_like(room, words)
    by_class = pattern is None or words == fry_class.name
    called = (fry_class.label if by_class and fry_class.of else words).replace("_", " ")
    return Brood(
        name=free_name(f"supposed {called}", [brood.name for brood in room.every_brood]),
        tank=tank, fry_class=fry_class, count=count, counted_on=day,
        anchor="spawned", anchor_date=day,
        survival_per_day=fry_class.values["survival_per_day"],
        foods=pattern.foods if pattern else None,
        sell_at=pattern.sell_at if pattern else room.sell_at,
    )  # fmt: skip


def with_tank(room: Room, temperature_c: float) -> tuple[Room, str]:
    """A room with one more tank, as large as its largest [L], at a temperature; and its name."""
    litres = max((tank.litres for tank in room.tanks), default=_USUAL_TANK_L)
    name = free_name("a new tank", [tank.name for tank in room.tanks])
    return evolve(room, tanks=(*room.tanks, Tank(name, litres, temperature_c))), name


def free_name(name: str, taken: Sequence[str]) -> str:
    """A name for what is only supposed: with a number behind it where it is taken."""
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name} {number}"
    return free
