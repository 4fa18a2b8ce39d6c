"""When an entry begins to count, and where the plan goes on from."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta

from cultures.journal import Entry
from cultures.room import Room

#: A round is over so long after its time; worms taken so long before it are for it.
_ROUND_TAKES = timedelta(minutes=30)
_WORMS_BEFORE = timedelta(hours=2)
#: Entries that say what was done in the room, after which the plan goes on from there.
WORK = frozenset({"split", "start", "discard", "harvest", "set", "hatched"})
#: Harvests older than this neither teach nor tell of what stands now.
_FORGOTTEN = timedelta(days=400)


def counting(
    room: Room, entries: Sequence[Entry], now: datetime
) -> tuple[list[Entry], datetime | None]:
    """Entries that count by ``now``, and the moment from which the plan goes on."""
    recent = now - timedelta(hours=3)
    cut = bisect_right(entries, recent, key=lambda e: e.when)
    early, late = entries[:cut], entries[cut:]
    times = [counts_at(room, e) for e in late if is_work(room, e)]
    counting = [e for e in late if not is_work(room, e) or counts_at(room, e) <= now]
    last = next((e for e in reversed(early) if is_work(room, e)), None)
    times = [t for t in times if t <= now] + ([counts_at(room, last)] if last else [])
    return [*early, *counting], min(now, max(times)) if times else None


def worth_replaying(entries: Iterable[Entry], now: datetime) -> list[Entry]:
    """Entries up to ``now`` without the harvests of years ago."""
    now = now.astimezone(UTC)  # whose offset is looked up soonest
    old = now - _FORGOTTEN
    return [
        e for e in entries
        if (e.when > old or e.event not in ("harvest", "hatched")) and e.when <= now
    ]  # fmt: skip


def is_work(room: Room, entry: Entry) -> bool:
    """Whether the plan goes on from this entry."""
    if entry.event in WORK:
        return True
    tanks = {tank.name for tank in room.tanks} if entry.event == "temperature" else set()
    return entry.event == "temperature" and entry.subject not in tanks


def counts_at(room: Room, entry: Entry) -> datetime:
    """When an entry begins to count for the plan: work done in a round, when that is over.

    Until then the round stands on the screen as it was planned.
    """
    vessels = {vessel.name for vessel in room.vessels}
    worms = entry.event in ("harvest", "discard") and entry.subject not in vessels
    before = _WORMS_BEFORE if worms else timedelta(0)
    when = entry.when.astimezone(room.timezone)
    for at in room.rounds:
        moment = room.local(when.date(), at)
        if moment - before <= when < moment + _ROUND_TAKES:
            return moment + _ROUND_TAKES
    return entry.when
