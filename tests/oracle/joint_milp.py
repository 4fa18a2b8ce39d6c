"""All foods of a small room as one mixed-integer programme, solved by HiGHS through SciPy.

Written from docs/planning.md, not from the planner: hatches may be set at every half hour of the
waking day, cysts in steps of 0.1 g, worms are taken in whole quarters and halves of a swipe within
the limits of the data, cultures are split, dry food is given as far as the brood takes it, and all
is decided at once.
Growth is concave in the stock, so that tangents bound it from above: the optimum found is no
dearer than the true one.

What a plan costs: cysts; settings, each at its work, and where the tin does not last at so much
more as a tenth of a usual round of nauplii is worth where such a share is missing; what a brood
misses at a round, which is its need times the square of the share that is missing (in the programme
by its chords), at a thousandth of a usual round as much as a setting and 2 % less for each day
ahead, over the choice that docs/planning.md gives a brood without any other food, so that the
smallest count the most; and a tenth of a J missed for each J of live food that its diet wants and
something else stands in for. That tenth is this programme's choice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache, partial
from itertools import pairwise

import numpy as np
from attrs import define, field, frozen
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import WormKind
from cultures.foods.temperature import Clock
from cultures.foods.worms import WormModel, last_useful_age
from cultures.fry.diet import suitability
from cultures.needs.need import BroodNeed, Round, diet_j
from cultures.planning.hatch_options import harvest_time
from cultures.planning.lots import LotProblem, Option
from cultures.room.room import Culture
from cultures.words.moments import hours
from tests.oracle.hatch_rooms import HatchRoom, JointRoom, every_half_hour
from tests.oracle.solved import Answer, table

#: As docs/planning.md has it; and the weight of what is replaced.
SETTINGS_A_ROUND, LATER_COUNTS = 1000.0, 0.98
REPLACED = 0.1
#: And the part of a usual round that a setting must bring where the tin does not last.
WORTH_A_SETTING = 0.1
#: What nauplii count for that come in a day or two, as docs/planning.md has it [h].
COMING, SOON_H = 0.1, 48.0
#: The square of the share that is missing, by its chords between these shares, which are nowhere
#: more than a hundredth above it.
_CHORDS = (0.0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1.0)
_TANGENTS = 24
#: Cysts are weighed in steps of this.
_GRAM_STEP = 0.1
_NO_LOTS = LotProblem((), (), (), (), 1.0, 1.0, ())
#: What a harvest leaves of a full medium at least, unless worms climb when there are fewer.
_KEPT = 0.5

Terms = dict[int, float]


@frozen
class JointOptimum:
    """What the best plan costs, and what HiGHS proved that every plan does.

    Attributes:
        given_j: by brood, round and food.
    """

    cost: float
    bound: float
    proven: bool
    given_j: dict[tuple[str, int, str], float]


def weights(drawn: JointRoom) -> list[float]:
    """What a J unmet costs at each round [g of cysts]."""
    totals = [sum(n.energy_j for n in row) for row in fed_needs(drawn)]
    wanted = [total for total in totals if total > 0]
    usual = sum(wanted) / len(wanted) if wanted else 1.0
    setting, first_h = max(drawn.room.effort_g, 1.0), drawn.feedings[0].at_h
    return [
        SETTINGS_A_ROUND * setting / usual * LATER_COUNTS ** ((r.at_h - first_h) / 24.0)
        for r in drawn.feedings[: drawn.rounds]
    ]


def a_setting_g(drawn: JointRoom) -> float:
    """What a setting counts [g of cysts]: its work, and where the tin does not last so much more as
    a part of a usual round of nauplii is worth to those whose diet wants them.
    """
    room, lacks, since = drawn.room, tin_lacks(drawn), _first_nauplii(drawn)
    effort_g = max(room.effort_g, 1e-6)
    if not lacks:
        return effort_g
    urgent = urgencies(drawn, {BRINE_SHRIMP: since})
    each = zip(weights(drawn), fed_needs(drawn), urgent, strict=True)
    worth = [
        weight * sum(by[n.brood.name] * n.foods.get(BRINE_SHRIMP, 0.0) for n in row)
        for weight, row, by in list(each)[since:]
    ]
    wanted = [each for each in worth if each > 0.0]
    more = 2.0 * lacks * WORTH_A_SETTING * sum(wanted) / len(wanted)
    return effort_g * (1.0 + more / max(room.effort_g, 1.0))


def tin_lacks(drawn: JointRoom) -> float:
    """The share of the nauplii of all diets that the tin does not bring with a hatch a day."""
    if drawn.room.cysts is None or not drawn.room.vessels:
        return 0.0
    best_j = max((option.energy_per_g for option in _offers(drawn)), default=0.0)
    since = _first_nauplii(drawn)
    wanted_j = sum(n.foods.get(BRINE_SHRIMP, 0.0) for row in fed_needs(drawn)[since:] for n in row)
    day, holding = drawn.feedings[since : since + len(drawn.room.rounds)], drawn.room.holding
    held = sum(holding.share(day[0].at_h, r.at_h) for r in day) / len(day)
    brings_j = drawn.room.cysts.grams * best_j * held
    return max(0.0, 1.0 - brings_j / wanted_j) if wanted_j > 0.0 else 0.0


def _first_nauplii(drawn: JointRoom) -> int:
    return min((option.at_index for option in _offers(drawn)), default=drawn.rounds)


@lru_cache(maxsize=4)
def _offers(drawn: JointRoom) -> Sequence[Option]:
    """The hatches that may be set; of one room they are asked for a dozen times."""
    feedings = drawn.feedings[: drawn.rounds]
    return every_half_hour(HatchRoom(drawn.room, feedings, [], drawn.start), _NO_LOTS).options


def fed_needs(drawn: JointRoom) -> list[list[BroodNeed]]:
    """The needs of the rounds that count, none where nobody feeds."""
    return [
        row if r.fed else []
        for r, row in zip(drawn.feedings[: drawn.rounds], drawn.needs, strict=False)
    ]


def urgencies(drawn: JointRoom, since: Mapping[str, int]) -> list[dict[str, float]]:
    """By how much more each brood counts that is missing food than the mean of a round does.

    That is one over its choice where it has no other food: the smallest count the most, and those
    that will eat nauplii once there are any for less until then.
    """
    found = []
    soon = _soon(drawn, since)
    for index, row in enumerate(fed_needs(drawn)):
        choice = {n.brood.name: _choice(drawn, n, index in soon) for n in row}
        total_j = sum(n.energy_j for n in row)
        mean = sum(n.energy_j / choice[n.brood.name] for n in row) / total_j if row else 1.0
        found.append({name: 1.0 / each / mean for name, each in choice.items()})
    return found


def _soon(drawn: JointRoom, since: Mapping[str, int]) -> range:
    """The rounds at which nauplii come in a day or two, also if that is past all that is fed."""
    if not drawn.room.vessels:
        return range(0)
    first = min(since.get("brine_shrimp", len(drawn.feedings)), _first_hatched(drawn))
    if first == len(drawn.feedings):
        return range(0)
    from_h = drawn.feedings[first].at_h - SOON_H
    return range(next(r.index for r in drawn.feedings if r.at_h >= from_h), first)


@lru_cache(maxsize=4)
def _first_hatched(drawn: JointRoom) -> int:
    """The first of all rounds that a hatch may be set for; their number where there is none.

    One that counts is it where there is any: what may be set for it hangs on no later round.
    """
    every = HatchRoom(drawn.room, drawn.feedings, [], drawn.start)
    options = _offers(drawn) or every_half_hour(every, _NO_LOTS).options
    return min((option.at_index for option in options), default=len(drawn.feedings))


def _choice(drawn: JointRoom, need: BroodNeed, soon: bool) -> float:
    shrimp = next((f for f in drawn.room.foods_of(need.brood) if f.name == "brine_shrimp"), None)
    coming = 0.0
    if shrimp is not None and soon:
        coming = COMING * _stand_in(suitability(shrimp, need.brood.fry_class, need.length_mm))
    return coming / (1.0 - 0.75 * coming) + 0.01 * need.length_mm


def _stand_in(suits: float) -> float:
    return min(1.0, max(0.0, (suits - 0.1) / 0.4))


def square(share: float) -> float:
    """How much a share that is missing counts."""
    return share * share


def chorded(share: float) -> float:
    """The same in the programme, which is more."""
    return sum(
        (low + high) * min(max(share - low, 0.0), high - low) for low, high in pairwise(_CHORDS)
    )


def missed(
    drawn: JointRoom, given_j: Sequence[Mapping[str, Mapping[str, float]]],
    counts: Callable[[float], float],
) -> float:  # fmt: skip
    """What it costs that broods are given so much of each food at each round [g of cysts].

    Args:
        given_j: by round, brood and food. counts: the share of a need that is missing.
    """
    since = _since(_supplies(_Programme(), drawn))
    return sum(
        weight * _harm(need, given_j[t][need.brood.name], urgent[need.brood.name], counts)
        for t, (row, weight, urgent) in enumerate(
            zip(fed_needs(drawn), weights(drawn), urgencies(drawn, since), strict=True)
        )
        for need in row
    )


def _harm(
    need: BroodNeed, given_j: Mapping[str, float], urgent: float, counts: Callable[[float], float]
) -> float:
    """J of a brood at a round that count as unmet."""
    other = sum(
        max(0.0, want - given_j.get(food, 0.0))
        for food, want in need.foods.items()
        if food != "dry"
    )
    share = max(0.0, 1.0 - sum(given_j.values()) / need.energy_j)
    return REPLACED * other + urgent * need.energy_j * counts(share)


@define
class _Programme:
    """A programme as it is written down, row by row."""

    cost: list[float] = field(factory=list)
    upper: list[float] = field(factory=list)
    whole: list[int] = field(factory=list)
    given: dict[tuple[str, int, str], int] = field(factory=dict)
    entries: list[tuple[int, int, float]] = field(factory=list)
    high: list[float] = field(factory=list)

    def variable(self, cost: float = 0.0, upper: float = math.inf, *, whole: bool = False) -> int:
        self.cost.append(cost)
        self.upper.append(upper)
        self.whole.append(int(whole))
        return len(self.cost) - 1

    def at_most(self, terms: Mapping[int, float], high: float) -> None:
        self.entries += [(len(self.high), column, value) for column, value in terms.items()]
        self.high.append(high)

    def solve(self, *, less: float, gap: float, seconds: float) -> JointOptimum:
        """What the best plan costs, less something; looked up where it was solved before."""
        self.at_most({self.variable(-less, 1.0): -1.0}, -1.0)  # so that the gap is to what is left
        found = table().answer(self._numbers(gap), partial(self._solved, gap, seconds))
        given = dict(zip(self.given, found.given, strict=True))
        return JointOptimum(found.cost, found.bound, found.proven, given)

    def _numbers(self, gap: float) -> Iterator[object]:
        """All that the answer hangs on."""
        yield from (gap, *self.cost, "upper", *self.upper, "whole", *self.whole, "high", *self.high)
        yield from (part for entry in self.entries for part in entry)
        yield from self.given.values()

    def _solved(self, gap: float, seconds: float) -> Answer:
        rows, columns, values = zip(*self.entries, strict=True)
        matrix = coo_matrix((values, (rows, columns)), shape=(len(self.high), len(self.cost)))
        result = milp(
            np.array(self.cost),
            constraints=LinearConstraint(matrix.tocsr(), -np.inf, np.array(self.high)),
            bounds=Bounds(np.zeros(len(self.cost)), np.array(self.upper)),
            integrality=np.array(self.whole),
            options={"mip_rel_gap": gap, "time_limit": seconds},
        )
        assert result.x is not None, result.message
        given = [float(result.x[column]) for column in self.given.values()]
        return Answer(float(result.fun), float(result.mip_dual_bound), result.status == 0, given)


def solve_joint(
    drawn: JointRoom, *, less: float = 0.0, gap: float = 1e-3, seconds: float = 60.0
) -> JointOptimum:
    """The least that any plan of a room costs, less something that all do."""
    p = _Programme()
    supply = _supplies(p, drawn)
    asked: dict[tuple[str, int], Terms] = {}
    weight, since = weights(drawn), _since(supply)
    urgent = urgencies(drawn, since)
    for index, row in enumerate(fed_needs(drawn)):
        for need in row:
            most = _mouthfuls(drawn, need, index, since)
            for food, column in _eats(p, need, most, weight[index], urgent[index][need.brood.name]):
                asked.setdefault((food, index), {})[column] = 1.0
                p.given[need.brood.name, index, food] = column
    for (food, index), terms in asked.items():
        if food != "dry":
            p.at_most(terms | {c: -v for c, v in supply.get((food, index), {}).items()}, 0.0)
    return p.solve(less=less, gap=gap, seconds=seconds)


def _supplies(p: _Programme, drawn: JointRoom) -> dict[tuple[str, int], Terms]:
    """What there is of each food at each round [J]; nothing where none can be had."""
    supply: dict[tuple[str, int], Terms] = {}
    if drawn.room.vessels:
        for index, terms in enumerate(_hatches(p, drawn)):
            if terms:
                supply["brine_shrimp", index] = terms
    for culture in drawn.room.cultures:
        per_mg = culture.kind.values["energy_j_per_mg"]
        for index, taken in _culture(p, drawn, culture):
            terms = supply.setdefault((culture.kind.name, index), {})
            terms |= {column: value * per_mg for column, value in taken.items()}
    return supply


def eaten_j(
    drawn: JointRoom, rows: Sequence[Mapping[str, Mapping[str, float]]]
) -> list[dict[str, dict[str, float]]]:
    """What counts at each round of what each brood is given: no more than they take [J]."""
    since = _since(_supplies(_Programme(), drawn))
    return [
        {n.brood.name: _taken_j(drawn, n, index, since, given_j[n.brood.name]) for n in needs}
        for index, (given_j, needs) in enumerate(zip(rows, fed_needs(drawn), strict=True))
    ]


def _taken_j(
    drawn: JointRoom, need: BroodNeed, index: int, since: Mapping[str, int],
    given_j: Mapping[str, float],
) -> dict[str, float]:  # fmt: skip
    most = _mouthfuls(drawn, need, index, since)
    return {food: min(j, most[food]) for food, j in given_j.items()}


def _since(supply: Iterable[tuple[str, int]]) -> dict[str, int]:
    """The first round at which each food can be had."""
    since = {"dry": 0}
    for food, index in supply:
        since[food] = min(since.get(food, index), index)
    return since


def _mouthfuls(
    drawn: JointRoom, need: BroodNeed, index: int, since: Mapping[str, int]
) -> dict[str, float]:
    """The most that a brood may be given of each food at a round [J].

    Worms and nauplii that cannot be had yet are no part of its diet, where something else suits.
    """
    room, fry_class = drawn.room, need.brood.fry_class
    foods = {food.name: food for food in room.foods_of(need.brood)}
    suits = {name: suitability(f, fry_class, need.length_mm) for name, f in foods.items()}
    stands_in = {name: _stand_in(s) * need.energy_j for name, s in suits.items()}
    had = [food for name, food in foods.items() if since.get(name, index + 1) <= index]
    diet = diet_j(room, had, fry_class, need.length_mm, need.energy_j)
    fits = bool(diet) and all(suits[name] >= 0.1 for name in diet)
    if not fits or diet.get("dry", 0.0) > stands_in.get("dry", 0.0):
        diet = {}
    return {
        name: max(need.foods.get(name, 0.0), diet.get(name, 0.0), stands_in[name]) for name in foods
    }


def _eats(
    p: _Programme, need: BroodNeed, most: Mapping[str, float], weight: float, urgent: float
) -> list[tuple[str, int]]:
    """What a brood is given of each food at a round, and what it misses."""
    given = {name: p.variable(upper=energy_j) for name, energy_j in most.items()}
    for food, want in need.foods.items():
        if food == "dry":
            continue
        other = p.variable(REPLACED * weight)
        p.at_most({other: -1.0} | ({given[food]: -1.0} if food in given else {}), -want)
    short = [
        p.variable((low + high) * weight * urgent, (high - low) * need.energy_j)
        for low, high in pairwise(_CHORDS)
    ]
    p.at_most(dict.fromkeys([*short, *given.values()], -1.0), -need.energy_j)
    return [*given.items()]


def _hatches(p: _Programme, drawn: JointRoom) -> list[Terms]:
    """Settings with their grams; what is fed of them at each round [J]."""
    room, feedings = drawn.room, drawn.feedings[: drawn.rounds]
    count, holding = len(feedings), room.holding
    made: list[Terms] = [{} for _ in feedings]
    tin: Terms = {}
    settings, setting_g = [], a_setting_g(drawn)
    for option in _offers(drawn):
        one = p.variable(setting_g * option.effort, 1.0, whole=True)
        grams = p.variable(1.0)
        p.at_most({grams: 1.0, one: -option.most_g}, 0.0)
        p.at_most({grams: -1.0, one: room.hatch_kind.values["least_hatch_g"]}, 0.0)
        _in_steps(p, grams, option.most_g)
        made[option.at_index][grams] = -option.energy_per_g
        tin[grams] = 1.0
        settings.append((one, option))
    if tin:
        p.at_most(tin, room.cysts.grams if room.cysts is not None else 0.0)
    for vessel in {option.vessel for _, option in settings}:
        mine = [(one, o) for one, o in settings if o.vessel == vessel]
        for _, begun in mine:
            clash = {k: 1.0 for k, o in mine if o.start_h <= begun.start_h < o.end_h - 1e-9}
            if len(clash) > 1:
                p.at_most(clash, 1.0)
    fed: list[Terms] = [{} for _ in feedings]
    for m, terms in enumerate(made):
        used: Terms = {}
        harvest_h = harvest_time(room, feedings[m])
        for f in range(m, count):
            if feedings[f].at_h - harvest_h <= holding.longest_h(harvest_h) + 1e-9 and terms:
                carried = p.variable()
                used[carried] = 1.0 / holding.share(feedings[m].at_h, feedings[f].at_h)
                fed[f][carried] = 1.0
        if used:
            p.at_most(used | terms, 0.0)
    return fed


def _in_steps(p: _Programme, grams: int, most_g: float) -> None:
    """Grams are a whole number of steps, or fill the vessel."""
    steps = math.floor(most_g / _GRAM_STEP + 1e-9)
    whole, full = p.variable(upper=steps, whole=True), p.variable(upper=1.0, whole=True)
    p.at_most({full: steps, whole: -1.0}, 0.0)
    rest_g = most_g - _GRAM_STEP * steps
    for sign in (1.0, -1.0):
        p.at_most({grams: sign, whole: -sign * _GRAM_STEP, full: -sign * rest_g}, 0.0)


def _culture(p: _Programme, drawn: JointRoom, culture: Culture) -> Iterator[tuple[int, Terms]]:
    """(round, what is taken of a culture and of the children begun from it at that round [mg])."""
    room, feedings = drawn.room, drawn.feedings[: drawn.rounds]
    clock = Clock.of(
        room.series(culture.temperature_c, culture.started, feedings[-1].at.date()),
        culture.kind.rate,
    )
    model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
    begun_h = hours(room.local(culture.started, room.rounds[0].replace(hour=12, minute=0)))
    ages = [clock.days(begun_h, r.at_h) for r in feedings]
    starter_mg = culture.starter_g * culture.kind.values["starter_mg_per_g"]
    first_mg = model.grow(min(model.capacity_mg, starter_mg), 0.0, ages[0])
    stock = p.variable(upper=first_mg)
    share = culture.starter_g / culture.medium_g
    splits: Terms = {}
    given: dict[int, tuple[int, Terms]] = {}
    for index, taken in _stand(p, drawn, culture.kind, model, ages, stock, given):
        yield index, taken
    for at, feeding in enumerate(feedings[:-1]):
        child = [clock.days(feeding.at_h, r.at_h) for r in feedings[at + 1 :]]
        if not feeding.keeper or at not in given or not _ripens(model, share, child):
            continue
        start, made = p.variable(), p.variable(upper=1.0, whole=True)
        climbs, parent = given[at]
        splits[made] = 1.0
        p.at_most({made: 1.0, climbs: -1.0}, 0.0)
        p.at_most({start: 1.0, made: -share * model.capacity_mg}, 0.0)
        p.at_most({start: 1.0, **{c: -share * v for c, v in parent.items()}}, 0.0)
        later = p.variable()
        _grow(p, model, 0.0, child[0], {start: 1.0}, later)
        for index, taken in _stand(p, drawn, culture.kind, model, child, later, {}, at + 1):
            yield index, taken
    if splits:
        p.at_most(splits, culture.kind.values["splits_at_once"])


def _ripens(model: WormModel, share: float, ages: Sequence[float]) -> bool:
    fullest = share * model.capacity_mg
    return any(model.climbing(model.grow(fullest, 0.0, age), age) > 0 for age in ages)


def _stand(
    p: _Programme, drawn: JointRoom, kind: WormKind, model: WormModel, ages: Sequence[float],
    stock: int, left: dict[int, tuple[int, Terms]], first: int = 0,
) -> Iterator[tuple[int, Terms]]:  # fmt: skip
    """Carries a culture through the rounds.

    ``left`` is given, where worms climb at a round, the variable that says so and what is left.
    """
    spent = last_useful_age(model, kind.values["retire_share"])
    feedings = drawn.feedings[first : drawn.rounds]
    for offset, (feeding, age) in enumerate(zip(feedings, ages, strict=True)):
        after = {stock: 1.0}
        if feeding.fed and model.lag <= age < spent:
            climbs = p.variable(upper=1.0, whole=True)
            taken = _taken(p, kind, model, feeding, model.capacity_at(age), stock, climbs)
            after |= {column: -value for column, value in taken.items()}
            yield first + offset, taken
            left[first + offset] = climbs, after
        if offset + 1 < len(ages):
            stock = p.variable()
            _grow(p, model, age, ages[offset + 1], after, stock)


def _taken(
    p: _Programme, kind: WormKind, model: WormModel, feeding: Round, capacity: float, stock: int,
    climbs: int,
) -> Terms:  # fmt: skip
    """Worms taken at a round from a culture that climbs, in quarters and halves of swipes.

    What is left climbs too, or fills half of the medium.
    """
    most = model.harvest_share(feeding.per_day)
    step = kind.values["portion_mg"] / 4.0 if kind.medium == "solid" else 0.0
    if step:
        little, halves = p.variable(upper=6.0, whole=True), p.variable(whole=True)
        much = p.variable(upper=1.0, whole=True)
        p.at_most({little: 1.0, much: 6.0}, 6.0)
        p.at_most({halves: 1.0, much: -math.ceil(most * model.capacity_mg / step)}, 0.0)
        taken = {little: step, halves: 2.0 * step}
    else:
        taken = {p.variable(upper=model.harvestable(model.capacity_mg, feeding.per_day)): 1.0}
    p.at_most(taken | {stock: -most}, 0.0)
    if model.drawn_mg < math.inf:
        p.at_most(taken, most * model.drawn_mg)
    p.at_most(taken | {climbs: -most * model.capacity_mg}, 0.0)
    p.at_most({stock: -1.0, climbs: model.climbing_density * capacity}, 0.0)
    p.at_most(taken | {stock: -1.0, climbs: min(_KEPT, model.climbing_density) * capacity}, 0.0)
    return taken


def _grow(
    p: _Programme, model: WormModel, from_age: float, to_age: float, before: Terms, after: int
) -> None:
    """The stock at the next round is below each tangent of the curve that it grows along."""
    points = np.geomspace(1e-3, 1.0, _TANGENTS) * model.capacity_mg
    for low, high in pairwise([0.0, *points]):
        # The chord of a concave curve, moved up to touch it, is its tangent somewhere between.
        at = (low + high) / 2.0
        little = 1e-5 * model.capacity_mg
        value = model.grow(at, from_age, to_age)
        slope = (model.grow(at + little, from_age, to_age) - value) / little
        p.at_most(
            {after: 1.0, **{c: -slope * v for c, v in before.items()}}, value - slope * at + 1e-9
        )


def beyond_help(drawn: JointRoom, counts: Callable[[float], float] = chorded) -> float:
    """What unmet needs cost where all that could be brought at a round were there without end."""
    brought = set(_supplies(_Programme(), drawn))
    since = _since(brought)
    brought |= {("dry", t) for t in range(drawn.rounds)}
    rows: list[dict[str, dict[str, float]]] = [{} for _ in range(drawn.rounds)]
    for t, row in enumerate(fed_needs(drawn)):
        for need in row:
            given = {
                name: most
                for name, most in _mouthfuls(drawn, need, t, since).items()
                if (name, t) in brought
            }
            over = sum(given.values()) - need.energy_j
            for name in given:  # what the diet wants comes before what stands in for it
                less = min(max(over, 0.0), given[name] - need.foods.get(name, 0.0))
                given[name] -= less
                over -= less
            rows[t][need.brood.name] = given
    return missed(drawn, rows, counts)
