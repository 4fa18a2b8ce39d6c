"""What is taken for a slip, at the very figure of docs/room-file.md (section Limits)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cultures.limits import cysts_slip, depth_slip, most, most_bytes, salinity_slip, too_many

_PAGE = (Path(__file__).parents[2] / "docs" / "room-file.md").read_text("utf-8")


def _is(name: str) -> float:
    found = re.search(rf"^\| `{name}` \| ([\d.,]+) ", _PAGE, re.MULTILINE)
    assert found is not None, name
    return float(found[1].replace(",", ""))


def test_as_many_as_the_page_says_and_no_more() -> None:
    for name in ("tank", "brood", "culture", "vessel", "hatch", "away", "kind", "fry_class"):
        assert most(name) == _is(name)
        assert too_many(name, most(name), "things") is None
        told = too_many(name, most(name) + 1, "things") or ""
        assert f"{most(name) + 1:,} things are more than any room has; at most" in told


@pytest.mark.parametrize("name", ["room_file", "journal", "table", "record", "backup"])
def test_a_megabyte_has_1024_times_1024_bytes(name: str) -> None:
    assert most_bytes(name) == _is(f"{name}_mb") * 1024 * 1024


@pytest.mark.parametrize("litres", [0.5, 1.0, 4.0])
def test_cysts_in_so_much_water(litres: float) -> None:
    at = _is("cysts_g_per_l") * litres
    assert cysts_slip(at, litres) is None
    assert cysts_slip(at * 1.001, litres) is not None


def test_salt_for_a_hatch() -> None:
    least = _is("salinity_g_per_l")
    assert salinity_slip(least) is None
    assert salinity_slip(least - 0.001) is not None


@pytest.mark.parametrize("surface_cm2", [10.0, 200.0])
def test_how_deep_a_medium_lies(surface_cm2: float) -> None:
    """At 1 g/mL so many grams lie so many centimetres deep on each square centimetre."""
    thin, deep = _is("medium_thinnest_cm"), _is("medium_deepest_cm")
    for depth, fine in ((thin, True), (deep, True), (thin * 0.999, False), (deep * 1.001, False)):
        assert (depth_slip(depth * surface_cm2, surface_cm2) is None) is fine
