"""A cellar at 16 °C with a bottle at 27 °C: nauplii keep there from the evening to the morning."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.invented import at, jotted

_ROOM = """
[room]
name = "cellar"
timezone = "UTC"
temperature_c = 16
as_of = 2027-01-08T17:00:00
rounds = ["07:10", "18:40"]
awake = ["06:30", "22:00"]
horizon_days = 7

[[tank]]
name = "A1"
litres = 60
temperature_c = 24

[[brood]]
name = "platys"
tank = "A1"
class = "livebearer"
count = 60
hatched = 2027-01-03
foods = ["brine_shrimp", "dry"]

[[vessel]]
name = "bottle"
litres = 1.5
temperature_c = 27

[[hatch]]
vessel = "bottle"
set_at = 2027-01-09T07:10:00
cysts_g = 1

[cysts]
grams = 40
nauplii_per_gram = 120000

[supplies]
dry_g = 40
salt_g = 1000
"""


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM.replace("as_of = 2027-01-08T17", "as_of = 2027-01-09T08"), "utf-8")
    return path


def _tasks(room: Path, clock: str, what: str) -> list[dict[str, Any]]:
    plan = json.loads(at(room, clock, "plan", "--json").stdout)
    return [task for task in plan["tasks"] if task["what"] == what]


def test_a_hatch_that_stood_cold_is_drawn_off_for_the_round_at_which_it_is_ripe(room: Path) -> None:
    """At a third of the pace from 22:00 to 06:35 it is 5.6 h late, at its best towards 14:15.

    What the evening does not eat of it keeps till the morning, 13 h, so it need not stand on.
    """
    jotted(room, "2027-01-09T22:00", "temperature", "bottle", "16")
    jotted(room, "2027-01-10T06:35", "temperature", "bottle", "27")
    first = _tasks(room, "2027-01-10T06:50", "harvest_hatch")[0]
    assert (first["subject"], first["at"]) == ("bottle", "2027-01-10T18:10:00+00:00")
    for _ in range(2):  # once it was told, too
        said = " ".join(at(room, "2027-01-10T06:50", "today").output.split())
        assert (
            "18:10: bottle is ripe for the round of 18:40; it stood colder for a while, so leave"
            " it until then" in said
        )


def test_a_hatch_that_failed_is_set_again_at_once(room: Path) -> None:
    """Set in the evening it feeds the next evening and the morning after; tomorrow it would only
    be ripe after both.
    """
    jotted(room, "2027-01-10T18:15", "failed", "bottle")
    first = _tasks(room, "2027-01-10T18:15", "set_hatch")[0]
    assert (first["subject"], first["at"]) == ("bottle", "2027-01-10T18:40:00+00:00")


def test_a_scarce_tin_goes_into_the_warm_bottle(room: Path) -> None:
    """63 % of what hatches at 27 °C hatches at 16 °C, so of two bottles the warm one is set."""
    text = room.read_text("utf-8").replace("grams = 40\n", "grams = 4\n")
    cold = '\n[[vessel]]\nname = "cold"\nlitres = 1.5\ntemperature_c = 16\n'
    room.write_text(text.replace("count = 60", "count = 300") + cold, "utf-8")
    assert {task["subject"] for task in _tasks(room, "2027-01-10T19:00", "set_hatch")} == {"bottle"}
