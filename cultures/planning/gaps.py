"""Which brood goes short of which food at which round, after all substitution."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from cultures.needs.need import BroodNeed, Round
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import SHORT_SHARE, Serving
from cultures.tasks.told import FeedLine

#: The food of a gap where none that is kept fits the mouth, or nobody is there.
ANY = "any"


@frozen(eq=False)
class Gap:
    """One brood short at one round, after all substitution.

    Attributes:
        need: of the brood. food: that is furthest behind. short_j: of all its energy [J].
    """

    feeding: Round
    need: BroodNeed
    food: str
    short_j: float


def find_gaps(
    feedings: Sequence[Round], needs: Sequence[Sequence[BroodNeed]], plan: FeedingPlan,
    lines: Sequence[Sequence[FeedLine]],
) -> list[Gap]:  # fmt: skip
    """Every brood and round that the plan cannot feed in full."""
    gaps: list[Gap] = []
    for feeding, by_round, row, given in zip(feedings, needs, plan.servings, lines, strict=True):
        if not feeding.fed:
            gaps += [Gap(feeding, n, ANY, n.energy_j) for n in by_round]
            continue
        energy: dict[str, float] = {}
        for line in given:
            energy[line.brood] = energy.get(line.brood, 0.0) + line.given_j
        for serving in row:
            need = serving.need
            short = need.energy_j - energy.get(need.brood.name, 0.0)
            # What only the marks of the syringe round away is no lack of food.
            if min(short, serving.missing_j()) > SHORT_SHARE * need.energy_j:
                gaps.append(Gap(feeding, need, missing_food(serving), short))
    return gaps


def missing_food(serving: Serving) -> str:
    """The food that is furthest behind what the ideal diet asks of it."""
    behind = {
        food: wanted - serving.given_j.get(food, 0.0) for food, wanted in serving.need.foods.items()
    }
    return max(behind, key=lambda food: (behind[food], food)) if behind else ANY
