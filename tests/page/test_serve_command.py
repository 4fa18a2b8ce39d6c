"""``livefood serve`` as a process: what it says, whom it listens to, and being killed."""

from __future__ import annotations

import http.client
import ipaddress
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from flask import Flask

from cli.page.serve import listen
from cultures.errors import FileProblemError
from tests.cli.invented import at, quick_room, room_file, run

_ROOT = Path(__file__).parents[2]


@contextmanager
def _serving(room: Path, *options: str) -> Iterator[tuple[subprocess.Popen[str], int, str]]:
    """A server of a room: its process, port and key."""
    process = subprocess.Popen(
        [sys.executable, "-m", "cli", "serve", "--room", str(room), "--port", "0", *options],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8", cwd=_ROOT,
        env={**os.environ, "LIVEFOOD_NOW": "2027-01-05T07:20", "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    assert process.stdout is not None
    try:
        first = process.stdout.readline()
        found = re.fullmatch(r"Your page: http://127\.0\.0\.1:(\d+)/([\w-]{32})/\n", first)
        assert found, first + process.stdout.read()
        while "Stop with" not in process.stdout.readline():
            pass
        yield process, int(found[1]), found[2]
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
        process.wait(20)
        process.stdout.close()


def _post(port: int, key: str, **form: str) -> int:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    head = {"Origin": f"http://127.0.0.1:{port}", "Accept": "application/json",
            "Content-Type": "application/x-www-form-urlencoded"}  # fmt: skip
    connection.request("POST", f"/{key}/answer", urlencode(form), head)
    status = connection.getresponse().status
    connection.close()
    return status


@pytest.mark.parametrize("host", ["0.0.0.0", "::"])
def test_the_printed_address_is_a_number_that_phones_reach(host: str) -> None:
    """No name: phones do not know those of a network at home."""
    try:
        listening = listen(Flask("none"), host, 0)
    except FileProblemError:
        pytest.skip("this machine has no such network")
    try:
        name = urlsplit(listening.url("/x")).hostname or ""
        assert not ipaddress.ip_address(name).is_unspecified
        assert listening.socket.family == (socket.AF_INET6 if ":" in name else socket.AF_INET)
    finally:
        listening.server.close()


def test_it_says_where_and_serves_this_computer_alone(tmp_path: Path) -> None:
    with _serving(quick_room(tmp_path)) as (process, port, key):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        connection.request("GET", f"/{key}/")
        answer = connection.getresponse()
        assert answer.status == 200
        assert "Round 07:30" in answer.read().decode()
        assert "Server" not in dict(answer.getheaders())
        connection.close()
        with socket.socket() as other, suppress(OSError):
            other.connect((socket.gethostbyname(socket.gethostname()), port))
            assert other.getpeername()[0].startswith("127.")
        process.send_signal(signal.SIGTERM)
        assert process.wait(20) == 0


def test_what_was_answered_noted_is_in_the_journal_after_a_kill(tmp_path: Path) -> None:
    """Killed in the middle of posts of three phones; `LIVEFOOD_POSTS=200` makes it whole."""
    room, count = (
        quick_room(tmp_path),
        int(os.environ.get("LIVEFOOD_POSTS", "12")),
    )
    noted: list[str] = []
    with _serving(room) as (process, port, key):

        def phone(name: str) -> None:
            with suppress(OSError, http.client.HTTPException):
                for number in range(count):
                    words = f"{name} {number}"
                    if _post(port, key, id=words, kind="event", event="note", subject="room",
                             words=words) == 200:  # fmt: skip
                        noted.append(words)

        phones = [threading.Thread(target=phone, args=(name,)) for name in ("red", "blue", "tin")]
        for each in phones:
            each.start()
        while len(noted) < count:
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
        process.wait(20)
        for each in phones:
            each.join(30)
    lines = room.with_name("journal.csv").read_text("utf-8").splitlines()[1:]
    words = [line.rpartition(",")[2] for line in lines]
    assert len(noted) >= count
    assert set(noted) <= set(words)
    assert len(set(words)) == len(words)


def test_pages_and_terminals_tick_one_round_together(tmp_path: Path) -> None:
    """Each task is noted once; `LIVEFOOD_TERMINALS=10` makes it whole."""
    room = quick_room(tmp_path)
    at(room, "2027-01-05T07:20", "today")
    every = range(int(os.environ.get("LIVEFOOD_TERMINALS", "3")))
    with _serving(room) as (_, port, key):
        terminals = [
            subprocess.Popen(
                [sys.executable, "-m", "cli", "journal", "done", "--room", str(room)], cwd=_ROOT,
                env={**os.environ, "LIVEFOOD_NOW": "2027-01-05T07:20"},
                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )
            for _ in every
        ]  # fmt: skip
        for number in every:
            assert _post(port, key, id=f"round {number}", kind="round",
                         round="2027-01-05T07:30:00+00:00") == 200  # fmt: skip
        for terminal in terminals:
            terminal.wait(120)
    lines = room.with_name("journal.csv").read_text("utf-8").splitlines()[1:]
    said = [tuple(line.split(",")[1:3]) for line in lines]
    assert len(set(said)) == len(said) >= 3


def test_new_key_makes_earlier_addresses_invalid(tmp_path: Path) -> None:
    room = quick_room(tmp_path)
    with _serving(room) as (_, _, old):
        pass
    with _serving(room) as (_, _, same):
        assert same == old
    with _serving(room, "--new-key") as (_, port, fresh):
        assert fresh != old
        assert _post(port, old, id="1", kind="event") == 404


def test_a_port_that_is_taken_is_one_message(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        said = run(room_file(tmp_path), "serve", "--port", str(port), code=2).stderr
    assert said.startswith(f"Error: cannot listen on 127.0.0.1 port {port} (")


def test_without_its_packages_one_line_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cli.page.packages.find_spec", lambda _: None)
    for command in (["serve"], ["calendar", "--serve"]):
        said = run(room_file(tmp_path), *command, code=2).stderr
        assert said == (
            "Error: serving needs more packages; install them with: pip install 'livefood[page]'\n"
        )


def test_a_room_file_that_is_wrong_is_not_served(tmp_path: Path) -> None:
    room = quick_room(tmp_path)
    room.write_text("[room]\nname = 3\n", "utf-8")
    begun = time.monotonic()
    assert "name" in run(room, "serve", code=2).stderr
    assert time.monotonic() - begun < 20
    assert [p.name for p in tmp_path.iterdir()] == ["room.toml"]
