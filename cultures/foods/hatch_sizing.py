"""Sizing one hatch: from a need at one time to cysts, salt, water, vessels and times.

And how far it may miss, given what the sources leave open.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import NamedTuple

from attrs import evolve, frozen

from cultures.foods.hatch_request import HatchNotPossibleError, HatchRequest, Yielded, check_vessel
from cultures.foods.hatching import HatchModel
from cultures.foods.kinds import HatchKind
from cultures.foods.parameters import drawn_values, eight_in_ten
from cultures.foods.vessels import Vessel
from cultures.words.moments import hours, when
from cultures.words.quantities import number
from cultures.words.tools import CYSTS

#: Set and harvest times are looked for on a grid of this step [h].
_STEP_H = 0.5
#: A hatch that must be held until it is fed has to be this much better to be chosen.
_HOLDING_GAIN = 1.05
#: Cysts are weighed in steps of 0.05 g, less than half a gram in steps of 0.01 g.
_WEIGHING_STEPS_G = (0.05, 0.01)
#: A hatch set too late for its round is refused below this share of its best value.
_LEAST_SHARE = 0.5
#: Somebody who is up is looked for over so many steps.
_LOOKED_STEPS = 60 * 48
#: The least water that a jar is aerated in, and steps of it (common practice, no source) [L].
_LEAST_L, _WATER_STEP_L = 0.25, 0.05
#: The harvest window gives at least this share of the most energy.
WINDOW_SHARE = 0.9


class _Ready(NamedTuple):
    """A vessel in which a hatch can be ready: its times [h since the epoch], and what a gram gives.

    ``gives`` is in the unit of the need.
    """

    vessel: Vessel
    model: HatchModel
    set_h: float
    harvest_h: float
    per_gram: Yielded
    gives: float


@frozen
class Setting:
    """One vessel of a sized hatch: times, cysts [g], water [L] and salt [g]."""

    vessel: str
    set_at: datetime
    harvest_at: datetime
    window: tuple[datetime, datetime]
    cysts_g: float
    water_l: float
    salt_g: float
    temperature_c: float


@frozen
class SizedHatch:
    """A hatch that meets a need.

    Attributes:
        settings: one for each vessel.
        nauplii, energy_j: expected at the round.
        left_over: nauplii beyond the need. left_over_j: their energy [J].
        spoons: level US teaspoons of cysts.
        per_ml: nauplii in 1 mL of the rinsed harvest.
        later: (time, share of the energy left) of what is not fed.
        notes: what the keeper should know.
    """

    settings: tuple[Setting, ...]
    nauplii: float
    energy_j: float
    left_over: float
    left_over_j: float
    spoons: float
    per_ml: float
    later: tuple[tuple[datetime, float], ...]
    notes: tuple[str, ...]

    @property
    def given(self) -> Yielded:
        """What it gives at the round."""
        return Yielded(self.nauplii, self.energy_j)

    @property
    def cysts_g(self) -> float:
        """Dry cysts in all vessels [g]."""
        return math.fsum(s.cysts_g for s in self.settings)


def size_hatch(request: HatchRequest) -> SizedHatch:
    """The smallest hatch that meets a need at one time.

    Times are chosen so that a gram of cysts gives most at the round; among vessels the
    smallest one that is large enough, else as few as can be.

    Raises:
        RangeError: a temperature at which nothing can be promised, or salt that kills.
        HatchNotPossibleError: too late, or too little vessel; says what could be done.

    References:
        Inverse of :class:`cultures.foods.hatching.HatchModel`; docs/models.md, "A hatch".
    """
    kind = request.kind
    for vessel in request.vessels:
        check_vessel(kind, vessel)
    ready = [found for v in request.vessels if (found := _ready(request, v)) is not None]
    if not ready:
        raise HatchNotPossibleError(_what_could(request, request.vessels[0]))
    grams = _grams(request, ready)
    used = [(ready[i], grams[i]) for i in sorted(grams)]
    settings = tuple(_setting(request, found, g) for found, g in used)
    total = Yielded(
        math.fsum(found.per_gram.nauplii * g for found, g in used),
        math.fsum(found.per_gram.energy_j * g for found, g in used),
    )
    surplus = max(0.0, 1.0 - request.need / request.served(total))
    return SizedHatch(
        settings=settings,
        nauplii=total.nauplii,
        energy_j=total.energy_j,
        left_over=total.nauplii * surplus,
        left_over_j=total.energy_j * surplus,
        spoons=kind.spoons(math.fsum(grams.values())),
        per_ml=total.nauplii / request.makeup_ml,
        later=_later(request, max(hours(s.harvest_at) for s in settings)),
        notes=_notes(request, settings),
    )


def _ready(request: HatchRequest, vessel: Vessel) -> _Ready | None:
    """A vessel with the set and harvest times that give most at the round; None: too late."""
    model = request.model(vessel)
    earliest_h = request.earliest_h(vessel)
    best_h = model.best_hours()
    keeps_h = request.kind.values["warm_hold_h"]  # in the vessel as in a jar
    incubations = _grid(0.4 * best_h, min(2.5 * best_h, best_h + keeps_h))
    best: tuple[float, float, float] = (0.0, 0.0, 0.0)
    for held_h in _grid(0.0, request.holding.longest_h(request.ready_h)):
        harvest_h = request.ready_h - held_h
        if not request.is_awake(harvest_h):
            continue
        left = request.holding.share(harvest_h, request.ready_h)
        penalty = _HOLDING_GAIN if held_h > 0 else 1.0
        for incubated in incubations:
            set_h = harvest_h - incubated
            score = model.energy(incubated) * left / penalty
            if score > best[0] and set_h >= earliest_h and request.is_awake(set_h):
                best = (score, set_h, harvest_h)
    score, set_h, harvest_h = best
    if score < _LEAST_SHARE * model.energy(best_h):
        return None
    per_gram = request.given(model, set_h, harvest_h)
    return _Ready(vessel, model, set_h, harvest_h, per_gram, request.served(per_gram))


def _grid(low: float, high: float) -> list[float]:
    first, last = math.ceil(low / _STEP_H), math.floor(high / _STEP_H)
    return [_STEP_H * step for step in range(first, last + 1)]


def _what_could(request: HatchRequest, vessel: Vessel) -> str:
    from_h = request.model(vessel).window(WINDOW_SHARE)[0]
    earliest_h = request.earliest_h(vessel)
    wanted = f"no hatch can be ready at {when(request.at)}"
    if math.isinf(earliest_h):
        return (
            f"{wanted}: no set and harvest time falls between"
            f" {request.awake[0]:%H:%M} and {request.awake[1]:%H:%M}"
            f"{' on days on which you are there' if request.away is not None else ''}"
        )
    latest = _when_awake(request, request.ready_h - from_h, -_STEP_H)
    set_h = _when_awake(request, earliest_h, _STEP_H)
    fed_h = _when_awake(request, set_h + from_h, _STEP_H) + request.kind.values["handling_h"]
    too_late = f"it had to be set by {when(request.local(latest))}"
    if request.now is not None and hours(request.now) <= latest < earliest_h:
        too_late += f", and {vessel.name} is taken until {when(request.local(earliest_h))}"
    if latest < request.ready_h - from_h - 24.0:  # so long is slept through by nobody
        too_late = "nobody is there in time to set and harvest it"
    return (
        f"{wanted}: {too_late};"
        f" set at {when(request.local(set_h))} it can be fed"
        f" from {when(request.local(fed_h))}"
    )


def _when_awake(request: HatchRequest, time_h: float, step_h: float) -> float:
    """The next time at which somebody is up; the last one, for a step below 0."""
    start = math.ceil(time_h / step_h) * step_h
    times = (start + i * step_h for i in range(_LOOKED_STEPS))
    return next((t for t in times if request.is_awake(t)), start)


def _grams(request: HatchRequest, ready: Sequence[_Ready]) -> Mapping[int, float]:
    """Grams for each vessel that is used, by its place."""
    most = [request.kind.most_grams(found.vessel.litres) for found in ready]
    needed = [_weighed(request, request.need / found.gives) for found in ready]
    alone = [
        (found.vessel.litres, -found.gives, i)
        for i, found in enumerate(ready)
        if needed[i] <= most[i] + 1e-9
    ]
    if alone:
        chosen = min(alone)[2]
        return {chosen: needed[chosen]}
    gives = [grams * found.gives for grams, found in zip(most, ready, strict=True)]
    used: list[int] = []
    for i in sorted(range(len(most)), key=lambda i: (-gives[i], i)):
        used.append(i)
        together = math.fsum(gives[j] for j in used)
        if together >= request.need:
            share = request.need / together
            return {i: min(most[i], _weighed(request, share * most[i])) for i in used}
    per_gram = max(found.gives for found in ready)
    raise HatchNotPossibleError(_too_small(request, sum(gives), per_gram))


def _weighed(request: HatchRequest, grams: float) -> float:
    return request.tools.least_over(grams, CYSTS, _WEIGHING_STEPS_G[grams < 0.5])


def _too_small(request: HatchRequest, gives: float, per_gram: float) -> str:
    unit, v = "nauplii" if request.nauplii is not None else "J", request.kind.values
    missing_g = (request.need - gives) / per_gram
    litres = missing_g / v["crowding_small_g_per_l"]
    if litres >= v["large_from_l"]:
        litres = missing_g / v["crowding_large_g_per_l"]
    return (
        f"the vessels together give at most {number(gives)} {unit} of the {number(request.need)}"
        f" needed; add a vessel of {math.ceil(litres * 10) / 10:g} L or more, or hatch for fewer"
        " fry"
    )


def _setting(request: HatchRequest, found: _Ready, grams: float) -> Setting:
    vessel = found.vessel
    low, high = found.model.window(WINDOW_SHARE)
    return Setting(
        vessel=vessel.name,
        set_at=request.local(found.set_h),
        harvest_at=request.local(found.harvest_h),
        window=(request.local(found.set_h + low), request.local(found.set_h + high)),
        cysts_g=round(grams, 2),
        water_l=vessel.litres,
        salt_g=vessel.litres * vessel.salinity_g_per_l,
        temperature_c=vessel.temperature_c,
    )


def _later(request: HatchRequest, harvest_h: float) -> tuple[tuple[datetime, float], ...]:
    """Share of the round's energy that is left at each later round within the holding limit."""
    holding, from_h = request.holding, harvest_h + request.kind.values["handling_h"]
    at_round = holding.share(from_h, hours(request.at))
    return tuple(
        (moment, holding.share(from_h, hours(moment)) / at_round)
        for moment in request.later
        if holding.keeps(from_h, hours(moment))
    )


def _notes(request: HatchRequest, settings: Sequence[Setting]) -> tuple[str, ...]:
    notes = {
        warning
        for setting in settings
        if (warning := request.kind.warn_temperature(setting.temperature_c)) is not None
    }
    if any(hours(s.harvest_at) < request.ready_h - 0.01 for s in settings):
        where = "in the refrigerator" if request.holding.cold else "with air, not crowded"
        notes.add(f"harvest early and keep the nauplii {where} until the round")
    if request.nauplii_per_gram is None:
        notes.add(
            "no count of your own cysts, and old or damp ones hatch less than the data have it:"
            " weigh the cysts of a hatch and count drops of it ('journal count-helper')"
        )
    notes.update(_smaller(setting, request.kind) for setting in settings)
    notes.discard("")
    needed_g = math.fsum(setting.cysts_g for setting in settings)
    if request.cysts_g is not None and needed_g > request.cysts_g:
        notes.add(
            f"the tin holds only {request.cysts_g:g} g of the {needed_g:.2f} g needed: buy cysts"
        )
    return tuple(sorted(notes))


def _smaller(setting: Setting, kind: HatchKind) -> str:
    """In how much less water as many would hatch by any reading of the sources, or ""."""
    roomy_l = setting.cysts_g / kind.parameters["crowding_small_g_per_l"].low
    enough_l = max(_LEAST_L, math.ceil(roomy_l / _WATER_STEP_L) * _WATER_STEP_L)
    if enough_l > setting.water_l / 2:
        return ""
    return (
        f"a smaller jar than {setting.vessel} would do: as many hatch in {1000 * enough_l:.0f} mL"
        f" of water, with {enough_l / setting.water_l:.0%} of the salt"
    )


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
