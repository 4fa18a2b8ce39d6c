"""Units of the data (``mg/cm2``, ``J/mg wet``) as US units, value by value.

Micrometres, milligrams, grams and joules stay: nobody measures a worm's width in inches, and
pocket scales show grams.
"""

from __future__ import annotations

from cultures.words.quantities import millimetres
from cultures.words.units import INCH_MM, TEASPOON_ML, US_GALLON_L, fahrenheit

_IN2_CM2 = (INCH_MM / 10) ** 2

#: Unit of the data -> (factor, unit shown).
_FACTORS: dict[str, tuple[float, str]] = {
    "mm": (1 / INCH_MM, "in"),
    "mm/L": (US_GALLON_L / INCH_MM, "in/gal"),
    "mg/cm2": (_IN2_CM2, "mg/in2"),
    "g/L": (1.0, "ppt"),
    "g/mL": (TEASPOON_ML, "g/tsp"),
    "L": (1 / US_GALLON_L, "gal"),
}


def in_us_unit(value: float, unit: str, weight_b: float = 3.0) -> tuple[float, str]:
    """(value, unit) of a parameter in US units; as it is where there is none in use.

    Args:
        weight_b: the power of length that ``mg/mm^b`` stands for.
    """
    if unit == "°C":
        return fahrenheit(value), "°F"
    if unit == "mg/mm^b":
        return value * INCH_MM**weight_b, "mg/in^b"
    factor, shown = _FACTORS.get(unit, (1.0, unit))
    return value * factor, shown


def length_text(value: float, units: str, style: str = "g") -> str:
    """A length, in metric units written in the given style."""
    return millimetres(value, units) if units == "us" else f"{value:{style}} mm"
