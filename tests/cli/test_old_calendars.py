"""``today`` says when a written calendar no longer holds, of what, and how to write it again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cultures.record.store import RECORD_NAME
from tests.cli.invented import at, jotted, quick_room, room_file
from tests.cli.rooms import small

_STALE = "The calendar of Tue 5 Jan 06:00 no longer holds; changed since: "


def _said(room: Path, clock: str, *options: str) -> str:
    return " ".join(at(room, clock, "today", *options).stdout.split())


def _write(room: Path, clock: str, *options: str, name: str = "jobs.ics") -> str:
    """Writes a calendar; the words that write it again."""
    out = str(room.with_name(name))
    at(room, clock, "calendar", "--out", out, *options)
    return " ".join(["livefood calendar --out", out, *options])


def _halve(room: Path, clock: str) -> None:
    """Half of the fry of a small room are gone, so every dose from then on is another."""
    jotted(room, clock, "lost", "barbs", "27", "--sure")


def test_a_calendar_holds_while_all_is_done_as_told(tmp_path: Path) -> None:
    room = small(tmp_path)
    _write(room, "2027-01-05T06:00")
    for day in (5, 6, 7):
        assert "no longer holds" not in _said(room, f"2027-01-0{day}T08:00")
        jotted(room, f"2027-01-0{day}T20:00", "done")
        assert "no longer holds" not in _said(room, f"2027-01-0{day}T20:01")


def test_it_no_longer_does_once_the_doses_ahead_are_others_until_it_is_written_again(
    tmp_path: Path,
) -> None:
    room = small(tmp_path)
    again = _write(room, "2027-01-05T06:00")
    _halve(room, "2027-01-07T12:00")
    said = _said(room, "2027-01-07T12:01")
    assert said.index("ROUND 18:30") < said.index("CAN WAIT") < said.index(_STALE)
    # Two rounds a day, the first this evening: those of a week.
    assert f"{_STALE}14 rounds from Thu 18:30 on. Write it again: {again}" in said
    _write(room, "2027-01-07T12:02")
    assert "no longer holds" not in _said(room, "2027-01-07T12:03")


def test_it_is_what_the_newest_file_told_that_counts_and_not_what_a_look_told_since(
    tmp_path: Path,
) -> None:
    room = small(tmp_path)
    _write(room, "2027-01-05T06:00")
    _halve(room, "2027-01-07T12:00")
    for clock in ("2027-01-07T12:01", "2027-01-07T12:02"):  # the phone still rings the old doses
        assert f"{_STALE}14 rounds from Thu 18:30 on" in _said(room, clock)


def test_another_file_takes_its_place_but_for_one_with_less_on_it(tmp_path: Path) -> None:
    room = small(tmp_path)
    _write(room, "2027-01-05T06:00")
    _halve(room, "2027-01-07T12:00")
    _write(room, "2027-01-07T12:02", "--only", "hatches", name="hatches.ics")
    assert _STALE in _said(room, "2027-01-07T12:03")
    _write(room, "2027-01-07T12:04", name="other.ics")
    assert "no longer holds" not in _said(room, "2027-01-07T12:05")


def test_of_some_groups_only_these_count_and_are_written_again(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    _write(room, "2027-01-05T06:00", "--only", "hatches", "--tzid", "--days", "10")
    jotted(room, "2027-01-05T12:00", "lost", "B4", "--all", "--sure")
    changed, _, rest = _said(room, "2027-01-05T12:03").partition(_STALE)[2].partition(". Write ")
    # The jar for one round is another; the doses of all the others are not on it.
    assert changed == "the round of Tue 18:30, set bottle 1"
    words = rest.removeprefix("it again: livefood calendar --out ").split()
    assert words[1:6] == ["--only", "hatches", "--days", "10", "--tzid"]


def test_one_that_looks_further_ahead_than_today_is_held_against_what_is_planned(
    tmp_path: Path,
) -> None:
    room = small(tmp_path)
    _write(room, "2027-01-05T06:00", "--days", "21")
    assert "no longer holds" not in _said(room, "2027-01-06T08:00", "--days", "3")
    assert "no longer holds" not in _said(room, "2027-01-06T08:00")


def test_nothing_is_said_of_one_that_was_deleted_with_its_notes(tmp_path: Path) -> None:
    room = small(tmp_path)
    _write(room, "2027-01-05T06:00")
    _halve(room, "2027-01-07T12:00")
    (tmp_path / "jobs.ics").unlink()  # it may have been moved to the phone
    assert _STALE in _said(room, "2027-01-07T12:01")
    (tmp_path / ".jobs.ics.livefood").unlink()
    assert "no longer holds" not in _said(room, "2027-01-07T12:02")


def test_a_room_is_moved_with_its_calendar(tmp_path: Path) -> None:
    (tmp_path / "here").mkdir()
    room = small(tmp_path / "here")
    _write(room, "2027-01-05T06:00")
    _halve(room, "2027-01-07T12:00")
    (tmp_path / "here").rename(tmp_path / "there")
    assert _STALE in _said(tmp_path / "there" / room.name, "2027-01-07T12:01")


def test_of_a_round_that_a_helper_feeds_the_helpers_sheet_says_it(tmp_path: Path) -> None:
    text = small(tmp_path).read_text("utf-8")
    room = tmp_path / "room.toml"
    away = "[[away]]\nfrom = 2027-01-07\nto = 2027-01-20\nhelper = true\n"
    room.write_text(f"{text}{away}", "utf-8")
    out = str(tmp_path / "helper.html")
    at(room, "2027-01-05T06:00", "sheet", "--helper", "--out", out)
    _write(room, "2027-01-05T06:00")
    _halve(room, "2027-01-06T20:00")
    said = _said(room, "2027-01-06T20:01")
    assert "The helper's sheet of Tue 5 Jan 06:00 no longer holds" in said
    assert _STALE not in said


def test_looking_writes_no_mark_and_neither_does_a_calendar_at_another_time(tmp_path: Path) -> None:
    room = small(tmp_path)
    _write(room, "2027-01-05T06:00")
    marks = [
        json.loads(line) for line in room.with_name(RECORD_NAME).read_text("utf-8").splitlines()
    ]
    assert [line["printed"] for line in marks] == [["2027-01-05", "2027-01-18"]]
    before = room.with_name(RECORD_NAME).read_bytes()
    _write(room, "2027-01-05T06:30")  # of the same plan: a timetable may do it all day long
    assert room.with_name(RECORD_NAME).read_bytes() == before
    at(room, "2027-01-05T06:01", "calendar", "--out", str(tmp_path / "x.ics"), "--now",
       "2027-01-06T08:00")  # fmt: skip
    assert room.with_name(RECORD_NAME).read_bytes() == before


def test_what_changes_later_than_in_a_week_is_not_said_yet(tmp_path: Path) -> None:
    """Cysts that come now are set once those that stand there are used up: in two weeks."""
    room = room_file(tmp_path)
    _write(room, "2027-01-05T06:00")
    jotted(room, "2027-01-06T09:00", "bought", "cysts", "100")
    assert "no longer holds" not in _said(room, "2027-01-06T12:00")
    assert _STALE in _said(room, "2027-01-13T06:00")


@pytest.mark.parametrize("clock", ["06:59", "07:00", "07:20"])
def test_a_round_whose_first_step_is_past_is_told_by_a_calendar_too(
    tmp_path: Path, clock: str
) -> None:
    """It stands on it: a bottle is drawn off at seven for the round of half past."""
    room, out = quick_room(tmp_path, horizon_days="7"), tmp_path / "jobs.ics"
    _write(room, f"2027-01-05T{clock}")
    assert "DTSTART:20270105T073000Z" in out.read_text("utf-8")
    record = room.with_name(RECORD_NAME)
    told = [t["id"] for line in record.read_text("utf-8").splitlines()
            for t in json.loads(line)["told"]]  # fmt: skip
    assert {"harvest_hatch/2027-01-05T07:30/1", "feed/2027-01-05T07:30"} <= {*told}
    assert len(told) == len({*told})
    before = record.read_bytes()
    _write(room, f"2027-01-05T{clock}")
    assert record.read_bytes() == before
    assert "feed the 07:30 round" in _said(room, "2027-01-05T12:00").partition("TAKEN AS DONE")[2]
