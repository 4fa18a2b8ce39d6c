"""What a culture gives, day by day."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.kinds import WormKind, shipped_kind
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.yields import Setup, Upkeep, daily_yield, yield_interval


def setup(name: str = "microworm", **changes: float) -> Setup:
    kind = shipped_kind(name)
    assert isinstance(kind, WormKind)
    values = {"medium_g": 150.0, "surface_cm2": 180.0, "starter_mg": 200.0, **changes}
    return Setup(
        kind=kind,
        medium_g=values["medium_g"],
        surface_cm2=values["surface_cm2"],
        starter_mg=values["starter_mg"],
    )


def at(temperature_c: float) -> TemperatureSeries:
    return TemperatureSeries.constant(temperature_c)


def test_a_tray_comes_in_within_the_week_and_lasts_a_month() -> None:
    curve = daily_yield(setup(), series=at(24))
    assert curve.first_harvest_day is not None
    assert 3 <= curve.first_harvest_day <= 7
    assert 28 <= curve.last_useful_day <= 35
    assert len(curve.days) == curve.last_useful_day + 1


def test_every_day_follows_from_the_one_before() -> None:
    mine = setup()
    curve = daily_yield(mine, series=at(24), fraction=0.1)
    model = mine.model()
    for before, day in zip(curve.days, curve.days[1:], strict=False):
        left = before.stock_mg - before.harvest_mg
        assert day.stock_mg == pytest.approx(model.grow(left, before.day, day.day))
        assert day.harvest_mg in (0.0, pytest.approx(0.1 * day.stock_mg))
        assert day.energy_j == pytest.approx(day.harvest_mg * mine.kind.values["energy_j_per_mg"])
    assert curve.total_mg == pytest.approx(sum(d.harvest_mg for d in curve.days))


@pytest.mark.parametrize("name", ["microworm", "vinegar_eel"])
def test_a_ten_thousandth_of_a_culture_gives_a_ten_thousandth(name: str) -> None:
    """Every law is of shares of what the medium carries, down to less than a milligram."""
    whole = daily_yield(setup(name), series=at(22))
    part = setup(name, medium_g=0.015, surface_cm2=0.018, starter_mg=0.02)
    assert daily_yield(part, series=at(22)).total_mg == pytest.approx(whole.total_mg * 1e-4)


def test_the_best_fraction_beats_others() -> None:
    best = daily_yield(setup(), series=at(20))
    for fraction in (0.02, 0.06, 0.1, 0.14):
        other = daily_yield(setup(), series=at(20), fraction=fraction)
        assert other.total_mg <= best.total_mg * 1.053


def test_the_best_fraction_comes_every_day() -> None:
    """A bottle that has to be thick is not emptied below that every other day."""
    curve = daily_yield(setup("vinegar_eel", medium_g=1000, starter_mg=30), series=at(22))
    assert curve.first_harvest_day is not None
    given = [d.harvest_mg > 0 for d in curve.days[curve.first_harvest_day :]]
    assert sum(given) > 0.95 * len(given)


def test_a_warm_culture_comes_sooner_and_sours_sooner() -> None:
    cool, warm = daily_yield(setup(), series=at(18)), daily_yield(setup(), series=at(26))
    assert cool.first_harvest_day is not None
    assert warm.first_harvest_day is not None
    assert warm.first_harvest_day < cool.first_harvest_day
    assert warm.last_useful_day < cool.last_useful_day


def test_a_changing_temperature_is_used() -> None:
    cold_week = TemperatureSeries((0.0, 48.0, 48.0 + 168.0), (24.0, 12.0, 24.0))
    curve = daily_yield(setup(), series=cold_week)
    steady = daily_yield(setup(), series=at(24))
    assert curve.first_harvest_day is not None
    assert steady.first_harvest_day is not None
    assert curve.first_harvest_day > steady.first_harvest_day + 3
    assert curve.last_useful_day > steady.last_useful_day + 3


def test_a_starter_larger_than_the_medium_carries_is_cut() -> None:
    curve = daily_yield(setup(starter_mg=1e6), series=at(24))
    assert curve.days[0].stock_mg <= setup().model().capacity_mg


def test_more_days_can_be_shown_than_are_useful() -> None:
    curve = daily_yield(setup(), series=at(24), days=60)
    assert len(curve.days) == 61
    assert all(d.harvest_mg == 0 for d in curve.days[curve.last_useful_day + 1 :])
    assert curve.days[-1].stock_mg < 1
    assert len(daily_yield(setup(), series=at(24), days=3).days) == 4


def test_top_ups_of_medium_prolong_a_culture_and_add_to_it() -> None:
    plain = daily_yield(setup(surface_cm2=600), series=at(24))
    fed = daily_yield(
        evolve(setup(surface_cm2=600), upkeep=Upkeep(topup_g=30, topup_every=7)), series=at(24)
    )
    assert fed.last_useful_day > plain.last_useful_day
    assert fed.total_mg > plain.total_mg


def test_a_split_costs_the_parent_its_starter() -> None:
    plain = daily_yield(setup(), series=at(24), fraction=0.1)
    split = daily_yield(
        evolve(setup(), upkeep=Upkeep(split_day=12, split_mg=200)), series=at(24), fraction=0.1
    )
    assert split.days[12].stock_mg == plain.days[12].stock_mg
    model = setup().model()
    left = split.days[12].stock_mg - split.days[12].harvest_mg - 200
    assert split.days[13].stock_mg == pytest.approx(model.grow(left, 12, 13))
    assert split.total_mg < plain.total_mg


def test_the_interval_holds_the_middle_and_is_the_same_each_time() -> None:
    curve = daily_yield(setup(), series=at(24))
    once = yield_interval(setup(), series=at(24), fraction=curve.fraction)
    again = yield_interval(setup(), series=at(24), fraction=curve.fraction)
    assert once == again
    middle = {
        "first_harvest_day": curve.first_harvest_day,
        "last_useful_day": curve.last_useful_day,
        "total": curve.total_mg,
        "daily": curve.daily_mg,
        "total_energy_j": curve.total_j,
    }
    assert set(middle) == set(once)
    for key, value in middle.items():
        low, high = once[key]
        assert low < high
        assert value is not None
        assert low <= value <= high, key


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"medium_g": 0}, "the medium must be above 0 g, got 0"),
        ({"medium_g": -3}, "the medium must be above 0 g, got -3"),
        ({"medium_g": math.nan}, "the medium must be above 0 g, got nan"),
        ({"surface_cm2": 0}, "the surface must be above 0 cm2, got 0"),
        ({"surface_cm2": math.inf}, "the surface must be above 0 cm2, got inf"),
        ({"starter_mg": 0}, "the starter must hold worms"),
        ({"starter_mg": math.nan}, "the starter must hold worms"),
    ],
)
def test_a_bad_culture_gets_one_clear_message(changes: dict[str, float], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        setup("microworm", **changes)


@pytest.mark.parametrize(
    ("temperature_c", "words"),
    [
        (50, "50 °C: microworm dies at 35 °C and above"),
        (-20, "dies at -2 °C and below"),
        (3, "does not grow at this temperature; keep it above 4.1 and below 33 °C"),
        (34, "does not grow at this temperature"),
    ],
)
def test_a_bad_temperature_gets_one_clear_message(temperature_c: float, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        daily_yield(setup(), series=at(temperature_c))


def test_a_culture_left_alone_fills_up_and_fades() -> None:
    curve = daily_yield(setup(), series=at(24), fraction=0, days=50)
    assert curve.total_mg == 0
    assert curve.first_harvest_day == daily_yield(setup(), series=at(24)).first_harvest_day
    top = max(curve.days, key=lambda d: d.stock_mg)
    assert 0.8 * setup().model().capacity_mg < top.stock_mg
    assert 10 < top.day < 30
    assert curve.days[-1].stock_mg < 0.05 * top.stock_mg


@pytest.mark.parametrize("fraction", [-0.1, 0.5, math.nan])
def test_more_than_climbs_cannot_be_taken(fraction: float) -> None:
    with pytest.raises(RangeError, match=r"must be 0 \(none\) to 0\.15"):
        daily_yield(setup(), series=at(24), fraction=fraction)


@pytest.mark.parametrize(
    ("upkeep", "words"),
    [
        ({"topup_g": -1.0}, "a top-up must be 0 g or more"),
        ({"topup_g": 10.0}, "needs the days between"),
        ({"split_mg": -1.0}, "a starter must be 0 mg or more"),
    ],
)
def test_bad_upkeep_gets_one_clear_message(upkeep: dict[str, float], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        Upkeep(**upkeep)  # type: ignore[arg-type]


def test_a_culture_too_thin_to_climb_is_never_harvested() -> None:
    curve = daily_yield(setup("grindal_worm", starter_mg=1e-9), series=at(20))
    assert curve.first_harvest_day is None
    assert curve.total_mg == curve.daily_mg == 0.0
