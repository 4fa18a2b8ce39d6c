"""A tin that does not last: how much of it is set, by random problems and as the tin grows.

Both are what a keeper means by sharing out: what there is gets used, and a gram more in the tin
never means that less is set.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import partial
from itertools import pairwise

import pytest
from attrs import evolve

from cli.commands.demo_room import demo_text
from cultures.planning.lot_sizing import grams, shared, solve
from cultures.planning.outlook import make_outlook
from cultures.room.file import read_room
from cultures.words.moments import hours
from tests.examples import examples
from tests.oracle.random_lots import part_of, random_lots

_DAY = date(2027, 1, 5)


@pytest.mark.parametrize("part", [0.1, 0.35, 0.7, 0.9, 0.97])
def test_most_of_what_is_there_is_set(part: float) -> None:
    """Also where the vessels are full, so that a little less wanted is no less set."""
    for seed in range(examples(suite=24, thorough_run=120)):
        problem = random_lots(seed, rounds=16, vessels=1 + seed % 2)
        most_g = part * grams(solve(problem))
        share, plan = shared(partial(part_of, problem), most_g)
        assert 0.85 * most_g <= grams(plan) <= most_g + 1e-9, seed
        assert 0.0 < share <= 1.0


def test_a_larger_tin_is_never_saved_more() -> None:
    """Of the week until more can be had, whose need alone counts: what comes later is to be bought.

    Most of a small tin is set, but for what those who take dry food leave to the others.
    """
    room = read_room(demo_text(_DAY), today=_DAY)
    now = datetime.combine(_DAY, datetime.min.time(), room.timezone) + timedelta(hours=7)
    week_h = hours(now) + 7 * 24

    def set_g(tin_g: float) -> float:
        assert room.cysts is not None
        scarce = evolve(room, cysts=evolve(room.cysts, grams=tin_g))
        hatches = make_outlook(scarce, now=now).feeding.hatches
        return sum(b.cysts_g for b in hatches.batches if not b.standing and b.set_h < week_h)

    enough_g, tins_g = set_g(500.0), (2.0, 5.0, 8.0, 11.0, 30.0)
    found = [set_g(tin_g) for tin_g in tins_g]
    assert all(more >= less - 0.1 for less, more in pairwise([*found, enough_g]))
    for tin_g, used_g in zip(tins_g, found, strict=True):
        assert 0.75 * min(tin_g, enough_g) <= used_g <= tin_g + 1e-9
