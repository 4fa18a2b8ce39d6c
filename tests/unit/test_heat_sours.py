"""In heat the worms slow down and their medium does not: no culture lasts longer for it."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from itertools import pairwise

import pytest

from cultures.foods.kinds import WormKind, shipped_kind
from cultures.foods.souring import CultureClock, souring_rate
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.worms import CultureState, growth_step, last_useful_age
from cultures.foods.yields import Setup, YieldCurve, daily_yield
from cultures.planning.build import build_tasks
from cultures.planning.outlook import Outlook, make_outlook
from cultures.room.file import read_room
from tests.simulation import simulate

_KINDS = ("microworm", "banana_worm", "grindal_worm", "vinegar_eel", "rotifer", "paramecium")
_DAY = 24.0


def worm_kind(name: str = "microworm") -> WormKind:
    """A shipped kind of worm."""
    kind = shipped_kind(name)
    assert isinstance(kind, WormKind)
    return kind


def _at(kind: WormKind, temperature_c: float) -> CultureClock:
    return CultureClock.of(TemperatureSeries.constant(temperature_c), kind)


def _yield(temperature_c: float) -> YieldCurve:
    setup = Setup(worm_kind(), 150, 180, 15 * 2.0)
    return daily_yield(setup, series=TemperatureSeries.constant(temperature_c), fraction=0.1)


@pytest.mark.parametrize("name", _KINDS)
def test_no_medium_lasts_longer_for_more_heat(name: str) -> None:
    """Warmth speeds up what spoils, so each half degree more sours no later, whatever the worms do;
    and up to their best temperatures it is their own pace, as it always was.
    """
    kind = worm_kind(name)
    sours, warm_c = souring_rate(kind), kind.best_c[1]
    degrees = [half / 2.0 for half in range(10, 81)]
    rates = [sours(each) for each in degrees]
    # To 3 % a half degree: the pace of the worms turns a little below the end of their best.
    assert all(b >= 0.97 * a for a, b in pairwise(rates))
    assert all(sours(each) == kind.rate(each) for each in degrees if each <= warm_c)
    hot = [sours(each) for each in degrees if each >= warm_c]
    assert hot == sorted(hot)
    assert sours(warm_c + 10.0) == pytest.approx(2.0 * kind.rate(warm_c))


def test_the_growth_in_heat_is_that_of_the_worms_and_the_souring_is_not() -> None:
    """At 32 °C microworms live at T (T - 4.1) sqrt(33 - T) = 892.8 over 1432.8 at 24 °C, 0.623;
    the medium sours at 1.04 times the pace of 24 °C at 28 °C, times 2 to the power of 0.4.
    """
    clock = _at(worm_kind(), 32.0)
    aged = 28 * 23.9 * math.sqrt(5) / (24 * 19.9 * math.sqrt(9)) * 2**0.4
    lived = 32 * 27.9 / (24 * 19.9 * math.sqrt(9))
    assert clock.days(0.0, 3 * _DAY) == pytest.approx(3 * aged)
    assert clock.growing.days(0.0, 3 * _DAY) == pytest.approx(3 * lived)
    assert clock.pace(0.0, 3 * _DAY) == pytest.approx(lived / aged)
    assert _at(worm_kind(), 28.0).pace(0.0, _DAY) == 1.0
    assert clock.when(_DAY, 2 * aged) == pytest.approx(3 * _DAY)


def test_a_stretch_in_heat_is_the_law_with_two_clocks() -> None:
    """Integrated in small steps: dN/dt = r g N (1 - N / K), with K by the age of the medium."""
    kind = worm_kind()
    model, clock = kind.model(medium_g=150, surface_cm2=180), _at(kind, 31.5)
    aged, pace = clock.days(0.0, _DAY), clock.pace(0.0, _DAY)
    state = CultureState(400.0, 20.0).later(model, 6 * aged, pace)
    stock, age, steps = 400.0, 20.0, 200_000
    step = 6 * aged / steps
    for _ in range(steps):
        change = pace * model.growth_rate * (1.0 - stock / model.capacity_at(age + step / 2.0))
        stock, age = stock * math.exp(change * step), age + step
    assert state.age == pytest.approx(20.0 + 6 * aged)
    assert state.stock_mg == pytest.approx(stock, rel=1e-4)
    # Nothing grows where nothing can, and a stock that does not grow stands.
    assert growth_step(1.0, 2.0, 0.0, 100.0, 28.0, 3.0) == (1.0, 0.0)


def test_a_hot_culture_gives_later_and_is_spent_sooner() -> None:
    good, hot = _yield(26.0), _yield(32.0)
    assert good.first_harvest_day is not None
    assert hot.first_harvest_day is not None
    assert hot.first_harvest_day > good.first_harvest_day
    model = worm_kind().model(medium_g=150, surface_cm2=180)
    useful = last_useful_age(model, worm_kind().values["retire_share"])
    assert hot.last_useful_day == math.floor(useful / _at(worm_kind(), 32).days(0, _DAY))
    lasts = [_yield(each).last_useful_day for each in (24.0, 28.0, 29.0, 30.0, 31.0, 32.0, 32.5)]
    assert lasts == sorted(lasts, reverse=True)
    assert lasts[-1] < lasts[0] - 5
    assert hot.total_mg < good.total_mg


_ROOM = """
[room]
timezone = "UTC"
temperature_c = {}
as_of = 2027-03-01

[[tank]]
name = "T1"
litres = 20
temperature_c = 26

[[brood]]
name = "fry"
tank = "T1"
class = "bubble_nest"
count = 60
free_swimming = 2027-03-01

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-02-22
medium_g = 150
surface_cm2 = 180
starter_g = 15
"""


def _outlook(temperature_c: float) -> Outlook:
    now = datetime(2027, 3, 1, 7, tzinfo=UTC)
    room = read_room(_ROOM.format(temperature_c), today=now.date())
    return make_outlook(room, now=now, days=28)


def test_the_plan_throws_a_hot_culture_out_sooner_and_splits_more() -> None:
    """Only the order is compared: by how many days is for the two clocks to say."""
    hot, good = (build_tasks(_outlook(degrees)) for degrees in (32.0, 24.0))
    gone = [min(t.at for t in tasks if t.what == "retire") for tasks in (hot, good)]
    assert gone[0] < gone[1]
    splits = [sum(t.what == "split" for t in tasks) for tasks in (hot, good)]
    assert splits[0] > splits[1] > 0


def test_what_the_plan_promises_of_hot_cultures_is_what_they_give() -> None:
    outlook = _outlook(31.5)
    outcome = simulate(outlook.room, build_tasks(outlook), [x for r in outlook.lines for x in r])
    assert outcome.violations == []
    given = {(x.at, x.brood, x.food): x.given_j for r in outlook.lines for x in r}
    assert any(food == "microworm" for _, _, food in given)
    for key, promised in given.items():
        assert outcome.given_j.get(key, 0.0) == pytest.approx(promised, rel=1e-9, abs=1e-9)
