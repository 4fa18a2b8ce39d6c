"""Clock times that a change of the clocks skips, and those that it repeats.

In Lisbon the clocks go from 01:00 to 02:00 on 28 March 2027, from 02:00 back to 01:00 on 31 October
(European Union, directive 2000/84/EC: the last Sundays of March and October at 01:00 UTC).
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from cultures.errors import UnitError
from cultures.journal.entries import journal_path
from cultures.words.moments import in_zone, once
from tests.cli.invented import at, run
from tests.cli.rooms import small

_LISBON = ZoneInfo("Europe/Lisbon")
_SAID = "there is no 01:30 on Sun 28 Mar 2027 in Europe/Lisbon: the clocks are put forward over it"

_JAR = """\
[[vessel]]
name = "jar"
litres = 1
temperature_c = 26

[cysts]
grams = 9

[[hatch]]
vessel = "jar"
set_at = 2027-03-28T01:30:00
cysts_g = 1

"""


@pytest.fixture
def room(tmp_path: Path) -> Path:
    return small(tmp_path)


@pytest.mark.parametrize("at", ["2027-03-28T01:30", "28 Mar 2027 1:30", "01:30", "Mar 28, 1:30 am"])
def test_a_time_that_is_skipped_is_refused(room: Path, at: str) -> None:
    found = run(room, "journal", "harvest", "MW-1", "2 swipes", "--at", at,
                now="2027-03-28T09:00", code=2)  # fmt: skip
    assert f"{_SAID}; write 02:30" in " ".join(found.output.split())
    assert not journal_path(room).exists()


def test_in_a_room_of_us_units_it_is_refused_in_its_forms(room: Path) -> None:
    text = room.read_text("utf-8").replace("[room]\n", '[room]\nunits = "us"\n', 1)
    room.write_text(text, "utf-8")
    said = _SAID.replace("01:30 on Sun 28 Mar 2027", "1:30 am on Sun Mar 28, 2027")
    noted = "journal", "harvest", "MW-1", "2 swipes", "--at", "2027-03-28T01:30"
    for found in (
        run(room, *noted, now="2027-03-28T09:00", code=2),
        run(room, "today", now="2027-03-28T01:30", code=2),
    ):
        assert f"{said}; write 2:30 am" in " ".join(found.output.split())


def test_it_is_refused_as_the_time_of_a_look(room: Path) -> None:
    assert _SAID in " ".join(run(room, "today", now="2027-03-28T01:30", code=2).output.split())


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("as_of = 2027-01-04", "as_of = 2027-03-28T01:30:00"),
        ("[[culture]]", f"{_JAR}[[culture]]"),
    ],
)
def test_it_is_refused_in_a_room_file(room: Path, before: str, after: str) -> None:
    room.write_text(room.read_text("utf-8").replace(before, after), "utf-8")
    said = " ".join(run(room, "check", now="2027-03-29T09:00", code=2).output.split())
    assert "1 mistake" in said
    assert _SAID in said


def test_it_is_refused_in_a_journal_and_in_a_table(room: Path) -> None:
    table = room.parent / "old.csv"
    table.write_text("when,event,subject,amount,unit\n2027-03-28 01:30,harvest,MW-1,2,swipes\n")
    said = run(room, "journal", "import", str(table), now="2027-03-29T09:00", code=2).output
    assert _SAID in " ".join(said.split())
    journal_path(room).write_text(
        "when,event,subject,other,amount,unit,note\n2027-03-28T01:30,harvest,MW-1,,2,swipes,\n"
    )
    said = run(room, "today", now="2027-03-29T09:00", code=2).output
    assert _SAID in " ".join(said.split())


def test_of_a_time_that_comes_twice_the_first_is_meant() -> None:
    typed = datetime(2027, 10, 31, 1, 30)  # noqa: DTZ001
    assert in_zone(typed, _LISBON).astimezone(UTC) == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)
    later = datetime(2027, 10, 31, 1, 30, tzinfo=UTC)
    assert in_zone(later, _LISBON).astimezone(UTC) == later
    assert in_zone(later, _LISBON).hour == 1
    with pytest.raises(UnitError, match="write 02:30"):
        in_zone(datetime(2027, 3, 28, 1, 30), _LISBON)  # noqa: DTZ001
    assert in_zone(datetime(2027, 3, 28, 2, 0), _LISBON).hour == 2  # noqa: DTZ001


def test_what_was_noted_in_an_hour_that_comes_twice_stays_noted_in_its_second(room: Path) -> None:
    """In Lisbon 01:30 comes twice on 31 October 2027: at 00:30 and at 01:30 UTC. At 01:10 for the
    second time a loss of 01:30, the first time, is 40 minutes old.
    """
    first, again = "2027-10-31T01:35+01:00", "2027-10-31T01:10+00:00"
    at(room, first, "journal", "bought", "salt", "100 g", "--at", "01:30")
    assert "to come" not in " ".join(at(room, again, "today").output.split())
    at(room, again, "journal", "bought", "salt", "50 g", "--at", "01:30")
    shown = at(room, again, "journal", "show").output
    assert "bought salt 100 g" in shown
    assert "bought salt 50 g" in shown


@pytest.mark.parametrize(
    ("zone", "again", "last"),
    [("Europe/Lisbon", "2027-10-31T01:10+00:00", "2027-10-31T01:59:59+01:00"),
     ("Australia/Lord_Howe", "2027-04-04T01:40+10:30", "2027-04-04T01:59:59+11:00"),
     ("Europe/Lisbon", "2027-10-31T02:00+00:00", "2027-10-31T02:00+00:00")],
)  # fmt: skip
def test_now_is_never_earlier_on_the_wall_than_before(zone: str, again: str, last: str) -> None:
    """Clocks go back from 02:00 to 01:00 in Lisbon, and to 01:30 on Lord Howe Island."""
    found = once(datetime.fromisoformat(again).astimezone(ZoneInfo(zone)))
    assert found.astimezone(UTC) == datetime.fromisoformat(last).astimezone(UTC)
