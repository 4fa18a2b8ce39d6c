"""What would still help against what falls short.

A remedy is a change of the room. What the plan knows says how much it may save at most: where the
food can be eaten, from when there is some, how much one culture or vessel gives. The cheapest that
may save something is tried once, for all shortfalls together; the next is tried on what is still
missing then. So the number of trials has a limit that no number of shortfalls changes. A trial
plans anew only the foods that the change is about, for what all others leave open, and holds those
as they are.

Advice that was told is tried first, and stays what it was while it helps and its time is not over.
What is got for it (another kind, a vessel, food from elsewhere) must be worth the errand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from itertools import groupby

from attrs import evolve

from cultures.needs.need import Round
from cultures.planning.advised import (
    HELPS_FROM,
    as_advised,
    is_advised,
    least_share,
)
from cultures.planning.amounts import measure
from cultures.planning.asking import helped_until
from cultures.planning.elsewhere import Elsewhere
from cultures.planning.feeding_plan import reshare
from cultures.planning.finer import finer_tools
from cultures.planning.gaps import Gap, find_gaps
from cultures.planning.matching import FeedingPlan
from cultures.planning.offers import Change, Offers
from cultures.planning.open_gaps import Key, OpenGaps
from cultures.planning.outlook import Outlook
from cultures.planning.shortfalls import OUT, UNMEASURED, Hunger, Lack, Limits
from cultures.tasks.plan import Act, Remedy

#: Most trials of remedies; those that were told are tried besides.
_MOST_TRIALS = 4


def find_remedies(
    outlook: Outlook, limits: Limits, lacks: Sequence[Lack], hunger: Hunger | None = None
) -> list[tuple[Remedy, ...]]:
    """For each lack what really helps, the most effective first.

    Args:
        hunger: of the broods that go short; None where nobody asks who starves.
    """
    missing = [lack for lack in lacks if lack.limit != UNMEASURED]
    trials = _MOST_TRIALS - (len(missing) < len(lacks))  # finer tools are one
    found = iter(_Finder(outlook, limits, missing, hunger).find(trials))
    finer = finer_tools(outlook)
    return [
        tuple(finer(lack)) if lack.limit == UNMEASURED else next(found) for lack in lacks
    ]  # fmt: skip


class _Finder:
    def __init__(
        self, outlook: Outlook, limits: Limits, lacks: Sequence[Lack], hunger: Hunger | None = None
    ) -> None:
        self.outlook, self.lacks, self.room, self.now = outlook, lacks, outlook.room, outlook.now
        self.open = OpenGaps(outlook, limits, lacks, hunger)
        self.found: list[list[Remedy]] = [[] for _ in lacks]

    def find(self, trials: int = _MOST_TRIALS) -> list[tuple[Remedy, ...]]:
        """For each lack what helps, after so many trials at most besides of what was told."""
        for change in Offers(self.open):
            again = is_advised(self.room, change.act, change.of)
            if (trials > 0 or again) and self._may_help(change):
                trials -= 1
                self._confirm(change)
        elsewhere = Elsewhere(self.open)
        for lack, found in zip(self.lacks, self.found, strict=True):
            if lack.limit == OUT:
                found += elsewhere.dry(lack)
        helpless = [lack for lack, found in zip(self.lacks, self.found, strict=True) if not found]
        for lack, remedy in elsewhere.nauplii(helpless):
            self.found[self.lacks.index(lack)].append(remedy)
        return [tuple(sorted(f, key=lambda r: (-r.effect_j, r.by))) for f in self.found]

    def _saved(self, change: Change, key: Key) -> float:
        """What a change may save at a gap of what is still to be saved there [J]."""
        if change.helps_at is not None and self.open.by_key[key].feeding.at < change.helps_at:
            return 0.0
        advised = is_advised(self.room, change.act, change.of)
        meant = advised or self.open.limit_of[key] in change.against
        open_j = self.open.by_key[key].short_j if meant else self.open.left_j[key]
        return min(change.saves_j.get(key, 0.0), open_j)

    def _may_help(self, change: Change) -> bool:
        """Whether it may save enough of any lack that something is still wanted for."""
        least = least_share(self.room, change.act, change.of)
        left_j = {
            key: gap.short_j - self._saved(change, key) for key, gap in self.open.by_key.items()
        }
        return self.open.is_worth(change.act, change.of, self.open.by_key.values(), left_j) and any(
            sum(gap.short_j - left_j[gap.key] for gap in lack.gaps)
            >= least * sum(gap.short_j for gap in lack.gaps)
            for lack in self.lacks
        )  # fmt: skip

    def _confirm(self, change: Change) -> None:
        """Tries a changed room, and keeps what that gains for each lack."""
        outlook, feedings = self.outlook, change.feedings or self.outlook.feedings
        plan = change.anew() if change.anew is not None else reshare(
            outlook.feeding, self.room, change.room, feedings, start=self.now, needs=outlook.needs,
            foods=change.foods, added=change.kind,
        )  # fmt: skip
        if self._unfed(plan, feedings) >= self._unfed(outlook.feeding, outlook.feedings):
            return  # what it gives here it takes elsewhere
        lines, _ = measure(change.room, plan)
        gaps = find_gaps(feedings, outlook.needs, plan, lines)
        missing, helps = {gap.key: gap.short_j for gap in gaps}, []
        ahead = _in_time(change, self.open.by_key.values())
        if not self.open.is_worth(change.act, change.of, ahead, missing):
            return
        share = least_share(self.room, change.act, change.of)
        for lack, found in zip(self.lacks, self.found, strict=True):
            helped = _in_time(change, lack.gaps)
            effect = sum(g.short_j - missing.get(g.key, 0.0) for g in helped)
            least = share * sum(gap.short_j for gap in lack.gaps)
            told = change.told(plan, lack) if effect >= least else None
            asks = change.act is Act.ASK
            if told is not None and (asks or told[1] >= self.now):
                since = _helps_from(lack.gaps, helped, missing)
                still = helped_until(outlook, lack.gaps, told[1]) if asks else None
                what, by = told
                method = None if isinstance(what, str) else what
                said = what if isinstance(what, str) else what.words()
                remedy = Remedy(
                    said, by, effect, change.fetch, since, act=change.act, of=change.of,
                    still=still, method=method,
                )  # fmt: skip
                if change.due is not None:
                    remedy = evolve(remedy, by=change.due, still=remedy.by)
                helps.append((found, remedy))
                for gap in helped:
                    self.open.left_j[gap.key] = min(
                        self.open.left_j[gap.key], missing.get(gap.key, 0.0)
                    )
        first = min((remedy.by for _, remedy in helps), default=self.now)
        for found, remedy in helps:  # what was told is what is wanted first
            advised = as_advised(self.room, self.now, remedy)
            found.append(advised if remedy.by == first else evolve(advised, was=None))

    def _unfed(self, plan: FeedingPlan, feedings: Sequence[Round]) -> float:
        """What all broods miss in the shown time, before syringe and scale round it [J]."""
        total = 0.0
        for feeding, row, wanted in zip(feedings, plan.servings, self.outlook.needs, strict=True):
            if self.now <= feeding.at < self.outlook.until:
                unfed = (need.energy_j for need in wanted)
                total += sum((s.missing_j() for s in row) if feeding.fed else unfed)
        return total


def _in_time(change: Change, gaps: Iterable[Gap]) -> list[Gap]:
    """Of some gaps those that a change is in time for, as far as that is known."""
    return [g for g in gaps if change.helps_at is None or g.feeding.at >= change.helps_at]


def _helps_from(
    gaps: Sequence[Gap], helped: Sequence[Gap], missing: Mapping[Key, float]
) -> datetime | None:
    """The first round at which gaps are filled enough; None where that is the first of all.

    Args:
        helped: of the gaps, those that may be. missing: what is left of them [J].
    """
    for at, row in groupby(helped, lambda gap: gap.feeding.at):
        mine = [*row]
        saved_j = sum(gap.short_j - missing.get(gap.key, 0.0) for gap in mine)
        if saved_j >= HELPS_FROM * sum(gap.short_j for gap in mine):
            return at if at > gaps[0].feeding.at else None
    return None
