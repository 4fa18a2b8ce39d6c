"""A brood that goes short, as screens tell it; one that is fed as told is told nothing of."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.invented import at, room_file

_NAME = "pearl danio 3"


def _days(room: Path, days: int, *, skip: str = "") -> str:
    """Lives some days from 5 January on; the moment after them."""
    for day in range(5, 5 + days):
        for look, noted in (("06:45", "07:40"), ("12:00", "18:50")):
            at(room, f"2027-01-{day:02d}T{look}", "today")
            if skip:
                at(room, f"2027-01-{day:02d}T{noted}", "journal", "skip", skip)
    return f"2027-01-{5 + days:02d}T06:45"


def test_a_brood_fed_as_told_hears_nothing_of_it(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    now = _days(room, 3)
    shown = at(room, now, "need", "--brood", _NAME).output
    assert "of its need" not in shown
    assert "for want of food" not in at(room, now, "need", "--brood", _NAME, "--why").output
    assert "fed" not in json.loads(at(room, now, "need", "--brood", _NAME, "--json").stdout)


def test_a_brood_that_went_short_is_told_how_far_it_is_behind(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    before = json.loads(at(room, "2027-01-05T06:45", "need", "--brood", _NAME, "--json").stdout)
    now = _days(room, 3, skip="A3")
    fed = json.loads(at(room, now, "need", "--brood", _NAME, "--json").stdout)
    assert fed["fed"]["share"] == 0
    assert fed["fed"]["behind_growth_days"] == pytest.approx(3.0, abs=0.1)
    there = before["days"][0]["length_mm"]
    assert fed["days"][0]["length_mm"] == pytest.approx(there, rel=0.03)
    shown = " ".join(at(room, now, "need", "--brood", _NAME).output.split())
    assert "fed 0% of its need over the last 3 days: about 1.5 mm behind its class; lean" in shown
    why = " ".join(at(room, now, "need", "--brood", _NAME, "--why").output.split())
    assert "- 3.0 for want of food" in why
    assert "over the last 3 days" in why
    other = at(room, now, "need", "--brood", "acara 5").output
    assert "of its need" not in other


def test_a_brood_that_starves_comes_first(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    now = _days(room, 5, skip="A3")
    shown = " ".join(at(room, now, "today").output.split())
    assert "ACT NOW - Feed pearl danio 3 in A3 first, little and often" in shown
    assert shown.count("Feed pearl danio 3") == 1
