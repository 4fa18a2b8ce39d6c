"""What may be done against what is missing, each as a room with that change."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import WormKind
from cultures.foods.temperature import Clock
from cultures.foods.vessels import Vessel
from cultures.needs.need import Round, room_needs
from cultures.planning.advised import (
    SHOP,
    STANDS,
    by_evening,
    due_by,
    is_advised,
    stands_by,
)
from cultures.planning.asking import ASK_HELP, help_by, with_help
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
from cultures.planning.feeding_plan import plan_feeding
from cultures.planning.gaps import Gap, worth_asking
from cultures.planning.harvests import HatchPlan
from cultures.planning.matching import FeedingPlan
from cultures.planning.open_gaps import Key, OpenGaps
from cultures.planning.shortfalls import LEAST_HATCH, SLOWED, Lack
from cultures.planning.supplies import (
    Use,
    cyst_uses,
    cysts_to_buy,
    purchase,
)
from cultures.planning.worm_course import culture_clock
from cultures.room.jars import vessel_model
from cultures.room.room import Culture, CultureMark, Room
from cultures.tasks.plan import Act, Method
from cultures.words.moments import hours
from cultures.words.quantities import food_words, number
from cultures.words.tools import CYSTS, SALT

#: What a brood without a list of foods gets of a room that hatches for the first time.
_SHRIMP = (BRINE_SHRIMP,)
#: What to do, and by when.
Told = tuple[str | Method, datetime]


@frozen(eq=False)
class Change:
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
    saves_j: dict[Key, float]
    against: tuple[str, ...]
    told: Callable[[FeedingPlan, Lack], Told | None]
    act: Act
    of: str = ""
    foods: Collection[str] = ()
    kind: str = ""
    feedings: Sequence[Round] = field(factory=tuple)
    fetch: timedelta = timedelta(0)
    helps_at: datetime | None = None
    due: datetime | None = None
    anew: Callable[[], FeedingPlan] | None = None


class Offers:
    """The changes of a room, each in the light of what is still missing when it is asked for."""

    def __init__(self, gaps: OpenGaps) -> None:
        self.open, self.outlook, self.room = gaps, gaps.outlook, gaps.room
        self.now = gaps.outlook.now
        self._fetch = self.room.fetched_in("starter")

    def __iter__(self) -> Iterator[Change]:
        """What may be done, the cheapest first, each in the light of what was tried before; what
        was told before all else.
        """
        tried: set[str] = set()
        offers: list[tuple[Act, Callable[[], Iterator[Change]]]] = [
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
        told, others = list[Callable[[], Iterator[Change]]](), []
        for act, offer in offers:
            if act in again:
                again.remove(act)
                told.append(offer)
            else:
                others.append(offer)
        for offer in (*told, *others):
            yield from offer()

    def _helper(self) -> Iterator[Change]:
        """Somebody who feeds in all absences in which something is missing."""
        mine = worth_asking(self.room, self.open.by_key.values(), self.open.starving)
        asked = {gap.key for gap in mine}
        helped = with_help(self.outlook, mine)
        if helped is None:
            return

        def told(_: FeedingPlan, lack: Lack) -> Told | None:
            by = help_by(self.outlook, [gap for gap in lack.gaps if gap.key in asked])
            return None if by is None else (ASK_HELP, by)

        room, feedings = helped
        saves = {gap.key: gap.short_j for gap in mine}
        yield Change(room, saves, ("away",), told, Act.ASK, "", self._foods(), feedings=feedings)

    def _warmer(self) -> Iterator[Change]:
        """Vessels in which hatches are slow, in warm water."""
        slow = slow_vessels(self.room)
        if not slow or self.room.cysts is None:
            return
        room, names = with_warm_vessels(self.room, slow, self.now), {v.name for v in slow}

        def told(plan: FeedingPlan, lack: Lack) -> Told | None:
            ahead = self._settings(plan, lack, names)
            return (warm_words(self.room, slow), min(ahead)) if ahead else None

        warm = [vessel for vessel in room.vessels if vessel.name in names]
        ripe_h = min(vessel_model(room, v).window(LEAST_HATCH)[0] for v in warm)
        saves = self.open.hatched(SLOWED, sum(self._most_j(v, room) for v in warm))
        yield Change(room, saves, SLOWED, told, Act.WARM, "", (BRINE_SHRIMP,),
                      helps_at=self.now + timedelta(hours=ripe_h))  # fmt: skip

    def _cysts(self) -> Iterator[Change]:
        """Cysts, where the tin runs out, or there is none."""
        wanted = cysts_to_buy(self.outlook)
        if wanted is not None:
            what = f"buy {number(wanted.grams, 4)} g of cysts"
            by = by_evening(self.room, self.now, wanted.at)
            by = stands_by(self.room, self.now, Act.BUY, "cysts", by)

            def told(_: FeedingPlan, lack: Lack) -> Told | None:
                return (what, by) if lack.gaps[-1].feeding.at > by else None  # not after the harm

            helps_at = self._hatched_from(by + self.room.fetched_in("cysts"))
            room = with_cysts(self.room, wanted.grams)
            saves = self.open.hatched(("tin",), math.inf)
            yield Change(room, saves, ("tin",), told, Act.BUY, "cysts", (BRINE_SHRIMP,),
                         helps_at=helps_at, due=due_by(self.room, wanted.due))  # fmt: skip

    def _wider(self) -> Iterator[Change]:
        """What the room has besides, for broods that get only some of it."""
        broods = {gap.need.brood.name for gap in self.open.by_key.values()}
        has = kept_foods(self.room)
        saves = {
            key: gap.short_j for key, gap in self.open.by_key.items()
            if gap.need.brood.foods is not None and gap.feeding.fed
            and any(self.open.takes(gap, f) for f in has if f not in gap.need.brood.foods)
        }  # fmt: skip
        room = self.room
        for food in has:
            room = with_food(room, food, broods)

        def told(plan: FeedingPlan, lack: Lack) -> Told | None:
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
        yield Change(room, saves, (), told, Act.ADD, of, self._foods())

    def _vessel(self) -> Iterator[Change]:
        """One more vessel like the largest."""
        if not self.room.vessels or self.room.cysts is None:
            return
        largest = max(self.room.vessels, key=lambda v: v.litres)
        name = f"one more {largest.litres:g} L vessel"

        def told(plan: FeedingPlan, lack: Lack) -> Told | None:
            ahead = self._settings(plan, lack, [name])
            return (f"set hatches in {name}", min(ahead)) if ahead else None

        saves = self.open.hatched(("vessels",), self._most_j(largest))
        room = with_vessel(self.room, largest_again(self.room, name))
        yield Change(room, saves, ("vessels",), told, Act.VESSEL, f"{largest.litres:g} L",
                      (BRINE_SHRIMP,), fetch=SHOP)  # fmt: skip

    def _hatchery(self) -> Iterator[Change]:
        """Brine shrimp, where nothing is there to hatch them in."""
        if self.room.vessels:
            return
        room = with_hatchery(self.room, self.now)
        (bottle,) = room.vessels
        fetch = self.room.fetched_in(CYSTS)
        model = vessel_model(room, bottle)
        helps_at = self.now + fetch + timedelta(hours=model.window(LEAST_HATCH)[0])
        saves = self.open.eaten(BRINE_SHRIMP, hours(helps_at), self._most_j(bottle, room))
        takes = [
            g.need.brood for g in self.open.by_key.values() if self.open.takes(g, BRINE_SHRIMP)
        ]
        room = with_food(room, BRINE_SHRIMP, dict.fromkeys(brood.name for brood in takes))

        asks = dict.fromkeys(b.name for b in takes if BRINE_SHRIMP not in (b.foods or _SHRIMP))

        def anew() -> FeedingPlan:
            feedings = self.outlook.feedings
            needs = room_needs(room, feedings)
            return plan_feeding(room, feedings, start=self.now, needs=needs)

        def told(plan: FeedingPlan, lack: Lack) -> Told | None:
            ahead = self._settings(plan, lack, [bottle.name])
            if not ahead:
                return None
            by = by_evening(self.room, self.now, min(ahead) - fetch)
            by = stands_by(self.room, self.now, Act.HATCH, "", by)
            bought = self._to_begin(room, plan.hatches)
            return hatchery_words(self.room, bottle, *bought, asks), by

        yield Change(room, saves, ("no vessel", "learning"), told, Act.HATCH, "",
                      helps_at=helps_at, anew=anew)  # fmt: skip

    def _culture(self, tried: set[str], *, ripe: bool) -> Iterator[Change]:
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
                saves = self.open.eaten(kind.name, ripe_h, self._gives_j(pattern))
                total = sum(min(self.open.left_j[key], j) for key, j in saves.items())
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
        takes = [g.need.brood for g in self.open.by_key.values() if self.open.takes(g, kind.name)]
        broods = dict.fromkeys(brood.name for brood in takes)
        asks = dict.fromkeys(b.name for b in takes if kind.name not in (b.foods or (kind.name,)))
        what = start_words(self.room, kind, asks, ripe=ripe)
        room = with_food(with_culture(self.room, started), kind.name, broods)

        def told(_: FeedingPlan, lack: Lack) -> Told:
            # It is one culture: begun at that round it helps all of that week. Against what is
            # short later alone it may wait.
            alone = self._begun_by(usual_culture(self.room, kind), act, lack.gaps)
            waits = alone is not None and alone.at > at.at + STANDS
            return what, alone.at if alone is not None and waits else at.at

        against = ("none", "unripe", "thin", "mouth")
        yield Change(
            room, saves, against, told, act, kind.name, kind=kind.name, fetch=self._fetch,
            helps_at=self.room.at_hour(ripe_h),
        )  # fmt: skip

    def _foods(self) -> tuple[str, ...]:
        """Worms and nauplii that the room has."""
        return *self.outlook.feeding.worms, BRINE_SHRIMP

    def _hatched_from(self, at: datetime) -> datetime:
        """When cysts that are there from a time on give nauplii at the soonest."""
        models = [vessel_model(self.room, vessel) for vessel in self.room.vessels]
        ripe = [m.window(LEAST_HATCH)[0] for m in models if m.rate > 0]
        return at + timedelta(hours=min(ripe, default=0.0))

    def _settings(self, plan: FeedingPlan, lack: Lack, names: Collection[str]) -> list[datetime]:
        """When a plan sets hatches in some vessels that are drawn off by the end of a lack."""
        sets = [
            self.room.at_hour(b.set_h) for b in plan.hatches.batches
            if b.vessel.name in names
            and b.at_index <= lack.gaps[-1].feeding.index
        ]  # fmt: skip
        return [at for at in sets if at >= self.now]

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

    def _most_j(self, vessel: Vessel, room: Room | None = None) -> float:
        """The most that a hatch in a vessel can give [J]; ``room``: another than that of now."""
        model = vessel_model(room or self.room, vessel)
        full_j = model.energy(model.best_hours()) if model.rate > 0 else 0.0
        return full_j * self.room.hatch_kind.most_grams(vessel.litres)

    def _start(self, pattern: Culture, act: Act) -> tuple[Round, float] | None:
        """When a culture is to be had, and when it gives [h]: in time for the first gap that it
        can serve at all, and no sooner than needed, or as was told; None where the shelf is full.
        """
        last = self._begun_by(pattern, act, self.open.by_key.values())
        if last is None:
            return None
        by = stands_by(self.room, self.now, act, pattern.kind.name, last.at)
        start = next((r for r in self.open.keepers if r.at == by), last)
        if self._shelf_full(start.index):
            return None
        clock, age = self._ripening(pattern, act)
        return start, clock.when(start.at_h, age)

    def _begun_by(self, pattern: Culture, act: Act, gaps: Iterable[Gap]) -> Round | None:
        """The last round at which a culture is to be had for the first of some gaps that it can
        serve at all.
        """
        there = [r for r in self.open.keepers if r.at >= self.now + self._fetch]
        clock, age = self._ripening(pattern, act)
        rounds = sorted({g.feeding.at_h for g in gaps if self.open.takes(g, pattern.kind.name)})
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

    def _shelf_full(self, index: int) -> bool:
        if self.room.shelf is None:
            return False
        stages = [s for plan in self.outlook.feeding.worms.values() for s in plan.stages]
        return sum(1 for s in stages if s.first <= index < s.spent_from) >= self.room.shelf


def _in_full_harvest(culture: Culture, at_h: float) -> CultureMark:
    """A culture that somebody harvests at a time: halfway from where worms are enough to be taken
    to as many as it can hold (common practice, no source).
    """
    model = culture.model()
    stock_mg = model.capacity_mg * (1.0 + model.climbing_density) / 2.0
    return CultureMark(at_h, culture.ripe_age(), stock_mg)
