"""The room files that are shipped, written so that their story stands around any given day."""

from __future__ import annotations

import re
from datetime import date, timedelta

from cultures.foods.parameters import data_text

#: So many days before, or a word that is given.
_PLACEHOLDER = re.compile(r"\{(?:day-(\d+)|(\w+))\}")


def room_text(file: str, today: date, **words: str) -> str:
    """A shipped room file as of a day, with words put in their places."""
    return _PLACEHOLDER.sub(
        lambda m: words[m[2]] if m[2] else (today - timedelta(days=int(m[1]))).isoformat(),
        data_text(file),
    )


#: The rounds of the demo room.
DEMO_ROUNDS = ("07:30", "18:30")


def demo_text(today: date, at: str = DEMO_ROUNDS[0]) -> str:
    """The demo room file for a round of a day, for which the hatch that stands is ripe."""
    return room_text("demo_room.toml", today, round=at)
