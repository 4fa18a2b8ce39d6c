"""How far a sized hatch may miss, given what the sources leave open."""

from __future__ import annotations

import random

from attrs import evolve

from cultures.foods.hatch_request import HatchRequest, Yielded
from cultures.foods.hatch_sizing import SizedHatch
from cultures.foods.kinds import HatchKind
from cultures.foods.parameters import drawn_values, eight_in_ten
from cultures.words.moments import hours


def hatch_interval(
    request: HatchRequest, sized: SizedHatch, draws: int = 400
) -> dict[str, tuple[float, float]]:
    """Intervals that hold eight in ten draws of the parameters, the hatch being set as sized.

    Returns:
        (low, high) of ``nauplii`` and ``energy_j`` [J] at the round, and of ``cysts_g``,
        the grams that would just have met the need.

    References:
        Plain Monte Carlo over :func:`cultures.foods.parameters.drawn_values`; docs/models.md,
        section "Ranges". A keeper's own count is not drawn.
    """
    generator = random.Random(20260102)
    totals: list[Yielded] = []
    while len(totals) < draws:
        values = drawn_values(request.kind.parameters, generator)
        if values["t10_h"] < values["t90_h"]:
            totals.append(_given(request, sized, evolve(request.kind, values=values)))
    needed = [sized.cysts_g * request.need / max(request.served(t), 1e-9) for t in totals]
    return {
        "nauplii": eight_in_ten([t.nauplii for t in totals]),
        "energy_j": eight_in_ten([t.energy_j for t in totals]),
        "cysts_g": eight_in_ten(needed),
    }


def _given(request: HatchRequest, sized: SizedHatch, kind: HatchKind) -> Yielded:
    """What a sized hatch gives with the parameters of a kind."""
    drawn = evolve(request, holding=evolve(request.holding, kind=kind))
    vessels = {vessel.name: vessel for vessel in request.vessels}
    parts = [
        (
            drawn.given(drawn.model(vessels[s.vessel]), hours(s.set_at), hours(s.harvest_at)),
            s.cysts_g,
        )
        for s in sized.settings
    ]
    return Yielded(sum(p.nauplii * g for p, g in parts), sum(p.energy_j * g for p, g in parts))
