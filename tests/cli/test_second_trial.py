"""What a second fortnight found, each by the command that showed it."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import main
from tests.cli.invented import at, room_file


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    return room_file(tmp_path, horizon_days="10")


def test_in_the_place_of_what_was_ticked_off_already(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    at(room, "2027-01-05T07:40", "journal", "done")
    words = ("journal", "harvest", "MW-2", "4", "swipes", "--instead-of", "MW-1")
    said = " ".join(at(room, "2027-01-05T07:45", *words, code=2).output.split())
    assert "what was told of MW-1 is noted already" in said
    line = said.partition("journal undo --line ")[2].split()[0]
    at(room, "2027-01-05T07:46", "journal", "undo", "--line", line)
    at(room, "2027-01-05T07:47", *words)
    nothing = at(room, "2027-01-05T13:00", *words, code=2).output
    assert "nothing of MW-1 was told for this time" in " ".join(nothing.split())


def test_a_spawning_whose_day_is_over_was_to_be(room: Path) -> None:
    at(room, "2027-01-05T07:00", "journal", "planned", "pair 1", "--tank", "A2", "--class",
       "egg_scatterer", "--on", "2027-01-08", "--count", "80")  # fmt: skip
    assert "to spawn on Fri 8 Jan" in at(room, "2027-01-06T07:00", "check").output
    late = " ".join(at(room, "2027-01-10T07:00", "check").output.split())
    assert "was to spawn on Fri 8 Jan; if it did, note 'journal spawn pair 1'" in late


@pytest.mark.parametrize("name", ["grindal worm", "Grindal_Worm", "egg scatterer"])
def test_a_kind_is_known_by_the_name_that_screens_write(name: str) -> None:
    assert CliRunner().invoke(main, ["kinds", name]).exit_code == 0


def test_a_lost_record_says_what_is_to_be_weighed(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    at(room, "2027-01-05T07:40", "journal", "done")
    room.with_name("told.jsonl").unlink()
    said = " ".join(at(room, "2027-01-05T12:00", "today", "--why").output.split())
    assert "Note hatches that stand, and weigh cysts, salt and dry food" in said
