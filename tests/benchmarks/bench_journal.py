"""How long ``today`` takes with a journal of 100,000 lines beside the room file.

Run as ``python -m tests.benchmarks.bench_journal [LINES]``. The journal covers the time up
to the day of the room file and on; times are of whole commands in a fresh interpreter, and
as ratios to the same command without a journal.
"""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
import time
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from cli.commands.demo_room import demo_text
from cultures.journal.entries import Entry, append, read_journal

_ZONE = ZoneInfo("Europe/Lisbon")
_NOW = datetime(2027, 7, 5, 7, 0, tzinfo=_ZONE)
_LINES_A_DAY = 60


def long_journal(count: int) -> list[Entry]:
    """A busy room's journal that ends now: harvests, hatches, counts, losses."""
    rng = random.Random(3)
    start = _NOW - timedelta(days=count / _LINES_A_DAY)
    step = (_NOW - start) / count
    entries = []
    for i in range(count):
        at = (start + i * step).replace(microsecond=0)
        match i % 10:
            case 0:
                entry = Entry(at, "set", "bottle 1", "", 2.0, "g")
            case 5:
                drops = f"{rng.randint(8, 16)} {rng.randint(8, 16)} in 0.05 mL each of 1000 mL"
                entry = Entry(at, "hatched", "bottle 1", drops, 2.4e5, "nauplii")
            case 3:
                entry = Entry(at, "lost", "acara 5", "", 0.01, "fry")
            case 7:
                entry = Entry(at, "harvest", "MW-2", "all", 2.0, "swipes")
            case n:
                entry = Entry(at, "harvest", "MW-1" if n % 2 else "VE-1", "", 0.1, "mg")
        entries.append(entry)
    return entries


def seconds(folder: Path, *, runs: int = 5) -> float:
    """Best of some runs of ``today``, in a fresh interpreter each."""
    command = [sys.executable, "-m", "cli", "today", "--room", str(folder / "room.toml"),
               "--now", _NOW.isoformat()]  # fmt: skip
    best = float("inf")
    for _ in range(runs):
        began = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        best = min(best, time.perf_counter() - began)
    return best


def main() -> None:
    """Prints the figures."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "room.toml").write_text(demo_text(date(2027, 7, 5)), encoding="utf-8")
        plain = seconds(folder)
        append(folder / "journal.csv", long_journal(count))
        began = time.perf_counter()
        journal = read_journal(folder / "journal.csv", _ZONE)
        read_s = time.perf_counter() - began
        whole = seconds(folder)
        began = time.perf_counter()
        append(folder / "journal.csv", [Entry(_NOW, "lost", "acara 5", "", 1, "fry")])
        append_s = time.perf_counter() - began
        print(f"{len(journal.entries)} lines read in {read_s:.2f} s; one append {append_s:.4f} s")
        print(f"today without a journal {plain:.2f} s, with it {whole:.2f} s:"
              f" {whole / plain:.2f} times")  # fmt: skip


if __name__ == "__main__":
    main()
