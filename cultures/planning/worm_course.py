"""Worm cultures carried through the rounds: who is harvested, by how much, and what is left.

Between two rounds the closed form of :mod:`cultures.foods.worms` is 1/N' = A / N + B with A and
B known beforehand, so a course costs one division a culture and round.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import time
from itertools import pairwise

from attrs import define, field, frozen

from cultures.foods.temperature import Clock, TemperatureSeries
from cultures.foods.worms import WormModel, last_useful_age, stock_after
from cultures.needs.need import Round
from cultures.planning.task_ids import natural
from cultures.room.room import Culture, Room
from cultures.words.moments import hours

#: Splits of one round leave a parent at least this share of the worms it had before them.
PARENT_KEEPS = 0.5
#: So many rounds apart a course is marked, so that it can be carried on from there.
_MARK_EVERY = 8
#: Up to so many quarter swipes quarters are worth while.
_QUARTERS_UP_TO = 6
#: Stock that a young culture keeps in a first pass: half its capacity, where it regrows
#: fastest (Schaefer 1954).
_KEPT_SHARE = 0.5


@frozen(eq=False)
class Split:
    """A planned start of a new culture after the feeding of a round.

    Attributes:
        parent: culture that gives the starter, or "" when one is bought.
        culture: the new culture, named. at_index: round after which it is done.
    """

    parent: str
    culture: Culture
    at_index: int


@define(eq=False)
class Stage:
    """One culture laid out along the rounds.

    Attributes:
        first: index of the first round at which it stands. start_mg: stock then, for
            cultures that stood before; the child of a split gets its own.
        carry: (A, B) from each round to the next. capacity: K at each round [mg].
        ages: of its medium at each round [physiological d]. lagging: the round lies within its
            lag. spent_from: first round at which it is spent.
        rank: how good a parent it is at each round: 0 in its best age, 1 before or after it, 2
            when the medium sours.
        rounds_a_day: rounds over which a day's harvest is divided.
        climbs_mg, keeps_mg: at each round, the stock from which worms climb (infinite before its
            lag is over and once it is spent), and what a first harvest leaves [mg].
    """

    culture: Culture
    model: WormModel
    first: int
    start_mg: float
    carry: list[tuple[float, float]] = field(repr=False)
    capacity: list[float] = field(repr=False)
    lagging: list[bool] = field(repr=False)
    rank: list[int] = field(repr=False)
    spent_from: int
    spent_h: float
    ages: list[float] = field(factory=list, repr=False)
    rounds_a_day: int = 1
    climbs_mg: list[float] = field(init=False, repr=False)
    keeps_mg: list[float] = field(init=False, repr=False)

    def __attrs_post_init__(self) -> None:
        least, ripe = self.model.climbing_density, self.spent_from - self.first
        self.climbs_mg = [
            math.inf if lagging or at >= ripe else least * capacity
            for at, (capacity, lagging) in enumerate(zip(self.capacity, self.lagging, strict=True))
        ]
        self.keeps_mg = [
            (_KEPT_SHARE if rank < 2 else least) * capacity
            for capacity, rank in zip(self.capacity, self.rank, strict=True)
        ]

    def is_ripe(self, index: int) -> bool:
        """Whether a round lies before its medium begins to sour."""
        return self.rank[index - self.first] < 2

    def recovered(self, index: int, given: Sequence[int]) -> bool:
        """Whether it may be split at a round, after the splits of the rounds ``given``."""
        mark = self.culture.mark
        before = mark.gave if mark is not None else ()
        if not before and not given:
            return True
        values = self.culture.kind.values
        since = self.ages[index - self.first] - values["recovery_days"]
        gave = [*before, *(self.ages[i - self.first] for i in given)]
        return sum(age > since for age in gave) < values["splits_at_once"]

    def harvestable(self, at: int, stock_mg: float) -> float:
        """The most that a keeper takes at a round, counted from its first [mg]."""
        if stock_mg < self.climbs_mg[at]:
            return 0.0
        return self.model.harvestable(stock_mg, self.rounds_a_day)


@frozen(eq=False)
class Harvest:
    """Worms taken from one culture at one round [mg wet]."""

    culture: str
    taken_mg: float


@define(eq=False)
class WormCourse:
    """What came of it.

    Attributes:
        harvests: for each round, the harvests made. short_mg: for each round, what was missing.
        usable: for each round, cultures that worms can be taken from.
        left: for each round, those cultures with their stocks before the splits that follow it,
            and after them [mg].
        spare_mg: for each round, what could have been taken besides, by culture; empty where
            that was not asked for.
        usable_from: first round at which worms can be taken from each culture.
        unfit: planned splits whose parent is not fit for it when the time comes.
        poor: planned splits from a parent that is not in its best age.
        stocks: what is left of each culture after the last round [mg].
        gave: rounds at which each culture was split.
        marks: stocks, unfit and poor as they were before some of the rounds.
        stage_of: the cultures by name, as they were carried last.
    """

    harvests: list[tuple[Harvest, ...]]
    short_mg: list[float]
    usable: list[int]
    left: list[tuple[dict[str, float], dict[str, float]]] = field(repr=False)
    spare_mg: list[dict[str, float]]
    usable_from: dict[str, int] = field(factory=dict)
    unfit: int = 0
    poor: int = 0
    stocks: dict[str, float] = field(factory=dict, repr=False)
    gave: dict[str, list[int]] = field(factory=dict, repr=False)
    marks: dict[int, tuple[dict[str, float], int, int]] = field(factory=dict, repr=False)
    stage_of: Mapping[str, Stage] = field(factory=dict, repr=False)
    _parents: dict[int, list[tuple[float, str]]] = field(factory=dict, init=False, repr=False)

    def given_mg(self, index: int) -> float:
        """All that is harvested for a round [mg]."""
        return sum(harvest.taken_mg for harvest in self.harvests[index])

    def parents(self, index: int) -> list[tuple[float, str]]:
        """Cultures that can be split after a round (once more, where splits are planned then), with
        stock [mg]: those in their best age first, those that sour last, of these the fullest first.
        """
        found = self._parents.get(index)
        if found is None:
            fit, stocks = self.left[index]
            ranked = []
            for name in fit:
                stage = self.stage_of[name]
                given = [i for i in self.gave.get(name, ()) if i <= index]
                if _may_give(stage, fit, stocks, index, given):
                    ranked.append((-stage.rank[index - stage.first], stocks[name], name))
            ranked.sort(reverse=True)
            found = self._parents[index] = [(stock, name) for _, stock, name in ranked]
        return found

    def head(self, index: int) -> WormCourse:
        """The course up to the last mark not after a round, to be carried on differently."""
        mark = max((i for i in self.marks if i <= index), default=0)
        stocks, unfit, poor = self.marks.get(mark, ({}, 0, 0))
        return WormCourse(
            self.harvests[:mark], self.short_mg[:mark], self.usable[:mark], self.left[:mark],
            self.spare_mg[:mark], {n: i for n, i in self.usable_from.items() if i < mark},
            unfit, poor, dict(stocks),
            {n: [i for i in given if i < mark] for n, given in self.gave.items()},
            {i: m for i, m in self.marks.items() if i <= mark},
        )  # fmt: skip


def culture_clock(room: Room, culture: Culture, feedings: Sequence[Round]) -> Clock:
    """The physiological clock of a culture where it stands."""
    last = feedings[-1].at.date() if feedings else culture.started
    series: TemperatureSeries = room.series(culture.temperature_c, culture.started, last)
    return Clock.of(series, culture.kind.rate)


def started_h(room: Room, culture: Culture) -> float:
    """Noon of the day on which a culture was started [h since the epoch]."""
    return hours(room.local(culture.started, time(12)))


def standing_stage(room: Room, culture: Culture, feedings: Sequence[Round]) -> Stage:
    """A culture that stands already, left alone from its mark (or start) to the first round."""
    clock = culture_clock(room, culture, feedings)
    model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
    if culture.mark is not None:
        begun_h, age, stock = culture.mark.at_h, culture.mark.age, culture.mark.stock_mg
    else:
        begun_h, age = started_h(room, culture), 0.0
        stock = min(model.capacity_mg, culture.starter_g * culture.kind.values["starter_mg_per_g"])
    first = next((r.index for r in feedings if r.at_h >= begun_h), len(feedings))
    if first < len(feedings):
        stock = model.grow(stock, age, age + clock.days(begun_h, feedings[first].at_h))
    return _stage(culture, model, clock, begun_h, first, stock, feedings, age=age)


def first_harvest(stage: Stage) -> int | None:
    """The first round at which a culture that is left alone gives worms, or None."""
    stock = stage.start_mg
    for index, (a, b) in enumerate([*stage.carry, (1.0, 0.0)], stage.first):
        at = index - stage.first
        if at < len(stage.ages) and stage.harvestable(at, stock) > 0.0:
            return index
        stock = 1.0 / (a / stock + b) if stock > 0.0 else 0.0
    return None


def child_stage(room: Room, split: Split, feedings: Sequence[Round]) -> Stage:
    """The child of a split; its stock is filled in when the split is made."""
    culture = split.culture
    clock = culture_clock(room, culture, feedings)
    model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
    begun_h = feedings[split.at_index].at_h
    stock = min(model.capacity_mg, culture.starter_g * culture.kind.values["starter_mg_per_g"])
    return _stage(culture, model, clock, begun_h, split.at_index, stock, feedings)


def _stage(
    culture: Culture,
    model: WormModel,
    clock: Clock,
    begun_h: float,
    first: int,
    start_mg: float,
    feedings: Sequence[Round],
    *,
    age: float = 0.0,
) -> Stage:
    ages = [age + days for days in clock.days_to(begun_h, [r.at_h for r in feedings[first:]])]
    values, sour_from = culture.kind.values, model.half_spent_age - model.souring_width
    best_from, best_until = values["parent_from_days"], values["parent_until_days"]
    spent_age = last_useful_age(model, values["retire_share"])
    spent_h = clock.when(begun_h, spent_age - age)
    if culture.lost_h is not None:
        spent_h = min(spent_h, culture.lost_h)
    return Stage(
        culture=culture,
        model=model,
        first=first,
        start_mg=start_mg,
        carry=[_carry(model, a, b) for a, b in pairwise(ages)],
        capacity=[model.capacity_at(age) for age in ages],
        lagging=[age < model.lag for age in ages],
        rank=[
            2 if age >= sour_from else 0 if best_from <= age <= best_until else 1 for age in ages
        ],
        spent_from=next((r.index for r in feedings[first:] if r.at_h >= spent_h), len(feedings)),
        spent_h=spent_h,
        ages=ages,
        rounds_a_day=feedings[0].per_day if feedings else 1,
    )


def _carry(model: WormModel, from_age: float, to_age: float) -> tuple[float, float]:
    """(A, B) of 1/N' = A / N + B between two ages; B is infinite for a finished culture."""
    start = max(from_age, min(model.lag, to_age))
    if to_age <= start:
        return 1.0, 0.0
    # N' for two stocks gives both numbers; the solution is linear in 1/N.
    one = stock_after(
        model.capacity_mg,
        from_age=start,
        to_age=to_age,
        growth_rate=model.growth_rate,
        capacity=model.capacity_mg,
        half_spent_age=model.half_spent_age,
        souring_width=model.souring_width,
    )
    if one <= 0.0:
        return 0.0, math.inf
    a = math.exp(-model.growth_rate * (to_age - start))
    return a, 1.0 / one - a / model.capacity_mg


def run_course(
    stages: Sequence[Stage],
    splits: Sequence[Split],
    demand_mg: Sequence[float],
    step_mg: float = 0.0,
    since: WormCourse | None = None,
    *,
    spare: bool = False,
    until: int | None = None,
    enough: Callable[[WormCourse], bool] = lambda _: False,
) -> WormCourse:
    """Carries the cultures of one kind through all rounds.

    At a round the worms are taken first, oldest culture first: in a first pass no culture
    that is to go on falls below half of its capacity, in a second down to where worms
    stop climbing. Then splits are made: the child gets the parent's worms in proportion to
    the starter taken, so no worm is lost or made.

    Args:
        stages: cultures by age, oldest first; children of splits among them.
        splits: planned splits. demand_mg: worms wanted at each round [mg].
        step_mg: what is taken is a multiple of this (quarter swipes, half ones of much); 0 for any
            amount [mg].
        since: the course of the first rounds, which is carried on and returned.
        spare: work out what could have been taken besides, too.
        until: rounds to be carried through, or None for all. enough: asked every few rounds
            whether the rest need not be known.
    """
    course = WormCourse([], [], [], [], []) if since is None else since
    stocks = course.stocks
    by_round: dict[int, list[Split]] = {}
    for split in sorted(splits, key=lambda s: natural(s.culture.name)):
        by_round.setdefault(split.at_index, []).append(split)
    children = {split.culture.name for split in splits}
    course.stage_of = stage_of = {stage.culture.name: stage for stage in stages}
    named = [(name, stage, stage.first) for name, stage in stage_of.items()]
    for index in range(len(course.harvests), len(demand_mg) if until is None else until):
        if index % _MARK_EVERY == 0:
            if enough(course):
                break
            course.marks[index] = dict(stocks), course.unfit, course.poor
        giving: dict[str, Stage] = {}
        limits: dict[str, float] = {}
        for name, stage, first in named:
            at = index - first
            if at < 0:
                continue
            stock = stocks.get(name)
            if at == 0 and name not in children:
                stock = stocks[name] = stage.start_mg
            elif stock is not None and at > 0:
                a, b = stage.carry[at - 1]
                stock = stocks[name] = 1.0 / (a / stock + b) if stock > 0.0 else 0.0
            if stock is not None and (limit := stage.harvestable(at, stock)) > 0.0:
                giving[name], limits[name] = stage, limit
                course.usable_from.setdefault(name, index)
        taken = _take(giving, stocks, limits, index, demand_mg[index], step_mg)
        course.harvests.append(tuple([Harvest(name, amount) for name, amount in taken.items()]))
        course.short_mg.append(max(0.0, demand_mg[index] - sum(taken.values())))
        if spare:
            course.spare_mg.append(_spare(giving, stocks, limits, taken, index))
        course.usable.append(len(giving))
        fit = after = {name: stocks[name] for name in giving}
        if index in by_round:
            _split(course, by_round[index], fit, index)
            after = {name: stocks[name] for name in giving}
        course.left.append((fit, after))
    return course


def _split(
    course: WormCourse, splits: Sequence[Split], fit: Mapping[str, float], index: int
) -> None:
    """Makes the splits that follow a round."""
    stocks, stage_of = course.stocks, course.stage_of
    for split in splits:
        if split.parent and split.parent in stocks:
            parent, given_at = stage_of[split.parent], course.gave.setdefault(split.parent, [])
            if not _may_give(parent, fit, stocks, index, given_at):
                course.unfit += 1
            course.poor += parent.rank[index - parent.first] > 0
            given_at.append(index)
            share = min(1.0, split.culture.starter_g / parent.culture.medium_g)
            given = stocks[split.parent] * share
            stocks[split.parent] -= given
            stocks[split.culture.name] = given
        else:
            stocks[split.culture.name] = stage_of[split.culture.name].start_mg


def harvest_unit_mg(amount_mg: float, quarter_mg: float) -> float:
    """What an amount of worms is measured in: quarter swipes, half ones of much [mg wet]."""
    return quarter_mg if amount_mg <= _QUARTERS_UP_TO * quarter_mg else 2.0 * quarter_mg


def _may_give(
    parent: Stage, fit: Mapping[str, float], stocks: Mapping[str, float], index: int,
    given_at: Sequence[int],
) -> bool:  # fmt: skip
    """Whether a culture can be split (again): it climbs, has recovered from earlier splits, and
    those of the same round left it enough.
    """
    name = parent.culture.name
    return (
        name in fit
        and stocks[name] >= PARENT_KEEPS * fit[name] > 0.0
        and parent.recovered(index, given_at)
    )


def _take(
    giving: Mapping[str, Stage],
    stocks: dict[str, float],
    limits: Mapping[str, float],
    index: int,
    demand: float,
    step: float,
) -> dict[str, float]:
    """Takes up to ``demand`` from the cultures that give; lowers their stocks."""
    taken: dict[str, float] = {}
    for again in (False, True):
        for name, stage in giving.items():
            if demand <= 1e-9:
                return taken
            at = index - stage.first
            before, floor = taken.get(name, 0.0), (stage.climbs_mg if again else stage.keeps_mg)[at]
            amount = min(limits[name] - before, stocks[name] - floor, demand)
            if step > 0.0 and amount > 0.0:
                whole = before + amount
                unit = harvest_unit_mg(whole, step)
                amount = unit * math.floor(whole / unit + 1e-9) - before
            if amount > 0.0:
                taken[name] = before + amount
                stocks[name] -= amount
                demand -= amount
    return taken


def _spare(
    giving: Mapping[str, Stage],
    stocks: Mapping[str, float],
    limits: Mapping[str, float],
    taken: Mapping[str, float],
    index: int,
) -> dict[str, float]:
    spare: dict[str, float] = {}
    for name, stage in giving.items():
        floor = stage.climbs_mg[index - stage.first]
        more = min(limits[name] - taken.get(name, 0.0), stocks[name] - floor)
        if more > 0.0:
            spare[name] = more
    return spare
