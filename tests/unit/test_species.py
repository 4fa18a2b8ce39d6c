"""Species: their files, their names, and what a class fills in; figures by hand."""

from __future__ import annotations

import math
import re
from datetime import date
from pathlib import Path
from unittest import mock

import pytest

from cultures.errors import BadFileError, UnknownNameError
from cultures.foods.parameters import ParameterError, data_table, shipped_table, sources
from cultures.fry import species as module
from cultures.fry.classes import class_named, class_names, read_class, shipped_class
from cultures.fry.species import (
    Species,
    SpeciesNameError,
    filled,
    must_be_species,
    read_species,
    species_keys,
    species_like,
    species_named,
)
from cultures.room.file import read_room

TODAY = date(2027, 1, 5)
ROOM = """
[room]
name = "loft"
timezone = "Europe/Lisbon"
temperature_c = 23
[[tank]]
name = "A1"
litres = 40
temperature_c = 28
[[brood]]
name = "b1"
tank = "A1"
{what}
count = 50
spawned = 2027-01-04
"""
#: A class as a file has it, with round numbers.
CLASS = {
    key: dict(raw) for key, raw in data_table("classes", "bubble_nest.toml")["parameters"].items()
}
for _key, _middle, _range in (
    ("t_ref_c", 26, [26, 26]), ("development_t0_c", 16, [16, 16]), ("t_max_c", 30, [30, 30]),
    ("t_min_c", 10, [10, 10]), ("growth_q10", 2, [2, 2]), ("hatch_days", 2, [1, 3]),
    ("first_food_days", 5, [3.5, 7]),
):  # fmt: skip
    CLASS[_key] |= {"value": _middle, "range": _range}


def _one(**parameters: dict[str, object]) -> Species:
    return Species("a_b", "A b", ("b",), "bubble_nest", parameters)


def _value(value: float, **more: object) -> dict[str, object]:
    return {"value": value, "source": "celik2022", "status": "read", "note": "said so", **more}


@pytest.mark.parametrize("key", species_keys())
def test_every_file_loads_with_values_within_limits_and_ranges(key: str) -> None:
    one, fry = read_species(key), shipped_class(key)
    assert key == one.scientific.lower().replace(" ", "_")
    assert one.of in class_names()
    assert one.names
    assert one.parameters
    assert (fry.name, fry.label, fry.examples, fry.of) == (
        key,
        one.names[0],
        one.scientific,
        one.of,
    )
    assert fry.own == set(one.parameters)
    for name, p in fry.parameters.items():
        assert p.least <= p.low <= p.value <= p.high <= p.most, name
    for name in fry.own:
        p = fry.parameters[name]
        assert p.status in ("read", "derived", "assumption"), name
        assert p.note, name
        assert p.low < p.high, f"{name} has no spread"
        assert set(p.sources) <= {*sources(), "practice"}, name
    v = fry.values
    assert v["length_limit_mm"] > 1.1 * v["fry_until_mm"], "they would be fry forever"


@pytest.mark.parametrize("key", species_keys())
def test_what_a_species_lacks_is_its_class_and_says_so(key: str) -> None:
    fry = shipped_class(key)
    plain = shipped_class(fry.of)
    follows = {"first_food_days"} if "hatch_days" in fry.own else set()
    for name in set(fry.parameters) - fry.own - follows:
        ours, theirs = fry.parameters[name], plain.parameters[name]
        assert (ours.value, ours.low, ours.high) == (theirs.value, theirs.low, theirs.high), name
        assert ours.sources == theirs.sources, name
        assert ours.note.startswith(f"from its class, {fry.of}"), name
    for name in follows - fry.own:
        assert f"as its class, {fry.of}" in fry.parameters[name].note


def test_a_species_with_nothing_of_its_own_is_its_class() -> None:
    table = filled(_one(), CLASS)
    named = {"name": "x", "parameters": table}
    assert read_class(named).values == read_class({"name": "x", "parameters": CLASS}).values


def test_a_time_is_taken_to_the_reference_by_the_line() -> None:
    """At 31 °C the rate is that of 30, 14/10 of the one at 26; so 1 day there is 1.4 here."""
    table = filled(_one(hatch_days=_value(1, range=[0.5, 2], at_c=31)), CLASS)
    assert table["hatch_days"]["value"] == pytest.approx(1.4)
    assert table["hatch_days"]["range"] == pytest.approx([0.7, 2.8])
    assert table["hatch_days"]["status"] == "derived"
    assert table["hatch_days"]["note"] == "1 at 31 °C: said so"


def test_the_own_zero_of_a_species_counts() -> None:
    """Zero 6: at 21 °C it develops at 15/20 of the pace at 26."""
    own = _one(hatch_days=_value(4, at_c=21), development_t0_c=_value(6))
    assert filled(own, CLASS)["hatch_days"]["value"] == pytest.approx(3.0)


def test_a_rate_is_taken_to_the_reference_by_the_q10() -> None:
    """Ten degrees under the reference fry grow half as fast."""
    own = _one(growth_rate_per_day=_value(0.02, at_c=16))
    assert filled(own, CLASS)["growth_rate_per_day"]["value"] == pytest.approx(0.04)


def test_what_was_published_at_the_reference_stays_as_it_was_read() -> None:
    found = filled(_one(hatch_days=_value(1, at_c=26)), CLASS)["hatch_days"]
    assert (found["value"], found["status"]) == (1, "read")
    assert found["note"] == "at 26 °C: said so"


def test_first_food_follows_its_own_hatching_as_in_the_class() -> None:
    """Class: hatching 2 (1 to 3), first food 5 (3.5 to 7): 3 (2.5 to 4) days between."""
    found = filled(_one(hatch_days=_value(1, range=[0.5, 1.5])), CLASS)["first_food_days"]
    assert found["value"] == pytest.approx(4)
    assert found["range"] == pytest.approx([3.0, 5.5])
    assert found["source"][0] == "celik2022"
    both = _one(hatch_days=_value(1), first_food_days=_value(9))
    assert filled(both, CLASS)["first_food_days"]["value"] == 9


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ({"length_first_food_mm": _value(3, at_c=28)}, "at_c goes with a time or a rate"),
        ({"hatch_days": _value(3, at_c=16)}, "nothing of this class develops"),
        ({"growth_rate_per_day": _value(0.02, at_c=5)}, "nothing of this class develops"),
    ],
)
def test_a_temperature_that_cannot_be_is_refused(
    own: dict[str, dict[str, object]], said: str
) -> None:
    with pytest.raises(ParameterError, match=said):
        filled(_one(**own), CLASS)


@pytest.mark.parametrize(
    "word", ["Betta splendens", "betta_splendens", "BETTA", "siamese  fighting-fish"]
)
def test_any_name_in_any_case_leads_to_a_species(word: str) -> None:
    assert species_named(word) == must_be_species(word) == class_named(word) == "betta_splendens"
    assert shipped_class(word).name == "betta_splendens"


def test_a_name_of_several_is_refused_with_the_choices() -> None:
    choices = "'Symphysodon aequifasciatus' or 'Symphysodon discus'"
    for find in (species_named, must_be_species, class_named):
        with pytest.raises(SpeciesNameError, match=re.escape(choices)):
            find("Discus")


def test_an_unknown_name_is_refused_with_what_is_like_it() -> None:
    assert species_named("gourami") is None
    with pytest.raises(SpeciesNameError, match="'Trichogaster lalius' or"):
        must_be_species("gourami")
    with pytest.raises(SpeciesNameError, match="did you mean 'Betta splendens'"):
        must_be_species("beta splendens")
    with pytest.raises(SpeciesNameError, match="give its class"):
        must_be_species("xxxxxxxx")
    with pytest.raises(UnknownNameError):
        shipped_class("xxxxxxxx")


def test_parts_of_names_find_species() -> None:
    assert species_like("splendens") == ("betta_splendens",)
    assert set(species_like("betta")) == {"betta_splendens", "betta_imbellis", "betta_smaragdina"}
    assert species_like("xxxxxxxx") == ()


def test_a_keepers_class_may_start_from_a_species() -> None:
    own = read_class({"name": "mine", "like": "neon tetra", "parameters": {"hatch_days": 1.5}})
    shipped = shipped_class("paracheirodon_innesi")
    changed = {k for k in shipped.values if own.values[k] != shipped.values[k]}
    assert changed == {"hatch_days"}


def _class_of(what: str) -> str:
    return read_room(ROOM.format(what=what), today=TODAY).broods[0].fry_class.name


def test_a_brood_may_name_its_species() -> None:
    assert _class_of('species = "Betta splendens"') == "betta_splendens"
    assert _class_of('species = "Siamese fighting fish"') == "betta_splendens"
    assert _class_of('species = "betta"\nclass = "bubble_nest"') == "betta_splendens"
    assert _class_of('class = "bubble_nest"') == "bubble_nest"


@pytest.mark.parametrize(
    ("what", "line", "key", "said"),
    [
        ('species = "betta"\nclass = "goldfish"', 14, "class", "of the class 'bubble_nest'"),
        ('species = "discus"', 13, "species", "'Symphysodon discus'"),
        ('species = "xxxxxxxx"', 13, "species", "there is no species 'xxxxxxxx'"),
        ("species = 5", 13, "species", "must be text in quotes"),
        ("", 10, "class", "is missing; or give its species"),
        ('class = "guppy"', 13, "class", 'write species = "Poecilia reticulata"'),
    ],
)
def test_what_is_wrong_with_a_species_is_told_with_line_and_key(
    what: str, line: int, key: str, said: str
) -> None:
    with pytest.raises(BadFileError) as caught:
        read_room(ROOM.format(what=what), today=TODAY)
    (problem,) = caught.value.problems
    assert problem.line == line
    assert problem.key == f"[[brood]] b1 {key}"
    assert said in problem.message


@pytest.mark.parametrize(
    ("what", "read"),
    [('class = "bubble_nest"', set()), ('species = "Betta splendens"', {"betta_splendens"})],
)
def test_only_the_species_of_the_room_are_read(what: str, read: set[str]) -> None:
    """A name in science costs one file, and a room without species none."""
    for cached in (shipped_class, read_species, module._by_trade_name):
        cached.cache_clear()
    found: set[str] = set()

    def watched(folder: str, name: str, what: str) -> dict[str, object]:
        found.add(name)
        return shipped_table(folder, name, what)

    with mock.patch("cultures.fry.species.shipped_table", watched):
        read_room(ROOM.format(what=what), today=TODAY)
    assert found == read


def test_the_development_of_a_species_by_hand() -> None:
    """Valentin et al. 2013: 29 h at 28.4 °C; the line of its class begins at 13 °C."""
    fry = shipped_class("betta_splendens")
    assert fry.development.days(fry.values["hatch_days"], 28.4) * 24 == pytest.approx(29, rel=1e-3)
    at_25 = fry.development.days(fry.values["hatch_days"], 25) * 24
    assert at_25 == pytest.approx(29 * (28.4 - 13) / (25 - 13), rel=1e-3)
    assert math.isinf(fry.development.days(1, 13))


def test_every_species_keeps_the_reference_of_its_class() -> None:
    folder = Path(module.__file__).parents[1] / "data" / "species"
    for path in folder.glob("*.toml"):
        assert "t_ref_c" not in read_species(path.stem).parameters, path.name
