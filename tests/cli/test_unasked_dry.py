"""Whoever minds the tanks has dry food at hand: it is noted though other food was told."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from cultures.record.present import present_of
from cultures.room.file import read_room
from tests.cli.invented import at, jotted

_ROOM = """\
[room]
name = "Elder shelf"
timezone = "Europe/Lisbon"
as_of = 2027-01-05
temperature_c = 24
horizon_days = 7

[[tank]]
name = "A1"
litres = 60
temperature_c = 26

[[brood]]
name = "barbs"
tank = "A1"
class = "egg_scatterer"
count = 40
length_mm = {length}
measured_on = 2027-01-05
foods = ["microworm"]

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


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    """Barbs of 14 mm that are given worms alone; of class data they wean at a centimetre or so."""
    path = tmp_path / "room.toml"
    path.write_text(_ROOM.format(length=14), "utf-8")
    at(path, "2027-01-05T07:20", "today")
    return path


def _dry_g(room: Path) -> float:
    """What is left of the dry food by all that is noted [g]."""
    now = datetime(2027, 1, 5, 7, 42, tzinfo=ZoneInfo("Europe/Lisbon"))
    read = read_room(room.read_text("utf-8"), name="room.toml", today=now.date())
    return present_of(read, room, now).room.stock_g["dry"]


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


def test_dry_food_is_noted_where_worms_were_told(room: Path) -> None:
    said = _said(room, "2027-01-05T07:40", "journal", "fed", "A1", "dry", "0.5 g")
    assert "fed A1, 0.5 g of dry food" in said
    _said(room, "2027-01-05T07:41", "journal", "fed", "A1", "microworm", "0 mL")
    assert _dry_g(room) == pytest.approx(20 - 0.5)


def test_the_later_word_of_it_holds(room: Path) -> None:
    jotted(room, "2027-01-05T07:40", "fed", "A1", "dry", "0.5 g")
    jotted(room, "2027-01-05T07:41", "fed", "A1", "dry", "0.2 g")
    assert _dry_g(room) == pytest.approx(20 - 0.2)


def test_water_in_which_none_was_soaked_is_refused(room: Path) -> None:
    said = _said(room, "2027-01-05T07:40", "journal", "fed", "A1", "dry", "5 mL", code=2)
    assert "by weight or by spoon" in said


def test_fry_that_take_none_yet_had_no_meal(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(_ROOM.format(length=4), "utf-8")
    at(room, "2027-01-05T07:20", "today")
    said = _said(room, "2027-01-05T07:40", "journal", "fed", "A1", "dry", "0.1 g", code=2)
    assert "barbs in A1 can take no dry food yet, so it is no meal" in said
    assert "journal skip 'A1'" in said
