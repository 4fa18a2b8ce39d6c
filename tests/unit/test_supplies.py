"""What is used up, against the amounts of the tasks."""

from __future__ import annotations

import math
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


def test_dry_food_is_what_the_feeding_table_gives_and_cautions_stand_with_their_steps() -> None:
    room = read_room(demo_text(_TODAY), today=_TODAY)
    plan = make_plan(room, now=datetime(2027, 1, 5, 12, tzinfo=room.timezone), remedies=False)
    dry = next(s for s in plan.supplies if s.item == "dry")
    # What is soaked is weighed in whole hundredths of a gram, and what is not fed poured away.
    soaked: dict[datetime, float] = {}
    for x in plan.lines:
        if x.food == "dry" and x.at >= plan.start:
            soaked[x.at] = soaked.get(x.at, 0.0) + x.amount
    fed = sum(math.ceil(round(grams, 9) * 100 - 1e-6) / 100 for grams in soaked.values())
    assert fed > 0
    assert sum(dry.weeks_g) == pytest.approx(fed)
    cautions = room.culture("MW-1").kind.cautions
    worms = [t for t in plan.tasks if t.what == "harvest_worms" and t.subject.startswith("MW")]
    assert worms
    assert {t.caution for t in worms} == {cautions[0]}
    hatches = [t for t in plan.tasks if t.what == "harvest_hatch"]
    assert {t.caution for t in hatches} == {room.hatch_kind.cautions[0]}
