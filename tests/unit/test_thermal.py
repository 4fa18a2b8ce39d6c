"""Rates, temperature series and clocks."""

from __future__ import annotations

import math

import pytest

from cultures.errors import RangeError
from cultures.foods.temperature import Q10, Briere, Clock, TemperatureSeries

CURVE = Briere(t_min_c=8, t_max_c=33, t_ref_c=24)


def test_rate_is_one_at_the_reference() -> None:
    assert CURVE(24) == pytest.approx(1.0)


@pytest.mark.parametrize("temperature_c", [-40, 0, 7.9, 8, 33, 33.1, 90])
def test_nothing_develops_outside_the_thresholds(temperature_c: float) -> None:
    assert CURVE(temperature_c) == 0.0


def test_a_curve_with_a_minimum_below_freezing_stops_at_zero() -> None:
    assert Briere(t_min_c=-5, t_max_c=33, t_ref_c=24)(-1) == 0.0


@pytest.mark.parametrize(
    "limits", [(24, 33, 24), (8, 20, 24), (8, 33, 40), (-9, 33, -3), (-9, 33, 0)]
)
def test_thresholds_out_of_order_are_refused(limits: tuple[float, float, float]) -> None:
    with pytest.raises(RangeError, match="t_min_c below t_ref_c below t_max_c"):
        Briere(*limits)


def test_q10_is_flat_above_its_top_and_zero_below_its_bottom() -> None:
    law = Q10(q10=2.0, t_ref_c=26.0, t_min_c=18.0, t_max_c=30.0)
    assert law(16) == 0.0
    assert law(26) == pytest.approx(1.0)
    assert law(36) == law(30) == pytest.approx(2**0.4)


def test_q10_fades_out_between_its_bottom_and_its_full_law() -> None:
    """From 16 to 20 °C the share of the law is 0, 1/4, 1/2, 3/4, 1 at each whole degree."""
    law = Q10(q10=2.0, t_ref_c=26.0, t_min_c=16.0, t_max_c=30.0, full_from_c=20.0)
    assert law(15.9) == law(16.0) == 0.0
    for degrees, share in ((17.0, 0.25), (18.0, 0.5), (19.0, 0.75), (20.0, 1.0), (23.0, 1.0)):
        assert law(degrees) == pytest.approx(share * 2 ** ((degrees - 26.0) / 10.0))


def test_series_refuses_gaps_and_disorder() -> None:
    with pytest.raises(RangeError, match="one value for each start"):
        TemperatureSeries((0.0, 1.0), (20.0,))
    with pytest.raises(RangeError, match="must ascend"):
        TemperatureSeries((1.0, 1.0), (20.0, 21.0))


def test_series_holds_its_first_value_before_its_start() -> None:
    series = TemperatureSeries((100.0, 200.0), (20.0, 26.0))
    assert [series.at(t) for t in (0, 100, 199.9, 200, 999)] == [20, 20, 20, 26, 26]


def test_a_cold_week_is_a_clock_that_stands_still() -> None:
    series = TemperatureSeries((0.0, 24.0, 24.0 * 8), (24.0, 5.0, 24.0))
    clock = Clock.of(series, CURVE)
    assert clock.days(0, 24 * 8) == pytest.approx(1.0)
    assert clock.when(0, 1.0) == pytest.approx(24.0)
    assert clock.when(0, 2.0) == pytest.approx(24.0 * 9)
    assert clock.days(24 * 9, 0) == pytest.approx(-2.0)


def test_a_clock_that_never_gets_there_says_so() -> None:
    clock = Clock.of(TemperatureSeries((0.0, 24.0), (24.0, 5.0)), CURVE)
    assert clock.when(0, 1.5) == math.inf
    assert clock.when(0, 1.0) == pytest.approx(24.0)
