"""The numbers of the list of told tasks that are not noted: what is noted of a list changes none.

Who works down a printed list notes one number after the other. So the numbers that a list had
when a screen showed it, or when something of it was noted, are kept: a task keeps its number on
every screen until it is answered. Where nothing of the list is left it begins at 1 again. A file
beside the room holds them; without it the tasks are counted from 1.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from attrs import evolve, field, frozen

from cultures import files
from cultures.errors import FileProblemError
from cultures.limits import most_bytes
from cultures.tasks.told import ToldTask


def numbers_path(room_path: Path) -> Path:
    """Where the numbers of a room's list are kept."""
    return room_path.with_name(f".{room_path.name}.numbers.livefood")


@frozen
class Numbering:
    """The numbers of told tasks.

    Attributes:
        begun: when the tasks were counted from 1. at: when they were kept last. of: each one's, by
            id; of those too that were noted since.
    """

    begun: datetime
    at: datetime
    of: Mapping[str, int] = field(factory=dict)

    def with_due(self, due: Sequence[ToldTask], now: datetime) -> Numbering:
        """The same with the tasks that have none yet numbered behind the last of it, or before the
        first where that many numbers are free; counted from 1 where none of them has one.
        """
        known, begun = dict(self.of), self.begun
        if not any(t.task.id in known for t in due):
            known, begun = {}, now
        new = [t.task.id for t in due if t.task.id not in known]
        free = len(new) < min(known.values(), default=0)
        last = 0 if free else max(known.values(), default=0)
        return evolve(
            self, begun=begun, of=known | {key: last + i for i, key in enumerate(new, start=1)}
        )

    def shown(self, due: Sequence[ToldTask], now: datetime) -> Numbering:
        """The same where a screen shows the tasks: from the first one of a day on the numbers of
        what was answered are free again, so that they do not grow without end.
        """
        if self.begun.astimezone(now.tzinfo).date() == now.date():
            return self.with_due(due, now)
        waiting = {t.task.id: self.of[t.task.id] for t in due if t.task.id in self.of}
        return Numbering(now, now, waiting).with_due(due, now)


def read_numbering(room_path: Path, now: datetime) -> Numbering:
    """The numbers that were kept by a moment; none where there are none or they cannot be read."""
    none = Numbering(now, now)
    with suppress(FileProblemError, *files.NOT_AS_WRITTEN):
        raw = files.read(numbers_path(room_path), most_bytes("record"))
        if raw is None:
            return none
        row = json.loads(raw)
        begun, at = (datetime.fromisoformat(row[key]) for key in ("begun", "at"))
        found = Numbering(begun, at, {str(key): int(n) for key, n in row["numbers"].items()})
        return found if begun <= at <= now else none
    return none


def keep_numbering(room_path: Path, numbering: Numbering, now: datetime) -> None:
    """Keeps numbers; nothing that is noted or told waits for that where it cannot be.

    The folder must be locked.
    """
    row = {
        "begun": numbering.begun.isoformat(), "at": now.isoformat(), "numbers": {**numbering.of},
    }  # fmt: skip
    with suppress(FileProblemError):
        files.replace(numbers_path(room_path), json.dumps(row).encode())


def shown_numbers(
    room_path: Path, due: Sequence[ToldTask], now: datetime, *, keep: bool
) -> Mapping[str, int]:
    """The numbers with which a screen shows tasks, by id.

    Args:
        keep: whether they are kept; the screen does not wait for that where it cannot be.
    """
    kept = read_numbering(room_path, now)
    numbering = kept.shown(due, now)
    if keep and due and numbering != kept:
        with suppress(FileProblemError), files.locked(room_path.absolute().parent):
            keep_numbering(room_path, numbering, now)
    return numbering.of
