"""Broods whose whole diet is one food on which trials lost fry of their size."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from cultures.foods.food import DRY
from cultures.foods.kinds import WormKind
from cultures.foods.parameters import Parameter
from cultures.fry.diet import diet_shares
from cultures.fry.feeding import feeding_parameters
from cultures.needs.need import BroodCourse
from cultures.room.room import Room
from cultures.words.moments import hours
from cultures.words.text import listed

#: Of nauplii no trial says so.
_NEVER = Parameter(0.0, 0.0, 0.0, "mm", (), "assumption", "")


def lone_foods(room: Room, now: datetime, until: datetime) -> Iterator[str]:
    """One remark for each food that some broods get nothing besides, while that is risky.

    A brood that eats before ``until`` counts, with the diet and length of its first food.

    References:
        The lengths, and what was lost below them, are data: ``alone_below_mm`` of a kind.
    """
    found: dict[str, list[str]] = {}
    for brood in room.broods:
        course = BroodCourse.of(room, brood)
        at_h = max(hours(now), course.first_food_h)
        gone = brood.gone_on is not None and brood.gone_on <= room.at_hour(at_h).date()
        food = None if gone or at_h >= hours(until) else _risked(course, at_h)
        if food is not None:
            found.setdefault(food, []).append(f"{brood.name} in {brood.tank}")
    for food, broods in sorted(found.items()):
        limit = _limit(room, food)
        name = "dry food" if food == DRY else room.kinds[food].labels
        yield (
            f"{listed(broods)} get{'s' if len(broods) == 1 else ''} {name} alone, which is risky"
            f" below {limit.value:g} mm: {limit.note}. A second food beside it would help."
        )


def _risked(course: BroodCourse, at_h: float) -> str | None:
    """The only food of a brood at a time, where that is risky at its length."""
    room, brood, length_mm = course.room, course.brood, course.length_mm(at_h)
    shares = diet_shares(course.foods, brood.fry_class, length_mm, variety=room.variety)
    alone = next(iter(shares)) if len(shares) == 1 else None
    if alone is None or length_mm >= _limit(room, alone).value:
        return None
    return alone


def _limit(room: Room, food: str) -> Parameter:
    """Below what length a food alone is risky [mm]; 0 where no trial says so."""
    kind = room.kinds.get(food)
    if food == DRY:
        return feeding_parameters()["dry_alone_below_mm"]
    return kind.parameters["alone_below_mm"] if isinstance(kind, WormKind) else _NEVER
