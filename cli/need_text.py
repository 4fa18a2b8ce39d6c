"""What ``livefood need`` prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tabulate import tabulate

from cli.text import food_name, number, when
from cultures.need import BroodNeed
from cultures.planning.tasks import tidy
from cultures.room import Room


def need_json(needs: Sequence[Sequence[BroodNeed]]) -> dict[str, Any]:
    """As the JSON contract has it."""
    return {
        "rounds": [
            {
                "at": need.at.isoformat(),
                "tank": need.brood.tank,
                "brood": need.brood.name,
                "length_mm": tidy(need.length_mm),
                "count": tidy(need.count),
                "energy_j": tidy(need.energy_j),
                "foods": {food: tidy(energy) for food, energy in need.foods.items()},
            }
            for row in needs
            for need in row
        ]
    }


def screen(room: Room, needs: Sequence[Sequence[BroodNeed]]) -> str:
    """A table for each round."""
    parts = [f"{room.name}: energy needed, in J"]
    for row in needs:
        if not row:
            continue
        foods = sorted({food for need in row for food in need.foods})
        table = [
            [
                need.brood.tank, need.brood.name, f"{need.length_mm:.1f}", f"{need.count:.0f}",
                number(need.energy_j),
                *(number(need.foods[f]) if f in need.foods else "-" for f in foods),
            ]
            for need in row
        ]  # fmt: skip
        head = ["tank", "brood", "mm", "fry", "all", *(food_name(f) for f in foods)]
        align = ["left", "left", *["right"] * (3 + len(foods))]
        text = tabulate(
            table, headers=head, tablefmt="simple", colalign=align, disable_numparse=True
        )
        parts.append(f"{when(row[0].at)}\n{text}")
    if len(parts) == 1:
        parts.append("No brood eats in this time.")
    return "\n\n".join(parts)
