"""``check`` says which tools are taken to be there, where nobody said."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import run
from tests.cli.rooms import small


def test_a_scale_that_nobody_said_is_there_is_named(tmp_path: Path) -> None:
    """Hundredths of a gram of dry food are asked for, which a kitchen scale does not show."""
    room = small(tmp_path)
    said = " ".join(run(room, "check").stdout.split())
    assert "You are taken to have a scale that shows hundredths of a gram, measuring" in said
    room.write_text(f"{room.read_text('utf-8')}\n[tools]\nscale_g = 0.1\n", "utf-8")
    assert "You are taken to have" not in run(room, "check").stdout
