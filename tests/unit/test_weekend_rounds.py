"""Rooms that are fed at other times on Saturdays and Sundays."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.errors import BadFileError
from cultures.journal.absences import Away
from cultures.needs.need import BroodNeed, room_needs, rounds_between
from cultures.planning.leaving import _unfed
from cultures.planning.matching import hungry_rounds
from cultures.planning.plan import make_plan
from cultures.planning.servings import Serving
from cultures.replay.meals import Meals
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.task import HarvestWorms
from cultures.tasks.told import FeedLine
from tests.cli.invented import at, jotted, room_file

#: 7 January 2027 is a Thursday.
_TEXT = """
[room]
timezone = "Europe/Berlin"
temperature_c = 22
as_of = 2027-01-07
rounds = ["07:30", "18:30"]
{weekend}

[[tank]]
name = "A1"
litres = 60
temperature_c = 25

[[brood]]
name = "one"
tank = "A1"
class = "egg_scatterer"
count = 300
free_swimming = 2026-12-20
foods = ["microworm"]

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-25
medium_g = 150
surface_cm2 = 150
starter_g = 15
"""
_WEEKEND = 'weekend_rounds = ["09:00", "13:00", "18:30"]'


def _room(weekend: str = _WEEKEND) -> Room:
    return read_room(_TEXT.format(weekend=weekend), today=date(2027, 1, 7))


def _moment(room: Room, day: int, clock: str = "00:00") -> datetime:
    return datetime.fromisoformat(f"2027-01-{day:02}T{clock}").replace(tzinfo=room.timezone)


def test_saturday_and_sunday_have_rounds_of_their_own() -> None:
    room = _room()
    found = rounds_between(room, _moment(room, 8), _moment(room, 12))
    assert [f"{r.at:%a %H:%M}" for r in found] == [
        "Fri 07:30", "Fri 18:30", "Sat 09:00", "Sat 13:00", "Sat 18:30",
        "Sun 09:00", "Sun 13:00", "Sun 18:30", "Mon 07:30", "Mon 18:30",
    ]  # fmt: skip
    assert [r.per_day for r in found] == [2, 2, 3, 3, 3, 3, 3, 3, 2, 2]


def test_the_need_of_a_day_is_split_over_the_rounds_of_that_day() -> None:
    room = _room()
    for day, of in ((8, 2), (9, 3)):
        start = _moment(room, day)
        each = rounds_between(room, start, start + timedelta(days=1))
        usual = rounds_between(_room(""), start, start + timedelta(days=1))
        rows, whole = (
            [sum(n.energy_j for n in row) for row in room_needs(room, rounds)]
            for rounds in (each, usual)
        )
        assert len(rows) == of
        # What it grows between the rounds of a day is all that the two days differ by.
        assert sum(rows) == pytest.approx(sum(whole), rel=0.02)


def test_worms_of_a_day_are_divided_over_its_rounds() -> None:
    """A careful keeper takes a share of them a day, so a third of it at each of three rounds."""
    room = _room()
    plan = make_plan(room, now=_moment(room, 8))
    model = room.cultures[0].kind.model(medium_g=150, surface_cm2=150)
    taken = [t for t in plan.tasks if isinstance(t, HarvestWorms) and t.at.day == 9]
    assert taken
    most = model.harvestable(model.capacity_mg, 3)
    assert all(t.mg <= most * 1.001 for t in taken)


@pytest.mark.parametrize(
    ("weekend", "said"),
    [
        ('weekend_rounds = ["13:00", "09:00"]', "must ascend, each time once"),
        ('weekend_rounds = ["05:00"]', "05:00 lies outside awake (06:30 to 22:30)"),
        ("weekend_rounds = []", "must list 1 to 8 feeding times of Saturdays and Sundays"),
    ],
)
def test_what_is_wrong_with_them_is_said_with_the_key(weekend: str, said: str) -> None:
    with pytest.raises(BadFileError) as found:
        _room(weekend)
    assert said in str(found.value)
    assert "weekend_rounds" in str(found.value)


def test_a_round_of_the_weekend_is_told_and_noted_by_its_own_time(tmp_path: Path) -> None:
    room = room_file(tmp_path, horizon_days="3", weekend_rounds='["09:00", "13:00", "18:30"]')
    assert "ROUND 13:00" in at(room, "2027-01-09T12:50", "today").output
    jotted(room, "2027-01-09T13:10", "done")
    shown = at(room, "2027-01-09T13:11", "journal", "show").output
    assert "Sat 9 Jan 13:00" in shown
    assert "13:00 round" in shown
    hatch = at(room, "2027-01-08T07:00", "hatch", "--at", "2027-01-09T07:30", code=2).output
    assert "name one of its rounds, 09:00, 13:00 and 18:30" in " ".join(hatch.split())


#: Saturday has one round and Friday four, all other days two.
_BY_WEEKDAY = 'rounds_on = { sat = ["12:00"], fri = ["08:00", "12:00", "16:00", "20:00"] }'


def test_a_usual_day_is_the_mean_of_a_week() -> None:
    assert _room(_BY_WEEKDAY).usual_rounds() == pytest.approx((5 * 2 + 4 + 1) / 7)
    assert _room().usual_rounds() == pytest.approx((5 * 2 + 2 * 3) / 7)
    assert _room("").usual_rounds() == 2.0


@pytest.mark.parametrize(
    ("clocks", "hungry"),
    [
        (["09T12:00"], 1),  # the one round of Saturday is its day
        (["10T07:30"], 0),  # of Sunday it is half of it
        (["10T07:30", "10T18:30"], 1),
        (["08T08:00", "08T12:00", "08T16:00"], 0),
        (["08T08:00", "08T12:00", "08T16:00", "08T20:00", "09T12:00"], 2),
    ],
)
def test_a_hungry_day_has_the_rounds_of_that_day(clocks: list[str], hungry: int) -> None:
    room = _room(_BY_WEEKDAY)
    moments = [datetime.fromisoformat(f"2027-01-{c}").replace(tzinfo=room.timezone)
               for c in clocks]  # fmt: skip
    rows = [[Serving(BroodNeed(room.broods[0], at_, 6.0, 10, 100.0, {}), {})] for at_ in moments]
    assert hungry_rounds(room, rows) == hungry


def test_nothing_at_the_one_round_of_a_day_away_is_a_day_without_food() -> None:
    room = _room(_BY_WEEKDAY)
    given = {_moment(room, 9, "12:00"): 0.0, _moment(room, 10, "07:30"): 100.0,
             _moment(room, 10, "18:30"): 0.0}  # fmt: skip
    lines = [FeedLine(at_, "A1", "one", "microworm", 100.0, j, 5.0, "mL")
             for at_, j in given.items()]  # fmt: skip
    plan: Any = SimpleNamespace(lines=lines, shortfalls=[])
    away = Away(date(2027, 1, 9), date(2027, 1, 10), helper=True)
    found = [*_unfed(evolve(room, away=(away,)), plan, away, _moment(room, 8, "20:00"))]
    assert [(unfed.first, unfed.last) for unfed in found] == [
        (_moment(room, 9, "12:00"), _moment(room, 9, "12:00"))
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("round_at", "visit", "share"),
    [
        ((9, "12:00"), "21:00", 1.0),  # of one round a day: half a day to either side
        ((9, "12:00"), "23:59", 1.0),
        ((8, "12:00"), "16:00", 0.0),  # of four: three hours
        ((8, "12:00"), "14:30", 1.0),
        ((7, "07:30"), "13:00", 1.0),  # of two: six
        ((7, "07:30"), "14:00", 0.0),
    ],
)
def test_who_feeds_near_an_empty_round_fed_it(
    round_at: tuple[int, str], visit: str, share: float
) -> None:
    room = _room(_BY_WEEKDAY)
    bare = _moment(room, *round_at)
    meals = Meals(evolve(room, bare={"one": ((bare, bare),)}))
    meals.visited("one", _moment(room, round_at[0], visit).timestamp() / 3600.0)
    first, last = (bare + timedelta(minutes=m) for m in (-1, 1))
    found = meals.of("one", first.timestamp() / 3600.0, last.timestamp() / 3600.0)
    assert [meal.share for meal in found] == ([share] if share < 1.0 else [])
