"""What is known at a moment: what was told, what became of it, and where nobody was."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from attrs import evolve, frozen

from cultures.journal.absences import read_away
from cultures.journal.entries import Entry
from cultures.record.fates import Fates, fates
from cultures.record.store import Record
from cultures.room.room import Room
from cultures.tasks.told import ToldTask


@frozen(eq=False)
class Known:
    """What is known at a moment.

    Attributes:
        room: of the file, with the absences that are noted. entries: standing ones up to now, by
            time. record, fates: what was told by then, and what became of it.
    """

    room: Room
    now: datetime
    record: Record
    fates: Fates
    entries: Sequence[Entry]

    @classmethod
    def of(cls, room: Room, entries: Sequence[Entry], record: Record, now: datetime) -> Known:
        """What is known of the room of a file by entries and a record."""
        return cls(with_absences(room, entries), now, record, fates(record, entries, now), entries)

    @property
    def tasks(self) -> Mapping[str, ToldTask]:
        """All that was told, by id."""
        return self.record.tasks

    def unanswered(self, *kinds: type) -> Iterator[ToldTask]:
        """What was told of some kinds of tasks and no entry answers."""
        for key, told in self.tasks.items():
            if isinstance(told.task, kinds) and key not in self.fates.answer:
                yield told


def with_absences(room: Room, entries: Sequence[Entry]) -> Room:
    """The same with what entries say of days away, which goes before the file; the last first."""
    noted = [read_away(e.other) for e in reversed(entries) if e.event == "away"]
    return evolve(room, away=(*noted, *room.away))
