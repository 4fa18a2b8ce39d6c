"""What was told on an entry that was taken back since is told no more: the plan is as it was."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.invented import at

_ROOM = """
[room]
name = "The shed"
timezone = "UTC"
as_of = 2027-03-01
rounds = ["07:30","13:00","19:00"]
horizon_days = 10
temperature_c = 24
[[vessel]]
name = "V0"
litres = 1.5
temperature_c = 25
[[vessel]]
name = "V1"
litres = 1.5
temperature_c = 25
[cysts]
grams = 4
[[tank]]
name = "T0"
litres = 100
temperature_c = 27
[[brood]]
name = "b0"
tank = "T0"
class = "bubble_nest"
count = 80
length_mm = 5
measured_on = 2027-03-01
[[tank]]
name = "T1"
litres = 100
temperature_c = 27
[[brood]]
name = "b1"
tank = "T1"
class = "bubble_nest"
count = 150
length_mm = 5
measured_on = 2027-03-01
foods = ["brine_shrimp"]
[[tank]]
name = "T2"
litres = 100
temperature_c = 26
[[brood]]
name = "b2"
tank = "T2"
class = "substrate_spawner"
count = 40
length_mm = 8
measured_on = 2027-03-01
"""


def _sets(room: Path, clock: str) -> list[tuple[str, str, float]]:
    tasks = json.loads(at(room, clock, "plan", "--days", "6", "--json").stdout)["tasks"]
    sets = (t for t in tasks if t["what"] == "set_hatch")
    return [(t["subject"], t["at"], t["amounts"]["cysts_g"]) for t in sets]


def _look(room: Path, clock: str) -> None:
    at(room, clock, "today")
    at(room, clock, "calendar", "--out", str(room.with_name("food.ics")), "--replace")


def test_a_delivery_that_was_taken_back_leaves_the_grams_as_they_were_told(tmp_path: Path) -> None:
    """With a hundred grams more the hatches of a small tin are larger, and then as before."""
    room = tmp_path / "room.toml"
    room.write_text(_ROOM, "utf-8")
    _look(room, "2027-03-01T06:20")
    told = _sets(room, "2027-03-01T06:21")
    at(room, "2027-03-01T06:22", "journal", "bought", "cysts", "100", "g")
    _look(room, "2027-03-01T06:23")
    assert _sets(room, "2027-03-01T06:23") != told
    at(room, "2027-03-01T06:24", "journal", "undo")
    assert _sets(room, "2027-03-01T06:25") == told
    _look(room, "2027-03-01T06:26")
    assert _sets(room, "2027-03-01T06:27") == told


def _kept(room: Path, clock: str) -> list[tuple[str, str, str, dict[str, float]]]:
    tasks = json.loads(at(room, clock, "plan", "--days", "6", "--json").stdout)["tasks"]
    kept = (t for t in tasks if t["what"] in ("set_hatch", "buy"))
    return [(t["what"], t["subject"], t["at"], t["amounts"]) for t in kept]


@pytest.mark.parametrize("grams", ["10", "40"])
def test_what_was_first_told_on_a_delivery_that_was_taken_back_moves_no_plan(
    tmp_path: Path, grams: str
) -> None:
    """A delivery takes eight days; a look that counts on its grams tells hatches and another
    order that nobody was told before.
    """
    room, later = tmp_path / "room.toml", "2027-03-02T10:00"
    tin = "[supplies]\ncysts_days = 8\n[cysts]\ngrams = 1.5"
    room.write_text(_ROOM.replace("[cysts]\ngrams = 4", tin), "utf-8")
    for looked in ("2027-03-01T06:20", "2027-03-01T18:40"):
        at(room, looked, "today")
    told = _kept(room, later)
    assert {what for what, *_ in told} == {"set_hatch", "buy"}
    at(room, later, "journal", "bought", "cysts", grams, "g")
    at(room, later, "today")
    assert _kept(room, later) != told
    at(room, later, "journal", "undo")
    assert _kept(room, later) == told
    at(room, later, "today")
    assert _kept(room, later) == told
