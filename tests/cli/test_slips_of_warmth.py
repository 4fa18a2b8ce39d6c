"""A temperature that was mistyped: what is refused, and what its correction offers."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import at, jotted
from tests.cli.rooms import small


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, "journal", "temperature", *words, code=code).output.split())


def test_a_correction_does_not_offer_the_slip_again(tmp_path: Path) -> None:
    """The tank stands at 26 °C by its file; 40 was noted for 18, and put right in a minute."""
    room = small(tmp_path)
    assert "Once it is 26 °C again" in _said(room, "2027-01-05T07:30", "A1", "40")
    corrected = _said(room, "2027-01-05T07:31", "A1", "18")
    assert "Once it is 26 °C again: livefood journal temperature A1 26 °C" in corrected
    assert "40 °C again" not in corrected


def test_a_temperature_that_lasted_is_offered_again(tmp_path: Path) -> None:
    room = small(tmp_path)
    jotted(room, "2027-01-05T07:30", "temperature", "A1", "24")
    assert "Once it is 24 °C again" in _said(room, "2027-01-05T19:30", "A1", "20")


def test_no_tank_stands_at_five_below_and_85_is_taken_for_fahrenheit(tmp_path: Path) -> None:
    room = small(tmp_path)
    said = _said(room, "2027-01-05T07:30", "A1", "85", code=2)
    assert "use 2 to 42 °C; for degrees Fahrenheit write '85 F'" in said
    assert "use -5 to 45 °C" in _said(room, "2027-01-05T07:30", "MW-1", "150", code=2)
    jotted(room, "2027-01-05T07:31", "temperature", "A1", "85", "F")
