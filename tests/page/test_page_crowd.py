"""Phones and a terminal at one room at once; `python -m tests.studies.page_crowd` is the whole."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import quick_room
from tests.page.crowd import live


def test_all_that_a_crowd_was_told_is_noted_is_in_the_journal_once(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="2")
    crowd = live(room, ["2027-01-05T07:25"], requests=64, notes=2)
    assert crowd.faults() == []
    assert len(crowd.sent) == 65
    assert len(crowd.typed) == 2
    answered = [s for s in crowd.posts() if s.status == 200]
    assert len(crowd.lines()) < len(answered)  # some were told twice, or by two
