"""Eggs that hatched, and fry that swim, on another day than was reckoned."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.cli.invented import at
from tests.cli.test_first_food_overdue import _ROOM


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    return path


def _first_food(room: Path, clock: str) -> date:
    found = json.loads(at(room, clock, "check", "--json").stdout)
    (neons,) = (b for b in found["broods"] if b["name"] == "neons")
    return date.fromisoformat(neons["first_food"])


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


def test_fry_that_do_not_swim_are_asked_about_again_and_do_not_go_hungry(room: Path) -> None:
    day = _first_food(room, "2027-06-07T12:00")
    next_ = day + timedelta(days=1)
    assert "first food today for neons in 5" in _said(room, f"{day}T07:00", "today")
    line = "livefood journal not_swimming neons"
    assert f"Not swimming yet: {line}" in _said(room, f"{day}T07:01", "today", "--why")
    assert f"If they do not swim yet: {line}" in _said(
        room, f"{day}T07:40", "journal", "skip", "tank", "5"
    )
    assert f"If they do not swim yet: {line}" in _said(room, f"{day}T07:45", "today")
    noted = _said(room, f"{day}T07:50", "journal", "not_swimming", "neons")
    assert f"First food on {next_:%a} {next_.day}" in noted
    after = _said(room, f"{day}T07:55", "today")
    assert "ACT NOW" not in after
    assert "first food today" not in after
    assert "first food today for neons" in _said(room, f"{next_}T07:00", "today")
    again = _said(room, f"{next_}T07:05", "journal", "not-swimming", "neons")
    assert f"First food on {next_ + timedelta(days=1):%a}" in again


def test_noted_in_the_evening_it_makes_nobody_starve(room: Path) -> None:
    """They were not fed at either round of the day; their first food is on the next."""
    day = _first_food(room, "2027-06-07T12:00")
    for clock in ("07:40", "18:40"):
        at(room, f"{day}T{clock}", "today")
        at(room, f"{day}T{clock}", "journal", "skip", "tank", "5")
    noted = _said(room, f"{day}T19:10", "journal", "not_swimming", "neons")
    for said in (noted, _said(room, f"{day}T19:11", "today")):
        assert "have had nothing" not in said
        assert "past saving" not in said
        assert "feed them now" not in said


def test_what_was_told_for_them_that_day_is_noted_as_not_given(room: Path) -> None:
    day = _first_food(room, "2027-06-07T12:00")
    at(room, f"{day}T07:25", "today")
    at(room, f"{day}T07:35", "journal", "not_swimming", "neons")
    entries = json.loads(at(room, f"{day}T07:36", "journal", "show", "--json").stdout)["entries"]
    assert [(e["event"], e["subject"]) for e in entries] == [
        ("not_swimming", "neons"), ("skip", "5")
    ]  # fmt: skip
    assert "Noted: 5 not fed" in _said(room, f"{day}T07:37", "today")


@pytest.mark.parametrize("looked_at", ["12:00", "07:20"])
def test_a_round_of_that_day_that_is_over_did_not_feed_them_either(
    room: Path, looked_at: str
) -> None:
    """It is noted at noon, of then or of before the round: what was told of it is not done."""
    day = _first_food(room, "2027-06-07T12:00")
    at(room, f"{day}T07:10", "today")
    at(room, f"{day}T12:00", "journal", "not_swimming", "neons", "--at", f"{day}T{looked_at}")
    entries = json.loads(at(room, f"{day}T12:01", "journal", "show", "--json").stdout)["entries"]
    assert [(e["event"], e["subject"]) for e in entries] == [
        ("not_swimming", "neons"), ("skip", "5")
    ]  # fmt: skip


def test_eggs_that_hatched_late_are_noted_with_the_word_that_a_keeper_types(room: Path) -> None:
    """Larvae of neons take some days until they swim, whenever they hatch."""
    day = _first_food(room, "2027-06-07T12:00")
    at(room, f"{day}T07:00", "today")
    noted = _said(room, f"{day}T07:40", "journal", "hatched", "neons", "25")
    assert "eggs hatched neons 25 fry" in noted
    later = _first_food(room, f"{day}T07:41")
    assert later > day + timedelta(days=1)
    wrong = _said(room, f"{day}T07:42", "journal", "hatched", "neons", "25", "--apart", code=2)
    assert "neons is a brood" in wrong


def test_a_date_of_eggs_is_put_right_while_they_have_had_nothing(room: Path) -> None:
    """Once a round was fed it is asked back, as by all that is noted they eat."""
    day = _first_food(room, "2027-06-07T12:00")
    at(room, f"{day}T07:00", "today")
    at(room, f"{day}T07:40", "journal", "skip", "tank", "5")
    late = ("journal", "spawn", "neons", "--at", "2027-06-08 10:00")
    assert "First food on" in _said(room, f"{day}T07:45", *late)
    at(room, f"{day}T07:46", "journal", "undo")
    at(room, f"{day}T07:47", "journal", "fed", "5")
    next_ = day + timedelta(days=1)
    wrong = _said(room, f"{next_}T06:00", "journal", "not_swimming", "neons", code=2)
    assert "neons first ate on" in wrong
    assert "not swimming" in wrong
