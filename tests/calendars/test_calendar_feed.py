"""The subscription feed over real sockets on loopback."""

from __future__ import annotations

import http.client
import re
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from attrs import define, field

from calendars import lint
from calendars.entries import CalendarError
from calendars.from_plan import entries_of
from calendars.ics import Header
from calendars.publish.feed_source import FeedSource, Produced, feed_notes_path, feed_token
from calendars.publish.loopback import check_address, is_loopback
from cli.page.app import feed_app
from cli.page.serve import listen
from cultures.errors import FileProblemError, LivefoodError
from cultures.tasks.plan import Plan
from tests.calendars.examples import daily_plans
from tests.calendars.plans import NAMESPACE, at, ordinary_plan, wishes
from tests.calendars.readers import by_icalendar
from tests.page.serving import serving


@define
class Bench:
    """A feed whose room, clock and plan the test sets."""

    room: Path
    plan: Plan = field(factory=lambda: ordinary_plan(days=3))
    now: datetime = field(factory=lambda: at("2027-01-05T06:00"))
    broken: bool = False
    runs: int = 0
    said: list[str] = field(factory=list)

    def produce(self, now: datetime) -> Produced:
        self.runs += 1
        if self.broken:
            raise LivefoodError("room.toml:3: rounds: must ascend")
        return Produced(entries_of(self.plan, wishes(), now), Header("Shed", feed=True))

    def touch(self) -> None:
        self.room.write_text(self.room.read_text() + "#\n")

    def source(self) -> FeedSource:
        return FeedSource(
            self.room, self.produce, namespace=NAMESPACE, token=feed_token(self.room),
            clock=lambda: self.now, report=self.said.append,
        )  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    room = tmp_path / "room.toml"
    room.write_text("# a room\n")
    return Bench(room)


@define
class Server:
    """A feed that is served: its path and port."""

    path: str
    port: int


@contextmanager
def running(bench: Bench) -> Iterator[Server]:
    feed = bench.source()
    feed.first()
    with serving(feed_app(feed)) as port:
        yield Server(feed.path, port)


@define
class Reply:
    status: int
    headers: dict[str, str]
    body: bytes


def ask(server: Server, path: str | None = None, method: str = "GET", **headers: str) -> Reply:
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=5)
    try:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(method, server.path if path is None else path, headers=named)
        response = connection.getresponse()
        # Names of fields are alike in any case (RFC 9110, section 5.1).
        fields = {"ETag" if k.lower() == "etag" else k: v for k, v in response.getheaders()}
        return Reply(response.status, fields, response.read())
    finally:
        connection.close()


def endpoint(server: Server) -> tuple[str, int]:
    return "127.0.0.1", server.port


def raw(server: Server, data: bytes, wait_s: float = 5.0) -> bytes:
    with socket.create_connection(endpoint(server), timeout=wait_s) as client:
        with suppress(OSError):  # it may have answered and hung up before all was sent
            client.sendall(data)
            client.shutdown(socket.SHUT_WR)
        got = b""
        with suppress(ConnectionError):
            while piece := client.recv(65536):
                got += piece
        return got


def test_calendar_is_served_whole(bench: Bench) -> None:
    with running(bench) as server:
        reply = ask(server)
        assert reply.status == 200
        assert reply.headers["Content-Type"] == "text/calendar; charset=utf-8"
        assert reply.headers["Cache-Control"] == "private, no-cache"
        assert lint.findings(reply.body) == []
        assert len(by_icalendar(reply.body)) == len(entries_of(bench.plan, wishes()))
        assert b"REFRESH-INTERVAL;VALUE=DURATION:PT720M\r\n" in reply.body
        head = ask(server, method="HEAD")
        assert (head.status, head.body) == (200, b"")
        assert head.headers["Content-Length"] == str(len(reply.body))


def test_address_cannot_be_guessed_and_lasts(bench: Bench) -> None:
    token = feed_token(bench.room)
    assert len(token) == 32  # 192 bits
    assert feed_token(bench.room) == token
    assert feed_notes_path(bench.room).stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    "path",
    [
        "/", "/livefood.ics", "/room.toml", "/../room.toml", "//etc/passwd", "/%2e%2e/room.toml",
        "/{token}", "/{token}/", "/{token}/livefood.ics/", "/{token}/livefood.ics?x=1",
        "/{token}/../{token}/livefood.ics", "/{token}/room.toml", "/{short}/livefood.ics",
    ],
)  # fmt: skip
def test_nothing_else_is_served(bench: Bench, path: str) -> None:
    with running(bench) as server:
        token = server.path.split("/")[1]
        reply = ask(server, path.format(token=token, short=token[:-1]))
        assert (reply.status, reply.body) == (404, b"404\n")


@pytest.mark.parametrize(
    "method", ["POST", "PUT", "DELETE", "OPTIONS", "PROPFIND", "TRACE", "BREW"]
)
def test_no_other_method(bench: Bench, method: str) -> None:
    with running(bench) as server:
        reply = ask(server, method=method)
        assert reply.status == 405
        assert reply.headers["Allow"] == "GET, HEAD"
        assert ask(server, "/elsewhere", method).status == 404


def test_client_that_has_it_is_told_so(bench: Bench) -> None:
    with running(bench) as server:
        first = ask(server)
        for tags in (
            first.headers["ETag"],
            "W/" + first.headers["ETag"],
            '"x", ' + first.headers["ETag"],
        ):
            reply = ask(server, If_None_Match=tags)
            assert (reply.status, reply.body) == (304, b"")
        assert ask(server, If_None_Match='"other"').status == 200
        assert ask(server, If_Modified_Since=first.headers["Last-Modified"]).status == 304
        assert ask(server, If_Modified_Since="Mon, 04 Jan 2027 00:00:00 GMT").status == 200
        assert ask(server, If_Modified_Since="yesterday").status == 200
        # If-None-Match is the one that counts where both are given.
        both = ask(server, If_None_Match='"x"', If_Modified_Since=first.headers["Last-Modified"])
        assert both.status == 200


def test_plan_is_made_anew_when_the_room_or_journal_changes(bench: Bench) -> None:
    with running(bench) as server:
        first = ask(server)
        ask(server)
        assert bench.runs == 1
        bench.plan = ordinary_plan(days=4)
        bench.now += timedelta(minutes=3)
        assert ask(server).headers["ETag"] == first.headers["ETag"]
        bench.touch()
        second = ask(server, If_None_Match=first.headers["ETag"])
        assert second.status == 200
        assert second.headers["Last-Modified"] != first.headers["Last-Modified"]
        assert bench.runs == 2
        bench.room.with_name("journal.csv").write_text("when,event\n")
        assert ask(server, If_None_Match=second.headers["ETag"]).status == 304
        assert bench.runs == 3
        bench.now += timedelta(minutes=16)
        ask(server)
        assert bench.runs == 4


def test_unchanged_plan_keeps_its_etag_over_a_restart(bench: Bench) -> None:
    with running(bench) as server:
        first = ask(server)
    bench.now += timedelta(minutes=40)
    with running(bench) as server:
        again = ask(server)
    assert again == first or {**again.headers, "Date": ""} == {**first.headers, "Date": ""}
    assert again.body == first.body


def test_broken_room_file_leaves_the_last_good_calendar(bench: Bench) -> None:
    with running(bench) as server:
        first = ask(server)
        bench.broken = True
        bench.touch()
        assert ask(server).body == first.body
        assert ask(server).body == first.body
        assert sum("the feed stays as it was: room.toml:3" in line for line in bench.said) == 1
        bench.broken = False
        bench.touch()
        assert ask(server).status == 200


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1:80", 200), ("localhost", 200), ("[::1]:8080", 200), ("192.168.1.20", 200),
        ("rebound.example", 404), ("", 404), ("127.0.0.1.example", 404),
    ],
)  # fmt: skip
def test_foreign_host_names_are_refused(bench: Bench, host: str, status: int) -> None:
    with running(bench) as server:
        assert ask(server, Host=host).status == status


MALFORMED: dict[str, Callable[[str], bytes]] = {
    "nothing": lambda _: b"",
    "garbage": lambda _: bytes(range(256)) * 4,
    "no version": lambda path: f"GET {path}\r\n\r\n".encode(),
    "odd version": lambda path: f"GET {path} HTTP/9.9.9\r\n\r\n".encode(),
    "no host": lambda path: f"GET {path} HTTP/1.1\r\n\r\n".encode(),
    "two hosts": lambda path: f"GET {path} HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n".encode(),
    "long line": lambda _: b"GET /" + b"a" * 40_000 + b" HTTP/1.1\r\n\r\n",
    "long headers": lambda path: (
        f"GET {path} HTTP/1.1\r\n".encode() + b"A: " + b"b" * 40_000 + b"\r\n\r\n"
    ),
    "many headers": lambda path: f"GET {path} HTTP/1.1\r\n".encode() + b"A: b\r\n" * 500 + b"\r\n",
    "tls": lambda _: b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + b"\x00" * 500,
}


@pytest.mark.parametrize("name", MALFORMED)
def test_malformed_request_gets_no_calendar_and_does_no_harm(bench: Bench, name: str) -> None:
    with running(bench) as server:
        answer = raw(server, MALFORMED[name](server.path))
        assert b"VCALENDAR" not in answer
        assert server.path.encode() not in answer
        assert b"Python" not in answer
        assert ask(server).status == 200


def test_slow_and_idle_clients_keep_nobody_waiting(bench: Bench) -> None:
    with running(bench) as server:
        slow = [socket.create_connection(endpoint(server)) for _ in range(150)]
        try:
            for client in slow[::2]:
                client.sendall(b"GET /")
            assert threading.active_count() < 40
            assert ask(server).status == 200
        finally:
            for client in slow:
                client.close()


def test_nothing_is_logged_of_a_request(bench: Bench, capfd: pytest.CaptureFixture[str]) -> None:
    with running(bench) as server:
        ask(server)
        ask(server, "/wrong")
    assert bench.said == []
    assert capfd.readouterr() == ("", "")


def test_many_clients_at_once(bench: Bench) -> None:
    with running(bench) as server:
        replies: list[Reply] = []
        threads = [threading.Thread(target=lambda: replies.append(ask(server))) for _ in range(12)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert {r.status for r in replies} == {200}
        assert len({r.body for r in replies}) == 1
        assert bench.runs == 1


def test_addresses() -> None:
    assert check_address("localhost") == "127.0.0.1"
    assert is_loopback("127.0.0.1")
    assert is_loopback("::1")
    assert not is_loopback("0.0.0.0")
    with pytest.raises(CalendarError, match="is not an IP address"):
        check_address("my-shed")


def test_taken_port_is_said(bench: Bench) -> None:
    with running(bench) as server:
        said = f"cannot listen on 127.0.0.1 port {server.port}"
        with pytest.raises(FileProblemError, match=said):
            listen(feed_app(bench.source()), "127.0.0.1", server.port)


def test_daily_plans_through_the_feed(bench: Bench) -> None:
    """A subscriber replaces its copy: it must hold exactly the plan and only count upwards."""
    highest: dict[str, int] = {}
    bench.now, bench.plan = next(daily_plans(11))
    with running(bench) as server:
        for now, plan in daily_plans(11):
            bench.now, bench.plan = now, plan
            reply = ask(server)
            assert b"STATUS:CANCELLED" not in reply.body
            seen = by_icalendar(reply.body) if now.day == 1 else {}
            entries = entries_of(plan, wishes())
            starts = re.findall(rb"BEGIN:VEVENT\r\n.*?\r\nDTSTART:(\S+)", reply.body, re.S)
            ahead = f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}".encode()
            expected = sorted(f"{e.start:%Y%m%dT%H%M%SZ}".encode() for e in entries)
            assert sorted(s for s in starts if s >= ahead) == expected
            assert not seen or {e.title for e in entries} <= {s.title for s in seen.values()}
            uids = re.findall(r"^UID:(\S+)\r\nSEQUENCE:(\d+)\r\n", reply.body.decode(), re.M)
            assert len(uids) == len({uid for uid, _ in uids}) == len(starts)
            for uid, number in uids:
                before = highest.get(uid, 0)
                assert int(number) >= before
                highest[uid] = int(number)
    assert max(highest.values()) >= 2


def test_address_does_not_depend_on_the_name_of_the_room_file(tmp_path: Path) -> None:
    token = feed_token(tmp_path / "room.toml")
    assert feed_token(tmp_path / "shed.toml") == token
    older = tmp_path / ".feed.livefood"
    older.rename(tmp_path / ".room.toml.feed.livefood")  # as it was named before
    assert feed_token(tmp_path / "shed.toml") == token
