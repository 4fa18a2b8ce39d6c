"""The examples of docs/models.md run as printed."""

from __future__ import annotations

import doctest
import tomllib
from pathlib import Path

import pytest

from cultures.foods.kinds import WormKind, read_kind, shipped_kind
from cultures.foods.parameters import Parameter
from cultures.fry.classes import shipped_class
from cultures.fry.feeding import feeding_parameters
from cultures.planning.unknowns import efforts, law_of

PAGE = Path(__file__).parents[2] / "docs" / "models.md"


def test_examples_run_as_printed() -> None:
    result = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert result.attempted >= 8
    assert result.failed == 0


def test_the_kind_of_your_own_can_be_read() -> None:
    block = PAGE.read_text("utf-8").split("```toml\n")[1].split("```")[0]
    (table,) = tomllib.loads(block)["kind"]
    assert read_kind(table).values["growth_rate_per_day"] == 0.6


def _carries(name: str) -> Parameter:
    kind = shipped_kind(name)
    assert isinstance(kind, WormKind)
    return kind.parameters[kind.capacity_key]


_SHRIMP = shipped_kind("brine_shrimp").parameters
#: The rows of the first table, each with its parameter.
_KNOWN = {
    "nauplii of a gram of cysts": _SHRIMP["nauplii_per_gram"],
    "how long a batch takes to hatch": _SHRIMP["t10_h"],
    "cysts in a level spoon": _SHRIMP["bulk_density_g_per_ml"],
    "what a tray of microworms carries": _carries("microworm"),
    "what a bottle of vinegar eels carries": _carries("vinegar_eel"),
    "a swipe of microworms": shipped_kind("microworm").parameters["portion_mg"],
    "a draw of vinegar eels": shipped_kind("vinegar_eel").parameters["portion_mg"],
    "how fast egg scatterers grow": shipped_class("egg_scatterer").parameters[
        "growth_rate_per_day"
    ],
    "how much fry eat": feeding_parameters()["ration_at_1mg"],
    "fry alive, guessed before they swim": efforts()["guessed_share"],
    "fry alive, counted": efforts()["counted_share"],
}


def test_the_table_of_what_is_known_is_that_of_the_data() -> None:
    text = PAGE.read_text("utf-8").split("## What is known")[1].split("\n## ")[0]
    rows = [line.strip("| ").split(" | ") for line in text.splitlines() if line.startswith("| ")]
    found = {what: (float(low), float(high)) for what, low, high, *_ in rows[1:]}
    assert set(found) == set(_KNOWN)
    for what, ends in found.items():
        law = law_of(_KNOWN[what])
        assert ends == pytest.approx((law.low, law.high), rel=0.01, abs=0.005), what
        unsourced = _KNOWN[what].status in ("practice", "assumption")
        told = next(row[3] for row in rows if row[0] == what)
        assert unsourced == (told == "practice" or "no count" in told), what
