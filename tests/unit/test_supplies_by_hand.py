"""What is used of each supply and when it runs out, from bare hatches, splits and meals."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import DRY
from cultures.planning.changes import usual_culture
from cultures.planning.harvests import Batch, Portion
from cultures.planning.supplies import (
    Use,
    _buy_at,
    _runs_out,
    _wanted,
    packed_g,
    purchase,
    stocks,
    supply_tasks,
    supply_uses,
    uses,
)
from cultures.room.file import read_room
from cultures.room.orders import Order
from cultures.room.room import Room
from cultures.tasks.task import Buy
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours
from cultures.words.tools import Tools
from tests.unit.test_planning_by_hand import _START, _rounds, _told_to_buy
from tests.unit.test_shortfall_limits import _TEXT

_POUND_G = 453.59237  # NIST Handbook 44, appendix C
_OUNCE_G = _POUND_G / 16
_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def room() -> Room:
    found = read_room(_TEXT, today=date(2027, 1, 5))
    return evolve(found, vessels=(evolve(found.vessels[0], litres=2.0, salinity_g_per_l=25.0),))


def _batch(room: Room, day: int, grams: float = 3.0, nauplii: float = 1e5, **more: Any) -> Batch:
    set_h = hours(_START + day * _DAY)
    return Batch(room.vessels[0], 0, set_h, set_h + 24.0, grams, nauplii, 1.0, **more)


def _outlook(
    room: Room, *, batches: tuple[Batch, ...] = (), portions: Any = None, short: Any = (),
    splits: Any = (), dry: dict[int, float] | None = None, days: int = 14, count: int = 60,
) -> Any:  # fmt: skip
    rounds = _rounds(count)
    portions = portions or [() for _ in rounds]
    hatches = SimpleNamespace(batches=batches, portions=portions, tin_short=short)
    lines: list[list[FeedLine]] = [[] for _ in rounds]
    for index, grams in (dry or {}).items():
        lines[index].append(FeedLine(
            at=rounds[index].at, tank="A", brood="one", food=DRY, need_j=1.0, given_j=1.0,
            amount=grams, unit="g",
        ))  # fmt: skip
    worms = {"microworm": SimpleNamespace(splits=splits)}
    feeding = SimpleNamespace(hatches=hatches, worms=worms, servings=[[] for _ in rounds])
    return SimpleNamespace(
        room=room, feeding=feeding, feedings=rounds, lines=lines, now=_START,
        until=_START + days * _DAY,
    )  # fmt: skip


# --- what is used


def test_a_hatch_takes_cysts_and_salt_and_its_jar_salt_again(room: Room) -> None:
    """2 L at 25 g a litre; a jar of half a litre of the same, where more than one round is fed."""
    kept = ((Portion(0, 1.0, 5e4),), (Portion(0, 1.0, 4e4), Portion(1, 1.0, 99_000.0)), ())
    batches = (_batch(room, 0), _batch(room, 1, 4.0))
    found = uses(_outlook(room, batches=batches, portions=[*kept, *[()] * 57]))
    told = [(use.item, use.at - _START, use.grams) for use in found]
    assert told == [
        ("cysts", 0 * _DAY, 3.0), ("salt", 0 * _DAY, 50.0), ("cysts", _DAY, 4.0),
        ("salt", _DAY, 12.5), ("salt", _DAY, 50.0),
    ]  # fmt: skip


def test_what_stands_takes_nothing_more_and_what_is_held_has_its_jar(room: Room) -> None:
    stands, held = _batch(room, 0, standing=True), _batch(room, 0, standing=True, held=True)
    fed = [(Portion(0, 1.0, 1e4), Portion(1, 1.0, 1e4)), *[()] * 59]
    found = uses(_outlook(room, batches=(stands, held), portions=fed))
    assert [(use.item, use.grams) for use in found] == [("salt", 12.5)]
    short = ((hours(_START + 2 * _DAY), 7.0), (hours(_START), 1.0))
    lacks = uses(_outlook(room, batches=(_batch(room, 1),), short=short))
    cysts = [(use.grams, (use.at - _START).days) for use in lacks if use.item == "cysts"]
    assert cysts == [(1.0, 0), (3.0, 1), (7.0, 2)]


def test_a_split_takes_medium_of_its_own_kind_or_of_all(room: Room) -> None:
    kind: Any = room.kinds["microworm"]
    culture = evolve(usual_culture(room, kind), medium_g=120.0)
    split = SimpleNamespace(at_index=4, culture=culture)
    for stock, item in (({}, "medium"), ({"microworm_medium": 9.0}, "microworm_medium")):
        here = evolve(room, stock_g=stock)
        (use,) = uses(_outlook(here, splits=(split,)))
        assert (use.item, use.at) == (item, _START + 2 * _DAY)
        assert use.grams == pytest.approx(0.18 * 120.0)  # of porridge that much is oats


def test_dry_food_is_used_where_some_is_fed(room: Room) -> None:
    scale = evolve(room, tools=Tools(scale_g=0.01))
    found = uses(_outlook(scale, dry={2: 3.0, 5: 2.0}))
    assert [(use.item, use.grams, use.at - _START) for use in found] == [
        (DRY, 3.0, _DAY), (DRY, 2.0, 2.5 * _DAY)
    ]  # fmt: skip


# --- weeks, and when it runs out


def test_uses_are_told_by_the_week_from_now_on_within_the_shown_time(room: Room) -> None:
    """Ten days are two weeks; what was used before now counts in the first. Half of each harvest is
    fed at its round, so the rest stands in a jar.
    """
    batches = (_batch(room, -1, 1.0), _batch(room, 0, 2.0), _batch(room, 6, 4.0),
               _batch(room, 7, 8.0), _batch(room, 9, 16.0), _batch(room, 10, 32.0))  # fmt: skip
    fed = [
        tuple(Portion(n, 1.0, b.nauplii / 2) for n, b in enumerate(batches) if b.at_index == index)
        for index in range(60)
    ]
    (cysts, salt) = supply_uses(_outlook(room, batches=batches, portions=fed, days=10))
    assert (cysts.item, cysts.weeks_g, cysts.stock_g) == ("cysts", (7.0, 24.0), 30.0)
    # 1, 2, 4 and 8 of 30 g are set, and then 16; bought at the last round two days before.
    assert (cysts.out, cysts.buy_by) == (date(2027, 1, 14), date(2027, 1, 12))
    assert (salt.item, salt.stock_g, salt.out, salt.buy_by) == ("salt", None, None, None)
    # Set on days -1, 0 and 6, then 7 and 9; jars on days 0 and 1, then 7 and 8.
    assert salt.weeks_g == (3 * 50.0 + 2 * 12.5, 2 * 50.0 + 2 * 12.5)
    (weeks, _) = supply_uses(_outlook(room, batches=batches, portions=fed, days=14))
    assert weeks.weeks_g == (7.0, 56.0)


def test_a_stock_runs_out_at_the_first_use_that_it_does_not_cover() -> None:
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(5)]
    for stock, day in ((3.9, 1), (4.0, 2), (9.9, 4), (0.0, 0)):
        assert _runs_out(daily, stock, (), _START) == _START + day * _DAY
    assert _runs_out(daily, 10.0, (), _START) is None
    assert _runs_out(daily, 9.9999995, (), _START) is None  # half a millionth
    assert _runs_out(daily, 9.99999, (), _START) == _START + 4 * _DAY
    assert purchase(daily, None, [], _START, _DAY) is None


def test_a_parcel_covers_what_comes_after_it_and_what_lacked_is_not_owed() -> None:
    """2 g a day for five days, of 3 g; what is bought is there after two days."""
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(5)]
    had = _START + 2 * _DAY
    for day, grams, out in (
        (0, 7.0, None), (0, 6.9, 4),  # with the stock: 10 g are wanted
        # The second day lacks 1 g, and nothing that is bought now comes before the parcel.
        (2, 6.0, None), (2, 5.9, 4),
        (3, 4.0, 1),  # what is bought now comes before it
    ):  # fmt: skip
        parcels = [(_START + day * _DAY, grams)]
        due = None if out is None else _START + out * _DAY
        assert _runs_out(daily, 3.0, parcels, had) == due, (day, grams)


def test_only_what_lacks_until_the_parcel_is_bought() -> None:
    """2 g a day, of 15 g: the 8th, 9th and 10th day lack 5 g until 50 g come on the 11th."""
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(20)]
    rounds = _rounds(40)
    parcels = [(_START + 10 * _DAY, 50.0)]
    found = purchase(daily, 15.0, rounds, _START, _DAY, parcels=parcels)
    assert found is not None
    assert (found.grams, found.out) == (5.0, _START + 7 * _DAY)
    # It comes three days after what is bought now: there is nothing to buy, since 20 g are wanted.
    assert purchase(daily, 15.0, rounds, _START, 7 * _DAY, parcels=parcels) is None
    assert purchase(daily, 15.0, rounds, _START, 6.9 * _DAY, parcels=parcels) is not None
    # For what lacks before one of the same week nobody goes out for another.
    soon = [(_START + 5 * _DAY, 50.0)]
    assert purchase(daily, 5.0, rounds, _START, _DAY, parcels=soon) is None
    # Without it four weeks are wanted.
    without = purchase(daily, 5.0, rounds, _START, _DAY)
    assert without is not None
    assert without.grams >= 50.0


def test_what_is_bought_before_a_small_parcel_lasts_beyond_it() -> None:
    """2 g a day, of 15 g: 56 g last four weeks from the eighth day on, and 1 g is left by then. The
    parcel of the 11th brings 20 g of these, so 35 g are open, which 40 g cover; until it comes 5 g
    lack.
    """
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(40)]
    for parcel_g, grams in ((20.0, 40.0), (49.0, 10.0), (500.0, 5.0)):
        parcels = [(_START + 10 * _DAY, parcel_g)]
        found = purchase(daily, 15.0, _rounds(80), _START, _DAY, parcels=parcels)
        assert found is not None
        assert (found.grams, found.out) == (grams, _START + 7 * _DAY)


def test_a_parcel_of_the_same_weekday_is_waited_for() -> None:
    """From one Tuesday to the next is a week; a parcel counts from the end of its day."""
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(12)]
    midnight = _START.replace(hour=0, minute=0)
    for days, waited in ((7, True), (8, False)):
        parcels = [(midnight + (days + 1) * _DAY, 50.0)]
        found = purchase(daily, 6.0, _rounds(24), _START, _DAY, parcels=parcels)
        assert (found is None) == waited, days


def test_what_was_told_to_be_bought_before_a_parcel_stands_while_it_comes_before_it() -> None:
    """A parcel comes on the ninth day, and what is bought is there after four: on the first day
    more is to be bought, and who is told so need not hear on the second that it is not.
    """
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(40)]
    parcels = [(_START.replace(hour=0, minute=0) + 9 * _DAY, 500.0)]
    first = purchase(daily, 12.0, _rounds(80), _START, 4 * _DAY, parcels=parcels)
    assert first is not None
    told = evolve(_told_to_buy(5), at=first.at)
    for days, stands in ((1, True), (4, True), (5, False)):
        now, left = _START + days * _DAY, 12.0 - 2.0 * days
        later = [use for use in daily if use.at >= now]
        found = purchase(later, left, _rounds(80), now, 4 * _DAY, told=told, parcels=parcels)
        assert (found is not None) == stands, days
        fresh = purchase(later, left, _rounds(80), now, 4 * _DAY, parcels=parcels)
        assert fresh is None
    # What is to be bought for later is no reason to buy before the parcel.
    after = evolve(told, at=_START + 20 * _DAY)
    assert purchase(daily[1:], 10.0, _rounds(80), _START + _DAY, 4 * _DAY, told=after,
                    parcels=parcels) is None  # fmt: skip


def test_what_is_bought_lasts_four_weeks_less_what_is_left() -> None:
    """2 g a day: 56 g, of which the end of the plan is no part."""
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(20)]
    out, ends = _START + 16 * _DAY, _START + 19 * _DAY
    # Of the two weeks before the 17th day and that day itself 15 uses: 30 g in 15 days.
    assert _wanted(daily, 33.0, _START, out, ends) == pytest.approx(56.0 - 1.0)
    assert _wanted(daily, 31.0, _START, out, ends) == pytest.approx(56.0)  # nothing is left
    # It runs out on the second day: the first two weeks, which 14 uses fill.
    assert _wanted(daily, 3.0, _START, _START + _DAY, ends) == pytest.approx(56.0 - 1.0)
    # Only ten days are planned: ten uses in ten days.
    assert _wanted(daily, 0.0, _START, _START, _START + 10 * _DAY) == pytest.approx(56.0)
    assert _wanted(daily[:1], 500.0, _START, _START, ends) == 0.0
    # What was used 15 days before it runs out says nothing of the rate; 14 days before it does.
    for before, more in ((15, 0.0), (14, 30.0)):
        feast = sorted([*daily, Use("x", out - before * _DAY, 30.0)], key=lambda use: use.at)
        assert _wanted(feast, 0.0, _START, out, ends) == pytest.approx((30.0 + more) / 15 * 28)


def test_a_parcel_that_is_late_puts_off_nothing_but_what_is_to_be_bought_at_once(
    room: Room,
) -> None:
    """5 g should have come yesterday, and is waited for on three days more. A gram goes a day: what
    lasts for eight days is to be had by the eighth, two days after it is bought, parcel or none.
    What lasts for five would be bought on the first day on which it is not waited for any more:
    with the parcel it lasts for ten.
    """
    at_noon = {2 * day: 1.0 for day in range(28)}
    today = _START.date()
    order = Order(DRY, 5.0, 5.0, today - 4 * _DAY, today - _DAY).as_of(today)
    assert order.late
    assert not order.lost
    for stock_g, day in ((8.0, 6), (6.0, 4), (5.0, 8), (4.0, 7), (3.0, 6)):
        here = evolve(room, stock_g={DRY: stock_g}, orders=(order,), tools=Tools(scale_g=0.01))
        (task,) = supply_tasks(_outlook(here, dry=at_noon))
        assert (task.at - _START) // _DAY == day, stock_g
    lost = order.as_of(today + 3 * _DAY)
    assert lost.lost
    here = evolve(here, stock_g={DRY: 5.0}, orders=(lost,))
    (task,) = supply_tasks(_outlook(here, dry=at_noon))
    assert (task.at - _START) // _DAY == 3


def test_packs_are_such_as_are_sold() -> None:
    """A packet of 50 g, one of 250 g and three of 50 g there are; 130 g nobody sells."""
    for wanted, pack in (
        (0.0, 1.0), (0.4, 1.0), (3.1, 5.0), (9.2, 10.0), (10.0, 10.0), (10.1, 15.0), (43.0, 50.0),
        (101.0, 150.0), (130.0, 150.0), (201.0, 250.0), (999.0, 1000.0), (1000.0, 1000.0),
        (1001.0, 1500.0), (9999.0, 10_000.0), (10_001.0, 15_000.0),
    ):  # fmt: skip
        assert packed_g(wanted) == pytest.approx(pack), wanted
    # Grams below an ounce; then ounces, and pounds.
    for grams, bought in ((24.4, 25.0), (25.5, _OUNCE_G), (27.5, _OUNCE_G)):
        assert packed_g(grams, "us") == pytest.approx(bought)
    for ounces, pack in ((1.1, 1.5), (3.6, 4.0), (4.0, 4.0), (4.2, 6.0), (15.2, 16.0),
                         (16.1, 24.0), (159.0, 160.0), (161.0, 240.0)):  # fmt: skip
        assert packed_g(ounces * _OUNCE_G, "us") == pytest.approx(pack * _OUNCE_G), ounces


def test_it_is_bought_when_somebody_is_there_and_in_time() -> None:
    """Away at rounds 2 to 4; to be had by the round of the fourth day."""
    rounds = _rounds(12, away=(2, 3, 4))
    out = rounds[6].at
    for before, now, at in (
        (rounds[6].at, rounds[0].at, 6), (rounds[5].at, rounds[0].at, 5),
        (rounds[4].at, rounds[0].at, 1), (rounds[1].at, rounds[0].at, 1),
        (rounds[0].at - _DAY, rounds[0].at, 0),
        (rounds[0].at - _DAY, rounds[1].at, 1), (rounds[0].at - _DAY, rounds[2].at, 5),
    ):  # fmt: skip
        assert _buy_at(rounds, now, before, out) == rounds[at].at
    late = rounds[6].at + timedelta(hours=1)
    assert _buy_at(rounds, late, rounds[0].at - _DAY, out) == late
    assert _buy_at([], rounds[0].at, rounds[0].at, out) == out
    # It runs out while nobody is there, who cannot go before: on coming back.
    assert _buy_at(rounds, rounds[2].at, rounds[0].at - _DAY, rounds[3].at) == rounds[5].at


def test_nobody_says_how_much_there_is_and_nothing_is_bought() -> None:
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(5)]
    assert purchase(daily, None, _rounds(12), _START, _DAY) is None
    found = purchase(daily, 3.0, [], _START, _DAY)
    assert found is not None
    assert (found.out, found.at) == (_START + _DAY, _START + _DAY)
    us = purchase([Use("x", _START, 500.0)], 0.0, _rounds(60), _START, _DAY, "us")
    assert us is not None
    # 500 g in two weeks, 1,000 g in four: 35.3 ounces, so three pounds.
    assert us.grams == pytest.approx(48 * _OUNCE_G)


def test_an_amount_that_was_told_stands_while_it_lasts_near_what_is_wanted() -> None:
    """2 g a day are 56 g in four weeks, sold as 75 g: one and a half times 50 g, half of 150 g."""
    daily = [Use("x", _START + n * _DAY, 2.0) for n in range(30)]
    for told_g, grams, weeks in ((30.0, 75.0, 5), (49.0, 75.0, 5), (50.0, 50.0, 4), (90.0, 90.0, 6),
                                 (150.0, 150.0, 11), (160.0, 75.0, 5)):  # fmt: skip
        told = Buy(id="buy/x", at=_START + 9 * _DAY, until=_START + 9 * _DAY, subject="x", why="",
                   item="x", grams=told_g)  # fmt: skip
        found = purchase(daily, 32.0, _rounds(60), _START, _DAY, told=told)
        assert found is not None
        assert found.grams == grams
        assert round(found.weeks) == weeks


def test_a_room_without_vessels_has_no_cysts(room: Room) -> None:
    here = evolve(room, stock_g={"salt": 5.0})
    assert stocks(_outlook(here)) == {"salt": 5.0, "cysts": 30.0}
    assert stocks(_outlook(evolve(here, cysts=None))) == {"salt": 5.0, "cysts": 0.0}
    assert stocks(_outlook(evolve(here, vessels=()))) == {"salt": 5.0}


def test_what_runs_out_is_bought_by_a_task(room: Room) -> None:
    """Of 30 g of cysts 10 are set a day, so on the fourth day; salt for a year."""
    batches = tuple(_batch(room, day, 10.0) for day in range(20))
    here = evolve(room, stock_g={"salt": 62.5})
    outlook = _outlook(here, batches=batches)
    salt, cysts = supply_tasks(outlook)
    assert isinstance(cysts, Buy)
    assert isinstance(salt, Buy)
    assert (cysts.id, cysts.subject, cysts.item) == (
        "buy/brine_shrimp_cysts", "brine shrimp cysts", "cysts"
    )  # fmt: skip
    assert (cysts.at, cysts.until) == (_START + _DAY, _START + 3 * _DAY)
    assert cysts.grams == 300.0  # 280 g, as it is sold
    assert "; 300 g last about 4 weeks at that rate" in cysts.why
    assert (salt.id, salt.subject) == ("buy/salt", "salt")
    # 50 g and 12.5 g of a jar are covered: what is set on the second day is not; bought at once.
    assert (salt.at, salt.until) == (_START, _START + _DAY)
    at_once = _outlook(evolve(here, stock_g={"salt": 0.0}), batches=batches)
    (task, _) = supply_tasks(at_once)
    assert (task.at, task.until) == (_START, _START + timedelta(minutes=10))
    assert list(supply_tasks(_outlook(here, batches=batches[:1]))) == []
    assert datetime(2027, 1, 5, 7, 30, tzinfo=UTC) == _START
