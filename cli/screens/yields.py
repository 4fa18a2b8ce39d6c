"""``livefood yield`` as text: a summary, a table and a small chart, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill

from attrs import field, frozen
from tabulate import tabulate

from cli.screens.us_units import MILLI_OUNCE_MG
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.yields import Setup, YieldCurve
from cultures.words.quantities import (
    grams,
    in_units,
    millilitres,
    number,
    square_centimetres,
)

#: Rows of the day table at most; longer cultures are shown every few days.
_MOST_ROWS = 36
#: Columns of the screen.
_WIDTH = 80


def report(cases: Sequence[Case], units: str = "metric") -> str:
    """The whole report, in the keeper's units."""
    kind = cases[0].setup.kind
    wet = "Worms in wet weight"
    if units == "us":
        wet += ", in thousandths of an ounce (oz/1000)"
    spread = (
        f"{wet}. An estimate: cultures started alike differ by about"
        f" {kind.values['yield_spread']:.0%}."
    )
    lines = [
        _head(cases[0].setup, units),
        "",
        _summary(cases, units),
        "",
        _days(cases, units),
        "",
        wrapped(spread),
    ]
    if not cases[0].interval:
        lines.append("Add --range for what the sources leave open.")
    if kind.recipe:
        lines += ["", wrapped(in_units(f"To start one: {kind.recipe}.", units))]
    lines += [wrapped(in_units(f"Caution: {caution}", units)) for caution in kind.cautions]
    return "\n".join(lines)


def _head(setup: Setup, units: str) -> str:
    """The culture in a line: kind, medium, surface, starter."""
    kind = setup.kind
    starter_g = setup.starter_mg / kind.values["starter_mg_per_g"]
    if units == "us":
        weigh = millilitres if kind.medium == "liquid" else grams
        medium, starter = weigh(setup.medium_g, units), weigh(starter_g, units)
        surface = square_centimetres(setup.surface_cm2, units) if setup.surface_cm2 else ""
    else:
        unit = "mL" if kind.medium == "liquid" else "g"
        medium, starter = f"{setup.medium_g:g} {unit}", f"{starter_g:.3g} {unit}"
        surface = f"{setup.surface_cm2:g} cm2" if setup.surface_cm2 else ""
    parts = [medium, surface, f"starter {starter}"]
    return f"{kind.label} ({kind.scientific}), {', '.join(part for part in parts if part)}"


def _summary(cases: Sequence[Case], units: str) -> str:
    us = units == "us"
    portion = "draws" if cases[0].setup.kind.medium == "liquid" else "swipes"
    rows: list[list[str]] = [
        ["first harvest", *(_first(c) for c in cases)],
        ["  range", *(_span(c, "first_harvest_day") for c in cases)],
        ["take of the worms", *(f"{c.curve.fraction:.1%}" for c in cases)],
        [f"gives a day{', oz/1000' * us}", *(_mass(c.curve.daily_mg, units) for c in cases)],
        [f"  range, {'oz/1000' if us else 'mg'}", *(_span(c, "daily", units) for c in cases)],
        [f"  in {portion}", *(_portions(c) for c in cases)],
        ["  energy", *(f"{c.curve.daily_mg * _energy(c):.0f} J" for c in cases)],
        ["last useful", *(_day(c.curve.last_useful_day) for c in cases)],
        ["  range", *(_span(c, "last_useful_day") for c in cases)],
        [f"total{', oz/1000' * us}", *(_mass(c.curve.total_mg, units) for c in cases)],
    ]
    if not cases[0].interval:
        rows = [row for row in rows if not row[0].startswith("  range")]
    return tabulate(rows, headers=["", *(c.label for c in cases)], tablefmt="plain")


def _days(cases: Sequence[Case], units: str) -> str:
    longest = max(len(c.curve.days) for c in cases)
    step = -(-longest // _MOST_ROWS)
    top = max((d.harvest_mg for c in cases for d in c.curve.days), default=0.0) or 1.0
    width = max(2, (_WIDTH - 6) // len(cases) - (30 if len(cases) == 1 else 12))
    width -= 10 if units == "us" and len(cases) == 1 else 0
    unit = "oz/1000" if units == "us" else "mg"
    headers = ["day"]
    for c in cases:
        headers += [f"stock {unit}", f"take {unit}"] if len(cases) == 1 else [c.label]
        headers.append("harvest" if len(cases) == 1 else "")
    rows: list[list[str]] = []
    for day in range(0, longest, step):
        row = [str(day)]
        for c in cases:
            found = c.curve.days[day] if day < len(c.curve.days) else None
            if len(cases) == 1:
                row.append(_amount(found.stock_mg, units) if found else "")
            row.append(_amount(found.harvest_mg, units) if found else "")
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


def _amount(milligrams: float, units: str) -> str:
    """A mass in a column: mg, or thousandths of an ounce."""
    return number(milligrams / MILLI_OUNCE_MG) if units == "us" else f"{milligrams:.0f}"


def _mass(milligrams: float, units: str) -> str:
    """A mass in mg or g, as a keeper would say it; in thousandths of an ounce without a unit."""
    if units == "us":
        return _amount(milligrams, units)
    return f"{milligrams:.0f} mg" if milligrams < 1000 else f"{milligrams / 1000:.1f} g"


def _day(day: int | None) -> str:
    return "never" if day is None else f"day {day}"


def _first(case: Case) -> str:
    """The day of the first harvest, which may lie beyond the days that were asked for."""
    curve = case.curve
    shown = len(curve.days) - 1
    if curve.first_harvest_day is None and (curve.last_useful_day or 0) > shown:
        return f"after day {shown}"
    return _day(curve.first_harvest_day)


def _energy(case: Case) -> float:
    return case.setup.kind.values["energy_j_per_mg"]


def _portions(case: Case) -> str:
    return f"{case.curve.daily_mg / case.setup.kind.values['portion_mg']:.0f}"


def _span(case: Case, key: str, units: str = "metric") -> str:
    if key not in case.interval:
        return ""
    low, high = case.interval[key]
    return "never" if low != low else f"{_amount(low, units)}-{_amount(high, units)}"


@frozen
class Case:
    """One culture at one temperature: its label, setup, course of temperature and curve."""

    label: str
    setup: Setup
    series: TemperatureSeries
    curve: YieldCurve
    interval: dict[str, tuple[float, float]] = field(factory=dict)
