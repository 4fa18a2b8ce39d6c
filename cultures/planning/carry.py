"""How large a brood the room can feed in each of the coming weeks, next to what is there.

A brood is fed when its every round is, until it can live on dry food, and nothing that is there
misses more for it; both by the gaps that shortfalls are made of. Sizes are steps that a keeper
would say, none more than a fifth above the one before. Each week begins from the answer of the
week before; a size that is not fed says about what share of it would be. What is named was
planned and is fed, and the next step was tried and is not. Near to where the tin runs out a larger
brood may be fed where a smaller one is not; there sizes are tried from the smallest up.

What would lift the limit of a week is a supposition of :mod:`cultures.planning.what_if`.
"""

from __future__ import annotations

import math
import shlex
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from attrs import evolve, field, frozen

from cultures.errors import LivefoodError
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.fry.diet import suitability
from cultures.limits import most
from cultures.needs.dates import growth_dates
from cultures.needs.need import BroodCourse
from cultures.planning.brood_trials import Standing, Trial, looked_at_until
from cultures.planning.changes import (
    USUAL_VESSEL_L,
    given_to,
    home_for,
    slow_vessels,
    spawned,
    whom_like,
    with_brood,
)
from cultures.planning.gaps import Gap
from cultures.planning.hopes import as_if_come, likely
from cultures.planning.servings import STAND_IN_FROM
from cultures.planning.shortfalls import SLOWED
from cultures.planning.supplies import packed_g
from cultures.planning.what_if import suppose
from cultures.room.room import Brood, Room, Tank
from cultures.tasks.task import tidy

#: Sizes that a keeper would say; what is fewer than the first is no brood.
_FEWEST = (5, 6, 7, 8, 9)
_STEPS = (10, 12, 14, 16, 18, 20, 22, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90)
#: From the bottom up each size that is tried is about so many times the one before.
_TIMES = 4
_WEEK = timedelta(days=7)
#: Whether a single spawning is fed is not planned further ahead.
_PLANNED_AHEAD = timedelta(days=56)


class CarryError(LivefoodError):
    """A class or a tank that is not there."""


def sizes() -> list[int]:
    """The sizes of broods that are tried [fry], ascending, none more than a fifth above the last.

    Up to ``carried`` of :mod:`cultures.limits`; as said by a keeper, common practice, no source.
    """
    steps = [*_FEWEST, *(step * 10**power for power in range(6) for step in _STEPS)]
    return [size for size in steps if size <= most("carried")]


@frozen
class Gain:
    """What lifting a limit gives.

    Attributes:
        what, text, supposition: see :class:`Lift`. grams: of cysts to buy [g], or 0.
        largest: brood with it [fry]; of several weeks with one limit that of the first, where the
            later ones feed it too.
    """

    what: str
    text: str
    supposition: str
    largest: int
    grams: float = 0.0

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {"what": self.what, "text": self.text, "if": self.supposition or None,
                "largest": self.largest}  # fmt: skip


@frozen
class Carried:
    """The largest brood of one day of spawning.

    Attributes:
        brood: as large as that; of a count of 0 where not even the smallest is fed.
        first_food: its day. until: it is looked at. weaned: since it can live on dry food then.
        limited: what holds a larger one up, or None: nothing does up to the most that is tried.
        gain: what lifting that gives, or None where nothing that was tried does. tin_out: when the
            tin runs out, so that other foods take the place of nauplii that it would eat; or None.
        given_j: what it gets while it is looked at, by food [J].
    """

    brood: Brood
    first_food: date
    until: datetime
    weaned: bool
    limited: Trial | None = field(repr=False)
    gain: Gain | None = None
    tin_out: datetime | None = None
    given_j: Mapping[str, float] = field(factory=dict, repr=False)

    @property
    def largest(self) -> int:
        """Fry or eggs on the day of spawning."""
        return round(self.brood.count)

    @property
    def gap(self) -> Gap | None:
        """What a larger one would fall short of first, or None."""
        return self.limited.gap if self.limited is not None else None

    @property
    def other(self) -> str | None:
        """The brood of the room that would fall short of it, or None for the new one."""
        name = self.gap.need.brood.name if self.gap is not None else self.brood.name
        return None if name == self.brood.name else name

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        why, gap = self.limited, self.gap
        limited = None if why is None or gap is None else {
            "limit": why.limit, "cause": why.cause, "food": gap.food,
            "at": gap.feeding.at.isoformat(), "brood": self.other,
        }  # fmt: skip
        return {
            "spawned": self.brood.anchor_date.isoformat(),
            "first_food": self.first_food.isoformat(),
            "looked_at_until": self.until.date().isoformat(),
            "largest": self.largest,
            "limited": limited,
            "lift": self.gain.to_json() if self.gain is not None else None,
            "cysts_out": self.tin_out.date().isoformat() if self.tin_out is not None else None,
        }


@frozen
class Crowded:
    """A brood that its tank does not bear for as long as it is looked at.

    Attributes:
        day: from when. roomier: the smallest free tank that bears it for so long, or None.
    """

    day: date
    roomier: Tank | None


def crowded(room: Room, carried: Carried) -> Crowded | None:
    """From when a carried brood is more than its tank bears; None where it never is.

    Args:
        room: with all that stands there besides.
    """

    def since(tank: Tank) -> date | None:
        course = BroodCourse.of(room, evolve(carried.brood, tank=tank.name))
        days = growth_dates(course, course.first_food_day(), carried.until.date())
        return next((each.day for each in days if each.what == "crowded"), None)

    day = since(room.tank(carried.brood.tank)) if carried.largest else None
    if day is None:
        return None
    taken = {brood.tank for brood in (*room.broods, *room.hoped)}
    warm = carried.brood.fry_class.warn_temperature
    free = (t for t in room.tanks if t.name not in taken and warm(t.temperature_c) is None)
    roomier = sorted(free, key=lambda tank: tank.litres)
    return Crowded(day, next((tank for tank in roomier if since(tank) is None), None))


@frozen
class Wish:
    """A brood that is wished for.

    Attributes:
        text: as typed. wanted: fry. trial: of all of it. carried: how many of them are fed on that
            day, as far as that was looked for.
        from_day: the first later day that was tried on which all would be, or None.
    """

    text: str
    wanted: int
    trial: Trial
    carried: Carried
    from_day: date | None = None

    @property
    def fed(self) -> bool:
        """Whether all of it is."""
        return self.trial.fed

    @property
    def nearly_fed(self) -> bool:
        """Whether all of it is but for hardly anything; see :meth:`Trial.hardly_short`."""
        return self.trial.hardly_short(self.carried.brood.name)

    @property
    def well_fed(self) -> bool:
        """Whether all of it is, but for hardly anything at most."""
        return self.fed or self.nearly_fed

    @property
    def missing(self) -> float:
        """The share of its need that is missing at the rounds at which it goes short."""
        return min(1.0, self.trial.short_j / self.trial.need_j)

    def trial_json(self) -> dict[str, Any]:
        """Of the trial alone, for other programs."""
        out = self.trial.tin_out
        return {
            "in_full": self.fed, "until": self.carried.until.date().isoformat(),
            "need_j": tidy(self.trial.need_j), "short_j": tidy(self.trial.short_j),
            "cause": self.trial.cause, "goes_short": self.carried.other,
            "cysts_out": out.date().isoformat() if out is not None else None,
        }  # fmt: skip

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        day = self.from_day.isoformat() if self.from_day is not None else None
        return {"wish": self.text, "wanted": self.wanted, "fed": self.fed, "all_from": day,
                **self.carried.to_json()}  # fmt: skip


class Carry:
    """Tries broods in a room that spawn on some days; wishes that are granted stay in it.

    Spawnings that are planned and likely enough are in it first, as if they came, each whole.

    Attributes:
        room: with these, and with what was granted. hoped, unlikely: the planned broods that are
            in it, and those that are not.

    Args:
        now: aware. days: of spawning, each local, in order. tell: the plan of the room as it is
            counts as told; else what is told of it is.
    """

    def __init__(
        self, room: Room, now: datetime, days: Sequence[date] = (), *, tell: bool = True
    ) -> None:
        self.room, self.now, self.days, self._tell = as_if_come(room), now, days, tell
        self.hoped, self.unlikely = likely(room), self.room.hoped
        self._given = self.room
        self._standing: Standing | None = None
        self._until = now
        self._lifted: dict[str, Standing] = {}
        self._gained: dict[str, int] = {}

    def grant(self, texts: Sequence[str]) -> Iterator[Wish]:
        """Wishes by day of spawning, those of one day as given, each put in as far as it is fed.

        Args:
            texts: each ``CLASS COUNT [in TANK] on DAY``.

        Raises:
            LivefoodError: a wish cannot be understood.
        """
        wished = [
            (text, suppose(self.room, f"spawn {text}", self.now).broods[-1]) for text in texts
        ]
        for text, brood in sorted(wished, key=lambda wish: wish[1].anchor_date):
            # In a tank that is free beside the wishes before it.
            brood = suppose(self.room, f"spawn {text}", self.now).broods[-1]
            wish = self.wish(text, brood)
            if wish.carried.largest:
                self._add(wish.carried.brood)
            yield wish

    def wish(self, text: str, brood: Brood, *, nearly: bool = False) -> Wish:
        """How much of a brood is fed, and when all of it would be, which it is not put in for.

        Args:
            nearly: where hardly anything of it is missing nothing else is tried.
        """
        later = [day for day in self.days if day > brood.anchor_date]
        self._look(brood, [brood.anchor_date, *later])
        wish, wanted, most_tried = self._asked(text, brood), round(brood.count), most("carried")
        if wish.fed or (nearly and wish.nearly_fed):
            return wish
        found = self._largest(brood, most_tried, most_tried)
        if found.largest >= wanted:  # more are fed where these are not
            found = self._largest(brood, 0, 0, wanted)
        carried = evolve(found, limited=found.limited or wish.trial)
        from_day = next((d for d in later if self._trial(_on(brood, d), wanted).fed), None)
        return evolve(wish, carried=carried, from_day=from_day)

    def ask(self, broods: Iterable[Brood]) -> Iterator[Wish]:
        """Whether broods that are not far ahead are fed, each put in whole beside those before."""
        for brood in broods:
            if not is_far(BroodCourse.of(self.room, brood), self.now):
                self._look(brood, [brood.anchor_date])
                yield self._asked(brood.name, brood)
            self._add(brood)

    def _asked(self, text: str, brood: Brood) -> Wish:
        wanted = round(brood.count)
        trial = self._trial(brood, wanted, whole=True)
        carried = self._carried(brood, wanted, None if trial.fed else trial, trial)
        return Wish(text, wanted, trial, carried)

    def _add(self, brood: Brood) -> None:
        self.room = with_brood(self.room, brood)
        self._standing = None

    def by_day(self, words: str, tank: str | None = None) -> Iterator[Carried]:
        """The largest brood of each day, in turn.

        Args:
            words: a class, or a brood to copy. tank: where it will be, or None for one that is
                free before any wish is granted.

        Raises:
            LivefoodError: there is no such class, or its eggs never develop.
        """
        brood = self._brood(self._given, words, tank)
        brood = self._brood(self.room, words, brood.tank)
        self._look(brood, self.days)
        guess = hint = most("carried")
        for day in self.days:
            found = self._largest(_on(brood, day), guess, hint)
            yield evolve(found, gain=self._gain(found))
            guess, hint = found.largest, 0 if found.largest else guess or hint

    def _brood(self, room: Room, words: str, tank: str | None) -> Brood:
        try:
            like = whom_like(room, words)
            home = home_for(room, *like) if tank is None else room.tank(tank).name
        except LivefoodError as error:
            raise CarryError(str(error)) from None
        return spawned(room, words, like, 1.0, self.now.date(), home)

    def _largest(self, brood: Brood, guess: int, hint: int, below: float = math.inf) -> Carried:
        size, limited, trial = self._search(brood, guess, hint=hint, below=below)
        return self._carried(brood, size, limited, trial)

    def _search(
        self, brood: Brood, guess: int, *, hint: int, least: int = 0, below: float = math.inf,
        lift: Lift | None = None,
    ) -> tuple[int, Trial | None, Trial]:  # fmt: skip
        """The largest size, what limits it, and its trial: :func:`largest`, or :func:`surely`."""
        plans: dict[int, Trial] = {}

        def planned(count: int) -> Trial:
            if count not in plans:
                plans[count] = self._trial(brood, count, lift)
            return plans[count]

        size, limited = largest(planned, guess, hint=hint, least=least, below=below)
        if size > least and any(trial.jumpy for trial in plans.values()):
            # What was found from a guess would not stand.
            size, limited = surely(planned, least=least, below=below)
        return size, limited, plans.get(size, Trial())

    def _look(self, brood: Brood, days: Sequence[date]) -> None:
        """Plans the room as it is as far as a brood of any of some days is looked at."""
        until = max(looked_at_until(BroodCourse.of(self.room, _on(brood, d))) for d in days)
        if self._standing is None or until > self._until:
            self._until = max(until, self._until)
            self._standing = Standing.of(self.room, self.now, self._until, tell=self._tell)
            self._lifted.clear()

    def _trial(
        self, brood: Brood, count: int, lift: Lift | None = None, *, whole: bool = False
    ) -> Trial:
        if lift is not None:
            brood = lift.given_to(brood)
        brood, until = evolve(brood, count=count), looked_at_until(BroodCourse.of(self.room, brood))
        return self._with(lift).trial(brood, until, whole=whole)

    def _with(self, lift: Lift | None) -> Standing:
        standing = self._standing
        assert standing is not None
        if lift is None:
            return standing
        if lift.supposition not in self._lifted:
            room = lift.room(standing.room, self.now)
            self._lifted[lift.supposition] = standing.with_more(room)
        return self._lifted[lift.supposition]

    def _carried(self, brood: Brood, size: int, limited: Trial | None, trial: Trial) -> Carried:
        course = BroodCourse.of(self.room, brood)
        return Carried(
            evolve(brood, count=size), course.first_food_day(), looked_at_until(course),
            any(food.name == DRY for food in course.foods), limited,
            tin_out=trial.tin_out, given_j=trial.given_j,
        )  # fmt: skip

    def _gain(self, found: Carried) -> Gain | None:
        why, gap = found.limited, found.gap
        lifts = lifts_of(self.room, self.now, gap, why.limit) if why is not None and gap else ()
        gains = (self._gain_with(lift, found) for lift in lifts)
        return next((gain for gain in gains if gain is not None), None)

    def _gain_with(self, lift: Lift, found: Carried) -> Gain | None:
        brood, least = found.brood, found.largest
        size = self._gained.get(lift.text, 0)
        if size <= least:
            hint = size or most("carried")
            size, _, trial = self._search(brood, least + 1, hint=hint, least=least, lift=lift)
        elif not (trial := self._trial(brood, size, lift)).fed:
            guess = int(size * trial.fits)
            size, _, trial = self._search(brood, guess, hint=0, least=least, below=size, lift=lift)
        if size <= least:
            return None
        self._gained[lift.text] = size
        return _gain_of(lift, size, self.room, trial.set_g)


def is_far(course: BroodCourse, now: datetime) -> bool:
    """Whether a brood first eats so far ahead that nobody knows the room of that time."""
    return course.room.at_hour(course.first_food_h) > now + _PLANNED_AHEAD


def days_of_weeks(now: datetime, weeks: int) -> list[date]:
    """A day of each week in the zone of ``now``, from its own on, ascending."""
    return [now.date() + _WEEK * week for week in range(weeks)]


def _gain_of(lift: Lift, size: int, room: Room, set_g: float) -> Gain:
    if lift.what != "cysts":
        return Gain(lift.what, lift.text, lift.supposition, size)
    grams = packed_g(max(0.0, set_g - room.tin.in_all), room.units)
    return Gain("cysts", f"{grams:.6g} g of cysts", f"buy {math.ceil(grams - 1e-6)} cysts", size,
                tidy(grams))  # fmt: skip


def _on(brood: Brood, day: date) -> Brood:
    return evolve(brood, anchor_date=day, counted_on=day)


def largest(
    fits: Callable[[int], Trial], guess: int, *, least: int = 0, hint: int = 0,
    below: float = math.inf,
) -> tuple[int, Trial | None]:  # fmt: skip
    """The largest size that is fed, and what holds up the next; None where that is not tried.

    Args:
        fits: tries a size [fry]. guess: where to begin. least: a size known to be fed, or 0.
        hint: what to try next if the guess is fed, or 0. below: a size known not to be fed.

    Returns:
        One of :func:`sizes`, or ``least`` or 0 where none above is fed; what is tried is fed up to
        it and is not from the next on.
    """
    steps = [size for size in sizes() if size < below]
    low, high = bisect_right(steps, least) - 1, len(steps)
    why: Trial | None = None
    at, stride = bisect_right(steps, guess) - 1, 1
    while high - low > 1:
        at = min(max(at, low + 1), high - 1)
        trial = fits(steps[at])
        if trial.fed:
            stride = stride * 2 if why is None else 1
            beyond = max(at + stride // 2, bisect_right(steps, hint) - 1)
            low, hint = at, 0
            at = beyond if why is None else (low + high) // 2
        else:
            stride = stride * 2 if why is not None else 1
            high, why = at, trial
            about = min(bisect_right(steps, steps[at] * trial.fits) - 1, high - stride)
            at = about if about > low or low < 0 else (low + high) // 2
    return (steps[low] if low >= 0 else 0), why


def surely(
    fits: Callable[[int], Trial], *, least: int = 0, below: float = math.inf
) -> tuple[int, Trial | None]:
    """The largest size that is fed as each tried below it is, and what holds up the next.

    Tried is from the bottom up: the smallest, about four times as many, and so on to the first
    that is not fed; then what lies between that and the one before. So it hangs on no guess.

    Args:
        fits: tries a size [fry]. least: a size known to be fed, from which to begin, or 0.
        below: a size known not to be.

    Returns:
        As :func:`largest`.
    """
    steps = [size for size in sizes() if size < below]
    low, at = least, bisect_right(steps, least)
    while at < len(steps):
        trial = fits(steps[at])
        if not trial.fed:
            size, why = largest(fits, (low + steps[at]) // 2, least=low, below=steps[at])
            return size, why or trial
        low, at = steps[at], max(at + 1, bisect_right(steps, _TIMES * steps[at]) - 1)
    return low, None


#: So many cysts are as good as no limit [g].
_PLENTY_G = 100_000


@frozen
class Lift:
    """One thing more, or otherwise.

    Attributes:
        what: ``warm`` (a vessel), ``vessel``, ``cysts``, ``culture``, ``food`` or ``helper``.
        text: in plain words; of cysts without the grams, which follow from the brood.
        supposition: that makes a room with it, or "" where only the brood is fed otherwise.
        food: that the brood must get for it, or "".
    """

    what: str
    text: str
    supposition: str = ""
    food: str = ""

    def room(self, room: Room, now: datetime) -> Room:
        """A room with it.

        Raises:
            SuppositionError: it cannot be made in that room.
        """
        return suppose(room, self.supposition, now) if self.supposition else room

    def given_to(self, brood: Brood) -> Brood:
        """A brood with its food among those that it gets; the same if it gets all or has it."""
        return given_to(brood, self.food) if self.food else brood


def lifts_of(room: Room, now: datetime, gap: Gap, limit: str) -> Iterator[Lift]:
    """What may lift what holds a brood up at a gap, the likeliest first; none where nothing does.

    Args:
        now: aware; a starter comes after the days that the room needs to fetch one.
        limit: a word of :class:`cultures.planning.shortfalls.Limits`.
    """
    if limit in (*SLOWED, "uneven") and (slow := slow_vessels(room)):
        name = max(slow, key=lambda vessel: vessel.litres).name
        yield Lift("warm", f"{name} in warm water", f"warm {shlex.quote(name)}", BRINE_SHRIMP)
    if limit in ("vessels", "uneven", "no vessel") or (limit == "learning" and not room.vessels):
        litres = max((vessel.litres for vessel in room.vessels), default=USUAL_VESSEL_L)
        yield Lift("vessel", f"a {litres:g} L vessel", f"vessel {litres}", BRINE_SHRIMP)
    if limit in ("vessels", "uneven", "tin") and room.cysts is not None:
        yield Lift("cysts", "cysts", f"buy {_PLENTY_G} cysts")
    if limit in ("none", "unripe", "thin"):
        yield from _cultures(room, now, gap, [gap.food])
    if limit in ("mouth", "learning"):
        kinds = sorted(name for name, k in room.kinds.items() if isinstance(k, WormKind))
        yield from _cultures(room, now, gap, kinds)
    if limit == "meagre" and DRY not in (gap.need.brood.foods or (DRY,)):
        yield Lift("food", "dry food", food=DRY)
    if limit == "away":
        away = room.away_at(gap.feeding.at)
        assert away is not None
        first = max(away.start, now.date())
        whole = not away.is_exact
        text = f"{'away' if whole else 'helper'} from {first} to {away.end}{' with helper' * whole}"
        yield Lift("helper", "a helper", text)


def _cultures(room: Room, now: datetime, gap: Gap, kinds: Iterable[str]) -> Iterator[Lift]:
    """One more culture of the kind that suits best, as soon as a starter is to be had."""

    def suits(kind: str) -> float:
        return suitability(room.food(kind), gap.need.brood.fry_class, gap.need.length_mm)

    kind = room.kinds.get(max(kinds, key=suits, default=""))
    if not isinstance(kind, WormKind) or suits(kind.name) < STAND_IN_FROM:
        return
    day = now.date() + room.fetched_in("starter")
    yield Lift("culture", f"a {kind.label} culture", f"buy {kind.name} on {day}", kind.name)
