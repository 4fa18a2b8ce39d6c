"""Rounds in hand whose doses were told before what is known now of a brood or a hatch."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from cultures.needs.need import BroodNeed, room_needs, rounds_between
from cultures.record.known import Known
from cultures.room.room import HeldNauplii, Room
from cultures.tasks.task import OF_ROUND, Feed, HarvestHatch, HarvestWorms
from cultures.tasks.told import CALENDAR, ToldTask

#: A tenth more or less nobody feels; a quarter is worth a word where it is too late to plan anew.
_FELT, _SAID = 0.1, 0.25
#: Counts as they are told have three digits; what dies in a day by itself is no other count.
_SAME = 0.03
_MOMENT = timedelta(seconds=1)


def overtaken(
    in_hand: Iterable[ToldTask], known: Known, room: Room
) -> dict[datetime, dict[str, float]]:
    """How many times what it was told its need is that a brood needs now, by round in hand; without
    end where it was not told to need anything.

    A count, deaths, a sale or a length that was noted (or taken back) since then does that. Only
    broods whose need is another, and whose tanks are not noted to be fed.
    """
    found = {}
    here = {brood.name: brood.tank for brood in room.broods}
    for told in in_hand:
        if isinstance(told.task, Feed) and told.task.id not in known.fates.answer:
            fed = known.fates.tanks.get(told.task.id, {})
            tanks = here | {line.brood: line.tank for line in told.lines}
            needs = _needs(told, room)
            times = _times_told(told, needs, here) | _unreckoned(told, needs)
            hungry = _only_hungry(told, needs, known)
            others = {
                brood: ratio for brood, ratio in times.items()
                if abs(ratio - 1.0) > _FELT and tanks[brood] not in fed
                and not (ratio < 1.0 and brood in hungry)
            }  # fmt: skip
            if others:
                found[told.task.at] = others
    return found


def _only_hungry(told: ToldTask, needs: Iterable[BroodNeed], known: Known) -> set[str]:
    """The broods that are as many as they were when a feeding was told, and were not measured
    since: where they need less, they grew less for want of food, and nobody gives such fry less.
    """
    measured = {e.subject for e in known.entries if e.event == "length" and e.when > told.told_at}
    return {
        need.brood.name for need in needs
        if need.brood.name not in measured
        and abs(need.count - told.fry.get(need.brood.name, math.inf)) <= _SAME * need.count
    }  # fmt: skip


def worth_a_word(changed: Mapping[str, float]) -> dict[str, float]:
    """Of the broods of a round those whose need is so much another that it is said."""
    return {brood: times for brood, times in changed.items() if abs(times - 1.0) > _SAID}


def untouched(in_hand: Sequence[ToldTask], known: Known) -> set[datetime]:
    """Rounds in hand of which nothing is noted, but for a hatch drawn off, and that lie ahead or
    whose doses and worms only a calendar told to the keeper: nobody need have measured those.
    """
    unseen = {
        t.round_at for t in in_hand
        if isinstance(t.task, Feed) and t.by == CALENDAR
        and known.room.away_at(t.task.at) is None
    }  # fmt: skip
    unseen -= {t.round_at for t in in_hand if isinstance(t.task, HarvestWorms) and t.by != CALENDAR}
    mine = [t for t in in_hand if t.round_at and (t.round_at > known.now or t.round_at in unseen)]
    noted = {
        t.round_at for t in mine
        if isinstance(t.task, OF_ROUND) and not isinstance(t.task, HarvestHatch)
        and (t.task.id in known.fates.answer or t.task.id in known.fates.tanks)
    }  # fmt: skip
    return {t.round_at for t in mine if t.round_at is not None} - noted


def hatched_otherwise(
    in_hand: Iterable[ToldTask], known: Known, held: Iterable[HeldNauplii]
) -> dict[datetime, dict[str, float]]:
    """How many nauplii a hatch in hand is known to give, where those are a quarter more or fewer
    than was told (it stood cold, or was counted), by round and vessel.
    """
    drawn = {(h.vessel, h.harvested_at): h.nauplii / h.share for h in held if h.share > 0.0}
    found: dict[datetime, dict[str, float]] = {}
    for told in in_hand:
        task, at = told.task, told.round_at
        if not isinstance(task, HarvestHatch) or at is None or task.id in known.fates.answer:
            continue
        now = drawn.get((task.subject, task.at), task.nauplii)
        if abs(now - task.nauplii) > _SAID * task.nauplii > 0.0:
            found.setdefault(at, {})[task.subject] = now
    return found


def times_told(told: ToldTask, room: Room) -> dict[str, float]:
    """By brood of a told feeding what it needs over what it was told to need; 0 if it is gone.

    What is given to a tank is given to all in it: what was told for one that is gone from a tank,
    or one with another there, is told for the other.
    """
    return _times_told(told, _needs(told, room), {brood.name for brood in room.broods})


def _times_told(
    told: ToldTask, needs: Iterable[BroodNeed], here: Container[str]
) -> dict[str, float]:  # fmt: skip
    tanks = {line.brood: line.tank for line in told.lines}
    left = {tank: brood for brood, tank in tanks.items() if brood in here}
    found = {
        name: 0.0 for name, tank in tanks.items() if name not in here and tank not in left
    }  # fmt: skip
    told_j: dict[str, float] = {}
    for name, tank in tanks.items():
        meant = name if name in here else left.get(tank)
        if meant is not None:
            told_j[meant] = told_j.get(meant, 0.0) + told.needs_j.get(name, 0.0)
    for need in needs:
        if told_j.get(need.brood.name, 0.0) > 0.0:
            found[need.brood.name] = need.energy_j / told_j[need.brood.name]
    return found


def unreckoned(told: ToldTask, room: Room) -> dict[str, float]:
    """The broods that need something at a round that was told without them."""
    return _unreckoned(told, _needs(told, room))


def _unreckoned(told: ToldTask, needs: Iterable[BroodNeed]) -> dict[str, float]:
    """The broods that need something at a round that was told without them."""
    if not told.needs_j:  # an older record does not say whom it was reckoned for
        return {}
    missing = (n.brood.name for n in needs if n.brood.name not in told.needs_j)
    return dict.fromkeys(missing, math.inf)


def _needs(told: ToldTask, room: Room) -> Sequence[BroodNeed]:
    at = told.task.at
    rounds = rounds_between(room, at, at + _MOMENT)
    return room_needs(room, rounds)[0] if rounds else ()
