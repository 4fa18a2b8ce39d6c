"""The laws of the fry worked out by hand from docs/models-fry.md, and their limits exactly."""

from __future__ import annotations

import math

import pytest

from cultures.errors import RangeError
from cultures.foods.food import Food
from cultures.foods.parameters import ParameterError
from cultures.fry.classes import class_hint, read_class, shipped_class
from cultures.fry.development import EffectiveTemperature
from cultures.fry.diet import diet_shares, suitabilities, suitability
from cultures.fry.feeding import (
    dry_food,
    energy_per_day_j,
    logistic,
    ration_per_day,
    takable,
    worth_taking,
)
from cultures.fry.nitrogen import ammonia_mg, tank_load, un_ionised_share

#: Round numbers, so that every step can be followed on paper.
FRY = read_class({
    "name": "paper_fish", "like": "egg_scatterer",
    "parameters": {
        "length_first_food_mm": 4.0, "length_limit_mm": 64.0,
        "growth_rate_per_day": math.log(2) / 10, "weight_a_mg": 0.01, "weight_b": 3.0,
        "gape_share": 0.05, "wean_mm": 12.0, "fry_until_mm": 20.0, "sort_ratio": 2.0,
        "crowd_mm_per_litre": 100.0,
    },
})  # fmt: skip


def test_length_halves_its_way_to_the_end_on_a_logarithm() -> None:
    """L0 (Linf / L0)^(1 - 2^(-t / 10)): 4, 4 x 4, 4 x 8 mm after 0, 10 and 20 days."""
    assert [FRY.length_mm(t) for t in (0, 10, 20)] == pytest.approx([4, 16, 32])
    assert FRY.length_mm(-10) == pytest.approx(4 / 16)  # 1 - 2^1 = -1
    assert [FRY.growth_days(x) for x in (4, 16, 32)] == pytest.approx([0, 10, 20])
    assert FRY.growth_days(0.25) == pytest.approx(-10)


@pytest.mark.parametrize("length_mm", [64.0, 63.9, 500.0])
def test_the_end_of_the_curve_is_where_995_in_1000_of_its_rise_is_done(length_mm: float) -> None:
    """1 - 2^(-t / 10) = 0.995 at t = 10 log2 200."""
    assert FRY.growth_days(length_mm) == pytest.approx(10 * math.log2(200))


def test_weight_mouth_spread_and_crowd() -> None:
    assert FRY.weight_mg(10) == pytest.approx(0.01 * 1000)
    assert FRY.gape_um(10) == pytest.approx(500)  # 5 % of 10 mm
    # 0.11 of the logarithm of growth (models-fry.md, "Dates").
    assert FRY.length_spread(8) == pytest.approx(0.11 * math.log(2))
    assert FRY.length_spread(8, 2.0) == pytest.approx(0.11 * math.log(4))
    assert FRY.length_spread(3) == 0
    # The middle 95 %, four s.d., spans the ratio of 2: 4 x 0.11 x ln(L / 4) = ln 2.
    assert FRY.sort_length_mm() == pytest.approx(4 * 2 ** (1 / 0.44))
    assert FRY.sort_length_mm(6.0) == pytest.approx(6 * 2 ** (1 / 0.44))
    assert FRY.crowded_count(20, 40) == pytest.approx(200)  # 4000 mm of fish


@pytest.mark.parametrize(
    ("weight_mg", "temperature_c", "share"),
    [
        (1.0, 27, 2.0),  # 2.04, capped
        (10.0, 27, 2.04 * 10**-0.36),
        (10.0, 22, 2.04 * 10**-0.36 / math.sqrt(2)),  # 2^(-5/10)
        (10.0, 28, 2.04 * 10**-0.36 * 2**0.1),
        (10.0, 33, 2.04 * 10**-0.36 * 2**0.1),  # held flat above 28
        (10.0, 9, 2.04 * 10**-0.36 * 2**-0.9),  # and below 18
        (50.0, 27, 0.50),  # the ends of the published band
    ],
)
def test_the_ration_of_the_page(weight_mg: float, temperature_c: float, share: float) -> None:
    assert ration_per_day(weight_mg, temperature_c) == pytest.approx(share, rel=0.003)


def test_a_ration_in_joules() -> None:
    """A fry of 10 mg at 27 °C: 8.905 mg of live food at 2.8 J/mg."""
    assert energy_per_day_j(10, 27) == pytest.approx(10 * 2.04 * 10**-0.36 * 2.8)


def test_half_of_a_brood_takes_a_food_of_0541_of_its_gape() -> None:
    assert takable(54.1, 100) == pytest.approx(0.5)
    # One width of 0.07 to either side: 1 / (1 + e^-1).
    assert takable(47.1, 100) == pytest.approx(1 / (1 + math.exp(-1)))
    assert takable(61.1, 100) == pytest.approx(1 / (1 + math.exp(1)))


def test_half_bother_with_40_millionths_of_their_weight() -> None:
    assert worth_taking(4e-4, 10) == pytest.approx(0.5)
    assert worth_taking(4e-4 * math.exp(0.5), 10) == pytest.approx(1 / (1 + math.exp(-1)))
    assert worth_taking(4e-4 * math.exp(-1), 10) == pytest.approx(1 / (1 + math.exp(2)))


@pytest.mark.parametrize("x", [-1000, -3.0, 0.0, 2.0, 1000])
def test_the_logistic(x: float) -> None:
    inside = max(-700.0, min(700.0, x))
    assert logistic(x) == pytest.approx(1 / (1 + math.exp(-inside)), rel=1e-12)


def test_dry_food_counts_as_far_as_it_is_learnt() -> None:
    assert suitability(dry_food(), FRY, 12) == pytest.approx(0.5)
    learnt = 1 / (1 + math.exp(-1))
    assert suitability(dry_food(), FRY, 12 * math.exp(0.12)) == pytest.approx(learnt)
    # As wide as half of the gape takes (27.05 of 50 um) and as heavy as half bother with.
    half = Food("half", 0.541 * 50, 4e-5 * 0.01, 1)
    assert suitability(half, FRY, 1) == pytest.approx(0.25)


def test_a_diet_by_preference() -> None:
    """Two foods that fit wholly share by their preference; fry of 10 mm and 10 mg."""
    thin = [Food("one", 1, 1.0, 1), Food("three", 1, 1.0, 3)]
    got = diet_shares(thin, FRY, 10)
    assert got == pytest.approx({"one": 0.25, "three": 0.75}, rel=1e-3)


def test_a_share_below_four_in_a_hundred_is_left_out() -> None:
    for preference, kept in ((1.0, {"main"}), (1.1, {"main", "side"})):
        foods = [Food("main", 1, 1.0, 25.5), Food("side", 1, 1.0, preference)]
        assert set(diet_shares(foods, FRY, 10)) == kept  # 1 / 26.5 and 1.1 / 26.6


def test_variety_gives_a_twentieth_to_each_food_added() -> None:
    foods = [Food("main", 1, 1.0, 98), Food("side", 1, 1.0, 1), Food("last", 1, 1.0, 0.9)]
    assert diet_shares(foods, FRY, 10, variety=2) == pytest.approx({"main": 0.95, "side": 0.05})
    three = diet_shares(foods, FRY, 10, variety=3)
    assert three == pytest.approx({"main": 0.9, "side": 0.05, "last": 0.05})
    assert list(diet_shares(foods, FRY, 10, variety=1)) == ["main"]


def test_what_suits_a_brood_hardly_is_no_diet_by_itself_and_adds_variety() -> None:
    """2 % suits: of the ln of a mouthful ln(0.02 / 0.98) half as far from where half bother."""
    hardly = Food("hardly", 1, 4e-5 * 10 * math.sqrt(0.02 / 0.98), 1)
    assert suitability(hardly, FRY, 10) == pytest.approx(0.02, rel=0.01)
    assert diet_shares([hardly], FRY, 10) == {}
    assert diet_shares([hardly], FRY, 10, variety=2) == {}
    foods = [Food("main", 1, 1.0, 98), hardly]
    assert diet_shares(foods, FRY, 10) == {"main": 1.0}
    assert diet_shares(foods, FRY, 10, variety=2) == pytest.approx({"main": 0.95, "hardly": 0.05})


def test_young_fish_eat_dry_food_from_their_length_on() -> None:
    foods = [Food("main", 1, 1.0, 1), dry_food()]
    assert diet_shares(foods, FRY, 20.0) == {"dry": 1.0}
    assert set(diet_shares(foods, FRY, 19.0)) == {"main", "dry"}


def test_live_food_ends_over_the_last_tenth_of_the_length() -> None:
    """From 18 to 20 mm: at 19 mm half of it is left beside the dry food, at 18 mm all."""
    foods = [Food("main", 1, 1.0, 1), dry_food()]
    live, dry = suitabilities(foods, FRY, 19.0)
    halved = live / 2 / (live / 2 + foods[1].preference * dry)
    assert diet_shares(foods, FRY, 19.0)["main"] == pytest.approx(halved)
    live, dry = suitabilities(foods, FRY, 18.0)
    whole = live / (live + foods[1].preference * dry)
    assert diet_shares(foods, FRY, 18.0)["main"] == pytest.approx(whole)
    assert diet_shares(foods[:1], FRY, 19.0) == {"main": 1.0}  # without dry food it goes on


def test_a_straight_line_from_its_zero() -> None:
    line = EffectiveTemperature(t0_c=10, t_ref_c=25, t_max_c=30)
    assert [line(t) for t in (9, 10, 10.15, 25, 30, 33)] == pytest.approx(
        [0, 0, 0.01, 1, 20 / 15, 20 / 15]
    )
    assert line.days(6, 20) == pytest.approx(9)  # 6 x 15 / 10
    assert line.days(6, 10) == math.inf
    # Within 4 degrees of the zero, or above the top, nothing is promised.
    assert [line.promised(t) for t in (13.99, 14, 30, 30.01)] == [False, True, True, False]


@pytest.mark.parametrize(
    ("low", "high", "equal"),
    [
        ("t_min_c", "t_ref_c", 26), ("hatch_days", "first_food_days", 3),
        ("development_t0_c", "t_ref_c", 25), ("t_ref_c", "t_max_c", 26),
        ("length_first_food_mm", "length_limit_mm", 6),
    ],
)  # fmt: skip
def test_values_that_must_ascend_may_not_be_equal(low: str, high: str, equal: float) -> None:
    both = {low: equal, high: equal}
    with pytest.raises(ParameterError, match=rf"{high}: must be above {low} \({equal}\)"):
        read_class({"name": "x", "like": "egg_scatterer", "parameters": both})


def test_a_class_is_found_by_its_fish() -> None:
    said = "did you mean 'livebearer'"
    assert class_hint("guppies", ["goldfish", "livebearer"]).startswith(said)
    assert class_hint("Swordtails", ["livebearer"]).startswith(said)
    assert "livebearer" not in class_hint("guppies", ["goldfish"])


@pytest.mark.parametrize(
    ("temperature_c", "ph", "percent"),
    # Emerson et al. 1975, table 2, per cent NH3 in fresh water; from memory.
    [(25, 7.0, 0.566), (25, 8.0, 5.38), (20, 7.5, 1.24), (10, 8.0, 1.83), (30, 9.0, 44.6)],
)
def test_the_un_ionised_share_of_the_table(temperature_c: float, ph: float, percent: float) -> None:
    assert 100 * un_ionised_share(temperature_c, ph) == pytest.approx(percent, rel=0.006)


@pytest.mark.parametrize(("temperature_c", "ph"), [(0, 7), (50, 7), (25, 4), (25, 11)])
def test_the_ends_of_the_range_are_inside(temperature_c: float, ph: float) -> None:
    assert 0 < un_ionised_share(temperature_c, ph) < 1
    for beyond in ((-0.01, 7), (50.01, 7), (25, 3.99), (25, 11.01)):
        with pytest.raises(RangeError):
            un_ionised_share(*beyond)


def test_ammonia_of_live_and_dry_food() -> None:
    """28 J of nauplii are 10 mg wet, 1.7 mg dry, 0.986 mg of protein, 0.0907 mg of nitrogen."""
    assert ammonia_mg({"brine_shrimp": 28}) == pytest.approx(10 * 0.17 * 0.58 * 0.092)
    # A gram of crumble brings 13,500 J that a fry digests, 450 mg of protein, 41.4 mg.
    assert ammonia_mg({"dry": 13500}) == pytest.approx(41.4)
    both = ammonia_mg({"dry": 13500, "brine_shrimp": 28})
    assert both == pytest.approx(41.4 + 10 * 0.17 * 0.58 * 0.092)


def test_the_load_of_a_tank() -> None:
    load = tank_load(
        tank="A1", litres=20, temperature_c=25, given_j={"dry": 1350, "worm": 0}, need_j=1000
    )
    assert load.ammonia_mg_per_l == pytest.approx(4.14 / 20)
    free = 4.14 / 20 * un_ionised_share(25, 7.5)
    assert load.un_ionised_mg_per_l == pytest.approx(free)
    assert load.days_to_limit == pytest.approx(0.02 / free)
    assert load.given_over_need == pytest.approx(1.35)
    nothing = tank_load(tank="A1", litres=20, temperature_c=25, given_j={"dry": 9}, need_j=0)
    assert nothing.given_over_need is None


@pytest.mark.parametrize(("given_j", "said"), [(149.9, False), (150.0, False), (150.1, True)])
def test_more_than_one_and_a_half_times_the_ration_is_said(given_j: float, said: bool) -> None:
    load = tank_load(
        tank="A1", litres=4000, temperature_c=25, given_j={"worm": given_j}, need_j=100
    )
    assert bool(load.warnings()) is said


def test_a_warning_says_how_much() -> None:
    """1.35 kJ of crumble in 2 L: 2.07 mg/L, and at 25 °C (pKa 9.2463) and pH 7.5 1.76 %."""
    load = tank_load(tank="A1", litres=2, temperature_c=25, given_j={"dry": 1350})
    text = load.warnings()[0].text
    assert "2.1 mg/L" in text
    assert "0.036 of it un-ionised at 25 °C and pH 7.5" in text
    assert "the usual working limit is 0.02" in text


def test_livebearers_are_born_ready_to_eat() -> None:
    """Common practice, no source: guppies and platies take food on their first day."""
    values = shipped_class("livebearer").values
    assert values["first_food_days"] - values["hatch_days"] <= 1
