"""How a food is shared among the broods of a round, and what else is asked for what is missing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import datetime

from cultures.foods.food import DRY
from cultures.needs.need import Round
from cultures.planning.prices import Want, choice_of, shares_of, want_of
from cultures.planning.servings import (
    SHORT_SHARE,
    STAND_IN_FROM,
    Served,
    Serving,
    Suits,
    dry_j_per_g,
)
from cultures.room.room import Room

#: Up to so many times what is wanted of a food is fed; of more, what is wanted.
_MOST_FED = 1.25
#: The choice of who would eat dry food instead: so large that as long as they get any, nobody who
#: has nothing else misses what is called short, up to a length of two and a half centimetres.
_REPLACED = 8.0


def wants_of(food: str, row: Sequence[Serving], index: int, suits: Suits) -> list[list[Want]]:
    """What each serving of a round wants of a food [J], and how much choice it has besides."""
    return [
        [want_of(want, choice_of(suits.others(s.need, food, index), s.need.length_mm))]
        if want else []
        for s in row
        for want in (s.want_j.get(food, 0.0),)
    ]  # fmt: skip


def diet_of(food: str, row: Sequence[Serving]) -> float:
    """What the diets of a round want of a food [J]."""
    return sum([serving.need.foods.get(food, 0.0) for serving in row])


def flat(row: Sequence[Sequence[Want]]) -> list[Want]:
    """The wants of all servings of a round."""
    return [want for of_one in row for want in of_one]


def open_wants(food: str, row: Sequence[Serving], index: int, suits: Suits) -> list[list[Want]]:
    """What each serving of a round wants of a food when it is known what all others bring [J].

    That is first what would be missing without it, and then what only dry food would stand in for.
    """
    found: list[list[Want]] = []
    for serving in row:
        need, given_j = serving.need, serving.given_j
        need_j, want_j = need.energy_j, serving.want_j.get(food, 0.0)
        left_j = need_j - sum([j for name, j in given_j.items() if name not in (food, DRY)])
        wants: list[Want] = []
        found.append(wants)
        if want_j <= 0.0 and left_j <= 0.0:
            continue
        missed_j = 0.0
        if left_j > 0.0:
            out = serving.dry_out_j > 0.0
            dry_j = given_j.get(DRY, 0.0) if out else suits.dry_cap_j(serving)
            missed_j = max(0.0, left_j - dry_j)
        open_j = min(missed_j, max(want_j, suits.stand_in_j(need, food))) if missed_j else 0.0
        other_j = min(want_j, max(left_j, need.foods.get(food, 0.0))) - open_j
        if open_j > 0.0:
            choice = choice_of(suits.coming(need, index), need.length_mm)
            wants.append((open_j, missed_j, need_j * choice))
        if other_j > 0.0:
            wants.append(want_of(other_j, _REPLACED))
    return found


def share_out(
    servings: Served, food: str, given_j: Sequence[float], suits: Suits, *, since: int = 0
) -> None:
    """Divides what there is of a food from a round on."""
    both = zip(servings[since:], given_j[since:], strict=True)
    for index, (row, total) in enumerate(both, since):
        share(row, food, total, index, suits)


def share(row: Sequence[Serving], food: str, total: float, index: int, suits: Suits) -> None:
    """Divides what there is at a round: by need when it is enough, else at its price."""
    wants_j = [serving.want_j.get(food, 0.0) for serving in row]
    asked_j = sum(wants_j)
    if total < asked_j:  # who has another choice is asked only then
        divide(row, food, total, wants_of(food, row, index, suits), suits)
        return
    scale = total / asked_j if 0.0 < total <= _MOST_FED * asked_j else 1.0
    for serving, want in zip(row, wants_j, strict=True):
        if want > 0.0:
            most_j = suits.most_j(serving, food) if scale > 1.0 else want
            serving.given_j[food] = min(want * scale, most_j)


def take_back(rows: Iterable[Sequence[Serving]], food: str) -> None:
    """Takes back what was given of a food."""
    for row in rows:
        for serving in row:
            serving.given_j.pop(food, None)


def divide(
    row: Sequence[Serving], food: str, total: float, wants: Sequence[Sequence[Want]], suits: Suits
) -> None:
    """Divides what there is by what each serving wants; none is fed that is far too much, or more
    than its mouth takes.
    """
    asked = flat(wants)
    asked_j = sum([most for most, _, _ in asked])
    fed_j = total if total <= _MOST_FED * asked_j else asked_j
    parts_j = shares_of(asked, min(fed_j, asked_j))
    if fed_j > asked_j:
        parts_j = [part * fed_j / asked_j for part in parts_j]
    parts = iter(parts_j)
    for serving, of_one in zip(row, wants, strict=True):
        serving.given_j.pop(food, None)
        if not of_one:
            continue
        part_j, most_j = sum([next(parts) for _ in of_one]), sum([most for most, _, _ in of_one])
        if most_j > serving.want_j.get(food, 0.0):
            serving.want_j = {**serving.want_j, food: most_j}
        if part_j > 0.0:
            over = part_j > most_j
            serving.given_j[food] = min(part_j, suits.most_j(serving, food)) if over else part_j


def pass_on(servings: Served, food: str, others: Sequence[str], suits: Suits) -> None:
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


def dry_bought_from(room: Room, feedings: Sequence[Round], start: datetime) -> int:
    """The first round fed of dry food bought at ``start``; a helper feeds what was packed."""
    had = room.had_at(DRY, start)
    return next((r.index for r in feedings if r.keeper and r.at >= had), len(feedings))


def dry_left_j(room: Room, rows: Served) -> float:
    """The dry food in stock that some rounds leave [J], infinite where it is not stated."""
    used_j = sum(s.given_j.get(DRY, 0.0) for row in rows for s in row)
    return room.stock_g.get(DRY, math.inf) * dry_j_per_g() - used_j


def dry_parcels_j(room: Room, feedings: Sequence[Round]) -> list[tuple[int, float]]:
    """From which rounds on how much more dry food is there that was ordered [J]; a helper feeds
    what was packed.
    """
    come = [
        (next((r.index for r in feedings if r.keeper and r.at_h >= there_h), len(feedings)), grams)
        for there_h, grams in room.parcels(DRY)
    ]
    return [(index, grams * dry_j_per_g()) for index, grams in come]


def give_dry(
    servings: Served, suits: Suits, there_j: float = math.inf, until: int = 0,
    parcels_j: Iterable[tuple[int, float]] = (),
) -> None:  # fmt: skip
    """Dry food: its own share of the diet, and what is missing as far as the brood takes it.

    Args:
        there_j: of it at the first ``until`` rounds [J], which are fed in full while it lasts.
        parcels_j: from which of them on how much more is there [J].
    """
    come_j = dict[int, float]()
    for index, more_j in parcels_j:
        come_j[index] = come_j.get(index, 0.0) + more_j
    for index, row in enumerate(servings):
        if index in come_j:
            there_j = max(0.0, there_j) + come_j[index]
        asked_j = [_dry_asked_j(serving, suits) for serving in row]
        whole_j, share = sum(asked_j), 1.0
        if index < until:
            share = min(1.0, max(0.0, there_j) / whole_j) if whole_j > 0.0 else 1.0
            there_j -= whole_j
        for serving, asked in zip(row, asked_j, strict=True):
            serving.dry_out_j = (1.0 - share) * asked
            if share * asked > 0.0:
                serving.given_j[DRY] = share * asked


def _dry_asked_j(serving: Serving, suits: Suits) -> float:
    """What a brood is to get of dry food where there is enough [J], taken back what it got."""
    serving.given_j.pop(DRY, None)
    # Worms come in half swipes, so the last crumb of the gap may already be filled.
    missing_j, crumb_j = serving.missing_j(), 0.01 * serving.need.energy_j
    if missing_j <= crumb_j:
        return 0.0
    asked = min(missing_j, suits.dry_cap_j(serving))
    return asked if asked > crumb_j else 0.0


def lean_on(kind: str, servings: Served, since: int, suits: Suits) -> bool:
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
