"""What must hold for the needs of a whole room."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from cultures.fry.classes import class_names, shipped_class
from cultures.needs.need import BroodCourse, BroodNeed, room_needs, rounds_between
from cultures.room.file import read_room
from cultures.room.room import Brood, Room

TODAY = date(2027, 1, 20)
START = datetime(2027, 1, 20, 6, tzinfo=ZoneInfo("Europe/Lisbon"))

ROOM = read_room(
    """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
[[tank]]
name = "A1"
litres = 40
temperature_c = 26
[[brood]]
name = "one"
tank = "A1"
class = "egg_scatterer"
count = 100
spawned = 2027-01-10
foods = ["vinegar_eel", "microworm", "brine_shrimp", "dry"]
""",
    name="room.toml",
    today=TODAY,
)

BROODS = st.builds(
    lambda name, count, anchor, ago, length, survival: evolve(
        ROOM.broods[0],
        fry_class=shipped_class(name),
        count=float(count),
        anchor=anchor,
        anchor_date=TODAY - timedelta(days=ago),
        counted_on=TODAY - timedelta(days=ago),
        length_mm=length if anchor == "length" else None,
        survival_per_day=survival,
    ),
    name=st.sampled_from(class_names()),
    count=st.integers(1, 5000),
    anchor=st.sampled_from(["spawned", "hatched", "free_swimming", "length"]),
    ago=st.integers(0, 60),
    length=st.floats(2, 60),
    survival=st.floats(0.9, 1),
)


def _needs(room: Room, *broods: Brood, days: int = 3, degrees: float = 26) -> list[BroodNeed]:
    (tank,) = room.tanks
    warm = evolve(room, broods=broods, tanks=(evolve(tank, temperature_c=degrees),))
    rounds = rounds_between(warm, START, START + timedelta(days=days))
    return [need for row in room_needs(warm, rounds) for need in row]


@given(BROODS)
def test_needs_are_never_negative_and_are_split_in_full(brood: Brood) -> None:
    for need in _needs(ROOM, brood):
        assert need.energy_j > 0
        assert need.count > 0
        if need.foods:
            assert math.fsum(need.foods.values()) == pytest.approx(need.energy_j)


@given(BROODS, st.floats(1.01, 10))
def test_need_grows_with_the_count(brood: Brood, factor: float) -> None:
    more = evolve(brood, count=brood.count * factor)
    pairs = zip(_needs(ROOM, brood), _needs(ROOM, more), strict=True)
    for few, many in pairs:
        assert many.energy_j == pytest.approx(few.energy_j * factor)


@given(BROODS, st.floats(0.05, 0.95))
def test_splitting_a_brood_leaves_the_need_the_same(brood: Brood, share: float) -> None:
    one = evolve(brood, name="one", count=brood.count * share)
    two = evolve(brood, name="two", count=brood.count * (1 - share))
    whole = sum(need.energy_j for need in _needs(ROOM, brood))
    assert sum(need.energy_j for need in _needs(ROOM, one, two)) == pytest.approx(whole)


@given(BROODS, st.floats(21, 26), st.floats(0, 6))
def test_a_hotter_tank_never_postpones_the_first_feed(
    brood: Brood, cool: float, warmer: float
) -> None:
    if brood.anchor == "length":
        return
    (tank,) = ROOM.tanks
    days = [
        BroodCourse.of(evolve(ROOM, tanks=(evolve(tank, temperature_c=t),)), brood).first_food_h
        for t in (cool, cool + warmer)
    ]
    assert days[1] <= days[0]


@given(BROODS, st.floats(1, 20))
def test_a_measured_length_overrides_the_age(brood: Brood, length: float) -> None:
    measured = evolve(brood, anchor="length", anchor_date=TODAY, length_mm=length)
    course = BroodCourse.of(ROOM, measured)
    assert course.length_mm(course.from_h) == pytest.approx(length)
    assert course.length_mm(course.from_h - 24) == pytest.approx(length)
    assert course.length_mm(course.from_h + 24) > length
