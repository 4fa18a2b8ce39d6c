"""What a person did on a phone, as answers in the record; a question where it contradicts one.

All is noted through the open journal of the room, with the phone's time. What was answered already,
here or on another computer, is not noted again, and nothing is asked twice.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator
from datetime import datetime

from attrs import define, field

from calendars.entries import clean_line
from calendars.publish.server import Touched
from cultures.errors import LivefoodError
from cultures.journal.entries import Entry
from cultures.record.book import Book, DoubtError, names_of
from cultures.record.fates import Fate, subjects_of
from cultures.record.present import Present
from cultures.record.store import append_telling, record_path
from cultures.tasks.task import ASKS, Arrival, Buy, Count, Feed, Lid, MoveOn, Reminder, Sort, Work
from cultures.tasks.told import EARLY, ToldTask
from cultures.words.moments import when as spoken

#: What is written in the journal of where an answer came from.
SOURCE = "on the phone"
_LONGEST_NOTE = 200
#: How an answer is typed.
_DONE, _SKIP = "livefood journal done", "livefood journal skip"
_NOT_DONE = ("cancelled", "deleted")
#: What is asked for until it is noted in its own word.
_ASKED = Count | Sort | Lid | MoveOn
#: What only reminds, and is noted by a word without a number or a place.
_SEEN_TO = (Sort, Lid)


@define
class Answers:
    """What became of what was read: noted entries, questions that were not asked before, and the
    names of entries whose tick says nothing, so that they stand open again.
    """

    noted: list[Entry] = field(factory=list)
    questions: list[str] = field(factory=list)
    open_again: set[str] = field(factory=set)


@define
class _Reader:
    book: Book
    found: Present
    room_names: frozenset[str]
    made: list[Entry] = field(factory=list)
    asks: list[tuple[str, str]] = field(factory=list)
    put_off: dict[str, datetime] = field(factory=dict)
    open_again: set[str] = field(factory=set)

    def take(self, touched: Touched) -> None:
        """What one entry on the phone says."""
        if touched.words:
            self._words(touched)
        for told in self._tasks(touched):
            if isinstance(told.task, Buy | Arrival):
                self._bought(touched, told, told.task)
            elif isinstance(told.task, Reminder):
                self._seen_to(touched, told)
            elif touched.what in _NOT_DONE:
                self._not_done(touched, told)
            elif touched.what == "left":
                self._left(touched, told)
            elif touched.what == "ticked" or touched.start <= self.book.now:
                self._done(touched, told)
            else:
                self._moved(touched, told)

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
                    self._ask(touched, name, "is told no longer; if it was done, note it as that")
                continue
            mine = [told]
            if isinstance(told.task, Feed) and told.round_at is not None:
                mine = [t for t in tasks.values() if t.round_at == told.round_at]
            kinds = Work | Buy | Arrival | _ASKED if touched.what == "ticked" else Work
            yield from sorted((t for t in mine if isinstance(t.task, kinds)), key=lambda t: t.order)

    def _bought(self, touched: Touched, told: ToldTask, task: Buy | Arrival) -> None:
        """What was ticked off came, as much as was told, at the time of the tick: it was not there
        sooner. Unless it was noted since it was told; and a purchase bears the name of the one
        before it, so a tick that was taken in is known by its time.
        """
        answer = self.found.fates.answer.get(task.id)
        if answer is not None and answer.event == "skip":
            self._ask(touched, task.id, f"was noted as not done {_undo(answer)}")
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
                self._ask(touched, key, f"was noted as not done {_undo(answer)}")
        elif key in self.found.contradicted:
            self._ask(touched, key, "cannot have been done by what was noted since")
        elif (moment := self._moment(touched, told)) is None:
            self._at_another_time(touched, key, ahead=told.task.at > self.book.now)
        else:
            entry = self.book.ticked(told, self.found.room, moment)
            self.made.append(entry._replace(note=SOURCE))

    def _at_another_time(self, touched: Touched, key: str, *, ahead: bool) -> None:
        """What was ticked off long before its time stands open again."""
        if touched.what == "ticked" and ahead:
            self.open_again.add(touched.key)
        if key not in _names(touched):
            return  # a step of a round, which is asked of as a whole
        if ahead:
            self._ask(touched, key, "lies ahead and stands open again: tick it off once it is done")
        else:
            self._ask(touched, key, f"was meant for another time; done all the same? {_DONE} {key}")

    def _not_done(self, touched: Touched, told: ToldTask) -> None:
        answer = self.found.fates.answer.get(told.task.id)
        if answer is None:
            entry = self.book.skipped(told, min(touched.at, self.book.now))
            self.made.append(entry._replace(note=SOURCE))
        elif answer.event != "skip":
            self._ask(touched, told.task.id, f"was noted as done {_undo(answer)}")

    def _left(self, touched: Touched, told: ToldTask) -> None:
        """A to-do that was deleted unticked once its time had come: nobody knows what that says."""
        key = told.task.id
        if key in self.found.fates.answer or key not in _names(touched):
            return
        if key not in self.found.contradicted:
            self._ask(touched, key, f"had come, so it counts as done; if it was not: {_SKIP} {key}")

    def _moved(self, touched: Touched, told: ToldTask) -> None:
        """What was put past the time at which it would be taken as done is still to be done."""
        key = told.task.id
        to = touched.start.astimezone(self.book.room.timezone)
        if (
            told.round_at is None and key not in self.found.fates.answer
            and self.found.fates.of[key] is Fate.OPEN and to >= told.over_at
        ):  # fmt: skip
            self.put_off[key] = to

    def _seen_to(self, touched: Touched, told: ToldTask) -> None:
        """A tick of what is asked for until it is noted in its own word: where that word wants a
        number or a place, it is asked, and the to-do stands open again until it is noted.
        """
        key, brood = told.task.id, told.task.subject
        if key in self.found.fates.answer:
            return
        word = told.task.answered_by[0]
        if isinstance(told.task, _SEEN_TO):
            at = min(touched.at, self.book.now).astimezone(self.book.room.timezone)
            self.made.append(Entry(at.replace(microsecond=0), word, brood, note=SOURCE))
            return
        self.open_again.add(touched.key)
        self._ask(
            touched, key, f"is noted with what was found, and stands open again until then:"
            f" livefood journal {word} {shlex.quote(brood)} {ASKS[word]}",
        )  # fmt: skip

    def _moment(self, touched: Touched, told: ToldTask) -> datetime | None:
        """When a task was done: as it was ticked while in hand, else where it stands; None if
        that is no time for it.
        """
        zone, task = self.book.room.timezone, told.task
        ticked = touched.at.astimezone(zone)
        if touched.what == "ticked" and task.at - EARLY <= ticked < told.over_at:
            return min(ticked, self.book.now)
        if touched.what == "ticked" and ticked < told.opens:
            return None
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
        at, start = (
            spoken(moment.astimezone(self.book.room.timezone), self.book.room.units)
            for moment in (touched.at, touched.start)
        )
        did = {"ticked": "ticked off", "left": "deleted"}.get(touched.what, touched.what)
        told = f"{touched.title} ({start}): {did} on the phone"
        told = f"{told}, but its time {why}" if touched.what == "left" else (
            f"{told} on {at}, but it {why}"
        )  # fmt: skip
        self.asks.append((mark, f"{told}."))


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
    answers = Answers(open_again=reader.open_again)
    if reader.put_off:
        append_telling(
            record_path(book.room_path), book.now, "calendar", put_off=reader.put_off,
            noted=book.journal.last_line,
        )  # fmt: skip
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
        answers.questions += dict.fromkeys(text for _, text in reader.asks)
    return answers


def _names(touched: Touched) -> set[str]:
    """The ids of the tasks for which an entry stands by its name."""
    return {key.removeprefix("todo:") for key in touched.parts or (touched.key,)}


def _undo(answer: Entry) -> str:
    """In which line something was noted, and how that is taken back."""
    if not answer.line:
        return ""
    return f"(line {answer.line}; if that is wrong: livefood journal undo --line {answer.line})"


def _noted(book: Book, entries: list[Entry]) -> tuple[Entry, ...]:
    return book.written(book.note(entries)) if entries else ()
