"""Spawnings that are planned: what is prepared for them, and what says that it is for them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.cli.invented import WHOLE, at, jotted, room_of, run, run_json

_SPAWN = {"brood": "danio 9", "tank": "A5"}
_NOON = "2027-01-05T12:00"


@pytest.fixture
def room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path, horizon_days="10")


def _planned(room: Path, *more: str, day: str = "2027-01-07", count: str = "3000") -> str:
    noted = at(room, "2027-01-05T06:50", "journal", "planned", "danio 9", "--on", day, "--tank",
               "A5", "--class", "egg_scatterer", "--count", count, *more)  # fmt: skip
    return " ".join(noted.output.split())


def _with_brood(room: Path, *lines: str) -> Path:
    table = ['name = "danio 9"', 'tank = "A5"', 'class = "egg_scatterer"', "count = 200"]
    text = "\n".join(["", "[[brood]]", *table, *lines, ""])
    room.write_text(room.read_text("utf-8") + text, "utf-8")
    return room


def _hoped(plan: dict[str, Any]) -> list[dict[str, Any]]:
    return [task for task in plan["tasks"] if "spawns" in task]


def test_cultures_are_split_for_it_and_nothing_is_hatched_or_fed(room: Path) -> None:
    before = run_json(room, "plan", now=_NOON)
    _planned(room)
    plan = run_json(room, "plan", now=_NOON)
    hoped = _hoped(plan)
    assert {task["what"] for task in hoped} == {"split", "first_food"}
    assert all(task["spawns"] == [_SPAWN] for task in hoped)
    assert plan["rounds"] == before["rounds"]
    sets = [[t for t in p["tasks"] if t["what"] == "set_hatch"] for p in (before, plan)]
    assert sets[0] == sets[1]


@WHOLE
def test_every_screen_says_what_is_for_it(room: Path, tmp_path: Path) -> None:
    _planned(room)
    words = "for the spawn planned in A5"
    assert words in " ".join(run(room, "plan", now=_NOON).output.split())
    assert "if it spawns as planned" in " ".join(run(room, "plan", now=_NOON).output.split())
    today = " ".join(at(room, "2027-01-05T07:00", "today").output.split())
    assert words in today
    sheet = tmp_path / "sheet.html"
    at(room, "2027-01-05T07:01", "sheet", "--out", str(sheet))
    assert words in sheet.read_text("utf-8")
    phone = tmp_path / "phone.ics"
    at(room, "2027-01-05T07:02", "calendar", "--out", str(phone))
    unfolded = phone.read_text("utf-8").replace("\r\n ", "").replace("\n ", "")
    assert words.replace(",", "\\,") in unfolded
    assert "First food\\, if spawned: danio 9" in unfolded
    due = at(room, "2027-01-05T07:03", "journal", "due").output
    assert words in " ".join(due.split())


def test_what_was_told_for_it_is_withdrawn_when_it_is_dropped(room: Path) -> None:
    _planned(room)
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T07:10", "drop", "danio 9")
    plan = run_json(room, "plan", now="2027-01-05T12:00")
    assert _hoped(plan) == []
    at(room, "2027-01-05T12:00", "today")
    assert "danio 9" not in at(room, "2027-01-05T12:01", "check").output


@WHOLE
def test_confirming_feeds_it_and_keeps_what_was_split(room: Path) -> None:
    _planned(room, count="1000")
    at(room, "2027-01-05T07:00", "today", "--all-day")
    jotted(room, "2027-01-05T08:00", "done")
    jotted(room, "2027-01-07T09:00", "spawn", "danio 9")
    plan = run_json(room, "plan", now="2027-01-07T09:30")
    assert _hoped(plan) == []
    assert any(line["brood"] == "danio 9" and line["amount"] > 0 for line in plan["rounds"])
    assert "VE-3" in at(room, "2027-01-07T09:31", "check").output


def test_confirming_moves_nothing_of_the_days_before_it_eats(room: Path) -> None:
    """All that was shown for today and tomorrow stands, to the gram."""
    _planned(room, day="2027-01-05", count="300")
    plans = [run_json(room, "plan", now=_NOON)]
    jotted(room, "2027-01-05T11:59", "spawn", "danio 9")
    plans.append(run_json(room, "plan", now=_NOON))
    for key in ("tasks", "rounds"):
        before, after = (
            [{**each, "spawns": None} for each in plan[key] if each["at"] < "2027-01-07"]
            for plan in plans
        )
        assert before == after


def test_a_spawning_is_dropped_only_while_it_is_planned(room: Path) -> None:
    said = at(room, _NOON, "journal", "drop", "pearl danio 3", code=2).output
    assert "'journal lost pearl danio 3 --all'" in " ".join(said.split())


def test_its_chance_is_shown_and_kept(room: Path) -> None:
    assert "chance 0.6" in _planned(room, "--chance", "60%")
    assert "to spawn on Thu 7 Jan (chance 60%)" in run(room, "check", now=_NOON).output
    jotted(room, "2027-01-05T07:00", "planned", "danio 9", "--on", "2027-01-09")
    assert "to spawn on Sat 9 Jan (chance 60%)" in run(room, "check", now=_NOON).output


def test_nothing_is_begun_for_what_is_hardly_likely(room: Path) -> None:
    _planned(room, "--chance", "0.05")
    assert _hoped(run_json(room, "plan", now=_NOON)) == []


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["planned = 2027-01-07", "chance = 70"], "for per cent write '70 %'"),
        (["planned = 2027-01-07", "chance = true"], "must be a share like 0.7"),
        (["spawned = 2027-01-03", "chance = 0.5"], "goes with planned only"),
    ],
)
def test_a_chance_that_cannot_be_is_refused(room: Path, lines: list[str], said: str) -> None:
    output = run(_with_brood(room, *lines), "check", code=2).output
    assert said in " ".join(output.split())


def test_shortfalls_tell_what_hangs_on_it(room: Path) -> None:
    _with_brood(room, "planned = 2027-01-06", 'chance = "40 %"', 'foods = ["rotifer"]')
    shortfalls = run_json(room, "shortfalls")
    (hoped,) = (s for s in shortfalls if "spawns" in s)
    assert (hoped["spawns"], hoped["chance"]) == ([_SPAWN], 0.4)
    assert hoped["cause"].startswith("if the spawn planned in A5 comes (chance 40%), there is no")
    assert {r["what"].partition(" ")[0] for r in hoped["remedies"]} == {"add", "start"}
    certain = [s for s in shortfalls if "spawns" not in s and not s["thin"]]
    code = 1 if certain else 0
    screen = run(room, "shortfalls", "--strict", code=code).output
    assert "IF A PLANNED SPAWN COMES" in screen


def test_supposing_that_it_does_not_come_takes_its_work_away(room: Path) -> None:
    _planned(room)
    found = run_json(room, "plan", "--if", "lose danio 9", now=_NOON)
    assert found["dropped"]
    assert all("spawns" in task for task in found["dropped"])
    assert found["added"] == []
