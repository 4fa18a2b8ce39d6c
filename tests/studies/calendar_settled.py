"""How often a second and third export of one moment change anything, at four times of a day.

Run as ``python -m tests.studies.calendar_settled [ROOMS] [SEED]`` (300, 19).
"""

from __future__ import annotations

import sys
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.calendars.test_calendar_settled import CLOCKS, export
from tests.strategies import RoomCase, room_cases


def main(rooms: int, number: int) -> None:
    """Exports three times at each of four times of day, and prints what the later two changed."""
    seen, moved = [0], [0]

    @seed(number)
    @settings(
        max_examples=rooms, deadline=None, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=room_cases(longest_days=7, most_broods=3))
    def look(case: RoomCase) -> None:
        with TemporaryDirectory() as folder:
            room = Path(folder) / "room.toml"
            room.write_text(case.text, "utf-8")
            for clock in CLOCKS:
                moment = f"{case.today + timedelta(days=1)}T{clock}"
                export(room, moment)
                later = [export(room, moment) for _ in range(2)]
                changes = [x["added"] + x["changed"] + x["withdrawn"] for x in later]
                seen[0] += 1
                moved[0] += any(changes)
                if any(changes):
                    print(f"{clock}: {changes}", flush=True)

    look()
    print(f"{moved[0]} of {seen[0]} states changed when exported again")


if __name__ == "__main__":
    given_numbers = [int(x) for x in sys.argv[1:]]
    main(*given_numbers, *(300, 19)[len(given_numbers) :])
