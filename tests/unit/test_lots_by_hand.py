"""Batches by hand: how many grams of each, what is open besides, what a chain of a vessel gains.

Everywhere half of what is held is left a round later, a gram costs 1, and a setting 3, if not said
otherwise.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from functools import partial
from itertools import combinations, pairwise
from typing import Any

import pytest
from attrs import evolve

from cultures.planning.lot_chains import _Chains
from cultures.planning.lot_choices import choices_of
from cultures.planning.lot_search import Search, _serve
from cultures.planning.lot_sizing import grams, shared
from cultures.planning.lots import (
    Lot,
    LotProblem,
    Option,
    Pantry,
    Piece,
    _nearly_room,
    _price,
    amounts,
    borne,
    course_of,
    hungry,
    in_told_vessels,
    open_pieces,
    priced,
)
from tests.oracle.random_lots import part_of


def _problem(demand: tuple[float, ...], *options: Option, **changes: Any) -> LotProblem:
    count = len(demand)
    usual: dict[str, Any] = {
        "demand": demand, "decay": (0.5,) * (count - 1), "oldest": (0,) * count,
        "options": options, "setup_cost": 3.0, "gram_cost": 1.0, "short_cost": (10.0,) * count,
    }  # fmt: skip
    return LotProblem(**{**usual, **changes})


def _at(index: int, most_g: float, *, vessel: int = 0, energy: float = 5.0, effort: float = 1.0,
        stays: tuple[float, float] = (0.0, 1.0)) -> Option:  # fmt: skip
    return Option(vessel, index, *stays, energy, most_g, effort)


def _grams(problem: LotProblem) -> list[tuple[int, float]]:
    return [(lot.option.at_index, round(lot.grams, 9)) for lot in amounts(problem, problem.options)]


# --- grams


def test_what_a_later_batch_does_not_hold_is_made_before_it() -> None:
    """Of 20 J the second batch holds 10; the rest is 20 J a round before, and 4 g."""
    assert _grams(_problem((0.0, 20.0), _at(0, 99.0), _at(1, 2.0))) == [(0, 4.0), (1, 2.0)]
    # Without limit the last one makes all of it, and one that is of no use is not set.
    assert _grams(_problem((0.0, 20.0), _at(0, 99.0), _at(1, 9.0))) == [(1, 4.0)]


def test_what_comes_anyway_is_for_the_latest_round_that_wants_it() -> None:
    """10 J of the second round are 20 of the first, which wants 6: less 8 J that come, 18 J."""
    assert _grams(_problem((6.0, 10.0), _at(0, 99.0), supply=(8.0, 0.0))) == [(0, 3.6)]
    # 30 J do for both, and 22 for all but 4.
    assert _grams(_problem((6.0, 10.0), _at(0, 99.0), supply=(30.0, 0.0))) == []
    assert _grams(_problem((6.0, 10.0), _at(0, 99.0), supply=(22.0, 0.0))) == [(0, 0.8)]


def test_nothing_is_made_for_a_round_that_may_not_be_fed_it_any_more() -> None:
    problem = _problem((6.0, 0.0, 10.0), _at(0, 99.0), oldest=(0, 0, 1))
    assert _grams(problem) == [(0, 1.2)]
    assert hungry(problem, [0.0, 0.0, 10.0]) == []
    assert hungry(problem, [1.0, 0.0, 10.0]) == [0]
    # What stands already reaches a round too, as it did before it was set.
    stands = _problem((6.0, 0.0, 10.0), _at(0, 99.0), oldest=(0, 0, 1), supply=(0.0, 0.0, 4.0))
    assert hungry(stands, [1.0, 0.0, 6.0]) == [0]
    assert hungry(stands, [1.0, 0.0, 6.0], supplied=True) == [0, 2]
    assert hungry(problem, [1.0, 0.0, 10.0], supplied=True) == [0]


def test_a_plan_costs_settings_by_their_work_grams_and_what_stays_unmet() -> None:
    """3 x 1.25 + 1.5 g; 7.5 J for 6 and half of the rest, so 9.25 of 10 J unmet at 2 each."""
    problem = _problem((6.0, 10.0), short_cost=(10.0, 2.0))
    plan = priced(problem, [Lot(_at(0, 9.0, effort=1.25), 1.5)], 9.0)
    assert plan.short == pytest.approx((0.0, 9.25))
    assert plan.cost == pytest.approx(3.75 + 1.5 + 18.5)
    assert (plan.proven, plan.bound) == (False, 9.0)
    assert priced(problem, plan.lots, 23.75).proven
    assert priced(problem, plan.lots, 25.0).bound == plan.cost


# --- what is open


def test_what_one_more_batch_could_serve_and_what_that_costs_now() -> None:
    """4 g for 3 + 4 bring 20 J: 10 are fed at 0.35 each; of 10 left 5 J come to the next round,
    at 0.7 each, and 5 J more go without.
    """
    problem = _problem((10.0, 10.0), short_cost=(8.0, 9.0))
    lots = [Lot(_at(0, 9.0), 4.0)]
    assert open_pieces(problem, lots, paid=False) == [[], [(5.0, 9.0)]]
    met, rest = open_pieces(problem, lots, paid=True)
    assert met == [pytest.approx((10.0, 0.35))]
    assert rest == [pytest.approx((5.0, 9.0)), pytest.approx((5.0, 0.7))]


def test_what_comes_anyway_is_not_taken_over_and_a_cheap_batch_is() -> None:
    problem = _problem((4.0, 1.0), setup_cost=0.1, supply=(4.0, 0.0))
    assert open_pieces(problem, [], paid=True) == [[], [(1.0, 10.0)]]
    (_, second) = open_pieces(problem, [Lot(_at(1, 9.0), 0.2)], paid=True)
    assert second == [pytest.approx((1.0, 0.3))]


def test_what_one_more_batch_would_have_to_bring() -> None:
    """Of 4 J wanted now 1 comes; of 3 J wanted next, 6 now, nothing; and nobody eats 1 J more."""
    problem = _problem((4.0, 3.0, 1.0))
    course = course_of(problem, [10.0, 0.0, 0.0])
    assert course == [(0.0, True), (0.0, False), (1.0, False)]
    assert Pantry(problem).lacks(0, [1.0, 0.0, 0.0], course) == pytest.approx(3.0 + 6.0)
    held = Pantry(problem)
    held.stock = [[0, 2.0]]
    assert held.lacks(1, [0.0, 0.0, 0.0], course) == pytest.approx(1.0)
    assert held.stock == [[0, 2.0]]  # nothing was fed by looking


def test_the_first_rounds_of_a_problem_alone() -> None:
    problem = _problem((1.0, 2.0, 3.0), _at(0, 1.0), _at(1, 1.0), _at(2, 1.0),
                       supply=(0.0, 1.0, 2.0), short_cost=(7.0, 8.0, 9.0))  # fmt: skip
    assert problem.until(2) == _problem(
        (1.0, 2.0), _at(0, 1.0), _at(1, 1.0), supply=(0.0, 1.0), short_cost=(7.0, 8.0)
    )
    assert problem.until(0).decay == ()


# --- chains


def test_what_a_batch_gains_round_by_round() -> None:
    """5 J a gram: the first 10 J gain 2 x 5 - 1 = 9 a gram on 2 g; at 2.5 J a gram, 2 x 2.5 - 1."""
    chains = _Chains(_problem((9.0, 9.0, 9.0), oldest=(0, 0, 1)))
    open_j: list[list[Piece]] = [[(10.0, 2.0)], [(2.5, 2.0), (5.0, 0.3)], [(9.0, 9.0)]]
    # 0.3 x 2.5 is less than the gram costs; the third round is too late.
    assert chains._gains(_at(0, 4.0), open_j) == pytest.approx([15.0, 19.0])
    assert chains._gains(_at(0, 1.0, effort=2.0), open_j) == pytest.approx([3.0, 3.0])
    chains._take(_at(0, 4.0), open_j)
    assert open_j == [[], [(5.0, 0.3)], [(9.0, 9.0)]]


def test_what_a_full_batch_leaves_open() -> None:
    chains, open_j = _Chains(_problem((9.0, 9.0))), [[(10.0, 2.0)], [(6.0, 2.0), (1.0, 1.9)]]
    chains._take(_at(0, 4.0), open_j)
    assert open_j == [[], [pytest.approx((1.0, 2.0)), (1.0, 1.9)]]
    chains._take(_at(1, 0.1), open_j)
    assert open_j[1] == [pytest.approx((0.5, 2.0)), (1.0, 1.9)]
    # What is left counts against the piece, however small that is: 5 of 10 millionths.
    small: list[list[Piece]] = [[(1e-5, 2.0)], []]
    chains._take(_at(0, 1e-6), small)
    assert small[0] == [pytest.approx((5e-6, 2.0), rel=1e-6)]


@pytest.mark.parametrize("seed", range(12))
def test_a_chain_gains_as_much_as_the_best_of_all_sets_of_its_batches(seed: int) -> None:
    """Six rounds with two batches each, which may touch, or ten with one that stays for hours."""
    rng = random.Random(seed)
    count, befores = ((6, (-42.0, -18.0)), (6, (-12.5, -12.0)), (10, (-8.0,)))[seed % 3]
    options = [
        _at(i, rng.uniform(0.5, 4.0), energy=rng.uniform(3.0, 6.0),
            stays=(12.0 * i - 200.0 + before, 12.0 * i - 200.0))
        for i in range(count)
        for before in befores
    ]  # fmt: skip
    problem = _problem(
        (0.0,) * count, *options, decay=tuple(rng.uniform(0.4, 1.0) for _ in range(count - 1)),
        oldest=tuple(max(0, i - 1 - seed % 2) for i in range(count)),
    )  # fmt: skip
    pieces = [[(rng.uniform(2.0, 12.0), rng.uniform(0.2, 3.0))] for _ in range(count)]
    chains = _Chains(problem)
    chain = chains._longest(chains.of[0], pieces)
    best = max(
        _gain(problem, mine, pieces)
        for size in range(count + 1)
        for mine in combinations(sorted(options, key=lambda o: o.at_index), size)
        if all(one.end_h <= other.start_h for one, other in pairwise(mine))
    )
    assert all(one.end_h <= other.start_h + 1e-9 for one, other in pairwise(chain))
    assert _gain(problem, chain, pieces) == pytest.approx(best)


def _gain(problem: LotProblem, chain: Sequence[Option], pieces: list[list[Piece]]) -> float:
    """Each batch serves the rounds until the next of its vessel is harvested, while it pays."""
    gain = 0.0
    ends = [*(option.at_index for option in chain[1:]), len(problem.demand)]
    for option, until in zip(chain, ends, strict=False):
        gain, left, energy = gain - problem.setup_cost, option.most_g, option.energy_per_g
        for t in range(option.at_index, until):
            if problem.oldest[t] <= option.at_index:
                for amount, price in pieces[t]:
                    used = min(left, amount / energy) if price * energy > 1.0 else 0.0
                    gain, left = gain + used * (price * energy - 1.0), left - used
            energy *= problem.decay[t] if t < len(problem.decay) else 1.0
    return gain


# --- what the search knows beforehand


def test_what_rounds_cost_at_least() -> None:
    """4 J cost 3 + 0.8 at once; 10 J at the second round 3 + 2; both from the first 3 + 4.8; and
    the third round, which nobody reaches, 5 J at 10.
    """
    problem = _problem((4.0, 10.0, 5.0), _at(0, 9.0), _at(1, 9.0), oldest=(0, 0, 2))
    search = Search(problem)
    assert search.lower == pytest.approx([0.0, 3.8, 7.8, 57.8])
    # A J of round 0 costs a fifth there, and at the second round, where it is half a one, a tenth.
    assert search.cheapest[1:] == pytest.approx([0.2, 0.1, 0.1])
    assert search.scale == [1.0, 0.5, 0.25]
    assert search.reach == [1, 1, 2]
    assert search.best_scaled == [5.0, 10.0, 0.0]
    # Left unmet it costs least at the latest round that it could reach.
    assert search.unmet_cost == pytest.approx([5.0, 5.0, 2.5])


def test_rounds_that_what_stands_may_feed_cost_nothing_at_least() -> None:
    problem = _problem(
        (4.0, 10.0, 5.0, 5.0), *(_at(i, 9.0) for i in range(4)), oldest=(0, 0, 1, 2),
        supply=(0.0, 6.0, 0.0, 0.0),
    )  # fmt: skip
    search = Search(problem)
    assert search.lower == pytest.approx([0.0, 3.8, 3.8, 3.8, 7.8])
    assert search.comes == [
        0.0,
        0.0,
        12.0,
        0.0,
        0.0,
    ]  # 6 J of the second round, fed until the third
    # Nobody else feeds: all 6 J are eaten at once.
    assert search.left == [[], [], [], []]
    more = Search(_problem((4.0, 2.0, 5.0), supply=(10.0, 0.0, 0.0)))
    assert more.left == [[], [pytest.approx((0, 6.0))], [pytest.approx((0, 2.0))]]
    assert more.comes == [0.0, 10.0, 10.0, 0.0]


def test_vessels_that_can_do_the_same_are_twins() -> None:
    alike = [_at(1, 9.0, vessel=v, stays=(0.0, 12.0)) for v in (0, 1, 2)]
    other = _at(1, 8.0, vessel=3, stays=(0.0, 12.0))
    later = _at(2, 9.0, vessel=0, stays=(12.0, 24.0))
    search = choices_of(_problem((1.0, 1.0, 1.0), *alike, other))
    assert search.twins == [0, 0, 0, 3]
    assert (search.unlike, search.has_twins) == (2, True)
    alone = choices_of(_problem((1.0, 1.0, 1.0), alike[0], later, alike[1]))
    assert alone.twins == [0, 1]
    # A vessel that is free again at 12:00 may be set then, and not a minute earlier.
    assert alone.before == {alike[0]: -1, later: 1, alike[1]: -1}
    sooner = _at(2, 9.0, stays=(11.9, 24.0))
    assert choices_of(_problem((1.0,) * 3, alike[0], sooner)).before[sooner] == -1


def test_wants_are_served_the_latest_first() -> None:
    wants = ((3, 4.0), (2, 5.0), (1, 6.0))
    assert _serve(wants, 3.0) == ((3, 1.0), (2, 5.0), (1, 6.0))
    assert _serve(wants, 4.0) == ((2, 5.0), (1, 6.0))
    assert _serve(wants, 10.0) == ((1, 5.0),)
    assert _serve(wants, 15.0) == _serve((), 1.0) == ()


# --- a tin that is shared out


def test_each_round_gets_the_same_share_of_what_a_tin_holds() -> None:
    """Two rounds of 100 J at 100 J a gram want 2 g; of less each gets the same, and of that no
    more than a hundredth is left in the tin.
    """
    options = [_at(i, 9.0, vessel=i, energy=100.0) for i in (0, 1)]
    problem = _problem((100.0, 100.0), *options, setup_cost=0.1)
    for tin_g in (0.3, 1.0, 1.9):
        share, plan = shared(partial(part_of, problem), tin_g)
        assert 0.99 * tin_g <= grams(plan) <= tin_g
        assert [lot.grams for lot in plan.lots] == pytest.approx([share, share])
    assert shared(partial(part_of, problem), 2.0)[0] == 1.0
    assert shared(partial(part_of, problem), 5.0)[0] == 1.0
    share, plan = shared(partial(part_of, problem), 0.0)
    assert (share, plan.lots, plan.short) == (0.0, (), (100.0, 100.0))


def test_a_share_is_held_against_what_is_weighed_for_it() -> None:
    """A tenth of a gram more is weighed for each of the two hatches."""
    options = [_at(i, 9.0, vessel=i, energy=100.0) for i in (0, 1)]
    problem = _problem((100.0, 100.0), *options, setup_cost=0.1)
    share, plan = shared(
        partial(part_of, problem), 1.2, lambda _, plan: grams(plan) + 0.1 * len(plan.lots)
    )
    assert 0.99 * 1.2 <= grams(plan) + 0.2 <= 1.2
    assert share == pytest.approx(0.5, abs=0.01)


# --- what is worth a setting


def test_what_a_unit_of_a_batch_costs() -> None:
    """A setting at 3 over what it brings, and a gram at 1 over what that brings."""
    problem = _problem((10.0,))
    for option, wanted_j, costs in (
        (_at(0, 99.0), 10.0, 0.3 + 0.2),
        (_at(0, 1.0), 10.0, 3.0 / 5 + 0.2),  # it holds 5 J
        (_at(0, 2.0), 10.0, 0.3 + 0.2),
        (_at(0, 99.0, effort=2.0), 10.0, 0.6 + 0.2),
        (_at(0, 99.0, energy=10.0), 20.0, 0.15 + 0.1),
    ):
        assert _price(problem, option, wanted_j) == pytest.approx(costs)


def test_who_could_take_over_what_a_batch_holds() -> None:
    """Of 60 J that its rounds and those before want an eighth may be missing, 7.5 J; so another
    with room for 3.75 J replaces 11.25 J, where both may be fed at one round.
    """
    wanted_j = (10.0, 20.0, 30.0, 400.0)
    near = _problem(wanted_j, oldest=(0, 0, 1, 3))  # from 0 until 1, from 1 and 2 until 2
    far = _problem(wanted_j, oldest=(0, 1, 1, 3))
    own = Lot(_at(1, 99.0), 2.25)
    more = Lot(own.option, 2.2501)
    for at, nearly in ((0, True), (2, True), (3, False)):
        other = Lot(_at(at, 9.0, vessel=1), 8.25)
        assert _nearly_room(near, [own, other], own, 0.125) is nearly, at
        assert not _nearly_room(near, [more, other], more, 0.125)
    # 50 J are wanted where the first round may not be kept for: 6.25 J, and none of another's room.
    other = Lot(_at(0, 9.0, vessel=1), 8.25)
    for grams_, nearly in ((1.25, True), (1.2501, False)):
        lot = Lot(own.option, grams_)
        assert _nearly_room(far, [lot, other], lot, 0.125) is nearly
    two = [Lot(_at(at, 9.0, vessel=1), 8.0) for at in (0, 2)]  # 5 J each
    assert _nearly_room(near, [Lot(own.option, 2.0), *two], Lot(own.option, 2.0), 0.0)
    assert not _nearly_room(near, [more, *two], more, 0.0)


def test_what_may_be_missing_is_a_share_of_what_the_rounds_of_a_batch_want() -> None:
    """From its own until the last that misses more; what another feeds may not miss any."""
    problem = _problem((10.0, 20.0, 30.0, 40.0), oldest=(0, 0, 1, 3))
    none = (0.0,) * 4
    for short, then, bears, is_borne in (
        (none, none, 0.0, True),
        ((0.0, 2.0, 0.0, 0.0), (0.0, 2.0, 0.0, 0.0), 0.0, True),  # no more than before
        (none, (0.0, 2.0, 0.0, 0.0), 0.1, True), (none, (0.0, 2.1, 0.0, 0.0), 0.1, False),
        (none, (0.0, 0.0, 5.0, 0.0), 0.1, True), (none, (0.0, 0.0, 5.1, 0.0), 0.1, False),
        (none, (0.0, 1.0, 4.0, 0.0), 0.1, True), (none, (0.0, 1.1, 4.0, 0.0), 0.1, False),
        # With what was missing before.
        ((0.0, 4.0, 0.0, 0.0), (0.0, 4.0, 1.0, 0.0), 0.1, True),
        ((0.0, 4.5, 0.0, 0.0), (0.0, 4.5, 1.0, 0.0), 0.1, False),
        (none, (1.0, 0.0, 0.0, 0.0), 1.0, False), (none, (0.0, 0.0, 0.0, 1.0), 1.0, False),
    ):  # fmt: skip
        assert borne(problem, 1, short, then, bears) is is_borne, (short, then, bears)
    assert borne(problem, 3, none, (0.0, 0.0, 0.0, 4.0), 0.1)
    assert not borne(problem, 2, none, (0.0, 0.0, 3.1, 0.0), 0.1)


# --- vessels


def _told(option: Option) -> Option:
    return evolve(option, told_g=2.0, own=True)


def _placed(problem: LotProblem, options: list[Option]) -> list[Option]:
    return [lot.option for lot in in_told_vessels(problem, [Lot(o, 1.0) for o in options])]


def test_a_setting_stands_in_the_vessel_that_was_told_and_what_nobody_was_told_makes_room() -> None:
    """Of two vessels alike the first was told for the second round; it is busy with a batch for the
    first round that overlaps and that nobody was told of: they change places.
    """
    early = [_at(0, 9.0, vessel=v, stays=(0.0, 2.0)) for v in (0, 1)]
    late = [_told(_at(1, 9.0, vessel=0, stays=(1.0, 3.0))), _at(1, 9.0, vessel=1, stays=(1.0, 3.0))]
    problem = _problem((1.0, 1.0), *early, *late)
    assert _placed(problem, [late[1]]) == [late[0]]
    assert _placed(problem, [early[0], late[1]]) == [early[1], late[0]]
    assert _placed(problem, [early[1], late[0]]) == [early[1], late[0]]


def test_the_first_settings_keep_the_vessels_that_were_told_where_not_all_can() -> None:
    """Three were told for a vessel each, and the one of the second is taken by now: it gets the
    third, and the last one, which cannot have that any more, the first, which is free again.
    """
    stays = ((0.0, 2.0), (1.0, 3.0), (2.0, 4.0))
    options = {
        (vessel, at): _at(at, 9.0, vessel=vessel, stays=stays[at])
        for vessel in (1, 2) for at in (0, 1, 2)
    }  # fmt: skip
    for key in ((1, 0), (2, 2)):
        options[key] = _told(options[key])
    problem = _problem((1.0, 1.0, 1.0), *options.values())
    found = _placed(problem, [options[2, 0], options[1, 1], options[2, 2]])
    assert found == [options[1, 0], options[2, 1], options[1, 2]]


def test_settings_stay_where_they_are_where_no_vessel_does_as_well() -> None:
    """The batch that is in the way goes nowhere else; or the told vessel brings less of a gram."""
    early = _at(0, 9.0, vessel=0, stays=(0.0, 2.0))
    late = [_told(_at(1, 9.0, vessel=0, stays=(1.0, 3.0))), _at(1, 9.0, vessel=1, stays=(1.0, 3.0))]
    settings = [early, late[1]]
    assert _placed(_problem((1.0, 1.0), early, *late), settings) == settings
    colder = _told(_at(1, 9.0, vessel=0, energy=4.0, stays=(1.0, 3.0)))
    assert _placed(_problem((1.0, 1.0), colder, late[1]), [late[1]]) == [late[1]]
    # Nor where nothing was told.
    untold = evolve(late[0], own=False)
    assert _placed(_problem((1.0, 1.0), untold, late[1]), [late[1]]) == [late[1]]
