"""Names can be anything that can be seen: on every output they stay text and do nothing.

Each output is compared with that of the same room with harmless names of the same places, so that
a tag, an entry, a cell or a line more than there would be seen.
"""

from __future__ import annotations

import csv
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from icalendar import Calendar

from cultures.journal.entries import read_journal
from cultures.journal.file import read_cell
from tests.cli.invented import at, run
from tests.faults.fuzzing import ROOM

_NOW = "2027-01-05T07:00"
#: A harmless name of the room, and what stands in its place; each other one of the room's names.
_HOSTILE = {
    "danios": '<img src=x onerror=alert(1)>{{7*7}}&amp;"\'',
    "annuals": "=HYPERLINK(\"http://x\",'y')",
    "MW-1": "END:VEVENT\\n,;:BEGIN:VEVENT",
    "bottle 1": "@SUM(A1)|cmd %s%n ../../x",
    "A1": "$(touch PWNED) `id` ; rm *",
    "B1": "\u05e9\u05dc\u05d5\u05dd \U0001f41f e\u0301 \u9b5a",
    "Kelp Lane": "</title><script>alert(1)</script>",
}  # fmt: skip
#: As a name is kept: its letters composed.
_KEPT = {**_HOSTILE, "B1": "\u05e9\u05dc\u05d5\u05dd \U0001f41f \u00e9 \u9b5a"}


@pytest.fixture(name="rooms", scope="module")
def _rooms(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The room with harmless names, and with the others; both told, noted from, and written out."""
    found = []
    for hostile in (False, True):
        room = tmp_path_factory.mktemp("room") / "room.toml"
        text = ROOM
        for plain, name in _HOSTILE.items() if hostile else ():
            assert f'"{plain}"' in text
            text = text.replace(f'"{plain}"', json.dumps(name, ensure_ascii=False))
        room.write_text(text, "utf-8")
        names = _HOSTILE if hostile else {name: name for name in _HOSTILE}
        at(room, _NOW, "today", "--all-day")
        at(room, _NOW, "journal", "lost", names["annuals"], "2")
        at(room, _NOW, "journal", "note", names["danios"], names["bottle 1"])
        at(room, _NOW, "journal", "temperature", names["B1"], "25")
        for command in (["sheet", "--out"], ["sheet", "--helper", "--out"], ["calendar", "--out"]):
            suffix = ".ics" if command[0] == "calendar" else f"{len(command)}.html"
            at(room, _NOW, *command, str(room.with_name(f"out{suffix}")))
        found.append(room)
    return found[0], found[1]


def _read(rooms: tuple[Path, Path], name: str) -> tuple[str, str]:
    one, other = (room.with_name(name).read_text("utf-8") for room in rooms)
    return one, other


@pytest.mark.parametrize("command", [["today", "--all-day"], ["check"], ["journal", "show"],
                                     ["need", "--days", "1"], ["plan", "--days", "1"]])  # fmt: skip
def test_on_a_screen_they_are_what_they_are(rooms: tuple[Path, Path], command: list[str]) -> None:
    plain, hostile = (run(room, *command, now="2027-01-05T07:10").stdout for room in rooms)
    joined = " ".join(hostile.split())
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e]", hostile)
    shown = [name for name in _HOSTILE if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", plain)]
    assert shown
    assert [name for name in shown if _start(_KEPT[name]) not in joined] == []


def _start(name: str) -> str:
    """So much of a name as a narrow column holds."""
    return name.split(" ")[0][:8]


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, tuple[str, ...]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, tuple(sorted(name for name, _ in attrs))))

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.mark.parametrize("name", ["out2.html", "out3.html"])
def test_on_a_sheet_they_are_no_markup(rooms: tuple[Path, Path], name: str) -> None:
    plain, hostile = _Tags(), _Tags()
    for reader, text in zip((plain, hostile), _read(rooms, name), strict=True):
        reader.feed(text)
    assert {*hostile.tags} <= {*plain.tags}
    assert not {"script", "img"} & {tag for tag, _ in hostile.tags}
    assert "<img src=x onerror=alert(1)>{{7*7}}&amp;" in hostile.text


def test_on_a_calendar_they_are_no_entry(rooms: tuple[Path, Path]) -> None:
    plain, hostile = (Calendar.from_ical(text) for text in _read(rooms, "out.ics"))
    assert len(hostile.walk("VEVENT")) == len(plain.walk("VEVENT")) > 0
    for one, other in zip(plain.walk("VEVENT"), hostile.walk("VEVENT"), strict=True):
        assert set(one) == set(other)
    words = "\n".join(str(e.get(k, "")) for e in hostile.walk("VEVENT")
                      for k in ("SUMMARY", "DESCRIPTION", "LOCATION"))  # fmt: skip
    assert _HOSTILE["danios"] in words or _HOSTILE["A1"] in words


def test_in_a_journal_they_are_no_formula_and_read_back(rooms: tuple[Path, Path]) -> None:
    from datetime import UTC

    path = rooms[1].with_name("journal.csv")
    with path.open(encoding="utf-8", newline="") as stream:
        _, *rows = csv.reader(stream)
    assert len(rows) == len(rooms[0].with_name("journal.csv").read_text().splitlines()) - 1
    cells = [cell for row in rows for cell in (row[2], row[3], row[6]) if cell]
    assert [cell for cell in cells if cell[0] in "=+-@"] == []
    noted = {_KEPT[name] for name in ("annuals", "danios", "bottle 1", "B1")}
    assert noted <= {read_cell(cell) for cell in cells}
    assert {e.subject for e in read_journal(path, UTC).entries} < noted


def test_in_json_they_read_back(rooms: tuple[Path, Path]) -> None:
    found = json.loads(run(rooms[1], "need", "--days", "1", "--json", now=_NOW).stdout)
    assert {row["brood"] for row in found["rounds"]} <= {_KEPT["danios"], _KEPT["annuals"]}
    lines = rooms[1].with_name("told.jsonl").read_text("utf-8").splitlines()
    assert len(lines) == len(rooms[0].with_name("told.jsonl").read_text("utf-8").splitlines())
    assert all(json.loads(line) for line in lines)


_UNSEEN = ["a\x1b[31mb", "a\x07b", "a\x9bb", "a\u202eb", "a\u2066b", "a\u200bb", "a\nb", "a\rb",
           "a\ufeffb", "a\u2028b", "a\x00b"]  # fmt: skip


@pytest.mark.parametrize("name", _UNSEEN, ids=ascii)
def test_what_cannot_be_seen_comes_in_nowhere(tmp_path: Path, name: str) -> None:
    room = tmp_path / "room.toml"
    room.write_text(ROOM.replace('"A1"', json.dumps(name)), "utf-8")
    assert "may not hold" in run(room, "check", code=2).stderr
    room.write_text(ROOM, "utf-8")
    if len(name.split()) > 1:
        return  # an end of a line is a blank where a shell passes it on
    for words in (["note", "MW-1", name], ["split", "MW-1", name], ["lost", "danios", "1",
                  "--note", name]):  # fmt: skip
        said = run(room, "journal", *words, code=2).stderr
        assert name not in said
    table = room.with_name("table.csv")
    cell = name.replace('"', '""')
    table.write_text(f'when,event,subject,note\n2027-01-04,note,MW-1,"{cell}"\n', "utf-8",
                     newline="")  # fmt: skip
    assert "table.csv:2" in run(room, "journal", "import", str(table), code=2).stderr
    assert not room.with_name("journal.csv").exists()


def test_a_file_is_named_without_what_cannot_be_seen(rooms: tuple[Path, Path]) -> None:
    path = rooms[0]
    for name, words in {
        "a\ufeff.zip": ["backup"], "a\u202e.html": ["sheet", "--out"],
        "b\u202e.html": ["labels", "--out"], "c\u202e.html": ["year", "--out"],
        "a\u202e.ics": ["calendar", "--out"],
    }.items():  # fmt: skip
        out = path.with_name(name)
        said = run(path, *words, str(out), now=_NOW).output
        assert out.exists()
        assert name not in said
        assert name.translate({0xFEFF: 0xFFFD, 0x202E: 0xFFFD}) in "".join(said.split())
