"""Where somebody is away at some rounds only the plan keeps to it, in any room."""

from __future__ import annotations

from datetime import timedelta

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from cultures.journal.absences import Away
from cultures.planning.build import build_tasks
from cultures.planning.outlook import make_outlook
from cultures.room.room import Room
from tests.examples import examples
from tests.properties.test_plan_promise import RELIABLE
from tests.simulation import simulate
from tests.strategies import RoomCase, room_cases


@st.composite
def _absences(draw: st.DrawFn, room: Room) -> tuple[Away, ...]:
    """Up to three, of single rounds, weekdays or times of day; with a helper or not."""
    rounds = sorted({*room.rounds, *room.weekend_rounds})
    some = st.lists(st.sampled_from(rounds), max_size=len(rounds) - 1, unique=True)
    found = []
    for _ in range(draw(st.integers(1, 3))):
        first = room.as_of + timedelta(days=draw(st.integers(0, 8)))
        found.append(Away(
            first, first + timedelta(days=draw(st.sampled_from([0, 2, 6]))), draw(st.booleans()),
            tuple(sorted(draw(some))),
            tuple(sorted(draw(st.lists(st.integers(0, 6), max_size=3, unique=True)))),
            since=draw(st.sampled_from([Away(first, first).since, *rounds])),
        ))  # fmt: skip
    return tuple(found)


@settings(RELIABLE, max_examples=examples(suite=4, thorough_run=40))
@given(room_cases(longest_days=examples(suite=8, thorough_run=14)), st.data())
def test_nothing_is_to_be_done_when_nobody_is_there(case: RoomCase, data: st.DataObject) -> None:
    """Nor is anybody fed; and what is fed is what its tasks give."""
    room = case.room()
    room = evolve(room, away=data.draw(_absences(room)))
    outlook = make_outlook(room, now=case.now())
    lines = [x for row in outlook.lines for x in row]
    outcome = simulate(room, build_tasks(outlook), lines)
    assert outcome.violations == []
    for line in lines:
        given_j = outcome.given_j.get((line.at, line.brood, line.food), 0.0)
        assert given_j == pytest.approx(line.given_j, rel=1e-9, abs=1e-9), line
        away = next((a for a in room.away if a.covers(line.at.date(), line.at.time())), None)
        assert away is None or away.helper or line.amount == 0.0
