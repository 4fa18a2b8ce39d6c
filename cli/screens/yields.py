"""``livefood yield`` as text: a summary, a table and a small chart, side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import fill

from attrs import field, frozen
from tabulate import tabulate

from cli.screens.text import screen_width
from cultures.foods.kinds import WormKind
from cultures.foods.temperature import TemperatureSeries
from cultures.foods.yields import Setup, YieldCurve
from cultures.words.quantities import grams, in_units, millilitres, square_centimetres

#: Rows of the day table at most; longer cultures are shown every few days.
_MOST_ROWS = 36


def report(cases: Sequence[Case], units: str = "metric") -> str:
    """The whole report, in the keeper's units."""
    kind = cases[0].setup.kind
    alike = kind.values["yield_spread"]
    spread = f"An estimate: cultures started alike differ by about {alike:.0%}."
    lines = [_head(cases[0].setup, units), "", _summary(cases), "", _days(cases), ""]
    lines.append(wrapped(f"Worms in wet weight. {spread}"))
    if not cases[0].interval:
        lines.append("Add --range for what the sources leave open.")
    setup = cases[0].setup
    if recipe := kind.recipe_of(setup.medium_g, setup.surface_cm2):
        lines += ["", wrapped(in_units(f"To start one: {recipe}.", units))]
    cautions = dict.fromkeys((*kind.cautions, *kind.harvest_cautions))
    lines += [wrapped(in_units(f"Caution: {caution}", units)) for caution in cautions]
    return "\n".join(lines)


def _head(setup: Setup, units: str) -> str:
    """The culture in a line: kind, medium, surface, starter."""
    kind, surface = setup.kind, setup.surface_cm2
    starter_g = setup.starter_mg / kind.values["starter_mg_per_g"]
    if units == "us":
        weigh = millilitres if kind.medium == "liquid" else grams
        medium, starter = weigh(setup.medium_g, units), weigh(starter_g, units)
        area = square_centimetres(surface, units) if surface else ""
    else:
        unit = "mL" if kind.medium == "liquid" else "g"
        medium, starter = f"{setup.medium_g:g} {unit}", f"{starter_g:.3g} {unit}"
        area = f"{surface:g} cm2" if surface else ""
    medium += of_medium(kind)
    listed = ", ".join(part for part in (medium, area, f"starter {starter}") if part)
    by = f", harvested by {kind.by.label}" if kind.by is not None else ""
    return f"{kind.named}, {listed}{by}"


def of_medium(kind: WormKind) -> str:
    """Words behind an amount of a medium that is not the usual one."""
    return f" of {kind.on.label}" if kind.on is not None else ""


def _summary(cases: Sequence[Case]) -> str:
    kind = cases[0].setup.kind
    portion = "draws" if kind.medium == "liquid" else "swipes"
    found: list[tuple[str, Callable[[Case], str]]] = [
        ("first harvest", _first),
        ("  range", lambda c: _span(c, "first_harvest_day")),
        ("take of the worms", lambda c: f"{c.curve.fraction:.1%}"),
        ("gives a day", lambda c: _mass(c.curve.daily_mg)),
        ("  range, mg", lambda c: _span(c, "daily")),
        (f"  in {portion}", lambda c: f"{c.curve.daily_mg / kind.values['portion_mg']:.0f}"),
        ("last useful", lambda c: _day(c.curve.last_useful_day)),
        ("  range", lambda c: _span(c, "last_useful_day")),
        ("total", lambda c: _mass(c.curve.total_mg)),
    ]
    rows = [
        [title, *map(tell, cases)] for title, tell in found
        if cases[0].interval or not title.startswith("  range")
    ]  # fmt: skip
    return tabulate(rows, headers=["", *(c.label for c in cases)], tablefmt="plain")


def _days(cases: Sequence[Case]) -> str:
    """A row for each day or every few, with a bar for what is taken; of one case the stock too."""
    alone = len(cases) == 1
    longest = max(len(c.curve.days) for c in cases)
    top = max((d.harvest_mg for c in cases for d in c.curve.days), default=0.0) or 1.0
    width = max(2, (screen_width() - 6) // len(cases) - (30 if alone else 12))
    headers = ["day", "stock mg", "take mg", "harvest"]
    alignment = ["right", "right", "right", "left"]
    if not alone:
        headers = ["day", *(head for c in cases for head in (c.label, ""))]
        alignment = ["right", *(["right", "left"] * len(cases))]
    rows: list[list[str]] = []
    for day in range(0, longest, -(-longest // _MOST_ROWS)):
        row = [str(day)]
        for c in cases:
            if day >= len(c.curve.days):
                row += ["", ""]
                continue
            found = c.curve.days[day]
            row += [f"{found.stock_mg:.0f}"] if alone else []
            row += [f"{found.harvest_mg:.0f}", "#" * round(width * found.harvest_mg / top)]
        rows.append(row)
    return tabulate(
        rows, headers=headers, tablefmt="plain", disable_numparse=True, colalign=alignment
    )


def wrapped(text: str, indent: int = 2) -> str:
    """A paragraph that fits the screen; its later lines are indented."""
    return fill(text, screen_width(), subsequent_indent=" " * indent)


def _mass(milligrams: float) -> str:
    """A mass in mg or g, as a keeper would say it."""
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


def _span(case: Case, key: str) -> str:
    if key not in case.interval:
        return ""
    low, high = case.interval[key]
    return "never" if low != low else f"{low:.0f}-{high:.0f}"


@frozen
class Case:
    """One culture at one temperature: its label, setup, course of temperature and curve."""

    label: str
    setup: Setup
    series: TemperatureSeries
    curve: YieldCurve
    interval: dict[str, tuple[float, float]] = field(factory=dict)
