"""Harvested nauplii: how many by a count, and how many are still to be fed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import datetime

from attrs import evolve

from cultures.need import room_needs, rounds_between
from cultures.planning.hatch_plan import Holding
from cultures.room import BRINE_SHRIMP, HeldNauplii, Room, hours

#: A count further off than this from what the hatch should give is not taken for it [s.d.].
_ABSURD = 3.0


def blended(expected: float, counted: float, counted_sd: float, spread: float) -> float:
    """What a harvest holds against what was expected, from its own count.

    Both are uncertain by a share, so their logarithms are averaged by trust; a count that is
    absurdly far off says nothing.
    """
    if counted <= 0:
        return 1.0
    off = math.log(counted / expected)
    if abs(off) > _ABSURD * math.hypot(counted_sd, spread):
        return 1.0
    trust = spread**2 / (spread**2 + counted_sd**2)
    return math.exp(trust * off)


def still_held(
    room: Room, held: Sequence[HeldNauplii], state_at: datetime
) -> Iterable[HeldNauplii]:
    """What is left of the harvests, after the rounds since then were fed as needed."""
    if not held:
        return
    holding = Holding.of(room)
    first = min(h.harvested_at for h in held).astimezone(room.timezone)
    left = [1.0] * len(held)
    feedings = rounds_between(room, first, state_at) if state_at > first else []
    for feeding, needs in zip(feedings, room_needs(room, feedings), strict=True):
        wanted = sum(n.foods.get(BRINE_SHRIMP, 0.0) for n in needs) if feeding.fed else 0.0
        for number, batch in enumerate(held):
            from_h = hours(batch.harvested_at)
            age_h = feeding.at_h - from_h
            if wanted <= 0 or age_h < 0 or age_h > holding.longest_h:
                continue
            whole = batch.energy_j * holding.share(from_h, feeding.at_h)
            used = min(wanted, whole * left[number])
            left[number] -= used / whole if whole > 0 else 0.0
            wanted -= used
    for share, batch in zip(left, held, strict=True):
        if share * batch.nauplii >= 1:
            yield evolve(
                batch,
                nauplii=batch.nauplii * share,
                energy_j=batch.energy_j * share,
                share=batch.share * share,
            )
