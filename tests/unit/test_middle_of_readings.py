"""Where readings lie is said as people would: of one itself, of two what is between them."""

from __future__ import annotations

import pytest

from cli.screens.learn import learn_block
from cultures.learning.estimates import Estimate


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        (0, "seen   nothing"),
        (1, "seen   1 reading: 33.6"),
        (2, "seen   2 readings, 33.6 between them"),
        (3, "seen   3 readings, half of them below 33.6"),
    ],
)
def test_readings_by_their_middle(readings: int, said: str) -> None:
    ends = (30.0, 20.0, 40.0)
    one = Estimate(
        quantity="swipe", subject="microworm", unit="mg a swipe", prior=ends, readings=readings,
        seen=33.6, posterior=ends, used=30.0, why="too few", learned=False,
    )  # fmt: skip
    assert said in learn_block(one)
