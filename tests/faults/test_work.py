"""Work in counted calls, not in seconds: what grows at most in proportion."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from cultures.planning.plan import make_plan
from cultures.record.present import present_of
from cultures.room.file import read_room
from tests.benchmarks.bench_large import journal
from tests.benchmarks.bench_planning import big_room, big_text
from tests.faults.fuzzing import counting


def test_a_plan_costs_at_most_in_proportion_to_the_vessels() -> None:
    calls = {}
    for number in (1, 8, 32):
        room = big_room(tanks=3, cultures=2, days=5, vessels=number)
        with counting() as counted:
            make_plan(room, now=datetime(2027, 3, 1, 6, tzinfo=room.timezone), remedies=False)
        calls[number] = counted.calls
    assert calls[8] <= 8 * calls[1]
    assert calls[32] <= 4 * calls[8]


@pytest.mark.parametrize("what", ["lines", "tanks"])
def test_the_past_costs_at_most_in_proportion(tmp_path: Path, what: str) -> None:
    """Each line once, whatever the number of tanks; each tank once, whatever the lines."""
    calls = []
    for times in (1, 4):
        tanks, lines = (
            10 * (times if what == "tanks" else 1),
            400 * (times if what == "lines" else 1),
        )
        room = read_room(big_text(tanks=tanks, cultures=4, days=1), today=date(2027, 3, 1))
        path = tmp_path / f"{times}" / "room.toml"
        path.parent.mkdir()
        text = "\n".join(journal(tanks, 4, lines))
        path.with_name("journal.csv").write_text(f"{text}\n", "utf-8")
        with counting() as counted:
            present_of(room, path, datetime(2027, 5, 1, 7, tzinfo=room.timezone))
        calls.append(counted.calls)
    assert calls[1] <= (4.2 if what == "lines" else 2) * calls[0], calls
