"""The worm culture: closed form, limits, harvests, splits and top-ups."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.worms import (
    CultureState,
    WormModel,
    _newton_step,
    age_of_medium,
    carrying_capacity,
    first_harvest_age,
    growth_step,
    last_useful_age,
    through,
)

MODEL = WormModel(
    growth_rate=0.5,
    lag=1.0,
    capacity_mg=1000.0,
    half_spent_age=28.0,
    souring_width=3.0,
    climbing_fraction=0.15,
    climbing_density=0.3,
)
MEDIUM = {"capacity": 1000.0, "half_spent_age": 28.0, "souring_width": 3.0}


def test_medium_is_half_spent_at_its_half_spent_age() -> None:
    assert carrying_capacity(28, **MEDIUM) == pytest.approx(500.0)
    assert carrying_capacity(0, **MEDIUM) == pytest.approx(1000.0, rel=1e-3)


@pytest.mark.parametrize("age", [28 + 3 * 700, 1e6, 1e300])
def test_a_culture_long_dead_does_not_overflow(age: float) -> None:
    assert carrying_capacity(age, **MEDIUM) == 0.0
    assert through(growth_step(from_age=0, to_age=age, growth_rate=0.5, **MEDIUM), 10) == 0.0


def test_no_worms_stay_no_worms() -> None:
    assert through(growth_step(from_age=0, to_age=9, growth_rate=0.5, **MEDIUM), 0) == 0.0


def test_no_time_changes_nothing() -> None:
    assert through(growth_step(from_age=9, to_age=9, growth_rate=0.5, **MEDIUM), 7) == 7.0


def test_the_least_trace_fills_the_medium_in_the_end() -> None:
    step = growth_step(0, 4000, 1.0, capacity=1000.0, half_spent_age=1e6, souring_width=10.0)
    assert through(step, 1e-300) == pytest.approx(1000.0)


def test_one_step_serves_every_stock() -> None:
    step, first, second = (
        growth_step(*ages, growth_rate=0.5, **MEDIUM) for ages in ((3, 9), (3, 5), (5, 9))
    )
    for stock in (1e-6, 1.0, 900.0):
        assert through(step, stock) == pytest.approx(through(second, through(first, stock)))


def test_worms_wait_out_the_lag() -> None:
    assert MODEL.grow(50, 0, 1) == 50
    assert MODEL.grow(50, 0, 0.4) == 50
    assert MODEL.grow(50, 0, 2) == pytest.approx(MODEL.grow(50, 1, 2))
    assert MODEL.grow(50, 0, 2) > 50


def test_worms_climb_from_a_density_on_and_after_the_lag() -> None:
    assert MODEL.climbing(299, 5) == 0
    assert MODEL.climbing(301, 5) == pytest.approx(0.15 * 301)
    assert MODEL.climbing(999, 0.9) == 0


def test_a_fading_culture_is_thin_but_not_shut() -> None:
    assert MODEL.climbing(160, 28) == pytest.approx(0.15 * 160)


def test_first_harvest_comes_with_the_climbing_density() -> None:
    age = first_harvest_age(MODEL, 50.0)
    assert MODEL.grow(50.0, 0.0, age) == pytest.approx(0.3 * MODEL.capacity_at(age), rel=1e-6)
    # logistic on fresh medium: ln((1/0.05 - 1) / (1/0.3 - 1)) / r after the lag
    assert age == pytest.approx(1.0 + math.log(19.0 / (7.0 / 3.0)) / 0.5, abs=0.01)


def test_a_rich_starter_climbs_as_soon_as_the_lag_is_over() -> None:
    assert first_harvest_age(MODEL, 900.0) == 1.0


def test_nothing_never_climbs() -> None:
    assert first_harvest_age(MODEL, 0.0) == math.inf


def test_medium_is_spent_when_a_share_is_left() -> None:
    age = last_useful_age(MODEL, 0.25)
    assert age == pytest.approx(28 + 3 * math.log(3))
    assert MODEL.capacity_at(age) == pytest.approx(250.0)


def test_more_than_stands_there_cannot_be_taken() -> None:
    state = CultureState(stock_mg=10.0, age=4.0)
    assert state.without(10.0).stock_mg == 0.0
    for amount in (10.1, -0.1):
        with pytest.raises(RangeError, match="cannot take"):
            state.without(amount)


def test_state_later_is_the_model_grown() -> None:
    later = CultureState(stock_mg=50.0, age=2.0).later(MODEL, 3.0)
    assert later == CultureState(stock_mg=MODEL.grow(50.0, 2.0, 5.0), age=5.0)


def test_fresh_medium_makes_a_culture_younger() -> None:
    fuller = evolve(MODEL, capacity_mg=2000.0)
    age = age_of_medium(MODEL, 28.0, fuller, 0.5)
    # half of the mix carries all, half carries half: three quarters
    assert fuller.capacity_at(age) == pytest.approx(0.75 * 2000, rel=1e-3)
    assert age_of_medium(MODEL, 28.0, MODEL, 0.0) == 28.0


def test_worms_do_not_fall_back_into_their_lag() -> None:
    assert age_of_medium(MODEL, 28.0, MODEL, 1.0) == MODEL.lag


def test_a_step_back_in_time_changes_nothing() -> None:
    assert growth_step(from_age=9, to_age=3, growth_rate=0.5, **MEDIUM) == (1.0, 0.0)


def test_nothing_stays_nothing_even_where_both_terms_vanish() -> None:
    assert through((0.0, 1e-3), 0.0) == 0.0
    assert through((0.0, 1e-3), 1e-320) == pytest.approx(1000.0, rel=0.02)


def test_a_careful_keeper_takes_no_more_than_climbs_than_a_days_share_and_than_is_drawn() -> None:
    """Climbing 0.15; of a day 0.2, which is 0.1 at each of two rounds; of a liquid 60 mg of it."""
    model = evolve(MODEL, daily_fraction=0.2, drawn_mg=60.0)
    assert (model.harvest_share(), model.harvest_share(1), model.harvest_share(2)) == (
        0.15, 0.15, 0.1
    )  # fmt: skip
    assert model.harvestable(50.0) == pytest.approx(0.15 * 50)
    assert model.harvestable(500.0) == pytest.approx(0.15 * 60)
    assert model.harvestable(500.0, 2) == pytest.approx(0.1 * 60)


def test_worms_climb_from_the_very_moment_and_density_on() -> None:
    fresh = evolve(MODEL, half_spent_age=1e6)
    assert fresh.climbing(300.0, 1.0) == pytest.approx(45.0)
    assert fresh.climbing(299.999, 1.0) == 0.0
    assert fresh.climbing(300.0, 0.999) == 0.0


@pytest.mark.parametrize("starter_mg", [1e-6, 0.5, 200.0])
def test_on_a_medium_that_stays_fresh_the_first_harvest_is_verhulsts(starter_mg: float) -> None:
    """logit(N / K) rises by r a day from the lag on, to logit 0.3."""
    fresh = evolve(MODEL, half_spent_age=1e6)
    start = starter_mg / 1000.0
    days = (math.log(0.3 / 0.7) - math.log(start / (1 - start))) / 0.5
    assert first_harvest_age(fresh, starter_mg) == pytest.approx(1.0 + days, rel=1e-8)


def test_newtons_step_is_right_at_once_where_the_logit_is_straight() -> None:
    """From three days before, and from two days after, to the root; a hair beyond it."""
    fresh = evolve(MODEL, half_spent_age=1e6)

    def share(days: float) -> float:
        odds = 0.3 / 0.7 * math.exp(0.5 * days)
        return odds / (1 + odds)

    for days in (-3.0, 2.0):
        age = _newton_step(fresh, 10.0 + days, share(days), 0.3)
        assert age == pytest.approx(10.0, rel=3e-9)
        assert (age - 10.0) * days < 0  # the hair is on the other side of it
    assert _newton_step(fresh, 10.0, 0.0, 0.3) == math.inf
    assert _newton_step(fresh, 10.0, 0.5, 1.0) == math.inf


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_a_mix_of_old_and_fresh_at_its_ends(share: float) -> None:
    """Nothing fresh leaves its age; all fresh makes it as young as its lag lets it be."""
    assert age_of_medium(MODEL, 20.0, MODEL, share) == (20.0 if share == 0 else 1.0)
