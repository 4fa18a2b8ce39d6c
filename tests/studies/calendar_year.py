"""A year of daily plans through a calendar server, which must hold exactly what is live.

Run it: ``python -m tests.studies.calendar_year [SEED] [DAYS]``. The server is Radicale, started
on loopback in a folder of its own; the suite has some weeks of the same. It prints what was done.
"""

from __future__ import annotations

import sys
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.calendars.caldav_server import Desk, publish_daily, serving
from tests.calendars.plans import year_of_plans


def main() -> None:
    """Publishes the year and prints what became of it."""
    seed, days = (int(word) for word in [*sys.argv[1:], *("3", "365")[len(sys.argv) - 1 :]])
    with TemporaryDirectory() as folder, contextmanager(serving)(Path(folder)) as server:
        desk = Desk(server, Path(folder) / "room.toml", server.make("year"), "year")
        total = publish_daily(desk, year_of_plans(seed, days), look_every=30)
    if days >= 365:
        assert total.updated > 50
        assert total.deleted > 600
    print(f"{days} days: {total.created} created, {total.updated} updated, {total.deleted} deleted")


if __name__ == "__main__":
    main()
