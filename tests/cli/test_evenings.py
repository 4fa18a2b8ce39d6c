"""Who is there at some rounds only, as every screen says it: late evenings, and a helper's."""

from __future__ import annotations

import json
import re
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from cultures.planning.gaps import worth_asking
from cultures.planning.outlook import make_outlook
from cultures.room.file import load_room
from tests.cli.invented import at, jotted

_ROOM = """\
[room]
name = "Ridge room"
timezone = "Europe/Lisbon"
temperature_c = 23
as_of = 2027-03-01
horizon_days = 7

[[tank]]
name = "A1"
litres = 30
temperature_c = 26

[[brood]]
name = "barbs"
tank = "A1"
class = "egg_scatterer"
count = 120
spawned = 2027-02-10

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-15
medium_g = 150
surface_cm2 = 180
starter_g = 15

[[vessel]]
name = "cone"
litres = 1
temperature_c = 27

[cysts]
grams = 40

[supplies]
dry_g = 20
"""
#: The 1st of March is a Monday. Late on Tuesday and Wednesday; home for both rounds on the others.
_LATE = """
[[away]]
from = 2027-03-01
to = 2027-03-07
rounds = ["18:30"]
days = ["tue", "wed"]
"""
#: Gone from Wednesday to Friday; somebody comes in the evenings.
_GONE = """
[[away]]
from = 2027-03-03
to = 2027-03-05

[[away]]
from = 2027-03-03
to = 2027-03-05
helper = true
rounds = ["18:30"]
"""
_MONDAY, _TUESDAY = "2027-03-01T07:00", "2027-03-02T07:00"


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    return path


def _with(room: Path, away: str) -> Path:
    room.write_text(_ROOM + away, "utf-8")
    return room


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


def _fed(room: Path, clock: str) -> set[str]:
    """The rounds at which the plan gives something, as ``2 18:30``."""
    lines = json.loads(at(room, clock, "plan", "--json").stdout)["rounds"]
    times = (datetime.fromisoformat(x["at"]) for x in lines if x["amount"] > 0)
    return {f"{t.day} {t.astimezone(ZoneInfo('Europe/Lisbon')):%H:%M}" for t in times}


def test_a_late_evening_is_fed_by_nobody_on_every_screen(room: Path) -> None:
    _with(room, _LATE)
    fed = _fed(room, _MONDAY)
    assert not {"2 18:30", "3 18:30"} & fed
    assert {"1 18:30", "2 07:30", "3 07:30", "4 18:30"} <= fed
    short = _said(room, _MONDAY, "shortfalls")
    assert "Tue 2 Mar 18:30 to Wed 3 Mar 18:30, 2 rounds" in short
    assert "nobody is there to feed" in short
    assert "Nobody is there to feed." in _said(room, "2027-03-02T18:00", "today")
    assert "BEFORE YOU LEAVE" not in _said(room, _MONDAY, "today")
    assert "Away (at some rounds of a week): a nobody is there" in _said(room, _MONDAY, "year")


def test_nobody_is_asked_for_an_evening_of_each_week(room: Path) -> None:
    """From one morning to the next fry go without, where none starve; from Tuesday morning to
    Thursday evening they are not to (common practice, no source).
    """
    _with(room, _LATE)
    today = _said(room, _MONDAY, "today")
    assert "ask somebody" not in today
    assert "but for rounds at which nobody feeds" in today
    at(room, _MONDAY, "calendar", "--out", str(room.parent / "jobs.ics"))
    assert "short" not in (room.parent / "jobs.ics").read_text("utf-8")
    _with(room, _LATE.replace('rounds = ["18:30"]\n', ""))
    assert "ask somebody to feed" in _said(room, _MONDAY, "today")


def test_where_fry_starve_somebody_is_asked_for_one_round(room: Path) -> None:
    known = load_room(_with(room, _LATE), today=date(2027, 3, 1))
    now = datetime.fromisoformat(_MONDAY).replace(tzinfo=known.timezone)
    gaps = make_outlook(known, now=now).gaps
    missed = [gap for gap in gaps if not gap.feeding.fed]
    assert len(missed) > 1
    assert worth_asking(known, gaps) == []
    assert worth_asking(known, gaps, {missed[0].key}) == missed[:1]


def test_what_is_to_be_done_falls_when_somebody_is_home(room: Path) -> None:
    tasks = json.loads(at(_with(room, _LATE), _MONDAY, "plan", "--json").stdout)["tasks"]
    times = {t["at"][5:16] for t in tasks if t["what"] in ("set_hatch", "split", "harvest_hatch")}
    assert times
    late = [t for t in times if t[:5] in ("03-02", "03-03") and t[6:] > "07:30"]
    assert late == []


def test_a_late_evening_is_not_taken_as_done(room: Path) -> None:
    """It was told on Monday for the evening of Tuesday, by the calendar; the file knew it not."""
    folder = room.parent
    at(room, _MONDAY, "calendar", "--out", str(folder / "jobs.ics"))
    _with(room, _LATE)
    due = _said(room, "2027-03-02T21:00", "journal", "due")
    assert "Tue 2 Mar 07:30 feed" in due
    assert "18:30 feed" not in due.partition("Tue 2 Mar 07:30")[2]


def test_a_helper_of_the_evenings_gets_the_evenings(room: Path, tmp_path: Path) -> None:
    _with(room, _GONE)
    fed = _fed(room, _TUESDAY)
    assert {"3 18:30", "4 18:30", "5 18:30"} <= fed
    assert not {"3 07:30", "4 07:30", "5 07:30"} & fed
    today = _said(room, _TUESDAY, "today")
    assert "BEFORE YOU LEAVE (Wed 3 Mar to Fri 5 Mar, nobody feeds)" not in today, (
        "somebody does in the evenings"
    )
    assert "a helper feeds Wed 3 Mar to Fri 5 Mar, at 18:30" in today
    assert "livefood sheet --helper" in today
    sheet = tmp_path / "helper.html"
    at(room, _TUESDAY, "sheet", "--helper", "--out", str(sheet))
    text = " ".join(re.sub(r"<[^>]+>", " ", sheet.read_text("utf-8")).split())
    assert re.findall(r"Round (\d\d:\d\d)", text) == ["18:30"] * 3
    jobs = tmp_path / "jobs.ics"
    at(room, _TUESDAY, "calendar", "--out", str(jobs), "--only", "rounds")
    text = jobs.read_text("utf-8")
    assert text.count("SUMMARY:Helper feeds") == 3


def test_a_helper_may_be_supposed_at_the_late_evenings(room: Path) -> None:
    said = _said(
        _with(room, _LATE), _MONDAY, "plan", "--if", "helper from 2027-03-01 to 2027-03-07"
    )
    assert "food in A1: never short; as things are, short from Tue 2 Mar" in said
    refused = _said(
        _with(room, ""), _MONDAY, "plan", "--if", "helper from 2027-03-01 to 2027-03-07", code=2
    )
    assert "you are not away on any of these days" in refused


def test_one_is_added_without_an_editor(room: Path) -> None:
    words = ["from=2027-03-01", "to=2027-03-07", "rounds=18:30", "days=tue,wed", "--yes"]
    at(room, _MONDAY, "add", "away", *words)
    assert 'rounds = ["18:30"]\ndays = ["tue", "wed"]' in room.read_text("utf-8")
    assert "nobody is there to feed" in _said(room, _MONDAY, "shortfalls")
    wrong = [*words[:2], "rounds=19:00", "--yes"]
    assert "the room is not fed at 19:00, but at 07:30 and 18:30" in _said(
        room, _MONDAY, "add", "away", *wrong, code=2
    )


def test_from_friday_evening_to_sunday_is_noted_and_taken_back(room: Path) -> None:
    noted = _said(room, _MONDAY, "journal", "away", "fri", "18:30", "to", "sun", "--note", "Ines")
    assert "away Fri 5 Mar 18:30 to Sun 7 Mar, nobody feeds (Ines)" in noted
    assert "nobody feeds 1 tank for 5 rounds, Fri 5 Mar 18:30 to Sun 7 Mar 18:30" in noted
    assert {"5 07:30"} == {r for r in _fed(room, _MONDAY) if r[0] in "567"}
    assert "away Fri 5 Mar 18:30" in _said(room, _MONDAY, "journal", "show")
    before = _said(room, "2027-03-05T07:00", "today")
    assert "BEFORE YOU LEAVE (Fri 5 Mar 18:30 to Sun 7 Mar, nobody feeds)" in before
    assert "BEFORE YOU LEAVE" not in _said(room, "2027-03-05T19:00", "today")
    jotted(room, "2027-03-01T07:05", "undo")
    assert {"5 18:30", "6 07:30", "7 18:30"} <= _fed(room, _MONDAY)


@pytest.mark.parametrize(
    ("now", "words", "noted"),
    [
        # 5 March 2027 is a Friday.
        ("2027-03-05T07:40", "fri 18:30 to sun", "Fri 5 Mar 18:30 to Sun 7 Mar"),
        ("2027-03-05T07:40", "Friday 18:30 to fri 20:00", "Fri 5 Mar from 18:30 until 20:00"),
        ("2027-03-05T19:00", "fri 18:30 to sun", "Fri 12 Mar 18:30 to Sun 14 Mar"),
        ("2027-03-05T07:40", "fri to sun", "Fri 12 Mar to Sun 14 Mar"),
        ("2027-03-05T07:40", "sat 18:30 to fri 18:30", "Sat 6 Mar 18:30 to Fri 12 Mar 18:30"),
    ],
)
def test_the_weekday_of_today_with_a_time_to_come_is_today(
    room: Path, now: str, words: str, noted: str
) -> None:
    assert f"away {noted}, nobody feeds" in _said(room, now, "journal", "away", *words.split())


def test_what_is_noted_is_as_if_the_file_said_it(room: Path) -> None:
    """Its plan is that of a file with the same absence, to the gram."""
    jotted(room, _MONDAY, "away", "2027-03-03", "to", "2027-03-05", "--helper")
    noted = json.loads(at(room, _MONDAY, "plan", "--json").stdout)
    room.with_name("journal.csv").unlink()
    _with(room, "\n[[away]]\nfrom = 2027-03-03\nto = 2027-03-05\nhelper = true\n")
    stated = json.loads(at(room, _MONDAY, "plan", "--json").stdout)
    assert noted["tasks"] == stated["tasks"]
    assert noted["rounds"] == stated["rounds"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("fri", "to", "2027-03-04"), "before it begins"),
        (("soon",), "'soon' is not a day"),
        (("today", "19:00"), "no round of the room lies in Mon 1 Mar from 19:00"),
        (("fri", "--round", "19:00"), "the room is not fed at 19:00, but at 07:30 and 18:30"),
        (("fri", "--round", "late"), "'late' is not a time of day like 07:30"),
        (("2099-01-01",), "is the year right?"),
    ],
)  # fmt: skip
def test_what_makes_no_absence_is_refused_and_not_noted(
    room: Path, words: tuple[str, ...], said: str
) -> None:
    assert said in _said(room, _MONDAY, "journal", "away", *words, code=2)
    assert not room.with_name("journal.csv").exists()


def test_what_somebody_fed_on_a_late_evening_is_noted(room: Path) -> None:
    """Since Tuesday evening one round of three was fed; once it is said that somebody fed then,
    only that of Wednesday evening is missing.
    """
    _with(room, _LATE)
    at(room, _TUESDAY, "today")

    def behind() -> str:
        said = _said(room, "2027-03-04T07:00", "need", "--brood", "barbs")
        return said[said.index("fed ") :].partition(" of its need")[0]

    assert behind() == "fed 33%"
    jotted(room, "2027-03-03T07:00", "fed", "A1", "--at", "yesterday 18:40")
    assert "Tue 2 Mar 18:40 fed A1" in _said(room, "2027-03-03T07:00", "journal", "show")
    assert behind() == "fed 0%"  # over the last day
    jotted(room, "2027-03-03T07:40", "fed", "A1")  # of the morning round, as told
    refused = _said(
        room, "2027-03-03T20:00", "journal", "fed", "A1", "dry", "0.1 g", "--at", "18:40", code=2
    )
    assert "at a round at which nobody is there" in refused
