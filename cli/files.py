"""Writing files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from cultures.errors import FileProblemError


def write_new(path: Path, text: str, *, force: bool = False) -> None:
    """Writes a file that must not exist yet, unless ``force``; replaced atomically.

    Raises:
        FileProblemError: it exists, or cannot be written.
    """
    if path.exists() and not force:
        raise FileProblemError(
            f"{path} exists already; choose another name, or say --force to replace it"
        )
    write_whole(path, text.encode("utf-8"))


def refuse_special(path: Path) -> None:
    """Refuses to read or replace what is no file.

    Raises:
        FileProblemError: a device or a pipe stands there.
    """
    from calendars.files import is_special

    if is_special(path):
        raise FileProblemError(f"{path} is a device or pipe; name a file")


def write_whole(path: Path, data: bytes) -> None:
    """Replaces a file's content in one step: the old file or the new one, never half.

    Raises:
        FileProblemError: it cannot be written; the old content stands.
    """
    refuse_special(path)
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o644
        Path(temporary).chmod(mode)
        Path(temporary).replace(path)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise FileProblemError(f"cannot write {path}: {error.strerror or error}") from None
