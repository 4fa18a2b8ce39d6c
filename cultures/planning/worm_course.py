"""Worm cultures carried through the rounds: who is harvested, by how much, and what is left.

Between two rounds the closed form of :mod:`cultures.foods.worms` is N' = N / (a + c N) with a and
c known beforehand, so a course costs one division a culture and round.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Hashable, Mapping, Sequence
from copy import copy
from datetime import date, time
from itertools import pairwise
from typing import NamedTuple

from attrs import define, evolve, field, frozen

from cultures.foods.souring import CultureClock
from cultures.foods.worms import GrowthStep, WormModel, last_useful_age, through
from cultures.needs.need import Round
from cultures.planning.task_ids import natural
from cultures.room.room import Culture, CultureMark, Room
from cultures.words.moments import hours

#: Splits of one round leave a parent at least this share of the worms it had before them.
PARENT_KEEPS = 0.5
#: So many rounds apart a course is marked, so that it can be carried on from there.
_MARK_EVERY = 8
#: Up to so many quarter swipes quarters are worth while.
_QUARTERS_UP_TO = 6
#: Of so many rounds of children at most the layout is kept.
_MOST_LAID = 100_000
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

    def renamed(self, names: Mapping[str, str]) -> Split:
        """The same among cultures of which some have other names."""
        name = self.culture.name
        culture = evolve(self.culture, name=names.get(name, name))
        return Split(names.get(self.parent, self.parent), culture, self.at_index)


@define(eq=False)
class Stage:
    """One culture laid out along the rounds, as long as it lasts.

    Attributes:
        first: index of the first round at which it stands. start_mg: stock then, for
            cultures that stood before; the child of a split gets its own.
        ages: of its medium at each round [physiological d]. steps: of growth, from one to the next.
        climbs_mg, keeps_mg: at each round, the stock from which worms climb (infinite before its
            lag is over), and what a first harvest leaves [mg].
        rank: how good a parent it is at each round: 0 in its best age, 1 before or after it, 2
            when the medium sours.
        spent_from: first round at which it is spent, with nothing known of it any more.
        takes: the most that is taken at each round, as a share of what climbs or may be drawn.
    """

    culture: Culture
    model: WormModel
    first: int
    start_mg: float
    ages: Sequence[float] = field(repr=False)
    steps: Sequence[GrowthStep] = field(repr=False)
    climbs_mg: Sequence[float] = field(repr=False)
    keeps_mg: Sequence[float] = field(repr=False)
    rank: Sequence[int] = field(repr=False)
    takes: Sequence[float] = field(repr=False)
    spent_from: int
    spent_h: float

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

    def rank_at(self, index: int) -> int:
        """How good a parent it is at a round; one that is spent as bad as one that sours."""
        return self.rank[index - self.first] if index < self.spent_from else 2


class Harvest(NamedTuple):
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
        stocks: what is left of each culture after the last round, of one that is spent after its
            own last [mg].
        gave: rounds at which each culture was split.
        marks: stocks, unfit and poor as they were before some of the rounds.
        stage_of: the cultures by name, as they were carried last.
    """

    harvests: list[tuple[Harvest, ...]] = field(factory=list)
    short_mg: list[float] = field(factory=list)
    usable: list[int] = field(factory=list)
    left: list[tuple[dict[str, float], dict[str, float]]] = field(factory=list, repr=False)
    spare_mg: list[dict[str, float]] = field(factory=list)
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

    def each_mg(self) -> list[float]:
        """The same of each round that it was carried through [mg]."""
        return [self.given_mg(index) for index in range(len(self.harvests))]

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
                    ranked.append((-stage.rank_at(index), stocks[name], name))
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


def culture_clock(room: Room, culture: Culture, feedings: Sequence[Round]) -> CultureClock:
    """The physiological clocks of a culture where it stands."""
    return clock_until(room, culture, feedings[-1].at.date() if feedings else culture.started)


def clock_until(room: Room, culture: Culture, last: date) -> CultureClock:
    """The same, with the temperatures up to a day."""
    series = room.series(culture.temperature_c, culture.started, last)
    return CultureClock.of(series, culture.kind)


def started_h(room: Room, culture: Culture) -> float:
    """Noon of the day on which a culture was started [h since the epoch]."""
    return hours(room.local(culture.started, time(12)))


def standing_stage(room: Room, culture: Culture, feedings: Sequence[Round]) -> Stage:
    """A culture that stands already, left alone from its mark (or start) to the first round."""
    mark = culture.mark or CultureMark(started_h(room, culture), 0.0, _first_mg(culture))
    first = next((r.index for r in feedings if r.at_h >= mark.at_h), len(feedings))
    stage = _stage(room, culture, mark, first, feedings)
    if first < len(feedings):
        clock, to_h = culture_clock(room, culture, feedings), feedings[first].at_h
        to_age, pace = mark.age + clock.days(mark.at_h, to_h), clock.pace(mark.at_h, to_h)
        stage.start_mg = stage.model.grow(mark.stock_mg, mark.age, to_age, pace)
    return stage


def first_harvest(stage: Stage) -> int | None:
    """The first round at which a culture that is left alone gives worms, or None."""
    stock = stage.start_mg
    for at, climbs_mg in enumerate(stage.climbs_mg):
        if at > 0:
            stock = through(stage.steps[at - 1], stock)
        if stock >= climbs_mg and stock > 0.0:
            return stage.first + at
    return None


def child_stage(room: Room, split: Split, feedings: Sequence[Round]) -> Stage:
    """The child of a split; its stock is filled in when the split is made."""
    begun = CultureMark(feedings[split.at_index].at_h, 0.0, _first_mg(split.culture))
    return _stage(room, split.culture, begun, split.at_index, feedings)


def _first_mg(culture: Culture) -> float:
    """The worms with which a culture begins [mg wet]: those of its starter, as it carries them."""
    return min(culture.model().capacity_mg, culture.starter_mg)


@define(eq=False)
class Layouts:
    """The cultures of a room laid out along its rounds, each once for however many plans.

    Attributes:
        room: or one that differs from it by broods, stocks and vessels only. feedings: those of
            each plan are the first of them.
    """

    room: Room
    feedings: Sequence[Round] = field(repr=False)
    _standing: dict[int, Stage] = field(factory=dict, init=False, repr=False)
    _children: dict[Hashable, Stage] = field(factory=dict, init=False, repr=False)
    _rounds: int = field(default=0, init=False)

    def standing(self, culture: Culture) -> Stage:
        """A culture that stands already: :func:`standing_stage`."""
        found = self._standing.get(id(culture))
        if found is None:  # which holds the culture, so that no other takes its id
            found = standing_stage(self.room, culture, self.feedings)
            self._standing[id(culture)] = found
        return found

    def child(self, split: Split) -> Stage:
        """The child of a split: :func:`child_stage`; the same is tried again and again under
        other names.
        """
        of = split.culture
        key = (of.kind.name, split.at_index, of.medium_g, of.surface_cm2, of.starter_g,
               of.temperature_c, of.lost_h, of.kind.as_kept)  # fmt: skip
        found = self._children.get(key)
        if found is None:
            found = child_stage(self.room, split, self.feedings)
            self._rounds += len(found.ages)
            if self._rounds > _MOST_LAID:
                self._children.clear()
                self._rounds = len(found.ages)
            self._children[key] = found
        stage = copy(found)
        stage.culture = of
        return stage


def _stage(
    room: Room, culture: Culture, mark: CultureMark, first: int, feedings: Sequence[Round]
) -> Stage:
    """A culture laid out from a round on, as it was at a moment before."""
    model, clock = culture.model(), culture_clock(room, culture, feedings)
    values, sour_from = culture.kind.values, model.half_spent_age - model.souring_width
    best_from, best_until = values["parent_from_days"], values["parent_until_days"]
    spent_h = clock.when(mark.at_h, last_useful_age(model, values["retire_share"]) - mark.age)
    if culture.lost_h is not None:
        spent_h = min(spent_h, culture.lost_h)
    spent_from = max(first, bisect_left(feedings, spent_h, key=lambda r: r.at_h))
    times_h = [r.at_h for r in feedings[first:spent_from]]
    ages = [mark.age + days for days in clock.days_to(mark.at_h, times_h)]
    rank = [2 if a >= sour_from else 0 if best_from <= a <= best_until else 1 for a in ages]
    capacity_mg = [model.capacity_at(age) for age in ages]
    least = model.climbing_density
    return Stage(
        culture=culture,
        model=model,
        first=first,
        start_mg=mark.stock_mg,
        ages=ages,
        steps=[
            model.step(before, after, pace)
            for (before, after), pace in zip(pairwise(ages), clock.paces(times_h), strict=True)
        ],
        climbs_mg=[
            least * carries_mg if age >= model.lag else math.inf
            for age, carries_mg in zip(ages, capacity_mg, strict=True)
        ],
        keeps_mg=[
            (_KEPT_SHARE if of < 2 else least) * carries_mg
            for of, carries_mg in zip(rank, capacity_mg, strict=True)
        ],
        rank=rank,
        takes=[model.harvest_share(r.per_day) for r in feedings[first:spent_from]],
        spent_from=spent_from,
        spent_h=spent_h,
    )


#: A stage with its name, first round and end, and of at most how much its share is taken [mg].
_Carried = tuple[str, Stage, int, int, float]


def _carried(stage: Stage) -> _Carried:
    return stage.culture.name, stage, stage.first, stage.spent_from, stage.model.drawn_mg


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
    course = WormCourse() if since is None else since
    stocks = course.stocks
    by_round: dict[int, list[Split]] = {}
    for split in sorted(splits, key=lambda s: natural(s.culture.name)):
        by_round.setdefault(split.at_index, []).append(split)
    children = {split.culture.name for split in splits}
    course.stage_of = {stage.culture.name: stage for stage in stages}
    lasting: list[_Carried] = [_carried(stage) for stage in stages]
    for index in range(len(course.harvests), len(demand_mg) if until is None else until):
        if index % _MARK_EVERY == 0:
            if enough(course):
                break
            course.marks[index] = dict(stocks), course.unfit, course.poor
            lasting = [of for of in lasting if of[3] > index or of[2] == index]
        giving: dict[str, Stage] = {}
        limits: dict[str, float] = {}
        for name, stage, first, end, drawn_mg in lasting:
            at = index - first
            if at == 0 and name not in children:
                stocks[name] = stage.start_mg
            if at < 0 or index >= end or name not in stocks:
                continue
            stock = stocks[name]
            if at > 0:
                a, c = stage.steps[at - 1]
                stock = stocks[name] = stock / (a + c * stock) if stock > 0.0 else 0.0
            if stock >= stage.climbs_mg[at] and stock > 0.0:
                giving[name], limits[name] = stage, stage.takes[at] * min(stock, drawn_mg)
                course.usable_from.setdefault(name, index)
        wanted_mg = demand_mg[index]
        taken = _take(giving, stocks, limits, index, wanted_mg, step_mg) if wanted_mg else {}
        course.harvests.append(tuple([Harvest(*of) for of in taken.items()]))
        course.short_mg.append(max(0.0, wanted_mg - sum(taken.values())))
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
            course.poor += parent.rank_at(index) > 0
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
            floor = (stage.climbs_mg if again else stage.keeps_mg)[index - stage.first]
            # Compared one by one, since min() of three takes longer and this is done most often.
            before = taken.get(name, 0.0)
            amount, there = limits[name] - before, stocks[name] - floor
            if there < amount:
                amount = there
            if demand < amount:
                amount = demand
            if amount <= 0.0:
                continue
            if step > 0.0:
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
