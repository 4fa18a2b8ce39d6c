"""Runs the page and the calendar feed on waitress, and says where they are."""

from __future__ import annotations

import io
import ipaddress
import signal
import socket
import sys

import click
import segno
import waitress
from attrs import frozen
from flask import Flask

from calendars.publish.feed_source import FeedSource
from cli.options import Where
from cli.page.app import LARGEST, make_app
from cli.page.desk import Desk
from cli.page.door import Door, page_keys
from cultures.errors import FileProblemError

_THREADS = 8
_EXPOSED = """\
Warning: everybody on this network who learns the address can read the plan and
note things. It is sent without encryption. Serve on a network you trust, and
never on the internet."""


@frozen
class Listening:
    """A server that is bound to its port."""

    server: waitress.server.BaseWSGIServer
    socket: socket.socket

    def url(self, path: str, host: str = "") -> str:
        """The address of a path, of a host where another name than the bound one is wanted."""
        name, port = self.socket.getsockname()[:2]
        name = host or str(name)
        if ipaddress.ip_address(name).is_unspecified:  # a phone knows no names of this network
            name = own_address(self.socket.family)
        return f"http://{f'[{name}]' if ':' in name else name}:{port}{path}"

    def run(self) -> None:
        """Serves until interrupted or terminated, then closes."""
        before = signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            self.server.run()
        except KeyboardInterrupt:
            pass
        finally:
            signal.signal(signal.SIGTERM, before)
            self.server.close()


def listen(app: Flask, host: str, port: int) -> Listening:
    """Binds an application to an address.

    Args:
        port: 0 for any free one.

    Raises:
        FileProblemError: the port is taken, or the address is not of this machine.
    """
    bound = _bound(host, port)
    server = waitress.create_server(
        app, sockets=[bound], threads=_THREADS, connection_limit=500, channel_timeout=30,
        cleanup_interval=10, ident=None, max_request_header_size=8192,
        max_request_body_size=LARGEST, expose_tracebacks=False, clear_untrusted_proxy_headers=True,
    )  # fmt: skip
    return Listening(server, bound)


def _bound(host: str, port: int) -> socket.socket:
    found = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    try:
        if sys.platform != "win32":  # there it would let two programs have one port
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((host, port))
    except OSError as error:
        found.close()
        reason = (error.strerror or str(error)).lower()
        raise FileProblemError(f"cannot listen on {host} port {port} ({reason})") from None
    return found


def serve(
    where: Where, feed: FeedSource, *, lan: bool, port: int, renew: bool, helper: bool
) -> None:
    """Serves a room until interrupted.

    Raises:
        LivefoodError: the room cannot be read, or the port is taken.
    """
    keys = page_keys(where.path, renew=renew)
    host = own_address() if lan else "127.0.0.1"
    app = make_app(Desk(where), Door(keys), feed)
    listening = listen(app, "0.0.0.0" if lan else host, port)
    if lan:
        click.echo(_EXPOSED, err=True)
    _say("Your page", listening.url(f"/{keys.keeper}/", host))
    if helper:
        _say("The helper's page", listening.url(f"/{keys.helper}/", host))
    click.echo(f"The calendar to subscribe to: {listening.url(feed.path, host)}")
    click.echo("Whoever has an address can use it. Stop with Ctrl-C.")
    listening.run()
    click.echo("The page has stopped.", err=True)


def _say(whose: str, address: str) -> None:
    """An address, and the code that a phone's camera reads."""
    code = io.StringIO()
    segno.make(address, error="m").terminal(out=code, border=2, compact=True)
    click.echo(f"{whose}: {address}\n{code.getvalue()}")


def own_address(family: int = socket.AF_INET) -> str:
    """This machine's own address on its network; nothing is sent to find it."""
    far, own = ("192.0.2.1", "127.0.0.1") if family == socket.AF_INET else ("2001:db8::1", "::1")
    with socket.socket(family, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((far, 9))  # kept for examples (RFC 5737, 3849): only the route is asked
            return str(probe.getsockname()[0])
        except OSError:
            return own
