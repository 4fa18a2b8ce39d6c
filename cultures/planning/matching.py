"""Matches the needs of one stretch with what cultures, hatches and the dry tin can give.

Foods are planned from the smallest mouthful up. What one food cannot bring moves to
another that the mouth takes, before anything is called short. Scarce worms go to those who
can eat nothing else (:mod:`cultures.planning.rations`), and so do scarce nauplii.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Container, Hashable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from attrs import define, evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.needs.need import Round, RoundNeeds
from cultures.planning.harvests import Chosen, Decided, HatchPlan, feed
from cultures.planning.hatch_options import HatchOptions
from cultures.planning.hatch_plan import plan_hatches
from cultures.planning.kept_back import kept_back
from cultures.planning.lots import Option
from cultures.planning.prices import Want, asked_at
from cultures.planning.rations import Rations
from cultures.planning.servings import Served, Serving, Suits, SuitsMemo
from cultures.planning.settings_anew import SettingsAnew
from cultures.planning.shared_tin import lacking
from cultures.planning.sharing import (
    diet_of,
    divide,
    dry_bought_from,
    dry_left_j,
    dry_parcels_j,
    flat,
    give_dry,
    lean_on,
    open_wants,
    pass_on,
    share,
    share_out,
    take_back,
    wants_of,
)
from cultures.planning.split_plan import (
    WormPlan,
    asked_for_more,
    cupboard_of,
    plan_worms,
)
from cultures.planning.stretches import hatched_rounds
from cultures.planning.whole_cost import WholeCost
from cultures.planning.worm_course import Layouts, Split, Stage
from cultures.room.room import Room

#: A food of which some brood lacks more than this share of its need is shared once more.
_CRUMB = 0.01
#: and that is begun so long before the first such round [h].
_BEFORE_H = 14 * 24.0
#: So often foods are shared anew at most.
_GOES = 3
#: Settings are tried otherwise so often at most, in stretches of so many servings, and fewer times
#: where that would be so many servings in all.
_MOST_SETTINGS, _NOT_LARGE, _MOST_SERVED = 16, 1000, 2000
#: and made otherwise where that saves this part of what a setting counts.
_LEAST = 0.05
#: Less than this share of what is needed in a day is hardly anything.
HARDLY = 0.1
#: What is wanted of a food by each brood, by round.
_Wants = Sequence[Sequence[Sequence[Want]]]
#: Worm plans by kind, demand and bought starts, all of the same room and rounds.
WormMemo = dict[tuple[Hashable, ...], WormPlan]


@define(eq=False)
class FeedingPlan:
    """Servings by round, and the plans of the foods behind them.

    Attributes:
        servings: none at the rounds at the end that only worms are planned for. later: of those,
            with nauplii as far as they were met before. suits: what is known of how well foods
            suit.
    """

    feedings: Sequence[Round]
    servings: Served
    worms: dict[str, WormPlan]
    hatches: HatchPlan
    suits: SuitsMemo = field(factory=dict, repr=False)
    later: Served = field(default=(), repr=False)


@frozen(eq=False)
class Settled:
    """What earlier stretches have decided.

    Attributes:
        rounds: for how many rounds. rows: their servings. nauplii_j: given at them [J].
        worms: the plans of worms that these come from, by kind; of their splits those before
            ``rounds`` stand. hatches: what is decided of the hatches.
    """

    rounds: int = 0
    rows: Served = ()
    nauplii_j: Sequence[float] = ()
    worms: Mapping[str, WormPlan] = field(factory=dict)
    hatches: Decided = field(factory=Decided)

    @classmethod
    def of(cls, plan: FeedingPlan, rounds: int) -> Settled:
        """What a plan has decided for its first rounds."""
        return cls(
            rounds, plan.servings[:rounds], plan.hatches.given_j[:rounds],
            {name: worms.head(rounds) for name, worms in plan.worms.items()},
            plan.hatches.decided(rounds, plan.feedings[rounds - 1].at_h),
        )  # fmt: skip


@frozen(eq=False)
class Basis:
    """What every stretch of a plan is made with.

    Attributes:
        ahead: how far a round is looked past. bought: starters that come, by kind. offers: the
            hatches that can be set for all rounds. memo: worm plans that are known, looked up and
            added to.
    """

    room: Room
    start: datetime
    ahead: timedelta
    suits: Suits
    bought: Mapping[str, Sequence[Split]]
    layouts: Layouts
    offers: HatchOptions
    memo: WormMemo = field(factory=dict)


def plan_stretch(
    basis: Basis, feedings: Sequence[Round], needs: RoundNeeds, settled: Settled
) -> FeedingPlan:
    """Plans all foods up to the end of a stretch, after what is settled."""
    found = _Matching.of(basis, feedings, needs, settled)
    found.plan()
    found.share_anew()
    return found.set_anew().result()


def reshared(
    basis: Basis, plan: FeedingPlan, feedings: Sequence[Round], needs: RoundNeeds,
    foods: Container[str], added: str = "",
) -> FeedingPlan:  # fmt: skip
    """A plan with some foods shared anew around what is missing, and all others held as they are.

    It is carried out in the room as it is, so it promises no more than that room can give.

    Args:
        plan: of rounds at the same times. needs: by round, for those at which somebody feeds only
            now. foods: worms of the cultures that are planned, nauplii of hatches that are
            planned anew; dry food always. added: the kind of which all cultures are planned anew.
    """
    found = _Matching.of(basis, feedings, [[] for _ in feedings], Settled())
    found.worms = dict(plan.worms)
    every = [*plan.servings[: len(feedings) - len(plan.later)], *plan.later]
    found.servings = [
        [Serving(s.need, s.want_j, {**s.given_j}, s.dry_out_j) for s in row]
        if before.fed or not now.fed else [Serving(n, basis.suits.diet(n, now.index)) for n in new]
        for before, now, row, new in zip(plan.feedings, feedings, every, needs, strict=True)
    ]  # fmt: skip
    found.hatches = plan.hatches
    found.reshare(foods, added)
    return found.result()


def hungry_rounds(room: Room, rows: Iterable[Sequence[Serving]]) -> int:
    """At how many rounds broods got hardly anything for a day, each counted: as many rounds as
    the last day of these has.
    """
    found, over_j = 0, dict[str, deque[float]]()
    most = max(map(len, room.week()))
    for row in rows:
        a_day = len(room.rounds_on(row[0].need.at.date())) if row else 0
        for serving in row:
            last = over_j.setdefault(serving.need.brood.name, deque(maxlen=most))
            last.append(sum(serving.given_j.values()) - HARDLY * serving.need.energy_j)
            found += len(last) >= a_day and sum([*last][-a_day:]) < 0.0
    return found


@define(eq=False)
class _Matching:
    """One stretch while it is planned, food after food.

    Attributes:
        servings: by round, those that are settled first. worms: plans by kind, as far as they go.
        kinds: of worms, the smallest mouthful first. dry_until: the first round that is fed of dry
            food bought now. dry_parcels_j: what was ordered of it, by the first round [J]. chosen:
            the settings, where none are to be looked for.
    """

    basis: Basis
    feedings: Sequence[Round]
    settled: Settled
    servings: list[Sequence[Serving]]
    kinds: Sequence[WormKind]
    dry_until: int
    dry_parcels_j: Sequence[tuple[int, float]]
    worms: dict[str, WormPlan] = field(factory=dict)
    hatches: HatchPlan = field(init=False)
    chosen: Chosen | None = None

    @classmethod
    def of(
        cls, basis: Basis, feedings: Sequence[Round], needs: RoundNeeds, settled: Settled
    ) -> _Matching:
        """A stretch with nothing given yet after what is settled."""
        still = zip(feedings[settled.rounds :], needs[settled.rounds :], strict=True)
        rows = [
            [Serving(need, basis.suits.diet(need, r.index)) for need in row] if r.fed else []
            for r, row in still
        ]
        kinds = sorted(basis.room.worm_kinds(), key=lambda k: (k.values["width_um"], k.name))
        dry_until = dry_bought_from(basis.room, feedings, basis.start)
        parcels_j = dry_parcels_j(basis.room, feedings)
        return cls(basis, feedings, settled, [*settled.rows, *rows], kinds, dry_until, parcels_j)

    @property
    def open_rows(self) -> list[Sequence[Serving]]:
        """Servings that are not settled yet."""
        return self.servings[self.settled.rounds :]

    def plan(self) -> None:
        """Plans one food after another."""
        room, suits = self.basis.room, self.basis.suits
        for kind in self.kinds:
            self._give_worms(kind)
            wider = [k.name for k in self.kinds if k.values["width_um"] > kind.values["width_um"]]
            others = [*wider, BRINE_SHRIMP] if room.vessels else wider
            pass_on(self.open_rows, kind.name, others, suits)
        self._give_hatches()
        self._give_dry(self.settled.rounds)
        if self._lean_on_worms():
            self._give_dry(self.settled.rounds)

    def result(self) -> FeedingPlan:
        """What was planned."""
        hatched = self._hatched()
        return FeedingPlan(
            self.feedings, [*self.servings[:hatched], *([] for _ in self.feedings[hatched:])],
            self.worms, self.hatches.padded(len(self.feedings)), self.basis.suits.known,
            self.servings[hatched:],
        )  # fmt: skip

    def _hatched(self) -> int:
        """For how many rounds hatches are planned."""
        return hatched_rounds(self.feedings, len(self.feedings), self.basis.ahead)

    def _lean_on_worms(self) -> bool:
        """Asks worms, the largest first, for what all else left open; True if any were asked."""
        leaned = False
        for kind in reversed(self.kinds):
            if not lean_on(kind.name, self.servings, self.settled.rounds, self.basis.suits):
                continue
            leaned = True
            take_back(self.open_rows, kind.name)
            self._give_worms(kind)
        return leaned

    def share_anew(self) -> None:
        """Shares every food anew around what is missing of it, now that it is known what the others
        bring; where several are lacked more than once, since each go changes what they bring.
        """
        for _ in range(_GOES):
            if self._share_each_anew() < 2:
                break

    def _share_each_anew(self) -> int:
        """Shares each food once around what is missing of it; how many are lacking."""
        foods = [*(kind.name for kind in self.kinds), BRINE_SHRIMP]
        around = {food: self._around_missing(food) for food in foods}
        for kind in self.kinds:
            if around[kind.name]:
                self._share_worms_anew(kind, around[kind.name])
        if around[BRINE_SHRIMP]:
            self._share_nauplii_anew(around[BRINE_SHRIMP])
        starts = [window.start for window in around.values() if window]
        if starts:
            self._give_dry(min(starts))
        return len(starts)

    def set_anew(self) -> _Matching:
        """The stretch, or where nauplii are lacked one whose settings cost less; but no more broods
        get hardly anything for a day for that. Where it moves what was told, what was told at least
        is tried.
        """
        since, plan = self.settled.rounds, self.hatches
        every = [option for option in plan.problem.options if option.at_index >= since]
        names = [vessel.name for vessel in self.basis.room.vessels]
        told = [(names[one.vessel], one.start_h, one.told_g) for one in every if one.own]
        first, most = self._moved(told), self._tries()
        most = max(most, 1) if first else most
        if not most:
            return self
        hungry = self._hungry()
        whole = WholeCost.at(
            self.basis.room, self.feedings[since:], self.open_rows, self.basis.suits, self._lacks()
        )

        def cost(found: _Matching) -> float:
            moved = found._moved(told)
            if found._hungry() > hungry or moved > first:
                return math.inf
            return whole.of(found.open_rows, found.hatches) + moved * whole.setting_g

        return SettingsAnew[_Matching](
            every,
            lambda found: [
                lot.option for lot in found.hatches.lots if lot.option.at_index >= since
            ],
            _Matching._with_settings,
            cost,
            _LEAST * max(whole.setting_g, 1.0),
            most,
        ).best(self)

    def _tries(self) -> int:
        """How many settings are worth trying: none of many broods, or where no nauplii lack."""
        since, suits = self.settled.rounds, self.basis.suits
        begin = max(since, suits.ripe_from[BRINE_SHRIMP])
        near = self.servings[begin : self.hatches.soon]
        served = sum(len(row) for row in self.open_rows)
        lacked = any(
            suits.lacks_j(s, BRINE_SHRIMP) > _CRUMB * s.need.energy_j for row in near for s in row
        )
        return min(_MOST_SETTINGS, _MOST_SERVED // served) if lacked and served <= _NOT_LARGE else 0

    def _moved(self, told: Sequence[tuple[str, float, float]]) -> int:
        """How many settings are not as they were told: (vessel, when, grams)."""
        made = {(b.vessel.name, b.set_h, b.cysts_g) for b in self.hatches.batches}
        return sum(one not in made for one in told)

    def _hungry(self) -> int:
        """At how many rounds broods got hardly anything for a day, each counted."""
        return hungry_rounds(self.basis.room, self.open_rows)

    def _lacks(self) -> float:
        """The share of nauplii that a tin does not bring that is shared out."""
        room, plan = self.basis.room, self.hatches
        if not plan.rationed or room.cysts is None:
            return 0.0
        diet_j = [diet_of(BRINE_SHRIMP, row) for row in self.servings[: plan.soon]]
        there_j = sum(plan.held_j[: plan.soon]) + sum(plan.problem.supply[: plan.soon])
        first = self.basis.suits.ripe_from[BRINE_SHRIMP]
        tin_g = room.tin.before(self.feedings[min(plan.soon, len(self.feedings)) - 1].at_h)
        a_day = round(room.usual_rounds())
        return lacking(plan.problem, diet_j, there_j, tin_g, a_day, first)

    def _with_settings(self, options: Sequence[Option]) -> _Matching:
        """The same with just some settings, all foods shared anew around what they bring."""
        plan, since = self.hatches, self.settled.rounds
        rows = [[Serving(s.need, s.want_j, {**s.given_j}, s.dry_out_j) for s in row]
                for row in self.open_rows]  # fmt: skip
        found = evolve(
            self, servings=[*self.servings[:since], *rows], worms={**self.worms},
            chosen=Chosen(plan, options),
        )  # fmt: skip
        found.hatches = plan
        found._share_nauplii_anew(range(since, len(plan.given_j)))
        found._give_dry(since)
        found._share_each_anew()
        return found

    def reshare(self, foods: Container[str], added: str) -> None:
        """Shares some foods around what all others bring; see :func:`reshared`."""
        every = range(len(self.servings))
        for kind in reversed(self.kinds):
            if kind.name == added:
                self._plan_anew(kind, every)
            elif kind.name in foods and kind.name in self.worms:
                self._share_worms_anew(kind, every)
        if BRINE_SHRIMP in foods:
            wants, before = self._open_wants(BRINE_SHRIMP, every), None
            if not self.hatches.rationed:  # of a tin that is, they are for what is missing
                before = self._hatched_for(self._open_wants(BRINE_SHRIMP, range(0)))
            self.hatches = self._kept_back(self._hatched_for(wants, before), wants, 0)
            self._divide(BRINE_SHRIMP, self.hatches.given_j, wants, every)
        self._give_dry(0)

    def _plan_anew(self, kind: WormKind, window: range) -> None:
        """Plans all cultures of a kind for what is missing in a window without them."""
        wants = self._open_wants(kind.name, window)
        rations = self._rations(kind, wants, 0)
        free = [0.0] * len(wants)
        demand_mg = rations.demand(free)
        _, plan = self._with_starts(kind, demand_mg, None)
        plan = rations.priced(evolve(plan, prices=free, wanted_mg=demand_mg))
        self.worms[kind.name] = plan
        self._divide(kind.name, plan.each_j(), wants, window)

    def _divide(self, food: str, given_j: Sequence[float], wants: _Wants, window: range) -> None:
        """Divides what there is of a food by what is wanted of it, at the rounds of a window."""
        rounds = slice(window.start, window.stop)
        for row, given, wanted in zip(
            self.servings[rounds], given_j[rounds], wants[rounds], strict=False
        ):
            divide(row, food, given, wanted, self.basis.suits)

    def _around_missing(self, food: str) -> range:
        """The rounds that are not settled from some time before the first to the last at which some
        brood lacks a food; none where nobody gets any of it there.
        """
        since, suits = self.settled.rounds, self.basis.suits
        until = self.hatches.soon if food == BRINE_SHRIMP else len(self.servings)

        def is_short(index: int) -> bool:
            row = self.servings[index]
            return any(suits.lacks_j(s, food) > _CRUMB * s.need.energy_j for s in row)

        open_ = range(since, min(until, len(self.servings)))
        begin = next(filter(is_short, open_), None)
        if begin is None:
            return range(0)
        last = next(filter(is_short, open_[::-1]))
        from_h = self.feedings[begin].at_h - _BEFORE_H
        first = next(r.index for r in self.feedings[since:] if r.at_h >= from_h)
        near = self.servings[first : last + 1]
        given = any(serving.given_j.get(food) for row in near for serving in row)
        return range(first, last + 1) if given else range(0)

    def _share_worms_anew(self, kind: WormKind, window: range) -> None:
        wants = self._open_wants(kind.name, window)
        rations = self._rations(kind, wants[window.start :], window.start)
        plan = self.worms[kind.name] = rations.priced(rations.anew(self.worms[kind.name]))
        self._divide(kind.name, plan.each_j(), wants, window)
        share_out(self.servings, kind.name, plan.each_j(), self.basis.suits, since=window.stop)

    def _share_nauplii_anew(self, window: range) -> None:
        wants, before_j = self._open_wants(BRINE_SHRIMP, window), self.hatches.given_j
        self.hatches = self._kept_back(self._hatched_for(wants), wants, window.start)
        both = enumerate(zip(before_j, self.hatches.given_j, strict=True))
        if any(old != new for index, (old, new) in both if index not in window):
            self._give_nauplii(wants)
            self._give_dry(self.settled.rounds)
        self._divide(BRINE_SHRIMP, self.hatches.given_j, wants, window)

    def _open_wants(self, food: str, window: range) -> list[list[list[Want]]]:
        """What is wanted of a food at each round: in a window by what is missing without it, at the
        others what was asked of it before.
        """
        suits = self.basis.suits
        return [
            (open_wants if index in window else wants_of)(food, row, index, suits)
            for index, row in enumerate(self.servings)
        ]

    def _give_hatches(self) -> None:
        """Plans the hatches and gives out their nauplii."""
        wants = self._open_wants(BRINE_SHRIMP, range(0))
        self.hatches = self._kept_back(self._hatched_for(wants), wants, self.settled.rounds)
        self._give_nauplii(wants)

    def _hatched_for(self, wants: _Wants, before: HatchPlan | None = None) -> HatchPlan:
        """The hatches for what is wanted, those of a plan made before if no tin is shared out."""
        near = self.feedings[: self._hatched()]
        rows = [flat(row) for row in wants[: len(near)]]
        wanted_j = [asked_at(row, 0.0) for row in rows]
        diet_j = [diet_of(BRINE_SHRIMP, row) for row in self.servings[: len(near)]]
        if before is None or before.rationed:
            return plan_hatches(
                self.basis.room, near, wanted_j, start=self.basis.start,
                decided=self.settled.hatches, wants=rows, diet_j=diet_j, chosen=self.chosen,
                offers=self.basis.offers,
            )  # fmt: skip
        plan, since = evolve(before), self.settled.rounds
        limits_j = [*before.given_j[:since], *wanted_j[since:]]
        feed(plan, near, wanted_j, self.basis.room.holding, limits_j)
        return plan

    def _kept_back(self, plan: HatchPlan, wants: _Wants, since: int) -> HatchPlan:
        near = self.feedings[: self._hatched()]
        rows = [flat(row) for row in wants[: len(near)]]
        return kept_back(plan, near, rows, self.basis.room.holding, since)

    def _give_nauplii(self, wants: _Wants) -> None:
        """Gives out nauplii; where no hatches are planned yet, the share that they met before."""
        settled, suits, hatches = self.settled, self.basis.suits, self.hatches
        met, later = hatches.share_met(), wants[len(hatches.given_j) :]
        given_j = [*hatches.given_j, *(asked_at(flat(row), 0.0) * met for row in later)]
        take_back(self.open_rows, BRINE_SHRIMP)
        share_out(self.servings, BRINE_SHRIMP, given_j, suits, since=settled.rounds)
        # A hatch that is decided may be weighed anew for what is fed of it later.
        for index, row in enumerate(settled.rows):
            if given_j[index] != settled.nauplii_j[index]:
                foods = (BRINE_SHRIMP, DRY)
                self.servings[index] = [
                    evolve(s, given_j={n: j for n, j in s.given_j.items() if n not in foods})
                    for s in row
                ]
                share(self.servings[index], BRINE_SHRIMP, given_j[index], index, suits)
                left_j = self._dry_left_j(settled.rounds, came_by=index)
                give_dry([self.servings[index]], suits, left_j, self.dry_until - index)

    def _give_dry(self, since: int) -> None:
        left_j, until = self._dry_left_j(since), self.dry_until - since
        coming = [(index - since, j) for index, j in self.dry_parcels_j if index > since]
        give_dry(self.servings[since:], self.basis.suits, left_j, until, coming)

    def _dry_left_j(self, since: int, came_by: int | None = None) -> float:
        """What is left of the dry food in stock for the rounds from one on, and came by then [J].

        Args:
            came_by: the round by which it came, if that is another.
        """
        last = since if came_by is None else came_by
        came_j = sum(j for index, j in self.dry_parcels_j if index <= last)
        rows = self.servings[: min(since, self.dry_until)]
        return dry_left_j(self.basis.room, rows) + came_j

    def _give_worms(self, kind: WormKind) -> None:
        """Plans a kind, or plans it anew where more is asked, and gives out its worms."""
        plan, since = self._plan_kind(kind), self.settled.rounds
        self.worms[kind.name] = plan
        share_out(self.servings, kind.name, plan.each_j(), self.basis.suits, since=since)

    def _rations(self, kind: WormKind, wants_j: _Wants, since: int) -> Rations:
        """What is asked of a kind from a round on, before which all stays as it is."""
        per_mg = kind.fed_j_per_mg
        wants = [
            [(most / per_mg, missed / per_mg, slope / per_mg) for most, missed, slope in flat(row)]
            for row in wants_j
        ]
        before = self.worms.get(kind.name) or self.settled.worms.get(kind.name)
        return Rations(
            kind, self.feedings, wants, since, before.demand_mg[:since] if before else ()
        )

    def _plan_kind(self, kind: WormKind) -> WormPlan:
        settled = self.settled.rounds
        head = self.settled.worms.get(kind.name)
        rations = self._rations(kind, [
            wants_of(kind.name, row, index, self.basis.suits)
            for index, row in enumerate(self.open_rows, settled)
        ], settled)  # fmt: skip
        free = [0.0] * len(rations.wants)
        wanted_mg = [*(head.wanted_mg if head else ()), *rations.asked(free, settled)]
        before = self.worms.get(kind.name)
        if before is not None:
            demand = rations.demand(before.prices)
            more = asked_for_more(self.basis.room, before, demand, settled=settled)
            if more is not None:
                return evolve(more, wanted_mg=wanted_mg)
        paid = [*(head.prices if head else ()), *free]
        key, plan = self._with_starts(kind, rations.demand(paid), head)
        memo, priced = self.basis.memo, (*key, tuple(rations.asked([1.0] * len(free), settled)))
        if priced not in memo:
            memo[priced] = rations.priced(evolve(plan, prices=paid, wanted_mg=wanted_mg))
        return memo[priced]

    def _with_starts(
        self, kind: WormKind, demand_mg: Sequence[float], head: WormPlan | None
    ) -> tuple[tuple[Hashable, ...], WormPlan]:
        """The plan of a kind for a demand, from the memo if it is there, and its key."""
        basis, coming = self.basis, self.basis.bought.get(kind.name, ())
        starts = tuple(s for s in coming if s.at_index < len(self.feedings))
        kept = tuple(s for s in head.splits if s.parent) if head else ()
        beside, others = self._beside(kind)
        medium = cupboard_of(
            basis.room, kind, self.feedings, basis.start, [*starts, *kept, *others]
        )
        key = (
            kind.name,
            medium,
            tuple(demand_mg),
            tuple((s.culture.name, s.at_index) for s in (*starts, *kept)),
            self.settled.rounds,
            tuple((s.culture.name, s.first, s.spent_from) for s in beside),
        )
        if key not in basis.memo:
            basis.memo[key] = plan_worms(
                basis.room, kind, self.feedings, demand_mg, bought=starts, beside=beside,
                kept=kept, head=head, layouts=basis.layouts, medium=medium,
            )  # fmt: skip
        return key, basis.memo[key]

    def _beside(self, kind: WormKind) -> tuple[list[Stage], list[Split]]:
        """Cultures of other kinds, which share the shelf, and their starts, which share medium."""
        room, plans = self.basis.room, [p for name, p in self.worms.items() if name != kind.name]
        stages = [stage for plan in plans for stage in plan.stages]
        if room.shelf is not None:
            waiting = {c.kind.name for c in room.cultures} - {kind.name, *self.worms}
            own = (c for c in room.cultures if c.kind.name in waiting)
            stages += map(self.basis.layouts.standing, own)
        return stages, [split for plan in plans for split in plan.splits]
