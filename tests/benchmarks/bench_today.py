"""How long ``livefood today`` takes on the demo room, against a process that only imports.

Run from the checkout: ``python -m tests.benchmarks.bench_today``. Each is the least of nine runs,
which is the one least disturbed by the rest of the machine.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

from cli.demo_room import demo_text

_RUNS = 9
_IMPORTS = [sys.executable, "-c", "import click, attrs, icalendar, tabulate"]


def least_s(command: list[str]) -> float:
    """The shortest of several runs of a process [s]."""
    times = []
    for _ in range(_RUNS):
        begun = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - begun)
    return min(times)


def measure() -> tuple[float, float]:
    """(imports, today) [s]."""
    with tempfile.TemporaryDirectory() as folder:
        room = Path(folder, "room.toml")
        room.write_text(demo_text(date(2027, 1, 5)), "utf-8")
        today = [sys.executable, "-m", "cli", "today", "--room", str(room), "--now",
                 "2027-01-05T07:00"]  # fmt: skip
        return least_s(_IMPORTS), least_s(today)


if __name__ == "__main__":
    imports, today = measure()
    print(f"imports {imports:.3f} s, today {today:.3f} s, {today / imports:.2f} times")
