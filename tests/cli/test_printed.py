"""``today`` says when a printed sheet no longer holds, of what, and how to print it again."""

from __future__ import annotations

import json
from pathlib import Path

from cultures.record.store import RECORD_NAME
from tests.cli.invented import at, jotted, quick_room, room_file, run
from tests.cli.rooms import small

_STALE = "no longer holds; changed since: "


def _said(room: Path, clock: str, *options: str) -> str:
    return " ".join(at(room, clock, "today", *options).stdout.split())


def _print(room: Path, clock: str, *options: str) -> None:
    out = room.with_name("sheet.html")
    at(room, clock, "sheet", "--out", str(out), *options)


def test_a_sheet_holds_while_the_plan_does_and_until_its_last_day(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10")
    _print(room, "2027-01-05T06:00")
    assert _STALE not in _said(room, "2027-01-05T07:00")
    jotted(room, "2027-01-05T07:40", "failed", "bottle 1", "--sure")
    assert _STALE in _said(room, "2027-01-05T08:00")
    assert _STALE not in _said(room, "2027-01-06T06:00")  # it was for the day before alone


def test_what_changed_is_named_and_a_new_sheet_holds(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10")
    _print(room, "2027-01-05T06:00", "--week")
    jotted(room, "2027-01-05T07:40", "failed", "bottle 1", "--sure")
    said = _said(room, "2027-01-05T08:00")
    assert "The sheet of Tue 5 Jan 06:00 no longer holds; changed since:" in said
    changed = said.partition(_STALE)[2].partition(". Print it again: ")
    assert "Tue 18:30" in changed[0]  # no nauplii in that round now
    assert changed[2].startswith("livefood sheet --week --out sheet.html ")
    _print(room, "2027-01-05T08:01", "--week")
    assert _STALE not in _said(room, "2027-01-05T08:02")


def test_a_sheet_of_the_day_leaves_the_one_of_the_week_on_the_wall(tmp_path: Path) -> None:
    room = room_file(tmp_path, horizon_days="10")
    _print(room, "2027-01-05T06:00", "--week")
    _print(room, "2027-01-06T06:00")
    jotted(room, "2027-01-06T07:40", "failed", "bottle 1", "--sure")
    said = _said(room, "2027-01-06T08:00")
    assert "The sheet of Tue 5 Jan 06:00 no longer holds" in said
    assert "The sheet of Wed 6 Jan" not in said  # of this day nothing is changed
    _print(room, "2027-01-06T08:01", "--week")
    assert _STALE not in _said(room, "2027-01-06T08:02")


def test_what_was_done_is_no_change_and_neither_is_what_nobody_feels(tmp_path: Path) -> None:
    room = small(tmp_path)
    _print(room, "2027-01-05T06:00", "--week")
    for day in (5, 6, 7):
        jotted(room, f"2027-01-0{day}T20:00", "done")
        assert _STALE not in _said(room, f"2027-01-0{day}T20:01")


def test_a_helpers_sheet_is_one_of_its_own(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10")
    away = ("--helper", "--from", "2027-01-06", "--to", "2027-01-08")
    _print(room, "2027-01-05T06:00", *away)
    assert "The helper's sheet" not in _said(room, "2027-01-05T07:00")  # though no file knows of it
    jotted(room, "2027-01-05T07:10", "lost", "B4", "--all")
    said = _said(room, "2027-01-05T07:20")
    assert "The helper's sheet of Tue 5 Jan 06:00" in said
    again = "livefood sheet --helper --from 2027-01-06 --to 2027-01-08 --out helper.html"
    assert again in said


def test_the_record_knows_of_the_sheet_and_looking_records_nothing(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10")
    out = room.with_name("sheet.html")
    run(room, "sheet", "--out", str(out))
    record = room.with_name(RECORD_NAME)
    assert not record.exists()
    _print(room, "2027-01-05T06:00", "--week")
    lines = [json.loads(line) for line in record.read_text("utf-8").splitlines()]
    assert [line["printed"] for line in lines] == [["2027-01-05", "2027-01-11"]]
    _print(room, "2027-01-05T06:01", "--week")  # nothing new is told, and it is printed even so
    assert len(record.read_text("utf-8").splitlines()) == 2
    with record.open("a", encoding="utf-8") as file:
        file.write('{"at": "2027-01-05T06:02:00+00:00", "by": "sheet", "printed": ["soon"]}\n')
    assert _STALE not in _said(room, "2027-01-05T07:00")


def _away(room: Path, clock: str, *days: str) -> None:
    jotted(room, clock, "away", *days, "--helper", "--food", "microworm")
    _print(room, clock, "--helper")


def test_of_the_first_day_away_the_keepers_rounds_are_none_of_the_helpers(tmp_path: Path) -> None:
    """The helper comes from Saturday evening on; that morning the keeper harvests and feeds."""
    room = quick_room(tmp_path, horizon_days="10")
    _away(room, "2027-01-05T06:00", "2027-01-09", "18:30", "to", "2027-01-10")
    assert _STALE not in _said(room, "2027-01-05T06:01")


def test_a_helpers_sheet_of_an_absence_that_is_taken_back_is_thrown_away(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10")
    _away(room, "2027-01-05T06:00", "2027-01-09", "to", "2027-01-10")
    jotted(room, "2027-01-05T06:02", "undo")
    said = _said(room, "2027-01-05T06:03")
    assert (
        "The helper's sheet of Tue 5 Jan 06:00 is for days on which nobody is away any more:"
        " throw it away." in said
    )
    assert "sheet --helper" not in said
    # It is said on the day of that, and no more once another was made, for fewer days.
    assert "throw it away" not in _said(room, "2027-01-06T06:00")
    _away(room, "2027-01-05T06:04", "2027-01-07", "to", "2027-01-08")
    said = _said(room, "2027-01-05T06:05")
    assert "throw it away" not in said
    assert _STALE not in said
