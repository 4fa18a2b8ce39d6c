"""The demo room file as of any day."""

from __future__ import annotations

from datetime import date

from cli.shipped import room_text

#: The rounds of the demo room.
DEMO_ROUNDS = ("07:30", "18:30")


def demo_text(today: date, at: str = DEMO_ROUNDS[0]) -> str:
    """The demo room file for a round of a day, for which the hatch that stands is ripe."""
    return room_text("demo_room.toml", today, round=at)
