"""Somebody who feeds while the keeper is away, and by when to ask."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, time, timedelta

from attrs import evolve

from cultures.journal.absences import Away
from cultures.needs.need import Round, rounds_between
from cultures.planning.gaps import Gap
from cultures.planning.outlook import Outlook
from cultures.room.room import Room
from cultures.tasks.plan import Act

ASK_HELP = "ask somebody to feed (helper = true)"
#: Somebody is asked to feed a day before the eve of an absence, and called no later in the day
#: (common practice, no source).
_ASKED_AHEAD, _CALLED_UNTIL = timedelta(days=2), time(19)


def with_help(outlook: Outlook, gaps: Iterable[Gap]) -> tuple[Room, Sequence[Round]] | None:
    """A room, and its rounds, with somebody who feeds in the absences of gaps; None without any."""
    room, rounds = outlook.room, outlook.feedings
    touched = _unhelped(room, gaps)
    if not touched:
        return None
    away = tuple(evolve(a, helper=True) if a in touched else a for a in room.away)
    room = evolve(room, away=away)
    return room, rounds_between(room, rounds[0].at, rounds[-1].at + timedelta(seconds=1))


def help_by(outlook: Outlook, gaps: Sequence[Gap]) -> datetime | None:
    """Until when somebody is to be asked to feed: as it was told of the first absence of some gaps,
    over or not. Else two evenings before it, or, once that is past, on the eve, or by the first
    round that nobody feeds; None where nobody need be asked.
    """
    moments = _help_moments(outlook.room, gaps)
    told = [a.by for a in outlook.room.advised if a.act is Act.ASK and a.by in moments]
    ahead = [moment for moment in moments if moment >= outlook.now]
    return min([*told, *ahead]) if ahead else None


def helped_until(outlook: Outlook, gaps: Sequence[Gap], by: datetime) -> datetime | None:
    """The next round that nobody feeds, by which it still helps to ask somebody, once it should
    have been done; None while there is time.
    """
    if by >= outlook.now:
        return None
    return min(g.feeding.at for g in gaps if not g.feeding.fed and g.feeding.at >= outlook.now)


def _help_moments(room: Room, gaps: Sequence[Gap]) -> list[datetime]:
    """By when somebody is to be asked, and where that is past, each time by which it still may be.

    Empty where nobody need be asked.
    """
    touched = _unhelped(room, gaps)
    if not touched:
        return []
    start = min(away.start for away in touched)
    eve, (up, down) = start - timedelta(days=1), room.awake
    called = min(_CALLED_UNTIL, down) if up < _CALLED_UNTIL else down
    return [
        room.local(start - _ASKED_AHEAD, called), room.local(eve, called), room.local(eve, down),
        *sorted(g.feeding.at for g in gaps if not g.feeding.fed),
    ]  # fmt: skip


def _unhelped(room: Room, gaps: Iterable[Gap]) -> list[Away]:
    unfed = {gap.feeding.at for gap in gaps if not gap.feeding.fed}
    found = (room.away_at(at) for at in sorted(unfed))
    return [*{id(a): a for a in found if a is not None and not a.helper}.values()]
