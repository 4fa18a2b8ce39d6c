"""What an edit of the room file by hand changes of the past, or puts together, is said once."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cultures.record.history import history_path
from tests.cli.invented import at, jotted, room_file, run, run_json
from tests.cli.rooms import small

_NOW = "2027-01-12T12:00"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = small(tmp_path)
    at(path, "2027-01-12T08:00", "today")
    return path


def _edit(room: Path, before: str, after: str) -> None:
    text = room.read_text("utf-8")
    assert before in text
    room.write_text(text.replace(before, after), "utf-8")


def _length_mm(room: Path) -> float:
    (brood,) = run_json(room, "check", now=_NOW)["broods"]
    length: float = brood["length_mm"]
    return length


def test_what_it_makes_of_the_past_is_said_with_what_to_note(room: Path) -> None:
    was = _length_mm(room)
    _edit(room, "temperature_c = 26", "temperature_c = 22")
    said = " ".join(run(room, "check", now=_NOW).output.split())
    assert "A1 is reckoned at 22 °C since Mon 4 Jan, no longer at 26 °C" in said
    assert "put 26 °C back and note: livefood journal temperature A1 22 °C" in said
    assert "A1 is reckoned at 22 °C since Mon 4 Jan" in run(room, "today", now=_NOW).output
    assert _length_mm(room) < was
    _edit(room, "temperature_c = 22", "temperature_c = 26")  # as it says
    jotted(room, _NOW, "temperature", "A1", "22", "°C")
    assert _length_mm(room) == pytest.approx(was)


def test_it_is_said_until_it_is_told_from(room: Path) -> None:
    _edit(room, "temperature_c = 24", "temperature_c = 21")
    assert "The room is reckoned at 21 °C" in at(room, "2027-01-13T06:00", "today").output
    assert "is reckoned at" not in at(room, "2027-01-13T06:10", "today").output


def test_what_is_put_back_as_it_was_asked_for_is_not_asked_back_again(room: Path) -> None:
    """The file was told from in between: to put it back is not another edit of the past."""
    _edit(room, "temperature_c = 26", "temperature_c = 22")
    asked = _said(at(room, _NOW, "today").output)
    assert "put 26 °C back and note: livefood journal temperature A1 22 °C" in asked
    _edit(room, "temperature_c = 22", "temperature_c = 26")
    said = _said(run(room, "check", now="2027-01-12T12:05").output)
    assert "A1 is reckoned at 26 °C since Mon 4 Jan again" in said
    assert "If it is 22 °C from now on, note: livefood journal temperature A1 22 °C" in said
    assert "22 °C back" not in said
    noted = at(room, "2027-01-12T12:06", "journal", "temperature", "A1", "22", "°C").output
    for answer in (noted, at(room, "2027-01-12T12:07", "today").output):
        assert "is reckoned at" not in answer
    # Another temperature of the past is one, whatever the file once said.
    _edit(room, "temperature_c = 26", "temperature_c = 21")
    assert "put 26 °C back" in _said(run(room, "check", now="2027-01-12T12:08").output)


def test_nothing_is_said_where_as_of_moves_on(room: Path) -> None:
    _edit(room, "temperature_c = 26", "temperature_c = 22")
    _edit(room, "as_of = 2027-01-04", "as_of = 2027-01-12")
    assert "is reckoned at" not in run(room, "check", now=_NOW).output


def test_a_thing_that_was_renamed_is_said_before_all_else(room: Path) -> None:
    jotted(room, _NOW, "fed", "A1")
    _edit(room, 'name = "A1"', 'name = "Shelf 3"')
    _edit(room, 'tank = "A1"', 'tank = "Shelf 3"')
    for command in ("check", "today"):
        screen = run(room, command, now=_NOW).output
        assert "'A1' was renamed to 'Shelf 3' in the room file" in " ".join(screen.split())
        assert screen.index("was renamed") < screen.find("ROUND") % len(screen)
        assert "room.toml is fine" not in screen


def test_a_thing_of_which_nothing_was_noted_has_no_past(room: Path) -> None:
    _edit(room, 'name = "A1"', 'name = "Shelf 3"')
    _edit(room, 'tank = "A1"', 'tank = "Shelf 3"')
    assert "renamed" not in run(room, "check", now=_NOW).output


def test_a_brood_that_was_only_told_to_be_fed_is_not_renamed_in_silence(room: Path) -> None:
    """How hungry it is was reckoned from its rounds, which know it by its old name."""
    _edit(room, 'name = "barbs"', 'name = "rosy barbs"')
    for command in ("check", "today"):
        said = _said(run(room, command, now=_NOW).output)
        assert "'barbs' was renamed to 'rosy barbs' in the room file: what was told of it" in said
    _edit(room, 'name = "rosy barbs"', 'name = "barbs"')
    assert "renamed" not in run(room, "check", now=_NOW).output
    jotted(room, _NOW, "count", "barbs", "50")
    _edit(room, 'name = "barbs"', 'name = "rosy barbs"')
    said = _said(run(room, "check", now="2027-01-12T12:05").output)
    assert "what was noted and told of it under its old name counts no more" in said


def test_another_brood_in_the_place_of_one_that_was_fed_is_no_new_name(room: Path) -> None:
    _edit(room, 'name = "barbs"', 'name = "rosy barbs"')
    _edit(room, "count = 60", "count = 61")
    assert "renamed" not in run(room, "check", now=_NOW).output


def test_what_was_told_for_a_tank_is_noted_under_its_new_name(room: Path) -> None:
    """Its round of the morning was told under the old one."""
    _edit(room, 'name = "A1"', 'name = "Shelf 3"')
    _edit(room, 'tank = "A1"', 'tank = "Shelf 3"')
    assert "Shelf 3  barbs" in at(room, "2027-01-12T08:10", "today").output
    jotted(room, "2027-01-12T08:10", "skip", "Shelf 3")
    assert "feed the" not in run(room, "journal", "due", now="2027-01-12T08:20").output
    said = at(room, "2027-01-12T08:30", "journal", "fed", "Shelf 3", "microworm", "2", "mL").output
    assert "fed Shelf 3, 2 mL of microworm" in said


def test_what_was_noted_of_a_tank_before_it_was_renamed_stays_noted(room: Path) -> None:
    jotted(room, "2027-01-12T08:05", "skip", "A1")
    text = " ".join(run(room, "journal", "due", now=_NOW).output.split())
    _edit(room, 'name = "A1"', 'name = "Shelf 3"')
    _edit(room, 'tank = "A1"', 'tank = "Shelf 3"')
    assert " ".join(run(room, "journal", "due", now=_NOW).output.split()) == text
    assert "feed the" not in text


def test_what_is_taken_out_and_was_noted_as_begun_is_said_to_count_on(room: Path) -> None:
    bare = room.read_text("utf-8")
    room.write_text(bare + _POSTED, "utf-8")
    jotted(room, _NOW, "start", "MW-7", "microworm")
    room.write_text(bare, "utf-8")
    said = _said(run(room, "check", now=_NOW).output)
    assert "'MW-7' was taken out of the room file and counts on all the same: line 2" in said
    assert "livefood journal discard MW-7" in said
    jotted(room, _NOW, "discard", "MW-7")
    assert "MW-7" not in run(room, "check", now=_NOW).output


_POSTED = """
[[culture]]
name = "MW-7"
kind = "microworm"
planned = 2027-01-12
medium_g = 150
surface_cm2 = 180
starter_g = 10
"""
_TWO = """
[[tank]]
name = "A2"
litres = 60
temperature_c = 26

[[brood]]
name = "grown"
tank = "A2"
class = "rainbowfish"
count = 7
length_mm = 22
measured_on = 2027-01-10
"""
#: Twice the length, for this class (`sort_ratio`, Qin & Fast 1996, Fessehaye et al. 2006).
_EATS = "shares A1 with grown ("


def _with_grown(folder: Path, *, tank: str = "A2", measured_mm: float = 22.0) -> Path:
    text = small(folder).read_text("utf-8") + _TWO.replace('tank = "A2"', f'tank = "{tank}"')
    (folder / "room.toml").write_text(text.replace("= 22\n", f"= {measured_mm}\n"), "utf-8")
    return folder / "room.toml"


def _said(output: str) -> str:
    return " ".join(output.split())


def test_small_fry_among_large_fish_are_told_once_after_an_edit(tmp_path: Path) -> None:
    """In ACT NOW of the next look, and of each check."""
    room = _with_grown(tmp_path)
    assert _EATS not in _said(at(room, "2027-01-12T08:00", "today").output)
    _edit(room, 'tank = "A2"\nclass', 'tank = "A1"\nclass')
    assert _said(run(room, "check", now=_NOW).output).count(_EATS) == 1
    shown = _said(at(room, "2027-01-12T12:00", "today").output)
    assert re.search(r"ACT NOW - barbs \([\d.]+ mm\) shares A1 with grown \(2\d mm\), ", shown)
    assert "Part them: livefood journal move 'barbs' TANK." in shown
    assert shown.count(_EATS) == 1
    assert _EATS not in _said(at(room, "2027-01-12T12:10", "today").output)
    assert _said(run(room, "check", now="2027-01-12T12:20").output).count(_EATS) == 1


def test_who_notes_before_looking_is_told_with_the_entry(tmp_path: Path) -> None:
    """It counts as told from then on: the temperature that was edited as well."""
    room = _with_grown(tmp_path)
    at(room, "2027-01-12T08:00", "today")
    _edit(room, 'tank = "A2"\nclass', 'tank = "A1"\nclass')
    _edit(room, "temperature_c = 24", "temperature_c = 21")
    said = _said(at(room, "2027-01-12T12:00", "journal", "count", "grown", "6").output)
    assert said.count(_EATS) == 1
    assert "! The room is reckoned at 21 °C" in said
    shown = _said(at(room, "2027-01-12T12:10", "today").output)
    assert _EATS not in shown
    assert "is reckoned at" not in shown


def test_an_entry_that_puts_them_together_says_so_and_another_does_not(tmp_path: Path) -> None:
    room = _with_grown(tmp_path)
    at(room, "2027-01-12T08:00", "today")
    said = _said(at(room, "2027-01-12T12:00", "journal", "move", "grown", "A1").output)
    assert re.search(r"! barbs .* shares A1 with grown .* Part them: .*The plan", said)
    again = _said(at(room, "2027-01-12T12:05", "journal", "count", "grown", "6").output)
    assert "shares A1" not in again


def test_a_command_that_would_put_them_together_says_so(tmp_path: Path) -> None:
    room = _with_grown(tmp_path)
    words = ("change", "brood", "grown", "tank=A1", "--yes")
    assert _said(at(room, "2027-01-12T08:00", *words).output).count(_EATS) == 1
    assert _EATS in _said(at(room, "2027-01-12T08:05", "today").output)


@pytest.mark.parametrize(("times", "told"), [(1.9, False), (2.1, True)])
def test_up_to_the_ratio_at_which_a_brood_is_sorted_nothing_is_said(
    tmp_path: Path, times: float, *, told: bool
) -> None:
    barbs_mm = _length_mm(small(tmp_path))
    room = _with_grown(tmp_path, tank="A1", measured_mm=round(times * barbs_mm, 2))
    (tmp_path / "room.toml").write_text(
        room.read_text("utf-8").replace("2027-01-10", "2027-01-12"), "utf-8"
    )
    assert ("shares A1 with grown" in _said(run(room, "check", now=_NOW).output)) is told


def test_larvae_that_do_not_swim_yet_are_told_with_the_day_on_which_they_will(
    tmp_path: Path,
) -> None:
    room = _with_grown(tmp_path, tank="A1")
    _edit(room, "spawned = 2026-12-26", "spawned = 2027-01-11")
    said = _said(run(room, "check", now=_NOW).output)
    assert re.search(r"barbs \(swims from \w+ \d+ Jan on\) shares A1 with grown", said)


def test_a_culture_whose_parent_was_deleted_from_the_file_is_still_there(tmp_path: Path) -> None:
    """As an earlier version of the file had its parent; without one it is named as lost."""
    room = room_file(tmp_path, horizon_days="3")
    jotted(room, "2027-01-05T07:00", "split", "MW-1", "MW-8")
    text = room.read_text("utf-8")
    start = text.index('[[culture]]\nname = "MW-1"')
    end = text.index("\n[[", start) + 1
    medium = re.search(r"(?m)^medium_g = (.*)$", text[start:end])
    assert medium is not None
    room.write_text(text[:start] + text[end:], "utf-8")
    said = " ".join(at(room, "2027-01-05T08:00", "check").output.split())
    assert "MW-8 microworm" in said
    assert f"MW-8, split from it, counts on as microworm on {medium[1]} g of medium" in said
    history_path(room).unlink()
    said = " ".join(at(room, "2027-01-05T08:00", "check").output.split())
    assert "MW-8 is not used: 'MW-1', of which it was split, is not in the room file" in said


_COOLER = """
[[tank]]
name = "B2"
litres = 30
temperature_c = 22
"""


@pytest.fixture
def two_tanks(tmp_path: Path) -> Path:
    """The barbs in A1 at 26 °C, and another tank that is four degrees colder."""
    path = small(tmp_path)
    path.write_text(path.read_text("utf-8") + _COOLER, "utf-8")
    at(path, "2027-01-12T08:00", "today")
    return path


def test_a_brood_put_into_a_colder_tank_by_hand_is_said_to_have_been_there_all_the_time(
    two_tanks: Path,
) -> None:
    was = _length_mm(two_tanks)
    _edit(two_tanks, 'tank = "A1"', 'tank = "B2"')
    for command in ("check", "today"):
        said = _said(run(two_tanks, command, now=_NOW).output)
        assert "barbs is reckoned in B2 at 22 °C since Sat 26 Dec, no longer in A1 at 26" in said
        assert "put A1 back and note: livefood journal move barbs B2" in said
    assert _length_mm(two_tanks) < was
    _edit(two_tanks, 'tank = "B2"', 'tank = "A1"')  # as it says
    noted = at(two_tanks, _NOW, "journal", "move", "barbs", "B2").output
    assert "reckoned in" not in noted
    assert _length_mm(two_tanks) == pytest.approx(was)


def test_a_move_that_is_noted_is_not_to_be_noted_again(two_tanks: Path) -> None:
    jotted(two_tanks, _NOW, "move", "barbs", "B2")
    _edit(two_tanks, 'tank = "A1"', 'tank = "B2"')
    said = _said(run(two_tanks, "check", now="2027-01-12T12:05").output)
    assert "That it came to B2 later is in line 2 of the journal: put A1 back" in said
    assert "note: livefood journal move" not in said


def test_a_tank_put_back_after_it_was_told_from_asks_for_the_move_alone(two_tanks: Path) -> None:
    _edit(two_tanks, 'tank = "A1"', 'tank = "B2"')
    at(two_tanks, _NOW, "today")
    _edit(two_tanks, 'tank = "B2"', 'tank = "A1"')
    said = _said(run(two_tanks, "check", now="2027-01-12T12:05").output)
    assert "barbs is reckoned in A1 at 26 °C since Sat 26 Dec again" in said
    assert "If it is in B2 from now on, note: livefood journal move barbs B2" in said


def test_nothing_is_said_of_another_tank_as_warm_or_of_another_name(two_tanks: Path) -> None:
    _edit(two_tanks, 'name = "A1"', 'name = "Shelf 3"')
    _edit(two_tanks, 'tank = "A1"', 'tank = "Shelf 3"')
    assert "reckoned in" not in run(two_tanks, "check", now=_NOW).output
    at(two_tanks, _NOW, "today")
    _edit(two_tanks, "temperature_c = 22", "temperature_c = 26")
    at(two_tanks, "2027-01-12T12:05", "today")
    _edit(two_tanks, 'tank = "Shelf 3"', 'tank = "B2"')
    assert "reckoned in" not in run(two_tanks, "check", now="2027-01-12T12:10").output


def test_why_shows_each_temperature_that_a_moved_brood_grew_at(two_tanks: Path) -> None:
    """The growth days that are named follow from the days and speeds beside them."""
    jotted(two_tanks, _NOW, "move", "barbs", "B2")
    text = run(two_tanks, "need", "--brood", "barbs", "--why", now="2027-01-16T12:00").output
    said = _said(text)
    found = re.search(
        r"([\d.]+) days at 26 °C, which runs at ([\d.]+) of 26 °C, and ([\d.]+) days at 22 °C, at"
        r" ([\d.]+) \(Q10 2\)(?: - ([\d.]+) for want of food)? = ([\d.]+) growth days", said
    )  # fmt: skip
    assert found is not None, said
    warm, full, cool, slow, lag, grown = (float(each or 0.0) for each in found.groups())
    # It moved at noon on the 12th, 4.3 days before the evening's round of the 16th.
    assert full == 1.0
    assert slow == pytest.approx(2**-0.4, abs=0.01)
    assert cool == pytest.approx(4.3, abs=0.2)
    assert grown == pytest.approx(warm * full + cool * slow - lag, abs=0.2)
