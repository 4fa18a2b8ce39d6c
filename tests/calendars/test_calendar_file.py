"""The calendar file: identity, revisions, text, clock changes, foreign files."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from calendars import lint
from calendars.entries import MOST_ENTRIES, CalendarError, Entry, clean, clean_line, end_of
from calendars.export import Notes, Outcome, notes_path, write_calendar
from calendars.from_plan import entries_of, plan_for_calendar, wishes_of
from calendars.ics import Header, calendar_bytes
from calendars.ledger import Ledger, revise
from cli.commands.demo_room import demo_text
from cultures.planning.plan import tasks_of
from cultures.planning.telling import record_telling, tellings
from cultures.record.present import present_of
from cultures.room.file import read_room
from cultures.tasks.plan import Act, Plan, Remedy
from cultures.tasks.task import HarvestHatch, Task
from cultures.words.moments import when
from tests.calendars.examples import ANY_TEXT, daily_plans
from tests.calendars.plans import (
    CHANGES_2027,
    LISBON,
    NAMESPACE,
    ZONES,
    at,
    feed_lines,
    hatch_pair,
    ledger_of,
    ordinary_plan,
    plan_of,
    rings_at,
    task,
    wishes,
    year_of_plans,
)
from tests.calendars.readers import READERS, by_icalendar, by_vobject
from tests.examples import examples

NOW = at("2027-01-05T06:00")
HEADER = Header("Shed by the pear tree: live food")


def export(path: Path, plan: Plan, now: datetime = NOW, header: Header = HEADER) -> Outcome:
    return write_calendar(
        path, entries_of(plan, wishes()), header=header, now=now, identity=lambda: NAMESPACE
    )


def rendered(entries: list[Entry], zone: ZoneInfo | None = None) -> bytes:
    ledger = ledger_of(entries)
    data = calendar_bytes(ledger.published(), ledger, Header("x", zone))
    assert lint.findings(data) == []
    return data


def test_unchanged_plan_gives_the_same_bytes_and_touches_nothing(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    assert export(path, ordinary_plan()).written
    first, stamps = path.read_bytes(), {p: p.stat().st_mtime_ns for p in tmp_path.iterdir()}
    again = export(path, ordinary_plan(), now=NOW + timedelta(minutes=20))
    assert not again.written
    assert path.read_bytes() == first
    assert {p: p.stat().st_mtime_ns for p in tmp_path.iterdir()} == stamps


def test_round_is_one_event_with_its_list_in_order() -> None:
    entries = entries_of(ordinary_plan(days=1), wishes())
    rounds = [e for e in entries if e.group == "rounds"]
    assert [e.key for e in rounds] == ["feed/2027-01-05T07:30", "feed/2027-01-05T18:30"]
    lines = rounds[0].text.splitlines()
    assert lines[0] == "Before the round:"
    assert lines[1].startswith("1. 07:10 soak 0.4 g dry food in 200 mL water")
    assert lines[2].startswith("2. 07:20 MW-1: 3 swipes off the wall")
    assert lines[3:7] == [
        "Tanks:",
        "A1 (brood 1): microworm 3 mL; nauplii 1.5 mL",
        "A2 (brood 2): microworm 3 mL; nauplii 1.5 mL",
        "A3 (brood 3): microworm 3 mL; nauplii 1.5 mL",
    ]
    assert not any(e.key.startswith(("soak/", "harvest_worms/")) for e in entries)


def test_moved_task_keeps_its_uid_and_counts_up() -> None:
    pair = hatch_pair("2027-01-06T07:30/1", at("2027-01-05T12:00"), 20)
    first = ledger_of(entries_of(plan_of(pair), wishes()), NOW)
    moved = hatch_pair("2027-01-06T07:30/1", at("2027-01-05T13:00"), 20)
    later = NOW + timedelta(hours=1)
    second, changes = revise(
        first, entries_of(plan_of(moved), wishes()), now=later, namespace=NAMESPACE
    )
    assert (changes.changed, changes.added, changes.withdrawn) == (2, 0, 0)
    for key, record in second.records.items():
        assert record.uid == first.records[key].uid
        assert record.sequence == 1
        assert record.modified == later.astimezone(UTC)


def _counts(*tanks: str) -> Plan:
    moment = at("2027-01-07T07:30")
    return plan_of([task(f"count/{x}", "count", moment, f"brood {x}", other=x) for x in tanks])


def test_many_counts_of_one_time_are_one_entry_that_stays_while_they_are_noted() -> None:
    """Of four counts three are noted one after another, before their day."""
    ledger = ledger_of(entries_of(_counts("A1", "A2", "A3", "A4"), wishes()), NOW)
    (whole,) = ledger.live()
    assert whole.shown.title == "Count 4 broods"
    assert whole.shown.parts == ("count/A1", "count/A2", "count/A3", "count/A4")
    for left, title in (
        (("A1", "A2", "A4"), "Count 3 broods"), (("A2", "A4"), "Count 2 broods"),
        (("A4",), "Count: brood A4 (A4)"),
    ):  # fmt: skip
        sequence = ledger.records[whole.key].sequence
        ledger, changes = revise(ledger, entries_of(_counts(*left), wishes()), now=NOW,
                                 namespace=NAMESPACE)  # fmt: skip
        (record,) = ledger.published()
        assert (record.uid, record.sequence) == (whole.uid, sequence + 1)
        assert (record.shown.title, record.shown.parts) == (
            title,
            tuple(f"count/{x}" for x in left),
        )
        assert [x for x in ("A1", "A2", "A3", "A4") if f"brood {x} " in record.shown.text] == [
            *left
        ]
        assert (changes.changed, changes.added, changes.withdrawn) == (1, 0, 0)
    ledger, changes = revise(ledger, [], now=NOW, namespace=NAMESPACE)
    assert changes.withdrawn == 1


def test_two_that_are_alike_stand_alone_and_so_do_to_dos_and_other_times() -> None:
    assert len(entries_of(_counts("A1", "A2"), wishes())) == 2
    assert len(entries_of(_counts("A1", "A2", "A3"), wishes(todos=True))) == 3
    tasks = [
        task(f"count/{n}", "count", at("2027-01-07T07:30") + timedelta(minutes=n), f"b{n}")
        for n in range(3)
    ]
    assert len(entries_of(plan_of(tasks), wishes())) == 3


def test_many_splits_of_one_time_say_their_caution_once() -> None:
    moment = at("2027-01-07T18:30")
    tasks = [
        task(f"split/MW-{n}", "split", moment, f"MW-{n}", other=f"MW-{n + 5}", caution="Wash.")
        for n in range(1, 4)
    ]
    (entry,) = entries_of(plan_of(tasks), wishes())
    assert entry.title == "Split 3 cultures"
    assert entry.text.count("Caution: Wash.") == 1
    assert all(f"label MW-{n}" in entry.text for n in (6, 7, 8))
    assert entry.alarm_min == 60


def test_change_within_the_same_second_still_moves_the_stamp_on() -> None:
    split = [task("split/MW-3", "split", at("2027-01-07T12:00"), "MW-1", other="MW-3")]
    first = ledger_of(entries_of(plan_of(split), wishes()), NOW)
    changed = [evolve(split[0], why="Another reason.")]
    second, _ = revise(first, entries_of(plan_of(changed), wishes()), now=NOW, namespace=NAMESPACE)
    assert second.records["split/MW-3"].modified == NOW + timedelta(seconds=1)


def test_withdrawn_task_is_cancelled_until_past_and_comes_back_higher(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    split = task("split/MW-3", "split", at("2027-01-07T12:00"), "MW-1", other="MW-3")
    export(path, plan_of([split]))
    uid = next(iter(by_icalendar(path.read_bytes())))
    assert export(path, plan_of([]), NOW + timedelta(hours=1)).cancelled == 1
    text = path.read_text("utf-8")
    assert "STATUS:CANCELLED" in text
    assert "SUMMARY:Cancelled: Split MW-1 into MW-3" in text
    assert "SEQUENCE:1" in text
    assert "BEGIN:VALARM" not in text
    export(path, plan_of([]), at("2027-01-07T13:00"))
    assert by_icalendar(path.read_bytes()) == {}
    export(path, plan_of([evolve(split, at=at("2027-01-09T12:00"), until=at("2027-01-09T12:15"))]))
    assert list(by_icalendar(path.read_bytes())) == [uid]
    assert "SEQUENCE:2" in path.read_text("utf-8")


def test_what_is_withdrawn_says_why_and_asks_for_nothing(tmp_path: Path) -> None:
    """RFC 5545 (3.8.1.11) has no other word for an event that is no more than CANCELLED; title and
    text say what became of it. Read back without the notes it is known as before.
    """
    path = tmp_path / "jobs.ics"
    moment = at("2027-01-07T12:00")
    jobs = [
        task("set_hatch/1", "set_hatch", moment), task("buy/salt", "buy", moment, "salt"),
        task("sort/a", "sort", moment, "a"), task("lid/a", "lid", moment, "b"),
    ]  # fmt: skip
    why = {
        "set_hatch/1": "It is noted as done (Thu 7 Jan 11:20).",
        "buy/salt": "It is on order since Tue 5 Jan.",
        "sort/a": "It is noted as not done (Thu 7 Jan 11:20).",
    }

    def send(tasks: list[Task], hours: int) -> dict[str, str]:
        write_calendar(
            path, entries_of(plan_of(tasks), wishes()), header=Header("Shed"),
            now=NOW + timedelta(hours=hours), identity=lambda: NAMESPACE, ended=why,
        )  # fmt: skip
        events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
        assert hours == 0 or {str(e["STATUS"]) for e in events} == {"CANCELLED"}
        return {str(e["SUMMARY"]): str(e["DESCRIPTION"]) for e in events}

    send(jobs, 0)
    found = send([], 1)
    assert found == {
        "Done: Set hatch: bottle 1, 2.4 g": why["set_hatch/1"],
        "Ordered: Buy: salt, 100 g": why["buy/salt"],
        "Cancelled: Sort by size: a": why["sort/a"],
        "Cancelled: Cover the tank: b":
            "No longer planned like this. What is still to be done has an entry of its own.",
    }  # fmt: skip
    notes_path(path).unlink()
    assert send([], 2) == found
    # What comes back reads as before.
    write_calendar(
        path, entries_of(plan_of(jobs[:1]), wishes()), header=Header("Shed"),
        now=NOW + timedelta(hours=3), identity=lambda: NAMESPACE,
    )  # fmt: skip
    (again,) = [e for e in icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
                if str(e["STATUS"]) == "CONFIRMED"]  # fmt: skip
    assert str(again["SUMMARY"]) == "Set hatch: bottle 1, 2.4 g"


def test_begun_task_is_not_withdrawn(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    export(path, ordinary_plan(days=1))
    export(path, plan_of([]), at("2027-01-05T07:40"))
    seen = {s.title: s for s in by_icalendar(path.read_bytes()).values()}
    assert "Set hatch: bottle 1, 2.4 g" in seen
    assert any(title.startswith("Cancelled:") for title in seen)
    assert not any(t.startswith("Cancelled: Set hatch") for t in seen)


def test_what_was_told_for_earlier_today_stays_with_its_round(tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    path.write_text(demo_text(date(2027, 1, 5)), "utf-8")

    def entries(clock: str, *, tell: bool = False, earlier: bool = True) -> list[Entry]:
        now = at(f"2027-01-05T{clock}")
        found = present_of(read_room(path.read_text("utf-8"), today=now.date()), path, now)
        told = found.record.tasks.values() if earlier else ()
        plan, draws, outlook = plan_for_calendar(found.room, now, 1, told)
        if tell:
            shown = tellings(outlook, [t for t in tasks_of(outlook) if t.at < outlook.until], now)
            record_telling(path, found, "calendar", shown, lambda t: t.task.at < outlook.until)
        mine = entries_of(plan, wishes_of(found.room), now, draws)
        # What only reminds (sort, lid, count, buy) is told again until it is done.
        return [
            e for e in mine if e.group in ("rounds", "hatches") and e.start.date() == now.date()
        ]

    untold = entries("18:15")
    morning = entries("06:00", tell=True)
    assert [e.start.hour for e in morning if e.group == "rounds"] == [7, 18]
    assert len([e for e in untold if e.group == "rounds"]) == 1  # what nobody was told is not there
    for clock in ("07:20", "07:31", "09:31", "18:15", "18:40", "20:40", "23:50"):
        assert entries(clock) == morning, clock
        if clock > "09:30":
            assert entries(clock, earlier=False) != morning


def test_harvest_is_related_to_its_setting() -> None:
    entries = entries_of(plan_of(hatch_pair("x/1", at("2027-01-06T07:00"), 24)), wishes())
    ledger = ledger_of(entries)
    text = calendar_bytes(ledger.published(), ledger, HEADER).decode()
    setting = ledger.records["set_hatch/x/1"].uid
    assert text.count("RELATED-TO:") == 1
    assert f"RELATED-TO:{setting}" in text.replace("\r\n ", "")


def test_only_and_todos_and_alarms() -> None:
    plan = ordinary_plan(days=2)
    only = entries_of(plan, wishes(groups=frozenset({"hatches", "warnings"})))
    assert {e.group for e in only} == {"hatches", "warnings"}
    early = entries_of(plan, wishes(alarms_min={"feed": 95}))
    # 95 minutes before 07:30 nobody is up; it rings at 06:30 then.
    assert {e.alarm_min for e in early if e.group == "rounds"} == {60, 95}
    data = rendered(entries_of(plan, wishes(todos=True)))
    assert b"BEGIN:VTODO" in data
    assert b"BEGIN:VEVENT" not in data
    assert b"TRANSP" not in data
    assert len(by_vobject(data)) == len(entries_of(plan, wishes()))


def test_a_round_rings_before_its_first_step() -> None:
    rounds = [e for e in entries_of(ordinary_plan(days=2), wishes()) if e.group == "rounds"]
    stepped = [e for e in rounds if e.text.startswith("Before the round:")]
    assert stepped
    for entry in stepped:
        assert entry.alarm_min is not None
        rings = wishes().local(entry.start - timedelta(minutes=entry.alarm_min))
        first = re.search(r"^1\. (\d\d:\d\d) ", entry.text, re.MULTILINE)
        assert first is not None
        assert f"{rings:%H:%M}" <= first[1]


def test_no_alarm_rings_before_anybody_is_up() -> None:
    split = task("split/MW-3", "split", at("2027-01-07T07:00"), "MW-1", other="MW-3")
    assert entries_of(plan_of([split]), wishes())[0].alarm_min == 30
    mine = entries_of(plan_of([split]), wishes(alarms_min={"split": 60}))
    assert mine[0].alarm_min == 30


def test_warning_stands_on_the_latest_moment_to_act() -> None:
    plan = ordinary_plan()
    (warning,) = [e for e in entries_of(plan, wishes()) if e.group == "warnings"]
    assert warning.end == plan.shortfalls[0].remedies[0].by
    assert warning.key == "warning/microworm/2027-01-11"
    assert "40% of the need is missing" in warning.text
    assert "split MW-1 into one more" in warning.text


def test_what_is_ordered_is_due_as_the_screens_say_and_ordered_before() -> None:
    plan = ordinary_plan()
    by, days = plan.shortfalls[0].remedies[0].by, timedelta(days=2)
    remedy = Remedy("start a banana worm culture from a bought starter", by, 1.0, days,
                    act=Act.START, of="banana_worm")  # fmt: skip
    plan = evolve(plan, shortfalls=(evolve(plan.shortfalls[0], remedies=(remedy,)),))
    (warning,) = [e for e in entries_of(plan, wishes()) if e.group == "warnings"]
    due, order = (when(wishes().local(x)) for x in (by, warning.end))
    assert warning.end <= by - days
    assert warning.title.startswith("Order a starter: banana worm")
    assert f"- by {due}: {remedy.what} (ask for it or order it by {order})" in warning.text
    (late,) = [e for e in entries_of(plan, wishes(), by - timedelta(hours=20)) if
               e.group == "warnings"]  # fmt: skip
    assert late.title.startswith("Start a banana worm culture")
    assert "order it" not in late.text


def test_a_round_at_which_there_is_nothing_to_feed_is_no_reminder() -> None:
    lines = feed_lines(at("2027-01-06T07:30"), 2)
    nothing = [evolve(line, amount=0.0) for line in feed_lines(at("2027-01-06T18:30"), 2)]
    feeds = [task(f"feed/{line.at:%H}", "feed", line.at, "x") for line in (lines[0], nothing[0])]
    found = entries_of(plan_of(feeds, [*lines, *nothing]), wishes())
    assert [e.start for e in found] == [lines[0].at]
    soak = task("soak/A", "soak", at("2027-01-06T18:00"), "A")
    assert len(entries_of(plan_of([*feeds, soak], [*lines, *nothing]), wishes())) == 2


@given(extra=st.integers(0, 40), per_day=st.integers(9, 14))
def test_never_more_a_day_than_asked_for_and_nothing_lost(extra: int, per_day: int) -> None:
    moment = at("2027-01-06T10:00")
    tasks = [
        task(f"split/MW-{n}", "split", moment + timedelta(minutes=n), f"MW-{n}", other=f"NEW-{n}")
        for n in range(extra)
    ]
    lines = [line for h in range(8) for line in feed_lines(at(f"2027-01-06T{h + 8:02}:30"), 1)]
    entries = entries_of(plan_of(tasks, lines), wishes(per_day=per_day))
    assert len(entries) == min(8 + extra, per_day)
    everything = "\n".join(f"{e.title}\n{e.text}" for e in entries)
    assert all(f"NEW-{n}\n" in everything for n in range(extra))
    assert sum(e.group == "rounds" for e in entries) == 8


@given(title=ANY_TEXT, text=ANY_TEXT)
def test_any_text_comes_back_unchanged(title: str, text: str) -> None:
    moment = at("2027-01-06T10:00").astimezone(UTC)
    entry = Entry(
        "count/x", "fry", moment, moment + timedelta(minutes=15), clean_line(title), clean(text), 0
    )
    data = rendered([entry])
    for reader in (by_icalendar, by_vobject):
        (seen,) = reader(data).values()
        assert seen.title == entry.title
        assert seen.text == entry.text
    kept = re.sub("[\x00-\x08\x0e-\x1f\x7f-\x9f\ufeff\ufffe\uffff]", "", text)
    assert [c for c in entry.text if c.isprintable() and c != "\ufffd"] == [
        c for c in kept if c.isprintable() and c != "\ufffd"
    ]


@given(text=ANY_TEXT)
def test_lines_are_escaped_as_another_library_does(text: str) -> None:
    """icalendar, given what it read from us, writes the same lines; it folds a little earlier."""
    moment = at("2027-01-06T10:00").astimezone(UTC)
    entry = Entry("count/x", "fry", moment, moment + timedelta(minutes=15), "x", clean(text), 10)
    data = rendered([entry], LISBON)
    again = icalendar.Calendar.from_ical(data).to_ical()
    assert unfolded(again) == unfolded(data)


def unfolded(data: bytes) -> list[bytes]:
    return sorted(data.replace(b"\r\n ", b"").split(b"\r\n"))


def test_ten_thousand_characters_in_a_name() -> None:
    subject = "🐟 gourami, „no. 12“; \\ مرحبا שלום " * 400
    assert len(subject) > 10_000
    sort = task("sort/x", "sort", at("2027-01-06T10:00"), subject, why=subject * 2)
    entries = entries_of(plan_of([sort]), wishes())
    (seen,) = by_vobject(rendered(entries)).values()
    assert seen.title == entries[0].title
    assert seen.title == "Sort by size: 🐟 gourami, „no. 12“; \\…"
    assert seen.text.count("gourami") == entries[0].text.count("gourami") >= 800


@pytest.mark.parametrize("name", ZONES)
@pytest.mark.parametrize("written_in_zone", [False, True])
def test_hatch_across_each_clock_change_has_its_true_hours(
    name: str, written_in_zone: bool
) -> None:
    zone = ZoneInfo(name)
    for change in CHANGES_2027[name]:
        set_at = datetime.combine(change - timedelta(days=1), time(20), zone)
        # The change lies between: the wall clock shows another number of hours than passed.
        tasks = hatch_pair(f"{change}T21:00/1", set_at, 25.0)
        wall = tasks[1].at.replace(tzinfo=None) - set_at.replace(tzinfo=None)
        assert wall != timedelta(hours=25)
        data = rendered(entries_of(plan_of(tasks), wishes(zone)), zone if written_in_zone else None)
        for reader_name, reader in READERS.items():
            seen = {s.title: s for s in reader(data).values()}
            gap = seen["Harvest hatch: bottle 1"].start - seen["Set hatch: bottle 1, 2.4 g"].start
            assert gap == timedelta(hours=25), reader_name
            assert seen["Set hatch: bottle 1, 2.4 g"].start == set_at.astimezone(UTC), reader_name


def test_repeated_hour_is_written_in_utc_because_readers_disagree_over_it() -> None:
    first = datetime(2027, 10, 31, 0, 30, tzinfo=UTC)
    tasks = [
        task("count/1", "count", first.astimezone(LISBON), "first"),
        task("count/2", "count", (first + timedelta(hours=1)).astimezone(LISBON), "second"),
        task("count/3", "count", (first + timedelta(hours=9)).astimezone(LISBON), "third"),
    ]
    data = rendered(entries_of(plan_of(tasks), wishes()), LISBON)
    assert b"DTSTART:20271031T003000Z" in data
    assert b"DTSTART:20271031T013000Z" in data
    assert b"DTSTART;TZID=Europe/Lisbon:20271031T093000" in data


@pytest.mark.parametrize("name", [*ZONES, "Africa/Casablanca", "Europe/Dublin", "Asia/Kathmandu"])
def test_embedded_zone_is_right_at_every_hour_of_the_year(name: str) -> None:
    """Evaluated by the rule of RFC 5545, section 3.6.5: the last onset before the moment counts."""
    zone = ZoneInfo(name)
    tasks = [task("count/1", "count", datetime(2027, 6, 1, 12, tzinfo=zone))]
    text = rendered(entries_of(plan_of(tasks), wishes(zone)), zone).decode()
    onsets = []
    for part in re.findall(r"BEGIN:(?:STANDARD|DAYLIGHT)\r\n(.*?)END:", text, re.S):
        values = dict(line.split(":") for line in part.split("\r\n") if line)
        wall = datetime.strptime(values["DTSTART"], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
        onsets.append((wall - offset(values["TZOFFSETFROM"]), offset(values["TZOFFSETTO"])))
    moment = datetime(2026, 6, 1, tzinfo=UTC)
    while moment < datetime(2028, 6, 1, tzinfo=UTC):
        expected = moment.astimezone(zone).utcoffset()
        assert max(o for o in onsets if o[0] <= moment)[1] == expected, moment
        moment += timedelta(minutes=30)


def offset(text: str) -> timedelta:
    sign = -1 if text[0] == "-" else 1
    return sign * timedelta(hours=int(text[1:3]), minutes=int(text[3:5]))


def test_edited_file_is_left_alone_unless_told(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    export(path, ordinary_plan())
    edited = path.read_bytes().replace(b"Feed the fry", b"Feed my fry!")
    path.write_bytes(edited)
    with pytest.raises(CalendarError, match="was changed since livefood wrote it"):
        export(path, ordinary_plan(days=8))
    assert path.read_bytes() == edited
    outcome = write_calendar(
        path, entries_of(ordinary_plan(days=8), wishes()), header=HEADER, now=NOW,
        identity=lambda: NAMESPACE, replace_foreign=True,
    )  # fmt: skip
    assert outcome.kept_as == tmp_path / "jobs.ics.old"
    assert outcome.kept_as.read_bytes() == edited
    assert b"Feed my fry!" not in path.read_bytes()


def test_foreign_file_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "diary.ics"
    path.write_text("BEGIN:VCALENDAR\nmine\nEND:VCALENDAR\n")
    with pytest.raises(CalendarError, match="was not written by livefood here"):
        export(path, ordinary_plan())
    assert [p.name for p in tmp_path.iterdir()] == ["diary.ics"]


def test_nothing_private_in_the_file(tmp_path: Path) -> None:
    import getpass
    import socket

    export(tmp_path / "jobs.ics", ordinary_plan())
    text = (tmp_path / "jobs.ics").read_text("utf-8")
    uids = re.findall(r"^UID:(.*)$", text, re.M)
    for private in (str(tmp_path), socket.gethostname(), "@"):
        assert private not in text
    assert getpass.getuser() not in "".join(uids)
    assert (tmp_path / "jobs.ics").stat().st_mode & 0o077 == 0


def test_two_jobs_of_one_name_are_refused() -> None:
    twice = [task("count/1", "count", at("2027-01-06T10:00"), s) for s in ("a", "b")]
    with pytest.raises(CalendarError, match="share the name count/1"):
        entries_of(plan_of(twice), wishes())


def test_daily_plans_through_an_importer_that_honours_sequence(tmp_path: Path) -> None:
    """What a phone holds that obeys RFC 5546, section 2.1.5, is always exactly the plan."""
    path = tmp_path / "jobs.ics"
    held: dict[str, tuple[int, str, datetime, str]] = {}
    keys: dict[str, str] = {}
    withdrawn = 0
    for now, plan in daily_plans(7):
        entries = entries_of(plan, wishes())
        outcome = export(path, plan, now)
        withdrawn += outcome.changes.withdrawn
        for uid, sequence, stamp, status, start in event_heads(path.read_bytes().decode()):
            if uid not in held or (sequence, stamp) > (held[uid][0], held[uid][1]):
                held[uid] = (sequence, stamp, start, status)
        wanted = sorted(e.start for e in entries if e.start >= now)
        live = [h for h in held.values() if h[3] == "CONFIRMED" and h[2] >= now]
        assert sorted(h[2] for h in live) == wanted, now
        for entry in entries:
            uid = next(iter(ledger_of([entry]).records.values())).uid
            assert keys.setdefault(entry.key, uid) == uid
            assert held[uid][2:] == (entry.start, "CONFIRMED")
    assert withdrawn > examples(suite=2, thorough_run=20)


OURS = Header("Shed by the pear tree: live food", room="Shed by the pear tree")


@pytest.mark.parametrize("how", ["notes lost", "renamed", "another computer", "edited"])
def test_without_its_notes_a_file_goes_on_from_itself(tmp_path: Path, how: str) -> None:
    """A phone that obeys RFC 5546, section 2.1.5, follows on: no SEQUENCE falls, no UID is new."""
    path, space, told = tmp_path / "jobs.ics", NAMESPACE, ordinary_plan()
    for days in (7, 6, 8):  # entries are withdrawn, and come back
        export(path, ordinary_plan(days=days), header=OURS)

    export(path, told, header=OURS)
    before = path.read_bytes()
    assert b"STATUS:CANCELLED" in before
    heads = {head[0]: head for head in event_heads(before.decode())}
    if how == "renamed":
        path = path.rename(tmp_path / "round.ics")
    else:
        path.with_name(".jobs.ics.livefood").unlink()
    if how == "another computer":
        space = UUID("1f7a526d-90d1-4f6e-8f0c-2f6c1b1e3a55")
    if how == "edited":
        path.write_bytes(before.replace(b"Feed the fry", b"Feed my fry!"))
    entries = entries_of(told, wishes())

    def again(entries: list[Entry], *, force: bool = False) -> Outcome:
        return write_calendar(path, entries, header=OURS, now=NOW, identity=lambda: space,
                              replace_foreign=force)  # fmt: skip

    if how == "edited":
        with pytest.raises(CalendarError, match="was not written by livefood here"):
            again(entries)
    again(entries, force=how == "edited")
    if how != "edited":
        assert path.read_bytes() == before
    after = {head[0]: head for head in event_heads(path.read_bytes().decode())}
    assert after.keys() == heads.keys()
    assert all(after[uid][1] >= heads[uid][1] for uid in heads)
    gone = again([]).changes.withdrawn
    assert gone == len([h for h in after.values() if h[3] == "CONFIRMED" and h[4] > NOW])
    for uid, sequence, _, status, start in event_heads(path.read_bytes().decode()):
        if start > NOW and after[uid][3] == "CONFIRMED":
            assert (status, sequence) == ("CANCELLED", after[uid][1] + 1)


def test_a_file_of_another_room_is_not_ours(tmp_path: Path) -> None:
    path = tmp_path / "jobs.ics"
    export(path, ordinary_plan(), header=Header("Cellar", room="Cellar"))
    path.with_name(".jobs.ics.livefood").unlink()
    with pytest.raises(CalendarError, match="was not written by livefood here"):
        write_calendar(
            path, entries_of(ordinary_plan(), wishes()), header=OURS, now=NOW,
            identity=lambda: UUID("1f7a526d-90d1-4f6e-8f0c-2f6c1b1e3a55"),
        )  # fmt: skip


def event_heads(text: str) -> list[tuple[str, int, str, str, datetime]]:
    heads = []
    for event in re.findall(r"BEGIN:VEVENT\r\n(.*?)(?:BEGIN:VALARM|END:VEVENT)", text, re.S):
        values = dict(
            line.split(":", 1) for line in event.replace("\r\n ", "").split("\r\n") if line
        )
        start = datetime.strptime(values["DTSTART"], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
        heads.append(
            (values["UID"], int(values["SEQUENCE"]), values["DTSTAMP"], values["STATUS"], start)
        )
    return heads


@given(seed=st.integers(0, 10_000))
def test_notes_come_back_as_they_were(seed: int) -> None:
    ledger = Ledger()
    for now, plan in year_of_plans(seed, 4):
        entries = entries_of(plan, wishes())
        ledger, _ = revise(ledger, entries, now=now, namespace=NAMESPACE)
    assert Ledger.from_json(json.loads(Notes(ledger).to_bytes())["records"]) == ledger


@pytest.mark.parametrize("day", [date(2027, 1, 5), date(2027, 3, 27), date(2027, 10, 30)])
@pytest.mark.parametrize("zone", [None, *map(ZoneInfo, ZONES)])
def test_every_reader_sees_the_same_events_and_alarms(day: date, zone: ZoneInfo | None) -> None:
    local = zone or LISBON
    entries = entries_of(ordinary_plan(local, day), wishes(local))
    data = rendered(entries, zone)
    truth = {(e.start, e.end, rings_at(e), e.title, e.text) for e in entries}
    assert len(truth) == len(entries)
    for name, reader in READERS.items():
        seen = {(s.start, s.end, s.alarm, s.title, s.text) for s in reader(data).values()}
        assert seen == truth, name


def test_a_file_for_each_entry(tmp_path: Path) -> None:
    """For calendars that take the first entry of a file only."""
    path, folder = tmp_path / "jobs.ics", tmp_path / "jobs"
    folder.mkdir()
    (folder / "mine.ics").write_text("mine")

    def parts(days: int, now: datetime = NOW) -> dict[str, bytes]:
        outcome = write_calendar(
            path, entries_of(ordinary_plan(days=days), wishes()), header=HEADER, now=now,
            identity=lambda: NAMESPACE, split=True,
        )  # fmt: skip
        assert outcome.parts == folder
        return {p.name: p.read_bytes() for p in folder.glob("*.ics") if p.name != "mine.ics"}

    found = parts(7)
    whole = by_icalendar(path.read_bytes())
    each = [event for data in found.values() for event in by_icalendar(data)]
    assert all(len(by_icalendar(data)) == 1 for data in found.values())
    assert sorted(map(str, each)) == sorted(map(str, whole))
    assert parts(7) == found
    later = parts(1, NOW + timedelta(days=5))
    assert later.keys() < found.keys()
    assert (folder / "mine.ics").read_text() == "mine"


def test_what_was_withdrawn_goes_after_thirty_days() -> None:
    far = task("count/1", "count", at("2027-06-01T10:00"), "brood", fry=80)
    ledger = ledger_of(entries_of(plan_of([far]), wishes()))
    for days, state in ((0, "cancelled"), (29, "cancelled"), (31, "gone"), (60, "gone")):
        ledger, _ = revise(ledger, [], now=NOW + timedelta(days=days), namespace=NAMESPACE)
        (record,) = ledger.records.values()
        assert record.state == state, days
    back, _ = revise(
        ledger, entries_of(plan_of([far]), wishes()), now=NOW + timedelta(days=61),
        namespace=NAMESPACE,
    )  # fmt: skip
    assert [(r.state, r.sequence) for r in back.records.values()] == [("live", 2)]


@given(st.lists(st.integers(1, 400), min_size=1, max_size=30))
def test_too_many_entries_end_with_a_whole_day(a_day: list[int]) -> None:
    first = date(2027, 3, 20)  # the clocks change within
    entries = [
        Entry(f"{day}/{n}", "fry", start, start + timedelta(minutes=15), "", "")
        for day, count in enumerate(a_day) for n in range(count)
        for start in [
            datetime.combine(first + timedelta(days=day), time(n % 24, n // 24), LISBON)
            .astimezone(UTC)
        ]
    ]  # fmt: skip
    entries.sort(key=lambda e: (e.start, e.key))
    end = end_of(entries, LISBON)
    shown = [e for e in entries if end is None or e.start < end]
    if end is None:
        assert len(entries) <= MOST_ENTRIES
        return
    assert end.astimezone(LISBON).time() == time(0)
    assert 0 < len(shown) <= MOST_ENTRIES
    following = a_day[(end.date() - first).days]
    assert len(shown) + following > MOST_ENTRIES


def test_what_has_begun_is_changed_where_it_was_told_otherwise_and_cancelled_where_not_done() -> (
    None
):
    """RFC 5546: a change raises SEQUENCE, a cancelled event stays with STATUS:CANCELLED (3.2.5)."""
    moment = at("2027-01-05T07:30")
    jobs = [
        task("set_hatch/x/1", "set_hatch", moment), task("sort/a/9mm", "sort", moment, "a"),
        task("lid/a", "lid", moment, "a"),
    ]  # fmt: skip
    first = ledger_of(entries_of(plan_of(jobs), wishes()), NOW)
    later = moment + timedelta(minutes=20)
    told = [task("set_hatch/x/1", "set_hatch", moment, "bottle 2")]
    undone = {"sort/a/9mm"}
    ledger, changes = revise(
        first, entries_of(plan_of(told), wishes()), now=later, namespace=NAMESPACE, undone=undone
    )
    assert (changes.added, changes.changed, changes.withdrawn) == (0, 1, 1)
    stands = {r.key: (r.state, r.sequence, r.shown.title) for r in ledger.published()}
    assert stands["set_hatch/x/1"] == ("live", 1, "Set hatch: bottle 2, 2.4 g")
    assert stands["sort/a/9mm"] == ("cancelled", 1, "Sort by size: a")
    assert stands["lid/a"][:2] == ("live", 0)
    assert ledger.records["sort/a/9mm"].uid == first.records["sort/a/9mm"].uid
    for hours, stays in ((24, True), (49, False)):  # over, but whoever fetches late sees it
        again, _ = revise(ledger, [], now=later + timedelta(hours=hours), namespace=NAMESPACE)
        assert ("sort/a/9mm" in {r.key for r in again.published()}) == stays


def test_what_is_named_otherwise_keeps_its_identity() -> None:
    """A brood was counted as spawned, then as hatched: its count has another id; it stands once."""
    moment = at("2027-01-24T07:30")
    first = ledger_of(entries_of(plan_of([task("count/b/04", "count", moment, "b")]), wishes()))
    renamed = entries_of(plan_of([task("count/b/09", "count", moment, "b")]), wishes())
    ledger, changes = revise(first, renamed, now=NOW, namespace=NAMESPACE)
    (record,) = ledger.published()
    assert (record.key, record.uid, record.sequence, record.state) == (
        "count/b/09", first.records["count/b/04"].uid, 1, "live"
    )  # fmt: skip
    assert (changes.added, changes.changed, changes.withdrawn) == (0, 1, 0)
    both = [task(f"count/b/{n}", "count", moment + timedelta(days=n), "b") for n in (4, 9)]
    ledger, _ = revise(ledger, entries_of(plan_of(both), wishes()), now=NOW, namespace=NAMESPACE)
    assert len({record.uid for record in ledger.records.values()}) == len(ledger.records) == 3


def test_the_entry_of_a_harvest_says_the_salt_for_its_jar() -> None:
    """25 g for each litre, half a litre: 12.5 g."""
    _, harvest = hatch_pair("x/1", at("2027-01-06T07:00"), 24)
    assert isinstance(harvest, HarvestHatch)
    kept = evolve(harvest, jar_ml=500.0)
    (entry,) = entries_of(plan_of([kept]), wishes())
    assert entry.text.startswith("Clean jar for bottle 1: 500 mL water, 12.5 g salt.\n")
    (entry,) = entries_of(plan_of([evolve(kept, subject="sold")]), wishes())
    assert entry.text.startswith("sold: air off")  # a name stays as its keeper writes it


def test_a_list_of_a_day_that_has_begun_is_named_by_what_it_holds_now() -> None:
    """The purchase that named it was noted; the jobs of the evening are still in it."""
    moment = at("2027-01-05T07:30")
    jobs = [task(f"sort/{n}", "sort", moment + timedelta(hours=n), f"B{n}") for n in range(6)]
    bought = task("buy/dry", "buy", moment + timedelta(hours=4), "dry food")
    few = wishes(per_day=4)
    first = ledger_of(entries_of(plan_of([*jobs, bought]), few), NOW)
    (listed,) = [r for r in first.live() if r.shown.parts]
    assert listed.shown.title == "Also today: Buy: dry food, 100 g (+3)"
    noon = listed.shown.start + timedelta(minutes=5)
    ledger, changes = revise(
        first, entries_of(plan_of(jobs), few), now=noon, namespace=NAMESPACE, undone={"buy/dry"}
    )
    again = ledger.records[listed.key]
    assert again.shown.title == "Also today: Sort by size: B3 (+2)"
    assert (again.sequence, again.uid, changes.changed) == (1, listed.uid, 1)
    same, unchanged = revise(
        ledger, entries_of(plan_of(jobs), few), now=noon, namespace=NAMESPACE, undone={"buy/dry"}
    )
    assert same.records[listed.key] == again
    assert unchanged.changed == 0
    alone, _ = revise(
        ledger, entries_of(plan_of(jobs), wishes()), now=noon, namespace=NAMESPACE,
    )  # fmt: skip
    assert alone.records[listed.key].state == "cancelled"  # each of them has its own entry now
    assert len([r for r in alone.live() if r.shown.title == "Sort by size: B5"]) == 1
