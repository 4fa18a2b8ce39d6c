"""What the page notes: byte for byte what the journal's commands would, once, and never wrongly."""

from __future__ import annotations

import html
import json
import re
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from cli.page.cards import mass
from cli.progress import settled_outlook
from cultures.files import read
from cultures.planning.outlook import Outlook
from tests.cli.invented import at, jotted, room_file
from tests.page.room import KEYS, Page, demo_page

_MORNING, _EVENING = "2027-01-05T07:20", "2027-01-05T19:20"


@pytest.fixture(name="page")
def _page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    return demo_page(tmp_path, monkeypatch, _MORNING, whole=True)


@pytest.mark.parametrize(
    ("begins", "what", "amount", "command"),
    [
        ("harvest_worms/MW-1", "done", "", ["done", "MW-1"]),
        ("harvest_worms/MW-1", "other", "4 swipes", ["harvest", "MW-1", "4", "swipes"]),
        ("harvest_worms/VE-1", "other", "60 mL", ["harvest", "VE-1", "60", "mL"]),
        ("harvest_worms/MW-1", "skip", "", ["skip", "MW-1"]),
        ("harvest_hatch/", "done", "", ["done", "bottle 1"]),
        ("harvest_hatch/", "other", "210000", ["hatched", "bottle 1", "210000"]),
        ("harvest_hatch/", "failed", "", ["failed", "bottle 1"]),
        ("set_hatch/", "done", "", ["set", "bottle 1", "--at", "18:30"]),
        ("set_hatch/", "other", "2 g", ["set", "bottle 1", "2", "g"]),
    ],
)
def test_an_answer_writes_what_the_command_writes(
    page: Page, tmp_path: Path, begins: str, what: str, amount: str, command: list[str]
) -> None:
    sets = begins.startswith("set")
    clock = _EVENING if sets else _MORNING  # by then the vessel is free
    page.get()
    page.at(clock)
    page.post(kind="task", task=page.task(begins, "todo" if sets else ""), what=what, amount=amount)
    other = tmp_path / "other"
    other.mkdir()
    room = room_file(other, horizon_days="3")
    for looked in (_MORNING, clock):
        at(room, looked, "today")
    jotted(room, clock, *command)
    assert read(page.room.with_name("journal.csv")) == read(room.with_name("journal.csv"))


def test_a_whole_round_is_what_done_writes(page: Page, tmp_path: Path) -> None:
    page.get()
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    other = tmp_path / "other"
    other.mkdir()
    room = room_file(other, horizon_days="3")
    at(room, _MORNING, "today")
    jotted(room, _MORNING, "done")
    assert read(page.room.with_name("journal.csv")) == read(room.with_name("journal.csv"))
    assert len(page.journal()) >= 4
    assert "Round 07:30: over, and noted" in page.get()


def test_one_answer_sent_twice_is_noted_once(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    for _ in range(3):
        page.post(kind="task", task=key, what="other", amount="4 swipes", id="tap-1")
    assert len(page.journal()) == 1
    page.post(kind="task", task=key, what="other", amount="4 swipes", id="tap-2")
    assert len(page.journal()) == 1
    page.post(kind="event", event="count", subject="acara 5", amount="95", id="tap-3")
    page.post(kind="event", event="count", subject="acara 5", amount="95", id="tap-3")
    assert len(page.journal()) == 2


def test_an_answer_written_down_before_a_kill_is_noted_when_it_comes_again(page: Page) -> None:
    """As when the server dies after the answer's own file and before the journal."""
    key = page.task("harvest_worms/MW-1")
    page.post(kind="task", task=key, what="done", id="tap-1")
    lines = page.journal()
    page.room.with_name("journal.csv").unlink()
    page.post(kind="task", task=key, what="done", id="tap-1")
    assert page.journal() == lines


def test_the_later_of_two_contradicting_answers_is_asked_about(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    page.post(kind="task", task=key, what="done")
    answer = page.post(kind="task", task=key, what="skip", code=409)
    assert answer["state"] == "ask"
    assert "MW-1" in answer["text"]
    assert len(page.journal()) == 1
    page.post(kind="task", task=key, what="skip", **answer["more"])
    assert [line.split(",")[1] for line in page.journal()] == ["harvest", "undo", "skip"]
    assert "not done" in page.get()


def test_what_cannot_be_is_noted_only_when_sure(page: Page) -> None:
    answer = page.post(kind="event", event="lost", subject="acara 5", amount="500", code=409)
    assert answer["state"] == "ask"
    assert "cannot be lost" in answer["text"]
    assert "--sure" not in answer["text"]
    assert page.journal() == []
    page.post(kind="event", event="lost", subject="acara 5", amount="500", sure="1")
    assert page.journal() == ["2027-01-05T07:20:00+00:00,lost,acara 5,,500,fry,"]


def test_a_page_left_open_over_midnight_ticks_its_own_day(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    page.at("2027-01-06T07:20")
    page.get()
    page.post(kind="task", task=key, what="done")
    assert page.journal()[0].startswith("2027-01-05T07:30")
    assert page.task("harvest_worms/MW-1") != key


def test_a_tick_on_a_page_of_another_day_is_asked_about(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    page.at("2027-01-06T00:10")
    form: dict[str, Any] = {"kind": "task", "task": key, "what": "done", "shown": "2027-01-05"}
    asked = page.post(**form, code=409)
    assert (asked["state"], asked["more"]) == ("ask", {"shown": "2027-01-06"})
    assert "has been open since Tue 5 Jan" in asked["text"]
    assert page.journal() == []
    # Pressed before midnight it only waited for the network; a count is of when it is pressed.
    page.post(**form, ago="900")
    page.post(kind="event", event="count", subject="acara 5", amount="95", shown="2027-01-05")
    assert [line.split(",")[1] for line in page.journal()] == ["harvest", "count"]
    page.post(kind="task", task=key, what="done", shown="no day", code=409)
    plain = page.client.post(
        f"/{KEYS.keeper}/answer", data={**form, "what": "skip"},
        headers={"Origin": "http://localhost"},
    )  # fmt: skip
    assert "It is about that day" in plain.text


def test_a_hatch_that_was_counted_stays_on_the_page(page: Page) -> None:
    page.post(kind="task", task=page.task("harvest_hatch/"), what="other", amount="210000")
    shown = page.get()
    assert "<b>done, 210,000 nauplii</b>" in shown
    assert 'aria-label="Take back: harvest bottle 1: about 310,000 nauplii"' in shown
    page.post(kind="undo", line="2")
    assert page.task("harvest_hatch/")


def test_an_answer_that_waited_bears_the_time_of_its_tap(page: Page) -> None:
    page.get()
    page.post(kind="event", event="count", subject="acara 5", amount="90", ago="600")
    assert page.journal()[0].startswith("2027-01-05T07:10:00")
    page.post(kind="event", event="count", subject="acara 5", amount="90", ago=3e6, code=409)
    page.post(kind="event", event="count", subject="acara 5", amount="90", ago="nan")
    assert page.journal()[1].startswith("2027-01-05T07:20:00")


def test_what_is_pressed_of_a_tank_is_what_the_commands_write(page: Page, tmp_path: Path) -> None:
    page.get()
    key = page.task("feed/")
    page.post(kind="tank", task=key, tank="A3", what="done")
    page.post(kind="tank", task=key, tank="B1", what="skip")
    less: dict[str, Any] = {"food brine_shrimp": "5", "food microworm": "7", "food dry": "12"}
    page.post(kind="tank", task=key, tank="C4", what="other", **less)
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    other = tmp_path / "other"
    other.mkdir()
    room = room_file(other, horizon_days="3")
    at(room, _MORNING, "today")
    for words in ("fed A3", "skip B1", "fed C4 nauplii 5 mL", "fed C4 dry 12 mL", "done"):
        jotted(room, _MORNING, *words.split())
    assert read(page.room.with_name("journal.csv")) == read(room.with_name("journal.csv"))
    shown = page.get()
    assert "5 mL of nauplii, 12 mL of dry food" in shown
    assert "<b>not fed</b> · tank B1" in shown
    assert "Round 07:30: over, and noted" in shown


def test_a_feeding_is_answered_with_the_last_of_its_tanks(page: Page) -> None:
    page.get()
    key = page.task("feed/")
    tanks = ["A3", "B1", "B4", "C2", "C4"]
    for tank in tanks[:3]:
        page.post(kind="tank", task=key, tank=tank, what="done")
    assert page.get().count("<b>fed</b>") == 3
    page.post(kind="tank", task=key, tank="B1", what="back")
    assert page.get().count("<b>fed</b>") == 2
    page.post(kind="tank", task=key, tank="B1", what="skip")
    page.post(kind="tank", task=key, tank="C2", what="done")
    assert "<b>done</b>" not in page.get()
    page.post(kind="tank", task=key, tank="C4", what="done")
    assert "Feeding of the round: <b>done, but not in B1</b>" in page.get()
    page.post(kind="tank", task=key, tank="C4", what="back")
    assert "Feeding of the round" not in page.get()
    said = [tuple(line.split(",")[1:3]) for line in page.journal()]
    assert said == [
        ("fed", "A3"), ("fed", "B1"), ("fed", "B4"), ("undo", "3"), ("skip", "B1"), ("fed", "C2"),
        ("fed", "C4"), ("undo", "8"),
    ]  # fmt: skip


def test_that_a_tank_was_left_out_is_said_of_the_round_and_of_that_tank_alone(page: Page) -> None:
    """C4 is fed as all others are: its line does not say what B1 did not get."""
    page.get()
    page.post(kind="tank", task=page.task("feed/"), tank="B1", what="skip")
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    shown = page.get()
    assert shown.count("done, but not in B1") == 1
    assert "Feeding of the round: <b>done, but not in B1</b>" in shown
    assert "<b>not fed</b> · tank B1" in shown
    assert "<b>done</b> · tank C4" in shown


def test_a_tank_is_told_apart_after_its_whole_round_was_ticked(page: Page) -> None:
    page.get()
    assert 'name="over"' not in page.get()
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    before = len(page.journal())
    card = page.get().partition("<b>done</b> · tank B1")[2].partition("</li>")[0]
    forms = [
        dict(re.findall(r'name="([^"]+)" value="([^"]*)"', f)) for f in card.split("<form")[1:]
    ]
    assert [(f["tank"], f["what"]) for f in forms] == [("B1", "skip"), ("B1", "other")]
    forms[1]["food brine_shrimp"] = "9"
    page.post(**{k: v for k, v in forms[1].items() if k != "id"})
    assert page.journal()[before].split(",")[1:6] == ["fed", "B1", "brine_shrimp", "9", "mL"]
    assert len(page.journal()) == before + 1
    # It has its own line now, and that is what can be taken back.
    card = page.get().partition("· tank B1")[2].partition("</li>")[0]
    assert 'value="back"' in card
    assert 'name="over"' not in card


def test_one_tank_was_fed_of_a_round_that_was_not(page: Page) -> None:
    page.get()
    page.post(kind="task", task=page.task("feed/"), what="skip")
    card = page.get().partition("<b>not done</b> · tank C2")[2].partition("</li>")[0]
    form = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', card.split("<form")[1]))
    assert (form["tank"], form["what"]) == ("C2", "done")
    page.post(**{k: v for k, v in form.items() if k != "id"})
    assert [line.split(",")[1:3] for line in page.journal()][1:] == [["fed", "C2"]]


def test_two_who_say_different_things_of_a_tank_are_asked(page: Page) -> None:
    page.get()
    key = page.task("feed/")
    page.post(kind="tank", task=key, tank="B1", what="done")
    page.post(kind="tank", task=key, tank="B1", what="done")
    assert len(page.journal()) == 1
    answer = page.post(kind="tank", task=key, tank="B1", what="skip", code=409)
    assert answer["text"] == (
        "Something else was noted of tank B1 before, on the keeper's page:"
        " Tue 5 Jan 07:20  fed B1. Yours is not noted yet."
    )
    assert len(page.journal()) == 1
    page.post(kind="tank", task=key, tank="B1", what="skip", **answer["more"])
    assert [line.split(",")[1] for line in page.journal()] == ["fed", "undo", "skip"]
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    before = len(page.journal())
    answer = page.post(kind="tank", task=key, tank="C2", what="skip", code=409)
    assert "fed 07:30 round" in answer["text"]
    page.post(kind="tank", task=key, tank="C2", what="skip", **answer["more"])
    assert [line.split(",")[1:3] for line in page.journal()[before:]] == [["skip", "C2"]]


def test_what_was_taken_as_done_is_asked_about_until_it_is_answered(page: Page) -> None:
    page.get()
    page.at("2027-01-05T12:00")
    for _ in range(2):
        shown = page.get()
        assert "Taken as done, unless you say otherwise" in shown
        assert "All right" in shown
    keys = html.unescape(re.findall(r'name="task" value="([^"]+\n[^"]+)"', shown)[0])
    page.post(kind="task", task=keys.splitlines()[0], what="skip")
    page.post(kind="tasks", task=keys)
    assert page.journal()[0].split(",")[1] == "skip"
    assert len(page.journal()) == len(keys.splitlines())
    assert "Taken as done" not in page.get()


def test_a_question_can_be_left_at_that(page: Page) -> None:
    page.get()
    page.at("2027-01-05T12:00")
    page.get()
    done = page.client.post(f"/{KEYS.keeper}/asked", headers={"Origin": "http://localhost"})
    assert done.status_code == 303
    assert "Taken as done" not in page.get()
    assert page.journal() == []


def test_a_tank_whose_line_is_taken_back_is_asked_about_again(page: Page) -> None:
    page.get()
    page.post(kind="tank", task=page.task("feed/"), tank="B1", what="skip")
    assert page.get().count("<b>not fed</b>") == 1
    page.post(kind="undo", line="2")
    assert page.get().count("<b>not fed</b>") == 0


def test_undo_takes_back_and_the_page_asks_again(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    page.post(kind="task", task=key, what="done")
    assert "<b>done" in page.get()
    page.post(kind="undo", line="2")
    page.post(kind="undo", line="2")
    assert [line.split(",")[1] for line in page.journal()] == ["harvest", "undo"]
    assert page.task("harvest_worms/MW-1") == key


def test_what_one_tap_noted_is_taken_back_at_once(page: Page) -> None:
    page.get()
    page.post(kind="event", event="note", subject="room", words="cold")
    assert "Take back all" not in page.get("notes")
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    made = len(page.journal()) - 1
    shown = page.get("notes")
    assert f"Take back all {made}</button>" in shown
    line = re.search(r'name="line" value="(\d+)">\s*<input type="hidden" name="all"', shown)
    assert line is not None
    page.post(kind="undo", line=line[1], all="1")
    assert [row.split(",")[1:3] for row in page.journal()[1 + made :]] == [
        ["undo", str(n)] for n in range(made + 2, 2, -1)
    ]
    page.post(kind="undo", line=line[1], all="1")  # from another phone that shows it still
    assert len(page.journal()) == 1 + 2 * made


def test_the_terminal_takes_back_what_one_tap_noted(page: Page) -> None:
    page.get()
    page.post(kind="round", round="2027-01-05T07:30:00+00:00")
    made = len(page.journal())
    jotted(page.room, _EVENING, "undo")
    assert [row.split(",")[1] for row in page.journal()[made:]] == ["undo"] * made


def test_a_stock_is_bought_used_and_weighed_on_the_notes_page(page: Page, tmp_path: Path) -> None:
    shown = page.get("notes")
    assert '<option value="microworm_medium">microworm medium</option>' in shown
    assert '<option value="grindal_worm">grindal worm starter</option>' in shown
    assert "brine shrimp starter" not in shown
    page.post(kind="event", event="bought", subject="cysts", amount="1600", code=409)
    assert page.journal() == []
    said = [
        ("bought", "cysts", "50 g"), ("used", "salt", "200 g"), ("count", "cysts", "31 g"),
        ("bought", "banana_worm", "10 g"),
    ]  # fmt: skip
    for event, stock, amount in said:
        page.post(kind="event", event=event, subject=stock, amount=amount)
    other = tmp_path / "other"
    other.mkdir()
    room = room_file(other, horizon_days="3")
    for event, stock, amount in said:
        jotted(room, _MORNING, event, stock, *amount.split())
    assert page.journal() == room.with_name("journal.csv").read_text("utf-8").splitlines()[1:]
    page.post(key=KEYS.helper, code=403, kind="event", event="bought", subject="cysts",
              amount="50 g")  # fmt: skip


def test_what_is_not_understood_is_one_message_and_notes_nothing(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    wrong: list[dict[str, str]] = [
        {"kind": "task", "task": key, "what": "other", "amount": "a few"},
        {"kind": "task", "task": key, "what": "perhaps"},
        {"kind": "task", "task": "harvest_worms/MW-1/1999", "what": "done"},
        {"kind": "event", "event": "lern", "subject": "room"},
        {"kind": "event", "event": "note", "subject": "nobody", "words": "x"},
        {"kind": "event", "event": "note", "subject": "room", "words": ""},
        {"kind": "event", "event": "count", "subject": "acara 5", "amount": "-4"},
        {"kind": "event", "event": "bought", "subject": "cysts", "amount": ""},
        {"kind": "event", "event": "bought", "subject": "gold", "amount": "5 g"},
        {"kind": "event", "event": "used", "subject": "banana_worm", "amount": "5 g"},
        {"kind": "event", "event": "temperature", "subject": "B1", "amount": ""},
        {"kind": "event", "event": "temperature", "subject": "B1", "amount": "warm"},
        {"kind": "event", "event": "temperature", "subject": "cysts", "amount": "20"},
        {"kind": "event", "event": "fed", "subject": "B1"},
        {"kind": "event", "event": "fed", "subject": "B1", "round": "2030-01-01T07:30"},
        {"kind": "event", "event": "wetted", "subject": "acara 5", "day": "x"},
        {
            "kind": "event",
            "event": "spawn",
            "subject": "",
            "other": "A4",
            "amount": "9",
            "class": "livebearer",
        },
        {
            "kind": "event",
            "event": "planned",
            "subject": "n",
            "other": "A4",
            "amount": "9",
            "class": "livebearer",
            "day": "2027-02-01",
            "chance": "often",
        },
        {"kind": "tank", "task": page.task("feed/"), "tank": "A3", "what": "besides"},
        {"kind": "undo", "line": "77"},
        {"kind": "undo", "line": "x"},
        {"kind": "undo", "line": "²"},
        {"kind": "event", "event": "note", "subject": "room", "words": "a\x07b"},
        {"kind": "event", "event": "note", "subject": "room", "words": "x" * 1000},
        {"kind": "event", "event": "length", "subject": "acara 5", "amount": "1e999"},
        {"kind": "event", "event": "count", "subject": "acara 5", "amount": "9", "ago": "inf"},
        {"kind": "tank", "task": key, "tank": "A3", "what": "done"},
        {"kind": "tank", "task": page.task("feed/"), "tank": "Z9", "what": "done"},
        {"kind": "nothing"},
        {},
    ]
    for form in wrong:
        answer = page.post(code=409, **form)
        assert answer["state"] == "refused", form
        assert answer["text"], form
    assert page.journal() == []
    assert not page.room.with_name("answers.jsonl").exists()


def test_the_helper_writes_ticks_counts_and_notes_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = demo_page(tmp_path, monkeypatch, "2027-01-10T07:20", whole=True)
    text = page.room.read_text("utf-8")
    page.room.write_text(
        f"{text}\n[[away]]\nfrom = 2027-01-10\nto = 2027-01-14\nhelper = true\n", "utf-8"
    )
    page.get()
    shown = page.get(key=KEYS.helper)
    assert "You feed from Sun 10 Jan to Thu 14 Jan." in shown
    assert "Leave alone" in shown
    assert "envelope 1, " in shown
    assert "wipe a clean finger along the wall" in shown
    assert "its twist" in shown
    assert 'name="food microworm"' in shown
    assert 'name="food dry"' not in shown  # nobody measures a twist
    key = page.task("harvest_worms/")
    page.post(key=KEYS.helper, kind="task", task=key, what="done")
    page.post(key=KEYS.helper, kind="event", event="note", subject="A3", words="cloudy")
    page.post(key=KEYS.helper, kind="event", event="count", subject="acara 5", amount="80")
    assert [line.split(",")[1] for line in page.journal()] == ["harvest", "note", "count"]
    page.post(kind="event", event="note", subject="A3", words="clear again")
    for event in ("failed", "discard", "set", "split", "move", "lost", "length"):
        page.post(key=KEYS.helper, code=403, kind="event", event=event, subject="MW-1")
    page.post(key=KEYS.helper, code=403, kind="undo", line="5")
    page.post(key=KEYS.helper, kind="undo", line="4")
    for name in ("todo", "ahead", "cultures", "fry", "notes"):
        page.get(name, key=KEYS.helper, code=404)
    assert "by the helper's page" in page.get("notes")


def test_a_round_that_the_helper_sees_on_the_page_takes_the_place_of_the_one_on_paper(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = demo_page(tmp_path, monkeypatch, "2027-01-09T20:00", whole=True)
    away = "\n[[away]]\nfrom = 2027-01-10\nto = 2027-01-11\nhelper = true\n"
    page.room.write_text(page.room.read_text("utf-8") + away, "utf-8")
    out = str(tmp_path / "helper.html")
    at(page.room, "2027-01-09T20:00", "sheet", "--helper", "--out", out)
    page.at("2027-01-10T10:00")
    jotted(page.room, "2027-01-10T10:00", "lost", "B1", "--all")
    record = page.room.with_name("told.jsonl")

    def newest() -> str:
        lines = [json.loads(line) for line in record.read_text("utf-8").splitlines()]
        told = [x for x in lines for t in x.get("told", ()) if t["id"] == "feed/2027-01-10T18:30"]
        return str(told[-1]["by"])

    page.get()
    assert newest() == "helper", "the keeper's page is not the helper's"
    page.get(key=KEYS.helper)
    assert newest() == "helper's page"


def test_without_script_an_answer_is_a_post_and_a_redirect(page: Page) -> None:
    key = page.task("harvest_worms/MW-1")
    form = {"id": "a", "kind": "task", "task": key, "what": "done", "back": "now"}
    head = {"Origin": "http://localhost"}
    done = page.client.post(f"/{KEYS.keeper}/answer", data=form, headers=head)
    assert (done.status_code, done.location) == (303, "now")
    form |= {"id": "b", "what": "skip"}
    asked = page.client.post(f"/{KEYS.keeper}/answer", data=form, headers=head)
    assert asked.status_code == 409
    assert "Mine is right" in asked.text
    assert 'name="over" value="2"' in asked.text
    form |= {"id": "c", "back": "//elsewhere.example/"}
    form["over"] = "2"
    assert page.client.post(f"/{KEYS.keeper}/answer", data=form, headers=head).location == "now"


def test_pages_and_terminals_tick_one_round_together(page: Page) -> None:
    page.get()
    keys = [page.task("harvest_worms/MW-1"), page.task("harvest_worms/VE-1"),
            page.task("harvest_hatch/")]  # fmt: skip
    said: list[int] = []

    def tap(number: int) -> None:
        client = page.client.application.test_client()
        for key in keys:
            answer = client.post(
                f"/{KEYS.keeper}/answer",
                data={"id": f"{number}-{key}", "kind": "task", "task": key, "what": "done"},
                headers={"Origin": "http://localhost", "Accept": "application/json"},
            )
            said.append(answer.status_code)

    threads = [threading.Thread(target=tap, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert said == [200] * 12
    assert len(page.journal()) == 3


def test_now_comes_from_its_cache_while_nothing_changes(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Planned once, then again only after an entry, another minute, or another room file."""
    runs: list[int] = []

    def counted(*args: Any, **more: Any) -> Outlook:
        runs.append(1)
        return settled_outlook(*args, **more)

    monkeypatch.setattr("cli.page.desk.settled_outlook", counted)
    for _ in range(3):
        page.get()
        page.get("todo")
    assert len(runs) == 1
    page.post(kind="event", event="count", subject="acara 5", amount="95")
    page.get()
    assert len(runs) == 2
    page.at("2027-01-05T07:20:59")
    page.get()
    assert len(runs) == 2
    page.at("2027-01-05T07:21")
    page.get()
    assert len(runs) == 3
    page.room.write_text(page.room.read_text("utf-8") + "\n# a word\n", "utf-8")
    page.get()
    assert len(runs) == 4
    took = min(_seconds(page) for _ in range(20))
    assert took < 0.2, took  # 0.004 s where nothing else runs; a plan takes many times as long


def _seconds(page: Page) -> float:
    begun = time.perf_counter()
    page.get()
    return time.perf_counter() - begun


def test_each_page_with_its_style_and_script_is_small(page: Page) -> None:
    kept = sum(len(page.get(name).encode()) for name in ("page.css", "page.js"))
    for name in ("now", "todo", "ahead", "cultures", "fry", "notes"):
        shown = page.get(name)
        assert len(shown.encode()) + kept < 150_000, name
        # And nothing else is asked for.
        assert set(re.findall(r'(?:src|rel="\w+" href)="([^"]+)"', shown)) == {
            "data:,", "page.css", "page.js",
        }  # fmt: skip


def test_a_field_that_was_emptied_is_not_noted_as_told(page: Page) -> None:
    page.get()
    less: dict[str, Any] = {"food brine_shrimp": "", "food microworm": "7", "food dry": "12"}
    answer = page.post(
        kind="tank", task=page.task("feed/"), tank="C4", what="other", code=409, **less
    )
    assert "write how much" in answer["text"]
    worms = page.task("harvest_worms/MW-1")
    answer = page.post(kind="task", task=worms, what="other", amount=" ", code=409)
    assert "write how much it was of MW-1" in answer["text"]
    assert page.journal() == []


def test_a_count_of_worms_says_that_it_is_of_one_swipe(page: Page) -> None:
    assert "how many worms are in one swipe or draw" in page.get("todo")


def test_fields_and_fry_are_in_plain_figures(page: Page) -> None:
    values = [mass("", g, "metric", 1).value for g in (2000.0, 2200.0, 0.35)]
    assert values == ["2000", "2200", "0.35"]
    page.at("2027-01-14T07:20")
    assert re.findall(r"about [\d,.]+ fry", page.get("fry"))
    assert not re.search(r"about \d+\.\d+ fry", page.get("fry"))


def test_a_day_of_another_year_is_said_with_its_year(page: Page) -> None:
    with page.room.open("a") as file:  # a year of vinegar eels begins
        file.write(
            '\n[[culture]]\nname = "VE-7"\nkind = "vinegar_eel"\nstarted = 2027-01-04\n'
            "medium_g = 900\nstarter_g = 100\ntemperature_c = 20\n"
        )
    spent = re.findall(r"Good until ([^.]+)\.", page.get("cultures"))
    years = [day for day in spent if re.search(r" 2028$", day)]
    assert years, spent
