"""What broods get by what was told of a round: by hand, from the words of `portions`."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from attrs import evolve

from cultures.planning.portions import felt_rounds
from cultures.tasks.told import Draw, FeedLine, ToldTask
from tests.unit.recorded import told_task

_AT = datetime(2027, 1, 16, 18, 40, tzinfo=UTC)
_EVE = _AT - timedelta(hours=11)


def _line(food: str, amount: float, given_j: float, brood: str = "apisto") -> FeedLine:
    unit = "g" if food == "dry" else "mL"
    return FeedLine(_AT, f"tank of {brood}", brood, food, given_j, given_j, amount, unit)


def _worms(swipes: float, culture: str = "MW-1") -> ToldTask:
    told = told_task("harvest_worms", _AT, culture, {"mg": 20.0 * swipes, "swipes": swipes})
    return evolve(told, kind="microworm", round_at=_AT)


def _round(cup_ml: float, *lines: FeedLine, draws: tuple[Draw, ...] = ()) -> ToldTask:
    cups = {f"{line.food}_ml": cup_ml for line in lines if line.food != "dry"}
    told = told_task("feed", _AT, "18:40 round", {"tanks": 1.0, **cups})
    return evolve(told, lines=lines, draws=draws, round_at=_AT)


@pytest.mark.parametrize(
    ("swipes", "cup_ml", "dose_ml", "felt"),
    [
        (2.0, 100.0, 100.0, False),
        (2.5, 100.0, 80.0, False),  # four fifths of two and a half are two
        (2.5, 100.0, 84.0, False),  # 2.1 swipes: a twentieth more
        (2.5, 100.0, 100.0, True),
        (2.0, 50.0, 50.0, False),  # in half the water
        (2.0, 100.0, 85.0, True),
    ],
)
def test_a_dose_is_what_is_taken_and_not_what_it_is_made_up_to(
    swipes: float, cup_ml: float, dose_ml: float, felt: bool
) -> None:
    before = [_worms(2.0), _round(100.0, _line("microworm", 100.0, 200.0))]
    now = [_worms(swipes), _round(cup_ml, _line("microworm", dose_ml, 200.0))]
    assert felt_rounds(before, now, {"MW-1"}) == ({_AT} if felt else set())


@pytest.mark.parametrize(("dry_g", "felt"), [(0.010, False), (0.012, False), (0.016, True)])
def test_a_tenth_is_one_of_the_plate(dry_g: float, felt: bool) -> None:
    """The dry food is 50 of 250 J: a sixth more of it is 10 J, and from 0.010 to 0.016 g three
    eighths of 80 J, of a plate of 280 J, are 30.
    """
    before = [_worms(2.0), _round(100.0, _line("microworm", 100.0, 200.0), _line("dry", 0.01, 50))]
    now = [_worms(2.0), _round(100.0, _line("microworm", 100.0, 200.0),
                               _line("dry", dry_g, 5000.0 * dry_g))]  # fmt: skip
    assert felt_rounds(before, now, {"MW-1"}) == ({_AT} if felt else set())


def test_worms_of_another_culture_are_the_same_food_and_none_come_of_one_that_is_gone() -> None:
    feed = _round(100.0, _line("microworm", 100.0, 200.0))
    before, now = [_worms(2.0), feed], [_worms(1.0), _worms(1.0, "MW-2"), feed]
    assert felt_rounds(before, now, {"MW-1", "MW-2"}) == set()
    assert felt_rounds(before, [_worms(2.0, "MW-2"), feed], {"MW-2"}) == {_AT}


def test_nauplii_of_another_jar_and_another_part_of_one_are_felt() -> None:
    line = _line("brine_shrimp", 100.0, 300.0)
    one = Draw("bottle 1", _EVE, 500.0, 100.0, 0.2)
    before = [_round(100.0, line, draws=(one,))]
    for draw, felt in (
        (one, False), (evolve(one, jar_ml=400.0, take_ml=80.0), False),
        (evolve(one, take_ml=120.0, part=0.24), True), (evolve(one, vessel="bottle 2"), True),
    ):  # fmt: skip
        assert bool(felt_rounds(before, [_round(100.0, line, draws=(draw,))], ())) is felt


def test_a_brood_that_is_new_or_gone_and_a_round_that_is_are_felt() -> None:
    both = _round(100.0, _line("microworm", 50.0, 90.0), _line("microworm", 50.0, 90.0, "betta"))
    one = _round(100.0, _line("microworm", 50.0, 90.0))
    worms = _worms(2.0)
    assert felt_rounds([worms, both], [worms, one], {"MW-1"}) == {_AT}
    assert felt_rounds([worms, one], [worms, both], {"MW-1"}) == {_AT}
    assert felt_rounds([worms, one], [worms], {"MW-1"}) == {_AT}
    assert felt_rounds([worms], [], {"MW-1"}) == set()  # a step alone is no round
