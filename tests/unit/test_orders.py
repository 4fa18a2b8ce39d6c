"""What was ordered of a stock: by hand, to the gram and the day."""

from __future__ import annotations

import math
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.errors import RangeError
from cultures.journal.events import Entry, check_entry
from cultures.replay.own_values import OwnValues
from cultures.room.file import read_room
from cultures.room.orders import Draining, Order, RisingStock, less, with_order
from cultures.room.room import Room
from cultures.words.moments import hours
from tests.unit.recorded import room_at

_ZONE = ZoneInfo("Europe/Lisbon")
_TODAY = date(2027, 1, 5)
_NOW = datetime(2027, 1, 7, 12, 0, tzinfo=_ZONE)


@pytest.fixture(scope="module")
def room() -> Room:
    """The demo room, true as of 4 January."""
    return read_room(demo_text(_TODAY), today=_TODAY)


def _at(day: int, hour: int = 9, minute: int = 0) -> datetime:
    return datetime(2027, 1, day, hour, minute, tzinfo=_ZONE)


def _ordered(day: int, grams: float, arrives: str = "", item: str = "cysts") -> Entry:
    return Entry(_at(day), "ordered", item, arrives, grams, "g")


def _bought(day: int, grams: float, item: str = "cysts", hour: int = 10) -> Entry:
    return Entry(_at(day, hour), "bought", item, "", grams, "g")


def _orders(room: Room, *entries: Entry, now: datetime = _NOW) -> list[tuple[str, float, bool]]:
    numbered = [entry._replace(line=n) for n, entry in enumerate(entries, start=2)]
    state = room_at(room, numbered, now, own_values=OwnValues())
    return [(order.item, order.grams, order.late) for order in state.orders]


def test_an_order_puts_nothing_into_the_tin(room: Room) -> None:
    state = room_at(room, [_ordered(5, 50, "2027-01-06")], _NOW, own_values=OwnValues())
    assert state.cysts == room.cysts
    assert state.stock_g == room.stock_g
    assert evolve(state, orders=()) == room


def test_it_is_not_known_before_it_is_noted(room: Room) -> None:
    entry = _ordered(6, 50, "2027-01-09")
    assert room_at(room, [entry], _at(6, 8), own_values=OwnValues()) == room
    assert _orders(room, entry, now=_at(6, 9)) == [("cysts", 50.0, False)]


def test_it_is_overdue_once_its_day_is_over(room: Room) -> None:
    entry = _ordered(5, 50, "2027-01-07")
    assert _orders(room, entry, now=_at(7, 23, 59)) == [("cysts", 50.0, False)]
    assert _orders(room, entry, now=_at(8, 0)) == [("cysts", 50.0, True)]


def test_without_a_day_it_is_asked_about_after_four_weeks(room: Room) -> None:
    """The 28th day after the 5th of January is the 2nd of February."""
    for month, day, late in ((2, 2, False), (2, 3, True)):
        now = datetime(2027, month, day, 12, tzinfo=_ZONE)
        assert _orders(room, _ordered(5, 50), now=now) == [("cysts", 50.0, late)]


def test_what_is_bought_settles_the_older_order_first(room: Room) -> None:
    """Of 30 and 20 g ordered 35 g came: the older one, and 5 g of the other."""
    made = [_ordered(4, 30, "2027-01-12"), _ordered(5, 20, "2027-01-09")]
    assert _orders(room, *made, _bought(6, 35)) == [("cysts", 15.0, False)]
    assert _orders(room, *made, _bought(6, 10)) == [("cysts", 20.0, False), ("cysts", 20.0, False)]
    assert _orders(room, *made, _bought(6, 50)) == []
    assert _orders(room, *made, _bought(6, 500)) == []  # some was bought besides


def test_a_parcel_of_another_stock_or_of_before_settles_nothing(room: Room) -> None:
    order = _ordered(6, 30, "2027-01-12")
    assert _orders(room, order, _bought(6, 30, "salt")) == [("cysts", 30.0, False)]
    assert _orders(room, _bought(5, 30), order) == [("cysts", 30.0, False)]


@pytest.mark.parametrize(("grams", "left"), [(45.0, 0), (45.36, 0), (44.9, 1), (50.0, 0)])
def test_a_tenth_that_is_missing_is_a_rounding(room: Room, grams: float, left: int) -> None:
    """Of 50 g: two ounces less a little (1.6 oz are 45.36 g) are the whole order."""
    assert len(_orders(room, _ordered(5, 50), _bought(6, grams))) == left


def test_several_parcels_settle_one_order(room: Room) -> None:
    """20, 20 and 9.9 of 50 g: the tenth is of the order, not of what is left of it."""
    parcels = [_bought(5, 20, hour=11), _bought(6, 20), _bought(6, 9.9, hour=11)]
    order = _ordered(5, 50)
    assert _orders(room, order, *parcels[:1]) == [("cysts", 30.0, False)]
    assert _orders(room, order, *parcels[:2]) == [("cysts", 10.0, False)]
    assert _orders(room, order, *parcels) == []


def test_an_order_of_nothing_cancels_those_of_its_stock(room: Room) -> None:
    made = [_ordered(4, 30), _ordered(5, 20, "2027-01-09"), _ordered(5, 400, item="dry")]
    assert _orders(room, *made, _ordered(6, 0)) == [("dry", 400.0, False)]
    assert _orders(room, *made, _ordered(6, 0), _ordered(7, 5)) == [
        ("dry", 400.0, False), ("cysts", 5.0, False),
    ]  # fmt: skip


def test_an_order_and_its_parcel_are_a_purchase(room: Room) -> None:
    bought = _bought(6, 50)._replace(line=3)
    alone = room_at(room, [bought], _NOW, own_values=OwnValues())
    order = _ordered(5, 50, "2027-01-06")._replace(line=2)
    assert room_at(room, [order, bought], _NOW, own_values=OwnValues()) == alone


def test_a_newer_file_states_what_should_have_come_before(room: Room) -> None:
    """A file that is true as of the 6th says what is there of a parcel of the 5th."""
    newer = evolve(room, as_of=date(2027, 1, 6), as_of_stated=True)
    assert _orders(newer, _ordered(4, 50, "2027-01-05")) == []
    assert _orders(newer, _ordered(4, 50, "2027-01-06")) == [("cysts", 50.0, True)]
    assert _orders(newer, _ordered(4, 50)) == [("cysts", 50.0, False)]
    assert _orders(newer, _ordered(4, 50, "2027-01-12")) == [("cysts", 50.0, False)]
    assert _orders(newer, _ordered(4, 50, "2027-01-12"), _bought(5, 50)) == []


def test_it_is_counted_on_from_the_end_of_its_day(room: Room) -> None:
    made = [_ordered(5, 50, "2027-01-09"), _ordered(5, 20, "2027-01-08"), _ordered(5, 5),
            _ordered(5, 9, "2027-01-06")]  # fmt: skip
    state = room_at(room, made, _NOW, own_values=OwnValues())
    assert state.parcels("cysts") == ((hours(_at(9, 0)), 20.0), (hours(_at(10, 0)), 50.0))
    assert state.parcels("salt") == ()
    # Of what is a day late as much need not be bought, nor of what may come any day.
    assert [order.grams for order in state.waits_for("cysts")] == [5.0, 9.0]
    assert state.tin == RisingStock(30.0, state.parcels("cysts"))


def test_a_stock_that_drains_does_not_owe_what_lacked_and_keeps_what_was_left() -> None:
    """3 g, 5 g from hour 10 on and 2 g from hour 20 on; 4 g at hour 8, 1 g at 10, and 2 g at 30."""
    stock = Draining(3.0, [(10.0, 5.0), (20.0, 2.0)])
    assert stock.at(8.0) == 3.0
    stock.left_g -= 4.0
    assert (stock.at(9.0), stock.next_by(9.0), stock.next_by(10.0)) == (-1.0, False, True)
    assert stock.at(10.0) == 5.0
    stock.left_g -= 1.0
    assert (stock.at(30.0), stock.next_by(99.0)) == (6.0, False)


def test_a_rising_stock_lacks_what_is_used_before_the_parcel() -> None:
    """3 g, and 10 g more at the fifth hour; 2 g are used at each hour from the first on."""
    stock = RisingStock(3.0, ((5.0, 10.0),))
    assert [stock.by(at_h) for at_h in (0.0, 4.9, 5.0)] == [3.0, 3.0, 13.0]
    assert stock.in_all == 13.0
    hourly = [(float(n), 2.0) for n in range(1, 12)]
    # 2 g, 1 g lacks, 2 g lack twice; then 10 g last for five hours, since nothing is owed.
    assert stock.lacking(hourly) == [(2.0, 1.0), (3.0, 2.0), (4.0, 2.0), (10.0, 2.0), (11.0, 2.0)]
    assert stock.used([(0.0, 1.0)]).lacking(hourly[:2]) == [(2.0, 2.0)]
    assert RisingStock(1.0).lacking([(1.0, 1.0 + 5e-7)]) == []


def test_all_of_an_item_is_settled_and_no_other() -> None:
    orders = [Order("dry", 100.0, 100.0, _TODAY), Order("cysts", 10.0, 50.0, _TODAY)]
    assert less(orders, "cysts", math.inf) == orders[:1]
    assert less(orders, "dry", 0.0) == orders
    # 5 g of 50 g are left: a tenth.
    assert less(orders, "cysts", 5.0) == orders[:1]
    assert less(orders, "cysts", 4.9)[1].grams == pytest.approx(5.1)


@pytest.mark.parametrize(
    ("other", "amount", "wrong"),
    [
        ("tomorrow", 50.0, "needs a day like 2027-01-31"),
        ("2027-01-09 chance 0.5", 50.0, "needs a day like 2027-01-31"),
        ("2027-01-03", 50.0, "'2027-01-03' is over"),
        ("2031-01-09", 50.0, "is the year right"),
        ("2027-01-09", 0.0, "leave the day out"),
        ("", None, "needs an amount"),
        ("", -1.0, "is not possible"),
    ],
)
def test_an_order_that_cannot_be_is_refused(other: str, amount: float | None, wrong: str) -> None:
    with pytest.raises(RangeError, match=wrong):
        check_entry(Entry(_at(5), "ordered", "cysts", other, amount, "" if amount is None else "g"))


def test_an_order_may_be_for_the_day_before_elsewhere() -> None:
    """9 in the morning in Lisbon is still the day before in Honolulu."""
    check_entry(_ordered(5, 50, "2027-01-04"))


def test_an_order_that_is_noted_again_once_overdue_has_another_day() -> None:
    old = Order("cysts", 50.0, 50.0, date(2027, 1, 2), date(2027, 1, 4))
    new = Order("cysts", 50.0, 50.0, date(2027, 1, 5), date(2027, 1, 9))
    other = Order("dry", 50.0, 50.0, date(2027, 1, 2), date(2027, 1, 4))
    assert with_order([old, other], new) == [other, new]
    assert with_order([old, old], new) == [old, new]  # one of two that are alike
    ounces = evolve(new, grams=51.03, ordered_g=51.03)  # 1.8 oz
    assert with_order([old], ounces) == [ounces]
    # Not while it is waited for, nor for another amount; what is left of it is one too.
    for kept in (evolve(old, day=date(2027, 1, 5)), evolve(old, grams=40.0, ordered_g=40.0)):
        assert with_order([kept], new) == [kept, new]
    assert with_order([evolve(old, grams=20.0)], new) == [new]
    assert with_order([evolve(old, grams=20.0)], evolve(new, grams=20.0)) != [old, new]
    # Of one without a day the day is said, or it is asked for again after four weeks.
    no_day, later = evolve(old, day=None), evolve(new, day=None)
    assert with_order([no_day], new) == [new]
    assert with_order([no_day], later) == [no_day, later]
    assert with_order([no_day], evolve(later, on=date(2027, 1, 31))) == [
        evolve(later, on=date(2027, 1, 31))
    ]
