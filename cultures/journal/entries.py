"""The journal: what was really done and counted, only ever appended to, never lost.

A line counts as recorded once :func:`append` has returned: it is then whole in the file and
the file is on the disk. A line torn by a power cut is set aside and reported, not dropped; a
line that cannot be understood is an error with its number.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import NamedTuple

from attrs import field, frozen

from cultures import files
from cultures.errors import BadFileError, Problem, RangeError, decoded, nearest
from cultures.journal.file import append_lines

#: The file beside the room file, and its first line.
JOURNAL_NAME = "journal.csv"
HEADER = ("when", "event", "subject", "other", "amount", "unit", "note")
_DELIMITERS = ",;\t"
_LONGEST = 300
_FIRST_YEAR, _LAST_YEAR = 1990, 2199


@frozen
class EventSpec:
    """What a line of one event must look like.

    Attributes:
        means: one plain sentence. units: units that its amount may have; empty when it takes
            no amount. needs_amount, needs_other: the column must be filled.
        other: what the column ``other`` holds. low: least amount. words: the note is what it
            says.
    """

    means: str
    units: tuple[str, ...] = ()
    needs_amount: bool = False
    needs_other: bool = False
    other: str = ""
    low: float = 0.0
    words: bool = False


EVENTS: dict[str, EventSpec] = {
    "split": EventSpec(
        "a starter of one culture went into new medium", ("g",), needs_other=True,
        other="name of the new culture",
    ),
    "start": EventSpec(
        "a culture was started from a bought starter", ("g",), needs_other=True, other="its kind"
    ),
    "discard": EventSpec("a culture was thrown out", other="'crashed' if it failed"),
    "harvest": EventSpec(
        "worms were taken from a culture, or a vessel was drawn off",
        ("swipes", "draws", "mL", "mg", "nauplii"),
        other="'all' if nothing more climbed, or 'instead of' and what was told",
    ),
    "fed": EventSpec("a round was fed as it was told, with so much dry food", ("g",)),
    "skip": EventSpec(
        "a task that was told was not done", needs_other=True, other="the id of the task"
    ),
    "failed": EventSpec("a hatch gave nothing, or a culture crashed"),
    "note": EventSpec("a few words on anything", words=True),
    "leftover": EventSpec(
        "what a brood left of its food", needs_other=True, other="none, some or much"
    ),
    "set": EventSpec("cysts were set in a vessel", ("g",), needs_amount=True),
    "hatched": EventSpec(
        "a vessel was drawn off and its nauplii counted", ("nauplii",), needs_amount=True,
        other="the drops behind the count",
    ),
    "spawn": EventSpec("fish spawned: a brood begins", ("fry",), other="tank and fry class"),
    "free_swimming": EventSpec("the fry of a brood swim", ("fry",)),
    "collected": EventSpec(
        "eggs were put aside in damp peat", ("fry",), other="tank and fry class of a new brood"
    ),
    "wetted": EventSpec(
        "eggs out of the peat were put in water, or will be", ("fry",),
        other="the day, if not that of the entry",
    ),
    "planned": EventSpec(
        "a spawning is planned", ("fry",), needs_other=True, other="tank, fry class and day"
    ),
    "count": EventSpec(
        "fry of a brood, nauplii in a vessel that goes on, worms in a swipe or on a tray were"
        " counted, or a stock was weighed",
        ("fry", "nauplii", "worms", "mg", "g"), needs_amount=True,
        other="the drops behind the count, 'swipe' or 'tray'",
    ),
    "length": EventSpec(
        "fry were measured", ("mm",), needs_amount=True, other="how many fish", low=0.5
    ),
    "move": EventSpec(
        "a brood, or so many of it, moved", ("fry",), needs_other=True, other="the tank"
    ),
    "lost": EventSpec("fry died, were sold or left", ("fry",), other="'all' for the whole brood"),
    "temperature": EventSpec(
        "a culture, vessel, tank or the room stands at a temperature from now on", ("C",),
        needs_amount=True, low=-20.0,
    ),
    "bought": EventSpec(
        "cysts, salt, dry food, medium or a starter were bought", ("g",), needs_amount=True
    ),
    "used": EventSpec("some of a stock was used up besides", ("g",), needs_amount=True),
    "learn": EventSpec("learning was turned off or on", needs_other=True, other="'off' or 'on'"),
    "undo": EventSpec("a line was a mistake", needs_other=True, other="what that line says"),
}  # fmt: skip


#: How much of its food a brood may leave.
LEFTOVERS = ("none", "some", "much")
#: Other spellings of units that people write into a spreadsheet.
UNIT_ALIASES = {
    "swipe": "swipes", "draw": "draws", "ml": "mL", "gram": "g", "grams": "g", "c": "C",
    "°c": "C", "nauplius": "nauplii", "worm": "worms", "fish": "fry",
}  # fmt: skip


class Entry(NamedTuple):
    """One line; a plain tuple because a journal may hold a hundred thousand.

    ``when`` is aware. ``line`` is its number in the file, 0 before it is recorded.
    """

    when: datetime
    event: str
    subject: str
    other: str = ""
    amount: float | None = None
    unit: str = ""
    note: str = ""
    line: int = 0


@frozen
class Journal:
    """A journal as it was read.

    Attributes:
        entries: all lines in the order of the file, undone ones and undos among them.
        torn: the torn end of the file, or "".
    """

    path: Path
    entries: tuple[Entry, ...] = field(repr=False)
    torn: str = ""

    def effective(self) -> list[Entry]:
        """Entries that stand, by time and then by line: undone ones and undos left out."""
        undone = self.undone()
        kept = [e for e in self.entries if e.event != "undo" and e.line not in undone]
        kept.sort(key=lambda e: e.when)
        return kept

    def undone(self) -> frozenset[int]:
        """Numbers of the lines that an undo took back; an undo can itself be undone."""
        undone: set[int] = set()
        for entry in reversed([e for e in self.entries if e.event == "undo"]):
            if entry.line not in undone:
                undone.add(int(entry.subject))
        return frozenset(undone)

    def at_line(self, line: int) -> Entry | None:
        """The entry of a line, or None."""
        return next((e for e in self.entries if e.line == line), None)

    def last(self) -> Entry | None:
        """The line recorded last that still stands, as ``undo`` would take it."""
        undone = self.undone()
        return next(
            (e for e in reversed(self.entries) if e.line not in undone and e.event != "undo"), None
        )


def journal_path(room_path: Path) -> Path:
    """The journal that belongs to a room file."""
    return room_path.with_name(JOURNAL_NAME)


def read_journal(path: Path, zone: tzinfo) -> Journal:
    """Reads a journal; a missing file is an empty one.

    Byte-order marks, foreign line endings, and the semicolons and decimal commas that
    spreadsheets write in some countries are understood.

    Args:
        zone: of times without an offset.

    Raises:
        FileProblemError: it cannot be read.
        BadFileError: lines that cannot be understood, all at once, each with its number.
    """
    return _journal(path, zone, *files.whole_lines(files.read(path) or b""))


def _journal(path: Path, zone: tzinfo, whole: bytes, tail: bytes) -> Journal:
    text = decoded(path, whole)
    entries = _entries(path, text, zone)
    torn = ""
    if tail.strip(b"\x00 \r\n"):
        last = _complete(path, tail, whole, zone)
        if last is None:
            torn = tail.decode("utf-8", "replace").replace("\x00", "")
        else:
            entries.append(last)
    journal = Journal(path, tuple(entries), torn)
    _check_undos(journal)
    return journal


def is_complete(tail: bytes, whole: bytes) -> bool:
    """Whether a last line without its line end says everything all the same."""
    return _complete(Path(JOURNAL_NAME), tail, whole, UTC) is not None


def _complete(path: Path, tail: bytes, whole: bytes, zone: tzinfo) -> Entry | None:
    try:
        header = decoded(path, whole.split(b"\n", 1)[0].split(b"\r", 1)[0]).strip()
        text = tail.decode("utf-8")
        delimiter = _delimiter(header)
        (row,) = csv.reader([text], delimiter=delimiter, strict=True)
        if not whole or len(row) < len(HEADER) or "\x00" in text:
            return None
        return _entry(row, whole.count(b"\n") + 1, zone, decimal_comma=delimiter != ",")
    except (ValueError, csv.Error, BadFileError):
        return None


def _delimiter(header: str) -> str:
    return max(_DELIMITERS, key=header.count)


def _entries(path: Path, text: str, zone: tzinfo) -> list[Entry]:
    if not text.strip():
        return []
    delimiter = _delimiter(text[:200].splitlines()[0])
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    entries: list[Entry] = []
    problems: list[Problem] = []
    head, comma = False, delimiter != ","
    add = entries.append
    try:
        for row in reader:
            if not row or (not row[0] and not "".join(row).strip()):
                continue
            if not head:
                head = True
                if tuple(cell.strip().lower() for cell in row[: len(HEADER)]) != HEADER:
                    raise BadFileError(
                        [Problem(str(path), reader.line_num, "",
                                 f"the first line must be {','.join(HEADER)}")]
                    )  # fmt: skip
                continue
            try:
                add(_entry(row, reader.line_num, zone, decimal_comma=comma))
            except ValueError as error:
                problems.append(Problem(str(path), reader.line_num, "", str(error)))
    except csv.Error as error:
        problems.append(
            Problem(str(path), reader.line_num, "", f"is not CSV ({error}); check its quotes")
        )
    if problems:
        raise BadFileError(problems)
    return entries


def _entry(row: Sequence[str], line: int, zone: tzinfo, *, decimal_comma: bool) -> Entry:
    """One line as an entry.

    Raises:
        ValueError: what is wrong with it, in plain words.
    """
    width = len(row)
    if width != 7 and (width < 6 or any(cell.strip() for cell in row[7:])):
        raise ValueError(
            f"has {len(row)} column{'' if len(row) == 1 else 's'} where the {len(HEADER)}"
            f" {','.join(HEADER)} are meant; complete the line or delete it"
        )
    try:
        when = datetime.fromisoformat(row[0].strip())
    except ValueError:
        raise ValueError(f"'{row[0]}' is not a time like 2027-01-05T07:30") from None
    if not _FIRST_YEAR <= when.year <= _LAST_YEAR:
        raise ValueError(f"'{row[0]}': is the year right?")
    if when.tzinfo is None:
        when = when.replace(tzinfo=zone)
    amount: float | None = None
    if row[4] and row[4].strip():
        try:
            amount = float(row[4].replace(",", ".") if decimal_comma else row[4])
        except ValueError:
            raise ValueError(f"the amount '{row[4]}' is not a number") from None
    note = row[6] if width > 6 else ""
    event, unit = row[1].strip(), row[5].strip()
    spec = EVENTS.get(event)
    if spec is not None and amount is not None and unit not in spec.units:
        amount, unit = usual_unit(spec, amount, unit)
    entry = Entry(when, event, row[2].strip(), row[3].strip(), amount, unit, note, line)
    check_entry(entry)
    return entry


def usual_unit(spec: EventSpec, amount: float, unit: str) -> tuple[float, str]:
    """An amount in a unit of its event: another spelling, none at all, or °F."""
    if not unit and len(spec.units) == 1:
        return amount, spec.units[0]
    if spec.units == ("C",) and unit.lower().lstrip("°") == "f":
        return (amount - 32.0) * 5.0 / 9.0, "C"
    return amount, UNIT_ALIASES.get(unit.lower(), unit)


def check_entry(entry: Entry) -> None:
    """Checks one entry by itself.

    Raises:
        RangeError: what is wrong with it, in plain words (a ValueError too).
    """
    spec = EVENTS.get(entry.event)
    if spec is None:
        raise RangeError(f"there is no event '{entry.event}'; {nearest(entry.event, EVENTS)}")
    if not entry.subject:
        raise RangeError(f"{entry.event} needs a subject")
    if spec.needs_other and not entry.other:
        raise RangeError(f"{entry.event} needs {spec.other} in the column 'other'")
    if entry.amount is None:
        if spec.needs_amount:
            raise RangeError(f"{entry.event} needs an amount (in {' or '.join(spec.units)})")
    else:
        if entry.unit not in spec.units and (entry.unit or len(spec.units) < 2):
            allowed = f"use {' or '.join(spec.units)}" if spec.units else "it takes no amount"
            raise RangeError(f"{entry.event}: the unit '{entry.unit}' does not fit; {allowed}")
        if not (math.isfinite(entry.amount) and spec.low <= entry.amount <= 1e12):
            raise RangeError(
                f"{entry.event}: {entry.amount:g} {entry.unit} is not possible;"
                f" use {spec.low:g} or more"
            )
    if spec.words and not entry.note.strip():
        raise RangeError(f"{entry.event} needs its words in the column 'note'")
    if entry.event == "leftover" and entry.other not in LEFTOVERS:
        raise RangeError(f"leftover is {', '.join(LEFTOVERS[:-1])} or {LEFTOVERS[-1]}")
    if entry.event == "undo" and not entry.subject.isdigit():
        raise RangeError(f"undo needs the number of a line, not '{entry.subject}'")
    if entry.event == "learn" and entry.other not in ("off", "on"):
        raise RangeError("learn needs 'off' or 'on' in the column 'other'")


def says(entry: Entry) -> str:
    """Event and subject, by which an undo names the line it takes back."""
    return f"{entry.event} {entry.subject}"


def _check_undos(journal: Journal) -> None:
    """An undo must name an earlier line that says what the undo says it does."""
    undos = [e for e in journal.entries if e.event == "undo"]
    if not undos:
        return
    by_line = {e.line: e for e in journal.entries}
    problems = []
    for entry in undos:
        target = by_line.get(int(entry.subject))
        if target is None or target.line >= entry.line:
            problems.append(
                Problem(str(journal.path), entry.line, "undo",
                        f"line {entry.subject} is not an entry before it")
            )  # fmt: skip
        elif says(target) != entry.other:
            problems.append(
                Problem(str(journal.path), entry.line, "undo",
                        f"line {entry.subject} says '{says(target)}', not '{entry.other}';"
                        " were lines moved?")
            )  # fmt: skip
    if problems:
        raise BadFileError(problems)


def undo_of(entry: Entry, when: datetime) -> Entry:
    """The entry that takes another back."""
    return Entry(when, "undo", str(entry.line), says(entry))


def append(path: Path, entries: Iterable[Entry]) -> str:
    """Records entries at the end of a journal, all or none.

    Returns:
        The torn end that an earlier power cut left and that was set aside, or "".

    Raises:
        RangeError: an entry that says something impossible; nothing is recorded.
        FileProblemError: it cannot be written; nothing is recorded.
    """
    rows = _rows(entries)
    return append_lines(path, HEADER, lambda *_: rows, is_complete)


def append_made(
    path: Path, zone: tzinfo, make: Callable[[Journal], Iterable[Entry]]
) -> str:  # fmt: skip
    """Records what is made of a journal as it stands, while nobody else can write to it.

    Args:
        zone: of times without an offset. make: the entries; what it raises leaves all as it was.

    Returns:
        As `append`.

    Raises:
        RangeError, FileProblemError: as `append`. BadFileError: as `read_journal`.
    """
    return append_lines(
        path, HEADER, lambda *parts: _rows(make(_journal(path, zone, *parts))), is_complete
    )


def _rows(entries: Iterable[Entry]) -> list[list[str]]:
    return [row_of(entry) for entry in entries]


def _row(entry: Entry) -> list[str]:
    when = entry.when.isoformat(timespec="seconds")
    amount = "" if entry.amount is None else _number(entry.amount)
    row = [when, entry.event, entry.subject, entry.other, amount, entry.unit, entry.note]
    for cell in row:
        if len(cell) > _LONGEST or any(ord(c) < 32 for c in cell):
            raise RangeError(f"an entry is one line, at most {_LONGEST} characters a column")
    return row


def row_of(entry: Entry) -> list[str]:
    """An entry as the cells of its line.

    Raises:
        RangeError: as `append`.
    """
    check_entry(entry)
    return _row(entry)


def entry_of(row: Sequence[str], zone: tzinfo) -> Entry:
    """The entry of such cells, with line 0.

    Raises:
        ValueError: they are none.
    """
    return _entry(row, 0, zone, decimal_comma=False)


def _number(value: float) -> str:
    """A number as it reads back exactly, whole numbers without a point."""
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(float(value))
