"""Matches what the rounds need with what cultures, hatches and the dry tin can give.

Foods are planned from the smallest mouthful up. What one food cannot bring moves to
another that the mouth takes, before anything is called short. Scarce worms go to those who
can eat nothing else (:mod:`cultures.planning.rations`), and so do scarce nauplii.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import datetime, timedelta

from attrs import define, evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.fry.classes import FryClass
from cultures.fry.diet import suitabilities
from cultures.fry.feeding import feeding_values
from cultures.needs.need import BroodNeed, Round, diet_j, room_needs
from cultures.planning.hatch_plan import Decided, HatchPlan, first_nauplii, plan_hatches
from cultures.planning.kept_back import kept_back
from cultures.planning.rations import Rations, Want, choice_of, shares_of
from cultures.planning.split_plan import WormPlan, asked_for_more, cupboard_of, plan_worms
from cultures.planning.stretches import hatched_rounds, look_ahead, settled_rounds, stretch_ends
from cultures.planning.worm_course import Layouts, Split, first_harvest
from cultures.room.jars import holding_of
from cultures.room.room import Room

#: A food stands in for another where at least this share of the brood can use it.
STAND_IN_FROM = 0.1
#: and it may be all that is given where this share can.
ALL_FROM = 0.5
#: Less missing than this share of a brood's need at a round is not called short.
SHORT_SHARE = 0.03
#: Up to so many times what is wanted of a food is fed; of more, what is wanted.
_MOST_FED = 1.25
#: What food that comes in a day or two counts for, against one that is there.
_COMING = 0.1


#: Worm plans of more stretches than this are not kept for remedies, since they fill the memory.
_MOST_REMEMBERED = 3
#: Worm plans by kind, demand and bought starts, all of the same room and rounds.
WormMemo = dict[tuple[Hashable, ...], WormPlan]
#: How well foods suit fry by their length, for each class and the foods that its broods get. The
#: class is held beside them, so that no other one takes its id.
SuitsMemo = dict[Hashable, tuple[FryClass, dict[float, Mapping[str, float]]]]


@frozen(eq=False)
class Known:
    """What plans of one room have in common.

    Attributes:
        layouts: of its cultures. suits: how well foods suit its fry.
    """

    layouts: Layouts
    suits: SuitsMemo = field(factory=dict)


@define(eq=False)
class Serving:
    """What one brood is to get at one round.

    Attributes:
        need: the ideal. want_j: what each food is asked for, replaced and never changed, since
            it may be the need's own. given_j: what it gives.
    """

    need: BroodNeed
    want_j: Mapping[str, float]
    given_j: dict[str, float] = field(factory=dict)

    def missing_j(self) -> float:
        """Energy still missing over all foods [J]."""
        return max(0.0, self.need.energy_j - sum(self.given_j.values()))


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


def dry_j_per_g() -> float:
    """Energy that fry get from a gram of dry food [J/g]."""
    v = feeding_values()
    return v["dry_j_per_g"] * v["dry_digested"]


def plan_feeding(
    room: Room,
    feedings: Sequence[Round],
    *,
    start: datetime,
    needs: Sequence[Sequence[BroodNeed]] | None = None,
    memo: WormMemo | None = None,
    before: Stretch | None = None,
    at_once: bool = False,
    keep: list[Stretch] | None = None,
    known: Known | None = None,
    enough: Callable[[FeedingPlan, int], bool] = lambda *_: False,
) -> FeedingPlan:
    """Plans all foods together.

    Args:
        needs: by round, if they are known already.
        memo: worm plans of the same cultures, looked up and added to.
        before: of a plan with the same needs up to where it is settled: that far nothing is decided
            again. at_once: all that is after it, or after the first one, in one stretch.
        keep: where the stretches are added that this plan is made of.
        known: of a room that differs by broods, stocks and vessels only, looked up and added to.
        enough: asked after each stretch but the last, with its plan and the count of its rounds
            that are settled, whether that plan will do.
    """
    memo = {} if memo is None else memo
    needs = room_needs(room, feedings) if needs is None else needs
    shared = known or Known(Layouts(room, feedings))
    suits, bought = Suits(room, shared.suits), coming_starts(room, feedings)
    before, ahead = before or Stretch(), look_ahead(room, start)
    settled, suits.met = before.settled, [*before.met]
    leave_out_unripe(room, feedings, bought, suits, start, shared.layouts)
    *ends, last = stretch_ends(room, feedings, start)
    ends = [end for end in (ends[:1] if at_once else ends) if end > before.end]
    for end in ends:
        part = _plan_stretch(
            room, feedings[:end], needs[:end], settled, suits,
            start=start, ahead=ahead, bought=bought, memo=memo, layouts=shared.layouts,
        )  # fmt: skip
        rounds = settled_rounds(feedings, end, ahead)
        if rounds > settled.rounds:
            settled = _Settled.of(part, rounds)
        if enough(part, settled.rounds):
            return part
        del part
        if keep is not None:
            keep.append(Stretch(end, settled, tuple(suits.met[: settled.rounds])))
        if len(ends) > _MOST_REMEMBERED:
            memo.clear()
            if known is None:
                suits.forget_lengths()
    return _plan_stretch(
        room, feedings[:last], needs, settled, suits,
        start=start, ahead=ahead, bought=bought, memo=memo, layouts=shared.layouts,
    )  # fmt: skip


def coming_starts(room: Room, feedings: Sequence[Round]) -> Mapping[str, Sequence[Split]]:
    """Starters that the keeper is going to buy, by kind."""
    found: dict[str, list[Split]] = {}
    for culture in room.coming:
        there = (r for r in feedings if r.keeper and r.at.date() >= culture.started)
        first = next(there, None)
        if first is not None:
            own = evolve(culture, started=first.at.date(), planned=False)
            found.setdefault(culture.kind.name, []).append(Split("", own, first.index))
    return found


@frozen(eq=False)
class _Settled:
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
    def of(cls, plan: FeedingPlan, rounds: int) -> _Settled:
        """What a plan has decided for its first rounds."""
        return cls(
            rounds, plan.servings[:rounds], plan.hatches.given_j[:rounds],
            {name: worms.head(rounds) for name, worms in plan.worms.items()},
            plan.hatches.decided(rounds, plan.feedings[rounds - 1].at_h),
        )  # fmt: skip


@frozen(eq=False)
class Stretch:
    """A planned stretch that others may go on from.

    Attributes:
        end: the count of its rounds. settled: what is decided by then. met: see :class:`Suits`.
    """

    end: int = 0
    settled: _Settled = field(factory=_Settled, repr=False)
    met: Sequence[dict[str, float]] = field(default=(), repr=False)


def _plan_stretch(
    room: Room,
    feedings: Sequence[Round],
    needs: Sequence[Sequence[BroodNeed]],
    settled: _Settled,
    suits: Suits,
    *,
    start: datetime,
    ahead: timedelta,
    bought: Mapping[str, Sequence[Split]],
    memo: WormMemo,
    layouts: Layouts,
) -> FeedingPlan:
    """Plans all foods up to the end of a stretch, after what is settled."""
    hatched = hatched_rounds(feedings, len(feedings), ahead)

    def once() -> FeedingPlan:
        still = zip(feedings[settled.rounds :], needs[settled.rounds :], strict=True)
        servings = [
            *settled.rows,
            *(
                [Serving(need, suits.diet(need, r.index)) for need in by_round] if r.fed else []
                for r, by_round in still
            ),
        ]
        return _match(
            room, feedings, servings, settled, suits, hatched, start, bought, memo, layouts
        )

    suits.forget(settled.rounds)
    plan = once()
    return once() if suits.learn(plan, settled.rounds) else plan


def _match(
    room: Room,
    feedings: Sequence[Round],
    servings: list[Sequence[Serving]],
    settled: _Settled,
    suits: Suits,
    hatched: int,
    start: datetime,
    bought: Mapping[str, Sequence[Split]],
    memo: WormMemo,
    layouts: Layouts,
) -> FeedingPlan:
    """Plans one food after another."""
    open_rows = servings[settled.rounds :]
    kinds = sorted(room.worm_kinds(), key=lambda k: (k.values["width_um"], k.name))
    worms: dict[str, WormPlan] = {}
    for kind in kinds:
        worms[kind.name] = _plan_kind(
            room, kind, feedings, servings, bought, memo, worms, settled, suits, start, layouts
        )
        _give_worms(kind, worms[kind.name], servings, suits, settled.rounds)
        wider = [k.name for k in kinds if k.values["width_um"] > kind.values["width_um"]]
        pass_on(open_rows, kind.name, [*wider, BRINE_SHRIMP] if room.vessels else wider, suits)

    def hatch() -> tuple[list[float], HatchPlan]:
        wanted = [sum(s.want_j.get(BRINE_SHRIMP, 0.0) for s in row) for row in servings]
        plan = plan_hatches(
            room, feedings[:hatched], wanted[:hatched], start=start, decided=settled.hatches
        )
        if plan.rationed or not any(plan.short_j):
            return wanted, plan
        rows = enumerate(servings[:hatched])
        wants = [_wants(BRINE_SHRIMP, row, index, suits) for index, row in rows]
        return wanted, kept_back(plan, feedings[:hatched], wants, holding_of(room), settled.rounds)

    wanted, hatches = hatch()
    _share_hatches(servings, hatches, wanted, suits, settled)
    near = open_rows[: max(0, hatches.soon - settled.rounds)]
    if (over := hatches.rationed) and _spare_cysts(near, suits):
        wanted, hatches = hatch()
        hatches.tin_short = hatches.tin_short or list(over)  # to be bought all the same
        _share_hatches(servings, hatches, wanted, suits, settled)
    give_dry(open_rows, suits)
    leaned = False
    for kind in reversed(kinds):
        if not _lean_on(kind.name, servings, settled.rounds, suits):
            continue
        leaned = True
        for row in open_rows:
            for serving in row:
                serving.given_j.pop(kind.name, None)
        worms[kind.name] = _plan_kind(
            room, kind, feedings, servings, bought, memo, worms, settled, suits, start, layouts
        )
        _give_worms(kind, worms[kind.name], servings, suits, settled.rounds)
    if leaned:
        give_dry(open_rows, suits)
    return FeedingPlan(
        feedings, [*servings[:hatched], *([] for _ in feedings[hatched:])], worms,
        hatches.padded(len(feedings)), memo,
    )  # fmt: skip


def _share_hatches(
    servings: list[Sequence[Serving]],
    hatches: HatchPlan,
    wanted_j: Sequence[float],
    suits: Suits,
    settled: _Settled,
) -> None:
    """Gives out nauplii; where no hatches are planned yet, the share that they met before."""
    share = hatches.share_met()
    later_j = [wanted * share for wanted in wanted_j[len(hatches.given_j) :]]
    given_j = [*hatches.given_j, *later_j]
    for row in servings[settled.rounds :]:
        for serving in row:
            serving.given_j.pop(BRINE_SHRIMP, None)
    share_out(servings, BRINE_SHRIMP, given_j, suits, since=settled.rounds)
    # A hatch that is decided may be weighed anew for what is fed of it later.
    for index, row in enumerate(settled.rows):
        if given_j[index] != settled.nauplii_j[index]:
            foods = (BRINE_SHRIMP, DRY)
            servings[index] = [
                evolve(s, given_j={n: j for n, j in s.given_j.items() if n not in foods})
                for s in row
            ]
            _share(servings[index], BRINE_SHRIMP, given_j[index], index, suits)
            give_dry([servings[index]], suits)


def _spare_cysts(servings: Sequence[Sequence[Serving]], suits: Suits) -> bool:
    """Leaves scarce cysts to those who have no other food; True if anything changed.

    As much as they lack of a tin that is shared out is given dry to those who take it, at the last
    rounds first, since cysts may be bought until then.
    """

    def dry_j(serving: Serving) -> float:
        wanted = serving.want_j.get(BRINE_SHRIMP, 0.0)
        return min(wanted, dry_cap_j(suits, serving) - serving.want_j.get(DRY, 0.0))

    def lacks_j(serving: Serving) -> float:
        missing = serving.want_j.get(BRINE_SHRIMP, 0.0) - serving.given_j.get(BRINE_SHRIMP, 0.0)
        return max(0.0, missing - dry_j(serving))

    before = lacking_j = sum(lacks_j(serving) for row in servings for serving in row)
    for row in reversed(servings):
        for serving in row:
            moved_j, frees_j = dry_j(serving), serving.given_j.get(BRINE_SHRIMP, 0.0)
            if moved_j > 0.0 and lacking_j > 0.0:
                moved_j *= min(1.0, lacking_j / frees_j) if frees_j > 0.0 else 1.0
                serving.want_j = {
                    **serving.want_j,
                    BRINE_SHRIMP: serving.want_j[BRINE_SHRIMP] - moved_j,
                    DRY: serving.want_j.get(DRY, 0.0) + moved_j,
                }
                lacking_j -= frees_j
    return lacking_j < before


def dry_cap_j(suits: Suits, serving: Serving) -> float:
    """The most dry food that may be given at a serving [J], 0 where it is not among the foods."""
    return max(serving.want_j.get(DRY, 0.0), suits.stand_in_j(serving.need, DRY))


class Suits:
    """How well a food suits a serving, and which there are.

    Attributes:
        ripe_from: the first round at which worms of a kind, or nauplii, can be had; none before.
        met: for each round the share that is brought of what is wanted of a food, once that is
            known; all where it is not.
    """

    def __init__(self, room: Room, known: SuitsMemo | None = None) -> None:
        self.room = room
        self.foods = {
            brood.name: {f.name: f for f in room.foods_of(brood)} for brood in room.broods
        }
        known = {} if known is None else known
        #: Broods of one class that have the same foods share what is known.
        self.by_length = {
            brood.name: known.setdefault(
                (id(brood.fry_class), *self.foods[brood.name].values()), (brood.fry_class, {})
            )[1]
            for brood in room.broods
        }
        self.ripe_from: dict[str, int] = {BRINE_SHRIMP: 0}
        self.never = 0
        self.met: list[dict[str, float]] = []

    def __call__(self, serving: Serving, food: str) -> float:
        return self._of(serving.need, food)

    def _of(self, need: BroodNeed, food: str) -> float:
        return self._all_of(need).get(food, 0.0)

    def _all_of(self, need: BroodNeed) -> Mapping[str, float]:
        """How well each of its foods suits a brood."""
        by_length = self.by_length[need.brood.name]
        found = by_length.get(need.length_mm)
        if found is None:
            foods = self.foods[need.brood.name]
            suits = suitabilities(foods.values(), need.brood.fry_class, need.length_mm)
            found = by_length[need.length_mm] = dict(zip(foods, suits, strict=True))
        return found

    def others(self, need: BroodNeed, food: str, index: int) -> float:
        """The share of a need for which the best food but one may stand in, of those that can be
        had at a round.

        Nauplii that come in a day or two count a tenth. What is scarce itself counts for less, and
        for nothing where half of it is missing.
        """
        met = self.met[index] if index < len(self.met) else {}
        best = 0.0
        for name, suits in self._all_of(need).items():
            if name == food or suits <= STAND_IN_FROM:
                continue
            since = self.ripe_from.get(name, 0)
            if since <= index:
                there = max(0.0, 2.0 * met.get(name, 1.0) - 1.0) if met else 1.0
            else:
                there = _COMING if name == BRINE_SHRIMP and since < self.never else 0.0
            best = max(best, _stand_in_share(suits) * there)
        return best

    def forget_lengths(self) -> None:
        """Lets go of what is known of each length, which fills the memory."""
        for by_length in self.by_length.values():
            by_length.clear()

    def forget(self, rounds: int) -> None:
        """Takes all foods as plenty again from a round on."""
        del self.met[rounds:]

    def learn(self, plan: FeedingPlan, since: int) -> bool:
        """Takes from a plan what is scarce; True if that may change who is to get scarce worms."""
        rows = plan.servings[since:]
        brought = {
            name: [worms.given_j(index) for index in range(since, len(worms.course.harvests))]
            for name, worms in plan.worms.items()
        }
        brought[BRINE_SHRIMP] = plan.hatches.given_j[since:]
        self.met += [{} for _ in rows]
        for food, given_j in brought.items():
            wanted_j = [sum(s.want_j.get(food, 0.0) for s in row) for row in rows]
            if food == BRINE_SHRIMP and plan.hatches.rationed:
                # Of a tin that is shared out, what one round takes another lacks.
                given_j, wanted_j = ([sum(of)] * len(rows) for of in (given_j, wanted_j))
            each = zip(self.met[since:], given_j, wanted_j, strict=False)
            for index, (met, given, wanted) in enumerate(each, since):
                if index >= self.ripe_from[food] and given < (1.0 - SHORT_SHARE) * wanted:
                    met[food] = given / wanted
        matters = any(len(met) > 1 for met in self.met[since:])
        if not matters:  # the plan stands as it was made, with all foods taken as plenty
            self.met[since:] = [{} for _ in rows]
        return matters

    def diet(self, need: BroodNeed, index: int) -> Mapping[str, float]:
        """The diet of a brood of what can be had at a round [J].

        What is not ripe yet stays in it where nothing else suits, so that it is missed.
        """
        since = self.ripe_from
        if all(since.get(food, 0) <= index for food in need.foods):
            return need.foods
        fry_class = need.brood.fry_class
        had = [f for name, f in self.foods[need.brood.name].items() if since.get(name, 0) <= index]
        found = diet_j(self.room, had, fry_class, need.length_mm, need.energy_j)
        suited = all(self._of(need, food) >= STAND_IN_FROM for food in found)
        if not (found and suited and found.get(DRY, 0.0) <= self.stand_in_j(need, DRY)):
            return need.foods
        return found

    def stand_in_j(self, need: BroodNeed, food: str) -> float:
        """The most that may be given of a food when it stands in for others [J]: all where half
        of the brood can use it, and less where fewer can.
        """
        return _stand_in_share(self._of(need, food)) * need.energy_j


def _stand_in_share(suits: float) -> float:
    """The share of a need for which a food may stand in that suits a mouth so well."""
    return min(1.0, max(0.0, (suits - STAND_IN_FROM) / (ALL_FROM - STAND_IN_FROM)))


def leave_out_unripe(
    room: Room,
    feedings: Sequence[Round],
    bought: Mapping[str, Sequence[Split]],
    suits: Suits,
    start: datetime,
    layouts: Layouts,
) -> None:
    """Works out from when on worms of each kind and nauplii can be had.

    A culture that is just begun is no food yet; a split of it is ripe later still.
    """
    never = len(feedings)
    for kind in room.worm_kinds():
        own = sorted(
            (c for c in room.cultures if c.kind.name == kind.name), key=lambda c: c.started
        )
        starts = bought.get(kind.name, ())
        stages = [
            *(layouts.standing(c) for c in own),
            *(layouts.child(s) for s in starts if s.at_index < never),
        ]
        ripe = [i for i in map(first_harvest, stages) if i is not None]
        suits.ripe_from[kind.name] = min([*ripe, never])
    suits.never = never
    suits.ripe_from[BRINE_SHRIMP] = first_nauplii(room, feedings, start)


def _plan_kind(
    room: Room,
    kind: WormKind,
    feedings: Sequence[Round],
    servings: Sequence[Sequence[Serving]],
    bought: Mapping[str, Sequence[Split]],
    memo: WormMemo,
    planned: Mapping[str, WormPlan],
    settled: _Settled,
    suits: Suits,
    start: datetime,
    layouts: Layouts,
) -> WormPlan:
    per_mg = kind.fed_j_per_mg
    wants = [
        [(want / per_mg, choice) for want, choice in _wants(kind.name, row, index, suits)]
        for index, row in enumerate(servings[settled.rounds :], settled.rounds)
    ]
    head = settled.worms.get(kind.name)
    rations = Rations(kind, feedings, wants, settled.rounds, head.demand_mg if head else ())
    free = [0.0] * len(wants)
    wanted_mg = [*(head.wanted_mg if head else ()), *rations.asked(free, settled.rounds)]
    before = planned.get(kind.name)
    if before is not None:
        demand = rations.demand(before.prices)
        more = asked_for_more(room, before, demand, settled=settled.rounds)
        if more is not None:
            return evolve(more, wanted_mg=wanted_mg)
    paid = [*(head.prices if head else ()), *free]
    demand = rations.demand(paid)
    starts = tuple(s for s in bought.get(kind.name, ()) if s.at_index < len(feedings))
    kept = tuple(s for s in head.splits if s.parent) if head else ()
    beside = [s for name, plan in planned.items() if name != kind.name for s in plan.stages]
    if room.shelf is not None:
        waiting = {c.kind.name for c in room.cultures} - {kind.name, *planned}
        beside += [layouts.standing(c) for c in room.cultures if c.kind.name in waiting]
    others = (s for name, plan in planned.items() if name != kind.name for s in plan.splits)
    medium = cupboard_of(room, kind, feedings, start, [*starts, *kept, *others])
    key = (
        kind.name,
        medium,
        tuple(demand),
        tuple((s.culture.name, s.at_index) for s in (*starts, *kept)),
        settled.rounds,
        tuple((s.culture.name, s.first, s.spent_from) for s in beside),
    )
    if key not in memo:
        memo[key] = plan_worms(
            room, kind, feedings, demand, bought=starts, beside=beside,
            kept=kept, head=head, layouts=layouts, medium=medium,
        )  # fmt: skip
    priced = (*key, tuple(rations.asked([1.0] * len(wants), settled.rounds)))
    if priced not in memo:
        plan = evolve(memo[key], prices=paid, wanted_mg=wanted_mg)
        memo[priced] = rations.priced(plan)
    return memo[priced]


def _wants(food: str, row: Sequence[Serving], index: int, suits: Suits) -> list[Want]:
    """What each serving of a round wants of a food [J], and how much choice it has besides."""
    return [
        (want, choice_of(suits.others(s.need, food, index), s.need.length_mm)) if want else (0, 0)
        for s in row
        for want in (s.want_j.get(food, 0.0),)
    ]


def _give_worms(
    kind: WormKind, plan: WormPlan, servings: Sequence[Sequence[Serving]], suits: Suits, since: int
) -> None:
    for index, row in enumerate(servings[since:], since):
        _share(row, kind.name, plan.given_j(index), index, suits)


def share_out(
    servings: Sequence[Sequence[Serving]], food: str, given_j: Sequence[float], suits: Suits,
    *, since: int = 0,
) -> None:  # fmt: skip
    """Divides what there is of a food from a round on."""
    both = zip(servings[since:], given_j[since:], strict=True)
    for index, (row, total) in enumerate(both, since):
        _share(row, food, total, index, suits)


def _share(row: Sequence[Serving], food: str, total: float, index: int, suits: Suits) -> None:
    """Divides what there is at a round: by need when it is enough, else at its price."""
    wants_j = [serving.want_j.get(food, 0.0) for serving in row]
    asked_j = sum(wants_j)
    if not asked_j:
        return
    fed_j = total if total <= _MOST_FED * asked_j else asked_j
    # Who has another choice is asked only where there is too little for all.
    scarce = fed_j < asked_j
    wants = _wants(food, row, index, suits) if scarce else [(want, 0.0) for want in wants_j]
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
            if gap > crumb and (amount := min(gap, dry_cap_j(suits, serving))) > crumb:
                serving.given_j[DRY] = amount


def _lean_on(kind: str, servings: Sequence[Sequence[Serving]], since: int, suits: Suits) -> bool:
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
