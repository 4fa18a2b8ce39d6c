"""How quantities and foods are written, alike on a screen, a sheet and a calendar."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from cultures.words.moments import moments_in
from cultures.words.units import INCH_MM, POUND_G, TEASPOON_ML, US_GALLON_L, fahrenheit

OUNCE_G = POUND_G / 16
_FLUID_OUNCE_ML = 6 * TEASPOON_ML
#: "27 °C", "-5 to 45 °C", "4.9 mm", "1,500 mL" inside a sentence; not the 1 of "29 ± 1 °C".
_QUANTITY = re.compile(
    r"(?<![\w.,-])(?<!± )(?:(-?\d[\d,]*(?:\.\d+)?)( to |-))?(-?\d[\d,]*(?:\.\d+)?)"
    r" (°C|mm|cm|mL|L|g|mg|cm²)(?![\w/²])"
)


def food_name(food: str) -> str:
    """A food as people say it; ``any`` that fits the mouth is food."""
    return {"brine_shrimp": "nauplii", "any": "food"}.get(food) or food.replace("_", " ")


def food_words(food: str) -> str:
    """The same within a sentence, where "dry" alone would not do."""
    return "dry food" if food == "dry" else food_name(food)


def number(value: float, digits: int = 3) -> str:
    """A number to so many significant digits, thousands marked, no needless zeros.

    Examples:
        >>> number(1234.5), number(0.04999), number(2.0)
        ('1,230', '0.05', '2')
        >>> number(80000, 6)
        '80,000'
    """
    if value == 0:
        return "0"
    if abs(value) >= 10 ** (digits - 1):
        factor = 10 ** max(0, len(str(int(abs(value)))) - digits)
        return f"{round(value / factor) * factor:,d}"
    text = f"{value:,.{digits}g}"
    if "e" in text:
        text = f"{value:.10f}".rstrip("0")
        text = text if len(text) < 10 else f"{value:.5f}"
    return text


def percent(share: float) -> str:
    """A share in whole hundredths; of less than one, that it is.

    Examples:
        >>> percent(0.034), percent(0.004)
        ('3%', 'less than 1%')
    """
    return f"{share:.0%}" if share >= 0.01 else "less than 1%"


def percents(ends: tuple[float, float]) -> str:
    """A range of shares, as one where they are said alike.

    Examples:
        >>> percents((0.57, 0.9)), percents((0.921, 0.924))
        ('57% to 90%', '92%')
    """
    low, high = (f"{end:.0%}" for end in ends)
    return low if low == high else f"{low} to {high}"


def plain(value: float, digits: int = 3) -> str:
    """A number to so many significant digits, however small, without thousands or powers."""
    if value == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def many(count: int, what: str) -> str:
    """So many of something: ``1 tank``, ``3 tanks``."""
    return f"{count:,d} {what}{'' if count == 1 else 's'}"


def fraction(value: float, step: int) -> str:
    """A mixed number in steps of ``1/step``, as spoons are read: ``2 1/8``; at least one step.

    Examples:
        >>> fraction(2.125, 8), fraction(0.5, 4), fraction(0.01, 8)
        ('2 1/8', '1/2', '1/8')
    """
    whole, parts = divmod(max(1, round(value * step)), step)
    common = math.gcd(parts, step)
    rest = f"{parts // common}/{step // common}" if parts else ""
    return " ".join(text for text in (str(whole) if whole else "", rest) if text)


def grams(value: float, units: str = "metric", digits: int | None = None) -> str:
    """A mass; with US units in ounces or pounds from an ounce on, below it in grams.

    Args:
        digits: significant ones; None for three, and two with US units.

    Examples:
        >>> grams(11.8), grams(11.83, "us"), grams(150.0, "us"), grams(1000.0, "us")
        ('11.8 g', '12 g', '5.3 oz', '2.2 lb')
    """
    digits = digits or (2 if units == "us" else 3)
    if units != "us" or value < OUNCE_G * (1 - 1e-6):
        return f"{number(value, digits)} g"
    if value < POUND_G * (1 - 1e-6):
        return f"{number(value / OUNCE_G, digits)} oz"
    return f"{number(value / POUND_G, digits)} lb"


def litres(value: float, units: str = "metric") -> str:
    """A volume of water."""
    if units == "us":
        gallons = value / US_GALLON_L
        return f"{number(gallons)} gal" if gallons >= 1 else f"{number(gallons * 4, 2)} qt"
    return f"{number(value)} L"


def celsius(value: float, units: str = "metric") -> str:
    """A temperature."""
    return f"{number(fahrenheit(value))} °F" if units == "us" else f"{number(value)} °C"


def millimetres(value: float, units: str = "metric") -> str:
    """A length of a fish."""
    return f"{value / INCH_MM:.2f} in" if units == "us" else f"{number(value, 2)} mm"


def square_centimetres(value: float, units: str = "metric") -> str:
    """An area."""
    return f"{number(value / (INCH_MM / 10) ** 2)} in²" if units == "us" else f"{number(value)} cm²"


def centimetres(value: float, units: str = "metric") -> str:
    """A depth; in eighths of an inch, as a ruler has them, where they come within a tenth."""
    if units != "us":
        return f"{number(value)} cm"
    inches = value * 10 / INCH_MM
    near = abs(round(inches * 8) / 8 - inches) <= 0.1 * inches
    return f"{fraction(inches, 8) if near else number(inches, 2)} in"


def milligrams(value: float, units: str = "metric") -> str:
    """A mass of worms or of one fry; with US units in milligrams too, up to an ounce."""
    if units == "us" and value >= OUNCE_G * 1000:
        return grams(value / 1000, units)
    return f"{number(value)} mg"


def millilitres(value: float, units: str = "metric") -> str:
    """A jar or a bottle: mL, or fluid ounces to the half; less than four are mL in any room."""
    if units == "us" and value > 3.99 * _FLUID_OUNCE_ML:
        return f"{fraction(value / _FLUID_OUNCE_ML, 2)} fl oz"
    return f"{number(value)} mL"


def in_units(text: str, units: str) -> str:
    """A sentence with metric quantities, days and times, as the keeper's room is told them.

    Examples:
        >>> in_units("From Tue 5 Jan 07:00 on keep it at 25 to 30 °C.", "us")
        'From Tue Jan 5, 7 am on keep it at 77 to 86 °F.'
        >>> in_units("The room is reckoned at 23.3 °C, no longer at 22.8 °C.", "us")
        'The room is reckoned at 74 °F, no longer at 73 °F.'
    """
    if units != "us":
        return text
    return moments_in(_QUANTITY.sub(_in_us_units, text), units)


def _in_us_units(found: re.Match[str]) -> str:
    write = _WRITERS[found[4]]
    low, high = (write(float(x.replace(",", "")), "us") if x else "" for x in found.group(1, 3))
    same = low.rpartition(" ")[2] == high.rpartition(" ")[2]
    return f"{low.rpartition(' ')[0] if same else low}{found[2] or ''}{high}"


def _written_celsius(value: float, units: str) -> str:
    """A temperature of a sentence, in which tenths of 1 °C are all that is left of a whole °F."""
    degrees_f = fahrenheit(value)
    whole = round(degrees_f)
    return f"{whole} °F" if abs(degrees_f - whole) < 0.095 else celsius(value, units)


_WRITERS: dict[str, Callable[[float, str], str]] = {
    "°C": _written_celsius, "mm": millimetres, "cm": centimetres, "mL": millilitres, "L": litres,
    "g": grams, "mg": milligrams, "cm²": square_centimetres,
}  # fmt: skip
