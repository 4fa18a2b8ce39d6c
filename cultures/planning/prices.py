"""At what price scarce food is shared out, and who asks for how much of it then.

The aim is the least harm: of each brood and round what its diet wants of the food, times the square
of the share that is missing, over how much choice the mouth has besides. What is scarce then goes
to those who can eat nothing else. The least harm at a given amount is had at a price p, the same
for all, at which a brood of choice c asks for the share 1 - p c of what its diet wants (p is the
multiplier of Lagrange).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeVar

#: Who can live on another food wholly pays four times, so that a mouth of a centimetre that has no
#: other food misses less than is called short as long as they get any.
_WITHOUT = 0.75
#: What a millimetre of length adds to the choice of a mouth, against a food that suits it well.
_CHOICE_PER_MM = 0.01
#: So often prices are tried anew, and no more once so many in a row do the same harm; such a share
#: apart prices, or harms, are the same.
_TRIES, _SETTLED, _SAME = 12, 3, 1e-3

#: What a brood wants of a food: the most that it takes, what it would miss without any, and by how
#: much less it asks for at a price of one.
Want = tuple[float, float, float]
_Outcome = TypeVar("_Outcome")


def choice_of(others: float, length_mm: float) -> float:
    """How much choice a brood has besides a food.

    Args:
        others: the share of its need for which the best other food may stand in. length_mm: of
            the fry.
    """
    return others / (1.0 - _WITHOUT * others) + _CHOICE_PER_MM * length_mm


def want_of(amount: float, choice: float) -> Want:
    """An amount that a brood wants which has some choice besides."""
    return amount, amount, amount * choice


def asked_at(wants: Sequence[Want], price: float) -> float:
    """What is asked for at a price, all together."""
    if not price:
        return sum([most for most, _, _ in wants], 0.0)
    return sum(_asked(wants, price))


def _asked(wants: Sequence[Want], price: float) -> list[float]:
    """What each asks for at a price; in one loop, since nothing is asked more often."""
    return [
        0.0 if (asked := missed - price * slope) <= 0.0 else most if asked > most else asked
        for most, missed, slope in wants
    ]


class Bends(NamedTuple):
    """How what is asked falls as the price rises, for who looks for prices again and again.

    ``most``: asked for at no price. ``turns``: the prices at which somebody begins to ask for less,
    or stops asking, in order, and by how much faster or slower it falls from there on.
    """

    most: float
    turns: list[tuple[float, float]]

    @classmethod
    def of(cls, wants: Sequence[Want]) -> Bends:
        """Those of what is wanted."""
        turns = []
        for most, missed, slope in wants:
            if most > 0.0 and slope > 0.0:
                turns += [((missed - most) / slope, slope), (missed / slope, -slope)]
        turns.sort()
        return cls(sum([most for most, _, _ in wants], 0.0), turns)

    def price_for(self, given: float) -> float:
        """The price at which just so much is asked for; 0 where it is enough."""
        over = self.most - given
        if over <= 0.0:
            return 0.0
        price = falls = 0.0
        for at, slope in self.turns:
            if falls * (at - price) >= over:
                return price + over / falls
            over -= falls * (at - price)
            price, falls = at, falls + slope
        return price


def price_for(wants: Sequence[Want], given: float) -> float:
    """The price at which just so much is asked for; 0 where it is enough."""
    return 0.0 if asked_at(wants, 0.0) <= given else Bends.of(wants).price_for(given)


def shares_of(wants: Sequence[Want], given: float) -> list[float]:
    """What is given, divided: by want when it is enough, else at its price."""
    price = price_for(wants, given)
    parts = _asked(wants, price) if price else [most for most, _, _ in wants]
    total = sum(parts)
    return [part * given / total for part in parts] if total > 0.0 else parts


def harm_of(wants: Sequence[Want], given: float) -> float:
    """What it does to the broods of a round that so much is given."""
    return harm_at(wants, price_for(wants, given))


def harm_at(wants: Sequence[Want], price: float) -> float:
    """The same where just so much is given as is asked for at a price."""
    if not price:
        return 0.0
    return sum([
        ((missed - asked) ** 2 - (missed - most) ** 2) / (2.0 * slope)
        for (most, missed, slope), asked in zip(wants, _asked(wants, price), strict=True)
        if slope > 0.0
    ])  # fmt: skip


def least_harm(
    prices: list[float],
    at: Callable[[list[float]], tuple[float, _Outcome]],
    worth: Callable[[_Outcome], list[float]],
) -> tuple[list[float], _Outcome]:
    """The prices at each round at which least harm is done, and what comes of them.

    Least is done where each is what the food that it keeps is worth later. So prices are moved
    towards that as far as it does less harm, and again from there.

    Args:
        at: the harm at some prices, and what comes of them. worth: of what is kept at each round.
    """
    least, best = at(prices)
    aims, found, prices = worth(best), prices, [*prices]
    steps, before, last, settled = [1.0] * len(prices), [0.0] * len(prices), least, 0
    for _ in range(_TRIES):
        moves = [aim - price for aim, price in zip(aims, prices, strict=True)]
        if not any(abs(move) > _SAME * price for move, price in zip(moves, prices, strict=True)):
            break
        steps = [
            step / 2.0 if move * old < 0.0 else step
            for step, move, old in zip(steps, moves, before, strict=True)
        ]
        prices = [p + step * move for p, step, move in zip(prices, steps, moves, strict=True)]
        harm, outcome = at(prices)
        if harm < least:
            least, best, found = harm, outcome, prices
        settled = settled + 1 if abs(harm - last) < _SAME * last else 0
        if settled == _SETTLED:
            break
        last = harm
        aims, before = worth(outcome), moves
    return found, best
