"""Limits beyond which a figure is taken for a slip, or a room for none (``data/limits.toml``).

It may import nothing. It hands out the limits, and why a figure lies beyond one.
"""

from __future__ import annotations

import tomllib
from functools import lru_cache
from pathlib import Path

_TABLE = Path(__file__).with_name("data") / "limits.toml"
_MB = 1 << 20


@lru_cache(maxsize=1)
def _limits() -> dict[str, int | float]:
    table = tomllib.loads(_TABLE.read_text("utf-8"))
    return {name: row["value"] for name, row in table.items()}


def most(what: str) -> int:
    """How many of something there may be."""
    return int(_limits()[what])


def most_bytes(what: str) -> int:
    """How large a file may be [bytes]."""
    return int(_limits()[f"{what}_mb"] * _MB)


def too_many(what: str, count: int, words: str) -> str | None:
    """Why there may not be so many of something, or None; ``words``: how it is called."""
    if count <= most(what):
        return None
    return f"{count:,} {words} are more than any room has; at most {most(what):,} are read"


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
