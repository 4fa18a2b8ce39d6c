"""Disk full, read-only, killed in the middle, two at once: nothing lost, nothing doubled."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from calendars import lint
from calendars.entries import CalendarError
from calendars.export import notes_path, read_notes
from calendars.identity import namespace
from cultures import files
from cultures.errors import FileProblemError, LivefoodError
from cultures.files import locked
from tests.calendars.exporting import write
from tests.calendars.readers import by_icalendar
from tests.faults.dying import dies

ROOT = Path(__file__).parents[2]


def start(path: Path, days: int, *most_bytes: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.calendars.exporting", str(path), str(days), *most_bytes],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )


def run(path: Path, days: int, most_bytes: int | None = None) -> tuple[int, str]:
    """How an export ends and what it says; on a full disk in a process of its own."""
    if most_bytes is not None:
        process = start(path, days, str(most_bytes))
        _, err = process.communicate(timeout=60)
        return process.returncode, err
    try:
        write(path, days)
    except LivefoodError as error:
        return error.exit_code, str(error)
    return 0, ""


def assert_whole(path: Path) -> None:
    data = path.read_bytes()
    assert lint.findings(data) == []
    notes = read_notes(notes_path(path))
    assert notes is not None
    published = notes.ledger.published()
    assert {r.uid for r in published} == set(by_icalendar(data))
    assert all(r.sequence <= 1 for r in published)
    assert {p.name for p in path.parent.iterdir()} == {path.name, notes_path(path).name}


def test_killed_at_any_step_the_next_export_is_whole(tmp_path: Path) -> None:
    early, late = tmp_path / "early" / "jobs.ics", tmp_path / "late" / "jobs.ics"
    for path, days in ((early, 1), (late, 2)):
        path.parent.mkdir()
        assert run(path, days)[0] == 0
    first, wanted = early.read_bytes(), set(by_icalendar(late.read_bytes()))
    killed = 0
    for step in range(60):
        path = tmp_path / str(step) / "jobs.ics"
        shutil.copytree(early.parent, path.parent)
        if not dies(partial(write, path, 2), step)[0]:
            break
        killed += 1
        between = path.read_bytes()
        lint.check(between)
        assert between == first or set(by_icalendar(between)) == wanted
        write(path, 2)
        assert_whole(path)
        assert set(by_icalendar(path.read_bytes())) == wanted
    assert killed >= 6


def test_killed_at_first_export_leaves_nothing_half_written(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    assert dies(partial(write, path, 1), 3)[0]
    assert not path.exists()
    assert run(path, 1)[0] == 0
    assert_whole(path)


@pytest.mark.parametrize("limit", [100, 4000])
def test_full_disk_leaves_the_old_file(tmp_path: Path, limit: int) -> None:
    path = tmp_path / "jobs.ics"
    assert run(path, 1)[0] == 0
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    code, err = run(path, 2, limit)
    assert code == 2
    assert "cannot write" in err
    assert "nothing was changed" in err
    assert "Traceback" not in err
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before
    assert run(path, 2)[0] == 0
    assert_whole(path)


def test_full_disk_between_the_notes_and_the_file(tmp_path: Path) -> None:
    """The notes fit and the calendar does not: the next export goes on from there."""
    path = tmp_path / "jobs.ics"
    assert run(path, 1)[0] == 0
    first = path.read_bytes()
    sizes = run_sizes(tmp_path)
    assert sizes["notes"] < sizes["file"]
    code, err = run(path, 2, (sizes["notes"] + sizes["file"]) // 2)
    assert code == 2, err
    assert path.read_bytes() == first
    assert run(path, 2)[0] == 0
    assert_whole(path)


def run_sizes(folder: Path) -> dict[str, int]:
    path = folder / "sizes" / "jobs.ics"
    path.parent.mkdir()
    assert run(path, 2)[0] == 0
    sizes = {"file": path.stat().st_size, "notes": notes_path(path).stat().st_size}
    path.unlink()
    notes_path(path).unlink()
    path.parent.rmdir()
    return sizes


def test_read_only_file_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    assert run(path, 1)[0] == 0
    before = path.read_bytes()
    path.chmod(0o400)
    code, err = run(path, 2)
    assert code == 2
    assert "is read-only and was left as it is" in err
    assert path.read_bytes() == before
    path.chmod(0o600)
    assert run(path, 2)[0] == 0
    assert_whole(path)


def test_folder_that_is_not_there_is_made(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "down" / "jobs.ics"
    assert run(path, 1)[0] == 0
    assert_whole(path)


def test_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "nowhere").write_text("a file")
    code, err = run(tmp_path / "nowhere" / "jobs.ics", 1)
    assert code == 2
    assert "cannot use" in err


@pytest.mark.skipif(os.geteuid() == 0, reason="permissions do not bind the superuser")
def test_read_only_folder(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        code, err = run(tmp_path / "jobs.ics", 1)
    finally:
        tmp_path.chmod(0o700)
    assert code == 2
    assert "Permission denied; nothing was changed" in err


def test_many_exports_at_once(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    processes = [start(path, 1 + n % 2) for n in range(6)]
    for process in processes:
        _, err = process.communicate(timeout=60)
        assert process.returncode == 0, err
    data = path.read_bytes()
    assert lint.findings(data) == []
    notes = read_notes(notes_path(path))
    assert notes is not None
    assert {r.uid for r in notes.ledger.published()} == set(by_icalendar(data))
    assert run(path, 2)[0] == 0


def test_other_export_that_never_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "_PATIENCE_S", 0.2)
    with (
        locked(tmp_path),
        pytest.raises(FileProblemError, match="is being written by another program"),
        locked(tmp_path),
    ):
        pass


def test_lock_is_free_again_after_a_kill(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "_PATIENCE_S", 0.2)
    path = tmp_path / "jobs.ics"
    assert dies(partial(write, path, 1), 1)[0]
    with locked(tmp_path):
        pass


def test_damaged_notes_are_reported_and_kept(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    assert run(path, 1)[0] == 0
    notes_path(path).write_bytes(notes_path(path).read_bytes()[:-40])
    before = path.read_bytes()
    code, err = run(path, 2)
    assert code == 2
    assert "notes on a published calendar are damaged" in err
    assert path.read_bytes() == before


def test_identity_is_made_once_and_guarded(tmp_path: Path) -> None:
    room = tmp_path / "room.toml"
    first = namespace(room)
    assert namespace(room) == first
    assert [p.name for p in tmp_path.iterdir()] == [".livefood-id"]
    (tmp_path / ".livefood-id").write_text("not an identity\n")
    with pytest.raises(CalendarError, match="does not hold an identity"):
        namespace(room)


def test_identity_on_a_file_system_without_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    assert namespace(tmp_path / "room.toml") == namespace(tmp_path / "room.toml")
    assert [p.name for p in tmp_path.iterdir()] == [".livefood-id"]


def test_file_behind_a_link_is_replaced_and_the_link_stays(tmp_path: Path) -> None:
    real = tmp_path / "real.ics"
    link = tmp_path / "jobs.ics"
    link.symlink_to(real)
    files.replace(link, b"one")
    files.replace(link, b"two")
    assert link.is_symlink()
    assert real.read_bytes() == b"two"
