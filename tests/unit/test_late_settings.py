"""A hatch that is set late, and the settings that were told after it."""

from __future__ import annotations

import random
from datetime import datetime, timedelta

import pytest
from attrs import evolve

from cultures.journal.entries import Entry
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.telling import tellings
from cultures.record.present import present
from cultures.record.store import Record
from cultures.tasks.task import SetHatch
from tests.studies.year import random_room


def _settings(
    outlook: Outlook, since: datetime, until: datetime
) -> set[tuple[str, datetime, float]]:
    sets = (t for t in tasks_of(outlook) if isinstance(t, SetHatch))
    return {(t.subject, t.at, t.cysts_g) for t in sets if since < t.at < until}


@pytest.mark.parametrize(("late_h", "noted"), [(0, False), (0, True), (2, True)])
@pytest.mark.parametrize("seed", [5, 16])
def test_settings_stay_in_their_bottle_where_one_before_them_was_set_late(
    seed: int, late_h: int, noted: bool
) -> None:
    """Two bottles alike; the late hatch is drawn off the next morning as it was told, which gives
    enough, and a day before its bottle is set again.
    """
    room = evolve(random_room(random.Random(seed)), horizon_days=14)
    now = room.local(room.as_of, room.awake[0])
    outlook = make_outlook(room, now=now)
    told = tellings(outlook, [t for t in tasks_of(outlook) if t.at < outlook.until], now)
    record = Record({t.task.id: t for t in told}, last=now)
    first = min((t.task for t in told if isinstance(t.task, SetHatch)), key=lambda t: t.at)
    at, later = first.at + timedelta(hours=late_h), first.at + timedelta(hours=late_h + 2.5)
    entry = Entry(at, "set", first.subject, "", first.cysts_g, "g", "", 1)
    after = make_outlook(present(room, [entry] * noted, record, later).room, now=later)
    span = later, outlook.until
    assert _settings(after, *span) == _settings(outlook, *span)
