"""How far a plan looks, what is settled, which foods suit and when they are there: exactly."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import evolve

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.foods.worms import first_harvest_age
from cultures.fry.diet import suitability
from cultures.needs.need import BroodNeed
from cultures.planning import feeding_plan as feeding_module
from cultures.planning import stretches as module
from cultures.planning.changes import usual_culture
from cultures.planning.feeding_plan import coming_starts, leave_out_unripe
from cultures.planning.harvests import HatchPlan, window_times
from cultures.planning.hatch_options import (
    CLEANING_H,
    HatchOptions,
    _told_grams,
    _told_settings,
    likeness,
)
from cultures.planning.lots import Lot, LotProblem, Option
from cultures.planning.servings import Fit, Serving, Suits, _stand_in_share
from cultures.planning.standing_hatches import longest_incubation
from cultures.planning.stretches import (
    hatched_rounds,
    look_ahead,
    settled_rounds,
    stretch_ends,
    view_end,
)
from cultures.planning.worm_course import Layouts, Split, first_harvest, run_course
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.room import Culture, Room, Told
from cultures.words.moments import hours
from tests.unit.test_planning_by_hand import _START, _rounds, _stage
from tests.unit.test_shortfall_limits import _TEXT

_TODAY = date(2027, 1, 5)
_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def room() -> Room:
    """Where a day of a microworm culture is a day."""
    found = read_room(_TEXT, today=_TODAY)
    return evolve(found, temperatures_c=(found.kinds["microworm"].values["t_ref_c"],))


def _culture(room: Room, name: str = "MW-1", kind: str = "microworm", **more: Any) -> Culture:
    of: Any = room.kinds[kind]
    changes: dict[str, Any] = {"name": name, "started": _TODAY} | more
    return evolve(usual_culture(room, of), **changes)


# --- how far a plan looks


def test_a_plan_looks_as_far_ahead_as_a_split_takes_to_ripen(room: Room) -> None:
    """At least four days, a week more where days are liked better, five weeks at most."""
    culture = _culture(room)
    model = culture.kind.model(medium_g=150.0, surface_cm2=180.0)
    age = first_harvest_age(model, 15.0 * culture.kind.values["starter_mg_per_g"])
    slow_c = culture.kind.values["t_min_c"] + 2.0
    slow = age / culture.kind.rate(slow_c)
    assert slow > age > 4.0
    assert look_ahead(room, _START) == 4 * _DAY
    assert look_ahead(evolve(room, split_weekdays=(0,)), _START) == 4 * _DAY
    one = evolve(room, cultures=(culture,))
    assert look_ahead(one, _START) == math.ceil(age) * _DAY
    assert look_ahead(evolve(one, split_weekdays=(0,)), _START) == math.ceil(age + 7) * _DAY
    two = evolve(room, cultures=(culture, evolve(culture, temperature_c=slow_c)))
    assert look_ahead(two, _START) == min(35, math.ceil(slow)) * _DAY
    cold = evolve(room, cultures=(evolve(culture, temperature_c=1.0),))
    assert look_ahead(cold, _START) == 35 * _DAY


@pytest.mark.parametrize(
    ("days", "ahead"), [(34.2, 35), (35.0, 35), (99.0, 35), (3.1, 4), (27.5, 28)]
)
def test_five_weeks_are_the_farthest(
    room: Room, monkeypatch: pytest.MonkeyPatch, days: float, ahead: int
) -> None:
    monkeypatch.setattr(module, "_ripening_days", lambda *_: days)
    one = evolve(room, cultures=(_culture(room),))
    assert look_ahead(one, _START) == ahead * _DAY
    weekly = look_ahead(evolve(one, split_weekdays=(2,)), _START)
    assert weekly == min(35, math.ceil(days + 7)) * _DAY


def test_stretches_end_on_mondays_two_weeks_apart(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Seven days of horizon, four to look ahead, two of a hatch and one: from Tuesday 5 January to
    the 19th, so that Monday the 25th is the first end.
    """
    monkeypatch.setattr(module, "longest_incubation", lambda _: 2 * _DAY)
    here = evolve(room, horizon_days=7)
    assert view_end(here, _START, _START + _DAY) == datetime(2027, 1, 25, tzinfo=UTC)
    # A week and more is wanted past what is asked for.
    for until, end in ((18, 25), (19, 39), (32, 39), (33, 53)):
        at = datetime(2027, 1, 1, 7, tzinfo=UTC) + (until - 1) * _DAY
        found = view_end(here, _START, at)
        assert found == datetime(2027, 1, 1, tzinfo=UTC) + (end - 1) * _DAY, until
    on_monday = evolve(room, horizon_days=6)  # the 18th, a Monday by itself
    assert view_end(on_monday, _START, _START).date() == date(2027, 1, 18)
    rounds = _rounds(100)
    # The first rounds of 25 January and 8 February are the 40th and the 68th.
    assert stretch_ends(here, rounds, _START) == [40, 68, 96, 100]
    assert stretch_ends(here, rounds[:40], _START) == [40]
    assert stretch_ends(here, rounds[:41], _START) == [40, 41]
    assert stretch_ends(here, [], _START) == [0]
    late = [evolve(r, at=r.at + 30 * _DAY) for r in rounds[:30]]  # the first end is before them
    assert stretch_ends(here, late, _START)[0] > 0


def test_hatches_are_looked_at_four_days_less_ahead() -> None:
    rounds = _rounds(40)
    for days, count in ((0, 40), (1, 38), (4, 32), (10, 20)):
        assert settled_rounds(rounds, 40, days * _DAY) == count
        assert hatched_rounds(rounds, 40, (days + 4) * _DAY) == count
    assert settled_rounds(rounds, 0, _DAY) == 0


def test_a_hatch_stands_whole_days_and_one_more(room: Room) -> None:
    best = vessel_model(room, room.vessels[0]).best_hours()
    slow = evolve(room.vessels[0], temperature_c=18.0)
    longer = vessel_model(room, slow).best_hours()
    assert longer > best
    cold = evolve(slow, temperature_c=1.0)
    for vessels, days in (((room.vessels[0], cold), math.ceil(best / 24) + 1),
                          ((room.vessels[0], slow), math.ceil(longer / 24) + 1),
                          ((cold,), 0), ((), 0)):  # fmt: skip
        assert longest_incubation(evolve(room, vessels=vessels)) == days * _DAY


# --- what is there when


def test_a_starter_is_begun_at_the_first_round_of_its_day(room: Room) -> None:
    """Nobody is there at rounds 4 and 5, on 7 January."""
    rounds = _rounds(12, away=(4, 5))
    for day, index in ((4, 0), (5, 0), (6, 2), (7, 6), (10, 10), (11, None)):
        coming = _culture(room, "S", started=date(2027, 1, day), planned=True)
        found = coming_starts(evolve(room, coming=(coming,)), rounds)
        if index is None:
            assert found == {}
            continue
        (split,) = found["microworm"]
        assert (split.at_index, split.parent) == (index, "")
        assert (split.culture.started, split.culture.planned) == (rounds[index].at.date(), False)
    both = evolve(room, coming=(_culture(room, "S"), _culture(room, "T")))
    assert [s.culture.name for s in coming_starts(both, rounds)["microworm"]] == ["S", "T"]


def test_a_food_is_there_from_the_first_harvest_on(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of those that stand and those that are bought the first to give; never where none does."""
    monkeypatch.setattr(feeding_module, "first_nauplii", lambda *_: 3)
    monkeypatch.setattr(feeding_module, "first_harvest", lambda stage: stage)
    rounds, gives = _rounds(12), dict[str, int | None]()
    layouts: Any = SimpleNamespace(
        standing=lambda c: gives[c.name], child=lambda s: gives[s.culture.name]
    )
    here = evolve(room, cultures=(_culture(room, "A"), _culture(room, "B")))
    bought = {"microworm": [Split("", _culture(room, "C"), 2)]}
    for a, b, c, since in (
        (5, 7, 9, 5),
        (None, 7, 9, 7),
        (None, None, 9, 9),
        (None, None, None, 12),
    ):
        gives.update({"A": a, "B": b, "C": c})
        suits = Suits(here)
        leave_out_unripe(here, rounds, bought, suits, _START, layouts)
        assert suits.ripe_from == {"microworm": since, BRINE_SHRIMP: 3}
        assert suits.soon == range(3)  # three rounds are a day and a half


# --- how well foods suit


def _need(room: Room, length_mm: float = 6.0, **foods: float) -> BroodNeed:
    return BroodNeed(room.broods[0], _START, length_mm, 10, 100.0, foods)


def _suits(room: Room, **shares: float) -> Suits:
    """How well foods suit a brood of 6 mm, as given."""
    suits = Suits(room)
    suits.by_length[room.broods[0].name] = {6.0: Fit.of(shares)}
    return suits


def test_a_food_stands_in_for_as_much_as_half_of_a_brood_can_use() -> None:
    """All from a half on, nothing at a tenth, in proportion between them."""
    for suits, share in ((0.0, 0.0), (0.1, 0.0), (0.2, 0.25), (0.3, 0.5), (0.5, 1.0), (0.9, 1.0)):
        assert _stand_in_share(suits) == pytest.approx(share)


def test_the_best_other_food_that_is_there_is_a_choice(room: Room) -> None:
    suits = _suits(room, worm=0.5, eel=0.3, wide=0.1)
    need = _need(room)
    assert suits.others(need, "eel", 5) == 1.0
    assert suits.others(need, "worm", 5) == pytest.approx(0.5)
    only = _suits(room, worm=0.5, wide=0.1)  # a tenth is no choice
    assert only.others(need, "worm", 5) == 0.0
    suits.ripe_from = {"worm": 6}
    assert suits.others(need, "eel", 5) == 0.0
    assert suits.others(need, "eel", 6) == 1.0
    # Nauplii that come in a day or two count a tenth; those that never come nothing.
    shrimp = _suits(room, brine_shrimp=0.5, worm=0.5)
    for since, soon, best in (
        (5, range(0), 1.0), (6, range(3, 6), 0.1), (6, range(6), 0.1), (9, range(6, 9), 0.0),
        (50, range(0), 0.0),
    ):  # fmt: skip
        shrimp.ripe_from, shrimp.soon = {BRINE_SHRIMP: since}, soon
        assert shrimp.others(need, "worm", 5) == pytest.approx(best)


def test_how_well_a_food_suits_is_what_the_mouth_says(room: Room) -> None:
    suits, brood = Suits(room), room.broods[0]
    serving = Serving(_need(room, 7.0), {})
    expected = suitability(room.food(BRINE_SHRIMP), brood.fry_class, 7.0)
    assert suits(serving, BRINE_SHRIMP) == pytest.approx(expected)
    assert suits(serving, "grindal_worm") == 0.0  # which it does not get
    assert suits.stand_in_j(serving.need, BRINE_SHRIMP) == pytest.approx(
        100.0 * _stand_in_share(expected)
    )
    assert 7.0 in suits.by_length["one"]
    suits.forget_lengths()
    assert suits.by_length["one"] == {}
    dry = _suits(room, dry=0.3)
    assert dry.dry_cap_j(Serving(_need(room), {DRY: 10.0})) == pytest.approx(50.0)
    assert dry.dry_cap_j(Serving(_need(room), {DRY: 80.0})) == 80.0


def test_what_is_not_ripe_stays_in_the_diet_where_nothing_else_suits(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    need = _need(room, worm=60.0, eel=40.0)
    suits = _suits(room, eel=0.5, dry=0.3)
    found: dict[str, float] = {"eel": 100.0}
    monkeypatch.setattr("cultures.planning.servings.diet_j", lambda *_: found)
    suits.ripe_from = {"worm": 3}
    assert suits.diet(need, 3) is need.foods
    assert suits.diet(need, 2) is found
    found = {}
    assert suits.diet(need, 2) is need.foods
    found = {"wide": 100.0}  # which suits nobody
    assert suits.diet(need, 2) is need.foods
    for dry_j, taken in ((49.9, True), (50.1, False)):  # half may be dry
        found = {"eel": 100.0 - dry_j, DRY: dry_j}
        assert (suits.diet(need, 2) is found) is taken


# --- one culture and its course


def test_a_culture_left_alone_gives_from_when_it_climbs() -> None:
    """200 mg climb from the start, 150 mg that grow by a fifth a round from the third on."""
    stage = _stage("MW-1", 200.0, first=3, rounds=12)
    assert first_harvest(stage) == 3
    grows = evolve(_stage("MW-1", 150.0, first=3, rounds=12), steps=[(1 / 1.2, 0.0)] * 8)
    assert first_harvest(grows) == 5  # 150, 180, 216
    assert first_harvest(_stage("MW-1", 199.9, rounds=12)) is None
    assert first_harvest(_stage("MW-1", 0.0, rounds=12)) is None
    late = _stage("MW-1", 200.0, rounds=12, lag=4)
    assert first_harvest(late) == 4
    nothing = evolve(_stage("MW-1", 0.0, rounds=12), climbs_mg=[0.0] * 12)
    assert first_harvest(nothing) is None


def test_a_course_is_carried_on_from_the_last_mark_before_a_round() -> None:
    stages = [_stage("MW-1", 900.0, rounds=30)]
    child = evolve(_stage("MW-2", 0.0, first=9, rounds=30),
                   culture=evolve(stages[0].culture, name="MW-2"))  # fmt: skip
    split = Split("MW-1", child.culture, 9)
    course = run_course([*stages, child], [split], [10.0] * 30)
    for index, mark in ((0, 0), (7, 0), (8, 8), (15, 8), (16, 16), (29, 24)):
        head = course.head(index)
        assert (
            len(head.harvests) == len(head.short_mg) == len(head.usable) == len(head.left) == mark
        )
        assert max(head.marks) == mark
        assert head.usable_from == ({"MW-1": 0} if mark else {})
        assert head.gave.get("MW-1", []) == ([9] if mark > 9 else [])
        again = run_course([*stages, child], [split], [10.0] * 30, since=head)
        assert again.stocks == course.stocks
    assert course.head(16).stocks is not course.marks[16][0]


def test_a_layout_is_made_once_for_cultures_that_are_alike(room: Room) -> None:
    rounds = _rounds(20)
    layouts = Layouts(room, rounds)
    one, two = _culture(room, "A"), _culture(room, "B")
    first = layouts.child(Split("x", one, 3))
    second = layouts.child(Split("y", two, 3))
    assert (first.culture.name, second.culture.name) == ("A", "B")
    assert first.ages is second.ages
    assert layouts.child(Split("x", one, 4)).ages is not first.ages
    assert layouts.child(Split("x", evolve(one, medium_g=99.0), 3)).ages is not first.ages
    assert layouts.standing(one) is layouts.standing(one)
    assert layouts.standing(one) is not layouts.standing(two)


# --- hatches that may be set, and what a plan of them says


def test_a_setting_that_was_told_is_known_by_vessels_alike(room: Room) -> None:
    one, two = room.vessels[0], evolve(room.vessels[0], name="V2", litres=2.0)
    at, harvest = _START, _START + _DAY
    told = (
        Told("V1", at, harvest), Told("V2", at + timedelta(hours=1), harvest),
        Told("V9", at, harvest), Told("microworm", at), Told("V1", at),
    )  # fmt: skip
    found = _told_settings(evolve(room, vessels=(one, two), told=told))
    litres = {key[0][0]: at_h - hours(at) for key, at_h in found.items()}
    assert litres == {1.0: 0.0, 2.0: 1.0}
    assert {key[1] for key in found} == {hours(harvest)}


def test_the_grams_told_for_a_vessel_are_its_own_before_those_of_one_alike(room: Room) -> None:
    one, like, other = (
        evolve(room.vessels[0], name=name, litres=litres)
        for name, litres in (("V1", 1.0), ("V2", 1.0), ("V3", 2.0))
    )
    here, rounds = evolve(room, vessels=(one, like, other)), _rounds(10)

    def offered(here: Room, number: int) -> list[Option]:
        return [*HatchOptions(here, rounds, here.holding).of(number, hours(_START), 0)]

    first = offered(here, 0)[0]
    at, harvest = (here.at_hour(h) for h in (first.start_h, first.end_h - CLEANING_H))
    told = (Told("V1", at, harvest, grams=1.5), Told("V3", at, harvest), Told("V9", at, harvest))
    found = {name: when for (name, _), when in _told_grams(evolve(here, told=told)).items()}
    assert found == {"V1": (hours(at), 1.5), likeness(one): (hours(at), 1.5)}
    for mine, of_like in (((), 1.5), ((Told("V2", at, harvest, grams=0.7),), 0.7)):
        both = evolve(here, told=(*told, *mine))
        grams = [
            [o.told_g for o in offered(both, k) if o.told_g or o.start_h == first.start_h]
            for k in range(3)
        ]
        assert grams == [[1.5], [of_like], [0.0]]


def test_a_lost_vessel_gives_nothing_after_it_and_a_skipped_one_waits(room: Room) -> None:
    rounds = _rounds(10)

    def given(**vessel: Any) -> list[int]:
        here = evolve(room, vessels=(evolve(room.vessels[0], **vessel),))
        options = HatchOptions(here, rounds, here.holding)
        return sorted({option.at_index for option in options.of(0, hours(_START), 0)})

    every = given()
    assert every == list(range(every[0], 10))
    limit_h = rounds[every[0] + 2].at_h - 0.5  # drawn off half an hour before
    assert given(lost_h=limit_h) == every[:3]
    assert given(lost_h=limit_h - 0.01) == every[:2]
    skipped = evolve(room, not_before={"V1": rounds[4].at})
    options = HatchOptions(skipped, rounds, room.holding)
    assert min(o.start_h for o in options.of(0, hours(_START), 0)) >= rounds[4].at_h
    since = {o.at_index for o in HatchOptions(room, rounds, room.holding).of(0, hours(_START), 6)}
    assert since == set(range(6, 10))
    away = [evolve(r, keeper=r.index != 5) for r in rounds]
    fewer = {o.at_index for o in HatchOptions(room, away, room.holding).of(0, hours(_START), 0)}
    assert 5 not in fewer
    cold = evolve(room, vessels=(evolve(room.vessels[0], temperature_c=1.0),))
    assert list(HatchOptions(cold, rounds, cold.holding).of(0, hours(_START), 0)) == []


def test_what_can_be_set_for_fewer_rounds_is_known_from_what_can_for_all(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    rounds, from_h = _rounds(20), hours(_START)
    every = HatchOptions(room, rounds, room.holding)
    whole = [*every.of(0, from_h, 0)]
    fewer = [*HatchOptions(room, rounds[:12], room.holding).of(0, from_h, 2)]
    assert fewer == [option for option in whole if 2 <= option.at_index < 12]
    with monkeypatch.context() as patch:
        patch.delattr(HatchOptions, "settings")  # it is known by now
        assert [*every.until(12).of(0, from_h, 2)] == fewer
    later = [*every.of(0, rounds[8].at_h, 0)]
    assert min(option.start_h for option in later) >= rounds[8].at_h
    assert later == [*HatchOptions(room, rounds, room.holding).of(0, rounds[8].at_h, 0)]


def test_of_two_rounds_with_one_time_to_draw_off_each_has_its_own_hatches(room: Room) -> None:
    """Ten minutes apart, from waking on: a hatch for either is drawn off when the day begins."""
    first = _rounds(9)[8]
    at = first.at + timedelta(minutes=10)
    rounds = [*_rounds(9), evolve(first, index=9, at=at, at_h=hours(at))]
    early = evolve(room, awake=(first.at.time(), room.awake[1]))
    found = [*HatchOptions(early, rounds, early.holding).of(0, hours(_START), 8)]
    ends = {index: {o.end_h for o in found if o.at_index == index} for index in (8, 9)}
    assert ends == {8: {first.at_h + CLEANING_H}, 9: {first.at_h + CLEANING_H}}


def test_no_setting_is_kept_that_another_makes_needless(room: Room) -> None:
    """Of those kept each brings more, is less work, or leaves its vessel longer in use."""
    rounds = _rounds(20)
    options = HatchOptions(room, rounds, room.holding)
    model = vessel_model(room, room.vessels[0])
    found = options.settings(model, rounds[12].at_h - 0.5, hours(_START))
    assert found
    for setting in found:
        assert setting.energy_j == pytest.approx(model.energy(rounds[12].at_h - 0.5 - setting.at_h))
        worse = [s for s in found if s is not setting and s.at_h >= setting.at_h
                 and s.energy_j >= setting.energy_j and s.effort <= setting.effort]  # fmt: skip
        assert not worse
    assert max(s.energy_j for s in found) >= 0.95 * model.energy(model.best_hours())


def _hatch_plan(given: list[float], short: list[float], **more: Any) -> HatchPlan:
    option = Option(0, 1, 0.0, 24.0, 10.0, 4.0)
    problem = LotProblem((5.0, 6.0, 7.0), (), (), (option,), 1.0, 1.0, ())
    return HatchPlan([], [()] * len(given), given, short, [], evolve(problem, **more), ())


def test_the_share_that_was_met_is_that_of_the_last_two_weeks_with_hatches() -> None:
    """28 rounds at which something was given; an absence passes."""
    assert _hatch_plan([3.0, 0.0, 5.0], [1.0, 9.0, 1.0]).share_met() == pytest.approx(0.8)
    long = _hatch_plan([1.0] * 5 + [3.0] * 28, [9.0] * 5 + [1.0] * 28)
    assert long.share_met() == pytest.approx(0.75)
    longer = _hatch_plan([1.0] * 5 + [3.0] * 27, [9.0] * 5 + [1.0] * 27)
    assert longer.share_met() == pytest.approx((27 * 3 + 1) / (27 * 4 + 10))
    assert _hatch_plan([0.0], [4.0]).share_met() == 1.0
    assert _hatch_plan([3.0], [1.0], options=()).share_met() == 0.0
    empty = _hatch_plan([3.0], [1.0])
    empty.tin_short = [(1.0, 1.0)]
    assert empty.share_met() == 0.0


def test_what_a_plan_decides_for_its_first_rounds(room: Room) -> None:
    plan = _hatch_plan([1.0, 2.0, 3.0], [0.0, 0.0, 1.0])
    batches: Any = [SimpleNamespace(standing=stands, held=held)
                    for stands, held in ((True, False), (True, True), (False, False))]  # fmt: skip
    plan.batches = batches
    plan.lots = tuple(Lot(Option(0, at, 0.0, 1.0, 1.0, 1.0), 2.0) for at in (0, 1, 2))
    plan.rationed = ((9.0, 1.0), (10.0, 2.0))
    decided = plan.decided(2, 10.0)
    assert (decided.rounds, decided.wanted_j, decided.standing) == (2, (5.0, 6.0), (batches[0],))
    assert [lot.option.at_index for lot in decided.lots] == [0, 1]
    assert decided.rationed == ((9.0, 1.0),)
    more = plan.padded(5)
    assert (more.given_j, more.short_j) == ([1.0, 2.0, 3.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0, 0.0])
    assert len(more.portions) == 5
    batch: Any = SimpleNamespace(vessel=room.vessels[0], set_h=hours(_START))
    low, high = window_times(room, batch)
    model = vessel_model(room, room.vessels[0])
    best = model.energy(model.best_hours())
    for at in (low, high):
        stood_h = hours(at) - hours(_START)
        assert model.energy(stood_h) / best == pytest.approx(0.9, abs=0.01)
    assert low < high
