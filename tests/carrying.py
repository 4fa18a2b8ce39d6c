"""Whether a brood is fed in a room, by planning that room anew and carrying the plan out."""

from __future__ import annotations

from datetime import datetime

from attrs import evolve, frozen

from cultures.planning.build import build_tasks
from cultures.planning.feeding_plan import SHORT_SHARE
from cultures.planning.gaps import find_gaps
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.simulate import simulate
from cultures.room.room import Brood, Room


@frozen
class Fed:
    """What adding a brood to the room and planning it gives.

    Attributes:
        own: rounds at which the brood goes short. taken_j: by how much more the others do [J].
        bearable_j: what of that is called nothing. broken: rules that the tasks break, and rounds
            that they feed with less than is promised.
    """

    own: int
    taken_j: float
    bearable_j: float
    broken: int

    @property
    def well(self) -> bool:
        """Whether the brood is fed, and nobody pays for it."""
        return not self.own and not self.broken and self.taken_j <= self.bearable_j


def missing_j(room: Room, now: datetime, until: datetime) -> float:
    """What the broods of a room miss until then that more food would mend [J]."""
    return sum(_missing(_planned(room, now, until), until).values())


def fed(
    room: Room, now: datetime, brood: Brood, until: datetime, before_j: float | None = None
) -> Fed:
    """Plans a room with and without a brood, as a keeper would, and carries out the first.

    Args:
        before_j: what is missing without it [J], where that is known.
    """
    with_it = _planned(evolve(room, broods=(*room.broods, brood)), now, until)
    before_j = missing_j(room, now, until) if before_j is None else before_j
    after = _missing(with_it, until)
    own = [key for key in after if key[1] == brood.name]
    others_j = sum(short_j for key, short_j in after.items() if key not in own)
    eaten_j = sum(
        need.energy_j for row in with_it.needs for need in row
        if need.brood.name == brood.name and need.at < until
    )  # fmt: skip
    return Fed(
        own=len(own),
        taken_j=others_j - before_j,
        bearable_j=SHORT_SHARE * max(before_j, eaten_j),
        broken=_broken(with_it),
    )


def _planned(room: Room, now: datetime, until: datetime) -> Outlook:
    return make_outlook(room, now=now, days=max(1, (until.date() - now.date()).days))


def _missing(outlook: Outlook, until: datetime) -> dict[tuple[datetime, str], float]:
    """What each brood misses at each round that more food would mend [J]; a new one at any."""
    known = {brood.name for brood in outlook.room.broods if not brood.name.startswith("supposed ")}
    gaps = find_gaps(outlook.feedings, outlook.needs, outlook.feeding, outlook.lines)
    return {
        (gap.feeding.at, gap.need.brood.name): gap.short_j for gap in gaps
        if gap.feeding.at < until
        and (gap.need.brood.name not in known or (gap.feeding.fed and gap.need.foods))
    }  # fmt: skip


def _broken(outlook: Outlook) -> int:
    lines = [line for row in outlook.lines for line in row]
    outcome = simulate(outlook.room, build_tasks(outlook), lines)
    less = [
        line for line in lines
        if outcome.given_j.get((line.at, line.brood, line.food), 0.0)
        < line.given_j * (1.0 - 1e-6) - 1e-6
    ]  # fmt: skip
    return len(outcome.violations) + len(less)
