"""``livefood hatch`` as steps in the order in which they are done."""

from __future__ import annotations

import math
from datetime import datetime

from attrs import field, frozen

from cli.screens.text import moment_width, wrapped
from cultures.foods.hatch_request import HatchRequest
from cultures.foods.hatch_sizing import Setting, SizedHatch
from cultures.foods.kinds import HatchKind
from cultures.planning.amounts import whole_shares
from cultures.words.moments import when
from cultures.words.quantities import celsius, grams, in_units, litres, millilitres, number
from cultures.words.tools import CYSTS, SALT, Tools

#: What no spoon comes so near to is less than any holds.
_TOO_LITTLE = 0.5


def report(job: Job, tools: Tools) -> str:
    """The whole job: set, harvest, feed, what is left, with cautions at the steps."""
    units = tools.units
    sized, water_h = job.sized, job.kind.values["water_life_h"]
    indent = moment_width(units)
    lines = [_for_which(job, units)]
    for setting in sized.settings:
        lines += _set(job, setting, tools)
    lines += [wrapped(caution, 4, "  ! ") for caution in job.kind.cautions]
    for setting in sized.settings:
        lines += [
            _step(setting.harvest_at, units, f"harvest {setting.vessel}: air off, 10-15 min to"
                                             " settle, light at the base; shells float"),
            wrapped(_ripe(setting, units), indent),
        ]  # fmt: skip
    made_up = f"{millilitres(job.request.makeup_ml)} ({number(sized.per_ml)} to the mL)"
    lines.append(wrapped(f"sieve, rinse in fresh water, make up to {made_up}", indent))
    doses = [ml for _, ml in job.tanks]
    mark = tools.mark_ml(max(doses, default=1.0))
    marks = whole_shares(doses, round(sum(doses) / mark))
    shares = ", ".join(
        f"{tank} {tools.poured(n * mark).text}"
        for (tank, _), n in zip(job.tanks, marks, strict=True)
    )
    lines.append(_step(job.request.at, units, f"feed {shares}" if shares else "feed them"))
    notes = [
        f"{number(sized.nauplii)} nauplii, of which {_left_over(sized)} are left over",
        f"in fresh water they live an hour for certain, {water_h:g} h at most",
        *(f"if kept until {when(at, units)}, {share:.0%} of its food value is left"
          for at, share in sized.later[:2]),
        *(_ranges(job, units) if job.interval else ()),
        *(in_units(note, units) for note in sized.notes),
    ]  # fmt: skip
    lines += [wrapped(f"{note}.", 4, "  - ") for note in notes]
    return "\n".join(lines)


def _ripe(setting: Setting, units: str) -> str:
    """Between when a hatch is good; that it is drawn off before or after that for its round."""
    low, high = setting.window
    span = f"from {when(low, units)} to {when(high, units)}"
    if low <= setting.harvest_at <= high:
        return f"good {span}"
    which = "before" if setting.harvest_at < low else "after"
    return f"{which} its best, which is {span}: sized for what it gives by then"


def _left_over(sized: SizedHatch) -> str:
    """What is left over, as finely as the whole is said."""
    place = 10.0 ** (math.floor(math.log10(max(sized.nauplii, 1.0))) - 2)
    return number(round(sized.left_over / place) * place)


def _for_which(job: Job, units: str) -> str:
    """The round that the hatch is for; that it was chosen, where it was."""
    first = ", the first that a hatch set now can be ready for (--at for another)"
    at, chosen = when(job.request.at, units), first if job.chosen else ""
    which = f"the round of {at} alone" if job.at_round else f"{at} alone, which is no round"
    return wrapped(f"For {which}{chosen}; 'livefood plan' sizes a hatch for several.")


def _step(at: datetime, units: str, text: str) -> str:
    return wrapped(text, moment_width(units), f"  {when(at, units)}")


def _set(job: Job, setting: Setting, tools: Tools) -> list[str]:
    first, *others = tools.mass(setting.cysts_g, CYSTS)
    other = f" ({others[0].text})" if others else ""
    measured = (
        f"set {setting.vessel}: {first.text} cysts{other},"
        f" {litres(setting.water_l, tools.units)} water,"
        f" {tools.one(setting.salt_g, SALT).text} salt"
    )
    spread = _spread(job, setting, tools)
    degrees, lit_h = celsius(setting.temperature_c, tools.units), job.kind.values["light_first_h"]
    stands = f"at {degrees}, air, light for the first {lit_h:g} h{spread}"
    return [
        _step(setting.set_at, tools.units, measured),
        wrapped(stands, moment_width(tools.units)),
    ]


def _spread(job: Job, setting: Setting, tools: Tools) -> str:
    """Between what a spoon could be wrong by, where nobody weighed a spoonful."""
    density = job.kind.parameters["bulk_density_g_per_ml"]
    said = tools.spooned(setting.cysts_g, CYSTS)
    if said is None or density.low == density.high:
        return ""
    if not said.near:
        little = said.off > _TOO_LITTLE
        return f"; {'too little for a spoon' if little else 'no spoon comes near'}: weigh it"
    weights = (setting.cysts_g * density.value / end for end in (density.high, density.low))
    ends = [x.text.removesuffix(" level") for g in weights if (x := tools.spooned(g, CYSTS))]
    return f"; by the spoon it could be {' to '.join(ends)}: weigh ten of yours"


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
        chosen: the round was looked for, not asked for. at_round: the room feeds at that time.
    """

    kind: HatchKind
    request: HatchRequest
    sized: SizedHatch
    tanks: tuple[tuple[str, float], ...] = ()
    interval: dict[str, tuple[float, float]] = field(factory=dict)
    chosen: bool = False
    at_round: bool = True
