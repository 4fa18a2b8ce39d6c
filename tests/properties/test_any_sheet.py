"""Any room makes a sheet that holds together, with each task in one box."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cli.options import Setting, UsageProblemError
from cli.screens.care import practice
from cli.screens.shown import this_round
from cli.screens.today import screen
from cli.sheet.helper import helper_sheet
from cli.sheet.page import sheet_days, sheet_page
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.record.present import present_of
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.cli.sheet_reader import read_sheet
from tests.examples import examples
from tests.properties.test_round_totals import rooms

_TODAY = date(2027, 3, 1)
_EMPTY = '[room]\nname = "Bare"\ntimezone = "Europe/Lisbon"\ntemperature_c = 22\n'


def _room(text: str) -> Room:
    return read_room(text, name="room.toml", today=_TODAY)


def _setting(outlook: Outlook) -> Setting:
    path = Path("a folder that is not there", "room.toml")
    present = present_of(outlook.room, path, outlook.now)
    return Setting(outlook.room, outlook.now, path, present, tells=False)


def _at(room: Room, hour: int, day: date = _TODAY) -> datetime:
    return datetime(day.year, day.month, day.day, hour, 0, tzinfo=room.timezone)


# Each example is a room planned with what helps, and drawn anew in each run: few at a time.
@settings(max_examples=examples(suite=12, thorough_run=100), deadline=None)
@given(text=rooms(), hour=st.integers(0, 23), days=st.integers(1, 7))
def test_any_room_at_any_hour(text: str, hour: int, days: int) -> None:
    room = _room(text)
    outlook = make_outlook(room, now=_at(room, hour))
    plan = plan_of(outlook)
    shown = sheet_days(outlook, plan, days)
    sheet = read_sheet(sheet_page(_setting(outlook), outlook, plan, shown, paper="a4"))
    on = {one.day for one in shown}
    assert sorted(sheet.tasks) == sorted(t.id for t in plan.tasks if t.at.date() in on)
    text = screen(
        outlook,
        plan,
        rounds=this_round(outlook),
        practice=practice(outlook, _setting(outlook).present),
    )
    assert all(len(line) <= 80 for line in text.splitlines())


@settings(max_examples=examples(suite=8, thorough_run=60), deadline=None)
@given(text=rooms(), ahead=st.integers(0, 9), long=st.integers(0, 6))
def test_any_absence(text: str, ahead: int, long: int) -> None:
    room = _room(text)
    setting = _setting(make_outlook(room, now=_at(room, 5)))
    first = _TODAY + timedelta(days=ahead)
    made = helper_sheet(setting, (first, first + timedelta(days=long)), paper="letter")
    sheet = read_sheet(made.html)
    assert len(sheet.boxes) == made.boxes == len(set(sheet.boxes))
    assert made.days == long + 1


def test_a_bare_room_has_a_sheet_too() -> None:
    room = _room(_EMPTY)
    outlook = make_outlook(room, now=_at(room, 7))
    plan = plan_of(outlook)
    sheet = read_sheet(
        sheet_page(_setting(outlook), outlook, plan, sheet_days(outlook, plan, 1), paper="a4")
    )
    assert sheet.boxes == []
    assert "No feeding." in sheet.other
    with pytest.raises(UsageProblemError, match="no absence lies ahead"):
        helper_sheet(_setting(outlook), (None, None), paper="a4")


@pytest.mark.parametrize("day", [date(2027, 3, 27), date(2027, 3, 28), date(2027, 3, 29)])
def test_the_day_the_clocks_change(day: date) -> None:
    text = _EMPTY + (
        '[[tank]]\nname = "A"\nlitres = 40\ntemperature_c = 26\n[[brood]]\nname = "b"\ntank = "A"\n'
        'class = "egg_scatterer"\ncount = 50\nfree_swimming = 2027-02-20\n[[vessel]]\nname = "V"\n'
        "litres = 1\ntemperature_c = 27\n[cysts]\ngrams = 40\n"
    )
    room = _room(text)
    outlook = make_outlook(room, now=_at(room, 6, day))
    plan = plan_of(outlook)
    html = sheet_page(_setting(outlook), outlook, plan, sheet_days(outlook, plan, 1), paper="a4")
    rounds = [shown for of, _, shown in read_sheet(html).times if of.startswith("feed/")]
    assert rounds == ["07:30", "18:30"]
