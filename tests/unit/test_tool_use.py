"""Which tools a room can use, at the very limits; the room is that of `test_replay_by_hand`.

One bottle of a litre at 25 g/L of salt; one box of 150 g of medium, begun with 15 g.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from attrs import evolve

from cultures.room.room import Room
from cultures.room.tool_use import unused_tools
from cultures.words.tools import CYSTS, DRY, MEDIUM, SALT, MeasuringCup, Spoon, Syringe, Tools
from tests.unit.test_replay_by_hand import ROOM

_G_PER_ML = dict.fromkeys((CYSTS, DRY, SALT, MEDIUM), 1.0)


def _unused(room: Room = ROOM, *, spoons: Sequence[Spoon] = (), scale_g: float | None = None,
            syringes: Sequence[Syringe] = (Syringe(10.0, 0.2),), cups: Sequence[MeasuringCup] = (),
            stated: bool = True) -> list[str]:  # fmt: skip
    tools = Tools(tuple(spoons), tuple(syringes), scale_g, _G_PER_ML, "metric", stated, tuple(cups))
    return [*unused_tools(evolve(room, tools=tools))]


def _of(substance: str, grams: float) -> Spoon:
    return Spoon("spoon", None, {substance: grams})


#: The least and the most of each at a time [g], with what a tenth to either side allows: half of a
#: spoon is no more than the most, and six of it are no less than the least.
_MOST_G = {SALT: 25.0, MEDIUM: 150.0, DRY: 100.0, CYSTS: ROOM.hatch_kind.most_grams(1.0)}
_LEAST_G = {SALT: 25.0, MEDIUM: 15.0, DRY: 0.002, CYSTS: ROOM.hatch_kind.values["least_hatch_g"]}


@pytest.mark.parametrize("substance", [SALT, MEDIUM, DRY, CYSTS])
def test_a_spoon_is_used_if_half_of_it_is_not_too_much_and_six_are_not_too_little(
    substance: str,
) -> None:
    most, least = 2 * 1.1 * _MOST_G[substance], 0.9 / 6 * _LEAST_G[substance]
    for grams, used in ((most * 0.999, True), (most * 1.001, False), (least * 1.001, True),
                        (least * 0.999, False)):  # fmt: skip
        assert (_unused(spoons=[_of(substance, grams)]) == []) is used, grams
    (said,) = _unused(spoons=[_of(substance, most * 2)])
    assert "no amount in this room is measured with 'spoon'" in said


def test_a_spoon_of_which_nobody_knows_what_it_holds_is_not_used() -> None:
    assert len(_unused(spoons=[_of("gravel", 5.0)])) == 1
    assert _unused(spoons=[_of("gravel", 5.0), Spoon("5 mL", 5.0)]) != []
    assert _unused(spoons=[Spoon("5 mL", 5.0)]) == []


def test_a_scale_is_used_if_half_a_step_is_a_tenth_of_the_most() -> None:
    """150 g of medium, so steps of 30 g."""
    assert _unused(scale_g=30.0) == []
    (said,) = _unused(scale_g=30.1)
    assert "weighed by a scale with steps of 30.1 g" in said


def test_marks_are_used_if_half_of_one_is_a_tenth_of_the_largest_cup() -> None:
    """Five usual ones of 100 mL, so marks of 100 mL."""
    for mark, count in ((100.0, 0), (100.1, 1)):
        assert len(_unused(syringes=[Syringe(1000.0, mark)])) == count
        assert len(_unused(cups=[MeasuringCup(1000.0, mark)])) == count
    (said,) = _unused(cups=[MeasuringCup(500.0, 250.0)])
    assert "no dose in this room is measured by a measuring cup with marks of 250 mL" in said
    wide = evolve(ROOM, makeup_ml=200.0)
    assert _unused(wide, syringes=[Syringe(1000.0, 200.0)]) == []


def test_what_is_not_measured_in_a_room_uses_no_spoon() -> None:
    bare = evolve(ROOM, vessels=(), cultures=())
    assert len(_unused(bare, spoons=[_of(SALT, 25.0), _of(MEDIUM, 25.0), _of(CYSTS, 2.0)])) == 3
    assert _unused(bare, spoons=[_of(DRY, 1.0)]) == []
    none_dry = evolve(bare, broods=tuple(evolve(b, foods=("microworm",)) for b in ROOM.broods))
    assert _unused(none_dry, spoons=[_of(DRY, 1.0)]) == []  # of a room that asks for nothing
    worms = evolve(none_dry, cultures=ROOM.cultures)
    assert len(_unused(worms, spoons=[_of(DRY, 1.0)])) == 1
    one = evolve(worms, broods=(evolve(ROOM.broods[0], foods=("dry",)), *worms.broods[1:]))
    assert _unused(one, spoons=[_of(DRY, 1.0)]) == []
    coming = evolve(none_dry, cultures=(), coming=ROOM.cultures)
    assert _unused(coming, spoons=[_of(MEDIUM, 25.0)]) == []


def test_of_tools_that_are_only_usual_nothing_is_said() -> None:
    assert _unused(spoons=[_of(SALT, 1e6)], stated=False) == []


def test_salts_are_of_the_least_and_the_most_of_the_vessels() -> None:
    (bottle,) = ROOM.vessels
    two = evolve(ROOM, vessels=(bottle, evolve(bottle, name="cone", litres=10.0)))
    for grams, used in ((549.0, True), (551.0, False), (3.76, True), (3.74, False)):
        assert (_unused(two, spoons=[_of(SALT, grams)]) == []) is used
