"""A room with one thing more, or otherwise: what is tried, supposed or only asked about.

Also a brood that is only asked about: whom it is like, and where it would be.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Sequence
from datetime import date

from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.vessels import Vessel
from cultures.fry.classes import (
    FryClass,
    class_hint,
    class_named,
    class_names,
    classes_of_fish,
)
from cultures.room.room import Brood, Culture, Cysts, Room, Tank

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


def home_for(room: Room, pattern: Brood | None, fry_class: FryClass) -> str:
    """The tank of a spawning for which none is named: a free one, else that of whom it is like.

    Raises:
        RangeError: there is neither.
    """
    free = room.free_tank(fry_class)
    if free is not None:
        return free.name
    if pattern is not None:
        return pattern.tank
    low, high = fry_class.values["t_min_c"], fry_class.values["t_max_c"]
    raise RangeError(
        f"no tank is free that suits {fry_class.label} ({low:g} to {high:g} °C); name one with 'in'"
    )


def spawned(
    room: Room, words: str, like: tuple[Brood | None, FryClass], count: float, day: date, tank: str
) -> Brood:
    """The brood that would be there if fish spawned on a day, next to those of the room.

    Args:
        words, like: what :func:`whom_like` was asked, and its answer. tank: of the room.
    """
    pattern, fry_class = like
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


def with_brood(room: Room, brood: Brood) -> Room:
    """A room with one more brood."""
    return evolve(room, broods=(*room.broods, brood))


def with_culture(room: Room, culture: Culture) -> Room:
    """A room with one more culture."""
    return evolve(room, cultures=(*room.cultures, culture))


def with_vessel(room: Room, vessel: Vessel) -> Room:
    """A room with one more vessel."""
    return evolve(room, vessels=(*room.vessels, vessel))


def largest_again(room: Room, name: str) -> Vessel:
    """A vessel like the largest of a room, by another name."""
    largest = max(room.vessels, key=lambda vessel: vessel.litres)
    return evolve(largest, name=name, lost_h=None)


def with_cysts(room: Room, grams: float) -> Room:
    """A room with so much more in its tin, or with a tin [g]."""
    tin = room.cysts or Cysts(grams=0.0)
    return evolve(room, cysts=evolve(tin, grams=tin.grams + grams))


def kept_foods(room: Room) -> dict[str, None]:
    """What a room has to feed by now, in the order of its cultures; dry food last."""
    stands = [culture.kind.name for culture in room.cultures]
    return dict.fromkeys([*stands, *([BRINE_SHRIMP] if room.vessels else []), DRY])


def start_words(
    room: Room, kind: WormKind, asks: Collection[str] = (), *, ripe: bool = False
) -> str:
    """To get a culture of a kind, and to give of it to broods that it is not among the foods of.

    Args:
        asks: the names of those.
    """
    kept = any(culture.kind.name == kind.name for culture in room.cultures)
    what = f"start {'one more' if kept else 'a'} {kind.label} culture from a bought starter"
    more = f" and add it to the foods of {', '.join(asks)}" if asks else ""
    return (f"get a ripe {kind.label} culture" if ripe else what) + more


def free_name(name: str, taken: Sequence[str]) -> str:
    """A name for what is only supposed: with a number behind it where it is taken."""
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name} {number}"
    return free


def given_to(brood: Brood, food: str) -> Brood:
    """A brood with a food among those that it gets; the same if it gets all, or has it."""
    if brood.foods is None or food in brood.foods:
        return brood
    return evolve(brood, foods=(*brood.foods, food))


def with_food(room: Room, food: str, names: Container[str]) -> Room:
    """A room in which some broods get a food besides; those without a list get all there is."""
    broods, hoped = (
        tuple(given_to(brood, food) if brood.name in names else brood for brood in row)
        for row in (room.broods, room.hoped)
    )
    return evolve(room, broods=broods, hoped=hoped)


def bought_culture(room: Room, kind: WormKind, day: date, name: str) -> Culture:
    """A culture that is begun on a day from a bought starter, like those of its kind."""
    free = free_name(name, [culture.name for culture in room.cultures])
    return evolve(usual_culture(room, kind), name=free, started=day)


def usual_culture(room: Room, kind: WormKind) -> Culture:
    """A culture of a kind as this room has them, or of usual size."""
    pattern = next((c for c in room.cultures if c.kind.name == kind.name), None)
    if pattern is not None:
        return evolve(pattern, mark=None, lost_h=None)
    usual = kind.usual_size
    return Culture(
        name=f"{kind.prefix}-1",
        kind=kind,
        started=date(2000, 1, 1),
        medium_g=usual.medium_g,
        surface_cm2=usual.surface_cm2,
        starter_g=usual.starter_g,
    )
