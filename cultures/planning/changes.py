"""A room with one thing more, or otherwise: what is tried, supposed or only asked about.

Also a brood that is only asked about: whom it is like, and where it would be.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Container, Sequence
from datetime import date, datetime, timedelta

from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.vessels import USUAL_SALINITY_G_PER_L, Vessel
from cultures.fry.classes import (
    FryClass,
    class_hint,
    class_named,
    class_names,
    classes_of_fish,
)
from cultures.room.jars import vessel_model
from cultures.room.orders import Order
from cultures.room.room import Brood, Culture, Cysts, Room, RunningHatch, Tank
from cultures.tasks.plan import Method
from cultures.words.quantities import number
from cultures.words.text import listed
from cultures.words.tools import CYSTS

#: What to mind where a bottle of salt water is warmed.
BATH_CARE = (
    "salt water beside mains: RCD or GFCI, drip loops, unplug the heater before you reach in"
)
#: What to mind where brine shrimp are hatched for the first time.
HATCHERY_CARE = f"{BATH_CARE}, air pump above the water line; cyst dust is an allergen"
#: A tank in a room that has none [L].
_USUAL_TANK_L = 40.0
#: A vessel for a room that has none [L], and its name.
USUAL_VESSEL_L, _BOTTLE = 1.0, "bottle 1"
#: So many cysts are as good as no limit [g].
_PLENTY_G = 100_000.0


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


def with_hatchery(room: Room, now: datetime) -> Room:
    """A room without vessels that begins to hatch brine shrimp: with a bottle in warm water, and
    more cysts than are used, which are there when those are that are bought now.
    """
    there = (now + room.fetched_in(CYSTS)).date() - timedelta(days=1)  # counts once that is over
    order = Order(CYSTS, _PLENTY_G, _PLENTY_G, on=now.date(), day=there)
    return evolve(with_vessel(room, new_bottle(room)), orders=(*room.orders, order))


def new_bottle(room: Room) -> Vessel:
    """A bottle in warm water for a room that has no vessel."""
    name, warm_c = free_name(_BOTTLE, _names(room)), room.hatch_kind.warm_c
    return Vessel(name, USUAL_VESSEL_L, warm_c, USUAL_SALINITY_G_PER_L)


def hatchery_words(
    room: Room, bottle: Vessel, cysts_g: float, salt_g: float, asks: Collection[str] = ()
) -> Method:
    """What is to be bought to hatch brine shrimp, how they are kept and what to take care of.

    Args:
        bottle: the one that is got. cysts_g, salt_g: as they are sold [g]; 0 where there is enough.
            asks: the names of broods that nauplii are not among the foods of, and are given.
    """
    more = f" and add nauplii to the foods of {', '.join(asks)}" if asks else ""
    bought = [f"a {bottle.litres:g} L bottle", "an air pump"]
    for grams, what in ((salt_g, "salt"), (cysts_g, "cysts")):
        if grams > 0.0:
            bought.insert(1, f"{number(grams, 4)} g of {what}")
    lit_h = room.hatch_kind.values["light_first_h"]
    how = (
        f"it stands in {bath_words(room)}, with air from below, and light for the first"
        f" {lit_h:g} h; {HATCHERY_CARE}; once it is there: livefood add vessel '{bottle.name}'"
        f" litres={bottle.litres:g} temperature={bottle.temperature_c:g}"
    )
    return Method(f"begin to hatch brine shrimp (buy {listed(bought)}", how, more)


def _names(room: Room) -> list[str]:
    """What stands in a room by name: no two share one."""
    cultures, vessels = (*room.cultures, *room.coming), room.vessels
    return [*(c.name for c in cultures), *(v.name for v in vessels),
            *(b.name for b in room.every_brood)]  # fmt: skip


def largest_again(room: Room, name: str) -> Vessel:
    """A vessel like the largest of a room, by another name."""
    largest = max(room.vessels, key=lambda vessel: vessel.litres)
    return evolve(largest, name=name, lost_h=None)


def slow_vessels(room: Room) -> tuple[Vessel, ...]:
    """The vessels of a room that stand so cool that hatches in them are slow."""
    return tuple(v for v in room.vessels if room.hatch_kind.is_slow(v.temperature_c))


def with_warm_vessels(room: Room, slow: Collection[Vessel], now: datetime) -> Room:
    """A room with some vessels in warm water. A hatch that stands gains nothing by it: it is as old
    as in the cold when it is drawn off, and no older before.
    """

    def warmed(hatch: RunningHatch) -> RunningHatch:
        vessel = next((v for v in slow if v.name == hatch.vessel), None)
        if vessel is None:
            return hatch
        model = vessel_model(room, vessel)
        if model.rate <= 0.0:
            return hatch.warmed(0.0, now)
        best = room.at_hour(hatch.begun_h(model.rate) + model.best_hours())
        return hatch.warmed(model.rate, hatch.harvest_at or best)

    warm = {v.name: evolve(v, temperature_c=room.hatch_kind.warm_c) for v in slow}
    vessels = tuple(warm.get(v.name, v) for v in room.vessels)
    return evolve(room, vessels=vessels, hatches=tuple(warmed(h) for h in room.hatches))


def warm_words(room: Room, slow: Collection[Vessel]) -> str:
    """To stand vessels in warm water, with what to take care of and how it is noted."""
    names = [vessel.name for vessel in slow]
    noted = " ".join(f"'{name}'" if " " in name else name for name in names)
    return (
        f"stand {listed(names)} in {bath_words(room)} ({BATH_CARE}; once it is warm: livefood"
        f" journal temperature {noted} {room.hatch_kind.warm_c:g})"
    )


def bath_words(room: Room) -> str:
    """The water in which hatches are ready in a day."""
    return f"a water bath of {room.hatch_kind.warm_c:g} °C"


def hatch_hours(room: Room, vessel: Vessel) -> float:
    """How long a hatch takes in a vessel until it is at its best [h]; infinite where it is too cold
    for any.
    """
    model = vessel_model(room, vessel)
    return model.best_hours() if model.rate > 0.0 else math.inf


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
    tried, free = 1, name
    while free in taken:
        tried += 1
        free = f"{name} {tried}"
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
