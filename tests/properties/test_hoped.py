"""A planned spawning that is confirmed or dropped moves only what must move."""

from __future__ import annotations

import re
from collections import Counter
from datetime import datetime, timedelta

import pytest
from attrs import evolve, frozen
from hypothesis import given, settings
from hypothesis import strategies as st

from cultures.fry.classes import shipped_class
from cultures.planning.build import build_tasks
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.what_if import compare, settings_and_splits
from cultures.room.room import Brood, Room, Tank
from cultures.tasks.plan import Plan, Shortfall
from cultures.tasks.task import FirstFood, Retire, Split, Start
from tests.examples import examples
from tests.properties.test_plan_promise import RELIABLE
from tests.simulation import simulate
from tests.strategies import RoomCase, room_cases

_CLASSES = ("egg_scatterer", "bubble_nest", "rainbowfish", "livebearer")


@frozen
class _Hope:
    """A small room, and a brood that is planned to spawn in a tank of its own."""

    case: RoomCase
    ahead: int
    degrees: int
    fry_class: str
    count: int

    def room(self) -> Room:
        room = self.case.room()
        tank = Tank("hoped for", 40.0, self.degrees)
        return evolve(room, tanks=(*room.tanks, tank))

    def brood(self) -> Brood:
        day = self.case.now().date() + timedelta(days=self.ahead)
        return Brood(
            "hoped", "hoped for", shipped_class(self.fry_class), self.count, day, "planned", day,
            survival_per_day=0.98, chance=0.6,
        )  # fmt: skip


def _hopes() -> st.SearchStrategy[_Hope]:
    return st.builds(
        _Hope, room_cases(longest_days=10, most_broods=2), st.integers(0, 12), st.integers(23, 28),
        st.sampled_from(_CLASSES), st.sampled_from([20, 150, 900]),
    )  # fmt: skip


def _steady(plan: Plan) -> list[object]:
    """All that is to be done for who is there, but for from which culture worms are taken, and for
    which tank is free to move to: that of the fry that are to come is not.
    """
    return [
        {**task.to_json(), "why": re.sub(r"(?<=\.) [^.]*, [\d.,]+ L, is free\.", "", task.why)}
        for task in plan.tasks
        if not task.spawns and not isinstance(task, Split | Start | Retire)
        and task.what != "harvest_worms"
    ]  # fmt: skip


def _what(short: Shortfall) -> tuple[object, ...]:
    return short.at, short.until, short.food, short.tanks, short.cause, f"{short.short_j:.3g}"


def _given(outlook: Outlook, until: datetime) -> dict[tuple[object, ...], float]:
    return {
        (x.at, x.tank, x.brood, x.food, x.unit): x.amount
        for row in outlook.lines for x in row if x.at < until
    }  # fmt: skip


@settings(RELIABLE, max_examples=examples(suite=3, thorough_run=300))
@given(_hopes())
def test_dropping_takes_away_what_is_for_it_and_moves_nothing(hope: _Hope) -> None:
    room, brood, now = hope.room(), hope.brood(), hope.case.now()
    hoping, without = (
        make_outlook(evolve(room, hoped=(brood,)), now=now),
        make_outlook(room, now=now),
    )
    hoped, plan = (plan_of(each, remedies=False) for each in (hoping, without))
    found = compare([], plan, hoped)
    assert not found.dropped
    assert not found.moved
    assert all(task.spawns == (("hoped", "hoped for"),) for task in found.added)
    assert {type(task) for task in found.added} <= {Split, Start, Retire, FirstFood}
    assert _steady(hoped) == _steady(plan)
    assert _given(hoping, hoping.until) == pytest.approx(_given(without, without.until))
    certain = [s for s in hoped.shortfalls if not s.spawns]
    assert [_what(s) for s in certain] == [_what(s) for s in plan.shortfalls]
    assert all(s.chance == pytest.approx(0.6) for s in hoped.shortfalls[len(certain) :])
    outcome = simulate(hoping.room, build_tasks(hoping), [x for row in hoping.lines for x in row])
    assert outcome.violations == []


@settings(RELIABLE, max_examples=examples(suite=3, thorough_run=300))
@given(_hopes())
def test_once_it_spawned_nothing_is_missed_that_was_to_be_begun_before(hope: _Hope) -> None:
    """Who knew of the spawning would have begun no more cultures of any kind by its day.

    What would have been taken from fry that are there is not begun, and told to fall short.
    """
    room, brood, now = hope.room(), hope.brood(), hope.case.now()
    hoped = plan_of(make_outlook(evolve(room, hoped=(brood,)), now=now), remedies=False)
    spawned = evolve(brood, anchor="spawned", chance=1.0)
    sure = evolve(room, broods=(*room.broods, spawned), told=settings_and_splits(hoped))
    plan = plan_of(make_outlook(sure, now=now), remedies=False)
    begun, wanted = (
        Counter(
            t.other.partition("-")[0]
            for t in each.tasks
            if isinstance(t, Split) and t.at.date() <= brood.anchor_date
        )
        for each in (hoped, plan)
    )
    assert wanted <= begun or any(s.spawns for s in hoped.shortfalls)
