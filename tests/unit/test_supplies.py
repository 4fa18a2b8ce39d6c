"""What is used up, against the amounts of the tasks."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from cli.commands.demo_room import demo_text
from cultures.planning.plan import make_plan
from cultures.room.file import read_room
from cultures.tasks.task import HarvestHatch, SetHatch

_TODAY = date(2027, 1, 5)


def test_salt_is_for_the_bottles_and_for_the_jars_of_what_is_kept() -> None:
    room = read_room(demo_text(_TODAY), today=_TODAY)
    plan = make_plan(room, now=datetime(2027, 1, 5, 12, tzinfo=room.timezone))
    grams = jars = 0.0
    for task in plan.tasks:
        if isinstance(task, SetHatch):
            grams += task.amounts["salt_g"]
        if isinstance(task, HarvestHatch) and "jar_ml" in task.amounts:
            jars += task.amounts["jar_ml"] / 1000 * room.vessel(task.subject).salinity_g_per_l
    assert jars > 0
    salt = next(s for s in plan.supplies if s.item == "salt")
    assert sum(salt.weeks_g) == pytest.approx(grams + jars)
