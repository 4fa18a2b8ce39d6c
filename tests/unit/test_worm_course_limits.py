"""Cultures along the rounds at their limits: when they begin and end, what they keep and give."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from attrs import evolve

from cultures.needs.need import Round, rounds_between
from cultures.planning.worm_course import (
    Layouts,
    Split,
    Stage,
    WormCourse,
    child_stage,
    culture_clock,
    run_course,
    standing_stage,
    started_h,
)
from cultures.room.room import CultureMark, Room
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _stage
from tests.unit.test_worm_plan_by_hand import _room

_near: Any = pytest.approx

_NOON = datetime(2027, 2, 20, 12, tzinfo=UTC)


def _reference() -> Room:
    """A room at the temperature at which a day of a culture is a day, fed at noon and midnight."""
    warm = _room().cultures[0].kind.values["t_ref_c"]
    return evolve(_room(degrees=warm), rounds=(time(12), time(23)))


def _rounds(room: Room, start: datetime, days: int = 9) -> list[Round]:
    return rounds_between(room, start, start + timedelta(days=days))


# --- where a culture begins


def test_a_culture_stands_from_the_very_round_at_which_it_was_begun() -> None:
    """On 20 February at noon, with 15 g of starter; no more than a box carries."""
    room = _reference()
    culture = room.cultures[0]
    model = culture.kind.model(medium_g=150.0, surface_cm2=180.0)
    per_g = culture.kind.values["starter_mg_per_g"]
    assert started_h(room, culture) == hours(_NOON)
    rounds = _rounds(room, _NOON - timedelta(days=1))
    stage = standing_stage(room, culture, rounds)
    assert rounds[stage.first].at == _NOON
    assert (stage.start_mg, stage.ages[0]) == (_near(15.0 * per_g), 0.0)
    full = standing_stage(room, evolve(culture, starter_g=300.0), rounds)
    assert 300.0 * per_g > model.capacity_mg
    assert full.start_mg == _near(model.capacity_mg)
    child = child_stage(room, Split("x", evolve(culture, starter_g=300.0), 3), rounds)
    assert (child.start_mg, child.first) == (_near(model.capacity_mg), 3)
    small = child_stage(room, Split("x", culture, 3), rounds)
    assert small.start_mg == _near(15.0 * per_g)


def test_a_culture_that_begins_after_all_rounds_has_none() -> None:
    room = _reference()
    culture = room.cultures[0]
    before = _rounds(room, _NOON - timedelta(days=9), 8)
    stage = standing_stage(room, culture, before)
    assert (stage.first, stage.spent_from, len(stage.ages)) == (len(before),) * 2 + (0,)
    assert standing_stage(room, culture, []).takes == []


def test_a_marked_culture_goes_on_from_its_mark() -> None:
    """Five days old with 900 mg at noon: half a day later it has grown by its model."""
    room = _reference()
    later = _NOON + timedelta(hours=11)
    marked = evolve(room.cultures[0], mark=CultureMark(hours(_NOON), 5.0, 900.0))
    stage = standing_stage(room, marked, _rounds(room, later))
    assert stage.ages[0] == pytest.approx(5.0 + 11 / 24)
    model = marked.kind.model(medium_g=150.0, surface_cm2=180.0)
    assert stage.start_mg == pytest.approx(model.grow(900.0, 5.0, 5.0 + 11 / 24))
    young = standing_stage(room, evolve(marked, mark=CultureMark(hours(_NOON), 0.0, 900.0)),
                           _rounds(room, later))  # fmt: skip
    assert young.spent_h - stage.spent_h == pytest.approx(5 * 24.0, abs=0.01)


def test_a_culture_stands_in_the_air_of_all_the_months_it_lives_through() -> None:
    """The room is warm in February and cold in March; without rounds only its first day counts."""
    months = (24.0, 24.0, 10.0, *[24.0] * 9)
    room = evolve(_reference(), temperatures_c=months)
    culture = room.cultures[0]
    clock = culture_clock(room, culture, _rounds(room, _NOON, 20))
    march_h = hours(datetime(2027, 3, 1, tzinfo=UTC))
    rate = culture.kind.rate
    assert clock.days(march_h - 24, march_h) == pytest.approx(rate(24.0))
    assert clock.days(march_h, march_h + 24) == pytest.approx(rate(10.0))
    alone = culture_clock(room, culture, [])
    assert alone.days(march_h, march_h + 24) == pytest.approx(rate(24.0))


# --- how it is carried


def test_a_culture_is_harvested_in_every_round_up_to_its_end() -> None:
    """Spent in the eighth and ninth round, where a course is marked; and one that begins there."""
    for spent, first in ((8, 0), (9, 0), (16, 8), (17, 9), (24, 16)):
        stage = _stage("MW-1", 900.0, first=first, rounds=30, spent=spent)
        course = run_course([stage], [], [1.0] * 30)
        given = [i for i, row in enumerate(course.harvests) if row]
        assert given == list(range(first, spent))
        assert course.usable == [int(first <= i < spent) for i in range(30)]
        assert course.usable_from == {"MW-1": first}


def test_a_child_that_begins_at_a_mark_is_carried_on() -> None:
    parent = _stage("MW-1", 1000.0, rounds=30)
    for at in (7, 8, 16):
        culture = evolve(parent.culture, name="MW-2", starter_g=75.0)
        child = evolve(_stage("MW-2", 0.0, first=at, rounds=30), culture=culture)
        course = run_course([parent, child], [Split("MW-1", culture, at)], [0.0] * 30)
        assert course.stocks == pytest.approx({"MW-1": 500.0, "MW-2": 500.0})
        assert course.usable_from == {"MW-1": 0, "MW-2": at + 1}


def test_stocks_grow_from_one_round_to_the_next() -> None:
    """N' = N / (a + c N): by a tenth a round, and towards a limit."""
    plain = evolve(_stage("MW-1", 300.0, first=2, rounds=6), steps=[(1 / 1.1, 0.0)] * 3)
    course = run_course([plain], [], [0.0] * 6)
    assert course.stocks == pytest.approx({"MW-1": 300.0 * 1.1**3})
    limited = evolve(plain, steps=[(0.5, 0.5 / 1000.0)] * 3)
    expected = 300.0
    for _ in range(3):
        expected = expected / (0.5 + 0.0005 * expected)
    assert run_course([limited], [], [0.0] * 6).stocks == pytest.approx({"MW-1": expected})
    empty = _stage("MW-1", 0.0, rounds=6)
    assert run_course([empty], [], [5.0] * 6).stocks == {"MW-1": 0.0}
    little = evolve(_stage("MW-1", 0.5, rounds=6), climbs_mg=[0.1] * 6, keeps_mg=[0.1] * 6,
                    steps=[(0.5, 0.0)] * 5)  # fmt: skip
    course = run_course([little], [], [0.2, 0.0, 0.0, 0.0, 0.0, 0.0])
    assert course.given_mg(0) == pytest.approx(0.2)
    assert course.stocks["MW-1"] == pytest.approx(0.3 * 2**5)


def test_what_a_culture_keeps_is_that_of_the_round() -> None:
    """One that stands from round 3 on keeps less from round 5 on; no more than half at once."""
    keeps = [800.0, 800.0, 500.0, 500.0]
    stage = evolve(_stage("MW-1", 900.0, first=3, rounds=7), keeps_mg=keeps,
                   climbs_mg=[790.0, 790.0, 400.0, 400.0])  # fmt: skip
    course = run_course([stage], [], [0.0, 0.0, 0.0, 200.0, 0.0, 200.0, 0.0], spare=True)
    # 100 mg down to what it keeps, and 10 more down to where worms stop climbing.
    assert course.given_mg(3) == pytest.approx(110.0)
    assert course.short_mg[3] == pytest.approx(90.0)
    assert course.given_mg(5) == pytest.approx(200.0)
    # Of 790 mg half may be had, and 590 mg are left, 190 above what climbs.
    assert course.spare_mg[5] == {"MW-1": pytest.approx(190.0)}
    assert course.spare_mg[3] == {}
    assert course.spare_mg[6] == {"MW-1": pytest.approx(190.0)}


def test_nothing_is_taken_for_less_than_a_billionth() -> None:
    stage = _stage("MW-1", 900.0)
    for asked, taken in ((1e-10, 0.0), (1e-8, 1e-8), (0.5, 0.5)):
        course = run_course([stage], [], [asked, 0.0, 0.0, 0.0])
        assert course.given_mg(0) == pytest.approx(taken, abs=1e-12)
    steps = run_course([stage], [], [0.5] * 4, 0.5)
    assert [steps.given_mg(i) for i in range(4)] == [0.5] * 4
    none = run_course([_stage("MW-1", 500.4)], [], [0.45] * 4, 0.5)
    # 0.4 mg are above the half and no quarter swipe; down to what climbs it is one less a little.
    assert [none.given_mg(i) for i in range(4)] == [0.0] * 4


def test_a_parent_may_give_while_it_keeps_just_half() -> None:
    parent = _stage("MW-1", 1000.0)
    for grams, fit in ((75.0, True), (75.1, False)):
        culture = evolve(parent.culture, starter_g=grams)
        children = [
            evolve(_stage(n, 0.0), culture=evolve(culture, name=n)) for n in ("MW-2", "MW-3")
        ]
        first = Split("MW-1", children[0].culture, 1)
        once = run_course([parent, children[0]], [first], [0.0] * 4)
        assert ("MW-1" in [name for _, name in once.parents(1)]) is fit
        twice = run_course(
            [parent, *children], [first, Split("MW-1", children[1].culture, 1)], [0.0] * 4
        )
        assert twice.unfit == (0 if fit else 1)
    assert run_course([_stage("MW-1", 0.5)], [], [0.0] * 4).parents(0) == []


def test_a_parent_past_its_best_counts_as_poor() -> None:
    for rank, poor in ((0, 0), (1, 1), (2, 1)):
        parent = evolve(_stage("MW-1", 1000.0), rank=[rank] * 4)
        child = evolve(_stage("MW-2", 0.0), culture=evolve(parent.culture, name="MW-2"))
        course = run_course([parent, child], [Split("MW-1", child.culture, 1)], [0.0] * 4)
        assert course.poor == poor
    gone = Split("MW-9", evolve(_stage("MW-2", 0.0).culture, name="MW-2"), 1)
    child = evolve(_stage("MW-2", 77.0, first=1), culture=gone.culture)
    assert run_course([child], [gone], [0.0] * 4).stocks == {"MW-2": 77.0}  # it brings its own


def test_a_culture_recovers_from_its_splits() -> None:
    """So many at once within so many days, those before its mark counted."""
    stage = _stage("MW-1", 900.0, rounds=30)
    stage = evolve(stage, ages=[0.5 * i for i in range(30)])
    values = stage.culture.kind.values
    days, most = values["recovery_days"], round(values["splits_at_once"])
    index = 20

    def recovered(*given: int, gave: tuple[float, ...] = ()) -> bool:
        mark = CultureMark(0.0, 0.0, 900.0, gave) if gave else None
        return evolve(stage, culture=evolve(stage.culture, mark=mark)).recovered(index, given)

    assert recovered()
    assert recovered(*[19] * (most - 1))
    assert not recovered(*[19] * most)
    long_ago = index - math.ceil(2 * days)
    assert recovered(*[long_ago] * most)
    assert not recovered(*[19] * (most - 1), gave=(9.9,)) or most == 1
    assert recovered(gave=(10.0 - days,) * most)
    assert not recovered(gave=(10.0 - days + 0.01,) * most)


def test_a_parent_is_judged_by_the_splits_before_a_round() -> None:
    """As many as it may give at once, at rounds 5 and 6: before them it may give, after not."""
    parent = _stage("MW-1", 1000.0, rounds=30)
    parent = evolve(parent, ages=[0.01 * i for i in range(30)])
    most = round(parent.culture.kind.values["splits_at_once"])
    splits, stages = [], [parent]
    for number in range(most):
        culture = evolve(parent.culture, name=f"MW-{number + 2}", starter_g=1.0)
        splits.append(Split("MW-1", culture, 5 + number))
        stages.append(
            evolve(_stage(culture.name, 0.0, first=5 + number, rounds=30), culture=culture)
        )
    course = run_course(stages, splits, [0.0] * 30)
    assert course.unfit == 0
    for index, fit in ((4, True), (4 + most, False), (20, False)):
        assert ("MW-1" in [name for _, name in course.parents(index)]) is fit, index


def test_a_head_without_marks_is_empty_and_layouts_let_go_of_what_is_old() -> None:
    none: Any = WormCourse([], [], [], [], [])
    head = none.head(5)
    assert (head.harvests, head.stocks, head.unfit, head.poor) == ([], {}, 0, 0)
    room = _reference()
    layouts = Layouts(room, _rounds(room, _NOON, 9))
    stages: list[Stage] = [
        layouts.child(Split("x", evolve(room.cultures[0], medium_g=grams), 0))
        for grams in (90.0, 99.0)
    ]
    assert stages[0].ages is not stages[1].ages
    assert date(2027, 2, 20) == room.cultures[0].started
