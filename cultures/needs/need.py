"""What each brood needs, round by round: length, count, energy, and which foods.

A brood's course is worked out once; its size at any time is then a look-up.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from functools import cached_property, lru_cache

from attrs import field, frozen

from cultures.errors import RangeError
from cultures.foods.food import DRY, Food
from cultures.foods.temperature import Clock, TemperatureSeries
from cultures.fry.bioenergetics import day_need_j, days_to_no_return
from cultures.fry.classes import FryClass
from cultures.fry.diet import diet_shares
from cultures.fry.feeding import feeding_values
from cultures.fry.lengths import ByLength, Fry
from cultures.room.room import Brood, Room, Tank
from cultures.words.moments import hours

#: Half of the smallest step of a kitchen or letter scale that reads to 0.01 g.
_LEAST_DRY_G = 0.005


@frozen(eq=False)
class Round:
    """One feeding of the room.

    Attributes:
        index: position in the list of rounds. at: local time. at_h: hours since the epoch.
        per_day: rounds on that day, over which the day's ration is split.
        fed: somebody is there to feed, and does. keeper: the keeper is there to set and split.
            foods: all that the helper gives who feeds; none for whatever is planned.
    """

    index: int
    at: datetime
    at_h: float
    per_day: int
    fed: bool
    keeper: bool
    foods: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """How tasks and the journal call it, by the clock."""
        return f"{self.at:%H:%M} round"


@frozen(eq=False)
class BroodNeed:
    """What one brood needs at one round.

    Attributes:
        length_mm: total length. count: fry alive. energy_j: to be offered at this round.
        foods: energy by food of the ideal diet [J]; empty when no kept food fits the mouth.
    """

    brood: Brood
    at: datetime
    length_mm: float
    count: float
    energy_j: float
    foods: dict[str, float]


#: What broods need, by round.
RoundNeeds = Sequence[Sequence[BroodNeed]]


@frozen(eq=False)
class FryMeal:
    """What one fry of a brood wants at one round.

    Attributes:
        length_mm: its total length. per_day_j: what it is to be offered that day [J].
        shares: of each food in its ideal diet.
    """

    length_mm: float
    per_day_j: float
    shares: dict[str, float]


@frozen(eq=False)
class BroodCourse:
    """A brood's growth in its tank.

    Attributes:
        first_food_h: when it must be fed for the first time [h since the epoch].
        grown_from: growth days already behind it at ``from_h`` [d at the reference], less those
            that it has lost by its next meal for want of food: what it says of a time is true from
            now on.
        clock, development: growth and egg development under its temperatures.
        from_h: time at which the growth clock is read from [h since the epoch].
    """

    brood: Brood
    temperature_c: float
    first_food_h: float
    from_h: float
    grown_from: float
    clock: Clock = field(repr=False)
    development: Clock = field(repr=False)
    room: Room = field(repr=False)
    foods: tuple[Food, ...] = field(repr=False, init=False)

    def __attrs_post_init__(self) -> None:
        object.__setattr__(self, "foods", self.room.foods_of(self.brood))

    @classmethod
    def of(cls, room: Room, brood: Brood) -> BroodCourse:
        """The course of a brood of a room.

        Raises:
            RangeError: the tank is so cold that the eggs never come to first food.
        """
        tank = room.tank(brood.tank)
        series = room.series(tank.temperature_c, brood.anchor_date, brood.anchor_date)
        if brood.temperature_log:
            starts, values = zip(*brood.temperature_log, strict=True)
            series = TemperatureSeries(starts=starts, values_c=values)
        growth = Clock.of(series, brood.fry_class.growth)
        development = Clock.of(series, brood.fry_class.development)
        measured = brood.length_mm if brood.anchor == "length" else None
        grown = 0.0 if measured is None else brood.fry_class.growth_days(measured)
        first_h = _first_food_h(room, tank, brood, development)
        if brood.not_before is not None:
            first_h = max(first_h, hours(room.local(brood.not_before, time(0))))
        return cls(
            brood, tank.temperature_c, first_food_h=first_h, from_h=first_h,
            grown_from=grown - brood.fed.lag_days, clock=growth, development=development, room=room,
        )  # fmt: skip

    def growth_days(self, time_h: float) -> float:
        """Growth days behind it at a time [d at the reference], those at the start before it.

        Negative for a brood measured smaller than its class is at first food.
        """
        coming = self.brood.fed.coming
        later = coming.after(time_h) if coming is not None else 0.0
        return self.grown_from + later + max(0.0, self.clock.days(self.from_h, time_h))

    def length_mm(self, time_h: float) -> float:
        """Total length at a time [mm]."""
        return self.brood.fry_class.length_mm(self.growth_days(time_h))

    def length_band_mm(self, time_h: float) -> tuple[float, float]:
        """Total length at a time at the slow and the fast end of its class [mm]."""
        rate = self.brood.fry_class.parameters["growth_rate_per_day"]
        grown = max(0.0, self.clock.days(self.from_h, time_h))
        slow, fast = (
            self.brood.fry_class.length_mm(self.grown_from + grown * end / rate.value)
            for end in (rate.low, rate.high)
        )
        return slow, fast

    def behind_mm(self, time_h: float) -> float:
        """How much shorter it is from now on than its class, for want of food [mm]."""
        lag = self.brood.fed.lag_at(time_h)
        if not lag:
            return 0.0
        grown = self.growth_days(time_h)
        return self.fry_class.length_mm(grown + lag) - self.fry_class.length_mm(grown)

    def degrees_at(self, time_h: float) -> float:
        """The temperature that it lived at at a time [°C]."""
        lived = [degrees for since_h, degrees in self.brood.temperature_log if since_h <= time_h]
        return lived[-1] if lived else self.temperature_c

    def days_by_degrees(self, time_h: float) -> dict[float, float]:
        """How long it has grown at each temperature [d by °C], in the order in which they came."""
        log = self.brood.temperature_log or ((-math.inf, self.temperature_c),)
        ends = (*(since_h for since_h, _ in log[1:]), math.inf)
        found: dict[float, float] = {}
        # Before its first entry a log says what that entry does.
        begins = (-math.inf, *(since_h for since_h, _ in log[1:]))
        for begin_h, end_h, (_, degrees) in zip(begins, ends, log, strict=True):
            lived_h = min(end_h, time_h) - max(begin_h, self.from_h)
            if lived_h > 0:
                found[degrees] = found.get(degrees, 0.0) + lived_h / 24.0
        return found

    def promised(self) -> bool:
        """Whether the day of first food deserves trust at the tank's temperature.

        A measured brood, or one that swims already, needs no such promise.
        """
        if self.brood.anchor in ("length", "free_swimming"):
            return True
        return self.fry_class.development.promised(self.temperature_c)

    def first_food_day(self) -> date:
        """The local day of the first feed: the most important date on the calendar."""
        return self._eats_from

    def may_be_larvae(self, today: date) -> bool:
        """Whether by the figures it first eats today, on the day before or after, or has had
        nothing since: who looks may see larvae, or eggs that have hardly hatched.
        """
        if self.brood.anchor in ("length", "free_swimming"):
            return False
        return self.brood.fed.never or abs((self.first_food_day() - today).days) <= 1

    def fed_since_h(self) -> float:
        """When it ate first [h since the epoch]; of one known by its length alone, by its curve."""
        if self.brood.anchor != "length":
            return self.first_food_h
        if self.brood.fed_since is not None:
            return hours(self.room.local(self.brood.fed_since, time(12)))
        speed = self.fry_class.growth(self.temperature_c)
        grown = self.grown_from + self.brood.fed.lag_days
        return self.from_h - 24.0 * grown / speed if speed > 0 else self.from_h

    def reaches(self, length_mm: float) -> float:
        """When it reaches a length [h since the epoch]; infinity if its curve never does."""
        target = self.brood.fry_class.growth_days(length_mm)
        if not self.brood.fry_class.reaches(length_mm):
            return math.inf
        return self.clock.when(self.from_h, max(0.0, target - self.grown_from))

    def lives_unfed_days(self) -> float:
        """How long it can be saved that gets no food at its first food [d].

        References:
            :func:`cultures.fry.bioenergetics.days_to_no_return`.
        """
        first_mm = self.fry_class.values["length_first_food_mm"]
        return days_to_no_return(self.fry_class, first_mm, self.temperature_c)

    def eats_at(self, feeding: Round) -> bool:
        """Whether a round is not before its first food."""
        morning = feeding.at_h >= self.first_food_h - 12.0
        return morning and feeding.at.date() >= self.first_food_day()

    def wants_at(self, feeding: Round) -> bool:
        """Whether it is fed at a round: its first food has come, and it is not gone."""
        gone = self.brood.gone_on
        return (gone is None or feeding.at.date() < gone) and self.eats_at(feeding)

    def likeness(self) -> Hashable:
        """The same for broods whose fry are of one size at all times and eat the same."""
        return (
            id(self.fry_class), self.temperature_c, self.first_food_h, self.from_h,
            self.grown_from, self.clock, self.foods,
        )  # fmt: skip

    def meal(self, feeding: Round) -> FryMeal:
        """What one of its fry wants at a round.

        References:
            :func:`cultures.fry.bioenergetics.day_need_j`, :func:`cultures.fry.diet.diet_shares`.
        """
        length_mm = self.length_mm(feeding.at_h)
        if not feeding.foods:
            return self._meals[length_mm]
        given = tuple(food for food in self.foods if food.name in feeding.foods)
        return _meals(Fry(self.fry_class), self.temperature_c, given, self.room.variety)[length_mm]

    @cached_property
    def _meals(self) -> ByLength[FryMeal]:
        return _meals(Fry(self.fry_class), self.temperature_c, self.foods, self.room.variety)

    def need(self, feeding: Round) -> BroodNeed | None:
        """What it needs at a round, or None before its first food."""
        return self.times(self.meal(feeding), feeding) if self.wants_at(feeding) else None

    def times(self, meal: FryMeal, feeding: Round) -> BroodNeed:
        """What all of its fry need at a round, each that meal."""
        count = self.brood.alive(feeding.at.date())
        energy = count * meal.per_day_j / feeding.per_day
        return BroodNeed(
            brood=self.brood,
            at=feeding.at,
            length_mm=meal.length_mm,
            count=count,
            energy_j=energy,
            foods=_of_shares(meal.shares, energy),
        )

    @cached_property
    def _eats_from(self) -> date:
        return self.room.at_hour(self.first_food_h).date()

    @property
    def fry_class(self) -> FryClass:
        """The class of the brood."""
        return self.brood.fry_class


@lru_cache(maxsize=64)
def _meals(
    fry: Fry, temperature_c: float, foods: Sequence[Food], variety: int
) -> ByLength[FryMeal]:  # fmt: skip
    fry_class = fry.fry_class

    def meal(length_mm: float) -> FryMeal:
        day_j = day_need_j(fry_class, length_mm, temperature_c)
        return FryMeal(length_mm, day_j, diet_shares(foods, fry_class, length_mm, variety=variety))

    return ByLength(meal)


def first_food_of(room: Room, brood: Brood, today: date) -> date | None:
    """The day on which a brood first eats or ate; None where nobody can say when that will be.

    That is so of eggs that rest, of spawnings that are only planned, and in water too cold.
    """
    if brood.anchor == "planned" or brood.waits(today):
        return None
    with suppress(RangeError):
        return room.at_hour(BroodCourse.of(room, brood).fed_since_h()).date()
    return None


def _first_food_h(room: Room, tank: Tank, brood: Brood, development: Clock) -> float:
    """When a brood must be fed for the first time; of one known by its length, since it is."""
    v = brood.fry_class.values
    of_eggs, of_larvae = v["first_food_days"], v["first_food_days"] - v["hatch_days"]
    remaining = {
        "spawned": of_eggs, "planned": of_eggs, "hatched": of_larvae, "wetted": of_larvae,
        "free_swimming": 0.0, "length": 0.0,
    }[brood.anchor]  # fmt: skip
    if remaining <= 0:
        return hours(room.local(brood.anchor_date, time(0)))
    known_h = hours(room.local(brood.anchor_date, time(12)))
    if brood.anchor == "wetted":
        known_h += feeding_values()["wet_hatch_h"]
    first_h = development.when(known_h, remaining)
    if math.isinf(first_h):
        raise RangeError(
            f"brood {brood.name}: at {tank.temperature_c:.3g} °C in tank {tank.name}"
            f" eggs of {brood.fry_class.label} do not develop;"
            f" above {v['development_t0_c']:g} °C they do"
        )
    return first_h


def diet_j(
    room: Room, foods: Sequence[Food], fry_class: FryClass, length_mm: float, energy_j: float
) -> dict[str, float]:
    """Energy that is wanted of each of some foods, all together ``energy_j`` or nothing [J].

    References:
        :func:`cultures.fry.diet.diet_shares`.
    """
    shares = diet_shares(foods, fry_class, length_mm, variety=room.variety)
    return _of_shares(shares, energy_j)


def _of_shares(shares: Mapping[str, float], energy_j: float) -> dict[str, float]:
    """A diet [J] without dry food too little to weigh; the other foods take its part."""
    v, foods = feeding_values(), {food: share * energy_j for food, share in shares.items()}
    dry = foods.get(DRY, 0.0)
    if dry <= 0.0 or dry >= _LEAST_DRY_G * v["dry_j_per_g"] * v["dry_digested"] or len(foods) == 1:
        return foods
    rest = {food: energy for food, energy in foods.items() if food != DRY}
    scale = 1.0 + dry / sum(rest.values())
    return {food: energy * scale for food, energy in rest.items()}


def rounds_between(room: Room, start: datetime, end: datetime) -> list[Round]:
    """All feeding times in [start, end), in order."""
    result: list[Round] = []
    day = start.date()
    while day <= end.date():
        rounds = room.rounds_on(day)
        for at in rounds:
            moment = room.local(day, at)
            if start <= moment < end:
                away = room.away_from(day, at)
                fed = (away is None or away.helper) and moment not in room.unfed
                result.append(
                    Round(len(result), moment, hours(moment), per_day=len(rounds),
                          fed=fed, keeper=away is None,
                          foods=away.foods if away is not None else ())
                )  # fmt: skip
        day += timedelta(days=1)
    return result


def round_after(room: Room, at_h: float) -> Round:
    """The first round after a moment [h since the epoch]."""
    start = room.at_hour(at_h)
    rounds = rounds_between(room, start, start + timedelta(days=2))
    return next(feeding for feeding in rounds if feeding.at_h > at_h)


def room_needs(room: Room, feedings: Iterable[Round]) -> list[list[BroodNeed]]:
    """For each round the needs of all broods that eat, in the order of the tanks.

    Raises:
        RangeError: a brood whose eggs never develop.
    """
    order = {tank.name: i for i, tank in enumerate(room.tanks)}
    courses = [BroodCourse.of(room, brood) for brood in room.broods]
    courses.sort(key=lambda course: order[course.brood.tank])
    # Of broods that grow alike, as those of one spawning in several tanks, one is asked for all.
    first: dict[Hashable, BroodCourse] = {}
    pairs = [(course, first.setdefault(course.likeness(), course)) for course in courses]
    return [[*_needs_at(pairs, feeding)] for feeding in feedings]


def _needs_at(
    pairs: Iterable[tuple[BroodCourse, BroodCourse]], feeding: Round
) -> Iterator[BroodNeed]:
    """The needs of courses at a round, each beside the course that it grows like."""
    meals: dict[BroodCourse, FryMeal] = {}
    for course, like in pairs:
        if course.wants_at(feeding):
            meal = meals.get(like)
            if meal is None:
                meal = meals[like] = like.meal(feeding)
            yield course.times(meal, feeding)


def food_needs_at(room: Room, food: str, moment: datetime) -> dict[str, float]:
    """Energy of one food that each tank needs of it at the round nearest to a moment [J].

    Raises:
        RangeError: the room has no round within a day of it.
    """
    feedings = rounds_between(room, moment - timedelta(days=1), moment + timedelta(days=1))
    if not feedings:
        raise RangeError("the room has no feeding round near that time")
    nearest = min(feedings, key=lambda r: abs(r.at_h - hours(moment)))
    (needs,) = room_needs(room, [nearest])
    by_tank: dict[str, float] = {}
    for need in needs:
        if food in need.foods:
            by_tank[need.brood.tank] = by_tank.get(need.brood.tank, 0.0) + need.foods[food]
    return {tank: energy_j for tank, energy_j in by_tank.items() if energy_j > 0}
