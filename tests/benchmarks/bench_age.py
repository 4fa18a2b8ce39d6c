"""What ``today`` costs by the age of the room file: true as of today, and a year old.

Run as ``python -m tests.benchmarks.bench_age [DAYS]``. Nothing that is over is planned again, so
the age should not matter: all rooms have the same fry, vessels and cultures, which have as long to
live; only ``as_of`` differs, and one has beside it the journal and the record of each of those
days. Prints the time for reading room, journal and record (`load`), for planning (`make_outlook`),
and their ratios; asserts nothing.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from time import perf_counter
from zoneinfo import ZoneInfo

from attrs import evolve

from cli.options import Setting, Where
from cultures.journal.entries import append, journal_path
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import tasks_of
from cultures.planning.telling import tellings
from cultures.record.carried_out import as_entry
from cultures.record.store import append_telling, as_told, record_path
from cultures.tasks.task import Retire, Split, Start, Work

TODAY = date(2028, 1, 4)
_ZONE = ZoneInfo("Europe/Lisbon")
_NOW = datetime(2028, 1, 4, 6, 30, tzinfo=_ZONE)
#: Not told on every day: the cultures are those of the file.
_ONCE = (Split, Start, Retire)
_CLASSES = ("bubble_nest", "egg_scatterer", "substrate_spawner", "rainbowfish", "livebearer")


def room_text(as_of: date, *, tanks: int = 8) -> str:
    """A room file true as of a day; all else in it is as it is today."""
    text = (
        f'[room]\nname = "Age"\ntimezone = "Europe/Lisbon"\nas_of = {as_of}\nfridge_c = 5\n'
        "temperature_c = 24\nhorizon_days = 28\n"
    )
    for i in range(tanks):
        text += (
            f'[[tank]]\nname = "T{i}"\nlitres = 40\ntemperature_c = 26\n'
            f'[[brood]]\nname = "b{i}"\ntank = "T{i}"\nclass = "{_CLASSES[i % len(_CLASSES)]}"\n'
            f"count = {60 + 15 * i}\nspawned = {TODAY - timedelta(days=6 * i)}\n"
        )
    for i in range(3):
        for prefix, kind, medium, age in (
            ("MW", "microworm", 150, 5 + 4 * i), ("VE", "vinegar_eel", 1500, 40 + 20 * i),
        ):  # fmt: skip
            surface = "surface_cm2 = 180\n" if kind == "microworm" else ""
            text += (
                f'[[culture]]\nname = "{prefix}-{i + 1}"\nkind = "{kind}"\n'
                f"started = {TODAY - timedelta(days=age)}\n"
                f"medium_g = {medium}\n{surface}starter_g = {medium / 12:g}\n"
            )
    for i in range(2):
        text += f'[[vessel]]\nname = "bottle {i + 1}"\nlitres = 1\ntemperature_c = 27\n'
    return text + "[cysts]\ngrams = 500\n"


def best_s(work: Callable[[], object], runs: int = 5) -> float:
    """Best wall time of some calls [s]."""
    times = []
    for _ in range(runs):
        begun = perf_counter()
        work()
        times.append(perf_counter() - begun)
    return min(times)


def live(folder: Path, days: int) -> None:
    """Tells and notes, beside the room file, what is told today on every day up to today."""
    path = folder / "room.toml"
    outlook = make_outlook(Where(path, _NOW).load().room, now=_NOW)
    tasks = [
        t for t in tasks_of(outlook) if t.at < _NOW + timedelta(days=1) and not isinstance(t, _ONCE)
    ]
    today = tellings(outlook, tasks, _NOW)
    for number in range(days, 0, -1):
        back = timedelta(days=number)
        told = [
            as_told(
                evolve(t.task, id=f"{t.task.id}/{number}", at=t.task.at - back,
                       until=t.task.until - back),
                [] if t.round_at is None else [t.round_at - back],
                _NOW - back, lines=t.lines, draws=t.draws, kind=t.kind,
            )
            for t in today
        ]  # fmt: skip
        append_telling(record_path(path), _NOW - back, "today", told)
        done = (as_entry(t) for t in told if isinstance(t.task, Work))
        append(journal_path(path), sorted(done, key=lambda e: e.when))


def measured(name: str, folder: Path, than: tuple[float, float] | None) -> tuple[float, float]:
    """Prints one line of times, with their ratios to other ones."""
    path = folder / "room.toml"
    setting: Setting = Where(path, _NOW).load()
    outlook = make_outlook(setting.room, now=_NOW)
    read, plan = (
        best_s(lambda: Where(path, _NOW).load()),
        best_s(lambda: make_outlook(setting.room, now=_NOW)),
    )
    ratio = "" if than is None else (
        f"; {(read + plan) / sum(than):.2f} times as of today"
        f" (load {read / than[0]:.2f}, make_outlook {plan / than[1]:.2f})"
    )  # fmt: skip
    print(f"{name:34} load {read:.4f} s, make_outlook {plan:.4f} s,"
          f" {len(tasks_of(outlook))} tasks{ratio}")  # fmt: skip
    return read, plan


def main(days: int) -> None:
    """Prints the figures."""
    with tempfile.TemporaryDirectory() as name:
        fresh, old, lived = (Path(name) / each for each in ("fresh", "old", "lived"))
        before = TODAY - timedelta(days=days)
        for folder, as_of in ((fresh, TODAY), (old, before), (lived, before)):
            folder.mkdir()
            (folder / "room.toml").write_text(room_text(as_of), encoding="utf-8")
        than = measured("true as of today", fresh, None)
        measured(f"{days} days old, nothing noted", old, than)
        live(lived, days)
        size = sum(p.stat().st_size for p in lived.iterdir()) / 1e6
        measured(f"{days} days old, all told and noted", lived, than)
        print(f"files beside the room: {size:.1f} MB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 365)
