"""What would lift a limit on a brood: a supposition of :mod:`cultures.planning.what_if`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from attrs import evolve, frozen

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.fry.diet import suitability
from cultures.planning.gaps import Gap
from cultures.planning.servings import STAND_IN_FROM
from cultures.planning.what_if import suppose
from cultures.room.room import Brood, Room

#: So many cysts are as good as no limit [g].
_PLENTY_G = 100_000
#: A vessel for a room that has none [L].
_USUAL_VESSEL_L = 1.0


@frozen
class Lift:
    """One thing more, or otherwise.

    Attributes:
        what: ``vessel``, ``cysts``, ``culture``, ``food`` or ``helper``.
        text: in plain words; of cysts without the grams, which follow from the brood.
        supposition: that makes a room with it, or "" where only the brood is fed otherwise.
        food: that the brood must get for it, or "".
    """

    what: str
    text: str
    supposition: str = ""
    food: str = ""

    def room(self, room: Room, now: datetime) -> Room:
        """A room with it.

        Raises:
            SuppositionError: it cannot be made in that room.
        """
        return suppose(room, self.supposition, now) if self.supposition else room

    def given_to(self, brood: Brood) -> Brood:
        """A brood with its food among those that it gets; the same if it gets all or has it."""
        if not self.food or brood.foods is None or self.food in brood.foods:
            return brood
        return evolve(brood, foods=(*brood.foods, self.food))


def lifts_of(room: Room, now: datetime, gap: Gap, limit: str) -> Iterator[Lift]:
    """What may lift what holds a brood up at a gap, the likeliest first; none where nothing does.

    Args:
        now: aware; a starter comes after the days that the room needs to fetch one.
        limit: a word of :class:`cultures.planning.shortfalls.Limits`.
    """
    if limit in ("vessels", "uneven", "no vessel"):
        litres = max((vessel.litres for vessel in room.vessels), default=_USUAL_VESSEL_L)
        yield Lift("vessel", f"a {litres:g} L vessel", f"vessel {litres}", BRINE_SHRIMP)
    if limit in ("vessels", "uneven", "tin") and room.cysts is not None:
        yield Lift("cysts", "cysts", f"buy {_PLENTY_G} cysts")
    if limit in ("none", "unripe", "thin"):
        yield from _cultures(room, now, gap, [gap.food])
    if limit in ("mouth", "learning"):
        kinds = sorted(name for name, k in room.kinds.items() if isinstance(k, WormKind))
        yield from _cultures(room, now, gap, kinds)
    if limit == "meagre" and DRY not in (gap.need.brood.foods or (DRY,)):
        yield Lift("food", "dry food", food=DRY)
    if limit == "away":
        day = gap.feeding.at.date()
        away = next(a for a in room.away if a.start <= day <= a.end)
        first = max(away.start, now.date())
        text = f"away from {first} to {away.end} with helper"
        yield Lift("helper", "a helper", text)


def _cultures(room: Room, now: datetime, gap: Gap, kinds: Iterable[str]) -> Iterator[Lift]:
    """One more culture of the kind that suits best, as soon as a starter is to be had."""

    def suits(kind: str) -> float:
        return suitability(room.food(kind), gap.need.brood.fry_class, gap.need.length_mm)

    kind = room.kinds.get(max(kinds, key=suits, default=""))
    if not isinstance(kind, WormKind) or suits(kind.name) < STAND_IN_FROM:
        return
    day = now.date() + room.fetched_in("starter")
    yield Lift("culture", f"a {kind.label} culture", f"buy {kind.name} on {day}", kind.name)
