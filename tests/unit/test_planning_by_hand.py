"""Small pieces of the planner worked out by hand from docs/planning.md, and their limits exactly.

Rounds are twelve hours apart from 07:30 on 5 January 2027; cultures neither grow nor shrink.
"""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

import pytest
from attrs import evolve

from cultures.foods.kinds import WormKind, shipped_kind
from cultures.foods.vessels import Vessel
from cultures.journal.absences import Away
from cultures.needs.need import BroodNeed, Round, rounds_between
from cultures.planning.amounts import whole_shares
from cultures.planning.feeding_plan import leave_out_unripe
from cultures.planning.gaps import Gap
from cultures.planning.harvests import HatchPlan
from cultures.planning.lots import Lot, LotProblem, Option, Pantry, stock_at, unmet
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import Fit, Serving, Suits
from cultures.planning.sharing import divide, open_wants, share_out
from cultures.planning.shortfalls import Limits, join
from cultures.planning.split_plan import in_swipes_mg, swipe_step_mg
from cultures.planning.stretches import hatched_rounds, settled_rounds
from cultures.planning.supplies import Use, _wanted, purchase, supply_name
from cultures.planning.worm_course import Layouts, Split, Stage, harvest_unit_mg, run_course
from cultures.room.file import read_room
from cultures.room.room import Culture
from cultures.tasks.task import Buy
from cultures.words.moments import hours

_START = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)
_TWO_DAYS = timedelta(days=2)


def _rounds(count: int, *, away: tuple[int, ...] = ()) -> list[Round]:
    times = [_START + timedelta(hours=12 * i) for i in range(count)]
    return [
        Round(i, at, hours(at), 2, fed=i not in away, keeper=i not in away)
        for i, at in enumerate(times)
    ]


# --- hatches held in the fridge


def _problem(*supply: float) -> LotProblem:
    """Three rounds of 10 J; half is left from each to the next, and a harvest serves two."""
    options = tuple(Option(0, i, 0.0, 0.0, 5.0, 4.0) for i in range(3))
    return LotProblem((10, 10, 10), (0.5, 0.5), (0, 0, 1), options, 1.0, 1.0, (1.0,) * 3, supply)


def test_a_pantry_gives_the_oldest_first_and_lets_the_rest_age() -> None:
    pantry = Pantry(_problem())
    assert pantry.feed(0, 10, 30) == 0
    assert pantry.stock == [[0, pytest.approx(10)]]  # 20 left, half of it a round later
    assert pantry.passes_on(0)
    assert pantry.feed(1, 4, 8) == 0  # 4 of the old 10; 6 and 8 are left
    assert pantry.stock == [[0, pytest.approx(3)], [1, pytest.approx(4)]]
    assert pantry.feed(2, 10, 0) == pytest.approx(6)  # the first harvest is too old by now
    assert not pantry.passes_on(1)


def test_what_stands_at_a_round_and_what_stays_unmet() -> None:
    problem = _problem()
    assert stock_at(problem, [30, 0, 0], 1) == [pytest.approx((0, 10))]
    assert stock_at(problem, [30, 0, 0], 0) == []
    lots = [Lot(problem.options[0], 4.0)]  # 20 J: 10, then 5 of 10, then none that may be fed
    assert unmet(problem, lots) == [0, pytest.approx(5), pytest.approx(10)]
    comes = _problem(0.0, 6.0, 0.0)
    assert unmet(comes, lots) == [0, 0, pytest.approx(9.5)]  # 1 J is left and halves


# --- cups and spoons


@pytest.mark.parametrize(
    ("parts", "total", "shares"),
    [
        ([1, 1], 50, [25, 25]),
        ([1, 2], 50, [17, 33]),  # 16.67 and 33.33: the larger remainder gets the odd one
        ([1, 3, 6], 50, [5, 15, 30]),
        ([0.1, 49.9], 50, [0, 50]),
        ([15.2, 34.8], 50, [15, 35]),
        ([0, 0], 50, [0, 0]),
        ([1, 2], 0, [0, 0]),
        ([], 50, []),
    ],
)
def test_shares_of_a_cup(parts: list[float], total: int, shares: list[int]) -> None:
    assert whole_shares(parts, total) == shares


@pytest.mark.parametrize(
    ("parts", "needs", "total", "shares"),
    [
        # Remainders of 0.4 and 0.6: what is missing of 2.4 would be felt, of 47.6 not.
        ([2.4, 47.6], [2.4, 47.6], 50, [3, 47]),
        ([2.4, 47.6], [9.6, 47.6], 50, [2, 48]),  # only a quarter of what the small one eats
        ([0.1, 49.9], [0.1, 49.9], 50, [1, 49]),
        # None goes without, though only one mark is to be had: the largest has them.
        ([0.2, 0.3, 49.5], [0.2, 0.3, 49.5], 50, [1, 1, 48]),
    ],
)
def test_who_would_feel_the_rounding_is_served_first(
    parts: list[float], needs: list[float], total: int, shares: list[int]
) -> None:
    assert whole_shares(parts, total, needs=needs) == shares


@pytest.mark.parametrize(
    ("part", "need", "share"),
    [
        (1.8, 4.0, 2),  # down it misses 0.8 of 4, a fifth; up it gets 0.2 of 4 too much
        (1.8, 9.0, 1),  # 0.8 of 9 is not felt
        (0.6, 5.0, 0),  # up by 0.4 is up by more than half of the part
        (1.45, 4.0, 1),  # up it would get 0.55 of 4 too much, which is felt as well
    ],
)
def test_dry_food_is_rounded_up_for_who_would_feel_it_but_not_by_half(
    part: float, need: float, share: int
) -> None:
    """In a turn in which the remainder of the small one comes to nothing."""
    parts, needs = [part, 60.0 - part], [need, 300.0]
    assert whole_shares(parts, 60, needs=needs, turn=0.1, sparing=True) == [share, 60 - share]


def _worms() -> WormKind:
    kind = shipped_kind("microworm")
    assert isinstance(kind, WormKind)
    return kind


def test_worms_are_asked_for_in_quarter_swipes_and_half_ones_of_much() -> None:
    kind = _worms()
    swipe = kind.values["portion_mg"]
    assert swipe_step_mg(kind) == swipe / 4
    asked = [0, 0.1, 0.25, 0.26, 1.5, 1.51, 2.0, 2.01]
    taken = [0, 0.25, 0.25, 0.5, 1.5, 2.0, 2.0, 2.5]
    got = [in_swipes_mg(kind, x * swipe) for x in asked]
    assert got == pytest.approx([x * swipe for x in taken])
    liquid = shipped_kind("vinegar_eel")
    assert isinstance(liquid, WormKind)
    assert swipe_step_mg(liquid) == 0
    fine = evolve(kind, values={**kind.values, "portion_mg": 2.0})
    assert in_swipes_mg(fine, 1.2) == 1.5
    assert in_swipes_mg(liquid, 1.234) == 1.234
    assert [harvest_unit_mg(x, 5.0) for x in (30.0, 30.1)] == [5.0, 10.0]


# --- worm cultures along the rounds


def _stage(name: str, stock: float, *, rounds: int = 4, first: int = 0, ripe: bool = True,
           spent: int = 99, lag: int = 0) -> Stage:  # fmt: skip
    """A tray that carries 1000 mg, gives at most half at once, and not below 200 mg."""
    kind = _worms()
    model = evolve(
        kind.model(medium_g=150),
        capacity_mg=1000.0,
        climbing_fraction=0.5,
        climbing_density=0.2,
        daily_fraction=1.0,
    )
    left = min(rounds, spent) - first
    culture = Culture(name, kind, date(2027, 1, 1), 150.0, None, 15.0)
    return Stage(
        culture, model, first, stock, [10.0] * left, [(1.0, 0.0)] * (left - 1),
        [math.inf if i < lag else 200.0 for i in range(left)], [500.0 if ripe else 200.0] * left,
        [0 if ripe else 2] * left, [0.5] * left, first + left, math.inf,
    )  # fmt: skip


def test_no_culture_falls_below_half_of_what_it_carries_unless_it_must() -> None:
    stages = [_stage("MW-1", 800), _stage("MW-2", 700)]
    course = run_course(stages, [], [400, 0, 400, 0])
    # 300 from the first down to 500, then 100 from the second.
    assert {h.culture: h.taken_mg for h in course.harvests[0]} == {"MW-1": 300, "MW-2": 100}
    assert course.harvests[1] == ()
    # The second gives its 100 down to 500; then the first 250, half of what it holds, and 50 more.
    assert {h.culture: h.taken_mg for h in course.harvests[2]} == {"MW-2": 150, "MW-1": 250}
    assert course.short_mg == [0, 0, 0, 0]
    assert course.stocks == {"MW-1": 250, "MW-2": 450}


def test_worms_climb_down_to_a_fifth_and_half_of_them_at_once() -> None:
    course = run_course([_stage("MW-1", 800)], [], [900, 900, 900, 900], spare=True)
    # 800: half climbs. 400: down to 200, which is half as well. 200: nothing above the limit.
    taken = [sum(h.taken_mg for h in row) for row in course.harvests]
    assert taken == [400, 200, 0, 0]
    assert course.short_mg == [500, 700, 900, 900]
    assert course.usable == [1, 1, 1, 1]
    thin = run_course([_stage("MW-1", 199.9)], [], [10, 10])
    assert thin.usable == [0, 0]


def test_what_could_be_taken_besides() -> None:
    course = run_course([_stage("MW-1", 800)], [], [100, 0], spare=True)
    assert course.spare_mg == [{"MW-1": 300}, {"MW-1": 350}]  # half of 800 less 100; half of 700


def test_lag_and_the_end_of_a_medium() -> None:
    course = run_course([_stage("MW-1", 800, lag=1, spent=3)], [], [10, 10, 10, 10])
    assert course.short_mg == [10, 0, 0, 10]
    assert course.usable == [0, 1, 1, 0]
    assert course.usable_from == {"MW-1": 1}


def test_harvests_are_whole_quarters_of_a_swipe() -> None:
    course = run_course([_stage("MW-1", 523)], [], [100, 100], 5.0)
    # 23 above the half, so 20 in quarters of 5; then 80 more down towards 200, in half swipes.
    assert course.harvests[0][0].taken_mg == 100
    odd = run_course([_stage("MW-1", 223)], [], [100], 5.0)
    assert odd.harvests[0][0].taken_mg == 20
    assert odd.short_mg == [80]
    # 30 down to the half, and what is taken below it makes whole half swipes of both together.
    twice = run_course([_stage("MW-1", 533)], [], [45], 5.0)
    assert twice.harvests[0][0].taken_mg == 40


def test_a_split_moves_worms_by_the_medium_it_takes() -> None:
    """15 of 150 g of medium carry a tenth of the worms, after the feeding of the round."""
    parent = _stage("MW-1", 800)
    child = evolve(_stage("MW-2", 0, first=1), culture=evolve(parent.culture, name="MW-2"))
    course = run_course([parent, child], [Split("MW-1", child.culture, 1)], [100, 100, 0, 0])
    assert course.stocks["MW-1"] == pytest.approx(600 * 0.9)
    assert course.stocks["MW-2"] == pytest.approx(60)
    assert course.unfit == 0
    # Bought: it brings its own.
    own = evolve(child, start_mg=42.0)
    assert run_course([own], [Split("", own.culture, 1)], [0] * 4).stocks == {"MW-2": 42}


def test_a_parent_keeps_half_of_its_worms_through_all_splits_of_a_round() -> None:
    parent = _stage("MW-1", 1000)
    culture = evolve(parent.culture, starter_g=45.0)  # three tenths
    children = [
        evolve(_stage(n, 0), culture=evolve(culture, name=n)) for n in ("MW-2", "MW-3", "MW-4")
    ]
    for count, unfit, again in ((1, 0, True), (2, 0, False), (3, 1, False)):
        # 700, 490 and 343 of 1000 are left; the third split is made from less than half.
        splits = [Split("MW-1", c.culture, 0) for c in children[:count]]
        course = run_course([parent, *children[:count]], splits, [0, 0, 0, 0])
        assert course.unfit == unfit
        assert ("MW-1" in [name for _, name in course.parents(0)]) is again


def test_a_culture_that_sours_comes_after_all_ripe_ones() -> None:
    """docs/planning.md: from one that sours only where no other stands."""
    sour, ripe = _stage("MW-1", 900, ripe=False), _stage("MW-2", 300)
    assert run_course([sour, ripe], [], [0]).parents(0) == [(300, "MW-2"), (900, "MW-1")]
    assert run_course([sour], [], [0]).parents(0) == [(900, "MW-1")]


def test_the_best_parent_is_the_fullest() -> None:
    course = run_course([_stage("MW-1", 300), _stage("MW-2", 700)], [], [0])
    assert course.parents(0) == [(700, "MW-2"), (300, "MW-1")]


def test_a_course_goes_on_from_its_marks_as_if_never_stopped() -> None:
    """Marks stand at every eighth round."""
    demand = [20.0] * 30
    stages = [_stage("MW-1", 900, rounds=30), _stage("MW-2", 500, rounds=30)]
    whole = run_course(stages, [], demand)
    assert sorted(whole.marks) == [0, 8, 16, 24]
    for index in (0, 7, 8, 23, 29):
        again = run_course(stages, [], demand, since=whole.head(index))
        assert again.stocks == whole.stocks
        assert again.short_mg == whole.short_mg


# --- who gets what


def _serving(name: str, length_mm: float, want: float) -> Serving:
    brood = evolve(_ROOM.broods[0], name=name, foods=())
    return Serving(BroodNeed(brood, _START, length_mm, 10, 100, {"worm": want}), {"worm": want})


_ROOM = read_room(
    """
[room]
name = "loft"
timezone = "UTC"
temperature_c = 23.5
rounds = ["07:30", "19:30"]
awake = ["06:30", "22:30"]
[[tank]]
name = "A"
litres = 40
temperature_c = 26
[[tank]]
name = "B"
litres = 40
temperature_c = 26
[[brood]]
name = "one"
tank = "A"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-01
""",
    name="room.toml",
    today=date(2027, 1, 5),
)


def test_enough_is_shared_by_need_and_too_little_by_choice() -> None:
    """With no other food the choice is 0.01 a millimetre, 0.12 and 0.05: at a price of 15 / (30 x
    0.12 + 10 x 0.05) = 3.66 they ask for 16.8 and 8.2 of 25.
    """
    large, small = _serving("large", 12, 30), _serving("small", 5, 10)
    suits = Suits(evolve(_ROOM, broods=(large.need.brood, small.need.brood)))
    share_out([[large, small]], "worm", [48], suits)  # a fifth more, which no mouth has room for
    assert (large.given_j["worm"], small.given_j["worm"]) == (30, 10)
    suits.by_length["large"][12.0] = Fit.of({"worm": 0.22})  # so 12 / 40 of 100 may be had in all
    suits.by_length["small"][5.0] = Fit.of({"worm": 0.22})
    share_out([[large, small]], "worm", [48], suits)
    assert (large.given_j["worm"], small.given_j["worm"]) == (30, 12)
    suits.by_length["large"][12.0] = Fit.of({"worm": 0.5})
    share_out([[large, small]], "worm", [48], suits)
    assert (large.given_j["worm"], small.given_j["worm"]) == (36, 12)
    share_out([[large, small]], "worm", [80], suits)  # twice the ration is not fed
    assert (large.given_j["worm"], small.given_j["worm"]) == (30, 10)
    share_out([[large, small]], "worm", [25], suits)
    assert large.given_j["worm"] == pytest.approx(16.829, abs=0.001)
    assert small.given_j["worm"] == pytest.approx(8.171, abs=0.001)


def test_who_misses_the_most_over_all_foods_is_served_first() -> None:
    """Both ask for 40 of their 100. One has 50 of another food and misses 50 without these, the
    other 100; at 0.1 of choice for each, the first asks for 50 - 10 p and the second for 40 or
    100 - 10 p: of 45 the first gets 5 and the second 40.
    """
    other, bare = _serving("other", 10, 40), _serving("bare", 10, 40)
    other.given_j = {"flake": 50.0}
    suits = Suits(evolve(_ROOM, broods=(other.need.brood, bare.need.brood)))
    wants = open_wants("worm", [other, bare], 0, suits)
    assert [[pytest.approx(part) for part in of_one] for of_one in wants] == [
        [(40, 50, 10)], [(40, 100, 10)]
    ]  # fmt: skip
    # Dry food that is used up stands in for nothing.
    bare.dry_out_j = 30.0
    assert open_wants("worm", [other, bare], 0, suits) == wants
    divide([other, bare], "worm", 45, wants, suits)
    assert other.given_j["worm"] == pytest.approx(5)
    assert bare.given_j["worm"] == pytest.approx(40)


def test_what_is_harvested_beyond_what_was_asked_goes_to_all_alike() -> None:
    """But no mouth gets more than it takes, which one that is full of others may."""
    full, bare = _serving("full", 10, 40), _serving("bare", 12, 40)
    full.given_j = {"flake": 60.0}
    suits = Suits(evolve(_ROOM, broods=(full.need.brood, bare.need.brood)))
    suits.by_length["full"][10.0] = Fit.of({"worm": 0.5})
    suits.by_length["bare"][12.0] = Fit.of(
        {"worm": 0.26}
    )  # of which 16 / 40 of 100 may be had: the diet
    wants = open_wants("worm", [full, bare], 0, suits)
    for total, parts in ((80, (40, 40)), (86, (43, 40)), (99, (49.5, 40)), (101, (40, 40))):
        divide([full, bare], "worm", total, wants, suits)
        assert (full.given_j["worm"], bare.given_j["worm"]) == pytest.approx(parts)


def test_a_brood_lacks_what_it_was_to_get_and_of_a_food_that_suits_all_that_is_missing() -> None:
    """It asks for 40 of a worm and gets 30, and misses 45 of its 100."""
    serving = _serving("b", 10, 40)
    serving.given_j = {"worm": 30.0, "flake": 25.0}
    suits = Suits(evolve(_ROOM, broods=(serving.need.brood,)))
    suits.by_length["b"][10] = Fit.of({"worm": 0.1, "eel": 0.2})
    assert suits.lacks_j(serving, "worm") == 10.0
    assert suits.lacks_j(serving, "eel") == 45.0
    assert suits.lacks_j(serving, "shrimp") == 0.0


@pytest.mark.parametrize(("nights", "soon"), [(0, range(2)), (4, range(6, 10))])
def test_nauplii_come_soon_within_two_days(nights: int, soon: range) -> None:
    """At 27 °C a hatch that is set at once is ripe the day after, two rounds later; with nobody
    there for four days that is the tenth round, and two days before it is the sixth.
    """
    away = (Away(_START.date(), _START.date() + timedelta(days=nights - 1)),) if nights else ()
    room = evolve(_ROOM, vessels=(Vessel("V", 1.0, 27.0, 25.0),), away=away)
    feedings = rounds_between(room, _START, _START + timedelta(days=10))
    suits = Suits(room)
    leave_out_unripe(room, feedings, {}, suits, _START, Layouts(room, feedings))
    assert suits.ripe_from["brine_shrimp"] == soon.stop
    assert suits.soon == soon


def test_gaps_a_week_apart_are_one_shortfall() -> None:
    """Fourteen rounds are a week, fifteen half a day more; two foods are two shortfalls."""
    feedings = _rounds(30)
    need = _serving("one", 5, 10).need

    def gap(index: int, food: str = "worm") -> Gap:
        return Gap(feedings[index], need, food, 4)

    plan = FeedingPlan(feedings, [[] for _ in feedings], {}, HatchPlan([], [], [], [], [],
                       _problem(), ()))  # fmt: skip
    limits = Limits(_ROOM, plan, _START)
    found = join([gap(0), gap(14), gap(29), gap(29, "dry")], _AlwaysThin(_ROOM, plan, _START))
    told = [lack.shortfall(_ROOM, limits) for lack in found if lack.food == "dry"]
    assert [(k.food, k.gaps[0].feeding.index, len(k.gaps)) for k in found] == [
        ("worm", 0, 2),
        ("worm", 29, 1),
        ("dry", 29, 1),
    ]
    assert [(s.need_j, s.short_j, s.tanks, s.rounds) for s in told] == [(100, 4, ("A",), 1)]


class _AlwaysThin(Limits):
    def of(self, gap: Gap) -> str:
        return "learning" if gap.food else "away"


# --- how far a plan is settled


def test_rounds_are_settled_up_to_a_time_before_the_end() -> None:
    """Ten rounds end on 9 January 19:30; two days before it is 7 January 19:30, round 5."""
    feedings = _rounds(12)
    assert settled_rounds(feedings, 10, timedelta(days=2)) == 6
    assert settled_rounds(feedings, 10, timedelta(days=2, minutes=1)) == 5
    assert settled_rounds(feedings, 10, timedelta(0)) == 10
    assert settled_rounds(feedings, 0, timedelta(days=2)) == 0
    assert settled_rounds([], 0, timedelta(days=2)) == 0
    assert settled_rounds(feedings, 1, timedelta(0)) == 1
    assert settled_rounds(feedings, 10, timedelta(days=99)) == 0
    # Hatches are planned four days past what is settled.
    assert hatched_rounds(feedings, 10, timedelta(days=6)) == 6
    assert hatched_rounds(feedings, 10, timedelta(days=4)) == 10


# --- supplies


def _daily(grams: float, days: int) -> list[Use]:
    return [Use("cysts", _START + timedelta(days=i), grams) for i in range(days)]


def test_four_weeks_are_bought_at_the_rate_of_the_last_two() -> None:
    """2 g a day from a tin of 21 g: the eleventh use on 15 January is not covered.

    Fourteen uses in the first two weeks: 28 x 28 / 14 = 56 g, less the 1 g that is left; sold
    are 75 g. It is bought at the last round two days before, 13 January 07:30.
    """
    found = purchase(_daily(2, 60), 21.0, _rounds(60), _START, _TWO_DAYS)
    assert found is not None
    assert found.out == _START + timedelta(days=10)
    assert found.grams == 75
    assert found.at == _START + timedelta(days=8)


def test_the_rate_looks_no_further_back_than_two_weeks() -> None:
    """Nothing before 25 January, then 2 g a day: 14 days and the day itself hold 15 uses."""
    late = [use for use in _daily(2, 90) if use.at >= _START + timedelta(days=20)]
    out = _START + timedelta(days=60)
    # From 14 days before to a day after, both ends of the day: 15 uses, 30 g in 15 days.
    assert _wanted(late, 80.0, _START, out, out) == pytest.approx(56)
    assert _wanted(late, 85.0, _START, out, out) == pytest.approx(
        51
    )  # 40 uses before: 5 g are left


def test_what_runs_out_at_once_is_bought_at_the_rate_of_the_first_two_weeks() -> None:
    """800 g at the first round and none for a fortnight: 1,600 g, not 28 times 800."""
    boxes = [Use("medium", _START, 400.0), Use("medium", _START, 400.0)]
    found = purchase(boxes, 100.0, _rounds(30), _START, _TWO_DAYS)
    assert found is not None
    assert found.grams == 1500  # less the 100 g that are left


@pytest.mark.parametrize(
    ("rate", "grams"),
    # 2.8 g, 8.4, 9.8, 14, 840 and 1,008 g, as they are sold: no less, and in few packs.
    [(0.1, 3), (0.3, 10), (0.35, 10), (0.5, 15), (30, 1000), (36, 1500)],
)
def test_nobody_buys_to_the_gram(rate: float, grams: float) -> None:
    found = purchase(_daily(rate, 60), 0.0, _rounds(60), _START, _TWO_DAYS)
    assert found is not None
    assert found.grams == pytest.approx(grams)


def test_nothing_is_bought_that_lasts_or_is_not_counted() -> None:
    assert purchase(_daily(2, 10), 20.0, _rounds(30), _START, _TWO_DAYS) is None
    assert purchase(_daily(2, 10), None, _rounds(30), _START, _TWO_DAYS) is None
    assert purchase([], 0.0, _rounds(30), _START, _TWO_DAYS) is None


def _told_to_buy(day: int, grams: float = 60.0, due: int | None = None) -> Buy:
    at = datetime(2027, 1, day, 7, 30, tzinfo=UTC)
    return Buy(
        id="buy/cysts", at=at, until=at, subject="cysts", item="cysts", grams=grams, why="",
        due=None if due is None else date(2027, 1, due),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("told", "at"),
    # Wanted by the 13th. An earlier day stands for a week, a later one does not.
    [(10, 10), (6, 6), (5, 13), (13, 13), (20, 13)],
)
def test_the_day_by_which_to_buy_stands_as_it_was_told(told: int, at: int) -> None:
    found = purchase(_daily(2, 60), 21.0, _rounds(60), _START, _TWO_DAYS, told=_told_to_buy(told))
    assert found is not None
    assert (found.at.day, found.due) == (at, None)


@pytest.mark.parametrize(
    ("told", "now", "at"),
    # Wanted by the evening of the 13th; the morning that was told stands until it is over.
    [("13T07:30", "05T07:30", "13T07:30"), ("12T07:30", "05T07:30", "12T07:30"),
     ("13T07:30", "13T09:00", "13T19:30"), ("13T19:30", "05T07:30", "13T19:30")],
)  # fmt: skip
def test_the_hour_by_which_to_buy_stands_as_it_was_told(told: str, now: str, at: str) -> None:
    """Advice said the morning and the task of the same purchase the evening of one day."""
    uses = [evolve(use, at=use.at.replace(hour=20)) for use in _daily(2, 60)]
    moment, wanted = (datetime.fromisoformat(f"2027-01-{t}+00:00") for t in (now, at))
    before = evolve(_told_to_buy(13), at=datetime.fromisoformat(f"2027-01-{told}+00:00"))
    found = purchase(uses, 21.0, _rounds(60), moment, _TWO_DAYS, told=before)
    assert found is not None
    assert (found.at, found.due) == (wanted, None)


def test_what_was_not_bought_in_time_is_due_since_the_day_that_was_told() -> None:
    """It runs out on the 6th, so it was to be bought by the 4th; today is the 5th."""
    for told in (_told_to_buy(3), _told_to_buy(4, due=3), _told_to_buy(5, due=3)):
        found = purchase(_daily(2, 60), 3.0, _rounds(60), _START, _TWO_DAYS, told=told)
        assert found is not None
        assert (found.at, found.due) == (_START, date(2027, 1, 3))
        assert found.by_words(_START) == ", due since Sun 3 Jan"


@pytest.mark.parametrize(("told_g", "grams"), [(40, 75), (50, 50), (100, 100), (20, 75), (200, 75)])
def test_an_amount_to_buy_stands_as_it_was_told_while_it_is_near(
    told_g: float, grams: float
) -> None:
    found = purchase(
        _daily(2, 60), 21.0, _rounds(60), _START, _TWO_DAYS, told=_told_to_buy(13, told_g)
    )
    assert found is not None
    assert found.grams == grams


def test_what_runs_out_too_soon_is_bought_when_somebody_is_there() -> None:
    """The first use is not covered: two days before is past, so at the first round there is."""
    rounds = _rounds(30, away=(0, 1))
    found = purchase(_daily(2, 30), 1.0, rounds, _START, _TWO_DAYS)
    assert found is not None
    assert found.out == _START
    assert found.at == rounds[2].at  # nobody comes before the use, who could buy: on coming back
    later = purchase(_daily(2, 30), 3.0, _rounds(30, away=(0, 1)), _START, _TWO_DAYS)
    assert later is not None
    assert later.out == later.at == _START + timedelta(days=1)
    two = purchase(_daily(2, 30), 4.5, _rounds(30), _START, _TWO_DAYS)
    assert two is not None
    assert (two.out, two.at) == (_START + timedelta(days=2), _START)


def test_supplies_by_their_names() -> None:
    names = [supply_name(x) for x in ("cysts", "dry", "microworm_medium", "salt")]
    assert names == ["brine shrimp cysts", "dry food", "microworm medium", "salt"]
