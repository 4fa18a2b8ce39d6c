"""Plan -> a calendar file, merged with what that file held before.

The folder is made if it is not there.

Beside ``jobs.ics`` stands ``.jobs.ics.livefood``, the notes: the records as published, and the
digests of the file as livefood wrote it last and the time before. A file that has neither digest
was edited by hand or is not ours, and is not overwritten unasked.

Where the notes are lost, or the file was renamed or came from another computer, the file itself
says what stands in it under which identity and number, and the next export goes on from that.

The notes are written first. Killed between the two writes, the file is still the one of the
older digest, and the next export goes on from the new notes: nothing is lost or counted twice.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Container, Iterable, Mapping
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Any
from uuid import UUID

from attrs import asdict, evolve, field, frozen

from calendars.entries import CalendarError, Entry
from calendars.ics import KEY, Header, calendar_bytes, resource_bytes
from calendars.ledger import Changes, Ledger, revise
from calendars.lint import check
from cultures import files

_VERSION = 1
#: How the file of one entry is called: its day, and the beginning of its UID.
_PART = re.compile(r"\d{4}-\d\d-\d\d-[0-9a-f]{8}\.ics")


@frozen
class Notes:
    """What is known of a published calendar.

    Attributes:
        digests: SHA-256 of the file as livefood wrote it, newest first, two at most.
        extra: what a channel keeps besides (a feed's address, a server's ETags).
    """

    ledger: Ledger = field(factory=Ledger)
    digests: tuple[str, ...] = ()
    extra: dict[str, Any] = field(factory=dict)

    def to_bytes(self) -> bytes:
        """As JSON, one record a line."""
        head = {"livefood": _VERSION, "digests": list(self.digests), "extra": self.extra}
        write = json.JSONEncoder(ensure_ascii=False, default=_plain).encode
        records = ",\n".join(map(write, self.ledger.records.values()))
        return f'{json.dumps(head)[:-1]}, "records": [\n{records}\n]}}\n'.encode()


def _plain(value: Any) -> Any:
    """What JSON has no form for: a moment, or an object by its attributes."""
    return value.isoformat() if isinstance(value, datetime) else asdict(value, recurse=False)


def read_notes(path: Path) -> Notes:
    """The notes of a published calendar; empty if there are none.

    Raises:
        CalendarError: they are damaged or of another version.
    """
    data = files.read(path)
    if data is None:
        return Notes()
    try:
        parsed = json.loads(data)
        if parsed["livefood"] != _VERSION:
            raise ValueError("another version")
        return Notes(
            ledger=Ledger.from_json(parsed["records"]),
            digests=tuple(map(str, parsed["digests"])),
            extra=dict(parsed["extra"]),
        )
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise CalendarError(
            f"{path}: these notes on a published calendar are damaged; restore them from a copy, "
            "or delete them: the calendar itself is then read"
        ) from error


def notes_path(target: Path) -> Path:
    """Where the notes of a calendar file stand."""
    return target.with_name(f".{target.name}.livefood")


@frozen
class Outcome:
    """What an export did.

    Attributes:
        entries: live ones in the file. cancelled: withdrawn ones kept in it.
        written: False where the file stood already byte for byte as it should.
        kept_as: copy of the foreign file that was replaced on request, or None.
        parts: the folder with a file for each entry, where that was asked for.
        first: the notes beside the file were begun.
    """

    path: Path
    entries: int
    cancelled: int
    changes: Changes
    written: bool
    kept_as: Path | None = None
    first: bool = False
    parts: Path | None = None

    def to_json(self) -> dict[str, Any]:
        """For other programs."""
        return {
            "file": str(self.path), "entries": self.entries, "cancelled": self.cancelled,
            **asdict(self.changes),
            "written": self.written, "kept_as": None if self.kept_as is None else str(self.kept_as),
            "parts": None if self.parts is None else str(self.parts),
        }  # fmt: skip


def write_calendar(
    path: Path, entries: Iterable[Entry], *, header: Header, now: datetime,
    identity: Callable[[], UUID], replace_foreign: bool = False, split: bool = False,
    undone: Container[str] = frozenset(), ended: Mapping[str, str] = MappingProxyType({}),
) -> Outcome:  # fmt: skip
    """Write or update a calendar file.

    Args:
        entries: all that the file should show. now: time of the plan.
        identity: gives the namespace of new UIDs, `calendars.identity.namespace`; asked for only
            when something will be written.
        replace_foreign: put a file that is not ours aside (``.old``) instead of refusing.
        split: also a file for each entry, in a folder of the file's name, for calendars that take
            only one from a file.
        undone, ended: as `calendars.ledger.revise` has them.

    Raises:
        LivefoodError: the file is not ours, was edited or cannot be written; it stands as it was.
    """
    with files.locked(path.resolve().parent):
        before = files.read(path)
        notes = read_notes(notes_path(path))
        foreign, base = False, notes.ledger
        if before is not None and _digest(before) not in notes.digests:
            base, ours = _taken_from(before, notes.ledger, identity, header.room)
            foreign = not ours
        if foreign and not replace_foreign:
            raise CalendarError(_foreign_message(path, notes))
        ledger, changes = revise(
            base, entries, now=now, namespace=identity(), undone=undone, ended=ended
        )
        data = calendar_bytes(ledger.published(), ledger, header)
        check(data)
        kept_as = _put_aside(path, before) if foreign and before is not None else None
        _write(path, before, data, ledger, notes)
        parts = _write_parts(path.with_suffix(""), ledger, header) if split else None
    live = len(ledger.live())
    withdrawn = len(ledger.published()) - live
    first = not notes.digests
    return Outcome(path, live, withdrawn, changes, data != before, kept_as, first, parts)


def _taken_from(
    data: bytes, noted: Ledger, identity: Callable[[], UUID], room: str
) -> tuple[Ledger, bool]:
    """The ledger with what a file says that is not noted, and whether all of the file is ours."""
    if KEY.encode() not in data:
        return noted, False
    from calendars.reading import ledger_of  # reads calendars with a library, which takes its time

    found, ours = ledger_of(data, identity(), room)
    records = dict(noted.records)
    for key, record in found.records.items():
        known = records.setdefault(key, record)
        if known.sequence < record.sequence:
            records[key] = evolve(known, sequence=record.sequence)
    return Ledger(records), ours


def _write(path: Path, before: bytes | None, data: bytes, ledger: Ledger, notes: Notes) -> None:
    digests = tuple(_digest(x) for x in (data, before) if x is not None)
    fresh = Notes(ledger, notes.digests if data == before else digests, notes.extra)
    if fresh != notes:
        files.replace(notes_path(path), fresh.to_bytes())
    if data != before:
        files.replace(path, data)


def _write_parts(folder: Path, ledger: Ledger, header: Header) -> Path:
    """A file for each entry; those of entries that are over go, and nothing else."""
    wanted = {
        f"{record.shown.start:%Y-%m-%d}-{record.uid[:8]}.ics": record
        for record in ledger.published()
    }  # fmt: skip
    with files.locked(folder):
        for name, record in wanted.items():
            data = resource_bytes(record, ledger, header)
            check(data)
            if files.read(folder / name) != data:
                files.replace(folder / name, data)
        for old in folder.glob("*.ics"):
            if _PART.fullmatch(old.name) and old.name not in wanted:
                old.unlink(missing_ok=True)
    return folder


def _put_aside(path: Path, before: bytes) -> Path:
    spare = path.with_name(f"{path.name}.old")
    number = 1
    while files.read(spare) not in (None, before):
        number += 1
        spare = path.with_name(f"{path.name}.old{number}")
    files.replace(spare, before)
    return spare


def _foreign_message(path: Path, notes: Notes) -> str:
    if notes.digests:
        what = "was changed since livefood wrote it"
    else:
        name = notes_path(path).name
        what = f"was not written by livefood here (its notes {name} are not beside it)"
    return (
        f"{path}: {what}, so it was left alone; choose another name, or give --replace to have it "
        f"kept as {path.name}.old and written anew"
    )


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()
