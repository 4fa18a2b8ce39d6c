"""Which of the tools of a room no amount of it can be measured with."""

from __future__ import annotations

from collections.abc import Iterator

from cultures.foods.food import DRY
from cultures.room.room import Room
from cultures.words.tools import CYSTS, MEDIUM, NEAR, SALT, Spoon

#: Of dry food so much is measured at a time: a trace for a small brood, a cup for a large room [g].
_DRY_G = (0.002, 100.0)
#: Cups hold up to so many usual ones, and so many of a spoon are counted at most.
_LARGEST_CUP, _MOST_SPOONFULS = 5.0, 6.0


def unused_tools(room: Room) -> Iterator[str]:
    """A sentence for each tool of ``[tools]`` that no amount of this room can use."""
    if not room.tools.stated:
        return
    asked = dict(_asked_g(room))
    if not asked:
        return
    for spoon in room.tools.spoons:
        if not _is_used(room, spoon, asked):
            yield (
                f"no amount in this room is measured with '{spoon.label}': it can be left out of"
                " [tools]"
            )
    most_g = max((high for _, high in asked.values()), default=0.0)
    scale_g = room.tools.scale_g
    if scale_g is not None and scale_g / 2 > NEAR * most_g:
        yield (
            f"no amount in this room is weighed by a scale with steps of {scale_g:g} g:"
            " scale_g can be left out of [tools]"
        )
    marked = [(s.mark_ml, "syringe") for s in room.tools.syringes]
    marked += [(cup.mark_ml, "measuring cup") for cup in room.tools.cups]
    for mark_ml, tool in marked:
        if mark_ml / 2 > NEAR * _LARGEST_CUP * room.makeup_ml:
            yield (
                f"no dose in this room is measured by a {tool} with marks of"
                f" {mark_ml:g} mL: it can be left out of [tools]"
            )


def _asked_g(room: Room) -> Iterator[tuple[str, tuple[float, float]]]:
    """The least and the most that is measured of each substance at a time [g]."""
    if any(b.foods is None or DRY in b.foods for b in room.every_brood):
        yield DRY, _DRY_G
    if room.vessels:
        most = max(room.hatch_kind.most_grams(v.litres) for v in room.vessels)
        yield CYSTS, (room.hatch_kind.values["least_hatch_g"], most)
        salts = [v.litres * v.salinity_g_per_l for v in room.vessels]
        yield SALT, (min(salts), max(salts))
    cultures = (*room.cultures, *room.coming)
    if cultures:
        yield MEDIUM, (min(c.starter_g for c in cultures), max(c.medium_g for c in cultures))


def _is_used(room: Room, spoon: Spoon, asked: dict[str, tuple[float, float]]) -> bool:
    levels = ((room.tools.level_g(spoon, of), *ends) for of, ends in asked.items())
    return any(
        level / 2 <= high * (1 + NEAR) and level * _MOST_SPOONFULS >= low * (1 - NEAR)
        for level, low, high in levels if level is not None
    )  # fmt: skip
