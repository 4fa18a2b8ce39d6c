"""``livefood hatch`` as steps in the order in which they are done."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from cli.text import celsius, grams, in_units, litres, millilitres
from cli.yield_report import wrapped
from cultures.hatch_sizing import Setting
from cultures.units import TEASPOON_ML

if TYPE_CHECKING:
    from cli.hatch_command import Job


def report(job: Job, units: str = "metric") -> str:
    """The whole job: set, harvest, feed, what is left, with cautions at the steps."""
    us = units == "us"
    sized, water_h = job.sized, job.kind.values["water_life_h"]
    given = f"{sized.nauplii:.0f} nauplii, {sized.energy_j:.0f} J"
    lines: list[str] = []
    for setting in sized.settings:
        lines += _set(job, setting, units)
    lines += [wrapped(f"    Caution: {caution}", indent=6) for caution in job.kind.cautions]
    settling = "air off, 10-15 min to settle, light at the base; shells float"
    for setting in sized.settings:
        lines += [
            f"{_when(setting.harvest_at)}  Harvest {setting.vessel}:",
            f"    {settling}.",
            f"    Good from {_when(setting.window[0])} to {_when(setting.window[1])}.",
        ]
    made_up, in_one = f"{job.request.makeup_ml:g} mL", f"{sized.per_ml:.0f} nauplii in 1 mL"
    if us:
        made_up = millilitres(job.request.makeup_ml, units)
        in_one = f"{sized.per_ml * TEASPOON_ML:.0f} nauplii in 1 tsp"
    lines.append(f"    Sieve, rinse in fresh water, make up to {made_up} ({in_one}).")
    lines.append(f"{_when(job.request.at)}  Feed:")
    lines += [
        f"    {tank}: {millilitres(ml, units) if us else f'{ml:.0f} mL'}" for tank, ml in job.tanks
    ]
    lines += [
        f"    {given}; {sized.left_over:.0f} nauplii left over.",
        f"    In fresh water they live an hour for sure, {water_h:g} h at most.",
    ]
    lines += [
        f"    Kept until {_when(at)} it still has {share:.0%} of its energy."
        for at, share in sized.later[:2]
    ]
    if job.interval:
        lines += _ranges(job, units)
    lines += [wrapped(in_units(f"Note: {note}.", units)) for note in sized.notes]
    return "\n".join(lines)


def _set(job: Job, setting: Setting, units: str) -> list[str]:
    share = setting.cysts_g / job.sized.cysts_g
    low, high = job.sized.spoons_range
    spoons = (
        f"about {_spoons(job.sized.spoons * share)} level teaspoons"
        f" ({_spoons(low * share)} to {_spoons(high * share)}; weigh ten of yours)"
    )
    degrees, water = f"{setting.temperature_c:g} °C", f"{setting.water_l:g} L"
    cysts, salt = f"{setting.cysts_g:g} g", f"{setting.salt_g:g} g"
    if units == "us":
        degrees, water = celsius(setting.temperature_c, units), litres(setting.water_l, units)
        cysts, salt = grams(setting.cysts_g, units), grams(setting.salt_g, units)
    return [
        f"{_when(setting.set_at)}  Set {setting.vessel} at {degrees}:",
        wrapped(f"    {cysts} cysts, {spoons}", indent=6),
        f"    {water} water, {salt} salt, air, light at first",
    ]


def _spoons(teaspoons: float) -> str:
    """Hundredths of a teaspoon; less than two of them to one digit."""
    return f"{teaspoons:.2f}" if teaspoons >= 0.02 else f"{teaspoons:.1g}"


def _ranges(job: Job, units: str) -> list[str]:
    nauplii, weights = job.interval["nauplii"], job.interval["cysts_g"]
    exact = in_units(f"{weights[0]:.2f} to {weights[1]:.2f} g", units)
    given = f"{nauplii[0]:.0f} to {nauplii[1]:.0f} nauplii"
    return [
        f"Range: nine of ten plausible cases give {given};",
        f"    to be met exactly the need would take {exact}.",
    ]


def _when(moment: datetime) -> str:
    return moment.strftime("%a %Y-%m-%d %H:%M")
