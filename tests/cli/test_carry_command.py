"""``livefood carry``: one line a week, what limits, wishes, JSON, and that it changes nothing."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from cultures import limits
from cultures.planning.carry import sizes
from tests.cli.invented import at, room_file, run, run_json
from tests.cli.rooms import american, small
from tests.cli.us_contract import METRIC, dated_otherwise, too_fine

_WEEK = re.compile(r"^  (\d+ [A-Z][a-z]{2}) +([A-Z][a-z]{2} \d+ [A-Z][a-z]{2}) +(\d+)(\+?) ", re.M)


def _with_one_brood(folder: Path) -> Path:
    """The demo room with no fry but those of acara 5."""
    room = room_file(folder)
    parts = re.split(r"(?m)^(?=\[)", room.read_text("utf-8"))
    kept = (p for p in parts if not p.startswith("[[brood]]") or '"acara 5"' in p)
    room.write_text("".join(kept), "utf-8")
    return room


def test_a_line_a_week_and_the_answer_first(tmp_path: Path) -> None:
    room = _with_one_brood(tmp_path)
    text = run(room, "carry", "annual_killifish", "--weeks", "2").stdout
    assert text.startswith("annual killifish, in A1 at 27 °C: ")  # the first tank that is free
    rows = _WEEK.findall(text)
    assert [row[0] for row in rows] == ["5 Jan", "12 Jan"]
    assert max(len(line) for line in text.splitlines()) <= 80
    found = run_json(room, "carry", "annual_killifish", "--weeks", "2")
    assert [str(week["largest"]) for week in found["weeks"]] == [row[2] for row in rows]
    week = found["weeks"][1]
    assert week["largest"] > 0
    assert week["limited"]["limit"] == "tin"
    assert week["limited"]["cause"].startswith("the cysts run out")
    assert week["lift"]["what"] == "cysts"
    assert week["lift"]["largest"] > week["largest"]
    assert week["lift"]["text"] in text


def test_the_most_that_is_tried_is_a_limit_of_the_table(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = small(tmp_path)
    table = {**limits._limits(), "carried": 40}
    monkeypatch.setattr(limits, "_limits", lambda: table)
    text = run(room, "carry", "livebearer", "--weeks", "1", "--temperature", "26").stdout
    assert " 40+" in text
    assert "+: more than 40 was not tried." in text
    assert "food for 40 fry and more" in text
    assert "plan --if" not in text  # there is no such tank to plan with


def test_a_tank_that_does_not_bear_them_is_the_limit_and_one_that_does_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Forty fry of 7.75 mm at first food are 310 mm of fish; three litres at 100 mm each bear 300
    (`length_first_food_mm` and `crowd_mm_per_litre` of their class).
    """
    room = small(tmp_path)
    tanks = "".join(
        f'\n[[tank]]\nname = "{name}"\nlitres = {size}\ntemperature_c = 26\n'
        for name, size in (("pot", 3), ("vat", 400))
    )
    room.write_text(room.read_text("utf-8") + tanks, "utf-8")
    table = {**limits._limits(), "carried": 40}
    monkeypatch.setattr(limits, "_limits", lambda: table)
    words = ("carry", "livebearer", "--weeks", "1", "--tank")
    said = " ".join(run(room, *words, "pot").stdout.split())
    (week,) = run_json(room, *words, "pot")["weeks"]
    # On the day of first food, or the next where they first eat after its noon.
    first = date.fromisoformat(week["first_food"])
    assert date.fromisoformat(week["crowded_from"]) - first <= timedelta(days=1)
    assert re.search(r" 40\+ the tank, \d+ Jan", said)
    assert re.search(r"pot \(3 L\) is too small for 40 of them from \w+ \d+ Jan on: thin out", said)
    assert "vat (400 L) would bear them." in said
    vat = run(room, *words, "vat").stdout
    assert "nothing up to 40" in vat
    assert "too small" not in vat


def test_nothing_is_written_and_nothing_told(tmp_path: Path) -> None:
    room = small(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    at(room, "2027-01-05T07:00", "carry", "goldfish", "--tank", "A1", "--weeks", "1",
       "--with", "goldfish 20 in A1 on 2027-01-06")  # fmt: skip
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_wishes_alone_and_before_what_is_left(tmp_path: Path) -> None:
    room = small(tmp_path)
    wish = "livebearer 12 in A1 on 2027-01-06"
    text = run(room, "carry", "--with", wish).stdout
    assert text == f"WISHES, added one after the other\n  - {wish}: fed.\n"
    found = run_json(room, "carry", "barbs", "--weeks", "1", "--tank", "A1", "--with", wish)
    assert found["wishes"][0]["fed"] is True
    assert found["class"] == "egg_scatterer"
    assert found["tank"] == "A1"


def test_a_wish_too_large_says_how_much_of_it_is_fed(tmp_path: Path) -> None:
    room = small(tmp_path)
    wish = "egg_scatterer 40000 in A1 on 2027-01-06"
    text = run(room, "carry", "--with", wish, "--weeks", "2").stdout
    told = " ".join(text.split())
    assert re.search(r"(only \d+ of them|not) fed, for want of ", told), text
    assert "not all of it in any week looked at." in told


def test_what_it_takes_can_be_asked_and_a_narrow_screen_has_no_columns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = small(tmp_path)
    monkeypatch.setenv("COLUMNS", "44")
    text = run(room, "carry", "barbs", "--weeks", "2", "--tank", "A1").stdout
    assert max(len(line) for line in text.splitlines()) <= 44
    assert "\u2026" not in text
    found = re.search(r'plan --if "(.+?)"', " ".join(text.split()))
    assert found is not None
    assert "supposed barbs" in run(room, "plan", "--days", "9", "--if", found[1], "--json").stdout


def test_in_us_units(tmp_path: Path) -> None:
    text = run(american(tmp_path), "carry", "goldfish", "--weeks", "1").stdout
    assert "at 78.8 °F" in text or "°F" in text.splitlines()[0]
    assert METRIC.findall(text) == too_fine(text) == dated_otherwise(text) == []


def test_planned_spawns_are_named_and_come_first(tmp_path: Path) -> None:
    room = small(tmp_path)
    brood = '\n[[brood]]\nname = "{}"\ntank = "A1"\nclass = "egg_scatterer"\ncount = 40\n'
    for name, chance in (("hope", 0.7), ("dream", 0.05)):
        more = f"{brood.format(name)}planned = 2027-01-20\nchance = {chance}\n"
        room.write_text(room.read_text("utf-8") + more, "utf-8")
    ask = ("carry", "barbs", "--weeks", "1", "--tank", "A1")
    text = " ".join(run(room, *ask).stdout.split())
    assert text.startswith(
        "Planned spawns come first, as if they were certain: hope in A1. Too unlikely"
    )
    assert "Too unlikely to count: dream in A1." in text
    found = run_json(room, *ask)
    assert (found["planned"], found["unlikely"]) == (["hope"], ["dream"])


@pytest.mark.parametrize(
    ("args", "says"),
    [
        ([], "say which fry"),
        (["unicorn"], "there is no class or brood 'unicorn'"),
        (["goldfish", "--tank", "Z9"], "Z9"),
        (["goldfish", "--tank", "A1", "--temperature", "20"], "leave out --tank or --temperature"),
        (["--with", "goldfish on 2027-01-06"], "a count must be a number"),
        (["--with", "goldfish 10 on 2026-01-06"], "is past"),
        (["goldfish", "--temperature", "8"], "do not develop"),
    ],
)
def test_what_cannot_be_asked(tmp_path: Path, args: list[str], says: str) -> None:
    result = run(room_file(tmp_path), "carry", *args, code=2)
    assert says in " ".join(result.output.split())
    assert result.stdout == "" or "Error" in result.output


def test_json_is_whole(tmp_path: Path) -> None:
    data = json.loads(run(small(tmp_path), "carry", "barbs", "--weeks", "2", "--json").stdout)
    assert set(data) == {
        "class", "tank", "warning", "tried_up_to", "planned", "unlikely", "wishes", "weeks"
    }  # fmt: skip
    keys = {"spawned", "first_food", "looked_at_until", "largest", "limited", "lift",
            "crowded_from", "cysts_out"}  # fmt: skip
    assert all(set(week) == keys for week in data["weeks"])


def test_one_step_more_than_is_carried_is_not_fed_by_the_other_two(tmp_path: Path) -> None:
    """And all three name one cause."""
    room = room_file(tmp_path)
    carried = run_json(room, "carry", "egg_scatterer", "--weeks", "1")
    (week,), tank = carried["weeks"], carried["tank"]
    day = week["spawned"]
    more = next(size for size in sizes() if size > week["largest"])
    text = f"spawn egg_scatterer {more} in {tank} on {day}"
    (supposed,) = run_json(room, "plan", "--if", text)["spawned"]
    ready = run_json(room, "ready", f"egg_scatterer {more}", "--in", tank, "--on", day)["plan"]
    assert supposed["in_full"] is False
    assert ready == {
        **{key: supposed[key] for key in supposed if key not in ("brood", "count")},
        "fry": week["largest"], "spawn_from": ready["spawn_from"],
    }  # fmt: skip
    assert ready["cause"] == week["limited"]["cause"]
    said = " ".join(run(room, "plan", "--if", text).stdout.split())
    assert "WHETHER THEY WOULD BE FED" in said
    assert f"NOT ENOUGH for {more} fry" in said


_LITTLE_TIN = """\
[room]
name = "Little tin"
timezone = "UTC"
as_of = 2027-01-05
temperature_c = 24
rounds = ["07:30", "18:30"]

[cysts]
grams = GRAMS

[[vessel]]
name = "cone"
litres = 1
temperature_c = 26

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-26
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[tank]]
name = "B"
litres = 60
temperature_c = 26
"""


@pytest.mark.parametrize("grams", ["3", "300"])
def test_a_tin_that_ends_while_others_stand_in_is_said(tmp_path: Path, grams: str) -> None:
    """Fed on worms and dry food, a brood goes without the nauplii of its diet once 3 g are set;
    300 g do for all of it.
    """
    room = tmp_path / "room.toml"
    room.write_text(_LITTLE_TIN.replace("GRAMS", grams), "utf-8")
    args = ("carry", "egg_scatterer", "--weeks", "1", "--tank", "B")
    wish = ("--with", "egg_scatterer 60 in B on 2027-01-06")
    said = " ".join(run(room, *args).stdout.split())
    ends = "The cysts run out on " in said and "other foods take the place of nauplii." in said
    assert ends is (grams == "3")
    (week,) = run_json(room, *args)["weeks"]
    assert (week["cysts_out"] is not None) is ends
    assert week["limited"] is None or week["limited"]["limit"] != "tin"
    asked = "spawn egg_scatterer 300 in B on 2027-01-06"
    supposed = " ".join(run(room, "plan", "--if", asked).stdout.split())
    assert ("would be fed in full" in supposed, "The cysts run out on" in supposed) == (True, ends)
    for told in (said, supposed):
        eaten = re.search(r"would live on ([^.]*)\.", told)
        assert eaten, told
        foods = re.findall(r"(\d+)% ([a-z ]+?)(?:,| and|$)", eaten[1])
        shares = [int(share) for share, _ in foods]
        assert shares == sorted(shares, reverse=True)
        assert 95 <= sum(shares) <= 101  # less than a hundredth is not named
    granted = run(room, *args[:4], *wish).stdout
    assert "fed" in granted
