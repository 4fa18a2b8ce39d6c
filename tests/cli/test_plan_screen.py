"""The screens of the weeks ahead: days, charts, shortfalls, cost."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cli.balance_text import balance
from cli.today_text import all_shortfalls
from cultures.planning.tasks import Shortfall, Supply
from tests.cli.invented import room_file, run, run_json


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    return room_file(tmp_path)


@pytest.mark.parametrize(
    "args", [["plan"], ["plan", "--why", "--feeding"], ["plan", "--days", "100"], ["shortfalls"]],
    ids=" ".join,
)  # fmt: skip
def test_no_line_is_longer_than_eighty_columns(room: Path, args: list[str]) -> None:
    for line in run(room, *args).stdout.splitlines():
        assert len(line) <= 80, line


def test_every_task_outside_the_rounds_stands_under_its_day(room: Path) -> None:
    plan = run_json(room, "plan")
    screen = run(room, "plan").stdout
    tasks = [t for t in plan["tasks"] if t["what"] not in ("feed", "soak", "harvest_worms")]
    assert len(re.findall(r"^  \d\d:\d\d  ", screen, re.MULTILINE)) == len(tasks)
    for task in tasks:
        day = date.fromisoformat(task["at"][:10])
        block = screen.split(f"{day:%a} {day.day} {day:%b}\n", 1)[1].split("\n\n")[0]
        assert f"  {task['at'][11:16]}  " in block
        assert task["subject"] in " ".join(block.split())


def test_the_reason_of_each_task_can_be_asked_for(room: Path) -> None:
    told = " ".join(run(room, "plan", "--why").stdout.split())
    plan = run_json(room, "plan")
    assert all(
        " ".join(t["why"].split()) in told for t in plan["tasks"] if t["what"] == "set_hatch"
    )


def test_the_cost_is_told(room: Path) -> None:
    cost = run_json(room, "plan")["cost"]
    last = run(room, "plan").stdout.strip().splitlines()[-1]
    assert last.startswith(f"In all: {cost['hatches']} hatches with")


def test_strict_ends_with_one_when_something_falls_short(room: Path) -> None:
    assert run_json(room, "shortfalls")
    run(room, "shortfalls", "--strict", code=1)
    run(room, "shortfalls", code=0)


def test_shortfalls_say_how_likely_they_are(room: Path) -> None:
    found = run_json(room, "shortfalls")
    assert all(0.0 <= s["probability"] <= 1.0 for s in found)
    screen = " ".join(run(room, "shortfalls").stdout.split())
    for short in found:
        if not short["thin"]:
            assert f"of the need, in {short['probability']:.0%} of trials)" in screen


def test_what_is_only_thin_is_called_thin_and_is_no_failure() -> None:
    at = datetime(2027, 1, 10, 7, 30, tzinfo=UTC)
    thin = Shortfall(at=at, until=at, rounds=1, food="microworm", need_j=10.0, short_j=1.0,
                     tanks=("A1",), cause="a poor yield leaves a round short in 24% of trials",
                     probability=0.24, thin=True)  # fmt: skip
    told = all_shortfalls([thin], at, "metric")
    assert told.startswith("Nothing falls short until Sun 10 Jan 2027.")
    assert told.split("THIN MARGINS\n")[1] == (
        "  - microworm thin in A1, Sun 10 Jan 07:30: a poor yield leaves a round short in\n"
        "    24% of trials."
    )


def _supply(values: list[tuple[float, float]], food: str = "dry") -> list[Supply]:
    first = date(2027, 1, 1)
    return [
        Supply((first + timedelta(days=i)).isoformat(), food, need, given)
        for i, (need, given) in enumerate(values)
    ]


def _columns(text: str, food: str = "dry") -> list[str]:
    """The columns of one chart, from the lowest row up."""
    lines = text.splitlines()
    start = lines.index(f"  {food}") + 1
    rows = [line.split("|", 1)[1] for line in lines[start : start + 4]]
    width = max(len(row) for row in rows)
    padded = [row.ljust(width) for row in rows]
    return ["".join(row[i] for row in reversed(padded)).rstrip() for i in range(width)]


def test_columns_are_as_high_as_the_energy() -> None:
    text = balance(_supply([(100, 100), (100, 50), (100, 0), (0, 0), (25, 25), (50, 100)]))
    assert _columns(text) == ["####", "##..", "....", "", "#", "####"]


def test_a_little_shows_and_nothing_does_not() -> None:
    assert _columns(balance(_supply([(1000, 1000), (1, 0), (0, 1), (0, 0), (9, 9)]))) == [
        "####", ".", "#", "", "#",
    ]  # fmt: skip


def test_without_supplies_there_is_no_chart() -> None:
    assert balance([]) == ""
    assert balance(_supply([(0, 0)])) == ""


_PAIRS = st.lists(st.tuples(st.floats(0, 1e6), st.floats(0, 1e6)), min_size=1, max_size=400)


@given(_PAIRS)
def test_charts_fit_the_screen_and_never_dip_while_given_rises(
    pairs: list[tuple[float, float]],
) -> None:
    text = balance(_supply(pairs))
    assert all(len(line) <= 80 for line in text.splitlines())
    if text and len(pairs) <= 60:
        heights = [column.count("#") for column in _columns(text)]
        heights += [0] * (len(pairs) - len(heights))
        ordered = sorted(zip((given for _, given in pairs), heights, strict=True))
        shown = [height for _, height in ordered]
        assert shown == sorted(shown)
