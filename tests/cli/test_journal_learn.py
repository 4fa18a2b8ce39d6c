"""``livefood journal`` and ``livefood learn`` as a keeper types them."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from cli.journal.command import command as journal_command
from cli.main import main
from cli.options import Where
from cultures.journal.events import EVENTS
from cultures.record.present import present_of
from tests.cli.invented import WHOLE, at, jotted, quick_room, room_file, room_of

_NOW = "2027-01-05T09:00"


@pytest.fixture
def room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The demo room in a folder of its own, which looks three days ahead here."""
    return room_of(request, tmp_path)


def run(room: Path, *words: str, now: str = _NOW) -> Result:
    """A command on the demo room."""
    head, *rest = words
    first = [head, rest.pop(0)] if head == "journal" else [head]
    return CliRunner().invoke(main, [*first, "--room", str(room), "--now", now, *rest])


def lines(room: Path) -> list[str]:
    """What stands in the journal below its header."""
    return (room.parent / "journal.csv").read_text().splitlines()[1:]


def told_tasks(room: Path) -> list[dict[str, Any]]:
    """What was told, a later telling after an earlier one."""
    record = room.with_name("told.jsonl").read_text("utf-8").splitlines()
    return list({t["id"]: t for row in record for t in json.loads(row).get("told", ())}.values())


@WHOLE
@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["split", "MW-1"], "split,MW-1,MW-3,10,g,"),
        (["split", "MW-1", "MW-8", "--starter", "1 oz"], "split,MW-1,MW-8,28.349523125,g,"),
        (["start", "MW-9", "microworm", "--starter", "15 g"], "start,MW-9,microworm,15,g,"),
        (["discard", "MW-1", "--crashed"], "discard,MW-1,crashed,,,"),
        (["harvest", "MW-1", "6", "swipes"], "harvest,MW-1,,6,swipes,"),
        (["harvest", "MW-1", "1/2"], "harvest,MW-1,,0.5,swipes,"),
        (["harvest", "VE-1", "30", "mL", "--all"], "harvest,VE-1,all,30,mL,"),
        (["harvest", "bottle 1"], "harvest,bottle 1,,,,"),
        (["set", "bottle 2", "2.5", "g"], "set,bottle 2,,2.5,g,"),
        (["hatched", "bottle 1", "210 000"], "hatched,bottle 1,,210000,nauplii,"),
        (
            ["hatched", "bottle 1", "--drops", "12 9 15", "--drop-ml", "0.05", "--of-ml", "1000"],
            "hatched,bottle 1,12 9 15 in 0.05 mL each of 1000 mL,240000,nauplii,",
        ),
        (
            ["spawn", "danio 9", "--tank", "A5", "--class", "egg_scatterer", "--count", "60"],
            "spawn,danio 9,A5 egg_scatterer,60,fry,",
        ),
        (["free_swimming", "acara 5", "70"], "free_swimming,acara 5,,70,fry,"),
        (["free-swimming", "acara 5"], "free_swimming,acara 5,,,,"),
        (["count", "acara 5", "70"], "count,acara 5,,70,fry,"),
        (["count", "MW-1", "14000"], "count,MW-1,swipe,14000,worms,"),
        (["length", "acara 5", "6.5", "mm", "--fish", "5"], "length,acara 5,5 fish,6.5,mm,"),
        (["length", "acara 5", "1/4 in"], "length,acara 5,,6.35,mm,"),
        (["move", "acara 5", "B3", "20"], "move,acara 5,B3,20,fry,"),
        (["lost", "acara 5", "--all"], "lost,acara 5,all,,,"),
        (["temperature", "room", "70", "F"], "temperature,room,,21.11,C,"),
        (["bought", "cysts", "50"], "bought,cysts,,50,g,"),
        (["bought", "50", "g", "cysts"], "bought,cysts,,50,g,"),
        (["bought", "brine_shrimp", "10", "g"], "bought,cysts,,10,g,"),
        (["bought", "Brine shrimp 10 g"], "bought,cysts,,10,g,"),
        (["bought", "microworm", "starter", "20 g"], "bought,microworm,,20,g,"),
        (["bought", "microworm starter", "20 g"], "bought,microworm,,20,g,"),
        (["bought", "cysts", "1600", "--sure"], "bought,cysts,,1600,g,"),
        (["bought", "vinegar eel medium", "2 kg"], "bought,vinegar_eel_medium,,2000,g,"),
        (["lost", "acara 5", "500", "--sure"], "lost,acara 5,,500,fry,"),
        (["count", "acara 5", "900", "--sure"], "count,acara 5,,900,fry,"),
        (["count", "acara 5", "10", "--sure"], "count,acara 5,,10,fry,"),
        (["count", "acara 5", "36"], "count,acara 5,,36,fry,"),
        (["count", "acara 5", "160"], "count,acara 5,,160,fry,"),
        (["set", "bottle 1", "3", "--sure"], "set,bottle 1,,3,g,"),
    ],
)
def test_each_event_is_one_short_command(room: Path, words: list[str], line: str) -> None:
    result = run(room, "journal", *words, "--note", "")
    assert result.exit_code == 0, result.output
    assert "Noted, line 2: Tue 5 Jan 09:00" in result.output
    assert "plan" in result.output
    assert lines(room) == [f"2027-01-05T09:00:00+00:00,{line}"]


def test_every_event_has_a_command_with_help_and_an_example() -> None:
    names = set(journal_command.commands)
    # A round is noted as fed by ticking it off.
    assert {e for e in EVENTS if e not in ("learn", "fed")} <= names
    assert {"show", "done", "due", "skip", "undo", "import", "count-helper"} <= names
    for name in names:
        result = CliRunner().invoke(main, ["journal", name, "--help"])
        assert result.exit_code == 0
        assert re.search(r"Examples?:\s+livefood journal", result.output), name
        assert isinstance(journal_command.commands[name], click.Command)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["harvest", "MW-7", "2"], "there is no culture or vessel named 'MW-7'"),
        (["harvest", "MW-1", "2", "buckets"], "'buckets' is not a unit of worms"),
        (["harvest", "MW-2"], "no harvest of MW-2 is due; say how much"),
        (["harvest", "bottle 1", "5"], "a count goes with 'journal hatched'"),
        (["set", "bottle 3", "2"], "there is no vessel named 'bottle 3'"),
        (["set", "bottle 2", "lots"], "'lots' is not a quantity"),
        (["set", "bottle 2"], "no hatch is due in bottle 2"),
        (["split", "MW-1", "MW-2"], "there is a culture MW-2 already"),
        (["start", "MW-9", "dry"], "there is no kind of worm named 'dry'"),
        (["hatched", "bottle 1"], "say how many nauplii, or count drops with --drops"),
        (["hatched", "bottle 1", "--drops", "1 2"], "drops need --drop-ml"),
        (["hatched", "bottle 1", "5", "--drops", "1 2"], "give a total or drops, not both"),
        (["spawn", "danio 9"], "danio 9 is a new brood: give its tank, class and count (--tank"),
        (["count", "acara 5", "-3"], "'-3' is below 0; what is noted is 0 or more"),
        (["harvest", "MW-1", "-3", "swipes"], "'-3' is below 0"),
        (["temperature", "room", "-.5"], "'-.5' is below 0"),
        (["lost", "acara 5", "--al"], "No such option '--al'"),
        (["lost", "acara 5", "500"], "about 102 are left of those counted on Fri 25 Dec"),
        (["move", "acara 5", "B3", "400"], "400 fry of acara 5 cannot be moved"),
        (["count", "acara 5", "900"], "fry do not multiply; up to 165 are taken as a miscount"),
        (["count", "acara 5", "10"], "about 102 are left of those counted on Fri 25 Dec, and no"),
        (["bought", "cysts", "1600"], "1,600 g of cysts at once, where "),
        (["bought", "nauplii", "1600"], "'livefood journal fed TANK' notes that meal"),
        (["bought", "brine shrimp starter", "160"], "hatched from cysts, 'cysts 50 g'"),
        (["count", "acara 5", "0"], "if it is so all the same, add --sure"),
        (["free_swimming", "acara 5", "900"], "a new spawn is a brood of its own"),
        (["harvest", "MW-1", "600", "swipes"], "12 g of worms cannot be taken from MW-1: about"),
        (["count", "MW-1", "20000000000"], "cannot be in one swipe or draw of MW-1: about"),
        (["set", "bottle 1", "3"], "bottle 1 holds a hatch of 1.6 g, set on Mon 4 Jan 07:30"),
        (["hatched", "bottle 1", "99000000"], "99,000,000 nauplii cannot be in bottle 1"),
        (["split", "MW-1", "--starter", "900 g"], "which is 150 g in all"),
        (["lost", "acara 5", "500"], "if it is so all the same, add --sure. Nothing was noted."),
        (["count", "acara 5", "many"], "'many' is not a number of fry"),
        (["length", "acara 5", "900"], "900 mm is not the length of a fry"),
        (["move", "acara 5", "Z9"], "there is no tank named 'Z9'"),
        (["lost", "acara 5"], "say how many were lost, or --all"),
        (["temperature", "room", "39"], "microworm dies at 35 °C and above"),
        (["temperature", "bottle 1", "5"], "no hatching time can be promised"),
        (
            ["bought", "shrimps", "5"],
            "'shrimps' is not a stock: write what and how much",
        ),
        (["used", "MW-1", "5"], "'MW-1' is not a stock"),
        (["bought", "cysts"], "say how much: 'cysts 50 g'"),
        (["bought", "microworm", "starter"], "'bought microworm 30 g'; once it is on its medium"),
        (["failed", "bottle 2"], "as far as is known no hatch stands in bottle 2"),
        (["failed", "MW-7"], "there is no vessel or culture named 'MW-7'"),
        (["note", "MW-7", "sour"], "there is no room, tank, brood, culture, vessel or stock"),
        (["note", "cold", "today"], "Of the room: livefood journal note room 'cold today'"),
        (["note", "XY7 is sour"], "Of the room: livefood journal note room 'XY7 is sour'"),
        (["note", "MW-7 is sour"], "Of the room: livefood journal note room 'MW-7 is sour'"),
        (["note", "MW-1"], "say what there is to note of MW-1: livefood journal note MW-1"),
        (["undo"], "there is nothing to take back"),
        (["undo", "--line", "9"], "line 9 is not an entry"),
        (["harvst", "MW-1"], "there is no event 'harvst'; did you mean 'harvest'?"),
        (["sell", "acara 5", "10"], "there is no event 'sell'; did you mean 'sold'?"),
        (["feed", "A1"], "there is no event 'feed'; did you mean 'fed'?"),
        (["count", "acara 5", "70", "--at", "2027-01-06T09:00"], "lies in the future"),
        (["import", "nowhere.csv"], "cannot read nowhere.csv"),
        (["skip", "MW-1"], "no task 'MW-1' is due; nothing is"),
        (["skip", "acara 5"], "that it was not fed, by its tank: livefood journal skip B1"),
        (["skip", "acara5"], "no task 'acara5' is due; nothing is; did you mean 'acara 5'?"),
        (["harvest", "MW-1", "2", "--instead-of", "MW-2"], "nothing of MW-2 was told"),
    ],
)
def test_mistakes_are_explained_and_nothing_is_noted(
    room: Path, words: list[str], message: str
) -> None:
    result = run(room, "journal", *words)
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output
    assert not (room.parent / "journal.csv").exists()


@WHOLE
def test_done_ticks_off_what_is_due(room: Path) -> None:
    # Nobody was told anything: nothing is due, and nothing is noted.
    for words in (["done"], ["done", "--dry-run"], ["due"]):
        said = at(room, "2027-01-05T08:30", "journal", *words)
        assert "Nothing is waiting to be noted" in said.output
    assert not (room.parent / "journal.csv").exists()
    at(room, "2027-01-05T07:00", "today")
    shown = at(room, "2027-01-05T08:30", "journal", "done", "--dry-run")
    assert shown.output.startswith(
        "Told, and not noted yet:\n   1  Tue 5 Jan 07:00  harvest bottle"
    )
    assert not (room.parent / "journal.csv").exists()
    unknown = at(room, "2027-01-05T08:30", "journal", "done", "77", code=2)
    assert "no task '77' is due; 1 to 4 are: 'livefood journal due' lists them" in unknown.output
    assert not (room.parent / "journal.csv").exists()
    first = at(room, "2027-01-05T08:30", "journal", "done")
    noted = [tuple(line.split(",")[1:3]) for line in lines(room)]
    assert noted == [("harvest", "bottle 1"), ("harvest", "MW-1"), ("harvest", "VE-1"),
                     ("fed", "07:30 round")]  # fmt: skip
    assert first.output.count("Noted") == 4
    again = at(room, "2027-01-05T08:31", "journal", "done")
    assert "Nothing is waiting to be noted" in again.output
    at(room, "2027-01-05T18:00", "today")
    jotted(room, "2027-01-05T19:10", "done", "1")
    assert len(lines(room)) == 4 + 1


def test_done_says_what_it_does_not_tick_off_and_how_that_is_noted(tmp_path: Path) -> None:
    """One brood more is to be counted on each day from the 8th on, and nobody counts any."""
    room = room_file(tmp_path)
    for day in ("05", "08", "12", "19"):
        at(room, f"2027-01-{day}T07:00", "today")
    done = at(room, "2027-01-19T08:30", "journal", "done").output
    reminders = [
        "  - buy brine shrimp cysts: 150 g, due since Sat 16 Jan: livefood journal bought",
        "    cysts 150 g",
        "  - count acara 5 in B1, annuals 2 in B4, pearl danio 3 in A3: livefood journal",
        "    count BROOD NUMBER",
        "  - sort annuals 2 in B4 by size: livefood journal sorted 'annuals 2'",
        "  - move pearl danio 3 in A3 to a larger tank: livefood journal move",
        "    'pearl danio 3' TANK",
    ]
    assert done.splitlines()[-8:] == ["Not ticked off, asked for until it is noted:", *reminders]
    due = at(room, "2027-01-19T08:31", "journal", "due").output.splitlines()
    assert due[0] == "Nothing is waiting to be noted as it was told."
    assert due[3:] == reminders
    jotted(room, "2027-01-19T08:32", "bought", "cysts", "75 g")
    jotted(room, "2027-01-19T08:32", "sorted", "annuals 2")
    jotted(room, "2027-01-19T08:32", "move", "pearl danio 3", "B4", "--sure")
    jotted(room, "2027-01-19T08:32", "count", "acara 5", "25", "--sure")
    due = at(room, "2027-01-19T08:33", "journal", "due").output.splitlines()
    assert due[3:] == [
        "  - count annuals 2 in B4, pearl danio 3 in B4: livefood journal count BROOD",
        "    NUMBER",
    ]


def test_the_due_task_is_the_default(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T08:30", "done")
    before = len(lines(room))
    # What was not told has no amount to fall back on.
    untold = at(room, "2027-01-05T18:35", "journal", "harvest", "MW-2", code=2)
    assert "no harvest of MW-2 is due; say how much" in untold.output
    at(room, "2027-01-05T18:00", "today")
    (told,) = (t for t in told_tasks(room) if t["id"] == "harvest_worms/2027-01-05T18:30/MW-1")
    swipes = told["amounts"]["swipes"]
    jotted(room, "2027-01-05T18:35", "harvest", "MW-1")
    assert len(lines(room)) == before + 1
    assert lines(room)[-1] == f"2027-01-05T18:35:00+00:00,harvest,MW-1,,{swipes:g},swipes,"
    due = json.loads(at(room, "2027-01-05T18:36", "journal", "due", "--json").stdout)
    assert {row["id"] for row in due} == {
        t["id"] for t in told_tasks(room)
        if t["at"][:16] == "2027-01-05T18:30" and t["subject"] != "MW-1"
        and t["what"] in ("harvest_worms", "feed", "set_hatch")
    }  # fmt: skip


def test_a_vessel_that_was_drawn_off_can_be_set_again(room: Path) -> None:
    assert run(room, "journal", "set", "bottle 2", "2").exit_code == 0
    again = run(room, "journal", "set", "bottle 2", "3")
    assert again.exit_code == 2
    assert "note first that it was drawn off" in again.output
    assert len(lines(room)) == 1
    assert run(room, "journal", "harvest", "bottle 2").exit_code == 0
    assert run(room, "journal", "set", "bottle 2", "3").exit_code == 0


@WHOLE
def test_all_screens_say_the_same_of_told_work_that_nothing_tells_of(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T07:40", "harvest", "MW-1", "2")
    today = at(room, "2027-01-05T12:00", "today").output
    dry = at(room, "2027-01-05T12:00", "journal", "done", "--dry-run").output
    due = at(room, "2027-01-05T12:00", "journal", "due").output
    assert dry == due
    asked = " ".join(today.partition("TAKEN AS DONE, unless you say otherwise")[2].split())
    rows = re.findall(r"(?ms)^ +(\d) +Tue 5 Jan (\d\d:\d\d)  (.*?)(?=^ +\d |^$)", due)
    assert [row[:2] for row in rows] == [
        ("1", "07:00"),
        ("3", "07:30"),
        ("4", "07:30"),
    ]  # 2 is noted
    for number, clock, text in rows:
        assert f"{number} {clock} {' '.join(text.split())}" in asked
    assert "MW-1" not in due
    listed = json.loads(at(room, "2027-01-05T12:00", "journal", "due", "--json").output)
    late = at(
        room, "2027-01-05T12:00", "journal", "done", "--dry-run", "--since", "2027-01-05T07:01"
    ).output
    assert "harvest bottle 1" in due
    assert "harvest bottle 1" not in late
    assert "VE-1" in late
    done = at(room, "2027-01-05T12:01", "journal", "done").output
    assert done.count("Noted") == len(listed) == 3
    assert "Nothing is waiting to be noted" in at(
        room, "2027-01-05T12:02", "journal", "done", "--dry-run"
    ).output  # fmt: skip
    assert "TAKEN AS DONE" not in at(room, "2027-01-05T12:03", "today").output


def test_few_fry_are_believed_where_losses_were_noted(room: Path) -> None:
    jotted(room, "2027-01-05T09:00", "died", "acara 5", "20")
    jotted(room, "2027-01-05T09:05", "count", "acara 5", "10")
    at(room, "2027-01-05T09:10", "journal", "count", "acara 5", "1", code=2)


def test_no_tank_gets_more_of_a_food_than_its_whole_cup(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    feed = next(t for t in told_tasks(room) if t["what"] == "feed")
    tank, _, food, *_ = next(x for x in feed["lines"] if f"{x[2]}_ml" in feed["amounts"])
    cup_ml = feed["amounts"][f"{food}_ml"]
    words = ("journal", "fed", tank, food.replace("_", " "))
    refused = at(room, "2027-01-05T07:40", *words, f"{cup_ml + 1:g} mL", code=2)
    assert f"the whole cup was told to be {cup_ml:,.0f} mL" in " ".join(refused.output.split())
    assert not (room.parent / "journal.csv").exists()
    at(room, "2027-01-05T07:40", *words, f"{cup_ml:g} mL")
    at(room, "2027-01-05T07:41", *words, f"{cup_ml + 1:g} mL", "--sure")


@WHOLE
def test_a_count_does_not_change_what_was_told_before_it(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today", "--all-day")
    told = {t["id"]: t["amounts"] for t in told_tasks(room)}
    jotted(room, "2027-01-05T12:00", "count", "acara 5", "30", "--sure")
    morning = json.loads(at(room, "2027-01-05T12:01", "journal", "due", "--json").output)
    assert len(morning) == 4
    at(room, "2027-01-05T17:00", "today")
    due = json.loads(at(room, "2027-01-05T19:00", "journal", "due", "--json").output)
    before = [t for t in due if t["at"] < "2027-01-05T12"]
    assert before == morning
    for task in before:
        mine = told[task["id"]]
        assert task["amounts"] == {key: pytest.approx(mine[key], rel=1e-5) for key in mine}
    (after,) = (t for t in due if t["id"] == "harvest_worms/2027-01-05T18:30/MW-1")
    assert after["amounts"]["mg"] < 0.99 * told[after["id"]]["mg"]


def test_work_that_is_due_just_now_is_not_told_as_moved_or_cancelled(tmp_path: Path) -> None:
    room = room_file(tmp_path, horizon_days="10")
    plan = json.loads(run(room, "plan", "--json", now="2027-01-04T07:00").output)
    split = next(t for t in plan["tasks"] if t["what"] == "split")
    moment = split["at"][:16]
    day = int(moment[8:10])
    for before_it in range(5, day + 1):  # a keeper who does all that is told
        for clock in ("07:00", "18:00"):
            if f"2027-01-{before_it:02}T{clock}" < moment:
                at(room, f"2027-01-{before_it:02}T{clock}", "today")
    assert split["id"] in {t["id"] for t in told_tasks(room)}
    before = at(room, moment, "journal", "harvest", "MW-1", "2")
    assert "split" not in before.output.partition("The plan")[2], before.output
    done = at(room, moment, "journal", "done")
    assert f"split {split['subject']}" in done.output.partition("The plan")[0]
    assert "no longer: " not in done.output


def test_a_bottle_is_drawn_off_once(room: Path) -> None:
    assert run(room, "journal", "set", "bottle 2", "3", "--at", "2027-01-04T07:30").exit_code == 0
    assert run(room, "journal", "harvest", "bottle 2").exit_code == 0
    # A count of what was drawn off sets what that harvest held; it is no second harvest.
    counted = run(room, "journal", "hatched", "bottle 2", "95000")
    assert counted.exit_code == 0, counted.output
    found = present_of(
        Where(room, datetime.fromisoformat(_NOW)).load_file(), room,
        datetime.fromisoformat(f"{_NOW}+00:00"),
    )  # fmt: skip
    (held,) = (h for h in found.room.held if h.vessel == "bottle 2")
    assert held.nauplii == pytest.approx(95000)
    again = run(room, "journal", "hatched", "bottle 2", "80000")
    assert again.exit_code == 2
    assert "was drawn off on Tue 5 Jan" in again.output
    line = re.search(r"journal undo --line (\d)", again.output)
    assert line is not None
    assert line[1] in "34"
    assert len(lines(room)) == 3
    assert run(room, "journal", "undo", "--line", "4").exit_code == 0
    assert run(room, "journal", "hatched", "bottle 2", "80000").exit_code == 0


def test_what_cannot_be_teaches_nothing(room: Path) -> None:
    def judged(now: str) -> list[object]:
        found = json.loads(run(room, "learn", "--json", now=now).output)["estimates"]
        return [e for e in found if e["quantity"] != "crash"]  # days without a crash go on

    before = judged(_NOW)
    for words in (
        ["harvest", "MW-1", "600", "swipes"],
        ["count", "MW-1", "20000000000"],
        ["hatched", "bottle 1", "99000000"],
    ):
        assert run(room, "journal", *words, "--sure").exit_code == 0
    assert judged("2027-01-05T10:00") == before


def test_import_refuses_what_cannot_be_as_a_whole(room: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "week.csv"
    rows = ("2027-01-05 08:30,lost,acara 5,3 fry", "2027-01-05 08:40,count,acara 5,900 fry")
    sheet.write_text("\n".join(("when,event,subject,amount", *rows)))
    result = run(room, "journal", "import", str(sheet))
    assert result.exit_code == 2
    assert "Tue 5 Jan 08:40: 900 fry of acara 5 cannot be there" in result.output
    assert not (room.parent / "journal.csv").exists()
    assert run(room, "journal", "import", str(sheet), "--sure").exit_code == 0
    assert len(lines(room)) == 2


@WHOLE
def test_amounts_come_back_as_they_are_measured(room: Path) -> None:
    for words, shown in (
        (["set", "bottle 2", "1/2 tsp"], "set bottle 2 1.6 g (1/2 tsp level)"),
        (["harvest", "VE-1", "62 mL"], "harvest VE-1 62 mL"),
        (["harvest", "VE-1", "6.1986"], "harvest VE-1 62 mL"),
        (["harvest", "MW-1", "2.5"], "harvest MW-1 2 1/2 swipes"),
        (["temperature", "room", "72", "F"], "temperature room 22.2 °C"),
    ):
        assert f"{shown}\n" in run(room, "journal", *words).output


def test_a_culture_that_was_discarded_is_said_to_be(room: Path) -> None:
    run(room, "journal", "discard", "MW-1")
    result = run(room, "journal", "harvest", "MW-1", "2", now="2027-01-05T10:00")
    assert result.exit_code == 2
    assert "MW-1 was discarded on Tue 5 Jan 09:00 (line 2)" in result.output


def test_undo_takes_the_last_back_and_undo_of_undo_gives_it_again(room: Path) -> None:
    plain = run(room, "plan", "--json").output
    run(room, "journal", "discard", "MW-1")
    changed = run(room, "plan", "--json", now="2027-01-05T10:00").output
    assert run(room, "journal", "undo").exit_code == 0
    assert run(room, "plan", "--json").output == plain
    assert run(room, "journal", "undo", "--line", "3").exit_code == 0
    assert run(room, "plan", "--json", now="2027-01-05T10:00").output == changed
    twice = run(room, "journal", "undo", "--line", "3")
    assert twice.exit_code == 2
    assert "line 3 was taken back already" in twice.output


def test_show_filters_and_prints_json(room: Path) -> None:
    assert "The journal is empty." in run(room, "journal", "show").output
    run(room, "journal", "lost", "acara 5", "5", "--at", "2027-01-04T20:00")
    run(room, "journal", "harvest", "MW-1", "2", "--note", "thin")
    text = run(room, "journal", "show", "--subject", "MW-1").output
    assert "harvest MW-1 2 swipes (thin)" in text
    assert "acara" not in text
    found = json.loads(run(room, "journal", "show", "--json").output)
    assert [e["subject"] for e in found["entries"]] == ["acara 5", "MW-1"]
    assert found["entries"][0]["when"] == "2027-01-04T20:00:00+00:00"
    past = run(room, "journal", "show", "--to", "2027-01-04T21:00").output
    assert "MW-1" not in past
    assert "holds nothing of that" in run(room, "journal", "show", "--event", "set").output
    assert run(room, "journal", "show", "--last", "1").output.count("\n") == 1
    run(room, "journal", "note", "room", "a lid was off", "--at", "2027-01-02T09:00")
    assert "a lid was off" in run(room, "journal", "show", "--last", "1").output


def test_now_in_the_past_shows_what_was_true_then(room: Path) -> None:
    run(room, "journal", "lost", "acara 5", "--all", "--at", "2027-01-05T08:30")
    assert '"acara 5"' not in run(room, "need", "--json").output
    assert '"acara 5"' in run(room, "need", "--json", now="2027-01-05T06:00").output


def test_import_notes_all_or_nothing_and_only_once(room: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "week.csv"
    sheet.write_text("when,event,subject,amount\n2027-01-05 08:30,lost,acara 5,3 fry\n")
    assert "Nothing was noted" in run(room, "journal", "import", str(sheet), "--dry-run").output
    assert run(room, "journal", "import", str(sheet)).exit_code == 0
    assert len(lines(room)) == 1
    assert "in the journal already" in run(room, "journal", "import", str(sheet)).output
    assert len(lines(room)) == 1
    rows = ("when,event,subject,amount", "2027-01-05 08:40,lost,acara 5,x", ",,,", "x,lost,a,1")
    sheet.write_text("\n".join(rows))
    result = run(room, "journal", "import", str(sheet))
    assert result.exit_code == 2
    assert "week.csv:2:" in result.output
    assert "week.csv:4:" in result.output
    assert len(lines(room)) == 1


def test_count_helper_says_total_interval_and_what_would_halve_it() -> None:
    words = ["journal", "count-helper", "12", "9", "15", "--drop-ml", "0.05", "--of-ml", "1000"]
    text = CliRunner().invoke(main, [*words, "--grams", "2"]).output
    assert "about 240,000 in all" in text
    assert "120,000 a gram" in text
    assert "more drops would halve the interval" in text
    found = json.loads(CliRunner().invoke(main, [*words, "--json"]).output)
    assert found["low"] < found["total"] == 240000 < found["high"]
    one = CliRunner().invoke(main, [*words[:2], "12", *words[5:]]).output
    assert "count three or more" in one


def test_a_bad_journal_stops_every_command_with_its_line(room: Path) -> None:
    (room.parent / "journal.csv").write_text("when,event,subject,other,amount,unit,note\nx,y,z\n")
    result = run(room, "today")
    assert result.exit_code == 2
    assert "journal.csv:2" in result.output


@pytest.mark.parametrize("words", [
    ("today",), ("plan", "--days", "2"), ("need", "--days", "1"), ("learn",),
    ("journal", "due"), ("journal", "show"), ("shortfalls", "--days", "1"), ("check",),
])  # fmt: skip
def test_a_torn_line_is_reported_once_by_every_command_that_reads_the_journal(
    room: Path, words: tuple[str, ...]
) -> None:
    """Beside what is printed, so that it is in no JSON, and not cut off as a remark may be."""
    (room.parent / "journal.csv").write_text(
        "when,event,subject,other,amount,unit,note\n2027-01-05T08:00,lo"
    )
    result = run(room, *words)
    assert " ".join(result.output.split()).count("torn line") == 1
    assert "ends in a torn line, not used and set aside" in " ".join(result.stderr.split())


def test_learn_shows_before_seen_after_and_used(room: Path) -> None:
    text = run(room, "learn").output
    assert "NAUPLII FROM A GRAM OF CYSTS" in text
    assert "nothing was noted yet" in text
    found = json.loads(run(room, "learn", "--json").output)
    first = found["estimates"][0]
    assert first["quantity"] == "nauplii_per_gram"
    assert first["prior"]["low"] < first["prior"]["value"] < first["prior"]["high"]
    assert (first["used"], first["learned"]) == (210000, False)


def test_learning_moves_the_plan_and_can_be_turned_off(room: Path) -> None:
    (room.parent / "journal.csv").write_text(
        "when,event,subject,other,amount,unit,note\n"
        + "".join(
            f"2027-01-0{day}T06:35,set,bottle 2,,2,g,\n"
            f"2027-01-0{day + 1}T12:00,hatched,bottle 2,,{count},nauplii,\n"
            for day, count in ((1, 160000), (3, 150000), (5, 170000))
        )
    )
    now = "2027-01-07T09:00"
    learned = json.loads(run(room, "learn", "--json", now=now).output)
    used = {e["quantity"]: e for e in learned["estimates"]}
    assert used["nauplii_per_gram"]["learned"]
    assert used["nauplii_per_gram"]["used"] < 150000
    plan = json.loads(run(room, "plan", "--json", now=now).output)
    result = run(room, "learn", "--off", "nauplii_per_gram", now=now)
    assert result.exit_code == 0
    without = json.loads(run(room, "plan", "--json", now=now).output)
    assert plan["tasks"] != without["tasks"]
    bad = run(room, "learn", "--off", "everything", now=now)
    assert bad.exit_code == 2
    assert "there is no quantity named 'everything'" in bad.output


def test_a_culture_that_gives_too_little_is_flagged_with_the_evidence(room: Path) -> None:
    for day in ("04", "05"):
        run(room, "journal", "harvest", "MW-2", "25 mg", "--all", "--at", f"2027-01-{day}T12:00",
            now="2027-01-05T13:00")  # fmt: skip
    text = " ".join(run(room, "today", "--why", now="2027-01-05T14:00").output.split())
    assert "MW-2 gave 25 of" in text
    assert "likely souring early; split from another culture." in text


def test_screens_fit_eighty_columns(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today", "--all-day")
    done = at(room, "2027-01-05T08:30", "journal", "done").output
    assert max(map(len, done.splitlines())) <= 80
    for words in (
        ["learn"], ["journal", "show"], ["journal", "done", "--dry-run"], ["journal", "due"],
    ):  # fmt: skip
        text = at(room, "2027-01-05T19:30", *words).output
        assert max(map(len, text.splitlines())) <= 80, words


def test_an_answer_names_a_setting_that_is_due_and_stays(tmp_path: Path) -> None:
    """Who reads of changes alone would take it for gone; who notes something else is not told."""
    room = room_file(tmp_path, horizon_days="7")
    for clock in ("07:00", "17:30"):  # bottle 1 is drawn off in the morning
        at(room, f"2027-01-05T{clock}", "today")
    bought = " ".join(
        at(room, "2027-01-05T17:31", "journal", "bought", "cysts", "5 g").stdout.split()
    )
    assert "- still to do: Tue 5 Jan 18:30 set bottle 1: " in bought
    noted = at(room, "2027-01-05T17:32", "journal", "note", "MW-1", "smells fine").stdout
    assert "still to do" not in noted
    jotted(room, "2027-01-05T18:31", "set", "bottle 1", "1.5 g")
    later = at(room, "2027-01-05T18:32", "journal", "bought", "cysts", "5 g").stdout
    assert "still to do" not in later


def test_a_hatch_that_went_wrong_can_be_kept_out_of_what_is_learned(tmp_path: Path) -> None:
    """60,000 of 2 g are 30,000 a gram. Eight in ten tins lie within the range of the data about
    the demo's own 210,000: high is 2.5 times low, so it is divided and multiplied by 1.58.
    """
    path = room_file(tmp_path, horizon_days="7")
    jotted(path, "2027-01-05T08:00", "set", "bottle 2", "2", "g")
    noted = ["journal", "hatched", "bottle 2", "60000"]
    said = " ".join(at(path, "2027-01-06T08:00", *noted).stdout.split())
    line = re.search(r"Noted, line (\d+)", said)
    assert line is not None
    assert "That is 30,000 a gram of cysts; 133,000 to 332,000 are usual." in said
    assert f"journal undo --line {line[1]}, then note it again with --apart." in said
    jotted(path, "2027-01-06T08:05", "undo", "--line", line[1])
    said = at(path, "2027-01-06T08:10", *noted, "--apart", "--at", "08:00").stdout
    assert "a gram of cysts" not in said
    learned = json.loads(at(path, "2027-01-06T08:10", "learn", "--json").stdout)
    (found,) = (e for e in learned["estimates"] if e["quantity"] == "nauplii_per_gram")
    assert found["why"] == "nothing was noted yet"
    said = " ".join(at(path, "2027-01-06T08:10", "learn").stdout.split())
    assert "bottle 2: noted with --apart; fed as counted" in said
    jotted(path, "2027-01-06T08:20", "set", "bottle 2", "2", "g")
    usual = at(path, "2027-01-07T08:20", "journal", "hatched", "bottle 2", "380000").stdout
    assert "a gram of cysts" not in usual


@pytest.mark.parametrize(
    ("words", "subject", "note"),
    [
        (["power cut 20:00 to 22:15"], "room", "power cut 20:00 to 22:15"),
        (["MW-1 smells sour"], "MW-1", "smells sour"),
        (["bottle 1 leaks a little"], "bottle 1", "leaks a little"),
        (["bottle", "1", "leaks"], "bottle 1", "leaks"),
        (["room", "power cut"], "room", "power cut"),
    ],
)
def test_a_note_in_quotes_is_about_what_it_begins_with_or_the_room(
    room: Path, words: list[str], subject: str, note: str
) -> None:
    run(room, "journal", "note", *words)
    (entry,) = json.loads(run(room, "journal", "show", "--json").output)["entries"]
    assert (entry["subject"], entry["note"]) == (subject, note)


def test_a_hatch_of_nothing_is_no_silence(tmp_path: Path) -> None:
    """It says what to check at once, and `learn` counts it; so does one that is noted as failed."""
    path = quick_room(tmp_path)
    jotted(path, "2027-01-05T08:00", "set", "bottle 2", "2", "g")
    for words in (["hatched", "bottle 2", "0"], ["failed", "bottle 2"]):
        said = " ".join(at(path, "2027-01-06T08:00", "journal", *words).stdout.split())
        line = re.search(r"Noted, line (\d+)", said)
        assert line is not None
        for what in ("Nothing came of this hatch", "air, salt and heat", "unplug the heater",
                     "the tin may be bad"):  # fmt: skip
            assert what in said
        learned = " ".join(at(path, "2027-01-06T08:05", "learn").stdout.split())
        assert "seen 1 hatch that gave nothing" in learned
        assert "nauplii/g) usual 210,000 (133,000 to 332,000) seen nothing" not in learned
        assert "says that something is wrong" in learned
        assert "the tin may be bad" in learned
        jotted(path, "2027-01-06T08:10", "undo", "--line", line[1])
    learned = " ".join(at(path, "2027-01-06T08:15", "learn").stdout.split())
    assert "gave nothing" not in learned
    assert "the tin may be bad" not in learned


def test_what_is_usual_of_a_tin_is_what_it_gave(tmp_path: Path) -> None:
    """Hatch after hatch of 95,000 a gram, where 133,000 are usual: by the third nobody asks what
    went wrong. A sixth of that is no hatch of this tin, whose hatches differ by a fifth.
    """
    path = quick_room(tmp_path)
    asked = []
    for day, count in enumerate((190_000, 192_000, 188_000, 190_000, 30_000), start=5):
        jotted(path, f"2027-01-{day:02}T08:00", "set", "bottle 2", "2", "g")
        noted = ("journal", "hatched", "bottle 2", str(count))
        said = " ".join(at(path, f"2027-01-{day + 1:02}T07:55", *noted).stdout.split())
        asked.append("note it again with --apart" in said)
    assert asked == [True, asked[1], False, False, True]
    found = re.search(r"15,000 a gram of cysts; ([\d,]+) to ([\d,]+) are usual of this tin\.", said)
    assert found is not None
    low, high = (float(each.replace(",", "")) for each in found.groups())
    assert 40_000 < low < 95_000 < high < 200_000
