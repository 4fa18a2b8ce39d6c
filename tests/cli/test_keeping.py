"""``livefood backup`` and ``livefood repair``: whole when they say so, nothing changed unasked."""

from __future__ import annotations

import json
from datetime import UTC
from pathlib import Path
from zipfile import ZipFile

import pytest
from click.testing import CliRunner

from cli.main import main
from cultures.journal.entries import read_journal
from tests.cli.invented import NOW, at, jotted, room_file, run

_HEAD = "when,event,subject,other,amount,unit,note"
_GOOD = "2027-01-05T06:50,note,MW-1,,,,fine"
_OTHER = "2027-01-05T06:55,note,MW-2,,,,good"


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Path:
    folder = tmp_path / "room"
    folder.mkdir()
    return room_file(folder, horizon_days="3")


def _content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_backup_holds_all_and_comes_back_byte_for_byte(room: Path, tmp_path: Path) -> None:
    at(room, NOW, "today")
    jotted(room, NOW, "note", "MW-1", "hello")
    at(room, NOW, "calendar", "--out", str(room.with_name("jobs.ics")))
    target = tmp_path / "kept.zip"
    assert "all is there" in at(room, NOW, "backup", str(target)).stdout
    mine = {k: v for k, v in _content(room.parent).items() if k != "jobs.ics"}
    assert {"room.toml", "journal.csv", "told.jsonl", ".livefood-id", ".jobs.ics.livefood",
            ".room.toml.history.livefood", ".room.toml.numbers.livefood"} == set(mine)  # fmt: skip
    assert "told.jsonl" in at(room, NOW, "backup", str(target), "--check").stdout
    again = tmp_path / "again"
    at(room, NOW, "backup", str(target), "--restore", str(again))
    assert _content(again) == mine
    assert "hello" in at(again / "room.toml", NOW, "journal", "show").stdout
    result = at(room, NOW, "backup", str(target), "--restore", str(again), code=2)
    assert "restore into another folder" in result.stderr
    assert _content(again) == mine


def test_a_backup_is_not_written_over_anything(room: Path, tmp_path: Path) -> None:
    jotted(room, NOW, "note", "MW-1", "hello")
    before = _content(room.parent)
    for name in ("room.toml", "journal.csv"):
        at(room, NOW, "backup", str(room.with_name(name)), "--force", code=2)
    other = tmp_path / "kept.zip"
    other.write_bytes(b"mine")
    assert "exists already" in at(room, NOW, "backup", str(other), code=2).stderr
    assert other.read_bytes() == b"mine"
    assert _content(room.parent) == before


def test_a_damaged_or_hostile_backup_writes_nothing(room: Path, tmp_path: Path) -> None:
    target = tmp_path / "kept.zip"
    at(room, NOW, "backup", str(target))
    raw = target.read_bytes()
    bad = tmp_path / "bad.zip"
    again = tmp_path / "again"
    for wrong in (b"", b"PK", raw[: len(raw) // 2], raw.replace(b"Quill", b"quill", 1)[:-3]):
        bad.write_bytes(wrong)
        at(room, NOW, "backup", str(bad), "--restore", str(again), code=2)
        assert not again.exists()
    for name in ("../evil.toml", "/tmp/evil.toml", "a\\b", "C:x"):
        with ZipFile(target) as archive, ZipFile(bad, "w") as hostile:
            head = json.loads(archive.read("livefood-backup.json"))
            head["files"][name] = head["files"]["room.toml"]
            for each, data in (("livefood-backup.json", json.dumps(head).encode()),
                               ("room.toml", archive.read("room.toml")),
                               (name, archive.read("room.toml"))):  # fmt: skip
                hostile.writestr(each, data)
        result = at(room, NOW, "backup", str(bad), "--restore", str(again), code=2)
        assert "not a plain file name" in result.stderr
    assert not again.exists()
    assert not (tmp_path / "evil.toml").exists()


_DAMAGED = {
    "bad line": f"{_HEAD}\n{_GOOD}\nsoon,discard,VE-1,,,,\n{_OTHER}\n".encode(),
    "open quote": f'{_HEAD}\n{_GOOD}\n2027-01-05T06:51,note,"MW-1,,,,x\n{_OTHER}\n'.encode(),
    "no first line": f"{_GOOD}\n{_OTHER}\n".encode(),
    "no first line, semicolons": f"{_GOOD}\n{_OTHER}\n".replace(",", ";").encode(),
    "UTF-16": f"{_HEAD}\r\n{_GOOD}\r\n{_OTHER}\r\n".encode("utf-16"),
    "Windows-1252": f"{_HEAD}\n{_GOOD}\u00e9\n{_OTHER}\n".encode("cp1252"),
    "torn": f"{_HEAD}\n{_GOOD}\n{_OTHER}\n2027-01-05T0".encode(),
    "bad undo": f"{_HEAD}\n{_GOOD}\n2027-01-05T06:51,undo,9,note MW-1,,,\n{_OTHER}\n".encode(),
}


@pytest.mark.parametrize("kind", list(_DAMAGED))
def test_a_damaged_journal_is_told_then_mended_and_kept(room: Path, kind: str) -> None:
    path = room.with_name("journal.csv")
    path.write_bytes(_DAMAGED[kind])
    before = _content(room.parent)
    said = run(room, "repair", code=1).stdout
    assert "1 thing to mend\n  - " in said
    assert "Nothing was changed" in said
    assert _content(room.parent) == before
    assert "1 thing mended" in run(room, "repair", "--mend").stdout
    assert path.with_name("journal.csv.before-repair").read_bytes() == _DAMAGED[kind]
    assert [e.subject for e in read_journal(path, UTC).effective()] == ["MW-1", "MW-2"]
    run(room, "need", "--days", "1")
    assert "nothing to mend" in run(room, "repair").stdout


def test_a_damaged_record_is_told_then_mended_and_kept(room: Path) -> None:
    at(room, NOW, "today")
    path = room.with_name("told.jsonl")
    whole = path.read_bytes()
    deep = b'{"at":' + b"[" * 100_000 + b"\n"
    path.write_bytes(b"junk\n" + whole + deep + b'{"at":"2027')
    assert "3 lines of told.jsonl cannot be read" in " ".join(at(room, NOW, "plan").stdout.split())
    assert "3 things to mend" in run(room, "repair", code=1).stdout
    run(room, "repair", "--mend")
    assert path.read_bytes() == whole


def test_what_is_no_journal_is_left_alone(room: Path) -> None:
    path = room.with_name("journal.csv")
    path.write_text("name,price\nbread,2\n")
    assert "the first line must be" in run(room, "repair", "--mend", code=2).stderr
    assert path.read_text() == "name,price\nbread,2\n"


def test_repair_needs_no_room_file_that_can_be_read(room: Path) -> None:
    room.with_name("journal.csv").write_bytes(_DAMAGED["bad line"])
    room.write_text("[room", "utf-8")
    run(room, "repair", "--mend")


@pytest.mark.parametrize(
    "words",
    [
        ("sheet", "--out", "x.html"), ("labels", "--out", "x.html"), ("year", "--out", "x.html"),
        ("calendar", "--out", "x.ics"), ("backup", "x.zip"),
    ],
)  # fmt: skip
def test_nothing_is_written_into_a_folder_that_is_not_there(
    room: Path, words: tuple[str, ...]
) -> None:
    """A slip of the pen in its name: nobody would find the file."""
    *head, name = words
    path = room.parent / "ned" / name
    said = at(room, NOW, *head, str(path), code=2).stderr
    assert f"there is no folder {path.parent}: make it first, or name another" in said
    assert not path.parent.exists()
    path.parent.mkdir()
    at(room, NOW, *head, str(path))
    assert path.exists()


def test_a_new_room_in_a_new_folder_says_so(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["new", str(tmp_path / "shed" / "room.toml")])
    assert "room.toml, in a new folder. Put in" in " ".join(result.output.split())
