"""Selling by the commands: told once, noted, taken back, on calendar and page."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.invented import at, jotted, quick_room, room_of, run, run_json
from tests.page.room import Page

_MORNING = "2027-01-05T07:20"


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path, sell_at='"11 mm"')


def _journal(room: Path) -> list[str]:
    return (room.parent / "journal.csv").read_text("utf-8").splitlines()[1:]


def test_that_fish_can_go_is_told_once_and_answered_by_a_sale(room: Path) -> None:
    # The platies were measured at 11 mm on the day of the file: they can go at once.
    shown = at(room, _MORNING, "today").stdout
    assert "platies 9 in C4 can go: 35 fish of 11 mm" in " ".join(shown.split())
    noted = at(room, "2027-01-05T12:00", "journal", "sold", "platies", "9", "20").stdout
    assert "sold platies 9 20 fry" in noted
    later = at(room, "2027-01-06T07:20", "today").stdout
    assert "platies 9 in C4 can go" not in " ".join(later.split())
    counts = {b["name"]: b["count"] for b in run_json(room, "check", now=_MORNING)["broods"]}
    assert counts["platies 9"] == pytest.approx(35, abs=1)
    counts = {
        b["name"]: b["count"] for b in run_json(room, "check", now="2027-01-05T13:00")["broods"]
    }
    assert counts["platies 9"] == pytest.approx(15, abs=1)


def test_what_nobody_answers_is_not_told_again(room: Path) -> None:
    at(room, _MORNING, "today")
    for day in (6, 7, 8):
        shown = at(room, f"2027-01-{day:02}T07:20", "today").stdout
        assert "platies 9 in C4 can go" not in " ".join(shown.split())


def test_the_words_of_sale_and_loss_are_noted_and_taken_back(tmp_path: Path) -> None:
    room = quick_room(tmp_path)
    for words in (["sold", "acara 5", "20"], ["died", "acara 5", "3"], ["lost", "B1", "2"]):
        jotted(room, _MORNING, *words)
    assert [line.split(",")[1:6] for line in _journal(room)] == [
        ["sold", "acara 5", "", "20", "fry"],
        ["died", "acara 5", "", "3", "fry"],
        ["lost", "acara 5", "", "2", "fry"],
    ]
    before = run_json(room, "check", now="2027-01-05T08:30")["broods"]
    jotted(room, "2027-01-05T08:00", "sold", "acara 5", "60", "--all")
    assert _journal(room)[-1].endswith("sold,acara 5,all,60,fry,")
    refused = at(room, "2027-01-05T08:10", "journal", "died", "acara 5", "1", code=2).output
    assert "acara 5 was noted as sold on Tue 5 Jan 08:00 (line 5)" in refused
    jotted(room, "2027-01-05T08:20", "undo")
    assert run_json(room, "check", now="2027-01-05T08:30")["broods"] == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["sold", "acara 5"], "say how many were sold, and --all"),
        (["died", "acara 5"], "say how many died, or --all"),
        (["lost", "acara 5", "5", "--all"], "say how many were lost, or --all"),
        (["sold", "acara 5", "500"], "500 fry of acara 5 cannot be sold: about "),
        (["died", "acara 5", "500"], "500 fry of acara 5 cannot be dead: about "),
        (["sold", "acara 6", "5"], "acara 5"),
        (["sold", "MW-1", "5"], "there is no brood or tank named 'MW-1'"),
        (["died", "C44", "3"], "there is no brood or tank named 'C44'; did you mean 'C4'?"),
    ],
)
def test_what_cannot_be_sold_is_refused_and_nothing_noted(
    tmp_path: Path, words: list[str], said: str
) -> None:
    room = quick_room(tmp_path)
    output = at(room, _MORNING, "journal", *words, code=2).output
    assert said in " ".join(output.split())
    assert not (tmp_path / "journal.csv").exists()


def test_a_table_may_hold_sales(tmp_path: Path) -> None:
    room = quick_room(tmp_path)
    table = tmp_path / "sales.csv"
    table.write_text(
        "when,event,subject,other,amount,unit\n2027-01-05 10:00,sold,B1,,12,fish\n"
        "2027-01-05 11:00,died,acara 5,,1,\n",
        "utf-8",
    )
    jotted(room, "2027-01-05T12:00", "import", str(table))
    assert [line.split(",")[1:6] for line in _journal(room)] == [
        ["sold", "acara 5", "", "12", "fry"], ["died", "acara 5", "", "1", "fry"],
    ]  # fmt: skip


def test_the_day_stands_on_the_calendar_and_its_alarm_may_be_set(room: Path) -> None:
    text = f"{room.read_text('utf-8')}\n[alarms]\nsell = 45\n"
    room.write_text(text, "utf-8")
    out = room.parent / "jobs.ics"
    run(room, "calendar", "--out", str(out), "--days", "28")
    lines = out.read_bytes().decode("utf-8").replace("\r\n ", "").split("\r\n")
    where = lines.index("SUMMARY:Can go: rainbows 4 (C2)")
    event = lines[where : lines.index("END:VEVENT", where)]
    assert any("in C2 can go" in line for line in event)
    assert [line for line in event if line.startswith("TRIGGER") and line.endswith("-PT45M")]


def test_the_page_asks_how_many_were_sold(room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LIVEFOOD_NOW", _MORNING)
    page = Page(room, monkeypatch)
    assert "How many were sold or given away?" in page.get("todo")
    page.post(kind="task", task="sell/platies 9", what="done", amount="12")
    page.post(kind="event", event="sold", subject="acara 5", amount="7")
    page.post(kind="event", event="died", subject="acara 5", amount="2")
    assert [line.split(",")[1:5] for line in page.journal()] == [
        ["sold", "platies 9", "", "12"], ["sold", "acara 5", "", "7"], ["died", "acara 5", "", "2"],
    ]  # fmt: skip


def test_learning_tells_sales_from_losses_and_forgets_what_was_taken_back(tmp_path: Path) -> None:
    room = quick_room(tmp_path)
    assert run_json(room, "learn")["survival"]["classes"] == []
    assert "FROM EGG TO SALE" not in run(room, "learn").stdout
    jotted(room, _MORNING, "sold", "platies 9", "20")
    jotted(room, _MORNING, "died", "platies 9", "2")
    jotted(room, _MORNING, "sold", "platies 9", "10", "--all")
    later = "2027-01-05T09:00"
    found = run_json(room, "learn", now=later)["survival"]
    (platies,) = [b for b in found["broods"] if b["brood"] == "platies 9"]
    assert {k: platies[k] for k in ("start", "sold", "died", "lost", "now", "unaccounted")} == {
        "start": 35, "sold": 30, "died": 2, "lost": 0, "now": 0, "unaccounted": 3,
    }  # fmt: skip
    assert platies["share"]["value"] == pytest.approx(30 / 35, rel=1e-5)
    (livebearers,) = found["classes"]
    assert (livebearers["class"], livebearers["broods"]) == ("livebearer", 1)
    said = " ".join(run(room, "learn", now=later).stdout.split())
    assert "30 sold, 2 died, 3 not accounted for: 86% sold" in said
    jotted(room, later, "undo")
    found = run_json(room, "learn", now="2027-01-05T10:00")["survival"]
    (platies,) = [b for b in found["broods"] if b["brood"] == "platies 9"]
    assert (platies["sold"], platies["now"], platies["unaccounted"]) == (20, 13, 0)
    assert found["classes"] == []
