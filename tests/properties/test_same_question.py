"""One spawning on one day is answered alike by ``carry``, ``ready`` and ``plan --if``."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from attrs import evolve

from cultures.planning.carry import Carried, Carry, sizes
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.ready import readiness
from cultures.planning.what_if import settings_and_splits
from cultures.room.room import Brood
from tests.carrying import Asked, small_room
from tests.examples import thorough


def _by_ready(asked: Asked, brood: Brood) -> bool:
    fed = readiness(asked.room, brood, asked.now).fed
    assert fed is not None
    return fed.fed


def _by_supposing(asked: Asked, brood: Brood) -> bool:
    """As ``plan --if`` asks: the present plan counts as told."""
    plan = plan_of(make_outlook(asked.room, now=asked.now), remedies=False)
    room = evolve(asked.room, told=settings_and_splits(plan, asked.room.told))
    (found,) = Carry(room, asked.now, tell=False).ask([brood])
    return found.fed


@pytest.mark.parametrize("seed", range(40) if thorough() else (5, 14, 31))
def test_what_is_carried_is_fed_by_all_and_one_step_more_by_none(
    seed: int, carried: Callable[[int], Carried]
) -> None:
    asked, found = small_room(seed), carried(seed)
    larger = [size for size in sizes() if size > found.largest]
    counts = {n: n == found.largest for n in (found.largest, *larger[:1]) if n}
    for count, fed in counts.items():
        brood = evolve(found.brood, count=float(count))
        assert _by_ready(asked, brood) is _by_supposing(asked, brood) is fed, count
    if larger:
        wish = readiness(asked.room, evolve(found.brood, count=float(larger[0])), asked.now).fed
        assert wish is not None
        if wish.nearly_fed:  # how many would be fed in full is not looked for then
            assert wish.carried.largest == larger[0]
            far = [size for size in larger if size >= 2 * found.largest]
            if not far:
                return
            wish = readiness(asked.room, evolve(found.brood, count=float(far[0])), asked.now).fed
            assert wish is not None
            assert wish.nearly_fed or wish.carried.largest == found.largest
            return
        assert wish.carried.largest == found.largest
        assert found.limited is not None
        assert wish.trial.cause == found.limited.cause
