"""The demo room at any hour: what it says of itself is what its keeper would have done by then."""

from __future__ import annotations

import tomllib
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.commands.demo_room import demo_text
from cli.main import main
from tests.cli.invented import TODAY


def _demo(folder: Path, clock: str, *more: str, code: int = 0) -> str:
    words = ["demo", str(folder), *more]
    result = CliRunner().invoke(main, words, env={"LIVEFOOD_NOW": f"2027-01-05T{clock}"})
    assert result.exit_code == code, result.output
    return result.output


@pytest.mark.parametrize("clock", ["00:10", "07:00", "09:00", "12:00", "19:30", "23:30"])
def test_the_hatch_that_stands_is_ripe_for_the_round_to_come(tmp_path: Path, clock: str) -> None:
    """Set a day before it; at night it stood for two rounds more, 22 h past its best."""
    said = _demo(tmp_path / "demo", clock)
    assert "draw off" in said
    assert "past its best" not in " ".join(said.split()).lower()
    room = tomllib.loads((tmp_path / "demo" / "room.toml").read_text("utf-8"))
    (hatch,) = room["hatch"]
    feeding = hatch["set_at"] + timedelta(days=1)
    now = datetime.fromisoformat(f"2027-01-05T{clock}")
    assert now - timedelta(hours=2) <= feeding <= now + timedelta(hours=11)
    assert f"{feeding:%H:%M}" in room["room"]["rounds"]
    assert room["room"]["as_of"] == feeding.date() - timedelta(days=1)


def test_in_the_morning_it_is_the_room_of_all_examples(tmp_path: Path) -> None:
    _demo(tmp_path / "demo", "07:00")
    assert (tmp_path / "demo" / "room.toml").read_text("utf-8") == demo_text(TODAY)


def test_it_is_known_as_the_demo_whenever_it_was_written(tmp_path: Path) -> None:
    for clock in ("12:00", "23:30", "07:00"):
        _demo(tmp_path / "demo", clock, *(["--force"] if clock != "12:00" else []))
    room = tmp_path / "demo" / "room.toml"
    room.write_text(room.read_text("utf-8") + "# mine\n", "utf-8")
    assert "is not the demo room" in " ".join(
        _demo(tmp_path / "demo", "07:00", "--force", code=2).split()
    )
