"""Hatches that are late since it got colder about them, as `today` says it first."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from attrs import evolve

from cultures.planning.notes import late_hatches
from cultures.room.room import Room, RunningHatch
from tests.unit.test_replay_by_hand import ROOM, _at


def _room(degrees: float, aged_h: float = 12.0) -> Room:
    """Set at 8 on the 6th at 27 °C, where an hour is one; from 20 on as warm as is said."""
    vessels = tuple(evolve(v, temperature_c=degrees) for v in ROOM.vessels)
    stood = RunningHatch("bottle", _at(6, 8), 2.0, aged_h=aged_h, aged_at=_at(6, 20))
    return evolve(ROOM, vessels=vessels, hatches=(stood,))


def test_a_hatch_that_got_cold_is_named_with_its_hour_and_what_hastens_it() -> None:
    """At 27 °C it is at its best after 25.4 h, a little later in the cold, where less is lost; an
    hour at 18 °C is 0.47 of one by the data. So 12 h of it leave 13.4 or a little more, which take
    28.6 h or more from 20:00 on, and less than 30.
    """
    (said,) = late_hatches(_room(18.0), _at(7, 7))
    assert re.search(r"bottle at 18 °C, at its best about Fri 8 Jan 0[01]:00", said)
    assert "Let it stand until it is told to be drawn off" in said
    assert "unplug the heater before you reach in" in said
    assert "livefood journal temperature bottle 27" in said


@pytest.mark.parametrize(
    ("room", "after_h"),
    [(_room(27.0), 0), (_room(18.0, aged_h=5.0), 0), (_room(18.0), 20), (_room(18.0), 60)],
)
def test_nothing_is_said_of_one_that_is_warm_or_was_as_cold_before_or_is_ripe(
    room: Room, after_h: int
) -> None:
    assert [*late_hatches(room, _at(7, 7) + timedelta(hours=after_h))] == []
