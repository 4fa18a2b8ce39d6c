"""``livefood calendar`` as it is typed."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import icalendar
import pytest
from click.testing import CliRunner, Result

from cli.commands.calendar import command
from cli.main import main
from tests.calendars.plans import ROOM

ROOT = Path(__file__).parents[2]
NOW = "2027-01-05T06:00"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(ROOM)
    return path


def call(room: Path, *words: str, now: str = NOW) -> Result:
    """The command with the clock set, so that what the calendar shows counts as told."""
    env = {"LIVEFOOD_NOW": now}
    return CliRunner().invoke(main, ["calendar", "--room", str(room), *words], env=env)


def refused(room: Path, *words: str) -> str:
    before = {p.name for p in room.parent.iterdir()}
    result = call(room, *words)
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    assert {p.name for p in room.parent.iterdir()} == before
    return result.stderr


def test_file_is_written_updated_and_left_alone(room: Path) -> None:
    out = room.parent / "jobs.ics"
    first = call(room, "--out", str(out))
    assert first.exit_code == 0, first.output
    assert re.search(r"jobs\.ics: \d+ entries\n\d+ new, 0 changed, 0 withdrawn\.", first.output)
    data = out.read_bytes()
    again = call(room, "--out", str(out), now="2027-01-05T12:00")
    assert "Nothing changed since the last export" in again.output
    assert out.read_bytes() == data
    room.write_text(ROOM.replace('"18:30"', '"19:00"'))
    moved = json.loads(call(room, "--out", str(out), "--json").output)
    assert moved["withdrawn"] >= 7
    assert moved["cancelled"] == moved["withdrawn"]
    assert moved["written"] is True


def test_what_the_calendar_said_is_kept_and_held_to(room: Path) -> None:
    plan = ["plan", "--room", str(room), "--now", NOW, "--json"]
    before = json.loads(CliRunner().invoke(main, plan).output)["tasks"]
    assert call(room, "--out", str(room.parent / "jobs.ics")).exit_code == 0
    kept = room.parent / "told.jsonl"
    (line,) = kept.read_text("utf-8").splitlines()
    said = json.loads(line)
    assert (said["by"], said["at"]) == ("calendar", "2027-01-05T06:00:00+00:00")
    end = "2027-01-12"  # whole days only, so that the far end moves on by whole days
    told = {row["id"]: (row["at"], row["subject"]) for row in said["told"]}
    assert len(told) > 20
    assert told == {t["id"]: (t["at"], t["subject"]) for t in before if t["at"] < end}
    assert json.loads(CliRunner().invoke(main, plan).output)["tasks"] == before
    kept.write_text("{")
    result = CliRunner().invoke(main, plan)
    assert result.exit_code == 0
    (note,) = (n for n in json.loads(result.output)["notes"] if "told.jsonl" in n)
    assert note.startswith("1 line of told.jsonl cannot be read and is left out")


def test_a_calendar_of_another_time_tells_nothing(room: Path) -> None:
    out = room.parent / "jobs.ics"
    words = ["calendar", "--room", str(room), "--now", NOW, "--out", str(out)]
    assert CliRunner().invoke(main, words).exit_code == 0
    assert out.exists()
    assert not room.with_name("told.jsonl").exists()


def test_what_is_not_on_the_calendar_is_not_told(room: Path) -> None:
    call(room, "--out", str(room.parent / "jobs.ics"), "--only", "hatches")
    said = json.loads(room.with_name("told.jsonl").read_text("utf-8"))
    assert {row["what"] for row in said["told"]} == {"set_hatch", "harvest_hatch"}


def test_kept_files_are_told_of_once(room: Path) -> None:
    out = room.parent / "phone" / "jobs.ics"
    missing = call(room, "--out", str(out))
    assert missing.exit_code == 2
    assert "there is no folder" in missing.output
    out.parent.mkdir()
    first = call(room, "--out", str(out))
    assert first.exit_code == 0, first.output
    assert "Kept beside it: .jobs.ics.livefood, so that changes" in first.output
    assert "Kept beside the room file: .livefood-id, so that" in first.output
    assert {p.name for p in room.parent.iterdir()} == {
        "room.toml", "told.jsonl", ".livefood-id", "phone", ".room.toml.history.livefood",
    }  # fmt: skip
    assert {p.name for p in out.parent.iterdir()} == {"jobs.ics", ".jobs.ics.livefood"}
    room.write_text(ROOM.replace('"18:30"', '"19:00"'))
    assert "Kept" not in call(room, "--out", str(out)).output
    other = call(room, "--out", str(room.parent / "other.ics")).output
    assert "Kept beside it: .other.ics.livefood" in other
    assert ".livefood-id" not in other


def test_file_is_the_same_at_every_hour_of_the_day(room: Path) -> None:
    out = room.parent / "jobs.ics"
    call(room, "--out", str(out), now="2027-01-05T00:10")
    data = out.read_bytes()
    for clock in ("07:00", "07:20", "07:31", "09:00", "18:20", "18:40", "23:50"):
        outcome = json.loads(
            call(room, "--out", str(out), "--json", now=f"2027-01-05T{clock}").output
        )
        assert outcome["written"] is False, clock
    assert out.read_bytes() == data


def test_tomorrow_moves_nothing_but_the_far_end(room: Path) -> None:
    out = room.parent / "jobs.ics"
    call(room, "--out", str(out))
    before = starts(out)
    call(room, "--out", str(out), now="2027-01-06T06:00")
    after = starts(out)
    inside = {uid for uid, start in before.items() if start < datetime(2027, 1, 11, tzinfo=UTC)}
    assert len(inside) > 10
    assert {uid: after[uid] for uid in inside} == {uid: before[uid] for uid in inside}


def starts(path: Path) -> dict[str, datetime]:
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    return {str(e["UID"]): e.decoded("DTSTART") for e in events}


def test_every_option_is_in_the_guide_and_the_other_way_round() -> None:
    guide = (ROOT / "docs" / "calendar.md").read_text("utf-8")
    options = {o for p in command.params for o in p.opts} - {"--room", "--now"}
    named = set(re.findall(r"(?<![\w-])--[a-z]+(?:-[a-z]+)*", guide))
    assert named - {"--room", "--now"} == options


def test_alarm_of_the_room_file_counts(room: Path) -> None:
    out = room.parent / "jobs.ics"
    call(room, "--out", str(out), "--only", "rounds")
    events = icalendar.Calendar.from_ical(out.read_bytes()).walk("VEVENT")
    triggers = {a.decoded("TRIGGER") for e in events for a in e.walk("VALARM")}
    assert triggers == {timedelta(minutes=-25)}
    assert {str(e["SUMMARY"]) for e in events} == {"Feed the fry: 1 tank"}


def test_zone_and_todos(room: Path) -> None:
    out = room.parent / "jobs.ics"
    assert call(room, "--out", str(out), "--tzid", "--todos").exit_code == 0
    data = out.read_bytes()
    assert b"BEGIN:VTIMEZONE\r\nTZID:Europe/Lisbon\r\n" in data
    assert b"DTSTART;TZID=Europe/Lisbon:20270105T073000" in data
    assert b"BEGIN:VTODO" in data
    assert b"BEGIN:VEVENT" not in data


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "say where to, one of: --sync URL, --out FILE.ics, --serve, --publish URL"),
        (("--out", "a.ics", "--serve"), "not --out and --serve at once"),
        (("--out", "a.ics", "--bind", "0.0.0.0"), "--bind goes with --serve only"),
        (("--serve", "--replace"), "--replace goes with --out only"),
        (("--out", "a.ics", "--user", "me"), "--user goes with --sync or --publish only"),
        (("--out", "a.ics", "--only", "hatchs"), "there is no group 'hatchs'; known: rounds"),
        (("--serve", "--bind", "my-shed"), "'my-shed' is not an IP address"),
        (("--publish", "http://calendar.example/x/", "--user", "me"), "use https"),
        (("--publish", "https://me:pw@calendar.example/x/"), "leave the password out"),
        (("--publish", "https://calendar.example/x/"), "say who publishes: --user NAME"),
        (
            ("--publish", "https://calendar.example/x/", "--user", "me"),
            "no password for me@calendar",
        ),
    ],
)
def test_what_cannot_be_done_is_said(
    room: Path, words: tuple[str, ...], message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LIVEFOOD_CALDAV_USER", raising=False)
    monkeypatch.delenv("LIVEFOOD_CALDAV_PASSWORD", raising=False)
    monkeypatch.setitem(sys.modules, "keyring", None)
    assert message in refused(room, *words)


def test_foreign_file_is_refused_and_replaced_on_request(room: Path) -> None:
    out = room.parent / "diary.ics"
    out.write_text("mine\n")
    assert "was not written by livefood here" in refused(room, "--out", str(out))
    assert out.read_text() == "mine\n"
    result = call(room, "--out", str(out), "--replace")
    assert result.exit_code == 0
    assert "was kept as" in result.output
    assert (room.parent / "diary.ics.old").read_text() == "mine\n"


def start_feed(room: Path, *words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [
            sys.executable,
            "-m",
            "cli",
            "calendar",
            "--room",
            str(room),
            "--serve",
            "--port",
            "0",
            *words,
        ],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # A background job of a shell is started deaf to SIGINT, and so would be its children.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )


def fetch(url: str) -> tuple[int, bytes]:
    parts = urlsplit(url)
    connection = http.client.HTTPConnection("127.0.0.1", parts.port or 0, timeout=20)
    connection.request("GET", parts.path)
    response = connection.getresponse()
    data = response.read()
    connection.close()
    return response.status, data


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_feed_follows_the_room_file_and_stops_cleanly(room: Path, stop: signal.Signals) -> None:
    process = start_feed(room, "--now", NOW)
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        match = re.match(r"Subscribe to (http://127\.0\.0\.1:\d+/[\w-]{32}/livefood\.ics)", line)
        assert match is not None, line
        status, data = fetch(match[1])
        assert status == 200
        assert b"T183000Z" in data
        time.sleep(0.01)
        room.write_text(ROOM.replace('"18:30"', '"19:00"'))
        status, changed = fetch(match[1])
        assert status == 200
        assert b"T190000Z" in changed
        assert b"T183000Z" not in changed
        process.send_signal(stop)
        _, err = process.communicate(timeout=15)
    finally:
        process.kill()
    assert process.returncode == 0
    assert "The feed has stopped." in err
    assert "Traceback" not in err
    assert match[1].split("/")[3] not in err


def test_feed_on_the_network_says_what_it_exposes(room: Path) -> None:
    process = start_feed(room, "--now", NOW, "--bind", "0.0.0.0", "--json")
    try:
        assert process.stdout is not None
        assert process.stderr is not None
        warning = "".join(process.stderr.readline() for _ in range(3))
        head = "".join(process.stdout.readline() for _ in range(4))
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=15)
    finally:
        process.kill()
    assert "everybody on this network who learns the address can read the plan" in warning
    assert "without encryption" in " ".join(warning.split())
    assert json.loads(head)["loopback"] is False


def test_broken_room_file_starts_no_feed(room: Path) -> None:
    room.write_text(ROOM.replace("count = 150", "count = -150"))
    process = start_feed(room, "--now", NOW)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 2
    assert out == ""
    assert "count" in err
    assert "Traceback" not in err


def test_what_was_noted_as_not_done_is_cancelled_also_once_it_has_begun(room: Path) -> None:
    out = room.parent / "jobs.ics"

    def events() -> list[tuple[str, str, int, datetime]]:
        found = icalendar.Calendar.from_ical(out.read_bytes()).walk("VEVENT")
        return [(str(e["SUMMARY"]), str(e["STATUS"]), e.decoded("SEQUENCE"), e.decoded("DTSTART"))
                for e in found if "bottle 1" in str(e["SUMMARY"])]  # fmt: skip

    assert call(room, "--out", str(out)).exit_code == 0
    (title, status, number, begins), *_ = events()
    assert (title[:20], status) == ("Set hatch: bottle 1,", "CONFIRMED")
    later = [f"{begins + timedelta(minutes=m):%Y-%m-%dT%H:%M}" for m in (30, 35, 40)]
    words = ["journal", "skip", "bottle 1", "--room", str(room)]
    result = CliRunner().invoke(main, words, env={"LIVEFOOD_NOW": later[0]})
    assert result.exit_code == 0, result.output
    result = call(room, "--out", str(out), now=later[1])
    assert result.exit_code == 0, result.output
    assert (f"Cancelled: {title}", "CANCELLED", number + 1, begins) in events()
    assert (title, status, number, begins) not in events()
    assert "Nothing changed since" in call(room, "--out", str(out), now=later[2]).output
