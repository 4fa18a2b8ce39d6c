"""The arithmetic of docs/learning.md worked out by hand or against SciPy, and its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from cultures.errors import RangeError
from cultures.foods.parameters import Parameter, eight_in_ten
from cultures.journal.counting import (
    DropCount,
    gamma_cdf,
    read_drops,
)
from cultures.learning.estimates import Estimate
from cultures.learning.learn import _gamma_interval, _Judge, _middle, prior_of
from cultures.learning.posterior import Normal, Reading, fit_hatches, fit_level, loosened
from cultures.replay.observations import HatchObserved, Observations
from tests.unit.test_planning_by_hand import _ROOM

# --- drops

#: 9, 12 and 8 in drops of 0.05 mL of a litre: 29 in all, mean 29/3, squares about it 26/3.
DROPS = DropCount((9, 12, 8), 0.05, 1000)


def test_the_total_of_the_page() -> None:
    assert DROPS.total == pytest.approx(193_333, abs=1)  # docs/learning.md, its first hatch
    assert DROPS.factor == 20_000
    assert DROPS.counted == 29
    diluted = DropCount((9, 12, 8), 0.05, 1000, 10)
    assert diluted.total == pytest.approx(1_933_333, abs=1)


def test_dispersion_leans_on_what_is_usual() -> None:
    """Index (26/3) / (29/3) = 26/29 on two degrees, with four drops' worth of 1.96."""
    assert DROPS.dispersion == pytest.approx((4 * 1.96 + 26 / 29) / 6)
    assert DropCount((7,), 0.05, 1000).dispersion == pytest.approx(1.96)
    assert DropCount((0, 0), 0.05, 1000).dispersion == pytest.approx(1.96)
    even = DropCount((10,) * 30, 0.05, 1000)  # 7.84 / 33 would be below that of chance
    assert even.dispersion == 1


def test_the_error_of_a_total() -> None:
    """Of the count and of the volume, 5 %."""
    d = (4 * 1.96 + 26 / 29) / 6
    assert DROPS.relative_sd == pytest.approx(math.sqrt(d / 29 + 0.0025))
    assert DropCount((0,), 0.05, 1000).relative_sd == pytest.approx(math.sqrt(1.96 + 0.0025))


@pytest.mark.parametrize("level", [0.8, 0.9])
def test_the_interval_of_a_total(level: float) -> None:
    """Gamma of 29.5 over the dispersion (Jeffreys), with the volume beside it in logarithms."""
    d = DROPS.dispersion
    law = stats.gamma(29.5 / d, scale=20_000 / 3 * d)
    low, middle, high = law.ppf([(1 - level) / 2, 0.5, (1 + level) / 2])
    middle = max(DROPS.total, middle)
    z = stats.norm.ppf((1 + level) / 2) * 0.05
    assert DROPS.interval(level) == pytest.approx(
        (
            middle * math.exp(-math.hypot(math.log(middle / low), z)),
            middle * math.exp(math.hypot(math.log(high / middle), z)),
        ),
        rel=1e-6,
    )


def test_how_many_drops_more_halve_the_width() -> None:
    """(d / 29) / n x 3 + 0.0025 is to be a quarter of d / 29 + 0.0025."""
    d = DROPS.dispersion / 29
    wanted = 3 * d / ((d + 0.0025) / 4 - 0.0025)
    assert DROPS.more_drops() == math.ceil(wanted) - 3
    less = 3 * d / (0.81 * (d + 0.0025) - 0.0025)
    assert DROPS.more_drops(share=0.9) == math.ceil(less) - 3
    assert DROPS.more_drops(share=1.0) == 0
    assert DROPS.more_drops(share=0.05 / DROPS.relative_sd * 0.999) is None


def test_drops_that_just_can_be() -> None:
    assert DropCount((0,), 5.0, 5.0, 1.0).total == 0
    for bad in ({"drop_ml": 5.01}, {"dilution": 0.99}, {"counts": (-1,)}, {"counts": ()},
                {"whole_ml": math.inf}):  # fmt: skip
        given = {"counts": (3,), "drop_ml": 5.0, "whole_ml": 5.0, "dilution": 1.0} | bad
        with pytest.raises(RangeError):
            DropCount(**given)  # type: ignore[arg-type]


def test_drops_are_written_and_read() -> None:
    text = "9 12 8 in 0.05 mL each of 1000 mL, diluted 10 times"
    drops = read_drops(text)
    assert drops == DropCount((9, 12, 8), 0.05, 1000, 10)
    assert str(drops) == text
    assert str(DROPS) == "9 12 8 in 0.05 mL each of 1000 mL"
    assert read_drops("9 12 8 in x mL each of 1000 mL") is None
    assert read_drops("all of it") is None


@pytest.mark.parametrize("shape", [0.3, 1.0, 4.0, 60.0])
@pytest.mark.parametrize("part", [0.2, 0.999, 1.001, 2.5])
def test_the_gamma_law_on_both_sides_of_its_change_of_method(shape: float, part: float) -> None:
    x = part * (shape + 1)
    assert gamma_cdf(shape, x) == pytest.approx(stats.gamma.cdf(x, shape), abs=1e-12)
    assert gamma_cdf(shape, 0) == 0


# --- priors and weights


def _parameter(value: float, low: float, high: float) -> Parameter:
    return Parameter(value, low, high, "", (), "practice", "")


def test_a_prior_holds_eight_in_ten_in_its_range() -> None:
    """ln 9 over twice 1.282 s.d."""
    prior = prior_of(_parameter(200, 100, 900))
    assert prior.mean == pytest.approx(math.log(200))
    assert prior.sd == pytest.approx(math.log(9) / (2 * stats.norm.ppf(0.9)), rel=1e-4)
    assert prior_of(_parameter(200, 100, 900), middle=50).mean == pytest.approx(math.log(50))
    # A value without a range is known to a tenth.
    assert prior_of(_parameter(200, 200, 200)).sd == 0.1
    assert prior_of(_parameter(2, 0, 9)).sd == 0.1


def test_an_interval_of_a_logarithm() -> None:
    middle, low, high = Normal(math.log(100), 0.5).interval(0.8)
    z = stats.norm.ppf(0.9) * 0.5
    assert (middle, low, high) == pytest.approx((100, 100 * math.exp(-z), 100 * math.exp(z)))


@pytest.mark.parametrize(
    ("quantity", "days", "weight"),
    [
        ("nauplii_per_gram", 180, 0.5), ("hatch_time", 360, 0.25), ("yield", 90, 0.5**0.5),
        ("swipe", 365, 0.5), ("crash", 730, 0.25), ("growth", 9999, 1.0), ("yield", -5, 1.0),
    ],
)  # fmt: skip
def test_a_reading_counts_half_after_its_half_life(
    quantity: str, days: float, weight: float
) -> None:
    """180 days; swipes and crashes 365; a brood's growth as long as it lives."""
    judge = _Judge(_ROOM, Observations(), 100_000.0)
    assert judge.weight(quantity, 100_000.0 - 24 * days) == pytest.approx(weight)


def _hatch_at(at_h: float, stood_h: float = 24.0) -> HatchObserved:
    return HatchObserved("one", at_h, stood_h, 1.0, 1e5, 0.1, 2)


def test_an_earlier_tin_counts_three_tenths() -> None:
    judge = _Judge(_ROOM, Observations(bought_h=[50_000.0, 90_000.0]), 100_000.0)
    age = 0.5 ** ((100_000 - 60_000) / 24 / 180)
    assert judge._tin_weight(_hatch_at(60_000.0)) == pytest.approx(0.3 * age)
    older = 0.5 ** ((100_000 - 40_000) / 24 / 180)
    assert judge._tin_weight(_hatch_at(40_000.0)) == pytest.approx(0.09 * older)
    new = 0.5 ** (5_000 / 24 / 180)
    assert judge._tin_weight(_hatch_at(95_000.0)) == pytest.approx(new)
    # Counted after the second tin came, it was set from the first.
    assert judge._tin_weight(_hatch_at(95_000.0, 5_001.0)) == pytest.approx(0.3 * new)


def test_culture_days_fade_like_crashes() -> None:
    """The integral of 0.5^(age / 365) over the days that a culture stood."""
    judge = _Judge(_ROOM, Observations(), 24.0 * 1000)
    ages = np.linspace(100, 300, 200_001)
    wanted = np.trapezoid(0.5 ** (ages / 365), ages)
    assert judge._weighted_days(24.0 * 700, 24.0 * 900) == pytest.approx(wanted, rel=1e-8)


@pytest.mark.parametrize(
    ("readings", "lacking", "off", "learned", "why"),
    [
        (0, "", False, False, "nothing was noted yet"),
        (1, "", False, False, "1 of the 2 readings it takes"),
        (2, "", False, True, "from 2 readings and what is usual"),
        (2, "no time yet", False, False, "no time yet"),
        (5, "", True, False, "learning of it is turned off"),
    ],
)
def test_what_the_plan_uses_and_why(
    readings: int, lacking: str, off: bool, learned: bool, why: str
) -> None:
    seen = Observations(off={"swipe"} if off else {"yield"})
    before, after = Normal(math.log(20), 0.5), Normal(math.log(30), 0.1)
    got: Estimate = _Judge(_ROOM, seen, 0.0).estimate(
        "swipe", "microworm", "mg", before, after, readings, None, lacking=lacking
    )
    assert (got.learned, got.why) == (learned, why)
    assert got.used == pytest.approx(30 if learned else 20)
    assert got.prior[0] == pytest.approx(20)
    assert got.posterior[0] == pytest.approx(30)


def test_medians_and_tails() -> None:
    assert _middle([]) is None
    assert _middle([5, 1, 3]) == 3
    assert _middle([5, 1, 3, 4]) == 3.5
    law = stats.gamma(2.5, scale=1 / 60)
    assert _gamma_interval(2.5, 60) == pytest.approx((2.5 / 60, *law.ppf([0.1, 0.9])), rel=1e-6)
    # Ten in a hundred are cut off at either end.
    assert eight_in_ten(range(100)) == (10, 89)
    assert eight_in_ten([3, 1, 2]) == (1, 3)
    assert all(math.isnan(x) for x in eight_in_ten([]))


# --- posteriors


def test_an_old_reading_counts_by_its_weight() -> None:
    """Precision 1 + 0.25 x 4 = 2: half of the way to the reading."""
    got = fit_level({"a": [Reading(0.8, 0.5)]}, {"a": 0.25}, Normal(0.0, 1.0), spread=0.0)
    assert (got.mean, got.sd) == pytest.approx((0.4, math.sqrt(0.5)))


def test_a_blunder_has_the_weight_of_students_law() -> None:
    """At the fixed point w = 5 / (4 + r^2), r the residual in s.d.; never above 1."""
    got = fit_level({"a": [Reading(4.0, 0.5)]}, {"a": 1.0}, Normal(0.0, 0.5), spread=0.0)
    weight = 5 / (4 + ((4.0 - got.mean) / 0.5) ** 2)
    assert got.mean == pytest.approx(4.0 * weight / (1 + weight), abs=1e-6)
    assert got.sd == pytest.approx(0.5 / math.sqrt(1 + weight), rel=1e-6)
    near = fit_level({"a": [Reading(0.1, 0.5)]}, {"a": 1.0}, Normal(0.0, 0.5), spread=0.0)
    assert near.mean == pytest.approx(0.05)


def test_an_error_that_all_readings_share() -> None:
    """Readings alone say 1.0 with s.d. 0.5; with 1.2 more in common it is 1.3."""
    prior = Normal(0.0, 2.0)
    seen = 1 / 0.25
    found = Normal(seen * 1.0 / (seen + 0.25), (seen + 0.25) ** -0.5)
    got = loosened(found, prior, 1.2)
    loose = 1 / 1.69
    assert got.mean == pytest.approx(loose / (loose + 0.25))
    assert got.sd == pytest.approx((loose + 0.25) ** -0.5)
    assert loosened(prior, prior, 1.2) == prior


def _straight(tau_h: float) -> float:
    """Share hatched by a power of the time, so that the posterior is a plane."""
    return 2.0 * math.log(tau_h / 10.0)


def test_hatches_on_a_straight_line_are_a_regression() -> None:
    """value = a + 2 (ln(tau / 10) - s): a and s by linear algebra; the hatches' luck is shared."""
    level, speed, spread = Normal(12.0, 0.5), Normal(0.0, 0.2), 0.3
    groups = {
        "one": [Reading(12.1, 0.2, 10.0), Reading(12.5, 0.3, 12.0)],
        "two": [Reading(12.3, 0.25, 11.0)],
    }
    rows = [r for g in groups.values() for r in g]
    design = np.array([[1.0, -2.0]] * 3)
    target = np.array([r.value - _straight(r.tau_h) for r in rows])
    covariance = np.diag([r.sd**2 for r in rows])
    covariance[:2, :2] += spread**2
    covariance[2, 2] += spread**2
    inverse = np.linalg.inv(covariance)
    precision = design.T @ inverse @ design + np.diag([1 / 0.25, 1 / 0.04])
    right = design.T @ inverse @ target + np.array([12.0 / 0.25, 0.0])
    mean, law = np.linalg.solve(precision, right), np.linalg.inv(precision)
    got_a, got_s = fit_hatches(groups, {"one": 1.0, "two": 1.0}, level, speed, _straight,
                               spread=spread)  # fmt: skip
    assert (got_a.mean, got_s.mean) == pytest.approx(tuple(mean), abs=1e-6)
    assert got_a.sd == pytest.approx(math.sqrt(law[0, 0]), rel=1e-4)
    # Widened by a tenth, but never wider than before.
    assert got_s.sd == pytest.approx(min(0.2, 1.1 * math.sqrt(law[1, 1])), rel=1e-4)
    nothing = fit_hatches({}, {}, level, speed, _straight, spread=spread)
    assert nothing == (level, speed)


def test_hatches_of_old_tins_count_less() -> None:
    level, speed = Normal(0.0, 1.0), Normal(0.0, 1e-3)  # the time is known
    groups = {"one": [Reading(1.0, 0.5, 10.0)]}
    got, _ = fit_hatches(groups, {"one": 0.5}, level, speed, _straight, spread=0.0)
    assert got.mean == pytest.approx(2 / 3, abs=1e-3)  # 0.5 x 4 against 1


def test_json_of_an_estimate_is_rounded() -> None:
    got = Estimate("swipe", "microworm", "mg", (1.23456789, 1, 2), 1, 3.0, (2, 1, 3), 20 / 3, True,
                   "why").to_json()  # fmt: skip
    assert got["prior"] == {"value": 1.23457, "low": 1, "high": 2}
    assert got["data"] == {"readings": 1, "value": 3.0}
    assert got["used"] == 6.66667
