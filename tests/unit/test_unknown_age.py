"""A culture of unknown age, and a class that is written as a species: what to write is said."""

from __future__ import annotations

import re
from datetime import date

import pytest

from cli.manual import page_text, term_of
from cultures.errors import BadFileError
from cultures.foods.kinds import WormKind, kinds_with
from cultures.room.file import read_room

_TODAY = date(2027, 2, 1)
_ROOM = """\
[room]
name = "Hall cupboard"
timezone = "Europe/Berlin"
temperature_c = 19

[[tank]]
name = "3"
litres = 25
temperature_c = 24
"""
_BOX = """
[[culture]]
name = "MW-1"
kind = "microworm"
medium_g = 150
surface_cm2 = 180
starter_g = 10
"""


def _wrong(text: str) -> str:
    with pytest.raises(BadFileError) as refused:
        read_room(_ROOM + text, name="room.toml", today=_TODAY)
    return str(refused.value)


def test_a_missing_day_says_what_to_write_of_a_box_of_unknown_age() -> None:
    """A microworm box is renewed every two weeks, as every leaflet has it: 18 January."""
    said = _wrong(_BOX)
    assert "started: is missing; write the day it was set up, like 2027-01-31." in said
    assert "2027-01-18, since a microworm culture is split every 14 days" in said
    room = read_room(_ROOM + _BOX + "started = 2027-01-18\n", name="room.toml", today=_TODAY)
    assert room.cultures[0].started == date(2027, 1, 18)


def test_a_culture_without_a_kind_has_no_usual_age() -> None:
    assert "write a date like 2027-01-31" in _wrong(_BOX.replace('kind = "microworm"\n', ""))


def test_the_page_gives_the_days_of_each_kind() -> None:
    page = page_text("room-file") or ""
    part = page.partition("### A culture of unknown age")[2].partition("##")[0]
    numbers = [int(n) for n in re.findall(r"\b(\d+)(?: days)? for\b", part)]
    worms = (kind for kind in kinds_with(()).values() if isinstance(kind, WormKind))
    assert {*numbers} == {round(kind.values["renew_days"]) for kind in worms}
    for word in ("age", "started"):
        assert term_of(word)[1]


def test_a_class_that_is_written_as_a_species_is_named() -> None:
    """Mollies are a class of their own, and one of their species is called otherwise."""
    brood = (
        '\n[[brood]]\nname = "m"\ntank = "3"\nspecies = "molly"\ncount = 9\nhatched = 2027-01-10\n'
    )
    assert 'write class = "molly" in its place' in _wrong(brood)
