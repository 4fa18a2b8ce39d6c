"""A brood that misses hardly anything is not called short of food, and nothing more is tried."""

from __future__ import annotations

from datetime import UTC, date, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from cli.screens.carry import verdict
from cultures.planning.brood_trials import Trial
from cultures.planning.carry import Carried, Wish

_AT = datetime(2027, 2, 4, 8, tzinfo=UTC)


def _trial(name: str, short_j: float, fits: float) -> Trial:
    gap: Any = SimpleNamespace(
        need=SimpleNamespace(brood=SimpleNamespace(name=name)), feeding=SimpleNamespace(at=_AT)
    )
    return Trial(gap, "thin", "too few eels", fits, need_j=16_000.0, short_j=short_j)


@pytest.mark.parametrize(
    ("name", "short_j", "fits", "nearly"),
    [
        ("new", 146.0, 0.62, True),  # 1 % in all, 38 % of the worst round
        ("new", 480.0, 0.62, True),  # 3 %, which is not called short of a round either
        ("new", 500.0, 0.62, False),
        ("new", 146.0, 0.4, False),  # less than half of a round
        ("other", 146.0, 0.62, False),  # another would go short because of it
    ],
)
def test_hardly_short_is_three_hundredths_in_all_and_no_round_by_half(
    name: str, short_j: float, fits: float, *, nearly: bool
) -> None:
    assert _trial(name, short_j, fits).hardly_short("new") is nearly


def test_fed_is_not_hardly_short() -> None:
    assert not Trial().hardly_short("new")


def test_the_verdict_is_in_proportion() -> None:
    """The first words say that all are fed, and by how little they are not."""
    brood: Any = SimpleNamespace(name="new", count=120)
    room: Any = SimpleNamespace(units="metric")
    trial = _trial("new", 146.0, 0.62)
    until = datetime(2027, 2, 24, tzinfo=UTC)
    carried = Carried(brood, date(2027, 1, 31), until, weaned=True, limited=trial)
    said = verdict(Wish("", 120, trial, carried), room, ", if eels stand")
    assert said == (
        "All 120 would be fed, but for less than 1% of their need, if eels stand. It is first"
        " missing on Thu 4 Feb: too few eels. Looked at until they can live on dry food, for 24"
        " days."
    )
    much = _trial("new", 4000.0, 0.62)
    carried = Carried(brood, date(2027, 1, 31), until, weaned=True, limited=much)
    assert verdict(Wish("", 120, much, carried), room).startswith("NOT ENOUGH for 120 fry: 25%")
