"""The plan of a command, with a sign of life where it takes long."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from attrs import evolve

from cli.options import Setting
from cli.screens.shown import is_shown, shown_tasks, shown_until, this_round
from cli.working import working
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.telling import as_if_told, begun_since, drafts, keeps_told, tellings
from cultures.record.present import Present
from cultures.room.room import Room
from cultures.tasks.plan import Plan
from cultures.tasks.task import Work
from cultures.tasks.told import ToldTask

#: A plan that moves what was told is looked at so often until telling that changes nothing of it.
_LOOKS = 3


def planned(
    setting: Setting, days: int | None = None, *, risk: bool = False
) -> tuple[Outlook, Plan]:
    """The outlook of a room from the moment of a command on, and its plan."""
    with working("Planning"):
        outlook = settled_outlook(setting.present, days, setting.room)
        return outlook, plan_of(outlook, risk=risk)


def settled_outlook(
    found: Present, days: int | None = None, room: Room | None = None,
    as_asked: Callable[[Room], Room] = lambda room: room,
) -> Outlook:  # fmt: skip
    """A plan takes account of what was told. So one that moves that, or that tells of a hatch for
    the first time where nauplii are short, or of a round of which something is noted already, is
    made as it stays once `today` has shown it: whoever looks, and looks again, finds the same.

    Args:
        room: as it is found, with other remarks. as_asked: the same with what is only asked about,
            as days away that no file has yet.
    """
    now, was, start = found.now, room or found.room, found
    room, before = was, {told.task.id for told in found.in_hand}
    for _ in range(_LOOKS):
        outlook = make_outlook(as_asked(room), now=now, days=days)
        outlook.begun = begun_since(start, found)
        rounds = this_round(outlook)
        until = shown_until(outlook, rounds)
        shown = shown_tasks(outlook, rounds)
        stays = keeps_told(outlook) and not outlook.feeding.hatches.is_short
        if stays and all(t.at > now or t.id in before for t in shown):
            break
        told = tellings(outlook, shown, now)

        def covers(one: ToldTask, rounds: list[datetime] = rounds, until: datetime = until) -> bool:
            return isinstance(one.task, Work) and is_shown(one.task, rounds, until)

        then = as_if_told(found, told, covers, drafts(outlook))
        if then is None or (stays and not _noted_since(found, then)):
            break
        same = _planned_from(then) == _planned_from(found)
        found = then
        room = evolve(
            then.room, notes=was.notes, edits=was.edits, noted_ahead=was.noted_ahead,
            unspoken=was.unspoken,
        )  # fmt: skip
        if same:
            break
    return outlook


def _noted_since(found: Present, then: Present) -> bool:
    """Whether of what is in hand once it is told something is noted, or it is not as it was told:
    a hatch was counted before anybody told of its round.
    """
    in_hand = {told.task.id: told for told in then.in_hand}
    return any(
        told.task.id in then.fates.answer or in_hand[told.task.id] != told
        for told in begun_since(found, then)
    )


def _planned_from(found: Present) -> tuple[object, ...]:
    """What of the record a plan is made from."""
    return found.room.told, found.room.drafted, [told.task.id for told in found.in_hand]
