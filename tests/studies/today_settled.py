"""How often a look that tells changes the plan of the next two days.

Run as ``python -m tests.studies.today_settled [ROOMS] [SEED]`` (100, 19). Each room is planned at
four times of day, looked at with ``today``, and planned again two minutes later.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from tests.cli.invented import at as command_at
from tests.studies.drawn_rooms import at_four_times

_AHEAD = timedelta(days=2)
_LATER = timedelta(minutes=2)
#: Less than a fiftieth more or less of an amount is no change.
_MEASURED = 0.02


def main(rooms: int, number: int) -> None:
    """Prints each task of the next two days that a look changed, and how often any did."""
    seen, moved = [0], [0]

    def look(room: Path, now: datetime) -> None:
        later, until = (now + _LATER).isoformat(), now + _AHEAD
        first, again = tasks(room, now.isoformat(), until), tasks(room, later, until)
        command_at(room, now.isoformat(), "today")
        lines = [*differences(first, tasks(room, later, until))]
        seen[0] += 1
        moved[0] += bool(lines)
        if lines:
            waiting = "" if first == again else " (two minutes alone change it too)"
            print(f"room {seen[0]} {now:%H:%M}{waiting}", *lines, sep="\n  ", flush=True)

    at_four_times(rooms, number, look)
    print(f"{moved[0]} of {seen[0]} plans changed since they were told")


def tasks(room: Path, clock: str, until: datetime) -> dict[str, dict[str, Any]]:
    """The tasks of a plan up to a time, by id."""
    plan = json.loads(command_at(room, clock, "plan", "--json").stdout)
    return {
        t["id"]: t for t in plan["tasks"]
        if datetime.fromisoformat(t["at"]).replace(tzinfo=None) < until
    }  # fmt: skip


def differences(
    before: dict[str, dict[str, Any]], after: dict[str, dict[str, Any]]
) -> Iterator[str]:
    """Each task that is not the same any more, with what of it changed."""
    for key in sorted(before.keys() | after.keys()):
        old, new = before.get(key), after.get(key)
        if old is None or new is None:
            yield f"{'-' if new is None else '+'} {key} {amounts(old or new or {})}"
        elif old["at"] != new["at"] or not same(amounts(old), amounts(new)):
            yield f"  {key} {old['at']} {amounts(old)} -> {new['at']} {amounts(new)}"


def amounts(task: dict[str, Any]) -> dict[str, float]:
    """What a keeper measures for a task."""
    return {name: float(amount) for name, amount in task.get("amounts", {}).items()}


def same(old: dict[str, float], new: dict[str, float]) -> bool:
    """Whether nobody could measure what is between the two."""
    return old.keys() == new.keys() and all(
        math.isclose(old[name], new[name], rel_tol=_MEASURED, abs_tol=1e-6) for name in old
    )


if __name__ == "__main__":
    given_numbers = [int(x) for x in sys.argv[1:]]
    main(*given_numbers, *(100, 19)[len(given_numbers) :])
