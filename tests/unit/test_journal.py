"""The journal's file: what is read, what is refused, and what survives."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from cultures.errors import BadFileError, RangeError
from cultures.journal.entries import Entry, Journal, append, entry_of, read_journal, undo_of
from cultures.journal.events import EVENTS
from cultures.journal.file import HEADER
from cultures.journal.spreadsheet import new_entries, read_import

_ZONE = ZoneInfo("Europe/Lisbon")
_HEAD = ",".join(HEADER)
_AT = datetime(2027, 1, 5, 7, 30, tzinfo=_ZONE)


def _written(folder: Path, text: str | bytes) -> Path:
    path = folder / "journal.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_a_missing_journal_is_empty(tmp_path: Path) -> None:
    assert read_journal(tmp_path / "journal.csv", _ZONE).entries == ()


def test_what_is_appended_reads_back(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    entries = [
        Entry(_AT, "harvest", "MW-1", "all", 1.5, "swipes", 'said "enough", went home'),
        Entry(_AT, "set", "bottle 1", "", 0.1 + 0.2, "g"),
        Entry(_AT, "discard", "MW, old", "crashed"),
    ]
    append(path, entries[:1])
    append(path, entries[1:])
    read = read_journal(path, _ZONE).entries
    assert [e._replace(line=0) for e in read] == entries
    assert [e.line for e in read] == [2, 3, 4]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_what_spreadsheets_write_is_understood(
    tmp_path: Path, end: str, mark: bytes, delimiter: str
) -> None:
    rows = [HEADER, ("2027-01-05T07:30", "set", "bottle 1", "", "2.5", "g", "é")]
    text = "".join(delimiter.join(row) + end for row in rows)
    path = _written(tmp_path, mark + text.encode())
    (entry,) = read_journal(path, _ZONE).entries
    assert entry[:7] == (_AT, "set", "bottle 1", "", 2.5, "g", "é")
    append(path, [Entry(_AT, "discard", "MW-1")])
    both = read_journal(path, _ZONE).entries
    assert [e.event for e in both] == ["set", "discard"]


@pytest.mark.parametrize(
    ("line", "amount", "unit"),
    [
        ("count,acara 5,,70,,", 70, ""),
        ("set,bottle 1,,2,,", 2, "g"),
        ("set,bottle 1,,2,Grams,", 2, "g"),
        ("harvest,MW-1,,2,swipe,", 2, "swipes"),
        ("harvest,VE-1,,30,ml,", 30, "mL"),
        ("temperature,room,,77,°F,", 25, "C"),
        ("lost,acara 5,,3,fish,", 3, "fry"),
    ],
)
def test_units_may_be_spelled_otherwise_or_left_out(
    tmp_path: Path, line: str, amount: float, unit: str
) -> None:
    path = _written(tmp_path, f"{_HEAD}\n2027-01-05T07:30,{line}\n")
    (entry,) = read_journal(path, _ZONE).entries
    assert (entry.amount, entry.unit) == (amount, unit)


def test_words_that_a_spreadsheet_would_compute_come_back_as_they_were(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    notes = ["=1+1", "'=1+1", "-2 fry", "+", "'tis"]
    append(path, [Entry(_AT, "note", "room", note=note) for note in notes])
    assert [entry.note for entry in read_journal(path, _ZONE).entries] == notes
    cells = [line.rpartition(",")[2] for line in path.read_text().splitlines()[1:]]
    assert cells == ["'=1+1", "''=1+1", "'-2 fry", "'+", "'tis"]


def test_decimal_commas_go_with_semicolons_only(tmp_path: Path) -> None:
    row = "2027-01-05T07:30;set;bottle 1;;2,5;g;\n"
    path = _written(tmp_path, _HEAD.replace(",", ";") + "\n" + row)
    assert read_journal(path, _ZONE).entries[0].amount == 2.5
    path = _written(tmp_path, f'{_HEAD}\n2027-01-05T07:30,set,bottle 1,,"1,000",g,\n')
    with pytest.raises(BadFileError, match="'1,000' is not a number"):
        read_journal(path, _ZONE)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("2027-01-05T07:30,sett,bottle 1,,2,g,", "there is no event 'sett'; did you mean 'set'"),
        ("0207-01-05T07:30,set,bottle 1,,2,g,", "is the year right?"),
        ("soon,set,bottle 1,,2,g,", "'soon' is not a time like 2027-01-05T07:30"),
        ("2027-01-05T07:30,set,bottle 1,,two,g,", "the amount 'two' is not a number"),
        ("2027-01-05T07:30,set,bottle 1,,2,pounds,", "unit 'pounds' does not fit; use g"),
        ("2027-01-05T07:30,set,bottle 1,,,,", "set needs an amount"),
        ("2027-01-05T07:30,set,,,2,g,", "set needs what it is about"),
        ("2027-01-05T07:30,set,bottle 1,,nan,g,", "the amount 'nan' is not a number"),
        ("2027-01-05T07:30,lost,danio,,-3,fry,", "is not possible"),
        ("2027-01-05T07:30,split,MW-1,,10,g,", "needs name of the new culture"),
        ("2027-01-05T07:30,set,bottle 1", "has 3 columns"),
        ('2027-01-05T07:30,set,"bottle" 1,,2,g,', "is not CSV"),
        ("2027-01-05T07:30,undo,9,set bottle 1,,,", "line 9 is not an entry before it"),
        ("2027-01-05T07:30,undo,x,set bottle 1,,,", "undo needs the number of a line"),
    ],
)
def test_a_line_that_cannot_be_understood_is_named(tmp_path: Path, line: str, message: str) -> None:
    good = "2027-01-05T07:00,discard,MW-1,,,,"
    path = _written(tmp_path, f"{_HEAD}\n{good}\n{line}\n{good}\n")
    with pytest.raises(BadFileError, match=r"journal\.csv:3") as caught:
        read_journal(path, _ZONE)
    assert message in str(caught.value)


def test_all_bad_lines_are_named_at_once(tmp_path: Path) -> None:
    path = _written(tmp_path, f"{_HEAD}\nx\n\ny,z\n")
    with pytest.raises(BadFileError, match="2 mistakes"):
        read_journal(path, _ZONE)


def test_a_foreign_file_is_neither_read_nor_touched(tmp_path: Path) -> None:
    path = _written(tmp_path, "name,price\nbread,2\n")
    with pytest.raises(BadFileError, match="the first line must be when,event"):
        read_journal(path, _ZONE)
    with pytest.raises(BadFileError, match="the first line must be when,event"):
        append(path, [Entry(_AT, "discard", "MW-1")])
    assert path.read_text() == "name,price\nbread,2\n"


def test_bytes_that_are_no_text_are_named(tmp_path: Path) -> None:
    path = _written(tmp_path, _HEAD.encode() + b"\n2027-01-05T07:30,set,b\xff,,2,g,\n")
    with pytest.raises(BadFileError, match=r"journal\.csv:2: is not UTF-8"):
        read_journal(path, _ZONE)


@pytest.mark.parametrize(
    "torn", ["2027-01-05T07:3", "2027-01-05T07:30,set,bottle 1,,2", "\x00\x00"]
)
def test_a_torn_last_line_is_set_aside_and_reported(tmp_path: Path, torn: str) -> None:
    whole = f"{_HEAD}\n2027-01-05T07:00,discard,MW-1,,,,\n"
    path = _written(tmp_path, whole + torn)
    journal = read_journal(path, _ZONE)
    assert len(journal.entries) == 1
    assert journal.torn == torn.strip("\x00")
    told = append(path, [Entry(_AT, "discard", "MW-2")])
    assert told == torn.replace("\x00", "")
    after = read_journal(path, _ZONE)
    assert [e.subject for e in after.entries] == ["MW-1", "MW-2"]
    assert after.torn == ""
    assert (tmp_path / "journal.csv.torn").read_bytes() == torn.encode() + b"\n"


def test_a_torn_header_is_written_anew(tmp_path: Path) -> None:
    path = _written(tmp_path, "when,ev")
    assert append(path, [Entry(_AT, "discard", "MW-2")]) == "when,ev"
    assert len(read_journal(path, _ZONE).entries) == 1


def test_a_whole_last_line_without_its_end_counts(tmp_path: Path) -> None:
    path = _written(tmp_path, f"{_HEAD}\n2027-01-05T07:00,discard,MW-1,,,,")
    assert len(read_journal(path, _ZONE).entries) == 1
    append(path, [Entry(_AT, "discard", "MW-2")])
    assert [e.subject for e in read_journal(path, _ZONE).entries] == ["MW-1", "MW-2"]


def test_nothing_impossible_is_recorded(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    good = Entry(_AT, "discard", "MW-1")
    for bad in (
        Entry(_AT, "set", "bottle 1"),
        Entry(_AT, "discard", "two\nlines"),
        Entry(_AT, "discard", "MW-1", note="x" * 400),
    ):
        with pytest.raises(RangeError):
            append(path, [good, bad])
    assert not path.exists()


def test_undo_and_undo_of_an_undo(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    append(path, [Entry(_AT, "lost", "danio", "", 5, "fry")])
    first = read_journal(path, _ZONE)
    append(path, [undo_of(first.entries[0], _AT)])
    second = read_journal(path, _ZONE)
    assert second.effective() == []
    assert second.last() is None
    append(path, [undo_of(second.entries[1], _AT)])
    third = read_journal(path, _ZONE)
    assert [e.line for e in third.effective()] == [2]


def test_an_undo_of_another_line_is_refused(tmp_path: Path) -> None:
    text = f"{_HEAD}\n2027-01-05T07:00,discard,MW-1,,,,\n2027-01-05T07:01,undo,2,discard MW-2,,,\n"
    with pytest.raises(BadFileError, match="line 2 says 'discard MW-1', not 'discard MW-2'"):
        read_journal(_written(tmp_path, text), _ZONE)


def test_entries_stand_by_time(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    late = Entry(_AT.astimezone(UTC), "discard", "MW-1")
    early = Entry(datetime(2027, 1, 5, 7, 0, tzinfo=_ZONE), "discard", "MW-2")
    append(path, [late, early])
    assert [e.subject for e in read_journal(path, _ZONE).effective()] == ["MW-2", "MW-1"]


def test_every_event_stands_on_its_page() -> None:
    page = (Path(__file__).parents[2] / "docs" / "journal.md").read_text("utf-8")
    for name, spec in EVENTS.items():
        assert f"`{name}" in page, name
        assert not spec.needs_amount or spec.units, name


def test_import_takes_a_spreadsheet(tmp_path: Path) -> None:
    path = tmp_path / "march.csv"
    path.write_bytes(
        b"\xef\xbb\xbfDate;Time;Subject;Event;Amount\r\n"
        b"05/01/2027;07:30;bottle 1;Set;2,5 g\r\n;;;;\r\n"
        b"06/01/2027;7:30;MW-1;harvest;3 swipes\r\n"
        b"07/01/2027;;danio 4;free swimming;\r\n"
    )
    entries = read_import(path, _ZONE, dates="dmy")
    assert [e.event for e in entries] == ["set", "harvest", "free_swimming"]
    assert entries[0][:6] == (_AT, "set", "bottle 1", "", 2.5, "g")
    assert entries[1].unit == "swipes"
    assert new_entries(entries, entries[:1]) == entries[1:]


def test_import_names_every_bad_row(tmp_path: Path) -> None:
    path = tmp_path / "march.csv"
    path.write_text(
        "when,event,subject,amount,unit\n"
        "2027-01-05T07:30,set,bottle 1,2,g\n"
        "05/01/2027,set,bottle 1,2,g\n"
        "2027-01-05,sit,bottle 1,2,g\n"
        "2027-01-05,set,bottle 1,two,g\n"
    )
    with pytest.raises(BadFileError, match="3 mistakes") as caught:
        read_import(path, _ZONE)
    text = str(caught.value)
    assert "march.csv:3: '05/01/2027' is not a time like 2027-01-31 07:30 (see --dates)" in text
    assert "march.csv:4: there is no event 'sit'" in text
    assert "march.csv:5: the amount 'two' is not a number" in text


def test_import_refuses_the_future(tmp_path: Path) -> None:
    path = tmp_path / "march.csv"
    path.write_text("when,event,subject\n2027-01-05T08:00,discard,MW-1\n")
    assert len(read_import(path, _ZONE)) == 1
    with pytest.raises(BadFileError, match="lies in the future"):
        read_import(path, _ZONE, now=_AT)


def test_import_names_columns(tmp_path: Path) -> None:
    path = tmp_path / "march.csv"
    path.write_text("day,event,subjct\n")
    with pytest.raises(BadFileError) as caught:
        read_import(path, _ZONE)
    assert "subjct: unknown column; did you mean 'subject'?" in str(caught.value)
    assert "a column 'when' (or 'date') is missing" in str(caught.value)


def _three(folder: Path, *more: str) -> Journal:
    good = ["2027-01-05T07:00,discard,MW-1,,,,", "2027-01-05T07:01,sett,MW-2,x,,,"]
    path = _written(folder, "\n".join([_HEAD, *good, *more, ""]))
    return read_journal(path, _ZONE, strict=False)


def test_the_last_line_that_stands_is_good_or_bad(tmp_path: Path) -> None:
    """As undo would take it: by its place in the file, undone ones and undos left out."""
    journal = _three(tmp_path)
    (bad,) = journal.bad
    assert (bad.line, bad.says) == (3, "sett MW-2")
    assert journal.last() == bad
    assert [journal.at_line(n) for n in (2, 3, 4)] == [journal.entries[0], bad, None]
    undone = _three(tmp_path, "2027-01-05T07:02,undo,3,sett MW-2,,,")
    assert undone.standing_bad() == []
    assert undone.last() == undone.entries[0]
    later = _three(tmp_path, "2027-01-05T06:00,discard,MW-3,,,,")
    assert later.last() == later.at_line(4)
    assert [e.subject for e in later.effective()] == ["MW-3", "MW-1"]
    both = _three(tmp_path, "2027-01-05T07:02,undo,3,sett MW-2,,,", "2027-01-05T07:03,undo,2,"
                  "discard MW-1,,,")  # fmt: skip
    assert both.last() is None


@pytest.mark.parametrize(
    ("line", "says"),
    [("x", "x"), ("x,y", "x y"), ("x,y,z", "y z"), ("x,y,z,a,b", "y z"), ("x,,", "?")],
)
def test_a_bad_line_is_named_by_its_event_and_subject(tmp_path: Path, line: str, says: str) -> None:
    path = _written(tmp_path, f"{_HEAD}\n{line}\n")
    (bad,) = read_journal(path, _ZONE, strict=False).bad
    assert (bad.line, bad.says) == (2, says)


@pytest.mark.parametrize("half", [b"\x80", b"\xff"])
def test_every_byte_that_is_no_text_is_told_as_such(tmp_path: Path, half: bytes) -> None:
    path = _written(tmp_path, _HEAD.encode() + b"\nx" + half + b",y,z\n")
    with pytest.raises(BadFileError, match="is not UTF-8 text"):
        read_journal(path, _ZONE)


def test_a_note_of_several_lines_is_read_as_one(tmp_path: Path) -> None:
    path = _written(tmp_path, f'{_HEAD}\n2027-01-05T07:30,note,room,,,,"two\nlines"\n'
                    '2027-01-05T07:30,note,room,,,,"a  b"\n')  # fmt: skip
    assert [e.note for e in read_journal(path, _ZONE).entries] == ["two lines", "a  b"]


def test_a_line_cannot_take_itself_back_nor_be_without_a_name(tmp_path: Path) -> None:
    path = _written(tmp_path, f"{_HEAD}\n2027-01-05T07:30,undo,2,undo 2,,,\n")
    with pytest.raises(BadFileError, match="line 2 is not an entry before it"):
        read_journal(path, _ZONE)
    for blank in (" ", "\u00a0"):
        with pytest.raises(RangeError, match="needs what it is about"):
            append(tmp_path / "another.csv", [Entry(_AT, "discard", blank)])


def test_cells_of_an_entry_have_a_decimal_point_and_no_line() -> None:
    entry = entry_of(["2027-01-05T07:30", "set", "bottle 1", "", "2.5", "g", ""], _ZONE)
    assert (entry.amount, entry.line) == (2.5, 0)
    with pytest.raises(ValueError, match="'2,5' is not a number"):
        entry_of(["2027-01-05T07:30", "set", "bottle 1", "", "2,5", "g", ""], _ZONE)
