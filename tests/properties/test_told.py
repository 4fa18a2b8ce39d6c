"""What was told stays where it is, on the disk as in the plan: without a change altogether."""

from __future__ import annotations

import json
import random
import tempfile
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cultures.planning.outlook import make_outlook
from cultures.planning.plan import make_plan, plan_of, tasks_of
from cultures.planning.telling import record_telling, tellings
from cultures.planning.what_if import settings_and_splits, suppose
from cultures.record.fates import fates
from cultures.record.present import present
from cultures.record.store import (
    Record,
    append_telling,
    read_record,
    record_path,
    same,
)
from cultures.room.room import Room
from cultures.tasks.task import HarvestHatch, Reminder, SetHatch, Split, Task, task_of
from cultures.tasks.told import ToldTask
from cultures.words.moments import hours
from tests.examples import examples
from tests.properties.test_plan_promise import RELIABLE
from tests.strategies import RoomCase, room_cases
from tests.studies.moves import changes
from tests.studies.year import random_room
from tests.unit.recorded import told_task

# --- the price of moving what was told


@settings(RELIABLE, max_examples=examples(suite=6, thorough_run=18))
@given(room_cases(longest_days=14))
def test_a_plan_that_was_told_is_planned_again_as_it_is(case: RoomCase) -> None:
    room, now = case.room(), case.now()
    # The price of moving is a part of the effort (docs/planning.md), so without one there is none.
    assume(room.effort_g > 0)
    first = make_plan(room, now=now, remedies=False)
    told = settings_and_splits(first)
    harvests = {t.id.partition("/")[2] for t in first.tasks if isinstance(t, HarvestHatch)}
    assert len(told) == sum(
        1
        for t in first.tasks
        if isinstance(t, Split) or (isinstance(t, SetHatch) and t.id.partition("/")[2] in harvests)
    )
    again = make_plan(evolve(room, told=told), now=now, remedies=False)
    assert settings_and_splits(again) == told
    assert again.lines == first.lines


def test_small_changes_move_next_to_nothing_that_was_told() -> None:
    moved = {False: 0, True: 0}
    for seed in range(examples(suite=4, thorough_run=6)):
        room = random_room(random.Random(seed))
        now = room.local(room.as_of, room.awake[0])
        told = settings_and_splits(make_plan(room, now=now, remedies=False))
        for text in changes(room, now):
            changed = suppose(room, text, now)
            for known in moved:
                after = make_plan(
                    evolve(changed, told=told if known else ()), now=now, remedies=False
                )
                # Without a box of worms the first day may be a little short.
                assert all(s.short_j < 0.1 * s.need_j for s in after.shortfalls)
                moved[known] += len(set(told) - set(settings_and_splits(after)))
    assert moved[True] < moved[False] / 2


def test_a_told_setting_moves_when_that_saves_more_than_it_costs() -> None:
    room = random_room(random.Random(1))
    now = room.local(room.as_of, room.awake[0])
    told = settings_and_splits(make_plan(room, now=now, remedies=False))
    # Nothing is wanted any more, so no setting stays for having been told.
    empty = evolve(room, broods=(), told=told)
    assert not [t for t in make_plan(empty, now=now).tasks if isinstance(t, SetHatch)]
    gone = evolve(room, vessels=room.vessels[:1], told=told, move_g=1000.0)
    plan = make_plan(gone, now=now, remedies=False)
    assert {t.subject for t in plan.tasks if isinstance(t, SetHatch)} <= {room.vessels[0].name}


def test_what_the_record_holds_of_the_coming_days_is_what_moving_costs() -> None:
    """The price of a room with a record is that of the plan that was told."""
    for seed in range(3):
        room = random_room(random.Random(seed))
        now = room.local(room.as_of, room.awake[0])
        outlook = make_outlook(room, now=now)
        told = tellings(outlook, tasks_of(outlook), now)
        record = Record({t.task.id: t for t in told}, last=now)
        priced = set(settings_and_splits(plan_of(outlook, remedies=False)))
        found = present(room, (), record, now).room.told
        sets = {(t.task.subject, t.task.at): t.task.cysts_g for t in told
                if isinstance(t.task, SetHatch)}  # fmt: skip
        assert all(t.grams == sets.get((t.name, t.at), 0.0) for t in found)
        timed, ahead = {evolve(t, grams=0.0) for t in found}, {t for t in priced if t.at > now}
        assert ahead <= timed
        # Beyond the plan's last day some settings are told whose harvest it does not show.
        beyond = outlook.until - timedelta(days=4)
        assert {t for t in timed if t.at < beyond} == {t for t in ahead if t.at < beyond}


#: A brood that loses a tenth a day, in a room whose next settings were weighed anew with each one.
_A_CROWD = """
[room]
name = "The cellar"
timezone = "UTC"
as_of = 2027-03-11
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
horizon_days = 3
temperature_c = 27

[[vessel]]
name = "V0"
litres = 1
temperature_c = 27

[[vessel]]
name = "V1"
litres = 25
temperature_c = 25

[cysts]
grams = 400
nauplii_per_gram = 150000

[[tank]]
name = "T0"
litres = 200
temperature_c = 29

[[brood]]
name = "b0"
tank = "T0"
class = "mouthbrooder"
count = 3000
free_swimming = 2027-03-11
survival_per_day = 0.9
"""


@settings(RELIABLE, max_examples=examples(suite=6, thorough_run=60))
@given(room_cases(longest_days=7))
def test_what_is_done_as_told_changes_no_weight_that_was_told(case: RoomCase) -> None:
    assume(case.room().vessels and case.room().effort_g > 0)
    _check_weights(case)


def test_nor_does_it_in_a_room_whose_hatches_feed_each_others_rounds() -> None:
    assert _check_weights(RoomCase(_A_CROWD, date(2027, 3, 11), "12:00")) > 2


def _check_weights(case: RoomCase) -> int:
    """Two minutes after each setting of two days, which is taken as done: those that lie ahead are
    weighed as they were told, unless a tin that ends is shared out. How many were compared.
    """
    room, now = case.room(), case.now()
    outlook, until, seen = make_outlook(room, now=now), now + timedelta(days=2), 0
    told = tellings(outlook, [t for t in tasks_of(outlook) if t.at < until], now)
    record = Record({t.task.id: t for t in told}, last=now)
    sets = [t.task for t in told if isinstance(t.task, SetHatch)]
    for moment in sorted({t.at for t in sets})[:3]:
        later = moment + timedelta(minutes=2)
        again = make_outlook(present(room, (), record, later).room, now=later)
        found = {t.id: t for t in tasks_of(again) if isinstance(t, SetHatch)}
        for task in sets:
            stays = found.get(task.id)
            if stays is not None and stays.at == task.at > later:
                assert stays.cysts_g == task.cysts_g or again.feeding.hatches.rationed
                seen += 1
    return seen


# --- on the disk


def _file() -> Path:
    return Path(tempfile.mkdtemp(prefix="told-")) / "told.jsonl"


@settings(RELIABLE, max_examples=examples(suite=8, thorough_run=30))
@given(room_cases(longest_days=7), st.integers(1, 120), st.data())
def test_what_was_told_of_any_room(case: RoomCase, hours_later: int, data: st.DataObject) -> None:
    """It is planned once, and read back, told again, left out and told otherwise."""
    outlook = make_outlook(case.room(), now=case.now())
    told = tellings(outlook, tasks_of(outlook), case.now())
    _check_read_back(case, told)
    _check_told_again(case, told, data)
    _check_told_later(case, told, hours_later)


def _on_the_clock(told: ToldTask) -> ToldTask:
    """The same with an end that the clocks skip written as they show that moment."""
    until = told.task.until
    shown = until.astimezone(UTC).astimezone(until.tzinfo)
    return evolve(told, task=evolve(told.task, until=shown))


def _check_read_back(case: RoomCase, told: list[ToldTask]) -> None:
    """What was told is read back exactly."""
    now = case.now()
    path, zone = _file(), case.room().timezone
    assert read_record(path, zone, now).tasks == {}
    append_telling(path, now, "sheet", told, asked=["feed/never"])
    record = read_record(path, zone, now)
    assert list(record.tasks.values()) == [evolve(_on_the_clock(t), by="sheet") for t in told]
    assert (record.damaged, record.withdrawn, record.asked) == (
        0, frozenset(), frozenset({"feed/never"}),
    )  # fmt: skip
    assert record.last == now
    assert all(same(t, record.tasks[t.task.id]) for t in told)
    for each in record.tasks.values():
        assert each.opens < each.closes
        assert each.opens <= each.task.at < each.closes
        assert each.over_at >= each.task.at + timedelta(hours=2)
    elsewhere = read_record(path, UTC, now).tasks
    # Of an hour that the clocks repeat no two zones have equal times, only the same moments.
    assert [(k, t.task.at.timestamp()) for k, t in elsewhere.items()] == [
        (t.task.id, t.task.at.timestamp()) for t in told
    ]


def _check_told_again(case: RoomCase, told: list[ToldTask], data: st.DataObject) -> None:
    """Telling the same again adds nothing, and what is left out is withdrawn."""
    room, now = case.room(), case.now()
    room_path = _file().with_name("room.toml")

    def tell(rows: list[ToldTask], at: datetime) -> bytes:
        record = read_record(record_path(room_path), room.timezone, at)
        found = present(room, (), record, at)
        record_telling(room_path, found, "today", rows, lambda _: True)
        path = record_path(room_path)
        return path.read_bytes() if path.exists() else b""

    first = tell(told, now)
    assert tell(told, now) == first
    assert tell([evolve(t, told_at=now + timedelta(minutes=1)) for t in told], now) == first
    ahead = [t for t in told if t.task.at > now]
    gone = data.draw(st.lists(st.sampled_from(ahead), unique_by=lambda t: t.task.id)
                     if ahead else st.just([]))  # fmt: skip
    ids = {t.task.id for t in gone}
    tell([t for t in told if t.task.id not in ids], now)
    record = read_record(record_path(room_path), room.timezone, now)
    assert record.withdrawn == ids
    assert set(record.tasks) == {t.task.id for t in told} - ids
    assert set(fates(record, (), now).of) == set(record.tasks)
    tell(told, now)
    back = read_record(record_path(room_path), room.timezone, now)
    assert (set(back.tasks), back.withdrawn) == ({t.task.id for t in told}, frozenset())


def _an_hour_later(task: Task) -> Task:
    """The same task an hour later, with more of everything."""
    later = (task.at.astimezone(UTC) + timedelta(hours=1)).astimezone(task.at.tzinfo)
    return task_of(
        task.what, {k: v + 1.0 for k, v in task.amounts.items()}, id=task.id, at=later,
        until=task.until, subject=task.subject, why=task.why, caution=task.caution,
        other=task.other,
    )  # fmt: skip


def _check_told_later(case: RoomCase, told: list[ToldTask], hours_later: int) -> None:
    """A later telling holds before its time only: all for an hour later, with other amounts."""
    now = case.now()
    path, zone = _file(), case.room().timezone
    append_telling(path, now, "today", told)
    before = read_record(path, zone, now).tasks
    then = (now.astimezone(UTC) + timedelta(hours=hours_later)).astimezone(zone)
    again = [
        evolve(t, told_at=then, task=_an_hour_later(t.task))
        for t in before.values()
    ]  # fmt: skip
    append_telling(path, then, "calendar", again)
    assert read_record(path, zone, then - timedelta(seconds=1)).tasks == before
    late = read_record(path, zone, then).tasks
    for old, new in zip(before.values(), again, strict=True):
        changes_still = old.task.at > then or isinstance(old.task, Reminder)
        holds = late[old.task.id]
        assert holds.task == (new.task if changes_still else old.task)
        assert holds.by == ("calendar" if changes_still else "today")


def test_a_time_that_the_clocks_skip_reads_back_as_it_was_told() -> None:
    """At 02:00 the clocks of Lord Howe go on by half an hour (IANA time zone database)."""
    zone = ZoneInfo("Australia/Lord_Howe")
    at = datetime(2027, 10, 3, 1, 30, tzinfo=zone)
    told = told_task("feed", at, "01:30 round", {"tanks": 1.0}, until=at + timedelta(minutes=30),
                     rounds=[at])  # fmt: skip
    path = _file()
    append_telling(path, told.told_at, "today", [told])
    (found,) = read_record(path, zone, told.told_at).tasks.values()
    assert hours(found.task.until) == hours(told.task.until)
    assert same(found, told)


@cache
def _told_for(seed: int, days: int) -> tuple[Room, datetime, list[ToldTask]]:
    """A room, and what is told at its first moment for some days, planned once."""
    room = random_room(random.Random(seed))
    now = room.local(room.as_of, room.awake[0])
    outlook = make_outlook(room, now=now, days=days)
    told = tellings(outlook, [t for t in tasks_of(outlook) if t.at < outlook.until], now)
    return room, now, told


_DAMAGE = (
    b"{", b"[]", b"7", b"null", b"\xff\xfe", b'{"at": "2027-01-04T06:00"}', b"{}",
    b'{"at": "2027-01-04T06:00+00:00"}',
    b'{"at": "2027-01-04T06:00+00:00", "by": "today", "told": [{}]}',
    b'{"at": "2027-01-04T06:00+00:00", "by": "today", "told": [{"id": "a", "what": "feed"}]}',
    b'{"at": "2027-01-04T06:00+00:00", "by": "today", "told": 7}',
    b'{"at": 7, "by": "today"}', b'{"at": "tomorrow", "by": "today"}',
)  # fmt: skip


@pytest.mark.parametrize("damage", _DAMAGE)
def test_a_damaged_line_is_counted_and_loses_only_itself(damage: bytes) -> None:
    room, now, told = _told_for(2, 5)
    half = len(told) // 2
    path = _file()
    append_telling(path, now, "today", told[:half])
    with path.open("ab") as stream:
        stream.write(damage + b"\n")
    append_telling(path, now, "today", told[half:])
    record = read_record(path, room.timezone, now)
    # A line with a time and nothing told says nothing wrong.
    harmless = damage == b'{"at": "2027-01-04T06:00+00:00"}'
    assert record.damaged == (0 if harmless else 1)
    assert set(record.tasks) == {t.task.id for t in told}


@settings(RELIABLE, max_examples=15)
@given(st.integers(0, 100_000), st.booleans())
def test_a_record_cut_anywhere_loses_only_what_was_cut(cut: int, goes_on: bool) -> None:
    room, now, told = _told_for(3, 3)
    path = _file()
    for each in told:
        append_telling(path, now, "today", [each])
    whole = path.read_bytes()
    kept = whole[: cut % (len(whole) + 1)]
    path.write_bytes(kept)
    complete = kept.count(b"\n")
    ids = [t.task.id for t in told]
    tail = kept.rpartition(b"\n")[2]
    torn = _torn(tail)
    record = read_record(path, room.timezone, now)
    assert list(record.tasks) == ids[: complete + (1 if tail and not torn else 0)]
    assert record.damaged == (1 if torn else 0)
    if goes_on:
        append_telling(path, now, "today", [told[-1]])
        after = read_record(path, room.timezone, now)
        assert set(after.tasks) >= {*ids[:complete], ids[-1]}


def _torn(tail: bytes) -> bool:
    if not tail:
        return False
    try:
        json.loads(tail)
    except ValueError:
        return True
    return False
