"""Tasks in plain words, with every figure kept apart from the words around it.

A screen prints a phrase as text; the sheet marks its figures, so that each can be traced
to the plan it came from.
"""

from __future__ import annotations

from collections.abc import Callable

from attrs import frozen

from cultures.planning.tasks import FeedLine, Task
from cultures.wording import (
    TRACE,
    food_name,
    fraction,
    grams,
    in_units,
    litres,
    millilitres,
    number,
    spoons,
)

#: A draw from a bottle of worms, as the kinds' ``portion_mg`` has it [mL].
DRAW_ML = 10.0


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


Part = str | Figure | Words
Phrase = tuple[Part, ...]


def plain(phrase: Phrase) -> str:
    """A phrase as running text."""
    return "".join(part if isinstance(part, str) else part.shown for part in phrase)


def figure(task: Task, key: str, shown: str) -> Figure:
    """A figure that stands in a task's amounts."""
    return Figure(shown, task.amounts[key], f"{task.id}#{key}")


def line_figure(line: FeedLine, shown: str) -> Figure:
    """The amount of a feeding line."""
    return Figure(shown, line.amount, f"{line.at.isoformat()}/{line.brood}/{line.food}#amount")


def task_phrase(task: Task, units: str = "metric") -> Phrase:
    """What is to be done, in one line."""
    maker = _MAKERS.get(task.what)
    if maker is not None:
        return maker(task, units)
    return (f"{task.what.replace('_', ' ')} ", Words(task.subject))


def why_text(task: Task, units: str = "metric") -> str:
    """The reason of a task in the keeper's units."""
    return in_units(task.why, units)


def cysts(task: Task, units: str) -> Phrase:
    """Cysts by spoon and by weight: the one that the keeper has at hand."""
    weighed = figure(task, "cysts_g", grams(task.amounts["cysts_g"], units))
    spooned = figure(task, "spoons", spoons(task.amounts["spoons"]))
    level = "" if spooned.shown == TRACE else " level"
    if units == "us":
        return (spooned, f"{level} of cysts (", weighed, ")")
    return (weighed, " of cysts (", spooned, f"{level})")


def _set_hatch(task: Task, units: str) -> Phrase:
    a = task.amounts
    return (
        "set ", Words(task.subject), ": ", *cysts(task, units), ", ",
        figure(task, "water_l", litres(a["water_l"], units)), " of water, ",
        figure(task, "salt_g", grams(a["salt_g"], units)), " of salt",
    )  # fmt: skip


def _harvest_hatch(task: Task, units: str) -> Phrase:  # noqa: ARG001 (one signature for all)
    return (
        "harvest ", Words(task.subject), ": about ",
        figure(task, "nauplii", number(task.amounts["nauplii"], 2)), " nauplii",
    )  # fmt: skip


def _split(task: Task, units: str) -> Phrase:
    a = task.amounts
    return (
        "split ", Words(task.subject), ": ",
        figure(task, "starter_g", grams(a["starter_g"], units)),
        " of it onto ", figure(task, "medium_g", grams(a["medium_g"], units)),
        " of new medium, label it ", Words(task.other),
    )  # fmt: skip


def _start(task: Task, units: str) -> Phrase:
    return (
        "start ", Words(task.other), " from a bought starter on ",
        figure(task, "medium_g", grams(task.amounts["medium_g"], units)), " of medium",
    )  # fmt: skip


def worms(task: Task, units: str) -> Phrase:
    """How much to take from a culture, and how."""
    if "swipes" in task.amounts:
        swipes = task.amounts["swipes"]
        return (
            Words(task.subject), ": ", figure(task, "swipes", fraction(swipes, 2)),
            f" swipe{'s' if swipes > 1 else ''} off the wall, into the cup",
        )  # fmt: skip
    drawn = millilitres(task.amounts["draws"] * DRAW_ML, units)
    return (
        Words(task.subject), ": ", figure(task, "draws", drawn),
        " from the neck; sieve and rinse well",
    )  # fmt: skip


def soak(task: Task, units: str) -> Phrase:
    """Dry food to put to soak."""
    weighed = figure(task, "dry_g", grams(task.amounts["dry_g"], units))
    spooned = figure(task, "spoons", spoons(task.amounts["spoons"]))
    level = "" if spooned.shown == TRACE else " level"
    if units == "us":
        return ("soak ", spooned, f"{level} of dry food (", weighed, ")")
    return ("soak ", weighed, " of dry food (", spooned, f"{level})")


def _feed(task: Task, units: str) -> Phrase:  # noqa: ARG001
    tanks = task.amounts["tanks"]
    return (
        "feed the ", Words(task.subject), " (",
        figure(task, "tanks", number(tanks)), f" tank{'s' if tanks > 1 else ''})",
    )  # fmt: skip


def _first_food(task: Task, units: str) -> Phrase:  # noqa: ARG001
    return ("first food for ", Words(task.subject), " in ", Words(task.other))


def _buy(task: Task, units: str) -> Phrase:
    if "cysts_g" not in task.amounts:
        return ("buy ", Words(task.subject))
    return (
        "buy ", Words(task.subject), ": ",
        figure(task, "cysts_g", grams(task.amounts["cysts_g"], units)),
    )  # fmt: skip


def _retire(task: Task, units: str) -> Phrase:  # noqa: ARG001
    return ("retire ", Words(task.subject))


def _switch_food(task: Task, units: str) -> Phrase:  # noqa: ARG001
    return ("from now on ", Words(task.subject), f" can take {food_name(task.other)}")


def _brood(words: str, after: str = "") -> Callable[[Task, str], Phrase]:
    """Something that is done to a brood in its tank."""

    def made(task: Task, units: str) -> Phrase:  # noqa: ARG001
        where: Phrase = (" in ", Words(task.other)) if task.other else ()
        return (f"{words} ", Words(task.subject), *where, after)

    return made


_MAKERS: dict[str, Callable[[Task, str], Phrase]] = {
    "set_hatch": _set_hatch, "harvest_hatch": _harvest_hatch, "split": _split, "start": _start,
    "harvest_worms": worms, "soak": soak, "feed": _feed, "first_food": _first_food, "buy": _buy,
    "retire": _retire, "sort": _brood("sort", " by size"), "lid": _brood("put a tight lid over"),
    "switch_food": _switch_food, "count": _brood("count"),
    "move_on": _brood("move on", ": they outgrow the tank"),
}  # fmt: skip

