"""What a joule of each food is worth to fry, and foods that trials lost fry on alone."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from attrs import evolve

from cultures.foods.kinds import WormKind, shipped_kind
from cultures.fry.feeding import feeding_parameters
from cultures.needs.food_units import natural_amount
from cultures.planning.lone_foods import lone_foods
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.task import HarvestWorms
from tests.simulation import simulate

_TODAY = date(2027, 1, 20)
_HEAD = """\
[room]
name = "Loft"
timezone = "Europe/Lisbon"
temperature_c = 24
as_of = 2027-01-20

[[tank]]
name = "A1"
litres = 40
temperature_c = 25
"""
_BOX = """
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-01-08
medium_g = 150
surface_cm2 = 180
starter_g = 15
"""


def brood(name: str = "one", mm: float = 4.5, foods: str = '["microworm"]', more: str = "") -> str:
    return (
        f'\n[[brood]]\nname = "{name}"\ntank = "A1"\nclass = "bubble_nest"\ncount = 60\n'
        f"length_mm = {mm}\nmeasured_on = 2027-01-20\nfoods = {foods}\n{more}"
    )


def room(*tables: str, head: str = "") -> Room:
    text = _HEAD.replace("as_of", f"{head}\nas_of", 1) + "".join(tables)
    return read_room(text, name="room.toml", today=_TODAY)


def now(of: Room) -> datetime:
    return datetime(2027, 1, 20, 7, 0, tzinfo=of.timezone)


def remarks(*tables: str, head: str = "", days: int = 10) -> list[str]:
    mine = room(*tables, head=head)
    outlook = make_outlook(mine, now=now(mine), days=days)
    return [*lone_foods(mine, now(mine), outlook.until)]


def microworm() -> WormKind:
    kind = shipped_kind("microworm")
    assert isinstance(kind, WormKind)
    return kind


def worth(value: float) -> WormKind:
    kind = microworm()
    return evolve(kind, values={**kind.values, "food_value": value})


def test_no_shipped_food_is_worth_more_or_less_than_another_by_its_joules() -> None:
    """No trial offered equal energy of two foods; so the value is 1, in a wide range."""
    for name in ("microworm", "banana_worm", "vinegar_eel", "paramecium", "rotifer"):
        parameter = shipped_kind(name).parameters["food_value"]
        assert parameter.value == 1
        assert parameter.low <= 0.5
        assert parameter.high >= 1.5


def test_a_food_worth_half_is_given_twice() -> None:
    usual = room(brood(), _BOX)
    half = evolve(
        usual,
        kinds={**usual.kinds, "microworm": worth(0.5)},
        cultures=tuple(evolve(c, kind=worth(0.5)) for c in usual.cultures),
    )
    assert natural_amount(half, "microworm", 100).value == pytest.approx(
        2 * natural_amount(usual, "microworm", 100).value
    )
    given = []
    for mine in (usual, half):
        plan = plan_of(make_outlook(mine, now=now(mine), days=3), remedies=False)
        assert simulate(mine, plan.tasks, plan.lines).violations == []
        given.append(sum(t.mg for t in plan.tasks if isinstance(t, HarvestWorms)))
    once, twice = given
    swipe = microworm().values["portion_mg"]
    assert twice == pytest.approx(2 * once, abs=6 * swipe / 4)  # rounded up to quarter swipes
    assert twice > 1.5 * once


def test_a_room_file_may_say_what_a_food_is_worth() -> None:
    own = (
        '\n[[kind]]\nlike = "microworm"\nname = "attic_worm"\n[kind.parameters]\nfood_value = 0.6\n'
    )
    mine = room(own, brood(foods='["attic_worm"]'))
    kind = mine.kinds["attic_worm"]
    assert isinstance(kind, WormKind)
    assert kind.fed_j_per_mg == pytest.approx(0.6 * microworm().fed_j_per_mg)


def test_one_food_below_a_length_gets_one_remark_with_what_trials_lost_and_who_says_so() -> None:
    (found,) = remarks(brood(), _BOX)
    assert found.startswith("one in A1 gets microworms alone, which is risky below 10 mm: ")
    assert "Santiago et al. 2003" in found


def test_several_broods_on_one_food_are_one_remark() -> None:
    (found,) = remarks(brood("one"), brood("two"), brood("three", mm=12), _BOX)
    assert found.startswith("one in A1 and two in A1 get microworms alone")


@pytest.mark.parametrize(
    ("mm", "foods"),
    [
        (10.5, '["microworm"]'),
        (6.0, '["microworm", "vinegar_eel"]'),
        (4.5, '["vinegar_eel"]'),
    ],
)
def test_longer_fry_other_foods_and_a_second_food_get_none(mm: float, foods: str) -> None:
    assert remarks(brood(mm=mm, foods=foods), _BOX) == []


def test_a_second_food_for_variety_is_a_second_food() -> None:
    foods = '["microworm", "paramecium"]'
    assert remarks(brood(mm=9, foods=foods), _BOX, head="variety = 2") == []


def test_dry_food_alone_is_risky_for_the_smallest() -> None:
    """2.46 times the risk to die in 47 studies of larvae from their first food on."""
    limit = feeding_parameters()["dry_alone_below_mm"]
    (found,) = remarks(brood(mm=9, foods='["dry"]'))
    assert found.startswith(f"one in A1 gets dry food alone, which is risky below {limit.value:g}")
    assert "47 studies of 27 species" in found
    assert remarks(brood(mm=limit.value + 1, foods='["dry"]')) == []


def test_fry_that_do_not_eat_within_the_plan_get_none() -> None:
    eggs = brood().replace("length_mm = 4.5\nmeasured_on = 2027-01-20", "spawned = 2027-01-19")
    assert remarks(eggs, _BOX, days=1) == []
    (found,) = remarks(eggs, _BOX, days=10)
    assert "microworms alone" in found


def test_the_remark_stands_in_the_plan_once() -> None:
    mine = room(brood(), _BOX)
    notes = plan_of(make_outlook(mine, now=now(mine), days=14), remedies=False).notes
    assert sum("microworms alone" in note.text for note in notes) == 1
