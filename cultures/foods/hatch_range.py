"""How far a sized hatch may miss, given what the sources leave open."""

from __future__ import annotations

import random

from attrs import evolve

from cultures.foods.hatch_request import HatchRequest, Yielded, vessel_model, yield_at
from cultures.foods.hatch_sizing import SizedHatch
from cultures.foods.kinds import HatchKind
from cultures.foods.parameters import drawn_values, nine_in_ten
from cultures.words.moments import hours


def hatch_interval(
    kind: HatchKind, request: HatchRequest, sized: SizedHatch, draws: int = 400
) -> dict[str, tuple[float, float]]:
    """Intervals that hold nine in ten draws of the parameters, the hatch being set as sized.

    Returns:
        (low, high) of ``nauplii`` and ``energy_j`` [J] at the round, and of ``cysts_g``,
        the grams that would just have met the need.

    References:
        Plain Monte Carlo over :func:`cultures.foods.parameters.drawn_values`; docs/models.md,
        section "Ranges". A keeper's own count is not drawn.
    """
    generator = random.Random(20260102)
    vessels = {vessel.name: vessel for vessel in request.vessels}
    totals: list[Yielded] = []
    while len(totals) < draws:
        values = drawn_values(kind.parameters, generator)
        if not values["t10_h"] < values["t90_h"]:
            continue
        drawn = evolve(kind, values=values)
        parts = [
            yield_at(
                drawn,
                request,
                vessel_model(
                    drawn,
                    vessels[s.vessel],
                    nauplii_per_gram=request.nauplii_per_gram,
                    wettings=request.wettings,
                ),
                hours(s.set_at),
                hours(s.harvest_at),
            ).times(s.cysts_g)
            for s in sized.settings
        ]
        totals.append(Yielded(sum(p.nauplii for p in parts), sum(p.energy_j for p in parts)))
    needed = [sized.cysts_g * request.need / max(request.served(t), 1e-9) for t in totals]
    return {
        "nauplii": nine_in_ten([t.nauplii for t in totals]),
        "energy_j": nine_in_ten([t.energy_j for t in totals]),
        "cysts_g": nine_in_ten(needed),
    }
