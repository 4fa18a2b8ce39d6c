"""Days of a keeper with a phone and two computers that share a room's folder."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any, Protocol

from attrs import define, field

from cultures.record.book import Book, DoubtError
from cultures.record.fates import Fate
from cultures.room.file import read_room
from cultures.tasks.task import Feed, Work
from cultures.tasks.told import ToldTask

FIRST = date(2027, 1, 5)


class Syncs(Protocol):
    """A room folder that syncs with one calendar."""

    room: Path

    def sync(self, clock: str) -> Any: ...


class Ticks(Protocol):
    """A phone: which resource stands for an intention, and how it is ticked off."""

    def by_key(self) -> dict[str, str]: ...

    def tick(self, resource: str, when: str) -> None: ...


@define
class Life:
    """What was done, and what the calendar said of it.

    Attributes:
        meant: by id, the fate that each told task should have. ticked: of those, on the phone.
        questions: all that were asked. twice: what a second computer noted or asked again.
    """

    keeper: Syncs
    phone: Ticks
    random: Random
    meant: dict[str, Fate] = field(factory=dict)
    ticked: int = 0
    noted: int = 0
    questions: list[str] = field(factory=list)
    twice: list[str] = field(factory=list)

    def book(self, clock: str) -> Book:
        """The journal at a time."""
        room = read_room(self.keeper.room.read_text(), today=FIRST)
        now = datetime.fromisoformat(clock).replace(tzinfo=room.timezone)
        return Book.open(room, self.keeper.room, now)

    def live(self, days: int) -> None:
        """Morning on one computer, the day's work, evening on the other and then on the first."""
        for number in range(days):
            day = FIRST + timedelta(days=number)
            with self.computer("a"):
                self.hear(self.keeper.sync(f"{day}T06:45"))
            self.answer(f"{day}T21:00", day)
            with self.computer("b"):
                self.hear(self.keeper.sync(f"{day}T21:05"))
            with self.computer("a"):
                again = self.keeper.sync(f"{day}T21:10")
                self.twice += [*again["noted"], *again["questions"]]

    def hear(self, done: Any) -> None:
        """What a sync said."""
        self.noted += len(done["noted"])
        self.questions += done["questions"]

    def answer(self, clock: str, day: date) -> None:
        """Half on the phone, a third on the command line, the rest not at all."""
        book = self.book(clock)
        found = book.present(book.now, pending=True)
        groups: dict[object, list[ToldTask]] = {}
        for told in sorted(found.record.tasks.values(), key=lambda t: t.task.at):
            if (
                isinstance(told.task, Work) and told.task.at.date() == day
                and told.over_at < book.now and told.task.id not in found.fates.answer
                and told.task.id not in found.contradicted
            ):  # fmt: skip
                groups.setdefault(told.round_at or told.task.id, []).append(told)
        stands = self.phone.by_key()
        for group in groups.values():
            how, lead = self.random.random(), _lead(group)
            resource = stands.get(f"todo:{lead.task.id}")
            if how < 0.5 and resource is not None:
                moment = lead.task.at + timedelta(minutes=3)
                self.phone.tick(resource, moment.replace(tzinfo=None).isoformat())
                self.ticked += 1
                self.meant |= {t.task.id: Fate.DONE for t in group}
            elif how < 5 / 6:
                skipped = self.random.random() < 0.3
                made = [
                    book.skipped(t, t.task.at) if skipped else book.ticked(t, found.room)
                    for t in group
                ]  # fmt: skip
                try:
                    book.written(book.note(made))
                except DoubtError:  # it cannot be, so nobody notes it
                    continue
                self.meant |= {
                    t.task.id: Fate.SKIPPED if skipped else Fate.DONE for t in group
                }  # fmt: skip
            else:
                self.meant |= {t.task.id: Fate.PRESUMED for t in group}

    def wrong(self, clock: str) -> list[str]:
        """Told tasks whose fate is not what was done, those aside that were asked about."""
        book = self.book(clock)
        found = book.present(book.now)
        return [
            f"{key}: {found.fates.of[key].value}, not {fate.value}"
            for key, fate in self.meant.items()
            if key in found.fates.of
            and found.fates.of[key] is not fate
            and f"phone/done/{key}" not in found.record.asked
        ]

    @contextmanager
    def computer(self, name: str) -> Iterator[None]:
        """The notes on the calendar are each computer's own."""
        folder = self.keeper.room.parent
        for path in folder.glob(f"{name}@*"):
            path.rename(folder / path.name.removeprefix(f"{name}@"))
        yield
        for path in folder.glob(".*.livefood"):
            path.rename(folder / f"{name}@{path.name}")


def _lead(group: list[ToldTask]) -> ToldTask:
    return next((t for t in group if isinstance(t.task, Feed)), group[0])
