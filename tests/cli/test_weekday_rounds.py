"""Rounds of single weekdays: two people who feed in turn get up at different hours."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at, quick_room, room_file

_LATE = '{ wed = ["08:15", "19:00"] }'


def test_today_has_the_round_of_the_weekday(tmp_path: Path) -> None:
    """6 January 2027 is a Wednesday; the days before and after it are fed as all others."""
    room = quick_room(tmp_path, rounds_on=_LATE)
    assert "ROUND 07:30, in 25 min" in at(room, "2027-01-05T07:05", "today").stdout
    assert "ROUND 08:15, in 20 min" in at(room, "2027-01-06T07:55", "today").stdout
    assert "ROUND 19:00, in 20 min" in at(room, "2027-01-06T18:40", "today").stdout
    assert "ROUND 07:30, in 25 min" in at(room, "2027-01-07T07:05", "today").stdout


def test_a_weekday_comes_before_the_weekend(tmp_path: Path) -> None:
    """9 January is a Saturday, the 10th a Sunday."""
    room = quick_room(
        tmp_path, horizon_days="3", rounds_on='{ sat = ["10:00"] }', weekend_rounds='["09:00"]'
    )
    assert "ROUND 10:00, in 20 min" in at(room, "2027-01-09T09:40", "today").stdout
    assert "ROUND 09:00, in 20 min" in at(room, "2027-01-10T08:40", "today").stdout


def test_as_a_table_of_its_own_it_is_read_and_kept_by_an_edit(tmp_path: Path) -> None:
    room = quick_room(tmp_path)
    text = room.read_text("utf-8")
    table = '\n[room.rounds_on]\nwed = ["08:15", "19:00"]\n\n[[tank]]'
    room.write_text(text.replace("\n[[tank]]", table, 1), "utf-8")
    at(room, "2027-01-06T07:50", "change", "room", "fridge_c=4", "--yes")
    assert "ROUND 08:15, in 20 min" in at(room, "2027-01-06T07:55", "today").stdout


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ('{ wensday = ["08:15"] }', "there is no weekday 'wensday'"),
        ('["08:15"]', "must name weekdays, like"),
        ("{}", "must name weekdays, like"),
        ('{ wed = ["08:15", "07:00"] }', "wed: must ascend"),
        ('{ wed = ["04:15"] }', "wed: 04:15 lies outside awake (06:30 to 22:30)"),
        ("{ wed = [] }", "wed must list 1 to 8 feeding times"),
        ('{ wed = ["morning"] }', "'morning' is not a time of day"),
    ],
)
def test_what_is_wrong_is_said_with_the_key(tmp_path: Path, wrong: str, said: str) -> None:
    room = room_file(tmp_path, rounds_on=wrong)
    told = " ".join(at(room, "2027-01-05T07:05", "check", code=2).output.split())
    assert "[room] rounds_on: " in told
    assert said in told
