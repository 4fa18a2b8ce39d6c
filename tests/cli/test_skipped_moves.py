"""To move a crowded brood is skipped by its brood or its tank, whenever it is asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at, jotted

_ROOM = """\
[room]
name = "Narrow"
timezone = "UTC"
as_of = 2027-03-02
temperature_c = 24
rounds = ["07:30", "18:30"]

[[tank]]
name = "A"
litres = 10
temperature_c = 26

[[brood]]
name = "old"
tank = "A"
class = "bubble_nest"
count = 200
free_swimming = 2027-01-20

[[tank]]
name = "B"
litres = 60
temperature_c = 26
"""


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    at(path, "2027-03-02T07:00", "today")
    jotted(path, "2027-03-02T07:40", "done")
    return path


def _asked(room: Path, clock: str) -> bool:
    return "move old in A to a larger tank" in at(room, f"2027-03-{clock}", "today").stdout


@pytest.mark.parametrize("name", ["old", "A"])
@pytest.mark.parametrize("clock", ["02T08:05", "02T18:12", "02T20:00"])
def test_a_move_is_skipped_by_brood_or_tank_at_any_time(room: Path, name: str, clock: str) -> None:
    """Half an hour after its round, before the next one, and when it is told for tomorrow.

    Not what else is asked for of the brood. In the evening the tank is noted as fed first.
    """
    assert _asked(room, "02T07:50")
    if clock > "02T12":
        assert _asked(room, "02T18:05")
        jotted(room, "2027-03-02T18:10", "fed", "A")
    if clock > "02T19":
        assert _asked(room, "02T19:30")
    said = at(room, f"2027-03-{clock}", "journal", "skip", name).stdout
    assert "skip old, its move" in said
    assert said.count("skip old") == 1
    assert "its feeding" not in said
    for later in ("02T21:00", "03T07:00", "09T07:00", "15T07:00"):
        assert not _asked(room, later), later
    assert _asked(room, "16T07:00")


def test_a_tank_that_is_to_be_fed_still_is_skipped_as_such(room: Path) -> None:
    at(room, "2027-03-02T18:20", "today")
    said = at(room, "2027-03-02T18:40", "journal", "skip", "A").stdout
    assert "skip A, its feeding" in said
    assert _asked(room, "03T07:00")
    # And at a time that is named it is the feeding, noted or not.
    jotted(room, "2027-03-03T07:40", "done")
    said = at(room, "2027-03-03T09:00", "journal", "skip", "A", "--at", "07:30").stdout
    assert "skip A, its feeding" in said
