"""What a brood eats of the foods there are: what fits its mouths, and is worth the chase."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from cultures.foods.food import DRY, Food
from cultures.fry.classes import FryClass
from cultures.fry.feeding import feeding_values, logistic, takable, worth_taking


def suitability(food: Food, fry_class: FryClass, length_mm: float) -> float:
    """How well a food suits fry of a length, 0 to 1: takable times worth taking.

    Dry food counts by how far the brood has learnt to take it.
    """
    return suitabilities([food], fry_class, length_mm)[0]


def suitabilities(foods: Iterable[Food], fry_class: FryClass, length_mm: float) -> list[float]:
    """The same of several foods, for which mouth and weight are worked out once."""
    gape_um, weight_mg = fry_class.gape_um(length_mm), fry_class.weight_mg(length_mm)
    return [
        takable(food.width_um, gape_um) * worth_taking(food.mass_mg, weight_mg)
        if food.width_um > 0 else _weaned(fry_class, length_mm)
        for food in foods
    ]  # fmt: skip


def takes_dry(fry_class: FryClass, length_mm: float) -> bool:
    """Whether enough fry of a length take dry food for it to be a meal."""
    return _weaned(fry_class, length_mm) >= feeding_values()["least_share"]


def _weaned(fry_class: FryClass, length_mm: float) -> float:
    width = feeding_values()["wean_width"]
    return logistic(math.log(length_mm / fry_class.values["wean_mm"]) / width)


def _live_left(fry_class: FryClass, length_mm: float) -> float:
    """How much live food is left of what it would be, at the end of the time as fry."""
    until_mm = fry_class.values["fry_until_mm"]
    over_mm = feeding_values()["wean_off_share"] * until_mm
    if length_mm >= until_mm:
        return 0.0
    return min(1.0, (until_mm - length_mm) / over_mm) if over_mm > 0.0 else 1.0


def diet_shares(
    foods: Sequence[Food], fry_class: FryClass, length_mm: float, *, variety: int = 1
) -> dict[str, float]:
    """Share of each food in the diet at a length; they sum to 1, or are empty.

    Fry past ``fry_until_mm`` eat dry food if it is among the foods, and over the last part of the
    way there less and less of all others. A food that would be less than a worthwhile share is left
    out, unless fewer than ``variety`` foods would remain: then the best of the others that fit the
    mouth at all get a small share each. Empty means that no food fits the mouth.
    """
    v = feeding_values()
    live = _live_left(fry_class, length_mm) if any(f.name == DRY for f in foods) else 1.0
    if live <= 0.0:
        return {DRY: 1.0}
    weights = {}
    extra = {}
    for food, fit in zip(foods, suitabilities(foods, fry_class, length_mm), strict=True):
        if fit >= v["least_share"]:
            weights[food.name] = fit * food.preference * (1.0 if food.name == DRY else live)
        elif fit >= v["variety_fit"]:
            extra[food.name] = fit * food.preference
    least = v["least_share"] * sum(weights.values())
    kept = {name: w for name, w in weights.items() if w >= least}
    total = sum(kept.values())
    shares = {name: weight / total for name, weight in kept.items()}
    if not 0 < len(shares) < variety:
        return shares
    extra |= {name: w for name, w in weights.items() if name not in kept}
    added = sorted(extra, key=lambda name: -extra[name])[: variety - len(shares)]
    main = 1.0 - v["variety_share"] * len(added)
    shares = {name: share * main for name, share in shares.items()}
    return shares | dict.fromkeys(added, v["variety_share"])
