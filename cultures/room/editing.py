"""Edits of a room file by what a keeper says: a thing is added, changed, or leaves it.

They make a new text and check nothing but its form: it is for the reader of the file to say
whether it describes a room, and for the record whether that contradicts what was noted or told.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from cultures.errors import RangeError, UnitError, UnknownNameError, nearest
from cultures.room.keys import KEYS, SINGLE, STOCKS, Called
from cultures.room.table import Key, date_of
from cultures.room.toml_edits import with_keys, with_table, without_table
from cultures.room.typed import key_meant, literal, quoted, with_unit
from cultures.words.text import plain

#: Keys of a thing with what was typed for each; nothing stands for taking the key out.
Typed = Mapping[str, str]

#: What can be said of a stock: the table and key that hold it.
_OF_CYSTS = {
    **{key: ("cysts", key) for key in KEYS["cysts"]}, "days": ("supplies", "cysts_days")
}  # fmt: skip


def add(text: str, thing: str, name: str, typed: Typed, now: datetime) -> str:
    """A room file with one more thing.

    Args:
        text: of the file, TOML. now: aware; what today and yesterday are told by.
        thing: ``tank``, ``brood``, ``culture``, ``vessel``, ``stock`` or ``away``, which has no
            name.

    Raises:
        LivefoodError: it is there already, or the file has a form that only an editor can change.
    """
    if thing == "stock":
        return _with_stock(text, name, typed, now, new=True)
    rows = _rows(KEYS[thing], typed, now)
    named = {"name": quoted(plain(name))} if "name" in KEYS[thing] else {}
    return with_table(text, thing, {**named, **rows})


def change(text: str, thing: str, name: str, typed: Typed, now: datetime) -> str:
    """A room file with keys of a thing set, or taken out.

    Args:
        thing: as `add`; or ``room``, which has no name. name: of an absence a day of it. typed: by
            key; nothing typed takes the key out. now: as `add`.

    Raises:
        LivefoodError: as `add`; or it is not in the file.
    """
    if thing == "stock":
        return _with_stock(text, name, typed, now, new=False)
    index = 0 if thing in SINGLE else index_of(text, thing, name, now)
    return with_keys(text, thing, index, _rows(KEYS[thing], typed, now))


def retire(text: str, thing: str, name: str, now: datetime) -> str:
    """A room file without a thing; a vessel takes the hatches with it that the file has in it.

    Args:
        thing, name, now: as `change`.

    Raises:
        LivefoodError: it is not in the file, or in a form that only an editor can change.
    """
    text = without_table(text, thing, index_of(text, thing, name, now))
    hatches = _tables(text, "hatch") if thing == "vessel" else []
    for index in reversed(range(len(hatches))):
        if plain(str(hatches[index].get("vessel"))) == plain(name):
            text = without_table(text, "hatch", index)
    return text


def names_in(text: str, thing: str) -> list[str]:
    """The names of all things of a kind that a room file has, in its order."""
    return [plain(str(row.get("name"))) for row in _tables(text, thing)]


def is_shaped(text: str) -> bool:
    """Whether a text is TOML with the tables of a room, so that one of them can be found."""
    try:
        data = _data(text)
    except (ValueError, RecursionError):
        return False
    return all(
        isinstance(value, dict)
        if name in SINGLE
        else isinstance(value, list) and all(isinstance(row, dict) for row in value)
        for name, value in data.items()
        if name in KEYS
    )


def index_of(text: str, thing: str, name: str, now: datetime) -> int:
    """Which of the tables of a kind is a thing's, from 0.

    Raises:
        UnknownNameError: none is.
        LivefoodError: it is not a day, or one on which nobody is away.
    """
    if thing == "away":
        return _absence_on(text, name, now)
    names = names_in(text, thing)
    if plain(name) not in names:
        raise UnknownNameError(thing, name, names)
    return names.index(plain(name))


def _absence_on(text: str, named: str, now: datetime) -> int:
    """Which of the absences a day is in."""
    try:
        day = date.fromisoformat(str(_literal("DAY", KEYS["away"]["from"], named, now)))
    except ValueError:
        raise RangeError(f"'{named}' is no day of an absence; say one, like 2027-01-31") from None
    absences = _tables(text, "away")
    for index, row in enumerate(absences):
        first, last = date_of(row.get("from")), date_of(row.get("to"))
        if first is not None and last is not None and first <= day <= last:
            return index
    spans = [f"{row.get('from')} to {row.get('to')}" for row in absences]
    known = f"absences: {', '.join(spans)}" if spans else "the file has no absence"
    raise RangeError(f"nobody is away on {day}; {known}")


def _rows(keys: Mapping[str, Key], typed: Typed, now: datetime) -> dict[str, str | None]:
    """Keys as the file calls them, in the order in which it explains them, with their literals."""
    found: dict[str, str | None] = {}
    for word, value in typed.items():
        key = key_meant(word, keys)
        if isinstance(called := keys.get(key), Called) and value.strip()[:1].isdigit():
            key = called.amount
        if key in found:
            raise RangeError(f"{key} is said twice")
        found[key] = _literal(key, keys.get(key), with_unit(word, value), now)
    order = [*keys, *found]
    return {key: found[key] for key in sorted(found, key=order.index)}


def _literal(key: str, reads: Key | None, value: str, now: datetime) -> str | None:
    try:
        return literal(reads, value, now) if value.strip() else None
    except UnitError as error:
        raise UnitError(f"{key}: {error}") from None


def _with_stock(text: str, name: str, typed: Typed, now: datetime, *, new: bool) -> str:
    if name not in STOCKS:
        raise UnknownNameError("stock", name, STOCKS)
    of_other = {"grams": ("supplies", f"{name}_g"), "days": ("supplies", f"{name}_days")}
    places = _OF_CYSTS if name == "cysts" else of_other
    if name == "starter":
        del of_other["grams"]
    data = _data(text)
    stated = any(key in data.get(table, {}) for table, key in places.values())
    if stated is new:
        does = "is in the file already: livefood change" if new else "is not in it: livefood add"
        raise RangeError(f"stock {name} {does} stock {name}")
    found: dict[str, dict[str, str | None]] = {}
    for word, value in typed.items():
        meant = key_meant(word, places)
        if meant not in places:
            raise RangeError(f"stock {name} {word}: unknown key; {nearest(word, places)}")
        table, key = places[meant]
        value = with_unit(word, value)
        found.setdefault(table, {})[key] = _literal(meant, KEYS[table][key], value, now)
    for table, rows in found.items():
        text = with_keys(text, table, 0, rows) if table in data else with_table(text, table, rows)
    return text


def _tables(text: str, thing: str) -> list[Mapping[str, Any]]:
    rows = _data(text).get(thing, [])
    return rows if isinstance(rows, list) else [rows]


def _data(text: str) -> dict[str, Any]:
    return tomllib.loads(text.removeprefix("\ufeff"))
