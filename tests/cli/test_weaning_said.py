"""Fry that outgrow live food get less of it for some days, and the last change is said ahead."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest

from tests.cli.invented import at

_ROOM = """
[room]
name = "loft"
timezone = "UTC"
temperature_c = 22
as_of = 2027-01-04T06:00:00
rounds = ["07:10", "18:40"]
horizon_days = 14
fridge_c = 5

[[tank]]
name = "A1"
litres = 60
temperature_c = 25

[[brood]]
name = "notho"
tank = "A1"
class = "annual_killifish"
count = 20
length_mm = 28
measured_on = 2027-01-04
foods = ["brine_shrimp", "dry"]

[[vessel]]
name = "bottle"
litres = 1.5
temperature_c = 27

[[hatch]]
vessel = "bottle"
set_at = 2027-01-03T07:10:00
cysts_g = 1

[cysts]
grams = 50

[supplies]
dry_g = 100
"""


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    return path


def test_dry_food_alone_is_announced_and_comes_by_degrees(room: Path) -> None:
    """They are fry up to 32 mm; from 28.8 mm on live food ends."""
    plan = json.loads(at(room, "2027-01-04T06:30", "plan", "--json").stdout)
    (alone,) = [t for t in plan["tasks"] if t["id"] == "switch_food/notho/dry/alone"]
    said = " ".join(at(room, "2027-01-04T06:30", "plan").output.split())
    assert "feed dry food alone from this round on: notho" in said
    need: dict[str, dict[str, float]] = {}
    for row in plan["rounds"]:
        need.setdefault(row["at"], {})[row["food"]] = row["need_j"]
    live = {
        clock: foods.get("brine_shrimp", 0.0) / sum(foods.values())
        for clock, foods in need.items()
    }  # fmt: skip
    last = [share for clock, share in sorted(live.items()) if clock < alone["at"]]
    assert all(share == 0.0 for clock, share in live.items() if clock >= alone["at"])
    assert last[-1] < last[0] / 2
    assert max(a - b for a, b in pairwise(last)) < 0.15
