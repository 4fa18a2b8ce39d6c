"""A year of a room at a glance: each brood by stage, each food by its load, week by week.

The needs are those of the ideal diet over the year; nothing is planned. A load is what the broods
ask of a food on the heaviest day of a week, as a share of what the room can give of it
(:mod:`cultures.planning.giving`). Who goes short where that is too much is judged as in a plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from functools import cached_property, partial
from itertools import groupby, pairwise
from typing import Literal

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.fry.diet import diet_shares
from cultures.needs.dates import BroodDate, sale_date
from cultures.needs.need import BroodCourse, Round
from cultures.planning.giving import Giving, Substitution
from cultures.planning.servings import falls_short
from cultures.room.room import Room
from cultures.words.moments import hours

WEEKS = 52
_WEEK = timedelta(days=7)
#: What is known of a brood that may lie ahead.
_FROM = ("spawned", "planned", "wetted")
_DAY = timedelta(days=1)

Stage = Literal["eggs", "first_food", "nauplii", "weaning", "grow_out", "can_go"]
#: In the order of a life.
STAGES: tuple[Stage, ...] = ("eggs", "first_food", "nauplii", "weaning", "grow_out", "can_go")


#: Energy that is asked for by day, food and brood [J/d].
_Asked = Mapping[date, Mapping[str, Mapping[str, float]]]


@frozen
class Span:
    """Local days of one stage; both ends count."""

    stage: Stage
    start: date
    end: date


@frozen(eq=False)
class BroodYear:
    """A brood on its way through the year.

    Attributes:
        course: its dates. planned: it is still to spawn. spans: its stages, without a gap, at least
            one. sale: when it can go, or None.
    """

    course: BroodCourse
    planned: bool
    spans: tuple[Span, ...]
    sale: BroodDate | None

    @property
    def name(self) -> str:
        """The name of the brood."""
        return self.course.brood.name

    @property
    def tank(self) -> str:
        """The tank that it is in."""
        return self.course.brood.tank

    @property
    def start(self) -> date:
        """Its first day on the page."""
        return self.spans[0].start

    @property
    def end(self) -> date:
        """Its last day on the page."""
        return self.spans[-1].end

    def stage(self, start: date, end: date) -> Stage | None:
        """The stage of most of its days in [start, end), of two the later; or None.

        That it can go is a day, and holds for the whole of its week.
        """
        days = {s.stage: min(s.end + _DAY, end) - max(s.start, start) for s in self.spans}
        shown = [stage for stage in days if days[stage] > timedelta(0)]
        if "can_go" in shown:
            return "can_go"
        return max(reversed(shown), key=lambda stage: days[stage], default=None)


@frozen
class Load:
    """What is asked of a food on the heaviest day of a week, and what the room can give then.

    Attributes:
        week: its Monday. day: that day. need_j, gives_j: energy a day [J/d]. by: of the need, by
            the name of the brood [J/d].
    """

    week: date
    day: date
    need_j: float
    gives_j: float
    by: Mapping[str, float] = field(factory=dict)

    @property
    def share(self) -> float:
        """The need as a share of what can be given; infinite where nothing gives it."""
        if self.need_j <= 0:
            return 0.0
        return self.need_j / self.gives_j if self.gives_j > 0 else float("inf")

    @property
    def too_much(self) -> bool:
        """Whether so much more is asked than can be given that it is called short."""
        return falls_short(self.need_j - self.gives_j, self.need_j)

    def without(self, brood: str) -> float:
        """The share if a brood of this name were not there."""
        left = max(0.0, self.need_j - self.by.get(brood, 0.0))
        return left / self.gives_j if self.gives_j > 0 else float("inf") if left > 0 else 0.0


@frozen
class FoodYear:
    """A live food over the year.

    Attributes:
        food: its name. loads: of each week, by time.
    """

    food: str
    loads: tuple[Load, ...]

    def too_much(self) -> list[tuple[Load, ...]]:
        """The stretches of weeks that ask for more than the room can give."""
        runs = groupby(self.loads, key=lambda load: load.too_much)
        return [tuple(run) for over, run in runs if over]


@frozen(eq=False)
class Year:
    """The year of a room.

    Attributes:
        now: aware. weeks: the Mondays. broods: by their first day. foods: live foods that are
            asked for.
        dry_j: dry food that is asked for on the heaviest day of each week [J/d], and in all [J].
        bare: by brood, from when to when none of its foods fits its mouth; left out where one does.
        planned_to: the day after the last that a plan made now covers. dry_soon_j, dry_kept_j: dry
            food up to then, of broods that go on their day, and where none goes [J].
    """

    room: Room
    now: datetime
    weeks: tuple[date, ...]
    broods: tuple[BroodYear, ...]
    foods: tuple[FoodYear, ...]
    dry_j: tuple[float, ...]
    dry_total_j: float
    planned_to: date
    dry_soon_j: float
    dry_kept_j: float
    bare: Mapping[str, tuple[date, date]] = field(factory=dict)

    @property
    def end(self) -> date:
        """The day after the last."""
        return self.weeks[-1] + _WEEK

    @cached_property
    def planned(self) -> frozenset[str]:
        """Names of the broods that are still to spawn."""
        return frozenset(brood.name for brood in self.broods if brood.planned)

    def missing(self, loads: Iterable[Load]) -> dict[str, float]:
        """The most of its need that each brood that asks for a food would miss on the heaviest
        days of some weeks, once others take its place; of those that would go short. Of days that
        a plan covers the plan says so, which knows what stands and is ripe.
        """
        giving, foods = Giving(self.room), Substitution(self.room)
        found: dict[str, float] = {}
        for load in loads:
            if load.day < self.planned_to:
                continue
            whole = _at_noon(self.room, load.day)
            here = [b.course for b in self.broods if b.start <= load.day <= b.end]
            needs = [need for course in here if (need := course.need(whole)) is not None]
            missing = foods.missing(needs, partial(giving.j_per_day, day=load.day))
            for name in missing.keys() & load.by.keys():
                found[name] = max(missing[name], found.get(name, 0.0))
        return dict(sorted(found.items()))


def year_of(room: Room, now: datetime, weeks: int = WEEKS) -> Year:
    """A year of a room, of so many weeks from the Monday of the week of an aware ``now`` on.

    Raises:
        RangeError: a brood whose eggs never develop.
    """
    today = now.date()
    monday = today - timedelta(days=today.weekday())
    mondays = tuple(monday + i * _WEEK for i in range(weeks))
    end = mondays[-1] + _WEEK
    courses = [BroodCourse.of(room, brood) for brood in (*room.broods, *room.hoped)]
    broods = [_brood_year(course, today, end) for course in courses]
    shown = sorted((b for b in broods if b is not None), key=lambda b: (b.start, b.end, b.name))
    needs = _needs(room, shown, today)
    giving = Giving(room)
    foods = sorted({food for of_day in needs.values() for food in of_day})
    dry = [[sum(needs.get(day, {}).get(DRY, {}).values()) for day in _days(m, m + _WEEK)]
           for m in mondays]  # fmt: skip
    planned_to = today + timedelta(days=room.horizon_days)
    kept = _needs(room, [_kept(brood, planned_to) for brood in shown], today)
    return Year(
        room, now, mondays, tuple(shown),
        tuple(
            FoodYear(food, tuple(_load(food, monday, needs, giving) for monday in mondays))
            for food in foods if food != DRY
        ),
        tuple(max(week) for week in dry), sum(map(sum, dry)), planned_to,
        _dry_j(needs, planned_to), _dry_j(kept, planned_to),
        {b.name: days for b in shown if (days := _bare_days(b, end)) is not None},
    )  # fmt: skip


def _bare_days(brood: BroodYear, end: date) -> tuple[date, date] | None:
    """The first and the last day on which it is to eat and no food fits, from its first food on."""
    found: list[date] = []
    for day in _days(brood.start, min(brood.end + _DAY, end)):
        need = brood.course.need(_at_noon(brood.course.room, day))
        if need is None or need.energy_j <= 0.0:
            continue
        if need.foods:
            break
        found.append(day)
    return (found[0], found[-1]) if found else None


def _kept(brood: BroodYear, until: date) -> BroodYear:
    """A brood that does not go before a day."""
    *spans, last = brood.spans
    return evolve(brood, spans=(*spans, evolve(last, end=max(last.end, until - _DAY))))


def _dry_j(needs: _Asked, until: date) -> float:
    return sum(sum(of.get(DRY, {}).values()) for day, of in needs.items() if day < until)


def _at_noon(room: Room, day: date, per_day: int = 1) -> Round:
    """One of so many rounds of a day, as if at noon."""
    noon = room.local(day, time(12))
    return Round(0, noon, hours(noon), per_day, fed=True, keeper=True)


def _days(start: date, end: date) -> list[date]:
    return [start + timedelta(days=i) for i in range((end - start).days)]


def _brood_year(course: BroodCourse, today: date, end: date) -> BroodYear | None:
    """A brood from its first day, or today, to the day it goes or its fry age ends.

    Fish that could go already are taken to go today.
    """
    brood, sale = course.brood, sale_date(course)
    first = max(today, brood.anchor_date if brood.anchor in _FROM else today)
    last = sale.day if sale is not None else _grown(course, end)
    last = min(max(last, today), end - _DAY)
    if first >= end:
        return None
    stages = [(day, _stage(course, sale, day)) for day in _days(first, max(first, last) + _DAY)]
    changes = [stages[0], *(new for old, new in pairwise(stages) if new[1] != old[1])]
    ends = [*(day - _DAY for day, _ in changes[1:]), stages[-1][0]]
    spans = tuple(
        Span(stage, day, until) for (day, stage), until in zip(changes, ends, strict=True)
    )
    return BroodYear(course, brood.anchor == "planned", spans, sale)


def _grown(course: BroodCourse, end: date) -> date:
    """When its fry age is over and it eats dry food alone; else the end of the year."""
    if all(food.name != DRY for food in course.foods):
        return end
    at_h = course.reaches(course.fry_class.values["fry_until_mm"])
    ends_h = _at_noon(course.room, end).at_h
    return course.room.at_hour(at_h).date() if at_h < ends_h else end


def _stage(course: BroodCourse, sale: BroodDate | None, day: date) -> Stage:
    """The stage of a day: what it mostly eats, until it has the length to move on or to go."""
    if sale is not None and day >= sale.day:
        return "can_go"
    if day < course.first_food_day():
        return "eggs"
    length = course.length_mm(_at_noon(course.room, day).at_h)
    if length >= course.fry_class.values["move_on_mm"]:
        return "grow_out"
    foods = {food.name: food for food in course.foods}
    shares = diet_shares(course.foods, course.fry_class, length)
    main = max(shares, key=lambda name: shares[name], default="")
    if main == DRY:
        return "weaning"
    fine = course.room.food(BRINE_SHRIMP).width_um
    return "nauplii" if main and foods[main].width_um >= fine else "first_food"


def _needs(
    room: Room, broods: Sequence[BroodYear], today: date
) -> dict[date, dict[str, dict[str, float]]]:
    """Energy that is asked for by day, food and brood [J/d]."""
    found: dict[date, dict[str, dict[str, float]]] = {}
    days = _days(today, max((b.end for b in broods), default=today) + _DAY)
    for day in days:
        per_day = len(room.rounds_on(day))
        a_round = _at_noon(room, day, per_day)
        for brood in broods:
            need = brood.course.need(a_round) if brood.start <= day <= brood.end else None
            for food, energy_j in (need.foods if need is not None else {}).items():
                of_food = found.setdefault(day, {}).setdefault(food, {})
                of_food[brood.name] = energy_j * per_day
    return found


def _load(food: str, monday: date, needs: _Asked, giving: Giving) -> Load:
    """The day of a week on which a food is asked for most, against what can be given."""

    def of(day: date) -> Load:
        by = needs.get(day, {}).get(food, {})
        return Load(monday, day, sum(by.values()), giving.j_per_day(food, day), by)

    return max(
        (of(day) for day in _days(monday, monday + _WEEK)),
        key=lambda load: (load.share, load.need_j),
    )


def away_in(room: Room, start: date, end: date) -> Literal["", "helper", "away"]:
    """Whether nobody, or a helper only, is there at some round of [start, end)."""
    days = (start + timedelta(days=n) for n in range((end - start).days))
    found = (room.away_from(day, at) for day in days for at in room.rounds_on(day))
    helpers = {away.helper for away in found if away is not None}
    return "" if not helpers else "helper" if all(helpers) else "away"
