"""What a gram of a tin that does not last costs beside a setting, by hand."""

from __future__ import annotations

import pytest
from attrs import evolve

from cultures.planning.lots import LotProblem, Option
from cultures.planning.shared_tin import gram_counts

#: Five rounds of 100 J, none of the first, at which no hatch can be ripe; 10 J of each gram. A
#: setting costs one, and a thousandth of a round as much.
PROBLEM = LotProblem(
    demand=(100.0,) * 5,
    decay=(1.0,) * 4,
    oldest=(0, 0, 1, 2, 3),
    options=tuple(Option(0, t, 24.0 * t - 24.0, 24.0 * t, 10.0, 99.0) for t in range(1, 5)),
    setup_cost=1.0,
    gram_cost=1.0,
    short_cost=(10.0,) * 5,
)


def _costs(tin_g: float, there_j: float = 0.0, held: float = 1.0, diet_j: float = 100.0) -> float:
    problem = evolve(PROBLEM, gram_cost=0.01, decay=(held,) * 4)
    return gram_counts(problem, [diet_j] * 5, there_j, tin_g, 2, 1.0)


def test_a_setting_is_worth_the_cysts_of_a_tenth_of_a_round() -> None:
    """Of 400 J half is missing; by the square a J more counts as one wholly missing, and a gram as
    100 where a round counts 1000. A tenth of a round is a gram: 100, and the work itself is one.
    """
    assert 101.0 * _costs(20.0) == pytest.approx(100.0)
    # Where a quarter is missing both are worth half of that, and the work still one.
    assert 51.0 * _costs(30.0) == pytest.approx(50.0)


def test_what_is_there_counts_as_what_is_in_the_tin() -> None:
    assert _costs(20.0, there_j=100.0) == pytest.approx(_costs(30.0))


def test_a_hatch_a_day_is_held_for_its_later_rounds() -> None:
    """Two rounds a day, and half is left at the second: three quarters in all."""
    assert _costs(40.0, held=0.5) == pytest.approx(_costs(30.0))


def test_a_tin_that_brings_all_that_diets_want_costs_what_it_costs() -> None:
    assert _costs(40.0) == _costs(99.0) == _costs(5.0, diet_j=0.0) == 0.01
