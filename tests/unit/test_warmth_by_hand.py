"""How growth of fry fades out in the cold."""

from __future__ import annotations

from itertools import pairwise

import pytest

from cultures.foods.parameters import shipped_table
from cultures.fry.classes import class_names, read_class, shipped_class
from cultures.fry.development import growth_law
from cultures.fry.species import species_keys

#: Round numbers: doubling over ten degrees, so that 16 °C runs at half of 26 °C.
_VALUES = {"growth_q10": 2.0, "t_ref_c": 26.0, "t_min_c": 16.0, "t_max_c": 30.0}


@pytest.mark.parametrize("name", [*class_names(), *species_keys()])
def test_a_tenth_of_a_degree_is_no_cliff(name: str) -> None:
    """Growth rises with warmth, and by less than 0.3 of its reference speed a degree: the shortest
    fade is of 3 °C, to a law of three quarters at most, which itself rises by a twentieth a degree.
    """
    speed = shipped_class(name).growth
    tenths = [speed(tenth / 10.0) for tenth in range(350)]
    rises = [after - before for before, after in pairwise(tenths)]
    assert min(rises) >= 0.0
    assert max(rises) < 0.031


def test_a_limit_without_a_range_fades_over_two_degrees_either_side() -> None:
    law = growth_law(_VALUES, 16.0, 16.0)
    assert law(14.0) == 0.0
    assert law(18.0) == pytest.approx(2**-0.8)
    assert law(16.0) == pytest.approx(0.5 * 0.5)


def test_the_whole_law_begins_at_the_reference_at_the_latest() -> None:
    """At its reference temperature a class grows at the speed its data state."""
    law = growth_law({**_VALUES, "t_min_c": 25.0}, 23.0, 27.0)
    assert law(26.0) == 1.0
    assert law(24.5) == pytest.approx(0.5 * 2**-0.15)


def test_a_class_of_the_room_file_fades_too() -> None:
    """Its bare number is the middle of the fade, whatever the range of the class it is like."""
    own = read_class({"name": "own", "like": "egg_scatterer", "parameters": {"t_min_c": 14}})
    assert own.growth(12.0) == 0.0
    assert own.growth(14.0) == pytest.approx(0.5 * own.parameters["growth_q10"].value ** -1.2)
    ranged = shipped_table("classes", "egg_scatterer", "fry class")["parameters"]["t_min_c"]
    assert ranged["range"] == [16, 20]


def test_white_clouds_grow_in_a_cool_room() -> None:
    """Kept unheated: at 16 °C their growth follows the law without a fade."""
    cloud = shipped_class("tanichthys_albonubes")
    assert cloud.growth(16.0) == pytest.approx(0.5)
    assert cloud.warn_temperature(13.0) is None
    assert shipped_class("egg_scatterer").growth(16.0) == 0.0


def test_words_for_the_cold_say_what_the_law_does() -> None:
    danio = shipped_class("egg_scatterer")
    little = danio.warn_temperature(17.0)
    assert little is not None
    assert little.endswith("fry grow little below 18 °C, and not at all at 16 °C")
    none = danio.warn_temperature(16.0)
    assert none is not None
    assert none.endswith("fry do not grow at 16 °C or below")
    assert danio.growth(17.0) > 0.0 == danio.growth(16.0)
    assert danio.warn_temperature(18.0) is None
