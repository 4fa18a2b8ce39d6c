"""What other keepers and shops have at once: hatched nauplii, dry food."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import groupby

from attrs import frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.food_units import natural_amount
from cultures.needs.need import Round
from cultures.planning.advised import HELPS_FROM, SHOP, as_advised, by_evening, due_by, stands_by
from cultures.planning.gaps import Gap
from cultures.planning.open_gaps import OpenGaps
from cultures.planning.outlook import rounds_there
from cultures.planning.shortfalls import Lack
from cultures.planning.supplies import dry_to_buy, dry_wanting
from cultures.tasks.plan import Act, Remedy
from cultures.words.quantities import number

#: Gaps, and how much of each is filled [J].
_Fills = Sequence[tuple[Gap, float]]


@frozen(eq=False)
class _Fetched:
    """Nauplii that are fetched for a lack.

    Attributes:
        got: the round at which they are got. fed: of the gaps those that they fill.
    """

    lack: Lack
    got: Round
    fed: _Fills

    @property
    def effect_j(self) -> float:
        """How much less would be missing [J]."""
        return sum(fills_j for _, fills_j in self.fed)

    @property
    def helps(self) -> bool:
        """Whether that is enough of the lack."""
        return self.effect_j >= HELPS_FROM * sum(gap.short_j for gap in self.lack.gaps)


class Elsewhere:
    """What is got from elsewhere against some lacks."""

    def __init__(self, gaps: OpenGaps) -> None:
        self.open, self.outlook, self.room = gaps, gaps.outlook, gaps.room
        self.now = gaps.outlook.now

    def nauplii(self, lacks: Iterable[Lack]) -> Iterator[tuple[Lack, Remedy]]:
        """For lacks nauplii that are fetched, those of a day as one errand."""
        ready = [(lack, fills) for lack in lacks if (fills := self._ready_made(lack))]
        ready.sort(key=_first_fed)
        for _, same_day in groupby(ready, lambda one: _first_fed(one).date()):
            mine = [*same_day]
            got = mine[0][1][0][0].feeding
            fetched = [_Fetched(lack, got, self._kept(fills, got)) for lack, fills in mine]
            errand = [each for each in fetched if each.helps]
            if self._is_errand(errand):
                yield from self._errand(errand)

    def _ready_made(self, lack: Lack) -> _Fills:
        """The gaps that nauplii would fill that somebody else hatched: at rounds at which the
        keeper can give them.
        """
        return [
            (g, fills_j) for g in lack.gaps
            if g.feeding.at >= self.now and g.feeding.keeper and not g.rounded
            and self.open.takes(g, BRINE_SHRIMP)
            and (fills_j := self.open.open_to(g, BRINE_SHRIMP)) > 0.0
        ]  # fmt: skip

    def _kept(self, fills: _Fills, got: Round) -> _Fills:
        """Of some gaps those that are filled of nauplii got at a round while these keep."""
        keeps = self.room.holding.still_feeds
        return [
            (gap, j) for gap, j in fills
            if gap.feeding.index == got.index or keeps(got.at_h, gap.feeding.at_h)
        ]  # fmt: skip

    def _is_errand(self, fetched: Iterable[_Fetched]) -> bool:
        """Whether what is fetched for some lacks at one time is worth it, all together."""
        fed = [each for one in fetched for each in one.fed]
        left_j = {gap.key: gap.short_j - fills_j for gap, fills_j in fed}
        return self.open.is_worth(Act.FETCH, BRINE_SHRIMP, [gap for gap, _ in fed], left_j)

    def _errand(self, errand: Sequence[_Fetched]) -> Iterator[tuple[Lack, Remedy]]:
        """For each lack what is fetched for all of them at one time: that is one errand."""
        got = errand[0].got
        rounds = {gap.feeding.index for fetched in errand for gap, _ in fetched.fed}
        whole_j = sum(fetched.effect_j for fetched in errand)
        each = natural_amount(self.room, BRINE_SHRIMP, whole_j / len(rounds)).value
        what = f"get hatched nauplii from another keeper or a shop, about {number(each, 2)}"
        what += " a round" if len(rounds) > 1 else ""
        for fetched in errand:
            first = fetched.fed[0][0].feeding.at
            since = first if first > fetched.lack.gaps[0].feeding.at else None
            yield fetched.lack, as_advised(self.room, self.now, Remedy(
                what, got.at, fetched.effect_j, SHOP, since, act=Act.FETCH, of=BRINE_SHRIMP,
                amount=each,
            ))  # fmt: skip

    def dry(self, lack: Lack) -> Iterator[Remedy]:
        """Dry food that is used up before any that is bought can come: what helps until then, and
        what helps from then on.
        """
        servings = self.outlook.feeding.servings
        grams, effect_j = dry_wanting(lack.gaps, servings, self.room.units)
        what = f"get {number(grams, 4)} g of dry food at once, from another keeper or a shop"
        first = lack.gaps[0].feeding.at
        before = [r.at for r in rounds_there(self.outlook) if r.at <= first]
        by = by_evening(self.room, self.now, before[-1] if before else first)
        yield as_advised(self.room, self.now, Remedy(
            what, by, effect_j, act=Act.FETCH, of=DRY, amount=grams
        ))  # fmt: skip
        bought = dry_to_buy(self.outlook)
        if bought is not None:
            what = f"buy {number(bought.grams, 4)} g of dry food"
            by = by_evening(self.room, self.now, bought.at)
            by = stands_by(self.room, self.now, Act.BUY, DRY, by)
            had = by + self.room.fetched_in(DRY)
            helps_from = next((r.at for r in self.open.keepers if r.at >= had), had)
            due = due_by(self.room, bought.due)
            yield as_advised(self.room, self.now, Remedy(
                what, due or by, 0.0, helps_from=helps_from, act=Act.BUY, of=DRY,
                still=by if due else None,
            ))  # fmt: skip


def _first_fed(ready: tuple[Lack, _Fills]) -> datetime:
    """The first round at which nauplii fill gaps of a lack."""
    return ready[1][0][0].feeding.at
