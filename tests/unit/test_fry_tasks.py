"""Tasks and warnings that the broods bring into a plan."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.journal.entries import Entry
from cultures.needs.need import BroodCourse, rounds_between
from cultures.planning.brood_tasks import brood_date_tasks
from cultures.planning.plan import make_plan
from cultures.planning.water import tank_loads, water_warnings
from cultures.room.file import read_room
from cultures.room.room import Room, Tank
from cultures.tasks.task import SwitchFood, Task
from cultures.tasks.told import FeedLine
from cultures.words.tasks import task_text

TODAY = date(2027, 1, 10)
LISBON = ZoneInfo("Europe/Lisbon")


def _room(extra: str = "", litres: float = 100) -> Room:
    return read_room(
        f"""
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
{extra}
[[tank]]
name = "A1"
litres = {litres}
temperature_c = 26
[[brood]]
name = "annuals"
tank = "A1"
class = "annual_killifish"
count = 60
free_swimming = 2027-01-10
""",
        name="room.toml",
        today=TODAY,
    )


def _tasks(room: Room, start: date = TODAY, days: int = 40) -> dict[str, Task]:
    begin = datetime.combine(start, datetime.min.time(), LISBON)
    every = rounds_between(room, begin, begin + timedelta(days=days))
    rounds = [feeding for feeding in every if feeding.keeper]
    courses = [BroodCourse.of(room, brood) for brood in room.broods]
    tasks = list(brood_date_tasks(courses, rounds, start, start + timedelta(days=days)))
    by_id = {task.id: task for task in tasks}
    assert len(by_id) == len(tasks)
    return by_id


def test_a_brood_is_sorted_covered_and_moved_once_each_at_a_round() -> None:
    tasks = _tasks(_room())
    assert list(tasks) == ["sort/annuals/13mm", "lid/annuals", "move_on/annuals"]
    for task in tasks.values():
        assert (task.at.hour, task.at.minute) == (7, 30)
        assert task.amounts["fry"] > 0
        assert task.caution


def test_who_has_the_largest_tank_of_the_room_is_not_to_move_for_its_length_alone() -> None:
    """No other would be larger; who is crowded moves even so."""
    for mine, other, moves in ((100, 50, False), (100, 200, True), (10, 5, True)):
        room = _room(litres=mine)
        two = evolve(room, tanks=(*room.tanks, Tank("A2", other, 26.0)))
        assert ("move_on/annuals" in _tasks(two)) is moves, (mine, other)


def test_a_few_fish_in_much_water_are_not_to_move_for_their_length() -> None:
    """Two of 32 mm in 100 L have a litre and a half for each millimetre; sixty have a twentieth."""
    for count, moves in ((60, True), (2, False)):
        room = _room()
        few = evolve(room, broods=tuple(evolve(b, count=count) for b in room.broods))
        assert ("move_on/annuals" in _tasks(few)) is moves


@pytest.mark.parametrize(
    ("others", "named"),
    [
        ([("A2", 50.0, 26.0), ("A3", 300.0, 26.0), ("A4", 400.0, 26.0)], " A3, 300 L, is free."),
        ([("A2", 50.0, 26.0), ("A3", 300.0, 12.0)], ""),  # it is too cold for them
    ],
)
def test_a_move_names_the_smallest_free_tank_that_is_larger(
    others: list[tuple[str, float, float]], named: str
) -> None:
    room = _room(litres=60)
    wider = evolve(room, tanks=(*room.tanks, *(Tank(*each) for each in others)))
    why = _tasks(wider)["move_on/annuals"].why
    assert (named in why) if named else ("is free" not in why)
    # Where another brood lives, nobody is sent.
    lodger = evolve(room.broods[0], name="lodgers", tank="A3")
    if named:
        full = evolve(wider, broods=(*wider.broods, lodger))
        assert " A4, 400 L, is free." in _tasks(full)["move_on/annuals"].why


def test_tomorrow_the_same_tasks_stand_on_the_same_days() -> None:
    today, tomorrow = _tasks(_room()), _tasks(_room(), TODAY + timedelta(days=1), 39)
    assert tomorrow == today


def test_who_is_crowded_already_is_to_be_moved_at_the_next_round_told_or_not() -> None:
    """60 fry of some 15 mm are 900 mm; 60 mm a litre are borne, of which 10 L make 600 mm."""
    day = _tasks(_room(litres=10))["move_on/annuals"].at.date()
    for late in (1, 5, 20):
        task = _tasks(_room(litres=10), day + timedelta(days=late))["move_on/annuals"]
        assert task.at.date() == day + timedelta(days=late)
        assert "more than the 600 mm that 10 L bear" in task.why
    assert _tasks(_room(), day + timedelta(days=1))["move_on/annuals"].at.date() > day


def test_measured_fish_that_are_crowded_when_the_file_begins_are_to_be_moved() -> None:
    """150 of 21 mm are 3,150 mm; in 30 L 3,000 are borne. In 32 L 3,200 are, for a few days."""
    for litres, at_once in ((30, True), (32, False)):
        text = f"""
[[tank]]
name = "A2"
litres = {litres}
temperature_c = 25
[[brood]]
name = "guppies"
tank = "A2"
class = "livebearer"
count = 150
length_mm = 21
measured_on = 2027-01-10
"""
        task = _tasks(_room(text))["move_on/guppies"]
        assert (task.at.date() == TODAY) is at_once
        assert f"{litres} L bear" in task.why
    away = "[[away]]\nfrom = 2027-01-10\nto = 2027-01-12\nhelper = true"
    back = _tasks(_room(text.replace("32", "30") + away))["move_on/guppies"]
    assert back.at.date() == TODAY + timedelta(days=3)


def test_who_was_skipped_to_be_moved_is_not_asked_for_anew_and_who_was_moved_is() -> None:
    """Where they are crowded still, and by what was noted last."""
    room = _room(litres=10)
    later = _tasks(room)["move_on/annuals"].at.date() + timedelta(days=3)
    noted = Entry(datetime.combine(later, datetime.min.time(), LISBON), "move", "annuals", "A1")
    skipped = noted._replace(event="skip")
    first, again = "move_on/annuals", "move_on/annuals#2"
    for answered, asked in (
        ({first: noted}, True), ({first: skipped}, False),
        ({first: noted, again: skipped}, False), ({first: skipped, again: noted}, True),
    ):  # fmt: skip
        found = _tasks(evolve(room, answered=answered), later, 1)
        assert (first in found) is asked, answered


def test_a_move_that_is_late_says_how_long_they_are_by_now() -> None:
    """They are to be moved at 20 mm, and grow on while nobody notes it."""
    room = _room()
    told = _tasks(room)["move_on/annuals"]
    assert "by now" not in told.why
    later = told.at + timedelta(days=7)
    task = _tasks(evolve(room, unanswered={told.id: told.at}), later.date(), 1)[told.id]
    length = task.amounts["length_mm"]
    assert length > 21
    assert task.why.startswith(f"20 mm: time for a grow-out tank. They are {length:.0f} mm by now.")


def test_an_absence_puts_a_task_off_until_the_keeper_is_back() -> None:
    usual = _tasks(_room())["lid/annuals"].at.date()
    away = f"[[away]]\nfrom = {usual}\nto = {usual + timedelta(days=2)}\nhelper = true"
    assert _tasks(_room(away))["lid/annuals"].at.date() == usual + timedelta(days=3)


def test_a_small_tank_is_left_earlier() -> None:
    small, large = _tasks(_room(litres=10)), _tasks(_room())
    assert small["move_on/annuals"].at < large["move_on/annuals"].at
    assert "10 L bear" in small["move_on/annuals"].why


def _line(day: int, given: float, need: float = 1000, food: str = "dry") -> FeedLine:
    at = datetime(2027, 1, day, 7, 30, tzinfo=LISBON)
    return FeedLine(
        at=at, tank="A1", brood="annuals", food=food, need_j=need, given_j=given, amount=1, unit="g"
    )


def test_the_foods_of_a_day_are_added_up() -> None:
    lines = [_line(10, 500), _line(10, 300, 800), _line(10, 100, 100, "microworm")]
    (load,) = tank_loads(_room(), lines).values()
    assert load.given_over_need == 900 / 1900
    assert load.days_to_limit > 1


def test_a_run_of_heavy_days_is_warned_of_once() -> None:
    lines = [_line(day, 4000) for day in (10, 11, 12)] + [_line(20, 4000)]
    warnings = water_warnings(_room(litres=2), lines)
    assert [w.day.day for w in warnings] == [10, 20]
    assert any("ration" in found.text for found in warnings[0].too_much)
    assert any("ammonia" in found.text for found in warnings[0].too_much)
    assert water_warnings(_room(), [_line(10, 1000)]) == []


@pytest.mark.parametrize("degrees", [23.0, 23.7, 24.4, 25.1, 25.8, 26.5, 27.2])
def test_the_first_food_is_announced_at_the_round_at_which_it_is_given(degrees: float) -> None:
    text = demo_text(date(2027, 1, 5)).replace(
        "litres = 20\ntemperature_c = 27", f"litres = 20\ntemperature_c = {degrees}", 1
    )
    room = read_room(text, today=date(2027, 1, 5))
    plan = make_plan(room, now=datetime(2027, 1, 5, 5, tzinfo=room.timezone), remedies=False)
    task = next(t for t in plan.tasks if t.id == "first_food/honey gourami 7")
    fed = min(x.at for x in plan.lines if x.brood == "honey gourami 7" and x.amount > 0)
    assert task.at == fed


_SWITCHES = """
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-28
medium_g = 400
surface_cm2 = 500
starter_g = 40
[[vessel]]
name = "V1"
litres = 1
temperature_c = 27
[[tank]]
name = "A2"
litres = 100
temperature_c = 26
[[brood]]
name = "rainbows"
tank = "A2"
class = "rainbowfish"
count = 60
free_swimming = 2027-01-08
[cysts]
grams = {}
"""


@pytest.mark.parametrize("grams", [0, 60])
def test_no_food_is_to_be_made_the_main_one_at_a_round_that_does_not_give_it(grams: int) -> None:
    room = _room(_SWITCHES.format(grams))
    plan = make_plan(room, now=datetime(2027, 1, 10, 6, tzinfo=LISBON), days=30, remedies=False)
    told = [t for t in plan.tasks if isinstance(t, SwitchFood)]
    for task in told:
        given = {
            x.food: x.given_j for x in plan.lines if (x.at, x.brood) == (task.at, task.subject)
        }
        assert given[task.other] == max(given.values()) > 0, (task, given)
        if task.alone:
            assert {food for food, given_j in given.items() if given_j > 0} == {task.other}
        words = "alone" if task.alone else "the main food"
        assert f"{words} from this round on" in task_text(task)
    assert ("brine_shrimp" in {t.other for t in told}) == (grams > 0)
