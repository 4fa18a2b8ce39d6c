"""What a trial of a fortnight found, each by the commands that showed it."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.cli.invented import WHOLE, at, jotted, room_file, room_of


def evening_round(screen: str) -> str:
    """The evening's round alone, without the earlier days' tasks taken as done."""
    round_ = screen.partition("ROUND 18:30")[2].partition("TO SET GOING")[0]
    assert round_.strip(), screen
    return round_


@pytest.fixture
def room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The demo room, which looks ten days ahead here."""
    return room_of(request, tmp_path, horizon_days="10")


def test_a_skip_never_reaches_another_day_and_no_round_is_jumped(room: Path) -> None:
    at(room, "2027-01-05T06:45", "today")
    at(room, "2027-01-05T06:50", "calendar", "--out", str(room.with_name("c.ics")))
    jotted(room, "2027-01-05T07:50", "done")
    first = at(room, "2027-01-05T07:51", "journal", "skip", "MW-1")
    assert "skip MW-1, its harvest" in first.output
    again = at(room, "2027-01-05T07:52", "journal", "skip", "MW-1", code=2)
    assert "what was told of 'MW-1' is noted already" in " ".join(again.output.split())
    assert "2027-01-06" not in room.with_name("journal.csv").read_text("utf-8")
    assert "ROUND 18:30, in 10 h" in at(room, "2027-01-05T07:53", "today").output


@pytest.mark.parametrize("time", ["07:20", "07:29", "07:31", "07:45"])
def test_an_amount_noted_after_a_tick_takes_its_place_whatever_its_time(
    room: Path, time: str
) -> None:
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T07:50", "done")
    jotted(room, "2027-01-05T07:55", "harvest", "MW-1", "4", "swipes", "--at", time)
    course = json.loads(at(room, "2027-01-05T12:00", "yield", "MW-1", "--json").stdout)
    (done,) = [x for x in course["done"] if x["at"].startswith("2027-01-05")]
    assert done["taken"] == pytest.approx(4 * 20)  # a swipe of 20 mg, as the data have it
    assert done["noted"]


def test_a_culture_that_crashed_after_the_calendar_told_is_not_harvested(room: Path) -> None:
    at(room, "2027-01-05T08:00", "calendar", "--out", str(room.with_name("c.ics")))
    jotted(room, "2027-01-06T12:00", "failed", "MW-1")
    for clock in ("2027-01-06T18:10", "2027-01-06T18:20", "2027-01-06T18:40"):
        screen = at(room, clock, "today").output
        assert "MW-1:" not in evening_round(screen), clock
    due = json.loads(at(room, "2027-01-06T18:41", "journal", "due", "--json").stdout)
    evening = [t for t in due if t["at"].startswith("2027-01-06T18")]
    assert evening
    assert "MW-1" not in {t["subject"] for t in evening}


@WHOLE
def test_what_was_noted_of_a_round_in_hand_is_planned_no_more(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T07:32", "done", "MW-1")
    tasks = json.loads(at(room, "2027-01-05T07:33", "plan", "--json").stdout)["tasks"]
    first = {t["subject"] for t in tasks if t["at"] < "2027-01-05T07:31"}
    assert "VE-1" in first
    assert "MW-1" not in first
    screen = at(room, "2027-01-05T07:33", "plan", "--feeding").output
    assert "MW-1" not in screen.partition("VE-1")[0]


def test_a_culture_counted_as_empty_is_not_harvested_and_stands_empty(room: Path) -> None:
    at(room, "2027-01-05T08:00", "calendar", "--out", str(room.with_name("c.ics")))
    jotted(room, "2027-01-06T12:00", "count", "MW-1", "0")
    assert "MW-1:" not in evening_round(at(room, "2027-01-06T18:20", "today").output)
    course = json.loads(at(room, "2027-01-06T12:30", "yield", "MW-1", "--json").stdout)
    assert course["days"][course["today"]]["stock"] == 0


def test_an_edited_file_keeps_the_cultures_that_only_the_journal_knows(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T12:00", "split", "MW-2", "MW-7")
    jotted(room, "2027-01-05T12:01", "failed", "MW-1")
    text = room.read_text("utf-8").replace("as_of = 2027-01-04", "as_of = 2027-01-06")
    room.write_text(text, "utf-8")
    course = json.loads(at(room, "2027-01-06T12:00", "yield", "MW-7", "--json").stdout)
    assert course["started"] == "2027-01-05"
    screen = " ".join(at(room, "2027-01-06T12:00", "today").output.split())
    assert "MW-1 stands in the room file, which is newer than journal line" in screen


def test_a_lost_record_puts_no_dry_food_back(room: Path) -> None:
    text = room.read_text("utf-8") + "\n[supplies]\ndry_g = 50\n"
    room.write_text(text, "utf-8")
    at(room, "2027-01-05T07:00", "today")
    jotted(room, "2027-01-05T07:50", "done")

    def dry() -> float:
        plan = json.loads(at(room, "2027-01-05T12:00", "plan", "--json").stdout)
        return float(next(s["stock_g"] for s in plan["supplies"] if s["item"] == "dry"))

    before = dry()
    assert before < 50
    room.with_name("told.jsonl").unlink()
    assert dry() == before


def test_done_says_what_it_left_for_later(room: Path) -> None:
    at(room, "2027-01-05T06:50", "today")
    listed = at(room, "2027-01-05T06:58", "journal", "due").output
    assert "harvest bottle 1" in listed
    done = at(room, "2027-01-05T07:01", "journal", "done").output
    assert "harvest bottle 1" in done


#: One tank, one bottle that ripens in a day and some hours, rounds half a day apart.
_ONE_BOTTLE = """
[room]
name = "One bottle"
timezone = "Europe/Lisbon"
temperature_c = 17
as_of = 2027-01-11
rounds = ["07:00", "18:30"]
awake = ["06:00", "22:00"]
fridge_c = 4

[[tank]]
name = "M3"
litres = 45
temperature_c = 25

[[brood]]
name = "rainbows"
tank = "M3"
class = "rainbowfish"
count = 80
free_swimming = 2026-12-30

[[vessel]]
name = "cone"
litres = 0.5
temperature_c = 25

[cysts]
grams = 9

[supplies]
salt_g = 250
"""


@pytest.fixture
def one_bottle(tmp_path: Path) -> Path:
    """The room with the cone."""
    path = tmp_path / "room.toml"
    path.write_text(_ONE_BOTTLE, "utf-8")
    return path


def _harvests(room: Path, clock: str) -> list[str]:
    plan = json.loads(at(room, clock, "plan", "--days", "2", "--json").stdout)
    return [t["at"] for t in plan["tasks"] if t["what"] == "harvest_hatch"]


def test_a_hatch_set_as_told_moves_no_other(one_bottle: Path) -> None:
    """Its margin is what it was set for: it is not fed from a round longer once it stands."""

    def hatches(clock: str) -> list[str]:
        plan = json.loads(at(one_bottle, clock, "plan", "--days", "4", "--json").stdout)
        days = ("2027-01-12", "2027-01-13", "2027-01-14")
        return [t["id"] for t in plan["tasks"] if "hatch" in t["what"] and t["at"][:10] in days]

    before = hatches("2027-01-11T06:15")
    at(one_bottle, "2027-01-11T06:16", "today")
    assert hatches("2027-01-11T07:10") == before
    jotted(one_bottle, "2027-01-11T07:25", "done")
    for clock in ("2027-01-11T07:26", "2027-01-11T20:00"):
        assert hatches(clock) == before


def test_a_hatch_set_as_told_is_drawn_off_when_it_was_told(one_bottle: Path) -> None:
    """Half a day later it would hold more; the round that it was set for would go without."""
    at(one_bottle, "2027-01-11T06:15", "today")
    (first, *_) = _harvests(one_bottle, "2027-01-11T06:15")
    assert first.startswith("2027-01-12T06:30")
    jotted(one_bottle, "2027-01-11T07:25", "done")
    for clock in ("2027-01-11T07:26", "2027-01-11T20:00", "2027-01-12T06:00"):
        assert _harvests(one_bottle, clock)[0] == first
    assert "Tue 12 Jan 07:00" not in at(one_bottle, "2027-01-11T07:26", "shortfalls").output


def test_a_bottle_taken_out_of_the_file_leaves_its_jar_and_its_salt(one_bottle: Path) -> None:
    bottle = _ONE_BOTTLE[_ONE_BOTTLE.index("[[vessel]]") : _ONE_BOTTLE.index("[cysts]")]
    with one_bottle.open("a", encoding="utf-8") as file:
        file.write(bottle.replace("cone", "flask"))
    at(one_bottle, "2027-01-11T06:15", "today")
    jotted(one_bottle, "2027-01-11T07:25", "done")
    at(one_bottle, "2027-01-12T06:35", "today")
    jotted(one_bottle, "2027-01-12T07:25", "done", "cone")
    before = json.loads(at(one_bottle, "2027-01-12T12:00", "plan", "--json").stdout)
    text = one_bottle.read_text("utf-8")
    one_bottle.write_text(text.replace(bottle, ""), "utf-8")
    after = json.loads(at(one_bottle, "2027-01-12T12:00", "plan", "--json").stdout)

    def salt(plan: Any) -> float:
        return next(float(s["stock_g"]) for s in plan["supplies"] if s["item"] == "salt")

    assert salt(after) == salt(before) < 250
    screen = at(one_bottle, "2027-01-12T12:00", "today").output
    assert "jar of Tue 06:30" in screen


def _moves(room: Path, clock: str) -> list[str]:
    plan = json.loads(at(room, clock, "plan", "--days", "40", "--json").stdout)
    return [t["at"][:16] for t in plan["tasks"] if t["what"] == "move_on"]


def test_fish_that_outgrow_their_tank_in_an_absence_are_moved_after_it(one_bottle: Path) -> None:
    """And it is told again until somebody notes the move."""
    (day, *_) = _moves(one_bottle, "2027-01-11T06:15")
    first = datetime.fromisoformat(day)
    away = f"\n[[away]]\nfrom = {first:%Y-%m-%d}\nto = {first + timedelta(days=2):%Y-%m-%d}\n"
    with one_bottle.open("a", encoding="utf-8") as file:
        file.write(away + '\n[[tank]]\nname = "M9"\nlitres = 200\ntemperature_c = 25\n')
    back = first + timedelta(days=3)
    for days in (-2, 1, 2):
        assert _moves(one_bottle, f"{first + timedelta(days=days):%Y-%m-%d}T12:00") == [
            f"{back:%Y-%m-%d}T07:00"
        ]
    at(one_bottle, f"{back:%Y-%m-%d}T06:30", "today")
    again = back + timedelta(days=2)
    assert _moves(one_bottle, f"{again:%Y-%m-%d}T06:30") == [f"{again:%Y-%m-%d}T07:00"]
    jotted(one_bottle, f"{again:%Y-%m-%d}T08:00", "move", "rainbows", "M9")
    assert f"{again:%Y-%m-%d}T18:30" not in _moves(one_bottle, f"{again:%Y-%m-%d}T08:05")


def test_what_is_taken_back_and_was_told_is_said_to_count_still(one_bottle: Path) -> None:
    at(one_bottle, "2027-01-11T06:15", "today")
    jotted(one_bottle, "2027-01-11T07:25", "done")
    words = ("journal", "undo", "--line", "3")
    said = " ".join(at(one_bottle, "2027-01-11T07:30", *words).output.split())
    assert said.endswith("still counts as done. If it was not: livefood journal skip cone")
    skip = at(one_bottle, "2027-01-11T07:31", "journal", "skip", "cone").output
    assert "skip cone, its setting" in skip


def test_what_is_taken_back_at_once_is_said_to_count_still(one_bottle: Path) -> None:
    at(one_bottle, "2027-01-11T06:15", "today")
    jotted(one_bottle, "2027-01-11T07:25", "done")
    said = " ".join(at(one_bottle, "2027-01-11T07:30", "journal", "undo").output.split())
    assert "so they still count as done" in said
    due = at(one_bottle, "2027-01-11T07:31", "journal", "due").output
    number = re.search(r"(\d+)  Mon 11 Jan 07:00  set cone", due)
    assert number is not None
    skip = at(one_bottle, "2027-01-11T07:32", "journal", "skip", number[1]).output
    assert "skip cone, its setting" in skip


def test_what_is_taken_back_is_named_so_that_skip_means_it(one_bottle: Path) -> None:
    """A bottle is drawn off and set again for one round: its name alone would mean the setting."""
    for day in (11, 12):
        at(one_bottle, f"2027-01-{day}T06:15", "today")
        jotted(one_bottle, f"2027-01-{day}T07:25", "done")
    rows = one_bottle.with_name("journal.csv").read_text("utf-8").splitlines()
    mine = [i for i, row in enumerate(rows, 1) if ",cone," in row and "2027-01-12" in row]
    line = next(i for i in mine if ",harvest," in rows[i - 1])
    assert any(",set," in rows[i - 1] for i in mine)
    said = at(one_bottle, "2027-01-12T07:26", "journal", "undo", "--line", str(line)).output
    name = said.partition("journal skip ")[2].split()[0]
    skip = at(one_bottle, "2027-01-12T07:27", "journal", "skip", name).output
    assert "skip cone, its harvest" in skip


def test_a_hatch_whose_drawing_off_was_skipped_is_drawn_off_later(one_bottle: Path) -> None:
    """Also while its round is in hand still: what the fry are to get of it must come from there."""
    at(one_bottle, "2027-01-11T06:15", "today")
    jotted(one_bottle, "2027-01-11T07:25", "done")
    at(one_bottle, "2027-01-12T06:15", "today")
    jotted(one_bottle, "2027-01-12T07:00", "skip", "1", "3")  # its setting too
    for clock in ("2027-01-12T07:31", "2027-01-12T12:00"):
        found = json.loads(at(one_bottle, clock, "plan", "--json").stdout)
        fed = min(
            (t["at"] for t in found["tasks"] if t["what"] == "feed" and t["at"][:16] > clock
             and t["amounts"].get("nauplii", 0) > 0), default="9999",
        )  # fmt: skip
        drawn = [
            t["at"] for t in found["tasks"] if t["what"] == "harvest_hatch" and t["at"] > clock
        ]
        assert fed < "9999"
        assert min(drawn) < fed, clock


def test_a_tank_whose_feeding_is_taken_back_is_named_so_that_skip_means_it(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    at(room, "2027-01-05T06:00", "today")
    jotted(room, "2027-01-05T07:40", "fed", "A3", "microworm", "5", "mL")
    said = " ".join(at(room, "2027-01-05T07:41", "journal", "undo").output.split())
    assert said.endswith("livefood journal skip A3")
    assert "skip A3" in at(room, "2027-01-05T07:42", "journal", "skip", "A3").output
    jotted(room, "2027-01-05T07:43", "undo")
    jotted(room, "2027-01-05T07:44", "fed", "A3", "microworm", "5", "mL")
    jotted(room, "2027-01-05T07:45", "done")
    again = at(room, "2027-01-05T07:46", "journal", "undo", "--line", "6").output
    assert "journal skip" not in again  # the round itself is noted


def test_a_number_means_a_line_of_the_list_and_nothing_that_lies_ahead(one_bottle: Path) -> None:
    at(one_bottle, "2027-01-11T06:15", "today", "--all-day")
    listed = json.loads(at(one_bottle, "2027-01-11T08:10", "journal", "due", "--json").stdout)
    for number in (len(listed) + 1, len(listed) + 2):
        said = at(one_bottle, "2027-01-11T08:10", "journal", "skip", str(number), code=2).output
        assert f"no task '{number}' is due" in said


def test_a_change_of_plan_is_never_one_into_the_same_words(one_bottle: Path) -> None:
    at(one_bottle, "2027-01-11T06:15", "today")
    for count in (78, 71, 66, 90):
        said = at(one_bottle, "2027-01-11T07:25", "journal", "count", "rainbows", str(count),
                  "--sure").output  # fmt: skip
        for line in " ".join(said.split()).split(" - ")[1:]:
            now, _, before = line.partition(" (was: ")
            assert before.rstrip(")") not in now or not before


def test_what_is_skipped_of_another_day_says_of_which(one_bottle: Path) -> None:
    at(one_bottle, "2027-01-11T18:00", "today")
    (number,) = (
        str(i) for i, t in enumerate(
            json.loads(at(one_bottle, "2027-01-12T06:00", "journal", "due", "--json").stdout), 1
        ) if t["what"] == "feed" and t["at"][:16] == "2027-01-11T18:30"
    )  # fmt: skip
    said = " ".join(at(one_bottle, "2027-01-12T06:01", "journal", "skip", number).output.split())
    assert "its feeding for Mon 11 Jan 18:30" in said
