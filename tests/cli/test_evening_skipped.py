"""A skipped evening, a day without a word, and how a keeper writes of them.

The demo room, fed at 07:30 and 18:30. What is expected follows from docs/journal.md.
"""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import pytest

from cultures.record.store import append_telling, record_path
from tests.cli.invented import NOW, at, jotted, room_file
from tests.unit.recorded import told_task

_ASKED = "tasks of Tue 5 Jan 18:30 are taken as done: livefood journal due"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    return room_file(tmp_path)


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, *words, code=code).output.split())


def test_a_skipped_round_says_what_else_was_told_for_it(room: Path) -> None:
    at(room, NOW, "today")
    jotted(room, "2027-01-05T07:40", "done")
    at(room, "2027-01-05T18:10", "today")
    due = _said(room, "2027-01-06T06:40", "journal", "due")
    number = re.search(r"(\d+) Tue 5 Jan 18:30 set bottle 1", due)
    assert number is not None
    said = _said(room, "2027-01-06T06:41", "journal", "skip", "round", "--at", "Tue 18:30")
    assert "Told for 18:30 too, and taken as done: set bottle 1" in said
    assert f"Not done either: livefood journal skip {number[1]}." in said
    assert "skip bottle 1, its setting" in _said(
        room, "2027-01-06T06:42", "journal", "skip", number[1]
    )


def test_ticking_off_the_morning_says_that_the_evening_before_is_noted_with_it(room: Path) -> None:
    at(room, NOW, "today")
    assert "Noted with it as fed" not in _said(room, "2027-01-05T07:40", "journal", "done")
    at(room, "2027-01-05T18:10", "today")
    at(room, "2027-01-06T06:40", "today")
    said = _said(room, "2027-01-06T07:40", "journal", "done")
    told = re.search(
        r"nobody had ticked it off: the round of Tue 5 Jan 18:30. Not fed then:"
        r" livefood (journal undo --line \S+), and then"
        r" livefood (journal skip round --at) \"([^\"]+)\"$",
        said.split(" Not ticked off")[0],
    )
    assert told is not None
    at(room, "2027-01-06T07:41", *told[1].split())
    answer = _said(room, "2027-01-06T07:42", *told[2].split(), told[3])
    assert "skip 18:30 round, its feeding" in answer
    assert "07:30 round" in _said(room, "2027-01-06T07:43", "journal", "show")


def test_what_was_asked_stays_in_a_line_until_it_is_answered_or_the_next_round_is_over(
    room: Path,
) -> None:
    at(room, "2027-01-05T18:10", "today")
    assert "TAKEN AS DONE" in _said(room, "2027-01-06T06:40", "today")
    again = _said(room, "2027-01-06T07:20", "today")
    assert _ASKED in again
    assert "TAKEN AS DONE, unless" not in again
    assert _ASKED not in _said(room, "2027-01-06T09:31", "today")  # two hours after 07:30
    jotted(room, "2027-01-06T07:21", "skip", "all")
    assert _ASKED not in _said(room, "2027-01-06T07:22", "today")


def test_a_day_without_a_word_is_asked_about_at_the_next_look(room: Path) -> None:
    """Nobody looked or noted anything on Wednesday, whose rounds are two; of one round that nobody
    looked at it is not asked.
    """
    at(room, NOW, "today")
    jotted(room, "2027-01-05T18:40", "note", "MW-1", "all", "well")
    question = "of the 2 rounds of Wed 6 Jan: were the fry fed as usual?"
    assert "were the fry fed" not in _said(room, "2027-01-06T18:00", "plan")
    screen = _said(room, "2027-01-07T06:40", "today")
    assert question in screen.partition("ROUND")[0]
    assert question in _said(room, "2027-01-07T06:50", "today")  # until it is answered
    for moment in ("Wed 6 Jan 18:30", "Wed 7:30"):
        jotted(room, "2027-01-07T06:55", "skip", "round", "--at", moment)
    assert "were the fry fed" not in _said(room, "2027-01-07T06:56", "today")


def test_a_culture_s_name_ticks_its_harvest_and_names_the_split(room: Path) -> None:
    _tell_harvest_and_split(room)
    said = _said(room, "2027-01-05T07:31", "journal", "done", "MW-1")
    assert "harvest MW-1" in said
    assert "Noted, line 3" not in said
    assert "Not ticked off: split MW-1" in said
    assert "livefood journal done 2" in said
    assert "split MW-1 MW-8" in _said(room, "2027-01-05T07:32", "journal", "done", "2")
    refused = _said(room, "2027-01-05T07:40", "journal", "split", "MW-1", "MW-8", code=2)
    assert "MW-8 was begun by line 3" in refused
    assert "livefood journal undo --line 3" in refused


def test_a_culture_s_name_skips_its_harvest_and_then_its_split(room: Path) -> None:
    """Who takes no worms may split all the same; where no harvest is due the name is the split."""
    _tell_harvest_and_split(room)
    said = _said(room, "2027-01-05T07:31", "journal", "skip", "MW-1")
    assert "skip MW-1, its harvest" in said
    assert "Noted, line 3" not in said
    assert "Told for 07:30 too, and still to be done: split MW-1" in said
    assert "Not done either: livefood journal skip 2." in said
    split = _said(room, "2027-01-05T07:32", "journal", "skip", "MW-1")
    assert "skip MW-1, its split" in split
    assert "Not done either" not in split


def _tell_harvest_and_split(room: Path) -> None:
    moment = datetime.fromisoformat("2027-01-05T07:30:00+00:00")
    told = [
        told_task("harvest_worms", moment, "MW-1", {"mg": 100.0}, kind="microworm"),
        told_task("split", moment, "MW-1", {"starter_g": 10.0, "medium_g": 150.0}, other="MW-8",
                  kind="microworm"),
    ]  # fmt: skip
    append_telling(record_path(room), moment.replace(hour=6), "today", told)


def test_several_tanks_and_several_numbers_are_noted_at_once(room: Path) -> None:
    at(room, NOW, "today")
    said = _said(room, "2027-01-05T07:40", "journal", "fed", "A3", "B1", "--at", "07:30")
    assert "fed A3" in said
    assert "fed B1" in said
    one = _said(room, "2027-01-05T07:41", "journal", "fed", "B4", "microworm", "5", "mL")
    assert "B4, 5 mL of microworm" in one
    due = re.findall(r" (\d+) Tue 5 Jan", _said(room, "2027-01-05T07:42", "journal", "due"))
    span = f"{due[0]}-{due[1]}"
    assert _said(room, "2027-01-05T07:43", "journal", "done", span).count("Noted, line") == 2
    assert "is noted already" in _said(
        room, "2027-01-05T07:44", "journal", "skip", span, code=2
    ) or "no task" in _said(room, "2027-01-05T07:44", "journal", "skip", span, code=2)


def test_a_species_and_a_tank_may_be_named_where_a_class_and_a_brood_are(room: Path) -> None:
    said = _said(
        room, NOW, "journal", "spawn", "convict 1", "--tank", "C1", "--species",
        "convict cichlid", "--count", "80",
    )  # fmt: skip
    assert "spawn convict 1 C1 convict cichlid 80 fry" in said
    assert "acara 5, tank B1" in _said(room, NOW, "need", "--tank", "B1")
    assert "choose one" in _said(room, NOW, "need", "--tank", "B1", "--brood", "acara 5", code=2)


def test_an_absence_that_is_taken_back_is_said_as_what_it_was(room: Path) -> None:
    """Nobody noted days away of a thing: what is taken back is the days, by its line."""
    jotted(room, NOW, "away", "2027-01-08", "to", "2027-01-10")
    said = _said(room, NOW, "journal", "undo")
    assert "Noted, line 3: Tue 5 Jan 07:00 undo 2, the days away" in said
    assert "away room" not in said
    assert "undo 2, the days away" in _said(room, NOW, "journal", "show", "--undone")
