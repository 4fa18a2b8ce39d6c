"""Entries from a spreadsheet's CSV: every row checked before one is recorded."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import datetime, tzinfo
from pathlib import Path

from cultures import files
from cultures.errors import BadFileError, FileProblemError, Problem, UnitError, decoded, nearest
from cultures.journal.events import EVENTS, Entry, EventSpec, check_entry, named, usual_unit
from cultures.journal.file import HEADER, read_amount, rows_of
from cultures.limits import most_bytes
from cultures.words.moments import in_zone, parse_moment
from cultures.words.text import short
from cultures.words.units import Dimension, parse_quantity

#: Columns that are understood, in any order; the first three must be there. ``date`` and
#: ``time`` may stand for ``when``.
COLUMNS = (*HEADER, "date", "time")
#: How days may be written, by the name of the style.
DATE_STYLES: Mapping[str, tuple[str, ...]] = {
    "iso": ("%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d"),
    "dmy": ("%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y"),
    "mdy": ("%m/%d/%Y", "%m.%d.%Y", "%m-%d-%Y"),
}
#: What the units of the journal measure.
_DIMENSIONS: Mapping[str, Dimension] = {"g": "mass", "mL": "volume", "mm": "length"}
_TIMES = ("%H:%M", "%H:%M:%S", "%I:%M %p")
_AMOUNT = re.compile(r"^\s*([+-]?[0-9.,]+)\s*([^0-9].*)?$")


def read_import(
    path: Path, zone: tzinfo, *, dates: str = "iso", now: datetime | None = None,
    meant: Callable[[Entry], Entry] = lambda entry: entry,
) -> list[Entry]:  # fmt: skip
    """The entries of a spreadsheet's CSV, in its own order; ``line`` is the row.

    Args:
        dates: how days are written, one of :data:`DATE_STYLES`. now: nothing may be later.
        meant: an entry under the names that the room has; a RangeError is a mistake of the row.

    Raises:
        FileProblemError: it cannot be read.
        BadFileError: rows that cannot be understood, all at once, each with its number.
    """
    raw = files.read(path, most_bytes("table"))
    if raw is None:
        raise FileProblemError(f"cannot read {path}: there is no such file")
    delimiter, rows = rows_of(decoded(path, raw))
    if not rows:
        raise BadFileError([Problem(str(path), 1, "", "is empty")])
    names = [cell.strip().lower() for cell in rows[0].cells]
    _check_header(path, names)
    entries, problems = [], []
    for row in rows[1:]:
        try:
            if row.wrong:
                raise ValueError(row.wrong)
            cells = {n: c.strip() for n, c in zip(names, row.cells, strict=False) if n}
            entry = meant(_entry(cells, row.line, zone, dates, delimiter))
            check_entry(entry)
            if now is not None and entry.when > now:
                raise ValueError(f"{entry.when:%Y-%m-%d %H:%M} lies in the future")
            entries.append(entry)
        except ValueError as error:
            problems.append(Problem(str(path), row.line, "", str(error)))
    if problems:
        raise BadFileError(problems)
    return entries


def _check_header(path: Path, names: Sequence[str]) -> None:
    wrong = [
        (name, f"unknown column; {nearest(name, COLUMNS)}")
        for name in names if name and name not in COLUMNS
    ]  # fmt: skip
    needed = (("'when' (or 'date')", ("when", "date")), ("'event'", ("event",)),
              ("'subject'", ("subject",)))  # fmt: skip
    wrong += [
        ("", f"a column {said} is missing") for said, ways in needed if not {*ways} & {*names}
    ]
    if wrong:
        raise BadFileError(Problem(str(path), 1, *each) for each in wrong)


def _entry(
    cells: Mapping[str, str], number: int, zone: tzinfo, dates: str, delimiter: str
) -> Entry:
    event = cells.get("event", "").lower().replace(" ", "_").replace("-", "_")
    if not event:
        raise ValueError("has no event")
    if event in ("undo", "learn"):
        raise ValueError(f"'{event}' cannot be imported")
    if event not in EVENTS:
        raise ValueError(f"there is no event '{short(cells['event'])}'; {nearest(event, EVENTS)}")
    amount, unit = _amount(cells.get("amount", ""), cells.get("unit", ""), delimiter)
    if amount is not None and unit not in EVENTS[event].units:
        amount, unit = _in_a_unit_of(EVENTS[event], amount, unit)
    note = " ".join(cells.get("note", "").splitlines())
    return named(Entry(
        _when(cells, zone, dates), event, cells.get("subject", ""), cells.get("other", ""),
        amount, unit, note, number,
    ))  # fmt: skip


def _in_a_unit_of(spec: EventSpec, amount: float, unit: str) -> tuple[float, str]:
    """An amount in a unit of its event, out of any other of the same dimension (kg, oz, inches)."""
    found, name = usual_unit(spec, amount, unit)
    for own in spec.units if unit else ():
        if name not in spec.units and own in _DIMENSIONS:
            with suppress(UnitError):
                return parse_quantity(f"{amount:.6f} {unit}", _DIMENSIONS[own], own.lower()), own
    return found, name


def _when(cells: Mapping[str, str], zone: tzinfo, dates: str) -> datetime:
    text = cells.get("when") or f"{cells.get('date', '')} {cells.get('time', '')}".strip()
    if not text:
        raise ValueError("has no time")
    found = _typed(text, dates)
    if found is None:
        example = {"iso": "2027-01-31 07:30", "dmy": "31/01/2027 07:30", "mdy": "01/31/2027 07:30"}
        raise ValueError(f"'{short(text)}' is not a time like {example[dates]} (see --dates)")
    return in_zone(found, zone)


def _typed(text: str, dates: str) -> datetime | None:
    """A time in a style of dates, None where it is in another."""
    if dates == "iso":
        with suppress(ValueError):
            return parse_moment(text)
    for day in DATE_STYLES[dates]:
        for clock in ("", *(f" {t}" for t in _TIMES)):
            with suppress(ValueError):
                return datetime.strptime(text, day + clock)  # noqa: DTZ007
    return None


def _amount(text: str, unit: str, delimiter: str) -> tuple[float | None, str]:
    if not text:
        return None, ""
    match = _AMOUNT.match(text)
    if match is None:
        raise ValueError(f"the amount '{short(text)}' is not a number")
    amount = read_amount(match[1], decimal_comma=delimiter != ",")
    return amount, unit or (match[2] or "").strip()


def new_entries(entries: Sequence[Entry], known: Sequence[Entry]) -> list[Entry]:
    """Entries that the journal does not hold yet, so that a file can be imported twice."""
    there = {entry._replace(line=0) for entry in known}
    return [entry for entry in entries if entry._replace(line=0) not in there]
