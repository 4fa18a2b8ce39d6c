"""Runs the page on waitress, and says where it is, also as a code to scan."""

from __future__ import annotations

import io
import signal
import socket
import sys

import click
import segno
import waitress

from cli.options import Where
from cli.page.app import LARGEST, make_app
from cli.page.desk import Desk
from cli.page.door import Door
from cli.page.keys import Keys, page_keys
from cultures.errors import FileProblemError

_THREADS = 8
_EXPOSED = """\
Warning: everybody on this network who learns the address can read the plan and
note things. It is sent without encryption. Serve on a network you trust, and
never on the internet."""


def serve(where: Where, *, lan: bool, port: int, renew: bool, helper: bool) -> None:
    """Serves a room until interrupted.

    Raises:
        LivefoodError: the room cannot be planned, or the port is taken.
    """
    desk = Desk(where)
    where.load()
    keys = page_keys(where.path, renew=renew)
    host = _address() if lan else "127.0.0.1"
    server = _listen(desk, keys, "0.0.0.0" if lan else host, port)
    port = int(server.socket.getsockname()[1])
    if lan:
        click.echo(_EXPOSED, err=True)
    _say("Your page", f"http://{host}:{port}/{keys.keeper}/")
    if helper:
        _say("The helper's page", f"http://{host}:{port}/{keys.helper}/")
    click.echo("Whoever has an address can use it. Stop with Ctrl-C.")
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
    click.echo("The page has stopped.", err=True)


def _listen(desk: Desk, keys: Keys, host: str, port: int) -> waitress.server.BaseWSGIServer:
    return waitress.create_server(
        make_app(desk, Door(keys)), sockets=[_bound(host, port)], threads=_THREADS,
        connection_limit=64, channel_timeout=30, cleanup_interval=10, ident=None,
        max_request_header_size=8192, max_request_body_size=LARGEST, expose_tracebacks=False,
        clear_untrusted_proxy_headers=True,
    )  # fmt: skip


def _bound(host: str, port: int) -> socket.socket:
    """A socket on an address.

    Raises:
        FileProblemError: the port is taken, or the address is not of this machine.
    """
    found = socket.socket()
    try:
        if sys.platform != "win32":  # there it would let two programs have one port
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((host, port))
    except OSError as error:
        found.close()
        reason = (error.strerror or str(error)).lower()
        raise FileProblemError(f"cannot listen on {host} port {port} ({reason})") from None
    return found


def _say(whose: str, address: str) -> None:
    """An address, and the code that a phone's camera reads."""
    code = io.StringIO()
    segno.make(address, error="m").terminal(out=code, border=2, compact=True)
    click.echo(f"{whose}: {address}\n{code.getvalue()}")


def _address() -> str:
    """This machine's own address on its network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # TEST-NET-1 (RFC 5737): only the route is asked for
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"
