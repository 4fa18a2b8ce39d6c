"""Broods as the journal says they fared: counts, lengths, moves, sales, losses."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import date, datetime, time, timedelta
from operator import itemgetter

from attrs import evolve

from cultures.fry.classes import FryClass, class_names, shipped_class
from cultures.fry.feeding import feeding_values
from cultures.fry.species import species_keys
from cultures.journal.events import DATED, LEAVING, OF_EGGS, OF_LARVAE, Entry, chance_of, day_ahead
from cultures.needs.meals import fed_by, starving
from cultures.needs.need import BroodCourse, first_food_of, round_after
from cultures.replay.doubts import brood_doubt, eggs_doubt
from cultures.replay.meals import Meals
from cultures.replay.observations import FishNoted, LengthObserved
from cultures.replay.own_values import grown
from cultures.replay.shared import Deed, Shared
from cultures.room.room import Brood, Room, Tank
from cultures.tasks.told import ToldTask
from cultures.words.moments import hours
from cultures.words.numbers import whole_number

#: Relative s.d. of a length read off a ruler or a photo, and of what the curve says
#: (assumptions).
RULER_SD = 0.05
CURVE_SD = 0.08
#: Fish that are measured when the entry does not say.
USUAL_FISH = 5
#: A brood's first food is known to about this [d].
FIRST_FOOD_SD_DAYS = 0.7
#: What a brood lacked so long before it was measured may still make it lean [h].
_FILLED_H = 14 * 24.0
#: So many times what was known is more than who counts errs by: they were there all the time.
_MANY_MORE = 1.25
#: A length so much off the curve is not taken for the brood's [s.d.].
_ABSURD = 4.0
#: From so many days of growth on a length says how fast a brood grows.
LEAST_DAYS = 3.0
#: Entries that begin a brood that nobody knew, and anchors that are not called as their entry.
_BEGINNINGS = ("spawn", "planned", "collected")
_ANCHORS = {"spawn": "spawned", "eggs_hatched": "hatched"}
#: Anchors that may lie ahead.
_AHEAD = ("collected", "wetted", "planned")
#: Entries that say how many fish there are or how many went, and those that count eggs.
_NUMBERS = ("spawn", "collected", "wetted", "eggs_hatched", "free_swimming", "count", *LEAVING)
_EGGS = ("spawn", "collected", "wetted")


class Broods:
    """The broods of a room on their way through the journal.

    Attributes:
        room: with the tanks as they stand. now: all by name. plain: the fry classes as the
            data have them, by brood, from which growth is judged. factors: of growth, by brood.
        meals: what they were given. first: each brood as it was at its first anchor, with the
            temperatures since.
        before: as it was before its last count. dying: broods of which losses were noted since.
        redated: broods whose age was noted anew, by the hour that was noted of it.
        stated: those of the room file, which may be newer than an entry. begun: how many there
            were, by name.
    """

    def __init__(
        self, room: Room, shared: Shared, now: dict[str, Brood], plain: dict[str, FryClass],
        factors: Mapping[str, float], meals: Meals,
    ) -> None:  # fmt: skip
        self._room, self.shared, self.now, self.meals = room, shared, now, meals
        self.tanks = {tank.name: tank for tank in room.tanks}
        self.plain, self.factors, self.first = plain, factors, dict(now)
        self.before: dict[str, Brood] = {}
        self.dying: set[str] = set()
        self.redated: dict[str, float] = {}
        self.stated, self.begun = dict(now), Counter([*now])
        for brood in now.values():
            self._founds(brood)
            if brood.anchor != "planned":
                self._fish(brood, brood.counted_on, "stated", brood.count, eggs=_are_eggs(brood))
        #: What takes in each event that is about a brood that is known.
        self.handlers: Mapping[str, Callable[[Entry, Brood, datetime], None]] = {
            **dict.fromkeys(DATED, self._anchored), **dict.fromkeys(LEAVING, self._gone),
            "drop": self._drop, "count": self._count, "move": self._move, "length": self._length,
            "merge": self._merge,
        }  # fmt: skip

    @property
    def room(self) -> Room:
        """The room with its tanks as they stand; made anew only when it is asked for."""
        tanks = tuple(self.tanks.values())
        if tanks != self._room.tanks:
            self._room = evolve(self._room, tanks=tanks)
        return self._room

    def handle(self, deed: Deed) -> bool:
        """Takes in one entry; False when no such brood is known."""
        entry, day = deed.entry, deed.at.date()
        brood = self.now.get(entry.subject)
        if brood is None:
            return entry.event in _BEGINNINGS and self._new(entry, day)
        self._numbered(entry, brood, day)
        dated = entry.event in (*DATED, "length")
        known = brood.anchor_date if dated else brood.counted_on
        if brood.anchor in _AHEAD:
            known = min(known, day)  # what lies ahead may come sooner
        newer = deed.at_h < self.shared.stated_h and brood.name in self.stated
        if newer and entry.event == "move":
            self._moved_before(entry, brood, deed.at)
        elif newer and entry.event == "length" and brood.anchor != "collected":
            self._observe(entry, brood, hours(self.room.local(day, time(12))), _fish(entry.other))
        elif day >= known and not newer:
            self.handlers[entry.event](entry, brood, deed.at)
        return True

    def fry(self, told: ToldTask) -> dict[str, float]:
        """How many fry there are of each brood of a told round, on its day."""
        day = told.task.at.astimezone(self._room.timezone).date()
        return {name: self.now[name].alive(day) for name in told.plates if name in self.now}

    def with_meals(self, brood: Brood, until_h: float | None = None) -> Brood:
        """A brood as far behind its class as its meals up to now, or to a moment, have left it."""
        if brood.waits(self.shared.until) or brood.anchor == "planned":
            return brood
        now_h = hours(self.shared.now) if until_h is None else until_h
        since_h = hours(self._room.local(brood.anchor_date, time(0))) - _FILLED_H
        meals = self.meals.of(brood.name, since_h, now_h, self._eats_unknown(brood))
        if not meals:
            return brood
        course = BroodCourse.of(self.room, brood)
        per_day = self._room.usual_rounds()
        next_h = round_after(self._room, meals[-1].at_h).at_h if until_h is None else None
        found = fed_by(course, meals, now_h, per_day=per_day, next_h=next_h)
        return brood if found is None else evolve(brood, fed=found)

    def _eats_unknown(self, brood: Brood) -> float:
        """From when on a brood eats whose age was noted anew, so that rounds told before may have
        had nothing for it [h since the epoch]; infinity for any other.
        """
        if brood.name not in self.redated or brood.anchor == "length":
            return math.inf
        return max(self.redated[brood.name], BroodCourse.of(self.room, brood).first_food_h)

    def _founds(self, brood: Brood) -> None:
        """A family of its own; a name that was used before begins another one."""
        families = self.shared.seen.families
        name, number = brood.name, 1
        while name in families.values():
            number += 1
            name = f"{brood.name} ({number})"
        families[brood.name] = name

    def _fish(
        self, brood: Brood, day: date, event: str, amount: float | None, *, eggs: bool = False
    ) -> None:
        seen = self.shared.seen
        seen.fish.append(
            FishNoted(seen.families[brood.name], brood.fry_class.name, day, event, amount,
                      brood.alive(day), eggs)
        )  # fmt: skip

    def _numbered(self, entry: Entry, brood: Brood, day: date) -> None:
        """How many fish an entry says there are, or went."""
        if entry.event in _NUMBERS and (entry.amount is not None or entry.other == "all"):
            self._fish(brood, day, entry.event, entry.amount, eggs=entry.event in _EGGS)

    def _put(self, brood: Brood) -> None:
        self.now[brood.name] = brood

    def _new(self, entry: Entry, day: date) -> bool:
        """A brood that the room file does not have."""
        place, chance = entry.other, 1.0
        if entry.event == "planned":
            chance = chance_of(entry) or feeding_values()["spawn_chance"]
            place, day = place.rpartition(" on ")[0], day_ahead(entry) or day
        tank, _, class_name = place.rpartition(" ")
        if tank not in self.tanks:
            self.shared.tell(
                entry, f"{entry.subject} spawned, but '{entry.other}' is not a tank of this room"
                " and a fry class; the brood is not planned for."
            )  # fmt: skip
            return True
        plain = self.room.fry_classes.get(class_name)
        if plain is None and class_name not in (*class_names(), *species_keys()):
            self.shared.tell(
                entry, f"there is no fry class '{class_name}'; {entry.subject} is not planned for."
            )
            return True
        plain = plain or shipped_class(class_name)
        if entry.amount is None:
            self.shared.notes.append(f"{entry.subject} was never counted; it is taken as 100 fry.")
        self.plain[entry.subject] = plain
        self.begun[entry.subject] += 1
        brood = Brood(
            name=entry.subject, tank=tank,
            anchor=_ANCHORS.get(entry.event, entry.event), anchor_date=day,
            fry_class=grown(plain, self.factors.get(entry.subject, 1.0)),
            count=100.0 if entry.amount is None else entry.amount, counted_on=day,
            survival_per_day=plain.values["survival_per_day"], sell_at=self._room.sell_at,
            chance=chance, nth=self.begun[entry.subject],
        )  # fmt: skip
        self._founds(brood)
        self.meals.begins(brood.name, hours(entry.when))
        self._numbered(entry, brood, day)
        self._begin(brood)
        return True

    def _begin(self, brood: Brood) -> None:
        """From here on its growth is judged."""
        self.first[brood.name] = brood
        self._put(brood)

    def _drop(self, entry: Entry, brood: Brood, at: datetime) -> None:  # noqa: ARG002
        if brood.anchor == "planned":
            del self.now[brood.name]
        else:
            self.shared.tell(entry, f"{brood.name} is there; only a planned spawning is dropped.")

    def _anchored(self, entry: Entry, brood: Brood, at: datetime) -> None:
        """An entry says how old a brood is."""
        if entry.amount is not None:
            self.before.pop(brood.name, None)
        self.redated[brood.name] = hours(at)
        self._begin(_dated_anew(entry, brood, at))

    def doubt(self, entry: Entry, brood: Brood, at: datetime) -> str | None:
        """Why an entry of a brood cannot be true by all that is known, or None."""
        back = self._back_to_eggs(entry, brood, at)
        if back is not None:
            return back
        eggs = _are_eggs(brood)
        first = self._first_food(brood) if eggs else None
        # Who has fed fry for a day has seen about how many came of the eggs.
        fed = first is not None and at.date() > first
        return brood_doubt(
            entry, brood, at, eggs=eggs and not fed, fed_since=first if fed else None,
            dying=brood.name in self.dying or self._starved(brood, hours(at)),
            counted=brood.name in self.before,
            others=[b for b in self.now.values()
                    if b.name != brood.name and b.counted_on <= at.date() and not _are_eggs(b)],
        )  # fmt: skip

    def _starved(self, brood: Brood, at_h: float) -> bool:
        """Whether a brood went short for so long that many of it may be dead."""
        if brood.waits(self.shared.until) or brood.anchor == "planned":
            return False
        return starving(BroodCourse.of(self.room, self.with_meals(brood, at_h)), at_h)

    def _back_to_eggs(self, entry: Entry, brood: Brood, at: datetime) -> str | None:
        """Why a brood that eats cannot be eggs by an entry, or None."""
        supposed = brood.anchor == "wetted" and not brood.seen  # of a day that was only said
        late = entry.event in OF_LARVAE
        if not (late or entry.event in OF_EGGS) or at.date() < brood.anchor_date or supposed:
            return None
        today, was = self.shared.until, self._first_food(brood)
        first = self._first_food(_dated_anew(entry, brood, at))
        if was is None or was > today or (first is not None and first <= today):
            return None
        if not self._has_eaten(brood, was):
            return None
        return eggs_doubt(entry, brood, was, first, at)

    def _has_eaten(self, brood: Brood, first: date) -> bool:
        """Whether a brood was given something since the day of its first food, by what was told and
        noted; on that day itself not yet.
        """
        now_h = hours(self.shared.now)
        since_h = hours(self._room.local(first, time(0)))
        meals = self.meals.of(brood.name, since_h, now_h, self._eats_unknown(brood))
        if not meals:  # it went short at none
            return first < self.shared.until
        return any(meal.share > 0.0 for meal in meals if meal.at_h <= now_h)

    def _first_food(self, brood: Brood) -> date | None:
        return first_food_of(self.room, brood, self.shared.until)

    def _count(self, entry: Entry, brood: Brood, at: datetime) -> None:
        assert entry.amount is not None
        self.dying.discard(brood.name)
        if entry.amount <= 0:
            del self.now[brood.name]
            return
        if at.date() < brood.counted_on:  # nothing is lost of eggs until they are wetted
            self._put(evolve(brood, count=entry.amount))
            return
        if entry.amount > _MANY_MORE * brood.alive(at.date()):
            since_h = hours(self._room.local(brood.counted_on, time(0)))
            self.meals.counted_more(brood.name, since_h, hours(at), entry.amount)
        before = self.before.get(brood.name)
        if before is None or not _was_miscounted(before, brood, entry.amount, at.date()):
            self.before[brood.name] = before = brood
        since = evolve(brood, count=before.count, counted_on=before.counted_on,
                       survival_per_day=before.survival_per_day)  # fmt: skip
        eats = self._first_food(since)
        if eats is not None and since.counted_on < eats:
            self._put(evolve(since, count=entry.amount, counted_on=at.date()))
        else:
            self._put(counted(since, entry.amount, at.date()))

    def _gone(self, entry: Entry, brood: Brood, at: datetime) -> None:
        day = at.date()
        gone = math.inf if entry.other == "all" else (entry.amount or 0.0)
        # Who sells some of them sees the rest, whatever is thought to have died since a count.
        there = brood.count if entry.event == "sold" else brood.alive(day)
        if there - gone < 0.5:
            del self.now[brood.name]
            return
        self._put(_less(brood, gone, day))
        if entry.event != "sold":
            self.dying.add(brood.name)
        if brood.name in self.before:
            self.before[brood.name] = _less(self.before[brood.name], gone, day)

    def _move(self, entry: Entry, brood: Brood, at: datetime) -> None:
        tank = self.tanks.get(entry.other)
        if tank is None:
            self.shared.tell(
                entry, f"there is no tank '{entry.other}' in the room file; {brood.name} stays in"
                f" {brood.tank}."
            )  # fmt: skip
            return
        if tank.name == brood.tank:
            return
        day = at.date()
        left = brood.alive(day)
        moved = self._lives_in(tank, hours(at), brood)
        if entry.amount is None or entry.amount >= left:
            self._put(moved)
            return
        self.before.pop(brood.name, None)
        self._joins(moved, entry.amount, day)
        self._put(evolve(brood, count=left - entry.amount, counted_on=day))

    def _moved_before(self, entry: Entry, brood: Brood, at: datetime) -> None:
        """The file is newer and counts who stayed; those that were moved are where they were put,
        unless the file has fry there by now.
        """
        tank = self.tanks.get(entry.other)
        known = {b.tank for b in self.stated.values()}
        if tank is not None and entry.amount is not None and tank.name not in known:
            moved = self._lives_in(tank, hours(at), brood)
            self._joins(moved, entry.amount, at.date())

    def _joins(self, moved: Brood, count: float, day: date) -> None:
        """Part of a brood comes into a tank, to those of it that are there already."""
        parent = moved.name
        name = f"{parent} ({moved.tank})"
        there, families = self.now.get(name), self.shared.seen.families
        if there is None:
            families[name] = families[parent]
            there = evolve(moved, name=name, count=0.0, counted_on=day)
            self.meals.parted(name, parent, hours(self.room.local(day, time(12))))
            self.plain[name] = self.plain[parent]
            self.first[name] = there
        elif families[name] != families[parent]:
            self._fish(moved, day, "left", count)
            self._fish(there, day, "joined", count)
        self._put(evolve(there, count=there.alive(day) + count, counted_on=day))

    def _merge(self, entry: Entry, brood: Brood, at: datetime) -> None:
        """A brood is one with another of its tank, which is as old and as large as it was, and has
        the fry of both.
        """
        into = self.now.get(entry.other)
        if into is None or into.tank != brood.tank or into.name == brood.name:
            self.shared.tell(
                entry, f"no brood '{entry.other}' was with {brood.name} in {brood.tank}; they stay"
                " as they are."
            )  # fmt: skip
            return
        day, families = at.date(), self.shared.seen.families
        del self.now[brood.name]
        self.meals.joined(brood.name, into.name, hours(at))
        if into.name in self.stated and hours(at) < self.shared.stated_h:
            return  # the file is newer, and counts them all
        joining, there = brood.alive(day), into.alive(day)
        if families[into.name] != families[brood.name]:
            self._fish(brood, day, "left", joining)
            self._fish(into, day, "joined", joining)
        self.before.pop(into.name, None)
        self._put(evolve(into, count=there + joining, counted_on=max(day, into.counted_on)))

    def _lives_in(self, tank: Tank, at_h: float, brood: Brood) -> Brood:
        """A brood that lives in a tank, as warm as that is, from a moment on."""
        log = brood.temperature_log or ((0.0, self.tanks[brood.tank].temperature_c),)
        before = bisect_left(log, at_h, key=itemgetter(0))
        log = (*log[:before], (at_h, tank.temperature_c))
        if (first := self.first.get(brood.name)) is not None:
            self.first[brood.name] = evolve(first, temperature_log=log)
        return evolve(brood, tank=tank.name, temperature_log=log)

    def tank_stands_at(self, tank: Tank, temperature_c: float, at_h: float) -> None:
        """A tank goes on at another temperature, and all broods in it with it."""
        warmed = evolve(tank, temperature_c=temperature_c)
        for brood in [brood for brood in self.now.values() if brood.tank == tank.name]:
            self._put(self._lives_in(warmed, at_h, brood))
        self.tanks[tank.name] = warmed

    def _length(self, entry: Entry, brood: Brood, at: datetime) -> None:
        assert entry.amount is not None
        if brood.anchor == "collected":
            self.shared.tell(entry, f"{brood.name} rests in peat; there are no fry to measure.")
            return
        day, fish = at.date(), _fish(entry.other)
        noon_h = hours(self.room.local(day, time(12)))
        course = BroodCourse.of(self.room, self.with_meals(brood, noon_h))
        if noon_h < course.first_food_h:
            self.shared.tell(
                entry, f"{brood.name} had eaten nothing by then; a length says how it grows from"
                " its first food on, so this one is left out."
            )  # fmt: skip
            return
        self._observe(entry, brood, noon_h, fish)
        expected = course.length_mm(noon_h)
        spread = brood.fry_class.length_spread(max(expected, entry.amount))
        ruler = math.sqrt(RULER_SD**2 + spread**2 / fish)
        curve = math.sqrt(CURVE_SD**2 + spread**2 / 4)
        off = math.log(entry.amount / expected)
        if abs(off) > _ABSURD * math.hypot(ruler, curve):
            self.shared.set_aside(entry, "a length too far off its curve")
            self.shared.tell(
                entry, f"{brood.name} of {entry.amount:g} mm, where {expected:.1f} mm was expected,"
                " is too far off to be used; measure again."
            )  # fmt: skip
            return
        trust = curve**2 / (curve**2 + ruler**2)
        length = expected * math.exp(trust * off)
        since = self.room.at_hour(course.fed_since_h()).date()
        self._put(
            evolve(brood, anchor="length", anchor_date=day, length_mm=min(max(length, 1.0), 500.0),
                   fed_since=since, measured_mm=entry.amount)
        )  # fmt: skip

    def _observe(self, entry: Entry, brood: Brood, noon_h: float, fish: int) -> None:
        """What this length says of the speed of growth, from the brood's first anchor on."""
        plain, first = self.plain[brood.name], self.first[brood.name]
        first = evolve(first, fry_class=plain, tank=brood.tank)
        course = BroodCourse.of(self.room, first)
        hungry = self.with_meals(first, noon_h).fed.lag_days
        expected = course.clock.days(course.from_h, noon_h) - hungry
        assert entry.amount is not None
        grown = plain.growth_days(entry.amount) - course.grown_from
        if expected < LEAST_DAYS or grown <= 0:
            return
        sd = growth_sd(plain, entry.amount, course.grown_from, fish)
        if sd is None:
            return
        self.shared.seen.lengths.append(
            LengthObserved(brood.name, plain.name, grown, expected, sd,
                           FIRST_FOOD_SD_DAYS / expected)
        )  # fmt: skip


def _are_eggs(brood: Brood) -> bool:
    """Whether what is known of a brood is how many eggs there were."""
    return brood.anchor in ("spawned", *_AHEAD) and brood.counted_on <= brood.anchor_date


def _dated_anew(entry: Entry, brood: Brood, at: datetime) -> Brood:
    """A brood as old as an entry says, or one that is fed no sooner than on the day after it."""
    if entry.event == "not_swimming":
        return evolve(brood, not_before=at.date() + timedelta(days=1))
    ahead = day_ahead(entry) if entry.event in ("planned", "wetted") else None
    day, was_planned = ahead or at.date(), brood.anchor == "planned"
    changed = evolve(brood, anchor=_ANCHORS.get(entry.event, entry.event), anchor_date=day,
                     length_mm=None, fed_since=None, not_before=None)  # fmt: skip
    if entry.event == "planned":
        usual = brood.chance if was_planned else feeding_values()["spawn_chance"]
        changed = evolve(changed, chance=chance_of(entry) or usual)
    elif entry.event == "wetted":
        counted_on = max(day, brood.counted_on)
        changed = evolve(changed, counted_on=counted_on, seen=ahead is None)
    elif entry.event == "spawn":
        counted_on = day if was_planned else brood.counted_on
        changed = evolve(changed, counted_on=counted_on, chance=1.0)
    if entry.amount is not None:
        changed = evolve(changed, count=max(entry.amount, 1e-9), counted_on=day)
    return changed


def growth_sd(fry_class: FryClass, length_mm: float, grown_from: float, fish: int) -> float | None:
    """Relative s.d. of the growth days since ``grown_from`` that a length stands for.

    Args:
        fish: how many were measured.

    Returns:
        None where the length is so near the end of the curve that it says nothing.
    """
    ruler = math.sqrt(RULER_SD**2 + fry_class.length_spread(length_mm) ** 2 / fish)
    longer, end = (
        fry_class.growth_days(length)
        for length in (length_mm * math.exp(ruler), 10.0 * fry_class.values["length_limit_mm"])
    )
    grown = fry_class.growth_days(length_mm) - grown_from
    return (longer - grown_from - grown) / grown if longer < end else None


def counted(brood: Brood, count: float, on: date) -> Brood:
    """The brood after a count, with its survival drawn towards what the counts say.

    The survival of the class (or the room file) weighs like ``survival_prior_days`` of
    counting, so that two counts a day apart do not decide how many will be alive in a
    month. Survival is never above 1: more fry than before mean a miscount. What became of eggs and
    larvae is no measure of it: most of what they lose is lost before they eat.

    Args:
        count: above 0. on: not before the last count.
    """
    days = (on - brood.counted_on).days
    prior = feeding_values()["survival_prior_days"]
    seen = math.log(min(1.0, count / brood.count))
    daily = (prior * math.log(brood.survival_per_day) + seen) / (prior + days)
    # On the day of the last count the difference is its correction, not a day's deaths.
    survival = math.exp(daily) if days > 0 else brood.survival_per_day
    return evolve(brood, count=count, counted_on=on, survival_per_day=survival)


def _less(brood: Brood, gone: float, day: date) -> Brood:
    """A brood of which some are gone by a day, and that was counted when it was."""
    days = max(0, (day - brood.counted_on).days)
    left = max(0.5, brood.alive(day) - gone)
    return evolve(brood, count=left / brood.survival_per_day**days)


def _was_miscounted(before: Brood, brood: Brood, count: float, day: date) -> bool:
    """Whether a count says that the last one, and not the one before it, was wrong.

    Fish only get fewer: of three counts the one in the middle is wrong where it alone breaks that.
    A second count of a day stands for the first.
    """
    falls = before.count >= brood.count >= count
    return brood.counted_on == day or (count <= before.count and not falls)


def _fish(other: str) -> int:
    """How many fish were measured, from ``8 fish``."""
    return max(1, whole_number(other.split(" ")[0]) or USUAL_FISH)
