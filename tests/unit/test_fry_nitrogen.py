"""Ammonia that a day's food brings."""

from __future__ import annotations

import math

import pytest

from cultures.errors import RangeError
from cultures.fry.feeding import feeding_values
from cultures.fry.nitrogen import ammonia_mg, tank_load, un_ionised_share


def test_a_gram_of_crumble_gives_what_the_textbook_says() -> None:
    v = feeding_values()
    energy = v["dry_j_per_g"] * v["dry_digested"]
    # Timmons & Ebeling, from memory: 0.092 of the protein.
    assert ammonia_mg({"dry": energy}) == pytest.approx(1000 * v["feed_protein"] * 0.092)


def test_a_fed_and_an_unfed_tank() -> None:
    unfed = tank_load(tank="A1", litres=40, temperature_c=26, given_j={}, need_j=100)
    assert unfed.ammonia_mg_per_l == 0
    assert unfed.days_to_limit == math.inf
    assert unfed.warnings() == []
    fed = tank_load(tank="A1", litres=2, temperature_c=26, given_j={"dry": 4000}, need_j=4000)
    assert fed.days_to_limit < 1
    (found,) = fed.warnings()
    assert "Emerson et al. 1975" in found.why
    assert "measure, and change water" in found.says


def test_more_water_dilutes_and_warmth_sharpens() -> None:
    small = tank_load(tank="A1", litres=10, temperature_c=26, given_j={"microworm": 500})
    large = tank_load(tank="A1", litres=40, temperature_c=26, given_j={"microworm": 500})
    assert large.ammonia_mg_per_l == pytest.approx(small.ammonia_mg_per_l / 4)
    warm = tank_load(tank="A1", litres=10, temperature_c=30, given_j={"microworm": 500})
    assert warm.days_to_limit < small.days_to_limit
    assert small.given_over_need is None


def test_feeding_twice_the_ration_is_said() -> None:
    load = tank_load(
        tank="B2", litres=400, temperature_c=26, given_j={"brine_shrimp": 200}, need_j=100
    )
    (found,) = load.warnings()
    text = found.text
    assert text.startswith("2.0 times the ration")
    assert "Give less there and note what it got (livefood journal fed TANK FOOD AMOUNT)" in text


@pytest.mark.parametrize(("degrees", "ph"), [(60, 7), (25, 2), (25, 12)])
def test_no_share_outside_its_range(degrees: float, ph: float) -> None:
    with pytest.raises(RangeError, match="use 0 to 50"):
        un_ionised_share(degrees, ph)


def test_food_beyond_what_is_eaten_comes_out_whole() -> None:
    """Twice the need: of the second half all nitrogen comes out, not 57.5 % of it."""
    v = feeding_values()
    whole, share = 1000.0 / v["live_food_j_per_mg"], v["ammonia_share"]
    nitrogen = whole * v["live_dry_matter"] * v["live_protein"] * v["nitrogen_of_protein"]
    given = {"microworm": 1000.0}
    fed, over = (
        tank_load(tank="A1", litres=10, temperature_c=26, given_j=given, need_j=need)
        for need in (1000.0, 500.0)
    )
    assert 10 * fed.ammonia_mg_per_l == pytest.approx(nitrogen * share)
    assert 10 * over.ammonia_mg_per_l == pytest.approx(nitrogen * (0.5 * share + 0.5))
    assert over.days_to_limit < fed.days_to_limit
