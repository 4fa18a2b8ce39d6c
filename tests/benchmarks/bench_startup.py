"""How long ``livefood --help`` and ``livefood today`` take as whole processes.

Run as ``python tests/benchmarks/bench_startup.py``. Beside them stand an interpreter that does
nothing and one that only imports the run-time packages. All run in turn, with bytecode caches
that a first, uncounted run has filled; the least of all runs is the one least disturbed by the
rest of the machine.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from cli.commands.demo_room import demo_text

RUNS = 11
IMPORTS = "import click, attrs, icalendar, tabulate"


def caching_environment(cache: Path) -> dict[str, str]:
    """This environment, with bytecode written to and read from a folder."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    return {**environment, "PYTHONPYCACHEPREFIX": str(cache)}


def least_s(
    commands: Mapping[str, list[str]], environment: Mapping[str, str], runs: int = RUNS
) -> dict[str, float]:
    """The shortest of several runs of each interpreter call, taken in turn [s]."""
    best = dict.fromkeys(commands, float("inf"))
    for turn in range(runs + 1):
        for name, arguments in commands.items():
            begun = time.perf_counter()
            subprocess.run(
                [sys.executable, *arguments],
                check=True,
                stdout=subprocess.DEVNULL,
                env=environment,
            )
            if turn > 0:  # the first fills the caches
                best[name] = min(best[name], time.perf_counter() - begun)
    return best


def measure() -> dict[str, float]:
    """Least time of each process [s]."""
    with tempfile.TemporaryDirectory() as name:
        room = Path(name, "room.toml")
        room.write_text(demo_text(date(2027, 1, 5)), "utf-8")
        commands = {
            "bare interpreter": ["-c", "pass"],
            "imports only": ["-c", IMPORTS],
            "livefood --help": ["-m", "cli", "--help"],
            "livefood today": ["-m", "cli", "today", "--room", str(room),
                               "--now", "2027-01-05T07:00"],
        }  # fmt: skip
        return least_s(commands, caching_environment(Path(name, "cache")))


def main() -> None:
    """Prints seconds and ratios."""
    times = measure()
    bare, imports = times["bare interpreter"], times["imports only"]
    print(f"{'':<20}{'seconds':>9}{'x imports':>11}{'x bare':>8}")
    for name, taken in times.items():
        print(f"{name:<20}{taken:>9.3f}{taken / imports:>11.2f}{taken / bare:>8.1f}")


if __name__ == "__main__":
    main()
