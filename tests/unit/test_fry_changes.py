"""A brood counted, measured, moved, lost, merged and split by size."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from attrs import evolve

from cultures.errors import RangeError, UnknownNameError
from cultures.fry.classes import shipped_class
from cultures.fry.feeding import energy_per_day_j
from cultures.needs.need import BroodCourse
from cultures.replay.brood_changes import (
    alive,
    alive_between,
    counted,
    lost,
    measured,
    merged,
    moved,
    split_by_size,
)
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
    assert alive(BROOD, BROOD.counted_on) == 100
    assert alive(BROOD, BROOD.counted_on + timedelta(days=10)) == pytest.approx(100 * 0.99**10)


def test_between_counts_a_constant_share_is_lost() -> None:
    first, last = date(2027, 1, 1), date(2027, 1, 21)
    assert alive_between(100, first, 81, last, date(2027, 1, 11)) == pytest.approx(90)
    assert alive_between(100, first, 81, last, first) == 100
    with pytest.raises(RangeError, match="does not lie between"):
        alive_between(100, first, 81, last, date(2027, 2, 1))
    with pytest.raises(RangeError, match="above 0"):
        alive_between(100, first, 0, last, first)


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
    after = BroodCourse.of(ROOM, measured(BROOD, 9.0, TODAY))
    morning = hours(ROOM.local(TODAY, time(0)))
    assert after.length_mm(morning) == pytest.approx(9.0)
    assert after.length_mm(NOON) != pytest.approx(COURSE.length_mm(NOON), rel=0.05)


def test_a_moved_brood_keeps_its_size_and_grows_at_the_new_warmth() -> None:
    at = ROOM.local(TODAY, time(12))
    after = BroodCourse.of(ROOM, moved(COURSE, "cool", at))
    assert after.temperature_c == 23
    assert after.length_mm(NOON) == pytest.approx(COURSE.length_mm(NOON))
    assert after.length_mm(NOON + 240) < COURSE.length_mm(NOON + 240)
    with pytest.raises(UnknownNameError):
        moved(COURSE, "nowhere", at)


def test_losses_and_sales_are_taken_off_and_the_last_one_ends_the_brood() -> None:
    before = alive(BROOD, TODAY)
    after = lost(BROOD, 30, TODAY)
    assert after is not None
    assert after.count == pytest.approx(before - 30)
    assert lost(BROOD, 99, TODAY) is None
    with pytest.raises(RangeError, match="count them first"):
        lost(BROOD, 101, TODAY)


def test_broods_of_one_size_are_merged_and_need_what_both_needed() -> None:
    other = BroodCourse.of(ROOM, evolve(BROOD, name="two", count=50.0))
    both = merged(COURSE, other, "all", TODAY)
    assert both.count == pytest.approx(1.5 * alive(BROOD, TODAY))
    assert both.length_mm == pytest.approx(COURSE.length_mm(NOON))
    small = BroodCourse.of(ROOM, measured(evolve(BROOD, name="two"), 4.5, TODAY))
    with pytest.raises(RangeError, match="keep them apart"):
        merged(COURSE, small, "all", TODAY)
    strange = BroodCourse.of(ROOM, evolve(BROOD, fry_class=shipped_class("goldfish")))
    with pytest.raises(RangeError, match="different classes"):
        merged(COURSE, strange, "all", TODAY)


def test_a_sorting_keeps_the_count_and_about_the_need() -> None:
    small, large = split_by_size(COURSE, TODAY, small=40, large=40, tank_of_large="cool")
    assert (small.count, large.count, large.tank) == (40, 40, "cool")
    mean = COURSE.length_mm(NOON)
    assert small.length_mm is not None
    assert large.length_mm is not None
    assert small.length_mm < mean < large.length_mm
    # Halves of a log-normal law lie sqrt(2 / pi) standard deviations from its middle.
    spread = COURSE.fry_class.length_spread(mean)
    assert large.length_mm / mean == pytest.approx(2.718281828 ** (spread * 0.7978845608))
    weigh = COURSE.fry_class.weight_mg
    parts = sum(40 * energy_per_day_j(weigh(x), 26) for x in (small.length_mm, large.length_mm))
    assert parts == pytest.approx(80 * energy_per_day_j(weigh(mean), 26), rel=0.1)
    with pytest.raises(RangeError, match="both groups"):
        split_by_size(COURSE, TODAY, small=0, large=40, tank_of_large="cool")


@pytest.mark.parametrize("length", [0.5, 900])
def test_no_impossible_length_is_taken(length: float) -> None:
    with pytest.raises(RangeError, match="no length of a fry"):
        measured(BROOD, length, TODAY)


def test_no_impossible_count_is_taken() -> None:
    with pytest.raises(RangeError, match="above 0"):
        counted(BROOD, 0, TODAY)
    with pytest.raises(RangeError, match="already counted"):
        counted(BROOD, 50, BROOD.counted_on - timedelta(days=1))
