"""When entries ring: in waking hours only, and never many at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import Any, Literal

from attrs import evolve, frozen

from calendars.entries import GROUPS, Entry, Wishes, instant

#: So many alarms at most in any time of this length.
AT_ONCE, SPELL = 3, timedelta(minutes=15)
#: Nobody acts on a warning in the first minutes of the day.
UP = timedelta(minutes=30)
#: Nobody is away longer than a room file can say [d].
_LONGEST_AWAY = 800

#: Which of its two alarms: the one that counts, or the first notice of it.
_Which = Literal["alarm_min", "notice_min"]
_WHICH: tuple[_Which, ...] = ("alarm_min", "notice_min")


def waking(day: date, wishes: Wishes) -> tuple[datetime, datetime]:
    """When somebody gets up on a day, and goes to bed (UTC)."""
    room = wishes.room
    up, down = (instant(datetime.combine(day, at, room.timezone)) for at in room.awake)
    return up, down


def last_good(moment: datetime, wishes: Wishes) -> datetime:
    """The latest moment up to the given one at which the keeper is up, and not away (UTC)."""
    day = wishes.local(moment).date()
    for _ in range(_LONGEST_AWAY):
        up, down = waking(day, wishes)
        if up + UP <= moment and wishes.room.away_on(day) is None:
            return min(moment, down)
        day -= timedelta(days=1)
    return moment


def ring(entries: Iterable[Entry], wishes: Wishes) -> list[Entry]:
    """Entries with alarms that wake nobody, and no crowd of them at one time."""
    return _one_for_all([_awake(entry, wishes) for entry in entries])


def _awake(entry: Entry, wishes: Wishes) -> Entry:
    alarm, notice = (
        None if minutes is None else _lead_min(entry.start, minutes, wishes)
        for minutes in (entry.alarm_min, entry.notice_min)
    )
    if notice is not None and notice <= (alarm or 0):
        notice = None
    return evolve(entry, alarm_min=alarm, notice_min=notice)


def _lead_min(start: datetime, minutes: int, wishes: Wishes) -> int:
    """The lead time nearest to one wanted at which somebody is up, rather later than earlier."""
    wanted = start - timedelta(minutes=minutes)
    day = wishes.local(wanted).date()
    up, down = waking(day, wishes)
    if up <= wanted <= down:
        return minutes
    if wanted > down:
        up, _ = waking(day + timedelta(days=1), wishes)
    if up <= start:
        return int((start - up).total_seconds() // 60)
    _, down = waking(wishes.local(up).date() - timedelta(days=1), wishes)
    return -int((down - start).total_seconds() // 60)  # to the minute before


@frozen
class _Alarm:
    at: datetime
    which: _Which
    index: int


def _one_for_all(entries: list[Entry]) -> list[Entry]:
    """What would ring together as a crowd is one reminder with a list; all entries stay."""
    found = list(entries)
    while True:
        crowd = next(_crowds(found), None)
        if crowd is None:
            return found
        rank = list(GROUPS)
        # The most urgent keep their own; what is left of a crowd rings as one.
        first, *others = sorted(
            crowd,
            key=lambda a: (a.which != "alarm_min", rank.index(found[a.index].group),
                           found[a.index].start, found[a.index].key),
        )[AT_ONCE - 1 :]  # fmt: skip
        earliest = min(a.at for a in (first, *others))
        rest = sorted({a.index for a in others} - {first.index})
        named = [title for i in rest for title in (found[i].title, *found[i].also)]
        listed = "\n".join(f"- {title}" for title in named)
        also = f"Also at this time:\n{listed}" if rest else ""
        for alarm in others:
            silent: dict[str, Any] = {alarm.which: None}
            found[alarm.index] = evolve(found[alarm.index], **silent)
        entry = found[first.index]
        changes: dict[str, Any] = {
            first.which: -int((earliest - entry.start).total_seconds() // 60),
            "text": "\n\n".join(part for part in (also, entry.text) if part),
            "also": (*entry.also, *named),
        }
        found[first.index] = evolve(entry, **changes)


def _crowds(entries: Sequence[Entry]) -> Iterator[list[_Alarm]]:
    alarms = sorted(
        (
            _Alarm(e.start - timedelta(minutes=minutes), which, index)
            for index, e in enumerate(entries) for which in _WHICH
            if (minutes := getattr(e, which)) is not None
        ),
        key=lambda a: (a.at, a.index),
    )  # fmt: skip
    last = 0
    for begin, alarm in enumerate(alarms):
        while last < len(alarms) and alarms[last].at <= alarm.at + SPELL:
            last += 1
        if last - begin > AT_ONCE:
            yield alarms[begin:last]


def early(start: datetime, by: timedelta, wishes: Wishes) -> int:
    """Minutes before a start at which a first notice is given, so much earlier or before [min]."""
    return int((start - last_good(start - by, wishes)).total_seconds() // 60)
