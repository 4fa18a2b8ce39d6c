"""What is said to be seen to today: what of today was noted today."""

from __future__ import annotations

from datetime import datetime, timedelta
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from cli.page.desk import Look
from cultures.journal.entries import Entry
from tests.unit.recorded import told_task

_NOW = datetime(2027, 3, 23, 18, 41, tzinfo=ZoneInfo("Europe/Lisbon"))
_MORNING = _NOW.replace(hour=7, minute=0)
_DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("told_for", "noted", "seen_to"),
    [
        (_MORNING, _MORNING, True),
        # A calendar had told for today what was counted on Saturday already.
        (_MORNING, _MORNING - 3 * _DAY, False),
        # What was told for yesterday and noted this morning was seen to yesterday.
        (_MORNING - _DAY, _MORNING, False),
        # By the clock of the room, not that of the journal.
        (_MORNING, datetime.fromisoformat("2027-03-22T22:30:00-03:00"), True),
    ],
)
def test_seen_to_today_is_what_of_today_was_noted_today(
    told_for: datetime, noted: datetime, *, seen_to: bool
) -> None:
    told = told_task("count", told_for, "acara 5", {"fry": 40.0}, key="count/acara 5")
    room = SimpleNamespace(
        answered={"count/acara 5": Entry(noted, "count", "acara 5", "", 38.0, "fry")},
        timezone=_NOW.tzinfo,
    )
    present = SimpleNamespace(record=SimpleNamespace(tasks={told.task.id: told}))
    setting: Any = SimpleNamespace(now=_NOW, present=present)
    outlook: Any = SimpleNamespace(room=room)
    plan: Any = None
    look = Look(setting, outlook, plan, ())
    assert [t.id for t in look.answered_today()] == (["count/acara 5"] if seen_to else [])
