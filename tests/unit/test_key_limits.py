"""The keys of a room file hold what docs/room-file.md says they can, to the last digit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest

from cultures.room.keys import KEYS, Monthly, Number, Quantity
from cultures.room.room import SellAt
from cultures.room.table import File, Key, Table

_PAGE = (Path(__file__).parents[2] / "docs" / "room-file.md").read_text("utf-8")
_TODAY = date(2027, 1, 5)
#: Besides days and minutes: how many there are of a thing.
_COUNTS = ("count", "spare_cultures", "shelf", "variety")
_RANGE = re.compile(r"(?<![\d.,])(-?[\d,]*\.?\d+) to (-?[\d,]*\.?\d+)")


def _section(table: str) -> str:
    head = re.search(rf"^## .*\[{table}\].*$", _PAGE, re.MULTILINE)
    assert head is not None, table
    return _PAGE[head.end() :].partition("\n## ")[0]


def _rows(table: str, key: str) -> list[str]:
    rows = [row for row in _section(table).splitlines() if row.startswith("| `")]
    return [row for row in rows if f"`{key}`" in row.split("|")[1]]


def _documented(table: str, key: str) -> tuple[float, float]:
    """What the page says that a key holds at least and at most."""
    rows = _rows(table, key) or [_section(table)]
    if table == "supplies":  # what holds for all of them is said of the first
        rows = _rows(table, "salt_days" if key.endswith("_days") else "salt_g")
    found = _RANGE.search(rows[0].replace("one to eight", "1 to 8"))
    assert found is not None, rows[0]
    low, high = (float(x.replace(",", "")) for x in found.groups())
    return low, high


def _of_kind(*kinds: type[Key]) -> Iterator[tuple[str, str]]:
    for table, keys in KEYS.items():
        yield from ((table, name) for name, key in keys.items() if isinstance(key, kinds))


def _read(table: str, key: str, value: Any, *, today: date = _TODAY) -> tuple[Any, list[str]]:
    """A value as it is read, and what is said against it."""
    file = File("room.toml", "", {table: {key: value}}, today)
    found = Table(file, table, 0, KEYS[table], single=True)[key]
    return found, [p.message for p in file.problems]


@pytest.mark.parametrize(("table", "key"), [*_of_kind(Number, Quantity)])
def test_a_number_may_be_what_the_page_says_and_nothing_beyond(table: str, key: str) -> None:
    low, high = _documented(table, key)
    whole = table == "alarms" or key.endswith("_days") or key in _COUNTS
    low, high = (int(low), int(high)) if whole else (low, high)
    for good in (low, high, (low + high) // 2 or high):
        assert _read(table, key, good) == (good, [])
    for bad in (low - 1, high + 1, low - abs(low) * 1e-6 - 1e-9, high * (1 + 1e-6)):
        found, said = _read(table, key, bad)
        assert (found, len(said)) == (None, 1), bad
        assert "is not possible; use" in said[0]
    assert (_read(table, key, low + (high - low) / 3 + 0.01)[0] is None) is whole


@pytest.mark.parametrize(("table", "key"), [*_of_kind(Number, Quantity)])
def test_a_number_that_is_left_out_is_what_the_page_says(table: str, key: str) -> None:
    default = KEYS[table][key].default
    for row in _rows(table, key) if isinstance(default, int | float) else ():
        assert float(row.split("|")[-2]) == default


@pytest.mark.parametrize(("table", "key"), [*_of_kind(Monthly)])
def test_twelve_temperatures_are_each_within_the_limits(table: str, key: str) -> None:
    """Those of the line above, which is the same air."""
    low, high = _documented(table, key.replace("_by_month", ""))
    year = [low, high, *(20.0,) * 10]
    assert _read(table, key, year) == (tuple(year), [])
    for bad in (low - 0.01, high + 0.01):
        assert len(_read(table, key, [*year[1:], bad])[1]) == 1
    for wrong in (year[1:], [*year, 20.0], "20"):
        assert _read(table, key, wrong)[0] is None


def test_fahrenheit_is_thought_of_where_a_bare_number_would_do_in_it_alone() -> None:
    """75 °F are 23.9 °C; 120 °F would be 48.9 °C, which no room is at either."""
    assert 'for degrees Fahrenheit write "75 F"' in _read("room", "temperature_c", 75)[1][0]
    assert "Fahrenheit" not in _read("room", "temperature_c", 120)[1][0]
    assert "Fahrenheit" not in _read("room", "temperature_c", "75 C")[1][0]
    assert "Fahrenheit" not in _read("hatch", "cysts_g", 20000)[1][0]
    edge = {32: True, 113: True, 31.9: False, 113.1: False}  # 0 and 45 °C
    for degrees, meant in edge.items():
        said = _read("room", "temperature_c", degrees)[1]
        assert ("Fahrenheit" in " ".join(said)) == (meant and degrees > 45)


@pytest.mark.parametrize(
    ("value", "found"),
    [
        ("never", SellAt()), (" Never ", SellAt()),
        ("5 mm", SellAt(5.0)), ("300 mm", SellAt(300.0)), ("4.9 mm", None), ("301 mm", None),
        ("7 days", SellAt(None, 7.0)), ("1100 days", SellAt(None, 1100.0)),
        ("6.9 days", None), ("1101 days", None), ("8 weeks", SellAt(None, 56.0)),
        (25, None), ("25", None), ("25 g", None),
    ],
)  # fmt: skip
def test_when_fish_can_go_is_a_length_or_an_age_within_limits(value: Any, found: Any) -> None:
    got, said = _read("room", "sell_at", value)
    assert got == found
    assert len(said) == (found is None)


def test_days_lie_in_the_years_of_the_journal_and_two_years_ahead_at_most() -> None:
    assert _read("brood", "spawned", _TODAY) == (_TODAY, [])
    assert "future" in _read("brood", "spawned", _TODAY + timedelta(days=1))[1][0]
    ahead = _TODAY + timedelta(days=2 * 365)
    assert _read("brood", "planned", ahead) == (ahead, [])
    assert "two years ahead" in _read("brood", "planned", ahead + timedelta(days=1))[1][0]
    first = date(1990, 1, 1)
    assert _read("brood", "spawned", first) == (first, [])
    assert "too long ago" in _read("brood", "spawned", date(1989, 12, 31))[1][0]


@pytest.mark.parametrize(
    ("year", "good"), [(1989, False), (1990, True), (2199, True), (2200, False)]
)
def test_moments_lie_in_the_years_of_the_journal(year: int, good: bool) -> None:
    at = datetime(year, 12, 31, 7, 30)  # noqa: DTZ001  as it stands in the file
    assert _read("hatch", "set_at", at)[0] == (at if good else None)


def test_times_of_day_are_as_many_as_the_page_says() -> None:
    assert "one to eight a day" in _rows("room", "rounds")[0]
    eight = [f"{hour:02}:00" for hour in range(8, 16)]
    for many in (eight[:1], eight):
        assert len(_read("room", "rounds", many)[0]) == len(many)
    for wrong in ([], [*eight, "20:00"]):
        assert _read("room", "rounds", wrong)[0] is None
    assert _read("room", "awake", ["06:00", "22:00"])[0] == (time(6), time(22))
    for wrong in (["06:00"], ["06:00", "12:00", "22:00"]):
        assert _read("room", "awake", wrong)[0] is None
    assert _read("room", "rounds", [time(7, 30, 15)])[1]
    for table, key in (("room", "rounds"), ("room", "awake")):
        assert (
            str([f"{t:%H:%M}" for t in KEYS[table][key].default]).replace("'", '"')
            in _rows(table, key)[0]
        )


@pytest.mark.parametrize("key", ["spoons_ml", "measuring_cups_ml", "syringes_ml", "scoops",
                                 "teaspoon_g"])  # fmt: skip
def test_a_tool_may_be_what_the_page_says_and_nothing_beyond(key: str) -> None:
    low, high = _documented("tools", key)

    def written(x: float) -> Any:
        if key == "scoops":
            return {"scoop": f"{x:.9f} g dry"}
        if key == "teaspoon_g":
            return {"dry": x}
        return [[x, min(x / 2, 100.0)] if key == "syringes_ml" else x]

    for good in (low, high, (low + high) / 2):
        assert _read("tools", key, written(good))[1] == []
    for bad in (low * (1 - 1e-4), high * (1 + 1e-4), -low):
        found, said = _read("tools", key, written(bad))
        assert (len(found), len(said)) == (0, 1), bad


def test_marks_are_as_the_page_says() -> None:
    row = _rows("tools", "syringes_ml")[0]
    low, high = (float(x) for x in _RANGE.findall(row)[1])
    assert (low, high) == (0.001, 100.0)
    for good in ([1000, high], [1, low], [10, 5], [200, 100]):
        assert _read("tools", "syringes_ml", [good])[1] == [], good
    for bad in ([1000, high + 1], [1, low * 0.9], [10, 5.01], [10, -1], [10], [10, 1, 1],
                [10, True], ["10", 1]):  # fmt: skip
        assert len(_read("tools", "syringes_ml", [bad])[1]) == 1, bad


def test_of_each_sort_of_tool_there_are_twenty_at_most() -> None:
    twenty = [5 + n / 10 for n in range(20)]
    assert len(_read("tools", "spoons_ml", twenty)[0]) == 20
    assert _read("tools", "spoons_ml", [*twenty, 9.0]) == (None, ["has 21; 20 is the most"])
    scoops = {f"scoop {n}": "1 mL" for n in range(20)}
    assert len(_read("tools", "scoops", scoops)[0]) == 20
    assert _read("tools", "scoops", scoops | {"one more": "1 mL"})[0] is None


def test_a_bare_number_of_a_spoon_is_its_label() -> None:
    spoons, _ = _read("tools", "spoons_ml", [2.5, "1.25", "1/4 tsp"])
    assert [spoon.label for spoon in spoons] == ["2.5 mL", "1.25 mL", "1/4 tsp"]
    assert spoons[0].ml == 2.5
    cups, _ = _read("tools", "measuring_cups_ml", [40, "1/4 cup", [500, 25]])
    assert [(cup.label, math.isclose(cup.mark_ml, cup.holds_ml)) for cup in cups] == [
        ("40 mL", True), ("1/4 cup", True), ("", False)
    ]  # fmt: skip


def test_a_teaspoon_that_was_weighed_is_a_density() -> None:
    """A US teaspoon is 4.92892159375 mL (NIST SP 811, 2008, appendix B)."""
    assert _read("tools", "teaspoon_g", {"dry": 2.0})[0]["dry"] == pytest.approx(2 / 4.92892159375)


def test_an_alarm_rings_a_week_ahead_at_most() -> None:
    assert _documented("alarms", "feed") == (0, 7 * 24 * 60)
