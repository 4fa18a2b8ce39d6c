"""Rounds for which there was nothing to give to a brood, as it was told, by what was noted since.

Of a time of which nothing was told nothing is known. Of a round for which there was nothing there
is: who was told so had nothing to give, whether or not they looked again at that round. Whatever
is noted that may be food and was not foreseen then ends it, until the next look.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from cultures.foods.food import DRY
from cultures.journal.entries import Entry
from cultures.record.fates import Fates
from cultures.record.store import Record, bare_until
from cultures.room.room import Room
from cultures.tasks.told import Bare

#: What is noted of food that comes into the room, besides what is bought.
_BRINGS = ("start", "harvest", "hatched")


def still_bare(record: Record, entries: Iterable[Entry], known: Fates, room: Room) -> list[Bare]:
    """The rounds for which there was nothing, without those after food came that nobody foresaw.

    Args:
        entries: standing ones by time. known: what became of what was told.
    """
    foods = {DRY, *room.kinds} if record.bare else set()
    came = [
        e.when for e in (entries if record.bare else ())
        if e not in known.told
        and (e.event in _BRINGS or (e.event == "bought" and e.subject in foods))
    ]  # fmt: skip
    found: list[Bare] = []
    for each in record.bare:
        since = next((when for when in came if when > each.told_at), None)
        found += [each] if since is None else bare_until([each], since)
    return found


def bare_spans(
    bare: Iterable[Bare], now: datetime
) -> Mapping[str, tuple[tuple[datetime, datetime], ...]]:
    """From when to when broods had nothing, up to now."""
    found: dict[str, tuple[tuple[datetime, datetime], ...]] = {}
    for each in bare_until(bare, now):
        found[each.brood] = *found.get(each.brood, ()), (each.first, each.last)
    return found
