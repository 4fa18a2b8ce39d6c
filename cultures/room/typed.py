"""What a keeper types for a key of the room file, as the file writes it.

What cannot be read is written as text, so that the reader of the file says what is wrong with it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from datetime import datetime

from cultures.errors import UnitError
from cultures.room.keys import Day, Flag, Moment, Monthly, Number, Quantity, Several, Times
from cultures.room.table import MEANT, Key
from cultures.words.moments import has_clock, is_weekday, parse_moment, spoken_moment
from cultures.words.numbers import read_number
from cultures.words.text import as_utf8, check_line, plain
from cultures.words.units import unit_in_key

_TOML_NUMBER = re.compile(r"[+-]?(?:0|[1-9][0-9]{0,17})(?:\.[0-9]{1,18})?")
_FLAGS = {"true": "true", "yes": "true", "false": "false", "no": "false"}


def key_meant(word: str, keys: Iterable[str]) -> str:
    """The key that a word stands for: itself, without its unit, or as people call it.

    A word that stands for none comes back as it is.

    Examples:
        >>> key_meant("volume", ["name", "litres"]), key_meant("medium", ["medium_g"])
        ('litres', 'medium_g')
    """
    known, lower = list(keys), word.lower().replace("-", "_")
    begun = sorted((key for key in known if key.startswith(f"{lower}_")), key=len)
    by_unit = unit_in_key(lower)
    meant = (word, lower, *begun, by_unit[0] if by_unit else word, MEANT.get(lower, word))
    return next((each for each in meant if each in known), word)


def with_unit(word: str, text: str) -> str:
    """What was typed, with the unit that stands in the word before it.

    Examples:
        >>> with_unit("gallons", "5"), with_unit("litres", "5"), with_unit("gallons", "5 gal")
        ('5 gal', '5', '5 gal')
    """
    by_unit = unit_in_key(word.replace("-", "_"))
    return f"{text.strip()} {by_unit[1]}" if by_unit and _number(text.strip()) else text


def literal(key: Key | None, text: str, now: datetime) -> str:
    """What stands behind ``=`` for what was typed, in TOML.

    Args:
        key: what it may hold, with its unit; None of one that nobody knows. text: of a quantity
            with or without a unit. now: aware; what today and yesterday are told by.

    Raises:
        UnitError: it is no line of text.
    """
    text = as_utf8(text).strip()
    check_line(text)
    match key:
        case Quantity():
            return _number(_bare(text, key.unit)) or quoted(text)
        case Number():
            return _number(text) or quoted(text)
        case Flag():
            return _FLAGS.get(text.lower()) or quoted(text)
        case Day() | Moment():
            return _day(text, now, timed=isinstance(key, Moment)) or quoted(text)
        case Times() | Several() | Monthly():
            words = re.split(
                r"[,\s]+(?![ap]\.?m\b)" if isinstance(key, Times) else r"\s*,\s*", text.strip("[] ")
            )
            parts = [word.strip("'\"") for word in words if word]
            if isinstance(key, Monthly):
                return f"[{', '.join(_number(_bare(part, 'c')) or quoted(part) for part in parts)}]"
            return f"[{', '.join(map(quoted, parts))}]"
        case _:
            return quoted(plain(text))


def quoted(text: str) -> str:
    """Text as TOML holds it, in one line between double quotes.

    References:
        TOML 1.0.0, String: what JSON escapes a basic string of TOML escapes alike, and U+007F.
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _bare(text: str, unit: str) -> str:
    """An amount without its unit, where that is the key's own."""
    return text[: -len(unit)].rstrip() if text.lower().endswith(unit) else text


def _number(text: str) -> str | None:
    """A number as it was typed, where TOML has that form, else in its usual one."""
    if _TOML_NUMBER.fullmatch(text):
        return text
    try:
        return f"{read_number(text, grouped=True):.15g}"
    except UnitError:
        return None


def _day(text: str, now: datetime, *, timed: bool) -> str | None:
    """A day, or a moment where a time of day was typed or is ``timed``."""
    # A weekday alone may be meant of the past or of what is to come.
    found = None if is_weekday(text) else spoken_moment(text, now)
    timed = timed or has_clock(text)
    try:
        moment = (
            found.replace(tzinfo=None, second=0, microsecond=0) if found else parse_moment(text)
        )
    except UnitError:
        return None
    return moment.isoformat(timespec="seconds") if timed else str(moment.date())
