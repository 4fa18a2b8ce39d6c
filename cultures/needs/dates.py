"""Dates in the life of a brood: hatching, foods that begin and end, sort, lid, move on.

Plain values; the planner turns them into tasks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, time, timedelta
from typing import Literal

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import kind_names, shipped_kind
from cultures.fry.diet import diet_shares, suitability
from cultures.needs.need import BroodCourse
from cultures.words.moments import hours
from cultures.words.quantities import food_words

DateKind = Literal[
    "hatching",
    "first_food",
    "no_food_fits",
    "food_begins",
    "food_ends",
    "main_food",
    "sort",
    "lid",
    "move_on",
    "crowded",
    "past_fry_age",
    "can_go",
]

#: Food for mouths that even the finest shipped kind does not pass, of no kind here.
INFUSORIA = "infusoria"


@frozen
class BroodDate:
    """One date in the life of a brood.

    Attributes:
        day: the expected day, in the room's zone.
        early, late: the days if the brood grows at the fast and slow end of its class.
        what: kind of date. brood, tank: whose. food: the food it is about, or "".
        why: one plain sentence with the numbers behind it.
        length_mm: the length that makes the date, or None.
        sure: False where the tank is too near the cold or hot limit of the class for a
            date to be promised.
    """

    day: date
    early: date
    late: date
    what: DateKind
    brood: str
    tank: str
    why: str
    food: str = ""
    length_mm: float | None = None
    sure: bool = True


def brood_dates(course: BroodCourse, start: date, end: date) -> list[BroodDate]:
    """All dates of one brood in [start, end), by day.

    A state that holds already at ``start`` (a lid that should have been on for a week) is
    not a date; only what begins within the time is. ``no_food_fits`` is the exception: it
    is given at once.
    """
    every = [*growth_dates(course, start, end), *food_dates(course, start, end)]
    return sorted(every, key=lambda d: d.day)


def growth_dates(course: BroodCourse, start: date, end: date) -> list[BroodDate]:
    """Those of them that come with age, length and crowding, by day."""
    sale = sale_date(course)
    found = [*_stages(course), *_lengths(course, end), *_crowding(course, start, end)]
    return _inside(found if sale is None else [*found, sale], start, end)


def past_fry_dates(course: BroodCourse, start: date, end: date) -> list[BroodDate]:
    """The day from which it is fed as young fish, if that is one of them."""
    return _inside([*_past_fry_age(course)], start, end)


def crowded_on(course: BroodCourse, day: date) -> BroodDate | None:
    """That it is more than its tank bears on a day, whenever that began; None where it is not."""
    litres = course.room.tank(course.brood.tank).litres
    if not _crowded(course, day, litres):
        return None
    return _date(course, day, "crowded", _crowding_words(course, day, litres))


def food_dates(course: BroodCourse, start: date, end: date) -> list[BroodDate]:
    """Those of them at which the diet changes, by day."""
    return _inside([*_foods(course, start, end)], start, end)


def _inside(found: Sequence[BroodDate], start: date, end: date) -> list[BroodDate]:
    order = {d.what: i for i, d in enumerate(found)}
    inside = (d for d in found if start <= d.day < end)
    return sorted(inside, key=lambda d: (d.day, order[d.what], d.food))


def sale_date(course: BroodCourse) -> BroodDate | None:
    """The day from which it can go by its ``sell_at``; None where nobody says or it never is."""
    at = course.brood.sell_at
    if at is None:
        return None
    if at.age_days is not None:
        day = course.room.at_hour(course.fed_since_h() + 24.0 * at.age_days).date()
        return _date(course, day, "can_go", f"{at.age_days:g} days since their first food.")
    if at.length_mm is None or not course.fry_class.reaches(at.length_mm):
        return None
    why = f"{at.length_mm:g} mm: the length at which they can go."
    found = next(_reaching(course, at.length_mm, "can_go", why), None)
    if found is None and course.length_mm(course.from_h) >= at.length_mm:
        return _date(course, course.room.at_hour(course.from_h).date(), "can_go", why)
    return found


def fitting_kinds(course: BroodCourse, length_mm: float) -> tuple[str, ...]:
    """Live foods of this project that half of such a brood would take, finest first.

    Infusoria when even the finest is too wide.
    """
    foods = [food for kind in kind_names() if (food := shipped_kind(kind).food).width_um > 0]
    fits = [f for f in foods if suitability(f, course.fry_class, length_mm) >= 0.5]
    return tuple(f.name for f in sorted(fits, key=lambda f: f.width_um)) or (INFUSORIA,)


def _date(course: BroodCourse, day: date, what: DateKind, why: str, food: str = "") -> BroodDate:
    brood = course.brood
    return BroodDate(day, day, day, what, brood.name, brood.tank, why, food, sure=course.promised())


def _stages(course: BroodCourse) -> Iterator[BroodDate]:
    """Hatching and first food, for a brood that is known by its eggs or its hatching."""
    brood, room, v = course.brood, course.room, course.fry_class.values
    degrees = f"{course.temperature_c:.3g} °C"
    known_h = hours(room.local(brood.anchor_date, time(12)))
    if brood.anchor in ("spawned", "planned") and v["hatch_days"] >= 0.5:
        hatch_h = course.development.when(known_h, v["hatch_days"])
        why = f"{(hatch_h - known_h) / 24.0:.1f} days from spawning at {degrees}."
        yield _date(course, room.at_hour(hatch_h).date(), "hatching", why)
    if brood.anchor in ("spawned", "hatched", "wetted", "planned"):
        first_h = course.first_food_h
        left = course.lives_unfed_days()
        why = (
            f"{max(0.0, first_h - known_h) / 24.0:.1f} days from being {brood.anchor} at {degrees};"
            f" without food they live about {left:.0f} more days."
        )
        yield _date(course, course.first_food_day(), "first_food", why)


def _lengths(course: BroodCourse, end: date) -> Iterator[BroodDate]:
    """Dates at which a length is reached."""
    fry, v = course.fry_class, course.fry_class.values
    lid, move, adult = v["lid_mm"], v["move_on_mm"], v["fry_until_mm"]
    yield from _reaching(course, lid, "lid", f"{lid:g} mm: from here on they can jump.")
    yield from _reaching(course, move, "move_on", f"{move:g} mm: time for a grow-out tank.")
    yield from _past_fry_age(course)
    sort_at = fry.sort_length_mm()
    end_h = hours(course.room.local(end, time(12)))
    while sort_at < adult and course.reaches(sort_at) <= end_h:
        why = (
            f"{sort_at:.0f} mm on average: the largest are about {v['sort_ratio']:g} times"
            " as long as the smallest."
        )
        yield from _reaching(course, sort_at, "sort", why)
        sort_at = fry.sort_length_mm(sort_at)


def _past_fry_age(course: BroodCourse) -> Iterator[BroodDate]:
    adult = course.fry_class.values["fry_until_mm"]
    dry = any(food.name == DRY for food in course.foods)
    grown = f"{adult:g} mm: fed as young fish from here on, " + (
        "on dry food." if dry else "but dry food is not among its foods."
    )
    yield from _reaching(course, adult, "past_fry_age", grown)


def _reaching(
    course: BroodCourse, length_mm: float, what: DateKind, why: str
) -> Iterator[BroodDate]:
    fry = course.fry_class
    rate = fry.parameters["growth_rate_per_day"]
    day = _day_of(course, length_mm, 1.0)
    if day is not None:
        yield evolve(
            _date(course, day, what, why),
            early=_day_of(course, length_mm, rate.value / rate.high) or day,
            late=_day_of(course, length_mm, rate.value / rate.low) or day,
            length_mm=length_mm,
        )


def _day_of(course: BroodCourse, length_mm: float, slower: float) -> date | None:
    """The day on which a length is reached by a brood that grows so much slower, or None.

    All ages on a Gompertz curve scale with 1 / rate, so the growth that is still missing
    does too; None for a length that is past already or never reached.
    """
    fry = course.fry_class
    target = fry.growth_days(length_mm)
    missing = (target - course.grown_from) * slower
    if not fry.reaches(length_mm) or missing < 0:
        return None
    time_h = course.clock.when(course.from_h, missing)
    if time_h > course.from_h + 24.0 * 5000:
        return None
    return course.room.at_hour(time_h).date()


def _crowding(course: BroodCourse, start: date, end: date) -> Iterator[BroodDate]:
    """The first day on which a brood is more than its tank bears, counting it alone."""
    litres = course.room.tank(course.brood.tank).litres
    before = _crowded(course, start - timedelta(days=1), litres)
    for day in _days(start, end):
        now = _crowded(course, day, litres)
        if now and not before:
            yield _date(course, day, "crowded", _crowding_words(course, day, litres))
        before = now


def _crowding_words(course: BroodCourse, day: date, litres: float) -> str:
    length, count = course.length_mm(_noon(course, day)), course.brood.alive(day)
    bears = course.fry_class.values["crowd_mm_per_litre"]
    return (
        f"{count:.0f} fry of {length:.1f} mm are {count * length:,.0f} mm of fish, more"
        f" than the {bears * litres:,.0f} mm that {litres:g} L bear, so thin out, move, or"
        " change water more often."
    )


def _crowded(course: BroodCourse, day: date, litres: float) -> bool:
    time_h = _noon(course, day)
    if time_h < course.first_food_h:
        return False
    length = course.length_mm(time_h)
    return course.brood.alive(day) > course.fry_class.crowded_count(length, litres)


def _foods(course: BroodCourse, start: date, end: date) -> Iterator[BroodDate]:
    """Days on which the diet takes up a food, leaves one, or leans to another."""
    before = _diet(course, start - timedelta(days=1))
    missing = False
    for day in _days(start, end):
        diet = _diet(course, day)
        if diet is None:
            continue
        length = course.length_mm(_noon(course, day))
        if not diet:
            if not missing:
                fits = " or ".join(food_words(name) for name in fitting_kinds(course, length))
                kept = ", ".join(food_words(food.name) for food in course.foods) or "nothing"
                why = f"needs {fits}: at {length:.1f} mm its mouth takes none of {kept}."
                yield _date(course, day, "no_food_fits", why)
            missing, before = True, diet
            continue
        missing = False
        if before is not None:
            yield from _changes(course, day, length, before, diet)
        before = diet


def _changes(
    course: BroodCourse, day: date, length: float, before: dict[str, float], diet: dict[str, float]
) -> Iterator[BroodDate]:
    for food in sorted(set(diet) - set(before)):
        why = f"at {length:.1f} mm they start on {food_words(food)}, {diet[food]:.0%} of the diet."
        yield _date(course, day, "food_begins", why, food)
    for food in sorted(set(before) - set(diet)):
        why = f"at {length:.1f} mm they outgrow {food_words(food)}."
        yield _date(course, day, "food_ends", why, food)
    main = max(diet, key=lambda f: diet[f])
    if before and main != max(before, key=lambda f: before[f]):
        part = "most" if diet[main] > 0.5 else "the largest part"
        verb = "are" if main == BRINE_SHRIMP else "is"
        why = f"At {length:.1f} mm {food_words(main)} {verb} {part} of the diet, {diet[main]:.0%}."
        yield _date(course, day, "main_food", why, main)


def _diet(course: BroodCourse, day: date) -> dict[str, float] | None:
    """The diet of a day, or None before first food."""
    if day < course.first_food_day():
        return None
    return diet_shares(course.foods, course.fry_class, course.length_mm(_noon(course, day)))


def _noon(course: BroodCourse, day: date) -> float:
    return hours(datetime.combine(day, time(12), course.room.timezone))


def _days(start: date, end: date) -> Iterable[date]:
    return (start + timedelta(days=i) for i in range((end - start).days))
