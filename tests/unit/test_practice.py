"""Which cautions stand in full: those of what was not done yet."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cli.screens.care import practice
from cultures.record.fates import Fate
from tests.unit.recorded import told_task

_NOW = datetime(2027, 3, 29, 18, 30, tzinfo=UTC)
_OF_A_SIZE = {"fry": 30.0, "length_mm": 21.0}


@pytest.mark.parametrize(
    ("what", "amounts", "fate", "full"),
    [
        # A lid is asked for until it is noted: that its hour is over does not put it on.
        ("lid", _OF_A_SIZE, Fate.PRESUMED, True), ("lid", _OF_A_SIZE, Fate.DONE, False),
        ("lid", _OF_A_SIZE, Fate.OPEN, True), ("move_on", _OF_A_SIZE, Fate.PRESUMED, True),
        ("soak", {"dry_g": 0.4, "spoons": 0.1}, Fate.PRESUMED, False),
        ("retire", {}, Fate.PRESUMED, False), ("retire", {}, Fate.OPEN, True),
    ],
)  # fmt: skip
def test_what_is_asked_for_until_it_is_noted_is_told_in_full_on_its_first_day(
    what: str, amounts: dict[str, float], fate: Fate, *, full: bool
) -> None:
    """Told for this morning it had no cautions in the evening, and had them at the second look,
    which found it told for tomorrow.
    """
    told = told_task(what, _NOW - timedelta(hours=11), "gold 2", amounts, key="it")
    feeding, room = SimpleNamespace(worms={}), SimpleNamespace(remarks={})
    outlook: Any = SimpleNamespace(feeding=feeding, room=room)
    present: Any = SimpleNamespace(
        now=_NOW, entries=(), record=SimpleNamespace(tasks={"it": told}),
        fates=SimpleNamespace(of={"it": fate}),
    )  # fmt: skip
    tomorrow = evolve(told.task, at=_NOW + timedelta(hours=13))
    assert practice(outlook, present).in_full(tomorrow) is full
    # Looked at again, it is told for tomorrow, and known then.
    if fate is Fate.PRESUMED and full:
        again = evolve(told, task=tomorrow, came_at=told.task.at)
        present.record.tasks["it"], present.fates.of["it"] = again, Fate.OPEN
        assert practice(outlook, present).in_full(tomorrow)
        present.now = _NOW + timedelta(hours=12)
        assert not practice(outlook, present).in_full(tomorrow)
