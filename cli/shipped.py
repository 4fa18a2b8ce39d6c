"""The room files that are shipped, written so that their story stands around any given day."""

from __future__ import annotations

import re
from datetime import date, timedelta

from cultures.foods.parameters import data_text

#: So many days before, or a word that is given.
_PLACEHOLDER = re.compile(r"\{(?:day-(\d+)|(\w+))\}")
#: What `new` writes.
NEW_ROOM = "new_room.toml"


def room_text(file: str, today: date, **words: str) -> str:
    """A shipped room file as of a day, with words put in their places."""
    return _PLACEHOLDER.sub(
        lambda m: words[m[2]] if m[2] else (today - timedelta(days=int(m[1]))).isoformat(),
        data_text(file),
    )


def is_unfilled(text: str) -> bool:
    """Whether a room file is the one that `new` writes, but for its name, zone and days."""
    fixed = _PLACEHOLDER.sub("\0", data_text(NEW_ROOM)).split("\0")
    return re.fullmatch(".*".join(map(re.escape, fixed)), text) is not None
