"""Which cultures are started when, step by step: what is wrong, what helps, what is given up."""

from __future__ import annotations

import math
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.kinds import WormKind
from cultures.foods.worms import first_harvest_age, last_useful_age
from cultures.needs.need import rounds_between
from cultures.planning.split_plan import (
    Cupboard,
    WormPlan,
    _Planner,
    _told_starts,
    _trouble,
    _Wrong,
    asked_for_more,
    cupboard_of,
    plan_worms,
)
from cultures.planning.worm_course import Layouts, run_course
from cultures.room.orders import Order
from cultures.room.room import Room, Told
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _rounds, _stage, _worms
from tests.unit.test_worm_plan_by_hand import _PATIENT, _planner, _room, _start

_MANY = 48


def _course(short: list[float], usable: list[int], unfit: int = 0) -> Any:
    return SimpleNamespace(short_mg=short, usable=usable, unfit=unfit, harvests=[()] * len(short))


# --- what is wrong


def test_a_round_is_in_trouble_for_want_of_worms_or_of_a_spare() -> None:
    """A millionth of what is asked is none, nor of a milligram where less is asked."""
    for short, demand, missing in (
        (2.0, 10.0, 2.0), (2e-5, 10.0, 2e-5), (9.9e-6, 10.0, 0.0), (9e-7, 0.5, 0.0),
        (2e-6, 0.5, 2e-6),
    ):  # fmt: skip
        assert _trouble(_course([short], [3]), [demand], [1], 0) == (missing, 0)
    for usable, spares, fewer in ((0, 2, 2), (1, 2, 1), (2, 2, 0), (3, 2, 0)):
        assert _trouble(_course([0.0], [usable]), [0.0], [spares], 0) == (0.0, fewer)


def test_what_is_wrong_adds_up_along_a_course_as_far_as_it_is_carried() -> None:
    wrong = _Wrong([10.0] * 4, [1] * 4, 1)
    assert wrong.of(_course([5.0, 2.0], [0, 0], unfit=3)) == (3, 1, 2.0)
    assert wrong.of(_course([5.0, 2.0, 0.5, 1.0], [0, 0, 1, 0], unfit=4)) == (4, 2, 3.5)
    assert wrong.of(_course([5.0, 2.0, 0.5, 1.0], [0, 0, 1, 0], unfit=4)) == (4, 2, 3.5)
    assert wrong.at == 4
    late = _Wrong([10.0] * 4, [1] * 4, 3)
    assert late.of(_course([5.0, 2.0], [0, 0])) == (0, 0, 0.0)
    assert late.at == 3
    tiny = _Wrong([10.0], [0], 0)
    assert tiny.of(_course([0.12345678], [0]))[2] == 0.123457


def _plan(*stocks: float, demand: list[float]) -> WormPlan:
    stages = [_stage(f"MW-{n + 1}", stock) for n, stock in enumerate(stocks)]
    course = run_course(stages, [], demand, _worms().values["portion_mg"] / 4)
    return WormPlan(_worms(), stages, [], course, demand, demand, [0.0] * 4)


def test_a_plan_that_bears_more_is_asked_for_it() -> None:
    """Of 1000 mg half climb, in quarter and half swipes of 20 mg; a culture is to be in use."""
    room: Any = SimpleNamespace(spare_cultures=1)
    plan = _plan(1000.0, demand=[100.0, 0.0, 0.0, 0.0])
    more = asked_for_more(room, plan, [100.0, 60.0, 35.0, 0.0])
    assert more is not None
    assert [more.course.given_mg(i) for i in range(4)] == [100.0, 60.0, 40.0, 0.0]
    assert more.demand_mg == [100.0, 60.0, 40.0, 0.0]
    assert asked_for_more(room, plan, [100.0, 900.0, 0.0, 0.0]) is None
    # What was missing before may be missing again, but no more than that.
    short = _plan(1000.0, demand=[900.0, 0.0, 0.0, 0.0])
    assert asked_for_more(room, short, [900.0, 0.0, 0.0, 0.0]) is not None
    assert asked_for_more(room, short, [900.0, 0.0, 0.0, 900.0]) is None
    assert asked_for_more(room, short, [960.0, 0.0, 0.0, 0.0]) is None
    # What is decided is not judged again.
    assert asked_for_more(room, short, [960.0, 0.0, 0.0, 0.0], settled=1) is not None


# --- medium


def _split(kind: WormKind, at: int, bought_g: float) -> Any:
    return SimpleNamespace(at_index=at, culture=SimpleNamespace(kind=kind, bought_g=bought_g))


def test_the_cupboard_is_shared_by_what_is_planned_until_more_can_be_had() -> None:
    """Two days are four rounds: 500 g less 150 g and 200 g; what comes later can be bought."""
    room, rounds = evolve(_room(), stock_g={"medium": 500.0}), _rounds(12)
    kind: Any = room.kinds["microworm"]
    other: Any = room.kinds["grindal_worm"]
    planned = [_split(kind, 0, 150.0), _split(other, 3, 200.0), _split(kind, 4, 100.0)]
    assert cupboard_of(room, kind, rounds, rounds[0].at, planned) == Cupboard(150.0, 4)
    late = cupboard_of(room, kind, rounds, rounds[0].at + timedelta(minutes=1), planned)
    assert late == Cupboard(50.0, 5)
    own = evolve(room, stock_g={"medium": 500.0, "microworm_medium": 80.0})
    assert cupboard_of(own, kind, rounds, rounds[0].at, planned) == Cupboard(-70.0, 4)
    assert cupboard_of(own, other, rounds, rounds[0].at, planned) == Cupboard(300.0, 4)
    assert cupboard_of(_room(), kind, rounds, rounds[0].at, planned) == Cupboard(math.inf, 0)
    ordered = Order("medium", 90.0, 90.0, rounds[0].at.date(), rounds[0].at.date())
    # It is counted on from the first round of the next day on, of which the other 200 g take first.
    parcel = evolve(room, orders=(ordered, evolve(ordered, item="salt")))
    found = cupboard_of(parcel, kind, rounds, rounds[0].at, planned)
    next_day = next(r.index for r in rounds if r.at.date() > rounds[0].at.date())
    assert found == Cupboard(240.0, 4, ((next_day, 0.0),))
    overdue = evolve(room, orders=(evolve(ordered, late=True),))
    assert cupboard_of(overdue, kind, rounds, rounds[0].at, planned) == Cupboard(150.0, 4)
    slow = evolve(room, fetch_days={"medium": 4})
    assert cupboard_of(slow, kind, rounds, rounds[0].at, planned) == Cupboard(50.0, 8)


# --- the planner at its beginning


def _new(
    room: Room, demand: float = 0.0, *, spares: Any = None, head: Any = None, beside: Any = (),
    kept: Any = (),
) -> _Planner:  # fmt: skip
    kind = room.cultures[0].kind
    planner = _planner()
    rounds = planner.feedings
    return _Planner(room, kind, rounds, [demand] * len(rounds), [], beside, kept, head, spares,
                    Layouts(room, rounds), Cupboard(math.inf, 0))  # fmt: skip


def test_one_culture_is_kept_in_use_where_nobody_wants_worms() -> None:
    for keep, usual, idle in ((3, 3, 1), (1, 1, 1), (0, 0, 0)):
        room = evolve(_room(), spare_cultures=keep)
        assert set(_new(room, 5.0).wanted_spares) == {usual}
        assert set(_new(room).wanted_spares) == {idle}
        assert set(_new(room, 5.0, spares=[7] * _MANY).wanted_spares) == {7}


def test_a_split_that_was_told_is_looked_for_at_its_round() -> None:
    """Of this kind, and no hatch; one for a spawning that is hoped for only where that counts; two
    of one round are looked for until both are planned.
    """
    rounds = _planner().feedings
    told = (
        Told("microworm", rounds[3].at), Told("microworm", rounds[3].at),
        Told("grindal_worm", rounds[4].at),
        Told("microworm", rounds[5].at, harvest_at=rounds[6].at),
        Told("microworm", rounds[7].at, hoped=True),
        Told("microworm", rounds[8].at + timedelta(minutes=1)),
    )  # fmt: skip
    room = evolve(_room(), told=told)
    kind: Any = room.kinds["microworm"]

    def starts(certain: bool, settled: int = 0, room: Room = room) -> Counter[int]:
        return _told_starts(room, kind, rounds, settled, certain=certain)

    assert starts(certain=True) == {3: 2}
    assert starts(certain=False) == {3: 2, 7: 1}
    assert starts(certain=False, settled=4) == {7: 1}
    assert starts(certain=False, room=_room()) == {}
    planner = _planner()
    planner.told = Counter({3: 2, 7: 1})
    planner.splits = [_start(planner, "MW-2", 3), _start(planner, "MW-3", 5)]
    assert planner._told_still() == {3, 7}
    assert planner.told_of(planner.told) == 1
    planner.splits.append(_start(planner, "MW-4", 3))
    assert planner._told_still() == {7}
    assert planner.told_of(planner.told) == 2


def test_cultures_are_named_by_the_next_free_number() -> None:
    room = _room()
    named = evolve(room, cultures=tuple(
        evolve(room.cultures[0], name=name) for name in ("MW-3", "MW11", "XMW-40", "MW-5b", "box")
    ))  # fmt: skip
    planner = _new(named)
    assert [planner._new_name() for _ in range(2)] == ["MW-12", "MW-13"]
    none = _new(evolve(room, cultures=(evolve(room.cultures[0], name="box"),)))
    assert none._new_name() == "MW-1"
    beside = _new(room, beside=[_stage("MW-8", 9, rounds=_MANY)])
    assert beside._new_name() == "MW-9"


# --- when a start is ripe


def test_a_start_is_ripe_by_its_share_of_the_parents_worms() -> None:
    planner = _planner()
    stock, name = planner.course.parents(9)[0]
    culture = planner.stages[name].culture
    age, parent = planner._ripe_age(9)
    model = planner.stages[name].model
    assert parent is culture
    assert age == pytest.approx(first_harvest_age(model, stock * 15.0 / 150.0))
    clock_h = planner._ripe_h(9) - planner.feedings[9].at_h
    assert clock_h / 24 == pytest.approx(age / culture.kind.rate(22.0), rel=1e-3)
    # A starter of all its medium takes all that it has, and no more.
    all_of_it = evolve(culture, starter_g=300.0)
    planner.stages[name] = evolve(planner.stages[name], culture=all_of_it)
    assert planner._ripe_age(9)[0] == pytest.approx(first_harvest_age(model, stock))


def test_a_start_gives_from_when_it_is_ripe_until_it_is_spent() -> None:
    planner = _planner()
    ripe_h = planner._ripe_h(9)
    first = next(r.index for r in planner.feedings if r.at_h >= ripe_h)
    assert [planner._gives_at(9, i) for i in (first - 1, first, first + 1)] == [False, True, True]
    planner._spent_age = lambda _: (planner.feedings[first + 2].at_h - ripe_h) / 24 * 99  # type: ignore
    assert planner._gives_at(9, first)
    planner._spent_age = lambda name: 0.1  # type: ignore[method-assign]  # noqa: ARG005
    assert not planner._gives_at(9, first)
    assert planner._gives_at(9, first, lasting=False)


def test_the_next_that_ripens_of_those_that_stand() -> None:
    planner = _planner()
    stages = {name: _stage(name, 9, first=first, rounds=_MANY)
              for name, first in (("A", 0), ("B", 2), ("C", 6))}  # fmt: skip
    planner.stages = stages
    for index, ripe, found in (
        (3, {"A": 9, "B": 7, "C": 8}, 7), (3, {"A": 3, "B": 12}, 12), (3, {"A": 2}, None),
        (6, {"C": 20}, 20), (5, {"C": 20}, None), (2, {"B": 4}, 4), (1, {"B": 4}, None),
    ):  # fmt: skip
        planner.course = SimpleNamespace(usable_from=ripe)  # type: ignore[assignment]
        assert planner._next_ripe(index) == found


# --- the shelf


def test_a_shelf_has_room_while_fewer_stand_than_it_holds() -> None:
    """Of this kind in rounds 0 to 5 and 3 to 9, of another in 2 to 3."""
    planner = _planner()
    planner.stages = {"A": _stage("A", 9, spent=6, rounds=_MANY),
                      "B": _stage("B", 9, first=3, spent=10, rounds=_MANY)}  # fmt: skip
    planner.beside = [_stage("C", 9, first=2, spent=4, rounds=_MANY)]
    stand = [1, 1, 2, 3, 2, 2, 1, 1, 1, 1, *[0] * (_MANY - 10)]
    for shelf in (1, 2, 3, 4):
        planner.room = evolve(planner.room, shelf=shelf)
        assert planner._fits() == [count < shelf for count in stand]
    planner.room = evolve(planner.room, shelf=None)
    assert planner._fits() is None


def test_a_start_needs_room_as_long_as_it_lasts() -> None:
    """It lasts some days: a full shelf the round before its end is in its way, at its end not."""
    planner = _planner()
    culture = planner.stages["MW-1"].culture
    days = 4.0 * culture.kind.rate(22.0)
    planner._spent_age = lambda name: days  # type: ignore[method-assign]  # noqa: ARG005
    for full, room in ((17, True), (16, False), (9, False), (8, True), (12, False)):
        fits = [i != full for i in range(_MANY)]
        assert planner._has_room(9, fits) is room, full
    planner.room, planner.fits = evolve(planner.room, shelf=1), [i != 12 for i in range(_MANY)]
    assert [planner._may_split(i) for i in (3, 9, 13)] == [True, False, True]
    model = planner.stages["MW-1"].model
    again = _planner()
    retire = again.kind.values["retire_share"]
    assert again._spent_age("MW-1") == last_useful_age(model, retire)


# --- giving up what is not needed


def _with_starts(*starts: tuple[str, int]) -> _Planner:
    planner = _planner()
    for name, at in starts:
        split = _start(planner, name, at)
        planner.splits.append(split)
        planner.stages[name] = planner.layouts.child(split)
        planner.used_names.add(name)
    planner.course = planner.run(0)
    return planner


def test_starts_without_which_nothing_gets_worse_are_given_up() -> None:
    """Nobody wants worms; one in use is enough, and MW-1 is that through all rounds shown."""
    planner = _with_starts(("MW-2", 9), ("MW-3", 12))
    planner.wanted_spares = [0] * _MANY
    planner._prune()
    assert planner.splits == []
    assert set(planner.stages) == {"MW-1"}
    assert planner._new_name() == "MW-2"  # its number is free again
    kept = _with_starts(("MW-2", 9), ("MW-3", 12))
    kept.wanted_spares, kept.kept = [0] * _MANY, ("MW-2",)
    kept._prune()
    assert [s.culture.name for s in kept.splits] == ["MW-2"]
    two = _with_starts(("MW-2", 9), ("MW-3", 12))
    two.wanted_spares = [0] * 40 + [2] * 8  # of two in use later one start is enough
    two._prune()
    assert [s.culture.name for s in two.splits] == ["MW-2"]
    assert two._score(0) == (0, 0.0, 0, two.course.poor)


def test_a_start_that_is_a_parent_stays_while_its_child_does() -> None:
    planner = _with_starts(("MW-2", 9))
    child = evolve(_start(planner, "MW-3", 40), parent="MW-2")
    planner.splits.append(child)
    planner.stages["MW-3"] = planner.layouts.child(child)
    planner.kept, planner.wanted_spares = ("MW-3",), [0] * _MANY
    planner.course = planner.run(0)
    planner._prune()
    assert [s.culture.name for s in planner.splits] == ["MW-2", "MW-3"]


def test_starts_are_moved_in_pairs_and_alone_where_something_is_wrong() -> None:
    planner = _with_starts(("MW-2", 9), ("MW-10", 9), ("MW-3", 20))
    planner.wanted_spares = [0] * _MANY

    def names() -> list[tuple[str, ...]]:
        return [tuple(split.culture.name for split in of) for of in planner._movable()]

    assert names() == [("MW-2", "MW-10"), ("MW-10", "MW-3")]
    planner.wanted_spares = [9] * _MANY
    assert names()[2:] == [("MW-2",), ("MW-10",), ("MW-3",)]
    planner.kept = ("MW-10",)
    assert names()[0] == ("MW-2", "MW-3")
    planner.splits[2] = evolve(planner.splits[2], parent="MW-2")
    assert names() == [("MW-3",)]


def test_earlier_rounds_are_tried_evenly_and_those_that_were_told_before_them() -> None:
    planner = _planner()
    dropped = [_start(planner, "MW-2", 30), _start(planner, "MW-3", 24)]
    may: Any = lambda i, worst=1: 10 <= i <= 40 and (worst > 0 or i % 2 == 0)  # noqa: E731
    planner._may_split = may  # type: ignore[method-assign]
    # Even rounds from 10 to 24 are eight: the first, and those a third and two thirds further.
    assert planner._earlier(dropped) == [20, 14, 10]
    planner.told = Counter((12, 14, 11))
    assert planner._earlier(dropped) == [14, 12, 20, 10]
    planner.told, planner.settled = Counter(), 20
    assert planner._earlier(dropped) == [24, 22, 20]
    planner._may_split = lambda i, worst=1: worst > 0 and i in (21, 22)  # type: ignore
    assert planner._earlier(dropped) == [22, 21]
    planner._may_split = lambda *_: False  # type: ignore[method-assign]
    assert planner._earlier(dropped) == []


def test_two_starts_are_replaced_by_one_that_does_as_well() -> None:
    planner = _with_starts(("MW-2", 20), ("MW-3", 24))
    planner.wanted_spares = [0] * 40 + [2] * 8
    before = planner._score(0)
    assert planner._replaced(planner.splits[:], 12)
    (one,) = planner.splits
    assert (one.at_index, one.culture.name) == (12, "MW-2")
    assert planner._score(0) <= before
    # One for one only if less is wrong.
    same = _with_starts(("MW-2", 20))
    same.wanted_spares = [0] * 40 + [2] * 8
    kept = [*same.splits], dict(same.stages), same.course
    assert not same._replaced(same.splits[:], 12)
    assert (same.splits, same.stages, same.course) == kept
    late = _with_starts(("MW-2", 44))
    late.wanted_spares = [0] * 40 + [2] * 8
    assert late._replaced(late.splits[:], 12)
    assert [split.at_index for split in late.splits] == [12]


def test_new_cultures_are_numbered_by_their_rounds() -> None:
    planner = _with_starts(("MW-2", 20), ("MW-3", 9))
    child = evolve(_start(planner, "MW-4", 40), parent="MW-3")
    planner.splits.append(child)
    planner.stages["MW-4"] = planner.layouts.child(child)
    planner.course = planner.run(0)
    planner._renumber()
    told = sorted((s.at_index, s.parent, s.culture.name) for s in planner.splits)
    assert told == [(9, "MW-1", "MW-2"), (20, "MW-1", "MW-3"), (40, "MW-2", "MW-4")]
    assert {name: stage.first for name, stage in planner.stages.items()} == {
        "MW-1": 0, "MW-2": 9, "MW-3": 20, "MW-4": 40
    }  # fmt: skip
    gave = {name: at for name, at in planner.course.gave.items() if at}
    assert gave == {"MW-1": [9, 20], "MW-2": [40]}
    kept = _with_starts(("MW-5", 20), ("MW-7", 9))
    kept.kept = ("MW-7",)
    kept._renumber()
    assert {s.culture.name for s in kept.splits} == {"MW-7", "MW-8"}


# --- all of it


def _planned(
    demand: float, *, spares: int = 1, days: int = 40, **more: Any
) -> tuple[WormPlan, Room]:
    room = evolve(_room(away=_PATIENT), spare_cultures=spares, **more)
    kind = room.kinds["microworm"]
    assert isinstance(kind, WormKind)
    since = room.local(date(2027, 3, 1), datetime.min.time())
    rounds = rounds_between(room, since, since + timedelta(days=days))
    return plan_worms(room, kind, rounds, [demand] * len(rounds)), room


def test_a_culture_is_split_before_it_is_spent_and_no_oftener_than_is_needed() -> None:
    """One in use through forty days: each from one in use, the next begun before the last ends."""
    plan, room = _planned(0.0)
    assert min(plan.course.usable) >= 1
    assert plan.course.unfit == 0
    ends = {stage.culture.name: stage.spent_from for stage in plan.stages}
    assert len(plan.splits) == 1
    for split in plan.splits:
        assert split.at_index < ends[split.parent]
        started = datetime.combine(split.culture.started, datetime.min.time(), UTC)
        assert 0 <= split.at_index / 2 - (hours(started) - hours(room.local(
            date(2027, 3, 1), datetime.min.time()))) / 24 < 1  # fmt: skip
    none, _ = _planned(0.0, spares=0)
    assert none.splits == []
    short, _ = _planned(0.0, days=8)
    assert short.splits == []


def test_more_worms_take_more_cultures_and_a_shelf_keeps_them_few() -> None:
    few, _ = _planned(40.0, days=21)
    many, _ = _planned(400.0, days=21)
    assert len(many.splits) > len(few.splits)
    assert sum(many.course.short_mg) <= sum(
        run_course([s for s in many.stages if s.culture.name == "MW-1"], [], many.demand_mg,
                   5.0).short_mg
    )  # fmt: skip
    shelf, _ = _planned(400.0, days=21, shelf=2)
    stand = [sum(s.first <= i < s.spent_from for s in shelf.stages) for i in range(42)]
    assert max(stand) <= 2
    assert sum(shelf.course.short_mg) >= sum(many.course.short_mg)
    assert len({split.culture.name for split in many.splits}) == len(many.splits)
    assert [s.at_index for s in many.splits] == sorted(s.at_index for s in many.splits)


# --- which start is tried


def test_a_start_is_as_late_as_is_early_enough_or_ripe_the_soonest() -> None:
    """From a parent that sours only where that is sooner; of the last round, too."""
    planner: Any = _planner()
    planner._start_at, planner._preferred = lambda at: at, lambda rounds: rounds[0]
    assert planner._add([9, 8, 7]) == 9
    last = _MANY - 1
    ripe = {3: 90.0, 5: 100.0, last: 400.0}
    planner._ripe_h = lambda at: ripe[at]
    for good, souring, settled, gives, at in (
        ((5,), (3, 5), 0, (3, 5), 3), ((5,), (3, 5), 0, (5,), 5), ((5,), (5,), 0, (3, 5), 5),
        ((5,), (3, 5), 4, (3, 5), 5), ((), (3,), 0, (3,), 3), ((), (), 0, (3, 5), None),
        ((5,), (5,), 0, (), None), ((last,), (last,), 0, (last,), last),
    ):  # fmt: skip
        rounds = {1: good, 2: souring}
        planner.settled = settled
        planner._may_split = lambda i, worst, rounds=rounds: i in rounds[worst]
        asked: list[tuple[int, bool]] = []

        def gives_at(i: int, index: int, *, lasting: bool, gives: Any = gives,
                     asked: Any = asked) -> bool:  # fmt: skip
            asked.append((index, lasting))
            return i in gives

        planner._gives_at = gives_at
        assert planner._add([]) == at
        assert set(asked) <= {(last, False)}
    ripe[3] = 110.0
    planner._may_split = lambda i, worst: i == (5 if worst == 1 else 3)
    planner._gives_at = lambda *_, **__: True
    planner.settled = 0
    assert planner._add([]) == 5


class _Trying(_Planner):
    """A planner whose starts help or not as is said; what it does is noted."""

    def __init__(self, troubled: set[int], *, away: tuple[int, ...] = (), settled: int = 0) -> None:
        rounds = _rounds(20)
        self.feedings = [
            evolve(r, fed=r.index not in away, keeper=r.index not in away) for r in rounds
        ]
        self.settled, self.standing, self.troubled = settled, 1, troubled
        self.looked, self.done = list[int](), list[str]()
        self.helps: dict[int, set[int]] = {}
        self.early: dict[int, list[int]] = {}
        self.ripens: dict[int, int] = {}
        self.course: Any = SimpleNamespace(usable_from={})
        self.none_left = False

    def trouble(self, index: int) -> tuple[float, int]:
        return (1.0 if index in self.troubled else 0.0), 0

    def _fits(self) -> None:
        return None

    def _early_enough(self, index: int) -> list[int]:
        self.looked.append(index)
        return self.early.get(index, [0])

    def _next_ripe(self, index: int) -> int | None:
        return self.ripens.get(index)

    def _score(self, index: int) -> Any:
        return index

    def _add(self, early: list[int]) -> Any:
        assert early == self.early.get(self.looked[-1], [0])
        if self.none_left:
            return None
        at = self.looked[-1]
        self.done.append(f"add {at}")
        return SimpleNamespace(at_index=at, culture=SimpleNamespace(name=f"for {at}"))

    def improved(self, first: int, *_: Any, **__: Any) -> bool:
        cured = self.helps.get(first)
        if cured is not None:
            self.troubled -= cured
        return cured is not None

    def _remove(self, split: Any) -> None:
        self.done.append(f"remove {split.at_index}")

    def _prune(self) -> None:
        self.done.append("prune")

    def _gather(self) -> None:
        self.done.append("gather")

    def _renumber(self) -> None:
        self.done.append("renumber")


_END = ["prune", "gather", "renumber"]


def test_starts_are_added_where_something_is_wrong() -> None:
    calm = _Trying(set())
    calm.plan()
    assert (calm.looked, calm.done) == ([], _END)
    one = _Trying({5, 6, 9})
    one.helps = {5: {5, 6}, 9: {9}}
    one.plan()
    assert (one.looked, one.done) == ([5, 9], ["add 5", "add 9", *_END])
    # It helps from when it is ripe on: what is wrong before that stays.
    late = _Trying({5, 6, 9})
    late.helps, late.course.usable_from = {5: {9}}, {"for 5": 8}
    late.plan()
    assert late.done == ["add 5", *_END]


@pytest.mark.parametrize(("standing", "starts"), [(1, 20), (5, 20), (6, 24), (10, 40)])
def test_twenty_cultures_are_started_at_most_or_four_of_each_that_stands(
    standing: int, starts: int
) -> None:
    """Each helps a little, and none cures it."""
    little = _Trying({5})
    little.standing, little.helps, little.course.usable_from = standing, {5: set()}, {"for 5": 0}
    little.plan()
    assert little.done == [*["add 5"] * starts, *_END]


def test_what_does_not_help_is_taken_back_and_later_rounds_are_looked_at() -> None:
    none = _Trying({5, 7})
    none.plan()
    assert none.done[:3] == ["add 5", "remove 5", "add 7"]
    assert none.done[-3:] == _END
    nobody = _Trying({5, 7})
    nobody.none_left = True
    nobody.plan()
    assert (nobody.looked, nobody.done) == ([5], _END)


def test_what_ripens_anyway_is_waited_for_where_no_start_is_early_enough() -> None:
    ripens = _Trying({5, 6, 9})
    ripens.early, ripens.ripens, ripens.helps = {5: []}, {5: 8}, {9: {9}}
    ripens.plan()
    assert (ripens.looked, ripens.done) == ([5, 9], ["add 9", *_END])
    early = _Trying({5})
    early.ripens, early.helps = {5: 8}, {5: {5}}
    early.plan()
    assert early.done == ["add 5", *_END]


def test_rounds_that_are_settled_or_at_which_nobody_is_there_ask_for_nothing() -> None:
    for away, settled, looked in (((), 0, 0), ((0, 1), 0, 2), ((0, 1), 4, 4), ((3,), 0, 0)):
        planner = _Trying({0, 1, 2, 3, 4}, away=away, settled=settled)
        planner.plan()
        assert planner.looked[0] == looked
    gone = _Trying({0, 1}, away=tuple(range(20)))
    gone.plan()
    assert gone.looked == []
    helped = _Trying({0, 1})
    helped.feedings = [evolve(r, keeper=False) for r in helped.feedings]
    helped.plan()
    assert helped.looked[0] == 0
