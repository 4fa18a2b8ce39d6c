"""The evening on which fish spawned, with nothing in the house: what is got, in which order, and
that all screens say the same days.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from attrs import evolve

from cli.screens.shortfalls import remedy_words
from cultures.tasks.plan import Act, Remedy
from tests.cli.invented import at, jotted, run_json

_NOW = "2027-02-01T20:15"
#: 300 eggs that take nauplii from their first meal on, on Mon 8 Feb 07:30 by their class at 27 °C.
_ROOM = """
[room]
name = "attic"
timezone = "Europe/Lisbon"
temperature_c = 20
as_of = 2027-02-01
horizon_days = 14

[[tank]]
name = "N"
litres = 20
temperature_c = 27

[[brood]]
name = "angels"
tank = "N"
species = "angelfish"
count = 300
spawned = 2027-02-01
"""
_BOTTLE = """
[[vessel]]
name = "bottle 1"
litres = 1
temperature_c = 27
"""
_READY = ("ready", "angelfish 300", "--on", "2027-02-01", "--in", "N")


def _written(folder: Path, text: str = _ROOM) -> Path:
    path = folder / "room.toml"
    path.write_text(text, "utf-8")
    return path


def _said(path: Path, *args: str) -> str:
    return " ".join(at(path, _NOW, *args).stdout.split())


@pytest.fixture
def room(tmp_path: Path) -> Path:
    return _written(tmp_path)


def test_in_a_room_with_nothing_hatching_is_begun_first(room: Path) -> None:
    """A bottle, salt, air and cysts, in two days from a shop, for a hatch of a day before that
    meal: to be bought by Fri 5 Feb.
    """
    shown = _said(room, "today")
    assert "ACT NOW - by Fri 5 Feb 07:30: begin to hatch brine shrimp (buy a 1 L bottle" in shown
    for word in (" g of cysts", " g of salt", "an air pump", "how: livefood today --why"):
        assert word in shown, word
    assert "TAKE CARE ! Salt water beside mains: RCD or GFCI" in shown
    assert "cyst dust is an allergen" in shown
    reasons = _said(room, "today", "--why")
    for word in ("light for the first 6 h", "salt water beside mains", "livefood add vessel"):
        assert word in reasons, word
    assert "begin to hatch brine shrimp" in _said(room, "shortfalls")
    ready = _said(room, *_READY)
    first = "NOT KEPT HERE, but small enough for them - nauplii: begin to hatch brine shrimp"
    assert first in ready
    assert "salt and an air pump by Fri 5 Feb" in ready
    assert "Salt water and mains" in ready
    # Once a bottle stands, only cysts are wanting.
    _written(room.parent, _ROOM + _BOTTLE)
    shown = _said(room, "today")
    assert "begin to hatch" not in shown
    assert re.search(r"by Fri 5 Feb 07:30: buy \d+ g of cysts, or nauplii will be short", shown)


def test_to_begin_to_hatch_is_said_in_three_lines_and_its_cautions_below(room: Path) -> None:
    """What to buy, by when and what for; how it stands and is entered is under --why."""
    lines = at(room, _NOW, "today").stdout.splitlines()
    first = next(i for i, line in enumerate(lines) if "begin to hatch" in line)
    assert not lines[first + 3]


def test_a_starter_is_to_be_bought_before_it_is_set_up() -> None:
    """It comes two days after it is ordered, so it is bought two days before it is set up."""
    by = datetime(2027, 2, 3, 7, 30, tzinfo=UTC)
    what = "start a microworm culture from a bought starter"
    starter = Remedy(what, by, 1.0, timedelta(days=2), act=Act.START)
    assert remedy_words(starter, "metric") == f"{what} (buy it by Mon 1 Feb)"
    here = evolve(starter, fetch=timedelta(0))
    assert remedy_words(here, "metric") == what


def test_what_is_bought_to_begin_with_is_what_it_says(room: Path) -> None:
    """In the room with the bottle and so many cysts on order nobody goes short."""
    (short,) = run_json(room, "shortfalls", now=_NOW)
    (begin,) = (r for r in short["remedies"] if r["act"] == "hatch")
    assert begin["effect_j"] == pytest.approx(short["short_j"], rel=0.05)
    found = re.search(r"([\d.]+) g of cysts", begin["what"])
    assert found is not None
    _written(room.parent, _ROOM + _BOTTLE)
    jotted(room, "2027-02-05T07:00", "bought", "cysts", f"{float(found[1]):g} g")
    after = run_json(room, "shortfalls", now="2027-02-05T07:30")
    assert not [s for s in after if not s["thin"]]


def test_what_is_to_be_done_is_in_the_order_of_its_days(room: Path) -> None:
    """In a bottle at 20 °C hatches are slow, so cysts alone do not feed them all."""
    _written(room.parent, _ROOM + _BOTTLE.replace("27", "20"))
    now = _said(room, "today").partition("ACT NOW")[2].partition("ROUND")[0]
    days = [int(day) for day in re.findall(r"- by \w+ (\d+) Feb", now)]
    assert len(days) > 1
    assert days == sorted(days)


def test_ready_counts_from_when_a_starter_can_be_there(room: Path) -> None:
    """Ordered at a quarter past eight in the evening, it comes a day later, after the last round:
    it is begun on Wed 3 Feb, the day that `today` says, and not on Tuesday at noon.
    """
    foods = run_json(room, *_READY, now=_NOW)["foods"]
    for food in foods:
        if food["how"] == "start" and not food["too_late"]:
            assert food["begin_by"][:10] >= "2027-02-03", food
    remedies = run_json(room, "shortfalls", now=_NOW)[0]["remedies"]
    starts = {r["of"]: r["by"][:10] for r in remedies if r["act"] == "start"}
    in_time = {f["food"]: f["begin_by"][:10] for f in foods if f["how"] == "start"
               and not f["too_late"]}  # fmt: skip
    assert {kind: starts[kind] for kind in in_time if kind in starts} == {
        kind: day for kind, day in in_time.items() if kind in starts
    }
    assert set(in_time) & set(starts)


def test_ready_of_fish_that_spawned_already_does_not_plan_them_again(room: Path) -> None:
    shown = _said(room, *_READY)
    assert "journal planned" not in shown
    assert "angels in N spawned that day, and the plan feeds them already" in shown
    assert "journal planned" in _said(room, *_READY[:2], "--on", "2027-02-03", "--in", "N")


def test_when_they_first_eat_is_said_where_nothing_eats_yet(room: Path) -> None:
    said = "Nothing eats yet. First food for angels in N on Mon 8 Feb (they hatch on Wed 3 Feb)."
    assert said in _said(room, "today")
