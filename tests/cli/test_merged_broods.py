"""Two broods of one kind that are mixed in one tank become one: docs/journal.md.

``old`` swims since 20 February and is larger than ``new``, which swims since the 24th.
"""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted
from tests.cli.test_few_doses_shown import _HEAD, _brood
from tests.page.room import KEYS, Page

_DAY = "2027-03-01"
_NOW = f"{_DAY}T08:00"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    pair = (
        _brood("old", "A", 200, "2027-02-20"),
        _brood("new", "A", 100, "2027-02-24", new=False),
    )
    path.write_text(_HEAD + "".join(pair) + _brood("lone", "B", 150, "2027-02-22"), "utf-8")
    return path


def _said(room: Path, *words: str, clock: str = _NOW, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


def _need(room: Path, tank: str = "A", clock: str = _NOW) -> object:
    return json.loads(at(room, clock, "need", "--tank", tank, "--days", "2", "--json").stdout)


@pytest.mark.parametrize("words", [("old", "new"), ("new", "old")])
def test_the_smaller_stays_with_the_fry_of_both(room: Path, words: tuple[str, str]) -> None:
    before = _need(room)
    assert isinstance(before, list)
    (old, new) = before
    said = _said(room, "journal", "merge", *words)
    assert "Noted, line 2: Mon 1 Mar 08:00 merge old into new" in said
    there = sum(each["days"][0]["count"] for each in before)  # of 300, less those that died since
    assert f"new holds both, about {there:.0f} fry" in said
    one = _need(room)
    assert isinstance(one, dict)
    assert one["brood"] == "new"
    assert one["first_food"] == new["first_food"]
    for day, was, other in zip(one["days"], new["days"], old["days"], strict=True):
        assert day["length_mm"] == was["length_mm"]
        assert day["count"] == pytest.approx(was["count"] + other["count"], rel=0.01)


def test_it_is_one_for_counts_and_names_and_undo_makes_two_again(room: Path) -> None:
    before = _need(room)
    _said(room, "journal", "merge", "old", "new")
    assert "count new 280 fry" in _said(room, "journal", "count", "A", "280")
    gone = _said(room, "journal", "count", "old", "180", code=2)
    assert "old was noted as one with new on Mon 1 Mar" in gone
    assert "journal undo --line 2" in gone
    _said(room, "journal", "undo")
    _said(room, "journal", "undo")
    assert _need(room) == before


def test_its_tank_is_fed_as_much_as_both_at_the_next_round_that_is_told(room: Path) -> None:
    """All fish are still in the tank: what is in hand stands, and later rounds are told for 300."""
    at(room, f"{_DAY}T07:10", "today")
    shown = at(room, f"{_DAY}T07:40", "today").stdout
    (row,) = (line for line in shown.splitlines() if line.startswith("  A "))
    _said(room, "journal", "merge", "old", "new", clock=f"{_DAY}T07:41")
    again = at(room, f"{_DAY}T07:42", "today").stdout
    (same,) = (line for line in again.splitlines() if line.startswith("  A "))
    assert row.split()[-2:] == same.split()[-2:]
    jotted(room, f"{_DAY}T07:45", "done")
    plan = json.loads(at(room, f"{_DAY}T07:46", "plan", "--json").stdout)
    evening = [x for x in plan["rounds"] if x["tank"] == "A" and "T18:30" in x["at"]]
    assert {x["brood"] for x in evening} == {"new"}
    assert "fed" not in at(room, f"{_DAY}T20:40", "need", "--tank", "A", "--json").stdout[:600]


def test_what_a_sheet_told_for_two_is_the_meal_of_the_one(room: Path, tmp_path: Path) -> None:
    """Nobody looks again for two days: the tank got what the sheet says for both."""
    at(room, f"{_DAY}T06:30", "sheet", "--week", "--out", str(tmp_path / "sheet.html"))
    _said(room, "journal", "merge", "old", "new")
    one = _need(room, clock="2027-03-03T12:00")
    assert isinstance(one, dict)
    assert "fed" not in one


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("old", "lone"), "old is in A and lone in B"),
        (("old", "old"), "old is one brood already"),
        (("old", "nobody"), "'nobody'"),
        (("old", "new", "--at", "yesterday 18:30"), "leave out --at"),
    ],
)
def test_what_is_not_mixed_stays_apart(room: Path, words: tuple[str, ...], why: str) -> None:
    assert why in _said(room, "journal", "merge", *words, code=2)
    assert not room.with_name("journal.csv").exists()


def test_broods_of_two_kinds_stay_apart(room: Path) -> None:
    text = room.read_text("utf-8").replace("bubble_nest", "egg_scatterer", 1)
    room.write_text(text, "utf-8")
    assert "are not of one kind" in _said(room, "journal", "merge", "old", "new", code=2)


def test_a_tap_on_the_page_notes_it_and_takes_it_back(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = Page(room, monkeypatch)
    page.at(_NOW)
    assert "old and new are one" in page.get("fry")
    assert "lone and" not in page.get("fry")
    merge = partial(page.post, kind="event", event="merge", subject="new", other="old")
    merge(key=KEYS.helper, code=403)
    noted = merge(ago=900)
    assert noted["text"] == ["Mon 1 Mar 08:00  merge old into new"]
    assert "old and new are one" not in page.get("fry")
    page.post(kind="undo", line=noted["line"])
    assert "old and new are one" in page.get("fry")
