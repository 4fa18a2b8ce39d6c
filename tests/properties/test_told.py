"""What was told stays where it is: without a change altogether, with a small one mostly."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from attrs import evolve
from hypothesis import given, settings

from cultures.errors import FileProblemError
from cultures.planning.plan import make_plan
from cultures.planning.what_if import suppose
from cultures.told import told_bytes, told_of, told_path, with_told
from tests.properties.test_plan_promise import RELIABLE
from tests.strategies import RoomCase, room_cases
from tests.studies.moves import changes
from tests.studies.year import random_room


@settings(RELIABLE, max_examples=30)
@given(room_cases(longest_days=14))
def test_a_plan_that_was_told_is_planned_again_as_it_is(case: RoomCase) -> None:
    room, now = case.room(), case.now()
    first = make_plan(room, now=now, remedies=False)
    told = told_of(first)
    harvests = {t.id.partition("/")[2] for t in first.tasks if t.what == "harvest_hatch"}
    assert len(told) == sum(
        1
        for t in first.tasks
        if t.what == "split" or (t.what == "set_hatch" and t.id.partition("/")[2] in harvests)
    )
    again = make_plan(evolve(room, told=told), now=now, remedies=False)
    assert told_of(again) == told
    assert again.lines == first.lines


def test_small_changes_move_next_to_nothing_that_was_told() -> None:
    moved = {False: 0, True: 0}
    for seed in range(6):
        room = random_room(random.Random(seed))
        now = room.local(room.as_of, room.awake[0])
        told = told_of(make_plan(room, now=now, remedies=False))
        for text in changes(room, now):
            changed = suppose(room, text, now)
            for known in moved:
                after = make_plan(
                    evolve(changed, told=told if known else ()), now=now, remedies=False
                )
                assert not after.shortfalls
                moved[known] += len(set(told) - set(told_of(after)))
    assert moved[True] < moved[False] / 2


def test_a_told_setting_moves_when_that_saves_more_than_it_costs() -> None:
    room = random_room(random.Random(1))
    now = room.local(room.as_of, room.awake[0])
    told = told_of(make_plan(room, now=now, remedies=False))
    # Nothing is wanted any more, so no setting stays for having been told.
    empty = evolve(room, broods=(), told=told)
    assert not [t for t in make_plan(empty, now=now).tasks if t.what == "set_hatch"]
    gone = evolve(room, vessels=room.vessels[:1], told=told, move_g=1000.0)
    plan = make_plan(gone, now=now, remedies=False)
    assert {t.subject for t in plan.tasks if t.what == "set_hatch"} <= {room.vessels[0].name}


def test_what_was_told_is_read_back_and_damage_is_said(tmp_path: Path) -> None:
    room = random_room(random.Random(2))
    now = room.local(room.as_of, room.awake[0])
    told = told_of(make_plan(room, now=now, remedies=False))
    path = tmp_path / "room.toml"
    assert with_told(room, path).told == ()
    told_path(path).write_bytes(told_bytes(told))
    assert with_told(room, path).told == told
    for damage in (b"", b"{", b"[]", b'{"told": [{}]}', b'{"told": [{"name": 1, "at": "x"}]}',
                   b'{"told": [{"name": "a", "at": "2027-01-01T00:00"}]}', b"\xff"):  # fmt: skip
        told_path(path).write_bytes(damage)
        with pytest.raises(FileProblemError, match="delete it"):
            with_told(room, path)
