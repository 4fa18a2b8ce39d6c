"""From a real room through the planner to the calendar, day after day."""

from __future__ import annotations

from collections import Counter
from datetime import date, time, timedelta
from typing import get_args

from calendars import lint
from calendars.from_plan import entries_of, plan_for_calendar, wishes_of
from calendars.ics import Header, calendar_bytes
from calendars.ledger import Ledger, revise
from calendars.wording import MANNERS, manner, task_title
from cultures.planning.tasks import What
from cultures.roomfile import read_room
from tests.benchmarks.bench_calendar import MOST, ratio
from tests.calendars.plans import NAMESPACE, ROOM, at, task
from tests.calendars.readers import by_icalendar

#: From which day on the keeper's room file reads differently.
_CHANGES = {
    0: ("", ""),
    5: ("count = 150", "count = 110"),
    9: ('"18:30"]', '"19:00"]'),
    14: ("litres = 1.0", "litres = 2.0"),
    20: ("temperature_c = 23.5", "temperature_c = 21.5"),
}


def test_every_kind_of_task_has_its_words() -> None:
    assert set(MANNERS) == set(get_args(What))


def test_a_month_of_daily_plans_of_a_changing_room() -> None:
    """Each day the calendar shows exactly the plan from now on, and each intention once."""
    ledger, text = Ledger(), ROOM
    changed = withdrawn = 0
    for number in range(30):
        text = text.replace(*_CHANGES.get(number, ("", ""))) if _CHANGES.get(number) else text
        day = date(2027, 1, 5) + timedelta(days=number)
        room = read_room(text, today=day)
        now = room.local(day, time(6))
        entries = entries_of(plan_for_calendar(room, now, None), wishes_of(room), now)
        per_day = Counter(e.start.astimezone(room.timezone).date() for e in entries)
        assert max(per_day.values()) <= 12
        ledger, changes = revise(ledger, entries, now=now, namespace=NAMESPACE)
        changed, withdrawn = changed + changes.changed, withdrawn + changes.withdrawn
        data = calendar_bytes(ledger.published(), ledger, Header("Shed", room.timezone))
        assert lint.findings(data) == []
        live = {r.uid: r.shown for r in ledger.live() if r.shown.end > now}
        assert sorted(e.key for e in live.values()) == sorted(e.key for e in entries if e.end > now)
        assert len(by_icalendar(data)) == len(ledger.published())
    assert changed > 20
    assert withdrawn >= 7  # the evening rounds of a week, moved to another hour


def test_export_is_fast() -> None:
    """A smaller run of the benchmark; the whole one has 10,000 events."""
    assert ratio(1000, rounds=3)[2] <= MOST


def test_fry_and_foods_are_named() -> None:
    moment = at("2027-01-06T07:30")
    switch = task("switch_food/x/y", "switch_food", moment, "gourami 12", other="brine_shrimp")
    count = task("count/x", "count", moment, "gourami 12", other="A1")
    assert task_title(switch) == "Brine shrimp becomes the main food: gourami 12"
    assert task_title(count) == "Count: gourami 12 (A1)"
    assert manner("something_new").title.format(subject="A1") == "Something new: A1"
