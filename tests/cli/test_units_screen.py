"""US units on every screen and the sheet; what is typed is read in either."""

from __future__ import annotations

import re
from pathlib import Path

import icalendar
import pytest

from cli.screens.text import columns
from cultures.words.quantities import (
    celsius,
    grams,
    in_units,
    litres,
    millilitres,
    millimetres,
    number,
    square_centimetres,
)
from tests.cli.invented import outlook, room_file, run, run_json
from tests.cli.us_contract import METRIC, dated_otherwise, too_fine

_SCREENS = [
    ["today", "--all-day"],
    ["today", "--next"],
    ["plan", "--why", "--feeding"],
    ["shortfalls"],
    ["check"],
]


@pytest.mark.parametrize("args", _SCREENS, ids=" ".join)
def test_no_metric_quantity_is_left_on_a_us_screen(tmp_path: Path, args: list[str]) -> None:
    room = room_file(tmp_path, units='"us"')
    text = run(room, *args).stdout
    assert METRIC.findall(text) == too_fine(text) == dated_otherwise(text) == []
    assert re.search(r"°F|\boz\b|\btsp\b", text)
    assert METRIC.search(run(room_file(tmp_path), *args).stdout)


@pytest.mark.parametrize(
    "options", [["--week"], ["--helper", "--from", "2027-01-10", "--to", "2027-01-14"]]
)
def test_no_metric_quantity_is_left_on_a_us_sheet(tmp_path: Path, options: list[str]) -> None:
    room = room_file(tmp_path, units='"us"', horizon_days="14")
    out = tmp_path / "sheet.html"
    run(room, "sheet", "--out", str(out), *options)
    body = out.read_text("utf-8").split("<body>")[1]
    text = re.sub(r"<[^>]+>", " ", body)
    assert METRIC.findall(text) == too_fine(text) == dated_otherwise(text) == []
    assert "8.5in 11in" in out.read_text("utf-8")


def test_no_metric_quantity_is_left_on_a_us_calendar(tmp_path: Path) -> None:
    room = room_file(tmp_path, units='"us"')
    out = tmp_path / "jobs.ics"
    run(room, "calendar", "--out", str(out))
    entries = icalendar.Calendar.from_ical(out.read_bytes()).walk("VEVENT")
    text = "\n".join(f"{e['summary']}\n{e['description']}" for e in entries)
    assert METRIC.findall(text) == too_fine(text) == dated_otherwise(text) == []
    assert re.search(r"(?m)^\d\. 7:15 am ", text)
    assert re.search(r"Buy [1-9]\d* oz of cysts: nauplii run short", text)


def test_json_speaks_metric_whatever_the_units(tmp_path: Path) -> None:
    (tmp_path / "us").mkdir()
    us = run_json(room_file(tmp_path / "us", units='"us"', horizon_days="14"), "plan")
    metric = run_json(room_file(tmp_path, horizon_days="14"), "plan")
    assert us["cost"] == metric["cost"]
    assert [x["need_j"] for x in us["rounds"]] == [x["need_j"] for x in metric["rounds"]]
    assert {x["unit"] for x in us["rounds"]} == {"mL", "g"}


def test_syringes_are_in_millilitres_in_a_us_room_too(tmp_path: Path) -> None:
    (tmp_path / "metric").mkdir()
    told = [
        re.findall(r"(?m)^  [A-C]\d .*$", run(room, "today").stdout)
        for room in (room_file(tmp_path, units='"us"'), room_file(tmp_path / "metric"))
    ]
    assert len(told[0]) > 3
    assert told[0] == told[1]
    assert all(re.search(r"\d mL", row) and "tsp" not in row for row in told[0])
    lines = [x for x in outlook(tmp_path).lines[0] if x.food == "dry" and x.amount > 0]
    assert len(lines) == 3
    # 5 mL for each 0.01 g
    assert [row.split("  ")[-1].strip() for row in told[0] if not row.endswith("-")] == [
        f"{x.amount * 500:g} mL" for x in lines
    ]


# Conversions looked up in NIST Special Publication 811 (2008), appendix B.8: 1 in = 25.4 mm,
# 1 oz = 28.349 52 g, 1 US gal = 3.785 412 L, 1 US fl oz = 29.573 53 mL, 1 US tsp = 4.928 922 mL.
@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (celsius(25, "us"), "77 °F"),
        (celsius(23.5, "us"), "74.3 °F"),
        (litres(3.785412, "us"), "1 gal"),
        (litres(0.946353, "us"), "1 qt"),
        (grams(28.34952, "us"), "1 oz"),
        (grams(0.02834952, "us"), "0.028 g"),  # a pocket scale shows grams
        (grams(453.59237, "us"), "1 lb"),
        (grams(230, "us"), "8.1 oz"),
        (millimetres(25.4, "us"), "1.00 in"),
        (square_centimetres(6.4516, "us"), "1 in²"),
        (millilitres(29.57353 * 8, "us"), "8 fl oz"),
        (millilitres(51.0, "us"), "51 mL"),
    ],
)
def test_conversions(shown: str, expected: str) -> None:
    assert shown == expected


def test_sentences_are_converted_and_names_left_alone() -> None:
    text = "23.5 h at 27 °C, 5 g/L, 4.0 mm long in B4, 1,000 mL, 25 g of salt, 4586 um"
    assert in_units(text, "us") == (
        "23.5 h at 80.6 °F, 5 g/L, 0.16 in long in B4, 34 fl oz, 25 g of salt, 4586 um"
    )
    assert in_units(text, "metric") == text


@pytest.mark.parametrize(
    ("value", "digits", "expected"),
    [
        (0, 3, "0"), (0.5, 3, "0.5"), (12.34, 3, "12.3"), (123.4, 3, "123"), (1234.5, 3, "1,230"),
        (330165, 2, "330,000"), (0.000035, 2, "0.000035"), (99.96, 3, "100"), (7, 3, "7"),
    ],
)  # fmt: skip
def test_numbers_have_no_more_digits_than_they_deserve(
    value: float, digits: int, expected: str
) -> None:
    assert number(value, digits) == expected


def test_columns_fit_the_screen_and_never_cut_a_number() -> None:
    rows = [["tank", "brood", "food"], ["A" * 70, "B" * 70, "1,234,567 mL"]]
    lines = columns(rows, right=[2]).splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert lines[1].endswith("1,234,567 mL")


def test_a_room_typed_in_us_units_is_the_same_room(tmp_path: Path) -> None:
    (tmp_path / "typed").mkdir()
    metric = room_file(tmp_path, horizon_days="14")
    typed = room_file(tmp_path / "typed", horizon_days="14")
    text = typed.read_text("utf-8").replace("temperature_c = 25\n", 'temperature_c = "77 F"\n')
    assert '"77 F"' in text
    typed.write_text(text, "utf-8")
    assert run_json(typed, "plan") == run_json(metric, "plan")
