"""When fish can go, by hand: the day, its range, the task; and what sales and losses leave."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from cultures.errors import BadFileError
from cultures.journal.events import LEAVING, Entry
from cultures.needs.dates import sale_date
from cultures.needs.need import BroodCourse, rounds_between
from cultures.planning.brood_tasks import brood_date_tasks
from cultures.planning.plan import make_plan
from cultures.replay.own_values import OwnValues
from cultures.room.file import read_room
from cultures.room.room import Room, SellAt
from cultures.tasks.task import Sell
from cultures.words.tasks import task_text
from cultures.words.tools import Tools
from tests.unit.recorded import room_at

_TODAY = date(2027, 1, 10)
_LISBON = ZoneInfo("Europe/Lisbon")


def _room(brood: str = "", head: str = "") -> Room:
    """One tank at the reference temperature of its class, so that a day is a day of growth."""
    return read_room(
        f"""
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23.5
{head}
[[tank]]
name = "A1"
litres = 200
temperature_c = 27
[[brood]]
name = "one"
tank = "A1"
class = "bubble_nest"
count = 60
{brood or "free_swimming = 2027-01-10"}
""",
        today=_TODAY,
    )


def _course(room: Room) -> BroodCourse:
    return BroodCourse.of(room, room.broods[0])


def _tasks(room: Room, start: date = _TODAY, days: int = 90) -> list[Sell]:
    begin = datetime.combine(start, datetime.min.time(), _LISBON)
    every = rounds_between(room, begin, begin + timedelta(days=days))
    rounds = [feeding for feeding in every if feeding.keeper]
    found = brood_date_tasks([_course(room)], rounds, start, start + timedelta(days=days))
    return [task for task in found if isinstance(task, Sell)]


def test_the_day_of_a_length_and_its_range_are_those_of_the_growth_curve() -> None:
    course = _course(_room(head='sell_at = "20 mm"'))
    sale = sale_date(course)
    assert sale is not None
    v, rate = course.fry_class.values, course.fry_class.parameters["growth_rate_per_day"]
    # Gompertz, solved for the time: L = L0 (Linf / L0) ^ (1 - exp(-g t))
    whole = math.log(v["length_limit_mm"] / v["length_first_food_mm"])
    part = -math.log(1 - math.log(20 / v["length_first_food_mm"]) / whole)
    for day, speed in ((sale.day, rate.value), (sale.early, rate.high), (sale.late, rate.low)):
        assert abs((day - _TODAY).days - part / speed) <= 1
    assert sale.early < sale.day < sale.late
    assert sale.length_mm == 20


@pytest.mark.parametrize(("text", "days"), [("8 weeks", 56), ("60 days", 60), ("9 wk", 63)])
def test_an_age_counts_from_the_first_food(text: str, days: int) -> None:
    sale = sale_date(_course(_room(head=f'sell_at = "{text}"')))
    assert sale is not None
    assert sale.day == sale.early == sale.late == _TODAY + timedelta(days=days)


def test_a_brood_that_is_measured_keeps_its_age() -> None:
    room = _room(head='sell_at = "8 weeks"')
    measured = Entry(datetime(2027, 1, 24, 12, tzinfo=_LISBON), "length", "one", "", 7.0, "mm")
    now = datetime(2027, 1, 25, 12, tzinfo=_LISBON)
    later = room_at(room, [measured._replace(line=2)], now, own_values=OwnValues())
    assert later.broods[0].anchor == "length"
    before, after = (sale_date(_course(r)) for r in (room, later))
    assert before is not None
    assert after is not None
    assert after.day == before.day


def test_a_brood_known_by_its_length_alone_has_the_age_of_its_curve() -> None:
    course = _course(_room("length_mm = 12\nmeasured_on = 2027-01-10", 'sell_at = "8 weeks"'))
    sale = sale_date(course)
    assert sale is not None
    age = course.fry_class.growth_days(12)  # at the reference a day is a day
    assert abs((sale.day - _TODAY).days - (56 - age)) <= 1


def test_the_own_word_of_a_brood_holds_over_that_of_the_room() -> None:
    room = _room('free_swimming = 2027-01-10\nsell_at = "1 in"', 'sell_at = "8 weeks"')
    assert room.broods[0].sell_at == SellAt(length_mm=25.4)
    never = _room('free_swimming = 2027-01-10\nsell_at = "never"', 'sell_at = "8 weeks"')
    assert sale_date(_course(never)) is None
    assert sale_date(_course(_room())) is None


def test_a_brood_of_the_journal_goes_by_the_word_of_the_room() -> None:
    spawn = Entry(
        datetime(2027, 1, 10, 12, tzinfo=_LISBON), "spawn", "two", "A1 bubble_nest", 50, "fry"
    )
    now = datetime(2027, 1, 11, 12, tzinfo=_LISBON)
    room = room_at(_room(head='sell_at = "25 mm"'), [spawn._replace(line=2)], now,
                   own_values=OwnValues())  # fmt: skip
    assert room.brood("two").sell_at == SellAt(length_mm=25)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('"25"', "must be a length or an age"),
        ("25", "must be a length or an age"),
        ('"2 years"', "must be a length or an age"),
        ('"3 mm"', "use 5 to 300 mm"),
        ('"3 days"', "use 7 to 1,100 days"),
    ],
)
def test_what_is_no_length_and_no_age_is_refused(text: str, said: str) -> None:
    with pytest.raises(BadFileError, match=said):
        _room(head=f"sell_at = {text}")


def test_a_length_that_a_brood_never_reaches_is_refused_of_it_and_left_out_for_a_room() -> None:
    with pytest.raises(BadFileError, match="60 mm is never reached"):
        _room('free_swimming = 2027-01-10\nsell_at = "60 mm"')
    room = _room(head='sell_at = "60 mm"')
    assert sale_date(_course(room)) is None
    assert _tasks(room, days=400) == []


def test_the_task_says_how_many_of_which_length_and_stands_at_a_round() -> None:
    room = _room(head='sell_at = "15 mm"')
    (task,) = _tasks(room)
    sale = sale_date(_course(room))
    assert sale is not None
    assert (task.id, task.at.date(), f"{task.at:%H:%M}") == ("sell/one", sale.day, "07:30")
    alive = 60 * room.broods[0].survival_per_day ** (sale.day - _TODAY).days
    assert task.fry == round(alive)
    assert task.length_mm == pytest.approx(15, abs=0.6)
    assert task_text(task) == f"one in A1 can go: {task.fry:.0f} fish of 15 mm"
    assert (
        task_text(task, Tools(units="us")) == f"one in A1 can go: {task.fry:.0f} fish of 0.59 in"
    )  # 15 / 25.4
    assert (
        f"any day from {sale.early.day} {sale.early:%b} to {sale.late.day} {sale.late:%b}"
        in task.why
    )
    assert "never release fish outdoors" in task.caution


def test_a_date_that_is_over_is_told_at_the_next_round() -> None:
    room = _room("length_mm = 26\nmeasured_on = 2027-01-10", 'sell_at = "25 mm"')
    later = date(2027, 3, 1)
    (task,) = _tasks(room, later)
    assert task.at.date() == later


def test_a_room_that_says_nothing_has_no_such_task() -> None:
    plan = make_plan(_room(), now=datetime(2027, 1, 10, 6, tzinfo=_LISBON), days=90, remedies=False)
    assert not [task for task in plan.tasks if isinstance(task, Sell)]
    assert _tasks(_room()) == []


@pytest.mark.parametrize("event", LEAVING)
def test_sold_dead_and_missing_fish_are_there_no_more(event: str) -> None:
    room, at = _room(), datetime(2027, 1, 12, 9, tzinfo=_LISBON)
    now = at + timedelta(hours=1)
    alive = room.broods[0].alive(at.date())

    def after(other: str = "", amount: float | None = None) -> Room:
        entry = Entry(at, event, "one", other, amount, "fry" if amount else "", line=2)
        return room_at(room, [entry], now, own_values=OwnValues())

    assert after(amount=10).brood("one").alive(at.date()) == pytest.approx(alive - 10)
    assert after("all").broods == ()
    assert after("all", 10).broods == ()
