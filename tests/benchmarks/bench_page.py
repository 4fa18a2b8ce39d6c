"""What the page costs beside a plan of the same room: when something changed, and when nothing did.

Run as ``python -m tests.benchmarks.bench_page``. Times are of the processor, the least of several
runs, since this machine has other things to do.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from cultures.planning.plan import make_plan
from cultures.room.file import load_room
from tests.page.room import demo_page

_RUNS = 7
_BEGIN = datetime.fromisoformat("2027-01-05T07:20")
_PAGES = ("now", "todo", "ahead", "cultures", "fry", "notes", "version")


def least_s(work: Callable[[int], object]) -> float:
    """The least processor time of several runs, each with its number [s]."""
    best = float("inf")
    for number in range(_RUNS + 1):
        begun = time.process_time()
        work(number)
        if number:  # the first imports what it needs
            best = min(best, time.process_time() - begun)
    return best


def measure(folder: Path, patch: pytest.MonkeyPatch) -> list[str]:
    """Lines to print."""
    page = demo_page(folder, patch, f"{_BEGIN:%Y-%m-%dT%H:%M}", whole=True)
    room = load_room(page.room, today=_BEGIN.date())
    now = _BEGIN.replace(tzinfo=room.timezone)
    plan = least_s(lambda n: make_plan(room, now=now + timedelta(minutes=n)))
    lines = [f"{'make_plan':22} {1000 * plan:7.1f} ms"]
    for name in _PAGES:

        def anew(number: int, name: str = name) -> None:
            page.at(f"{_BEGIN + timedelta(minutes=number):%Y-%m-%dT%H:%M}")
            page.get(name)

        fresh = least_s(anew)
        kept = least_s(lambda _, name=name: page.get(name))  # type: ignore[misc]
        lines.append(f"{name:22} {1000 * fresh:7.1f} ms, {fresh / plan:4.2f} of a plan;"
                     f" unchanged {1000 * kept:5.1f} ms, {kept / plan:5.3f}")  # fmt: skip
    posted = least_s(
        lambda n: page.post(kind="event", event="note", subject="room", words=f"word {n}")
    )  # fmt: skip
    lines.append(f"{'an answer':22} {1000 * posted:7.1f} ms, {posted / plan:4.2f} of a plan")
    size = sum(len(page.get(name)) for name in ("now", "page.css", "page.js"))
    lines.append(f"the first page with style and script: {size / 1000:.1f} kB")
    return lines


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        sys.stdout.write("\n".join(measure(Path(folder), patch)) + "\n")
