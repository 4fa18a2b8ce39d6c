"""The words of an entry: its title, its text, its alarm. One table, one sentence a task."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from attrs import frozen

from calendars.entries import clean, clean_line
from cultures.planning.tasks import FeedLine, Remedy, Shortfall, Task


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
    "soak": Manner("rounds", "Soak dry food: {subject}", 10),
    "feed": Manner("rounds", "Feed: {subject}", 10),
    "first_food": Manner("fry", "First food: {subject}", 60),
    "count": Manner("fry", "Count: {subject}", 0),
    "sort": Manner("fry", "Sort by size: {subject}", 0),
    "lid": Manner("fry", "Cover the tank: {subject}", 0),
    "move_on": Manner("fry", "Move to a larger tank: {subject}", 0),
    "buy": Manner("supplies", "Buy: {subject}", 0),
}
WARNING_ALARM_MIN = 120

#: How a step reads in the list of a round.
_STEPS: Mapping[str, str] = {
    "soak": "soak {subject}",
    "harvest_worms": "harvest {subject}",
    "harvest_hatch": "harvest the hatch in {subject} and rinse",
}
_UNITS: Mapping[str, str] = {
    "g": "g", "mg": "mg", "l": "L", "ml": "mL", "j": "J", "c": "°C", "mm": "mm", "cm2": "cm²",
    "days": "days", "h": "h", "min": "min",
}  # fmt: skip


def amounts_text(amounts: Mapping[str, float]) -> str:
    """Amounts as a person reads them: ``cysts 2.4 g, water 1 L``."""
    parts = []
    for name, value in amounts.items():
        stem, _, unit = name.rpartition("_")
        words, sign = (stem, _UNITS[unit]) if stem and unit in _UNITS else (name, "")
        parts.append(f"{words.replace('_', ' ')} {_rounded(value)} {sign}".rstrip())
    return ", ".join(parts)


def _rounded(value: float) -> str:
    """Three digits, never as a power of ten."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


def _exact(value: float) -> str:
    """To the hundredth, as it is measured out."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def task_title(task: Task) -> str:
    """The line that a calendar shows for a task."""
    pattern = MANNERS[task.what].title
    if task.what == "split" and not task.other:
        pattern = "Split {subject}"
    return clean_line(pattern.format(subject=task.subject, other=task.other))


def task_text(task: Task) -> str:
    """What to do, why, and what to mind."""
    parts = [amounts_text(task.amounts), task.why]
    if task.caution:
        parts.append(f"Caution: {task.caution}")
    return clean("\n".join(part for part in parts if part))


def round_title(lines: list[FeedLine]) -> str:
    """The line that a calendar shows for a round."""
    tanks = len({line.tank for line in lines})
    return "Feed the fry" + (f": {tanks} tank{'s' if tanks > 1 else ''}" if tanks else "")


def round_text(lines: list[FeedLine], steps: list[Task], feed: Task | None, zone: ZoneInfo) -> str:
    """The round as one list: the steps before it, then tank by tank in the order of the walk."""
    parts: list[str] = []
    if steps:
        parts.append("Before the round:")
        parts += [_step(number, task, zone) for number, task in enumerate(steps, start=1)]
    shares: dict[tuple[str, str], list[str]] = {}
    for line in lines:
        given = f"{line.food.replace('_', ' ')} {_exact(line.amount)} {line.unit}".rstrip()
        shares.setdefault((line.tank, line.brood), []).append(given)
    if shares and steps:
        parts.append("Tanks:")
    parts += [f"{tank} ({brood}): {'; '.join(given)}" for (tank, brood), given in shares.items()]
    cautions = [task.caution for task in steps if task.caution]
    if feed is not None:
        parts += [feed.why] if feed.why else []
        cautions += [feed.caution] if feed.caution else []
    parts += [f"Caution: {caution}" for caution in dict.fromkeys(cautions)]
    return clean("\n".join(parts))


def _step(number: int, task: Task, zone: ZoneInfo) -> str:
    words = _STEPS.get(task.what, "{subject}").format(subject=task.subject)
    amounts = amounts_text(task.amounts)
    line = f"{number}. {task.at.astimezone(zone):%H:%M} {words}"
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
