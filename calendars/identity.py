"""The identity of an installation: a secret beside the room file, from which UIDs are derived.

It is random, so that a UID tells nobody anything (RFC 7986, section 5.3), and made once, so
that an intention keeps its UID.
"""

from __future__ import annotations

from pathlib import Path
from uuid import UUID, uuid4

from calendars.entries import CalendarError
from cultures import files


def identity_path(room_path: Path) -> Path:
    """Where the identity stands."""
    return room_path.resolve().parent / ".livefood-id"


def namespace(room_path: Path) -> UUID:
    """The identity; it is made if there is none, unless another program is first.

    Raises:
        LivefoodError: it cannot be read or written, or is damaged.
    """
    path, mine = identity_path(room_path), f"{uuid4()}\n".encode()
    if not files.read(path):
        files.append(path, lambda whole, _: (b"" if whole else mine, False), 0o600)
    try:
        return UUID((files.read(path) or b"").decode().strip())
    except ValueError as error:
        raise CalendarError(
            f"{path}: does not hold an identity as livefood writes it; restore it from a copy, or "
            "delete it (calendars already handed out will then show entries twice)"
        ) from error
