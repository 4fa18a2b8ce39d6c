"""Kills, full disks and two writers: every acknowledged line is there, in order, once.

The number of kills in a run is small here; ``LIVEFOOD_KILLS=1000`` asks for more
(docs/journal.md has what was seen).
"""

from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cultures import files
from cultures.errors import FileProblemError
from cultures.journal.entries import Entry, append, read_journal

_WRITER = Path(__file__).with_name("journal_writer.py")
_ROOT = Path(__file__).parents[2]
_AT = datetime(2027, 1, 1, tzinfo=UTC)
_KILLS = int(os.environ.get("LIVEFOOD_KILLS", "25"))
_APPENDS = int(os.environ.get("LIVEFOOD_APPENDS", "600"))

posix = pytest.mark.skipif(os.name != "posix", reason="SIGKILL and a limit on file size are POSIX")


def _writer(
    path: Path, name: str, count: int, acks: Path, first: int = 0
) -> subprocess.Popen[bytes]:
    environment = {**os.environ, "PYTHONPATH": str(_ROOT)}
    return subprocess.Popen(
        [sys.executable, str(_WRITER), str(path), name, str(count), str(acks), str(first)],
        env=environment,
    )


def _acknowledged(acks: Path) -> list[int]:
    return [int(line) for line in acks.read_text().split()] if acks.exists() else []


def _numbers(path: Path, name: str) -> list[int]:
    entries = read_journal(path, UTC).entries
    return [int(e.amount or 0) for e in entries if e.subject == name]


@posix
def test_killed_at_random_moments(tmp_path: Path) -> None:
    """A writer that is killed again and again; each time another goes on."""
    generator = random.Random(20270105)
    path, acks = tmp_path / "journal.csv", tmp_path / "acks"
    first = 0
    for round_ in range(_KILLS):
        writer = _writer(path, "danio", 100000, acks, first)
        deadline = time.monotonic() + 20
        while len(_acknowledged(acks)) == 0 and time.monotonic() < deadline:
            time.sleep(0.002)
        before = len(_acknowledged(acks))
        while len(_acknowledged(acks)) == before and time.monotonic() < deadline:
            time.sleep(0.001)
        time.sleep(generator.random() * 0.02)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        if round_ % 5 == 4:  # what a power cut leaves, which a kill alone seldom does
            with path.open("ab") as stream:
                stream.write(b"2027-01-01T00:00,lost,dan"[: 1 + round_ % 24])
        first = max(_acknowledged(acks)) + 1 + 1000
    journal = read_journal(path, UTC)
    found = _numbers(path, "danio")
    acknowledged = _acknowledged(acks)
    assert [n for n in found if n in set(acknowledged)] == acknowledged
    assert len(found) == len(set(found))
    assert found == sorted(found)
    # At most the one entry in flight at each kill may be there without having been told.
    assert len(found) - len(acknowledged) <= _KILLS
    assert all(e.note == "x" * (int(e.amount or 0) * 37 % 200) for e in journal.entries)


@posix
def test_two_writers_at_once(tmp_path: Path) -> None:
    path = tmp_path / "journal.csv"
    half = _APPENDS // 2
    writers = [_writer(path, name, half, tmp_path / name) for name in ("danio", "acara")]
    while any(writer.poll() is None for writer in writers):
        read_journal(path, UTC)  # a reader never sees half a line
        time.sleep(0.01)
    assert [writer.returncode for writer in writers] == [0, 0]
    for name in ("danio", "acara"):
        assert _numbers(path, name) == list(range(half)) == _acknowledged(tmp_path / name)
    text = path.read_text()
    assert text.count("when,event") == 1
    assert len(text.splitlines()) == 2 * half + 1


@posix
def test_a_full_disk_records_nothing_and_harms_nothing(tmp_path: Path) -> None:
    """The kernel refuses to let the file grow, in the middle of an append."""
    import resource

    path = tmp_path / "journal.csv"
    append(path, [Entry(_AT, "lost", "danio", "", 1, "fry")])
    whole = path.read_bytes()
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    old = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:
        for room in (0, 1, 17, 60):
            resource.setrlimit(resource.RLIMIT_FSIZE, (len(whole) + room, limits[1]))
            with pytest.raises(FileProblemError, match="nothing was recorded"):
                append(path, [Entry(_AT, "lost", "danio", "", 2, "fry", "y" * 250)])
            assert path.read_bytes() == whole
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, old)
    append(path, [Entry(_AT, "lost", "danio", "", 3, "fry")])
    assert _numbers(path, "danio") == [1, 3]


def test_a_disk_that_fails_to_flush_records_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "journal.csv"
    append(path, [Entry(_AT, "lost", "danio", "", 1, "fry")])
    whole = path.read_bytes()

    def full(descriptor: int) -> None:
        raise OSError(errno.ENOSPC, f"No space left on device ({descriptor > 0})")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(FileProblemError, match="No space left on device"):
            append(path, [Entry(_AT, "lost", "danio", "", 2, "fry")])
    assert path.read_bytes() == whole


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileProblemError, match="nothing was recorded"):
        append(tmp_path / "missing" / "journal.csv", [Entry(_AT, "discard", "MW-1")])
    with pytest.raises(FileProblemError, match="cannot read"):
        read_journal(tmp_path, UTC)


@posix
def test_a_writer_that_hangs_does_not_block_for_ever(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    path = tmp_path / "journal.csv"
    append(path, [Entry(_AT, "discard", "MW-1")])
    monkeypatch.setattr(files, "_PATIENCE_S", 0.2)
    with path.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(FileProblemError, match="being written by another program"):
            append(path, [Entry(_AT, "discard", "MW-2")])
    append(path, [Entry(_AT, "discard", "MW-2")])
    assert len(read_journal(path, UTC).entries) == 2


@posix
def test_a_file_that_a_spreadsheet_puts_in_its_place_is_the_one_written(tmp_path: Path) -> None:
    """Saved under the same name while a writer waits: the entry goes to the new file."""
    import fcntl
    import threading

    path = tmp_path / "journal.csv"
    append(path, [Entry(_AT, "lost", "danio", "", 1, "fry")])
    with path.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        waiting = threading.Thread(
            target=append, args=(path, [Entry(_AT, "lost", "danio", "", 2, "fry")])
        )
        waiting.start()
        time.sleep(0.1)
        saved = tmp_path / "saved.csv"
        saved.write_bytes(path.read_bytes())
        saved.replace(path)
    waiting.join(timeout=10)
    assert _numbers(path, "danio") == [1, 2]
