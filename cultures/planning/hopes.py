"""What spawnings that are planned, and not certain, ask of the cultures beforehand.

What is certain is planned first, as if nothing else were to come. Then cultures are started
besides, so that the first weeks of each planned brood are covered in full; such a start is left
out where it would take worms from fry that are there. Hatches come in within a day or two, so none
is planned before the spawning is confirmed, and a feeding neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import WormKind
from cultures.fry.feeding import feeding_values
from cultures.needs.need import BroodCourse, Round
from cultures.planning.feeding_plan import coming_starts, leave_out_unripe
from cultures.planning.gaps import ANY, Gap, missing_food
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import Served, Serving, Suits, falls_short
from cultures.planning.sharing import dry_bought_from, dry_left_j, give_dry, pass_on, share_out
from cultures.planning.split_plan import (
    WormPlan,
    cupboard_of,
    in_swipes_mg,
    plan_worms,
    swipe_step_mg,
)
from cultures.planning.task_ids import natural
from cultures.planning.worm_course import (
    Layouts,
    Split,
    Stage,
    child_stage,
    run_course,
)
from cultures.room.room import Brood, Room

#: A brood that is hoped for is provided for so long from its first food; by then it is certain.
PROVIDED = timedelta(days=14)
#: Worms that are missing at a round by no more than this were rounded away [mg].
_ROUNDED_MG = 1e-6


@frozen(eq=False)
class Hopes:
    """What is prepared for planned spawnings, and what would be missing.

    Attributes:
        courses: of the broods that are provided for. cultures: the new cultures that are for
            them, and which of them want each. plan: with the worms and servings that they would
            get. gaps: what they would miss.
    """

    courses: tuple[BroodCourse, ...]
    cultures: Mapping[str, tuple[BroodCourse, ...]]
    plan: FeedingPlan = field(repr=False)
    gaps: Sequence[Gap] = field(repr=False)

    def spawns(self, culture: str) -> tuple[tuple[str, str], ...]:
        """(brood, tank) of the spawnings that a culture is for; none of one that is certain."""
        return tuple((c.brood.name, c.brood.tank) for c in self.cultures.get(culture, ()))

    def short_j(self) -> float:
        """What all of them would miss over all rounds that are looked at [J]."""
        return sum(gap.short_j for gap in self.gaps)


def provided_for(room: Room, until: datetime) -> tuple[BroodCourse, ...]:
    """The planned broods that first eat before an aware time and are likely enough.

    Raises:
        RangeError: a brood whose eggs never develop.
    """
    courses = (BroodCourse.of(room, brood) for brood in likely(room))
    return tuple(c for c in courses if room.at_hour(c.first_food_h) < until)


def likely(room: Room) -> tuple[Brood, ...]:
    """The planned broods whose chance is ``least_chance`` of the feeding data or more."""
    least = feeding_values()["least_chance"]
    return tuple(brood for brood in room.hoped if brood.chance >= least)


def as_if_come(room: Room) -> Room:
    """The room with those of its planned broods that are likely enough among the certain ones."""
    coming = likely(room)
    rest = tuple(brood for brood in room.hoped if brood not in coming)
    return evolve(room, broods=(*room.broods, *coming), hoped=rest)


def prepare(
    room: Room,
    feedings: Sequence[Round],
    plan: FeedingPlan,
    courses: Sequence[BroodCourse],
    *,
    start: datetime,
) -> tuple[FeedingPlan, Hopes | None]:
    """A plan with the starts that planned spawnings want besides, and what came of it.

    Args:
        feedings: as the plan has them. plan: of what is certain. courses: of the broods that are
            hoped for; of none the plan comes back as it is. start: aware, no hatch is set before.
    """
    if not courses:
        return plan, None
    return _Preparation(room, feedings, plan, tuple(courses), start).done()


class _Preparation:
    def __init__(
        self, room: Room, feedings: Sequence[Round], plan: FeedingPlan,
        courses: tuple[BroodCourse, ...], start: datetime,
    ) -> None:  # fmt: skip
        self.room, self.feedings, self.plan, self.courses = room, feedings, plan, courses
        self.start = start
        self.alone = evolve(room, broods=tuple(c.brood for c in courses))
        self.suits = Suits(self.alone)
        self.bought = coming_starts(room, feedings)
        leave_out_unripe(
            self.alone, feedings, self.bought, self.suits, start, Layouts(self.alone, feedings)
        )
        self.rows = self._servings()
        #: By kind the worms of who is certain, with the starts made besides; and those of all.
        self.certain = dict(plan.worms)
        self.worms: dict[str, WormPlan] = {}
        self.cultures: dict[str, tuple[BroodCourse, ...]] = {}

    def _servings(self) -> list[list[Serving]]:
        """What they would be given at each round up to the last that is looked at."""
        ends = {c: self.room.at_hour(c.first_food_h) + PROVIDED for c in self.courses}
        rows = []
        for feeding in self.feedings:
            if feeding.at >= max(ends.values()):
                break
            mine = (c.need(feeding) for c, end in ends.items() if feeding.at < end)
            rows.append([
                Serving(need, self.suits.diet(need, feeding.index))
                for need in mine if need is not None
            ])  # fmt: skip
        return rows

    def done(self) -> tuple[FeedingPlan, Hopes]:
        """Plans kind by kind, from the smallest mouthful up, then the rest."""
        served = [
            row if feeding.fed else []
            for feeding, row in zip(self.feedings, self.rows, strict=False)
        ]
        order = sorted(self.alone.worm_kinds(), key=lambda k: (k.values["width_um"], k.name))
        for number, kind in enumerate(order):
            extra_j = [mg * kind.fed_j_per_mg for mg in self._plan_kind(kind, served)]
            share_out(served, kind.name, extra_j, self.suits)
            wider = [k.name for k in order[number + 1 :]]
            pass_on(served, kind.name, [*wider, BRINE_SHRIMP], self.suits)
        for serving in (s for row in served for s in row):
            if self.room.vessels and (want := serving.want_j.get(BRINE_SHRIMP, 0.0)) > 0.0:
                serving.given_j[BRINE_SHRIMP] = want  # set once they have spawned
        bought_from = dry_bought_from(self.room, self.feedings, self.start)
        rows = self.plan.servings[:bought_from]  # of who is certain
        give_dry(served, self.suits, dry_left_j(self.room, rows), len(rows))
        whole = evolve(self.plan, worms=self.certain)
        theirs = evolve(self.plan, servings=served, worms=self.worms)
        return whole, Hopes(self.courses, self.cultures, theirs, list(self._gaps()))

    def _plan_kind(self, kind: WormKind, served: Served) -> list[float]:
        """Starts what is wanted of a kind; the worms that come of it at each round besides [mg]."""
        per_mg = kind.fed_j_per_mg
        wants = [sum(s.want_j.get(kind.name, 0.0) for s in row) / per_mg for row in served]
        nothing = [0.0] * len(self.feedings)
        base = self.plan.worms.get(kind.name) or plan_worms(
            self.room, kind, self.feedings, nothing, spares=[0] * len(nothing)
        )
        given = base.course.each_mg()
        wants += nothing[len(wants) :]
        demand = [mine + want for mine, want in zip(given, wants, strict=True)]
        known = {s.culture.name for s in base.splits}
        extra = [s for s in self.bought.get(kind.name, ()) if s.culture.name not in known]
        if any(wants):
            extra += self._starts(kind, base, extra, demand, wants)
        while extra and self._takes_away(base, extra, given):
            extra.remove(max(extra, key=lambda s: (s.at_index, natural(s.culture.name))))
        stages, splits, new = _in_order(self.room, self.feedings, base, extra)
        wanting = {s.need.brood.name for row in served for s in row if kind.name in s.want_j}
        mine = tuple(c for c in self.courses if c.brood.name in wanting)
        self.cultures |= dict.fromkeys(new, mine)
        step = swipe_step_mg(kind)
        if extra and kind.name in self.certain:
            course = run_course(stages, splits, base.demand_mg, step)
            self.certain[kind.name] = evolve(base, stages=stages, splits=splits, course=course)
        course = run_course(stages, splits, [in_swipes_mg(kind, mg) for mg in demand], step)
        self.worms[kind.name] = evolve(
            base, stages=stages, splits=splits, course=course, demand_mg=demand, wanted_mg=demand
        )
        both = zip(course.each_mg()[: len(served)], given, strict=False)
        return [max(0.0, all_mg - certain_mg) for all_mg, certain_mg in both]

    def _starts(
        self, kind: WormKind, base: WormPlan, extra: Sequence[Split], demand: Sequence[float],
        wants: Sequence[float],
    ) -> list[Split]:  # fmt: skip
        """The starts that are wanted besides; spare cultures in use only while they eat."""
        usual = self.room.spare_cultures
        spares = [
            usual if want > 0.0 else min(usual, used)
            for want, used in zip(wants, base.course.usable, strict=True)
        ]
        kept = [*base.splits, *extra]
        others = [plan for name, plan in self.certain.items() if name != kind.name]
        planned = [*kept, *(split for plan in others for split in plan.splits)]
        found = plan_worms(
            self.room, kind, self.feedings, demand, kept=kept, spares=spares,
            beside=[stage for plan in others for stage in plan.stages],
            medium=cupboard_of(self.room, kind, self.feedings, self.start, planned),
        )  # fmt: skip
        known = {s.culture.name for s in kept}
        return [s for s in found.splits if s.culture.name not in known]

    def _takes_away(self, base: WormPlan, extra: Sequence[Split], given: Sequence[float]) -> bool:
        """Whether some starts leave those who are certain less at any round."""
        stages = [*base.stages, *(child_stage(self.room, s, self.feedings) for s in extra)]
        step = swipe_step_mg(base.kind)
        course = run_course(_by_age(stages), [*base.splits, *extra], base.demand_mg, step)
        now = zip(course.each_mg(), given, strict=True)
        return any(mg < before - _ROUNDED_MG for mg, before in now)

    def _gaps(self) -> Iterator[Gap]:
        """What each would miss at each round."""
        for feeding, row in zip(self.feedings, self.rows, strict=False):
            for serving in row:
                need, missing = serving.need, serving.missing_j()
                if not feeding.fed:
                    yield Gap(feeding, need, ANY, need.energy_j)
                elif falls_short(missing, need.energy_j):
                    yield Gap(feeding, need, missing_food(serving), missing)


def _by_age(stages: Iterable[Stage]) -> list[Stage]:
    return sorted(stages, key=lambda s: (s.spent_h, s.culture.name))


def _in_order(
    room: Room, feedings: Sequence[Round], base: WormPlan, extra: Sequence[Split]
) -> tuple[list[Stage], list[Split], list[str]]:
    """Cultures and starts with those made besides, and the names of the latter.

    New cultures are named in the order in which they are started, as always.
    """
    if not extra:
        return base.stages, base.splits, []
    every = [*base.splits, *extra]
    started = sorted(
        (s for s in every if s.parent), key=lambda s: (s.at_index, natural(s.culture.name))
    )
    named = sorted((s.culture.name for s in started), key=natural)
    rename = {s.culture.name: name for s, name in zip(started, named, strict=True)}
    splits = [split.renamed(rename) for split in every]
    children = {s.culture.name for s in base.splits}
    stages = [stage for stage in base.stages if stage.culture.name not in children]
    stages += [child_stage(room, split, feedings) for split in splits]
    splits.sort(key=lambda s: (s.at_index, s.culture.name))
    new = sorted((rename.get(s.culture.name, s.culture.name) for s in extra), key=natural)
    return _by_age(stages), splits, new
