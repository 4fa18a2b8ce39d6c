"""Writing files that a person named, and giving up a screen that is gone."""

from __future__ import annotations

import os
from pathlib import Path

from cultures import files
from cultures.errors import FileProblemError
from cultures.journal.entries import JOURNAL_NAME, journal_path
from cultures.record.answers import ANSWERS_NAME, answers_path
from cultures.record.store import RECORD_NAME, record_path
from cultures.words.text import seen

#: What grows beside a room file.
_GROWN = (JOURNAL_NAME, RECORD_NAME, ANSWERS_NAME)


def refuse_own(path: Path, room_path: Path | None = None) -> None:
    """Refuses to write over what a room consists of, even by force and through links.

    Args:
        path: to be written. room_path: of the room of which something is written out: into a folder
            that is there, since another is a slip of the pen.

    Raises:
        FileProblemError: a room's own file, journal, record or notes stand there, or no folder.
    """
    if room_path is not None and not path.absolute().parent.is_dir():
        raise FileProblemError(
            f"there is no folder {path.parent}: make it first, or name another; nothing was written"
        )
    target = Path(os.path.realpath(path))
    name = target.name.casefold().removesuffix(files.TORN_SUFFIX)
    own = name in _GROWN or (name.startswith(".") and ".livefood" in name)
    if room_path is not None and not own:
        kept = (room_path, *(of(room_path) for of in (journal_path, record_path, answers_path)))
        own = any(target == Path(os.path.realpath(each)) or _is_same(target, each) for each in kept)
    if own:
        raise FileProblemError(f"{path} belongs to the room and is never replaced; name another")


def _is_same(one: Path, other: Path) -> bool:
    """Whether two names are one file."""
    try:
        return one.samefile(other)
    except OSError:
        return False


def refuse_taken(path: Path, *, force: bool) -> None:
    """Refuses to write over a file, unless ``force``.

    Raises:
        FileProblemError: it exists, or its name is none.
    """
    try:
        taken = path.exists() and not force
    except OSError as error:  # longer than a name can be
        raise FileProblemError(f"cannot write {path}: {error.strerror}") from None
    if taken:
        raise FileProblemError(
            f"{path} exists already; choose another name, or say --force to replace it"
        )


def said(path: Path) -> str:
    """A file's name as a screen can show it."""
    return seen(str(path))


def write_new(path: Path, text: str, *, force: bool = False) -> None:
    """Writes a file that must not exist yet, unless ``force``.

    Raises:
        FileProblemError: it exists, belongs to a room, or cannot be written.
    """
    refuse_own(path)
    refuse_taken(path, force=force)
    files.write(path, text.encode("utf-8"))


def give_up_screen() -> None:
    """What is still buffered would fail once more when Python flushes it at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
