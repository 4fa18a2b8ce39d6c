"""The numbers of the list of told tasks that are not noted: what is noted of a list changes none.

Who works down a printed list notes one number after the other. So the numbers that a list had
when something of it was noted are kept, and so are those with which `today` asks: a task keeps its
number until a look of another day asks anew, or nothing of the list is left. A file beside the room
holds them; without it the tasks are counted from 1.
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

    def with_due(self, due: Sequence[ToldTask]) -> Numbering:
        """The same with the tasks that have none yet numbered behind the last of it; counted from 1
        where none of them has one.
        """
        known = dict(self.of) if any(t.task.id in self.of for t in due) else {}
        last = max(known.values(), default=0)
        new = (t.task.id for t in due if t.task.id not in known)
        known |= {key: last + i for i, key in enumerate(new, start=1)}
        return evolve(self, of=known)

    def asked_anew(self, due: Sequence[ToldTask], now: datetime) -> Numbering:
        """The same where a look asks of tasks: counted from 1 on the first of a day."""
        if self.begun.astimezone(now.tzinfo).date() == now.date():
            return self.with_due(due)
        return Numbering(now, now).with_due(due)


def read_numbering(room_path: Path, now: datetime) -> Numbering:
    """The numbers that were kept by a moment; none where there are none or they cannot be read."""
    none = Numbering(now, now)
    with suppress(FileProblemError, ArithmeticError, ValueError, KeyError, TypeError,
                  AttributeError, RecursionError):  # fmt: skip
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
