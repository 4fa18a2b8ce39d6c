"""Numbers that an event may bring as a total or as the drops behind it, and what drops come to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

from cli.journal.amounts import whole
from cli.options import UsageProblemError
from cli.screens.text import wrapped
from cultures.errors import UnitError
from cultures.journal.counting import DropCount
from cultures.words.numbers import whole_number
from cultures.words.quantities import many, number

#: The interval of a total holds so often.
_LEVEL = 0.9
#: The drops behind a count.
DROPS = (
    click.option("--drops", "counts", metavar='"12 9 15"', help="Animals in each drop counted."),
    click.option("--drop-ml", type=float, help="Volume of one drop."),
    click.option("--of-ml", type=float, help="Volume that the drops stand for."),
    click.option(
        "--diluted", type=float, default=1.0, help="How many times a part of it was diluted first."
    ),
)


def counted_total(
    total: str | None, what: str, *, counts: str | None = None, drop_ml: float | None = None,
    of_ml: float | None = None, diluted: float = 1.0,
) -> tuple[float, str]:  # fmt: skip
    """(total, the drops as text)."""
    if counts is None:
        if total is None:
            raise UsageProblemError(f"say how many {what}, or count drops with --drops")
        return whole(total, what), ""
    if total is not None:
        raise UsageProblemError("give a total or drops, not both")
    found = drop_count((counts,), drop_ml, of_ml, diluted)
    return float(round(found.total)), str(found)


def drop_count(
    counts: Sequence[str], drop_ml: float | None, of_ml: float | None, diluted: float
) -> DropCount:
    """Drops as they were counted.

    Raises:
        UnitError: a count that is no number, or a volume that is missing.
    """
    if drop_ml is None or of_ml is None:
        raise UnitError("drops need --drop-ml (volume of one drop) and --of-ml (of the whole)")
    words = " ".join(counts).replace(",", " ").split()
    drops = [number for word in words if (number := whole_number(word)) is not None]
    if not words or len(drops) < len(words):
        raise UnitError(f"'{' '.join(words)}' are not counts; write them like \"12 9 15\"")
    return DropCount(tuple(drops), drop_ml, of_ml, diluted)


def drops_text(drops: DropCount, grams: float | None) -> str:
    """Total, interval, and what more drops would bring."""
    low, high = drops.interval(_LEVEL)
    count = len(drops.counts)
    counted = f"{drops.counted} animals in {many(count, 'drop')}"
    between = f"nine times in ten between {number(low)} and {number(high)}"
    lines = [f"{counted}: about {number(drops.total)} in all; {between}."]
    if grams:
        lines.append(
            f"That is {number(drops.total / grams)} a gram"
            f" ({number(low / grams)} to {number(high / grams)}) from {number(grams)} g."
        )
    if count == 1:
        lines.append("One drop cannot show how the animals clump: count three or more.")
    more = drops.more_drops()
    if more is None:
        lines.append("More drops would not halve this: the volumes are as uncertain as the count.")
    else:
        lines.append(
            f"{more} more drops would halve the interval"
            f" ({number(100 * drops.relative_sd, 2)} % one s.d. now)."
        )
    lines.append(
        "Stir before each drop and take it at once; what settles or gathers at the light is not"
        " counted evenly."
    )
    return "\n".join(wrapped(line) for line in lines)


def drops_json(drops: DropCount, grams: float | None) -> dict[str, Any]:
    """The same for other programs."""
    low, high = drops.interval(_LEVEL)
    found: dict[str, Any] = {
        "counted": drops.counted, "drops": len(drops.counts), "total": round(drops.total),
        "low": round(low), "high": round(high), "level": _LEVEL,
        "relative_sd": round(drops.relative_sd, 4), "dispersion": round(drops.dispersion, 3),
        "more_drops_to_halve": drops.more_drops(),
    }  # fmt: skip
    if grams:
        found["per_gram"] = round(drops.total / grams)
    return found
