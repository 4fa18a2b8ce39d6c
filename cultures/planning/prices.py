"""At what price scarce food is shared out, and who asks for how much of it then.

The aim is the least harm: of each brood and round what its diet wants of the food, times the square
of the share that is missing, over how much choice the mouth has besides. What is scarce then goes
to those who can eat nothing else. The least harm at a given amount is had at a price p, the same
for all, at which a brood of choice c asks for the share 1 - p c of what its diet wants (p is the
multiplier of Lagrange).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

#: Who can live on another food wholly pays four times, so that a mouth of a centimetre that has no
#: other food misses less than is called short as long as they get any.
_WITHOUT = 0.75
#: What a millimetre of length adds to the choice of a mouth, against a food that suits it well.
_CHOICE_PER_MM = 0.01
#: Prices tried for a shortage, each half of the one before, and closer ones around the best.
_PRICES, _CLOSER = 8, 4

#: What a brood wants of a food, and how much choice it has besides.
Want = tuple[float, float]


def choice_of(others: float, length_mm: float) -> float:
    """How much choice a brood has besides a food.

    Args:
        others: the share of its need for which the best other food may stand in. length_mm: of
            the fry.
    """
    return others / (1.0 - _WITHOUT * others) + _CHOICE_PER_MM * length_mm


def asked_at(wants: Sequence[Want], price: float) -> float:
    """What is asked for at a price, all together."""
    if not price:
        return sum([want for want, _ in wants], 0.0)
    return sum(want * max(0.0, 1.0 - price * choice) for want, choice in wants)


def price_for(wants: Sequence[Want], given: float) -> float:
    """The price at which just so much is asked for; 0 where it is enough."""
    want, paid = sum(w for w, _ in wants), sum(w * c for w, c in wants)
    if want <= given:
        return 0.0
    price = 0.0
    for each, choice in sorted(wants, key=lambda w: -w[1]):
        if paid <= 0.0:
            break
        price = max(0.0, (want - given) / paid)
        if price * choice <= 1.0:
            return price
        want, paid = want - each, paid - each * choice
    return price


def shares_of(wants: Sequence[Want], given: float) -> list[float]:
    """What is given, divided: by want when it is enough, else at its price."""
    price = price_for(wants, given)
    parts = [want * max(0.0, 1.0 - price * choice) for want, choice in wants]
    total = sum(parts)
    return [part * given / total for part in parts] if total > 0.0 else parts


def harm_of(wants: Sequence[Want], given: float) -> float:
    """What it does to the broods of a round that so much is given."""
    price = price_for(wants, given)
    return sum(w * min(price, 1.0 / c) ** 2 * c / 2.0 for w, c in wants if w > 0.0)


def least_harm(harm: Callable[[float], float], highest: float) -> float:
    """The price up to a highest one that does least harm; 0 unless one does less than none."""
    tried: dict[float, float] = {}

    def of(price: float) -> float:
        if price not in tried:
            tried[price] = harm(price)
        return tried[price]

    best = min((highest / 2.0**k for k in range(_PRICES)), key=of)
    for k in range(1, _CLOSER + 1):
        near = (best * 2.0 ** (-(0.5**k)), best, best * 2.0 ** (0.5**k))
        best = min(near, key=of)
    return best if of(best) < of(0.0) * (1.0 - 1e-9) else 0.0
