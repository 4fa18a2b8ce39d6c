"""Cultures and hatches worked out by hand from docs/models.md, and their limits exactly."""

from __future__ import annotations

import math
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.hatch_request import HatchNotPossibleError, HatchRequest
from cultures.foods.hatch_sizing import size_hatch
from cultures.foods.hatching import HatchModel, log_logistic_shape
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind, WormKind, read_kind, shipped_kind
from cultures.foods.temperature import Q10, Briere, Clock, TemperatureSeries
from cultures.foods.vessels import Vessel
from cultures.foods.worms import (
    CultureState,
    WormModel,
    age_of_medium,
    carrying_capacity,
    first_harvest_age,
    growth_step,
    last_useful_age,
)
from cultures.foods.yields import Setup, Upkeep, daily_yield

MODEL = WormModel(
    growth_rate=0.5, lag=1.0, capacity_mg=1000.0, half_spent_age=28.0, souring_width=3.0,
    climbing_fraction=0.15, climbing_density=0.3,
)  # fmt: skip
LISBON = ZoneInfo("Europe/Lisbon")
ROUND = datetime(2027, 1, 6, 7, 30, tzinfo=LISBON)


def _shrimp(**own: float) -> HatchKind:
    found = read_kind({"name": "brine_shrimp", "like": "brine_shrimp", "parameters": own})
    assert isinstance(found, HatchKind)
    return found


def _worm(**own: float) -> WormKind:
    found = read_kind({"name": "paper_worm", "like": "microworm", "parameters": own})
    assert isinstance(found, WormKind)
    return found


# --- temperature and time


def test_the_curve_of_briere() -> None:
    """rho = T (T - T0) sqrt(TL - T), 8 to 33, at 24 by 24 x 16 x 3 = 1152: 20 x 12 x sqrt 13."""
    curve = Briere(t_min_c=8, t_max_c=33, t_ref_c=24)
    assert curve(20) == pytest.approx(20 * 12 * math.sqrt(13) / 1152)
    assert curve(32) == pytest.approx(32 * 24 / 1152)


def test_a_q10_law_at_its_ends() -> None:
    law = Q10(q10=3.0, t_ref_c=20.0, t_min_c=10.0, t_max_c=30.0)
    rates = [law(t) for t in (9.99, 10, 25, 30, 31)]
    assert rates == pytest.approx([0, 1 / 3, math.sqrt(3), 3, 3])


def test_a_spell_of_another_temperature() -> None:
    series = TemperatureSeries((0.0, 100.0, 200.0), (20.0, 22.0, 24.0))
    spell = series.with_spell(50, 150, 10)
    assert (spell.starts, spell.values_c) == ((0, 50, 150, 200), (20, 10, 22, 24))
    # Over a whole piece and to the very end of one.
    wide = series.with_spell(100, 200, 10)
    assert (wide.starts, wide.values_c) == ((0, 100, 200), (20, 10, 24))
    # From before the first start: what held there holds before the spell.
    early = series.with_spell(-10, 50, 10)
    assert [early.at(t) for t in (-99, -10.5, -10, 49, 50, 99, 100)] == [20, 20, 10, 10, 20, 20, 22]


def test_a_clock_by_hand() -> None:
    """A day at rate 1, two at 1/2, then 2 a day: 1, 2 and 4 days have passed after 1, 3, 4."""
    series = TemperatureSeries((0.0, 24.0, 72.0), (1.0, 0.5, 2.0))
    clock = Clock.of(series, lambda t: t)
    assert clock.sums == pytest.approx((0, 1, 2))
    assert [clock.days(0, 24 * d) for d in (0.5, 2, 4)] == pytest.approx([0.5, 1.5, 4])
    assert [clock.when(0, d) for d in (0.5, 1, 1.5, 2, 4)] == pytest.approx([12, 24, 48, 72, 96])
    assert clock.when(36, 1) == pytest.approx(72 + 3)  # 0.75 until 72, then 0.25 at rate 2
    assert clock.when(50, 0) == 50


# --- a worm culture


def test_the_medium_by_hand() -> None:
    shape = {"capacity": 1000.0, "half_spent_age": 28.0, "souring_width": 3.0}
    ages = (28 - 3 * math.log(9), 28, 28 + 3 * math.log(3))
    assert [carrying_capacity(t, **shape) for t in ages] == pytest.approx([900, 500, 250])
    assert last_useful_age(MODEL, 0.1) == pytest.approx(28 + 3 * math.log(9))
    assert last_useful_age(evolve(MODEL, lag=99.0), 0.1) == 99


def _by_the_page(from_age: float, to_age: float, stock: float) -> float:
    """The closed form of docs/models.md, as it is printed."""
    r, k0, half, w = 0.5, 1000.0, 28.0, 3.0
    d = to_age - from_age
    a, q = math.exp(-r * d), r + 1 / w
    sour = math.exp((from_age - half) / w)
    return 1 / (a / stock + (1 - a) / k0 + r / k0 * sour * (math.exp(d / w) - a) / q)


@pytest.mark.parametrize("from_age", [2.0, 20.0, 28.0, 45.0])
@pytest.mark.parametrize("days", [0.5, 2.999, 3.0, 3.001, 12.0])
@pytest.mark.parametrize("stock", [5.0, 600.0])
def test_the_closed_form_of_the_page(from_age: float, days: float, stock: float) -> None:
    got = MODEL.grow(stock, from_age, from_age + days)
    assert got == pytest.approx(_by_the_page(from_age, from_age + days, stock), rel=1e-9)


def test_fresh_medium_is_verhulsts() -> None:
    """N = K / (1 + (K / N0 - 1) e^-rt) on a medium that never sours."""
    step = growth_step(from_age=0, to_age=4, growth_rate=0.5, capacity=1000, half_spent_age=1e4,
                       souring_width=3)  # fmt: skip
    got = 100 / (step[0] + step[1] * 100)
    assert got == pytest.approx(1000 / (1 + 9 * math.exp(-2)))


def test_worms_climb_at_the_very_limit() -> None:
    carried = MODEL.capacity_at(5)
    assert MODEL.climbing(0.3 * carried, 5) == pytest.approx(0.15 * 0.3 * carried)
    assert MODEL.climbing(500, 1.0) == pytest.approx(75)
    assert MODEL.climbing(500, 0.999) == 0


def test_a_starter_that_just_climbs_does_so_at_the_end_of_the_lag() -> None:
    enough = 0.3 * MODEL.capacity_at(1.0)
    assert first_harvest_age(MODEL, enough * (1 + 1e-9)) == 1.0
    assert first_harvest_age(MODEL, enough * 0.99) > 1.0
    # Worms that climb from a full medium only: once it carries no more than stands on it.
    full = first_harvest_age(evolve(MODEL, climbing_density=1.0), 10)
    assert MODEL.grow(10, 0, full) == pytest.approx(MODEL.capacity_at(full), rel=1e-6)


@pytest.mark.parametrize("name", ["climbing_fraction", "climbing_density"])
def test_all_worms_may_climb(name: str) -> None:
    changed = evolve(MODEL, **{name: 1.0})
    assert getattr(changed, name) == 1
    assert evolve(MODEL, lag=0.0).lag == 0


def test_a_mix_of_medium_carries_the_mean_of_its_parts() -> None:
    """A quarter fresh (all of it) and three quarters half spent: 0.625 of the new capacity."""
    fuller = evolve(MODEL, capacity_mg=4000 / 3)
    age = age_of_medium(MODEL, 28.0, fuller, 0.25)
    assert fuller.capacity_at(age) == pytest.approx(0.625 * 4000 / 3, rel=1e-4)
    assert age == pytest.approx(28 + 3 * math.log(1 / 0.625 - 1), abs=1e-3)
    assert age_of_medium(MODEL, 0.5, MODEL, 1.0) == 0.5  # younger than its lag, it stays so


def test_a_hair_more_than_there_is_can_be_taken() -> None:
    """What was computed and rounded once more: to a part in a billion billion, not more."""
    assert CultureState(10.0).without(10.0 + 5e-12).stock_mg == 0
    with pytest.raises(RangeError):
        CultureState(10.0).without(10.0 + 5e-11)


def test_a_yield_day_by_day() -> None:
    """A medium of 150 g at 24 °C, fraction 10 %: each day grows by hand from the day before."""
    kind = _worm(lag_days=0, half_spent_days=1000, growth_rate_per_day=0.5, climbing_density=0.2,
                 capacity_mg_per_g=10, capacity_mg_per_cm2=0)  # fmt: skip
    curve = daily_yield(
        Setup(kind, 150, None, 300), series=TemperatureSeries.constant(24), fraction=0.1, days=3
    )
    stock, days = 300.0, []
    for day in range(4):
        if day:
            stock = 1500 / (1 + (1500 / stock - 1) * math.exp(-0.5))
        days.append((stock, 0.1 * stock))
        stock *= 0.9
    assert [d.stock_mg for d in curve.days] == pytest.approx([a for a, _ in days], rel=1e-6)
    assert [d.harvest_mg for d in curve.days] == pytest.approx([b for _, b in days], rel=1e-6)
    assert curve.first_harvest_day == 0
    assert curve.total_mg == pytest.approx(sum(b for _, b in days), rel=1e-6)
    assert curve.total_j == pytest.approx(5.4 * curve.total_mg)
    assert curve.daily_mg == pytest.approx(curve.total_mg / 4)


def test_a_top_up_and_a_split_fall_on_their_days() -> None:
    kind = _worm(lag_days=0, half_spent_days=1000, capacity_mg_per_g=10, capacity_mg_per_cm2=0)
    upkeep = Upkeep(topup_g=50, topup_every=2, split_day=1, split_mg=100)
    curve = daily_yield(
        Setup(kind, 100, None, 900, upkeep=upkeep), series=TemperatureSeries.constant(24),
        fraction=0.0, days=3,
    )  # fmt: skip

    def grown(stock: float, capacity: float) -> float:
        return capacity / (1 + (capacity / stock - 1) * math.exp(-0.46))

    one = grown(900, 1000)
    two = grown(one - 100, 1000)
    three = grown(two, 1500)  # 50 g were mixed in on the second day
    got = [d.stock_mg for d in curve.days]
    assert got == pytest.approx([900, one, two, three], rel=1e-6)


# --- a hatch


def test_the_log_logistic_by_hand() -> None:
    t50, shape = log_logistic_shape(t10_h=16, t90_h=25)
    assert t50 == pytest.approx(20)
    assert shape == pytest.approx(2 * math.log(9) / math.log(25 / 16))


@pytest.mark.parametrize("loss", [0.005, 0.0131, 0.05])
def test_the_best_harvest_is_where_hatching_makes_up_for_what_is_spent(loss: float) -> None:
    """V' = f - k V is 0 at the top, with f = b F (1 - F) / t the hatching density."""
    t50, shape = log_logistic_shape(t10_h=17, t90_h=23)
    model = HatchModel(t50, shape, 1.0, 1.0, 1.0, loss)
    best = model.best_hours()
    share = model.nauplii(best)
    assert shape * share * (1 - share) / best == pytest.approx(loss * model.energy(best), rel=0.02)
    low, high = model.window(0.9)
    for edge in (low, high):
        assert model.energy(edge) == pytest.approx(0.9 * model.energy(best), rel=0.005)
    assert low < best < high


def test_salt_scales_the_hatch_in_straight_lines() -> None:
    """None to 12 g/L from 15 % to all; 36 to 85 g/L from all to none."""
    share = _shrimp().salinity_share
    assert share(0) == pytest.approx(0.15)
    assert share(6) == pytest.approx(0.15 + 0.85 / 2)
    assert [share(s) for s in (12, 24, 36)] == [1, 1, 1]
    assert share(60.5) == pytest.approx(0.5)
    assert share(84.9) > 0 == share(85)


def test_fewer_hatch_in_the_cold() -> None:
    """All from 20 °C on, none at 9.1 °C, a straight line between; as at 15 °C where it is colder
    than a hatch is set.
    """
    share = _shrimp().warmth_share
    assert [share(t) for t in (20, 27, 32)] == [1, 1, 1]
    assert share(16) == pytest.approx(6.9 / 10.9)
    assert share(4) == share(15) == pytest.approx(5.9 / 10.9)
    both = _shrimp().model(temperature_c=16, salinity_g_per_l=6, nauplii_per_gram=1000)
    assert both.nauplii_per_gram == pytest.approx(1000 * 6.9 / 10.9 * 0.575)


def test_crowding_and_spoons() -> None:
    """At most 5 g a litre under 20 L, 2 g from there on (New 2002)."""
    most = _shrimp().most_grams
    assert [most(x) for x in (1, 19.9, 20)] == pytest.approx([5, 99.5, 40])
    assert _shrimp().spoons(0.65 * 4.92892159375) == pytest.approx(1.0)


def test_temperatures_at_the_very_limits() -> None:
    kind, worm = _shrimp(), shipped_kind("microworm")
    assert kind.check_temperature(32.99) is kind.check_temperature(15) is None
    assert kind.check_temperature(33) is not None
    assert kind.warn_temperature(18) is kind.warn_temperature(29.99) is None
    assert kind.warn_temperature(17.99) is not None
    assert worm.check_temperature(-1.99) is worm.check_temperature(34.99) is None
    assert None not in (worm.check_temperature(-2), worm.check_temperature(35))


def test_the_loss_by_its_q10() -> None:
    """0.0131 an hour at 25 °C, 2.8 times as much ten degrees up."""
    assert _shrimp().loss_per_h(35) == pytest.approx(0.0131 * 2.8)
    assert _shrimp().model(temperature_c=30).loss_per_h == pytest.approx(0.0131 * math.sqrt(2.8))


def test_holding_in_the_cold_and_in_the_warmth() -> None:
    cold, warm = _held(24, 5), _held(25, None)
    loss = 0.0131 * 2.8**-2
    assert cold.alive(7, 17) == pytest.approx(math.exp(-0.022))
    assert cold.share(7, 17) == pytest.approx(math.exp(-0.022 - 10 * loss))
    assert (warm.alive(7, 17), warm.share(7, 17)) == pytest.approx((1.0, math.exp(-0.131)))
    assert cold.longest_h(7) == 48
    assert [_held(t, None).longest_h(7) for t in (25, 27, 30)] == pytest.approx(
        [12 / _shrimp().rate(25), 12, 12]
    )
    # T (T - 9.1) sqrt(36 - T): 493.7 at 16 °C and 1449.9 at 27 °C.
    assert _held(16, None).longest_h(7) == pytest.approx(12 * 1449.9 / 493.7, rel=1e-3)
    assert _held(12, None).longest_h(7) == 48  # nothing is in print for longer
    assert _held(24, 10).cold  # at or below 10 °C
    assert not _held(24, 10.1).cold


def test_a_fridge_keeps_nothing_that_stood_warm_for_its_time_before_it_came() -> None:
    """At 27 °C they keep for 12 h, in the cold for 48 h. From 7 h on the fridge came at 10 h: a
    quarter of their time was over, so three quarters of the 48 h are left. It came at 19 h, or
    later: nothing is left. It went at 31 h, after half of the 48 h: half of the 12 h are left.
    """
    assert _fridges((10.0, None), now_c=5).longest_h(7) == pytest.approx(3 + 36)
    for came_h in (19.0, 32.0):
        late = _fridges((came_h, None), now_c=5)
        assert late.longest_h(7) == pytest.approx(12)
        assert not late.keeps(7, 33)
        assert late.longest_h(came_h) == 48  # what comes into it at once
    gone = _fridges((31.0, 5), now_c=None)
    assert gone.longest_h(7) == pytest.approx(24 + 6)
    assert _fridges((3.0, None), (10.0, 5), (12.0, None), now_c=5).longest_h(7) == pytest.approx(
        5 + (1 - 3 / 48 - 2 / 12) * 48
    )
    cold, warm = _shrimp().loss_per_h(5) + 0.0022, _shrimp().loss_per_h(27)
    came = _fridges((10.0, None), now_c=5)
    assert came.alive(7, 17) == pytest.approx(math.exp(-7 * 0.0022))
    assert came.share(7, 17) == pytest.approx(math.exp(-3 * warm - 7 * cold))
    assert came.share(7, 9) == pytest.approx(math.exp(-2 * warm))


def _fridges(*before: tuple[float, float | None], now_c: float | None) -> Holding:
    return Holding(_shrimp(), now_c, lambda _: 27.0, before)


def _held(warm_c: float, fridge_c: float | None) -> Holding:
    return Holding(_shrimp(), fridge_c, lambda _: warm_c)


def _request(vessels: tuple[Vessel, ...], need: float = 100_000) -> HatchRequest:
    return HatchRequest(ROUND, vessels, _held(24, None), (time(6, 30), time(22, 30)), nauplii=need)


def _bottle(name: str, litres: float = 1.0) -> Vessel:
    return Vessel(name, litres, 27.0, 25.0)


def test_the_grams_of_a_hatch_by_hand() -> None:
    """Nearly all have hatched by then, so 100,000 of 200,000 a gram are a little over half a gram,
    in steps of 0.05 g; 10,000 are a little over 0.05 g, in steps of 0.01 g.
    """
    kind = _shrimp()
    half = size_hatch(_request((_bottle("a"),)))
    (setting,) = half.settings
    hatched = kind.model(temperature_c=27).nauplii(
        (setting.harvest_at - setting.set_at) / timedelta(hours=1)
    )
    assert setting.cysts_g == pytest.approx(math.ceil(100_000 / hatched / 0.05) * 0.05)
    assert half.nauplii == pytest.approx(setting.cysts_g * hatched, rel=1e-9)
    assert half.left_over == pytest.approx(half.nauplii - 100_000, rel=1e-9)
    tenth = size_hatch(_request((_bottle("a"),), 10_000))
    assert tenth.cysts_g == pytest.approx(math.ceil(10_000 / hatched / 0.01) * 0.01)


def test_vessels_are_filled_alike_and_as_few_as_can_be() -> None:
    """1.7 M nauplii are 8.7 g: two bottles of 5 g, not the small one."""
    vessels = (_bottle("small", 0.2), _bottle("one"), _bottle("two"))
    sized = size_hatch(_request(vessels, 1_700_000))
    assert {s.vessel for s in sized.settings} == {"one", "two"}
    grams = [s.cysts_g for s in sized.settings]
    assert grams[0] == grams[1]
    assert 4.3 < grams[0] < 4.6
    assert [s.salt_g for s in sized.settings] == [25, 25]
    # In proportion to what a vessel takes: 5 and 10 g.
    unlike = size_hatch(_request((_bottle("one"), _bottle("twice", 2.0)), 2_500_000))
    by_name = {s.vessel: s.cysts_g for s in unlike.settings}
    assert by_name["twice"] == pytest.approx(2 * by_name["one"], abs=0.051)


def test_what_is_missing_is_asked_for_as_a_vessel() -> None:
    """4 M nauplii want some 20.4 g; two litres hold 10 g, so 10.4 g more, at 5 g a litre."""
    with pytest.raises(HatchNotPossibleError, match=r"add a vessel of 2\.[1-3] L or more"):
        size_hatch(_request((_bottle("one"), _bottle("two")), 4_000_000))
    # 110 g more would be 22 L of a small vessel; so large ones take 2 g a litre only.
    with pytest.raises(HatchNotPossibleError, match=r"add a vessel of (5[5-9]|60)(\.\d)? L"):
        size_hatch(_request((_bottle("one"),), 23_000_000))


def test_a_level_spoon() -> None:
    kind = _shrimp()
    sized = size_hatch(_request((_bottle("a"),)))
    density = kind.parameters["bulk_density_g_per_ml"]
    spoon = 4.92892159375
    assert sized.spoons == pytest.approx(sized.cysts_g / (density.value * spoon))


def test_a_vessel_with_hardly_any_hatch_is_refused() -> None:
    """At 5 % of the hatch: 36 + 0.95 x 49 = 82.55 g/L of salt."""
    for salt, fine in ((82.4, True), (82.6, False)):
        vessel = Vessel("a", 1.0, 27.0, salt)
        if fine:
            assert size_hatch(_request((vessel,), 1000)).cysts_g > 0
            continue
        with pytest.raises(RangeError, match="use 12 to 36"):
            size_hatch(_request((vessel,), 1000))


def test_wetted_cysts_keep_nine_tenths_each_time() -> None:
    """So for the same nauplii the grams rise by a ninth with each wetting."""
    request = evolve(_request((_bottle("a"),), 300_000), nauplii_per_gram=100_000)
    grams = [size_hatch(evolve(request, wettings=n)).cysts_g for n in (0, 1, 2)]
    assert [g / grams[0] for g in grams] == pytest.approx([1, 1 / 0.9, 1 / 0.81], abs=0.02)


def test_both_ends_of_the_waking_day_are_awake() -> None:
    asked = _request((_bottle("a"),))
    day = datetime(2027, 1, 5, tzinfo=LISBON)
    for clock, awake in ((time(6, 29), False), (time(6, 30), True), (time(22, 30), True),
                         (time(22, 31), False)):  # fmt: skip
        moment = day.replace(hour=clock.hour, minute=clock.minute)
        assert asked.is_awake(moment.timestamp() / 3600) is awake


def test_a_vessel_in_use_is_free_when_its_hatch_is_over() -> None:
    busy = (("a", ROUND - timedelta(hours=40)), ("b", ROUND - timedelta(hours=2)))
    vessels, now = (_bottle("a"), _bottle("b")), ROUND - timedelta(hours=50)
    asked = evolve(_request(vessels, 1000), now=now, busy=busy)
    at_h = ROUND.timestamp() / 3600
    hours = [asked.earliest_h(v) - at_h for v in (*asked.vessels, _bottle("c"))]
    assert hours == pytest.approx([-40, -2, -50])
