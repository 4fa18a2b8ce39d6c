"""Counts and sortings are asked for in the morning, a few a day, what is due longest first."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from attrs import evolve

from cultures.journal.absences import Away
from cultures.planning.brood_tasks import asked_at, most_a_day
from cultures.planning.build import build_tasks
from cultures.planning.notes import _stale
from cultures.planning.outlook import Outlook, make_outlook
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.task import Count, Sort

_TODAY = date(2027, 1, 5)
_DAY = timedelta(days=1)
_HEAD = """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 24
as_of = 2027-01-05
rounds = ["07:00", "19:00"]
awake = ["06:30", "22:30"]
"""
_TANK = """
[[tank]]
name = "A{n}"
litres = 40
temperature_c = 25
[[brood]]
name = "b{n}"
tank = "A{n}"
class = "rainbowfish"
count = 30
counted_on = 2026-12-01
length_mm = 20
measured_on = 2027-01-03
"""


def _room(broods: int, **changes: Any) -> Room:
    text = _HEAD + "".join(_TANK.format(n=n) for n in range(broods))
    return evolve(read_room(text, today=_TODAY), **changes)


def _outlook(room: Room, clock: str = "06:30") -> Outlook:
    now = datetime.fromisoformat(f"2027-01-05T{clock}").replace(tzinfo=room.timezone)
    return make_outlook(room, now=now, days=28)


def _days(room: Room, due: list[tuple[str, date]], most: int, clock: str = "06:30") -> list[str]:
    found = asked_at(_outlook(room, clock), due, most)
    return [f"{key} {feeding.at:%d %H:%M}" for key, feeding in found.items()]


def test_so_many_a_day_from_the_day_on_which_they_are_due() -> None:
    due = [("a", _TODAY), ("b", _TODAY), ("c", _TODAY), ("d", _TODAY + _DAY), ("e", _TODAY)]
    assert _days(_room(1), due, 2) == [
        "a 05 07:00", "b 05 07:00", "c 06 07:00", "e 06 07:00", "d 07 07:00",
    ]  # fmt: skip


def test_what_was_told_goes_before_what_is_due_longest_first() -> None:
    told = {"c": _told(-1), "b": _told(-3)}
    due = [("a", _TODAY), ("b", _TODAY), ("c", _TODAY)]
    assert _days(_room(1, unanswered=told), due, 1) == ["b 05 07:00", "c 06 07:00", "a 07 07:00"]


def _told(days: int, clock: str = "07:00") -> datetime:
    zone = _room(1).timezone
    return datetime.fromisoformat(f"2027-01-05T{clock}").replace(tzinfo=zone) + days * _DAY


@pytest.mark.parametrize(
    ("clock", "told", "away", "at"),
    [
        ("06:30", None, None, "05 07:00"), ("09:30", None, None, "05 19:00"),
        ("09:30", "07:00", None, "06 07:00"), ("06:45", "07:00", None, "05 07:00"),
        ("18:30", "19:00", None, "05 19:00"), ("21:30", "19:00", None, "06 07:00"),
        ("09:30", "07:00", 6, "05 19:00"), ("21:30", "07:00", 6, "05 19:00"),
        ("06:30", None, 5, "06 07:00"), ("09:30", "07:00", 7, "06 07:00"),
    ],
)  # fmt: skip
def test_once_a_day_and_before_days_away_until_the_last_round(
    clock: str, told: str | None, away: int | None, at: str
) -> None:
    """At a round of which nothing was told yet that day; another one is told with it."""
    gone = () if away is None else (Away(date(2027, 1, away), date(2027, 1, away)),)
    room = _room(1, away=gone, unanswered={} if told is None else {"a": _told(0, told)})
    found = _days(room, [("a", _TODAY), ("b", _TODAY)], 2, clock)
    assert found == [f"a {at}", f"b {at}"]


def test_what_was_done_today_counts_too() -> None:
    asked = asked_at(_outlook(_room(1)), [("a", _TODAY), ("b", _TODAY)], 3, done=2)
    assert [f"{r.at:%d}" for r in asked.values()] == ["05", "06"]


def test_a_room_that_could_not_be_counted_in_two_weeks_otherwise_is_asked_for_more() -> None:
    assert [most_a_day("counted", n) for n in (1, 56, 57, 140)] == [4, 4, 5, 10]
    assert [most_a_day("sorted", n) for n in (1, 28, 29)] == [2, 2, 3]


def test_of_forty_broods_that_nobody_counted_a_few_are_asked_for_a_day() -> None:
    """Told on seven days and not one noted: all forty stood on every morning and evening."""
    told = {f"count/b{n}/2026-12-01": _told(-(n % 7)) for n in range(40)}
    tasks = build_tasks(_outlook(_room(40, unanswered=told), "12:00"))
    counts = [t for t in tasks if isinstance(t, Count)]
    assert len(counts) == 40
    for day in range(6, 16):  # some were told this morning
        mine = [t for t in counts if t.at.date() == date(2027, 1, day)]
        assert [f"{t.at:%H:%M}" for t in mine] == ["07:00"] * 4


def test_a_few_are_sorted_on_one_day_and_all_in_the_end() -> None:
    """Six broods of one age reach the length at which they are to be sorted together."""
    sorts = [t for t in build_tasks(_outlook(_room(6))) if isinstance(t, Sort)]
    assert {t.subject for t in sorts} == {f"b{n}" for n in range(6)}
    days = [t.at.date() for t in sorts]
    assert max(days.count(day) for day in days) == 2
    assert all(f"{t.at:%H:%M}" == "07:00" and t.until > t.at for t in sorts)


def test_a_sorting_that_was_put_off_until_tomorrow_is_not_moved_back_to_this_evening() -> None:
    """Told for a morning that is over it is asked for on the next, and told so it stays there."""
    (sort,) = [t for t in build_tasks(_outlook(_room(1))) if isinstance(t, Sort)]
    evening = sort.at.replace(hour=18)

    def asked(told: datetime, **changes: Any) -> datetime:
        room = _room(1, unanswered={sort.id: told}, **changes)
        tasks = build_tasks(make_outlook(room, now=evening, days=28))
        return next(t.at for t in tasks if isinstance(t, Sort))

    next_day = sort.at + _DAY
    assert asked(sort.at) == next_day
    assert asked(next_day) == next_day
    leaves = Away(next_day.date(), next_day.date())
    assert asked(next_day, away=(leaves,)) == evening.replace(hour=19)


def test_broods_are_counted_in_the_order_in_which_they_are_due_spread_over_a_week() -> None:
    """Nine at two a day, those counted longest ago first, wherever they stand in the file."""
    room = _room(9)
    broods = [
        evolve(b, counted_on=date(2026, 12, 10) - timedelta(days=n % 4))
        for n, b in enumerate(room.broods)
    ]
    outlook = _outlook(evolve(room, broods=tuple(broods)))
    counts = sorted((t for t in build_tasks(outlook) if isinstance(t, Count)), key=lambda t: t.at)
    assert [t.at.date() - _TODAY for t in counts[:9]] == [n // 2 * _DAY for n in range(9)]
    order = [next(b for b in broods if b.name == t.subject).counted_on for t in counts[:9]]
    assert order == sorted(order)
    (note,) = _stale(outlook.room, outlook.now)
    assert note.text.endswith("b3, b7, b2, b6, b1, b5, b0, b4, b8.")


def test_a_brood_that_came_today_was_not_counted_for_the_others() -> None:
    """Four spawned today leave the day to four others; four that were counted do not."""
    told = {f"count/b{n}/2026-12-01": _told(-1) for n in range(8)}
    room = _room(8, as_of=date(2027, 1, 4), unanswered=told)
    young, old = room.broods[:4], room.broods[4:]
    for anchor, asked in ((_TODAY, 4), (date(2027, 1, 3), 0)):
        mine = (evolve(b, anchor="spawned", anchor_date=anchor, counted_on=_TODAY) for b in young)
        tasks = build_tasks(_outlook(evolve(room, broods=(*mine, *old))))
        counts = [t for t in tasks if isinstance(t, Count) and t.at.date() == _TODAY]
        assert len(counts) == asked


def _looked(room: Room, now: datetime) -> tuple[Room, list[str]]:
    """The counts that a look asks for on its day, and a room to which they were told.

    What was told for that day and is not asked for any more is told no longer.
    """
    day = now.date()
    tasks = build_tasks(make_outlook(room, now=now, days=28))
    mine = {t.id: t.at for t in tasks if isinstance(t, Count) and t.at.date() == day}
    kept = {key: at for key, at in room.unanswered.items() if at <= now or at.date() > day}
    came = {key: at for key, at in room.unanswered.items() if key in mine and at <= now}
    room = evolve(room, unanswered={**kept, **mine}, put_off={**came, **room.put_off})
    return room, sorted(mine)


def _seen(room: Room, days: tuple[int, ...]) -> list[list[str]]:
    """What is asked for by looks at half past six, so many days on."""
    found = []
    for day in days:
        now = datetime(2027, 1, 5, 6, 30, tzinfo=room.timezone) + day * _DAY
        room, asked = _looked(room, now)
        found.append(asked)
    return found


def test_who_looks_again_is_asked_to_count_the_same_broods() -> None:
    """All are due longer than the told ones were told, and the told ones stand all the same: two
    of nine, and on the next day two more, which are four; of forty four at once.
    """
    first, *others = _seen(_room(9), (0, 0, 0, 1, 1, 2, 2))
    assert others[:2] == [first] * 2
    assert len(first) == 2
    assert others[2:] == [others[2]] * 4
    assert len(others[2]) == 4
    assert set(first) < set(others[2])
    many = _seen(_room(40), (0, 0, 1, 1))
    assert many == [many[0]] * 4
    assert len(many[0]) == 4


def test_of_more_than_a_day_has_that_a_calendar_told_the_same_few_are_asked_for_again() -> None:
    """Four a day were told for four days, and nobody counted: each day has the same four, and not
    those that were not told again on the day before.
    """
    told = {f"count/b{n}/2026-12-01": _told(n // 4 - 4) for n in range(16)}
    seen = _seen(_room(16, unanswered=told), (0, 0, 1, 1))
    assert seen == [seen[0]] * 4
    assert len(seen[0]) == 4


def test_one_that_nobody_counts_holds_back_no_other() -> None:
    """Of six broods one a day is asked for; b0 is not counted, and b1 is asked for on the next."""
    first, second = _seen(_room(6), (0, 1))
    assert len(first) == 1
    assert set(first) < set(second)
    assert len(second) == 2
