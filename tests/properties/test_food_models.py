"""Laws that the food models keep, and their closed forms against numerical integration."""

from __future__ import annotations

import math
from datetime import UTC, datetime, time, timedelta

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from cultures.foods.hatch_request import HatchNotPossibleError, HatchRequest
from cultures.foods.hatch_sizing import size_hatch
from cultures.foods.hatching import HatchModel, hatched_fraction, log_logistic_shape, standing_value
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind, WormKind, shipped_kind
from cultures.foods.temperature import Briere, Clock, TemperatureSeries
from cultures.foods.vessels import Vessel
from cultures.foods.worms import (
    WormModel,
    age_of_medium,
    first_harvest_age,
    growth_step,
    last_useful_age,
    through,
)
from cultures.foods.yields import Setup, daily_yield
from cultures.words.moments import hours
from tests.examples import examples

QUICK = settings(max_examples=150, deadline=None)


def logs(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers spread evenly over powers of ten."""
    return st.floats(math.log10(low), math.log10(high)).map(lambda x: 10.0**x)


@st.composite
def worm_models(draw: st.DrawFn) -> WormModel:
    return WormModel(
        growth_rate=draw(logs(0.01, 5)),
        lag=draw(st.sampled_from([0.0, 0.5, 4.0])),
        capacity_mg=draw(logs(1e-3, 1e7)),
        half_spent_age=draw(logs(1, 2000)),
        souring_width=draw(logs(0.1, 500)),
        climbing_fraction=draw(st.floats(0.001, 1)),
        climbing_density=draw(st.floats(0.001, 0.99)),
    )


def by_solver(stock: float, from_age: float, to_age: float, m: dict[str, float]) -> float:
    """The same culture by a Runge-Kutta solver of order 8, on u = 1 / N.

    In u the equation is linear and mild even where the stock stands far above what an old
    medium carries; the test below solves it as it is written.
    """
    r, capacity = m["growth_rate"], m["capacity"]

    def slope(age: float, u: list[float]) -> list[float]:
        spent = math.exp((age - m["half_spent_age"]) / m["souring_width"])
        return [r * ((1.0 + spent) / capacity - u[0])]

    solution = solve_ivp(
        slope, (from_age, to_age), [1.0 / stock], method="DOP853", rtol=1e-12, atol=0.0
    )
    return 1.0 / float(solution.y[0, -1])


@st.composite
def lives(draw: st.DrawFn) -> tuple[dict[str, float], float, float, list[tuple[float, float]]]:
    """A culture, its start, and stretches of life each ended by a harvest of a share."""
    growth_rate = draw(logs(0.02, 3))
    width = draw(logs(0.3, 200))
    capacity = draw(logs(1e-3, 1e6))
    model = {
        "growth_rate": growth_rate,
        "capacity": capacity,
        "half_spent_age": draw(logs(1, 1000)),
        "souring_width": width,
    }
    stock = capacity * draw(logs(1e-8, 1))
    # from fresh to so old that 1e-87 of the medium is left
    age = model["half_spent_age"] + width * draw(st.floats(-10, 150))
    stretches = draw(
        st.lists(
            st.tuples(logs(1e-6, 50), st.sampled_from([0.0, 0.1, 0.5, 0.999999])),
            min_size=1, max_size=3,
        )
    )  # fmt: skip
    return model, stock, max(0.0, age), stretches


@settings(
    max_examples=examples(suite=200, thorough_run=1000),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(lives())
@example(({"growth_rate": 0.5, "capacity": 1e3, "half_spent_age": 28.0, "souring_width": 3.0},
          1e-5, 0.0, [(50.0, 0.0)]))  # fmt: skip
@example(({"growth_rate": 0.5, "capacity": 1e3, "half_spent_age": 28.0, "souring_width": 3.0},
          1e3, 478.0, [(1e-6, 0.999999), (50.0, 0.0)]))  # fmt: skip
def test_closed_form_agrees_with_a_solver(
    life: tuple[dict[str, float], float, float, list[tuple[float, float]]],
) -> None:
    m, stock, age, stretches = life
    closed = solved = stock
    for rd, harvest in stretches:
        later = age + min(rd / m["growth_rate"], 120 * m["souring_width"])
        assume(later > age)
        closed = through(growth_step(from_age=age, to_age=later, **m), closed)
        solved = by_solver(solved, age, later, m)
        # DOP853 itself is off by up to 1.5e-9 here, Radau by 1e-16 (which cannot do the longest).
        assert closed == pytest.approx(solved, rel=1e-8, abs=0)
        closed, solved, age = closed * (1 - harvest), solved * (1 - harvest), later


@settings(max_examples=100, deadline=None)
@given(st.floats(0.05, 1.5), logs(1e-6, 1), st.floats(0, 60), st.floats(0.1, 40))
def test_closed_form_solves_the_equation_as_written(
    growth_rate: float, share: float, age: float, days: float
) -> None:
    """dN/dt = r N (1 - N / K(t)) itself, on cultures as keepers have them."""

    def capacity(at: float) -> float:
        return 3000.0 / (1.0 + math.exp((at - 28.0) / 3.0))

    stock = share * capacity(age)
    solution = solve_ivp(
        lambda at, n: [growth_rate * n[0] * (1.0 - n[0] / capacity(at))], (age, age + days),
        [stock], method="DOP853", rtol=1e-12, atol=1e-18,
    )  # fmt: skip
    step = growth_step(age, age + days, growth_rate, 3000.0, half_spent_age=28.0, souring_width=3.0)
    assert through(step, stock) == pytest.approx(float(solution.y[0, -1]), rel=1e-9)


@QUICK
@given(worm_models(), logs(1e-12, 1), st.floats(0, 1e6), logs(1e-9, 1e7))
def test_stock_stays_between_nothing_and_the_fresh_capacity(
    model: WormModel, share: float, age: float, days: float
) -> None:
    stock = model.grow(share * model.capacity_mg, age, age + days)
    assert 0 <= stock <= model.capacity_mg * (1 + 1e-12)


@QUICK
@given(worm_models(), logs(1e-6, 1), st.floats(0, 300), st.floats(0, 100), st.floats(0, 100))
def test_growing_twice_is_growing_once(
    model: WormModel, share: float, age: float, first: float, second: float
) -> None:
    stock = share * model.capacity_mg
    halfway = model.grow(stock, age, age + first)
    twice = model.grow(halfway, age + first, age + first + second)
    once = model.grow(stock, age, age + first + second)
    assert twice == pytest.approx(once, rel=1e-9, abs=1e-290)


@QUICK
@given(worm_models(), logs(1e-6, 1))
@example(WormModel(0.05, 0.0, 100.0, 5.0, 1.0, 1.0, 0.9), 0.5)  # sour before it has grown
def test_first_harvest_age_is_where_climbing_begins(model: WormModel, share: float) -> None:
    starter = share * model.capacity_mg
    age = first_harvest_age(model, starter)
    assert math.isfinite(age)
    assume(model.capacity_at(age) > 0)
    assert model.climbing(model.grow(starter, 0.0, age), age) > 0
    before = age - 1e-6 * (1 + age)
    if before > model.lag:
        assert model.climbing(model.grow(starter, 0.0, before), before) == 0


@QUICK
@given(worm_models(), st.floats(0.01, 0.9))
def test_last_useful_age_leaves_the_share(model: WormModel, share: float) -> None:
    age = last_useful_age(model, share)
    if age > model.lag:
        assert model.capacity_at(age) == pytest.approx(share * model.capacity_mg, rel=1e-9)


@QUICK
@given(worm_models(), st.floats(0, 300), st.floats(0, 1))
def test_a_top_up_never_ages_the_medium(model: WormModel, age: float, share: float) -> None:
    mixed = age_of_medium(model, age, model, share)
    assert mixed <= age + 1e-9
    assert model.capacity_at(mixed) >= model.capacity_at(age) * (1 - 1e-9)


@QUICK
@given(
    st.sampled_from(["microworm", "banana_worm", "vinegar_eel", "grindal_worm", "paramecium"]),
    st.floats(0, 1),
    st.floats(0, 1),
    logs(0.01, 1),
)
def test_warmer_up_to_the_optimum_never_delays_the_first_harvest(
    name: str, low: float, high: float, share: float
) -> None:
    kind = shipped_kind(name)
    assert isinstance(kind, WormKind)
    optimum = max((i / 10 for i in range(500)), key=kind.rate)
    span = optimum - 10.0
    cold, warm = (10.0 + span * x for x in sorted((low, high)))
    setup = Setup(kind=kind, medium_g=100, surface_cm2=100, starter_mg=share * 100)
    firsts = [
        daily_yield(
            setup, series=TemperatureSeries.constant(t), fraction=kind.values["climbing_fraction"]
        ).first_harvest_day
        for t in (warm, cold)
    ]
    assert firsts[0] is not None
    assert firsts[1] is None or firsts[0] <= firsts[1]


@st.composite
def series(draw: st.DrawFn) -> TemperatureSeries:
    gaps = draw(st.lists(st.floats(1, 500), min_size=1, max_size=6))
    starts = [sum(gaps[:i]) for i in range(len(gaps))]
    return TemperatureSeries(tuple(starts), tuple(draw(st.floats(-5, 45)) for _ in gaps))


@QUICK
@given(series(), st.floats(0, 1000), st.floats(0, 1000))
def test_changing_temperature_is_the_integral_of_the_rate(
    temperatures: TemperatureSeries, start: float, length: float
) -> None:
    rate = Briere(t_min_c=8, t_max_c=33, t_ref_c=24)
    clock = Clock.of(temperatures, rate)
    total, _ = quad(
        lambda t: rate(temperatures.at(t)) / 24.0, start, start + length,
        points=[s for s in temperatures.starts if start < s < start + length] or None,
        limit=200,
    )  # fmt: skip
    assert clock.days(start, start + length) == pytest.approx(total, rel=1e-9, abs=1e-9)
    if total > 1e-6:
        end = clock.when(start, total * (1 - 1e-10))
        assert clock.days(start, end) == pytest.approx(total, rel=1e-9)
        assert end <= start + length + 1e-6


@st.composite
def hatch_models(draw: st.DrawFn) -> HatchModel:
    t10 = draw(st.floats(5, 40))
    t50_h, shape = log_logistic_shape(t10_h=t10, t90_h=t10 + draw(st.floats(2, 24)))
    return HatchModel(
        t50_h=t50_h,
        shape=shape,
        rate=draw(st.floats(0.2, 1.5)),
        nauplii_per_gram=200000,
        energy_j=0.04,
        loss_per_h=draw(st.floats(0.0005, 0.05)),
    )


@QUICK
@given(hatch_models(), st.floats(0.1, 150))
def test_standing_energy_is_the_integral_over_the_hatching_times(
    model: HatchModel, end: float
) -> None:
    def left(s: float) -> float:
        share = hatched_fraction(s * model.rate, t50_h=model.t50_h, shape=model.shape)
        density = model.shape / s * share * (1 - share) if s > 0 else 0.0
        return density * math.exp(-model.loss_per_h * (end - s))

    middle = model.t50_h / model.rate
    nodes = [x for x in (0.5 * middle, middle, 1.5 * middle) if x < end]
    total, _ = quad(left, 0, end, points=nodes or None, limit=400)
    ours = standing_value(
        end, t50_h=model.t50_h, shape=model.shape, rate=model.rate, loss_per_h=model.loss_per_h
    )
    assert ours == pytest.approx(total, rel=1e-6, abs=2e-6)


@QUICK
@given(hatch_models(), st.floats(0, 200))
@example(HatchModel(t50_h=5.9, shape=13.0, rate=1.0, nauplii_per_gram=200000, energy_j=0.04,
                    loss_per_h=0.03), 5e-324)  # fmt: skip
def test_energy_standing_never_exceeds_what_hatched(model: HatchModel, end: float) -> None:
    assert 0 <= model.energy(end) <= model.nauplii(end) * model.energy_j * (1 + 1e-9)


@settings(max_examples=60, deadline=None)
@given(hatch_models())
@example(HatchModel(t50_h=11.8, shape=2.55, rate=1.5, nauplii_per_gram=200000, energy_j=0.04,
                    loss_per_h=0.0005))  # fmt: skip
@example(HatchModel(t50_h=12.0, shape=2.5, rate=0.2, nauplii_per_gram=200000, energy_j=0.04,
                    loss_per_h=0.2))  # fmt: skip
def test_best_hours_is_the_best_and_lies_in_its_window(model: HatchModel) -> None:
    best = model.best_hours()
    low, high = model.window(0.9)
    assert low < best < high
    top = model.energy(best)
    assert all(model.energy(best * i / 20) <= top * (1 + 1e-6) for i in range(1, 60))
    assert model.energy(low) == pytest.approx(0.9 * top, rel=0.01)
    assert model.energy(high) == pytest.approx(0.9 * top, rel=0.01)


@settings(max_examples=100, deadline=None)
@given(
    logs(100, 3e6),
    st.floats(20, 30),
    st.integers(0, 47),
    st.lists(st.sampled_from([0.5, 1.0, 2.0]), min_size=1, max_size=4),
    st.sampled_from([None, 5.0]),
)
def test_a_hatch_gives_what_it_was_sized_for_and_little_more(
    nauplii: float,
    temperature_c: float,
    half_hours: int,
    litres: list[float],
    fridge_c: float | None,
) -> None:
    kind = shipped_kind("brine_shrimp")
    assert isinstance(kind, HatchKind)
    vessels = tuple(Vessel(f"v{i}", size, temperature_c, 25.0) for i, size in enumerate(litres))
    at = datetime(2027, 1, 6, tzinfo=UTC) + timedelta(minutes=30 * half_hours)
    request = HatchRequest(
        at=at, vessels=vessels, awake=(time(6), time(22)), nauplii=nauplii,
        holding=Holding(kind, fridge_c, lambda _: 24.0),
    )  # fmt: skip
    try:
        sized = size_hatch(request)
    except HatchNotPossibleError:
        most = sum(kind.most_grams(v.litres) for v in vessels)
        assert most * kind.values["nauplii_per_gram"] < 1.6 * nauplii
        return
    assert sized.nauplii >= nauplii * (1 - 1e-9)
    assert sized.left_over == pytest.approx(sized.nauplii - nauplii, rel=1e-6, abs=1e-3)
    hatched = 0.0
    for setting in sized.settings:
        vessel = next(v for v in vessels if v.name == setting.vessel)
        model = request.model(vessel)
        incubated = hours(setting.harvest_at) - hours(setting.set_at)
        hatched += setting.cysts_g * model.nauplii(incubated) * kind.values["energy_j"]
        assert setting.cysts_g <= kind.most_grams(vessel.litres) + 1e-9
        assert time(6) <= setting.set_at.time() <= time(22)
        assert time(6) <= setting.harvest_at.time() <= time(22)
        assert setting.harvest_at < at
    assert sized.energy_j <= hatched * (1 + 1e-9)
    weighing = 0.05 * len(sized.settings) * kind.values["nauplii_per_gram"]
    assert sized.nauplii <= nauplii + weighing
