"""``today`` on the largest room that is promised, and as vessels double.

Run as ``python -m tests.benchmarks.bench_large``. 1,000 tanks with a brood in each, 500 cultures
and a journal of 100,000 lines: prints seconds of the processor, peak memory, and the same seconds
as a ratio to a loop of additions on the same machine just after it. Vessels: calls of functions.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from time import process_time

from cultures.planning.plan import make_plan
from tests.benchmarks.bench_planning import big_room, big_text
from tests.faults.fuzzing import counting

_FROM = date(2027, 3, 1)
_DAYS, _LOOP = 60, 10_000_000


def journal(tanks: int, cultures: int, lines: int) -> Iterator[str]:
    """A journal of harvests, losses, notes and temperatures over two months, evenly."""
    yield "when,event,subject,other,amount,unit,note"
    for i in range(lines):
        at = f"{_FROM + timedelta(days=i * _DAYS // lines)}T{8 + i % 10:02d}:{i % 60:02d}:00"
        culture, unit = i % cultures, "swipes" if i % cultures % 2 else "mL"
        match i % 4:
            case 0 if i // tanks < 5:
                yield f"{at},lost,b{i % tanks},,1,fry,"
            case 1:
                yield f"{at},harvest,C-{culture},,0.1,{unit},"
            case 3:
                yield f"{at},temperature,T{i % tanks},,{25 + i % 3},C,"
            case _:
                yield f"{at},note,C-{culture},,,,fine"


def largest(tanks: int = 1000, cultures: int = 500, lines: int = 100_000) -> None:
    """One ``today`` in a process of its own."""
    with tempfile.TemporaryDirectory() as place:
        room = Path(place) / "room.toml"
        room.write_text(big_text(tanks=tanks, cultures=cultures, days=28), "utf-8")
        text = "\n".join(journal(tanks, cultures, lines))
        room.with_name("journal.csv").write_text(f"{text}\n", "utf-8")
        now = (datetime.combine(_FROM, time(7)) + timedelta(days=_DAYS + 1)).isoformat()
        child = subprocess.Popen(
            [sys.executable, "-m", "cli", "today", "--room", str(room)],
            env={**os.environ, "LIVEFOOD_NOW": now}, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    begun, total = process_time(), 0
    for number in range(_LOOP):
        total += number
    loop = process_time() - begun
    taken = used.ru_utime + used.ru_stime
    print(
        f"{tanks} tanks, {cultures} cultures, {lines} lines: ended with {child.returncode} after"
        f" {taken:.1f} s of the processor, {taken / loop:.1f} times a loop of {_LOOP:,} additions"
        f" ({loop:.2f} s), peak memory {used.ru_maxrss / 1024:.0f} MB"
    )


def vessels() -> None:
    """Work of a plan as vessels double."""
    first = 0
    for number in (1, 2, 4, 8, 16, 32):
        room = big_room(tanks=3, cultures=2, days=7, vessels=number)
        with counting() as counted:
            make_plan(room, now=datetime.combine(_FROM, time(6), room.timezone), remedies=False)
        first = first or counted.calls
        print(
            f"{number:>3} vessels: {counted.calls:>9,} calls, {counted.calls / first:.1f} times 1"
        )


if __name__ == "__main__":
    vessels()
    largest()
