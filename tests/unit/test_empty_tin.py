"""A tin too empty for any hatch, with more on its way: nothing of it is shared out."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from cultures.journal.entries import Entry
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.shortfalls import Limits
from cultures.record.present import present
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.unit.recorded import lines, record_of

_TODAY = date(2027, 1, 17)
_TEXT = """
[room]
timezone = "UTC"
temperature_c = 16
rounds = ["07:00", "19:00"]
awake = ["06:15", "22:30"]
as_of = 2027-01-17T06:00:00
[[tank]]
name = "A"
litres = 60
temperature_c = 24
[[brood]]
name = "one"
tank = "A"
class = "egg_scatterer"
count = 300
free_swimming = 2027-01-05
[[vessel]]
name = "warm bottle"
litres = 1
temperature_c = 27
[[hatch]]
vessel = "warm bottle"
set_at = 2027-01-16T07:30:00
cysts_g = 0.5
[cysts]
grams = 0.09
[supplies]
cysts_days = 5
"""


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_TODAY)


def _look(room: Room, clock: str) -> Outlook:
    now = datetime.fromisoformat(f"2027-01-17T{clock}").replace(tzinfo=room.timezone)
    morning, drawn = now.replace(hour=7, minute=10), now.replace(hour=6, minute=30)
    entries = lines(
        Entry(drawn, "harvest", "warm bottle"),
        Entry(morning, "ordered", "cysts", "2027-01-18", 50.0, "g"),
    )
    return make_outlook(present(room, entries, record_of([]), now).room, now=now)


def test_a_jar_is_fed_alike_whether_somebody_is_still_awake_to_set_a_hatch_or_not(
    room: Room,
) -> None:
    """0.09 g is no hatch, so what might be set until bedtime says nothing of the jar."""
    evening, night = _look(room, "21:30"), _look(room, "22:45")
    assert evening.room.held
    given = [look.feeding.hatches.given_j[:2] for look in (evening, night)]
    assert given[0] == pytest.approx(given[1])
    assert given[0][0] > 0.0
    assert evening.feeding.hatches.rationed == ()


def test_what_is_missing_until_the_parcel_is_for_want_of_cysts(room: Room) -> None:
    look = _look(room, "21:30")
    limits = Limits(look.room, look.feeding, look.now)
    assert limits.of_food("brine_shrimp", 1) == "tin"
    assert "no cysts for a hatch" in limits.words("tin", "brine_shrimp", [1])
