"""Worm cultures and their splits by hand from docs/planning.md, "Worms" and "Splits"."""

from __future__ import annotations

import math
from collections import Counter
from datetime import date, datetime, timedelta

import pytest
from attrs import evolve

from cultures.foods.kinds import WormKind
from cultures.foods.worms import first_harvest_age, last_useful_age
from cultures.needs.need import rounds_between
from cultures.planning.prices import (
    asked_at,
    choice_of,
    harm_of,
    least_harm,
    price_for,
    shares_of,
    want_of,
)
from cultures.planning.split_plan import Cupboard, _Planner
from cultures.planning.worm_course import (
    Layouts,
    Split,
    Stage,
    child_stage,
    culture_clock,
    run_course,
    standing_stage,
)
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _stage

_ROOM = """
[room]
timezone = "UTC"
as_of = 2027-03-01
temperature_c = {degrees}
rounds = ["08:00", "20:00"]
spare_cultures = 1
horizon_days = 28
{days}
[[tank]]
name = "T"
litres = 40
temperature_c = 25
[[brood]]
name = "b"
tank = "T"
class = "egg_scatterer"
count = 60
free_swimming = 2027-02-25
foods = ["microworm"]
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-20
medium_g = 150
surface_cm2 = 180
starter_g = 15
"""


def _room(*, days: str = "", degrees: float = 22.0, away: str = "") -> Room:
    text = _ROOM.format(days=days, degrees=degrees) + away
    return read_room(text, today=date(2027, 3, 1))


# --- one culture along the rounds


def _at_reference() -> tuple[Room, Stage, list[float]]:
    """A room at the temperature at which a day of a culture is a day; its ages are since noon."""
    warm = _room().cultures[0].kind.values["t_ref_c"]
    room = _room(degrees=warm)
    feedings = rounds_between(room, room.local(date(2027, 3, 1), datetime.min.time()),
                              room.local(date(2027, 4, 20), datetime.min.time()))  # fmt: skip
    noon_h = hours(datetime(2027, 2, 20, 12, tzinfo=room.timezone))
    ages = [(r.at_h - noon_h) / 24.0 for r in feedings]
    return room, standing_stage(room, room.cultures[0], feedings), ages


def test_what_a_culture_keeps_and_how_good_a_parent_it_is_at_each_age() -> None:
    _, stage, ages = _at_reference()
    model, values = stage.model, stage.culture.kind.values
    spent = last_useful_age(model, values["retire_share"])
    assert stage.ages == pytest.approx([a for a in ages if a < spent])
    assert (stage.first, stage.spent_from) == (0, len(stage.ages))
    assert (stage.spent_h - stage.ages[0]) == pytest.approx(stage.spent_h - ages[0])
    sour_from = model.half_spent_age - model.souring_width
    seen = set()
    for age, climbs, keeps, rank in zip(
        stage.ages, stage.climbs_mg, stage.keeps_mg, stage.rank, strict=True
    ):
        carries = model.capacity_at(age)
        climbing = model.climbing_density * carries
        assert climbs == pytest.approx(climbing)
        if age >= sour_from:
            expected = 2, climbing
        elif values["parent_from_days"] <= age <= values["parent_until_days"]:
            expected = 0, carries / 2
        else:
            expected = 1, carries / 2
        assert (rank, keeps) == pytest.approx(expected)
        seen.add(rank)
    assert seen == {0, 1, 2}
    assert stage.rank_at(stage.spent_from) == 2


def test_a_child_begins_at_its_round_and_gives_nothing_during_its_lag() -> None:
    room, stage, _ = _at_reference()
    feedings = rounds_between(room, room.local(date(2027, 3, 1), datetime.min.time()),
                              room.local(date(2027, 3, 30), datetime.min.time()))  # fmt: skip
    culture = evolve(room.cultures[0], name="MW-2", started=date(2027, 3, 2))
    child = child_stage(room, Split("MW-1", culture, 3), feedings)
    assert child.first == 3
    assert child.ages[:3] == pytest.approx([0.0, 0.5, 1.0])
    for age, climbs in zip(child.ages, child.climbs_mg, strict=True):
        assert math.isinf(climbs) is (age < stage.model.lag)
    assert math.isinf(child.climbs_mg[0])
    lost = evolve(culture, lost_h=feedings[7].at_h)
    assert child_stage(room, Split("MW-1", lost, 3), feedings).spent_from == 7


# --- splits of a course


def test_splits_from_a_parent_past_its_best_are_counted() -> None:
    """None without a split; of two, the one from a parent that sours."""
    fresh, sour = _stage("MW-1", 800), _stage("MW-2", 800, ripe=False)
    assert run_course([fresh], [], [0.0] * 4).poor == 0
    children = [evolve(_stage(n, 0), culture=evolve(fresh.culture, name=n)) for n in ("C-1", "C-2")]
    splits = [Split("MW-1", children[0].culture, 1), Split("MW-2", children[1].culture, 2)]
    course = run_course([fresh, sour, *children], splits, [0.0] * 4)
    assert (course.poor, course.unfit) == (1, 0)
    assert course.gave == {"MW-1": [1], "MW-2": [2]}
    assert run_course([fresh, sour, *children], splits[:1], [0.0] * 4).poor == 0


def test_a_starter_takes_no_more_worms_than_there_are() -> None:
    """As much as the parent's whole medium, and twice that."""
    parent = _stage("MW-1", 800)
    for starter_g in (150.0, 300.0):
        culture = evolve(parent.culture, name="MW-2", starter_g=starter_g)
        child = evolve(_stage("MW-2", 0), culture=culture)
        course = run_course([parent, child], [Split("MW-1", culture, 0)], [0.0] * 4)
        assert course.stocks == pytest.approx({"MW-1": 0.0, "MW-2": 800.0})


# --- the day of a split


#: A parent that is in its best age for weeks.
_PATIENT = """
[[kind]]
name = "patient"
like = "microworm"
prefix = "MW"
[kind.parameters]
parent_from_days = 2
parent_until_days = 25
"""


def _planner(away: str = "", days: str = 'split_days = ["mon"]') -> _Planner:
    room = _room(days=days, away=_PATIENT + away)
    kind = room.kinds["patient"]
    assert isinstance(kind, WormKind)
    room = evolve(room, cultures=(evolve(room.cultures[0], kind=kind),))
    since = room.local(date(2027, 3, 1), datetime.min.time())
    feedings = rounds_between(room, since, since + timedelta(days=24))
    return _Planner(room, kind, feedings, [0.0] * len(feedings), [], (), (), None, None,
                    Layouts(room, feedings), Cupboard(math.inf, 0))  # fmt: skip


def test_a_start_is_looked_for_in_the_week_before_the_last_round_that_does() -> None:
    """To the hour: with rounds twelve hours apart that is fifteen of them, the latest first."""
    planner = _planner()
    index = len(planner.feedings) - 1
    found = planner._early_enough(index)
    culture, rounds = planner.room.cultures[0], planner.feedings
    age = first_harvest_age(planner.stages["MW-1"].model, planner.course.parents(found[0])[0][0]
                            * culture.starter_g / culture.medium_g)  # fmt: skip
    clock = culture_clock(planner.room, culture, rounds)
    assert clock.when(rounds[found[0]].at_h, age) <= rounds[index].at_h
    assert clock.when(rounds[found[0] + 1].at_h, age) > rounds[index].at_h
    assert found == list(range(found[0], found[0] - 15, -1))
    # Without days that are liked better the last one does.
    assert _planner(days="")._early_enough(index) == found[:1]


def test_of_these_the_latest_on_a_day_that_is_liked_is_taken_and_one_that_was_told_first() -> None:
    planner = _planner()
    found = planner._early_enough(len(planner.feedings) - 1)
    monday = planner.feedings[planner._preferred(found)].at
    assert (monday.weekday(), monday.hour) == (0, 20)
    assert timedelta(0) <= planner.feedings[found[0]].at - monday < timedelta(days=7)
    planner.told = Counter((found[4], found[6]))
    assert planner._preferred(found) == found[4]
    planner.told = Counter((0,))  # no longer in time, or not a round at which it can be made
    assert planner._preferred(found) == planner.feedings.index(
        next(r for r in planner.feedings if r.at == monday)
    )
    assert _planner(days="")._preferred(found) == found[0]


def test_nothing_is_started_while_the_keeper_is_away() -> None:
    def days(away: str = "") -> set[date]:
        planner = _planner(away)
        return {planner.feedings[i].at.date() for i in planner._early_enough(47)}

    gone = sorted(days())[2]
    assert days(f"[[away]]\nfrom = {gone}\nto = {gone}\n") == days() - {gone}


def _start(planner: _Planner, name: str, at: int) -> Split:
    culture = evolve(planner.room.cultures[0], name=name, started=planner.feedings[at].at.date())
    return Split("MW-1", culture, at)


def test_the_cupboard_holds_medium_for_so_many_starts_until_more_can_be_had() -> None:
    """54 g of oats for boxes that take 27 g, until the tenth round; what is decided is out."""
    planner = _planner()
    planner.medium = Cupboard(54.0, 10)

    def may(at: int, *made: tuple[str, int], kept: tuple[str, ...] = ()) -> bool:
        planner.splits, planner.kept = [_start(planner, *each) for each in made], kept
        return planner._has_medium(at, 27.0)

    assert may(9)
    assert may(9, ("MW-2", 3))
    assert not may(9, ("MW-2", 3), ("MW-3", 9))
    assert may(9, ("MW-2", 3), ("MW-3", 9), kept=("MW-2",))
    assert may(9, ("MW-2", 3), ("MW-3", 10))
    assert may(10, ("MW-2", 3), ("MW-3", 9))
    planner.medium = Cupboard(53.9, 10)
    assert not may(9, ("MW-2", 3))


def test_medium_that_comes_does_for_what_is_started_after_it() -> None:
    """27 g of oats for a box, and for two more by the fifth round, of which none is made before."""
    planner = _planner()
    planner.medium = Cupboard(27.0, 10, ((5, 54.0),))

    def may(at: int, *made: tuple[str, int]) -> bool:
        planner.splits, planner.kept = [_start(planner, *each) for each in made], ()
        return planner._has_medium(at, 27.0)

    assert may(4)
    assert not may(4, ("MW-2", 3))
    assert may(5, ("MW-2", 3))
    assert may(5, ("MW-2", 3), ("MW-3", 5))
    assert not may(9, ("MW-2", 3), ("MW-3", 5), ("MW-4", 6))
    assert may(4, ("MW-3", 5), ("MW-4", 6))  # those are made of what comes
    assert not may(4, ("MW-3", 5), ("MW-4", 6), ("MW-5", 7))


def test_what_keeps_a_split_from_being_made_at_a_round() -> None:
    planner = _planner()
    assert planner._may_split(9)
    planner.room = evolve(planner.room, not_before={"patient": planner.feedings[9].at})
    assert [planner._may_split(i) for i in (8, 9, 10)] == [False, True, True]
    most = round(planner.kind.values["splits_a_day"])
    for number in range(most):
        assert planner._may_split(10)
        made = _start(planner, f"MW-{number + 2}", 10)
        planner.stages[made.culture.name] = planner.layouts.child(made)
    assert [planner._may_split(i) for i in (9, 10, 11, 12)] == [True, False, False, True]


def test_how_good_a_parent_must_be() -> None:
    """Young until two days old, then in its best age, and from some day on it sours."""
    planner = _planner()
    stage = planner.stages["MW-1"]
    sours = stage.rank.index(2)
    ranks = (0, sours - 1, sours)
    assert [stage.rank[i] for i in ranks] == [0, 0, 2]
    for worst, may in ((0, [True, True, False]), (1, [True, True, False]), (2, [True] * 3)):
        assert [planner._may_split(i, worst) for i in ranks] == may
    planner.stages["MW-1"] = evolve(stage, rank=[1] * len(stage.rank))
    assert [planner._may_split(9, worst) for worst in (0, 1)] == [False, True]


def test_a_start_is_made_from_the_fullest_and_named_next() -> None:
    planner = _planner()
    made = planner._start_at(9)
    assert (made.parent, made.culture.name, made.at_index) == ("MW-1", "MW-2", 9)
    assert made.culture.started == planner.feedings[9].at.date()
    assert planner.splits == [made]
    assert planner.stages["MW-2"].first == 9
    assert planner._start_at(9).culture.name == "MW-3"


# --- prices


def test_choice_and_what_is_asked_at_a_price() -> None:
    """All of a need elsewhere is a choice of 4; none, 0.01 a millimetre."""
    assert choice_of(1.0, 0.0) == 4.0
    assert choice_of(0.0, 10.0) == pytest.approx(0.1)
    assert choice_of(0.5, 6.0) == pytest.approx(0.5 / 0.625 + 0.06)
    wants = [want_of(10.0, 0.5), want_of(20.0, 2.0)]
    assert asked_at(wants, 0.0) == 30.0
    assert asked_at(wants, 0.25) == pytest.approx(10 * 0.875 + 20 * 0.5)
    assert asked_at(wants, 1.0) == 5.0  # the second asks for nothing, and not for less


def test_what_a_mouth_cannot_take_is_missed_at_any_price() -> None:
    """It misses 100 and takes 40 at most: 100 - 50 p is 40 at 1.2, 25 at 1.5 and 0 at 2."""
    wants = [(40.0, 100.0, 50.0)]
    assert [asked_at(wants, price) for price in (0.0, 1.2, 1.5, 2.0, 3.0)] == [40, 40, 25, 0, 0]
    assert price_for(wants, 40.0) == 0.0
    assert price_for(wants, 25.0) == pytest.approx(1.5)
    assert harm_of(wants, 40.0) == 0.0
    assert harm_of(wants, 25.0) == pytest.approx((75.0**2 - 60.0**2) / 100.0)
    # Beside one that can take all, it is served first: 40 and 100 - 50 p of 80 at p = 1.2.
    assert shares_of([*wants, (100.0, 100.0, 50.0)], 80.0) == pytest.approx([40.0, 40.0])


@pytest.mark.parametrize(
    ("grows", "given"), [(0.5, (64.0, 28.0)), (1.0, (60.0, 60.0)), (2.0, (76.0, 88.0))]
)
def test_least_harm_is_done_where_a_price_is_what_is_kept_is_worth(
    grows: float, given: tuple[float, float]
) -> None:
    """120 for two rounds that want 100 each, and what the first leaves is multiplied by g. Least
    harm is done where the first misses g times what the second does: 36 and half of 72, 40 and
    40, 24 and twice 12.
    """
    want = want_of(100.0, 1.0)

    def at(prices: list[float]) -> tuple[float, list[float]]:
        first = asked_at([want], prices[0])
        fed = [first, min(asked_at([want], prices[1]), (120.0 - first) * grows)]
        return sum(harm_of([want], part) for part in fed), fed

    def worth(fed: list[float]) -> list[float]:
        return [grows * price_for([want], fed[1]), 0.0]

    _, fed = least_harm([0.0, 0.0], at, worth)
    assert fed == pytest.approx(given, abs=1.0)


@pytest.mark.parametrize(("worth", "looks"), [(1.0009, 1), (1.0011, 2)])
def test_prices_are_moved_while_one_is_a_thousandth_from_what_is_kept_is_worth(
    worth: float, looks: int
) -> None:
    """Of two, of which the other is steady; once moved, it is what it is worth."""
    tried: list[list[float]] = []

    def at(prices: list[float]) -> tuple[float, None]:
        tried.append(prices)
        return 9.0 - sum(prices), None

    prices, _ = least_harm([1.0, 1.0], at, lambda _: [1.0, worth])
    assert len(tried) == looks
    assert prices == pytest.approx(tried[-1])


def test_nothing_is_kept_that_is_worth_nothing_later() -> None:
    prices, fed = least_harm([0.0], lambda p: (1.0 + p[0], p), lambda _: [0.0])
    assert prices == fed == [0.0]


def test_prices_that_shoot_over_are_tried_until_they_come_back() -> None:
    """Least at a price of 1; from 0 it goes to 9, and halves the way from there: 5, 3, 2, 1.5."""
    prices, harm = least_harm(
        [0.0], lambda p: ((p[0] - 1.0) ** 2, p[0]), lambda p: [9.0 if p == 0.0 else 1.0]
    )
    assert prices[0] == pytest.approx(1.0, abs=0.01)
    assert harm == prices[0]
