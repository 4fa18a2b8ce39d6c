"""Doses: whole marks that add up, near what each brood's share is, in turn where they are not."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cultures.foods.food import DRY
from cultures.planning.amounts import whole_shares
from cultures.planning.outlook import make_outlook
from cultures.planning.servings import Serving, dry_j_per_g
from tests.examples import examples
from tests.strategies import RoomCase, room_cases

_PARTS = st.lists(st.one_of(st.just(0.0), st.floats(0.01, 1000.0)), min_size=1, max_size=40)
_TURN = st.floats(0.0, 0.999)


@given(_PARTS, st.integers(0, 3000), _TURN)
def test_shares_add_up_and_none_is_a_whole_mark_off(
    parts: list[float], total: int, turn: float
) -> None:
    shares = whole_shares(parts, total, turn=turn)
    assert sum(shares) == (total if sum(parts) > 0 else 0)
    for part, share in zip(parts, shares, strict=True):
        exact = part / sum(parts) * total if sum(parts) > 0 else 0.0
        assert abs(share - exact) < 1 + 1e-6
        assert share == 0 or part > 0


@given(_PARTS, st.integers(400, 3000), _TURN)
def test_none_that_lives_on_it_goes_without_and_only_the_largest_pays_for_that(
    parts: list[float], total: int, turn: float
) -> None:
    shares = whole_shares(parts, total, needs=[max(p, 1.0) for p in parts], turn=turn)
    assert sum(shares) == (total if sum(parts) > 0 else 0)
    below = 0.0
    for part, share in zip(parts, shares, strict=True):
        exact = part / sum(parts) * total if sum(parts) > 0 else 0.0
        assert share < exact + 1 + 1e-6
        below += max(0.0, exact - share - 1)
        assert share > 0 or part <= 0.1 * max(part, 1.0)
    assert below <= len(parts)


@settings(max_examples=50)
@given(
    st.lists(st.floats(10.1, 60.0), min_size=2, max_size=12).filter(
        lambda parts: all(0.1 < p % 1 < 0.9 for p in parts)
    ),
    st.floats(400_000, 600_000),
)
def test_the_same_brood_is_not_always_rounded_the_same_way(
    parts: list[float], from_h: float
) -> None:
    """Ten weeks of two rounds a day at which nothing changes, with the turns of the plan."""
    from cultures.planning.amounts import _TURN_A_H

    # One more brood makes the sum whole, so that a part is its own share.
    parts = [*parts, math.ceil(sum(parts)) + 20.0 - sum(parts)]
    off = [[] for _ in parts]  # type: list[list[float]]
    for n in range(140):
        at_h = from_h + 24 * (n // 2) + 11 * (n % 2)
        turn = at_h * _TURN_A_H % 1.0
        shares = whole_shares(parts, round(sum(parts)), needs=parts, turn=turn)
        for each, part, share in zip(off, parts, shares, strict=True):
            each.append(share - part)
    for each in off[:-1]:
        assert min(each) < 0 < max(each)
        assert abs(sum(each)) < 0.1 * len(each)


@settings(
    deadline=None, max_examples=examples(suite=8, thorough_run=60),
    suppress_health_check=list(HealthCheck),
)  # fmt: skip
@given(room_cases(longest_days=5))
def test_cups_of_any_room(case: RoomCase) -> None:
    outlook = make_outlook(case.room(), now=case.now())
    mark_ml = 1.0
    for (index, food), cup in outlook.cups.items():
        row = [s for s in outlook.feeding.servings[index] if s.dosed_j.get(food, 0.0) > 0]
        lines = {x.brood: x for x in outlook.lines[index] if x.food == food}
        assert math.isclose(sum(x.amount for x in lines.values()), cup.fed_ml)
        assert cup.fed_ml <= cup.volume_ml * (1 + 1e-9)
        mark_j = cup.energy_j * mark_ml / cup.volume_ml
        steps_j = {name: mark_j * _step_ml(x.amount) for name, x in lines.items()}
        apart = any(x.amount % mark_ml for x in lines.values())
        given_j = {name: x.given_j for name, x in lines.items()}
        # The rest of a mark that doses measured apart leave moves another's by one more.
        _check_doses(row, given_j, food, mark_j * (1.0 + apart), steps_j)
    for servings, row_of in zip(outlook.feeding.servings, outlook.lines, strict=True):
        dry = {x.brood: x.given_j for x in row_of if x.food == DRY}
        eaters = [s for s in servings if s.dosed_j.get(DRY, 0.0) > 0]
        if eaters:  # a step of the scale is 0.01 g
            _check_doses(eaters, dry, DRY, 0.01 * dry_j_per_g(), {})


def _step_ml(amount_ml: float) -> float:
    """What is too much for a syringe is poured from a jug, and said in two digits."""
    return max(1.0, 10.0 ** (len(f"{amount_ml:.0f}") - 2))


def _check_doses(
    row: Sequence[Serving], given_j: Mapping[str, float], food: str, mark_j: float,
    steps_j: Mapping[str, float],
) -> None:  # fmt: skip
    """None off by more than a mark, but that nobody goes without; none several rations.

    ``steps_j``: by brood, in which what it gets is said where that is more than a mark.


    A cup is divided as it was made up; dry food is weighed for each. Where the largest dose is one
    of two digits, or a cup full, less is fed than was made up, and the others need not get less.
    """
    spare = allowed = 0.0
    fed = 1.0 if food == DRY else sum(given_j.values()) / sum(s.dosed_j[food] for s in row)
    for serving in row:
        part, got = serving.dosed_j[food] * fed, given_j.get(serving.need.brood.name, 0.0)
        step_j = max(mark_j, steps_j.get(serving.need.brood.name, 0.0))
        assert got - max(part, serving.dosed_j[food]) <= step_j * 1.001
        if food != DRY:
            wanted = max(1.25 * serving.want_j.get(food, 0.0), serving.need.energy_j)
            assert serving.dosed_j[food] <= wanted * (1 + 1e-9)
        spare += max(0.0, part - got - mark_j * 1.001)
        allowed += step_j
    assert spare <= allowed
