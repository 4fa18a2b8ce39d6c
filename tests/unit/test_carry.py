"""The largest brood that a room feeds: the search, what lifts a limit, and small rooms by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime, timedelta
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.needs.need import BroodCourse
from cultures.planning.brood_trials import Standing, Trial, looked_at_until
from cultures.planning.carry import Carry, days_of_weeks, largest, lifts_of, sizes, surely
from cultures.planning.changes import with_tank
from cultures.planning.outlook import make_outlook
from cultures.planning.what_if import suppose
from cultures.room.file import read_room
from cultures.room.room import Brood, Room
from tests.carrying import Beside, fed

TODAY = date(2027, 1, 5)
_ROOM = """\
[room]
name = "Larkrise cupboard"
timezone = "Europe/Lisbon"
as_of = 2027-01-05
temperature_c = 23
rounds = ["08:00", "19:00"]
horizon_days = 7

[[tank]]
name = "T1"
litres = 40
temperature_c = 26

[[tank]]
name = "T2"
litres = 40
temperature_c = 26
"""
_WORMS = """
[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-20
medium_g = 20
surface_cm2 = 20
starter_g = 2
"""
_BOTTLE = """
[[vessel]]
name = "cone"
litres = 0.1
temperature_c = 27

[cysts]
grams = {grams}
"""


def _room(*parts: str) -> tuple[Room, datetime]:
    room = read_room(_ROOM + "".join(parts), today=TODAY)
    return room, datetime(2027, 1, 5, 7, tzinfo=room.timezone)


def _brood(room: Room, now: datetime, name: str, day: date = TODAY) -> Brood:
    return suppose(room, f"spawn {name} 10 in T1 on {day}", now).broods[-1]


def _upto(limit: int, tried: list[int], *, exact: bool) -> Callable[[int], Trial]:
    """Sizes up to a limit are fed; a failed one says what share is, or nothing."""

    def fits(count: int) -> Trial:
        tried.append(count)
        if count <= limit:
            return Trial()
        gap: Any = SimpleNamespace()
        return Trial(gap, "thin", fits=limit / count if exact else 0.0)

    return fits


@pytest.mark.parametrize("exact", [True, False])
@pytest.mark.parametrize("limit", [0, 4, 5, 6, 23, 140, 240, 499, 500, 10_000])
@pytest.mark.parametrize("guess", [0, 5, 60, 240, 500])
def test_the_search_ends_at_the_largest_size_from_any_guess(
    limit: int, guess: int, *, exact: bool
) -> None:
    tried: list[int] = []
    size, why = largest(_upto(limit, tried, exact=exact), guess)
    below = [step for step in sizes() if step <= limit]
    assert size == (below[-1] if below else 0)
    assert (why is None) == (limit >= 500)
    assert len(set(tried)) == len(tried) <= 12
    if why is not None:
        assert min(n for n in tried if n > limit) == sizes()[len(below)]


def test_from_the_bottom_up_ends_before_the_first_that_is_not_fed() -> None:
    """Of 80 to 100 and from 400 on none is fed; from above one would end at 350."""
    tried: list[int] = []

    def fits(count: int) -> Trial:
        tried.append(count)
        return _upto(399 if not 80 <= count <= 100 else 0, [], exact=False)(count)

    size, why = surely(fits)
    assert size == 70
    assert why is not None
    assert tried[:3] == [5, 20, 80]
    assert all(n <= 80 for n in tried)
    assert surely(fits, least=100)[0] == 350
    assert surely(fits, below=60) == (50, None)
    assert surely(_upto(500, tried, exact=False)) == (500, None)
    assert surely(_upto(4, tried, exact=False))[0] == 0


def test_the_search_tries_nothing_that_is_known() -> None:
    tried: list[int] = []
    size, _ = largest(_upto(70, tried, exact=False), 20, least=20, below=100)
    assert size == 70
    assert all(20 < n < 100 for n in tried)
    tried.clear()
    assert largest(_upto(300, tried, exact=False), 5, hint=300)[0] == 300
    assert tried[:2] == [5, 300]


def test_sizes_are_round_and_no_step_is_more_than_a_fifth() -> None:
    steps = sizes()
    assert steps[0] == 5
    assert steps[-1] == 500
    assert all(b <= a * 1.2 + 1e-9 for a, b in pairwise(steps))
    assert all(len(str(n).rstrip("0")) <= 2 for n in steps)


def test_a_brood_is_looked_at_until_it_lives_on_dry_food() -> None:
    room, now = _room(_WORMS)
    course = BroodCourse.of(room, _brood(room, now, "bubble_nest"))
    until = looked_at_until(course)
    wean_mm = course.fry_class.values["wean_mm"]
    weaned = room.at_hour(course.reaches(wean_mm))
    assert until.date() - timedelta(days=1) == weaned.date()
    early = BroodCourse.of(room, _brood(room, now, "livebearer"))
    assert looked_at_until(early).date() == early.first_food_day() + timedelta(days=14)


def test_without_dry_food_a_brood_is_looked_at_until_it_outgrows_its_foods() -> None:
    room, now = _room(_WORMS)
    worms = evolve(_brood(room, now, "annual_killifish"), foods=("microworm",))
    course = BroodCourse.of(room, worms)
    until = looked_at_until(course)
    outlook = make_outlook(evolve(room, broods=(worms,)), now=now, days=90)
    empty = [
        need.at for row in outlook.needs for need in row if not need.foods
    ]  # fmt: skip
    assert 0 <= (until - empty[0]) / timedelta(days=1) <= 1 or until <= empty[0]
    assert until.date() > course.first_food_day()


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("bubble_nest", (_WORMS,)),
        ("egg_scatterer", (_WORMS,)),
        ("substrate_spawner", (_BOTTLE.format(grams=40),)),
        ("mouthbrooder", (_BOTTLE.format(grams=3),)),
    ],
    ids=["worms", "worms for longer", "a small bottle", "and few cysts"],
)
def test_no_size_between_is_missed_in_small_rooms(name: str, parts: tuple[str, ...]) -> None:
    """Against planning both sizes whole: the named is fed, the step after it is not."""
    room, now = _room(*parts)
    (found,) = Carry(room, now, [TODAY]).by_day(name, "T1")
    assert found.limited is not None
    assert 0 < found.largest < 500
    beyond = next(size for size in sizes() if size > found.largest)
    beside = Beside.of(room, now, found.until)
    well, not_well = (
        beside.fed(evolve(found.brood, count=n)).well for n in (found.largest, beyond)
    )
    assert well
    assert not not_well
    assert beyond <= math.ceil(found.largest * 1.2)


def test_nothing_limits_where_all_is_plenty() -> None:
    room, now = _room(_BOTTLE.format(grams=40))
    (found,) = Carry(room, now, [TODAY + timedelta(weeks=1)]).by_day("livebearer", "T1")
    assert found.limited is None
    assert found.gain is None
    assert found.largest == 500


def test_a_trial_from_a_known_stretch_is_the_whole_plan() -> None:
    """What is planned from the stretches of the room as it is, and what is planned anew."""
    room, now = _room(_WORMS, _BOTTLE.format(grams=40))
    there = _brood(room, now, "egg_scatterer")
    room = evolve(room, broods=(evolve(there, name="there", tank="T2", count=40),))
    day = TODAY + timedelta(weeks=7)
    brood = _brood(room, now, "bubble_nest", day)
    until = looked_at_until(BroodCourse.of(room, brood))
    standing, beside = Standing.of(room, now, until), Beside.of(room, now, until)
    for count in (5, 60, 140, 500):
        tried = evolve(brood, count=count)
        assert standing.trial(tried, until).fed == beside.fed(tried).well


def test_what_lifts_a_limit_is_a_supposition_that_can_be_made() -> None:
    room, now = _room(_WORMS, _BOTTLE.format(grams=1.5))
    (found,) = Carry(room, now, [TODAY]).by_day("substrate_spawner", "T1")
    assert found.gap is not None
    for limit in ("vessels", "uneven", "no vessel", "tin", "mouth", "learning"):
        for lift in lifts_of(room, now, found.gap, limit):
            assert suppose(room, lift.supposition, now) == lift.room(room, now)
            assert lift.room(room, now) != room
    assert list(lifts_of(room, now, found.gap, "cold")) == []


def test_a_lift_gives_what_it_says() -> None:
    room, now = _room(_BOTTLE.format(grams=1.5))
    (found,) = Carry(room, now, [TODAY]).by_day("substrate_spawner", "T1")
    gain = found.gain
    assert gain is not None
    assert gain.what == "cysts"
    assert gain.largest > found.largest
    more = suppose(room, gain.supposition, now)
    assert fed(more, now, evolve(found.brood, count=gain.largest), found.until).well
    assert not fed(room, now, evolve(found.brood, count=gain.largest), found.until).well


def test_an_absence_holds_any_brood_up_and_a_helper_lifts_it() -> None:
    away = "\n[[away]]\nfrom = 2027-01-12\nto = 2027-01-13\n"
    room, now = _room(_WORMS, _BOTTLE.format(grams=40), away)
    (found,) = Carry(room, now, [TODAY]).by_day("egg_scatterer", "T1")
    assert found.largest == 0
    assert found.limited is not None
    assert found.limited.limit == "away"
    assert found.gain is not None
    assert found.gain.supposition == "away from 2027-01-12 to 2027-01-13 with helper"
    assert found.gain.largest > 0


def test_wishes_are_put_in_by_their_days_and_leave_less() -> None:
    room, now = _room(_WORMS)
    days = days_of_weeks(now, 1)
    alone = list(Carry(room, now, days).by_day("egg_scatterer", "T1"))
    carry = Carry(room, now, days)
    late, soon = "egg_scatterer 5 in T2 on 2027-01-07", "egg_scatterer 600 in T2 on 2027-01-05"
    wishes = list(carry.grant([late, soon]))
    assert [wish.text for wish in wishes] == [soon, late]
    assert not wishes[0].fed
    assert 0 < wishes[0].carried.largest < 600
    assert wishes[0].from_day is None
    assert carry.room.broods[0].count == wishes[0].carried.largest
    beside = list(carry.by_day("egg_scatterer", "T1"))
    assert all(a.largest >= b.largest for a, b in zip(alone, beside, strict=True))
    assert beside[0].largest < alone[0].largest


_PLANNED = """
[[brood]]
name = "hope"
tank = "T2"
class = "egg_scatterer"
count = 60
planned = 2027-01-07
chance = {chance}
"""


def test_what_is_planned_comes_first_as_if_it_came() -> None:
    """As in a room where it is certain; and it goes short of nothing that it had without."""
    room, now = _room(_WORMS, _PLANNED.format(chance=0.7))
    (hope,) = room.hoped
    sure = evolve(room, hoped=(), broods=(evolve(hope, anchor="spawned"),))
    carry = Carry(room, now, [TODAY])
    (found,) = carry.by_day("egg_scatterer", "T1")
    (beside,) = Carry(sure, now, [TODAY]).by_day("egg_scatterer", "T1")
    (alone,) = Carry(evolve(room, hoped=()), now, [TODAY]).by_day("egg_scatterer", "T1")
    assert [brood.name for brood in carry.hoped] == ["hope"]
    assert carry.unlikely == ()
    assert 0 < found.largest == beside.largest < alone.largest
    judge = Beside.of(sure, now, found.until)
    assert judge.fed(found.brood).well
    assert not judge.fed(evolve(found.brood, count=alone.largest)).well


def test_what_is_hardly_likely_is_left_out() -> None:
    room, now = _room(_WORMS, _PLANNED.format(chance=0.05))
    carry = Carry(room, now, [TODAY])
    assert carry.hoped == ()
    assert [brood.name for brood in carry.unlikely] == ["hope"]
    (found,) = carry.by_day("egg_scatterer", "T1")
    (alone,) = Carry(evolve(room, hoped=()), now, [TODAY]).by_day("egg_scatterer", "T1")
    assert found.largest == alone.largest


def test_a_tank_that_is_not_there_has_the_temperature_that_is_asked_for() -> None:
    room, _ = _room()
    more, name = with_tank(room, 21.5)
    assert more.tank(name).temperature_c == 21.5
    again, other = with_tank(more, 30)
    assert other != name
    assert again.tank(other).litres == 40
