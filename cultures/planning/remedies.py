"""What would still help against what falls short.

A remedy is a change of the room. What the plan knows says how much it may save at most: where the
food can be eaten, from when there is some, how much one culture or vessel gives. The cheapest that
may save something is tried once, for all shortfalls together; the next is tried on what is still
missing then. So the number of trials has a limit that no number of shortfalls changes. A trial
plans anew only the foods that the change is about, for what all others leave open, and holds those
as they are.

Advice that was told is tried first, and stays what it was while it helps and its time is not over.
What is got for it (another kind, a vessel, food from elsewhere) must be worth the errand.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Container, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, time, timedelta
from itertools import groupby

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.temperature import Clock
from cultures.foods.vessels import Vessel
from cultures.fry.diet import suitability
from cultures.journal.absences import Away
from cultures.needs.food_units import natural_amount
from cultures.needs.need import Round, room_needs, rounds_between
from cultures.planning.advised import (
    HELPS_FROM,
    SHOP,
    STANDS,
    as_advised,
    is_advised,
    least_share,
    stands_by,
)
from cultures.planning.amounts import measure
from cultures.planning.changes import (
    bought_culture,
    hatchery_words,
    kept_foods,
    largest_again,
    slow_vessels,
    start_words,
    usual_culture,
    warm_words,
    with_culture,
    with_cysts,
    with_food,
    with_hatchery,
    with_vessel,
    with_warm_vessels,
)
from cultures.planning.feeding_plan import plan_feeding, reshare
from cultures.planning.finer import finer_tools
from cultures.planning.gaps import WORTH_GETTING, Gap, find_gaps, missed_meals, worth_asking
from cultures.planning.harvests import HatchPlan
from cultures.planning.matching import FeedingPlan
from cultures.planning.outlook import Outlook, rounds_there
from cultures.planning.servings import STAND_IN_FROM, Fit
from cultures.planning.shortfalls import LEAST_HATCH, OUT, UNMEASURED, Hunger, Lack, Limits
from cultures.planning.supplies import (
    Purchase,
    Use,
    cyst_uses,
    cysts_to_buy,
    dry_to_buy,
    dry_wanting,
    purchase,
)
from cultures.planning.worm_course import culture_clock
from cultures.room.jars import holding_of, vessel_model
from cultures.room.room import Culture, CultureMark, Room
from cultures.tasks.plan import Act, Remedy
from cultures.words.moments import hours
from cultures.words.quantities import food_words, number
from cultures.words.tools import CYSTS, SALT

#: Most trials of remedies; those that were told are tried besides.
_MOST_TRIALS = 4
ASK_HELP = "ask somebody to feed (helper = true)"
#: Somebody is asked to feed a day before the eve of an absence, and called no later in the day
#: (common practice, no source).
_ASKED_AHEAD, _CALLED_UNTIL = timedelta(days=2), time(19)
#: What is got from elsewhere, and not to be got anyhow.
_ERRANDS = (Act.START, Act.RIPE, Act.VESSEL, Act.HATCH, Act.FETCH)
#: Nauplii that somebody else hatched are asked for from so many whole meals on (common practice,
#: no source); a meal and a half until a hatch is ripe hurts no fry that do not starve.
_WORTH_FETCHING = 2.0
#: What a brood without a list of foods gets of a room that hatches for the first time.
_SHRIMP = (BRINE_SHRIMP,)
#: Limits that come of a hatch that takes long.
_SLOWED = ("vessels", "cold", "early", "absent")
_Key = tuple[int, str]
#: Gaps, and how much of each is filled [J].
_Fills = Sequence[tuple[Gap, float]]
#: What to do, and by when.
_Told = tuple[str, datetime]


@frozen(eq=False)
class _Change:
    """A room with one remedy.

    Attributes:
        saves_j: by gap, the most that it may save [J]. against: what it is meant against, a word
            of :class:`Limits`; there it is tried even where something cheaper helps.
        told: the words and the latest time for a lack, once it is planned; None for no such time.
        act, of: as :class:`Remedy` has them. foods: that are shared anew. kind: of which cultures
            are added. fetch: what it needs is to be had so long before.
        anew: the plan of the room, where all foods are planned anew and not only shared.
        helps_at: it cannot help before, where that is known. due: by when it was told to be
            bought, once that is over.
    """

    room: Room
    saves_j: dict[_Key, float]
    against: tuple[str, ...]
    told: Callable[[FeedingPlan, Lack], _Told | None]
    act: Act
    of: str = ""
    foods: Collection[str] = ()
    kind: str = ""
    feedings: Sequence[Round] = field(factory=tuple)
    fetch: timedelta = timedelta(0)
    helps_at: datetime | None = None
    due: datetime | None = None
    anew: Callable[[], FeedingPlan] | None = None


@frozen(eq=False)
class _Fetched:
    """Nauplii that are fetched for a lack.

    Attributes:
        got: the round at which they are got. fed: of the gaps those that they fill.
    """

    lack: Lack
    got: Round
    fed: _Fills

    @property
    def effect_j(self) -> float:
        """How much less would be missing [J]."""
        return sum(fills_j for _, fills_j in self.fed)

    @property
    def helps(self) -> bool:
        """Whether that is enough of the lack."""
        return self.effect_j >= HELPS_FROM * sum(gap.short_j for gap in self.lack.gaps)


def find_remedies(
    outlook: Outlook, limits: Limits, lacks: Sequence[Lack], hunger: Hunger | None = None
) -> list[tuple[Remedy, ...]]:
    """For each lack what really helps, the most effective first.

    Args:
        hunger: of the broods that go short; None where nobody asks who starves.
    """
    missing = [lack for lack in lacks if lack.limit != UNMEASURED]
    trials = _MOST_TRIALS - (len(missing) < len(lacks))  # finer tools are one
    found = iter(_Finder(outlook, limits, missing, hunger).find(trials))
    finer = finer_tools(outlook)
    return [
        tuple(finer(lack)) if lack.limit == UNMEASURED else next(found) for lack in lacks
    ]  # fmt: skip


class _Finder:
    def __init__(
        self, outlook: Outlook, limits: Limits, lacks: Sequence[Lack], hunger: Hunger | None = None
    ) -> None:
        self.known = limits
        self.outlook, self.lacks, self.room, self.now = outlook, lacks, outlook.room, outlook.now
        self.gaps = {gap.key: gap for lack in lacks for gap in lack.gaps}
        self.limits = {gap.key: lack.limit for lack in lacks for gap in lack.gaps}
        self.left = {key: gap.short_j for key, gap in self.gaps.items()}
        self.found: list[list[Remedy]] = [[] for _ in lacks]
        #: The gaps of shortfalls in which fry starve.
        self.starving = {
            gap.key for lack in lacks if hunger and hunger.toll(lack.gaps).starves_at
            for gap in lack.gaps
        }  # fmt: skip
        self.suits: dict[tuple[str, float, str], float] = {}
        self.fetch = self.room.fetched_in("starter")
        self.keepers = [r for r in outlook.feedings if r.keeper and r.at >= self.now]

    def find(self, trials: int = _MOST_TRIALS) -> list[tuple[Remedy, ...]]:
        """For each lack what helps, after so many trials at most besides of what was told."""
        for change in self._changes():
            again = is_advised(self.room, change.act, change.of)
            if (trials > 0 or again) and self._may_help(change):
                trials -= 1
                self._confirm(change)
        for lack, found in zip(self.lacks, self.found, strict=True):
            if lack.limit == OUT:
                found += self._dry(lack)
        self._fetch()
        return [tuple(sorted(f, key=lambda r: (-r.effect_j, r.by))) for f in self.found]

    def _fetch(self) -> None:
        """Adds nauplii that are fetched where nothing else helps, those of a day as one errand."""
        open_ones = [lack for lack, found in zip(self.lacks, self.found, strict=True) if not found]
        ready = [(lack, fills) for lack in open_ones if (fills := self._ready_made(lack))]
        ready.sort(key=_first_fed)
        for _, same_day in groupby(ready, lambda one: _first_fed(one).date()):
            mine = [*same_day]
            got = mine[0][1][0][0].feeding
            fetched = [_Fetched(lack, got, self._kept(fills, got)) for lack, fills in mine]
            errand = [each for each in fetched if each.helps]
            for lack, remedy in self._errand(errand) if self._is_errand(errand) else ():
                self.found[self.lacks.index(lack)].append(remedy)

    def _changes(self) -> Iterator[_Change]:
        """What may be done, the cheapest first, each in the light of what was tried before; what
        was told before all else.
        """
        tried: set[str] = set()
        offers: list[tuple[Act, Callable[[], Iterator[_Change]]]] = [
            (Act.ASK, self._helper),
            (Act.WARM, self._warmer),
            (Act.BUY, self._cysts),
            (Act.START, lambda: self._culture(tried, ripe=False)),
            (Act.ADD, self._wider),
            (Act.START, lambda: self._culture(tried, ripe=False)),
            (Act.VESSEL, self._vessel),
            (Act.HATCH, self._hatchery),
            (Act.RIPE, lambda: self._culture(tried, ripe=True)),
        ]
        again = [act for act, _ in dict.fromkeys(advice.key for advice in self.room.advised)]
        told, others = list[Callable[[], Iterator[_Change]]](), []
        for act, offer in offers:
            if act in again:
                again.remove(act)
                told.append(offer)
            else:
                others.append(offer)
        for offer in (*told, *others):
            yield from offer()

    def _saved(self, change: _Change, key: _Key) -> float:
        """What a change may save at a gap of what is still to be saved there [J]."""
        if change.helps_at is not None and self.gaps[key].feeding.at < change.helps_at:
            return 0.0
        advised = is_advised(self.room, change.act, change.of)
        meant = advised or self.limits[key] in change.against
        open_j = self.gaps[key].short_j if meant else self.left[key]
        return min(change.saves_j.get(key, 0.0), open_j)

    def _may_help(self, change: _Change) -> bool:
        """Whether it may save enough of any lack that something is still wanted for."""
        least = least_share(self.room, change.act, change.of)
        left_j = {key: gap.short_j - self._saved(change, key) for key, gap in self.gaps.items()}
        return self._is_worth(change.act, change.of, self.gaps.values(), left_j) and any(
            sum(gap.short_j - left_j[gap.key] for gap in lack.gaps)
            >= least * sum(gap.short_j for gap in lack.gaps)
            for lack in self.lacks
        )  # fmt: skip

    def _is_worth(
        self, act: Act, of: str, gaps: Iterable[Gap], left_j: Mapping[_Key, float]
    ) -> bool:
        """Whether what a change fills of some gaps is worth the errand; where fry starve all is.

        What was told stays for half of that.
        """
        if act not in _ERRANDS:
            return True
        gaps = list(gaps)
        filled = (g.key for g in gaps if left_j.get(g.key, 0.0) < g.short_j)
        least = _WORTH_FETCHING if act is Act.FETCH else WORTH_GETTING
        least = least / 2.0 if is_advised(self.room, act, of) else least
        return not self.starving.isdisjoint(filled) or missed_meals(gaps, left_j) >= least

    def _confirm(self, change: _Change) -> None:
        """Tries a changed room, and keeps what that gains for each lack."""
        outlook, feedings = self.outlook, change.feedings or self.outlook.feedings
        plan = change.anew() if change.anew is not None else reshare(
            outlook.feeding, self.room, change.room, feedings, start=self.now, needs=outlook.needs,
            foods=change.foods, added=change.kind,
        )  # fmt: skip
        if self._unfed(plan, feedings) >= self._unfed(outlook.feeding, outlook.feedings):
            return  # what it gives here it takes elsewhere
        lines, _ = measure(change.room, plan)
        gaps = find_gaps(feedings, outlook.needs, plan, lines)
        missing, helps = {gap.key: gap.short_j for gap in gaps}, []
        ahead = _in_time(change, self.gaps.values())
        if not self._is_worth(change.act, change.of, ahead, missing):
            return
        share = least_share(self.room, change.act, change.of)
        for lack, found in zip(self.lacks, self.found, strict=True):
            helped = _in_time(change, lack.gaps)
            effect = sum(g.short_j - missing.get(g.key, 0.0) for g in helped)
            least = share * sum(gap.short_j for gap in lack.gaps)
            told = change.told(plan, lack) if effect >= least else None
            asks = change.act is Act.ASK
            if told is not None and (asks or told[1] >= self.now):
                since = _helps_from(lack.gaps, helped, missing)
                still = helped_until(outlook, lack.gaps, told[1]) if asks else None
                remedy = Remedy(*told, effect, change.fetch, since, act=change.act, of=change.of,
                                still=still)  # fmt: skip
                if change.due is not None:
                    remedy = evolve(remedy, by=change.due, still=remedy.by)
                helps.append((found, remedy))
                for gap in helped:
                    self.left[gap.key] = min(self.left[gap.key], missing.get(gap.key, 0.0))
        first = min((remedy.by for _, remedy in helps), default=self.now)
        for found, remedy in helps:  # what was told is what is wanted first
            advised = as_advised(self.room, self.now, remedy)
            found.append(advised if remedy.by == first else evolve(advised, was=None))

    def _unfed(self, plan: FeedingPlan, feedings: Sequence[Round]) -> float:
        """What all broods miss in the shown time, before syringe and scale round it [J]."""
        total = 0.0
        for feeding, row, wanted in zip(feedings, plan.servings, self.outlook.needs, strict=True):
            if self.now <= feeding.at < self.outlook.until:
                unfed = (need.energy_j for need in wanted)
                total += sum((s.missing_j() for s in row) if feeding.fed else unfed)
        return total

    def _helper(self) -> Iterator[_Change]:
        """Somebody who feeds in all absences in which something is missing."""
        mine = worth_asking(self.room, self.gaps.values(), self.starving)
        asked = {gap.key for gap in mine}
        helped = with_help(self.outlook, mine)
        if helped is None:
            return

        def told(_: FeedingPlan, lack: Lack) -> _Told | None:
            by = help_by(self.outlook, [gap for gap in lack.gaps if gap.key in asked])
            return None if by is None else (ASK_HELP, by)

        room, feedings = helped
        saves = {gap.key: gap.short_j for gap in mine}
        yield _Change(room, saves, ("away",), told, Act.ASK, "", self._foods(), feedings=feedings)

    def _foods(self) -> tuple[str, ...]:
        """Worms and nauplii that the room has."""
        return *self.outlook.feeding.worms, BRINE_SHRIMP

    def _cysts(self) -> Iterator[_Change]:
        """Cysts, where the tin runs out, or there is none."""
        wanted = cysts_to_buy(self.outlook)
        if wanted is not None:
            what, by = f"buy {number(wanted.grams, 4)} g of cysts", self._still(wanted.at)
            by = stands_by(self.room, self.now, Act.BUY, "cysts", by)

            def told(_: FeedingPlan, lack: Lack) -> _Told | None:
                return (what, by) if lack.gaps[-1].feeding.at > by else None  # not after the harm

            helps_at = self._hatched_from(by + self.room.fetched_in("cysts"))
            room = with_cysts(self.room, wanted.grams)
            yield _Change(room, self._hatched(("tin",), math.inf), ("tin",), told, Act.BUY, "cysts",
                          (BRINE_SHRIMP,), helps_at=helps_at, due=self._due(wanted))  # fmt: skip

    def _due(self, wanted: Purchase) -> datetime | None:
        """The end of the day by which something was told to be bought, once that is over."""
        if wanted.due is None:
            return None
        return self.room.local(wanted.due, self.room.awake[1])

    def _hatched_from(self, at: datetime) -> datetime:
        """When cysts that are there from a time on give nauplii at the soonest."""
        models = [vessel_model(self.room, vessel) for vessel in self.room.vessels]
        ripe = [m.window(LEAST_HATCH)[0] for m in models if m.rate > 0]
        return at + timedelta(hours=min(ripe, default=0.0))

    def _warmer(self) -> Iterator[_Change]:
        """Vessels in which hatches are slow, in warm water."""
        slow = slow_vessels(self.room)
        if not slow or self.room.cysts is None:
            return
        room, names = with_warm_vessels(self.room, slow, self.now), {v.name for v in slow}

        def told(plan: FeedingPlan, lack: Lack) -> _Told | None:
            ahead = self._settings(plan, lack, names)
            return (warm_words(self.room, slow), min(ahead)) if ahead else None

        warm = [vessel for vessel in room.vessels if vessel.name in names]
        ripe_h = min(vessel_model(room, v).window(LEAST_HATCH)[0] for v in warm)
        saves = self._hatched(_SLOWED, sum(self._most_j(v, room) for v in warm))
        yield _Change(room, saves, _SLOWED, told, Act.WARM, "", (BRINE_SHRIMP,),
                      helps_at=self.now + timedelta(hours=ripe_h))  # fmt: skip

    def _hatchery(self) -> Iterator[_Change]:
        """Brine shrimp, where nothing is there to hatch them in."""
        if self.room.vessels:
            return
        room = with_hatchery(self.room, self.now)
        (bottle,) = room.vessels
        fetch = self.room.fetched_in(CYSTS)
        model = vessel_model(room, bottle)
        helps_at = self.now + fetch + timedelta(hours=model.window(LEAST_HATCH)[0])
        saves = self._eaten(BRINE_SHRIMP, hours(helps_at), self._most_j(bottle, room))
        takes = [g.need.brood for g in self.gaps.values() if self._takes(g, BRINE_SHRIMP)]
        room = with_food(room, BRINE_SHRIMP, dict.fromkeys(brood.name for brood in takes))

        asks = dict.fromkeys(b.name for b in takes if BRINE_SHRIMP not in (b.foods or _SHRIMP))

        def anew() -> FeedingPlan:
            feedings = self.outlook.feedings
            needs = room_needs(room, feedings)
            return plan_feeding(room, feedings, start=self.now, needs=needs)

        def told(plan: FeedingPlan, lack: Lack) -> _Told | None:
            ahead = self._settings(plan, lack, [bottle.name])
            if not ahead:
                return None
            by = self._still(min(ahead) - fetch)
            by = stands_by(self.room, self.now, Act.HATCH, "", by)
            bought = self._to_begin(room, plan.hatches)
            return hatchery_words(self.room, bottle, *bought, asks), by

        yield _Change(room, saves, ("no vessel", "learning"), told, Act.HATCH, "",
                      helps_at=helps_at, anew=anew)  # fmt: skip

    def _to_begin(self, room: Room, plan: HatchPlan) -> tuple[float, float]:
        """The cysts and the salt that are bought to begin with, as they would be told once the room
        hatches by a plan [g]; 0 where there is enough.
        """
        salt = [
            Use(SALT, room.at_hour(b.set_h), b.vessel.litres * b.vessel.salinity_g_per_l)
            for b in plan.batches
        ]  # fmt: skip

        def packed(used: Sequence[Use], stock_g: float) -> float:
            found = purchase(used, stock_g, self.outlook.feedings, self.now, timedelta(0),
                             self.room.units)  # fmt: skip
            return 0.0 if found is None else found.grams

        cysts_g = packed(cyst_uses(room, plan), self.room.tin.in_all)
        return cysts_g, packed(salt, self.room.stock_g.get(SALT, 0.0))

    def _settings(self, plan: FeedingPlan, lack: Lack, names: Collection[str]) -> list[datetime]:
        """When a plan sets hatches in some vessels that are drawn off by the end of a lack."""
        sets = [
            self.room.at_hour(b.set_h) for b in plan.hatches.batches
            if b.vessel.name in names
            and b.at_index <= lack.gaps[-1].feeding.index
        ]  # fmt: skip
        return [at for at in sets if at >= self.now]

    def _most_j(self, vessel: Vessel, room: Room | None = None) -> float:
        """The most that a hatch in a vessel can give [J]; ``room``: another than that of now."""
        model = vessel_model(room or self.room, vessel)
        full_j = model.energy(model.best_hours()) if model.rate > 0 else 0.0
        return full_j * self.room.hatch_kind.most_grams(vessel.litres)

    def _vessel(self) -> Iterator[_Change]:
        """One more vessel like the largest."""
        if not self.room.vessels or self.room.cysts is None:
            return
        largest = max(self.room.vessels, key=lambda v: v.litres)
        name = f"one more {largest.litres:g} L vessel"

        def told(plan: FeedingPlan, lack: Lack) -> _Told | None:
            ahead = self._settings(plan, lack, [name])
            return (f"set hatches in {name}", min(ahead)) if ahead else None

        saves = self._hatched(("vessels",), self._most_j(largest))
        room = with_vessel(self.room, largest_again(self.room, name))
        yield _Change(room, saves, ("vessels",), told, Act.VESSEL, f"{largest.litres:g} L",
                      (BRINE_SHRIMP,), fetch=SHOP)  # fmt: skip

    def _wider(self) -> Iterator[_Change]:
        """What the room has besides, for broods that get only some of it."""
        broods = {gap.need.brood.name for gap in self.gaps.values()}
        has = kept_foods(self.room)
        saves = {
            key: gap.short_j for key, gap in self.gaps.items()
            if gap.need.brood.foods is not None and gap.feeding.fed
            and any(self._takes(gap, f) for f in has if f not in gap.need.brood.foods)
        }  # fmt: skip
        room = self.room
        for food in has:
            room = with_food(room, food, broods)

        def told(plan: FeedingPlan, lack: Lack) -> _Told | None:
            mine = {gap.key for gap in lack.gaps}
            new = [
                (food, s.need.brood.name)
                for i in sorted({i for i, _ in mine})
                for s in plan.servings[i] if (i, s.need.brood.name) in mine
                for food, j in s.given_j.items()
                if j > 0 and food not in (self.room.brood(s.need.brood.name).foods or has)
            ]  # fmt: skip
            if not new:
                return None
            names = dict.fromkeys(brood for _, brood in new)  # the others may eat it already
            foods = ", ".join(food_words(food) for food in sorted({food for food, _ in new}))
            return f"add {foods} to the foods of {', '.join(names)}", lack.gaps[0].feeding.at

        of = f"{', '.join(has)} for {', '.join(sorted(broods))}"
        yield _Change(room, saves, (), told, Act.ADD, of, self._foods())

    def _culture(self, tried: set[str], *, ripe: bool) -> Iterator[_Change]:
        """A culture of the kind that may save most: from a starter, or ripe as somebody has it."""
        kinds = [k for k in self.room.kinds.values() if isinstance(k, WormKind)]
        options, act = [], Act.RIPE if ripe else Act.START
        for kind in sorted(kinds, key=lambda k: (k.values["width_um"], k.name)):
            if kind.name in tried and not ripe:
                continue
            pattern = usual_culture(self.room, kind)
            start = self._start(pattern, act)
            if start is not None and math.isfinite(start[1]):
                at, ripe_h = start
                saves = self._eaten(kind.name, ripe_h, self._gives_j(pattern))
                total = sum(min(self.left[key], j) for key, j in saves.items())
                again = is_advised(self.room, act, kind.name)
                options.append((again, total, kind, at, ripe_h, saves))
        if not options:
            return
        _, _, kind, at, ripe_h, saves = max(options, key=lambda o: o[:2])
        tried.add(kind.name)
        name = f"{'ripe' if ripe else 'bought'} {kind.label}"
        started = bought_culture(self.room, kind, at.at.date(), name)
        if ripe:
            started = evolve(started, mark=_in_full_harvest(started, at.at_h))
        takes = [g.need.brood for g in self.gaps.values() if self._takes(g, kind.name)]
        broods = dict.fromkeys(brood.name for brood in takes)
        asks = dict.fromkeys(b.name for b in takes if kind.name not in (b.foods or (kind.name,)))
        what = start_words(self.room, kind, asks, ripe=ripe)
        room = with_food(with_culture(self.room, started), kind.name, broods)

        def told(_: FeedingPlan, lack: Lack) -> _Told:
            # It is one culture: begun at that round it helps all of that week. Against what is
            # short later alone it may wait.
            alone = self._begun_by(usual_culture(self.room, kind), act, lack.gaps)
            waits = alone is not None and alone.at > at.at + STANDS
            return what, alone.at if alone is not None and waits else at.at

        against = ("none", "unripe", "thin", "mouth")
        yield _Change(
            room, saves, against, told, act, kind.name, kind=kind.name, fetch=self.fetch,
            helps_at=self.room.at_hour(ripe_h),
        )  # fmt: skip

    def _dry(self, lack: Lack) -> Iterator[Remedy]:
        """Dry food that is used up before any that is bought can come: what helps until then, and
        what helps from then on.
        """
        servings = self.outlook.feeding.servings
        grams, effect_j = dry_wanting(lack.gaps, servings, self.room.units)
        what = f"get {number(grams, 4)} g of dry food at once, from another keeper or a shop"
        first = lack.gaps[0].feeding.at
        before = [r.at for r in rounds_there(self.outlook) if r.at <= first]
        by = self._still(before[-1] if before else first)
        yield as_advised(self.room, self.now, Remedy(
            what, by, effect_j, act=Act.FETCH, of=DRY, amount=grams
        ))  # fmt: skip
        bought = dry_to_buy(self.outlook)
        if bought is not None:
            what, by = f"buy {number(bought.grams, 4)} g of dry food", self._still(bought.at)
            by = stands_by(self.room, self.now, Act.BUY, DRY, by)
            had = by + self.room.fetched_in(DRY)
            helps_from = next((r.at for r in self.keepers if r.at >= had), had)
            due = self._due(bought)
            yield as_advised(self.room, self.now, Remedy(
                what, due or by, 0.0, helps_from=helps_from, act=Act.BUY, of=DRY,
                still=by if due else None,
            ))  # fmt: skip

    def _still(self, at: datetime) -> datetime:
        """A time, or once that is over the end of the keeper's day."""
        evening = self.room.local(self.now.date(), self.room.awake[1])
        return at if at >= self.now else max(self.now, evening)

    def _ready_made(self, lack: Lack) -> _Fills:
        """The gaps that nauplii would fill that somebody else hatched: at rounds at which the
        keeper can give them.
        """
        return [
            (g, fills_j) for g in lack.gaps
            if g.feeding.at >= self.now and g.feeding.keeper and not g.rounded
            and self._takes(g, BRINE_SHRIMP)
            and (fills_j := self._open_to(g, BRINE_SHRIMP)) > 0.0
        ]  # fmt: skip

    def _kept(self, fills: _Fills, got: Round) -> _Fills:
        """Of some gaps those that are filled of nauplii got at a round while these keep."""
        keeps = holding_of(self.room).still_feeds
        return [
            (gap, j) for gap, j in fills
            if gap.feeding.index == got.index or keeps(got.at_h, gap.feeding.at_h)
        ]  # fmt: skip

    def _is_errand(self, fetched: Iterable[_Fetched]) -> bool:
        """Whether what is fetched for some lacks at one time is worth it, all together."""
        fed = [each for one in fetched for each in one.fed]
        left_j = {gap.key: gap.short_j - fills_j for gap, fills_j in fed}
        return self._is_worth(Act.FETCH, BRINE_SHRIMP, [gap for gap, _ in fed], left_j)

    def _errand(self, errand: Sequence[_Fetched]) -> Iterator[tuple[Lack, Remedy]]:
        """For each lack what is fetched for all of them at one time: that is one errand."""
        got = errand[0].got
        rounds = {gap.feeding.index for fetched in errand for gap, _ in fetched.fed}
        whole_j = sum(fetched.effect_j for fetched in errand)
        each = natural_amount(self.room, BRINE_SHRIMP, whole_j / len(rounds)).value
        what = f"get hatched nauplii from another keeper or a shop, about {number(each, 2)}"
        what += " a round" if len(rounds) > 1 else ""
        for fetched in errand:
            first = fetched.fed[0][0].feeding.at
            since = first if first > fetched.lack.gaps[0].feeding.at else None
            yield fetched.lack, as_advised(self.room, self.now, Remedy(
                what, got.at, fetched.effect_j, SHOP, since, act=Act.FETCH, of=BRINE_SHRIMP,
                amount=each,
            ))  # fmt: skip

    def _start(self, pattern: Culture, act: Act) -> tuple[Round, float] | None:
        """When a culture is to be had, and when it gives [h]: in time for the first gap that it
        can serve at all, and no sooner than needed, or as was told; None where the shelf is full.
        """
        last = self._begun_by(pattern, act, self.gaps.values())
        if last is None:
            return None
        by = stands_by(self.room, self.now, act, pattern.kind.name, last.at)
        start = next((r for r in self.keepers if r.at == by), last)
        if self._shelf_full(start.index):
            return None
        clock, age = self._ripening(pattern, act)
        return start, clock.when(start.at_h, age)

    def _begun_by(self, pattern: Culture, act: Act, gaps: Iterable[Gap]) -> Round | None:
        """The last round at which a culture is to be had for the first of some gaps that it can
        serve at all.
        """
        there = [r for r in self.keepers if r.at >= self.now + self.fetch]
        clock, age = self._ripening(pattern, act)
        rounds = sorted({g.feeding.at_h for g in gaps if self._takes(g, pattern.kind.name)})
        for at_h in rounds:
            in_time = [r for r in there if r.at_h <= at_h and clock.days(r.at_h, at_h) >= age]
            if in_time:
                return in_time[-1]
        return None

    def _ripening(self, pattern: Culture, act: Act) -> tuple[Clock, float]:
        """The clock of a culture, and how old it is on that when it first gives [d]."""
        clock = culture_clock(
            self.room, evolve(pattern, started=self.now.date()), self.outlook.feedings
        )
        return clock.growing, 0.0 if act is Act.RIPE else pattern.ripe_age()

    def _gives_j(self, culture: Culture) -> float:
        """The most that a culture, and what is split from it, gives a round [J]: its whole stock
        once, as far as it climbs.
        """
        model = culture.model()
        return model.climbing_fraction * model.capacity_mg * culture.kind.fed_j_per_mg

    def _eaten(self, food: str, from_h: float, round_j: float) -> dict[_Key, float]:
        """How much of each gap a food may fill that comes from a time on, so much a round [J]."""
        saves: dict[_Key, float] = {}
        rounds: dict[int, float] = {}
        for key, gap in self.gaps.items():
            if gap.feeding.at_h >= from_h and self._takes(gap, food):
                saves[key] = min(gap.short_j, rounds.get(key[0], round_j))
                rounds[key[0]] = rounds.get(key[0], round_j) - saves[key]
        return saves

    def _hatched(self, limits: Container[str], round_j: float) -> dict[_Key, float]:
        """The same of nauplii, where a limit of theirs is lifted."""
        rounds = {index for index, _ in self.gaps}
        held_up = {i for i in rounds if self.known.of_food(BRINE_SHRIMP, i) in limits}
        eaten = self._eaten(BRINE_SHRIMP, 0.0, round_j)
        return {key: j for key, j in eaten.items() if key[0] in held_up}

    def _takes(self, gap: Gap, food: str) -> bool:
        return gap.feeding.fed and self._suits(gap, food) >= STAND_IN_FROM

    def _suits(self, gap: Gap, food: str) -> float:
        need = gap.need
        known = need.brood.fry_class.name, need.length_mm, food
        if known not in self.suits:
            found = suitability(self.room.food(food), need.brood.fry_class, need.length_mm)
            self.suits[known] = found
        return self.suits[known]

    def _open_to(self, gap: Gap, food: str) -> float:
        """How much of a gap more of a food would fill, were there any [J]: the mouths take as much
        as the plan would give them, and no more.
        """
        need, servings = gap.need, self.outlook.feeding.servings[gap.feeding.index]
        mine = next(s for s in servings if s.need.brood.name == need.brood.name)
        share = Fit.of({food: self._suits(gap, food)}).stands_in.get(food, 0.0)
        most_j = max(mine.want_j.get(food, 0.0), share * need.energy_j)
        return min(gap.short_j, max(0.0, most_j - mine.given_j.get(food, 0.0)))

    def _shelf_full(self, index: int) -> bool:
        if self.room.shelf is None:
            return False
        stages = [s for plan in self.outlook.feeding.worms.values() for s in plan.stages]
        return sum(1 for s in stages if s.first <= index < s.spent_from) >= self.room.shelf


def _first_fed(ready: tuple[Lack, _Fills]) -> datetime:
    """The first round at which nauplii fill gaps of a lack."""
    return ready[1][0][0].feeding.at


def _in_time(change: _Change, gaps: Iterable[Gap]) -> list[Gap]:
    """Of some gaps those that a change is in time for, as far as that is known."""
    return [g for g in gaps if change.helps_at is None or g.feeding.at >= change.helps_at]


def _helps_from(
    gaps: Sequence[Gap], helped: Sequence[Gap], missing: Mapping[_Key, float]
) -> datetime | None:
    """The first round at which gaps are filled enough; None where that is the first of all.

    Args:
        helped: of the gaps, those that may be. missing: what is left of them [J].
    """
    for at, row in groupby(helped, lambda gap: gap.feeding.at):
        mine = [*row]
        saved_j = sum(gap.short_j - missing.get(gap.key, 0.0) for gap in mine)
        if saved_j >= HELPS_FROM * sum(gap.short_j for gap in mine):
            return at if at > gaps[0].feeding.at else None
    return None


def with_help(outlook: Outlook, gaps: Iterable[Gap]) -> tuple[Room, Sequence[Round]] | None:
    """A room, and its rounds, with somebody who feeds in the absences of gaps; None without any."""
    room, rounds = outlook.room, outlook.feedings
    touched = _unhelped(room, gaps)
    if not touched:
        return None
    away = tuple(evolve(a, helper=True) if a in touched else a for a in room.away)
    room = evolve(room, away=away)
    return room, rounds_between(room, rounds[0].at, rounds[-1].at + timedelta(seconds=1))


def help_by(outlook: Outlook, gaps: Sequence[Gap]) -> datetime | None:
    """Until when somebody is to be asked to feed: as it was told of the first absence of some gaps,
    over or not. Else two evenings before it, or, once that is past, on the eve, or by the first
    round that nobody feeds; None where nobody need be asked.
    """
    moments = _help_moments(outlook.room, gaps)
    told = [a.by for a in outlook.room.advised if a.act is Act.ASK and a.by in moments]
    ahead = [moment for moment in moments if moment >= outlook.now]
    return min([*told, *ahead]) if ahead else None


def helped_until(outlook: Outlook, gaps: Sequence[Gap], by: datetime) -> datetime | None:
    """The next round that nobody feeds, by which it still helps to ask somebody, once it should
    have been done; None while there is time.
    """
    if by >= outlook.now:
        return None
    return min(g.feeding.at for g in gaps if not g.feeding.fed and g.feeding.at >= outlook.now)


def _help_moments(room: Room, gaps: Sequence[Gap]) -> list[datetime]:
    """By when somebody is to be asked, and where that is past, each time by which it still may be.

    Empty where nobody need be asked.
    """
    touched = _unhelped(room, gaps)
    if not touched:
        return []
    start = min(away.start for away in touched)
    eve, (up, down) = start - timedelta(days=1), room.awake
    called = min(_CALLED_UNTIL, down) if up < _CALLED_UNTIL else down
    return [
        room.local(start - _ASKED_AHEAD, called), room.local(eve, called), room.local(eve, down),
        *sorted(g.feeding.at for g in gaps if not g.feeding.fed),
    ]  # fmt: skip


def _unhelped(room: Room, gaps: Iterable[Gap]) -> list[Away]:
    unfed = {gap.feeding.at for gap in gaps if not gap.feeding.fed}
    found = (room.away_at(at) for at in sorted(unfed))
    return [*{id(a): a for a in found if a is not None and not a.helper}.values()]


def _in_full_harvest(culture: Culture, at_h: float) -> CultureMark:
    """A culture that somebody harvests at a time: halfway from where worms are enough to be taken
    to as many as it can hold (common practice, no source).
    """
    model = culture.model()
    stock_mg = model.capacity_mg * (1.0 + model.climbing_density) / 2.0
    return CultureMark(at_h, culture.ripe_age(), stock_mg)
