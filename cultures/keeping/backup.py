"""A backup: all files of a room in one zip, each with its digest."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from hashlib import sha256
from io import BytesIO
from itertools import chain
from pathlib import Path
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile, ZipInfo

from attrs import frozen

from cultures import files
from cultures.errors import FileProblemError
from cultures.journal.entries import journal_path
from cultures.limits import most_bytes
from cultures.record.answers import answers_path
from cultures.record.store import record_path

#: The list of a backup, and the version of its form.
_LIST, _VERSION = "livefood-backup.json", 1


@frozen
class Backup:
    """What a backup holds; ``room``: name of the room file. ``made``: when, as text."""

    room: str
    made: str
    content: Mapping[str, bytes]


def files_of(room_path: Path) -> list[Path]:
    """All files of a room that are there: itself, what grew beside it, torn ends, hidden notes."""
    grown = [journal_path(room_path), record_path(room_path), answers_path(room_path)]
    torn = [path.with_name(path.name + files.TORN_SUFFIX) for path in grown]
    found = (room_path.parent.glob(hidden) for hidden in (".livefood-id", ".*.livefood"))
    return [path for path in (room_path, *grown, *torn, *sorted(chain(*found))) if path.is_file()]


def make_backup(room_path: Path, target: Path, now: datetime) -> Backup:
    """Writes a backup of a room and reads it again; nobody writes to the room meanwhile.

    Raises:
        FileProblemError: something cannot be read or written, or did not read back.
    """
    with files.locked(room_path.absolute().parent):
        content = {path.name: files.read(path) or b"" for path in files_of(room_path)}
    made = now.isoformat(timespec="seconds")
    digests = {name: sha256(data).hexdigest() for name, data in content.items()}
    head = {"livefood": _VERSION, "room": room_path.name, "made": made, "files": digests}
    raw = BytesIO()
    with ZipFile(raw, "w", ZIP_DEFLATED) as archive:
        for name, data in {_LIST: json.dumps(head, indent=1).encode(), **content}.items():
            archive.writestr(ZipInfo(name, now.timetuple()[:6]), data, ZIP_DEFLATED)
    with files.locked(target.absolute().parent):
        files.replace(target, raw.getvalue())
    found = read_backup(target)
    if found.content != content:
        raise FileProblemError(f"{target} does not read back as it was written; is the disk sound?")
    return found


def read_backup(path: Path) -> Backup:
    """A backup, every file of it checked against its digest.

    Raises:
        FileProblemError: it cannot be read, is none, or a file in it is damaged.
    """
    raw = files.read(path, most_bytes("backup"))
    if raw is None:
        raise FileProblemError(f"there is no file {path}")
    try:
        with ZipFile(BytesIO(raw)) as archive:
            if sum(info.file_size for info in archive.infolist()) > most_bytes("backup"):
                raise FileProblemError(f"{path} would unpack to more than any room holds")
            head = json.loads(archive.read(_LIST))
            room, made, digests = str(head["room"]), str(head["made"]), dict(head["files"])
            content = {name: archive.read(name) for name in digests}
    except (BadZipFile, ValueError, KeyError, TypeError, NotImplementedError, EOFError, OSError,
            RuntimeError, RecursionError):  # fmt: skip
        raise FileProblemError(f"{path} is not a backup of a room, or is damaged") from None
    for name, data in content.items():
        if sha256(data).hexdigest() != digests[name]:
            raise FileProblemError(f"{path}: {name} in it is damaged")
        if name != Path(name).name or "\\" in name or ":" in name or name in ("", ".", ".."):
            raise FileProblemError(f"{path}: '{name}' is not a plain file name")
    if room not in content:
        raise FileProblemError(f"{path} holds no room file")
    return Backup(room, made, content)


def restore(backup: Backup, folder: Path) -> Path:
    """Writes the files of a backup into a folder that has none of them; the room file's path.

    Raises:
        FileProblemError: one of them is there already, or cannot be written.
    """
    with files.locked(folder):
        there = [name for name in backup.content if (folder / name).exists()]
        if there:
            raise FileProblemError(
                f"{folder} has {', '.join(there)} already; restore into another folder"
            )
        for name, data in backup.content.items():
            files.replace(folder / name, data)
    return folder / backup.room
