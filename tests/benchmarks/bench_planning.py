"""How long plans take: hatches against a general solver, and whole plans as rooms grow.

Run as ``python tests/benchmarks/bench_planning.py``; three minutes. Nothing is asserted: times
differ between machines, so ratios stand beside them. Three parts:

- the hatches of :func:`cultures.planning.lot_sizing.solve` beside HiGHS, which may stop at a gap
  of 1 % or after 20 s (its best plan is compared then);
- whole plans as tanks with their broods double, and as days double;
- a room of 100 tanks, 60 cultures and 3 vessels over 365 days, in a process of its own.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TypeVar

from cultures.fry import class_names
from cultures.planning.lot_sizing import LotProblem, solve
from cultures.planning.plan import make_plan
from cultures.planning.tasks import Plan
from cultures.room import Room
from cultures.roomfile import read_room

_T = TypeVar("_T")

ROOT = Path(__file__).parents[2]
TODAY = date(2027, 1, 21)
GAP, SOLVER_S = 0.01, 20.0
LOT_DAYS, LOT_VESSELS = (28, 60, 120), (1, 2, 3)
TANKS, DAYS = (10, 20, 40, 80), (28, 56, 112, 224)
LARGE = {"tanks": 100, "cultures": 60, "days": 365}
IMPORTS = "import click, attrs, dateutil, icalendar, tabulate"

HEAD = """
[room]
name = "Tamblewick sheds"
timezone = "Europe/Lisbon"
temperature_c = 23.5
as_of = {today}
fridge_c = 5
[cysts]
grams = 100000
nauplii_per_gram = 210000
"""
TANK = """
[[tank]]
name = "T{i}"
litres = 60
temperature_c = {degrees}
[[brood]]
name = "brood {i}"
tank = "T{i}"
class = "{fry_class}"
count = {count}
free_swimming = 2027-01-{day:02}
"""
WORMS = """
[[culture]]
name = "MW-{i}"
kind = "microworm"
started = 2027-01-{day:02}
medium_g = 150
surface_cm2 = 180
starter_g = 10
"""
EELS = """
[[culture]]
name = "VE-{i}"
kind = "vinegar_eel"
started = 2026-11-{day:02}
medium_g = 1500
starter_g = 150
"""
VESSEL = """
[[vessel]]
name = "jar {i}"
litres = {litres}
temperature_c = 27
"""


def room_of(tanks: int, cultures: int | None = None, vessels: int = 3) -> Room:
    """A room of so many tanks with a brood in each, the classes in turn.

    Args:
        cultures: six to ten tanks unless given; every third is vinegar eels. vessels: large
            enough that there is mostly enough.
    """
    names = class_names()
    cultures = round(0.6 * tanks) if cultures is None else cultures
    text = HEAD.format(today=TODAY)
    for i in range(tanks):
        text += TANK.format(
            i=i,
            degrees=24 + i % 4,
            fry_class=names[i % len(names)],
            count=40 + 3 * (i % 20),
            day=1 + i % 20,
        )
    for i in range(cultures):
        text += (EELS if i % 3 == 2 else WORMS).format(i=i, day=1 + i % 20)
    for i in range(vessels):
        text += VESSEL.format(i=i, litres=max(1.0, tanks / 10))
    return read_room(text, today=TODAY)


def timed(work: Callable[[], _T], runs: int = 1) -> tuple[float, _T]:
    """The shortest of several runs [s], and what the last of them gave."""
    best = float("inf")
    for _ in range(runs):
        solve.cache_clear()
        begun = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - begun)
    return best, result


def planned(room: Room, days: int) -> Plan:
    """The whole plan, remedies tried."""
    now = datetime(TODAY.year, TODAY.month, TODAY.day, 6, tzinfo=room.timezone)
    return make_plan(room, now=now, days=days)


def lot_line(days: int, vessels: int) -> str:
    """One hatch problem: times; costs without what no plan can avoid; what HiGHS left unproven."""
    from tests.oracle.hatch_milp import solve_milp
    from tests.oracle.random_lots import random_lots
    from tests.oracle.test_hatch_optimum import hopeless

    problem: LotProblem = random_lots(11 * days + vessels, rounds=2 * days, vessels=vessels)
    ours_s, ours = timed(lambda: solve(problem), runs=3)
    theirs_s, theirs = timed(lambda: solve_milp(problem, gap=GAP, seconds=SOLVER_S))
    lost = problem.short_cost * sum(hopeless(problem))
    return (
        f"{days:>5}{vessels:>9}{ours_s:>10.3f}{theirs_s:>10.2f}{theirs_s / ours_s:>14.0f}"
        f"{(ours.cost - lost) / (theirs.cost - lost):>13.4f}{theirs.cost / theirs.bound - 1:>11.1%}"
    )


def growth(title: str, cases: list[tuple[int, Room, int]]) -> None:
    """A line for each case: time, and how it grew from the case before."""
    print(f"\n{title:>8}{'seconds':>10}{'x before':>10}{'feed lines':>12}{'x before':>10}")
    before: tuple[float, int] | None = None
    for size, room, days in cases:
        taken, plan = timed(partial(planned, room, days), runs=3)
        lines = len(plan.lines)
        ratios = ("", "") if before is None else (
            f"{taken / before[0]:.2f}", f"{lines / before[1]:.2f}"
        )  # fmt: skip
        print(f"{size:>8}{taken:>10.3f}{ratios[0]:>10}{lines:>12}{ratios[1]:>10}", flush=True)
        before = taken, lines


def large_room() -> None:
    """The large room, in this process: prints seconds, peak memory [MB], lines, shortfalls."""
    room = room_of(LARGE["tanks"], LARGE["cultures"])
    taken, plan = timed(lambda: planned(room, LARGE["days"]))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    megabytes = peak / (1e6 if sys.platform == "darwin" else 1e3)
    print(taken, megabytes, len(plan.lines), len(plan.tasks), len(plan.shortfalls))


def in_own_process(program: str) -> tuple[float, str]:
    """Wall time of a fresh interpreter running a program [s], and what it printed."""
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True, cwd=ROOT
    )
    return time.perf_counter() - begun, done.stdout


def main() -> None:
    """Prints the tables."""
    print(f"{'days':>5}{'vessels':>9}{'ours s':>10}{'HiGHS s':>10}{'HiGHS/ours':>14}", end="")
    print(f"{'ours/HiGHS':>13}{'HiGHS gap':>11}")
    for days in LOT_DAYS:
        for vessels in LOT_VESSELS:
            print(lot_line(days, vessels), flush=True)
    growth("tanks", [(tanks, room_of(tanks), 28) for tanks in TANKS])
    room = room_of(TANKS[0])
    growth("days", [(days, room, days) for days in DAYS])
    bare = min(in_own_process(IMPORTS)[0] for _ in range(5))
    program = "from tests.benchmarks.bench_planning import large_room; large_room()"
    _, printed = in_own_process(program)
    taken, megabytes, lines, tasks, shortfalls = printed.split()
    print(
        f"\n{LARGE['tanks']} tanks, {LARGE['cultures']} cultures, 3 vessels, {LARGE['days']} days:"
    )
    print(f"{lines} feed lines, {tasks} tasks, {shortfalls} shortfalls in {float(taken):.1f} s,")
    print(f"{float(taken) / bare:.0f} times an import of the packages ({bare:.3f} s);", end=" ")
    print(f"peak memory {float(megabytes):.0f} MB")


if __name__ == "__main__":
    main()
