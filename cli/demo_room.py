"""The demo room, written so that its story stands around any given day."""

from __future__ import annotations

import re
from datetime import date, timedelta
from importlib.resources import files

_PLACEHOLDER = re.compile(r"\{day-(\d+)\}")


def demo_text(today: date) -> str:
    """The demo room file as of a day."""
    text = files("cultures").joinpath("data", "demo_room.toml").read_text("utf-8")
    return _PLACEHOLDER.sub(lambda m: (today - timedelta(days=int(m[1]))).isoformat(), text)
