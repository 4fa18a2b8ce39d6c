"""The screen of the morning round."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve

from cli.screens import shortfalls as shortfalls_module
from cli.screens.remarks import _folded, said_once, short_notes
from cultures.planning.preparation import draws_at
from cultures.tasks.plan import OfWater, Remark
from tests.cli import rooms
from tests.cli.invented import (
    NOW,
    WHOLE,
    at,
    jotted,
    outlook,
    quick_room,
    room_file,
    room_of,
    run,
    run_json,
)

_CLOCK = re.compile(r"^  (\d\d):(\d\d)  ")


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The demo room, which looks ten days ahead here."""
    return room_of(request, tmp_path)


def _block(screen: str, heading: str) -> list[str]:
    """The lines under a heading, up to the next heading."""
    lines = screen.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith(heading))
    ends = [i for i in range(start + 1, len(lines)) if re.match(r"[A-Z][A-Z ]{2}", lines[i])]
    return lines[start : ends[0] if ends else len(lines)]


@pytest.mark.parametrize("options", [[], ["--next"], ["--all-day"], ["--tank", "B1"]])
@pytest.mark.parametrize("units", ["metric", "us"])
def test_no_line_is_longer_than_eighty_columns(
    tmp_path: Path, options: list[str], units: str
) -> None:
    room = quick_room(tmp_path, units=f'"{units}"', horizon_days="3")
    for day in (5, 17):
        now = f"2027-01-{day:02}T07:00"
        for line in run(room, "today", *options, now=now).stdout.splitlines():
            assert len(line) <= 80, line


@pytest.mark.parametrize(
    ("options", "now"), [([], NOW), (["--next"], "2027-01-04T19:00"), (["--all-day"], NOW)]
)
def test_steps_come_in_the_order_of_doing_and_end_at_the_round(
    room: Path, options: list[str], now: str
) -> None:
    block = _block(run(room, "today", *options, now=now).stdout, "ROUND 07:30")
    times = [int(m[1]) * 60 + int(m[2]) for line in block if (m := _CLOCK.match(line))]
    assert times == sorted(times)
    assert max(times) <= 7 * 60 + 30
    text = " ".join(" ".join(block).split())
    order = ["air off", "draw off the nauplii", "soak", "swipes", "fill to"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_dry_food_is_put_to_soak_a_quarter_of_an_hour_ahead(room: Path) -> None:
    block = _block(run(room, "today").stdout, "ROUND 07:30")
    assert next(line for line in block if "soak" in line).startswith("  07:15")


@WHOLE
def test_tanks_stand_in_the_order_of_the_room_with_the_amounts_of_the_plan(room: Path) -> None:
    block = _block(run(room, "today").stdout, "ROUND 07:30")
    lines = [x for x in run_json(room, "plan")["rounds"] if "T07:30" in x["at"]]
    lines = [x for x in lines if x["at"].startswith("2027-01-05") and x["amount"] > 0]
    tanks = list(dict.fromkeys(line["tank"] for line in lines))
    rows = [line.split() for line in block if line.split()[:1] and line.split()[0] in tanks]
    assert [row[0] for row in rows] == tanks
    for row in rows:
        mine = [x for x in lines if x["tank"] == row[0]]
        wanted = [f"{x['amount']:g} {x['unit']}" for x in mine if x["food"] != "dry"]
        # Dry food by the water that it is soaked in: 5 mL for 0.01 g.
        wanted += [f"{x['amount'] * 500:.0f} mL" for x in mine if x["food"] == "dry"]
        shown = re.findall(r"[\d.]+ (?:mL|g)\b", " ".join(row))
        assert sorted(shown) == sorted(wanted)


def test_next_is_the_round_after(room: Path) -> None:
    assert "ROUND 18:30, in 11 h 30 min" in run(room, "today", "--next").stdout
    assert "ROUND 07:30, in 30 min" in run(room, "today").stdout


def test_a_round_is_this_round_for_two_hours(room: Path) -> None:
    assert "ROUND 07:30, 1 h 59 min ago" in run(room, "today", now="2027-01-05T09:29").stdout
    assert "ROUND 18:30, in 8 h 59 min" in run(room, "today", now="2027-01-05T09:31").stdout


def _rounds(screen: str) -> list[str]:
    return re.findall(r"^ROUND (\d\d:\d\d)", screen, re.MULTILINE)


def test_all_day_has_every_round_of_the_day_that_is_not_over(room: Path) -> None:
    assert _rounds(run(room, "today", "--all-day").stdout) == ["07:30", "18:30"]
    assert _rounds(run(room, "today", "--all-day", now="2027-01-05T09:29").stdout) == [
        "07:30", "18:30",
    ]  # fmt: skip
    # What is over is not planned again, whether it was told or not.
    assert _rounds(run(room, "today", "--all-day", now="2027-01-05T15:00").stdout) == ["18:30"]
    assert _rounds(at(room, NOW, "today", "--all-day").stdout) == ["07:30", "18:30"]
    assert _rounds(at(room, "2027-01-05T09:29", "today", "--all-day").stdout) == ["07:30", "18:30"]
    assert _rounds(at(room, "2027-01-05T15:00", "today", "--all-day").stdout) == ["18:30"]


def test_tank_shows_that_tank_only(room: Path) -> None:
    block = _block(run(room, "today", "--tank", "B1").stdout, "ROUND 07:30")
    assert any(line.startswith("  B1") for line in block)
    assert not any(line.startswith(("  A3", "  C2")) for line in block)


def test_a_tank_that_is_not_there_is_named_with_the_nearest(room: Path) -> None:
    result = run(room, "today", "--tank", "B11", code=2)
    assert "there is no tank named 'B11'; did you mean 'B1'?" in result.stderr
    assert result.stdout == ""


def test_a_dry_tank_says_so(room: Path) -> None:
    assert "There are no fry in C3." in run(room, "today", "--tank", "C3").stdout


def test_next_and_all_day_do_not_go_together(room: Path) -> None:
    result = run(room, "today", "--next", "--all-day", code=2)
    assert "--next and --all-day do not go together" in result.stderr


def test_on_days_away_without_a_helper_nobody_feeds(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    room.write_text(room.read_text() + "\n[[away]]\nfrom = 2027-01-08\nto = 2027-01-09\n")
    assert "Nobody is there to feed." in run(room, "today", now="2027-01-08T07:00").stdout


def test_what_is_set_going_has_its_amounts_its_reason_and_its_caution(room: Path) -> None:
    screen = " ".join(run(room, "today", "--why").stdout.split())
    task = next(t for t in run_json(room, "plan")["tasks"] if t["what"] == "set_hatch")
    assert f"set {task['subject']}: {task['amounts']['cysts_g']:g} g cysts" in screen
    why, how = task["why"].split(" nauplii ")[1].split(" Hatching: ")
    assert why in screen
    assert how.rstrip(".") in screen
    assert "residual-current breaker" in screen
    assert "known allergen" in screen


def test_warnings_carry_the_latest_time_to_act_the_most_pressing_first(tmp_path: Path) -> None:
    room = room_file(tmp_path)  # in ten days nothing falls short that can still be prevented
    screen = " ".join(run(room, "today").stdout.split())
    shortfalls = run_json(room, "plan")["shortfalls"]
    remedies = sorted((r["by"], r["what"]) for s in shortfalls for r in s["remedies"])
    assert remedies
    by, what = remedies[0]
    at = datetime.fromisoformat(by)
    assert f"- by {at:%a} {at.day} {at:%b} {at:%H:%M}: {what}, or " in screen
    assert not any(s["cause"] in screen for s in shortfalls)
    why = " ".join(run(room, "today", "--why").stdout.split())
    assert any(s["cause"] in why for s in shortfalls)


def test_a_brood_not_counted_for_two_weeks_is_named(room: Path) -> None:
    fresh = run(room, "today", "--why", now="2027-01-17T07:00").stdout
    stale = run(room, "today", "--why", now="2027-01-20T07:00").stdout
    assert not re.search(r"not counted [^.]*platies 9", " ".join(fresh.split()))
    told = " ".join(stale.split())
    assert re.search(r"broods not counted for two weeks or more: [^.]*platies 9", told)
    assert "Nothing was told or noted since Mon 4 Jan, the day of the room file" in told
    assert "Note what was done, or set as_of and the counts in the room file." in told


def test_colour_is_an_aid_and_no_color_turns_it_off(room: Path) -> None:
    plain = run(room, "today").stdout
    coloured = run(room, "today", color=True).stdout
    silent = run(room, "today", color=True, env={"NO_COLOR": "1"}).stdout
    assert "\x1b[" not in plain
    assert "\x1b[" in coloured
    assert "\x1b[" not in silent
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain == silent


def test_what_stands_out_is_bold_or_reversed_and_so_reads_on_any_ground(room: Path) -> None:
    coloured = run(room, "today", "--all-day", color=True).stdout
    used = {int(code) for codes in re.findall(r"\x1b\[([0-9;]+)m", coloured)
            for code in codes.split(";")}  # fmt: skip
    assert used == {0, 1}


def test_the_jar_holds_what_the_rounds_take_from_it(tmp_path: Path) -> None:
    seen = outlook(tmp_path)
    taken: dict[tuple[str, datetime], float] = {}
    for feeding in seen.feedings:
        for draw in draws_at(seen, feeding.at):
            key = draw.vessel, draw.harvested
            if draw.jar_ml is not None:
                taken[key] = taken.get(key, 0.0) + draw.take_ml / draw.jar_ml
    assert taken
    assert all(share <= 1.0 + 1e-9 for share in taken.values())


def test_json_of_today_is_the_days_part_of_the_plan(room: Path) -> None:
    plan, today = run_json(room, "plan"), run_json(room, "today")
    assert today["tasks"] == [t for t in plan["tasks"] if t["at"][:10] == NOW[:10]]
    assert today["rounds"] == [x for x in plan["rounds"] if x["at"][:10] == NOW[:10]]


def test_what_was_due_earlier_today_is_not_passed_over(room: Path) -> None:
    (task,) = (
        t for t in run_json(room, "plan")["tasks"]
        if t["what"] == "set_hatch" and t["at"].startswith("2027-01-05")
    )  # fmt: skip
    assert task["at"][11:16] == "18:30"
    at(room, NOW, "today")
    for clock in ("18:00", "19:30", "20:29"):
        screen = at(room, f"2027-01-05T{clock}", "today").stdout
        assert f"18:30  set {task['subject']}:" in "\n".join(_block(screen, "TO SET GOING"))
    over = at(room, "2027-01-05T20:31", "today").stdout
    asked = _block(over, "TAKEN AS DONE, unless you say otherwise")
    assert any(re.match(rf"  +\d+  18:30  set {task['subject']}:", line) for line in asked)
    assert f"18:30  set {task['subject']}:" not in over.partition("TO SET GOING")[2]


@WHOLE
def test_what_runs_through_the_sieve_goes_back_into_the_bottle(room: Path) -> None:
    screen = " ".join(run(room, "today").stdout.split())
    assert re.search(
        r"VE-1: \d+ mL from the neck, sieve, pour the vinegar back into the bottle, rinse the"
        r" eels well", screen,
    )  # fmt: skip


def test_a_round_that_is_ticked_off_is_told_as_noted_and_the_next_one_shown(room: Path) -> None:
    at(room, NOW, "today")
    jotted(room, "2027-01-05T08:00", "done")
    for now in ("2027-01-05T08:05", "2027-01-05T09:00"):
        screen = at(room, now, "today").stdout
        assert "ROUND 07:30: over, and noted\n" in screen
        assert "ROUND 18:30, in " in screen
        assert "Nobody is there" not in screen
        assert "TAKEN AS DONE" not in screen
    out = room.with_name("sheet.html")
    run(room, "sheet", "--out", str(out), now="2027-01-05T08:05")
    at(room, "2027-01-05T14:00", "today")
    assert "TAKEN AS DONE" not in at(room, "2027-01-05T14:01", "today").stdout
    words = re.sub(r"<[^>]+>", "", out.read_text("utf-8").split("</style>")[1])
    assert "Round 07:30: over, and noted." in words


@WHOLE
def test_told_work_that_is_over_and_not_noted_is_asked_about_once(room: Path) -> None:
    # Nobody was told anything: there is nothing to ask, at any hour.
    assert "TAKEN AS DONE" not in run(room, "today", now="2027-01-05T12:00").stdout
    at(room, NOW, "today")
    jotted(room, "2027-01-05T07:20", "harvest", "MW-1", "6.5", "swipes")
    during = at(room, "2027-01-05T07:25", "today").stdout
    assert "07:20  (noted) MW-1: 6 1/2 swipes" in during
    # In hand for two hours: neither asked about nor gone.
    late = at(room, "2027-01-05T09:29", "today").stdout
    assert "07:20  (noted) MW-1: 6 1/2 swipes" in late
    assert "TAKEN AS DONE" not in late
    looked = at(room, "2027-01-05T09:31", "today").stdout
    block = _block(looked, "TAKEN AS DONE, unless you say otherwise")
    asked = "\n".join(block)
    assert re.search(r"(?m)^   1  07:00  harvest bottle 1: about [\d,]+ nauplii$", asked)
    # What was noted of MW-1 was number 2, and changes no other's.
    assert re.search(r"(?m)^   3  07:30  VE-1: \d+ mL from the neck", asked)
    assert re.search(r"(?m)^   4  07:30  feed the 07:30 round \(5 tanks\)$", asked)
    assert "MW-1" not in asked
    assert "livefood journal done. Not done: livefood journal skip NUMBER" in asked
    # Asked once; it stays in `due` until it is answered.
    assert "TAKEN AS DONE" not in at(room, "2027-01-05T09:32", "today").stdout
    due = json.loads(at(room, "2027-01-05T09:33", "journal", "due", "--json").stdout)
    assert [(row["what"], row["subject"], row["fate"]) for row in due] == [
        ("harvest_hatch", "bottle 1", "presumed"), ("harvest_worms", "VE-1", "presumed"),
        ("feed", "07:30 round", "presumed"),
    ]  # fmt: skip


def test_cautions_stand_in_full_where_their_steps_are(room: Path) -> None:
    block = " ".join(" ".join(_block(run(room, "today").stdout, "TAKE CARE")).split())
    assert "use a residual-current breaker (GFCI)" in block
    assert "Unplug the heater before you reach in." in block
    assert "bin a mouldy culture closed." in block
    assert "..." not in block


def test_after_the_round_the_jar_holds_what_no_round_took(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    taken = 0.0
    for now in ("2027-01-05T07:00", "2027-01-05T18:00"):
        screen = at(room, now, "today").stdout
        found = re.search(r"stir the jar of Tue 07:00, sieve (\d+) mL", " ".join(screen.split()))
        assert found is not None
        taken += int(found[1])
        match = re.search(
            r"(?m)^    (\d+) mL left in the jar of Tue 07:00, keeps until Thu 7 Jan 07:00$", screen
        )
        assert match is not None
        assert int(match[1]) == pytest.approx(500 - taken, abs=2)


def test_a_jar_is_made_ready_with_the_salt_of_its_vessel(room: Path) -> None:
    for options, now in (([], NOW), (["--next"], "2027-01-04T19:00")):
        screen = run(room, "today", *options, now=now).stdout
        assert "clean jar for bottle 1: 500 mL water, 12.5 g salt" in screen


def test_what_is_done_after_the_round_says_so(room: Path) -> None:
    assert "  07:30  after feeding: sort annuals 2" in run(room, "today").stdout


def test_without_broods_the_hatch_that_stands_is_still_drawn_off(room: Path) -> None:
    text = room.read_text("utf-8")
    head, *rest = re.split(r"(?=^\[)", text, flags=re.MULTILINE)
    kept = [part for part in rest if not part.startswith("[[brood]]")]
    room.write_text(head + "".join(kept), "utf-8")
    screen = run(room, "today", "--all-day").stdout
    assert "Nothing eats yet." in screen
    assert "bottle 1: draw off the nauplii" in screen
    before = _block(run(room, "today", now="2027-01-04T19:00").stdout, "CAN WAIT")
    assert before[1] == "  - Tue 07:00: bottle 1 is ripe for the round of 07:30"


def test_what_was_noted_of_things_does_not_stand_there_for_two_weeks(room: Path) -> None:
    run(room, "journal", "note", "MW-1", "smells", "sour", now="2027-01-05T07:00")
    run(room, "journal", "note", "MW-2", "is", "pink", now="2027-01-08T07:00")
    at_once = run(room, "today", now="2027-01-05T08:00").output
    assert "you noted of MW-1: smells sour" in at_once
    later = run(room, "today", now="2027-01-08T08:00").output
    assert "you noted of MW-2: is pink" in later
    assert "you noted of MW-1" not in later
    assert "and 1 more note of yours: livefood today --why" in later
    assert "smells sour" in run(room, "today", "--why", now="2027-01-08T08:00").output
    assert "of yours" not in run(room, "today", now="2027-01-25T08:00").output


def test_a_tank_with_a_remark_on_several_days_is_named_once() -> None:
    says = "measure, and change water before feeding more"
    notes = [
        OfWater(f"Tank {tank} from {day}: {says}. A day's food brings much.", tank, day, says)
        for day in ("Sat", "Tue") for tank in ("D4", "D9")
    ]  # fmt: skip
    assert _folded(notes) == [
        "Tanks D4 and D9: measure, and change water before feeding more."
    ]  # fmt: skip
    assert _folded(notes[::2]) == ["Tank D4: measure, and change water before feeding more."]


def test_tanks_given_too_much_are_one_remark_with_the_most_of_it() -> None:
    says = "times the ration is given; the rest fouls the water"
    tanks = {"A10": 1.6, "A9": 1.8, "A11": 1.5}
    notes = [OfWater("", tank, "Sat", says, times) for tank, times in tanks.items()]
    most = "Tanks A9 to A11: up to 1.8 times the ration is given; the rest fouls the water."
    assert _folded(notes) == [most]
    same = [evolve(note, times=1.6) for note in notes[:2]]
    assert _folded(same) == [most.replace("up to 1.8", "1.6").replace("A9 to A11", "A9 and A10")]


def test_what_is_said_of_one_tank_in_full_is_said_of_others_like_it_in_a_word() -> None:
    """Whatever the tanks are called, and none that gets another multiple of its ration."""
    says, names = "times the ration is given", ("A1", "far from Sat: B", "A3")
    notes = [
        OfWater(f"Tank {name} from today: {times} {says}. Feed less.", name, "today", says, times)
        for name, times in zip(names, (1.6, 1.6, 1.8), strict=True)
    ]
    assert said_once([notes[0], Remark("The file is old."), *notes[1:]]) == [
        f"{notes[0].text} Likewise tank far from Sat: B from today.",
        "The file is old.",
        notes[2].text,
    ]


def _counts(screen: str) -> list[str]:
    going = " ".join(" ".join(_block(screen, "TO SET GOING")).split())
    return re.findall(r"count (.*?)(?= \d\d:\d\d |$)", going)


def test_of_many_broods_a_few_are_to_be_counted_once_a_day(tmp_path: Path) -> None:
    """Nobody ever counts: on the third morning no more are named than on the first."""
    room = rooms.large(tmp_path)
    for day in (6, 7, 8):
        (morning,) = _counts(at(room, f"2027-01-{day:02}T07:00", "today").stdout)
        assert 1 <= morning.count(" in ") <= 4
        assert re.search(r" \(\d+ more this week: livefood plan\)", morning)
        assert not _counts(at(room, f"2027-01-{day:02}T18:00", "today").stdout)


def test_of_what_is_counted_only_it_is_said_what_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """What falls short and what is to be known stand in one block, and may both be more."""
    monkeypatch.setattr(shortfalls_module, "_one_line", lambda line, _: line)
    notes = short_notes([Remark(f"note {n}") for n in range(40)], "metric")
    lines: Any = [*map(str, range(40))]
    short = shortfalls_module._few(lines, "metric")
    assert re.fullmatch(r"and \d+ more to know: livefood today --why", notes[-1])
    assert re.fullmatch(r"  and \d+ more of what falls short: livefood shortfalls", short[-1])


def test_a_hatch_that_was_counted_is_not_called_by_another_number(tmp_path: Path) -> None:
    """It was told to give about 310,000; what stands at its step after the count is the count."""
    room = quick_room(tmp_path)
    at(room, "2027-01-05T06:40", "today")
    jotted(room, "2027-01-05T07:20", "hatched", "bottle 1", "100000", "--sure")
    said = " ".join(at(room, "2027-01-05T07:30", "today").stdout.split())
    assert "(noted: 100,000 nauplii) bottle 1: draw off the nauplii, sieve" in said
