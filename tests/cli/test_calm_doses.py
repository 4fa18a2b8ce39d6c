"""What was told of a round stands when little changes: cups, doses, how dry food is soaked."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.cli.invented import TODAY, at, jotted

_ROOM = f"""\
[room]
name = "Two racks"
timezone = "Europe/Lisbon"
temperature_c = 23
as_of = {TODAY}
horizon_days = 5
"""
_BROODS = (
    ("fighters", "bubble_nest", 20, f"count = 60\nspawned = {TODAY - timedelta(days=4)}"),
    ("danios", "egg_scatterer", 60, f"count = 80\nspawned = {TODAY - timedelta(days=22)}"),
    ("rams", "substrate_spawner", 60, f"count = 90\nfree_swimming = {TODAY - timedelta(days=12)}"),
    ("rainbows", "rainbowfish", 40, f"count = 50\nspawned = {TODAY - timedelta(days=43)}"),
    ("guppies", "livebearer", 100,
     f"count = 40\nlength_mm = 14\nmeasured_on = {TODAY - timedelta(days=1)}"),
)  # fmt: skip
_LIVE = f"""
[[culture]]
name = "MW-1"
kind = "microworm"
started = {TODAY - timedelta(days=20)}
medium_g = 100
surface_cm2 = 100
starter_g = 8

[[vessel]]
name = "cone"
litres = 1.5
temperature_c = 27

[cysts]
grams = 60
"""


def _text() -> str:
    tanks = "".join(
        f'\n[[tank]]\nname = "T-{name}"\nlitres = {litres}\ntemperature_c = 26\n'
        f'\n[[brood]]\nname = "{name}"\ntank = "T-{name}"\nclass = "{kind}"\n{keys}\n'
        for name, kind, litres, keys in _BROODS
    )
    return f"{_ROOM}{tanks}{_LIVE}"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_text(), "utf-8")
    return path


def _round(room: Path, clock: str, at_round: str) -> tuple[Any, Any]:
    """Doses and cups of a round as ``today`` tells them and the plan then has them."""
    at(room, clock, "today")
    plan = json.loads(at(room, clock, "plan", "--days", "2", "--json").stdout)
    doses = {
        (x["tank"], x["food"]): (x["amount"], x.get("wet_ml"))
        for x in plan["rounds"] if x["at"].startswith(at_round)
    }  # fmt: skip
    (feed,) = (t for t in plan["tasks"] if t["id"] == f"feed/{at_round}")
    return doses, {key: v for key, v in feed["amounts"].items() if key.endswith("_ml")}


@pytest.mark.parametrize("died", [name for name, *_ in _BROODS if name != "fighters"])
def test_one_fish_that_died_moves_no_dose(room: Path, died: str) -> None:
    evening = f"{TODAY}T18:30"
    before, cups = _round(room, f"{TODAY}T12:00", evening)
    assert len(before) > 8
    jotted(room, f"{TODAY}T12:10", "died", died, "1")
    after, cups_after = _round(room, f"{TODAY}T15:00", evening)
    assert after == before
    assert cups_after == pytest.approx(cups, rel=0.02)  # what is drawn from a jar may be less


def test_half_of_a_brood_moves_its_own(room: Path) -> None:
    evening = f"{TODAY}T18:30"
    before, _ = _round(room, f"{TODAY}T12:00", evening)
    jotted(room, f"{TODAY}T12:10", "died", "rams", "45")
    after, _ = _round(room, f"{TODAY}T15:00", evening)
    assert after["T-rams", "microworm"][0] < 0.7 * before["T-rams", "microworm"][0]
