"""Absences of some rounds, days and times, as the room file and the journal say them.

A room that is fed at 07:30 and 18:30 (on weekends at 09:00, 13:00 and 18:30). What is expected of a
round follows from the words of docs/room-file.md; 1 February 2027 is a Monday.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.errors import BadFileError, LivefoodError, RangeError
from cultures.journal.absences import Away, read_away
from cultures.journal.events import Entry, check_entry
from cultures.needs.need import rounds_between
from cultures.planning.hatch_options import HatchOptions, harvest_time
from cultures.planning.outlook import make_outlook
from cultures.planning.what_if import suppose
from cultures.record.present import present
from cultures.record.store import Record
from cultures.replay.meals import Meals
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Room
from cultures.words.moments import hours

_ROOM = """
[room]
timezone = "Europe/Lisbon"
temperature_c = 22
rounds = ["07:30", "18:30"]
weekend_rounds = ["09:00", "13:00", "18:30"]
as_of = 2027-01-31

[[tank]]
name = "A1"
litres = 20
temperature_c = 26

[[brood]]
name = "one"
tank = "A1"
class = "bubble_nest"
count = 60
spawned = 2027-01-20

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-01-20
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[vessel]]
name = "jar"
litres = 1
temperature_c = 27

[cysts]
grams = 30
"""
_ZONE = ZoneInfo("Europe/Lisbon")
_NOW = datetime(2027, 1, 31, 20, tzinfo=_ZONE)
_MORNING, _EVENING = time(7, 30), time(18, 30)


def _day(day: int) -> date:
    return date(2027, 2, day)


def _at(day: int, clock: str) -> datetime:
    return datetime.combine(_day(day), time.fromisoformat(clock), _ZONE)


def _read(*tables: str) -> Room:
    away = "".join(f"\n[[away]]\n{table}\n" for table in tables)
    return read_room(_ROOM + away, today=_NOW.date())


#: Monday to Friday, the evenings of three days.
_LATE = 'from = 2027-02-01\nto = 2027-02-05\nrounds = ["18:30"]\ndays = ["tue", "wed", "thu"]'
#: From Friday evening to Sunday noon.
_WEEKEND = "from = 2027-02-05T18:30:00\nto = 2027-02-07T13:00:00"
#: A week in which nobody comes but in the evenings.
_WEEK = "from = 2027-02-01\nto = 2027-02-05"
_COMES = f'{_WEEK}\nhelper = true\nrounds = ["18:30"]'


def _rounds(room: Room, first: int = 1, last: int = 7) -> list[str]:
    """Rounds without the keeper, as ``2 18:30``; with ``h`` where a helper feeds."""
    found = rounds_between(room, _at(first, "00:00"), _at(last, "23:00"))
    return [f"{r.at.day} {r.at:%H:%M}{' h' * r.fed}" for r in found if not r.keeper]


def test_an_absence_names_the_rounds_and_days_that_it_covers() -> None:
    assert _rounds(_read(_LATE)) == ["2 18:30", "3 18:30", "4 18:30"]
    assert _rounds(_read(_WEEKEND)) == ["5 18:30", "6 09:00", "6 13:00", "6 18:30", "7 09:00",
                                        "7 13:00"]  # fmt: skip
    assert _rounds(_read("from = 2027-02-01\nto = 2027-02-02")) == [
        "1 07:30", "1 18:30", "2 07:30", "2 18:30",
    ]  # fmt: skip


@pytest.mark.parametrize("tables", [(_WEEK, _COMES), (_COMES, _WEEK)])
def test_a_helper_of_the_evenings_alone_leaves_the_mornings_unfed(tables: tuple[str, ...]) -> None:
    room = _read(*tables)
    assert _rounds(room, 1, 2) == ["1 07:30", "1 18:30 h", "2 07:30", "2 18:30 h"]
    assert room.helped(_day(1), _day(5))
    assert not room.helped(_day(6), _day(7))
    assert room.with_helper(_day(1), _day(5)) == room


def test_between_two_rounds_is_there_who_is_there_at_both() -> None:
    """Who works late is gone from after the morning round to the end of the day, and back for the
    steps of the next: who misses the noon of a Saturday is back an hour before its evening round.
    """
    room = _read(_LATE, 'from = 2027-02-06\nto = 2027-02-06\nrounds = ["13:00"]')
    there = {
        _at(2, "06:00"): True, _at(2, "07:30"): True, _at(2, "07:31"): False,
        _at(2, "18:30"): False, _at(2, "22:00"): False, _at(3, "06:40"): True,
        _at(1, "12:00"): True, _at(5, "22:00"): True,
        _at(6, "09:00"): True, _at(6, "10:00"): False, _at(6, "13:00"): False,
        _at(6, "16:00"): False, _at(6, "17:30"): True, _at(6, "20:00"): True,
    }  # fmt: skip
    assert {at: room.away_at(at) is None for at in there} == there
    assert room.away_on(_day(2)) is None


def test_a_day_is_away_where_every_round_is() -> None:
    room = _read(_WEEKEND)
    assert [room.away_on(_day(d)) is not None for d in (4, 5, 6, 7)] == [False, False, True, False]
    assert room.day_there(_day(6)) == _day(7)
    assert _read(_WEEK).day_there(_day(2)) == _day(6)


def test_a_hatch_is_drawn_off_before_a_helper_takes_over_for_whole_days_alone() -> None:
    assert _read(f"{_WEEK}\nhelper = true").leaves(_at(1, "07:00"))
    assert not _read(_COMES).leaves(_at(1, "18:00"))
    assert not _read(f"{_WEEKEND}\nhelper = true").leaves(_at(5, "18:00"))


def test_who_says_a_time_before_the_first_round_draws_nothing_off_after_it() -> None:
    """Gone at five the keeper is not there at seven."""
    room = _read(f"{_WEEK}\nhelper = true")
    (away,) = room.away
    early = evolve(room, away=(evolve(away, since=time(5, 0)),))
    assert not early.leaves(_at(1, "07:00"))


def test_the_keeper_leaves_once_up_or_at_the_time_from_which_on_all_rounds_are_missed() -> None:
    """Who is away all day leaves in the morning, though somebody comes from the evening on."""
    up = _read().awake[0]
    evening = "from = 2027-02-01T18:30:00\nto = 2027-02-05"
    comes = f'{evening}\nhelper = true\nrounds = ["18:30"]'
    assert _read(_WEEK).leaving(_day(1)).time() == up
    assert _read(_WEEK, comes).leaving(_day(1)).time() == up
    assert _read(_WEEKEND).leaving(_day(5)) == _at(5, "18:30")
    assert _read(_COMES, evening).leaving(_day(1)) == _at(1, "18:30")
    assert _read().leaving(_day(1)).time() == up


def test_who_helps_is_supposed_at_the_rounds_that_are_missed() -> None:
    late = _read(_LATE)
    assert not late.helped(_day(1), _day(5))
    assert _rounds(late.with_helper(_day(1), _day(5))) == ["2 18:30 h", "3 18:30 h", "4 18:30 h"]
    supposed = suppose(late, "helper from 2027-02-01 to 2027-02-03", _NOW)
    assert _rounds(supposed) == ["2 18:30 h", "3 18:30 h", "4 18:30"]
    friday = suppose(_read(_WEEKEND), "helper from 2027-02-06 to 2027-02-06", _NOW)
    assert _rounds(friday, 5, 6) == ["5 18:30", "6 09:00 h", "6 13:00 h", "6 18:30 h"]
    with pytest.raises(LivefoodError, match="not away"):
        suppose(_read(), "helper from 2027-02-01 to 2027-02-03", _NOW)


@pytest.mark.parametrize(
    ("table", "line", "said"),
    [
        (f'{_WEEK}\nrounds = ["19:00"]', 40,
         "rounds: the room is not fed at 19:00, but at 07:30, 09:00, 13:00 and 18:30"),
        (f"{_WEEK}\nrounds = []", 40, "must list 1 to 8 feeding times of the room"),
        (f'{_WEEK}\ndays = ["sat"]', 38, "no round of the room lies in Mon 1 Feb to Fri 5 Feb"),
        (f'{_WEEK}\ndays = ["someday"]', 40, "there is no 'someday'"),
        ("from = 2027-02-05T19:00:00\nto = 2027-02-06T08:00:00", 38, "no round of the room"),
        ("from = 2027-02-05T18:30:00\nto = 2027-02-05T07:30:00", 39,
         "2027-02-05 07:30 is before from (2027-02-05 18:30)"),
        (f'{_WEEK}\nround = "18:30"', 40, "did you mean 'rounds'?"),
    ],
)  # fmt: skip
def test_an_absence_that_cannot_be_names_its_line(table: str, line: int, said: str) -> None:
    with pytest.raises(BadFileError) as caught:
        _read(table)
    (problem,) = caught.value.problems
    assert said in str(problem)
    assert problem.line == line


def test_what_is_noted_reads_as_it_was_said() -> None:
    for away in (
        Away(_day(5), _day(7), since=_EVENING), Away(_day(5), _day(5), True),
        Away(_day(1), _day(3), True, (_MORNING, _EVENING), until=time(13)),
    ):  # fmt: skip
        assert read_away(away.noted) == away
    assert Away(_day(5), _day(7), since=_EVENING).noted == "2027-02-05T18:30 to 2027-02-07"


def test_other_programs_read_which_rounds_it_names() -> None:
    (late,) = _read(_LATE).away
    assert late.to_json() == {
        "from": "2027-02-01", "to": "2027-02-05", "helper": False, "rounds": ["18:30"],
        "days": ["tue", "wed", "thu"],
    }  # fmt: skip
    (whole,) = _read(_WEEK).away
    assert whole.to_json() == {"from": "2027-02-01", "to": "2027-02-05", "helper": False}
    (weekend,) = _read(_WEEKEND).away
    assert weekend.to_json()["from"] == "2027-02-05T18:30"


@pytest.mark.parametrize(
    "other",
    ["", "soon", "2027-02-30 to 2027-03-01", "2027-02-05 to 2027-02-04", "2027-02-05",
     "2027-02-05T24:00 to 2027-02-06", "2027-02-05T18:30 to 2027-02-05T07:30",
     "2031-02-05 to 2031-02-06"],
)  # fmt: skip
def test_a_line_of_the_journal_that_says_no_absence_is_refused(other: str) -> None:
    with pytest.raises(RangeError):
        check_entry(Entry(_NOW, "away", "room", other))


def test_what_is_noted_goes_before_the_file_and_the_later_note_before_the_earlier() -> None:
    """The file has a helper for the week, the first note has nobody on Tuesday, the second somebody
    on its evening.
    """
    room = _read(f"{_WEEK}\nhelper = true")
    noted = [
        Entry(_NOW, "away", "room", "2027-02-02 to 2027-02-02", line=2),
        Entry(_NOW + timedelta(minutes=1), "away", "room",
              "2027-02-02T18:30 to 2027-02-02 with helper", line=3),
    ]  # fmt: skip
    found = present(room, noted, Record({}), _NOW + timedelta(hours=1))
    assert _rounds(found.room, 1, 2) == ["1 07:30 h", "1 18:30 h", "2 07:30", "2 18:30 h"]
    assert found.stated == room
    assert present(room, (), Record({}), _NOW).room.away == room.away


def test_no_hatch_is_set_while_somebody_works_late() -> None:
    """At 22 °C cysts take some 35 h: a jar for Thursday morning is best set on the evening of
    Tuesday, on which nobody is home; the morning before is more than 12 h too early, and the one
    after too late. One at 27 °C, which takes a day, can be set on a morning.
    """
    late = _read(_LATE)
    cool = evolve(late, vessels=(evolve(late.vessels[0], temperature_c=22.0),))

    def set_at(room: Room) -> list[datetime]:
        rounds = rounds_between(room, _at(1, "00:00"), _at(6, "00:00"))
        thursday = next(r for r in rounds if r.at == _at(4, "07:30"))
        options = HatchOptions(room, rounds, room.holding)
        model = vessel_model(room, room.vessels[0])
        found = options.settings(model, harvest_time(room, thursday), hours(_at(1, "06:30")))
        return [room.at_hour(setting.at_h) for setting in found]

    assert any(at.hour >= 17 and at.day == 2 for at in set_at(evolve(cool, away=())))
    assert set_at(cool) == []
    assert set_at(late)
    assert all(late.away_at(at) is None for at in set_at(late))


def test_the_plan_gives_nothing_at_missed_rounds_and_tells_what_they_cost() -> None:
    outlook = make_outlook(_read(_LATE), now=_NOW, days=7)
    fed = {r.at for r, row in zip(outlook.feedings, outlook.lines, strict=True) if row}
    missed = {_at(day, "18:30") for day in (2, 3, 4)}
    assert not fed & missed
    assert {_at(2, "07:30"), _at(5, "18:30")} <= fed
    unfed = {gap.feeding.at for gap in outlook.gaps if not gap.feeding.fed}
    assert unfed & {_at(d, "18:30") for d in range(1, 7)} == missed


def test_fry_went_hungry_at_the_missed_rounds_that_are_over() -> None:
    meals = Meals(_read(_LATE))
    hungry = meals.of("one", hours(_at(1, "00:00")), hours(_at(6, "00:00")))
    assert [(m.at_h, m.share) for m in hungry] == [
        (hours(_at(day, "18:30")), 0.0) for day in (2, 3, 4)
    ]  # fmt: skip
