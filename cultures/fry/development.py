"""How fast eggs and yolk larvae develop by temperature, a straight line, and how fast fry grow: a
Q10 law that fades out in the cold.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from attrs import frozen

from cultures.foods.temperature import Q10

#: Above the zero of its line by less than this, a class gets no promised date [°C].
NEAR_ZERO_C = 4.0
#: Where no range is given of the limit, growth fades out this far either side of it [°C]; most
#: classes have two degrees (assumption).
_EITHER_SIDE_C = 2.0


@frozen
class EffectiveTemperature:
    """Development rate proportional to T - t0, so that days = D / (T - t0).

    Attributes:
        t0_c: where the line meets zero; no development at or below it [°C].
        t_ref_c: temperature at which the rate is 1 [°C].
        t_max_c: the rate is held flat above [°C].

    Notes:
        The line is fitted within the range in which few eggs die. Close to t0 eggs still
        hatch that it says would not (pike at 3 °C, Bondarenko et al. 2015), and near the
        upper limit hatching stops getting faster, hence :meth:`promised`.

    References:
        Kamler 2002, Ontogeny of yolk-feeding fish: an ecological perspective, Reviews in
        Fish Biology and Fisheries 12:79-103: in 44 species 1/time is a straight line in
        temperature (r2 0.92 to 1.00), while plain day-degrees mislead. Kimmel et al. 1995
        give the zebrafish in the same form.
    """

    t0_c: float
    t_ref_c: float
    t_max_c: float

    def __call__(self, temperature_c: float) -> float:
        if temperature_c <= self.t0_c:
            return 0.0
        return (min(temperature_c, self.t_max_c) - self.t0_c) / (self.t_ref_c - self.t0_c)

    def days(self, days_at_reference: float, temperature_c: float) -> float:
        """How long a stage lasts at a constant temperature [d]; infinity where it never ends."""
        rate = self(temperature_c)
        return days_at_reference / rate if rate > 0 else math.inf

    def promised(self, temperature_c: float) -> bool:
        """Whether a date reckoned at this temperature deserves trust."""
        return self.t0_c + NEAR_ZERO_C <= temperature_c <= self.t_max_c


def growth_law(values: Mapping[str, float], low_c: float, high_c: float) -> Q10:
    """Relative speed of growth, 1 at ``t_ref_c``.

    Args:
        values: of a fry class, as in its data.
        low_c, high_c: the range of its ``t_min_c`` [°C]: growth ends at the one, and is the
            whole law from the other on, at the latest from ``t_ref_c`` on.
    """
    v = values
    if high_c <= low_c:
        low_c, high_c = v["t_min_c"] - _EITHER_SIDE_C, v["t_min_c"] + _EITHER_SIDE_C
    full_from_c = min(high_c, v["t_ref_c"])
    return Q10(v["growth_q10"], v["t_ref_c"], low_c, v["t_max_c"], full_from_c)
