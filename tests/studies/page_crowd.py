"""Eight phones and a terminal at the demo room for a week of rounds, all at once.

Run::

    python -m tests.studies.page_crowd --requests 1000

It prints each fault, and how many requests were answered in which way and time.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
from collections import Counter
from pathlib import Path

from tests.cli.invented import room_file
from tests.page.crowd import live

_ROUNDS = [f"2027-01-{day:02}T{clock}" for day in range(5, 12) for clock in ("07:25", "18:25")]


def main() -> None:
    """Prints the study."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--requests", type=int, default=1000)
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument("--notes", type=int, default=5, help="of the terminal in each round")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        crowd = live(room_file(Path(folder)), _ROUNDS, requests=options.requests,
                     clients=options.clients, notes=options.notes)  # fmt: skip
        faults, lines, posts = crowd.faults(), crowd.lines(), crowd.posts()
    for fault in faults:
        print(fault)
    by = Counter(s.status for s in posts)
    took = sorted(s.took_s for s in crowd.sent)
    used = resource.getrusage(resource.RUSAGE_SELF)
    print(
        f"{len(crowd.sent)} requests of {options.clients} clients in {len(_ROUNDS)} rounds:"
        f" {len(crowd.sent) - len(posts)} pages, {by[200]} answers noted, {by[409]} asked back;"
        f" {len(crowd.typed)} notes typed; {len(lines)} lines in the journal; {len(faults)} faults;"
        f" half within {took[len(took) // 2]:.2f} s, the longest {took[-1]:.2f} s;"
        f" {used.ru_utime:.0f} s of processor time"
    )


if __name__ == "__main__":
    main()
