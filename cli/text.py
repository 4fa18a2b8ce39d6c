"""How quantities, times and tables are written on a screen of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction

from cultures.units import POUND_G, US_GALLON_L, fahrenheit

WIDTH = 80


def when(moment: datetime) -> str:
    """A time with its weekday: ``Tue 5 Jan 07:30``."""
    return f"{moment:%a} {moment.day} {moment:%b} {moment:%H:%M}"


def day_text(moment: datetime) -> str:
    """A day with its weekday: ``Tue 5 Jan``."""
    return f"{moment:%a} {moment.day} {moment:%b}"


def food_name(food: str) -> str:
    """A food as people say it."""
    return "nauplii" if food == "brine_shrimp" else food.replace("_", " ")


def number(value: float, digits: int = 3) -> str:
    """A number to so many significant digits, thousands marked, no needless zeros."""
    if value == 0:
        return "0"
    if abs(value) >= 10 ** (digits - 1):
        factor = 10 ** max(0, len(str(int(abs(value)))) - digits)
        return f"{round(value / factor) * factor:,d}"
    return f"{value:.{digits}g}"


def grams(value: float, units: str = "metric") -> str:
    """A mass."""
    if units == "us" and value >= 14:
        return f"{number(value / (POUND_G / 16))} oz"
    return f"{number(value)} g"


def litres(value: float, units: str = "metric") -> str:
    """A volume of water."""
    if units == "us":
        gallons = value / US_GALLON_L
        return f"{number(gallons)} gal" if gallons >= 1 else f"{number(gallons * 4)} qt"
    return f"{number(value)} L"


def celsius(value: float, units: str = "metric") -> str:
    """A temperature."""
    return f"{number(fahrenheit(value))} °F" if units == "us" else f"{number(value)} °C"


def spoons(teaspoons: float) -> str:
    """Level teaspoons, to the spoon that a drawer holds: ``1 1/8 tsp``."""
    if teaspoons < 1 / 64:
        return "a trace"
    step = 32 if teaspoons < 1 / 8 else 8
    parts = Fraction(max(1, round(teaspoons * step)), step)
    whole, rest = divmod(parts, 1)
    text = f"{whole} {rest}" if whole and rest else str(rest or whole)
    return f"{text} tsp"


def wrapped(text: str, indent: int = 0, first: str = "") -> str:
    """Text folded to the screen, with a hanging indent after ``first``."""
    pad = " " * indent
    return textwrap.fill(
        text, WIDTH, initial_indent=first.ljust(indent), subsequent_indent=pad,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip


def columns(rows: Sequence[Sequence[str]], *, right: Sequence[int] = (), indent: int = 2) -> str:
    """Rows in columns two spaces apart; those in ``right`` are aligned right.

    A first column too wide for the screen is cut with an ellipsis, never a number.
    """
    if not rows:
        return ""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    over = indent + sum(widths) + 2 * (len(widths) - 1) - WIDTH
    if over > 0:
        widest = max((i for i in range(len(widths)) if i not in right), key=lambda i: widths[i])
        widths[widest] = max(8, widths[widest] - over)
    lines = []
    for row in rows:
        cells = []
        for i, cell in enumerate(row):
            shown = cell if len(cell) <= widths[i] else cell[: widths[i] - 1] + "…"
            cells.append(shown.rjust(widths[i]) if i in right else shown.ljust(widths[i]))
        lines.append((" " * indent + "  ".join(cells)).rstrip())
    return "\n".join(lines)
