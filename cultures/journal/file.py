"""The journal's file on the disk: locks, whole lines, and what a power cut left behind."""

from __future__ import annotations

import contextlib
import csv
import io
import os
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from cultures.errors import FileProblemError

_T = TypeVar("_T")

_PATIENCE_S = 20.0
_PAUSE_S = 0.002
_HEAD_BYTES = 4096
#: Where torn ends are kept, beside the journal.
TORN_SUFFIX = ".torn"


def read_bytes(path: Path) -> bytes:
    """The whole file, never in the middle of an append; empty when there is none.

    Raises:
        FileProblemError: it cannot be read.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY)
    except FileNotFoundError:
        return b""
    except OSError as error:
        raise FileProblemError(f"cannot read {path}: {error.strerror or error}") from None
    try:
        with _locked(descriptor, path, shared=True), os.fdopen(os.dup(descriptor), "rb") as stream:
            return stream.read()
    except OSError as error:
        raise FileProblemError(f"cannot read {path}: {error.strerror or error}") from None
    finally:
        os.close(descriptor)


def append_lines(
    path: Path, header: Sequence[str], rows: Sequence[Sequence[str]],
    is_complete: Callable[[bytes, bytes], bool],
) -> str:  # fmt: skip
    """Appends whole lines and returns once they are on the disk.

    A torn end is moved to the file ``<name>.torn`` first. Line ends and delimiter are those
    the file has already.

    Returns:
        The torn end that was set aside, or "".

    Raises:
        FileProblemError: it cannot be written; the file is as it was.
    """
    return _under_lock(
        path, lambda descriptor: _append(descriptor, path, header, rows, is_complete)
    )


def append_bytes(path: Path, line: bytes) -> None:
    """Appends one whole line to a file of lines, and returns once it is on the disk.

    A torn end is moved to the file ``<name>.torn`` first.

    Raises:
        FileProblemError: it cannot be written; the file is as it was.
    """

    def write(descriptor: int) -> None:
        size = os.fstat(descriptor).st_size
        cut, tail = _tail(descriptor, size)
        if tail:
            _set_aside(path, tail)
        _replace_end(descriptor, size, cut, line)

    _under_lock(path, write)


def _under_lock(path: Path, write: Callable[[int], _T]) -> _T:
    while True:
        try:
            descriptor = _opened(path)
        except OSError as error:
            raise FileProblemError(_refused(path, error)) from None
        try:
            with _locked(descriptor, path):
                if _same_file(descriptor, path):
                    return write(descriptor)
        except OSError as error:
            raise FileProblemError(_refused(path, error)) from None
        finally:
            os.close(descriptor)


def _same_file(descriptor: int, path: Path) -> bool:
    """False when a spreadsheet put a new file in its place while we waited for the lock."""
    try:
        return os.path.samestat(os.fstat(descriptor), path.stat())
    except FileNotFoundError:
        return False


def _refused(path: Path, error: OSError) -> str:
    return f"cannot write {path}: {error.strerror or error}; nothing was recorded"


def _opened(path: Path) -> int:
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0)
    existed = path.exists()
    descriptor = os.open(path, flags, 0o644)
    if not existed:
        _sync_folder(path.parent)
    return descriptor


def _append(
    descriptor: int, path: Path, header: Sequence[str], rows: Sequence[Sequence[str]],
    is_complete: Callable[[bytes, bytes], bool],
) -> str:  # fmt: skip
    size = os.fstat(descriptor).st_size
    start = _read_at(descriptor, 0, min(size, _HEAD_BYTES))
    cut, tail = _tail(descriptor, size)
    whole = start[:cut]
    end = b"\r\n" if b"\r\n" in whole else b"\n"
    before, torn = b"", b""
    if tail and is_complete(tail, whole):
        before = end
    elif tail:
        torn, size = tail, cut
        _set_aside(path, tail)
    first = whole.decode("utf-8-sig", "replace").replace("\r", "\n").split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count) if first else ","
    lines = [] if whole.strip() else [list(header)]
    if lines:
        before = b""
    elif [c.strip().strip('"').lower() for c in first.split(delimiter)][:7] != list(header):
        raise FileProblemError(
            f"{path} does not begin with {','.join(header)}; is it a journal? Nothing was recorded"
        )
    buffer = io.StringIO(newline="")
    csv.writer(buffer, delimiter=delimiter, lineterminator=end.decode()).writerows([*lines, *rows])
    _replace_end(descriptor, size + len(torn), size, before + buffer.getvalue().encode("utf-8"))
    return torn.decode("utf-8", "replace").replace("\x00", "")


def _read_at(descriptor: int, offset: int, length: int) -> bytes:
    os.lseek(descriptor, offset, os.SEEK_SET)
    parts = []
    while length > 0:
        part = os.read(descriptor, length)
        if not part:
            break
        parts.append(part)
        length -= len(part)
    return b"".join(parts)


def _tail(descriptor: int, size: int) -> tuple[int, bytes]:
    """(where the last whole line ends, what stands after it)."""
    step = _HEAD_BYTES
    while True:
        from_byte = max(0, size - step)
        block = _read_at(descriptor, from_byte, size - from_byte)
        cut = block.rfind(b"\n") + 1 or block.rfind(b"\r") + 1
        if cut or from_byte == 0:
            return from_byte + cut, block[cut:]
        step *= 8


def _write_at_end(descriptor: int, size: int, data: bytes) -> None:
    os.lseek(descriptor, size, os.SEEK_SET)
    view = memoryview(data)
    while view:
        view = view[os.write(descriptor, view) :]


def _replace_end(descriptor: int, size: int, cut: int, data: bytes) -> None:
    """Puts data behind what is whole; after a failure the file ends there."""
    try:
        if cut < size:
            os.ftruncate(descriptor, cut)
        _write_at_end(descriptor, cut, data)
        os.fsync(descriptor)
    except OSError:
        with contextlib.suppress(OSError):
            os.ftruncate(descriptor, cut)
        raise


def _set_aside(path: Path, tail: bytes) -> None:
    """Keeps a torn end; on the disk before the journal itself is touched."""
    aside = path.with_name(path.name + TORN_SUFFIX)
    with aside.open("ab") as stream:
        stream.write(tail.rstrip(b"\r\n") + b"\n")
        stream.flush()
        os.fsync(stream.fileno())


def _sync_folder(folder: Path) -> None:
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextlib.contextmanager
def _locked(descriptor: int, path: Path, *, shared: bool = False) -> Iterator[None]:
    """Holds the file's lock; waits for another writer, but not for ever."""
    deadline = time.monotonic() + _PATIENCE_S
    while not _try_lock(descriptor, shared=shared):
        if time.monotonic() > deadline:
            raise FileProblemError(f"{path} is being written by another program; try again")
        time.sleep(_PAUSE_S)
    try:
        yield
    finally:
        _unlock(descriptor)


if os.name == "posix":
    import fcntl

    def _try_lock(descriptor: int, *, shared: bool) -> bool:
        mode = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
        try:
            fcntl.flock(descriptor, mode | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _unlock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_UN)

else:  # pragma: no cover (only on Windows)
    import msvcrt

    #: A byte far past the end, so that locking it never stops a reader.
    _LOCK_AT = 1 << 40

    def _try_lock(descriptor: int, *, shared: bool) -> bool:  # noqa: ARG001 (one kind of lock)
        os.lseek(descriptor, _LOCK_AT, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        except OSError:
            return False
        finally:
            os.lseek(descriptor, 0, os.SEEK_SET)
        return True

    def _unlock(descriptor: int) -> None:
        os.lseek(descriptor, _LOCK_AT, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_UNLCK, 1)  # type: ignore[attr-defined]
