"""Cups as they were told and by the marks of a syringe, and hatches at the limits of their plan."""

from __future__ import annotations

import json
from datetime import date, time, timedelta
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from cultures.foods.food import DRY
from cultures.needs.need import BroodNeed
from cultures.planning import amounts as amounts_module
from cultures.planning import hatch_plan as hatch_module
from cultures.planning import standing_hatches as standing_module
from cultures.planning.amounts import (
    AsTold,
    _cup_shares,
    _dosed_cup,
    _dry_doses,
    _dry_way,
    _strength,
    _twists,
    measure,
    weighed_dry_g,
)
from cultures.planning.harvests import Batch, Decided, HatchPlan
from cultures.planning.hatch_plan import _carried, _had_h, _lacking, _lots, plan_hatches
from cultures.planning.lots import Lot, LotPlan, LotProblem, Option
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import Serving, dry_j_per_g
from cultures.planning.standing_hatches import _harvests, first_nauplii, held_batches, with_standing
from cultures.record.store import _cells, _task
from cultures.room.file import read_room
from cultures.room.jars import vessel_model
from cultures.room.orders import RisingStock
from cultures.room.room import HeldNauplii, Room, RunningHatch
from cultures.tasks.told import SOAKED, WEIGHED, FeedLine, Way
from cultures.words.moments import hours
from cultures.words.tasks import wet_ml
from cultures.words.tools import CYSTS, MeasuringCup, Syringe, Tools
from tests.unit.noting import noting
from tests.unit.test_planning_by_hand import _START, _rounds
from tests.unit.test_shortfall_limits import _TEXT

_TODAY = date(2027, 1, 5)
_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def room() -> Room:
    """Where a cup is of 50 mL at least, in tanks of 40 L."""
    return evolve(read_room(_TEXT, today=_TODAY), makeup_ml=50.0)


def _served(room: Room, *parts: tuple[float, float], food: str = "worm") -> list[Serving]:
    found = []
    for number, (part, need_j) in enumerate(parts):
        brood = evolve(room.broods[0], name=f"b{number}")
        need = BroodNeed(brood, _START, 6.0, 10, need_j, {food: part})
        found.append(Serving(need, need.foods, {food: part}))
    return found


def _as_told(cup_ml: float, *doses_ml: float, food: str = "worm") -> AsTold:
    lines = {
        (food, f"b{n}"): FeedLine(at=_START, tank="A", brood=f"b{n}", food=food, need_j=1.0,
                                  given_j=1.0, amount=dose, unit="mL")
        for n, dose in enumerate(doses_ml)
    }  # fmt: skip
    return AsTold({food: cup_ml}, lines)


def _cup(room: Room, *parts: tuple[float, float], told: AsTold | None = None, step: float = 1.0,
         energy_j: float = 100.0) -> tuple[float, list[float]]:  # fmt: skip
    served = _served(room, *parts)
    return _cup_shares(room, "worm", served, energy_j, step, 0.5, told or AsTold.of(None))


# --- cups


def test_a_cup_that_was_told_stands_up_to_the_largest_that_is_made_up(room: Room) -> None:
    """Five usual cups, in whole marks; the usual one at least."""
    one = (100.0, 100.0)
    assert _cup(room, one) == (50.0, [50])
    for told_ml, volume in ((50.0, 50.0), (100.0, 100.0), (250.0, 250.0), (251.0, 50.0),
                            (49.0, 50.0), (100.5, 50.0), (0.0, 50.0)):  # fmt: skip
        assert _cup(room, one, told=_as_told(told_ml, told_ml)) == (volume, [round(volume)])


def test_no_cup_is_made_larger_for_a_dose_that_is_counted_in_drops(room: Room) -> None:
    """3 of 100 J are 1.5 mL of 50, thirty drops of a twentieth of a millilitre (common practice, no
    source); the others have whole marks of the rest, and half of one stays in the cup.
    """
    parts = ((97.0, 97.0), (3.0, 3.0))
    assert _cup(room, *parts) == (50.0, [48, 1.5])
    # What was told of them stands while it is no more than a tenth off: 27 to 33 drops.
    for told_ml, given_ml in ((1.35, 1.35), (1.65, 1.65), (1.3, 1.5), (1.7, 1.5)):
        assert _cup(room, *parts, told=_as_told(50.0, 48.0, told_ml)) == (50.0, [48, given_ml])
    # In a larger one that was told it has marks enough.
    assert _cup(room, *parts, told=_as_told(200.0, 194.0, 6.0)) == (200.0, [194, 6])


def test_a_finer_syringe_measures_what_has_few_marks(room: Room) -> None:
    """1.5 mL of 50 are 7.5 marks of 0.2 mL; by half millilitres they are three, so drops."""
    parts = ((97.0, 97.0), (3.0, 3.0))
    for mark_ml, given_ml in ((0.2, 1.6), (0.5, 1.5)):
        syringes = (Syringe(60.0, 1.0), Syringe(5.0, mark_ml))
        fine = evolve(room, tools=Tools(syringes=syringes, stated=True))
        assert _cup(fine, *parts) == (50.0, [48, given_ml])


def test_doses_that_were_told_of_such_a_cup_stand(room: Room) -> None:
    """Of 100 mL 60 and 40; 61 and 39 were told, which nobody feels."""
    parts = ((60.0, 60.0), (40.0, 40.0))
    assert _cup(room, *parts, told=_as_told(100.0, 61.0, 39.0)) == (100.0, [61, 39])
    assert _cup(room, *parts, told=_as_told(100.0, 63.0, 37.0)) == (100.0, [60, 40])
    assert _cup(room, *parts, told=_as_told(250.0, 151.0, 99.0)) == (250.0, [151, 99])
    # In another cup they say nothing.
    assert _cup(room, *parts, told=_as_told(300.0, 183.0, 117.0))[1] == [30, 20]


def test_where_doses_are_poured_two_hundredths_of_a_cup_more_or_less_stand(room: Room) -> None:
    """91 of 100 mL are 100 by a measuring cup of 25 mL, more than is fed; 90 are said, as any jug
    shows them, and 99 are fed in all. Told were 2 or 3 more.
    """
    tools = Tools(syringes=(Syringe(5.0, 1.0),), cups=(MeasuringCup(500.0, 25.0),), stated=True)
    jug, parts = evolve(room, tools=tools), ((91.0, 91.0), (9.0, 9.0))
    for told_ml, stands_ml in ((50.0, 90), (92.0, 92), (93.0, 90)):
        told = _as_told(100.0, told_ml, 9.0)
        assert _cup(jug, *parts, told=told) == (100.0, [stands_ml, 9])


def test_a_cup_is_in_whole_marks_and_so_is_what_is_fed_of_it(room: Room) -> None:
    """Marks of 2 mL: 25 of 50 mL; of 3 mL: 17 of 51; of a half-fed cup half of them."""
    assert _cup(room, (100.0, 100.0), step=2.0) == (50.0, [25])
    assert _cup(room, (100.0, 100.0), step=3.0) == (51.0, [17])
    assert _cup(room, (50.0, 50.0), step=2.0) == (50.0, [12])
    assert _cup(room, (50.0, 50.0), step=0.5) == (50.0, [50])


def test_each_of_ten_broods_has_ten_marks_of_a_cup(room: Room) -> None:
    """Ten broods of 10 J, each ten marks of 100 mL."""
    volume, shares = _cup(room, *[(10.0, 10.0)] * 10)
    assert (volume, shares) == (100.0, [10] * 10)


def test_the_finest_syringe_that_takes_the_largest_dose_gives_the_marks(room: Room) -> None:
    fine = evolve(room, tools=Tools(syringes=(Syringe(1.0, 0.05), Syringe(60.0, 1.0))))
    # 1 and 2.5 mL of 50 in the fine one, three times full at most; 3.5 mL in the other by eye.
    for part, volume, mark, shares in (
        (2.0, 50.0, 0.05, [20]), (5.0, 50.0, 0.05, [50]), (7.0, 50.0, 1.0, [3.5]),
        (100.0, 50.0, 1.0, [50]),
    ):  # fmt: skip
        served = _served(fine, (part, part))
        told = AsTold.of(None)
        assert _dosed_cup(fine, "worm", served, 100.0, 0.5, told) == (volume, mark, shares)


def test_a_line_says_the_dose_in_millilitres_and_what_is_in_it(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten marks of 2 mL of 50 mL with 100 J: 20 mL, 40 J; and what the cup feeds in all."""
    monkeypatch.setattr(amounts_module, "_dosed_cup", lambda *_: (50.0, 2.0, [10, 5]))
    monkeypatch.setattr(amounts_module, "_in_cup", lambda *_: 100.0)
    row = _served(room, (40.0, 40.0), (20.0, 20.0))
    nothing = LotProblem((), (), (), (), 1.0, 1.0, ())
    hatches = HatchPlan([], [()], [0.0], [0.0], [], nothing, ())
    (lines,), cups = measure(room, FeedingPlan(_rounds(1), [row], {}, hatches))
    assert [(x.brood, x.amount, x.given_j) for x in lines] == [
        ("b0", 20.0, 40.0),
        ("b1", 10.0, 20.0),
    ]
    assert cups[0, "worm"].fed_ml == 30.0


def test_foods_of_a_round_take_turns_apart(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the golden ratio every twelve hours, and each food of so many a part further."""
    golden, turns = (5**0.5 - 1) / 2, list[float]()

    def dosed(*args: Any) -> Any:
        turns.append(args[4])
        return 50.0, 1.0, [10]

    monkeypatch.setattr(amounts_module, "_dosed_cup", dosed)
    monkeypatch.setattr(amounts_module, "_in_cup", lambda *_: 100.0)
    rounds = _rounds(2)
    rows = []
    for _ in rounds:
        (one,) = _served(room, (50.0, 100.0), food="eel")
        one.given_j = {"eel": 25.0, "worm": 25.0}
        rows.append([one])
    nothing = LotProblem((), (), (), (), 1.0, 1.0, ())
    hatches = HatchPlan([], [(), ()], [0.0] * 2, [0.0] * 2, [], nothing, ())
    lines, cups = measure(room, FeedingPlan(rounds, rows, {}, hatches))
    first = rounds[0].at_h / 12 * golden % 1.0
    expected = [first, first + 0.5, first + golden, first + golden + 0.5]
    assert turns == pytest.approx([turn % 1.0 for turn in expected])
    assert set(cups) == {(0, "eel"), (0, "worm"), (1, "eel"), (1, "worm")}
    assert [(x.food, x.amount, x.given_j) for x in lines[0]] == [
        ("eel", 10.0, 20.0), ("worm", 10.0, 20.0)
    ]  # fmt: skip


# --- dry food


def _dry(room: Room, *grams: float, need_g: float | None = None) -> list[Serving]:
    j = dry_j_per_g()
    return _served(room, *((g * j, (need_g or g) * j) for g in grams), food=DRY)


def test_dry_food_is_soaked_in_one_strength_and_of_much_in_another(room: Room) -> None:
    """A gram in half a litre, and from there on a gram in a tenth, until it is clearly less again;
    what was told stands.
    """
    little, much = _dry(room, 0.02), _dry(room, 0.9, 0.2)
    assert [_strength(little, None, last) for last in (None, 1.0, 5.0, 0.2)] == [1.0] * 4
    assert [_strength(much, None, last) for last in (None, 1.0, 5.0)] == [5.0] * 3
    assert _strength(_dry(room, 0.9), None, 5.0) == 5.0
    assert _strength(_dry(room, 0.79), None, 5.0) == 1.0
    assert _strength(little, 0.2, None) == 0.2


def test_of_much_soaked_dry_food_a_small_dose_is_in_drops(room: Room) -> None:
    """1.2 g on a scale of 0.1 g, of which one brood is to get 0.006 g: soaked five times as strong
    they are 0.6 mL, twelve drops, and not a sixteenth of 0.1 g; so from 0.1 g in 10 mL on.
    """
    coarse = evolve(room, tools=Tools(scale_g=0.1, stated=True))
    doses = _dry_doses(coarse, _rounds(1)[0], _dry(coarse, 1.2, 0.006), 0.5, AsTold.of(None))
    assert [d.amount for d in doses] == pytest.approx([1.2, 0.006])
    assert [d.wet_ml for d in doses] == pytest.approx([120.0, 0.6])
    assert {d.way for d in doses} == {SOAKED}


def test_for_two_grown_fish_nobody_elses_dry_food_is_soaked(room: Room) -> None:
    """They wait for a pinch, a quarter of 0.1 g; 1.2 g of others are weighed as ever."""
    coarse = evolve(room, tools=Tools(scale_g=0.1, stated=True))
    much, little = _dry(coarse, 1.2, 0.006)
    little.need = evolve(little.need, length_mm=21.0)
    each_g = []
    for turn in (n / 10 for n in range(10)):
        doses = _dry_doses(coarse, _rounds(1)[0], [much, little], turn, AsTold.of(None))
        assert {d.way for d in doses} == {WEIGHED}
        assert doses[0].amount == pytest.approx(1.2)
        each_g.append(doses[1].amount)
    assert {round(g, 6) for g in each_g} == {0.0, 0.025}


def test_doses_of_dry_food_that_were_told_stand_where_nobody_feels_it(room: Room) -> None:
    """0.1 g each are fifty marks of 0.002 g; a tenth of what they need is five of them, or less
    than one.
    """
    for need_g, doses in ((0.1, [0.102, 0.098]), (0.019, [0.1, 0.1])):
        served = _dry(room, 0.1, 0.1, need_g=need_g)
        told = _as_told(0.0, 0.102, 0.098, food=DRY)
        found = _dry_doses(room, _rounds(1)[0], served, 0.5, told)
        assert [dose.amount for dose in found] == pytest.approx(doses)
        assert [dose.wet_ml for dose in found] == [None, None]


def test_a_step_of_the_scale_more_of_dry_food_in_all_does_no_harm(room: Room) -> None:
    """0.01 g are five marks of 0.002 g: one more for each of five broods, but not two of six."""
    for told_g, stands in ((0.102, True), (0.1024, False)):
        served = _dry(room, *[0.1] * 5)
        told = _as_told(0.0, *[told_g] * 5, food=DRY)
        found = _dry_doses(room, _rounds(1)[0], served, 0.5, told)
        assert [dose.amount for dose in found] == pytest.approx([told_g if stands else 0.1] * 5)
    six = _dry_doses(room, _rounds(1)[0], _dry(room, *[0.1] * 6), 0.5,
                     _as_told(0.0, *[0.102] * 6, food=DRY))  # fmt: skip
    assert [dose.amount for dose in six] == pytest.approx([0.1] * 6)


def test_what_a_round_takes_of_the_tin_is_what_is_weighed() -> None:
    """A hundredth of a gram at least where the keeper soaks it; a helper has it in twists."""
    lines = [FeedLine(at=_START, tank="A", brood="b", food=food, need_j=1.0, given_j=1.0,
                      amount=amount, unit="g") for food, amount in ((DRY, 0.003), (DRY, 0.004),
                                                                    ("worm", 9.0))]  # fmt: skip
    here, away = _rounds(2, away=(1,))
    assert weighed_dry_g(Tools(), here, lines) == 0.01
    assert weighed_dry_g(Tools(), away, lines) == 0.007
    assert weighed_dry_g(Tools(), here, lines[2:]) == 0.0
    assert weighed_dry_g(Tools(), here, [evolve(lines[0], amount=0.25)]) == 0.25


def test_a_dose_of_dry_food_is_left_out_with_a_word_where_it_is_felt(room: Room) -> None:
    """Half of 0.01 g in its turn: none is fed at the first, so that it waits."""
    feeding = evolve(_rounds(1)[0], keeper=False)
    for need_g, said in ((0.02, True), (0.2, False)):
        served = _dry(room, 0.0004, need_g=need_g / 50)
        (dose,) = _dry_doses(room, feeding, served, 0.1, AsTold.of(None))
        assert dose.amount == 0.0
        assert (dose.skipped_g is not None) is said
    step_g, (much, little) = _twists(_dry(room, 0.02, 0.001), 0.01, 0.5)
    assert much * step_g == pytest.approx(0.02)
    assert little in (0, 1)


# --- hatches


def _option(at: int, start_h: float, energy: float = 10.0, **more: Any) -> Option:
    return Option(0, at, start_h, start_h + 24.0, energy, 4.0, **more)


def test_what_a_tin_lacks_is_of_those_set_last() -> None:
    lots = [Lot(_option(2, 30.0), 3.0), Lot(_option(1, 10.0), 2.0), Lot(_option(3, 50.0), 4.0)]
    assert _lacking(lots, RisingStock(9.0)) == []
    assert _lacking(lots, RisingStock(8.5)) == [(50.0, 0.5)]
    assert _lacking(lots, RisingStock(4.0)) == [(30.0, 1.0), (50.0, 4.0)]
    assert _lacking(lots, RisingStock(0.0)) == [(10.0, 2.0), (30.0, 3.0), (50.0, 4.0)]
    assert _lacking(lots, RisingStock(8.9999995)) == []


def _wanted(rounds: int, effort_g: float, weighed: list[tuple[Lot, float]]) -> Any:
    """Rounds that need 20 J each, and ask for a share of it."""

    def rationed(_: Any, share: float, __: range) -> Any:
        return SimpleNamespace(need_j=[20.0 * share] * rounds, weighed=lambda *_: weighed)

    room = SimpleNamespace(effort_g=effort_g, usual_rounds=lambda: 1.0, hatches=())
    need_j, half_j = [20.0] * rounds, [25.0] * rounds
    return SimpleNamespace(
        room=room, need_j=need_j, half_j=half_j, usual_j=need_j, rationed=rationed,
        diet_j=need_j, held_j=[0.0] * rounds,
    )  # fmt: skip


def _tin(
    monkeypatch: pytest.MonkeyPatch, tin_g: float, *, had_h: float = 40.0, effort_g: float = 0.0,
    first_g: float = 2.0, share: float = 0.5,
) -> tuple[Any, list[Any]]:  # fmt: skip
    """Three rounds that need 20 J each, 30 J with the margin, of hatches of 10 J a gram; planned at
    first with so much in each.
    """
    options = tuple(_option(at, 20.0 * at) for at in range(3))
    problem = LotProblem((30.0,) * 3, (0.9,) * 2, (0, 0, 1), options, 3.0, 1.0, (5.0,) * 3)
    lots = [Lot(option, 2.0) for option in options]
    plan = LotPlan(tuple(lots), (0.0,) * 3, 9.0, True, 9.0)
    asked: list[Any] = []

    def shared(until: Any, grams: float, weighed: Any = None) -> Any:
        asked.append((until(share), grams, weighed))
        return share, plan

    begun = evolve(plan, lots=tuple(Lot(option, first_g) for option in options))
    monkeypatch.setattr(hatch_module, "first", lambda _: (begun, False))
    monkeypatch.setattr(hatch_module, "solve", noting(asked, plan, lambda p: p))
    monkeypatch.setattr(hatch_module, "amounts", lambda *_: lots)
    monkeypatch.setattr(hatch_module, "worth_setting", noting(asked, lots, lambda *args: args[::2]))
    monkeypatch.setattr(hatch_module, "within", lambda p, *_: p)
    monkeypatch.setattr(hatch_module, "shared", shared)
    wanted = _wanted(3, effort_g, [(lots[0], 1.5)])
    given, _, kept, lacking, _ = _lots(problem, wanted, Decided(), RisingStock(tin_g), had_h, 3)
    return (given, kept, lacking), asked


@pytest.mark.parametrize(("supply", "wanted"), [
    ((90.0, 0.0, 0.0), (30.0, 30.0, 30.0)),  # nothing is missing
    ((85.0, 0.0, 0.0), (27.0, 27.0, 27.0)),  # 5 J of the last are missing with all of the margin
    ((75.0, 0.0, 0.0), (24.0, 24.0, 24.0)),  # and 6 J with half of it, but none without
    ((71.0, 0.0, 0.0), (24.0, 24.0, 23.0)),  # without it 1 J, of the 72 J that its rounds need
    ((68.0, 0.0, 0.0), (30.0, 30.0, 30.0)),  # 4 J, which is more than 3 % of that
    ((0.0, 57.0, 0.0), (30.0, 27.0, 27.0)),
    ((0.0, 50.0, 0.0), (30.0, 24.0, 24.0)),
])  # fmt: skip
def test_what_stands_feeds_its_last_round_with_what_it_has_of_the_margin(
    supply: tuple[float, ...], wanted: tuple[float, ...]
) -> None:
    """Rounds that want 30 J with all of it, 27 J with half, and 24 J usually."""
    sized = LotProblem((30.0,) * 3, (1.0,) * 2, (0,) * 3, (), 3.0, 1.0, (5.0,) * 3, supply)
    leaner = [
        (evolve(sized, demand=(each,) * 3), some) for each, some in ((27.0, 0.5), (24.0, 1.0))
    ]
    assert _carried(sized, leaner, [24.0] * 3) == wanted


def test_a_tin_that_lasts_is_planned_with_the_margin(monkeypatch: pytest.MonkeyPatch) -> None:
    """6 g are wanted; what a later hatch lacks is to be bought, and changes nothing before."""
    for tin_g, had_h in ((6.0, 99.0), (5.0, 40.0)):
        (problem, lots, lacking), asked = _tin(monkeypatch, tin_g, had_h=had_h)
        assert problem.demand == (30.0,) * 3
        assert (len(lots), lacking) == (3, [])
        assert asked[0].demand == (30.0,) * 3  # solved with the margin


def test_a_tin_that_ends_before_more_can_be_had_is_shared_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Without the margin, and a setting costs what it does. The tin lacks a sixth of 60 J; a round
    counts 100, so work 1 + 1/3 of a tenth of that, and a gram a third of 50.
    """
    (problem, lots, lacking), asked = _tin(monkeypatch, 5.0, had_h=40.1)
    assert asked[0].demand == (20.0,) * 3
    assert lacking == [(40.0, 1.0)]
    until, grams, weighed = asked[-1]
    assert (until.demand, until.setup_cost) == ((10.0,) * 3, 3.0)
    assert until.gram_cost == pytest.approx(50.0 / 3.0 / (1.0 + 10.0 / 3.0))
    assert grams == 5.0
    assert weighed(0.5, LotPlan((), (), 0.0, True, 0.0)) == 1.5
    assert problem.demand == (10.0,) * 3
    assert [lot.grams for lot in lots] == [2.0] * 3


def test_a_tin_that_does_for_all_rounds_until_then_is_not_shared_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What the last hatch lacks is for rounds that come later."""
    (problem, _, lacking), _ = _tin(monkeypatch, 5.0, had_h=40.1, share=1.0)
    assert (problem.demand, lacking) == ((20.0,) * 3, [])


def test_without_the_margin_a_tin_lasts_until_the_very_hour_at_which_more_can_be_had(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With it the second hatch would lack 1 g of 5; without, the third alone, set as more comes."""
    (problem, _, lacking), asked = _tin(monkeypatch, 5.0, had_h=40.0, first_g=3.0)
    assert (problem.demand, lacking) == ((20.0,) * 3, [])
    assert len(asked) == 1  # nothing is shared out


def test_what_is_decided_is_not_shared_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two of four rounds; of the second's harvest may be fed at the third, so that it is looked at
    again, with nothing wanted there.
    """
    options = tuple(_option(at, 20.0 * at) for at in range(4))
    problem = LotProblem((30.0,) * 4, (0.9,) * 3, (0, 0, 1, 2), options, 3.0, 1.0, (5.0,) * 4)
    lots = [Lot(_option(at, 20.0 * at), 2.0) for at in (1, 2)]
    plan = LotPlan(tuple(lots), (0.0,) * 3, 9.0, True, 9.0)
    asked: list[Any] = []
    shared = noting(asked, (0.5, plan), lambda until, grams, *_: (until(0.5), grams))
    for name, gives in (("first", (plan, False)), ("solve", plan), ("amounts", lots)):
        monkeypatch.setattr(hatch_module, name, noting([], gives))
    monkeypatch.setattr(hatch_module, "shared", shared)
    decided = Decided(2, (Lot(_option(0, 0.0), 1.0),), (), (30.0, 30.0))
    found, _, kept, lacking, soon = _lots(
        problem, _wanted(4, 0.0, []), decided, RisingStock(4.5), 99.0, 4
    )
    ((until, grams),) = asked
    assert soon == 4
    assert (until.demand, grams) == ((0.0, 10.0, 10.0), 4.5)
    assert found.demand == (30.0, 30.0, 10.0, 10.0)
    assert lacking == [(40.0, 0.5)]  # of 3.5 g that are left after what is decided
    assert [(lot.option.at_index, lot.grams) for lot in kept] == [(0, 1.0), (2, 2.0), (3, 2.0)]


def test_hatches_for_what_is_not_called_short_are_looked_at_where_work_counts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _, without = _tin(monkeypatch, 9.0)
    assert len(without) == 1  # solved, and that is all
    _, looked = _tin(monkeypatch, 9.0, effort_g=3.0)
    (needed, bears) = looked[1]
    assert (needed.demand, bears) == ((20.0,) * 3, 0.03)


def test_more_can_be_had_within_a_week(room: Room) -> None:
    """Rounds that are fed from what is set on seven days, at whatever hour; all where it lasts."""
    assert room.cysts is not None
    rounds, short = _rounds(40), evolve(room, cysts=evolve(room.cysts, grams=1.0))
    for hours_later, soon in ((0, 16), (9, 16), (24, 18)):
        start = _START + timedelta(hours=hours_later)
        assert plan_hatches(short, rounds, [3000.0] * 40, start=start).soon == soon
        assert plan_hatches(room, rounds, [0.0] * 40, start=start).soon == 40


def test_more_can_be_had_a_week_after_it_was_told_to_be_bought(room: Room) -> None:
    for days_ago, days in ((0, 7), (1, 6), (6, 1), (7, 7), (8, 6)):
        told = evolve(room, to_buy_since={CYSTS: (_START - days_ago * _DAY).date()})
        midnight = room.local((_START + days * _DAY).date(), time(0))
        assert _had_h(told, _START + timedelta(hours=5)) == hours(midnight)


def test_what_is_held_counts_from_the_round_it_was_drawn_off_for(room: Room) -> None:
    """Half an hour before it; of a vessel that is gone a litre of 27 °C and 25 g is taken."""
    rounds = _rounds(6)
    for minutes, index in ((-30, 0), (0, 0), (1, 0), (30, 0), (31, 1), (12 * 60 + 31, 2)):
        at = _START + timedelta(minutes=minutes)
        held = HeldNauplii("V1", at, 100.0, 7.0, 0.5)
        (batch,) = held_batches(evolve(room, held=(held,)), rounds)
        assert (batch.at_index, batch.harvest_h) == (index, hours(at))
        assert (batch.cysts_g, batch.nauplii, batch.energy_j, batch.share) == (0.0, 100.0, 7.0, 0.5)
        assert batch.standing
        assert batch.held
        assert batch.vessel is room.vessels[0]
    gone = HeldNauplii("V9", _START, 100.0, 7.0)
    (batch,) = held_batches(evolve(room, held=(gone,)), rounds)
    vessel = batch.vessel
    assert (vessel.name, vessel.litres, vessel.temperature_c, vessel.salinity_g_per_l) == (
        "V9", 1.0, 27.0, 25.0
    )  # fmt: skip
    late = HeldNauplii("V1", _START + 9 * _DAY, 100.0, 7.0)
    assert held_batches(evolve(room, held=(late,)), rounds) == []
    assert held_batches(evolve(room, held=(gone,)), []) == []


def test_a_hatch_that_stood_longer_than_any_source_lets_nauplii_keep_is_no_food(room: Room) -> None:
    model, rounds = vessel_model(room, room.vessels[0]), _rounds(8)
    longest = timedelta(hours=model.best_hours() + 24.0)
    drawn = rounds[0].at - timedelta(minutes=30)
    for by, food in ((timedelta(minutes=1), True), (timedelta(minutes=-1), False)):
        hatch = RunningHatch("V1", drawn - longest + by, 3.0, share=0.5)
        found = _harvests(room, hatch, rounds)
        assert (found[0].energy_j > 0.0) is food
        if food:
            assert found[0].energy_j == pytest.approx(
                0.5 * 3.0 * model.energy((longest - by) / timedelta(hours=1))
            )
        else:
            assert [b.at_index for b in found] == [0]
            assert found[0].cysts_g == 3.0
    # Set after the first rounds: drawn off after it is set, when somebody is there.
    new = RunningHatch("V1", rounds[2].at, 3.0)
    assert all(b.harvest_h > hours(rounds[2].at) for b in _harvests(room, new, rounds))
    away = [evolve(r, keeper=r.index != 5) for r in rounds]
    assert 5 not in {b.at_index for b in _harvests(room, new, away)}


def test_hatches_that_stand_are_seen_until_four_days_after_the_next(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the last at which any may be drawn off: a hatch of two days, and four days more."""
    rounds, seen = _rounds(60), list[int]()
    batches = [
        Batch(room.vessels[0], at, 0.0, rounds[at].at_h - 0.5, 3.0, 1.0, 1.0) for at in (2, 4)
    ]
    monkeypatch.setattr(standing_module, "_harvests", lambda *_: batches)
    monkeypatch.setattr(standing_module, "longest_incubation", lambda _: 2 * _DAY)
    monkeypatch.setattr(standing_module, "_goes_short", lambda *_: False)
    monkeypatch.setattr(standing_module, "_lasts", lambda *_: True)
    near = SimpleNamespace()
    problem: Any = SimpleNamespace(until=noting(seen, near, lambda n: n), setup_cost=4.0)
    told = RunningHatch("V1", _START, 3.0, harvest_at=rounds[2].at)
    here = evolve(room, hatches=(told,))
    problem_of: Any = lambda _: problem  # noqa: E731
    assert with_standing(here, rounds, problem_of) == ([batches[0]], problem)
    # Round 4 less half an hour and six days: before round 16.
    assert seen == [16]
    monkeypatch.setattr(standing_module, "_harvests", lambda *_: batches[:1])
    assert with_standing(here, rounds, problem_of) == ([batches[0]], problem)
    assert seen == [16]  # there is no choice


def test_nauplii_are_there_from_the_first_that_is_held_stands_or_can_be_set(room: Room) -> None:
    rounds = _rounds(12)
    ripe = first_nauplii(room, rounds, _START)
    model = vessel_model(room, room.vessels[0])
    soonest_h = _rounds(1)[0].at_h + model.window(0.5)[0]
    assert ripe == next(r.index for r in rounds if r.at_h - 0.5 >= soonest_h)
    held = evolve(room, held=(HeldNauplii("V1", _START, 100.0, 7.0),))
    assert first_nauplii(held, rounds, _START) == 0
    stands = evolve(room, hatches=(RunningHatch("V1", _START - _DAY, 3.0),))
    assert first_nauplii(stands, rounds, _START) < ripe
    assert first_nauplii(evolve(room, vessels=()), rounds, _START) == 12


def test_near_a_gram_dry_food_is_measured_as_at_the_round_before(room: Room) -> None:
    """Soaked up to 0.99 g, which is half a litre of water; once weighed, soaked from 0.8 g on."""
    (here, away) = _rounds(2, away=(1,))
    cases: tuple[tuple[float, Way | None, Way], ...] = (
        (0.99, None, SOAKED), (0.995, None, WEIGHED), (0.99, SOAKED, SOAKED),
        (1.01, SOAKED, WEIGHED), (0.81, WEIGHED, WEIGHED), (0.79, WEIGHED, SOAKED),
    )  # fmt: skip
    for grams, before, way in cases:
        assert _dry_way(Tools(), here, _dry(room, grams / 2, grams / 2), before) == way
    assert (
        _dry_way(Tools(), away, _dry(room, 0.1), SOAKED) == WEIGHED
    )  # a helper has it in an envelope


def test_the_way_is_told_and_older_lines_go_by_how_much_it_is() -> None:
    at, zone = _rounds(1)[0].at, ZoneInfo("UTC")
    row: dict[str, Any] = {
        "what": "feed", "amounts": {"tanks": 1.0}, "id": "feed/1", "at": at.isoformat(),
        "until": at.isoformat(), "subject": "x", "window": [at.isoformat()] * 2,
    }  # fmt: skip
    little = FeedLine(at, "A", "b", DRY, 1.0, 1.0, 0.1, "g")
    much = evolve(little, brood="c", amount=1.0)
    ways: tuple[tuple[Way | None, float | None, float | None], ...] = (
        (WEIGHED, None, None), (SOAKED, 50.0, 50.0), (None, 50.0, None),
    )  # fmt: skip
    for way, alone_ml, beside_much_ml in ways:
        line = evolve(little, way=way)
        cells = json.loads(json.dumps(_cells(line)))
        (read,) = _task({**row, "lines": [cells]}, at, zone, "today").lines
        assert read == line
        assert wet_ml(read, [read]) == alone_ml
        assert wet_ml(read, [read, much]) == beside_much_ml
    with pytest.raises(ValueError, match="boiled"):
        _task({**row, "lines": [[*_cells(little), None, None, "boiled"]]}, at, zone, "today")
