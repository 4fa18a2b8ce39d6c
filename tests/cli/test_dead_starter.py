"""A bought starter that is dead when it comes: how that is said, what it teaches, and the next."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.invented import at, jotted, run
from tests.cli.rooms import CELLAR

_ROOM = f"""{CELLAR}
[[culture]]
name = "MW-1"
kind = "microworm"
planned = 2027-02-05
medium_g = 150
surface_cm2 = 180
starter_g = 10
"""


def _room(folder: Path) -> Path:
    path = folder / "room.toml"
    path.write_text(_ROOM, "utf-8")
    at(path, "2027-02-04T18:15", "today")
    at(path, "2027-02-05T07:15", "today")
    return path


def _said(room: Path, clock: str, *args: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *args, code=code).output.split())


def _crashes(room: Path, now: str) -> int:
    found = json.loads(run(room, "learn", "--json", now=now).stdout)["estimates"]
    mine = [e for e in found if e["quantity"] == "crash" and e["subject"] == "microworm"]
    return sum(e["data"]["readings"] for e in mine)


def test_a_starter_dead_when_it_came_teaches_no_crash_and_the_answer_says_how_to_go_on(
    tmp_path: Path,
) -> None:
    room = _room(tmp_path)
    said = _said(room, "2027-02-05T12:00", "journal", "failed", "MW-1")
    assert "MW-1 was begun so lately that it is taken as dead when it came" in said
    assert "If another one comes: livefood change culture MW-1 planned=DAY" in said
    assert _crashes(room, "2027-02-05T12:30") == 0


def test_one_that_lived_for_days_crashed(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-02-05T12:00", "done", "MW-1")
    said = _said(room, "2027-02-07T12:00", "journal", "failed", "MW-1")
    assert "dead when it came" not in said
    assert _crashes(room, "2027-02-07T12:30") == 1


def test_the_next_of_that_name_is_planned_and_set_up(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-02-05T12:00", "failed", "MW-1")
    assert "to be bought" not in run(room, "check", now="2027-02-05T12:30").output
    at(room, "2027-02-05T12:30", "change", "culture", "MW-1", "planned=2027-02-08", "--yes")
    assert "MW-1: a microworm culture to be bought on Mon 8 Feb" in _said(
        room, "2027-02-05T12:31", "check"
    )
    assert "start MW-1 from a bought starter" in _said(room, "2027-02-08T07:15", "today")
    jotted(room, "2027-02-08T07:40", "done", "MW-1")
    shown = _said(room, "2027-02-09T07:15", "check")
    assert "MW-1 microworm 1 day" in shown
    assert "to be bought" not in shown


def test_what_is_still_to_come_cannot_fail_and_what_is_skipped_may_come_later(
    tmp_path: Path,
) -> None:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    said = _said(path, "2027-02-03T12:00", "journal", "failed", "MW-1", code=2)
    assert "MW-1 is not there yet: it is to come on Fri 5 Feb" in said
    assert "livefood change culture MW-1 planned=DAY" in said
    at(path, "2027-02-05T07:15", "today")
    said = _said(path, "2027-02-05T12:00", "journal", "skip", "MW-1")
    assert "If another one comes: livefood change culture MW-1 planned=DAY" in said


def test_one_that_was_not_planned_is_set_up_again_by_another_name(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-02-05T12:00", "start", "BW-1", "banana_worm")
    said = _said(room, "2027-02-06T12:00", "journal", "failed", "BW-1")
    assert "When another one is on its medium: livefood journal start BW-2 banana_worm" in said
