"""The shipped fry classes as data, and a keeper's own."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from cultures.errors import UnknownNameError
from cultures.foods.parameters import ParameterError, data_table, sources
from cultures.fry.classes import CLASS_SPECS, class_names, read_class, shipped_class
from cultures.fry.development import EffectiveTemperature
from cultures.fry.feeding import FEEDING_SPECS, feeding_parameters


@pytest.mark.parametrize("name", class_names())
def test_each_value_has_range_source_and_status(name: str) -> None:
    raw = data_table("classes", f"{name}.toml")["parameters"]
    assert set(raw) == set(CLASS_SPECS)
    for entry in raw.values():
        assert {"value", "range", "source", "status"} <= set(entry)
    parameters = shipped_class(name).parameters
    assert {s for p in parameters.values() for s in p.sources} <= sources().keys()
    assert all(parameter.sources for parameter in parameters.values())


@pytest.mark.parametrize("name", class_names())
def test_gapes_are_marked_as_estimates(name: str) -> None:
    assert shipped_class(name).parameters["gape_share"].note.startswith("estimate")


@pytest.mark.parametrize("name", class_names())
def test_nothing_that_rests_on_practice_alone_is_called_read(name: str) -> None:
    for parameter in shipped_class(name).parameters.values():
        if parameter.sources == ("practice",):
            assert parameter.status in ("practice", "assumption", "memory")


def test_the_feeding_laws_name_their_sources() -> None:
    assert set(feeding_parameters()) == set(FEEDING_SPECS)
    assert {s for p in feeding_parameters().values() for s in p.sources} <= sources().keys()


@pytest.mark.parametrize(
    "name",
    [
        "annual_killifish",
        "armoured_catfish",
        "bubble_nest",
        "egg_scatterer",
        "livebearer",
        "mouthbrooder",
        "non_annual_killifish",
        "rainbowfish",
        "rock_dweller",
        "substrate_spawner",
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
