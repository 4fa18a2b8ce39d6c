"""In any room the brood that is named is fed when it is added and planned, the next larger is not.

``python -m tests.studies.carry`` looks at hundreds.
"""

from __future__ import annotations

from datetime import timedelta

from attrs import evolve
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from cultures.errors import LivefoodError
from cultures.planning.carry import Carry, sizes
from tests.carrying import fed
from tests.examples import examples
from tests.strategies import CLASSES, RoomCase, room_cases


def test_what_is_named_is_fed_and_the_next_size_is_not() -> None:
    judged = 0

    @settings(
        max_examples=examples(suite=1, thorough_run=60), deadline=None, database=None,
        derandomize=True, phases=[Phase.generate], suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(room_cases(longest_days=7, most_broods=3), st.sampled_from(CLASSES), st.integers(0, 4))
    def look(case: RoomCase, name: str, weeks: int) -> None:
        nonlocal judged
        room, now = case.room(), case.now()
        day = now.date() + timedelta(weeks=weeks)
        try:
            (found,) = Carry(room, now, [day]).by_day(name, room.tanks[0].name)
        except (LivefoodError, IndexError):  # no tank, or too cold for the eggs
            return
        if found.largest:
            judged += 1
            assert fed(room, now, found.brood, found.until).well
        if found.limited is not None:
            judged += 1
            count = next(size for size in sizes() if size > found.largest)
            assert not fed(room, now, evolve(found.brood, count=count), found.until).well

    look()
    assert judged >= 1
