"""The first hour: a room file as it was written, and what a beginner is told of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import main
from cli.shipped import is_unfilled

_NOW = "2026-12-05T19:00"


def _run(folder: Path, *words: str, width: int = 80, now: str = _NOW) -> str:
    env = {"LIVEFOOD_NOW": now, "LIVEFOOD_ROOM": str(folder / "room.toml"), "COLUMNS": str(width)}
    result = CliRunner().invoke(main, [*words], env=env)
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


@pytest.fixture
def unfilled(tmp_path: Path) -> Path:
    where = str(tmp_path / "room.toml")
    _run(tmp_path, "new", where, "--name", 'A "b" {day-3} + \\', "--timezone", "America/Chicago")
    return tmp_path


def test_the_example_of_a_new_room_is_told_to_nobody(unfilled: Path) -> None:
    note = ["journal", "harvest", "MW-1", "1 swipe"]
    for words in (["today"], note, ["sheet", "--out", str(unfilled / "s.html")]):
        _run(unfilled, *words)
        assert not (unfilled / "told.jsonl").exists()
    assert "is still the example that 'livefood new' wrote" in _run(unfilled, "today")
    assert "is still the example that 'livefood new' wrote" in _run(unfilled, "check", width=40)
    # A day later nothing of it was done.
    assert "MW-2" not in _run(unfilled, "check", now="2026-12-06T19:00")


def test_a_room_that_was_filled_in_is_told(unfilled: Path) -> None:
    path = unfilled / "room.toml"
    text = path.read_text("utf-8")
    assert is_unfilled(text)
    path.write_text(text.replace("count = 50", "count = 51"), "utf-8")
    assert "is still the example" not in _run(unfilled, "today") + _run(unfilled, "check")
    assert (unfilled / "told.jsonl").exists()


@pytest.mark.parametrize(
    ("old", "new"),
    [("count = 50", "count = 5"), ("litres = 40", "litres = 40.0"), ("[cysts]", "[cysts]\n\n")],
)
def test_any_line_that_is_changed_fills_it_in(unfilled: Path, old: str, new: str) -> None:
    text = (unfilled / "room.toml").read_text("utf-8")
    assert old in text
    assert not is_unfilled(text.replace(old, new, 1))


def test_a_starter_by_post_is_spoken_of_until_the_room_says_how_long_it_takes(
    unfilled: Path,
) -> None:
    path = unfilled / "room.toml"
    head, _, tail = path.read_text("utf-8").partition("\n[[culture]]")
    rest = tail.partition("\n[cysts]\n")[2]  # no culture and no vessel
    text = f"{head}\n[cysts]\n{rest}"
    text = text.replace("egg_scatterer", "bubble_nest").replace("spawned =", "free_swimming =")
    path.write_text(text, "utf-8")
    for command in ("today", "shortfalls"):
        said = _run(unfilled, command)
        assert "starter" in said
        assert "is reckoned to come 1 day after it is ordered" in said
        assert "starter_days under [supplies]" in said
    path.write_text(f"{text}\n[supplies]\nstarter_days = 3\n", "utf-8")
    for command in ("today", "shortfalls"):
        assert "is reckoned to come" not in _run(unfilled, command)
