"""A hatch is ripe for the round that it feeds first, on all screens."""

from __future__ import annotations

from datetime import date, datetime

from cli.screens.shown import harvests_ahead
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import tasks_of
from cultures.room.file import read_room
from cultures.tasks.task import HarvestHatch

#: Drawn off before a helper comes, and kept in the fridge for the first of the days away.
_ROOM = """
[room]
name = "The loft"
timezone = "UTC"
as_of = 2027-03-01
rounds = ["08:00"]
horizon_days = 10
fridge_c = 5
temperature_c = 22

[[vessel]]
name = "cone"
litres = 1.5
temperature_c = 25

[cysts]
grams = 200

[[tank]]
name = "T1"
litres = 100
temperature_c = 25

[[brood]]
name = "platys"
tank = "T1"
class = "livebearer"
count = 80
length_mm = 5
measured_on = 2027-03-01
foods = ["brine_shrimp", "dry"]

[[tank]]
name = "T2"
litres = 60
temperature_c = 26

[[brood]]
name = "danios"
tank = "T2"
class = "egg_scatterer"
count = 400
spawned = 2027-02-26

[[away]]
from = 2027-03-04
to = 2027-03-06
helper = true
"""


def test_today_names_the_round_that_the_plan_names() -> None:
    """Of the day before, since of the hatch before there is enough left; `plan` says Thursday."""
    room = read_room(_ROOM, today=date(2027, 3, 1))
    outlook = make_outlook(room, now=datetime(2027, 3, 1, 6, 30, tzinfo=room.timezone))
    tasks, before = tasks_of(outlook), datetime(2027, 3, 2, 20, tzinfo=room.timezone)
    harvest = next(t for t in tasks if isinstance(t, HarvestHatch) and before < t.at)
    assert harvest.why.startswith("Ripe for the round of Thu 08:00")
    assert harvests_ahead(tasks, [before], outlook) == [
        "Wed 07:30: cone is ripe for the round of Thu 08:00"
    ]
