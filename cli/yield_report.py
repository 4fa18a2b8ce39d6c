"""``livefood yield`` as text: a summary, a table and a small chart, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING

from tabulate import tabulate

if TYPE_CHECKING:
    from cli.yield_command import Case

#: Rows of the day table at most; longer cultures are shown every few days.
_MOST_ROWS = 36
#: Columns of the screen.
_WIDTH = 80


def report(cases: Sequence[Case]) -> str:
    """The whole report."""
    setup = cases[0].setup
    kind = setup.kind
    surface = f", {setup.surface_cm2:g} cm2" if setup.surface_cm2 else ""
    unit = "mL" if kind.medium == "liquid" else "g"
    starter_g = setup.starter_mg / kind.values["starter_mg_per_g"]
    head = (
        f"{kind.label} ({kind.scientific}), {setup.medium_g:g} {unit}{surface},"
        f" starter {starter_g:.3g} {unit}"
    )
    spread = (
        "Worms in wet weight. An estimate: cultures started alike differ by about"
        f" {kind.values['yield_spread']:.0%}."
    )
    lines = [
        head,
        "",
        _summary(cases),
        "",
        _days(cases),
        "",
        wrapped(spread),
    ]
    if not cases[0].interval:
        lines.append("Add --range for what the sources leave open.")
    if kind.recipe:
        lines += ["", wrapped(f"To start one: {kind.recipe}.")]
    lines += [wrapped(f"Caution: {caution}") for caution in kind.cautions]
    return "\n".join(lines)


def _summary(cases: Sequence[Case]) -> str:
    portion = "draws" if cases[0].setup.kind.medium == "liquid" else "swipes"
    rows: list[list[str]] = [
        ["first harvest", *(_day(c.curve.first_harvest_day) for c in cases)],
        ["  range", *(_span(c, "first_harvest_day") for c in cases)],
        ["take of the worms", *(f"{c.curve.fraction:.1%}" for c in cases)],
        ["gives a day", *(mass(c.curve.daily_mg) for c in cases)],
        ["  range, mg", *(_span(c, "daily") for c in cases)],
        [f"  in {portion}", *(_portions(c) for c in cases)],
        ["  energy", *(f"{c.curve.daily_mg * _energy(c):.0f} J" for c in cases)],
        ["last useful", *(_day(c.curve.last_useful_day) for c in cases)],
        ["  range", *(_span(c, "last_useful_day") for c in cases)],
        ["total", *(mass(c.curve.total_mg) for c in cases)],
    ]
    if not cases[0].interval:
        rows = [row for row in rows if not row[0].startswith("  range")]
    return tabulate(rows, headers=["", *(c.label for c in cases)], tablefmt="plain")


def _days(cases: Sequence[Case]) -> str:
    longest = max(len(c.curve.days) for c in cases)
    step = -(-longest // _MOST_ROWS)
    top = max((d.harvest_mg for c in cases for d in c.curve.days), default=0.0) or 1.0
    width = max(2, (_WIDTH - 6) // len(cases) - (30 if len(cases) == 1 else 12))
    headers = ["day"]
    for c in cases:
        headers += ["stock mg", "take mg"] if len(cases) == 1 else [c.label]
        headers.append("harvest" if len(cases) == 1 else "")
    rows: list[list[str]] = []
    for day in range(0, longest, step):
        row = [str(day)]
        for c in cases:
            found = c.curve.days[day] if day < len(c.curve.days) else None
            if len(cases) == 1:
                row.append(f"{found.stock_mg:.0f}" if found else "")
            row.append(f"{found.harvest_mg:.0f}" if found else "")
            row.append("#" * round(width * found.harvest_mg / top) if found else "")
        rows.append(row)
    alignment = ["right"]
    for _ in cases:
        alignment += ["right", "right", "left"] if len(cases) == 1 else ["right", "left"]
    return tabulate(
        rows, headers=headers, tablefmt="plain", disable_numparse=True, colalign=alignment
    )


def wrapped(text: str, indent: int = 2) -> str:
    """A paragraph that fits the screen; its later lines are indented."""
    return fill(text, _WIDTH, subsequent_indent=" " * indent)


def mass(milligrams: float) -> str:
    """A mass in mg or g, as a keeper would say it."""
    return f"{milligrams:.0f} mg" if milligrams < 1000 else f"{milligrams / 1000:.1f} g"


def _day(day: int | None) -> str:
    return "never" if day is None else f"day {day}"


def _energy(case: Case) -> float:
    return case.setup.kind.values["energy_j_per_mg"]


def _portions(case: Case) -> str:
    return f"{case.curve.daily_mg / case.setup.kind.values['portion_mg']:.0f}"


def _span(case: Case, key: str) -> str:
    if key not in case.interval:
        return ""
    low, high = case.interval[key]
    return "never" if low != low else f"{low:.0f}-{high:.0f}"
