"""One table of a room file: reads its keys and notes everything that is wrong with them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta
from typing import Any, Protocol

from cultures.errors import UnitError, closest, hint, nearest
from cultures.fry.classes import class_hint
from cultures.words.units import Dimension, parse_quantity

#: The shipped kinds of worms, each with a medium of its own.
WORM_KINDS = ("microworm", "banana_worm", "grindal_worm", "vinegar_eel", "paramecium", "rotifer")
ANCHORS = ("spawned", "hatched", "free_swimming", "length_mm", "collected", "planned")
_FAR_FUTURE = timedelta(days=730)
#: The keys of each table; the room file's reference page is checked against it.
KEYS: dict[str, tuple[str, ...]] = {
    "room": ("name", "timezone", "temperature_c", "temperature_by_month_c", "rounds", "awake",
             "fridge_c", "horizon_days", "as_of", "effort_g", "makeup_ml", "spare_cultures",
             "shelf", "split_days", "units", "variety", "hatch_margin", "move_g"),
    "away": ("from", "to", "helper"),
    "tank": ("name", "litres", "temperature_c"),
    "brood": ("name", "tank", "class", "count", "counted_on", *ANCHORS, "measured_on",
              "wetted", "survival_per_day", "foods"),
    "culture": ("name", "kind", "started", "planned", "medium_g", "surface_cm2", "starter_g",
                "temperature_c"),
    "vessel": ("name", "litres", "temperature_c", "salinity_g_per_l"),
    "hatch": ("vessel", "set_at", "cysts_g"),
    "cysts": ("grams", "nauplii_per_gram", "opened", "strain"),
    "supplies": ("salt_g", "dry_g", "medium_g", *(f"{kind}_medium_g" for kind in WORM_KINDS)),
    "alarms": ("set_hatch", "harvest_hatch", "split", "start", "retire", "soak", "feed", "count",
               "sort", "lid", "move_on", "switch_food", "buy", "first_food", "harvest_worms",
               "warning"),
    "kind": (),
    "fry_class": (),
}  # fmt: skip
#: Tables that stand once.
SINGLE = ("room", "cysts", "supplies", "alarms")


#: Words that people write for a key or a table, where spelling does not lead to it.
MEANT_KEYS = {
    "number": "count", "fry": "count", "fish": "count", "size": "litres", "volume": "litres",
    "gallons": "litres", "temp": "temperature_c", "born": "hatched", "type": "kind",
    "species": "class", "salt": "salinity_g_per_l", "medium": "medium_g", "weight": "grams",
    "feedings": "rounds", "tz": "timezone", "start": "from", "end": "to",
}  # fmt: skip
MEANT_TABLES = {
    "hatchery": "vessel", "bottle": "vessel", "cone": "vessel", "fish": "brood", "fry": "brood",
    "spawn": "brood", "worm": "culture", "tin": "cysts", "egg": "cysts", "holiday": "away",
    "absence": "away", "supply": "supplies", "alarm": "alarms",
}  # fmt: skip


class Notes(Protocol):
    """Who is told of mistakes."""

    today: date

    def fail(self, table: str, index: int, key: str, label: str, message: str) -> None:
        """Notes a mistake at a key, or at the table where the key is missing."""


class Table:
    """One table of the file: reads its keys and notes what is wrong with them."""

    def __init__(self, reader: Notes, name: str, index: int, raw: Mapping[str, Any]) -> None:
        self.reader, self.name, self.index, self.raw = reader, name, index, raw
        self.ok = True
        self.meant: set[str] = set()
        for key in raw if KEYS[name] else ():
            if key in KEYS[name]:
                continue
            meant = MEANT_KEYS.get(key.lower())
            if meant is None or meant not in KEYS[name]:
                meant = closest(key, KEYS[name])
            self.fail(key, f"unknown key; {hint(meant, KEYS[name])}")
            if meant is not None and meant not in raw:
                self.meant.add(meant)

    @property
    def label(self) -> str:
        """How messages call this table."""
        if self.name in SINGLE:
            return f"[{self.name}]"
        title = self.raw.get("name")
        return f"[[{self.name}]] {title if isinstance(title, str) else self.index + 1}"

    def fail(self, key: str, message: str) -> None:
        """Notes a mistake at a key, or at the table where the key is missing."""
        self.ok = False
        if message.startswith("is missing") and key in self.meant:
            return  # it is there under another name, which was told
        self.reader.fail(self.name, self.index, key, f"{self.label} {key}".strip(), message)

    def text(self, key: str, default: str | None = None) -> str:
        """A name or other text."""
        value = self.raw.get(key, default)
        if value is None:
            self.fail(key, "is missing")
            return ""
        if not isinstance(value, str) or not value.strip():
            self.fail(key, 'must be text in quotes, like "A1"')
            return ""
        if any(ord(c) < 32 for c in value) or len(value) > 200:
            self.fail(key, "must be one line of at most 200 characters")
            return ""
        return value.strip()

    def quantity(
        self,
        key: str,
        dimension: Dimension,
        unit: str,
        low: float,
        high: float,
        default: float | None = None,
        *,
        density: float | None = None,
    ) -> float:
        """A quantity in ``unit`` from low to high."""
        found = self.optional(key, dimension, unit, low, high, density=density)
        if found is not None:
            return found
        if key in self.raw:
            return low
        if default is None:
            self.fail(key, f"is missing (in {_UNIT_TEXT.get(unit, unit)})")
            return low
        return default

    def optional(
        self, key: str, dimension: Dimension, unit: str, low: float, high: float,
        *, density: float | None = None,
    ) -> float | None:  # fmt: skip
        """A quantity, or None when it is absent (or wrong, which is noted)."""
        if key not in self.raw:
            return None
        try:
            value = parse_quantity(self.raw[key], dimension, unit, density_g_per_ml=density)
        except UnitError as error:
            self.fail(key, str(error))
            return None
        if not low <= value <= high:
            shown = _UNIT_TEXT.get(unit, unit)
            hint = ""
            raw = self.raw[key]
            if unit == "c" and not isinstance(raw, str) and low <= (value - 32) / 1.8 <= high:
                hint = f'; for degrees Fahrenheit write "{value:g} F"'
            self.fail(
                key, f"{value:g} {shown} is not possible; use {low:g} to {high:g} {shown}{hint}"
            )
            return None
        return value

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """A plain number from low to high."""
        value = self.raw.get(key, default)
        if value is None:
            self.fail(key, "is missing")
        elif isinstance(value, bool) or not isinstance(value, int | float):
            self.fail(key, f"must be a number from {low:g} to {high:g}")
        elif not low <= value <= high:
            self.fail(key, f"{value:g} is not possible; use {low:g} to {high:g}")
        else:
            return float(value)
        return low

    def day(self, key: str, *, past: bool = True, required: bool = True) -> date | None:
        """A date; ``past`` ones may not lie after today."""
        value = self.raw.get(key)
        if value is None:
            if required:
                self.fail(key, "is missing; write a date like 2027-01-31")
            return None
        found = date_of(value)
        if found is None:
            self.fail(key, "must be a date like 2027-01-31, year first")
        elif past and found > self.reader.today:
            self.fail(key, f"{found} lies in the future (today is {self.reader.today})")
        elif found > self.reader.today + _FAR_FUTURE:
            self.fail(key, f"{found} is more than two years ahead; is the year right?")
        elif found.year < 1990:
            self.fail(key, f"{found} is too long ago; is the year right?")
        else:
            return found
        return None

    def clock(self, key: str, value: object) -> time | None:
        """A time of day like 07:30."""
        if isinstance(value, time):
            return value
        try:
            parts = str(value).strip().split(":")
            if len(parts) != 2 or not isinstance(value, str):
                raise ValueError
            return time(int(parts[0]), int(parts[1]))
        except ValueError:
            self.fail(key, f"'{value}' is not a time of day like \"07:30\"")
            return None

    def choice(self, key: str, known: Iterable[str], default: str | None = None) -> str:
        """One of the known words."""
        known = tuple(known)
        value = self.text(key, default)
        if value and value not in known:
            if key == "class":
                found = class_hint(value, known)
            elif key == "kind" and closest(value, known, 0.8) is None:
                # Another worm with a name alike would be worse than none.
                found = f"known: {', '.join(sorted(known))}; describe another in a [[kind]]"
            else:
                found = nearest(value, known)
            self.fail(key, f"there is no '{value}'; {found}")
            return ""
        return value

    def texts(self, key: str, known: Iterable[str]) -> tuple[str, ...] | None:
        """A list of known words, or None when absent."""
        value = self.raw.get(key)
        if value is None:
            return None
        if not isinstance(value, list) or not value or not all(isinstance(v, str) for v in value):
            self.fail(key, 'must be a list like ["microworm", "dry"]')
            return None
        names = tuple(known)
        for word in value:
            if word not in names:
                self.fail(key, f"there is no '{word}'; {nearest(word, names)}")
        if len(set(value)) != len(value):
            self.fail(key, "names one thing twice")
        return tuple(value)


_UNIT_TEXT = {"c": "°C", "l": "L", "ml": "mL", "cm2": "cm2", "g/l": "g/L"}


def moment_of(value: object) -> datetime | None:
    """A value as a date and time, or None."""
    if isinstance(value, datetime):
        return value
    try:
        found = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None
    return found if found is not None and isinstance(value, str) and len(value) > 10 else None


def date_of(value: object) -> date | None:
    """A value as a day, or None."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return None
    return None
