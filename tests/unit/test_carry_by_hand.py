"""How large a brood is fed, step by step: which sizes are tried, how a trial is judged."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.journal.absences import Away
from cultures.needs.need import BroodCourse, BroodNeed
from cultures.planning import brood_trials
from cultures.planning import carry as module
from cultures.planning.brood_trials import (
    Standing,
    Trial,
    _held_up,
    _mendable,
    _tin_out,
    looked_at_until,
)
from cultures.planning.carry import (
    Carried,
    Carry,
    CarryError,
    Gain,
    Lift,
    Wish,
    _gain_of,
    days_of_weeks,
    largest,
    sizes,
    surely,
)
from cultures.planning.changes import with_tank
from cultures.planning.gaps import Gap
from cultures.planning.harvests import HatchPlan
from cultures.planning.servings import Serving
from cultures.room.file import read_room
from cultures.room.orders import Order
from cultures.room.room import Brood, Room
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _START, _rounds
from tests.unit.test_shortfall_limits import _TEXT

_TODAY = date(2027, 1, 5)
_ROUNDS = _rounds(12)
#: As a keeper would say them, none more than a fifth above the one before.
_SIZES = [
    5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 22, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90,
    100, 120, 140, 160, 180, 200, 220, 250, 300, 350, 400, 450, 500,
]  # fmt: skip


@pytest.fixture(scope="module")
def room() -> Room:
    return read_room(_TEXT, today=_TODAY)


def _gap(room: Room, index: int = 2, short_j: float = 40.0, *, brood: int = 0, food: str = "worm",
         foods: bool = True, rounds: Any = _ROUNDS) -> Gap:  # fmt: skip
    mine = room.broods[brood]
    need = BroodNeed(mine, rounds[index].at, 6.0, 10, 100.0, {"worm": 100.0} if foods else {})
    return Gap(rounds[index], need, food, short_j)


def _short(room: Room, fits: float = 0.0, limit: str = "thin", **more: Any) -> Trial:
    return Trial(_gap(room), limit, "too few", fits, **more)


# --- which sizes are tried


def test_sizes_are_those_that_a_keeper_would_say() -> None:
    assert sizes() == _SIZES


def _upto(room: Room, limit: int, tried: list[int], fits: float | None = None) -> Any:
    def trial(count: int) -> Trial:
        tried.append(count)
        share = limit / count if fits is None else fits
        return Trial() if count <= limit else _short(room, share)

    return trial


def test_the_search_goes_up_in_longer_strides_and_then_halves(room: Room) -> None:
    """From 20, the eleventh: the next, two and four and eight further; then between them."""
    tried: list[int] = []
    size, why = largest(_upto(room, 63, tried, 0.0), 20)
    assert size == 60
    assert why is not None
    # 20 is fed, 22 after it, then 2, 4 and 8 steps further; three halvings of those 8.
    assert tried[:5] == [20, 22, 30, 50, 160]
    assert {60, 70} <= set(tried[5:])
    assert len(tried[5:]) <= 3
    # A size that is not fed says what share of it would be: 63 of 140 is just below 70.
    tried.clear()
    assert largest(_upto(room, 63, tried), 140)[0] == 60
    assert tried[:2] == [140, 60]
    # So it is between two that are known: not half way from 5 to 140, but next to 63 of 140.
    tried.clear()
    assert largest(_upto(room, 63, tried), 5, hint=140)[0] == 60
    assert tried == [5, 140, 60, 90, 70]
    # A hint is tried once the guess is fed.
    tried.clear()
    assert largest(_upto(room, 63, tried, 0.0), 10, hint=60)[0] == 60
    assert tried == [10, 60, 80, 70]  # two steps further, and back
    size, why = largest(_upto(room, 4, tried), 10)
    assert (size, tried[-1]) == (0, 5)
    assert why is not None
    assert why.fits == 4 / 5


def test_what_is_known_is_not_tried(room: Room) -> None:
    tried: list[int] = []
    assert largest(_upto(room, 63, tried), 9, least=60, below=70) == (60, None)
    assert tried == []
    assert largest(_upto(room, 500, tried), 500) == (500, None)
    assert tried == [500]
    tried.clear()
    assert largest(_upto(room, 500, tried), 9, below=25) == (22, None)
    assert all(count < 25 for count in tried)
    size, why = largest(_upto(room, 0, []), 500, least=7)
    assert size == 7
    assert why is not None


def test_from_the_bottom_up_each_size_is_about_four_times_the_one_before(room: Room) -> None:
    """5, 20, 80; 300 is not above 320, and of 1200 there is none."""
    tried: list[int] = []
    assert surely(_upto(room, 500, tried)) == (500, None)
    assert tried == [5, 20, 80, 300, 500]
    tried.clear()
    size, why = surely(_upto(room, 63, tried, 0.0))
    assert size == 60
    assert why is not None
    assert tried[:3] == [5, 20, 80]
    assert tried[3] == 50  # half way from 20 to 80
    tried.clear()
    assert surely(_upto(room, 500, tried), least=100, below=200) == (180, None)
    assert tried == [120, 180]
    assert surely(_upto(room, 100, []), least=100)[0] == 100


# --- the search for the largest


class _Tried(Carry):
    """Sizes up to ``upto`` are fed."""

    def __init__(self, room: Room, upto: int, fed: Trial | None = None) -> None:
        self.asked: list[int] = []
        self.place, self.upto, self.fed = room, upto, fed or Trial()

    def _trial(self, brood: Brood, count: int, __: Any = None, *, whole: bool = False) -> Trial:
        assert brood is not None
        if not whole:
            self.asked.append(count)
        return self.fed if count <= self.upto else _short(self.place, self.upto / count)


def test_the_largest_and_the_next_are_planned_and_each_size_once(room: Room) -> None:
    brood = room.broods[0]
    for upto in (30, 60, 90):
        tried = _Tried(room, upto)
        size, limited, trial = tried._search(brood, 50, hint=0)
        assert size == upto
        assert limited is not None
        assert trial.fed
        assert {upto, _SIZES[_SIZES.index(upto) + 1]} <= {*tried.asked}
        assert len(tried.asked) == len(set(tried.asked))
    most = _Tried(room, 500)
    assert most._search(brood, 500, hint=500) == (500, None, most.fed)
    assert most.asked == [500]
    jumpy = _Tried(room, 500, Trial(jumpy=True))
    assert jumpy._search(brood, 500, hint=500)[:2] == (500, None)
    assert jumpy.asked == [500, 5, 20, 80, 300]  # from the bottom up
    none = _Tried(room, 0)
    size, limited, trial = none._search(brood, 500, hint=0)
    assert (size, limited is not None, trial.fed, trial.set_g) == (0, True, True, 0.0)


def test_one_trial_that_jumps_has_all_tried_from_the_bottom_up(room: Room) -> None:
    """Of 45 nauplii come from a tin that runs out; of the sizes above it they do not."""

    class Jumps(_Tried):
        def _trial(self, brood: Brood, count: int, *_: Any, **__: Any) -> Trial:
            return evolve(super()._trial(brood, count), jumpy=count == 45)

    tried = Jumps(room, 60)
    assert tried._search(room.broods[0], 45, hint=0)[0] == 60
    assert [count for count in (5, 20) if count in tried.asked] == [5, 20]
    calm = _Tried(room, 60)
    assert calm._search(room.broods[0], 45, hint=0)[0] == 60
    assert 5 not in calm.asked


# --- what is told


def _carried(room: Room, count: float, limited: Trial | None = None, **more: Any) -> Carried:
    brood = evolve(room.broods[0], count=count, name="new")
    return Carried(brood, date(2027, 1, 9), _START, weaned=True, limited=limited, **more)


def test_the_largest_brood_says_what_holds_it_up(room: Room) -> None:
    free = _carried(room, 59.6)
    assert (free.largest, free.gap, free.other) == (60, None, None)
    assert free.to_json()["limited"] is None
    assert free.to_json()["lift"] is None
    held = _carried(room, 60.0, _short(room), gain=Gain("vessel", "a vessel", "vessel 1", 90))
    assert held.gap is not None
    assert held.other == "one"
    told = held.to_json()
    assert told["limited"]["brood"] == "one"
    assert told["lift"] == {"what": "vessel", "text": "a vessel", "if": "vessel 1", "largest": 90}
    own = evolve(held, brood=evolve(held.brood, name="one"))
    assert own.other is None
    assert Gain("food", "dry food", "", 9).to_json()["if"] is None


def test_a_wish_is_fed_where_its_trial_is(room: Room) -> None:
    for trial in (Trial(), _short(room)):
        wish = Wish("one 60", 60, trial, _carried(room, 60.0))
        assert wish.fed is trial.fed
        assert wish.to_json()["all_from"] is None
        assert wish.trial_json()["in_full"] is trial.fed
    late = Wish("x", 60, Trial(), _carried(room, 1.0), _TODAY)
    assert late.to_json()["all_from"] == "2027-01-05"


class _Wished(_Tried):
    """Fed from a day on; the room is as large as is granted."""

    def __init__(self, room: Room, plan: int, days: list[date], fed_from: date) -> None:
        super().__init__(room, plan)
        self.room, self.days, self.fed_from, self.looked = room, days, fed_from, list[Any]()
        self._standing = None

    def _look(self, brood: Brood, days: Any) -> None:
        self.looked.append((brood.anchor_date, tuple(days)))

    def _trial(self, brood: Brood, count: int, *args: Any, **kinds: Any) -> Trial:
        if brood.anchor_date >= self.fed_from:
            return Trial()
        return super()._trial(brood, count, *args, **kinds)


def test_a_wish_is_put_in_as_far_as_it_is_fed_and_the_first_day_for_all_of_it(room: Room) -> None:
    days = [_TODAY + timedelta(days=7 * n) for n in range(4)]
    brood = evolve(room.broods[0], name="new", count=100.0, anchor_date=days[1], counted_on=days[1])
    for plan, largest_fed, from_day in ((60, 60, days[3]), (100, 100, None), (0, 0, days[3])):
        carry = _Wished(room, plan, days, days[3])
        wish = carry.wish("new 100", brood)
        assert (wish.wanted, wish.carried.largest, wish.from_day) == (100, largest_fed, from_day)
        assert wish.fed is (largest_fed == 100)
        assert carry.looked == [(days[1], (days[1], days[2], days[3]))]
        assert (wish.carried.limited is None) is (largest_fed == 100)


def test_each_week_begins_from_the_week_before(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    """The guess is what was found; the hint, where nothing was, what was guessed then."""
    days, found, asked = days_of_weeks(_START, 4), iter([60, 0, 0, 90]), list[Any]()
    assert days == [_TODAY + timedelta(days=7 * n) for n in range(4)]
    carry = object.__new__(Carry)
    carry.room = carry._given = room
    carry.days = days
    monkeypatch.setattr(carry, "_brood", lambda *_: room.broods[0], raising=False)
    monkeypatch.setattr(carry, "_look", lambda *_: None, raising=False)
    monkeypatch.setattr(carry, "_gain", lambda _: None, raising=False)

    def search(brood: Brood, guess: int, hint: int) -> Carried:
        asked.append((brood.anchor_date, guess, hint))
        return _carried(room, next(found))

    monkeypatch.setattr(carry, "_largest", search, raising=False)
    assert [c.largest for c in carry.by_day("one")] == [60, 0, 0, 90]
    assert asked == [(days[0], 500, 500), (days[1], 60, 0), (days[2], 0, 60), (days[3], 0, 60)]


def test_a_tank_is_as_large_as_the_largest_and_cysts_are_bought_in_packs(room: Room) -> None:
    large = evolve(room, tanks=(*room.tanks, evolve(room.tanks[0], name="C", litres=75.0)))
    more, name = with_tank(large, 24.5)
    assert (more.tank(name).litres, more.tank(name).temperature_c) == (75.0, 24.5)
    assert with_tank(evolve(room, tanks=()), 24.5)[0].tanks[0].litres == 40.0
    vessel = Lift("vessel", "a vessel", "vessel 1")
    assert _gain_of(vessel, 90, room, 999.0) == Gain("vessel", "a vessel", "vessel 1", 90)
    cysts = Lift("cysts", "cysts", "buy 100000 cysts")
    # 63 g are set of 30 g: 33 g, sold as 40 g; less than there is takes the least there is.
    gain = _gain_of(cysts, 90, room, 63.0)
    assert (gain.text, gain.supposition, gain.grams) == ("40 g of cysts", "buy 40 cysts", 40.0)
    assert _gain_of(cysts, 90, room, 10.0).grams == 1.0
    assert _gain_of(cysts, 90, evolve(room, cysts=None), 63.0).grams == 75.0
    # 20 g are on their way: 13 g are wanted besides.
    order = Order("cysts", 20.0, 20.0, date(2027, 1, 4), date(2027, 1, 9))
    assert _gain_of(cysts, 90, evolve(room, orders=(order,)), 63.0).grams == 15.0


def test_what_lifts_a_limit_is_known_from_the_weeks_before(room: Room) -> None:
    """With it 90 were fed: they are planned first, and searched for only where they are not."""
    lift, searched = Lift("vessel", "a vessel", "vessel 1"), list[tuple[int, int, int]]()

    def carry(known: int, fed: int) -> Any:
        one: Any = object.__new__(Carry)
        one.room, one._gained = room, {"a vessel": known} if known else {}
        # What is not fed says that nine tenths of it would be: 81 of 90.
        one._trial = lambda _, count, __: Trial(set_g=1.0) if count <= fed else _short(room, 0.9)

        def search(
            _: Brood, guess: int, *, hint: int, least: int, lift: Lift, below: float = math.inf
        ) -> Any:
            assert lift.text == "a vessel"
            assert below == (known if known > least else math.inf)
            searched.append((guess, hint, least))
            return (fed if fed > least else least), None, Trial(set_g=2.0)

        one._search = search
        return one

    found = _carried(room, 60.0)
    for known, fed, size, asked in (
        (90, 90, 90, []), (90, 80, 80, [(81, 0, 60)]), (0, 80, 80, [(61, 500, 60)]),
        (60, 80, 80, [(61, 60, 60)]), (0, 60, None, [(61, 500, 60)]),
    ):  # fmt: skip
        searched.clear()
        one = carry(known, fed)
        gain = one._gain_with(lift, found)
        assert (None if gain is None else gain.largest) == size
        assert searched == asked
        if size is not None:
            assert one._gained == {"a vessel": size}


# --- how long a brood is looked at


def _until(room: Room, kind: str, *foods: str, degrees: float = 26.0) -> tuple[int, BroodCourse]:
    """Days from first food, and its course."""
    tanks = tuple(evolve(tank, temperature_c=degrees) for tank in room.tanks)
    here = evolve(room, tanks=tanks)
    brood = evolve(room.broods[0], fry_class=room.fry_class(kind), foods=foods,
                   anchor="free_swimming", anchor_date=_TODAY)  # fmt: skip
    course = BroodCourse.of(here, brood)
    until = looked_at_until(course)
    assert (until.hour, until.minute) == (0, 0)
    return (until.date() - course.first_food_day()).days, course


def test_a_brood_is_looked_at_for_two_to_eight_weeks(room: Room) -> None:
    """Until the midnight after it can live on dry food; without any until nothing suits it."""
    for degrees in (22.0, 25.0, 28.0):
        days, course = _until(room, "egg_scatterer", "microworm", DRY, degrees=degrees)
        weaned = course.room.at_hour(course.reaches(course.fry_class.values["wean_mm"])).date()
        assert days == min(57, max(14, (weaned - course.first_food_day()).days + 1))
    early = evolve(room.fry_class("egg_scatterer"),
                   values={**room.fry_class("egg_scatterer").values, "wean_mm": 1.0})  # fmt: skip
    brood = evolve(room.broods[0], fry_class=early, foods=(DRY,), anchor_date=_TODAY)
    course = BroodCourse.of(room, brood)
    assert (looked_at_until(course).date() - course.first_food_day()).days == 14
    late = evolve(early, values={**early.values, "wean_mm": early.values["length_limit_mm"] * 2})
    never = BroodCourse.of(room, evolve(brood, fry_class=late))
    assert (looked_at_until(never).date() - never.first_food_day()).days == 57
    assert _until(room, "egg_scatterer", BRINE_SHRIMP)[0] <= 56


def test_a_brood_outgrows_its_foods_on_the_first_day_on_which_none_suits(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Suited from the third to the ninth day; what never suits is looked at to the end."""
    first = date(2027, 1, 5)
    _, course = _until(room, "egg_scatterer", "microworm")
    asked: list[float] = []

    def outgrown(*suits: bool) -> date:
        def diet(*args: Any) -> dict[str, float]:
            asked.append(args[3])
            return {"x": 1.0} if suits[min(len(asked), len(suits)) - 1] else {}

        asked.clear()
        monkeypatch.setattr(brood_trials, "diet_j", diet)
        return brood_trials._outgrown(course, first + timedelta(days=20))

    assert outgrown(False, False, *[True] * 7, False, True) == first + timedelta(days=9)
    noon_h = hours(datetime(2027, 1, 8, 12, tzinfo=UTC))
    assert asked[3] == course.length_mm(noon_h)
    for always in (False, True):
        assert outgrown(always) == first + timedelta(days=20)
        assert len(asked) == 20


# --- how a trial is judged


def _standing(room: Room, *gaps: Gap, away: tuple[int, ...] = ()) -> Standing:
    rounds: Any = tuple(_rounds(12, away=away))
    known = {(g.feeding.index, g.need.brood.name): g for g in gaps}
    none: Any = None
    return Standing(room, _START, rounds, [[] for _ in rounds], [], known, known=none)


def _judged(
    room: Room, before: list[Gap], found: list[Gap], *missing_j: float,
    until: datetime = datetime(2027, 2, 1, tzinfo=UTC),
) -> Trial:  # fmt: skip
    """Of a new brood that needs 1000 J at each of some rounds, at which so much is missing."""
    brood = evolve(room.broods[0], name="new")
    own = []
    for missing in missing_j:
        need = BroodNeed(brood, _START, 6.0, 10, 1000.0, {"worm": 1000.0})
        own.append(Serving(need, need.foods, {"worm": 1000.0 - missing}))
    limits: Any = SimpleNamespace(
        of=lambda gap: f"limit {gap.need.brood.name}", words=lambda *args: f"words {args[2]}"
    )
    gaps = {(g.feeding.index, g.need.brood.name): g for g in found}
    return _standing(room, *before)._judged(gaps, own, "new", until, limits)


def _new(room: Room, index: int, short_j: float) -> Gap:
    gap = _gap(room, index, short_j)
    return evolve(gap, need=evolve(gap.need, brood=evolve(gap.need.brood, name="new")))


def test_a_brood_that_goes_short_is_not_fed(room: Room) -> None:
    """At most so large as its worst round would bear: of 100 J 30 and 45 are missing."""
    trial = _judged(room, [], [_gap(room, 1), _new(room, 2, 30.0), _new(room, 4, 45.0)])
    assert not trial.fed
    assert trial.gap is not None
    assert (trial.gap.feeding.index, trial.limit, trial.cause) == (2, "limit new", "words [2]")
    assert trial.fits == pytest.approx(0.55)


def test_others_may_miss_three_hundredths_more(room: Room) -> None:
    """Of the larger of what they missed before and what it eats, which is 3000 J: 90 J."""
    own = (0.0, 0.0, 0.0)
    assert _judged(room, [], [_gap(room, 2, 90.0)], *own).fed
    held = _judged(room, [], [_gap(room, 2, 60.0), _gap(room, 4, 31.0, brood=1)], *own)
    assert not held.fed
    assert held.gap is not None
    assert held.gap.feeding.index == 2  # the one that misses most more
    assert held.fits == pytest.approx(1.0 - 91.0 / 3000.0)
    before = [_gap(room, 2, 60.0)]
    assert _judged(room, before, [_gap(room, 2, 150.0)], *own).fed
    assert _judged(room, before, [_gap(room, 2, 60.0), _gap(room, 4, 90.0)], *own).fed
    late = _judged(room, before, [_gap(room, 2, 80.0), _gap(room, 4, 75.0)], *own)
    assert late.gap is not None
    assert late.gap.feeding.index == 4  # 75 J more, against 20
    # Where they missed 10,000 J 300 more are little.
    much = [_gap(room, 2, 10_000.0)]
    assert _judged(room, much, [_gap(room, 2, 10_300.0)], *own).fed
    assert not _judged(room, much, [_gap(room, 2, 10_301.0)], *own).fed
    assert _judged(room, [], [_gap(room, 2, 5.0)]).fits == 0.0  # it eats nothing itself
    assert _judged(room, [], [_gap(room, 2, 9000.0)], *own).fits == 0.0


def test_what_no_food_would_mend_or_lies_after_it_does_not_count(room: Room) -> None:
    rounds = _rounds(12, away=(3,))
    away, mouth = _gap(room, 3, 500.0, rounds=rounds), _gap(room, 4, 500.0, foods=False)
    assert not _mendable(away)
    assert not _mendable(mouth)
    assert _mendable(_gap(room, 2))
    assert _judged(room, [], [away, mouth], 0.0).fed
    # What was missing before counts until the new one is looked at no more.
    old, new = [_gap(room, 8, 500.0)], [_gap(room, 2, 400.0)]
    assert _judged(room, old, new, 0.0).fed
    assert not _judged(room, old, new, 0.0, until=_ROUNDS[8].at).fed
    assert _judged(room, [mouth], [], 0.0).fed


def test_what_holds_a_brood_up_is_said_of_its_gap(room: Room) -> None:
    gap, limits = _gap(room), SimpleNamespace(of=lambda _: "thin", words=lambda *_: "why")
    said: Any = limits
    held = _held_up(gap, said, 0.3)
    assert (held.gap, held.limit, held.cause, held.fits) == (gap, "thin", "why", 0.3)


# --- where a plan goes on from


def test_a_broods_needs_stand_in_the_order_of_the_tanks(room: Room) -> None:
    """Tanks B and A; it eats from round 4 on."""
    one, two = room.broods  # in A and in B
    new = evolve(one, name="new", tank="B", anchor="free_swimming", anchor_date=date(2027, 1, 7))
    first, last = (BroodNeed(b, _START, 6.0, 10, 100.0, {}) for b in (two, one))
    standing = evolve(_standing(room), needs=[[first, last] for _ in range(12)])
    feedings, needs, eats = standing._needs_with(evolve(room, broods=(one, two, new)), new, 8)
    assert (len(feedings), len(needs), eats) == (8, 8, 4)
    names = [[need.brood.name for need in row] for row in needs]
    assert names == [["two", "one"]] * 4 + [["two", "new", "one"]] * 4
    assert [len(row) for row in standing.needs] == [2] * 12  # the room's own stand as they were
    late = evolve(new, anchor_date=date(2027, 3, 1))
    assert standing._needs_with(evolve(room, broods=(one, two, late)), late, 8)[2] == 8


def test_what_changes_foods_or_absences_is_planned_anew(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    anew: Any = object()
    asked: list[Any] = []

    def of(*args: Any) -> Any:
        asked.append(args)
        return anew

    standing = _standing(room)
    monkeypatch.setattr(Standing, "of", of)
    larger = evolve(room, vessels=(evolve(room.vessels[0], litres=9.0),))
    same = standing.with_more(larger)
    assert (same.room, same.gaps, asked) == (larger, standing.gaps, [])
    eats = evolve(room, broods=(evolve(room.broods[0], foods=("microworm",)),))
    for other in (evolve(room, vessels=()), eats, evolve(room, away=(Away(_TODAY, _TODAY),))):
        assert standing.with_more(other) is anew
        assert asked.pop() == (other, _START, standing.feedings[-1].at)


def _tried(
    room: Room, monkeypatch: pytest.MonkeyPatch, *given_j: float, cut: int | None = None,
    until: int = 12, rationed: Any = (), tin_short: Any = (), limit: str = "", sets: Any = (),
    gaps: dict[Any, Gap] | None = None,
) -> tuple[Trial, list[bool]]:  # fmt: skip
    """A brood that needs 100 J at each round from the second on and gets so many nauplii."""
    one = room.broods[0]
    new = evolve(one, name="new", anchor_date=date(2027, 1, 5))
    rows = [[Serving(BroodNeed(new, r.at, 6.0, 10, 100.0, {}), {}, {BRINE_SHRIMP: j})]
            for r, j in zip(_ROUNDS, given_j, strict=False)]  # fmt: skip
    planned: list[bool] = []

    def plan_feeding(*_: Any, enough: Callable[..., bool] | None = None, **__: Any) -> Any:
        part = SimpleNamespace(
            servings=rows, feedings=_ROUNDS if cut is None or enough is None else _ROUNDS[:cut],
            hatches=SimpleNamespace(
                rationed=rationed, tin_short=tin_short,
                out_h=next((at_h for at_h, _ in tin_short), math.inf),
            ),
        )  # fmt: skip
        planned.append(enough(part, len(part.feedings)) if enough is not None else False)
        return part

    monkeypatch.setattr(brood_trials, "plan_feeding", plan_feeding)
    monkeypatch.setattr(brood_trials, "_gaps", lambda *_: gaps or {})
    monkeypatch.setattr(brood_trials, "Limits", lambda *_: None)
    monkeypatch.setattr(brood_trials, "cyst_uses", lambda *_: sets)
    monkeypatch.setattr(brood_trials, "rounds_until", lambda *_: _ROUNDS)
    monkeypatch.setattr(Standing, "_judged", lambda *_: Trial(limit=limit))
    standing = evolve(_standing(room), needs=[[] for _ in _ROUNDS])
    end = _ROUNDS[until].at if until < 12 else _ROUNDS[-1].at + timedelta(hours=1)
    return standing.trial(new, end), planned


def test_a_fifth_of_a_round_missing_is_plainly_short(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then the rest need not be planned, unless the marks of a syringe made it good."""
    assert _tried(room, monkeypatch, 100.0, 80.0)[1] == [False]
    assert _tried(room, monkeypatch, 100.0, 79.9)[1] == [True]
    mine = {(1, "new"): _gap(room, 1)}
    assert _tried(room, monkeypatch, 100.0, 50.0, cut=6, gaps=mine)[1] == [True]
    again = _tried(room, monkeypatch, 100.0, 50.0, cut=6)[1]
    assert again == [True, False]
    others = {(1, "one"): _gap(room, 1), (6, "new"): _gap(room, 6)}
    assert _tried(room, monkeypatch, 100.0, 50.0, cut=6, gaps=others)[1] == [True, False]


def test_a_trial_jumps_where_the_tin_holds_it_up_or_feeds_it(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    scarce: Any = {"rationed": (1,)}
    short: Any = {"tin_short": ((hours(_START), 1.0),)}
    for fed_j, more, jumpy in (
        (50.0, scarce, True), (50.0, short, True), (50.0, {}, False),
        (0.0, scarce, False), (0.0, {"limit": "tin"}, True), (50.0, {"limit": "thin"}, False),
    ):  # fmt: skip
        trial, _ = _tried(room, monkeypatch, fed_j, fed_j, **more)
        assert trial.jumpy is jumpy
    # Nauplii that it gets after it is looked at are no matter.
    assert not _tried(room, monkeypatch, 0.0, 0.0, 0.0, 9.0, until=3, **scarce)[0].jumpy
    uses: Any = [SimpleNamespace(at=r.at, grams=2.0) for r in _ROUNDS]
    assert _tried(room, monkeypatch, 0.0, sets=uses, until=3)[0].set_g == 6.0


def test_a_days_lift_is_the_first_that_gives_something(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    lifts = [Lift("vessel", "a"), Lift("cysts", "b"), Lift("food", "c")]
    asked: list[Any] = []

    def of(*args: Any) -> Any:
        asked.append(args[2:])
        return iter(lifts)

    monkeypatch.setattr(module, "lifts_of", of)
    carry: Any = object.__new__(Carry)
    carry.room, carry.now = room, _START
    carry._gain_with = lambda lift, _: Gain("x", lift.text, "", 9) if lift.text > "a" else None
    held = _carried(room, 60.0, _short(room, limit="tin"))
    gain = carry._gain(held)
    assert gain is not None
    assert gain.text == "b"
    assert asked == [(held.gap, "tin")]
    assert carry._gain(_carried(room, 60.0)) is None
    assert len(asked) == 1


# --- wishes, and what they are tried in


def test_wishes_are_granted_by_their_days_each_in_the_room_as_it_is_then(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    carry, seen = object.__new__(Carry), list[tuple[str, int]]()
    carry.room, carry.now = room, _START

    def suppose(there: Room, text: str, _: datetime) -> Room:
        day = date(2027, 1, int(text.rpartition("-")[2]))
        new = evolve(room.broods[0], name=text.split()[1], anchor_date=day)
        return evolve(there, broods=(*there.broods, new))

    def wish(text: str, brood: Brood) -> Any:
        seen.append((brood.name, len(carry.room.broods)))
        count = 0 if text == texts[0] else 9
        return SimpleNamespace(text=text, carried=SimpleNamespace(largest=count, brood=brood))

    monkeypatch.setattr(module, "suppose", suppose)
    monkeypatch.setattr(carry, "wish", wish, raising=False)
    texts = ["a 9 on 2027-01-19", "b 9 on 2027-01-12", "c 9 on 2027-01-19"]
    assert [one.text for one in carry.grant(texts)] == [texts[1], texts[0], texts[2]]
    assert seen == [("b", 2), ("a", 3), ("c", 3)]  # of the second none is fed


def test_a_brood_is_tried_in_its_tank(room: Room) -> None:
    """One egg of today: in the tank that is named, else where a spawning of such fish would be."""
    carry: Any = object.__new__(Carry)
    carry.now = _START
    named, like = room.tanks[-1].name, room.broods[0]
    brood = carry._brood(room, like.name, named)
    assert (brood.tank, brood.count, brood.anchor_date) == (named, 1.0, _START.date())
    taken = evolve(room, tanks=(room.tank(like.tank),), broods=(like,), hoped=())
    assert carry._brood(taken, like.name, None).tank == like.tank
    for words, tank in (("no such fish", None), (like.name, "nowhere")):
        with pytest.raises(CarryError, match=tank or words):
            carry._brood(room, words, tank)


def test_the_room_is_planned_once_as_far_as_is_looked(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nine, five, twelve and two days on; what was lifted is forgotten where it is planned anew."""
    made: list[datetime] = []

    def of(_: Room, __: datetime, until: datetime, *, tell: bool) -> Any:
        assert tell
        made.append(until)
        return object()

    monkeypatch.setattr(module, "Standing", SimpleNamespace(of=of))
    days = lambda course: _START + timedelta(days=course.brood.anchor_date.day)  # noqa: E731
    monkeypatch.setattr(module, "looked_at_until", days)
    carry = object.__new__(Carry)
    carry.room, carry.now, carry._standing, carry._until = room, _START, None, _START
    carry._lifted, carry._tell = {}, True
    some: Any = object()
    for looked, anew in (((7, 9), True), ((5,), False), ((9, 12), True), ((2,), False)):
        carry._lifted["vessel 1"] = some
        before = len(made)
        carry._look(room.broods[0], [date(2027, 1, day) for day in looked])
        assert len(made) - before == anew
        assert ("vessel 1" in carry._lifted) is not anew
        assert made[-1] == _START + timedelta(days=9 if len(made) == 1 else 12)
    carry._standing = None  # a wish was granted: as far as before
    carry._look(room.broods[0], [date(2027, 1, 3)])
    assert made[-1] == _START + timedelta(days=12)
    assert len(made) == 3


def test_a_lift_is_made_once_and_its_food_given_to_the_brood(room: Room) -> None:
    rooms: list[Room] = []
    lifted = SimpleNamespace(trial=lambda *args, **_: args)

    def with_more(there: Room) -> Any:
        rooms.append(there)
        return lifted

    carry: Any = object.__new__(Carry)
    plain = SimpleNamespace(room=room, trial=lambda *args, **_: args, with_more=with_more)
    carry.room, carry.now, carry._standing, carry._lifted = room, _START, plain, {}
    brood = evolve(room.broods[0], name="new", foods=("microworm",), anchor_date=_TODAY)
    lift = Lift("food", "dry food", food=DRY)
    assert carry._with(None) is plain
    for _ in range(2):
        tried, until = carry._trial(brood, 40, lift)
        assert (tried.count, tried.foods) == (40, ("microworm", DRY))
        assert until == looked_at_until(BroodCourse.of(room, tried))
    assert rooms == [room]
    tried, _ = carry._trial(brood, 50)
    assert (tried.count, tried.foods) == (50, ("microworm",))


def test_a_brood_that_gets_dry_food_is_weaned_when_it_is_looked_at_no_more(room: Room) -> None:
    carry: Any = object.__new__(Carry)
    carry.room = room
    for foods, weaned in ((("microworm",), False), (("microworm", DRY), True), (None, True)):
        brood = evolve(room.broods[0], foods=foods, anchor_date=_TODAY)
        told = carry._carried(brood, 40, None, Trial())
        assert (told.weaned, told.largest) == (weaned, 40)
        assert told.first_food == BroodCourse.of(room, brood).first_food_day()


def test_what_cannot_be_fed_in_full_is_said_with_what_failed(room: Room) -> None:
    """Not even the smallest: the trial of all of it says why."""
    brood = evolve(room.broods[0], name="new", count=5.0, anchor_date=_TODAY)
    carry = _Wished(room, 0, [_TODAY], date(2027, 3, 1))
    wish = carry.wish("new 5", brood)
    assert wish.carried.limited is not None
    assert wish.carried.limited.fits == 0.0


def test_of_broods_that_are_supposed_those_far_ahead_are_put_in_untried(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    near, far = (
        evolve(room.broods[0], name=name, anchor="spawned", anchor_date=_TODAY + timedelta(days))
        for name, days in (("near", 3), ("far", 90))
    )
    carry = _Wished(room, 500, [], date(2028, 1, 1))
    carry.now = _START
    monkeypatch.setattr(carry, "_look", lambda *_: None)
    assert [wish.text for wish in carry.ask([far, near])] == ["near"]
    assert [brood.name for brood in carry.room.broods] == ["one", "two", "far", "near"]


def test_a_tin_that_lacks_cysts_before_a_parcel_does_not_run_out(room: Room) -> None:
    """5 g lack a day from now, and 50 g come two days from now; then it lacks again."""
    need: Any = SimpleNamespace(foods={BRINE_SHRIMP: 50.0}, energy_j=100.0,
                                at=_START + timedelta(days=9))  # fmt: skip
    own: Any = [SimpleNamespace(need=need, given_j={BRINE_SHRIMP: 10.0})]
    day_h = [hours(_START + timedelta(days=n)) for n in range(4)]

    def out(lacks: list[int], parcels: tuple[tuple[float, float], ...] = ()) -> Any:
        none: Any = None
        short = [(day_h[n], 5.0) for n in lacks]
        plan: Any = SimpleNamespace(
            hatches=HatchPlan([], [], [], [], short, none, (), parcels=parcels)
        )
        return _tin_out(room, plan, own)

    assert out([1]) == room.at_hour(day_h[1])
    assert out([1], ((day_h[2], 50.0),)) is None
    assert out([1, 3], ((day_h[2], 50.0),)) == room.at_hour(day_h[3])
