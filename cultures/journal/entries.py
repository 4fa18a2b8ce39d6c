"""The journal: what was really done and counted, only ever appended to, never lost.

A line counts as recorded once :func:`append` has returned: it is then whole in the file and
the file is on the disk. A line torn by a power cut is set aside and reported, not dropped; a
line that cannot be understood is an error with its number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, tzinfo
from itertools import chain, islice
from pathlib import Path
from typing import NamedTuple

from attrs import field, frozen

from cultures import files
from cultures.errors import BadFileError, Problem
from cultures.journal.events import EVENTS, check_entry, named, usual_unit
from cultures.journal.events import Entry as Entry
from cultures.journal.file import (
    HEADER,
    Row,
    Rows,
    append_rows,
    read_amount,
    read_cell,
    read_rows,
    safe_cell,
)
from cultures.limits import most_bytes
from cultures.words.moments import in_zone
from cultures.words.text import plain, seen, short

#: The file beside the room file.
JOURNAL_NAME = "journal.csv"


class BadLine(NamedTuple):
    """A line that cannot be understood; ``says``: by what an undo names it."""

    line: int
    says: str
    problem: Problem


@frozen
class Journal:
    """A journal as it was read.

    Attributes:
        entries: all lines in the order of the file, undone ones and undos among them.
        torn: the torn end of the file, or "". bad: lines that cannot be understood.
    """

    path: Path
    entries: tuple[Entry, ...] = field(repr=False)
    torn: str = ""
    bad: tuple[BadLine, ...] = ()

    def standing_bad(self) -> list[BadLine]:
        """Lines that cannot be understood and were not taken back."""
        undone = self.undone() if self.bad else ()
        return [line for line in self.bad if line.line not in undone]

    def effective(self) -> list[Entry]:
        """Entries that stand, by time and then by line: undone ones and undos left out."""
        undone = self.undone()
        kept = (e for e in self.entries if e.event != "undo" and e.line not in undone)
        return sorted(kept, key=lambda e: e.when)

    def undone(self) -> frozenset[int]:
        """Numbers of the lines that an undo took back; an undo can itself be undone."""
        undone: set[int] = set()
        for entry in reversed([e for e in self.entries if e.event == "undo"]):
            if entry.line not in undone:
                undone.add(int(entry.subject))
        return frozenset(undone)

    def takings_back(self) -> list[Entry]:
        """The undos that stand."""
        undone = self.undone()
        return [e for e in self.entries if e.event == "undo" and e.line not in undone]

    @property
    def last_line(self) -> int:
        """The number of the line noted last, an undo or one taken back too; 0 where none is."""
        return max((e.line for e in self.entries), default=0)

    def at_line(self, line: int) -> Entry | BadLine | None:
        """What stands on a line, or None."""
        return next(
            (e for e in chain[Entry | BadLine](self.entries, self.bad) if e.line == line), None
        )

    def last(self) -> Entry | BadLine | None:
        """The line recorded last that still stands, as ``undo`` would take it."""
        undone = self.undone()
        good = (e for e in reversed(self.entries) if e.line not in undone and e.event != "undo")
        ends: list[Entry | BadLine] = [*islice(good, 1), *self.standing_bad()[-1:]]
        return max(ends, key=lambda e: e.line, default=None)


def journal_path(room_path: Path) -> Path:
    """The journal that belongs to a room file."""
    return room_path.with_name(JOURNAL_NAME)


def read_journal(path: Path, zone: tzinfo, *, strict: bool = True) -> Journal:
    """Reads a journal; a missing file is an empty one.

    Byte-order marks, foreign line endings, and the semicolons and decimal commas that
    spreadsheets write in some countries are understood.

    Args:
        zone: of times without an offset. strict: refuse lines that cannot be understood; else
            they are kept in ``Journal.bad``, so that they can be taken back.

    Raises:
        FileProblemError: it cannot be read.
        BadFileError: lines that cannot be understood, all at once, each with its number; or the
            first line is not that of a journal.
    """
    journal = journal_of(path, files.read(path, most_bytes("journal")) or b"", zone)
    if strict and (standing := journal.standing_bad()):
        raise BadFileError(
            [line.problem for line in standing],
            "Mend them in the file, or take one back: livefood journal undo --line NUMBER",
        )
    return journal


def journal_of(path: Path, data: bytes, zone: tzinfo) -> Journal:
    """The journal of a file's bytes, with the lines that cannot be understood.

    Raises:
        BadFileError: the first line is not that of a journal.
    """
    found = read_rows(path, data)
    comma = found.delimiter != ","
    entries: list[Entry] = []
    bad: list[BadLine] = []
    add = entries.append
    for row in found.rows:
        try:
            add(_entry(row, zone, decimal_comma=comma))
        except ValueError as error:
            bad.append(_bad_line(path, row, str(error)))
    last = _last_entry(found, zone)
    if last is not None:
        add(last)
    torn = "" if last is not None else found.torn.strip("\x00 \r\n")
    good, wrong = _checked_undos(path, entries, bad)
    return Journal(path, tuple(good), torn and short(torn), tuple(wrong))


def _last_entry(found: Rows, zone: tzinfo) -> Entry | None:
    """The entry of a last line without its line end, if that says everything all the same."""
    row = found.last
    if row is None or len(row.cells) < len(HEADER) or "\x00" in found.torn:
        return None
    try:
        return _entry(row, zone, decimal_comma=found.delimiter != ",")
    except ValueError:
        return None


def _bad_line(path: Path, row: Row, wrong: str) -> BadLine:
    if any("\ud800" <= c <= "\udfff" for cell in row.cells for c in cell):
        wrong = "is not UTF-8 text; save it as UTF-8"
    said = row.cells[1:3] if len(row.cells) > 2 else row.cells
    return BadLine(
        row.line, plain(short(" ".join(said))) or "?", Problem(str(path), row.line, "", seen(wrong))
    )


def _entry(row: Row, zone: tzinfo, *, decimal_comma: bool) -> Entry:
    """One line as an entry.

    Raises:
        ValueError: what is wrong with it, in plain words.
    """
    if row.wrong:
        raise ValueError(row.wrong)
    cells = row.cells
    width = len(cells)
    if width < 6 or any(cell.strip() for cell in cells[7:]):
        raise ValueError(
            f"has {width} column{'' if width == 1 else 's'} where the {len(HEADER)}"
            f" {','.join(HEADER)} are meant; complete the line or delete it"
        )
    try:
        when = datetime.fromisoformat(cells[0].strip())
    except ValueError:
        raise ValueError(f"'{short(cells[0])}' is not a time like 2027-01-05T07:30") from None
    if when.tzinfo is None:
        when = in_zone(when, zone)
    text = cells[4].strip()
    amount = read_amount(text, decimal_comma=decimal_comma) if text else None
    note = cells[6] if width > 6 else ""
    if not note.isprintable():
        note = " ".join(note.splitlines())
    event, unit = cells[1].strip(), cells[5].strip()
    spec = EVENTS.get(event)
    if spec is not None and amount is not None and unit not in spec.units:
        amount, unit = usual_unit(spec, amount, unit)
    entry = Entry(when, event, plain(cells[2]), plain(cells[3]), amount, unit, note, row.line)
    check_entry(entry)
    return entry


def says(line: Entry | BadLine) -> str:
    """Event and subject, by which an undo names the line it takes back."""
    return line.says if isinstance(line, BadLine) else f"{line.event} {line.subject}"


def _checked_undos(
    path: Path, entries: Sequence[Entry], bad: Sequence[BadLine]
) -> tuple[Sequence[Entry], list[BadLine]]:
    """Entries, and bad lines with the undos that name no earlier line, or another than it is."""
    if not any(e.event == "undo" for e in entries):
        return entries, list(bad)
    known = {line.line: line for line in chain[Entry | BadLine](entries, bad)}
    good, wrong = [], list(bad)
    for entry in entries:
        message = _wrong_undo(entry, known) if entry.event == "undo" else ""
        if message:
            problem = Problem(str(path), entry.line, "undo", message)
            wrong.append(BadLine(entry.line, says(entry), problem))
        else:
            good.append(entry)
    return good, sorted(wrong, key=lambda line: line.line)


def _wrong_undo(undo: Entry, known: Mapping[int, Entry | BadLine]) -> str:
    target = known.get(int(undo.subject))
    if target is None or target.line >= undo.line:
        return f"line {undo.subject} is not an entry before it"
    said = says(target)
    moved = f"line {undo.subject} says '{said}', not '{undo.other}'; were lines moved?"
    return "" if said == undo.other else moved


def undo_of(line: Entry | BadLine, when: datetime) -> Entry:
    """The entry that takes a line back."""
    return Entry(when, "undo", str(line.line), says(line))


def append(path: Path, entries: Iterable[Entry]) -> str:
    """Records entries at the end of a journal, all or none.

    Returns:
        The torn end that an earlier power cut left and that was set aside, or "".

    Raises:
        RangeError: an entry that says something impossible; nothing is recorded.
        FileProblemError: it cannot be written; nothing is recorded.
    """
    rows = [row_of(entry) for entry in entries]
    return append_rows(path, rows, lambda found: _last_entry(found, UTC) is not None)


def row_of(entry: Entry) -> list[str]:
    """The cells of an entry.

    Raises:
        RangeError: it says something impossible.
    """
    check_entry(entry)
    entry = named(entry)
    check_entry(entry)
    when = entry.when.isoformat(timespec="seconds")
    amount = "" if entry.amount is None else _number(entry.amount)
    words = map(safe_cell, (entry.subject, entry.other))
    return [when, entry.event, *words, amount, entry.unit, safe_cell(entry.note)]


def entry_of(cells: Sequence[str], zone: tzinfo) -> Entry:
    """The entry of such cells, with line 0.

    Raises:
        ValueError: they are none.
    """
    return _entry(Row(0, [read_cell(cell) for cell in cells]), zone, decimal_comma=False)


def _number(value: float) -> str:
    """A number as it reads back exactly, whole numbers without a point."""
    return str(int(value)) if value == int(value) else repr(float(value))
