"""From a real room through the planner to the calendar, day after day."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date, time, timedelta

from calendars import lint
from calendars.from_plan import entries_of, plan_for_calendar, wishes_of
from calendars.ics import Header, calendar_bytes
from calendars.ledger import Ledger, revise
from calendars.wording import MANNERS, task_title
from cli.commands.demo_room import demo_text
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.preparation import line_dose, live_foods, steps_of
from cultures.room.file import read_room
from cultures.tasks.plan import Act, Remedy, Shortfall
from cultures.tasks.task import KINDS, FirstFood, HarvestWorms
from cultures.words.quantities import food_name
from cultures.words.tasks import plain, worms_amount, worms_method
from cultures.words.tools import USUAL
from tests.benchmarks.bench_calendar import MOST, ratio
from tests.calendars.plans import NAMESPACE, ROOM, at, plan_of, task, wishes
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
    assert set(MANNERS) == {kind.what for kind in KINDS}


def test_a_month_of_daily_plans_of_a_changing_room() -> None:
    """Each day the calendar shows exactly the plan from now on, and each intention once."""
    ledger, text = Ledger(), ROOM
    changed = withdrawn = 0
    for number in range(30):
        text = text.replace(*_CHANGES.get(number, ("", ""))) if _CHANGES.get(number) else text
        day = date(2027, 1, 5) + timedelta(days=number)
        room = read_room(text, today=day)
        now = room.local(day, time(6))
        plan, draws, _ = plan_for_calendar(room, now, None)
        entries = entries_of(plan, wishes_of(room), now, draws)
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
    assert ratio(500, rounds=3)[2] <= MOST


def test_fry_and_foods_are_named() -> None:
    moment = at("2027-01-06T07:30")
    switch = task("switch_food/x/y", "switch_food", moment, "gourami 12", other="brine_shrimp")
    count = task("count/x", "count", moment, "gourami 12", other="A1")
    assert task_title(switch, USUAL) == "Main food now nauplii: gourami 12"
    assert task_title(count, USUAL) == "Count: gourami 12 (A1)"
    # A part of a brood is called by the tank that it went to: that is not said twice.
    part = task("count/y", "count", moment, "gourami 12 (A2)", other="A2")
    assert task_title(part, USUAL) == "Count: gourami 12 (A2)"


def test_calendar_says_what_the_screen_says() -> None:
    """Every step and dose of each round stands in its entry in the very words of `today`."""
    room = read_room(demo_text(date(2027, 1, 5)), today=date(2027, 1, 5))
    now = room.local(date(2027, 1, 5), time(6, 45))
    plan, draws, _ = plan_for_calendar(room, now, 3)
    entries = {e.key: e for e in entries_of(plan, wishes_of(room), now, draws)}
    outlook = make_outlook(room, now=now, days=3)
    steps = 0
    for feeding in outlook.feedings:
        entry = entries.get(f"feed/{feeding.at:%Y-%m-%dT%H:%M}")
        if entry is None or feeding.at < now:
            continue
        for step in steps_of(outlook, tasks_of(outlook), feeding.at):
            if step.task is not None and isinstance(step.task, FirstFood):
                continue
            steps += 1
            if isinstance(step.task, HarvestWorms):  # those of one kind are told as one
                amount = plain(worms_amount(step.task, room.tools))
                assert f"{step.task.subject}: {amount}" in entry.text
                assert plain(worms_method(step.task)) in entry.text
                continue
            assert f". {step.at:%H:%M} {plain(step.text)}" in entry.text
        given = [line for line in outlook.lines[feeding.index] if line.amount > 0]
        for line in given:
            assert f"{food_name(line.food)} {line_dose(line, given)}" in entry.text
        order = live_foods(given)
        for row in entry.text.split("Tanks:\n")[1].splitlines():
            foods = [f for f in order if f" {food_name(f)} " in row.replace(";", "")]
            at_ = [row.index(f"{food_name(f)} ") for f in foods]
            assert at_ == sorted(at_)
    assert steps > 10
    for entry in entries.values():
        assert not re.search(r"energy \d", entry.text)
        assert not re.search(r"\d J\b", entry.text)
        assert "_" not in entry.text


def test_a_day_of_another_year_is_written_with_it() -> None:
    moment = at("2026-12-30T12:00")
    remedy = Remedy("buy 40 g of cysts", moment, 30.0, act=Act.BUY)
    short = Shortfall(
        at=at("2027-01-02T07:30"), until=at("2027-01-03T18:30"), rounds=4, food="brine_shrimp",
        need_j=100.0, short_j=40.0, tanks=("A1",), cause="the cyst tin runs out",
        remedies=(remedy,),
    )  # fmt: skip
    (warning,) = entries_of(plan_of([], None, [short], at("2026-12-29T06:00")), wishes())
    assert warning.title == "Buy 40 g of cysts: nauplii run short"
    assert "4 rounds, Sat 2 Jan 2027 07:30 to Sun 3 Jan 2027 18:30: 40% of the" in warning.text
    assert "- by Wed 30 Dec 12:00: buy 40 g of cysts" in warning.text
