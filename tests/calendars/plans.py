"""Plans made by hand for the calendar tests: an invented room, a changing plan."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from attrs import evolve

from calendars.entries import Entry, Wishes
from calendars.ledger import Ledger, revise
from cultures.room.file import read_room
from cultures.tasks.plan import Act, Plan, Remedy, Shortfall
from cultures.tasks.task import Task, task_of
from cultures.tasks.told import FeedLine
from cultures.words.tools import USUAL

NAMESPACE = UUID("6d1f7a52-90d1-4f6e-8f0c-2f6c1b1e3a44")
LISBON = ZoneInfo("Europe/Lisbon")
#: A small room of ours, true on 4 January 2027.
ROOM = """\
[room]
name = "Shed by the pear tree"
timezone = "Europe/Lisbon"
temperature_c = 23.5
rounds = ["07:30", "18:30"]
awake = ["06:30", "22:30"]
horizon_days = 7
as_of = 2027-01-04

[[tank]]
name = "A1"
litres = 40
temperature_c = 26.0

[[brood]]
name = "gourami 12"
tank = "A1"
class = "bubble_nest"
count = 150
spawned = 2026-12-20

[[culture]]
name = "MW-1"
kind = "microworm"
started = 2026-12-22
medium_g = 150
surface_cm2 = 180
starter_g = 10

[[vessel]]
name = "bottle 1"
litres = 1.0
temperature_c = 27
salinity_g_per_l = 25

[cysts]
grams = 60
nauplii_per_gram = 200000
opened = 2026-11-01

[alarms]
feed = 25
"""

#: Both clock changes of 2027 are known from the rules of each zone: the last Sundays of March and
#: October in the EU; the first Sundays of April and October in Sydney and on Lord Howe Island,
#: which moves by half an hour; the second Sunday of March and first of November in the USA.
#: Source: IANA time zone database, files europe, australasia, northamerica.
ZONES = ("Europe/Lisbon", "America/New_York", "Australia/Sydney", "Australia/Lord_Howe")
CHANGES_2027: dict[str, tuple[date, date]] = {
    "Europe/Lisbon": (date(2027, 3, 28), date(2027, 10, 31)),
    "America/New_York": (date(2027, 3, 14), date(2027, 11, 7)),
    "Australia/Sydney": (date(2027, 4, 4), date(2027, 10, 3)),
    "Australia/Lord_Howe": (date(2027, 4, 4), date(2027, 10, 3)),
}


def at(text: str, zone: ZoneInfo = LISBON) -> datetime:
    """A wall time of a zone."""
    return datetime.fromisoformat(text).replace(tzinfo=zone)


def wishes(zone: ZoneInfo = LISBON, **changes: Any) -> Wishes:
    """The wishes of an ordinary keeper."""
    room = read_room(ROOM, name="room.toml", today=date(2027, 1, 5))
    own = {"alarms_min": changes.pop("alarms_min", {}), "away": changes.pop("away", ())}
    return Wishes(evolve(room, timezone=zone, tools=USUAL, **own), **changes)


#: Amounts as the planner gives them with each kind of task.
_AMOUNTS: dict[str, dict[str, float]] = {
    "set_hatch": {"cysts_g": 2.4, "spoons": 0.75, "water_l": 1.0, "salt_g": 25.0, "nauplii": 5e5},
    "harvest_hatch": {"nauplii": 480000.0, "energy_j": 1.7e4, "fed_nauplii": 4e5, "left_over": 8e4},
    "harvest_worms": {"mg": 120.0, "swipes": 2.0},
    "split": {"starter_g": 10.0, "medium_g": 150.0},
    "start": {"starter_g": 10.0, "medium_g": 150.0},
    "soak": {"dry_g": 0.5, "spoons": 0.25},
    "feed": {"tanks": 3.0},
    "first_food": {"fry": 100.0},
    "switch_food": {"length_mm": 8.0},
    "count": {"fry": 100.0},
    "buy": {"cysts_g": 100.0},
    **{what: {"fry": 100.0, "length_mm": 9.0} for what in ("sort", "lid", "move_on", "sell")},
}


def task(key: str, what: str, moment: datetime, subject: str = "bottle 1", **more: Any) -> Task:
    """A task of fifteen minutes."""
    amounts = {**_AMOUNTS.get(what, {}), **more.pop("amounts", {})}
    plain = task_of(
        what, amounts, id=key, at=moment, until=moment + timedelta(minutes=15), subject=subject,
        why="The round needs 150 J of nauplii.",
    )  # fmt: skip
    return evolve(plain, **more)


def feed_lines(moment: datetime, tanks: int = 3) -> list[FeedLine]:
    """One round over some tanks, two foods each."""
    return [
        FeedLine(moment, f"A{i}", f"brood {i}", food, 10.0, 10.0, amount, "mL")
        for i in range(1, tanks + 1)
        for food, amount in (("microworm", 3.0), ("brine_shrimp", 1.5))
    ]


def plan_of(
    tasks: list[Task],
    lines: list[FeedLine] | None = None,
    shortfalls: list[Shortfall] | None = None,
    start: datetime | None = None,
    days: int = 14,
) -> Plan:
    """A plan of the given parts."""
    begin = start or at("2027-01-05T07:00")
    return Plan(
        room="Shed by the pear tree",
        start=begin,
        end=begin + timedelta(days=days),
        tasks=tuple(tasks),
        lines=tuple(lines or ()),
        shortfalls=tuple(shortfalls or ()),
        cost={},
    )


def hatch_pair(key: str, set_at: datetime, hours: float, subject: str = "bottle 1") -> list[Task]:
    """A setting and its harvest a true number of hours later."""
    zone = set_at.tzinfo
    assert zone is not None
    harvest = (set_at.astimezone(UTC) + timedelta(hours=hours)).astimezone(zone)
    return [
        task(f"set_hatch/{key}", "set_hatch", set_at, subject, caution="Keep mains plugs dry."),
        task(f"harvest_hatch/{key}", "harvest_hatch", harvest, subject),
    ]


def ordinary_plan(zone: ZoneInfo = LISBON, first: date = date(2027, 1, 5), days: int = 7) -> Plan:
    """A week with rounds, soaks, worm harvests, hatches, a split and a warning."""
    tasks: list[Task] = []
    lines: list[FeedLine] = []
    for n in range(days):
        day = first + timedelta(days=n)
        for clock in ("07:30", "18:30"):
            moment = datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=zone)
            name = f"{day}T{clock}"
            lines += feed_lines(moment)
            tasks.append(task(f"feed/{name}", "feed", moment, "all tanks", amounts={}))
            soak = moment - timedelta(minutes=20)
            dry = {"dry_g": 0.4, "spoons": 0.23}
            tasks.append(task(f"soak/{name}", "soak", soak, "crumble", amounts=dry))
            worms = {"mg": 60.0, "swipes": 3.0}
            key = f"harvest_worms/{name}/MW-1"
            tasks.append(task(key, "harvest_worms", moment, "MW-1", amounts=worms))
        morning = datetime.fromisoformat(f"{day}T07:00").replace(tzinfo=zone)
        tasks += hatch_pair(f"{day + timedelta(days=1)}T07:30/1", morning, 24.0)
    noon = datetime.combine(first + timedelta(days=2), time(12), zone)
    tasks.append(task("split/MW-3", "split", noon, "MW-1", other="MW-3"))
    short = Shortfall(
        at=noon + timedelta(days=4), until=noon + timedelta(days=5), rounds=3, food="microworm",
        need_j=100.0, short_j=40.0, tanks=("A1", "A2"), cause="MW-2 sours before MW-3 gives.",
        remedies=(
            Remedy("split MW-1 into one more", noon + timedelta(days=1), 30.0, act=Act.START),
        ),
    )  # fmt: skip
    tasks.sort(key=lambda t: t.at)
    start = datetime.combine(first, time(6), zone)
    return plan_of(tasks, lines, [short], start, days)


def year_of_plans(
    seed: int, days: int, zone: ZoneInfo = LISBON, *, first: date = date(2027, 1, 1)
) -> Iterator[tuple[datetime, Plan]]:
    """A plan a day on a room that changes: hatches come, go and move, splits are put off.

    The truth behind it is drawn once for each intention and day, so that a plan is often the
    same as yesterday's over most of its span.
    """
    random = Random(seed)
    shift: dict[str, int] = {}
    dropped: set[str] = set()
    for n in range(days):
        now = datetime.combine(first + timedelta(days=n), time(6), zone)
        tasks: list[Task] = []
        lines: list[FeedLine] = []
        for ahead in range(4):
            day = first + timedelta(days=n + ahead)
            for clock in (time(7, 30), time(18, 30)):
                moment = datetime.combine(day, clock, zone).astimezone(UTC).astimezone(zone)
                lines += feed_lines(moment, tanks=2 + (day.toordinal() // 9) % 3)
            name = f"{day}T18:30/1"
            if random.random() < 0.1:
                shift[name] = random.choice((-30, 30, 60))
            if random.random() < 0.08:
                dropped ^= {name}
            if name not in dropped:
                begin = datetime.combine(day, time(12), zone) + timedelta(
                    minutes=shift.get(name, 0)
                )
                tasks += [t for t in hatch_pair(name, begin, 5.0) if t.at >= now]
        week = (first + timedelta(days=n)).isocalendar()
        due = date.fromisocalendar(week.year, week.week, 6)
        moment = datetime.combine(due, time(11 + random.choice((0, 0, 0, 1))), zone)
        if moment >= now:
            key = f"split/MW-{week.year}-{week.week}"
            tasks.append(task(key, "split", moment, "MW-1", other="MW-2"))
        tasks.sort(key=lambda t: t.at)
        yield now, plan_of(tasks, lines, start=now, days=4)


def weeks_of_change(seed: int, zone: ZoneInfo = LISBON) -> Iterator[tuple[datetime, Plan]]:
    """Three weeks of such plans around each change of the clocks."""
    for change in CHANGES_2027[zone.key]:
        yield from year_of_plans(seed, 21, zone, first=change - timedelta(days=12))


def rings_at(entry: Entry) -> datetime | None:
    """When an entry rings, its first notice aside."""
    if entry.alarm_min is None:
        return None
    return entry.start - timedelta(minutes=entry.alarm_min)


def ledger_of(entries: list[Entry], now: datetime | None = None) -> Ledger:
    """A first publication."""
    moment = now or at("2027-01-01T00:00")
    return revise(Ledger(), entries, now=moment, namespace=NAMESPACE)[0]
