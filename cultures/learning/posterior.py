"""Updates of a normal prior by readings that share their group's luck, robust to blunders.

Everything is on a logarithmic scale, so a standard deviation is a relative one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from statistics import NormalDist
from typing import NamedTuple

from attrs import frozen

#: Degrees of freedom of the Student law that stands behind the weights of readings.
_FREEDOM = 4.0
_ITERATIONS = 40
#: Where the top near the middle fits badly, another is looked for from so many s.d. off it.
_STARTS = (-1.5, 1.5, 3.0)
#: The straight line of the approximation is too sure of the time factor by about a tenth,
#: as seen with simulated keepers (docs/learning.md).
_SPEED_WIDENED = 1.1


@frozen
class Normal:
    """A normal law of a logarithm."""

    mean: float
    sd: float

    def interval(self, level: float) -> tuple[float, float, float]:
        """(middle, low, high) of the quantity itself."""
        z = NormalDist().inv_cdf((1.0 + level) / 2.0) * self.sd
        return math.exp(self.mean), math.exp(self.mean - z), math.exp(self.mean + z)


class Reading(NamedTuple):
    """One reading: logarithm, its own s.d., and for hatches the physiological hours."""

    value: float
    sd: float
    tau_h: float = 0.0


def fit_level(
    groups: Mapping[str, Sequence[Reading]],
    weights: Mapping[str, float],
    prior: Normal,
    *,
    spread: float,
) -> Normal:
    """A level from grouped readings.

    A reading is level + the group's own luck (s.d. ``spread``) + its error. Without
    blunders and with weights 1 this is the conjugate normal update, exactly.

    References:
        Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., sections 2.5 and 5.4 (normal
        levels with groups) and 17.2 (Student errors as weights); from memory.
    """
    level = prior.mean
    robust = {name: [1.0] * len(rows) for name, rows in groups.items()}
    precision = 1.0 / prior.sd**2
    for _ in range(_ITERATIONS):
        total, pull = 1.0 / prior.sd**2, prior.mean / prior.sd**2
        for name, rows in groups.items():
            trusts = [_trust(r.sd, spread, w) for r, w in zip(rows, robust[name], strict=True)]
            inner = sum(trusts)
            mean = sum(trust * r.value for r, trust in zip(rows, trusts, strict=True))
            information = weights[name] / (1.0 / inner + spread**2)
            total += information
            pull += information * mean / inner
        before, level, precision = level, pull / total, total
        for name, rows in groups.items():
            robust[name] = [_weight(r.value - level, math.hypot(r.sd, spread)) for r in rows]
        if abs(level - before) < 1e-10:
            break
    return Normal(level, 1.0 / math.sqrt(precision))


def _weight(residual: float, sd: float) -> float:
    """How much a reading counts; at most 1, so that agreement makes nothing surer."""
    return min(1.0, (_FREEDOM + 1.0) / (_FREEDOM + (residual / sd) ** 2))


def loosened(found: Normal, prior: Normal, common_sd: float) -> Normal:
    """A posterior whose readings all share one more error, the same for all of them."""
    information = 1.0 / found.sd**2 - 1.0 / prior.sd**2
    if information <= 1e-12:
        return found
    seen = (found.mean / found.sd**2 - prior.mean / prior.sd**2) / information
    information = 1.0 / (1.0 / information + common_sd**2)
    total = information + 1.0 / prior.sd**2
    return Normal((information * seen + prior.mean / prior.sd**2) / total, total**-0.5)


def _trust(sd: float, spread: float, weight: float) -> float:
    """Precision of a reading's own error that makes its whole variance 1 / weight as large."""
    return 1.0 / ((sd**2 + spread**2) / weight - spread**2)


def fit_hatches(
    groups: Mapping[str, Sequence[Reading]],
    weights: Mapping[str, float],
    level: Normal,
    speed: Normal,
    log_share: Callable[[float], float],
    *,
    spread: float,
) -> tuple[Normal, Normal]:
    """Level (nauplii a gram) and time factor of hatches, together.

    A reading is level + log_share(tau / exp(speed)) + the hatch's luck + its error; the
    posterior is normal about its top (Laplace), found by Gauss-Newton steps. Where a batch takes
    much longer or less than is usual there is more than one top, so they are taken from several
    times, and the highest counts.

    References:
        Gelman et al. 2013, section 4.1 (normal approximation at the mode); from memory.
    """
    fit = _HatchFit(groups, weights, level, speed, log_share, spread)
    readings = sum(len(rows) for rows in groups.values())
    height, found = fit.top(speed.mean)
    for sds in _STARTS:
        if height <= readings:  # it fits as well as chance has it
            break
        height, found = min((height, found), fit.top(speed.mean + sds * speed.sd),
                            key=lambda top: top[0])  # fmt: skip
    return found


@frozen(eq=False)
class _HatchFit:
    """Readings of hatches, and what is thought of them before."""

    groups: Mapping[str, Sequence[Reading]]
    weights: Mapping[str, float]
    level: Normal
    speed: Normal
    log_share: Callable[[float], float]
    spread: float

    def top(self, s: float) -> tuple[float, tuple[Normal, Normal]]:
        """(its height, downward; the law about it) of the top that is reached from a speed."""
        level, speed = self.level, self.speed
        a = level.mean
        robust = self._robust(a, s) if s != speed.mean else {
            name: [1.0] * len(rows) for name, rows in self.groups.items()
        }  # fmt: skip
        for _ in range(_ITERATIONS):
            h11, h12, h22 = 1.0 / level.sd**2, 0.0, 1.0 / speed.sd**2
            g1, g2 = (level.mean - a) * h11, (speed.mean - s) * h22
            for name, rows in self.groups.items():
                j11, j12, j22, b1, b2 = self._group(rows, robust[name], a, s)
                w = self.weights[name]
                h11, h12, h22 = h11 + w * j11, h12 + w * j12, h22 + w * j22
                g1, g2 = g1 + w * b1, g2 + w * b2
            determinant = h11 * h22 - h12**2
            step_a = (h22 * g1 - h12 * g2) / determinant
            step_s = (h11 * g2 - h12 * g1) / determinant
            step_s = max(-0.1, min(0.1, step_s))
            a, s = a + step_a, s + step_s
            robust = self._robust(a, s)
            if abs(step_a) + abs(step_s) < 1e-9:
                break
        determinant = h11 * h22 - h12**2
        speed_sd = min(speed.sd, _SPEED_WIDENED * math.sqrt(h11 / determinant))
        return self._height(a, s), (
            Normal(a, math.sqrt(h22 / determinant)), Normal(s, speed_sd),
        )  # fmt: skip

    def _group(
        self, rows: Sequence[Reading], robust: Sequence[float], a: float, s: float
    ) -> tuple[float, float, float, float, float]:
        """Information and pull of one hatch; its luck is integrated out (Woodbury's identity)."""
        share = self.log_share
        slopes = residuals = slope2 = cross = total = 0.0
        for r, w in zip(rows, robust, strict=True):
            p = _trust(r.sd, self.spread, w)
            tau = r.tau_h / math.exp(s)
            d = (share(tau * math.exp(-1e-4)) - share(tau * math.exp(1e-4))) / 2e-4
            e = r.value - a - share(tau)
            total += p
            slopes += p * d
            residuals += p * e
            slope2 += p * d * d
            cross += p * d * e
        luck = 1.0 / self.spread**2 + total if self.spread > 0 else math.inf
        return (
            total - total * total / luck,
            slopes - total * slopes / luck,
            slope2 - slopes * slopes / luck,
            residuals - total * residuals / luck,
            cross - slopes * residuals / luck,
        )

    def _off(self, row: Reading, a: float, s: float) -> float:
        """How far a reading is off, over its s.d."""
        off = row.value - a - self.log_share(row.tau_h / math.exp(s))
        return off / math.hypot(row.sd, self.spread)

    def _robust(self, a: float, s: float) -> dict[str, list[float]]:
        return {
            name: [_weight(self._off(r, a, s), 1.0) for r in rows]
            for name, rows in self.groups.items()
        }

    def _height(self, a: float, s: float) -> float:
        """Minus the logarithm of the posterior, with Student errors."""
        total = ((a - self.level.mean) / self.level.sd) ** 2 / 2.0
        total += ((s - self.speed.mean) / self.speed.sd) ** 2 / 2.0
        for name, rows in self.groups.items():
            tails = (math.log1p(self._off(r, a, s) ** 2 / _FREEDOM) for r in rows)
            total += self.weights[name] * (_FREEDOM + 1.0) / 2.0 * math.fsum(tails)
        return total
