"""A brood counted and measured."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from attrs import evolve

from cultures.needs.need import BroodCourse
from cultures.replay.broods import counted
from cultures.room.file import read_room
from cultures.words.moments import hours

TODAY = date(2027, 1, 30)
ROOM = read_room(
    """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
[[tank]]
name = "warm"
litres = 40
temperature_c = 28
[[tank]]
name = "cool"
litres = 40
temperature_c = 23
[[brood]]
name = "one"
tank = "warm"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-10
survival_per_day = 0.99
""",
    name="room.toml",
    today=TODAY,
)
BROOD = ROOM.broods[0]
COURSE = BroodCourse.of(ROOM, BROOD)
NOON = hours(ROOM.local(TODAY, time(12)))


def test_alive_falls_by_the_survival_of_each_day() -> None:
    assert BROOD.alive(BROOD.counted_on) == 100
    assert BROOD.alive(BROOD.counted_on + timedelta(days=10)) == pytest.approx(100 * 0.99**10)


def test_a_count_is_taken_and_draws_the_survival_towards_it() -> None:
    after = counted(BROOD, 70, TODAY)
    assert (after.count, after.counted_on) == (70, TODAY)
    seen = 0.7 ** (1 / 20)
    assert seen < after.survival_per_day < 0.99
    assert counted(BROOD, 300, TODAY).survival_per_day <= 1


def test_counts_a_day_apart_decide_little() -> None:
    next_day = BROOD.counted_on + timedelta(days=1)
    assert counted(BROOD, 90, next_day).survival_per_day > 0.98
    assert counted(BROOD, 90, BROOD.counted_on).survival_per_day == 0.99


def test_a_measurement_re_anchors_the_curve() -> None:
    measured = evolve(BROOD, anchor="length", anchor_date=TODAY, length_mm=9.0)
    after = BroodCourse.of(ROOM, measured)
    morning = hours(ROOM.local(TODAY, time(0)))
    assert after.length_mm(morning) == pytest.approx(9.0)
    assert after.length_mm(NOON) != pytest.approx(COURSE.length_mm(NOON), rel=0.05)
