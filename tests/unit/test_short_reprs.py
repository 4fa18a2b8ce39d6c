"""What a failed test prints of a plan is a few lines: its long tables are left out."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from attrs import fields

from cli.commands.demo_room import demo_text
from cultures.journal.entries import Entry, Journal
from cultures.planning.brood_trials import Standing
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.trials import Trials
from cultures.room.file import read_room
from cultures.room.room import Room

_TODAY = date(2027, 1, 5)
_HOPED = """
[[brood]]
name = "hoped"
tank = "A2"
class = "egg_scatterer"
count = 200
planned = 2027-01-12
"""
#: Of a table of hundreds of rounds each takes more than that.
_MOST = 2000


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(demo_text(_TODAY) + _HOPED, today=_TODAY)


@pytest.fixture(scope="module")
def outlook(room: Room) -> Outlook:
    return make_outlook(room, now=datetime(2027, 1, 5, 7, tzinfo=room.timezone), days=7)


def _long(of: object) -> list[str]:
    """The fields of something that are printed and long by themselves."""
    shown = [a.name for a in fields(type(of)) if a.repr]  # type: ignore[arg-type]
    return [name for name in shown if len(repr(getattr(of, name))) > _MOST]


def test_no_long_table_is_printed_of_a_plan(outlook: Outlook) -> None:
    """But for rounds, servings and cultures, which are what it is about."""
    assert set(_long(outlook)) <= {"room", "feedings"}
    feeding, hopes = outlook.feeding, outlook.hopes
    assert set(_long(feeding)) <= {"feedings", "servings", "worms", "hatches"}
    assert set(_long(feeding.hatches)) <= {"batches", "portions", "given_j", "short_j"}
    assert hopes is not None
    assert set(_long(hopes)) <= {"courses", "cultures"}
    for plan in feeding.worms.values():
        assert set(_long(plan)) <= {"kind", "stages", "splits", "course"}
        assert set(_long(plan.course)) <= {"harvests", "short_mg", "usable", "spare_mg"}
        for stage in plan.stages:
            assert set(_long(stage)) <= {"culture", "model"}


def test_no_long_table_is_printed_of_a_room_that_broods_are_tried_in(outlook: Outlook) -> None:
    standing = Standing.of(outlook.room, outlook.now, outlook.until)
    assert set(_long(standing)) <= {"room", "feedings"}
    assert set(_long(Trials.of(outlook))) <= {"theatre", "scenes"}


def test_no_entries_are_printed_of_a_journal() -> None:
    """Of hundreds of lines that are right none is what a failed test is about."""
    entry = Entry(datetime(2027, 1, 5, 7, tzinfo=UTC), "count", "one", "", 40.0, "fry")
    assert _long(Journal(Path("room.csv"), (entry,) * 200)) == []
