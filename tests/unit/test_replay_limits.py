"""What entries make of stocks, hatches, cultures and meals, at the limits of each rule.

The room is that of `test_replay_by_hand`: its bottle stands at 27 °C, where cysts hatch in 17 to
23 hours; its box has microworms.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest
from attrs import evolve

from cultures.foods.worms import CultureState, first_harvest_age
from cultures.fry.feeding import feeding_values
from cultures.journal.absences import Away
from cultures.journal.entries import Entry
from cultures.record.carried_out import as_entry
from cultures.replay.culture_course import culture_course
from cultures.replay.doubts import brood_doubt, dose_doubt, drawn_doubt, most_nauplii, worms_doubt
from cultures.replay.meals import Meals, _Plate, _shares
from cultures.replay.own_values import OwnValues
from cultures.replay.replay import Replayed, Step
from cultures.replay.shared import Deed
from cultures.replay.stocks import Stocks
from cultures.room.jars import vessel_model
from cultures.room.room import Cysts, HeldNauplii, Room, RunningHatch
from cultures.tasks.plan import CultureSpan
from cultures.tasks.told import Draw, FeedLine, ToldTask
from cultures.words.moments import hours
from tests.unit.recorded import replay, told_task
from tests.unit.test_replay_by_hand import ROOM, _at, _replayed

_OUT_OF_FILE = "is not in the room file"


def _carried(now: datetime, *steps: Entry | Step, room: Room = ROOM) -> Replayed:
    numbered = [
        s if isinstance(s, Step) else s._replace(line=i + 2) for i, s in enumerate(steps)
    ]  # fmt: skip
    return replay(room, numbered, now, OwnValues())


def _as_told(told: ToldTask) -> Step:
    return Step(as_entry(told), told, True)


# --- stocks


def test_the_last_gram_lacks_nothing_and_what_is_misweighed_is_not_told() -> None:
    """Five grams below nothing are only a bad scale."""
    stocks = Stocks.of(ROOM, 0.0)
    stocks.use("dry", 100.0, 1.0)
    assert (stocks.grams["dry"], stocks.lacked) == (0.0, {})
    stocks.use("dry", 4.99, 2.0)
    assert stocks.lacked == {"dry": pytest.approx((2.0, 4.99))}
    assert [*stocks.remarks(ROOM)] == []
    stocks.use("dry", 0.02, 3.0)
    assert stocks.lacked["dry"] == pytest.approx((2.0, 5.01))  # since it first lacked
    (said,) = stocks.remarks(ROOM)
    assert "5 g more dry food went than there was" in said
    stocks.stand("dry", 30.0, 4.0)
    assert (stocks.lacked, stocks.grams["dry"]) == ({}, 30.0)


def test_what_was_weighed_before_the_file_is_in_it() -> None:
    stocks = Stocks.of(ROOM, 100.0)
    stocks.stand("salt", 7.0, 99.9)
    assert stocks.grams["salt"] == 500
    stocks.stand("salt", 7.0, 100.0)
    assert stocks.grams["salt"] == 7
    stocks.stand("gravel", 7.0, 101.0)
    assert "gravel" not in stocks.grams
    assert not stocks.bought
    stocks.stand("cysts", 7.0, 101.0)
    assert stocks.bought


@pytest.mark.parametrize(("stock", "known"), [("salt", True), ("gravel", False)])
@pytest.mark.parametrize("event", ["count", "used", "bought"])
def test_a_stock_that_the_room_does_not_have_is_told(event: str, stock: str, known: bool) -> None:
    got = _replayed((_at(6), event, stock, "", 20, "g"), now=_at(7)).room
    assert any(_OUT_OF_FILE in note for note in got.notes) is not known
    if known:
        assert got.stock_g["salt"] == {"count": 20, "used": 480, "bought": 520}[event]


def test_a_round_noted_without_an_amount_takes_no_dry_food() -> None:
    for amount, left in ((None, 100), (3.0, 97)):
        got = _replayed((_at(6), "fed", "08:00", "", amount, "g" if amount else ""), now=_at(7))
        assert got.room.stock_g["dry"] == left


# --- hatches


@pytest.mark.parametrize(("after_h", "may_be"), [(16.9, False), (17.1, True)])
def test_nobody_draws_off_what_has_hardly_begun(after_h: float, may_be: bool) -> None:
    """A tenth is out after 17 hours; a told harvest before that was none."""
    drawn = _at(7, 8)
    told = told_task("harvest_hatch", drawn, "bottle", {"nauplii": 1e5}, key="harvest_hatch/10/1")
    set_at = drawn - timedelta(hours=after_h)
    got = _carried(_at(8), Entry(set_at, "set", "bottle", "", 2.0, "g"), _as_told(told))
    assert (told.task.id in got.contradicted) is not may_be
    assert bool(got.room.hatches) is not may_be


def test_a_told_harvest_is_that_of_the_hatch_of_its_key() -> None:
    at = _at(7, 8)
    told = told_task("harvest_hatch", at, "bottle", {"nauplii": 1.0}, key="harvest_hatch/10/1#2")
    assert told.hatch == "10/1"
    for key, mine in (("", True), ("10/1", True), ("10/1#3", True), ("10/2", False)):
        assert RunningHatch("bottle", _at(6), 2.0, key=key).is_of(told) is mine, key
    for set_at, before in ((at, False), (at - timedelta(seconds=1), True)):
        assert RunningHatch("bottle", set_at, 2.0).is_of(told) is before


def test_a_hatch_and_a_harvest_are_whole_unless_something_is_known() -> None:
    assert RunningHatch("bottle", _at(6), 2.0).share == 1.0
    assert HeldNauplii("bottle", _at(6), 10.0, 1.0).share == 1.0


def _fed_with(*draws: Draw, nauplii: float, at: datetime, key: str = "feed/1") -> ToldTask:
    told = told_task("feed", at, "08:00", {"tanks": 1.0, "nauplii": nauplii}, key=key)
    return evolve(told, draws=draws)


def _drawn(*fed: ToldTask, counted: float = 100_000.0, now: datetime | None = None) -> Replayed:
    return _carried(
        now or _at(7, 9),
        Entry(_at(6, 7), "set", "bottle", "", 2.0, "g"),
        Entry(_at(7, 7), "hatched", "bottle", "", counted, "nauplii"),
        *map(_as_told, fed),
    )


def test_a_jar_gives_its_told_parts_and_is_empty_then() -> None:
    """Half of the harvest leaves half; the other half all of it, whatever floats make of it."""
    half = Draw("bottle", _at(7, 7), None, 50.0, 0.5)
    first = _fed_with(half, nauplii=50_000, at=_at(7, 8))
    one = _drawn(first)
    (held,) = one.room.held
    assert (held.nauplii, held.share) == pytest.approx((50_000, 0.5))
    both = _drawn(first, _fed_with(half, nauplii=50_000, at=_at(7, 8, 30), key="feed/2"))
    assert both.room.held == ()
    assert not both.unfed | both.missed


@pytest.mark.parametrize(("part", "jars"), [(0.979, 1), (0.981, 0)])
def test_a_crumb_of_a_jar_is_nothing(part: float, jars: int) -> None:
    """10 mL of half a litre cling to glass and sieve (common practice, no source)."""
    told = _fed_with(Draw("bottle", _at(7, 7), 500.0, 490.0, part), nauplii=98_000, at=_at(7, 8))
    assert len(_drawn(told).room.held) == jars


@pytest.mark.parametrize(
    ("counted", "came"), [(100_000.0, True), (11_000.0, True), (9_000.0, False)]
)
def test_nauplii_did_not_come_where_nine_in_ten_are_missing(counted: float, came: bool) -> None:
    told = _fed_with(Draw("bottle", _at(7, 7), None, 100.0, 1.0), nauplii=100_000, at=_at(7, 7, 1))
    assert (told.task.id not in _drawn(told, counted=counted).unfed) is came


@pytest.mark.parametrize(("off_h", "same"), [(11.9, True), (12.1, False)])
def test_a_harvest_told_for_another_time_is_the_same_within_half_a_day(
    off_h: float, same: bool
) -> None:
    harvested = _at(7, 7) + timedelta(hours=off_h)
    told = _fed_with(Draw("bottle", harvested, None, 100.0, 1.0), nauplii=1e5, at=_at(7, 8))
    got = _drawn(told)
    assert (told.task.id not in got.missed) is same


def test_what_a_jar_that_is_not_there_was_to_give_is_taken_of_one_that_is() -> None:
    """Told half a day before, of a hatch that never was: 30,000 of the 100,000 that are held."""
    draws = Draw("cone", _at(7, 7), 500.0, 250.0, 0.5), Draw("bottle", _at(7, 7), 500.0, 50.0, 0.1)
    told = _fed_with(*draws, nauplii=40_000, at=_at(7, 8))
    got = _drawn(told)
    (held,) = got.room.held
    # Of the cone nothing comes; its part and that of the bottle are 40 % of what was drawn off,
    # but for the few that died within the hour.
    assert held.share == pytest.approx(0.6, abs=0.01)
    assert told.task.id in got.missed
    assert told.task.id not in got.unfed
    own, other = got.drawn[told.task.id]
    assert own == draws[1]
    assert (other.vessel, other.jar_ml) == ("bottle", 450.0)  # of half a litre
    assert other.take_ml == pytest.approx(150.0, abs=5.0)


def test_a_hatch_that_is_drawn_off_after_its_round_gives_it_nothing_else() -> None:
    """The keeper waited for it: what else is held is not thought to be fed."""
    round_at = _at(7, 8)
    setting = told_task("set_hatch", _at(6, 8), "cone", {"cysts_g": 2.0, "water_l": 1.0,
                        "salt_g": 25.0}, key="set_hatch/10/2")  # fmt: skip
    setting = evolve(setting, harvest_at=_at(7, 7))
    told = _fed_with(Draw("cone", _at(7, 7), None, 100.0, 1.0), nauplii=100_000, at=round_at)
    room = evolve(ROOM, vessels=(*ROOM.vessels, evolve(ROOM.vessels[0], name="cone")))
    for stands in (False, True):
        got = _carried(
            _at(7, 9),
            Entry(_at(6, 7), "set", "bottle", "", 2.0, "g"),
            *([_as_told(setting)] if stands else []),
            Entry(_at(7, 7), "hatched", "bottle", "", 100_000.0, "nauplii"),
            _as_told(told),
            room=room,
        )
        assert (told.task.id in got.unfed) is stands


def test_a_jar_is_the_one_that_its_harvest_was_told() -> None:
    """Half a litre stays half a litre, in whatever units the room is measured later."""
    told = told_task("harvest_hatch", _at(7, 7), "bottle", {"nauplii": 1e5, "jar_ml": 500.0},
                     key="harvest_hatch/10/1")  # fmt: skip
    got = _carried(_at(7, 9), Entry(_at(6, 7), "set", "bottle", "", 2.0, "g"), _as_told(told))
    (held,) = got.room.held
    assert held.jar_ml == 500.0


@pytest.mark.parametrize(
    ("early_min", "called"), [(0, 30), (10, 30), (45, 30), (46, -16), (-5, 35)]
)  # fmt: skip
def test_a_jar_that_is_ticked_early_is_called_as_it_was_told(early_min: int, called: int) -> None:
    """Its label is written; one that is drawn off longer before was not told, and takes its own."""
    told = told_task("harvest_hatch", _at(7, 7, 30), "bottle", {"nauplii": 1e5, "jar_ml": 500.0},
                     key="harvest_hatch/10/1")  # fmt: skip
    drawn = _at(7, 7, 30) - timedelta(minutes=early_min)
    got = _carried(
        _at(7, 9), Entry(_at(6, 7), "set", "bottle", "", 2.0, "g"),
        Step(Entry(drawn, "harvest", "bottle"), told),
    )  # fmt: skip
    (held,) = got.room.held
    assert held.harvested_at == _at(7, 7) + timedelta(minutes=called)


def test_a_hatch_is_as_old_as_the_hours_that_it_was_warm_make_it() -> None:
    """Ten hours warm, five cold and eight warm count for less than 23 warm ones, and for more than
    18: as many as the cold ones are worth, by the rates of development. The cold ones alone, set
    at once, count for what they are.
    """
    setting, (bottle,) = _at(6, 8), ROOM.vessels
    warm, cold = (
        vessel_model(ROOM, evolve(bottle, temperature_c=t)) for t in (bottle.temperature_c, 17.0)
    )
    assert 0.0 < cold.rate < warm.rate
    rows = [
        Entry(setting, "set", "bottle", "", 2.0, "g"),
        Entry(_at(6, 18), "temperature", "bottle", "", 17.0, "c"),
        Entry(_at(6, 23), "temperature", "bottle", "", bottle.temperature_c, "c"),
        Entry(_at(7, 7), "harvest", "bottle"),
    ]
    cut = _carried(_at(7, 9), *rows)
    age_h = 18.0 + 5.0 * cold.rate / warm.rate
    assert cut.room.held[0].nauplii == pytest.approx(2.0 * warm.nauplii(age_h))
    assert cut.room.held[0].energy_j == pytest.approx(2.0 * warm.energy(age_h))
    # While it is cold it is no younger than it was, and comes on as slowly as that.
    (stands,) = _carried(_at(6, 22), *rows[:2]).room.hatches
    assert stands.begun_h(cold.rate) == pytest.approx(
        hours(_at(6, 18)) - 10.0 * warm.rate / cold.rate
    )
    assert (stands.set_at, stands.begun_h(0.0)) == (setting, hours(_at(6, 18)))


def test_less_than_one_nauplius_is_not_held() -> None:
    assert len(_drawn(counted=1.0).room.held) == 1
    assert _drawn(counted=0.9).room.held == ()


def test_a_count_that_cannot_be_teaches_nothing() -> None:
    """Nothing at all, and more than half as much again as the best cysts give."""
    most = 1.5 * 2.0 * ROOM.hatch_kind.parameters["nauplii_per_gram"].high
    for counted, taught in ((0.0, 0), (1.0, 1), (most, 1), (most * 1.001, 0)):
        got = _drawn(counted=counted)
        assert len(got.seen.hatches) == taught, counted
        assert len(got.seen.set_aside) == 1 - taught


# --- cultures


@pytest.mark.parametrize(("starter_g", "part"), [(1.0, 1.0), (15.0, 1.0), (15.0, 1e-4)])
def test_the_first_day_of_a_harvest_is_that_on_which_worms_climb(
    starter_g: float, part: float
) -> None:
    """20 mg in a gram of starter, from noon of its start by its own clock; in a ten thousandth of
    the box too, in which less than a milligram climbs.
    """
    box = ROOM.culture("MW-1")
    assert box.surface_cm2 is not None
    starter_g *= part
    fresh = evolve(box, started=date(2027, 1, 5), starter_g=starter_g,
                   medium_g=part * box.medium_g, surface_cm2=part * box.surface_cm2)  # fmt: skip
    life = replay(evolve(ROOM, cultures=(fresh,)), (), _at(5, 13), OwnValues()).lives["MW-1"]
    climb_h = life.clock.when(hours(_at(5, 12)), first_harvest_age(life.model, 20.0 * starter_g))
    course = culture_course(ROOM, life, (), None, _at(5, 13))
    assert course.ripe_from == ROOM.at_hour(climb_h).date()
    assert course.ripe_from > date(2027, 1, 6)
    (marked,) = (d.day for d in course.days if "ripe" in d.marks)
    assert marked == course.ripe_from


def test_a_split_box_stands_from_its_split_on_with_what_it_was_given() -> None:
    """Of the parent's worms, not of a usual starter; it is ripe on the day that the plan says."""
    got = _replayed((_at(6, 8), "split", "MW-1", "MW-3", 15, "g"), now=_at(6, 9))
    given = got.lives["MW-3"].state.stock_mg
    assert given != pytest.approx(15.0 * ROOM.kinds["microworm"].values["starter_mg_per_g"])
    span = CultureSpan("MW-3", "microworm", _at(6, 8), _at(15, 20), None)
    for now in (_at(6, 9), _at(6, 22), _at(8, 9)):
        life = _replayed((_at(6, 8), "split", "MW-1", "MW-3", 15, "g"), now=now).lives["MW-3"]
        course = culture_course(ROOM, life, (), span, now)
        assert course.ripe_from == date(2027, 1, 15)
        assert course.days[0].stock_mg == pytest.approx(given)
        alone = culture_course(ROOM, life, (), None, now).ripe_from
        assert alone == culture_course(ROOM, got.lives["MW-3"], (), None, _at(6, 9)).ripe_from


def test_what_is_taken_on_a_day_stands_on_that_day() -> None:
    got = _replayed(
        (_at(6, 8), "harvest", "MW-1", "", 25, "mg"), (_at(6, 20), "harvest", "MW-1", "", 30, "mg"),
        (_at(8, 8), "harvest", "MW-1", "", 20, "mg"), now=_at(9, 9),
    )  # fmt: skip
    ahead = told_task("harvest_worms", _at(10, 8), "MW-1", {"mg": 40.0}).task
    past = told_task("harvest_worms", _at(9, 8), "MW-1", {"mg": 7.0}).task
    course = culture_course(ROOM, got.lives["MW-1"], (past, ahead), None, _at(9, 9))
    by_day = {d.day.day: d for d in course.days if d.day.month == 1}
    assert [by_day[n].taken_mg for n in (5, 6, 7, 8, 9, 10)] == [0, 55, 0, 20, 0, 0]
    assert [by_day[n].ahead_mg for n in (8, 9, 10, 11)] == [0, 0, 40, 0]
    assert [by_day[n].planned for n in (9, 10)] == [False, True]
    assert by_day[9].marks == ("today",)
    # Without a word of when it is spent, two months ahead are shown.
    assert course.days[-1].day == date(2027, 1, 9) + timedelta(days=60)
    span = CultureSpan("MW-1", "microworm", _at(1), None, _at(12, 12))
    spent = culture_course(ROOM, got.lives["MW-1"], (), span, _at(9, 9))
    assert (spent.days[-1].day, spent.days[-1].marks) == (date(2027, 1, 12), ("spent",))


def test_a_label_told_and_begun_later_was_not_begun_as_told() -> None:
    """Its box is the one that was noted; another note of the label first says that it stood."""
    told = told_task("split", _at(6, 9), "MW-1", {"starter_g": 15.0, "medium_g": 150.0},
                     other="MW-3", key="split/MW-3", kind="microworm")  # fmt: skip
    later = Entry(_at(7, 9), "split", "MW-1", "MW-3", 15.0, "g")
    assert _carried(_at(8), _as_told(told), later).contradicted == {"split/MW-3"}
    used = Entry(_at(6, 20), "harvest", "MW-3", "", 0, "mg")
    assert _carried(_at(8), _as_told(told), used, later).contradicted == frozenset()
    assert _carried(_at(8), _as_told(told), used).contradicted == frozenset()
    before = Entry(_at(6, 8), "harvest", "MW-3", "", 0, "mg")
    got = _carried(_at(8), before, _as_told(told), later)
    assert got.contradicted == {"split/MW-3"}


def test_a_told_task_that_was_skipped_is_not_asked_for_before_the_next_round() -> None:
    told = told_task("set_hatch", _at(6, 9), "bottle", {"cysts_g": 1.0}, key="set_hatch/1")
    skip = Entry(_at(6, 8), "skip", "bottle", "set_hatch/1", line=2)
    got = _carried(_at(8), Step(skip, told))
    assert got.room.not_before == {"bottle": _at(6, 20)}
    late = _carried(_at(8), Step(skip._replace(when=_at(6, 10)), told))
    assert late.room.not_before == {"bottle": _at(6, 20)}


# --- meals


def test_what_is_told_here_and_there_is_even_within_a_day_and_a_half() -> None:
    """Two rounds that need 10 J, of which one was told all of it and the other none: half each."""
    row = [_Plate(0.0, 10.0, 0.0, 0.0), _Plate(12.0, 10.0, 10.0, 10.0)]
    assert [meal.share for meal in _shares(row, ())] == [0.5, 0.5]
    apart = [_Plate(0.0, 10.0, 0.0, 0.0), _Plate(36.0, 10.0, 10.0, 10.0)]
    assert [meal.share for meal in _shares(apart, ())] == [0.5, 0.5]
    farther = [_Plate(0.0, 10.0, 0.0, 0.0), _Plate(36.1, 10.0, 10.0, 10.0)]
    assert [meal.share for meal in _shares(farther, ())] == [0.0, 1.0]


def test_from_nine_tenths_on_a_row_of_meals_is_full() -> None:
    for told, share in ((9.0, 1.0), (8.9, 0.89), (12.0, 1.0)):
        row = [_Plate(0.0, 10.0, told, told)]
        assert [meal.share for meal in _shares(row, ())] == [pytest.approx(share)]
    half = [_Plate(0.0, 10.0, 10.0, 5.0), _Plate(1.0, 0.0, 3.0, 3.0)]  # who needs nothing eats none
    assert [(meal.at_h, meal.share) for meal in _shares(half, ())] == [(0.0, 0.5)]


@pytest.mark.parametrize(
    ("left_h", "shares"),
    [
        (0.0, [1.0, 0.0]), (11.9, [1.0, 0.0]), (12.0, [0.0, 1.0]), (36.0, [0.0, 1.0]),
        (36.1, [0.0, 0.0]), (-0.1, [0.0, 0.0]),
    ],
)  # fmt: skip
def test_who_left_food_had_enough_at_the_meal_before_within_a_day(
    left_h: float, shares: list[float]
) -> None:
    row = [_Plate(0.0, 10.0, 10.0, 0.0), _Plate(12.0, 10.0, 10.0, 0.0)]
    assert [meal.share for meal in _shares(row, (left_h,))] == shares


def test_an_absence_covers_its_first_and_its_last_day() -> None:
    room = evolve(ROOM, away=(Away(date(2027, 1, 10), date(2027, 1, 12), False),))
    assert [room.away_on(date(2027, 1, day)) is not None for day in range(9, 14)] == [
        False, True, True, True, False
    ]  # fmt: skip
    assert room.local(date(2027, 1, 10), time(8)) == _at(10, 8)
    assert room.at_hour(hours(_at(10, 8)) + 0.4 / 3600) == _at(10, 8)


# --- doubts


def test_a_starter_may_hold_more_worms_than_are_thought_to_stand() -> None:
    """It is grams of medium, of which the culture has enough."""
    life = _replayed(now=_at(5, 9)).lives["MW-1"]
    for starter, doubted in ((150.0, False), (150.1, True), (None, False)):
        split = Entry(_at(6), "split", "MW-1", "MW-2", starter, "g")
        assert (worms_doubt(split, life, 1e9, 1e-3) is not None) is doubted


def test_a_mass_of_worms_is_told_in_grams_from_one_on() -> None:
    life = _replayed(now=_at(5, 9)).lives["MW-1"]
    harvest = Entry(_at(6), "harvest", "MW-1", "", 1, "mg")
    life.state = CultureState(0.0)
    for taken, said in ((999.0, "1,000 mg"), (1000.0, "1 g"), (1400.0, "1.4 g"), (50.0, "50 mg")):
        assert (worms_doubt(harvest, life, taken, 1e-3) or "").startswith(f"{said} of worms cannot")
    weighed = Entry(_at(6), "count", "MW-1", "", 20.0, "mg")
    assert "cannot be taken" in (worms_doubt(weighed, life, 20.0, 1e-3) or "")
    swiped = Entry(_at(6), "count", "MW-1", "", 20.0, "worms")
    assert "cannot be in one swipe or draw" in (worms_doubt(swiped, life, 20.0, 1e-3) or "")


def test_a_count_of_the_day_of_the_last_one_is_doubted_too() -> None:
    fry = ROOM.brood("fry")
    for day, doubted in ((4, False), (5, True)):
        entry = Entry(_at(day), "count", "fry", "", 151, "fry")
        assert (brood_doubt(entry, fry, _at(day)) is not None) is doubted


def test_nobody_draws_off_twice_and_a_count_of_then_can_be_taken_back() -> None:
    entry = Entry(_at(7), "hatched", "bottle", "", 5, "nauplii")
    assert "journal undo --line 3 first" in drawn_doubt(entry, _at(6), 3, _at(7))
    assert "undo" not in drawn_doubt(entry, _at(6), 0, _at(7))


def test_no_more_nauplii_than_the_best_of_kind_or_keeper() -> None:
    kind = ROOM.hatch_kind
    best = kind.parameters["nauplii_per_gram"].high
    assert most_nauplii(kind, None, 1.0) == most_nauplii(kind, Cysts(5.0), 1.0) == 1.5 * best
    assert most_nauplii(kind, Cysts(5.0, 2 * best), 1.0) == 3 * best


def _meals_of(told: ToldTask, *deeds: Entry, nauplii: float = 1.0) -> Meals:
    meals = Meals(ROOM)
    for entry in (Entry(told.task.at, "fed", told.task.subject), *deeds):
        deed = Deed(entry, entry.when, hours(entry.when), told, False)
        if entry.event == "skip":
            meals.skipped(deed)
        else:
            meals.fed(deed, nauplii=nauplii, fry={})
    return meals


def _round(*given: tuple[str, str, float]) -> ToldTask:
    """A round at 08:00 that needs 10 J of each food for its brood and gives so much, in 10 mL."""
    at = _at(8, 8)
    lines = tuple(
        FeedLine(at, tank, f"of {tank}", food, 10.0, j, 10.0, "mL") for tank, food, j in given
    )
    return evolve(told_task("feed", at, "08:00", {"tanks": 2.0}, key="feed/8"), lines=lines)


def _share(meals: Meals, tank: str = "A") -> float:
    """What a brood got of its need at the round, 1 where none of it was short."""
    found = meals.of(f"of {tank}", hours(_at(8, 0)), hours(_at(9, 0)))
    return found[0].share if found else 1.0


def test_dry_food_that_was_not_told_is_a_meal_beside_what_was_told() -> None:
    """Of 10 J in worms none were given, and half of that in dry food, by what a gram of it brings.

    Two broods of the tank, which need as much, get half of it each; another tank gets nothing.
    """
    v = feeding_values()
    half_g = 5.0 / (v["dry_j_per_g"] * v["dry_digested"])
    told = _round(("A", "microworm", 10.0), ("B", "microworm", 10.0))
    no_worms = Entry(_at(8, 8), "fed", "A", "microworm", 0.0, "mL")
    dry = Entry(_at(8, 8), "fed", "A", "dry", half_g, "g")
    assert _share(_meals_of(told, no_worms)) == 0.0
    assert _share(_meals_of(told, no_worms, dry)) == pytest.approx(0.5)
    assert _share(_meals_of(told, dry)) == 1.0  # and no more than its fill
    assert _share(_meals_of(told, no_worms, dry), "B") == 1.0
    other = FeedLine(told.task.at, "A", "other", "microworm", 10.0, 10.0, 10.0, "mL")
    both = evolve(told, lines=(*told.lines, other))
    assert _share(_meals_of(both, no_worms, dry)) == pytest.approx(0.25)


@pytest.mark.parametrize(("came", "counts"), [(0.95, 1.0), (0.9, 1.0), (0.89, 0.89), (0.0, 0.0)])
def test_nauplii_that_nearly_all_came_came(came: float, counts: float) -> None:
    told = _round(("A", "brine_shrimp", 10.0))
    half = Entry(_at(8, 8), "fed", "A", "brine_shrimp", 5.0, "mL")
    assert _share(_meals_of(told, nauplii=came)) == pytest.approx(counts)
    assert _share(_meals_of(told, half, nauplii=came)) == pytest.approx(0.5 * counts)


@pytest.mark.parametrize(
    ("noted", "share"),
    [
        (("microworm", 5.0, "mL"), 0.75), (("microworm", 0.0, "mL"), 0.5),
        (("microworm", 5.0, "g"), 1.0), (("dry", 5.0, "mL"), 1.0), (("", None, ""), 1.0),
    ],
)  # fmt: skip
def test_another_dose_of_one_food_in_one_tank_counts_as_so_much_of_it(
    noted: tuple[str, float | None, str], share: float
) -> None:
    """Half a dose of one of two foods of 10 J is three quarters; in another unit it is full."""
    told = _round(("A", "brine_shrimp", 10.0), ("A", "microworm", 10.0), ("B", "microworm", 10.0))
    meals = _meals_of(told, Entry(_at(8, 8), "fed", "A", *noted))
    assert (_share(meals), _share(meals, "B")) == pytest.approx((share, 1.0))


def _dry_round(wet_ml: float | None, *tanks: str) -> ToldTask:
    """A round of 0.04 g of dry food for each tank, soaked in so much; 0.16 g were soaked."""
    at = _at(8, 8)
    lines = tuple(
        FeedLine(at, tank, f"of {tank}", "dry", 10.0, 10.0, 0.04, "g", wet_ml) for tank in tanks
    )
    amounts = {"tanks": 2.0, "dry_g": 0.04 * len(tanks), "soaked_g": 0.16}
    return evolve(told_task("feed", at, "08:00", amounts, key="feed/8"), lines=lines)


@pytest.mark.parametrize(
    ("wet_ml", "noted", "share"),
    [
        (40.0, (0.02, "g"), 0.5), (40.0, (20.0, "mL"), 0.5), (40.0, (0.0, "mL"), 0.0),
        # As usual 0.002 g come in each millilitre.
        (None, (10.0, "mL"), 0.5), (None, (5.0, "mL"), 0.25),
    ],
)  # fmt: skip
def test_less_of_the_soaked_dry_food_counts_as_less(
    wet_ml: float | None, noted: tuple[float, str], share: float
) -> None:
    meals = _meals_of(_dry_round(wet_ml, "A", "B"), Entry(_at(8, 8), "fed", "A", "dry", *noted))
    assert (_share(meals), _share(meals, "B")) == pytest.approx((share, 1.0))


def test_a_dose_of_a_tank_is_that_of_all_its_broods() -> None:
    """15 of 20 mL for two broods are three quarters for each."""
    told = _round(("A", "microworm", 10.0), ("A", "microworm", 10.0))
    second = evolve(told.lines[1], brood="of B")
    told = evolve(told, lines=(told.lines[0], second))
    meals = _meals_of(told, Entry(_at(8, 8), "fed", "A", "microworm", 15.0, "mL"))
    assert (_share(meals), _share(meals, "B")) == pytest.approx((0.75, 0.75))


@pytest.mark.parametrize(
    ("wet_ml", "noted", "said"),
    [
        (40.0, (0.16, "g"), ""), (40.0, (0.17, "g"), "0.16 g was told for all tanks"),
        (40.0, (160.0, "mL"), ""), (40.0, (162.0, "mL"), "whole cup was told to be 160 mL"),
        (None, (80.0, "mL"), ""), (None, (81.0, "mL"), "whole cup was told to be 80 mL"),
    ],
)  # fmt: skip
def test_no_tank_gets_more_dry_food_than_was_soaked_for_all(
    wet_ml: float | None, noted: tuple[float, str], said: str
) -> None:
    entry = Entry(_at(8, 8), "fed", "A", "dry", *noted)
    doubt = dose_doubt(entry, _dry_round(wet_ml, "A", "B")) or ""
    assert bool(doubt) == bool(said)
    assert said in doubt


def test_what_was_skipped_was_given_to_nobody_or_not_to_one_tank() -> None:
    told = _round(("A", "microworm", 10.0), ("B", "microworm", 10.0))
    tank = _meals_of(told, Entry(_at(8, 9), "skip", "A", "feed/8"))
    assert (_share(tank), _share(tank, "B")) == (0.0, 1.0)
    everybody = _meals_of(told, Entry(_at(8, 9), "skip", "08:00", "feed/8"))
    assert (_share(everybody), _share(everybody, "B")) == (0.0, 0.0)
    but_one = _meals_of(told, Entry(_at(8, 9), "skip", "08:00", "feed/8"),
                        Entry(_at(8, 9), "fed", "B"))  # fmt: skip
    assert (_share(but_one), _share(but_one, "B")) == (0.0, 1.0)


def test_worms_that_were_told_and_not_taken_are_missing_from_all_who_get_them() -> None:
    """Of 20 J of worms that were told a quarter was skipped; of half a milligram less than told."""
    told = _round(("A", "microworm", 10.0), ("B", "microworm", 10.0))
    each = ROOM.culture("MW-1").kind.fed_j_per_mg
    for mg, share in ((5.0 / each, 0.75), (20.0 / each, 0.0), (40.0 / each, 0.0)):
        worms = told_task("harvest_worms", _at(8, 8), "MW-1", {"mg": mg}, kind="microworm",
                          rounds=[_at(8, 8)])  # fmt: skip
        meals = _meals_of(told)
        skip = Entry(_at(8, 9), "skip", "MW-1", worms.task.id)
        meals.skipped(Deed(skip, skip.when, hours(skip.when), worms, False))
        assert [_share(meals, tank) for tank in "AB"] == pytest.approx([share, share])


def test_what_was_told_for_a_brood_is_the_meal_of_the_one_that_it_joined() -> None:
    """At 08:00 10 J each are needed: A got all of it and B half, so both together three quarters.
    A name that begins anew, or joins later, is another's.
    """
    for joined, begins, share in (
        ((8, 7), None, 0.75), ((8, 8), None, 0.75), ((8, 9), None, 1.0),
        ((8, 6), (8, 7), 1.0), ((8, 6), (8, 9), 0.75),
    ):  # fmt: skip
        meals = _meals_of(_round(("A", "microworm", 10.0), ("B", "microworm", 5.0)))
        meals.joined("of B", "of A", hours(_at(*joined)))
        meals.joined("of A", "of B", hours(_at(9, 9)))  # later, of other broods of these names
        if begins is not None:
            meals.begins("of B", hours(_at(*begins)))
        assert _share(meals) == pytest.approx(share)


def test_rounds_of_an_absence_are_no_meals_where_nobody_helps() -> None:
    told = _round(("A", "microworm", 10.0))
    for helper, shares in ((True, []), (False, [1.0, 0.0, 0.0])):
        away = (Away(date(2027, 1, 9), date(2027, 1, 9), helper),)
        meals = Meals(evolve(ROOM, away=away))
        entry = Entry(_at(8, 8), "fed", "08:00")
        meals.fed(Deed(entry, entry.when, hours(entry.when), told, False), nauplii=1.0, fry={})
        found = meals.of("of A", hours(_at(8, 0)), hours(_at(12, 0)))
        assert [meal.share for meal in found] == shares
        assert [meal.at_h for meal in found[1:]] == [hours(_at(9, h)) for h in (8, 20)][
            : len(shares)
        ]
    # Who came though nobody was to fed at the round nearest to it; of another day it is no visit.
    for visit, shares in (((9, 13), [1.0, 0.0]), ((9, 15), [0.0, 1.0]), ((10, 0), [0.0, 0.0])):
        came = Meals(evolve(ROOM, away=(Away(date(2027, 1, 9), date(2027, 1, 9)),)))
        came.visited("of A", hours(_at(*visit)))
        found = came.of("of A", hours(_at(9, 0)), hours(_at(12, 0)))
        assert [meal.share for meal in found] == shares
    # A round that was not told and at which a brood got nothing is none either.
    got_none = Meals(ROOM)
    got_none.missed("of A", hours(_at(9, 8)))
    for end, missed in ((_at(9, 9), [(hours(_at(9, 8)), 0.0)]), (_at(9, 8), [])):
        assert got_none.of("of A", hours(_at(9, 0)), hours(end)) == missed
    assert got_none.of("of B", hours(_at(9, 0)), hours(_at(9, 9))) == []
    only = Meals(evolve(ROOM, away=(Away(date(2027, 1, 9), date(2027, 1, 9)),)))
    for from_h, to_h, rounds in ((8, 20, 1), (9, 20, 0), (8, 21, 2)):
        found = only.of("of A", hours(_at(9, from_h)), hours(_at(9, to_h)))
        assert len(found) == rounds
