"""A spawn of tiny fry in a room that keeps no worms yet: what helps from their first meal on."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted

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


def test_what_is_lost_of_eggs_is_no_measure_of_how_the_fry_will_die(room: Path) -> None:
    """Most of what a spawn loses is lost before it eats (common practice, no source): 150 eggs that
    are 40 fry on the day they swim die from then on as 40 fry do of which no eggs were counted.
    """
    swim = "2027-03-04T08:00"
    jotted(room, swim, "count", "spawn", "40")
    of_eggs = json.loads(at(room, swim, "need", "--days", "10", "--json").stdout)
    room.with_name("journal.csv").unlink()
    said = _ROOM.replace(
        "count = 150\nspawned = 2027-02-27", "count = 40\nfree_swimming = 2027-03-04"
    )
    room.write_text(said.replace("as_of = 2027-03-01T19:00:00", "as_of = 2027-03-04"), "utf-8")
    of_fry = json.loads(at(room, swim, "need", "--days", "10", "--json").stdout)
    eggs, fry = ([line["count"] for line in found["rounds"]] for found in (of_eggs, of_fry))
    assert len(eggs) >= 20
    assert eggs == fry
