"""Writing files that a person named, and giving up a screen that is gone."""

from __future__ import annotations

import os
from pathlib import Path

from cultures import files
from cultures.errors import FileProblemError


def write_new(path: Path, text: str, *, force: bool = False) -> None:
    """Writes a file that must not exist yet, unless ``force``.

    Raises:
        FileProblemError: it exists, or cannot be written.
    """
    if path.exists() and not force:
        raise FileProblemError(
            f"{path} exists already; choose another name, or say --force to replace it"
        )
    files.write(path, text.encode("utf-8"))


def give_up_screen() -> None:
    """What is still buffered would fail once more when Python flushes it at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
