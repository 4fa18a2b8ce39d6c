"""``livefood hatch`` as steps in the order in which they are done."""

from __future__ import annotations

from datetime import datetime

from attrs import field, frozen

from cli.screens.text import wrapped
from cultures.foods.hatch_request import HatchRequest
from cultures.foods.hatch_sizing import Setting, SizedHatch
from cultures.foods.kinds import HatchKind
from cultures.planning.amounts import whole_shares
from cultures.words.quantities import (
    TRACE,
    celsius,
    grams,
    in_units,
    litres,
    millilitres,
    number,
    spoons,
    when,
)
from cultures.words.units import TEASPOON_ML

#: Width of the column of days and times.
_TIME = 20


def report(job: Job, units: str = "metric") -> str:
    """The whole job: set, harvest, feed, what is left, with cautions at the steps."""
    us = units == "us"
    sized, water_h = job.sized, job.kind.values["water_life_h"]
    lines = [_for_which(job)]
    for setting in sized.settings:
        lines += _set(job, setting, units)
    lines += [wrapped(caution, 4, "  ! ") for caution in job.kind.cautions]
    for setting in sized.settings:
        low, high = setting.window
        lines += [
            _step(setting.harvest_at, f"harvest {setting.vessel}: air off, 10-15 min to settle,"
                                      " light at the base; shells float"),
            wrapped(f"good from {when(low)} to {when(high)}", _TIME),
        ]  # fmt: skip
    made_up = millilitres(job.request.makeup_ml, units)
    per_ml = number(sized.per_ml * (TEASPOON_ML if us else 1.0))
    in_one = f"{per_ml} to the {'tsp' if us else 'mL'}"
    made_up = f"sieve, rinse in fresh water, make up to {made_up} ({in_one})"
    lines.append(wrapped(made_up, _TIME))
    doses = [ml for _, ml in job.tanks]
    if not us:
        doses = [float(ml) for ml in whole_shares(doses, round(sum(doses)))]
    shares = ", ".join(
        f"{tank} {millilitres(ml, units)}" for (tank, _), ml in zip(job.tanks, doses, strict=True)
    )
    lines.append(_step(job.request.at, f"feed {shares}" if shares else "feed them"))
    notes = [
        f"{number(sized.nauplii)} nauplii, of which {number(sized.left_over)} are left over",
        f"in fresh water they are sure to live an hour, {water_h:g} h at most",
        *(f"kept until {when(at)} {share:.0%} of its food value is left"
          for at, share in sized.later[:2]),
        *(_ranges(job, units) if job.interval else ()),
        *(in_units(note, units) for note in sized.notes),
    ]  # fmt: skip
    lines += [wrapped(f"{note}.", 4, "  - ") for note in notes]
    return "\n".join(lines)


def _for_which(job: Job) -> str:
    """The round that the hatch is for; that it was chosen, where it was."""
    at = when(job.request.at)
    if not job.chosen:
        return wrapped(f"For the round of {at} alone; 'livefood plan' sizes a hatch for several.")
    return wrapped(
        f"For the round of {at} alone, the next that a hatch set from now on can reach (--at for"
        " another); 'livefood plan' sizes a hatch for several."
    )


def _step(at: datetime, text: str) -> str:
    return wrapped(text, _TIME, f"  {when(at)}")


def _set(job: Job, setting: Setting, units: str) -> list[str]:
    share = setting.cysts_g / job.sized.cysts_g
    spooned = spoons(job.sized.spoons * share)
    level = "" if spooned == TRACE else " level"
    low, high = (spoons(each * share) for each in job.sized.spoons_range)
    measured = (
        f"set {setting.vessel}: {grams(setting.cysts_g, units)} cysts"
        f" ({spooned}{level}), {litres(setting.water_l, units)} water,"
        f" {grams(setting.salt_g, units)} salt"
    )
    spread = f"by the spoon it could be {low} to {high}: weigh ten of yours"
    if spooned == TRACE:
        spread = "too little for a spoon: weigh it"
    stands = f"at {celsius(setting.temperature_c, units)}, air, light at first; {spread}"
    return [_step(setting.set_at, measured), wrapped(stands, _TIME)]


def _ranges(job: Job, units: str) -> list[str]:
    nauplii, weights = job.interval["nauplii"], job.interval["cysts_g"]
    low, high = (grams(each, units) for each in weights)
    given = f"{number(nauplii[0])} to {number(nauplii[1])} nauplii"
    exact = f"to meet the need exactly would take {low} to {high} of cysts"
    return [f"Range: eight cases in ten give {given}; {exact}"]


@frozen
class Job:
    """A sized hatch with what it was sized for.

    Attributes:
        tanks: (tank, mL of the rinsed harvest) in the order of the round.
        chosen: the round was looked for, not asked for.
    """

    kind: HatchKind
    request: HatchRequest
    sized: SizedHatch
    tanks: tuple[tuple[str, float], ...] = ()
    interval: dict[str, tuple[float, float]] = field(factory=dict)
    chosen: bool = False
