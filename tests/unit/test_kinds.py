"""Kinds of live food: the shipped data, and a keeper's own."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from cultures.errors import UnknownNameError
from cultures.foods.kinds import (
    HATCH_SPECS,
    WORM_SPECS,
    HatchKind,
    WormKind,
    kind_names,
    read_kind,
    shipped_kind,
    strains,
)
from cultures.foods.parameters import (
    ParameterError,
    Spec,
    data_table,
    drawn_values,
    read_parameter,
    sources,
)

ALL = [(name, strain) for name in kind_names() for strain in (None, *strains(name))]


def worm(name: str = "microworm") -> WormKind:
    kind = shipped_kind(name)
    assert isinstance(kind, WormKind)
    return kind


def shrimp(strain: str | None = None) -> HatchKind:
    kind = shipped_kind("brine_shrimp", strain)
    assert isinstance(kind, HatchKind)
    return kind


def own(**changes: Any) -> dict[str, Any]:
    return {"name": "attic_worm", "like": "microworm", "parameters": changes}


def test_the_promised_kinds_are_shipped() -> None:
    assert {"microworm", "vinegar_eel", "brine_shrimp"} < set(kind_names())
    assert len(kind_names()) >= 5
    assert len(strains("brine_shrimp")) >= 5


def test_a_slow_batch_begins_and_ends_late() -> None:
    kind = shipped_kind("brine_shrimp")
    generator = random.Random(3)
    for _ in range(200):
        values = drawn_values(kind.parameters, generator)
        late = [values[name] > kind.values[name] for name in ("t10_h", "t90_h")]
        assert late[0] is late[1]
        assert values["t10_h"] < values["t90_h"]


@pytest.mark.parametrize(("name", "strain"), ALL)
def test_every_value_has_a_listed_source_and_a_range(name: str, strain: str | None) -> None:
    kind = shipped_kind(name, strain)
    assert {s for p in kind.parameters.values() for s in p.sources} <= sources().keys()
    for key, parameter in kind.parameters.items():
        assert parameter.sources, key
        assert parameter.status != "keeper", key
        assert parameter.low <= parameter.value <= parameter.high, key
        if parameter.status in ("read", "derived"):
            assert parameter.sources != ("practice",), f"{key} is {parameter.status} from where?"


@pytest.mark.parametrize("name", kind_names())
def test_data_files_are_named_after_their_kind(name: str) -> None:
    assert shipped_kind(name).name == name
    assert data_table("kinds", f"{name}.toml")["name"] == name


@pytest.mark.parametrize(("name", "strain"), ALL)
def test_rates_are_stated_at_the_reference(name: str, strain: str | None) -> None:
    kind = shipped_kind(name, strain)
    assert kind.rate(kind.values["t_ref_c"]) == pytest.approx(1.0)
    assert kind.check_temperature(kind.values["t_ref_c"]) is None


def test_prefixes_of_new_cultures_differ() -> None:
    kinds = [shipped_kind(name) for name in kind_names()]
    prefixes = [kind.prefix for kind in kinds if isinstance(kind, WormKind)]
    assert len(set(prefixes)) == len(prefixes)


def test_capacity_is_the_scarcer_of_surface_and_mass() -> None:
    kind, v = worm(), worm().values
    wide = kind.model(medium_g=10, surface_cm2=1000)
    deep = kind.model(medium_g=1000, surface_cm2=10)
    assert wide.capacity_mg == pytest.approx(10 * v["capacity_mg_per_g"])
    assert deep.capacity_mg == pytest.approx(10 * v["capacity_mg_per_cm2"])
    assert kind.model(medium_g=10).capacity_mg == wide.capacity_mg


def test_the_keepers_own_count_wins() -> None:
    assert shrimp().model(temperature_c=27, nauplii_per_gram=150000).nauplii_per_gram == 150000


@pytest.mark.parametrize(
    ("temperature_c", "words"),
    [(40, "dies at 35 °C and above"), (-5, "dies at -2 °C and below")],
)
def test_a_lethal_temperature_for_worms_is_named(temperature_c: float, words: str) -> None:
    assert words in (worm().check_temperature(temperature_c) or "")


def test_temperatures_for_cysts_are_judged() -> None:
    kind = shrimp()
    assert "stop or die at 33 °C" in (kind.check_temperature(33) or "")
    assert "promised below 15 °C" in (kind.check_temperature(14.9) or "")
    assert "slow and unreliable" in (kind.warn_temperature(16) or "")
    assert "heater fault" in (kind.warn_temperature(30) or "")
    assert kind.check_temperature(27) is kind.warn_temperature(27) is None


def test_salt_scales_the_hatch() -> None:
    share = shrimp().salinity_share
    assert share(0) < share(5) < share(12) == share(25) == share(36) == 1
    assert share(60) < 1
    assert share(85) == share(200) == 0


def test_spoons_follow_the_bulk_density() -> None:
    assert shrimp().spoons(3.2) == pytest.approx(1.0, abs=0.01)


def test_a_strain_changes_only_what_it_gives() -> None:
    plain, strain = shrimp(), shrimp("great_salt_lake")
    changed = {key for key in plain.values if plain.values[key] != strain.values[key]}
    assert changed == {"energy_j", "individual_mass_ug"}
    assert strain.strain == "great_salt_lake"


def test_unknown_names_are_answered_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'microworm'"):
        shipped_kind("microwurm")
    with pytest.raises(UnknownNameError, match="strain of brine_shrimp"):
        shipped_kind("brine_shrimp", "atlantis")
    with pytest.raises(UnknownNameError, match="strain of microworm"):
        shipped_kind("microworm", "atlantis")


def test_a_keepers_own_kind_starts_from_a_shipped_one() -> None:
    kind = read_kind(own(growth_rate_per_day=0.6))
    assert isinstance(kind, WormKind)
    assert kind.values["growth_rate_per_day"] == 0.6
    assert kind.parameters["growth_rate_per_day"].status == "keeper"
    assert kind.values["lag_days"] == worm().values["lag_days"]
    assert kind.label == "attic worm"
    assert kind.model(medium_g=100, surface_cm2=100).growth_rate == 0.6


def test_a_kind_wholly_by_data_needs_every_parameter() -> None:
    table = data_table("kinds", "paramecium.toml")
    del table["parameters"]["lag_days"]
    with pytest.raises(ParameterError, match="lag_days: is missing: days at the reference"):
        read_kind(table)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (own(growth_rat_per_day=1), "unknown parameter; did you mean 'growth_rate_per_day'"),
        (own(growth_rate_per_day=-1), "is not possible; use 0.001 to 5"),
        (own(growth_rate_per_day=math.nan), "must be finite"),
        (own(growth_rate_per_day="fast"), "must be a number, or a table"),
        (own(growth_rate_per_day=True), "must be a number, or a table"),
        (own(t_min_c=25.0), "t_ref_c: must be above t_min_c"),
        (own(lethal_high_c=23.0), "lethal_high_c: must be above t_ref_c"),
        ({"like": "microworm"} | {"colour": "red"}, "colour: unknown key"),
        ({"name": "x"}, "model: must be 'worm_culture' or 'hatch'"),
        ({"model": "hatch"}, "name: a kind needs a name"),
        (own() | {"medium": "gas"}, "medium: must be one of solid, liquid"),
        (own() | {"parameters": 5}, "parameters: must be a table"),
        (own() | {"cautions": 5}, "cautions: must be a list of sentences"),
        (
            {"name": "y", "like": "brine_shrimp", "parameters": {"t10_h": 30}},
            "t90_h: must be above t10_h",
        ),
    ],
)
def test_a_wrong_kind_gets_one_clear_message(table: dict[str, Any], words: str) -> None:
    with pytest.raises(ParameterError, match=words):
        read_kind(table)


def test_an_unknown_kind_to_start_from_is_named() -> None:
    with pytest.raises(UnknownNameError, match="no kind of live food named 'dragon'"):
        read_kind({"name": "x", "like": "dragon"})


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"value": 5, "range": [6, 7]}, "lies outside its own range"),
        ({"value": 5, "range": 6}, "range must be two numbers"),
        ({"value": 5, "unit": "lb"}, "the unit must be d, not lb"),
        ({"value": 5, "status": "sure"}, "unknown status 'sure'"),
        ({"valu": 5}, "unknown key 'valu'"),
        ({}, "the value must be a number"),
    ],
)
def test_a_wrong_parameter_table_is_refused(raw: dict[str, Any], words: str) -> None:
    with pytest.raises(ParameterError, match=words):
        read_parameter("lag_days", raw, Spec("d", 0, 60, "lag"))


@pytest.mark.parametrize(("name", "strain"), ALL)
def test_eight_in_ten_draws_lie_in_their_range(name: str, strain: str | None) -> None:
    """A tenth beyond each end and half above the value, within 4.5 s.d. of the binomial law."""
    generator = random.Random(1)
    parameters = shipped_kind(name, strain).parameters
    draws = [drawn_values(parameters, generator) for _ in range(2000)]

    def agree(seen: int, share: float) -> bool:
        return abs(seen / 2000 - share) <= 4.5 * math.sqrt(share * (1 - share) / 2000)

    for key, p in parameters.items():
        drawn = [values[key] for values in draws]
        assert p.least <= min(drawn) <= max(drawn) <= p.most
        below, above = p.value > p.low > p.least, p.value < p.high < p.most
        assert agree(sum(x < p.low for x in drawn), 0.1 if below else 0.0), key
        assert agree(sum(x > p.high for x in drawn), 0.1 if above else 0.0), key
        assert agree(sum(x > p.value for x in drawn), 0.5 if p.value < p.high else 0.0), key


def test_every_parameter_has_a_meaning() -> None:
    for spec in (*WORM_SPECS.values(), *HATCH_SPECS.values()):
        assert spec.meaning
        assert spec.low < spec.high


def test_one_caution_may_be_a_sentence_and_several_are_a_list() -> None:
    for said, cautions in (("Hot.", ("Hot.",)), (["Hot.", "Sharp."], ("Hot.", "Sharp."))):
        assert read_kind(own() | {"cautions": said}).cautions == cautions


def test_a_kind_of_ones_own_has_its_own_name_and_its_cultures_their_own_letters() -> None:
    kind = read_kind({"name": "white_worm", "like": "grindal_worm"})
    assert isinstance(kind, WormKind)
    assert (kind.label, kind.prefix) == ("white worm", "WW")
    # It is no Enchytraeus buchholzi; how it is kept is what it is like.
    assert (kind.scientific, kind.named) == ("", "white worm (like grindal worm)")
    assert kind.recipe == worm("grindal_worm").recipe
    told = {"label": "pot worm", "prefix": "PW", "scientific": "Enchytraeus albidus"}
    kind = read_kind({"name": "white_worm", "like": "grindal_worm", **told})
    assert isinstance(kind, WormKind)
    assert (kind.named, kind.prefix) == ("pot worm (Enchytraeus albidus)", "PW")


def test_a_recipe_says_how_deep_the_medium_of_this_box_lies() -> None:
    """400 g at 1 g/mL on 250 cm² are 1.6 cm; without a surface it is as deep as recipes have it."""
    kind = worm("grindal_worm")
    assert "moist coir or soil 1.6 cm deep, a pinch" in kind.recipe_of(400.0, 250.0)
    assert kind.recipe_of(400.0, None) == kind.recipe
    eels = worm("vinegar_eel")
    assert eels.recipe_of(800.0, 50.0) == eels.recipe


def test_a_shipped_kind_that_is_only_changed_keeps_its_name_and_letters() -> None:
    for own_name in ({}, {"name": "grindal_worm"}):
        kind = read_kind({"like": "grindal_worm", **own_name})
        assert isinstance(kind, WormKind)
        assert (kind.named, kind.prefix) == ("grindal worm (Enchytraeus buchholzi)", "GW")


@pytest.mark.parametrize(
    ("name", "prefix"),
    [("green_worm", "GRW"), ("milk__worm", "MIW"), ("attic worm", "AW"), ("mw", "M"), ("_", "_")],
)
def test_letters_of_a_shipped_kind_are_taken_by_no_other(name: str, prefix: str) -> None:
    kind = read_kind({"name": name, "like": "grindal_worm"})
    assert isinstance(kind, WormKind)
    assert kind.prefix == prefix


def test_many_of_a_kind_have_a_name_of_their_own() -> None:
    """The plural of paramecium is paramecia; one that is like it is not called so."""
    assert shipped_kind("microworm").labels == "microworms"
    assert shipped_kind("paramecium").labels == "paramecia"
    own = read_kind({"name": "jar_fly", "like": "paramecium"})
    assert own.labels == "jar flys"
    assert read_kind({"name": "jar_fly", "like": "paramecium", "plural": "jar flies"}).labels == (
        "jar flies"
    )
