"""What a second fortnight found, each by the command that showed it."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import main
from tests.cli.invented import at, jotted, room_of


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path, horizon_days="10")


def test_in_the_place_of_what_was_ticked_off_already(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T07:40", "done")
    words = ("journal", "harvest", "MW-2", "4", "swipes", "--instead-of", "MW-1")
    said = " ".join(at(room, "2027-01-05T07:45", *words, code=2).output.split())
    assert "what was told of MW-1 is noted already" in said
    line = said.partition("journal undo --line ")[2].split()[0]
    jotted(room, "2027-01-05T07:46", "undo", "--line", line)
    at(room, "2027-01-05T07:47", *words)
    nothing = at(room, "2027-01-05T13:00", *words, code=2).output
    assert "nothing of MW-1 was told for this time" in " ".join(nothing.split())


def test_a_spawning_whose_day_is_over_was_to_be(room: Path) -> None:
    jotted(room, "2027-01-05T07:00", "planned", "pair 1", "--tank", "A2", "--class",
       "egg_scatterer", "--on", "2027-01-08", "--count", "80")  # fmt: skip
    assert "to spawn on Fri 8 Jan" in at(room, "2027-01-06T07:00", "check").output
    late = " ".join(at(room, "2027-01-10T07:00", "check").output.split())
    assert "was to spawn on Fri 8 Jan; if it did, note 'journal spawn pair 1'" in late


@pytest.mark.parametrize("name", ["grindal worm", "Grindal_Worm", "egg scatterer"])
def test_a_kind_is_known_by_the_name_that_screens_write(name: str) -> None:
    assert CliRunner().invoke(main, ["kinds", name]).exit_code == 0


def test_a_lost_record_says_what_is_to_be_weighed(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T07:40", "done")
    room.with_name("told.jsonl").unlink()
    said = " ".join(at(room, "2027-01-05T12:00", "today", "--why").output.split())
    assert "Note hatches that stand, and weigh cysts, salt and dry food" in said


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


def test_what_is_not_ticked_off_says_how_it_is_noted(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    said = _said(room, "2027-01-05T07:40", "journal", "done", "annuals 2", code=2)
    assert "noted with 'journal count', 'move', 'sorted', 'lid', 'lost' or 'wetted'" in said
    said = _said(room, "2027-01-05T07:40", "journal", "done", "cysts", code=2)
    assert "livefood journal bought cysts 50 g" in said
    jotted(room, "2027-01-05T07:41", "done")
    for again in ("done", "skip"):
        said = _said(room, "2027-01-05T07:42", "journal", again, "MW-1", code=2)
        assert "what was told of 'MW-1' is noted already" in said
    line = said.partition("undo --line ")[2].split()[0]
    said = _said(room, "2027-01-05T07:43", "journal", "undo", "--line", line)
    assert "If it was not: livefood journal skip MW-1" in said
    jotted(room, "2027-01-05T07:44", "skip", "MW-1")


def test_a_count_that_does_not_fit_names_the_one_that_may_be_wrong(room: Path) -> None:
    jotted(room, "2027-01-05T07:00", "count", "A1", "20", "--sure")
    said = _said(room, "2027-01-05T07:05", "journal", "count", "A1", "170", code=2)
    assert "if that count is the mistake: journal undo --line 2" in said
    jotted(room, "2027-01-05T07:06", "undo", "--line", "2")
    jotted(room, "2027-01-05T07:07", "count", "A1", "170")


def test_a_table_may_name_a_tank_and_any_unit(room: Path, tmp_path: Path) -> None:
    table = tmp_path / "table.csv"
    rows = ("2027-01-05 06:00,count,A1,,170,fry", "2027-01-05 06:10,bought,cysts,,0.1,kg",
            "2027-01-05 06:20,length,A1,,0.25,in")  # fmt: skip
    table.write_text("when,event,subject,other,amount,unit\n" + "\n".join(rows), "utf-8")
    jotted(room, "2027-01-05T07:00", "import", str(table))
    said = at(room, "2027-01-05T07:01", "journal", "show").output
    assert "count honey gourami 7 170 fry" in said
    assert "bought cysts 100 g" in said
    assert "length honey gourami 7 6.35 mm" in said
    table.write_text("when,event,subject,other,amount,unit\n"
                     "2027-01-05 06:30,bought,cysts,,2,mm\n", "utf-8")  # fmt: skip
    said = _said(room, "2027-01-05T07:02", "journal", "import", str(table), code=2)
    assert "table.csv:2" in said
    assert "use g" in said


def test_a_table_says_which_brood_of_a_tank_is_not_clear(room: Path, tmp_path: Path) -> None:
    jotted(room, "2027-01-05T07:00", "move", "A1", "A3", "20")
    table = tmp_path / "table.csv"
    table.write_text("when,event,subject,other,amount,unit\n"
                     "2027-01-05 07:01,lost,A3,,2,fry\n", "utf-8")  # fmt: skip
    said = _said(room, "2027-01-05T07:02", "journal", "import", str(table), code=2)
    assert "table.csv:2" in said
    assert "say which" in said


def test_eggs_go_into_water_on_their_day(room: Path) -> None:
    new = ("--tank", "B4", "--class", "annual_killifish", "--count", "60")
    jotted(room, "2027-01-05T07:00", "collected", "annuals 9", *new)
    said = _said(room, "2027-01-05T07:01", "journal", "wetted", "annuals 9", "--on", "2027-01-08")
    assert "new: Fri 8 Jan 07:30 put the eggs of annuals 9 in B4 into water" in said
    step = "put the eggs of annuals 9 in B4 into water"
    assert step not in _said(room, "2027-01-06T07:00", "today")
    assert step in _said(room, "2027-01-08T07:00", "today")
    file = room.with_name("phone.ics")
    at(room, "2027-01-06T07:10", "calendar", "--out", str(file))
    unfolded = file.read_text("utf-8").replace("\n ", "")
    assert "Eggs into water: annuals 9" in unfolded
    jotted(room, "2027-01-08T08:00", "wetted", "annuals 9", "50")
    assert step not in _said(room, "2027-01-08T08:01", "today", "--all-day")
    assert step not in _said(room, "2027-01-08T08:01", "plan")


def test_a_spawning_is_spoken_of_on_its_day(room: Path) -> None:
    jotted(room, "2027-01-05T07:00", "planned", "pair 1", "--tank", "A2", "--class",
       "egg_scatterer", "--on", "2027-01-08", "--count", "80")  # fmt: skip
    assert "pair 1 is planned to spawn today" in _said(room, "2027-01-08T07:00", "today", "--why")
    assert "spawn" not in _said(room, "2027-01-07T07:00", "today", "--why")


def test_a_split_made_later_was_not_made_before(room: Path) -> None:
    """A skip that is taken back leaves one box of a label: the one that was noted."""
    told = [t for t in _json(room, "2027-01-05T07:00") if t["what"] == "split"]
    first = told[0]
    day, label = first["at"][:10], first["other"]
    at(room, f"{day}T07:00", "today")
    jotted(room, f"{day}T22:00", "skip", label)
    skip = room.with_name("journal.csv").read_text("utf-8").count("\n")
    later = f"{date.fromisoformat(day) + timedelta(days=2)}T08:00"
    jotted(room, later, "split", first["subject"], label)
    jotted(room, later, "undo", "--line", str(skip))
    rows = at(room, later, "check").output.splitlines()
    mine = next(row for row in rows if row.startswith(f"  {label} "))
    assert " 0 days" in mine
    assert "there was a" not in " ".join(rows)


def _json(room: Path, clock: str) -> list[dict[str, str]]:
    plan = json.loads(at(room, clock, "plan", "--json").stdout)
    found: list[dict[str, str]] = plan["tasks"]
    return found
