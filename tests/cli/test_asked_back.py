"""What the journal asks back before it notes it, and what it answers once it is sure."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at, room_file


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    return room_file(tmp_path, horizon_days="3")


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, "journal", *words, code=code).output.split())


@pytest.mark.parametrize("words", [("spawn", "acara 5"), ("wetted", "annuals 2")])
def test_fry_become_eggs_only_for_sure_and_both_days_are_named(
    room: Path, words: tuple[str, ...]
) -> None:
    refused = _said(room, "2027-01-05T07:00", *words, code=2)
    assert f"{words[1]} first ate on" in refused
    assert "it would be eggs, and not be fed before" in refused
    assert not room.with_name("journal.csv").exists()
    noted = _said(room, "2027-01-05T07:01", *words, "--sure")
    day = refused.partition("first ate on ")[2].partition(";")[0]
    new = refused.partition("not be fed before ")[2].partition(";")[0]
    assert f"First food on {new} (was {day})." in noted


def test_eggs_of_another_day_are_noted_and_the_days_named(room: Path) -> None:
    """Spawned on 2 January they eat on the 6th: if it was two days later, on the 8th."""
    shown = at(room, "2027-01-05T07:00", "check").output
    row = next(line for line in shown.splitlines() if line.startswith("  honey gourami 7"))
    assert row.rstrip().endswith("Wed 6 Jan")
    noted = _said(room, "2027-01-05T07:01", "spawn", "honey gourami 7", "--at", "4 Jan 12:00")
    assert "First food on Fri 8 Jan (was Wed 6 Jan)." in noted
    again = _said(room, "2027-01-05T07:02", "spawn", "honey gourami 7", "--at", "4 Jan 13:00")
    assert "First food" not in again


def test_an_empty_bottle_is_not_drawn_off(room: Path) -> None:
    refused = _said(room, "2027-01-05T07:00", "harvest", "bottle 2", code=2)
    assert "no hatch stands in bottle 2; note first that it was set; if it is so" in refused
    assert not room.with_name("journal.csv").exists()
