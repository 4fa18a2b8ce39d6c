"""How fast fry grow by temperature: a Q10 law that fades out in the cold."""

from __future__ import annotations

from collections.abc import Mapping

from cultures.foods.temperature import Q10

#: Where no range is given of the limit, growth fades out this far either side of it [°C]; most
#: classes have two degrees (assumption).
_EITHER_SIDE_C = 2.0


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
