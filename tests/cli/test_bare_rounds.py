"""Rounds for which there is nothing: fry go without, it is said, and the day they starve stays."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from cultures.journal.entries import Entry
from cultures.record.bare import bare_spans, still_bare
from cultures.record.fates import Fates
from cultures.record.store import Record, append_telling, damaged_lines, read_record, record_path
from cultures.room.file import read_room
from cultures.tasks.told import Bare
from tests.cli.invented import at, jotted, run
from tests.cli.rooms import CELLAR

_A2 = """
[[tank]]
name = "A2"
litres = 40
temperature_c = 24
"""
_ROOM = CELLAR + _A2
_VESSEL = """
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 26

[cysts]
grams = 50

[[brood]]
name = "danios"
tank = "A2"
class = "egg_scatterer"
count = 60
length_mm = 8
measured_on = 2027-02-01
"""
#: Rounds from the first food on (by the class, at 24 °C), a look a quarter of an hour before each.
_FIRST = datetime(2027, 2, 5, 7, 30, tzinfo=UTC)
_ROUNDS = [
    _FIRST + timedelta(days=day, hours=hour) for day in range(4) for hour in (0, 11)
]  # fmt: skip


def _room(folder: Path, text: str = _ROOM) -> Path:
    path = folder / "room.toml"
    path.write_text(text, "utf-8")
    return path


def _clock(moment: datetime, minutes: int = 0) -> str:
    return f"{moment + timedelta(minutes=minutes):%Y-%m-%dT%H:%M}"


def _said(room: Path, clock: str, *args: str) -> str:
    return " ".join(at(room, clock, *args).output.split())


def _fed(room: Path, clock: str) -> dict[str, Any]:
    found = json.loads(run(room, "need", "--brood", "labyrinths", "--json", now=clock).stdout)
    fed: dict[str, Any] = found.get("fed", {})
    return fed


def _starves(room: Path, clock: str) -> str:
    shown = " ".join(run(room, "shortfalls", now=clock).output.split())
    found = re.search(r"would starve from (\w+ \d+ \w+)", shown)
    return found[1] if found else ""


def test_the_day_on_which_unfed_fry_starve_does_not_move(tmp_path: Path) -> None:
    room = _room(tmp_path)
    at(room, "2027-02-03T12:00", "today")
    first = _starves(room, "2027-02-03T12:00")
    assert first
    for each in _ROUNDS[:4]:
        for minutes in (-15, 30):
            at(room, _clock(each, minutes), "today")
            assert _starves(room, _clock(each, minutes)) == first, each


def test_a_round_with_nothing_to_give_is_as_one_noted_as_not_fed(tmp_path: Path) -> None:
    for name in ("told", "noted", "once"):
        (tmp_path / name).mkdir()
    told, noted, once = (_room(tmp_path / name) for name in ("told", "noted", "once"))
    for each in _ROUNDS:
        at(told, _clock(each, -15), "today")
    at(once, _clock(_FIRST, -15), "today")
    end = _clock(_ROUNDS[-1], 60)
    for each in _ROUNDS:
        jotted(noted, end, "skip", "round", "--at", _clock(each))
    assert _fed(told, end)["share"] == 0
    assert _fed(told, end) == pytest.approx(_fed(noted, end))
    # One look tells of the rounds ahead too.
    assert _fed(once, end) == pytest.approx(_fed(noted, end))
    # Who was told nothing is not known to have had nothing.
    (tmp_path / "silent").mkdir()
    assert _fed(_room(tmp_path / "silent"), end) == {}


def test_who_fed_all_the_same_says_so(tmp_path: Path) -> None:
    room = _room(tmp_path)
    for each in _ROUNDS[:3]:
        at(room, _clock(each, -15), "today")
    end = _clock(_ROUNDS[2], 60)
    jotted(room, end, "fed", "A1", "--at", _clock(_ROUNDS[1]))
    assert _fed(room, end)["share"] == pytest.approx(1 / 3)
    for each in (_ROUNDS[0], _ROUNDS[2]):
        jotted(room, end, "fed", "A1", "--at", _clock(each))
    assert _fed(room, end) == {}


def test_the_round_says_that_they_should_eat_and_there_is_nothing(tmp_path: Path) -> None:
    room = _room(tmp_path)
    assert "Nothing eats yet." in _said(room, "2027-02-03T07:00", "today")
    for minutes, when in ((-15, "now"), (-300, "then"), (30, "now")):
        shown = _said(room, _clock(_ROUNDS[0], minutes), "today", "--all-day")
        assert "Nothing eats yet" not in shown
        assert f"The fry in A1 should eat {when}, and there is nothing for them" in shown
    shown = _said(room, _clock(_ROUNDS[0], 30), "today", "--tank", "A2")
    assert "should eat" not in shown


def test_some_are_fed_and_some_have_nothing(tmp_path: Path) -> None:
    room = _room(tmp_path, _ROOM + _VESSEL)
    at(room, "2027-02-03T07:00", "today")
    shown = _said(room, _clock(_ROUNDS[0], -15), "today")
    assert "A2 danios" in shown
    assert "! the fry in A1 should eat now, and there is nothing for them" in shown
    again = _said(room, _clock(_ROUNDS[0], 15), "today")
    assert "! the fry in A1 should eat now, and there is nothing for them" in again
    assert "the fry in A2 should" not in shown + again


def test_where_all_are_fed_nothing_is_recorded_of_it(tmp_path: Path) -> None:
    room = _room(tmp_path, CELLAR.partition("[[brood]]")[0] + _A2 + _VESSEL)  # danios take dry food
    at(room, "2027-02-03T19:00", "today")
    assert '"bare"' not in record_path(room).read_text("utf-8")


def test_the_same_is_not_recorded_twice_and_a_later_telling_leaves_what_is_over(
    tmp_path: Path,
) -> None:
    room = _room(tmp_path)
    at(room, "2027-02-04T19:00", "today")
    path = record_path(room)
    text = path.read_text("utf-8")
    at(room, "2027-02-04T19:00", "today")
    assert path.read_text("utf-8") == text
    now = _ROUNDS[2]
    append_telling(path, now + timedelta(hours=1), "today", bare=[])
    (kept,) = read_record(path, UTC, now + timedelta(hours=2)).bare
    # Two hours after its time a round is not planned any more; that of an hour ago was told anew.
    assert kept.first == _ROUNDS[0]
    assert _ROUNDS[1] <= kept.last < now
    assert damaged_lines(path.read_bytes() + b'{"at":"2027-02-05","by":"","bare":[1]}\n', UTC) == [
        text.count("\n") + 2
    ]


def test_food_that_nobody_foresaw_ends_it() -> None:
    room = read_room(_ROOM, name="room.toml", today=_FIRST.date())
    first, *_, last = (each.replace(tzinfo=room.timezone) for each in _ROUNDS)
    before, noon = first - timedelta(hours=1), first + timedelta(hours=5)
    record = Record({}, bare=(Bare(before, "labyrinths", first, last),))
    known, now = Fates({}, {}, {}), last + timedelta(days=1)

    def spans(*entries: Entry) -> Any:
        return bare_spans(still_bare(record, entries, known, room), now)

    whole = {"labyrinths": ((first, last),)}
    for event, subject in (("used", "dry"), ("bought", "salt"), ("count", "labyrinths")):
        assert spans(Entry(noon, event, subject)) == whole
    assert spans(Entry(before - timedelta(hours=1), "bought", "dry")) == whole
    for event, subject in (("bought", "dry"), ("bought", "microworm"), ("hatched", "jug")):
        assert spans(Entry(noon, event, subject)) == {"labyrinths": ((first, noon),)}
    told: Any = {Entry(noon, "start", "MW-1"): object()}
    known = Fates({}, {}, told)
    assert spans(*told) == whole  # it was foreseen, and there was nothing all the same
    assert bare_spans(record.bare, first - timedelta(minutes=1)) == {}
