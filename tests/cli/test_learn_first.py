"""``livefood learn --first`` on the demo room."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import quick_room, room_file, run, run_json


def test_it_lists_what_is_worth_measuring_by_the_minute(tmp_path: Path) -> None:
    found = run_json(room_file(tmp_path, horizon_days="14"), "learn", "--first")
    low, high = found["fed"]
    least, most = found["by_luck"]
    assert 0 < low < high <= 1
    assert high - low > 3 * (most - least)  # luck is the least of it in a room not counted
    rows = found["measure"]
    rates = [row["share"] / row["minutes"] for row in rows]
    assert rates == sorted(rates, reverse=True)
    assert {row["what"] for row in rows} >= {"swipe", "draw", "harvest", "hatch", "fish", "tin"}
    assert all(0 <= row["share"] <= 1 for row in rows)
    assert all(row["width"] <= high - low + 1e-6 for row in rows)


def test_the_screen_says_how_to_note_the_first(tmp_path: Path) -> None:
    """And writes nothing."""
    said = run(quick_room(tmp_path, horizon_days="7"), "learn", "--first").output
    assert "MEASURE FIRST" in said
    assert "Note it like this: livefood journal" in said
    assert max(map(len, said.splitlines())) <= 80
    assert [path.name for path in tmp_path.iterdir()] == ["room.toml"]


@pytest.mark.parametrize("other", ["--off", "--on"])
def test_it_stands_alone(tmp_path: Path, other: str) -> None:
    result = run(room_file(tmp_path), "learn", "--first", other, "yield", code=2)
    assert "say --first alone" in result.output


def test_a_room_that_feeds_nobody_has_nothing_to_measure(tmp_path: Path) -> None:
    """No brood, no doubt."""
    room = room_file(tmp_path)
    head, _, rest = room.read_text("utf-8").partition("[[brood]]")
    room.write_text(head + rest[rest.index("[[culture]]") :], "utf-8")
    found = run_json(room, "learn", "--first")
    assert all(row["share"] == 0 for row in found["measure"])
    assert "No single measurement" in run(room, "learn", "--first").output
