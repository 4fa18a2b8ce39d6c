"""A year of a keeper who errs, lived through the record, in a world with luck of its own.

The keeper looks at ``today`` before a round, does most of what it says, sometimes late, sometimes
not at all, notes some of it, counts with error; hatches fail and cultures crash. What is really
given is worked out apart from the record, with true stocks. Run::

    python -m tests.studies.erring_year --years 2

It prints, for a keeper who looks at every round and for one who looks every third day (and goes by
a sheet of three days in between, or by nothing): the tasks shown that were never told, which must
be none; the questions asked; and the share of the needed energy that was fed.
"""

from __future__ import annotations

import argparse
import math
import random
import tempfile
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from attrs import define, field, fields

from cli.screens.shown import is_shown, shown_tasks, shown_until, this_round
from cli.sheet.page import sheet_days
from cultures.foods.food import BRINE_SHRIMP, DRY
from cultures.journal.entries import Entry, append, journal_path
from cultures.needs.need import room_needs, rounds_between
from cultures.planning.outlook import make_outlook
from cultures.planning.plan import plan_of
from cultures.planning.telling import record_telling, tellings
from cultures.record.carried_out import as_entry
from cultures.record.present import Present, present_of
from cultures.record.store import read_record, record_path
from cultures.replay.worms import Life
from cultures.room.file import load_room
from cultures.room.jars import vessel_model
from cultures.room.room import Room
from cultures.tasks.task import (
    Feed,
    HarvestHatch,
    HarvestWorms,
    Retire,
    SetHatch,
    Split,
    Start,
    Task,
    Work,
)
from cultures.tasks.told import ToldTask
from cultures.words.moments import hours

_ZONE = ZoneInfo("Europe/Lisbon")
_START = date(2027, 1, 4)
#: Share of tasks done late and left out without a word, of hatches that fail, of cultures that
#: crash a day, and of what is done that is noted too.
LATE, LEFT_OUT, FAILS, CRASHES, NOTED = 0.15, 0.05, 0.03, 0.003, 0.6
_CLASSES = ("bubble_nest", "egg_scatterer", "substrate_spawner", "rainbowfish", "livebearer")
_ROOM = """
[room]
name = "Study"
timezone = "Europe/Lisbon"
temperature_by_month_c = [20, 20, 21, 22, 23, 25, 26, 26, 25, 23, 21, 20]
as_of = 2027-01-04
fridge_c = 5
horizon_days = 14
""" + "".join(
    f'[[tank]]\nname = "T{n}"\nlitres = 60\ntemperature_c = 26\n' for n in range(6)
) + "".join(
    f'[[culture]]\nname = "{name}"\nkind = "{kind}"\nstarted = {started}\nmedium_g = {medium}\n'
    f"{surface}starter_g = {medium / 15}\n"
    for name, kind, started, medium, surface in (
        ("MW-1", "microworm", "2026-12-20", 150, "surface_cm2 = 180\n"),
        ("MW-2", "microworm", "2026-12-26", 150, "surface_cm2 = 180\n"),
        ("VE-1", "vinegar_eel", "2026-10-10", 1500, ""),
        ("VE-2", "vinegar_eel", "2026-11-20", 1500, ""),
    )
) + "".join(
    f'[[vessel]]\nname = "bottle {n}"\nlitres = 1\ntemperature_c = 27\n' for n in (1, 2)
) + "[cysts]\ngrams = 100\nnauplii_per_gram = 210000\n"  # fmt: skip


@define
class Result:
    """What came of a year.

    Attributes:
        hungry: of the rounds of a brood, those with less than half of its need. alone: of them,
            those of a brood whose diet was one food alone. tasks: of work, as they came due; doses
            were measured in them. moved: tasks of work that were told and told no longer.
    """

    never_told: int = 0
    questions: int = 0
    looks: int = 0
    needed_j: float = 0.0
    fed_j: float = 0.0
    tasks: int = 0
    hungry: int = 0
    rounds: int = 0
    alone: int = 0
    alone_hungry: int = 0
    doses: int = 0
    cysts_g: float = 0.0
    moved: int = 0
    days: int = 0


@define
class World:
    """What is really there.

    Attributes:
        level: true over believed yield of each culture. jars: (harvested, energy left, whole).
        given: energy given at the present round, by brood.
    """

    rng: random.Random
    room: Room
    lives: dict[str, Life] = field(factory=dict)
    level: dict[str, float] = field(factory=dict)
    hatches: dict[str, tuple[datetime, float, float]] = field(factory=dict)
    jars: list[list[float]] = field(factory=list)
    cup_mg: dict[str, float] = field(factory=dict)
    given: dict[str, float] = field(factory=dict)

    def begin(self, room: Room, name: str, at: datetime, stock_mg: float | None) -> None:
        """A culture starts with luck of its own."""
        culture = room.culture(name)
        spread = culture.kind.values["yield_spread"] / 2
        self.level[name] = math.exp(self.rng.gauss(-spread * spread / 2, spread))
        self.lives[name] = Life.begin(
            room, culture, begun_h=hours(at), until=at.date() + timedelta(days=500),
            stock_mg=stock_mg,
        )  # fmt: skip

    def take(self, name: str, wanted_mg: float, at: datetime) -> float:
        """Worms really taken [mg]; the culture carries its level times what the model says."""
        life = self.lives.get(name)
        if life is None:
            return 0.0
        life.advance(hours(at))
        most = self.level[name] * life.model.climbing(life.state.stock_mg, life.state.age)
        taken = min(wanted_mg, most)
        life.take(taken / self.level[name])
        return taken


@define
class Year:
    """One keeper's year."""

    folder: Path
    rng: random.Random
    every: int
    sheet: bool
    now: datetime = field(init=False)
    world: World = field(init=False)
    result: Result = field(factory=Result)
    ever: set[str] = field(factory=set)
    worked: set[str] = field(factory=set)
    broods: dict[str, tuple[str, date]] = field(factory=dict)

    def __attrs_post_init__(self) -> None:
        (self.folder / "room.toml").write_text(_ROOM, "utf-8")
        self.now = datetime(2027, 1, 4, 6, 30, tzinfo=_ZONE)
        room = self._file()
        self.world = World(self.rng, room)
        for culture in room.cultures:
            at = datetime(*culture.started.timetuple()[:3], 12, tzinfo=_ZONE)
            self.world.begin(room, culture.name, at, None)

    @property
    def path(self) -> Path:
        """The room file."""
        return self.folder / "room.toml"

    def _file(self) -> Room:
        return load_room(self.path, today=self.now.date())

    def present(self, *, pending: bool = True) -> Present:
        """The room as the keeper's files say it is."""
        return present_of(self._file(), self.path, self.now, pending=pending)

    def note(self, entry: Entry) -> None:
        """Writes an entry."""
        append(journal_path(self.path), [entry])

    def look(self) -> None:
        """``today``, or a sheet of three days for a keeper who looks seldom."""
        found = self.present()
        outlook = make_outlook(found.room, now=self.now)
        asked = found.open_questions()
        self.result.never_told += sum(1 for t in asked if t.task.id not in self.ever)
        self.result.questions += len(asked)
        self.result.looks += 1
        rounds = this_round(outlook)
        tasks, until = shown_tasks(outlook, rounds), shown_until(outlook, rounds)
        self._told(tasks)
        record_telling(self.path, found, "today", tellings(outlook, tasks, self.now),
                       lambda t: is_shown(t.task, rounds, until), asked)  # fmt: skip
        if self.sheet:
            found = self.present()
            outlook = make_outlook(found.room, now=self.now)
            days = sheet_days(outlook, plan_of(outlook, remedies=False), self.every)
            printed = {one.day for one in days}
            listed = [t for one in days for t in one.tasks()]
            self._told(listed)
            record_telling(self.path, found, "sheet", tellings(outlook, listed, self.now),
                           lambda t: (t.round_at or t.task.at).date() in printed)  # fmt: skip

    def _told(self, tasks: Iterable[Task]) -> None:
        self.ever.update(t.id for t in tasks)
        self.worked.update(t.id for t in tasks if isinstance(t, Work))

    def live(self, days: int) -> Result:
        """So many days, round by round."""
        for number in range(days):
            day = _START + timedelta(days=number)
            self._events(day)
            for hour in (7, 18):
                self.now = datetime(day.year, day.month, day.day, hour, 5, tzinfo=_ZONE)
                if number % self.every == 0:
                    self.look()
                self._round(self.now.replace(minute=30))
        record = read_record(record_path(self.path), _ZONE, self.now)
        self.result.moved = len(record.withdrawn & self.worked)
        self.result.days = days
        return self.result

    def _events(self, day: date) -> None:
        """Spawns, counts, purchases and crashes of a day."""
        self.now = datetime(day.year, day.month, day.day, 6, 40, tzinfo=_ZONE)
        room = self.present(pending=False).room
        if len(room.broods) < 5 and self.rng.random() < 0.12:
            free = [t.name for t in room.tanks if t.name not in {b.tank for b in room.broods}]
            if free:
                name = f"brood {len(self.broods) + 1}"
                self.broods[name] = (free[0], day)
                self.note(Entry(self.now, "spawn", name, f"{free[0]} {self.rng.choice(_CLASSES)}",
                                float(self.rng.choice([60, 120, 200])), "fry"))  # fmt: skip
        for brood in room.broods:
            if (day - brood.anchor_date).days > 60:
                self.note(Entry(self.now, "lost", brood.name, "all"))
            elif (day - brood.counted_on).days >= 14:
                counted = max(1.0, round(brood.alive(day)
                                         * self.rng.gauss(0.97, 0.1)))  # fmt: skip
                self.note(Entry(self.now, "count", brood.name, "", counted, "fry"))
        if room.cysts is not None and room.cysts.grams < 25:
            self.note(Entry(self.now, "bought", "cysts", "", 80.0, "g"))
        for name in list(self.world.lives):
            if self.rng.random() < CRASHES:
                del self.world.lives[name]
                if name in {c.name for c in room.cultures}:
                    self.note(Entry(self.now, "failed", name))

    def _round(self, at: datetime) -> None:
        """Does what was told for a round and since the last one; then weighs what was given."""
        record = read_record(record_path(self.path), _ZONE, self.now)
        since = at - timedelta(hours=11 if at.hour > 12 else 13)
        told = sorted(
            (t for t in record.tasks.values() if since < t.task.at <= at), key=_in_order
        )  # fmt: skip
        feed: ToldTask | None = None
        for each in told:
            if not isinstance(each.task, Work):
                continue
            self.result.tasks += 1
            draw = self.rng.random()
            if draw < LEFT_OUT:
                continue
            late = timedelta(minutes=self.rng.randrange(20, 100)) if draw < LEFT_OUT + LATE else (
                timedelta(0))  # fmt: skip
            if isinstance(each.task, Feed):
                feed = each
                self.result.doses += sum(line.amount > 0.0 for line in each.lines)
            self._do(each, each.task.at + late)
        self.now = at + timedelta(minutes=100)
        self._weigh(at, feed)

    def _do(self, told: ToldTask, at: datetime) -> None:
        """Carries out a told task in the world, and notes it most of the time."""
        world, task = self.world, told.task
        entry = as_entry(told, at)
        if isinstance(task, HarvestWorms):
            got = world.take(task.subject, task.amounts["mg"], at)
            world.cup_mg[told.kind] = world.cup_mg.get(told.kind, 0.0) + got
            entry = entry._replace(amount=round(got, 1))
        elif isinstance(task, SetHatch):
            if task.subject in world.hatches:
                return
            luck = 0.0 if self.rng.random() < FAILS else math.exp(self.rng.gauss(-0.02, 0.2))
            world.hatches[task.subject] = (at, task.amounts["cysts_g"], luck)
            self.result.cysts_g += task.amounts["cysts_g"]
        elif isinstance(task, HarvestHatch):
            if task.subject not in world.hatches:
                return
            counted = self._draw_off(task.subject, at)
            if counted == 0.0 or self.rng.random() < 0.3:
                entry = Entry(at, "hatched", task.subject, "", round(counted * (
                    self.rng.gauss(1, 0.15) if counted else 0.0)), "nauplii")  # fmt: skip
        elif isinstance(task, Split | Start):
            parent = world.lives.get(task.subject)
            if parent is None or task.other in world.lives:
                return
            given = parent.give_starter(task.amounts["starter_g"], task.other)
            self.note(entry)
            self.now = max(self.now, at)
            world.begin(self.present(pending=False).room, task.other, at, given)
            return
        elif isinstance(task, Retire):
            world.lives.pop(task.subject, None)
        surprising = entry.event == "hatched" and not entry.amount
        if surprising or self.rng.random() < NOTED:
            self.note(entry)

    def _draw_off(self, vessel: str, at: datetime) -> float:
        """Draws a hatch off; the nauplii really in it."""
        set_at, grams, luck = self.world.hatches.pop(vessel)
        room = self.world.room
        model = vessel_model(room, room.vessel(vessel))
        waited = hours(at) - hours(set_at)
        energy = luck * grams * model.energy(waited)
        self.world.jars.append([hours(at), energy])
        return luck * grams * model.nauplii(waited)

    def _weigh(self, at: datetime, feed: ToldTask | None) -> None:
        """What each brood needed at a round, and what it really got."""
        room = self.present(pending=False).room
        feeding = [r for r in rounds_between(room, at, at + timedelta(minutes=1)) if r.at == at]
        (needs,) = room_needs(room, feeding) if feeding else ([],)
        shares: dict[str, float] = {DRY: 1.0}
        if feed is not None:
            for food in {line.food for line in feed.lines} - {DRY}:
                told_j = sum(x.given_j for x in feed.lines if x.food == food)
                shares[food] = min(1.0, self._really(food, told_j, at) / told_j) if told_j else 0.0
        self.world.cup_mg.clear()
        for need in needs:
            lines = feed.lines if feed is not None else ()
            got = sum(x.given_j * shares[x.food] for x in lines if x.brood == need.brood.name)
            self.result.needed_j += need.energy_j
            self.result.fed_j += min(got, need.energy_j)
            self.result.rounds += 1
            hungry, alone = got < 0.5 * need.energy_j, len(need.foods) == 1
            self.result.hungry += hungry
            self.result.alone += alone
            self.result.alone_hungry += hungry and alone

    def _really(self, food: str, told_j: float, at: datetime) -> float:
        """Energy of a food that is really in the cup [J]."""
        if food != BRINE_SHRIMP:
            kind = self.world.room.kinds[food]
            return self.world.cup_mg.get(food, 0.0) * kind.values["energy_j_per_mg"]
        given = 0.0
        for jar in self.world.jars:
            if hours(at) - jar[0] <= 48.5:
                used = min(told_j - given, jar[1])
                jar[1] -= used
                given += used
        return given


def _in_order(told: ToldTask) -> tuple[datetime, int]:
    order = ("harvest_hatch", "harvest_worms", "feed", "split", "start", "set_hatch", "retire")
    what = told.task.what
    return told.task.at, order.index(what) if what in order else len(order)


def one_year(seed: int, days: int, *, every: int, sheet: bool) -> Result:
    """A year of one keeper."""
    with tempfile.TemporaryDirectory() as folder:
        return Year(Path(folder), random.Random(seed), every, sheet).live(days)


def report(results: list[Result], label: str) -> str:
    """One line a keeper."""
    total = Result()
    for r in results:
        for name in (each.name for each in fields(Result)):
            setattr(total, name, getattr(total, name) + getattr(r, name))
    weeks = max(1.0, total.days / 7)
    return (
        f"{label:38} never told {total.never_told}, questions {total.questions / len(results):.0f}"
        f" a year in {total.looks / len(results):.0f} looks, fed"
        f" {total.fed_j / max(1.0, total.needed_j):.1%}, hungry brood-rounds"
        f" {total.hungry / max(1, total.rounds):.1%} of {total.rounds} ({total.alone_hungry} of"
        f" {total.alone} of one food alone); a week {total.tasks / weeks:.0f} tasks,"
        f" {total.moved / weeks:.1f} moved, {total.doses / weeks:.0f} doses,"
        f" {total.cysts_g / weeks:.1f} g of cysts"
    )


def main() -> None:
    """Prints the study."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--years", type=int, default=1)
    parser.add_argument("--days", type=int, default=365)
    options = parser.parse_args()
    for label, every, sheet in (
        ("looks at every round", 1, False), ("every third day, with a sheet", 3, True),
        ("every third day, and nothing between", 3, False),
    ):  # fmt: skip
        found = [one_year(seed, options.days, every=every, sheet=sheet)
                 for seed in range(options.years)]  # fmt: skip
        print(report(found, label), flush=True)


if __name__ == "__main__":
    main()
