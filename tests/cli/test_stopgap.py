"""Fry for which there is nothing: what may still be alive in a jar that is given up is named."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import at, jotted
from tests.cli.test_first_evening import _BOTTLE, _ROOM, _written

_LOOK = "Look into the jar of Mon 07:00, which is too old to be counted on"


def _lived(folder: Path) -> Path:
    """One hatch in a bottle at 20 °C for the first meals, of which most is left in its jar; the
    next is ripe two days after it.
    """
    room = _written(folder, _ROOM + _BOTTLE.replace("27", "20") + "\n[cysts]\ngrams = 30\n")
    jotted(room, "2027-02-06T18:30", "set", "bottle 1", "0.5 g")
    jotted(room, "2027-02-08T07:00", "hatched", "bottle 1", "60000")
    jotted(room, "2027-02-08T07:20", "count", "angels", "60")
    at(room, "2027-02-08T07:22", "today")
    jotted(room, "2027-02-08T07:30", "fed", "N")
    jotted(room, "2027-02-08T07:31", "set", "bottle 1", "0.3 g")
    return room


def _said(room: Path, clock: str) -> str:
    return " ".join(at(room, clock, "today").stdout.split())


def test_what_may_still_swim_is_named_where_there_is_nothing_else(tmp_path: Path) -> None:
    """Nauplii moult 8 to 24 h after hatching at 27 °C, 12 h as a rule (`warm_hold_h`). At 20 °C all
    is 1.66 times as slow, so a jar counts for 20 h, and some of it may be food for 40 h.
    """
    room = _lived(tmp_path)
    morning = _said(room, "2027-02-09T06:50")
    assert "there is nothing for them" in morning
    assert _LOOK in morning
    # The jar is no more than that: the fry count as unfed.
    assert "they count as unfed" in morning
