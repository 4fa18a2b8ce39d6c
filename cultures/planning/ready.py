"""What must be begun by when so that food is ripe on the day on which fry first eat.

Everything is worked back from the first feeding: a culture ripens, a hatch stands for hours, a
starter or cysts are to be fetched. Then the whole plan says whether so many fry would be fed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from attrs import evolve, frozen

from cultures.errors import RangeError
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.hatching import HatchModel
from cultures.foods.kinds import WormKind
from cultures.foods.vessels import Vessel
from cultures.fry.diet import suitability
from cultures.fry.feeding import feeding_values
from cultures.needs.dates import INFUSORIA, fitting_kinds, growth_dates
from cultures.needs.need import BroodCourse, BroodNeed, Round, rounds_between
from cultures.planning.carry import Carry, Wish, is_far
from cultures.planning.changes import (
    bought_culture,
    given_to,
    new_bottle,
    spawned,
    usual_culture,
    whom_like,
    with_culture,
    with_hatchery,
    with_tank,
)
from cultures.planning.hatch_options import CLEANING_H, harvest_time
from cultures.planning.hopes import PROVIDED, as_if_come, likely
from cultures.planning.servings import STAND_IN_FROM
from cultures.planning.worm_course import (
    Stage,
    clock_until,
    first_harvest,
    standing_stage,
    started_h,
)
from cultures.room.jars import vessel_model
from cultures.room.room import Brood, Culture, Room
from cultures.tasks.task import as_json
from cultures.words.moments import hours
from cultures.words.numbers import whole_number

#: A food that so many of a brood can take does for all of them.
DOES_FROM = 0.5
_MOST_FRY = 1_000_000
#: No culture takes longer to ripen that is worth waiting for.
_LONGEST = timedelta(days=90)
#: Within so long somebody is there again, or it is taken to be at once.
_NEXT_ROUND = timedelta(days=7)
#: Later days that are tried for a spawning, counted from the one asked for.
_LATER_DAYS = (3, 7, 14)
#: So many foods are tried that would have to be begun.
_MOST_BEGUN = 2


@frozen
class Step:
    """One food, and what must be begun for it by when.

    Attributes:
        food: its name, or ``infusoria``. takes: the share of the fry that can take it at first.
        wanted_j: of it at the first round, by the ideal diet of what is kept [J].
        kept: it is among the foods of the brood.
        how: ``gives`` (a culture that stands is ripe then), ``split``, ``start`` (from a bought
            starter), ``hatch``, ``jar`` (of infusoria) or ``dry``.
        subject: the culture that gives or is split, or the vessel.
        begin_by: the latest moment; None where nothing is to be begun. best_at: of a hatch.
        again_by: of a culture that would not last, when its child is split in turn. until: its
            last day, where that comes while they live on it.
        buy_by: the latest day to buy the starter or cysts; None where nothing is to be bought.
        cysts_g: of a hatch, for the first round [g].
        too_late: it cannot be ripe any more. ripe_on: then the day on which it is, begun at once.
    """

    food: str
    takes: float
    wanted_j: float
    kept: bool
    how: str
    subject: str = ""
    begin_by: datetime | None = None
    best_at: datetime | None = None
    again_by: date | None = None
    until: date | None = None
    buy_by: date | None = None
    cysts_g: float = 0.0
    too_late: bool = False
    ripe_on: date | None = None

    def slack_days(self, now: datetime) -> int | None:
        """Whole days from now to the first thing to do for it; below 0 when it is too late."""
        days = [self.begin_by.date() if self.begin_by is not None else None, self.buy_by]
        return min(((day - now.date()).days for day in days if day is not None), default=None)

    def does(self) -> bool:
        """Whether the brood can live on it, and it is there in time."""
        return self.takes >= DOES_FROM and not self.too_late


@frozen
class Begun:
    """What the plan makes of a brood once more is begun than the room has.

    Attributes:
        foods: that are begun for it, each in time for its first round.
    """

    foods: tuple[str, ...]
    fed: Wish


@frozen
class Readiness:
    """The answer.

    Attributes:
        brood: as it would be. hatching: the day; None for fry that are born. first: the round at
            which it first eats. starve_days: it lives so long without food [d]. sure: the
            temperature is one at which its dates can be promised.
        warning: what is wrong with the temperature for them, "" for nothing.
        steps: by food, those that are kept first. fed: by the whole plan, None too far ahead.
        planned, unlikely: spawnings that are planned, which come first, and which are left out.
        begun: where not all are fed, with what is not kept, one food after another.
    """

    brood: Brood
    temperature_c: float
    hatching: date | None
    first: datetime
    starve_days: float
    sure: bool
    warning: str
    steps: tuple[Step, ...]
    fed: Wish | None
    planned: tuple[Brood, ...] = ()
    unlikely: tuple[Brood, ...] = ()
    begun: tuple[Begun, ...] = ()

    def spawn_from(self) -> date | None:
        """The first day of spawning for which a food that does can be ripe; None for none."""
        if any(step.does() for step in self.steps):
            return self.brood.anchor_date
        ripe = [s.ripe_on for s in self.steps if s.takes >= DOES_FROM and s.ripe_on is not None]
        if not ripe:
            return None
        return self.brood.anchor_date + max(timedelta(0), min(ripe) - self.first.date())

    def to_json(self, now: datetime) -> dict[str, Any]:
        """For other programs."""
        brood, fed = self.brood, self.fed
        found: dict[str, Any] = as_json({
            "class": brood.fry_class.name, "count": brood.count, "tank": brood.tank,
            "temperature_c": self.temperature_c, "spawn": brood.anchor_date,
            "hatching": self.hatching, "first_food": self.first,
            "starve_days": round(self.starve_days, 1), "sure": self.sure,
            "warning": self.warning or None,
            "foods": tuple(_step_json(step, now) for step in self.steps),
            "spawn_from": self.spawn_from(),
            "plan": None if fed is None else {
                **fed.trial_json(), "spawn_from": fed.from_day,
                "fry": None if fed.well_fed else fed.carried.largest or None,
            },
            "begun": tuple({"foods": each.foods, **each.fed.trial_json()} for each in self.begun),
        })  # fmt: skip
        return found


def _step_json(step: Step, now: datetime) -> dict[str, Any]:
    """One step, not yet in the words of the JSON contract."""
    return {
        "food": step.food, "kept": step.kept, "takes": round(step.takes, 4), "how": step.how,
        "subject": step.subject, "begin_by": step.begin_by, "best_at": step.best_at,
        "again_by": step.again_by, "until": step.until, "buy_by": step.buy_by,
        "slack_days": step.slack_days(now), "too_late": step.too_late, "ripe_on": step.ripe_on,
        "wanted_j": step.wanted_j, "cysts_g": step.cysts_g,
    }  # fmt: skip


def supposed(
    room: Room, text: str, day: date, tank: str | None = None, temperature_c: float | None = None
) -> tuple[Room, Brood]:
    """A brood that is asked about, ``CLASS COUNT``, and the room with its tank.

    Args:
        day: on which it spawns. tank: where; without one, and without a temperature, in the first
            that is empty and suits them, or else at the reference temperature of its class.

    Raises:
        RangeError: not a class and a number. UnknownNameError: no such tank.
    """
    words, _, number = text.strip().rpartition(" ")
    count = whole_number(number)
    if not words or count is None or not 1 <= count <= _MOST_FRY:
        raise RangeError(f"'{text}': say a class and how many, like \"betta 120\"")
    like = _, fry_class = whom_like(room, words)
    if tank is None and temperature_c is None and (free := room.free_tank(fry_class)) is not None:
        tank = free.name
    if tank is None:
        degrees = fry_class.values["t_ref_c"] if temperature_c is None else temperature_c
        room, tank = with_tank(room, degrees)
    return room, spawned(room, words, like, count, day, room.tank(tank).name)


def spawned_for(room: Room, brood: Brood, first_food: date) -> Brood:
    """The brood spawned so that it first eats on a day.

    Raises:
        RangeError: its eggs never develop.
    """

    def on(day: date) -> Brood:
        return evolve(brood, anchor_date=day, counted_on=day)

    def eats(day: date) -> date:
        return BroodCourse.of(room, on(day)).first_food_day()

    day = first_food - (eats(first_food) - first_food)
    near = (day, day - timedelta(days=1), day + timedelta(days=1))  # a clock change lies between
    return on(next((one for one in near if eats(one) == first_food), day))


def readiness(room: Room, brood: Brood, now: datetime) -> Readiness:
    """What must be begun for a brood that is planned to spawn, or has spawned already.

    Args:
        brood: in a tank of the room. One of its broods that is the same is not there besides.

    Raises:
        RangeError: its eggs never develop, or it ate for the first time before.
    """
    course = BroodCourse.of(room, brood)
    if course.first_food_day() < now.date():
        raise RangeError(
            f"spawned on {brood.anchor_date}, they ate for the first time on"
            f" {course.first_food_day()} already; give a later day"
        )
    others = [b for b in room.broods if not (is_that(b, brood) and b.count == brood.count)]
    room = evolve(room, broods=tuple(others))
    asked = evolve(room, hoped=(*room.hoped, brood))
    morning = room.local(course.first_food_day(), time(0))
    rounds = rounds_between(room, morning, morning + PROVIDED)
    first = next(r for r in rounds if course.eats_at(r))
    dates = growth_dates(course, brood.anchor_date, first.at.date() + timedelta(days=1))
    steps = tuple(_Steps(asked, course, first, now).steps())
    fed = _fed(room, brood, course, now)
    return Readiness(
        brood=brood,
        temperature_c=course.temperature_c,
        hatching=next((each.day for each in dates if each.what == "hatching"), None),
        first=first.at,
        starve_days=course.lives_unfed_days(),
        sure=course.promised(),
        warning=brood.fry_class.warn_temperature(course.temperature_c) or "",
        steps=steps,
        fed=fed,
        planned=likely(room),
        unlikely=as_if_come(room).hoped,
        begun=() if fed is None or fed.well_fed else tuple(_begun(room, brood, steps, now)),
    )


def is_that(here: Brood, asked: Brood) -> bool:
    """Whether a brood of the room may be the one that is asked about."""
    mine = here.tank, here.fry_class.name, here.anchor, here.anchor_date
    return mine == (asked.tank, asked.fry_class.name, asked.anchor, asked.anchor_date)


class _Steps:
    """What is to be begun for each food that fits the mouths of a brood at its first round."""

    def __init__(self, room: Room, course: BroodCourse, first: Round, now: datetime) -> None:
        self.room, self.course, self.first, self.now = room, course, first, now
        self.need: BroodNeed | None = course.need(first)
        self.length_mm = course.length_mm(first.at_h)
        self.fetch = room.fetched_in("starter")

    def steps(self) -> Iterator[Step]:
        """Foods that are kept, those that more fry can take first; then what else would do."""
        kept = [food.name for food in self.course.foods]
        kept.sort(key=lambda name: -self._takes(name))
        for name in kept:
            if self._takes(name) >= STAND_IN_FROM:
                yield from self._of(name)
        if (
            BRINE_SHRIMP not in kept
            and not self.room.vessels
            and self._takes(BRINE_SHRIMP) >= STAND_IN_FROM
        ):
            yield from self._hatch()
        for name in fitting_kinds(self.course, self.length_mm):
            if name == INFUSORIA:
                yield self._jar()
            elif name not in kept and isinstance(self.room.kinds.get(name), WormKind):
                yield from self._of(name)

    def _takes(self, name: str) -> float:
        return suitability(self.room.food(name), self.course.fry_class, self.length_mm)

    def _step(self, name: str, how: str) -> Step:
        wanted_j = self.need.foods.get(name, 0.0) if self.need is not None else 0.0
        kept = any(food.name == name for food in self.course.foods)
        return Step(name, self._takes(name), wanted_j, kept, how)

    def _of(self, name: str) -> Iterator[Step]:
        if name == DRY:
            yield self._step(name, "dry")
        elif name == BRINE_SHRIMP:
            yield from self._hatch()
        elif isinstance(kind := self.room.kinds[name], WormKind):
            yield self._worms(kind)

    def _worms(self, kind: WormKind) -> Step:
        step = self._step(kind.name, "start")
        stand = [c for c in self.room.cultures if c.kind.name == kind.name]
        ripe = [c for c in stand if self._gives(c, self.first.at_h)]
        if ripe:
            lasts = next((c for c in ripe if self._until(c) is None), None)
            best = lasts or max(ripe, key=self._spent_h)
            return evolve(step, how="gives", subject=best.name, until=self._until(best))
        pattern = usual_culture(self.room, kind)
        day = last_start(self.room, pattern, self.first.at_h)
        split = self._split(step, stand, pattern, day)
        return split if split is not None else self._bought(step, stand, pattern, day)

    def _split(
        self, step: Step, stand: Sequence[Culture], pattern: Culture, day: date | None
    ) -> Step | None:
        """From a culture that stands, or from its child where it ends before the last day."""
        now = self.now.date()
        ahead = ((day or now) - now).days
        back = [now + timedelta(days=n) for n in range(max(0, ahead), -1, -1)]
        found = next(((on, c) for on in back for c in stand if self._gives_on(c, on)), None)
        if found is None:
            return None
        on, parent = found
        step = evolve(step, how="split", subject=parent.name, begin_by=self._noon(on))
        child = evolve(pattern, started=on)
        if day is None or on >= day:
            late = day is None or day < on
            ripe_on = self._ripe_on(stand, child) if late else None
            by = None if day is None else self._noon(day)
            return evolve(step, begin_by=by, too_late=late, ripe_on=ripe_on)
        lasts, gives = self._until(child) is None, self._gives(child, self.first.at_h)
        if not (gives and lasts) and self._gives_on(child, day):
            return evolve(step, again_by=day)
        return evolve(step, until=self._until(child)) if gives else None

    def _bought(
        self, step: Step, stand: Sequence[Culture], pattern: Culture, day: date | None
    ) -> Step:
        begun = self._had().date()
        late = day is None or day < begun
        return evolve(
            step,
            begin_by=None if day is None else self._noon(day),
            buy_by=None if day is None else day - self.fetch,
            too_late=late,
            ripe_on=self._ripe_on(stand, evolve(pattern, started=begun)) if late else None,
        )

    def _had(self) -> datetime:
        """The first round with the keeper at which a starter is there that is bought now."""
        at = self.now + self.fetch
        rounds = rounds_between(self.room, at, at + _NEXT_ROUND)
        return next((r.at for r in rounds if r.keeper), at)

    def _noon(self, day: date) -> datetime:
        return self.room.local(day, time(12))

    def _gives_on(self, culture: Culture, day: date) -> bool:
        """The same at noon of a day, or now."""
        return self._gives(culture, max(hours(self._noon(day)), hours(self.now)))

    def _spent_h(self, culture: Culture) -> float:
        """When it is to be discarded [h since the epoch]."""
        return self._stage(culture, self.first.at + PROVIDED).spent_h

    def _until(self, culture: Culture) -> date | None:
        """Its last day, where that comes while the brood is provided for; else None."""
        spent_h = self._spent_h(culture)
        ends = hours(self.first.at + PROVIDED)
        return None if spent_h >= ends else self.room.at_hour(spent_h).date()

    def _ripe_on(self, stand: Sequence[Culture], begun: Culture) -> date | None:
        """The first day on which one that stands gives, or one that is begun at once."""
        day = first_ripe(self.room, begun)
        ends = self.first.at.date() + _LONGEST if day is None else day
        for later in range((ends - self.first.at.date()).days):
            at = self.first.at + timedelta(days=later)
            if any(self._gives(culture, hours(at)) for culture in stand):
                return at.date()
        return day

    def _gives(self, culture: Culture, at_h: float) -> bool:
        """Whether a culture that is left alone gives worms at a moment."""
        return first_harvest(self._stage(culture, self.room.at_hour(at_h))) == 0

    def _stage(self, culture: Culture, at: datetime) -> Stage:
        per_day = len(self.room.rounds_on(at.date()))
        moment = [Round(0, at, hours(at), per_day, fed=True, keeper=True)]
        return standing_stage(self.room, culture, moment)

    def _hatch(self) -> Iterator[Step]:
        """The vessel that may be set latest, of those that stand empty by then; in a room without
        any a bottle that is to be got.
        """
        harvest_h = harvest_time(self.room, self.first)
        vessels = self.room.vessels or (new_bottle(self.room),)
        models = [(vessel, vessel_model(self.room, vessel)) for vessel in vessels]
        found = [
            (last, vessel, model) for vessel, model in models if model.rate > 0
            if (last := self._attended(harvest_h - model.window(DOES_FROM)[0])) is not None
        ]  # fmt: skip
        if not found:
            return
        empty = [(at, v, model) for at, v, model in found if self._empty_h(v, model) <= hours(at)]
        last, vessel, model = max(empty or found, key=lambda f: (f[0], f[1].litres))
        step, best = self._step(BRINE_SHRIMP, "hatch"), self._best(model, harvest_h, last)
        grams, buy_by, had = 0.0, None, self.now
        if not self.room.vessels and self.need is not None:  # no diet has nauplii yet: all of it
            step = evolve(step, wanted_j=self.need.energy_j)
        if step.wanted_j > 0.0:
            each_j = model.energy(harvest_h - hours(best))
            asked_g = step.wanted_j * (1.0 + self.room.hatch_margin) / each_j
            grams = max(self.room.hatch_kind.values["least_hatch_g"], asked_g)
        tin, tin_g = self.room.tin, self.room.tin.by(hours(last))
        if tin.grams < max(grams, 1e-9) <= tin_g:  # it waits for a parcel
            had = self.room.at_hour(next(h for h, _ in tin.parcels if tin.by(h) >= grams))
            best = min(last, max(best, self.room.local(had.date(), self.room.awake[0])))
        if tin_g <= 0.0 or tin_g < grams:
            fetch = self.room.fetched_in("cysts")
            buy_by, had = (last - fetch).date(), self.now + fetch
        late = last < self.now or (buy_by is not None and buy_by < self.now.date()) or not empty
        begun_h = max(hours(had), self._empty_h(vessel, model))
        ripe = self.room.at_hour(begun_h + model.window(DOES_FROM)[0])
        yield evolve(
            step, subject=vessel.name, begin_by=last, best_at=best, buy_by=buy_by, cysts_g=grams,
            too_late=late, ripe_on=ripe.date() if late else None,
        )  # fmt: skip

    def _empty_h(self, vessel: Vessel, model: HatchModel) -> float:
        """When what stands in a vessel is drawn off, as told or at its best [h since the epoch]."""
        ends = [
            hours(h.harvest_at) if h.harvest_at else h.begun_h(model.rate) + model.best_hours()
            for h in self.room.hatches if h.vessel == vessel.name
        ]  # fmt: skip
        return max(ends) + CLEANING_H if ends else 0.0

    def _best(self, model: HatchModel, harvest_h: float, last: datetime) -> datetime:
        """When to set a hatch so that it brings most, of the times at which somebody is up."""
        ideal_h = harvest_h - model.best_hours()
        night_h = self._attended(ideal_h)
        morning = self.room.local(self.room.at_hour(ideal_h).date(), self.room.awake[0])
        tried = {last, night_h or last}
        tried |= {at for at in (morning, morning + timedelta(days=1)) if at <= last}
        return max(tried, key=lambda at: (model.energy(harvest_h - hours(at)), at))

    def _attended(self, at_h: float) -> datetime | None:
        """The last whole five minutes up to a moment at which the keeper is there and awake."""
        at = self.room.at_hour(math.floor(at_h * 12.0 + 1e-6) / 12.0)
        for back in range(_LONGEST.days):
            day = at.date() - timedelta(days=back)
            waking, sleep = (self.room.local(day, clock) for clock in self.room.awake)
            rounds = (self.room.local(day, clock) for clock in reversed(self.room.rounds_on(day)))
            latest = min(at, sleep)
            for moment in (latest, *(r for r in rounds if r < latest)):
                if waking <= moment and self.room.away_at(moment) is None:
                    return moment
        return None

    def _jar(self) -> Step:
        days = timedelta(days=feeding_values()["infusoria_days"])
        by = self.first.at - days
        late = by.date() < self.now.date()
        return Step(
            INFUSORIA, 1.0, 0.0, kept=False, how="jar", begin_by=by, too_late=late,
            ripe_on=(self.now + days).date() if late else None,
        )  # fmt: skip


def last_start(room: Room, pattern: Culture, wanted_h: float) -> date | None:
    """The last day on which a culture can be begun, at noon, to give worms at a moment.

    Args:
        pattern: a culture like it, of any start. wanted_h: the moment [h since the epoch].

    Returns:
        A local day; None where it would take too long, as in a cold room.
    """
    last = room.at_hour(wanted_h).date()
    for back in range(_LONGEST.days):
        own = evolve(pattern, started=last - timedelta(days=back))
        begun_h = started_h(room, own)
        clock = clock_until(room, own, own.started + _LONGEST)
        if begun_h < wanted_h and clock.growing.days(begun_h, wanted_h) >= own.ripe_age():
            return own.started
    return None


def first_ripe(room: Room, culture: Culture) -> date | None:
    """The local day from which a culture begun on its ``started`` gives worms.

    None where it would take too long.
    """
    clock = clock_until(room, culture, culture.started + _LONGEST)
    ripe_h = clock.growing.when(started_h(room, culture), culture.ripe_age())
    if ripe_h > started_h(room, culture) + _LONGEST.days * 24.0:
        return None
    return room.at_hour(ripe_h).date()


def _fed(room: Room, brood: Brood, course: BroodCourse, now: datetime) -> Wish | None:
    """What the whole plan makes of it, and what else would be fed in full."""
    if is_far(course, now):
        return None
    later = [brood.anchor_date + timedelta(days=days) for days in _LATER_DAYS]
    return Carry(room, now, later).wish(brood.name, brood, nearly=True)


def _begun(room: Room, brood: Brood, steps: Sequence[Step], now: datetime) -> Iterator[Begun]:
    """The plan with what most of them can take and the room has not, one food more at a time,
    until all are fed.
    """
    foods: list[str] = []
    new = [s for s in steps if s.does() and not s.kept and s.how in ("hatch", "start")]
    for step in new[:_MOST_BEGUN]:
        if step.how == "hatch":
            room = with_hatchery(room, now)
        else:
            assert step.begin_by is not None
            kind = room.kinds[step.food]
            assert isinstance(kind, WormKind)
            begun = bought_culture(room, kind, step.begin_by.date(), f"bought {kind.label}")
            room = with_culture(room, begun)
        brood = given_to(brood, step.food)
        foods.append(step.food)
        (fed,) = Carry(room, now).ask([brood])
        yield Begun(tuple(foods), fed)
        if fed.well_fed:
            return
