"""What is on order is not asked for, until it should have come."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from cli.journal.command import command
from tests.cli.invented import at, room_file


def _room(folder: Path, cysts: str = "8") -> Path:
    """The demo room with little in its tin."""
    path = room_file(folder)
    text = path.read_text("utf-8")
    path.write_text(text.replace("\ngrams = 30\n", f"\ngrams = {cysts}\n"), "utf-8")
    return path


def _today(room: Path, clock: str) -> str:
    return re.sub(r"\s+", " ", at(room, clock, "today").stdout)


def _buys(room: Path, clock: str) -> list[float]:
    plan = json.loads(at(room, clock, "plan", "--json").stdout)
    return [t["amounts"]["cysts_g"] for t in plan["tasks"] if t["what"] == "buy"]


def test_what_is_ordered_is_not_to_be_bought(tmp_path: Path) -> None:
    room = _room(tmp_path)
    assert "buy 75 g of cysts" in _today(room, "2027-01-05T07:00")
    said = at(room, "2027-01-05T08:00", "journal", "ordered", "cysts", "200", "g",
              "--arrives", "2027-01-07").stdout  # fmt: skip
    assert "ordered cysts 200 g, to come on Thu 7 Jan" in said
    assert "Once it is there: livefood journal bought cysts 200 g." in said
    for clock in ("2027-01-05T18:00", "2027-01-06T07:00", "2027-01-07T18:00"):
        assert "buy brine shrimp" not in _today(room, clock)
        assert not re.search(r"buy \d+ g of cysts", _today(room, clock))
        assert "journal bought" not in at(room, clock, "journal", "due").stdout
        assert _buys(room, clock) == []


def test_once_it_is_overdue_it_is_to_be_bought_and_due_from_today(tmp_path: Path) -> None:
    room = _room(tmp_path)
    _today(room, "2027-01-05T07:00")
    at(room, "2027-01-05T08:00", "journal", "ordered", "cysts", "200", "--arrives", "2027-01-06")
    _today(room, "2027-01-06T18:00")
    assert _buys(room, "2027-01-06T23:00") == []
    late = json.loads(at(room, "2027-01-07T07:00", "plan", "--json").stdout)["tasks"]
    (buy,) = [t for t in late if t["what"] == "buy"]
    assert buy["at"] >= "2027-01-07"
    assert "due" not in buy
    at(room, "2027-01-07T08:00", "journal", "bought", "cysts", "200", "g")
    assert _buys(room, "2027-01-07T08:01") == []


def test_what_an_order_does_not_cover_is_to_be_bought(tmp_path: Path) -> None:
    """With nothing on order the plan of four weeks asks for as much as with 1 g on order, which
    lasts for less than a day.
    """
    room = _room(tmp_path)
    before = _buys(room, "2027-01-05T07:00")
    at(room, "2027-01-05T08:00", "journal", "ordered", "cysts", "1", "g")
    assert _buys(room, "2027-01-05T08:00") == before != []


def test_without_a_day_it_quiets_as_well(tmp_path: Path) -> None:
    room = _room(tmp_path)
    said = at(room, "2027-01-05T08:00", "journal", "ordered", "200", "g", "cysts").stdout
    assert "The plan counts on it once it is noted as bought." in re.sub(r"\s+", " ", said)
    assert _buys(room, "2027-01-05T08:00") == []
    at(room, "2027-01-05T09:00", "journal", "undo")
    assert _buys(room, "2027-01-05T09:00") != []


def test_a_purchase_says_what_is_still_on_order(tmp_path: Path) -> None:
    room = _room(tmp_path)
    at(room, "2027-01-05T08:00", "journal", "ordered", "cysts", "30", "--arrives", "2027-01-07")
    more = at(room, "2027-01-05T08:01", "journal", "ordered", "cysts", "20").stdout
    both = "In all on order: 30 g to come on Thu 7 Jan and 20 g ordered on Tue 5 Jan."
    assert both in re.sub(r"\s+", " ", more)
    some = at(room, "2027-01-06T08:00", "journal", "bought", "cysts", "35").stdout
    assert "Still on order: 15 g ordered on Tue 5 Jan." in some
    rest = at(room, "2027-01-06T09:00", "journal", "bought", "cysts", "15").stdout
    assert "Nothing more of it is on order." in rest
    none = at(room, "2027-01-06T10:00", "journal", "bought", "cysts", "16").stdout
    assert "on order" not in none


def test_a_cancelled_order_is_to_be_bought_again(tmp_path: Path) -> None:
    room = _room(tmp_path)
    at(room, "2027-01-05T08:00", "journal", "ordered", "cysts", "200", "--arrives", "2027-01-07")
    said = at(room, "2027-01-05T09:00", "journal", "ordered", "cysts", "0").stdout
    assert "ordered cysts, nothing is on order any more" in said
    assert _buys(room, "2027-01-05T09:00") != []


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        (["cysts", "0"], "nothing is on order of cysts"),
        (["cysts"], "say how much"),
        (["tea", "5 g"], "'tea' is not a stock"),
        (["microworm", "30 g"], "livefood add culture NAME kind=microworm planned=DAY"),
        (["cysts", "50 g", "--arrives", "2027-01-04"], "2027-01-04 is over; 'journal bought'"),
        (["cysts", "0", "--arrives", "2027-01-09"], "nothing comes on a day"),
        (["cysts", "50 g", "--arrives", "soon"], "'soon' is not a day"),
    ],
)
def test_what_cannot_be_ordered_is_refused(tmp_path: Path, words: list[str], wrong: str) -> None:
    room = _room(tmp_path)
    if words[-1] == "2027-01-09":
        at(room, "2027-01-05T07:00", "journal", "ordered", "cysts", "5 g")
    kept = (tmp_path / "journal.csv").read_bytes() if (tmp_path / "journal.csv").exists() else b""
    refused = at(room, "2027-01-05T08:00", "journal", "ordered", *words, code=2)
    assert wrong in re.sub(r"\s+", " ", refused.output)
    now = (tmp_path / "journal.csv").read_bytes() if (tmp_path / "journal.csv").exists() else b""
    assert now == kept


def test_the_same_order_twice_is_asked_back(tmp_path: Path) -> None:
    room = _room(tmp_path)
    at(room, "2027-01-05T08:00", "journal", "ordered", "salt", "1 kg")
    refused = at(room, "2027-01-05T08:05", "journal", "ordered", "salt", "1 kg", code=2)
    assert "a second time would count twice" in re.sub(r"\s+", " ", refused.output)
    at(room, "2027-01-05T08:05", "journal", "ordered", "salt", "1 kg", "--sure")


def test_an_order_comes_from_a_spreadsheet_too(tmp_path: Path) -> None:
    room, sheet = _room(tmp_path), tmp_path / "orders.csv"
    sheet.write_text(
        "when,event,subject,other,amount,unit\n"
        "2027-01-05 07:30,ordered,cysts,2027-01-07,200,g\n", "utf-8"
    )  # fmt: skip
    at(room, "2027-01-05T08:00", "journal", "import", str(sheet))
    assert _buys(room, "2027-01-05T08:00") == []
    shown = at(room, "2027-01-05T08:00", "journal", "show").stdout
    assert "ordered cysts 200 g, to come on Thu 7 Jan" in shown


def test_the_word_that_is_typed_for_it_is_named(tmp_path: Path) -> None:
    refused = at(_room(tmp_path), "2027-01-05T08:00", "journal", "order", "cysts", "5", code=2)
    assert "did you mean 'ordered'?" in refused.output
    assert "ordered" in command.commands
