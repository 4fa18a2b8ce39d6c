"""What happened since advice was told."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from attrs import frozen

from cultures.errors import FileProblemError
from cultures.journal.entries import Entry
from cultures.record.carried_out import as_entry
from cultures.record.fates import Fates
from cultures.record.history import last_version, text_now
from cultures.record.present import Present
from cultures.tasks.task import Feed, Work
from cultures.tasks.told import LATE


@frozen
class Since:
    """What happened since advice was told: when that was, and whether the room file was edited.

    Attributes:
        noted: what was noted otherwise than told, by line. sets: vessels and times that were told
            to be set and lie ahead. overdue: what was to be bought by a day that is over since
            the last look, and of which no purchase is noted.
    """

    at: datetime
    noted: tuple[Entry, ...]
    edited: bool
    sets: tuple[tuple[str, datetime], ...] = ()
    overdue: tuple[str, ...] = ()


def since_advised(found: Present, room_path: Path) -> Since | None:
    """What happened since advice was told last; None where none was."""
    advised = found.record.advised
    if advised is None:
        return None
    rounds = [t.task for t in found.record.tasks.values() if isinstance(t.task, Feed)]
    noted = [
        e for e in found.entries
        if e.line > advised.line and not (_as_told(e, found.fates) or _is_fed(e, rounds))
    ]  # fmt: skip
    noted.sort(key=lambda e: e.line)
    sets = tuple((told.name, told.at) for told in found.room.told if told.harvest_at)
    looked = found.record.looked or advised.at  # a calendar says nothing of it
    last, today = looked.astimezone(found.now.tzinfo), found.now.date()
    overdue = tuple(b.subject for b in found.room.to_buy.values() if last.date() <= b.by < today)
    return Since(advised.at, tuple(noted), _edited(room_path, advised.at), sets, overdue)


def _as_told(entry: Entry, known: Fates) -> bool:
    """Whether an entry ticks off work at its own time, as ``journal done`` writes it."""
    told = known.told.get(entry)
    if told is None or not isinstance(told.task, Work) or entry.event == "skip":
        return False
    return entry.when == told.task.at and entry.event == as_entry(told).event


def _is_fed(entry: Entry, rounds: Iterable[Feed]) -> bool:
    """Whether an entry says that a round, or a tank, was fed as told while it may be."""
    return entry.event == "fed" and not entry.other and any(
        feed.at <= entry.when <= feed.at + LATE and entry.amount in (None, feed.dry_used_g)
        for feed in rounds
    )  # fmt: skip


def _edited(room_path: Path, since: datetime) -> bool:
    """Whether the room file is another than it was at a time; False where that is not known."""
    try:
        last, text = last_version(room_path), text_now(room_path)
    except FileProblemError:
        return False
    return last is not None and (last.text != text or datetime.fromisoformat(last.at) > since)
