"""A helper who gives some foods alone: the plan of these days has no other."""

from __future__ import annotations

import json
from datetime import date, time
from pathlib import Path
from typing import Any

import pytest

from cultures.journal.absences import Away, read_away
from tests.cli.invented import at

_ROOM = """\
[room]
name = "Elder shelf"
timezone = "Europe/Lisbon"
as_of = 2027-01-05
temperature_c = 24
horizon_days = 8

[[tank]]
name = "A1"
litres = 60
temperature_c = 26

[[tank]]
name = "A2"
litres = 60
temperature_c = 26

[[brood]]
name = "barbs"
tank = "A1"
class = "egg_scatterer"
count = 40
length_mm = 14
measured_on = 2027-01-05

[[brood]]
name = "small barbs"
tank = "A2"
class = "egg_scatterer"
count = 40
length_mm = 4.5
measured_on = 2027-01-05

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-26
medium_g = 300
surface_cm2 = 400
starter_g = 10

[supplies]
dry_g = 20
"""
_AWAY = '\n[[away]]\nfrom = 2027-01-06\nto = 2027-01-08\nhelper = true\nfoods = ["dry"]\n'
_DAYS = ("2027-01-06", "2027-01-07", "2027-01-08")


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    return path


def _said(room: Path, *words: str, code: int = 0) -> str:
    return " ".join(at(room, "2027-01-05T19:00", *words, code=code).output.split())


def _plan(room: Path) -> Any:
    return json.loads(at(room, "2027-01-05T19:00", "plan", "--json").stdout)


def _given(plan: Any, *, away: bool) -> set[str]:
    lines = (x for x in plan["rounds"] if (x["at"][:10] in _DAYS) is away)
    return {x["food"] for x in lines if x["amount"] > 0}


@pytest.mark.parametrize("noted", [False, True])
def test_the_days_are_planned_with_dry_food_alone(room: Path, *, noted: bool) -> None:
    if noted:
        words = ["2027-01-06", "to", "2027-01-08", "--helper", "--food", "dry"]
        _said(room, "journal", "away", *words)
    else:
        room.write_text(_ROOM + _AWAY, "utf-8")
    plan = _plan(room)
    assert _given(plan, away=True) == {"dry"}
    assert "microworm" in _given(plan, away=False)
    worms = [t["at"] for t in plan["tasks"] if t["what"] == "harvest_worms"]
    assert worms
    assert not [stamp for stamp in worms if stamp[:10] in _DAYS]
    (short,) = (s for s in plan["shortfalls"] if s["at"][:10] in _DAYS)
    assert (short["tanks"], short["cause"]) == (["A2"], "the helper gives dry food alone")
    assert short["short_j"] == pytest.approx(short["need_j"])


def test_who_cannot_live_on_it_is_named_before_leaving(room: Path) -> None:
    """Barbs of 4.5 mm take none of it; those of 14 mm are weaned."""
    room.write_text(_ROOM + _AWAY, "utf-8")
    before = _said(room, "today").partition("BEFORE YOU LEAVE")[2].partition("ROUND")[0]
    assert "a helper feeds dry food alone" in before
    assert "nothing, or hardly anything, for A2 from Wed 6 Jan" in before
    assert "A1" not in before


def test_its_sheet_asks_for_no_worms(room: Path) -> None:
    room.write_text(_ROOM + _AWAY, "utf-8")
    out = room.with_name("helper.html")
    _said(room, "sheet", "--helper", "--out", str(out))
    text = out.read_text("utf-8")
    assert "swipe" not in text
    assert "envelope 1" in text


def test_foods_without_a_helper_are_refused(room: Path) -> None:
    room.write_text(_ROOM + _AWAY.replace("helper = true\n", ""), "utf-8")
    assert "foods: goes with helper = true" in _said(room, "check", code=2)
    words = ["journal", "away", "2027-01-06", "--food", "dry"]
    room.write_text(_ROOM, "utf-8")
    assert "--food goes with --helper" in _said(room, *words, code=2)
    assert "'soup'" in _said(room, *words[:-1], "soup", "--helper", code=2)


def test_an_absence_is_read_as_it_is_noted() -> None:
    for foods in ((), ("dry",), ("dry", "banana_worm")):
        away = Away(date(2027, 2, 1), date(2027, 2, 3), True, (time(18, 30),), foods=foods)
        assert read_away(away.noted) == away


def test_the_helpers_rounds_say_which_tanks_get_nothing(tmp_path: Path) -> None:
    """Barbs of 4.5 mm eat, and cannot live on dry food alone: who passes their tank would wonder,
    and feed it.
    """
    room, out = tmp_path / "room.toml", tmp_path / "helper.html"
    room.write_text(_ROOM.replace("length_mm = 4.5", "length_mm = 3.5") + _AWAY, "utf-8")
    at(room, "2027-01-05T20:00", "sheet", "--helper", "--out", str(out))
    days = out.read_text("utf-8").partition('id="day-2027-01-06"')[2].partition('id="keeper"')[0]
    rounds = days.split('class="round"')[1:]
    assert len(rounds) >= 2
    for each in rounds:
        assert "nothing for A2 at this round" in each
        assert "nothing for A1" not in each


def test_the_answer_says_who_gets_nothing_and_when(room: Path) -> None:
    """Fry of 4.5 mm take no dry food; of three days at two rounds each they miss six rounds."""
    words = ["2027-01-06", "to", "2027-01-08", "--helper", "--food", "dry"]
    said = _said(room, "journal", "away", *words)
    spell = "Wed 6 Jan 07:30 to Fri 8 Jan 18:30: the helper gives dry food alone."
    assert f"nothing, or hardly anything, for A2 for 6 rounds, {spell}" in said
    assert "of all food until" not in said
    # A later entry that changes nothing of it does not say it again.
    again = _said(room, "journal", "count", "barbs", "39")
    assert "nothing, or hardly anything" not in again
