"""Writes journal entries until it is killed, and says of each that it was acknowledged.

Run as ``python journal_writer.py JOURNAL NAME COUNT ACKS``: an entry's number goes to the
file ACKS (unbuffered, one write) only after ``append`` has returned.
"""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cultures.journal.entries import Entry, append

_START = datetime(2027, 1, 1, tzinfo=UTC)


def main() -> None:
    """Appends COUNT numbered entries, one by one."""
    path, name, count, acks = sys.argv[1:5]
    first = int(sys.argv[5]) if len(sys.argv) > 5 else 0
    descriptor = os.open(acks, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    for number in range(first, first + int(count)):
        note = "x" * (number * 37 % 200)
        entry = Entry(_START + timedelta(seconds=number), "lost", name, "", number, "fry", note)
        append(Path(path), [entry])
        os.write(descriptor, f"{number}\n".encode())


if __name__ == "__main__":
    main()
