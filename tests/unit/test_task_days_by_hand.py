"""On which day and in which words each task stands: broods, hatches, cultures, rounds; and gifts of
a room, day after day.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.yields import Setup, daily_yield
from cultures.fry.diet import suitability
from cultures.fry.feeding import feeding_values
from cultures.journal.absences import Away
from cultures.journal.entries import Entry
from cultures.needs.dates import BroodDate
from cultures.needs.need import BroodCourse
from cultures.planning import brood_tasks as brood_module
from cultures.planning import build as build_module
from cultures.planning import hoped_short
from cultures.planning.amounts import Cup
from cultures.planning.brood_tasks import _crowded_at, _id, _task, brood_date_tasks
from cultures.planning.build import _attended, _counts, _first_foods, _switches, _wettings
from cultures.planning.changes import usual_culture
from cultures.planning.food_tasks import (
    _remarked,
    _why_harvest,
    _why_set,
    hatch_tasks,
    round_tasks,
    worm_tasks,
)
from cultures.planning.giving import Giving, culture_j_per_day, vessel_j_per_day
from cultures.planning.harvests import Batch, Portion
from cultures.planning.hoped_short import _effect_j, _kinds_for, _last_start, _wider
from cultures.planning.shortfalls import Lack
from cultures.planning.standing_hatches import late_h
from cultures.planning.worm_course import Harvest, Split, child_stage, first_harvest
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Brood, Room
from cultures.tasks.task import (
    HarvestHatch,
    HarvestWorms,
    Lid,
    MoveOn,
    Retire,
    Sell,
    SetHatch,
    Sort,
)
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours
from cultures.words.units import TEASPOON_ML
from tests.unit.noting import noting
from tests.unit.test_planning_by_hand import _START, _rounds, _stage
from tests.unit.test_shortfall_limits import _TEXT, _gap

_near: Any = pytest.approx

_TODAY = date(2027, 1, 5)
_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_TODAY)


def _day(number: int) -> date:
    return date(2027, 1, number)


def _at(day: int) -> datetime:
    return datetime.combine(_day(day), time(7), UTC)


def _outlook(room: Room, *, now: datetime = _START, away: tuple[int, ...] = (), count: int = 60,
             **more: Any) -> Any:  # fmt: skip
    rounds = _rounds(count, away=away)
    return SimpleNamespace(room=room, now=now, until=now + 20 * _DAY, feedings=rounds, hopes=None,
                           **more)  # fmt: skip


# --- broods


def _course(room: Room, day: int, **more: Any) -> BroodCourse:
    changes: dict[str, Any] = {"anchor": "free_swimming", "anchor_date": _day(day)} | more
    return BroodCourse.of(room, evolve(room.broods[0], **changes))


def test_a_day_is_attended_at_its_first_round_at_which_somebody_feeds(room: Room) -> None:
    """Nobody is there at rounds 6 and 7, on 8 January; what is over is over."""
    outlook = _outlook(room, away=(6, 7))
    for day, index in ((4, None), (5, 0), (7, 4), (8, 8), (9, 8)):
        course = _course(room, max(day, 5))
        found = _attended(outlook, course, _day(day))
        assert (None if found is None else found.index) == index
    late = _outlook(room, now=_START + 2 * _DAY)
    assert _attended(late, _course(room, 6), _day(6)) is None
    # A brood that does not eat yet is waited for.
    eats = _attended(outlook, _course(room, 9), _day(6))
    assert eats is not None
    assert eats.at.date() == _day(9)


def test_eggs_are_put_in_water_at_the_first_round_of_their_day(room: Room) -> None:
    eggs = evolve(room.broods[0], name="e", anchor="wetted", count=60.4)
    for changes, index in (
        ({"anchor_date": _day(5)}, 0), ({"anchor_date": _day(7)}, 8),
        ({"anchor_date": _day(4)}, None), ({"anchor_date": date(2027, 6, 1)}, None),
        ({"anchor_date": _day(7), "seen": True}, None),
        ({"anchor_date": _day(7), "anchor": "spawned"}, None),
    ):  # fmt: skip
        outlook = _outlook(evolve(room, broods=(evolve(eggs, **changes),)), away=(4, 5, 6, 7))
        found = list(_wettings(outlook))
        assert [task.at for task in found] == (
            [] if index is None else [outlook.feedings[index].at]
        )
        for task in found:
            assert task.until - task.at == timedelta(minutes=10)
            assert (task.subject, task.other, getattr(task, "fry", 0)) == ("e", "A", 60)


def test_first_food_is_announced_of_fry_whose_day_was_worked_out(room: Room) -> None:
    """Not of those that were seen swimming or measured."""
    outlook = _outlook(room)
    said = {}
    for anchor in ("spawned", "hatched", "wetted", "planned", "free_swimming", "length"):
        course = _course(room, 5, anchor=anchor, length_mm=6.0, foods=("microworm", DRY))
        (*found,) = _first_foods(outlook, [course])
        said[anchor] = len(found)
        for task in found:
            assert task.at == _attended(outlook, course, course.first_food_day()).at  # type: ignore
            assert task.until - task.at == timedelta(minutes=30)
            days = (course.first_food_day() - _TODAY).days
            assert f"start to eat {days} day" in task.why
            assert "Kept here: microworm." in task.why
            assert task.spawns == ((("one", "A"),) if anchor == "planned" else ())
            called = "spawned" if anchor == "planned" else anchor
            assert f"after being {called} at" in task.why
    assert said == {"spawned": 1, "hatched": 1, "wetted": 1, "planned": 1, "free_swimming": 0,
                    "length": 0}  # fmt: skip


def test_another_main_food_is_announced(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    course, day = _course(room, 5), _day(9)
    whats: Any = ("main_food", "food")
    dates = [BroodDate(day, day, day, what, "one", "A", "why", "grindal_worm") for what in whats]
    asked: list[Any] = []
    monkeypatch.setattr(build_module, "food_dates", noting(asked, dates, lambda *args: args[1:]))

    def line(at: datetime, food: str, given_j: float, brood: str = "one") -> FeedLine:
        return FeedLine(at=at, tank="A", brood=brood, food=food, need_j=9.0, given_j=given_j,
                        amount=1.0, unit="mL")  # fmt: skip

    def rows(more_from: datetime, before_j: float = 3.0) -> list[list[FeedLine]]:
        """Grindal worms, more than of nauplii from a time on; another brood gets more of them."""
        return [
            [line(r.at, "grindal_worm", 5.0 if r.at >= more_from else before_j),
             line(r.at, BRINE_SHRIMP, 4.0), line(r.at, "microworm", 8.0, "two")]
            for r in _outlook(room).feedings
        ]  # fmt: skip

    (task,) = _switches(_outlook(room, lines=rows(_START)), [course], _day(25))
    (later,) = _switches(_outlook(room, lines=rows(_START + 6 * _DAY)), [course], _day(25))
    assert later.at == _START + 6 * _DAY
    none = _outlook(room, lines=[[] for _ in _outlook(room).feedings])
    assert list(_switches(none, [course], _day(25))) == []
    # The round that was told stands while the brood gets half as much of it there as of another.
    for key, told, least_j, at in (
        ("grindal_worm", _START + 5 * _DAY, 3.0, _START + 5 * _DAY),
        ("grindal_worm", _START + 7 * _DAY, 3.0, _START + 7 * _DAY),
        ("grindal_worm", _START + 5 * _DAY, 1.9, later.at),
        ("dry", _START + 5 * _DAY, 3.0, later.at),
    ):  # fmt: skip
        knows = evolve(room, unanswered={f"switch_food/one/{key}": told})
        known = _outlook(knows, lines=rows(_START + 6 * _DAY, least_j))
        assert [t.at for t in _switches(known, [course], _day(25))] == [at]
    asked[1:] = []
    assert (task.subject, task.other, task.at.date()) == ("one", "grindal_worm", day)
    assert task.until - task.at == timedelta(minutes=30)
    assert asked == [(_TODAY, _day(25))]
    noon = next(r for r in _outlook(room).feedings if r.at.date() == day)
    assert task.amounts["length_mm"] == round(course.length_mm(noon.at_h), 1)


def test_a_brood_is_counted_two_weeks_after_its_last_count_and_its_first_food(room: Room) -> None:
    for counted, eats, due in (
        (date(2026, 12, 29), date(2026, 12, 20), 12), (date(2026, 12, 20), date(2026, 12, 30), 13),
        (date(2026, 12, 1), date(2026, 12, 1), 5),
    ):  # fmt: skip
        course = BroodCourse.of(room, evolve(room.broods[0], counted_on=counted, anchor_date=eats))
        (task,) = _counts(_outlook(room), [course])
        assert task.at.date() == _day(due)
        assert task.id == f"count/one/{counted}"
        assert task.until - task.at == timedelta(minutes=10)
    told = {f"count/one/{date(2026, 12, 29)}": _at(9)}
    course = BroodCourse.of(room, evolve(
        room.broods[0], counted_on=date(2026, 12, 29), anchor_date=date(2026, 12, 20)
    ))  # fmt: skip
    (task,) = _counts(_outlook(evolve(room, unanswered=told)), [course])
    assert task.at.date() == _day(9)
    over = evolve(room, unanswered={f"count/one/{date(2026, 12, 29)}": _at(2)})
    (task,) = _counts(_outlook(over), [course])
    assert task.at.date() == _TODAY
    assert list(_counts(_outlook(room, count=10), [course])) == []


def test_more_than_four_broods_are_spread_over_a_week(room: Room) -> None:
    """As many on each day as it takes to get through all of them in seven."""
    old = [evolve(room.broods[0], name=f"b{n}", counted_on=date(2026, 12, 1),
                  anchor_date=date(2026, 12, 1)) for n in range(9)]  # fmt: skip
    for count, days in ((4, [5] * 4), (5, [5, 6, 7, 8, 9]), (9, [5, 5, 6, 6, 7, 7, 8, 8, 9])):
        courses = [BroodCourse.of(room, brood) for brood in old[:count]]
        assert [task.at.day for task in _counts(_outlook(room), courses)] == days


def _date(what: Any, day: int, **more: Any) -> BroodDate:
    return BroodDate(_day(day), _day(day), _day(day), what, "one", "A", "they are long", **more)


def _dated(
    room: Room, monkeypatch: pytest.MonkeyPatch, *dates: BroodDate, sale: BroodDate | None = None,
    away: tuple[int, ...] = (), eats: int = 1,
) -> tuple[list[Any], Any]:  # fmt: skip
    asked: list[Any] = []
    monkeypatch.setattr(
        brood_module, "growth_dates", noting(asked, list(dates), lambda _, *span: span)
    )
    monkeypatch.setattr(brood_module, "sale_date", lambda _: sale)
    course = BroodCourse.of(room, evolve(room.broods[0], anchor_date=_day(eats)))
    rounds = [feeding for feeding in _rounds(60, away=away) if feeding.keeper]
    return list(brood_date_tasks([course], rounds, _TODAY, _day(25))), asked


def test_sortings_lids_and_moves_fall_on_a_day_on_which_the_keeper_is_there(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = evolve(room, away=(Away(_day(8), _day(9)), Away(_day(10), _day(10), helper=True)))
    dates = [_date("sort", 6, length_mm=12.3), _date("lid", 8), _date("main_food", 9),
             _date("crowded", 11), _date("move_on", 14)]  # fmt: skip
    tasks, asked = _dated(here, monkeypatch, *dates)
    assert [(type(t), t.at.day) for t in tasks] == [(Sort, 6), (Lid, 11), (MoveOn, 11)]
    assert [t.id for t in tasks] == ["sort/one/12mm", "lid/one", "move_on/one"]
    assert {t.until - t.at for t in tasks} == {timedelta(minutes=30)}
    # Looked at from first food on, but no more than 45 days back.
    assert asked == [(_day(1), _day(25))]
    _, early = _dated(room, monkeypatch, eats=20)
    assert early == [(_TODAY, _day(25))]
    long_ago = BroodCourse.of(room, evolve(room.broods[0], anchor_date=date(2026, 6, 1)))
    list(brood_date_tasks([long_ago], [], _TODAY, _day(25)))
    assert early[-1] == (_TODAY - 45 * _DAY, _day(25))


def test_a_move_that_was_noted_is_not_asked_for_again_unless_it_is_crowded_there(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    moved = Entry(room.local(_day(4), time(13)), "move", "one", "B")
    for event, what, asked in (
        ("move", "move_on", False), ("move", "crowded", True), ("skip", "move_on", True),
    ):  # fmt: skip
        noted = evolve(room, answered={"move_on/one": moved._replace(event=event)})
        tasks, _ = _dated(noted, monkeypatch, _date(what, 9))
        assert [type(t) for t in tasks] == [MoveOn] * asked, (event, what)


def test_to_move_a_crowded_brood_that_was_skipped_is_asked_for_again_after_two_weeks(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Skipped on the 4th: quiet until the 17th, asked for from the 18th on; moved, at once."""
    crowd = _date("crowded", 1)
    monkeypatch.setattr("cultures.planning.brood_tasks.crowded_on", lambda *_: crowd)
    skipped = Entry(room.local(_day(4), time(22)), "skip", "one", "move_on/one")
    for event, day, asked in (
        ("skip", 4, False), ("skip", 17, False), ("skip", 18, True), ("skip", 30, True),
        ("move", 5, True),
    ):  # fmt: skip
        noted = evolve(room, answered={"move_on/one": skipped._replace(event=event)})
        course = BroodCourse.of(noted, noted.broods[0])
        assert (_crowded_at(course, _day(day)) is crowd) is asked, (event, day)
    # The last answer counts.
    again = {
        "move_on/one": skipped,
        "move_on/one#2": skipped._replace(when=room.local(_day(20), time(8))),
    }
    course = BroodCourse.of(evolve(room, answered=again), room.broods[0])
    assert _crowded_at(course, _day(21)) is None


def test_what_is_over_is_asked_for_again_only_where_it_was_told(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    for told, day in (({}, None), ({"lid/one": _at(3)}, 5), ({"lid/one": _at(9)}, 9)):
        tasks, _ = _dated(evolve(room, unanswered=told), monkeypatch, _date("lid", 4))
        assert [t.at.day for t in tasks] == ([] if day is None else [day])
    tasks, _ = _dated(evolve(room, unanswered={"lid/one": _at(9)}), monkeypatch, _date("lid", 6))
    assert [t.at.day for t in tasks] == [6]
    assert _dated(room, monkeypatch, _date("lid", 5))[0][0].at.day == 5


def test_a_day_that_was_told_stands_while_it_is_as_likely_as_another(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Told for the 8th, and by what was skipped since expected on the 10th, from the 7th to the
    14th: it stays; not where that begins on the 9th.
    """
    told = evolve(room, unanswered={"move_on/one": _at(8)})
    for early, day in ((7, 8), (8, 8), (9, 10)):
        each = evolve(_date("move_on", 10), early=_day(early), late=_day(14))
        tasks, _ = _dated(told, monkeypatch, each)
        assert [t.at.day for t in tasks] == [day], early
    # Told for yesterday and not noted it is asked for today.
    over = evolve(room, unanswered={"move_on/one": _at(4)})
    each = evolve(_date("move_on", 10), early=_day(4), late=_day(14))
    assert [t.at.day for t in _dated(over, monkeypatch, each)[0]] == [5]


def test_a_sale_is_told_also_where_its_day_is_over(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = evolve(room, away=(Away(_day(5), _day(6)),))
    for place, day, told in ((room, 2, 5), (room, 9, 9), (here, 2, 7), (room, 24, 24)):
        tasks, _ = _dated(place, monkeypatch, sale=_date("can_go", day))
        assert [(type(t), t.at.day) for t in tasks] == [(Sell, told)]
    assert _dated(room, monkeypatch, sale=_date("can_go", 25))[0] == []
    assert here.day_there(_day(7)) == _day(7)


def test_a_date_that_may_lie_apart_says_so_and_how_it_is_noted(room: Room) -> None:
    course, feeding = _course(room, 1), _rounds(1)[0]
    sure = _task(course, _date("lid", 6), Lid, feeding)
    assert sure.why == "They are long Asked for until it is noted: journal lid 'one'."
    wide = evolve(_date("move_on", 6), early=_day(4), late=_day(9))
    task = _task(course, wide, MoveOn, feeding)
    assert "any day from" in task.why
    assert "Asked for" not in task.why
    assert task.amounts["length_mm"] == round(course.length_mm(feeding.at_h), 1)
    assert _id("one", _date("sort", 6), Sort) == "sort/one"
    assert _id("one#2", _date("lid", 6, length_mm=9.0), Lid) == "lid/one#2"


# --- hatches


def _batch(room: Room, at: int, stood_h: float = 24.0, nauplii: float = 1e5, **more: Any) -> Batch:
    harvest_h = _rounds(60)[at].at_h - 0.5
    return Batch(room.vessels[0], at, harvest_h - stood_h, harvest_h, 3.0, nauplii, 7.0, **more)


def _hatching(room: Room, *batches: Batch, portions: Any = None) -> Any:
    given = portions or {}
    hatches = SimpleNamespace(batches=batches, portions=[given.get(i, ()) for i in range(60)])
    return _outlook(room, feeding=SimpleNamespace(hatches=hatches))


def test_a_hatch_is_set_and_drawn_off_by_its_batch(room: Room) -> None:
    portions = {4: (Portion(0, 1.0, 4e4),), 5: (Portion(0, 1.0, 5e4), Portion(1, 1.0, 9e4))}
    outlook = _hatching(room, _batch(room, 4), _batch(room, 5, standing=True), portions=portions)
    made, first, second = hatch_tasks(outlook)
    assert isinstance(made, SetHatch)
    assert isinstance(first, HarvestHatch)
    assert isinstance(second, HarvestHatch)
    stamp = "2027-01-07T07:30"
    assert (made.id, first.id) == (f"set_hatch/{stamp}/1", f"harvest_hatch/{stamp}/1")
    assert (made.at, made.until) == (_START + _DAY - timedelta(minutes=30), _START + _DAY
                                     - timedelta(minutes=15))  # fmt: skip
    salt = room.vessels[0].salinity_g_per_l
    assert (made.cysts_g, made.water_l, made.salt_g, made.nauplii) == (3.0, 1.0, salt, 100_000)
    assert (first.at, first.until) == (_START + 2 * _DAY - timedelta(minutes=30), _START + 2 * _DAY)
    assert (first.fed_nauplii, first.left_over, first.jar_ml) == (9e4, 1e4, 500.0)
    assert (second.fed_nauplii, second.left_over, second.jar_ml) == (9e4, _near(1e4), 500.0)
    whole = _hatching(room, _batch(room, 4), portions={4: (Portion(0, 1.0, 2e5),)})
    _, drawn = hatch_tasks(whole)
    assert isinstance(drawn, HarvestHatch)
    assert (drawn.left_over, drawn.jar_ml) == (0.0, None)  # never less than nothing
    assert list(hatch_tasks(_hatching(room, _batch(room, 4, held=True)))) == []
    # Of which nothing would be fed that is set where it was told alone.
    assert list(hatch_tasks(_hatching(room, _batch(room, 4)))) == []
    told = list(hatch_tasks(_hatching(room, _batch(room, 4, key="k/1"))))
    assert [task.id for task in told] == ["set_hatch/k/1", "harvest_hatch/k/1"]


def test_a_name_that_is_settled_is_not_given_again(room: Room) -> None:
    settled = frozenset({"set_hatch/2027-01-07T07:30/1", "harvest_hatch/2027-01-07T07:30/2",
                         "feed/2027-01-07T07:30/3"})  # fmt: skip
    fed = {4: (Portion(0, 1.0, 4e4),)}
    known = evolve(room, settled=settled)
    made, _ = hatch_tasks(_hatching(known, _batch(room, 4), portions=fed))
    assert made.id == "set_hatch/2027-01-07T07:30/3"


def test_a_hatch_is_late_where_it_stood_longer_than_nauplii_keep(room: Room) -> None:
    best_h = vessel_model(room, room.vessels[0]).best_hours()
    keeps = room.hatch_kind.values["warm_hold_h"]
    for by, late in ((keeps - 0.1, None), (keeps + 0.1, round(keeps + 0.1, 1)), (30.0, 30.0)):
        found = late_h(room, _batch(room, 8, best_h + by))
        assert found == (None if late is None or by <= keeps else pytest.approx(late, abs=0.051))
    assert late_h(room, _batch(room, 8, best_h + 99.0, nauplii=0.0)) is None
    cold = evolve(room, vessels=(evolve(room.vessels[0], temperature_c=1.0),))
    assert late_h(cold, _batch(cold, 8, 99.0)) is None


def test_why_a_hatch_is_set_and_drawn_off(room: Room) -> None:
    rounds, batch = _rounds(60), _batch(room, 4)
    outlook = _hatching(room, batch)
    both = [(rounds[4], 1.0), (rounds[5], 2.0)]
    said = _why_set(outlook, batch, both)
    assert said.startswith("100,000 nauplii for Thu 07:30, Thu 19:30: 24.0 h at 27 °C.")
    assert "for no round" in _why_set(outlook, batch, [])
    assert "stood too long" in _why_harvest(outlook, _batch(room, 4, nauplii=0.0), both)
    assert "No round needs it" in _why_harvest(outlook, batch, [])
    assert _why_harvest(outlook, batch, both[:1]) == "Ripe for the round of Thu 07:30."
    assert _why_harvest(outlook, _batch(room, 4, 99.0), both[:1]).startswith("Past its best")
    kept = room.holding.share(batch.harvest_h, rounds[5].at_h)
    warm = _why_harvest(outlook, batch, both)
    assert f"up to Thu 19:30, when {kept:.0%} of" in warm
    assert "aerated at room temperature" in warm
    cold = _hatching(evolve(room, fridge_c=4.0), batch)
    assert "in the fridge" in _why_harvest(cold, batch, both)


# --- rounds and cultures


def _line(index: int, food: str, amount: float, tank: str = "A", **more: Any) -> FeedLine:
    return FeedLine(at=_rounds(60)[index].at, tank=tank, brood="one", food=food, need_j=1.0,
                    given_j=1.0, amount=amount, unit="mL", **more)  # fmt: skip


def _round(room: Room, *lines: FeedLine, portions: Any = (), batches: Any = (), cups: Any = (),
           away: tuple[int, ...] = ()) -> list[Any]:  # fmt: skip
    hatches = SimpleNamespace(portions=[portions, *[()] * 59], batches=batches)
    need: Any = SimpleNamespace(count=1234.0)
    outlook = _outlook(
        room, away=away, feeding=SimpleNamespace(hatches=hatches), needs=[[need, need]] * 60,
        lines=[list(lines), *[[]] * 59], cups={(0, c.food): c for c in cups},
    )  # fmt: skip
    return list(round_tasks(outlook))


def test_a_round_is_fed_where_something_is_given(room: Room) -> None:
    assert _round(room, _line(0, "microworm", 0.0)) == []
    assert _round(room, _line(0, "microworm", 1.0), away=(0,)) == []
    whole = Cup("microworm", 0, 50.0, 50.0, 1.0)
    part = Cup("vinegar_eel", 0, 50.0, 30.0, 1.0)
    lines = (_line(0, "microworm", 1.0), _line(0, "vinegar_eel", 1.0),
             _line(0, "microworm", 1.0, "B"), _line(0, "microworm", 0.0, "C"))  # fmt: skip
    (feed,) = _round(room, *lines, cups=(whole, part))
    assert (feed.tanks, feed.cups_ml, feed.fed_ml) == (
        2, {"microworm": 50.0, "vinegar_eel": 50.0}, {"vinegar_eel": 30.0}
    )  # fmt: skip
    assert (feed.nauplii, feed.jar_ml, feed.dry_g, feed.soaked_g) == (None, None, None, None)
    assert feed.why == "2,468 fry in 2 broods."
    batch = _batch(room, 0)
    (shrimp,) = _round(room, lines[0], portions=(Portion(0, 1.0, 5e4),), batches=(batch,))
    assert (shrimp.nauplii, shrimp.jar_ml) == (5e4, 250.0)


def test_dry_food_is_soaked_before_its_round_but_not_before_waking(room: Room) -> None:
    """Half a gram on a scale of a hundredth; 0.004 g of the least that is measured."""
    soak, feed = _round(room, _line(0, DRY, 0.3), _line(0, DRY, 0.2, "B"))
    assert (soak.dry_g, soak.fed_g, soak.until) == (0.5, None, _START)
    assert (feed.dry_g, feed.soaked_g) == (0.5, None)
    minutes = feeding_values()["soak_min"]
    assert soak.at == max(_START - timedelta(minutes=minutes), _START - timedelta(hours=1))
    little, fed = _round(room, _line(0, DRY, 0.004))
    # No scale is named, so the least is half of an eighth teaspoon.
    least_g = pytest.approx(TEASPOON_ML / 16 * feeding_values()["dry_g_per_ml"], abs=1e-6)
    assert (little.dry_g, little.fed_g) == (least_g, 0.004)
    assert (fed.dry_g, fed.soaked_g) == (0.004, least_g)
    late = evolve(room, awake=(time(9), room.awake[1]))
    (early, _) = _round(late, _line(0, DRY, 0.5))
    assert early.at == _START  # the keeper gets up later than that
    barely = evolve(room, awake=(time(7, 29), room.awake[1]))
    (soon, _) = _round(barely, _line(0, DRY, 0.5))
    assert soon.at == _START - timedelta(minutes=1)


def _worms(room: Room, *, splits: Any = (), stages: Any = (), harvests: Any = None,
           away: tuple[int, ...] = (), usable: Any = None) -> list[Any]:  # fmt: skip
    kind: Any = room.kinds["microworm"]
    given = harvests or {}
    course = SimpleNamespace(harvests=[given.get(i, ()) for i in range(60)],
                             usable_from=usable or {})  # fmt: skip
    plan = SimpleNamespace(kind=kind, stages=stages, splits=splits, course=course)
    outlook = _outlook(room, away=away, feeding=SimpleNamespace(worms={"microworm": plan}))
    outlook.keeper_round = lambda i: next((r for r in outlook.feedings[i:] if r.keeper), None)
    return list(worm_tasks(outlook))


def test_a_culture_is_binned_when_it_is_spent_and_somebody_is_there(room: Room) -> None:
    for spent, index in ((59, 59), (6, 8), (60, None)):
        stage = _stage("MW-1", 9, rounds=80, spent=spent)
        found = _worms(room, stages=[stage], away=(6, 7))
        assert [t.at for t in found] == ([] if index is None else [_rounds(60)[index].at])
        assert all(isinstance(t, Retire) and t.until - t.at == timedelta(minutes=10) for t in found)
    gone = _stage("MW-1", 9, rounds=80, spent=58)
    assert _worms(room, stages=[gone], away=(58, 59)) == []


def test_worms_are_taken_in_swipes_by_the_culture(room: Room) -> None:
    portion = room.kinds["microworm"].values["portion_mg"]
    stage = _stage("MW-1", 9, rounds=60)
    (task,) = _worms(room, stages=[stage], harvests={4: (Harvest("MW-1", 2.5 * portion),)})
    assert isinstance(task, HarvestWorms)
    assert (task.mg, task.swipes, task.draws) == (2.5 * portion, 2.5, None)
    assert task.at == _START + 2 * _DAY
    assert task.until - task.at == timedelta(minutes=10)
    assert "6 days old" in task.why  # since the first of January


def test_what_was_noted_of_a_culture_is_said_for_two_weeks(room: Room) -> None:
    at = _START - 13 * _DAY
    for notes, said in (
        (((at, "smells."),), True), (((at - _DAY, "smells"),), False), ((), False),
        (((at, "old"), (at + _DAY, "smells")), True),
        (((at, "smells"), (at - 9 * _DAY, "x")), False),
    ):  # fmt: skip
        outlook = _outlook(evolve(room, remarks={"MW-1": notes}))
        assert (": smells." in _remarked(outlook, "MW-1")) is said
    assert _remarked(_outlook(room), "MW-1") == ""


def _split(room: Room, at: int, parent: str = "MW-1") -> Split:
    kind: Any = room.kinds["microworm"]
    culture = evolve(usual_culture(room, kind), name="MW-2", started=_TODAY)
    return Split(parent, culture, at)


def test_a_split_says_what_it_is_for(room: Room) -> None:
    """Ripe on 9 January: harvested within three days of it it was made for that harvest."""
    parent = _stage("MW-1", 9, rounds=60)
    child = evolve(_stage("MW-2", 9, rounds=60), culture=_split(room, 2).culture, spent_h=2e9)
    for first, said in ((14, "will first be harvested on Tue 12 Jan"),
                        (15, "will first be harvested on Tue 12 Jan"),
                        (16, "is ripe from Sat 9 Jan and first needed on Wed 13 Jan"),
                        (None, "MW-2 is ripe from Sat 9 Jan.")):  # fmt: skip
        taken = {} if first is None else {first: (Harvest("MW-2", 5.0),)}
        task, *_ = _worms(room, splits=[_split(room, 2)], stages=[parent, child], harvests=taken,
                          usable={"MW-2": 8})  # fmt: skip
        assert said in task.why, first
        assert "good until" not in task.why
        assert (task.subject, task.other, task.until - task.at) == (
            "MW-1", "MW-2", timedelta(minutes=30)
        )  # fmt: skip
        assert "souring" not in task.why
    ends = evolve(child, spent_h=hours(_START + 18 * _DAY))
    sours = evolve(parent, rank=[2] * 60)
    task, *_ = _worms(room, splits=[_split(room, 2)], stages=[sours, ends])
    assert "good until about Sat 23 Jan" in task.why
    assert "MW-1 is souring already" in task.why
    assert task.why.startswith("Keeps 2 ")
    bought, *_ = _worms(room, splits=[_split(room, 2, "")], stages=[sours, child])
    assert (bought.what, bought.subject) == ("start", "MW-2")
    assert "souring" not in bought.why


# --- what a room gives, and what a spawning would lack


def test_a_vessel_gives_most_by_days_or_every_other(room: Room) -> None:
    """Drawn off at its best and washed for half an hour, within one, two or three days."""
    for degrees in (20.0, 24.0, 28.0):
        vessel = evolve(room.vessels[0], temperature_c=degrees)
        model = vessel_model(room, vessel)
        grams, best_h = room.hatch_kind.most_grams(1.0), model.best_hours()
        by_days = [model.energy(min(best_h, 24 * days - 0.5)) / days for days in (1, 2, 3)]
        assert vessel_j_per_day(room, vessel) == pytest.approx(grams * max(by_days))
    cold = evolve(room.vessels[0], temperature_c=1.0)
    assert vessel_j_per_day(room, cold) == 0.0
    warm = room.vessels[0]
    assert Giving(evolve(room, vessels=(warm, warm, cold))).j_per_day(
        BRINE_SHRIMP, _TODAY
    ) == pytest.approx(2 * vessel_j_per_day(room, warm))


def test_a_culture_gives_its_mean_over_its_life(room: Room) -> None:
    kind: Any = room.kinds["microworm"]
    culture = usual_culture(room, kind)
    setup = Setup(kind, 150.0, 180.0, 15.0 * kind.values["starter_mg_per_g"])
    curve = daily_yield(setup, series=TemperatureSeries.constant(22.0))
    mean_j = curve.total_j * kind.values["food_value"] / len(curve.days)
    assert culture_j_per_day(culture, 22.0) == pytest.approx(mean_j)
    assert culture_j_per_day(culture, kind.values["t_min_c"] - 1) == 0.0
    here = evolve(room, temperatures_c=(22.04,), cultures=(
        evolve(culture, started=_day(1)), evolve(culture, started=_day(9)),
        evolve(culture, started=_day(1), temperature_c=18.0),
    ), coming=(evolve(culture, started=_day(12)),))  # fmt: skip
    giving = Giving(here)
    cool_j = culture_j_per_day(culture, 18.0)
    for day, cultures in ((8, 1), (9, 2), (12, 3)):
        found = giving.j_per_day("microworm", _day(day))
        assert found == pytest.approx(cultures * mean_j + cool_j)
    assert giving.j_per_day("grindal_worm", _day(12)) == 0.0


def test_worms_that_are_missing_are_bought_or_those_that_suit_best(room: Room) -> None:
    gap = _gap(room.broods[0], 2)
    named = _kinds_for(room, Lack("microworm", "none", [gap]))
    assert named[0] is room.kinds["microworm"]
    others = _kinds_for(room, Lack("any", "mouth", [gap]))
    assert sorted(k.name for k in named) == sorted(k.name for k in others)
    need = gap.need
    suits = [suitability(k.food, need.brood.fry_class, need.length_mm) for k in others]
    assert suits == sorted(suits, reverse=True)
    tiny = evolve(gap, need=evolve(gap.need, length_mm=0.5))
    assert "grindal_worm" not in [
        k.name for k in _kinds_for(room, Lack("grindal_worm", "none", [tiny]))
    ]


def test_a_starter_is_begun_as_late_as_it_is_ripe_in_time(room: Room) -> None:
    kind: Any = room.kinds["microworm"]
    warm = evolve(room, temperatures_c=(kind.values["t_ref_c"],))
    rounds, pattern = _rounds(40), usual_culture(warm, kind)
    ripe = first_harvest(child_stage(warm, Split("", evolve(pattern, started=_TODAY), 0), rounds))
    assert ripe is not None
    for wanted, begins in ((ripe, 0), (ripe + 3, 3), (ripe - 1, 0), (0, 0)):
        start = _last_start(warm, rounds, rounds, pattern, wanted)
        assert start is not None
        assert start.index == begins
    some = [rounds[1], rounds[2]]
    late = _last_start(warm, rounds, some, pattern, ripe)
    assert late is rounds[1]  # none is in time: the first there is
    assert _last_start(warm, rounds, [], pattern, ripe) is None


def test_a_spawning_gains_what_it_lacks_less(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    one, two = room.broods
    here = evolve(room, broods=(), hoped=(one, two))
    gaps = [_gap(one, 2, short_j=40.0), _gap(one, 3, short_j=30.0), _gap(two, 3, short_j=9.0)]
    after = SimpleNamespace(gaps=[_gap(one, 3, short_j=12.0), _gap(one, 5, short_j=99.0)])
    asked: list[Any] = []
    monkeypatch.setattr(hoped_short, "prepare", noting(asked, (None, after)))
    hopes: Any = SimpleNamespace(courses=[SimpleNamespace(brood=one)])
    outlook: Any = SimpleNamespace(feedings="rounds", feeding="plan", now=_START)
    lack = Lack("microworm", "none", gaps[:2])
    assert _effect_j(outlook, hopes, lack, here) == pytest.approx(40.0 + 18.0)
    assert [course.brood.name for course in asked[0][3]] == ["one"]
    monkeypatch.setattr(hoped_short, "prepare", lambda *_, **__: (None, None))
    assert _effect_j(outlook, hopes, lack, here) == pytest.approx(70.0)


def test_a_spawning_gets_what_the_room_has_besides(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    rooms: list[Room] = []
    monkeypatch.setattr(hoped_short, "_effect_j", noting(rooms, 7.0, lambda *args: args[3]))
    listed: Brood = evolve(room.broods[0], foods=("microworm",))
    here = evolve(room, broods=(), hoped=(listed,))
    outlook, hopes = _outlook(here), SimpleNamespace()
    lack = Lack("microworm", "none", [_gap(listed, 2), _gap(listed, 3)])
    (remedy,) = _wider(outlook, hopes, lack)  # type: ignore[arg-type]
    assert (remedy.what, remedy.effect_j) == ("add nauplii to the foods of one", 7.0)
    assert remedy.by == lack.gaps[0].feeding.at
    assert rooms[0].hoped[0].foods == ("microworm", BRINE_SHRIMP)
    every = Lack("microworm", "none", [_gap(room.broods[0], 2)])
    assert list(_wider(outlook, hopes, every)) == []  # type: ignore[arg-type]
    bare = _outlook(evolve(here, vessels=()))
    assert list(_wider(bare, hopes, lack)) == []  # type: ignore[arg-type]
    assert datetime(2027, 1, 5, 7, 30, tzinfo=UTC) == _START
