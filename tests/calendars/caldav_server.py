"""A CalDAV server of our own, what its user sees of it, and plans published to it day by day."""

from __future__ import annotations

import base64
import http.client
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from attrs import define

from calendars.entries import Entry
from calendars.export import read_notes
from calendars.from_plan import entries_of
from calendars.ics import Header
from calendars.publish.caldav import Collection, parse_address
from calendars.publish.server import OnServer, Published, publish_notes_path
from cultures.tasks.plan import Plan
from tests.calendars.plans import NAMESPACE, at, wishes
from tests.calendars.readers import by_icalendar

USER, PASSWORD = "keeper", "Pear-tree 7 grün"
NOW = at("2027-01-05T06:00")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@define
class Server:
    """A CalDAV server and what its user can see of it."""

    port: int
    home: str = f"/{USER}"

    def ask(self, method: str, path: str, body: str = "", **headers: str) -> tuple[int, str, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        secret = base64.b64encode(f"{USER}:{PASSWORD}".encode()).decode()
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(
            method, path, body.encode(), {"Authorization": f"Basic {secret}", **named}
        )
        response = connection.getresponse()
        answer = response.status, response.getheader("ETag") or "", response.read().decode()
        connection.close()
        return answer

    def make(self, name: str, component: str = "VEVENT") -> str:
        body = (
            '<?xml version="1.0"?>'
            '<C:mkcalendar xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav">'
            "<D:set><D:prop><C:supported-calendar-component-set>"
            f'<C:comp name="{component}"/></C:supported-calendar-component-set></D:prop></D:set>'
            "</C:mkcalendar>"
        )
        assert self.ask("MKCALENDAR", f"{self.home}/{name}/", body)[0] == 201
        return f"http://127.0.0.1:{self.port}{self.home}/{name}/"

    def names(self, name: str) -> list[str]:
        """Names of all resources."""
        body = '<?xml version="1.0"?><propfind xmlns="DAV:"><prop><getetag/></prop></propfind>'
        status, _, text = self.ask(
            "PROPFIND", f"{self.home}/{name}/", body, Depth="1", Content_Type="text/xml"
        )
        assert status == 207
        return re.findall(r"<(?:\w+:)?href>/[^<]*/([^</]*\.ics)</", text)

    def resources(self, name: str) -> dict[str, tuple[str, str]]:
        """Resource name -> ETag and text, all of them."""
        found = {}
        for resource in self.names(name):
            _, etag, data = self.ask("GET", f"{self.home}/{name}/{resource}")
            found[resource] = (etag, data)
        return found


def serving(folder: Path) -> Iterator[Server]:
    (folder / "users").write_text(f"{USER}:{PASSWORD}\n", encoding="utf-8")
    port = free_port()
    (folder / "config").write_text(
        f"[server]\nhosts = 127.0.0.1:{port}\n"
        f"[auth]\ntype = htpasswd\nhtpasswd_filename = {folder / 'users'}\n"
        "htpasswd_encryption = plain\ndelay = 0\n"
        "[rights]\ntype = owner_only\n"
        f"[storage]\ntype = multifilesystem\nfilesystem_folder = {folder / 'data'}\n"
        "[logging]\nlevel = error\n"
    )
    command = [sys.executable, "-m", "radicale", "--config", str(folder / "config")]
    yield from _running(command, Server(port))


def serving_xandikos(folder: Path) -> Iterator[Server]:
    """Another server, of other authors; it lets everybody of this machine in."""
    port = free_port()
    command = [
        sys.executable, "-m", "xandikos", "serve", "-d", str(folder / "data"), "-l", "127.0.0.1",
        "-p", str(port), "--defaults", "--current-user-principal", f"/{USER}",
        "--state-dir", str(folder / "state"), "--no-detect-systemd",
    ]  # fmt: skip
    yield from _running(command, Server(port, f"/{USER}/calendars"))


def _running(command: list[str], server: Server) -> Iterator[Server]:
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        deadline = time.monotonic() + 30
        while True:
            try:
                socket.create_connection(("127.0.0.1", server.port), timeout=1).close()
                break
            except OSError:
                assert process.poll() is None, "the server ended"
                assert time.monotonic() < deadline, "the server does not answer"
                time.sleep(0.05)
        yield server
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=10)


@define
class Desk:
    """A room folder that publishes to one calendar."""

    server: Server
    room: Path
    url: str
    name: str

    def send(
        self, plan: Plan, now: datetime = NOW, url: str | None = None, **options: Any
    ) -> Published:
        return self.send_entries(entries_of(plan, wishes(**options), now), now, url)

    def send_entries(
        self, entries: list[Entry], now: datetime = NOW, url: str | None = None
    ) -> Published:
        with Collection(parse_address(url or self.url), USER, PASSWORD) as collection:
            place = OnServer(collection, self.room, Header(""), now, lambda: NAMESPACE)
            return place.publish(entries)

    def withdraw(self) -> Published:
        with Collection(parse_address(self.url), USER, PASSWORD) as collection:
            return OnServer(collection, self.room, Header(""), NOW, lambda: NAMESPACE).withdraw()

    def names(self) -> list[str]:
        return self.server.names(self.name)

    def resources(self) -> dict[str, tuple[str, str]]:
        return self.server.resources(self.name)

    def assert_shows(self, entries: list[Entry]) -> None:
        seen = [
            s for _, text in self.resources().values() for s in by_icalendar(text.encode()).values()
        ]
        assert sorted((s.start, s.end, s.title, s.text) for s in seen) == sorted(
            (e.start, e.end, e.title, e.text) for e in entries
        )


def publish_daily(
    desk: Desk, plans: Iterable[tuple[datetime, Plan]], *, look_every: int
) -> Published:
    """Publishes plan after plan; what was done in all.

    At every so many plans, and at the last five, the server holds exactly what is live, each
    intention once, with a SEQUENCE that only rises.
    """
    highest: dict[str, int] = {}
    total = Published()
    days = list(plans)
    for number, (now, plan) in enumerate(days):
        entries = entries_of(plan, wishes(groups=frozenset({"hatches", "splits"})))
        done = desk.send_entries(entries, now)
        total.created += done.created
        total.updated += done.updated
        total.deleted += done.deleted
        if number % look_every and number < len(days) - 5:
            continue
        ahead = []
        for name, (_, text) in desk.resources().items():
            (seen,) = by_icalendar(text.encode()).values()
            assert name == f"{seen.uid}.ics"
            sequence = int(re.findall(r"SEQUENCE:(\d+)", text)[0])
            assert sequence >= highest.get(name, 0)
            highest[name] = sequence
            if seen.start >= now:
                ahead.append((seen.start, seen.title, seen.text))
            else:
                assert now - seen.start < timedelta(days=3)
        assert sorted(ahead) == sorted((e.start, e.title, e.text) for e in entries)
    notes = read_notes(publish_notes_path(desk.room, desk.url))
    assert notes is not None
    assert len(notes.extra["held"]) == len(desk.resources())
    return total
