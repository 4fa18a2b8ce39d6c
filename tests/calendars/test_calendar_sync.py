"""What a person does on a phone reaches the record: two real servers, a client that edits."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any
from uuid import uuid4

import pytest
from attrs import define, evolve
from icalendar import Calendar

from tests.calendars.caldav_server import PASSWORD, USER, Server, serving, serving_xandikos
from tests.calendars.plans import ROOM
from tests.calendars.sharing import FIRST, Life
from tests.cli.invented import at as command_at
from tests.examples import examples, thorough

pytest.importorskip("radicale", reason="the CalDAV server Radicale is not installed")
pytest.importorskip("xandikos", reason="the CalDAV server xandikos is not installed")

_SERVERS = {"radicale": serving, "xandikos": serving_xandikos}
#: What a client can do to an entry, each once, with both servers; what livefood makes of it does
#: not hang on the server, so the others have one of them, and both in the thorough run.
_WITH_BOTH = (
    "test_ticked_todo_is_noted_once_with_the_phones_time",
    "test_cancelled_and_deleted_ahead_are_noted_as_not_done",
    "test_moved_by_hand_counts_where_it_stands",
    "test_own_words_survive_a_change_of_ours_and_are_noted",
    "test_an_entry_made_to_repeat_blocks_nothing",
    "test_without_its_notes_everything_is_found_again",
    "test_two_computers_and_a_phone_the_record_is_what_was_done",
)
MORNING, EVENING = "2027-01-05T06:45", "2027-01-05T21:00"


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """With which servers a test is run."""
    both = thorough() or metafunc.function.__name__ in _WITH_BOTH
    if "server" in metafunc.fixturenames:
        names = [*_SERVERS] if both else ["radicale"]
        metafunc.parametrize("server", names, indirect=True, scope="module")


@pytest.fixture(scope="module")
def server(request: pytest.FixtureRequest) -> Iterator[Server]:
    memory = Path("/dev/shm")
    with TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None) as folder:
        yield from _SERVERS[request.param](Path(folder))


@define
class Phone:
    """Edits entries as phones do: whole, with a SEQUENCE and a stamp of its own."""

    server: Server
    name: str

    def entries(self) -> dict[str, str]:
        """Resource by title, the earliest of each."""
        rows = [(_item(t).decoded("DTSTART"), str(_item(t).get("SUMMARY")), r)
                for r, (_, t) in self.server.resources(self.name).items()]  # fmt: skip
        return {title: resource for _, title, resource in sorted(rows, reverse=True)}

    def find(self, title: str) -> str:
        return next(r for t, r in sorted(self.entries().items()) if t.startswith(title))

    def by_key(self) -> dict[str, str]:
        """Resource by the intention that it names."""
        rows = self.server.resources(self.name).items()
        return {str(_item(t).get("X-LIVEFOOD-KEY")).partition("/")[2]: r for r, (_, t) in rows}

    def item(self, resource: str) -> Any:
        return _item(self.server.resources(self.name)[resource][1])

    def edit(self, resource: str, when: str, **values: Any) -> None:
        etag, text = self.server.resources(self.name)[resource]
        calendar = Calendar.from_ical(text)
        calendar["PRODID"] = "-//phone//phone//EN"
        (item,) = [c for c in calendar.subcomponents if c.name in ("VEVENT", "VTODO")]
        moment = _utc(when)
        stamped = {"SEQUENCE": int(str(item["SEQUENCE"])) + 1, "LAST-MODIFIED": moment,
                   "DTSTAMP": moment}  # fmt: skip
        for name, value in (*stamped.items(), *values.items()):
            item.pop(name, None)
            item.add(name, value)
        self.put(resource, calendar.to_ical().decode(), etag)

    def put(self, resource: str, text: str, etag: str) -> None:
        path = f"{self.server.home}/{self.name}/{resource}"
        status, _, _ = self.server.ask(
            "PUT", path, text, Content_Type="text/calendar; charset=utf-8", If_Match=etag
        )
        assert status in (200, 201, 204)

    def tick(self, resource: str, when: str) -> None:
        self.edit(resource, when, STATUS="COMPLETED", COMPLETED=_utc(when),
                  **{"PERCENT-COMPLETE": 100})  # fmt: skip

    def move(self, resource: str, when: str, by: timedelta) -> None:
        item = self.item(resource)
        names = ("DTSTART", "DUE" if item.name == "VTODO" else "DTEND")
        self.edit(resource, when, **{name: item.decoded(name) + by for name in names})

    def delete(self, resource: str) -> None:
        path = f"{self.server.home}/{self.name}/{resource}"
        assert self.server.ask("DELETE", path)[0] in (200, 204)


def _item(text: str) -> Any:
    return next(c for c in Calendar.from_ical(text).subcomponents if c.name != "VTIMEZONE")


def _utc(when: str) -> datetime:
    return datetime.fromisoformat(when).replace(tzinfo=UTC)  # Lisbon in winter


@define
class Keeper:
    """A room folder that syncs with one calendar."""

    room: Path
    url: str
    kind: str

    def sync(self, clock: str) -> Any:
        todos = ["--todos"] if self.kind == "VTODO" else []
        words = ["calendar", "--sync", self.url, "--user", USER, "--json", *todos]
        return json.loads(self.run(clock, *words).stdout)

    def run(self, clock: str, *words: str) -> Any:
        return command_at(self.room, clock, *words)

    def journal(self) -> list[str]:
        path = self.room.with_name("journal.csv")
        return path.read_text().splitlines()[1:] if path.exists() else []


def made(
    server: Server, folder: Path, monkeypatch: pytest.MonkeyPatch, kind: str = "VTODO"
) -> tuple[Keeper, Phone]:
    monkeypatch.setenv("LIVEFOOD_CALDAV_PASSWORD", PASSWORD)
    name = uuid4().hex[:8]
    folder.mkdir(exist_ok=True)
    room = folder / "room.toml"
    room.write_text(ROOM.replace("horizon_days = 7", "horizon_days = 3"))
    return Keeper(room, server.make(name, kind), kind), Phone(server, name)


_MORE_BOXES = """
[[culture]]
name = "BW-1"
kind = "banana_worm"
started = 2026-12-22
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[culture]]
name = "VE-1"
kind = "vinegar_eel"
started = 2026-10-22
medium_g = 900
starter_g = 100
"""


def test_many_splits_of_one_time_are_one_event_and_deleting_it_says_no_to_all(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, "VEVENT")
    keeper.room.write_text(keeper.room.read_text() + _MORE_BOXES)
    keeper.sync(MORNING)
    text = str(phone.item(phone.find("Split 3 cultures")).get("DESCRIPTION"))
    parents = {name for name in ("MW-1", "BW-1", "VE-1") if f"plit {name}: " in text}
    assert len(parents) == 3
    phone.delete(phone.find("Split 3 cultures"))
    noted = keeper.sync("2027-01-05T07:00")["noted"]
    skipped = {line.split(",")[2] for line in keeper.journal() if ",skip," in line}
    assert skipped == parents
    assert len(noted) == len(parents)
    again = keeper.sync("2027-01-05T07:10")
    assert (again["noted"], again["questions"]) == ([], [])


def test_ticked_todo_is_noted_once_with_the_phones_time(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch)
    assert keeper.sync(MORNING)["noted"] == []
    setting = phone.find("Set hatch")
    start = phone.item(setting).decoded("DTSTART").astimezone(UTC)
    ticked = start + timedelta(minutes=7)
    phone.tick(setting, ticked.replace(tzinfo=None).isoformat())
    after = (ticked + timedelta(hours=3)).strftime("%Y-%m-%dT%H:%M")
    done = keeper.sync(after)
    assert len(done["noted"]) == 1
    assert done["questions"] == []
    (line,) = [row for row in keeper.journal() if ",set," in row]
    assert line.startswith(ticked.strftime("%Y-%m-%dT%H:%M"))
    again = keeper.sync(after)
    assert (again["noted"], again["questions"]) == ([], [])
    assert (again["created"], again["updated"], again["deleted"]) == (0, 0, 0)
    assert len(keeper.journal()) == 1
    # What was ticked stays ticked, and is not to be set again.
    assert phone.item(setting)["STATUS"] == "COMPLETED"


def test_one_that_was_synced_no_longer_holds_until_it_is_synced_again_or_removed(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, _ = made(server, tmp_path, monkeypatch, "VEVENT")
    stale, again = (
        "The calendar of Tue 5 Jan 06:45 no longer holds; changed since: ",
        " ".join(["Write it again: livefood calendar --sync", keeper.url, "--user", USER]),
    )

    def said(clock: str) -> str:
        return " ".join(keeper.run(clock, "today").stdout.split())

    keeper.sync(MORNING)
    keeper.run("2027-01-05T07:00", "journal", "lost", "gourami 12", "70", "--sure")
    assert stale in said("2027-01-05T07:01")
    assert again in said("2027-01-05T07:01")
    keeper.sync("2027-01-05T07:02")
    assert "no longer holds" not in said("2027-01-05T07:03")
    keeper.run("2027-01-05T07:04", "calendar", "--publish", keeper.url, "--user", USER, "--remove")
    keeper.run("2027-01-05T08:00", "journal", "lost", "gourami 12", "30", "--sure")
    assert "no longer holds" not in said("2027-01-05T08:01")


def _purchase(keeper: Keeper, phone: Phone) -> tuple[str, str]:
    """The entry of a tin that ends within the days that are planned, and the grams that it says."""
    text = re.sub(r"(?<=\[cysts\]\n)grams = .*", "grams = 0.9", keeper.room.read_text())
    keeper.room.write_text(text.replace("horizon_days = 3\n", "horizon_days = 8\n"))
    keeper.sync(MORNING)
    entry = phone.find("Buy: brine shrimp cysts")
    said = str(phone.item(entry)["DESCRIPTION"])
    return entry, said.partition("Buy brine shrimp cysts: ")[2].partition(" g.")[0]


@pytest.mark.parametrize("bought", ["2027-01-05T11:20", "2027-01-08T11:20"])
def test_a_purchase_that_was_ticked_off_is_bought_as_told_and_once(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bought: str
) -> None:
    """Days before it was to be, too: it is there from the tick on."""
    keeper, phone = made(server, tmp_path, monkeypatch)
    entry, grams = _purchase(keeper, phone)
    phone.tick(entry, bought)
    done = keeper.sync(bought.replace("11:20", "13:00"))
    assert (len(done["noted"]), done["questions"]) == (1, [])
    lines = [line for line in keeper.journal() if ",bought," in line]
    assert lines == [f"{bought}:00+00:00,bought,cysts,,{grams},g,on the phone"]
    again = keeper.sync(bought.replace("11:20", "13:10"))
    assert (again["noted"], again["questions"]) == ([], [])
    assert len([line for line in keeper.journal() if ",bought," in line]) == 1


def test_what_was_noted_as_bought_is_not_bought_once_more_by_a_tick(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch)
    entry, _ = _purchase(keeper, phone)
    keeper.run("2027-01-05T11:00", "journal", "bought", "cysts", "250", "g")
    phone.tick(entry, "2027-01-05T11:20")
    done = keeper.sync("2027-01-05T13:00")
    assert (done["noted"], done["questions"]) == ([], [])
    assert len(keeper.journal()) == 1


def test_a_purchase_that_is_moved_or_deleted_was_not_made(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, "VEVENT")
    entry, _ = _purchase(keeper, phone)
    phone.move(entry, "2027-01-05T11:20", -timedelta(days=4))
    assert keeper.sync("2027-01-05T13:00")["noted"] == []
    phone.delete(phone.find("Buy: brine shrimp cysts"))
    assert keeper.sync("2027-01-05T13:10")["noted"] == []
    assert keeper.journal() == []


def test_the_next_purchase_of_a_stock_is_not_ticked_off_with_the_one_before(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both have one name, and the same entry."""
    keeper, phone = made(server, tmp_path, monkeypatch)
    text = keeper.room.read_text().replace("bubble_nest", "annual_killifish")
    keeper.room.write_text(text.replace("horizon_days = 3", "horizon_days = 30"))
    entry, _ = _purchase(keeper, phone)
    before = phone.item(entry).decoded("DTSTART")
    phone.tick(entry, "2027-01-05T11:20")
    assert len(keeper.sync("2027-01-05T13:00")["noted"]) == 1
    after = phone.item(phone.find("Buy: brine shrimp cysts"))
    assert after.decoded("DTSTART") > before
    assert after.get("STATUS") != "COMPLETED"
    assert "COMPLETED" not in after
    for clock in ("2027-01-05T13:10", "2027-01-06T13:00"):
        again = keeper.sync(clock)
        assert (again["noted"], again["questions"]) == ([], [])


def test_a_tick_against_a_note_is_asked_about_once(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch)
    keeper.sync(MORNING)
    setting = phone.find("Set hatch")
    start = phone.item(setting).decoded("DTSTART").astimezone(UTC)
    clock = (start + timedelta(minutes=40)).strftime("%Y-%m-%dT%H:%M")
    keeper.run(clock, "journal", "skip", "bottle 1")
    before = keeper.journal()
    phone.tick(setting, (start + timedelta(minutes=5)).replace(tzinfo=None).isoformat())
    first, second = keeper.sync(clock), keeper.sync(clock)
    assert len(first["questions"]) == 1
    assert "was noted as not done" in first["questions"][0]
    assert second["questions"] == []
    assert keeper.journal() == before


def test_cancelled_and_deleted_ahead_are_noted_as_not_done(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, "VEVENT")
    keeper.sync(MORNING)
    phone.edit(phone.find("Set hatch"), "2027-01-05T06:50", STATUS="CANCELLED")
    done = keeper.sync("2027-01-05T06:55")
    assert len(done["noted"]) == 1
    (line,) = keeper.journal()
    assert ",skip,bottle 1," in line
    later = phone.entries()
    if any(title.startswith("Set hatch") for title in later):
        phone.delete(phone.find("Set hatch"))
        assert len(keeper.sync("2027-01-05T06:58")["noted"]) == 1
    count = len(keeper.journal())
    assert keeper.sync("2027-01-05T06:59")["noted"] == []
    assert len(keeper.journal()) == count
    # The whole calendar emptied at once says no to nothing.
    for resource in server.names(phone.name):
        phone.delete(resource)
    assert keeper.sync("2027-01-05T07:01")["noted"] == []


def test_a_round_that_is_called_off_the_evening_before_is_noted_once(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch)
    keeper.sync(EVENING)
    key = next(k for k in phone.by_key() if "feed/2027-01-06T0" in k)
    phone.edit(phone.by_key()[key], "2027-01-05T21:05", STATUS="CANCELLED")
    assert keeper.sync("2027-01-05T21:10")["noted"]
    before = [line for line in keeper.journal() if ",skip," in line]
    assert sum(",feed/2027-01-06T0" in line for line in before) == 1
    for clock in ("2027-01-05T21:20", "2027-01-06T06:00"):
        again = keeper.sync(clock)
        assert (again["noted"], again["questions"]) == ([], [])
    assert [line for line in keeper.journal() if ",skip," in line] == before


@pytest.mark.parametrize("wrote", [True, False])
def test_after_a_restored_backup_what_livefood_deleted_is_no_no(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, wrote: bool
) -> None:
    keeper, phone = made(server, tmp_path / "lived", monkeypatch, "VEVENT")
    keeper.sync(MORNING)
    shutil.copytree(keeper.room.parent, tmp_path / "restored")
    restored = evolve(keeper, room=tmp_path / "restored" / "room.toml")
    before = set(server.names(phone.name))
    if wrote:
        keeper.run("2027-01-05T06:50", "change", "room", "horizon_days=2", "--yes")
        done = keeper.sync("2027-01-05T06:51")
        assert done["deleted"] > 0
    else:  # its only change is that less stands there
        only = ["calendar", "--publish", keeper.url, "--user", USER, "--json"]
        done = json.loads(keeper.run("2027-01-05T06:51", *only, "--only", "rounds").stdout)
        assert done["deleted"] > 0 == done["created"]
    done = restored.sync("2027-01-05T06:52")
    assert (done["noted"], done["older_notes"]) == ([], True)
    assert set(server.names(phone.name)) >= before
    done = restored.sync("2027-01-05T06:53")
    assert (done["noted"], done["older_notes"]) == ([], False)
    # From then on what a person deletes counts again.
    phone.delete(phone.find("Set hatch"))
    assert len(restored.sync("2027-01-05T06:54")["noted"]) == 1


def test_moved_by_hand_counts_where_it_stands(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, "VEVENT")
    keeper.sync(MORNING)
    setting = phone.find("Set hatch")
    start = phone.item(setting).decoded("DTSTART").astimezone(UTC)
    phone.move(setting, "2027-01-05T06:50", timedelta(hours=1))
    assert keeper.sync("2027-01-05T06:55")["noted"] == []
    moved = start + timedelta(hours=1)
    assert phone.item(setting).decoded("DTSTART").astimezone(UTC) == moved
    keeper.sync((moved + timedelta(minutes=30)).strftime("%Y-%m-%dT%H:%M"))
    (line,) = [row for row in keeper.journal() if ",set," in row]
    assert line.startswith(moved.strftime("%Y-%m-%dT%H:%M"))


def test_a_split_put_to_the_next_day_is_not_taken_as_done_before(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch)
    keeper.sync(MORNING)
    split = phone.find("Split")
    start = phone.item(split).decoded("DTSTART").astimezone(UTC)
    phone.move(split, "2027-01-05T06:50", timedelta(days=1))
    clock = (start + timedelta(minutes=30)).strftime("%Y-%m-%dT%H:%M")
    assert keeper.sync(clock)["noted"] == []
    stands = phone.item(split).decoded("DTSTART").astimezone(UTC)
    assert stands == start + timedelta(days=1)
    # Four hours after it was told for: neither asked about nor listed as over.
    later = (start + timedelta(hours=4)).strftime("%Y-%m-%dT%H:%M")
    assert "split MW-1" not in keeper.run(later, "journal", "due").stdout
    asked = keeper.run(later, "today").stdout.partition("TAKEN AS DONE")[2].partition("ROUND")[0]
    assert "split MW-1" not in asked
    assert keeper.sync(later)["noted"] == []
    # From its new time on it is told work like any other.
    listed = keeper.run((stands + timedelta(hours=3)).strftime("%Y-%m-%dT%H:%M"), "journal", "due")
    assert "Wed 6 Jan 07:30  split MW-1" in listed.stdout


def test_a_to_do_deleted_after_its_time_is_asked_about_and_an_event_is_not(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for kind, questions in (("VTODO", 1), ("VEVENT", 0)):
        keeper, phone = made(server, tmp_path / kind, monkeypatch, kind)
        keeper.sync(MORNING)
        split = phone.find("Split")
        start = phone.item(split).decoded("DTSTART").astimezone(UTC)
        phone.delete(split)
        clock = (start + timedelta(hours=1)).strftime("%Y-%m-%dT%H:%M")
        done, again = keeper.sync(clock), keeper.sync(clock)
        assert (done["noted"], len(done["questions"])) == ([], questions)
        assert again["questions"] == []
        for said in done["questions"]:
            assert "its time had come, so it counts as done; if it was not: livefood" in said
            # And what it says to type is what it is answered with.
            words = said.partition("livefood ")[2].removesuffix(".").split()
            keeper.run(clock, *words)
            assert ",skip,MW-1,split/" in keeper.journal()[-1]


def test_a_tick_of_a_count_asks_for_the_number_and_stands_open_again(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch)
    keeper.room.write_text(keeper.room.read_text().replace("horizon_days = 3", "horizon_days = 20"))
    keeper.sync(MORNING)
    count = phone.find("Count")
    start = phone.item(count).decoded("DTSTART").astimezone(UTC)
    clock = (start + timedelta(minutes=30)).strftime("%Y-%m-%dT%H:%M")
    keeper.sync(start.strftime("%Y-%m-%dT%H:%M"))
    phone.tick(count, clock)
    done = keeper.sync(clock)
    assert not [line for line in keeper.journal() if ",count," in line]
    (said,) = [text for text in done["questions"] if text.startswith("Count")]
    assert "stands open again until then: livefood journal count " in said
    assert said.endswith(" NUMBER.")
    item = phone.item(count)
    assert (item.get("STATUS"), "COMPLETED" in item) == ("NEEDS-ACTION", False)
    assert keeper.sync(clock)["questions"] == []


def test_a_round_ticked_off_days_before_is_asked_about_once_and_not_noted(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch)
    keeper.sync(MORNING)
    key = next(k for k in phone.by_key() if "feed/2027-01-07T0" in k)
    feed = phone.by_key()[key]
    phone.tick(feed, "2027-01-05T06:50")
    done = keeper.sync("2027-01-05T06:55")
    (said,) = done["questions"]
    assert re.search(r"\(Thu 7 Jan 0\d:\d\d\): ticked off on the phone on Tue 5 Jan 06:50", said)
    assert said.endswith("but it lies ahead and stands open again: tick it off once it is done.")
    assert phone.item(feed).get("STATUS") == "NEEDS-ACTION"
    for clock in ("2027-01-05T06:58", "2027-01-07T06:00", "2027-01-07T12:00"):
        again = keeper.sync(clock)
        assert again["questions"] == []
        assert not [line for line in keeper.journal() if line.startswith("2027-01-07")]


def test_own_words_survive_a_change_of_ours_and_are_noted(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, "VEVENT")
    keeper.sync(MORNING)
    feed = phone.find("Feed the fry")
    text = str(phone.item(feed)["DESCRIPTION"])
    phone.edit(feed, "2027-01-05T06:50", DESCRIPTION=f"{text}\n\nAsk about the pump.")
    keeper.room.write_text(keeper.room.read_text().replace("count = 150", "count = 90"))
    done = keeper.sync("2027-01-05T06:55")
    assert done["merged"] == 1
    now = str(phone.item(feed)["DESCRIPTION"])
    assert now != text
    assert now.endswith("\n\nAsk about the pump.")
    (line,) = keeper.journal()
    assert line.startswith("2027-01-05T06:50")
    assert line.endswith(",Ask about the pump.")
    keeper.room.write_text(keeper.room.read_text().replace("count = 90", "count = 60"))
    keeper.sync("2027-01-05T06:58")
    assert str(phone.item(feed)["DESCRIPTION"]).count("Ask about the pump.") == 1
    assert len(keeper.journal()) == 1


def test_an_entry_made_to_repeat_blocks_nothing(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, "VEVENT")
    keeper.sync(MORNING)
    feed = phone.find("Feed the fry")
    etag, text = server.resources(phone.name)[feed]
    calendar = Calendar.from_ical(text)
    item = _item(text)
    (master,) = [c for c in calendar.subcomponents if c.name == "VEVENT"]
    master.add("RRULE", {"FREQ": "DAILY", "COUNT": 3})
    start = item.decoded("DTSTART")
    item.add("RECURRENCE-ID", start + timedelta(days=1))
    item["DTSTART"].dt = start + timedelta(days=1, hours=1)
    item["DTEND"].dt = item.decoded("DTEND") + timedelta(days=1, hours=1)
    calendar.add_component(item)
    phone.put(feed, calendar.to_ical().decode(), etag)
    keeper.room.write_text(keeper.room.read_text().replace("count = 150", "count = 90"))
    done = keeper.sync("2027-01-05T06:55")
    assert done["updated"] > 0
    (left,) = done["left"]
    assert left["title"].startswith("Feed the fry")
    assert "made to repeat" in left["why"]
    words = ["calendar", "--publish", keeper.url, "--user", USER, "--remove", "--json"]
    gone = json.loads(keeper.run("2027-01-05T06:56", *words).stdout)
    assert len(gone["left"]) == 1
    assert list(phone.entries().values()) == [feed]


def test_without_its_notes_everything_is_found_again(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, "VEVENT")
    keeper.sync(MORNING)
    before = {r: text for r, (_, text) in server.resources(phone.name).items()}
    for path in tmp_path.glob(".*.livefood"):
        path.unlink()
    done = keeper.sync("2027-01-05T06:47")
    assert (done["created"], done["updated"], done["deleted"]) == (0, 0, 0)
    after = {r: text for r, (_, text) in server.resources(phone.name).items()}
    assert after == before
    # The identity is lost as well: the room's name is left to know them by; no SEQUENCE falls.
    for name in (".livefood-id", *(p.name for p in tmp_path.glob(".*.livefood"))):
        (tmp_path / name).unlink()
    keeper.room.write_text(keeper.room.read_text().replace("count = 150", "count = 90"))
    keeper.sync("2027-01-05T06:55")
    last = {r: text for r, (_, text) in server.resources(phone.name).items()}
    assert set(last) == set(before)
    for resource, text in last.items():
        assert _sequence(text) >= _sequence(before[resource])
    for path in (*tmp_path.glob(".*.livefood"), tmp_path / ".livefood-id"):
        path.unlink()
    words = ["calendar", "--publish", keeper.url, "--user", USER, "--remove"]
    keeper.run("2027-01-05T06:56", *words)
    assert phone.entries() == {}


def _sequence(text: str) -> int:
    return int(re.findall(r"SEQUENCE:(\d+)", text)[0])


def test_two_computers_and_a_phone_the_record_is_what_was_done(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some days of it; the thorough profile lives sixty."""
    keeper, phone = made(server, tmp_path, monkeypatch)
    life, days = Life(keeper, phone, Random(7)), examples(4, 60)
    life.live(days)
    assert life.wrong(f"{FIRST + timedelta(days=days - 1)}T23:00") == []
    assert life.ticked > days / 2
    assert life.noted >= life.ticked
    assert life.twice == []
    assert len(life.questions) == len(set(life.questions))


@pytest.mark.parametrize("kind", ["VEVENT", "VTODO"])
def test_what_stands_there_settles_rings_in_time_and_says_what_to_do(
    server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    keeper, phone = made(server, tmp_path, monkeypatch, kind)
    keeper.sync(MORNING)
    stood = phone.server.resources(phone.name)
    for clock in ("2027-01-05T06:50", "2027-01-05T07:10"):
        done = keeper.sync(clock)
        assert (done["created"], done["updated"], done["deleted"]) == (0, 0, 0)
    assert phone.server.resources(phone.name) == stood
    items = [_item(text) for _, text in stood.values()]
    assert all(len(str(item["SUMMARY"])) <= 40 for item in items)
    rung = sorted(moment for item in items for moment in _rings(item))
    assert rung
    for moment in rung:  # awake as the room has it, and Lisbon keeps UTC in winter
        assert time(6, 30) <= moment.time() <= time(22, 30)
    for first, fourth in zip(rung, rung[3:], strict=False):
        assert fourth - first > timedelta(minutes=15)
    drawn = Counter(
        (item.decoded("DTSTART").date(), str(item["SUMMARY"])) for item in items
        if "harvest_hatch" in str(item["X-LIVEFOOD-KEY"])
    )  # fmt: skip
    assert drawn
    assert all(number == 1 for number in drawn.values())


def _rings(item: Any) -> Iterator[datetime]:
    """When the alarms of an entry ring, in UTC."""
    for alarm in item.walk("VALARM"):
        trigger = alarm.decoded("TRIGGER")
        if isinstance(trigger, timedelta):
            trigger += item.decoded("DTSTART")
        yield trigger.astimezone(UTC)
