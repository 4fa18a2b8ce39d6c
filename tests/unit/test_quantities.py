"""Quantities as they are written, worked out by hand. Factors: NIST SP 811 (2008), appendix B."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time
from pathlib import Path

import pytest

from cultures.words.moments import (
    clock_text,
    day_text,
    moments_in,
    read_clock,
    spoken_day,
    spoken_moment,
    when,
    year_when,
)
from cultures.words.quantities import (
    celsius,
    centimetres,
    food_name,
    food_words,
    fraction,
    grams,
    in_units,
    litres,
    many,
    milligrams,
    millilitres,
    millimetres,
    number,
    percents,
    plain,
    square_centimetres,
)

#: A US teaspoon [mL] and an ounce [g].
TSP, OUNCE = 4.92892159375, 28.349523125


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0, 3, "0"),
        (7, 3, "7"),
        (99.94, 3, "99.9"),
        (100, 3, "100"),
        (123.4, 3, "123"),
        (999.4, 3, "999"),
        (1234, 3, "1,230"),
        (98765, 3, "98,800"),
        (98765, 2, "99,000"),
        (-1234, 3, "-1,230"),
        (12.3, 2, "12"),
        (0.5, 3, "0.5"),
        (0.0123, 3, "0.0123"),
        (0.00001234, 3, "0.00001"),  # too long with its three digits: five places
        (0.00002, 3, "0.00002"),
    ],
)
def test_a_number_has_its_significant_digits_and_marks_thousands(
    value: float, digits: int, text: str
) -> None:
    assert number(value, digits) == text


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0, 3, "0"),
        (1, 3, "1"),
        (12.345, 3, "12.3"),
        (0.00012345, 3, "0.000123"),
        (0.00012345, 2, "0.00012"),
        (1234.5, 3, "1234"),
        (0.5, 3, "0.5"),
        (-0.02345, 2, "-0.023"),
        (100, 3, "100"),
    ],
)
def test_a_plain_number_has_no_thousands_mark(value: float, digits: int, text: str) -> None:
    assert plain(value, digits) == text


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [
        (2.125, 8, "2 1/8"),
        (2.5, 8, "2 1/2"),
        (0.75, 8, "3/4"),
        (3.0, 8, "3"),
        (0.01, 8, "1/8"),  # at least one step
        (0.19, 8, "1/4"),  # 1.52 steps
        (0.18, 8, "1/8"),  # 1.44 steps
        (0.99, 4, "1"),
    ],
)
def test_a_fraction_is_a_mixed_number_in_lowest_terms(value: float, step: int, text: str) -> None:
    assert fraction(value, step) == text


def test_a_mass_in_a_us_room_is_in_grams_up_to_an_ounce_and_has_two_digits() -> None:
    """What pocket and kitchen scales there show; a pound is sixteen ounces."""
    assert grams(2.5) == "2.5 g"
    assert grams(0.1234 * OUNCE, "us") == "3.5 g"  # 3.498
    assert grams(0.99 * OUNCE, "us") == "28 g"
    assert grams(2 * OUNCE, "us") == "2 oz"
    assert grams(8.11 * OUNCE, "us") == "8.1 oz"
    assert grams(15.9 * OUNCE, "us") == "16 oz"
    assert grams(24 * OUNCE, "us") == "1.5 lb"
    assert grams(1.76 * OUNCE, "us", digits=3) == "1.76 oz"
    assert milligrams(120) == milligrams(120, "us") == "120 mg"
    assert milligrams(OUNCE * 1250, "us") == "1.2 oz"  # 1.25, to the even digit


def test_a_volume_in_gallons_or_quarts() -> None:
    gallon = 3.785411784
    assert litres(12.5) == "12.5 L"
    assert litres(10 * gallon, "us") == "10 gal"
    assert litres(1.0001 * gallon, "us") == "1 gal"
    assert litres(0.75 * gallon, "us") == "3 qt"
    assert litres(0.5, "us") == "0.53 qt"  # 0.5 / 0.946352946 = 0.528; a jug shows no more


def test_temperatures_and_lengths() -> None:
    assert celsius(25) == "25 °C"
    assert celsius(25, "us") == "77 °F"
    assert millimetres(12.7) == "13 mm"
    assert millimetres(12.7, "us") == "0.50 in"
    assert centimetres(5.08) == "5.08 cm"
    assert centimetres(5.08, "us") == "2 in"
    assert centimetres(3.2, "us") == "1 1/4 in"  # 1.26
    assert centimetres(1.0, "us") == "3/8 in"  # 0.394; an eighth less than a tenth off
    assert centimetres(0.2, "us") == "0.079 in"  # an eighth is half as much again
    assert square_centimetres(180) == "180 cm²"
    assert square_centimetres(64.516, "us") == "10 in²"


def test_a_jar_in_fluid_ounces_and_less_in_millilitres_in_any_room() -> None:
    ounce = 6 * TSP
    assert millilitres(30) == "30 mL"
    assert millilitres(30, "us") == "30 mL"  # a syringe has no other marks
    assert millilitres(3.98 * ounce, "us") == "118 mL"  # 117.7
    assert millilitres(4 * ounce, "us") == "4 fl oz"
    assert millilitres(4.5 * ounce, "us") == "4 1/2 fl oz"
    assert millilitres(4.3 * ounce, "us") == "4 1/2 fl oz"  # halves are all that a jar shows


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("keep it at 20 to 25 °C", "keep it at 68 to 77 °F"),
        ("keep it at 20-25 °C.", "keep it at 68-77 °F."),
        ("above -5 °C", "above 23 °F"),
        ("1,892.705892 mL of water", "64 fl oz of water"),
        ("from 2 to 4.5 L", "from 2.1 qt to 1.19 gal"),  # the units differ, so both are said
        ("29 ± 1 °C", "29 ± 1 °C"),
        ("2 mg/L", "2 mg/L"),
        ("2.54 cm deep", "1 in deep"),
        ("a 6.4516 cm² lid", "a 1 in² lid"),
        ("MW-2 g", "MW-2 g"),
    ],
)
def test_a_sentence_is_told_in_us_units(metric: str, us: str) -> None:
    assert in_units(metric, "us") == us
    assert in_units(metric, "metric") == metric


def test_times_and_counts() -> None:
    moment = datetime(2027, 1, 5, 7, 30)  # noqa: DTZ001  a wall clock as it is shown
    assert when(moment) == "Tue 5 Jan 07:30"
    assert when(moment, "us") == "Tue Jan 5, 7:30 am"
    assert (day_text(moment), day_text(moment, "us")) == ("Tue 5 Jan", "Tue Jan 5")
    assert year_when(moment, "us") == "Tue Jan 5, 2027, 7:30 am"
    assert spoken_day(moment, date(2026, 5, 1), "us") == "Tue Jan 5, 2027"
    assert [many(n, "tank") for n in (0, 1, 2, 1234)] == [
        "0 tanks", "1 tank", "2 tanks", "1,234 tanks",
    ]  # fmt: skip
    assert food_name("brine_shrimp") == "nauplii"
    assert food_name("vinegar_eel") == "vinegar eel"


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (time(0), "midnight"), (time(0, 30), "12:30 am"), (time(7), "7 am"),
        (time(11, 59), "11:59 am"), (time(12), "noon"), (time(12, 5), "12:05 pm"),
        (time(18, 30), "6:30 pm"), (time(23, 1), "11:01 pm"),
    ],
)  # fmt: skip
def test_a_clock_of_twelve_hours_has_no_twelve_that_is_read_either_way(at: time, said: str) -> None:
    """Noon and midnight as NIST has them (Times of Day FAQs); what is said is read the same."""
    assert clock_text(at) == f"{at:%H:%M}"
    assert clock_text(at, "us") == said
    assert read_clock(said) == read_clock(f"{at:%H:%M}") == at


@pytest.mark.parametrize("text", ["7", "24:00", "7:60", "13 pm", "0 am", "7 xm", "", "12"])
def test_what_is_no_time_of_day_is_read_as_none(text: str) -> None:
    assert read_clock(text) is None


@pytest.mark.parametrize(
    ("planned", "us"),
    [
        ("ripe for Tue 07:30; until Wed 18:30.", "ripe for Tue 7:30 am; until Wed 6:30 pm."),
        ("by Sat 12 Dec 07:30: buy 2", "by Sat Dec 12, 7:30 am: buy 2"),
        ("between 4 Jan and 24 Jan 2027", "between Jan 4 and Jan 24, 2027"),
        ("--on 2027-01-12, --at 2027-01-05T07:00", "--on 2027-01-12, --at 2027-01-05T07:00"),
        ("already Tue Jan 5, 10:30 am", "already Tue Jan 5, 10:30 am"),
        ("in tank 3, 120 fry, 24 h", "in tank 3, 120 fry, 24 h"),
    ],
)  # fmt: skip
def test_the_moments_of_a_sentence_are_told_as_the_room_tells_them(planned: str, us: str) -> None:
    assert moments_in(planned, "us") == us
    assert moments_in(us, "us") == us  # said once
    assert moments_in(planned, "metric") == planned


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("7 am", (11, 29, 7, 0)), ("6:30pm", (11, 29, 18, 30)), ("noon", (11, 29, 12, 0)),
        ("Sat Nov 28, 7 am", (11, 28, 7, 0)), ("28 Nov 7:00", (11, 28, 7, 0)),
        ("Dec 2", (12, 2, 14, 0)), ("yesterday 6:30 pm", (11, 28, 18, 30)),
        ("Mon Nov 28", None),  # a Saturday: one of the two is a slip
        ("Nov 31", None), ("11/28", None), ("13 pm", None),
        # 29 November 2026 is a Sunday: a weekday is the last one, today's once its time has come.
        ("Wed 7:08", (11, 25, 7, 8)), ("sat 18:30", (11, 28, 18, 30)),
        ("Sun 08:30", (11, 29, 8, 30)), ("Sunday at 6 pm", (11, 22, 18, 0)),
        ("Monday", (11, 23, 14, 0)), ("Sunny", None),
    ],
)  # fmt: skip
def test_a_day_without_its_year_is_the_nearest_of_that_name(
    typed: str, meant: tuple[int, int, int, int] | None
) -> None:
    found = spoken_moment(typed, datetime(2026, 11, 29, 14, tzinfo=UTC))
    assert found == (None if meant is None else datetime(2026, *meant, tzinfo=UTC))
    assert spoken_moment("2 Jan", datetime(2026, 11, 29, 14, tzinfo=UTC)) == datetime(
        2027, 1, 2, 14, tzinfo=UTC
    )


#: Where a part of a day is no moment that is told: months over a year, the days of the guide; or
#: where a template tells it, so that it stands here as a plan has it.
_OWN_WAY = {
    "cli/drawing/seasons.py", "cli/moved.py", "cli/screens/stale.py", "cli/screens/shown.py",
    "cli/screens/year.py", "cli/sheet/parts.py", "cli/sheet/year.py",
}  # fmt: skip


def test_days_and_clocks_are_written_in_one_place() -> None:
    """A format of its own in a screen or a calendar would be that of metric rooms in every room."""
    root = Path(__file__).resolve().parents[2]
    found = {
        path.relative_to(root).as_posix()
        for folder in ("cli", "calendars") for path in (root / folder).rglob("*.py")
        for line in path.read_text("utf-8").splitlines()
        # What other programs read has the year first.
        if re.search(r"%[aAbBHI]", line) and not re.search(r"%Y-?%m-?%d", line)
    }  # fmt: skip
    assert found == _OWN_WAY


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(110, 3, "110"), (1000, 4, "1,000"), (1100, 4, "1,100"), (1400, 4, "1,400"),
     (12346, 4, "12,350"), (98765, 1, "100,000"), (12.345678, 8, "12.345678"),
     (0.000012, 2, "0.000012"), (0.00001234, 4, "0.00001"), (0.00005, 1, "0.00005")],
)  # fmt: skip
def test_from_a_power_of_ten_on_a_number_is_whole(value: float, digits: int, text: str) -> None:
    assert number(value, digits) == text


def test_three_digits_where_nobody_says_otherwise_and_two_of_a_mass_in_a_us_room() -> None:
    assert number(1234.5) == "1,230"
    assert plain(0.0012345) == "0.00123"
    assert plain(12.345) == "12.3"
    assert grams(12.345) == "12.3 g"
    assert grams(12.345, "us") == "12 g"
    assert grams(12.346, digits=4) == "12.35 g"


def test_an_ounce_and_a_pound_are_said_as_such_though_they_were_reckoned() -> None:
    """28.349523125 and 453.59237 g (NIST SP 811), less what sums of floats are off."""
    assert grams(OUNCE * (1 - 1e-9), "us") == grams(OUNCE, "us") == "1 oz"
    assert grams(16 * OUNCE * (1 - 1e-9), "us") == "1 lb"
    assert grams(OUNCE * (1 - 1e-5), "us") == "28 g"
    assert grams(16 * OUNCE * (1 - 1e-5), "us") == "16 oz"
    assert milligrams(1000 * OUNCE, "us") == "1 oz"
    assert milligrams(999 * OUNCE, "us") == "28,300 mg"


def test_foods_and_shares_in_words() -> None:
    assert [food_words(f) for f in ("dry", "brine_shrimp", "vinegar_eel")] == [
        "dry food", "nauplii", "vinegar eel"
    ]  # fmt: skip
    assert food_name("dry") == "dry"
    assert percents((0.57, 0.9)) == "57% to 90%"
    assert percents((0.921, 0.924)) == "92%"


def test_a_gallon_is_one_and_less_is_quarts() -> None:
    assert litres(3.785411784, "us") == "1 gal"
    assert litres(3.78, "us") == "4 qt"
    assert litres(3.785411784 / 8, "us") == "0.5 qt"


def test_a_depth_is_in_eighths_where_they_come_within_a_tenth() -> None:
    """0.113 in is 9.6 % less than an eighth, of itself 10.6 %; 0.114 in is 9.6 % off."""
    assert centimetres(0.113 * 2.54, "us") == "0.11 in"
    assert centimetres(0.114 * 2.54, "us") == "1/8 in"
