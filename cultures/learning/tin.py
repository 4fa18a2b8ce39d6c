"""Whether the tin of cysts in use is in doubt: its last hatches gave nothing, or far too little."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import takewhile

from attrs import evolve

from cultures.foods.hatching import hatched_fraction, log_logistic_shape
from cultures.foods.kinds import HatchKind
from cultures.learning.estimates import Estimate
from cultures.replay.observations import HatchObserved, Observations
from cultures.room.room import PoorHatch, TinDoubt

#: Of a hatch that was drawn off or counted once so much of it should be out, the count tells what a
#: gram gives in the end (assumption).
_OUT_SHARE = 0.8
#: A hatch that gives more than this share of what is planned on is no poor one (assumption).
_POOR_SHARE = 0.5
#: Hatches further apart do not tell of one fault (assumption) [h].
_APART_H = 14 * 24.0
#: One poor hatch alone is spoken of for so long (assumption) [h].
_ALONE_H = 4 * 24.0


def doubt_of_tin(
    seen: Observations, of_tin: Estimate, kind: HatchKind, now_h: float
) -> TinDoubt | None:
    """The poor hatches of the tin in use since its last good one; None where there are none.

    Args:
        of_tin: what a gram gives, by all counts. now_h: now [h since the epoch].
    """
    usual = of_tin if of_tin.learned else evolve(of_tin, posterior=of_tin.prior)
    least = min(usual.of_one(kind.values["yield_spread"])[0], _POOR_SHARE * of_tin.used)
    tin_h = max(seen.bought_h, default=-math.inf)
    latest = sorted(_hatches(seen, kind), key=lambda row: row[0].at_h, reverse=True)
    found: list[PoorHatch] = []
    for hatch, _ in takewhile(lambda row: row[1] < least and row[0].set_h >= tin_h, latest):
        if found and found[-1].at_h - hatch.at_h > _APART_H:
            break
        found.append(hatch)
    if not found or (len(found) == 1 and now_h - found[0].at_h > _ALONE_H):
        return None
    return TinDoubt(tuple(reversed(found)), of_tin.used)


def _hatches(seen: Observations, kind: HatchKind) -> Iterator[tuple[PoorHatch, float]]:
    """Each hatch of which nothing came, or that was counted when it was nearly done, by its last
    count; and what a gram of it gives in the end.
    """
    t50_h, shape = log_logistic_shape(t10_h=kind.values["t10_h"], t90_h=kind.values["t90_h"])
    for each in seen.empty:
        yield PoorHatch(each.vessel, each.set_h, each.at_h, 0.0), 0.0
    last: dict[str, tuple[HatchObserved, float]] = {}
    for row in seen.hatches:
        out = hatched_fraction(row.hours * row.rate, t50_h=t50_h, shape=shape)
        if out >= _OUT_SHARE:
            last[row.batch] = row, out
    for row, out in last.values():
        vessel = row.batch.rpartition(" ")[0]
        hatch = PoorHatch(vessel, row.at_h - row.hours, row.at_h, row.per_gram)
        yield hatch, row.per_gram / out
