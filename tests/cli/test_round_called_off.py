"""A round of which it is noted beforehand that nobody feeds is not asked for again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.invented import at, room_file

_ROUND = "2027-01-05T18:30"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """The demo room at noon, once its evening round was told and called off."""
    path = room_file(tmp_path)
    at(path, "2027-01-05T07:01", "today")
    at(path, "2027-01-05T07:40", "journal", "done")
    at(path, "2027-01-05T12:00", "today")
    at(path, "2027-01-05T12:01", "journal", "skip", "18:30 round")
    return path


def _told(room: Path) -> list[str]:
    """Ids of all feedings of the round that were ever told."""
    lines = room.with_name("told.jsonl").read_text("utf-8").splitlines()
    rows = [row for line in lines for row in json.loads(line).get("told", ())]
    return sorted({row["id"] for row in rows if row["id"].startswith(f"feed/{_ROUND}")})


def test_a_round_that_is_called_off_hours_before_is_not_planned_anew(room: Path) -> None:
    found = json.loads(at(room, "2027-01-05T12:02", "plan", "--json").stdout)
    assert not [r for r in found["rounds"] if r["at"].startswith(_ROUND)]
    noon = at(room, "2027-01-05T12:03", "today").stdout
    assert "ROUND 18:30: it is noted that nobody feeds\n" in noon
    assert "ROUND 07:30, Wed 6 Jan, in" in noon
    later = at(room, "2027-01-05T17:51", "today").stdout
    assert later.count("ROUND 18:30") == 1
    assert "ROUND 18:30: it is noted that nobody feeds\n" in later  # it is not over yet
    during = at(room, "2027-01-05T18:50", "today").stdout
    assert during.count("ROUND 18:30: it is noted that nobody feeds\n") == 1
    assert during.count("ROUND 18:30") == 1
    assert "ROUND 18:30" not in at(room, "2027-01-05T20:31", "today").stdout
    assert _told(room) == [f"feed/{_ROUND}"]


def test_what_is_to_be_done_at_its_time_besides_stays(room: Path) -> None:
    found = json.loads(at(room, "2027-01-05T12:02", "plan", "--json").stdout)
    then = [t["what"] for t in found["tasks"] if t["at"].startswith(_ROUND)]
    assert "set_hatch" in then
    assert "harvest_worms" not in then


def test_a_round_that_is_called_off_and_taken_back_is_as_it_was_told(room: Path) -> None:
    at(room, "2027-01-05T12:04", "journal", "undo")
    assert "ROUND 18:30, in" in at(room, "2027-01-05T12:05", "today").stdout
    assert _told(room) == [f"feed/{_ROUND}"]
