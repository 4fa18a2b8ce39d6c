"""What broods were given at the rounds that were told, by what became of each.

A round that was told and is over was given as told, tank by tank, unless something else is noted:
that it was skipped, another amount of a food, worms that were not taken or nauplii that did not
hatch. A brood that left some of its food had all that it wanted. What was told for
fewer fish than there were was that much less for each. Of a time of which nothing was told nothing
is known, and the fry are taken as fed, unless it is noted that nobody fed; while nobody was there
they were not, told or not, but for the tanks of which somebody notes that they were; so it is with
those for which a round had nothing, and with rounds of which it was told that there would be
nothing.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import accumulate
from operator import attrgetter
from typing import NamedTuple

from attrs import define, field

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.fry.feeding import feeding_values
from cultures.needs.meals import FULL, Meal
from cultures.needs.need import rounds_between
from cultures.replay.shared import Deed
from cultures.room.room import Room
from cultures.tasks.task import Feed, HarvestWorms
from cultures.tasks.told import FeedLine, ToldTask
from cultures.words.moments import hours
from cultures.words.tasks import wet_ml

#: Rounding to marks and spoons evens out over so long on both sides [h].
_EVEN_H = 36.0
#: Leftovers are those of a meal so long ago at most [h].
_LEFT_H = 24.0
#: Told rounds are looked up by their hour.
_at_h = attrgetter("at_h")
#: Who feeds on a day on which nobody is to be there does so so near to a round [h].
_VISIT_H = 24.0
_MOMENT = timedelta(seconds=1)


@define
class _Served:
    """A told round, and what was noted of it.

    Attributes:
        skipped: nobody fed, but for tanks of which that is noted. nauplii: share of those told
        that were there to be fed. nobody: was to be there, as it is known by now.
        tanks: of single tanks, how much of a food they got instead; None for nothing at all.
        fry: how many there were of each brood, by what was noted up to then. few: its lines where
        far fewer nauplii were known to be there than told, and so were shared anew.
    """

    told: ToldTask
    at_h: float
    skipped: bool = False
    nauplii: float = 1.0
    tanks: dict[str, dict[str, tuple[float, str]] | None] = field(factory=dict)
    fry: Mapping[str, float] = field(factory=dict)
    few: Sequence[FeedLine] = ()
    nobody: bool = False


class _Plate(NamedTuple):
    """One brood's food at one round [J]: needed, told and given."""

    at_h: float
    need_j: float
    told_j: float
    given_j: float


class Meals:
    """All meals of a room on their way through the record."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.served: dict[str, _Served] = {}
        self.by_time: list[_Served] = []
        #: Worms that were told for a round and not taken [J], by round and kind.
        self.untaken: dict[float, dict[str, float]] = {}
        self.left: dict[str, list[float]] = {}
        #: When broods were fed though nothing was told for them.
        self.visits: dict[str, list[float]] = {}
        #: When broods got nothing at a round that was not told.
        self.unfed: dict[str, list[float]] = {}
        #: Rounds of which it was told that there was nothing for a brood [h since the epoch].
        self.bare = {brood: self._rounds(spans) for brood, spans in room.bare.items()}
        #: By brood: from when to when there were at least so many fry, as a later count shows.
        self.at_least: dict[str, list[tuple[float, float, float]]] = {}
        #: Broods that began as part of another, with the hour.
        self.parents: dict[str, tuple[str, float]] = {}
        #: By brood: those that are one with it, since when, and until their name is another's [h].
        self.merged: dict[str, list[tuple[str, float, float]]] = {}

    def fed(
        self, deed: Deed, *, nauplii: float, fry: Mapping[str, float],
        few: Sequence[FeedLine] = (),
    ) -> None:  # fmt: skip
        """A told round was fed, or one tank of it.

        Args:
            nauplii: share of those told that was there. fry: of each brood, at that round. few: its
                lines where these were shared anew.
        """
        served = self._of(deed.told)
        if served is None:
            return
        entry, served.fry, served.few = deed.entry, fry, few
        served.nauplii = nauplii if nauplii < FULL else 1.0
        if entry.subject == served.told.task.subject:
            served.skipped = False
            return
        if served.nobody:  # who fed it had the food, though nothing is noted of the jar
            served.nauplii, served.few = 1.0, ()
        noted = (served.tanks.get(entry.subject) or {}) if entry.other else {}
        if entry.other:
            noted = {**noted, entry.other: (entry.amount or 0.0, entry.unit)}
        served.tanks[entry.subject] = noted

    def skipped(self, deed: Deed) -> None:
        """A told round, a tank of it, or a harvest for it was skipped."""
        told, entry = deed.told, deed.entry
        if told is not None:
            self.untaken_of(told)
        served = self._of(told)
        if served is None or told is None:
            return
        if entry.subject in told.tanks and entry.subject != told.task.subject:
            served.tanks[entry.subject] = None
        else:
            served.skipped = True

    def untaken_of(self, told: ToldTask) -> None:
        """Worms that were told for a round were not taken."""
        kind = self.room.kinds.get(told.kind)
        harvest, round_at = told.task, told.round_at
        if isinstance(harvest, HarvestWorms) and isinstance(kind, WormKind) and round_at:
            lost = self.untaken.setdefault(hours(round_at), {})
            lost[told.kind] = lost.get(told.kind, 0.0) + harvest.mg * kind.fed_j_per_mg

    def leftover(self, deed: Deed) -> None:
        """A brood left some of its food."""
        self.left.setdefault(deed.entry.subject, []).append(deed.at_h)

    def visited(self, brood: str, at_h: float) -> None:
        """A brood was fed at a time at which nothing was told for it."""
        self.visits.setdefault(brood, []).append(at_h)
        self.unfed[brood] = [h for h in self.unfed.get(brood, ()) if h != at_h]

    def missed(self, brood: str, at_h: float) -> None:
        """A brood got nothing at a round that was not told."""
        self.unfed.setdefault(brood, []).append(at_h)
        self.visits[brood] = [h for h in self.visits.get(brood, ()) if h != at_h]

    def counted_more(self, brood: str, since_h: float, at_h: float, count: float) -> None:
        """More fry were counted than were known of: since the last count there were no fewer."""
        self.at_least.setdefault(brood, []).append((since_h, at_h, count))

    def parted(self, name: str, parent: str, at_h: float) -> None:
        """Part of a brood becomes one of its own."""
        self.parents[name] = parent, at_h

    def joined(self, name: str, into: str, at_h: float) -> None:
        """A brood is one with another from a time on."""
        self.merged.setdefault(into, []).append((name, at_h, math.inf))

    def begins(self, name: str, at_h: float) -> None:
        """A brood begins that has the name of one that may have joined another."""
        for into, joined in self.merged.items():
            self.merged[into] = [
                (other, since_h, min(until_h, at_h) if other == name else until_h)
                for other, since_h, until_h in joined
            ]  # fmt: skip

    def _of(self, told: ToldTask | None) -> _Served | None:
        if told is None or not isinstance(told.task, Feed) or not told.lines:
            return None
        key = told.task.id
        if key not in self.served:
            away = self.room.away_at(told.task.at)
            nobody = away is not None and not away.helper
            self.served[key] = _Served(told, hours(told.task.at), skipped=nobody, nobody=nobody)
        return self.served[key]

    def of(
        self, name: str, since_h: float, until_h: float, eats_h: float = math.inf
    ) -> list[Meal]:  # fmt: skip
        """The meals of a brood in a time, by time; none where none of them was short.

        Args:
            eats_h: from when on it got nothing at a told round that did not know of it as eating.
        """
        row, visits = [*self._plates(name, since_h, until_h)], self._of_family(self.visits, name)
        away = self._away(since_h, until_h, visits)
        missed = self._of_family(self.unfed, name)
        away += [Meal(at_h, 0.0) for at_h in missed if since_h <= at_h < until_h]
        away += [m for m in self._bare(name, visits) if since_h <= m.at_h < until_h]
        away += self._overlooked(name, max(since_h, eats_h), until_h, visits)
        if not away and all(FULL * p.need_j <= p.told_j <= p.given_j for p in row):
            return []
        meals = _with_away([*_shares(row, self._of_family(self.left, name), visits)], away)
        return meals if any(meal.share < FULL for meal in meals) else []

    def _rounds(self, spans: Iterable[tuple[datetime, datetime]]) -> list[float]:
        """The rounds of some times at which somebody was there to feed [h since the epoch]."""
        found = (rounds_between(self.room, first, last + _MOMENT) for first, last in spans)
        return [each.at_h for rounds in found for each in rounds if each.fed]

    def _bare(self, name: str, visits: Sequence[float]) -> Iterator[Meal]:
        """The rounds for which there was nothing for a brood, unless somebody fed it near them."""
        for at_h in self._of_family(self.bare, name):
            near_h = _VISIT_H / (2 * len(self.room.rounds_on(self.room.at_hour(at_h).date())))
            fed = any(abs(at_h - visit_h) < near_h for visit_h in visits)
            yield Meal(at_h, 1.0 if fed else 0.0)

    def _overlooked(
        self, name: str, since_h: float, until_h: float, visits: Sequence[float]
    ) -> Iterator[Meal]:  # fmt: skip
        """The told rounds that had nothing for a brood of which nobody knew then that it eats."""
        if name in self.parents:
            return
        for served in self.served.values():
            if since_h <= served.at_h < until_h and name not in served.told.plates:
                yield Meal(served.at_h, 1.0 if served.at_h in visits else 0.0)

    def _of_family(self, noted: Mapping[str, Sequence[float]], name: str) -> list[float]:
        """The times noted of a brood, and of what it was part of before [h]."""
        parent, parted_h = self.parents.get(name, ("", -math.inf))
        earlier = self._of_family(noted, parent) if parent else []
        return [*(h for h in earlier if h < parted_h), *noted.get(name, ())]

    def _plates(self, name: str, since_h: float, until_h: float) -> Iterator[_Plate]:
        parent, parted_h = self.parents.get(name, ("", -math.inf))
        if parent:
            yield from self._plates(parent, since_h, min(parted_h, until_h))
        if len(self.by_time) < len(self.served):
            self.by_time = sorted(self.served.values(), key=_at_h)
        first = bisect_left(self.by_time, max(since_h, parted_h), key=_at_h)
        for served in self.by_time[first : bisect_left(self.by_time, until_h, key=_at_h)]:
            plates = served.told.plates
            mine = [one for one in self._one_with(name, served.at_h) if one in plates]
            if mine:
                need_j, told_j = (sum(plates[one][i] for one in mine) for i in (0, 1))
                given_j = sum(self._given_j(served, one, plates[one][1]) for one in mine)
                given_j /= self._times_fry(served, name, mine)
                yield _Plate(served.at_h, need_j, told_j, given_j)

    def _one_with(self, name: str, at_h: float) -> list[str]:
        """A brood, and those that are one with it at a time: what was told for them is its own."""
        found = [name]
        for one in found:  # which grows: others may have joined these before
            found += [
                other for other, since_h, until_h in self.merged.get(one, ())
                if since_h <= at_h < until_h and other not in found
            ]  # fmt: skip
        return found

    def _times_fry(self, served: _Served, name: str, mine: Sequence[str]) -> float:
        """How many times the fry that a round was told for there were of a brood, if more.

        Args:
            mine: under which names it was told.
        """
        known = served.fry.get(name, 0.0)
        told = sum(served.told.fry.get(one, known if one == name else 0.0) for one in mine)
        shown = [n for since_h, until_h, n in self.at_least.get(name, ())
                 if since_h <= served.at_h < until_h]  # fmt: skip
        return max(1.0, max([known, *shown]) / told) if told > 0.0 else 1.0

    def _given_j(self, served: _Served, name: str, told_j: float) -> float:
        """What a brood was given of what was told at a round [J]."""
        untaken = self.untaken.get(served.at_h)
        if not (served.skipped or served.nauplii < 1.0 or served.tanks or untaken):
            return told_j
        taken = self._taken(served, untaken or {})
        told = sum(
            line.given_j * _part(served, line) * taken.get(line.food, 1.0)
            for line in served.few or served.told.lines if line.brood == name
        )  # fmt: skip
        return told + _unasked_j(served, name)

    @staticmethod
    def _taken(served: _Served, untaken: Mapping[str, float]) -> dict[str, float]:
        """The part of each food that was there, where not all of it was."""
        found = {BRINE_SHRIMP: 1.0 if served.few else served.nauplii}
        for kind, lost_j in untaken.items():
            told_j = sum(x.given_j for x in served.told.lines if x.food == kind)
            found[kind] = max(0.0, 1.0 - lost_j / told_j) if told_j > 0 else 1.0
        return found

    def _away(self, since_h: float, until_h: float, visits: Sequence[float]) -> list[Meal]:
        """The meals of days on which nobody was there, by the absences that the room file states.

        Args:
            visits: when somebody fed; that is a meal at the round nearest to it [h].
        """
        found: dict[float, None] = {}
        for away in self.room.away:
            if not away.helper:
                back = away.end + timedelta(days=1)
                start = self.room.local(away.start, self.room.rounds_on(away.start)[0])
                end = self.room.local(back, self.room.rounds_on(back)[0])
                rounds = rounds_between(self.room, start, end)
                found |= {r.at_h: None for r in rounds if since_h <= r.at_h < until_h and not r.fed}
        fed = {
            min(found, key=lambda at_h: abs(at_h - visit_h)) for visit_h in visits
            if self.room.away_at(self.room.at_hour(visit_h)) is not None
            and any(abs(at_h - visit_h) <= _VISIT_H for at_h in found)
        }  # fmt: skip
        return [Meal(at_h, 1.0 if at_h in fed else 0.0) for at_h in found]


def _part(served: _Served, line: FeedLine) -> float:
    """The part of what was told that a tank was given of a food."""
    if line.tank not in served.tanks:
        return 0.0 if served.skipped else 1.0
    noted = served.tanks[line.tank]
    if noted is None:
        return 0.0
    if line.food not in noted:
        return 1.0
    amount, unit = noted[line.food]
    told = measured(served.told, line.tank, line.food, unit)
    return amount / told if told else 1.0


def measured(told: ToldTask, tank: str, food: str, unit: str) -> float:
    """What was told of a food for a tank, in the unit in which it is noted; 0 where it has none in
    it.
    """
    mine = [x for x in told.lines if (x.tank, x.food) == (tank, food)]
    if all(x.unit == unit for x in mine):
        return sum(x.amount for x in mine)
    each = [wet_ml(x, told.lines) for x in mine] if food == DRY else []
    return sum(ml for ml in each if ml is not None)


def _unasked_j(served: _Served, name: str) -> float:
    """What a brood got of dry food, or of a cup, that was not told for its tank [J]: by its need
    there.
    """
    told, v = served.told, feeding_values()
    tank = next((line.tank for line in told.lines if line.brood == name), "")
    noted = served.tanks.get(tank) or {}
    dry_j = unasked_dry_g(told, tank, noted) * v["dry_j_per_g"] * v["dry_digested"]
    got_j = dry_j + sum(_of_others_j(told, tank, food, *much) for food, much in noted.items())
    if got_j <= 0.0:
        return 0.0
    broods = {line.brood for line in told.lines if line.tank == tank}
    needs = {brood: told.plates[brood][0] for brood in broods if brood in told.plates}
    return got_j * needs.get(name, 0.0) / (sum(needs.values()) or 1.0)


def _of_others_j(told: ToldTask, tank: str, food: str, amount: float, unit: str) -> float:
    """What a tank got of a cup that was told for others alone [J]."""
    cup = [x for x in told.lines if (x.food, x.unit) == (food, unit) and x.amount > 0]
    if food == DRY or not cup or any(x.tank == tank for x in cup):
        return 0.0
    return amount * sum(x.given_j for x in cup) / sum(x.amount for x in cup)


def unasked_dry_g(
    told: ToldTask, tank: str, noted: Mapping[str, tuple[float, str]]
) -> float:  # fmt: skip
    """How much dry food a tank got for which none was told [g].

    Args:
        noted: of each food that was noted of the tank how much, and in what unit.
    """
    asked = any((x.tank, x.food) == (tank, DRY) and x.amount > 0 for x in told.lines)
    grams, unit = noted.get(DRY, (0.0, "g"))
    return 0.0 if asked or unit != "g" else grams


def _shares(
    row: Sequence[_Plate], left: Sequence[float], visits: Sequence[float] = ()
) -> Iterator[Meal]:
    """Meals as shares of the need; what a plan rounds up here and down there counts as even.

    Who left some, and who was fed at a round that had nothing for them, had all they wanted.
    """
    row = [plate for plate in row if plate.need_j > 0.0]
    times = [plate.at_h for plate in row]
    needs = [0.0, *accumulate(plate.need_j for plate in row)]
    told = [0.0, *accumulate(plate.told_j for plate in row)]
    full = {bisect_right(times, at_h) - 1 for at_h in left}
    for n, plate in enumerate(row):
        if plate.at_h in visits or (
            n in full and any(0.0 <= at_h - plate.at_h <= _LEFT_H for at_h in left)
        ):
            yield Meal(plate.at_h, 1.0)
            continue
        low = bisect_left(times, plate.at_h - _EVEN_H)
        high = bisect_right(times, plate.at_h + _EVEN_H)
        even = (told[high] - told[low]) / (needs[high] - needs[low])
        part = plate.given_j / plate.told_j if plate.told_j > 0.0 else 1.0
        share = part * (1.0 if even >= FULL else even)
        yield Meal(plate.at_h, min(1.0, share) if part > 1.0 else share)


def _with_away(meals: list[Meal], away: Sequence[Meal]) -> list[Meal]:
    """Meals by time, of two of one round the one that is known best: the first."""
    extra = {meal.at_h: meal for meal in [*away[::-1], *meals]}
    return sorted(extra.values()) if away else meals
