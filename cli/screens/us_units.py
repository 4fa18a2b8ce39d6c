"""Units of the data (``mg/cm2``, ``J/mg wet``) as US units, value by value.

Micrometres, micrograms and joules stay: nobody measures a worm's width in inches.
"""

from __future__ import annotations

from cultures.words.quantities import OUNCE_G, millimetres
from cultures.words.units import INCH_MM, TEASPOON_ML, US_GALLON_L, fahrenheit

OUNCE_MG = OUNCE_G * 1000
#: A thousandth of an ounce, in which columns of small masses are shown.
MILLI_OUNCE_MG = OUNCE_MG / 1000
_IN2_CM2 = (INCH_MM / 10) ** 2

#: Unit of the data -> (factor, unit shown).
_FACTORS: dict[str, tuple[float, str]] = {
    "mm": (1 / INCH_MM, "in"),
    "mm/L": (US_GALLON_L / INCH_MM, "in/gal"),
    "g": (1 / OUNCE_G, "oz"),
    "mg wet": (1 / OUNCE_MG, "oz wet"),
    "mg/g": (1 / 1000, "oz/oz"),
    "mg/cm2": (_IN2_CM2 / OUNCE_MG, "oz/in2"),
    "J/mg wet": (OUNCE_MG, "J/oz wet"),
    "1/g": (OUNCE_MG / 1000, "1/oz"),
    "g/L": (1.0, "ppt"),
    "g/mL": (1000 * TEASPOON_ML / OUNCE_MG, "oz/tsp"),
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
        return value * INCH_MM**weight_b / OUNCE_MG, "oz/in^b"
    factor, shown = _FACTORS.get(unit, (1.0, unit))
    return value * factor, shown


def length_text(value: float, units: str, style: str = "g") -> str:
    """A length, in metric units written in the given style."""
    return millimetres(value, units) if units == "us" else f"{value:{style}} mm"
