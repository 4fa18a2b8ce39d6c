"""Numbers that an event may bring as a total or as the drops behind it."""

from __future__ import annotations

from collections.abc import Sequence

import click

from cli.journal.amounts import whole
from cli.options import UsageProblemError
from cultures.errors import UnitError
from cultures.journal.counting import DropCount
from cultures.words.numbers import whole_number

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
