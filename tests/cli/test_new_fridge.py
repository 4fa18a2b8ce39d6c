"""A fridge that comes into the room file, or goes out of it, counts from then on."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import pytest

from cultures.record.present import present_of
from cultures.room.file import load_room
from tests.cli.invented import at, jotted, quick_room

_FRIDGE = r"(?m)^fridge_c.*\n"


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    """A room without a fridge at 24 °C; a bottle is drawn off on Tuesday at seven."""
    path = quick_room(tmp_path, horizon_days="2")
    text = re.sub(_FRIDGE, "", path.read_text("utf-8"))
    path.write_text(
        re.sub(r"(?m)^temperature_c = .*", "temperature_c = 24", text, count=1), "utf-8"
    )
    jotted(path, "2027-01-05T07:00", "hatched", "bottle 1", "900000", "--sure")
    return path


def _held(room: Path, clock: str) -> int:
    """How many harvests can still be fed."""
    now = datetime.fromisoformat(f"{clock}+00:00")
    stated = load_room(room, today=now.date(), now=now)
    return len(present_of(stated, room, now).room.held)


def _with_fridge(room: Path, clock: str) -> None:
    at(room, clock, "change", "room", "fridge=5", "--yes")


def test_a_fridge_brings_nothing_back_to_life(room: Path) -> None:
    """What stood warm for 29 h is dead, though a fridge keeps nauplii for 48 h."""
    jotted(room, "2027-01-06T12:00", "note", "room", "hot")
    assert _held(room, "2027-01-06T12:00") == 0
    _with_fridge(room, "2027-01-06T12:00")
    assert _held(room, "2027-01-06T12:00") == 0
    jotted(room, "2027-01-06T12:01", "note", "room", "cold at last")
    assert _held(room, "2027-01-06T12:02") == 0


def test_a_fridge_keeps_what_comes_into_it_fresh(room: Path) -> None:
    """After an hour in the warmth, most of two days are left; the word of it may come later."""
    assert _held(room, "2027-01-06T12:00") == 0
    _with_fridge(room, "2027-01-05T08:00")
    jotted(room, "2027-01-05T08:00", "note", "room", "cold at last")
    assert _held(room, "2027-01-06T12:00") == 1
    room.write_text(re.sub(_FRIDGE, "", room.read_text("utf-8")), "utf-8")
    assert _held(room, "2027-01-06T12:00") == 1  # it broke down just now
    jotted(room, "2027-01-06T12:00", "note", "room", "the fridge broke down")
    assert _held(room, "2027-01-06T19:00") == 0


def test_a_fridge_that_was_there_from_the_first_counts_from_then(room: Path) -> None:
    """The history begins with what the file said first; no version before it is made up."""
    text = room.read_text("utf-8").replace("[room]\n", "[room]\nfridge_c = 5\n", 1)
    history = room.with_name(".room.toml.history.livefood")
    history.unlink()
    room.write_text(text, "utf-8")
    assert _held(room, "2027-01-06T12:00") == 1
    jotted(room, "2027-01-06T12:00", "note", "room", "cold")
    assert _held(room, "2027-01-06T12:01") == 1
    history.write_text('{"at": "once", "text": "fridge_c"}\n' + history.read_text("utf-8"), "utf-8")
    assert _held(room, "2027-01-06T12:01") == 1


def test_the_jar_in_hand_is_to_be_put_into_a_fridge_that_comes(room: Path) -> None:
    """It was told to stand at room temperature, and is reckoned to keep in the cold from then on;
    of a jar that is drawn off later its own step says where it goes.
    """
    at(room, "2027-01-05T07:30", "today")
    before = " ".join(at(room, "2027-01-05T18:10", "today").stdout.split())
    assert "in the jar of Tue 07:00, keeps until" in before
    _with_fridge(room, "2027-01-05T18:12")
    after = " ".join(at(room, "2027-01-05T18:15", "today").stdout.split())
    assert "in the jar of Tue 07:00: put it in the fridge, where it keeps until" in after
    jotted(room, "2027-01-06T07:00", "hatched", "bottle 2", "900000", "--sure")
    later = " ".join(at(room, "2027-01-06T18:10", "today").stdout.split())
    assert "in the jar of Wed 07:00, keeps until" in later
