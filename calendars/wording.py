"""The words of an entry: its title, its text, its alarm. One table, one sentence a task."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from attrs import frozen

from calendars.entries import Wishes, clean, clean_line
from cultures.planning.tasks import FeedLine, Remedy, Shortfall, Task
from cultures.units import POUND_G, US_GALLON_L


@frozen
class Manner:
    """How a kind of task appears.

    Attributes:
        group: of `calendars.entries.GROUPS`.
        title: with ``{subject}`` and ``{other}``.
        alarm_min: minutes before the start at which it rings, or None for silence [min].
    """

    group: str
    title: str
    alarm_min: int | None


#: Lead times are common practice, no source: time to fetch water for a hatch, to lay out jars for
#: a split. ``[alarms]`` in the room file overrides each.
MANNERS: Mapping[str, Manner] = {
    "set_hatch": Manner("hatches", "Set hatch: {subject}", 30),
    "harvest_hatch": Manner("hatches", "Harvest hatch: {subject}", 15),
    "harvest_worms": Manner("splits", "Harvest worms: {subject}", 15),
    "split": Manner("splits", "Split {subject} into {other}", 60),
    "start": Manner("splits", "Start culture {subject}", 60),
    "retire": Manner("splits", "Retire culture {subject}", None),
    "soak": Manner("rounds", "Soak dry food for the {subject}", 10),
    "feed": Manner("rounds", "Feed: {subject}", 10),
    "first_food": Manner("fry", "First food: {subject}", 60),
    "count": Manner("fry", "Count: {subject}", 0),
    "sort": Manner("fry", "Sort by size: {subject}", 0),
    "lid": Manner("fry", "Cover the tank: {subject}", 0),
    "move_on": Manner("fry", "Move to a larger tank: {subject}", 0),
    "switch_food": Manner("fry", "{other} becomes the main food: {subject}", 0),
    "buy": Manner("supplies", "Buy: {subject}", 0),
}
WARNING_ALARM_MIN = 120

#: How a step reads in the list of a round.
_STEPS: Mapping[str, str] = {
    "soak": "soak the dry food",
    "harvest_worms": "harvest {subject}",
    "harvest_hatch": "harvest the hatch in {subject} and rinse",
}
_SIGNS: Mapping[str, str] = {
    "g": "g", "mg": "mg", "l": "L", "ml": "mL", "j": "J", "c": "°C", "mm": "mm", "cm2": "cm²",
}  # fmt: skip
#: Amounts without a unit in the name, as they are counted out.
_COUNTED: Mapping[str, str] = {
    "spoons": "level tsp",
    "fed_nauplii": "nauplii fed",
    "left_over": "left over",
}
#: Below this many level teaspoons nobody measures by spoon.
_LEAST_SPOONS = 0.05
#: Ounces are used from here on [g].
_LEAST_OUNCE_G = 14.0


def manner(what: str) -> Manner:
    """How a kind of task appears; one without an entry of its own by its plain name."""
    plain = f"{what.replace('_', ' ').capitalize()}: {{subject}}"
    return MANNERS.get(what, Manner("fry", plain, 0))


def amounts_text(amounts: Mapping[str, float], units: str = "metric") -> str:
    """Amounts as a person reads them: ``cysts 2.4 g, water 1 L, 3 swipes``."""
    return ", ".join(
        _amount(name, value, units)
        for name, value in amounts.items()
        if not (name == "spoons" and value < _LEAST_SPOONS)
    )


def _amount(name: str, value: float, units: str) -> str:
    stem, _, unit = name.rpartition("_")
    if unit in _SIGNS:
        measured = _measured(value, unit, units)
        return f"{stem.replace('_', ' ')} {measured}" if stem else measured
    return f"{_rounded(value)} {_COUNTED.get(name, name.replace('_', ' '))}"


def _measured(value: float, unit: str, units: str) -> str:
    if units == "us" and unit == "g" and value >= _LEAST_OUNCE_G:
        return f"{_rounded(value * 16 / POUND_G)} oz"
    if units == "us" and unit == "l":
        gallons = value / US_GALLON_L
        return f"{_rounded(gallons)} gal" if gallons >= 1 else f"{_rounded(gallons * 4)} qt"
    return f"{_rounded(value)} {_SIGNS[unit]}"


def _rounded(value: float) -> str:
    """Three digits, thousands marked, never as a power of ten."""
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def _exact(value: float) -> str:
    """To the hundredth, as it is measured out."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def task_title(task: Task) -> str:
    """The line that a calendar shows for a task."""
    pattern, other = manner(task.what).title, task.other
    if task.what == "split" and not other:
        pattern = "Split {subject}"
    elif task.what == "switch_food":
        other = other.replace("_", " ").capitalize()
    elif manner(task.what).group == "fry" and other:
        pattern += " ({other})"  # the tank
    return clean_line(pattern.format(subject=task.subject, other=other))


def task_text(task: Task, units: str = "metric") -> str:
    """What to do, why, and what to mind."""
    parts = [amounts_text(task.amounts, units), task.why]
    if task.caution:
        parts.append(f"Caution: {task.caution}")
    return clean("\n".join(part for part in parts if part))


def round_title(lines: Sequence[FeedLine]) -> str:
    """The line that a calendar shows for a round."""
    tanks = len({line.tank for line in lines})
    return "Feed the fry" + (f": {tanks} tank{'s' if tanks > 1 else ''}" if tanks else "")


def round_text(
    lines: Sequence[FeedLine], steps: Sequence[Task], feed: Task | None, wishes: Wishes
) -> str:
    """The round as one list: the steps before it, then tank by tank in the order of the walk."""
    parts = [_step(number, task, wishes) for number, task in enumerate(steps, start=1)]
    if feed is not None:
        cups = [
            f"{name.removesuffix('_ml').replace('_', ' ')} to {_exact(value)} mL"
            for name, value in feed.amounts.items()
            if name.endswith("_ml")
        ]
        parts += [f"{len(parts) + 1}. make up {', '.join(cups)}"] if cups else []
    if parts:
        parts.insert(0, "Before the round:")
        parts.append("Tanks:")
    shares: dict[tuple[str, str], list[str]] = {}
    for line in lines:
        amount = _exact(line.amount)
        given = f"{line.food.replace('_', ' ')} {amount} {line.unit}".rstrip()
        shares.setdefault((line.tank, line.brood), []).extend([given] if amount != "0" else [])
    parts += [
        f"{tank} ({brood}): {'; '.join(given) or 'nothing'}"
        for (tank, brood), given in shares.items()
    ]
    cautions = [task.caution for task in steps if task.caution]
    if feed is not None:
        parts += [feed.why] if feed.why else []
        cautions += [feed.caution] if feed.caution else []
    parts += [f"Caution: {caution}" for caution in dict.fromkeys(cautions)]
    return clean("\n".join(parts))


def _step(number: int, task: Task, wishes: Wishes) -> str:
    words = _STEPS.get(task.what, "{subject}").format(subject=task.subject)
    amounts = amounts_text(task.amounts, wishes.units)
    line = f"{number}. {task.at.astimezone(wishes.zone):%H:%M} {words}"
    return f"{line}: {amounts}" if amounts else line


def warning_title(shortfall: Shortfall, zone: ZoneInfo) -> str:
    """The line that a calendar shows for a warning."""
    food = "food" if shortfall.food == "any" else shortfall.food.replace("_", " ")
    return clean_line(f"Act now: {food} runs short from {_moment(shortfall.at, zone)}")


def warning_text(shortfall: Shortfall, remedies: Sequence[Remedy], zone: ZoneInfo) -> str:
    """Cause, size, tanks, and what still helps until when: the remedies still in time."""
    rounds = "1 round" if shortfall.rounds == 1 else f"{shortfall.rounds} rounds"
    share = shortfall.short_j / shortfall.need_j if shortfall.need_j > 0 else 1.0
    span = f"{_moment(shortfall.at, zone)} to {_moment(shortfall.until, zone)}"
    parts = [
        shortfall.cause,
        f"{rounds}, {span}: {share:.0%} of the need is missing ({_rounded(shortfall.short_j)} J).",
        f"Tanks: {', '.join(shortfall.tanks)}" if shortfall.tanks else "",
    ]
    if remedies:
        parts.append("What still helps:")
        parts += [f"- by {_moment(r.by, zone)}: {r.what}" for r in remedies]
    else:
        parts.append("No step in time was found; spread what there is over all tanks.")
    return clean("\n".join(part for part in parts if part))


def _moment(moment: datetime, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"
