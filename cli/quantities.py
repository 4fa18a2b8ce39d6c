"""Types of options: quantities (a number in the option's unit, or text with a unit), numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from cultures.errors import UnitError
from cultures.words.units import Dimension, parse_quantity

if TYPE_CHECKING:
    _ParamType = click.ParamType[float]
else:  # generic only from click 8.5 on
    _ParamType = click.ParamType


class Quantity(_ParamType):
    """A quantity such as ``150``, ``"5 oz"`` or ``"78 F"``, turned into one unit."""

    name = "quantity"

    def __init__(self, dimension: Dimension, unit: str, low: float, high: float) -> None:
        self.dimension: Dimension = dimension
        self.unit = unit
        self.low, self.high = low, high

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        try:
            number = parse_quantity(_plain(value), self.dimension, self.unit)
        except UnitError as error:
            self.fail(str(error), param, ctx)
        if not self.low <= number <= self.high:
            self.fail(f"{value} is not possible; {self.low:g} to {self.high:g} is", param, ctx)
        return number


def _plain(value: Any) -> Any:
    return value if isinstance(value, int | float) else str(value)


class Number(_ParamType):
    """A finite number within limits."""

    name = "number"

    def __init__(self, low: float, high: float) -> None:
        self.low, self.high = low, high

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        try:
            number = float(str(value).replace(",", ""))
        except ValueError:
            self.fail(f"'{value}' is not a number", param, ctx)
        if not self.low <= number <= self.high:
            limits = f"{self.low:,.15g} to {self.high:,.15g}"
            self.fail(f"{value} is not possible; {limits} is", param, ctx)
        return number


#: Limits as in a room file.
GRAMS = Quantity("mass", "g", 0.01, 100000)
SQUARE_CM = Quantity("area", "cm2", 0.5, 100000)
CELSIUS = Quantity("temperature", "c", -20, 60)
LITRES = Quantity("volume", "l", 0.05, 2000)
MILLILITRES = Quantity("volume", "ml", 5, 20000)
SALINITY = Quantity("salinity", "g/l", 0, 150)
NAUPLII = Number(1, 1e9)
NAUPLII_PER_GRAM = Number(1000, 400000)
