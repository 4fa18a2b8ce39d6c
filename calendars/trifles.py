"""Whether an entry that was worked out anew says the same to who reads it.

A noted count moves half of all later amounts in their last digit. Each such entry would get another
SEQUENCE, and with it another look, or another alarm, on every phone.
"""

from __future__ import annotations

import re

from attrs import evolve

from calendars.entries import Entry
from cultures.words.text import same_but_figures

#: An amount with its unit, or what a harvest is about. Clocks, dates, spoons and fry are none.
_AMOUNT = re.compile(
    r"(?<![\d.,/:])\d[\d,]*(?:\.\d+)?(?= (?:mL|L|g|fl oz|oz|h|nauplii)\b)"
    r"|(?<=\(about )[\d,]+(?=\))"
)
#: So much more or less stands, as in a round that was told (common practice, no source).
_FELT = 0.1


def says_the_same(old: Entry, new: Entry) -> bool:
    """Whether an entry differs from another in the last digits of amounts in its text at most.

    Title, time, alarms and all words are the same, and each amount is within a tenth. It is
    compared with what stands on the calendar, so that small steps do not add up to a large one.
    """
    if evolve(old, text="") != evolve(new, text=""):
        return False
    return same_but_figures(old.text, new.text, _AMOUNT, _FELT)
