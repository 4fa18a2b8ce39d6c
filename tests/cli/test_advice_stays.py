"""Who looks again, or does as told, finds the advice that was given; else the screen says why."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cli.screens import advice
from cultures.record.since import Since
from cultures.tasks.plan import Act, Advice
from tests.cli.invented import at
from tests.unit.recorded import told_task

_ROOM = """\
[room]
name = "North cellar"
timezone = "Europe/Berlin"
temperature_c = 22
as_of = 2027-02-01
rounds = ["07:00", "18:30"]
horizon_days = 7

[cysts]
grams = 8

[supplies]
dry_g = 100
cysts_days = 4

[[vessel]]
name = "bottle 1"
litres = 1
temperature_c = 26

[[tank]]
name = "A1"
litres = 60
temperature_c = 26

[[brood]]
name = "rainbow 1"
tank = "A1"
class = "tiny_scatterer"
count = 400
free_swimming = 2027-01-30

[[brood]]
name = "acara 1"
tank = "A1"
class = "substrate_spawner"
count = 500
free_swimming = 2027-01-24
foods = ["brine_shrimp"]
"""


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(_ROOM, "utf-8")
    return path


def _act_now(room: Path, clock: str) -> str:
    """What ``today`` asks to be acted on, in one line."""
    lines = at(room, f"2027-02-{clock}", "today").stdout.splitlines()
    start = lines.index("ACT NOW")
    return " ".join(" ".join(lines[start : lines.index("", start)]).split())


def _asked(act_now: str) -> list[str]:
    """Until when, and what, without what it is good for."""
    found = [line.partition(": ") for line in act_now.partition("ACT NOW - ")[2].split(" - ")]
    return [
        f"{by}: {what.partition(', ')[0].partition(';')[0]}" for by, _, what in found
        if by.startswith(("by ", "due since "))
    ]  # fmt: skip


def test_advice_stays_for_who_looks_again_or_does_as_told(room: Path) -> None:
    """A starter takes a day to come, and its day is told at 06:20: so it is at noon."""
    first = _act_now(room, "01T06:20")
    starter = "by Tue 2 Feb 07:00: start a banana worm culture from a bought starter"
    assert starter in first
    asked = _asked(first)
    assert set(asked) <= set(_asked(_act_now(room, "01T06:22")))
    at(room, "2027-02-01T07:40", "journal", "done")
    for clock in ("01T07:42", "01T18:20", "02T06:50"):
        said = _act_now(room, clock)
        assert starter in said, clock
        assert "Other advice" not in said
        # What was to be done by seven says so, and is the same.
        ahead = {words.partition(": ")[2] for words in asked}
        assert {words.partition(": ")[2] for words in _asked(said)} >= ahead, clock


def test_advice_whose_time_is_over_says_for_when_it_was_told_once(room: Path) -> None:
    _act_now(room, "01T06:20")
    at(room, "2027-02-01T07:40", "journal", "done")
    late = "by Mon 1 Feb 18:30 (told for Mon 1 Feb 07:00): buy 100 g of cysts"
    assert late in _act_now(room, "01T07:42")
    assert late.replace(" (told for Mon 1 Feb 07:00)", "") in _act_now(room, "01T07:44")


def test_other_advice_says_what_came_between(room: Path) -> None:
    """Cysts that are bought are advised no more. With dry food for all, the tank lacks others."""
    _act_now(room, "01T06:20")
    assert "buy 100 g of cysts" in _act_now(room, "01T06:25")
    at(room, "2027-02-01T06:30", "journal", "bought", "cysts", "100 g")
    said = _act_now(room, "01T06:31")
    assert "cysts" not in said
    text = room.read_text("utf-8").replace('foods = ["brine_shrimp"]\n', "")
    room.write_text(text, "utf-8")
    edited = " ".join(at(room, "2027-02-01T06:35", "today").stdout.split())
    assert "o longer needed: add dry food to the foods of acara 1" in edited
    assert "Other advice than on Mon 1 Feb 06:31" in edited
    assert "(the room file was edited)" in edited
    again = " ".join(at(room, "2027-02-01T06:36", "today").stdout.split())
    assert "o longer needed" not in again
    assert "Other advice" not in again
    at(room, "2027-02-01T06:40", "journal", "count", "acara 1", "700")
    at(room, "2027-02-01T06:41", "journal", "died", "rainbow 1", "400", "--sure")
    noted = " ".join(at(room, "2027-02-01T06:42", "today").stdout.split())
    assert "(since then you noted count acara 1 700 fry and died rainbow 1 400 fry)" in noted


def test_advice_for_a_round_lapses_with_it_and_is_not_called_needless(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The round of 18:30 was ticked off at 18:12, and there was nothing for the fry: nauplii from
    elsewhere were not needless for that. What was advised for another time is.
    """
    now = datetime(2027, 2, 1, 18, 12, tzinfo=UTC)
    by = now.replace(minute=30)
    told = Advice(Act.FETCH, "brine_shrimp", "get hatched nauplii", by)
    room = SimpleNamespace(units="metric", timezone=UTC, advised=(told,), orders=(), to_buy={})
    plan: Any = SimpleNamespace(shortfalls=())
    monkeypatch.setattr(advice, "tasks_of", lambda _: ())
    for round_in_hand, said in ((by, ""), (None, "No longer needed: get hatched nauplii")):
        outlook: Any = SimpleNamespace(
            room=room, now=now, round_j=lambda: 1.0,
            told_round=lambda at, mine=round_in_hand: object() if at == mine else None,
        )  # fmt: skip
        text = advice.other_advice(plan, outlook, Since(now, (), edited=False))
        assert text.partition(" (")[0] == said


def test_a_hatch_that_an_edit_of_the_file_drops_or_moves_is_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Days away were put into the file: of three bottles that were told to be set one is set half
    an hour later, one not for three days.
    """
    now = datetime(2027, 2, 1, 18, 12, tzinfo=UTC)
    first, second, third = (f"bottle {n}" for n in (1, 2, 3))
    by = now.replace(minute=30)
    planned = {first: by, second: by.replace(hour=19), third: by.replace(day=4)}
    tasks = [told_task("set_hatch", when, name).task for name, when in planned.items()]
    monkeypatch.setattr(advice, "tasks_of", lambda _: tasks)
    room = SimpleNamespace(units="metric", timezone=UTC, advised=(), orders=(), to_buy={})
    outlook: Any = SimpleNamespace(room=room, now=now, round_j=lambda: 1.0)
    plan: Any = SimpleNamespace(shortfalls=())
    sets = tuple((name, by) for name in planned)
    said = advice.other_advice(plan, outlook, Since(now, (), edited=True, sets=sets))
    assert said == (
        "Set otherwise than you were told: bottle 2 on Mon 1 Feb 19:30; not to be set any more:"
        " bottle 3 on Mon 1 Feb 18:30 (the room file was edited)."
    )
    # Another bottle in its place is no hatch less, and of many that are none two are named.
    tasks[:] = [told_task("set_hatch", by, "bottle 4").task]
    weeks = tuple((first, by.replace(day=day)) for day in (10, 14, 18, 22))
    fewer = Since(now, (), edited=True, sets=((second, by), *weeks))
    assert advice.other_advice(plan, outlook, fewer) == (
        "Set otherwise than you were told: bottle 4 on Mon 1 Feb 18:30; not to be set any more:"
        " bottle 1 on Wed 10 Feb 18:30, bottle 1 on Sun 14 Feb 18:30 and 2 more (the room file"
        " was edited)."
    )
    # What an entry does is said by its answer, and is told no longer: what is still told is not.
    assert advice.other_advice(plan, outlook, Since(now, (), edited=False, sets=sets)) == (
        "Set otherwise than you were told: bottle 4 on Mon 1 Feb 18:30 (time went on)."
    )
    assert advice.other_advice(plan, outlook, Since(now, (), edited=False)) == ""


def test_a_purchase_that_was_due_and_is_not_noted_is_why(room: Path) -> None:
    """Dry food lasts until more comes that is bought on the first morning, and no longer.

    A task is over two hours after its time: until then who buys it is not told anything else.
    """
    text = room.read_text("utf-8").replace("dry_g = 100", "dry_g = 1.8")
    room.write_text(text.replace('foods = ["brine_shrimp"]', 'foods = ["dry"]'), "utf-8")
    assert "dry food" not in _act_now(room, "01T06:20")
    at(room, "2027-02-01T07:40", "journal", "done")
    for clock in ("07:42", "08:58"):
        lines = at(room, f"2027-02-01T{clock}", "today").stdout.splitlines()
        assert "  07:00  buy dry food: 40 g" in lines
        assert "Other advice" not in "".join(lines)
    said = _act_now(room, "01T09:02")
    assert "by Mon 1 Feb 18:30 (told for Mon 1 Feb 07:00): buy 40 g of dry food" in said
    assert said.endswith("than on Mon 1 Feb 06:20 (no purchase of dry food is noted).")
