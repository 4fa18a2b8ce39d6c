"""What falls short, what limits it, and what that costs a brood: how far it falls behind, and from
when on it starves.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.worms import first_harvest_age
from cultures.fry.feeding import takable
from cultures.needs.meals import Meal, Step, course_of_meals
from cultures.needs.need import BroodCourse, BroodNeed, Round
from cultures.planning.changes import hatch_hours, slow_vessels
from cultures.planning.gaps import WORTH_GETTING, Gap, missed_meals, worth_asking
from cultures.planning.harvests import DAY_H
from cultures.planning.hatch_options import CLEANING_H, harvest_time
from cultures.planning.hatch_plan import GRAM_STEP
from cultures.planning.lots import Option
from cultures.planning.matching import FeedingPlan
from cultures.planning.on_order import besides
from cultures.planning.outlook import Outlook
from cultures.planning.split_plan import WormPlan, swipe_step_mg
from cultures.planning.worm_course import Stage, run_course
from cultures.room.jars import vessel_model
from cultures.room.room import Brood, Room
from cultures.tasks.plan import Plan, Remedy, Shortfall
from cultures.words.moments import hours, spoken_day, when
from cultures.words.quantities import food_words
from cultures.words.text import listed
from cultures.words.tools import CYSTS

#: The limit of what is there, and is too little to be measured out.
UNMEASURED = "unmeasured"
#: The limit of what a helper gives who gives some foods alone.
GIVEN = "given"
#: The limit of dry food that is used up before more can come.
OUT = "out"
#: Rounds at which a food is short for one cause are one shortfall when no more than this lies
#: between [h]: a week and the hour of summer time, so that what comes back with each hatch, or each
#: Saturday, is told once (common practice, no source). Days away are each of their own.
_JOIN_H, _A_DAY_H = 169.5, 24.5
#: A mouth that takes at least this share of a food is not too small for it.
_FITS = 0.5
#: A hatch that brings less than this share of its best is no hatch to wait for.
LEAST_HATCH = 0.5
#: Limits that come of a hatch that takes long.
SLOWED = ("vessels", "cold", "early", "absent")


@frozen(eq=False)
class Lack:
    """Gaps of one food that one thing limits; ``limit`` is a word of :class:`Limits`."""

    food: str
    limit: str
    gaps: list[Gap]

    def shortfall(
        self, room: Room, limits: Limits, remedies: tuple[Remedy, ...] = (),
        hunger: Hunger | None = None,
    ) -> Shortfall:  # fmt: skip
        """The same as a keeper is told it, with what it costs by ``hunger``."""
        toll = Toll(0.0, None)
        if hunger is not None and self.limit != UNMEASURED:  # what is given in its turn evens out
            toll = hunger.toll(self.gaps)
        order = [tank.name for tank in room.tanks]
        indices = sorted({gap.feeding.index for gap in self.gaps})
        return Shortfall(
            at=self.gaps[0].feeding.at,
            until=self.gaps[-1].feeding.at,
            rounds=len(indices),
            food=self.food,
            need_j=sum(gap.need.energy_j for gap in self.gaps),
            short_j=sum(gap.short_j for gap in self.gaps),
            tanks=tuple(sorted({gap.need.brood.tank for gap in self.gaps}, key=order.index)),
            cause=limits.words(self.limit, self.food, indices, self.gaps[0].need),
            remedies=tuple(limits.while_there(remedy) for remedy in remedies),
            behind_days=toll.behind_days,
            starves_at=toll.starves_at,
            starving=toll.starving,
            limit=self.limit,
            slight=not toll.starving and self._is_slight(room),
        )

    def days(self) -> Iterator[tuple[datetime, datetime]]:
        """From when to when it lasts, day after day: its first and last round, again and again."""
        first = last = self.gaps[0].feeding
        for gap in self.gaps:
            if gap.feeding.at_h - last.at_h > _A_DAY_H:
                yield first.at, last.at
                first = gap.feeding
            last = gap.feeding
        yield first.at, last.at

    def _is_slight(self, room: Room) -> bool:
        """Whether it is too little to do anything about, as long as nobody starves."""
        if self.limit == "away":
            return not worth_asking(room, self.gaps)
        return missed_meals(self.gaps) < WORTH_GETTING


def find_lacks(outlook: Outlook, limits: Limits) -> list[Lack]:
    """The gaps of the shown time, joined."""
    shown = [g for g in outlook.gaps if outlook.now <= g.feeding.at < outlook.until]
    return join(shown, limits)


def begun_gaps(outlook: Outlook) -> list[Gap]:
    """The gaps of rounds that have begun: nobody is told of them any more, and they cost so too."""
    return [gap for gap in outlook.gaps if gap.feeding.at < outlook.now and not gap.rounded]


def join(gaps: Iterable[Gap], limits: Limits) -> list[Lack]:
    """Gaps by time, joined by food and by what limits them, where no more than a week parts them;
    of days on which nobody is there, or a helper gives some foods alone, no more than a day.
    """
    lacks: list[Lack] = []
    last: dict[tuple[str, str, str], Lack] = {}
    for gap in gaps:
        limit = limits.of(gap)
        key = gap.food, limit, gap.need.brood.name if limit in ("mouth", "meagre") else ""
        lack = last.get(key)
        apart_h = _A_DAY_H if limit in ("away", GIVEN) else _JOIN_H
        if lack is None or gap.feeding.at_h - lack.gaps[-1].feeding.at_h > apart_h:
            lack = last[key] = Lack(gap.food, limit, [])
            lacks.append(lack)
        lack.gaps.append(gap)
    return lacks


@frozen
class Short:
    """What falls short in all, of whatever food; see :func:`short_of`.

    Attributes:
        at: the first round at which somebody goes short. foods: what is missing then. every: at
            any round. share: what is missing of all that is needed until the end of the plan.
    """

    at: datetime
    foods: tuple[str, ...]
    every: tuple[str, ...]
    share: float


def short_of(plan: Plan) -> Short | None:
    """What falls short in all by a plan, so that two plans can be compared; None for nothing.

    Of which food a round is said to be short hangs on which of several is furthest behind, and
    scarce food is spread over weeks. When anybody first goes short of anything, and how much is
    missing in all, are what a loss makes worse and fewer eaters make better. Days on which
    nobody is there to feed are left out, and what only cannot be measured out.
    """
    found = [s for s in plan.shortfalls if s.certain and s.limit not in (UNMEASURED, "away")]
    if not found:
        return None
    at, short_j = min(s.at for s in found), sum(s.short_j for s in found)
    need_j = max(short_j, sum(supply.need_j for supply in plan.supply))
    every = tuple(dict.fromkeys(s.food for s in found))
    first = tuple(dict.fromkeys(s.food for s in found if s.at == at))
    return Short(at, first, every, short_j / need_j)


def _was_ripe(stage: Stage) -> bool:
    """Whether a culture was old enough to be harvested before; if none climb, it is drawn down.

    One that is younger when the plan begins is ripe when the plan can harvest it: of a poor starter
    that is later than of a good one.
    """
    culture = stage.culture
    starter_mg = culture.starter_g * culture.kind.values["starter_mg_per_g"]
    return stage.ages[0] >= first_harvest_age(stage.model, starter_mg)


class Limits:
    """What limits a food at a round, as the plan knows it: one word, and that in plain words.

    away: nobody feeds. unmeasured: so little cannot be measured out. mouth, meagre: no food fits
    the mouth, or is large enough. learning: dry food is not learnt yet. out: it is used up.
    Of worms none, unripe, thin: no culture, none ripe yet, or not enough. Of hatches no vessel,
    cold, tin, early, absent, vessels, uneven: the last where a vessel could have done more.
    """

    def __init__(self, room: Room, plan: FeedingPlan, now: datetime) -> None:
        self.room, self.plan, self.now = room, plan, now
        hatches = plan.hatches
        number = {vessel.name: k for k, vessel in enumerate(room.vessels)}
        #: As set, which is less than planned where the tin ends.
        self.grams = {
            (number[b.vessel.name], b.at_index): b.cysts_g
            for b in hatches.batches if b.vessel.name in number
        }  # fmt: skip
        every = {(lot.option.vessel, lot.option.at_index): lot.option for lot in hatches.lots}
        self.options = [*hatches.problem.options, *every.values()]
        self.chosen = [option for at, option in every.items() if at in self.grams]

    def of(self, gap: Gap) -> str:
        """What limits a gap."""
        need, index = gap.need, gap.feeding.index
        if not gap.feeding.fed:
            return "away"
        if gap.rounded:
            return UNMEASURED
        if gap.feeding.foods and (gap.food != DRY or self.of_food(DRY, index) != OUT):
            return GIVEN
        if not need.foods:
            gape = need.brood.fry_class.gape_um(need.length_mm)
            widths = [f.width_um for f in self.room.foods_of(need.brood) if f.name != DRY]
            fits = any(takable(width, gape) >= _FITS for width in widths)
            return ("meagre" if fits else "mouth") if widths else "learning"
        return self.of_food(gap.food, index)

    def of_food(self, food: str, index: int) -> str:
        """What limits a food at a round."""
        if food == DRY:
            out = any(serving.dry_out_j > 0.0 for serving in self.plan.servings[index])
            return OUT if out else "learning"
        if food == BRINE_SHRIMP:
            return self._of_hatches(index)
        worms = self.plan.worms[food]
        standing = [s for s in worms.stages if s.first <= index < s.spent_from]
        if not standing:
            return "none"
        ripe_from = worms.course.usable_from
        ripe = any(ripe_from.get(s.culture.name, index + 1) <= index for s in standing)
        return "thin" if ripe or any(_was_ripe(s) for s in standing) else "unripe"

    def _of_hatches(self, index: int) -> str:
        models = [(v, vessel_model(self.room, v)) for v in self.room.vessels]
        if not models:
            return "no vessel"
        if all(model.rate <= 0 for _, model in models):
            return "cold"
        oldest, feedings = self.plan.hatches.problem.oldest[index], self.plan.feedings
        reach = [o for o in self.options if oldest <= o.at_index <= index]
        if reach:
            if all(self._at_its_limit(o) for o in reach):
                return "vessels"
            by_h = harvest_time(self.room, self.plan.feedings[index])
            empty = self.room.tin.by(by_h - DAY_H) < self.room.hatch_kind.values["least_hatch_g"]
            return "tin" if empty or self.plan.hatches.lacks_cysts(by_h) else "uneven"
        stand = {
            b.vessel.name: b.harvest_h + CLEANING_H for b in self.plan.hatches.batches
            if b.standing and not b.held
        }  # fmt: skip
        now_h, by_h = hours(self.now), harvest_time(self.room, feedings[index])
        left = [(v, m) for v, m in models if v.lost_h is None or v.lost_h > by_h]
        if not left:
            return "no vessel"
        ready = [
            (now_h + m.window(LEAST_HATCH)[0], max(now_h, stand.get(v.name, 0.0)))
            for v, m in left
            if m.rate > 0
        ]
        if all(ripe_h > by_h for ripe_h, _ in ready):
            return "early"
        taken = all(ripe_h + free_h - now_h > by_h for ripe_h, free_h in ready)
        return "vessels" if taken else "absent"

    def _at_its_limit(self, option: Option) -> bool:
        """Whether a possible hatch is set as large as it may be, or its vessel is taken."""
        grams = self.grams.get((option.vessel, option.at_index))
        if grams is not None:
            return grams >= option.most_g - GRAM_STEP
        return any(
            o.vessel == option.vessel and o.start_h < option.end_h and option.start_h < o.end_h
            for o in self.chosen
        )

    def while_there(self, remedy: Remedy) -> Remedy:
        """A remedy by a time at which the keeper is there to act: on days away the last one before
        them, a round or, once that is over, the end of the day.
        """
        if self.room.away_at(remedy.by) is None:
            return remedy
        there = [r.at for r in self.plan.feedings if r.keeper and self.now <= r.at <= remedy.by]
        if there:
            return evolve(remedy, by=there[-1])
        if self.room.away_at(self.now) is not None:
            return remedy
        evening = self.room.local(self.now.date(), self.room.awake[1])
        return evolve(remedy, by=min(remedy.by, max(self.now, evening)))

    def words(
        self, limit: str, food: str, indices: Sequence[int], need: BroodNeed | None = None
    ) -> str:
        """What limits a food at some rounds, as a keeper is told it."""
        if limit in ("mouth", "meagre") and need is not None:
            gape = need.brood.fry_class.gape_um(need.length_mm)
            size = f"({need.length_mm:.1f} mm long, gape about {gape:.0f} µm)"
            if limit == "mouth":
                if need.brood.foods is None:
                    return f"no food that is kept here fits the mouth of {need.brood.name} {size}"
                return f"none of the foods of {need.brood.name} fits its mouth {size}"
            return f"all foods of {need.brood.name} are too small to live on {size}"
        if limit == GIVEN:
            foods = self.plan.feedings[indices[0]].foods
            return f"the helper gives {listed([food_words(each) for each in foods])} alone"
        kind = self.room.kinds.get(food)
        if isinstance(kind, WormKind) and limit in ("none", "unripe", "thin"):
            return self._worm_words(limit, kind, indices, need)
        out = ""
        if limit == OUT:
            first = next(
                i for i, row in enumerate(self.plan.servings) if any(s.dry_out_j > 0.0 for s in row)
            )
            at = self.plan.feedings[first].at
            out = f"{when(at)}{besides(self.room, DRY, at, self.now)}"
        if limit == "tin":
            least_g = self.room.hatch_kind.values["least_hatch_g"]
            hatches, by_h = (
                self.plan.hatches,
                harvest_time(self.room, self.plan.feedings[indices[0]]),
            )
            more = besides(self.room, CYSTS, self.room.at_hour(by_h - DAY_H), self.now)
            if self.room.cysts is None or self.room.tin.by(by_h - DAY_H) < least_g:
                return f"there are no cysts for a hatch{more}"
            if hatches.shares_tin(by_h):
                return f"there are not enough cysts, so they are shared out{more}"
            out = spoken_day(self.room.at_hour(hatches.ends_h(by_h)), self.plan.feedings[0].at)
            out += more
        stands = limit == "early" and any(self.plan.hatches.given_j[i] > 0.0 for i in indices)
        other = "other " if stands else ""
        return {
            "away": "nobody is there to feed",
            UNMEASURED: "so little cannot be measured out",
            OUT: f"the dry food runs out on {out}",
            "learning": "fry of this size take only part of their food dry",
            "no vessel": "there is no vessel to hatch in",
            "cold": "the vessels are too cold to hatch in",
            "tin": f"the cysts run out on {out}",
            "early": f"no {other}hatch can be ripe by then",
            "absent": "nobody is there and awake in time to set and harvest a hatch for it",
            "vessels": f"the vessels are too small, or taken, for what is needed{self._slow()}",
            "uneven": "the hatches that are set give less than is needed then",
        }[limit]

    def _slow(self) -> str:
        """How long a hatch takes in the slowest vessel, where hatches are slow."""
        slow = [v for v in slow_vessels(self.room) if hatch_hours(self.room, v) < math.inf]
        if not slow:
            return ""
        worst = min(slow, key=lambda vessel: vessel.temperature_c)
        hours_ = hatch_hours(self.room, worst)
        return f" (a hatch takes about {hours_:.0f} h at {worst.temperature_c:g} °C)"

    def _worm_words(
        self, limit: str, kind: WormKind, indices: Sequence[int], need: BroodNeed | None
    ) -> str:
        if limit == "none":
            return f"there is no {kind.label} culture" + (
                " any more" if any(s.first <= indices[0] for s in self.plan.worms[kind.name].stages)
                else ""
            )  # fmt: skip
        if limit == "unripe":
            return f"no {kind.label} culture is ripe then"
        worms = self.plan.worms[kind.name]
        asked = sum(worms.wanted_mg[i] for i in indices)
        given = sum(map(worms.course.given_mg, indices))
        share = min(1.0, given / asked) if asked > 0.0 else 1.0
        could, until = self._spared(kind.name, indices)
        if until is not None:
            return (
                f"the {kind.label} cultures could give {could:.0%} of what is needed and give"
                f" {share:.0%}: the rest is {_spared_for(until)}"
            )
        said = f"the {kind.label} cultures can give {share:.0%} of what is needed"
        for other in sorted(need.foods if need is not None else ()):
            if other in self.plan.worms and other != kind.name:
                _, until = self._spared(other, indices)
                if until is not None:
                    label = self.plan.worms[other].kind.label
                    said += f", and the {label} cultures are {_spared_for(until)}"
        return said

    def _spared(self, food: str, indices: Sequence[int]) -> tuple[float, str | None]:
        """The share of what is wanted of worms that could be had at some rounds, and up to which
        day they are kept instead; None where most of what is missing is not there.
        """
        worms = self.plan.worms[food]
        asked = sum(worms.wanted_mg[i] for i in indices)
        until = _last_priced(worms.prices, indices[-1])
        if until <= indices[-1] or asked <= 0.0:
            return 1.0, None
        given, could = sum(map(worms.course.given_mg, indices)), _could_give_mg(worms, indices)
        spared = could - given > max(0.0, asked - given) / 2.0
        day = spoken_day(self.plan.feedings[until].at, self.now)
        return min(1.0, could / asked), day if spared else None


def _spared_for(day: str) -> str:
    return f"spared for the rounds up to {day}, which would go shorter"


def _last_priced(prices: Sequence[float], index: int) -> int:
    """The last of the rounds from one on at which worms have a price, without a gap."""
    free = (i for i in range(index, len(prices)) if not prices[i] > 0.0)
    return next(free, len(prices)) - 1


def _could_give_mg(worms: WormPlan, indices: Sequence[int]) -> float:
    """What cultures would give at some rounds if nothing were kept back at them [mg wet]."""
    asked = [*worms.demand_mg]
    for index in indices:
        asked[index] = max(asked[index], worms.wanted_mg[index])
    step_mg, until = swipe_step_mg(worms.kind), indices[-1] + 1
    course = run_course(worms.stages, worms.splits, asked, step_mg, until=until)
    return sum(map(course.given_mg, indices))


#: Moments closer than that are one [h].
_SAME_H = 0.01


@frozen
class Toll:
    """What going short for a while costs the worst off of some broods.

    Attributes:
        behind_days: how many days of growth are lost [d at the temperature of its tank].
        starves_at: when the first passes the point of no return, or None. starving: the tanks of
            those that do, the first ones first.
    """

    behind_days: float
    starves_at: datetime | None
    starving: tuple[str, ...] = ()


class Hunger:
    """The broods of a plan that go short, each carried through all that it gets.

    Args:
        gaps: all of the time that is looked at; at every other round they get their fill.
    """

    def __init__(self, room: Room, feedings: Sequence[Round], gaps: Iterable[Gap]) -> None:
        self.room, self.feedings = room, feedings
        self.gaps: dict[str, dict[int, Gap]] = {}
        for gap in gaps:
            self.gaps.setdefault(gap.need.brood.name, {})[gap.feeding.index] = gap
        self._known: dict[str, tuple[float, Sequence[Step]]] = {}

    def toll(self, gaps: Sequence[Gap]) -> Toll:
        """What some of the gaps cost, those of a shortfall."""
        spans: dict[str, tuple[Brood, float, float]] = {}
        for gap in gaps:
            brood, at_h = gap.need.brood, gap.feeding.at_h
            first_h = spans[brood.name][1] if brood.name in spans else at_h
            spans[brood.name] = brood, first_h, at_h
        found = [(span[0].tank, *self._toll(*span)) for span in spans.values()]
        starve = sorted((h, tank) for tank, _, h in found if h is not None)
        return Toll(
            max(days for _, days, _ in found),
            self.room.at_hour(starve[0][0]) if starve else None,
            tuple(dict.fromkeys(tank for _, tank in starve)),
        )

    def _toll(self, brood: Brood, first_h: float, last_h: float) -> tuple[float, float | None]:
        speed, steps = self._steps(brood)
        lags = [step.lag_days for step in steps if step.from_h < first_h - _SAME_H]
        within = [s for s in steps if first_h - _SAME_H <= s.from_h <= last_h + _SAME_H]
        starve_h = next((s.no_return_h for s in within if s.no_return_h is not None), None)
        if not within or speed <= 0.0:
            return 0.0, starve_h
        return (within[-1].lag_days - (lags[-1] if lags else 0.0)) / speed, starve_h

    def _steps(self, brood: Brood) -> tuple[float, Sequence[Step]]:
        """How fast it grows on full food [d at the reference a day], and its steps."""
        if brood.name not in self._known:
            course = BroodCourse.of(self.room, brood)
            mine = self.gaps[brood.name]
            meals = [Meal(r.at_h, _share(mine, r.index)) for r in self.feedings]
            until_h = self.feedings[-1].at_h + 1.0
            steps = course_of_meals(
                course, meals, until_h, reserve=brood.fed.reserve,
                per_day=self.room.usual_rounds(),
            )  # fmt: skip
            speed = course.fry_class.growth(course.temperature_c)
            self._known[brood.name] = speed, [*steps]
        return self._known[brood.name]


def _share(gaps: Mapping[int, Gap], index: int) -> float:
    gap = gaps.get(index)
    if gap is None:
        return 1.0
    return max(0.0, 1.0 - gap.short_j / gap.need.energy_j)
