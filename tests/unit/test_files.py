"""Files are read whole, replaced whole, and grow by whole lines, whatever stands in the way."""

from __future__ import annotations

import os
import stat
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from cultures import files
from cultures.errors import FileProblemError

_POSIX = pytest.mark.skipif(sys.platform == "win32", reason="permissions of a POSIX system")


def _add(text: bytes, *, keep: bool = False) -> files.Compose:
    return lambda _whole, _tail: (text, keep)


def test_a_file_that_is_not_there_is_none_and_an_empty_one_is_empty(tmp_path: Path) -> None:
    path = tmp_path / "a"
    assert files.read(path) is None
    assert files.signature(path) == ()
    path.write_bytes(b"")
    assert files.read(path) == b""
    before = files.signature(path)
    path.write_bytes(b"x")
    assert files.signature(path) != before != ()


def test_a_file_may_be_as_large_as_it_may_and_no_larger(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    assert files.read(path, 5) == b"12345"
    with pytest.raises(FileProblemError, match="would have 5 bytes, and at most 4 are read"):
        files.read(path, 4)
    files.append(path, _add(b"678\n"), most_bytes=9)  # what has no end is set aside
    assert path.read_bytes() == b"678\n"
    with pytest.raises(FileProblemError, match="would have 8 bytes"):
        files.append(path, _add(b"abc\n"), most_bytes=7)
    assert path.read_bytes() == b"678\n"
    files.append(path, _add(b"abc\n"), most_bytes=8)
    assert path.read_bytes() == b"678\nabc\n"


@pytest.mark.parametrize(
    ("data", "whole", "tail"),
    [
        (b"", b"", b""), (b"a", b"", b"a"), (b"a\n", b"a\n", b""), (b"a\nb", b"a\n", b"b"),
        (b"a\rb", b"a\r", b"b"), (b"a\r\nb\r", b"a\r\n", b"b\r"), (b"\n", b"\n", b""),
    ],
)  # fmt: skip
def test_lines_have_their_end(data: bytes, whole: bytes, tail: bytes) -> None:
    assert files.whole_lines(data) == (whole, tail)


def test_what_is_composed_sees_the_lines_and_the_torn_end(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"one\ntwo\r\n")
    seen: list[tuple[bytes, bytes]] = []

    def compose(whole: bytes, tail: bytes) -> tuple[bytes, bool]:
        seen.append((whole, tail))
        return b"three\n", False

    assert files.append(path, compose) == b""
    path.write_bytes(path.read_bytes() + b"to")
    assert files.append(path, compose) == b"to"
    assert files.append(path, _add(b"rn\n", keep=True)) == b""
    assert seen == [(b"one\ntwo\r\n", b""), (b"one\ntwo\r\nthree\n", b"to")]
    assert path.read_bytes() == b"one\ntwo\r\nthree\nthree\nrn\n"
    assert (tmp_path / "a.torn").read_bytes() == b"to\n"


def test_an_end_that_is_kept_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"one\ntw")
    assert files.append(path, _add(b"o\n", keep=True)) == b""
    assert path.read_bytes() == b"one\ntwo\n"
    assert not (tmp_path / "a.torn").exists()


def test_torn_ends_are_kept_one_after_another(tmp_path: Path) -> None:
    path = tmp_path / "a"
    for torn in (b"x\r", b"y"):
        path.write_bytes(b"one\n" + torn)
        files.append(path, _add(b"two\n"))
    assert (tmp_path / "a.torn").read_bytes() == b"x\ny\n"


@_POSIX
def test_a_new_file_has_the_permissions_asked_for_and_an_old_one_keeps_its_own(
    tmp_path: Path,
) -> None:
    mask = os.umask(0)
    try:
        for name, mode in (("a", 0o600), ("b", 0o644)):
            with files.locked(tmp_path):
                files.replace(tmp_path / name, b"1", mode)
            files.append(tmp_path / f"{name}.log", _add(b"1\n"), mode)
            for made in (name, f"{name}.log"):
                assert stat.S_IMODE((tmp_path / made).stat().st_mode) == mode
        with files.locked(tmp_path):
            files.replace(tmp_path / "a", b"2", 0o644)
            files.replace(tmp_path / "c", b"2")
        assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o600
        assert stat.S_IMODE((tmp_path / "c").stat().st_mode) == 0o600
        files.write(tmp_path / "d" / "e", b"3")
        assert stat.S_IMODE((tmp_path / "d" / "e").stat().st_mode) == 0o644
    finally:
        os.umask(mask)
    assert (tmp_path / "a").read_bytes() == b"2"


@_POSIX
def test_a_read_only_file_is_left_as_it_is_and_one_of_its_group_is_not(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"1")
    path.chmod(0o444)
    with files.locked(tmp_path), pytest.raises(FileProblemError, match="is read-only"):
        files.replace(path, b"2")
    assert path.read_bytes() == b"1"
    path.chmod(0o464)
    with files.locked(tmp_path):
        files.replace(path, b"2")
    assert path.read_bytes() == b"2"


@_POSIX
def test_nothing_stays_open(tmp_path: Path) -> None:
    def opened() -> set[int]:
        found = set()
        for descriptor in range(256):
            with suppress(OSError):
                os.fstat(descriptor)
                found.add(descriptor)
        return found

    path, before = tmp_path / "a", opened()
    with files.locked(tmp_path):
        files.replace(path, b"1\n")
    files.append(path, _add(b"2\n"))
    files.write(path, b"3\n")
    assert files.read(path) == b"3\n"
    assert opened() == before


@_POSIX
def test_a_new_name_is_on_the_disk_before_it_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """File and folder are flushed (POSIX, fsync)."""
    flushed: list[bool] = []
    monkeypatch.setattr(
        "cultures.files.os.fsync",
        lambda descriptor: flushed.append(stat.S_ISDIR(os.fstat(descriptor).st_mode)),
    )
    with files.locked(tmp_path):
        files.replace(tmp_path / "a", b"1\n")
    assert flushed == [False, True]
    files.append(tmp_path / "b", _add(b"2\n"))
    assert sorted(flushed[2:]) == [False, True]
    files.append(tmp_path / "b", _add(b"3\n"))
    assert flushed[4:] == [False]


@_POSIX
def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "a").write_bytes(b"1")
    (tmp_path / "a").symlink_to(tmp_path / "far" / "a")
    with files.locked(tmp_path):
        files.replace(tmp_path / "a", b"2")
    assert (tmp_path / "a").is_symlink()
    assert (tmp_path / "far" / "a").read_bytes() == b"2"


@_POSIX
def test_a_pipe_is_neither_read_nor_written(tmp_path: Path) -> None:
    pipe = tmp_path / "p"
    os.mkfifo(pipe)
    said = "is a device or pipe; name a file"
    with pytest.raises(FileProblemError, match=said):
        files.read(pipe)
    with pytest.raises(FileProblemError, match=said):
        files.append(pipe, _add(b"1\n"))
    with pytest.raises(FileProblemError, match=said):
        files.replace(pipe, b"1")


def test_what_a_killed_writer_left_is_cleared_and_nothing_else(tmp_path: Path) -> None:
    left, mine = tmp_path / ".room.toml.livefood-new", tmp_path / "room.toml"
    left.write_bytes(b"half")
    mine.write_bytes(b"whole")
    with files.locked(tmp_path / "."):
        assert not left.exists()
    assert mine.read_bytes() == b"whole"
    files.write(mine, b"new")
    assert [p.name for p in tmp_path.iterdir() if p.name != ".livefood-lock"] == ["room.toml"]


def test_a_folder_is_made_where_there_is_none_and_a_file_is_none(tmp_path: Path) -> None:
    with files.locked(tmp_path / "a" / "b"):
        assert (tmp_path / "a" / "b").is_dir()
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(FileProblemError, match="cannot use"), files.locked(tmp_path / "file"):
        pass
    with pytest.raises(FileProblemError, match="cannot read"):
        files.read(tmp_path)


@_POSIX
def test_who_waits_for_a_lock_waits_so_long_and_no_longer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer gives up; a reader goes on without it."""
    import fcntl

    path = tmp_path / "a"
    path.write_bytes(b"1\n")
    waited: list[float] = []
    clock = [0.0]
    monkeypatch.setattr("cultures.files.time.monotonic", lambda: clock[0])

    def sleep(seconds: float) -> None:
        clock[0] += 0.5
        waited.append(seconds)

    monkeypatch.setattr("cultures.files.time.sleep", sleep)
    with path.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_SH)
        assert files.read(path) == b"1\n"
        assert waited == []  # two read at once
    with path.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert files.read(path) == b"1\n"
        assert clock[0] == 2.5  # the first look after two seconds
        clock[0] = 0.0
        with pytest.raises(FileProblemError, match="is being written by another program"):
            files.append(path, _add(b"2\n"))
        assert clock[0] == 20.5
    files.append(path, _add(b"2\n"))
    assert path.read_bytes() == b"1\n2\n"
