"""What one thing more gives by ``carry``, against planning the room whose file was edited so."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from attrs import evolve

from cultures.planning.carry import Carried, Carry
from cultures.room.file import read_room
from cultures.room.room import Brood, Room
from tests.carrying import TODAY, Asked, Beside, small_room
from tests.examples import thorough

#: Cheap rooms in which something lifts the limit, and what that is; the thorough run looks at a
#: second of each kind besides.
_LIFTED = {5: "cysts", 28: "vessel", 31: "cysts", 39: "culture"}
_HELPED: tuple[int, ...] = (40,)
if thorough():
    _LIFTED |= {14: "cysts", 68: "culture", 72: "vessel"}
    _HELPED += (19,)


def _edited(text: str, found: Carried) -> Room:
    """The room of its file with what the lift says in it, typed in by hand."""
    gain = found.gain
    assert gain is not None
    if gain.what == "cysts":
        grams = re.fullmatch(r"([\d.]+) g of cysts", gain.text)
        assert grams is not None
        before, tin, there = text.partition("[cysts]\ngrams = ")
        text = f"{before}{tin}{float(there) + float(grams[1])}\n"
    elif gain.what == "vessel":
        litres = re.fullmatch(r"a ([\d.]+) L vessel", gain.text)
        assert litres is not None
        text += f'[[vessel]]\nname = "more"\nlitres = {litres[1]}\ntemperature_c = 27\n'
    elif gain.what == "culture":
        bought = re.fullmatch(r"buy (\w+) on ([\d-]+)", gain.supposition)
        assert bought is not None
        alike = next(c for c in re.split(r"(?m)^(?=\[)", text) if f'kind = "{bought[1]}"' in c)
        more = re.sub(r'name = "\w+"', 'name = "more"', alike)
        text += re.sub(r"started = \S+", f"started = {bought[2]}", more)
    else:
        assert gain.what == "helper"
        text = text.replace("[[away]]\n", "[[away]]\nhelper = true\n")
    return read_room(text, today=TODAY + timedelta(days=60))


def _gives(asked: Asked, found: Carried, room: Room, brood: Brood) -> None:
    """With it so many are fed, and nobody misses more than without; without it they are not."""
    alone = Beside.of(asked.room, asked.now, found.until)
    assert evolve(alone, room=evolve(room, told=alone.room.told)).fed(brood).well
    assert not alone.fed(evolve(brood, foods=found.brood.foods)).well


@pytest.mark.parametrize(("seed", "what"), _LIFTED.items())
def test_a_lift_gives_in_the_edited_file_what_it_says(
    seed: int, what: str, carried: Callable[[int], Carried]
) -> None:
    asked, found = small_room(seed), carried(seed)
    assert found.gain is not None
    assert found.gain.what == what
    assert found.gain.largest > found.largest
    brood = evolve(found.brood, count=found.gain.largest)
    _gives(asked, found, _edited(asked.text, found), brood)


@pytest.mark.parametrize("seed", _HELPED)
def test_a_helper_gives_what_the_lift_says(seed: int) -> None:
    asked = small_room(seed)
    day = asked.day + timedelta(days=12)
    text = f"{asked.text}[[away]]\nfrom = {day}\nto = {day}\n"
    asked = evolve(asked, text=text, room=read_room(text, today=TODAY))
    (found,) = Carry(asked.room, asked.now, [asked.day]).by_day(asked.name, "free")
    assert found.largest == 0
    assert found.gain is not None
    assert found.gain.what == "helper"
    brood = evolve(found.brood, count=found.gain.largest)
    _gives(asked, found, _edited(text, found), brood)
