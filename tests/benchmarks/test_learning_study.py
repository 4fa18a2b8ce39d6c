"""A small version of the study of simulated keepers; docs/learning.md has the whole one."""

from __future__ import annotations

from tests.benchmarks.learning_study import coverage, outside
from tests.benchmarks.plan_study import compare


def test_intervals_hold_the_truth_about_eight_times_in_ten() -> None:
    found = coverage(150, first=20_000)
    assert set(found) == {
        "nauplii_per_gram", "hatch_time", "yield", "swipe", "growth", "crash",
    }  # fmt: skip
    for name, (hits, trials) in found.items():
        assert trials >= 100, name
        # Three standard deviations of a share of 0.8 around it.
        margin = 3 * (0.16 / trials) ** 0.5
        assert abs(hits / trials - 0.8) < 0.02 + margin, name


def test_notes_beat_a_book_that_is_wrong() -> None:
    """Crashes are too rare in four weeks: a Poisson count of less than one halves no error."""
    for biased in (False, True):
        found = outside(40, first=40_000, biased=biased)
        del found["crash"]
        assert set(found) == {"nauplii_per_gram", "hatch_time", "yield", "swipe", "growth"}
        for name, gained in found.items():
            assert gained.keepers >= 20, name
            assert gained.after <= gained.before / 2, name


def test_four_weeks_of_journal_make_a_better_plan() -> None:
    found = compare(24, first=30_000)
    assert found["fed 1"] > found["fed 0"] + 0.05
    assert found["wasted 1"] < found["wasted 0"]
