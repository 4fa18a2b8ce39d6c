"""One culture of the room on its own dates: what was taken of it, what is planned, what stands."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from attrs import frozen

from cultures.foods.worms import CultureState
from cultures.replay.worms import Life, Touch
from cultures.room.room import Culture, Room
from cultures.tasks.plan import CultureSpan
from cultures.tasks.task import HarvestWorms, Split, Task
from cultures.words.moments import hours

#: The longest life that is shown [d].
_LONGEST_DAYS = 800


@frozen
class CourseDay:
    """One local day of a culture.

    Attributes:
        stock_mg: worms standing at its end, or now [mg wet]. taken_mg: taken on it [mg wet].
        ahead_mg: planned to be taken on it [mg wet]. planned: it lies ahead.
        marks: what else falls on it, in a few words.
    """

    day: date
    stock_mg: float
    taken_mg: float
    ahead_mg: float
    planned: bool
    marks: tuple[str, ...] = ()


@frozen
class CultureCourse:
    """A culture from its start to its end, by day.

    Attributes:
        ripe_from, spent_on: first day of a harvest and day on which it is spent, where known.
        touches: what was done to it so far.
    """

    culture: Culture
    days: tuple[CourseDay, ...]
    ripe_from: date | None
    spent_on: date | None
    touches: tuple[Touch, ...]

    def stands_mg(self, day: date) -> float:
        """Worms that stand in it on a day [mg wet]."""
        return next((d.stock_mg for d in self.days if d.day == day), 0.0)


def culture_course(
    room: Room, life: Life, tasks: Iterable[Task], span: CultureSpan | None, now: datetime
) -> CultureCourse:
    """The course of a culture that stands.

    Args:
        life: as it was replayed up to now. tasks: of the plan. span: the plan's word on it.
    """
    culture = life.culture
    spent_on = span.spent_on.date() if span is not None and span.spent_on is not None else None
    first = culture.started
    last = min(spent_on or now.date() + timedelta(days=60), first + timedelta(days=_LONGEST_DAYS))
    ahead = [
        t for t in tasks
        if t.at > now and t.subject == culture.name and isinstance(t, HarvestWorms | Split)
    ]  # fmt: skip
    usable = span.usable_from if span is not None else None
    walk = _Walk(room, life, last, usable.date() if usable is not None else None)
    days = []
    for number in range((max(last, now.date()) - first).days + 1):
        day = first + timedelta(days=number)
        taken, stock, marks = walk.done_on(day, now)
        planned = walk.planned_on(day, [t for t in ahead if t.at.date() == day], marks)
        for what, on in (("today", now.date()), ("ripe", walk.ripe_from), ("spent", spent_on)):
            if on == day:
                marks.append(what)
        standing = stock if day == now.date() else walk.life.state.stock_mg
        days.append(CourseDay(day, standing, taken, planned, day > now.date(), tuple(marks)))
    return CultureCourse(culture, tuple(days), walk.ripe_from, spent_on, tuple(life.log))


class _Walk:
    """A culture carried from day to day through what was done and what is planned.

    ``ripe_on``: the day on which the plan first takes worms from it, where it says one.
    """

    def __init__(self, room: Room, life: Life, last: date, ripe_on: date | None) -> None:
        self.room, self.log, self.ripe_on = room, list(life.log), ripe_on
        self.life = Life.begin(
            room, life.culture, begun_h=life.begun_h, until=last, stock_mg=life.start_mg
        )
        self.ripe_from: date | None = None

    def done_on(self, day: date, now: datetime) -> tuple[float, float, list[str]]:
        """(taken on a day so far, what stands then, what else was done)."""
        end_h = min(hours(self.room.local(day + timedelta(days=1), time(0))), hours(now))
        taken, marks = 0.0, list[str]()
        while self.log and self.log[0].at_h <= end_h:
            touch = self.log.pop(0)
            self.life.advance(touch.at_h)
            self.life.state = CultureState(touch.stock_mg, self.life.state.age)
            if touch.what == "harvest":
                taken += touch.taken_mg
            else:
                marks.append(touch.what)
        self.life.advance(end_h)
        if day <= now.date():
            self._look(day, taken)
        return taken, self.life.state.stock_mg, marks

    def planned_on(self, day: date, ahead: list[HarvestWorms | Split], marks: list[str]) -> float:
        """Lives the rest of a day by the plan; what is to be taken on it."""
        planned = 0.0
        for task in ahead:
            self.life.advance(hours(task.at))
            if isinstance(task, HarvestWorms):
                amount = task.mg
                planned += amount
            else:
                share = task.starter_g / self.life.culture.medium_g
                amount = self.life.state.stock_mg * min(1.0, share)
                marks.append(f"split {task.other}")
            self.life.state = self.life.state.without(min(amount, self.life.state.stock_mg))
        self.life.advance(hours(self.room.local(day + timedelta(days=1), time(0))))
        if self.ripe_on is None:
            self._look(day, planned)
        elif self.ripe_from is None and day == self.ripe_on:
            self.ripe_from = day
        return planned

    def _look(self, day: date, taken_mg: float) -> None:
        """Remembers the first day on which worms climb."""
        climbs = self.life.model.climbing(self.life.state.stock_mg, self.life.state.age) > 0.0
        if self.ripe_from is None and (climbs or taken_mg > 0.0):
            self.ripe_from = day
