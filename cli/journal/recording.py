"""How a command opens the journal, and what it says of what it noted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

import click

from cli.option_types import Spoken
from cli.options import Where, localise
from cli.screens.text import WIDTH, wrapped
from cultures.errors import RangeError
from cultures.journal.entries import Entry
from cultures.record.book import Book, DoubtError

#: Where a command keeps that an entry is to be noted although it cannot be.
SURE = "livefood.sure"


def open_book(where: Where) -> Book:
    """The journal of a room.

    Raises:
        LivefoodError: the room file cannot be read or is wrong.
    """
    setting = where.load_file()
    return Book(setting.room, where.path, setting.now)


def moment_of(book: Book, at: datetime | Spoken | None) -> datetime:
    """The time of an entry: ``--at``, or now.

    Raises:
        RangeError: it lies in the future.
    """
    if at is None:
        return book.now
    moment = at.at(book.now) if isinstance(at, Spoken) else localise(at, book.room.timezone)
    if moment > book.now + timedelta(minutes=5):
        raise RangeError(f"{moment:%Y-%m-%d %H:%M} lies in the future; note it when it is done")
    return moment


def record(book: Book, make: Callable[[], Sequence[Entry]], *, quiet: bool = False) -> None:
    """Notes entries and prints what was noted (unless ``quiet``) and what it changes.

    Raises:
        LivefoodError: nothing was recorded.
    """
    from cli.journal.effect import effect_of, related
    from cli.screens.entry import line_of

    try:
        noted = book.note(make, sure=bool(click.get_current_context().meta.get(SURE)))
    except DoubtError as error:
        raise RangeError(
            f"{error}; if it is so all the same, add --sure. Nothing was noted."
        ) from None
    if noted.torn:
        click.echo(
            f"A torn line from an earlier power cut was set aside in {book.path.name}.torn:"
            f" '{noted.torn[:60]}'. Note it again if it matters.",
            err=True,
        )
    for entry in () if quiet else noted.entries:
        said = f"Noted, line {entry.line}: {line_of(entry, book.room)}"
        click.echo(wrapped(said, 2) if len(said) > WIDTH else said)
        click.echo(related(entry, noted.after, book.room), nl=False)
    click.echo(effect_of(noted.before, noted.after))
