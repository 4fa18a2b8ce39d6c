"""Rooms drawn at random for a study, each in a folder of its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.calendars.test_calendar_settled import CLOCKS
from tests.strategies import RoomCase, room_cases


def at_four_times(rooms: int, number: int, look: Callable[[Path, datetime], None]) -> None:
    """Has each of so many small rooms looked at at four times of its second day, wall time.

    Args:
        number: the seed.
    """

    @seed(number)
    @settings(
        max_examples=rooms, deadline=None, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=room_cases(longest_days=7, most_broods=3))
    def draw(case: RoomCase) -> None:
        with TemporaryDirectory() as folder:
            room = Path(folder) / "room.toml"
            room.write_text(case.text, "utf-8")
            for clock in CLOCKS:
                look(room, datetime.fromisoformat(f"{case.today + timedelta(days=1)}T{clock}"))

    draw()
