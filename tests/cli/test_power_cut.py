"""A power cut: a note alone changes no plan, so it says how to note what the cut did."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cli.manual import term_of
from tests.cli.invented import at, jotted, quick_room

_NOW = "2027-01-05T20:00"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = quick_room(tmp_path)
    jotted(path, "2027-01-05T09:00", "set", "bottle 1", "1 g", "--sure")
    return path


def _said(room: Path, *words: str) -> str:
    return " ".join(at(room, _NOW, *words).stdout.split())


@pytest.mark.parametrize("words", [
    "power was off from 14:00 to 19:00", "Power cut, no air in the bottles", "a blackout at night",
])  # fmt: skip
def test_a_note_of_a_power_cut_says_how_it_is_noted(room: Path, words: str) -> None:
    said = _said(room, "journal", "note", "room", words)
    assert "livefood journal temperature room 'bottle 1' DEGREES --at TIME" in said
    assert "look whether they swim, else livefood journal failed 'bottle 1'" in said
    assert "livefood help power cut" in said
    assert "Nauplii suffocate without air" in term_of("power cut")[1]


@pytest.mark.parametrize("words", ["smells of vinegar", "powerful growth, cut back the plants"])
def test_other_notes_do_not(room: Path, words: str) -> None:
    assert "DEGREES" not in _said(room, "journal", "note", "room", words)


def test_the_lines_that_it_names_are_taken(room: Path) -> None:
    for degrees, clock in (("19", "14:00"), ("26", "19:00")):
        said = _said(room, "journal", "temperature", "room", "bottle 1", degrees, "--at", clock)
        assert "temperature room" in said
        assert "temperature bottle 1" in said
    assert re.search(r"Noted, line \d+: .* failed bottle 1",
                     _said(room, "journal", "failed", "bottle 1"))  # fmt: skip
