"""A jar that is a little past its keeping still does for a round that has nothing else.

Nauplii keep 48 h in the fridge by the data, and what is drawn off at 06:30 for the round of 07:00
is 48.5 h old at that round two days later. What they lose in an hour is the same before and after.
"""

from __future__ import annotations

from datetime import date, datetime

import pytest
from attrs import evolve

from cli.screens.salt_and_jars import jars_left
from cultures.foods.food import BRINE_SHRIMP
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.preparation import draws_at
from cultures.record.carried_out import as_entry
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Step
from cultures.room.file import read_room
from cultures.room.room import HeldNauplii, Room, RunningHatch
from cultures.tasks.plan import Act
from cultures.tasks.told import Draw
from tests.unit.recorded import replay, told_task

_ROOM = """
[room]
name = "loft"
timezone = "UTC"
as_of = 2027-03-04
horizon_days = 3
temperature_c = 22
rounds = ["07:00", "19:00"]
awake = ["06:00", "22:30"]
fridge_c = 5
[cysts]
grams = 0
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 26
[[tank]]
name = "S"
litres = 40
temperature_c = 26
[[brood]]
name = "small"
tank = "S"
class = "substrate_spawner"
count = 60
free_swimming = 2027-03-01
foods = ["brine_shrimp"]
"""


def _at(day: int, clock: str) -> datetime:
    return datetime.fromisoformat(f"2027-03-{day:02}T{clock}+00:00")


_ROUND = _at(4, "07:00")


def _jar(harvested: datetime, energy_j: float = 2000.0) -> HeldNauplii:
    """Half of a harvest, of nauplii of 0.0387 J."""
    return HeldNauplii("bottle", harvested, energy_j / 0.0387, energy_j, 0.5, 500.0)


def _room(*held: HeldNauplii, grams: float = 0.0) -> Room:
    text = _ROOM.replace("grams = 0", f"grams = {grams}")
    return evolve(read_room(text, today=date(2027, 3, 4)), held=held)


def _outlook(*held: HeldNauplii, grams: float = 0.0, clock: str = "06:10") -> Outlook:
    return make_outlook(_room(*held, grams=grams), now=_at(4, clock))


def _drawn(outlook: Outlook, at: datetime = _ROUND) -> list[datetime]:
    return [draw.harvested for draw in draws_at(outlook, at)]


@pytest.mark.parametrize(
    ("harvested", "fed"),
    [(_at(2, "07:00"), True), (_at(2, "06:30"), True), (_at(2, "06:00"), True),
     (_at(2, "05:59"), False)],
)  # fmt: skip
def test_a_jar_does_for_a_round_within_an_hour_of_the_end_of_its_keeping(
    harvested: datetime, *, fed: bool
) -> None:
    outlook = _outlook(_jar(harvested))
    assert _drawn(outlook) == ([harvested] if fed else [])
    given = [s.given_j.get(BRINE_SHRIMP, 0.0) >= 0.97 * s.need.energy_j
             for s in outlook.feeding.servings[0]]  # fmt: skip
    assert given == [fed]


def test_nothing_is_missed_and_nothing_fetched_for_a_round_that_it_feeds() -> None:
    plan = plan_of(_outlook(_jar(_at(2, "06:30"))))
    assert min(s.at for s in plan.shortfalls) == _at(4, "19:00")
    fetched = [r.by for s in plan.shortfalls for r in s.remedies if r.act is Act.FETCH]
    assert all(by > _ROUND for by in fetched)


def test_it_is_not_told_to_be_poured_out_before_the_round_that_it_feeds() -> None:
    """At the round before what is left keeps until 06:30, but is fed at 07:00."""
    jar = _jar(_at(2, "06:30"))
    outlook = make_outlook(_room(jar), now=_at(3, "18:30"))
    assert _drawn(outlook) == _drawn(outlook, _at(3, "19:00")) == [jar.harvested_at]
    (said,) = jars_left(outlook, _at(3, "19:00"))
    assert said.endswith("left in the jar of Tue 06:30, keeps until Thu 4 Mar 07:00")


def test_it_is_what_is_left_to_take_once_what_keeps_is_used_up() -> None:
    """Of a younger jar the round has all that it wants; of one that holds too little, the rest."""
    old, young = _jar(_at(2, "06:30")), _jar(_at(3, "18:30"))
    assert _drawn(_outlook(old, young)) == [young.harvested_at]
    few = _jar(_at(3, "18:30"), energy_j=50.0)
    assert _drawn(_outlook(old, few)) == [few.harvested_at, old.harvested_at]


def test_nobody_plans_to_hold_nauplii_so_long() -> None:
    """With cysts enough hatches are set for rounds at which the jar before keeps no more."""
    room = _room(grams=500.0)
    outlook = make_outlook(room, now=_at(4, "06:10"), days=10)
    holding, hatches = room.holding, outlook.feeding.hatches
    fed = [
        holding.keeps(hatches.batches[portion.batch].harvest_h, feeding.at_h)
        for feeding, row in zip(outlook.feedings, hatches.portions, strict=True) for portion in row
    ]  # fmt: skip
    assert len(fed) > 10
    assert all(fed)


@pytest.mark.parametrize(("clock", "held"), [("07:29", 1), ("07:31", 0)])
def test_a_round_that_is_noted_late_was_fed_of_it_all_the_same(clock: str, held: int) -> None:
    """By its age when the round began; the jar itself is past it an hour after its keeping."""
    harvested = _at(2, "06:30")
    drawn = told_task("harvest_hatch", harvested, "bottle", {"nauplii": 1e5, "jar_ml": 500.0})
    counted = as_entry(drawn)._replace(event="hatched", amount=1e5, unit="nauplii")
    fed = told_task("feed", _ROUND, "07:00 round", {"nauplii": 1e4})
    fed = evolve(fed, draws=(Draw("bottle", harvested, 500.0, 50.0, 0.1),))
    late = as_entry(fed)._replace(when=_at(4, "08:10"))
    found = replay(_room(), [counted, Step(late, fed, False)], _at(4, "08:15"), OwnValues())
    assert found.unfed == frozenset()
    assert [draw.part for draw in found.drawn[fed.task.id]] == [pytest.approx(0.1)]
    assert len(replay(_room(), [counted], _at(4, clock), OwnValues()).room.held) == held


def test_with_an_empty_tin_a_hatch_feeds_all_rounds_that_it_has_enough_for() -> None:
    """0.6 g bring twice what five rounds need. The tin that no hatch can be set of was shared out
    at a price that differed from round to round, and what was asked at it was all they got: one in
    the middle had nothing, while half of the jar was to be poured out.
    """
    set_at = _at(3, "05:30")
    room = evolve(_room(), hatches=(RunningHatch("bottle", set_at, 0.6),))
    outlook = make_outlook(room, now=_at(3, "06:10"), days=4)
    (batch,) = outlook.feeding.hatches.batches
    rounds = range(batch.at_index, batch.at_index + 5)
    rows = [outlook.feeding.servings[index] for index in rounds]
    needed_j = sum(s.need.energy_j for row in rows for s in row)
    assert batch.energy_j > 1.5 * needed_j
    fed = [sum(s.given_j.values()) / s.need.energy_j for row in rows for s in row]
    assert fed == [pytest.approx(1.0)] * 5
