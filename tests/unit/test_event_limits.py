"""What a line of the journal may say, to the very limit."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from cultures.errors import BadFileError, RangeError, UnitError
from cultures.journal.entries import entry_of, read_journal, row_of
from cultures.journal.events import (
    EVENTS,
    MOST,
    Entry,
    begins,
    chance_of,
    check_entry,
    day_ahead,
    named,
    usual_unit,
)
from cultures.journal.file import HEADER

_AT = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)
#: Events that say nothing without their number, their ``other`` or their words (docs/journal.md).
_COUNTED = {"set", "hatched", "count", "length", "temperature", "bought", "ordered", "used"}
_NAMED = {"split", "start", "skip", "leftover", "planned", "move", "merge", "learn", "undo", "away"}
_OTHER = {
    "leftover": "some",
    "planned": "A4 egg_scatterer on 2027-02-01",
    "learn": "off",
    "away": "2027-02-05T18:30 to 2027-02-07",
}


def _entry(event: str, amount: float | None = None, unit: str = "", **more: str) -> Entry:
    subject = "7" if event == "undo" else "a thing"
    other = more.pop("other", _OTHER.get(event, "another" if event in _NAMED else ""))
    return Entry(_AT, event, subject, other, amount, unit, more.pop("note", "words"))


def _allowed(entry: Entry) -> bool:
    try:
        check_entry(entry)
    except RangeError:
        return False
    return True


@pytest.mark.parametrize("event", EVENTS)
def test_an_event_needs_its_number_and_its_other(event: str) -> None:
    units = EVENTS[event].units
    assert _allowed(_entry(event)) == (event not in _COUNTED)
    assert _allowed(_entry(event, 1.0, units[0] if units else "")) == bool(units)
    empty = _entry(event, 1.0 if event in _COUNTED else None, units[0] if units else "", other="")
    empty = empty._replace(unit=units[0] if event in _COUNTED else "")
    assert _allowed(empty) == (event not in _NAMED)
    if event in _NAMED:
        with pytest.raises(RangeError, match=f"{event} needs .* in the column 'other'"):
            check_entry(empty)
    assert not _allowed(_entry(event, 1.0, "pounds"))
    silent = _entry(event, 1.0 if event in _COUNTED else None, "", note=" ")
    silent = silent._replace(unit=units[0] if event in _COUNTED else "")
    assert _allowed(silent) == (event != "note")


@pytest.mark.parametrize(
    ("unit", "most"),
    [
        ("swipes", 100_000), ("draws", 100_000), ("mL", 1_000_000),  # a cubic metre
        ("mg", 100_000_000), ("g", 1_000_000),  # a hundred kilograms of worms, a tonne of food
        ("nauplii", 1e12), ("worms", 1e12), ("fry", 10_000_000), ("mm", 1000), ("C", 60),
    ],
)  # fmt: skip
def test_no_amount_is_beyond_the_most_of_its_unit(unit: str, most: float) -> None:
    assert MOST[unit] == most
    for event, spec in EVENTS.items():
        if unit in spec.units:
            assert _allowed(_entry(event, most, unit)), event
            assert not _allowed(_entry(event, most * (1 + 1e-9), unit)), event


@pytest.mark.parametrize(
    ("event", "least"), [("set", 0.0), ("length", 0.5), ("temperature", -20.0), ("count", 0.0)]
)
def test_an_amount_is_no_less_than_can_be(event: str, least: float) -> None:
    unit = EVENTS[event].units[0]
    assert _allowed(_entry(event, least, unit))
    assert not _allowed(_entry(event, least - 1e-9, unit))
    assert {name: s.low for name, s in EVENTS.items() if s.low} == {
        "length": 0.5, "temperature": -20.0
    }  # fmt: skip


def test_a_unit_may_be_left_out_where_several_could_be_meant_alone() -> None:
    """Which of them is told by the subject then; with one unit alone, reading fills it in."""
    assert _allowed(_entry("count", 5.0))
    assert not _allowed(_entry("set", 5.0))
    assert not _allowed(_entry("count", 1e9))  # of the first of its units, fry
    assert usual_unit(EVENTS["set"], 5.0, "") == (5.0, "g")
    assert usual_unit(EVENTS["count"], 5.0, "") == (5.0, "")
    assert usual_unit(EVENTS["temperature"], 50.0, "°F") == (10.0, "C")
    assert usual_unit(EVENTS["temperature"], 50.0, "f") == (10.0, "C")
    assert usual_unit(EVENTS["temperature"], 50.0, "°C") == (50.0, "C")
    assert usual_unit(EVENTS["harvest"], 2.0, "Swipe") == (2.0, "swipes")


@pytest.mark.parametrize(
    ("year", "good"), [(1989, False), (1990, True), (2199, True), (2200, False)]
)
def test_a_journal_knows_the_years_from_1990_to_2199(year: int, good: bool) -> None:
    entry = _entry("note")._replace(when=datetime(year, 6, 1, tzinfo=UTC))
    assert _allowed(entry) == good


def test_what_is_planned_lies_three_years_ahead_at_most() -> None:
    for event in ("planned", "wetted"):
        for day, good in (
            ("1989-12-31", False), ("1990-01-01", True), ("2030-12-31", True),
            ("2031-01-01", False), ("2027-02-30", False),
        ):  # fmt: skip
            other = f"A4 egg_scatterer on {day}" if event == "planned" else day
            assert _allowed(_entry(event, other=other)) == good, (event, day)
    assert _allowed(_entry("wetted", other=""))
    assert day_ahead(_entry("wetted", other="2027-02-01")) == date(2027, 2, 1)


def test_the_chance_of_a_planned_spawning_is_a_share() -> None:
    other = "A4 egg_scatterer on 2027-02-01"
    assert chance_of(_entry("planned", other=other)) is None
    assert chance_of(_entry("planned", other=f"{other} chance 0.7")) == 0.7
    assert chance_of(_entry("planned", other=f"{other} chance 60 %")) == 0.6
    with pytest.raises(UnitError):
        chance_of(_entry("planned", other=f"{other} chance 7"))
    assert not _allowed(_entry("planned", other=f"{other} chance 7"))


@pytest.mark.parametrize("letter", ["x", "\u00e9"])
def test_a_column_is_at_most_three_hundred_letters_long(letter: str) -> None:
    """Each by itself, whatever the three hold together."""
    full, over = letter * 300, letter * 301
    entry = _entry("discard")
    for long, fine in ((full, True), (over, False)):
        for changed in (entry._replace(subject=long), entry._replace(other=long),
                        entry._replace(note=long)):  # fmt: skip
            assert _allowed(changed) is fine
    assert _allowed(Entry(_AT, "discard", full, full, note=full))
    assert not _allowed(Entry(_AT, "discard", "a", "", note="two\nlines"))
    assert not _allowed(Entry(_AT, "discard", ""))


@pytest.mark.parametrize(
    ("event", "other", "amount", "unit", "good"),
    [
        ("leftover", "much", None, "", True), ("leftover", "all", None, "", False),
        ("fed", "", None, "", True), ("fed", "dry", None, "", False),
        ("fed", "dry", 1.0, "", False), ("fed", "dry", 1.0, "g", True),
        ("learn", "on", None, "", True), ("learn", "maybe", None, "", False),
    ],
)  # fmt: skip
def test_some_events_have_words_of_their_own(
    event: str, other: str, amount: float | None, unit: str, good: bool
) -> None:
    assert _allowed(Entry(_AT, event, "a thing", other, amount, unit)) == good


@pytest.mark.parametrize(("line", "good"), [("1", True), ("0", False), ("-2", False),
                                            ("one", False)])  # fmt: skip
def test_an_undo_names_a_line(line: str, good: bool) -> None:
    assert _allowed(Entry(_AT, "undo", line, "set bottle 1")) == good


def test_what_begins_is_the_child_of_a_split_and_the_started() -> None:
    assert begins(Entry(_AT, "split", "MW-1", "MW-2")) == "MW-2"
    assert begins(Entry(_AT, "start", "MW-1", "microworm")) == "MW-1"
    assert begins(Entry(_AT, "harvest", "MW-1", "all")) == ""
    assert named(Entry(_AT, "split", " MW  1 ", "a  b"))[2:4] == ("MW 1", "a b")


@pytest.mark.parametrize(
    ("amount", "written"),
    [
        (2.0, "2"), (0.1 + 0.2, "0.30000000000000004"), (None, ""), (0.0, "0"),
        (1e12, "1000000000000"), (2.5, "2.5"),
    ],
)  # fmt: skip
def test_a_number_is_written_as_it_reads_back(amount: float | None, written: str) -> None:
    event, unit = ("hatched", "nauplii") if amount else ("fed", "g" if amount is not None else "")
    entry = Entry(_AT, event, "bottle 1", "", amount, unit)
    cells = row_of(entry)
    assert cells[4] == written
    assert entry_of(cells, UTC) == entry


def _read(folder: Path, *lines: str) -> list[int]:
    path = folder / "journal.csv"
    path.write_text("\n".join([",".join(HEADER), *lines, ""]), "utf-8")
    return [e.line for e in read_journal(path, UTC).effective()]


def test_a_lone_undo_takes_back_nothing_and_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadFileError, match="line 2 is not an entry before it"):
        _read(tmp_path, "2027-01-05T07:30,undo,2,undo 2,,,")
    with pytest.raises(BadFileError, match="line 3 is not an entry before it"):
        _read(
            tmp_path, "2027-01-05T07:30,undo,3,discard MW-1,,,", "2027-01-05T07:31,discard,MW-1,,,,"
        )


@pytest.mark.parametrize(
    ("cells", "good"),
    [
        ("discard,MW-1,,,", True), ("discard,MW-1,,,,", True), ("discard,MW-1,,,,,", True),
        ("discard,MW-1,,,,, ", True), ("discard,MW-1,,", False), ("discard,MW-1,,,,,x", False),
    ],
)  # fmt: skip
def test_a_line_has_seven_columns_of_which_the_note_may_be_left_out(
    tmp_path: Path, cells: str, good: bool
) -> None:
    """And blanks behind it, as spreadsheets leave them."""
    line = f"2027-01-05T07:30,{cells}"
    if good:
        assert _read(tmp_path, line) == [2]
    else:
        with pytest.raises(BadFileError, match="where the 7 when,event"):
            _read(tmp_path, line)
