"""Rounds that went by without a word: of them it is asked whether the fry were fed as usual."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from cultures.journal.entries import Entry
from cultures.needs.need import BroodCourse, Round, rounds_between
from cultures.record.store import Record
from cultures.room.room import Room
from cultures.tasks.told import LATE
from cultures.words.moments import spoken_day, when

#: One round that nobody looked at may be chance; of two in a row it is asked.
_IN_A_ROW = 2
#: Nobody remembers what was before.
_AT_MOST = timedelta(days=14)


def silent_rounds(
    room: Room, entries: Sequence[Entry], record: Record, now: datetime
) -> list[Round]:
    """The last rounds that are over, at which fry ate and somebody was to be there, and of which
    nothing was told, noted or known; none where they are fewer than two in a row.

    Whatever was noted or told for a time after such a round and before its next is a word of it.
    A look at the round that is at hand is not: they are asked about until that one is over.
    """
    over = [r for r in rounds_between(room, now - _AT_MOST, now) if r.at + LATE <= now]
    if not over:
        return []
    until = over[-1].at + LATE
    words = [e.when for e in entries if e.when <= until]
    words += [t.task.at for t in record.tasks.values() if t.task.at <= until]
    if not words:  # a room that nobody has used yet
        return []
    found = [r for r in over if r.at > max(words) and r.fed]
    if len(found) < _IN_A_ROW:
        return []
    courses = [BroodCourse.of(room, brood) for brood in room.broods]
    found = [r for r in found if any(_ate(room, course, r) for course in courses)]
    return found if len(found) >= _IN_A_ROW else []


def _ate(room: Room, course: BroodCourse, feeding: Round) -> bool:
    """Whether fry ate at a round, of which it is not known that there was nothing for them."""
    bare = room.bare.get(course.brood.name, ())
    return course.eats_at(feeding) and not any(
        first <= feeding.at <= last for first, last in bare
    )  # fmt: skip


def silence_question(rounds: Sequence[Round], now: datetime) -> str:
    """The question about rounds without a word, and what is taken for true until it is answered."""
    days = list(dict.fromkeys(r.at.date() for r in rounds))
    span = " to ".join(spoken_day(day, now.date()) for day in dict.fromkeys((days[0], days[-1])))
    return (
        f"Nothing was told or noted of the {len(rounds)} rounds of {span}: were the fry fed as"
        " usual? They are taken as fed, cultures as left alone, bottles and stocks as they were."
    )


def silence_text(rounds: Sequence[Round], now: datetime) -> str:
    """The question about rounds without a word, and how it is answered."""
    each = f'livefood journal skip round --at "{when(rounds[0].at)}"'
    return (
        f"{silence_question(rounds, now)} If nobody fed: {each}, and so for each round. Note what"
        " else was done, or set as_of and the counts in the room file."
    )
