"""Exporting again changes nothing: a plan put up is a fixed point of its own telling."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cli.invented import at as command_at
from tests.examples import examples
from tests.strategies import RoomCase, room_cases

#: Before the first round, between rounds, at one, and at night.
CLOCKS = ("05:40", "11:15", "18:30", "23:10")


def export(room: Path, clock: str) -> dict[str, int]:
    done = command_at(room, clock, "calendar", "--out", str(room.with_name("a.ics")), "--json")
    return dict(json.loads(done.stdout))


@settings(derandomize=True, database=None, deadline=None, max_examples=examples(6, 75))
@given(
    case=room_cases(longest_days=examples(5, 6), most_broods=examples(2, 3)),
    clock=st.sampled_from(CLOCKS),
)
def test_exports_of_one_moment_change_nothing(case: RoomCase, clock: str) -> None:
    with TemporaryDirectory() as folder:
        room = Path(folder) / "room.toml"
        room.write_text(case.text, "utf-8")
        moment = f"{case.today + timedelta(days=1)}T{clock}"
        export(room, moment)
        files = {path.name: path.read_bytes() for path in room.parent.iterdir()}
        again = export(room, moment)
        assert (again["added"], again["changed"], again["withdrawn"]) == (0, 0, 0)
        # A third export finds what the second found, to the byte, and so does the same.
        assert {path.name: path.read_bytes() for path in room.parent.iterdir()} == files


@pytest.mark.parametrize("clock", CLOCKS)
def test_a_room_of_every_day(clock: str, tmp_path: Path) -> None:
    from tests.calendars.plans import ROOM

    room = tmp_path / "room.toml"
    room.write_text(ROOM)
    for day in (5, 6, 7):
        export(room, f"2027-01-0{day}T{clock}")
        again = export(room, f"2027-01-0{day}T{clock}")
        assert (again["added"], again["changed"], again["withdrawn"]) == (0, 0, 0)


def test_a_quiet_day_is_one_file(tmp_path: Path) -> None:
    """Nobody notes anything: rounds come and go, and the file stays as it is to the byte."""
    from tests.calendars.plans import ROOM

    room = tmp_path / "room.toml"
    room.write_text(ROOM)
    export(room, "2027-01-06T06:10")
    data = room.with_name("a.ics").read_bytes()
    for clock in ("07:45", "12:05", "18:20", "19:30", "22:30"):
        export(room, f"2027-01-06T{clock}")
        assert room.with_name("a.ics").read_bytes() == data


@settings(derandomize=True, database=None, deadline=None, max_examples=examples(3, 75))
@given(case=room_cases(longest_days=4, most_broods=2))
def test_nothing_changed_is_the_same_file(case: RoomCase) -> None:
    with TemporaryDirectory() as folder:
        room = Path(folder) / "room.toml"
        room.write_text(case.text, "utf-8")
        data = b""
        for clock in CLOCKS[1:3]:
            done = export(room, f"{case.today + timedelta(days=1)}T{clock}")
            before, data = data, room.with_name("a.ics").read_bytes()
            if (done["added"], done["changed"], done["withdrawn"]) == (0, 0, 0):
                assert data == before
