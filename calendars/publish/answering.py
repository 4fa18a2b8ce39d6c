"""What a person did on a phone, as answers in the record; a question where it contradicts one.

All is noted through the open journal of the room, with the phone's time. What was answered already,
here or on another computer, is not noted again, and nothing is asked twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from attrs import define, field

from calendars.entries import clean_line
from calendars.publish.server import Touched
from cultures.errors import LivefoodError
from cultures.journal.entries import Entry
from cultures.record.book import Book, DoubtError, names_of
from cultures.record.fates import subjects_of
from cultures.record.present import Present
from cultures.record.store import append_telling, record_path
from cultures.tasks.task import Arrival, Buy, Feed, Work
from cultures.tasks.told import EARLY, ToldTask
from cultures.words.moments import when as spoken

#: What is written in the journal of where an answer came from.
SOURCE = "on the phone"
_LONGEST_NOTE = 200
_NOT_DONE = ("cancelled", "deleted")


@define
class Answers:
    """What became of what was read: noted entries, and questions that were not asked before."""

    noted: list[Entry] = field(factory=list)
    questions: list[str] = field(factory=list)


@define
class _Reader:
    book: Book
    found: Present
    room_names: frozenset[str]
    made: list[Entry] = field(factory=list)
    asks: list[tuple[str, str]] = field(factory=list)

    def take(self, touched: Touched) -> None:
        """What one entry on the phone says."""
        if touched.words:
            self._words(touched)
        for told in self._tasks(touched):
            if isinstance(told.task, Buy | Arrival):
                self._bought(touched, told, told.task)
            elif touched.what in _NOT_DONE:
                self._not_done(touched, told)
            elif touched.what == "ticked" or touched.start <= self.book.now:
                self._done(touched, told)

    def _tasks(self, touched: Touched) -> Iterator[ToldTask]:
        """The told work that an entry stands for, of a round all of it; what comes into the room
        as well, where it is ticked off.
        """
        if not touched.what:
            return
        tasks = self.found.record.tasks
        for key in touched.parts or (touched.key,):
            name = key.removeprefix("todo:")
            told = tasks.get(name)
            if told is None:
                if touched.what == "ticked" and name in self.found.record.withdrawn:
                    self._ask(touched, name, "is told no longer")
                continue
            mine = [told]
            if isinstance(told.task, Feed) and told.round_at is not None:
                mine = [t for t in tasks.values() if t.round_at == told.round_at]
            kinds = Work | Buy | Arrival if touched.what == "ticked" else Work
            yield from sorted((t for t in mine if isinstance(t.task, kinds)), key=lambda t: t.order)

    def _bought(self, touched: Touched, told: ToldTask, task: Buy | Arrival) -> None:
        """What was ticked off came, as much as was told, at the time of the tick: it was not there
        sooner. Unless it was noted since it was told; and a purchase bears the name of the one
        before it, so a tick that was taken in is known by its time.
        """
        answer = self.found.fates.answer.get(task.id)
        if answer is not None and answer.event == "skip":
            self._ask(touched, task.id, f"was noted as not done (line {answer.line})")
            return
        at = min(touched.at, self.book.now).astimezone(self.book.room.timezone)
        entry = Entry(at.replace(microsecond=0), "bought", task.item, "", task.grams, "g", SOURCE)
        stands = any(
            e.event == "bought" and e.subject in subjects_of(told)
            and (e.when >= told.told_at if told.line is None else e.line > told.line)
            for e in self.book.journal.effective()
        )  # fmt: skip
        taken_in = (e._replace(amount=task.grams, line=0) for e in self.book.journal.entries)
        if answer is None and not stands and entry not in set(taken_in):
            self.made.append(entry)

    def _done(self, touched: Touched, told: ToldTask) -> None:
        key, answer = told.task.id, self.found.fates.answer.get(told.task.id)
        if answer is not None:
            if answer.event == "skip":
                self._ask(touched, key, f"was noted as not done (line {answer.line})")
        elif key in self.found.contradicted:
            self._ask(touched, key, "cannot have been done by what was noted since")
        elif (moment := self._moment(touched, told)) is None:
            self._ask(touched, key, "was meant for another time")
        else:
            entry = self.book.ticked(told, self.found.room, moment)
            self.made.append(entry._replace(note=SOURCE))

    def _not_done(self, touched: Touched, told: ToldTask) -> None:
        answer = self.found.fates.answer.get(told.task.id)
        if answer is None:
            entry = self.book.skipped(told, min(touched.at, self.book.now))
            self.made.append(entry._replace(note=SOURCE))
        elif answer.event != "skip":
            self._ask(touched, told.task.id, f"was noted as done (line {answer.line})")

    def _moment(self, touched: Touched, told: ToldTask) -> datetime | None:
        """When a task was done: as it was ticked while in hand, else where it stands; None if
        that is no time for it.
        """
        zone, task = self.book.room.timezone, told.task
        ticked = touched.at.astimezone(zone)
        if touched.what == "ticked" and task.at - EARLY <= ticked < told.over_at:
            return min(ticked, self.book.now)
        stands = touched.start.astimezone(zone)
        if touched.what != "moved" or len(touched.parts) > 1:
            stands = task.at
        if stands > self.book.now:  # ticked off long before its time
            stands = ticked
        return stands if told.opens <= stands < told.closes else None

    def _words(self, touched: Touched) -> None:
        """A person's own words, on the thing that the entry is about."""
        name = touched.key.removeprefix("todo:")
        told = self.found.record.tasks.get(name)
        subject = told.task.subject if told is not None else "room"
        subject = subject if subject in self.room_names else "room"
        words = clean_line(touched.words)[:_LONGEST_NOTE]
        known = {(e.subject, e.note) for e in self.book.journal.entries if e.event == "note"}
        if words and (subject, words) not in known:
            at = min(touched.at, self.book.now).astimezone(self.book.room.timezone)
            self.made.append(Entry(at, "note", subject, note=words))

    def _ask(self, touched: Touched, key: str, why: str) -> None:
        """A question, under an id by which it is known that it was asked."""
        done = touched.what not in _NOT_DONE
        mark = f"phone/{'done' if done else 'skip'}/{key}"
        if mark in self.found.record.asked or any(mark == known for known, _ in self.asks):
            return
        at = spoken(touched.at.astimezone(self.book.room.timezone))
        did = "ticked off" if touched.what == "ticked" else touched.what
        self.asks.append((mark, f"{touched.title}: {did} on the phone on {at}, but it {why}."))


def take_in(book: Book, touched: Iterable[Touched]) -> Answers:
    """Notes what was done on a phone.

    The folder of the room must be kept from others.

    Raises:
        LivefoodError: journal or record cannot be read or written.
    """
    found = book.present(book.now, pending=False)
    names = names_of(found.room, "culture", "vessel", "brood", "tank")
    reader = _Reader(book, found, frozenset(names))
    for each in touched:
        reader.take(each)
    made = sorted(dict.fromkeys(reader.made), key=lambda e: e.when)
    answers = Answers()
    try:
        answers.noted += _noted(book, made)
    except LivefoodError:
        for entry in made:
            try:
                answers.noted += _noted(book, [entry])
            except DoubtError as error:
                mark = f"phone/doubt/{entry.event}/{entry.subject}/{entry.when.isoformat()}"
                if mark not in found.record.asked:
                    reader.asks.append((mark, f"{entry.subject}, noted {SOURCE}: {error}."))
    if reader.asks:
        append_telling(
            record_path(book.room_path), book.now, "calendar", asked=[k for k, _ in reader.asks]
        )
        answers.questions += [text for _, text in reader.asks]
    return answers


def _noted(book: Book, entries: list[Entry]) -> tuple[Entry, ...]:
    return book.written(book.note(entries)) if entries else ()
