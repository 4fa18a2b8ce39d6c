"""What must hold for every fry class and species at every size and temperature."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cultures.foods.food import Food
from cultures.fry.classes import FryClass, class_names, shipped_class
from cultures.fry.diet import diet_shares, suitability
from cultures.fry.feeding import dry_food, energy_per_day_j, ration_per_day
from cultures.fry.species import species_keys

CLASSES = st.sampled_from((*class_names(), *species_keys())).map(shipped_class)
DEGREES = st.floats(5, 40)
LENGTHS = st.floats(1.5, 120)
LIVE = st.builds(
    Food,
    name=st.sampled_from(["a", "b", "c", "d", "e"]),
    width_um=st.floats(5, 2000),
    mass_mg=st.floats(1e-6, 1),
    preference=st.floats(0.1, 5),
)
FOODS = st.lists(LIVE, max_size=5, unique_by=lambda food: food.name)


@given(CLASSES, DEGREES, st.floats(0, 10))
def test_a_hotter_tank_never_postpones_hatching_or_first_food(
    fry: FryClass, cool: float, warmer: float
) -> None:
    for stage in ("hatch_days", "first_food_days"):
        at_cool = fry.development.days(fry.values[stage], cool)
        at_warm = fry.development.days(fry.values[stage], cool + warmer)
        assert at_warm <= at_cool


@given(CLASSES, st.floats(0, 300), st.floats(0, 100))
def test_fry_never_shrink_and_stay_on_their_curve(fry: FryClass, days: float, more: float) -> None:
    first, later = fry.length_mm(days), fry.length_mm(days + more)
    assert (
        fry.values["length_first_food_mm"]
        <= first
        <= later
        <= fry.values["length_limit_mm"] * (1 + 1e-12)
    )


@given(CLASSES, st.floats(-0.5, 0.98))
def test_age_from_length_undoes_length_from_age(fry: FryClass, rise: float) -> None:
    low, high = fry.values["length_first_food_mm"], fry.values["length_limit_mm"]
    length = low * (high / low) ** rise
    assert fry.length_mm(fry.growth_days(length)) == pytest.approx(length, rel=1e-9)


@given(CLASSES, LENGTHS, st.floats(1.0, 3.0))
def test_larger_fry_weigh_more_open_wider_and_need_more(
    fry: FryClass, length: float, factor: float
) -> None:
    larger = length * factor
    assert fry.weight_mg(larger) >= fry.weight_mg(length)
    assert fry.gape_um(larger) >= fry.gape_um(length)
    need = energy_per_day_j(fry.weight_mg(length), 26)
    assert 0 < need <= energy_per_day_j(fry.weight_mg(larger), 26) * (1 + 1e-12)


@given(st.floats(0.05, 5000), DEGREES, st.floats(0, 15))
def test_the_ration_falls_with_size_and_rises_with_warmth(
    weight: float, cool: float, warmer: float
) -> None:
    assert 0 < ration_per_day(weight * 2, cool) <= ration_per_day(weight, cool)
    assert ration_per_day(weight, cool) <= ration_per_day(weight, cool + warmer) * (1 + 1e-12)


@given(FOODS, st.booleans(), CLASSES, LENGTHS, st.integers(1, 5))
def test_shares_sum_to_one_or_nothing_fits(
    live: list[Food], dry: bool, fry: FryClass, length: float, variety: int
) -> None:
    foods = [*live, dry_food()] if dry else live
    shares = diet_shares(foods, fry, length, variety=variety)
    assert set(shares) <= {food.name for food in foods}
    assert all(share > 0 for share in shares.values())
    if shares:
        assert math.fsum(shares.values()) == pytest.approx(1.0, abs=1e-12)
    else:
        assert all(suitability(food, fry, length) < 0.1 for food in foods)


@given(FOODS, CLASSES, LENGTHS, st.integers(1, 4))
def test_more_variety_never_drops_a_food(
    foods: list[Food], fry: FryClass, length: float, variety: int
) -> None:
    fewer = diet_shares(foods, fry, length, variety=variety)
    assert set(fewer) <= set(diet_shares(foods, fry, length, variety=variety + 1))


@given(FOODS, CLASSES, LENGTHS)
def test_the_order_of_the_foods_does_not_matter(
    foods: list[Food], fry: FryClass, length: float
) -> None:
    assert diet_shares(foods, fry, length) == pytest.approx(diet_shares(foods[::-1], fry, length))


@given(CLASSES, st.floats(2, 60), st.floats(0.0, 0.02))
def test_diets_change_smoothly_with_length(fry: FryClass, length: float, step: float) -> None:
    """Up to the small share at which a food is dropped, and the end of fry age."""
    worm, shrimp = Food("worm", 50, 0.0012, 1), Food("shrimp", 160, 0.0138, 3)
    longer = length * (1 + step)
    if (length < fry.values["fry_until_mm"]) != (longer < fry.values["fry_until_mm"]):
        return
    foods = (worm, shrimp, dry_food())
    before, after = diet_shares(foods, fry, length), diet_shares(foods, fry, longer)
    if before and after:
        for name in {*before, *after}:
            assert abs(before.get(name, 0.0) - after.get(name, 0.0)) < 0.25


@given(CLASSES, st.floats(1.0, 30), st.floats(1.0, 3.0))
def test_a_brood_spreads_as_it_grows_and_is_sorted_at_its_ratio(
    fry: FryClass, start: float, factor: float
) -> None:
    assert fry.length_spread(start * factor, start) >= fry.length_spread(start, start) == 0.0
    sort_at = fry.sort_length_mm(start)
    assert sort_at > start
    widest = math.exp(4.0 * fry.length_spread(sort_at, start))
    assert widest == pytest.approx(fry.values["sort_ratio"], rel=1e-9)
