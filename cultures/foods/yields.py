"""What one culture gives, day by day, when it is harvested once a day.

Days are real days since the start, at the hour of the start; the culture itself lives on
physiological time (:mod:`cultures.foods.temperature`).
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from attrs import evolve, field, frozen

from cultures.errors import RangeError, check_above_zero
from cultures.foods.kinds import WormKind
from cultures.foods.parameters import drawn_values, eight_in_ten
from cultures.foods.souring import CultureClock
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.worms import GrowthStep, WormModel, age_of_medium, last_useful_age, through

#: A culture that is still good after so many days is taken as good for ever [d].
LONGEST_DAYS = 3000

#: The best fraction is looked for in this many steps of the largest one.
_FRACTION_STEPS = 20
#: A smaller fraction is preferred when it gives nearly as much: it comes every day.
_NEARLY_BEST = 0.05


@frozen
class Upkeep:
    """What a keeper does to a culture besides harvesting.

    Attributes:
        topup_g: fresh medium mixed in each time [g]. topup_every: days between.
        split_day: day on which a starter is taken from it, or None.
        split_mg: worms that the starter takes away [mg wet].
    """

    topup_g: float = 0.0
    topup_every: int = 0
    split_day: int | None = None
    split_mg: float = 0.0

    def __attrs_post_init__(self) -> None:
        if not (self.topup_g >= 0 and math.isfinite(self.topup_g)):
            raise RangeError(f"a top-up must be 0 g or more, got {self.topup_g:g}")
        if self.topup_g > 0 and self.topup_every < 1:
            raise RangeError("a top-up needs the days between two of them, 1 or more")
        if not (self.split_mg >= 0 and math.isfinite(self.split_mg)):
            raise RangeError(f"a starter must be 0 mg or more, got {self.split_mg:g}")


@frozen
class Setup:
    """One culture as it is started.

    Attributes:
        kind: what lives in it.
        medium_g: mass of medium; 1 mL of a liquid counts as 1 g [g].
        surface_cm2: surface of the medium, or None where only the mass counts [cm²].
        starter_mg: worms carried over [mg wet].
        upkeep: top-ups and a split.
    """

    kind: WormKind
    medium_g: float
    surface_cm2: float | None
    starter_mg: float
    upkeep: Upkeep = field(factory=Upkeep)

    def __attrs_post_init__(self) -> None:
        check_above_zero("the medium", self.medium_g, " g")
        if self.surface_cm2 is not None:
            check_above_zero("the surface", self.surface_cm2, " cm2")
        if not (self.starter_mg > 0 and math.isfinite(self.starter_mg)):
            raise RangeError(f"the starter must hold worms: above 0 mg, got {self.starter_mg:g}")

    def model(self, medium_g: float | None = None) -> WormModel:
        """The culture's model, with its own mass of medium or another [g]."""
        medium_g = self.medium_g if medium_g is None else medium_g
        return self.kind.model(medium_g=medium_g, surface_cm2=self.surface_cm2)


@frozen
class YieldDay:
    """One day: stock before the harvest and harvest [mg wet], and the harvest's energy [J]."""

    day: int
    stock_mg: float
    harvest_mg: float
    energy_j: float


@frozen
class YieldCurve:
    """What a culture gives.

    Attributes:
        first_harvest_day: first day on which worms can be taken; None: never.
        days: every day from the start to the last useful one (or as many as were asked for).
        fraction: share of the stock taken at a harvest.
        last_useful_day: day after which the medium is spent.
    """

    first_harvest_day: int | None
    days: tuple[YieldDay, ...]
    fraction: float
    last_useful_day: int

    @property
    def total_mg(self) -> float:
        """All harvests [mg wet]."""
        return math.fsum(day.harvest_mg for day in self.days)

    @property
    def total_j(self) -> float:
        """Energy of all harvests [J]."""
        return math.fsum(day.energy_j for day in self.days)

    @property
    def daily_mg(self) -> float:
        """Mean harvest a day from the first harvest to the end [mg wet]."""
        if self.first_harvest_day is None:
            return 0.0
        return self.total_mg / max(1, len(self.days) - self.first_harvest_day)


@frozen
class _Visit:
    """What a day of the culture's life is whatever was harvested before."""

    step: GrowthStep
    model: WormModel
    climbs_from_mg: float


def daily_yield(
    setup: Setup,
    *,
    series: TemperatureSeries,
    start_h: float = 0.0,
    fraction: float | None = None,
    days: int | None = None,
) -> YieldCurve:
    """The yield of a culture that is harvested once a day.

    Args:
        setup: the culture.
        series: the temperature it stands at.
        start_h: when it is started [h since the epoch].
        fraction: share of the stock to take at a harvest, 0 to leave the culture alone;
            the best one when None.
        days: days to show; up to the last useful day when None.

    Raises:
        RangeError: a temperature at which the kind dies or does not grow, or a fraction
            that is not 0 to the largest that a keeper takes in a day.

    Notes:
        The best fraction is the smallest whose total up to the last useful day comes
        within 5 % of the largest, to a twentieth of the largest one. The first
        harvest is taken on the first day on which worms climb, the last on the last useful
        day.

    References:
        :func:`cultures.foods.worms.growth_step` from harvest to harvest.
    """
    _check_temperatures(setup.kind, series, start_h)
    clock = CultureClock.of(series, setup.kind)
    visits, last_day = _visits(setup, clock, start_h, at_least=days or 0)
    useful = visits[: last_day + 1]
    most = visits[0].model.harvest_share()
    if fraction is None:
        fraction = _best_fraction(setup, useful, most)
    elif not 0 <= fraction <= most:
        raise RangeError(
            f"the share taken at a harvest must be 0 (none) to {most:g} (the most in a day),"
            f" got {fraction:g}"
        )
    visits = useful if days is None else visits[: days + 1]
    stocks = _stocks(setup, visits, fraction, last_day)
    energy = setup.kind.values["energy_j_per_mg"]
    listed = tuple(
        YieldDay(day=day, stock_mg=stock, harvest_mg=taken, energy_j=taken * energy)
        for day, (stock, taken) in enumerate(stocks)
    )
    first = next((d for d, s in enumerate(stocks) if _climbs(visits[d], s[0], d, last_day)), None)
    return YieldCurve(
        first_harvest_day=first, days=listed, fraction=fraction, last_useful_day=last_day
    )


def yield_interval(
    setup: Setup,
    *,
    series: TemperatureSeries,
    start_h: float = 0.0,
    fraction: float,
    draws: int = 200,
) -> dict[str, tuple[float, float]]:
    """Intervals that hold eight in ten draws of the parameters from their ranges.

    Args:
        setup, series, start_h: as for :func:`daily_yield`.
        fraction: share of the stock taken, held fixed (less where a draw allows less).
        draws: sets of parameters drawn; the same ones every time.

    Returns:
        (low, high) of ``first_harvest_day``, ``last_useful_day``, ``total`` [mg wet],
        ``daily`` [mg wet] and ``total_energy_j`` [J].

    References:
        Plain Monte Carlo; the distribution is that of
        :func:`cultures.foods.parameters.drawn_values`. docs/models.md, section "Ranges".
    """
    generator = random.Random(20260101)
    curves: list[YieldCurve] = []
    for _ in range(draws):
        kind = evolve(setup.kind, values=drawn_values(setup.kind.parameters, generator))
        drawn = evolve(setup, kind=kind)
        share = min(fraction, drawn.model().harvest_share())
        try:
            curves.append(daily_yield(drawn, series=series, start_h=start_h, fraction=share))
        except RangeError:  # this draw does not grow at this temperature
            continue
    if not curves:
        raise RangeError("no set of parameters within the ranges grows at this temperature")
    firsts = [c.first_harvest_day for c in curves if c.first_harvest_day is not None]
    return {
        "first_harvest_day": eight_in_ten([float(day) for day in firsts]),
        "last_useful_day": eight_in_ten([float(c.last_useful_day) for c in curves]),
        "total": eight_in_ten([c.total_mg for c in curves]),
        "daily": eight_in_ten([c.daily_mg for c in curves]),
        "total_energy_j": eight_in_ten([c.total_j for c in curves]),
    }


def _check_temperatures(kind: WormKind, series: TemperatureSeries, start_h: float) -> None:
    end_h = start_h + 24.0 * LONGEST_DAYS
    changes = zip(series.starts, series.values_c, strict=True)
    later = (degrees for since_h, degrees in changes if start_h < since_h < end_h)
    for temperature_c in (series.at(start_h), *later):
        wrong = kind.check_temperature(temperature_c)
        if wrong:
            raise RangeError(f"{temperature_c:.3g} °C: {wrong}")


def _visits(
    setup: Setup, clock: CultureClock, start_h: float, at_least: int
) -> tuple[list[_Visit], int]:  # fmt: skip
    """Every day's age and model up to the end of the medium, and the last useful day."""
    upkeep, retire_share = setup.upkeep, setup.kind.values["retire_share"]
    medium_g = setup.medium_g
    model = setup.model()
    end = last_useful_age(model, retire_share)
    visits = [_visit(model, 0.0, 0.0)]
    age, last_day = 0.0, -1
    for day in range(1, LONGEST_DAYS + 1):
        before, since_h, at_h = age, start_h + 24.0 * (day - 1), start_h + 24.0 * day
        age += clock.days(since_h, at_h)
        if age > end and last_day < 0:
            last_day = day - 1
        if last_day >= 0 and day > at_least:
            break
        visits.append(_visit(model, before, age, clock.pace(since_h, at_h)))
        if upkeep.topup_every and last_day < 0 and day % upkeep.topup_every == 0:
            fuller = setup.model(medium_g + upkeep.topup_g)
            age = age_of_medium(model, age, fuller, upkeep.topup_g / (medium_g + upkeep.topup_g))
            medium_g += upkeep.topup_g
            model = fuller
    # Not by the age, which fresh medium may set back to nothing.
    if clock.growing.days(start_h, start_h + 24.0 * LONGEST_DAYS) <= 0:
        raise RangeError(
            f"{setup.kind.label} does not grow at this temperature; keep it above"
            f" {setup.kind.values['t_min_c']:g} and below {setup.kind.values['t_max_c']:g} °C"
        )
    return visits, last_day if last_day >= 0 else LONGEST_DAYS


def _visit(model: WormModel, before: float, age: float, pace: float = 1.0) -> _Visit:
    climbs_from = model.climbing_density * model.capacity_at(age)
    return _Visit(
        step=model.step(before, age, pace),
        model=model,
        climbs_from_mg=math.inf if age < model.lag else climbs_from,
    )


def _stocks(
    setup: Setup, visits: Sequence[_Visit], fraction: float, last_day: int
) -> list[tuple[float, float]]:
    """(stock before the harvest, harvest) of each day [mg wet]."""
    upkeep = setup.upkeep
    stock = min(setup.starter_mg, visits[0].model.capacity_at(0.0))
    result: list[tuple[float, float]] = []
    for day, visit in enumerate(visits):
        stock = through(visit.step, stock)
        taken = 0.0
        if _climbs(visit, stock, day, last_day):
            taken = min(fraction * stock, visit.model.harvestable(stock))
        result.append((stock, taken))
        stock -= taken
        if upkeep.split_day == day:
            stock = max(0.0, stock - upkeep.split_mg)
    return result


def _climbs(visit: _Visit, stock_mg: float, day: int, last_day: int) -> bool:
    return day <= last_day and stock_mg >= visit.climbs_from_mg and stock_mg > 0


def _best_fraction(setup: Setup, visits: Sequence[_Visit], most: float) -> float:
    def total(fraction: float) -> float:
        return math.fsum(taken for _, taken in _stocks(setup, visits, fraction, len(visits)))

    tried = [most * step / _FRACTION_STEPS for step in range(1, _FRACTION_STEPS + 1)]
    totals = [total(fraction) for fraction in tried]
    good = (1.0 - _NEARLY_BEST) * max(totals)
    return next(f for f, amount in zip(tried, totals, strict=True) if amount >= good)
