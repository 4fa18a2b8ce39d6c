"""A temperature edited by hand in the room file: it is that of as_of, and that is said once."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at, run, run_json
from tests.cli.rooms import small

_NOW = "2027-01-12T12:00"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = small(tmp_path)
    at(path, "2027-01-12T08:00", "today")
    return path


def _edit(room: Path, before: str, after: str) -> None:
    text = room.read_text("utf-8")
    assert before in text
    room.write_text(text.replace(before, after), "utf-8")


def _length_mm(room: Path) -> float:
    (brood,) = run_json(room, "check", now=_NOW)["broods"]
    length: float = brood["length_mm"]
    return length


def test_what_it_makes_of_the_past_is_said_with_what_to_note(room: Path) -> None:
    was = _length_mm(room)
    _edit(room, "temperature_c = 26", "temperature_c = 22")
    said = " ".join(run(room, "check", now=_NOW).output.split())
    assert "A1 is reckoned at 22 °C since Mon 4 Jan, no longer at 26 °C" in said
    assert "put 26 °C back and note: livefood journal temperature A1 22 °C" in said
    assert "A1 is reckoned at 22 °C since Mon 4 Jan" in run(room, "today", now=_NOW).output
    assert _length_mm(room) < was
    _edit(room, "temperature_c = 22", "temperature_c = 26")  # as it says
    at(room, _NOW, "journal", "temperature", "A1", "22", "°C")
    assert _length_mm(room) == pytest.approx(was)


def test_it_is_said_until_it_is_told_from(room: Path) -> None:
    _edit(room, "temperature_c = 24", "temperature_c = 21")
    assert "The room is reckoned at 21 °C" in at(room, "2027-01-13T06:00", "today").output
    assert "is reckoned at" not in at(room, "2027-01-13T06:10", "today").output


def test_nothing_is_said_where_as_of_moves_on(room: Path) -> None:
    _edit(room, "temperature_c = 26", "temperature_c = 22")
    _edit(room, "as_of = 2027-01-04", "as_of = 2027-01-12")
    assert "is reckoned at" not in run(room, "check", now=_NOW).output
