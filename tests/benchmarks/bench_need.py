"""How long the needs of a large room take: 100 tanks over 365 days, two rounds a day.

Run as ``python tests/benchmarks/bench_need.py``. Times are printed in seconds and as a ratio
to starting a bare interpreter (``python -I -c pass``), which tells machines apart.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta

from cultures.fry.classes import class_names
from cultures.needs.dates import brood_dates
from cultures.needs.need import BroodCourse, room_needs, rounds_between
from cultures.room.file import read_room
from cultures.room.room import Room

TANKS, DAYS = 100, 365
HEAD = """
[room]
name = "a hundred tanks"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
"""
TANK = """
[[tank]]
name = "T{i}"
litres = 40
temperature_c = {degrees}
[[brood]]
name = "brood {i}"
tank = "T{i}"
class = "{fry_class}"
count = {count}
free_swimming = 2027-01-{day:02}
foods = ["vinegar_eel", "microworm", "brine_shrimp", "dry"]
"""


def big_room(tanks: int = TANKS) -> Room:
    """A room of so many tanks, the classes in turn."""
    names = class_names()
    text = HEAD + "".join(
        TANK.format(
            i=i,
            degrees=23 + i % 5,
            fry_class=names[i % len(names)],
            count=50 + 3 * i,
            day=1 + i % 20,
        )
        for i in range(tanks)
    )
    return read_room(text, name="room.toml", today=date(2027, 1, 21))


def best_of(times: int, work: Callable[[], object]) -> float:
    """The shortest of several runs [s]."""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def bare_interpreter_s() -> float:
    """Starting and ending an interpreter that does nothing [s]."""
    return best_of(7, lambda: subprocess.run([sys.executable, "-I", "-c", "pass"], check=True))


def needs_s(room: Room, days: int = DAYS) -> float:
    """All needs of a room over so many days [s]."""
    start = datetime(2027, 1, 21, 6, tzinfo=room.timezone)
    rounds = rounds_between(room, start, start + timedelta(days=days))
    return best_of(3, lambda: room_needs(room, rounds))


def main() -> None:
    room, bare = big_room(), bare_interpreter_s()
    needs = needs_s(room)
    first = date(2027, 1, 21)
    end = first + timedelta(days=28)
    dates = best_of(
        3, lambda: [brood_dates(BroodCourse.of(room, b), first, end) for b in room.broods]
    )
    print(f"bare interpreter                      {bare:8.3f} s      1.0")
    print(f"needs, {TANKS} tanks x {DAYS} days         {needs:8.3f} s {needs / bare:8.1f}")
    print(f"dates, {TANKS} tanks x 28 days          {dates:8.3f} s {dates / bare:8.1f}")


if __name__ == "__main__":
    main()
