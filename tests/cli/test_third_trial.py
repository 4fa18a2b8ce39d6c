"""What twelve days in a cold and scarce room found, each by the command that showed it."""

from __future__ import annotations

import json
import re
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from cli.screens.shortfalls import split_by_haste
from cultures.tasks.plan import Act, Remedy, Shortfall
from tests.cli.invented import at, jotted, room_of


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path, horizon_days="10")


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


@pytest.mark.parametrize("noted", [True, False])
def test_a_culture_outlives_its_parent_in_the_room_file(room: Path, noted: bool) -> None:
    """A crashed parent is taken out of the file, and ``as_of`` moved: its child stands."""
    if noted:
        jotted(room, "2027-01-05T08:00", "split", "MW-1", "MW-9")
    else:
        tasks = json.loads(at(room, "2027-01-05T07:00", "plan", "--json").stdout)["tasks"]
        split = next(t for t in tasks if t["what"] == "split")
        at(room, f"{split['at'][:10]}T07:00", "today")
    parent, child, day = ("MW-1", "MW-9", "2027-01-05") if noted else (
        split["subject"], split["other"], split["at"][:10])  # fmt: skip
    later = date.fromisoformat(day) + timedelta(days=2)
    jotted(room, f"{later}T08:00", "failed", parent)
    text = re.sub(
        rf'(?s)\[\[culture\]\]\nname = "{parent}".*?(?=\n\[)', "", room.read_text("utf-8")
    )
    text = re.sub(r"(?m)^as_of = .*$", f"as_of = {later}T09:00:00", text)
    assert f'"{parent}"' not in text
    room.write_text(text, "utf-8")
    shown = at(room, f"{later}T10:00", "check").output
    row = next(line for line in shown.splitlines() if line.startswith(f"  {child} "))
    assert "microworm" in row
    assert "2 days" in row
    assert not any(line.startswith(f"  {parent} ") for line in shown.splitlines())
    jotted(room, f"{later}T10:05", "discard", child)
    assert child not in at(room, f"{later}T10:10", "check").output


def test_a_count_in_a_table_without_a_unit_is_of_fry(room: Path, tmp_path: Path) -> None:
    table = tmp_path / "table.csv"
    table.write_text("date,time,event,subject,other,amount,unit\n2027-01-05,06:00,count,A1,,170,\n"
                     "2027-01-05,06:10,count,pearl danio 3,,90,\n", "utf-8")  # fmt: skip
    said = _said(room, "2027-01-05T07:00", "journal", "import", str(table))
    assert "not used" not in said
    shown = at(room, "2027-01-05T07:01", "journal", "show").output
    assert "count honey gourami 7 170 fry" in shown
    assert "count pearl danio 3 90 fry" in shown


@pytest.mark.parametrize("file", [True, False])
def test_eggs_that_were_wetted_are_not_asked_for_again(room: Path, file: bool) -> None:
    if file:
        with room.open("a", encoding="utf-8") as end:
            end.write('\n[[brood]]\nname = "annuals 9"\ntank = "B4"\nclass = "annual_killifish"\n'
                      "count = 60\ncollected = 2026-11-01\nwetted = 2027-01-07\n")  # fmt: skip
    else:
        jotted(room, "2027-01-05T07:00", "collected", "annuals 9", "--tank", "B4",
           "--class", "annual_killifish", "--count", "60")  # fmt: skip
        jotted(room, "2027-01-05T07:01", "wetted", "annuals 9", "--on", "2027-01-07")
    step = "put the eggs of annuals 9 in B4 into water"
    for _ in range(2):  # that they are to be wetted that day is no answer
        assert step in _said(room, "2027-01-07T06:40", "today")
    jotted(room, "2027-01-07T06:46", "wetted", "annuals 9", "55")
    assert step not in _said(room, "2027-01-07T06:48", "today")
    assert "annuals 9 is taken to be" not in _said(room, "2027-01-08T06:48", "today", "--why")


def test_a_wetting_that_nobody_noted_is_asked_about_and_one_in_an_absence_foreseen(
    room: Path,
) -> None:
    jotted(room, "2027-01-05T07:00", "collected", "annuals 9", "--tank", "B4", "--class",
       "annual_killifish", "--count", "60")  # fmt: skip
    jotted(room, "2027-01-05T07:01", "wetted", "annuals 9", "--on", "2027-01-08")
    with room.open("a", encoding="utf-8") as end:
        end.write("\n[[away]]\nfrom = 2027-01-07\nto = 2027-01-08\nhelper = true\n")
    for command in (["today", "--why"], ["check"]):
        said = _said(room, "2027-01-06T07:00", *command)
        assert "annuals 9 is to be put in water on Fri 8 Jan, when you are away" in said
    said = _said(room, "2027-01-09T07:00", "today", "--why")
    assert "annuals 9 is taken to have been in water since Fri 8 Jan, the day that was set" in said
    jotted(room, "2027-01-09T07:05", "wetted", "annuals 9")
    assert "annuals 9 is taken" not in _said(room, "2027-01-09T07:06", "today", "--why")


def test_a_split_made_a_day_late_is_noted(room: Path) -> None:
    """It was told and taken as done; the note of the day after takes its place."""
    tasks = json.loads(at(room, "2027-01-05T07:00", "plan", "--json").stdout)["tasks"]
    split = next(t for t in tasks if t["what"] == "split")
    parent, child, day = split["subject"], split["other"], date.fromisoformat(split["at"][:10])
    at(room, f"{day}T07:00", "today")
    late = f"{day + timedelta(days=1)}T22:50"
    jotted(room, late, "split", parent, child)
    row = next(r for r in at(room, late, "check").output.splitlines() if f"  {child} " in r)
    assert " 0 days" in row
    again = _said(room, late, "journal", "split", parent, child, code=2)
    assert f"{child} was begun by line 2" in again


def test_a_remedy_that_comes_after_the_shortage_says_so() -> None:
    zone = ZoneInfo("UTC")
    short = Shortfall(
        at=datetime(2027, 2, 4, 7, tzinfo=zone), until=datetime(2027, 2, 9, tzinfo=zone), rounds=9,
        food="microworm", need_j=100.0, short_j=40.0, tanks=("A1",), cause="It is cold",
        remedies=(Remedy("get a box", datetime(2027, 2, 6, 7, tzinfo=zone), 30.0, act=Act.ADD),),
    )  # fmt: skip
    urgent, _ = split_by_haste([short], datetime(2027, 2, 5, tzinfo=zone), "metric", why=False)
    said = " ".join(" ".join(urgent).split())
    assert "by Sat 6 Feb 07:00: get a box; until that helps microworm will be short" in said


def test_a_culture_that_crashed_is_said_to_have(room: Path) -> None:
    jotted(room, "2027-01-05T07:00", "failed", "MW-1")
    said = _said(room, "2027-01-05T08:00", "yield", "MW-1", code=2)
    assert "MW-1 crashed: noted for Tue 5 Jan 07:00, line 2" in said
    assert "there is no culture named 'MW-99'" in _said(
        room, "2027-01-05T08:00", "yield", "MW-99", code=2
    )
