"""Tasks that are alike, told as one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import TypeVar

from cultures.tasks.task import (
    Count,
    FirstFood,
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
from cultures.words.tasks import (
    Phrase,
    Words,
    for_spawns,
    measured_once,
    plain,
    set_up,
    task_phrase,
    why_text,
    worms_amount,
    worms_method,
)
from cultures.words.text import listed
from cultures.words.tools import Tools

_NUMBERED = re.compile(r"(.*?)(\d+)")
#: Where the recipe of a medium, or how a hatch is set up, begins within a reason.
_RECIPE = re.compile(r" (?=(?:Medium|Hatching): )")
#: Between the parts of a reason.
_SAID = re.compile(r"(?<=[.;]) ")
_Any = TypeVar("_Any")
_Key = TypeVar("_Key", bound=Hashable)


def names(every: Sequence[str]) -> str:
    """Names as a list, those that are numbered one after another as a range.

    Examples:
        >>> names(["GW-1", "GW-2", "GW-3", "MW-7"]), names(["A1", "A2"])
        ('GW-1 to GW-3 and MW-7', 'A1 and A2')
    """
    told: list[str] = []
    for run in runs(every):
        told += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else run
    return listed(told)


def runs(every: Sequence[str]) -> list[list[str]]:
    """Names cut where one is not numbered next after the one before it.

    Examples:
        >>> runs(["GW-1", "GW-2", "MW-7"])
        [['GW-1', 'GW-2'], ['MW-7']]
    """
    found: list[list[str]] = []
    for name in every:
        if found and _follows(found[-1][-1], name):
            found[-1].append(name)
        else:
            found.append([name])
    return found


def _follows(one: str, other: str) -> bool:
    """Whether two names are numbered one after the other."""
    first, second = _NUMBERED.fullmatch(one), _NUMBERED.fullmatch(other)
    return (
        first is not None and second is not None and first[1] == second[1]
        and int(second[2]) == int(first[2]) + 1
    )  # fmt: skip


def together(things: Iterable[_Any], alike: Callable[[_Any], Hashable]) -> list[tuple[_Any, ...]]:
    """Things in groups of those that are alike, each group where its first one stood."""
    return [tuple(group) for group in by_key(things, alike).values()]


def by_key(things: Iterable[_Any], key: Callable[[_Any], _Key]) -> dict[_Key, list[_Any]]:
    """Things by what they have in common, in the order in which they came.

    Examples:
        >>> by_key(["A1", "B1", "A2"], lambda name: name[0])
        {'A': ['A1', 'A2'], 'B': ['B1']}
    """
    groups: dict[_Key, list[_Any]] = {}
    for thing in things:
        groups.setdefault(key(thing), []).append(thing)
    return groups


def alike(task: Task, kind: str) -> Hashable:
    """What tasks that are told as one have in common; ``kind`` of the culture."""
    what: Hashable = task.id
    match task:
        case HarvestWorms():
            what = plain(worms_method(task))
        case Split() | Start():
            what = (kind, task.starter_g, task.medium_g, task.onto)
        case SetHatch():
            what = (task.cysts_g, task.water_l, task.salt_g, task.strain)
        case SwitchFood():
            what = task.other, task.alone
        case FirstFood() | Retire() | Count() | Sort() | Lid() | MoveOn():
            what = ""
    return type(task), task.at, what, task.spawns


def group_text(tasks: Sequence[Task], tools: Tools) -> str:
    """What is to be done, of tasks that are alike."""
    return plain(group_phrase(tasks, tools))


def group_phrase(tasks: Sequence[Task], tools: Tools) -> Phrase:
    """The same with its figures apart; they are those of the first task, and so of each."""
    first = tasks[0]
    if len(tasks) == 1:
        return task_phrase(first, tools)
    phrase = _group_phrase(tasks, tools)
    return (*phrase, f", {for_spawns(first)}") if first.spawns else phrase


def _group_phrase(tasks: Sequence[Task], tools: Tools) -> Phrase:
    first, subjects = tasks[0], [t.subject for t in tasks]
    several, others = Words(names(subjects)), Words(names([t.other for t in tasks]))
    match first:
        case HarvestWorms():
            worms = [task for task in tasks if isinstance(task, HarvestWorms)]
            return (Words(harvests_text(worms, tools, lambda _: "")), *worms_method(first))
        case Split():
            split = Words(f"split {_parents(subjects)}: ")
            return (split, *set_up(first, tools, others.shown, each=" each"))
        case Start():
            medium = measured_once(first, "medium_g", tools)
            return (
                "start ", others, " from a bought starter, each on ", medium,
                f" of {first.onto or 'medium'}",
            )  # fmt: skip
        case SetHatch():
            return ("set ", several, ", each with ", *_bare(first, tools)[3:])
    phrases = [_bare(t, tools) for t in tasks]
    if isinstance(first, Retire | SwitchFood):
        return (phrases[0][0], several)
    if isinstance(first, FirstFood):
        return (phrases[0][0], Words(", ".join(plain(phrase[1:]) for phrase in phrases)))
    every = ", ".join(plain(phrase[1:-1]) for phrase in phrases)
    return (phrases[0][0], Words(every), phrases[0][-1])


def _bare(task: Task, tools: Tools) -> Phrase:
    """A task without the spawnings that it hangs on."""
    phrase = task_phrase(task, tools)
    return phrase[:-1] if task.spawns else phrase


def _parents(subjects: Sequence[str]) -> str:
    """The cultures that are split, and how often where that is not once each.

    Examples:
        >>> _parents(["MW-1", "MW-2"]), _parents(["MW-1", "MW-1"])
        ('MW-1 and MW-2', 'MW-1 twice')
        >>> _parents(["GW-1", "GW-2", "GW-1", "GW-2"])
        '4 of GW-1 and GW-2'
    """
    often = Counter(subjects)
    if len(often) == 1:
        times = "twice" if len(subjects) == 2 else f"{len(subjects)} times"
        return f"{subjects[0]} {times}"
    if max(often.values()) == 1:
        return names(subjects)
    if len(set(often.values())) == 1:
        return f"{len(subjects)} of {names(list(often))}"
    every = (f"{name} ({count})" if count > 1 else name for name, count in often.items())
    return f"{len(subjects)} of {', '.join(every)}"


def harvests_text(tasks: Sequence[HarvestWorms], tools: Tools, said: Callable[[Task], str]) -> str:
    """What is taken from each of some cultures; ``said``: what was noted of one, before it."""
    told = [(said(t), t.subject, plain(worms_amount(t, tools))) for t in tasks]
    parts = []
    for group in together(told, lambda one: one[2] if not one[0] else one):
        each = " each" if len(group) > 1 else ""
        parts.append(f"{group[0][0]}{names([name for _, name, _ in group])}: {group[0][2]}{each}")
    return ", ".join(parts)


def reasons(tasks: Sequence[Task], units: str) -> list[str]:
    """Why tasks that are told as one are to be done; what holds for each is said at the end."""
    texts = [why_text(task, units) for task in tasks]
    if len(set(texts)) == 1:
        return texts[:1]
    told = [_SAID.split(text) for text in texts]
    ends: list[str] = []
    while all(len(parts) > 1 for parts in told) and len({parts[-1] for parts in told}) == 1:
        ends = [told[0][-1], *ends]
        told = [parts[:-1] for parts in told]
    whys: dict[str, list[str]] = {}
    for parts, task in zip(told, tasks, strict=True):
        whys.setdefault(f"{' '.join(parts).rstrip('.;')}.", []).append(task.subject)
    # Of a split the reason itself says which culture it is about.
    alone = len(whys) == 1 or isinstance(tasks[0], Split)
    each = [why if alone else f"{names(subjects)}: {why}" for why, subjects in whys.items()]
    end = " ".join(ends)
    return [*each, end[:1].upper() + end[1:]] if end else each


def without_recipe(why: str) -> str:
    """A reason without how something is set up.

    Examples:
        >>> without_recipe("They sour on Fri. Medium: cooled porridge."), recipe_of("They sour.")
        ('They sour on Fri.', '')
    """
    return _RECIPE.split(why, maxsplit=1)[0]


def recipe_of(why: str) -> str:
    """How something is set up, as a reason says it; "" where it does not."""
    return "".join(_RECIPE.split(why, maxsplit=1)[1:])
