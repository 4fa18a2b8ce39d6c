"""What the broods of a round get by what was told of it, in whatever cup it comes.

Two swipes of which all is fed and two and a half of which four fifths are fed are one dose. What
nobody feels is less than a tenth of a plate, not of one of its foods.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from datetime import datetime

from attrs import frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.tasks.task import Feed, HarvestWorms
from cultures.tasks.told import FeedLine, ToldTask

#: Less than a tenth more or less nobody feels (common practice, no source).
FELT = 0.1


@frozen(eq=False)
class _Round:
    """A round as it was told.

    Attributes:
        lines: by (tank, brood, food), those given. taken: of each food that comes in a cup, so much
            as goes into it: swipes or draws of worms, parts of harvests of nauplii. feed: its task.
        jars: which harvests it takes nauplii of.
    """

    lines: Mapping[tuple[str, str, str], FeedLine]
    taken: Mapping[str, float]
    feed: Feed
    jars: frozenset[tuple[str, datetime]]

    def portion(self, key: tuple[str, str, str]) -> float:
        """How much of its food a line gives, by what is taken for it; dry food in grams."""
        line = self.lines.get(key)
        cup_ml = self.feed.cups_ml.get(key[2])
        if line is None or not cup_ml:
            return line.amount if line is not None else 0.0
        return self.taken.get(key[2], 0.0) * line.amount / cup_ml

    def plate_j(self, tank: str, brood: str) -> float:
        """All that a brood gets [J]."""
        return sum(x.given_j for (t, b, _), x in self.lines.items() if (t, b) == (tank, brood))


def _rounds(told: Iterable[ToldTask], there: Container[str]) -> dict[datetime, _Round]:
    """Told rounds by time; of a culture that is not there nothing is taken."""
    told = list(told)
    taken: dict[datetime | None, dict[str, float]] = {}
    for each in told:
        task = each.task
        if isinstance(task, HarvestWorms) and task.subject in there:
            of_round = taken.setdefault(each.round_at, {})
            of_round.setdefault(each.kind, 0.0)
            of_round[each.kind] += task.swipes or task.draws or 0.0
    return {
        t.task.at: _Round(
            {(x.tank, x.brood, x.food): x for x in t.lines if x.amount > 0},
            {**taken.get(t.task.at, {}), BRINE_SHRIMP: sum(d.part for d in t.draws)},
            t.task,
            frozenset((d.vessel, d.harvested) for d in t.draws),
        )
        for t in told
        if isinstance(t.task, Feed)
    }


def felt_rounds(
    shown: Iterable[ToldTask], now: Iterable[ToldTask], there: Container[str]
) -> set[datetime]:
    """The rounds at which a brood would feel it if what was shown were done, rather than what is
    planned now; and those that take nauplii of another jar.

    Args:
        there: cultures that stand, or will by then.
    """
    before, after = _rounds(shown, there), _rounds(now, there)
    return {
        at for at in before.keys() | after.keys()
        if at not in before or at not in after or before[at].jars != after[at].jars
        or any(_is_felt(key, before[at], after[at])
               for key in before[at].lines.keys() | after[at].lines.keys())
    }  # fmt: skip


def _is_felt(key: tuple[str, str, str], one: _Round, other: _Round) -> bool:
    """Whether so much more or less of a food is a tenth of the plate."""
    tank, brood, _ = key
    least, most = sorted((one.portion(key), other.portion(key)))
    given_j = max(r.lines[key].given_j for r in (one, other) if key in r.lines)
    plate_j = max(one.plate_j(tank, brood), other.plate_j(tank, brood))
    return most > 0.0 and (1.0 - least / most) * given_j > FELT * plate_j
