"""Slips of the pen, hostile files and outputs that would write over a room: one message each."""

from __future__ import annotations

import csv
import os
import re
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import main
from cultures.errors import BadFileError
from cultures.journal.entries import Entry, append, read_journal
from cultures.journal.spreadsheet import read_import
from cultures.room.file import read_room
from tests.cli.invented import NOW, at, room_file, room_of, run

_DROPS = ("--drop-ml", "1", "--of-ml", "9")
_TODAY = date(2027, 1, 5)
_AT = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path)


def _line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


# --- common practice, no source: nobody does these


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('cysts_g = "1/2 tsp"', "cysts_g = 10000", "10,000 g of cysts in 1 L of water; more than"),
        ("set_at = 2027-01-04T07:30:00", "set_at = 2027-01-05T20:00:00", "lies in the future"),
        ("set_at = 2027-01-04T07:30:00", "set_at = 0001-01-01T00:00:00", "is the year right?"),
        ("salinity_g_per_l = 25", "salinity_g_per_l = 0", "0 g/L is fresh water"),
        ("count = 180", "count = 80.7", "80.7 is not possible; use a whole number"),
        ("surface_cm2 = 180", "surface_cm2 = 2", "would lie 75 cm deep on 2 cm2"),
        ("surface_cm2 = 180", "surface_cm2 = 90000", "would lie 0.0017 cm deep"),
        ("starter_g = 10\n", "starter_g = 5e9\n", "is not possible; use 0.01 to 100000 g"),
        ("medium_g = 150\n", f"medium_g = {'9' * 400}\n", "inf is not a number"),
        ("count = 180", f"count = {'9' * 400}", "inf is not possible"),
        ("litres = 20\n", 'litres = "1/0"\n', "divides by zero"),
        ("litres = 20\n", f'litres = "{"9" * 5000}/3"\n', "is too large to be a quantity"),
        ("litres = 20\n", 'litres = "\u00b2"\n', "is not a quantity"),
        ("count = 180", f"count = {'9' * 5000}", "more digits than anything"),
        ('name = "A1"', f'name = {"[" * 5000}{"]" * 5000}', "nested too deep"),
        ('name = "A1"', 'name = "A1', "a closing quote is missing"),
        ('name = "A1"', 'name = "A\\u001b[31m1"', "may not hold U+001B"),
        ('name = "A1"', 'name = "A\\u202e1"', "may not hold U+202E"),
        ("[cysts]", "[cyst]", "unknown table; did you mean 'cysts'?"),
        ("[cysts]", "[basement.cysts]", "unknown table; known"),
    ],
    ids=lambda x: x[:30],
)  # fmt: skip
def test_a_slip_in_the_room_file_is_named_with_its_line(
    room: Path, old: str, new: str, said: str
) -> None:
    text = room.read_text("utf-8")
    line = _line_of(text, old)
    room.write_text(text.replace(old, new, 1), "utf-8")
    result = at(room, "2027-01-05T12:00", "today", code=2)
    assert said in result.stderr
    found = re.search(r"room\.toml:(\d+)", result.stderr)
    assert found is not None
    assert abs(int(found[1]) - line) <= 1  # the key itself, or the line of it with several
    assert "Traceback" not in result.output
    assert [p.name for p in room.parent.iterdir()] == ["room.toml"]


def test_a_file_cut_off_in_the_middle_names_its_last_line(room: Path) -> None:
    text = room.read_text("utf-8")
    cut = text[: text.index('rounds = ["07:30"') + 14]
    room.write_text(cut, "utf-8")
    assert f"room.toml:{cut.count(chr(10)) + 1}: " in run(room, "check", code=2).stderr


def test_a_vessel_holds_one_hatch(room: Path) -> None:
    text = room.read_text("utf-8")
    again = '\n[[hatch]]\nvessel = "bottle 1"\nset_at = 2027-01-04T09:00:00\ncysts_g = 1\n'
    with pytest.raises(BadFileError, match="holds a hatch already"):
        read_room(text + again, today=_TODAY)


def test_eggs_that_do_not_develop_name_tank_key_and_line(room: Path) -> None:
    text = room.read_text("utf-8").replace("temperature_c = 27\n", "temperature_c = 6\n", 1)
    room.write_text(text, "utf-8")
    line = _line_of(text, 'tank = "A1"')
    message = run(room, "today", code=2).stderr
    assert (
        f"room.toml:{line}: [[brood]] honey gourami 7 tank: [[tank]] A1 temperature_c:" in message
    )
    assert "eggs" in message


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["lost", "acara 5", "80.7"], "animals are counted whole"),
        (["lost", "acara 5", "1,5"], "animals are counted whole"),
        (["lost", "acara 5", "\u00b2"], "is not a number of fry"),
        (["lost", "acara 5", "9" * 5000], "is not a number of fry"),
        (["count", "acara 5", "--drops", "\u00b2 3", *_DROPS], "not counts"),
        (["count", "acara 5", "--drops", "9" * 999, *_DROPS], "not counts"),
        (["set", "bottle 2", "5000", "g"], "5,000 g of cysts in 1 L of water"),
        (["split", "MW-1", "--starter", "5e9"], "a starter of 5e+09 g is not possible"),
        (["split", "MW-1", "bottle 1"], "there is a vessel bottle 1 already"),
        (["spawn", "MW-1", "--tank", "A2", "--class", "bubble_nest", "--count", "9"],
         "there is a culture MW-1 already"),
        (["spawn", "new", "--tank", "A2", "--class", "bubble_nest", "--count", "9.5"],
         "9.5 is not a whole number"),
        (["planned", "new", "--on", "9999-12-31", "--tank", "A2", "--class", "bubble_nest",
          "--count", "9"], "'9999-12-31' lies too far off"),
        (["planned", "new", "--on", "2099-12-31", "--tank", "A2", "--class", "bubble_nest",
          "--count", "9"], "is the year right?"),
        (["wetted", "annuals 2", "--on", "2099-12-31"], "is the year right?"),
        (["temperature", "A1", "6"], "do not develop"),
        (["undo", "--line", "9" * 5000], "is not a whole number"),
        (["note", "MW-1", "a\x1bb"], "may not hold U+001B"),
        (["length", "acara 5", "9" * 400], "is too large to be a quantity"),
    ],
    ids=lambda x: " ".join(x)[:40] if isinstance(x, list) else "",
)  # fmt: skip
def test_a_slip_at_the_keyboard_notes_nothing(room: Path, words: list[str], said: str) -> None:
    result = run(room, "journal", *words, code=2)
    assert said in " ".join(result.stderr.split())
    assert not room.with_name("journal.csv").exists()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("when,event,subject,note\n2027-01-05,note,MW-1," + "x" * 200_000, "table.csv:2: "),
        ("when,subject,event\n2027-01-05,MW-1\n", "table.csv:2: has no event"),
        ("when,subject\n2027-01-05,MW-1\n", "table.csv:1: a column 'event' is missing"),
        ('when,event,subject\n2027-01-05,note,"MW-1\n', "table.csv:2: is not CSV"),
        ("when,event,subject,amount\n2027-01-05,lost,acara 5,\u00b2\n", "table.csv:2: the amount"),
        (f"when,event,subject,amount\n2027-01-05,lost,danio,{'9' * 5000}\n", "too large a number"),
        ("when,event,subject\n0001-01-01,discard,MW-1\n", "table.csv:2: "),
        ("\n\n", "table.csv:1: is empty"),
    ],
    ids=lambda x: x[:20],
)  # fmt: skip
def test_a_table_that_cannot_be_taken_in_names_its_line(
    room: Path, content: str, said: str
) -> None:
    table = room.with_name("table.csv")
    table.write_text(content, "utf-8")
    result = run(room, "journal", "import", str(table), code=2)
    assert said in result.stderr
    assert len(result.stderr) < 2000
    assert not room.with_name("journal.csv").exists()


@pytest.mark.parametrize("like", ["9" * 300, "../kinds/microworm", "../../../../x", "", "."])
@pytest.mark.parametrize("table", ["kind", "fry_class"])
def test_nothing_is_like_another_file_or_none(room: Path, table: str, like: str) -> None:
    text = room.read_text("utf-8") + f'\n[[{table}]]\nname = "own"\nlike = "{like}"\n'
    room.write_text(text, "utf-8")
    result = run(room, "check", code=2)
    assert f"room.toml:{text.count(chr(10))}: [[{table}]] own like:" in result.stderr


@pytest.mark.skipif(os.name != "posix", reason="needs POSIX")
def test_a_table_that_is_a_pipe_is_refused(room: Path) -> None:
    pipe = room.with_name("table.csv")
    os.mkfifo(pipe)
    assert "name a file" in run(room, "journal", "import", str(pipe), code=2).stderr


@pytest.mark.parametrize("key", ["label", "name", "recipe"])
def test_no_text_of_a_kind_turns_the_screen_about(room: Path, key: str) -> None:
    table = {"name": "own", "like": "microworm", key: "a\\u001b[2Jb"}
    lines = "".join(f'{name} = "{value}"\n' for name, value in table.items())
    text = room.read_text("utf-8") + f"\n[[kind]]\n{lines}"
    with pytest.raises(BadFileError, match=r"may not hold U\+001B"):
        read_room(text, today=_TODAY)


@pytest.mark.parametrize("options", [["--from", "9999-12-31"], ["--to", "9999-12-31"]])
def test_no_day_is_past_the_end_of_the_calendar(room: Path, options: list[str]) -> None:
    result = run(room, "sheet", "--helper", *options, code=2)
    assert "lies too far off; years from 1970 to 2200 are known" in result.stderr


# --- what a spreadsheet would compute

_FORMULAS = ['=HYPERLINK("x")', "+1", "-1+1", "@SUM(A1)", "'=x", "''+", "\uff1d1", "plain", "'tis"]


@pytest.mark.parametrize("text", _FORMULAS)
def test_no_cell_of_words_is_a_formula_and_all_read_back(tmp_path: Path, text: str) -> None:
    path = tmp_path / "journal.csv"
    append(path, [Entry(_AT, "note", text, text, note=text)])
    with path.open(encoding="utf-8", newline="") as stream:
        *_, row = csv.reader(stream)
    for cell in (row[2], row[3], row[6]):
        assert cell[0] not in "=+-@\uff1d\uff0b\uff0d\uff20"
    (entry,) = read_journal(path, UTC).entries
    assert (entry.subject, entry.other, entry.note) == (text, text, text)
    taken = read_import(path, UTC)
    assert taken[0]._replace(line=0) == entry._replace(line=0)


# --- outputs

_OUTPUTS = [["sheet", "--force", "--out"], ["calendar", "--replace", "--out"]]


@pytest.mark.parametrize("command", _OUTPUTS, ids=["sheet", "calendar"])
@pytest.mark.parametrize("name", ["room.toml", "journal.csv", "told.jsonl", "link", "hard"])
def test_no_output_is_written_over_a_room(room: Path, command: list[str], name: str) -> None:
    at(room, NOW, "today")
    at(room, NOW, "journal", "note", "MW-1", "hello")
    room.with_name("link").symlink_to("journal.csv")
    room.with_name("hard").hardlink_to(room)
    before = {p: p.read_bytes() for p in room.parent.iterdir()}
    out = str(room.with_name(name))
    assert "belongs to the room" in at(room, NOW, *command, out, code=2).stderr
    assert {p: p.read_bytes() for p in room.parent.iterdir()} == before


def test_a_new_room_is_not_written_over_a_journal(room: Path) -> None:
    path = room.with_name("journal.csv")
    append(path, [Entry(_AT, "discard", "MW-1")])
    before = path.read_bytes()
    from click.testing import CliRunner

    from cli.main import main

    result = CliRunner().invoke(main, ["new", str(path), "--force", "--timezone", "UTC"])
    assert (result.exit_code, path.read_bytes()) == (2, before)


def test_the_demo_never_takes_the_place_of_a_keepers_room(tmp_path: Path) -> None:
    mine = room_file(tmp_path).rename(tmp_path / "room.toml")
    mine.write_text(mine.read_text("utf-8").replace("count = 180", "count = 181"), "utf-8")
    before = mine.read_bytes()
    refused = CliRunner().invoke(main, ["demo", str(tmp_path), "--force"])
    assert refused.exit_code == 2
    assert "is not the demo room as it was written" in refused.output
    assert mine.read_bytes() == before
    demo = tmp_path / "demo"
    for force in ((), ("--force",)):
        args = ["demo", str(demo), "--now", "2027-01-05T07:00", *force]
        assert CliRunner().invoke(main, args).exit_code == 0
    append(demo / "journal.csv", [Entry(_AT, "bought", "cysts", "", 50.0, "g")])
    before = (demo / "room.toml").read_bytes()
    refused = CliRunner().invoke(main, [*args[:3], "2027-01-09T07:00", "--force"])
    assert refused.exit_code == 2
    assert "holds notes" in refused.output
    assert (demo / "room.toml").read_bytes() == before


@pytest.mark.parametrize("words", [["backup"], ["new"], ["demo"], ["sheet", "--out"]])
def test_a_name_too_long_for_a_file_is_one_message(room: Path, words: list[str]) -> None:
    env = {"LIVEFOOD_ROOM": str(room), "LIVEFOOD_NOW": "2027-01-05T12:00"}
    result = CliRunner().invoke(main, [*words, str(room.with_name("9" * 300))], env=env)
    assert result.exit_code == 2
    assert "File name too long" in result.stderr
    assert [p.name for p in room.parent.iterdir()] == ["room.toml"]


@pytest.mark.parametrize("room", ["", "/"])
def test_a_room_of_no_name_is_one_message(room: str) -> None:
    result = CliRunner().invoke(main, ["journal", "note", "--room", room, "red", "box"])
    assert result.exit_code == 2
    assert isinstance(result.exception, SystemExit)
