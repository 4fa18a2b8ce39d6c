"""A year at a glance from spans and loads made by hand: stages, weeks, what is too much."""

from __future__ import annotations

import math
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cli.screens import year as page
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.journal.absences import Away
from cultures.needs.dates import BroodDate
from cultures.needs.need import BroodCourse
from cultures.planning import year as module
from cultures.planning.year import (
    BroodYear,
    FoodYear,
    Load,
    Span,
    _bare_days,
    _brood_year,
    _grown,
    _load,
    _needs,
    _stage,
    away_in,
    year_of,
)
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.unit.test_planning_by_hand import _START
from tests.unit.test_shortfall_limits import _TEXT

_TODAY = date(2027, 1, 5)  # a Tuesday
_MONDAY = date(2027, 1, 4)
_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_TODAY)


def _day(number: int) -> date:
    return date(2027, 1, 1) + (number - 1) * _DAY


def _lived(*spans: tuple[Any, int, int]) -> BroodYear:
    course: Any = SimpleNamespace(brood=SimpleNamespace(name="b", tank="A"))
    return BroodYear(course, False, tuple(Span(s, _day(a), _day(b)) for s, a, b in spans), None)


def test_a_week_has_the_stage_of_most_of_its_days_and_of_two_the_later() -> None:
    brood = _lived(("eggs", 4, 6), ("first_food", 7, 10), ("nauplii", 11, 14), ("weaning", 15, 17))
    assert (brood.name, brood.tank, brood.start, brood.end) == ("b", "A", _day(4), _day(17))
    for first, end, stage in (
        (4, 11, "first_food"),  # three days and four
        (4, 10, "first_food"),  # three and three
        (4, 9, "eggs"), (6, 8, "first_food"), (11, 18, "nauplii"), (17, 24, "weaning"),
        (18, 25, None), (1, 4, None), (1, 5, "eggs"),
    ):  # fmt: skip
        assert brood.stage(_day(first), _day(end)) == stage, (first, end)
    gone = _lived(("grow_out", 4, 10), ("can_go", 10, 10))
    assert gone.stage(_day(4), _day(11)) == "can_go"
    assert gone.stage(_day(4), _day(10)) == "grow_out"


def _of(need_j: float, gives_j: float, **by: float) -> Load:
    return Load(_MONDAY, _MONDAY, need_j, gives_j, by)


def test_a_load_is_what_is_asked_over_what_can_be_given() -> None:
    assert _of(30.0, 40.0).share == 0.75
    assert _of(0.0, 0.0).share == 0.0
    assert _of(0.5, 0.0).share == math.inf
    load = _of(30.0, 40.0, a=20.0, b=10.0)
    assert (load.without("a"), load.without("b"), load.without("c")) == (0.25, 0.5, 0.75)
    assert _of(30.0, 40.0, a=99.0).without("a") == 0.0
    assert _of(30.0, 0.0, a=30.0).without("a") == 0.0
    assert _of(30.0, 0.0, a=29.5).without("a") == math.inf


def test_more_than_can_be_given_is_too_much_in_a_row_of_weeks() -> None:
    loads = [_of(need, 10.0) for need in (5, 10, 11, 12, 10, 20)]
    found = FoodYear("worm", tuple(loads)).too_much()
    assert [[load.need_j for load in run] for run in found] == [[11, 12], [20]]
    # Of 10.3 less than 3 % is missing, of 10.4 more: the rule of the shortfalls.
    assert [_of(need, 10.0).too_much for need in (10.3, 10.4)] == [False, True]


def test_the_heaviest_day_of_a_week_is_told() -> None:
    needs = {_day(5): {"worm": {"a": 10.0, "b": 5.0}}, _day(7): {"worm": {"a": 12.0}},
             _day(10): {"worm": {"a": 16.0}}, _day(11): {"worm": {"a": 99.0}}}  # fmt: skip
    gives: Any = SimpleNamespace(j_per_day=lambda _, day: 10.0 if day != _day(10) else 40.0)
    load = _load("worm", _MONDAY, needs, gives)
    assert (load.day, load.need_j, load.gives_j, load.by) == (
        _day(5),
        15.0,
        10.0,
        {"a": 10.0, "b": 5.0},
    )
    nothing: Any = SimpleNamespace(j_per_day=lambda *_: 0.0)
    assert _load("worm", _MONDAY, needs, nothing).day == _day(
        10
    )  # the most, where nothing is given
    assert _load("eel", _MONDAY, needs, gives).share == 0.0


@pytest.mark.parametrize(
    ("fits_from", "bare"), [(9, (6, 8)), (7, (6, 6)), (6, None), (99, (6, 11))]
)
def test_days_without_a_food_that_fits_are_told_from_the_first_to_the_last(
    room: Room, fits_from: int, bare: tuple[int, int] | None
) -> None:
    """It first eats on the 6th; the year shown ends before the 12th."""

    def need(feeding: Any) -> Any:
        day = feeding.at.date()
        fits = {"worm": 10.0} if day >= _day(fits_from) else {}
        return SimpleNamespace(energy_j=10.0 if day >= _day(6) else 0.0, foods=fits)

    course: Any = SimpleNamespace(room=room, need=need)
    brood = BroodYear(course, False, (Span("first_food", _day(4), _day(20)),), None)
    found = None if bare is None else (_day(bare[0]), _day(bare[1]))
    assert _bare_days(brood, _day(12)) == found


def test_somebody_is_away_on_some_day_of_a_week(room: Room) -> None:
    for absences, said in (
        ([], ""), ([(1, 3, False)], ""), ([(1, 4, False)], "away"), ([(10, 12, True)], "helper"),
        ([(11, 12, False)], ""), ([(4, 4, True), (9, 9, False)], "away"),
        ([(4, 4, True), (9, 9, True)], "helper"),
    ):  # fmt: skip
        away = tuple(Away(_day(a), _day(b), helper=h) for a, b, h in absences)
        assert away_in(evolve(room, away=away), _MONDAY, _day(11)) == said


def _course(room: Room, **more: Any) -> BroodCourse:
    changes: dict[str, Any] = {"anchor": "free_swimming", "anchor_date": _TODAY} | more
    return BroodCourse.of(room, evolve(room.broods[0], **changes))


def _sale(number: int) -> BroodDate:
    day = _day(number)
    return BroodDate(day, day, day, "can_go", "one", "A", "old")


def _year(room: Room, monkeypatch: pytest.MonkeyPatch, *, sale: int | None = None, end: int = 60,
          grown: int = 40, **more: Any) -> BroodYear | None:  # fmt: skip
    """A brood in stages of ten days of the month."""
    monkeypatch.setattr(module, "sale_date", lambda _: None if sale is None else _sale(sale))
    monkeypatch.setattr(module, "_grown", lambda *_: _day(grown))
    stages = ("eggs", "first_food", "nauplii", "weaning", "grow_out", "grow_out", "grow_out")
    monkeypatch.setattr(module, "_stage", lambda *args: stages[(args[2] - _day(1)).days // 10])
    return _brood_year(_course(room, **more), _TODAY, _day(end))


def test_a_brood_lives_from_today_or_its_first_day_to_its_last(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = _year(room, monkeypatch)
    assert found is not None
    assert [(s.stage, s.start, s.end) for s in found.spans] == [
        ("eggs", _day(5), _day(10)), ("first_food", _day(11), _day(20)),
        ("nauplii", _day(21), _day(30)), ("weaning", _day(31), _day(40)),
    ]  # fmt: skip
    assert found.planned is False
    for changes, start, end in (
        ({"sale": 25}, 5, 25), ({"sale": 3}, 5, 5), ({"sale": 99}, 5, 59), ({"end": 30}, 5, 29),
        ({"anchor": "planned", "anchor_date": _day(12)}, 12, 40),
        ({"anchor": "spawned", "anchor_date": _day(2)}, 5, 40),
        ({"anchor": "wetted", "anchor_date": _day(12)}, 12, 40),
        ({"anchor": "length", "length_mm": 6.0, "anchor_date": _day(12)}, 5, 40),
        ({"anchor": "planned", "anchor_date": _day(50)}, 50, 50),
    ):  # fmt: skip
        found = _year(room, monkeypatch, **changes)
        assert found is not None
        assert (found.start, found.end) == (_day(start), _day(end)), changes
    assert _year(room, monkeypatch, anchor="planned", anchor_date=_day(60)) is None
    last = _year(room, monkeypatch, anchor="planned", anchor_date=_day(59))
    assert last is not None
    assert last.planned is True


def test_a_brood_is_grown_when_it_lives_on_dry_food(room: Room) -> None:
    course = _course(room, foods=("microworm", DRY))
    at_h = course.reaches(course.fry_class.values["fry_until_mm"])
    day = room.at_hour(at_h).date()
    assert _grown(course, day + 9 * _DAY) == day
    assert _grown(course, day - 9 * _DAY) == day - 9 * _DAY
    assert _grown(_course(room, foods=("microworm",)), day + 9 * _DAY) == day + 9 * _DAY


def test_the_stage_of_a_day_is_what_it_mostly_eats(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nauplii and what is as wide; dry food; until it has the length to move on, or can go."""
    foods = ("microworm", BRINE_SHRIMP, "grindal_worm", DRY)
    course = _course(room, foods=foods, anchor="spawned")
    eats = course.first_food_day()
    eaten: list[dict[str, float]] = []
    monkeypatch.setattr(module, "diet_shares", lambda *_: eaten[-1])
    for shares, stage in (
        ({"microworm": 0.6, BRINE_SHRIMP: 0.4}, "first_food"), ({BRINE_SHRIMP: 1.0}, "nauplii"),
        ({"grindal_worm": 0.6, "microworm": 0.4}, "nauplii"), ({}, "first_food"),
        ({DRY: 0.6, BRINE_SHRIMP: 0.4}, "weaning"),
    ):  # fmt: skip
        eaten.append(shares)
        assert _stage(course, None, eats) == stage
    assert _stage(course, None, eats - _DAY) == "eggs"
    assert _stage(course, BroodDate(eats, eats, eats, "can_go", "one", "A", ""), eats) == "can_go"
    later = eats + _DAY
    assert (
        _stage(course, BroodDate(later, later, later, "can_go", "one", "A", ""), eats) != "can_go"
    )
    long_mm = course.fry_class.values["move_on_mm"]
    for by, stage in ((-0.01, "weaning"), (0.01, "grow_out")):
        big = _course(room, foods=foods, anchor="length", length_mm=long_mm + by)
        monkeypatch.setattr(BroodCourse, "length_mm", lambda _, __, mm=long_mm + by: mm)
        assert _stage(big, None, _TODAY) == stage


def test_needs_of_a_day_are_those_of_all_its_rounds(room: Room) -> None:
    """From the first day of a brood to its last, both counted."""
    course = _course(room, foods=("microworm",), anchor="length", length_mm=8.0)
    brood = BroodYear(course, False, (Span("nauplii", _day(7), _day(9)),), None)
    needs = _needs(room, [brood], _TODAY)
    assert sorted(needs) == [_day(7), _day(8), _day(9)]
    for day, foods in needs.items():
        at = room.local(day, _START.time().replace(hour=12, minute=0))
        per_day = course.need(SimpleNamespace(  # type: ignore[arg-type]
            at=at, at_h=at.timestamp() / 3600, per_day=1, fed=True, foods=()
        ))  # fmt: skip
        assert per_day is not None
        assert foods["microworm"]["one"] == pytest.approx(per_day.energy_j, rel=1e-6)
    assert _needs(room, [], _TODAY) == {}


def test_a_year_is_of_weeks_from_this_monday_on(room: Room) -> None:
    year = year_of(room, _START, 3)
    assert year.weeks == (_MONDAY, _day(11), _day(18))
    assert year.end == _day(25)
    assert year.planned == frozenset()
    assert DRY not in {food.food for food in year.foods}
    needs = _needs(room, year.broods, _TODAY)
    dry = {day: sum(foods.get(DRY, {}).values()) for day, foods in needs.items()}
    assert year.dry_total_j == pytest.approx(sum(j for day, j in dry.items() if day < year.end))
    for monday, most in zip(year.weeks, year.dry_j, strict=True):
        assert most == pytest.approx(max(dry.get(monday + n * _DAY, 0.0) for n in range(7)))
    assert len(year_of(evolve(room, broods=()), _START).weeks) == 52
    hoped = evolve(room.broods[0], name="h", anchor="planned", anchor_date=_day(12))
    more = year_of(evolve(room, hoped=(hoped,)), _START, 3)
    assert more.planned == {"h"}
    assert [b.name for b in more.broods] == ["one", "two", "h"]


def test_a_food_that_is_not_ripe_yet_is_not_said_to_be_given_by_nothing_after(room: Room) -> None:
    """Three weeks from Monday 4 January: the culture gives in the later two."""
    loads = [
        Load(_MONDAY + 7 * n * _DAY, _MONDAY + 7 * n * _DAY, need_j, gives_j, {"one": need_j})
        for n, (need_j, gives_j) in enumerate([(90.0, 0.0), (80.0, 20.0), (90.0, 30.0)])
    ]
    year: Any = SimpleNamespace(
        room=room, now=_START, planned=frozenset(), planned_to=date(2028, 1, 1),
    )  # fmt: skip

    def said(*run: Load) -> str:
        return page._stretch(year, FoodYear("microworm", run), run).partition(". Who goes")[0]

    every = said(*loads)
    assert "Mon 4 Jan to Sun 24 Jan: until Sun 10 Jan nothing in the room gives it; up" in every
    assert "; from then on up to 4.0 times what the room can give" in every
    assert "until" not in said(loads[0])
    assert "nothing" not in said(*loads[1:])
