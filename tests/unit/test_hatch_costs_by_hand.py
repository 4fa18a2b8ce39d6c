"""What hatches cost and bring by hand from docs/planning.md, "Hatches"."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from attrs import evolve

from cultures.needs.need import rounds_between
from cultures.planning.harvests import Batch, Portion, from_jars_ml, left_open, used_up
from cultures.planning.hatch_options import HatchOptions
from cultures.planning.hatch_plan import _lacking, _within_tin, plan_hatches
from cultures.planning.hatch_problem import _usual, from_round
from cultures.planning.lots import Lot, LotProblem, Option
from cultures.planning.standing_hatches import (
    _harvests,
    first_nauplii,
    late_h,
    longest_incubation,
    with_standing,
)
from cultures.room.jars import vessel_model
from cultures.room.orders import RisingStock
from cultures.room.room import Cysts, RunningHatch
from cultures.words.moments import hours
from tests.unit.test_hatch_plan_by_hand import COLD, FEEDINGS, ROOM, _at, _batch, _peak, _plan


def test_a_usual_round_is_the_mean_of_those_that_want_anything_in_a_week_to_either_side() -> None:
    assert _usual([]) == []
    assert _usual([30.0, 0.0, 10.0]) == [20.0] * 3
    # Fourteen rounds to either side: the first sees the 100 at the fifteenth, the second not more.
    late = [10.0, *[0.0] * 13, 100.0, 400.0]
    assert _usual(late)[:2] == [55.0, 170.0]
    # None around it wants anything: that of all. Little: a twentieth of that, of 0.5 and of 500.5.
    assert _usual([80.0, *[0.0] * 20])[-1] == 80.0
    assert _usual([1000.0] * 20 + [1.0] * 20)[-1] == pytest.approx(500.5 / 20)
    assert _usual([0.99] * 20 + [0.01] * 20)[-1] == pytest.approx(0.025)


def test_a_usual_round_wherever_it_is() -> None:
    rng = random.Random(3)
    wanted = [rng.choice([0.0, rng.uniform(1.0, 9.0)]) for _ in range(60)]
    for t, usual in enumerate(_usual(wanted)):
        near = [x for x in wanted[max(0, t - 14) : t + 15] if x > 0]
        assert usual == pytest.approx(sum(near) / len(near))


@pytest.mark.parametrize(("effort_g", "setting", "short"), [(3.0, 3.0, 3.0), (0.0, 1e-6, 1.0)])
def test_a_thousandth_of_a_round_costs_as_much_as_a_setting_and_less_each_day(
    effort_g: float, setting: float, short: float
) -> None:
    """12 rounds of 50 J, sized for 15 % more; a day later 2 % less. Work of nothing is a gram."""
    room = evolve(ROOM, effort_g=effort_g)
    problem = plan_hatches(room, FEEDINGS, [50.0] * 12, start=_at(5, 0)).problem
    assert (problem.setup_cost, problem.gram_cost) == (setting, 1.0)
    each = 0.001 * 57.5
    assert problem.short_cost[0] * each == pytest.approx(short)
    assert problem.short_cost[1] * each == pytest.approx(short * 0.98**0.5)
    assert problem.short_cost[10] * each == pytest.approx(short * 0.98**5)
    assert problem.demand == pytest.approx((57.5,) * 12)
    holding = room.holding
    shares = [holding.share(a.at_h, b.at_h) for a, b in pairwise(FEEDINGS)]
    assert problem.decay == pytest.approx(tuple(shares))
    assert problem.supply == ()


def test_what_a_gram_brings_and_how_long_it_takes_the_vessel() -> None:
    """Set somewhen, harvested at 07:30 or 19:30, held half an hour, clean half an hour later."""
    holding, model = ROOM.holding, vessel_model(ROOM, ROOM.vessel("one"))
    options = list(HatchOptions(ROOM, FEEDINGS, holding).of(0, hours(_at(5, 0)), 3))
    assert options
    for option in options:
        feeding = FEEDINGS[option.at_index]
        assert option.at_index >= 3
        assert option.end_h == feeding.at_h
        stood_h = feeding.at_h - 0.5 - option.start_h
        share = holding.share(0.0, 0.5)
        assert option.energy_per_g == pytest.approx(model.energy(stood_h) * share)
        assert model.energy(stood_h) >= 0.5 * model.energy(model.best_hours())
        assert option.most_g == ROOM.hatch_kind.most_grams(1.0)


@pytest.mark.parametrize(("free", "first"), [((10, 2), (10, 5)), ((10, 5), (10, 5))])
def test_a_vessel_is_set_at_whole_five_minutes_once_it_is_free(
    free: tuple[int, int], first: tuple[int, int]
) -> None:
    """Best after a day, and free only 21.4 h before the harvest: the sooner the better."""
    offers = HatchOptions(ROOM, FEEDINGS, ROOM.holding)
    found = offers.settings(_peak(24.0, shape=10.0), FEEDINGS[4].at_h - 0.5, hours(_at(6, *free)))
    best = max(found, key=lambda setting: setting.energy_j)
    assert best.at_h == pytest.approx(hours(_at(6, *first)), abs=1e-9)


# --- the tin


def _lot(at_h: float, grams: float) -> Lot:
    return Lot(Option(0, 0, at_h, 0.0, 10.0, 9.0), grams)


def test_what_a_tin_lacks_is_of_the_hatches_that_are_set_last() -> None:
    lots = [_lot(30.0, 2.0), _lot(10.0, 3.0), _lot(20.0, 3.0)]
    assert _lacking(lots, RisingStock(4.0)) == [(20.0, 2.0), (30.0, 2.0)]
    assert _lacking(lots, RisingStock(7.5)) == [(30.0, 0.5)]
    assert _lacking(lots, RisingStock(8.0)) == _lacking([], RisingStock(0.0)) == []
    assert _lacking(lots, RisingStock(0.0)) == [(10.0, 3.0), (20.0, 3.0), (30.0, 2.0)]


def test_what_the_tin_holds_is_told_by_harvest() -> None:
    """Set first, and harvested last."""
    slow = evolve(_batch(3), set_h=FEEDINGS[0].at_h)
    quick = evolve(_batch(2), set_h=FEEDINGS[1].at_h)
    kept, cut = _within_tin(ROOM, [slow, quick], RisingStock(2.0), 0.2)
    assert (kept, cut) == ([quick, slow], [])


def test_what_would_be_left_of_a_harvest_is_fed_with_the_rest() -> None:
    """A quarter of the first is left, so each of its rounds gets a third more; of the second half
    is left. Of the third nobody was fed: its 100 J are spread over the four rounds that are within
    two days of its harvest.
    """
    plan, holding = _plan(_batch(0), _batch(0), _batch(3)), COLD.holding
    rounds = FEEDINGS[:9]
    plan.portions = [(Portion(0, 30.0, 1.0), Portion(1, 5.0, 1.0)), (Portion(0, 15.0, 1.0),)]
    assert used_up(plan, [0.25, 0.5, 0.0], [40.0, 20.0, *[9.0] * 7], rounds, holding) == (
        pytest.approx([55.0, 25.0, *[9.0] * 7])
    )
    limits = used_up(plan, [0.25, 0.5, 1.0], [40.0, 20.0, *[9.0] * 7], rounds, holding)
    assert limits == pytest.approx([55.0, 25.0, 9.0, *[34.0] * 4, 9.0, 9.0])


@pytest.mark.parametrize("grams", [0.0, 0.3, 3.0])
def test_the_hatch_that_stands_is_fed_when_the_tin_is_empty(grams: float) -> None:
    """What was set before the tin ended is the last there is; it was fed to nobody."""
    stands = RunningHatch("one", _at(4, 9), 2.0)
    room = evolve(COLD, hatches=(stands,), cysts=Cysts(grams))
    plan = plan_hatches(room, FEEDINGS, [50_000.0] * 12, start=_at(5, 7))
    (batch,) = (n for n, b in enumerate(plan.batches) if b.standing)
    given_j = sum(p.energy_j for row in plan.portions for p in row if p.batch == batch)
    assert given_j > 0.9 * plan.batches[batch].energy_j


def test_what_a_round_takes_out_of_jars() -> None:
    """Half of what lives in half a litre, and all of another jar, of which no more is to be had."""
    holding = COLD.holding
    alive = holding.alive(FEEDINGS[0].at_h - 0.5, FEEDINGS[0].at_h)
    plan = _plan(_batch(0, nauplii=1e6, held=True), _batch(0, nauplii=1e6, held=True))
    plan.portions = [(Portion(0, 1.0, 5e5 * alive), Portion(1, 1.0, 9e6)), ()]
    assert from_jars_ml(COLD, plan, FEEDINGS[0]) == pytest.approx(250.0 + 500.0)
    assert from_jars_ml(COLD, plan, FEEDINGS[1]) == 0.0


def test_a_hatch_takes_whole_days_and_one_more() -> None:
    """Each at its best, of the slowest vessel that hatches at all."""
    best_h = {
        degrees: vessel_model(ROOM, evolve(ROOM.vessels[0], temperature_c=degrees)).best_hours()
        for degrees in (20.0, 27.0)
    }
    assert 24.0 < best_h[20.0] != best_h[27.0]
    for vessels in ((27.0,), (20.0,), (27.0, 20.0), (27.0, 0.5)):
        room = evolve(ROOM, vessels=tuple(
            evolve(ROOM.vessels[0], name=str(degrees), temperature_c=degrees) for degrees in vessels
        ))  # fmt: skip
        slowest_h = max(best_h.get(degrees, 0.0) for degrees in vessels)
        days = math.ceil(slowest_h / 24.0) + 1
        assert longest_incubation(room) == timedelta(days=days)
    assert longest_incubation(evolve(ROOM, vessels=())) == timedelta(0)


def test_the_margin_goes_for_three_days_around_a_round_that_falls_short() -> None:
    """One round wants what both bottles hold, and the rounds before it and after it go without
    for that: six rounds to either side of these three no margin is planned for.
    """
    feedings = rounds_between(ROOM, _at(5, 0), _at(25, 0))
    wanted = [3000.0] * len(feedings)
    wanted[19] = 6e4
    assert ROOM.cysts is not None
    warm = (27.0,) * 12  # nothing keeps until the next round
    room = evolve(ROOM, cysts=evolve(ROOM.cysts, grams=1e5), temperatures_c=warm)
    plan = plan_hatches(room, feedings, wanted, start=_at(5, 0))
    assert [t for t in range(5, 40) if plan.short_j[t] > 1.0] == [18, 20]
    for t, asked in enumerate(plan.problem.demand):
        margin = 1.0 if 18 - 6 <= t <= 20 + 6 else 1.15
        assert asked == pytest.approx(wanted[t] * margin)


def test_a_vessel_is_not_set_before_what_stands_in_it_is_drawn_off_and_it_is_clean() -> None:
    room = evolve(ROOM, hatches=(_standing(),))
    plan = plan_hatches(room, FEEDINGS, [50.0] * 12, start=_at(5, 9))
    (stands,) = (b for b in plan.batches if b.standing)
    starts = {o.start_h for o in plan.problem.options if room.vessels[o.vessel].name == "one"}
    assert min(starts) == pytest.approx(stands.harvest_h + 0.5)
    other = {o.start_h for o in plan.problem.options if room.vessels[o.vessel].name == "two"}
    assert min(other) < stands.harvest_h


def test_without_a_tin_nothing_is_set() -> None:
    room = evolve(ROOM, cysts=None)
    assert plan_hatches(room, FEEDINGS, [50.0] * 12, start=_at(5, 0)).batches == []


# --- what is decided, and what is held


def test_a_stretch_begins_with_what_is_left_of_the_hatches_before_it() -> None:
    """20 J at the second round: 10 are fed, half of 10 is there at the third, where they count as
    10 of the second. The vessel is free again at 40 h.
    """
    lot = Lot(Option(0, 1, 0.0, 40.0, 5.0, 9.0), 4.0)
    options = tuple(
        Option(v, i, at_h, at_h + 30.0, 5.0, 9.0)
        for v, i, at_h in ((0, 1, 5.0), (0, 2, 39.9), (0, 3, 40.0), (1, 2, 1.0))
    )
    problem = LotProblem((0.0, 10.0, 5.0, 7.0), (0.5,) * 3, (0, 0, 1, 2), options, 3.0, 1.0,
                         (9.0, 8.0, 7.0, 6.0))  # fmt: skip
    part, offset = from_round(problem, [lot], 2)
    assert offset == 1
    assert part == LotProblem(
        (0.0, 5.0, 7.0), (0.5, 0.5), (0, 0, 1),
        (evolve(options[2], at_index=2), evolve(options[3], at_index=1)), 3.0, 1.0,
        (8.0, 7.0, 6.0), (10.0, 0.0, 0.0),
    )  # fmt: skip
    comes = evolve(problem, supply=(0.0, 0.0, 1.0, 2.0))
    assert from_round(comes, [lot], 2)[0].supply == (10.0, 1.0, 2.0)
    eaten = evolve(lot, grams=2.0)
    assert from_round(problem, [eaten], 2)[0].supply == ()
    assert from_round(problem, [], 0) == (problem, 0)
    assert from_round(problem, [lot], 4) == (problem, 0)


def test_what_is_held_is_fed_first() -> None:
    """100 J are held from the first round on: for 30 J at once, 40 J next, and then the rest."""
    holding = COLD.holding
    share = [holding.share(FEEDINGS[0].at_h - 0.5, r.at_h) for r in FEEDINGS[:3]]
    left, there = left_open([_batch(0)], FEEDINGS[:3], [30.0, 40.0, 50.0], holding)
    second = 100.0 * share[1] * (1 - 0.3 / share[0])
    third = (second - 40.0) * share[2] / share[1]
    assert there == pytest.approx([100.0 * share[0], second, third])
    assert left == pytest.approx([0.0, 0.0, 50.0 - third])


# --- a hatch that stands


def _standing(grams: float = 1.0, set_at: datetime | None = None, **changes: Any) -> RunningHatch:
    return RunningHatch("one", set_at or _at(5, 8), grams, **changes)


def test_a_hatch_that_stands_is_drawn_off_when_it_is_worth_most_or_as_told() -> None:
    """The first three rounds at which it is worth two fifths of its best, and that round."""
    model, set_h = vessel_model(ROOM, ROOM.vessel("one")), hours(_at(5, 8))
    found = _harvests(ROOM, _standing(), FEEDINGS)
    worth = {r.index: model.energy(r.at_h - 0.5 - set_h) for r in FEEDINGS if r.at_h - 0.5 > set_h}
    best = max(worth, key=worth.__getitem__)
    fair = [index for index, energy_j in worth.items() if energy_j >= 0.4 * worth[best]]
    assert found[0].at_index == best
    assert sorted(b.at_index for b in found) == sorted({*fair[:3], best})
    assert all(b.energy_j == pytest.approx(worth[b.at_index]) for b in found)
    last = FEEDINGS[fair[2]]
    told = _harvests(ROOM, _standing(harvest_at=last.at - timedelta(minutes=30)), FEEDINGS)
    assert told[0].at_index == last.index
    old = _harvests(ROOM, _standing(set_at=_at(1, 8) - timedelta(days=5)), FEEDINGS)
    assert [(b.at_index, b.energy_j) for b in old] == [(0, 0.0)]  # thrown out


@pytest.mark.parametrize(("missed", "moves"), [(0.9, False), (1.1, True)])
def test_it_is_drawn_off_at_another_round_where_that_saves_a_quarter_of_a_setting(
    missed: float, *, moves: bool
) -> None:
    """A setting costs 4; what is missed at that round, at 1 a joule, is 0.9 or 1.1."""
    first, other, *_ = (b.at_index for b in _harvests(ROOM, _standing(), FEEDINGS))
    room, count = evolve(ROOM, hatches=(_standing(),)), len(FEEDINGS)

    def problem_of(standing: Sequence[Batch]) -> LotProblem:
        supply = [5.0 if i == standing[0].at_index else 0.0 for i in range(count)]
        demand = [missed if i == other else 0.0 for i in range(count)]
        return LotProblem(tuple(demand), (1.0,) * (count - 1), tuple(range(count)), (), 4.0, 1.0,
                          (1.0,) * count, tuple(supply))  # fmt: skip

    (chosen,), problem = with_standing(room, FEEDINGS, problem_of)
    assert chosen.at_index == (other if moves else first)
    assert problem == problem_of([chosen])
    assert math.isclose(problem.setup_cost, 4.0)


def test_what_was_told_of_a_hatch_that_is_not_ripe_by_then_does_not_count() -> None:
    """Set at 20:00 where it takes a day and more: told for the morning, half a day later."""
    cold = evolve(ROOM, vessels=(evolve(ROOM.vessel("one"), temperature_c=16.0),))
    hatch = _standing(set_at=_at(5, 20), harvest_at=_at(6, 7) + timedelta(minutes=30))
    found = _harvests(cold, hatch, FEEDINGS)
    assert found[0].energy_j == max(batch.energy_j for batch in found)
    assert all(b.energy_j >= 0.4 * found[0].energy_j > 0.0 for b in found)


def _want_at(index: int, energy_j: float, options: tuple[Option, ...] = ()) -> Any:
    """What is wanted at one round alone, where a setting costs 4 and a joule missed 10."""

    def problem_of(standing: Sequence[Batch]) -> LotProblem:
        count = len(FEEDINGS)
        supply = [50.0 if i == standing[0].at_index else 0.0 for i in range(count)]
        demand = [energy_j if i == index else 0.0 for i in range(count)]
        return LotProblem(tuple(demand), (1.0,) * (count - 1), tuple(range(count)), options, 4.0,
                          1.0, (10.0,) * count, tuple(supply))  # fmt: skip

    return problem_of


def test_a_hatch_is_not_left_standing_past_its_best_to_save_a_setting() -> None:
    """Wanted at the last round that is worth it alone: set anew for that, unless none can be."""
    hot = evolve(ROOM, vessels=(evolve(ROOM.vessel("one"), temperature_c=30.0),))
    hatch = _standing(set_at=_at(5, 20))
    room = evolve(hot, hatches=(hatch,))
    late = max(
        (b for b in _harvests(room, hatch, FEEDINGS) if late_h(room, b)), key=lambda b: b.at_index
    )
    late_index = late.at_index
    start_h = FEEDINGS[late_index].at_h - 24.0
    fresh = Option(0, late_index, start_h, start_h + 24.0, 100.0, 5.0, 1.0)
    (chosen,), _ = with_standing(room, FEEDINGS, _want_at(late_index, 10.0, (fresh,)))
    assert late_h(room, chosen) is None
    (chosen,), _ = with_standing(room, FEEDINGS, _want_at(late_index, 10.0))
    assert chosen.at_index == late_index


def test_a_hatch_told_late_is_drawn_off_sooner_where_something_goes_short_till_then() -> None:
    """Nothing else can be set, as it stands in the only bottle: it is what can be had at once."""
    first, other, *_ = sorted(b.at_index for b in _harvests(ROOM, _standing(), FEEDINGS))
    told_at = FEEDINGS[other].at - timedelta(minutes=30)
    room = evolve(ROOM, hatches=(_standing(harvest_at=told_at),))
    (chosen,), _ = with_standing(room, FEEDINGS, _want_at(first, 10.0))
    assert chosen.at_index == first
    assert first_nauplii(room, FEEDINGS, FEEDINGS[-1].at) == first
