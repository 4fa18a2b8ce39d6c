"""Quantities as keepers write them. Factors: NIST Special Publication 811 (2008), appendix B."""

from __future__ import annotations

import math

import pytest

from cultures.errors import UnitError
from cultures.words.units import (
    DRAW_ML,
    Dimension,
    fahrenheit,
    parse_quantity,
    unit_in_key,
)


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "value"),
    [
        ("10 gal", "volume", "l", 37.85411784),  # SP 811: 1 gal (US) = 3.785411784 L
        ("1 qt", "volume", "ml", 946.352946),
        ("1 cup", "volume", "ml", 236.5882365),
        ("1 fl oz", "volume", "ml", 29.5735295625),
        ("1/4 tsp", "volume", "ml", 4.92892159375 / 4),
        ("1 1/2 tbsp", "volume", "ml", 1.5 * 14.78676478125),
        ("1 in", "length", "mm", 25.4),
        ("28 in2", "area", "cm2", 28 * 6.4516),
        ("1 lb", "mass", "g", 453.59237),
        ("2 oz", "mass", "g", 2 * 28.349523125),
        ("12", "mass", "g", 12.0),
        ("1.5e1 mg", "mass", "g", 0.015),
        ("78 F", "temperature", "c", 46 * 5 / 9),
        ("25.5 °C", "temperature", "c", 25.5),
        ("32 ppt", "salinity", "g/l", 32.0),
        ("  3   L. ", "volume", "l", 3.0),
    ],
)
def test_text_with_a_unit(text: str, dimension: Dimension, unit: str, value: float) -> None:
    assert parse_quantity(text, dimension, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("words", "dimension", "unit", "value"),
    [
        # A US gallon is 4 quarts, 8 pints, 16 cups, 128 fluid ounces; a cup 16 tablespoons,
        # a tablespoon 3 teaspoons.
        ("tsp teaspoon teaspoons", "volume", "ml", 3785.411784 / 768),
        ("tbsp tablespoon tablespoons", "volume", "ml", 3785.411784 / 256),
        ("floz|fl oz", "volume", "ml", 3785.411784 / 128),
        ("cup cups", "volume", "ml", 3785.411784 / 16),
        ("pt pint pints", "volume", "ml", 3785.411784 / 8),
        ("qt quart quarts", "volume", "ml", 3785.411784 / 4),
        ("gal gallon gallons", "volume", "ml", 3785.411784),
        ("ml", "volume", "l", 0.001),
        ("cl", "volume", "l", 0.01),
        ("dl", "volume", "l", 0.1),
        ("l litre liter litres liters", "volume", "l", 1.0),
        ("um µm", "length", "mm", 0.001),
        ("mm", "length", "cm", 0.1),
        ("cm", "length", "mm", 10.0),
        ("m", "length", "mm", 1000.0),
        ('in inch inches "', "length", "mm", 25.4),
        ("ug", "mass", "mg", 0.001),
        ("mg", "mass", "g", 0.001),
        ("g gram grams", "mass", "kg", 0.001),
        ("kg", "mass", "g", 1000.0),
        ("oz ounce ounces", "mass", "g", 453.59237 / 16),
        ("lb lbs pound pounds", "mass", "g", 453.59237),
        ("mm2 mm²", "area", "cm2", 0.01),
        ("cm2 cm²|sq cm", "area", "mm2", 100.0),
        ("m2 m²", "area", "cm2", 10000.0),
        ("in2 in²|sq in", "area", "cm2", 6.4516),
        ("g/l", "salinity", "g/l", 1.0),
        ("ppt", "salinity", "g/l", 1.0),
    ],
)
def test_every_unit_and_its_other_names(
    words: str, dimension: Dimension, unit: str, value: float
) -> None:
    head, *phrases = words.split("|")
    for word in (*head.split(" "), *phrases):
        got = parse_quantity(f"3 {word}", dimension, unit)
        assert got == pytest.approx(3 * value, rel=1e-12), word


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("2 3/4 g", 2.75),
        ("3/4g", 0.75),
        ("-2.5 g", -2.5),
        (".5", 0.5),
        ("5.", 5.0),
        ("+1e-2", 0.01),
    ],
)
def test_numbers_as_they_are_typed(text: str, value: float) -> None:
    assert parse_quantity(text, "mass", "g") == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", ["25 C", "25 c.", "25 celsius", "25°C", "25 deg C", "77 F", "77°f",
                                  "77 fahrenheit", "25"])  # fmt: skip
def test_degrees_as_they_are_typed(text: str) -> None:
    assert parse_quantity(text, "temperature", "c") == pytest.approx(25.0, rel=1e-12)


def test_a_powder_in_spoons_to_another_unit_of_mass() -> None:
    """A US teaspoon of 0.65 g/mL weighs 3.2038 g."""
    got = parse_quantity("2 tsp", "mass", "mg", density_g_per_ml=0.65)
    assert got == pytest.approx(2 * 4.92892159375 * 0.65 * 1000, rel=1e-12)
    with pytest.raises(UnitError, match="use one of g, kg, lb, mg, oz, ug, cl, cup") as caught:
        parse_quantity("2 sips", "mass", "g", density_g_per_ml=0.65)
    assert "tsp" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "teaspoons"),
    [("3 x 1/4 tsp level", 0.75), ("2 1/2 x 1/8 tsp", 0.3125), ("1/2 x 1 tbsp", 1.5),
     ("1/4 tsp level", 0.25)],
)  # fmt: skip
def test_spoons_are_read_as_screens_say_them(text: str, teaspoons: float) -> None:
    got = parse_quantity(text, "mass", "g", density_g_per_ml=0.65)
    assert got == pytest.approx(teaspoons * 4.92892159375 * 0.65)


def test_numbers_are_in_the_unit_of_the_key() -> None:
    assert parse_quantity(3, "volume", "l") == 3.0
    assert parse_quantity(2.5, "mass", "g") == 2.5


def test_spoons_of_a_powder_are_weighed_by_its_density() -> None:
    half = parse_quantity("1/2 tsp", "mass", "g", density_g_per_ml=0.65)
    assert half == pytest.approx(0.5 * 4.92892159375 * 0.65)
    with pytest.raises(UnitError, match="'tsp' is not a unit of mass"):
        parse_quantity("1/2 tsp", "mass", "g")


@pytest.mark.parametrize(
    ("value", "dimension", "said"),
    [
        ("ten gal", "volume", "'ten gal' is not a quantity"),
        ("", "mass", "is not a quantity"),
        ("1/0 tsp", "volume", "divides by zero"),
        ("3 x 1/0 tsp", "volume", "divides by zero"),
        ("3 x 1 tsp x 2", "volume", "is not a unit of volume"),
        ("1e308 x 10 gal", "volume", "is not a"),
        ("3 x 78 F", "temperature", "temperatures are in C or F"),
        ("5 lb", "volume", "'lb' is not a unit of volume; use one of"),
        ("78 K", "temperature", "temperatures are in C or F"),
        ("1e999", "mass", "too large"),
        (math.inf, "mass", "not a number that can be used"),
        (math.nan, "temperature", "not a number that can be used"),
        (True, "mass", "is not a quantity"),
        ([1], "mass", "expected a number or text like"),
        (None, "area", "expected a number or text like '28 in2'"),
    ],
)
def test_what_cannot_be_read_is_said_with_an_example(
    value: object, dimension: Dimension, said: str
) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(value, dimension, "c" if dimension == "temperature" else "g")
    assert said in str(caught.value)
    assert caught.value.exit_code == 2


def test_fahrenheit_at_the_fixed_points() -> None:
    assert (fahrenheit(0), fahrenheit(100), fahrenheit(-40)) == (32, 212, -40)


@pytest.mark.parametrize(("text", "litres"), [("3,5 L", 3.5), ("0,25", 0.25), ("1,75 l", 1.75)])
def test_a_decimal_comma_is_read_as_many_hands_write_it(text: str, litres: float) -> None:
    assert parse_quantity(text, "volume", "l") == litres


@pytest.mark.parametrize("text", ["1,2,3 L", "1,5.2 L", ",5 L"])
def test_what_is_no_number_with_a_comma_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parse_quantity(text, "volume", "l")


def test_days_and_weeks() -> None:
    for text, days in (("3 days", 3.0), ("3 d", 3.0), ("2 weeks", 14.0), ("1 wk", 7.0), ("5", 5.0)):
        assert parse_quantity(text, "time", "day") == days


def test_a_draw_is_ten_millilitres() -> None:
    """As docs/models.md and the kinds' portions have it."""
    assert DRAW_ML == 10.0


def test_a_volume_is_a_mass_where_its_density_is_known_alone() -> None:
    with pytest.raises(UnitError, match="'tsp' is not a unit of length"):
        parse_quantity("1 tsp", "length", "mm", density_g_per_ml=0.65)


@pytest.mark.parametrize(
    ("key", "meant"),
    [
        ("temperature_f", ("temperature_c", "F")), ("length_in", ("length_mm", "in")),
        ("surface_in2", ("surface_cm2", "in2")), ("medium_oz", ("medium_g", "oz")),
        ("gallons", ("litres", "gal")), ("cups", ("litres", "cup")), ("ml", ("litres", "ml")),
        ("oz", ("grams", "oz")), ("pounds", ("grams", "lb")), ("kg", ("grams", "kg")),
        ("mg", ("grams", "mg")), ("litres", None), ("liters", None), ("l", None), ("grams", None),
        ("name", None),
    ],
)  # fmt: skip
def test_a_unit_in_a_key_leads_to_the_key(key: str, meant: tuple[str, str] | None) -> None:
    assert unit_in_key(key) == meant
    assert unit_in_key(key.upper()) == meant
