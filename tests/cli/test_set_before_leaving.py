"""A hatch in hand for a round at which nobody is there, by an absence noted after it was told."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.invented import at, jotted

_ROOM = """
[room]
name = "One bottle"
timezone = "Europe/Lisbon"
temperature_c = 25
as_of = 2027-06-07T12:00:00
rounds = ["07:30", "18:30"]
horizon_days = 7

[[tank]]
name = "1"
litres = 60
temperature_c = 25

[[brood]]
name = "bettas"
tank = "1"
species = "Betta splendens"
count = 100
free_swimming = 2027-05-20

[[vessel]]
name = "bottle 1"
litres = 1.0
temperature_c = 26
salinity_g_per_l = 25

[[hatch]]
vessel = "bottle 1"
set_at = 2027-06-06T18:30:00
cysts_g = 0.8

[cysts]
grams = 30

[supplies]
dry_g = 60
"""
# A Saturday: the bottle is told to be set at 07:30, for Sunday morning.
_TOLD, _NOTED, _LATER = "2027-06-12T07:10", "2027-06-12T07:46", "2027-06-12T07:50"
_AWAY = ("journal", "away", "today", "18:30", "to")


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    for day in range(7, 12):
        at(path, f"2027-06-{day:02d}T07:35", "today", "--all-day")
    at(path, _TOLD, "today")
    assert _set_at(path, _LATER)[0] == "2027-06-12T07:30"
    return path


def _plan(room: Path, now: str) -> Any:
    return json.loads(at(room, now, "plan", "--days", "4", "--json").stdout)


def _set_at(room: Path, now: str) -> list[str]:
    return [t["at"][:16] for t in _plan(room, now)["tasks"] if t["what"] == "set_hatch"]


def test_what_would_stand_a_day_past_its_best_is_not_set(room: Path) -> None:
    """Nauplii keep twelve hours past their best in the bottle; the keeper is back a day after."""
    said = " ".join(at(room, _NOTED, *_AWAY, "sun", "--helper", "--food", "dry").output.split())
    assert "no longer: Sat 12 Jun 07:30 set bottle 1" in said
    assert "if it is set: livefood journal set 'bottle 1'" in said
    assert all(day[:10] >= "2027-06-14" for day in _set_at(room, _LATER))
    shown = at(room, _LATER, "today").output
    assert "set bottle 1" not in shown
    # Nor is it taken as done once its time is over.
    assert not any("past" in t["why"] for t in _plan(room, "2027-06-13T12:00")["tasks"])
    jotted(room, _LATER, "undo")
    assert _set_at(room, _LATER)[0] == "2027-06-12T07:30"


def test_what_is_drawn_off_the_same_evening_is_set_all_the_same(room: Path) -> None:
    """From the morning to the evening it stands eleven hours."""
    words = ("journal", "away", "tomorrow", "--round", "07:30", "--helper")
    at(room, _NOTED, *words)
    assert _set_at(room, _LATER)[0] == "2027-06-12T07:30"


def test_what_is_noted_as_set_before_stays(room: Path) -> None:
    jotted(room, "2027-06-12T07:40", "done")
    at(room, _NOTED, *_AWAY, "sun", "--helper", "--food", "dry")
    harvests = [t for t in _plan(room, _LATER)["tasks"] if t["what"] == "harvest_hatch"]
    assert harvests[0]["at"][:10] >= "2027-06-13"


def test_what_is_told_for_later_that_day_is_not_set_either_once_its_round_has_begun(
    room: Path,
) -> None:
    """Days away are noted ten minutes before the round, and nobody looks before it has begun."""
    at(room, "2027-06-12T07:20", *_AWAY, "2027-06-14", "--helper", "--food", "dry")
    assert _set_at(room, _LATER)[:1] != ["2027-06-12T07:30"]
    assert "07:30  set bottle 1" not in at(room, _LATER, "today").output
