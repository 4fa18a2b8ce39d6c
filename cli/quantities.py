"""An option whose value is a quantity: a number in the option's unit, or text with a unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from cultures.errors import UnitError
from cultures.units import Dimension, parse_quantity

if TYPE_CHECKING:
    _ParamType = click.ParamType[float]
else:  # generic only from click 8.5 on
    _ParamType = click.ParamType


class Quantity(_ParamType):
    """A quantity such as ``150``, ``"5 oz"`` or ``"78 F"``, turned into one unit."""

    name = "quantity"

    def __init__(self, dimension: Dimension, unit: str) -> None:
        self.dimension: Dimension = dimension
        self.unit = unit

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        try:
            return parse_quantity(_plain(value), self.dimension, self.unit)
        except UnitError as error:
            self.fail(str(error), param, ctx)


def _plain(value: Any) -> Any:
    return value if isinstance(value, int | float) else str(value)


GRAMS = Quantity("mass", "g")
SQUARE_CM = Quantity("area", "cm2")
CELSIUS = Quantity("temperature", "c")
LITRES = Quantity("volume", "l")
MILLILITRES = Quantity("volume", "ml")
SALINITY = Quantity("salinity", "g/l")
