"""When to split which culture, so that the worms never run out.

The plan is built backwards from trouble: carry the cultures through the rounds, find the
first round that is short (or has fewer cultures in use than the keeper wants), and start
one more culture as late as still helps. Then every start that proves needless is dropped.
What people can do in a day, and what a parent stands, are limits of the kind (data).
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from itertools import accumulate, pairwise
from typing import NamedTuple

from attrs import define, evolve, field

from cultures.foods.kinds import WormKind
from cultures.foods.worms import first_harvest_age, last_useful_age
from cultures.needs.need import Round
from cultures.planning.task_ids import natural
from cultures.planning.worm_course import (
    Layouts,
    Split,
    Stage,
    WormCourse,
    child_stage,
    culture_clock,
    harvest_unit_mg,
    run_course,
)
from cultures.room.orders import RisingStock
from cultures.room.room import Culture, Room
from cultures.words.moments import hours

#: A round is short when more than this share of its demand is missing.
_TOLERANCE = 1e-6
#: Most starts of one kind in a stretch, and for each culture that stands; a room that wants
#: more is not fed by splitting.
_MOST_STARTS = 20
_MOST_FROM_ONE = 4
#: Starts that proved useless, after which no more are tried, and by how many rounds the search
#: goes on after several of them in a row.
_MOST_MISSES = 40
_LONGEST_STEP = 4
#: Moves of starts that are tried once all is planned, and to how many earlier rounds each.
_MOST_MOVES = 16
_MOVE_STEPS = 3


class Cupboard(NamedTuple):
    """Medium: how much there is [g], and the first round by which more of it can be had.

    ``parcels``: by which rounds before that how much more comes [g], which was ordered.
    """

    grams: float
    until: int
    parcels: tuple[tuple[float, float], ...] = ()


_PLENTY = Cupboard(math.inf, 0)
#: Splits that cannot be made, spare cultures and worms missing, splits from a poor parent.
_Score = tuple[int, int, float, int]


@define(eq=False)
class WormPlan:
    """The course of one kind with the splits that were planned for it.

    Attributes:
        demand_mg: asked for at each round. wanted_mg: what would be if worms had no price.
        prices: of the worms at each round (:mod:`cultures.planning.rations`).
    """

    kind: WormKind
    stages: list[Stage]
    splits: list[Split]
    course: WormCourse
    demand_mg: list[float] = field(repr=False)
    wanted_mg: Sequence[float] = field(repr=False)
    prices: Sequence[float] = field(repr=False)

    def given_j(self, index: int) -> float:
        """Energy of all worms that are harvested for a round [J]."""
        return self.course.given_mg(index) * self.kind.fed_j_per_mg

    def each_j(self) -> list[float]:
        """The same of each round [J]."""
        return [mg * self.kind.fed_j_per_mg for mg in self.course.each_mg()]

    def head(self, rounds: int) -> WormPlan:
        """What stands of it for its first rounds, among all its stages."""
        return evolve(
            self, splits=[split for split in self.splits if split.at_index < rounds],
            course=self.course.head(rounds), demand_mg=self.demand_mg[:rounds],
            wanted_mg=self.wanted_mg[:rounds], prices=self.prices[:rounds],
        )  # fmt: skip


def plan_worms(
    room: Room,
    kind: WormKind,
    feedings: Sequence[Round],
    demand_mg: Sequence[float],
    *,
    bought: Iterable[Split] = (),
    beside: Sequence[Stage] = (),
    kept: Sequence[Split] = (),
    head: WormPlan | None = None,
    spares: Sequence[int] | None = None,
    layouts: Layouts | None = None,
    medium: Cupboard = _PLENTY,
) -> WormPlan:
    """The cultures of one kind through the rounds, with the splits that keep them going.

    Args:
        feedings: rounds from the day the room file is true at.
        demand_mg: worms wanted at each round [mg wet].
        bought: starts from starters that are still to be bought.
        beside: the cultures of the other kinds, standing and planned; they fill the shelf.
        kept: splits that are decided on. head: the plan of the rounds for which all is.
        spares: cultures to have in use at each round, where these are not those of the room:
            what is planned is for spawnings that are not certain.
        layouts: of these cultures along these rounds and maybe more.
        medium: for starts that are not kept.
    """
    layouts = layouts or Layouts(room, feedings)
    wanted = [in_swipes_mg(kind, d) for d in demand_mg]

    def planned(told: Counter[int] | None = None) -> _Planner:
        planner = _Planner(
            room, kind, feedings, wanted, [*bought], beside, kept, head, spares, layouts, medium,
            told,
        )  # fmt: skip
        planner.plan()
        return planner

    # What was told came of a search in which nothing was told. While the same search finds it
    # again it is not led elsewhere by its own telling.
    planner = planned()
    told = _told_starts(room, kind, feedings, planner.settled, certain=spares is None)
    if told.total() > planner.told_of(told):
        other = planned(told)
        if other.told_of(told) > planner.told_of(told):
            planner = other
    return WormPlan(
        kind=kind,
        stages=planner.ordered(),
        splits=sorted(planner.splits, key=lambda s: (s.at_index, s.culture.name)),
        course=planner.course,
        demand_mg=planner.demand,
        wanted_mg=planner.demand,
        prices=[0.0] * len(feedings),
    )


def _told_starts(
    room: Room, kind: WormKind, feedings: Sequence[Round], settled: int, *, certain: bool
) -> Counter[int]:
    """How many starts of a kind were told, by the round after which they are made.

    Args:
        settled: rounds for which all is decided. certain: without those for planned spawnings.
    """
    told = Counter(
        t.at for t in room.told
        if t.harvest_at is None and t.name == kind.name and not (certain and t.hoped)
    )  # fmt: skip
    return Counter({r.index: told[r.at] for r in feedings[settled:] if r.at in told})


def cupboard_of(
    room: Room, kind: WormKind, feedings: Sequence[Round], start: datetime,
    planned: Iterable[Split],
) -> Cupboard:  # fmt: skip
    """What is left to make medium of for starts of a kind beside those that are planned already.

    Args:
        start: aware, from when on more can be bought.
    """
    item = room.medium_of(kind.name)
    stock_g = room.stock_g.get(item)
    if stock_g is None:
        return _PLENTY

    def by_round(at_h: float) -> int:
        return bisect_left(feedings, at_h, key=lambda r: r.at_h)

    until = by_round(hours(room.had_at(item, start)))
    come = ((by_round(there_h), grams) for there_h, grams in room.parcels(item))
    stock = RisingStock(stock_g, tuple((index, grams) for index, grams in come if index < until))
    left = stock.used(
        (split.at_index, split.culture.bought_g) for split in planned
        if split.at_index < until and room.medium_of(split.culture.kind.name) == item
    )  # fmt: skip
    return Cupboard(left.grams, until, left.parcels)


def asked_for_more(
    room: Room, plan: WormPlan, demand_mg: Sequence[float], *, settled: int = 0
) -> WormPlan | None:
    """The cultures and splits of a plan, asked for more; None if anything gets worse by that.

    Args:
        demand_mg: wanted at each round, nowhere less than the plan was made for [mg wet].
        settled: rounds for which all is decided.
    """
    wanted = [in_swipes_mg(plan.kind, d) for d in demand_mg]
    spares = [room.spare_cultures] * len(wanted)
    before = _Wrong(plan.demand_mg, spares, settled).of(plan.course)
    wrong = _Wrong(wanted, spares, settled)

    def worse(course: WormCourse) -> bool:
        return any(new > old for new, old in zip(wrong.of(course), before, strict=True))

    both = enumerate(zip(wanted, plan.demand_mg, strict=True))
    same = next((i for i, (new, old) in both if new != old), len(wanted))
    course = run_course(
        plan.stages, plan.splits, wanted, swipe_step_mg(plan.kind), plan.course.head(same),
        enough=worse,
    )  # fmt: skip
    return None if worse(course) else evolve(plan, course=course, demand_mg=wanted)


def could_wait(
    room: Room, plan: WormPlan, split: Split, at_index: int, feedings: Sequence[Round]
) -> bool:
    """Whether nothing gets worse if a planned start is made at a later round instead."""
    wanted = plan.wanted_mg
    spares = [room.spare_cultures if any(wanted) else min(1, room.spare_cultures)] * len(wanted)

    def wrong(made: Split) -> tuple[int, int, float]:
        stage = child_stage(room, made, feedings[: len(wanted)])
        stages = [stage if s.culture.name == made.culture.name else s for s in plan.stages]
        splits = [made if s is split else s for s in plan.splits]
        course = run_course(stages, splits, wanted, swipe_step_mg(plan.kind))
        return _Wrong(wanted, spares, 0).of(course)

    day = feedings[at_index].at.date()
    later = Split(split.parent, evolve(split.culture, started=day), at_index)
    return wrong(later) <= wrong(split)


def _trouble(
    course: WormCourse, demand_mg: Sequence[float], spares: Sequence[int], index: int
) -> tuple[float, int]:
    """(worms missing, spare cultures missing) at a round."""
    short = course.short_mg[index]
    if short <= _TOLERANCE * max(1.0, demand_mg[index]):
        short = 0.0
    return short, max(0, spares[index] - course.usable[index])


@define
class _Wrong:
    """What is wrong with a course from a round on, added up as it is carried through."""

    demand_mg: Sequence[float]
    spares: Sequence[int]
    at: int
    short_mg: float = 0.0
    fewer: int = 0

    def of(self, course: WormCourse) -> tuple[int, int, float]:
        """(splits that cannot be made, spare cultures missing, worms missing) up to its end."""
        for index in range(self.at, len(course.harvests)):
            short_mg, fewer = _trouble(course, self.demand_mg, self.spares, index)
            self.short_mg, self.fewer = self.short_mg + short_mg, self.fewer + fewer
        self.at = max(self.at, len(course.harvests))
        return course.unfit, self.fewer, round(self.short_mg, 6)


def swipe_step_mg(kind: WormKind) -> float:
    """Worms in a quarter swipe, the step in which a solid culture is harvested; 0 for liquids."""
    return kind.values["portion_mg"] / 4.0 if kind.medium == "solid" else 0.0


def in_swipes_mg(kind: WormKind, demand_mg: float) -> float:
    """A demand rounded up to what a keeper can take: half swipes, quarters of a small amount."""
    step = swipe_step_mg(kind)
    if step <= 0.0 or demand_mg <= 0.0:
        return demand_mg
    step = harvest_unit_mg(demand_mg, step)
    return step * math.ceil(demand_mg / step - 1e-9)


class _Planner:
    def __init__(
        self, room: Room, kind: WormKind, feedings: Sequence[Round], demand: list[float],
        bought: list[Split], beside: Sequence[Stage], kept: Sequence[Split],
        head: WormPlan | None, spares: Sequence[int] | None, layouts: Layouts,
        medium: Cupboard, told: Counter[int] | None = None,
    ) -> None:  # fmt: skip
        self.room, self.kind, self.feedings, self.demand = room, kind, feedings, demand
        own = [c for c in room.cultures if c.kind.name == kind.name]
        self.layouts, self.medium = layouts, medium
        self.stages: dict[str, Stage] = {c.name: layouts.standing(c) for c in own}
        self.standing = len(own)
        self.settled = len(head.demand_mg) if head is not None else 0
        self.kept = tuple(s.culture.name for s in (*bought, *kept))
        self.splits: list[Split] = [*bought, *kept]
        for split in self.splits:
            self.stages[split.culture.name] = layouts.child(split)
        self.used_names = {c.name for c in room.cultures}.union(self.kept, room.gone)
        self.used_names.update(stage.culture.name for stage in beside)
        usual = room.spare_cultures if any(demand) else min(1, room.spare_cultures)
        self.wanted_spares = [usual] * len(demand) if spares is None else spares
        self.beside = beside
        self.told = told or Counter[int]()
        self.fits: list[bool] | None = None
        since = head.course.head(self.settled) if head is not None else None
        self.course = run_course(self.ordered(), self.splits, demand, self.step, since)

    def ordered(self) -> list[Stage]:
        """Oldest in body first: those that will be spent soonest."""
        return sorted(self.stages.values(), key=lambda s: (s.spent_h, s.culture.name))

    def run(
        self, first: int, *, until: int | None = None,
        enough: Callable[[WormCourse], bool] = lambda _: False,
    ) -> WormCourse:  # fmt: skip
        """The course with the splits as they are now, of which none before a round is new."""
        return run_course(
            self.ordered(), self.splits, self.demand, self.step, self.course.head(first),
            until=until, enough=enough,
        )  # fmt: skip

    def improved(self, first: int, since: int, before: _Score, *, as_good: bool = False) -> bool:
        """Carries the course on from a round, and keeps it if less is wrong than before.

        Args:
            since: the round from which it counts. as_good: no more being wrong does, too.
        """
        wrong = _Wrong(self.demand, self.wanted_spares, since)
        # What is wrong only grows along the rounds, so that the rest need not be known.
        course = self.run(first, enough=lambda course: wrong.of(course) > before)
        score = *wrong.of(course), course.poor
        better = score < before or (as_good and score == before)
        if better:
            self.course = course
        return better

    @property
    def step(self) -> float:
        """The step in which this kind is harvested [mg]."""
        return swipe_step_mg(self.kind)

    def trouble(self, index: int) -> tuple[float, int]:
        """(worms missing, spare cultures missing) at a round."""
        return _trouble(self.course, self.demand, self.wanted_spares, index)

    def plan(self) -> None:
        # Rounds at the head that are over, or at which nobody is there, ask for nothing.
        start = next((r.index for r in self.feedings if r.fed or r.keeper), len(self.feedings))
        start = first = max(start, self.settled)
        tries, misses, step = 0, 0, 1
        most = max(_MOST_STARTS, _MOST_FROM_ONE * self.standing)
        while start < len(self.feedings) and tries < most and misses < _MOST_MISSES:
            index = next(
                (i for i in range(start, len(self.feedings)) if any(self.trouble(i))), None
            )
            if index is None:
                break
            self.fits = self._fits()
            early = self._early_enough(index)
            if not early and (ripening := self._next_ripe(index)) is not None:
                start = ripening  # one that stands already helps sooner than any started now
                continue
            before = self._score(first)
            added = self._add(early)
            if added is None:
                break  # no culture can be split any more
            if not self.improved(added.at_index, first, before):
                self._remove(added)
                # What did not help one round seldom helps the next.
                misses, start, step = misses + 1, index + step, min(2 * step, _LONGEST_STEP)
                continue
            tries, step = tries + 1, 1
            if any(self.trouble(index)):
                # Nothing started now helps any sooner.
                start = max(start, self.course.usable_from[added.culture.name])
        self._prune()
        self._gather()
        self._renumber()

    def _score(self, index: int) -> _Score:
        """What is wrong from a round on; smaller is better.

        First splits that cannot be made, since an earlier one weakens their parent too much; then
        spare cultures, since a kind of which the last one dies is gone; last splits from a parent
        that is not in its best age.
        """
        wrong = _Wrong(self.demand, self.wanted_spares, index)
        return *wrong.of(self.course), self.course.poor

    def _add(self, early: list[int]) -> Split | None:
        """One more culture, as late as is ``early`` enough, else such that it is ripe the soonest;
        from a parent that sours only where that is sooner.
        """
        if early:
            return self._start_at(self._preferred(early))
        last, soonest = len(self.feedings) - 1, []
        for worst in (1, 2):
            rounds = (i for i in range(self.settled, last + 1) if self._may_split(i, worst))
            at = next(rounds, None)
            if at is not None and self._gives_at(at, last, lasting=False):
                soonest.append(at)
        return self._start_at(min(soonest, key=self._ripe_h)) if soonest else None

    def _ripe_h(self, at: int) -> float:
        """When a culture started at a round from its best parent is ripe [h since the epoch]."""
        ripe, culture = self._ripe_age(at)
        clock = culture_clock(self.room, culture, self.feedings)
        return clock.growing.when(self.feedings[at].at_h, ripe)

    def _ripe_age(self, at: int) -> tuple[float, Culture]:
        """At what age a culture started at a round is ripe, and its best parent."""
        stock, name = self.course.parents(at)[0]
        culture = self.stages[name].culture
        starter = stock * min(1.0, culture.starter_g / culture.medium_g)
        return first_harvest_age(self.stages[name].model, starter), culture

    def _next_ripe(self, index: int) -> int | None:
        """When the next of the cultures that stand at a round, and give nothing yet, is ripe."""
        ripe = self.course.usable_from
        coming = [
            ripe[name]
            for name, stage in self.stages.items()
            if stage.first <= index < ripe.get(name, -1)
        ]
        return min(coming, default=None)

    def _early_enough(self, index: int) -> list[int]:
        """The rounds from which a culture is ripe by ``index``, of the last week that has any.

        The last round comes first. A parent that is not in its best age is taken where there is
        no other, and one that sours last.
        """
        found: list[int] = []
        for worst in (0, 1, 2):
            for i in range(index - 1, self.settled - 1, -1):
                if found and self.feedings[found[0]].at_h - self.feedings[i].at_h > 7 * 24:
                    break
                if self._may_split(i, worst) and self._gives_at(i, index):
                    found.append(i)
                    if not (self.room.split_weekdays or self.told):
                        break
            if found:
                break
        return found

    def _start_at(self, at: int) -> Split:
        """A start from the best parent after a round."""
        parent = self.course.parents(at)[0][1]
        model = self.stages[parent].culture
        split = Split(
            parent,
            evolve(model, name=self._new_name(), started=self.feedings[at].at.date(), mark=None),
            at,
        )
        self.splits.append(split)
        self.stages[split.culture.name] = self.layouts.child(split)
        return split

    def _may_split(self, index: int, worst: int = 1) -> bool:
        """Whether a culture can be started at a round, from a parent of at worst this rank."""
        parents = self.course.parents(index)
        if not (self.feedings[index].keeper and parents):
            return False
        stage = self.stages[parents[0][1]]
        if stage.rank_at(index) > worst:
            return False
        day = self.feedings[index].at.date()
        starts = sum(stage.culture.started == day for stage in self.stages.values())
        if starts >= self.kind.values["splits_a_day"]:
            return False
        if not self._has_medium(index, stage.culture.bought_g):
            return False
        skipped = self.room.not_before.get(self.kind.name)
        if skipped is not None and self.feedings[index].at < skipped:
            return False
        return self.fits is None or self._has_room(index, self.fits)

    def _has_medium(self, index: int, bought_g: float) -> bool:
        """Whether the cupboard holds medium for one more start at a round, or more can be had."""
        left_g, until, parcels = self.medium
        if index >= until:
            return True
        new = [(index, bought_g)]
        new += [(s.at_index, s.culture.bought_g) for s in self.splits
                if s.at_index < until and s.culture.name not in self.kept]  # fmt: skip
        for end in (*(at for at, _ in parcels if at > index), until):
            there_g = left_g + sum(grams for at, grams in parcels if at < end)
            if sum(grams for at, grams in new if at < end) > there_g + 1e-6:
                return False
        return True

    def _preferred(self, indices: list[int]) -> int:
        """The latest of the rounds, or the latest on a preferred weekday.

        One at which a split was told goes before both.
        """
        told, days = self._told_still(), self.room.split_weekdays
        preferred = (i for i in indices if self.feedings[i].at.weekday() in days)
        return next((i for i in indices if i in told), next(preferred, indices[0]))

    def _gives_at(self, at: int, index: int, *, lasting: bool = True) -> bool:
        """Whether a culture started at a round from its best parent is ripe at another; and not
        spent by then, if it is to be ``lasting``.
        """
        ripe, culture = self._ripe_age(at)
        begun_h, wanted_h = self.feedings[at].at_h, self.feedings[index].at_h
        clock = culture_clock(self.room, culture, self.feedings)
        if ripe > clock.growing.days(begun_h, wanted_h):
            return False
        return not lasting or clock.days(begun_h, wanted_h) < self._spent_age(culture.name)

    def _spent_age(self, name: str) -> float:
        return last_useful_age(self.stages[name].model, self.kind.values["retire_share"])

    def _fits(self) -> list[bool] | None:
        """For each round whether the shelf has room for one more; None without a limit."""
        if self.room.shelf is None:
            return None
        last = len(self.feedings)
        changes = [0] * (last + 1)
        for stage in (*self.beside, *self.stages.values()):
            changes[min(stage.first, last)] += 1
            changes[min(stage.spent_from, last)] -= 1
        return [standing < self.room.shelf for standing in accumulate(changes[:-1])]

    def _has_room(self, at: int, fits: Sequence[bool]) -> bool:
        """Whether the shelf has room for a culture started at a round, as long as it lasts."""
        culture = self.stages[self.course.parents(at)[0][1]].culture
        clock = culture_clock(self.room, culture, self.feedings)
        spent_h = clock.when(self.feedings[at].at_h, self._spent_age(culture.name))
        end = bisect_left(self.feedings, spent_h, key=lambda r: r.at_h)
        return all(fits[at:end])

    def _new_name(self) -> str:
        """The next number after the kind's prefix that none has or had, as the keeper writes it."""
        pattern = re.compile(rf"^{re.escape(self.kind.prefix)}-?(\d+)$")
        numbers = [int(m[1]) for m in map(pattern.match, self.used_names) if m]
        number = max(numbers, default=0) + 1
        name = f"{self.kind.prefix}-{number}"
        self.used_names.add(name)
        return name

    def _remove(self, split: Split) -> None:
        self.splits.remove(split)
        del self.stages[split.culture.name]
        self.used_names.discard(split.culture.name)

    def _prune(self) -> None:
        """Drops starts without which nothing gets worse, latest first."""
        for split in sorted(self.splits, key=lambda s: -s.at_index):
            name = split.culture.name
            if name in self.kept or any(other.parent == name for other in self.splits):
                continue
            before = self._score(self.settled)
            stage = self.stages.pop(split.culture.name)
            self.splits.remove(split)
            if self.improved(split.at_index, self.settled, before, as_good=True):
                self.used_names.discard(name)
            else:
                self.splits.append(split)
                self.stages[split.culture.name] = stage

    def _gather(self) -> None:
        """Tries one earlier start in place of one or two, as long as that helps or saves one.

        A start as late as it may be gives just enough for the first short round; an earlier
        one, grown larger by then, may do for two.
        """
        tries, better = _MOST_MOVES, True
        while better and tries > 0:
            better = False
            for dropped in self._movable():
                for at in self._earlier(dropped):
                    tries -= 1
                    if tries >= 0 and self._replaced(dropped, at):
                        better = True
                        break
                if better or tries <= 0:
                    break

    def _movable(self) -> list[tuple[Split, ...]]:
        """Starts to be given up for an earlier one: two neighbours, or one."""
        parents = {split.parent for split in self.splits}
        free = [
            split
            for split in sorted(self.splits, key=lambda s: (s.at_index, natural(s.culture.name)))
            if split.culture.name not in self.kept and split.culture.name not in parents
        ]
        single = [(split,) for split in free] if any(self._score(self.settled)) else []
        return [*pairwise(free), *single]

    def told_of(self, told: Counter[int]) -> int:
        """How many of the starts that were told are in the plan."""
        return (told & self._starts()).total()

    def _starts(self) -> Counter[int]:
        return Counter(s.at_index for s in self.splits if s.parent)

    def _told_still(self) -> set[int]:
        """Rounds of splits that were told, of which not as many are in the plan yet."""
        return set(self.told - self._starts())

    def _earlier(self, dropped: Sequence[Split]) -> list[int]:
        """Some rounds before the first of some starts at which one could be made instead."""
        first = min(split.at_index for split in dropped)
        rounds = range(self.settled, first + 1)
        best = [i for i in rounds if self._may_split(i, 0)]
        able = best or [i for i in rounds if self._may_split(i)]
        picked = {able[len(able) * k // _MOVE_STEPS] for k in range(_MOVE_STEPS)} if able else set()
        told = sorted(self._told_still().intersection(able), reverse=True)
        return [*told, *sorted(picked.difference(told), reverse=True)]

    def _replaced(self, dropped: Sequence[Split], at: int) -> bool:
        """Replaces some starts by one; takes it back unless less is wrong, or fewer are made."""
        before = self._score(self.settled)
        saved = list(self.splits), dict(self.stages), self.course, set(self.used_names)
        for split in dropped:
            self._remove(split)
        self.course = self.run(at, until=at + 1)
        if self._may_split(at):
            self._start_at(at)
            if self.improved(at, self.settled, before, as_good=len(dropped) > 1):
                return True
        self.splits, self.stages, self.course, self.used_names = saved
        return False

    def _renumber(self) -> None:
        """Names the new cultures in the order in which they are started."""
        planned = sorted(
            (s for s in self.splits if s.culture.name not in self.kept),
            key=lambda s: (s.at_index, natural(s.culture.name)),
        )
        self.used_names.difference_update(s.culture.name for s in planned)
        rename = {s.culture.name: self._new_name() for s in planned}
        if all(old == new for old, new in rename.items()):
            return
        self.splits = [split.renamed(rename) for split in self.splits]
        for old in rename:
            del self.stages[old]
        for split in self.splits:
            if split.culture.name not in self.kept:
                self.stages[split.culture.name] = self.layouts.child(split)
        self.course = self.run(self.settled)
