"""Rows of a spreadsheet as entries, whichever way they are written."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from cultures.errors import BadFileError, FileProblemError, RangeError
from cultures.journal.entries import Entry
from cultures.journal.spreadsheet import new_entries, read_import

_AT = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)


def _read(folder: Path, *rows: str, dates: str = "iso", now: datetime | None = None) -> list[Entry]:
    path = folder / "table.csv"
    path.write_text("\n".join(rows) + "\n", "utf-8")
    return read_import(path, UTC, dates=dates, now=now)


@pytest.mark.parametrize(
    ("text", "dates"),
    [
        ("2027-01-05 07:30", "iso"), ("2027-01-05T07:30", "iso"), ("2027/01/05 07:30", "iso"),
        ("2027.01.05 07:30:00", "iso"), ("5 Jan 2027 7:30", "iso"), ("2027/01/05 07:30 AM", "iso"),
        ("05/01/2027 07:30", "dmy"), ("5.1.2027 7:30", "dmy"), ("05-01-2027 7:30 AM", "dmy"),
        ("01/05/2027 07:30", "mdy"), ("1.5.2027 07:30:00", "mdy"), ("01-05-2027 7:30 am", "mdy"),
    ],
)  # fmt: skip
def test_a_time_in_each_style(tmp_path: Path, text: str, dates: str) -> None:
    (entry,) = _read(tmp_path, "when,event,subject", f"{text},discard,MW-1", dates=dates)
    assert entry.when == _AT
    assert entry.line == 2


@pytest.mark.parametrize(("dates", "example"), [("iso", "2027-01-31 07:30"),
                                                ("dmy", "31/01/2027 07:30"),
                                                ("mdy", "01/31/2027 07:30")])  # fmt: skip
def test_a_time_in_no_style_is_told_with_an_example(
    tmp_path: Path, dates: str, example: str
) -> None:
    with pytest.raises(BadFileError, match=f"'13-13-13' is not a time like {example}"):
        _read(tmp_path, "when,event,subject", "13-13-13,discard,MW-1", dates=dates)
    with pytest.raises(BadFileError, match="has no time"):
        _read(tmp_path, "when,event,subject", ",discard,MW-1", dates=dates)


def test_date_and_time_may_stand_apart_and_the_offset_counts(tmp_path: Path) -> None:
    rows = ("date,time,event,subject", "2027-01-05,07:30,discard,MW-1", "2027-01-05,,discard,MW-2")
    first, second = _read(tmp_path, *rows)
    assert first.when == _AT
    assert second.when == datetime(2027, 1, 5, tzinfo=UTC)
    (far,) = _read(tmp_path, "when,event,subject", "2027-01-05T08:30+01:00,discard,MW-1")
    assert far.when == _AT


@pytest.mark.parametrize(
    ("amount", "unit", "found"),
    [
        ("2", "g", (2.0, "g")), ("2 g", "", (2.0, "g")), ("2", "", (2.0, "g")),
        ("1 oz", "", (28.349523125, "g")), ("0.5", "lb", (226.796185, "g")),
        ("2 kg", "", (2000.0, "g")), ("+2.5g", "", (2.5, "g")),
    ],
)  # fmt: skip
def test_an_amount_in_any_unit_of_its_dimension(
    tmp_path: Path, amount: str, unit: str, found: tuple[float, str]
) -> None:
    """An ounce is 28.349523125 g, a pound sixteen (NIST SP 811)."""
    (entry,) = _read(tmp_path, "when,event,subject,amount,unit",
                     f"2027-01-05,set,bottle 1,{amount},{unit}")  # fmt: skip
    assert entry.amount == pytest.approx(found[0])
    assert entry.unit == found[1]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("2027-01-05,,MW-1,", "has no event"), ("2027-01-05,undo,7,", "'undo' cannot be imported"),
        ("2027-01-05,learn,all,", "'learn' cannot be imported"),
        ("2027-01-05,spilt,MW-1,", "there is no event 'spilt'; did you mean 'split'?"),
        ("2027-01-05,set,bottle 1,g 2", "the amount 'g 2' is not a number"),
        ("2027-01-05,set,bottle 1,2.5.5", "the amount '2.5.5' is not a number"),
        ("2027-01-05,set,bottle 1,2 mL", "does not fit; use g"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_row_is_told_with_its_number(
    tmp_path: Path, row: str, said: str
) -> None:
    with pytest.raises(BadFileError, match=r"table\.csv:3: ") as caught:
        _read(tmp_path, "when,event,subject,amount", "2027-01-05,discard,MW-1,", row)
    assert said in str(caught.value)


def test_a_table_needs_its_columns_and_rows(tmp_path: Path) -> None:
    with pytest.raises(BadFileError) as caught:
        _read(tmp_path, "time,amuont", "x,1")
    for said in ("did you mean 'amount'?", "a column 'when' (or 'date') is missing",
                 "a column 'event' is missing", "a column 'subject' is missing"):  # fmt: skip
        assert said in str(caught.value)
    with pytest.raises(BadFileError, match="is empty"):
        _read(tmp_path)
    with pytest.raises(FileProblemError, match="there is no such file"):
        read_import(tmp_path / "none.csv", UTC)
    assert _read(tmp_path, "date,event,subject,", "2027-01-05,free swimming,x,ignored")[
        0
    ].event == ("free_swimming")


def test_nothing_may_lie_ahead_and_now_is_not_ahead(tmp_path: Path) -> None:
    rows = ("when,event,subject", "2027-01-05 07:30,discard,MW-1")
    assert len(_read(tmp_path, *rows, now=_AT)) == 1
    with pytest.raises(BadFileError, match="2027-01-05 07:30 lies in the future"):
        _read(tmp_path, *rows, now=_AT.replace(minute=29))


def test_names_are_those_that_the_room_has_or_a_mistake_of_the_row(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text("when,event,subject\n2027-01-05,discard,mw-1\n2027-01-05,discard,Q\n", "utf-8")

    def meant(entry: Entry) -> Entry:
        if entry.subject == "Q":
            raise RangeError("there is no Q")
        return entry._replace(subject=entry.subject.upper())

    with pytest.raises(BadFileError, match=r"1 mistake:\n.*:3: there is no Q"):
        read_import(path, UTC, meant=meant)
    path.write_text("when,event,subject\n2027-01-05,discard,mw-1\n", "utf-8")
    assert read_import(path, UTC, meant=meant)[0].subject == "MW-1"


def test_what_the_journal_holds_is_not_taken_twice(tmp_path: Path) -> None:
    rows = ("when,event,subject,amount", "2027-01-05,set,a,2", "2027-01-05,set,a,3")
    entries = _read(tmp_path, *rows)
    assert new_entries(entries, [entries[0]._replace(line=99)]) == entries[1:]
    assert new_entries(entries, [entries[0]._replace(amount=2.5)]) == entries
    assert new_entries(entries, ()) == entries
