"""What the plan promises is what its tasks give, in any room, and it stays as it was made."""

from __future__ import annotations

from datetime import timedelta
from time import perf_counter

import pytest
from attrs import evolve
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from cultures.planning.build import build_tasks
from cultures.planning.feeding import SHORT_SHARE
from cultures.planning.plan import Outlook, make_outlook, make_plan
from cultures.planning.simulate import Outcome, simulate
from cultures.planning.tasks import Plan, Task
from cultures.room import BRINE_SHRIMP, DRY
from tests.strategies import RoomCase, room_cases

#: The same rooms on every run, without shrinking: a failing room is printed as a file.
RELIABLE = settings(
    deadline=None,
    derandomize=True,
    database=None,
    phases=(Phase.generate,),
    suppress_health_check=list(HealthCheck),
)
#: Seconds that no small room may take, many times what they need on a slow machine.
_LONGEST_S = 30.0


def _carried_out(outlook: Outlook) -> Outcome:
    return simulate(outlook.room, build_tasks(outlook), [x for row in outlook.lines for x in row])


@settings(RELIABLE, max_examples=50)
@given(room_cases())
def test_carrying_out_the_tasks_gives_what_every_line_promises(case: RoomCase) -> None:
    began = perf_counter()
    outlook = make_outlook(case.room(), now=case.now())
    plan = outlook.plan()
    outcome = _carried_out(outlook)
    assert perf_counter() - began < _LONGEST_S
    assert outcome.violations == []
    assert outcome.cysts_left_g >= -1e-9
    for row in outlook.lines:
        for line in row:
            given_j = outcome.given_j.get((line.at, line.brood, line.food), 0.0)
            assert given_j == pytest.approx(line.given_j, rel=1e-9, abs=1e-9), line
    _check_cups(outlook)
    _check_shortfalls(outlook, plan)


def _check_cups(outlook: Outlook) -> None:
    """Doses add up to the cup, and the energy in them to what is in it."""
    feeds = {t.at: t for t in build_tasks(outlook) if t.what == "feed"}
    for feeding, row in zip(outlook.feedings, outlook.lines, strict=True):
        for food in {line.food for line in row if line.amount > 0}:
            lines = [line for line in row if line.food == food]
            dosed = sum(line.amount for line in lines)
            if food == DRY:
                assert feeds[feeding.at].amounts["dry_g"] == pytest.approx(dosed, abs=0.005)
                continue
            cup = outlook.cups[feeding.index, food]
            assert dosed == pytest.approx(cup.volume_ml, rel=1e-9)
            assert feeds[feeding.at].amounts[f"{food}_ml"] == cup.volume_ml
            assert sum(x.given_j for x in lines) == pytest.approx(cup.energy_j, rel=1e-9)


def _check_shortfalls(outlook: Outlook, plan: Plan) -> None:
    """Every brood and round that misses a tenth is in a shortfall, none that misses next to
    nothing is, and in between it depends on whether food or only the syringe's step is missing.
    """
    least = most = 0.0
    for feeding, needs, row in zip(outlook.feedings, outlook.needs, outlook.lines, strict=True):
        if not outlook.now <= feeding.at < outlook.until:
            continue
        for need in needs:
            got = sum(x.given_j for x in row if x.brood == need.brood.name) if feeding.fed else 0.0
            missing = need.energy_j - got
            least += missing if missing > 0.1 * need.energy_j else 0.0
            most += missing if missing > SHORT_SHARE * need.energy_j else 0.0
    told = sum(s.short_j for s in plan.shortfalls)
    assert least * (1 - 1e-9) <= told <= most * (1 + 1e-9)
    for shortfall in plan.shortfalls:
        assert outlook.now <= shortfall.at <= shortfall.until < outlook.until
        assert shortfall.short_j > 0
        assert shortfall.rounds >= 1
        assert shortfall.tanks
        assert shortfall.cause
        for remedy in shortfall.remedies:
            assert remedy.by >= outlook.now
            assert remedy.effect_j > 0


@settings(RELIABLE, max_examples=16)
@given(room_cases(), st.sampled_from([timedelta(hours=5), timedelta(days=1), timedelta(days=4),
                                      timedelta(days=9, hours=11)]))  # fmt: skip
def test_planning_again_later_keeps_every_task_that_is_still_to_come(
    case: RoomCase, later: timedelta
) -> None:
    room = case.room()
    first = make_plan(room, now=case.now(), remedies=False)
    again = make_plan(room, now=case.now(), remedies=False)
    assert first.to_json() == again.to_json()
    second = make_plan(room, now=case.now() + later, remedies=False)
    _same_future(first, second)


@settings(RELIABLE, max_examples=12)
@given(room_cases(longest_days=10), st.integers(1, 30))
def test_a_longer_view_does_not_change_the_near_days(case: RoomCase, days: int) -> None:
    room = case.room()
    _same_future(
        make_plan(room, now=case.now(), remedies=False),
        make_plan(room, now=case.now(), days=days, remedies=False),
    )


def _same_future(first: Plan, second: Plan) -> None:
    """Whatever both plans cover is the same in both."""
    start, end = max(first.start, second.start), min(first.end, second.end)

    def kept(plan: Plan) -> dict[str, Task]:
        # A count that is overdue moves on until it is done; nothing else does.
        return {t.id: t for t in plan.tasks if start <= t.at < end and t.what != "count"}

    one, two = kept(first), kept(second)
    assert set(one) == set(two)
    for key, task in one.items():
        assert evolve(two[key], why="", amounts={}) == evolve(task, why="", amounts={})
        assert dict(two[key].amounts) == pytest.approx(dict(task.amounts), rel=1e-9), key
    lines = [[x for x in plan.lines if start <= x.at < end] for plan in (first, second)]
    assert lines[0] == lines[1]


@settings(RELIABLE, max_examples=12)
@given(room_cases(most_vessels=2))
def test_no_hatch_is_fed_after_its_time_nor_more_than_was_hatched(case: RoomCase) -> None:
    outlook = make_outlook(case.room(), now=case.now())
    hatches = outlook.feeding.hatches
    used: dict[int, float] = {}
    for feeding, portions in zip(outlook.feedings, hatches.portions, strict=True):
        assert sum(p.energy_j for p in portions) == pytest.approx(hatches.given_j[feeding.index])
        for portion in portions:
            batch = hatches.batches[portion.batch]
            assert batch.harvest_h <= feeding.at_h + 1e-9
            used[portion.batch] = used.get(portion.batch, 0.0) + portion.nauplii
    for number, nauplii in used.items():
        assert nauplii <= hatches.batches[number].nauplii * (1 + 1e-9)
    fed = [x for row in outlook.lines for x in row if x.food == BRINE_SHRIMP]
    assert sum(x.given_j for x in fed) == pytest.approx(sum(hatches.given_j), rel=1e-9)
