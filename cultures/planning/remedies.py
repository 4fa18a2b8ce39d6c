"""What would still help against a shortfall: each remedy is tried by planning again with it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import WormKind
from cultures.foods.worms import first_harvest_age
from cultures.fry.diet import suitability
from cultures.needs.need import BroodNeed, Round, room_needs, rounds_between
from cultures.planning.feeding_plan import SHORT_SHARE, STAND_IN_FROM, FeedingPlan, plan_feeding
from cultures.planning.gaps import Gap
from cultures.planning.supplies import cyst_uses, purchase
from cultures.planning.worm_course import Split, culture_clock
from cultures.room.room import Brood, Culture, CultureMark, Room
from cultures.tasks.plan import Remedy, Shortfall

#: A remedy counts when it takes away at least this share of what is missing.
_HELPS_FROM = 0.05
#: Trial plans kept for the next shortfall; more would fill the memory.
_MOST_TRIALS = 2
#: Somebody who is asked for a starter needs so long to bring it.
_FETCH = timedelta(days=1)


@frozen(eq=False)
class RemedyFinder:
    """Tries remedies by planning again with them.

    Attributes:
        feedings, needs, plan: the plan as it is. now, until: the time that counts.
    """

    room: Room
    feedings: tuple[Round, ...]
    needs: Sequence[Sequence[BroodNeed]]
    plan: FeedingPlan
    now: datetime
    until: datetime
    trials: dict[str, FeedingPlan] = field(factory=dict, init=False, repr=False)

    def find(self, shortfall: Shortfall, cause: str, group: Sequence[Gap]) -> tuple[Remedy, ...]:
        """Remedies that really help, the most effective first."""
        found: list[Remedy] = []
        if cause == "away":
            found += self._away(shortfall, group)
        elif cause == "mouth":
            found += self._mouth(shortfall, group)
        elif shortfall.food == BRINE_SHRIMP:
            found += self._hatches(shortfall)
        elif shortfall.food in self.room.kinds:
            found += self._cultures(shortfall)
        return tuple(sorted(found, key=lambda r: (-r.effect_j, r.by)))

    def _effect(self, shortfall: Shortfall, trial: FeedingPlan) -> float:
        """How much less is missing in the rounds of a shortfall with a remedy [J]."""
        return self._missing(self.plan, shortfall) - self._missing(trial, shortfall)

    def _missing(self, plan: FeedingPlan, shortfall: Shortfall) -> float:
        return sum(
            serving.missing_j()
            for feeding, row in zip(self.feedings, plan.servings, strict=True)
            if shortfall.at <= feeding.at <= shortfall.until
            for serving in row
            if serving.missing_j() > SHORT_SHARE * serving.need.energy_j
        )

    def _replan(self, room: Room, **changes: object) -> FeedingPlan:
        """The plan with a remedy; worms that it does not touch are not planned again."""
        return plan_feeding(
            room,
            self.feedings,
            start=self.now,
            needs=self.needs,
            memo=self.plan.memo,
            **changes,  # type: ignore[arg-type]
        )

    def _tried(self, name: str, room: Room, **changes: object) -> FeedingPlan:
        """A remedy that is the same for every shortfall, planned once."""
        if name not in self.trials:
            if len(self.trials) >= _MOST_TRIALS:
                self.trials.pop(next(iter(self.trials)))
            self.trials[name] = self._replan(room, **changes)
        return self.trials[name]

    def _keep(self, what: str, by: datetime, effect: float, shortfall: Shortfall) -> list[Remedy]:
        if by < self.now or effect < _HELPS_FROM * shortfall.short_j:
            return []
        return [Remedy(what=what, by=by, effect_j=effect)]

    def _hatches(self, shortfall: Shortfall) -> list[Remedy]:
        found: list[Remedy] = []
        if not self.room.vessels:
            return found
        if self.plan.hatches.tin_short:
            tin_g = self.room.cysts.grams if self.room.cysts is not None else 0.0
            wanted = purchase(
                cyst_uses(self.room, self.plan.hatches), tin_g, self.feedings, self.now
            )
            if wanted is None:
                return found
            trial = self._tried("cysts", self.room, extra_cysts_g=wanted.grams)
            effect = self._effect(shortfall, trial)
            found += self._keep(f"buy {wanted.grams:.0f} g of cysts", wanted.at, effect, shortfall)
            return found  # a larger vessel does not fill an empty tin
        largest = max(self.room.vessels, key=lambda v: v.litres)
        more = f"one more {largest.litres:g} L vessel"
        twin = evolve(largest, name=more)
        trial = self._tried("vessel", evolve(self.room, vessels=(*self.room.vessels, twin)))
        effect = self._effect(shortfall, trial)
        sets = [
            self.room.at_hour(b.set_h)
            for b in trial.hatches.batches
            if b.vessel.name == more and self.room.at_hour(b.harvest_h) <= shortfall.until
        ]
        ahead = [at for at in sets if at >= self.now]
        if ahead:
            found += self._keep(f"set hatches in {more}", min(ahead), effect, shortfall)
        return found

    def _cultures(self, shortfall: Shortfall) -> list[Remedy]:
        kind = self.room.kinds[shortfall.food]
        if not isinstance(kind, WormKind):
            return []
        pattern = next((c for c in self.room.cultures if c.kind.name == kind.name), None)
        pattern = usual_culture(kind) if pattern is None else evolve(pattern, mark=None)
        feeding = self._last_start(pattern, shortfall)
        if feeding is None or self._shelf_full(feeding.index):
            return []
        bought = Split("", evolve(pattern, name="bought", started=feeding.at.date()), feeding.index)
        trial = self._tried(f"{kind.name} {feeding.index}", self.room, bought={kind.name: [bought]})
        return self._keep(
            f"start one more {kind.label} culture from a bought starter",
            feeding.at, self._effect(shortfall, trial), shortfall,
        )  # fmt: skip

    def _last_start(self, pattern: Culture, shortfall: Shortfall) -> Round | None:
        """The latest round at which a culture may be started to give in a shortfall, or the
        next one when it is too late for the first rounds of it.
        """
        ripening = first_harvest_age(
            pattern.kind.model(medium_g=pattern.medium_g, surface_cm2=pattern.surface_cm2),
            pattern.starter_g * pattern.kind.values["starter_mg_per_g"],
        )
        clock = culture_clock(self.room, evolve(pattern, started=self.now.date()), self.feedings)
        there = [r for r in self.feedings if r.keeper and self.now <= r.at < shortfall.until]
        first_h = next(r.at_h for r in self.feedings if r.at == shortfall.at)
        in_time = [r for r in there if clock.days(r.at_h, first_h) >= ripening]
        if in_time:
            return in_time[-1]
        return next((r for r in there if r.at >= self.now + _FETCH), None)

    def _shelf_full(self, index: int) -> bool:
        if self.room.shelf is None:
            return False
        stages = [s for plan in self.plan.worms.values() for s in plan.stages]
        return sum(1 for s in stages if s.first <= index < s.spent_from) >= self.room.shelf

    def _mouth(self, shortfall: Shortfall, group: Sequence[Gap]) -> list[Remedy]:
        """A ripe culture of the smallest food that the mouths take, got by the first round."""
        need = group[0].need
        kinds = (k for k in self.room.kinds.values() if isinstance(k, WormKind))
        feeding = next((r for r in self.feedings if r.keeper and r.at >= self.now), None)
        first_h = next(r.at_h for r in self.feedings if r.at == shortfall.at)
        for kind in sorted(kinds, key=lambda k: (k.values["width_um"], k.name)):
            suits = suitability(kind.food, need.brood.fry_class, need.length_mm)
            if suits < STAND_IN_FROM or feeding is None or self._shelf_full(feeding.index):
                continue
            name = f"a ripe {kind.label} culture"
            grown = evolve(usual_culture(kind), name=name, started=feeding.at.date())
            model = kind.model(medium_g=grown.medium_g, surface_cm2=grown.surface_cm2)
            starter = grown.starter_g * kind.values["starter_mg_per_g"]
            mark = CultureMark(
                max(first_h, feeding.at_h), first_harvest_age(model, starter),
                model.capacity_mg / 2,
            )  # fmt: skip
            short = {gap.need.brood.name for gap in group}
            broods = tuple(
                _with_food(brood, kind.name) if brood.name in short else brood
                for brood in self.room.broods
            )
            room = evolve(
                self.room, broods=broods, cultures=(*self.room.cultures, evolve(grown, mark=mark))
            )
            effect = self._tried_anew(room, self.feedings, group)
            by = max(self.now, shortfall.at)
            return self._keep(f"get {name} and add it to the brood's foods", by, effect, shortfall)
        return []

    def _away(self, shortfall: Shortfall, group: Sequence[Gap]) -> list[Remedy]:
        """Somebody who feeds in all absences that the shortfall touches."""
        last = shortfall.until.date()
        touched = [
            a for a in self.room.away
            if not a.helper and a.start <= last and a.end >= shortfall.at.date()
        ]  # fmt: skip
        if not touched:
            return []
        away = tuple(evolve(a, helper=True) if a in touched else a for a in self.room.away)
        room = evolve(self.room, away=away)
        feedings = tuple(rounds_between(room, self.feedings[0].at, _after(self.feedings[-1])))
        first = min(a.start for a in touched)
        by = max(self.now, self.room.local(first, self.room.awake[0]))
        effect = self._tried_anew(room, feedings, group)
        return self._keep("ask somebody to feed (helper = true)", by, effect, shortfall)

    def _tried_anew(self, room: Room, feedings: Sequence[Round], group: Sequence[Gap]) -> float:
        """How much less the broods of some gaps miss in a changed room, all planned anew [J]."""
        trial = plan_feeding(room, feedings, start=self.now, needs=room_needs(room, feedings))
        gained = 0.0
        for gap in group:
            serving = next(
                (
                    s
                    for s in trial.servings[gap.feeding.index]
                    if s.need.brood.name == gap.need.brood.name
                ),
                None,
            )
            missing = gap.short_j if serving is None else serving.missing_j()
            gained += gap.short_j - min(gap.short_j, missing)
        return gained


def _with_food(brood: Brood, food: str) -> Brood:
    return brood if brood.foods is None else evolve(brood, foods=(*brood.foods, food))


def _after(feeding: Round) -> datetime:
    return feeding.at + timedelta(seconds=1)


def usual_culture(kind: WormKind) -> Culture:
    """A culture of usual size of a kind that the room does not keep yet."""
    solid = kind.medium == "solid"
    return Culture(
        name=f"{kind.prefix}-1",
        kind=kind,
        started=date(2000, 1, 1),
        medium_g=150.0 if solid else 1500.0,
        surface_cm2=180.0 if solid else None,
        starter_g=15.0 if solid else 150.0,
    )
