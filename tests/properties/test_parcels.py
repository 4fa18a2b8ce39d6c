"""What is on its way is in no hatch before it comes, and in the books as it was noted."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from cli.commands.demo_room import demo_text
from cultures.foods.food import DRY
from cultures.journal.entries import Entry
from cultures.planning.build import build_tasks
from cultures.planning.outlook import make_outlook
from cultures.replay.own_values import OwnValues
from cultures.room.file import read_room
from cultures.room.orders import Order
from cultures.room.room import Cysts, Room
from cultures.tasks.task import SetHatch
from tests.examples import examples
from tests.properties.test_plan_promise import RELIABLE
from tests.simulation import simulate
from tests.strategies import RoomCase, room_cases
from tests.unit.recorded import room_at

_ZONE = ZoneInfo("Europe/Lisbon")
_TODAY = date(2027, 1, 5)
_START = datetime(2027, 1, 5, 6, 0, tzinfo=_ZONE)
_ROOM: Room = read_room(demo_text(_TODAY), today=_TODAY)
#: Orders: how much, in how many days it comes, and whether it is overdue.
_ORDERS = st.lists(
    st.tuples(st.sampled_from([0.3, 2.0, 8.0, 60.0]), st.integers(0, 9), st.just(False)),
    min_size=1, max_size=3,
)  # fmt: skip


def _with_orders(
    room: Room, now: datetime, tin_g: float, drawn: list[tuple[float, int, bool]]
) -> Room:
    today = now.astimezone(room.timezone).date()
    cysts = evolve(room.cysts or Cysts(0.0), grams=tin_g)
    return evolve(room, cysts=cysts, orders=tuple(
        Order("cysts", grams, grams, today, today + timedelta(days=days), late)
        for grams, days, late in drawn
    ))  # fmt: skip


@settings(RELIABLE, max_examples=examples(suite=4, thorough_run=30))
@given(
    room_cases(longest_days=examples(suite=10, thorough_run=14)),
    st.sampled_from([0.0, 1.0, 4.0]), _ORDERS,
)  # fmt: skip
def test_no_cysts_are_set_before_they_come_and_each_line_gives_what_it_promises(
    case: RoomCase, tin_g: float, drawn: list[tuple[float, int, bool]]
) -> None:
    room = _with_orders(case.room(), case.now(), tin_g, drawn)
    outlook = make_outlook(room, now=case.now())
    tasks = build_tasks(outlook)
    sets = sorted((t.at, t.cysts_g) for t in tasks if isinstance(t, SetHatch))
    for at, _ in sets:
        came = sum(o.grams for o in room.orders if o.day is not None and o.day < at.date())
        assert sum(grams for other, grams in sets if other <= at) <= tin_g + came + 1e-9
    outcome = simulate(room, tasks, [x for row in outlook.lines for x in row])
    assert outcome.violations == []
    for row in outlook.lines:
        for line in row:
            given_j = outcome.given_j.get((line.at, line.brood, line.food), 0.0)
            assert given_j == pytest.approx(line.given_j, rel=1e-9, abs=1e-9), line


@settings(RELIABLE, max_examples=examples(suite=2, thorough_run=15))
@given(
    room_cases(longest_days=examples(suite=8, thorough_run=14)), st.sampled_from([0.0, 2.0, 12.0]),
    st.sampled_from([2.0, 60.0]), st.booleans(),
)  # fmt: skip
def test_what_is_overdue_or_has_no_day_is_in_no_round(
    case: RoomCase, tin_g: float, grams: float, dated: bool
) -> None:
    alone = _with_orders(case.room(), case.now(), tin_g, [])
    (order,) = _with_orders(alone, case.now(), tin_g, [(grams, -1, True)]).orders
    if not dated:
        order = evolve(order, day=None, late=False)
    found, without = (
        make_outlook(room, now=case.now()) for room in (evolve(alone, orders=(order,)), alone)
    )
    assert found.lines == without.lines
    hatches = [
        [(b.vessel.name, b.set_h, b.cysts_g) for b in o.feeding.hatches.batches]
        for o in (found, without)
    ]
    assert hatches[0] == hatches[1]


_ITEMS = ("cysts", "salt", DRY)
_ENTRIES = st.lists(
    st.builds(
        lambda hour, event, item, grams, day: Entry(
            _START + timedelta(hours=hour), event, item,
            f"{(_START + timedelta(hours=hour)).date() + timedelta(days=day)}"
            if event == "ordered" and day and grams else "", float(grams), "g",
        ),
        st.integers(0, 150), st.sampled_from(["ordered", "ordered", "bought", "used", "count"]),
        st.sampled_from(_ITEMS), st.integers(0, 60), st.integers(0, 4),
    ),
    max_size=10,
)  # fmt: skip


def _at(entries: list[Entry], now: datetime) -> Room:
    by_time = sorted(entries, key=lambda e: e.when)
    return room_at(_ROOM, by_time, now, own_values=OwnValues())


@settings(max_examples=examples(suite=60, thorough_run=500), deadline=None)
@given(_ENTRIES, st.integers(0, 160))
def test_the_books_are_the_same_without_the_orders(entries: list[Entry], hour: int) -> None:
    """Orders move nothing but what is on order, and nothing before they are noted."""
    now = _START + timedelta(hours=hour)
    found = _at(entries, now)
    assert evolve(found, orders=()) == _at([e for e in entries if e.event != "ordered"], now)
    assert found == _at([e for e in entries if e.when <= now], now)
    assert found.tin.grams + sum(g for _, g in found.parcels("cysts")) == found.tin.in_all
    for item in _ITEMS:
        mine = [e for e in entries if e.subject == item and e.when <= now]
        open_g = sum(o.grams for o in found.orders if o.item == item)
        asked_g = sum(e.amount or 0.0 for e in mine if e.event == "ordered")
        assert 0.0 <= open_g <= asked_g
        assert all(o.grams > 0.1 * o.ordered_g for o in found.orders)
        assert all(o.late == (o.last_day < now.date()) for o in found.orders)


@settings(max_examples=examples(suite=60, thorough_run=500), deadline=None)
@given(_ENTRIES)
def test_orders_that_came_are_purchases(entries: list[Entry]) -> None:
    """Whoever then buys of each stock what is on order has the room of one who never ordered."""
    now = _START + timedelta(hours=200)
    open_orders = _at(entries, now - timedelta(hours=1)).orders
    came = [Entry(now, "bought", o.item, "", o.grams, "g") for o in open_orders]
    plain = [e for e in entries if e.event != "ordered"]
    assert _at([*entries, *came], now) == _at([*plain, *came], now)
