"""Sizing one hatch: from a need at one time to cysts, salt, water, vessels and times."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

from attrs import frozen

from cultures.foods.hatch_request import (
    HatchNotPossibleError,
    HatchRequest,
    Yielded,
    check_vessel,
    vessel_model,
    yield_at,
)
from cultures.foods.hatching import HatchModel
from cultures.foods.kinds import HatchKind
from cultures.foods.vessels import Vessel
from cultures.words.moments import hours

#: Set and harvest times are looked for on a grid of this step [h].
_STEP_H = 0.5
#: A hatch that must be held until it is fed has to be this much better to be chosen.
_HOLDING_GAIN = 1.05
#: Cysts are weighed in steps of 0.05 g, less than half a gram in steps of 0.01 g.
_WEIGHING_STEPS_G = (0.05, 0.01)
#: A hatch set too late for its round is refused below this share of its best value.
_LEAST_SHARE = 0.5
#: The harvest window gives at least this share of the most energy.
WINDOW_SHARE = 0.9


@frozen
class Timing:
    """When one vessel is set and harvested, and what a gram then gives at the round."""

    set_h: float
    harvest_h: float
    per_gram: Yielded


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
        spoons: level US teaspoons of cysts. spoons_range: by the spread of bulk density.
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
    spoons_range: tuple[float, float]
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


def size_hatch(kind: HatchKind, request: HatchRequest) -> SizedHatch:
    """The smallest hatch that meets a need at one time.

    Times are chosen so that a gram of cysts gives most at the round; among vessels the
    smallest one that is large enough, else as few as can be.

    Raises:
        RangeError: a temperature at which nothing can be promised, or salt that kills.
        HatchNotPossibleError: too late, or too little vessel; says what could be done.

    References:
        Inverse of :class:`cultures.foods.hatching.HatchModel`; docs/models.md, "A hatch".
    """
    for vessel in request.vessels:
        check_vessel(kind, vessel)
    ready = _ready(kind, request)
    shares = list(zip(ready, _grams(kind, request, ready), strict=True))
    settings = tuple(_setting(kind, request, v, timing, g) for (v, timing), g in shares if g > 0)
    used = [timing.per_gram.times(g) for (_, timing), g in shares if g > 0]
    total = Yielded(math.fsum(y.nauplii for y in used), math.fsum(y.energy_j for y in used))
    surplus = max(0.0, 1.0 - request.need / request.served(total))
    density = kind.parameters["bulk_density_g_per_ml"]
    spoons = kind.spoons(math.fsum(g for _, g in shares))
    harvested_h = max(hours(s.harvest_at) for s in settings)
    return SizedHatch(
        settings=settings,
        nauplii=total.nauplii,
        energy_j=total.energy_j,
        left_over=total.nauplii * surplus,
        left_over_j=total.energy_j * surplus,
        spoons=spoons,
        spoons_range=(spoons * density.value / density.high, spoons * density.value / density.low),
        per_ml=total.nauplii / request.makeup_ml,
        later=_later(kind, request, harvested_h),
        notes=_notes(kind, request, settings),
    )


_Ready = tuple[Vessel, Timing]


def _ready(kind: HatchKind, request: HatchRequest) -> list[_Ready]:
    """The vessels in which a hatch can be ready in time, with their times."""
    ready: list[_Ready] = []
    too_late: list[HatchNotPossibleError] = []
    for vessel in request.vessels:
        try:
            ready.append((vessel, _timing(kind, request, vessel)))
        except HatchNotPossibleError as error:
            too_late.append(error)
    if not ready:
        raise too_late[0]
    return ready


def _timing(kind: HatchKind, request: HatchRequest, vessel: Vessel) -> Timing:
    """The set and harvest times that give most at the round."""
    model = vessel_model(
        kind, vessel, nauplii_per_gram=request.nauplii_per_gram, wettings=request.wettings
    )
    last_h = hours(request.at) - kind.values["handling_h"]
    earliest_h = request.earliest_h(vessel)
    best_h = model.best_hours()
    incubations = _grid(0.4 * best_h, 2.5 * best_h)
    best: tuple[float, float, float] | None = None
    for held_h in _grid(0.0, request.holding.longest_h(kind)):
        harvest_h = last_h - held_h
        if not request.is_awake(harvest_h):
            continue
        _, left = request.holding.shares(kind, held_h)
        penalty = _HOLDING_GAIN if held_h > 0 else 1.0
        for incubated in incubations:
            set_h = harvest_h - incubated
            score = model.energy(incubated) * left / penalty
            if best is not None and score <= best[0]:
                continue
            if set_h >= earliest_h and request.is_awake(set_h):
                best = (score, set_h, harvest_h)
    if best is None or best[0] < _LEAST_SHARE * model.energy(best_h):
        raise HatchNotPossibleError(_what_could(kind, request, model, earliest_h))
    _, set_h, harvest_h = best
    return Timing(set_h, harvest_h, yield_at(kind, request, model, set_h, harvest_h))


def _grid(low: float, high: float) -> list[float]:
    first, last = math.ceil(low / _STEP_H), math.floor(high / _STEP_H)
    return [_STEP_H * step for step in range(first, last + 1)]


def _what_could(
    kind: HatchKind, request: HatchRequest, model: HatchModel, earliest_h: float
) -> str:
    handling_h = kind.values["handling_h"]
    from_h = model.window(WINDOW_SHARE)[0]
    wanted = f"no hatch can be ready at {_shown(request.at)}"
    if math.isinf(earliest_h):
        return f"{wanted}: no set and harvest time falls between {_awake(request)}"
    latest = _earlier_awake(request, hours(request.at) - handling_h - from_h)
    set_h = _later_awake(request, earliest_h)
    ready_h = _later_awake(request, set_h + from_h) + handling_h
    return (
        f"{wanted}: it had to be set by {_shown(request.local(latest))};"
        f" set at {_shown(request.local(set_h))} it can be fed"
        f" from {_shown(request.local(ready_h))}"
    )


def _later_awake(request: HatchRequest, time_h: float) -> float:
    start = math.ceil(time_h / _STEP_H) * _STEP_H
    return next((t for t in (start + i * _STEP_H for i in range(49)) if request.is_awake(t)), start)


def _earlier_awake(request: HatchRequest, time_h: float) -> float:
    start = math.floor(time_h / _STEP_H) * _STEP_H
    return next((t for t in (start - i * _STEP_H for i in range(49)) if request.is_awake(t)), start)


def _grams(kind: HatchKind, request: HatchRequest, ready: Sequence[_Ready]) -> list[float]:
    """Grams for each vessel; 0 for one that is not used."""
    most = [kind.most_grams(vessel.litres) for vessel, _ in ready]
    each = [request.served(timing.per_gram) for _, timing in ready]
    alone = [
        (vessel.litres, -each[i], i)
        for i, (vessel, _) in enumerate(ready)
        if _weighed(request.need / each[i]) <= most[i] + 1e-9
    ]
    result = [0.0] * len(most)
    if alone:
        chosen = min(alone)[2]
        result[chosen] = _weighed(request.need / each[chosen])
        return result
    gives = [grams * value for grams, value in zip(most, each, strict=True)]
    order = sorted(range(len(most)), key=lambda i: (-gives[i], i))
    used: list[int] = []
    for i in order:
        used.append(i)
        if math.fsum(gives[j] for j in used) >= request.need:
            break
    else:
        raise HatchNotPossibleError(_too_small(kind, request, sum(gives), max(each)))
    share = request.need / math.fsum(gives[j] for j in used)
    for i in used:
        result[i] = min(most[i], _weighed(share * most[i]))
    return result


def _weighed(grams: float) -> float:
    step = _WEIGHING_STEPS_G[grams < 0.5]
    return math.ceil(grams / step - 1e-9) * step


def _too_small(kind: HatchKind, request: HatchRequest, gives: float, per_gram: float) -> str:
    unit = "nauplii" if request.nauplii is not None else "J"
    missing_g = (request.need - gives) / per_gram
    litres = missing_g / kind.values["crowding_small_g_per_l"]
    if litres >= kind.values["large_from_l"]:
        litres = missing_g / kind.values["crowding_large_g_per_l"]
    return (
        f"the vessels together give at most {gives:.0f} {unit} of the {request.need:.0f} needed;"
        f" add a vessel of {math.ceil(litres * 10) / 10:g} L or more, or hatch for fewer fry"
    )


def _setting(
    kind: HatchKind, request: HatchRequest, vessel: Vessel, timing: Timing, grams: float
) -> Setting:
    model = vessel_model(kind, vessel)
    low, high = model.window(WINDOW_SHARE)
    return Setting(
        vessel=vessel.name,
        set_at=request.local(timing.set_h),
        harvest_at=request.local(timing.harvest_h),
        window=(request.local(timing.set_h + low), request.local(timing.set_h + high)),
        cysts_g=round(grams, 2),
        water_l=vessel.litres,
        salt_g=vessel.litres * vessel.salinity_g_per_l,
        temperature_c=vessel.temperature_c,
    )


def _later(
    kind: HatchKind, request: HatchRequest, harvested_h: float
) -> tuple[tuple[datetime, float], ...]:
    """Share of the round's energy that is left at each later round within the holding limit."""
    ready_h = harvested_h + kind.values["handling_h"]
    at_round = request.holding.shares(kind, max(0.0, hours(request.at) - ready_h))[1]
    return tuple(
        (moment, request.holding.shares(kind, hours(moment) - ready_h)[1] / at_round)
        for moment in request.later
        if hours(moment) - ready_h <= request.holding.longest_h(kind)
    )


def _notes(kind: HatchKind, request: HatchRequest, settings: Sequence[Setting]) -> tuple[str, ...]:
    notes = {
        warning
        for setting in settings
        if (warning := kind.warn_temperature(setting.temperature_c)) is not None
    }
    ready_h = hours(request.at) - kind.values["handling_h"]
    if any(hours(s.harvest_at) < ready_h - 0.01 for s in settings):
        where = "in the refrigerator" if request.holding.cold(kind) else "with air, not crowded"
        notes.add(f"harvest early and keep the nauplii {where} until the round")
    if request.nauplii_per_gram is None:
        notes.add(
            "no count of your own cysts, and old or damp ones hatch less than the data have it:"
            " weigh the cysts of a hatch and count drops of it ('journal count-helper')"
        )
    needed_g = math.fsum(setting.cysts_g for setting in settings)
    if request.cysts_g is not None and needed_g > request.cysts_g:
        notes.add(
            f"the tin holds only {request.cysts_g:g} g of the {needed_g:.2f} g needed: buy cysts"
        )
    return tuple(sorted(notes))


def _awake(request: HatchRequest) -> str:
    return f"{request.awake[0]:%H:%M} and {request.awake[1]:%H:%M}"


def _shown(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%d %H:%M")
