"""Lines of the journal as they stand in its file, which may be one that a spreadsheet wrote."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from cultures import files
from cultures.errors import BadFileError, Problem
from cultures.limits import most_bytes, too_many
from cultures.words.numbers import read_number

#: The first line.
HEADER = ("when", "event", "subject", "other", "amount", "unit", "note")
_DELIMITERS = ",;\t"
#: A spreadsheet takes a cell that begins so for a formula.
_FORMULA = re.compile(r"'*[=+\-@\uff1d\uff0b\uff0d\uff20]")
#: Where a cell may begin with the mark that keeps it from that.
_MARKED = re.compile(r"[,;\t\"\r\n]'")


class Row(NamedTuple):
    """A line of the file; ``wrong``: why its cells could not be told apart."""

    line: int
    cells: list[str]
    wrong: str = ""


class Rows(NamedTuple):
    """A journal's lines after the first.

    Attributes:
        delimiter: between its cells. end: of its lines. torn: a last line without its end, and
            ``last``: its cells. headed: the first line is there.
    """

    rows: list[Row]
    delimiter: str = ","
    end: str = "\n"
    torn: str = ""
    last: Row | None = None
    headed: bool = False


def read_rows(path: Path, data: bytes) -> Rows:
    """The lines of a journal, read alike for what is noted and for what is appended.

    Raises:
        BadFileError: the first line is not that of a journal.
    """
    whole, tail = files.whole_lines(data)
    text, torn = _text(whole), _text(tail)
    delimiter, found = rows_of(text)
    end = "\r\n" if b"\r\n" in whole else "\n"
    if not found:
        begun = torn.strip(" \x00")
        if not ",".join(HEADER).startswith(begun):
            raise _not_headed(path, len(_lines(text)))
        return Rows([], end=end, torn=torn, headed=begun == ",".join(HEADER))
    head, *rows = found
    if tuple(cell.strip().lower() for cell in head.cells[: len(HEADER)]) != HEADER:
        raise _not_headed(path, head.line)
    _refuse_long(path, len(rows))
    last = next(_row_by_row([torn], delimiter, len(_lines(text))), None) if torn else None
    return Rows(rows, delimiter, end, torn, last, headed=True)


def _refuse_long(path: Path, count: int) -> None:
    if (wrong := too_many("journal_lines", count, "lines")) is not None:
        raise BadFileError([Problem(str(path), count + 1, "", wrong)])


def _not_headed(path: Path, line: int) -> BadFileError:
    return BadFileError(
        [Problem(str(path), line, "", f"the first line must be {','.join(HEADER)}")]
    )


def _text(data: bytes) -> str:
    """A line that is not UTF-8 keeps its place, and is refused by what it then holds."""
    return data.removeprefix(b"\xef\xbb\xbf").decode("utf-8", "surrogateescape")


def _lines(text: str) -> list[str]:
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def rows_of(text: str) -> tuple[str, list[Row]]:
    """The delimiter of a table, and its lines that are not blank, the first one among them."""
    first = text.lstrip()[:2000].replace("\r", "\n").split("\n", 1)[0]
    delimiter = max(_DELIMITERS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        found = [
            Row(reader.line_num, cells)
            for cells in reader
            if cells and (cells[0].strip() or "".join(cells).strip())
        ]
    except csv.Error:  # the quotes of one line, which must not swallow the next ones
        return delimiter, list(_row_by_row(_lines(text), delimiter, 1))
    if _MARKED.search(text):
        for row in found:
            row.cells[:] = map(read_cell, row.cells)
    return delimiter, found


def _row_by_row(lines: Sequence[str], delimiter: str, first: int) -> Iterator[Row]:
    for number, line in enumerate(lines, start=first):
        if not line.strip(" \x00"):
            continue
        try:
            (cells,) = csv.reader([line], delimiter=delimiter, strict=True)
            yield Row(number, [read_cell(cell) for cell in cells])
        except csv.Error as error:
            wrong = f"is not CSV ({error}); check its quotes"
            yield Row(number, line.split(delimiter), wrong)


def read_cell(cell: str) -> str:
    """A cell as it was meant: without the mark that keeps a spreadsheet from computing it."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def read_amount(cell: str, *, decimal_comma: bool) -> float:
    """The number of a cell.

    Raises:
        ValueError: it is none.
    """
    try:
        return read_number(cell.replace(",", ".") if decimal_comma else cell)
    except ValueError as error:
        raise ValueError(f"the amount {error}") from None


def safe_cell(cell: str) -> str:
    """A cell of words that no spreadsheet takes for a formula; `read_cell` gives it back.

    Examples:
        >>> safe_cell("=1+1"), read_cell(safe_cell("=1+1"))
        ("'=1+1", '=1+1')
    """
    return f"'{cell}" if _FORMULA.match(cell) else cell


def append_rows(
    path: Path, rows: Sequence[Sequence[str]], is_complete: Callable[[Rows], bool]
) -> str:
    """Appends whole lines and returns once they are on the disk.

    Line ends and delimiter are those the file has already.

    Args:
        is_complete: whether a last line without its end says everything all the same.

    Returns:
        The torn end that was set aside, or "".

    Raises:
        BadFileError: the first line is not that of a journal. FileProblemError: it cannot be
            written. The file is as it was.
    """

    def compose(whole: bytes, tail: bytes) -> tuple[bytes, bool]:
        found = read_rows(path, whole + tail)
        _refuse_long(path, len(found.rows) + len(rows))
        keep = bool(tail) and found.headed and (not whole.strip() or is_complete(found))
        new = [*rows] if found.headed else [HEADER, *rows]
        return (found.end.encode() if keep else b"") + as_lines(new, found), keep

    torn = files.append(path, compose, most_bytes=most_bytes("journal"))
    return torn.decode("utf-8", "replace").replace("\x00", "")


def as_lines(rows: Sequence[Sequence[str]], found: Rows) -> bytes:
    """Rows in the manner of a file."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=found.delimiter, lineterminator=found.end).writerows(rows)
    return text.getvalue().encode("utf-8")
