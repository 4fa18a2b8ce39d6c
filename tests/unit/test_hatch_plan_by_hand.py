"""Hatches, held harvests, chances and rooms by hand from docs/planning.md, and limits exactly.

The room has rounds at 08:00 and 20:00, and two bottles of a litre at 27 °C.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from datetime import date, datetime, time, timedelta

import pytest
from attrs import evolve

from cultures.foods.hatching import HatchModel
from cultures.foods.holding import Holding
from cultures.journal.absences import Away
from cultures.needs.need import rounds_between
from cultures.planning.harvests import Batch, HatchPlan, Portion, feed, jar_ml
from cultures.planning.hatch_options import HatchOptions, harvest_time
from cultures.planning.hatch_plan import _as_told, _by_gram, _weighed, _within_tin, plan_hatches
from cultures.planning.hatch_problem import _oldest
from cultures.planning.lots import Lot, LotProblem, Option
from cultures.planning.risk import RoundRisk, thin_spells, with_probability
from cultures.planning.task_ids import natural
from cultures.planning.trials import Mouth, Scene, Source, World, _gone_until, play, sigma
from cultures.planning.water import water_warnings
from cultures.room.file import read_room
from cultures.room.orders import Order, RisingStock
from cultures.room.room import Room, RunningHatch, Spell, Told
from cultures.tasks.plan import Shortfall
from cultures.tasks.told import FeedLine
from cultures.words.moments import hours, spoken_day, spoken_moment
from tests.unit.recorded import told_task

ROOM = read_room(
    """
[room]
name = "loft"
timezone = "UTC"
as_of = 2027-01-05
temperature_c = 24
rounds = ["08:00", "20:00"]
awake = ["07:00", "22:00"]
effort_g = 3
[[tank]]
name = "A"
litres = 2
temperature_c = 25
[[vessel]]
name = "one"
litres = 1
temperature_c = 27
salinity_g_per_l = 25
[[vessel]]
name = "two"
litres = 1
temperature_c = 27
salinity_g_per_l = 25
[cysts]
grams = 7.25
""",
    name="room.toml",
    today=date(2027, 1, 5),
)
COLD = evolve(ROOM, fridge_c=5.0)
VESSEL = ROOM.vessel("one")


def _at(day: int, hour: int = 8, minute: int = 0) -> datetime:
    return datetime(2027, 1, day, hour, minute, tzinfo=ROOM.timezone)


FEEDINGS = rounds_between(ROOM, _at(5, 0), _at(11, 0))
#: Half an hour before each.
_DRAWN_H = [harvest_time(ROOM, feeding) for feeding in FEEDINGS]


def _batch(
    number: int,
    *,
    grams: float = 1.0,
    energy: float = 100.0,
    nauplii: float = 1000.0,
    harvest: float | None = None,
    share: float = 1.0,
    held: bool = False,
) -> Batch:
    harvest_h = FEEDINGS[number].at_h - 0.5 if harvest is None else harvest
    return Batch(VESSEL, number, harvest_h - 24, harvest_h, grams, nauplii, energy, held=held,
                 share=share)  # fmt: skip


_NOTHING = LotProblem((), (), (), (), 1.0, 1.0, ())


def _plan(*batches: Batch) -> HatchPlan:
    return HatchPlan(list(batches), [], [], [], [], _NOTHING, ())


# --- times


def test_a_hatch_is_harvested_half_an_hour_before_its_round() -> None:
    first = FEEDINGS[0]
    assert harvest_time(ROOM, first) == first.at_h - 0.5
    late = evolve(ROOM, awake=(time(7, 45), time(22, 0)))
    assert harvest_time(late, first) == first.at_h - 0.25
    later = evolve(ROOM, awake=(time(8, 30), time(22, 0)))
    assert harvest_time(later, first) == first.at_h  # the round itself, not after it


def _kept(longest_h: float, degrees: Callable[[float], float] = lambda _: 27.0) -> Holding:
    kind = ROOM.hatch_kind
    return Holding(evolve(kind, values={**kind.values, "warm_hold_h": longest_h}), None, degrees)


def test_warm_nauplii_keep_half_a_day_and_cold_ones_two() -> None:
    """From 07:30 a harvest may be fed at 19:30 at the latest, or two days later."""
    warm, cold = evolve(ROOM, temperatures_c=(27.0,) * 12).holding, COLD.holding
    assert (warm.longest_h(0.0), cold.longest_h(0.0)) == (12, 48)
    assert _oldest(FEEDINGS[:6], _DRAWN_H[:6], _kept(12)) == [0, 1, 2, 3, 4, 5]
    assert _oldest(FEEDINGS[:6], _DRAWN_H[:6], _kept(12.5)) == [0, 0, 1, 2, 3, 4]
    assert _oldest(FEEDINGS[:6], _DRAWN_H[:6], _kept(48)) == [0, 0, 0, 0, 1, 2]


def test_a_harvest_keeps_no_longer_than_one_of_a_warmer_day_after_it() -> None:
    """16 °C keep nauplii 35 h, 27 °C 12 h: what a round may still be fed has no gaps."""
    fourth_h = FEEDINGS[3].at_h
    turned = _kept(12, lambda at_h: 16.0 if at_h < fourth_h - 1.0 else 27.0)
    assert _oldest(FEEDINGS[:6], _DRAWN_H[:6], turned) == [0, 0, 0, 1, 4, 5]


def test_energy_held_falls_by_the_loss_of_the_place() -> None:
    """0.0131 an hour at 25 °C, 2.8 for ten degrees; in the cold 0.0022 die an hour."""
    warm, cold = ROOM.holding, COLD.holding
    assert warm.share(0, 10) == pytest.approx(math.exp(-10 * 0.0131 * 2.8**-0.1))
    assert warm.alive(0, 10) == 1
    assert cold.share(0, 10) == pytest.approx(math.exp(-10 * (0.0131 * 2.8**-2 + 0.0022)))
    assert cold.alive(0, 10) == pytest.approx(math.exp(-0.022))
    assert cold.share(10, 0) == cold.alive(10, 0) == 1
    assert evolve(ROOM, fridge_c=10.0).holding.cold
    assert not evolve(ROOM, fridge_c=10.1).holding.cold


def _peak(best_h: float, shape: float = 40.0) -> HatchModel:
    """A hatch that is best near an hour: a sharp hatching and a loss that fits."""
    return HatchModel(best_h * 0.9, shape, 1.0, 1000.0, 1.0, 0.02)


def _offers(room: Room = ROOM) -> HatchOptions:
    return HatchOptions(room, FEEDINGS, room.holding)


def test_a_hatch_is_set_when_somebody_is_up() -> None:
    """Ideal at 03:00 is not awake; the evening before at 22:00 or the morning at 07:00 is."""
    model = _peak(28.0)
    harvest_h = FEEDINGS[4].at_h - 0.5
    best_h = model.best_hours()
    found = max(_offers().settings(model, harvest_h, -math.inf), key=lambda s: s.energy_j)
    options = {
        at_h: model.energy(harvest_h - at_h)
        for day in (5, 6, 7)
        for at_h in (
            *(hours(_at(day, h)) for h in (7, 8, 20, 22)),
            min(max(harvest_h - best_h, hours(_at(day, 7))), hours(_at(day, 22))),
        )
        if at_h < harvest_h
    }
    assert found.energy_j == pytest.approx(max(options.values()), rel=1e-3)
    assert found.effort == 1.25
    # Whole five minutes.
    assert found.at_h * 12 == pytest.approx(round(found.at_h * 12), abs=1e-6)


def test_at_a_round_it_is_less_work_and_may_bring_less() -> None:
    model = _peak(28.0)
    harvest_h = FEEDINGS[4].at_h - 0.5
    found = _offers().settings(model, harvest_h, -math.inf)
    at_round = [s for s in found if s.effort == 1.0]
    assert at_round
    assert all(s.at_h in {r.at_h for r in FEEDINGS} for s in at_round)
    assert max(s.energy_j for s in at_round) < max(s.energy_j for s in found)
    # Not before a time, and not when there is no time at all.
    assert not _offers().settings(model, harvest_h, harvest_h - 5)
    away = evolve(ROOM, away=(Away(date(2027, 1, 4), date(2027, 1, 8)),))
    assert not _offers(away).settings(model, harvest_h, -math.inf)


def test_nobody_is_to_come_half_an_hour_before_a_round_for_hardly_more() -> None:
    """A harvest at 07:30 that is best after 24 h: set at the round of 08:00 it stands half an hour
    less, for less than a hundredth less. One that is best after 25 h brings a fortieth more of
    being set at 07:00, when the keeper wakes.
    """
    harvest_h = FEEDINGS[4].at_h - 0.5  # 07:30 on the 7th
    for model, best_h, ways in ((_peak(22, 20), 24, 0), (_peak(23, 20), 25, 1)):
        assert model.best_hours() == pytest.approx(best_h, abs=0.1)
        found = _offers().settings(model, harvest_h, -math.inf)
        early = [s for s in found if 0.0 < FEEDINGS[2].at_h - s.at_h <= 1.0]
        assert len(early) == ways, best_h
        assert any(s.at_h == FEEDINGS[2].at_h for s in found)


def test_a_shorter_incubation_is_offered_for_a_bottle_that_was_in_use() -> None:
    """Best at 25 h, a harvest every morning: clean at 08:00, the next one stands 23.5 h."""
    model = _peak(25.0)
    harvest_h = FEEDINGS[4].at_h - 0.5
    starts = {s.at_h for s in _offers().settings(model, harvest_h, -math.inf)}
    assert FEEDINGS[2].at_h in starts


def test_a_time_that_was_told_is_less_work_while_it_will_do() -> None:
    model = _peak(24.0)
    harvest_h = FEEDINGS[4].at_h - 0.5  # 07:30 on the 7th
    offers = _offers()  # moving costs 1 g and a setting 3 g

    def told(moment: datetime, since: datetime | None = None) -> float | None:
        found = offers.settings(model, harvest_h, hours(since or _at(1)), hours(moment))
        return next((s.effort for s in found if s.at_h == hours(moment)), None)

    assert told(_at(6, 8)) == pytest.approx(1 - 1 / 3)
    assert told(_at(6, 7)) == pytest.approx(1.25 - 1 / 3)  # waking is early enough
    assert told(_at(6, 6, 59)) is None
    assert told(_at(5, 22)) == pytest.approx(1.25 - 1 / 3)
    assert told(_at(5, 22, 1)) is None
    assert told(_at(6, 8), _at(6, 8)) is not None
    assert told(_at(6, 8), _at(6, 8, 1)) is None
    assert told(_at(6, 20)) is None  # 11.5 hours: nothing has hatched


def test_what_is_in_hand_makes_no_hatch_cheap_in_a_bottle_alike() -> None:
    """Told of bottle one it may be set in two instead; once it is in hand it is as good as done."""
    told = Told("one", _at(6, 8), harvest_at=_at(7, 7, 30), grams=2.0)
    begun = told_task("set_hatch", told.at, told.name)

    def least_work(room: Room) -> float:
        options = _offers(room).of(1, hours(_at(6, 8)), 0)
        return min(o.effort for o in options if o.start_h == hours(told.at) and o.at_index == 4)

    assert least_work(evolve(ROOM, told=(told,))) == pytest.approx(1 - 1 / 3)
    assert least_work(evolve(ROOM, told=(told,), in_hand=(begun,))) == 1.0


# --- grams, the tin, jars


def _lot(number: int, grams: float, per_gram: float = 10.0, most: float = 5.0) -> Lot:
    return Lot(Option(0, number, 0.0, 0.0, per_gram, most), grams)


def test_grams_are_rounded_up_and_what_is_left_makes_the_next_smaller() -> None:
    """Planned for 23 and 20 J at 10 J/g, needed 20 and 20, all kept: 2.3 g give 23, so 3 are left
    that the plan did not count on beyond its own: the second is 1.7 g.
    """
    problem = LotProblem((23.0, 20.0), (1.0,), (0, 0), (), 1.0, 1.0, (1.0, 1.0))
    got = _weighed(problem, [_lot(0, 2.3), _lot(1, 2.0)], [20.0, 20.0], [0.0, 0.0])
    assert [grams for _, grams in got] == [2.3, 1.7]
    up = _weighed(problem, [_lot(0, 2.21), _lot(1, 2.0)], [23.0, 20.0], [0.0, 0.0])
    assert [grams for _, grams in up] == [2.3, 2.0]
    # What is held already is spared at once; a hatch of which nothing is left is dropped.
    spared = _weighed(problem, [_lot(0, 2.3)], [23.0, 0.0], [10.0, 0.0])
    assert [grams for _, grams in spared] == [1.3]
    assert _weighed(problem, [_lot(0, 2.3)], [23.0, 0.0], [23.0, 0.0]) == []
    large = evolve(problem, demand=(99.0, 0.0))
    full = _weighed(large, [_lot(0, 9.9)], [99.0, 0.0], [0.0, 0.0])
    assert [grams for _, grams in full] == [5.0]


def test_what_is_too_old_by_then_makes_no_hatch_needless() -> None:
    """The first weighs 0.5 g for 1 J and leaves 4, good for two rounds more; the next is set for
    1 J at the third round and 1 J at the fourth, which the leftover cannot feed.
    """
    problem = LotProblem(
        (1.0, 0.0, 1.0, 1.0), (1.0,) * 3, (0, 0, 0, 1), (), 1.0, 1.0, (1.0,) * 4
    )  # fmt: skip
    lots = [_lot(0, 0.1), _lot(2, 0.2)]
    got = _weighed(problem, lots, [1.0, 0.0, 1.0, 1.0], [0.0] * 4, 0.5)
    assert [(lot.option.at_index, grams) for lot, grams in got] == [(0, 0.5), (2, 0.5)]
    # Where it keeps a round longer it does for both.
    keeps = evolve(problem, oldest=(0, 0, 0, 0))
    assert len(_weighed(keeps, lots, [1.0, 0.0, 1.0, 1.0], [0.0] * 4, 0.5)) == 1


def test_two_hatches_of_one_round_share_what_is_spared() -> None:
    """12 J are spared: all of the first 10, and 2 of the second."""
    problem = LotProblem((20.0,), (), (0,), (), 1.0, 1.0, (1.0,))
    got = _weighed(problem, [_lot(0, 1.0), _lot(0, 1.0)], [20.0], [12.0])
    assert [grams for _, grams in got] == [0.8]


def _told(number: int, grams: float, told_g: float, most: float = 5.0) -> Lot:
    return Lot(Option(0, number, 0.0, 0.0, 10.0, most, told_g=told_g), grams)


def _weigh(lots: list[Lot], move_g: float, demand: tuple[float, ...]) -> list[float]:
    """What is weighed of some hatches for a demand [J], each gram 10 J, all kept for one round."""
    problem = LotProblem(demand, (1.0,) * (len(demand) - 1), (0, 0, 1)[: len(demand)], (), 1.0, 1.0,
                         (1.0,) * len(demand))  # fmt: skip

    def tried(kept: Collection[Lot]) -> list[tuple[Lot, float]]:
        return _weighed(problem, lots, demand, [0.0] * len(demand), kept=kept)

    return [grams for _, grams in _as_told(problem, tried([]), tried, move_g)]


def test_a_hatch_is_weighed_as_it_was_told_where_that_costs_no_more_than_moving_it() -> None:
    """Told 2.6 g, wanted 2: 0.6 g too much, and only where the next one needs no less for it."""
    assert _weigh([_told(0, 2.0, 2.6)], 0.6, (20.0,)) == [2.6]
    assert _weigh([_told(0, 2.0, 2.6)], 0.5, (20.0,)) == [2.0]
    assert _weigh([_told(0, 2.0, 2.6), _lot(1, 2.0)], 0.0, (20.0, 20.0)) == [2.6, 1.4]
    # Nor more than a quarter of what was told, as if half of the fry were gone.
    assert _weigh([_told(0, 0.3, 0.4)], 1.0, (3.0,)) == [0.4]
    assert _weigh([_told(0, 0.2, 0.4)], 1.0, (2.0,)) == [0.2]
    # Who moves freely weighs freely, and so does who was told of none.
    assert _weigh([_told(0, 2.0, 2.1)], 0.0, (20.0,)) == [2.0]
    assert _weigh([_told(0, 2.0, 0.0)], 1.0, (20.0,)) == [2.0]
    # No more is weighed than the vessel bears.
    assert _weigh([_told(0, 2.0, 2.6, most=2.5)], 1.0, (20.0,)) == [2.0]


def test_what_keeps_two_weights_as_told_may_cost_as_much_as_moving_both() -> None:
    """15, 20 and 10 J are wanted: 1.5 and 3 g, and told were 4 and 1. Of 4 g the second round gets
    20 J as well, and 5 J are left that are too old for the third, which 1 g does for: half a gram
    more, where moving one costs 0.3 g and the other a quarter of a gram.
    """
    wanted = (15.0, 20.0, 10.0)
    assert _weigh([_told(0, 1.5, 4.0), _told(1, 3.0, 1.0)], 0.3, wanted) == [4.0, 1.0]
    assert _weigh([_told(0, 1.5, 4.0), _told(1, 3.0, 1.0)], 0.2, wanted) == [1.5, 3.0]
    # Where but one of them was told only that one would be moved.
    assert _weigh([_told(0, 1.5, 4.0), _lot(1, 3.0)], 0.3, wanted) == [1.5, 3.0]


def test_a_hatch_that_was_told_smaller_stays_so_where_nothing_goes_short_for_it() -> None:
    """1.97 g leave 3 % of 20 J missing, which is not called short; 1.9 g leave 5 %."""
    assert _weigh([_told(0, 2.0, 1.97)], 1.0, (20.0,)) == [1.97]
    assert _weigh([_told(0, 2.0, 1.9)], 1.0, (20.0,)) == [2.0]
    # Another one makes up for it, or has no room to.
    assert _weigh([_told(0, 3.0, 2.0), _lot(1, 1.0)], 1.0, (20.0, 20.0)) == [2.0, 2.0]
    lots = [_told(0, 3.0, 2.0), _lot(1, 1.0, most=1.5)]
    assert _weigh(lots, 1.0, (20.0, 20.0)) == [3.0, 1.0]


def test_of_two_hatches_that_were_told_each_may_cost_what_moving_it_does() -> None:
    lots = [_told(0, 4.0, 4.4), _told(2, 4.0, 4.5)]
    assert _weigh(lots, 0.5, (40.0, 0.0, 40.0)) == [4.4, 4.5]
    assert _weigh(lots, 0.4, (40.0, 0.0, 40.0)) == [4.4, 4.0]


def test_a_tin_is_used_up_in_the_order_of_setting() -> None:
    """7.25 g: 3 and 3, then 1.2 of the third; 1.75 g are wanting, and all of the fourth."""
    batches = [_batch(i, grams=3.0) for i in (2, 0, 1, 3)]
    kept, cut = _within_tin(ROOM, batches, RisingStock(7.25), 0.2)
    assert [(b.at_index, b.cysts_g) for b in kept] == [(0, 3.0), (1, 3.0), (2, 1.2)]
    assert [at_h for at_h, _ in cut] == [batches[0].set_h, batches[3].set_h]
    assert [grams for _, grams in cut] == pytest.approx([1.75, 3.0])
    more, none = _within_tin(ROOM, batches, RisingStock(12.0), 0.2)
    assert [b.cysts_g for b in more] == [3, 3, 3, 3]
    assert none == []
    # What stands already came out of the tin before.
    standing = [evolve(b, standing=True) for b in batches]
    assert len(_within_tin(ROOM, standing, RisingStock(0.0), 0.2)[0]) == 4
    little = _within_tin(ROOM, batches[:1], RisingStock(0.19), 0.2)
    assert little[0] == []
    # 4 g more come when the third is set: 3 g, 1 g of 3, 3 g, and 1 g of the fourth.
    comes = RisingStock(4.0, ((batches[0].set_h, 4.0),))
    kept, cut = _within_tin(ROOM, batches, comes, 0.2)
    assert [(b.at_index, b.cysts_g) for b in kept] == [(0, 3.0), (1, 1.0), (2, 3.0), (3, 1.0)]
    assert [grams for _, grams in cut] == pytest.approx([2.0, 2.0])


def test_a_jar_holds_eight_million_a_litre() -> None:
    """4 million in half a litre; 4.1 million want two of them."""
    for nauplii, millilitres in ((1e6, 500), (4e6, 500), (4.1e6, 1000), (8.1e6, 1500)):
        plan = _plan(_batch(0, nauplii=nauplii))
        plan.portions = [(Portion(0, 10, nauplii * 0.5),), (Portion(0, 10, nauplii * 0.4),)]
        assert jar_ml(ROOM, plan, 0) == millilitres
        assert jar_ml(ROOM, evolve(plan, portions=[]), 0) is None  # of which nobody eats
    half = _plan(_batch(0, nauplii=4.1e6, share=0.5, held=True))
    assert jar_ml(ROOM, half, 0) == pytest.approx(1500 * 0.5)  # 8.2 million were harvested
    us = evolve(ROOM, units="us")
    pint = evolve(plan, batches=[_batch(0, nauplii=1e6)])
    assert jar_ml(us, pint, 0) == pytest.approx(473.176473)
    assert jar_ml(ROOM, _plan(_batch(0, nauplii=0.0)), 0) is None
    # It was made up to half a litre, and is that in any units.
    stands = evolve(_batch(0, nauplii=1e6, held=True), share=0.5, jar_ml=500.0)
    assert jar_ml(us, _plan(stands), 0) == 250.0


@pytest.mark.parametrize(("part", "kept"), [(0.98, False), (0.96, True)])
def test_no_jar_where_one_round_takes_it_all(part: float, kept: bool) -> None:
    plan = _plan(_batch(0, nauplii=1000.0))
    plan.portions = [(Portion(0, 10, 1000 * part),)]
    assert (jar_ml(ROOM, plan, 0) is not None) is kept
    held = _plan(_batch(0, nauplii=1000.0, held=True))
    held.portions = plan.portions
    assert jar_ml(ROOM, held, 0) is not None  # it stands in its jar already


def test_rounds_are_fed_from_the_oldest_harvest() -> None:
    holding = COLD.holding
    first, second = _batch(0), _batch(1)
    plan = _plan(first, second)
    feed(plan, FEEDINGS[:3], [40, 80, 500], holding)
    left = [holding.share(b.harvest_h, f.at_h) for b, f in
            ((first, FEEDINGS[0]), (first, FEEDINGS[1]), (second, FEEDINGS[1]))]  # fmt: skip
    assert [p.batch for row in plan.portions for p in row] == [0, 0, 1, 1]
    assert plan.given_j[:2] == pytest.approx([40, 80])
    used = 40 / (100 * left[0])
    rest = (1 - used) * 100 * left[1]
    assert plan.portions[1][0].energy_j == pytest.approx(rest)
    assert plan.portions[1][1].energy_j == pytest.approx(80 - rest)
    alive = holding.alive(first.harvest_h, FEEDINGS[0].at_h)
    assert plan.portions[0][0].nauplii == pytest.approx(1000 * alive * used)
    over = (1 - (80 - rest) / (100 * left[2])) * 100
    last = over * holding.share(second.harvest_h, FEEDINGS[2].at_h)
    assert plan.given_j[2] == pytest.approx(last)
    assert plan.short_j == pytest.approx([0, 0, 500 - last])
    assert plan.share_met() == 0  # without options it says nothing of what comes after
    planned = evolve(plan, problem=evolve(_NOTHING, options=(_lot(0, 1.0).option,)))
    assert planned.share_met() == pytest.approx((120 + last) / 620)
    assert evolve(planned, tin_short=[(0.0, 1.0)]).share_met() == 0
    # What lacked before a parcel says nothing of what comes after it.
    come = evolve(planned, parcels=((5.0, 9.0),), tin_short=[(0.0, 1.0)])
    assert come.share_met() == pytest.approx((120 + last) / 620)
    assert evolve(come, tin_short=[(5.0, 1.0)]).share_met() == 0
    longer = planned.padded(5)
    assert (longer.given_j[3:], longer.short_j[3:]) == ([0, 0], [0, 0])
    assert longer.portions[3:] == [(), ()]


def test_a_harvest_too_old_is_not_fed() -> None:
    """It keeps for 12 h, and a round that begins within an hour of their end is still fed."""
    holding = _kept(12)
    for harvest, given in ((FEEDINGS[2].at_h - 13, True), (FEEDINGS[2].at_h - 13.01, False)):
        plan = _plan(_batch(1, harvest=harvest))
        feed(plan, FEEDINGS[:3], [0, 0, 10], holding)
        assert (plan.given_j[2] > 0) is given
    unfed = [evolve(FEEDINGS[0], fed=False)]
    plan = _plan(_batch(0))
    feed(plan, unfed, [10], holding)
    assert (plan.given_j, plan.short_j) == ([0], [0])


# --- chances


def _scene(need: float, want: dict[str, float], *, dry: float = 0.0, missing: float = 0.0,
           worms: tuple[str, ...] = (), spare: float = 0.0) -> Scene:  # fmt: skip
    """One round of one brood, with 60 J from one tray and a hatch of 100 J."""
    mouth = Mouth("b", need, missing, "worm" if missing else "", want, dry, worms)
    sources = {"worm": [Source(0, 60.0, spare)]}
    return Scene(0, _at(6), hours(_at(6)), sources, [(0, 0.5)], [mouth])


def _world(factor: float = 1.0, hatch: float = 100.0, *, gone: bool = False) -> World:
    spells = [(hours(_at(5)), hours(_at(7)))]
    return World({("worm", 0): factor}, {("worm", 0): spells if gone else []}, [hatch])


def _play(scene: Scene, world: World) -> tuple[float, str]:
    played = play(scene, world)
    return played.missing_j, played.food


def test_a_round_is_played_by_hand() -> None:
    worms = _scene(100, {"worm": 60})
    assert _play(worms, _world()) == (0.0, "")
    assert _play(worms, _world(0.5)) == pytest.approx((30, "worm"))
    assert _play(worms, _world(0.95)) == (0.0, "")  # 3 of 100 are no shortage
    assert _play(worms, _world(0.94)) == pytest.approx((3.6, "worm"))
    assert _play(worms, _world(gone=True)) == pytest.approx((60, "worm"))
    assert _play(_scene(100, {"worm": 60}, spare=60), _world(0.5)) == (0.0, "")
    assert _play(_scene(100, {"worm": 60}, dry=20), _world(0.5)) == pytest.approx((10, "worm"))
    # Missing in the plan already, on top of what luck takes.
    assert _play(_scene(100, {"worm": 60}, missing=10), _world()) == pytest.approx((10, "worm"))
    got, _ = _play(_scene(100, {"worm": 60}, missing=10), _world(0.5))
    assert got == pytest.approx(40)


def test_what_is_not_known_changes_a_round_by_hand() -> None:
    """60 J of worms for a need of 100 J that the plan rounds to 60."""

    def fed(world: World, want: float, scene: Scene | None = None) -> tuple[float, float]:
        missing, _, (share,) = play(scene or _scene(60, {"worm": 60}), world, [want])
        return missing, share

    assert fed(_world(), 1.0) == (0, 1)
    assert fed(_world(), 1.5) == pytest.approx((30, 60 / 90))  # it wants 90 J and gets 60
    assert fed(_world(), 0.5) == (0, 1)
    small, poor = evolve(_world(), portion={"worm": 0.6}), evolve(_world(), level={"worm": 0.6})
    # Swipes that hold less than is thought: nobody sees it, so that dry food does not step in.
    assert fed(small, 1.0) == pytest.approx((24, 0.6))
    assert fed(small, 1.0, _scene(60, {"worm": 60}, dry=60)) == pytest.approx((24, 0.6))
    assert fed(poor, 1.0) == pytest.approx((24, 0.6))
    assert fed(poor, 1.0, _scene(60, {"worm": 60}, dry=60)) == (0, 1)
    assert fed(evolve(_world(), portion={"worm": 3.0}), 1.5) == pytest.approx((30, 60 / 90))


def test_a_hatch_is_used_up_as_it_is_fed() -> None:
    """Half of its energy is left by then: 40 J take 80 of 100; 20 are left, which give 10."""
    scene, world = _scene(100, {"brine_shrimp": 40}), _world()
    assert _play(scene, world) == (0.0, "")
    assert world.hatches == pytest.approx([20])
    assert _play(scene, world) == pytest.approx((30, "brine_shrimp"))
    assert world.hatches == [0]
    # Spare worms fill in where the mouth takes them: 60 J.
    assert _play(_scene(100, {"brine_shrimp": 40}, worms=("worm",)), _world(hatch=0))[0] == 0
    large = _scene(100, {"brine_shrimp": 90}, worms=("worm",))
    assert _play(large, _world(hatch=0))[0] == pytest.approx(30)


def test_a_culture_is_gone_from_its_crash_until_the_next_is_ripe() -> None:
    spells = [(10.0, 20.0), (50.0, 60.0)]
    got = [_gone_until(spells, t) > t for t in (9.9, 10, 19.9, 20, 49, 50, 60)]
    assert got == [False, True, True, False, False, True, False]
    assert _gone_until([], 5) == 5
    assert _gone_until(spells, 12) == 20


def test_a_spread_on_a_logarithm() -> None:
    assert sigma(0.5) == pytest.approx(math.sqrt(math.log(1.25)))
    assert sigma(0) == 0


def _risk(moment: datetime, probability: float, food: str = "worm") -> RoundRisk:
    return RoundRisk(moment, probability, 0.01, 1.0, food, 1.0)


def _short(first: datetime, last: datetime) -> Shortfall:
    return Shortfall(at=first, until=last, rounds=1, food="worm", need_j=1.0, short_j=1.0,
                     tanks=(), cause="")  # fmt: skip


def test_thin_margins_from_a_fifth_on() -> None:
    risks = [
        _risk(_at(5), 0.2), _risk(_at(6), 0.3), _risk(_at(7, 8, 31), 0.3),
        _risk(_at(7, 20), 0.19), _risk(_at(7, 21), 0.5, "eel"), _risk(_at(9), 0.9),
    ]  # fmt: skip
    spells = thin_spells(risks, [_short(_at(9), _at(9))], [])
    # A day and half an hour still is one spell; more, another food, or a shortfall is not.
    assert [[r.at for r in s] for s in spells] == [[_at(5), _at(6)], [_at(7, 8, 31)], [_at(7, 21)]]
    (same,) = thin_spells([_risk(_at(5), 0.5), _risk(_at(6, 8, 30), 0.5)], [], [])
    assert len(same) == 2


def test_a_shortfall_is_as_likely_as_its_worst_round() -> None:
    risks = [_risk(_at(5), 0.9), _risk(_at(6), 0.3), _risk(_at(7), 0.5), _risk(_at(8), 0.8)]
    got = with_probability([_short(_at(6), _at(7)), _short(_at(10), _at(11))], risks)
    assert [s.probability for s in got] == [0.5, 1.0]


# --- water, days, names


def _line(day: int, given: float) -> FeedLine:
    return FeedLine(at=_at(day), tank="A", brood="b", food="dry", need_j=given, given_j=given,
                    amount=1.0, unit="g")  # fmt: skip


def test_water_is_warned_of_on_the_first_day_of_a_run() -> None:
    """1 kJ of crumble in 2 L brings 1.53 mg/L, of which 1.77 % is un-ionised at 25 °C, pH 7.5."""
    found = water_warnings(ROOM, [_line(d, 1000) for d in (5, 6, 7, 9)])
    assert [w.day.day for w in found] == [5, 9]
    assert found[0].load.ammonia_mg_per_l == pytest.approx(1000 / 13500 * 41.4 / 2)
    assert water_warnings(ROOM, [_line(5, 500)]) == []  # 0.0136 of the limit's 0.02 mg/L
    assert len(water_warnings(ROOM, [_line(5, 500), _line(5, 500)])) == 1  # together as much


def test_a_room_by_the_month_and_in_a_cold_spell() -> None:
    room = evolve(ROOM, temperatures_c=tuple(float(10 + m) for m in range(12)))
    assert [room.room_temperature_c(date(2027, m, 15)) for m in (1, 7, 12)] == [10, 16, 21]
    series = room.series(None, date(2027, 1, 20), date(2027, 3, 2))
    assert series.values_c == (10, 11, 12)
    assert series.at(hours(datetime(2027, 2, 1, tzinfo=room.timezone))) == 11
    assert room.series(18.0, date(2027, 1, 1), date(2027, 2, 1)).values_c == (18,)
    cold = evolve(room, spells=(Spell(hours(_at(6, 0)), hours(_at(7, 12)), 3.0),))
    got = [cold.room_temperature_c(date(2027, 1, d)) for d in (5, 6, 7)]
    assert got == [10, 3, 10]  # over at noon of the 7th


def test_who_is_away() -> None:
    room = evolve(ROOM, away=(Away(date(2027, 1, 6), date(2027, 1, 7), helper=True),))
    got = [room.away_on(date(2027, 1, d)) is not None for d in (5, 6, 7, 8)]
    assert got == [False, True, True, False]
    rounds = rounds_between(room, _at(5, 0), _at(7, 0))
    assert [(r.fed, r.keeper) for r in rounds] == [(True, True)] * 2 + [(True, False)] * 2


def test_names_in_the_order_of_their_numbers() -> None:
    names = ["MW-10", "MW-9", "MW", "GW-11", "MW-9b"]
    assert sorted(names, key=natural) == ["GW-11", "MW", "MW-9", "MW-9b", "MW-10"]


def test_days_and_times_as_they_are_said() -> None:
    now = _at(5, 12)
    assert spoken_moment("7:50", now) == _at(5, 7, 50)
    assert spoken_moment("23:59", now) == _at(5, 23, 59)
    assert spoken_moment("yesterday", now) == _at(4, 12)
    assert spoken_moment("yesterday at 18:30", now) == _at(4, 18, 30)
    assert spoken_moment("now", now) == now
    assert spoken_moment("24:00", now) is spoken_moment("7:60", now) is None
    assert spoken_moment("", now) is spoken_moment("tomorrow", now) is None
    today = date(2027, 1, 5)
    assert spoken_day(date(2026, 12, 20), today) == "Sun 20 Dec"
    # Another year, and more than sixty days off.
    assert spoken_day(today - timedelta(days=60), today) == "Fri 6 Nov"
    assert spoken_day(today - timedelta(days=61), today) == "Thu 5 Nov 2026"
    assert spoken_day(date(2027, 12, 20), today) == "Mon 20 Dec"


def test_cysts_are_wanting_from_a_day_before_a_round_that_a_new_hatch_could_serve() -> None:
    """Both bottles are taken until the 6th: one is set at 08:00, and the first round more than a
    day later, the 7th at 20:00, is short. What is short before is short for want of a bottle.
    """
    tin = evolve(ROOM.cysts, grams=1.0) if ROOM.cysts else None
    stand = tuple(RunningHatch(name, _at(5, 6), 0.2) for name in ("one", "two"))
    room = evolve(ROOM, cysts=tin, hatches=stand)
    plan = plan_hatches(room, FEEDINGS, [2000.0] * len(FEEDINGS), start=_at(5, 7))
    new = [batch for batch in plan.batches if not batch.standing]
    assert min(batch.set_h for batch in new) == pytest.approx(hours(_at(6)))
    assert all(short > 0.0 for short in plan.short_j)
    assert plan.rationed[0][0] == pytest.approx(hours(_at(6, 20)))
    # Where they are free one is set at 08:00, and the round of the next evening is short.
    free = plan_hatches(evolve(room, hatches=()), FEEDINGS, [2000.0] * len(FEEDINGS),
                        start=_at(5, 7))  # fmt: skip
    assert free.rationed[0][0] == pytest.approx(hours(_at(5, 20)))


def test_hatches_before_a_parcel_live_on_the_tin_and_those_after_on_what_comes() -> None:
    """1 g until the end of the 7th, then 400 g: what a full tin gives from two days on is given."""
    tin = evolve(ROOM.cysts, grams=1.0) if ROOM.cysts else None
    order = Order("cysts", 400.0, 400.0, date(2027, 1, 5), date(2027, 1, 7))
    room, there_h = evolve(ROOM, cysts=tin, orders=(order,)), hours(_at(8, 0))
    feedings = rounds_between(ROOM, _at(5, 0), _at(5, 0) + timedelta(days=14))
    wanted = [2000.0] * len(feedings)
    plan = plan_hatches(room, feedings, wanted, start=_at(5, 7))
    early = [b.cysts_g for b in plan.batches if b.set_h < there_h]
    assert 0.0 < sum(early) <= 1.0 + 1e-9
    assert plan.rationed
    assert all(at_h < there_h for at_h, _ in plan.tin_short)
    full = plan_hatches(evolve(room, cysts=evolve(tin, grams=400.0), orders=()) if tin else room,
                        feedings, wanted, start=_at(5, 7))  # fmt: skip
    settled = [r.index for r in feedings if r.at_h >= there_h + 48.0]
    assert settled
    assert all(plan.given_j[i] >= 0.97 * full.given_j[i] for i in settled)
    # Rounds before are short for want of cysts; a day after it is there they are not any more.
    by_h = [r.at_h - 0.5 for r in feedings]
    assert [plan.lacks_cysts(at_h) for at_h in by_h] == [at_h < there_h + 24.0 for at_h in by_h]
    # An order for a day that is over is none.
    late = evolve(room, orders=(evolve(order, late=True),))
    alone = plan_hatches(evolve(room, orders=()), feedings, wanted, start=_at(5, 7))
    found = plan_hatches(late, feedings, wanted, start=_at(5, 7))
    sets = [[(b.set_h, b.cysts_g) for b in each.batches] for each in (found, alone)]
    assert sets[0] == sets[1]


@pytest.mark.parametrize(("oldest", "prices"), [((0, 0, 0), [1, 2, 4]), ((0, 1, 2), [1, 4, 1])])
def test_where_a_gram_brings_less_a_joule_is_dearer(
    oldest: tuple[int, ...], prices: list[int]
) -> None:
    """A gram brings 8 J to the first round, or 2 J to the second; half is left a round later.

    So the first hatch brings 4 J to the second and 2 J to the third round, more than the second
    does, as long as it may be kept. To whom no gram comes, the price stays.
    """
    options = (Option(0, 0, 0.0, 24.0, 8.0, 9.0), Option(0, 1, 0.0, 24.0, 2.0, 9.0))
    problem = LotProblem((1.0,) * 3, (0.5,) * 2, oldest, options, 1.0, 1.0, (1.0,) * 3)
    found = _by_gram(problem, [[(5.0, 3.0, 1.0)]] * 3)
    assert found == [[(5.0, 3.0, float(price))] for price in prices]
