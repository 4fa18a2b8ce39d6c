"""Cups and doses as they were told, kept as long as they still do.

Who was shown 19 mL for a tank this morning is not to find 20 mL there at noon because a fish died
elsewhere. So what was told of a round stands while each dose is less than two marks off its share
and nobody would feel it. Nor do they stand where all of them are too little or too much.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from attrs import frozen

from cultures.foods.food import DRY
from cultures.room.room import Room
from cultures.tasks.task import Feed
from cultures.tasks.told import FeedLine, ToldTask, Way
from cultures.words.tasks import thinner

#: A dose that was told may be so many marks off its share.
_OFF = 2.0


@frozen
class AsTold:
    """What was told of the feeding of a round; of one that was not told, nothing.

    Attributes:
        cups_ml: what each cup was made up to. lines: by food and brood. dry_way: how dry food was
            measured, at the round before where nothing was told of it; None where that is not
            known.
    """

    cups_ml: Mapping[str, float]
    lines: Mapping[tuple[str, str], FeedLine]
    dry_way: Way | None = None

    @classmethod
    def of(cls, told: ToldTask | None, way: Way | None = None) -> AsTold:
        """A feeding as it was told, or None.

        Args:
            way: how dry food is measured at the round before.
        """
        if told is None or not isinstance(told.task, Feed):
            return cls({}, {}, way)
        mine = next((x.way for x in told.lines if x.way and x.amount > 0), way)
        return cls(told.task.cups_ml, {(x.food, x.brood): x for x in told.lines}, mine)

    def thin(self, broods: Sequence[str]) -> int | None:
        """How many times thinner than usual dry food was soaked; None where others ate of it."""
        dry = {name: x for (food, name), x in self.lines.items() if food == DRY}
        fed = [x for x in dry.values() if x.amount > 0]
        if not fed or set(dry) != set(broods):
            return None
        return max(map(thinner, fed))

    def marks(self, food: str, broods: Sequence[str], mark: float) -> list[int] | None:
        """The doses of some broods in marks; None where it is not in these, or others got some.

        Args:
            mark: in mL, of dry food in g.
        """
        got = {name: x.amount / mark for (of, name), x in self.lines.items() if of == food}
        whole = all(abs(marks - round(marks)) < 1e-3 for marks in got.values())
        if not got or not whole or not set(got) <= set(broods):
            return None
        return [round(got.get(name, 0.0)) for name in broods]


def told_ahead(room: Room) -> Mapping[datetime, ToldTask]:
    """The feedings that were told and have not begun, by their times."""
    return {told.task.at: told for told in room.told_rounds}


def kept(
    told: Sequence[int] | None, fresh: Sequence[int], exact: Sequence[float],
    felt: Sequence[float], spare: float = 1.0,
) -> list[int]:  # fmt: skip
    """The marks that were told where they still do, else the fresh ones.

    Args:
        told: as they were told, or None. fresh: as they would be shared out now. exact: what each
            should get. felt: how much less than that would be felt. spare: so many more or fewer
            in all do no harm.
    """
    if told is None or abs(sum(told) - sum(fresh)) > spare:
        return list(fresh)
    whole = max(sum(exact), 1e-9)
    for old, new, share, bears in zip(told, fresh, exact, felt, strict=True):
        off, anyway = (
            abs(marks - sum(of) / whole * share) for marks, of in ((old, told), (new, fresh))
        )
        if off >= _OFF or off > max(bears, anyway + 1e-9):
            return list(fresh)
        # Of what was told all may be less: a brood that was counted anew is not to go without.
        if abs(old - share) > max(bears, abs(new - share)) + 1.0:
            return list(fresh)
    return list(told)
