"""Which brood goes short of which food at which round, after all substitution."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import timedelta

from attrs import frozen

from cultures.foods.food import DRY
from cultures.needs.need import BroodNeed, Round, RoundNeeds, rounds_between
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import Serving, falls_short, is_grown
from cultures.room.room import Room
from cultures.tasks.told import FeedLine

#: The food of a gap where none that is kept fits the mouth, or nobody is there.
ANY = "any"
#: What rounding leaves out is told from this share of a need on, at a round and over the day from
#: it on [h]; what could be halved once more leaves out less.
_FELT, _DAY_H = 0.25, 23.5
#: Another kind, another vessel or food from elsewhere is an errand, and a culture more is work for
#: weeks: worth it from half of one meal of one brood on (common practice, no source).
WORTH_GETTING = 0.5**2
#: Somebody is asked where fry would go longer than this from meal to meal: from one morning to the
#: next they can, where none starve; an hour is left for the clock change (common practice, no
#: source).
_GOES_WITHOUT_H = 25.0


@frozen(eq=False)
class Gap:
    """One brood short at one round, after all substitution.

    Attributes:
        need: of the brood. food: that is furthest behind. short_j: of all its energy [J].
        rounded: there is enough, and so little of it cannot be measured out.
    """

    feeding: Round
    need: BroodNeed
    food: str
    short_j: float
    rounded: bool = False

    @property
    def key(self) -> tuple[int, str]:
        """Its round and brood, which another plan of the same rounds has too."""
        return self.feeding.index, self.need.brood.name


def missed_meals(
    gaps: Iterable[Gap], left_j: Mapping[tuple[int, str], float] | None = None
) -> float:
    """What it is worth to fill some gaps, in meals of a brood that would get nothing: the harm of a
    plan goes by the square of the share that is missing.

    Args:
        left_j: what is missing still, by gap; None for nothing.
    """
    left_j = left_j or {}
    return sum(
        (gap.short_j**2 - left_j.get(gap.key, 0.0) ** 2) / gap.need.energy_j**2 for gap in gaps
    )


def worth_asking(
    room: Room, gaps: Iterable[Gap], starving: Collection[tuple[int, str]] = ()
) -> list[Gap]:
    """The gaps of absences for which somebody is to be asked to feed: those in which fry starve, or
    go longer than a day from meal to meal.

    Args:
        starving: keys of gaps.
    """
    unfed = [gap for gap in gaps if not gap.feeding.fed]
    if not unfed:
        return []
    first, last = min(g.feeding.at for g in unfed), max(g.feeding.at for g in unfed)
    span = timedelta(days=2)
    fed_h = [r.at_h for r in rounds_between(room, first - span, last + span) if r.fed]

    def goes_long(at_h: float) -> bool:
        before, after = bisect_left(fed_h, at_h) - 1, bisect_right(fed_h, at_h)
        if before < 0 or after == len(fed_h):
            return True
        return fed_h[after] - fed_h[before] > _GOES_WITHOUT_H

    long = {at_h for at_h in {g.feeding.at_h for g in unfed} if goes_long(at_h)}
    return [gap for gap in unfed if gap.key in starving or gap.feeding.at_h in long]


def find_gaps(
    feedings: Sequence[Round], needs: RoundNeeds, plan: FeedingPlan,
    lines: Sequence[Sequence[FeedLine]],
) -> list[Gap]:  # fmt: skip
    """Every brood and round that the plan cannot feed in full."""
    gaps: list[Gap] = []
    left_out: dict[str, list[tuple[float, float, float]]] = {}
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
            of = feeding.at_h, short, need.energy_j
            left_out.setdefault(need.brood.name, []).append(of)
            if falls_short(min(short, serving.missing_j()), need.energy_j):
                gaps.append(Gap(feeding, need, missing_food(serving), short))
            # Little that only the marks of the syringe round away nobody feels, and grown fish wait
            # longer for their turn.
            elif _is_felt(short, need.energy_j) and not is_grown(need):
                gaps.append(Gap(feeding, need, _rounded_food(serving, given), short, rounded=True))
    return [g for g in gaps if not g.rounded or _all_day(g, left_out[g.need.brood.name])]


def _is_felt(short_j: float, need_j: float) -> bool:
    return falls_short(short_j - _FELT * need_j, need_j)


def _all_day(gap: Gap, left_out: Sequence[tuple[float, float, float]]) -> bool:
    """Whether a brood goes short over the day from a round on, and is not made up for it in turn.

    Args:
        left_out: at its rounds: when [h], what is left out, and the need [J].
    """
    first_h = gap.feeding.at_h
    day = [(short, need) for at_h, short, need in left_out if 0.0 <= at_h - first_h < _DAY_H]
    return _is_felt(sum(short for short, _ in day), sum(need for _, need in day))


def _rounded_food(serving: Serving, lines: Sequence[FeedLine]) -> str:
    """The food of which most is left out in measuring."""
    mine = {x.food: x.given_j for x in lines if x.brood == serving.need.brood.name}
    left = {food: part_j - mine.get(food, 0.0) for food, part_j in serving.dosed_j.items()}
    return max(left, key=lambda food: (left[food], food)) if left else ANY


def missing_food(serving: Serving) -> str:
    """The food that is furthest behind what the ideal diet asks of it; dry food where half of what
    is missing would be given of it if it were there.
    """
    if serving.dry_out_j > 0.0 and serving.dry_out_j >= serving.missing_j() / 2.0:
        return DRY
    behind = {
        food: wanted - serving.given_j.get(food, 0.0) for food, wanted in serving.need.foods.items()
    }
    return max(behind, key=lambda food: (behind[food], food)) if behind else ANY
