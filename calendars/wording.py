"""The words of an entry: its title, its text, its alarm. One table, one sentence a task."""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping, Sequence
from datetime import datetime

from attrs import frozen

from calendars.entries import LONGEST, Wishes, clean, clean_line, shortened
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.planning.preparation import Step, hatch_steps, jar_step, line_dose, live_foods
from cultures.room.room import Room
from cultures.tasks.plan import Act, Remedy, Shortfall
from cultures.tasks.task import (
    Buy,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    SetHatch,
    Split,
    SwitchFood,
    Task,
)
from cultures.tasks.told import FeedLine
from cultures.words.grouped import alike, group_text, together
from cultures.words.moments import clock_text, when, year_when
from cultures.words.quantities import food_name, grams, in_units
from cultures.words.tasks import (
    Phrase,
    begun,
    by_tank,
    left_out,
    measured,
    plain,
    task_phrase,
    why_text,
)
from cultures.words.text import capital
from cultures.words.tools import CYSTS, Tools


@frozen
class Manner:
    """How a kind of task appears.

    Attributes:
        group: of `calendars.entries.GROUPS`.
        title: with ``{subject}`` and ``{other}``.
        alarm_min: minutes before the start at which it rings, or None for silence [min].
        several: the title of many of one time, with ``{n}``; "" where each stands alone.
    """

    group: str
    title: str
    alarm_min: int | None
    several: str = ""


#: Lead times are common practice, no source: time to fetch water for a hatch, to lay out jars for
#: a split. ``[alarms]`` in the room file overrides each.
MANNERS: Mapping[str, Manner] = {
    "set_hatch": Manner("hatches", "Set hatch: {subject}", 30),
    "harvest_hatch": Manner("hatches", "Harvest hatch: {subject}", 15),
    "harvest_worms": Manner("splits", "Harvest worms: {subject}", 15),
    "split": Manner("splits", "Split {subject} into {other}", 60, "Split {n} cultures"),
    "start": Manner("splits", "Start culture {subject}", 60, "Start {n} cultures"),
    "retire": Manner("splits", "Discard culture {subject}", None, "Discard {n} cultures"),
    "soak": Manner("rounds", "Soak dry food: {subject}", 10),
    "feed": Manner("rounds", "Feed: {subject}", 10),
    "first_food": Manner("fry", "First food: {subject}", 60),
    "wet": Manner("fry", "Eggs into water: {subject}", 0),
    "count": Manner("fry", "Count: {subject}", 0, "Count {n} broods"),
    "sort": Manner("fry", "Sort by size: {subject}", 0, "Sort {n} broods by size"),
    "lid": Manner("fry", "Cover the tank: {subject}", 0, "Cover {n} tanks"),
    "move_on": Manner("fry", "To a larger tank: {subject}", 0, "Larger tanks for {n} broods"),
    "sell": Manner("fry", "Can go: {subject}", 0, "{n} broods can go"),
    "switch_food": Manner(
        "fry", "Main food now {other}: {subject}", None, "Another main food: {n} broods"
    ),
    "buy": Manner("supplies", "Buy: {subject}", 0, "Buy {n} things"),
    "arrival": Manner("supplies", "Should arrive: {subject}", None, "{n} parcels should arrive"),
}
WARNING_ALARM_MIN = 120
#: What of a remedy its title can do without.
_ASIDE = re.compile(r" from an?(?:other)? | and add | to the foods | \(")
#: Above what still helps against a shortfall.
HELPS = "What still helps:"


def group_of(what: str) -> str:
    """The group under which a task stands on a calendar, a step under its round's."""
    return "rounds" if what in ("soak", "harvest_worms", "feed") else MANNERS[what].group


def task_title(task: Task, tools: Tools) -> str:
    """The line that a calendar shows for a task: of what is bought or set with how much."""
    pattern, other = MANNERS[task.what].title, task.other
    if isinstance(task, Split) and not other:
        pattern = "Split {subject}"
    elif isinstance(task, FirstFood) and task.spawns:
        pattern = "First food, if spawned: {subject}"
    elif isinstance(task, SwitchFood):
        other = "dry food" if other == DRY else food_name(other)
    in_tank = MANNERS[task.what].group == "fry" and other and not isinstance(task, SwitchFood)
    if in_tank and not task.subject.endswith(f"({other})"):  # as a part of a brood is called
        pattern += " ({other})"
    title = clean_line(pattern.format(subject=task.subject, other=other))
    much = _how_much(task, tools)
    return f"{shortened(title, LONGEST - len(much))}{much}"


def _how_much(task: Task, tools: Tools) -> str:
    """How much is to be bought or set, behind a title; "" of other tasks."""
    if isinstance(task, Buy):
        return f", {grams(task.grams, tools.units)}"
    if isinstance(task, SetHatch):
        measure = plain(measured(task, "cysts_g", CYSTS, "", tools)).partition(" (")[0]
        return f", {measure}"
    return ""


def task_text(task: Task, room: Room) -> str:
    """What to do, why, and what to mind: in the words of the screen."""
    tools = room.tools
    if isinstance(task, HarvestHatch):
        steps = [*jar_step(task, room), *hatch_steps(task, tools.units)]
        parts = [_line(step.text) for step in steps]
    else:
        parts = [_line(task_phrase(task, tools)), _sentence(why_text(task, tools.units))]
    if task.caution:
        parts.append(f"Caution: {task.caution}")
    return clean("\n".join(part for part in parts if part))


def _sentence(text: str) -> str:
    """A line of its own: with its stop, and a capital unless a name begins it."""
    first = text.split(" ", 1)[0].rstrip(",:")
    if first.islower() and first.isalpha():
        text = capital(text)
    return _stopped(text)


def _line(phrase: Phrase) -> str:
    """A step as a line of its own."""
    return _stopped(plain(begun(phrase)))


def _stopped(text: str) -> str:
    return text if not text or text.endswith((".", ":")) else f"{text}."


def round_title(lines: Sequence[FeedLine], *, helped: bool = False) -> str:
    """The line that a calendar shows for a round; ``helped`` for one that a helper feeds."""
    tanks = len({line.tank for line in lines})
    return ("Helper feeds the fry" if helped else "Feed the fry") + (
        f": {tanks} tank{'s' if tanks > 1 else ''}" if tanks else ""
    )


def round_text(
    lines: Sequence[FeedLine], tasks: Sequence[Task], steps: Sequence[Step], wishes: Wishes
) -> str:
    """The round as one list: the steps before it, then tank by tank in the order of the walk.

    Args:
        tasks: its own, the feeding itself among them. steps: those before it, by time.
    """
    parts = [
        f"{number}. {clock_text(wishes.local(group[0].at), wishes.units)}"
        f" {_steps_text(group, wishes.room.tools)}"
        for number, group in enumerate(together(steps, _alike), start=1)
    ]
    if parts:
        parts.insert(0, "Before the round:")
        parts.append("Tanks:")
    lines = by_tank(lines)
    foods = live_foods(lines)
    shares: dict[tuple[str, str], dict[str, str]] = {}
    for line in lines:
        given = shares.setdefault((line.tank, line.brood), {})
        if line.amount > 0:
            dosed = line_dose(line, lines, wishes.room.tools)
            given[line.food] = f"{food_name(line.food)} {dosed}"
    parts += [
        f"{tank} ({brood}): {'; '.join(given[f] for f in foods if f in given) or 'nothing'}"
        for (tank, brood), given in shares.items()
    ]
    parts += [_sentence(skipped)] if (skipped := left_out(lines)) else []
    cautions = [task.caution for task in tasks if task.caution]
    parts += [f"Caution: {caution}" for caution in dict.fromkeys(cautions)]
    return clean("\n".join(parts))


def _alike(step: Step) -> Hashable:
    """What harvests have in common that go into one cup; other steps stand alone."""
    worms = isinstance(step.task, HarvestWorms)
    return (step.at, alike(step.task, "")) if step.task is not None and worms else id(step)


def _steps_text(steps: Sequence[Step], tools: Tools) -> str:
    if len(steps) == 1:
        return plain(steps[0].text)
    return group_text([step.task for step in steps if step.task is not None], tools)


def warning_title(
    shortfall: Shortfall, remedy: Remedy | None, start: datetime, wishes: Wishes
) -> str:
    """The line that a calendar shows for a warning: what to do; ``start`` is the entry's."""
    short = f"{food_name(shortfall.food)} run{'' if shortfall.food == BRINE_SHRIMP else 's'} short"
    if remedy is None:
        return shortened(capital(f"{short} {_moment(shortfall.at, start, wishes)}"))
    what = capital(clean_line(in_units(remedy.what, wishes.units)))
    if remedy.act is Act.START and _ordered(remedy, start):
        what = f"Order a starter: {food_name(remedy.of)}"
    brief = _ASIDE.split(what, maxsplit=1)[0]
    said = (f"{what}: {short}", f"{brief}: {short}", what, brief)
    return next((title for title in said if len(title) <= LONGEST), shortened(brief))


def warning_text(
    shortfall: Shortfall, remedies: Sequence[tuple[Remedy, datetime]], start: datetime,
    wishes: Wishes,
) -> str:  # fmt: skip
    """Cause, size, tanks, and what still helps until when.

    Args:
        remedies: those still in time, each with the last good moment for it. start: of the
            entry; a day of another year is written with its year.
    """
    rounds = "1 round" if shortfall.rounds == 1 else f"{shortfall.rounds} rounds"
    span = _moment(shortfall.at, start, wishes)
    if shortfall.rounds > 1:
        span += f" to {_moment(shortfall.until, start, wishes)}"
    cause = _sentence(in_units(shortfall.cause, wishes.units))
    parts = [
        cause,
        f"{rounds}, {span}: {shortfall.share:.0%} of the need is missing.",
        f"Tanks: {', '.join(shortfall.tanks)}" if shortfall.tanks else "",
    ]
    if remedies:
        parts.append(HELPS)
        parts += [_help_text(r, by, start, wishes) for r, by in remedies]
    else:
        parts.append("Nothing was found that helps in time; share what there is among all tanks.")
    return clean("\n".join(part for part in parts if part))


def _help_text(remedy: Remedy, good: datetime, start: datetime, wishes: Wishes) -> str:
    """By when something helps, as the screens say it, and by when to ask for it where that takes
    days.
    """
    ordered = _ordered(remedy, good)
    by = (remedy.still or remedy.by) if ordered else good
    ask = f" (ask for it or order it by {_moment(good, start, wishes)})" if ordered else ""
    what = in_units(remedy.what, wishes.units)
    helps = "" if remedy.helps_from == by else _helps_from(remedy, start, wishes)
    return f"- by {_moment(by, start, wishes)}: {what}{ask}{helps}"


def _ordered(remedy: Remedy, good: datetime) -> bool:
    """Whether a moment is early enough to fetch what a remedy needs."""
    return bool(remedy.fetch) and good <= remedy.by - remedy.fetch


def _helps_from(remedy: Remedy, start: datetime, wishes: Wishes) -> str:
    if remedy.helps_from is None:
        return ""
    return f", which helps from {_moment(remedy.helps_from, start, wishes)}"


def _moment(moment: datetime, start: datetime, wishes: Wishes) -> str:
    """``Tue 5 Jan 07:30``, with the year where it is not that of the entry."""
    local = wishes.local(moment)
    near = local.year == wishes.local(start).year
    return (when if near else year_when)(local, wishes.units)
