"""What two people note of one thing, each by an own telephone, and what is noted late."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from cultures.record.store import append_telling, record_path
from tests.cli.invented import at, jotted, room_file
from tests.unit.recorded import told_task

NOW = "2027-01-05T07:00"


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    return room_file(tmp_path, horizon_days="3")


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, "journal", *words, code=code).output.split())


def _counted(room: Path) -> None:
    """55 fry on the evening of 5 January, of which 24 were found dead on the 6th."""
    jotted(room, "2027-01-05T19:00", "count", "acara 5", "55", "--sure")
    jotted(room, "2027-01-06T18:00", "died", "acara 5", "24")


def test_a_count_that_later_deaths_do_not_fit_is_refused(room: Path) -> None:
    """47 of the evening before, less 24 and 24: none would be left of a brood that lives."""
    _counted(room)
    jotted(room, "2027-01-06T18:20", "died", "acara 5", "24", "--sure")
    late = ("count", "acara 5", "47", "--at", "yesterday 20:00")
    refused = _said(room, "2027-01-06T21:00", *late, code=2)
    assert "none of acara 5 would be left" in refused
    assert "line 3 (died 24 on Wed 6 Jan 18:00)" in refused
    assert "line 4 (died 24 on Wed 6 Jan 18:20)" in refused
    assert "journal undo --line 4" in refused
    jotted(room, "2027-01-06T21:01", "undo", "--line", "4")
    noted = _said(room, "2027-01-06T21:02", *late)
    assert "count acara 5 47 fry" in noted


def test_a_late_loss_that_later_ones_do_not_fit_is_refused(room: Path) -> None:
    """Of 55 fry 24 are dead by the 6th: 31 or more the evening before leave none of them."""
    _counted(room)
    late = ("lost", "acara 5", "33", "--at", "yesterday 20:00")
    refused = _said(room, "2027-01-06T21:00", *late, code=2)
    assert "line 3 (died 24 on Wed 6 Jan 18:00) would take them all" in refused
    assert "if it is the mistake: journal undo --line 3" in refused


def test_the_same_deaths_told_twice_are_asked_back(room: Path) -> None:
    """Two hours apart they may be the same; the next round's are others."""
    _counted(room)
    few = ("died", "acara 5", "3", "--at")
    jotted(room, "2027-01-06T21:00", *few, "18:30")
    again = _said(room, "2027-01-06T21:00", *few, "20:30", code=2)
    assert "line 4 says the same, and a second time would count twice" in again
    jotted(room, "2027-01-07T07:30", *few, "07:15")


def test_a_loss_says_how_many_are_left_and_asks_where_nearly_none_are(room: Path) -> None:
    """49 less 20 are 29; 27 of those leave 2, less than a tenth; 26 leave 3, more than that."""
    jotted(room, "2027-01-05T19:00", "count", "acara 5", "49", "--sure")
    lines = at(room, "2027-01-05T19:10", "journal", "sold", "acara 5", "20").output.splitlines()
    assert lines[1].strip() == "About 29 of acara 5 are left."
    for event in ("died", "sold", "lost"):
        refused = _said(room, "2027-01-05T19:20", event, "acara 5", "27", code=2)
        assert "would leave about 2" in refused
        assert f"if all of them are gone: journal {event} 'acara 5' --all" in refused
    said = _said(room, "2027-01-05T19:20", "died", "acara 5", "26")
    assert "About 3 of acara 5 are left." in said
    jotted(room, "2027-01-05T19:25", "died", "acara 5", "3")  # of so few each may be the last


def test_a_failure_told_again_does_not_strike_the_next_hatch(room: Path) -> None:
    """Set anew after it failed, a bottle is not ripe by the evening: cysts take a day."""
    jotted(room, "2027-01-05T07:00", "set", "bottle 2", "1 g")
    jotted(room, "2027-01-06T07:30", "failed", "bottle 2", "--at", "07:10")
    jotted(room, "2027-01-06T07:45", "set", "bottle 2", "0.6 g", "--at", "07:40")
    refused = _said(room, "2027-01-06T21:00", "failed", "bottle 2", code=2)
    assert "bottle 2 was set on Wed 6 Jan 07:40 and cannot be ripe yet" in refused
    assert "that it failed is noted already (line 3, of a hatch before" in refused
    assert "add --sure" in refused
    jotted(room, "2027-01-06T21:01", "failed", "bottle 2", "--sure")


def test_a_hatch_that_fails_late_or_first_is_not_asked_about(room: Path) -> None:
    jotted(room, "2027-01-05T07:00", "set", "bottle 2", "1 g")
    jotted(room, "2027-01-05T20:00", "failed", "bottle 2")
    jotted(room, "2027-01-05T20:10", "set", "bottle 2", "1 g")
    jotted(room, "2027-01-07T08:00", "failed", "bottle 2")


def test_a_line_of_a_clock_that_is_fast_is_named_and_not_noted_again(room: Path) -> None:
    """One telephone shows an hour more: what it notes counts, and shows, an hour later."""
    jotted(room, "2027-01-05T09:10", "set", "bottle 2", "0.5 g")
    again = _said(room, "2027-01-05T08:15", "set", "bottle 2", "0.5 g", code=2)
    assert "it is noted already: line 2 (set bottle 2) for Tue 5 Jan 09:10" in again
    assert "which is to come" in again
    today = " ".join(at(room, "2027-01-05T08:16", "today").output.split())
    shown = _said(room, "2027-01-05T08:16", "show")
    for said in (today, shown):
        assert said.count("line 2 (set bottle 2) for Tue 5 Jan 09:10, which is to come") == 1
        assert "livefood journal undo --line 2, or wait" in said
    assert "which is to come" not in _said(room, "2027-01-05T09:09", "show")
    jotted(room, "2027-01-05T08:17", "set", "bottle 2", "0.7 g")  # which says something else


def test_a_bottle_s_name_skips_no_harvest_where_its_setting_may_be_meant(room: Path) -> None:
    """Both are told for one round: who sets none may have drawn off the last one."""
    moment = datetime.fromisoformat("2027-01-05T07:30:00+00:00")
    told = [
        told_task("harvest_hatch", moment, "bottle 1", {"nauplii": 1000.0}),
        told_task("set_hatch", moment, "bottle 1", {"cysts_g": 0.6}),
    ]
    append_telling(record_path(room), moment.replace(hour=6), "today", told)
    refused = _said(room, "2027-01-05T07:31", "skip", "bottle 1", code=2)
    assert "more than one task of bottle 1 was told; say which, or each" in refused
    assert "livefood journal skip 1 (harvest bottle 1" in refused
    assert "livefood journal skip 2 (set bottle 1" in refused
    noted = _said(room, "2027-01-05T07:32", "skip", "2")
    assert "skip bottle 1, its setting" in noted
    assert "its harvest" not in noted
