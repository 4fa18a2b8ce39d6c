"""Limits beyond which a figure is taken for a slip (``data/limits.toml``)."""

from __future__ import annotations

from functools import lru_cache

from cultures.foods.parameters import data_table


@lru_cache(maxsize=1)
def _limits() -> dict[str, float]:
    return {name: float(row["value"]) for name, row in data_table("limits.toml").items()}


def cysts_slip(cysts_g: float, litres: float) -> str | None:
    """Why nobody sets so many cysts in so much water, or None."""
    most = _limits()["cysts_g_per_l"]
    if cysts_g <= most * litres:
        return None
    return (
        f"{cysts_g:,.6g} g of cysts in {litres:g} L of water; more than {most:g} g/L is taken for a"
        " slip"
    )


def salinity_slip(salinity_g_per_l: float) -> str | None:
    """Why nobody hatches in so little salt, or None."""
    least = _limits()["salinity_g_per_l"]
    if salinity_g_per_l >= least:
        return None
    return f"{salinity_g_per_l:g} g/L is fresh water; use 20 to 35 g/L"


def depth_slip(medium_g: float, surface_cm2: float) -> str | None:
    """Why a solid medium (1 g/mL) does not lie on such a surface, or None."""
    depth_cm = medium_g / surface_cm2
    low, high = (_limits()[f"medium_{which}_cm"] for which in ("thinnest", "deepest"))
    if low <= depth_cm <= high:
        return None
    return (
        f"{medium_g:g} g of medium would lie {depth_cm:.2g} cm deep on {surface_cm2:g} cm2;"
        f" {low:g} to {high:g} cm are possible"
    )
