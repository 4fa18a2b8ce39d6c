"""Who would go short on one day of the year, by the rule of the shortfalls of a plan.

A day is planned as one round of a stretch is (:mod:`cultures.planning.matching`), with what the
room can give of each food that day: what one does not bring moves to another that the mouth takes,
dry food among them, and less missing than `falls_short` says is not called short.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.needs.need import BroodNeed
from cultures.planning.servings import Serving, Suits, falls_short
from cultures.planning.sharing import give_dry, lean_on, pass_on, share
from cultures.room.room import Room


class Substitution:
    """The foods of a room, and how they stand in for each other.

    Args:
        room: all of its broods, those too that are planned.
    """

    def __init__(self, room: Room) -> None:
        everybody = evolve(room, broods=(*room.broods, *room.hoped), hoped=())
        kinds = sorted(room.worm_kinds(), key=lambda k: (k.values["width_um"], k.name))
        self.worms = [kind.name for kind in kinds]
        self.nauplii = [BRINE_SHRIMP] if room.vessels else []
        self.suits = Suits(everybody)
        self.suits.ripe_from.update(dict.fromkeys(self.worms, 0))

    def missing(
        self, needs: Sequence[BroodNeed], gives_j: Callable[[str], float]
    ) -> Mapping[str, float]:
        """The share of its need that each brood misses that goes short, by name.

        Args:
            needs: of a day. gives_j: what the room can give of a food that day [J].
        """
        row = [Serving(need, need.foods) for need in needs]
        for n, food in enumerate(self.worms):
            share(row, food, gives_j(food), 0, self.suits)
            pass_on([row], food, [*self.worms[n + 1 :], *self.nauplii], self.suits)
        share(row, BRINE_SHRIMP, gives_j(BRINE_SHRIMP), 0, self.suits)
        give_dry([row], self.suits)
        for food in reversed(self.worms):
            if lean_on(food, [row], 0, self.suits):
                for serving in row:
                    serving.given_j.pop(food, None)
                share(row, food, gives_j(food), 0, self.suits)
        give_dry([row], self.suits)
        return {
            serving.need.brood.name: serving.missing_j() / serving.need.energy_j
            for serving in row
            if falls_short(serving.missing_j(), serving.need.energy_j)
        }
