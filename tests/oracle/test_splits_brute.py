"""The splits against every smaller set of starts, tried one by one, on small rooms."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import combinations_with_replacement

import pytest
from attrs import evolve, frozen

from cultures.foods.kinds import WormKind
from cultures.needs.need import Round, rounds_between
from cultures.planning.split_plan import WormPlan, plan_worms, swipe_step_mg
from cultures.planning.worm_course import (
    Split,
    WormCourse,
    child_stage,
    run_course,
    standing_stage,
)
from cultures.room.file import read_room
from cultures.room.room import Room

_TODAY = date(2027, 3, 1)


@frozen
class _Case:
    room: Room
    kind: WormKind
    feedings: tuple[Round, ...]
    demand: tuple[float, ...]


def _case(seed: int) -> _Case:
    rng = random.Random(seed)
    text = (
        '[room]\nname = "Small"\ntimezone = "Europe/Lisbon"\nas_of = 2027-03-01\n'
        f'temperature_c = {rng.choice([22, 24, 27])}\nrounds = ["08:00"]\n'
        f"spare_cultures = {rng.choice([1, 1, 2])}\n"
    )
    for number in range(rng.choice([1, 1, 2])):
        born = _TODAY - timedelta(days=rng.choice([6, 12, 18, 24, 30]))
        text += (
            f'[[culture]]\nname = "MW-{number + 1}"\nkind = "microworm"\nstarted = {born}\n'
            f"medium_g = 150\nsurface_cm2 = {rng.choice([90, 180])}\nstarter_g = 12\n"
        )
    room = read_room(text, today=_TODAY)
    start = room.local(_TODAY, room.awake[0])
    feedings = tuple(rounds_between(room, start, start + timedelta(days=rng.choice([14, 20]))))
    level = rng.choice([0.0, 60.0, 150.0, 300.0])
    growth = rng.uniform(0.98, 1.08)
    demand = tuple(level * growth**i for i in range(len(feedings)))
    kind = room.kinds["microworm"]
    assert isinstance(kind, WormKind)
    return _Case(room, kind, feedings, demand)


#: Of each kind: sizes of a culture [g, cm2, g of starter], ages in days from young to spent, and
#: rounds to look at, among which a start is tried after every few.
_WIDER = {
    "banana_worm": ((150, 180, 12), (4, 9, 13, 20, 26, 29), 20, 2),
    "grindal_worm": ((300, 250, 30), (10, 40, 90, 130, 160, 185), 60, 5),
    "vinegar_eel": ((1000, 0, 100), (15, 40, 120, 250, 290, 320), 60, 5),
    "microworm": ((150, 180, 12), (5, 11, 23, 29, 33, 36), 30, 3),
}


def _wider_case(seed: int) -> tuple[_Case, int]:
    """Slow kinds, cold rooms and boxes past their best, and how far apart starts are tried."""
    rng = random.Random(1000 + seed)
    name = list(_WIDER)[seed % len(_WIDER)]
    (medium, surface, starter), ages, days, apart = _WIDER[name]
    text = (
        '[room]\nname = "Wide"\ntimezone = "Europe/Lisbon"\nas_of = 2027-03-01\n'
        f'temperature_c = {rng.choice([13, 17, 20, 24])}\nrounds = ["08:00"]\n'
        f"spare_cultures = {rng.choice([1, 2])}\n"
    )
    for number in range(rng.choice([1, 1, 2])):
        born = _TODAY - timedelta(days=rng.choice(ages))
        text += (
            f'[[culture]]\nname = "X-{number + 1}"\nkind = "{name}"\nstarted = {born}\n'
            f"medium_g = {medium}\nstarter_g = {starter}\n"
        )
        text += f"surface_cm2 = {surface}\n" if surface else ""
    room = read_room(text, today=_TODAY)
    start = room.local(_TODAY, room.awake[0])
    feedings = tuple(rounds_between(room, start, start + timedelta(days=days)))
    level, growth = rng.choice([0.0, 10.0, 40.0, 150.0]), rng.uniform(0.99, 1.02)
    kind = room.kinds[name]
    assert isinstance(kind, WormKind)
    demand = tuple(level * growth**i for i in range(len(feedings)))
    return _Case(room, kind, feedings, demand), apart


def _wrong(case: _Case, course: WormCourse, demand: list[float]) -> tuple[int, float, int]:
    """Rounds at which a spare culture is missing, worms missing, and starts from a parent that is
    too young or past its best."""
    spares = case.room.spare_cultures if any(case.demand) else 1
    short = sum(s for s, d in zip(course.short_mg, demand, strict=True) if s > 1e-6 * max(1.0, d))
    return sum(max(0, spares - usable) for usable in course.usable), round(short, 6), course.poor


def _carried(case: _Case, starts: tuple[int, ...], demand: list[float]) -> WormCourse | None:
    """The course with splits after the given rounds, each from the fullest parent; or None."""
    step = swipe_step_mg(case.kind)
    own = [c for c in case.room.cultures if c.kind.name == case.kind.name]
    stages = {c.name: standing_stage(case.room, c, case.feedings) for c in own}
    splits: list[Split] = []

    def run() -> WormCourse:
        ordered = sorted(stages.values(), key=lambda s: (s.spent_h, s.culture.name))
        return run_course(ordered, splits, demand, step)

    course = run()
    for number, at in enumerate(starts):
        if not course.parents(at):
            return None
        parent = course.parents(at)[0][1]
        day = case.feedings[at].at.date()
        child = evolve(stages[parent].culture, name=f"new {number}", started=day)
        splits.append(Split(parent, child, at))
        stages[child.name] = child_stage(case.room, splits[-1], case.feedings)
        course = run()
    return course if course.unfit == 0 else None


def _ours(case: _Case) -> WormPlan:
    return plan_worms(case.room, case.kind, case.feedings, case.demand)


@pytest.mark.parametrize("block", range(6))
def test_no_smaller_number_of_starts_leaves_as_little_missing(block: int) -> None:
    seeds = range(30 * block, 30 * block + 30)
    assert sum(_smaller_sets_tried(_case(seed), 2, seed) for seed in seeds) > 0


@pytest.mark.parametrize("block", range(4))
def test_nor_of_slow_kinds_in_cold_rooms_or_from_old_boxes(block: int) -> None:
    seeds = range(20 * block, 20 * block + 20)
    assert sum(_smaller_sets_tried(*_wider_case(seed), seed) for seed in seeds) > 0


def _smaller_sets_tried(case: _Case, apart: int, seed: int) -> int:
    tried = 0
    plan = _ours(case)
    ours = _wrong(case, plan.course, plan.demand_mg)
    assert plan.course.unfit == 0
    grid = range(0, len(case.feedings), apart)
    for count in range(min(len(plan.splits), 3)):
        for starts in combinations_with_replacement(grid, count):
            course = _carried(case, starts, plan.demand_mg)
            if course is not None:
                tried += 1
                assert _wrong(case, course, plan.demand_mg) > ours, (seed, starts)
    return tried


def test_the_starts_carried_by_hand_come_to_what_the_plan_says() -> None:
    compared = 0
    for seed in range(60):
        case = _case(seed)
        plan = _ours(case)
        course = _carried(case, tuple(s.at_index for s in plan.splits), plan.demand_mg)
        if course is not None:
            compared += 1
            by_hand = _wrong(case, course, plan.demand_mg)
            assert by_hand >= _wrong(case, plan.course, plan.demand_mg) or len(plan.splits) > 1
    assert compared > 30
