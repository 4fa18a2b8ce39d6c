"""Plans the foods of a room, stretch by stretch (:mod:`cultures.planning.stretches`)."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Container, Mapping, Sequence
from datetime import datetime, timedelta

from attrs import evolve, field, frozen

from cultures.foods.food import BRINE_SHRIMP
from cultures.needs.need import Round, RoundNeeds
from cultures.planning.hatch_options import HatchOptions
from cultures.planning.matching import Basis, FeedingPlan, Settled, plan_stretch, reshared
from cultures.planning.servings import Suits, SuitsMemo
from cultures.planning.standing_hatches import first_nauplii
from cultures.planning.stretches import look_ahead, settled_rounds, stretch_ends
from cultures.planning.worm_course import Layouts, Split, first_harvest
from cultures.room.room import Room

#: Worm plans of more stretches than this are not kept, since they fill the memory.
_MOST_REMEMBERED = 3
#: Nauplii come soon that come within so long [h].
_SOON_H = 48.0


@frozen(eq=False)
class Known:
    """What plans of one room have in common.

    Attributes:
        layouts: of its cultures. suits: how well foods suit its fry.
    """

    layouts: Layouts
    suits: SuitsMemo = field(factory=dict)


@frozen(eq=False)
class Stretch:
    """A planned stretch that others may go on from.

    Attributes:
        end: the count of its rounds. settled: what is decided by then.
    """

    end: int = 0
    settled: Settled = field(factory=Settled, repr=False)


def plan_feeding(
    room: Room,
    feedings: Sequence[Round],
    *,
    start: datetime,
    needs: RoundNeeds,
    before: Stretch | None = None,
    keep: list[Stretch] | None = None,
    known: Known | None = None,
    enough: Callable[[FeedingPlan, int], bool] = lambda *_: False,
) -> FeedingPlan:
    """Plans all foods together.

    Args:
        needs: by round.
        before: of a plan with the same needs up to where it is settled: that far nothing is decided
            again.
        keep: where the stretches are added that this plan is made of.
        known: of a room that differs by broods, stocks and vessels only, looked up and added to.
        enough: asked after each stretch but the last, with its plan and the count of its rounds
            that are settled, whether that plan will do.
    """
    before, shared = before or Stretch(), known or Known(Layouts(room, feedings))
    basis = _basis(room, feedings, start, look_ahead(room, start), shared)
    settled, suits = before.settled, basis.suits
    *ends, last = stretch_ends(room, feedings, start)
    ends = [end for end in ends if end > before.end]
    for end in ends:
        part = plan_stretch(basis, feedings[:end], needs[:end], settled)
        rounds = settled_rounds(feedings, end, basis.ahead)
        if rounds > settled.rounds:
            settled = Settled.of(part, rounds)
        if enough(part, settled.rounds):
            return part
        del part
        if keep is not None:
            keep.append(Stretch(end, settled))
        if len(ends) > _MOST_REMEMBERED:
            basis.memo.clear()
            if known is None:
                suits.forget_lengths()
    return plan_stretch(basis, feedings[:last], needs, settled)


def reshare(
    plan: FeedingPlan, room: Room, changed: Room, feedings: Sequence[Round], *, start: datetime,
    needs: RoundNeeds, foods: Container[str], added: str = "",
) -> FeedingPlan:  # fmt: skip
    """What a plan of a room comes to in a changed one, if only some foods are shared anew.

    Args:
        feedings: of the changed room, at the times of the plan's. needs: as planned for.
            foods, added: see :func:`cultures.planning.matching.reshared`.
    """
    known = Known(Layouts(changed, feedings), plan.suits)
    basis = _basis(changed, feedings, start, look_ahead(room, start), known)
    return reshared(basis, plan, feedings, needs, foods, added)


def _basis(
    room: Room, feedings: Sequence[Round], start: datetime, ahead: timedelta, known: Known
) -> Basis:
    """What the stretches of a room are planned with."""
    suits, bought = Suits(room, known.suits), coming_starts(room, feedings)
    leave_out_unripe(room, feedings, bought, suits, start, known.layouts)
    offers = HatchOptions(room, feedings, room.holding)
    return Basis(room, start, ahead, suits, bought, known.layouts, offers)


def coming_starts(room: Room, feedings: Sequence[Round]) -> Mapping[str, Sequence[Split]]:
    """Starters that the keeper is going to buy, by kind."""
    found: dict[str, list[Split]] = {}
    for culture in room.coming:
        there = (r for r in feedings if r.keeper and r.at.date() >= culture.started)
        first = next(there, None)
        if first is not None:
            own = evolve(culture, started=first.at.date(), planned=False)
            found.setdefault(culture.kind.name, []).append(Split("", own, first.index))
    return found


def leave_out_unripe(
    room: Room,
    feedings: Sequence[Round],
    bought: Mapping[str, Sequence[Split]],
    suits: Suits,
    start: datetime,
    layouts: Layouts,
) -> None:
    """Works out from when on worms of each kind and nauplii can be had.

    A culture that is just begun is no food yet; a split of it is ripe later still.
    """
    never = len(feedings)
    for kind in room.worm_kinds():
        own = (c for c in room.cultures if c.kind.name == kind.name)
        starts = bought.get(kind.name, ())
        stages = [*map(layouts.standing, own), *map(layouts.child, starts)]
        ripe = [i for i in map(first_harvest, stages) if i is not None]
        suits.ripe_from[kind.name] = min([*ripe, never])
    first = suits.ripe_from[BRINE_SHRIMP] = first_nauplii(room, feedings, start)
    if first < never:
        from_h = feedings[first].at_h - _SOON_H
        suits.soon = range(bisect_left(feedings, from_h, key=lambda r: r.at_h), first)
