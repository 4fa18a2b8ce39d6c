"""Output that goes to a device, a pipe or a full disk: one message, code 2, nothing replaced."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.invented import NOW, quick_room, run

_FULL = Path("/dev/full")
_ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
@pytest.mark.parametrize("command", [["calendar"], ["sheet"], ["sheet", "--force"]])
def test_a_pipe_is_neither_read_nor_replaced(command: list[str], tmp_path: Path) -> None:
    room, pipe = quick_room(tmp_path), tmp_path / "pipe"
    os.mkfifo(pipe)
    before = sorted(p.name for p in tmp_path.iterdir())
    said = run(room, *command, "--out", str(pipe), code=2).stderr
    assert "device or pipe; name a file" in said
    assert len(said.strip().splitlines()) == 1
    assert pipe.is_fifo()
    assert sorted(p.name for p in tmp_path.iterdir()) == before


@pytest.mark.skipif(not _FULL.exists(), reason="no device that is always full here")
@pytest.mark.parametrize("command", [["--help"], ["kinds"], ["plan"], ["today", "--json"]])
def test_a_screen_that_cannot_be_written_says_so_in_one_line(
    command: list[str], tmp_path: Path
) -> None:
    setting = ["--room", str(quick_room(tmp_path)), "--now", NOW]
    with _FULL.open("w") as full:
        done = subprocess.run(
            [sys.executable, "-c", "from cli.main import run; run()", *command]
            + (setting if command[0] in ("plan", "today") else []),
            stdout=full, stderr=subprocess.PIPE, text=True, timeout=60, check=False, cwd=_ROOT,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.strip() == f"Error: {os.strerror(errno.ENOSPC)}"
