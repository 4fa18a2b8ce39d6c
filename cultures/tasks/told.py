"""Feeding lines, and tasks as a person was told them."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any, Final, Literal, TypeVar

from attrs import evolve, field, frozen

from cultures.tasks.task import HarvestHatch, Listed, Task, rank_of

#: A round, and any other task, is still in hand for so long after its time.
LATE = timedelta(hours=2)
#: It may be ticked off so long before its time.
EARLY = timedelta(minutes=45)
#: How dry food of a round is measured.
Way = Literal["soaked", "weighed"]
#: Who tells what nobody need have looked at: an entry rings, and its doses stand in its text.
CALENDAR: Final = "calendar"
SOAKED: Final = "soaked"
WEIGHED: Final = "weighed"

_Key = TypeVar("_Key", bound=Hashable)


@frozen
class FeedLine(Listed):
    """One food for one brood at one round.

    Attributes:
        need_j: energy this food should bring by the ideal diet [J].
        given_j: energy that the plan gives with it [J].
        amount, unit: what the keeper measures.
        wet_ml: dry food as it was soaked [mL], where that is not 5 mL for each 0.01 g.
        skipped_g: what was due of dry food and is given in its turn, since it is less than can be
            measured [g].
        way: how dry food is measured: ``soaked`` for all and dosed by volume, or ``weighed`` for
            each tank; None of other foods, and where it was told before that was recorded.
    """

    at: datetime
    tank: str
    brood: str
    food: str
    need_j: float
    given_j: float
    amount: float
    unit: str
    wet_ml: float | None = None
    skipped_g: float | None = None
    way: Way | None = None

    def to_json(self) -> dict[str, Any]:
        """As the JSON contract has it."""
        return {name: value for name, value in super().to_json().items() if value is not None}


def totals_j(
    lines: Iterable[FeedLine], of: Callable[[FeedLine], _Key]
) -> dict[_Key, tuple[float, float]]:
    """What is needed and what is given [J], of all lines that have ``of`` in common together."""
    found: dict[_Key, tuple[float, float]] = {}
    for line in lines:
        need_j, given_j = found.get(key := of(line), (0.0, 0.0))
        found[key] = need_j + line.need_j, given_j + line.given_j
    return found


def few_shared(
    lines: Sequence[FeedLine], food: str, share: float, mark_ml: float
) -> tuple[FeedLine, ...]:
    """Lines of a round of which only a share of one food came: who gets no other food at it is
    filled first, the others have what is left. As much is poured in all, in whole marks.
    """
    others = {x.brood for x in lines if x.food != food and x.amount > 0.0}
    mine = [x for x in lines if x.food == food and x.amount > 0.0]
    alone_ml = sum(x.amount for x in mine if x.brood not in others)
    cup_ml = sum(x.amount for x in mine)
    if not 0.0 < alone_ml < cup_ml or share <= 0.0:
        return tuple(lines)
    there_ml = share * cup_ml  # of the cup as it was told, the part that holds what came
    full = min(1.0, there_ml / alone_ml)
    rest = (there_ml - full * alone_ml) / (cup_ml - alone_ml)
    exact = [x.amount * (rest if x.brood in others else full) / share for x in mine]
    doses = [math.floor(ml / mark_ml + 1e-9) for ml in exact]
    left = round(cup_ml / mark_ml) - sum(doses)
    order = sorted(range(len(mine)), key=lambda i: (mine[i].brood in others,
                                                    doses[i] - exact[i] / mark_ml))  # fmt: skip
    for i in order[:left]:
        doses[i] += 1
    amounts = {id(x): dose * mark_ml for x, dose in zip(mine, doses, strict=True)}
    return tuple(
        evolve(x, amount=ml, given_j=x.given_j * share * ml / x.amount)
        if (ml := amounts.get(id(x))) is not None else x
        for x in lines
    )  # fmt: skip


@frozen
class Draw:
    """What one harvest of nauplii gives to one round.

    Attributes:
        vessel: where it was hatched. harvested: when, in the room's zone.
        jar_ml: what the harvest was made up to, or None when all of it goes into one round.
        take_ml: out of the jar. part: of the whole harvest that is.
    """

    vessel: str
    harvested: datetime
    jar_ml: float | None
    take_ml: float
    part: float = 1.0


@frozen
class Bare:
    """Rounds in a row of which it was told that there is nothing to give to a brood.

    Attributes:
        told_at: when. first, last: of these rounds, both among them.
    """

    told_at: datetime
    brood: str
    first: datetime
    last: datetime


@frozen
class ToldTask:
    """A task as a person was told it.

    Attributes:
        told_at: when it was told so. round_at: the round that it belongs to, or None.
        opens, closes: an entry about its subject in this time is about it.
        lines, draws: of a feeding, tank by tank, and where its nauplii come from. fry, needs_j: how
            many of each brood it was reckoned for, and what each needed, given something or not.
        kind: of the worms that it is about, or "". harvest_at: of a setting, when its hatch is
            to be drawn off. by: the screen that told it, or that showed first, unchanged, what only
            a calendar had told. looked: as a look had told it, where an
            answer to an entry, or a look at one that was taken back, told it otherwise since.
            first_at: when it was told first, where it was told otherwise since; came_at: the first
            time that it was told for and that had come by when it was told again. void: told by
            no look but on an entry that was taken back since: later plans do not start from it.
            mistaken: told on an entry that was taken back once its time had come and before it
            was over, so that no look could tell it otherwise. line: the last of the journal that
            was known when it was told so, None where that is not recorded.
    """

    task: Task
    told_at: datetime
    opens: datetime
    closes: datetime
    round_at: datetime | None = None
    lines: tuple[FeedLine, ...] = ()
    draws: tuple[Draw, ...] = ()
    kind: str = ""
    harvest_at: datetime | None = None
    by: str = ""
    fry: Mapping[str, float] = field(factory=dict, hash=False)
    needs_j: Mapping[str, float] = field(factory=dict, hash=False)
    looked: ToldTask | None = None
    void: bool = False
    mistaken: bool = False
    first_at: datetime | None = field(default=None, eq=False)
    came_at: datetime | None = field(default=None, eq=False)
    line: int | None = field(default=None, eq=False)

    def after(self, before: ToldTask | None) -> ToldTask:
        """The same as it is told after it was told before."""
        if before is None:
            return self
        came_at = before.task.at if before.task.at <= self.told_at else None
        return evolve(
            self, first_at=before.first_at or before.told_at, came_at=before.came_at or came_at
        )

    def put_off(self, at: datetime) -> ToldTask:
        """The same where a person put it to a later time."""
        later = at - self.task.at
        task = evolve(self.task, at=at, until=max(self.task.until, at))
        return evolve(self, task=task, closes=self.closes + later)

    def may_change(self, at: datetime) -> bool:
        """Whether it can be told otherwise at a moment: before its time, or while it is not over
        where it is of a round that only a calendar told. A vessel is drawn off when it was told.
        """
        of_round = self.round_at is not None and not isinstance(self.task, HarvestHatch)
        late = self.by == CALENDAR and of_round
        return at < (self.over_at if late else self.task.at)

    @property
    def hatch(self) -> str:
        """What the setting and the harvest of one hatch have in common in their ids."""
        return self.task.id.partition("/")[2].partition("#")[0]

    @property
    def tanks(self) -> tuple[str, ...]:
        """The tanks that a feeding gives something to, in the order of the walk."""
        return tuple(dict.fromkeys(x.tank for x in self.lines if x.amount > 0))

    @cached_property
    def plates(self) -> Mapping[str, tuple[float, float]]:
        """Of a feeding, by brood: what it needed and what it was told to get [J].

        What is told holds only the foods that there are; so an older record, without ``needs_j``,
        knows nothing of what a brood needed of others.
        """
        found = {brood: (need_j, 0.0) for brood, need_j in self.needs_j.items()}
        for line in self.lines:
            need_j, given_j = found.get(line.brood, (0.0, 0.0))
            more_j = 0.0 if line.brood in self.needs_j else line.need_j
            found[line.brood] = need_j + more_j, given_j + line.given_j
        return found

    @property
    def order(self) -> tuple[datetime, int, str]:
        """Its place among others: by time, and at one time in the order of doing."""
        return self.task.at, rank_of(self.task), self.task.id

    @property
    def due_at(self) -> datetime:
        """Its round, or its own time where it is of none."""
        return self.round_at or self.task.at

    @property
    def over_at(self) -> datetime:
        """When it is over: from then on it is taken as done unless something else is noted."""
        return self.due_at + LATE
