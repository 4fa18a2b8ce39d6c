"""What the count of a hatch says of the tin that nobody drew off when it was ripe."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at, jotted, quick_room


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    room = quick_room(tmp_path)
    jotted(room, "2027-01-05T07:00", "set", "bottle 2", "1 g")
    return room


def _said(room: Path, clock: str, *words: str) -> str:
    return " ".join(at(room, clock, *words).output.split())


def test_a_hatch_far_past_its_best_teaches_nothing_of_the_tin(room: Path) -> None:
    """Cysts take about a day: 46 h are more than that and the 12 h that nauplii keep warm."""
    said = _said(room, "2027-01-07T05:00", "journal", "hatched", "bottle 2", "30000")
    assert "It stood too long past its best; fed as counted, and not taken for what cysts" in said
    assert "--apart" not in said
    learned = _said(room, "2027-01-07T05:01", "learn")
    assert "seen 1 reading: 30," not in learned
    assert "it stood too long past its best" in learned


def test_a_poor_hatch_that_stood_less_long_is_offered_to_be_kept_apart(room: Path) -> None:
    said = _said(room, "2027-01-06T14:00", "journal", "hatched", "bottle 2", "30000")
    assert "(no air, no heat, or it stood too long)" in said
    assert "note it again with --apart" in said
    assert "It stood too long past" not in said
