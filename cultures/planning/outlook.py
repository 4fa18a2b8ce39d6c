"""A room planned ahead from one moment on: who is fed what of which culture and hatch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, time, timedelta
from functools import cached_property

from attrs import define, evolve, field

from cultures.needs.need import BroodNeed, Round, room_needs, rounds_between
from cultures.planning.amounts import Cup, measure
from cultures.planning.feeding_plan import plan_feeding
from cultures.planning.gaps import Gap, find_gaps
from cultures.planning.hopes import Hopes, prepare, provided_for
from cultures.planning.matching import FeedingPlan
from cultures.planning.stretches import view_end
from cultures.room.room import Room
from cultures.tasks.plan import CultureSpan, Supply
from cultures.tasks.task import Feed, Task
from cultures.tasks.told import LATE, FeedLine, ToldTask

#: What of a room is only shown beside a plan: none is made from it.
_SHOWN = (
    "answered", "edits", "fed_tanks", "fed_today", "few_hatched", "lost_foods", "noted_ahead",
    "notes", "overtaken", "remarks", "tin_doubt", "unspoken",
)  # fmt: skip


@define(eq=False)
class Outlook:
    """A plan with everything behind it, for charts, remedies and the simulator.

    Attributes:
        feedings: all rounds to plan, from the one that is due now to past the horizon.
        needs, lines: by round. cups: by (round, food). built: its tasks, once they are asked for.
        hopes: what is prepared for planned spawnings, where there are any. of_tin: what is said of
            a tin in doubt, once it is asked for. begun: what the screen that it is made for tells,
            and is in hand in it for that: the steps of a round whose time has come.

    What is in hand (``room.in_hand``) was told and has begun: it is not planned again, and its
    tasks and feeding lines stand in the plan as they were told.
    """

    room: Room
    now: datetime
    until: datetime
    feedings: tuple[Round, ...]
    needs: list[list[BroodNeed]] = field(repr=False)
    feeding: FeedingPlan = field(repr=False)
    lines: list[list[FeedLine]] = field(repr=False)
    cups: dict[tuple[int, str], Cup] = field(repr=False)
    hopes: Hopes | None = field(default=None, repr=False)
    built: tuple[Task, ...] | None = field(default=None, repr=False, init=False)
    of_tin: str | None = field(default=None, repr=False, init=False)
    begun: tuple[ToldTask, ...] = field(default=(), repr=False, init=False)

    @cached_property
    def gaps(self) -> list[Gap]:
        """What broods miss at each round, by time; found once."""
        return find_gaps(self.feedings, self.needs, self.feeding, self.lines)

    def rows(self) -> Iterator[tuple[datetime, Sequence[FeedLine]]]:
        """The feeding lines of each round by time, of those in hand as they were told."""
        for told in self._feeds_in_hand():
            yield told.task.at, told.lines
        for feeding, row in zip(self.feedings, self.lines, strict=True):
            yield feeding.at, row

    def round_times(self) -> list[datetime]:
        """The times of all rounds, of those in hand first."""
        told = (told.task.at for told in self._feeds_in_hand())
        return [*told, *(feeding.at for feeding in self.feedings)]

    def _feeds_in_hand(self) -> list[ToldTask]:
        return [told for told in self.room.in_hand if isinstance(told.task, Feed)]

    def round_j(self) -> float:
        """What all broods need at a round, on average [J]."""
        needs_j = [sum(need.energy_j for need in row) for row in self.needs]
        return sum(needs_j) / len(needs_j) if needs_j else 0.0

    def is_noted(self, at: datetime) -> bool:
        """Whether all work of a round in hand is answered, or that nobody feeds at it."""
        mine = [t.task.id for t in self.room.in_hand if t.round_at == at]
        if at in self.room.unfed and self.told_round(at) is not None:
            return True
        return bool(mine) and all(key in self.room.answered for key in mine)

    def told_round(self, at: datetime) -> ToldTask | None:
        """The feeding of a round that is in hand, or None."""
        return next((told for told in self._feeds_in_hand() if told.task.at == at), None)

    def is_called_off(self, at: datetime) -> bool:
        """Whether it is noted that nobody feeds at a round ahead, which is not in hand yet."""
        return at in self.room.unfed and self.told_round(at) is None

    def cultures(self) -> tuple[CultureSpan, ...]:
        """Every culture that stands or is planned within the shown time, by kind and start."""
        found = []
        for name in sorted(self.feeding.worms):
            plan = self.feeding.worms[name]
            starts = {s.culture.name: self.feedings[s.at_index].at for s in plan.splits}
            for stage in plan.stages:
                culture = stage.culture
                started = starts.get(culture.name) or self.room.local(culture.started, time(12))
                if started >= self.until:
                    continue
                usable = plan.course.usable_from.get(culture.name)
                spent = stage.spent_h < self.feedings[-1].at_h + 24 * 366
                found.append(
                    CultureSpan(
                        name=culture.name,
                        kind=name,
                        started=started,
                        usable_from=None if usable is None else self.feedings[usable].at,
                        spent_on=self.room.at_hour(stage.spent_h) if spent else None,
                    )
                )
        return tuple(sorted(found, key=lambda c: (c.kind, c.started, c.name)))

    def supply(self) -> list[Supply]:
        """Need and supply by food and local day, within the shown time; added up once."""
        return self._supply

    @cached_property
    def _supply(self) -> list[Supply]:
        totals: dict[tuple[str, str], list[float]] = {}
        for feeding, needs, row in zip(self.feedings, self.needs, self.lines, strict=True):
            if not feeding.at < self.until:
                continue
            day = feeding.at.date().isoformat()
            for need in needs if not feeding.fed else ():
                for food, energy_j in need.foods.items():
                    pair = totals.setdefault((day, food), [0.0, 0.0])
                    pair[0] += energy_j
            for line in row:
                pair = totals.setdefault((day, line.food), [0.0, 0.0])
                pair[0] += line.need_j
                pair[1] += line.given_j
        return [
            Supply(day, food, need, given) for (day, food), (need, given) in sorted(totals.items())
        ]

    def keeper_round(self, index: int) -> Round | None:
        """The first round from an index on at which the keeper is there."""
        return next((r for r in self.feedings[index:] if r.keeper), None)


def rounds_there(outlook: Outlook) -> list[Round]:
    """The rounds ahead at which the keeper is there; before days away the last one of today too,
    though it has begun: what is to be done before them stands until then.
    """
    room, today = outlook.room, outlook.now.date()
    there = [r for r in outlook.feedings if r.keeper]
    leaves = room.away_on(today) is None and room.away_on(today + timedelta(days=1)) is not None
    if not leaves or any(r.at.date() == today for r in there):
        return there
    begun = rounds_between(room, room.local(today, time(0)), room.local(today, time(23, 59)))
    return [*[r for r in begun if r.keeper][-1:], *there]


def make_outlook(room: Room, *, now: datetime, days: int | None = None) -> Outlook:
    """Plans a room from now to past the horizon; nothing that is over is planned again.

    Args:
        now: aware. days: how far to look; None for the room's horizon.

    Raises:
        RangeError: a brood whose eggs never develop.
    """
    until = now + timedelta(days=days or room.horizon_days)
    feedings = rounds_until(room, now, until)
    needs = room_needs(room, feedings)
    feeding, hopes = plan_feeding(room, feedings, start=now, needs=needs), None
    if room.hoped:
        hoped = provided_for(room, _end(room, now, until))
        feeding, hopes = prepare(room, feedings, feeding, hoped, start=now)
    lines, cups = measure(room, feeding)
    return Outlook(room, now, until, feedings, needs, feeding, lines, cups, hopes)


def beside(outlook: Outlook, room: Room, other: Room) -> Outlook | None:
    """An outlook of a room as that of another at the same time; None where that has another plan.

    Args:
        room: that the outlook was made of. other: equal to it but for what is only shown.
    """
    shown = {name: getattr(other, name) for name in _SHOWN}
    if evolve(room, **shown) != other:
        return None
    return evolve(outlook, room=evolve(outlook.room, **shown))


def rounds_until(room: Room, now: datetime, until: datetime) -> tuple[Round, ...]:
    """All rounds that are planned to settle those up to a time."""
    return tuple(rounds_between(room, _first_round(room, now), _end(room, now, until)))


def _end(room: Room, now: datetime, until: datetime) -> datetime:
    return view_end(room, now, max(until, now + timedelta(days=room.horizon_days)))


def _first_round(room: Room, now: datetime) -> datetime:
    """From when rounds are planned: one is still to be fed for two hours after its time."""
    late = now - LATE
    if room.fed_until is None or room.fed_until < late:
        return late
    return room.fed_until + timedelta(seconds=1)
