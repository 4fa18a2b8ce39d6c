"""What the journal asks back before it notes it, and what it answers once it is sure."""

from __future__ import annotations

import json
import re
import shlex
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import main
from cli.screens.first_counts import note_of
from cli.screens.today import _questions
from cultures.fry.feeding import feeding_values
from cultures.planning.first_counts import Gain
from tests.cli.invented import at, jotted, outlook, quick_room, room_of, run, run_json
from tests.unit.recorded import told_task


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path)


def _said(room: Path, clock: str, *words: str, code: int = 0) -> str:
    return " ".join(at(room, clock, "journal", *words, code=code).output.split())


def test_a_number_may_come_before_the_name_unless_something_is_called_so(room: Path) -> None:
    assert "died acara 5 2 fry" in _said(room, "2027-01-05T07:00", "died", "2", "acara", "5")
    text = room.read_text("utf-8")
    room.write_text(text.replace('"C4"', '"3"'), "utf-8")
    refused = _said(room, "2027-01-05T07:10", "died", "3", "acara", "5", code=2)
    assert "acara 5" in refused
    assert "died 3 2 fry" not in refused
    assert "platies 9 2 fry" in _said(room, "2027-01-05T07:11", "died", "3", "2")


@pytest.mark.parametrize("words", [("spawn", "acara 5"), ("wetted", "annuals 2")])
def test_fry_become_eggs_only_for_sure_and_both_days_are_named(
    room: Path, words: tuple[str, ...]
) -> None:
    refused = _said(room, "2027-01-05T07:00", *words, code=2)
    assert f"{words[1]} first ate on" in refused
    assert "it would be eggs, and not be fed before" in refused
    assert not room.with_name("journal.csv").exists()
    noted = _said(room, "2027-01-05T07:01", *words, "--sure")
    day = refused.partition("first ate on ")[2].partition(";")[0]
    new = refused.partition("not be fed before ")[2].partition(";")[0]
    assert f"First food on {new} (was {day})." in noted


def test_eggs_of_another_day_are_noted_and_the_days_named(room: Path) -> None:
    """Spawned on 2 January they eat on the 6th: if it was two days later, on the 8th."""
    shown = at(room, "2027-01-05T07:00", "check").output
    row = next(line for line in shown.splitlines() if line.startswith("  honey gourami 7"))
    assert row.rstrip().endswith("Wed 6 Jan")
    noted = _said(room, "2027-01-05T07:01", "spawn", "honey gourami 7", "--at", "4 Jan 12:00")
    assert "First food on Fri 8 Jan (was Wed 6 Jan)." in noted
    again = _said(room, "2027-01-05T07:02", "spawn", "honey gourami 7", "--at", "4 Jan 13:00")
    assert "First food" not in again


def test_an_empty_bottle_is_not_drawn_off(room: Path) -> None:
    refused = _said(room, "2027-01-05T07:00", "harvest", "bottle 2", code=2)
    assert "no hatch stands in bottle 2; note first that it was set; if it is so" in refused
    assert not room.with_name("journal.csv").exists()


def test_a_setting_noted_wrongly_is_put_right_at_its_moment(room: Path) -> None:
    """Its line is named, and ``--sure`` puts the new grams in the place of the old."""
    anew = ("set", "bottle 2", "0.8", "--at", "07:00")
    jotted(room, "2027-01-05T07:00", "set", "bottle 2", "3")
    refused = _said(room, "2027-01-05T08:00", *anew, code=2)
    assert "if that setting is the mistake: journal undo --line 2; if it is so all" in refused
    noted = _said(room, "2027-01-05T08:00", *anew, "--sure")
    assert "Noted, line 3: Tue 5 Jan 08:00 undo 2 set bottle 2" in noted
    again = _said(room, "2027-01-05T09:00", "set", "bottle 2", "1", code=2)
    assert "holds a hatch of 0.8 g, set on Tue 5 Jan 07:00" in again
    # Both lines are one answer: taken back, the hatch of 3 g stands as it did.
    jotted(room, "2027-01-05T09:00", "undo")
    assert "a hatch of 3 g" in _said(room, "2027-01-05T09:00", "set", "bottle 2", "1", code=2)


def test_ten_times_the_cysts_that_were_told_are_asked_back(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    lines = room.with_name("told.jsonl").read_text("utf-8").splitlines()
    rows = [row for line in lines for row in json.loads(line).get("told", ())]
    told = next(row for row in rows if row["what"] == "set_hatch")
    grams, vessel = told["amounts"]["cysts_g"], told["subject"]
    words = ("set", vessel, f"{10 * grams:g}", "--at", told["at"][:16])
    refused = _said(room, told["at"][:16], *words, code=2)
    assert f"; did you mean {grams:.3g} g?" in refused
    assert f"set {vessel} " in _said(room, told["at"][:16], *words, "--sure")


def test_a_spoon_of_dry_food_is_weight_and_no_water_that_it_was_soaked_in(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today")
    # A US teaspoon is 1/768 of a gallon of 231 cubic inches (NIST Handbook 44).
    spoon_g = 231 * 2.54**3 / 768 / 8 * feeding_values()["dry_g_per_ml"]
    words = ("fed", "C4", "dry", "1/8 tsp")
    refused = _said(room, "2027-01-05T07:40", *words, code=2)
    assert f"{spoon_g:.3g} g of dry food cannot have gone into C4" in refused
    noted = _said(room, "2027-01-05T07:40", *words, "--sure")
    assert f"fed C4, {spoon_g:.3g} g of dry food" in noted


def test_doses_are_millilitres_in_a_room_with_us_units_too(tmp_path: Path) -> None:
    room = quick_room(tmp_path, units='"us"')
    at(room, "2027-01-05T07:00", "today")
    refused = _said(room, "2027-01-05T07:40", "fed", "B1", "nauplii", "600 mL", code=2)
    assert "600 mL of nauplii cannot have gone into B1: the whole cup was told to be" in refused
    assert "fl oz" not in refused


def test_brine_shrimp_that_were_bought_are_cysts(room: Path) -> None:
    """Also in a line that was noted or imported under that name."""
    for name, clock in (("brine_shrimp", "07:00"), ("cysts", "07:15")):
        jotted(room, f"2027-01-05T{clock}", "bought", name, "10 g")
    room.with_name("journal.csv").write_text(
        room.with_name("journal.csv").read_text("utf-8").replace("cysts", "brine_shrimp", 1),
        "utf-8",
    )
    row = next(
        line for line in at(room, "2027-01-05T07:16", "plan").output.splitlines()
        if line.startswith("  cysts ")
    )  # fmt: skip
    assert "50 g" in row  # 30 g of the file and twice 10 g


def test_a_bought_starter_is_told_how_to_be_started(room: Path) -> None:
    noted = _said(room, "2027-01-05T07:00", "bought", "microworm", "starter", "20 g")
    assert "livefood journal start MW-3 microworm --starter '20 g'" in noted
    jotted(room, "2027-01-05T07:01", "start", "MW-3", "microworm", "--starter", "20 g")
    again = _said(room, "2027-01-05T07:15", "bought", "microworm", "20 g")
    assert "journal start MW-4 microworm" in again


def test_a_heat_that_is_true_is_noted_and_what_dies_of_it_comes_first(room: Path) -> None:
    refused = _said(room, "2027-01-05T07:00", "temperature", "room", "97 F", code=2)
    assert "room at 36.11 °C: microworm dies at 35 °C and above (MW-1, MW-2)" in refused
    assert "Nothing was noted." in refused
    noted = _said(room, "2027-01-05T07:01", "temperature", "room", "97 F", "--sure")
    assert "MW-1, MW-2 at 36.1 °C: microworm dies at 35 °C and above. Move what lives" in noted
    shown = at(room, "2027-01-05T07:02", "today").output.partition("ROUND")[0]
    assert "MW-1, MW-2 at 36.1 °C: microworm dies" in " ".join(shown.split())
    own = _said(room, "2027-01-05T07:03", "temperature", "MW-1", "97 F", code=2)
    assert "MW-1 at 36.11 °C: microworm dies at 35 °C and above; if it is so" in own
    jotted(room, "2027-01-05T07:04", "temperature", "MW-1", "24")


def test_a_long_line_that_is_noted_begins_where_a_short_one_does(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "50")
    words = ("journal", "temperature", "B1", "25", "--note", "the heater stood at twenty-three")
    said = at(room, "2027-01-05T07:00", *words).output.splitlines()
    assert said[0].startswith("Noted, line 2: Tue 5 Jan 07:00  temperature B1")
    assert said[1].startswith("  ")
    assert "twenty-three" in " ".join(said[:3])


def test_one_temperature_of_several_things_is_an_entry_of_each(room: Path) -> None:
    clock = "2027-01-05T07:00"
    jotted(room, clock, "temperature", "B1", "C4", "bottle", "1", "B1", "77", "F")
    rows = room.with_name("journal.csv").read_text("utf-8").splitlines()[1:]
    assert [tuple(row.split(",")[2:6]) for row in rows] == [
        (name, "", "25", "C") for name in ("B1", "C4", "bottle 1")
    ]
    wrong = _said(room, clock, "temperature", "B1", "C44", "25", code=2)
    assert "named 'C44'" in wrong
    cold = _said(room, clock, "temperature", "B1", "MW-1", "36", code=2)  # dies at that
    assert "Nothing was noted" in cold
    assert len(room.with_name("journal.csv").read_text("utf-8").splitlines()) == 4


def test_a_tank_is_no_exception_of_a_round_but_noted_before_it(room: Path) -> None:
    at(room, "2027-01-05T07:20", "today")
    said = _said(room, "2027-01-05T07:40", "done", "--except", "C4", code=2)
    assert "first 'livefood journal fed C4 FOOD AMOUNT'" in said
    assert "'livefood journal skip C4' where that is nothing, then 'livefood journal done'" in said
    assert not room.with_name("journal.csv").exists()
    # Its lid and its sorting are noted in their own words, and not ticked off.
    named = _said(room, "2027-01-05T07:40", "done", "C4", code=2)
    assert "'sorted', 'lid'" in named
    assert "needs no note" not in named


def test_a_power_cut_that_is_noted_late_delays_the_hatch_and_is_asked_for_its_end(
    room: Path,
) -> None:
    """Cysts that stand still go on once they are warm: so many hours later as it was cold."""

    def ripe() -> datetime:
        tasks = run_json(room, "plan", now="2027-01-05T06:40")["tasks"]
        mine = (t for t in tasks if (t["what"], t["subject"]) == ("harvest_hatch", "bottle 1"))
        return min(datetime.fromisoformat(t["at"]) for t in mine)

    was, cold = ripe(), ("temperature", "bottle 1", "4", "--at", "yesterday 12:00")
    assert "no hatching time can be promised" in _said(room, "2027-01-05T06:40", *cold, code=2)
    noted = _said(room, "2027-01-05T06:40", *cold, "--sure")
    again = "livefood journal temperature 'bottle 1' 27 °C --at"
    assert f"Once it is 27 °C again: {again} TIME" in noted
    assert "no hatching time can be promised" in run(room, "plan", now="2027-01-05T06:40").output
    warm = _said(room, "2027-01-05T06:40", *shlex.split(again)[2:], "yesterday 20:00")
    assert "Once it is" not in warm
    assert ripe() >= was + timedelta(hours=8)


def test_no_more_is_used_up_than_there_is_without_a_question(room: Path) -> None:
    for stock in ("cysts", "microworm_medium"):
        jotted(room, "2027-01-05T07:00", "count", stock, "40 g")
        refused = _said(room, "2027-01-05T07:01", "used", stock, "500 g", code=2)
        what = stock.replace("_", " ")
        assert f"by all that is known there are 40 g of {what}, not 500 g; if it is so" in refused
        assert "Nothing was noted." in refused
        jotted(room, "2027-01-05T07:02", "used", stock, "500 g", "--sure")
    jotted(room, "2027-01-05T07:03", "used", "salt", "500 g")  # of which nothing was ever said


def test_worms_that_were_told_are_said_as_they_were_told(room: Path) -> None:
    """Also once a swipe was counted and is reckoned to be more."""
    shown = at(room, "2027-01-05T07:00", "today").output
    found = re.search(r"MW-1: ([\d /]+) swipes", shown)
    assert found is not None
    for clock in ("07:01", "07:02"):
        jotted(room, f"2027-01-05T{clock}", "count", "MW-1", "30000", "--sure")
    noted = _said(room, "2027-01-05T07:32", "done", "MW-1")
    assert f"harvest MW-1 {found[1]} swipes" in noted
    amended = _said(room, "2027-01-05T07:33", "undo")
    assert "undo" in amended
    more = _said(room, "2027-01-05T07:34", "harvest", "MW-1", "12", "swipes", "--at", "07:30")
    assert f"You were told {found[1]} swipes; what you noted counts." in more


def test_the_last_that_died_are_said_to_be_the_last(room: Path) -> None:
    some = _said(room, "2027-01-05T07:00", "died", "platies 9", "5")
    assert "About 30 of platies 9 are left." in some  # of 35
    jotted(room, "2027-01-05T07:00", "died", "platies 9", "26")
    last = _said(room, "2027-01-05T07:01", "died", "platies 9", "4")
    assert "None of platies 9 are left." in last
    gone = _said(room, "2027-01-05T07:02", "count", "platies 9", "3", code=2)
    assert "platies 9 was noted as dead on Tue 5 Jan 07:01 (line 4)" in gone
    assert "journal undo --line 4" in gone


def test_a_count_of_none_is_asked_back_and_named_as_what_ended_the_brood(room: Path) -> None:
    """Losses noted before explain few fry, and not that all are gone; 36 are there."""
    jotted(room, "2027-01-05T07:00", "died", "platies 9", "5")
    refused = _said(room, "2027-01-05T07:01", "count", "platies 9", "0", code=2)
    assert "0 fry of platies 9 would be the end of it: about" in refused
    assert "journal lost 'platies 9' --all" in refused
    assert "add --sure" in refused
    noted = _said(room, "2027-01-05T07:02", "count", "platies 9", "0", "--sure")
    assert "None of platies 9 are left." in noted
    gone = _said(room, "2027-01-05T07:03", "count", "platies 9", "20", code=2)
    assert "platies 9 was counted as 0 on Tue 5 Jan 07:02 (line 3)" in gone
    assert "journal undo --line 3" in gone
    jotted(room, "2027-01-05T07:04", "undo", "--line", "3")
    jotted(room, "2027-01-05T07:05", "count", "platies 9", "20")


def test_a_few_fry_may_all_be_gone(room: Path) -> None:
    jotted(room, "2027-01-05T07:00", "died", "platies 9", "28")
    assert "None of platies 9" in _said(room, "2027-01-05T07:01", "count", "platies 9", "0")


def test_a_skip_says_of_which_round_where_it_is_not_the_one_at_hand(room: Path) -> None:
    at(room, "2027-01-05T07:00", "today", "--all-day")
    assert "skip MW-1, its harvest What" in _said(room, "2027-01-05T07:20", "skip", "MW-1")
    assert "skip MW-1, its harvest for 18:30" in _said(room, "2027-01-05T12:00", "skip", "MW-1")


def test_several_swipes_are_noted_one_by_one() -> None:
    for what, times, ends in (("swipe", 2, ", once for each swipe"), ("draw", 3, "each draw"),
                              ("swipe", 1, " 14000"), ("fish", 2, " 55")):  # fmt: skip
        gain = Gain(what, "MW-1", times, 12.0, 0.02, 0.01, 0.9)
        assert note_of(gain).endswith(ends)


def test_a_wrong_option_is_one_message_as_wide_as_the_screen(room: Path) -> None:
    env = {"COLUMNS": "60"}
    words = ("journal", "died", "platies 9", "3", "--at", "tomorrow")
    said = CliRunner().invoke(main, [*words, "--room", str(room)], env=env)
    assert said.exit_code == 2
    assert said.output.startswith("Error: Invalid value for '--at': 'tomorrow' is not a time")
    assert " ".join(said.output.split()).endswith("; see 'main journal died --help'")
    assert max(map(len, said.output.splitlines())) <= 60


@pytest.mark.parametrize("words", [("sold",), ("died",), ("lost",), ("move", "B2")])
def test_none_that_leave_are_nothing_to_note(room: Path, words: tuple[str, ...]) -> None:
    event, *tank = words
    said = _said(room, "2027-01-05T07:00", event, "acara 5", *tank, "0", code=2)
    assert "0 fry of acara 5 are none: there is nothing to note" in said
    assert not room.with_name("journal.csv").exists()


def test_a_brood_does_not_move_to_where_it_is(room: Path) -> None:
    tank = re.search(r'name = "acara 5"\ntank = "(.+?)"', room.read_text("utf-8"))
    assert tank
    said = _said(room, "2027-01-05T07:00", "move", "acara 5", tank[1], code=2)
    assert f"acara 5 is in tank {tank[1]} already" in said


def test_a_round_is_skipped_by_the_clock_of_the_room_and_on_the_day_that_is_said(
    tmp_path: Path,
) -> None:
    room = quick_room(tmp_path, units='"us"')
    for day in (5, 6):
        at(room, f"2027-01-0{day}T07:20", "today", "--all-day")
    at(room, "2027-01-07T07:00", "today")
    there = ("--at", "2027-01-05 18:30")
    said = _said(room, "2027-01-07T07:00", "skip", "6:30", "pm", "round", *there)
    assert "Tue Jan 5, 6:30 pm skip 6:30 pm round, its feeding" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["add", "stock", "salt", "-5", "g"], "'-5' begins with a minus sign: write 5, not -5"),
        (["history", "-1"], "'-1' begins with a minus sign: write 1, not -1"),
        (["journal", "temperature", "room", "-5", "F"], "put -- before it, like: -- -5"),
        (["ready", "bubble_nest", "9", "--on", "2027-02-01", "--first-food", "2027-02-05"],
         "--on and --first-food are two ways to say when: give one of them"),
        (["journal", "planned", "room", "--on", "2027-02-01", "--tank", "B4", "--class",
          "egg_scatterer", "--count", "9"], "'room' is the room itself"),
        (["journal", "harvest", "MW-1", "1000000", "swipes"], "1,000,000 swipes is not possible"),
        (["journal", "hatched", "bottle 1", "--drops", "1 2", "--drop-ml", "0", "--of-ml", "9"],
         "the volume of a drop [mL] must be above 0"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_in_words(room: Path, words: list[str], said: str) -> None:
    assert said in " ".join(at(room, "2027-01-05T07:00", *words, code=2).output.split())


def test_days_are_those_of_the_rooms_country_in_answers_and_the_title_of_the_sheet(
    tmp_path: Path,
) -> None:
    room = quick_room(tmp_path, units='"us"')
    ahead = _said(room, "2027-01-05T07:00", "died", "acara 5", "1", "--at", "2027-01-06T09:00",
                  code=2)  # fmt: skip
    assert "Wed Jan 6, 2027, 9 am lies in the future" in ahead
    page = tmp_path / "sheet.html"
    at(room, "2027-01-05T07:00", "sheet", "--out", str(page))
    title = re.search("<title>(.+?)</title>", page.read_text("utf-8"))
    assert title
    assert "Jan 5, 2027" in title[1]
    assert "2027-01" not in title[1]


@pytest.mark.parametrize(("numbers", "gap"), [((2, 3), False), ((2, 4), True)])
def test_numbers_that_do_not_follow_one_another_say_where_the_others_are(
    tmp_path: Path, numbers: tuple[int, int], gap: bool
) -> None:
    view = outlook(tmp_path, horizon_days="3")
    tasks = [told_task("retire", view.now, name) for name in ("MW-1", "VE-1")]
    shown = {t.task.id: n for t, n in zip(tasks, numbers, strict=True)}
    others = {f"other {n}": n for n in range(1, 6) if n not in numbers}
    said = " ".join(_questions(tasks, view, {**shown, **others}).split())
    assert ("What the numbers between are: livefood journal due." in said) is gap


def test_a_round_that_is_noted_is_not_skipped_and_no_other_in_its_place(room: Path) -> None:
    for day in (5, 6):
        at(room, f"2027-01-0{day}T18:31", "today")
        if day == 5:
            jotted(room, "2027-01-05T18:45", "done")
    there = ("--at", "2027-01-05T18:30")
    refused = _said(room, "2027-01-06T18:45", "skip", "round", *there, code=2)
    assert "that round is noted already (lines" in refused
    span = re.findall(r"undo --line (\d+-\d+)", refused)[0]
    by_name = _said(room, "2027-01-06T18:45", "skip", "MW-1", *there, code=2)
    assert "what was told of 'MW-1' is noted already (Tue 5 Jan 18:30" in by_name
    jotted(room, "2027-01-06T18:46", "undo", "--line", span)
    noted = _said(room, "2027-01-06T18:47", "skip", "round", *there)
    assert "Tue 5 Jan 18:30 skip 18:30 round, its feeding" in noted
    assert "Wed 6 Jan 18:30 skip" not in noted


@pytest.mark.parametrize(
    ("words", "later"),
    [(("harvest", "MW-1", "2", "swipes"), 60), (("sold", "acara 5", "3"), 180),
     (("used", "cysts", "0.1 g"), 10)],
)  # fmt: skip
def test_what_adds_up_and_was_noted_just_before_is_asked_back(
    room: Path, words: tuple[str, ...], later: int
) -> None:
    start = datetime.fromisoformat("2027-01-05T07:00")
    jotted(room, start.isoformat(), *words)
    soon = (start + timedelta(minutes=later - 1)).isoformat()
    refused = _said(room, soon, *words, code=2)
    assert "line 2 says the same, and a second time would count twice" in refused
    jotted(room, (start + timedelta(minutes=later + 1)).isoformat(), *words)
    jotted(room, (start + timedelta(minutes=later + 2)).isoformat(), *words, "--sure")


def test_a_tank_may_be_named_by_the_brood_that_is_alone_in_it(room: Path) -> None:
    at(room, "2027-01-05T07:29", "today")
    assert "fed B1" in _said(room, "2027-01-05T07:40", "fed", "acara 5")
    jotted(room, "2027-01-05T07:41", "move", "annuals 2", "B1", "--sure")
    refused = _said(room, "2027-01-05T07:42", "fed", "acara 5", code=2)
    assert "acara 5 is in B1 with others, which this is noted of as a whole: B1" in refused
