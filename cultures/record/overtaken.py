"""Rounds in hand whose doses were told before what is known now of a brood or a hatch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from cultures.foods.food import DRY
from cultures.needs.need import BroodNeed, diet_j, room_needs, rounds_between
from cultures.record.fates import Fates
from cultures.room.room import HeldNauplii, Room
from cultures.tasks.task import OF_ROUND, Feed, HarvestHatch
from cultures.tasks.told import CALENDAR, ToldTask

#: A tenth more or less nobody feels; a quarter is worth a word where it is too late to plan anew.
_FELT, _SAID = 0.1, 0.25
#: Needs of which dry food can be weighed, and cannot [J].
_WITH_DRY_J, _WITHOUT_J = 1e6, 1e-3
_MOMENT = timedelta(seconds=1)


def overtaken(
    in_hand: Iterable[ToldTask], known: Fates, room: Room
) -> dict[datetime, dict[str, float]]:
    """How many times what it was told its need is that a brood needs now, by round in hand.

    A count, deaths, a sale or a length that was noted (or taken back) since then does that. Only
    broods whose need is another, and whose tanks are not noted to be fed.
    """
    found = {}
    for told in in_hand:
        if isinstance(told.task, Feed) and told.task.id not in known.answer:
            fed = known.tanks.get(told.task.id, {})
            tanks = {line.brood: line.tank for line in told.lines}
            others = {
                brood: times for brood, times in times_told(told, room).items()
                if abs(times - 1.0) > _FELT and tanks[brood] not in fed
            }  # fmt: skip
            if others:
                found[told.task.at] = others
    return found


def worth_a_word(changed: Mapping[str, float]) -> dict[str, float]:
    """Of the broods of a round those whose need is so much another that it is said."""
    return {brood: times for brood, times in changed.items() if abs(times - 1.0) > _SAID}


def untouched(
    in_hand: Iterable[ToldTask], known: Fates, room: Room, now: datetime
) -> set[datetime]:
    """Rounds in hand of which nothing is noted, but for a hatch drawn off, and that lie ahead or
    whose doses only a calendar told to the keeper: nobody need have measured those.
    """
    in_hand = list(in_hand)
    unseen = {
        t.round_at for t in in_hand
        if isinstance(t.task, Feed) and t.by == CALENDAR
        and room.away_at(t.task.at) is None
    }  # fmt: skip
    mine = [t for t in in_hand if t.round_at and (t.round_at > now or t.round_at in unseen)]
    noted = {
        t.round_at for t in mine
        if isinstance(t.task, OF_ROUND) and not isinstance(t.task, HarvestHatch)
        and (t.task.id in known.answer or t.task.id in known.tanks)
    }  # fmt: skip
    return {t.round_at for t in mine if t.round_at is not None} - noted


def hatched_otherwise(
    in_hand: Iterable[ToldTask], known: Fates, held: Iterable[HeldNauplii]
) -> dict[datetime, dict[str, float]]:
    """How many nauplii a hatch in hand is known to give, where those are a quarter more or fewer
    than was told (it stood cold, or was counted), by round and vessel.
    """
    drawn = {(h.vessel, h.harvested_at): h.nauplii / h.share for h in held if h.share > 0.0}
    found: dict[datetime, dict[str, float]] = {}
    for told in in_hand:
        task = told.task
        if not isinstance(task, HarvestHatch) or told.round_at is None or task.id in known.answer:
            continue
        now = drawn.get((task.subject, task.at), task.nauplii)
        if abs(now - task.nauplii) > _SAID * task.nauplii > 0.0:
            found.setdefault(told.round_at, {})[task.subject] = now
    return found


def times_told(told: ToldTask, room: Room) -> dict[str, float]:
    """By brood of a told feeding what it needs over what it was told to need; 0 if it is gone."""
    at, here = told.task.at, {brood.name for brood in room.broods}
    rounds = rounds_between(room, at, at + _MOMENT)
    found = {line.brood: 0.0 for line in told.lines if line.brood not in here}
    for need in room_needs(room, rounds)[0] if rounds else ():
        before = {x.food: x.need_j for x in told.lines if x.brood == need.brood.name}
        told_j = _all_told_j(before, need, room)
        if told_j:
            found[need.brood.name] = need.energy_j / told_j
    return found


def _all_told_j(before: Mapping[str, float], need: BroodNeed, room: Room) -> float | None:
    """The whole need of a brood of which some foods were told their parts [J]; None without any.

    Of few fry the other foods take the part of dry food that is too little to weigh: where none
    was told it is that rather than dry food that was left out.
    """
    foods = room.foods_of(need.brood)
    told_dry = before.get(DRY, 0.0) > 0.0
    for much_j in sorted((_WITHOUT_J, _WITH_DRY_J), reverse=told_dry):
        parts = diet_j(room, foods, need.brood.fry_class, need.length_mm, much_j)
        part = sum(parts.get(food, 0.0) for food in before) / much_j
        whole_j = sum(before.values()) / part if part > 0.0 else 0.0
        diet = diet_j(room, foods, need.brood.fry_class, need.length_mm, whole_j)
        if whole_j and (DRY in diet) == (DRY in parts):
            return whole_j
    return None
