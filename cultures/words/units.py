"""Quantities as keepers write them: a number in the key's own unit, or text with a unit.

``78 F``, ``10 gal``, ``1/4 tsp``, ``3 x 1/4 tsp level`` and ``1 in`` are all read.
Conversion factors are exact by definition (NIST Special Publication 811, 2008,
appendix B: inch, pound, ounce, US gallon and its parts).
"""

from __future__ import annotations

import math
import re
from typing import Literal

from cultures.errors import UnitError
from cultures.words.numbers import as_float, with_point
from cultures.words.text import short

Dimension = Literal["temperature", "volume", "length", "mass", "area", "salinity", "time"]

US_GALLON_L = 3.785411784
TEASPOON_ML = US_GALLON_L * 1000 / 768
#: A draw from a bottle of worms, as the kinds' ``portion_mg`` has it.
DRAW_ML = 10.0
#: A drop, of a syringe or a dropper (common practice, no source).
DROP_ML = 0.05
INCH_MM = 25.4
POUND_G = 453.59237

#: Factors to the base unit of each dimension: °C, mL, mm, g, cm², g/L, days.
_FACTORS: dict[Dimension, dict[str, float]] = {
    "volume": {
        "drop": DROP_ML, "ml": 1.0, "cl": 10.0, "dl": 100.0, "l": 1000.0, "litre": 1000.0,
        "liter": 1000.0,
        "tsp": TEASPOON_ML, "tbsp": 3 * TEASPOON_ML, "floz": 6 * TEASPOON_ML,
        "cup": 48 * TEASPOON_ML, "pt": 96 * TEASPOON_ML, "qt": 192 * TEASPOON_ML,
        "gal": 768 * TEASPOON_ML,
    },
    "length": {"um": 0.001, "µm": 0.001, "mm": 1.0, "cm": 10.0, "m": 1000.0, "in": INCH_MM},
    "mass": {
        "ug": 1e-6, "mg": 0.001, "g": 1.0, "kg": 1000.0, "oz": POUND_G / 16, "lb": POUND_G,
    },
    "area": {"mm2": 0.01, "cm2": 1.0, "m2": 10000.0, "in2": (INCH_MM / 10) ** 2},
    "salinity": {"g/l": 1.0, "ppt": 1.0},
    "time": {"day": 1.0, "week": 7.0},
}  # fmt: skip

_ALIASES = {
    "drops": "drop",
    "litres": "l", "liters": "l", "gallon": "gal", "gallons": "gal", "teaspoon": "tsp",
    "teaspoons": "tsp", "tablespoon": "tbsp", "tablespoons": "tbsp", "cups": "cup",
    "quart": "qt", "quarts": "qt", "pint": "pt", "pints": "pt", "inch": "in", "inches": "in",
    '"': "in", "ounce": "oz", "ounces": "oz", "pound": "lb", "pounds": "lb", "lbs": "lb",
    "grams": "g", "gram": "g", "fl oz": "floz",
    "d": "day", "days": "day", "wk": "week", "weeks": "week",
    "sq in": "in2", "sq cm": "cm2", "cm²": "cm2", "in²": "in2", "mm²": "mm2", "m²": "m2",
}  # fmt: skip

_NUMBER = re.compile(
    r"""^\s*(?:
        (?:(?P<whole>\d+)\s+)?(?P<num>\d+)\s*/\s*(?P<den>\d+)   # 1 1/2, 1/4
      | (?P<plain>[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)
    )\s*(?P<unit>.*?)\s*$""",
    re.VERBOSE | re.ASCII,
)
#: So many of a spoon, as screens say it.
_TIMES = re.compile(r"\s*(?P<count>[\d ./]*\d)\s*x\s+(?P<one>[\d./][^x]*)", re.ASCII)


def parse_quantity(
    value: object, dimension: Dimension, unit: str, *, density_g_per_ml: float | None = None
) -> float:
    """A quantity in ``unit``, from a number in that unit or text with a unit of its own.

    Args:
        value: a number, or text such as ``"1 1/2 tsp"`` or ``"78 F"``.
        dimension: what kind of quantity is meant.
        unit: the unit of the result and of bare numbers (``c``, ``l``, ``ml``, ``mm``...).
        density_g_per_ml: lets a mass be given as a volume (spoons) [g/mL].

    Raises:
        UnitError: unreadable, not finite, or a unit of another dimension.
    """
    if isinstance(value, bool):
        raise UnitError(
            f"{value} is not a quantity; write a number or text like '{_example(dimension)}'"
        )
    if isinstance(value, int | float):
        found = as_float(value)
        if not math.isfinite(found):
            raise UnitError(f"{found:g} is not a number that can be used")
        return found
    if not isinstance(value, str):
        raise UnitError(f"expected a number or text like '{_example(dimension)}'")
    if dimension in ("mass", "volume") and (times := _TIMES.fullmatch(value)) is not None:
        one = parse_quantity(times["one"], dimension, unit, density_g_per_ml=density_g_per_ml)
        all_of_it = one * parse_quantity(times["count"], "volume", "ml")
        return parse_quantity(all_of_it, dimension, unit)
    match = _NUMBER.match(with_point(value))
    if match is None:
        raise UnitError(
            f"'{short(value)}' is not a quantity;"
            f" write a number or text like '{_example(dimension)}'"
        )
    number = _number_of(match, value)
    given = match["unit"].strip().lower().removesuffix(" level").rstrip(".")
    given = _ALIASES.get(given, given)
    if dimension == "temperature":
        return _temperature_c(number, given, value)
    factors = _FACTORS[dimension]
    if not given:
        return number
    if given in factors:
        return number * factors[given] / factors[unit]
    if dimension == "mass" and density_g_per_ml is not None and given in _FACTORS["volume"]:
        return number * _FACTORS["volume"][given] * density_g_per_ml / factors[unit]
    known = sorted(factors)
    if dimension == "mass" and density_g_per_ml is not None:
        known += sorted(_FACTORS["volume"])
    raise UnitError(
        f"'{value}': '{match['unit'].strip()}' is not a unit of {dimension};"
        f" use one of {', '.join(known)}"
    )


def _number_of(match: re.Match[str], text: str) -> float:
    try:
        if match["plain"] is not None:
            number = float(match["plain"])
        else:
            number = float(match["whole"] or 0) + float(match["num"]) / float(match["den"])
    except ZeroDivisionError:
        raise UnitError(f"'{text}' divides by zero") from None
    if not math.isfinite(number):
        raise UnitError(f"'{short(text)}' is too large to be a quantity")
    return number


def _temperature_c(number: float, unit: str, text: str) -> float:
    unit = unit.replace("°", "").replace("deg", "").strip()
    if unit in ("", "c", "celsius"):
        return number
    if unit in ("f", "fahrenheit"):
        return (number - 32) * 5 / 9
    raise UnitError(f"'{text}': temperatures are in C or F, like '25.5' or '78 F'")


def _example(dimension: Dimension) -> str:
    return {
        "temperature": "78 F", "volume": "10 gal", "length": "1 in", "mass": "1/4 oz",
        "area": "28 in2", "salinity": "25 g/l", "time": "8 weeks",
    }[dimension]  # fmt: skip


def unit_in_key(key: str) -> tuple[str, str] | None:
    """The key of the room file and the unit that somebody means who puts the unit into the key.

    Examples:
        >>> unit_in_key("gallons"), unit_in_key("temperature_f"), unit_in_key("litres")
        (('litres', 'gal'), ('temperature_c', 'F'), None)
    """
    word = key.lower()
    for ending, own, unit in (("_f", "_c", "F"), ("_in", "_mm", "in"), ("_in2", "_cm2", "in2"),
                              ("_oz", "_g", "oz")):  # fmt: skip
        if word.endswith(ending):
            return word.removesuffix(ending) + own, unit
    unit = _ALIASES.get(word, word)
    if unit not in ("l", "litre", "liter") and unit in _FACTORS["volume"]:
        return "litres", unit
    return ("grams", unit) if unit in ("oz", "lb", "kg", "mg") else None


def fahrenheit(temperature_c: float) -> float:
    """Degrees Fahrenheit of a temperature in °C.

    Examples:
        >>> fahrenheit(25.0)
        77.0
    """
    return temperature_c * 9 / 5 + 32
