"""What meals make of a brood, and what is said of it, at the limits of each rule.

The room is that of `test_replay_by_hand`: fry that grow a day in a day at 26 °C, fed at 08:00 and
20:00.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import pytest
from attrs import evolve

from cultures.fry.bioenergetics import WELL_FED, Condition, Fed, days_to_no_return, fed
from cultures.fry.classes import shipped_class
from cultures.journal.absences import Away
from cultures.needs.dates import brood_dates
from cultures.needs.meals import (
    Meal,
    course_of_meals,
    fed_by,
    hunger_words,
    saving_days,
    starving,
)
from cultures.needs.need import (
    BroodCourse,
    BroodNeed,
    Round,
    diet_j,
    food_needs_at,
    room_needs,
    rounds_between,
)
from cultures.planning.gaps import Gap
from cultures.planning.shortfalls import Hunger
from cultures.words.moments import hours
from tests.unit.test_replay_by_hand import ROOM, _at

_COURSE = BroodCourse.of(ROOM, ROOM.brood("fry"))
_FIRST_H = hours(_at(10, 8))
_DAY_H = 24.0


def _meals(shares: Sequence[float], apart_h: float = 12.0) -> list[Meal]:
    return [Meal(_FIRST_H + apart_h * n, share) for n, share in enumerate(shares)]


def _steps(
    shares: Sequence[float], apart_h: float = 12.0, per_day: int = 2
) -> list[tuple[float, float]]:
    meals = _meals(shares, apart_h)
    until = meals[-1].at_h + 40 * _DAY_H
    found = course_of_meals(_COURSE, meals, until, per_day=per_day)
    return [(s.from_h - _FIRST_H, s.to_h - _FIRST_H) for s in found]


def test_a_meal_lasts_to_the_next_or_for_its_part_of_a_day() -> None:
    """Of meals more than 26 hours apart nobody knows what came between."""
    assert _steps([0.0, 1.0])[0] == (0.0, 12.0)
    assert _steps([0.0, 1.0], 26.0)[0] == (0.0, 26.0)
    assert _steps([0.0, 1.0], 26.1)[0] == (0.0, 12.0)
    assert _steps([0.0, 1.0], 26.1, per_day=4)[0] == (0.0, 6.0)


@pytest.mark.parametrize(("share", "short"), [(0.9, False), (0.899, True), (1.0, False)])
def test_from_nine_tenths_on_a_meal_is_full(share: float, short: bool) -> None:
    assert bool(_steps([share] * 4)) is short


def test_a_nearly_full_meal_makes_good_as_a_full_one_does() -> None:
    """And no better, where a gut holds more than a full meal."""
    large = evolve(ROOM.brood("fry"), fry_class=shipped_class("mouthbrooder"))
    for brood in (ROOM.brood("fry"), large):
        course = BroodCourse.of(evolve(ROOM, broods=(brood,)), brood)
        after = [
            [*course_of_meals(course, _meals([0.0] * 4 + [share]), _FIRST_H + 60.0, per_day=2)][-1]
            for share in (0.95, 1.0)
        ]
        assert after[0] == after[1]


def test_a_brood_falls_behind_by_what_it_did_not_grow() -> None:
    """Three half days on a third of the need, each after the other, by the model of one meal."""
    at, lag = Condition(_COURSE.growth_days(_FIRST_H)), 0.0
    for _ in range(3):
        step = fed(_COURSE.fry_class, at, 26.0, 1 / 3, 0.5)
        lag += 0.5 - (step.after.growth_days - at.growth_days)
        at = step.after
    *_, last = course_of_meals(_COURSE, _meals([1 / 3] * 3), _FIRST_H + 36.0, per_day=2)
    assert last.lag_days == pytest.approx(lag)
    assert last.reserve == pytest.approx(at.reserve)
    assert last.no_return_h is None


def test_the_point_of_no_return_is_when_the_days_without_food_are_over() -> None:
    days = days_to_no_return(_COURSE.fry_class, _COURSE.length_mm(_FIRST_H), 26.0)
    until = _FIRST_H + 2 * days * _DAY_H
    passed = [
        s.no_return_h for s in course_of_meals(_COURSE, _meals([0.0] * 60), until, per_day=2)
        if s.no_return_h is not None
    ]  # fmt: skip
    assert passed == [pytest.approx(_FIRST_H + days * _DAY_H, abs=0.5)]


def test_what_the_last_rounds_of_a_plan_cost_is_looked_at_for_an_hour_after_them() -> None:
    """Nothing at 08:00 and 20:00 of the last day: 13 hours, in each of which an hour is grown."""
    rounds = rounds_between(ROOM, _at(10, 0), _at(12, 0))
    need = BroodNeed(ROOM.brood("fry"), _at(11, 8), 6.0, 10, 100.0, {})
    gaps = [Gap(feeding, need, "worm", 100.0) for feeding in rounds[2:]]
    toll = Hunger(ROOM, rounds, gaps).toll(gaps)
    assert toll.behind_days == pytest.approx(13 / 24)
    first = Hunger(ROOM, rounds, gaps).toll(gaps[:1])
    assert first.behind_days == pytest.approx(12 / 24)


def test_before_its_first_food_no_meal_was_missed() -> None:
    """From half a day before it on."""
    early = [Meal(_COURSE.first_food_h - h, 0.0) for h in (36.0, 24.0, 12.0)]
    steps = [*course_of_meals(_COURSE, early, _COURSE.first_food_h, per_day=2)]
    assert [s.from_h for s in steps] == [_COURSE.first_food_h - 12.0]
    assert steps[0].lag_days == 0.0  # it would not have grown yet


def _fed(shares: Sequence[float], later_h: float = 12.0) -> Fed | None:
    meals = _meals(shares)
    return fed_by(_COURSE, meals, meals[-1].at_h + later_h, per_day=2)


def test_the_share_of_the_need_is_the_mean_of_whole_days_since_the_first_short_meal() -> None:
    """Of a week at most. What is more than the need counts as the need."""
    assert _fed([1.0, 1.0]) is None
    state = _fed([1.0, 0.3, 1.4, 0.5])
    assert state is not None
    assert state.share == pytest.approx((1.0 + 0.3 + 1.0 + 0.5) / 4)
    assert state.days == pytest.approx(2.0)
    evening = _fed([1.0, 1.0, 1.0, 0.0], 11.5)  # one of the two rounds of a day was missed
    assert evening is not None
    assert (evening.share, evening.days) == pytest.approx((0.5, 1.0))
    for later_h, share in ((0.9, 2 / 3), (1.1, 3 / 4)):  # a day and an hour is no second day
        state = _fed([1.0, 0.0, 1.0, 1.0], later_h)
        assert state is not None
        assert state.share == pytest.approx(share)
    long = _fed([0.1] * 4 + [0.5] * 14)
    assert long is not None
    assert (long.share, long.days) == pytest.approx((0.5, 7.0))
    one_more = _fed([0.1] * 4 + [0.5] * 13)
    assert one_more is not None
    assert one_more.share == pytest.approx((0.1 + 13 * 0.5) / 14)


def test_a_brood_is_said_to_be_short_while_it_is_behind_or_lean() -> None:
    """Well fed again it is as full as before, and stays as far behind."""
    state = _fed([0.0, 0.0] + [1.0] * 40)
    assert state is not None
    assert state.reserve == pytest.approx(1.0, abs=1e-6)
    assert state.lag_days > 0.3
    assert state.share == 1.0  # of the last week nothing was short
    lean = _fed([0.0, 0.0])
    assert lean is not None
    assert 0.0 < lean.reserve < 1.0


def _said(**state: float) -> str:
    values: dict[str, Any] = {"lag_days": 0.0, "reserve": 1.0, "share": 1.0, "days": 3.0} | state
    brood = evolve(_COURSE.brood, fed=Fed(**values))
    return hunger_words(BroodCourse.of(ROOM, brood), hours(_at(15)))


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ({"share": 0.5, "days": 3.0}, "fed 50% of its need over the last 3 days"),
        ({"share": 0.5, "days": 1.6}, "fed 50% of its need over the last 2 days"),
        ({"share": 0.5, "days": 1.4}, "fed 50% of its need over the last day"),
        ({"share": 0.5, "days": 0.2}, "fed 50% of its need over the last day"),
        ({"share": 0.9}, "fed less than its need before"),
        ({"share": 0.89}, "fed 89% of its need over the last 3 days"),
    ],
)
def test_how_short_of_food_a_brood_was(state: dict[str, float], words: str) -> None:
    assert _said(**state) == words


@pytest.mark.parametrize(
    ("reserve", "clause"),
    [
        (0.95, ""), (0.949, "; without food half are past saving by"),
        (0.01, "; without food half are past saving by Fri 15 Jan"),
        (0.0, "; by the model half of them can no longer be saved"),
    ],
)  # fmt: skip
def test_how_lean_it_is(reserve: float, clause: str) -> None:
    said = _said(share=0.5, reserve=reserve)
    assert clause in said
    assert ("past" in said, "no longer" in said) == ("past" in clause, "no longer" in clause)
    assert "lean" not in said  # which nobody sees after one round that was missed


@pytest.mark.parametrize(("behind_mm", "told"), [(0.199, False), (0.201, True), (1.23, True)])
def test_what_is_behind_is_told_from_a_hundredth_of_an_inch_on(
    behind_mm: float, told: bool
) -> None:
    """Less would be 0.00 in. Of fry that would be ten and a half days old by their class."""
    fry, now = _COURSE.fry_class, hours(_at(15))
    lag = 10.5 - fry.growth_days(fry.length_mm(10.5) - behind_mm)
    short = BroodCourse.of(ROOM, evolve(_COURSE.brood, fed=Fed(lag, 1.0, 0.5, 3.0)))
    assert short.behind_mm(now) == pytest.approx(behind_mm, rel=1e-3)
    assert (f"about {behind_mm:.1f} mm behind its class" in _said(lag_days=lag)) is told
    assert ("behind" in _said(lag_days=lag)) is told
    assert _COURSE.behind_mm(now) == 0.0


def test_days_that_are_left_are_as_many_as_reserves_are() -> None:
    now = hours(_at(15))
    whole = days_to_no_return(_COURSE.fry_class, _COURSE.length_mm(now), 26.0)
    for reserve, left in ((1.0, whole), (0.5, whole / 2), (-0.1, 0.0)):
        course = BroodCourse.of(ROOM, evolve(_COURSE.brood, fed=Fed(0.0, reserve, 1.0, 0.0)))
        assert saving_days(course, now) == pytest.approx(left)
        assert starving(course, now) is (reserve < 0.5)
    assert not starving(_COURSE, now)
    assert _COURSE.brood.fed is WELL_FED


# --- needs and rounds


def _round(day: int, hour: int = 8) -> Round:
    at = _at(day, hour)
    return Round(0, at, hours(at), 2, fed=True, keeper=True)


def test_a_brood_is_fed_from_its_first_food_to_the_day_before_it_is_gone() -> None:
    gone = BroodCourse.of(ROOM, evolve(_COURSE.brood, gone_on=date(2027, 1, 20)))
    assert [gone.wants_at(_round(day)) for day in (4, 5, 19, 20)] == [False, True, True, False]
    assert gone.need(_round(20)) is None
    # Half a day before its first food counts, on its day alone.
    eggs = BroodCourse.of(ROOM, ROOM.brood("eggs"))  # at noon of the 11th
    assert [eggs.eats_at(_round(day, hour)) for day, hour in ((10, 23), (11, 0), (11, 20))] == [
        False, True, True
    ]  # fmt: skip


def test_the_band_of_a_length_is_that_of_the_slow_and_the_fast() -> None:
    """Half and twice as fast: after ten days as long as after five and twenty."""
    slow, fast = _COURSE.length_band_mm(hours(_at(15, 0)))
    fry = _COURSE.fry_class
    assert slow == pytest.approx(fry.length_mm(5.0), rel=1e-4)
    assert fast == pytest.approx(fry.length_mm(20.0), rel=1e-4)
    assert _COURSE.length_band_mm(hours(_at(1))) == pytest.approx((4.0, 4.0))


def test_rounds_know_who_is_there() -> None:
    away = (
        Away(date(2027, 1, 6), date(2027, 1, 6), True),
        Away(date(2027, 1, 7), date(2027, 1, 7)),
    )
    found = rounds_between(evolve(ROOM, away=away), _at(5, 0), _at(8, 8, 1))
    assert [(r.fed, r.keeper) for r in found] == [
        (True, True), (True, True), (True, False), (True, False), (False, False), (False, False),
        (True, True),
    ]  # fmt: skip
    assert rounds_between(ROOM, _at(5, 8), _at(5, 8)) == []
    assert len(rounds_between(ROOM, _at(5, 8), _at(5, 8, 1))) == 1


def test_dry_food_too_little_to_weigh_goes_to_the_other_foods() -> None:
    """Half of the smallest step of a scale of 0.01 g, of food that gives 13,500 J a gram."""
    foods, fry = ROOM.foods_of(ROOM.broods[0]), _COURSE.fry_class
    length = next(x / 10 for x in range(40, 640) if _dry_share(x / 10) > 0.05)
    share = _dry_share(length)
    limit_j = 0.005 * 13_500 / share
    for energy, weighed in ((limit_j * 1.001, True), (limit_j * 0.999, False)):
        got = diet_j(ROOM, foods, fry, length, energy)
        assert ("dry" in got) is weighed
        assert sum(got.values()) == pytest.approx(energy)
    alone = diet_j(ROOM, [f for f in foods if f.name == "dry"], fry, length, 1e-3)
    assert alone == {"dry": pytest.approx(1e-3)}


def _dry_share(length_mm: float) -> float:
    foods = ROOM.foods_of(ROOM.broods[0])
    got = diet_j(ROOM, foods, _COURSE.fry_class, length_mm, 1e9)
    return got.get("dry", 0.0) / 1e9


def test_the_need_of_a_food_is_that_of_the_nearest_round_by_tank() -> None:
    for moment, nearest in ((_at(15, 13, 59), _at(15, 8)), (_at(15, 14, 1), _at(15, 20))):
        (needs,) = room_needs(ROOM, [_round(15, nearest.hour)])
        wanted = {n.brood.tank: n.foods["brine_shrimp"] for n in needs if "brine_shrimp" in n.foods}
        assert food_needs_at(ROOM, "brine_shrimp", moment) == pytest.approx(wanted)
        assert wanted


def test_a_brood_that_never_grows_has_no_day_of_a_length() -> None:
    """A measured one in a tank too cold to grow in; and none that lies beyond thousands of days."""
    brood = evolve(ROOM.brood("fry"), anchor="length", length_mm=5.0)
    tanks = tuple(evolve(tank, temperature_c=2.0) for tank in ROOM.tanks)
    course = BroodCourse.of(evolve(ROOM, tanks=tanks, broods=(brood,)), brood)
    assert course.fry_class.growth(2.0) == 0.0
    found = brood_dates(course, date(2027, 1, 5), date(2029, 1, 5))
    assert not {d.what for d in found} & {"lid", "move_on", "sort", "past_fry_age"}


def test_what_was_short_before_it_was_measured_is_made_good_with_its_reserves() -> None:
    """Its length says how far it is behind; only what it lacks still is told."""
    brood = evolve(_COURSE.brood, anchor="length", length_mm=9.0, anchor_date=date(2027, 1, 20))
    course = BroodCourse.of(ROOM, brood)
    measured_h = hours(_at(20, 0))
    filled = [Meal(measured_h - h, share) for h, share in ((12.0, 0.0), (11.0, 1.0), (0.0, 1.0))]
    assert fed_by(course, filled, measured_h + 12.0, per_day=2) is None
    lean = [Meal(measured_h - 12.0 * n, 0.0) for n in (2, 1)]
    state = fed_by(course, lean, measured_h, per_day=2)
    assert state is not None
    assert state.lag_days == 0.0
    assert 0.0 < state.reserve < 1.0
