"""A culture that is noted to be mouldy is noted as failed, and asked for nothing more."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.screens.signs import says_mould
from tests.cli.invented import NOW, at, room_file


@pytest.mark.parametrize(
    ("words", "plainly"),
    [
        ("mouldy", True), ("grey fur on the wall", True), ("green fuzz, smells", True),
        ("Fungus at the edge", True), ("mold", True),
        ("no mould", False), ("is that mould?", False), ("may be mouldy", False),
        ("the mould is gone", False), ("isn't mouldy", False), ("smells of vinegar", False),
        ("further away from the lamp", False),
    ],
)  # fmt: skip
def test_only_plain_words_say_that_a_culture_is_mouldy(words: str, plainly: bool) -> None:
    assert says_mould(words) is plainly


def test_the_harvest_of_a_mouldy_box_is_taken_from_the_one_beside_it(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    assert "MW-1: 6 1/2 swipes" in at(room, NOW, "today").output
    said = at(room, "2027-01-05T07:10", "journal", "note", "MW-1", "grey", "fur").output
    assert "failed MW-1 (grey fur)" in said
    assert "bin it closed" in " ".join(said.split())
    shown = at(room, "2027-01-05T07:11", "today").output
    assert "MW-2: 6 1/2 swipes" in shown
    assert "MW-1" not in shown.partition("CAN WAIT")[0].partition("ROUND")[2]
    done = at(room, "2027-01-05T07:31", "journal", "done").output
    assert "harvest MW-2" in done
    assert "MW-1" not in done
    assert "  MW-1 " not in at(room, "2027-01-05T07:31", "check").output
    at(room, "2027-01-05T07:32", "journal", "undo")
    at(room, "2027-01-05T07:32", "journal", "undo")
    assert "  MW-1 " in at(room, "2027-01-05T07:33", "check").output  # it was none


@pytest.mark.parametrize("words", ["no mould", "is that mould?"])
def test_what_may_be_no_mould_stays_a_note(tmp_path: Path, words: str) -> None:
    room = room_file(tmp_path)
    at(room, NOW, "today")
    said = at(room, "2027-01-05T07:10", "journal", "note", "MW-1", words).output
    assert f"note MW-1 ({words})" in said
    assert ("bin it" in said) is ("?" in words)


def test_of_a_tank_mould_is_a_note(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    assert "note A3 (mouldy leaf)" in at(room, NOW, "journal", "note", "A3", "mouldy leaf").output
