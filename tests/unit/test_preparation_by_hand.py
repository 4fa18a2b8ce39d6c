"""What comes before a round, counted back from it, and how much is drawn of which jar."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.harvests import Batch, Portion
from cultures.planning.preparation import (
    as_sieved,
    dose_phrase,
    draws_at,
    hatch_steps,
    jar_label,
    line_dose,
    live_foods,
    steps_before,
    steps_of,
    twins,
)
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.task import Feed, FirstFood, HarvestHatch, HarvestWorms, Soak, Task
from cultures.tasks.told import Draw, FeedLine
from cultures.words.moments import hours
from cultures.words.tasks import Figure, plain
from cultures.words.tools import USUAL, MeasuringCup, Syringe, Tools
from tests.unit.test_planning_by_hand import _rounds
from tests.unit.test_shortfall_limits import _TEXT

_near: Any = pytest.approx

_AT = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)
_MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=date(2027, 1, 5))


def _feed(at: datetime = _AT, *, cups: dict[str, float] | None = None,
          fed: dict[str, float] | None = None) -> Feed:  # fmt: skip
    return Feed(id="feed/1", at=at, until=at + 30 * _MINUTE, subject="round", why="", tanks=1.0,
                cups_ml=cups or {}, fed_ml=fed or {})  # fmt: skip


def _hatch(until: datetime = _AT, minutes: int = 30, jar_ml: float | None = None) -> HarvestHatch:
    return HarvestHatch(id="harvest/1", at=until - minutes * _MINUTE, until=until, subject="V1",
                        why="it is due", nauplii=12345.0, energy_j=1.0, fed_nauplii=1.0,
                        left_over=0.0, jar_ml=jar_ml)  # fmt: skip


def _worms(at: datetime = _AT) -> HarvestWorms:
    return HarvestWorms(id="worms/1", at=at, until=at + 10 * _MINUTE, subject="MW-1", why="",
                        mg=9.0, swipes=1.0)  # fmt: skip


def _soak(until: datetime = _AT) -> Soak:
    return Soak(id="soak/1", at=until - 20 * _MINUTE, until=until, subject="dry", why="", dry_g=0.5,
                spoons=0.1)  # fmt: skip


def _first(at: datetime = _AT) -> FirstFood:
    return FirstFood(id="first/1", at=at, until=at, subject="one", other="A", why="a day old",
                     fry=9.0)  # fmt: skip


# --- in the order of doing


def test_steps_are_counted_back_from_the_round() -> None:
    """Soaking and drawing off at their own times, worms ten and cups five minutes before it."""
    tasks: list[Task] = [_feed(cups={"microworm": 50.0}), _first(), _worms(), _soak(), _hatch()]
    steps = steps_before(tasks, _AT, [])
    assert [(_AT - step.at) // _MINUTE for step in steps] == [30, 20, 15, 10, 5, 0]
    assert [step.before_min for step in steps] == [None, None, None, 10, 5, None]
    done = [step.task.what if step.task is not None else "" for step in steps]
    assert done == ["", "soak", "harvest_hatch", "harvest_worms", "", "first_food"]


def test_steps_of_a_round_are_of_its_own_tasks(room: Room) -> None:
    """A hatch and soaking are done by the round, the others begin with it."""
    later = _AT + timedelta(hours=12)
    own: list[Task] = [_hatch(), _soak(), _worms(), _first(), _feed(cups={"microworm": 50.0})]
    others: list[Task] = [_hatch(later, 12 * 60), _soak(later), _worms(later), _first(later),
                          evolve(_feed(later), until=_AT)]  # fmt: skip
    batches = [SimpleNamespace(harvest_h=hours(_AT), vessel=SimpleNamespace(name="V1"))]
    outlook: Any = SimpleNamespace(
        room=room, told_round=lambda _: SimpleNamespace(draws=()),
        feeding=SimpleNamespace(hatches=SimpleNamespace(batches=batches)),
    )  # fmt: skip
    found = steps_of(outlook, [*others, *own], _AT)
    assert [step.text for step in found] == [s.text for s in steps_before(own, _AT, [])]
    assert len(found) == 6


def test_a_hatch_settles_a_quarter_of_an_hour_but_is_drawn_off_before_cups_are_filled() -> None:
    """Which is five minutes before the round."""
    for minutes, settles in ((30, 15), (15, 10), (10, 5), (5, 0), (3, 0)):
        air_off, drawn = hatch_steps(_hatch(minutes=minutes))
        assert (air_off.at, air_off.task) == (_AT - minutes * _MINUTE, None)
        assert (drawn.at - air_off.at) // _MINUTE == settles
        assert drawn.task is not None
        assert "about 12,000" in plain(drawn.text)
        assert "jar" not in plain(drawn.text)
    _, kept = hatch_steps(_hatch(jar_ml=500.0))
    assert "; put them in a jar of 500 mL of clean salt water. " in plain(kept.text)


# --- cups


def _cups(feed: Feed, draws: list[Draw], alike: tuple[datetime, ...] = ()) -> list[str]:
    return [plain(step.text) for step in steps_before([feed], _AT, draws, Tools(), alike)]


def test_cups_that_hold_the_same_are_told_as_one() -> None:
    cups = {"microworm": 50.0, "banana_worm": 50.0, "grindal_worm": 30.0, "vinegar_eel": 50.0}
    (said,) = _cups(_feed(cups=cups), [])
    assert said == (
        "top up cups with tank water: banana worm to 50 mL, grindal worm to 30 mL,"
        " microworm and vinegar eel each to 50 mL"
    )
    (part,) = _cups(_feed(cups={"microworm": 50.0}, fed={"microworm": 20.0}), [])
    assert part == "top up cups with tank water: microworm to 50 mL, feed 20 mL of it"


def _draw(vessel: str, jar_ml: float | None, take_ml: float, hour: int = 7) -> Draw:
    return Draw(vessel, datetime(2027, 1, 5, hour, tzinfo=UTC), jar_ml, take_ml)


def test_nauplii_come_from_a_hatch_a_whole_jar_or_part_of_one() -> None:
    """Of a jar all but two hundredths is the whole of it; 5 January is a Tuesday."""
    feed = _feed(cups={BRINE_SHRIMP: 60.0, "microworm": 50.0})
    draws = [_draw("V1", None, 0.0), _draw("V2", 500.0, 498.0), _draw("V3", 500.0, 120.0, 19)]
    worms, nauplii = sorted(_cups(feed, draws), key=lambda text: "nauplii" in text)
    assert worms.startswith("top up cups")
    assert nauplii == (
        "nauplii: all that was drawn off V1 and sieve and rinse the whole jar of Tue 07:00 and"
        " stir the jar of Tue 19:00, sieve 120 mL, rinse, fill to 60 mL"
    )
    only = _feed(cups={BRINE_SHRIMP: 60.0})
    assert _cups(only, []) == ["nauplii: fill to 60 mL"]
    for take_ml, whole in ((489.0, False), (490.0, True), (497.6, True), (500.0, True)):
        (said,) = _cups(only, [_draw("V1", 500.0, take_ml)])
        assert ("whole jar" in said) is whole, take_ml


def test_a_jar_is_called_by_its_vessel_where_two_have_one_time() -> None:
    draw, other = _draw("V1", 500.0, 9.0), datetime(2027, 1, 5, 8, tzinfo=UTC)
    assert jar_label(draw, (other,), "metric") == "Tue 07:00"
    assert jar_label(draw, (other, draw.harvested), "metric") == "Tue 07:00 from V1"
    assert "AM" in jar_label(draw, (), "us").upper()


def test_two_vessels_drawn_off_at_one_time_are_twins(room: Room) -> None:
    first_h = hours(_AT)
    batches = [
        SimpleNamespace(harvest_h=first_h + by, vessel=SimpleNamespace(name=name))
        for by, name in ((0.0, "V1"), (12.0, "V1"), (12.0, "V2"), (24.0, "V1"))
    ]
    outlook: Any = SimpleNamespace(
        room=room, feeding=SimpleNamespace(hatches=SimpleNamespace(batches=batches))
    )
    assert twins(outlook) == {_AT + timedelta(hours=12)}
    # A round in hand empties the other jar of the first, so that it is not held any more.
    draw = evolve(_draw("V3", 500.0, 500.0), harvested=_AT)
    told: Any = SimpleNamespace(draws=(draw,))
    outlook.room = evolve(room, in_hand=(told,))
    assert twins(outlook) == {_AT, _AT + timedelta(hours=12)}


# --- what is drawn of which harvest


def _outlook(room: Room, portions: Sequence[tuple[Portion, ...]], batches: list[Batch]) -> Any:
    hatches = SimpleNamespace(portions=portions, batches=batches)
    return SimpleNamespace(room=room, feedings=_rounds(len(portions)), told_round=lambda _: None,
                           feeding=SimpleNamespace(hatches=hatches))  # fmt: skip


def _batch(room: Room, nauplii: float, hour: float = -0.5, **more: Any) -> Batch:
    harvest_h = hours(_AT) + hour
    return Batch(room.vessels[0], 0, harvest_h - 24, harvest_h, 1.0, nauplii, 1.0, **more)


def test_a_round_draws_its_share_of_what_is_alive(room: Room) -> None:
    """Half a litre holds four million; in the fridge some die by the hour."""
    cold = evolve(room, fridge_c=4.0)
    dies = cold.hatch_kind.values["cold_death_per_h"]
    assert dies > 0.0
    batches = [_batch(room, 100_000.0), _batch(room, 6_000_000.0, 11.5)]
    portions = [(Portion(0, 1.0, 40_000.0),), (Portion(0, 1.0, 20_000.0), Portion(1, 1.0, 3e6)), ()]
    outlook = _outlook(cold, portions, batches)
    (first,) = draws_at(outlook, _AT)
    assert (first.vessel, first.harvested, first.jar_ml) == ("V1", _AT - 30 * _MINUTE, 500.0)
    alive = 100_000.0 * math.exp(-dies * 0.5)
    assert first.take_ml == pytest.approx(40_000.0 / alive * 500.0)
    assert first.part == pytest.approx(40_000.0 / alive)
    old, new = draws_at(outlook, _AT + timedelta(hours=12))
    assert old.part == pytest.approx(20_000.0 / (100_000.0 * math.exp(-dies * 12.5)))
    assert new.jar_ml == 1000.0  # two of half a litre
    assert new.take_ml == pytest.approx(1000.0 * 3e6 / (6e6 * math.exp(-dies * 0.5)))
    assert draws_at(outlook, _AT + timedelta(hours=24)) == []
    assert draws_at(outlook, _AT + timedelta(hours=1)) == []  # no round


def test_no_more_is_drawn_than_there_is(room: Room) -> None:
    """Of a harvest of which a third is left in its jar; and one that one round takes whole."""
    left = _batch(room, 1_000.0, held=True, share=1 / 3)
    (draw,) = draws_at(_outlook(room, [(Portion(0, 1.0, 5_000.0),)], [left]), _AT)
    assert draw.jar_ml == pytest.approx(500.0 / 3)
    assert (draw.take_ml, draw.part) == (_near(500.0 / 3), _near(1 / 3))
    whole = _batch(room, 1_000.0)
    (draw,) = draws_at(_outlook(room, [(Portion(0, 1.0, 990.0),)], [whole]), _AT)
    assert (draw.jar_ml, draw.take_ml) == (None, 0.0)
    assert draw.part == pytest.approx(0.99)
    none = _batch(room, 0.0)
    (draw,) = draws_at(_outlook(room, [(Portion(0, 0.0, 0.0),)], [none]), _AT)
    assert (draw.take_ml, draw.part) == (0.0, 0.0)
    few = _batch(room, 0.8)
    (draw,) = draws_at(_outlook(room, [(Portion(0, 0.0, 0.4),)], [few]), _AT)
    assert draw.part == pytest.approx(0.5)


def test_what_is_sieved_by_the_marks_leaves_so_much_less_for_the_next_round(room: Room) -> None:
    """375 mL hold 375,000: 164, 175 and 36 mL are wanted, and a cup marked every 25 mL sieves 175
    for each of the first two; so 25 are left for the third, and nothing for a fourth.
    """
    cups = evolve(room, tools=Tools(syringes=(Syringe(10.0, 0.2),),
                                    cups=(MeasuringCup(500.0, 25.0),)))  # fmt: skip
    jar = _batch(cups, 375_000.0, held=True, jar_ml=375.0)
    wanted: list[tuple[Portion, ...]] = [
        (Portion(0, 1.0, n),) for n in (164_000.0, 175_000.0, 35_000.0, 1_000.0)
    ]
    outlook = _outlook(cups, wanted, [jar])
    takes = [[d.take_ml for d in draws_at(outlook, r.at)] for r in outlook.feedings]
    assert takes == [[_near(164.0)], [_near(175.0)], [_near(25.0)], []]


@pytest.mark.parametrize(("jar_ml", "take_ml", "sieved_ml"), [
    (500.0, 170.118, 175.0), (250.0, 244.8, 250.0), (400.0, 274.1, 275.0), (500.0, 491.0, 500.0),
    (240.0, 238.0, 240.0), (100.0, 100.0, 100.0),
])  # fmt: skip
def test_what_is_left_is_what_the_screens_numbers_leave(
    jar_ml: float, take_ml: float, sieved_ml: float
) -> None:
    """Sieved with a cup marked every 25 mL; what would be a crumb goes with the rest."""
    tools = Tools(syringes=(Syringe(10.0, 0.2),), cups=(MeasuringCup(500.0, 25.0),))
    draw = Draw("V1", _AT, jar_ml, take_ml, 0.5 * take_ml / jar_ml)
    found = as_sieved(draw, tools)
    assert (found.take_ml, found.part) == (_near(sieved_ml), _near(0.5 * sieved_ml / jar_ml))
    assert as_sieved(found, tools) == found


def test_what_is_drawn_off_for_one_round_is_not_measured() -> None:
    draw = _draw("V1", None, 0.0)
    assert as_sieved(draw, USUAL) is draw


def test_what_was_told_of_a_round_stands(room: Room) -> None:
    told = (_draw("V9", 500.0, 3.0),)
    outlook = _outlook(room, [()], [])
    outlook.told_round = lambda at: SimpleNamespace(draws=told) if at == _AT else None
    assert draws_at(outlook, _AT) == told


# --- how doses are said


def _line(food: str, amount: float, **more: Any) -> FeedLine:
    return FeedLine(at=_AT, tank="A", brood="one", food=food, need_j=1.0, given_j=1.0,
                    amount=amount, unit="mL", **more)  # fmt: skip


def test_foods_stand_in_the_order_of_their_size_and_dry_food_last() -> None:
    names = ["dry", "zebra_worm", "grindal_worm", BRINE_SHRIMP, "attic_worm", "vinegar_eel",
             "rotifer", "banana_worm", "microworm", "paramecium"]  # fmt: skip
    lines = [_line(name, 1.0) for name in names]
    assert live_foods(lines) == [
        "paramecium", "vinegar_eel", "microworm", "banana_worm", "rotifer", BRINE_SHRIMP,
        "grindal_worm", "attic_worm", "zebra_worm", "dry",
    ]  # fmt: skip
    assert live_foods([_line("dry", 0.0), _line("microworm", 0.5), _line("rotifer", 0.0)]) == [
        "microworm"
    ]
    assert live_foods([]) == []


def test_dry_food_is_said_in_water_where_it_is_soaked() -> None:
    """A tool of whole millilitres; 0.02 of 0.04 g are soaked in 10 mL of water, or weighed."""
    tools = Tools(syringes=(Syringe(60.0, 1.0),))
    live = _line("microworm", 12.3)
    assert line_dose(live, [live], tools) == "12 mL"
    soaked = _line(DRY, 0.02, wet_ml=7.0)
    (shown,) = dose_phrase(soaked, [soaked], tools)
    assert isinstance(shown, Figure)
    assert (shown.shown, shown.value) == ("7 mL", 7.0)
    assert shown.of == f"{_AT.isoformat()}/one/dry#soaked_ml"
    much = _line(DRY, 40.0)
    assert line_dose(much, [much], tools) == "40 g"
