"""What a spawning that is planned would lack if it came, and what prevents that beforehand.

Of worms, and of dry food that is used up before more can come: what a hatch lacks is seen, and can
be helped, once the spawning is confirmed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from attrs import evolve

from cultures.foods.food import DRY
from cultures.foods.kinds import WormKind
from cultures.fry.diet import suitability
from cultures.needs.need import BroodCourse, Round, room_needs
from cultures.planning.advised import HELPS_FROM
from cultures.planning.asking import ASK_HELP, help_by, helped_until, with_help
from cultures.planning.changes import bought_culture, kept_foods, start_words, with_food
from cultures.planning.feeding_plan import plan_feeding
from cultures.planning.gaps import WORTH_GETTING, missed_meals, worth_asking
from cultures.planning.hopes import Hopes, prepare
from cultures.planning.matching import FeedingPlan
from cultures.planning.outlook import Outlook
from cultures.planning.servings import STAND_IN_FROM
from cultures.planning.shortfalls import OUT, Hunger, Lack, Limits, join
from cultures.planning.supplies import dry_wanting
from cultures.planning.worm_course import Split, child_stage, first_harvest
from cultures.room.room import Culture, Room
from cultures.tasks.plan import Act, Remedy, Shortfall
from cultures.words.quantities import food_words, number
from cultures.words.tasks import spawn_tanks

#: So many kinds are tried, each a plan anew, and none after one that covers so much.
_MOST_KINDS, _COVERS = 4, 0.95


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
    shown = [g for g in hopes.gaps if g.feeding.at < outlook.until]
    for lack in join(shown, limits):
        broods = {gap.need.brood.name: gap.need.brood for gap in lack.gaps}.values()
        spawns = tuple((brood.name, brood.tank) for brood in broods)
        chance = 1.0 - math.prod(1.0 - brood.chance for brood in broods)
        starve = hunger.toll(lack.gaps).starves_at is not None
        errand = starve or missed_meals(shown) >= WORTH_GETTING
        helps = (
            tuple(_remedies(outlook, hopes, lack, errand=errand, starve=starve)) if remedies else ()
        )
        found = lack.shortfall(room, limits, helps, hunger)
        many = "s" if len(spawns) > 1 else ""
        cause = (
            f"if the spawn{many} planned in {spawn_tanks(spawns)} {'come' if many else 'comes'}"
            f" (chance {chance:.0%}), {found.cause}"
        )
        yield evolve(found, cause=cause, spawns=spawns, chance=chance)


def _remedies(
    outlook: Outlook, hopes: Hopes, lack: Lack, *, errand: bool = True, starve: bool = False
) -> Iterator[Remedy]:
    """What covers some of it, the most effective first.

    Args:
        errand: something may be got for it. starve: fry do.
    """
    short_j = sum(gap.short_j for gap in lack.gaps)
    if lack.limit == OUT:
        yield _dry(outlook, hopes, lack)
        return
    if lack.limit == "away":
        found = [*_helper(outlook, hopes, lack, starve=starve)]
    else:
        bought = _bought(outlook, hopes, lack) if errand else ()
        found = [*bought, *_wider(outlook, hopes, lack)]
    helping = (remedy for remedy in found if remedy.effect_j >= HELPS_FROM * short_j)
    yield from sorted(helping, key=lambda r: (-r.effect_j, r.by))


def _helper(
    outlook: Outlook, hopes: Hopes, lack: Lack, *, starve: bool = False
) -> Iterator[Remedy]:
    """Somebody who feeds while the keeper is away."""
    asked = worth_asking(outlook.room, lack.gaps, {g.key for g in lack.gaps if starve})
    by, helped = help_by(outlook, asked), with_help(outlook, asked)
    if by is None or helped is None:
        return
    room, feedings = helped
    plan = plan_feeding(room, feedings, start=outlook.now, needs=room_needs(room, feedings))
    effect_j = _effect_j(outlook, hopes, lack, room, (feedings, plan))
    still = helped_until(outlook, lack.gaps, by)
    yield Remedy(ASK_HELP, by, effect_j, act=Act.ASK, still=still)


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
    """A bought starter of the kind that is missing, where that helps; else of those that suit the
    mouth, what can be ripe in time first, until one covers what is missing.
    """
    short_j, wanted = sum(gap.short_j for gap in lack.gaps), lack.gaps[0].feeding.index
    starts = [
        (kind, start) for kind in _kinds_for(outlook.room, lack)
        if (start := _start_of(outlook, kind, wanted)) is not None
    ]  # fmt: skip
    # Among others the one that suits best stays first.
    starts.sort(key=lambda row: (row[0].name != lack.food, not row[1].in_time))
    for kind, start in starts[:_MOST_KINDS]:
        remedy = _starter(outlook, hopes, lack, kind, start)
        yield remedy
        enough = HELPS_FROM if kind.name == lack.food else _COVERS
        if remedy.effect_j >= enough * short_j:
            return


class _Start(NamedTuple):
    """When a culture is to be begun, and whether it is ripe for the first round that wants it."""

    at: datetime
    culture: Culture
    in_time: bool


def _start_of(outlook: Outlook, kind: WormKind, wanted: int) -> _Start | None:
    room, feedings = outlook.room, outlook.feedings
    since = outlook.now + room.fetched_in("starter")
    there = [r for r in feedings if r.keeper and r.at >= since]
    pattern = bought_culture(room, kind, outlook.now.date(), f"bought {kind.label}")
    start = _last_start(room, feedings, there, pattern, wanted)
    if start is None:
        return None
    ripe = _ripe_from(room, feedings, pattern, start)
    culture = evolve(pattern, started=start.at.date())
    return _Start(start.at, culture, ripe is not None and ripe <= wanted)


def _starter(
    outlook: Outlook, hopes: Hopes, lack: Lack, kind: WormKind, start: _Start
) -> Remedy:  # fmt: skip
    """What a culture begun from a bought starter gains."""
    room = outlook.room
    broods = dict.fromkeys(gap.need.brood.name for gap in lack.gaps)
    lists = [n for n in broods if kind.name not in (room.brood(n).foods or (kind.name,))]
    coming = (*room.coming, evolve(start.culture, planned=True))
    changed = evolve(with_food(room, kind.name, broods), coming=coming)
    effect_j = _effect_j(outlook, hopes, lack, changed)
    what, fetch = start_words(room, kind, lists), room.fetched_in("starter")
    return Remedy(what, start.at, effect_j, fetch, act=Act.START, of=kind.name)


def _wider(outlook: Outlook, hopes: Hopes, lack: Lack) -> Iterator[Remedy]:
    """What the room has besides, for a brood that is to get only some of it."""
    room, need = outlook.room, lack.gaps[0].need
    own = need.brood.foods
    new = [
        food for food in kept_foods(room)
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


def _kinds_for(room: Room, lack: Lack) -> list[WormKind]:
    """The kind of worms that is missing, and those that suit the mouth, the best first."""
    need = lack.gaps[0].need
    kinds = [kind for kind in room.kinds.values() if isinstance(kind, WormKind)]
    suits = {k.name: suitability(k.food, need.brood.fry_class, need.length_mm) for k in kinds}
    fit = [kind for kind in kinds if suits[kind.name] >= STAND_IN_FROM]
    return sorted(fit, key=lambda kind: (kind.name != lack.food, -suits[kind.name]))


def _last_start(
    room: Room, feedings: Sequence[Round], there: Sequence[Round], pattern: Culture, wanted: int
) -> Round | None:
    """The last of some rounds from which a culture is ripe by another, or else the first."""
    for start in reversed([r for r in there if r.index < wanted]):
        ripe = _ripe_from(room, feedings, pattern, start)
        if ripe is not None and ripe <= wanted:
            return start
    return there[0] if there else None


def _ripe_from(room: Room, feedings: Sequence[Round], pattern: Culture, start: Round) -> int | None:
    """The round from which a culture begun at another gives worms; None for none of them."""
    own = evolve(pattern, started=start.at.date())
    return first_harvest(child_stage(room, Split("", own, start.index), feedings))
