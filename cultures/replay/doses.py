"""What was told of a food for a tank, in the unit in which it is noted."""

from __future__ import annotations

from cultures.foods.food import DRY
from cultures.tasks.told import ToldTask
from cultures.words.tasks import wet_ml


def measured(told: ToldTask, tank: str, food: str, unit: str) -> float:
    """What was told of a food for a tank, in a unit; 0 where it has none in it."""
    mine = [x for x in told.lines if (x.tank, x.food) == (tank, food)]
    if all(x.unit == unit for x in mine):
        return sum(x.amount for x in mine)
    each = [wet_ml(x, told.lines) for x in mine] if food == DRY else []
    return sum(ml for ml in each if ml is not None)
