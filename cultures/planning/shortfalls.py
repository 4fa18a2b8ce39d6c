"""What falls short, why, and what would still help, tried in the model."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from attrs import evolve, frozen

from cultures.kinds import WormKind
from cultures.need import BroodNeed, Round
from cultures.planning.feeding import SHORT_SHARE, FeedingPlan, Serving, plan_feeding
from cultures.planning.tasks import FeedLine, Remedy, Shortfall
from cultures.planning.worm_course import Split, culture_clock
from cultures.room import BRINE_SHRIMP, Culture, Room
from cultures.worms import first_harvest_age

#: Rounds with the same food short belong together when no more than this lies between.
_JOIN_H = 24.5
#: A remedy counts when it takes away at least this share of what is missing.
_HELPS_FROM = 0.05
_ANY = "any"


@frozen(eq=False)
class Gap:
    """One brood short of one food at one round, after all substitution [J]."""

    feeding: Round
    need: BroodNeed
    food: str
    need_j: float
    short_j: float


def find_gaps(
    feedings: Sequence[Round], needs: Sequence[Sequence[BroodNeed]], plan: FeedingPlan,
    lines: Sequence[Sequence[FeedLine]],
) -> list[Gap]:  # fmt: skip
    """Every brood and round that the plan cannot feed in full."""
    gaps: list[Gap] = []
    for feeding, by_round, row, given in zip(feedings, needs, plan.servings, lines, strict=True):
        if not feeding.fed:
            gaps += [Gap(feeding, n, _ANY, n.energy_j, n.energy_j) for n in by_round]
            continue
        energy: dict[str, float] = {}
        for line in given:
            energy[line.brood] = energy.get(line.brood, 0.0) + line.given_j
        for serving in row:
            need = serving.need
            short = need.energy_j - energy.get(need.brood.name, 0.0)
            if short > SHORT_SHARE * need.energy_j:
                food = _missing_food(serving)
                gaps.append(Gap(feeding, need, food, need.foods.get(food, need.energy_j), short))
    return gaps


def _missing_food(serving: Serving) -> str:
    """The food that is furthest behind what the ideal diet asks of it."""
    behind = {
        food: wanted - serving.given_j.get(food, 0.0) for food, wanted in serving.need.foods.items()
    }
    return max(behind, key=lambda food: (behind[food], food)) if behind else _ANY


def collect(
    room: Room, gaps: Sequence[Gap], plan: FeedingPlan, *, now: datetime, until: datetime,
    remedies: RemedyFinder | None,
) -> tuple[Shortfall, ...]:  # fmt: skip
    """Gaps from now on, joined into shortfalls by food and cause."""
    groups: list[list[Gap]] = []
    open_groups: dict[tuple[str, str], list[Gap]] = {}
    for gap in gaps:
        if not now <= gap.feeding.at < until:
            continue
        key = gap.food, _cause_kind(gap)
        group = open_groups.get(key)
        if group is None or gap.feeding.at_h - group[-1].feeding.at_h > _JOIN_H:
            group = open_groups[key] = []
            groups.append(group)
        group.append(gap)
    found = [_shortfall(room, group, plan, remedies) for group in groups]
    return tuple(sorted(found, key=lambda s: (s.at, s.food)))


def _cause_kind(gap: Gap) -> str:
    if not gap.feeding.fed:
        return "away"
    return "mouth" if not gap.need.foods else "yield"


def _shortfall(
    room: Room, group: Sequence[Gap], plan: FeedingPlan, remedies: RemedyFinder | None
) -> Shortfall:
    order = [tank.name for tank in room.tanks]
    tanks = sorted({gap.need.brood.tank for gap in group}, key=order.index)
    indices = sorted({gap.feeding.index for gap in group})
    shortfall = Shortfall(
        at=group[0].feeding.at,
        until=group[-1].feeding.at,
        rounds=len(indices),
        food=group[0].food,
        need_j=sum(gap.need_j for gap in group),
        short_j=sum(gap.short_j for gap in group),
        tanks=tuple(tanks),
        cause=_cause(room, group, plan, indices),
    )
    if remedies is None:
        return shortfall
    return evolve(shortfall, remedies=remedies.find(shortfall, _cause_kind(group[0]), group))


def _cause(room: Room, group: Sequence[Gap], plan: FeedingPlan, indices: Sequence[int]) -> str:
    kind, food = _cause_kind(group[0]), group[0].food
    if kind == "away":
        return "nobody is there to feed"
    if kind == "mouth":
        gape = group[0].need.brood.fry_class.gape_um(group[0].need.length_mm)
        return (
            f"no food of this room fits the mouth of {group[0].need.brood.name}"
            f" ({group[0].need.length_mm:.1f} mm long, gape about {gape:.0f} um)"
        )
    if food == BRINE_SHRIMP:
        return _hatch_cause(room, plan, indices)
    if food in plan.worms:
        worms = plan.worms[food]
        asked = sum(worms.demand_mg[i] for i in indices)
        given = sum(h.taken_mg for i in indices for h in worms.course.harvests[i])
        usable = min(worms.course.usable[i] for i in indices)
        label = worms.kind.label
        if not worms.stages:
            return f"there is no {label} culture"
        if usable == 0:
            return f"no {label} culture is ripe then"
        return f"the {label} cultures can give {given:.0f} of the {asked:.0f} mg asked for"
    return f"{food.replace('_', ' ')} cannot cover the need"


def _hatch_cause(room: Room, plan: FeedingPlan, indices: Sequence[int]) -> str:
    if not room.vessels:
        return "there is no vessel to hatch in"
    if plan.hatches.tin_short:
        at_h, _ = plan.hatches.tin_short[0]
        if at_h <= plan.feedings[indices[-1]].at_h:
            return f"the cyst tin runs out on {room.at_hour(at_h):%a %d %b}"
    first = min((b.harvest_h for b in plan.hatches.batches), default=None)
    if first is None or first > plan.feedings[indices[-1]].at_h:
        return "no hatch can be ripe by then"
    if any(not plan.feedings[i].keeper for i in indices):
        return "nobody is there to set and harvest hatches, and nauplii do not keep so long"
    return "the vessels are too small, or taken, for what is needed"


@frozen(eq=False)
class RemedyFinder:
    """Tries remedies by planning again with them.

    Attributes:
        until: end of the time that counts. baseline_j: missing in the plan as it is.
    """

    room: Room
    feedings: tuple[Round, ...]
    needs: Sequence[Sequence[BroodNeed]]
    plan: FeedingPlan
    start: datetime
    now: datetime
    until: datetime

    def find(self, shortfall: Shortfall, cause: str, group: Sequence[Gap]) -> tuple[Remedy, ...]:
        """Remedies that really help, the most effective first."""
        if cause == "away":
            return self._away(shortfall)
        if cause == "mouth":
            return self._mouth(shortfall, group)
        found: list[Remedy] = []
        if shortfall.food == BRINE_SHRIMP:
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
            start=self.start,
            needs=self.needs,
            memo=self.plan.memo,
            **changes,  # type: ignore[arg-type]
        )

    def _keep(self, what: str, by: datetime, effect: float, shortfall: Shortfall) -> list[Remedy]:
        if by < self.now or effect < _HELPS_FROM * shortfall.short_j:
            return []
        return [Remedy(what=what, by=by, effect_j=effect)]

    def _hatches(self, shortfall: Shortfall) -> list[Remedy]:
        found: list[Remedy] = []
        if not self.room.vessels:
            return found
        cuts = [(h, g) for h, g in self.plan.hatches.tin_short if self.room.at_hour(h) >= self.now]
        if cuts:
            grams = sum(g for _, g in cuts)
            effect = self._effect(shortfall, self._replan(self.room, extra_cysts_g=grams))
            bought = max(10.0, round(grams / 10 + 0.4999) * 10.0)
            found += self._keep(
                f"buy {bought:.0f} g of cysts", self.room.at_hour(cuts[0][0]), effect, shortfall
            )
            return found  # a larger vessel does not fill an empty tin
        largest = max(self.room.vessels, key=lambda v: v.litres)
        more = f"one more {largest.litres:g} L vessel"
        twin = evolve(largest, name=more)
        trial = self._replan(
            evolve(self.room, vessels=(*self.room.vessels, twin)),
            extra_cysts_g=0.0,
        )
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
        if pattern is None:
            pattern = _usual_culture(kind)
        found: list[Remedy] = []
        ripening = first_harvest_age(
            kind.model(medium_g=pattern.medium_g, surface_cm2=pattern.surface_cm2),
            pattern.starter_g * kind.values["starter_mg_per_g"],
        )
        clock = culture_clock(self.room, pattern, self.feedings)
        days_needed = ripening / max(1e-9, clock.days(0.0, 24.0))
        by = shortfall.at - timedelta(days=days_needed)
        choices = [by, self.now + timedelta(days=1)] if by < self.now else [by]
        for moment in choices:
            index = next(
                (
                    r.index
                    for r in reversed(self.feedings)
                    if r.keeper and self.now <= r.at <= moment
                ),
                None,
            )
            if index is None:
                continue
            bought = Split(
                "", evolve(pattern, name="bought", started=self.feedings[index].at.date()), index
            )
            trial = self._replan(self.room, bought={kind.name: [bought]})
            effect = self._effect(shortfall, trial)
            found += self._keep(
                f"start one more {kind.label} culture from a bought starter",
                self.feedings[index].at, effect, shortfall,
            )  # fmt: skip
        return found[:1]

    def _mouth(self, shortfall: Shortfall, group: Sequence[Gap]) -> tuple[Remedy, ...]:
        need = group[0].need
        smallest = sorted(
            (k for k in self.room.kinds.values() if isinstance(k, WormKind)),
            key=lambda k: k.values["width_um"],
        )
        from cultures.fry import suitability

        for kind in smallest:
            if suitability(kind.food, need.brood.fry_class, need.length_mm) >= 0.1:
                return (
                    Remedy(
                        what=f"get a ripe {kind.label} culture and add it to the brood's foods",
                        by=max(self.now, shortfall.at),
                        effect_j=shortfall.short_j,
                    ),
                )
        return ()

    def _away(self, shortfall: Shortfall) -> tuple[Remedy, ...]:
        absent = self.room.away_on(shortfall.at.date())
        if absent is None:
            return ()
        by = max(self.now, self.room.local(absent.start, self.room.awake[0]))
        return (
            Remedy(what="ask somebody to feed (helper = true)", by=by, effect_j=shortfall.short_j),
        )


def _usual_culture(kind: WormKind) -> Culture:
    """A culture of usual size of a kind that the room does not keep yet."""
    from datetime import date

    solid = kind.medium == "solid"
    return Culture(
        name=f"{kind.prefix}-1",
        kind=kind,
        started=date(2000, 1, 1),
        medium_g=150.0 if solid else 1500.0,
        surface_cm2=180.0 if solid else None,
        starter_g=15.0 if solid else 150.0,
    )
