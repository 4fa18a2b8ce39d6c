"""From drops counted under a lens to a total, with an honest interval.

The counts of several drops spread at least as a Poisson law says and, since animals clump,
usually more; the spread of the drops themselves tells how much more.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from statistics import NormalDist

from attrs import frozen

from cultures.errors import RangeError, check_above_zero

#: Variance over mean that clumped animals show where the drops are too few to tell: interval
#: widths 1.4 times those of a random spread (Salonen et al. 2021, J. Plankton Res. 43:846).
USUAL_DISPERSION = 1.4**2
#: It weighs like so many drops (assumption).
_DISPERSION_WEIGHT = 4.0
#: Relative s.d. of the volume of a drop or a syringe mark (assumption).
VOLUME_SD = 0.05
#: Relative s.d. of a total that comes without its drops (assumption).
BARE_TOTAL_SD = 0.25

#: How the numbers of a count by drops are called.
_SAID = {"drop_ml": "the volume of a drop [mL]", "whole_ml": "the whole volume [mL]",
         "dilution": "how many times it was diluted"}  # fmt: skip


@frozen
class DropCount:
    """Animals counted in drops of one volume, taken from a well mixed whole.

    Attributes:
        counts: animals in each drop. drop_ml: volume of a drop [mL].
        whole_ml: volume that the drops stand for [mL]. dilution: how many times a part of
            it was diluted before the drops were taken; 1 for not at all.
    """

    counts: tuple[int, ...]
    drop_ml: float
    whole_ml: float
    dilution: float = 1.0

    def __attrs_post_init__(self) -> None:
        if not self.counts:
            raise RangeError("count at least one drop")
        if any(count < 0 for count in self.counts):
            raise RangeError("a drop cannot hold less than nothing")
        for name, said in _SAID.items():
            check_above_zero(said, getattr(self, name))
        if self.drop_ml > self.whole_ml:
            raise RangeError(f"a drop of {self.drop_ml:g} mL is more than {self.whole_ml:g} mL")
        if self.dilution < 1:
            raise RangeError(f"dilution must be 1 or more, got {self.dilution:g}")

    @property
    def counted(self) -> int:
        """Animals seen in all drops."""
        return sum(self.counts)

    @property
    def factor(self) -> float:
        """Animals in the whole for one in a drop."""
        return self.whole_ml / self.drop_ml * self.dilution

    @property
    def total(self) -> float:
        """Animals in the whole, by the mean of the drops."""
        return self.counted / len(self.counts) * self.factor

    @property
    def dispersion(self) -> float:
        """Variance over mean of the drops, never below 1; leaning on what is usual when few.

        References:
            Index of dispersion, sum of (x - mean)^2 / mean, which is chi-square on k - 1
            degrees for a random spread (Fisher, Thornton & Mackenzie 1922, Annals of Applied
            Biology 9:325-359, of haemacytometer and plate counts).
        """
        mean = self.counted / len(self.counts)
        if mean == 0:
            return USUAL_DISPERSION
        index = sum((count - mean) ** 2 for count in self.counts) / mean
        free = len(self.counts) - 1
        return max(
            1.0, (_DISPERSION_WEIGHT * USUAL_DISPERSION + index) / (_DISPERSION_WEIGHT + free)
        )

    @property
    def relative_sd(self) -> float:
        """Relative s.d. of the total: of the count and of the volumes."""
        return math.sqrt(self.dispersion / max(1.0, self.counted) + VOLUME_SD**2)

    def interval(self, level: float = 0.9) -> tuple[float, float]:
        """(low, high) within which the total lies at a level of trust.

        References:
            Gamma quantiles at count + 1/2 (Jeffreys' prior), widened by the dispersion as for
            a quasi-Poisson count, and by the volume error on a logarithmic scale.
        """
        shape = (self.counted + 0.5) / self.dispersion
        per_drop = self.factor / len(self.counts) * self.dispersion
        low = per_drop * gamma_quantile(shape, (1.0 - level) / 2.0)
        high = per_drop * gamma_quantile(shape, (1.0 + level) / 2.0)
        middle = max(self.total, per_drop * gamma_quantile(shape, 0.5))
        z = NormalDist().inv_cdf((1.0 + level) / 2.0) * VOLUME_SD
        return (
            middle * math.exp(-math.hypot(math.log(middle / low), z)),
            middle * math.exp(math.hypot(math.log(high / middle), z)),
        )

    def more_drops(self, *, share: float = 0.5) -> int | None:
        """Further drops that would narrow the interval to ``share`` of its width.

        None when the volume error alone is wider than that: measure the volumes better.
        """
        per_drop = self.dispersion / max(1.0, self.counted) * len(self.counts)
        left = (share * self.relative_sd) ** 2 - VOLUME_SD**2
        if left <= 0:
            return None
        return max(0, math.ceil(per_drop / left - 1e-9) - len(self.counts))

    def __str__(self) -> str:
        text = (
            f"{' '.join(map(str, self.counts))} in {self.drop_ml:g} mL each of {self.whole_ml:g} mL"
        )
        return text if self.dilution == 1 else f"{text}, diluted {self.dilution:g} times"


_DROPS = re.compile(
    r"^([0-9]{1,9}(?: [0-9]{1,9})*) in (\S+) mL each of (\S+) mL(?:, diluted (\S+) times)?$"
)  # fmt: skip


def read_drops(text: str) -> DropCount | None:
    """Drops as :class:`DropCount` writes them, or None for any other text.

    Examples:
        >>> drops = read_drops("9 12 8 in 0.05 mL each of 1000 mL")
        >>> drops.counts
        (9, 12, 8)
    """
    match = _DROPS.match(text)
    if match is None:
        return None
    try:
        counts = tuple(int(word) for word in match[1].split())
        return DropCount(counts, float(match[2]), float(match[3]), float(match[4] or 1.0))
    except ValueError:
        return None


def relative_sd(text: str) -> float:
    """Relative s.d. of a total, by the drops that are written beside it, if any."""
    drops = read_drops(text)
    return BARE_TOTAL_SD if drops is None else drops.relative_sd


@lru_cache(maxsize=256)
def gamma_quantile(shape: float, p: float) -> float:
    """x at which a gamma law of this shape (scale 1) has probability ``p`` below it.

    References:
        Wilson & Hilferty 1931 as a start, then bisection on the regularised incomplete gamma
        function (series and continued fraction, Abramowitz & Stegun 6.5.29 and 6.5.31).

    Examples:
        With shape 1 it is the exponential law, whose median is ln 2.

        >>> round(gamma_quantile(1.0, 0.5), 6)
        0.693147
    """
    low, high = 0.0, max(1.0, shape)
    while gamma_cdf(shape, high) < p:
        high *= 2.0
    while high - low > 1e-12 * high:
        middle = (low + high) / 2.0
        if gamma_cdf(shape, middle) < p:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def gamma_cdf(shape: float, x: float) -> float:
    """P(a, x), the regularised lower incomplete gamma function.

    References:
        Abramowitz & Stegun 1964, 6.5.29 (series) and 6.5.31 (continued fraction, evaluated
        by Lentz's method).
    """
    if x <= 0:
        return 0.0
    front = math.exp(shape * math.log(x) - x - math.lgamma(shape))
    if x < shape + 1.0:
        term = total = 1.0 / shape
        n = shape
        while term > total * 1e-16:
            n += 1.0
            term *= x / n
            total += term
        return total * front
    tiny = 1e-300
    b = x + 1.0 - shape
    c, d = 1.0 / tiny, 1.0 / b
    h = d
    for i in range(1, 10000):
        a = -i * (i - shape)
        b += 2.0
        d = 1.0 / (a * d + b or tiny)
        c = b + a / c or tiny
        step = c * d
        h *= step
        if abs(step - 1.0) < 1e-15:
            break
    return 1.0 - front * h
