"""From energy to what a keeper measures: mL from a cup, grams, level spoons.

All in steps of the tools that the room has.

Every food of a round is made up with water to a cup and dosed by syringe: live food that was
rinsed, dry food that was soaked. Doses are whole marks that add up to what is fed of the cup.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Container, Iterable, Mapping, Sequence
from datetime import datetime
from typing import TypeVar

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.fry.feeding import feeding_values
from cultures.needs.need import Round
from cultures.planning.few_doses import in_few_doses
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import Serving, Suits, dry_j_per_g, falls_short, is_grown
from cultures.room.room import Room
from cultures.tasks.task import Feed
from cultures.tasks.told import SOAKED, WEIGHED, FeedLine, ToldTask, Way
from cultures.words.tasks import (
    DRY_DOSE_G,
    MOST_HALVED,
    MOST_SOAKED_G,
    PINCH_G,
    STRONG,
    TWIST_THREES,
    strength,
)
from cultures.words.tools import DRY_STEP_G, Tools

#: Cup sizes are multiples of this, as whole marks of the syringe allow.
_CUP_STEP_ML = 50.0
#: A cup is at least so much for each brood fed from it; one that was told stands up to so much, or
#: to so many usual cups.
_LEAST_ML_A_BROOD, _MOST_ML_A_BROOD = 10.0, 30.0
_LARGEST_CUP = 5.0
#: Who misses less of a need by a mark, and would be fed far too much with it, gets it in turn.
_MINOR = 0.25
#: So much more or less of a cup does no harm where doses are poured, not drawn.
_POURED = 0.02
#: A brood would feel it if more than this share of its need were rounded away.
_FELT = 0.1
#: No part is made smaller by eye than this [g], a heap of two millimetres (common practice, no
#: source).
_LEAST_TWIST_G = 0.005
#: What was weighed for each tank is soaked for all again from this share of the most that is soaked
#: (common practice, no source: what rounds differ by from day to day).
_SOAKED_AGAIN = 0.8
#: Where a brood is to get less than the tools measure, all is soaked as long as it is no more than
#: so much [g], half a litre of water (common practice, no source).
_MOST_COARSE_G = 5.0
#: From so many steps of the scale on, one more or less of dry food is not felt.
_MUCH_DRY = 10
#: Turns go on by the golden ratio every twelve hours, the step that repeats itself least.
_TURN_A_H = (math.sqrt(5.0) - 1.0) / 24.0


_T = TypeVar("_T")


@frozen(eq=False)
class Cup:
    """One live food made up for one round.

    Attributes:
        food: which. at_index: the round. volume_ml: of the cup, fed_ml: of that fed.
        energy_j: in the cup. rest_ml: so much at most stays in it where doses are measured apart.
    """

    food: str
    at_index: int
    volume_ml: float
    fed_ml: float
    energy_j: float
    rest_ml: float = 1e-6


def whole_shares(
    parts: Sequence[float], total: int, *, needs: Sequence[float] | None = None, turn: float = 0.5,
    sparing: bool = False, others: Sequence[float] | None = None,
) -> list[int]:  # fmt: skip
    """Whole shares in proportion to ``parts``, less than 1 off, that add up to ``total``.

    Args:
        needs: for each part, what it is a part of. Who would feel the rounding is rounded up
            first, and none whose whole part is felt goes without: that comes from the largest,
            the one exception to less than 1 off. None to look at remainders alone.
        turn: from 0 to 1 and another at each round, so that in the long run each of the others
            is rounded up as often as its remainder asks for.
        sparing: nobody is rounded up first by half of a part, or by what would be felt too.
        others: what of each need other foods bring. Who misses little of a need and would be fed
            far too much is not rounded up first, but in turn.

    References:
        Systematic sampling in proportion to size: Madow 1949, Annals of Mathematical Statistics
        20:333-354 (from memory).

    Examples:
        >>> whole_shares([2.0, 1.0, 1.0], 8)
        [4, 2, 2]
    """
    whole = sum(parts)
    if whole <= 0 or total <= 0:
        return [0] * len(parts)
    exact = [part / whole * total for part in parts]
    shares = [math.floor(x + 1e-9) for x in exact]
    rest = [max(0.0, x - share) for x, share in zip(exact, shares, strict=True)]
    felt = {}
    for i, need in enumerate(needs or ()):
        missing, over = (x / total * whole / need for x in (rest[i], 1.0 - rest[i]))
        if missing <= _FELT or (sparing and over > min(_FELT, parts[i] / need / 2.0)):
            continue
        if others is None or not _in_turn(missing, over + (parts[i] + others[i]) / need):
            felt[i] = missing
    for i in sorted(felt, key=felt.__getitem__, reverse=True)[: total - sum(shares)]:
        shares[i], rest[i] = shares[i] + 1, 0.0
    each = (total - sum(shares)) / max(sum(rest), 1e-9)
    reached = turn + 1e-9
    for i, remainder in enumerate(rest):
        before, reached = reached, reached + each * remainder
        shares[i] += math.floor(reached) - math.floor(before)
    for i in felt:
        if shares[i] == 0:
            shares[max(range(len(parts)), key=shares.__getitem__)] -= 1
            shares[i] = 1
    return shares


def _in_turn(missing: float, in_all: float) -> bool:
    """Whether a brood without a mark misses so little of its need, and has in all so much of it
    with that mark, that it gets it at some rounds only: the rest would foul its water.
    """
    return missing < _MINOR and in_all > feeding_values()["overfed_at"]


def measure(
    room: Room, plan: FeedingPlan
) -> tuple[list[list[FeedLine]], dict[tuple[int, str], Cup]]:
    """Feeding lines by round in tank order, and the cups they are dosed from.

    ``given_j`` of a line follows from the rounded amount, so what is promised is what the
    syringe gives.
    """
    lines: list[list[FeedLine]] = []
    cups: dict[tuple[int, str], Cup] = {}
    told, way, strong = told_ahead(room), room.dry_way, room.dry_strength
    paper = {t.task.at: t for t in room.by_paper if isinstance(t.task, Feed)}
    suits = Suits(room, plan.suits)
    for feeding, shared in zip(plan.feedings, plan.servings, strict=True):
        row = in_few_doses(shared, suits, room.variety)
        doses: dict[tuple[str, str], _Dose] = {}
        before = AsTold.of(told.get(feeding.at), way)
        foods = sorted({food for s in row for food, part in s.given_j.items() if part > 0})
        for number, food in enumerate(foods):
            served = [
                s
                for s in row
                if s.given_j.get(food, 0.0) > 0 and not (food == DRY and _is_trifle(s, before))
            ]
            if not served:
                continue
            # Not all foods of a brood in the same direction.
            turn = (feeding.at_h * _TURN_A_H + number / len(foods)) % 1.0
            if food == DRY:
                each = _dry_doses(room, feeding, served, turn, before, strong)
                if feeding.keeper:
                    way, strong = each[0].way, each[0].strong or strong
            else:
                energy_j = _in_cup(plan, feeding.index, food)
                volume, mark_ml, shares = _dosed_cup(room, food, served, energy_j, turn, before)
                mark_j = energy_j * mark_ml / volume
                each = [_Dose(round(n * mark_ml, 9), n * mark_j) for n in shares]
                fed_ml = sum(dose.amount for dose in each)
                whole = all(float(n).is_integer() for n in shares)
                cups[feeding.index, food] = Cup(
                    food, feeding.index, volume, fed_ml, energy_j, 1e-6 if whole else mark_ml
                )
            for serving, dose in zip(served, each, strict=True):
                doses[serving.need.brood.name, food] = dose
        planned = [line for serving in row for line in _lines_of(serving, doses)]
        by_paper = paper.get(feeding.at)
        lines.append(planned if by_paper is None else _as_on_paper(room, planned, by_paper))
    return lines, cups


def _as_on_paper(room: Room, planned: Sequence[FeedLine], told: ToldTask) -> list[FeedLine]:
    """What a helper doses by a sheet, in the place of what is planned."""
    doses = {(line.brood, line.food): line for line in told.lines}
    found = []
    for line in planned:
        none = evolve(line, given_j=0.0, amount=0.0, wet_ml=None, skipped_g=None, way=None)
        found.append(doses.pop((line.brood, line.food), none))
    walk = {tank.name: place for place, tank in enumerate(room.tanks)}
    return sorted([*found, *doses.values()], key=lambda line: walk.get(line.tank, len(walk)))


def _is_trifle(serving: Serving, before: AsTold) -> bool:
    """Whether its dry food is less than a scale shows, was not told, and nobody is short without
    it: a drop or two beside live food.
    """
    part_j, need_j = serving.given_j[DRY], serving.need.energy_j
    without_j = sum(serving.given_j.values()) - part_j
    return (
        part_j < DRY_STEP_G * dry_j_per_g()
        and not falls_short(part_j, need_j)
        and not falls_short(need_j - without_j, need_j)
        and not any(before.amounts(DRY, [serving.need.brood.name]))
    )


def weighed_dry_g(tools: Tools, feeding: Round, lines: Iterable[FeedLine]) -> float:
    """What a round takes out of the tin of dry food [g]: all that is soaked, of it fed or not.

    Of what is weighed out for each tank, and halved by eye, the other half goes back into the tin.
    """
    dry = [line for line in lines if line.food == DRY and line.amount > 0]
    grams = round(sum(line.amount for line in dry), 6)
    return max(grams, soaked_g(tools, feeding, grams, dry)) if grams and feeding.keeper else grams


def soaked_g(tools: Tools, feeding: Round, fed_g: float, lines: Iterable[FeedLine]) -> float:
    """What is weighed for the dry food of a round, so much in all [g]; to soak it maybe more.

    What is weighed for each tank is no more; of little in an envelope parts are made by eye.
    """
    weighed = feeding.keeper and any(line.way == WEIGHED for line in lines)
    if weighed or (fed_g > MOST_SOAKED_G + 1e-9 and not feeding.keeper):
        return fed_g
    return tools.least_over(fed_g, DRY, DRY_STEP_G)


def _dry_way(tools: Tools, feeding: Round, served: Sequence[Serving], before: Way | None) -> Way:
    """How the dry food of a round is measured: soaked for all, or weighed for each tank.

    More is soaked where a brood gets so little that the tools cannot measure it. Near these bounds
    it stays as it was at the round before: nobody is to learn another way each day. A helper has it
    weighed, in an envelope.
    """
    each_g = [s.given_j[DRY] / dry_j_per_g() for s in served]
    # A few grown fish wait for a pinch: nobody else's food is soaked for them.
    fry_g = [g for g, s in zip(each_g, served, strict=True) if not is_grown(s.need)]
    least_g = tools.dry_step_g * (2 if before == SOAKED else 1)
    coarse = min(fry_g, default=least_g) < least_g and tools.takes(
        max(each_g) / (STRONG * DRY_DOSE_G)
    )
    most_g = _MOST_COARSE_G if coarse else MOST_SOAKED_G
    least_g = _SOAKED_AGAIN * most_g if before == WEIGHED else most_g - DRY_STEP_G
    return SOAKED if feeding.keeper and sum(each_g) <= least_g else WEIGHED


@frozen
class _Dose:
    """What a brood gets of a food; the rest as a feeding line has it.

    Attributes:
        strong: how many times as strong as usual it is soaked; None where it is not.
    """

    amount: float
    given_j: float
    wet_ml: float | None = None
    skipped_g: float | None = None
    way: Way | None = None
    strong: float | None = None


def _dry_doses(
    room: Room, feeding: Round, served: Sequence[Serving], turn: float, before: AsTold,
    last: float | None = None,
) -> list[_Dose]:  # fmt: skip
    """Dry food in steps: what is less than a step is given in its turn, in few rounds.

    Args:
        last: how many times as strong as usual it was soaked last.
    """
    j_per_g, way = dry_j_per_g(), _dry_way(room.tools, feeding, served, before.dry_way)
    soaked = way == SOAKED
    broods = [s.need.brood.name for s in served]
    strong, apart = 1.0, dict[int, float]()
    weighs_g = room.tools.dry_step_g
    if soaked:
        strong = _strength(served, before.strength(broods), last)
        g_per_ml = DRY_DOSE_G * strong
        exact_ml = [s.given_j[DRY] / (j_per_g * g_per_ml) for s in served]
        mark_ml = room.tools.mark_ml(max(exact_ml))
        told_ml = [g / g_per_ml for g in before.amounts(DRY, broods)]
        steps_ml = _steps_apart(room.tools, exact_ml, mark_ml)
        apart = {
            i: ml * g_per_ml for i, ml in _apart(room.tools, steps_ml, exact_ml, told_ml).items()
        }
        served_alike = _without(served, apart)
        step_g = mark_ml * g_per_ml
        drawn = _dry_shares(room, served_alike, step_g, weighs_g, turn)
        shares = _as_said(room.tools, drawn, mark_ml)
    else:
        served_alike = [*served]
        step_g, shares = _twists(served, weighs_g, turn, feeding.per_day)
    if feeding.keeper:
        exact = [s.given_j[DRY] / (step_g * j_per_g) for s in served_alike]
        shares = kept(
            before.marks(DRY, broods, step_g, [broods[i] for i in apart]),
            shares,
            exact,
            [_FELT * s.need.energy_j / (step_g * j_per_g) for s in served_alike],
            # One more of what is weighed does no harm, unless that is most of it.
            spare=min(weighs_g / step_g, max(1.0, _FELT * sum(exact))),
        )
    each_g = _with([n * step_g for n in shares], apart)
    doses = []
    for grams, s in zip(each_g, served, strict=True):
        part_j = s.given_j[DRY]
        doses.append(_Dose(
            round(grams, 9), grams * j_per_g,
            wet_ml=round(grams / (DRY_DOSE_G * strong), 9) if strong != 1.0 and grams else None,
            skipped_g=part_j / j_per_g if not grams and part_j > _FELT * s.need.energy_j else None,
            way=way, strong=strong if soaked else None,
        ))  # fmt: skip
    return doses


def _twists(
    served: Sequence[Serving], weighs_g: float, turn: float, per_day: int = 1
) -> tuple[float, list[int]]:  # fmt: skip
    """What is weighed out for each tank; of little, what is weighed is halved by eye.

    Who cannot have just as much gets the next more or the next less in turn, so that all rounds
    together bring what is wanted. No part is less than a pinch, but for fry that would feel one
    more or less in a day.

    Args:
        per_day: rounds of the day.

    Returns:
        The smallest part that is made [g], and how many of these each gets.
    """
    halved, pinches = (_halved(weighs_g, least_g) for least_g in (_LEAST_TWIST_G, PINCH_G))
    pinch = halved // pinches if weighs_g > PINCH_G else 1
    step_g = weighs_g / halved
    shares, j_a_part = [], step_g * dry_j_per_g()
    for number, serving in enumerate(served):
        felt, parts = _FELT * serving.need.energy_j / j_a_part, serving.given_j[DRY] / j_a_part
        unit = pinch
        while unit > 1 and unit * j_a_part > _bears_j(serving, per_day):
            unit //= 2
        around = _parts_around(parts / unit, halved // unit, felt / unit)
        less, more = (n * unit for n in around)
        # Broods of one need are not all rounded up at the same round.
        mine = (turn + number * 12.0 * _TURN_A_H) % 1.0
        shares.append(more if _is_more(serving, less, more, j_a_part, mine) else less)
    return step_g, shares


def _bears_j(serving: Serving, per_day: int) -> float:
    """How much more or less dry food in a day a brood does not feel [J]: whoever eats little of it
    is fed by something else, and grown fish by the next.
    """
    need_j = serving.need.energy_j
    if is_grown(serving.need) or serving.given_j[DRY] <= _MINOR * need_j:
        return math.inf
    return _MINOR * need_j * per_day


def _halved(weighs_g: float, least_g: float) -> int:
    """How many parts are made of what is weighed by halving it, none less than so much [g]."""
    halved = 1
    while weighs_g / halved > least_g * 1.99:
        halved *= 2
    return halved


def _parts_around(parts: float, halved: int, felt: float = 0.0) -> tuple[int, int]:
    """The next less and the next more that is made by eye, for so many of the smallest part.

    Args:
        halved: how many smallest parts a weighed step has. felt: from so many more or less on a
            brood would feel it; where it does not, whole steps are weighed and none is halved.

    Examples:
        >>> _parts_around(5.0, 16), _parts_around(0.4, 16), _parts_around(41.0, 16)
        ((4, 8), (0, 1), (40, 48))
        >>> _parts_around(46.0, 16, felt=4.0)
        (48, 48)
    """
    if parts >= halved - 1e-9:
        whole = round(parts / halved) * halved
        if abs(whole - parts) <= felt:
            return whole, whole
        # A step that is halved but once is fine enough where there are several.
        unit = halved // 2 if halved > 2 and parts < MOST_HALVED * halved else halved
        less = math.floor(parts / unit + 1e-9) * unit
        return less, less + unit
    made = {halved >> n for n in range(halved.bit_length())}
    made |= {round(part * halved) for part in TWIST_THREES if (part * halved).is_integer()}
    less = max((n for n in made if n <= parts + 1e-9), default=0)
    return less, min(n for n in made if n > less)


def _is_more(serving: Serving, less: int, more: int, j_a_part: float, turn: float) -> bool:
    """Whether a brood gets the next more: in turn, or where it would feel the less but not that."""
    part_j = serving.given_j[DRY]
    missing_j, over_j = part_j - less * j_a_part, more * j_a_part - part_j
    felt_j = _FELT * serving.need.energy_j
    if missing_j <= 0.0 or over_j <= 0.0:  # it is just as much, or nearly
        return False
    if missing_j > felt_j and over_j <= min(felt_j, part_j / 2.0):
        return True
    return missing_j / (missing_j + over_j) > 1.0 - turn


def _dry_shares(
    room: Room, served: Sequence[Serving], step_g: float, weighs_g: float, turn: float
) -> list[int]:
    """Steps for each; of much, all that is weighed is fed, unless that would be felt."""
    parts, needs = [s.given_j[DRY] for s in served], [s.need.energy_j for s in served]
    grams, scale = sum(parts) / dry_j_per_g(), room.tools.scale_g is not None
    whole_g = weighs_g if scale and grams >= _MUCH_DRY * weighs_g else step_g
    total = round(math.floor(grams / whole_g + turn) * whole_g / step_g)
    shares = whole_shares(parts, total, needs=needs, turn=turn, sparing=True)
    felt = any(
        abs(n * step_g * dry_j_per_g() - part) > _FELT * need
        for n, part, need in zip(shares, parts, needs, strict=True)
    )
    if not felt or whole_g == step_g:
        return shares
    total = math.floor(grams / step_g + turn)
    return whole_shares(parts, total, needs=needs, turn=turn, sparing=True)


def _strength(served: Sequence[Serving], told: float | None, last: float | None) -> float:
    """How many times as strong as usual dry food is soaked: as it was ``told``, else as it is
    usual, and of much the one stronger way, which ends only at clearly less.
    """
    most_g = MOST_SOAKED_G * (_SOAKED_AGAIN if last == STRONG else 1.0)
    whole_g = sum(s.given_j[DRY] for s in served) / dry_j_per_g()
    return told or (STRONG if whole_g > most_g + 1e-9 else 1.0)


def _steps_apart(tools: Tools, exact_ml: Sequence[float], mark_ml: float) -> dict[int, float]:
    """The steps of doses that are measured apart, with a finer syringe or in drops, by their places
    [mL].
    """
    steps = ((i, tools.fine_ml(ml, mark_ml)) for i, ml in enumerate(exact_ml))
    return {i: step_ml for i, step_ml in steps if step_ml is not None}


def _apart(
    tools: Tools, steps_ml: Mapping[int, float], exact_ml: Sequence[float],
    told_ml: Sequence[float],
) -> dict[int, float]:  # fmt: skip
    """Doses in steps of their own; as they were told where that is less than a tenth off [mL]."""
    return {
        i: told_ml[i] if abs(told_ml[i] - exact_ml[i]) <= _FELT * exact_ml[i]
        else tools.poured_ml(round(round(exact_ml[i] / step_ml) * step_ml, 9))
        for i, step_ml in steps_ml.items()
    }  # fmt: skip


def _without(all_of: Sequence[_T], apart: Container[int]) -> list[_T]:
    """Those that are not measured apart."""
    return [one for place, one in enumerate(all_of) if place not in apart]


def _with(doses: Sequence[float], apart: Mapping[int, float]) -> list[float]:
    """The doses of all, with those that are measured apart in their places."""
    others = iter(doses)
    count = len(doses) + len(apart)
    return [apart[place] if place in apart else next(others) for place in range(count)]


def _dosed_cup(
    room: Room, food: str, served: Sequence[Serving], energy_j: float, turn: float, before: AsTold
) -> tuple[float, float, list[float]]:
    """A cup, a mark of the syringe that takes its largest dose [mL], and each serving's marks,
    whole but for those that are measured apart.
    """
    most = max(s.given_j[food] for s in served) / energy_j
    mark_ml, coarser_ml = 0.0, room.tools.mark_ml(min(1.0, most) * _least_ml(room, served))
    volume, shares = 0.0, [0.0]
    while coarser_ml > mark_ml:  # a cup that grows may ask for a larger syringe
        mark_ml = coarser_ml
        volume, shares = _cup_shares(room, food, served, energy_j, mark_ml, turn, before)
        coarser_ml = room.tools.mark_ml(max(shares) * mark_ml)
    return volume, mark_ml, shares


def _most_ml(room: Room, serving: Serving) -> float:
    """The largest dose of one food that a brood's tank is to be poured, of all foods alike [mL]."""
    foods = sum(1 for given_j in serving.given_j.values() if given_j > 0.0)
    litres = room.tank(serving.need.brood.tank).litres
    return feeding_values()["poured_share"] * 1000.0 * litres / max(1, foods)


def _least_ml(room: Room, served: Sequence[Serving]) -> float:
    a_brood_ml = min(_LEAST_ML_A_BROOD, room.tools.largest_ml)
    return max(room.makeup_ml, len(served) * a_brood_ml)


def _as_said(tools: Tools, shares: Sequence[int], step: float) -> list[int]:
    """Doses in marks as they are said, since a jug shows no marks; in all no more than is fed."""

    def shown(marks: int) -> int:
        return round(tools.poured_ml(marks * step) / step)

    at_once = [*map(shown, shares)]
    if at_once == [*shares]:
        return at_once

    def no_more(marks: int) -> int:
        return next((n for n in range(marks, 0, -1) if shown(n) == n), marks)

    said = [*map(no_more, at_once)]
    over = sum(said) - sum(shares)
    for i in sorted(range(len(shares)), key=lambda i: shares[i] - said[i]):
        if over <= 0:
            break
        lower = no_more(shares[i])
        over, said[i] = over - (said[i] - lower), lower
    return said


def _cup_shares(
    room: Room, food: str, served: Sequence[Serving], energy_j: float, step: float, turn: float,
    before: AsTold,
) -> tuple[float, list[float]]:  # fmt: skip
    """What a cup is made up to [mL], and the marks that each serving gets of it. No cup is made
    larger for a dose that can be measured apart.

    Args:
        step: a mark [mL]. before: as it was told, which stands where it does.
    """
    cup_step = math.ceil(_CUP_STEP_ML / step - 1e-9) * step
    names = [s.need.brood.name for s in served]
    told_ml, was_ml = before.cups_ml.get(food, 0.0), before.amounts(food, names)
    all_j, usual_ml = [s.given_j[food] for s in served], _least_ml(room, served)
    volume = math.ceil(usual_ml / cup_step - 1e-9) * cup_step
    most = min(
        max(_LARGEST_CUP * room.makeup_ml, len(served) * _MOST_ML_A_BROOD),
        *(_most_ml(room, s) * energy_j / part for s, part in zip(served, all_j, strict=True)),
    )  # fmt: skip
    if usual_ml <= told_ml <= max(most, volume) and abs(told_ml % step) < 1e-6:
        volume = told_ml
    exact_ml = [volume * j / energy_j for j in all_j]
    steps_ml = _steps_apart(room.tools, exact_ml, step)
    alike = _without(served, steps_ml)
    parts = [s.given_j[food] for s in alike]
    needs = [s.need.energy_j for s in alike]
    others = [sum(s.given_j.values()) - part for s, part in zip(alike, parts, strict=True)]
    told = before.marks(food, names, step, [names[i] for i in steps_ml])
    apart = _apart(room.tools, steps_ml, exact_ml, was_ml)
    marks = (volume * min(1.0, sum(all_j) / energy_j) - sum(apart.values())) / step
    total = math.ceil(marks - 1e-9) if apart else round(marks)
    drawn = whole_shares(parts, total, needs=needs, turn=turn, others=others)
    if apart and drawn and total > marks + 1e-9:  # the rest of a mark stays in the cup
        drawn[max(range(len(drawn)), key=drawn.__getitem__)] -= 1
    shares = _as_said(room.tools, drawn, step)
    if volume == told_ml:
        mark_j = energy_j * step / volume
        exact, felt = ([j / mark_j for j in of] for of in (parts, [_FELT * n for n in needs]))
        spare = 1.0 if shares == drawn else max(1.0, _POURED * sum(drawn))
        shares = kept(told, shares, exact, felt, spare)
    return volume, _with(shares, {i: ml / step for i, ml in apart.items()})


def _in_cup(plan: FeedingPlan, index: int, food: str) -> float:
    """Energy of all that is harvested or held of a food for a round [J]."""
    if food == BRINE_SHRIMP:
        return plan.hatches.given_j[index]
    return plan.worms[food].given_j(index)


_NO_DOSE = _Dose(0.0, 0.0)


def _lines_of(serving: Serving, doses: Mapping[tuple[str, str], _Dose]) -> list[FeedLine]:
    need, brood = serving.need, serving.need.brood
    lines = []
    for food in [*need.foods, *sorted([f for f in serving.given_j if f not in need.foods])]:
        dose = doses.get((brood.name, food), _NO_DOSE)
        ideal = need.foods.get(food, 0.0)
        if dose.amount > 0 or ideal > 0 or dose.skipped_g:
            lines.append(
                FeedLine(
                    at=need.at, tank=brood.tank, brood=brood.name, food=food,
                    need_j=ideal, given_j=dose.given_j, amount=dose.amount,
                    unit="g" if food == DRY else "mL", wet_ml=dose.wet_ml, skipped_g=dose.skipped_g,
                    way=dose.way,
                )
            )  # fmt: skip
    return lines


#: A dose that was told may be so many marks off its share.
_OFF = 2.0


@frozen
class AsTold:
    """What was told of the feeding of a round; of one that was not told, nothing.

    Attributes:
        cups_ml: what each cup was made up to. lines: by food and brood. dry_way: how dry food was
            measured, at the round before where nothing was told of it; None where that is not
            known.
    """

    cups_ml: Mapping[str, float]
    lines: Mapping[tuple[str, str], FeedLine]
    dry_way: Way | None = None

    @classmethod
    def of(cls, told: ToldTask | None, way: Way | None = None) -> AsTold:
        """A feeding as it was told, or None.

        Args:
            way: how dry food is measured at the round before.
        """
        if told is None or not isinstance(told.task, Feed):
            return cls({}, {}, way)
        mine = next((x.way for x in told.lines if x.way and x.amount > 0), way)
        return cls(told.task.cups_ml, {(x.food, x.brood): x for x in told.lines}, mine)

    def strength(self, broods: Sequence[str]) -> float | None:
        """How many times as strong as usual dry food was soaked; None where others ate of it."""
        dry = {name: x for (food, name), x in self.lines.items() if food == DRY}
        fed = [x for x in dry.values() if x.amount > 0]
        if not fed or set(dry) != set(broods):
            return None
        return min(map(strength, fed))

    def amounts(self, food: str, broods: Sequence[str]) -> list[float]:
        """What some broods were to get of a food, 0 where nothing was told [mL; dry food g]."""
        lines = [self.lines.get((food, name)) for name in broods]
        return [line.amount if line is not None else 0.0 for line in lines]

    def marks(
        self, food: str, broods: Sequence[str], mark: float, apart: Collection[str] = ()
    ) -> list[int] | None:
        """The doses of some broods in marks; None where it is not in these, or others got some.

        Args:
            mark: in mL, of dry food in g. apart: of those broods, who gets it measured apart: they
                are left out.
        """
        broods = [name for name in broods if name not in apart]
        got = {
            name: x.amount / mark for (of, name), x in self.lines.items()
            if of == food and name not in apart
        }  # fmt: skip
        whole = all(abs(marks - round(marks)) < 1e-3 for marks in got.values())
        if not got or not whole or not set(got) <= set(broods):
            return None
        return [round(got.get(name, 0.0)) for name in broods]


def told_ahead(room: Room) -> Mapping[datetime, ToldTask]:
    """The feedings that were told and have not begun, by their times."""
    return {told.task.at: told for told in room.told_rounds}


def kept(
    told: Sequence[int] | None, fresh: Sequence[int], exact: Sequence[float],
    felt: Sequence[float], spare: float = 1.0,
) -> list[int]:  # fmt: skip
    """The marks that were told where they still do, else the fresh ones.

    Args:
        told: as they were told, or None. fresh: as they would be shared out now. exact: what each
            should get. felt: how much less than that would be felt. spare: so many more or fewer
            in all do no harm.
    """
    if told is None or abs(sum(told) - sum(fresh)) > spare:
        return list(fresh)
    whole = max(sum(exact), 1e-9)
    for old, new, share, bears in zip(told, fresh, exact, felt, strict=True):
        off, anyway = (
            abs(marks - sum(of) / whole * share) for marks, of in ((old, told), (new, fresh))
        )
        if off >= _OFF or off > max(bears, anyway + 1e-9):
            return list(fresh)
        # Of what was told all may be less: a brood that was counted anew is not to go without.
        if abs(old - share) > max(bears, abs(new - share)) + 1.0:
            return list(fresh)
    return list(told)
