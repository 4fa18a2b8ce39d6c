"""The search for batches by hand: which label makes which needless, what is tried at a round.

As in test_lots_by_hand: half of what is held is left a round later, a gram costs 1, a setting 3.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from attrs import evolve

from cultures.planning import lot_chains
from cultures.planning.lot_chains import _Chains, _dropped, improved, sketched
from cultures.planning.lot_choices import choices_of
from cultures.planning.lot_search import Search, _keep, _Label, _serve, _wants_no_more
from cultures.planning.lot_sizing import first, solve
from cultures.planning.lots import Lot, Option, priced
from tests.unit.noting import noting
from tests.unit.test_lots_by_hand import _at, _problem

_near: Any = pytest.approx


def _label(cost: float, *wants: tuple[int, float], free: tuple[int, ...] = (0,)) -> _Label:
    return _Label(0, cost, wants, sum(amount for _, amount in wants), free)


# --- labels


def test_who_wants_no_more_by_every_deadline() -> None:
    """What is wanted at a later round can wait less; where the one wants no more in all."""
    mine = _label(0.0, (3, 2.0), (1, 4.0))
    for theirs, no_more in (
        (_label(0.0, (3, 2.0), (1, 4.0)), True),
        (_label(0.0, (3, 1.9), (1, 4.1)), False),  # less of what cannot wait
        (_label(0.0, (3, 2.1), (1, 3.9)), True),
        (_label(0.0, (1, 9.0)), False), (_label(0.0, (3, 9.0)), True),
        (_label(0.0, (2, 6.0)), False),
        (_label(0.0, (4, 1.0), (3, 5.0)), True),
    ):  # fmt: skip
        assert _wants_no_more(mine, theirs) is no_more, theirs.wants
    nothing = _label(0.0)
    assert _wants_no_more(nothing, mine)
    assert _wants_no_more(nothing, nothing)
    one, two = _label(0.0, (1, 5.0)), _label(0.0, (1, 5.0 + 1e-9))
    assert _wants_no_more(one, two)
    near = _label(0.0, (1, 5.0 + 1e-13))  # the same but for rounding
    assert _wants_no_more(near, one)


def test_a_label_that_costs_and_wants_no_more_makes_another_needless() -> None:
    cheap, dear, other = _label(3.0, (1, 4.0)), _label(4.0, (1, 4.0)), _label(5.0, (1, 1.0))
    group: list[_Label] = []
    again = _label(3.0, (1, 4.0))
    for label, left in (
        (dear, [dear]), (other, [dear, other]), (cheap, [other, cheap]), (dear, [other, cheap]),
        (again, [other, cheap]),
    ):  # fmt: skip
        _keep(group, label)
        assert group == left
    more = _label(2.0, (1, 4.0 + 1e-9))  # cheaper than any, and wants more in all than one
    _keep(group, more)
    assert group == [other, cheap, more]
    best = _label(1.0)
    _keep(group, best)
    assert group == [best]


# --- one step back


def _search(
    *options: Option, demand: tuple[float, ...] = (4.0, 10.0, 5.0), **changes: Any
) -> Search:
    return Search(_problem(demand, *options, **changes))


def test_what_nobody_can_reach_any_more_is_short() -> None:
    """At the second round; 8 J of round 0 are 2 J of the third, at 10 each."""
    search = _search(_at(1, 9.0), oldest=(0, 0, 1))
    label = _label(7.0, free=(2,))
    wants = ((2, 8.0), (1, 6.0), (0, 4.0))
    found = search._closed(label, 1, search._rest(wants, 1), 1.0, (), (0,))
    assert (found.cost, found.wants, found.total) == (7.0 + 1.0 + 20.0, ((1, 6.0), (0, 4.0)), 10.0)
    assert (found.free, found.parent) == ((0,), label)
    served = search._closed(label, 1, search._rest(_serve(wants, 9.0), 1), 1.0, (), (0,))
    assert (served.cost, served.wants) == (8.0, ((1, 5.0), (0, 4.0)))
    last = search._closed(label, 0, search._rest(((1, 6.0), (0, 4.0)), 0), 0.0, (), (0,))
    assert last.cost == pytest.approx(7.0 + 3.0 * 10 + 4.0 * 10)
    option = _at(1, 9.0, stays=(0.0, 1.0))
    chosen = _search(option, _at(0, 9.0, stays=(-9.0, -1.0))).choices
    assert chosen.after((0,), chosen.choice((option,), 1)) == (0,)
    busy = _search(option, _at(0, 9.0, stays=(-9.0, 0.5))).choices
    assert busy.after((0,), busy.choice((option,), 1)) == (-1,)


def test_all_that_is_wanted_is_made_or_less_where_it_is_cheaper_before() -> None:
    """Of 6 and 4 J: all; without what comes anyway; or for the latest alone where an earlier batch
    brings more of a gram.
    """
    plain = _search(*(_at(i, 9.0) for i in range(3)))
    wants = ((2, 6.0), (1, 4.0))
    assert plain._targets(wants, 10.0, 2) == [10.0]
    comes = _search(
        *(_at(i, 9.0) for i in range(3)), demand=(0.0, 0.0, 5.0), supply=(3.0, 0.0, 0.0)
    )
    assert comes._targets(wants, 10.0, 2) == [10.0, 7.0]
    much = _search(
        *(_at(i, 9.0) for i in range(3)), demand=(0.0, 0.0, 5.0), supply=(30.0, 0.0, 0.0)
    )
    assert much._targets(wants, 10.0, 2) == [10.0]
    late = evolve(much.p, oldest=(0, 1, 1))
    assert Search(late)._targets(wants, 10.0, 2) == [10.0]
    better = _search(_at(0, 9.0, energy=50.0), _at(1, 9.0), _at(2, 9.0))
    # 50 J a gram in the first round, 5 in the third, which are 20 of the first.
    assert better._targets(wants, 10.0, 2) == [10.0, 6.0]
    old = _search(_at(0, 9.0, energy=50.0), _at(1, 9.0), _at(2, 9.0), oldest=(0, 1, 1))
    assert old._targets(wants, 10.0, 2) == [10.0]


def _extended(search: Search, label: _Label) -> list[_Label]:
    return search._extend(label, 2, search.choices.ways(label.free, 2))


def test_a_round_is_left_or_made_for_in_full_and_as_much_as_a_vessel_holds() -> None:
    """5 J at the third round are 20 of the first: a gram brings 20, so that it takes 1 g."""
    option = _at(2, 9.0, effort=1.5)
    search = _search(option, demand=(0.0, 0.0, 5.0))
    start = _Label(3, 2.0, (), 0.0, (2,))
    without, made = _extended(search, start)
    assert (without.made, without.wants) == ((), ((2, _near(20.0)),))
    assert made.made == ((option, _near(1.0)),)
    assert made.wants == ()
    # A vessel that is free is so for the round before, so that labels that differ beyond it meet.
    assert (without.free, made.free) == ((1,), (-1,))
    assert made.cost == _near(2.0 + 3.0 * 1.5 + 1.0)
    small = _search(_at(2, 0.25), demand=(0.0, 0.0, 5.0))
    _, part = _extended(small, start)
    assert part.wants == ((2, _near(15.0)),)
    none = _search(option, demand=(0.0, 5.0, 0.0))
    assert [label.made for label in _extended(none, start)] == [()]
    comes = _search(option, demand=(0.0, 0.0, 5.0), supply=(0.0, 0.0, 2.0))
    left, fed = _extended(comes, start)
    assert left.wants == ((2, _near(12.0)),)
    assert fed.made[0][1] == _near(0.6)
    busy = _Label(3, 2.0, (), 0.0, (1,))
    assert [label.made for label in _extended(search, busy)] == [()]


def test_a_bound_is_what_the_rounds_before_and_what_is_wanted_cost_at_least() -> None:
    search = _search(_at(0, 9.0), _at(1, 9.0), oldest=(0, 0, 2))
    # Two rounds cost 7.8 at least; 5 J of round 0 a tenth each.
    assert search._bound(_label(2.0, (1, 5.0)), 2) == pytest.approx(2.0 + 7.8 + 0.5)
    assert search._bound(_label(2.0), 2) == pytest.approx(9.8)
    comes = _search(_at(0, 9.0), _at(1, 9.0), demand=(0.0, 0.0, 0.0), supply=(3.0, 0.0, 0.0))
    assert comes._bound(_label(2.0, (1, 5.0)), 1) == pytest.approx(2.0 + 2.0 * 0.2)
    assert comes._bound(_label(2.0, (1, 3.0)), 1) == 2.0


def test_of_twin_vessels_the_first_are_taken_and_three_batches_at_most() -> None:
    alike = [_at(1, 9.0, vessel=v) for v in range(4)]
    search = _search(*alike, demand=(1.0, 1.0)).choices
    assert [len(chosen.steps) for chosen in search.choices((1,) * 4, 1)] == [1, 2, 3]
    assert [o.vessel for o, _, _ in search.choices((1,) * 4, 1)[2].steps] == [0, 1, 2]
    assert [len(chosen.steps) for chosen in search.choices((1, 1, 0, 0), 1)] == [1, 2]
    assert search.choices((0,) * 4, 1) == []
    two = [_at(1, 9.0, vessel=0), _at(1, 8.0, vessel=1)]
    unlike = _search(*two, demand=(1.0, 1.0)).choices
    found = {frozenset(o for o, _, _ in each.steps) for each in unlike.choices((1, 1), 1)}
    assert found == {frozenset(two[:1]), frozenset(two[1:]), frozenset(two)}


def test_what_can_be_set_together_is_worked_out_once_for_all_that_is_wanted_of_it() -> None:
    """A tin that is shared out asks for one share of all wants after the other."""
    options = [_at(1, 9.0, vessel=0), _at(2, 8.0, vessel=1)]
    problem = _problem((4.0, 10.0, 5.0), *options)
    known = choices_of(problem)
    less = evolve(problem, demand=(1.0, 2.5, 1.25), short_cost=(9.0,) * 3, gram_cost=2.0)
    assert choices_of(less) is known
    assert choices_of(evolve(problem, options=(options[0],))) is not known
    assert choices_of(evolve(problem, setup_cost=4.0)) is not known
    assert choices_of(evolve(problem, decay=(0.5, 0.4))) is not known


def test_twins_are_told_apart_by_when_they_are_free() -> None:
    alike = [_at(1, 9.0, vessel=v, stays=(0.0, 12.0)) for v in (0, 1, 3)]
    other = _at(1, 8.0, vessel=2, stays=(0.0, 12.0))
    search = _search(*alike, other, demand=(1.0, 1.0)).choices
    assert search.twins == [0, 0, 2, 0]
    assert search.twins_in_order((3, 5, 7, 4)) == (5, 4, 7, 3)


def test_the_harvest_before_a_setting_is_the_last_that_leaves_its_vessel_free() -> None:
    """Each takes ten hours; the third begins to the minute when the first is drawn off."""
    begin = (0.0, 5.0, 10.0, 22.0)
    options = [_at(at, 9.0, stays=(h, h + 10.0)) for at, h in enumerate(begin)]
    search = _search(*options, demand=(1.0,) * 4)
    assert [search.choices.before[option] for option in options] == [-1, -1, 0, 2]


def test_each_batch_of_twins_has_a_vessel_that_is_free() -> None:
    """Two at once, and a third when the first is clean again, to the minute."""

    def batch(vessel: int, at: int, start_h: float) -> Option:
        return _at(at, 9.0, vessel=vessel, stays=(start_h, start_h + 10.0))

    options = [batch(v, at, start) for v in (0, 1) for at, start in ((0, 0.0), (1, 4.0), (2, 10.0))]
    search = _search(*options)
    assert search.choices.twins == [0, 0]
    lots = [Lot(batch(0, at, start), 1.0 + at) for at, start in ((0, 0.0), (1, 4.0), (2, 10.0))]
    named = [(lot.option.at_index, lot.option.vessel, lot.grams) for lot in search._named(lots)]
    assert named == [(0, 0, 1.0), (1, 1, 2.0), (2, 0, 3.0)]
    alone = _search(options[0], options[2])
    assert [lot.option.at_index for lot in alone._named([lots[2], lots[0]])] == [0, 2]


def test_batches_of_twins_are_given_the_first_that_is_free() -> None:
    def batch(vessel: int, at: int, start_h: float) -> Option:
        return _at(at, 9.0, vessel=vessel, stays=(start_h, start_h + 10.0))

    rounds = ((0, 0.0), (1, 8.0), (2, 12.0))
    search = _search(*(batch(v, at, start) for v in (0, 1) for at, start in rounds))
    lots = [Lot(batch(1, at, start), 1.0) for at, start in rounds]
    assert search.choices.twins == [0, 0]
    assert [lot.option.vessel for lot in search._named(lots)] == [0, 1, 0]


# --- the whole search


def test_the_cheapest_of_a_few_batches_is_found() -> None:
    """10 J at the second round: 2 g then cost 5, 4 g a round before 7; 100 if nobody has any. With
    both rounds wanting, one batch for both costs 3 + 0.8 + 4, and two of them 3.8 + 5.
    """
    for demand, cost, at in (
        ((0.0, 10.0), 5.0, [1]),
        ((4.0, 10.0), 7.8, [0]),
        ((4.0, 0.0), 3.8, [0]),
    ):
        search = _search(_at(0, 9.0), _at(1, 9.0), demand=demand)
        best = search.run(50, 1e9)
        assert best is not None
        plan = search.plan_of(best, best.cost)
        assert [lot.option.at_index for lot in plan.lots] == at
        assert plan.cost == pytest.approx(cost)
        assert best.cost == pytest.approx(cost)
        assert not search.cut
        # Where a plan that costs less is known there is nothing to be found.
        assert search.run(50, cost - 0.01) is None
        assert search.run(50, cost + 0.01) is not None


def test_labels_are_dropped_for_want_of_room_the_dearest_first() -> None:
    options = [_at(i, 2.0 + 0.1 * i, stays=(10.0 * i, 10.0 * i + 9.0)) for i in range(5)]
    wide = _search(*options, demand=(7.0, 3.0, 8.0, 2.0, 6.0))
    best = wide.run(500, 1e9)
    narrow = _search(*options, demand=(7.0, 3.0, 8.0, 2.0, 6.0))
    found = narrow.run(1, 1e9)
    assert best is not None
    assert found is not None
    assert narrow.cut
    assert found.cost >= best.cost - 1e-9
    assert wide.lower[-1] <= best.cost + 1e-9


# --- what is given up and filled again


def test_a_batch_without_which_it_costs_less_is_dropped() -> None:
    """4 J each: a batch a round costs 3.8 each, the first for both 5.4; a full one stays."""
    early, late = _at(0, 9.0), _at(1, 9.0)
    problem = _problem((4.0, 4.0), early, late)
    both = priced(problem, [Lot(early, 0.8), Lot(late, 0.8)], 0.0)
    assert both.cost == pytest.approx(7.6)
    left = _dropped(problem, both)
    assert [(lot.option, lot.grams) for lot in left.lots] == [(early, _near(2.4))]
    assert left.cost == _near(5.4)
    small = _at(1, 0.8)
    full = _problem((4.0, 4.0), _at(0, 0.8), small)
    kept = _dropped(full, priced(full, [Lot(full.options[0], 0.8), Lot(small, 0.8)], 0.0))
    assert len(kept.lots) == 2
    dear = _problem((4.0, 0.4), early, late)  # 3 for a setting, and 4 J short cost 4 x 10
    alone = _dropped(dear, priced(dear, [Lot(early, 0.8)], 0.0))
    assert len(alone.lots) == 1


def test_the_batches_of_some_rounds_are_chosen_anew_beside_those_that_stay() -> None:
    """Of one vessel that is taken for ten hours each time, from round to round twelve."""
    options = [_at(i, 9.0, stays=(12.0 * i - 10.0, 12.0 * i)) for i in range(5)]
    problem = _problem((0.0, 4.0, 4.0, 4.0, 4.0), *options, oldest=tuple(range(5)))
    chains = _Chains(problem)
    kept = [Lot(options[1], 0.8), Lot(options[4], 0.8)]
    for low, high, at in ((2, 3, [1, 2, 3, 4]), (2, 2, [1, 2, 4]), (1, 4, [1, 2, 3, 4])):
        found = chains.anew(kept, low, high, [0], paid=False)
        assert [lot.option.at_index for lot in found] == at
        assert all(lot.grams == pytest.approx(0.8) for lot in found)
    # What stays too long for those beside it cannot be had.
    long = [*options[:2], _at(2, 9.0, stays=(11.0, 24.0)), options[3], options[4]]
    busy = evolve(problem, options=tuple(long))
    assert [lot.option.at_index for lot in _Chains(busy).anew(kept, 2, 2, [0], paid=False)] == [
        1,
        4,
    ]
    for ends_h, at in ((38.0, [1, 2, 4]), (38.1, [1, 4])):  # the last one is set at 38 h
        later = [*options[:2], _at(2, 9.0, stays=(12.0, ends_h)), *options[3:]]
        after = _Chains(evolve(problem, options=tuple(later)))
        assert [x.option.at_index for x in after.anew(kept, 2, 2, [0], paid=False)] == at


def test_a_plan_is_never_made_worse() -> None:
    options = [_at(i, 3.0, vessel=v, stays=(12.0 * i - 20.0 - v, 12.0 * i - v))
               for i in range(6) for v in (0, 1)]  # fmt: skip
    problem = _problem((5.0, 9.0, 2.0, 14.0, 3.0, 7.0), *options, oldest=(0, 0, 1, 2, 3, 4))
    sketch = sketched(problem, 0.0)
    better = improved(problem, sketch)
    assert better.cost <= sketch.cost
    found = solve(problem)
    assert found.cost <= better.cost * (1 + 1e-9)
    assert found.bound <= found.cost
    assert found.cost == pytest.approx(priced(problem, found.lots, 0.0).cost)
    for vessel in (0, 1):
        mine = sorted((x.option.start_h, x.option.end_h) for x in found.lots
                      if x.option.vessel == vessel)  # fmt: skip
        assert all(end <= start + 1e-9 for (_, end), (start, _) in pairwise(mine))


@pytest.mark.parametrize(("vessels", "tries"), [(1, 30), (2, 60), (6, 180), (8, 180)])
def test_a_plan_that_is_the_best_is_left_after_thirty_tries_in_vain_for_each_of_six_vessels(
    monkeypatch: pytest.MonkeyPatch, vessels: int, tries: int
) -> None:
    problem = _problem((4.0,), *[_at(0, 9.0, vessel=v) for v in range(vessels)])
    best = sketched(problem, 0.0)
    asked: list[Any] = []
    monkeypatch.setattr(lot_chains, "priced", noting(asked, best))
    assert improved(problem, best) is best
    assert len(asked) == tries


def test_what_is_in_vain_is_counted_anew_once_a_plan_gets_better(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One vessel: better at the third try, and thirty in vain after it."""
    problem = _problem((4.0,), _at(0, 9.0))
    begun, asked = sketched(problem, 0.0), list[Any]()
    better = evolve(begun, cost=begun.cost * 0.9)

    def found(*args: Any) -> Any:
        asked.append(args)
        return better if len(asked) >= 3 else begun

    monkeypatch.setattr(lot_chains, "priced", found)
    monkeypatch.setattr(lot_chains, "_dropped", lambda _, plan: plan)
    assert improved(problem, begun) is better
    assert len(asked) == 33


@pytest.mark.parametrize(("vessels", "tries"), [(1, 70), (2, 100), (6, 220), (8, 220)])
def test_a_plan_that_gets_better_each_time_is_left_after_forty_tries_and_thirty_a_vessel(
    monkeypatch: pytest.MonkeyPatch, vessels: int, tries: int
) -> None:
    problem = _problem((4.0,), *[_at(0, 9.0, vessel=v) for v in range(vessels)])
    begun, asked = sketched(problem, 0.0), list[Any]()

    def better(*args: Any) -> Any:
        asked.append(args)
        return evolve(begun, cost=begun.cost * 0.9 ** len(asked))

    monkeypatch.setattr(lot_chains, "priced", better)
    monkeypatch.setattr(lot_chains, "_dropped", lambda _, plan: plan)
    assert improved(problem, begun).cost == _near(begun.cost * 0.9**tries)
    assert len(asked) == tries


@pytest.mark.parametrize(("vessels", "labels"), [(1, 24), (3, 24), (4, 12), (5, 8), (6, 6)])
def test_of_more_vessels_fewer_labels_are_kept(
    monkeypatch: pytest.MonkeyPatch, vessels: int, labels: int
) -> None:
    """Each takes longer with every vessel past the second."""
    widths: list[int] = []

    monkeypatch.setattr(Search, "run", lambda _, width, __: widths.append(width))
    first.__wrapped__(_problem((4.0, 5.0), *[_at(1, 9.0, vessel=v) for v in range(vessels)]))
    assert widths == [labels]


def test_a_gram_that_brings_little_is_set_where_that_is_worth_it() -> None:
    """9 J at half a joule a gram are 18 g; a joule is worth 10 here and costs 2 and a setting."""
    poor = _problem((9.0,), _at(0, 40.0, energy=0.5))
    assert [lot.grams for lot in sketched(poor, 0.0).lots] == [pytest.approx(18.0)]


def test_nothing_is_searched_for_where_nothing_is_planned_or_vessels_differ_much() -> None:
    nothing = _problem((), decay=(), oldest=(), short_cost=())
    plan, rough = first(nothing)
    assert (plan.lots, plan.cost, plan.proven, rough) == ((), 0.0, True, False)
    one, better = first(_problem((4.0, 4.0), _at(0, 9.0), _at(1, 9.0)))
    assert (one.cost, better) == (_near(5.4), False)
    unlike = [_at(1, 2.0 + v, vessel=v) for v in range(4)]
    many = _problem((0.0, 4.0), *unlike)
    found, _ = first(many)
    assert found.cost == _near(sketched(many, 0.0).cost)
