"""Advice that was told: what of it is not done."""

from __future__ import annotations

from collections.abc import Iterable
from typing import assert_never

from cultures.journal.entries import Entry
from cultures.record.store import Advised, Record
from cultures.room.room import Room
from cultures.tasks.plan import Act, Advice
from cultures.tasks.task import Split


def open_advice(record: Record, entries: Iterable[Entry], room: Room) -> tuple[Advice, ...]:
    """What was told to help, without what was done."""
    advised, entries = record.advised, list(entries)
    if advised is None:
        return ()
    divided = {e.other for e in entries if e.event == "split"}
    divided |= {t.task.other for t in record.tasks.values() if isinstance(t.task, Split)}
    return tuple(
        advice for advice in advised.advice
        if not _is_done(advice, advised, entries, room, divided)
    )  # fmt: skip


def _is_done(
    advice: Advice, advised: Advised, entries: Iterable[Entry], room: Room, divided: set[str]
) -> bool:
    """Whether it was done, as far as that is known.

    Args:
        divided: names of cultures that come of a split, not of a starter.
    """
    match advice.act:
        case Act.BUY:
            return any(
                (e.event == "bought" or (e.event == "ordered" and e.amount))
                and e.subject == advice.of and e.line > advised.line
                for e in entries
            )  # fmt: skip
        case Act.START | Act.RIPE:
            return any(
                c.kind.name == advice.of and c.started >= advised.at.date()
                and c.name not in divided
                for c in (*room.cultures, *room.coming)
            )  # fmt: skip
        case Act.WARM:
            return not any(room.hatch_kind.is_slow(v.temperature_c) for v in room.vessels)
        case Act.HATCH:
            return bool(room.vessels)
        case Act.ASK | Act.ADD | Act.VESSEL | Act.TOOL | Act.FETCH:
            return False  # once the room has it, it helps no more
        case _:
            assert_never(advice.act)
