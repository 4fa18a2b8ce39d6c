"""From energy to what a keeper measures: mL from a cup, half swipes, grams, level spoons.

All live food of a round is rinsed into a cup and made up to a round volume, then dosed by
syringe. Shares are rounded so that they add up to the cup exactly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.feeding_plan import FeedingPlan, Serving, dry_j_per_g
from cultures.room.room import Room
from cultures.tasks.told import FeedLine
from cultures.words.tasks import DRY_STEP_G
from cultures.words.units import TEASPOON_ML

#: Smallest mark of the syringe, least cup for each brood fed from it, and cup sizes.
SYRINGE_STEP_ML = 1.0
_LEAST_ML_A_BROOD = 10.0
_CUP_STEP_ML = 50.0
#: The same for a room that measures in spoons: quarter teaspoons, cups of two fluid ounces.
_US_STEP_ML = TEASPOON_ML / 4
_US_CUP_STEP_ML = 12 * TEASPOON_ML
#: The smallest share should be this much, as long as the cup stays in bounds.
_SMALLEST_DOSE_ML = 2.0
_LARGEST_CUP = 2.0
#: Smaller shares than this are rounded up: a small brood would feel what is rounded away.
_ROUND_UP_BELOW = 16


@frozen(eq=False)
class Cup:
    """One live food made up for one round.

    Attributes:
        food: which. volume_ml: of the cup. energy_j: in it. at_index: the round.
    """

    food: str
    at_index: int
    volume_ml: float
    energy_j: float


def whole_shares(parts: Sequence[float], total: int) -> list[int]:
    """Shares in proportion to ``parts`` that are whole and add up to ``total``.

    Small shares are rounded up; the largest remainders of the others get the odd units, and
    what is too much comes from the largest share.

    References:
        Hamilton's (largest remainder) method of apportionment, with the small served first.

    Examples:
        >>> whole_shares([2.0, 1.0, 1.0], 8)
        [4, 2, 2]
    """
    whole = sum(parts)
    if whole <= 0 or total <= 0:
        return [0] * len(parts)
    exact = [part / whole * total for part in parts]
    shares = [math.ceil(x - 1e-9) if x < _ROUND_UP_BELOW else math.floor(x) for x in exact]
    order = sorted(range(len(parts)), key=lambda i: (-(exact[i] - shares[i]), i))
    for i in order[: max(0, total - sum(shares))]:
        shares[i] += 1
    while sum(shares) > total:  # what was rounded up comes from the largest
        richest = max(range(len(parts)), key=lambda j: (shares[j], -j))
        shares[richest] -= 1
    return shares


def measure(
    room: Room, plan: FeedingPlan
) -> tuple[list[list[FeedLine]], dict[tuple[int, str], Cup]]:
    """Feeding lines by round in tank order, and the cups they are dosed from.

    ``given_j`` of a line follows from the rounded amount, so what is promised is what the
    syringe gives.
    """
    lines: list[list[FeedLine]] = []
    cups: dict[tuple[int, str], Cup] = {}
    spoons = room.units == "us"
    step = _US_STEP_ML if spoons else SYRINGE_STEP_ML
    cup_step = _US_CUP_STEP_ML if spoons else _CUP_STEP_ML
    for feeding, row in zip(plan.feedings, plan.servings, strict=True):
        amounts: dict[tuple[str, str], tuple[float, float, str]] = {}
        foods = sorted(
            {food for serving in row for food, part in serving.given_j.items() if part > 0}
        )
        for food in foods:
            parts = [serving.given_j.get(food, 0.0) for serving in row]
            if food == DRY:
                for serving, part in zip(row, parts, strict=True):
                    grams = _whole_steps(part / dry_j_per_g())
                    if part > 0:
                        amounts[serving.need.brood.name, food] = (grams, grams * dry_j_per_g(), "g")
                continue
            energy = _in_cup(plan, feeding.index, food)
            if energy <= 0:
                continue
            fed = sum(1 for part in parts if part > 0)
            smallest = min(part for part in parts if part > 0)
            fine = min(_SMALLEST_DOSE_ML * sum(parts) / smallest, _LARGEST_CUP * room.makeup_ml)
            least = max(room.makeup_ml, fed * _LEAST_ML_A_BROOD, fine)
            volume = math.ceil(least / cup_step - 1e-9) * cup_step
            cups[feeding.index, food] = Cup(food, feeding.index, volume, energy)
            shares = whole_shares(parts, round(volume / step))
            for serving, share in zip(row, shares, strict=True):
                if share:
                    millilitres = share * step
                    amounts[serving.need.brood.name, food] = (
                        millilitres, energy * millilitres / volume, "mL",
                    )  # fmt: skip
        lines.append([line for serving in row for line in _lines_of(serving, amounts)])
    return lines, cups


def _whole_steps(grams: float) -> float:
    """Grams in steps of the scale, rounded up where rounding down would be felt."""
    steps = round(grams / DRY_STEP_G)
    if steps * DRY_STEP_G < 0.98 * grams:
        steps += 1
    return round(steps * DRY_STEP_G, 6)


def _in_cup(plan: FeedingPlan, index: int, food: str) -> float:
    """Energy of all that is harvested or held of a food for a round [J]."""
    if food == BRINE_SHRIMP:
        return plan.hatches.given_j[index]
    worms = plan.worms[food]
    per_mg = worms.kind.values["energy_j_per_mg"]
    return sum(h.taken_mg for h in worms.course.harvests[index]) * per_mg


def _lines_of(
    serving: Serving, amounts: dict[tuple[str, str], tuple[float, float, str]]
) -> list[FeedLine]:
    need = serving.need
    lines = []
    for food in [*need.foods, *(f for f in sorted(serving.given_j) if f not in need.foods)]:
        amount, given, unit = amounts.get(
            (need.brood.name, food), (0.0, 0.0, "g" if food == DRY else "mL")
        )
        ideal = need.foods.get(food, 0.0)
        if amount > 0 or ideal > 0:
            lines.append(
                FeedLine(
                    at=need.at, tank=need.brood.tank, brood=need.brood.name, food=food,
                    need_j=ideal, given_j=given, amount=amount, unit=unit,
                )
            )  # fmt: skip
    return lines
