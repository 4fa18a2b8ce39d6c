"""What must hold of broods by the record, whatever was told and noted of their meals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cultures.fry.bioenergetics import WELL_FED
from tests.unit.test_meals import ROUNDS, brood_by, grown_by, skips_of, told_rounds

SHARES = st.lists(st.floats(0, 1.5), min_size=len(ROUNDS), max_size=len(ROUNDS))
ROUND = st.integers(0, len(ROUNDS) - 1)
FULL = grown_by(brood_by([]))


@given(SHARES)
def test_no_brood_outgrows_its_class_and_none_shrinks(shares: list[float]) -> None:
    """It was 2.3 growth days old at the first of the rounds."""
    grown = grown_by(brood_by(told_rounds(shares)))
    assert 2.29 - 1e-9 <= grown <= FULL + 1e-9


@given(SHARES, st.sets(ROUND, max_size=8), ROUND)
def test_a_round_skipped_besides_never_makes_a_larger_brood(
    shares: list[float], skipped: set[int], more: int
) -> None:
    told = told_rounds(shares)
    few, many = (
        brood_by(told, *skips_of([told[n] for n in sorted(each)]))
        for each in (skipped, skipped | {more})
    )
    assert grown_by(many) <= grown_by(few) + 1e-6


@given(st.lists(st.floats(0.9, 1.5), min_size=len(ROUNDS), max_size=len(ROUNDS)))
def test_a_brood_that_is_always_given_its_need_is_as_if_nothing_were_known(
    shares: list[float],
) -> None:
    brood = brood_by(told_rounds(shares))
    assert brood.fed is WELL_FED
    assert grown_by(brood) == FULL


@given(
    st.lists(st.floats(0.1, 1.5), min_size=len(ROUNDS), max_size=len(ROUNDS)),
    st.sets(ROUND, max_size=6),
)
def test_what_one_tank_lacked_is_no_matter_of_another(
    shares: list[float], skipped: set[int]
) -> None:
    told = told_rounds([1.0] * len(ROUNDS), shares)
    other = brood_by(told, *skips_of([told[n] for n in sorted(skipped)], "A2"))
    assert other.fed is WELL_FED
    assert grown_by(other) == pytest.approx(FULL)
