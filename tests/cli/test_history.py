"""``livefood history``: an edit of the room file is seen, and taken back."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from cultures import files
from cultures.errors import FileProblemError
from cultures.record.history import history_path, read_history
from tests.cli.invented import at, jotted, room_of


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path, horizon_days="2")


def _note(room: Path, clock: str) -> None:
    jotted(room, clock, "note", "MW-1", "hello")


def test_an_edit_is_listed_shown_and_taken_back(room: Path) -> None:
    first = room.read_bytes()
    assert "Nothing was told or noted" in at(room, "2027-01-05T07:00", "history").stdout
    _note(room, "2027-01-05T07:00")
    _note(room, "2027-01-05T07:01")
    second = first.replace(b"count = 180", b"count = 18")
    room.write_bytes(second)
    at(room, "2027-01-05T07:02", "need", "--days", "1")  # which only looks
    assert len(read_history(room)) == 1
    at(room, "2027-01-06T07:00", "today")
    listed = at(room, "2027-01-06T07:01", "history").stdout.splitlines()
    assert [line.split() for line in listed] == [
        ["1", "from", "Tue", "5", "Jan", "2027", "07:00", "on", "the", "first"],
        [
            "2",
            "from",
            "Wed",
            "6",
            "Jan",
            "2027",
            "07:00",
            "on",
            "2",
            "lines",
            "other",
            "than",
            "in",
            "1",
        ],
    ]
    shown = at(room, "2027-01-06T07:01", "history", "1").stdout
    assert "-count = 180\n+count = 18\n" in shown
    room.write_bytes(second + b"# and no more\n")
    said = at(room, "2027-01-06T07:02", "history", "1", "--restore").stdout
    assert "again as it was from Tue 5 Jan 2027 07:00 on" in said
    assert room.read_bytes() == first
    assert [v.text.encode() for v in read_history(room)] == [
        first,
        second,
        second + b"# and no more\n",
    ]
    assert "is as it was then" in at(room, "2027-01-06T07:03", "history", "1").stdout


def test_a_file_that_cannot_be_read_any_more_is_put_back(room: Path) -> None:
    first = room.read_bytes()
    _note(room, "2027-01-05T07:00")
    room.write_bytes(b"[room\xff")
    at(room, "2027-01-05T08:00", "check", code=2)
    at(room, "2027-01-05T08:00", "history", "1", "--restore")
    assert room.read_bytes() == first
    at(room, "2027-01-05T08:00", "history", "2", "--restore")
    assert room.read_bytes() == b"[room\xff"


def test_a_mistake_in_the_file_says_how_to_see_the_edit_and_to_take_it_back(room: Path) -> None:
    first = room.read_text("utf-8")
    room.write_text(first.replace("litres", "liters", 1), "utf-8")
    wrong = at(room, "2027-01-05T06:00", "check", code=2).stderr
    assert "livefood history" not in wrong  # nothing was told from it yet
    room.write_text(first, "utf-8")
    _note(room, "2027-01-05T07:00")
    room.write_text(first.replace("litres", "liters", 1), "utf-8")
    wrong = " ".join(at(room, "2027-01-05T08:00", "today", code=2).stderr.split())
    assert "liters" in wrong
    shows, restores = re.findall(r"livefood (history 1[^;]*?) --room \S+", wrong)
    seen = at(room, "2027-01-05T08:00", *shows.split()).stdout
    assert "-litres" in seen
    assert "+liters" in seen
    at(room, "2027-01-05T08:01", *restores.split())
    assert room.read_text("utf-8") == first


def test_what_is_not_there_changes_nothing(room: Path) -> None:
    before = room.read_bytes()
    _note(room, "2027-01-05T07:00")
    assert "Known: 1." in at(room, "2027-01-05T08:00", "history", "2", "--restore", code=2).stderr
    at(room, "2027-01-05T08:00", "history", "--restore", code=2)
    assert room.read_bytes() == before


def test_a_history_that_cannot_be_written_stops_no_note_and_every_restoring(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _note(room, "2027-01-05T07:00")
    room.write_bytes(room.read_bytes() + b"# more\n")
    edited, append = room.read_bytes(), files.append

    def refuse(path: Path, *more: Any, **named: Any) -> bytes:
        if path == history_path(room):
            raise FileProblemError("full")
        return append(path, *more, **named)

    monkeypatch.setattr(files, "append", refuse)
    _note(room, "2027-01-05T07:01")
    result = at(room, "2027-01-05T08:00", "history", "1", "--restore", code=2)
    assert "was left as it is" in result.stderr
    assert room.read_bytes() == edited


def test_a_history_goes_into_the_backup(room: Path, tmp_path: Path) -> None:
    _note(room, "2027-01-05T07:00")
    at(room, "2027-01-05T08:00", "backup", str(tmp_path / "kept.zip"))
    listed = at(room, "2027-01-05T08:00", "backup", str(tmp_path / "kept.zip"), "--check").stdout
    assert history_path(room).name in listed
