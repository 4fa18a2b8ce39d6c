"""Advice that was told, kept as it is while it can be followed.

Who was told this morning to start a culture by tomorrow is not to read another day at noon, because
a starter takes a day to come. So a time that was told stands while it is not over, and is as early
as the one that would be told now; a ripe culture until half of the time that it takes to come is
left, since nobody can do it at the last minute. One that is weeks earlier was told against
something else. Where another time is told, it says for when it was told.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from attrs import evolve

from cultures.room.room import Room
from cultures.tasks.plan import Act, Advice, Remedy

#: A remedy counts when it takes away at least this share of what is missing; one that was told,
#: half of that.
HELPS_FROM = 0.05
#: What is to be bought in a shop is there so much later.
SHOP = timedelta(days=1)
#: What was told to be fetched stands while so near to what is wanted now.
_NEAR = 0.2
#: A time that was told stands against one so much later.
STANDS = timedelta(days=7)
#: These are to be done by one time, whatever they are to help against.
_ONCE = (Act.BUY, Act.START, Act.RIPE, Act.WARM, Act.HATCH)


#: It comes days after it is ordered: who did not by half of that is too late for the time that was
#: told. (A starter that was told for a time is begun then, and may be in the house.)
_ORDERED = (Act.RIPE,)


def is_advised(room: Room, act: Act, of: str) -> bool:
    """Whether something was told to be done."""
    return bool(_told(room, act, of))


def least_share(room: Room, act: Act, of: str) -> float:
    """The share of what is missing that a remedy must take away."""
    return HELPS_FROM / 2.0 if is_advised(room, act, of) else HELPS_FROM


def stands_by(room: Room, now: datetime, act: Act, of: str, by: datetime) -> datetime:
    """Until when something is to be done that would be told for a time: as it was told while that
    is no later, nor weeks sooner, or on the same day, and not over.
    """
    advice = _standing(room, now, act, of, by)
    return by if advice is None else advice.by


def by_evening(room: Room, now: datetime, at: datetime) -> datetime:
    """A time, or once that is over the end of the keeper's day."""
    return at if at >= now else max(now, room.local(now.date(), room.awake[1]))


def due_by(room: Room, due: date | None) -> datetime | None:
    """The end of the day by which something was told to be bought, once that is over."""
    return None if due is None else room.local(due, room.awake[1])


def as_advised(room: Room, now: datetime, remedy: Remedy) -> Remedy:
    """A remedy as it was told, where that stands; else with the time for which it was told."""
    mine = _told(room, remedy.act, remedy.of)
    if not mine:
        return remedy
    if remedy.act is Act.ASK or remedy.still is not None:  # its time is the one that was told
        return evolve(remedy, told=True)
    nearest = min(mine, key=lambda advice: abs(advice.amount - remedy.amount))
    if abs(nearest.amount - remedy.amount) <= _NEAR * remedy.amount and remedy.amount:
        remedy = evolve(remedy, what=nearest.what, amount=nearest.amount, method=None)
    advice = _standing(room, now, remedy.act, remedy.of, remedy.by)
    if advice is None:
        over, ahead = [a.by for a in mine if a.by < now], [a.by for a in mine if a.by >= now]
        was = max(over) if not ahead else min(ahead) if remedy.act in _ONCE else None
        return evolve(remedy, told=True, was=was)
    return evolve(remedy, by=advice.by, told=True)


def _told(room: Room, act: Act, of: str) -> list[Advice]:
    """What was told of one thing; of a purchase its task too."""
    found = [advice for advice in room.advised if advice.key == (act, of)]
    if act is Act.BUY and not found and (task := room.to_buy.get(of)) is not None:
        found.append(Advice(act, of, "", task.at))
    return found


def _standing(room: Room, now: datetime, act: Act, of: str, by: datetime) -> Advice | None:
    def stands(advice: Advice) -> bool:
        same_day = advice.by.date() == by.date()
        if act in _ONCE:
            return same_day or advice.by < by <= advice.by + STANDS
        return same_day and advice.by <= by

    wait = room.fetched_in("starter") / 2 if act in _ORDERED else timedelta(0)
    ahead = [a for a in _told(room, act, of) if a.by - wait >= now and stands(a)]
    return min(ahead, key=lambda advice: abs(advice.by - by), default=None)
