"""The unguessable parts of the page's addresses, kept beside the room, readable by its owner."""

from __future__ import annotations

import json
import secrets
from pathlib import Path

from attrs import asdict, frozen

from cultures import files
from cultures.errors import FileProblemError

_BYTES = 24


@frozen
class Keys:
    """One for the keeper, one for the helper: 192 random bits each."""

    keeper: str
    helper: str


def keys_path(room_path: Path) -> Path:
    """Where the keys of a room are kept."""
    return room_path.resolve().parent / f".{room_path.name}.page.livefood"


def page_keys(room_path: Path, *, renew: bool = False) -> Keys:
    """The keys of a room, made when there are none yet.

    Args:
        renew: make new ones, so that all earlier addresses are of no more use.

    Raises:
        FileProblemError: the file cannot be read or written, or holds something else.
    """
    path = keys_path(room_path)
    with files.locked(path.parent):
        raw = None if renew else files.read(path)
        if raw is not None:
            return _read(path, raw)
        made = Keys(secrets.token_urlsafe(_BYTES), secrets.token_urlsafe(_BYTES))
        path.unlink(missing_ok=True)  # so that its permissions are those of a new file
        files.replace(path, json.dumps(asdict(made)).encode() + b"\n")
    return made


def _read(path: Path, raw: bytes) -> Keys:
    try:
        kept = Keys(**json.loads(raw))
        if min(len(kept.keeper), len(kept.helper)) >= _BYTES and kept.keeper != kept.helper:
            return kept
    except (ValueError, TypeError):
        pass
    raise FileProblemError(f"{path} is damaged; 'livefood serve --new-key' makes new addresses")
