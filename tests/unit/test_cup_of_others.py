"""What a tank got of a cup that was made up for others."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from cultures.foods.food import DRY
from cultures.replay.meals import _of_others_j, _unasked_j
from cultures.tasks.told import FeedLine

_AT = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)


def _line(tank: str, brood: str, food: str, given_j: float, amount: float) -> FeedLine:
    return FeedLine(_AT, tank, brood, food, given_j, given_j, amount, "g" if food == DRY else "mL")


@pytest.fixture(name="told")
def _told() -> Any:
    """A cup of 100 mL of worms that hold 200 J; two broods of one tank get dry food alone."""
    lines = (
        _line("A", "one", "microworm", 120.0, 60.0), _line("B", "two", "microworm", 80.0, 40.0),
        _line("C", "three", DRY, 30.0, 0.02), _line("C", "four", DRY, 10.0, 0.01),
    )  # fmt: skip
    return SimpleNamespace(lines=lines, plates={"three": (30.0, 30.0), "four": (10.0, 10.0)})


def test_a_millilitre_holds_what_the_cup_does(told: Any) -> None:
    """2 J a millilitre, whoever gets it; what was told for the tank counts by its own line."""
    assert _of_others_j(told, "C", "microworm", 20.0, "mL") == pytest.approx(40.0)
    assert _of_others_j(told, "A", "microworm", 20.0, "mL") == 0.0
    assert _of_others_j(told, "C", "grindal_worm", 20.0, "mL") == 0.0
    assert _of_others_j(told, "C", DRY, 20.0, "mL") == 0.0
    assert _of_others_j(told, "A", DRY, 0.02, "g") == 0.0  # which has a way of its own


def test_broods_of_one_tank_share_it_by_their_needs(told: Any) -> None:
    served: Any = SimpleNamespace(told=told, tanks={"C": {"microworm": (20.0, "mL")}})
    assert _unasked_j(served, "three") == pytest.approx(30.0)
    assert _unasked_j(served, "four") == pytest.approx(10.0)
    assert _unasked_j(served, "one") == 0.0
