"""In which stretches of time a room is planned, so that a later or longer view moves nothing.

A plan is made stretch by stretch. What is decided for the rounds well before the end of a
stretch is settled then; the next stretch begins there. The ends are counted from the day from
which the room is known, so that any two plans of the same room share their stretches, and
differ only past the end of the shorter one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from cultures.foods.temperature import Clock
from cultures.needs.need import Round
from cultures.planning.standing_hatches import longest_incubation
from cultures.room.room import Culture, Room
from cultures.words.moments import hours

#: What is settled lies at least so far before the end of its stretch: a held harvest, and the
#: next one after it, are past by then.
_HATCHES_AHEAD = timedelta(days=4)
#: Cultures that ripen more slowly than this are not waited for.
_LONGEST_AHEAD = timedelta(days=35)
#: Length of every stretch after the first.
_STRETCH = timedelta(days=14)


def look_ahead(room: Room, start: datetime) -> timedelta:
    """How far past a round the plan must look to decide it well, in whole days.

    A split made at a round helps only when the new culture is ripe, and may be moved by a week
    to a day that the keeper likes.
    """
    days = max((_ripening_days(room, culture, start) for culture in room.cultures), default=0.0)
    if days > 0 and room.split_weekdays:
        days += 7.0
    if not days < _LONGEST_AHEAD.days:
        return _LONGEST_AHEAD
    return max(_HATCHES_AHEAD, timedelta(days=math.ceil(days)))


def _ripening_days(room: Room, culture: Culture, start: datetime) -> float:
    series = room.series(culture.temperature_c, start.date(), start.date() + _LONGEST_AHEAD)
    ripe_h = Clock.of(series, culture.kind.rate).when(hours(start), culture.ripe_age())
    return (ripe_h - hours(start)) / 24.0


def view_end(room: Room, start: datetime, until: datetime) -> datetime:
    """The end of the first stretch that settles all up to a time.

    A hatch set just before that time is harvested after it, and must not change either.
    """
    monday = _first_end(room, start)
    wanted = until.date() + _margin(room, start)
    while monday < wanted:
        monday += _STRETCH
    return room.local(monday, time(0))


def stretch_ends(room: Room, feedings: Sequence[Round], start: datetime) -> list[int]:
    """Where the stretches end, as counts of rounds; the last is all of them."""
    monday = _first_end(room, start)
    ends = []
    while feedings and monday <= feedings[-1].at.date():
        ends.append(next(r.index for r in feedings if r.at.date() >= monday))
        monday += _STRETCH
    return [*(end for end in ends if end > 0), len(feedings)]


def settled_rounds(feedings: Sequence[Round], end: int, ahead: timedelta) -> int:
    """How many rounds are settled once a stretch is planned that ends after so many."""
    if end == 0:
        return 0
    limit = feedings[end - 1].at - ahead
    return next((r.index for r in feedings[:end] if r.at > limit), end)


def hatched_rounds(feedings: Sequence[Round], end: int, ahead: timedelta) -> int:
    """For how many rounds of a stretch hatches are planned.

    What a hatch gives is eaten within days, so hatches need not be looked at as far ahead as
    cultures that ripen slowly.
    """
    return settled_rounds(feedings, end, ahead - _HATCHES_AHEAD)


def _margin(room: Room, start: datetime) -> timedelta:
    return look_ahead(room, start) + longest_incubation(room) + timedelta(days=1)


def _first_end(room: Room, start: datetime) -> date:
    """The Monday that is far enough past the room's own horizon."""
    day = start.date() + timedelta(days=room.horizon_days) + _margin(room, start)
    return day + timedelta(days=-day.weekday() % 7)
