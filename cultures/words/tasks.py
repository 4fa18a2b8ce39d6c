"""Tasks in plain words, with every figure kept apart from the words around it.

A screen prints a phrase as text; the sheet marks its figures, so that each can be traced
to the plan it came from.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import assert_never

from attrs import evolve, frozen

from cultures.tasks.task import (
    Arrival,
    Buy,
    Count,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    Lid,
    MoveOn,
    Retire,
    Sell,
    SetHatch,
    Soak,
    Sort,
    Split,
    Start,
    SwitchFood,
    Task,
    Wet,
)
from cultures.tasks.told import SOAKED, FeedLine
from cultures.words.moments import moments_in, spoken_day
from cultures.words.quantities import (
    food_words,
    fraction,
    grams,
    in_units,
    litres,
    millimetres,
    number,
)
from cultures.words.text import capital, listed
from cultures.words.tools import CYSTS, DRY, MEDIUM, SALT, USUAL, Said, Tools
from cultures.words.units import DRAW_ML

#: Dry food is soaked so that a millilitre holds this: a gram in half a litre, as a rule no more of
#: it than this at a round; of more each tank's part is weighed instead [g] (common practice, no
#: source).
DRY_DOSE_G, MOST_SOAKED_G = 0.002, 1.0
#: Where more is soaked all the same, it is so many times as strong: a gram in a tenth of a litre.
STRONG = 5.0
_MUCH_WATER_ML = 100.0
#: Besides a half, a quarter and so on these parts of a weighed step of dry food are made by eye
#: (common practice, no source); of more steps than so many nobody needs a half; what is so near to
#: a whole number is one.
TWIST_THREES, MOST_HALVED, _EVEN = (3 / 4,), 8.0, 1e-6
#: A small pinch [g]: no twist is smaller for who would not feel one of these more or less in a day,
#: since envelopes are filled from few sizes (common practice, no source).
PINCH_G = 0.025
#: The smallest part of a step that is said.
_FINEST_PART = 1024
#: How more than that is soaked: weighed, or measured without a scale.
_EACH_SHARE = ", {} out for each tank, in a little of its water"
#: Counts in a reason that have more digits than they deserve.
_LONG_NUMBER = re.compile(r"(?<![\d,.])\d{1,3}(?:,\d{3})+(?![\d.])")


@frozen
class Figure:
    """A number as shown, the number behind it, and where the plan has it.

    Attributes:
        shown: with its unit. value: in the unit of ``of``. of: task id and key, as
            ``set_hatch/2027-01-06T18:30/1#cysts_g``.
    """

    shown: str
    value: float
    of: str


@frozen
class Words:
    """Text that came from the plan as it stands (a reason, a caution, a name)."""

    shown: str


#: What is done to a brood in its tank, in words before its name and after it.
_TO_A_BROOD: Mapping[type[Task], tuple[str, str]] = {
    Wet: ("put the eggs of", " into water"), Count: ("count", ""), Sort: ("sort", " by size"),
    Lid: ("put a tight lid over", ""), MoveOn: ("move", " to a larger tank"),
}  # fmt: skip
#: Around how much is fed of what is made up.
ONLY, THE_REST = ", feed ", " of it"

Part = str | Figure | Words
Phrase = tuple[Part, ...]


def plain(phrase: Phrase) -> str:
    """A phrase as running text."""
    return "".join(part if isinstance(part, str) else part.shown for part in phrase)


def begun(phrase: Phrase) -> Phrase:
    """A phrase that begins with a capital letter, unless it begins with the plan's own words."""
    first, *rest = (part for part in phrase if part)
    return (capital(first), *rest) if isinstance(first, str) else phrase


def figure(task: Task, key: str, shown: str) -> Figure:
    """A figure that stands in a task's amounts."""
    return Figure(shown, task.amounts[key], f"{task.id}#{key}")


def line_figure(line: FeedLine, shown: str) -> Figure:
    """The amount of a feeding line."""
    return Figure(shown, line.amount, f"{line.at.isoformat()}/{line.brood}/{line.food}#amount")


def task_phrase(task: Task, tools: Tools = USUAL) -> Phrase:
    """What is to be done, in one line; what hangs on a spawning says so."""
    phrase = _phrase(task, tools)
    return (*phrase, f", {for_spawns(task)}") if task.spawns else phrase


def for_spawns(task: Task) -> str:
    """On which planned spawnings a task hangs."""
    if isinstance(task, FirstFood):
        return "if it spawns as planned"
    many = "s" if len(task.spawns) > 1 else ""
    return f"for the spawn{many} planned in {spawn_tanks(task.spawns)}"


def spawn_tanks(spawns: Sequence[tuple[str, str]]) -> str:
    """The tanks of planned spawnings, as a list."""
    return listed([*dict.fromkeys(tank for _, tank in spawns)])


def _phrase(task: Task, tools: Tools) -> Phrase:
    match task:
        case SetHatch():
            return _set_hatch(task, tools)
        case HarvestHatch():
            if task.nauplii < 1:
                return ("pour out ", Words(task.subject), ": what stands in it is no food")
            shown = figure(task, "nauplii", number(task.nauplii, 2))
            return ("harvest ", Words(task.subject), ": about ", shown, " nauplii", *stood(task))
        case Split():
            return _split(task, tools)
        case Start():
            medium = measured_once(task, "medium_g", tools)
            return (
                "start ", Words(task.other), " from a bought starter on ", medium,
                f" of {task.onto or 'medium'}",
            )  # fmt: skip
        case HarvestWorms():
            return worms(task, tools)
        case Soak():
            return soak(task, tools)
        case Feed():
            tanks = figure(task, "tanks", number(task.tanks))
            plural = "s" if task.tanks > 1 else ""
            named = moments_in(task.subject, tools.units)
            return ("feed the ", Words(named), " (", tanks, f" tank{plural})")
        case FirstFood():
            return ("first food for ", Words(task.subject), " in ", Words(task.other))
        case Buy():
            return _buy(task, tools.units)
        case Arrival():
            return _arrival(task, tools.units)
        case Retire():
            return ("discard ", Words(task.subject))
        case SwitchFood():
            food = food_words(task.other)
            if task.alone:
                return (f"feed {food} alone from this round on: ", Words(task.subject))
            return (f"make {food} the main food from this round on: ", Words(task.subject))
        case Wet() | Count() | Sort() | Lid() | MoveOn():
            words, after = _TO_A_BROOD[type(task)]
            return (f"{words} ", Words(task.subject), *_in_tank(task), after)
        case Sell():
            return _can_go(task, tools.units)
        case _:
            assert_never(task)


def task_text(task: Task, tools: Tools = USUAL) -> str:
    """The same as running text."""
    return plain(task_phrase(task, tools))


def brief_text(task: Task, tools: Tools = USUAL) -> str:
    """The same for who has done it before: how worms are rinsed is left out."""
    if isinstance(task, HarvestWorms):
        how = worms_method(task, brief=True)
        return plain((Words(task.subject), ": ", *worms_amount(task, tools), *how))
    return task_text(task, tools)


def why_text(task: Task, units: str = "metric") -> str:
    """The reason of a task in the keeper's units, large numbers to three digits."""
    rounded = _LONG_NUMBER.sub(lambda found: number(float(found[0].replace(",", ""))), task.why)
    return in_units(rounded, units)


def soaked_ml(dry_g: float, of_g: float) -> float | None:
    """The water that a part of the dry food comes in [mL]; None where each part is weighed.

    Args:
        dry_g: the part [g]. of_g: all that is soaked for the round [g].
    """
    return None if of_g > MOST_SOAKED_G + 1e-9 else round(dry_g / DRY_DOSE_G, 6)


def strength(line: FeedLine) -> float:
    """How many times as strong as usual the dry food of a line was soaked."""
    return round(line.amount / (line.wet_ml * DRY_DOSE_G), 3) if line.wet_ml else 1.0


def by_tank(lines: Iterable[FeedLine]) -> list[FeedLine]:
    """Lines of rounds as they are poured: broods that share a tank cannot be fed apart, so what
    they get of a food is one line, which names them all.
    """
    lines = list(lines)
    broods: dict[str, dict[str, None]] = {}
    for line in lines:
        broods.setdefault(line.tank, {})[line.brood] = None
    if all(len(names) == 1 for names in broods.values()):
        return lines
    found: dict[tuple[datetime, str, str], FeedLine] = {}
    for line in lines:
        key = line.at, line.tank, line.food
        found[key] = _poured_with(found[key], line) if key in found else line
    return [evolve(x, brood=listed([*broods[x.tank]])) for x in found.values()]


def _poured_with(line: FeedLine, other: FeedLine) -> FeedLine:
    """Two lines of one tank and food as one."""
    wet_ml = (line.wet_ml or 0.0) + (other.wet_ml or 0.0)
    skipped_g = (line.skipped_g or 0.0) + (other.skipped_g or 0.0)
    return evolve(
        line, need_j=line.need_j + other.need_j, given_j=line.given_j + other.given_j,
        amount=round(line.amount + other.amount, 9), wet_ml=round(wet_ml, 9) or None,
        skipped_g=skipped_g or None, way=line.way or other.way,
    )  # fmt: skip


def wet_ml(line: FeedLine, lines: Sequence[FeedLine]) -> float | None:
    """The same of a line of dry food, among the ``lines`` of its round."""
    if line.wet_ml is not None:
        return line.wet_ml
    if line.way is not None:
        return soaked_ml(line.amount, 0.0) if line.way == SOAKED else None
    return soaked_ml(line.amount, sum(x.amount for x in lines if x.food == DRY))


def left_out(lines: Iterable[FeedLine]) -> str:
    """Which dry food of a round is skipped, since it is less than can be measured; "" if none."""
    names = [f"{x.tank} {x.brood} (about {number(x.skipped_g, 1)} g)" for x in lines if x.skipped_g]
    if not names:
        return ""
    return (
        f"no dry food at this round for {', '.join(names)}: it is less than can be measured, and"
        " is given in its turn"
    )


def _said(task: Task, key: str, said: Said) -> Figure:
    """A mass of a task, which has it in grams by a key and in teaspoons."""
    return figure(task, "spoons" if said.by == "spoon" else key, said.text)


def twist(line: FeedLine, tools: Tools) -> Figure:
    """The dry food weighed out for a tank; of little, as a part of what is weighed."""
    step_g = tools.dry_step_g
    steps = line.amount / step_g
    if steps > MOST_HALVED or abs(steps - round(steps)) < _EVEN:
        return line_figure(line, tools.one(line.amount, DRY).text)
    whole, part = divmod(steps, 1.0)
    twice = tools.one(2.0 * line.amount, DRY)
    if whole and abs(part - 0.5) < _EVEN and twice.near and twice.by:
        return line_figure(line, f"1/2 of {twice.text}")
    weighed = f"{tools.one(whole * step_g, DRY).text} and " if whole else ""
    part_of = f"{fraction(part, _FINEST_PART)} of {tools.one(step_g, DRY).text}"
    return line_figure(line, weighed + part_of)


def measured(task: Task, key: str, of: str, what: str, tools: Tools) -> Phrase:
    """Cysts or dry food by the tool that comes nearest, in brackets by another that comes near."""
    first, *others = tools.mass(task.amounts[key], of)
    other: Phrase = (" (", _said(task, key, others[0]), ")") if others else ()
    return (_said(task, key, first), what, *other)


def measured_once(task: Task, key: str, tools: Tools, of: str = MEDIUM) -> Figure:
    """What is measured once for a culture or a vessel."""
    return figure(task, key, tools.one(task.amounts[key], of).text)


def stood(task: HarvestHatch) -> Phrase:
    """The warning at a hatch that stood longer than nauplii keep; nothing at others."""
    if task.late_h is None:
        return ()
    late = figure(task, "late_h", number(task.late_h))
    return (" at most: it stood ", late, " h past its best, so feed only what still swims")


def _set_hatch(task: SetHatch, tools: Tools) -> Phrase:
    cysts = f" {task.strain} cysts" if task.strain else " cysts"
    return (
        "set ", Words(task.subject), ": ", *measured(task, "cysts_g", CYSTS, cysts, tools),
        ", ", figure(task, "water_l", litres(task.water_l, tools.units)), " water, ",
        measured_once(task, "salt_g", tools, SALT), " salt",
    )  # fmt: skip


def _split(task: Split, tools: Tools) -> Phrase:
    return ("split ", Words(task.subject), ": ", *set_up(task, tools, task.other))


def set_up(task: Split, tools: Tools, made: str, each: str = "") -> Phrase:
    """What a starter is and goes onto, and how the new cultures are labelled."""
    return (
        measured_once(task, "starter_g", tools), " onto ",
        measured_once(task, "medium_g", tools),
        f" of new {task.onto or 'medium'}{each}, label ", Words(made),
    )  # fmt: skip


def worms(task: HarvestWorms, tools: Tools) -> Phrase:
    """How much to take from a culture, and how."""
    return (Words(task.subject), ": ", *worms_amount(task, tools), *worms_method(task))


def worms_amount(task: HarvestWorms, tools: Tools) -> Phrase:
    """How much to take from a culture."""
    if task.swipes is not None:
        swipes = figure(task, "swipes", fraction(task.swipes, 4))
        return (swipes, f" swipe{'s' if task.swipes > 1 else ''}")
    return (figure(task, "draws", tools.poured((task.draws or 0.0) * DRAW_ML).text),)


def worms_method(task: HarvestWorms, *, brief: bool = False) -> Phrase:
    """From where, and how; ``brief`` for who has done it before."""
    if task.swipes is not None:
        return (" off ", Words(task.other) if task.other else "the wall", ", into the cup")
    vinegar = in_vinegar(task)
    where = " from the neck" if vinegar else ""
    if brief:
        return (f"{where}, sieve, rinse",)
    if vinegar:
        back = "pour the vinegar back into the bottle, rinse the eels well"
    else:
        back = "pour the water back into the culture, rinse the catch well"
    return (f"{where}, sieve, {back}",)


def in_vinegar(task: Task) -> bool:
    """Whether what is harvested stands in vinegar, as its caution says."""
    return "vinegar" in task.caution.lower()


def _in_all(dry_g: float, tools: Tools) -> str:
    """What the parts of dry food add up to, in spoons where there is no scale."""
    if tools.scale_g is not None:
        return grams(dry_g, tools.units, 3)
    step_g = tools.dry_step_g
    whole_g = max(1, round(dry_g / step_g)) * step_g
    return tools.one(whole_g, DRY).text.removeprefix("about ")


def soak(task: Soak, tools: Tools) -> Phrase:
    """Dry food to put to soak."""
    food = measured(task, "dry_g", DRY, " dry food", tools)
    water = task.water_ml or soaked_ml(task.dry_g, task.dry_g)
    if water is None or task.tanks is not None:
        steps = task.dry_g / tools.dry_step_g
        if abs(steps - round(steps)) > _EVEN:  # some of it is halved by eye
            about = f"about {_in_all(task.dry_g, tools)}"
            food = (figure(task, "dry_g", about), " dry food")
        how = "measured" if tools.scale_g is None else "weighed"
        return ("soak ", *food, _EACH_SHARE.format(how))
    # Of much water five millilitres are not seen; where it is strong they are five steps of food.
    thin = water >= max(_MUCH_WATER_ML, task.dry_g / DRY_DOSE_G - 1e-6)
    about_ml = round(water / 5) * 5.0 if thin else water
    fed_ml = task.fed_g * water / task.dry_g if task.fed_g is not None else about_ml
    about_ml = max(about_ml, fed_ml)  # whole marks of all doses may be a millilitre more
    shown = Figure(tools.poured(about_ml).text, water, f"{task.id}#soak_ml")
    wet: Phrase = (" in ", shown, " water")
    if fed_ml < about_ml:
        only = Figure(tools.poured(fed_ml).text, fed_ml, f"{task.id}#fed_soak_ml")
        wet = (*wet, ONLY, only, THE_REST)
    return ("soak ", *food, *wet)


def _buy(task: Buy, units: str) -> Phrase:
    amount = figure(task, f"{task.item}_g", grams(task.grams, units))
    since = f", due since {spoken_day(task.due, task.at)}" if task.due is not None else ""
    return ("buy ", Words(task.subject), ": ", amount, *([moments_in(since, units)] * bool(since)))


def _arrival(task: Arrival, units: str) -> Phrase:
    amount = figure(task, f"{task.item}_g", grams(task.grams, units))
    if task.due is None:
        return (amount, " of ", Words(task.subject), " should arrive: note what comes")
    was = f", expected by {spoken_day(task.due, task.at)}, are not noted as arrived"
    return (amount, " of ", Words(task.subject), moments_in(was, units))


def _can_go(task: Sell, units: str) -> Phrase:
    """How many fish of which length can be sold or given away."""
    return (
        Words(task.subject), *_in_tank(task), " can go: ", figure(task, "fry", number(task.fry)),
        " fish of ", figure(task, "length_mm", millimetres(task.length_mm, units)),
    )  # fmt: skip


def _in_tank(task: Task) -> Phrase:
    return (" in ", Words(task.other)) if task.other else ()
