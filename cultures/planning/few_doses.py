"""The foods of a round in few doses, each brood with as much in all.

Each dose is a syringe to fill and a tank to walk to again, and a plan that shares each food among
all who take it asks for nearly as many as broods times foods. A keeper gives one or two live foods
to a tank. What the plan brings of each food and to each brood stands; only who gets which food of
it is settled here, two foods at a time: the smaller goes to the smallest mouths. So of doses that
may change hands few have a circle of broods and foods left in them along which one could be saved.
A brood keeps two live foods, or as many as the room asks for: where a hatch fails or a harvest is
left out, it has the other, while dry food alone is hardly a meal.

References:
    A basic solution of a transportation problem has at most as many parts as rows and columns
    together, less one: Dantzig 1951, in Koopmans (ed.), Activity Analysis of Production and
    Allocation, 359-373 (from memory). Filling both in order: Hoffman 1963, On simple linear
    programming problems, Convexity, 317-327 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

from cultures.foods.food import DRY
from cultures.planning.servings import SHORT_SHARE, Serving, Suits

#: A brood that has no more live foods keeps them (common practice, no source).
_KEPT = 2
#: Two foods at a time are settled so often at most; it is rarely more than twice.
_GOES = 4
#: What is less than this share of a dose is nothing.
_NOTHING = 1e-9
#: The most that a mouth takes of each food [J].
_Most = Mapping[str, float]


def in_few_doses(row: Sequence[Serving], suits: Suits, variety: int = 1) -> list[Serving]:
    """The servings of a round with the same of each food, and for each brood, in fewer doses.

    No mouth gets more of a food than it takes; what is less than is called short, and would be a
    dose of its own, goes to others. Dry food is given beside live food and changes no hands.

    Args:
        variety: so many foods a brood should get at least.
    """
    found = [Serving(s.need, s.want_j, {**s.given_j}, s.dry_out_j) for s in row]
    foods = {food for s in row for food, part in s.given_j.items() if part > 0.0 and food != DRY}
    if len(foods) > 1 and len(row) > 1:
        by_mouth = sorted(found, key=lambda s: s.need.brood.fry_class.gape_um(s.need.length_mm))
        by_width = sorted(foods, key=lambda food: (suits.widths_um.get(food, 0.0), food))
        pairs = [*combinations(by_width, 2)]
        most_j = [{food: suits.most_j(s, food) for food in by_width} for s in by_mouth]
        kept = max(_KEPT, variety)
        for _ in range(_GOES):
            saved = [_settle(by_mouth, most_j, pair, kept) for pair in pairs]
            if not any(saved):
                break
        for serving in by_mouth:
            _leave_trifles(serving, by_mouth, most_j, variety)
    for serving, dosed in zip(row, found, strict=True):
        serving.dosed_j = dosed.given_j
    return found


def _live_foods_of(serving: Serving) -> int:
    return sum(1 for food, part_j in serving.given_j.items() if part_j > 0.0 and food != DRY)


def _settle(
    row: Sequence[Serving], most_j: Sequence[_Most], pair: tuple[str, str], kept: int
) -> bool:
    """Gives of two foods the smaller to the first, if that saves a dose; True if it does. Who gets
    both and no more live foods than are kept keeps both.
    """
    (small, large), both, least_j = pair, [], 0.0
    for serving, most in zip(row, most_j, strict=True):
        part_j, other_j = serving.given_j.get(small, 0.0), serving.given_j.get(large, 0.0)
        if part_j or other_j:
            all_j = part_j + other_j
            low = max(0.0, all_j - max(other_j, most[large]))
            high = min(all_j, max(part_j, most[small]))
            if part_j and other_j and _live_foods_of(serving) <= kept:
                low = high = part_j
            both.append((serving, low, high, part_j, all_j))
            least_j += low
    left_j = sum([part_j for *_, part_j, _ in both]) - least_j
    parts, saved = [], 0
    for _, low, high, part_j, all_j in both:
        new_j = low + min(left_j, high - low)
        left_j -= new_j - low
        if new_j < _NOTHING * all_j or all_j - new_j < _NOTHING * all_j:
            new_j = round(new_j / all_j) * all_j
        saved += (0.0 < part_j < all_j) - (0.0 < new_j < all_j)
        parts.append(new_j)
    if saved <= 0:
        return False
    for (serving, *_, all_j), new_j in zip(both, parts, strict=True):
        serving.given_j[small], serving.given_j[large] = new_j, all_j - new_j
    return True


def _leave_trifles(
    serving: Serving, row: Sequence[Serving], most_j: Sequence[_Most], variety: int
) -> None:
    """Gives live food that is hardly anything to who gets most of it, if nobody is short then."""
    mine = sorted((part_j, food) for food, part_j in serving.given_j.items() if part_j > 0.0)
    spare_j = sum([part_j for part_j, _ in mine]) - (1.0 - SHORT_SHARE) * serving.need.energy_j
    for part_j, food in mine[:-1]:
        foods = sum(j > 0.0 for j in serving.given_j.values())
        if part_j > spare_j or foods <= variety:
            break
        if food == DRY:
            continue
        taker, most = max(
            zip(row, most_j, strict=True), key=lambda both: both[0].given_j.get(food, 0.0)
        )
        more_j = taker.given_j[food] + part_j
        if taker is not serving and more_j <= most[food]:
            taker.given_j[food] = more_j
            spare_j -= part_j
            del serving.given_j[food]
