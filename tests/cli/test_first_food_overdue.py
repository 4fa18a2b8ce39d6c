"""Fry of which it is noted late that they swim: what they missed, and that they are fed at once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted

_ROOM = """
[room]
name = "Two tanks"
timezone = "Europe/Lisbon"
temperature_c = 25
as_of = 2027-06-07T12:00:00
rounds = ["07:30", "18:30"]
horizon_days = 7

[[tank]]
name = "1"
litres = 20
temperature_c = 25

[[tank]]
name = "5"
litres = 10
temperature_c = 25

[[brood]]
name = "bettas"
tank = "1"
species = "Betta splendens"
count = 30
free_swimming = 2027-06-01

[[brood]]
name = "neons"
tank = "5"
species = "neon tetra"
count = 40
spawned = 2027-06-06

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-05-24
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[culture]]
name = "VE-1"
kind = "vinegar_eel"
started = 2027-03-01
medium_g = 1000
starter_g = 100
"""
_NIGHT = "2027-06-11T21:20"
_OVERDUE = "neons in 5 have had nothing, and their first food was due on Thu 10 Jun: feed them now"


@pytest.fixture
def swam(tmp_path: Path) -> Path:
    """A room whose neons swam on Thursday evening, after its round, which is noted a day later.

    Both rounds of Friday were told before that was noted, with nothing for them.
    """
    room = tmp_path / "room.toml"
    room.write_text(_ROOM, "utf-8")
    for day in (10, 11):
        at(room, f"2027-06-{day}T07:10", "today", "--all-day")
    return room


def _noted(room: Path) -> str:
    said = at(room, _NIGHT, "journal", "free_swimming", "neons", "--at", "Thu 20:00").output
    return " ".join(said.split())


def _fed(room: Path) -> float:
    found = json.loads(at(room, _NIGHT, "need", "--brood", "neons", "--json").stdout)
    return float(found.get("fed", {"share": 1.0})["share"])


def test_who_swims_for_a_day_is_fed_at_once(swam: Path) -> None:
    assert _OVERDUE in _noted(swam)
    shown = " ".join(at(swam, _NIGHT, "today").output.split())
    acts = shown[shown.index("ACT NOW") : shown.index("ROUND 07:30")]
    assert f"{_OVERDUE}, not only at the round of Sat 12 Jun 07:30" in acts
    assert "vinegar eel" in acts  # the finer of two foods that are there
    assert "journal fed 5" in acts
    assert shown.count("have had nothing") == 1
    # Half an hour before a round that round feeds them.
    assert "have had nothing" not in at(swam, "2027-06-12T07:00", "today").output


def test_what_they_missed_is_no_food(swam: Path) -> None:
    """Of both rounds since they swam they got nothing; of the two of Thursday they needed none."""
    _noted(swam)
    assert _fed(swam) == 0.0
    jotted(swam, _NIGHT, "fed", "5")
    assert _fed(swam) == pytest.approx(0.5)  # one round of two, which is the last at hand
    assert "have had nothing" not in at(swam, _NIGHT, "today").output


def test_what_was_fed_at_a_round_that_had_nothing_is_noted(swam: Path) -> None:
    _noted(swam)
    for clock in ("Fri 07:30", "Fri 18:30"):
        assert "Noted" in at(swam, _NIGHT, "journal", "fed", "5", "--at", clock).output
    assert _fed(swam) == 1.0
    unasked = at(swam, _NIGHT, "journal", "fed", "5", "vinegar eel", "10 mL", code=2).output
    assert "only that it was fed is noted" in " ".join(unasked.split())


def test_that_one_tank_was_not_fed_then_is_no_word_of_the_others(swam: Path) -> None:
    _noted(swam)
    evening = ("--at", "Fri 18:30")
    assert "Noted" in at(swam, _NIGHT, "journal", "skip", "tank", "5", *evening).output
    assert _fed(swam) == 0.0
    again = at(swam, _NIGHT, "journal", "skip", "tank", "5", *evening, code=2).output
    assert "noted already, in line" in " ".join(again.split())
    others = json.loads(at(swam, _NIGHT, "need", "--brood", "bettas", "--json").stdout)
    assert "fed" not in others
    # The round stands as told: its work is still taken as done.
    assert "feed the 18:30 round" in at(swam, _NIGHT, "journal", "due").output
