"""The shipped tables: sources resolve and are used, ranges hold the value, units are known."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, get_args

import pytest

from cultures.foods.kinds import HATCH_SPECS, WORM_SPECS, HatchKind, kind_names, shipped_kind
from cultures.foods.parameters import Parameter, Spec, Status, sources, specs_of
from cultures.fry.classes import CLASS_SPECS, class_names, shipped_class
from cultures.planning.preparation import live_foods
from cultures.room.keys import RESERVED
from cultures.tasks.told import FeedLine

_ROOT = Path(__file__).resolve().parents[2]
_DATA = _ROOT / "cultures" / "data"
#: Every unit that a parameter may have; "wet" is wet mass, "share" and "" are pure numbers.
_UNITS = {
    "", "share", "°C", "d", "h", "1/d", "1/h", "mm", "um", "mg wet", "ug wet", "J", "J/mg wet",
    "mg/mm^b", "mm/L", "mg/cm2", "mg/g", "1/g", "L", "g", "g/L", "g/mL", "lux",
}  # fmt: skip


def _parameters() -> Iterator[tuple[str, str, Parameter]]:
    for name in kind_names():
        for key, parameter in shipped_kind(name).parameters.items():
            yield name, key, parameter
    for name in class_names():
        for key, parameter in shipped_class(name).parameters.items():
            yield name, key, parameter


def test_each_parameter_has_a_value_in_its_range_and_a_known_status() -> None:
    count = 0
    for name, key, parameter in _parameters():
        count += 1
        assert parameter.low <= parameter.value <= parameter.high, (name, key)
        assert parameter.status in get_args(Status), (name, key)
        assert parameter.status != "keeper", (name, key)
        if parameter.status in ("read", "derived", "memory"):
            assert parameter.sources, (name, key)
        if parameter.status in ("derived", "assumption") and parameter.note != "default":
            assert parameter.sources or parameter.note, (name, key)
    assert count > 300


def test_each_unit_is_the_one_of_its_spec() -> None:
    for name in kind_names():
        kind = shipped_kind(name)
        specs = HATCH_SPECS if isinstance(kind, HatchKind) else WORM_SPECS
        for key, parameter in kind.parameters.items():
            assert parameter.unit == specs[key].unit, (name, key)
            assert specs[key].low <= parameter.low <= parameter.high <= specs[key].high, (name, key)
    for name in class_names():
        for key, parameter in shipped_class(name).parameters.items():
            assert parameter.unit == CLASS_SPECS[key].unit, (name, key)


@pytest.mark.parametrize("specs", [WORM_SPECS, HATCH_SPECS, CLASS_SPECS])
def test_units_are_spelt_one_way(specs: dict[str, Any]) -> None:
    for key, spec in specs.items():
        assert spec.unit in _UNITS, (key, spec.unit)
        assert spec.low <= spec.high, key
        assert spec.meaning, key


_TABLES = (WORM_SPECS, HATCH_SPECS, CLASS_SPECS, specs_of("feeding"))
_EVERY = {key: spec for table in _TABLES for key, spec in table.items()}
#: Every parameter that may be below 0: temperatures, and an exponent.
_SIGNED = {"t_min_c", "lethal_low_c", "ration_exponent", "upkeep_exponent"}


@pytest.mark.parametrize(
    ("key", "spec"),
    [x for table in _TABLES for x in table.items()],
)
def test_limits_allow_only_what_can_be(key: str, spec: Spec) -> None:
    """From the meaning of a unit, not from the values."""
    if key not in _SIGNED:
        assert spec.low >= 0, "less than nothing of something"
    if spec.unit == "share" and key != "yield_spread":  # a relative s.d. has no top
        assert spec.high <= 1, "more than all of something"
    if spec.unit == "°C":
        assert spec.high <= 60, "no water animal lives there"
        assert spec.low >= -40
    if key.endswith("q10"):
        assert spec.low == 1, "slower when it is warmer"
    if key.endswith("ratio") or key in ("overfed_at", "offered_share", "spread_range_sd"):
        assert spec.low >= 1, "the larger over the smaller, or given over offered"
    if spec.default is not None:
        assert spec.low <= spec.default <= spec.high


def test_limits_of_what_is_known_well() -> None:
    """Each from a fact outside of the tables; a value beyond it is a slip of the pen."""
    assert _EVERY["usual_ph"].low == 4, "the formula of Emerson et al. holds from pH 4"
    assert _EVERY["usual_ph"].high == 11
    assert _EVERY["ration_exponent"].low == -1, "steeper, and a larger fry would eat less in all"
    assert _EVERY["ration_exponent"].high == 0
    # Protein is 16 % nitrogen (Kjeldahl's factor 6.25), 13 to 19 % in odd ones; from memory.
    assert 0.1 <= _EVERY["nitrogen_of_protein"].low <= 0.13
    assert 0.19 <= _EVERY["nitrogen_of_protein"].high <= 0.25
    # Weight goes with about the cube of the length: 2.5 to 3.5 (Froese 2006); from memory.
    assert 2 <= _EVERY["weight_b"].low <= 2.5
    assert 3.5 <= _EVERY["weight_b"].high <= 4
    # The largest nauplii come at some 400,000 a gram (the lightest cysts weigh 2.5 ug).
    assert _EVERY["nauplii_per_gram"].high <= 1e6 / 2.5
    # The sea has 35 g/L, salt does not dissolve beyond 360.
    assert 30 <= _EVERY["salinity_stop_g_per_l"].low <= 35
    assert 35 < _EVERY["salinity_high_g_per_l"].high < 360
    # A dry powder is lighter than water's 1 g/mL or little heavier.
    assert _EVERY["bulk_density_g_per_ml"].high <= 1.5
    assert _EVERY["dry_g_per_ml"].high <= 2
    # Fat has 39 kJ/g, and nothing has more; protein and sugar 17 to 24; wet worms a part of that.
    assert _EVERY["dry_j_per_g"].high <= 39000
    assert _EVERY["energy_j_per_mg"].high <= 39
    assert _EVERY["live_food_j_per_mg"].high <= 39


def test_every_source_that_is_named_is_listed() -> None:
    known = set(sources())
    for name, key, parameter in _parameters():
        assert set(parameter.sources) <= known, (name, key)


def test_every_source_that_is_listed_is_named_somewhere() -> None:
    """In a table, a test of published values, or a page."""
    files = [
        *(p for p in _DATA.rglob("*.toml") if p.parent.name != "sources"),
        *(_ROOT / "docs").glob("*.md"),
        *(_ROOT / "tests").rglob("*.toml"),
        *(_ROOT / "tests").rglob("*.py"),
        *(_ROOT / "cultures").rglob("*.py"),
    ]
    text = "\n".join(path.read_text("utf-8") for path in files)
    words = set(re.findall(r"[A-Za-z0-9_-]+", text))
    assert [key for key in sources() if key not in words] == []


def test_source_ids_are_unique_over_the_files() -> None:
    ids: list[str] = []
    for path in sorted((_DATA / "sources").glob("*.toml")):
        table = tomllib.loads(path.read_text("utf-8"))
        ids += table
        for key, entry in table.items():
            assert len(str(entry["citation"])) > 10, key
    assert len(ids) == len(set(ids))


def test_limits_are_one_table_and_it_is_on_the_page() -> None:
    table = tomllib.loads((_DATA / "limits.toml").read_text("utf-8"))
    page = (_ROOT / "docs" / "room-file.md").read_text("utf-8")
    section = page.partition("\n## Limits\n")[2].partition("\n## ")[0]
    rows = [line for line in section.splitlines() if line.startswith("| `")]
    assert rows == [
        f"| `{name}` | {row['value']:,} {row['unit']} | {row['note']} |"
        for name, row in table.items()
    ]
    assert all(set(row) == {"value", "unit", "source", "note"} for row in table.values())


def test_each_worm_kind_has_a_medium_of_its_own_and_a_column() -> None:
    """Two lists in code; a kind that is on neither would have no stock, and a column at the end."""
    named = [name for name in kind_names() if not isinstance(shipped_kind(name), HatchKind)]
    assert {f"{name}_medium" for name in named} <= {*RESERVED}
    at = datetime(2027, 1, 5, 7, tzinfo=UTC)
    lines = [
        FeedLine(at, "A1", "danio", food, 1.0, 1.0, 1.0, "mL") for food in (*named, "a kind", "dry")
    ]  # fmt: skip
    assert live_foods(lines)[-2:] == ["a kind", "dry"]
