"""Lines of the journal as they go into its file, which may be one that a spreadsheet wrote."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from pathlib import Path

from cultures import files
from cultures.errors import FileProblemError


def append_lines(
    path: Path, header: Sequence[str], rows_for: Callable[[bytes, bytes], Sequence[Sequence[str]]],
    is_complete: Callable[[bytes, bytes], bool],
) -> str:  # fmt: skip
    """Appends whole lines and returns once they are on the disk.

    Line ends and delimiter are those the file has already.

    Args:
        rows_for: the rows, from the whole lines of the file and what stands after them; none
            leave it as it is.
        is_complete: whether a last line without its end says everything all the same.

    Returns:
        The torn end that was set aside, or "".

    Raises:
        FileProblemError: it cannot be written; the file is as it was.
    """

    def compose(whole: bytes, tail: bytes) -> tuple[bytes, bool]:
        rows = rows_for(whole, tail)
        if not rows:
            return b"", True
        end = "\r\n" if b"\r\n" in whole else "\n"
        if not whole.strip():
            return _csv([header, *rows], ",", end), False
        first = _first_line(whole)
        delimiter = max(",;\t", key=first.count)
        if [c.strip().strip('"').lower() for c in first.split(delimiter)][:7] != list(header):
            raise FileProblemError(
                f"{path} does not begin with {','.join(header)}; is it a journal?"
                " Nothing was recorded"
            )
        keep = bool(tail) and is_complete(tail, whole)
        return (end.encode() if keep else b"") + _csv(rows, delimiter, end), keep

    return files.append(path, compose).decode("utf-8", "replace").replace("\x00", "")


def _first_line(whole: bytes) -> str:
    return whole.replace(b"\r", b"\n").split(b"\n", 1)[0].decode("utf-8-sig", "replace")


def _csv(rows: Sequence[Sequence[str]], delimiter: str, end: str) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter, lineterminator=end).writerows(rows)
    return text.getvalue().encode("utf-8")
