"""How a command opens the journal, and what it says of what it noted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta

import click

from cli.files import give_up_screen
from cli.option_types import Typed
from cli.options import Where, say_torn
from cli.screens.paint import echo
from cli.screens.text import bullets, screen_width, wrapped
from cultures import files
from cultures.errors import BadFileError, FileProblemError, LivefoodError, RangeError, UnitError
from cultures.journal.entries import Entry
from cultures.record.answers import Answer, answers_path, append_answer
from cultures.record.book import Book, DoubtError, Noted
from cultures.record.present import torn_words
from cultures.words.moments import year_when
from cultures.words.quantities import in_units, many

#: After these one looks for what becomes of the next setting.
_OF_HATCHES = ("hatched", "failed", "set", "count", "bought", "ordered", "used",
               "temperature")  # fmt: skip
#: Where a command keeps that an entry is to be noted although it cannot be.
SURE = "livefood.sure"
#: Behind a doubt, how it is noted.
_ALL_THE_SAME = "; if it is so all the same, add --sure"


def open_book(where: Where, *, mends: bool = False, notes: bool = False) -> Book:
    """Room file and journal.

    Args:
        mends: as `Book` has it. notes: something will be noted, which says what becomes of a torn
            last line.

    Raises:
        LivefoodError: one cannot be read or is wrong.
    """
    room = where.load_file()
    book = Book.open(room, where.path, where.moment(room), mends=mends, tells=where.tells)
    if not notes:
        say_torn(torn_words(book.journal))
    return book


@contextmanager
def writing(where: Where, *, mends: bool = False) -> Iterator[Book]:
    """Reads the files for one who will note something: nobody else does until it is noted.

    Raises:
        LivefoodError: as `open_book`, or the folder cannot be kept from others.
    """
    if files.read(where.path) is None:  # a folder without a room is not made
        where.load_file()
    with files.locked(where.path.absolute().parent):
        yield open_book(where, mends=mends, notes=True)


def moment_of(book: Book, at: Typed | None) -> datetime:
    """The time of an entry: ``--at``, or now.

    Raises:
        RangeError: it lies in the future. UnitError: a clock change skips it.
    """
    if at is None:
        return book.now
    try:
        moment = at(book.now, book.room.timezone, book.room.rounds_on)
    except UnitError as error:
        raise UnitError(in_units(str(error), book.room.units)) from None
    if moment > book.now + timedelta(minutes=5):
        said = year_when(moment, book.room.units)
        raise RangeError(f"{said} lies in the future; note it when it is done")
    return moment


def record(book: Book, entries: Sequence[Entry]) -> Noted:
    """Notes entries; with ``--sure`` also what cannot be.

    Raises:
        LivefoodError: nothing was recorded.
    """
    try:
        return book.note(
            entries, sure=bool(click.get_current_context().meta.get(SURE)),
            ahead=lambda made: _keep_together(book, made),
        )  # fmt: skip
    except DoubtError as error:
        raise RangeError(f"{error}{_ALL_THE_SAME}. Nothing was noted.") from None


def ask_back(doubt: str) -> None:
    """Asks back what may be meant in two ways, as it is typed; with ``--sure`` it is as it stands.

    Raises:
        RangeError: it is asked; nothing was noted.
    """
    context = click.get_current_context(silent=True)
    asks = context is not None and SURE in context.meta
    if context is not None and context.meta.get(SURE):
        return
    raise RangeError(f"{doubt}{_ALL_THE_SAME if asks else ''}. Nothing was noted.")


def _keep_together(book: Book, made: tuple[Entry, ...]) -> None:
    """Writes down that one command noted several lines, so that `undo` takes them back as one.

    What is noted does not wait for it: where it cannot be written, each is taken back by itself.
    """
    if not made[1:]:
        return
    first = len(book.journal.entries)
    answer = Answer(f"terminal {book.now.isoformat()} {first}", book.now, "", made, first)
    with suppress(FileProblemError):
        append_answer(answers_path(book.room_path), answer)


def say(book: Book, noted: Noted, *, quiet: bool = False, more: str = "") -> None:
    """Prints what was noted (unless ``quiet``), what it changes, and ``more``."""
    try:
        _say(book, noted, quiet=quiet)
        echo(more, nl=bool(more))
    except (OSError, LivefoodError) as error:  # it is noted, whatever becomes of the screen
        wrong = str(error)
        if isinstance(error, OSError):
            wrong = error.strerror or wrong
            give_up_screen()
        with suppress(OSError):
            echo(
                f"{many(noted.count, 'line')} noted in {book.path.name}, whole and on the disk."
                f" What changed cannot be shown: {wrong}", err=True,
            )  # fmt: skip


def _say(book: Book, noted: Noted, *, quiet: bool) -> None:
    from cli.journal.effect import effect_of, related, tin_doubted, unusual_hatch
    from cli.screens.entry import line_of

    written = book.written(noted)
    if noted.torn:
        echo(
            f"A torn line from an earlier power cut was set aside in {book.path.name}.torn:"
            f" '{noted.torn[:60]}'. Note it again if it matters.",
            err=True,
        )
    shown = () if quiet else written
    for entry in shown:
        head, said = f"Noted, line {entry.line}: ", line_of(entry, book.room)
        echo(wrapped(said, 2, head) if len(head + said) > screen_width() else head + said)
    if bad := book.journal.standing_bad():
        raise BadFileError([line.problem for line in bad])
    after = book.present(book.now, pending=True)
    known = noted.before.room if noted.before is not None else None
    for entry in shown:
        echo(related(entry, known, after, book), nl=False)
        echo(unusual_hatch(entry, after), nl=False)
        if doubted := tin_doubted(entry, after):
            echo(wrapped(doubted, 2, "  "))
    for line in bullets((in_units(text, book.room.units) for text in noted.edits), "  ! "):
        echo(line)
    if noted.before is not None:
        urgent = any(entry.event in _OF_HATCHES for entry in shown)
        effect = effect_of(noted.before, after, urgent=urgent)
        echo(effect.text)
        if book.tells:
            effect.tell(book.room_path, after)
