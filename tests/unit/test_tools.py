"""Amounts as the tools of a room say them, worked out by hand.

A US teaspoon is 4.92892159375 mL, an ounce 28.349523125 g (NIST SP 811, 2008, appendix B).
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from cultures.errors import BadFileError
from cultures.foods.parameters import shipped_parameters
from cultures.room.file import read_room
from cultures.room.room import Room
from cultures.words.tools import (
    CYSTS,
    DRY,
    MEDIUM,
    SALT,
    USUAL,
    MeasuringCup,
    Spoon,
    Syringe,
    Tools,
)
from tests.unit.noting import noting

_G_PER_ML = {CYSTS: 0.65, DRY: 0.45, SALT: 1.2, MEDIUM: 1.0}
_ML = tuple(Spoon(f"{ml:g} mL", ml) for ml in (15.0, 5.0, 2.5, 1.25))
_TODAY = date(2027, 1, 5)
_HEAD = '[room]\ntimezone = "Europe/Lisbon"\ntemperature_c = 24\n'


def _said(tools: Tools, grams: float, of: str) -> list[str]:
    return [said.text for said in tools.mass(grams, of)]


def _room(tools: str) -> Room:
    return read_room(f"{_HEAD}\n[tools]\n{tools}\n", today=_TODAY)


def _problems(tools: str) -> list[str]:
    with pytest.raises(BadFileError) as caught:
        _room(tools)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("grams", "of", "text"),
    [
        (1.625, CYSTS, "2.5 mL level"),  # 2.5 mL at 0.65 g/mL
        (1.7, CYSTS, "2.5 mL level"),  # 4 % less
        (0.40625, CYSTS, "1/2 x 1.25 mL level"),  # 1.25 / 2 at 0.65
        (3.25, CYSTS, "5 mL level"),  # one 5 mL rather than two 2.5 mL
        (4.875, CYSTS, "1/2 x 15 mL level"),  # rather than one and a half of 5 mL
        (150.0, MEDIUM, "10 x 15 mL level"),
        (36.0, SALT, "2 x 15 mL level"),
        (0.28, DRY, "1/2 x 1.25 mL level"),  # 0.625 mL x 0.45 = 0.281
    ],
)
def test_a_spoon_says_what_it_comes_near_to(grams: float, of: str, text: str) -> None:
    tools = Tools(_ML, scale_g=None, g_per_ml=_G_PER_ML)
    assert _said(tools, grams, of) == [text]


def test_fractions_of_a_spoon_are_halves() -> None:
    """A US set to the eighth: 5/16 of a teaspoon of cysts is 1.0012 g."""
    tools = Tools(g_per_ml=_G_PER_ML, stated=True)
    assert _said(tools, 1.0012, CYSTS) == ["2 1/2 x 1/8 tsp level", "1 g"]
    assert _said(tools, 1.602, CYSTS) == ["1/2 tsp level", "1.6 g"]
    assert _said(tools, 4.806, CYSTS) == ["1/2 tbsp level", "4.81 g"]


def test_what_no_spoon_comes_near_to_is_weighed() -> None:
    """Half of the smallest spoon holds 0.281 g, the next measure 0.56 g: 0.4 g is far from both."""
    assert _said(Tools(_ML, g_per_ml=_G_PER_ML, stated=True), 0.4, DRY) == ["0.4 g"]
    assert _said(Tools(_ML, scale_g=None, g_per_ml=_G_PER_ML), 0.4, DRY) == ["about 0.4 g"]


@pytest.mark.parametrize(
    ("scale_g", "grams", "text"),
    [
        (0.01, 0.06, "0.06 g"),
        (0.1, 12.34, "12.3 g"),
        (1.0, 12.34, "12 g"),
        (5.0, 148.0, "150 g"),
        (0.1, 0.04, "about 0.04 g"),  # less than the scale shows
        (1.0, 1.4, "about 1.4 g"),  # 1 g would be 29 % off
        (1.0, 1.2, "about 1 g"),  # 17 % off, and still the nearest
    ],
)
def test_no_weight_is_said_finer_than_the_scale_shows(
    scale_g: float, grams: float, text: str
) -> None:
    assert _said(Tools((), scale_g=scale_g), grams, DRY) == [text]


def test_ounces_are_said_in_the_tens_that_a_scale_shows_and_less_than_one_in_grams() -> None:
    us, ounce = Tools((), units="us"), 28.349523125
    assert _said(us, 11.813, SALT) == ["11.8 g"]  # in the steps of the scale
    assert _said(us, 1.5, CYSTS) == ["1.5 g"]
    assert _said(us, 5.29 * ounce, MEDIUM) == ["5.3 oz"]
    assert _said(us, 11.4 * ounce, MEDIUM) == ["11 oz"]
    assert _said(us, 23 * ounce, MEDIUM) == ["1.4 lb"]  # 1.4375
    kitchen = Tools((), scale_g=1.0, units="us")
    assert _said(kitchen, 5.29 * ounce, MEDIUM) == ["5.3 oz"]
    assert _said(kitchen, 11.813, SALT) == ["12 g"]
    tenths = Tools((), scale_g=ounce / 10, units="us")
    assert _said(tenths, 1.3 * ounce, MEDIUM) == ["1.3 oz"]


@pytest.mark.parametrize(
    ("ml", "text"),
    [
        (34.0, "34 mL"), (0.62, "0.6 mL"), (4.7, "4.8 mL"), (30.2, "30.2 mL"), (99.4, "99 mL"),
        (0.04, "1 drop"),
    ],
)  # fmt: skip
def test_a_dose_is_said_in_marks_of_the_syringe_that_takes_it(ml: float, text: str) -> None:
    """0.2 mL up to three fillings of the small one, 1 mL beyond."""
    tools = Tools((), (Syringe(60.0, 1.0), Syringe(10.2, 0.2)))
    assert tools.poured(ml).text == text
    assert Tools((), tools.syringes, units="us").poured(ml).text == text


@pytest.mark.parametrize(
    ("ml", "step_ml", "text"),
    [
        (1.7, 0.25, "1.75 mL"), (1.35, 0.25, "1.25 mL"), (1.2, 0.25, "1.25 mL"),
        (0.5, 0.25, "0.5 mL"),
        # Further than a tenth from half a mark, or less than a mark: drops of 0.05 mL.
        (0.9, 0.05, "18 drops"), (0.35, 0.05, "7 drops"), (0.25, 0.05, "5 drops"),
    ],
)  # fmt: skip
def test_drops_are_counted_only_where_half_a_mark_does_not_do(
    ml: float, step_ml: float, text: str
) -> None:
    """1.7 mL are 34 drops, and 3 % less than half a mark over 1.5 mL of 0.5 mL each."""
    tools = Tools((), (Syringe(60.0, 1.0), Syringe(10.0, 0.5)))
    assert tools.fine_ml(ml, 1.0) == step_ml
    assert tools.poured(round(round(ml / step_ml) * step_ml, 9)).text == text


@pytest.mark.parametrize(
    ("ml", "text"),
    [
        (0.63, "0.64 mL"), (3.333, "3.34 mL"), (4.94, "4.94 mL"), (8.88, "about 8.9 mL"),
        (20.4, "about 20 mL"), (113.6, "about 110 mL"), (1134.0, "about 1,150 mL"),
    ],
)  # fmt: skip
def test_what_nobody_draws_up_so_often_is_said_in_two_digits(ml: float, text: str) -> None:
    """A syringe of 1 mL is filled five times at most; of litres a jug shows 50 mL."""
    assert Tools((), (Syringe(1.0, 0.02),)).poured(ml).text == text


def test_a_syringe_says_three_digits_at_most() -> None:
    assert Tools((), (Syringe(30.0, 0.02),)).poured(113.62).text == "114 mL"
    assert Tools((), (Syringe(20.0, 0.02),)).poured(34.56).text == "34.6 mL"


@pytest.mark.parametrize(
    "tools",
    [
        Tools(),
        Tools((), (Syringe(1.0, 0.02),)),
        Tools((), (Syringe(60.0, 1.0), Syringe(5.0, 0.2))),
        Tools(
            (), (Syringe(20.0, 0.5),), cups=(MeasuringCup(250.0, 25.0), MeasuringCup(59.0, 59.0))
        ),
    ],
)
def test_what_is_poured_is_what_is_said_to_be_poured(tools: Tools) -> None:
    for n in range(4000):
        assert tools.poured_ml(n * 0.47) == tools.poured(n * 0.47).amount


def test_a_measuring_cup_takes_what_is_too_much_for_a_syringe() -> None:
    """A quarter of a US cup is 12 teaspoons, 59.147 mL (NIST SP 811)."""
    tools = _room('syringes_ml = [[10, 0.5]]\nmeasuring_cups_ml = [[500, 25], "1/4 cup", 40]').tools
    assert [cup.holds_ml for cup in tools.cups] == [500.0, pytest.approx(59.147, abs=1e-3), 40.0]
    assert (tools.poured(59.0).text, tools.poured(59.0).by) == ("1/4 cup", "cup")
    assert tools.poured(118.0).text == "2 x 1/4 cup"
    assert tools.poured(80.0).text == "2 x 40 mL"
    assert tools.poured(57.0).text == "1/4 cup"  # 4 % off, in place of six fillings
    assert (tools.poured(34.0).text, tools.poured(34.0).by) == ("34 mL", "syringe")  # 18 % off 40
    assert (tools.poured(331.0).text, tools.poured(331.0).by) == ("325 mL", "cup")
    assert tools.poured(25.0).by == "syringe"  # three fillings are few


def test_doses_of_a_cup_are_in_steps_that_can_be_read() -> None:
    """The marks of the syringe that takes the largest, and no less than a hundredth of it."""
    tools = Tools((), (Syringe(60.0, 1.0), Syringe(10.0, 0.2)))
    assert tools.mark_ml(100.0) == 1.0
    assert tools.mark_ml(20.0) == 0.2
    assert Tools((), (Syringe(20.0, 0.02),)).mark_ml(30.0) == 0.1
    assert Tools((), (Syringe(100.0, 5.0),)).mark_ml(30.0) == 5.0
    assert USUAL.mark_ml(1500.0) == 1.0


@pytest.mark.parametrize(
    ("tools", "wanted", "measured"),
    [
        (Tools(), 0.231, 0.3),  # in the plan's own steps of 0.1 g
        (Tools((), scale_g=0.5), 0.231, 0.5),
        (Tools(_ML, scale_g=0.5, g_per_ml=_G_PER_ML), 0.231, 0.40625),  # half of 1.25 mL
        (Tools(_ML, scale_g=None, g_per_ml=_G_PER_ML), 1.63, 2.0313),  # 2 1/2 of 1.25 mL
        (Tools((), scale_g=None), 0.231, 0.3),
    ],
)
def test_what_is_set_is_the_least_that_can_be_measured(
    tools: Tools, wanted: float, measured: float
) -> None:
    assert tools.least_over(wanted, CYSTS, 0.1) == pytest.approx(measured, abs=1e-4)


def test_the_table_names_the_tools() -> None:
    room = _room(
        'spoons_ml = [5, "1/4 tsp"]\nscoops = { "blue scoop" = "0.15 g dry", "lid" = "1.5 mL" }\n'
        "syringes_ml = [[60, 1], [10, 0.5]]\nscale_g = 0.1\nteaspoon_g = { cysts = 3.4 }"
    )
    tools = room.tools
    assert [s.label for s in tools.spoons] == ["5 mL", "1/4 tsp", "blue scoop", "lid"]
    assert tools.syringes == (Syringe(60.0, 1.0), Syringe(10.0, 0.5))
    assert (tools.scale_g, tools.stated) == (0.1, True)
    blue = tools.spoons[2]
    assert (tools.level_g(blue, DRY), tools.level_g(blue, SALT)) == (0.15, None)
    assert _said(tools, 0.15, DRY) == ["1 x blue scoop level"]  # 0.1 and 0.2 g are a third off
    assert tools.level_g(tools.spoons[3], CYSTS) == pytest.approx(1.5 * 3.4 / 4.92892159375)


def test_a_spoonful_that_the_keeper_weighed_wins_over_the_data() -> None:
    """1/2 tsp of cysts at 4 g a level teaspoon is 2 g; at the data's 0.65 g/mL it is 1.6 g."""
    weighed = read_room(
        f'{_HEAD}\n[tools]\nspoons_ml = ["1/2 tsp"]\nteaspoon_g = {{ cysts = 4, salt = 5 }}\n'
        '[cysts]\ngrams = "3 tsp"\n[supplies]\nsalt_g = "2 tsp"\n', today=_TODAY
    )  # fmt: skip
    assert _said(weighed.tools, 2.0, CYSTS) == ["1/2 tsp level"]
    assert weighed.hatch_kind.spoons(2.0) == pytest.approx(0.5)
    assert weighed.cysts is not None
    assert weighed.cysts.grams == pytest.approx(12.0)
    assert weighed.stock_g["salt"] == pytest.approx(10.0)


def test_without_the_table_there_is_what_is_usual_and_with_it_what_it_says() -> None:
    usual = read_room(_HEAD, today=_TODAY).tools
    assert (usual.scale_g, usual.stated, len(usual.spoons)) == (0.01, False, 5)
    assert usual.syringes == (Syringe(60.0, 1.0),)
    alone = _room("scale_g = 1").tools
    assert (alone.scale_g, alone.spoons) == (1.0, ())
    assert _room("").tools.scale_g is None


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("spoons_ml = 5", "spoons_ml: must be a list, like [15, 5, 2.5, 1.25]"),
        ("spoons_ml = [500]", "spoons_ml: 500 mL is not possible; use 0.05 to 250 mL"),
        ('spoons_ml = ["2 g"]', "spoons_ml: '2 g': 'g' is not a unit of volume"),
        ("spoons_ml = [5, 5]", "spoons_ml: names one spoon twice"),
        ("spoons_ml = [true]", "spoons_ml: True is not a quantity"),
        ('scoops = ["blue"]', "scoops: must name each and what it holds"),
        ('scoops = { blue = "0.4 g" }', 'blue: with a weight say of what, like "0.4 g dry"'),
        ('scoops = { blue = "0.4 g sand" }', "scoops: blue: with a weight say of what"),
        ('scoops = { blue = "900 g dry" }', "scoops: blue: 900 g is not possible"),
        ("scoops = { blue = true }", "scoops: blue: write what it holds"),
        ("syringes_ml = [60]", "syringes_ml: must list pairs, each what it holds and its smallest"),
        ("syringes_ml = [[1, 60]]", "[1, 60] the mark is more than half of what it holds"),
        ("syringes_ml = [[60, 0]]", "syringes_ml: of [60, 0] 0 mL is not possible"),
        ("measuring_cups_ml = 250", "measuring_cups_ml: must be a list, each what it holds and"),
        ("measuring_cups_ml = [[25, 90]]", "[25, 90] the mark is more than half of what it"),
        ("measuring_cups_ml = [2]", "measuring_cups_ml: 2 mL is not possible; use 5 to 5000 mL"),
        ('measuring_cups_ml = ["2 g"]', "measuring_cups_ml: '2 g': 'g' is not a unit of volume"),
        ("measuring_cup_ml = [250]", "unknown key; did you mean 'measuring_cups_ml'?"),
        ("scale_g = 0", "scale_g: 0 g is not possible; use 0.0001 to 100 g"),
        ("teaspoon_g = 3", "teaspoon_g: must name what was weighed"),
        ("teaspoon_g = { sand = 3 }", "teaspoon_g: there is no 'sand'; known: cysts, dry, medium"),
        ("teaspoon_g = { dry = 40 }", "teaspoon_g: dry: 40 g is not possible; use 0.2 to 10 g"),
        ("spoon_ml = [5]", "spoon_ml: unknown key; did you mean 'spoons_ml'?"),
    ],
)  # fmt: skip
def test_a_bad_value_gets_one_message_with_its_line(written: str, told: str) -> None:
    (problem,) = _problems(written)
    assert problem.startswith("room.toml:6: [tools] ")
    assert told in problem


def test_each_bad_value_of_a_list_is_told() -> None:
    assert len(_problems("spoons_ml = [500, 0.001, 5]\nsyringes_ml = [[60, 50], [1, 2], 3]")) == 5


def test_a_teaspoon_of_salt_holds_about_six_grams() -> None:
    """The label of table salt: 6 g a level teaspoon at 1,217 g/L (source salt-bulk)."""
    salt = shipped_parameters("measures")["salt_g_per_ml"]
    assert salt.value * 4.92892159375 == pytest.approx(6.0, abs=0.05)
    assert salt.low < salt.value < salt.high


@pytest.mark.parametrize(
    ("grams", "text"),
    [
        (1.11, "1 x scoop level"),  # 9.9 % off
        (1.115, "about 1 x scoop level"),  # 10.3 %
        (1.335, "about 1 1/2 x scoop level"),  # 12 %
        (0.41, "about 1/2 x scoop level"),  # 22 %
        (0.39, "about 0.39 g"),  # 28 %: no spoon is named
        (6.66, "7 x scoop level"),  # 5.1 %; six would be 9.9 % off
        (22.2, "20 x scoop level"),  # 9.9 %; and twenty at most
        (24.0, "about 20 x scoop level"),
    ],
)
def test_near_is_within_a_tenth_and_about_within_a_quarter(grams: float, text: str) -> None:
    """One scoop of a gram, in wholes and, up to three, in halves."""
    tools = Tools((Spoon("scoop", 1.0),), scale_g=None, g_per_ml={DRY: 1.0})
    assert _said(tools, grams, DRY) == [text]


def test_a_spoon_that_is_near_enough_is_counted_out_rather_than_many_that_are_nearer() -> None:
    """Five per cent is how well a spoon is levelled: 5 g of a 5.24 g spoon, not of two of 2.5 g."""
    two = (Spoon("large", 5.24), Spoon("small", 2.5))
    tools = Tools(two, scale_g=None, g_per_ml={DRY: 1.0})
    assert _said(tools, 5.0, DRY) == ["1 x large level"]
    farther = Tools((Spoon("large", 5.27), Spoon("small", 2.5)), scale_g=None, g_per_ml={DRY: 1.0})
    assert _said(farther, 5.0, DRY) == ["2 x small level"]


def test_three_fillings_of_a_small_syringe_rather_than_one_of_a_large_one() -> None:
    """Thirty of 10 mL and one mark of 0.2 mL more; beyond that the marks of the large one."""
    tools = Tools((), (Syringe(60.0, 1.0), Syringe(10.0, 0.2)))
    assert [tools.poured(ml).text for ml in (29.4, 30.2, 30.4, 39.4)] == [
        "29.4 mL", "30.2 mL", "30 mL", "39 mL"
    ]  # fmt: skip
    assert (tools.mark_ml(30.2), tools.mark_ml(30.3)) == (0.2, 1.0)
    # Where none takes it in three, the largest does.
    assert Tools((), (Syringe(5.0, 0.2), Syringe(10.0, 0.5))).poured(40.2).text == "40 mL"


def test_five_fillings_are_the_most_ten_of_a_large_one_and_then_any_jug_does() -> None:
    tools = Tools((), (Syringe(10.0, 1.0),))
    assert (tools.poured(50.0).text, tools.poured(50.0).by) == ("50 mL", "syringe")
    assert (tools.poured(51.0).text, tools.poured(51.0).by) == ("about 51 mL", "")
    large = Tools((), (Syringe(50.0, 1.0),))
    assert (large.poured(500.0).text, large.poured(501.0).text) == ("500 mL", "about 500 mL")
    assert large.poured(500.0).by == "syringe"
    assert (tools.poured(104.0).text, tools.poured(104.0).by) == ("about 100 mL", "")
    assert tools.poured(106.0).text == "about 110 mL"
    assert tools.poured(994.0).text == "about 990 mL"
    assert tools.poured(1024.0).text == "about 1,000 mL"  # of litres 50 mL
    assert tools.poured(1026.0).text == "about 1,050 mL"


def test_a_cup_that_comes_near_takes_the_place_of_more_than_three_fillings() -> None:
    """Within a tenth."""
    tools = Tools((), (Syringe(10.0, 0.5),), cups=(MeasuringCup(40.0, 40.0, "jar"),))
    assert tools.poured(44.0).by == "cup"  # 9.1 % off
    assert tools.poured(45.0).by == "syringe"  # 11 %
    assert tools.poured(30.0).by == "syringe"  # three fillings
    assert tools.poured(109.5).text == "3 x jar"  # 9.6 % off
    assert tools.poured(132.0).text == "3 x jar"  # three of a cup, too
    assert tools.poured(134.0).text == "about 130 mL"  # 10.4 %
    assert tools.poured(160.0).text == "about 160 mL"  # four


def test_a_syringe_is_read_to_a_hundredth_of_what_is_in_it_and_no_finer_than_a_millilitre() -> None:
    fine = Tools((), (Syringe(1000.0, 0.01),))
    assert [fine.mark_ml(ml) for ml in (0.0, 0.9, 1.0, 9.9, 10.0, 100.0, 999.0)] == [
        0.01, 0.01, 0.01, 0.01, 0.1, 1.0, 1.0
    ]  # fmt: skip
    assert Tools((), (Syringe(60.0, 0.3),)).mark_ml(100.0) == 1.2  # whole marks
    finest = Tools((), (Syringe(1.0, 0.001),))
    assert [finest.mark_ml(ml) for ml in (0.0, 0.05, 0.5, 1.0)] == [0.001, 0.001, 0.001, 0.01]


def test_the_spoons_of_a_drawer_are_those_of_a_us_set() -> None:
    """Three teaspoons a tablespoon, and halves, quarters and eighths of one (NIST SP 811)."""
    held = {spoon.label: spoon.ml for spoon in USUAL.spoons}
    assert held == {
        "1 tbsp": pytest.approx(3 * 4.92892159375), "1 tsp": pytest.approx(4.92892159375),
        "1/2 tsp": pytest.approx(4.92892159375 / 2), "1/4 tsp": pytest.approx(4.92892159375 / 4),
        "1/8 tsp": pytest.approx(4.92892159375 / 8),
    }  # fmt: skip
    assert (USUAL.scale_g, USUAL.syringes) == (0.01, (Syringe(60.0, 1.0),))


def test_a_dose_is_looked_for_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan asks for it at each round."""
    asked: list[Any] = []
    monkeypatch.setattr(Tools, "_measured_ml", noting(asked, 0.5, lambda _, *of: of))
    tools = Tools((Spoon("scoop", 2.0),), scale_g=None)
    assert [tools.poured_ml(ml) for ml in (8.0, 9.0, 8.0)] == [0.5] * 3
    assert asked == [(8.0,), (9.0,)]
    # Other tools know nothing of it.
    assert Tools((), scale_g=0.02).poured_ml(8.0) == 0.5
    assert asked[2:] == [(8.0,)]


@pytest.mark.parametrize(
    ("scale_g", "spoon_g", "step_g"),
    [(0.1, None, 0.1), (0.001, None, 0.01), (0.001, 0.004, 0.01), (0.1, 0.04, 0.02),
     (None, 0.04, 0.02), (None, None, 0.01)],
)  # fmt: skip
def test_the_least_dry_food_is_a_step_of_the_scale_or_half_a_spoon(
    scale_g: float | None, spoon_g: float | None, step_g: float
) -> None:
    """A hundredth of a gram is the usual step: a scale that shows it goes before any spoon."""
    spoons = () if spoon_g is None else (Spoon("scoop", None, {DRY: spoon_g}),)
    assert Tools(spoons, scale_g=scale_g).dry_step_g == pytest.approx(step_g)


def test_what_is_asked_for_in_steps_of_the_scale_or_of_the_spoons() -> None:
    scale = Tools((), scale_g=0.1)
    assert [scale.least_over(g, CYSTS, 0.1) for g in (0.3, 0.3000001, 0.31)] == [0.3, 0.3, 0.4]
    spoon = Tools((Spoon("scoop", 2.0),), scale_g=None, g_per_ml={CYSTS: 1.0})
    assert [spoon.least_over(g, CYSTS, 0.1) for g in (0.9, 1.0, 1.1, 40.0, 40.1)] == [
        1.0, 1.0, 2.0, 40.0, 42.0
    ]  # fmt: skip


@pytest.mark.parametrize("wanted", [3.65, 3.7, 3.8, 3.9, 4.0])
def test_one_spoonful_has_one_weight(wanted: float) -> None:
    """Two and a half half teaspoons of cysts are 1.25 x 4.92892 mL x 0.65 g/mL = 4.005 g."""
    tools = _room('spoons_ml = ["1 tsp", "1/2 tsp"]\nscale_g = 0.1').tools
    planned = tools.least_over(wanted, CYSTS, 0.1)
    assert planned == pytest.approx(4.005, abs=1e-3)
    assert [way.text for way in tools.mass(planned, CYSTS)] == ["2 1/2 x 1/2 tsp level", "4 g"]


def test_what_no_spoon_holds_is_weighed() -> None:
    """A teaspoon is 3.204 g, and the next spoonful 4.005 g, more than a tenth over 3.5 g."""
    tools = _room('spoons_ml = ["1 tsp", "1/2 tsp"]\nscale_g = 0.1').tools
    assert tools.least_over(3.5, CYSTS, 0.1) == 3.5
    assert [way.text for way in tools.mass(3.5, CYSTS)] == ["3.5 g"]
    assert tools.mass(3.3, CYSTS)[0].by == "scale"  # 3 % off a teaspoon


@pytest.mark.parametrize(("level_g", "text"), [(0.916, "1 x large"), (0.914, "3 x small")])
def test_fewer_spoonfuls_are_said_if_they_are_farther_by_half_of_what_levelling_misses(
    level_g: float, text: str
) -> None:
    """Of 1 g three small ones are 6 % off, and one large one 8.4 or 8.6 %."""
    spoons = (Spoon("large", level_g), Spoon("small", 0.94 / 3))
    tools = Tools(spoons, scale_g=None, g_per_ml={DRY: 1.0})
    assert _said(tools, 1.0, DRY) == [f"{text} level"]


@pytest.mark.parametrize(
    ("grams", "text"), [(4.0, "about 1 x scoop level"), (3.99, "about 4 g"), (3.98, "about 4 g")]
)
def test_what_is_a_quarter_off_is_still_named_and_no_more(grams: float, text: str) -> None:
    """One scoop of 5 g for 4 g; half of it would be farther off."""
    tools = Tools((Spoon("scoop", 5.0),), scale_g=None, g_per_ml={DRY: 1.0})
    assert _said(tools, grams, DRY) == [text]
