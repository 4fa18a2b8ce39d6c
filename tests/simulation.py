"""Carries a plan's tasks out, one by one, with the models, and reports what they give.

Reads nothing of the planner but the tasks and feeding lines that a keeper would be handed,
so a plan that promises more than its tasks deliver is found out.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time
from typing import assert_never

from attrs import define, field

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.souring import CultureClock
from cultures.foods.worms import CultureState, WormModel, last_useful_age
from cultures.planning.hatch_options import CLEANING_H
from cultures.planning.task_ids import natural
from cultures.planning.worm_course import PARENT_KEEPS
from cultures.room.jars import vessel_model
from cultures.room.room import Culture, Room
from cultures.tasks.task import (
    HELPERS_WORK,
    Buy,
    Feed,
    HarvestHatch,
    HarvestWorms,
    Reminder,
    Retire,
    SetHatch,
    Split,
    Start,
    SwitchFood,
    Task,
    rank_of,
)
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours

_TOLERANCE = 1e-6
#: So long past their keeping nauplii are still fed, where a round begins by then [h].
_LATE_H = 1.0
#: What may fall on a day on which only a helper is there.
_WITH_A_HELPER = (*HELPERS_WORK, SwitchFood, Buy)


@define
class _Standing:
    culture: Culture
    model: WormModel
    clock: CultureClock
    begun_h: float
    state: CultureState
    at_h: float
    fit: bool = field(init=False)
    before_splits_mg: float | None = None
    gave: list[float] = field(factory=list)

    def __attrs_post_init__(self) -> None:
        self._look()

    def advance(self, to_h: float) -> None:
        if to_h > self.at_h:
            days, pace = self.clock.days(self.at_h, to_h), self.clock.pace(self.at_h, to_h)
            self.state = self.state.later(self.model, days, pace)
            self.at_h = to_h
            self.before_splits_mg = None
            self._look()

    def _look(self) -> None:
        """Whether worms climb before anything is taken at this moment, so that it may be split."""
        stock = self.state.stock_mg * (1 + _TOLERANCE)
        self.fit = self.model.climbing(stock, self.state.age) > 0.0


@define
class _Held:
    harvest_h: float
    nauplii: float
    energy_j: float


@define
class Outcome:
    """What carrying out the tasks gave.

    Attributes:
        given_j: energy by (round, brood, food), as it came out of the cups.
        violations: every rule that a task broke, in plain words.
        cysts_left_g: in the tin at the end.
        hatched: nauplii of each harvest, by task id.
    """

    given_j: dict[tuple[datetime, str, str], float] = field(factory=dict)
    violations: list[str] = field(factory=list)
    cysts_left_g: float = 0.0
    hatched: dict[str, float] = field(factory=dict)


def simulate(room: Room, tasks: Iterable[Task], lines: Iterable[FeedLine]) -> Outcome:
    """Carries out tasks and feeding lines in the order of time.

    Args:
        tasks: of a whole plan, from the day the room file is true at.
        lines: feeding lines of the same time.
    """
    tasks, lines = sorted(tasks, key=_order), list(lines)
    last = max([line.at for line in lines] + [task.at for task in tasks], default=None)
    run = _Run(room, lines, room.as_of if last is None else last.date())
    for task in tasks:
        run.do(task)
    run.outcome.cysts_left_g = run.tin_g
    return run.outcome


def _order(task: Task) -> tuple[object, ...]:
    return task.at, rank_of(task), natural(task.id)


class _Run:
    def __init__(self, room: Room, lines: list[FeedLine], last_day: date) -> None:
        self.room, self.outcome = room, Outcome()
        self.lines: dict[datetime, list[FeedLine]] = {}
        for line in lines:
            self.lines.setdefault(line.at, []).append(line)
        self.last_day = last_day
        self.cultures = {
            c.name: self._standing(c, room.local(c.started, time(12)), None) for c in room.cultures
        }
        self.tin_g = room.cysts.grams if room.cysts is not None else 0.0
        self.parcels = [order for order in room.orders if order.item == "cysts"]
        self.in_vessel = {h.vessel: (hours(h.set_at), h.cysts_g) for h in room.hatches}
        self.free_h: dict[str, float] = {}
        self.held = [
            _Held(hours(h.harvested_at), h.nauplii, h.energy_j)
            for h in sorted(room.held, key=lambda h: h.harvested_at)
        ]
        self.holding = room.holding
        self.cup_mg: dict[str, float] = {}
        self.starts: dict[tuple[str, date], int] = {}

    def _standing(self, culture: Culture, begun: datetime, stock_mg: float | None) -> _Standing:
        model = culture.kind.model(medium_g=culture.medium_g, surface_cm2=culture.surface_cm2)
        last = max(culture.started, self.last_day)
        series = self.room.series(culture.temperature_c, culture.started, last)
        if stock_mg is None:
            starter = culture.starter_g * culture.kind.values["starter_mg_per_g"]
            stock_mg = min(model.capacity_mg, starter)
        begun_h = hours(begun)
        clock = CultureClock.of(series, culture.kind)
        if culture.mark is not None:
            state = CultureState(culture.mark.stock_mg, culture.mark.age)
            gave = list(culture.mark.gave)
            return _Standing(culture, model, clock, begun_h, state, culture.mark.at_h, gave=gave)
        return _Standing(culture, model, clock, begun_h, CultureState(stock_mg), begun_h)

    def fail(self, task: Task, message: str) -> None:
        self.outcome.violations.append(
            f"{task.at:%Y-%m-%d %H:%M} {task.what} {task.subject}: {message}"
        )

    def do(self, task: Task) -> None:
        """Carries out one task."""
        self._check_presence(task)
        match task:
            case SetHatch():
                self._set_hatch(task)
            case HarvestHatch():
                self._harvest_hatch(task)
            case HarvestWorms():
                self._harvest_worms(task)
            case Split():
                self._split(task)
            case Retire():
                self._retire(task)
            case Feed():
                self._feed(task)
            case Start() | Reminder():
                pass  # what is bought may not come
            case _:
                assert_never(task)

    def _check_presence(self, task: Task) -> None:
        away = self.room.away_at(task.at)
        if away is not None and not (away.helper and isinstance(task, _WITH_A_HELPER)):
            self.fail(task, "nobody is there to do it")
        low, high = (self.room.local(task.at.date(), at) for at in self.room.awake)
        if isinstance(task, SetHatch) and not low <= task.at <= high:
            self.fail(task, "outside waking hours")

    def _set_hatch(self, task: SetHatch) -> None:
        at_h, grams = hours(task.at), task.cysts_g
        vessel = self.room.vessel(task.subject)
        if task.subject in self.in_vessel:
            self.fail(task, "the vessel is taken")
        if at_h < self.free_h.get(task.subject, 0.0) - _TOLERANCE:
            self.fail(task, "the vessel is not clean yet")
        if grams > self.room.hatch_kind.most_grams(vessel.litres) + _TOLERANCE:
            self.fail(task, "too many cysts for its water")
        for order in [*self.parcels]:  # it may come in the evening of its day
            if order.day is not None and not order.late and order.day < task.at.date():
                self.tin_g += order.grams
                self.parcels.remove(order)
        self.tin_g -= grams
        if self.tin_g < -_TOLERANCE:
            self.fail(task, "the tin is empty")
        self.in_vessel[task.subject] = (at_h, grams)

    def _harvest_hatch(self, task: HarvestHatch) -> None:
        if task.subject not in self.in_vessel:
            self.fail(task, "nothing stands in the vessel")
            return
        set_h, grams = self.in_vessel.pop(task.subject)
        at_h = hours(task.at)
        model = vessel_model(self.room, self.room.vessel(task.subject))
        nauplii, energy = grams * model.nauplii(at_h - set_h), grams * model.energy(at_h - set_h)
        if task.nauplii > 0:  # else it stood too long, and is thrown out
            self.held.append(_Held(at_h, nauplii, energy))
        self.free_h[task.subject] = at_h + CLEANING_H
        self.outcome.hatched[task.id] = nauplii

    def _harvest_worms(self, task: HarvestWorms) -> None:
        standing = self.cultures.get(task.subject)
        if standing is None:
            self.fail(task, "there is no such culture")
            return
        standing.advance(hours(task.at))
        taken = task.mg
        # A stock that the plan keeps just at the density from which worms climb may come out a
        # rounding below it here.
        stock = standing.state.stock_mg * (1 + _TOLERANCE)
        if taken > standing.model.climbing(stock, standing.state.age):
            self.fail(task, "more worms than climb")
        per_day = len(self.room.rounds_on(task.at.date()))
        if taken > standing.model.harvestable(stock, per_day) * (1 + _TOLERANCE):
            self.fail(task, "more worms than a culture should give at a round")
        standing.state = standing.state.without(min(taken, standing.state.stock_mg))
        kind = standing.culture.kind.name
        self.cup_mg[kind] = self.cup_mg.get(kind, 0.0) + taken

    def _split(self, task: Split) -> None:
        parent = self.cultures.get(task.subject)
        if parent is None:
            self.fail(task, "there is no such parent")
            return
        parent.advance(hours(task.at))
        if not parent.fit:
            self.fail(task, "the parent gives no worms")
        if parent.before_splits_mg is None:
            parent.before_splits_mg = parent.state.stock_mg
        if parent.state.stock_mg < PARENT_KEEPS * parent.before_splits_mg * (1 - _TOLERANCE):
            self.fail(task, "the parent was split too often at once")
        values = parent.culture.kind.values
        since = parent.state.age - values["recovery_days"] + _TOLERANCE
        if sum(age > since for age in parent.gave) >= values["splits_at_once"]:
            self.fail(task, "the parent has not recovered from earlier splits")
        parent.gave.append(parent.state.age)
        day = parent.culture.kind.name, task.at.date()
        self.starts[day] = self.starts.get(day, 0) + 1
        if self.starts[day] > values["splits_a_day"]:
            self.fail(task, "too many splits of a kind on one day")
        starter = task.starter_g
        given = parent.state.stock_mg * min(1.0, starter / parent.culture.medium_g)
        parent.state = parent.state.without(given)
        child = Culture(
            name=task.other, kind=parent.culture.kind, started=task.at.date(),
            medium_g=task.medium_g, surface_cm2=task.surface_cm2,
            starter_g=starter, temperature_c=parent.culture.temperature_c,
        )  # fmt: skip
        self.cultures[task.other] = self._standing(child, task.at, given)
        standing = sum(1 for c in self.cultures.values() if not self._spent(c, hours(task.at)))
        if self.room.shelf is not None and standing > self.room.shelf:
            self.fail(task, "the shelf is full")

    @staticmethod
    def _spent(standing: _Standing, at_h: float) -> bool:
        age = standing.state.age + standing.clock.days(standing.at_h, at_h)
        retire_share = standing.culture.kind.values["retire_share"]
        return age >= last_useful_age(standing.model, retire_share) - _TOLERANCE

    def _retire(self, task: Retire) -> None:
        if self.cultures.pop(task.subject, None) is None:
            self.fail(task, "there is no such culture")

    def _feed(self, task: Feed) -> None:
        at_h = hours(task.at)
        for food in sorted({line.food for line in self.lines.get(task.at, [])}):
            lines = [line for line in self.lines[task.at] if line.food == food and line.amount > 0]
            if not lines:
                continue
            if food == DRY:
                from cultures.planning.servings import dry_j_per_g

                for line in lines:
                    self._give(line, line.amount * dry_j_per_g())
                continue
            volume = task.cups_ml[food]
            if sum(line.amount for line in lines) > volume * (1 + _TOLERANCE):
                self.fail(task, f"more {food} dosed than the cup holds")
            energy = self._cup_energy(task, food, at_h)
            for line in lines:
                self._give(line, energy * line.amount / volume)
        self.cup_mg.clear()

    def _cup_energy(self, task: Feed, food: str, at_h: float) -> float:
        if food != BRINE_SHRIMP:
            kind = self.room.kinds[food]
            assert isinstance(kind, WormKind)
            return self.cup_mg.get(food, 0.0) * kind.fed_j_per_mg
        wanted, energy = task.nauplii or 0.0, 0.0
        over_h = {
            id(held): at_h - held.harvest_h - self.holding.longest_h(held.harvest_h) - _TOLERANCE
            for held in self.held
        }
        # What is past its keeping comes last.
        for held in sorted(self.held, key=lambda held: over_h[id(held)] > 0.0):
            if over_h[id(held)] > _LATE_H:
                continue
            alive = held.nauplii * self.holding.alive(held.harvest_h, at_h)
            used = min(wanted, alive)
            if used <= 0:
                continue
            value = held.energy_j * self.holding.share(held.harvest_h, at_h)
            energy += value * used / alive
            left = 1.0 - used / alive
            held.nauplii *= left
            held.energy_j *= left
            wanted -= used
        if wanted > 1.0:
            self.fail(task, f"{wanted:.0f} nauplii fewer than the cup wants")
        return energy

    def _give(self, line: FeedLine, energy_j: float) -> None:
        key = line.at, line.brood, line.food
        self.outcome.given_j[key] = self.outcome.given_j.get(key, 0.0) + energy_j
