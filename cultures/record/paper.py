"""The rounds that a helper feeds by a printed sheet, as long as that does for the fish.

Who stands in the room with a sheet in the hand does what is on it. A plan made anew knows better by
a few swipes and millilitres; another number on each screen would be worth less than one that all
agree on.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import datetime
from statistics import fmean

from cultures.record.known import Known
from cultures.record.overtaken import times_told, unreckoned, worth_a_word
from cultures.record.store import HELPERS_SHEET
from cultures.replay.replay import Replayed
from cultures.room.room import Room
from cultures.tasks.task import Feed, HarvestWorms, Soak
from cultures.tasks.told import ToldTask


def by_paper(
    known: Known, state: Replayed, begun: Container[datetime | None]
) -> tuple[ToldTask, ...]:
    """The work of the rounds ahead that a helper does by a sheet; nothing where that no longer
    holds.

    Args:
        state: what is. begun: the rounds that are in hand.
    """
    room, now = known.room, known.now
    today = now.astimezone(room.timezone).date()
    sheets = [
        p for p in known.record.printed if p.by == HELPERS_SHEET and p.first <= today <= p.last
    ]
    if not sheets or not room.helped(today, today):
        return ()
    mine = [
        t for key, t in known.tasks.items()
        if isinstance(t.task, Feed | HarvestWorms | Soak) and t.task.at > now
        and t.round_at is not None and t.round_at not in begun and key not in known.fates.answer
        and room.helped_at(t.round_at)
        and any(p.first <= t.round_at.date() <= p.last and t.told_at <= p.at for p in sheets)
    ]  # fmt: skip
    fed = {t.round_at for t in mine if isinstance(t.task, Feed)}
    mine = [t for t in mine if t.round_at in fed]
    return tuple(mine) if _still_does(mine, state.room, now) else ()


def mean_times(feedings: Iterable[ToldTask], room: Room) -> dict[str, float]:
    """How many times what it was told to need a brood needs now, over some rounds; of broods whose
    need is so much another that it is said.
    """
    ratios: dict[str, list[float]] = {}
    for told in feedings:
        for brood, ratio in times_told(told, room).items():
            ratios.setdefault(brood, []).append(ratio)
    return worth_a_word({brood: fmean(found) for brood, found in ratios.items()})


def _still_does(mine: Sequence[ToldTask], room: Room, now: datetime) -> bool:
    """Whether each brood is fed by it, where it is, about what it needs, of what is there."""
    feedings = [t for t in mine if isinstance(t.task, Feed)]
    here = {culture.name for culture in room.cultures}
    gone = any(isinstance(t.task, HarvestWorms) and t.task.subject not in here for t in mine)
    return not (
        gone
        or mean_times(feedings, room)
        or any(unreckoned(told, room) for told in feedings)
        or _elsewhere(feedings, {brood.name: brood.tank for brood in room.broods})
        or any(_lacks_a_jar(told, room, now) for told in feedings)
    )


def _elsewhere(feedings: Iterable[ToldTask], tanks: Mapping[str, str]) -> bool:
    """Whether a brood is in another tank than it was told to be fed in."""
    lines = (line for told in feedings for line in told.lines)
    return any(tanks.get(line.brood, line.tank) != line.tank for line in lines)


def _lacks_a_jar(told: ToldTask, room: Room, now: datetime) -> bool:
    """Whether it is fed of a jar that should stand by now, and does not."""
    held = {(jar.vessel, jar.harvested_at) for jar in room.held}
    return any(d.harvested <= now and (d.vessel, d.harvested) not in held for d in told.draws)
