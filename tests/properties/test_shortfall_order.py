"""What falls short in all is no less for a loss, and no more for fewer mouths."""

from __future__ import annotations

from datetime import datetime, timedelta

from attrs import evolve
from hypothesis import assume, given, settings

from cultures.planning.plan import make_plan
from cultures.planning.shortfalls import Short, short_of
from cultures.room.room import Room
from tests.examples import examples
from tests.properties.test_plan_promise import RELIABLE
from tests.strategies import RoomCase, room_cases

#: Scarce food is spread, worms come in half swipes, and a plan is found and not proven: so a first
#: short round may be one or two rounds off, and a hundredth or two of all food.
_ROUNDS, _SHARE = timedelta(days=1), 0.02


def _short(room: Room, now: datetime) -> Short | None:
    return short_of(make_plan(room, now=now, remedies=False))


def _no_better(now: Short | None, before: Short | None) -> bool:
    """Whether somebody goes short no later, and no less is missing, but for what rounding does."""
    if before is None:
        return True
    if now is None:
        return before.share <= _SHARE
    return now.at <= before.at + _ROUNDS and now.share >= before.share - _SHARE


@settings(RELIABLE, max_examples=examples(suite=8, thorough_run=60))
@given(room_cases(longest_days=7))
def test_a_culture_that_is_lost_makes_nothing_short_later_or_less(case: RoomCase) -> None:
    room, now = case.room(), case.now()
    assume(room.cultures and room.broods)
    before = _short(room, now)
    for lost in room.cultures[:2]:
        left = tuple(culture for culture in room.cultures if culture is not lost)
        assert _no_better(_short(evolve(room, cultures=left), now), before)


@settings(RELIABLE, max_examples=examples(suite=8, thorough_run=60))
@given(room_cases(longest_days=7))
def test_fewer_fry_make_nothing_short_sooner(case: RoomCase) -> None:
    room, now = case.room(), case.now()
    assume(room.broods)
    before = _short(room, now)
    for brood in room.broods[:2]:
        fewer = tuple(
            evolve(each, count=max(1, each.count // 2)) if each is brood else each
            for each in room.broods
        )
        after = _short(evolve(room, broods=fewer), now)
        # Of what is missing fewer mouths may well miss a larger share: of the food that is short.
        assert before is None or after is None or before.at - _ROUNDS <= after.at
        assert before is not None or after is None or after.share <= _SHARE
