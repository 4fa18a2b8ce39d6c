"""Counts from drops: totals, intervals, and what more drops would bring."""

from __future__ import annotations

import math
import random

import pytest
from scipy import stats

from cultures.errors import RangeError
from cultures.journal.counting import (
    DropCount,
    gamma_cdf,
    gamma_quantile,
    read_drops,
    relative_sd,
)


@pytest.mark.parametrize("shape", [0.3, 1.0, 2.5, 40.0, 3000.0])
@pytest.mark.parametrize("p", [0.001, 0.1, 0.5, 0.9, 0.999])
def test_gamma_agrees_with_scipy(shape: float, p: float) -> None:
    x = stats.gamma.ppf(p, shape)
    assert gamma_quantile(shape, p) == pytest.approx(x, rel=1e-9)
    assert gamma_cdf(shape, x) == pytest.approx(p, abs=1e-12)


def test_total_is_the_mean_times_the_whole() -> None:
    drops = DropCount((12, 9, 15), drop_ml=0.05, whole_ml=1000)
    assert drops.total == pytest.approx(12 * 20000)
    low, high = drops.interval(0.9)
    assert low < drops.total < high


def test_a_dilution_multiplies_the_total() -> None:
    plain = DropCount((10, 12), 0.1, 500)
    assert DropCount((10, 12), 0.1, 500, 4).total == pytest.approx(4 * plain.total)


def test_more_drops_halve_the_spread_as_promised() -> None:
    drops = DropCount((12, 9, 15), 0.05, 1000)
    more = drops.more_drops()
    assert more is not None
    count = 3 + more
    variance = drops.dispersion / (12 * count) + 0.05**2
    assert math.sqrt(variance) <= drops.relative_sd / 2
    short = drops.dispersion / (12 * (count - 1)) + 0.05**2
    assert math.sqrt(short) > drops.relative_sd / 2


def test_volumes_limit_what_more_drops_can_do() -> None:
    assert DropCount((4000, 4100, 3900), 1.0, 1000).more_drops() is None


def test_spread_out_drops_widen_the_interval() -> None:
    even = DropCount((30, 31, 29, 30, 30), 0.1, 500)
    clumped = DropCount((5, 70, 20, 45, 10), 0.1, 500)
    assert clumped.total == pytest.approx(even.total)
    assert clumped.relative_sd > 2 * even.relative_sd


def test_nothing_seen_still_has_an_upper_limit() -> None:
    low, high = DropCount((0, 0, 0), 0.1, 1000).interval()
    assert low < 1000
    assert high > 3000


def test_interval_holds_the_truth_nine_times_in_ten() -> None:
    generator = random.Random(5)
    hits = 0
    for _ in range(600):
        true_total = 10 ** generator.uniform(4.5, 5.5)
        volume = math.exp(generator.gauss(0, 0.05))
        counts = []
        for _ in range(4):
            mean = true_total / 20000 * volume
            # Negative binomial with variance 1.96 times the mean.
            rate = generator.gammavariate(mean / 0.96, 0.96)
            counts.append(_poisson(generator, rate))
        low, high = DropCount(tuple(counts), 0.05, 1000).interval(0.9)
        hits += low <= true_total <= high
    assert 0.86 <= hits / 600 <= 0.95


def _poisson(generator: random.Random, rate: float) -> int:
    limit, product, count = math.exp(-min(rate, 700)), 1.0, -1
    while product > limit:
        product *= generator.random()
        count += 1
    return count


def test_drops_read_back_as_written() -> None:
    for drops in (DropCount((1, 22), 0.05, 1000), DropCount((0, 3, 4), 0.25, 800, 10)):
        assert read_drops(str(drops)) == drops
    assert read_drops("all") is None
    assert read_drops("12 9 in 0 mL each of 1000 mL") is None


@pytest.mark.parametrize(
    ("counts", "drop", "whole", "dilution"),
    [((), 1, 10, 1), ((-1,), 1, 10, 1), ((1,), 0, 10, 1), ((1,), 11, 10, 1), ((1,), 1, 10, 0.5)],
)
def test_impossible_drops_are_refused(
    counts: tuple[int, ...], drop: float, whole: float, dilution: float
) -> None:
    with pytest.raises(RangeError):
        DropCount(counts, drop, whole, dilution)


def test_a_total_without_its_drops_is_known_to_a_quarter() -> None:
    """docs/learning.md; one with its drops as well as these say."""
    assert relative_sd("") == relative_sd("all of it") == 0.25
    drops = DropCount((9, 12, 8), 0.05, 1000)
    assert relative_sd(str(drops)) == drops.relative_sd


def test_one_drop_below_nothing_among_others_is_refused() -> None:
    with pytest.raises(RangeError, match="less than nothing"):
        DropCount((3, -1), 1, 10)


def test_of_nothing_seen_more_drops_are_asked_for() -> None:
    """Variance 1.96 for each of n drops over one animal: 2 x 1.96 / n is to be a quarter of
    1.96 + 0.0025, less 0.0025, so that n is 8.03: seven more than two."""
    assert DropCount((0, 0), 0.1, 1000).more_drops() == 7
