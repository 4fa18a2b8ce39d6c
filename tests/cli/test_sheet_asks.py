"""The sheet asks of what it takes as done, and reaches the next morning when made late."""

from __future__ import annotations

from pathlib import Path

from tests.cli.invented import at, jotted, quick_room
from tests.cli.rooms import small
from tests.cli.sheet_reader import Sheet, read_sheet

_UNTICKED = "A box without a tick counts as done"


def _print(room: Path, clock: str, *options: str) -> Sheet:
    out = room.with_name("sheet.html")
    at(room, clock, "sheet", "--out", str(out), *options)
    return read_sheet(out.read_text("utf-8"))


def _said(sheet: Sheet) -> str:
    return " ".join(" ".join([*sheet.other, *sheet.plan_words]).split())


def test_the_next_sheet_asks_of_what_nobody_noted(tmp_path: Path) -> None:
    """All that the first one told is over by the next morning, and none of it is noted."""
    room = small(tmp_path)
    first = _print(room, "2027-01-05T06:00")
    assert first.undone == []
    second = _print(room, "2027-01-06T06:00")
    assert second.undone
    assert set(second.undone) <= set(first.tasks)
    assert "feed/2027-01-05T07:30" in second.undone
    assert "Taken as done, unless you say otherwise" in _said(second)
    assert not set(second.undone) & set(second.tasks)  # they are no boxes of this day's work


def test_what_a_sheet_asked_is_asked_once_and_printed_again_on_its_day(tmp_path: Path) -> None:
    room = small(tmp_path)
    _print(room, "2027-01-05T06:00")
    asked = _print(room, "2027-01-06T06:00").undone
    assert _print(room, "2027-01-06T06:05", "--week").undone == asked
    assert "TAKEN AS DONE" not in at(room, "2027-01-06T06:06", "today").stdout
    assert set(_print(room, "2027-01-07T06:00").undone).isdisjoint(asked)


def test_what_is_noted_or_was_asked_on_a_screen_is_not_asked_on_paper(tmp_path: Path) -> None:
    room = small(tmp_path)
    _print(room, "2027-01-05T06:00")
    jotted(room, "2027-01-05T20:30", "done")
    assert _print(room, "2027-01-06T06:00").undone == []
    assert "TAKEN AS DONE" in at(room, "2027-01-07T06:00", "today").stdout
    assert _print(room, "2027-01-07T06:01").undone == []


def test_each_page_says_what_an_empty_box_means(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10")
    assert _said(_print(room, "2027-01-05T06:00")).count(_UNTICKED) == 1
    assert _said(_print(room, "2027-01-05T06:01", "--week")).count(_UNTICKED) == 7
    away = ("--helper", "--from", "2027-01-06", "--to", "2027-01-07")
    assert "a box without a tick counts as done" in _said(_print(room, "2027-01-05T06:02", *away))


def _days(sheet: Sheet) -> list[str]:
    return [stamp for of, stamp, _ in sheet.times if of.startswith("day/")]


def test_a_sheet_of_the_evening_holds_the_next_mornings_round(tmp_path: Path) -> None:
    """The room is fed at 07:30 and 18:30: at 17:00 one round is left, at 06:00 two are."""
    room = quick_room(tmp_path, horizon_days="10")
    evening = _print(room, "2027-01-05T17:00")
    assert "feed/2027-01-05T18:30" in evening.tasks
    assert "feed/2027-01-06T07:30" in evening.tasks
    assert not any("initial each cell" in text for text in evening.other)  # it is no week
    assert "feed/2027-01-07T07:30" not in _print(room, "2027-01-06T06:00").tasks
    told = at(room, "2027-01-06T06:30", "today", "--all-day").stdout
    assert "Nothing was told" not in told


def test_a_sheet_of_one_round_a_day_reaches_the_next_day_in_the_afternoon(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10", rounds='["18:00"]')
    assert "feed/2027-01-06T18:00" not in _print(room, "2027-01-05T08:00").tasks
    assert "feed/2027-01-06T18:00" in _print(room, "2027-01-05T13:00").tasks


def test_a_sheet_of_an_evening_that_changed_is_printed_again_as_one(tmp_path: Path) -> None:
    room = quick_room(tmp_path, horizon_days="10")
    _print(room, "2027-01-05T17:00")
    jotted(room, "2027-01-05T17:05", "failed", "bottle 1", "--sure")
    said = " ".join(at(room, "2027-01-05T17:10", "today").stdout.split())
    assert "no longer holds" in said
    assert "livefood sheet --out sheet.html" in said


def test_a_count_has_a_blank_for_its_number(tmp_path: Path) -> None:
    """Of each brood that is to be counted one: its name, and a line for the pen."""
    room = quick_room(tmp_path, horizon_days="10")
    sheet = _print(room, "2027-01-05T06:00", "--week")
    counts = [task for task in sheet.tasks if task.startswith("count/")]
    assert counts
    pens = sum(tag == "span" and found.get("class") == "pen" for tag, found in sheet.tags)
    assert pens == len(counts)
