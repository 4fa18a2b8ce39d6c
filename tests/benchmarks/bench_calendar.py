"""10,000 events: our whole export against icalendar's own ``to_ical`` of the same components.

Run as ``python -m tests.benchmarks.bench_calendar``. Ours counts everything from entries to
checked bytes: comparing with what was published, building the components, writing, the gate.
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

import icalendar

from calendars import lint
from calendars.entries import Entry
from calendars.export import write_calendar
from calendars.ics import Header, calendar_bytes
from calendars.ledger import Ledger, revise
from tests.calendars.plans import LISBON, NAMESPACE

EVENTS = 10_000
MOST = 1.3
_NOW = datetime(2027, 1, 1, tzinfo=UTC)
_TEXT = (
    "Before the round:\n1. 07:10 soak the dry food: dry 0.4 g\nTanks:\n"
    "A1 (gourami 12): microworm 3 mL; brine shrimp 1.5 mL\n"
    "A2 (rainbow 3): microworm 12 mL; brine shrimp 6 mL\n214 fry need 504 J; at 26 °C."
)


def entries(count: int = EVENTS) -> list[Entry]:
    """One event an hour with a text of six lines and an alarm."""
    return [
        Entry(
            f"feed/{n}", "rounds", _NOW + timedelta(hours=n + 1), _NOW + timedelta(hours=n + 1.25),
            "Feed the fry: 2 tanks", _TEXT, 10,
        )
        for n in range(count)
    ]  # fmt: skip


def seconds(work: Callable[[], object], rounds: int = 5) -> float:
    """Median wall time of one call [s]."""
    times = []
    for _ in range(rounds):
        gc.collect()
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return median(times)


def ours(some: list[Entry], header: Header) -> bytes:
    """Entries to checked bytes."""
    ledger, _ = revise(Ledger(), some, now=_NOW, namespace=NAMESPACE)
    data = calendar_bytes(ledger.published(), ledger, header)
    lint.check(data)
    return data


def ratio(count: int = EVENTS, rounds: int = 5) -> tuple[float, float, float]:
    """Ours [s], icalendar's to_ical [s], and ours over icalendar's."""
    some, header = entries(count), Header("Shed", LISBON)
    data = ours(some, header)
    tree = icalendar.Calendar.from_ical(data)
    assert len(tree.to_ical()) == len(data)
    mine = seconds(lambda: ours(some, header), rounds)
    theirs = seconds(tree.to_ical, rounds)
    return mine, theirs, mine / theirs


def main() -> None:
    """Print the table of docs/calendar.md."""
    mine, theirs, share = ratio()
    print(f"events {EVENTS}: ours {mine:.2f} s, to_ical {theirs:.2f} s, ratio {share:.2f}")
    some = entries()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "jobs.ics"

        def export() -> None:
            write_calendar(path, some, header=Header("Shed"), now=_NOW, identity=lambda: NAMESPACE)

        start = time.perf_counter()
        export()
        first = time.perf_counter() - start
        again = seconds(export, 3)
        size = path.stat().st_size / 1e6
    print(f"first export to disk {first:.2f} s, unchanged again {again:.2f} s, {size:.1f} MB")
    sys.exit(share > MOST)


if __name__ == "__main__":
    main()
