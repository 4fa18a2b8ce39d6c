"""``need --tank``: what a tank's fry need, one brood after the other where it holds two."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import NOW, room_file, run, run_json


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """The demo room, whose platies 9 of C4 swim with rainbows 4 in C2; nothing is in C4."""
    path = room_file(tmp_path, horizon_days="2")
    path.write_text(path.read_text("utf-8").replace('tank = "C4"', 'tank = "C2"'), "utf-8")
    return path


def test_both_broods_of_a_tank_are_shown_one_after_the_other(room: Path) -> None:
    shown = run(room, "need", "--tank", "C2", "--days", "7").stdout
    each = [run(room, "need", "--brood", name, "--days", "7").stdout.rstrip("\n")
            for name in ("rainbows 4", "platies 9")]  # fmt: skip
    assert shown.rstrip("\n") == "\n\n".join(each)
    reasons = run(room, "need", "--tank", "C2", "--why").stdout
    assert reasons.index("rainbows 4 at") < reasons.index("platies 9 at")


def test_for_programs_they_are_a_list_and_one_alone_is_itself(room: Path) -> None:
    both = run_json(room, "need", "--tank", "C2", "--days", "2")
    assert [one["brood"] for one in both] == ["rainbows 4", "platies 9"]
    assert both[0] == run_json(room, "need", "--brood", "rainbows 4", "--days", "2")
    assert run_json(room, "need", "--tank", "B1", "--days", "2")["tank"] == "B1"


def test_a_tank_without_fry_or_that_is_not_there_is_refused(room: Path) -> None:
    assert "tank C4 holds no brood" in run(room, "need", "--tank", "C4", now=NOW, code=2).output
    assert "Z9" in run(room, "need", "--tank", "Z9", now=NOW, code=2).output
