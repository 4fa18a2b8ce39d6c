"""A hatch is worth its work: none for the margin, none for what is not called short."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from cultures.planning.outlook import make_outlook
from cultures.planning.plan import tasks_of
from cultures.room.file import read_room
from cultures.tasks.task import SetHatch

_TODAY = date(2027, 2, 1)
_ROOM = """\
[room]
name = "Loft"
timezone = "UTC"
temperature_c = 24
as_of = 2027-02-01
horizon_days = 7
{effort}

[[tank]]
name = "T"
litres = 200
temperature_c = 26

[[brood]]
name = "rams"
tank = "T"
class = "substrate_spawner"
count = {fry}
free_swimming = 2027-01-22
foods = ["brine_shrimp"]

[[vessel]]
name = "cone"
litres = 1
temperature_c = 28

[[vessel]]
name = "cold bottle"
litres = 1
temperature_c = 25

[cysts]
grams = 900
"""


def _set(fry: int, effort: str = "") -> list[SetHatch]:
    room = read_room(_ROOM.format(fry=fry, effort=effort), today=_TODAY)
    now = datetime(2027, 2, 1, 7, tzinfo=room.timezone)
    return [task for task in tasks_of(make_outlook(room, now=now)) if isinstance(task, SetHatch)]


@pytest.mark.parametrize("fry", [600, 700, 950, 1050])
def test_no_small_hatch_is_set_beside_a_full_vessel(fry: int) -> None:
    """As the brood grows its day's need, with 15 % more, passes the 5 g that the cone holds."""
    hatches = _set(fry)
    assert max(task.cysts_g for task in hatches) == 5.0
    half_a_day = timedelta(hours=12)
    for task in hatches:
        beside = [t.cysts_g for t in hatches if t is not task and abs(t.at - task.at) <= half_a_day]
        assert task.cysts_g >= 0.1 * max(beside, default=0.0)


def test_to_whom_settings_cost_nothing_the_margin_is_set_apart() -> None:
    assert len(_set(700, effort="effort_g = 0")) > len(_set(700))
