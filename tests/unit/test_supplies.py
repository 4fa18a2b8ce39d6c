"""What is used up, against the amounts of the tasks."""

from __future__ import annotations

import math
from datetime import date, datetime

import pytest

from cli.commands.demo_room import demo_text
from cultures.fry.feeding import feeding_values
from cultures.planning.plan import make_plan
from cultures.room.file import read_room
from cultures.tasks.task import HarvestHatch, SetHatch
from cultures.words.units import TEASPOON_ML

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
    # What is soaked is weighed in whole hundredths of a gram, and what is not fed poured away; no
    # scale is named, so half of an eighth teaspoon is the least.
    least_g = TEASPOON_ML / 16 * feeding_values()["dry_g_per_ml"]
    soaked: dict[datetime, float] = {}
    for x in plan.lines:
        if x.food == "dry" and x.at >= plan.start:
            soaked[x.at] = soaked.get(x.at, 0.0) + x.amount
    fed = sum(
        max(least_g, math.ceil(round(g, 9) * 100 - 1e-6) / 100) if g else 0.0
        for g in soaked.values()
    )
    assert fed > 0
    assert sum(dry.weeks_g) == pytest.approx(fed, rel=1e-4)
    cautions = room.culture("MW-1").kind.cautions
    worms = [t for t in plan.tasks if t.what == "harvest_worms" and t.subject.startswith("MW")]
    assert worms
    assert {t.caution for t in worms} == {cautions[0]}
    hatches = [t for t in plan.tasks if t.what == "harvest_hatch"]
    assert {t.caution for t in hatches} == {room.hatch_kind.cautions[0]}


_THREE_KINDS = """
[room]
name = "The shed"
timezone = "UTC"
as_of = 2027-02-03
temperature_c = 19
rounds = ["06:45", "18:15"]

[[tank]]
name = "A1"
litres = 60
temperature_c = 21

[[brood]]
name = "barbs"
tank = "A1"
class = "egg_scatterer"
count = 60
free_swimming = 2027-02-01

[[culture]]
name = "MW-2"
kind = "microworm"
started = 2027-01-22
medium_g = 120
surface_cm2 = 160
starter_g = 10

[[culture]]
name = "BW-1"
kind = "banana_worm"
started = 2027-01-22
medium_g = 120
surface_cm2 = 160
starter_g = 10

[[culture]]
name = "VE-1"
kind = "vinegar_eel"
started = 2026-12-20
medium_g = 900
starter_g = 90

[supplies]
"""


@pytest.mark.parametrize("supplies", ["medium_g = 100", ""])
def test_one_culture_of_each_kind_is_made_two_at_once_where_oats_are_there(supplies: str) -> None:
    """Two boxes of porridge of 120 g and a bottle of vinegar take some 40 g of oats."""
    room = read_room(_THREE_KINDS + supplies, today=date(2027, 2, 3))
    plan = make_plan(room, now=datetime(2027, 2, 3, 6, tzinfo=room.timezone), remedies=False)
    first = {t.subject for t in plan.tasks if t.what == "split" and t.at.day == 3}
    assert first == {"MW-2", "BW-1", "VE-1"}


def test_of_few_oats_a_box_is_made_and_the_other_waits_until_more_can_be_had() -> None:
    room = read_room(_THREE_KINDS + "medium_g = 22", today=date(2027, 2, 3))
    plan = make_plan(room, now=datetime(2027, 2, 3, 6, tzinfo=room.timezone), remedies=False)
    split = {t.subject: t.at.day for t in reversed(plan.tasks) if t.what == "split"}
    assert sorted((split["MW-2"], split["BW-1"])) == [3, 5]  # medium is had in two days
    assert [t.subject for t in plan.tasks if t.what == "buy" and t.at.day < 6] == ["dry medium"]
