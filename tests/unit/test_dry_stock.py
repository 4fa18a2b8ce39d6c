"""Dry food that is not there is not planned: until more can come no more is fed than is left."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import DRY
from cultures.needs.need import BroodNeed, rounds_between
from cultures.planning.plan import make_plan
from cultures.planning.servings import Serving
from cultures.planning.sharing import dry_bought_from, give_dry
from cultures.room.file import read_room
from cultures.room.orders import Order
from cultures.tasks.plan import Plan
from cultures.tasks.task import Buy

_ROOM = """
[room]
name = "The loft"
timezone = "UTC"
as_of = 2027-03-01
temperature_c = 23
rounds = ["07:00", "19:00"]

[tools]
scale_g = 0.1

[[tank]]
name = "A1"
litres = 100
temperature_c = 24

[[brood]]
name = "guppies"
tank = "A1"
class = "livebearer"
count = 60
hatched = 2027-01-20
foods = ["dry"]

[supplies]
"""
_AT = datetime(2027, 3, 1, 6, tzinfo=UTC)


def _plan(supplies: str, *, away: str = "", remedies: bool = False) -> Plan:
    room = read_room(_ROOM + supplies + away, today=date(2027, 3, 1))
    return make_plan(room, now=_AT, days=6, remedies=remedies)


def _fed_g(plan: Plan) -> dict[datetime, float]:
    """Dry food by round [g]."""
    found: dict[datetime, float] = {}
    for line in plan.lines:
        if line.food == DRY and line.amount:
            found[line.at] = found.get(line.at, 0.0) + line.amount
    return found


def test_what_is_left_is_given_in_full_while_it_lasts_and_then_in_parts() -> None:
    """Of 150 J the first round takes its 100; the second half; the fourth is fed of new food."""
    brood: Any = SimpleNamespace(name="one")
    suits: Any = SimpleNamespace(dry_cap_j=lambda serving: serving.need.energy_j)
    rows = [
        [Serving(BroodNeed(brood, _AT, 6.0, 10, part_j, {DRY: part_j}), {}) for part_j in (60, 40)]
        for _ in range(4)
    ]
    give_dry(rows, suits, 150.0, 3)
    given = [[s.given_j.get(DRY, 0.0) for s in row] for row in rows]
    assert given == [[60, 40], pytest.approx([30, 20]), [0, 0], [60, 40]]
    out = [[s.dry_out_j for s in row] for row in rows]
    assert out == [[0, 0], pytest.approx([30, 20]), [60, 40], [0, 0]]
    give_dry(rows, suits)
    assert [s.given_j[DRY] for row in rows for s in row] == [60, 40] * 4
    assert all(s.dry_out_j == 0.0 for row in rows for s in row)


def test_what_comes_is_given_from_its_round_on_and_what_lacked_is_not_made_up_for() -> None:
    """As above, and 120 J more for the third round, of which a fifth is left for the fourth."""
    brood: Any = SimpleNamespace(name="one")
    suits: Any = SimpleNamespace(dry_cap_j=lambda serving: serving.need.energy_j)
    rows = [
        [Serving(BroodNeed(brood, _AT, 6.0, 10, part_j, {DRY: part_j}), {}) for part_j in (60, 40)]
        for _ in range(5)
    ]
    give_dry(rows, suits, 150.0, 4, [(2, 100.0), (2, 20.0)])
    given = [sum(s.given_j.get(DRY, 0.0) for s in row) for row in rows]
    assert given == pytest.approx([100, 50, 100, 20, 100])


def _ordered(grams: float, day: int | None, *, late: bool = False) -> Order:
    today = date(2027, 3, 1)
    return Order(DRY, grams, grams, today, None if day is None else date(2027, 3, day), late)


def _plan_with(*orders: Order, supplies: str = "dry_g = 0\ndry_days = 5") -> Plan:
    room = read_room(_ROOM + supplies, today=date(2027, 3, 1))
    return make_plan(evolve(room, orders=orders), now=_AT, days=6, remedies=True)


def test_dry_food_that_is_ordered_is_fed_once_its_day_is_over() -> None:
    """In five days what is bought now is there: 50 g come on the second, and last as long."""
    fed = _fed_g(_plan_with(_ordered(50.0, 2)))
    assert min(fed) == datetime(2027, 3, 3, 7, tzinfo=UTC)
    assert {at: fed[at] for at in fed} == pytest.approx(
        {at: grams for at, grams in _fed_g(_plan("")).items() if at >= min(fed)}, abs=0.11
    )
    plan = _plan_with(_ordered(50.0, 2))
    (out,) = (s for s in plan.shortfalls if s.limit == "out")
    assert out.until == datetime(2027, 3, 2, 19, tzinfo=UTC)
    assert "the dry food runs out on Mon 1 Mar 07:00; 50 g are to come on Tue 2 Mar" in out.cause
    assert not any(isinstance(task, Buy) for task in plan.tasks)


def test_little_that_is_ordered_is_fed_as_far_as_it_goes() -> None:
    first, *_ = _fed_g(_plan("")).values()
    fed = _fed_g(_plan_with(_ordered(first, 2)))
    before = {at: grams for at, grams in fed.items() if at < _AT + timedelta(days=5)}
    assert sum(before.values()) <= first + 0.1
    assert min(before) == datetime(2027, 3, 3, 7, tzinfo=UTC)


def test_of_an_order_without_a_day_nothing_is_fed_and_nothing_is_bought() -> None:
    plan = _plan_with(_ordered(50.0, None), supplies="dry_g = 0")
    assert _fed_g(plan) == {}
    assert not any(isinstance(task, Buy) for task in plan.tasks)
    assert any("50 g are on order since" in s.cause for s in plan.shortfalls)


def test_an_order_that_is_overdue_is_no_food_and_after_days_to_be_bought_again() -> None:
    late = _ordered(50.0, 2, late=True)
    assert not any(isinstance(task, Buy) for task in _plan_with(late).tasks)
    plan, without = _plan_with(evolve(late, lost=True)), _plan_with()
    assert _fed_g(_plan_with(late)) == _fed_g(plan) == _fed_g(without)
    buys = [[(t.at, t.grams) for t in p.tasks if isinstance(t, Buy)] for p in (plan, without)]
    assert buys[0] == buys[1] != []
    causes = [s.cause for s in plan.shortfalls if s.limit == "out"]
    assert all("were expected on Tue 2 Mar and are not noted as arrived" in c for c in causes)
    assert causes


@pytest.mark.parametrize("days", [2, 3])
def test_no_more_is_fed_than_is_left_until_what_is_bought_can_come(days: int) -> None:
    plenty = _fed_g(_plan(""))
    first, *_ = plenty.values()
    stock_g = round(2.5 * first, 1)
    plan = _plan(f"dry_g = {stock_g}\ndry_days = {days}")
    fed, had = _fed_g(plan), plan.start + timedelta(days=days)
    before = {at: grams for at, grams in fed.items() if at < had}
    # One step of the scale may be rounded up.
    assert 0.8 * stock_g < sum(before.values()) <= stock_g + 0.1
    late = {at for at in plenty if at < had} - {*list(plenty)[:3]}
    assert late
    assert all(fed.get(at, 0.0) == 0.0 for at in late)
    assert all(fed[at] == pytest.approx(g, abs=0.2) for at, g in plenty.items() if at >= had)
    (out,) = (s for s in plan.shortfalls if s.limit == "out")
    assert (out.food, out.until < had) == (DRY, True)
    assert "the dry food runs out on Tue 2 Mar" in out.cause
    (buy,) = (t for t in plan.tasks if isinstance(t, Buy))
    assert buy.at == min(fed)


def test_without_a_stock_or_with_enough_nothing_is_held_back() -> None:
    stated = _plan("dry_g = 500")
    assert _fed_g(stated) == _fed_g(_plan(""))
    assert not stated.shortfalls


def test_dry_food_that_is_out_is_got_at_once_and_bought() -> None:
    plan = _plan("dry_g = 0", remedies=True)
    out = next(s for s in plan.shortfalls if s.limit == "out")
    (got,) = (r for r in out.remedies if r.what.endswith("from another keeper or a shop"))
    assert got.what.startswith("get ")
    assert got.by == plan.start + timedelta(hours=1)
    assert got.effect_j == pytest.approx(out.short_j)  # they eat nothing else
    (bought,) = (r for r in out.remedies if r.what.startswith("buy "))
    assert bought.effect_j == 0.0
    assert bought.helps_from == plan.start + timedelta(days=2, hours=1)


def test_dry_food_told_to_be_bought_is_had_as_told_until_that_is_over() -> None:
    """Whoever buys it at eight and notes that then finds the plan of seven."""
    room = read_room(_ROOM + "dry_g = 0\n", today=date(2027, 3, 1))
    seven = _AT + timedelta(hours=1)
    told = Buy(id="buy/dry", at=seven, until=seven, subject="dry food", why="Because.", item=DRY,
               grams=40.0)  # fmt: skip
    asked = evolve(room, to_buy={DRY: told})
    for minutes, plain, as_told in ((0, 0, 0), (40, 40, 0), (119, 119, 0), (120, 120, 120)):
        now, days = seven + timedelta(minutes=minutes), timedelta(days=2)
        assert room.had_at(DRY, now) == seven + timedelta(minutes=plain) + days
        assert asked.had_at(DRY, now) == seven + timedelta(minutes=as_told) + days
    assert asked.had_at(DRY, _AT) == _AT + timedelta(days=2)  # sooner than told
    rounds = rounds_between(room, seven, seven + timedelta(days=4))
    late = seven + timedelta(minutes=40)
    assert dry_bought_from(room, rounds, late) == dry_bought_from(asked, rounds, late) + 1


def test_a_helper_feeds_only_what_could_be_packed() -> None:
    """Bought on Monday, it is there on Wednesday, when the keeper is away until Thursday."""
    away = "\n[[away]]\nfrom = 2027-03-02\nto = 2027-03-04\nhelper = true\n"
    plan = _plan("dry_g = 0", away=away)
    assert min(_fed_g(plan)).day == 5


_PLANNED = """
[[brood]]
name = "mollies"
tank = "A1"
class = "molly"
count = 40
planned = 2027-03-02
foods = ["dry"]
"""


def _dry_short(plan: Plan) -> float:
    """What planned spawnings would miss of dry food that is out [J]."""
    return sum(s.short_j for s in plan.shortfalls if s.spawns and s.limit == "out")


def test_a_planned_spawning_gets_what_who_is_there_leaves_of_the_tin() -> None:
    """Born on the second day, of the five until more can come, and fed on dry food from then on."""
    had = _AT + timedelta(days=5)
    certain = sum(grams for at, grams in _fed_g(_plan("")).items() if at < had)
    plenty, none, some = (
        _plan(f"dry_g = {grams:.1f}\ndry_days = 5" + _PLANNED, remedies=True)
        for grams in (50.0, certain, certain + 0.2)
    )
    assert _dry_short(plenty) == 0.0
    assert _dry_short(none) > _dry_short(some) > 0.0
    (short,) = (s for s in none.shortfalls if s.limit == "out")
    assert short.spawns == (("mollies", "A1"),)
    assert re.search(
        r"^if the spawn planned in A1 comes .*, the dry food runs out on ", short.cause
    )
    (remedy,) = short.remedies
    assert re.fullmatch(r"get \d+ g of dry food from another keeper or a shop", remedy.what)
    assert plenty.start <= remedy.by <= short.at
    assert remedy.effect_j == pytest.approx(short.short_j, rel=0.02)
    assert _fed_g(none) == _fed_g(plenty)  # who is there is fed first


def test_of_a_planned_spawning_only_what_comes_before_the_purchase_is_missing() -> None:
    assert _dry_short(_plan("dry_g = 0\ndry_days = 0" + _PLANNED)) == 0.0
    assert _dry_short(_plan(_PLANNED.replace("[[", "\n[["))) == 0.0  # nobody says how much there is
