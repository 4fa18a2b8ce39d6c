"""Dates of a brood: first food, foods, sort, lid, move on, crowding."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cultures.fry.classes import class_names
from cultures.needs.dates import (
    BroodDate,
    brood_dates,
    fitting_kinds,
    food_dates,
    growth_dates,
)
from cultures.needs.need import BroodCourse
from cultures.room.file import read_room
from cultures.room.room import Room

TODAY = date(2027, 1, 10)


def _room(brood: str, *, litres: float = 40, degrees: float = 26) -> Room:
    return read_room(
        f"""
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
[[tank]]
name = "A1"
litres = {litres}
temperature_c = {degrees}
[[brood]]
name = "one"
tank = "A1"
count = 100
{brood}
""",
        name="room.toml",
        today=TODAY,
    )


def _dates(room: Room, days: int = 120, start: date = TODAY) -> dict[tuple[str, str], BroodDate]:
    course = BroodCourse.of(room, room.broods[0])
    found = brood_dates(course, start, start + timedelta(days=days))
    assert found == sorted(found, key=lambda d: d.day)
    first: dict[tuple[str, str], BroodDate] = {}
    for each in found:
        first.setdefault((each.what, each.food), each)
    return first


def test_a_spawning_has_a_hatching_and_a_first_food_day() -> None:
    dates = _dates(_room('class = "egg_scatterer"\nspawned = 2027-01-10\nfoods = ["vinegar_eel"]'))
    # 2.9 and 5.8 days after noon of the 10th, at the reference temperature of the class.
    assert dates["hatching", ""].day == date(2027, 1, 13)
    assert dates["first_food", ""].day == date(2027, 1, 16)
    assert dates["first_food", ""].sure
    assert "5.8 days from being spawned at 26 °C" in dates["first_food", ""].why


def test_no_date_is_promised_in_a_cold_tank() -> None:
    dates = _dates(
        _room('class = "egg_scatterer"\nspawned = 2027-01-10\nfoods = ["dry"]', degrees=13)
    )
    assert not dates["first_food", ""].sure


def test_a_brood_whose_mouth_takes_nothing_kept_is_said_at_once() -> None:
    room = _room('class = "bubble_nest"\nfree_swimming = 2027-01-10\nfoods = ["brine_shrimp"]')
    missing = _dates(room)["no_food_fits", ""]
    assert missing.day == TODAY
    assert "vinegar eel" in missing.why
    assert "its mouth takes none of nauplii" in missing.why
    begins = _dates(room)["food_begins", "brine_shrimp"]
    assert begins.day > TODAY


def test_the_finest_mouths_are_offered_the_finest_food_first() -> None:
    room = _room('class = "bubble_nest"\nfree_swimming = 2027-01-10\nfoods = ["dry"]')
    course = BroodCourse.of(room, room.broods[0])
    assert fitting_kinds(course, 3.0)[0] == "vinegar_eel"
    assert "brine_shrimp" not in fitting_kinds(course, 3.0)
    assert "brine_shrimp" in fitting_kinds(course, 8.0)
    assert fitting_kinds(course, 0.4) == ("infusoria",)


def test_foods_follow_each_other_as_the_mouth_grows() -> None:
    foods = '["vinegar_eel", "microworm", "brine_shrimp", "dry"]'
    dates = _dates(_room(f'class = "egg_scatterer"\nfree_swimming = 2027-01-10\nfoods = {foods}'))
    assert dates["main_food", "brine_shrimp"].day < dates["main_food", "dry"].day
    assert dates["main_food", "brine_shrimp"].day < dates["food_begins", "dry"].day
    assert dates["food_ends", "vinegar_eel"].day < dates["food_ends", "brine_shrimp"].day


def test_lengths_make_dates_with_an_early_and_a_late_day() -> None:
    dates = _dates(_room('class = "annual_killifish"\nfree_swimming = 2027-01-10'), 60)
    for what in ("sort", "lid", "move_on", "past_fry_age"):
        each = dates[what, ""]
        assert each.early <= each.day <= each.late
    assert dates["sort", ""].day < dates["lid", ""].day < dates["move_on", ""].day


def test_a_length_that_is_past_is_no_date() -> None:
    dates = _dates(_room('class = "egg_scatterer"\nlength_mm = 23\nmeasured_on = 2027-01-10'))
    assert ("lid", "") not in dates
    assert ("past_fry_age", "") not in dates


@pytest.mark.parametrize(("litres", "expected"), [(200, False), (3, True)])
def test_a_small_tank_is_outgrown(litres: float, expected: bool) -> None:
    dates = _dates(
        _room('class = "egg_scatterer"\nfree_swimming = 2027-01-10', litres=litres), days=30
    )
    assert (("crowded", "") in dates) is expected


def test_a_measured_brood_keeps_its_dates_when_it_is_asked_on_another_day() -> None:
    room = _room('class = "rainbowfish"\nlength_mm = 9\nmeasured_on = 2027-01-08')
    early, later = _dates(room), _dates(room, start=TODAY + timedelta(days=3))
    assert early["lid", ""] == later["lid", ""]


def test_the_dates_of_a_brood_are_in_order() -> None:
    room = _room('class = "goldfish"\nfree_swimming = 2027-01-09')
    course = BroodCourse.of(room, room.broods[0])
    found = brood_dates(course, TODAY, TODAY + timedelta(days=60))
    assert [d.day for d in found] == sorted(d.day for d in found)
    assert {d.brood for d in found} == {"one"}


@pytest.mark.parametrize("fry_class", class_names())
def test_its_parts_make_the_whole_whenever_one_begins_to_look(fry_class: str) -> None:
    room = _room(f'class = "{fry_class}"\nhatched = 2027-01-05')
    course = BroodCourse.of(room, room.broods[0])
    end = TODAY + timedelta(days=90)
    whole = brood_dates(course, TODAY, end)
    growth, foods = growth_dates(course, TODAY, end), food_dates(course, TODAY, end)
    assert sorted(map(str, [*growth, *foods])) == sorted(map(str, whole))
    later = TODAY + timedelta(days=20)
    known = {"food_begins", "food_ends", "main_food"}
    assert [d for d in food_dates(course, later, end) if d.what in known] == [
        d for d in foods if d.what in known and d.day >= later
    ]
    assert growth
