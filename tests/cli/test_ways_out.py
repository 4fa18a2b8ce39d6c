"""Answers and lists say what is to be done still, what was reckoned, and how a slip is mended."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at

_ROOM = """
[room]
name = "The pantry"
timezone = "Europe/Lisbon"
as_of = 2027-03-01
temperature_c = 23
rounds = ["08:00", "18:30"]
awake = ["06:30", "22:30"]
horizon_days = 4
[[tank]]
name = "1"
litres = 40
temperature_c = 26
[[brood]]
name = "spotted"
tank = "1"
class = "egg_scatterer"
count = 48
free_swimming = 2027-02-18
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-12
medium_g = 150
surface_cm2 = 180
starter_g = 10
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 26
[cysts]
grams = 40
[supplies]
salt_g = 800
dry_g = 120
medium_g = 2000
"""
_AWAY = """
[[away]]
from = 2027-03-03
to = 2027-03-04
helper = true
"""


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    return path


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, f"2027-03-{clock}", *words, code=code).output.split())


def test_a_hatch_in_hand_is_to_be_done_again_once_days_away_are_taken_back(room: Path) -> None:
    assert "set bottle" in _said(room, "01T07:50", "today")
    away = _said(room, "01T08:10", "journal", "away", "2027-03-01", "to", "2027-03-04")
    assert "no longer: Mon 1 Mar 08:00 set bottle" in away
    assert "still to do: Mon 1 Mar 08:00 set bottle" in _said(room, "01T08:12", "journal", "undo")


def test_a_helpers_sheet_of_days_deleted_in_the_room_file_is_not_to_be_printed_again(
    room: Path, tmp_path: Path
) -> None:
    room.write_text(_ROOM + _AWAY, "utf-8")
    _said(room, "01T08:14", "sheet", "--helper", "--out", str(tmp_path / "helper.html"))
    room.write_text(_ROOM, "utf-8")
    said = _said(room, "01T08:20", "today")
    assert "Print it again" not in said
    assert "throw it away" in said
    _said(room, "01T08:21", "journal", "bought", "salt", "100 g")  # noted from the file as it is
    later = _said(room, "02T08:20", "today")
    assert "helper's sheet" not in later


def test_a_number_that_is_answered_may_be_no_number_of_the_list(room: Path) -> None:
    """A tank is called 1: what is typed alone may mean it while a task of the list is 1 too."""
    _said(room, "01T07:50", "today")
    listed = _said(room, "01T08:05", "journal", "due")
    assert "1 alone may be a tank" in listed
    _said(room, "01T08:06", "journal", "done", "number", "1")
    listed = _said(room, "01T08:07", "journal", "due")
    assert " 2 Mon 1 Mar" in listed
    assert "may be a tank" not in listed


@pytest.mark.parametrize(("count", "remarked"), [("20", True), ("40", False)])
def test_far_fewer_fry_than_were_reckoned_are_remarked(
    room: Path, count: str, remarked: bool
) -> None:
    """Of 48 on that day 20 are less than half; a count is seldom off by more than a half."""
    said = _said(room, "01T08:15", "journal", "count", "spotted", count)
    assert ("were reckoned to live" in said) is remarked
    assert ("journal undo --line 2" in said) is remarked


def test_a_kind_of_two_words_needs_no_quotes(room: Path) -> None:
    said = _said(room, "01T08:16", "journal", "start", "VE-7", "vinegar", "eel")
    assert "start VE-7 vinegar_eel" in said


def test_a_count_that_a_wrong_loss_refuses_names_its_line(room: Path) -> None:
    _said(room, "01T08:10", "journal", "died", "spotted", "38")
    said = _said(room, "01T08:16", "journal", "count", "spotted", "44", code=2)
    assert "if 'died 38' is the mistake: journal undo --line 2" in said
    _said(room, "01T08:17", "journal", "undo", "--line", "2")
    assert "Noted" in _said(room, "01T08:18", "journal", "count", "spotted", "44")
