"""Bad lines, other writers, strange names and lost screens: what a keeper noted stays noted."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import unicodedata
from collections.abc import Mapping
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli.main import main
from cultures import files
from cultures.errors import BadFileError, FileProblemError
from cultures.journal.entries import Entry, append, read_journal
from cultures.room.file import read_room
from tests.cli.invented import NOW, at, room_of, run
from tests.faults.full_disk import FullDisk

_HEAD = "when,event,subject,other,amount,unit,note"
_GOOD = "2027-01-05T06:50,note,MW-1,,,,fine"
_AT = datetime(2027, 1, 5, 7, 30, tzinfo=UTC)
posix = pytest.mark.skipif(os.name != "posix", reason="needs POSIX")


@pytest.fixture(name="room")
def _room(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return room_of(request, tmp_path)


def _journal(room: Path, *lines: str) -> Path:
    path = room.with_name("journal.csv")
    path.write_text("".join(f"{line}\n" for line in lines), "utf-8")
    return path


def _process(
    room: Path, *words: str, env: Mapping[str, str | None] | None = None,
    stdout: int | None = subprocess.PIPE, shell: str = "",
) -> subprocess.CompletedProcess[bytes]:  # fmt: skip
    """The command in a process of its own, where the screen is what is tested."""
    merged: dict[str, str | None] = {
        **os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), "LIVEFOOD_NOW": NOW,
        **(env or {}),
    }  # fmt: skip
    command = [sys.executable, "-m", "cli", *words, "--room", str(room)]
    if shell:
        command = ["bash", "-c", f'"$@" {shell}', "bash", *command]
    return subprocess.run(
        command, env={k: v for k, v in merged.items() if v is not None}, stdout=stdout,
        stderr=subprocess.PIPE, timeout=120, check=False,
    )  # fmt: skip


# --- one bad line


def test_no_command_notes_what_no_reader_takes(room: Path) -> None:
    result = run(room, "journal", "discard", "MW-1", "--at", "1985-01-05", code=2)
    assert "is the year right?" in result.stderr
    assert not room.with_name("journal.csv").exists()


@pytest.mark.parametrize(
    "bad",
    [
        "1985-01-05,discard,VE-1,,,,",
        "soon,discard,VE-1,,,,",
        '2027-01-05T06:50,note,MW-1,,,,"open',
        "2027-01-05T06:50,undo,99,note MW-1,,,",
        "2027-01-05T06:50,undo,\u00b2,note MW-1,,,",
        "scribble",
        f"2027-01-05T06:50,lost,acara 5,,{'9' * 5000},fry,",
        "2027-01-05T06:50,wetted,annuals 2,9999-12-31,,,",
        "2027-01-05T06:50,planned,new,A1 bubble_nest on 9999-12-31,5,fry,",
    ],
)
@pytest.mark.parametrize("by_line", [True, False])
def test_a_bad_line_is_named_and_undo_takes_it_back(room: Path, bad: str, by_line: bool) -> None:
    _journal(room, _HEAD, _GOOD, bad)
    assert "journal.csv:3" in run(room, "need", "--days", "1", code=2).stderr
    run(room, "journal", "undo", *(["--line", "3"] if by_line else []))
    run(room, "need", "--days", "1")
    shown = run(room, "journal", "show").stdout
    assert "note MW-1 (fine)" in shown


def test_undo_works_beside_a_bad_line_that_stays(room: Path) -> None:
    path = _journal(room, _HEAD, "soon,discard,VE-1,,,,", _GOOD)
    result = run(room, "journal", "undo")
    assert "Noted, line 4" in result.stdout
    assert "journal.csv:2" in result.stderr
    assert read_journal(path, UTC, strict=False).effective() == []
    run(room, "need", "--days", "1", code=2)


def test_bytes_that_are_no_text_are_taken_back_too(room: Path) -> None:
    path = room.with_name("journal.csv")
    path.write_bytes(f"{_HEAD}\n{_GOOD}\n".encode() + b"2027-01-05T06:50,note,MW-1,,,,b\xff\n")
    assert "journal.csv:3: is not UTF-8" in run(room, "need", code=2).stderr
    run(room, "journal", "undo")
    run(room, "need", "--days", "1")


def test_a_journal_of_blank_lines_is_an_empty_one(room: Path) -> None:
    _journal(room, "", "  ")
    for _ in range(2):
        run(room, "journal", "note", "MW-1", "hello")
    assert run(room, "journal", "show").stdout.count("hello") == 2


@pytest.mark.parametrize("end", ["\n", ""])
@pytest.mark.parametrize("before", ["", "\n", "\ufeff"])
def test_a_journal_without_its_first_line_is_refused_and_left(
    room: Path, before: str, end: str
) -> None:
    path = room.with_name("journal.csv")
    raw = f"{before}{_GOOD}{end}".encode()
    path.write_bytes(raw)
    result = run(room, "journal", "note", "MW-1", "hello", code=2)
    assert "the first line must be when,event" in result.stderr
    with pytest.raises(BadFileError, match="first line"):
        append(path, [Entry(_AT, "discard", "MW-1")])
    assert path.read_bytes() == raw
    assert sorted(p.name for p in room.parent.iterdir()) == ["journal.csv", "room.toml"]


# --- names


@pytest.mark.parametrize("other", ["first ", " first", "f\u0069rst"])
def test_names_are_compared_as_they_are_read(room: Path, other: str) -> None:
    text = room.read_text("utf-8")
    again = f'[[brood]]\nname = "{other}"\ntank = "A2"\nclass = "bubble_nest"\ncount = 5\n'
    text += again.replace(other, "first") + "spawned = 2027-01-02\n"
    text += again + "spawned = 2027-01-02\n"
    with pytest.raises(BadFileError, match=r"there are two broods of this name"):
        read_room(text, today=date(2027, 1, 5))


def test_letters_composed_otherwise_are_the_same_name(room: Path) -> None:
    name = "Bärbel"
    apart = unicodedata.normalize("NFD", name)
    assert apart != name
    text = room.read_text("utf-8").replace('"acara 5"', f'"{apart}"')
    room.write_text(text, "utf-8")
    run(room, "journal", "lost", name, "2")
    run(room, "journal", "lost", apart, "3")
    shown = run(room, "journal", "show", "--subject", name).stdout
    assert shown.count("lost Bärbel") == 2
    room.write_text(text + text[text.index("[[brood]]") :].split("\n\n")[0].replace(
        "honey gourami 7", name), "utf-8")  # fmt: skip
    assert "there are two broods" in run(room, "check", code=2).stderr


def test_one_name_is_one_thing(room: Path) -> None:
    text = room.read_text("utf-8")
    for old, new, said in (
        ('name = "MW-2"', 'name = "bottle 1"', "there is a culture of this name"),
        ('name = "MW-2"', 'name = "acara 5"', "there is a brood of this name"),
        ('name = "MW-2"', 'name = "cysts"', "there is a word of the journal of this name"),
        ('name = "C1"', 'name = "B5 "', "there are two tanks of this name"),
    ):
        with pytest.raises(BadFileError, match=said):
            read_room(text.replace(old, new, 1), today=date(2027, 1, 5))
    for new, said in (
        ("bottle 1", "already"), ("acara 5", "already"), ("room", "'room' is the room itself"),
    ):  # fmt: skip
        result = run(room, "journal", "split", "MW-1", new, code=2)
        assert said in result.stderr


def test_rounds_are_whole_minutes(room: Path) -> None:
    text = room.read_text("utf-8").replace('"07:30", "18:30"', "07:30:00, 07:30:30, 18:30:00")
    with pytest.raises(BadFileError, match="'07:30:30' is not a time of day"):
        read_room(text, today=date(2027, 1, 5))


# --- locks


@posix
def test_without_locks_reading_goes_on_and_writing_says_why(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    run(room, "journal", "note", "MW-1", "hello")

    def refuse(*_: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", refuse)
    at(room, NOW, "today")
    assert "hello" in run(room, "journal", "show").stdout
    result = run(room, "journal", "note", "MW-1", "again", code=2)
    assert "No locks available; nothing was written" in result.stderr
    assert "again" not in room.with_name("journal.csv").read_text("utf-8")


@posix
def test_a_lock_that_is_never_given_back_does_not_stop_reading(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    run(room, "journal", "note", "MW-1", "hello")
    monkeypatch.setattr(files, "_READERS_PATIENCE_S", 0.05)
    with room.with_name("journal.csv").open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert "hello" in run(room, "journal", "show").stdout


@posix
def test_what_a_killed_writer_left_is_cleared(room: Path) -> None:
    left = room.with_name(".sheet.html.livefood-new")
    left.write_text("half a she")
    mine = room.with_name(".notes.new")
    mine.write_text("not ours")
    run(room, "journal", "note", "MW-1", "hello")
    assert not left.exists()
    assert mine.exists()


@posix
def test_two_who_tick_off_at_once_note_everything_once(room: Path) -> None:
    at(room, NOW, "today")
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]),
           "LIVEFOOD_NOW": "2027-01-05T09:30"}  # fmt: skip
    both = [
        subprocess.Popen(
            [sys.executable, "-m", "cli", "journal", *words, "--room", str(room)], env=env,
            stdout=subprocess.DEVNULL,
        )
        for words in (["done"], ["done"], ["split", "MW-1"], ["split", "MW-1"])
    ]  # fmt: skip
    assert [writer.wait(timeout=120) for writer in both] == [0, 0, 0, 0]
    found = read_journal(room.with_name("journal.csv"), UTC).entries
    noted = [(e.when, e.event, e.subject) for e in found if e.event != "split"]
    assert noted
    assert len(noted) == len(set(noted))
    assert sorted(e.other for e in found if e.event == "split") == ["MW-3", "MW-4"]


# --- the screen


@posix
@pytest.mark.parametrize(
    ("shell", "said"),
    [
        (">/dev/full", b"No space left on device"),
        ("| true", b"Broken pipe"),
        (">&-", b""),
        ("</dev/null", b""),
        (">&- 2>&- <&-", b""),
    ],
)
def test_what_was_noted_is_said_whatever_becomes_of_the_screen(
    room: Path, shell: str, said: bytes
) -> None:
    if "/dev/full" in shell and not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    done = _process(room, "journal", "note", "MW-1", "hello", shell=shell)
    assert done.returncode == 0
    assert said in done.stderr
    assert b"Traceback" not in done.stderr
    assert not said or b"1 line noted in journal.csv" in done.stderr
    assert len(read_journal(room.with_name("journal.csv"), UTC).entries) == 1


@posix
@pytest.mark.parametrize(
    "env",
    [
        {"PYTHONIOENCODING": "latin-1"},
        {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        {"LC_ALL": "C", "LANG": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
        {"HOME": None, "TZ": "Mars/Olympus", "COLUMNS": "20"},
        {"HOME": "/nowhere/at/all", "TZ": ":", "COLUMNS": "0", "TERM": "dumb"},
    ],
)
def test_no_surroundings_break_a_note(room: Path, env: Mapping[str, str | None]) -> None:
    text = room.read_text("utf-8").replace('"acara 5"', '"Łódź 魚"')
    room.write_text(text, "utf-8")
    for words in (["journal", "lost", "Łódź 魚", "2"], ["journal", "show", "--json"], ["check"]):
        done = _process(room, *words, env=env)
        assert (done.returncode, done.stderr) == (0, b"")
    assert read_journal(room.with_name("journal.csv"), UTC).entries[0].subject == "Łódź 魚"


@posix
def test_a_name_of_bytes_that_are_no_text_is_refused(room: Path) -> None:
    done = _process(room, "journal", "note", "MW-1", os.fsdecode(b"b\xff"))
    assert done.returncode == 2
    assert b"is not UTF-8 text" in done.stderr


@posix
def test_a_reader_that_has_enough_is_no_error(room: Path) -> None:
    done = _process(room, "plan", shell="| head -n 1")
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_only_be_read_still_answers(room: Path) -> None:
    room.parent.chmod(0o500)
    try:
        result = at(room, NOW, "today")
        assert "is not recorded" in result.stderr
        run(room, "journal", "note", "MW-1", "hello", code=2)
    finally:
        room.parent.chmod(0o700)


def test_a_clock_that_jumps_back_keeps_what_was_noted(room: Path) -> None:
    at(room, "2027-01-05T18:00", "journal", "note", "MW-1", "evening")
    for earlier in ("2027-01-05T17:00", "2027-01-04T18:00"):
        at(room, earlier, "today")
        at(room, earlier, "journal", "note", "MW-1", "earlier")
    assert len(read_journal(room.with_name("journal.csv"), UTC).entries) == 3


@pytest.mark.parametrize("back", ["2027-01-05T08:00", "2027-01-04T09:00"])
def test_a_clock_that_jumps_back_tells_and_notes_nothing_twice(room: Path, back: str) -> None:
    at(room, NOW, "today")
    at(room, "2027-01-05T09:00", "journal", "done")
    path = room.with_name("journal.csv")
    before = [(e.when, e.event, e.subject) for e in read_journal(path, UTC).entries]
    record = room.with_name("told.jsonl").read_bytes()
    for clock in (back, "2027-01-05T09:00"):
        at(room, clock, "today")
        at(room, clock, "journal", "done")
        due = at(room, clock, "journal", "due", "--json").stdout
        assert [e for e in json.loads(due) if e["fate"] == "presumed"] == []
    after = [(e.when, e.event, e.subject) for e in read_journal(path, UTC).entries]
    assert after[: len(before)] == before
    assert len(set(after)) == len(after)
    assert room.with_name("told.jsonl").read_bytes().startswith(record)


@pytest.mark.parametrize(
    ("line", "narrow"),
    [*((line, ("20",)) for line in (
        "today --all-day", "plan --why", "shortfalls", "need", "learn", "yield MW-1", "hatch",
        "journal show", "journal due", "history", "journal --help")),
     ("check", ("20", "1", "x")), ("--help", ("20", "1", "x"))],
)  # fmt: skip
def test_a_narrow_terminal_shows_what_fits_the_least_width(
    room: Path, line: str, narrow: tuple[str, ...]
) -> None:
    def shown(columns: str) -> list[str]:
        more = [] if "--help" in line else ["--room", str(room), "--now", NOW]
        result = CliRunner().invoke(main, [*line.split(), *more], env={"COLUMNS": columns})
        assert result.exit_code == 0, result.output
        return result.stdout.split()

    for columns in narrow:
        found = shown(columns)
        if "--help" not in line:  # there click breaks words
            assert found == shown("80" if columns == "x" else "40")


@posix
@pytest.mark.parametrize("name", ["room.toml", "journal.csv", "told.jsonl"])
def test_a_pipe_in_the_place_of_a_file_is_refused(room: Path, name: str) -> None:
    pipe = room.with_name(name)
    pipe.unlink(missing_ok=True)
    os.mkfifo(pipe)
    result = run(room, "journal", "note", "MW-1", "two", "words", code=2)
    assert "is a device or pipe; name a file" in result.stderr
    result = run(Path("/dev/zero"), "today", code=2)
    assert "is a device or pipe; name a file" in result.stderr


@pytest.mark.parametrize("torn", [b"", b"2027-01-05T07:00,no"])
def test_a_disk_that_is_full_at_any_write_changes_nothing(
    room: Path, monkeypatch: pytest.MonkeyPatch, torn: bytes
) -> None:
    journal, page = room.with_name("journal.csv"), room.with_name("page.html")
    append(journal, [Entry(_AT, "note", "MW-1", note="hello")])
    files.write(page, b"old")
    whole = journal.read_bytes() + torn
    refusals = 0
    for through in range(20):
        journal.write_bytes(whole)
        with monkeypatch.context() as patch:
            disk = FullDisk(patch, through)
            try:
                append(journal, [Entry(_AT, "discard", "MW-2")])
                files.write(page, b"new")
            except FileProblemError:
                refusals += 1
        noted = len(read_journal(journal, UTC).entries)
        assert (noted, page.read_bytes()) in {(1, b"old"), (2, b"old"), (2, b"new")}
        assert journal.read_bytes().startswith(whole[: len(whole) - len(torn)])
        assert not list(room.parent.glob(".*livefood-new"))
        if not disk.refused:
            assert (noted, page.read_bytes()) == (2, b"new")
            break
    assert refusals >= 4
