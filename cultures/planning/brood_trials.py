"""Plans a room with one brood more, cheaply enough to try many sizes and weeks.

Whoever asks whether a brood would be fed asks it here: ``carry``, ``ready``, ``plan --if``.

The room is planned once as it is, as far as any brood to try is looked at. Up to the stretch in
which a brood first eats a plan with it is the same, so it goes on from there, up to where no more
is to be known of it.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from functools import partial

from attrs import define, evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.need import BroodCourse, BroodNeed, Round, RoundNeeds, diet_j, room_needs
from cultures.planning.amounts import measure
from cultures.planning.changes import with_brood
from cultures.planning.feeding_plan import Known, Stretch, plan_feeding
from cultures.planning.gaps import Gap, find_gaps
from cultures.planning.matching import FeedingPlan
from cultures.planning.outlook import Outlook, rounds_until
from cultures.planning.plan import plan_of
from cultures.planning.servings import SHORT_SHARE, Serving
from cultures.planning.shortfalls import Limits
from cultures.planning.supplies import cyst_uses
from cultures.planning.what_if import settings_and_splits
from cultures.planning.worm_course import Layouts
from cultures.room.room import Brood, Room
from cultures.words.moments import hours

#: A brood is looked at for so long after its first food at least, and at most.
_LEAST_LOOK = timedelta(days=14)
MOST_LOOK = timedelta(days=56)

#: A brood that misses so much of a round is not fed, whatever the syringe rounds to.
_PLAINLY = 0.2

#: Of a round of which that much is there a brood does not starve (assumption).
_HALF = 0.5

_Gaps = Mapping[tuple[int, str], Gap]


def looked_at_until(course: BroodCourse) -> datetime:
    """Until when the feeding of a brood is looked at: the midnight after it can live on dry food.

    From then on dry food fills what all others leave open. A brood that takes it early is looked
    at for two weeks of feeding; one that gets none for eight, or until it outgrows its foods.

    Returns:
        Aware, in the zone of the room.
    """
    day = course.first_food_day()
    end = _outgrown(course, day + MOST_LOOK)
    if any(food.name == DRY for food in course.foods):
        weaned_h = course.reaches(course.fry_class.values["wean_mm"])
        most_h = course.first_food_h + MOST_LOOK / timedelta(hours=1)
        end = course.room.at_hour(min(weaned_h, most_h)).date() + timedelta(days=1)
        end = max(end, day + _LEAST_LOOK)
    return course.room.local(end, time(0))


def _outgrown(course: BroodCourse, end: date) -> date:
    """The first day from which none of its foods suits a brood that some suited, or ``end``."""
    day, suited = course.first_food_day(), False
    while day < end:
        length_mm = course.length_mm(hours(course.room.local(day, time(12))))
        suits = bool(diet_j(course.room, course.foods, course.fry_class, length_mm, 1.0))
        if suited and not suits:
            return day
        suited, day = suited or suits, day + timedelta(days=1)
    return end


@frozen(eq=False)
class Trial:
    """What came of planning a room with one brood more.

    Attributes:
        gap: the first that it has, or that another has because of it; None: it is fed.
        limit, cause: of the gap, a word of :class:`Limits` and that in plain words.
        fits: about what share of the brood could be fed, 0 to 1, a guess. set_g: cysts that are
            set until it is looked at [g].
        need_j, short_j: of all rounds of the brood, and what is missing of it at those at which it
            goes short [J]; less of a trial that is given up where it plainly does.
        jumpy: the tin runs out, and holds the brood up or feeds it, by more than is called short.
            Who gets the last of it goes by jumps then: a larger brood may be fed where a smaller
            one is not.
        tin_out: when the tin runs out, where the brood goes without nauplii of its diet for that;
            fed all the same, other foods take their place.
        given_j: all that the brood is given, by food [J].
    """

    gap: Gap | None = None
    limit: str = ""
    cause: str = ""
    fits: float = 1.0
    set_g: float = 0.0
    need_j: float = 0.0
    short_j: float = 0.0
    jumpy: bool = False
    tin_out: datetime | None = None
    given_j: Mapping[str, float] = field(factory=dict, repr=False)

    @property
    def fed(self) -> bool:
        """Whether the brood is fed, and nothing that is there misses more for it."""
        return self.gap is None

    def hardly_short(self, name: str) -> bool:
        """Whether it is a brood of this name itself that goes short, by no more in all than is
        called short of a round, and at none by more than half of it.
        """
        own = self.gap is not None and self.gap.need.brood.name == name
        return own and self.short_j <= SHORT_SHARE * self.need_j and self.fits >= _HALF


@define(eq=False)
class Standing:
    """A room as it is, and its plan, to try broods in.

    Attributes:
        needs: by round, of each brood that eats then. stretches: that its plan is made of.
        gaps: of the plan, by round and brood.
        known: what its plans have in common.
    """

    room: Room
    now: datetime
    feedings: tuple[Round, ...]
    needs: RoundNeeds = field(repr=False)
    stretches: Sequence[Stretch] = field(repr=False)
    gaps: _Gaps = field(repr=False)
    known: Known = field(repr=False)

    @classmethod
    def of(cls, room: Room, now: datetime, until: datetime, *, tell: bool = False) -> Standing:
        """The room planned as it is from ``now``, to try broods looked at until a time, both aware.

        Args:
            tell: what it plans within the horizon of the room counts as told from then on, so that
                a brood moves only what must move.

        Raises:
            RangeError: a brood whose eggs never develop.
        """
        feedings = rounds_until(room, now, until)
        needs = room_needs(room, feedings)
        stretches: list[Stretch] = []
        known = Known(Layouts(room, feedings))
        plan = plan_feeding(room, feedings, start=now, needs=needs, keep=stretches, known=known)
        shown = now + timedelta(days=room.horizon_days)
        outlook = Outlook(room, now, shown, feedings, needs, plan, *measure(room, plan))
        if tell:
            told = settings_and_splits(plan_of(outlook, remedies=False), room.told)
            room = evolve(room, told=told, drafted=())
        return cls(room, now, feedings, needs, stretches, _by_key(outlook.gaps), known)

    def with_more(self, room: Room) -> Standing:
        """The same with something more in the room, which comes to use in what is still open.

        What changes who feeds, or what there is to eat, changes the plan as it is: made anew.

        Raises:
            RangeError: a brood whose eggs never develop.
        """
        if room.away != self.room.away or _foods(room) != _foods(self.room):
            return Standing.of(room, self.now, self.feedings[-1].at)
        return evolve(self, room=room)

    def trial(self, brood: Brood, until: datetime, *, whole: bool = False) -> Trial:
        """What comes of one brood more that is looked at until a time.

        Args:
            brood: not among those of the room, in one of its tanks. until: aware, not after the
                end of what is planned. whole: planned to that end, however short it goes before.

        Raises:
            RangeError: its eggs never develop.
        """
        room = with_brood(self.room, brood)
        last = len(rounds_until(room, self.now, until))
        feedings, needs, first = self._needs_with(room, brood, last)
        settled = 0

        def is_own(serving: Serving) -> bool:
            return serving.need.brood is brood and serving.need.at < until

        def plainly_short(part: FeedingPlan, rounds: int) -> bool:
            nonlocal settled
            settled = rounds
            # So short of a round, the rest need not be planned.
            return any(
                s.missing_j() > _PLAINLY * s.need.energy_j
                for row in part.servings[first:rounds] for s in row if is_own(s)
            )  # fmt: skip

        planned = partial(
            plan_feeding, room, feedings, start=self.now, needs=needs, known=self.known,
            before=next((s for s in reversed(self.stretches) if s.end <= first), None),
        )  # fmt: skip
        plan = planned() if whole else planned(enough=plainly_short)
        found = _gaps(room, plan, needs, until)
        cut = len(plan.feedings) < len(feedings)
        if cut and not any(at < settled and name == brood.name for at, name in found):
            plan = planned()  # the marks of the syringe give more than was meant
            found = _gaps(room, plan, needs, until)
        own = [s for row in plan.servings for s in row if is_own(s)]
        judged = self._judged(found, own, brood.name, until, Limits(room, plan, self.now))
        used = cyst_uses(room, plan.hatches)
        short_j = sum(gap.short_j for (_, name), gap in found.items() if name == brood.name)
        set_g = sum(use.grams for use in used if use.at < until)
        nauplii_j = sum(serving.given_j.get(BRINE_SHRIMP, 0.0) for serving in own)
        need_j = sum(serving.need.energy_j for serving in own)
        scarce = bool(plan.hatches.rationed or plan.hatches.tin_short)
        jumpy = judged.limit == "tin" or (scarce and nauplii_j > SHORT_SHARE * need_j)
        return evolve(judged, need_j=need_j, short_j=short_j, set_g=set_g, jumpy=jumpy,
                      tin_out=_tin_out(room, plan, own), given_j=_given_j(own))  # fmt: skip

    def _needs_with(
        self, room: Room, brood: Brood, last: int
    ) -> tuple[tuple[Round, ...], list[Sequence[BroodNeed]], int]:
        """The rounds up to ``last``, their needs with those of a brood, and where it first eats."""
        feedings, needs, first = self.feedings[:last], [*self.needs[:last]], last
        order = {tank.name: i for i, tank in enumerate(room.tanks)}
        course = BroodCourse.of(room, brood)
        for feeding in feedings:
            need = course.need(feeding)
            if need is not None:
                first, row = min(first, feeding.index), needs[feeding.index]
                at = bisect_right([order[n.brood.tank] for n in row], order[brood.tank])
                needs[feeding.index] = [*row[:at], need, *row[at:]]
        return feedings, needs, first

    def _judged(
        self, found: _Gaps, own: Sequence[Serving], name: str, until: datetime, limits: Limits
    ) -> Trial:
        mine = [gap for (_, whose), gap in found.items() if whose == name]
        if mine:
            fits = min(1.0 - gap.short_j / gap.need.energy_j for gap in mine)
            return _held_up(mine[0], limits, fits)
        before = {k: g for k, g in self.gaps.items() if g.feeding.at < until and _mendable(g)}
        after = {k: g for k, g in found.items() if _mendable(g)}
        old_j, eaten_j = sum(g.short_j for g in before.values()), sum(s.need.energy_j for s in own)
        taken_j = sum(gap.short_j for gap in after.values()) - old_j
        # Work that moves by a round shifts what falls short anyway a little to and fro.
        bearable_j = SHORT_SHARE * max(old_j, eaten_j)
        if taken_j <= bearable_j:
            return Trial()

        def more_j(key: tuple[int, str]) -> float:
            return after[key].short_j - (before[key].short_j if key in before else 0.0)

        fits = max(0.0, 1.0 - taken_j / eaten_j) if eaten_j else 0.0
        return _held_up(after[max(after, key=more_j)], limits, fits)


def _given_j(own: Iterable[Serving]) -> dict[str, float]:
    """What some servings give of each food [J]."""
    given: dict[str, float] = {}
    for serving in own:
        for food, energy_j in serving.given_j.items():
            if energy_j > 0.0:
                given[food] = given.get(food, 0.0) + energy_j
    return given


def _tin_out(room: Room, plan: FeedingPlan, own: Iterable[Serving]) -> datetime | None:
    """When the tin runs out, where some servings have fewer nauplii for it than their diet asks;
    what lacks before a parcel that comes is over with it.
    """
    if room.cysts is None or plan.hatches.out_h == math.inf:
        return None
    out = room.at_hour(plan.hatches.out_h)
    lacks = any(
        s.need.foods.get(BRINE_SHRIMP, 0.0) - s.given_j.get(BRINE_SHRIMP, 0.0)
        > SHORT_SHARE * s.need.energy_j
        for s in own if s.need.at >= out
    )  # fmt: skip
    return out if lacks else None


def _held_up(gap: Gap, limits: Limits, fits: float) -> Trial:
    limit = limits.of(gap)
    cause = limits.words(limit, gap.food, [gap.feeding.index], gap.need)
    return Trial(gap, limit, cause, fits)


def _foods(room: Room) -> set[str]:
    kinds = {kind.name for kind in room.worm_kinds()}
    return {*kinds, BRINE_SHRIMP} if room.vessels else kinds


def _mendable(gap: Gap) -> bool:
    """Whether more food would help: not where nothing fits the mouth, or nobody is there."""
    return bool(gap.need.foods) and gap.feeding.fed


def _gaps(room: Room, plan: FeedingPlan, needs: RoundNeeds, until: datetime) -> _Gaps:
    """The gaps of the rounds before a time."""
    end = bisect_left(plan.feedings, until, key=lambda feeding: feeding.at)
    shown = evolve(plan, feedings=plan.feedings[:end], servings=plan.servings[:end])
    lines, _ = measure(room, shown)
    return _by_key(find_gaps(shown.feedings, needs[:end], shown, lines))


def _by_key(gaps: Iterable[Gap]) -> _Gaps:
    """Gaps by round and brood; what cannot be measured out finer is given in its turn, to a brood
    of any size.
    """
    return {gap.key: gap for gap in gaps if not gap.rounded}
