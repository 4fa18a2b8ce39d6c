"""What to look for at a culture of which something bad was noted, and what is then to be done."""

from __future__ import annotations

import re
import shlex

from cultures.room.room import Culture

#: Words by which a keeper notes that a culture may be souring.
_SMELLS = re.compile(r"smell|stink|stench|odou?r|sour|rotten|foul|reek", re.IGNORECASE)
#: And that it is mouldy, which is not looked at any closer.
_MOULD = re.compile(r"\b(mou?ld|fuzz|fung)", re.IGNORECASE)


def signs(culture: Culture, noted: str) -> str:
    """What to look for, or to do, after a note; "" where it says nothing bad.

    Args:
        noted: in the keeper's own words.
    """
    failed = f"livefood journal failed {shlex.quote(culture.name)}"
    if _MOULD.search(noted):
        return (
            f"{culture.name}: leave it closed and take nothing of it, also no starter; bin it"
            f" closed. Then: {failed}"
        )
    if culture.kind.signs and _SMELLS.search(noted):
        return f"{culture.name}: {culture.kind.signs} If so: {failed}"
    return ""
