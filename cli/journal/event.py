"""What the commands of all events share: how they are made, and what each entry is made from."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Sequence
from datetime import datetime
from functools import wraps
from pathlib import Path
from typing import Any

import click
from attrs import frozen

from cli.completion import names_of
from cli.journal.names import NamedCommand
from cli.journal.recording import SURE, moment_of, record, say, writing
from cli.option_types import SPOKEN, Typed
from cli.options import Where, now_option, room_option
from cultures.errors import RangeError
from cultures.journal.entries import Entry
from cultures.journal.events import LEAVING
from cultures.record.book import Book, mixed_in, of_each, tank_of
from cultures.record.fates import INSTEAD
from cultures.room.room import Room
from cultures.tasks.told import ToldTask
from cultures.words.text import as_utf8, plain

#: Of fish that share a tank and look alike these are noted together.
_OF_ALL = ("count", *LEAVING)
#: All tanks of the round at a time, where a tank is named.
ROUND = "round"
_NEGATIVE = re.compile(r"^-[\d.]")
#: Puts an argument or option to a function.
_Param = Callable[[Callable[..., Any]], Callable[..., Any]]


class EventCommand(NamedCommand):
    """Takes no amount for an option, and names of several words without quotes.

    Attributes:
        entries: what it records, of an open journal, the subject, the time, the keeper's note and
            what else its function takes; not of a command that does more than to note.
    """

    entries: Callable[..., list[Entry]]

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        given = list(args)  # click uses the list up
        try:
            return super().parse_args(ctx, args)
        except click.NoSuchOption as error:
            wrong = next((arg for arg in given if _NEGATIVE.match(arg)), None)
            if wrong is None or not _NEGATIVE.match(error.option_name):
                raise
            if self.name == "temperature":
                raise RangeError(
                    f"'{wrong}' is below 0; if it is so, put -- before it, like: -- {wrong}"
                ) from None
            raise RangeError(f"'{wrong}' is below 0; what is noted is 0 or more") from None


@frozen
class Noting:
    """An event that is being noted.

    Attributes:
        when: it was. room: as it was then. subject: the name that was given, which is there.
        note: the keeper's own.
    """

    book: Book
    event: str
    when: datetime
    room: Room
    subject: str
    note: str

    def entry(
        self, other: str = "", amount: float | None = None, unit: str = "", *, subject: str = ""
    ) -> Entry:
        """The entry that notes it; ``subject``: of another name than the one given."""
        return Entry(
            self.when, self.event, subject or self.subject, other, amount, unit, self.note
        )  # fmt: skip

    @property
    def again(self) -> str:
        """Its subject as it is typed once more, with the ``--at`` of this command."""
        name = shlex.quote(self.subject)
        if self.when == self.book.now:
            return name
        return f'{name} --at "{self.when.astimezone(self.room.timezone):%Y-%m-%d %H:%M}"'

    def due(self, subject: str = "", other: str = "") -> ToldTask | None:
        """The told task that it would be about, or None; ``other``: the one that makes that."""
        return self.book.due(self.event, subject or self.subject, self.when, other)

    def instead_of(self, name: str | None) -> list[Entry]:
        """The entry that says that what was told of another subject was not done.

        Raises:
            RangeError: nothing of the kind was told of it.
        """
        if name is None:
            return []
        told = self.due(name)
        if told is None:
            raise RangeError(f"--instead-of: {self._not_open(name)}")
        return [Entry(self.when, "skip", name, told.task.id)]

    def _not_open(self, name: str) -> str:
        """Why nothing that was told of a subject is open."""
        answer = self.book.present(self.book.now).fates.answer
        for told in self.book.present(self.when).about(self.event, name):
            entry = answer.get(told.task.id)
            if entry is not None and entry.line:
                return (
                    f"what was told of {name} is noted already; if it was not done:"
                    f" journal undo --line {entry.line} first"
                )
        return f"nothing of {name} was told for this time"


def stands_for(name: str | None) -> str:
    """What the column ``other`` says of an entry that stands for another's task."""
    return f"{INSTEAD}{name}" if name else ""


sure_option = click.option(
    "--sure", is_flag=True, expose_value=False,
    callback=lambda context, _, value: context.meta.update({SURE: value}),
    help="Note it even though it does not fit what is known.",
)  # fmt: skip
instead_option = click.option(
    "--instead-of", metavar="NAME", help="What you were told to use for it, and did not."
)
at_option = click.option(
    "--at", type=SPOKEN, metavar="TIME",
    help="When it was done, if not just now: 07:50, yesterday 18:30, Sun 8:30.",
)  # fmt: skip
note_option = click.option("--note", default="", help="A note of your own.")


def event(
    name: str, of: Sequence[str], *params: _Param, completes: Sequence[str] = (), shown: str = ""
) -> Callable[[Callable[..., Entry | Sequence[Entry]]], EventCommand]:
    """A command that notes an event, made of a function that says what to record.

    The function gets a :class:`Noting` and what ``params`` bring.

    Args:
        of: what its subject may be (``culture``, ``vessel``...), which is the first argument; none
            if that is among ``params``, the arguments and options of its own.
        completes, shown: what the shell completes there, and what the help calls it, if not so.
    """

    def command_of(function: Callable[..., Entry | Sequence[Entry]]) -> EventCommand:
        def entries(
            book: Book, subject: str, when: datetime, note: str = "", **given: Any
        ) -> list[Entry]:
            room = book.state(when)
            called = tank_of(subject, room) if [*of] == ["tank"] else subject
            whole = [*of] == ["tank"] and subject.lower() == ROUND
            mixed = mixed_in(plain(called), room) if name in _OF_ALL else []
            called = mixed[0].name if mixed else called
            known = book.known(called, of, room) if of and not whole else called
            words = {key: _as_read(value) for key, value in given.items()}
            found = function(Noting(book, name, when, room, known, as_utf8(note)), **words)
            made = [found] if isinstance(found, Entry) else [*found]
            return [each for one in made for each in of_each(one, mixed)] if mixed else made

        @wraps(function)
        def note_it(
            *, room_path: Path, now: datetime | None, at: Typed | None, note: str,
            subject: str = "", **given: Any,
        ) -> None:  # fmt: skip
            with writing(Where(room_path, now)) as book:
                made = entries(book, subject, moment_of(book, at), note, **given)
                noted = record(book, made)
            say(book, noted)

        first = [subject_of(completes or of, shown)] if of else []
        command: Callable[..., Any] = note_it
        for param in reversed([*first, *params, room_option, now_option, at_option, note_option]):
            command = param(command)
        found = click.command(name, cls=EventCommand)(command)
        found.entries = entries
        return found

    return command_of


def _as_read(value: Any) -> Any:
    """Names as files hold them, however they were typed."""
    if isinstance(value, str):
        return plain(value)
    return tuple(map(plain, value)) if isinstance(value, tuple) else value


def subject_of(things: Sequence[str], shown: str) -> _Param:
    """The argument that names what an event is about."""
    metavar = "|".join(thing if thing == "room" else thing.upper() for thing in things)
    return click.argument(
        "subject", metavar=shown or metavar, shell_complete=names_of(*things)
    )  # fmt: skip
