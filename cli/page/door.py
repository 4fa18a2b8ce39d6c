"""Who may come in: the key of the address, the Host, the origin of a post, and what answers say.

The keys are kept beside the room, readable by its owner.

Whatever is not let in gets a bare 404 or 403 that repeats nothing of the request.
"""

from __future__ import annotations

import hmac
import ipaddress
import json
import secrets
import socket
import time
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from attrs import asdict, define, field, frozen

from cultures import files
from cultures.errors import FileProblemError

#: So many random bytes has a key.
_BYTES = 24
#: An address that tries so many wrong keys in this time is not heard until it is over [s].
_MOST_WRONG, _WITHIN_S = 20, 60.0
#: Addresses of which wrong keys are counted at once.
_MOST_WATCHED = 1000

#: Endings that nobody can register: RFC 6762 (local), RFC 8375 (home.arpa), the one that ICANN
#: keeps free (internal), and two that routers give out (common practice, no source).
_AT_HOME = ("local", "home.arpa", "internal", "lan", "home")

#: Sent with every answer. A referrer goes to no other site; within the page browsers need it to
#: say truly where a form was posted from.
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Robots-Tag": "noindex, nofollow",
}


def is_our_host(host: str) -> bool:
    """Whether a Host header is an IP address, localhost or this machine's own name.

    Other names are refused: somebody else's page could have pointed one at this machine.
    """
    name = host.strip().lower()
    name = name[1:].partition("]")[0] if name.startswith("[") else name.partition(":")[0]
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return name in ("localhost", *_own_names())
    return True


def _own_names() -> Iterable[str]:
    """This machine's names: its own, and what a network at home may add to it."""
    whole = socket.gethostname().lower()
    own = whole.partition(".")[0]
    return (whole, own, *(f"{own}.{home}" for home in _AT_HOME))


def is_same_origin(origin: str | None, scheme: str, host: str) -> bool:
    """Whether a post comes from a page of this very server; one that does not say so does not."""
    return origin is not None and hmac.compare_digest(
        origin.encode("utf-8", "replace"), f"{scheme}://{host}".encode("utf-8", "replace")
    )


def is_path(environ: Mapping[str, Any], path: str) -> bool:
    """Whether a request is for one path that cannot be guessed, and asks nothing of it."""
    asked = f"{environ.get('PATH_INFO', '')}?{environ.get('QUERY_STRING', '')}"
    return hmac.compare_digest(asked.encode("utf-8", "replace"), f"{path}?".encode())


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


@define
class Door:
    """Knows the keys, and who tried wrong ones lately.

    Attributes:
        clock: any that runs evenly [s].
    """

    keys: Keys
    clock: Callable[[], float] = time.monotonic
    _wrong: dict[str, list[float]] = field(factory=dict, init=False)

    def who(self, key: str, address: str) -> str | None:
        """``keeper`` or ``helper`` by the key of an address, or None."""
        now = self.clock()
        tries = [at for at in self._wrong.get(address, ()) if now - at < _WITHIN_S]
        if len(tries) >= _MOST_WRONG:
            return None
        given, known = key.encode("utf-8", "replace"), asdict(self.keys)
        found = [name for name, is_ in known.items() if hmac.compare_digest(given, is_.encode())]
        if not found:
            if len(self._wrong) >= _MOST_WATCHED:
                self._wrong.clear()
            self._wrong[address] = [*tries, now]
        return found[0] if found else None
