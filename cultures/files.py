"""Files: read whole, replaced whole or not at all, grown by whole lines, one writer at a time.

It may import errors only. It hands out `read`, `replace` (and `write`, which locks for it),
`append` and `append_line`, and `locked` for a folder of whose files several change together. Locks
are the system's own: on the file or the folder itself, so that none is left lying about, and gone
with the process that held them.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from io import FileIO
from pathlib import Path

from cultures.errors import FileProblemError

#: How long another program may hold a lock [s]; a reader goes on without it after so long.
_PATIENCE_S = 20.0
_READERS_PATIENCE_S = 2.0
_PAUSE_S = 0.002
_BINARY = getattr(os, "O_BINARY", 0)
_NO_LOCKS = "; nothing was written: keep the room in a folder of this machine"
#: From the whole lines of a file, and a last one without its end: what to add, and whether to keep
#: that last one, which a power cut may have torn.
Compose = Callable[[bytes, bytes], tuple[bytes, bool]]
#: What reading a row raises that another program wrote, or a hand.
NOT_AS_WRITTEN = (ArithmeticError, ValueError, LookupError, TypeError, AttributeError,
                  RecursionError)  # fmt: skip
#: Where torn ends are kept, beside the file.
TORN_SUFFIX = ".torn"
#: New content on its way into a file; left behind only by a writer that was killed.
_SPARE_SUFFIX = ".livefood-new"


def read(path: Path, most_bytes: int | None = None) -> bytes | None:
    """All bytes of a file; None if there is none.

    Never in the middle of an append, where the folder knows locks: without them, or if another
    program never gives its lock back, it is read all the same.

    Raises:
        FileProblemError: it cannot be read, is larger than ``most_bytes``, or is a device or pipe,
            which may never end.
    """
    with _told("read", path):
        _refuse_special(path)
        try:
            with path.open("rb") as file:
                _share(file.fileno())
                _refuse_large(path, os.fstat(file.fileno()).st_size, most_bytes)
                return file.read()
        except FileNotFoundError:
            return None


def signature(path: Path) -> tuple[int, ...]:
    """Changes whenever a file does; empty where there is none."""
    try:
        seen = path.stat()
    except OSError:
        return ()
    return seen.st_mtime_ns, seen.st_size, seen.st_ino


def replace(path: Path, data: bytes, mode: int = 0o600) -> None:
    """Puts new content in the place of a file, all of it or none; its folder must be `locked`.

    The data are on the disk before the old file goes. A link stays a link.

    Args:
        mode: permissions of a file that was not there; another one keeps its own.

    Raises:
        FileProblemError: the disk is full, the file or its folder is read-only, or a device or
            pipe stands there; nothing was changed.
    """
    target = Path(os.path.realpath(path))
    spare = target.with_name(f".{target.name}{_SPARE_SUFFIX}")
    with _told("write", path, "; nothing was changed"):
        _refuse_special(path)
        kept = target.stat().st_mode & 0o777 if target.exists() else mode
        if not kept & 0o222:
            raise FileProblemError(f"{path} is read-only and was left as it is")
        try:
            spare.unlink(missing_ok=True)
            _write_new(spare, data)
            spare.chmod(kept)
            spare.replace(target)
        except OSError:
            with suppress(OSError):
                spare.unlink(missing_ok=True)
            raise
        _sync_folder(target.parent)


def write(path: Path, data: bytes) -> None:
    """Replaces a file that others may read, under the lock of its folder, as `replace` does.

    Raises:
        FileProblemError: as there, or the folder cannot be made or locked.
    """
    with locked(path.resolve().parent):
        replace(path, data, 0o644)


def append(path: Path, compose: Compose, mode: int = 0o644, most_bytes: int | None = None) -> bytes:
    """Grows a file by whole lines, and returns once they are on the disk.

    A torn end is moved to the file ``<name>.torn`` first.

    Args:
        compose: what to add. mode: permissions of a file that was not there. most_bytes: that the
            file may have.

    Returns:
        The torn end that was set aside, or nothing.

    Raises:
        FileProblemError: it cannot be written; the file is as it was.
    """
    with _told("write", path, "; nothing was recorded"):
        _refuse_special(path)
        while True:
            is_new = not path.exists()
            descriptor = os.open(path, os.O_RDWR | os.O_CREAT | _BINARY, mode)
            with FileIO(descriptor, "r+") as file:
                with _told("lock", path, _NO_LOCKS):
                    _lock(descriptor, path)
                if is_new:
                    _sync_folder(path.parent)
                if _is_still(descriptor, path):
                    return _grow(file, path, compose, most_bytes)


def append_line(path: Path, text: str, most_bytes: int, mode: int = 0o644) -> None:
    """Grows a file by one line of text, as `append` does.

    Raises:
        FileProblemError: as there.
    """
    line = text.encode("utf-8", "replace") + b"\n"
    append(path, lambda *_: (line, False), mode, most_bytes)


def whole_lines(data: bytes) -> tuple[bytes, bytes]:
    """Lines that have their end, and what stands after them."""
    cut = data.rfind(b"\n") + 1 or data.rfind(b"\r") + 1
    return data[:cut], data[cut:]


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Keeps other programs from a folder's files; it is made if it is not there.

    Raises:
        FileProblemError: it cannot be made or locked, or another program does not finish.
    """
    with _told("use", folder):
        folder.mkdir(parents=True, exist_ok=True)
        descriptor = _open_folder(folder)
    try:
        with _told("lock", folder, _NO_LOCKS):
            _lock(descriptor, folder)
        _clear_spares(folder)
        yield
    finally:
        os.close(descriptor)


@contextmanager
def _told(doing: str, path: Path, after: str = "") -> Iterator[None]:
    """What the system refuses, as one message."""
    try:
        yield
    except OSError as error:
        raise FileProblemError(f"cannot {doing} {path}: {error.strerror or error}{after}") from None


def _refuse_special(path: Path) -> None:
    if path.exists() and not path.is_file() and not path.is_dir():
        raise FileProblemError(f"{path} is a device or pipe; name a file")


def _refuse_large(path: Path, size: int, most_bytes: int | None) -> None:
    if most_bytes is not None and size > most_bytes:
        raise FileProblemError(
            f"{path} would have {size:,} bytes, and at most {most_bytes:,} are read: begin a new"
            " room file with its as_of and counts of today, in another folder"
        )


def _write_new(path: Path, data: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(descriptor)


def _is_still(descriptor: int, path: Path) -> bool:
    """False when a spreadsheet put a new file in its place while we waited for the lock."""
    try:
        return os.path.samestat(os.fstat(descriptor), path.stat())
    except FileNotFoundError:
        return False


def _grow(file: FileIO, path: Path, compose: Compose, most_bytes: int | None) -> bytes:
    whole, tail = whole_lines(file.readall())
    added, keep = compose(whole, tail)
    torn = b"" if keep else tail
    size = len(whole) + len(tail) - len(torn)
    _refuse_large(path, size + len(added), most_bytes)
    if torn:
        _set_aside(path, torn)
    rest = memoryview(added)
    try:
        file.truncate(size)
        file.seek(size)
        while rest:
            rest = rest[file.write(rest) :]
        os.fsync(file.fileno())
    except OSError:
        with suppress(OSError):
            file.truncate(size)
        raise
    return torn


def _set_aside(path: Path, torn: bytes) -> None:
    """Keeps a torn end; on the disk before the file itself is touched."""
    with path.with_name(path.name + TORN_SUFFIX).open("ab") as aside:
        aside.write(torn.rstrip(b"\r\n") + b"\n")
        aside.flush()
        os.fsync(aside.fileno())


def _clear_spares(folder: Path) -> None:
    """Removes what killed writers left; nobody writes while the folder is ours."""
    with suppress(OSError):
        for left in folder.glob(f".*{_SPARE_SUFFIX}"):
            left.unlink(missing_ok=True)


def _lock(descriptor: int, path: Path) -> None:
    """Waits for the lock on what is open, but not for ever; closing ends it."""
    if not _wait(descriptor, _PATIENCE_S, shared=False):
        raise FileProblemError(f"{path} is being written by another program; try again")


def _share(descriptor: int) -> None:
    """Waits a little for those who write."""
    with suppress(OSError):
        _wait(descriptor, _READERS_PATIENCE_S, shared=True)


def _wait(descriptor: int, patience_s: float, *, shared: bool) -> bool:
    deadline = time.monotonic() + patience_s
    while not _try_lock(descriptor, shared=shared):
        if time.monotonic() > deadline:
            return False
        time.sleep(_PAUSE_S)
    return True


if sys.platform == "win32":
    import msvcrt

    #: A byte far past the end, so that locking it never stops a reader.
    _LOCK_AT = 1 << 40

    def _try_lock(descriptor: int, *, shared: bool) -> bool:  # noqa: ARG001 (one kind of lock)
        os.lseek(descriptor, _LOCK_AT, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        finally:
            os.lseek(descriptor, 0, os.SEEK_SET)
        return True

    def _open_folder(folder: Path) -> int:
        return os.open(folder / ".livefood-lock", os.O_RDWR | os.O_CREAT)

    def _sync_folder(folder: Path) -> None:
        """Windows has no way to ask for it."""

else:
    import fcntl

    def _try_lock(descriptor: int, *, shared: bool) -> bool:
        mode = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
        try:
            fcntl.flock(descriptor, mode | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _open_folder(folder: Path) -> int:
        return os.open(folder, os.O_RDONLY | os.O_DIRECTORY)

    def _sync_folder(folder: Path) -> None:
        """Makes a new name last through a power cut, where the system can."""
        descriptor = _open_folder(folder)
        try:
            with suppress(OSError):
                os.fsync(descriptor)
        finally:
            os.close(descriptor)
