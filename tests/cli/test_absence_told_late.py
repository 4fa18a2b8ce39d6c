"""An absence that is told once it is over: who was fed at its rounds, and how that is noted.

The demo room, whose rounds are 07:30 and 18:30. It is told the rounds of Tuesday, and the keeper is
gone from then on to Thursday. What is expected follows from docs/journal.md: what was told for days
on which nobody was there and is not noted is not taken as done; a tank of which somebody says that
it was fed had a meal.
"""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from cultures.needs.meals import Meal
from cultures.record.present import Present, present_of
from cultures.room.file import read_room
from cultures.words.moments import hours
from tests.cli.invented import NOW, at, jotted, room_file

_THURSDAY = "2027-01-07T06:40"
_AWAY = ("journal", "away", "2027-01-05", "to", "2027-01-06")
_FIRST, _LAST = "2027-01-05 07:30", "2027-01-06 18:30"


@pytest.fixture
def away(tmp_path: Path) -> Path:
    """Tuesday was told, pearl danio 3 was fed in A3, and on Thursday the absence is noted."""
    room = room_file(tmp_path)
    at(room, NOW, "today")
    jotted(room, "2027-01-05T07:31", "fed", "A3")
    at(room, _THURSDAY, *_AWAY)
    return room


def _now(room: Path, clock: str = _THURSDAY) -> Present:
    stated = read_room(room.read_text("utf-8"), name=room.name, today=date(2027, 1, 7))
    return present_of(stated, room, datetime.fromisoformat(clock).replace(tzinfo=stated.timezone))


def _meals(room: Path, brood: str) -> list[Meal]:
    """The meals of a brood on the two days, by what is known on Thursday."""
    found = _now(room)
    first, last = (datetime.fromisoformat(t).replace(tzinfo=found.room.timezone)
                   for t in (_FIRST, _LAST))  # fmt: skip
    grown = found.learned.replayed.grown
    assert grown is not None
    return grown.meals.of(brood, hours(first), hours(last) + 0.1)


def _shares(room: Path, brood: str) -> list[float]:
    return [meal.share for meal in _meals(room, brood)]


def test_who_is_not_noted_of_a_round_at_which_nobody_was_had_nothing(away: Path) -> None:
    assert _shares(away, "acara 5") == [0.0, 0.0, 0.0, 0.0]
    first, *rest = _shares(away, "pearl danio 3")
    assert first > 0.9
    assert rest == [0.0, 0.0, 0.0]


def test_a_round_of_the_absence_that_was_noted_whole_was_fed(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    at(room, NOW, "today")
    jotted(room, "2027-01-05T07:40", "done")
    at(room, _THURSDAY, *_AWAY)
    first, *rest = _shares(room, "acara 5")
    assert first > 0.9
    assert rest == [0.0, 0.0, 0.0]


def test_a_tank_can_be_noted_as_fed_afterwards(away: Path) -> None:
    # Told for that round: it got what was told. Not told, since nobody looked: it was a meal.
    jotted(away, _THURSDAY, "fed", "B1", "--at", _FIRST)
    jotted(away, _THURSDAY, "fed", "C2", "--at", "2027-01-06 18:30")
    assert _shares(away, "acara 5")[0] > 0.9
    assert _shares(away, "rainbows 4") == [0.0, 0.0, 0.0, 1.0]
    # What it got of one food can be said where that was told.
    jotted(away, _THURSDAY, "fed", "C4", "dry", "0.05 g", "--at", _FIRST)
    refused = at(
        away, _THURSDAY, "journal", "fed", "C4", "dry", "0.05 g", "--at", _LAST, code=2
    ).output  # fmt: skip
    assert "only that it was fed is noted" in " ".join(refused.split())


def test_a_neighbour_who_fed_all_is_noted_in_a_line(away: Path) -> None:
    noted = at(away, _THURSDAY, "journal", "fed", "round", "--at", "Wed 18:30").output
    assert "fed B1" in noted
    assert "fed C2" in noted
    assert _shares(away, "acara 5") == [0.0, 0.0, 0.0, 1.0]
    refused = at(away, _THURSDAY, "journal", "fed", "round", "dry", "1", "g", code=2).output
    assert "noted of that tank" in " ".join(refused.split())


@pytest.mark.parametrize("moment", [_FIRST, _LAST])
def test_a_round_of_the_absence_can_be_skipped_in_words(away: Path, moment: str) -> None:
    noted = at(away, _THURSDAY, "journal", "skip", "round", "--at", moment).output
    assert f"skip {moment[-5:]} round" in noted
    assert _shares(away, "acara 5") == [0.0, 0.0, 0.0, 0.0]
    assert _shares(away, "pearl danio 3")[0] > 0.0  # noted of the tank alone: it holds
