"""What is wrong with a journal or a record, and how it is mended: told first, done when asked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, tzinfo
from pathlib import Path

from attrs import frozen

from cultures import files
from cultures.errors import BadFileError, FileProblemError
from cultures.journal.entries import journal_of, journal_path, row_of, undo_of
from cultures.journal.file import HEADER, as_lines, read_rows
from cultures.record.store import damaged_lines, record_path

#: What a file was before it was mended is kept under its name with this.
COPY_SUFFIX = ".before-repair"


@frozen
class Mend:
    """How one file is mended.

    Attributes:
        steps: in words, one for each thing. data: the whole file as it then is.
    """

    path: Path
    steps: tuple[str, ...]
    data: bytes


def mends_of(room_path: Path, zone: tzinfo, now: datetime) -> list[Mend]:
    """What is to be mended in the journal and the record of a room; nothing is changed.

    Raises:
        FileProblemError: a file cannot be read.
        BadFileError: the journal is no journal.
    """
    found = []
    journal, record = journal_path(room_path), record_path(room_path)
    if raw := files.read(journal):
        data, steps = _journal(journal, raw, zone, now)
        found.append(Mend(journal, tuple(steps), data))
    if raw := files.read(record):
        bad = set(damaged_lines(raw, zone))
        lines = raw.split(b"\n")
        kept = [line for number, line in enumerate(lines, 1) if number not in bad]
        data = b"\n".join(kept)
        data += b"\n" if data and not data.endswith(b"\n") else b""
        said = [f"line {number}: cannot be read; stays in the copy alone" for number in sorted(bad)]
        found.append(Mend(record, tuple(said), data))
    return [mend for mend in found if mend.steps]


def carry_out(mends: Sequence[Mend]) -> list[Path]:
    """Mends files, each after a copy of it was kept; the copies.

    Raises:
        FileProblemError: something cannot be written; a file is as it was, or mended with its copy.
    """
    copies = []
    for mend in mends:
        before = files.read(mend.path)
        if before is None:
            raise FileProblemError(f"{mend.path} is gone")
        copy = mend.path.with_name(mend.path.name + COPY_SUFFIX)
        number = 1
        while copy.exists():
            number += 1
            copy = mend.path.with_name(f"{mend.path.name}{COPY_SUFFIX}{number}")
        files.replace(copy, before)
        files.replace(mend.path, mend.data)
        copies.append(copy)
    return copies


def _journal(path: Path, raw: bytes, zone: tzinfo, now: datetime) -> tuple[bytes, list[str]]:
    """A journal with bad lines taken back, none of them deleted: line numbers stay as they were."""
    data, steps = _as_utf8(raw)
    try:
        read_rows(path, data)
    except BadFileError:
        data = _with_head(path, data, zone)
        steps.append(f"line 1: the first line is missing; {','.join(HEADER)} is put there")
    found = read_rows(path, data)
    journal = journal_of(path, data, zone)
    whole, tail = files.whole_lines(data)
    if journal.torn:
        steps.append(f"its end is torn and stays in the copy alone: '{journal.torn}'")
        data = whole or as_lines([HEADER], found)
    elif tail.strip(b"\x00 \r\n"):
        data += found.end.encode()
    bad = journal.standing_bad()
    steps += [f"line {x.line}: {x.problem.message}; taken back with an undo" for x in bad]
    return data + as_lines([row_of(undo_of(line, now)) for line in bad], found), steps


def _as_utf8(raw: bytes) -> tuple[bytes, list[str]]:
    """A text that a spreadsheet saved in another encoding, as UTF-8."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", "replace").encode(), ["it is UTF-16; written as UTF-8"]
    lines, other = raw.split(b"\n"), []
    for number, line in enumerate(lines):
        try:
            line.decode("utf-8")
        except UnicodeDecodeError:
            lines[number] = line.decode("cp1252", "replace").encode()
            other.append(f"line {number + 1}: is not UTF-8; read as Windows-1252")
    return b"\n".join(lines), other


def _with_head(path: Path, data: bytes, zone: tzinfo) -> bytes:
    """A journal with its first line again.

    Raises:
        BadFileError: none of its lines would be an entry.
    """
    for delimiter in ",;\t":
        headed = delimiter.join(HEADER).encode() + b"\n" + data.removeprefix(b"\xef\xbb\xbf")
        if journal_of(path, headed, zone).entries:
            return headed
    read_rows(path, data)  # says what the first line must be
    return data
