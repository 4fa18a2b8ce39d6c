"""What tasks of all sorts share: their order, durations."""

from __future__ import annotations

import re
from datetime import timedelta
from functools import lru_cache

_WORDS = re.compile(r"(\D+|^)(\d*)")

SET = timedelta(minutes=15)
FEED = timedelta(minutes=30)
SPLIT = timedelta(minutes=30)
SHORT = timedelta(minutes=10)


@lru_cache(maxsize=8192)  # plans of one room have nearly the same ids
def natural(text: str) -> tuple[tuple[str, int], ...]:
    """A key that sorts ``MW-9`` before ``MW-10``.

    Examples:
        >>> sorted(["MW-10", "MW-9"], key=natural)
        ['MW-9', 'MW-10']
    """
    return tuple((word, int(number or -1)) for word, number in _WORDS.findall(text))
