"""Stocks on their way through the journal: stated, ordered, bought, used, weighed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from attrs import define, field

from cultures.foods.food import DRY
from cultures.room.orders import Order, less, with_order
from cultures.room.room import MEDIUM, MEDIUM_OF, Room
from cultures.words.moments import when

#: Stocks that every room has, by the name that the journal gives them.
CYSTS, SALT = "cysts", "salt"


def stock_names(room: Room) -> tuple[str, ...]:
    """What can be bought, used and weighed in a room."""
    kinds = sorted({c.kind.name for c in room.cultures} | {k.name for k in room.worm_kinds()})
    return (CYSTS, SALT, DRY, MEDIUM, *(f"{kind}{MEDIUM_OF}" for kind in kinds))


#: A stock that falls so far below nothing was only weighed badly [g].
MISWEIGHED_G = 5.0


@define
class Stocks:
    """What is left of each stock [g].

    Attributes:
        grams: by name. since_h: what happened before is counted in what is stated.
        names: what there is. liquids: of these, what liquid media are made of. known: what is
            stated, bought or weighed. bought: cysts were. lacked: from which hour on [since the
            epoch] how much was used and was not there, since it was last weighed. orders: what is
            on its way, the oldest order first.
    """

    grams: dict[str, float]
    since_h: float
    names: frozenset[str]
    liquids: frozenset[str] = frozenset()
    known: set[str] = field(factory=set)
    bought: bool = False
    lacked: dict[str, tuple[float, float]] = field(factory=dict)
    orders: list[Order] = field(factory=list)

    @classmethod
    def of(cls, room: Room, since_h: float) -> Stocks:
        """The stocks that a room file states, as of an hour."""
        grams = {**room.stock_g, CYSTS: room.cysts.grams if room.cysts is not None else 0.0}
        names = frozenset(stock_names(room))
        known = {name for name in grams if name != CYSTS or room.cysts is not None}
        return cls(grams, since_h, names, room.liquids, known)

    def knows(self, name: str) -> bool:
        """Whether there is such a stock."""
        return name in self.names or name.endswith(MEDIUM_OF)

    def _kept_as(self, name: str) -> str:
        """Solid medium of a kind comes out of the common one where the kind has none of its own."""
        own = name in self.known or name in self.liquids or not name.endswith(MEDIUM_OF)
        return name if own else MEDIUM

    def left_g(self, name: str, at_h: float) -> float | None:
        """What is left to be taken out then [g]; None where that is not known."""
        name = self._kept_as(name)
        return self.grams[name] if at_h >= self.since_h and name in self.known else None

    def use(self, name: str, grams: float, at_h: float) -> None:
        """Takes some out; a stock that was said too small ends at nothing."""
        name, there = self._kept_as(name), self.left_g(name, at_h)
        if there is None:
            return
        left = there - grams
        self.grams[name] = max(0.0, left)
        if left < 0:
            since_h, lacking = self.lacked.get(name, (at_h, 0.0))
            self.lacked[name] = since_h, lacking - left

    def buy(self, name: str, grams: float, at_h: float) -> None:
        """Puts some in, which settles as much of what was ordered before."""
        self.orders = less(self.orders, name, grams)
        if at_h < self.since_h or not self.knows(name):
            return
        self.bought = self.bought or name == CYSTS
        self.known.add(name)
        self.grams[name] = self.grams.get(name, 0.0) + grams

    def order(self, order: Order) -> None:
        """Some is on its way; an order of nothing says that nothing is any more."""
        self.orders = with_order(self.orders, order)

    def on_order(self, today: date, stated: date | None) -> tuple[Order, ...]:
        """What is on its way on a day.

        Args:
            stated: the day on which the room file is true, where it says so: what should have come
                before is in what it states.
        """
        return tuple(
            order.as_of(today) for order in self.orders
            if stated is None or order.on >= stated or order.last_day >= stated
        )  # fmt: skip

    def stand(self, name: str, grams: float, at_h: float) -> None:
        """Sets what was weighed."""
        if at_h >= self.since_h and self.knows(name):
            self.bought = self.bought or name == CYSTS
            self.known.add(name)
            self.grams[name] = grams
            self.lacked.pop(name, None)

    def remarks(self, room: Room) -> Iterator[str]:
        """What cannot have been there, by what is noted and was told."""
        for name, (since_h, grams) in sorted(self.lacked.items()):
            if grams >= MISWEIGHED_G:
                what = "dry food" if name == DRY else name.replace("_", " ")
                by = room.at_hour(since_h)
                yield (
                    f"By what was noted and told, {grams:,.0f} g more {what} went than there was:"
                    f" note what was bought by {when(by, room.units)} ('journal bought {name} 500 g"
                    f" --at {by:%Y-%m-%dT%H:%M}'), what was not done, or weigh it ('journal count"
                    f" {name} 500 g')."
                )

    def stated(self) -> Mapping[str, float]:
        """What stands of the stocks that are known, but for the tin of cysts."""
        return {name: self.grams[name] for name in sorted(self.known) if name != CYSTS}
