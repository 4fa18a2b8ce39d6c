"""One export in a process of its own, for tests that kill it, starve it or run it twice.

Called as ``python -m tests.calendars.exporting FILE DAYS [FAULT]``. A fault is ``kill:N``, the
process ends itself as by ``kill -9`` at the Nth step that reaches the disk, or ``full:BYTES``,
no file may grow beyond so many bytes.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from calendars.export import Outcome, write_calendar
from calendars.from_plan import entries_of
from calendars.ics import Header
from cultures.errors import LivefoodError
from tests.calendars.plans import NAMESPACE, at, ordinary_plan, wishes

_STEPS = ("open", "fsync", "replace", "unlink")


def _killed_at(step: int) -> None:
    left = [step]

    def counted(original: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            left[0] -= 1
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            return original(*args, **kwargs)

        return call

    for name in _STEPS:
        setattr(os, name, counted(getattr(os, name)))


def write(path: Path, days: int) -> Outcome:
    """Export an ordinary plan of so many days."""
    return write_calendar(
        path,
        entries_of(ordinary_plan(days=days), wishes()),
        header=Header("Shed by the pear tree"),
        now=at("2027-01-05T06:00"),
        identity=lambda: NAMESPACE,
    )


def main() -> int:
    path, days, *rest = sys.argv[1:]
    fault, _, number = (rest or [""])[0].partition(":")
    if fault == "kill":
        _killed_at(int(number))
    elif fault == "full":
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(number), int(number)))
    try:
        outcome = write(Path(path), int(days))
    except LivefoodError as error:
        sys.stderr.write(str(error))
        return error.exit_code
    sys.stdout.write(str(outcome.changes))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
