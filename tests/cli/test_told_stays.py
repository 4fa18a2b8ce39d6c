"""What was shown as somebody's to do is the same two minutes later."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from attrs import frozen

from cli import progress
from cultures.record.store import record_path
from tests.cli.invented import at, room_file
from tests.studies.today_settled import differences, tasks

#: One bottle for many fry, so that rounds go short whenever it is drawn off.
_ONE_BOTTLE = """
[room]
name = "The attic"
timezone = "UTC"
as_of = 2027-09-30
rounds = ["01:30", "13:30"]
awake = ["00:30", "23:30"]
horizon_days = 7
temperature_c = 26.0

[[vessel]]
name = "V0"
litres = 1.0
temperature_c = 28.5

[cysts]
grams = 12.0

[[tank]]
name = "T1"
litres = 200.0
temperature_c = 24.0

[[brood]]
name = "b1"
tank = "T1"
class = "mouthbrooder"
count = 3000
survival_per_day = 1.0
free_swimming = 2027-09-28
"""


def test_a_hatch_stays_for_its_round_where_others_are_short_as_well(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(_ONE_BOTTLE, "utf-8")
    shown = _hatches(room, "2027-10-01T05:40")
    at(room, "2027-10-01T05:40", "today")
    assert shown
    assert not [*differences(shown, _hatches(room, "2027-10-01T05:42"))]


def test_a_purchase_that_was_not_made_is_due_since_its_day(tmp_path: Path) -> None:
    """Its day does not move on with each look, and one amount is said of it."""
    room = tmp_path / "room.toml"
    room.write_text(_ONE_BOTTLE.replace("grams = 12.0", "grams = 4.0"), "utf-8")
    first = re.search(
        r"buy brine shrimp cysts: ([\d,]+ g)$", at(room, "2027-10-01T05:40", "today").output, re.M
    )
    assert first is not None
    for clock in ("2027-10-02T05:40", "2027-10-03T05:40", "2027-10-04T05:40"):
        said = " ".join(at(room, clock, "today").output.split())
        assert re.findall(r"buy [^,]* cysts[^,]*,[^(]*", said) == [
            f"buy {first[1]} of cysts, due since Fri 1 Oct "
        ], said
        table = at(room, clock, "plan").stdout.partition("NEEDED, by week")[2]
        assert re.search(r"cysts .* Fri 1 Oct", table), table


def test_a_first_food_told_in_the_evening_is_told_until_its_round(tmp_path: Path) -> None:
    """The day on which they start to eat ends before the round at which they first can."""
    room = tmp_path / "room.toml"
    text = _ONE_BOTTLE.replace('"01:30", "13:30"', '"07:30", "19:00"')
    text += '[[tank]]\nname = "T2"\nlitres = 40\ntemperature_c = 24\n'
    room.write_text(text, "utf-8")
    spawn = ("journal", "spawn", "platys", "--tank", "T2", "--class", "xiphophorus_maculatus")
    at(room, "2027-10-01T21:10", *spawn, "--count", "35")
    for clock in ("2027-10-01T21:12", "2027-10-02T00:05", "2027-10-02T07:10"):
        said = at(room, clock, "today", "--why").output
        assert "07:30  first food today for platys in T2" in said, clock
        assert "they start to eat 0 days after" in " ".join(said.split())
    assert "first food" not in at(room, "2027-10-02T12:00", "today").output


def _hatches(room: Path, clock: str) -> dict[str, dict[str, Any]]:
    found = tasks(room, clock, datetime.fromisoformat("2027-10-02T12:00"))
    return {key: task for key, task in found.items() if "hatch" in key}


#: Two microworm cultures for one brood, fed twice a day.
_TWO_BOXES = """
[room]
name = "The cellar"
timezone = "UTC"
as_of = 2027-02-03
rounds = ["06:45", "18:15"]
horizon_days = 7
temperature_c = 21.0

[tools]
syringes_ml = [[20, 0.5]]

[[tank]]
name = "T1"
litres = 100.0
temperature_c = 21.0

[[brood]]
name = "b1"
tank = "T1"
class = "goldfish"
count = 60
survival_per_day = 1.0
free_swimming = 2027-01-28

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2027-01-18
medium_g = 150
surface_cm2 = 180
starter_g = 15

[[culture]]
name = "MW-2"
kind = "microworm"
started = 2027-01-22
medium_g = 150
surface_cm2 = 180
starter_g = 15
"""


def _cellar(folder: Path, *, miscounted: bool) -> Path:
    """The room at 18:10: counted as 60, at first perhaps as 30, and looked at in between.

    It was put right where nothing of the plan is shown, as on a phone that was laid aside at once.
    """
    folder.mkdir()
    room = folder / "room.toml"
    room.write_text(_TWO_BOXES, "utf-8")
    at(room, "2027-02-03T06:40", "today")
    at(room, "2027-02-03T07:00", "journal", "done")
    if miscounted:
        at(room, "2027-02-03T07:10", "journal", "count", "b1", "30")
    at(room, "2027-02-03T07:11", "today")
    shown = record_path(room).read_bytes()
    if miscounted:
        at(room, "2027-02-03T07:12", "journal", "undo")
    at(room, "2027-02-03T07:12", "journal", "count", "b1", "60")
    record_path(room).write_bytes(shown)
    return room


def _round(room: Path, clock: str) -> list[str]:
    text = at(room, clock, "today").stdout
    return text.partition("ROUND 18:15")[2].partition("\n\n")[0].splitlines()


def test_a_round_told_by_a_count_that_was_corrected_is_told_anew(tmp_path: Path) -> None:
    wrong = _cellar(tmp_path / "wrong", miscounted=True)
    right = _cellar(tmp_path / "right", miscounted=False)
    shown = _round(right, "2027-02-03T18:12")
    assert any("swipe" in line for line in shown)
    assert _round(wrong, "2027-02-03T18:12") == shown  # its first steps are at 18:00
    assert _round(wrong, "2027-02-03T18:20")[1:] == shown[1:], "told anew, it stands"


def test_a_round_begun_before_a_correction_was_seen_says_how_far_off_it_is(tmp_path: Path) -> None:
    wrong = _cellar(tmp_path / "wrong", miscounted=True)
    shown = " ".join(" ".join(_round(wrong, "2027-02-03T18:20")).split())
    assert "T1 b1: they need about 2 times these doses, by what is known now" in shown
    assert "they get it from Thu 4 Feb 06:45 on" in shown


def _back_again(folder: Path, seen: str) -> list[str]:
    """The round where a brood was noted as gone, looked at so, and that was taken back."""
    room = _cellar(folder, miscounted=False)
    at(room, "2027-02-03T17:40", "journal", "lost", "b1", "--all")
    at(room, seen, "today")
    at(room, "2027-02-03T18:12", "journal", "undo")
    return _round(room, "2027-02-03T18:13")


def test_a_brood_that_was_never_gone_is_on_the_list_again(tmp_path: Path) -> None:
    """The first steps of the round, at 18:00, are over, and nothing is noted of it."""
    shown = _back_again(tmp_path / "seen", "2027-02-03T17:45")
    assert (
        shown[1:]
        == _round(_cellar(tmp_path / "as it is", miscounted=False), "2027-02-03T18:13")[1:]
    )
    assert any(line.split()[:2] == ["T1", "b1"] for line in shown)


def test_a_brood_for_which_a_running_round_has_nothing_is_said(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    other = _TWO_BOXES[_TWO_BOXES.index("[[tank]]") : _TWO_BOXES.index("[[culture]]")]
    room.write_text(_TWO_BOXES + other.replace("T1", "T2").replace("b1", "b2"), "utf-8")
    at(room, "2027-02-03T17:40", "journal", "lost", "b1", "--all")
    at(room, "2027-02-03T18:16", "today")
    at(room, "2027-02-03T18:17", "journal", "undo")
    assert "T1 b1: nothing was told for them" in " ".join(_round(room, "2027-02-03T18:20"))


def test_of_a_round_in_hand_fewer_fry_are_to_get_less(tmp_path: Path) -> None:
    room = _cellar(tmp_path / "room", miscounted=False)
    at(room, "2027-02-03T18:16", "today")
    at(room, "2027-02-03T18:17", "journal", "died", "b1", "45")
    shown = " ".join(" ".join(_round(room, "2027-02-03T18:18")).split())
    assert "T1 b1: give only about 25% of these doses" in shown
    at(room, "2027-02-03T18:20", "journal", "fed", "T1")
    assert "give only" not in "\n".join(_round(room, "2027-02-03T18:21"))


def test_of_a_round_in_hand_a_brood_that_is_gone_gets_nothing(tmp_path: Path) -> None:
    room = _cellar(tmp_path / "room", miscounted=False)
    at(room, "2027-02-03T18:16", "today")
    at(room, "2027-02-03T18:17", "journal", "sold", "b1", "--all")
    assert "T1 b1: give nothing, they are gone" in "\n".join(_round(room, "2027-02-03T18:18"))


def test_what_is_not_as_it_was_told_is_said_though_the_entry_has_no_part_in_it(
    tmp_path: Path,
) -> None:
    """A tenth of the fry by an edit of the file; what was told of today is told anew, once."""
    room = tmp_path / "room.toml"
    room.write_text(_ONE_BOTTLE, "utf-8")
    first = at(room, "2027-10-01T05:40", "today").stdout
    (before,) = re.findall(r"Sat, set V0: ([\d.]+) g", first)
    room.write_text(_ONE_BOTTLE.replace("count = 3000", "count = 300"), "utf-8")
    said = at(room, "2027-10-01T05:42", "journal", "note", "room", "hello").stdout
    lines = " ".join(said.split())
    assert "Nothing changes by this. Since it was told:" in lines
    ((now, was),) = re.findall(r"set V0: ([\d.]+) g.*\(was: set V0: ([\d.]+) g", lines)
    assert was == before
    assert float(now) < float(before)
    again = at(room, "2027-10-01T05:43", "journal", "note", "room", "hello").stdout
    assert "The plan for the coming week stays the same.\n" in again
    assert f"Sat, set V0: {now} g" in at(room, "2027-10-01T05:44", "today").stdout


def test_where_doses_alone_change_the_plan_is_not_said_to_stay_the_same(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(_TWO_BOXES, "utf-8")
    at(room, "2027-02-03T06:40", "today")
    said = at(room, "2027-02-03T06:41", "journal", "count", "b1", "45").stdout
    assert "The plan for the coming week stays the same" not in said
    same = at(room, "2027-02-03T06:42", "journal", "note", "room", "hello").stdout
    assert "The plan for the coming week stays the same.\n" in same


def test_a_hatch_that_is_set_as_told_a_little_early_is_done_and_not_gone(tmp_path: Path) -> None:
    room = room_file(tmp_path)
    at(room, "2027-01-05T07:00", "today")
    shown = at(room, "2027-01-05T17:00", "today").output
    (grams,) = re.findall(r"18:30  set bottle 1: ([\d.]+) g", shown)
    said = at(room, "2027-01-05T18:10", "journal", "set", "bottle 1").output
    assert f"set bottle 1 {grams} g" in said
    assert "no longer" not in said


@pytest.mark.parametrize(("moves", "tells", "made"), [
    ((False,), 9, ["as is"]), ((True, False), 9, ["as is", "told 1"]),
    ((True, True, True, True), 1, ["as is", "told 1"]),
    ((True, True, True, True), 9, ["as is", "told 1", "told 2"]),
])  # fmt: skip
def test_a_plan_that_moves_what_was_told_is_made_as_it_stays_once_it_is_told(
    monkeypatch: pytest.MonkeyPatch, moves: tuple[bool, ...], tells: int, made: list[str]
) -> None:
    """Until telling it changes nothing of it; never more than three times."""
    rooms, moved = [], iter(moves)

    def outlook(room: Any, **_: Any) -> Any:
        rooms.append(room.name)
        feeding = SimpleNamespace(hatches=SimpleNamespace(is_short=False))
        return SimpleNamespace(room=room, feeding=feeding)

    def then(found: Any, *_: Any) -> Any:
        count = found + 1
        return None if count > tells else _Told(count)

    class _Told(int):
        in_hand, now = (), None

        @property
        def room(self) -> Any:
            return _Room(f"told {self:d}")

    monkeypatch.setattr(progress, "make_outlook", outlook)
    monkeypatch.setattr(progress, "keeps_told", lambda _: not next(moved))
    monkeypatch.setattr(progress, "as_if_told", then)
    for name in ("this_round", "shown_until", "shown_tasks", "tellings", "drafts"):
        monkeypatch.setattr(progress, name, lambda *_: [])
    as_is = _Room("as is", ("note",), ("edit",))
    found: Any = progress.settled_outlook(_Told(0), room=as_is)  # type: ignore[arg-type]
    assert (rooms, found.room.name) == (made, made[-1])
    assert (found.room.notes, found.room.edits) == (("note",), ("edit",))


@frozen
class _Room:
    name: str
    notes: tuple[str, ...] = ()
    edits: tuple[str, ...] = ()
    noted_ahead: tuple[str, ...] = ()
    unspoken: tuple[str, ...] = ()
    drafted: tuple[str, ...] = ()

    @property
    def told(self) -> str:
        return self.name
