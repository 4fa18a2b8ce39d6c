"""What became of each told task: noted as done or as not done, taken as done, or still open.

An entry is about the told task of its own event and subject in whose time it was made (half a
day for a hatch, the time of its round for a feeding); where several are open, the one told for
that very minute, which is how ``journal done`` writes it, else the earliest. ``journal skip``
names the task by its id.

A feeding can be noted tank by tank besides: what is noted of a tank holds for it, what is noted of
the round for all the others. Once every tank is noted the feeding is answered.

A hatch is told hours before its round, so that nobody is surprised. Where nobody was told the
round itself nobody is taken to have drawn it off: it would feed no one, and still be in a jar.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence, Set
from datetime import datetime, timedelta
from enum import Enum
from operator import attrgetter

from attrs import field, frozen

from cultures.journal.entries import Entry
from cultures.journal.events import day_ahead, gave_nothing
from cultures.record.store import Record
from cultures.tasks.task import (
    Arrival,
    Buy,
    Feed,
    FirstFood,
    HarvestHatch,
    HarvestWorms,
    SetHatch,
    Soak,
    Sort,
    Start,
    Task,
)
from cultures.tasks.told import ToldTask

#: No task's time begins or ends further from it than this.
_LONGEST = timedelta(days=8)
#: How the column ``other`` of an entry begins that stands for a task of another subject.
INSTEAD = "instead of "
#: Told tasks are looked up by their time.
_at = attrgetter("task.at")
#: Steps that are done with the feeding of their round.
_WITH_FEEDING = (Soak, FirstFood)


class Fate(Enum):
    """What became of a told task."""

    OPEN = "open"
    DONE = "done"
    SKIPPED = "skipped"
    PRESUMED = "presumed"
    LAPSED = "lapsed"


@frozen(eq=False)
class Fates:
    """The fate of each told task that was not withdrawn.

    Attributes:
        of: by id. answer: the entry that tells of a task, by id. told: the task that an entry
            tells of. amended: lines that a later entry takes the place of; moved: the time
            of the amended entry, at which the later one counts; replaced: that entry. tanks: by
            the id of a feeding and the tank, what holds of that tank alone.
    """

    of: Mapping[str, Fate]
    answer: Mapping[str, Entry]
    told: Mapping[Entry, ToldTask]
    amended: frozenset[int] = frozenset()
    moved: Mapping[Entry, datetime] = field(factory=dict)
    tanks: Mapping[str, Mapping[str, Sequence[Entry]]] = field(factory=dict)
    replaced: Mapping[Entry, Entry] = field(factory=dict)


def fates(record: Record, entries: Sequence[Entry], now: datetime) -> Fates:
    """The fates at a moment.

    Args:
        entries: standing ones up to ``now`` by time, as ``Journal.effective`` gives them.
    """
    matcher = _Matcher(record)
    for entry in entries:
        matcher.take(entry)
    matcher.feedings_by_their_tanks()
    matcher.steps_with_their_feeding()
    rounds, answer = record.fed_rounds, matcher.answer
    of = {key: _fate(told, answer.get(key), rounds, now) for key, told in record.tasks.items()}
    amended = frozenset(matcher.amended)
    return Fates(of, answer, matcher.told, amended, matcher.moved, matcher.tanks, matcher.replaced)


def _fate(
    told: ToldTask, answer: Entry | None, rounds: Set[datetime | None], now: datetime
) -> Fate:
    if answer is not None:
        return Fate.SKIPPED if answer.event == "skip" else Fate.DONE
    if told.over_at > now:
        return Fate.OPEN
    return Fate.LAPSED if _without_its_round(told, rounds) else Fate.PRESUMED


def _without_its_round(told: ToldTask, rounds: Set[datetime | None]) -> bool:
    """Whether a hatch to be fed was told for a round which nobody was told."""
    return (
        isinstance(told.task, HarvestHatch) and told.round_at is not None
        and told.task.fed_nauplii > 0.0 and told.round_at not in rounds
    )  # fmt: skip


class _Matcher:
    def __init__(self, record: Record) -> None:
        self.tasks = record.tasks
        self.answer: dict[str, Entry] = {}
        self.told: dict[Entry, ToldTask] = {}
        self.amended: set[int] = set()
        self.moved: dict[Entry, datetime] = {}
        self.replaced: dict[Entry, Entry] = {}
        self.tanks: dict[str, dict[str, list[Entry]]] = {}
        self.by_subject: dict[tuple[str, str], list[ToldTask]] = {}
        for told in sorted(record.tasks.values(), key=lambda t: t.task.at):
            for event in told.task.answered_by:
                for subject in subjects_of(told):
                    self.by_subject.setdefault((event, subject), []).append(told)

    def take(self, entry: Entry) -> None:
        """Finds what an entry is about; one that stands for another's task is about none, since
        that is skipped.
        """
        if entry.event == "skip":
            self._skip(entry)
        elif not entry.other.startswith(INSTEAD):
            self._find(entry)

    def _skip(self, entry: Entry) -> None:
        told = self.tasks.get(entry.other)
        if told is None:
            return
        if _is_of_one_tank(told, entry):
            if entry.subject in told.tanks:  # else the feeding had nothing for it
                self._tank(told, entry)
        elif told.task.id not in self.answer:
            self._answer(told, entry)

    def _find(self, entry: Entry) -> None:
        ahead = day_ahead(entry) if entry.event == "wetted" else None
        if ahead is not None and ahead > entry.when.date():
            return  # it is to be done then
        known = self.by_subject.get((entry.event, entry.subject), [])
        since = bisect_left(known, entry.when - _LONGEST, key=_at)
        until = bisect_right(known, entry.when + _LONGEST, key=_at)
        mine = [
            t for t in known[since:until]
            if t.opens <= entry.when < t.closes and not _moved_whole(t, entry)
        ]  # fmt: skip
        of_tank = [t for t in mine if _is_of_one_tank(t, entry)]
        if of_tank:
            self._tank(min(of_tank, key=lambda t: abs(t.task.at - entry.when)), entry)
            return
        free = [t for t in mine if t.task.id not in self.answer]
        if free:
            named = [t for t in free if entry.other and t.task.other == entry.other]
            timed = [t for t in named or free if t.task.at == entry.when]
            meant = timed or named or free
            # Of two hatches told for one vessel within half a day one cannot have been: what is
            # noted is about the last whose time has come.
            begun = [t for t in meant if t.task.at <= entry.when]
            of_vessel = isinstance(meant[0].task, HarvestHatch | SetHatch)
            self._answer(begun[-1] if of_vessel and begun else meant[0], entry)
            return
        late = next((t for t in reversed(mine) if self._skipped_till_then(t, entry)), None)
        if late is not None:
            self._amend(late, entry)
            return
        ticked = next((t for t in reversed(mine) if self._ticked(t, entry)), None)
        if ticked is not None:
            before = self._amend(ticked, entry)
            self.moved[entry] = self.moved.get(before, before.when)
            self.replaced[entry] = before
        elif any(self._amended_already(t, entry) for t in mine):
            self.amended.add(entry.line)

    def _skipped_till_then(self, told: ToldTask, entry: Entry) -> bool:
        """Whether a hatch was noted as not drawn off, and is drawn off later all the same."""
        skip = self.answer[told.task.id]
        return (
            isinstance(told.task, HarvestHatch) and skip.event == "skip"
            and skip.when <= entry.when and entry.event != "failed"
        )  # fmt: skip

    def _amended_already(self, told: ToldTask, tick: Entry) -> bool:
        """Whether an entry is a tick that one noted after it, for an earlier time, amends."""
        answer = self.answer[told.task.id]
        return (
            isinstance(told.task, HarvestWorms | SetHatch)
            and answer.when < tick.when == told.task.at
            and tick.line > 0
            and (answer.line == 0 or tick.line < answer.line)
        )

    def _ticked(self, told: ToldTask, entry: Entry) -> bool:
        """Whether a task was only ticked off as told, so that another amount amends that."""
        before = self.answer[told.task.id]
        return (
            isinstance(told.task, HarvestWorms | SetHatch)
            and before.event == entry.event
            and self.moved.get(before, before.when) == told.task.at
            and (entry.line == 0 or before.line < entry.line)
            and (before.amount, before.other) != (entry.amount, entry.other)
        )

    def _answer(self, told: ToldTask, entry: Entry) -> None:
        self.answer[told.task.id] = entry
        self.told[entry] = told

    def _amend(self, told: ToldTask, entry: Entry) -> Entry:
        """Puts an entry in the place of the one that answered a task, which it gives back."""
        before = self.answer[told.task.id]
        self.amended.add(before.line)
        self.told.pop(before, None)
        self._answer(told, entry)
        return before

    def _tank(self, told: ToldTask, entry: Entry) -> None:
        """An entry about one tank takes the place of earlier ones, but of other foods."""
        self.told[entry] = told
        said = self.tanks.setdefault(told.task.id, {}).setdefault(entry.subject, [])
        if entry.event == "fed" and entry.other:
            said[:] = [e for e in said if e.event == "fed" and e.other not in ("", entry.other)]
        else:
            said.clear()
        said.append(entry)

    def feedings_by_their_tanks(self) -> None:
        """A feeding all of whose tanks were noted is answered; as not done if none was fed."""
        for key, tanks in self.tanks.items():
            if set(tanks) == set(self.tasks[key].tanks):
                said = sorted((e for es in tanks.values() for e in es), key=lambda e: e.when)
                fed = [e for e in said if e.event == "fed"]
                self.answer.setdefault(key, (fed or said)[-1])

    def steps_with_their_feeding(self) -> None:
        """Soaking and a first food are answered with the feeding that they belong to."""
        feeds = {t.task.at: self.answer.get(k) for k, t in self.tasks.items()
                 if isinstance(t.task, Feed)}  # fmt: skip
        for key, told in self.tasks.items():
            answer = feeds.get(told.round_at) if told.round_at is not None else None
            if isinstance(told.task, _WITH_FEEDING) and answer is not None:
                self.answer.setdefault(key, answer)


def _is_of_one_tank(told: ToldTask, entry: Entry) -> bool:
    """Whether an entry is about one tank of a feeding, and not about the whole round."""
    return isinstance(told.task, Feed) and entry.subject != told.task.subject


def _moved_whole(told: ToldTask, entry: Entry) -> bool:
    """Whether a brood that was to be sorted was only moved: to sort it is to move a part of it."""
    return isinstance(told.task, Sort) and entry.event == "move" and entry.amount is None


def is_no_harvest(task: Task, answer: Entry | None) -> bool:
    """Whether a task is the harvest of a hatch that was noted to have given nothing."""
    return isinstance(task, HarvestHatch) and answer is not None and gave_nothing(answer)


def subjects_of(told: ToldTask) -> Iterable[str]:
    """How entries call what a task is about."""
    task = told.task
    if isinstance(task, Feed):
        return (task.subject, *told.tanks)
    if isinstance(task, Buy | Arrival):
        return (task.item,) if task.item == "cysts" else (task.item, task.subject)
    return (task.other,) if isinstance(task, Start) and task.other else (task.subject,)
