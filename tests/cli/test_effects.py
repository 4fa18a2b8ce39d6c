"""What the answer to an entry says of the tasks of a week: no line contradicts another."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from attrs import evolve

from cli.journal import effect
from cli.progress import settled_outlook
from cultures.planning.outlook import Outlook, beside
from cultures.planning.plan import plan_of, tasks_of
from cultures.record.present import Present
from cultures.tasks.plan import Plan
from cultures.tasks.task import SetHatch, Split, Task
from tests.cli.invented import at, outlook
from tests.cli.rooms import small


@pytest.fixture(name="plan")
def _plan(tmp_path: Path) -> Plan:
    return plan_of(outlook(tmp_path, horizon_days="3"), remedies=False)


def _sets(plan: Plan, **days: int) -> Plan:
    """A plan in which hatches of these ids are set so many days from now, all alike."""
    one = next(t for t in plan.tasks if isinstance(t, SetHatch))
    at = plan.start + timedelta(minutes=30)
    tasks = (
        evolve(one, id=key, at=at + timedelta(days=d), until=at + timedelta(days=d, hours=1))
        for key, d in days.items()
    )
    return evolve(plan, tasks=tuple(tasks))


def _lines(old: Plan, new: Plan, told: dict[str, Task], tmp_path: Path) -> list[str]:
    tools = outlook(tmp_path).room.tools
    found = [c.text for c in effect._tasks(old, new, told, tools)]
    return [f"{line.partition(' set ')[0]}{' (was' * ('(was' in line)}" for line in found]


def _told(plan: Plan) -> dict[str, Task]:
    return {t.id: t for t in plan.tasks}


def test_what_is_set_all_the_same_under_another_name_is_no_change(
    plan: Plan, tmp_path: Path
) -> None:
    """Three become two: the first stays on its day, though the plan calls it by the second's."""
    old, new = _sets(plan, a=1, b=3, c=5), _sets(plan, b=1, c=4)
    lines = _lines(old, new, _told(old), tmp_path)
    assert lines == ["no longer: Fri 8 Jan 07:30", "Sat 9 Jan 07:30 (was"]


def test_what_was_told_and_not_planned_any_more_is_new_when_it_comes_back(
    plan: Plan, tmp_path: Path
) -> None:
    old, new = _sets(plan, b=3), _sets(plan, a=1, b=3)
    told = _told(_sets(plan, a=6, b=3))
    assert _lines(old, new, told, tmp_path) == ["new: Wed 6 Jan 07:30"]
    assert _lines(old, new, _told(new), tmp_path) == []


def test_what_was_planned_for_a_later_week_says_for_when(plan: Plan, tmp_path: Path) -> None:
    old, new = _sets(plan, a=9), _sets(plan, a=1)
    assert _lines(old, new, _told(old), tmp_path) == ["Wed 6 Jan 07:30 (was"]
    assert _lines(old, new, {}, tmp_path) == ["Wed 6 Jan 07:30"]


def test_what_reads_alike_is_gone_once(plan: Plan, tmp_path: Path) -> None:
    """Two ids that were told for one minute."""
    old, told = _sets(plan, a=1, b=2), _told(_sets(plan, a=2, b=2))
    assert _lines(old, _sets(plan), told, tmp_path) == ["no longer: Thu 7 Jan 07:30"]


def test_what_nobody_was_shown_is_not_said_to_be_gone(plan: Plan, tmp_path: Path) -> None:
    assert _lines(_sets(plan, a=1), _sets(plan), {}, tmp_path) == []


def test_of_the_coming_day_is_said_what_goes_and_how_it_was(plan: Plan, tmp_path: Path) -> None:
    """An answer before may have named it as new: two bottles would be set for one."""
    old = _sets(plan, a=0, b=3)
    assert _lines(old, _sets(plan, b=3), {}, tmp_path) == ["no longer: Tue 5 Jan 07:30"]
    other = evolve(old, tasks=tuple(evolve(t, subject="another jar") for t in old.tasks))
    said = [c.text for c in effect._tasks(old, other, {}, outlook(tmp_path).room.tools)]
    assert [f"in place of: set {old.tasks[0].subject}" in line for line in said] == [True, False]


def test_the_answer_is_about_plans_as_the_next_look_shows_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan that moves what was told is made as it stays once it is told, before and after."""
    room = small(tmp_path)
    at(room, "2027-01-12T08:00", "today")
    seen = list[datetime]()

    def looked(found: Present) -> Outlook:
        seen.append(found.now)
        outlook = settled_outlook(found)
        if seen[1:]:
            outlook.built = tuple(t for t in tasks_of(outlook) if not isinstance(t, Split))
        return outlook

    monkeypatch.setattr(effect, "settled_outlook", looked)
    said = at(room, "2027-01-12T08:05", "journal", "temperature", "room", "24").output
    assert len(seen) == 2
    assert "The plan for the coming week stays the same." not in said


@pytest.mark.parametrize(
    ("plans", "entry"),
    [
        (1, ("note", "room", "warm")), (1, ("fed", "A1")),
        (2, ("skip", "A1")),  # what it is not given stays in the jar
        (2, ("ordered", "cysts", "50 g")),
    ],
)  # fmt: skip
def test_what_no_plan_is_made_of_is_planned_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, plans: int, entry: tuple[str, ...]
) -> None:
    """And said as with a plan of before and one of after."""
    made = list[datetime]()

    def looked(found: Present) -> Outlook:
        made.append(found.now)
        return settled_outlook(found)

    said = list[str]()
    monkeypatch.setattr(effect, "settled_outlook", looked)
    for way in (beside, lambda *_: None):
        monkeypatch.setattr(effect, "beside", way)
        (folder := tmp_path / str(len(said))).mkdir()
        room = small(folder)
        at(room, "2027-01-12T07:25", "today")
        said.append(at(room, "2027-01-12T07:35", "journal", *entry).output)
        said.append(at(room, "2027-01-12T07:36", "today").output)
    assert said[:2] == said[2:]
    assert len(made) == plans + 2
