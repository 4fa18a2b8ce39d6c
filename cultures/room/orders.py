"""What was ordered of a stock and has not come yet, and a stock that rises when parcels come.

A parcel is counted on from the end of the day on which it is to come: the post may come in the
evening. From then on an order that nobody noted as bought is overdue, and counts no more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Generic, TypeVar

from attrs import evolve, frozen

#: A moment: hours since the epoch, or a place in an order among them.
_When = TypeVar("_When", float, datetime)
#: An order without a day of arrival is asked about after so long (common practice, no source).
WAITS = timedelta(days=28)
#: Parcels are a few days late: so long nobody buys the same again (common practice, no source).
_PATIENCE = timedelta(days=3)
#: What is left of an order after a parcel that brought nearly all of it was a rounding: so large a
#: share of it (common practice, no source).
_CRUMB = 0.1
#: Amounts that differ by no larger share are the same in other units.
_ALIKE = 0.05
#: A stock lacks what is more than this [g].
_NOTHING_G = 1e-6


@frozen
class Order:
    """Some of a stock that was ordered, and did not come yet.

    Attributes:
        item: as stocks call it. grams: how much is still to come [g]. ordered_g: how much it was.
        on: the day on which it was ordered. day: on which it is to come; None where nobody said.
        late: it should be here by now; lost: by days. line: of the journal.
    """

    item: str
    grams: float
    ordered_g: float
    on: date
    day: date | None = None
    late: bool = False
    lost: bool = False
    line: int = 0

    @property
    def key(self) -> str:
        """Under which it is asked for."""
        return f"arrival/{self.item}/{self.line}"

    @property
    def how_noted(self) -> str:
        """How it is noted once it is there, and what else may have become of one that is late."""
        bought = f"livefood journal bought {self.item} {self.grams:.6g} g"
        if not self.late:
            return f"Once they are there: {bought}."
        again = f"livefood journal ordered {self.item} {self.grams:.6g} g --arrives DAY"
        return (
            f"The plan does not count on them any more. If they are there: {bought}. If they"
            f" come later: {again}. If not: livefood journal ordered {self.item} 0."
        )

    @property
    def last_day(self) -> date:
        """The last day on which it is waited for."""
        return self.day or self.on + WAITS

    @property
    def lost_on(self) -> date:
        """The first day on which it is waited for no more, a few after it was to come."""
        patience = _PATIENCE if self.day is not None else timedelta()
        return self.last_day + patience + timedelta(days=1)

    def as_of(self, today: date) -> Order:
        """The same as it is seen on a day."""
        late = self.last_day < today
        return evolve(self, late=late, lost=late and self.lost_on <= today)

    @property
    def is_hoped_for(self) -> bool:
        """Whether it may come any day: nothing is counted on of it, and nothing bought for it."""
        return not self.lost and (self.day is None or self.late)


def less(orders: Iterable[Order], item: str, grams: float) -> list[Order]:
    """Orders after some of an item came: the oldest is settled first, and by nine tenths of it.

    Args:
        grams: that came [g]; infinite where nothing is to come any more.
    """
    left: list[Order] = []
    for order in orders:
        if order.item != item or grams <= 0.0:
            left.append(order)
            continue
        still_g = max(0.0, order.grams - grams)
        grams = max(0.0, grams - order.grams)
        if still_g > _CRUMB * order.ordered_g:
            left.append(evolve(order, grams=still_g))
    return left


def with_order(orders: Iterable[Order], new: Order) -> list[Order]:
    """Orders with one more; one of nothing says that no more of its item is to come.

    Who notes the same amount again, to a twentieth, while an order of it is overdue, or says a day
    of one that has none, says another day of that order.
    """
    if new.grams <= 0.0:
        return less(orders, new.item, math.inf)
    found = list(orders)
    same = (n for n, order in enumerate(found) if _is_of(order, new))
    again = next(same, None)
    if again is not None:
        del found[again]
    return [*found, new]


def _is_of(order: Order, new: Order) -> bool:
    alike = any(abs(new.grams - g) <= _ALIKE * g for g in (order.grams, order.ordered_g))
    if order.item != new.item or not alike:
        return False
    return order.last_day < new.on or (order.day is None and new.day is not None)


@frozen
class RisingStock:
    """What there is of a stock, and what is on its way.

    Attributes:
        grams: there now [g]. parcels: from when on [h since the epoch] how much more there is [g],
            by time.
    """

    grams: float
    parcels: tuple[tuple[float, float], ...] = ()

    def by(self, at_h: float) -> float:
        """How much has come by a moment, if nothing is used [g]."""
        return self.grams + sum(grams for there_h, grams in self.parcels if there_h <= at_h)

    def before(self, at_h: float) -> float:
        """The same before a moment at which a parcel may come [g]."""
        return self.grams + sum(grams for there_h, grams in self.parcels if there_h < at_h)

    @property
    def in_all(self) -> float:
        """What there is and what is on its way [g]."""
        return self.by(math.inf)

    def used(self, uses: Iterable[tuple[float, float]]) -> RisingStock:
        """What is left for others of some uses (when [h since the epoch], how much [g]): each
        takes of the parcel that came last before it. Negative where there is too little.
        """
        left, parcels = self.grams, [[there_h, grams] for there_h, grams in self.parcels]
        for at_h, grams in uses:
            for parcel in reversed(parcels):
                if parcel[0] <= at_h:
                    taken = min(grams, parcel[1])
                    parcel[1], grams = parcel[1] - taken, grams - taken
            left -= grams
        return RisingStock(left, tuple((there_h, grams) for there_h, grams in parcels))

    def lacking(self, uses: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
        """Of each use (when [h since the epoch], how much [g]), by time, what is not there.

        What lacked is not owed: a parcel is there in full for what comes after it.
        """
        stock, found = Draining(self.grams, self.parcels), []
        for at_h, grams in uses:
            over_g = min(grams, grams - stock.at(at_h))
            stock.left_g -= grams
            if over_g > _NOTHING_G:
                found.append((at_h, over_g))
        return found


class Draining(Generic[_When]):
    """A stock from which is taken by time while parcels come; what lacked before one is not owed.

    Attributes:
        left_g: what there is [g], or below 0 what lacked; who takes of it takes it off here.
        waiting: from when on how much more there is [g], which has not come yet.
    """

    def __init__(self, left_g: float, parcels: Iterable[tuple[_When, float]]) -> None:
        self.left_g, self.waiting = left_g, [*parcels]

    def at(self, when: _When) -> float:
        """What there is at a moment [g]; none before it is asked for after it."""
        while self.next_by(when):
            self.left_g = max(0.0, self.left_g) + self.waiting.pop(0)[1]
        return self.left_g

    def next_by(self, when: _When) -> bool:
        """Whether another parcel is to come by a moment."""
        return bool(self.waiting) and self.waiting[0][0] <= when
