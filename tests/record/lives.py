"""Lives of invented rooms, in which things go right and wrong, and what must hold after each step.

A life keeps its own books of what was shown, noted and stated, from the outside: it reads the
journal and the record as files, and compares what the room is said to be with them.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from attrs import define, evolve, field

from calendars.from_plan import plan_for_calendar
from calendars.publish.answering import take_in
from calendars.publish.server import Touched
from cli.options import Setting
from cli.screens.shown import is_shown, shown_tasks, shown_until, this_round
from cli.sheet.absence import plan_absence
from cli.sheet.page import sheet_days
from cultures.errors import LivefoodError
from cultures.foods.food import BRINE_SHRIMP
from cultures.journal.absences import Away
from cultures.journal.entries import Entry, append, journal_path, read_journal, undo_of
from cultures.planning.outlook import Outlook, make_outlook
from cultures.planning.plan import plan_of, tasks_of
from cultures.planning.telling import record_telling, tellings
from cultures.record.book import Book, made_before
from cultures.record.carried_out import as_entry
from cultures.record.fates import is_no_harvest
from cultures.record.present import Present, present_of
from cultures.record.store import record_path
from cultures.room.file import load_room
from cultures.room.room import Room
from cultures.tasks.task import (
    HELPERS_WORK,
    Feed,
    HarvestHatch,
    HarvestWorms,
    SetHatch,
    Split,
    Start,
    Task,
    Work,
)
from cultures.tasks.told import ToldTask
from cultures.words.moments import once

#: Classes of fish that are hoped for.
_HOPED = ("egg_scatterer", "bubble_nest", "livebearer")
#: Of cysts at 25 °C, as these bottles are, none is out sooner (common practice, no source).
_NONE_IS_OUT = timedelta(hours=15)
#: What 150 g of porridge take of oats, with and without banana; bottles take none [g].
_MEDIUM_G = {"MW": 27.0, "BW": 22.5, "VE": 0.0}
#: Zones with the day on which a life begins, some of them shortly before a change of clocks.
ZONES = (
    ("Europe/Lisbon", "2027-03-22"), ("America/New_York", "2027-10-28"), ("UTC", "2027-01-11"),
    ("Asia/Kathmandu", "2027-06-03"), ("Australia/Lord_Howe", "2027-09-28"),
)  # fmt: skip
#: The same for fuller lives: both changes of one zone.
MORE_ZONES = (
    *ZONES, ("Europe/Berlin", "2027-03-24"), ("Europe/Berlin", "2027-10-27"),
)  # fmt: skip


def room_text(rng: random.Random, *, full: bool = False) -> tuple[str, str]:
    """(room file, first day) of an invented room, small so that a life is short.

    Args:
        full: its life is a fuller one; two broods may be of one kind.
    """
    zone, day = rng.choice(MORE_ZONES if full else ZONES)
    rounds = rng.choice(['["07:30", "18:30"]', '["08:00"]', '["06:45", "12:30", "19:00"]'])
    parts = [
        f'[room]\nname = "Room of a life"\ntimezone = "{zone}"\nas_of = {day}\n'
        f"temperature_c = {rng.choice([23, 18, 26])}\nrounds = {rounds}\n"
        f"awake = ['06:00', '22:30']\nhorizon_days = 5\nspare_cultures = {rng.choice([1, 2])}\n"
        + (f"fridge_c = {rng.choice([4, 6])}\n" if rng.random() < 0.7 else "")
    ]
    if rng.random() < 0.6:
        start = datetime.fromisoformat(day).date() + timedelta(days=rng.randrange(4, 20))
        end = start + timedelta(days=rng.randrange(4))
        helper = rng.choice(["true", "false"])
        parts.append(f"[[away]]\nfrom = {start}\nto = {end}\nhelper = {helper}\n")
    for number in range(rng.choice([1, 1, 2])):
        spawned = datetime.fromisoformat(day).date() - timedelta(days=rng.randrange(3, 18))
        if number == 0 or not full or rng.random() < 0.5:
            fry_class = rng.choice(
                ["bubble_nest", "egg_scatterer", "annual_killifish", "rainbowfish"]
            )
        anchor = "hatched" if fry_class == "annual_killifish" else "free_swimming"
        parts.append(f'[[tank]]\nname = "T{number}"\nlitres = 40\ntemperature_c = 26\n')
        parts.append(
            f'[[brood]]\nname = "brood {number}"\ntank = "T{number}"\nclass = "{fry_class}"\n'
            f"count = {rng.choice([30, 120, 400])}\n{anchor} = {spawned}\n"
        )
    # Vinegar eels ripen so slowly that a plan looks five weeks ahead: they are not in every room.
    second = ("VE-1", "vinegar_eel", 1500, 90) if rng.random() < 0.25 else (
        "BW-1", "banana_worm", 150, rng.randrange(5, 25))  # fmt: skip
    for name, kind, medium, age in (("MW-1", "microworm", 150, rng.randrange(5, 25)), second):
        started = datetime.fromisoformat(day).date() - timedelta(days=age)
        surface = "" if kind == "vinegar_eel" else "surface_cm2 = 180\n"
        if rng.random() < 0.8:
            parts.append(
                f'[[culture]]\nname = "{name}"\nkind = "{kind}"\nstarted = {started}\n'
                f"medium_g = {medium}\n{surface}starter_g = {medium / 15}\n"
            )
    for number in range(rng.choice([1, 1, 2, 0])):
        parts.append(
            f'[[vessel]]\nname = "bottle {number}"\nlitres = {rng.choice([1, 2])}\n'
            f"temperature_c = {rng.choice([27, 25])}\n"
        )
    parts.append(f"[cysts]\ngrams = {rng.choice([60, 15, 3])}\n")
    parts.append("[supplies]\nsalt_g = 800\ndry_g = 120\nmedium_g = 2000\n")
    return "\n".join(parts), day


class Broken(AssertionError):  # noqa: N818 (it says what was broken)
    """One of the seven invariants does not hold."""


@define
class Life:
    """One room lived day by day.

    Attributes:
        shown: what was shown of each task, by id, as it was shown last before its time.
        ever: every id that was ever shown. filed: what only a calendar showed ahead.
            unsure: stocks that things used which the file no longer has, so that these books do
            not know them.
        papers: first and last day of each helper's sheet. kept: a copy of the folder, with the
            books as they were.
    """

    folder: Path
    rng: random.Random
    now: datetime
    shown: dict[str, Task] = field(factory=dict)
    ever: set[str] = field(factory=set)
    filed: set[str] = field(factory=set)
    questions: list[str] = field(factory=list)
    log: list[str] = field(factory=list)
    read: tuple[tuple[bytes, date], Room] | None = None
    seen: dict[Any, Present] = field(factory=dict)
    papers: list[tuple[date, date]] = field(factory=list)
    unsure: set[str] = field(factory=set)
    kept: tuple[dict[str, bytes], dict[str, Task], set[str], set[str], list[Any]] | None = None

    @classmethod
    def begin(cls, folder: Path, seed: int, *, full: bool = False) -> Life:
        """A new life in an empty folder."""
        rng = random.Random(seed)
        text, day = room_text(rng, full=full)
        (folder / "room.toml").write_text(text, "utf-8")
        room = load_room(folder / "room.toml", today=date.fromisoformat(day))
        now = datetime.fromisoformat(f"{day}T06:30").replace(tzinfo=room.timezone)
        return cls(folder, rng, now)

    @property
    def path(self) -> Path:
        """The room file."""
        return self.folder / "room.toml"

    # --- what the keeper sees

    def present(self, *, pending: bool = True) -> Present:
        """The room as it is."""
        files = tuple(
            p.read_bytes() if p.exists() else b""
            for p in (self.path, journal_path(self.path), record_path(self.path))
        )
        key = (files, self.now, pending)
        if key not in self.seen:
            if len(self.seen) > 3:
                self.seen.clear()
            self.seen[key] = present_of(self._file(), self.path, self.now, pending=pending)
        return self.seen[key]

    def _file(self) -> Room:
        """The room of the file, read anew when it or the day changed."""
        key = self.path.read_bytes(), self.now.date()
        if self.read is None or self.read[0] != key:
            self.read = key, load_room(self.path, today=self.now.date())
        return self.read[1]

    def look(self) -> Outlook:
        """What ``today`` does: shows, asks, and tells."""
        found = self.present()
        outlook = make_outlook(found.room, now=self.now)
        rounds = this_round(outlook)
        tasks = shown_tasks(outlook, rounds)
        until = shown_until(outlook, rounds)
        asked = found.open_questions()
        self._shows(tasks, asked, lambda t: is_shown(t, rounds, until))
        record_telling(self.path, found, "today", tellings(outlook, tasks, self.now),
                       lambda t: is_shown(t.task, rounds, until), asked, shown=tasks)  # fmt: skip
        self._check_on_record(tasks)
        self.log.append(f"{self.now:%d %H:%M} look")
        return outlook

    def print_sheet(self) -> None:
        """What ``sheet --week`` tells."""
        found = self.present()
        outlook = make_outlook(found.room, now=self.now)
        days = sheet_days(outlook, plan_of(outlook, remedies=False), 3)
        printed = {one.day for one in days}
        tasks = [t for one in days for t in one.tasks()]
        self._shows(tasks, (), lambda t: t.at.date() in printed)
        record_telling(self.path, found, "sheet", tellings(outlook, tasks, self.now),
                       lambda t: (t.round_at or t.task.at).date() in printed,
                       shown=tasks)  # fmt: skip
        self._check_on_record(tasks)
        self.log.append(f"{self.now:%d %H:%M} sheet")

    def export(self) -> None:
        """What ``calendar --out`` tells."""
        found = self.present()
        _, _, outlook = plan_for_calendar(found.room, self.now, None, found.record.tasks.values())
        tasks = [t for t in tasks_of(outlook) if t.at < outlook.until]
        self._shows(tasks, (), lambda t: t.at < outlook.until, filed=True)
        record_telling(self.path, found, "calendar", tellings(outlook, tasks, self.now),
                       lambda t: t.task.at < outlook.until)  # fmt: skip
        self._check_on_record(tasks)
        self.log.append(f"{self.now:%d %H:%M} calendar")

    def helpers_sheet(self) -> None:
        """What ``sheet --helper`` tells of the next absence."""
        found = self.present()
        ahead = [a for a in found.room.away if a.helper and a.end >= self.now.date()]
        if not ahead:
            return
        first, last = max(ahead[0].start, self.now.date()), ahead[0].end
        setting = Setting(found.room, self.now, self.path, found, tells=True)
        absence = plan_absence(setting, first, last)
        tasks = absence.helper_tasks()

        def covers(task: Task) -> bool:
            return isinstance(task, HELPERS_WORK) and absence.covers(task.at)

        self._shows(tasks, (), covers, helpers=True)
        record_telling(self.path, found, "helper", tellings(absence.outlook, tasks, self.now),
                       lambda t: covers(t.task), printed=(first, last), shown=tasks)  # fmt: skip
        self._check_on_record(tasks)
        self.papers.append((first, last))
        self.log.append(f"{self.now:%d %H:%M} sheet for the helper, {first} to {last}")

    def _on_paper(self, task: Task) -> bool:
        """Whether a helper has it on paper, so that no other screen tells it otherwise."""
        day = task.at.date()
        return (
            isinstance(task, HELPERS_WORK) and any(a <= day <= b for a, b in self.papers)
            and self.present().room.helped_at(task.at)
        )  # fmt: skip

    def live_by_the_sheet(self) -> None:
        """A sheet is printed, and a day later all is noted that was done by it, without a look."""
        self.print_sheet()
        self.later(self.rng.choice([20.0, 26.0]))
        self.done()

    def synced(self) -> None:
        """A calendar is synced, and what was ticked off or struck out on it, over again.

        Raises:
            Broken: what was taken in already is noted, or asked, again.
        """
        self.export()
        self.later(self.rng.choice([0.5, 3.0, 9.0]))
        near = [
            t for t in self.present(pending=False).record.tasks.values()
            if isinstance(t.task, Work) and abs(t.task.at - self.now) < timedelta(hours=8)
        ]  # fmt: skip
        # Of a round one entry stands there, which is ticked or struck out as a whole.
        rounds = {f"{t.round_at or t.task.id}": t for t in near}
        chosen = self.rng.sample(sorted(rounds), min(len(rounds), self.rng.choice([1, 3])))
        touched = [
            Touched(
                t.task.id, "entry", t.task.at,
                self.now - timedelta(minutes=self.rng.randrange(300)),
                self.rng.choice(["ticked", "ticked", "cancelled", "deleted"]),
            )
            for t in (rounds[key] for key in chosen)
        ]  # fmt: skip
        for time in (1, 2, 3):
            found = take_in(Book.open(self._file(), self.path, self.now), touched)
            noted = [f"{e.event} {e.subject}" for e in found.noted]
            self.log.append(f"{self.now:%d %H:%M} synced {time}: {noted}, {found.questions}")
            # What it noted may contradict what is ticked besides, which is asked once.
            if (time > 1 and noted) or (time > 2 and found.questions):
                raise Broken(f"3: what was synced is taken in again: {noted}, {found.questions}")

    def later(self, step_h: float) -> None:
        """Time goes on, by so many hours [h]."""
        later = self.now.astimezone(ZoneInfo("UTC")) + timedelta(hours=step_h)
        self.now = once(later.astimezone(self.now.tzinfo))

    def _shows(
        self, tasks: Sequence[Task], asked: Sequence[ToldTask], covers: Callable[[Task], bool],
        *, filed: bool = False, helpers: bool = False,
    ) -> None:  # fmt: skip
        tasks = [t for t in tasks if helpers or not self._on_paper(t)]
        now_shown = {t.id for t in tasks}
        answered = self.present().fates.answer  # is not shown again, and was told all the same
        for key, task in list(self.shown.items()):
            gone = key not in now_shown and key not in answered
            if task.at > self.now and gone and covers(task) and (
                helpers or not self._on_paper(task)
            ):  # fmt: skip
                del self.shown[key]  # it is shown no longer before its time
        for told in asked:
            if told.task.id not in self.ever:
                raise Broken(f"1: asked about {told.task.id}, which was never shown")
        self.questions += [t.task.id for t in asked]
        begun = {t.task.id for t in self.present().in_hand}  # is not told anew
        for task in tasks:
            self.ever.add(task.id)
            mine = self.shown.get(task.id)
            if mine is None or (mine.at > self.now and task.id not in begun):
                self.shown[task.id] = task
            if filed and (mine is None or dict(mine.amounts) != dict(task.amounts)):
                self.filed.add(task.id)  # as it is now only the calendar told it
            elif not filed and task.at > self.now:
                self.filed.discard(task.id)

    def _check_on_record(self, tasks: Sequence[Task]) -> None:
        """What was shown is what the record will hold it to."""
        found = self.present()
        begun = {t.task.id for t in found.in_hand}  # what did not come is struck from it
        for task in (t for t in tasks if not self._on_paper(t)):
            told = found.record.tasks.get(task.id)
            mine = told.task if told is not None else None
            if mine is None or (mine.at, mine.subject) != (task.at, task.subject):
                raise Broken(f"1: {task.id} is shown for {task.at}, and on record as {mine}")
            if isinstance(task, Work) and task.id not in begun and mine.amounts != task.amounts:
                raise Broken(f"1: {task.id} is shown as {task}, and on record as {mine}")

    # --- what the keeper does

    def note(self, *entries: Entry) -> None:
        """Entries as the commands write them, with the beginnings that they show."""
        entries = (*made_before(entries, self.present()), *entries)
        append(journal_path(self.path), entries)
        self.log += [f"{self.now:%d %H:%M} {e.event} {e.subject} {e.amount or ''}" for e in entries]

    def due(self) -> list[ToldTask]:
        """What ``journal due`` lists."""
        return self.present().due()

    def done(
        self, chosen: Sequence[ToldTask] | None = None, *, late: timedelta | None = None
    ) -> None:
        """``journal done``, of all that is due or of some of it."""
        due = self.due() if chosen is None else chosen
        gone = {e.subject: e.when for e in self.present().entries if e.event == "failed"}

        def noted(told: ToldTask) -> datetime:
            """Done late, but before its culture failed: nothing is taken of what is gone."""
            when = min(self.now, told.task.at + (late or timedelta()))
            return told.task.at if when >= gone.get(told.task.subject, self.now) else when

        at = None if late is None else [noted(t) for t in due]
        entries = [
            as_entry(t, at[i] if at else min(t.task.at, self.now)) for i, t in enumerate(due)
        ]
        if entries:
            self.note(*entries)

    def skip(self) -> None:
        """``journal skip`` of one due task, or of one that lies ahead."""
        due = self.due()
        if self.rng.random() < 0.3:
            found = self.present()
            due = [t for t in found.record.tasks.values()
                   if t.task.at > self.now and t.task.id not in found.fates.answer]  # fmt: skip
        if due:
            told = self.rng.choice(due)
            self.note(Entry(self.now, "skip", told.task.subject, told.task.id))

    def other_amount(self) -> None:
        """More or less than was told; sometimes after ticking it off as told."""
        due = [t for t in self.due() if isinstance(t.task, HarvestWorms | SetHatch)]
        if not due:
            return
        told = self.rng.choice(due)
        entry = as_entry(told, min(told.task.at, self.now))
        if self.rng.random() < 0.5:
            self.note(entry)
        assert entry.amount is not None
        factor = self.rng.choice([0.5, 0.8, 1.3])
        when = min(self.now, told.task.at + timedelta(hours=11))  # while it is about that task
        self.note(entry._replace(when=when, amount=round(entry.amount * factor, 2)))

    def one_tank(self) -> None:
        """One tank of a round that is due is fed, not fed, or gets another amount."""
        due = [t for t in self.due() if isinstance(t.task, Feed) and t.tanks]
        if due:
            told = self.rng.choice(due)
            tank, when = self.rng.choice(told.tanks), min(told.task.at, self.now)
            food = self.rng.choice([x.food for x in told.lines if x.tank == tank and x.amount > 0])
            self.note(self.rng.choice([
                Entry(when, "fed", tank), Entry(when, "skip", tank, told.task.id),
                Entry(when, "fed", tank, food, 3.0, "mL"),
            ]))  # fmt: skip

    def wrong_vessel(self) -> None:
        """The hatch goes into another bottle than was told."""
        room = self.present(pending=False).room
        taken = {h.vessel for h in room.hatches}
        free = [v.name for v in room.vessels if v.name not in taken]
        due = [t for t in self.due() if isinstance(t.task, SetHatch)]
        others = [v for v in free if due and v != due[0].task.subject]
        if due and others:
            told = due[0]
            grams = told.task.amounts["cysts_g"]
            other = f"instead of {told.task.subject}"
            self.note(
                Entry(self.now, "set", self.rng.choice(others), other, grams, "g"),
                Entry(self.now, "skip", told.task.subject, told.task.id),
            )

    def hatch_fails(self) -> None:
        """A hatch that stands gives nothing: noted as failed, or counted as 0."""
        hatches = [h for h in self.present(pending=False).room.hatches if h.set_at < self.now]
        if hatches:
            failed = self.rng.choice(hatches)
            name = failed.vessel
            # A harvest that is not answered is what a keeper means, not a hatch set after it, also
            # where that was noted first: what was set within the hour gives nothing to count.
            found = self.present(pending=False)
            before = any(
                isinstance(t.task, HarvestHatch) and t.task.subject == name
                and t.task.at <= self.now < t.over_at and not failed.is_of(t)
                for key, t in found.record.tasks.items() if key not in found.fates.answer
            )  # fmt: skip
            entry = Entry(self.now, "failed", name)
            if self.rng.random() < 0.5:
                entry = Entry(self.now, "hatched", name, "", 0.0, "nauplii")
            # Nothing is counted of what cannot have hatched: it is of the jar drawn off before.
            young = self.now - failed.set_at < _NONE_IS_OUT
            before = before or (entry.event == "hatched" and young)
            self.note(entry)
            self._check_nothing_is_fed_from(name, None if before else failed.set_at)

    def count_a_hatch(self) -> None:
        """A hatch is drawn off and counted, far off what was expected or near it."""
        hatches = [h for h in self.present(pending=False).room.hatches if h.set_at < self.now]
        if hatches:
            hatch = self.rng.choice(hatches)
            counted = round(hatch.cysts_g * self.rng.choice([500, 60000, 150000, 210000]))
            self.note(Entry(self.now, "hatched", hatch.vessel, "", counted, "nauplii"))
            self._check_fed_at_most(hatch.vessel, counted)

    def crash(self) -> None:
        """A culture crashes."""
        cultures = self.present(pending=False).room.cultures
        if cultures:
            self.note(Entry(self.now, "failed", self.rng.choice(cultures).name))

    def count_fry(self) -> None:
        """Fry are counted, sometimes as none."""
        broods = self.present(pending=False).room.broods
        if broods:
            brood = self.rng.choice(broods)
            share = self.rng.choice([0.9, 0.6, 0.9, 0.95, 0.0])
            self.note(Entry(self.now, "count", brood.name, "", float(round(brood.count * share)),
                            "fry"))  # fmt: skip

    def hope(self) -> None:
        """A spawning is planned; or one that was comes, or is given up."""
        room = self.present(pending=False).room
        hoped = [b.name for b in room.every_brood if b.anchor == "planned"]
        if hoped and self.rng.random() < 0.6:
            event = self.rng.choice(["spawn", "spawn", "drop"])
            self.note(Entry(self.now, event, self.rng.choice(hoped)))
        elif room.tanks:
            day = self.now.date() + timedelta(days=self.rng.choice([0, 1, 3, 7]))
            tank, count = self.rng.choice(room.tanks), self.rng.choice([20.0, 150.0])
            chance = self.rng.choice(["", " chance 0.4"])
            place = f"{tank.name} {self.rng.choice(_HOPED)} on {day}{chance}"
            name = f"hoped {self.rng.randrange(3)}"
            if name not in {b.name for b in room.every_brood}:
                self.note(Entry(self.now, "planned", name, place, count, "fry"))

    def buy(self) -> None:
        """Something is bought, or spilt."""
        what = self.rng.choice(["cysts", "salt", "dry", "medium"])
        event = self.rng.choice(["bought", "bought", "used"])
        self.note(Entry(self.now, event, what, "", float(self.rng.randrange(5, 80)), "g"))

    def order(self) -> None:
        """Something is ordered, for a day or for none; or nothing is to come any more."""
        what = self.rng.choice(["cysts", "salt", "dry", "medium"])
        ahead = self.rng.choice([None, 0, 1, 2, 5])
        day = "" if ahead is None else f"{self.now.date() + timedelta(days=ahead)}"
        grams = float(self.rng.choice([2, 20, 50, 50]))
        if self.rng.random() < 0.1:
            day, grams = "", 0.0
        self.note(Entry(self.now, "ordered", what, day, grams, "g"))

    def note_untold(self) -> None:
        """Something is noted whether it was told or not, of up to a day ago."""
        when = self.now - timedelta(hours=self.rng.choice([0, 1, 3, 10, 20, 30]))
        room = present_of(self._file(), self.path, when, pending=False).room  # as it was then
        vessels, cultures = [v.name for v in room.vessels], [c.name for c in room.cultures]
        what = self.rng.choice(["hatched", "draw", "set", "nauplii", "worms", "discard", "split"])
        names = vessels if what in ("hatched", "draw", "set", "nauplii") else cultures
        if not names:
            return
        name = self.rng.choice(names)
        child = f"{name[:2]}-{self.rng.randrange(20, 1000)}"
        nauplii = float(self.rng.choice([0, 30_000, 150_000]))
        self.note({
            "hatched": Entry(when, "hatched", name, "", nauplii, "nauplii"),
            "draw": Entry(when, "harvest", name),
            "set": Entry(when, "set", name, "", 1.0, "g"),
            "nauplii": Entry(when, "count", name, "", nauplii, "nauplii"),
            "worms": Entry(when, "harvest", name, "", self.rng.choice([10.0, 80.0, 400.0]), "mg"),
            "discard": Entry(when, "discard", name),
            "split": Entry(when, "split", name, child, 5.0, "g"),
        }[what])  # fmt: skip

    def measure(self) -> None:
        """A thermometer is read, or fry are measured."""
        room = self.present(pending=False).room
        places = ["room", *(t.name for t in room.tanks), *(c.name for c in room.cultures),
                  *(v.name for v in room.vessels)]  # fmt: skip
        place, degrees = self.rng.choice(places), self.rng.choice([20.0, 24.0, 28.0])
        entry = Entry(self.now, "temperature", place, "", degrees, "C")
        if room.broods and self.rng.random() < 0.5:
            length = self.rng.choice([4.0, 8.0, 15.0])
            entry = Entry(self.now, "length", self.rng.choice(room.broods).name, "", length, "mm")
        self.note(entry)

    def take_back(self) -> None:
        """One of the last lines is taken back, whatever it is but the end of a split culture."""
        journal = read_journal(journal_path(self.path), self.now.tzinfo or ZoneInfo("UTC"))
        lines = [e for e in journal.effective() if e.when <= self.now]
        # A culture that did not end takes its name from the next of that name, whose line is set
        # aside with a warning that these books do not follow.
        named = {e.other for e in lines if e.event == "split"}
        lines = [e for e in lines[-12:] if not (
            e.event in ("failed", "discard") and e.subject in named)]  # fmt: skip
        if lines:
            self.note(undo_of(self.rng.choice(lines), self.now))

    def undo(self) -> None:
        """A note is taken back, and what was before is again, exactly."""
        before = self.present()
        broods = before.room.broods
        entry = Entry(self.now, "bought", "cysts", "", 7.0, "g")
        if broods and self.rng.random() < 0.7:
            entry = Entry(self.now, "lost", broods[0].name, "", 1.0, "fry")
        elif self.rng.random() < 0.4:
            entry = Entry(self.now, "ordered", "cysts", f"{self.now.date()}", 7.0, "g")
        due = self.due()
        if due and self.rng.random() < 0.5:
            told = self.rng.choice(due)
            entry = as_entry(told, min(told.task.at, self.now))
        begun = made_before([entry], before)
        if begun:  # stands noted from now on, whatever becomes of the entry
            self.note(*begun)
            before = self.present()
        self.note(entry)
        last = read_journal(journal_path(self.path), self.now.tzinfo or ZoneInfo("UTC")).last()
        assert last is not None
        self.note(undo_of(last, self.now))
        after = self.present()
        if _facts(before.room) != _facts(after.room):
            raise Broken(f"3: undo of {entry.event} {entry.subject} does not restore the room")
        if before.fates.of != after.fates.of:
            raise Broken(f"3: undo of {entry.event} {entry.subject} does not restore the fates")

    def edit_room(self) -> None:
        """The keeper puts the room file right: another count, another tin, true as of today."""
        text = self.path.read_text("utf-8")
        lines = text.split("\n")
        for i, line in enumerate(lines):
            if line.startswith("count = ") and self.rng.random() < 0.5:
                lines[i] = f"count = {self.rng.choice([25, 90, 200])}"
            if line.startswith("grams = ") and self.rng.random() < 0.3:
                lines[i] = f"grams = {self.rng.choice([5, 30, 70])}"
            if line.startswith("as_of = ") and self.rng.random() < 0.5:
                lines[i] = f"as_of = {self.now.date()}"
        text = "\n".join(lines)
        first = self.now.date() + timedelta(days=self.rng.randrange(4))
        last = first + timedelta(days=self.rng.randrange(3))
        if "[[away]]" not in text and self.rng.random() < 0.3:
            helper = self.rng.choice(["true", "false"])
            text += f"\n[[away]]\nfrom = {first}\nto = {last}\nhelper = {helper}\n"
        self.path.write_text(text, "utf-8")
        self.log.append(f"{self.now:%d %H:%M} edit")

    def command(self, *entries: Entry, sure: bool = False) -> bool:
        """Entries as a command notes them, with its checks; False where it refuses them.

        Raises:
            Broken: what was refused changed a file.
        """
        files = self._files()
        book = Book.open(self._file(), self.path, self.now)
        said = [f"{e.event} {e.subject} {e.other} {e.amount or ''}" for e in entries]
        try:
            book.note(entries, sure=sure)
        except LivefoodError as error:
            self.log += [f"{self.now:%d %H:%M} refused: {each} ({error})" for each in said]
            if self._files() != files:
                raise Broken(f"7: {said} was refused, and changed a file") from None
            return False
        self.log += [f"{self.now:%d %H:%M} {each}" for each in said]
        return True

    def done_days_late(self) -> None:
        """What was done hours or days later than it was told, of what is due."""
        due = self.due()
        if due:
            told = self.rng.choice(due)
            late = timedelta(hours=self.rng.choice([4, 9, 20, 40]))
            self.command(as_entry(told, min(self.now, told.task.at + late)))

    def fed_untold(self) -> None:
        """A tank was fed at some time of the last days, whatever was told."""
        when = self.now - timedelta(hours=self.rng.choice([1, 5, 14, 30, 60]))
        tank = self.rng.choice([t.name for t in self._file().tanks])
        food = self.rng.choice(["microworm", "brine_shrimp", "dry"])
        entry = Entry(when, "fed", tank, food, 20.0, "mL")
        if food == "dry":
            entry = Entry(when, "fed", tank, "", None, "")
        self.command(entry)

    def away(self) -> None:
        """Days away are noted, or one round of a day."""
        start = self.now.date() + timedelta(days=self.rng.randrange(4))
        end = start + timedelta(days=self.rng.choice([0, 0, 1, 2, 4]))
        helper = self.rng.random() < 0.5
        rounds = self._file().rounds_on(start)
        some = (self.rng.choice(rounds),) if self.rng.random() < 0.3 else ()
        since = self.rng.choice(rounds) if not some and self.rng.random() < 0.3 else None
        found = Away(start, end, helper, some) if since is None else Away(
            start, end, helper, since=since)  # fmt: skip
        self.command(Entry(self.now, "away", "room", found.noted))

    def away_taken_back(self) -> None:
        """Days away are noted, and taken back: all is as it was."""
        before = self.present()
        start = self.now.date() + timedelta(days=self.rng.randrange(3))
        days = Away(start, start + timedelta(days=1), self.rng.random() < 0.5)
        if self.command(Entry(self.now, "away", "room", days.noted)):
            self._take_back_last()
            self._check_restored(before, "days away")

    def _take_back_last(self) -> None:
        last = read_journal(journal_path(self.path), self.now.tzinfo or ZoneInfo("UTC")).last()
        assert last is not None
        self.command(undo_of(last, self.now))

    def _check_restored(self, before: Present, what: str) -> None:
        after = self.present()
        if (_facts(before.room), before.room.away) != (_facts(after.room), after.room.away):
            raise Broken(f"3: undo of {what} does not restore the room")
        if before.fates.of != after.fates.of:
            raise Broken(f"3: undo of {what} does not restore the fates")

    def wrong_count(self) -> None:
        """Fry are counted wrongly, which is taken back or counted anew."""
        before = self.present()
        if not before.room.broods:
            return
        brood = self.rng.choice(before.room.broods)
        right = float(max(1, round(brood.alive(self.now.date()))))
        wrong = round(right * self.rng.choice([0.1, 0.5, 3.0]))
        name = brood.name
        if not self.command(Entry(self.now, "count", name, "", float(wrong), "fry"), sure=True):
            return
        if self.rng.random() < 0.5:
            self._take_back_last()
            self._check_restored(before, "a wrong count")
        elif self.command(Entry(self.now, "count", name, "", right, "fry"), sure=wrong > 0):
            counts = {b.name: b.alive(self.now.date()) for b in self.present().room.broods}
            if abs(counts.get(name, 0.0) - right) > 0.5:
                raise Broken(f"5: {right:g} of {name} are counted, and {counts.get(name)} stand")

    def merge_or_split(self) -> None:
        """A brood is moved, whole or in part, or is one with another of its tank."""
        room = self.present(pending=False).room
        if not room.broods:
            return
        brood = self.rng.choice(room.broods)
        with_it = [b.name for b in room.broods if b.tank == brood.tank and b is not brood]
        if with_it and self.rng.random() < 0.6:
            total = sum(b.alive(self.now.date()) for b in room.broods)
            if self.command(Entry(self.now, "merge", brood.name, with_it[0])):
                left = self.present(pending=False).room.broods
                if abs(sum(b.alive(self.now.date()) for b in left) - total) > 1.0:
                    raise Broken(f"5: {total:g} fry were there, and {left} are after merging")
            return
        tank = self.rng.choice([t.name for t in room.tanks])
        amount = self.rng.choice([None, float(max(1, round(brood.count / 3)))])
        self.command(Entry(self.now, "move", brood.name, tank, amount, "fry" if amount else ""))

    def parcel(self) -> None:
        """What is on order comes, late or in part, or is noted as to come no more."""
        orders = self.present(pending=False).room.orders
        if orders:
            order = self.rng.choice(orders)
            grams = order.grams * self.rng.choice([1.0, 1.0, 0.4])
            come = Entry(self.now, "bought", order.item, "", grams, "g")
            never = Entry(self.now, "ordered", order.item, "", 0.0, "g")
            self.command(self.rng.choice([come, come, never]))

    def cold_snap(self) -> None:
        """The room is cold for a while, or warm again."""
        degrees = self.rng.choice([12.0, 15.0, 22.0, 30.0])
        self.command(Entry(self.now, "temperature", "room", "", degrees, "C"))

    def rename(self) -> None:
        """The room file is edited: a thing is called otherwise, or is there no more."""
        text = self.path.read_text("utf-8")
        blocks = text.split("\n[[")
        names = {i: b.split('name = "')[1].split('"')[0] for i, b in enumerate(blocks)
                 if b.startswith(("culture", "vessel", "tank"))}  # fmt: skip
        if not names:
            return
        i = self.rng.choice(sorted(names))
        goes = not blocks[i].startswith("tank") and self.rng.random() < 0.5
        if goes:
            tail = blocks[i].partition("\n[")[2]  # what stands behind the last of its sort
            text = "\n[[".join(blocks[:i] + blocks[i + 1 :]) + (f"\n[{tail}" if tail else "")
        else:
            text = text.replace(f'"{names[i]}"', f'"{names[i]}x"')
        self.path.write_text(text, "utf-8")
        self.log.append(f"{self.now:%d %H:%M} edit: {names[i]} {'goes' if goes else 'renamed'}")
        # What was noted of it under its old name counts no more, which a look says.
        self.unsure |= {"salt", "medium", "cysts"}

    def copy_or_restore(self) -> None:
        """The folder is copied; or goes back to what it was when it was."""
        if self.kept is None or self.rng.random() < 0.4:
            files = {p.name: p.read_bytes() for p in self.folder.iterdir()}
            self.kept = files, dict(self.shown), set(self.ever), set(self.filed), [*self.papers]
            self.log.append(f"{self.now:%d %H:%M} copied")
            return
        files, shown, ever, filed, papers = self.kept
        for path in self.folder.iterdir():
            path.unlink()
        for name, data in files.items():
            (self.folder / name).write_bytes(data)
        self.shown, self.ever, self.filed = dict(shown), set(ever), set(filed)
        self.papers = [*papers]
        self.log.append(f"{self.now:%d %H:%M} restored")

    def lose_the_record(self) -> None:
        """The record is lost with all that was told."""
        record_path(self.path).unlink(missing_ok=True)
        self.shown.clear()
        self.ever.clear()
        self.filed.clear()
        self.papers.clear()
        self.log.append(f"{self.now:%d %H:%M} record lost")

    # --- what must hold

    def check(self) -> None:
        """The invariants that can be read off at any moment.

        Raises:
            Broken: one does not hold.
        """
        files = self._files()
        found = self.present()
        outlook = make_outlook(found.room, now=self.now)
        self._check_told(found)
        self._check_screens(found, outlook)
        self._check_portions(found.room, outlook)
        self._check_stocks()
        if self._files() != files:
            raise Broken("7: looking changed a file")

    def _files(self) -> dict[str, str]:
        return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in self.folder.iterdir()}

    def _check_told(self, found: Present) -> None:
        ids = {t.task.id for t in (*found.presumed, *found.in_hand, *found.due())}
        strange = (ids | found.record.withdrawn | set(found.fates.of)) - self.ever
        if strange:
            raise Broken(f"1: never told: {sorted(strange)[:3]}")
        for key, told in found.record.tasks.items():
            mine = self.shown.get(key)
            if mine is not None and mine.at <= self.now and told.task.at <= self.now:
                same = (mine.at, mine.subject, dict(mine.amounts)) == (
                    told.task.at, told.task.subject, dict(told.task.amounts))  # fmt: skip
                # A round that only a calendar told may be told anew once it has begun, until it is
                # over (docs/journal.md).
                anew = key in self.filed and told.task.at <= told.told_at < told.over_at
                if not same and not anew and isinstance(told.task, Work):
                    raise Broken(f"2: {key} was told as {mine}, and now as {told.task}")
        if set(found.fates.of) != set(found.record.tasks):
            raise Broken("3: a told task has no fate, or more than one")
        answered = [e for e in found.fates.answer.values() if e.event not in ("fed",)]
        if len({id(e) for e in answered}) < len(answered):
            for e in answered:
                keys = [k for k, a in found.fates.answer.items() if a is e]
                whats = {found.record.tasks[k].task.what for k in keys}
                if len(keys) > 1 and not whats & {"soak", "first_food"}:
                    raise Broken(f"3: one entry answers {keys}")

    def _check_screens(self, found: Present, outlook: Outlook) -> None:
        plan = plan_of(outlook, remedies=False)
        planned = {t.id: t for t in plan.tasks}
        told_now = {t.task.id: t.task for t in found.in_hand}
        for key, task in told_now.items():
            failed = is_no_harvest(task, found.fates.answer.get(key))
            mine = planned.get(key)
            if isinstance(mine, HarvestHatch) and "jar_ml" not in task.amounts:
                mine = evolve(mine, jar_ml=None)  # more rounds take of it than were told
            if mine != (None if failed else task):
                raise Broken(f"4: {key} is in hand and the plan has it otherwise")
        for told in self.due():
            if told.over_at <= self.now or told.task.at > self.now or told.may_change(self.now):
                continue  # what only a calendar told may be told anew until it is over
            mine = planned.get(told.task.id)
            if mine is None or (mine.at, mine.subject) != (told.task.at, told.task.subject):
                raise Broken(f"4: {told.task.id} is due, and is not in the plan like that")
        days = sheet_days(outlook, plan, 2)
        for task in (t for one in days for t in one.tasks()):
            if planned.get(task.id) != task:
                raise Broken(f"4: the sheet has {task.id} otherwise than the plan")
        if self.rng.random() < 0.7:
            return  # the calendar plans once more, which takes its time
        calendar, _, _ = plan_for_calendar(found.room, self.now, None, found.record.tasks.values())
        for task in calendar.tasks:
            if task.at > self.now and planned.get(task.id, task) != task:
                raise Broken(f"4: the calendar has {task.id} otherwise than the plan")

    def _check_portions(self, room: Room, outlook: Outlook) -> None:
        hatches = outlook.feeding.hatches
        for number, batch in enumerate(hatches.batches):
            if batch.held:
                given = sum(p.nauplii for row in hatches.portions for p in row if p.batch == number)
                if given > batch.nauplii * (1 + 1e-9):
                    raise Broken(f"5: {given:.0f} of {batch.nauplii:.0f} nauplii are fed")
        names = {c.name for c in room.cultures} | {
            s.culture.name for plan in outlook.feeding.worms.values() for s in plan.splits
        }
        taken = {t.subject for t in tasks_of(outlook) if isinstance(t, HarvestWorms)
                 and t.id not in {x.task.id for x in room.in_hand}}  # fmt: skip
        if taken - names:
            raise Broken(f"5: worms are taken of {taken - names}, which do not stand")

    def _check_fed_at_most(self, vessel: str, counted: float) -> None:
        outlook = make_outlook(self.present().room, now=self.now)
        hatches = outlook.feeding.hatches
        held = [b for b in hatches.batches if b.held and b.vessel.name == vessel]
        last = max((b.harvest_h for b in held), default=0.0)
        if self.now.timestamp() / 3600 - last > 3:
            return  # the harvest that was counted is fed already
        given = sum(
            p.nauplii for row in hatches.portions for p in row
            if hatches.batches[p.batch].held and hatches.batches[p.batch].vessel.name == vessel
            and hatches.batches[p.batch].harvest_h == last
        )  # fmt: skip
        if given > counted * (1 + 1e-9):
            raise Broken(f"5: {given:.0f} nauplii of {vessel} are fed, {counted} were counted")

    def _check_nothing_is_fed_from(self, vessel: str, set_at: datetime | None) -> None:
        found = self.present()
        fresh = [h for h in found.room.held if h.vessel == vessel
                 and self.now - h.harvested_at < timedelta(hours=1)
                 and (set_at is None or h.harvested_at > set_at)]  # fmt: skip
        stands = [h for h in found.room.hatches if (h.vessel, h.set_at) == (vessel, set_at)]
        if fresh or stands:
            raise Broken(f"5: {vessel} failed, and is fed from all the same")
        fed_at = [
            t.task.at for t in found.in_hand
            if isinstance(t.task, Feed) and t.task.id not in found.fates.answer
            and any(x.food == BRINE_SHRIMP for x in t.lines)
        ]  # fmt: skip
        # What a feeding in hand empties was there before it, and need not keep until now.
        if (
            fed_at
            and not self._held_of_another(vessel, min(fed_at))
            and not self.present(pending=False).room.held
            and not any(isinstance(t.task, HarvestHatch) for t in found.in_hand)
        ):
            raise Broken("5: nauplii are dosed and none are there")

    def _held_of_another(self, vessel: str, when: datetime) -> bool:
        """Whether a jar of another vessel, or an older one of this, could be fed at a time."""
        then = present_of(self._file(), self.path, when, pending=False)
        return any(
            h.vessel != vessel or self.now - h.harvested_at >= timedelta(hours=1)
            for h in then.room.held
        )

    def _check_stocks(self) -> None:
        """What stands = stated + bought - done - presumed, worked out from the files alone."""
        found = self.present(pending=False)
        stated = self._file()
        since = stated.stated_at or stated.local(stated.as_of, datetime.min.time())
        events = sorted(_stock_events(found, stated, since), key=lambda e: e[0])
        left = {"cysts": stated.cysts.grams if stated.cysts else 0.0, **stated.stock_g}
        for _, item, change in events:
            left[item] = max(0.0, left.get(item, 0.0) + change)
        room = found.room
        stands = {"cysts": room.cysts.grams if room.cysts else 0.0, **room.stock_g}
        for item, grams in left.items():
            if item not in self.unsure and abs(stands.get(item, 0.0) - grams) > 1e-6:
                raise Broken(f"6: {stands.get(item, 0.0):.3f} g of {item} stand, not {grams:.3f}")


def _stock_events(
    found: Present, stated: Room, since: datetime
) -> Iterator[tuple[datetime, str, float]]:
    """Changes of cysts, salt and dry food since a moment: (when, item, grams)."""
    vessels = {v.name: v for v in stated.vessels}
    fed: dict[str, tuple[datetime, ToldTask]] = {}  # once, however many tanks were noted
    entries = ((e.when, t) for e, t in found.fates.told.items() if e.event == "fed")
    presumed = ((t.task.at, t) for t in found.presumed if isinstance(t.task, Feed))
    for at, told_feed in (*entries, *presumed):
        first = fed.setdefault(told_feed.task.id, (at, told_feed))
        fed[told_feed.task.id] = (min(at, first[0]), told_feed)
    for at, told_feed in fed.values():
        if at >= since:
            yield from _told_use(told_feed, at, vessels, drawn=False)

    def setting(at: datetime, vessel: str, grams: float) -> Iterator[tuple[datetime, str, float]]:
        yield at, "cysts", -grams
        if vessel in vessels:
            yield at, "salt", -vessels[vessel].litres * vessels[vessel].salinity_g_per_l

    stood = _ever_stood(found, stated)
    for entry in found.entries:
        at = found.fates.moved.get(entry, entry.when)
        if entry.line in found.fates.amended or at < since:
            continue
        told = found.fates.told.get(entry)
        if entry.event == "set" and entry.amount is not None:
            yield from setting(at, entry.subject, entry.amount)
        elif entry.event in ("bought", "used") and entry.amount is not None:
            yield at, entry.subject, entry.amount if entry.event == "bought" else -entry.amount
        elif entry.event == "fed" and told is None and not entry.other:
            yield at, "dry", -(entry.amount or 0.0)
        elif entry.event in ("harvest", "hatched") and told is not None:
            yield from _told_use(told, _drawn_at(told, at), vessels, drawn=True)
        stands = entry.subject in stood and stood[entry.subject] <= entry.when
        if entry.event == "start" or (entry.event == "split" and stands):
            yield at, "medium", -_MEDIUM_G[entry.subject[:2]]
    for told in found.presumed:
        at = told.task.at
        if at < since:
            continue
        if isinstance(told.task, SetHatch):
            yield from setting(at, told.task.subject, told.task.amounts["cysts_g"])
        elif isinstance(told.task, HarvestHatch):
            yield from _told_use(told, at, vessels, drawn=True)
        elif isinstance(told.task, Split | Start):
            yield at, "medium", -_MEDIUM_G[(told.task.other or told.task.subject)[:2]]


def _drawn_at(told: ToldTask, noted: datetime) -> datetime:
    """Noted in the two hours after its round began, a hatch was drawn off in time for it."""
    late = told.round_at is not None and noted < told.round_at + timedelta(hours=2)
    return told.task.at if late and told.task.at < noted else noted


def _ever_stood(found: Present, stated: Room) -> dict[str, datetime]:
    """Cultures that stood, and since when: a split that was taken back leaves those of its child
    without it, and a child outlives a parent that the file, newer than the split, does not have
    any more.
    """
    ever = datetime.min.replace(tzinfo=found.now.tzinfo)
    stood = {c.name: ever for c in stated.cultures}

    def stands(name: str, at: datetime) -> None:
        stood[name] = min(at, stood.get(name, at))

    for told in found.presumed:
        if isinstance(told.task, Split | Start):
            stands(told.task.other or told.task.subject, told.task.at)
    since = stated.local(stated.as_of, datetime.min.time())
    splits = [e for e in found.entries if e.event == "split"]
    for entry in found.entries:
        if entry.event == "start":
            stands(entry.subject, entry.when)
    for entry in [e for e in splits if e.subject not in stood and e.when < since]:
        stands(entry.other, entry.when)
    before: dict[str, datetime] = {}
    while stood != before:
        before = dict(stood)
        for entry in splits:
            if entry.subject in before and before[entry.subject] <= entry.when:
                stands(entry.other, entry.when)
    return stood


def _told_use(
    told: ToldTask, at: datetime, vessels: Any, *, drawn: bool
) -> Iterator[tuple[datetime, str, float]]:
    amounts = told.task.amounts
    if drawn and amounts.get("jar_ml", 0.0) > 0 and told.task.subject in vessels:
        salinity = vessels[told.task.subject].salinity_g_per_l
        yield at, "salt", -amounts["jar_ml"] / 1000.0 * salinity
    if not drawn:
        yield at, "dry", -amounts.get("soaked_g", amounts.get("dry_g", 0.0))


def _facts(room: Room) -> tuple[object, ...]:
    """All of a room that a note may change."""
    return (
        room.broods, room.hoped, room.waiting, room.cultures, room.hatches, room.held, room.cysts,
        dict(room.stock_g), room.vessels, room.tanks, room.fed_until, room.settled,
    )  # fmt: skip


#: What may be done at any moment, and how often.
ACTIONS: tuple[tuple[str, int], ...] = (
    ("done", 10), ("skip", 3), ("one_tank", 3), ("other_amount", 3), ("wrong_vessel", 1),
    ("hatch_fails", 2), ("count_a_hatch", 3), ("crash", 1), ("count_fry", 2), ("buy", 2),
    ("order", 1), ("undo", 2), ("note_untold", 3), ("measure", 2), ("take_back", 2),
    ("edit_room", 2), ("lose_the_record", 1), ("print_sheet", 1), ("export", 1), ("hope", 2),
    ("nothing", 6),
)  # fmt: skip
#: What else happens in a fuller life.
MORE: tuple[tuple[str, int], ...] = (
    *ACTIONS, ("done_days_late", 2), ("fed_untold", 2), ("away", 2), ("away_taken_back", 1),
    ("helpers_sheet", 2), ("live_by_the_sheet", 2), ("wrong_count", 2), ("merge_or_split", 2),
    ("synced", 2), ("parcel", 2), ("cold_snap", 1), ("rename", 1), ("copy_or_restore", 1),
)  # fmt: skip


def act(life: Life, name: str) -> None:
    """Does one of the things that may be done."""
    if name == "nothing":
        return
    if name == "done":
        due = life.due()
        kind = life.rng.randrange(4)
        if kind == 0 and due:
            life.done(due[: life.rng.randrange(1, len(due) + 1)])
        elif kind == 1:
            life.done(late=timedelta(minutes=life.rng.randrange(5, 200)))
        else:
            life.done()
            left = [t.task.id for t in life.due() if t.task.at <= life.now]
            if left:
                raise Broken(f"3: after 'done' is still due: {left}")
        return
    getattr(life, name)()


def live(folder: Path, seed: int, days: int, *, full: bool = False) -> Life:
    """A life of so many days, checked after every step.

    Args:
        full: with all that may happen; without, it is the life that this seed always was.

    Raises:
        Broken: an invariant does not hold; its message ends with what was done before.
    """
    life = Life.begin(folder, seed, full=full)
    names, weights = zip(*(MORE if full else ACTIONS), strict=True)
    end = life.now + timedelta(days=days)
    try:
        while life.now < end:
            if life.rng.random() < 0.75:
                life.look()
            act(life, life.rng.choices(names, weights)[0])
            if life.rng.random() < 0.3:
                act(life, life.rng.choices(names, weights)[0])
            life.check()
            life.later(life.rng.choice([0.3, 0.7, 2, 5, 9, 11, 13, 26]))
    except Broken as broken:
        raise Broken(f"seed {seed}: {broken}\n  " + "\n  ".join(life.log[-14:])) from None
    return life
