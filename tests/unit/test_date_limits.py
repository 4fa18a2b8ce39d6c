"""Dates in the life of a brood, at the very limits at which there is one or none.

The fry are those of `test_replay_by_hand`: 4 mm at midnight of 5 January, 16 mm after ten days and
32 mm after twenty, on a curve that ends at 64 mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pytest
from attrs import evolve

from cultures.fry.classes import FryClass
from cultures.needs.dates import (
    INFUSORIA,
    BroodDate,
    brood_dates,
    fitting_kinds,
    food_dates,
    growth_dates,
    past_fry_dates,
    sale_date,
)
from cultures.needs.need import BroodCourse
from cultures.room.room import Brood, Room, SellAt
from tests.unit.test_replay_by_hand import ROOM

_START = date(2027, 1, 5)
_FRY, _EGGS = ROOM.brood("fry"), ROOM.brood("eggs")


def _course(brood: Brood = _FRY, room: Room = ROOM, **changes: Any) -> BroodCourse:
    changed = evolve(brood, **changes)
    others = [b for b in room.broods if b.name != brood.name]
    return BroodCourse.of(evolve(room, broods=(changed, *others)), changed)


def _class(values: Mapping[str, float]) -> FryClass:
    return evolve(_FRY.fry_class, values={**_FRY.fry_class.values, **values})


def _dates(course: BroodCourse, start: date = _START, days: int = 60) -> dict[str, BroodDate]:
    return {d.what: d for d in brood_dates(course, start, start + timedelta(days=days))}


@pytest.mark.parametrize(("hatch_days", "told"), [(0.49, False), (0.5, True), (1.4, True)])
def test_who_hatches_within_half_a_day_has_no_day_of_hatching(
    hatch_days: float, told: bool
) -> None:
    """Livebearers are born."""
    fry = _class({"hatch_days": hatch_days})
    assert ("hatching" in _dates(_course(_EGGS, fry_class=fry))) is told
    hatched = _course(_EGGS, fry_class=fry, anchor="hatched")
    assert "hatching" not in _dates(hatched)
    assert "first_food" in _dates(hatched)
    assert "first_food" not in _dates(_course())


def test_a_time_holds_its_first_day_and_not_its_last() -> None:
    lid = _dates(_course())["lid"].day
    for start, end, inside in (
        (lid, lid + timedelta(days=1), True), (lid - timedelta(days=1), lid, False),
        (lid + timedelta(days=1), lid + timedelta(days=9), False),
    ):  # fmt: skip
        found = growth_dates(_course(), start, end)
        assert any(d.what == "lid" for d in found) is inside


def test_past_fry_age_says_whether_there_is_dry_food() -> None:
    for foods, said in ((("microworm", "dry"), "on dry food."), (("dry",), "on dry food."),
                        (("microworm",), "but dry food is not among its foods."),
                        (None, "on dry food.")):  # fmt: skip
        assert _dates(_course(foods=foods))["past_fry_age"].why.endswith(said)


def test_past_fry_age_is_the_same_date_alone_and_among_all() -> None:
    """32 mm after twenty days; who asks for that day alone is told of no other."""
    day = _dates(_course())["past_fry_age"].day
    next_day = day + timedelta(days=1)
    for start, end in ((_START, next_day), (day, next_day), (_START, day), (next_day, next_day)):
        every = growth_dates(_course(), start, end)
        assert past_fry_dates(_course(), start, end) == [
            d for d in every if d.what == "past_fry_age"
        ]


def test_a_length_that_is_past_already_has_no_day_and_one_of_now_has() -> None:
    """Measured at midnight of the 15th: 16 mm is reached then, 8 mm was before."""
    measured: dict[str, Any] = {"anchor": "length", "anchor_date": date(2027, 1, 15)}
    at = _dates(_course(length_mm=16.0, **measured), date(2027, 1, 1))
    assert "lid" not in at
    assert at["move_on"].day == date(2027, 1, 15)
    over = _dates(_course(length_mm=16.01, **measured), date(2027, 1, 1))
    assert "move_on" not in over


def test_it_is_sorted_until_it_is_no_fry_any_more_and_within_the_time() -> None:
    """4 mm times 1.5^(1 / 0.44) is 10.05 mm, and again 25.3 mm."""
    factor = 1.5 ** (1 / 0.44)
    for until, times in ((4 * factor - 0.01, 0), (4 * factor + 0.01, 1), (4 * factor**2 + 0.01, 2)):
        course = _course(fry_class=_class({"fry_until_mm": until}))
        found = brood_dates(course, _START, _START + timedelta(days=60))
        assert sum(d.what == "sort" for d in found) == times
    day = _dates(_course())["sort"].day
    short = brood_dates(_course(), _START, day)
    assert sum(d.what == "sort" for d in short) == 1  # the second one is that day's


@pytest.mark.parametrize(
    ("count", "day"), [(100, date(2027, 1, 18)), (101, date(2027, 1, 17)), (500, date(2027, 1, 5))]
)
def test_a_tank_is_crowded_from_the_first_day_that_it_is(count: int, day: date) -> None:
    """2,000 mm in 20 L: of 101 19.8 mm each, on the 17th at 09:50; of 500 what they begin with."""
    course = _course(count=float(count))
    found = [d.day for d in brood_dates(course, _START, _START + timedelta(days=30))
             if d.what == "crowded"]  # fmt: skip
    assert found == [day]
    later = brood_dates(course, day + timedelta(days=1), day + timedelta(days=9))
    assert all(d.what != "crowded" for d in later)  # it holds already


def test_a_tank_is_crowded_from_the_very_noon_of_the_first_food() -> None:
    """Spawned at noon of the 5th, and five days at 26 °C; 5,000 of 4 mm in 20 L."""
    fry = _class({"hatch_days": 2.0, "first_food_days": 5.0})
    course = _course(_EGGS, fry_class=fry, count=5000.0)
    assert _dates(course)["crowded"].day == date(2027, 1, 10)


def test_a_tank_bears_so_many_millimetres_of_fish_a_litre() -> None:
    """A measured brood that does not grow: 100 of 20 mm in 20 L at 100 mm a litre."""
    still = _class({"growth_rate_per_day": 1e-12})
    for count, crowded in ((99.99, False), (100.01, True)):
        course = _course(
            fry_class=still, anchor="length", length_mm=20.0, count=count,
            anchor_date=date(2027, 1, 6), counted_on=date(2027, 1, 6),
        )  # fmt: skip
        found = brood_dates(course, date(2027, 1, 6), date(2027, 1, 20))
        told = [d.day for d in found if d.what == "crowded"]
        assert told == ([date(2027, 1, 6)] if crowded else [])


# --- sales


def test_when_fish_can_go_by_age_or_length() -> None:
    assert sale_date(_course()) is None
    assert sale_date(_course(sell_at=SellAt())) is None
    by_age = sale_date(_course(sell_at=SellAt(age_days=30.0)))
    assert by_age is not None
    assert (by_age.day, by_age.why) == (date(2027, 2, 4), "30 days since their first food.")
    by_length = sale_date(_course(sell_at=SellAt(16.0)))
    assert by_length is not None
    assert by_length.day == date(2027, 1, 15)
    assert by_length.early < by_length.day < by_length.late
    assert sale_date(_course(sell_at=SellAt(63.9))) is None  # it never comes to that
    known: dict[str, Any] = {
        "anchor": "length",
        "anchor_date": date(2027, 1, 15),
        "length_mm": 16.0,
    }
    for wanted in (15.0, 16.0):  # they are as long already
        now = sale_date(_course(sell_at=SellAt(wanted), **known))
        assert now is not None
        assert now.day == date(2027, 1, 15)


def test_the_age_of_measured_fish_is_that_of_their_curve_or_of_what_was_known() -> None:
    """16 mm are ten days at the reference temperature, and more in a cooler tank."""
    known: dict[str, Any] = {
        "anchor": "length", "anchor_date": date(2027, 1, 15), "length_mm": 16.0,
        "sell_at": SellAt(age_days=30.0),
    }  # fmt: skip
    by_curve = sale_date(_course(**known))
    assert by_curve is not None
    assert by_curve.day == date(2027, 2, 4)
    noted = sale_date(_course(fed_since=date(2027, 1, 1), **known))
    assert noted is not None
    assert noted.day == date(2027, 1, 31)
    cool = evolve(ROOM, tanks=tuple(evolve(t, temperature_c=20.0) for t in ROOM.tanks))
    slow = sale_date(_course(room=cool, **known))
    assert slow is not None
    speed = _FRY.fry_class.growth(20.0)
    assert abs((slow.day - date(2027, 1, 15)).days - (30 - 10 / speed)) <= 1


# --- foods


def test_a_food_fits_from_half_of_the_mouths_on_and_infusoria_fit_all() -> None:
    fry = _FRY.fry_class
    assert fitting_kinds(_course(), 0.5) == (INFUSORIA,)
    names = fitting_kinds(_course(), 8.0)
    widths = [ROOM.food(name).width_um for name in names]
    assert names
    assert widths == sorted(widths)
    assert all(width > 0 for width in widths)
    shrimp = ROOM.food("brine_shrimp")
    lengths = [n / 100 for n in range(200, 2000)]
    first = next(x for x in lengths if "brine_shrimp" in fitting_kinds(_course(), x))
    # 0.541 of the gape, 5 % of the length, is as wide as a nauplius (and it is worth the chase).
    assert first == pytest.approx(shrimp.width_um / 0.541 / 50, rel=0.02)
    assert fry.gape_um(first) == pytest.approx(50 * first)


def test_changes_of_the_diet_are_told_on_their_days_and_not_before() -> None:
    """Nauplii begin once they fit; what is kept and never fits is never told."""
    course = _course(foods=("microworm", "brine_shrimp", "dry"))
    found = food_dates(course, _START, _START + timedelta(days=60))
    begun = [d for d in found if d.what == "food_begins"]
    for each in begun:
        after = food_dates(course, each.day + timedelta(days=1), each.day + timedelta(days=2))
        assert all((d.what, d.food) != ("food_begins", each.food) for d in after)
        on = food_dates(course, each.day, each.day + timedelta(days=1))
        assert any((d.what, d.food) == ("food_begins", each.food) for d in on)
    ends = {d.food: d for d in found if d.what == "food_ends"}
    assert set(ends) >= {"microworm"}
    assert ends["microworm"].why.endswith("they outgrow microworm.")
    main = [d for d in found if d.what == "main_food"]
    assert main
    assert all(
        ("most of the diet" in d.why) == (int(d.why.rpartition(" ")[2][:-2]) > 50) for d in main
    )
    # Only dry food from fry age on, and nothing after.
    assert main[-1].food == "dry"


def test_what_no_mouth_takes_is_said_once_and_of_kinds_that_fit() -> None:
    tiny = _class({"length_first_food_mm": 2.0})
    course = _course(fry_class=tiny, foods=("brine_shrimp",))
    found = food_dates(course, _START, _START + timedelta(days=3))
    assert [d.what for d in found][:1] == ["no_food_fits"]
    assert sum(d.what == "no_food_fits" for d in found) == 1
    assert "its mouth takes none of nauplii" in found[0].why
    nothing = evolve(course, room=course.room)
    assert food_dates(nothing, _START - timedelta(days=9), _START) == []
