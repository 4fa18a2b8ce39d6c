"""Cups, marks and steps by hand from docs/planning.md, "Amounts".

Nauplii of 100 J come in a cup; a syringe has marks of 1 mL, a scale steps of 0.01 g.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from attrs import evolve
from scipy.constants import golden

from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.needs.need import BroodNeed, Round
from cultures.planning.amounts import (
    _TURN_A_H,
    AsTold,
    _cup_shares,
    _dosed_cup,
    _dry_doses,
    _dry_shares,
    _parts_around,
    _twists,
    measure,
    whole_shares,
)
from cultures.planning.harvests import HatchPlan
from cultures.planning.lots import LotProblem
from cultures.planning.matching import FeedingPlan
from cultures.planning.servings import Serving, dry_j_per_g
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.tasks.task import Feed
from cultures.tasks.told import FeedLine, ToldTask
from cultures.words.moments import hours
from cultures.words.tools import MeasuringCup, Syringe, Tools

_AT = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)
_ROUND = Round(0, _AT, hours(_AT), 2, fed=True, keeper=True)
_ROOM = """
[room]
timezone = "UTC"
as_of = 2027-01-05
temperature_c = 23
rounds = ["07:30", "18:30"]
makeup_ml = 50
[[tank]]
name = "large"
litres = 40
temperature_c = 26
[[tank]]
name = "small"
litres = 4
temperature_c = 26
[[brood]]
name = "b"
tank = "large"
class = "egg_scatterer"
count = 100
free_swimming = 2027-01-01
"""


@pytest.fixture
def room() -> Room:
    return read_room(_ROOM, today=date(2027, 1, 5))


def _fed(room: Room, given: dict[str, float], need_j: float, name: str = "b", tank: str = "large",
         foods: dict[str, float] | None = None) -> Serving:  # fmt: skip
    brood = evolve(room.broods[0], name=name, tank=tank)
    wants = given if foods is None else foods
    return Serving(BroodNeed(brood, _AT, 5.0, 10, need_j, wants), wants, given)


def _cup(room: Room, *parts: tuple[float, float, str], energy_j: float = 100.0,
         turn: float = 0.5) -> tuple[float, list[float]]:  # fmt: skip
    """A cup for broods of which each gets a part of its need in a tank."""
    served = [_fed(room, {BRINE_SHRIMP: part}, need, tank=tank) for part, need, tank in parts]
    return _cup_shares(room, BRINE_SHRIMP, served, energy_j, 1.0, turn, AsTold.of(None))


def _cup_of(room: Room, parts: list[float]) -> float:
    """What a cup is made up to for broods that want just such parts of it [mL]."""
    served = [_fed(room, {BRINE_SHRIMP: part}, part) for part in parts]
    return _dosed_cup(room, BRINE_SHRIMP, served, sum(parts), 0.5, AsTold.of(None))[0]


def test_turns_go_on_by_the_golden_ratio_every_half_day() -> None:
    assert pytest.approx(golden - 1.0) == 12.0 * _TURN_A_H


def test_who_would_feel_the_rounding_takes_no_more_marks_than_there_are() -> None:
    """Five of 2.4 marks each would all miss a sixth by 2; of 12 marks two are left for them."""
    shares = whole_shares([2.4] * 5, 12, needs=[2.4] * 5)
    assert sorted(shares) == [2, 2, 2, 3, 3]
    # Whose loss is larger comes first: 0.4 of 1.4 and of 2.4, 0.2 of 9.2.
    assert whole_shares([2.4, 1.4, 9.2], 13, needs=[2.4, 1.4, 9.2]) == [2, 2, 9]


@pytest.mark.parametrize(
    ("part", "others", "share"),
    [
        # Of 1.2 marks it misses 0.15, and with one mark has 1 + 0.9 of 1.2: 1.58 times its need.
        (0.18, 0.9, 0),
        (0.18, 0.6, 1),  # 1.33 times is not too much
        (0.18, 0.0, 1),  # it is all that it gets
        (0.36, 1.0, 1),  # 0.3 of its need is no little part of it
    ],
)
def test_who_would_be_fed_far_too_much_by_a_mark_gets_it_in_turn(
    part: float, others: float, share: int
) -> None:
    def shares(turn: float) -> list[int]:
        parts, needs, rest = [part, 50.0 - part], [1.2, 50.0], [others, 0.0]
        return whole_shares(parts, 50, needs=needs, turn=turn, others=rest)

    assert shares(0.1) == [share, 50 - share]
    given = [shares(turn / 100.0)[0] for turn in range(100)]
    assert sum(given) == (pytest.approx(100 * part, abs=1) if share == 0 else 100)


def test_a_cup_is_the_usual_one_however_small_a_dose_is(room: Room) -> None:
    """Half a mark is seen by eye where there are fewer than five (common practice, no source)."""
    assert _cup(room, (100.0, 100.0, "large")) == (50.0, [50])
    assert _cup(room, (90.0, 90.0, "large"), (10.0, 10.0, "large")) == (50.0, [45, 5])
    assert _cup(room, (95.0, 95.0, "large"), (5.0, 5.0, "large")) == (50.0, [47, 2.5])
    assert _cup(room, (5.0, 5.0, "large"), (5.0, 5.0, "large")) == (50.0, [2.5, 2.5])
    assert _cup(room, (1.0, 1.0, "large")) == (50.0, [0.5])


_FIVE_ML = Tools(syringes=(Syringe(5.0, 0.2),), cups=(MeasuringCup(500.0, 25.0),), stated=True)


@pytest.mark.parametrize("largest", [91.0, 23.0, 24.0, 62.0, 81.0])
def test_doses_as_they_are_said_are_together_no_more_than_the_cup(
    room: Room, largest: float
) -> None:
    """91 mL are 100 by a measuring cup of 25 mL: with the other 9 mL more than the cup has."""
    tools = evolve(_FIVE_ML, syringes=(Syringe(5.0, 1.0),))
    parts = [largest, *[(100.0 - largest) / 4] * 4]
    served = [_fed(room, {BRINE_SHRIMP: part}, part) for part in parts]
    volume, shares = _cup_shares(
        evolve(room, tools=tools), BRINE_SHRIMP, served, 100.0, 1.0, 0.5, AsTold.of(None)
    )
    said = [tools.poured(float(n)).amount for n in shares]
    assert said == pytest.approx(shares)  # what is planned is what is said
    assert sum(said) <= volume
    for n, part in zip(shares, parts, strict=True):
        assert n / volume * 100.0 == pytest.approx(part, abs=0.1 * part + 1.0)


def test_a_cup_for_many_broods_takes_few_fillings_of_a_small_syringe(room: Room) -> None:
    """One filling a brood: 200 mL by 5 mL, where one of 60 mL takes 10 mL for each; and no more
    for a dose of 0.2 %, which is eight drops of it.
    """
    parts = [100.0 / 40] * 40
    few, many = (_cup_of(evolve(room, tools=t), parts) for t in (_FIVE_ML, Tools()))
    assert (few, many) == (200.0, 400.0)
    assert _cup_of(evolve(room, tools=_FIVE_ML), [0.2, *[99.8 / 39] * 39]) == 200.0


def test_a_cup_is_at_least_ten_millilitres_a_brood(room: Room) -> None:
    assert _cup(room, *[(10.0, 10.0, "large")] * 10)[0] == 100.0
    assert _cup(evolve(room, makeup_ml=120.0), (100.0, 100.0, "large"))[0] == 150.0


def test_what_is_not_fed_of_a_cup_is_thrown_away(room: Room) -> None:
    assert _cup(room, (40.0, 40.0, "large"), energy_j=100.0) == (50.0, [20])


def _plan(room: Room, *row: Serving, energy_j: float = 100.0) -> FeedingPlan:
    nothing = LotProblem((), (), (), (), 1.0, 1.0, ())
    hatches = HatchPlan([], [()], [energy_j], [0.0], [], nothing, ())
    assert room.tank("large")
    return FeedingPlan([_ROUND], [list(row)], {}, hatches)


def test_a_line_says_what_is_given_and_what_would_have_been_best(room: Room) -> None:
    """25 of 50 marks of 100 J; of a food that is wanted and not given a line says so."""
    serving = _fed(room, {BRINE_SHRIMP: 50.0, "eel": 0.0}, 80.0,
                   foods={BRINE_SHRIMP: 60.0, "worm": 20.0, DRY: 0.0})  # fmt: skip
    (row,), cups = measure(room, _plan(room, serving))
    told = [(x.food, x.need_j, x.given_j, x.amount, x.unit, x.tank) for x in row]
    assert told == [
        (BRINE_SHRIMP, 60.0, pytest.approx(50.0), 25.0, "mL", "large"),
        ("worm", 20.0, 0.0, 0.0, "mL", "large"),
    ]
    (cup,) = cups.values()
    assert (cup.food, cup.volume_ml, cup.fed_ml, cup.energy_j) == (BRINE_SHRIMP, 50.0, 25.0, 100.0)


@pytest.mark.parametrize(
    ("live", "dry", "told_g", "fed"),
    [
        # 2 % of a need are hardly 0.2 mg; 4 % are called short, as are 2 % where 2 % miss already.
        (98.0, 2.0, 0.0, False), (96.0, 4.0, 0.0, True), (96.0, 2.0, 0.0, True),
        (98.0, 2.0, 0.0002, True),
    ],
)  # fmt: skip
def test_a_drop_of_dry_food_beside_live_food_is_not_told(
    room: Room, live: float, dry: float, told_g: float, *, fed: bool
) -> None:
    """Less than 3 % missing is not called short; what was told stands."""
    serving = _fed(room, {BRINE_SHRIMP: live, DRY: dry}, 100.0)
    line = FeedLine(_ROUND.at, "large", serving.need.brood.name, DRY, 0.0, 0.0, told_g, "g")
    task = Feed(
        id="feed", at=_ROUND.at, until=_ROUND.at, subject="round", why="", tanks=1, cups_ml={}
    )
    told = ToldTask(task, _ROUND.at, _ROUND.at, _ROUND.at, lines=(line,))
    known = evolve(room, told_rounds=(told,)) if told_g else room
    (row,), _ = measure(known, _plan(known, serving))
    assert any(x.food == DRY and x.amount > 0 for x in row) is fed


def test_what_nobody_is_given_has_no_cup(room: Room) -> None:
    serving = _fed(room, {BRINE_SHRIMP: 0.0}, 80.0)
    (row,), cups = measure(room, _plan(room, serving, energy_j=0.0))
    assert (row, cups) == ([], {})


_Dry = tuple[float, float | None, float | None]


def _dry(room: Room, *grams: float, turn: float = 0.5, keeper: bool = True,
         need_g: float | None = None) -> list[_Dry]:  # fmt: skip
    """(grams, water it is in where that is more than usual, left out) for so much each."""
    j = dry_j_per_g()
    served = [_fed(room, {DRY: g * j}, (need_g or g) * j) for g in grams]
    doses = _dry_doses(room, evolve(_ROUND, keeper=keeper), served, turn, AsTold.of(None))
    assert [d.given_j for d in doses] == pytest.approx([d.amount * j for d in doses])
    return [(d.amount, d.wet_ml, d.skipped_g and round(d.skipped_g, 9)) for d in doses]


def test_dry_food_is_always_as_strong_and_little_of_it_in_drops(room: Room) -> None:
    """0.01 g in 5 mL, so 0.002 g a millilitre and 0.0001 g a drop, of which twenty are one."""
    for grams in (0.1, 0.02, 0.01, 0.004, 0.002, 0.0013):
        ((given, *rest),) = _dry(room, grams)
        assert given == pytest.approx(grams)
        assert rest == [None, None]
    assert _dry(room, 0.00133) == [(0.0013, None, None)]
    assert _dry(room, 0.509, 0.0007) == [(0.51, None, None), (0.0007, None, None)]


def test_what_was_told_of_dry_food_stands_unless_it_is_much_less_than_is_wanted(
    room: Room,
) -> None:
    """Told were 11 marks of 0.002 g and wanted are 19, on a scale of 1 g: fed are 19, not 11."""
    coarse = evolve(room, tools=evolve(room.tools, scale_g=1.0, spoons=()))
    serving = _fed(coarse, {DRY: 0.038 * dry_j_per_g()}, 0.038 * dry_j_per_g())
    name = serving.need.brood.name
    for told_g, fed_g in ((0.022, 0.038), (0.036, 0.036)):
        line = FeedLine(_ROUND.at, "large", name, DRY, 0.0, 0.0, told_g, "g")
        before = AsTold({}, {(DRY, name): line})
        (dose,) = _dry_doses(coarse, _ROUND, [serving], 0.5, before)
        assert dose.amount == pytest.approx(fed_g)


def test_dry_food_of_an_envelope_is_weighed_and_waits_for_its_turn(room: Room) -> None:
    """A weighed 0.01 g is halved once: 0.004 g are eight tenths of that half, which is fed at turns
    of more than 0.2. No part is less than 0.005 g (common practice, no source).
    """
    assert _dry(room, 0.004, turn=0.19, keeper=False) == [(0.0, None, 0.004)]
    assert _dry(room, 0.004, turn=0.21, keeper=False) == [(0.005, None, None)]
    # A tenth of the need is not worth a word, more is.
    assert _dry(room, 0.004, turn=0.1, keeper=False, need_g=0.04) == [(0.0, None, None)]
    assert _dry(room, 0.0045, turn=0.05, keeper=False, need_g=0.044) == [(0.005, None, None)]
    assert _dry(room, 0.003, turn=0.1, keeper=False, need_g=0.029) == [(0.0, None, 0.003)]
    assert _dry(room, 0.005, turn=0.1, keeper=False, need_g=0.04) == [(0.005, None, None)]


def _dry_fed(room: Room, *grams: float) -> list[Serving]:
    """Broods that want nothing but so much dry food."""
    return [_fed(room, {DRY: g * dry_j_per_g()}, g * dry_j_per_g()) for g in grams]


def test_a_weighed_step_is_halved_by_eye_to_what_is_seen_and_in_turn_below(room: Room) -> None:
    """Five milligrams are seen (common practice, no source); below it the least is due in turn."""
    each_g = []
    for turn in range(10):
        step_g, shares = _twists(_dry_fed(room, 0.02, 0.002), 0.01, turn / 10)
        each_g.append([n * step_g for n in shares])
    assert [g for g, _ in each_g] == pytest.approx([0.02] * 10)
    assert {round(g, 6) for _, g in each_g} == {0.0, 0.005}
    assert sum(g for _, g in each_g) == pytest.approx(10 * 0.002, abs=0.0051)


def test_parts_by_eye_are_halves_and_three_quarters_and_of_more_than_a_step_halves() -> None:
    """Common practice, no source: a heap is halved again and again; nobody makes 3/8 or 7/16."""
    below = {n for x in range(160) for n in _parts_around(x / 10, 16)}
    assert below == {0, 1, 2, 4, 8, 12, 16}
    above = {n for x in range(160, 480) for n in _parts_around(x / 10, 16)}
    assert above == {16, 24, 32, 40, 48}
    # Of more than eight steps nobody needs a half, nor of some that are halved but once, nor where
    # the whole is not felt.
    assert _parts_around(3.0, 2) == (2, 4)
    assert _parts_around(46.0, 16, 4.0) == (48, 48)
    assert _parts_around(46.0, 16, 1.0) == (40, 48)
    assert _parts_around(16.0 * 8.2, 16) == (16 * 8, 16 * 9)
    assert _parts_around(1.2, 1) == (1, 2)


def test_who_would_feel_the_less_and_not_the_more_waits_no_turn(room: Room) -> None:
    """0.048 g of 0.1 g by 0.0125: a half is 4 % too much, a quarter is half too little."""
    for turn in (0.0, 0.3, 0.9):
        step_g, (share,) = _twists(_dry_fed(room, 0.048), 0.1, turn)
        assert share * step_g == pytest.approx(0.05)


def test_of_much_dry_food_all_that_is_weighed_is_fed(room: Room) -> None:
    """0.103 g on a scale are 0.10 g, 50 marks; without a scale, 51 of them; and 51 as well where
    somebody would miss more than a tenth.
    """
    scale = evolve(room, tools=evolve(room.tools, scale_g=0.01))
    j = dry_j_per_g()
    served = [_fed(room, {DRY: g * j}, g * j) for g in (0.06, 0.043)]
    assert sum(_dry_shares(scale, served, 0.002, 0.01, 0.2)) == 50
    spoon = evolve(room, tools=evolve(room.tools, scale_g=None))
    assert sum(_dry_shares(spoon, served, 0.002, 0.01, 0.2)) == 51
    little = [_fed(room, {DRY: 0.04 * j}, 0.04 * j), _fed(room, {DRY: 0.05 * j}, 0.05 * j)]
    assert sum(_dry_shares(scale, little, 0.002, 0.01, 0.99)) == 45  # less than ten steps


def test_of_much_dry_food_marks_are_drawn_where_what_is_weighed_would_be_felt(room: Room) -> None:
    """0.1098 g are ten steps of a scale, 50 marks of 0.002 g, or 54 that are drawn up. Of 1.4 marks
    one is felt as well as two.
    """
    scale = evolve(room, tools=evolve(room.tools, scale_g=0.01))
    served = _dry_fed(scale, 0.107, 0.0028)
    assert sum(_dry_shares(scale, served, 0.002, 0.01, 0.01)) == 54
    assert sum(_dry_shares(scale, _dry_fed(scale, 0.1098), 0.002, 0.01, 0.01)) == 50


@pytest.mark.parametrize(("steps", "need", "share"), [(1.8, 4.0, 2), (0.6, 5.0, 0)])
def test_of_an_envelope_who_would_feel_a_step_gets_it_unless_that_is_half_more(
    room: Room, steps: float, need: float, share: int
) -> None:
    """0.8 of 4 steps is felt; 0.6 steps made one is two thirds more. Of 60 steps of 0.01 g."""
    g, j = 0.01, dry_j_per_g()
    served = [
        _fed(room, {DRY: part * g * j}, wants * g * j)
        for part, wants in ((steps, need), (60.0 - steps, 300.0))
    ]
    assert _dry_shares(room, served, g, g, 0.1) == [share, 60 - share]


def test_the_syringe_that_takes_the_largest_dose_gives_the_marks(room: Room) -> None:
    """0.1 g are 50 mL and 0.002 g one: not in the fine one of 5 mL, three times full."""
    syringes = (Syringe(5.0, 0.1), Syringe(60.0, 2.0))
    two = evolve(room, tools=evolve(room.tools, syringes=syringes))
    j = dry_j_per_g()
    served = [_fed(two, {DRY: grams * j}, j) for grams in (0.1, 0.004)]
    for rows, waters in ((served, (50.0, 2.0)), (served[1:], (2.0,))):
        doses = _dry_doses(two, _ROUND, rows, 0.5, AsTold.of(None))
        assert [d.amount / 0.002 for d in doses] == pytest.approx(waters)
    assert two.tools.mark_ml(50.0) == 2.0
    assert two.tools.mark_ml(2.0) == 0.1
