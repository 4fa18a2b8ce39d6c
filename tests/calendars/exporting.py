"""One export, also in a process of its own, for tests that starve it or run it twice.

Called as ``python -m tests.calendars.exporting FILE DAYS [BYTES]``: no file may grow beyond so
many bytes.
"""

from __future__ import annotations

import resource
import signal
import sys
from pathlib import Path

from calendars.export import Outcome, write_calendar
from calendars.from_plan import entries_of
from calendars.ics import Header
from cultures.errors import LivefoodError
from tests.calendars.plans import NAMESPACE, at, ordinary_plan, wishes


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
    path, days, *most = sys.argv[1:]
    if most:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(most[0]), int(most[0])))
    try:
        outcome = write(Path(path), int(days))
    except LivefoodError as error:
        sys.stderr.write(str(error))
        return error.exit_code
    sys.stdout.write(str(outcome.changes))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
