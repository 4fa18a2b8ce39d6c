"""What is on order is not asked for, until it should have come."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest

from cli.journal.command import command
from tests.cli.invented import at, jotted, quick_room


def _room(folder: Path, cysts: str = "8", *, days: int = 7) -> Path:
    """The demo room with little in its tin: it asks for more within days."""
    path = quick_room(folder, horizon_days=str(days))
    text = path.read_text("utf-8")
    path.write_text(text.replace("\ngrams = 30\n", f"\ngrams = {cysts}\n"), "utf-8")
    return path


def _today(room: Path, clock: str) -> str:
    return re.sub(r"\s+", " ", at(room, clock, "today").stdout)


def _buys(room: Path, clock: str) -> list[float]:
    plan = json.loads(at(room, clock, "plan", "--json").stdout)
    return [t["amounts"]["cysts_g"] for t in plan["tasks"] if t["what"] == "buy"]


def test_what_is_ordered_is_not_to_be_bought(tmp_path: Path) -> None:
    room = _room(tmp_path, days=28)
    assert "buy 75 g of cysts" in _today(room, "2027-01-05T07:00")
    said = at(room, "2027-01-05T08:00", "journal", "ordered", "cysts", "200", "g",
              "--arrives", "2027-01-07").stdout  # fmt: skip
    assert "ordered cysts 200 g, to come on Thu 7 Jan" in said
    named = at(room, "2027-01-05T08:01", "journal", "ordered", "salt", "1 kg", "--arrives", "9 Jan")
    assert "ordered salt 1,000 g, to come on Sat 9 Jan" in named.stdout
    assert "Once it is there: livefood journal bought cysts 200 g." in said
    for clock in ("2027-01-05T18:00", "2027-01-06T07:00", "2027-01-07T18:00"):
        assert "buy brine shrimp" not in _today(room, clock)
        assert not re.search(r"buy \d+ g of cysts", _today(room, clock))
        assert "journal bought" not in at(room, clock, "journal", "due").stdout
        assert _buys(room, clock) == []


def test_once_it_is_overdue_for_days_it_is_to_be_bought_and_due_from_today(tmp_path: Path) -> None:
    """A parcel may be three days late before anybody buys the same again."""
    room = _room(tmp_path)
    _today(room, "2027-01-05T07:00")
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "200", "--arrives", "2027-01-06")
    _today(room, "2027-01-06T18:00")
    assert _buys(room, "2027-01-06T23:00") == []
    assert _buys(room, "2027-01-09T23:00") == []
    late = json.loads(at(room, "2027-01-10T07:00", "plan", "--json").stdout)["tasks"]
    (buy,) = [t for t in late if t["what"] == "buy"]
    assert buy["at"] >= "2027-01-10"
    assert "due" not in buy
    jotted(room, "2027-01-10T08:00", "bought", "cysts", "200", "g")
    assert _buys(room, "2027-01-10T08:01") == []


def test_what_an_order_does_not_cover_is_to_be_bought(tmp_path: Path) -> None:
    """With nothing on order the plan of four weeks asks for as much as with 1 g on order, which
    lasts for less than a day.
    """
    room = _room(tmp_path, days=28)
    before = _buys(room, "2027-01-05T07:00")
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "1", "g")
    assert _buys(room, "2027-01-05T08:00") == before != []


def test_without_a_day_it_quiets_as_well(tmp_path: Path) -> None:
    room = _room(tmp_path)
    said = at(room, "2027-01-05T08:00", "journal", "ordered", "200", "g", "cysts").stdout
    assert "The plan counts on it once it is noted as bought." in re.sub(r"\s+", " ", said)
    assert _buys(room, "2027-01-05T08:00") == []
    jotted(room, "2027-01-05T09:00", "undo")
    assert _buys(room, "2027-01-05T09:00") != []


def test_a_purchase_says_what_is_still_on_order(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "30", "--arrives", "2027-01-07")
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
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "200", "--arrives", "2027-01-07")
    said = at(room, "2027-01-05T09:00", "journal", "ordered", "cysts", "0").stdout
    assert "ordered cysts, nothing is on order any more" in said
    assert _buys(room, "2027-01-05T09:00") != []


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        (["cysts", "0"], "nothing is on order of cysts"),
        (["cysts"], "say how much"),
        (["tea", "5 g"], "'tea' is not a stock"),
        (["microworm", "30 g"], "livefood add culture MW-3 kind=microworm planned=2027-01-06"),
        (["cysts", "50 g", "--arrives", "2027-01-04"], "2027-01-04 is over; 'journal bought'"),
        (["cysts", "0", "--arrives", "2027-01-09"], "nothing comes on a day"),
        (["cysts", "50 g", "--arrives", "soon"], "'soon'"),
    ],
)
def test_what_cannot_be_ordered_is_refused(tmp_path: Path, words: list[str], wrong: str) -> None:
    room = _room(tmp_path)
    if words[-1] == "2027-01-09":
        jotted(room, "2027-01-05T07:00", "ordered", "cysts", "5 g")
    kept = (tmp_path / "journal.csv").read_bytes() if (tmp_path / "journal.csv").exists() else b""
    refused = at(room, "2027-01-05T08:00", "journal", "ordered", *words, code=2)
    assert wrong in re.sub(r"\s+", " ", refused.output)
    now = (tmp_path / "journal.csv").read_bytes() if (tmp_path / "journal.csv").exists() else b""
    assert now == kept


@pytest.mark.parametrize("kind", ["microworm", "vinegar_eel", "grindal_worm"])
def test_the_line_offered_for_a_starter_on_its_way_works_as_it_is(
    tmp_path: Path, kind: str
) -> None:
    """Of a kind that is there and of others: what is refused next is no advice."""
    room = _room(tmp_path)
    words = ["ordered", kind, "30 g", "--arrives", "2027-01-08"]
    refused = at(room, "2027-01-05T08:00", "journal", *words, code=2)
    said = re.sub(r"\s+", " ", refused.output)
    line = re.search(r"livefood (add culture .*)$", said.strip().replace("\\ ", ""))
    assert line is not None, said
    assert "planned=2027-01-08" in line[1]
    written = at(room, "2027-01-05T08:01", *shlex.split(line[1]), "--yes")
    assert "Wrote " in written.output


def test_a_culture_without_its_sizes_is_told_what_is_usual(tmp_path: Path) -> None:
    room = _room(tmp_path)
    refused = at(room, "2027-01-05T08:00", "add", "culture", "GW-7", "kind=grindal_worm",
                 "started=2027-01-01", code=2)  # fmt: skip
    said = re.sub(r"\s+", " ", refused.output)
    assert "medium_g: is missing (in g; 150 is usual)" in said
    assert "starter_g: is missing (in g; 15 is usual)" in said
    assert "a usual box has 180" in said


def test_the_same_order_twice_is_asked_back(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "salt", "1 kg")
    refused = at(room, "2027-01-05T08:05", "journal", "ordered", "salt", "1 kg", code=2)
    assert "a second time would count twice" in re.sub(r"\s+", " ", refused.output)
    jotted(room, "2027-01-05T08:05", "ordered", "salt", "1 kg", "--sure")


def test_an_order_comes_from_a_spreadsheet_too(tmp_path: Path) -> None:
    room, sheet = _room(tmp_path), tmp_path / "orders.csv"
    sheet.write_text(
        "when,event,subject,other,amount,unit\n"
        "2027-01-05 07:30,ordered,cysts,2027-01-07,200,g\n", "utf-8"
    )  # fmt: skip
    jotted(room, "2027-01-05T08:00", "import", str(sheet))
    assert _buys(room, "2027-01-05T08:00") == []
    shown = at(room, "2027-01-05T08:00", "journal", "show").stdout
    assert "ordered cysts 200 g, to come on Thu 7 Jan" in shown


def test_the_word_that_is_typed_for_it_is_named(tmp_path: Path) -> None:
    refused = at(_room(tmp_path), "2027-01-05T08:00", "journal", "order", "cysts", "5", code=2)
    assert "did you mean 'ordered'?" in refused.output
    assert "ordered" in command.commands


def test_hatches_that_are_not_set_for_want_of_a_late_parcel_say_so(tmp_path: Path) -> None:
    """A look after the first one, and a note of something else, do not become the reason."""
    room = _room(tmp_path, "14", days=14)
    _today(room, "2027-01-05T05:00")
    at(room, "2027-01-05T06:00", "journal", "ordered", "cysts", "200", "--arrives", "2027-01-07")
    at(room, "2027-01-06T07:00", "calendar", "--out", str(tmp_path / "food.ics"))
    _today(room, "2027-01-07T07:00")
    for clock in ("2027-01-08T06:50", "2027-01-08T06:57"):
        said = _today(room, clock)
        assert "ot to be set any more: bottle" in said
        assert "(no arrival of brine shrimp cysts is noted)" in said
        at(room, "2027-01-08T06:55", "journal", "count", "acara 5", "60", "--sure")


def test_it_should_arrive_on_its_day_and_is_asked_for_after_it(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "50", "--arrives", "2027-01-07")
    assert "on order: brine shrimp cysts, 50 g to come on Thu 7 Jan" in _today(
        room, "2027-01-06T07:00"
    )
    on_its_day = _today(room, "2027-01-07T07:00")
    assert "07:30 50 g of brine shrimp cysts should arrive: note what comes" in on_its_day
    assert "Once they are there: livefood journal bought cysts 50 g." in on_its_day
    due = re.sub(r"\s+", " ", at(room, "2027-01-07T07:00", "journal", "due").stdout)
    assert "should arrive: note what comes: livefood journal bought cysts 50 g" in due
    late = _today(room, "2027-01-08T07:00")
    assert "50 g of brine shrimp cysts, expected by Thu 7 Jan, are not noted as arrived" in late
    assert "If they come later: livefood journal ordered cysts 50 g --arrives DAY." in late
    assert "on order: brine shrimp cysts" not in late
    (task,) = [t for t in json.loads(at(room, "2027-01-08T07:00", "plan", "--json").stdout)["tasks"]
               if t["what"] == "arrival"]  # fmt: skip
    assert (task["id"], task["due"], task["amounts"]) == (
        "arrival/cysts/2", "2027-01-07", {"cysts_g": 50},
    )  # fmt: skip
    jotted(room, "2027-01-08T07:10", "bought", "cysts", "50", "g")
    for clock in ("2027-01-08T07:11", "2027-01-08T18:00", "2027-01-09T07:00"):
        assert "expected by" not in _today(room, clock)
        assert "should arrive" not in _today(room, clock)


def test_an_overdue_order_that_is_noted_again_comes_on_another_day(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "50", "--arrives", "2027-01-06")
    assert "expected by Wed 6 Jan" in _today(room, "2027-01-07T07:00")
    jotted(room, "2027-01-07T07:05", "ordered", "cysts", "50", "--arrives", "2027-01-11")
    again = _today(room, "2027-01-07T07:06")
    assert "expected by" not in again
    assert "on order: brine shrimp cysts, 50 g to come on Mon 11 Jan" in again


def test_the_plan_lists_what_is_on_order_and_json_has_it(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "50", "--arrives", "2027-01-09")
    jotted(room, "2027-01-05T08:01", "ordered", "cysts", "20", "--arrives", "2027-01-07")
    jotted(room, "2027-01-05T08:02", "ordered", "cysts", "9")
    shown = re.sub(r"\s+", " ", at(room, "2027-01-05T09:00", "plan").stdout)
    assert (
        "ON ORDER - brine shrimp cysts, 50 g to come on Sat 9 Jan, 20 g to come on Thu 7 Jan and"
        " 9 g ordered on Tue 5 Jan"
    ) in shown
    supplies = json.loads(at(room, "2027-01-08T09:00", "plan", "--json").stdout)["supplies"]
    (cysts,) = [each for each in supplies if each["item"] == "cysts"]
    assert (cysts["on_order_g"], cysts["arrives"], cysts["overdue_g"]) == (59, "2027-01-09", 20)


def test_shortfalls_say_what_is_on_its_way(tmp_path: Path) -> None:
    """Of an empty tin, five days before a parcel."""
    room = _room(tmp_path, "0", days=28)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "50", "--arrives", "2027-01-10")
    found = json.loads(at(room, "2027-01-05T09:00", "shortfalls", "--json").stdout)
    lacks = {s["cause"] for s in found if "cysts" in s["cause"]}
    now = "there are no cysts for a hatch; 50 g are to come on Sun 10 Jan"
    assert now in lacks
    # Once they are used up, weeks later, they are on their way no more.
    assert all(cause.startswith("the cysts run out on ") for cause in lacks - {now})
    assert not any("come" in cause for cause in lacks - {now})


def test_a_helper_is_told_of_a_parcel(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "50", "--arrives", "2027-01-09")
    days = ("--helper", "--from", "2027-01-08", "--to", "2027-01-10")
    at(room, "2027-01-05T09:00", "sheet", *days, "--out", str(tmp_path / "helper.html"))
    page = re.sub(r"<[^>]*>|\s+", " ", (tmp_path / "helper.html").read_text("utf-8"))
    said = re.sub(r"\s+", " ", page)
    assert "A parcel may come on Sat 9 Jan : brine shrimp cysts . Take it in, leave it" in said


def test_it_stands_on_a_calendar_on_its_day(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "50", "--arrives", "2027-01-09")
    at(room, "2027-01-05T09:00", "calendar", "--out", str(tmp_path / "room.ics"))
    text = (tmp_path / "room.ics").read_text("utf-8").replace("\r\n ", "")
    (event,) = [e for e in text.split("BEGIN:VEVENT") if "Should arrive" in e]
    assert "DTSTART:20270109T073000Z" in event
    assert "livefood journal bought cysts 50 g" in event
    assert "BEGIN:VALARM" not in event


@pytest.mark.parametrize(
    ("said", "day"), [("thu", "Thu 7 Jan"), ("in 3 days", "Fri 8 Jan"), ("9 Jan", "Sat 9 Jan")]
)
def test_the_day_is_said_as_people_say_it(tmp_path: Path, said: str, day: str) -> None:
    """It is Tuesday, the fifth."""
    room = _room(tmp_path)
    words = ["ordered", "cysts", "50", "--arrives", said]
    assert f"to come on {day}" in at(room, "2027-01-05T08:00", "journal", *words).stdout


def test_a_purchase_that_is_taken_back_gives_the_order_again(tmp_path: Path) -> None:
    room = _room(tmp_path)
    jotted(room, "2027-01-05T08:00", "ordered", "cysts", "50", "--arrives", "2027-01-06")
    jotted(room, "2027-01-06T08:00", "bought", "cysts", "50")
    assert "on order" not in _today(room, "2027-01-06T08:01")
    jotted(room, "2027-01-06T08:02", "undo")
    assert "should arrive" in _today(room, "2027-01-06T08:03")
    assert "expected by Wed 6 Jan" in _today(room, "2027-01-07T07:00")
