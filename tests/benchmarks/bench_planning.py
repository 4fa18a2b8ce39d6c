"""Planning against a solver, and as rooms and horizons grow.

Run it: ``python -m tests.benchmarks.bench_planning``. Prints times and their ratios; the
solver gets a limit of time on each case, and what it had not proven by then is marked.
"""

from __future__ import annotations

import resource
import subprocess
import sys
from datetime import date, datetime, timedelta
from time import perf_counter

from cultures.planning.lot_sizing import solve
from cultures.planning.plan import make_plan
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.oracle.random_lots import random_lots

TODAY = date(2027, 3, 1)
SOLVER_LIMIT_S = 40.0
_CLASSES = ("bubble_nest", "egg_scatterer", "substrate_spawner", "rainbowfish", "annual_killifish")


def big_room(*, tanks: int, cultures: int, days: int, vessels: int = 3) -> Room:
    """A room whose broods follow each other, with two kinds of worms, as large as wanted."""
    text = big_text(tanks=tanks, cultures=cultures, days=days, vessels=vessels)
    return read_room(text, today=TODAY)


def big_text(*, tanks: int, cultures: int, days: int, vessels: int = 3) -> str:
    """Its room file."""
    text = (
        '[room]\nname = "Large"\ntimezone = "Europe/Lisbon"\nas_of = 2027-03-01\n'
        f"temperature_c = 24\nhorizon_days = {days}\nfridge_c = 5\n"
    )
    for i in range(tanks):
        spawned = TODAY - timedelta(days=5 * i % 90)
        text += f'[[tank]]\nname = "T{i}"\nlitres = 40\ntemperature_c = 26\n'
        text += (
            f'[[brood]]\nname = "b{i}"\ntank = "T{i}"\nclass = "{_CLASSES[i % len(_CLASSES)]}"\n'
            f"count = {30 + 7 * i % 90}\nspawned = {spawned}\n"
        )
    for i in range(cultures):
        kind, medium = ("microworm", 150) if i % 2 else ("vinegar_eel", 1500)
        born = TODAY - timedelta(days=(3 + 5 * i) % (24 if i % 2 else 120))
        surface = "surface_cm2 = 180\n" if i % 2 else ""
        text += (
            f'[[culture]]\nname = "C-{i}"\nkind = "{kind}"\nstarted = {born}\n'
            f"medium_g = {medium}\n{surface}starter_g = {medium / 12:g}\n"
        )
    for i in range(vessels):
        text += f'[[vessel]]\nname = "V{i}"\nlitres = {1 + i}\ntemperature_c = 27\n'
    return text + "[cysts]\ngrams = 5000\n"


def against_solver() -> None:
    """Our hatch plan against HiGHS on problems of two rounds a day."""
    from tests.oracle.hatch_milp import solve_milp  # kept out of the memory that is measured

    print(f"{'days':>5}{'vessels':>9}{'ours s':>9}{'HiGHS s':>9}{'ratio':>8}{'cost':>9}")
    for days in (28, 60, 120):
        for vessels in (1, 2, 3):
            problem = random_lots(100 * days + vessels, rounds=2 * days, vessels=vessels)
            begun = perf_counter()
            ours = solve(problem)
            ours_s = perf_counter() - begun
            begun = perf_counter()
            best = solve_milp(problem, gap=1e-4, seconds=SOLVER_LIMIT_S)
            solver_s = perf_counter() - begun
            mark = " not proven" if solver_s >= SOLVER_LIMIT_S else ""
            print(
                f"{days:>5}{vessels:>9}{ours_s:>9.3f}{solver_s:>9.2f}"
                f"{solver_s / ours_s:>8.1f}{ours.cost / best.cost:>9.4f}{mark}"
            )


def _plan_s(room: Room, *, remedies: bool, repeats: int = 3) -> float:
    now = datetime(2027, 3, 1, 6, 0, tzinfo=room.timezone)
    times = []
    for _ in range(repeats):
        begun = perf_counter()
        make_plan(room, now=now, remedies=remedies)
        times.append(perf_counter() - begun)
    return min(times)


def growth(*, remedies: bool) -> None:
    """Time as tanks, and days, double."""
    print("with remedies tried" if remedies else "without remedies")
    for what, rooms in (
        ("tanks", [(n, big_room(tanks=n, cultures=8, days=28)) for n in (10, 20, 40, 80)]),
        (
            "tanks, and a culture for each five and a bottle for each twenty",
            [
                (n, big_room(tanks=n, cultures=n // 5, days=28, vessels=max(1, n // 20)))
                for n in (20, 40, 80, 160)
            ],
        ),
        ("days", [(n, big_room(tanks=12, cultures=8, days=n)) for n in (28, 56, 112, 224)]),
    ):
        before = None
        for number, room in rooms:
            taken = _plan_s(room, remedies=remedies)
            ratio = "" if before is None else f", {taken / before:.2f} times the half"
            print(f"{number:>5} {what}: {taken:.3f} s{ratio}")
            before = taken


def largest(*, remedies: bool) -> None:
    """100 tanks, 60 cultures, 365 days, in a process of its own, against a bare import."""
    bare = _process_s("import cultures.planning.plan")
    program = (
        "from tests.benchmarks.bench_planning import big_room, peak_mb\n"
        "from datetime import datetime\n"
        "import cli  # whose command collects garbage seldom\n"
        "from cultures.planning.plan import make_plan\n"
        "room = big_room(tanks=100, cultures=60, days=365)\n"
        "plan = make_plan(room, now=datetime(2027, 3, 1, 6, tzinfo=room.timezone),"
        f" remedies={remedies})\n"
        "print(len(plan.tasks), peak_mb())\n"
    )
    begun = perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True
    )
    taken = perf_counter() - begun
    tasks, peak = done.stdout.split()
    tried = ", remedies tried" if remedies else ""
    print(
        f"100 tanks, 60 cultures, 365 days{tried}: {taken:.1f} s, {taken / bare:.0f} times a bare"
        f" import ({bare:.3f} s), {tasks} tasks, peak memory {peak} MB"
    )


def _process_s(program: str) -> float:
    times = []
    for _ in range(3):
        begun = perf_counter()
        subprocess.run([sys.executable, "-c", program], check=True)
        times.append(perf_counter() - begun)
    return min(times)


def peak_mb() -> int:
    """Most memory that this process has held [MB]; Linux counts in KiB, macOS in bytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return round(peak / (1e6 if sys.platform == "darwin" else 1e3))


if __name__ == "__main__":
    for tried in (False, True):
        growth(remedies=tried)
        largest(remedies=tried)
    against_solver()
