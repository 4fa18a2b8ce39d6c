"""What weeks with days away found: nobody there, a neighbour who feeds, and what was noted then."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cli.screens.today import leaving
from cultures.journal.absences import Away
from cultures.journal.entries import Entry
from cultures.planning.leaving import Absence, Unfed, next_absence
from cultures.record.present import present
from cultures.record.store import read_record, record_path
from cultures.room.file import read_room
from cultures.tasks.plan import Act, Remedy
from cultures.tasks.told import FeedLine
from cultures.words.tools import Tools
from tests.cli.invented import at, jotted, room_file
from tests.unit.recorded import record_of, told_task

_ROOM = """\
[room]
name = "Ridge room"
timezone = "Europe/Lisbon"
temperature_c = 23
as_of = 2027-03-01
horizon_days = 7
fridge_c = 5

[[tank]]
name = "A1"
litres = 30
temperature_c = 26

[[tank]]
name = "A2"
litres = 30
temperature_c = 26

[[tank]]
name = "A3"
litres = 30
temperature_c = 26

[[brood]]
name = "barbs 1"
tank = "A1"
class = "egg_scatterer"
count = 120
spawned = 2027-02-10

[[brood]]
name = "barbs 2"
tank = "A2"
class = "egg_scatterer"
count = 60
spawned = 2027-02-22

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

[[vessel]]
name = "cool bottle"
litres = 1
temperature_c = 22

[cysts]
grams = 40
"""
_AWAY = "\n[[away]]\nfrom = 2027-03-05\nto = 2027-03-08\n"


_YOUNG = """
[[brood]]
name = "barbs 3"
tank = "A3"
class = "egg_scatterer"
count = 60
hatched = 2027-02-28
"""


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM + _AWAY, "utf-8")
    return path


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


def _plan(room: Path, clock: str, *words: str) -> Any:
    return json.loads(at(room, clock, "plan", *words, "--json").stdout)


def test_no_hatch_is_set_to_stand_through_days_away(room: Path) -> None:
    """Nauplii keep 12 h warm (`warm_hold_h`); a bottle that is slow to hatch keeps them no longer.

    At 22 °C cysts take some 35 h, so a bottle set on the evening before four days away would hold
    nauplii for three days.
    """
    tasks = _plan(room, "2027-03-04T19:00")["tasks"]
    stands: dict[str, dict[str, datetime]] = {}
    for task in tasks:
        what, _, key = task["id"].partition("/")
        if what in ("set_hatch", "harvest_hatch"):
            stands.setdefault(key, {})[what] = datetime.fromisoformat(task["at"])
    spans = [s["harvest_hatch"] - s["set_hatch"] for s in stands.values() if len(s) == 2]
    assert spans
    assert max(spans) < timedelta(hours=48)


def test_a_hatch_that_stood_through_days_away_says_so_at_its_step(room: Path) -> None:
    room.write_text(room.read_text("utf-8").replace("as_of = 2027-03-01", "as_of = 2027-03-04")
                    + '\n[[hatch]]\nvessel = "cone"\nset_at = 2027-03-04T20:30:00\ncysts_g = 1\n',
                    "utf-8")  # fmt: skip
    said = _said(room, "2027-03-09T06:40", "today", "--now", "2027-03-09T06:40")
    assert "cone: It has stood too long to be food; pour it out" in said
    plan = _plan(room, "2027-03-09T06:40", "--days", "2")["tasks"]
    (poured,) = (t for t in plan if t["what"] == "harvest_hatch" and t["at"] < "2027-03-10")
    assert poured["amounts"]["nauplii"] == 0.0


def _full_cone(room: Path, set_at: str) -> None:
    """The room of the evening before four days away, with 1 g in its cone at 27 °C."""
    text = room.read_text("utf-8").replace("as_of = 2027-03-01", "as_of = 2027-03-04")
    hatch = f'\n[[hatch]]\nvessel = "cone"\nset_at = {set_at}\ncysts_g = 1\n'
    room.write_text(text + hatch, "utf-8")


def test_a_hatch_that_gets_ripe_while_away_is_named_before_leaving(room: Path) -> None:
    """Set in the evening at 27 °C it is ripe on the next day, and food for a day at most then.

    What hatches takes 18 to 36 h at 25 to 28 °C by every handbook, so at 06:30, after 10 h, most of
    it is still to come: it is poured out, or somebody draws it off.
    """
    _full_cone(room, "2027-03-04T20:30:00")
    said = _said(room, "2027-03-04T21:00", "today")
    before = said.partition("BEFORE YOU LEAVE")[2].partition("ROUND")[0]
    assert "cone is ripe about Fri 5 Mar" in before
    assert "pour it out before you leave, pump and heater unplugged first" in before
    assert "or have somebody draw it off by then, into a jar in the fridge" in before
    at(room, "2027-03-04T21:05", "sheet", "--helper", "--from", "2027-03-05", "--to", "2027-03-08",
       "--out", str(room.with_name("helper.html")))  # fmt: skip
    assert "cone is ripe about Fri 5 Mar" in room.with_name("helper.html").read_text("utf-8")
    jotted(room, "2027-03-04T21:10", "failed", "cone", "--sure")  # it was poured out
    assert "is ripe about" not in _said(room, "2027-03-04T21:11", "today")


def test_a_hatch_past_food_is_not_called_ripe_on_the_evening_before(room: Path) -> None:
    _full_cone(room, "2027-03-04T20:30:00")
    text = room.read_text("utf-8")
    room.write_text(text.replace("to = 2027-03-08", "to = 2027-03-07\nhelper = true"), "utf-8")
    said = _said(room, "2027-03-07T18:08", "today", "--now", "2027-03-07T18:08")
    assert "pour out cone: what stands in it is no food" in said
    assert "cone is ripe" not in said


def test_nauplii_out_of_a_hatch_that_is_past_food_are_asked_back(room: Path) -> None:
    _full_cone(room, "2027-03-04T20:30:00")
    refused = _said(room, "2027-03-09T06:50", "journal", "hatched", "cone", "500", code=2)
    assert "cone was ripe on Fri 5 Mar" in refused
    assert "pour it out and wash the vessel (journal failed 'cone')" in refused
    assert "Nothing was noted." in refused
    assert "jar of" not in _said(room, "2027-03-09T07:00", "today")
    _said(room, "2027-03-09T07:01", "journal", "hatched", "cone", "500", "--sure")
    learned = _said(room, "2027-03-09T07:02", "learn")
    assert "it stood too long past its best; fed as counted, and not taken for" in learned


def test_a_harvest_that_is_skipped_ahead_is_not_asked_for_at_that_round(room: Path) -> None:
    """Told again at another round it has another number, and is not called by the first."""
    room.write_text(_ROOM, "utf-8")
    for clock in ("2027-03-01T18:00", "2027-03-02T07:00", "2027-03-02T17:00"):
        at(room, clock, "today")

    def drawn(clock: str) -> Any:
        tasks = _plan(room, clock, "--days", "3")["tasks"]
        return next(t for t in tasks if t["what"] == "harvest_hatch" and t["subject"] == "cone")

    first = drawn("2027-03-02T17:01")
    morning = datetime.fromisoformat(first["at"]) - timedelta(minutes=40)
    clocks = [f"{morning + timedelta(minutes=n):%Y-%m-%dT%H:%M}" for n in range(4)]
    at(room, clocks[0], "today")
    said = _said(room, clocks[1], "journal", "skip", first["id"])
    assert "skip cone, its harvest" in said
    second = drawn(clocks[2])
    assert second["at"] > first["until"]
    assert "#" in second["id"]
    later = datetime.fromisoformat(second["at"]) - timedelta(minutes=40)
    at(room, f"{later:%Y-%m-%dT%H:%M}", "today")
    again = _said(room, f"{later:%Y-%m-%dT%H:%M}", "journal", "skip", second["id"])
    assert "its harvest for" not in again
    assert "skip cone, its harvest" in again


@pytest.mark.parametrize("clock", ["18:10", "18:40"])
def test_a_hatch_that_failed_is_drawn_off_neither_in_the_calendar_nor_on_the_sheet(
    room: Path, clock: str
) -> None:
    """Noted in the half hour before its round, and looked at before and after the round begins."""
    room.write_text(_ROOM, "utf-8")
    for before in ("01T18:00", "02T07:00", "02T17:50"):
        at(room, f"2027-03-{before}", "today")
    jotted(room, "2027-03-02T18:09", "failed", "cone")
    now, calendar = f"2027-03-02T{clock}", room.with_name("jobs.ics")
    at(room, now, "calendar", "--out", str(calendar))
    written = calendar.read_text("utf-8").replace("\r\n ", "")
    for event in written.split("BEGIN:VEVENT")[1:]:
        if "DTSTART:20270302" in event:
            assert "cone: draw off" not in event.replace("\\", "")
    sheet = room.with_name("sheet.html")
    at(room, now, "sheet", "--out", str(sheet))
    shown = re.sub(r"<[^>]+>", "", sheet.read_text("utf-8"))
    assert not re.search(r"cone\s*: draw off", shown.partition("Wed 3 Mar")[0])


def test_a_count_of_a_hatch_where_none_stands_is_refused(room: Path) -> None:
    room.write_text(_ROOM, "utf-8")
    said = _said(room, "2027-03-01T12:00", "journal", "hatched", "cone", "500000", code=2)
    assert "as far as is known no hatch stands in cone" in said
    assert not room.with_name("journal.csv").exists()
    jotted(room, "2027-03-01T12:00", "hatched", "cone", "500000", "--sure")


def test_the_first_food_of_a_brood_that_has_the_name_of_one_that_is_gone_is_told(
    room: Path,
) -> None:
    """That of the first was told and is over, as its spawning came to nothing."""
    room.write_text(_ROOM, "utf-8")
    plan = ("journal", "planned", "pair", "--tank", "A3", "--class", "egg_scatterer")
    at(room, "2027-03-01T12:00", *plan, "--on", "2027-03-01", "--count", "50")
    jotted(room, "2027-03-01T12:01", "spawn", "pair", "--tank", "A3", "--class",
       "egg_scatterer", "--count", "50")  # fmt: skip

    def told(clock: str) -> list[str]:
        return [t["at"] for t in _plan(room, clock, "--days", "14")["tasks"]
                if t["what"] == "first_food" and t["subject"] == "pair"]  # fmt: skip

    (first,) = told("2027-03-01T12:02")
    day = first[:10]
    at(room, f"{day}T06:40", "today")
    jotted(room, f"{day}T08:00", "done")
    jotted(room, f"{day}T08:00", "lost", "pair", "--all")
    assert told(f"{day}T08:01") == []
    only = _said(room, f"{day}T08:01", "plan", "--if", "lose MW-1")
    assert "first food for pair" not in only
    ahead = (datetime.fromisoformat(day) + timedelta(days=3)).date()
    at(room, f"{day}T12:03", *plan, "--on", str(ahead), "--count", "50")
    (again,) = told(f"{day}T12:04")
    assert again[:10] > str(ahead)


def test_what_is_left_out_of_a_brood_is_said_when_it_is_noted(room: Path) -> None:
    """A sale from before the day of the file, and a length from before the first food."""
    room.write_text(_ROOM + _YOUNG, "utf-8")
    now = "2027-03-01T12:00"
    said = _said(room, now, "journal", "sold", "barbs 1", "39", "--at", "2027-02-27 12:00")
    assert "It changes nothing: the file is newer (as_of = 2027-03-01)" in said
    assert "It changes nothing" not in _said(room, now, "journal", "sold", "barbs 1", "3")
    said = _said(room, now, "journal", "length", "barbs 3", "60 mm")
    assert "barbs 3 had eaten nothing by then" in said


def test_a_hatch_noted_as_drawn_off_when_it_was_food_no_more_holds_nothing(room: Path) -> None:
    set_on = "2027-03-04T20:30:00"
    text = room.read_text("utf-8").replace("as_of = 2027-03-01", "as_of = 2027-03-04")
    stood = '\n[[hatch]]\nvessel = "cone"\nset_at = {}\ncysts_g = 1\n'
    room.write_text(text + stood.format(set_on), "utf-8")
    jotted(room, "2027-03-09T06:50", "harvest", "cone")
    assert "from cone" not in _said(room, "2027-03-09T06:55", "today")
    tasks = _plan(room, "2027-03-09T06:55", "--days", "1")["tasks"]
    (fed,) = (t for t in tasks if t["what"] == "feed" and t["at"][11:16] == "07:30")
    assert fed["amounts"].get("nauplii", 0.0) == 0.0


@pytest.mark.parametrize("helper", [True, False])
def test_a_hatch_that_cannot_ripen_before_leaving_is_not_drawn_off_for_next_to_nothing(
    room: Path, helper: bool
) -> None:
    """Set on the day before: ripe on the morning of leaving, or left and poured out."""
    text = room.read_text("utf-8").replace("as_of = 2027-03-01", "as_of = 2027-03-04")
    text += "helper = true\n" if helper else ""
    stood = '\n[[hatch]]\nvessel = "cone"\nset_at = 2027-03-04T07:30:00\ncysts_g = 1\n'
    room.write_text(text + stood, "utf-8")
    tasks = _plan(room, "2027-03-04T17:00", "--days", "7")["tasks"]
    drawn = next(t for t in tasks if t["what"] == "harvest_hatch" and t["subject"] == "cone")
    if helper:
        assert drawn["at"].startswith("2027-03-05T")
        assert drawn["amounts"]["nauplii"] > 50_000
        assert drawn["amounts"]["fed_nauplii"] > 0
        assert "harvest cone" in _before_leaving(room, "2027-03-04T17:00")
    else:
        assert drawn["at"].startswith("2027-03-09T")
        assert drawn["amounts"]["nauplii"] == 0.0
        assert "pour out cone" in _said(room, "2027-03-04T17:00", "plan", "--days", "7")


@pytest.mark.parametrize("clock", ["2027-03-04T12:00", "2027-03-06T12:00"])
@pytest.mark.parametrize("asked", [(), ("--nauplii", "50000")])
def test_a_hatch_is_sized_for_days_on_which_somebody_is_there(
    room: Path, clock: str, asked: tuple[str, ...]
) -> None:
    """A helper feeds, and neither sets nor harvests; the planned ones of the room do not either."""
    sized = json.loads(at(room, clock, "hatch", *asked, "--json").stdout)
    for setting in sized["settings"]:
        for step in ("set_at", "harvest_at"):
            assert not "2027-03-05" <= setting[step][:10] <= "2027-03-08", step


def test_a_hatch_that_nobody_could_set_in_time_says_so(room: Path) -> None:
    said = _said(room, "2027-03-06T12:00", "hatch", "--at", "2027-03-09T18:30", code=2)
    assert "nobody is there in time to set and harvest it" in said
    assert "can be fed from Wed 10 Mar" in said


def test_a_hatch_is_sized_for_a_bottle_that_is_free(tmp_path: Path) -> None:
    """Bottle 1 is told for other rounds; the other one does as well."""
    demo = room_file(tmp_path)
    words = ("hatch", "--at", "2027-01-07T07:30")
    said = _said(demo, "2027-01-05T07:00", *words)
    assert "by the plan" not in said
    tasks = _plan(demo, "2027-01-05T07:00", "--days", "3")["tasks"]
    sized = json.loads(at(demo, "2027-01-05T07:00", *words, "--json").stdout)
    (setting,) = sized["settings"]
    told = [(t["at"], t["what"]) for t in tasks if t["subject"] == setting["vessel"]
            and t["what"] in ("set_hatch", "harvest_hatch")]  # fmt: skip
    begun = [what for at_, what in sorted(told) if at_ <= setting["set_at"]]
    assert begun[-1:] != ["set_hatch"]
    assert all(at_ >= setting["harvest_at"] for at_, _ in told if at_ > setting["set_at"])


def _behind(room: Path, brood: str) -> str:
    said = _said(room, "2027-03-09T06:40", "need", "--brood", brood)
    return said[said.index("fed ") :].partition(" of its need")[0]


def test_what_somebody_fed_on_days_away_is_noted(room: Path) -> None:
    """Eight rounds fall on the four days: who came at three of them gave three meals of eight."""
    at(room, "2027-03-04T18:40", "today")
    for day, clock in ((5, "17:00"), (6, "19:00"), (8, "07:00")):
        jotted(room, "2027-03-09T06:30", "fed", "A1", "--at", f"2027-03-0{day}T{clock}")
    assert _behind(room, "barbs 1") == "fed 38%"
    assert _behind(room, "barbs 2") == "fed 0%"
    jotted(room, "2027-03-09T06:35", "undo")
    assert _behind(room, "barbs 1") == "fed 25%"


def test_an_amount_that_nobody_was_told_is_not_noted(room: Path) -> None:
    words = ("journal", "fed", "A1", "dry", "0.1 g", "--at", "2027-03-06T12:00")
    said = _said(room, "2027-03-09T06:30", *words, code=2)
    assert "'journal fed A1 --at \"2027-03-06 12:00\"'" in said
    assert "no food was told" in _said(room, "2027-03-09T06:30", "journal", "fed", "A1", code=2)


def test_a_helpers_sheet_for_days_that_the_room_does_not_know_is_held_against_its_own(
    room: Path,
) -> None:
    """It is out of date once fish are sold, not since the room plans as if nobody fed."""
    room.write_text(_ROOM, "utf-8")
    at(room, "2027-03-04T19:00", "today")
    days = ("--from", "2027-03-05", "--to", "2027-03-08")
    at(room, "2027-03-04T19:10", "sheet", "--helper", *days, "--out", str(room.parent / "h.html"))
    assert "no longer holds" not in _said(room, "2027-03-04T19:20", "today")
    jotted(room, "2027-03-04T19:30", "sold", "barbs 1", "60")
    said = _said(room, "2027-03-04T19:40", "today")
    again = re.search(r"no longer holds; .*Print it again: livefood (sheet .*? --out \S+)", said)
    assert again is not None
    words = again[1].replace("helper.html", str(room.parent / "h.html")).split()
    at(room, "2027-03-04T19:50", *words, "--force")
    assert "no longer holds" not in _said(room, "2027-03-04T20:00", "today")


@pytest.fixture(name="helped")
def _helped(room: Path) -> Path:
    """The room with a helper, whose sheet was printed on the evening before."""
    room.write_text(_ROOM + _AWAY + "helper = true\n", "utf-8")
    at(room, "2027-03-04T19:00", "today")
    at(room, "2027-03-04T19:10", "sheet", "--helper", "--out", str(room.parent / "h.html"))
    return room


def _told_for(room: Path, clock: str, what: str) -> tuple[FeedLine, ...]:
    """The feeding lines of a told round."""
    now = datetime.fromisoformat(clock).replace(tzinfo=UTC)  # Lisbon in winter
    return read_record(record_path(room), UTC, now).tasks[what].lines


_EVENING_ROUND = "feed/2027-03-05T18:30"


def test_what_a_helper_has_on_paper_stands_and_the_keeper_phones(helped: Path) -> None:
    """Of 120 fry half have died since the helper left home: he cannot know."""
    paper = _told_for(helped, "2027-03-04T20:00", _EVENING_ROUND)
    assert "PHONE" not in _said(helped, "2027-03-05T08:00", "today")
    jotted(helped, "2027-03-05T09:00", "count", "barbs 1", "55")
    jotted(helped, "2027-03-05T09:01", "move", "barbs 2", "A3")
    for clock in ("2027-03-05T09:10", "2027-03-05T12:00"):
        said = _said(helped, clock, "today")
    assert "PHONE THE HELPER, or the sheet of Thu 4 Mar 19:10 is followed" in said
    assert re.search(r"- A1 barbs 1: about (4[5-9]|5\d)% of what it says", said)
    assert "- barbs 2 are in A3 now, not in A2: feed them there" in said
    assert _told_for(helped, "2027-03-05T12:01", _EVENING_ROUND) == paper
    words = re.search(r"print it again: livefood (sheet --helper .*?) --out", said)
    assert words is not None
    at(helped, "2027-03-05T12:10", *words[1].split(), "--force",
       "--out", str(helped.parent / "h.html"))  # fmt: skip
    assert "PHONE" not in _said(helped, "2027-03-05T12:20", "today")
    again = _told_for(helped, "2027-03-05T12:20", _EVENING_ROUND)
    assert {line.tank for line in again} == {"A1", "A3"}


def test_without_a_helpers_sheet_a_round_of_the_days_away_is_told_as_planned(helped: Path) -> None:
    record_path(helped).unlink()
    at(helped, "2027-03-05T10:00", "today")
    before = _told_for(helped, "2027-03-05T10:00", _EVENING_ROUND)
    jotted(helped, "2027-03-05T10:05", "count", "barbs 1", "55")
    assert "PHONE" not in _said(helped, "2027-03-05T10:10", "today")
    assert _told_for(helped, "2027-03-05T10:10", _EVENING_ROUND) != before


def test_what_was_noted_of_a_culture_stands_where_it_is_opened(room: Path) -> None:
    """Its caution stands in full again, though the step was done before."""
    at(room, "2027-03-01T19:00", "today")
    jotted(room, "2027-03-02T06:50", "done")
    caution = "mould spores can harm the lungs"
    assert caution not in _said(room, "2027-03-02T06:55", "today")
    jotted(room, "2027-03-02T07:00", "note", "MW-1", "spilt on the lid")
    said = _said(room, "2027-03-02T07:12", "today")
    assert "(you noted: spilt on the lid) MW-1:" in said
    assert caution in said
    # Two days later it heads the step no more, and its caution stands with it all the same.
    later = _said(room, "2027-03-04T07:12", "today")
    assert "you noted: mould" not in later
    assert caution in later
    tasks = _plan(room, "2027-03-02T07:12")["tasks"]
    why = next(t["why"] for t in tasks if t["what"] == "harvest_worms")
    assert "You noted on Tue 2 Mar: spilt on the lid." in why
    assert "you noted" not in _said(room, "2027-03-20T07:12", "today")  # over two weeks ago


@pytest.mark.parametrize("word", ["discard", "failed"])
def test_nothing_was_harvested_of_a_culture_that_was_thrown_out_at_its_round(
    room: Path, word: str
) -> None:
    at(room, "2027-03-01T19:00", "today")
    jotted(room, "2027-03-02T06:50", "done")
    at(room, "2027-03-02T07:25", "today")
    assert "MW-1: " in _said(room, "2027-03-02T07:28", "journal", "done", "--dry-run")
    jotted(room, "2027-03-02T07:40", word, "MW-1")
    assert "no microworms at this round" in _said(room, "2027-03-02T07:45", "today")
    assert "MW-1: " not in _said(room, "2027-03-02T07:46", "journal", "done", "--dry-run")
    asked = _said(room, "2027-03-02T10:45", "today")
    assert "feed the 07:30 round" in asked
    assert "swipes" not in asked.partition("ROUND")[0]


def test_what_was_harvested_before_a_culture_was_thrown_out_counts(room: Path) -> None:
    at(room, "2027-03-02T07:25", "today")
    jotted(room, "2027-03-02T07:35", "harvest", "MW-1", "2", "swipes")
    jotted(room, "2027-03-02T07:40", "discard", "MW-1")
    assert "no microworms" not in _said(room, "2027-03-02T07:45", "today")


def _asked_by(room: Path, clock: str) -> tuple[str, str]:
    """Until when somebody is to be asked to feed, by ``today`` and on the calendar."""
    said = _said(room, clock, "today")
    told = re.search(r"by (\w+ \d+ \w+ \d\d:\d\d): ask somebody to feed", said)
    assert told is not None, said
    out = room.parent / "food.ics"
    at(room, clock, "calendar", "--out", str(out), "--replace")
    text = out.read_text("utf-8").replace("\r\n ", "").replace("\\,", ",")
    listed = re.search(r"by (\w+ \d+ \w+ \d\d:\d\d): ask somebody to feed", text)
    assert listed is not None
    return told[1], listed[1]


@pytest.mark.parametrize(
    ("clock", "by"),
    [
        ("2027-03-02T12:00", "Wed 3 Mar 19:00"),  # in time for somebody to make room for it
        ("2027-03-03T20:00", "Thu 4 Mar 19:00"),  # the eve, while people are called
        ("2027-03-04T20:00", "Thu 4 Mar 22:30"),
        ("2027-03-06T12:00", "Sat 6 Mar 18:30"),  # away already: the next round that nobody feeds
    ],
)
def test_somebody_is_to_be_asked_by_one_time_on_all_screens(
    room: Path, clock: str, by: str
) -> None:
    assert _asked_by(room, clock) == (by, by)


def test_by_when_to_ask_does_not_move_on_with_each_look(room: Path) -> None:
    """Told for Wednesday at seven it is due since then, on the days away too."""
    assert "by Wed 3 Mar 19:00: ask somebody to feed" in _said(room, "2027-03-02T12:00", "today")
    for clock in ("03T20:00", "04T20:00", "04T23:00", "05T12:00", "06T12:00"):
        said = _said(room, f"2027-03-{clock}", "today")
        assert "due since Wed 3 Mar 19:00: ask somebody to feed" in said, said
        assert "told for" not in said


def test_asking_somebody_helps_a_planned_spawn_too(room: Path) -> None:
    room.write_text(_ROOM + _AWAY.replace("2027-03-08", "2027-03-12") + """
[[brood]]
name = "barbs 3"
tank = "A3"
class = "egg_scatterer"
count = 100
planned = 2027-03-04
""", "utf-8")  # fmt: skip
    short = _plan(room, "2027-03-03T18:00")["shortfalls"]
    hoped = [s for s in short if s["tanks"] == ["A3"]]
    assert hoped
    for shortfall in hoped:
        (remedy,) = shortfall["remedies"]
        assert remedy["what"] == "ask somebody to feed (helper = true)"
        assert remedy["by"].startswith("2027-03-03T19:00")
        assert remedy["effect_j"] > 0.9 * shortfall["short_j"]


_MORE = """
[[brood]]
name = "barbs 3"
tank = "A3"
class = "egg_scatterer"
count = 60
spawned = 2027-02-19

[[brood]]
name = "bettas"
tank = "A3"
class = "bubble_nest"
count = 60
spawned = 2027-02-20
"""


@pytest.mark.parametrize("told", [True, False])
def test_no_brood_that_nobody_feeds_can_be_saved_again(room: Path, told: bool) -> None:
    """From an evening to the next morning the hungry only get hungrier."""
    room.write_text(_ROOM + _MORE + _AWAY.replace("2027-03-08", "2027-03-12"), "utf-8")
    if told:
        at(room, "2027-03-04T18:00", "today")
    lost: set[str] = set()
    for day in range(8, 13):
        for clock in ("07:00", "12:00", "21:30"):
            moment = f"2027-03-{day:02}T{clock}"
            said = _said(room, moment, "today", "--now", moment)
            now = set(re.findall(r"(\w+(?: \d)?) in A\d \(by now\)", said))
            assert lost <= now, moment
            lost = now
    assert len(lost) >= 2


@pytest.mark.parametrize("helper", [False, True])
def test_a_first_food_while_nobody_is_there_is_said_when_the_spawn_is_noted(
    room: Path, helper: bool
) -> None:
    """Zebrafish-like fry first eat some six days after spawning at 26 °C."""
    away = _AWAY.replace("2027-03-08", "2027-03-12") + ("helper = true\n" if helper else "")
    room.write_text(_ROOM + away, "utf-8")
    at(room, "2027-03-03T18:00", "today")
    words = ("journal", "spawn", "danio 9", "--tank", "A3", "--class", "egg_scatterer")
    said = _said(room, "2027-03-03T19:00", *words, "--count", "80")
    found = re.search(r"danio 9 in A3 first eats on \w+ (\d+) Mar, when nobody is there", said)
    assert (found is None) is helper
    if found is not None:
        assert 8 <= int(found[1]) <= 12
        assert "ask somebody to; without food half of them are past saving after about" in said


@pytest.mark.parametrize("words", [("failed", "cone"), ("hatched", "cone", "0")])
def test_a_round_whose_hatch_failed_says_so_and_lists_none_of_its_steps(
    room: Path, words: tuple[str, ...]
) -> None:
    text = _ROOM.replace("2027-02-22\n", '2027-02-20\nfoods = ["brine_shrimp"]\n')
    room.write_text(text, "utf-8")
    for clock in ("01T18:00", "02T07:00", "02T17:50"):
        said = _said(room, f"2027-03-{clock}", "today")
    assert "18:00 cone: air off" in said  # told for the evening
    jotted(room, "2027-03-02T18:10", *words)
    said = _said(room, "2027-03-02T18:12", "today")
    assert "no nauplii from cone, which failed; there is nothing for barbs 2 in A2" in said
    said = _said(room, "2027-03-02T18:32", "today")
    assert "no nauplii from cone, which failed" in said
    assert "air off" not in said
    assert "draw off" not in said


@pytest.mark.parametrize(("fed", "few"), [(0.0, []), (5e4, [9e4])])
def test_of_a_hatch_that_was_to_be_poured_out_no_round_misses_anything(
    fed: float, few: list[float]
) -> None:
    at_ = datetime(2027, 3, 2, 18, tzinfo=UTC)
    amounts = {"nauplii": 9e4, "energy_j": 1.0, "fed_nauplii": fed, "left_over": 9e4 - fed}
    record = record_of([told_task("harvest_hatch", at_, "cone", amounts)])
    for entry in (Entry(at_, "failed", "cone"), Entry(at_, "hatched", "cone", "", 0.0, "nauplii")):
        found = present(read_room(_ROOM, today=at_.date()), [entry], record, at_)
        assert [*found.room.few_hatched.values()] == few


_JUMPERS = """
[[brood]]
name = "rainbows"
tank = "A3"
class = "rainbowfish"
count = 40
spawned = 2027-01-10
"""


@pytest.mark.parametrize(
    ("words", "asked", "day"), [("lid", "tight lid over", 4), ("sorted", "sort rainbows", 12)]
)
def test_a_lid_and_a_sorting_are_asked_for_until_they_are_noted(
    room: Path, words: str, asked: str, day: int
) -> None:
    """A lid at each look, since they jump; a sorting in the morning alone."""
    room.write_text(_ROOM + _JUMPERS, "utf-8")
    for later in range(3):
        for clock in ("07:00", "07:10", "19:00"):
            said = _said(room, f"2027-03-{day + later:02}T{clock}", "today")
            assert (asked in said) is (words == "lid" or clock < "12:00"), (later, clock)
    jotted(room, f"2027-03-{day + 2:02}T19:05", words, "A3")
    assert asked not in _said(room, f"2027-03-{day + 2:02}T19:06", "today")
    # Measured shorter than by the curve, they come to that length a second time.
    jotted(room, f"2027-03-{day + 2:02}T19:10", "length", "rainbows", f"{15 + day / 2} mm")
    tasks = _plan(room, f"2027-03-{day + 2:02}T19:20")["tasks"]
    what = {"lid": "lid", "sorted": "sort"}[words]
    ids = [t["id"] for t in tasks if t["what"] == what and t["subject"] == "rainbows"]
    assert f"{what}/rainbows" not in {key.partition("#")[0] for key in ids if what == "lid"}
    assert not any("#" in key for key in ids)


def test_a_count_that_was_told_stands_until_it_is_noted(tmp_path: Path) -> None:
    """Of six broods each has its day of the week; that day passes, and nobody counted."""
    demo = room_file(tmp_path, horizon_days="7")
    told: set[str] = set()
    for day in range(12, 16):
        at(demo, f"2027-01-{day}T07:00", "today")
        tasks = _plan(demo, f"2027-01-{day}T07:01", "--days", "2")["tasks"]
        counts = {t["id"] for t in tasks if t["what"] == "count"
                  and t["at"] <= f"2027-01-{day}T18:30"}  # fmt: skip
        assert told <= counts
        told = counts
    assert told


@pytest.mark.parametrize("helper", ["", "helper = true\n"])
def test_that_the_tin_ends_is_said_with_days_away_before_it_too(room: Path, helper: str) -> None:
    text = _ROOM.replace("grams = 40", "grams = 2.5").replace("days = 7", "days = 21")
    room.write_text(text, "utf-8")
    ends = r"Hardly any nauplii from \w+ \d+ Mar on: buy \d+ g of cysts by"
    assert re.search(ends, _said(room, "2027-03-02T06:50", "shortfalls"))
    away = "\n[[away]]\nfrom = 2027-03-09\nto = 2027-03-12\n"
    room.write_text(text + away + helper, "utf-8")
    assert re.search(ends, _said(room, "2027-03-02T06:50", "shortfalls"))


def _before_leaving(room: Path, clock: str) -> str:
    said = at(room, clock, "today", "--now", clock).stdout
    return said.partition("BEFORE YOU LEAVE")[2].partition("\n\n")[0]


def test_before_leaving_as_many_envelopes_are_to_be_filled_as_the_helper_opens(
    room: Path, tmp_path: Path
) -> None:
    text = room.read_text("utf-8")
    assert "envelope" not in _before_leaving(room, "2027-03-04T20:00"), "nobody feeds"
    room.write_text(text + "helper = true\n", "utf-8")
    sheet = tmp_path / "helper.html"
    at(room, "2027-03-04T20:00", "sheet", "--helper", "--out", str(sheet))
    opened = {int(n) for n in re.findall(r"[Oo]pen envelope (\d+)", sheet.read_text("utf-8"))}
    assert opened
    assert f"fill {max(opened)} envelopes of dry food" in _before_leaving(room, "2027-03-04T20:00")


def test_who_gets_nothing_though_somebody_feeds_is_said_before_leaving() -> None:
    """A helper feeds on Friday and Saturday: A1 gets its fill, A2 nothing from Friday evening on,
    A3 a twentieth all the time, A4 nothing once, at one round of two a day. What is got by Thursday
    helps A2; what is there on Sunday helps nobody by then.
    """
    text = _ROOM + "\n[[away]]\nfrom = 2027-03-05\nto = 2027-03-06\nhelper = true\n"
    room = read_room(text, today=datetime(2027, 3, 4, tzinfo=UTC).date())
    now = datetime(2027, 3, 4, 17, tzinfo=UTC)
    times = [room.local(now.date() + timedelta(days=day), each)
             for day in range(1, 4) for each in room.rounds]  # fmt: skip
    full, none = 9.0, 0.0
    given = {
        "A1": [full] * 4, "A2": [full, none, none, none], "A3": [0.5] * 4,
        "A4": [full, none, full, full],
    }  # fmt: skip
    lines = [
        FeedLine(at_, tank, tank, "dry", 10.0, j, 1.0, "mL")
        for tank, row in given.items() for at_, j in zip(times, row, strict=False)
    ]  # fmt: skip
    soon = Remedy("get one", now, 5.0, helps_from=times[2], act=Act.RIPE)
    late = Remedy("get two", now, 5.0, helps_from=times[4], act=Act.RIPE)
    short = SimpleNamespace(
        certain=True, at=times[1], until=times[5], tanks=("A2",), remedies=(late, soon),
        limit="thin",
    )  # fmt: skip
    plan: Any = SimpleNamespace(tasks=(), lines=lines, shortfalls=(short,))
    found = next_absence(room, plan, now, ["calendar --out jobs.ics"])
    assert found is not None
    assert set(found.unfed) == {
        Unfed(("A2",), times[1], times[3], (soon,)), Unfed(("A3",), times[0], times[3])
    }  # fmt: skip
    said = " ".join(leaving(found, Tools()).split())
    assert "nothing, or hardly anything, for A2 from Fri 5 Mar 18:30 to Sat 6 Mar 18:30; by" in said
    assert "get one, which helps from Sat 6 Mar" in said
    assert "get two" not in said
    assert "Sat 6 Mar 18:30; nothing that was tried helps before you leave" in said
    assert "the calendar: livefood calendar --out jobs.ics" in said


def test_a_calendar_that_is_kept_is_to_be_brought_up_to_date_before_leaving(
    room: Path, tmp_path: Path
) -> None:
    assert "calendar" not in _before_leaving(room, "2027-03-04T17:00")
    kept = tmp_path / "jobs.ics"
    at(room, "2027-03-03T17:00", "calendar", "--out", str(kept))
    assert "the calendar: livefood calendar" in _before_leaving(room, "2027-03-04T17:00")
    (tmp_path / ".jobs.ics.livefood").unlink()
    assert "the calendar" not in _before_leaving(room, "2027-03-04T17:00")


def test_before_leaving_nothing_is_said_to_stand_below_that_does_not() -> None:
    """What is to be set stands under its head; a hatch to be drawn off is a step of its round, and
    is said here too for as long as it is to be.
    """
    day = datetime(2027, 3, 4, 18, 30, tzinfo=UTC)
    drawn = told_task("harvest_hatch", day, "cone", {"nauplii": 50_000.0}).task
    made = told_task("set_hatch", day, "cool bottle").task
    leaves = Absence(Away(day.date(), day.date()), (drawn, made))
    said = leaving(evolve(leaves, tasks=(drawn,)), Tools(), [drawn])
    assert "- Thu 4 Mar 18:30: harvest cone" in said
    assert "nothing more" not in said
    assert "below" not in said
    said = leaving(leaves, Tools(), [drawn, made])
    assert "- Thu 4 Mar 18:30: harvest cone" in said
    assert "- and what stands under TO SET GOING" in said
    assert "nothing more is to be set" in leaving(evolve(leaves, tasks=()), Tools(), [drawn])


@pytest.mark.parametrize("clock", ["2027-03-02T18:12", "2027-03-02T18:32"])
def test_a_round_whose_hatch_gave_few_says_how_few(room: Path, clock: str) -> None:
    """Half a gram of cysts gives tens of thousands; of half of that nothing is said."""
    room.write_text(_ROOM, "utf-8")
    for before in ("01T18:00", "02T07:00", "02T17:50"):
        said = _said(room, f"2027-03-{before}", "today")
    told = re.search(r"cone: draw off the nauplii.* \(about ([\d,]+)\)", said)
    assert told is not None
    jotted(room, "2027-03-02T18:10", "hatched", "cone", "400", "--sure")
    said = _said(room, clock, "today")
    assert f"! only 400 nauplii from cone, where about {told[1]} were planned" in said
    jotted(room, clock, "undo")
    half = str(int(told[1].replace(",", "")) // 2)
    jotted(room, "2027-03-02T18:10", "hatched", "cone", half)
    assert "were planned" not in _said(room, clock, "today")


def test_a_setting_names_the_strain_of_the_tin(room: Path) -> None:
    """As planned, as it is told, and as it stands in the record a day later."""
    evening, morning = "2027-03-01T18:00", "2027-03-02T07:00"
    text = _ROOM.replace("days = 7", "days = 14")
    room.write_text(text, "utf-8")
    assert "set cone: 0.5 g cysts," in _said(room, evening, "today", "--now", evening)
    room.write_text(text + 'strain = "san_francisco_bay"\n', "utf-8")
    said = r"set cone: [\d.]+ g San Francisco Bay cysts,"
    assert re.search(said, _said(room, evening, "today"))
    assert re.search(rf"TAKEN AS DONE.* {said}", _said(room, morning, "today"))
    named = [t["strain"] for t in _plan(room, morning)["tasks"] if t["what"] == "set_hatch"]
    assert set(named) == {"San Francisco Bay"}
    room.write_text(text.replace("[cysts]", "[[cysts]]"), "utf-8")
    said = _said(room, evening, "check", code=2)
    assert "cysts: stands once: write [cysts] for all that is planned with" in said


@pytest.mark.parametrize("clock", ["18:40", "20:30"])
def test_on_the_evening_before_days_away_what_was_told_and_not_done_still_stands(
    room: Path, clock: str
) -> None:
    """The last round before leaving has begun, or is over; the next one with the keeper is days on.

    There are no cysts left, and the rainbowfish are of an age to jump.
    """
    text = _ROOM.replace("grams = 40", "grams = 0") + _JUMPERS + _AWAY
    room.write_text(text.replace("as_of = 2027-03-01", "as_of = 2027-03-03"), "utf-8")
    at(room, "2027-03-04T06:45", "today")
    at(room, "2027-03-04T17:00", "today")
    kept = ("buy", "count", "sort", "lid", "move_on")

    def told(clock: str) -> dict[str, str]:
        tasks = _plan(room, f"2027-03-04T{clock}", "--days", "3")["tasks"]
        return {t["id"]: t["at"][:10] for t in tasks
                if t["what"] in kept and t["at"] < "2027-03-05"}  # fmt: skip

    before = told("17:01")
    assert {key.partition("/")[0] for key in before} >= {"buy", "lid"}
    assert told(clock) == before
    said = _said(room, f"2027-03-04T{clock}", "today")
    assert "nothing more is to be set" not in said
    assert "buy brine shrimp cysts" in said.partition("TO SET GOING")[2]


def test_before_leaving_it_is_said_what_cannot_be_packed(room: Path) -> None:
    text = _ROOM + _AWAY + "helper = true\n\n[supplies]\ndry_g = "
    room.write_text(text + "500\n", "utf-8")
    assert "too little dry food" not in _before_leaving(room, "2027-03-04T20:00")
    room.write_text(text + "0\n", "utf-8")
    said = " ".join(_before_leaving(room, "2027-03-04T20:00").split())
    assert "there is too little dry food to pack from Fri 5 Mar 07:30 on: get more first" in said
    assert "envelope" not in said


def test_a_hatch_to_be_drawn_off_before_leaving_is_named_until_it_is(room: Path) -> None:
    """Set and noted on the day before, it stood under CAN WAIT alone."""
    room.write_text(room.read_text("utf-8") + "helper = true\n", "utf-8")
    eve = "2027-03-04"
    tasks = _plan(room, "2027-03-03T07:00")["tasks"]
    last = max(t["at"] for t in tasks if t["what"] == "harvest_hatch" and t["at"] < f"{eve}T23")
    assert last.startswith(eve)
    clocks = [
        "2027-03-03T07:00",
        "2027-03-03T20:40",
        f"{eve}T06:40",
        f"{eve}T20:00",
        f"{eve}T20:30",
    ]
    for clock in clocks:
        said = at(room, clock, "today").stdout
        before = said.partition("BEFORE YOU LEAVE")[2].partition("\n\n")[0]
        assert "harvest c" in before, clock  # on the eve, and on the morning of leaving
        if clock[11:] > "20":
            jotted(room, clock, "done")


def _told_harvests(room: Path, clock: str) -> set[str]:
    """The harvests told for the morning of the 6th, as the record has them."""
    now = datetime.fromisoformat(clock).replace(tzinfo=UTC)  # Lisbon in winter
    tasks = read_record(record_path(room), UTC, now).tasks
    return {
        key for key, told in tasks.items()
        if key.startswith("harvest_hatch/") and told.task.at.date().isoformat() == "2027-03-06"
        and told.task.at.hour < 8
    }  # fmt: skip


@pytest.mark.parametrize("since", ["2027-03-06", "2027-03-05 20:30"])
def test_the_answer_to_an_absence_says_what_is_drawn_off_on_the_morning_of_leaving(
    room: Path, since: str
) -> None:
    """Who is away on Saturday may be gone on Friday evening: then nothing is drawn off."""
    room.write_text(_ROOM, "utf-8")
    for clock in ("2027-03-03T20:00", "2027-03-04T20:00", "2027-03-05T20:00"):
        at(room, clock, "today")
    assert _told_harvests(room, "2027-03-05T20:01")
    answer = at(
        room, "2027-03-05T20:10", "journal", "away", *since.split(), "to", "2027-03-08", "--helper"
    )
    said = " ".join(answer.stdout.split())
    words = "before you leave: harvest cone, from which the helper feeds"
    assert (words in said) is (since == "2027-03-06")
    assert ("as in 'away fri 20:00 to ...'" in said) is (since == "2027-03-06")
    tasks = _plan(room, "2027-03-05T20:20", "--days", "3")["tasks"]
    days = {t["at"][:10] for t in tasks if t["what"] == "harvest_hatch"}
    assert ("2027-03-06" in days) is (since == "2027-03-06")


@pytest.mark.parametrize("on_the_eve", [False, True])
def test_a_hatch_told_for_the_morning_of_leaving_is_drawn_off_for_the_helper(
    room: Path, *, on_the_eve: bool
) -> None:
    """The absence is told on its first morning: the bottle is ripe, and the keeper still there.

    Told and looked at on the eve too.
    """
    room.write_text(_ROOM, "utf-8")
    for clock in ("2027-03-03T20:00", "2027-03-04T20:00", "2027-03-05T20:00"):
        at(room, clock, "today")
    told = _told_harvests(room, "2027-03-05T20:01")
    assert told
    away = ("add", "away", "from=2027-03-06", "to=2027-03-08", "helper=yes", "--yes")
    if on_the_eve:
        at(room, "2027-03-05T20:10", *away)
        at(room, "2027-03-05T20:11", "today")
    else:
        at(room, "2027-03-06T06:31", *away)
    tasks = _plan(room, "2027-03-06T06:32", "--days", "1")["tasks"]
    still = told & {t["id"] for t in tasks if t["at"] < "2027-03-06T08"}
    assert still == told
    sheet = room.parent / "helper.html"
    at(room, "2027-03-06T06:33", "sheet", "--helper", "--out", str(sheet))
    assert {key for key in told if f"{key}#at" in sheet.read_text("utf-8")} == still
    at(room, "2027-03-06T06:34", "today")
    due = json.loads(at(room, "2027-03-06T12:00", "journal", "due", "--json").stdout)
    assert {key for key in told if key in json.dumps(due)} == still
