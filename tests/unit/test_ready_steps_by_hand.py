"""What must be begun by when for fry that first eat on a day: each way to a food by itself."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.errors import RangeError
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.kinds import WormKind
from cultures.foods.worms import first_harvest_age
from cultures.fry.feeding import feeding_values
from cultures.journal.absences import Away
from cultures.needs.need import BroodCourse, Round
from cultures.planning import changes, ready
from cultures.planning.brood_trials import Trial
from cultures.planning.carry import Wish
from cultures.planning.changes import new_bottle, usual_culture, whom_like
from cultures.planning.hatch_options import harvest_time
from cultures.planning.ready import (
    Readiness,
    Step,
    _fed,
    _Steps,
    first_ripe,
    last_start,
    readiness,
    spawned_for,
    supposed,
)
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.orders import Order
from cultures.room.room import Culture, Room, RunningHatch
from cultures.words.moments import hours
from tests.unit.test_shortfall_limits import _TEXT

_NOW = datetime(2027, 1, 5, 9, tzinfo=UTC)
_TODAY = _NOW.date()
_FIRST = datetime(2027, 1, 20, 7, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def room() -> Room:
    """Where a day of a microworm culture is a day."""
    found = read_room(_TEXT, today=_TODAY)
    kind = found.kinds["microworm"]
    return evolve(found, temperatures_c=(kind.values["t_ref_c"],))


def _day(number: int) -> date:
    return date(2027, 1, number)


def _noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def _round(at: datetime = _FIRST) -> Round:
    return Round(0, at, hours(at), 2, fed=True, keeper=True)


def _steps(room: Room, *foods: str, now: datetime = _NOW, **more: Any) -> _Steps:
    brood = evolve(room.broods[0], foods=foods or None, anchor="free_swimming",
                   anchor_date=_FIRST.date(), **more)  # fmt: skip
    course = BroodCourse.of(room, brood)
    return _Steps(evolve(room, hoped=(brood,), broods=()), course, _round(), now)


# --- values


def test_the_days_that_are_left_are_those_to_the_first_thing_to_do() -> None:
    step = Step("x", 1.0, 0.0, kept=True, how="start")
    assert step.slack_days(_NOW) is None
    begun = evolve(step, begin_by=datetime(2027, 1, 8, 1, tzinfo=UTC))
    assert begun.slack_days(_NOW) == 3
    assert evolve(begun, buy_by=_day(6)).slack_days(_NOW) == 1
    assert evolve(begun, buy_by=_day(9)).slack_days(_NOW) == 3
    assert evolve(step, buy_by=_day(2)).slack_days(_NOW) == -3


def test_a_food_does_that_half_of_the_fry_take_in_time() -> None:
    step = Step("x", 0.5, 0.0, kept=True, how="start")
    assert step.does()
    assert not evolve(step, takes=0.49).does()
    assert not evolve(step, too_late=True).does()


def _answer(room: Room, *steps: Step) -> Readiness:
    brood = evolve(room.broods[0], anchor="planned", anchor_date=_day(10))
    return Readiness(brood, 26.0, None, _FIRST, 3.0, sure=True, warning="", steps=steps, fed=None)


def test_a_spawning_is_put_off_until_a_food_that_does_is_ripe(room: Room) -> None:
    """First food on 20 January: ripe on the 23rd, three days later; sooner is no reason."""
    late = Step("x", 0.9, 0.0, kept=True, how="start", too_late=True, ripe_on=_day(25))
    sooner, other = evolve(late, ripe_on=_day(23)), evolve(late, takes=0.4, ripe_on=_day(21))
    assert _answer(room, late, sooner, other).spawn_from() == _day(13)
    assert _answer(room, evolve(late, ripe_on=_day(18))).spawn_from() == _day(10)
    assert _answer(room, late, evolve(late, too_late=False)).spawn_from() == _day(10)
    assert _answer(room, other).spawn_from() is None
    assert _answer(room, evolve(late, ripe_on=None)).spawn_from() is None
    assert _answer(room).spawn_from() is None
    assert _answer(room, evolve(late, takes=0.5)).spawn_from() == _day(15)


def test_json_says_days_as_text_or_nothing(room: Room) -> None:
    step = Step("x", 0.87654, 0.0, kept=True, how="start", buy_by=_day(7))
    told = evolve(_answer(room, step), hatching=_day(12), warning="warm").to_json(_NOW)
    assert (told["hatching"], told["spawn"], told["warning"]) == (
        "2027-01-12",
        "2027-01-10",
        "warm",
    )
    assert (told["spawn_from"], told["plan"]) == ("2027-01-10", None)
    (food,) = told["foods"]
    assert (food["takes"], food["buy_by"], food["begin_by"]) == (0.8765, "2027-01-07", None)
    assert food["slack_days"] == 2
    brood = SimpleNamespace(name="one")
    carried: Any = SimpleNamespace(largest=40, until=_NOW, other=None, brood=brood)
    gap: Any = SimpleNamespace(need=SimpleNamespace(brood=brood))
    trial = Trial(gap, cause="why", need_j=9.0, short_j=3.0)
    plain = evolve(_answer(room), fed=Wish("one", 60, trial, carried, _day(19))).to_json(_NOW)
    assert (plain["hatching"], plain["warning"], plain["spawn_from"]) == (None, None, None)
    assert plain["plan"] == {
        "in_full": False, "until": "2027-01-05", "need_j": 9.0, "short_j": 3.0, "cause": "why",
        "goes_short": None, "spawn_from": "2027-01-19", "fry": 40, "cysts_out": None,
    }  # fmt: skip


# --- who is asked about


def test_a_class_is_meant_by_its_name_or_by_fish_that_it_alone_has(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert whom_like(room, "bubble_nest")[1].name == "bubble_nest"
    named = lambda word, _: word if word == "goldfish" else None  # noqa: E731
    monkeypatch.setattr(changes, "class_named", named)
    for fish, found in ((["bubble_nest"], "bubble_nest"), ([], None), (["a", "b"], None)):
        monkeypatch.setattr(changes, "classes_of_fish", lambda _, fish=fish: fish)
        if found is not None:
            assert whom_like(room, "some fish")[1].name == found
        else:
            said = "several classes have such fish: a, b" if fish else "there is no class or brood"
            with pytest.raises(RangeError, match=said):
                whom_like(room, "some fish")
        assert whom_like(room, "goldfish")[1].name == "goldfish"


def test_a_brood_like_one_that_there_is_gets_its_foods(room: Room) -> None:
    listed = evolve(room, broods=(evolve(room.broods[0], foods=(DRY,)), room.broods[1]))
    for words, foods, said in (
        ("one", (DRY,), "one"), ("egg_scatterer", (DRY,), "egg scatterer"),
        ("bubble_nest", None, "bubble nest"),
    ):  # fmt: skip
        _, brood = supposed(listed, f"{words} 40", _TODAY)
        assert (brood.foods, brood.count, brood.anchor_date) == (foods, 40.0, _TODAY)
        assert brood.name == f"supposed {said}"
    named = evolve(
        listed, broods=(evolve(room.broods[0], name="supposed egg scatterer", foods=(DRY,)),)
    )
    assert supposed(named, "egg_scatterer 40", _TODAY)[1].name != "supposed egg scatterer"


def test_without_a_tank_eggs_lie_at_the_reference_of_their_class(room: Room) -> None:
    """Both tanks are taken."""
    there, brood = supposed(room, "egg_scatterer 40", _TODAY)
    assert there.tank(brood.tank).temperature_c == brood.fry_class.values["t_ref_c"]
    assert brood.tank not in {tank.name for tank in room.tanks}


def test_spawned_so_that_they_first_eat_on_a_day(room: Room) -> None:
    for degrees in (22.3, 26.0):
        here = evolve(room, tanks=tuple(evolve(t, temperature_c=degrees) for t in room.tanks))
        brood = evolve(room.broods[0], anchor="planned")
        for number in range(12, 20):
            found = spawned_for(here, brood, _day(number))
            assert found.counted_on == found.anchor_date < _day(number)
            assert BroodCourse.of(here, found).first_food_day() == _day(number)


def test_fry_that_ate_already_are_not_worked_back_for(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ready, "_fed", lambda *_: None)
    for day, fine in ((4, False), (5, True)):
        brood = evolve(room.broods[0], anchor="free_swimming", anchor_date=_day(day))
        here = evolve(room, broods=())
        if fine:
            found = readiness(here, brood, _NOW)
            assert found.first == datetime(2027, 1, 5, 7, 30, tzinfo=UTC)
            assert found.starve_days == BroodCourse.of(room, brood).lives_unfed_days()
        else:
            with pytest.raises(RangeError, match="already; give a later day"):
                readiness(here, brood, _NOW)


# --- worms


def _culture(name: str) -> Any:
    return SimpleNamespace(name=name, kind=SimpleNamespace(name="microworm"))


def _kind(room: Room) -> WormKind:
    kind = room.kinds["microworm"]
    assert isinstance(kind, WormKind)
    return kind


def _with(room: Room, *names: str, now: datetime = _NOW) -> Any:
    """Steps for fry that get microworms, in a room where some cultures stand."""
    steps: Any = _steps(room, "microworm", now=now)
    other = SimpleNamespace(name="other", kind=SimpleNamespace(name="banana_worm"))
    pattern = usual_culture(room, _kind(room))
    own = (evolve(pattern, name=name) for name in names)
    steps.room = evolve(steps.room, cultures=(other, *own))
    return steps


def test_a_culture_that_gives_then_is_taken_and_one_that_lasts_before_others(room: Room) -> None:
    steps = _with(room, "A", "B", "C")
    ends, spent = {"A": _day(28), "B": None, "C": _day(30)}, {"A": 5.0, "B": 99.0, "C": 7.0}
    steps._until, steps._spent_h = lambda c: ends[c.name], lambda c: spent[c.name]
    asked: list[float] = []

    def gives(names: str) -> Any:
        def gives(culture: Any, at_h: float) -> bool:
            asked.append(at_h)
            return culture.name in names

        return gives

    for names, best, until in (("ABC", "B", None), ("AC", "C", _day(30)), ("A", "A", _day(28))):
        steps._gives = gives(names)
        step = steps._worms(_kind(room))
        assert (step.how, step.subject, step.until) == ("gives", best, until)
        assert step.begin_by is None
    assert set(asked) == {hours(_FIRST)}
    steps._gives, steps._split = gives(""), lambda *_: None
    bought = steps._worms(_kind(room))
    assert bought.how == "start"
    assert bought.begin_by is not None


def _split(
    steps: Any, day: date | None, gives_on: dict[str, tuple[int, ...]], *,
    child_gives: bool = True, child_until: date | None = None, child_on: tuple[int, ...] = (),
) -> Step | None:  # fmt: skip
    """A split for worms on 20 January, of cultures that give on some days."""
    pattern = SimpleNamespace(name="pattern", started=_day(1), kind=_kind(steps.room))
    culture = Culture("child", pattern.kind, _day(1), 150.0, 180.0, 15.0)
    steps._gives_on = lambda c, on: on.day in (child_on if c.name == "child" else gives_on[c.name])
    steps._gives = lambda c, _: c.name == "child" and child_gives
    steps._until = lambda _: child_until
    steps._ripe_on = lambda _, begun: begun.started + timedelta(days=9)
    stand = [c for c in steps.room.cultures if c.name in gives_on]
    found: Step | None = steps._split(steps._step("microworm", "start"), stand, culture, day)
    return found


def test_a_culture_is_split_on_the_last_day_that_is_in_time(room: Room) -> None:
    steps = _with(room, "A", "B")
    step = _split(steps, _day(12), {"A": (11,), "B": (10, 11, 12)})
    assert step is not None
    assert (step.how, step.subject, step.begin_by) == ("split", "B", _noon(_day(12)))
    assert (step.too_late, step.again_by, step.until, step.ripe_on) == (False, None, None, None)
    assert _split(steps, _day(12), {"A": (), "B": (4, 13)}) is None
    today = _split(steps, _day(5), {"A": (5,), "B": (5,)})
    assert today is not None
    assert (today.subject, today.begin_by, today.too_late) == ("A", _noon(_day(5)), False)


def test_what_ends_before_is_split_and_its_child_in_turn_where_it_must_be(room: Room) -> None:
    """The culture gives until the 9th alone; the last day in time is the 12th."""
    steps = _with(room, "A")
    parent: dict[str, tuple[int, ...]] = {"A": (5, 8, 9)}
    lasts = _split(steps, _day(12), parent, child_on=(12,))
    assert lasts is not None
    assert (lasts.begin_by, lasts.again_by, lasts.until) == (_noon(_day(9)), None, None)
    again = _split(steps, _day(12), parent, child_until=_day(22), child_on=(12,))
    assert again is not None
    assert (again.begin_by, again.again_by, again.until) == (_noon(_day(9)), _day(12), None)
    gone = _split(steps, _day(12), parent, child_gives=False, child_on=(12,))
    assert gone is not None
    assert gone.again_by == _day(12)
    ends = _split(steps, _day(12), parent, child_until=_day(22))
    assert ends is not None
    assert (ends.again_by, ends.until, ends.too_late) == (None, _day(22), False)
    assert _split(steps, _day(12), parent, child_gives=False) is None


def test_a_split_that_comes_too_late_says_when_it_is_ripe(room: Room) -> None:
    steps = _with(room, "A")
    past = _split(steps, _day(3), {"A": (3, 4, 5)})
    assert past is not None
    assert (past.begin_by, past.too_late, past.ripe_on) == (_noon(_day(3)), True, _day(14))
    never = _split(steps, None, {"A": (5,)})
    assert never is not None
    assert (never.begin_by, never.too_late, never.ripe_on) == (None, True, _day(14))
    assert _split(steps, None, {"A": (4, 6)}) is None


def test_a_starter_is_bought_so_long_before_as_it_takes_to_fetch(room: Room) -> None:
    """A day; it is 5 January, so that on the 6th at the earliest one can be begun."""
    steps, kind = _with(room), _kind(room)
    pattern = usual_culture(room, kind)
    steps._ripe_on = lambda _, begun: begun.started + timedelta(days=9)
    for day, buy_by, late, ripe_on in (
        (_day(9), _day(8), False, None), (_day(6), _day(5), False, None),
        (_day(5), _day(4), True, _day(15)), (None, None, True, _day(15)),
    ):  # fmt: skip
        step = steps._bought(steps._step("microworm", "start"), [], pattern, day)
        assert (step.buy_by, step.too_late, step.ripe_on) == (buy_by, late, ripe_on)
        assert step.begin_by == (None if day is None else _noon(day))


def test_what_gives_on_a_day_gives_at_its_noon_or_now(room: Room) -> None:
    afternoon = datetime(2027, 1, 5, 15, tzinfo=UTC)
    for now, day, at in (
        (_NOW, 5, _noon(_day(5))), (afternoon, 5, afternoon), (afternoon, 6, _noon(_day(6)))
    ):  # fmt: skip
        steps = _with(room, "A", now=now)
        asked: list[float] = []
        steps._gives = lambda _, at_h, asked=asked: bool(asked.append(at_h))
        assert not steps._gives_on(_culture("A"), _day(day))
        assert asked == [hours(at)]


def test_a_culture_that_ends_within_two_weeks_of_first_food_has_a_last_day(room: Room) -> None:
    steps, ends = _with(room), hours(_FIRST + timedelta(days=14))
    for spent_h, day in ((ends, None), (ends + 1, None), (ends - 0.5, date(2027, 2, 3)),
                         (ends - 24, date(2027, 2, 2))):  # fmt: skip
        steps._spent_h = lambda _, spent_h=spent_h: spent_h
        assert steps._until(_culture("A")) == day


def test_it_is_ripe_once_one_that_stands_gives_or_the_new_one_does(room: Room) -> None:
    """The one begun gives from the 26th on; a day that is tried is that of the first feeding."""
    steps, kind = _with(room, "A"), _kind(room)
    begun = evolve(usual_culture(room, kind), started=_day(10))
    own = first_ripe(room, begun)
    assert own is not None
    late = evolve(begun, started=_day(10) + (_day(26) - own))
    stand = [_culture("A")]
    for gives_from, day in ((20, 20), (24, 24), (25, 25), (26, 26), (30, 26)):
        steps._gives = lambda _, at_h, d=gives_from: steps.room.at_hour(at_h).date() >= _day(d)
        assert steps._ripe_on(stand, late) == _day(day)
    cold = _with(evolve(room, temperatures_c=(1.0,)), "A")
    cold._gives = lambda *_: False
    assert cold._ripe_on(stand, late) is None
    # Without an end of its own it is looked for through ninety days.
    last = _FIRST.date() + timedelta(days=89)
    cold._gives = lambda _, at_h: cold.room.at_hour(at_h).date() >= last
    assert cold._ripe_on(stand, late) == last
    cold._gives = lambda _, at_h: cold.room.at_hour(at_h).date() > last
    assert cold._ripe_on(stand, late) is None


def test_the_last_day_to_begin_and_the_first_day_to_give_are_worked_out_by_age(room: Room) -> None:
    """A day is a day here: begun at noon it gives so many days later."""
    kind = _kind(room)
    pattern = usual_culture(room, kind)
    model = kind.model(medium_g=150.0, surface_cm2=180.0)
    age = first_harvest_age(model, 15.0 * kind.values["starter_mg_per_g"])
    begun = evolve(pattern, started=_day(6))
    ripe = _noon(_day(6)) + timedelta(days=age)
    assert first_ripe(room, begun) == ripe.date()
    minute = timedelta(minutes=1)
    assert last_start(room, pattern, hours(ripe + minute)) == _day(6)
    assert last_start(room, pattern, hours(ripe - minute)) == _day(5)
    cold = evolve(room, temperatures_c=(kind.values["t_min_c"] - 1,))
    assert last_start(cold, pattern, hours(ripe)) is None
    assert first_ripe(cold, begun) is None
    # Ninety days are the longest that is waited for: at a speed of age in 89 or in 91 days.
    low, high = kind.values["t_min_c"], kind.values["t_ref_c"]
    for days, found in ((89.0, True), (91.0, False)):
        a, b = low, high
        for _ in range(60):
            middle = (a + b) / 2
            a, b = (middle, b) if kind.rate(middle) < age / days else (a, middle)
        slow = evolve(room, temperatures_c=(b,))
        assert (first_ripe(slow, begun) is not None) is found


# --- hatches, jars and the order of it all


def _hatching(room: Room, wanted_j: float = 0.0, **more: Any) -> Any:
    steps: Any = _steps(evolve(room, **more), BRINE_SHRIMP)
    steps.need = SimpleNamespace(foods={BRINE_SHRIMP: wanted_j}, energy_j=50.0)
    return steps


def test_somebody_is_there_and_awake_at_a_whole_five_minutes(room: Room) -> None:
    """From 06:30 to 22:30, and nobody on the 8th and 9th."""
    steps = _steps(evolve(room, away=(Away(_day(8), _day(9), helper=True),)), BRINE_SHRIMP)

    def at(day: int, hour: int, minute: int) -> datetime:
        return datetime(2027, 1, day, hour, minute, tzinfo=UTC)

    for asked, found in (
        (at(7, 10, 4), at(7, 10, 0)), (at(7, 10, 5), at(7, 10, 5)), (at(7, 23, 15), at(7, 22, 30)),
        (at(7, 6, 30), at(7, 6, 30)), (at(7, 6, 29), at(6, 22, 30)), (at(7, 0, 0), at(6, 22, 30)),
        (at(9, 12, 0), at(7, 22, 30)), (at(10, 5, 0), at(7, 22, 30)), (at(10, 7, 0), at(10, 7, 0)),
    ):  # fmt: skip
        assert steps._attended(hours(asked)) == found, asked
    gone = _steps(evolve(room, away=(Away(date(2026, 1, 1), _day(30)),)), BRINE_SHRIMP)
    assert gone._attended(hours(at(20, 12, 0))) is None


def test_a_hatch_is_set_as_late_as_brings_half_and_weighed_for_its_best(room: Room) -> None:
    steps = _hatching(room, 50.0)
    (step,) = steps._hatch()
    model, harvest_h = vessel_model(room, room.vessels[0]), harvest_time(room, steps.first)
    assert (step.how, step.subject, step.food) == ("hatch", "V1", BRINE_SHRIMP)
    assert step.begin_by == steps._attended(harvest_h - model.window(0.5)[0])
    stands_h = harvest_h - hours(step.best_at)
    assert model.energy(stands_h) >= 0.98 * model.energy(model.best_hours())
    assert step.cysts_g == pytest.approx(max(
        50.0 * (1 + room.hatch_margin) / model.energy(stands_h),
        room.hatch_kind.values["least_hatch_g"],
    ))  # fmt: skip
    much = next(iter(_hatching(room, 50_000.0)._hatch()))
    assert much.cysts_g == pytest.approx(
        50_000.0 * (1 + room.hatch_margin) / model.energy(stands_h)
    )
    assert much.cysts_g > room.hatch_kind.values["least_hatch_g"]
    none = next(iter(_hatching(room)._hatch()))
    assert (none.cysts_g, none.buy_by, none.too_late, none.ripe_on) == (0.0, None, False, None)
    # Without any a bottle is to be got, and set for all that they eat at first.
    (bottle,) = _hatching(room, vessels=())._hatch()
    (own,) = _hatching(room, 50.0, vessels=(new_bottle(room),))._hatch()
    assert (bottle.subject, bottle.cysts_g, bottle.begin_by) == (
        own.subject, own.cysts_g, own.begin_by
    )  # fmt: skip
    assert bottle.wanted_j == 50.0
    cold = evolve(room.vessels[0], temperature_c=1.0)
    assert list(_hatching(room, vessels=(cold,))._hatch()) == []


def test_the_vessel_that_may_be_set_latest_is_taken_and_of_two_the_larger(room: Room) -> None:
    one = room.vessels[0]
    large, slow = evolve(one, name="L", litres=3.0), evolve(one, name="S", temperature_c=20.0)
    for vessels, name in (((slow, one), "V1"), ((one, large), "L"), ((large, one, slow), "L")):
        (step,) = _hatching(room, vessels=vessels)._hatch()
        assert step.subject == name


def test_cysts_are_bought_where_the_tin_holds_too_few(room: Room) -> None:
    """Two days before the last moment to set them."""
    usual = next(iter(_hatching(room, 50_000.0)._hatch()))
    assert usual.buy_by is None
    tin = room.cysts
    assert tin is not None
    for grams, buys in ((0.0, True), (usual.cysts_g - 0.01, True), (usual.cysts_g, False)):
        here = _hatching(room, 50_000.0, cysts=evolve(tin, grams=grams))
        (step,) = here._hatch()
        assert step.buy_by == ((usual.begin_by - timedelta(days=2)).date() if buys else None)
    (none,) = _hatching(room, cysts=None)._hatch()
    assert none.buy_by is not None
    # What comes on the day before is there in time; set is then no sooner. On the day it is late.
    last = usual.begin_by.date()
    order = Order("cysts", usual.cysts_g, usual.cysts_g, _day(5), last - timedelta(days=1))
    for orders, buys in (
        ((order,), False), ((evolve(order, day=last),), True), ((evolve(order, late=True),), True),
        ((evolve(order, day=None),), True), ((evolve(order, item="salt"),), True),
    ):  # fmt: skip
        here = _hatching(room, 50_000.0, cysts=evolve(tin, grams=0.0), orders=orders)
        (step,) = here._hatch()
        assert step.buy_by == ((usual.begin_by - timedelta(days=2)).date() if buys else None)
        assert buys or last == step.best_at.date() <= usual.begin_by.date()
    (empty,) = _hatching(room, cysts=evolve(tin, grams=0.0))._hatch()
    assert empty.buy_by is not None  # though nothing is wanted


def test_a_hatch_that_comes_too_late_says_when_one_is_ripe(room: Room) -> None:
    (usual,) = _hatching(room)._hatch()
    model, tin = vessel_model(room, room.vessels[0]), room.cysts
    assert tin is not None
    ripe_h = model.window(0.5)[0]
    for by, late in ((timedelta(0), False), (timedelta(minutes=1), True)):
        steps = _hatching(room)
        steps.now = usual.begin_by + by
        (step,) = steps._hatch()
        assert step.too_late is late
        ripe = steps.room.at_hour(hours(steps.now) + ripe_h).date()
        assert step.ripe_on == (ripe if late else None)
    # To be bought two days before: on the day itself it is not too late, on the next it is.
    buy_by = usual.begin_by - timedelta(days=2)
    for days, late in ((0, False), (1, True)):
        steps = _hatching(room, cysts=evolve(tin, grams=0.0))
        steps.now = buy_by + timedelta(days=days)
        (step,) = steps._hatch()
        assert step.too_late is late
        if late:
            assert step.ripe_on == steps.room.at_hour(hours(steps.now) + 48 + ripe_h).date()


def test_a_hatch_is_best_set_at_night_in_the_morning_or_at_the_last(room: Room) -> None:
    """Of the last moment, the evening before the ideal one and the mornings, what is best."""
    steps = _hatching(room)
    last = datetime(2027, 1, 19, 12, tzinfo=UTC)
    harvest_h = hours(_FIRST) - 0.5
    for ideal, best in (
        (datetime(2027, 1, 19, 3, tzinfo=UTC), datetime(2027, 1, 19, 6, 30, tzinfo=UTC)),
        (datetime(2027, 1, 19, 1, tzinfo=UTC), datetime(2027, 1, 18, 22, 30, tzinfo=UTC)),
        (datetime(2027, 1, 19, 9, 2, tzinfo=UTC), datetime(2027, 1, 19, 9, tzinfo=UTC)),
        (datetime(2027, 1, 19, 12, tzinfo=UTC), last),
        (datetime(2027, 1, 18, 23, 59, tzinfo=UTC), datetime(2027, 1, 18, 22, 30, tzinfo=UTC)),
        (datetime(2027, 1, 18, 4, tzinfo=UTC), datetime(2027, 1, 18, 6, 30, tzinfo=UTC)),
    ):  # fmt: skip
        stands_h = harvest_h - hours(ideal)
        model: Any = SimpleNamespace(
            best_hours=lambda at=stands_h: at, energy=lambda h, at=stands_h: -abs(h - at)
        )
        assert steps._best(model, harvest_h, last) == best, ideal


def test_infusoria_are_begun_so_many_days_before(room: Room) -> None:
    days = timedelta(days=feeding_values()["infusoria_days"])
    for by, late in ((timedelta(0), False), (timedelta(days=1), True)):
        steps = _steps(room, DRY, now=_FIRST - days + by)
        step = steps._jar()
        assert (step.how, step.takes, step.kept) == ("jar", 1.0, False)
        assert (step.begin_by, step.too_late) == (_FIRST - days, late)
        assert step.ripe_on == ((steps.now + days).date() if late else None)


def test_kept_foods_stand_first_by_how_many_can_take_them(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What less than a tenth can take is no food; what is kept is not named again."""
    steps: Any = _steps(room, DRY, BRINE_SHRIMP, "microworm", "vinegar_eel", "grindal_worm")
    takes = {
        DRY: 0.1,
        BRINE_SHRIMP: 0.6,
        "microworm": 0.9,
        "vinegar_eel": 0.7,
        "grindal_worm": 0.09,
    }
    steps._takes = lambda name: takes.get(name, 1.0)
    steps._of = lambda name: iter([name])
    steps._jar = lambda: "jar"
    kinds = ["banana_worm", "infusoria", "microworm", BRINE_SHRIMP]
    monkeypatch.setattr(ready, "fitting_kinds", lambda *_: kinds)
    assert list(steps.steps()) == [
        "microworm", "vinegar_eel", BRINE_SHRIMP, DRY, "banana_worm", "jar"
    ]  # fmt: skip


def test_a_step_says_what_is_wanted_of_a_food_and_whether_it_is_kept(room: Room) -> None:
    steps: Any = _steps(room, DRY, "microworm")
    steps.need = SimpleNamespace(foods={"microworm": 7.0})
    steps._takes = lambda _: 0.3
    assert steps._step("microworm", "start") == Step("microworm", 0.3, 7.0, kept=True, how="start")
    assert steps._step("banana_worm", "start").kept is False
    assert steps._step(DRY, "dry").wanted_j == 0.0
    (dry,) = steps._of(DRY)
    assert dry.how == "dry"
    steps.need = None
    assert steps._step("microworm", "start").wanted_j == 0.0
    steps._worms, steps._hatch = lambda kind: kind.name, lambda: iter(["hatch"])
    assert [*steps._of("microworm"), *steps._of(BRINE_SHRIMP)] == ["microworm", "hatch"]


# --- by the whole plan


def test_a_spawning_within_eight_weeks_is_planned(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[Any, ...]] = []

    def carry(*args: Any) -> Any:
        asked.append(args)
        return SimpleNamespace(wish=lambda *words, **_: words)

    monkeypatch.setattr(ready, "Carry", carry)
    brood = evolve(room.broods[0], anchor_date=_day(12))
    later = [_day(15), _day(19), _day(26)]
    for by, planned in ((timedelta(0), True), (timedelta(minutes=1), False)):
        first_h = hours(_NOW + timedelta(days=56) + by)
        course: Any = SimpleNamespace(first_food_h=first_h, room=room)
        found: Any = _fed(room, brood, course, _NOW)
        assert found == ((brood.name, brood) if planned else None)
    assert asked == [(room, _NOW, later)]


def test_a_vessel_that_is_full_is_not_set(room: Room) -> None:
    """One stands in the first, to be drawn off an hour after a new one would have to be set."""
    one = room.vessels[0]
    other = evolve(one, name="V2", litres=one.litres / 2)
    (alone,) = _hatching(room, 50.0)._hatch()
    last = alone.begin_by
    assert last is not None
    for after, subject, late in ((1, "V2", False), (-1, one.name, False)):
        stands = RunningHatch(one.name, _NOW, 1.0, harvest_at=last + timedelta(hours=after))
        (step,) = _hatching(room, 50.0, vessels=(one, other), hatches=(stands,))._hatch()
        assert (step.subject, step.too_late) == (subject, late)
        (step,) = _hatching(room, 50.0, hatches=(stands,))._hatch()
        assert step.too_late is (after > 0)
    assert step.ripe_on is None
