"""What food makes of a fry, by hand."""

from __future__ import annotations

import math

import pytest

from cultures.fry.bioenergetics import (
    Budget,
    Condition,
    day_need_j,
    days_to_death,
    days_to_no_return,
    fed,
    full_food,
    most_of_a_meal,
    point_of_no_return,
    upkeep_j,
)
from cultures.fry.classes import class_names, shipped_class
from cultures.fry.feeding import energy_per_day_j, feeding_values

DANIO = shipped_class("egg_scatterer")


def test_the_energy_of_the_body_is_that_of_its_dry_matter() -> None:
    """Hartman & Brandt 1995: 45.29 x (per cent of dry matter)^1.507 J/g."""
    v = feeding_values()
    by_hand = 45.29 * (100.0 * v["body_dry_matter"]) ** 1.507 / 1000.0
    assert v["body_j_per_mg"] == pytest.approx(by_hand, rel=0.02)


def test_upkeep_by_hand() -> None:
    """Bleak of 5 mg (0.81 mg dry) by the line through their uptake, 0.194 x dry^0.681."""
    by_hand = 0.194 * 0.81**0.681 * 24 * 0.434
    assert upkeep_j(5.0, 20.0) == pytest.approx(by_hand, rel=0.02)
    assert upkeep_j(2.5, 20.0) == pytest.approx(upkeep_j(5.0, 20.0) / 2)
    assert upkeep_j(160.0, 20.0) == pytest.approx(32 * 0.5 * upkeep_j(5.0, 20.0))
    assert upkeep_j(5.0, 30.0) == pytest.approx(2.06 * upkeep_j(5.0, 20.0))


def test_of_little_all_is_eaten_and_of_the_need_what_growth_costs() -> None:
    full = full_food(DANIO, 10.0, 26.0, 1.0)
    length = DANIO.length_mm(10.0)
    assert full.offered_j == pytest.approx(energy_per_day_j(DANIO.weight_mg(length), 26.0))
    assert full.taken(1.0) == pytest.approx(1.0)
    assert full.taken(1e-9) * full.intake_j == pytest.approx(1e-9 * full.offered_j)
    # 2/3 of the need, where 0.5 of it is eaten at full food: 2/3 / (1/2 + 1/2 x 2/3) = 0.8.
    half = full.intake_j / 0.5
    changed = type(full)(full.grown_j, full.upkeep_j, full.intake_j, half, 1.0, 1.0)
    assert changed.taken(2 / 3) == pytest.approx(0.8)


def test_fry_that_get_just_their_upkeep_neither_grow_nor_starve() -> None:
    full = full_food(DANIO, 10.0, 26.0, 1.0)
    m, e = full.upkeep_j / (full.upkeep_j + full.grown_j), full.eaten_of_need
    share = e * m / (1 - (1 - e) * m)  # the share of which they take m
    after = fed(DANIO, Condition(10.0), 26.0, share, 1.0).after
    assert after.growth_days == pytest.approx(10.0)
    assert after.reserve == pytest.approx(1.0)


def test_where_growth_costs_more_than_the_ration_the_need_is_what_growth_costs() -> None:
    killifish = shipped_class("annual_killifish")
    at = killifish.growth_days(12.0)
    full = full_food(killifish, at, 26.0, 1.0)
    assert full.offered_j == full.intake_j
    assert full.offered_j > energy_per_day_j(killifish.weight_mg(12.0), 26.0)
    assert full.taken(0.5) == pytest.approx(0.5)
    assert day_need_j(killifish, 12.0, 26.0) == pytest.approx(full.intake_j)


def test_where_the_ration_is_more_it_is_the_need() -> None:
    law = energy_per_day_j(DANIO.weight_mg(10.0), 26.0)
    assert day_need_j(DANIO, 10.0, 26.0) == law > full_food(DANIO, 10.0, 26.0, 1.0).intake_j
    grown_up = 1.2 * DANIO.values["length_limit_mm"]  # larger than its curve ever gets
    assert day_need_j(DANIO, grown_up, 26.0) == energy_per_day_j(DANIO.weight_mg(grown_up), 26.0)


@pytest.mark.parametrize("name", class_names())
def test_at_first_food_a_class_lives_as_long_unfed_as_its_data_say(name: str) -> None:
    v = shipped_class(name).values
    days = days_to_no_return(shipped_class(name), v["length_first_food_mm"], v["t_ref_c"])
    assert days == pytest.approx(v["starve_days"])


def test_four_times_the_weight_lives_longer_by_a_root() -> None:
    first, larger = 4.0, 4.0 * 4.0 ** (1 / DANIO.values["weight_b"])
    short, long = (days_to_no_return(DANIO, length, 26.0) for length in (first, larger))
    assert long == pytest.approx(short * math.sqrt(2.0))
    assert days_to_death(DANIO, first, 26.0) == pytest.approx(1.65 * short)


def test_the_point_of_no_return_is_found_within_a_step() -> None:
    before = Condition(0.0, 0.1)
    step = fed(DANIO, before, 26.0, 0.0, 1.0)
    assert point_of_no_return(before, step) == pytest.approx(0.1 * 4.8)
    assert point_of_no_return(Condition(0.0), fed(DANIO, Condition(0.0), 26.0, 0.0, 1.0)) is None
    assert point_of_no_return(step.after, fed(DANIO, step.after, 26.0, 0.0, 1.0)) is None


def test_one_meal_fills_a_gut_and_what_it_clears_in_time() -> None:
    """At 26.5 °C: 8 % of 10 mg, times 1 + 0.327 an hour x 4 h, of 2.8 J/mg; at 9 °C a carp clears
    0.060 an hour (source carp-gut).
    """
    assert most_of_a_meal(10.0, 26.5) == pytest.approx(10 * 0.08 * (1 + 0.327 * 4) * 2.8)
    cold = pytest.approx(10 * 0.08 * (1 + 0.060 * 4) * 2.8, rel=0.01)
    assert most_of_a_meal(10.0, 9.0) == cold


def test_of_plenty_no_more_is_eaten_than_fills_the_reserves_and_the_gut() -> None:
    """A killifish, which eats all of its need, given ten times that for an hour or for a day."""
    killifish = shipped_class("annual_killifish")
    at = killifish.growth_days(12.0)
    hour = full_food(killifish, at, 26.0, 1 / 24)
    gut = most_of_a_meal(killifish.weight_mg(12.0), 26.0)
    assert gut > 1.5 * hour.intake_j
    lacking_j = 0.001 * hour.reserve_j
    step = fed(killifish, Condition(at, 0.999), 26.0, 10.0, 1 / 24)
    over = lacking_j / (hour.grown_j + hour.upkeep_j)
    assert step.eaten_j == pytest.approx(hour.intake_j * (1 + over))
    assert step.after.reserve == pytest.approx(1.0)
    assert step.after.growth_days == pytest.approx(at + killifish.growth(26.0) / 24)
    full = fed(killifish, Condition(at, 1.0), 26.0, 10.0, 1 / 24)
    assert full.eaten_j == pytest.approx(hour.intake_j)
    hungry = fed(killifish, Condition(at, 0.0), 26.0, 10.0, 1 / 24)
    assert hungry.eaten_j == pytest.approx(gut)
    assert hungry.given_j - hungry.eaten_j == pytest.approx(10 * hour.offered_j - gut)
    # Half of its need grows half of what is left after upkeep; a tenth is burnt out of it.
    half = fed(killifish, Condition(at, 1.0), 26.0, 0.5, 1 / 24)
    paid = 0.5 * (hour.grown_j + hour.upkeep_j) - hour.upkeep_j
    assert half.after.growth_days - at == pytest.approx(
        paid / hour.grown_j * killifish.growth(26.0) / 24
    )
    short = fed(killifish, Condition(at, 1.0), 26.0, 0.01, 1 / 24)
    missing = 1 - 0.01 * (hour.grown_j + hour.upkeep_j) / hour.upkeep_j
    assert short.stored_j == pytest.approx(-hour.unfed_j * missing)
    assert short.after.growth_days == at


def test_the_point_of_no_return_is_passed_where_reserves_end_and_not_where_they_stand() -> None:
    step = fed(DANIO, Condition(0.0), 26.0, 0.0, 1.0)
    lost = 1.0 - step.after.reserve
    for start, passed in (
        (lost * 0.5, 0.5),
        (lost * 0.999, 0.999),
        (lost * 1.001, None),
        (0.0, None),
    ):
        before = Condition(0.0, start)
        found = point_of_no_return(before, fed(DANIO, before, 26.0, 0.0, 1.0))
        assert found == (None if passed is None else pytest.approx(passed, rel=1e-6))
    whole = Condition(0.0, 0.0)  # just all of it, at the very end of the day
    last = Budget(0.0, 0.0, 0.0, -1.0, whole)
    assert point_of_no_return(Condition(0.0, 0.5), last) == 1.0
