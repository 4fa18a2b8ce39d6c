"""What a plan has beyond what it tells is kept beside that, and shown to nobody as told."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from cultures.record.store import record_path
from tests.cli.invented import NOW, at, quick_room, room_file, run

#: A step of a round, or what is to be set going, on the screen of today.
_STEP = re.compile(r"(?m)^  \d\d:\d\d .*")


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """The quick room after a look on Tuesday at seven, at which nobody is told of Thursday."""
    made = quick_room(tmp_path)
    at(made, NOW, "today")
    return made


def _drafts(room: Path) -> list[list[list[str]]]:
    """What each line of the record says of a draft, where it says anything."""
    lines = map(json.loads, record_path(room).read_text("utf-8").splitlines())
    return [line["drafted"] for line in lines if "drafted" in line]


def _sets(room: Path, clock: str) -> list[str]:
    """When hatches are set."""
    plan = json.loads(at(room, clock, "plan", "--json").stdout)
    return [t["at"][:16] for t in plan["tasks"] if t["what"] == "set_hatch"]


def test_the_settings_that_nobody_was_told_stand_in_the_record_by_themselves(room: Path) -> None:
    (draft,) = _drafts(room)
    assert [set_at[:16] for _, set_at, _ in draft] == _sets(room, NOW)[1:]
    assert all(len(row) == 3 for row in draft)


def test_who_only_looks_writes_nothing_and_who_looks_again_no_draft(room: Path) -> None:
    before = record_path(room).read_bytes()
    for looks in (("plan",), ("shortfalls",), ("plan", "--if", "buy 10 cysts")):
        at(room, NOW, *looks)
    run(room, "today", now="2027-01-05T18:00")
    at(room, "2027-01-05T07:02", "today")
    assert record_path(room).read_bytes() == before


def test_a_draft_whose_time_is_past_was_never_anybodys_to_do(room: Path) -> None:
    """Two days later, when nobody has looked since: it is neither taken as done nor asked about."""
    (draft,) = _drafts(room)
    late = f"{draft[0][1][:11]}23:00"
    due = at(room, late, "journal", "due").output
    assert "7 Jan" not in due
    told = [t["id"] for t in json.loads(at(room, late, "journal", "due", "--json").stdout)]
    assert told
    assert not [key for key in told if key.startswith("set_hatch/2027-01-08")]


def test_a_record_without_drafts_is_planned_from_as_it_was(room: Path) -> None:
    """Nothing has changed, so the plan that is found without the draft is the one that it was."""
    with_draft = _sets(room, "2027-01-05T07:01")
    path = record_path(room)
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    for line in lines:
        line.pop("drafted", None)
    path.write_text("".join(json.dumps(line) + "\n" for line in lines), "utf-8")
    assert _sets(room, "2027-01-05T07:01") == with_draft
    path.unlink()
    assert at(room, "2027-01-05T07:01", "today").output


def test_a_hatch_that_fails_is_made_up_for_at_once(room: Path) -> None:
    """The one of Tuesday evening is to feed Wednesday and Thursday. Noted on Wednesday morning as
    failed, the next one is set that morning, and not on Thursday as was drafted.
    """
    at(room, "2027-01-05T18:30", "today")
    at(room, "2027-01-06T07:30", "journal", "set", "bottle 1", "2", "g", "--at", "2027-01-05T18:30")
    at(room, "2027-01-06T07:30", "today")
    assert _sets(room, "2027-01-06T07:50")[0].startswith("2027-01-07")
    at(room, "2027-01-06T08:00", "journal", "failed", "bottle 1")
    assert _sets(room, "2027-01-06T08:01")[0] < "2027-01-06T09:00"


def test_a_sale_that_is_taken_back_leaves_the_plan_that_was(room: Path) -> None:
    """A look in between drafts for fewer fish; once the sale is taken back that draft is void."""
    before = _sets(room, "2027-01-05T07:20")
    at(room, "2027-01-05T07:05", "journal", "sold", "annuals 2", "12", "--sure")
    at(room, "2027-01-05T07:10", "today")
    at(room, "2027-01-05T07:15", "journal", "undo")
    assert _sets(room, "2027-01-05T07:20") == before


@pytest.mark.parametrize(
    ("made", "looks", "noted_at"),
    [
        # Nauplii become short, so that the next look has no draft any more.
        (room_file, ("2027-01-05T18:10",), "2027-01-06T17:50"),
        (room_file, ("2027-01-05T18:10", "2027-01-06T17:40"), "2027-01-06T18:20"),
        # Nobody was told of the round before it begins and its hatch fails.
        (quick_room, ("2027-01-05T18:10",), "2027-01-06T18:50"),
    ],
)
def test_who_looks_twice_after_a_failed_hatch_finds_the_same(
    tmp_path: Path, made: Callable[[Path], Path], looks: Sequence[str], noted_at: str
) -> None:
    room = made(tmp_path)
    for clock in (NOW, *looks):
        at(room, clock, "today")
    at(room, noted_at, "journal", "failed", "bottle 1")
    first, second, third = (_STEP.findall(at(room, noted_at, "today").output) for _ in range(3))
    assert first == second == third
    assert any(" set bottle" in step for step in first)
