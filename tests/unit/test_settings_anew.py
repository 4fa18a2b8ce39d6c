"""Which settings are tried otherwise, on a plan that is nothing but its settings."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from cultures.planning.lots import Option
from cultures.planning.settings_anew import SettingsAnew

#: A hatch takes its vessel for a day; rounds are a day apart.
_DAY_H = 24.0


def _option(at_index: int, start_h: float = 0.0, vessel: int = 0) -> Option:
    begun_h = _DAY_H * at_index + start_h
    return Option(vessel, at_index, begun_h, begun_h + _DAY_H - 1.0, 5000.0, 10.0)


def _best(
    cost: Callable[[frozenset[Option]], float], plan: Sequence[Option], every: Sequence[Option],
    *, least_g: float = 1.0, most: int = 50,
) -> tuple[set[Option], int]:  # fmt: skip
    """The settings that are found, and how many were tried."""
    tries = 0

    def tried(_: Sequence[Option], settings: Sequence[Option]) -> Sequence[Option]:
        nonlocal tries
        tries += 1
        return settings

    search = SettingsAnew[Sequence[Option]](
        every, lambda found: found, tried, lambda found: cost(frozenset(found)), least_g, most
    )
    return set(search.best(plan)), tries


def test_settings_are_left_out_as_long_as_each_saves_enough() -> None:
    """Four settings at 10 g each; what broods miss of fewer than two costs more than that."""
    every = [_option(index) for index in range(4)]
    missed_g = {4: 0.0, 3: 2.0, 2: 8.0, 1: 30.0, 0: 500.0}
    found, _ = _best(lambda made: 10.0 * len(made) + missed_g[len(made)], every, every)
    assert len(found) == 2  # 40, then 32, 28, and 40 again


def test_what_saves_little_is_left_as_it_is() -> None:
    every = [_option(index) for index in range(2)]
    found, _ = _best(lambda made: 100.0 + 0.5 * len(made), every, every, least_g=1.0)
    assert found == set(every)


def test_one_is_begun_at_another_time_or_made_for_the_round_before() -> None:
    early, late = _option(3), _option(3, 0.5)
    before, far = _option(2), _option(0)
    price = {early: 20.0, late: 15.0, before: 10.0, far: 1.0}
    every = [far, before, early, late]

    def cost(made: frozenset[Option]) -> float:
        return sum(price[one] for one in made) if made else math.inf

    assert _best(cost, [early], every)[0] == {before}  # by way of the later one
    assert _best(cost, [early], [early, late, far])[0] == {late}  # three rounds are not tried


def test_a_vessel_is_never_taken_twice_at_once() -> None:
    """The setting for the round before would begin while the vessel is still taken."""
    first, third = _option(0), _option(2)
    clashing = Option(0, 1, first.end_h - 2.0, third.start_h, 5000.0, 10.0)
    made: list[frozenset[Option]] = []

    def cost(settings: frozenset[Option]) -> float:
        made.append(settings)
        return 5.0 if len(settings) == 2 else 100.0

    _best(cost, [first, third], [first, clashing, third])
    assert not any({first, clashing} <= settings for settings in made)


def test_no_more_are_tried_than_may_be_and_none_twice() -> None:
    every = [_option(index, 0.25 * part) for index in range(6) for part in range(3)]
    plan = every[::3]
    seen: list[frozenset[Option]] = []

    def cost(made: frozenset[Option]) -> float:
        seen.append(made)
        return 1.0

    assert _best(cost, plan, every, most=7)[1] == 7
    assert len(set(seen)) == len(seen)
    assert _best(cost, plan, every, most=0)[1] == 0
