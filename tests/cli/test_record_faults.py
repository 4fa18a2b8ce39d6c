"""What a keeper may trust in of what was told, noted and is over: each fault seen once, as a test.

Every command is typed as a keeper types it; ``at`` sets the clock, so that what is shown counts
as told. The rule is that of the record: what is = stated + noted + told, over and not
contradicted.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from click.testing import Result

from cli.commands.demo_room import demo_text
from cultures.errors import FileProblemError
from cultures.record.present import present_of
from cultures.room.file import load_room
from tests.cli.invented import NOW, TODAY, WHOLE, at, jotted, quick_room, room_of, run, run_json
from tests.examples import thorough

#: A week of clocks at which a keeper looks: before the morning and the evening round.
MORNING, EVENING = "07:00", "18:00"


def _near(folder: Path, *, days: int = 3) -> Path:
    """The demo room, which looks few days ahead here: what is told lies within two."""
    return quick_room(folder, horizon_days=str(days))


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path)


def clock(day: int, time: str) -> str:
    """A time of January 2027."""
    return f"2027-01-{day:02}T{time}"


def note(room: Path, when: str, *words: str, code: int = 0) -> Result:
    """``livefood journal WORDS``."""
    return at(room, when, "journal", *words, code=code)


def due(room: Path, when: str) -> list[dict[str, Any]]:
    """``livefood journal due --json``."""
    found = json.loads(note(room, when, "due", "--json").stdout)
    assert isinstance(found, list)
    return found


def plan(room: Path, when: str) -> dict[str, Any]:
    """``livefood plan --json`` with the clock set."""
    found = json.loads(at(room, when, "plan", "--json").stdout)
    assert isinstance(found, dict)
    return found


def entries(room: Path, when: str) -> list[dict[str, Any]]:
    """What stands in the journal."""
    if not room.with_name("journal.csv").exists():
        return []
    found = json.loads(note(room, when, "show", "--json").stdout)["entries"]
    assert isinstance(found, list)
    return found


def told(room: Path, *, before: str = "9999") -> dict[str, dict[str, Any]]:
    """What the record says was told last of each task, withdrawn ones left out."""
    found: dict[str, dict[str, Any]] = {}
    for line in room.with_name("told.jsonl").read_text("utf-8").splitlines():
        row = json.loads(line)
        if row["at"] > before:
            continue
        found |= {t["id"]: t for t in row.get("told", ())}
        for key in row.get("withdrawn", ()):
            found.pop(key, None)
    return found


def files(folder: Path) -> dict[str, str]:
    """Every file of a folder and what is in it."""
    return {
        p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in folder.rglob("*") if p.is_file()
    }  # fmt: skip


def bare(rows: Iterable[dict[str, Any]], day: str) -> list[dict[str, Any]]:
    """Tasks told for a day, without the fate, which changes as time goes on."""
    return [{k: v for k, v in row.items() if k != "fate"} for row in rows if row["at"][:10] == day]


@cache
def _record_of_a_look(text: str) -> bytes:
    with TemporaryDirectory() as folder:
        room = Path(folder) / "room.toml"
        room.write_text(text, "utf-8")
        at(room, NOW, "today")
        assert {p.name for p in room.parent.iterdir()} == {
            "room.toml", "told.jsonl", ".room.toml.history.livefood"
        }  # fmt: skip
        return room.with_name("told.jsonl").read_bytes()


def first_look(room: Path) -> None:
    """``livefood today`` of the first morning, done once for each room file."""
    room.with_name("told.jsonl").write_bytes(_record_of_a_look(room.read_text("utf-8")))


def without_hatch(room: Path) -> None:
    """The demo room with no hatch standing."""
    text = room.read_text("utf-8")
    parts = re.split(r"(?=^\[)", text, flags=re.MULTILINE)
    room.write_text("".join(p for p in parts if not p.startswith("[[hatch]]")), "utf-8")


# (1) a hatch that failed


@pytest.mark.parametrize("hour", ["07:20", "07:50", "12:00"])
@pytest.mark.parametrize("words", [("hatched", "bottle 1", "0"), ("failed", "bottle 1")])
def test_a_hatch_that_failed_is_not_fed_from(
    room: Path, words: tuple[str, ...], hour: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    at(room, NOW, "today", "--all-day")
    nauplii = {r["at"] for r in plan(room, NOW)["rounds"] if r["food"] == "brine_shrimp"}
    assert "2027-01-05T07:30:00+00:00" in nauplii  # they were told
    unquoted = Path(shutil.copytree(room.parent, tmp_path_factory.mktemp("u") / "u")) / room.name
    jotted(room, clock(5, hour), *words)
    # Without the quotes it is the same line, so all that follows from it is the same too.
    jotted(unquoted, clock(5, hour), *" ".join(words).split())
    assert files(unquoted.parent) == files(room.parent)
    minute_after = f"{clock(5, hour)[:-2]}{int(hour[3:]) + 1:02}"
    later = (
        minute_after, clock(5, "07:55"), clock(5, "12:01"), clock(5, EVENING), clock(6, MORNING),
        clock(6, EVENING), clock(7, MORNING),
    )  # fmt: skip
    for when in (c for c in later if c > clock(5, hour)):
        found = plan(room, when)
        brings = [  # told or planned; that of the hatch that failed is still in hand
            t["until"] for t in (*told(room).values(), *found["tasks"])
            if t["what"] == "harvest_hatch" and t["at"] > "2027-01-05T08"
        ]  # fmt: skip
        first = min(brings, default="9999")
        fed = [
            r for r in found["rounds"]
            if r["food"] == "brine_shrimp" and r["amount"] > 0 and r["at"] < first
        ]  # fmt: skip
        assert fed == [], when
        asked = [
            t for t in found["tasks"]
            if t["what"] == "feed" and t["at"] < first and t["amounts"].get("nauplii", 0) > 0
        ]  # fmt: skip
        assert asked == [], when
        screen = at(room, when, "today").stdout
        assert "jar of Tue" not in screen, when
        if when < clock(6, MORNING):
            assert "stir the jar" not in screen
            for answer in re.findall(r"(\(.*\) )?bottle 1: draw off", screen):
                assert answer.startswith(("(noted", "(failed)")), when


def test_a_failed_hatch_is_said_at_its_round(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "07:32"), "hatched", "bottle", "1", "0")
    block = at(room, clock(5, "07:33"), "today").stdout.partition("ROUND 07:30")[2]
    table = block.partition("TO SET GOING")[0]
    assert "nauplii" not in table.partition("  tank ")[2].splitlines()[0]
    assert "no nauplii at this round: what was planned for it is not there" in table
    assert "bottle 1: draw off" not in " ".join(table.split())


_TWO_JARS = """
[room]
name = "shed"
timezone = "America/New_York"
temperature_c = 22
as_of = 2026-11-29
rounds = ["07:30", "19:00"]
awake = ["06:15", "22:30"]
fridge_c = 5

[[tank]]
name = "T1"
litres = 54
temperature_c = 26

[[brood]]
name = "bettas"
tank = "T1"
species = "betta"
count = 60
spawned = 2026-10-20

[[brood]]
name = "guppies"
tank = "T1"
species = "guppy"
count = 43
hatched = 2026-11-25

[[tank]]
name = "T2"
litres = 60
temperature_c = 28

[[brood]]
name = "angels"
tank = "T2"
species = "angelfish"
count = 150
spawned = 2026-11-18

[[brood]]
name = "cories"
tank = "T2"
species = "bronze cory"
count = 40
hatched = 2026-11-14

[[culture]]
name = "micro 1"
kind = "microworm"
started = 2026-11-14
medium_g = 200
surface_cm2 = 180
starter_g = 10

[[culture]]
name = "eels"
kind = "vinegar_eel"
started = 2026-08-01
medium_g = 1000
starter_g = 100

[[vessel]]
name = "bottle"
litres = 1.5
temperature_c = 27

[cysts]
grams = 60

[[away]]
from = 2026-12-03
to = 2026-12-06
helper = true
"""


def test_a_round_told_from_two_jars_is_fed_from_the_one_that_is_there(tmp_path: Path) -> None:
    """The jar of a hatch that failed is named by no round, also not by one that has begun."""
    room = tmp_path / "room.toml"
    room.write_text(_TWO_JARS, "utf-8")
    at(room, "2026-11-29T06:20", "calendar", "--out", str(tmp_path / "food.ics"))
    rounds = [
        t for line in (tmp_path / "told.jsonl").read_text("utf-8").splitlines()
        for t in json.loads(line).get("told", ()) if len(t.get("draws", ())) == 2
    ]  # fmt: skip
    assert rounds, "no round of this room is told from two jars"
    feed = min(rounds, key=lambda t: t["at"])
    vessel, harvested = feed["draws"][0][:2]
    begins = datetime.fromisoformat(feed["at"]).replace(tzinfo=None) - timedelta(minutes=25)
    minutes_after = datetime.fromisoformat(harvested) + timedelta(minutes=5)
    jotted(room, f"{minutes_after:%Y-%m-%dT%H:%M}", "failed", vessel)
    jar = f"{datetime.fromisoformat(harvested):jar of %a %H:%M}"
    for ahead in (timedelta(0), timedelta(minutes=30)):  # the first look since
        assert jar not in " ".join(
            at(room, f"{begins + ahead:%Y-%m-%dT%H:%M}", "today").stdout.split()
        )


def test_what_an_answer_shows_otherwise_is_told(room: Path) -> None:
    """Who reads the new amount sets that; `done` notes it, and nothing is said to change twice."""
    at(room, NOW, "today", "--all-day")
    found = []
    for minute, share in enumerate((60, 30, 15), start=20):
        before = told(room)
        count = str(4000 * share)
        said = note(room, clock(5, f"07:{minute}"), "hatched", "bottle", "1", count).stdout
        after = told(room)
        otherwise = [
            t for key, t in after.items()
            if t["what"] == "set_hatch" and before[key]["amounts"] != t["amounts"]
        ]  # fmt: skip
        assert all(f"{t['amounts']['cysts_g']:g} g cysts" in said for t in otherwise)
        found += otherwise
        again = note(room, clock(5, f"07:{minute}"), "note", "room", "hello").stdout
        assert "stays the same" in again
        jotted(room, clock(5, f"07:{minute}"), "undo", "--line", str(_lines(room) - 1))
    assert found


def test_what_is_left_in_a_jar_is_the_same_before_and_after_a_round_is_over(room: Path) -> None:
    """A round that is noted and still in hand has taken its part already."""
    at(room, NOW, "today", "--all-day")
    jotted(room, clock(5, "07:40"), "done")
    at(room, clock(5, "08:00"), "today", "--all-day")
    found = []
    for hour in ("08:00", "09:00", "10:30", "12:00"):
        screen = at(room, clock(5, hour), "today").stdout
        found.append(re.findall(r"\d+ mL left in the jar of [^,]*", screen))
    assert found[0]
    assert all(lines == found[0] for lines in found), found


def test_what_is_new_by_an_entry_is_told_by_a_look(room: Path) -> None:
    """Taken back, the entry leaves nothing behind that would count as done."""
    at(room, NOW, "today", "--all-day")
    before = set(told(room))
    jotted(room, clock(5, "12:00"), "failed", "MW-1")
    jotted(room, clock(5, "12:01"), "undo")
    assert set(told(room)) <= before


def _lines(room: Path) -> int:
    return len((room.parent / "journal.csv").read_text("utf-8").splitlines())


def test_an_answer_to_another_time_tells_nothing(room: Path) -> None:
    at(room, NOW, "today", "--all-day")
    before = (room.parent / "told.jsonl").read_bytes()
    run(room, "journal", "hatched", "bottle 1", "40000", now=clock(5, "07:20"))
    assert (room.parent / "told.jsonl").read_bytes() == before


@pytest.mark.parametrize("when", ["08:05", "12:00", "17:00"])
@pytest.mark.parametrize("words", [("hatched", "bottle", "1", "0"), ("count", "bottle", "1", "0")])
def test_a_hatch_counted_as_none_after_it_was_ticked_off_is_not_fed_from(
    room: Path, words: tuple[str, ...], when: str
) -> None:
    at(room, NOW, "today", "--all-day")
    jotted(room, clock(5, "08:00"), "done")
    jotted(room, clock(5, when), *words)
    for later in (clock(5, EVENING), clock(6, MORNING)):
        found = plan(room, later)
        brings = min(t["until"] for t in found["tasks"] if t["what"] == "harvest_hatch")
        fed = [r for r in found["rounds"] if r["food"] == "brine_shrimp" and r["amount"] > 0]
        assert all(r["at"] >= brings for r in fed), later
        assert "jar of Tue" not in at(room, later, "today").stdout


def test_a_small_count_is_all_that_is_fed(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "07:20"), "hatched", "bottle", "1", "9000")
    fed = 0.0
    for day, hour in ((5, "07:21"), (5, EVENING), (6, MORNING), (6, EVENING)):
        found = plan(room, clock(day, hour))
        first = min(t["until"] for t in found["tasks"] if t["what"] == "harvest_hatch")
        rounds = [t for t in found["tasks"] if t["what"] == "feed" and t["at"] < first]
        assert sum(t["amounts"].get("nauplii", 0) for t in rounds) <= 9000
        fed = max(fed, sum(t["amounts"].get("nauplii", 0) for t in rounds))
    assert fed > 1000


# (2) what was told stays


_NOTES_BETWEEN = (
    ("count", "acara 5", "60"),
    ("lost", "annuals 2", "12"),
    ("temperature", "room", "19"),
    ("harvest", "MW-2", "3", "swipes"),
    ("bought", "cysts", "50", "g"),
    ("failed", "VE-2"),
    ("hatched", "bottle 1", "41000"),
)


def _lived(room: Path, first: date, days: int) -> dict[str, list[dict[str, Any]]]:
    """Looks at every round of some days; what was due on the evening of each."""
    seen: dict[str, list[dict[str, Any]]] = {}
    for number in range(days):
        day = (first + timedelta(days=number)).isoformat()
        at(room, f"{day}T{MORNING}", "today")
        at(room, f"{day}T{EVENING}", "today")
        seen[day] = bare(due(room, f"{day}T22:00"), day)
    return seen


@WHOLE
@pytest.mark.parametrize("words", [(), *_NOTES_BETWEEN], ids=lambda w: " ".join(w[:2]) or "nothing")
def test_what_tuesday_asked_for_is_the_same_on_wednesday(
    room: Path, words: tuple[str, ...]
) -> None:
    tuesday = _lived(room, TODAY, 1)["2027-01-05"]
    record = told(room)
    assert {t["what"] for t in tuesday} >= {"harvest_hatch", "harvest_worms", "feed", "set_hatch"}
    for row in tuesday:
        mine = record[row["id"]]
        assert (row["at"], row["subject"]) == (mine["at"], mine["subject"])
        assert row["amounts"] == {k: pytest.approx(v, rel=1e-5) for k, v in mine["amounts"].items()}
    if words:
        jotted(room, clock(6, "06:50"), *words)
    at(room, clock(6, MORNING), "today")
    at(room, clock(6, EVENING), "today")
    wanted = list(tuesday)
    if words[:2] == ("failed", "VE-2"):
        wanted = [row for row in wanted if row["subject"] != "VE-2"]
    # The jar of Tue 07:00 is 48 h old on Thu 07:00.
    for day, hour in ((6, "17:58"), (6, "18:02"), (6, "22:00"), (7, "06:58"), (7, "07:02"),
                      (8, "12:00"), (12, "12:00")):  # fmt: skip
        assert bare(due(room, clock(day, hour)), "2027-01-05") == wanted, (day, hour)
        dry = note(room, clock(day, hour), "done", "--dry-run").stdout
        assert len(re.findall(r"(?m)^ +\d+  Tue 5 Jan", dry)) == len(wanted)


def test_what_is_noted_of_a_told_task_leaves_the_others_as_they_were(room: Path) -> None:
    tuesday = _lived(room, TODAY, 1)["2027-01-05"]
    jotted(room, clock(6, "08:00"), "harvest", "MW-1", "9", "swipes", "--at", "yesterday", "18:35")
    left = bare(due(room, clock(6, "09:00")), "2027-01-05")
    assert left == [r for r in tuesday if r["id"] != "harvest_worms/2027-01-05T18:30/MW-1"]


@pytest.mark.parametrize(
    ("zone", "day"), [("Europe/Lisbon", date(2027, 3, 28)), ("America/New_York", date(2027, 11, 7)),
                      ("Australia/Lord_Howe", date(2027, 4, 4))],
)  # fmt: skip
def test_what_was_told_stays_when_clocks_change(tmp_path: Path, zone: str, day: date) -> None:
    room = tmp_path / "room.toml"
    before = day - timedelta(days=1)
    text = demo_text(before).replace("Europe/Lisbon", zone)
    room.write_text(re.sub(r"(?m)^horizon_days = .*", "horizon_days = 3", text), "utf-8")
    seen = _lived(room, before, 3)
    assert all(len(rows) >= 6 for rows in seen.values())
    for rows in seen.values():
        for row in rows:
            moment = datetime.fromisoformat(row["at"])
            assert moment.utcoffset() is not None
            assert row["what"] == "harvest_hatch" or f"{moment:%H:%M}" in ("07:30", "18:30")
    for hour in ("06:58", "07:02", "18:02", "22:00"):
        late = due(room, f"{day + timedelta(days=2)}T{hour}")
        for told_on, rows in seen.items():
            assert bare(late, told_on) == rows, (told_on, hour)


# (3) an absence


def test_after_days_without_a_look_done_notes_only_what_was_told(room: Path) -> None:
    first_look(room)
    mine = told(room)
    at(room, clock(10, "09:00"), "plan")  # looking only
    listed = due(room, clock(10, "09:00"))
    assert {row["id"] for row in listed} <= set(mine)
    assert all(row["at"] < "2027-01-06T12" for row in listed)
    result = note(room, clock(10, "09:00"), "done")
    noted = entries(room, clock(10, "09:01"))
    assert len(noted) == len(listed) == result.output.count("Noted, line")
    asked = sorted((t["at"], t["subject"]) for t in listed)
    assert sorted((e["when"], e["subject"]) for e in noted) == asked
    assert "Nothing is waiting to be noted" in note(room, clock(10, "09:02"), "done").output
    screen = " ".join(at(room, clock(10, "09:03"), "today").stdout.split())
    assert "TAKEN AS DONE" not in screen


def test_days_on_which_nothing_was_told_are_said_once_and_add_nothing(room: Path) -> None:
    first_look(room)
    screen = " ".join(at(room, clock(10, "09:00"), "today").stdout.split())
    asked = r"Nothing was told or noted of the \d rounds of (Tue 5|Wed 6) Jan to Sat 9 Jan: were"
    assert re.search(asked, screen)
    mw = at(room, clock(10, "09:01"), "yield", "MW-1").stdout
    rows = {d: mw.partition(f"{d} Jan")[2].splitlines()[0] for d in ("Thu 7", "Fri 8", "Sat 9")}
    assert not any("swipe" in row for row in rows.values()), rows


# (4) asked once


@WHOLE
@pytest.mark.parametrize("answer", [("done",), ("skip", "1", "2", "3", "4"), ()])
def test_what_was_taken_as_done_is_asked_about_once(room: Path, answer: tuple[str, ...]) -> None:
    first_look(room)
    title = "TAKEN AS DONE, unless you say otherwise"
    asked = at(room, clock(5, "12:00"), "today").stdout
    assert title in asked
    rows = re.findall(r"(?m)^   (\d)  ", asked.partition(title)[2].partition("ROUND")[0])
    assert rows == ["1", "2", "3", "4"]
    if answer:
        result = note(room, clock(5, "12:05"), *answer)
        assert result.output.count("Noted, line") == 4
    left = due(room, clock(5, "12:06"))
    assert len(left) == (0 if answer else 4)
    ids = {t["id"] for t in left}
    days = (*range(5, 9), 11, 14, 17, *range(18, 21)) if thorough() else (5, 6, 8, 14, 20)
    for day in days:
        screen = at(room, clock(day, "17:00"), "today").stdout
        block = screen.partition(title)[2].partition("ROUND")[0]
        assert not re.search(r"07:30 round|(Tue 5 Jan )07:[03]0", block), day
        if answer:
            rest = due(room, clock(day, "17:01"))
            assert not [t for t in rest if t["at"] < "2027-01-05T12"]
    assert answer or ids


def test_skip_by_number_answers_one_of_the_questions(room: Path) -> None:
    first_look(room)
    at(room, clock(5, "12:00"), "today")
    before = due(room, clock(5, "12:01"))
    jotted(room, clock(5, "12:02"), "skip", "2")
    (entry,) = entries(room, clock(5, "12:03"))
    assert (entry["event"], entry["subject"], entry["other"]) == (
        "skip", before[1]["subject"], before[1]["id"],
    )  # fmt: skip
    assert due(room, clock(5, "12:03")) == [t for t in before if t["id"] != before[1]["id"]]


# (5) a room file without a hatch


@WHOLE
def test_nobody_draws_off_or_splits_what_was_never_set_or_split(room: Path) -> None:
    without_hatch(room)
    named = {"MW-1", "MW-2", "VE-1", "VE-2"}
    for when in (NOW, clock(5, EVENING), clock(9, MORNING), clock(12, MORNING)):
        shown = run(room, "today", "--all-day", now=when).stdout
        round_ = shown.partition("ROUND")[2].partition("TO SET GOING")[0]
        assert "draw off" not in round_
        assert not re.search(r"bottle \d", round_)
        assert "jar of" not in round_
        assert "nauplii" not in round_.partition("  tank ")[2]
        found = run_json(room, "plan", now=when)
        standing = {c["name"] for c in found["cultures"] if c["started"] < found["from"]}
        assert standing == named
        first = min(t["at"] for t in found["tasks"] if t["what"] == "set_hatch")
        assert not [t for t in found["tasks"] if t["what"] == "harvest_hatch" and t["at"] < first]
        split = {t["other"]: t["at"] for t in found["tasks"] if t["what"] in ("split", "start")}
        used = {t["subject"]: t["at"] for t in found["tasks"] if t["what"] == "harvest_worms"}
        for name in set(used) - named:
            assert split[name] < used[name]
    for when in (NOW, clock(12, MORNING)):
        assert "MW-3" in run(room, "yield", "MW-3", now=when, code=2).stderr
        assert "MW-3" in run(room, "journal", "discard", "MW-3", now=when, code=2).stderr
    out = room.with_name("sheet.html")
    run(room, "sheet", "--out", str(out))
    words = re.sub(r"<[^>]+>", " ", out.read_text("utf-8").split("</style>")[1])
    assert "draw off the nauplii" not in words.partition("set bottle")[0]


# (6) what a told split made


@pytest.fixture(name="parted", scope="module")
def _parted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """A room lived until a split is told and over, and that split."""
    room = _near(tmp_path_factory.mktemp("parted"))
    return room, _until_a_split_is_told(room)


@pytest.fixture(name="split")
def _split(parted: tuple[Path, dict[str, Any]], room: Path) -> dict[str, Any]:
    """The split; the room is as it was when it was over."""
    shutil.copytree(parted[0].parent, room.parent, dirs_exist_ok=True)
    return parted[1]


def _until_a_split_is_told(room: Path) -> dict[str, Any]:
    for day in range(5, 26):
        for hour in (MORNING, EVENING):
            at(room, clock(day, hour), "today")
            for task in told(room).values():
                if task["what"] == "split" and task["at"] < clock(day, hour):
                    return task
    raise AssertionError("no split was told")


def test_a_culture_found_bad_at_its_round_is_not_split(
    parted: tuple[Path, dict[str, Any]], room: Path
) -> None:
    split, begun = parted[1], datetime.fromisoformat(parted[1]["at"])
    for day in range(5, begun.day + 1):
        for hour in (MORNING, EVENING):
            if clock(day, hour) <= f"{begun:%Y-%m-%dT%H:%M}":
                at(room, clock(day, hour), "today")
    soon, later = (f"{begun + timedelta(minutes=n):%Y-%m-%dT%H:%M}" for n in (5, 6))
    words = f"split {split['subject']}: "
    assert words in at(room, soon, "today").stdout
    jotted(room, soon, "failed", split["subject"], "--note", "mouldy")
    assert words not in at(room, later, "today").stdout
    assert split["id"] not in {t["id"] for t in due(room, later)}


def test_the_culture_of_a_told_split_is_known(room: Path, split: dict[str, Any]) -> None:
    name, begun = split["other"], datetime.fromisoformat(split["at"])
    assert entries(room, clock(27, "12:00")) == []
    later = f"{begun + timedelta(hours=3):%Y-%m-%dT%H:%M}"
    found = json.loads(at(room, later, "yield", name, "--json").stdout)
    assert (found["name"], found["started"]) == (name, begun.date().isoformat())
    assert f"{name}, microworm" in at(room, later, "yield", name).stdout
    standing = {c["name"] for c in plan(room, later)["cultures"] if c["started"] < later}
    assert name in standing
    result = note(room, later, "discard", name)
    assert f"discard {name}" in result.output
    assert name not in {c["name"] for c in plan(room, later)["cultures"] if c["started"] < later}
    gone = note(room, later, "harvest", name, "1", code=2)
    assert f"{name} was discarded on" in gone.output


def test_a_skipped_split_made_nothing(room: Path, split: dict[str, Any]) -> None:
    later = f"{datetime.fromisoformat(split['at']) + timedelta(hours=3):%Y-%m-%dT%H:%M}"
    jotted(room, later, "skip", split["id"])
    assert at(room, later, "yield", split["other"], code=2).stdout == ""
    assert split["other"] in note(room, later, "discard", split["other"], code=2).output


def test_what_is_noted_of_a_told_split_notes_the_split(room: Path, split: dict[str, Any]) -> None:
    name, later = split["other"], f"{datetime.fromisoformat(split['at']):%Y-%m-%dT23:00}"
    said = note(room, later, "split", name, "MW-40").output
    begun, child = entries(room, later)[-2:]
    assert (begun["event"], begun["subject"], begun["other"]) == ("split", split["subject"], name)
    assert datetime.fromisoformat(begun["when"]) == datetime.fromisoformat(split["at"])
    assert (child["subject"], child["other"]) == (name, "MW-40")
    assert f"split {split['subject']} {name}" in " ".join(said.split())
    assert not [e for e in entries(room, later)[:-2] if e["event"] == "split"]
    # Neither asked for nor skipped any more, and there with the record lost.
    assert split["id"] not in at(room, later, "journal", "due", "--json").stdout
    note(room, later, "skip", split["id"], code=2)
    room.with_name("told.jsonl").unlink()
    standing = {c["name"] for c in plan(room, later)["cultures"]}
    assert {name, "MW-40"} <= standing
    jotted(room, later, "harvest", name, "1", "swipes")
    assert len(entries(room, later)) == 3  # noted once


# (7) stocks to the gram


_SUPPLIES = "\n[supplies]\nsalt_g = 800\ndry_g = 120\nmedium_g = 2000\n"
_SALT = 25.0  # of each bottle of a litre


#: What of a new culture comes out of the stock of oats, by its label: the rest is water.
_OATS = {"MW": 0.18, "VE": 0.0}


def _used(tasks: Iterable[dict[str, Any]]) -> Iterator[tuple[str, float]]:
    """What told tasks use, worked out from what was told alone."""
    for task in tasks:
        amounts = task["amounts"]
        if task["what"] == "set_hatch":
            yield "cysts", amounts["cysts_g"]
            yield "salt", _SALT
        elif task["what"] == "harvest_hatch":
            yield "salt", amounts.get("jar_ml", 0.0) / 1000 * _SALT
        elif task["what"] == "feed":
            yield "dry", amounts.get("soaked_g", amounts.get("dry_g", 0.0))
        elif task["what"] in ("split", "start"):
            yield "medium", _OATS[task["other"][:2]] * amounts["medium_g"]


def _stocks(room: Path, when: str) -> dict[str, float]:
    return {s["item"]: s["stock_g"] for s in plan(room, when)["supplies"]}


@pytest.mark.parametrize("noting", [False, True])
def test_dry_food_that_is_soaked_and_not_fed_leaves_the_stock(room: Path, noting: bool) -> None:
    """A scale of whole grams: a gram is soaked at a round that needs less, the rest poured out."""
    text = room.read_text("utf-8") + _SUPPLIES + "\n[tools]\nscale_g = 1\n"
    room.write_text(text, "utf-8")
    rounds = 0
    for hour, later in ((MORNING, "09:40"), (EVENING, "20:40")):
        shown = " ".join(at(room, clock(5, hour), "today").output.split())
        soaked = "soak 1 g dry food" in shown
        rounds += soaked
        assert not soaked or "of it" in shown
        if noting:
            jotted(room, clock(5, later), "done")
    assert rounds
    planned = plan(room, clock(5, "23:00"))
    (dry,) = (s for s in planned["supplies"] if s["item"] == "dry")
    assert dry["stock_g"] == 120 - rounds
    soaks = [t for t in planned["tasks"] if t["what"] == "soak"]
    assert sum(dry["weeks_g"]) == pytest.approx(sum(t["amounts"]["dry_g"] for t in soaks))


@WHOLE
@pytest.mark.parametrize("noting", [False, True])
def test_stocks_fall_by_what_was_told_or_done_to_the_gram(room: Path, noting: bool) -> None:
    room.write_text(room.read_text("utf-8") + _SUPPLIES, "utf-8")
    stands = {"cysts": 30.0, "salt": 800.0, "dry": 120.0, "medium": 2000.0}
    assert _stocks(room, clock(5, "06:00")) == stands
    # Splits are on the weekend; what is not told before uses nothing up.
    for day in range(5 if thorough() else 8, 12):
        for hour, later in ((MORNING, "09:40"), (EVENING, "20:40")):
            at(room, clock(day, hour), "today")
            if noting:
                jotted(room, clock(day, later), "done")
    end = clock(11, "23:00")
    over = [
        t for t in told(room).values()
        if t["at"] < clock(11, "21:00") and t["what"] not in ("buy", "count", "sort", "lid")
    ]  # fmt: skip
    assert {t["what"] for t in over} >= {"set_hatch", "harvest_hatch", "feed", "split"}
    for item, grams in _used(over):
        stands[item] -= grams
    assert stands["medium"] < 2000
    assert stands["dry"] < 120
    assert _stocks(room, end) == {k: pytest.approx(v, abs=1e-3) for k, v in stands.items()}
    # Bought, used and weighed.
    for words, item, grams in (
        (("bought", "cysts", "50", "g"), "cysts", 50.0),
        (("bought", "salt", "1", "kg"), "salt", 1000.0),
        (("bought", "dry", "35"), "dry", 35.0), (("bought", "medium", "500", "g"), "medium", 500.0),
        (("used", "salt", "200", "g"), "salt", -200.0), (("used", "dry", "2.5", "g"), "dry", -2.5),
        (("used", "medium", "30", "g"), "medium", -30.0),
        (("used", "cysts", "1", "g"), "cysts", -1.0),
    ):  # fmt: skip
        jotted(room, end, *words)
        stands[item] += grams
        assert _state(room, end) == {k: pytest.approx(v, abs=1e-3) for k, v in stands.items()}
    assert _stocks(room, end) == {k: pytest.approx(v, abs=1e-3) for k, v in stands.items()}
    jotted(room, end, "count", "cysts", "38", "g")
    assert _stocks(room, end)["cysts"] == 38
    jotted(room, end, "count", "dry", "99.5", "g")
    assert _stocks(room, end)["dry"] == 99.5


def _state(room: Path, when: str) -> dict[str, float]:
    """Every stock that is known, those that the plan does not use among them."""
    moment = datetime.fromisoformat(f"{when}+00:00")
    found = present_of(load_room(room, today=moment.date()), room, moment).room
    return {"cysts": found.cysts.grams if found.cysts else 0.0, **found.stock_g}


def test_what_nobody_was_told_uses_nothing_up(room: Path) -> None:
    room.write_text(room.read_text("utf-8") + _SUPPLIES, "utf-8")
    stated = {"cysts": 30.0, "salt": 800.0, "dry": 120.0, "medium": 2000.0}
    for when in (NOW, clock(9, "12:00"), clock(25, "12:00")):
        assert _state(room, when) == stated
        stands = {s["item"]: s["stock_g"] for s in run_json(room, "plan", now=when)["supplies"]}
        assert stands.items() <= stated.items()
        assert {"cysts", "salt", "dry"} <= set(stands)


def test_buying_every_stock_can_be_noted_where_none_was_stated(room: Path) -> None:
    for item in ("salt", "dry", "medium", "microworm_medium"):
        result = note(room, NOW, "bought", item, "250", "g")
        assert re.search(rf"Noted, line \d: Tue 5 Jan 07:00  bought {item} +250 g", result.output)
    stands = {"cysts": 30, "salt": 250, "dry": 250, "medium": 250, "microworm_medium": 250}
    assert _state(room, NOW) == stands
    jotted(room, NOW, "used", "microworm_medium", "40", "g")
    assert _state(room, NOW) == stands | {"microworm_medium": 210}


# (8) times and names as people say them


@pytest.mark.parametrize(
    ("words", "when"),
    [
        (("--at", "07:50"), "2027-01-05T07:50"),
        (("--at", "7:50"), "2027-01-05T07:50"),
        (("--at", "yesterday"), "2027-01-04T09:00"),
        (("--at", "yesterday 18:30"), "2027-01-04T18:30"),
        (("--at", "yesterday", "18:30"), "2027-01-04T18:30"),
        (("--at", "7:50", "am"), "2027-01-05T07:50"),
        (("--at", "yesterday", "6:30", "pm"), "2027-01-04T18:30"),
        (("--at", "Mon", "Jan", "4,", "noon"), "2027-01-04T12:00"),
        (("--at", "31 Dec 7:00"), "2026-12-31T07:00"),
        (("--at", "2027-01-05T08:10"), "2027-01-05T08:10"),
        ((), "2027-01-05T09:00"),
    ],
)
@pytest.mark.parametrize("first", [False, True])
def test_times_as_people_say_them(
    room: Path, words: tuple[str, ...], when: str, first: bool
) -> None:
    typed = ["lost", *words, "acara 5", "3"] if first else ["lost", "acara 5", "3", *words]
    jotted(room, clock(5, "09:00"), *typed)
    (entry,) = entries(room, clock(5, "09:01"))
    assert entry["when"] == f"{when}:00+00:00"
    assert (entry["subject"], entry["amount"]) == ("acara 5", 3)


@pytest.mark.parametrize(
    ("words", "event", "subject", "other", "amount"),
    [
        (("hatched", "bottle", "1", "200000"), "hatched", "bottle 1", "", 200000),
        (("set", "bottle", "2", "1.5", "g"), "set", "bottle 2", "", 1.5),
        (("harvest", "bottle", "1"), "harvest", "bottle 1", "", None),
        (("count", "pearl", "danio", "3", "100"), "count", "pearl danio 3", "", 100),
        (("count", "Pearl", "Danio", "3", "100"), "count", "pearl danio 3", "", 100),
        (("lost", "honey", "gourami", "7", "4"), "lost", "honey gourami 7", "", 4),
        (("move", "acara", "5", "B3", "20"), "move", "acara 5", "B3", 20),
        (("length", "acara", "5", "6.5", "mm"), "length", "acara 5", "", 6.5),
        (("count", "A3", "100"), "count", "pearl danio 3", "", 100),
        (("lost", "B1", "4"), "lost", "acara 5", "", 4),
        (("leftover", "C2", "some"), "leftover", "rainbows 4", "some", None),
        (("move", "B1", "B3"), "move", "acara 5", "B3", None),
        (("note", "bottle", "1", "smells", "of", "eggs"), "note", "bottle 1", "", None),
    ],
)
def test_names_as_people_type_them(
    room: Path, words: tuple[str, ...], event: str, subject: str, other: str, amount: float | None
) -> None:
    jotted(room, clock(5, "09:00"), *words)
    (entry,) = entries(room, clock(5, "09:01"))
    found = (entry["event"], entry["subject"], entry["other"], entry["amount"])
    assert found == (event, subject, other, amount)


@WHOLE
def test_one_tank_of_a_round_is_noted_as_it_was_fed(room: Path) -> None:
    at(room, clock(5, "07:20"), "today")
    noted = [
        ("fed C2", "fed", "C2", "", None, ""),
        ("fed C2 Vinegar eel 30", "fed", "C2", "vinegar_eel", 30, "mL"),
        # A US teaspoon is 1/768 of a gallon of 231 cubic inches: 4.9289 mL (NIST Handbook 44).
        ("fed C2 microworm 1/2 tsp", "fed", "C2", "microworm", 2.464, "mL"),
        ("fed C4 dry 0.02 g", "fed", "C4", "dry", 0.02, "g"),
        ("fed A3 dry food 4 mL", "fed", "A3", "dry", 4, "mL"),
        ("skip b1", "skip", "B1", "feed/2027-01-05T07:30", None, ""),
    ]
    for words, *_ in noted:
        jotted(room, clock(5, "07:30"), *words.split())
    found = entries(room, clock(5, "07:31"))
    keys = ("event", "subject", "other", "amount", "unit")
    assert [tuple(e[k] for k in keys) for e in found] == [row[1:] for row in noted]
    shown = at(room, clock(5, "07:31"), "today").output
    assert (
        "Noted: C2 30 mL of vinegar eel, 2.46 mL of microworm; C4 0.02 g of dry food;"
        " A3 4 mL of dry food; B1 not fed"
    ) in " ".join(shown.split())
    assert "B1: not fed (Tue 5 Jan 07:30)" in shown
    for wrong, why in (
        ("fed A1", "no food was told for tank A1 at this time"),
        ("fed B1 cheese 5 mL", "say a food that was told for B1, or made up for others"),
        ("fed B1 nauplii", "say a food that was told for B1"),
        ("fed B1 nauplii lots", "'lots'"),
        ("skip A1", "the fry in tank A1 did not eat yet at the 07:30 round"),
    ):
        assert why in note(room, clock(5, "07:31"), *wrong.split(), code=2).output
    assert len(entries(room, clock(5, "07:32"))) == len(noted)


def test_a_tank_of_two_broods_or_none_is_asked_back(room: Path) -> None:
    text = room.read_text("utf-8").replace('tank = "C4"', 'tank = "C2"')
    room.write_text(text, "utf-8")
    said = note(room, NOW, "count", "C2", "50", code=2).output
    assert "tank C2 holds rainbows 4 and platies 9: say which" in said
    assert "tank C4 holds no brood" in note(room, NOW, "count", "C4", "5", code=2).output
    assert not room.with_name("journal.csv").exists()


@pytest.mark.parametrize(
    "words", [("--at", "09:10"), ("--at", "23:00"), ("--at", "2027-01-05T09:10"),
              ("--at", "today", "18:30"), ("--at", "2027-01-06T07:00")],
)  # fmt: skip
def test_a_time_to_come_is_refused(room: Path, words: tuple[str, ...]) -> None:
    result = note(room, clock(5, "09:00"), "lost", "acara 5", "3", *words, code=2)
    assert "lies in the future; note it when it is done" in result.output
    assert not room.with_name("journal.csv").exists()


# (9) ticking off all, one, all but one, and amending


def _noted(room: Path, when: str) -> list[tuple[str, str]]:
    return [(e["event"], e["subject"]) for e in entries(room, when) if not e["undone"]]


@WHOLE
def test_done_but_one_and_done_of_one_and_skip(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "08:00"), "done", "--except", "MW-1")
    assert _noted(room, clock(5, "08:01")) == [
        ("harvest", "bottle 1"), ("harvest", "VE-1"), ("fed", "07:30 round"),
    ]  # fmt: skip
    assert [t["subject"] for t in due(room, clock(5, "08:01"))] == ["MW-1"]
    jotted(room, clock(5, "08:02"), "skip", "MW-1")
    assert _noted(room, clock(5, "08:03"))[-1] == ("skip", "MW-1")
    assert due(room, clock(5, "08:03")) == []
    at(room, clock(5, EVENING), "today")
    jotted(room, clock(5, "18:40"), "done", "MW-1")
    assert _noted(room, clock(5, "18:41"))[4:] == [("harvest", "MW-1")]
    note(room, clock(5, "18:42"), "done", "--except", "MW-1", code=2)  # nothing of it is open
    jotted(room, clock(5, "18:43"), "done", "--except", "VE-1", "--except", "bottle", "1")
    assert _noted(room, clock(5, "18:44"))[5:] == [("fed", "18:30 round")]


def test_a_skipped_harvest_leaves_the_worms_where_they_are(room: Path) -> None:
    first_look(room)

    def stands(when: str) -> float:
        found = json.loads(at(room, when, "yield", "MW-1", "--json").stdout)
        (today,) = (d for d in found["days"] if d["day"] == found["today"])
        assert isinstance(today["stock"], float)
        return today["stock"]

    mg = told(room)["harvest_worms/2027-01-05T07:30/MW-1"]["amounts"]["mg"]
    taken = {when: stands(clock(5, when)) for when in ("07:31", "12:00")}
    jotted(room, clock(5, "07:31"), "skip", "MW-1")
    assert stands(clock(5, "07:31")) == taken["07:31"]  # it was not over, so not taken as done
    assert 0.85 * mg < stands(clock(5, "12:00")) - taken["12:00"] < mg  # they grow more slowly


def test_a_count_after_a_tick_amends_it(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "08:00"), "done")
    before = len(entries(room, clock(5, "08:01")))
    result = note(room, clock(5, "08:02"), "harvest", "MW-1", "9", "swipes")
    ticked = _line_of(room, "harvest,MW-1")
    assert f"It replaces line {ticked}, ticked off as told." in result.output
    assert len(entries(room, clock(5, "08:03"))) == before + 1
    found = json.loads(at(room, clock(5, "09:00"), "yield", "MW-1", "--json").stdout)
    taken = [d["taken"] for d in found["done"] if d["what"] == "harvest"]
    assert taken == [pytest.approx(9 * 20.0, rel=1e-6)]  # 20 mg a swipe: once, not twice
    (first,) = (d for d in found["done"] if d["what"] == "harvest")
    assert first["at"] == "2027-01-05T07:30:00+00:00"
    assert due(room, clock(5, "08:04")) == []


def _line_of(room: Path, what: str) -> int:
    """The line in which an event of a subject was noted first, counted in the file."""
    rows = room.with_name("journal.csv").read_text("utf-8").splitlines()
    return 1 + next(i for i, row in enumerate(rows) if f",{what}," in row)


def test_a_second_count_after_a_tick_says_that_it_replaces_the_first(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "08:00"), "done")
    ticked = _line_of(room, "harvest,MW-1")
    words = ("harvest", "MW-1")
    first = note(room, clock(5, "09:00"), *words, "8", "swipes", "--at", "07:50")
    line = int(first.output.partition("Noted, line ")[2].partition(":")[0])
    assert f"It replaces line {ticked}, ticked off as told." in first.output
    second = note(room, clock(5, "09:01"), *words, "9", "swipes", "--at", "08:05")
    assert f"It replaces line {line}, 8 swipes." in second.output
    assert str(ticked) not in second.output.partition("It replaces")[2].partition(".")[0]


def test_a_setting_of_another_amount_amends_the_tick(room: Path) -> None:
    room.write_text(room.read_text("utf-8") + _SUPPLIES, "utf-8")
    first_look(room)
    jotted(room, clock(5, "08:00"), "done")
    at(room, clock(5, EVENING), "today")
    jotted(room, clock(5, "18:40"), "done")
    ticked = _stocks(room, clock(5, "18:41"))
    asked = told(room)[_setting(room)]["amounts"]
    result = note(room, clock(5, "18:42"), "set", "bottle", "1", "2.5", "g")
    line = _line_of(room, "set,bottle 1")
    assert f"It replaces line {line}, ticked off as told." in result.output
    amended = _stocks(room, clock(5, "18:43"))
    assert amended["cysts"] == pytest.approx(ticked["cysts"] + asked["cysts_g"] - 2.5, abs=1e-6)
    assert amended["salt"] == pytest.approx(ticked["salt"], abs=1e-6)


def _setting(room: Path) -> str:
    (key,) = (
        k for k, t in told(room).items()
        if t["what"] == "set_hatch" and t["at"].startswith("2027-01-05")
    )  # fmt: skip
    return key


def test_another_bottle_instead_of_the_told_one(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "08:00"), "done")
    at(room, clock(5, EVENING), "today")
    key = _setting(room)
    grams = told(room)[key]["amounts"]["cysts_g"]
    assert told(room)[key]["subject"] == "bottle 1"
    jotted(room, clock(5, "18:35"), "set", "bottle", "2", "--instead-of", "bottle 1")
    last = entries(room, clock(5, "18:36"))[-2:]
    assert [(e["event"], e["subject"], e["amount"]) for e in last] == [
        ("set", "bottle 2", grams), ("skip", "bottle 1", None),
    ]  # fmt: skip
    assert last[1]["other"] == key
    for when in (clock(5, "21:00"), clock(6, MORNING)):
        assert not [t for t in due(room, when) if t["what"] == "set_hatch"]
        harvests = [
            t["subject"] for t in plan(room, when)["tasks"]
            if t["what"] == "harvest_hatch" and t["at"] < "2027-01-07T12"
        ]  # fmt: skip
        assert harvests == ["bottle 2"]


def test_worms_of_another_culture_instead_of_the_told_one(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "07:40"), "harvest", "MW-2", "6", "swipes", "--instead-of", "MW-1")
    assert _noted(room, clock(5, "07:41")) == [("harvest", "MW-2"), ("skip", "MW-1")]
    assert "MW-1" not in {t["subject"] for t in due(room, clock(5, "12:00"))}
    table = at(room, clock(5, "07:42"), "today").stdout.partition("  tank ")[2]
    assert "microworm" in table.splitlines()[0]  # worms came, of another tray


# (10) a folder that cannot be written


def test_today_works_where_nothing_can_be_recorded(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = run(room, "today").stdout

    def refuses(path: Path, *_: object, **__: object) -> None:
        raise FileProblemError(f"cannot write {path.name}: read-only file system")

    monkeypatch.setattr("cultures.record.store.files.append", refuses)
    for command in (("today",), ("sheet", "--out", str(room.with_name("sheet.html")))):
        result = at(room, NOW, *command)
        assert "What is told here is not recorded, so it will not count as done" in result.stderr
        assert "read-only file system" in result.stderr
        assert not room.with_name("told.jsonl").exists()
    assert at(room, NOW, "today").stdout == shown
    # It is as it says: nothing counts as done.
    monkeypatch.undo()
    assert "TAKEN AS DONE" not in at(room, clock(5, "12:00"), "today").stdout


# (11) commands that only look


_LOOKS = (
    ("plan",), ("plan", "--json"), ("today", "--json"), ("need",), ("need", "--json"),
    ("shortfalls",), ("shortfalls", "--json"), ("journal", "due"), ("journal", "due", "--json"),
    ("journal", "done", "--dry-run"), ("journal", "show"), ("learn",), ("yield", "MW-1"),
    ("check",),
    ("plan", "--if", "buy 20 cysts"), ("hatch",),
)  # fmt: skip


@pytest.mark.parametrize("words", _LOOKS, ids=" ".join)
@pytest.mark.parametrize("fresh", [True, False])
def test_a_command_that_only_looks_changes_no_file(
    room: Path, words: tuple[str, ...], fresh: bool
) -> None:
    if not fresh:
        first_look(room)
        jotted(room, clock(5, "07:50"), "done", "MW-1")
    before = files(room.parent)
    at(room, clock(5, "12:00"), *words)
    assert files(room.parent) == before


def test_another_time_only_looks(room: Path) -> None:
    first_look(room)
    jotted(room, clock(5, "07:50"), "done", "MW-1")
    out = room.parent / "elsewhere"
    out.mkdir()
    at(room, clock(5, "08:00"), "calendar", "--out", str(out / "jobs.ics"))
    kept = {k: v for k, v in files(room.parent).items() if not k.startswith("elsewhere")}
    for words in (
        ("today",), ("today", "--all-day"), ("today", "--next"), ("plan",),
        ("calendar", "--out", str(out / "other.ics")), ("sheet", "--out", str(out / "sheet.html")),
    ):  # fmt: skip
        run(room, *words, now=clock(5, "12:00"))
        now = {k: v for k, v in files(room.parent).items() if not k.startswith("elsewhere")}
        assert now == kept, words


# (12) what lies ahead: eggs in peat, planned spawns, cultures to be bought


def _of(found: dict[str, Any], brood: str) -> list[dict[str, Any]]:
    return [r for r in found["rounds"] if r["brood"] == brood]


def test_eggs_in_peat_are_no_fry_until_they_are_wetted(tmp_path: Path) -> None:
    room = _near(tmp_path, days=10)
    jotted(room, NOW, "collected", "annuals", "3", "--tank", "B5", "--class", "annual_killifish",
         "--count", "60")  # fmt: skip
    # Long after two weeks without a count, too.
    for when in (clock(5, "07:01"), clock(25, MORNING)):
        found = run_json(room, "plan", now=when)
        assert _of(found, "annuals 3") == []
        assert not [t for t in found["tasks"] if "annuals 3" in (t["subject"], t["other"])]
        assert not [n for n in found["notes"] if "annuals 3" in n and "ount" in n]
        needs = run(room, "need", now=when).stdout
        assert not re.search(r"annuals 3 +[\d.]", needs)
    jotted(room, clock(6, "08:00"), "wetted", "annuals 3", "--on", "2027-01-12")
    found = run_json(room, "plan", now=clock(6, "08:01"))
    (first,) = (
        t for t in found["tasks"] if t["what"] == "first_food" and t["subject"] == "annuals 3"
    )
    assert first["at"] > "2027-01-12"
    fed = sorted(r["at"] for r in _of(found, "annuals 3") if r["amount"] > 0)
    assert fed
    assert fed[0] >= first["at"]


def test_wetted_on_the_day_itself_counts_from_then(room: Path) -> None:
    jotted(room, NOW, "collected", "annuals", "3", "--tank", "B5", "--class", "annual_killifish",
         "--count", "60")  # fmt: skip
    jotted(room, clock(6, "08:00"), "wetted", "annuals", "3", "55")
    found = run_json(room, "plan", now=clock(6, "08:01"))
    (first,) = (
        t for t in found["tasks"] if t["what"] == "first_food" and t["subject"] == "annuals 3"
    )
    assert "2027-01-06T08" < first["at"] < "2027-01-10"


def test_a_planned_spawn_that_was_not_confirmed_is_not_fed(tmp_path: Path) -> None:
    room = _near(tmp_path, days=10)
    jotted(room, NOW, "planned", "danio", "9", "--on", "2027-01-07", "--tank", "A5", "--class",
         "egg_scatterer", "--count", "80")  # fmt: skip
    ahead = run_json(room, "plan", now=clock(5, "08:00"))
    (first,) = (
        t for t in ahead["tasks"] if t["what"] == "first_food" and t["subject"] == "danio 9"
    )
    assert first["at"] > "2027-01-07"
    assert all(r["at"] >= first["at"] for r in _of(ahead, "danio 9") if r["amount"] > 0)
    for when in (clock(8, MORNING), clock(14, MORNING), clock(28, MORNING)):
        late = run_json(room, "plan", now=when)
        assert _of(late, "danio 9") == []
        assert not [t for t in late["tasks"] if "danio 9" in (t["subject"], t["other"])
                    and t["what"] != "count"]  # fmt: skip
    jotted(room, clock(8, "08:00"), "spawn", "danio", "9")
    confirmed = run_json(room, "plan", now=clock(8, "08:01"))
    assert [r for r in _of(confirmed, "danio 9") if r["amount"] > 0]


def test_a_culture_to_be_bought_is_started_on_its_day(tmp_path: Path) -> None:
    room = _near(tmp_path, days=10)
    room.write_text(
        room.read_text("utf-8")
        + '\n[[culture]]\nname = "GW-1"\nkind = "grindal_worm"\nplanned = 2027-01-09\n'
          "medium_g = 500\nsurface_cm2 = 300\nstarter_g = 20\n",
        "utf-8",
    )  # fmt: skip
    found = run_json(room, "plan")
    (task,) = (t for t in found["tasks"] if t["what"] == "start")
    assert "GW-1" in (task["subject"], task["other"])
    assert task["at"].startswith("2027-01-09")
    assert task["amounts"]["starter_g"] == 20
    assert "GW-1" not in {c["name"] for c in found["cultures"] if c["started"] < found["from"]}
    assert not [t for t in found["tasks"] if t["what"] == "harvest_worms"
                and t["subject"] == "GW-1" and t["at"] < task["at"]]  # fmt: skip
    # Told, over and not contradicted, it stands; told by nobody, it does not.
    assert run(room, "yield", "GW-1", now=clock(10, "12:00"), code=2).stdout == ""
    at(room, clock(8, EVENING), "today")
    at(room, clock(9, MORNING), "today")
    assert "GW-1, " in at(room, clock(10, "12:00"), "yield", "GW-1").stdout


# (13) leaving and coming back


@pytest.fixture(name="away")
def _away(room: Path) -> Path:
    text = room.read_text("utf-8")
    room.write_text(
        text + "\n[[away]]\nfrom = 2027-01-10\nto = 2027-01-13\nhelper = true\n", "utf-8"
    )
    return room


def test_before_leaving_today_says_what_is_still_to_be_done(away: Path) -> None:
    assert "BEFORE YOU LEAVE" not in at(away, clock(7, MORNING), "today").stdout
    for day, hour in ((8, MORNING), (8, EVENING), (9, MORNING), (9, "22:00")):
        screen = at(away, clock(day, hour), "today").stdout
        assert "BEFORE YOU LEAVE (Sun 10 Jan to Wed 13 Jan, a helper feeds)" in screen
        block = screen.partition("BEFORE YOU LEAVE")[2].partition("\n\n")[0]
        assert "livefood sheet --helper --out helper.html" in block
    for day in (10, 11, 13, 14):
        assert "BEFORE YOU LEAVE" not in at(away, clock(day, MORNING), "today").stdout


def test_on_the_first_day_back_it_is_asked_what_was_done_meanwhile(away: Path) -> None:
    at(away, clock(9, MORNING), "today")
    out = away.with_name("helper.html")
    at(away, clock(9, EVENING), "sheet", "--helper", "--out", str(out))
    mine = {k: t for k, t in told(away).items() if "2027-01-10" <= t["at"][:10] <= "2027-01-13"}
    assert {t["what"] for t in mine.values()} <= {"feed", "soak", "harvest_worms", "first_food"}
    assert len([t for t in mine.values() if t["what"] == "feed"]) == 8
    screen = at(away, clock(14, MORNING), "today").stdout
    assert "WHILE YOU WERE AWAY, taken as done" in screen
    block = screen.partition("WHILE YOU WERE AWAY")[2].partition("\n\n")[0]
    assert "Sun 10 Jan 07:30" in block
    listed = due(away, clock(14, "07:01"))
    asked = {t["id"] for t in listed if "2027-01-10" <= t["at"][:10] <= "2027-01-13"}
    assert asked == {k for k, t in mine.items() if t["what"] in ("feed", "harvest_worms")}
    result = note(away, clock(14, "07:02"), "done")
    assert result.output.count("Noted, line") >= len(asked)
    assert "WHILE YOU WERE AWAY" not in at(away, clock(14, "07:03"), "today").stdout
    assert not [t for t in due(away, clock(14, "07:03")) if t["at"] < "2027-01-14"]


def test_a_round_begun_with_a_skip_stays_told(room: Path) -> None:
    """Looking again before its time withdrew the feeding, and asked for the worms anew."""
    at(room, clock(5, "06:50"), "today")
    feeds = {k for k, t in told(room).items() if t["what"] == "feed"}
    assert "feed/2027-01-05T07:30" in feeds
    jotted(room, clock(5, "06:55"), "skip", "MW-1")
    for time in ("07:00", "07:10", "07:20"):
        at(room, clock(5, time), "today")
        assert feeds <= told(room).keys(), time
        harvests = [t for t in due(room, clock(5, time)) if t["what"] == "harvest_worms"]
        assert "MW-1" not in {t["subject"] for t in harvests}, time


@pytest.mark.parametrize("time", ["07:40", "12:00"])
def test_nothing_is_due_of_a_day_on_which_nobody_is_there(room: Path, time: str) -> None:
    at(room, clock(5, MORNING), "today")
    assert due(room, clock(5, time))
    text = room.read_text("utf-8")
    room.write_text(text + "\n[[away]]\nfrom = 2027-01-05\nto = 2027-01-05\n", "utf-8")
    assert due(room, clock(5, time)) == []


def test_without_a_helpers_sheet_nothing_is_asked_of_the_days_away(away: Path) -> None:
    at(away, clock(9, MORNING), "today")
    at(away, clock(9, EVENING), "today")
    screen = at(away, clock(14, MORNING), "today").stdout
    assert "WHILE YOU WERE AWAY" not in screen
    assert not [t for t in due(away, clock(14, "07:01"))
                if "2027-01-10" <= t["at"][:10] <= "2027-01-13"]  # fmt: skip


def test_what_a_calendar_told_feeds_nobody_who_was_sold_or_moved_since(room: Path) -> None:
    """Two weeks are told by a calendar, at each later look two rounds; then two broods leave."""
    at(room, NOW, "today")
    at(room, clock(5, "07:01"), "calendar", "--out", str(room.with_name("fry.ics")))
    jotted(room, clock(5, "12:05"), "sold", "platies 9", "--all")
    jotted(room, clock(5, "12:06"), "move", "acara 5", "A5")
    for day, at_round in ((5, "18:25"), (6, "07:25"), (6, "18:25"), (7, "18:25")):
        rows = at(room, clock(day, at_round), "today").stdout
        assert "platies 9" not in rows
        assert re.search(r"(?m)^  A5 +acara 5 ", rows), rows
        assert not re.search(r"(?m)^  B1 ", rows)


def test_a_round_that_has_begun_is_fed_where_the_fish_are(room: Path) -> None:
    """A calendar told it on the day before; the first look at it is five minutes late."""
    at(room, NOW, "today")
    at(room, clock(5, "07:01"), "calendar", "--out", str(room.with_name("fry.ics")))
    jotted(room, clock(5, "12:05"), "sold", "platies 9", "--all")
    jotted(room, clock(5, "12:06"), "move", "acara 5", "A5")
    rows = at(room, clock(5, "18:35"), "today").stdout.partition("TO SET GOING")[0]
    assert re.search(r"(?m)^  A5 +acara 5 ", rows), rows
    assert not re.search(r"(?m)^  B1 ", rows)
    tanks = re.findall(r"(?m)^  ([A-C]\d) +\S+ \d", rows)
    assert tanks == sorted(tanks)


def _dose(screen: str, brood: str) -> str:
    """The row of a brood, told so much of each food."""
    (row,) = re.findall(rf"(?m)^  \w+ +{brood} .*$", screen)
    return str(row)


def _told_by_a_calendar(room: Path) -> None:
    """A calendar tells the evening of the next day, with 35 platies as the room file has them."""
    at(room, NOW, "today")
    at(room, clock(5, "07:01"), "calendar", "--out", str(room.with_name("fry.ics")))


def test_a_round_that_only_a_calendar_told_is_told_with_the_fish_counted_since(room: Path) -> None:
    """The first look is five minutes late: nobody can have measured by a screen. What it shows
    is what is fed from then on, at later looks and once it is over.
    """
    _told_by_a_calendar(room)
    jotted(room, clock(6, "12:05"), "count", "platies 9", "100", "--sure")
    early = run(room, "today", now=clock(6, "18:20")).stdout
    late = at(room, clock(6, "18:35"), "today").stdout
    assert "times these doses" not in late
    assert _dose(late, "platies 9") == _dose(early, "platies 9")
    assert _dose(at(room, clock(6, "19:10"), "today").stdout, "platies 9") == _dose(
        early, "platies 9"
    )
    taken = at(room, clock(6, "21:00"), "today").stdout
    assert taken.count("feed the 18:30 round") == 1


@pytest.mark.parametrize("screen", ["today", "sheet"])
def test_a_round_that_a_calendar_told_and_a_screen_showed_stays(room: Path, screen: str) -> None:
    """The screen shows what the calendar had told; the fish are counted once it has begun."""
    _told_by_a_calendar(room)
    words = ("sheet", "--out", str(room.with_name("s.html"))) if screen == "sheet" else ("today",)
    at(room, clock(6, "18:10"), *words)
    before = run(room, "today", now=clock(6, "18:32")).stdout
    jotted(room, clock(6, "18:33"), "count", "platies 9", "100", "--sure")
    after = at(room, clock(6, "18:35"), "today").stdout
    assert "times these doses" in " ".join(after.split())
    assert _dose(after, "platies 9") == _dose(before, "platies 9")


@WHOLE
def test_worms_that_do_not_come_are_named_with_those_that_could_give_some(room: Path) -> None:
    """The round takes of one culture of three; that turns out to be dead when it has begun."""
    text = room.read_text("utf-8")
    start = text.index("[[culture]]")
    block = text[start : text.index("[[", start + 2)]
    assert 'name = "MW-1"' in block
    room.write_text(text.replace(block, block + block.replace("MW-1", "MW-8"), 1), "utf-8")
    assert "MW-1: 6" in at(room, NOW, "today").stdout
    for number, (name, others) in enumerate(
        (("MW-1", "MW-8 and MW-2 would give some"), ("MW-8", "MW-2 would give some"))
    ):
        jotted(room, clock(5, f"07:3{number + 2}"), "failed", name)
        now = " ".join(at(room, clock(5, "07:34"), "today").stdout.split())
        said = "no microworms at this round: what was planned for it is not there"
        assert f"{said}; {others}" in now


def test_a_jar_keeps_so_many_hours_whatever_the_clocks_do(tmp_path: Path) -> None:
    """In the fridge two days: from 07:00 on a Saturday to 08:00 on a Monday in summer time."""
    path = tmp_path / "room.toml"
    text = demo_text(date(2027, 3, 27))
    assert 'timezone = "Europe/Lisbon"' in text  # where clocks change on 28 March
    path.write_text(text, "utf-8")
    shown = at(path, "2027-03-27T07:00", "today").stdout
    assert "in the jar of Sat 07:00, keeps until Mon 29 Mar 08:00" in " ".join(shown.split())


def test_a_jar_that_turns_out_to_be_no_food_once_the_round_has_begun_is_not_fed(
    room: Path,
) -> None:
    """Drawn off for the morning and kept; ten minutes into the evening's round it is dead."""
    at(room, NOW, "today")
    jotted(room, clock(5, "07:40"), "done")
    evening = at(room, clock(5, "18:20"), "today").stdout
    assert "stir the jar of Tue 07:00" in evening
    jotted(room, clock(5, "18:40"), "failed", "bottle", "1")
    now = at(room, clock(5, "18:41"), "today").stdout
    head = now.partition("TO SET GOING")[0]
    assert "no nauplii at this round: what was planned for it is not there" in " ".join(
        head.split()
    )
    assert "stir the jar of Tue 07:00" not in head


@pytest.mark.parametrize("event", ["hatched", "count"])
def test_nauplii_noted_once_the_bottle_is_set_anew_are_those_that_were_drawn_off(
    room: Path, event: str
) -> None:
    """Half an hour after a setting nothing can have hatched: it is the jar that was counted."""
    at(room, NOW, "today")
    jotted(room, clock(5, "07:36"), "done")
    jotted(room, clock(5, "07:40"), "set", "bottle", "1", "2", "g")
    before = run_json(room, "plan", now=clock(5, "08:09"))
    jotted(room, clock(5, "08:10"), event, "bottle", "1", "150000")
    after = run_json(room, "plan", now=clock(5, "08:15"))
    kept, still = (
        next(
            (t["id"], t["at"]) for t in plan["tasks"]
            if t["what"] == "harvest_hatch" and t["subject"] == "bottle 1"
        )
        for plan in (before, after)
    )  # fmt: skip
    assert kept == still
    assert "stir the jar of Tue 07:00" in at(room, clock(5, "18:20"), "today").stdout


def test_a_setting_that_was_skipped_is_not_asked_for_before_the_next_round(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    room.write_text(
        '[room]\nname = "shed"\ntimezone = "UTC"\ntemperature_c = 22\nrounds = ["06:45", "18:15"]\n'
        'as_of = 2027-02-03\nhorizon_days = 4\n[[tank]]\nname = "A1"\nlitres = 40\n'
        "temperature_c = 24\n"
        '[[brood]]\nname = "acaras"\ntank = "A1"\nclass = "egg_scatterer"\ncount = 60\n'
        'free_swimming = 2027-01-28\n[[vessel]]\nname = "bottle"\nlitres = 1.5\n'
        "temperature_c = 26\n[cysts]\ngrams = 50\n"
    )
    at(room, "2027-02-03T06:50", "today")
    assert '"set_hatch/' in (tmp_path / "told.jsonl").read_text()
    jotted(room, "2027-02-03T07:00", "skip", "bottle")
    at(room, "2027-02-03T07:10", "today", "--all-day")
    plan = json.loads(at(room, "2027-02-03T07:10", "plan", "--json").stdout)
    sets = [t["at"] for t in plan["tasks"] if t["what"] == "set_hatch"]
    assert sets
    assert min(sets) >= "2027-02-03T18:15"


def test_a_tank_that_was_noted_is_marked_in_its_round(room: Path) -> None:
    at(room, clock(5, "07:20"), "today")
    jotted(room, clock(5, "07:31"), "fed", "C4")
    shown = at(room, clock(5, "07:32"), "today").output
    assert re.search(r"(?m)^  C4 \+ ", shown)
    assert not re.search(r"(?m)^  A3 \+ ", shown)
    assert "+ Noted: C4 fed" in shown


def test_what_is_told_and_not_over_is_not_done_for_check_and_yield(
    room: Path, split: dict[str, Any]
) -> None:
    before, new = split["at"][:16], split["label"] if "label" in split else split["other"]
    assert f"  {new} " not in at(room, before, "check").output
    at(room, before, "yield", new, code=2)


def test_a_count_that_is_taken_back_is_not_said_to_count_as_done(tmp_path: Path) -> None:
    room = quick_room(tmp_path)
    for day in (5, 12, 19):
        at(room, clock(day, "07:00"), "today")
    counts = [t for t in told(room).values() if t["what"] == "count"]
    assert counts
    name, moment = counts[-1]["subject"], counts[-1]["at"][:16]
    jotted(room, max(moment, clock(19, "07:01")), "count", name, "60")
    said = at(room, max(moment, clock(19, "07:02")), "journal", "undo").output
    assert "undo" in said
    assert "still counts as done" not in said


def test_to_take_back_one_line_of_a_round_says_which_others_stand(room: Path) -> None:
    """Skipped as a whole, it is noted in a line for each culture and one for the feeding."""
    at(room, NOW, "today")
    jotted(room, clock(5, "07:40"), "skip", "round")
    last, first = _lines(room), _first_skip(room)
    undo = ("journal", "undo", "--line", str(last))
    said = " ".join(at(room, clock(5, "07:41"), *undo).output.split())
    assert f"Lines {first} to {last - 1} note the same round, and still stand" in said
    assert f"livefood journal undo --line {first}-{last - 1}" in said
    jotted(room, clock(5, "07:42"), "note", "MW-1", "smells")
    assert "same round" not in at(room, clock(5, "07:43"), "journal", "undo").output


def _first_skip(room: Path) -> int:
    lines = (room.parent / "journal.csv").read_text("utf-8").splitlines()
    return min(n for n, row in enumerate(lines, 1) if ",skip," in row)


def _standing(room: Path) -> list[int]:
    shown = run_json(room, "journal", "show", now=clock(6, "08:00"))
    return sorted(e["line"] for e in shown["entries"])


@pytest.mark.parametrize("command", [("skip", "round"), ("done",)])
def test_what_one_command_noted_is_taken_back_at_once(room: Path, command: tuple[str, ...]) -> None:
    """Its lines have one fate: half of a round that was skipped is no round that anybody fed."""
    at(room, NOW, "today")
    jotted(room, clock(5, "07:35"), "note", "MW-1", "smells")
    before, fed = _standing(room), due(room, clock(5, "07:40"))
    jotted(room, clock(5, "07:40"), *command)
    made = [n for n in _standing(room) if n not in before]
    assert len(made) > 2
    said = " ".join(at(room, clock(5, "07:41"), "journal", "undo").output.split())
    assert _standing(room) == before
    assert due(room, clock(5, "07:41")) == fed
    back = f"{made[-1] + 1}-{made[-1] + len(made)}"
    assert f"Taken back together: {len(made)} lines, {made[0]} to {made[-1]}." in said
    assert f"To have them again: livefood journal undo --line {back}" in said
    jotted(room, clock(5, "07:42"), "undo", "--line", back)
    assert _standing(room) == [*before, *made]
    jotted(room, clock(5, "07:43"), "undo", "--line", str(made[-1]))
    jotted(room, clock(5, "07:44"), "undo")  # the rest of the same command
    assert _standing(room) == before
    jotted(room, clock(5, "07:45"), "undo")
    assert _standing(room) == []


def test_undo_without_the_file_that_knows_what_belongs_together_takes_one_line(room: Path) -> None:
    """As in a journal that is older than it: more than was meant is never taken back."""
    at(room, NOW, "today")
    jotted(room, clock(5, "07:40"), "skip", "round")
    (room.parent / "answers.jsonl").unlink()
    made, first = _standing(room), _first_skip(room)
    said = " ".join(at(room, clock(5, "07:41"), "journal", "undo").output.split())
    assert _standing(room) == made[:-1]
    assert f"livefood journal undo --line {first}-{made[-2]}" in said


def test_lines_that_were_moved_by_hand_are_taken_back_one_by_one(room: Path) -> None:
    at(room, NOW, "today")
    jotted(room, clock(5, "07:40"), "skip", "round")
    path = room.parent / "journal.csv"
    lines = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join([*lines[:-2], lines[-1]]), "utf-8")
    made = _standing(room)
    jotted(room, clock(5, "07:41"), "undo")
    assert _standing(room) == made[:-1]


@pytest.mark.parametrize(
    ("line", "says"),
    [("x", "is not a whole number"), ("4-2", "is not possible"), ("1", "is not possible"),
     ("80-90", "none of the lines 80 to 90 is an entry"), ("2-", "is not a whole number")],
)  # fmt: skip
def test_lines_to_take_back_that_are_none(room: Path, line: str, says: str) -> None:
    at(room, NOW, "today")
    jotted(room, clock(5, "07:40"), "skip", "round")
    before = (room.parent / "journal.csv").read_bytes()
    assert says in at(room, clock(5, "07:41"), "journal", "undo", "--line", line, code=2).output
    assert (room.parent / "journal.csv").read_bytes() == before


def test_a_hatch_skipped_at_its_round_and_drawn_off_later_is_that_harvest(tmp_path: Path) -> None:
    """Half a litre of sea water at 25 g/L is mixed for its jar, whenever that is."""
    grams: list[float] = []
    for name, skips in (("late", False), ("skipped", True)):
        folder = tmp_path / name
        folder.mkdir()
        room = quick_room(folder)
        jotted(room, clock(5, "06:40"), "count", "salt", "500", "g")
        at(room, NOW, "today")
        if skips:
            jotted(room, clock(5, "07:35"), "skip", "bottle 1", "--at", "07:30")
        jotted(room, clock(5, "08:10"), "harvest", "bottle 1")
        stocks = {s["item"]: s["stock_g"] for s in
                  run_json(room, "plan", now=clock(5, "08:11"))["supplies"]}  # fmt: skip
        grams.append(stocks["salt"])
    assert grams == [500 - 12.5] * 2


def test_a_part_of_a_brood_that_moves_is_named(room: Path) -> None:
    at(room, NOW, "today")
    said = note(room, clock(5, "07:40"), "move", "acara 5", "A2", "20").stdout
    name = re.search(r"Those in A2 are called (.+)\.\n", said)
    assert name is not None
    counted = note(room, clock(5, "07:50"), "count", name[1], "18").stdout
    assert f"count {name[1]} 18 fry" in counted
    assert "are called" not in note(room, clock(5, "08:00"), "move", "acara 5", "B2").stdout


def test_done_at_a_time_notes_nothing_that_was_told_for_other_times(room: Path) -> None:
    """All of two days was noted at one minute, and by the next `done` once more.

    By its name a task is noted at another time of the same half day, and never twice.
    """
    for when in (clock(5, MORNING), clock(5, EVENING), clock(6, MORNING)):
        at(room, when, "today")
    later = clock(6, "18:05")
    open_ = {task["id"] for task in due(room, later)}
    assert len(open_) > 3
    before = files(room.parent)
    said = " ".join(note(room, later, "done", "--at", "6 Jan 18:05", code=2).output.split())
    assert "told for other times than Wed 6 Jan 18:05 (the first for Tue 5 Jan" in said
    yesterday = next(t for t in due(room, later) if t["at"] < clock(6, "00"))
    note(room, later, "done", yesterday["id"], "--at", "6 Jan 18:05", code=2)
    assert files(room.parent) == before
    jotted(room, later, "done")
    noted = entries(room, later)
    jotted(room, later, "done")
    assert entries(room, later) == noted
