"""Numbers as they are typed and as files hold them, read in one way everywhere."""

from __future__ import annotations

import math
import re

from cultures.errors import UnitError
from cultures.words.text import short

_NUMBER = re.compile(r"\s*[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?\s*")
_COMMA = re.compile(r"(?<![0-9,.])([0-9]+),([0-9]{1,2})(?![0-9,.])")
_GROUPED = re.compile(r"\s*[+-]?[0-9]{1,3}(?:[, ][0-9]{3})+(?:\.[0-9]*)?\s*")
#: No number of a line, of drops or of days has more digits.
_WHOLE = re.compile(r"\s*-?[0-9]{1,9}\s*")


def with_point(text: str) -> str:
    """A number with a decimal comma, as many hands write it, with a point; 1,000 stays as it is.

    Examples:
        >>> with_point("3,5 swipes"), with_point("210,000"), with_point("0,25"), with_point("1,2,3")
        ('3.5 swipes', '210,000', '0.25', '1,2,3')
    """
    return _COMMA.sub(r"\1.\2", text)


def read_number(text: str, *, grouped: bool = False) -> float:
    """A finite number; ``grouped``: also as hands write it, ``210,000`` and ``3,5``.

    Raises:
        UnitError: it is none.
    """
    text = with_point(text) if grouped else text
    if grouped and _GROUPED.fullmatch(text):
        text = text.replace(",", "").replace(" ", "")
    if not _NUMBER.fullmatch(text):
        raise UnitError(f"'{short(text)}' is not a number")
    found = float(text)
    if not math.isfinite(found):
        raise UnitError(f"'{short(text)}' is too large a number")
    return found


def read_share(text: str) -> float:
    """A share above 0 up to 1: ``0.7``, ``70 %`` or ``70%``.

    Raises:
        UnitError: it is none.
    """
    plain, percent, rest = text.partition("%")
    found = read_number(plain) / (100.0 if percent else 1.0)
    if rest.strip() or not 0.0 < found <= 1.0:
        hint = f"; for per cent write '{plain.strip()} %'" if 1 < found <= 100 else ""
        raise UnitError(f"'{short(text)}' is not a share; use 0.01 to 1, or 1 % to 100 %{hint}")
    return found


def whole_number(text: str) -> int | None:
    """A whole number of ASCII digits, or None for any other text."""
    return int(text) if _WHOLE.fullmatch(text) else None


def as_float(value: float) -> float:
    """A number of a TOML or JSON file, whose whole numbers have no end; infinite where too large.

    Examples:
        >>> as_float(-(10**400))
        -inf
    """
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf
