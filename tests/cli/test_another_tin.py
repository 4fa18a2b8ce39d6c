"""Another tin of cysts changes what is set from it, not what stands of the one before."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.invented import at, jotted

_ROOM = """
[room]
name = "loft"
timezone = "UTC"
temperature_c = 22
as_of = 2027-01-04T08:00:00
rounds = ["07:10", "18:40"]
horizon_days = 5
fridge_c = 5

[[tank]]
name = "A1"
litres = 60
temperature_c = 25

[[brood]]
name = "platys"
tank = "A1"
class = "livebearer"
count = 100
hatched = 2027-01-01
foods = ["brine_shrimp"]

[[vessel]]
name = "bottle"
litres = 1.5
temperature_c = 27

[cysts]
grams = 20
nauplii_per_gram = 200000
"""


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """Four hatches of a gram that gave 60,000 each, and one that stands."""
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    for day in range(5, 9):
        jotted(path, f"2027-01-{day:02}T07:10", "set", "bottle", "1")
        clock = f"2027-01-{day + 1:02}T06:40"
        jotted(path, clock, "hatched", "bottle", "60000")
    jotted(path, "2027-01-09T07:10", "set", "bottle", "1")
    return path


def _standing(room: Path, clock: str) -> float:
    plan: dict[str, Any] = json.loads(at(room, clock, "plan", "--json").stdout)
    first = next(task for task in plan["tasks"] if task["what"] == "harvest_hatch")
    return float(first["amounts"]["nauplii"])


def test_what_stands_keeps_the_rate_of_its_tin(room: Path) -> None:
    before = _standing(room, "2027-01-09T19:00")
    assert before < 120_000  # by the counts, and not the 200,000 of the file
    jotted(room, "2027-01-09T19:00", "bought", "cysts", "40")
    assert _standing(room, "2027-01-09T19:01") == pytest.approx(before, rel=1e-6)
