"""What ``carry`` names, against planning small rooms with so many and with the next size."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cultures.needs.need import BroodCourse
from cultures.planning.brood_trials import looked_at_until
from cultures.planning.carry import Carried, Carry, sizes
from tests.carrying import Beside, small_room
from tests.examples import thorough

#: Rooms that are cheap to plan often: three whose tin runs out, of one brood, of two, and with
#: nothing left over; in 31 some of the larger sizes are fed and some are not. Two whose worms are
#: too thin, one whose worms are not ripe, and two where nothing limits.
_ROOMS = (5, 7, 8, 13, 16, 19, 31, 39)


@pytest.mark.parametrize("seed", range(60) if thorough() else _ROOMS)
def test_what_is_named_is_fed_and_the_next_size_is_not(
    seed: int, carried: Callable[[int], Carried]
) -> None:
    asked, found = small_room(seed), carried(seed)
    assert found.until == looked_at_until(BroodCourse.of(asked.room, found.brood))
    beside = Beside.of(asked.room, asked.now, found.until)
    assert not found.largest or beside.fed(found.brood).well
    larger = [size for size in sizes() if size > found.largest]
    assert bool(larger) == (found.limited is not None)
    tin = found.limited is not None and found.limited.limit == "tin"
    doubles = _doubles(found.largest) if tin else []
    fed = beside.of_sizes(found.brood, (*doubles, *larger[:1]))
    assert [size for size in fed if fed[size]] == doubles


def _doubles(most: int) -> list[int]:
    """Each size that is about the double of the one before."""
    found = [sizes()[0]]
    while found[-1] < sizes()[-1]:
        found.append(max(size for size in sizes() if size <= 2 * found[-1]))
    return [size for size in found if size <= most]


def test_what_is_named_where_the_tin_runs_out_does_not_hang_on_where_one_begins(
    carried: Callable[[int], Carried],
) -> None:
    asked, found = small_room(31), carried(31)
    carry = Carry(asked.room, asked.now)
    carry._look(found.brood, [asked.day])
    others = {carry._search(found.brood, guess, hint=hint)[0]
              for guess, hint in ((5, 0), (60, 0), (100, 160), (500, 0))}  # fmt: skip
    assert others == {found.largest}
