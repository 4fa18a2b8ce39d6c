"""What on a printed sheet is to be told again: by hand, from docs/journal.md."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from attrs import evolve

from cultures.planning.telling import _differs
from cultures.tasks.told import FeedLine
from cultures.words.tools import Tools
from tests.unit.recorded import told_task

_AT = datetime(2027, 1, 16, 18, 40, tzinfo=UTC)


@pytest.mark.parametrize(
    ("swipes", "then", "keepers", "helpers"),
    [
        (1.5, 2.0, True, False),  # half a swipe, a quarter of it
        (10.0, 11.0, False, False),
        (0.5, 1.0, True, False),
        (4.0, 5.0, True, False),  # a fifth
        (4.0, 6.0, True, True),
    ],
)
def test_a_helper_is_told_again_from_a_quarter_on_and_not_of_half_a_swipe(
    swipes: float, then: float, keepers: bool, helpers: bool
) -> None:
    one, other = (
        told_task("harvest_worms", _AT, "GR-1", {"mg": 50.0 * n, "swipes": n})
        for n in (swipes, then)
    )
    assert _differs(one, other, None) is keepers
    assert _differs(one, other, Tools()) is helpers


@pytest.mark.parametrize(
    ("dose_ml", "then_ml", "helpers"),
    [(16.0, 20.0, False), (16.0, 22.0, True), (20.0, 0.0, True)],
)
def test_a_helper_is_told_again_of_a_dose_from_a_quarter_on(
    dose_ml: float, then_ml: float, helpers: bool
) -> None:
    """A fifth less than 20 mL stands; 6 of 22 do not, and neither does a tank that gets none."""
    told = told_task("feed", _AT, "18:40 round")
    one, other = (
        evolve(told, lines=(
            FeedLine(_AT, "B3", "apisto 2", "brine_shrimp", 100.0, 100.0, ml, "mL"),
        ))
        for ml in (dose_ml, then_ml)
    )  # fmt: skip
    assert _differs(one, other, Tools()) is helpers


def test_a_hatch_of_a_quarter_more_is_told_to_a_helper_again() -> None:
    for grams, helpers in ((1.2, False), (1.4, True)):
        one, other = (
            told_task("set_hatch", _AT, "bottle", {"cysts_g": g, "water_l": 1.5, "salt_g": 37.5})
            for g in (1.0, grams)
        )
        assert _differs(one, other, Tools()) is helpers
