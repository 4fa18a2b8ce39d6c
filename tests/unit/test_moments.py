"""Times and numbers as they are typed and said, at the limits of each rule."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time

import pytest

from cultures.errors import UnitError
from cultures.words.moments import (
    has_clock,
    hours,
    is_spoken,
    parse_day,
    parse_moment,
    read_clock,
    spoken_day,
    spoken_moment,
    spoken_when,
    year_text,
)
from cultures.words.numbers import as_float, read_number, read_share, whole_number, with_point

_NOW = datetime(2026, 11, 29, 14, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("2027-01-05T07:00", (2027, 1, 5, 7, 0)), ("5 Jan 2027 7:00", (2027, 1, 5, 7, 0)),
        ("Jan 5, 2027, 7 am", (2027, 1, 5, 7, 0)), ("5 Jan 2027", (2027, 1, 5, 0, 0)),
        ("Jan 2027", (2027, 1, 1, 0, 0)), ("2027 March", (2027, 3, 1, 0, 0)),
        ("2027-01-05", (2027, 1, 5, 0, 0)),
    ],
)  # fmt: skip
def test_what_is_left_out_of_a_time_is_its_first(text: str, meant: tuple[int, ...]) -> None:
    """The first day of a month, and midnight."""
    assert parse_moment(text) == datetime(*meant)  # type: ignore[arg-type]  # noqa: DTZ001
    assert parse_day(text) == date(*meant[:3])


@pytest.mark.parametrize("text", ["5/1/2027", "5 Jan", "07:00", "31 Feb 2027", "Jan 99999", ""])
def test_what_could_be_read_in_two_ways_or_not_at_all_is_no_time(text: str) -> None:
    with pytest.raises(UnitError, match="is not a time; write it like"):
        parse_moment(text)
    with pytest.raises(UnitError, match="is not a day; write it like"):
        parse_day(text)


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("0:00", time(0)), ("23:59", time(23, 59)), ("24:00", None), ("12:60", None),
        ("12:59", time(12, 59)), ("1 am", time(1)), ("0 am", None), ("12 am", time(0)),
        ("12 pm", time(12)), ("12:30 AM", time(0, 30)), ("1 p.m.", time(13)), ("13 am", None),
        ("11:59 pm", time(23, 59)), ("Noon", time(12)), ("midnight", time(0)), ("7", None),
        (" 7:05 ", time(7, 5)),
    ],
)  # fmt: skip
def test_a_clock_has_twenty_four_hours_or_twice_twelve(text: str, at: time | None) -> None:
    assert read_clock(text) == at
    assert is_spoken(text) is (at is not None)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("29 November", (2026, 11, 29)), ("Sunday, Nov 29", (2026, 11, 29)),
        ("sun nov 29", (2026, 11, 29)), ("June 1", (2026, 6, 1)),
        ("30 May", (2027, 5, 30)), ("May 31", (2026, 5, 31)), ("29 Feb", None),
        ("Sat Nov 29", None), ("sept 1", (2026, 9, 1)),
    ],
)  # fmt: skip
def test_the_nearest_day_of_a_name(text: str, day: tuple[int, int, int] | None) -> None:
    """31 May was 182 days ago, and 30 May comes in so many; no year near has a 29 February."""
    found = spoken_moment(text, _NOW)
    assert (found and found.date()) == (None if day is None else date(*day))
    assert is_spoken(text)
    assert not has_clock(text)


def test_words_of_a_day() -> None:
    for text, meant in (
        ("now", _NOW), ("today", _NOW), ("yesterday", datetime(2026, 11, 28, 14, tzinfo=UTC)),
        ("today at 7:50", datetime(2026, 11, 29, 7, 50, tzinfo=UTC)), ("", None), ("soon", None),
        ("today 25:00", None),
    ):  # fmt: skip
        assert spoken_moment(text, _NOW) == meant
    assert [is_spoken(t) for t in ("", "soon", "today", "today 25:00", "7:50 pm")] == [
        False, False, True, False, True
    ]  # fmt: skip
    assert [has_clock(t) for t in ("now", "noon", "Midnight", "7 am", "7pm", "7:00", "5 Jan")] == [
        True, True, True, True, True, True, False
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2027, 1, 28), "Thu 28 Jan"),  # sixty days ahead
        (date(2027, 1, 29), "Fri 29 Jan 2027"),
        (date(2025, 12, 31), "Wed 31 Dec 2025"),
        (date(2026, 1, 1), "Thu 1 Jan"),  # of this year, however far
    ],
)
def test_a_day_has_its_year_where_that_is_another_and_more_than_sixty_days_off(
    day: date, said: str
) -> None:
    assert spoken_day(day, _NOW.date()) == said
    at = datetime.combine(day, time(7, 30), UTC)
    assert spoken_when(at, _NOW) == f"{said} 07:30"
    assert year_text(day, "us") == f"{day:%a %b} {day.day}, {day.year}"


def test_hours_since_the_epoch() -> None:
    assert hours(datetime(1970, 1, 2, 6, 30, tzinfo=UTC)) == 30.5


# --- numbers


@pytest.mark.parametrize(
    ("text", "grouped", "value"),
    [
        ("7", False, 7.0), ("123456789012345", False, 123456789012345.0), (" 1.5e2 ", False, 150.0),
        ("1234567890123456789", False, 1234567890123456789.0), ("-.5", False, -0.5),
        ("210,000", True, 210_000.0), ("210 000", True, 210_000.0), ("1,234.5", True, 1234.5),
        ("3,5", True, 3.5), ("0,25", True, 0.25), ("210,000", False, None), ("3,5", False, None),
        ("2,1000", True, None), ("1e999", False, None), ("nan", False, None), ("", False, None),
        ("\u0663", False, None), ("0x10", False, None), ("1234,567", True, None),
    ],
)  # fmt: skip
def test_numbers_as_they_are_typed(text: str, grouped: bool, value: float | None) -> None:
    if value is None:
        with pytest.raises(UnitError):
            read_number(text, grouped=grouped)
    else:
        assert read_number(text, grouped=grouped) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.7", 0.7), ("70 %", 0.7), ("70%", 0.7), ("1", 1.0), ("100 %", 1.0), ("0.0001", 0.0001),
        ("0", None), ("0 %", None), ("1.01", None), ("100.1 %", None), ("-0.5", None),
        ("50 % of it", None),
    ],
)  # fmt: skip
def test_a_share_is_above_nothing_and_at_most_all(text: str, value: float | None) -> None:
    if value is None:
        with pytest.raises(UnitError, match="is not a share"):
            read_share(text)
    else:
        assert read_share(text) == pytest.approx(value)


def test_who_writes_per_cent_without_its_sign_is_told() -> None:
    for text, hinted in (("70", True), ("100", True), ("1.5", True), ("101", False), ("0", False)):
        with pytest.raises(UnitError) as caught:
            read_share(text)
        assert (f"for per cent write '{text} %'" in str(caught.value)) is hinted


def test_whole_numbers_have_nine_digits_at_most() -> None:
    assert [whole_number(t) for t in ("7", " -7 ", "123456789", "1234567890", "7.0", "")] == [
        7, -7, 123456789, None, None, None
    ]  # fmt: skip
    assert (as_float(7), as_float(10**400), as_float(-(10**400))) == (7.0, math.inf, -math.inf)
    assert [with_point(t) for t in ("3,5", "3,25", "3,125", "1,2,3")] == [
        "3.5", "3.25", "3,125", "1,2,3"
    ]  # fmt: skip


def test_a_day_between_strokes_is_read_where_a_weekday_stands_with_it() -> None:
    """The day first: 5 January 2027 is a Tuesday, and 1 May is none."""
    assert parse_day("Tue 5/1/2027") == date(2027, 1, 5)


def test_files_hold_plain_numbers_where_nobody_says_that_hands_wrote_them() -> None:
    for text in ("3,5", "210,000"):
        with pytest.raises(UnitError, match="is not a number"):
            read_number(text)


@pytest.mark.parametrize(
    ("text", "hour", "minute"),
    [
        ("18h45", 18, 45), ("7h", 7, 0), ("18.45", 18, 45), ("6.45pm", 18, 45), ("6.05 pm", 18, 5),
        ("7.00", 7, 0), ("today 7.05", 7, 5), ("7:30 today", 7, 30), ("7:30 am, today", 7, 30),
        ("6 pm on Nov 29", 18, 0), ("7:45 this morning", 7, 45), ("this morning at 7.45", 7, 45),
        ("18:30 this evening", 18, 30), ("6:30 this evening", 18, 30), ("at 7:45", 7, 45),
        ("at 7:45 today", 7, 45), ("this evening at 6", 18, 0),
    ],
)  # fmt: skip
def test_a_time_is_read_as_it_is_written_in_several_lands(
    text: str, hour: int, minute: int
) -> None:
    assert spoken_moment(text, _NOW) == datetime(2026, 11, 29, hour, minute, tzinfo=UTC)
    assert is_spoken(text)
    assert has_clock(text)


@pytest.mark.parametrize(
    "text",
    [
        "18.05",
        "7.12",
        "18.60",
        "25h",
        "18h4",
        "18h pm",
        "18:45 soon",
        "18.45.10",
        "this",
        "7:30 7:30",
        "7:30 this morning 8:30",
        "at",
    ],
)
def test_what_may_be_a_day_and_a_month_or_is_no_time_is_not_read(text: str) -> None:
    """18.05 is a quarter of an hour to six, or the 18th of May."""
    assert spoken_moment(text, _NOW) is None
    assert not is_spoken(text)


@pytest.mark.parametrize(
    ("text", "day", "clock"),
    [
        ("this morning", 29, (8, 0)), ("morning", 29, (8, 0)), ("this evening", 29, (19, 30)),
        ("yesterday evening", 28, (18, 0)), ("yesterday morning", 28, (7, 0)),
        ("Sat evening", 28, (18, 0)), ("Sun evening", 22, (19, 30)),
        ("28 Nov evening", 28, (18, 0)),
    ],
)  # fmt: skip
def test_the_parts_of_a_day_are_its_first_and_last_round(
    text: str, day: int, clock: tuple[int, int]
) -> None:
    """It is two in the afternoon of a Sunday, so that its evening is yet to come: the last such
    one was a week ago.
    """
    weekend = time(8), time(13), time(19, 30)

    def rounds_on(of: date) -> tuple[time, ...]:
        return weekend if of.weekday() == 6 else (time(7), time(18))

    assert spoken_moment(text, _NOW, rounds_on) == datetime(2026, 11, day, *clock, tzinfo=UTC)
    assert spoken_moment(text, _NOW) is None
    assert has_clock(text)
