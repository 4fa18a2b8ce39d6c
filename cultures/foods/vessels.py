"""Vessels in which hatches are set."""

from __future__ import annotations

from attrs import frozen

#: The salt of a hatch where nothing is said of it [g/L].
USUAL_SALINITY_G_PER_L = 25.0


@frozen
class Vessel:
    """A bottle or cone in which hatches are set; ``lost_h`` as for a culture."""

    name: str
    litres: float
    temperature_c: float
    salinity_g_per_l: float
    lost_h: float | None = None
