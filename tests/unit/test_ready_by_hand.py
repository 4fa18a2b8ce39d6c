"""What ``ready`` tries besides, and where the nauplii of a round come from, by hand."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.foods.food import BRINE_SHRIMP
from cultures.needs.need import BroodNeed
from cultures.planning.carry import Lift, lifts_of
from cultures.planning.changes import usual_culture
from cultures.planning.gaps import Gap
from cultures.planning.harvests import Portion
from cultures.planning.outlook import make_outlook
from cultures.planning.preparation import draws_at
from cultures.planning.ready import first_ripe, last_start, supposed
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _rounds

_TODAY = date(2027, 1, 5)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(demo_text(_TODAY), today=_TODAY)


@pytest.fixture(scope="module")
def now(room: Room) -> datetime:
    return datetime(2027, 1, 5, 7, tzinfo=room.timezone)


@pytest.mark.parametrize("degrees", [18.0, 22.0, 26.0])
def test_begun_on_its_last_day_a_culture_is_ripe_in_time_and_a_day_later_it_is_not(
    room: Room, degrees: float
) -> None:
    for kind in room.worm_kinds():
        pattern = evolve(usual_culture(room, kind), temperature_c=degrees)
        at = datetime(2027, 3, 20, 18, 30, tzinfo=room.timezone)
        day = last_start(room, pattern, hours(at))
        assert day is not None
        ripe = first_ripe(room, evolve(pattern, started=day))
        late = first_ripe(room, evolve(pattern, started=day + timedelta(days=1)))
        assert ripe is not None
        assert late is not None
        assert ripe <= at.date() <= late


def test_a_brood_asked_about_lives_where_it_is_said_or_in_the_first_empty_tank(room: Room) -> None:
    taken = {brood.tank for brood in (*room.broods, *room.hoped)}
    empty = next(tank.name for tank in room.tanks if tank.name not in taken)
    assert supposed(room, "betta 9", _TODAY)[1].tank == empty
    other = room.broods[0].tank
    assert supposed(room, "betta 9", _TODAY, other)[1].tank == other
    warm, brood = supposed(room, "betta 9", _TODAY, temperature_c=25.5)
    assert warm.tank(brood.tank).temperature_c == 25.5
    assert brood.tank not in {tank.name for tank in room.tanks}


def test_a_starter_comes_once_it_can_be_fetched_and_is_added_to_the_list(
    room: Room, now: datetime
) -> None:
    feeding = _rounds(1)[0]
    brood = evolve(room.broods[0], foods=(BRINE_SHRIMP,))
    gap = Gap(feeding, BroodNeed(brood, feeding.at, 6.0, 10, 100.0, {}), "microworm", 10.0)
    (lift,) = lifts_of(room, now, gap, "none")
    day = _TODAY + room.fetched_in("starter")
    assert (lift.what, lift.supposition) == ("culture", f"buy microworm on {day}")
    assert lift.given_to(brood).foods == (BRINE_SHRIMP, "microworm")
    assert len(lift.room(room, now).cultures) == len(room.cultures) + 1
    every = evolve(brood, foods=None)
    assert lift.given_to(every) is every
    has = evolve(brood, foods=("microworm",))
    assert lift.given_to(has) is has
    assert Lift("vessel", "a vessel").given_to(brood) is brood
    assert Lift("food", "dry food", food="dry").room(room, now) is room


def test_nauplii_of_a_round_come_from_harvests_by_the_share_of_what_lives(
    room: Room, now: datetime
) -> None:
    """A third of one; and of another no more than there is."""
    outlook = make_outlook(room, now=now, days=7)
    hatches, holding = outlook.feeding.hatches, room.holding
    index = next(i for i, row in enumerate(hatches.portions) if row)
    feeding, number = outlook.feedings[index], hatches.portions[index][0].batch
    batch = hatches.batches[number]
    alive = batch.nauplii * holding.alive(batch.harvest_h, feeding.at_h)
    for taken, share in ((alive / 3, 1 / 3), (2 * alive, 1.0)):
        hatches.portions[index] = (Portion(number, 1.0, taken),)
        (draw,) = draws_at(outlook, feeding.at)
        assert draw.vessel == batch.vessel.name
        assert draw.harvested == room.at_hour(batch.harvest_h)
        assert draw.part == pytest.approx(share * batch.share)
        if draw.jar_ml:
            assert draw.take_ml == pytest.approx(share * draw.jar_ml)
    assert not draws_at(outlook, feeding.at + timedelta(minutes=1))
