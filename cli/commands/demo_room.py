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


def demo_text(today: date) -> str:
    """The demo room file as of a day."""
    return room_text("demo_room.toml", today)
