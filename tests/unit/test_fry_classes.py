"""The shipped fry classes as data, and a keeper's own."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from cultures.errors import UnknownNameError
from cultures.foods.parameters import ParameterError, data_table, sources, specs_of
from cultures.fry.classes import CLASS_SPECS, class_names, read_class, shipped_class
from cultures.fry.development import EffectiveTemperature
from cultures.fry.feeding import feeding_parameters
from cultures.fry.species import read_species, species_keys


@pytest.mark.parametrize("name", class_names())
def test_each_value_has_range_source_and_status(name: str) -> None:
    table = data_table("classes", f"{name}.toml")
    raw = table["parameters"]
    assert set(raw) <= set(CLASS_SPECS)
    assert "like" in table or set(raw) == set(CLASS_SPECS)
    for entry in raw.values():
        assert {"value", "range", "source", "status"} <= set(entry)
    parameters = shipped_class(name).parameters
    assert set(parameters) == set(CLASS_SPECS)
    assert {s for p in parameters.values() for s in p.sources} <= sources().keys()
    assert all(parameter.sources for parameter in parameters.values())


@pytest.mark.parametrize("name", class_names())
def test_gapes_are_marked_as_estimates(name: str) -> None:
    assert "estimate" in shipped_class(name).parameters["gape_share"].note


def test_a_shipped_class_like_another_says_so_of_what_it_takes_over() -> None:
    tilapia, other = shipped_class("tilapia"), shipped_class("mouthbrooder")
    assert tilapia.values["weight_b"] == other.values["weight_b"]
    assert tilapia.parameters["weight_b"].note.startswith("as in mouthbrooder; ")
    assert tilapia.parameters["weight_b"].sources == other.parameters["weight_b"].sources
    assert not tilapia.parameters["first_food_days"].note.startswith("as in")


def test_tilapias_eat_a_week_before_other_mouthbrooders() -> None:
    """Hatched after 4-5 days (amri2008) and fed 5 days later at 28 °C (rana1990)."""
    tilapia = shipped_class("tilapia")
    assert 9 <= tilapia.development.days(tilapia.values["first_food_days"], 28) <= 10
    others = shipped_class("mouthbrooder").parameters["first_food_days"]
    assert others.low - tilapia.parameters["first_food_days"].high > 3


_SPANNED = ("hatch_days", "first_food_days", "length_first_food_mm", "growth_rate_per_day")


def test_ranges_of_classes_hold_their_species() -> None:
    """Eight in ten are said to lie within: nine in ten of what species' texts give do."""
    inside = [
        p.low <= shipped_class(key).values[name] <= p.high
        for key in species_keys()
        for name in set(_SPANNED) & set(read_species(key).parameters)
        for p in [shipped_class(read_species(key).of).parameters[name]]
    ]
    assert len(inside) > 100
    assert sum(inside) / len(inside) > 0.9


@pytest.mark.parametrize("name", class_names())
def test_nothing_that_rests_on_practice_alone_is_called_read(name: str) -> None:
    for parameter in shipped_class(name).parameters.values():
        if parameter.sources == ("practice",):
            assert parameter.status in ("practice", "assumption", "memory")


def test_the_feeding_laws_name_their_sources() -> None:
    assert set(feeding_parameters()) == set(specs_of("feeding"))
    assert {s for p in feeding_parameters().values() for s in p.sources} <= sources().keys()


@pytest.mark.parametrize(
    "name",
    [
        "annual_killifish",
        "armoured_catfish",
        "blue_eye",
        "bubble_nest",
        "egg_scatterer",
        "goldfish",
        "livebearer",
        "molly",
        "mouthbrooder",
        "non_annual_killifish",
        "rainbowfish",
        "ricefish",
        "rock_dweller",
        "south_american_annual",
        "substrate_spawner",
        "tench",
        "tilapia",
        "tiny_scatterer",
    ],
)
def test_the_classes_a_room_file_may_name_are_shipped(name: str) -> None:
    assert name in class_names()


def test_a_keeper_changes_one_value_of_a_shipped_class() -> None:
    own = read_class(
        {"name": "my barb", "like": "egg_scatterer", "parameters": {"growth_rate_per_day": 0.05}}
    )
    shipped = shipped_class("egg_scatterer")
    assert own.values == {**shipped.values, "growth_rate_per_day": 0.05}
    assert own.parameters["growth_rate_per_day"].status == "keeper"


def test_a_class_of_ones_own_may_leave_out_what_has_a_usual_value() -> None:
    needed = {
        k: v
        for k, v in shipped_class("rainbowfish").values.items()
        if CLASS_SPECS[k].default is None
    }
    own = read_class({"name": "mine", "parameters": needed})
    assert own.values["sort_ratio"] == CLASS_SPECS["sort_ratio"].default
    assert own.values["development_t0_c"] == CLASS_SPECS["development_t0_c"].default


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ({"name": "x", "like": "rainbowfsh"}, "did you mean 'rainbowfish'"),
        ({"name": "x", "like": "rainbowfish", "colour": 1}, "unknown key"),
        ({"name": "x", "like": "rainbowfish", "parameters": {"gape_shar": 0.05}}, "gape_share"),
        ({"name": "x", "like": "rainbowfish", "parameters": {"gape_share": 0.9}}, "not possible"),
        ({"name": "x", "like": "rainbowfish", "parameters": {"t_max_c": 20}}, "must be above"),
        ({"name": "x", "like": "rainbowfish", "parameters": {"length_limit_mm": 5.0,
          "length_first_food_mm": 5.0}}, "must be above length_first_food_mm"),
        ({"like": "rainbowfish"}, "needs a name"),
        ({"name": "x", "parameters": {}}, "is missing"),
    ],
)  # fmt: skip
def test_a_wrong_class_gets_one_clear_message(table: dict[str, object], message: str) -> None:
    with pytest.raises((ParameterError, UnknownNameError), match=message):
        read_class(table)


def test_no_date_is_promised_near_the_zero_or_above_the_limit() -> None:
    law = EffectiveTemperature(t0_c=12, t_ref_c=25, t_max_c=29)
    assert [law.promised(t) for t in (15.9, 16.0, 25.0, 29.0, 29.1)] == [
        False,
        True,
        True,
        True,
        False,
    ]
    assert law.days(5, 12) == math.inf
    assert law.days(5, 25) == 5
    assert law.days(5, 35) == law.days(5, 29)


def test_every_source_on_fry_is_used_somewhere() -> None:
    root = Path(__file__).parents[2]
    places = [
        *(root / "cultures" / "data").rglob("*.toml"),
        *(root / "tests" / "published").glob("*fry*"),
        root / "docs" / "models-fry.md",
    ]
    listed = root / "cultures" / "data" / "sources" / "fry.toml"
    text = "\n".join(
        path.read_text("utf-8") for path in places if path.is_file() and path != listed
    )
    unused = [name for name in data_table("sources", "fry.toml") if name not in text]
    assert unused == []
