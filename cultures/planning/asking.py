"""When counts and sortings are asked for: a few a day and once a day, so that nobody is nagged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from cultures.needs.need import BroodCourse, Round
from cultures.planning.outlook import Outlook, rounds_there
from cultures.planning.unknowns import efforts

#: A brood is to be counted again so long after it was counted last, or began to eat.
_COUNT_AGAIN = timedelta(days=14)


def count_due(course: BroodCourse) -> date:
    """From when on a brood is to be counted again."""
    brood, since = course.brood, course.brood.counted_on
    if brood.anchor != "length":  # such a one eats already, whenever it was measured
        since = max(since, course.first_food_day())
    return since + _COUNT_AGAIN


def most_a_day(what: str, broods: int) -> int:
    """How many broods are asked for on a day; as many as it takes to get through all of them.

    Args:
        what: ``counted`` or ``sorted``.
    """
    return max(round(efforts()[f"{what}_a_day"].value), -(-broods // _COUNT_AGAIN.days))


def asked_at(
    outlook: Outlook,
    due: Sequence[tuple[str, date]],
    most: int,
    *,
    done: int = 0,
    spread: int | None = None,
) -> dict[str, Round]:
    """The rounds at which things of one kind are asked for, by their ids.

    Each at the first round of its day, or of the next one that has room for it. Today is over for
    all once some were told for a round of it that is over, but not on the eve of days away. What
    was told goes before, what is due longest first.

    Args:
        due: ids, each with the day from which on it is due. done: how many were done today.
        spread: as many a day of those that were not told yet; None for ``most``.
    """
    told, today, found = outlook.room.unanswered, outlook.now.date(), dict[str, Round]()
    rounds = [*_rounds(outlook, [told[key] for key, _ in due if key in told])]
    taken = Counter({today: done})
    for key, day in sorted(due, key=lambda one: _place(told.get(one[0]), one[1])):
        a_day = most if spread is None or key in told else spread
        for feeding in rounds:
            if feeding.at.date() >= day and taken[feeding.at.date()] < a_day:
                taken[feeding.at.date()] += 1
                found[key] = feeding
                break
    return found


def _place(told: datetime | None, day: date) -> tuple[date, bool]:
    return (day, True) if told is None else (told.date(), False)


def _rounds(outlook: Outlook, told: Sequence[datetime]) -> Iterator[Round]:
    """A round of each day, the first at which the keeper is there."""
    today, last = outlook.now.date(), None
    leaves = outlook.room.away_on(today + timedelta(days=1)) is not None
    for feeding in rounds_there(outlook):
        day = feeding.at.date()
        asked = day == today and any(at.date() == day and at < feeding.at for at in told)
        if day != last and (leaves or not asked):
            yield feeding
        last = day
