"""A spawn of tiny fry in a room that keeps no worms yet: what helps from their first meal on."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.invented import at

_ROOM = """
[room]
name = "Kitchen shelf"
timezone = "Europe/Lisbon"
temperature_c = 20
as_of = 2027-03-01T19:00:00
rounds = ["07:00", "13:00", "19:30"]
awake = ["06:30", "22:30"]
horizon_days = 10

[[tank]]
name = "left"
litres = 20
temperature_c = 27

[[brood]]
name = "spawn"
tank = "left"
species = "betta"
count = 150
spawned = 2027-02-27

[[vessel]]
name = "bottle"
litres = 1.5
temperature_c = 24

[cysts]
grams = 5
"""
_EVENING = "2027-03-01T19:00"


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    return path


def test_a_ripe_culture_gives_from_the_round_for_which_it_is_got(room: Path) -> None:
    """Eels are harvested from such a one the day it is there: that is what ripe means."""
    said = " ".join(at(room, _EVENING, "shortfalls").stdout.split())
    assert "no food that is kept here fits the mouth of spawn" in said
    ripe = re.search(r"> by Thu 4 Mar 07:00: get a ripe (.*?) culture \(covers (\d+)%", said)
    assert ripe is not None, said
    assert int(ripe[2]) >= 95


def test_an_errand_that_another_makes_needless_is_not_to_be_run(room: Path) -> None:
    """A starter would give a day after the fry starve."""
    said = " ".join(at(room, _EVENING, "today").stdout.split())
    urgent = said.partition("ROUND")[0]
    assert "get a ripe" in urgent
    assert "from a bought starter" not in urgent


def test_what_was_got_in_time_feeds_them(room: Path) -> None:
    """As it was told, the culture is put into the room file on its day, and the fry are fed."""
    text = (
        room.read_text("utf-8")
        + """
[[culture]]
name = "VE-1"
kind = "vinegar_eel"
started = 2027-01-20
medium_g = 1500
starter_g = 150
"""
    )
    room.write_text(text, "utf-8")
    said = at(room, "2027-03-04T06:40", "today").stdout
    assert "VE-1" in said
    assert "starve" not in said
