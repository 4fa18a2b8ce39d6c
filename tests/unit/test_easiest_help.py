"""What is told first against a shortage: warming a bottle before getting another one, what can be
bought before what must be found at somebody's.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cli.screens import check
from cli.screens.shortfalls import all_shortfalls
from cultures.foods.kinds import HatchKind, shipped_kind
from cultures.planning.changes import slow_vessels, with_warm_vessels
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.record.advice import open_advice
from cultures.record.store import Advised, Record
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Room, RunningHatch
from cultures.tasks.plan import Act, Remedy, Shortfall
from cultures.words.moments import hours

_ZONE = ZoneInfo("Europe/Lisbon")
_NOW = datetime(2027, 1, 5, 7, tzinfo=_ZONE)

#: Fry that take nauplii from the first meal on, and one bottle in a room of 20 °C: it is set about
#: every 36 h, so one round of three has no food.
_TEXT = """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 20
as_of = 2027-01-05
horizon_days = 8

[[tank]]
name = "T1"
litres = 40
temperature_c = 27

[[brood]]
name = "angels"
tank = "T1"
species = "angelfish"
count = 150
spawned = 2026-12-31
foods = ["brine_shrimp"]

[[vessel]]
name = "bottle 1"
litres = 1
temperature_c = 20

[cysts]
grams = 50
"""


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_NOW.date())


def _kind() -> HatchKind:
    kind = shipped_kind("brine_shrimp")
    assert isinstance(kind, HatchKind)
    return kind


def test_hatches_are_slow_where_half_of_one_takes_longer_than_a_day() -> None:
    """T50 is sqrt(17 h x 23 h) = 19.8 h at 27 °C. By degrees above 9.1 °C it is 24 h at about
    24 °C, and 32 h at 20 °C; the demo room's bottles at 26 °C and those at 25 °C are not slow.
    """
    slow = [degrees for degrees in range(15, 33) if _kind().is_slow(degrees)]
    assert slow == [*range(15, slow[-1] + 1)]
    assert slow[-1] in (22, 23, 24)


def test_where_cold_water_is_what_makes_hatches_slow_the_bottle_is_warmed(room: Room) -> None:
    """At 27 °C it is ripe in a day, so it can be set every evening and every morning has food."""
    plan = plan_of(make_outlook(room, now=_NOW))
    (first, *_) = [s for s in plan.shortfalls if s.limit == "vessels"]
    (warm,) = (r for r in first.remedies if r.act is Act.WARM)
    assert warm.effect_j > 0.95 * first.short_j
    assert first.steps == (warm,)
    assert "bottle 1 in a water bath of 27 °C" in warm.what
    assert "salt water beside mains" in warm.what
    assert "a hatch takes about 43 h at 20 °C" in first.cause
    assert _NOW <= warm.by <= first.at
    # Done in the room, it does what it says, and is asked for no more.
    warmed = evolve(room, vessels=(evolve(room.vessels[0], temperature_c=27.0),))
    after = plan_of(make_outlook(warmed, now=_NOW))
    left_j = sum(s.short_j for s in after.shortfalls if s.limit == "vessels")
    assert left_j < 0.05 * sum(s.short_j for s in plan.shortfalls)
    assert not any(r.act is Act.WARM for s in after.shortfalls for r in s.remedies)
    told = Record({}, advised=Advised(_NOW, 0, (warm.advice,)))
    assert open_advice(told, [], room) == (warm.advice,)
    assert open_advice(told, [], warmed) == ()


def test_what_is_short_again_and_again_for_one_cause_is_told_once(room: Room) -> None:
    """One round of three has no food, for want of warmth: one line, and each thing to do once."""
    plan = plan_of(make_outlook(room, now=_NOW))
    (short,) = (s for s in plan.shortfalls if s.limit == "vessels")
    assert short.rounds > 2
    assert short.until - short.at > timedelta(days=2)
    shown = " ".join(all_shortfalls(plan.shortfalls, plan.end, "metric").split())
    assert f", {short.rounds} rounds (" in shown
    assert shown.count("stand bottle 1 in a water bath") == 1
    assert shown.count("nauplii short") == 1


def test_a_hatch_that_stands_gains_nothing_by_warm_water_that_comes_later(room: Room) -> None:
    set_at = _NOW - timedelta(hours=30)
    drawn = _NOW + timedelta(hours=6)
    standing = RunningHatch("bottle 1", set_at, 1.0, harvest_at=drawn)
    here = evolve(room, hatches=(standing,))
    warm = with_warm_vessels(here, slow_vessels(here), _NOW)
    cold_rate = vessel_model(here, here.vessels[0]).rate
    warm_rate = vessel_model(warm, warm.vessels[0]).rate
    (hatch,) = warm.hatches

    def age(at: datetime) -> float:
        return (hours(at) - hatch.begun_h(warm_rate)) * warm_rate

    assert age(drawn) == pytest.approx(36.0 * cold_rate)
    assert age(_NOW) < 30.0 * cold_rate


def test_check_says_where_hatching_is_slow(room: Room) -> None:
    """docs/room-file.md: of a vessel's temperature. At 20 °C no hatch is unreliable, only slow."""
    (said,) = (n for n in check.facts(room, _NOW)["notes"] if n.startswith("bottle 1 at 20"))
    assert "after about 43 h" in said
    assert "a water bath of 27 °C (salt water beside mains" in said
    warm = evolve(room, vessels=(evolve(room.vessels[0], temperature_c=26.0),))
    assert not any("bottle 1 at" in note for note in check.facts(warm, _NOW)["notes"])


def _shortfall(*remedies: Remedy) -> Shortfall:
    return Shortfall(
        at=_NOW + timedelta(days=3), until=_NOW + timedelta(days=4), rounds=2, food="brine_shrimp",
        need_j=200.0, short_j=100.0, tanks=("T1",), cause="", remedies=remedies,
    )  # fmt: skip


def _remedy(act: Act, day: int, effect_j: float, *, told: bool = False) -> Remedy:
    return Remedy(act.value, _NOW + timedelta(days=day), effect_j, act=act, told=told)


def test_what_must_be_found_is_no_step_where_a_vessel_fills_as_much() -> None:
    vessel, ripe = _remedy(Act.VESSEL, 2, 98.0), _remedy(Act.RIPE, 1, 100.0, told=True)
    assert _shortfall(ripe, vessel).steps == (vessel,)
    # Where it fills much more, or earlier, it stays.
    less = _remedy(Act.VESSEL, 2, 80.0)
    assert _shortfall(ripe, less).steps == (ripe,)
    late = evolve(vessel, helps_from=_NOW + timedelta(days=4))
    assert _shortfall(ripe, late).steps == (ripe,)
    # Warming is less than either; cysts are bought all the same.
    warm, cysts = _remedy(Act.WARM, 2, 100.0), _remedy(Act.BUY, 1, 50.0)
    assert _shortfall(ripe, vessel, warm).steps == (warm,)
    assert cysts in _shortfall(cysts, vessel).steps


def test_what_to_take_care_of_is_said_once_for_all_shortfalls(room: Room) -> None:
    """Two weeks later it is short again, which is another shortfall with the same help."""
    plan = plan_of(make_outlook(room, now=_NOW))
    (first,) = (s for s in plan.shortfalls if s.limit == "vessels")
    later = evolve(first, at=first.at + timedelta(days=14), until=first.until + timedelta(days=14))
    text = " ".join(all_shortfalls([first, later], plan.end, "metric").split())
    assert text.count("bottle 1 in a water bath of 27 °C") > 1
    assert text.count("salt water beside mains") == 1
