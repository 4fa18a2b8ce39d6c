"""Mouth, ration and diet, and the examples of docs/models-fry.md."""

from __future__ import annotations

import doctest
from datetime import date
from pathlib import Path

import pytest

from cultures.foods.food import Food
from cultures.fry.classes import class_names, shipped_class
from cultures.fry.diet import diet_shares
from cultures.fry.feeding import dry_food, energy_per_day_j, feeding_values, ration_per_day
from cultures.needs.food_units import natural_amount
from cultures.room.file import read_room

DOCS = Path(__file__).parents[2] / "docs" / "models-fry.md"
WORM = Food("worm", 50, 0.0012, 1)
SHRIMP = Food("shrimp", 160, 0.0138, 3)


def test_the_examples_of_the_docs_run() -> None:
    result = doctest.testfile(str(DOCS), module_relative=False)
    assert result.attempted >= 8
    assert result.failed == 0


def test_the_table_of_growth_in_the_docs_is_what_the_classes_say() -> None:
    rows = [line.split("|") for line in DOCS.read_text("utf-8").splitlines() if " at 2" in line]
    checked = 0
    for row in (r for r in rows if len(r) == 6 and "," in r[3]):
        fry = shipped_class(row[1].strip())
        lengths, degrees = row[3].split(" at ")
        assert float(degrees.removesuffix(" °C ")) == fry.values["t_ref_c"]
        shown = [f"{fry.length_mm(days):.1f}" for days in (7, 14, 28, 56)]
        assert [text.strip() for text in lengths.split(",")] == shown
        checked += 1
    assert checked == len(class_names())


def test_the_smallest_are_capped_and_the_cold_and_heat_held() -> None:
    v = feeding_values()
    assert ration_per_day(0.1, v["ration_ref_c"]) == v["ration_cap"]
    assert ration_per_day(5, 10) == ration_per_day(5, v["ration_low_c"])
    assert ration_per_day(5, 35) == ration_per_day(5, v["ration_high_c"])


def test_energy_is_ration_times_weight_times_energy() -> None:
    # 1 mg at 27 °C: 200 % of its weight (capped from 204 %) of live food at 2.8 J/mg
    assert energy_per_day_j(1.0, 27) == pytest.approx(2.0 * 2.8)


def test_past_fry_age_only_dry_food_counts() -> None:
    fry = shipped_class("egg_scatterer")
    assert diet_shares([WORM, SHRIMP, dry_food()], fry, 25) == {"dry": 1.0}
    assert "shrimp" in diet_shares([WORM, SHRIMP], fry, 25)


def test_nothing_fits_a_mouth_that_is_too_small() -> None:
    assert diet_shares([SHRIMP], shipped_class("bubble_nest"), 2.9) == {}
    assert diet_shares([], shipped_class("bubble_nest"), 2.9) == {}


def test_variety_does_not_invent_a_food_that_does_not_fit() -> None:
    fry = shipped_class("bubble_nest")
    assert set(diet_shares([WORM, SHRIMP], fry, 2.9, variety=2)) == {"worm"}


def test_amounts_name_what_a_keeper_counts() -> None:
    room = read_room(
        """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30"]
awake = ["06:30", "22:30"]
""",
        name="room.toml",
        today=date(2027, 1, 5),
    )
    v = feeding_values()
    assert natural_amount(room, "dry", v["dry_j_per_g"] * v["dry_digested"]).value == 1.0
    assert natural_amount(room, "brine_shrimp", 38.7).unit == "nauplii"
    assert natural_amount(room, "microworm", 5.4).unit == "mg"
