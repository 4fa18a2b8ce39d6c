"""The hatch: when it hatches, what it carries, when it is best."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.hatching import (
    HatchModel,
    hatched_fraction,
    held_share,
    log_logistic_shape,
    standing_value,
)
from cultures.foods.kinds import HatchKind, shipped_kind

T50_H, SHAPE = log_logistic_shape(t10_h=17, t90_h=23)
MODEL = HatchModel(
    t50_h=T50_H, shape=SHAPE, rate=1.0, nauplii_per_gram=200000, energy_j=0.04, loss_per_h=0.013
)


def test_curve_passes_through_t10_and_t90() -> None:
    for hours, share in ((17, 0.1), (23, 0.9)):
        assert hatched_fraction(hours, t50_h=T50_H, shape=SHAPE) == pytest.approx(share)


@pytest.mark.parametrize(("t10_h", "t90_h"), [(0, 20), (20, 20), (23, 17), (math.nan, 20)])
def test_t10_must_come_before_t90(t10_h: float, t90_h: float) -> None:
    with pytest.raises(RangeError, match="T10 must be above 0 and below T90"):
        log_logistic_shape(t10_h=t10_h, t90_h=t90_h)


@pytest.mark.parametrize("hours", [-3.0, 0.0, 1e-300, 1e-6])
def test_nothing_has_hatched_at_the_start(hours: float) -> None:
    assert hatched_fraction(hours, t50_h=T50_H, shape=SHAPE) == pytest.approx(0.0, abs=1e-12)
    assert MODEL.energy(hours) == pytest.approx(0.0, abs=1e-6)


def test_all_has_hatched_in_the_end() -> None:
    assert MODEL.nauplii(1000) == pytest.approx(200000)


def test_energy_follows_the_loss_alone_when_all_has_hatched() -> None:
    """Long after the last hatch V falls by exp(-k) an hour."""
    assert MODEL.energy(101) / MODEL.energy(100) == pytest.approx(math.exp(-0.013), rel=1e-4)


def test_without_loss_the_energy_is_that_of_the_hatched() -> None:
    value = standing_value(20, t50_h=T50_H, shape=SHAPE, rate=1.0, loss_per_h=0.0)
    assert value == pytest.approx(hatched_fraction(20, t50_h=T50_H, shape=SHAPE), abs=1e-6)


def test_a_vessel_in_the_cold_does_not_hatch() -> None:
    assert standing_value(50, t50_h=T50_H, shape=SHAPE, rate=0.0, loss_per_h=0.01) == 0.0
    cold = HatchModel(
        t50_h=T50_H, shape=SHAPE, rate=0.0, nauplii_per_gram=1, energy_j=1, loss_per_h=0.01
    )
    with pytest.raises(RangeError, match="do not develop"):
        cold.best_hours()


def test_best_harvest_is_after_t90_and_inside_its_window() -> None:
    low, high = MODEL.window(0.9)
    assert 20 < low < MODEL.best_hours() < high < 48


def test_half_the_rate_takes_twice_as_long() -> None:
    slow = HatchModel(
        t50_h=T50_H, shape=SHAPE, rate=0.5, nauplii_per_gram=1, energy_j=1, loss_per_h=0.013
    )
    assert slow.nauplii(40) == pytest.approx(MODEL.nauplii(20) / 200000)
    assert slow.best_hours() > 1.8 * MODEL.best_hours()


def test_loss_follows_its_q10() -> None:
    kind = shipped_kind("brine_shrimp")
    assert isinstance(kind, HatchKind)
    law = {"loss_per_h": 0.013, "loss_ref_c": 25.0, "loss_q10": 2.0}
    kind = evolve(kind, values={**kind.values, **law})
    assert kind.loss_per_h(25) == pytest.approx(0.013)
    assert kind.loss_per_h(15) == pytest.approx(0.0065)


def test_holding_loses_energy_and_lives() -> None:
    assert held_share(0, loss_per_h=0.01, death_per_h=0.01) == 1.0
    assert held_share(-5, loss_per_h=0.01, death_per_h=0.01) == 1.0
    assert held_share(10, loss_per_h=0.01, death_per_h=0.02) == pytest.approx(math.exp(-0.3))


@pytest.mark.parametrize("part", [0.01, 0.5, 1.0])
def test_a_hatch_of_minutes_is_reckoned_as_one_of_hours(part: float) -> None:
    """Time has no unit of its own: a thousandth of the hours at a thousand times the rate."""
    fast = evolve(MODEL, rate=1000.0, loss_per_h=MODEL.loss_per_h * 1000.0)
    hours = part * T50_H
    assert fast.nauplii(hours / 1000) == pytest.approx(MODEL.nauplii(hours), rel=1e-9)
    assert fast.energy(hours / 1000) == pytest.approx(MODEL.energy(hours), rel=1e-6, abs=1e-9)
    small = hatched_fraction(part / 1000, t50_h=1e-3, shape=SHAPE)
    assert small == pytest.approx(1 / (1 + part**-SHAPE))


def test_energy_is_that_of_so_many_nauplii() -> None:
    """Half of 200,000 at 0.04 J each, of which nothing is spent."""
    assert evolve(MODEL, loss_per_h=0.0).energy(T50_H) == pytest.approx(4000.0, rel=1e-5)


@pytest.mark.parametrize(
    ("t10_h", "t90_h", "loss_per_h"),
    [(17, 23, 0.013), (5, 50, 1e-4), (2, 90, 5.0), (2, 90, 0.013)],
)
def test_the_best_harvest_is_better_than_any_other(
    t10_h: float, t90_h: float, loss_per_h: float
) -> None:
    """A long hatch that loses little is best late, one that loses fast at its very beginning."""
    t50_h, shape = log_logistic_shape(t10_h=t10_h, t90_h=t90_h)
    model = evolve(MODEL, t50_h=t50_h, shape=shape, loss_per_h=loss_per_h)
    best = model.best_hours()
    others = [t50_h * 1.03**n for n in range(-150, 150)]
    assert model.energy(best) >= max(model.energy(hours) for hours in others) * (1 - 1e-5)


@pytest.mark.parametrize("share", [0.5, 0.9])
def test_a_window_ends_where_the_share_is_left(share: float) -> None:
    low, high = MODEL.window(share)
    most = MODEL.energy(MODEL.best_hours())
    for inside, outside in ((low, low - 0.03), (high, high + 0.03)):
        assert MODEL.energy(inside) >= share * most > MODEL.energy(outside)


def test_a_window_of_what_loses_nothing_stays_open() -> None:
    """A hundred thousand hours are taken for ever."""
    assert evolve(MODEL, loss_per_h=0.0).window(0.9)[1] > 90_000


def test_no_share_is_held_below_nothing_and_all_at_once() -> None:
    assert held_share(1, loss_per_h=0.5, death_per_h=0.0) == pytest.approx(math.exp(-0.5))
    assert held_share(0.5, loss_per_h=0.0, death_per_h=1.0) == pytest.approx(math.exp(-0.5))
