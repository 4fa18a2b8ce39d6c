"""Numbers that an event may bring as a total or as the drops behind it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from cli.journal.amounts import drops, whole
from cli.options import UsageProblemError

_F = TypeVar("_F", bound=Callable[..., Any])


def drops_options(function: _F) -> _F:
    """The drops behind a count."""
    for name, help_text in (
        ("--diluted", "How many times a part of it was diluted first."),
        ("--of-ml", "Volume that the drops stand for."),
        ("--drop-ml", "Volume of one drop."),
    ):
        default = 1.0 if name == "--diluted" else None
        function = click.option(name, type=float, default=default, help=help_text)(function)
    return click.option(
        "--drops", "counts", metavar='"12 9 15"', help="Animals in each drop counted."
    )(function)


def counted_total(
    total: str | None, counts: str | None, drop_ml: float | None, of_ml: float | None,
    diluted: float, what: str,
) -> tuple[float, str]:  # fmt: skip
    """(total, the drops as text)."""
    if counts is None:
        if total is None:
            raise UsageProblemError(f"say how many {what}, or count drops with --drops")
        return whole(total, what), ""
    if total is not None:
        raise UsageProblemError("give a total or drops, not both")
    found = drops((counts,), drop_ml, of_ml, diluted)
    return float(round(found.total)), str(found)
