"""Broods that share a tank with fish so much larger that these eat them, or leave them no food.

How much that is says ``sort_ratio`` of the larger ones' class: how much longer the largest of a
brood may be than the smallest before it is sorted. Of another brood's fry it holds as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from attrs import frozen

from cultures.needs.need import BroodCourse
from cultures.room.room import Room
from cultures.words.grouped import by_key
from cultures.words.moments import hours, spoken_day
from cultures.words.quantities import number
from cultures.words.text import listed


@frozen
class Unequal:
    """A brood and the larger ones in its tank, by name; ``text``: a remark on it."""

    brood: str
    larger: tuple[str, ...]
    text: str


def unequal_company(room: Room, now: datetime) -> Iterator[Unequal]:
    """The broods of a room that are in a tank with much larger ones, in the order of the room.

    One that does not swim yet counts by its length at first food.

    Raises:
        RangeError: a brood whose eggs never develop.
    """
    here = [b for b in room.broods if b.gone_on is None or now.date() < b.gone_on]
    every = [BroodCourse.of(room, brood) for brood in here]
    for courses in by_key(every, lambda course: course.brood.tank).values():
        for small in courses:
            times = {c: _times(c, small, now) for c in courses}
            larger = [c for c in courses if times[c] >= c.fry_class.values["sort_ratio"]]
            if larger:
                text = _text(small, larger, max(times[c] for c in larger), now)
                yield Unequal(small.brood.name, tuple(c.brood.name for c in larger), text)


def _times(one: BroodCourse, other: BroodCourse, now: datetime) -> float:
    """How many times as long as another brood one is."""
    return one.length_mm(hours(now)) / other.length_mm(hours(now))


def _text(small: BroodCourse, larger: list[BroodCourse], times: float, now: datetime) -> str:
    name = small.brood.name
    who = listed([_called(course, now) for course in larger])
    most = "up to " if len(larger) > 1 else ""
    return (
        f"{_called(small, now)} shares {small.brood.tank} with {who}, {most}{number(times, 2)}"
        " times as long: fish so much larger eat the small ones, or leave them no food. Part"
        f" them: livefood journal move '{name}' TANK."
    )


def _called(course: BroodCourse, now: datetime) -> str:
    day = course.first_food_day()
    if now.date() < day:
        return f"{course.brood.name} (swims from {spoken_day(day, now)} on)"
    return f"{course.brood.name} ({number(course.length_mm(hours(now)), 2)} mm)"
