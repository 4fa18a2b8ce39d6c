"""A read-only subscription feed: one address, two methods, nothing else.

The server of the standard library is enough for a handful of phones that look in a few times a
day. What it lacks is added here: a deadline for each connection as a whole, so that a client
that drips a byte at a time is cut off; a limit on the number of connections; answers that say
nothing about the machine; no address in any log. The size of a request it limits by itself.
"""

from __future__ import annotations

import hmac
import ipaddress
import signal
import socket
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from socketserver import ThreadingMixIn
from typing import Any

from calendars.entries import CalendarError
from calendars.publish.feed_source import FeedSource, Page

_DEADLINE_S = 15.0
_SILENCE_S = 5.0
_CONNECTIONS = 32
_POLL_S = 0.25
_FILE_NAME = "livefood.ics"


def check_address(address: str) -> str:
    """An IP address to listen on, or localhost.

    Raises:
        CalendarError: it is neither.
    """
    if address == "localhost":
        return "127.0.0.1"
    try:
        return str(ipaddress.ip_address(address))
    except ValueError as error:
        raise CalendarError(
            f"'{address}' is not an IP address of this machine, like 192.168.1.20"
        ) from error


class FeedServer(ThreadingMixIn, HTTPServer):
    """Listens on one address for one path.

    Args:
        address: an IP address. port: 0 for any free one.
        token: the unguessable part of the path.
        report: told of each request, without its path.

    Raises:
        CalendarError: the port is taken, or the address is not of this machine.
    """

    daemon_threads = True
    block_on_close = False
    request_queue_size = 16

    def __init__(
        self, address: str, port: int, *, source: FeedSource, token: str,
        report: Callable[[str], None],
    ) -> None:  # fmt: skip
        self.source = source
        self.path = f"/{token}/{_FILE_NAME}"
        self.report = report
        self._open: dict[socket.socket, float] = {}
        if ipaddress.ip_address(address).version == 6:
            self.address_family = socket.AF_INET6
        try:
            super().__init__((address, port), _Handler)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise CalendarError(f"cannot listen on {address} port {port} ({reason})") from error

    @property
    def url(self) -> str:
        """The address to subscribe to."""
        host, port = self.server_address[:2]
        name = str(host)
        if ipaddress.ip_address(name).is_unspecified:
            name = socket.gethostname()
        elif ":" in name:
            name = f"[{name}]"
        return f"http://{name}:{port}{self.path}"

    def server_bind(self) -> None:
        """Bind without asking the name service who we are."""
        super(HTTPServer, self).server_bind()
        self.server_name, self.server_port = "livefood", int(self.server_address[1])

    def process_request(self, request: Any, client_address: Any) -> None:
        """Start a thread for a connection, unless there are too many already."""
        if len(self._open) >= _CONNECTIONS:
            self.shutdown_request(request)
            return
        self._open[request] = time.monotonic()
        super().process_request(request, client_address)

    def shutdown_request(self, request: Any) -> None:
        """Close a connection and forget it."""
        super().shutdown_request(request)
        self._open.pop(request, None)

    def service_actions(self) -> None:
        """Cut off connections that outstay the deadline; called between requests."""
        limit = time.monotonic() - _DEADLINE_S
        for request, begun in list(self._open.items()):
            if begun < limit:
                _cut(request)

    def handle_error(self, request: Any, client_address: Any) -> None:  # noqa: ARG002 (base's signature)
        """A broken connection is nobody's fault; anything else is said in one line."""
        self.report(f"{client_address[0]} a request failed")

    def run(self) -> None:
        """Serve until interrupted or terminated, then close."""
        before = signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            self.serve_forever(poll_interval=_POLL_S)
        except KeyboardInterrupt:
            pass
        finally:
            signal.signal(signal.SIGTERM, before)
            self.server_close()
            for request in list(self._open):
                _cut(request)


def _cut(request: socket.socket) -> None:
    with suppress(OSError):  # it may be gone already
        request.shutdown(socket.SHUT_RDWR)


class _Handler(BaseHTTPRequestHandler):
    server: FeedServer
    protocol_version = "HTTP/1.1"
    timeout = _SILENCE_S
    _status = 0

    def handle(self) -> None:
        """One request, then the connection ends."""
        try:
            self.handle_one_request()
        except OSError:
            return
        finally:
            self.close_connection = True
        if self._status:
            method = self.command if self.command in ("GET", "HEAD") else "other"
            self.server.report(f"{self.client_address[0]} {method} {self._status}")

    def do_GET(self) -> None:
        """The calendar, or 304 if the client has it."""
        self._answer(body=True)

    def do_HEAD(self) -> None:
        """Only what would stand above the calendar."""
        self._answer(body=False)

    def _answer(self, *, body: bool) -> None:
        if not self._is_feed():
            self._short(404, body=body)
            return
        page = self.server.source.page()
        if page is None:
            self._short(503, body=body)
            return
        fresh = self._has(page)
        self._begin(304 if fresh else 200)
        self.send_header("ETag", page.etag)
        self.send_header("Last-Modified", format_datetime(page.modified, usegmt=True))
        self.send_header("Cache-Control", "private, no-cache")
        if not fresh:
            self.send_header("Content-Type", "text/calendar; charset=utf-8")
            self.send_header("Content-Length", str(len(page.data)))
            self.send_header("X-Content-Type-Options", "nosniff")
        self.end_headers()
        if body and not fresh:
            self.wfile.write(page.data)

    def _is_feed(self) -> bool:
        same = hmac.compare_digest(
            self.path.encode("latin-1", "replace"), self.server.path.encode()
        )
        return same and self._is_our_host()

    def _is_our_host(self) -> bool:
        """Refuse names that somebody else's page could have pointed at this machine."""
        hosts = self.headers.get_all("Host", [])
        if len(hosts) != 1:
            return False
        name = hosts[0].strip().lower()
        name = name[1:].partition("]")[0] if name.startswith("[") else name.partition(":")[0]
        own = socket.gethostname().lower().partition(".")[0]
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return name == "localhost" or name.partition(".")[0] == own
        return True

    def _has(self, page: Page) -> bool:
        """Whether the client's copy is the present one (RFC 9110, section 13.2.2)."""
        tags = self.headers.get("If-None-Match")
        if tags is not None:
            return tags.strip() == "*" or page.etag in (
                tag.strip().removeprefix("W/") for tag in tags.split(",")
            )
        since = self.headers.get("If-Modified-Since")
        if since is None:
            return False
        try:
            moment = parsedate_to_datetime(since)
        except ValueError:
            return False
        return page.modified <= _aware(moment)

    def send_error(
        self,
        code: int,
        message: str | None = None,  # noqa: ARG002 (would repeat what the client sent)
        explain: str | None = None,  # noqa: ARG002
    ) -> None:
        """A short answer that repeats nothing of the request."""
        if code == 501:
            code = 405 if self._is_feed() else 404
        self._short(code)

    def _short(self, code: int, *, body: bool = True) -> None:
        text = f"{code}\n".encode()
        self._begin(code)
        if code == 405:
            self.send_header("Allow", "GET, HEAD")
        if code == 503:
            self.send_header("Retry-After", "300")
        self.send_header("Content-Type", "text/plain; charset=utf-8")
        self.send_header("Content-Length", str(len(text)))
        self.end_headers()
        if body and getattr(self, "command", "") != "HEAD":
            self.wfile.write(text)

    def _begin(self, code: int) -> None:
        if not hasattr(self, "request_version") or self.request_version == "HTTP/0.9":
            self.request_version = "HTTP/1.0"
        self.close_connection = True
        self._status = code
        self.send_response(code)
        self.send_header("Connection", "close")

    def version_string(self) -> str:
        """Says neither the software's version nor the machine's."""
        return "livefood"

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 (base's signature)
        """Nothing: the base class would write the address, which is the key."""


def _aware(moment: datetime) -> datetime:
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)
