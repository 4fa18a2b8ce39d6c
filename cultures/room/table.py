"""Tables of a room file; every mistake in them is noted with its line."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple, TypeVar

from attrs import field, frozen

from cultures.errors import LivefoodError, Problem, closest, hint
from cultures.room.toml_lines import Place, key_lines
from cultures.words.text import plain
from cultures.words.units import unit_in_key

_Value = TypeVar("_Value")
_Found = TypeVar("_Found")

#: Default of a key that must be given.
NEEDED = object()
#: Words that people write for a key, where spelling does not lead to it.
MEANT = {
    "number": "count", "fry": "count", "fish": "count", "size": "litres", "volume": "litres",
    "gallons": "litres", "temp": "temperature_c", "born": "hatched", "type": "kind",
    "salt": "salinity_g_per_l", "medium": "medium_g", "weight": "grams",
    "feedings": "rounds", "tz": "timezone", "start": "from", "end": "to",
    "age": "started",
}  # fmt: skip


class File:
    """A room file while it is read.

    Attributes:
        known: words that keys may hold, by what they name ("kinds", "tanks"...).
        densities: that let a mass be given in spoons, by substance [g/mL].
        problems: all that is wrong so far.
    """

    def __init__(
        self, name: str, text: str, data: Mapping[str, Any], today: date,
        now: datetime | None = None,
    ) -> None:  # fmt: skip
        self.name, self.data, self.today, self.now = name, data, today, now
        self.lines = key_lines(text)
        self.known: dict[str, Sequence[str]] = {}
        self.densities = {"medium": 1.0}
        self.problems: list[Problem] = []

    def fail(self, place: Place, label: str, message: str) -> None:
        """Notes a mistake at a key, or at the table where the key is missing."""
        table = place[0]
        near = (place, (*place[:2], ""), ("", 0, table))
        line = next((self.lines[each] for each in near if each in self.lines), None)
        if line is None:  # only a table within it has a line
            within = (n for p, n in self.lines.items() if p[0].startswith(f"{table}."))
            line = min(within, default=None)
        problem = Problem(self.name, line, label, message)
        if problem not in self.problems:  # a key that is looked at twice is wrong once
            self.problems.append(problem)

    def raw(self, name: str) -> list[Mapping[str, Any]]:
        """The tables of a name as they are written."""
        found = self.data.get(name, [])
        return found if isinstance(found, list) else [found]

    def names(self, what: str) -> list[str]:
        """Names of all tanks, vessels..., also of those that are wrong in themselves."""
        return [plain(name) for raw in self.raw(what) if isinstance(name := raw.get("name"), str)]


class Table:
    """One table of the file; ``table["key"]`` reads a key and notes what is wrong with it."""

    def __init__(
        self, file: File, name: str, index: int, keys: Mapping[str, Key], *, single: bool = False
    ) -> None:
        rows = file.raw(name)
        self.file, self.name, self.index, self.keys, self.single = file, name, index, keys, single
        self.raw: Mapping[str, Any] = rows[index] if rows else {}
        self.ok = True
        self.meant: set[str] = set()
        for key in self.raw if keys else ():
            if key not in keys:
                self._unknown(key)

    def _unknown(self, key: str) -> None:
        meant, by_unit = MEANT.get(key.lower()), unit_in_key(key)
        example = ""
        if by_unit is not None and by_unit[0] in self.keys:
            meant, unit = by_unit
            example = f' ({meant} = "{78 if unit == "F" else 1} {unit}" is read too)'
        if meant is None or meant not in self.keys:
            meant = closest(key, self.keys)
        self.fail(key, f"unknown key; {hint(meant, self.keys)}{example}")
        if meant is not None:
            self.meant.add(meant)

    def __getitem__(self, key: str) -> Any:
        """The value of a key; None where it is wrong or missing, which is noted."""
        reads = self.keys[key]
        if key in self.raw:
            try:
                return reads.read(Written(self.raw[key], self, key))
            except LivefoodError as error:
                self.fail(key, str(error))
                return None
        if reads.default is NEEDED:
            self.fail(key, f"is missing{reads.wanted()}")
            return None
        return reads.default

    def __contains__(self, key: str) -> bool:
        return key in self.raw

    def given(self) -> dict[str, Any]:
        """The keys that are written and known, with what they hold."""
        return {key: self[key] for key in self.raw if key in self.keys}

    @property
    def label(self) -> str:
        """How messages call this table."""
        if self.single:
            return f"[{self.name}]"
        title = self.raw.get("name")
        return f"[[{self.name}]] {title if isinstance(title, str) else self.index + 1}"

    def fail(self, key: str, message: str) -> None:
        """Notes a mistake at a key, or at the table where the key is missing."""
        self.ok = False
        if message.startswith("is missing") and key in self.meant:
            return  # it is there under another name, which was told
        self.file.fail((self.name, self.index, key), f"{self.label} {key}".strip(), message)

    def check(self, key: str, wrong: str | None, where: str = "") -> None:
        """Notes what is wrong at a key, if anything is; ``where`` is said before it."""
        if wrong is not None:
            self.fail(key, where + wrong)


class Written(NamedTuple):
    """What stands behind a key."""

    value: Any
    table: Table
    key: str

    @property
    def file(self) -> File:
        """Where it stands."""
        return self.table.file

    def fail(self, message: str) -> None:
        """Notes a mistake beside which the rest of it is read."""
        self.table.fail(self.key, message)

    def each(
        self, values: Iterable[_Value], read: Callable[[_Value], _Found]
    ) -> tuple[_Found, ...]:
        """Those parts of it that can be read; what is wrong with the others is noted."""
        found = []
        for value in values:
            try:
                found.append(read(value))
            except LivefoodError as error:
                self.fail(str(error))
        return tuple(found)


@frozen
class Key:
    """How a key is read; ``default``: what it is where it is left out."""

    default: Any = field(default=NEEDED, kw_only=True)

    def wanted(self) -> str:
        """What is said of a key that is missing."""
        return ""

    def read(self, at: Written) -> Any:
        """The value of a key that is there.

        Raises:
            LivefoodError: what is wrong with it.
        """
        raise NotImplementedError


def moment_of(value: object) -> datetime | None:
    """A value as a date and time, or None."""
    if isinstance(value, str) and len(value) > 10:
        try:
            return datetime.fromisoformat(value)
        except ValueError:
            return None
    return value if isinstance(value, datetime) else None


def date_of(value: object) -> date | None:
    """A value as a day, or None."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return None
    return value if isinstance(value, date) else None
