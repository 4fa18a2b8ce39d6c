"""The shipped tables: sources resolve and are used, ranges hold the value, units are known."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest

from cultures.foods.kinds import HATCH_SPECS, WORM_SPECS, HatchKind, kind_names, shipped_kind
from cultures.foods.parameters import Parameter, Status, sources
from cultures.fry.classes import CLASS_SPECS, class_names, shipped_class

_ROOT = Path(__file__).resolve().parents[2]
_DATA = _ROOT / "cultures" / "data"
#: Every unit that a parameter may have; "wet" is wet mass, "share" and "" are pure numbers.
_UNITS = {
    "", "share", "°C", "d", "h", "1/d", "1/h", "mm", "um", "mg wet", "ug wet", "J", "J/mg wet",
    "mg/mm^b", "mm/L", "mg/cm2", "mg/g", "1/g", "L", "g/L", "g/mL",
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
