"""Kinds, temperatures, holding and hatches at the very limits of each rule."""

from __future__ import annotations

import math
from datetime import UTC, datetime, time, timedelta
from typing import Any

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.hatch_request import HatchNotPossibleError, check_vessel
from cultures.foods.hatch_sizing import _grid
from cultures.foods.holding import Holding
from cultures.foods.kinds import HatchKind, WormKind, kinds_with, read_kind, shipped_kind
from cultures.foods.parameters import ParameterError
from cultures.foods.temperature import Q10, Briere, Clock, TemperatureSeries
from cultures.foods.vessels import Vessel
from cultures.foods.yields import LONGEST_DAYS, Setup, Upkeep, daily_yield
from tests.unit.test_hatch_sizing import ROUND, bottle, request, size

_FLAT = Q10(q10=1.0, t_ref_c=20.0, t_min_c=0.0, t_max_c=40.0)


def _shrimp(**values: float) -> HatchKind:
    kind = shipped_kind("brine_shrimp")
    assert isinstance(kind, HatchKind)
    return evolve(kind, values={**kind.values, **values})


def _worm(**values: float) -> WormKind:
    kind = shipped_kind("microworm")
    assert isinstance(kind, WormKind)
    return evolve(kind, values={**kind.values, **values})


# --- temperatures


def test_brieres_curve_by_hand() -> None:
    """T (T - Tmin) sqrt(Tmax - T) over the same at the reference, in the paper's equation 1."""
    curve = Briere(8.0, 33.0, 24.0)
    assert curve(17.0) == pytest.approx(17 * 9 * 4 / (24 * 16 * 3))
    assert curve(32.0) == pytest.approx(32 * 24 * 1 / (24 * 16 * 3))
    assert (curve(8.0), curve(33.0)) == (0.0, 0.0)
    cold = Briere(-5.0, 33.0, 24.0)
    assert (cold(0.0), cold(-2.0)) == (0.0, 0.0)
    assert cold(0.5) > 0


def test_a_law_of_tens_by_hand() -> None:
    law = Q10(q10=2.0, t_ref_c=26.0, t_min_c=18.0, t_max_c=30.0)
    assert [law(t) for t in (17.99, 18.0, 16.0, 36.0)] == pytest.approx([0, 2**-0.8, 0, 2**0.4])


def test_a_spell_is_between_two_times_and_no_other() -> None:
    series = TemperatureSeries((10.0, 20.0, 30.0), (21.0, 22.0, 23.0))

    def seen(from_h: float, to_h: float) -> list[float]:
        spell = series.with_spell(from_h, to_h, 5.0)
        return [spell.at(t) for t in (0, 9.9, 10, 14.9, 15, 19.9, 20, 24.9, 25, 29.9, 30, 40)]

    assert seen(15, 25) == [21, 21, 21, 21, 5, 5, 5, 5, 22, 22, 23, 23]
    assert seen(10, 20) == [21, 21, 5, 5, 5, 5, 22, 22, 22, 22, 23, 23]
    assert seen(-5, 10) == [5, 5, 21, 21, 21, 21, 22, 22, 22, 22, 23, 23]
    assert seen(15, 45) == [21, 21, 21, 21, *[5] * 8]
    assert seen(-5, 45) == [5] * 12


def test_a_series_has_a_value() -> None:
    with pytest.raises(RangeError):
        TemperatureSeries((), ())


def test_a_clock_counts_days_at_the_rate_of_each_piece() -> None:
    """A day at one, two at a half, then three a day."""
    law = {20.0: 1.0, 10.0: 0.5, 30.0: 3.0}
    clock = Clock.of(TemperatureSeries((0.0, 24.0, 72.0), (20.0, 10.0, 30.0)), law.__getitem__)
    assert [clock.days(0, h) for h in (0, 24, 72, 96, -24)] == [0, 1, 2, 5, -1]
    assert clock.days_to(24, (0, 72, 80)) == [-1, 1, 2]
    assert [clock.when(0, d) for d in (0, 0.5, 1, 1.5, 2, 5)] == [0, 12, 24, 48, 72, 96]
    assert clock.when(48, 0.0) == 48
    assert clock.when(48, -1.0) == 48  # nothing that is past already
    stops = Clock.of(
        TemperatureSeries((0.0, 24.0), (20.0, 10.0)), {20.0: 1.0, 10.0: 0.0}.__getitem__
    )
    assert (stops.when(0, 1.0), stops.when(0, 1.001)) == (24.0, math.inf)


# --- kinds


@pytest.mark.parametrize(
    ("degrees", "worm", "shrimp"),
    [
        (5.0, True, False), (5.01, False, False), (19.99, False, False), (20.0, False, True),
        (29.99, False, True), (30.0, True, True), (34.99, True, True), (35.0, True, False),
    ],
)  # fmt: skip
def test_what_a_temperature_does_is_said_from_its_limit_on(
    degrees: float, worm: bool, shrimp: bool
) -> None:
    worms = _worm(lethal_low_c=5.0, lethal_high_c=30.0)
    cysts = _shrimp(lethal_high_c=35.0, no_promise_below_c=20.0)
    assert (worms.check_temperature(degrees) is not None) is worm
    assert (cysts.check_temperature(degrees) is None) is shrimp


def test_a_warning_for_what_works_but_badly() -> None:
    cysts = _shrimp(slow_below_c=22.0, warn_above_c=30.0)
    assert [cysts.warn_temperature(t) is not None for t in (21.9, 22.0, 29.9, 30.0)] == [
        True, False, False, True
    ]  # fmt: skip


def test_salt_is_best_within_its_range_and_linear_outside() -> None:
    """A fifth in fresh water up to all at 15 g/L; all up to 35, and nothing at 85 and beyond."""
    cysts = _shrimp(
        fresh_water_share=0.2, salinity_low_g_per_l=15.0, salinity_high_g_per_l=35.0,
        salinity_stop_g_per_l=85.0,
    )  # fmt: skip
    shares = {-3: 0.2, 0: 0.2, 7.5: 0.6, 15: 1.0, 35: 1.0, 60: 0.5, 85: 0.0, 99: 0.0}
    assert {g: cysts.salinity_share(g) for g in shares} == pytest.approx(shares)


def test_a_kind_in_a_vessel_by_hand() -> None:
    """60 g/L let half hatch; two wettings of 0.9 each; 200,000 nauplii a gram."""
    cysts = _shrimp(
        salinity_high_g_per_l=35.0, salinity_stop_g_per_l=85.0, wetting_keeps_share=0.9,
        nauplii_per_gram=200_000.0, loss_per_h=0.01, loss_ref_c=25.0, loss_q10=3.0,
    )  # fmt: skip
    model = cysts.model(temperature_c=35.0, salinity_g_per_l=60.0, wettings=2)
    assert model.nauplii_per_gram == pytest.approx(200_000 * 0.5 * 0.81)
    assert model.loss_per_h == pytest.approx(0.03)
    assert cysts.model(temperature_c=25.0).nauplii_per_gram == 200_000
    assert cysts.model(temperature_c=25.0, nauplii_per_gram=7.0).nauplii_per_gram == 7.0


def test_a_large_vessel_takes_fewer_grams_a_litre() -> None:
    cysts = _shrimp(large_from_l=10.0, crowding_small_g_per_l=5.0, crowding_large_g_per_l=2.0)
    assert [cysts.most_grams(litres) for litres in (1.0, 9.99, 10.0)] == pytest.approx(
        [5.0, 49.95, 20.0]
    )
    assert _shrimp(bulk_density_g_per_ml=0.65).spoons(0.65 * 4.92892159375) == pytest.approx(1.0)
    weighed = _shrimp().with_spoon(0.8)
    assert weighed.values["bulk_density_g_per_ml"] == 0.8
    own = weighed.parameters["bulk_density_g_per_ml"]
    assert (own.low, own.value, own.high, own.status) == (0.8, 0.8, 0.8, "keeper")


def test_a_culture_carries_the_lesser_of_its_mass_and_its_surface() -> None:
    worms = _worm(capacity_mg_per_g=20.0, capacity_mg_per_cm2=10.0)
    for medium, surface, most in ((100, 300, 2000), (100, 50, 500), (100, None, 2000)):
        model = worms.model(medium_g=medium, surface_cm2=surface)
        assert model.capacity_mg == pytest.approx(most)
        assert model.drawn_mg == math.inf
    assert worms.capacity_key == "capacity_mg_per_cm2"
    deep = _worm(capacity_mg_per_g=20.0, capacity_mg_per_cm2=0.0)
    assert deep.model(medium_g=100, surface_cm2=1.0).capacity_mg == 2000
    assert deep.capacity_key == "capacity_mg_per_g"
    eels = shipped_kind("vinegar_eel")
    assert isinstance(eels, WormKind)
    # A draw is 10 mL of it.
    assert eels.model(medium_g=1500).drawn_mg == pytest.approx(150 * eels.values["portion_mg"])


def test_a_kind_of_ones_own_is_like_another_but_for_what_it_says() -> None:
    own = read_kind({"name": "new_worm", "like": "microworm", "parameters": {"lag_days": 3}})
    assert isinstance(own, WormKind)
    assert own.values["lag_days"] == 3
    assert own.values["portion_mg"] == _worm().values["portion_mg"]
    for wrong, said in (
        ({"like": "microworm", "name": ""}, "a kind needs a name"),
        ({"name": "x", "model": "plant"}, "must be 'worm_culture' or 'hatch'"),
        ({"name": "x", "like": "microworm", "medium": "gas"}, "must be one of solid, liquid"),
        ({"name": "x", "like": "microworm", "cautions": 7}, "must be a list of sentences"),
        ({"name": "x", "like": "microworm", "parameters": []}, "must be a table of parameters"),
    ):  # fmt: skip
        with pytest.raises(ParameterError, match=said):
            read_kind(wrong)
    table = kinds_with([own])
    assert table["new_worm"] is own
    assert table["microworm"] is shipped_kind("microworm")
    assert ("zebra" in table, len(table)) == (False, len(kinds_with([])) + 1)
    assert kinds_with([evolve(own, name="microworm")])["microworm"].values["lag_days"] == 3


# --- holding


def test_a_refrigerator_is_cold_up_to_its_limit() -> None:
    kind = _shrimp(cold_below_c=10.0, cold_hold_h=48.0, warm_hold_h=6.0, cold_death_per_h=0.01,
                   loss_per_h=0.02, loss_ref_c=25.0, loss_q10=2.0)  # fmt: skip
    for fridge, cold in ((10.0, True), (10.1, False), (None, False)):
        held = Holding(kind, fridge, lambda _: 35.0)
        assert (held.cold, held.longest_h(0.0)) == (cold, 48.0 if cold else 6.0)
        assert held.alive(0.0, 5.0) == pytest.approx(math.exp(-0.05) if cold else 1.0)
        loss = 0.02 * 2 ** ((10.0 - 25.0) / 10) + 0.01 if cold else 0.04
        assert held.share(0.0, 5.0) == pytest.approx(math.exp(-5 * loss))
        assert held.alive(5.0, 0.0) == held.share(5.0, 5.0) == 1.0


# --- one hatch


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"nauplii": 0}, "the need must be above 0"), ({"nauplii": 1}, ""),
        ({"nauplii": 5, "energy_j": 5.0}, "not both"), ({"nauplii": None}, "give either"),
        ({"nauplii": None, "energy_j": 1e-3}, ""), ({"wettings": -1}, "wettings must be 0 or more"),
        ({"wettings": 0}, ""), ({"makeup_ml": 0.0}, "the rinse volume must be above 0 mL"),
    ],
)  # fmt: skip
def test_what_is_asked_of_a_hatch_can_be_asked(change: dict[str, Any], words: str) -> None:
    if not words:
        assert request(**change).need > 0
    else:
        with pytest.raises(RangeError, match=words):
            request(**change)
    with pytest.raises(HatchNotPossibleError, match="there is no vessel"):
        request(vessels=())


def test_a_vessel_is_free_once_the_last_hatch_in_it_is_out() -> None:
    later = ROUND + timedelta(hours=2)
    asked = request(
        busy=(("bottle", ROUND), ("bottle", later), ("cone", later + timedelta(hours=1)))
    )
    assert asked.earliest_h(bottle()) == later.timestamp() / 3600
    assert asked.earliest_h(bottle("other")) == -math.inf
    assert request(now=later).earliest_h(bottle("other")) == later.timestamp() / 3600


def test_somebody_is_up_from_the_first_to_the_last_minute() -> None:
    asked = request()
    for clock, up in ((time(6, 29), False), (time(6, 30), True), (time(22, 30), True),
                      (time(22, 31), False)):  # fmt: skip
        at = datetime.combine(ROUND.date(), clock, ROUND.tzinfo)
        assert asked.is_awake(at.timestamp() / 3600) is up
    assert asked.local(at.timestamp() / 3600 + 0.4 / 3600) == at  # to the second
    assert at.astimezone(UTC).hour == 22


@pytest.mark.parametrize(
    ("vessel", "words"),
    [
        (Vessel("v", 1.0, 27.0, -0.1), "cysts do not hatch at -0.1 g/L"),
        (Vessel("v", 1.0, 27.0, math.nan), "cysts do not hatch"),
        (Vessel("v", 1.0, 2.0, 25.0), "no hatching time can be promised"),
    ],
)
def test_a_vessel_in_which_nothing_can_be_promised_is_refused(vessel: Vessel, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        check_vessel(_shrimp(), vessel)


def test_a_twentieth_of_the_cysts_is_too_few() -> None:
    kind = _shrimp(salinity_high_g_per_l=35.0, salinity_stop_g_per_l=135.0)
    check_vessel(kind, Vessel("v", 1.0, 27.0, 129.0))
    with pytest.raises(RangeError, match="cysts do not hatch at 131 g/L"):
        check_vessel(kind, Vessel("v", 1.0, 27.0, 131.0))


def test_times_are_on_a_grid_of_half_hours() -> None:
    assert _grid(0.0, 1.0) == [0.0, 0.5, 1.0]
    assert _grid(0.1, 1.4) == [0.5, 1.0]
    assert _grid(2.1, 2.4) == []


@pytest.mark.parametrize(
    ("wanted_g", "set_g"), [(0.301, 0.31), (0.491, 0.5), (0.501, 0.55), (0.83, 0.85)]
)
def test_cysts_are_weighed_in_hundredths_up_to_half_a_gram(wanted_g: float, set_g: float) -> None:
    """And in twentieths of a gram from there."""
    sized = size(nauplii_per_gram=200_000)
    per_gram = sized.nauplii / sized.cysts_g
    assert size(nauplii=wanted_g * per_gram, nauplii_per_gram=200_000).cysts_g == set_g


def test_what_is_left_of_a_harvest_is_said_for_later_rounds_within_its_hours() -> None:
    sized = size()
    from_h = max(s.harvest_at for s in sized.settings).timestamp() / 3600
    held = request().holding
    handling = request().kind.values["handling_h"]
    last = datetime.fromtimestamp(
        int((from_h + handling + held.longest_h(from_h)) * 3600), ROUND.tzinfo
    )
    later = size(later=(ROUND, last, last + timedelta(minutes=1))).later
    assert [at for at, _ in later] == [ROUND, last]
    assert later[0][1] == 1.0
    loss = held.kind.loss_per_h(24.0)
    hours = (last - ROUND).total_seconds() / 3600
    assert later[1][1] == pytest.approx(math.exp(-loss * hours))


# --- yields


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"topup_g": -0.1}, "a top-up must be 0 g or more"), ({"topup_g": math.inf}, "a top-up"),
        ({"topup_g": 1.0}, "needs the days between"),
        ({"split_mg": -1.0}, "a starter must be 0 mg"),
        ({"topup_g": 1.0, "topup_every": 1}, ""), ({"topup_g": 0.0, "topup_every": 0}, ""),
    ],
)  # fmt: skip
def test_upkeep_that_can_be(change: dict[str, Any], words: str) -> None:
    if not words:
        assert Upkeep(**change).split_day is None
    else:
        with pytest.raises(RangeError, match=words):
            Upkeep(**change)


def _yield(**change: Any) -> Any:
    values = {"medium_g": 100.0, "surface_cm2": 100.0, "starter_mg": 200.0} | change
    return Setup(kind=_worm(), **values)


@pytest.mark.parametrize("wrong", [{"medium_g": 0.0}, {"surface_cm2": 0.0}, {"starter_mg": 0.0},
                                   {"starter_mg": math.inf}])  # fmt: skip
def test_a_culture_needs_medium_surface_and_worms(wrong: dict[str, float]) -> None:
    with pytest.raises(RangeError):
        _yield(**wrong)


def test_a_share_is_taken_from_nothing_to_what_a_keeper_takes_in_a_day() -> None:
    steady = TemperatureSeries.constant(22.0)
    most = _yield().model().harvest_share()
    assert daily_yield(_yield(), series=steady, fraction=0.0).total_mg == 0.0
    assert daily_yield(_yield(), series=steady, fraction=most).total_mg > 0
    for wrong in (-1e-9, most + 1e-9):
        with pytest.raises(RangeError, match="the share taken at a harvest must be 0"):
            daily_yield(_yield(), series=steady, fraction=wrong)


def test_the_first_and_the_last_day_are_those_of_the_model() -> None:
    """At the reference temperature a day is a day: worms climb when they are dense enough."""
    kind = _worm()
    steady = TemperatureSeries.constant(kind.values["t_ref_c"])
    curve = daily_yield(_yield(), series=steady, fraction=0.1, days=200)
    model = _yield().model()
    end = model.half_spent_age + model.souring_width * math.log(1 / kind.values["retire_share"] - 1)
    assert curve.last_useful_day == math.floor(end)
    assert len(curve.days) == 201
    first = curve.first_harvest_day
    assert first is not None
    assert [d.day for d in curve.days if d.harvest_mg > 0] == [
        *range(first, curve.last_useful_day + 1)
    ]
    dense = [d.stock_mg >= model.climbing_density * model.capacity_at(d.day) for d in curve.days]
    assert dense.index(True) == first
    assert curve.daily_mg == pytest.approx(curve.total_mg / (201 - first))
    assert curve.total_j == pytest.approx(curve.total_mg * kind.values["energy_j_per_mg"])


def test_a_starter_that_is_taken_is_gone_the_next_day() -> None:
    steady = TemperatureSeries.constant(22.0)
    split = evolve(_yield(), upkeep=Upkeep(split_day=12, split_mg=100.0))
    plain, less = (daily_yield(s, series=steady, fraction=0.0) for s in (_yield(), split))
    assert less.days[12].stock_mg == plain.days[12].stock_mg
    assert less.days[13].stock_mg < plain.days[13].stock_mg
    all_of_it = evolve(_yield(), upkeep=Upkeep(split_day=12, split_mg=1e9))
    assert daily_yield(all_of_it, series=steady, fraction=0.0).days[13].stock_mg == 0.0


def test_a_culture_that_never_sours_is_good_for_three_thousand_days() -> None:
    never = _yield()
    kind = _worm(half_spent_days=1e6)
    curve = daily_yield(
        evolve(never, kind=kind), series=TemperatureSeries.constant(22.0), fraction=0.1
    )
    assert curve.last_useful_day == LONGEST_DAYS == 3000
    for degrees in (_worm().values["t_min_c"] - 0.1, 60.0):
        with pytest.raises(RangeError):
            daily_yield(never, series=TemperatureSeries.constant(degrees))


@pytest.mark.parametrize(
    ("asked", "unit"), [({"nauplii": 4e6}, "nauplii"), ({"nauplii": None, "energy_j": 2e5}, "J")]
)
def test_a_vessel_that_is_lacking_is_said_in_litres_for_the_unit_that_was_asked_for(
    asked: dict[str, Any], unit: str
) -> None:
    """What five grams in a litre do not give, at as many grams a litre as the new vessel bears."""
    (enough,) = size(vessels=(bottle(litres=100.0),), **asked).settings
    with pytest.raises(HatchNotPossibleError) as caught:
        size(**asked)
    words = str(caught.value)
    need = asked["nauplii"] or asked["energy_j"]
    assert f" {unit} of the {need:,.0f} needed; add a vessel of " in words
    litres = float(words.partition("add a vessel of ")[2].partition(" L")[0])
    v = request().kind.values
    missing_g = enough.cysts_g - request().kind.most_grams(1.0)
    small, large = missing_g / v["crowding_small_g_per_l"], missing_g / v["crowding_large_g_per_l"]
    assert litres == pytest.approx(small if small < v["large_from_l"] else large, abs=0.15)


def test_more_of_a_hatch_than_is_needed_is_left_over_in_its_share() -> None:
    sized = size(nauplii=10.0)  # a hundredth of a gram is the least that is weighed
    assert sized.left_over == pytest.approx(sized.nauplii - 10.0)
    assert sized.left_over_j == pytest.approx(sized.energy_j * (1 - 10.0 / sized.nauplii))
    density = request().kind.parameters["bulk_density_g_per_ml"]
    assert sized.spoons == pytest.approx(sized.cysts_g / (density.value * 4.92892159375))


def test_a_tin_that_holds_too_little_is_said_and_one_that_just_does_is_not() -> None:
    need = size().cysts_g
    for tin, said in ((need, False), (need - 0.01, True), (None, False)):
        assert any("the tin holds only" in note for note in size(cysts_g=tin).notes) is said
    own = size(nauplii_per_gram=200_000)
    assert not any("no count of your own cysts" in note for note in own.notes)
    assert any("no count of your own cysts" in note for note in size().notes)
