"""The foods of a round in few doses, each brood with as much in all.

Each dose is a syringe to fill and a tank to walk to again, and a plan that shares each food among
all who take it asks for nearly as many as broods times foods. A keeper gives one or two live foods
to a tank. What the plan brings of each food and to each brood stands; only who gets which food of
it is settled here, two foods at a time: the smaller goes to the smallest mouths. So all doses
but a few have no circle of broods and foods left in them along which one could be saved.

References:
    A basic solution of a transportation problem has at most as many parts as rows and columns
    together, less one: Dantzig 1951, in Koopmans (ed.), Activity Analysis of Production and
    Allocation, 359-373 (from memory). Filling both in order: Hoffman 1963, On simple linear
    programming problems, Convexity, 317-327 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from attrs import evolve

from cultures.foods.food import DRY
from cultures.planning.servings import SHORT_SHARE, Serving, Suits

#: Two foods at a time are settled so often at most; it is rarely more than twice.
_GOES = 4
#: What is less than this share of a dose is nothing.
_NOTHING = 1e-9


def in_few_doses(row: Sequence[Serving], suits: Suits) -> list[Serving]:
    """The servings of a round with the same of each food, and for each brood, in fewer doses.

    No mouth gets more of a food than it takes; what is less than is called short, and would be a
    dose of its own, goes to others. Dry food is given beside live food and changes no hands.
    """
    foods = {food for s in row for food, part in s.given_j.items() if part > 0.0 and food != DRY}
    order = sorted(row, key=lambda s: s.need.brood.fry_class.gape_um(s.need.length_mm))
    found = [evolve(serving, given_j={**serving.given_j}) for serving in order]
    if len(foods) > 1 and len(row) > 1:
        widths = {f.name: f.width_um for s in row for f in suits.foods[s.need.brood.name].values()}
        by_width = sorted(foods, key=lambda food: (widths.get(food, 0.0), food))
        pairs = [*combinations(by_width, 2)]
        for _ in range(_GOES):
            saved = [_settle(found, small, large, suits) for small, large in pairs]
            if not any(saved):
                break
        for serving in found:
            _leave_trifles(serving, found, suits)
    for serving, dosed in zip(order, found, strict=True):
        serving.dosed_j = dosed.given_j
    return [evolve(serving, given_j={**serving.dosed_j}) for serving in row]


def _settle(row: Sequence[Serving], small: str, large: str, suits: Suits) -> bool:
    """Gives of two foods the smaller to the first, if that saves a dose; True if it does."""
    both, spans = [], []
    for serving in row:
        part_j, other_j = serving.given_j.get(small, 0.0), serving.given_j.get(large, 0.0)
        if part_j + other_j > 0.0:
            least_j = part_j + other_j - max(other_j, suits.most_j(serving, large))
            most_j = min(part_j + other_j, max(part_j, suits.most_j(serving, small)))
            both.append(serving)
            spans.append((max(0.0, least_j), most_j, part_j, part_j + other_j))
    left_j = sum(part for _, _, part, _ in spans) - sum(least for least, _, _, _ in spans)
    parts, saved = [], 0
    for least_j, most_j, part_j, all_j in spans:
        more_j = min(left_j, most_j - least_j)
        left_j -= more_j
        new_j = least_j + more_j
        if new_j < _NOTHING * all_j or all_j - new_j < _NOTHING * all_j:
            new_j = round(new_j / all_j) * all_j
        saved += (0.0 < part_j < all_j) - (0.0 < new_j < all_j)
        parts.append(new_j)
    if saved <= 0:
        return False
    for serving, new_j, (_, _, _, all_j) in zip(both, parts, spans, strict=True):
        serving.given_j = {**serving.given_j, small: new_j, large: all_j - new_j}
    return True


def _leave_trifles(serving: Serving, row: Sequence[Serving], suits: Suits) -> None:
    """Gives live food that is hardly anything to who gets most of it, if nobody is short then."""
    mine = {food: part_j for food, part_j in serving.given_j.items() if part_j > 0.0}
    spare_j = sum(mine.values()) - (1.0 - SHORT_SHARE) * serving.need.energy_j
    for food, part_j in sorted(mine.items(), key=lambda one: one[1])[:-1]:
        takers = [
            other for other in row
            if other is not serving and other.given_j.get(food, 0.0) > part_j
            and other.given_j[food] + part_j <= suits.most_j(other, food)
        ]  # fmt: skip
        if food == DRY or part_j > spare_j or not takers:
            continue
        taker = max(takers, key=lambda other: other.given_j[food])
        taker.given_j[food] += part_j
        spare_j -= part_j
        del serving.given_j[food]
