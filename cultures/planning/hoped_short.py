"""What a spawning that is planned would lack if it came, and what prevents that beforehand.

Of worms, and of dry food that is used up before more can come: what a hatch lacks is seen, and can
be helped, once the spawning is confirmed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.fry.diet import suitability
from cultures.needs.need import BroodCourse, Round, room_needs
from cultures.planning.advised import HELPS_FROM
from cultures.planning.feeding_plan import plan_feeding
from cultures.planning.hopes import Hopes, prepare
from cultures.planning.hunger import Hunger
from cultures.planning.matching import FeedingPlan
from cultures.planning.outlook import Outlook
from cultures.planning.remedies import (
    ASK_HELP,
    bought_culture,
    help_by,
    with_food,
    with_help,
)
from cultures.planning.servings import STAND_IN_FROM
from cultures.planning.shortfalls import OUT, Lack, Limits, join
from cultures.planning.supplies import dry_wanting
from cultures.planning.worm_course import Split, child_stage, first_harvest
from cultures.room.room import Culture, Room
from cultures.tasks.plan import Act, Remedy, Shortfall
from cultures.words.quantities import food_words, number
from cultures.words.tasks import spawn_tanks


def hoped_shortfalls(outlook: Outlook, *, remedies: bool = True) -> Iterator[Shortfall]:
    """What would be missing within the shown time, by time; each says for which spawnings.

    Args:
        outlook: of a room without planned spawnings there is none. remedies: look for what helps,
            which plans anew for each.
    """
    hopes, room = outlook.hopes, outlook.room
    if hopes is None:
        return
    limits = Limits(room, hopes.plan, outlook.now)
    hunger = Hunger(room, outlook.feedings, hopes.gaps)
    for lack in join([g for g in hopes.gaps if g.feeding.at < outlook.until], limits):
        broods = {gap.need.brood.name: gap.need.brood for gap in lack.gaps}.values()
        spawns = tuple((brood.name, brood.tank) for brood in broods)
        chance = 1.0 - math.prod(1.0 - brood.chance for brood in broods)
        helps = tuple(_remedies(outlook, hopes, lack)) if remedies else ()
        found = lack.shortfall(room, limits, helps, hunger)
        many = "s" if len(spawns) > 1 else ""
        cause = (
            f"if the spawn{many} planned in {spawn_tanks(spawns)} {'come' if many else 'comes'}"
            f" (chance {chance:.0%}), {found.cause}"
        )
        yield evolve(found, cause=cause, spawns=spawns, chance=chance)


def _remedies(outlook: Outlook, hopes: Hopes, lack: Lack) -> Iterator[Remedy]:
    """What covers some of it, the most effective first."""
    short_j = sum(gap.short_j for gap in lack.gaps)
    if lack.limit == "away":
        yield from _helper(outlook, hopes, lack, HELPS_FROM * short_j)
        return
    if lack.limit == OUT:
        yield _dry(outlook, hopes, lack)
        return
    found = [*_bought(outlook, hopes, lack), *_wider(outlook, hopes, lack)]
    helping = (remedy for remedy in found if remedy.effect_j >= HELPS_FROM * short_j)
    yield from sorted(helping, key=lambda r: (-r.effect_j, r.by))


def _helper(outlook: Outlook, hopes: Hopes, lack: Lack, least_j: float) -> Iterator[Remedy]:
    """Somebody who feeds while the keeper is away."""
    by, helped = help_by(outlook, lack.gaps), with_help(outlook, lack.gaps)
    if by is None or helped is None:
        return
    room, feedings = helped
    plan = plan_feeding(room, feedings, start=outlook.now, needs=room_needs(room, feedings))
    effect_j = _effect_j(outlook, hopes, lack, room, (feedings, plan))
    if effect_j >= least_j:
        yield Remedy(ASK_HELP, by, effect_j, act=Act.ASK)


def _dry(outlook: Outlook, hopes: Hopes, lack: Lack) -> Remedy:
    """Dry food that is there before what is bought now can be."""
    grams, effect_j = dry_wanting(lack.gaps, hopes.plan.servings, outlook.room.units)
    first = lack.gaps[0].feeding.at
    before = [r.at for r in outlook.feedings if r.keeper and outlook.now <= r.at <= first]
    return Remedy(
        f"get {number(grams, 4)} g of dry food from another keeper or a shop",
        before[-1] if before else first, effect_j, act=Act.FETCH, of=DRY, amount=grams,
    )  # fmt: skip


def _effect_j(
    outlook: Outlook, hopes: Hopes, lack: Lack, changed: Room,
    planned: tuple[Sequence[Round], FeedingPlan] | None = None,
) -> float:  # fmt: skip
    """How much less would be missing in a changed room [J].

    Args:
        planned: its rounds and plan, where these are others than those of the outlook.
    """
    feedings, plan = planned or (outlook.feedings, outlook.feeding)
    names = {course.brood.name for course in hopes.courses}
    courses = [BroodCourse.of(changed, b) for b in changed.hoped if b.name in names]
    _, after = prepare(changed, feedings, plan, courses, start=outlook.now)
    gaps = after.gaps if after is not None else ()
    left = {g.key: g.short_j for g in gaps}
    return sum(gap.short_j - left.get(gap.key, 0.0) for gap in lack.gaps)


def _bought(outlook: Outlook, hopes: Hopes, lack: Lack) -> Iterator[Remedy]:
    """A bought starter of the kind that is missing, or of the one that suits the mouth best."""
    room, kind = outlook.room, _kind_for(outlook.room, lack)
    if kind is None:
        return
    fetch = room.fetched_in("starter")
    there = [r for r in outlook.feedings if r.keeper and r.at >= outlook.now + fetch]
    pattern = bought_culture(room, kind, outlook.now.date(), f"bought {kind.label}")
    start = _last_start(room, outlook.feedings, there, pattern, lack.gaps[0].feeding.index)
    if start is None:
        return
    culture = evolve(pattern, started=start.at.date())
    broods = dict.fromkeys(gap.need.brood.name for gap in lack.gaps)
    lists = [n for n in broods if kind.name not in (room.brood(n).foods or (kind.name,))]
    changed = evolve(
        with_food(room, kind.name, broods), coming=(*room.coming, evolve(culture, planned=True))
    )
    effect_j = _effect_j(outlook, hopes, lack, changed)
    more = f" and add it to the foods of {', '.join(lists)}" if lists else ""
    kept = any(c.kind.name == kind.name for c in room.cultures)
    what = f"start {'one more' if kept else 'a'} {kind.label} culture from a bought starter"
    yield Remedy(what + more, start.at, effect_j, fetch, act=Act.START, of=kind.name)


def _wider(outlook: Outlook, hopes: Hopes, lack: Lack) -> Iterator[Remedy]:
    """What the room has besides, for a brood that is to get only some of it."""
    room, need = outlook.room, lack.gaps[0].need
    own = need.brood.foods
    stands = [c.kind.name for c in room.cultures]
    has = dict.fromkeys([*stands, *([BRINE_SHRIMP] if room.vessels else []), DRY])
    new = [
        food for food in has
        if own is not None and food not in own
        and suitability(room.food(food), need.brood.fry_class, need.length_mm) >= STAND_IN_FROM
    ]  # fmt: skip
    if not new:
        return
    broods = dict.fromkeys(gap.need.brood.name for gap in lack.gaps)
    changed = room
    for food in new:
        changed = with_food(changed, food, broods)
    foods = ", ".join(food_words(food) for food in new)
    what = f"add {foods} to the foods of {', '.join(broods)}"
    effect_j = _effect_j(outlook, hopes, lack, changed)
    of = f"{', '.join(new)} for {', '.join(broods)}"
    yield Remedy(what, lack.gaps[0].feeding.at, effect_j, act=Act.ADD, of=of)


def _kind_for(room: Room, lack: Lack) -> WormKind | None:
    """The kind of worms that is missing, or else that suits the mouth best; None of no help."""
    need = lack.gaps[0].need
    kinds = {name: kind for name, kind in room.kinds.items() if isinstance(kind, WormKind)}
    suits = {
        name: suitability(kind.food, need.brood.fry_class, need.length_mm)
        for name, kind in kinds.items()
    }
    name = lack.food if lack.food in suits else max(suits, key=lambda n: suits[n])
    return None if suits[name] < STAND_IN_FROM else kinds[name]


def _last_start(
    room: Room, feedings: Sequence[Round], there: Sequence[Round], pattern: Culture, wanted: int
) -> Round | None:
    """The last of some rounds from which a culture is ripe by another, or else the first."""
    for start in reversed([r for r in there if r.index < wanted]):
        own = evolve(pattern, started=start.at.date())
        ripe = first_harvest(child_stage(room, Split("", own, start.index), feedings))
        if ripe is not None and ripe <= wanted:
            return start
    return there[0] if there else None
