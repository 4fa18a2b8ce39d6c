"""Small rules that a slip would turn unseen, each by hand.

Facts of the trade among them are common practice, no source.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.fry.classes import shipped_class
from cultures.fry.feeding import feeding_values
from cultures.needs.need import BroodCourse
from cultures.planning.build import build_tasks
from cultures.planning.lots import LotProblem, Option, amounts
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import make_plan
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Brood, Room
from cultures.tasks.task import HarvestHatch, SetHatch
from cultures.words.moments import hours

_DAY = date(2027, 1, 5)


@pytest.fixture
def room() -> Room:
    return read_room(demo_text(_DAY), today=_DAY)


@pytest.fixture
def now(room: Room) -> datetime:
    return datetime.combine(_DAY, time(7), room.timezone)


def test_wetted_eggs_eat_once_they_have_hatched_and_used_up_their_yolk(room: Room) -> None:
    """A few hours in water, then what is left from hatching to first food at its speed."""
    fry = shipped_class("annual_killifish")
    brood = Brood("wet", room.tanks[0].name, fry, 50.0, _DAY, "wetted", _DAY, survival_per_day=0.98)
    course = BroodCourse.of(evolve(room, broods=(brood,)), brood)
    days = fry.values["first_food_days"] - fry.values["hatch_days"]
    noon_h = hours(room.local(_DAY, time(12)))
    speed = fry.development(room.tanks[0].temperature_c)
    expected = noon_h + feeding_values()["wet_hatch_h"] + 24.0 * days / speed
    assert course.first_food_h == pytest.approx(expected, abs=1e-6)


def test_a_hatch_that_stands_is_one_harvest_and_not_two(room: Room, now: datetime) -> None:
    (hatch,) = room.hatches
    task = next(
        t for t in build_tasks(make_outlook(room, now=now))
        if isinstance(t, HarvestHatch) and t.subject == hatch.vessel
    )  # fmt: skip
    stood_h = hours(task.at) - hours(hatch.set_at)
    model = vessel_model(room, room.vessel(hatch.vessel))
    assert task.nauplii == pytest.approx(hatch.cysts_g * model.nauplii(stood_h), rel=1e-6)


def test_a_bottle_is_set_again_half_an_hour_after_it_was_drawn_off(
    room: Room, now: datetime
) -> None:
    assert room.cysts is not None
    plenty = evolve(room, cysts=evolve(room.cysts, grams=500.0), horizon_days=28)
    tasks = build_tasks(make_outlook(plenty, now=now))
    drawn = {(t.subject, t.at) for t in tasks if isinstance(t, HarvestHatch)}
    sets = [t for t in tasks if isinstance(t, SetHatch)]
    gaps = [
        t.at - max((at for name, at in drawn if name == t.subject and at <= t.at), default=now)
        for t in sets
    ]  # fmt: skip
    assert min(gap for gap in gaps if gap) == timedelta(minutes=30)
    assert {t.until - t.at for t in sets} == {timedelta(minutes=15)}


def _problem(*options: Option, demand: tuple[float, ...]) -> LotProblem:
    return LotProblem(
        demand, (0.9,) * (len(demand) - 1), tuple(range(len(demand))), options, 3.0, 1.0,
        (10.0,) * len(demand),
    )  # fmt: skip


def test_grams_are_what_a_round_wants_of_the_batch_that_serves_it() -> None:
    (lot,) = amounts(_problem(_option(0, 5.0, 9.0), demand=(20.0,)), [_option(0, 5.0, 9.0)])
    assert lot.grams == pytest.approx(4.0)


def _option(vessel: int, energy_per_g: float, most_g: float, effort: float = 1.0) -> Option:
    return Option(vessel, 0, 0.0, 10.0, energy_per_g, most_g, effort)


def test_of_two_batches_for_one_round_the_cheaper_for_what_it_holds_is_filled() -> None:
    """30 J: the small one brings 10 for 3 + 2, 0.5 a joule; the large one all for 3 + 7.5, 0.35."""
    small, large = _option(0, 5.0, 2.0), _option(1, 4.0, 20.0)
    found = amounts(_problem(small, large, demand=(30.0,)), [small, large])
    assert [(lot.option.vessel, round(lot.grams, 9)) for lot in found] == [(1, 7.5)]
    # 8 J: now the small one does it for 3 + 1.6, and the large one would for 3 + 2.
    found = amounts(_problem(small, large, demand=(8.0,)), [small, large])
    assert [(lot.option.vessel, round(lot.grams, 9)) for lot in found] == [(0, 1.6)]


def test_somebody_to_feed_helps_on_the_last_day_of_an_absence_too() -> None:
    """One day away is its own last day."""
    text = demo_text(_DAY) + "\n[[away]]\nfrom = 2027-01-08\nto = 2027-01-08\n"
    away = read_room(text, today=_DAY)
    plan = make_plan(away, now=datetime.combine(_DAY, time(7), away.timezone))
    mine = [s for s in plan.shortfalls if s.at.date() == date(2027, 1, 8)]
    assert mine
    assert any("ask somebody to feed" in r.what for s in mine for r in s.remedies)
