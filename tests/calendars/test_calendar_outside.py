"""What is written, read by software in other languages and by a whole calendar program."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from attrs import evolve

from calendars.entries import Entry
from calendars.export import write_calendar
from calendars.from_plan import entries_of
from calendars.ics import Header, calendar_bytes
from cultures.tasks.task import Task
from tests.calendars.examples import daily_plans
from tests.calendars.outside import IcalJs, Khal, Libical
from tests.calendars.plans import (
    LISBON,
    NAMESPACE,
    ZONES,
    at,
    ledger_of,
    ordinary_plan,
    rings_at,
    wishes,
)
from tests.calendars.readers import READERS, Reader
from tests.examples import examples

DAYS = (date(2027, 1, 5), date(2027, 3, 25), date(2027, 10, 1), date(2027, 10, 29))


@pytest.fixture(scope="module")
def ical_js(tmp_path_factory: pytest.TempPathFactory) -> IcalJs:
    return IcalJs(tmp_path_factory.mktemp("node"))


@pytest.fixture(scope="module")
def libical() -> Libical:
    return Libical()


@pytest.fixture(params=["ical_js", "libical"])
def reader(request: pytest.FixtureRequest) -> Reader:
    found: Reader = request.getfixturevalue(request.param)
    return found


def written(entries: list[Entry], zone: ZoneInfo | None, made_up_zone: str = "") -> bytes:
    ledger = ledger_of(entries, entries[0].start - timedelta(days=1))
    data = calendar_bytes(ledger.published(), ledger, Header("Shed", zone))
    if made_up_zone and zone is not None:
        # Under a name of its own a reader cannot fall back on its own copy of the zone.
        return data.replace(zone.key.encode(), made_up_zone.encode())
    return data


def facts(entries: list[Entry]) -> set[tuple[object, ...]]:
    return {(e.start, e.end, rings_at(e), e.title, e.text) for e in entries}


@pytest.mark.parametrize("zone", [None, *map(ZoneInfo, ZONES)])
def test_same_events_instants_and_alarms(reader: Reader, zone: ZoneInfo | None) -> None:
    local = zone or LISBON
    for day in DAYS:
        entries = entries_of(ordinary_plan(local, day), wishes(local))
        seen = reader(written(entries, zone)).values()
        assert {(s.start, s.end, s.alarm, s.title, s.text) for s in seen} == facts(entries), day


@pytest.mark.parametrize("name", [*ZONES, "Europe/Dublin", "Africa/Casablanca"])
def test_embedded_zone_alone_gives_the_right_instants(reader: Reader, name: str) -> None:
    """Every nine hours and a bit for a year and a half, read by nothing but our VTIMEZONE."""
    zone = ZoneInfo(name)
    begin = datetime(2026, 12, 1, 0, 10, tzinfo=UTC)
    step = timedelta(hours=9, minutes=7)
    entries = [
        Entry(
            f"count/{n}", "fry", begin + n * step, begin + n * step + timedelta(minutes=15), "x", ""
        )
        for n in range(1450)
    ]
    seen = reader(written(entries, zone, "Made/Up")).values()
    assert sorted((s.start, s.end) for s in seen) == [(e.start, e.end) for e in entries]


def test_published_files_of_many_days_are_read_alike(ical_js: IcalJs, tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    for number, (now, plan) in enumerate(daily_plans(5)):
        if number % examples(suite=8, thorough_run=60) > 1:
            continue
        write_calendar(
            path, entries_of(plan, wishes()), header=Header("Shed"), now=now,
            identity=lambda: NAMESPACE,
        )  # fmt: skip
        data = path.read_bytes()
        readers: list[Reader] = [ical_js, *READERS.values()]
        views = [read(data) for read in readers]
        assert len(views[0]) > 5
        assert all(view == views[0] for view in views[1:]), now


def test_hard_text_in_other_languages(reader: Reader) -> None:
    hard = "a,b;c\\d:e\"f'^n \t🐟👩‍🔬 שלום é\n\nlast line"  # libical drops a blank at the end
    start = at("2027-01-05T12:00").astimezone(UTC)
    entry = Entry(
        "count/x", "fry", start, start + timedelta(minutes=15), "🐟, „no. 12“; \\ x", hard
    )
    (seen,) = reader(written([entry], None)).values()
    assert (seen.title, seen.text) == (entry.title, entry.text)


def test_khal_takes_in_each_event_once_and_moves_it(tmp_path: Path) -> None:
    folder = tmp_path / "khal"
    folder.mkdir()
    khal = Khal(folder)
    path = tmp_path / "jobs.ics"
    plan = ordinary_plan(days=3)
    now = at("2027-01-05T06:00")

    def send(tasks: tuple[Task, ...], hours: int) -> list[Entry]:
        entries = entries_of(evolve(plan, tasks=tasks), wishes())
        write_calendar(
            path, entries, header=Header("Shed", LISBON), now=now + timedelta(hours=hours),
            identity=lambda: NAMESPACE,
        )  # fmt: skip
        khal.take_in(path)
        return entries

    entries = send(plan.tasks, 0)
    held = khal.held("2027-01-01", 40)
    assert sorted(h[1:4] for h in held) == sorted((e.start, e.end, e.title) for e in entries)
    moved = tuple(
        evolve(t, at=t.at + timedelta(hours=2), until=t.until + timedelta(hours=2))
        if t.id == "split/MW-3"
        else t
        for t in plan.tasks
        if not t.id.startswith("set_hatch/2027-01-08")
    )
    entries = send(moved, 1)
    held = khal.held("2027-01-01", 40)
    assert len({h[0] for h in held}) == len(held) == len(entries) + 1
    live = sorted(h[1:4] for h in held if h[4] != "CANCELLED")
    assert live == sorted((e.start, e.end, e.title) for e in entries)
    assert [h[3] for h in held if h[4] == "CANCELLED"] == ["Cancelled: Set hatch: bottle 1, 2.4 g"]
