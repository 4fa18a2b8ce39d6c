"""What to look for at a culture of which something bad was noted, and what is then to be done."""

from __future__ import annotations

import re
import shlex

from cultures.room.room import Culture

#: Words by which a keeper notes that a culture may be souring.
_SMELLS = re.compile(r"smell|stink|stench|odou?r|sour|rotten|foul|reek", re.IGNORECASE)
#: And that it is mouldy, which is not looked at any closer.
_MOULD = re.compile(r"\b(mou?ld|fuzz|fung|fluff|fur\b|furry)", re.IGNORECASE)
#: Words by which it is not, or may not be.
_NOT = re.compile(r"\b(no|not|never|without|free|gone)\b|n't\b", re.IGNORECASE)
_PERHAPS = re.compile(r"\?|\b(maybe|may|might|perhaps|possibly|if)\b", re.IGNORECASE)


def says_mould(noted: str) -> bool:
    """Whether a keeper's own words say plainly that a culture is mouldy."""
    return bool(_MOULD.search(noted)) and not (_NOT.search(noted) or _PERHAPS.search(noted))


def signs(culture: Culture, noted: str) -> str:
    """What to look for, or to do, after a note; "" where it says nothing bad.

    Args:
        noted: in the keeper's own words.
    """
    failed = f"livefood journal failed {shlex.quote(culture.name)}"
    if _MOULD.search(noted) and not _NOT.search(noted):
        return (
            f"{culture.name}: leave it closed and take nothing of it, also no starter; bin it"
            f" closed. Then: {failed}"
        )
    if culture.kind.signs and _SMELLS.search(noted):
        return f"{culture.name}: {culture.kind.signs} If so: {failed}"
    return ""
