"""What ``livefood need`` prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cli.screens.as_json import picked
from cli.screens.text import alike, wrapped
from cli.screens.us_units import length_text
from cultures.foods.food import BRINE_SHRIMP
from cultures.foods.kinds import WormKind
from cultures.needs.food_units import Amount, natural_amount
from cultures.needs.need import BroodNeed
from cultures.room.room import Room
from cultures.tasks.task import tidy
from cultures.words.moments import when
from cultures.words.quantities import (
    food_name,
    food_words,
    fraction,
    grams,
    milligrams,
    millilitres,
    number,
)
from cultures.words.units import DRAW_ML

#: By index of a round and brood, what a need stays within over what is planned.
Sure = Mapping[tuple[int, str], tuple[float, float]]
#: Why nothing surer is said.
_SURE = (
    "How much fry eat, how fast they grew and how many are left is not known better; what to count"
    " to know more: livefood learn --first."
)


def need_json(
    room: Room, needs: Sequence[Sequence[BroodNeed]], sure: Sure | None = None
) -> dict[str, Any]:
    """As the JSON contract has it."""
    return {
        "rounds": [
            {
                "at": need.at.isoformat(), "tank": need.brood.tank, "brood": need.brood.name,
                **picked(need, "length_mm", "count", "energy_j", "foods"),
                "amounts": {
                    food: {"amount": tidy(amount.value), "unit": amount.unit}
                    for food, energy_j in need.foods.items()
                    for amount in [natural_amount(room, food, energy_j)]
                },
                **({"range": [*map(tidy, sure[index, need.brood.name])]} if sure else {}),
            }
            for index, row in enumerate(needs)
            for need in row
        ]
    }  # fmt: skip


def screen(
    room: Room, needs: Sequence[Sequence[BroodNeed]], sure: Sure | None = None, *,
    energy: bool = False,
) -> str:  # fmt: skip
    """A table for each round, in what people measure; ``energy``: in joules.

    Args:
        sure: adds what eight in ten stay within.
    """
    us = room.units == "us"
    parts = [f"{room.name}: {'energy needed, in J' if energy else 'what the fry need'}"]
    tables = []
    for row in filter(None, needs):
        foods = sorted({food for need in row for food in need.foods})
        table = [
            [
                need.brood.tank, need.brood.name,
                length_text(need.length_mm, room.units, ".1f").split()[0],
                f"{need.count:.0f}", *([number(need.energy_j)] if energy else []),
                *(measured(room, f, need.foods[f], energy=energy) if f in need.foods else "-"
                  for f in foods),
            ]
            for need in row
        ]  # fmt: skip
        head = ["tank", "brood", "inch" if us else "mm", "fry", *(["all"] if energy else []),
                *(food_name(f) for f in foods)]  # fmt: skip
        tables.append([head, *table])
    shown = iter(alike(tables, 2))
    for index, row in enumerate(needs):
        if not row:
            continue
        parts.append(f"{when(row[0].at, room.units)}\n{next(shown)}\n{_together(room, row)}")
        if sure:
            ends = {need.brood.name: sure[index, need.brood.name] for need in row}
            parts[-1] += "\n" + wrapped(sure_text(ends))
    if len(parts) == 1:
        parts.append("No brood eats in this time.")
    elif sure:
        parts.append(wrapped(_SURE))
    return "\n\n".join(parts)


def sure_text(ends: Mapping[str, tuple[float, float]]) -> str:
    """What broods really need, over what is planned for them."""
    each = (f"{name} {number(low, 2)} to {number(high, 2)}" for name, (low, high) in ends.items())
    return f"Eight such broods in ten need, times this: {', '.join(each)}."


def measured(room: Room, food: str, energy_j: float, *, energy: bool = False) -> str:
    """What is needed of a food as it is measured: worms in swipes or mL, else count or mass."""
    if energy:
        return number(energy_j)
    kind, amount = room.kinds.get(food), natural_amount(room, food, energy_j)
    if isinstance(kind, WormKind):
        portions = amount.value / kind.values["portion_mg"]
        if kind.medium == "liquid":
            return millilitres(float(f"{portions * DRAW_ML:.2g}"))
        return _swipes(_quarters(portions))
    if amount.unit == "nauplii":
        return number(amount.value, 2)
    return amount_text(Amount(float(f"{amount.value:.2g}"), amount.unit), room.units)


def _quarters(swipes: float) -> int:
    """Nobody takes less than a quarter more or less of a swipe, and at least one."""
    return max(1, round(swipes * 4))


def _swipes(quarters: int) -> str:
    return f"{fraction(quarters / 4, 4)} swipe{'s' if quarters > 4 else ''}"


def amount_text(amount: Amount, units: str) -> str:
    """An amount of food in the keeper's units."""
    masses = {"mg": milligrams, "g": grams}
    if amount.unit in masses:
        return masses[amount.unit](amount.value, units)
    return f"{number(amount.value)} {amount.unit}"


def _together(room: Room, row: Sequence[BroodNeed]) -> str:
    """All tanks of a round in natural units; swipes are those of the tanks added up."""
    every: dict[str, list[float]] = {}
    for need in row:
        for food, energy in need.foods.items():
            every.setdefault(food, []).append(energy)
    shown = [
        f"{_added(room, food, each)}{'' if food == BRINE_SHRIMP else ' of'} {food_words(food)}"
        for food, each in sorted(every.items())
    ]
    return wrapped(f"Together {', '.join(shown)}." if shown else "No food kept here fits.")


def _added(room: Room, food: str, each: Sequence[float]) -> str:
    kind = room.kinds.get(food)
    if not isinstance(kind, WormKind) or kind.medium == "liquid":
        return measured(room, food, sum(each))
    swipe_mg = kind.values["portion_mg"]
    return _swipes(sum(_quarters(natural_amount(room, food, j).value / swipe_mg) for j in each))
