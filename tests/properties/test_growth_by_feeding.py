"""What must hold of what food makes of a fry, for every class, size, temperature and ration."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cultures.fry.bioenergetics import (
    Budget,
    Condition,
    days_to_death,
    days_to_no_return,
    fed,
    full_food,
    most_of_a_meal,
    point_of_no_return,
)
from cultures.fry.classes import FryClass, class_names, shipped_class
from cultures.fry.feeding import feeding_values
from cultures.fry.species import species_keys

CLASSES = st.sampled_from((*class_names(), *species_keys())).map(shipped_class)
SHARES = st.floats(0, 3)
DAYS = st.floats(0.1, 1.0)
RISE = st.floats(0, 0.9)
RESERVE = st.floats(-0.5, 1)


def _at(fry: FryClass, rise: float, reserve: float = 1.0) -> Condition:
    low, high = fry.values["length_first_food_mm"], fry.values["length_limit_mm"]
    return Condition(fry.growth_days(low * (high / low) ** rise), reserve)


def _degrees(fry: FryClass, part: float) -> float:
    low, high = fry.values["t_min_c"], fry.values["t_max_c"]
    return low + part * (high - low)


def _run(
    fry: FryClass, start: Condition, degrees: float, shares: list[float], days: float = 0.5
) -> Condition:
    for share in shares:
        start = fed(fry, start, degrees, share, days).after
    return start


@given(CLASSES, RISE, st.floats(0, 1), RESERVE, SHARES, DAYS)
def test_energy_and_nitrogen_are_neither_lost_nor_made(
    fry: FryClass, rise: float, warmth: float, reserve: float, share: float, days: float
) -> None:
    before, degrees = _at(fry, rise, reserve), _degrees(fry, warmth)
    step = fed(fry, before, degrees, share, days)
    v = feeding_values()
    left = step.given_j - step.eaten_j
    # What is neither grown, stored nor excreted is burnt, and no fry burns less than nothing.
    kept = step.eaten_j * (1.0 - v["egested_share"] - v["excreted_share"])
    burnt = kept - step.grown_j - step.stored_j
    scale = step.given_j + step.eaten_j + abs(burnt) + 1e-9
    for part in (step.given_j, step.eaten_j, step.grown_j, burnt, left):
        assert part >= -1e-9 * scale
    body = v["body_j_per_mg"]
    weights = [fry.weight_mg(fry.length_mm(c.growth_days)) for c in (before, step.after)]
    assert step.grown_j == pytest.approx(body * (weights[1] - weights[0]), abs=1e-6 * scale)
    _nitrogen_holds(step)


def _nitrogen_holds(step: Budget) -> None:
    """No body keeps more protein, of young fish, than it ate, of nauplii (data/feeding.toml)."""
    v = feeding_values()
    of_food = v["live_dry_matter"] * v["live_protein"] / v["live_food_j_per_mg"]
    of_body = v["body_dry_matter"] * v["body_protein"] / v["body_j_per_mg"]
    eaten, kept = step.eaten_j * of_food, (step.grown_j + step.stored_j) * of_body
    assert eaten - kept >= -1e-9 * (eaten + abs(kept) + 1e-12)


@given(CLASSES, st.floats(0, 1), st.integers(1, 3), st.integers(1, 80))
def test_full_food_gives_the_curve_of_the_class(
    fry: FryClass, warmth: float, meals: int, days: int
) -> None:
    degrees = _degrees(fry, warmth)
    end = _run(fry, Condition(0.0), degrees, [1.0] * (meals * days), 1.0 / meals)
    curve = fry.length_mm(days * fry.growth(degrees))
    assert fry.length_mm(end.growth_days) == pytest.approx(curve, rel=1e-9)
    assert end.reserve == 1.0


@given(
    CLASSES, st.floats(0, 0.6), st.floats(0, 1),
    st.lists(st.tuples(st.floats(0, 1.5), st.floats(0, 1)), min_size=1, max_size=30),
)  # fmt: skip
def test_less_food_never_makes_larger_fry(
    fry: FryClass, rise: float, warmth: float, meals: list[tuple[float, float]]
) -> None:
    start, degrees = _at(fry, rise), _degrees(fry, warmth)
    more = _run(fry, start, degrees, [share for share, _ in meals])
    less = _run(fry, start, degrees, [share * part for share, part in meals])
    assert less.growth_days <= more.growth_days + 1e-6


@given(CLASSES, RISE, st.floats(0, 1), SHARES, st.floats(0, 2), DAYS)
def test_more_given_is_never_less_eaten_nor_less_left(
    fry: FryClass, rise: float, warmth: float, share: float, more: float, days: float
) -> None:
    before, degrees = _at(fry, rise), _degrees(fry, warmth)
    few = fed(fry, before, degrees, share, days)
    many = fed(fry, before, degrees, share + more, days)
    assert many.eaten_j >= few.eaten_j * (1 - 1e-12)
    left = [step.given_j - step.eaten_j for step in (few, many)]
    assert left[1] >= left[0] - 1e-9 * (many.given_j + 1e-9)


@given(CLASSES, RISE, st.floats(0, 1))
def test_above_their_need_fry_eat_no_more_and_the_rest_is_left(
    fry: FryClass, rise: float, warmth: float
) -> None:
    before, degrees = _at(fry, rise), _degrees(fry, warmth)
    full, double = (fed(fry, before, degrees, share, 0.5) for share in (1.0, 2.0))
    assert double.eaten_j == pytest.approx(full.eaten_j)
    assert double.given_j == pytest.approx(2.0 * full.given_j)


@given(CLASSES, RISE, st.floats(0, 1), st.floats(-0.5, 0.9))
def test_one_meal_brings_no_more_than_its_fill_or_the_gut_holds(
    fry: FryClass, rise: float, warmth: float, reserve: float
) -> None:
    before, degrees = _at(fry, rise, reserve), _degrees(fry, warmth)
    fill = full_food(fry, before.growth_days, degrees, 0.5)
    gut = most_of_a_meal(fry.weight_mg(fry.length_mm(before.growth_days)), degrees)
    step = fed(fry, before, degrees, 20.0, 0.5)
    assert step.eaten_j <= max(fill.intake_j, gut) * (1 + 1e-12)


@given(CLASSES, RISE, st.floats(0, 1), st.integers(1, 4))
def test_unfed_fry_do_not_grow_and_pass_the_point_of_no_return_when_it_is_said(
    fry: FryClass, rise: float, warmth: float, meals: int
) -> None:
    at, degrees = _at(fry, rise), _degrees(fry, warmth)
    length = fry.length_mm(at.growth_days)
    passed = None
    for n in range(2000):
        step = fed(fry, at, degrees, 0.0, 1.0 / meals)
        part = point_of_no_return(at, step)
        at = step.after
        if part is not None:
            passed = (n + part) / meals
            break
    assert passed is not None
    assert passed == pytest.approx(days_to_no_return(fry, length, degrees), rel=1e-6)
    assert fry.length_mm(at.growth_days) == pytest.approx(length)
    assert passed < days_to_death(fry, length, degrees)


@given(CLASSES, RISE, st.floats(0, 0.09), st.floats(10, 30), st.floats(0, 5))
def test_the_small_and_the_warm_starve_first(
    fry: FryClass, rise: float, more: float, degrees: float, warmer: float
) -> None:
    small, large = (fry.length_mm(_at(fry, x).growth_days) for x in (rise, rise + more))
    known = days_to_no_return(fry, small, degrees)
    assert days_to_no_return(fry, large, degrees) >= known * (1 - 1e-12)
    assert days_to_no_return(fry, small, degrees + warmer) <= known * (1 + 1e-12)


@given(CLASSES, st.floats(0, 1), st.integers(1, 6))
def test_fry_that_were_lean_fill_out_before_they_grow_on(
    fry: FryClass, warmth: float, hungry: int
) -> None:
    degrees = _degrees(fry, warmth)
    lean = _run(fry, Condition(0.0), degrees, [0.0] * hungry)
    assert lean.growth_days == 0.0
    assert lean.reserve < 1.0
    step = fed(fry, lean, degrees, 1.0, 0.5)
    assert step.stored_j > 0.0
    assert step.grown_j < full_food(fry, 0.0, degrees, 0.5).grown_j or math.isclose(
        step.grown_j, 0.0
    )
    later = _run(fry, lean, degrees, [1.0] * 400)
    assert later.reserve == pytest.approx(1.0)
