"""What must not stand on the screens of a room with US units."""

from __future__ import annotations

import re

#: Syringes have marks in mL, and less than an ounce (28.3 g) is weighed in grams or milligrams.
METRIC = re.compile(
    r"(?<![\d.])(?:29|[3-9]\d|[\d,]*\d\d\d)(?:\.\d+)? g(?![\w/²])"
    r"|\d ?(?:°C|L|mm|cm|cm²|cm2|kg|g/L|mg/cm2|mm/L|C)(?![\w/²])"
    r"|\bmm\b(?!\^)"
)
_WEIGHT = re.compile(r"(?<![\d.,/])([\d.,]*\d) (?:oz|lb)\b")
#: A day before its month, and the clock of 24 hours.
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DATED = re.compile(
    rf"{''.join(f'(?<!{month} )' for month in _MONTHS)}\b\d{{1,2}} (?:{'|'.join(_MONTHS)})\b"
    r"|(?<![\w:.-])\d\d:\d\d(?![:-]?\d|\w| [ap]m\b)"
)


def too_fine(text: str) -> list[str]:
    """Weights in ounces or pounds that no scale shows: of less than one, or of three digits."""
    return [
        found[0] for found in _WEIGHT.finditer(text)
        if (value := float(found[1].replace(",", ""))) < 1
        or abs(value - float(f"{value:.2g}")) > 1e-9
    ]  # fmt: skip


def dated_otherwise(text: str) -> list[str]:
    """Days and times as other rooms have them."""
    return _DATED.findall(text)
