"""A brine shrimp hatch: cysts in salt water, nauplii, and the energy they carry.

Incubation time is counted in physiological hours at the reference temperature of
the kind; the energy of a nauplius falls on a clock of its own, in real hours.
"""

from __future__ import annotations

import math
from functools import lru_cache

from attrs import frozen

from cultures.errors import RangeError

#: exp() of more than this is taken as "not one cyst yet" rather than risking an overflow.
_LARGEST_EXPONENT = 650.0

#: ln(F / (1 - F)) beyond which the hatch is taken as not begun or as complete (1e-7).
_LAST_LOGIT = 16.0
#: A harvest window that is still open then is taken as open for ever [h].
_FOR_EVER_H = 1e5
#: Where less than this share of what will ever hatch is out, it has hardly begun (assumption).
BEGUN_SHARE = 0.1
#: Longest panel of the quadrature over that scale.
_PANEL = 8.0

#: Gauss-Legendre nodes and weights on [-1, 1], 12 points (Abramowitz & Stegun, table 25.4).
_NODES = (
    0.125233408511469, 0.367831498998180, 0.587317954286617,
    0.769902674194305, 0.904117256370475, 0.981560634246719,
)  # fmt: skip
_WEIGHTS = (
    0.249147045813403, 0.233492536538355, 0.203167426723066,
    0.160078328543346, 0.106939325995318, 0.047175336386512,
)  # fmt: skip


def log_logistic_shape(*, t10_h: float, t90_h: float) -> tuple[float, float]:
    """(t50, b) of the log-logistic that passes through 10 % at t10 and 90 % at t90 [h].

    References:
        From F(t) = 1 / (1 + (t50 / t)^b): t50 = sqrt(t10 t90), b = 2 ln 9 / ln(t90 / t10).
    """
    if not 0 < t10_h < t90_h:
        raise RangeError(f"T10 must be above 0 and below T90, got {t10_h:g} h and {t90_h:g} h")
    return math.sqrt(t10_h * t90_h), 2.0 * math.log(9.0) / math.log(t90_h / t10_h)


def hatched_fraction(time_h: float, *, t50_h: float, shape: float) -> float:
    """Share of the hatchable cysts that have hatched by a physiological time [h].

    References:
        Log-logistic of time, through the T10 and T90 that hatching trials report
        (Vanhaecke & Sorgeloos 1982, Aquacultural Engineering 1:263-273, use T10 and T90).

    Examples:
        Half have hatched at T50, whatever the shape.

        >>> hatched_fraction(20.0, t50_h=20.0, shape=12.0)
        0.5
    """
    if time_h <= 0:
        return 0.0
    # In logarithms, since (t50 / t)^b overflows for the first minutes.
    exponent = shape * (math.log(t50_h) - math.log(time_h))
    return 1.0 / (1.0 + math.exp(exponent)) if exponent < _LARGEST_EXPONENT else 0.0


def standing_value(
    time_h: float, *, t50_h: float, shape: float, rate: float, loss_per_h: float
) -> float:
    """Energy standing in the vessel, as a share of that of all hatchable cysts just hatched.

    The integral over s <= t of f(s) exp(-k (t - s)), with f the hatching density. In
    x = ln(F / (1 - F)) it is the integral of F (1 - F) exp(-k (t - s(x))), a smooth bump
    whatever the shape, taken by Gauss-Legendre panels.

    Args:
        time_h: real hours since the cysts were wetted.
        t50_h, shape: the log-logistic, in physiological hours.
        rate: physiological hours per real hour at the vessel's temperature.
        loss_per_h: k at the vessel's temperature [1/real h].

    Notes:
        Good to about 1e-6 of the whole; tested against adaptive quadrature.

    References:
        Own derivation, docs/models.md, section "A hatch".
    """
    if time_h <= 0 or rate <= 0:
        return 0.0
    half_h = t50_h / rate
    # Two logarithms, since time_h / half_h is 0 for the smallest of times.
    end = min(shape * (math.log(time_h) - math.log(half_h)), _LAST_LOGIT)
    if end <= -_LAST_LOGIT:
        return 0.0
    panels = math.ceil((end + _LAST_LOGIT) / _PANEL)
    half = (end + _LAST_LOGIT) / (2 * panels)
    total = 0.0
    for panel in range(panels):
        centre = -_LAST_LOGIT + (2 * panel + 1) * half
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            for x in (centre - half * node, centre + half * node):
                odds = math.exp(x)
                age_h = time_h - half_h * math.exp(x / shape)
                total += weight * odds / (1.0 + odds) ** 2 * math.exp(-loss_per_h * age_h)
    return half * total


@frozen
class HatchModel:
    """One strain in one vessel, ready to compute with.

    Attributes:
        t50_h, shape: log-logistic in physiological hours.
        rate: physiological hours per real hour in this vessel.
        nauplii_per_gram: hatchable cysts, as nauplii that one gram gives in the end.
        energy_j: energy of a nauplius just hatched [J].
        loss_per_h: relative energy spent an hour at the vessel's temperature [1/h].
    """

    t50_h: float
    shape: float
    rate: float
    nauplii_per_gram: float
    energy_j: float
    loss_per_h: float

    def nauplii(self, hours: float) -> float:
        """Nauplii standing per gram of cysts after ``hours`` of incubation."""
        return self.nauplii_per_gram * hatched_fraction(
            hours * self.rate, t50_h=self.t50_h, shape=self.shape
        )

    def energy(self, hours: float) -> float:
        """Energy standing per gram of cysts after ``hours`` of incubation [J/g]."""
        return self.nauplii_per_gram * self.energy_j * _value(self, hours)

    def is_out(self, hours: float, share: float) -> bool:
        """Whether so much of what it will ever give has hatched; of nothing, all has."""
        return self.nauplii(hours) >= share * self.nauplii_per_gram

    def is_stale(self, hours: float, keeps_h: float) -> bool:
        """Whether it stood longer past its best than nauplii keep where they hatched [h]."""
        return self.rate > 0 and hours > self.best_hours() + keeps_h

    def best_hours(self) -> float:
        """Incubation that gives the most energy [h].

        V rises and then falls, once each; a golden-section search finds the top to a
        minute or so.
        """
        return _best_hours(self)

    def window(self, share: float) -> tuple[float, float]:
        """(from, to): incubations that give at least ``share`` of the best energy [h]."""
        return _window(self, share)


@lru_cache(maxsize=4096)
def _value(model: HatchModel, hours: float) -> float:
    return standing_value(
        hours, t50_h=model.t50_h, shape=model.shape, rate=model.rate, loss_per_h=model.loss_per_h
    )


@lru_cache(maxsize=64)
def _best_hours(model: HatchModel) -> float:
    if model.rate <= 0:
        raise RangeError("cysts do not develop at this temperature")
    low, high = 0.5 * model.t50_h / model.rate, 6.0 * model.t50_h / model.rate
    # A long hatch that loses little is best much later, and one that loses fast earlier.
    while _value(model, low) > _value(model, 1.1 * low):
        low /= 2.0
    while _value(model, high) > _value(model, 0.9 * high):
        high *= 2.0
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    value_a, value_b = _value(model, a), _value(model, b)
    while high - low > 0.02:
        if value_a < value_b:
            low, a, value_a = a, b, value_b
            b = low + ratio * (high - low)
            value_b = _value(model, b)
        else:
            high, b, value_b = b, a, value_a
            a = high - ratio * (high - low)
            value_a = _value(model, a)
    return (low + high) / 2.0


@lru_cache(maxsize=64)
def _window(model: HatchModel, share: float) -> tuple[float, float]:
    best = _best_hours(model)
    target = share * _value(model, best)
    rising = _crossing(model, target, 0.0, best)
    outside = 2.0 * best
    while _value(model, outside) >= target and outside < _FOR_EVER_H:
        outside *= 2.0
    falling = _crossing(model, target, outside, best)
    return rising, falling


def _crossing(model: HatchModel, target: float, outside: float, inside: float) -> float:
    while abs(outside - inside) >= 0.02:
        middle = (outside + inside) / 2.0
        if _value(model, middle) >= target:
            inside = middle
        else:
            outside = middle
    return inside


def held_share(hours: float, *, loss_per_h: float, death_per_h: float) -> float:
    """Share of the harvested energy that is still there after holding for ``hours``.

    References:
        First-order loss and death; levels are data (cold: Ghent University course and
        the KKT1 strain study, Journal of Biological Research 2005).

    Examples:
        A day at 1 % an hour leaves exp(-0.24).

        >>> round(held_share(24.0, loss_per_h=0.01, death_per_h=0.0), 4)
        0.7866
    """
    return math.exp(-(loss_per_h + death_per_h) * max(0.0, hours))
