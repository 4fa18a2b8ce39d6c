"""Tasks that are alike, told as one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import TypeVar

from cultures.tasks.task import (
    Count,
    HarvestWorms,
    Lid,
    MoveOn,
    Retire,
    SetHatch,
    Sort,
    Split,
    Start,
    SwitchFood,
    Task,
)
from cultures.words.tasks import for_spawns, plain, task_phrase, task_text, worms_amount
from cultures.words.tools import MEDIUM, Tools

_NUMBERED = re.compile(r"(.*?)(\d+)")
_Any = TypeVar("_Any")


def names(every: Sequence[str]) -> str:
    """Names as a list, those that are numbered one after another as a range.

    Examples:
        >>> names(["GW-1", "GW-2", "GW-3", "MW-7"]), names(["A1", "A2"])
        ('GW-1 to GW-3 and MW-7', 'A1 and A2')
    """
    runs: list[list[str]] = []
    for name in every:
        if runs and _follows(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    told: list[str] = []
    for run in runs:
        told += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else run
    return " and ".join(part for part in (", ".join(told[:-1]), told[-1]) if part)


def _follows(one: str, other: str) -> bool:
    """Whether two names are numbered one after the other."""
    first, second = _NUMBERED.fullmatch(one), _NUMBERED.fullmatch(other)
    return (
        first is not None and second is not None and first[1] == second[1]
        and int(second[2]) == int(first[2]) + 1
    )  # fmt: skip


def together(things: Iterable[_Any], alike: Callable[[_Any], Hashable]) -> list[tuple[_Any, ...]]:
    """Things in groups of those that are alike, each group where its first one stood."""
    groups: dict[Hashable, list[_Any]] = {}
    for thing in things:
        groups.setdefault(alike(thing), []).append(thing)
    return [tuple(group) for group in groups.values()]


def alike(task: Task, kind: str) -> Hashable:
    """What tasks that are told as one have in common; ``kind`` of the culture."""
    what: Hashable = task.id
    match task:
        case Split() | Start():
            what = (kind, task.starter_g, task.medium_g)
        case SetHatch():
            what = (task.cysts_g, task.water_l, task.salt_g)
        case SwitchFood():
            what = task.other
        case Retire() | Count() | Sort() | Lid() | MoveOn():
            what = ""
    return type(task), task.at, what, task.spawns


def group_text(tasks: Sequence[Task], tools: Tools) -> str:
    """What is to be done, of tasks that are alike."""
    first = tasks[0]
    if len(tasks) == 1:
        return task_text(first, tools)
    text = _group_text(tasks, tools)
    return f"{text}, {for_spawns(first)}" if first.spawns else text


def _group_text(tasks: Sequence[Task], tools: Tools) -> str:
    first, subjects = tasks[0], [t.subject for t in tasks]
    match first:
        case Split():
            return (
                f"split {len(tasks)} of {_parents(subjects)}: {_moist(first.starter_g, tools)}"
                f" onto {_moist(first.medium_g, tools)} of new medium each, label"
                f" {names([t.other for t in tasks])}"
            )
        case Start():
            return (
                f"start {names([t.other for t in tasks])} from a bought starter, each on"
                f" {_moist(first.medium_g, tools)} of medium"
            )
        case SetHatch():
            each = plain(task_phrase(first, tools)[3:])
            return f"set {names(subjects)}, each with {each}"
        case Retire():
            return f"{plain(task_phrase(first, tools)[:1])}{names(subjects)}"
    phrases = [task_phrase(t, tools) for t in tasks]
    begins, ends = (plain(phrases[0][i : i + 1 or None]) for i in (0, -1))
    if isinstance(first, SwitchFood):
        return f"{begins}{names(subjects)}"
    return f"{begins}{', '.join(plain(phrase[1:-1]) for phrase in phrases)}{ends}"


def _moist(grams: float, tools: Tools) -> str:
    return tools.one(grams, MEDIUM).text


def _parents(subjects: Sequence[str]) -> str:
    """The cultures that are split, and how often each where that is not alike."""
    often = Counter(subjects)
    if len(set(often.values())) == 1:
        return names(list(often))
    return ", ".join(f"{name} ({count})" if count > 1 else name for name, count in often.items())


def harvests_text(tasks: Sequence[HarvestWorms], tools: Tools, said: Callable[[Task], str]) -> str:
    """What is taken from each of some cultures; ``said``: what was noted of one, before it."""
    told = [(said(t), t.subject, plain(worms_amount(t, tools))) for t in tasks]
    parts = []
    for group in together(told, lambda one: one[2] if not one[0] else one):
        each = " each" if len(group) > 1 else ""
        parts.append(f"{group[0][0]}{names([name for _, name, _ in group])}: {group[0][2]}{each}")
    return ", ".join(parts)
