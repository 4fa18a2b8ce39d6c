"""Files that are replaced whole or not at all, one writer at a time."""

from __future__ import annotations

import os
import secrets
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from uuid import UUID, uuid4

from calendars.entries import CalendarError

_PATIENCE_S = 20.0
_PAUSE_S = 0.05


def describe(error: OSError) -> str:
    """The reason that the system gives, in its own words."""
    return (error.strerror or str(error)).lower()


def is_special(path: Path) -> bool:
    """A device or a pipe stands there: it may never end, and must not be replaced by a file."""
    return path.exists() and not path.is_file() and not path.is_dir()


def read(path: Path) -> bytes | None:
    """The bytes of a file, or None if there is none.

    Raises:
        CalendarError: it is there and cannot be read.
    """
    if is_special(path):
        raise CalendarError(f"{path}: is a device or pipe; name a file")
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise CalendarError(f"{path}: cannot be read ({describe(error)})") from error


def replace(path: Path, data: bytes) -> None:
    """Put new content in the place of a file, all of it or none.

    The data are on the disk before the old file goes, and only the owner can read them.

    Raises:
        CalendarError: the disk is full, or the file or its folder read-only; the old file stands.
    """
    target = Path(os.path.realpath(path))
    spare = target.with_name(f".{target.name}.new")
    try:
        if target.exists() and not target.stat().st_mode & 0o222:
            raise CalendarError(f"{path}: is read-only and was left as it is")
        spare.unlink(missing_ok=True)
        _write_new(spare, data)
        spare.replace(target)
        _sync_folder(target.parent)
    except OSError as error:
        with suppress(OSError):
            spare.unlink(missing_ok=True)
        raise CalendarError(
            f"{path}: could not be written ({describe(error)}); nothing was changed"
        ) from error


def _write_new(path: Path, data: bytes) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system can."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):
            os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path) -> None:
    """Makes a folder with those above it, if it is not there.

    Raises:
        CalendarError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CalendarError(f"{folder}: cannot be used ({describe(error)})") from error


@contextmanager
def locked(folder: Path, *, patience_s: float = _PATIENCE_S) -> Iterator[None]:
    """Keep other exports to the same folder waiting.

    Args:
        patience_s: how long to wait for another one [s].

    Raises:
        CalendarError: the folder is missing, or the other one does not finish.
    """
    try:
        handle = _open_lock(folder)
    except OSError as error:
        raise CalendarError(f"{folder}: cannot be used ({describe(error)})") from error
    try:
        deadline = time.monotonic() + patience_s
        while not _locked_now(handle, folder):
            if time.monotonic() >= deadline:
                raise CalendarError(
                    f"another export to {folder} is still at work; try again when it is done"
                )
            time.sleep(_PAUSE_S)
        yield
    finally:
        os.close(handle)


def _locked_now(handle: int, folder: Path) -> bool:
    try:
        return _try_lock(handle)
    except OSError as error:
        raise CalendarError(
            f"{folder}: cannot be locked ({describe(error)}); use a folder of this machine"
        ) from error


if sys.platform == "win32":
    import msvcrt

    def _open_lock(folder: Path) -> int:
        return os.open(folder / ".livefood-lock", os.O_RDWR | os.O_CREAT)

    def _try_lock(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _open_lock(folder: Path) -> int:
        # The folder itself is locked, so that no lock file is left lying about.
        return os.open(folder, os.O_RDONLY | os.O_DIRECTORY)

    def _try_lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


def identity_path(room_path: Path) -> Path:
    """Where the identity of an installation stands."""
    return room_path.resolve().parent / ".livefood-id"


def namespace(room_path: Path) -> UUID:
    """The installation's secret from which UIDs are derived, kept beside the room file.

    It is random, so that a UID tells nobody anything (RFC 7986, section 5.3), and made once,
    so that an intention keeps its UID.

    Raises:
        CalendarError: it cannot be read or written.
    """
    path = identity_path(room_path)
    data = read(path)
    if data is None:
        _link_new(path, f"{uuid4()}\n".encode())
        data = read(path) or b""
    try:
        return UUID(data.decode().strip())
    except ValueError as error:
        raise CalendarError(
            f"{path}: does not hold an identity as livefood writes it; restore it from a copy, or "
            "delete it (calendars already handed out will then show entries twice)"
        ) from error


def _link(spare: Path, path: Path, data: bytes) -> None:
    try:
        os.link(spare, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        _write_new(path, data)


def _link_new(path: Path, data: bytes) -> None:
    """Create a file whole unless another process was first."""
    spare = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        _write_new(spare, data)
        with suppress(FileExistsError):
            _link(spare, path, data)
    except OSError as error:
        raise CalendarError(f"{path}: could not be written ({describe(error)})") from error
    finally:
        with suppress(OSError):
            spare.unlink(missing_ok=True)
