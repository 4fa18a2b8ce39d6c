"""Matches the needs of one stretch with what cultures, hatches and the dry tin can give.

Foods are planned from the smallest mouthful up. What one food cannot bring moves to
another that the mouth takes, before anything is called short. Scarce worms go to those who
can eat nothing else (:mod:`cultures.planning.rations`), and so do scarce nauplii.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from datetime import datetime, timedelta

from attrs import define, evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.needs.need import BroodNeed, Round
from cultures.planning.hatch_plan import Decided, HatchPlan, plan_hatches
from cultures.planning.kept_back import kept_back
from cultures.planning.rations import Rations
from cultures.planning.servings import Serving, Suits
from cultures.planning.sharing import (
    give_dry,
    lean_on,
    pass_on,
    share,
    share_out,
    wants_of,
)
from cultures.planning.split_plan import WormPlan, asked_for_more, cupboard_of, plan_worms
from cultures.planning.stretches import hatched_rounds
from cultures.planning.worm_course import Layouts, Split, Stage
from cultures.room.jars import holding_of
from cultures.room.room import Room

#: Worm plans by kind, demand and bought starts, all of the same room and rounds.
WormMemo = dict[tuple[Hashable, ...], WormPlan]


@define(eq=False)
class FeedingPlan:
    """Servings by round, and the plans of the foods behind them.

    Attributes:
        servings: none at the rounds at the end that only worms are planned for.
    """

    feedings: Sequence[Round]
    servings: Sequence[Sequence[Serving]]
    worms: dict[str, WormPlan]
    hatches: HatchPlan
    memo: WormMemo = field(factory=dict, repr=False)


@frozen(eq=False)
class Settled:
    """What earlier stretches have decided.

    Attributes:
        rounds: for how many rounds. rows: their servings. nauplii_j: given at them [J].
        worms: the plans of worms that these come from, by kind; of their splits those before
            ``rounds`` stand. hatches: what is decided of the hatches.
    """

    rounds: int = 0
    rows: Sequence[Sequence[Serving]] = ()
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
        ahead: how far a round is looked past. bought: starters that come, by kind.
        memo: worm plans that are known, looked up and added to.
    """

    room: Room
    start: datetime
    ahead: timedelta
    suits: Suits
    bought: Mapping[str, Sequence[Split]]
    memo: WormMemo
    layouts: Layouts


def plan_stretch(
    basis: Basis,
    feedings: Sequence[Round],
    needs: Sequence[Sequence[BroodNeed]],
    settled: Settled,
) -> FeedingPlan:
    """Plans all foods up to the end of a stretch, after what is settled.

    Where that shows that foods are scarce, it is planned once more: who has no other choice is
    known then.
    """
    basis.suits.forget(settled.rounds)
    plan = _Matching.of(basis, feedings, needs, settled).plan()
    if not _learned(basis.suits, plan, settled.rounds):
        return plan
    return _Matching.of(basis, feedings, needs, settled).plan()


def _learned(suits: Suits, plan: FeedingPlan, since: int) -> bool:
    brought = {
        name: [worms.given_j(index) for index in range(since, len(worms.course.harvests))]
        for name, worms in plan.worms.items()
    }
    brought[BRINE_SHRIMP] = plan.hatches.given_j[since:]
    return suits.learn(
        plan.servings[since:], brought, since=since, shared_out=bool(plan.hatches.rationed)
    )


@define(eq=False)
class _Matching:
    """One stretch while it is planned, food after food.

    Attributes:
        servings: by round, those that are settled first. worms: plans by kind, as far as they go.
    """

    basis: Basis
    feedings: Sequence[Round]
    settled: Settled
    servings: list[Sequence[Serving]]
    worms: dict[str, WormPlan] = field(factory=dict)

    @classmethod
    def of(
        cls, basis: Basis, feedings: Sequence[Round], needs: Sequence[Sequence[BroodNeed]],
        settled: Settled,
    ) -> _Matching:  # fmt: skip
        """A stretch with nothing given yet after what is settled."""
        still = zip(feedings[settled.rounds :], needs[settled.rounds :], strict=True)
        rows = [
            [Serving(need, basis.suits.diet(need, r.index)) for need in row] if r.fed else []
            for r, row in still
        ]
        return cls(basis, feedings, settled, [*settled.rows, *rows])

    @property
    def open_rows(self) -> list[Sequence[Serving]]:
        """Servings that are not settled yet."""
        return self.servings[self.settled.rounds :]

    def plan(self) -> FeedingPlan:
        """Plans one food after another."""
        room, suits = self.basis.room, self.basis.suits
        kinds = sorted(room.worm_kinds(), key=lambda k: (k.values["width_um"], k.name))
        for kind in kinds:
            self._give_worms(kind)
            wider = [k.name for k in kinds if k.values["width_um"] > kind.values["width_um"]]
            others = [*wider, BRINE_SHRIMP] if room.vessels else wider
            pass_on(self.open_rows, kind.name, others, suits)
        hatches = self._hatches()
        give_dry(self.open_rows, suits)
        if self._lean_on_worms(kinds):
            give_dry(self.open_rows, suits)
        hatched = self._hatched()
        return FeedingPlan(
            self.feedings, [*self.servings[:hatched], *([] for _ in self.feedings[hatched:])],
            self.worms, hatches.padded(len(self.feedings)), self.basis.memo,
        )  # fmt: skip

    def _hatched(self) -> int:
        """For how many rounds hatches are planned."""
        return hatched_rounds(self.feedings, len(self.feedings), self.basis.ahead)

    def _lean_on_worms(self, kinds: Sequence[WormKind]) -> bool:
        """Asks worms, the largest first, for what all else left open; True if any were asked."""
        leaned = False
        for kind in reversed(kinds):
            if not lean_on(kind.name, self.servings, self.settled.rounds, self.basis.suits):
                continue
            leaned = True
            for row in self.open_rows:
                for serving in row:
                    serving.given_j.pop(kind.name, None)
            self._give_worms(kind)
        return leaned

    def _hatches(self) -> HatchPlan:
        """Plans the hatches and gives their nauplii."""
        room, feedings = self.basis.room, self.feedings[: self._hatched()]
        wanted_j = [sum(s.want_j.get(BRINE_SHRIMP, 0.0) for s in row) for row in self.servings]
        rows = enumerate(self.servings[: len(feedings)])
        wants = [wants_of(BRINE_SHRIMP, row, index, self.basis.suits) for index, row in rows]
        plan = plan_hatches(
            room, feedings, wanted_j[: len(feedings)], start=self.basis.start,
            decided=self.settled.hatches, wants=wants,
        )  # fmt: skip
        if not plan.rationed and any(plan.short_j):
            plan = kept_back(plan, feedings, wants, holding_of(room), self.settled.rounds)
        self._give_nauplii(plan, wanted_j)
        return plan

    def _give_nauplii(self, hatches: HatchPlan, wanted_j: Sequence[float]) -> None:
        """Gives out nauplii; where no hatches are planned yet, the share that they met before."""
        settled, suits = self.settled, self.basis.suits
        met = hatches.share_met()
        later_j = [wanted * met for wanted in wanted_j[len(hatches.given_j) :]]
        given_j = [*hatches.given_j, *later_j]
        for row in self.open_rows:
            for serving in row:
                serving.given_j.pop(BRINE_SHRIMP, None)
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
                give_dry([self.servings[index]], suits)

    def _give_worms(self, kind: WormKind) -> None:
        """Plans a kind, or plans it anew where more is asked, and gives out its worms."""
        plan = self.worms[kind.name] = self._plan_kind(kind)
        for index, row in enumerate(self.open_rows, self.settled.rounds):
            share(row, kind.name, plan.given_j(index), index, self.basis.suits)

    def _plan_kind(self, kind: WormKind) -> WormPlan:
        settled = self.settled.rounds
        head = self.settled.worms.get(kind.name)
        wants = [
            [(want / kind.fed_j_per_mg, choice) for want, choice in of_round]
            for of_round in (
                wants_of(kind.name, row, index, self.basis.suits)
                for index, row in enumerate(self.open_rows, settled)
            )
        ]
        rations = Rations(kind, self.feedings, wants, settled, head.demand_mg if head else ())
        free = [0.0] * len(wants)
        wanted_mg = [*(head.wanted_mg if head else ()), *rations.asked(free, settled)]
        before = self.worms.get(kind.name)
        if before is not None:
            demand = rations.demand(before.prices)
            more = asked_for_more(self.basis.room, before, demand, settled=settled)
            if more is not None:
                return evolve(more, wanted_mg=wanted_mg)
        paid = [*(head.prices if head else ()), *free]
        key, plan = self._with_starts(kind, rations.demand(paid), head)
        memo, priced = self.basis.memo, (*key, tuple(rations.asked([1.0] * len(wants), settled)))
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
