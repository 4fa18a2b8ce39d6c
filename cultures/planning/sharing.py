"""How a food is shared among the broods of a round, and what else is asked for what is missing."""

from __future__ import annotations

from collections.abc import Sequence

from cultures.foods.food import DRY
from cultures.planning.prices import Want, choice_of, shares_of
from cultures.planning.servings import SHORT_SHARE, STAND_IN_FROM, Serving, Suits

#: Up to so many times what is wanted of a food is fed; of more, what is wanted.
_MOST_FED = 1.25


def wants_of(food: str, row: Sequence[Serving], index: int, suits: Suits) -> list[Want]:
    """What each serving of a round wants of a food [J], and how much choice it has besides."""
    return [
        (want, choice_of(suits.others(s.need, food, index), s.need.length_mm)) if want else (0, 0)
        for s in row
        for want in (s.want_j.get(food, 0.0),)
    ]


def share_out(
    servings: Sequence[Sequence[Serving]], food: str, given_j: Sequence[float], suits: Suits,
    *, since: int = 0,
) -> None:  # fmt: skip
    """Divides what there is of a food from a round on."""
    both = zip(servings[since:], given_j[since:], strict=True)
    for index, (row, total) in enumerate(both, since):
        share(row, food, total, index, suits)


def share(row: Sequence[Serving], food: str, total: float, index: int, suits: Suits) -> None:
    """Divides what there is at a round: by need when it is enough, else at its price."""
    wants_j = [serving.want_j.get(food, 0.0) for serving in row]
    asked_j = sum(wants_j)
    if not asked_j:
        return
    fed_j = total if total <= _MOST_FED * asked_j else asked_j
    # Who has another choice is asked only where there is too little for all.
    scarce = fed_j < asked_j
    wants = wants_of(food, row, index, suits) if scarce else [(want, 0.0) for want in wants_j]
    for serving, part in zip(row, shares_of(wants, fed_j), strict=True):
        if part > 0.0:
            serving.given_j[food] = part


def pass_on(
    servings: Sequence[Sequence[Serving]], food: str, others: Sequence[str], suits: Suits
) -> None:
    """Asks the first suitable other food for what this one does not bring."""
    for row in servings:
        for serving in row:
            gap = serving.want_j.get(food, 0.0) - serving.given_j.get(food, 0.0)
            if gap <= SHORT_SHARE * serving.need.energy_j:
                continue
            other = next((o for o in others if suits(serving, o) >= STAND_IN_FROM), None)
            if other is not None:
                own = serving.want_j.get(other, 0.0)
                asked = min(own + gap, max(own, suits.stand_in_j(serving.need, other)))
                serving.want_j = {**serving.want_j, other: asked}


def give_dry(servings: Sequence[Sequence[Serving]], suits: Suits) -> None:
    """Dry food: its own share of the diet, and what is missing as far as the brood takes it."""
    for row in servings:
        for serving in row:
            serving.given_j.pop(DRY, None)
            gap, crumb = serving.missing_j(), 0.01 * serving.need.energy_j
            # Worms come in half swipes, so the last crumb of the gap may already be filled.
            if gap > crumb and (amount := min(gap, suits.dry_cap_j(serving))) > crumb:
                serving.given_j[DRY] = amount


def lean_on(kind: str, servings: Sequence[Sequence[Serving]], since: int, suits: Suits) -> bool:
    """Asks worms for what all other foods left open from a round on; True if anything was asked."""
    asked = False
    for row in servings[max(since, suits.ripe_from[kind]) :]:
        for serving in row:
            gap, crumb = serving.missing_j(), SHORT_SHARE / 2.0 * serving.need.energy_j
            want, given = serving.want_j.get(kind, 0.0), serving.given_j.get(kind, 0.0)
            # What is missing of two foods is less than is called short; and what is given beyond
            # what was asked, since worms come in half swipes, may fill a gap of another food.
            if gap <= crumb and given <= want:
                continue
            open_j = serving.need.energy_j - (sum(serving.given_j.values()) - given)
            wanted = min(open_j, suits.stand_in_j(serving.need, kind))
            # A kind that could not bring its own part will not bring more.
            brought = want - given <= crumb
            if wanted > want and brought:
                serving.want_j = {**serving.want_j, kind: wanted}
                asked = asked or gap > crumb
    return asked
