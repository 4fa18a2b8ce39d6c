"""Numbers of a list stay with their tasks on every screen, and none is taken for a tank."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from cultures.record.numbering import numbers_path
from tests.cli.invented import at, jotted, room_file

_LOOK, _DUE = "2027-01-05T07:01", "2027-01-05T07:40"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """The demo room, whose tank B1 is called 2, once its morning was told."""
    path = room_file(tmp_path)
    path.write_text(path.read_text("utf-8").replace('"B1"', '"2"'), "utf-8")
    at(path, _LOOK, "today")
    return path


def _said(room: Path, clock: str, *words: str, code: int = 0, **more: Any) -> str:
    result = at(room, clock, "journal", *words, code=code, **more)
    return " ".join((result.stdout + result.stderr).split())


def _list(room: Path, clock: str) -> dict[int, str]:
    """The numbers of the list, and the first words of each."""
    shown = at(room, clock, "journal", "due").stdout
    return {
        int(n): text for n, text in re.findall(r"(?m)^ +(\d+)  \w+ \d+ \w+ [\d:]+  (.{10})", shown)
    }


def test_who_works_down_one_printed_list_notes_what_stood_there(room: Path) -> None:
    printed = _list(room, _DUE)
    assert [*printed] == [1, 2, 3, 4]
    assert [text.split()[0] for text in printed.values()] == ["harvest", "MW-1:", "VE-1:", "feed"]
    assert "skip bottle 1, its harvest" in _said(room, _DUE, "skip", "1")
    assert "skip MW-1, its harvest" in _said(room, _DUE, "skip", "number", "2")
    assert "VE-1" in _said(room, _DUE, "done", "3")
    assert _list(room, _DUE) == {4: printed[4]}


def test_a_number_that_is_noted_is_no_other_task(room: Path) -> None:
    jotted(room, _DUE, "done", "1")
    before = len(room.with_name("journal.csv").read_text("utf-8").splitlines())
    for verb in ("done", "skip"):
        refused = _said(room, _DUE, verb, "1", code=2)
        assert "what was told of '1' is noted already (Tue 5 Jan 07:00 harvest bottle 1" in refused
    unknown = _said(room, _DUE, "done", "9", code=2)
    assert "no task '9' is due; 2 to 4 are: 'livefood journal due' lists them" in unknown
    assert len(room.with_name("journal.csv").read_text("utf-8").splitlines()) == before
    jotted(room, _DUE, "undo")
    assert "harvest bottle 1" in _said(room, _DUE, "done", "1")


def _note(room: Path, clock: str, *numbers: int) -> None:
    jotted(room, clock, "done", *(word for n in numbers for word in ("number", str(n))))


def _asked(room: Path, clock: str) -> dict[int, str]:
    """The numbers with which `today` asks, and the first words of each."""
    shown = at(room, clock, "today").stdout.partition("TAKEN AS DONE")[2].partition("Right:")[0]
    return {
        int(n): text
        for n, text in re.findall(r"(?m)^ +(\d+)  (?:\w+ \d+ \w+ )?[\d:]+  (.{10})", shown)
    }


def test_what_comes_later_is_numbered_behind_and_no_new_day_moves_a_number(room: Path) -> None:
    jotted(room, _DUE, "done", "1")
    at(room, "2027-01-05T18:00", "today")
    evening = _list(room, "2027-01-05T18:40")
    assert [*evening][:3] == [2, 3, 4]
    assert min(n for n, text in evening.items() if n > 4) == 5
    # The list of the day after is that of the evening, and so is what `today` asks of it.
    assert _list(room, "2027-01-06T12:00") == evening
    asked = _asked(room, "2027-01-06T12:00")
    assert len(asked) > 2
    assert asked.items() <= evening.items()
    assert _list(room, "2027-01-06T12:01") == evening


def test_all_screens_of_a_new_day_have_the_numbers_of_the_first(room: Path) -> None:
    at(room, "2027-01-05T18:00", "today")
    _note(room, "2027-01-05T18:40", 1, 2, 3, 4)
    at(room, "2027-01-06T07:01", "today")
    listed = _list(room, "2027-01-06T09:40")
    _note(room, "2027-01-06T09:41", min(listed))
    left = {n: text for n, text in listed.items() if n != min(listed)}
    assert left
    asked = _asked(room, "2027-01-06T09:42")
    assert asked
    assert asked.items() <= left.items()
    assert _list(room, "2027-01-06T09:43") == left


def test_numbers_of_what_is_answered_are_free_again_on_another_day(room: Path) -> None:
    _note(room, _DUE, 1)
    at(room, "2027-01-05T18:00", "today")
    evening = _list(room, "2027-01-05T18:40")  # 2, 3, 4 and what is new: 1 is not taken again
    _note(room, "2027-01-05T18:41", *evening.keys() - {max(evening)})
    at(room, "2027-01-06T07:01", "today")
    (kept,), morning = {max(evening)}, _list(room, "2027-01-06T09:40")
    assert morning[kept] == evening[kept]
    # The new tasks of the morning are fewer than the numbers before the one that waits.
    assert 2 < len(morning) <= kept
    assert sorted(morning) == [*range(1, len(morning)), kept]
    assert _list(room, "2027-01-06T09:41") == morning


def test_once_all_is_noted_the_next_list_begins_at_one(room: Path) -> None:
    jotted(room, _DUE, "done")
    at(room, "2027-01-05T18:00", "today")
    assert min(_list(room, "2027-01-05T18:40")) == 1


def test_a_number_that_is_a_tank_too_is_asked_back(room: Path) -> None:
    listed = _said(room, _DUE, "due")
    assert "livefood journal skip number NUMBER (2 alone may be a tank)" in listed
    refused = _said(room, _DUE, "skip", "2", code=2)
    assert "'2' may be number 2 of the list (Tue 5 Jan 07:30 MW-1:" in refused
    assert "or tank 2, not fed: say 'number 2' or 'tank 2'. Nothing was noted." in refused
    assert not room.with_name("journal.csv").exists()
    assert "skip 2, its feeding" in _said(room, _DUE, "skip", "tank", "2")
    assert "skip MW-1, its harvest" in _said(room, _DUE, "skip", "number", "2")
    # The same word again is no other thing than it was.
    again = _said(room, _DUE, "skip", "2", code=2)
    assert "'2' may be number 2 of the list" in again
    told = _said(room, _DUE, "done", "tank", "2", code=2)
    assert "by its tank: livefood journal skip tank 2" in told


def test_a_number_that_no_task_has_is_the_tank_of_that_name(tmp_path: Path) -> None:
    path = room_file(tmp_path)
    path.write_text(path.read_text("utf-8").replace('"B1"', '"71"'), "utf-8")
    at(path, _LOOK, "today")
    assert "skip NUMBER" in _said(path, _DUE, "due")
    assert "skip 71, its feeding" in _said(path, _DUE, "skip", "71")


def test_that_a_tank_was_not_fed_is_noted_once(room: Path) -> None:
    jotted(room, _DUE, "skip", "tank 2")
    refused = _said(room, _DUE, "skip", "tank", "2", code=2)
    assert "that 2 was not fed then is noted already, in line 2" in refused
    jotted(room, _DUE, "undo")
    assert "skip 2, its feeding" in _said(room, _DUE, "skip", "tank", "2")


@pytest.mark.parametrize("content", ["", "{", '{"begun": 1}', "[]", '{"begun":"x","at":"x"}'])
def test_numbers_that_cannot_be_read_begin_anew(room: Path, content: str) -> None:
    jotted(room, _DUE, "done", "1")
    numbers_path(room).write_text(content, "utf-8")
    assert [*_list(room, _DUE)] == [1, 2, 3]
