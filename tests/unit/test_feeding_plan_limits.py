"""A whole plan made in stretches: what it is asked with, where it goes on from, when it will do."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.needs.need import BroodNeed, Round, room_needs
from cultures.planning import feeding_plan as module
from cultures.planning import matching
from cultures.planning.feeding_plan import Known, Stretch, plan_feeding
from cultures.planning.stretches import look_ahead, settled_rounds, stretch_ends
from cultures.planning.worm_course import Layouts
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.unit.test_planning_by_hand import _START, _rounds
from tests.unit.test_shortfall_limits import _TEXT


@pytest.fixture(scope="module")
def room() -> Room:
    """A week is looked at, and two broods live on nauplii."""
    return evolve(read_room(_TEXT, today=date(2027, 1, 5)), horizon_days=7)


@pytest.fixture(scope="module")
def rounds() -> list[Round]:
    return _rounds(120)


def _given(plan: Any) -> list[list[dict[str, float]]]:
    return [[serving.given_j for serving in row] for row in plan.servings]


def _half(need: BroodNeed) -> BroodNeed:
    foods = {food: energy_j / 2 for food, energy_j in need.foods.items()}
    return evolve(need, energy_j=need.energy_j / 2, foods=foods)


def test_a_plan_is_made_of_its_stretches(room: Room, rounds: list[Round]) -> None:
    ends = stretch_ends(room, rounds, _START)
    assert len(ends) > 3
    kept: list[Stretch] = []
    plan = plan_feeding(room, rounds, start=_START, needs=room_needs(room, rounds), keep=kept)
    assert [stretch.end for stretch in kept] == ends[:-1]
    ahead = look_ahead(room, _START)
    assert [stretch.settled.rounds for stretch in kept] == [
        settled_rounds(rounds, end, ahead) for end in ends[:-1]
    ]
    assert len(plan.servings) == len(rounds)
    # What is settled is given so in the end.
    first = kept[0].settled
    assert _given(plan)[: first.rounds] == [[s.given_j for s in row] for row in first.rows]


def test_needs_that_are_known_are_taken(room: Room, rounds: list[Round]) -> None:
    own = plan_feeding(room, rounds[:20], start=_START, needs=room_needs(room, rounds[:20]))
    needs = room_needs(room, rounds[:20])
    assert _given(plan_feeding(room, rounds[:20], start=_START, needs=needs)) == _given(own)
    half = [[_half(need) for need in row] for row in needs]
    fewer = plan_feeding(room, rounds[:20], start=_START, needs=half)
    assert sum(s.need.energy_j for row in fewer.servings for s in row) == pytest.approx(
        sum(s.need.energy_j for row in own.servings for s in row) / 2
    )


def test_a_plan_goes_on_from_a_stretch_and_is_the_same(room: Room, rounds: list[Round]) -> None:
    kept: list[Stretch] = []
    whole = plan_feeding(room, rounds, start=_START, needs=room_needs(room, rounds), keep=kept)
    for before in kept[:2]:
        later: list[Stretch] = []
        again = plan_feeding(
            room, rounds, start=_START, needs=room_needs(room, rounds), before=before, keep=later
        )
        assert [stretch.end for stretch in later] == [
            stretch.end for stretch in kept if stretch.end > before.end
        ]
        assert _given(again) == _given(whole)
    known = Known(Layouts(room, rounds))
    assert _given(
        plan_feeding(room, rounds, start=_START, needs=room_needs(room, rounds), known=known)
    ) == _given(whole)


def test_a_plan_that_will_do_is_not_carried_on(room: Room, rounds: list[Round]) -> None:
    ends = stretch_ends(room, rounds, _START)
    asked: list[tuple[int, int]] = []

    def enough(part: Any, settled: int) -> bool:
        asked.append((len(part.feedings), settled))
        return len(asked) == 2

    part = plan_feeding(room, rounds, start=_START, needs=room_needs(room, rounds), enough=enough)
    ahead = look_ahead(room, _START)
    assert asked == [(end, settled_rounds(rounds, end, ahead)) for end in ends[:2]]
    assert len(part.feedings) == ends[1]


def test_what_is_known_of_worms_is_let_go_of_in_long_plans(
    room: Room, rounds: list[Round], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With more than three stretches before the last; what a caller knows of lengths stays."""
    known: list[int] = []

    def plan_stretch(basis: matching.Basis, *_: Any) -> Any:
        known.append(len(basis.memo))
        worms: Any = None
        basis.memo[len(known),] = worms

    monkeypatch.setattr(module, "plan_stretch", plan_stretch)
    for count, last in ((3, 3), (4, 0)):
        ends = [10 * (n + 1) for n in range(count)]
        monkeypatch.setattr(module, "stretch_ends", lambda *_, ends=ends: [*ends, 120])
        monkeypatch.setattr(module, "settled_rounds", lambda *_: 0)
        plan_feeding(room, rounds, start=_START, needs=room_needs(room, rounds))
        assert known[-1] == last


def test_worms_of_which_no_more_is_asked_are_not_planned_again(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The largest are asked first."""
    small, large = (room.kinds[name] for name in ("microworm", "grindal_worm"))
    made: Any = object.__new__(matching._Matching)
    made.kinds, made.servings, made.settled = [small, large], [], matching.Settled()
    made.basis = SimpleNamespace(suits=None)
    asked: list[str] = []
    again: list[Any] = []

    def lean_on(kind: str, *_: Any) -> bool:
        asked.append(kind)
        return kind in more

    monkeypatch.setattr(matching, "lean_on", lean_on)
    monkeypatch.setattr(matching._Matching, "_give_worms", lambda _, kind: again.append(kind))
    for more, planned in (((), []), ((small.name,), [small]), ((large.name,), [large])):
        asked.clear()
        again.clear()
        assert made._lean_on_worms() is bool(more)
        assert (asked, again) == ([large.name, small.name], planned)


def test_a_food_is_shared_anew_up_to_the_last_round_that_lacks_it_where_somebody_gets_some(
    rounds: list[Round],
) -> None:
    """The third round lacks half of 100 J, and what the fourth gets is no part of that."""
    made: Any = object.__new__(matching._Matching)
    made.feedings, made.settled = rounds[:4], matching.Settled()
    lacks = SimpleNamespace(lacks_j=lambda s, food: s.want_j[food] - s.given_j.get(food, 0.0))
    made.basis = SimpleNamespace(suits=lacks)
    for given, last in (((0.0, 0.0, 50.0, 100.0), 3), ((0.0, 0.0, 0.0, 100.0), 0)):
        made.servings = [
            [SimpleNamespace(need=SimpleNamespace(energy_j=100.0), want_j={"worm": want},
                             given_j={"worm": part})]
            for want, part in zip((0.0, 0.0, 100.0, 100.0), given, strict=True)
        ]  # fmt: skip
        assert made._around_missing("worm").stop == last
