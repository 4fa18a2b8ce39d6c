"""A brood that goes short, as screens tell it; one that is fed as told is told nothing of."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.cli.invented import at, jotted, quick_room, room_file

_NAME = "pearl danio 3"


def _room(folder: Path) -> Path:
    """The demo room, which looks a week ahead here: what is asked of it lies within five days."""
    return quick_room(folder, horizon_days="7")


def _skipping(room: Path, days: range) -> str:
    """Lives some days of January without feeding tank A3; the morning after them."""
    for day in days:
        at(room, f"2027-01-{day:02d}T06:45", "today", "--all-day")
        for noted in ("07:40", "18:50"):
            jotted(room, f"2027-01-{day:02d}T{noted}", "skip", "A3")
    return f"2027-01-{days.stop:02d}T06:45"


def _said(room: Path, now: str, *args: str) -> str:
    return " ".join(at(room, now, *args).output.split())


def test_a_brood_that_goes_short_is_told_how_far_it_is_behind(tmp_path: Path) -> None:
    room = _room(tmp_path)
    before = json.loads(at(room, "2027-01-05T06:45", "need", "--brood", _NAME, "--json").stdout)
    now = _skipping(room, range(5, 8))
    after = json.loads(at(room, now, "need", "--brood", _NAME, "--json").stdout)
    assert after["fed"]["share"] == 0
    assert after["fed"]["behind_growth_days"] == pytest.approx(3.0, abs=0.1)
    there = before["days"][0]["length_mm"]
    assert after["days"][0]["length_mm"] == pytest.approx(there, rel=0.03)
    shown = _said(room, now, "need", "--brood", _NAME)
    assert (
        "fed 0% of its need over the last 3 days: about 1.5 mm behind its class; without food"
        in shown
    )
    why = _said(room, now, "need", "--brood", _NAME, "--why")
    assert "- 3.0 for want of food" in why
    assert "over the last 3 days" in why
    _nothing_is_told_of_one_fed_as_told(room, now, "acara 5")
    shown = _said(room, _skipping(room, range(8, 10)), "today")
    assert "ACT NOW - Feed pearl danio 3 in A3 first, little and often" in shown
    assert shown.count("Feed pearl danio 3") == 1
    # Who is asked to see how many still eat may find few of them.
    refused = _said_wrong(room, now, "count", "acara 5", "3")
    assert "can hardly be all that are left" in refused
    assert "Noted" in _said(room, "2027-01-10T06:45", "journal", "count", _NAME, "20")


def _nothing_is_told_of_one_fed_as_told(room: Path, now: str, brood: str) -> None:
    assert "of its need" not in _said(room, now, "need", "--brood", brood)
    assert "for want of food" not in _said(room, now, "need", "--brood", brood, "--why")
    assert "fed" not in json.loads(at(room, now, "need", "--brood", brood, "--json").stdout)


def test_several_lean_broods_are_one_remark_the_leanest_first(tmp_path: Path) -> None:
    room = _room(tmp_path)
    away = "[[away]]\nfrom = 2027-01-05\nto = 2027-01-10\n"
    room.write_text(f"{room.read_text('utf-8')}\n{away}", "utf-8")
    at(room, "2027-01-04T18:00", "today")
    shown = _said(room, "2027-01-11T06:45", "today")
    assert shown.count("little and often") == 1
    every = re.search(r"without food half of them are past saving: (.*?)\. ", shown)
    assert every, shown
    assert every[1].rfind("(by now)") < every[1].find("Jan")
    hours = re.findall(r"\(by \w+ (\d+) Jan (\d\d):00\)", every[1])
    assert len(hours) >= 2
    assert hours == sorted(hours)


def _share(room: Path, now: str, brood: str = _NAME) -> float:
    """Of the last day: of two rounds one that was missed is half of it."""
    found = json.loads(at(room, now, "need", "--brood", brood, "--json").stdout)
    return round(float(found.get("fed", {"share": 1.0})["share"]), 2)


def test_that_nobody_fed_at_a_round_that_nobody_was_told_can_be_noted(tmp_path: Path) -> None:
    """Seen and fed in the morning; of the evening, which nobody looked at, nothing is known."""
    room, now = _room(tmp_path), "2027-01-06T06:45"
    evening = ("--at", "yesterday 18:30")
    at(room, "2027-01-05T06:45", "today")
    jotted(room, "2027-01-05T07:40", "done")
    assert _share(room, now) == 1.0
    ahead = at(room, now, "journal", "skip", "A3", code=2).output
    assert "no food was told for tank A3" in ahead
    jotted(room, now, "skip", "A3", *evening)
    assert (_share(room, now), _share(room, now, "acara 5")) == (0.5, 1.0)
    assert "A3: not fed (Tue 5 Jan 18:30)" in _said(room, now, "today")
    again = at(room, now, "journal", "skip", "A3", *evening, code=2).output
    assert "noted already, in line" in again
    jotted(room, now, "undo")
    jotted(room, now, "skip", "round", *evening)
    assert (_share(room, now), _share(room, now, "acara 5")) == (0.5, 0.5)
    said = at(room, now, "journal", "skip", "A9", *evening, code=2).output
    assert "A9" in said


def test_who_was_told_a_round_notes_of_it_as_before(tmp_path: Path) -> None:
    room, now = _room(tmp_path), "2027-01-06T06:45"
    at(room, "2027-01-05T18:00", "today")
    jotted(room, now, "skip", "A3", "--at", "yesterday 18:30")
    (entry,) = json.loads(at(room, now, "journal", "show", "--json").stdout)["entries"]
    assert entry["subject"] == "A3"
    assert _share(room, now) == 0.0


def test_what_was_told_by_a_wrong_count_was_less_for_each(tmp_path: Path) -> None:
    """Half of them were counted, fed for, and the count taken back once they were fed."""
    room = _room(tmp_path)
    found = json.loads(at(room, "2027-01-05T06:40", "need", "--brood", _NAME, "--json").stdout)
    half = str(round(found["days"][0]["count"] / 2))
    jotted(room, "2027-01-05T06:41", "count", "A3", half, "--sure")
    at(room, "2027-01-05T06:45", "today")
    jotted(room, "2027-01-05T07:31", "done")
    assert _share(room, "2027-01-05T12:00") == 1.0
    jotted(room, "2027-01-05T12:01", "undo", "--line", "2")
    assert _share(room, "2027-01-05T12:02") == pytest.approx(0.5, abs=0.05)
    assert _share(room, "2027-01-05T12:02", "acara 5") == 1.0


def test_what_there_was_no_food_for_counts_as_hunger(tmp_path: Path) -> None:
    """Larvae that take nauplii alone, and nobody hatched any: told, done, and nothing given."""
    text = """
[room]
name = "loft"
timezone = "Europe/Berlin"
temperature_c = 22
as_of = 2027-01-05
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
[supplies]
dry_g = 100
[[vessel]]
name = "bottle"
litres = 1
temperature_c = 26
[[tank]]
name = "A1"
litres = 20
temperature_c = 26
[[tank]]
name = "A2"
litres = 20
temperature_c = 26
[[brood]]
name = "young"
tank = "A1"
class = "south_american_annual"
count = 60
free_swimming = 2027-01-04
foods = ["brine_shrimp"]
[[brood]]
name = "grown"
tank = "A2"
class = "goldfish"
count = 20
length_mm = 35
measured_on = 2027-01-05
"""
    room = tmp_path / "room.toml"
    room.write_text(text, "utf-8")
    for look, noted in (("05T07:00", "05T07:40"), ("05T18:00", "05T18:40")):
        at(room, f"2027-01-{look}", "today")
        jotted(room, f"2027-01-{noted}", "done")
    assert _share(room, "2027-01-06T07:00", "grown") == 1.0
    assert _share(room, "2027-01-06T07:00", "young") == 0.0
    assert "Feed young in A1 first" in _said(room, "2027-01-06T07:00", "today")
    jotted(room, "2027-01-06T07:01", "fed", "A1", "--at", "yesterday 18:30")
    assert _share(room, "2027-01-06T07:02", "young") == 0.5


def test_fry_that_a_skipped_round_puts_in_danger_are_named_with_the_entry(tmp_path: Path) -> None:
    """First of all changes, with the hour, and not once more among the remarks."""
    room = _room(tmp_path)
    now = _skipping(room, range(5, 9))
    assert "first, little and often" not in _said(room, now, "today")
    at(room, "2027-01-09T06:50", "today")
    said = _said(room, "2027-01-09T18:50", "journal", "skip", "A3", "--at", "07:30")
    first = "The plan changes: - Feed pearl danio 3 in A3 first, "
    assert re.search(first + r".* past saving by \w+ \d+ Jan \d\d:00", said)
    assert said.count("Feed pearl danio 3") == 1


def test_the_round_at_a_time_is_skipped_by_that_word_where_it_was_told_too(tmp_path: Path) -> None:
    """With all that was to be taken for it, and nothing of another time."""
    room = room_file(tmp_path, horizon_days="3")
    at(room, "2027-01-05T06:45", "today")
    due = json.loads(at(room, "2027-01-05T07:39", "journal", "due", "--json").stdout)
    for_it = {t["subject"] for t in due if t["what"].startswith("harvest")}
    assert {"bottle 1", "MW-1"} <= for_it
    jotted(room, "2027-01-05T07:39", "done", "MW-1")
    jotted(room, "2027-01-05T07:40", "skip", "round")
    shown = at(room, "2027-01-05T07:41", "journal", "show", "--event", "skip", "--json").stdout
    skipped = {entry["subject"] for entry in json.loads(shown)["entries"]}
    assert skipped == {"07:30 round", *for_it} - {"MW-1"}
    again = at(room, "2027-01-05T07:45", "journal", "skip", "round", code=2).output
    assert (
        "that round is noted already (lines 2 to 5: Tue 5 Jan 07:40 skip 07:30 round"
        in " ".join(again.split())
    )


def test_a_tank_that_was_fed_at_a_round_that_nobody_was_told_is_noted(tmp_path: Path) -> None:
    """All but one went without; the later word holds, and a round to come is told first."""
    room, now, evening = _room(tmp_path), "2027-01-06T06:45", ("--at", "yesterday 18:20")
    at(room, "2027-01-05T06:45", "today")
    jotted(room, "2027-01-05T07:40", "done")
    assert "no food was told" in _said_wrong(room, now, "fed", "A3")
    jotted(room, now, "skip", "round", *evening)
    jotted(room, now, "fed", "A3", *evening, "--note", "eels of a friend")
    assert (_share(room, now), _share(room, now, "acara 5")) == (1.0, 0.5)
    shown = json.loads(at(room, now, "journal", "show", "--json").stdout)["entries"]
    assert shown[-1]["when"] == "2027-01-05T18:30:00+00:00"
    said = _said_wrong(room, now, "fed", "A3", "microworm", "5", "mL", *evening)
    assert "nothing was told for A3 at that round, so only that it was fed is noted" in said
    assert "'journal fed A3 --at \"2027-01-05 18:20\"'" in said  # as of now it would be another
    assert "there were no fry in tank B2" in _said_wrong(room, now, "fed", "B2", *evening)
    jotted(room, now, "undo")
    assert _share(room, now) == 0.5


def _said_wrong(room: Path, now: str, *args: str) -> str:
    return " ".join(at(room, now, "journal", *args, code=2).output.split())


def test_a_round_that_nobody_was_told_is_no_meal_of_the_day_away_after_it(tmp_path: Path) -> None:
    room = _room(tmp_path)
    away = "[[away]]\nfrom = 2027-01-06\nto = 2027-01-06\n"
    room.write_text(f"{room.read_text('utf-8')}\n{away}", "utf-8")
    at(room, "2027-01-05T06:45", "today")
    now = "2027-01-07T06:45"
    jotted(room, now, "fed", "A3", "--at", "2027-01-05T18:30")
    assert _share(room, now) == 0.0
