"""The keys of each table of a room file: what they hold, limits, and what they are if left out.

docs/room-file.md says what they mean, and is checked against this.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from attrs import frozen

from cultures.errors import UnitError, closest, nearest
from cultures.foods.vessels import USUAL_SALINITY_G_PER_L
from cultures.fry.classes import class_hint
from cultures.fry.species import SpeciesNameError, must_be_species, read_species, species_named
from cultures.journal.events import FIRST_YEAR, LAST_YEAR
from cultures.limits import most
from cultures.room.room import SellAt
from cultures.room.table import File, Key, Written, date_of, moment_of
from cultures.room.tools import SCALE_G, MeasuringCups, Scoops, Spoons, Syringes, TeaspoonsWeighed
from cultures.tasks.task import KINDS
from cultures.words.moments import WEEKDAYS, read_clock
from cultures.words.numbers import as_float, read_share
from cultures.words.text import check_line, key_named, plain, short
from cultures.words.tools import DRY, MEDIUM, SALT
from cultures.words.units import Dimension, parse_quantity

_FAR_FUTURE = timedelta(days=730)
_UNIT_TEXT = {"c": "°C", "l": "L", "ml": "mL", "g/l": "g/L"}
#: As the file has the days of the week.
DAYS = tuple(day.lower() for day in WEEKDAYS)
#: What may be known of the age of a brood.
ANCHORS = ("spawned", "hatched", "free_swimming", "length_mm", "collected", "planned")
#: Tables that stand once.
SINGLE = ("room", "tools", "cysts", "supplies", "alarms")
#: Words that people write for a table, where spelling does not lead to it.
MEANT_TABLES = {
    "hatchery": "vessel", "bottle": "vessel", "cone": "vessel", "fish": "brood", "fry": "brood",
    "spawn": "brood", "worm": "culture", "tin": "cysts", "egg": "cysts", "holiday": "away",
    "absence": "away", "supply": "supplies", "alarm": "alarms",
    "spoon": "tools", "syringe": "tools", "jug": "tools", "scale": "tools", "measure": "tools",
    "tool": "tools",
}  # fmt: skip
#: The shipped kinds of worms, each with a medium of its own.
_WORM_KINDS = ("microworm", "banana_worm", "grindal_worm", "vinegar_eel", "paramecium", "rotifer")
_STOCKS = ("salt", "dry", "medium", *(f"{kind}_medium" for kind in _WORM_KINDS))
#: What a stock is named by; starters are bought and not kept.
STOCKS = ("cysts", "starter", *_STOCKS)
#: Names that the journal keeps for the room and its stocks.
RESERVED = ("room", "cysts", *_STOCKS)
_ALARMS = (*(kind.what for kind in KINDS), "warning")


@frozen
class Text(Key):
    """A name or other text."""

    def read(self, at: Written) -> str:
        if not isinstance(at.value, str) or not at.value.strip():
            raise UnitError('must be text in quotes, like "A1"')
        check_line(at.value)
        return plain(at.value)


@frozen
class Quantity(Key):
    """A quantity from low to high; ``density``: of what substance, where spoons are read."""

    dimension: Dimension
    unit: str
    low: float
    high: float
    density: str = ""

    @property
    def shown(self) -> str:
        """The unit as people write it."""
        return _UNIT_TEXT.get(self.unit, self.unit)

    def wanted(self) -> str:
        return f" (in {self.shown})"

    def read(self, at: Written) -> float:
        density = at.file.densities.get(self.density)
        found = parse_quantity(at.value, self.dimension, self.unit, density_g_per_ml=density)
        if self.low <= found <= self.high:
            return found
        bare = self.unit == "c" and not isinstance(at.value, str)
        fahrenheit = bare and self.low <= (found - 32) / 1.8 <= self.high
        more = f'; for degrees Fahrenheit write "{found:g} F"' if fahrenheit else ""
        raise UnitError(
            f"{found:g} {self.shown} is not possible;"
            f" use {self.low:g} to {self.high:g} {self.shown}{more}"
        )


@frozen
class Monthly(Key):
    """Twelve temperatures [°C], as a tuple."""

    low: float
    high: float

    def read(self, at: Written) -> tuple[float, ...]:
        if not isinstance(at.value, list) or len(at.value) != 12:
            raise UnitError("must list 12 temperatures, January first")
        found = tuple(parse_quantity(month, "temperature", "c") for month in at.value)
        if not all(self.low <= degrees <= self.high for degrees in found):
            at.fail(f"each must be from {self.low:g} to {self.high:g} °C")
        return found


@frozen
class Number(Key):
    """A plain number from low to high; ``whole``: without a fraction."""

    low: float
    high: float
    whole: bool = False

    def read(self, at: Written) -> float:
        if isinstance(at.value, bool) or not isinstance(at.value, int | float):
            raise UnitError(f"must be a number from {self.low:g} to {self.high:,.9g}")
        number = as_float(at.value)
        if not self.low <= number <= self.high:
            raise UnitError(f"{number:g} is not possible; use {self.low:g} to {self.high:,.9g}")
        if self.whole and number != int(number):
            raise UnitError(f"{number:g} is not possible; use a whole number")
        return int(number) if self.whole else number


@frozen
class Share(Key):
    """A share above 0 up to 1, or so many per cent as text."""

    def read(self, at: Written) -> float:
        if not isinstance(at.value, str | int | float) or isinstance(at.value, bool):
            raise UnitError('must be a share like 0.7, or "70 %"')
        return read_share(str(at.value))


@frozen
class CanGo(Key):
    """A length or an age at which fish can go, or ``never``."""

    def read(self, at: Written) -> SellAt:
        if isinstance(at.value, str) and at.value.strip().lower() == "never":
            return SellAt()
        length, age = (self._part(at.value, *of) for of in (("length", "mm"), ("time", "day")))
        if length is None and age is None:
            raise UnitError(
                'must be a length or an age, like "25 mm" or "8 weeks" (since the first food),'
                ' or "never"'
            )
        if length is not None and not 5 <= length <= 300:
            raise UnitError(f"{length:g} mm is not possible; use 5 to 300 mm")
        if age is not None and not 7 <= age <= 1100:
            raise UnitError(f"{age:g} days is not possible; use 7 to 1,100 days")
        return SellAt(length, age)

    def _part(self, value: Any, dimension: Dimension, unit: str) -> float | None:
        """What it says in units of one dimension, which must be written."""
        if not isinstance(value, str) or not re.search(r"[a-z\"]", value.lower()):
            return None
        try:
            return parse_quantity(value, dimension, unit)
        except UnitError:
            return None


@frozen
class Flag(Key):
    """True or false."""

    def read(self, at: Written) -> bool:
        if not isinstance(at.value, bool):
            raise UnitError("must be true or false")
        return at.value


@frozen
class Day(Key):
    """A date; it may not lie after today, unless ``ahead``. ``timed``: with a time of day it is
    that moment.
    """

    ahead: bool = False
    timed: bool = False

    def wanted(self) -> str:
        return "; write a date like 2027-01-31"

    def read(self, at: Written) -> date:
        moment, today = moment_of(at.value) if self.timed else None, at.file.today
        found = moment.date() if moment is not None else date_of(at.value)
        if found is None:
            raise UnitError("must be a date like 2027-01-31, year first")
        if not self.ahead and found > today:
            raise UnitError(f"{found} lies in the future (today is {today})")
        if found > today + _FAR_FUTURE:
            raise UnitError(f"{found} is more than two years ahead; is the year right?")
        if found.year < FIRST_YEAR:
            raise UnitError(f"{found} is too long ago; is the year right?")
        return moment or found


@frozen
class Moment(Key):
    """A date with a time of day."""

    def read(self, at: Written) -> datetime:
        found = moment_of(at.value)
        if found is None:
            raise UnitError("must be a date and time like 2027-01-31T07:30:00")
        if not FIRST_YEAR <= found.year <= LAST_YEAR:
            raise UnitError(f"{found:%Y-%m-%d}: is the year right?")
        return found


@frozen
class Times(Key):
    """Times of day, so many at least and at most; those that can be read, as a tuple."""

    least: int
    most: int
    words: str

    def read(self, at: Written) -> tuple[time, ...]:
        if not isinstance(at.value, list) or not self.least <= len(at.value) <= self.most:
            raise UnitError(f"must {self.words}")
        return at.each(at.value, _clock)


@frozen
class TimesOnDays(Key):
    """Times of day by the day of the week, Monday 0: ``{ tue = ["08:00", "18:30"] }``."""

    most: int

    def read(self, at: Written) -> dict[int, tuple[time, ...]]:
        if not isinstance(at.value, Mapping) or not at.value:
            raise UnitError('must name weekdays, like { tue = ["08:00", "18:30"] }')
        return dict(at.each(at.value.items(), lambda row: self._of_day(*row)))

    def _of_day(self, day: str, times: object) -> tuple[int, tuple[time, ...]]:
        if day not in DAYS:
            raise UnitError(f"there is no weekday '{short(day)}'; {nearest(day, DAYS)}")
        if not isinstance(times, list) or not 1 <= len(times) <= self.most:
            raise UnitError(
                f'{day} must list 1 to {self.most} feeding times, like ["08:00", "18:30"]'
            )
        return DAYS.index(day), tuple(map(_clock, times))


def _clock(value: object) -> time:
    if isinstance(value, time) and value == value.replace(second=0, microsecond=0):
        return value
    found = read_clock(value) if isinstance(value, str) else None
    if found is None:
        raise UnitError(f"'{short(str(value))}' is not a time of day like \"07:30\"")
    return found


@frozen
class OneOf(Text):
    """One of the words of a list, or of those that the file knows under a name."""

    words: str | tuple[str, ...]
    hinted: Callable[[str, Iterable[str]], str] = nearest

    def read(self, at: Written) -> str:
        found, known = super().read(at), _known(at.file, self.words)
        if self.words == "kinds":
            found = key_named(found, known)
        if found not in known:
            raise UnitError(f"there is no '{found}'; {self.hinted(found, known)}")
        return found


@frozen
class Called(Text):
    """A word for a thing that another key, ``amount``, says the amount of."""

    amount: str

    def read(self, at: Written) -> str:
        if isinstance(at.value, int | float):
            raise UnitError(f'must be a name in quotes, like "bread"; its amount is {self.amount}')
        return super().read(at)


@frozen
class SpeciesName(Text):
    """A species by any of its names, as the key of its file."""

    def read(self, at: Written) -> str:
        word = super().read(at)
        try:
            return must_be_species(word)
        except SpeciesNameError as error:
            name = "_".join(word.lower().split())
            if name not in at.file.known["classes"]:
                raise
            raise SpeciesNameError(f'{error} Or write class = "{name}" in its place') from None


@frozen
class Several(Key):
    """A list of such words, as a tuple."""

    words: str | tuple[str, ...]

    def read(self, at: Written) -> tuple[str, ...]:
        values = at.value if isinstance(at.value, list) else []
        if not values or not all(isinstance(value, str) for value in values):
            raise UnitError('must be a list like ["microworm", "dry"]')
        known, words = _known(at.file, self.words), tuple(map(plain, values))
        for word in words:
            if word not in known:
                at.fail(f"there is no '{short(word)}'; {nearest(word, known)}")
        if len(set(words)) != len(words):
            at.fail("names one thing twice")
        return words


def _known(file: File, words: str | tuple[str, ...]) -> Sequence[str]:
    return words if isinstance(words, tuple) else file.known[words]


def _class_hint(word: str, known: Iterable[str]) -> str:
    """A class for what was written, and the species of that name too, if one has it."""
    hint = class_hint(word, known)
    try:
        key = species_named(word)
    except SpeciesNameError as error:
        return f"as a species, {error}; {hint}"
    return hint if key is None else f'write species = "{read_species(key).scientific}"; {hint}'


def _kind_hint(word: str, known: Iterable[str]) -> str:
    """Another worm with a name alike would be worse than none."""
    names = tuple(known)
    if closest(word, names, 0.8) is not None:
        return nearest(word, names)
    return f"known: {', '.join(sorted(names))}; describe another in a [[kind]]"


def _celsius(low: float, high: float, **more: Any) -> Quantity:
    return Quantity("temperature", "c", low, high, **more)


def _litres(low: float, high: float) -> Quantity:
    return Quantity("volume", "l", low, high)


def _grams(low: float, high: float, of: str, **more: Any) -> Quantity:
    return Quantity("mass", "g", low, high, of, **more)


def _rounds(of: str, default: tuple[time, ...]) -> Times:
    most_rounds = most("rounds")
    return Times(1, most_rounds, f"list 1 to {most_rounds} feeding times{of}", default=default)


KEYS: Mapping[str, Mapping[str, Key]] = {
    "room": {
        "name": Text(default="fish room"),
        "timezone": Text(),
        "temperature_c": _celsius(0, 45),
        "temperature_by_month_c": Monthly(0, 45),
        "rounds": _rounds(', like ["07:30", "18:30"]', default=(time(7, 30), time(18, 30))),
        "weekend_rounds": _rounds(
            ' of Saturdays and Sundays, like ["09:00", "13:00", "18:30"]', default=()
        ),
        "rounds_on": TimesOnDays(most("rounds"), default={}),
        "awake": Times(2, 2, 'be two times, like ["06:30", "22:30"]',
                       default=(time(6, 30), time(22, 30))),
        "as_of": Day(default=None),
        "horizon_days": Number(1, most("days"), whole=True, default=28),
        "fridge_c": _celsius(0.5, 15, default=None),
        "units": OneOf(("metric", "us"), default="metric"),
        "makeup_ml": Quantity("volume", "ml", 5, 20000, default=100.0),
        "effort_g": Number(0, 1000, default=3.0),
        "move_g": Number(0, 1000, default=1.0),
        "spare_cultures": Number(1, 10, whole=True, default=2),
        "shelf": Number(1, 1000, whole=True, default=None),
        "split_days": Several(DAYS, default=()),
        "hatch_margin": Number(0, 2, default=0.15),
        "variety": Number(1, 4, whole=True, default=1),
        "sell_at": CanGo(default=None),
    },
    "tank": {"name": Text(), "litres": _litres(0.05, 100000), "temperature_c": _celsius(2, 42)},
    "brood": {
        "name": Text(),
        "tank": OneOf("tanks"),
        "species": SpeciesName(default=None),
        "class": OneOf("classes", _class_hint, default=None),
        "count": Number(1, most("fry"), whole=True),
        "counted_on": Day(default=None),
        "spawned": Day(),
        "hatched": Day(),
        "free_swimming": Day(),
        "length_mm": Quantity("length", "mm", 1, 500),
        "measured_on": Day(),
        "planned": Day(ahead=True),
        "chance": Share(default=None),
        "collected": Day(),
        "wetted": Day(ahead=True, default=None),
        "survival_per_day": Number(0.5, 1, default=None),
        "foods": Several("foods", default=None),
        "sell_at": CanGo(default=None),
    },
    "culture": {
        "name": Text(),
        "kind": OneOf("kinds", _kind_hint),
        "started": Day(),
        "planned": Day(ahead=True, default=None),
        "medium": Called("medium_g", default=None),
        "harvest": Text(default=None),
        "medium_g": _grams(1, 100000, "medium"),
        "surface_cm2": Quantity("area", "cm2", 0.5, 100000, default=None),
        "starter_g": _grams(0.01, 100000, "medium"),
        "temperature_c": _celsius(-20, 60, default=None),
    },
    "vessel": {
        "name": Text(),
        "litres": _litres(0.05, 2000),
        "temperature_c": _celsius(-20, 60),
        "salinity_g_per_l": Quantity("salinity", "g/l", 0, 150, default=USUAL_SALINITY_G_PER_L),
    },
    "hatch": {
        "vessel": OneOf("vessels"), "set_at": Moment(), "cysts_g": _grams(0.01, 10000, "cysts")
    },
    "tools": {
        "spoons_ml": Spoons(default=()),
        "scoops": Scoops(default=()),
        "teaspoon_g": TeaspoonsWeighed(default={}),
        "syringes_ml": Syringes(default=()),
        "measuring_cups_ml": MeasuringCups(default=()),
        "scale_g": Quantity("mass", "g", *SCALE_G, default=None),
    },
    "cysts": {
        "grams": _grams(0, 100000, "cysts"),
        "nauplii_per_gram": Number(1000, 400000, default=None),
        "opened": Day(default=None),
        "strain": Text(default=None),
    },
    "supplies": {
        **{f"{s}_g": _grams(0, 1e6, s if s in (SALT, DRY) else MEDIUM) for s in _STOCKS},
        **dict.fromkeys(
            (f"{item}_days" for item in STOCKS), Number(0, 60, whole=True)
        ),
    },
    "away": {
        "from": Day(ahead=True, timed=True), "to": Day(ahead=True, timed=True),
        "helper": Flag(default=False),
        "rounds": _rounds(' of the room, like ["18:30"]', default=()),
        "days": Several(DAYS, default=()),
        "foods": Several("foods", default=()),
    },
    "alarms": dict.fromkeys(_ALARMS, Number(0, 7 * 24 * 60, whole=True)),
    "kind": {},
    "fry_class": {},
}  # fmt: skip
