"""A room with one thing more: what is there besides, and that nothing else is otherwise."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.planning.changes import (
    HATCHERY_CARE,
    hatchery_words,
    home_for,
    kept_foods,
    largest_again,
    new_bottle,
    start_words,
    usual_culture,
    with_brood,
    with_culture,
    with_cysts,
    with_vessel,
)
from cultures.planning.worm_course import Split
from cultures.room.file import read_room
from cultures.room.room import Room, Tank
from tests.unit.test_shortfall_limits import _TEXT


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=date(2027, 1, 5))


def test_one_more_is_the_last_and_all_else_stays(room: Room) -> None:
    kind: Any = room.kinds["microworm"]
    culture, brood = usual_culture(room, kind), evolve(room.broods[0], name="new")
    vessel = largest_again(room, "one more")
    for changed, things, new in (
        (with_culture(room, culture), "cultures", culture),
        (with_brood(room, brood), "broods", brood),
        (with_vessel(room, vessel), "vessels", vessel),
    ):
        before, after = getattr(room, things), getattr(changed, things)
        assert after == (*before, new)
        assert evolve(changed, **{things: before}) == room


def test_a_vessel_like_the_largest_is_not_lost_with_it(room: Room) -> None:
    small, large = (evolve(room.vessels[0], name=n, litres=x) for n, x in (("a", 1.0), ("b", 3.0)))
    again = largest_again(evolve(room, vessels=(small, evolve(large, lost_h=5.0))), "c")
    assert again == evolve(large, name="c", lost_h=None)


def test_cysts_come_on_top_of_those_in_the_tin_or_in_a_tin_of_their_own(room: Room) -> None:
    for grams, after in ((12.0, 17.0), (None, 5.0)):
        tin = room.cysts and evolve(room.cysts, grams=grams) if grams is not None else None
        found = with_cysts(evolve(room, cysts=tin), 5.0).cysts
        assert found is not None
        assert found.grams == after


def test_a_spawning_is_in_a_free_tank_that_suits_else_in_that_of_whom_it_is_like(
    room: Room,
) -> None:
    like = room.broods[0]
    degrees = like.fry_class.values["t_ref_c"]
    full = evolve(room, tanks=(Tank(like.tank, 20.0, degrees),), broods=(like,), hoped=())
    free = evolve(full, tanks=(*full.tanks, Tank("free", 20.0, degrees)))
    assert home_for(free, like, like.fry_class) == home_for(free, None, like.fry_class) == "free"
    assert home_for(full, like, like.fry_class) == like.tank
    with pytest.raises(RangeError, match="no tank is free that suits"):
        home_for(full, None, like.fry_class)


def test_what_a_room_has_to_feed_and_how_more_is_begun(room: Room) -> None:
    kind: Any = room.kinds["microworm"]
    bare = evolve(room, cultures=(), vessels=())
    assert [*kept_foods(bare)] == ["dry"]
    kept = with_culture(evolve(room, cultures=()), usual_culture(room, kind))
    assert [*kept_foods(kept)] == ["microworm", "brine_shrimp", "dry"]
    assert start_words(bare, kind) == "start a microworm culture from a bought starter"
    assert start_words(kept, kind, ["x", "y"]) == (
        "start one more microworm culture from a bought starter and add it to the foods of x, y"
    )
    assert start_words(kept, kind, ["x"], ripe=True) == (
        "get a ripe microworm culture and add it to the foods of x"
    )


def test_a_split_knows_new_names_of_its_parent_and_its_child(room: Room) -> None:
    kind: Any = room.kinds["microworm"]
    split = Split("MW-1", evolve(usual_culture(room, kind), name="MW-2"), 7)
    found = split.renamed({"MW-1": "a", "MW-2": "b"})
    assert (found.parent, found.culture.name, found.at_index) == ("a", "b", 7)
    same = split.renamed({"MW-9": "c"})
    assert (same.parent, same.culture) == ("MW-1", split.culture)


def test_how_a_bottle_stands_is_said_or_where_it_is_said(room: Room) -> None:
    """Names may hold whatever stands between the parts: nothing is found again in the words."""
    names = ["one; it stands in the dark", "two) and add three"]
    method = hatchery_words(room, new_bottle(room), 60.0, 250.0, names)
    whole, brief = method.words(), method.words("livefood today --why")
    bought = "begin to hatch brine shrimp (buy a 1 L bottle, 60 g of cysts, 250 g of salt"
    foods = " and add nauplii to the foods of one; it stands in the dark, two) and add three"
    assert brief == f"{bought} and an air pump; how: livefood today --why){foods}"
    assert whole.startswith(f"{bought} and an air pump; it stands in ")
    assert HATCHERY_CARE in whole
    assert "livefood add vessel" in whole
    assert whole.endswith(f"){foods}")
