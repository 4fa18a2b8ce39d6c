"""Which hatches could be set: for each vessel and round, when, and what they would bring."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Hashable, Iterator, Mapping, Sequence
from copy import copy
from datetime import date, timedelta

from attrs import frozen

from cultures.foods.hatching import HatchModel
from cultures.foods.holding import Holding
from cultures.foods.vessels import Vessel
from cultures.fry.feeding import feeding_values
from cultures.needs.need import Round
from cultures.planning.lots import Option
from cultures.room.jars import vessel_model
from cultures.room.room import Room, Told
from cultures.tasks.task import SetHatch
from cultures.words.moments import hours

#: Before a round: air off, settle, draw off and rinse. After a harvest: wash the vessel.
HARVEST_LEAD_H = 0.5
CLEANING_H = 0.5
#: Incubations with less than this share of the best energy are not offered.
_LEAST_VALUE = 0.5
#: Nor one that brings so little more than another that is no more work.
_NEARLY = 0.01
#: Work of a setting for which the keeper has to come in between rounds.
_EXTRA_WAY = 1.25
#: A setting that was told already costs less by what moving it costs, but at least this.
_LEAST_EFFORT = 0.05
#: The time and the grams of a setting that nobody was told.
_NOT_TOLD = (math.nan, 0.0)
#: Incubations are rounded to this many places [h], so that equal ones are worked out once.
EXACT = 9


def harvest_time(room: Room, feeding: Round) -> float:
    """When a hatch is harvested for a round: half an hour before, but not before waking."""
    waking = hours(room.local(feeding.at.date(), room.awake[0]))
    return max(feeding.at_h - HARVEST_LEAD_H, min(waking, feeding.at_h))


@frozen
class Setting:
    """A time at which a hatch may be set.

    Attributes:
        at_h: [h since the epoch]. effort: work of it, in usual settings. energy_j: what a gram
            brings at the harvest [J/g].
    """

    at_h: float
    effort: float
    energy_j: float


class HatchOptions:
    """What may be set in the vessels of a room, for the rounds from one on.

    Attributes:
        harvest_h: when a hatch is drawn off for each round [h since the epoch].
    """

    def __init__(self, room: Room, feedings: Sequence[Round], holding: Holding) -> None:
        self.room, self.feedings, self.holding = room, feedings, holding
        self.harvest_h = [harvest_time(room, r) for r in feedings]
        #: When a vessel that is harvested for a round is clean again: the only times from which
        #: on more can be set than before.
        self.clean_h = [
            at_h + CLEANING_H for at_h, r in zip(self.harvest_h, feedings, strict=True) if r.keeper
        ]
        self.days: dict[date, tuple[float, float, list[float]] | None] = {}
        #: Settings by what decides them: kind of vessel, harvest, the first time for setting it.
        self.known: dict[tuple[tuple[float, float, float], float, float], list[Setting]] = {}
        #: Batches by vessel, round and the first time for setting them.
        self.made: dict[tuple[int, int, float], list[Option]] = {}
        self.told = _told_settings(room)
        self.told_g = _told_grams(room)
        self.drafted = _drafted_settings(room)
        self.discount = room.move_g / max(room.effort_g, 1e-6)
        self.draft_discount = self.discount * feeding_values()["drafted_share"]

    def until(self, rounds: int) -> HatchOptions:
        """The same for the first rounds alone, with all that is worked out already: what is set for
        a round does not hang on later ones.
        """
        found = copy(self)
        found.feedings, found.harvest_h = self.feedings[:rounds], self.harvest_h[:rounds]
        return found

    def of(self, number: int, free_h: float, since: int) -> Iterator[Option]:
        """The batches that a vessel could give, set after it is free, for rounds ``since`` on."""
        vessel = self.room.vessels[number]
        model = vessel_model(self.room, vessel)
        if model.rate <= 0:
            return
        if (moment := self.room.not_before.get(vessel.name)) is not None:
            free_h = max(free_h, hours(moment))
        longest = self._span(model)[1]
        rounds = zip(self.feedings[since:], self.harvest_h[since:], strict=True)
        for feeding, harvest_h in rounds:
            if not feeding.keeper or (vessel.lost_h is not None and harvest_h > vessel.lost_h):
                continue
            from_h = max(free_h, harvest_h - longest)
            made = self.made.get((number, feeding.index, from_h))
            if made is None:
                made = self._made(number, model, feeding, harvest_h, from_h)
                self.made[number, feeding.index, from_h] = made
            yield from made

    def _made(
        self, number: int, model: HatchModel, feeding: Round, harvest_h: float, from_h: float
    ) -> list[Option]:
        """The batches of a vessel that are drawn off for a round, set after a time."""
        vessel = self.room.vessels[number]
        alike, held = likeness(vessel), self.holding.share(harvest_h, feeding.at_h)
        told_h = self.told.get((alike, harvest_h))
        drafted = self.drafted.get((alike, harvest_h), {})
        settings = self.known.get((alike, harvest_h, from_h))
        if settings is None:
            settings = self.settings(model, harvest_h, from_h, told_h, drafted)
            self.known[alike, harvest_h, from_h] = settings
        own = self.told_g.get((vessel.name, harvest_h))
        weighed = own or self.told_g.get((alike, harvest_h), _NOT_TOLD)
        return [
            Option(
                vessel=number,
                at_index=feeding.index,
                start_h=setting.at_h,
                end_h=harvest_h + CLEANING_H,
                energy_per_g=setting.energy_j * held,
                most_g=self.room.hatch_kind.most_grams(vessel.litres),
                effort=setting.effort,
                told_g=weighed[1] if setting.at_h == weighed[0] else 0.0,
                own=own is not None and setting.at_h == own[0],
                drafted=setting.at_h in drafted and setting.at_h != told_h,
                own_draft=vessel.name in drafted.get(setting.at_h, ()),
            )
            for setting in settings
        ]

    def settings(
        self, model: HatchModel, harvest_h: float, from_h: float, told_h: float | None = None,
        drafted: Collection[float] = (),
    ) -> list[Setting]:  # fmt: skip
        """When to set a hatch that is harvested at a time, none of which another makes needless.

        The later one is set, the earlier its vessel may have been in use before; so between two
        times at which vessels are clean again only the best counts.

        Args:
            told_h: when it was told to be set, drafted: when the last plan had it set in a vessel
                like this [h since the epoch].
        """
        shortest, longest = self._span(model)
        low_h, high_h = max(from_h, harvest_h - longest), harvest_h - shortest
        best: list[tuple[int, Setting]] = []
        known = drafted if told_h is None else (told_h, *drafted)
        for at_h, at_round in self._moments(low_h, high_h, harvest_h - model.best_hours(), known):
            effort = 1.0 if at_round else _EXTRA_WAY
            if at_h == told_h:
                effort = max(_LEAST_EFFORT, effort - self.discount)
            elif at_h in drafted:
                effort = max(_LEAST_EFFORT, effort - self.draft_discount)
            energy_j = model.energy(round(harvest_h - at_h, EXACT))
            best.append((bisect_right(self.clean_h, at_h + 1e-9), Setting(at_h, effort, energy_j)))
        best.sort(key=lambda found: (-found[0], -found[1].energy_j, found[1].effort))
        kept: list[Setting] = []
        for _, one in best:
            enough_j = (1.0 - _NEARLY) * one.energy_j
            if not any(k.energy_j >= enough_j and k.effort <= one.effort for k in kept):
                kept.append(one)
        return kept

    def _span(self, model: HatchModel) -> tuple[float, float]:
        """Between how short and how long a hatch may stand that is planned [h].

        Once they are out nauplii keep in the bottle no longer than in a jar that stands as warm.
        """
        shortest, longest = model.window(_LEAST_VALUE)
        return shortest, min(longest, model.best_hours() + keeps_h(self.room))

    def _moments(
        self, low_h: float, high_h: float, ideal_h: float, known: Collection[float]
    ) -> set[tuple[float, bool]]:
        """(time, whether it is a feeding time) of all settings worth a look between two times."""
        found: set[tuple[float, bool]] = set()
        if high_h < low_h:
            return found
        day, last = self.room.at_hour(low_h).date(), self.room.at_hour(high_h).date()
        clean = self.clean_h[bisect_left(self.clean_h, low_h) : bisect_right(self.clean_h, high_h)]
        while day <= last:
            hours_of_day = self._day(day)
            day += timedelta(days=1)
            if hours_of_day is None:
                continue
            waking, sleep, rounds = hours_of_day
            # Down to whole five minutes: earlier is riper, and the clock is easier to read.
            best = math.floor(min(max(ideal_h, waking), sleep) * 12 + 1e-6) / 12
            free = (math.ceil(c * 12 - 1e-6) / 12 for c in (low_h, *clean))
            for at_h in (max(best, waking), *free, *rounds, *known):
                inside = max(low_h, waking) <= at_h <= min(high_h, sleep)
                if inside and not (self.room.away and self.room.away_at(self.room.at_hour(at_h))):
                    found.add((at_h, at_h in rounds))
        return found

    def _day(self, day: date) -> tuple[float, float, list[float]] | None:
        """(waking, sleep, rounds) [h since the epoch]; None when the keeper is away."""
        if day not in self.days:
            room = self.room
            away = room.away_on(day) is not None
            clock = (*room.awake, *room.rounds_on(day))
            low, high, *rounds = (hours(room.local(day, at)) for at in clock)
            self.days[day] = None if away else (low, high, rounds)
        return self.days[day]


def keeps_h(room: Room) -> float:
    """How long nauplii keep where they hatched, from when they are at their best on [h]."""
    return room.hatch_kind.values["warm_hold_h"]


def likeness(vessel: Vessel) -> tuple[float, float, float]:
    """The same for vessels of which one does as well as the other."""
    return vessel.litres, vessel.temperature_c, vessel.salinity_g_per_l


def _told_grams(room: Room) -> dict[tuple[Hashable, float], tuple[float, float]]:
    """When to set [h] and how much [g] was told, by vessel or vessels alike and time of harvest."""
    found: dict[tuple[Hashable, float], tuple[float, float]] = {}
    for vessel, harvest_h, told in _told_hatches(room):
        for name in (vessel.name, likeness(vessel)) if told.grams > 0.0 else ():
            found[name, harvest_h] = hours(told.at), told.grams
    return found


def _told_settings(room: Room) -> dict[tuple[tuple[float, float, float], float], float]:
    """When hatches were told to be set, by vessels alike and time of harvest."""
    return {(likeness(v), harvest_h): hours(told.at) for v, harvest_h, told in _told_hatches(room)}


def _drafted_settings(
    room: Room,
) -> dict[tuple[tuple[float, float, float], float], Mapping[float, set[str]]]:
    """When hatches were planned last to be set that nobody was told [h], and the vessels, by
    vessels alike and time of harvest.
    """
    vessels = {vessel.name: vessel for vessel in reversed(room.vessels)}
    found: dict[tuple[tuple[float, float, float], float], dict[float, set[str]]] = {}
    for one in room.drafted:
        if one.name in vessels and one.harvest_at is not None:
            key = likeness(vessels[one.name]), hours(one.harvest_at)
            found.setdefault(key, {}).setdefault(hours(one.at), set()).add(one.name)
    return {**found}


def _told_hatches(room: Room) -> Iterator[tuple[Vessel, float, Told]]:
    """The settings that were told, each with its vessel and when it is to be drawn off [h].

    One that is in hand counts as done: else the same would be cheap once more in a vessel alike.
    """
    vessels = {vessel.name: vessel for vessel in reversed(room.vessels)}
    begun = {(t.task.subject, t.task.at) for t in room.in_hand if isinstance(t.task, SetHatch)}
    for told in room.told:
        if (told.name, told.at) in begun:
            continue
        if told.harvest_at is not None and told.name in vessels:
            yield vessels[told.name], hours(told.harvest_at), told
