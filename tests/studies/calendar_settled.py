"""How often a second and third export of one moment change anything, at four times of a day.

Run as ``python -m tests.studies.calendar_settled [ROOMS] [SEED]`` (300, 19).
"""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

from tests.calendars.test_calendar_settled import export
from tests.studies.drawn_rooms import at_four_times


def main(rooms: int, number: int) -> None:
    """Exports three times at each of four times of day, and prints what the later two changed."""
    seen, moved = [0], [0]

    def look(room: Path, now: datetime) -> None:
        export(room, now.isoformat())
        later = [export(room, now.isoformat()) for _ in range(2)]
        changes = [x["added"] + x["changed"] + x["withdrawn"] for x in later]
        seen[0] += 1
        moved[0] += any(changes)
        if any(changes):
            print(f"{now:%H:%M}: {changes}", flush=True)

    at_four_times(rooms, number, look)
    print(f"{moved[0]} of {seen[0]} states changed when exported again")


if __name__ == "__main__":
    given_numbers = [int(x) for x in sys.argv[1:]]
    main(*given_numbers, *(300, 19)[len(given_numbers) :])
