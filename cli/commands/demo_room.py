"""The demo room, written so that its story stands around any given day."""

from __future__ import annotations

import re
from datetime import date, timedelta

from cultures.foods.parameters import data_text

_PLACEHOLDER = re.compile(r"\{day-(\d+)\}")


def demo_text(today: date) -> str:
    """The demo room file as of a day."""
    text = data_text("demo_room.toml")
    return _PLACEHOLDER.sub(lambda m: (today - timedelta(days=int(m[1]))).isoformat(), text)
