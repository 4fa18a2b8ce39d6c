"""What planned spawnings ask of the cultures, and how scarce worms are rationed, piece by piece."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP
from cultures.fry.feeding import feeding_values
from cultures.needs.need import BroodCourse, BroodNeed, Round
from cultures.planning import hopes as module
from cultures.planning.changes import usual_culture
from cultures.planning.gaps import ANY, Gap
from cultures.planning.hopes import (
    Hopes,
    _in_order,
    _Preparation,
    as_if_come,
    likely,
    prepare,
    provided_for,
)
from cultures.planning.prices import asked_at, want_of
from cultures.planning.rations import Rations
from cultures.planning.servings import Serving
from cultures.planning.split_plan import WormPlan, in_swipes_mg
from cultures.planning.worm_course import Split, run_course
from cultures.room.file import read_room
from cultures.room.room import Room
from tests.unit.test_planning_by_hand import _START, _rounds, _stage, _worms
from tests.unit.test_shortfall_limits import _TEXT

_TODAY = date(2027, 1, 5)
_DAY = timedelta(days=1)
_ROUNDS = _rounds(60)


@pytest.fixture(scope="module")
def room() -> Room:
    """Two broods that are hoped for, the one surely and the other hardly."""
    found = read_room(_TEXT, today=_TODAY)
    least = feeding_values()["least_chance"]
    one, two = found.broods
    sure = evolve(one, name="sure", chance=least, anchor="planned", anchor_date=_TODAY)
    hardly = evolve(two, name="not", chance=least - 0.01, anchor="planned", anchor_date=_TODAY)
    return evolve(found, hoped=(sure, hardly))


# --- who is provided for


def test_who_is_likely_enough_is_provided_for(room: Room) -> None:
    assert [b.name for b in likely(room)] == ["sure"]
    come = as_if_come(room)
    assert [b.name for b in come.broods] == ["one", "two", "sure"]
    assert [b.name for b in come.hoped] == ["not"]
    course = BroodCourse.of(room, room.hoped[0])
    eats = room.at_hour(course.first_food_h)
    for by, count in ((timedelta(0), 0), (timedelta(seconds=1), 1), (-_DAY, 0)):
        assert len(provided_for(room, eats + by)) == count
    plan: Any = object()
    assert prepare(room, [], plan, [], start=_START) == (plan, None)


def test_a_culture_is_for_the_spawnings_that_want_it(room: Room) -> None:
    courses = tuple(BroodCourse.of(room, brood) for brood in room.hoped)
    none: Any = None
    gaps = [Gap(_ROUNDS[0], _need(room), "x", short) for short in (3.0, 4.5)]
    hopes = Hopes(courses, {"MW-2": courses, "MW-3": courses[:1]}, none, gaps)
    assert hopes.spawns("MW-2") == (("sure", "A"), ("not", "B"))
    assert hopes.spawns("MW-3") == (("sure", "A"),)
    assert hopes.spawns("MW-1") == ()
    assert hopes.short_j() == 7.5


def _need(room: Room, energy_j: float = 100.0, **foods: float) -> BroodNeed:
    return BroodNeed(room.hoped[0], _START, 6.0, 10, energy_j, foods)


def _preparation(room: Room, *courses: Any) -> Any:
    made: Any = object.__new__(_Preparation)
    made.room, made.feedings, made.courses, made.start = room, _ROUNDS, courses, _START
    made.suits = SimpleNamespace(diet=lambda _, index: {"worm": float(index)})
    return made


class _Course:
    """A brood that eats from some hours after now on, and needs something at each round."""

    def __init__(self, first_h: float, name: str) -> None:
        self.first_food_h, self.name = _ROUNDS[0].at_h + first_h, name

    def need(self, feeding: Round) -> Any:
        eats = feeding.at_h >= self.first_food_h
        return SimpleNamespace(brood=self.name, at=feeding.at) if eats else None


def test_a_spawning_is_provided_for_two_weeks_from_its_first_food(room: Room) -> None:
    """The one eats from round 2 on up to round 29, the other from round 6 to 33."""
    made = _preparation(room, _Course(24.0, "a"), _Course(72.0, "b"))
    rows = made._servings()
    assert len(rows) == 34
    names = [[serving.need.brood for serving in row] for row in rows]
    assert names == [[], [], *[["a"]] * 4, *[["a", "b"]] * 24, *[["b"]] * 4]
    assert rows[7][0].want_j == {"worm": 7.0}


def test_what_a_spawning_would_miss(room: Room) -> None:
    """More than three hundredths; all where nobody feeds."""
    made = _preparation(room)
    made.feedings = _rounds(4, away=(3,))
    made.rows = [
        [Serving(_need(room, worm=100.0), {}, {"worm": given})]
        for given in (97.0, 96.9, 40.0, 100.0)
    ]
    found = [(gap.feeding.index, gap.food, round(gap.short_j, 6)) for gap in made._gaps()]
    assert found == [(1, "worm", 3.1), (2, "worm", 60.0), (3, ANY, 100.0)]


def test_hatches_are_taken_as_set_once_they_have_spawned(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And only what lies within the rounds at which somebody feeds."""
    for vessels, given in ((room.vessels, {BRINE_SHRIMP: 30.0}), ((), {})):
        made = _preparation(evolve(room, vessels=vessels))
        made.alone = SimpleNamespace(worm_kinds=list)
        made.feedings = _rounds(3, away=(1,))
        made.rows = [[Serving(_need(room), {BRINE_SHRIMP: want})] for want in (30.0, 30.0, 0.0)]
        made.plan, made.certain = SimpleNamespace(servings=[]), {}
        made.worms, made.cultures = {}, {}
        monkeypatch.setattr(module, "give_dry", lambda *_: None)
        monkeypatch.setattr(module, "evolve", lambda _, **to: to)
        _, hopes = made.done()
        assert [row[0].given_j if row else None for row in hopes.plan["servings"]] == [
            given,
            None,
            {},
        ]
        assert made.rows[1][0].given_j == {}


# --- cultures in the order in which they are begun


def _split(room: Room, name: str, at: int, parent: str = "MW-1") -> Split:
    kind: Any = room.kinds["microworm"]
    return Split(parent, evolve(usual_culture(room, kind), name=name, started=_TODAY), at)


def _base(*splits: Split) -> WormPlan:
    stages = [_stage("MW-1", 900.0, rounds=60)]
    for split in splits:
        stages.append(evolve(_stage(split.culture.name, 0.0, rounds=60), culture=split.culture))
    none: Any = None
    return WormPlan(_worms(), stages, list(splits), none, [], [], [])


def test_new_cultures_are_named_in_the_order_in_which_they_are_begun(room: Room) -> None:
    """MW-2 at round 9; besides one at round 4 and a split of it, and a starter that is bought."""
    base = _base(_split(room, "MW-2", 9))
    assert _in_order(room, _ROUNDS, base, []) == (base.stages, base.splits, [])
    extra = [_split(room, "MW-3", 4), _split(room, "MW-10", 12, "MW-3"), _split(room, "B", 1, "")]
    stages, splits, new = _in_order(room, _ROUNDS, base, extra)
    told = [(s.at_index, s.parent, s.culture.name) for s in splits]
    assert told == [(1, "", "B"), (4, "MW-1", "MW-2"), (9, "MW-1", "MW-3"), (12, "MW-2", "MW-10")]
    assert new == ["B", "MW-2", "MW-10"]
    assert {stage.culture.name: stage.first for stage in stages} == {
        "MW-1": 0, "B": 1, "MW-2": 4, "MW-3": 9, "MW-10": 12
    }  # fmt: skip
    assert [s.spent_h for s in stages] == sorted(s.spent_h for s in stages)


def test_a_start_takes_away_where_who_is_certain_gets_less(room: Room) -> None:
    """A starter of all its worms at round 2, of a culture that is harvested at round 4."""
    made = _preparation(room)
    demand = [0.0] * 4 + [100.0] + [0.0] * 55
    stage = _stage("MW-1", 900.0, rounds=60)
    course = run_course([stage], [], demand, 5.0)
    base = WormPlan(_worms(), [stage], [], course, demand, demand, [])
    given = [course.given_mg(i) for i in range(60)]
    assert given[4] == 100.0
    for starter_g, takes in ((15.0, False), (150.0, True)):
        split = _split(room, "MW-2", 2)
        split = Split("MW-1", evolve(split.culture, starter_g=starter_g), 2)
        assert made._takes_away(base, [split], given) is takes


def test_what_a_spawning_gets_is_what_is_harvested_besides(room: Room) -> None:
    """Who is certain takes two swipes at round 4; a spawning wants one there and two at round 6."""
    kind = _worms()
    swipe_mg = kind.values["portion_mg"]
    made = _preparation(room, SimpleNamespace(brood=room.hoped[0]))
    demand = [0.0] * 4 + [2 * swipe_mg] + [0.0] * 55
    stage = _stage("MW-1", 900.0, rounds=60)
    base = WormPlan(kind, [stage], [], run_course([stage], [], demand, 5.0), demand, demand, [])
    made.plan = SimpleNamespace(worms={kind.name: base})
    made.certain, made.worms, made.cultures, made.bought = {kind.name: base}, {}, {}, {}
    made._starts = lambda *_: []
    wanted_mg = [0.0] * 4 + [swipe_mg, 0.0, 2 * swipe_mg, 0.0]
    served = [
        [Serving(_need(room), {kind.name: mg * kind.fed_j_per_mg} if mg else {})]
        for mg in wanted_mg
    ]
    assert made._plan_kind(kind, served) == pytest.approx(wanted_mg)
    whole = made.worms[kind.name]
    assert [whole.course.given_mg(i) for i in range(4, 8)] == pytest.approx(
        [3 * swipe_mg, 0.0, 2 * swipe_mg, 0.0]
    )
    assert made.certain == {kind.name: base}
    assert made.cultures == {}  # none begun for it


def test_what_is_begun_is_for_the_spawnings_that_want_its_kind(room: Room) -> None:
    kind = _worms()
    eating, other = (SimpleNamespace(brood=brood) for brood in room.hoped)
    made = _preparation(room, eating, other)
    stage, nothing = _stage("MW-1", 900.0, rounds=60), [0.0] * 60
    course = run_course([stage], [], nothing, 5.0)
    base = WormPlan(kind, [stage], [], course, nothing, nothing, [])
    made.plan = SimpleNamespace(worms={kind.name: base})
    made.certain, made.worms, made.cultures, made.bought = {}, {}, {}, {}
    made._starts = lambda *_: [_split(room, "MW-2", 2)]
    served = [[Serving(_need(room), {kind.name: 5.0})]]  # of the first of the two
    made._plan_kind(kind, served)
    assert made.cultures == {"MW-2": (eating,)}


def test_spare_cultures_are_kept_for_a_spawning_only_while_it_eats(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two where it wants worms; else no more than are in use anyway."""
    made = _preparation(evolve(room, spare_cultures=2))
    made.certain, asked = {}, list[Any]()
    kept, new = _split(room, "MW-2", 9), _split(room, "MW-3", 4)

    def plan_worms(*args: Any, **kinds: Any) -> Any:
        asked.append((args[3], kinds["spares"], kinds["kept"]))
        return SimpleNamespace(splits=[kept, new])

    monkeypatch.setattr(module, "plan_worms", plan_worms)
    course: Any = SimpleNamespace(usable=[0, 1, 3, 3])
    base: Any = SimpleNamespace(course=course, splits=[kept])
    demand, wants = [5.0, 6.0, 7.0, 8.0], [0.5, 0.0, 0.0, 9.0]
    assert made._starts(_worms(), base, [], demand, wants) == [new]
    assert asked == [(demand, [2, 1, 2, 2], [kept])]


# --- rations


def _rations(*wants: float, settled: tuple[float, ...] = ()) -> Rations:
    rows = [[want_of(want, 1.0)] for want in wants]
    return Rations(_worms(), _ROUNDS, rows, len(settled), settled)


def test_worms_are_asked_for_at_their_price() -> None:
    """In quarter swipes; what is settled is asked for as it was."""
    swipe = _worms().values["portion_mg"]
    rations = _rations(4 * swipe, 2 * swipe, settled=(7.0, 9.0))

    def asked(want: float, price: float) -> float:
        return in_swipes_mg(_worms(), asked_at([want_of(want, 1.0)], price))

    assert rations.demand([0.0, 0.0, 0.0, 0.0]) == [7.0, 9.0, 4 * swipe, 2 * swipe]
    assert rations.demand([0.0]) == [7.0]
    assert rations.demand([0.0, 0.0, 0.5]) == [7.0, 9.0, asked(4 * swipe, 0.5)]
    assert rations.asked([0.5], 3) == [asked(2 * swipe, 0.5)]
    assert rations.asked([0.0, 0.5], 2) == [4 * swipe, asked(2 * swipe, 0.5)]
    assert asked(4 * swipe, 0.5) < 4 * swipe


def test_a_round_is_short_from_a_hundredth_on() -> None:
    def short(since: int, *missing: float) -> bool:
        course: Any = SimpleNamespace(short_mg=list(missing), given_mg=lambda i: 100.0 - missing[i])
        return evolve(_rations(4.0), first=since)._is_short(course)

    assert short(0, 0.0, 1.0, 1.1)
    assert short(0, 2.0, 0.0, 0.0)
    assert not short(1, 2.0, 0.0, 0.0)
    assert not short(0, 1.0, 0.5)
    assert not short(3, 2.0, 2.0, 2.0)


def test_one_worm_more_is_taken_whole_where_all_that_climbs_is_taken() -> None:
    """Two quarter swipes, 10 mg, above what climbs count as that; with more left none is taken."""
    stage, rations = _stage("MW-1", 900.0, rounds=60), _rations(5.0)
    climbs = stage.climbs_mg[0]
    assert _worms().values["portion_mg"] == 20.0
    assert rations._taken_of_more(stage, 0, climbs + 10.0, 0.0) == 1.0
    assert rations._taken_of_more(stage, 0, climbs + 200.0, 0.0) == 0.0
