"""Counting against published methods and figures; the source stands beside each."""

from __future__ import annotations

import math

import pytest

from cultures.journal.counting import DropCount, gamma_quantile


def poisson_interval(count: int, level: float) -> tuple[float, float]:
    """Exact confidence limits of the mean of a Poisson law from one count (Garwood 1936)."""
    tail = (1.0 - level) / 2.0
    low = gamma_quantile(float(count), tail) if count > 0 else 0.0
    return low, gamma_quantile(count + 1.0, 1.0 - tail)


@pytest.mark.parametrize(("counted", "percent"), [(100, 20.0), (200, 14.1)])
def test_random_spread_error_of_a_cell_count(counted: int, percent: float) -> None:
    # "Cell counting error", meaderylab.com/article/1126: 100 cells 20.0 %, 200 cells 14.1 %,
    # two standard deviations of a random spread (read).
    _, high = poisson_interval(counted, 0.9545)
    low, _ = poisson_interval(counted, 0.9545)
    half_width = (high - low) / 2 / counted * 100
    assert half_width == pytest.approx(percent, rel=0.06)
    assert 200 / math.sqrt(counted) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize(("count", "low", "high"), [(0, 0.0, 3.689), (10, 4.80, 18.39)])
def test_exact_poisson_limits(count: int, low: float, high: float) -> None:
    # Exact 95 % limits: count 0 in the documentation of pois.exact, package epitools 0.5-10.1
    # (3.689); count 10 in "Poisson Confidence Interval Calculator", calculatorhub.com
    # (4.80 to 18.39), both after Garwood 1936, Biometrika 28:437-442 (read).
    found = poisson_interval(count, 0.95)
    assert found[0] == pytest.approx(low, abs=0.005)
    assert found[1] == pytest.approx(high, abs=0.006)


def test_haemocytometer_worked_example() -> None:
    # Protocol Online, "prot/view_cache.cgi?ID=57": 45 cells a square (1 mm x 1 mm x 0.1 mm),
    # diluted 5 times, are 2.25e6 a mL, and 2.25e7 in 10 mL (read).
    per_ml = DropCount((45,) * 10, drop_ml=1e-4, whole_ml=1, dilution=5).total
    assert per_ml == pytest.approx(2.25e6)
    drops = DropCount((45,) * 10, drop_ml=1e-4, whole_ml=10, dilution=5)
    assert drops.total == pytest.approx(2.25e7)


def test_haemocytometer_field_volume() -> None:
    # plus.maths.org, "Using the Haemocytometer": 39 cells in 9 large squares are 4.33 a
    # square; volume is length x width x depth, converted from mm to cm (read).
    per_ml = DropCount((*(5,) * 3, *(4,) * 6), drop_ml=1e-4, whole_ml=1).total
    assert per_ml / 1e4 == pytest.approx(4.33, abs=0.005)


def test_blood_count_of_a_laboratory_handbook() -> None:
    # devsphoto.com, "Manual Cell Count", after Henry's Clinical Diagnosis, 21st ed., pp. 461-462:
    # 100 cells in 4 squares, dilution 200, are 50,000 per mm3 (read).
    per_ml = DropCount((25,) * 4, drop_ml=1e-4, whole_ml=1, dilution=200).total
    assert per_ml / 1000 == pytest.approx(50000)


def test_home_count_of_cysts() -> None:
    # Common test: 1.00 g hatched in 1 L, nauplii per gram is 1000 times the count in 1 mL (read).
    drops = DropCount((210,), drop_ml=1.0, whole_ml=1000)
    assert drops.total / 1.00 == pytest.approx(1000 * 210)


def test_standard_count_of_cysts() -> None:
    # FAO Fisheries Technical Paper 361 after Van Stappen 1996: 1.6 g in 800 mL, counts in
    # 250 uL: nauplii per gram is 2000 times the mean count (from memory).
    drops = DropCount((101, 99, 100), drop_ml=0.25, whole_ml=800)
    assert drops.total / 1.6 == pytest.approx(2000 * 100)


def test_clumping_widens_by_the_published_factor() -> None:
    # Salonen et al. 2021, Journal of Plankton Research 43:846-852: intervals 1.4 times as
    # wide as those of a random spread (read). One drop cannot show its own clumping.
    drops = DropCount((100,), drop_ml=1.0, whole_ml=1000)
    count_alone = math.sqrt(drops.relative_sd**2 - 0.05**2)
    assert count_alone * math.sqrt(100) == pytest.approx(1.4, abs=0.01)


def test_student_yeast_counts_look_random() -> None:
    # Student 1907, Biometrika 5:351-360, table 2: yeast cells in 400 squares of a
    # haemacytometer (from memory): 0, 20, 43, 53, 86, 70, 54, 37, 18, 10, 5, 2, 2 squares with
    # 0 to 12 cells; mean 4.68.
    squares = (0, 20, 43, 53, 86, 70, 54, 37, 18, 10, 5, 2, 2)
    counts = tuple(cells for cells, number in enumerate(squares) for _ in range(number))
    drops = DropCount(counts, drop_ml=1.0, whole_ml=1000)
    assert len(counts) == 400
    assert drops.total / 1000 == pytest.approx(4.68, abs=0.005)
    # A random spread: the index of dispersion lies within 1 +- 2 sqrt(2 / 399).
    assert abs(drops.dispersion - 1.0) < 2 * math.sqrt(2 / 399)
